//! Nearest misses in an invented bay: each kind by itself, and for any bay that the change makes it
//! fit and one step less does not.
//!
//! Expected lengths are elementary geometry of the invented figures.

use super::*;
use crate::fit::example::*;
use crate::floor::{Bay, BayDraft, Placing};
use crate::ids::BayId;
use crate::survey::{LightConditions, Survey, SurveyDraft};
use proptest::prelude::*;
use rstest::rstest;
use std::collections::BTreeSet;

/// The bay with its right wall at `width_mm`: the zone reaches to 8400 mm.
fn bay_of_width(width_mm: f64) -> BayDraft {
    let outline_mm = vec![(0.0, 0.0), (width_mm, 0.0), (width_mm, 6e3), (0.0, 6e3)];
    BayDraft { outline_mm, ..bay() }
}

/// The bay next to it, from `x_mm` on.
fn next_bay(x_mm: f64) -> BayDraft {
    let outline_mm = vec![(x_mm, 0.0), (12e3, 0.0), (12e3, 6e3), (x_mm, 6e3)];
    BayDraft { id: BayId::new("bay-2").unwrap(), outline_mm, stations: vec![], ..bay() }
}

/// The light is even, 500 lux, so that only what a case changes is wrong.
fn good_survey() -> SurveyDraft {
    survey(0.001, 500.0)
}

fn misses_with(bays: Vec<BayDraft>, survey: SurveyDraft) -> Vec<Miss> {
    let bays: Vec<_> = bays.into_iter().map(|draft| Bay::new(draft).unwrap()).collect();
    let survey = Survey::new(survey).unwrap();
    let around = Around { bay: &bays[0], survey: Some(&survey), bays: &bays, on: today() };
    nearest_misses(&method(vec![CLEAR, LEVEL, LIGHT]), &saloon(), &around)
}

fn sentences(misses: &[Miss]) -> Vec<String> {
    misses.iter().map(|miss| miss.change.to_string()).collect()
}

#[track_caller]
fn check_changes(misses: &[Miss], expected: &[&str]) {
    assert_eq!(sentences(misses), expected);
}

#[test]
fn a_bay_too_short_by_a_hand_gains_floor_at_that_side() {
    let found = misses_with(vec![bay_of_width(8_300.0)], good_survey());
    let painted = "paint a station at x 4050 mm, y 3000 mm, heading 0.0 degrees";
    let gained = "gain 100.0 mm of clear floor along the bay's edge from its vertex 1";
    check_changes(&found, &[painted, gained]);
    assert_eq!(found[1].placement.station().as_str(), "mark-1");
}

#[test]
fn a_wall_of_two_edges_is_one_side() {
    let mut draft = bay_of_width(7_500.0);
    draft.outline_mm.insert(2, (7_500.0, 3_100.0));
    let found = misses_with(vec![draft], good_survey());
    check_changes(&found, &["gain 900.0 mm of clear floor along the bay's edge from its vertex 1"]);
}

#[test]
fn a_column_in_the_zone_is_taken_away_and_two_are_too_many() {
    let one = vec![column("column-1", 7_000.0, 2_750.0)];
    let found = misses_with(vec![BayDraft { obstructions: one.clone(), ..bay() }], good_survey());
    check_changes(&found, &["take column-1 away"]);
    let mut two = one;
    two.push(column("column-2", 7_000.0, 3_300.0));
    check_changes(&misses_with(vec![BayDraft { obstructions: two, ..bay() }], good_survey()), &[]);
}

#[rstest]
#[case::empty(next_bay(7_500.0), true)]
#[case::with_a_bench_in_the_way(
    BayDraft { obstructions: vec![column("bench", 8_000.0, 2_900.0)], ..next_bay(7_500.0) }, false)]
#[case::under_a_low_ceiling(BayDraft { ceiling_mm: 1_900.0, ..next_bay(7_500.0) }, false)]
#[case::behind_a_wall(next_bay(7_550.0), false)]
fn a_bay_next_to_it_kept_empty_gives_room(#[case] next: BayDraft, #[case] helps: bool) {
    let found = misses_with(vec![bay_of_width(7_500.0), next], good_survey());
    let kept = "keep bay bay-2 empty meanwhile and let zones reach over it".to_owned();
    assert_eq!(sentences(&found).contains(&kept), helps, "{:?}", sentences(&found));
}

#[test]
fn a_survey_that_no_longer_counts_is_renewed() {
    let expired = SurveyDraft { valid_until: day("2026-02-01"), ..good_survey() };
    check_changes(
        &misses_with(vec![bay()], expired),
        &["survey the bay again, if it shows the same figures"],
    );
}

#[test]
fn light_readings_that_no_longer_count_are_renewed_with_the_survey() {
    let lamps_aged = |survey: SurveyDraft| {
        let light_conditions = LightConditions {
            light_valid_until: Some(day("2026-03-01")),
            ..survey.light_conditions
        };
        SurveyDraft { light_conditions, ..survey }
    };
    check_changes(
        &misses_with(vec![bay()], lamps_aged(good_survey())),
        &["survey the bay again, if it shows the same figures"],
    );
    // Too dark it was already when the light counted, so to read it again is not enough.
    check_changes(&misses_with(vec![bay()], lamps_aged(survey(0.001, 200.0))), &[]);
}

#[test]
fn a_survey_that_shows_too_much_slope_is_not_worth_renewing() {
    let expired = SurveyDraft { valid_until: day("2026-02-01"), ..survey(0.02, 500.0) };
    check_changes(&misses_with(vec![bay()], expired), &[]);
}

