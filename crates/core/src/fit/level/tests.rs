//! Level zones: coverage, uncertainty, compensation; bays and surveys are invented.

use super::super::example::{
    LEVEL, USUAL, bay, method, saloon, station, survey, target_zone, today,
};
use super::super::{Fit, at_station, fit};
use super::*;
use crate::axes::PointFloor;
use crate::demand::{LevelTerms, ZoneNeed};
use crate::floor::{Bay, BayDraft};
use crate::survey::{HeightErrorsDraft, HeightPoint, SurveyDraft};
use proptest::prelude::*;
use rstest::rstest;

/// The target zone lies at x 6400 to 8400 mm, y 1500 to 4500 mm.
const GENTLE: f64 = 0.001_745;

fn findings(need: ZoneNeed, draft: SurveyDraft) -> Vec<Finding> {
    let bay = Bay::new(bay()).unwrap();
    let survey = Survey::new(draft).unwrap();
    let site = Site { bay: &bay, survey: Some(&survey), on: today() };
    let found = at_station(&method(vec![need]), &saloon(), &site, &bay.stations()[0]);
    found.findings.into_iter().filter(|one| one.zone.is_some()).collect()
}

/// Heights at places alone, all at 10 mm.
fn measured_at(places: &[(f64, f64)]) -> SurveyDraft {
    let point =
        |(x_mm, y_mm): &(f64, f64)| HeightPoint { x_mm: *x_mm, y_mm: *y_mm, height_mm: 10.0 };
    SurveyDraft { heights: places.iter().map(point).collect(), ..survey(GENTLE, 500.0) }
}

/// A grid over the zone from corner to corner, so many places along x and y.
fn grid(along: u32, across: u32) -> Vec<(f64, f64)> {
    let step = |at: u32, count: u32| f64::from(at) / f64::from(count - 1);
    let columns = (0..along).map(move |i| 6_400.0 + 2_000.0 * step(i, along));
    columns
        .flat_map(|x| (0..across).map(move |j| (x, 1_500.0 + 3_000.0 * step(j, across))))
        .collect()
}

fn names(findings: &[Finding]) -> Vec<&'static str> {
    findings
        .iter()
        .map(|finding| match finding.detail {
            Detail::Holds => "holds",
            Detail::TooFewPoints { .. } => "too few",
            Detail::PointsOnOneLine { .. } => "one line",
            Detail::NotSurveyedThere { .. } => "not surveyed there",
            Detail::PointsTooSparse { .. } => "too sparse",
            Detail::HeightsTooUncertain { .. } => "too uncertain",
            Detail::HeightsScatter { .. } => "scatter",
            _ => "other",
        })
        .collect()
}

#[rstest]
#[case::none(vec![], "too few")]
#[case::three_points_whose_residual_is_always_zero(
    vec![(6_400.0, 1_500.0), (8_400.0, 1_500.0), (7_400.0, 4_500.0)], "too few")]
#[case::five(grid(2, 3)[1..].to_vec(), "too few")]
#[case::one_place_nine_times(vec![(7_000.0, 3_000.0); 9], "too few")]
#[case::two_places_many_times(
    vec![(7_000.0, 3_000.0), (7_000.0, 3_000.0), (7_000.0, 3_000.0), (8_000.0, 3_000.0),
        (8_000.0, 3_000.0), (8_000.0, 3_000.0), (8_000.0, 3_000.0)], "too few")]
#[case::one_line(
    (0..7).map(|at| (6_400.0 + f64::from(at) * 300.0, 1_500.0 + f64::from(at) * 450.0)).collect(),
    "one line")]
#[case::one_corner_of_the_zone(
    grid(4, 4).iter().map(|(x, y)| (6_400.0 + (x - 6_400.0) / 4.0, 1_500.0 + (y - 1_500.0) / 4.0)).collect(),
    "not surveyed there")]
#[case::two_of_nine_out_of_reach(grid(2, 4), "too sparse")]
#[case::the_grid_of_a_metre(grid(3, 4), "holds")]
fn points_that_do_not_speak_for_the_zone_leave_it_undecided(
    #[case] places: Vec<(f64, f64)>,
    #[case] expected: &str,
) {
    let found = findings(LEVEL, measured_at(&places));
    assert_eq!(names(&found), [expected; 2], "{}", found[0]);
    let verdict = if expected == "holds" { Verdict::Conforms } else { Verdict::Undecided };
    assert!(found.iter().all(|one| one.verdict == verdict), "{found:?}");
}

