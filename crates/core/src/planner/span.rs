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

/// Takes a span that lies inside one of a list of spans that do not overlap out of that one.
pub(super) fn take_out(spans: &mut Vec<Span>, busy: Span) {
    let at = spans.partition_point(|span| span.end <= busy.start);
    let Some(span) = spans.get_mut(at) else { return };
    let right = Span { start: busy.end, end: span.end };
    let left = span.start < busy.start;
    if left {
        span.end = busy.start;
    }
    match (left, right.start < right.end) {
        (true, true) => spans.insert(at + 1, right),
        (true, false) => {}
        (false, true) => spans[at] = right,
        (false, false) => {
            spans.remove(at);
        }
    }
}

/// Gives a span that was taken out of one of `windows`, which do not overlap, back to what is
/// left of them.
pub(super) fn give_back(windows: &[Span], spans: &mut Vec<Span>, freed: Span) {
    let window = windows.partition_point(|window| window.end <= freed.start);
    let Some(window) = windows.get(window) else { return };
    let at = spans.partition_point(|span| span.end <= freed.start);
    // A neighbour that touches at the window's own edge belongs to another window.
    let joins_left = at > 0 && spans[at - 1].end == freed.start && freed.start > window.start;
    let joins_right =
        spans.get(at).is_some_and(|right| right.start == freed.end) && freed.end < window.end;
    match (joins_left, joins_right) {
        (true, true) => {
            spans[at - 1].end = spans[at].end;
            spans.remove(at);
        }
        (true, false) => spans[at - 1].end = freed.end,
        (false, true) => spans[at].start = freed.start,
        (false, false) => spans.insert(at, freed),
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
    use proptest::prelude::*;
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

    proptest! {
        /// The plain way to the same list is to subtract everything that is busy from the windows.
        #[test]
        fn what_is_taken_out_piece_by_piece_and_given_back_is_what_subtracting_leaves(
            windows in prop::collection::vec((0_i64..6, 1_i64..30), 1..5),
            cuts in prop::collection::vec((0_i64..90, 1_i64..6, any::<bool>()), 1..20),
        ) {
            let mut at = 0;
            let next = |(pause, long): &(i64, i64)| {
                let start = at + pause;
                at = start + long;
                Span { start, end: at }
            };
            let windows: Vec<Span> = windows.iter().map(next).collect();
            let mut spans = windows.clone();
            let mut busy: Vec<Span> = Vec::new();
            for (from, minutes, back) in cuts {
                if back && !busy.is_empty() {
                    let freed = busy.remove(usize::try_from(from).unwrap() % busy.len());
                    give_back(&windows, &mut spans, freed);
                } else if let Some(start) = earliest(&spans, from, minutes) {
                    let taken = Span { start, end: start + minutes };
                    take_out(&mut spans, taken);
                    busy.push(taken);
                }
                let mut expected = Vec::new();
                subtract(&windows, &merged(busy.clone()), &mut expected);
                prop_assert_eq!(&spans, &expected);
            }
        }
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