#[test]
fn a_dark_bay_needs_so_many_lux_and_a_sloping_one_so_many_millimetres() {
    let dark = misses_with(vec![bay()], survey(0.001, 200.0));
    assert_eq!(
        dark.iter().map(|one| one.change.kind()).collect::<Vec<_>>(),
        [ChangeKind::AddLight]
    );
    let sloping = misses_with(vec![bay()], survey(0.02, 500.0));
    let kinds: Vec<_> = sloping.iter().map(|one| one.change.kind()).collect();
    assert_eq!(kinds, [ChangeKind::Relevel]);
    // The zone is 2000 mm long and rises by 20 mm per metre: flat it is after 20 mm at most.
    let most_mm = sloping[0].change.size().unwrap().value;
    assert!((1.0..=20.0).contains(&most_mm), "{most_mm}");
}

#[test]
fn heights_too_uncertain_are_measured_more_exactly() {
    let coarse = SurveyDraft { height_uncertainty_mm: 6.0, ..good_survey() };
    let found = misses_with(vec![bay()], coarse);
    assert_eq!(found[0].change.kind(), ChangeKind::MeasureHeights, "{:?}", sentences(&found));
}

#[test]
fn a_bay_that_plans_free_poses_paints_nothing() {
    let free = Placing { planned: true, ..Placing::default() };
    let bay = Bay::with_placing(bay_of_width(8_300.0), free).unwrap();
    let survey = Survey::new(good_survey()).unwrap();
    let around = Around { bay: &bay, survey: Some(&survey), bays: &[], on: today() };
    let method = method(vec![CLEAR, LEVEL, LIGHT]);
    let fit = fit(&method, &saloon(), &bay, Some(&survey), today());
    let Fit::Fits(placement) = fit else { panic!("{fit:?}") };
    assert_eq!(placement.station().as_str(), "free_4050_3000_0.0");
    assert_eq!(nearest_misses(&method, &saloon(), &around), []);
}

/// A bay and a survey with something wrong, now and then with several things.
fn plans() -> impl Strategy<Value = (BayDraft, SurveyDraft)> {
    let columns = prop::collection::vec((100.0..8_000.0_f64, 100.0..5_400.0_f64), 0..3);
    let floor = (prop_oneof![Just(9_000.0), 7_300.0..8_600.0_f64], columns);
    let measured = (
        prop_oneof![Just(0.001), 0.003..0.012_f64],
        prop_oneof![Just(500.0), 100.0..480.0_f64],
        prop_oneof![Just(0.5), 0.5..8.0_f64],
        prop_oneof![Just(0.03), 0.02..0.3_f64],
        prop_oneof![4 => Just(false), 1 => Just(true)],
    );
    (floor, measured).prop_map(|((width_mm, columns), (slope, lux, height_u, light_u, expired))| {
        let columns = columns.into_iter().enumerate();
        let obstructions = columns.map(|(at, (x, y))| column(&format!("column-{at}"), x, y));
        let mut survey = survey(slope, lux);
        survey.height_uncertainty_mm = height_u;
        survey.light_uncertainty_relative = light_u;
        if expired {
            survey.valid_until = day("2026-02-01");
        }
        (BayDraft { obstructions: obstructions.collect(), ..bay_of_width(width_mm) }, survey)
    })
}

/// The bay behind the right wall of a plan.
fn beside(draft: &BayDraft) -> BayDraft {
    next_bay(draft.outline_mm[1].0)
}

fn fits_after(change: &Change, around: &Around<'_>, method: &Method) -> bool {
    let (bay, survey) = change.applied(around).unwrap();
    matches!(fit(method, &saloon(), &bay, survey.as_ref(), around.on), Fit::Fits(_))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn a_nearest_miss_fits_with_its_change_and_not_with_one_step_less((draft, survey) in plans()) {
        let next = beside(&draft);
        let bays = [Bay::new(draft).unwrap(), Bay::new(next).unwrap()];
        let survey = Survey::new(survey).unwrap();
        let around = Around { bay: &bays[0], survey: Some(&survey), bays: &bays, on: today() };
        let method = method(vec![CLEAR, LEVEL, LIGHT]);
        let before = matches!(
            fit(&method, &saloon(), &bays[0], Some(&survey), today()), Fit::Fits(_));
        let misses = nearest_misses(&method, &saloon(), &around);
        prop_assert!(!before || misses.is_empty());
        for miss in misses {
            prop_assert!(fits_after(&miss.change, &around, &method), "{}", miss.change);
            if let Some(less) = miss.change.one_step_less() {
                prop_assert!(!fits_after(&less, &around, &method), "{less}");
            }
        }
    }
}

#[test]
fn the_plans_of_the_property_show_every_kind_but_blinds_and_units() {
    use proptest::strategy::ValueTree as _;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let mut kinds = BTreeSet::new();
    for _ in 0..250 {
        let (draft, survey) = plans().new_tree(&mut runner).unwrap().current();
        let bays = vec![draft.clone(), beside(&draft)];
        kinds.extend(misses_with(bays, survey).iter().map(|miss| miss.change.kind()));
    }
    let expected = [
        ChangeKind::PaintStation,
        ChangeKind::KeepNeighbourEmpty,
        ChangeKind::RenewSurvey,
        ChangeKind::MeasureHeights,
        ChangeKind::MeasureLight,
        ChangeKind::RemoveObstruction,
        ChangeKind::AddLight,
        ChangeKind::Relevel,
        ChangeKind::GainFloor,
    ];
    assert_eq!(kinds, BTreeSet::from(expected));
}
