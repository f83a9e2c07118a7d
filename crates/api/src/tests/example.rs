//! Invented messages that are sound; a test spoils what matters to it.
#![cfg(test)]

use crate::v1;
use crate::v1::zone_need::Need;
use prost_types::Timestamp;

pub(super) fn corner(x_mm: f64, y_mm: f64) -> v1::FloorPoint {
    v1::FloorPoint { x_mm, y_mm }
}

pub(super) fn square(from_mm: f64, side_mm: f64) -> Vec<v1::FloorPoint> {
    let to_mm = from_mm + side_mm;
    vec![
        corner(from_mm, from_mm),
        corner(to_mm, from_mm),
        corner(to_mm, to_mm),
        corner(from_mm, to_mm),
    ]
}

pub(super) fn bay() -> v1::Bay {
    v1::Bay {
        bay_id: "bay-1".to_owned(),
        outline: square(0.0, 9_000.0),
        ceiling_mm: 3_500.0,
        obstructions: vec![v1::Obstruction {
            obstruction_id: "bench".to_owned(),
            outline: square(100.0, 700.0),
            from_mm: 0.0,
            to_mm: 900.0,
            metal: true,
            from_date: String::new(),
            to_date: String::new(),
        }],
        stations: vec![v1::Station {
            station_id: "mark-1".to_owned(),
            pose: Some(v1::FloorPose { x_mm: 4_500.0, y_mm: 3_000.0, heading_deg: 90.0 }),
        }],
        daylight_openings: vec![v1::DaylightOpening {
            daylight_opening_id: "door".to_owned(),
            kind: v1::DaylightOpeningKind::Door.into(),
            blind: false,
            ..v1::DaylightOpening::default()
        }],
        free_placing: Some(v1::FreePlacing {
            headings_deg: vec![90.0, 270.0],
            tolerance_deg: 1.0,
            planned: false,
        }),
    }
}

pub(super) fn document() -> Option<v1::Document> {
    Some(v1::Document {
        reference: "invented sheet 12".to_owned(),
        checked_on: "2026-02-20".to_owned(),
    })
}

pub(super) fn vertex(x_mm: f64, y_mm: f64) -> v1::ZoneVertex {
    v1::ZoneVertex {
        x_from: v1::XDatum::FrontBumper.into(),
        x_mm,
        y_from: v1::YDatum::Centreline.into(),
        y_mm,
    }
}

pub(super) fn need(need: Need) -> v1::ZoneNeed {
    v1::ZoneNeed { need: Some(need) }
}

pub(super) fn light() -> v1::LightNeed {
    v1::LightNeed {
        plane: v1::LightPlane::Vertical.into(),
        height_mm: 1_200.0,
        average_min_lux: Some(300.0),
        colour_temperature_min_k: Some(3_000.0),
        colour_temperature_max_k: Some(6_000.0),
        ..v1::LightNeed::default()
    }
}

pub(super) fn procedure() -> v1::Procedure {
    v1::Procedure {
        procedure_id: "front-camera".to_owned(),
        title: "Front camera, static".to_owned(),
        kind: v1::TaskKind::Calibration.into(),
        sensor: v1::SensorFamily::FrontCamera.into(),
        document: document(),
        methods: vec![v1::Method {
            method_id: "static".to_owned(),
            title: "With the target frame".to_owned(),
            place: v1::WorkPlace::Bay.into(),
            role_ids: vec!["calibrator".to_owned()],
            unit_kind_ids: vec!["target-frame".to_owned()],
            setup_minutes: 20,
            run_minutes: 30,
            teardown_minutes: 10,
            zones: vec![v1::Zone {
                zone_id: "target".to_owned(),
                outline: vec![
                    vertex(1_000.0, -500.0),
                    vertex(2_000.0, -500.0),
                    vertex(1_500.0, 900.0),
                ],
                needs: vec![
                    need(Need::ClearFloor(v1::ClearFloorNeed { up_to_mm: 2_000.0 })),
                    need(Need::Light(light())),
                ],
            }],
            sun_free_views: vec![],
            sun_elevation_min_deg: None,
        }],
        start_checks: vec![v1::StartCheck {
            start_check_id: "bonnet-shut".to_owned(),
            question: "Is the bonnet shut?".to_owned(),
        }],
    }
}

pub(super) fn vehicle_class() -> v1::VehicleClass {
    v1::VehicleClass {
        vehicle_class_id: "saloon".to_owned(),
        length_mm: 4_600.0,
        width_mm: 1_850.0,
        height_mm: 1_450.0,
        wheelbase_mm: 2_700.0,
        front_overhang_mm: 900.0,
        track_mm: 1_560.0,
    }
}

pub(super) fn all_tasks() -> v1::TaskSelector {
    v1::TaskSelector { select: Some(v1::task_selector::Select::All(true)) }
}