#[test]
fn measuring_at_the_places_named_decides() {
    let mut places = vec![(6_400.0, 1_500.0), (8_400.0, 1_500.0), (7_400.0, 4_500.0)];
    let found = findings(LEVEL, measured_at(&places));
    let Detail::TooFewPoints { found: 3, needed: 6, more } = &found[0].detail else {
        panic!("{found:?}");
    };
    assert!(more.places.len() >= 3 && !more.or_more, "{more:?}");
    places.extend(more.places.iter().map(|at: &PointFloor| (at.x_mm, at.y_mm)));
    assert_eq!(names(&findings(LEVEL, measured_at(&places))), ["holds"; 2]);
}

#[test]
fn a_procedure_may_ask_for_denser_points() {
    let asks = |spacing_mm: f64| ZoneNeed::Level {
        slope_max_deg: 0.3,
        residual_max_mm: None,
        terms: LevelTerms { point_spacing_max_mm: Some(spacing_mm), ..USUAL },
    };
    let every_half_metre = || measured_at(&grid(5, 7));
    assert_eq!(names(&findings(asks(500.0), every_half_metre())), ["holds"]);
    assert_eq!(names(&findings(asks(400.0), every_half_metre())), ["too sparse"]);
}

#[test]
fn a_survey_beside_the_zone_is_not_extrapolated_into_it() {
    let mut draft = survey(GENTLE, 500.0);
    draft.heights.retain(|point| point.x_mm <= 8_000.0);
    let found = findings(LEVEL, draft);
    assert_eq!(names(&found), ["not surveyed there"; 2]);
    assert!(found[0].to_string().contains("not surveyed at x 8400 mm"), "{}", found[0]);
}

#[rstest]
// The grid of 500 mm over the zone has 35 places. A shift that all heights share cancels; a tilted
// horizontal does not: 0.3 degrees are 5.2 mm per metre, the floor has 4.9.
#[case::independent(HeightErrorsDraft::default(), Verdict::Conforms)]
#[case::a_poor_datum(HeightErrorsDraft { datum_uncertainty_mm: 50.0, ..HeightErrorsDraft::default() },
    Verdict::Conforms)]
#[case::a_tilted_horizontal(HeightErrorsDraft { tilt_uncertainty_mm_per_m: 0.5,
    ..HeightErrorsDraft::default() }, Verdict::Undecided)]
fn what_heights_share_counts_as_it_should(
    #[case] height_errors: HeightErrorsDraft,
    #[case] expected: Verdict,
) {
    let draft = SurveyDraft { height_errors, ..survey(0.004_887, 500.0) };
    let found = findings(LEVEL, draft);
    assert_eq!(found[0].verdict, expected, "{}", found[0]);
}

#[test]
fn correlated_heights_make_a_slope_surer_and_no_verdict_worse() {
    // u = 1.6 mm of which 90 % of the variance is shared leaves 0.5 mm of its own.
    let with = |correlation: f64| {
        let height_errors = HeightErrorsDraft { correlation, ..HeightErrorsDraft::default() };
        let draft =
            SurveyDraft { height_uncertainty_mm: 1.6, height_errors, ..survey(0.004_887, 500.0) };
        findings(LEVEL, draft)[0].clone()
    };
    let (apart, together) = (with(0.0), with(0.9));
    let ratio = apart.uncertainty.unwrap() / together.uncertainty.unwrap();
    assert!((ratio - 10.0_f64.sqrt()).abs() < 1e-3, "{ratio}");
    assert_eq!((apart.verdict, together.verdict), (Verdict::Undecided, Verdict::Conforms));
    let sentence = apart.to_string();
    assert!(sentence.contains("measure heights with a standard uncertainty of"), "{sentence}");
}

