//! Fits that the core decides for an invented bay, as messages.
#![cfg(test)]

use super::*;
use baywright_core::axes::{PoseFloor, PoseFloorDraft};
use baywright_core::demand::{
    LevelTerms, Method, MethodDraft, MethodMinutesDraft, SunDemand, VehicleClass,
    VehicleClassDraft, WorkPlace, XDatum, YDatum, ZoneDraft, ZoneNeed, ZoneVertex,
};
use baywright_core::fit::{Detail, NeedKind, fit};
use baywright_core::floor::{Bay, BayDraft, Station};
use baywright_core::ids::ZoneId;
use baywright_core::survey::ConformanceProbability;
use chrono::NaiveDate;

fn saloon() -> VehicleClass {
    VehicleClass::new(VehicleClassDraft {
        id: VehicleClassId::new("saloon").unwrap(),
        length_mm: 4_600.0,
        width_mm: 1_850.0,
        height_mm: 1_450.0,
        wheelbase_mm: 2_700.0,
        front_overhang_mm: 900.0,
        track_mm: 1_560.0,
    })
    .unwrap()
}

/// A bay with one mark; the vehicle's nose is 3600 mm from the wall before it when it is 9000 mm
/// long.
fn bay(length_mm: f64) -> Bay {
    let pose = PoseFloorDraft { x_mm: 4_500.0, y_mm: 3_000.0, heading_deg: 0.0 };
    Bay::new(BayDraft {
        id: BayId::new("bay-1").unwrap(),
        outline_mm: vec![(0.0, 0.0), (length_mm, 0.0), (length_mm, 6_000.0), (0.0, 6_000.0)],
        ceiling_mm: 3_500.0,
        obstructions: vec![],
        stations: vec![Station {
            id: StationId::new("mark-1").unwrap(),
            pose: PoseFloor::new(pose).unwrap(),
        }],
        daylight_openings: vec![],
    })
    .unwrap()
}

/// A method with one zone, 1000 to 3000 mm before the front bumper.
fn method(place: WorkPlace, need: ZoneNeed) -> Method {
    let corner = |x_mm, y_mm| ZoneVertex {
        x_from: XDatum::FrontBumper,
        x_mm,
        y_from: YDatum::Centreline,
        y_mm,
    };
    let zone = ZoneDraft {
        id: ZoneId::new("target").unwrap(),
        outline: vec![
            corner(1_000.0, -1_500.0),
            corner(3_000.0, -1_500.0),
            corner(3_000.0, 1_500.0),
            corner(1_000.0, 1_500.0),
        ],
        needs: vec![need],
    };
    Method::new(MethodDraft {
        id: MethodId::new("static").unwrap(),
        title: "Static, with a target".to_owned(),
        place,
        roles: vec![],
        equipment: vec![],
        minutes: MethodMinutesDraft { setup_minutes: 20, run_minutes: 30, teardown_minutes: 10 },
        zones: if place == WorkPlace::Bay { vec![zone] } else { vec![] },
        sun: SunDemand::default(),
    })
    .unwrap()
}

#[track_caller]
fn shown(place: WorkPlace, need: ZoneNeed, length_mm: f64) -> Option<v1::Fit> {
    let on = NaiveDate::from_ymd_opt(2026, 3, 2).unwrap();
    let (method, vehicle, bay) = (method(place, need), saloon(), bay(length_mm));
    let found = fit(&method, &vehicle, &bay, None, on);
    let asked = FitAsked {
        procedure: &ProcedureId::new("front-camera").unwrap(),
        method: method.id(),
        vehicle_class: vehicle.id(),
        bay: bay.id(),
        survey: None,
    };
    fit_message(asked, &found)
}

const CLEAR: ZoneNeed = ZoneNeed::ClearFloor { up_to_mm: 2_000.0 };
const LEVEL: ZoneNeed = ZoneNeed::Level {
    slope_max_deg: 0.5,
    residual_max_mm: None,
    terms: LevelTerms {
        point_spacing_max_mm: None,
        compensation_max_mm: None,
        conformance_probability: None,
    },
};

#[test]
fn a_bay_that_fits_shows_its_placement_with_every_need() {
    let message = shown(WorkPlace::Bay, CLEAR, 9_000.0).unwrap();
    let Some(Outcome::Fits(placement)) = message.verdict else { panic!("{message:?}") };
    assert_eq!((placement.station_id.as_str(), message.survey_id.as_str()), ("mark-1", ""));
    assert!(placement.findings.iter().all(|f| f.verdict() == v1::FindingVerdict::Conforms));
    let zone = placement.findings.iter().find(|finding| finding.zone_id == "target").unwrap();
    assert_eq!((zone.need.as_str(), zone.unit.as_str()), ("clear-floor", "mm"));
    assert!(zone.measured.is_some() && zone.sentence.starts_with("Zone target, clear-floor:"));
}

#[test]
fn a_bay_that_does_not_fit_shows_only_what_fails() {
    let message = shown(WorkPlace::Bay, CLEAR, 8_000.0).unwrap();
    let Some(Outcome::DoesNotFit(unfit)) = message.verdict else { panic!("{message:?}") };
    assert!(!unfit.findings.is_empty());
    for finding in &unfit.findings {
        assert_eq!(finding.verdict(), v1::FindingVerdict::DoesNotConform);
        assert_eq!((finding.station_id.as_str(), finding.zone_id.as_str()), ("mark-1", "target"));
    }
}

#[test]
fn a_bay_without_a_survey_is_undecided_and_shows_what_would_decide_it() {
    let message = shown(WorkPlace::Bay, LEVEL, 9_000.0).unwrap();
    let Some(Outcome::Undecided(open)) = message.verdict else { panic!("{message:?}") };
    let [finding] = open.findings.as_slice() else { panic!("{open:?}") };
    assert_eq!((finding.need.as_str(), finding.measured), ("level-slope", None));
    assert!(finding.sentence.contains("survey the bay"), "{}", finding.sentence);
}

#[test]
fn work_on_the_road_has_no_fit_to_show() {
    assert_eq!(shown(WorkPlace::Road, CLEAR, 9_000.0), None);
}

#[test]
fn the_unit_of_a_plain_number_is_one() {
    let ratio = |value| Some(Quantity { value, unit: Unit::Ratio });
    let finding = Finding {
        zone: None,
        need: NeedKind::LightUniformity,
        verdict: Verdict::Conforms,
        measured: ratio(0.7),
        limit: ratio(0.5),
        margin: ratio(0.2),
        uncertainty: Some(0.01),
        conformance_probability: ConformanceProbability::default(),
        detail: Detail::Holds,
    };
    let message = finding_message(&StationId::new("mark-1").unwrap(), &finding);
    assert_eq!((message.unit.as_str(), message.need.as_str()), ("1", "light-uniformity"));
    assert_eq!((message.measured, message.limit), (Some(0.7), Some(0.5)));
    assert_eq!(message.uncertainty, Some(0.01));
}
