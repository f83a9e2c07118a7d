//! Half-open spans of minutes and lists of them.
//!
//! A list is *ordered* when no span lies inside another, so that starts and ends both strictly
//! increase. Open windows are not merged where they touch or overlap, because a step has to fit
//! whole inside one of them; start windows and holds are merged, because there only membership counts.

/// The minutes from `start` up to, not including, `end`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// The first minute inside.
    pub start: i64,
    /// The first minute outside.
    pub end: i64,
}

impl Span {
    /// The span as a pair `[from, to]`.
    pub fn pair(&self) -> [i64; 2] {
        [self.start, self.end]
    }

    /// Whether the two share a minute.
    pub(super) fn overlaps(self, other: Self) -> bool {
        self.start < other.end && other.start < self.end
    }
}

/// Sorts, and drops empty spans and those inside another.
pub(super) fn ordered(mut spans: Vec<Span>) -> Vec<Span> {
    spans.retain(|span| span.start < span.end);
    spans.sort_unstable_by_key(|span| (span.start, -span.end));
    let mut end = i64::MIN;
    spans.retain(|span| {
        let longer = span.end > end;
        end = end.max(span.end);
        longer
    });
    spans
}

/// Sorts, drops empty spans and joins those that touch or overlap.
pub(super) fn merged(mut spans: Vec<Span>) -> Vec<Span> {
    spans.retain(|span| span.start < span.end);
    spans.sort_unstable();
    let mut out: Vec<Span> = Vec::with_capacity(spans.len());
    for span in spans {
        match out.last_mut() {
            Some(last) if span.start <= last.end => last.end = last.end.max(span.end),
            _ => out.push(span),
        }
    }
    out
}

/// What is left of ordered windows once merged `busy` spans are taken out; ordered again.
pub(super) fn subtract(windows: &[Span], busy: &[Span], out: &mut Vec<Span>) {
    out.clear();
    let mut furthest = i64::MIN;
    for window in windows {
        let mut at = window.start;
        let first = busy.partition_point(|span| span.end <= window.start);
        let mut push = |start: i64, end: i64| {
            // Pieces of overlapping windows may lie inside one another: keep the longest.
            if start < end && end > furthest {
                while out.last().is_some_and(|last| last.start >= start) {
                    out.pop();
                }
                out.push(Span { start, end });
                furthest = end;
            }
        };
        for span in busy[first..].iter().take_while(|span| span.start < window.end) {
            push(at, span.start);
            at = at.max(span.end);
        }
        push(at, window.end);
    }
}

/// The earliest start at or after `from` of `minutes` inside one span of an ordered list.
pub(super) fn earliest(spans: &[Span], from: i64, minutes: i64) -> Option<i64> {
    let first = spans.partition_point(|span| span.end < from + minutes);
    spans[first..].iter().find_map(|span| {
        let start = span.start.max(from);
        (start + minutes <= span.end).then_some(start)
    })
}

/// The earliest minute at or after `from` inside an ordered list.
pub(super) fn earliest_inside(spans: &[Span], from: i64) -> Option<i64> {
    earliest(spans, from, 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn spans(pairs: &[[i64; 2]]) -> Vec<Span> {
        pairs.iter().map(|[start, end]| Span { start: *start, end: *end }).collect()
    }

    #[rstest]
    #[case::inside_one_is_dropped(&[[0, 10], [2, 5], [8, 12]], &[[0, 10], [8, 12]])]
    #[case::touching_ones_stay_apart(&[[5, 9], [0, 5]], &[[0, 5], [5, 9]])]
    #[case::empty_ones_are_dropped(&[[3, 3]], &[])]
    fn windows_are_ordered_but_not_joined(
        #[case] given: &[[i64; 2]],
        #[case] expected: &[[i64; 2]],
    ) {
        assert_eq!(ordered(spans(given)), spans(expected));
    }

    #[rstest]
    #[case::hole(&[[0, 10]], &[[3, 5]], &[[0, 3], [5, 10]])]
    #[case::covered(&[[0, 10]], &[[-3, 15]], &[])]
    #[case::busy_in_the_overlap_of_two(&[[0, 24], [20, 48]], &[[21, 22]], &[[0, 21], [22, 48]])]
    #[case::busy_before_the_overlap(&[[0, 24], [20, 48]], &[[10, 15]], &[[0, 10], [15, 24], [20, 48]])]
    fn busy_minutes_are_taken_out(
        #[case] windows: &[[i64; 2]],
        #[case] busy: &[[i64; 2]],
        #[case] expected: &[[i64; 2]],
    ) {
        let mut out = Vec::new();
        subtract(&spans(windows), &spans(busy), &mut out);
        assert_eq!(out, spans(expected));
    }

    #[test]
    fn a_step_fits_inside_one_window_and_not_across_two() {
        let windows = spans(&[[0, 5], [5, 9], [20, 30]]);
        assert_eq!(earliest(&windows, 0, 4), Some(0));
        assert_eq!(earliest(&windows, 2, 4), Some(5));
        assert_eq!(earliest(&windows, 0, 6), Some(20));
        assert_eq!(earliest(&windows, 25, 6), None);
    }
}
