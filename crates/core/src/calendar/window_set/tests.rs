//! Sets of windows against a set of plain minutes.

use super::*;
use proptest::prelude::*;
use std::collections::BTreeSet;

const MINUTES: i64 = 60;

fn at(minute: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(minute * 60, 0).unwrap()
}

fn set(windows: &[(i64, i64)]) -> WindowSet {
    windows.iter().map(|(start, end)| Window::new(at(*start)..at(*end)).unwrap()).collect()
}

fn minutes(set: &WindowSet) -> BTreeSet<i64> {
    (-1..=MINUTES).filter(|minute| set.contains(at(*minute))).collect()
}

#[track_caller]
fn check_ordered_and_apart(set: &WindowSet) {
    assert!(set.as_slice().windows(2).all(|pair| pair[0].end() < pair[1].start()), "{set:?}");
}

#[test]
fn windows_that_overlap_or_touch_become_one() {
    assert_eq!(set(&[(30, 40), (0, 10), (10, 20), (5, 8)]), set(&[(0, 20), (30, 40)]));
}

#[test]
fn a_cut_over_several_windows_shortens_each() {
    let day = set(&[(0, 10), (20, 30), (40, 50)]);
    assert_eq!(day.difference(&set(&[(5, 25), (45, 60)])), set(&[(0, 5), (25, 30), (40, 45)]));
    assert_eq!(day.clipped(set(&[(8, 42)]).as_slice()[0]), set(&[(8, 10), (20, 30), (40, 42)]));
    assert_eq!(day.duration(), Duration::minutes(30));
}

#[test]
fn a_window_is_covered_by_one_window_only() {
    let day = set(&[(0, 10), (20, 30)]);
    let covers = |start, end| day.covers(Window::new(at(start)..at(end)).unwrap());
    assert!(covers(0, 10) && covers(21, 22));
    assert!(!covers(5, 25) && !covers(9, 11) && !covers(10, 20) && !covers(30, 31));
}

fn any_set() -> impl Strategy<Value = WindowSet> {
    prop::collection::vec((0..MINUTES - 1, 1..20_i64), 0..8).prop_map(|windows| {
        let ended: Vec<_> =
            windows.iter().map(|(start, long)| (*start, (start + long).min(MINUTES))).collect();
        set(&ended)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn the_operations_are_those_of_sets(a in any_set(), b in any_set()) {
        let (plain_a, plain_b) = (minutes(&a), minutes(&b));
        let union: BTreeSet<_> = plain_a.union(&plain_b).copied().collect();
        let shared: BTreeSet<_> = plain_a.intersection(&plain_b).copied().collect();
        let rest: BTreeSet<_> = plain_a.difference(&plain_b).copied().collect();
        for (found, expected) in
            [(a.union(&b), union), (a.intersection(&b), shared), (a.difference(&b), rest)]
        {
            check_ordered_and_apart(&found);
            prop_assert_eq!(found.duration(), Duration::minutes(i64::try_from(expected.len())?));
            prop_assert_eq!(minutes(&found), expected);
        }
    }

    #[test]
    fn what_is_shared_and_what_is_left_make_the_whole(a in any_set(), b in any_set()) {
        prop_assert_eq!(a.intersection(&b).union(&a.difference(&b)), a);
    }
}
