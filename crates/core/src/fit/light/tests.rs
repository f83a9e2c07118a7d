//! Light in a zone: coverage, age, lamps, maximum; bays and surveys are invented.

use super::super::at_station;
use super::super::example::{bay, method, saloon, survey, today};
use super::*;
use crate::demand::{LightPlane, LightTerms, ZoneNeed};
use crate::floor::Bay;
use crate::survey::{LightConditions, LightReading, SurveyDraft};
use proptest::prelude::*;
use rstest::rstest;

const ASKED: LightNeed = LightNeed {
    plane: LightPlane::Vertical,
    height_mm: 1_200.0,
    average_min_lux: Some(300.0),
    average_max_lux: None,
    minimum_lux: None,
    maximum_lux: None,
    uniformity_min: None,
    colour_temperature_k: None,
    terms: LightTerms { reading_spacing_max_mm: None, conformance_probability: None },
};

fn findings(need: LightNeed, draft: SurveyDraft) -> Vec<Finding> {
    let bay = Bay::new(bay()).unwrap();
    let survey = Survey::new(draft).unwrap();
    let site = Site { bay: &bay, survey: Some(&survey), on: today() };
    let needs = vec![ZoneNeed::Light(need)];
    let found = at_station(&method(needs), &saloon(), &site, &bay.stations()[0]);
    found.findings.into_iter().filter(|one| one.zone.is_some()).collect()
}

/// Readings of 500 lux at places; the zone lies at x 6400 to 8400 mm, y 1500 to 4500 mm.
fn read_at(places: &[(f64, f64)]) -> SurveyDraft {
    let reading = |(x_mm, y_mm): &(f64, f64)| LightReading {
        x_mm: *x_mm,
        y_mm: *y_mm,
        height_mm: 1_200.0,
        plane: LightPlane::Vertical,
        lux: 500.0,
    };
    SurveyDraft { light: places.iter().map(reading).collect(), ..survey(0.0, 500.0) }
}

#[rstest]
#[case::three_in_one_corner(&[(6_500.0, 1_600.0), (7_000.0, 1_600.0), (6_500.0, 2_000.0)], "sparse")]
#[case::three_on_a_line(&[(6_500.0, 3_000.0), (7_000.0, 3_000.0), (8_000.0, 3_000.0)], "line")]
#[case::two(&[(6_500.0, 3_000.0), (7_000.0, 3_500.0)], "few")]
#[case::one_place_three_times(&[(7_000.0, 3_000.0); 3], "few")]
#[case::middles_of_the_cells(
    &[(6_900.0, 2_000.0), (7_900.0, 2_000.0), (6_900.0, 3_000.0), (7_900.0, 3_000.0),
        (6_900.0, 4_000.0), (7_900.0, 4_000.0)], "holds")]
fn readings_that_do_not_speak_for_the_zone_leave_its_light_undecided(
    #[case] places: &[(f64, f64)],
    #[case] expected: &str,
) {
    let found = findings(ASKED, read_at(places));
    let name = match &found[0].detail {
        Detail::ReadingsTooSparse { .. } => "sparse",
        Detail::ReadingsOnOneLine { .. } => "line",
        Detail::TooFewReadings { .. } => "few",
        Detail::Holds => "holds",
        other => panic!("{other:?}"),
    };
    assert_eq!(name, expected, "{}", found[0]);
    let undecided = found[0].verdict == Verdict::Undecided;
    assert_eq!(undecided, expected != "holds");
    if undecided {
        // 3 m by 2 m: p = 0.2 x 5^(log10 3) = 0.431 m, 7 by 5 readings (EN 12464-1).
        let told = "(EN 12464-1 advises 7 by 5 readings, at most 431 mm apart)";
        assert!(found[0].to_string().contains(told), "{}", found[0]);
    }
}

#[test]
fn reading_at_the_places_named_decides() {
    let mut places = vec![(6_500.0, 1_600.0), (7_000.0, 1_600.0), (6_500.0, 2_000.0)];
    let found = findings(ASKED, read_at(&places));
    let Detail::ReadingsTooSparse { more, .. } = &found[0].detail else { panic!("{found:?}") };
    assert!(!more.or_more);
    places.extend(more.places.iter().map(|at| (at.x_mm, at.y_mm)));
    assert_eq!(findings(ASKED, read_at(&places))[0].verdict, Verdict::Conforms);
}

