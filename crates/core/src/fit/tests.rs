//! Fit in an invented bay: each reason, each doubt, the choice among stations, the sentences.
//!
//! Expected distances, areas and slopes are elementary geometry of the invented figures.

use super::example::*;
use super::*;
use crate::axes::OffsetVehicle;
use crate::demand::{
    LightNeed, LightPlane, LightTerms, MethodDraft, MethodMinutesDraft, SunDemand, XDatum,
};
use crate::floor::{BayDraft, DaylightOpening, DaylightOpeningKind, ObstructionDraft};
use crate::ids::{BayId, DaylightOpeningId, MethodId, ObstructionId};
use crate::survey::SurveyDraft;
use rstest::rstest;

/// A slope of 0.1 degrees.
const GENTLE: f64 = 0.001_745;

fn fit_of(needs: Vec<ZoneNeed>, bay: BayDraft, survey: Option<SurveyDraft>) -> Fit {
    let bay = Bay::new(bay).unwrap();
    let survey = survey.map(|draft| Survey::new(draft).unwrap());
    fit(&method(needs), &saloon(), &bay, survey.as_ref(), today())
}

#[track_caller]
fn placement(fit: Fit) -> Placement {
    match fit {
        Fit::Fits(placement) => *placement,
        other => panic!("{other:?}"),
    }
}

/// The findings at the only station that stand in the way.
#[track_caller]
fn obstacles(fit: Fit) -> Vec<Finding> {
    let (Fit::DoesNotFit(stations) | Fit::Undecided(stations)) = fit else { panic!("{fit:?}") };
    assert_eq!(stations.len(), 1);
    let findings = stations.into_iter().flat_map(|station| station.findings);
    findings.filter(|finding| !finding.verdict.lets_work_start()).collect()
}

#[track_caller]
fn check_sentence(fit: Fit, expected: &str) {
    let found: Vec<_> = obstacles(fit).iter().map(ToString::to_string).collect();
    assert_eq!(found, [expected]);
}

#[test]
fn a_clear_bay_fits_and_names_what_is_nearest_to_each_zone() {
    let placement = placement(fit_of(vec![CLEAR], bay(), None));

    assert_eq!(placement.station().as_str(), "mark-1");
    let sentences: Vec<_> = placement.findings().iter().map(ToString::to_string).collect();
    assert_eq!(
        sentences,
        [
            "Vehicle, body: 800.0 mm to spare, clear up to 1450.0 mm, nearest is the bay's edge \
             from its vertex 3.",
            "Zone target, clear-floor: 600.0 mm to spare, clear up to 2000.0 mm, nearest is the \
             bay's edge from its vertex 1.",
        ]
    );
    assert!((placement.smallest_margin() - 6.0).abs() < 1e-9);
}

#[test]
fn a_column_in_the_zone_is_named_with_the_area_it_takes() {
    // 100 mm of the column's depth lie in the zone, which ends at x 8400 mm.
    let draft = BayDraft { obstructions: vec![column("column-1", 8_300.0, 2_000.0)], ..bay() };
    check_sentence(
        fit_of(vec![CLEAR], draft, None),
        "Zone target, clear-floor: obstruction column-1, 0 to 3000 mm high, takes 50000 mm2 of \
         it; move column-1 away or take another station.",
    );
}

#[test]
fn every_obstruction_is_a_reason_of_its_own() {
    let obstructions =
        vec![column("column-1", 7_000.0, 2_000.0), column("bench", 2_000.0, 2_000.0)];
    let found = obstacles(fit_of(vec![CLEAR], BayDraft { obstructions, ..bay() }, None));
    let needs: Vec<_> = found.iter().map(|finding| finding.need).collect();
    assert_eq!(needs, [NeedKind::Body, NeedKind::ClearFloor]);
}

#[rstest]
#[case::above_the_zone(ObstructionDraft {
    from_mm: 2_001.0, ..column("duct", 7_000.0, 2_000.0) }, true)]
#[case::down_to_the_height_of_the_zone(ObstructionDraft {
    from_mm: 2_000.0, ..column("duct", 7_000.0, 2_000.0) }, false)]
#[case::gone_since_today(ObstructionDraft {
    dates: Some((day("2026-01-01"), day("2026-03-02"))), ..column("pallet", 7_000.0, 2_000.0) },
    true)]