#[test]
fn a_floor_rougher_than_its_instrument_is_as_unsure_as_it_is_rough() {
    // Every second row 6 mm higher: level on the whole within a limit that it almost has.
    let mut draft = survey(0.0, 500.0);
    for (at, point) in draft.heights.iter_mut().enumerate() {
        point.height_mm = if at % 2 == 0 { 6.0 } else { 0.0 };
    }
    let need = ZoneNeed::Level { slope_max_deg: 0.12, residual_max_mm: None, terms: USUAL };
    let found = findings(need, draft);
    assert_eq!(names(&found), ["scatter"], "{}", found[0]);
    assert!(found[0].to_string().contains("points in the zone"), "{}", found[0]);
}

#[test]
fn a_hump_near_its_limit_names_the_place_to_measure_again() {
    let mut draft = survey(0.0, 500.0);
    for point in &mut draft.heights {
        if (point.x_mm - 7_500.0).abs() < 1.0 && (point.y_mm - 3_000.0).abs() < 1.0 {
            // A plane through 35 places takes a share of it; 5.0 mm are left within the limit.
            point.height_mm += 5.2;
        }
    }
    let found = findings(LEVEL, draft);
    assert_eq!(found[1].verdict, Verdict::Undecided, "{}", found[1]);
    assert!(found[1].to_string().contains("measure again at x 7500 mm, y 3000 mm"), "{}", found[1]);
}

/// A floor that is level under the vehicle and slopes down by 20 mm per metre from x 6000 mm on.
fn falling_away() -> SurveyDraft {
    let mut draft = survey(0.0, 500.0);
    for point in &mut draft.heights {
        point.height_mm = -0.02 * (point.x_mm - 6_000.0).max(0.0);
    }
    draft
}

#[rstest]
#[case::not_allowed(None, Verdict::DoesNotConform, None)]
// The middle of the zone, at x 7400 mm, lies 28 mm lower than the vehicle.
#[case::within_the_stand(Some(40.0), Verdict::Conforms, Some(Verdict::ConfirmAtStart))]
#[case::on_the_edge_of_the_stand(Some(28.2), Verdict::Undecided, Some(Verdict::Undecided))]
#[case::beyond_the_stand(Some(20.0), Verdict::DoesNotConform, Some(Verdict::DoesNotConform))]
fn a_target_is_compensated_where_the_procedure_allows_it_and_its_stand_reaches(
    #[case] compensation_max_mm: Option<f64>,
    #[case] slope: Verdict,
    #[case] compensation: Option<Verdict>,
) {
    let terms = LevelTerms { compensation_max_mm, ..USUAL };
    let need = ZoneNeed::Level { slope_max_deg: 0.3, residual_max_mm: Some(5.0), terms };
    let found = findings(need, falling_away());
    let of = |kind: NeedKind| found.iter().find(|one| one.need == kind);
    assert_eq!(of(NeedKind::LevelSlope).map(|one| one.verdict), Some(slope));
    let compensated = of(NeedKind::TargetCompensation);
    assert_eq!(compensated.map(|one| one.verdict), compensation);
    if let Some(finding) = compensated {
        assert!((finding.measured.unwrap().value - 28.0).abs() < 1e-9, "{finding}");
    }
    assert_eq!(of(NeedKind::LevelResidual).unwrap().verdict, Verdict::Conforms);
}

#[test]
fn a_compensated_placement_says_by_how_much_the_target_is_raised() {
    let terms = LevelTerms { compensation_max_mm: Some(40.0), ..USUAL };
    let need = ZoneNeed::Level { slope_max_deg: 0.3, residual_max_mm: None, terms };
    let (bay, survey) = (Bay::new(bay()).unwrap(), Survey::new(falling_away()).unwrap());
    let Fit::Fits(placement) = fit(&method(vec![need]), &saloon(), &bay, Some(&survey), today())
    else {
        panic!("fits");
    };
    let [target] = placement.targets() else { panic!("{:?}", placement.targets()) };
    assert!((target.floor_above_vehicle_mm + 28.0).abs() < 1e-9, "{target:?}");
    let sentences: Vec<_> = placement.findings().iter().map(ToString::to_string).collect();
    let told = "target-compensation: 28.0 mm measured (standard uncertainty";
    assert!(sentences.iter().any(|one| one.contains(told)), "{sentences:#?}");
    assert!(
        sentences.iter().any(|one| one.contains("raise the target by 28.0 mm")),
        "{sentences:#?}"
    );
}