#[test]
fn a_bright_spot_passes_the_greatest_value_and_not_the_average() {
    let mut draft = survey(0.0, 500.0);
    for reading in &mut draft.light {
        if (reading.x_mm - 7_000.0).abs() < 1.0 && (reading.y_mm - 2_000.0).abs() < 1.0 {
            reading.lux = 2_000.0;
        }
    }
    let need = LightNeed { average_max_lux: Some(1_200.0), maximum_lux: Some(1_500.0), ..ASKED };
    let found = findings(need, draft);
    let of = |kind: NeedKind| found.iter().find(|one| one.need == kind).unwrap();
    assert_eq!(of(NeedKind::LightAverageMax).verdict, Verdict::Conforms);
    assert_eq!(of(NeedKind::LightMaximum).verdict, Verdict::DoesNotConform);
    assert!((of(NeedKind::LightMaximum).measured.unwrap().value - 2_000.0).abs() < 1e-9);
}

#[test]
fn old_readings_and_readings_with_lamps_out_are_undecided_while_heights_still_count() {
    let with = |conditions: LightConditions| {
        let draft = SurveyDraft { light_conditions: conditions, ..survey(0.0, 500.0) };
        findings(ASKED, draft)[0].clone()
    };
    let until = |day: &str| LightConditions {
        light_valid_until: Some(day.parse().unwrap()),
        ..LightConditions::default()
    };
    assert_eq!(with(until("2026-03-03")).verdict, Verdict::Conforms);
    let old = with(until("2026-03-02"));
    assert_eq!(old.verdict, Verdict::Undecided);
    assert!(old.to_string().contains("its light readings counted only until 2026-03-02"), "{old}");
    let lamps = |lamps| with(LightConditions { lamps: Some(lamps), ..LightConditions::default() });
    assert_eq!(lamps(LampState::AllOn).verdict, Verdict::Conforms);
    assert_eq!(lamps(LampState::SomeOut).detail, Detail::LampsOut);
}

#[rstest]
// The lamps have 5000 K; the range ends at 5200 K, and k = 1.645 (95 %) or 1.282 (90 %).
#[case::exact(0.0, None, Verdict::Conforms)]
#[case::sure_enough(120.0, None, Verdict::Conforms)]
#[case::unsure(130.0, None, Verdict::Undecided)]
#[case::sure_enough_for_ninety_percent(130.0, Some(0.9), Verdict::Conforms)]
fn the_colour_temperature_follows_the_same_rule(
    #[case] colour_temperature_uncertainty_k: f64,
    #[case] conformance_probability: Option<f64>,
    #[case] expected: Verdict,
) {
    let need = LightNeed {
        average_min_lux: None,
        colour_temperature_k: Some((4_000.0, 5_200.0)),
        terms: LightTerms { conformance_probability, ..LightTerms::default() },
        ..ASKED
    };
    let light_conditions =
        LightConditions { colour_temperature_uncertainty_k, ..LightConditions::default() };
    let found = findings(need, SurveyDraft { light_conditions, ..survey(0.0, 500.0) });
    assert_eq!(found[0].verdict, expected, "{}", found[0]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn a_worse_meter_never_turns_does_not_into_conforms(
        lux in 150.0..900.0_f64, relative in 0.001..0.2_f64, worse in 1.0..4.0_f64,
    ) {
        let need = LightNeed {
            average_max_lux: Some(800.0), minimum_lux: Some(250.0), maximum_lux: Some(900.0),
            uniformity_min: Some(0.8), ..ASKED
        };
        let verdicts = |light_uncertainty_relative: f64| -> Vec<_> {
            let draft = SurveyDraft { light_uncertainty_relative, ..survey(0.0, lux) };
            findings(need, draft).into_iter().map(|one| one.verdict).collect()
        };
        for (better, poorer) in verdicts(relative).into_iter().zip(verdicts(relative * worse)) {
            prop_assert!(poorer == Verdict::Undecided || poorer == better, "{better:?} {poorer:?}");
        }
    }
}