#[case::there_since_today(ObstructionDraft {
    dates: Some((day("2026-03-02"), day("2026-03-03"))), ..column("pallet", 7_000.0, 2_000.0) },
    false)]
#[case::touching_the_zone(column("column-1", 8_400.0, 2_000.0), true)]
#[case::a_tenth_of_a_millimetre_inside(column("column-1", 8_399.9, 2_000.0), false)]
fn an_obstruction_counts_where_and_when_it_stands(
    #[case] obstruction: ObstructionDraft,
    #[case] fits: bool,
) {
    let draft = BayDraft { obstructions: vec![obstruction], ..bay() };
    let found = fit_of(vec![CLEAR], draft, None);
    assert_eq!(matches!(found, Fit::Fits(_)), fits, "{found:?}");
}

#[test]
fn a_zone_that_reaches_out_of_the_bay_says_how_far_and_over_which_edge() {
    let stations = vec![station("mark-1", 5_500.0, 3_000.0, 0.0)];
    // The zone now ends at x 9400 mm: 400 mm by 3000 mm lie outside.
    check_sentence(
        fit_of(vec![CLEAR], BayDraft { stations, ..bay() }, None),
        "Zone target, clear-floor: 1200000 mm2 lie outside of the bay, up to 400.0 mm beyond the \
         bay's edge from its vertex 1; stand 400.0 mm further from that edge or take a larger bay.",
    );
}

#[test]
fn a_low_ceiling_does_not_fit() {
    check_sentence(
        fit_of(vec![CLEAR], BayDraft { ceiling_mm: 1_900.0, ..bay() }, None),
        "Zone target, clear-floor: the ceiling is at 1900.0 mm where 2000.0 mm are needed, so it \
         is too low; take a bay with a higher ceiling.",
    );
}

#[test]
fn a_bay_without_a_station_does_not_fit() {
    let found = fit_of(vec![CLEAR], BayDraft { stations: vec![], ..bay() }, None);
    assert_eq!(found, Fit::DoesNotFit(vec![]));
}

#[test]
fn a_zone_that_collapses_for_a_vehicle_does_not_fit_and_says_so() {
    // Two corners that differ only in their datum meet when the wheelbase is 2700 mm.
    let mut zone = target_zone(vec![CLEAR]);
    zone.outline[0].x_from = XDatum::FrontAxle;
    zone.outline[0].x_mm = -2_700.0;
    zone.outline[1] = zone.outline[0];
    zone.outline[1].x_from = XDatum::RearAxle;
    zone.outline[1].x_mm = 0.0;
    let found = fit(&method_with(vec![zone]), &saloon(), &Bay::new(bay()).unwrap(), None, today());
    let found = obstacles(found);
    assert_eq!(found[0].need, NeedKind::ZoneShape);
    assert!(found[0].to_string().contains("same point as vertex [0]"), "{}", found[0]);
}

#[rstest]
#[case::none(
    None,
    "Zone target, level-slope: at most 0.300 degrees is asked, but the bay has no \
    survey; survey the bay: measure floor heights on a grid over the whole zone."
)]
#[case::expired(Some(SurveyDraft { valid_until: day("2026-03-02"), ..survey(GENTLE, 500.0) }),
    "Zone target, level-slope: at most 0.300 degrees is asked, but the survey counted only until \
    2026-03-02; survey the bay: measure floor heights on a grid over the whole zone.")]
#[case::later(Some(SurveyDraft { taken_on: day("2026-03-03"), ..survey(GENTLE, 500.0) }),
    "Zone target, level-slope: at most 0.300 degrees is asked, but the survey was taken later, on \
    2026-03-03; survey the bay: measure floor heights on a grid over the whole zone.")]
#[case::of_another_bay(
    Some(SurveyDraft { bay: BayId::new("bay-2").unwrap(), ..survey(GENTLE, 500.0) }),
    "Zone target, level-slope: at most 0.300 degrees is asked, but the survey is that of bay-2; \
    survey the bay: measure floor heights on a grid over the whole zone.")]
fn a_floor_without_a_survey_that_counts_is_undecided(
    #[case] survey: Option<SurveyDraft>,
    #[case] expected: &str,
) {
    let need = ZoneNeed::Level { slope_max_deg: 0.3, residual_max_mm: None, terms: USUAL };
    let found = fit_of(vec![need], bay(), survey);
    assert!(matches!(found, Fit::Undecided(_)));
    check_sentence(found, expected);
}

