//! Plain tables: columns aligned with spaces, readable without colour.

/// Rows under a heading; columns are as wide as their widest cell.
#[derive(Debug)]
pub(crate) struct Table {
    rows: Vec<Vec<String>>,
}

impl Table {
    pub(crate) fn new(heading: &[&str]) -> Self {
        Self { rows: vec![heading.iter().map(|title| title.to_uppercase()).collect()] }
    }

    pub(crate) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        // An empty cell shows as a dash, so that columns can be told apart by spaces.
        let shown = |cell: String| if cell.is_empty() { "-".to_owned() } else { cell };
        self.rows.push(cells.into_iter().map(shown).collect());
    }

    /// Whether there is no row under the heading.
    pub(crate) fn is_empty(&self) -> bool {
        self.rows.len() == 1
    }

    /// The lines of the table, without spaces at their ends.
    pub(crate) fn text(&self) -> String {
        let mut widths: Vec<usize> = Vec::new();
        for row in &self.rows {
            for (at, cell) in row.iter().enumerate() {
                let width = cell.chars().count();
                match widths.get_mut(at) {
                    Some(widest) => *widest = width.max(*widest),
                    None => widths.push(width),
                }
            }
        }
        let line = |row: &Vec<String>| {
            let padded: Vec<String> =
                row.iter().zip(&widths).map(|(cell, width)| format!("{cell:<width$}")).collect();
            padded.join("  ").trim_end().to_owned()
        };
        self.rows.iter().map(line).collect::<Vec<_>>().join("\n")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_aligned_and_empty_cells_show_as_dashes() {
        let mut table = Table::new(&["task", "state"]);
        table.row(["pre-scan".to_owned(), "open".to_owned()]);
        table.row(["glass".to_owned(), String::new()]);
        assert_eq!(table.text(), "TASK      STATE\npre-scan  open\nglass     -");
    }
}
