//! How a long search stands, on standard error: a bar in a terminal, a plain line now and then elsewhere.
//!
//! A bar is drawn over itself and is gone at the end. Where standard error is no terminal, or `NO_COLOR` is
//! set, lines come after a second and then every five, so that a short search says nothing.

use std::fmt::Write as _;
use std::io::{IsTerminal as _, Write as _};
use std::time::{Duration, Instant};

/// Columns of the bar itself.
const WIDTH: usize = 24;
/// Between two drawings of a bar.
const REDRAW: Duration = Duration::from_millis(100);
/// Before the first plain line.
const FIRST_LINE: Duration = Duration::from_secs(1);
/// Between two plain lines.
const NEXT_LINE: Duration = Duration::from_secs(5);
/// To the line's begin, and nothing on it.
const CLEAR: &str = "\r\x1b[2K";

/// How a search stands.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Standing {
    pub(crate) epochs: u64,
    /// Jobs that must be planned and are not yet.
    pub(crate) missing: u64,
    pub(crate) cost: i64,
    pub(crate) bound: i64,
}

/// What ends a search at the latest.
#[derive(Debug, Clone, Copy)]
pub(crate) enum End {
    Epochs(u64),
    Seconds(u64),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Style {
    Bar,
    Lines,
}

/// Progress on standard error; a bar is gone when this is dropped.
#[derive(Debug)]
pub(crate) struct Progress {
    style: Style,
    end: End,
    begun: Instant,
    /// When it was last written, and how often.
    written: Option<Instant>,
}

impl Progress {
    pub(crate) fn new(end: End) -> Self {
        let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        let bar = std::io::stderr().is_terminal() && !plain;
        let style = if bar { Style::Bar } else { Style::Lines };
        Self { style, end, begun: Instant::now(), written: None }
    }

    /// Tells how the search stands, unless that was told just now.
    pub(crate) fn tell(&mut self, standing: Standing) {
        let now = Instant::now();
        let pause = match (self.style, self.written) {
            (Style::Bar, _) => REDRAW,
            (Style::Lines, None) => FIRST_LINE,
            (Style::Lines, Some(_)) => NEXT_LINE,
        };
        if now - self.written.unwrap_or(self.begun) < pause {
            return;
        }
        self.written = Some(now);
        let text = text(standing, self.end, now - self.begun);
        let text = match self.style {
            Style::Bar => {
                let done = share(standing.epochs, self.end, now - self.begun);
                format!("{CLEAR}{} {text}", bar(done))
            }
            Style::Lines => format!("planning: {text}\n"),
        };
        say(&text);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.style == Style::Bar && self.written.is_some() {
            say(CLEAR);
        }
    }
}

fn say(text: &str) {
    let mut to = std::io::stderr().lock();
    // The search goes on where nobody can be told of it.
    let _told = write!(to, "{text}").and_then(|()| to.flush());
}

/// The share that is done, of a thousand.
fn share(epochs: u64, end: End, elapsed: Duration) -> usize {
    let (done, most) = match end {
        End::Epochs(most) => (u128::from(epochs), u128::from(most)),
        End::Seconds(most) => (elapsed.as_millis(), u128::from(most) * 1_000),
    };
    usize::try_from(done * 1_000 / most.max(1)).unwrap_or(1_000).min(1_000)
}

fn bar(done: usize) -> String {
    let filled = done * WIDTH / 1_000;
    format!("[{}{}]", "#".repeat(filled), "-".repeat(WIDTH - filled))
}

fn text(standing: Standing, end: End, elapsed: Duration) -> String {
    let seconds = elapsed.as_secs();
    let mut text = match end {
        End::Epochs(most) => format!("epoch {} of {most}, {seconds} s", standing.epochs),
        End::Seconds(most) => format!("{seconds} of {most} s, epoch {}", standing.epochs),
    };
    // Writing into a text cannot fail.
    let _written = match standing.missing {
        0 => write!(text, ", cost {}, no plan costs less than {}", standing.cost, standing.bound),
        missing => write!(text, ", no plan yet: {missing} jobs have found no room"),
    };
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    const HALF: Standing = Standing { epochs: 4, missing: 0, cost: 120, bound: 90 };

    #[test]
    fn progress_says_epochs_time_cost_and_bound() {
        let after = Duration::from_millis(2_700);
        let expected = "epoch 4 of 8, 2 s, cost 120, no plan costs less than 90";
        assert_eq!(text(HALF, End::Epochs(8), after), expected);
        let expected = "2 of 10 s, epoch 4, cost 120, no plan costs less than 90";
        assert_eq!(text(HALF, End::Seconds(10), after), expected);
        let missing = Standing { missing: 3, ..HALF };
        let expected = "epoch 4 of 8, 2 s, no plan yet: 3 jobs have found no room";
        assert_eq!(text(missing, End::Epochs(8), after), expected);
    }

    #[test]
    fn a_bar_is_as_full_as_the_search_is_done() {
        let after = Duration::from_millis(2_500);
        assert_eq!(bar(share(0, End::Epochs(8), after)), "[------------------------]");
        assert_eq!(bar(share(4, End::Epochs(8), after)), "[############------------]");
        assert_eq!(bar(share(4, End::Seconds(10), after)), "[######------------------]");
        assert_eq!(bar(share(9, End::Epochs(8), after)), "[########################]");
        assert_eq!(share(0, End::Epochs(0), after), 0);
    }
}