#[rstest]
// atan(slope); the uncertainty of the steepest slope over the zone's grid is about 0.008 degrees.
#[case::gentle(0.001_745, 0.5, Verdict::Conforms)]
#[case::steep(0.008_727, 0.5, Verdict::DoesNotConform)]
#[case::near_the_limit_with_a_poor_instrument(0.004_887, 5.0, Verdict::Undecided)]
#[case::near_the_limit_with_a_good_instrument(0.004_887, 0.1, Verdict::Conforms)]
fn the_slope_is_decided_with_a_guard_band(
    #[case] slope: f64,
    #[case] height_uncertainty_mm: f64,
    #[case] expected: Verdict,
) {
    let need = ZoneNeed::Level { slope_max_deg: 0.3, residual_max_mm: None, terms: USUAL };
    let draft = SurveyDraft { height_uncertainty_mm, ..survey(slope, 500.0) };
    let bay = Bay::new(bay()).unwrap();
    let survey = Survey::new(draft).unwrap();
    let site = Site { bay: &bay, survey: Some(&survey), on: today() };
    let station = at_station(&method(vec![need]), &saloon(), &site, &bay.stations()[0]);
    let slope_found = &station.findings[1];
    assert_eq!(slope_found.verdict, expected, "{slope_found}");
    let measured_deg = slope_found.measured.unwrap().value;
    assert!((measured_deg - slope.atan().to_degrees()).abs() < 1e-9);
}

#[test]
fn a_hump_in_a_level_floor_is_found_by_its_residual() {
    let mut draft = survey(GENTLE, 500.0);
    for point in &mut draft.heights {
        if (point.x_mm - 7_500.0).abs() < 1.0 && (point.y_mm - 3_000.0).abs() < 1.0 {
            point.height_mm += 20.0;
        }
    }
    let found = obstacles(fit_of(vec![LEVEL], bay(), Some(draft)));
    let reasons: Vec<_> = found.iter().map(|finding| &finding.detail).collect();
    assert_eq!(reasons, [&Detail::FloorUneven]);
}

#[rstest]
#[case::bright_and_even(500.0, &[])]
#[case::dark(150.0, &[(NeedKind::LightAverageMin, Detail::TooDark),
    (NeedKind::LightMinimum, Detail::TooDark)])]
#[case::glaring(1_000.0, &[(NeedKind::LightAverageMax, Detail::TooBright)])]
fn light_is_held_against_every_figure_of_its_need(
    #[case] lux: f64,
    #[case] expected: &[(NeedKind, Detail)],
) {
    let found = fit_of(vec![LIGHT], bay(), Some(survey(GENTLE, lux)));
    let reasons: Vec<_> = match found {
        Fit::Fits(_) => vec![],
        other => obstacles(other).into_iter().map(|one| (one.need, one.detail)).collect(),
    };
    assert_eq!(reasons, expected);
}

#[test]
fn one_dark_corner_makes_the_light_uneven() {
    let mut draft = survey(GENTLE, 500.0);
    for reading in &mut draft.light {
        if reading.x_mm > 7_500.0 && reading.y_mm < 2_500.0 {
            reading.lux = 250.0;
        }
    }
    let found = obstacles(fit_of(vec![LIGHT], bay(), Some(draft)));
    let reasons: Vec<_> = found.iter().map(|finding| &finding.detail).collect();
    assert_eq!(reasons, [&Detail::LightUneven]);
}

#[test]
fn readings_in_another_plane_or_at_another_height_do_not_count() {
    let ask = |plane, height_mm| {
        ZoneNeed::Light(LightNeed {
            plane,
            height_mm,
            average_min_lux: Some(300.0),
            average_max_lux: None,
            minimum_lux: None,
            maximum_lux: None,
            terms: LightTerms::default(),
            uniformity_min: None,
            colour_temperature_k: None,
        })
    };
    let fits = |need| fit_of(vec![need], bay(), Some(survey(GENTLE, 500.0)));
    assert!(matches!(fits(ask(LightPlane::Vertical, 1_300.0)), Fit::Fits(_)));
    check_sentence(
        fits(ask(LightPlane::Horizontal, 1_200.0)),
        "Zone target, light-average-min: at least 300.0 lux is asked, but 0 horizontal reading(s) \
         at 1200 mm were taken in it where 3 are needed; take readings over the whole zone, \
         more than 12, first at x 6400 mm, y 1500 mm; x 8400 mm, y 4500 mm; x 8400 mm, y 2333 mm; \
         x 6400 mm, y 3667 mm; x 7678 mm, y 3417 mm; x 7226 mm, y 4500 mm (EN 12464-1 advises 7 by \
         5 readings, at most 431 mm apart).",
    );
    assert!(matches!(fits(ask(LightPlane::Vertical, 1_301.0)), Fit::Undecided(_)));
}

