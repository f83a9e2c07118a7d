//! A set of instants, as windows in order that neither overlap nor touch.

use super::Window;
use chrono::{DateTime, Duration, Utc};

/// A set of instants: windows in ascending order, of which no two overlap or touch.
///
/// Two sets are equal exactly when they hold the same instants.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WindowSet(Vec<Window>);

impl WindowSet {
    /// The set without an instant.
    pub const EMPTY: Self = Self(Vec::new());

    /// The windows, in order.
    pub fn as_slice(&self) -> &[Window] {
        &self.0
    }

    /// The windows, in order.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = Window> + '_ {
        self.0.iter().copied()
    }

    /// Whether the set holds no instant.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether the set holds the instant.
    pub fn contains(&self, instant: DateTime<Utc>) -> bool {
        let index = self.0.partition_point(|window| window.end() <= instant);
        self.0.get(index).is_some_and(|window| window.contains(instant))
    }

    /// Whether one window of the set covers all of `window`.
    pub fn covers(&self, window: Window) -> bool {
        let index = self.0.partition_point(|own| own.end() <= window.start());
        self.0.get(index).is_some_and(|own| own.covers(window))
    }

    /// Time elapsed inside.
    pub fn duration(&self) -> Duration {
        self.iter().map(Window::duration).sum()
    }

    /// The instants that lie in either set.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        self.iter().chain(other.iter()).collect()
    }

    /// The instants that lie in both sets.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        let (mut own, mut others) = (self.iter().peekable(), other.iter().peekable());
        let mut shared = Vec::new();
        while let (Some(left), Some(right)) = (own.peek(), others.peek()) {
            shared.extend(left.intersection(*right));
            // The window that ends first can share nothing more.
            if left.end() <= right.end() {
                own.next();
            } else {
                others.next();
            }
        }
        Self(shared)
    }

    /// The instants of this set that do not lie in the other.
    #[must_use]
    pub fn difference(&self, other: &Self) -> Self {
        let mut left = Vec::new();
        let mut first_cut = 0;
        for window in self.iter() {
            let mut start = window.start();
            first_cut += other.0[first_cut..].partition_point(|cut| cut.end() <= start);
            for cut in other.0[first_cut..].iter().take_while(|cut| cut.start() < window.end()) {
                left.extend(Window::of(start, cut.start()));
                start = cut.end();
            }
            left.extend(Window::of(start, window.end()));
        }
        Self(left)
    }

    /// What lies inside `within`.
    #[must_use]
    pub fn clipped(&self, within: Window) -> Self {
        self.intersection(&Self(vec![within]))
    }
}

impl From<Window> for WindowSet {
    fn from(window: Window) -> Self {
        Self(vec![window])
    }
}

impl FromIterator<Window> for WindowSet {
    /// Takes windows in any order, overlapping or not.
    fn from_iter<I: IntoIterator<Item = Window>>(windows: I) -> Self {
        let mut given: Vec<Window> = windows.into_iter().collect();
        given.sort_unstable();
        let mut merged: Vec<Window> = Vec::with_capacity(given.len());
        for window in given {
            match merged.last_mut() {
                Some(last) if window.start() <= last.end() => {
                    if let Some(longer) = Window::of(last.start(), last.end().max(window.end())) {
                        *last = longer;
                    }
                }
                _ => merged.push(window),
            }
        }
        Self(merged)
    }
}

#[cfg(test)]
mod tests;
