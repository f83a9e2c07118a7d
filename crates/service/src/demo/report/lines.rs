//! Lines of at most 100 columns.

/// The widest line, columns.
pub(super) const WIDTH: usize = 100;

/// Breaks words into lines: the first begins with `first`, the others with `rest`. A word that is
/// longer than a line stands alone. Each line ends with a line feed.
pub(in crate::demo) fn wrap(words: &str, first: &str, rest: &str) -> String {
    let mut text = String::new();
    let mut line = first.to_owned();
    let mut empty = true;
    for word in words.split_whitespace() {
        let wanted = line.chars().count() + usize::from(!empty) + word.chars().count();
        if !empty && wanted > WIDTH {
            text.push_str(line.trim_end());
            text.push('\n');
            rest.clone_into(&mut line);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    text.push_str(line.trim_end());
    text.push('\n');
    text
}

/// A table: each column as wide as its widest cell, the last one broken at spaces where it would
/// be too wide.
pub(super) fn table<const N: usize>(rows: &[[String; N]]) -> String {
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max();
    let widths: [usize; N] = std::array::from_fn(|column| width(column).unwrap_or(0));
    let mut text = String::new();
    for row in rows {
        let cells = row.iter().zip(widths).take(N - 1);
        let cells: Vec<_> = cells.map(|(cell, width)| format!("{cell:<width$}  ")).collect();
        let before = format!("  {}", cells.concat());
        let rest = " ".repeat(before.chars().count());
        let last = row.last().map_or("", String::as_str);
        text.push_str(&wrap(last, &before, &rest));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_the_terminal_and_no_word_is_lost() {
        let words = "measure ".repeat(60);
        let text = wrap(&words, "  bay-1  ", "         ");
        assert!(text.lines().all(|line| line.chars().count() <= WIDTH), "{text}");
        assert_eq!(text.matches("measure").count(), 60);
        assert!(text.lines().skip(1).all(|line| line.starts_with("         measure")), "{text}");
    }

    #[test]
    fn a_word_longer_than_a_line_stands_alone() {
        let long = "x".repeat(WIDTH + 1);
        assert_eq!(wrap(&format!("a {long} b"), "", ""), format!("a\n{long}\nb\n"));
    }

    #[test]
    fn columns_are_aligned_and_the_last_is_broken() {
        let units = "scan-unit ".repeat(12);
        let text = table(&[["glass".to_owned(), units], ["post-scan".to_owned(), "-".to_owned()]]);
        let lines: Vec<_> = text.lines().collect();
        assert_eq!(lines.len(), 3);
        assert!(lines[0].starts_with("  glass      scan-unit"), "{text}");
        assert!(lines[1].starts_with("             scan-unit"), "{text}");
        assert_eq!(lines[2], "  post-scan  -");
    }
}