#[test]
fn lamps_of_another_colour_do_not_fit_and_lamps_of_unknown_colour_are_undecided() {
    let with = |colour_temperature_k| {
        let draft = SurveyDraft { colour_temperature_k, ..survey(GENTLE, 500.0) };
        fit_of(vec![LIGHT], bay(), Some(draft))
    };
    check_sentence(
        with(Some(2_700.0)),
        "Zone target, colour-temperature: 2700 K measured where within a range whose nearest end \
         is 4000 K is asked, so the light has the wrong colour; fit lamps of a colour temperature \
         in the range.",
    );
    assert!(matches!(with(None), Fit::Undecided(_)));
}

#[test]
fn metal_in_the_zone_does_not_fit_where_wood_does() {
    let need = ZoneNeed::NoMetal { up_to_mm: 1_000.0 };
    let bench = column("bench", 7_000.0, 2_000.0);
    let metal = ObstructionDraft { metal: true, ..bench.clone() };
    let fits = |one| fit_of(vec![need], BayDraft { obstructions: vec![one], ..bay() }, None);
    assert!(matches!(fits(bench), Fit::Fits(_)));
    check_sentence(
        fits(metal),
        "Zone target, no-metal: metal of bench takes 250000 mm2 of it; move bench away or take \
         another station.",
    );
}

#[test]
fn what_can_only_be_seen_at_the_vehicle_is_left_to_confirm() {
    let needs = vec![
        ZoneNeed::NoDirectSun { up_to_mm: 2_000.0 },
        ZoneNeed::NothingMoving,
        ZoneNeed::PlainBackground,
    ];
    let without_opening = placement(fit_of(needs.clone(), bay(), None));
    let opening = DaylightOpening {
        id: DaylightOpeningId::new("gate").unwrap(),
        kind: DaylightOpeningKind::Door,
        blind: true,
        drawn: None,
    };
    let with_opening = BayDraft { daylight_openings: vec![opening], ..bay() };
    let with_opening = placement(fit_of(needs, with_opening, None));
    assert_eq!(without_opening.to_confirm().count(), 2);
    assert_eq!(with_opening.to_confirm().count(), 3);
}

#[test]
fn metal_beyond_the_bay_is_left_to_confirm() {
    let stations = vec![station("mark-1", 5_500.0, 3_000.0, 0.0)];
    let need = ZoneNeed::NoMetal { up_to_mm: 1_000.0 };
    let placement = placement(fit_of(vec![need], BayDraft { stations, ..bay() }, None));
    let asked: Vec<_> = placement.to_confirm().map(|finding| finding.detail.clone()).collect();
    let [Detail::MetalBeyondBayToConfirm { outside_mm2 }] = asked[..] else { panic!("{asked:?}") };
    assert!((outside_mm2 - 1_200_000.0).abs() < 1e-3);
}

#[test]
fn the_station_with_the_most_room_is_taken_and_the_first_of_equals() {
    let stations = vec![
        station("tight", 4_500.0, 1_500.0, 0.0),
        station("roomy", 4_500.0, 3_000.0, 0.0),
        station("as-roomy", 4_500.0, 3_000.0, 180.0),
        station("blocked", 8_500.0, 3_000.0, 0.0),
    ];
    // Without zones: the body alone, 800 mm from a wall at either heading.
    let bay = Bay::new(BayDraft { stations, ..bay() }).unwrap();
    let found = placement(fit(&method_with(vec![]), &saloon(), &bay, None, today()));
    assert_eq!(found.station().as_str(), "roomy");
}