pub(super) fn call_rule() -> v1::CallRule {
    v1::CallRule {
        call_rule_id: "windshield".to_owned(),
        operation_codes: vec!["windshield-replaced".to_owned()],
        vehicle_class_ids: vec!["saloon".to_owned()],
        sensors: vec![v1::SensorFamily::FrontCamera.into()],
        calls: vec![v1::CalledTask {
            task_id: "camera".to_owned(),
            procedure_id: "front-camera".to_owned(),
            after: vec![],
            undoes: vec![],
            planned_cure: None,
        }],
        prerequisites: vec![v1::CalledPrerequisite {
            prerequisite_id: "parts".to_owned(),
            kind: v1::PrerequisiteKind::PartsReceived.into(),
            title: "Windshield received".to_owned(),
            gates: vec![all_tasks()],
            asked: v1::AskedWhen::Ahead.into(),
            party: "parts desk".to_owned(),
            provided_by_task_id: String::new(),
            counts_for_minutes: None,
            document: document(),
        }],
        undoes: vec![],
        document: document(),
    }
}

pub(super) fn span(from_minute: u32, to_minute: u32) -> v1::LocalSpan {
    v1::LocalSpan { from_minute, to_minute }
}

pub(super) fn week() -> Option<v1::WeeklyHours> {
    Some(v1::WeeklyHours { monday: vec![span(450, 1_020)], ..v1::WeeklyHours::default() })
}

pub(super) fn technician() -> v1::Technician {
    v1::Technician {
        technician_id: "tech-1".to_owned(),
        title: "First technician".to_owned(),
        role_ids: vec!["calibrator".to_owned()],
        shift: week(),
        exceptions: vec![],
        dated_roles: vec![],
    }
}

pub(super) fn shop() -> v1::Shop {
    v1::Shop {
        shop_id: "shop-1".to_owned(),
        title: "Invented shop".to_owned(),
        time_zone: "Europe/Lisbon".to_owned(),
        latitude_deg: 38.7,
        longitude_deg: -9.1,
        bearing_deg: 12.0,
        hours: week(),
        exceptions: vec![v1::HoursException { date: "2026-12-25".to_owned(), spans: vec![] }],
        spots: vec![v1::Spot { spot_id: "yard".to_owned(), capacity: 12 }],
        weights: None,
        ..v1::Shop::default()
    }
}

pub(super) fn unit() -> v1::Unit {
    v1::Unit {
        unit_id: "frame-1".to_owned(),
        unit_kind_id: "target-frame".to_owned(),
        verified_until: "2026-11-01".to_owned(),
        ..v1::Unit::default()
    }
}

pub(super) fn definition() -> v1::ShopDefinition {
    v1::ShopDefinition {
        shop: Some(shop()),
        bays: vec![bay()],
        vehicle_classes: vec![vehicle_class()],
        procedures: vec![procedure()],
        call_rules: vec![call_rule()],
        technicians: vec![technician()],
        units: vec![unit()],
        accounts: vec![],
    }
}

pub(super) fn survey() -> v1::Survey {
    v1::Survey {
        survey_id: "spring".to_owned(),
        bay_id: "bay-1".to_owned(),
        taken_on: "2026-03-01".to_owned(),
        valid_until: "2027-03-01".to_owned(),
        instrument: "rotating laser and light meter".to_owned(),
        height_uncertainty_mm: 0.5,
        light_uncertainty_relative: 0.03,
        colour_temperature_k: None,
        datum: String::new(),
        heights: vec![v1::HeightPoint { x_mm: 0.0, y_mm: 0.0, height_mm: 1.5 }],
        light: vec![v1::LightReading {
            x_mm: 0.0,
            y_mm: 0.0,
            height_mm: 1_200.0,
            plane: v1::LightPlane::Vertical.into(),
            lux: 420.0,
        }],
        ..v1::Survey::default()
    }
}

pub(super) fn at(seconds: i64) -> Option<Timestamp> {
    Some(Timestamp { seconds, nanos: 0 })
}

pub(super) fn estimate() -> v1::Estimate {
    v1::Estimate {
        job_id: "J-1041".to_owned(),
        revision: 1,
        account_id: "body-shop".to_owned(),
        repair_order: "RO 1041".to_owned(),
        vehicle: Some(v1::Vehicle {
            // The worked example of the check digit rule, 49 CFR 565.15(c).
            vin: "1M8GDM9AXKP042788".to_owned(),
            vehicle_class_id: "saloon".to_owned(),
            sensors: vec![v1::SensorFamily::FrontCamera.into()],
        }),
        expected_arrival_time: at(1_772_440_000),
        arrival: v1::ArrivalKind::DropOff.into(),
        promise_time: at(1_772_470_000),
        lines: vec![v1::EstimateLine {
            operation_id: "line-1".to_owned(),
            operation_code: "windshield-replaced".to_owned(),
            text: "Windshield replaced".to_owned(),
        }],
        weight: 0,
    }
}

pub(super) fn adhesive() -> v1::Adhesive {
    v1::Adhesive {
        product: "invented adhesive".to_owned(),
        set_time: at(1_772_450_000),
        temperature_c: 21.0,
        humidity_percent: 45.0,
        cure: Some(v1::CureMinutes {
            moved_minutes: 30,
            calibrated_minutes: 60,
            driven_minutes: 60,
        }),
        document: "invented sheet".to_owned(),
        task_id: "glass".to_owned(),
    }
}