/// The example bay, zone and survey turned together around the origin.
fn turned(angle_deg: f64, draft: &SurveyDraft) -> (Bay, Survey) {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let turn = |x: f64, y: f64| (cos * x - sin * y, sin * x + cos * y);
    let straight = bay();
    let mark = &straight.stations[0];
    let (x, y) = turn(mark.pose.x_mm(), mark.pose.y_mm());
    let bay = BayDraft {
        outline_mm: straight.outline_mm.iter().map(|(x, y)| turn(*x, *y)).collect(),
        stations: vec![station("mark-1", x, y, mark.pose.heading_deg() + angle_deg)],
        ..straight
    };
    let mut draft = draft.clone();
    for point in &mut draft.heights {
        (point.x_mm, point.y_mm) = turn(point.x_mm, point.y_mm);
    }
    (Bay::new(bay).unwrap(), Survey::new(draft).unwrap())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn turning_bay_and_survey_together_changes_no_verdict(
        angle_deg in 0.0..360.0_f64, slope in 0.0..0.012_f64, u in 0.1..6.0_f64,
        places in prop::collection::vec((100.0..8_900.0_f64, 100.0..5_900.0_f64), 20..120),
    ) {
        let at = |(x_mm, y_mm): &(f64, f64)| HeightPoint {
            x_mm: *x_mm, y_mm: *y_mm, height_mm: slope * x_mm + (x_mm / 700.0).sin(),
        };
        let draft = SurveyDraft {
            height_uncertainty_mm: u, heights: places.iter().map(at).collect(), ..survey(0.0, 500.0)
        };
        let terms = LevelTerms { compensation_max_mm: Some(15.0), ..USUAL };
        let need = ZoneNeed::Level { slope_max_deg: 0.3, residual_max_mm: Some(3.0), terms };
        let verdicts = |(bay, survey): (Bay, Survey)| -> Vec<_> {
            let site = Site { bay: &bay, survey: Some(&survey), on: today() };
            let found = at_station(&method(vec![need]), &saloon(), &site, &bay.stations()[0]);
            found.findings.iter().skip(1).map(|one| (one.need, one.verdict)).collect()
        };
        prop_assert_eq!(verdicts(turned(0.0, &draft)), verdicts(turned(angle_deg, &draft)));
    }

    #[test]
    fn worse_heights_never_turn_does_not_into_conforms(
        slope in 0.0..0.012_f64, u in 0.05..3.0_f64, worse in 1.0..10.0_f64, wave in 0.0..4.0_f64,
        correlation in 0.0..0.9_f64, tilt in 0.0..2.0_f64,
    ) {
        let verdicts = |times: f64| -> Vec<Verdict> {
            let mut draft = survey(slope, 500.0);
            for point in &mut draft.heights {
                point.height_mm += wave * (point.x_mm / 400.0 + point.y_mm / 900.0).sin();
            }
            draft.height_uncertainty_mm = u * times;
            draft.height_errors =
                HeightErrorsDraft { correlation, tilt_uncertainty_mm_per_m: tilt * times, ..HeightErrorsDraft::default() };
            let terms = LevelTerms { compensation_max_mm: Some(12.0), ..USUAL };
            let need = ZoneNeed::Level { slope_max_deg: 0.3, residual_max_mm: Some(3.0), terms };
            findings(need, draft).iter().map(|one| one.verdict).collect()
        };
        let (better, poorer) = (verdicts(1.0), verdicts(worse));
        if better.contains(&Verdict::DoesNotConform) {
            prop_assert!(poorer.iter().any(|one| !one.lets_work_start()), "{better:?} {poorer:?}");
        }
    }
}

#[test]
fn the_zone_of_these_tests_lies_where_they_say() {
    let shape =
        crate::demand::Zone::new(target_zone(vec![LEVEL])).unwrap().shape_for(&saloon()).unwrap();
    let pose = bay().stations[0].pose;
    let corners: Vec<_> =
        shape.placed(&pose).vertices().iter().map(|at| (at.x_mm, at.y_mm)).collect();
    assert!(
        corners.contains(&(6_400.0, 1_500.0)) && corners.contains(&(8_400.0, 4_500.0)),
        "{corners:?}"
    );
}