#[test]
fn an_undecided_station_is_not_hidden_by_one_that_does_not_fit() {
    let stations =
        vec![station("blocked", 8_500.0, 3_000.0, 0.0), station("mark-1", 4_500.0, 3_000.0, 0.0)];
    let Fit::Undecided(found) = fit_of(vec![LEVEL], BayDraft { stations, ..bay() }, None) else {
        panic!("expected an undecided fit");
    };
    let verdicts: Vec<_> = found.iter().map(StationFindings::verdict).collect();
    assert_eq!(verdicts, [Verdict::DoesNotConform, Verdict::Undecided]);
}

#[test]
fn a_method_for_the_road_needs_no_bay() {
    let method = Method::new(MethodDraft {
        id: MethodId::new("drive").unwrap(),
        title: "Road drive".to_owned(),
        place: WorkPlace::Road,
        roles: vec![],
        equipment: vec![],
        minutes: MethodMinutesDraft { setup_minutes: 0, run_minutes: 40, teardown_minutes: 0 },
        zones: vec![],
        sun: SunDemand::default(),
    })
    .unwrap();
    let bay = Bay::new(BayDraft { ceiling_mm: 1_000.0, ..bay() }).unwrap();
    assert_eq!(fit(&method, &saloon(), &bay, None, today()), Fit::NeedsNoBay);
}

#[test]
fn a_level_need_reports_the_plane_under_the_wheels() {
    let placement = placement(fit_of(vec![LEVEL], bay(), Some(survey(GENTLE, 500.0))));
    let plane = placement.wheel_plane().unwrap();
    // The floor rises along floor x, and the vehicle looks that way.
    assert!((plane.along_deg - GENTLE.atan().to_degrees()).abs() < 1e-9);
    assert!(plane.across_deg.abs() < 1e-9 && plane.twist_mm < 1e-9);
    let front_axle_mm = saloon().wheels_vehicle()[0].x_mm + 4_500.0;
    assert!((plane.heights_mm[0] - GENTLE * front_axle_mm).abs() < 1e-9);
    assert_eq!(saloon().wheels_vehicle()[0], OffsetVehicle { x_mm: 0.0, y_mm: 780.0 });
}

#[test]
fn places_clash_where_their_floor_overlaps_and_not_where_it_touches() {
    let place = |needs: Vec<ZoneNeed>, y_mm: f64| {
        let outline_mm = vec![(0.0, 0.0), (9_000.0, 0.0), (9_000.0, 12_000.0), (0.0, 12_000.0)];
        let stations = vec![station("mark", 4_500.0, y_mm, 0.0)];
        placement(fit_of(needs, BayDraft { outline_mm, stations, ..bay() }, None))
    };
    let (zone, sun) = (vec![CLEAR], vec![ZoneNeed::NoDirectSun { up_to_mm: 500.0 }]);
    let low = place(zone.clone(), 3_000.0);
    // The zones are 3000 mm wide, the bodies 1850 mm.
    assert!(places_clash(&low, &place(zone.clone(), 5_999.0)));
    assert!(!places_clash(&low, &place(zone, 6_000.0)));
    // A zone that asks for no clear floor takes up none.
    assert!(!places_clash(&low, &place(sun, 5_999.0)));
    assert!(places_clash(&low, &low));
}

#[test]
fn a_survey_whose_points_lie_outside_of_its_bay_is_refused_point_by_point() {
    let mut draft = survey(GENTLE, 500.0);
    draft.heights[3].x_mm = 9_001.0;
    draft.light[5].y_mm = -1.0;
    let survey = Survey::new(draft).unwrap();
    let faults = survey.check_against(&Bay::new(bay()).unwrap()).unwrap_err();
    let fields: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
    assert_eq!(fields, ["heights[3]", "light[5]"]);
}

#[test]
fn a_bay_names_every_fault_with_its_path() {
    let mut bad = column("column-1", 1.0, 1.0);
    bad.outline_mm[2].1 = f64::INFINITY;
    let draft = BayDraft {
        ceiling_mm: f64::NAN,
        obstructions: vec![column("column-1", 0.0, 0.0), bad],
        stations: vec![station("out", -5_000.0, 0.0, 0.0)],
        ..bay()
    };
    let faults = Bay::new(draft).unwrap_err();
    let fields: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
    assert_eq!(
        fields,
        [
            "ceiling_mm",
            "obstructions[1].id",
            "obstructions[1].outline_mm[2].y_mm",
            "stations[0].pose"
        ]
    );
    assert_eq!(ObstructionId::new("column-1").unwrap().as_str(), "column-1");
}
