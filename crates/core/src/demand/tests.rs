//! Drafts of zones, methods and procedures: what is refused, with the path to it.

use super::*;
use crate::fault::Faults;
use crate::ids::{MethodId, ProcedureId, RoleId, StartCheckId, UnitKindId, ZoneId};
use rstest::rstest;

fn vertex(x_mm: f64, y_mm: f64) -> ZoneVertex {
    ZoneVertex { x_from: XDatum::FrontBumper, x_mm, y_from: YDatum::Centreline, y_mm }
}

fn light() -> LightNeed {
    LightNeed {
        plane: LightPlane::Vertical,
        height_mm: 1_200.0,
        average_min_lux: Some(300.0),
        average_max_lux: None,
        maximum_lux: None,
        terms: LightTerms::default(),
        minimum_lux: None,
        uniformity_min: None,
        colour_temperature_k: None,
    }
}

fn zone(needs: Vec<ZoneNeed>) -> ZoneDraft {
    ZoneDraft {
        id: ZoneId::new("target").unwrap(),
        outline: vec![vertex(0.0, -500.0), vertex(900.0, -500.0), vertex(900.0, 500.0)],
        needs,
    }
}

fn method() -> MethodDraft {
    MethodDraft {
        id: MethodId::new("static").unwrap(),
        title: "Static".to_owned(),
        place: WorkPlace::Bay,
        roles: vec![RoleId::new("operator").unwrap()],
        equipment: vec![UnitKindId::new("target-stand").unwrap()],
        minutes: MethodMinutesDraft { setup_minutes: 20, run_minutes: 30, teardown_minutes: 10 },
        zones: vec![zone(vec![ZoneNeed::NothingMoving])],
        sun: SunDemand::default(),
    }
}

fn procedure() -> ProcedureDraft {
    ProcedureDraft {
        id: ProcedureId::new("front-camera").unwrap(),
        title: "Front camera".to_owned(),
        kind: TaskKind::Calibration,
        sensor: Some(SensorFamily::FrontCamera),
        document: DocumentRef {
            reference: "Invented document, section 4".to_owned(),
            checked_on: "2026-01-05".parse().unwrap(),
        },
        methods: vec![method()],
        start_checks: vec![StartCheck {
            id: StartCheckId::new("doors").unwrap(),
            question: "Are all doors shut?".to_owned(),
        }],
    }
}

#[track_caller]
fn check_fields<T: std::fmt::Debug>(result: Result<T, Faults>, expected: &[&str]) {
    let fields: Vec<_> = match result {
        Ok(_) => vec![],
        Err(faults) => faults.into_list().into_iter().map(|fault| fault.field).collect(),
    };
    assert_eq!(fields, expected);
}

#[rstest]
#[case::nothing_asked(vec![], &["needs"])]
#[case::no_height(vec![ZoneNeed::ClearFloor { up_to_mm: 0.0 }], &["needs[0].up_to_mm"])]
#[case::no_number(
    vec![ZoneNeed::NothingMoving, ZoneNeed::NoMetal { up_to_mm: f64::NAN }],
    &["needs[1].up_to_mm"])]
#[case::slope_and_residual(
    vec![ZoneNeed::Level { slope_max_deg: 90.0, residual_max_mm: Some(-1.0), terms: LevelTerms::default() }],
    &["needs[0].slope_max_deg", "needs[0].residual_max_mm"])]
#[case::a_slope_of_zero_that_no_floor_keeps(
    vec![ZoneNeed::Level { slope_max_deg: 0.0, residual_max_mm: Some(0.0), terms: LevelTerms::default() }],
    &["needs[0].slope_max_deg", "needs[0].residual_max_mm"])]
#[case::terms_of_a_level_floor(
    vec![ZoneNeed::Level { slope_max_deg: 0.3, residual_max_mm: None, terms: LevelTerms {
        point_spacing_max_mm: Some(0.0),
        compensation_max_mm: Some(0.0),
        conformance_probability: Some(0.5),
    } }],
    &["needs[0].compensation_max_mm", "needs[0].point_spacing_max_mm",
        "needs[0].conformance_probability"])]
#[case::terms_of_light(
    vec![ZoneNeed::Light(LightNeed { minimum_lux: Some(300.0), maximum_lux: Some(200.0),
        terms: LightTerms { reading_spacing_max_mm: Some(f64::NAN), conformance_probability: Some(1.0) },
        ..light() })],
    &["needs[0].maximum_lux", "needs[0].reading_spacing_max_mm", "needs[0].conformance_probability"])]
#[case::light_without_a_figure(
    vec![ZoneNeed::Light(LightNeed { average_min_lux: None, ..light() })],
    &["needs[0].average_min_lux"])]
#[case::limits_exchanged(
    vec![ZoneNeed::Light(LightNeed { average_max_lux: Some(299.0), ..light() })],
    &["needs[0].average_max_lux"])]
