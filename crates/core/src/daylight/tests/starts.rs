//! Start windows: the run part alone is bound, and a start within them keeps it out of the sun.

use super::*;

#[rstest]
#[case::long_enough(("10:42:00", "12:00:00"), (15, 20), Some(("10:27:00", "11:26:00")))]
#[case::just_long_enough(("10:00:00", "10:20:00"), (15, 20), Some(("09:45:00", "09:46:00")))]
#[case::a_minute_too_short(("10:00:00", "10:19:00"), (15, 20), None)]
#[case::cut_back_to_whole_minutes(
    ("09:59:01", "10:20:59"), (0, 20), Some(("10:00:00", "10:01:00")))]
#[case::a_second_too_short_for_whole_minutes(("10:00:01", "10:20:59"), (0, 20), None)]
#[case::no_run_is_a_minute(("10:00:00", "10:20:00"), (0, 0), Some(("10:00:00", "10:20:00")))]
#[case::longer_than_any_day(("10:00:00", "10:20:00"), (0, u32::MAX), None)]
fn a_start_leaves_the_set_up_before_and_the_run_within(
    #[case] (start, end): (&str, &str),
    #[case] (setup_minutes, run_minutes): (u32, u32),
    #[case] expected: Option<(&str, &str)>,
) {
    let on_the_day = |(start, end): (&str, &str)| {
        WindowSet::from(window(&format!("2026-03-02T{start}Z"), &format!("2026-03-02T{end}Z")))
    };
    let starts = start_windows(&on_the_day((start, end)), setup_minutes, run_minutes);
    assert_eq!(starts, expected.map_or(WindowSet::EMPTY, on_the_day));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_whole_minutes_of_start_windows_are_those_whose_run_is_free_of_sun(
        pieces in prop::collection::vec((0_i64..20_000, 1_i64..9_000), 0..6),
        setup in 0_u32..40,
        run in 1_u32..90,
    ) {
        let second = |s: i64| DateTime::from_timestamp(1_780_000_200 + s, 0).unwrap();
        let sun_free: WindowSet = pieces
            .iter()
            .map(|(start, long)| Window::new(second(*start)..second(start + long)).unwrap())
            .collect();
        let starts = start_windows(&sun_free, setup, run);
        for minute in -60..600_i64 {
            let start = second(0) + Duration::minutes(minute);
            let run_from = start + Duration::minutes(setup.into());
            let part = Window::new(run_from..run_from + Duration::minutes(run.into())).unwrap();
            prop_assert_eq!(starts.contains(start), sun_free.covers(part));
        }
    }
}
