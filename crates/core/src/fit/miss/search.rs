//! The smallest number of steps at which something holds.

/// The smallest number of steps from 1 to `most` that holds where one less does not.
///
/// Steps are tried at a growing distance (by a quarter each time) until one holds; then the last one
/// that does not and the first that does are brought together. Where everything above a number holds
/// that number is found; where a range holds (more light helps until it is too bright), its lower
/// end is, as long as the range is not narrower than a quarter of its lower end.
pub(super) fn smallest(most: u32, holds: impl Fn(u32) -> bool) -> Option<u32> {
    let (mut below, mut at) = (0, 1);
    while !holds(at) {
        if at >= most {
            return None;
        }
        below = at;
        at = (at + (at / 4).max(1)).min(most);
    }
    while at - below > 1 {
        let middle = below + (at - below) / 2;
        if holds(middle) {
            at = middle;
        } else {
            below = middle;
        }
    }
    Some(at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case::the_first_step(1, 1, 10_000, Some(1))]
    #[case::in_between(4_711, 10_000, 10_000, Some(4_711))]
    #[case::the_last_step(10_000, 10_000, 10_000, Some(10_000))]
    #[case::beyond_the_last(10_001, 20_000, 10_000, None)]
    #[case::a_range(300, 380, 10_000, Some(300))]
    #[case::one_step_only(1, 1, 1, Some(1))]
    fn the_lower_end_is_found(
        #[case] from: u32,
        #[case] to: u32,
        #[case] most: u32,
        #[case] expected: Option<u32>,
    ) {
        assert_eq!(smallest(most, |steps| (from..=to).contains(&steps)), expected);
    }
}