#[case::colours_exchanged(
    vec![ZoneNeed::Light(LightNeed { colour_temperature_k: Some((6_500.0, 4_000.0)), ..light() })],
    &["needs[0].colour_temperature_k"])]
#[case::more_even_than_even(
    vec![ZoneNeed::Light(LightNeed { uniformity_min: Some(1.01), ..light() })],
    &["needs[0].uniformity_min"])]
#[case::sound(vec![ZoneNeed::Light(light())], &[])]
fn a_zone_is_refused_with_the_path_to_each_figure(
    #[case] needs: Vec<ZoneNeed>,
    #[case] expected: &[&str],
) {
    check_fields(Zone::new(zone(needs)), expected);
}

#[test]
fn a_zone_of_two_corners_far_away_has_three_faults() {
    let outline = vec![vertex(f64::INFINITY, 0.0), vertex(0.0, 50_001.0)];
    let draft = ZoneDraft { outline, ..zone(vec![ZoneNeed::NothingMoving]) };
    check_fields(Zone::new(draft), &["outline", "outline[0].x_mm", "outline[1].y_mm"]);
}

#[rstest]
#[case::no_time_at_all([0, 0, 0], &["minutes"])]
#[case::one_minute([0, 1, 0], &[])]
#[case::two_days([0, 2_880, 0], &[])]
#[case::longer([1, 2_880, 0], &["minutes"])]
#[case::more_than_the_type_holds([u32::MAX, u32::MAX, 2], &["minutes"])]
fn a_method_takes_from_a_minute_to_two_days(#[case] minutes: [u32; 3], #[case] expected: &[&str]) {
    let [setup_minutes, run_minutes, teardown_minutes] = minutes;
    let minutes = MethodMinutesDraft { setup_minutes, run_minutes, teardown_minutes };
    check_fields(Method::new(MethodDraft { minutes, ..method() }), expected);
}

#[test]
fn a_method_for_the_road_has_no_zones() {
    check_fields(Method::new(MethodDraft { place: WorkPlace::Road, ..method() }), &["zones"]);
}

#[test]
fn a_procedure_names_every_fault_down_to_the_zone() {
    let mut bad = method();
    bad.title = " ".to_owned();
    bad.zones.push(zone(vec![ZoneNeed::ClearFloor { up_to_mm: -1.0 }]));
    let mut draft = ProcedureDraft { sensor: None, methods: vec![method(), bad], ..procedure() };
    draft.start_checks[0].question = "two\nlines".to_owned();
    draft.document.reference = "x".repeat(301);
    check_fields(
        Procedure::new(draft),
        &[
            "sensor",
            "document.reference",
            "methods[1].id",
            "methods[1].title",
            "methods[1].zones[1].id",
            "methods[1].zones[1].needs[0].up_to_mm",
            "start_checks[0].question",
        ],
    );
}

#[test]
fn a_procedure_without_a_method_is_refused_and_a_sound_one_keeps_everything() {
    check_fields(Procedure::new(ProcedureDraft { methods: vec![], ..procedure() }), &["methods"]);
    let sound = Procedure::new(procedure()).unwrap();
    assert_eq!(sound.methods()[0].minutes().total(), 60);
    assert_eq!(sound.methods()[0].zones()[0].needs(), [ZoneNeed::NothingMoving]);
    assert_eq!(sound.start_checks().len(), 1);
}

#[rstest]
// Elementary geometry of an invented vehicle: length 4600, front overhang 900, wheelbase 2700,
// width 1850 mm.
#[case::front_bumper(XDatum::FrontBumper, YDatum::Centreline, 910.0, 20.0)]
#[case::front_axle(XDatum::FrontAxle, YDatum::LeftSide, 10.0, 945.0)]
#[case::rear_axle(XDatum::RearAxle, YDatum::RightSide, -2_690.0, -905.0)]
#[case::rear_bumper(XDatum::RearBumper, YDatum::Centreline, -3_690.0, 20.0)]
fn a_vertex_is_counted_from_its_datums(
    #[case] x_from: XDatum,
    #[case] y_from: YDatum,
    #[case] x_mm: f64,
    #[case] y_mm: f64,
) {
    let vehicle = VehicleClass::new(VehicleClassDraft {
        id: crate::ids::VehicleClassId::new("saloon").unwrap(),
        length_mm: 4_600.0,
        width_mm: 1_850.0,
        height_mm: 1_450.0,
        wheelbase_mm: 2_700.0,
        front_overhang_mm: 900.0,
        track_mm: 1_560.0,
    })
    .unwrap();
    let vertex = ZoneVertex { x_from, x_mm: 10.0, y_from, y_mm: 20.0 };
    let expected = crate::axes::OffsetVehicle { x_mm, y_mm };
    assert_eq!(vertex.offset_vehicle(&vehicle), expected);
}
