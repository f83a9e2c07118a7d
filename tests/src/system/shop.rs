//! The tests' shop and what is sent about it. Every figure is invented.

use baywright_api::v1;
use chrono::{DateTime, TimeDelta, Utc};
use prost_types::Timestamp;

/// The shop's name.
pub const SHOP: &str = "test";

/// Where the service's clock begins: a Tuesday, half past seven in the shop.
pub const START: &str = "2026-05-05T06:30:00Z";

/// The first local date on which the surveys no longer count.
const SURVEYS_VALID_UNTIL: &str = "2026-07-01";

/// Bays of a large shop that stand in one row.
const BAYS_IN_A_ROW: u32 = 16;

/// The operations that call for glass, camera and radar.
pub const BOTH: [&str; 2] = ["windshield-replaced", "bumper-removed"];

/// The instant so many minutes after [`START`].
pub fn at(minutes: i64) -> DateTime<Utc> {
    START.parse::<DateTime<Utc>>().unwrap() + TimeDelta::minutes(minutes)
}

/// An instant as the contract writes it.
pub fn time(at: DateTime<Utc>) -> Timestamp {
    let nanos = i32::try_from(at.timestamp_subsec_nanos()).unwrap();
    Timestamp { seconds: at.timestamp(), nanos }
}

/// The shop with two bays, in both of which everything fits.
pub fn definition() -> v1::ShopDefinition {
    baywright_files::shop_file::parse(include_str!("shop.toml")).unwrap()
}

/// The shop with so many bays of the same kind beside each other.
pub fn definition_with_bays(count: u32) -> v1::ShopDefinition {
    let mut definition = definition();
    let model = definition.bays[0].clone();
    definition.bays = (0..count)
        .map(|index| {
            let mut bay = model.clone();
            bay.bay_id = format!("bay-{}", index + 1);
            let across = f64::from(index / BAYS_IN_A_ROW) * 15_000.0;
            let up = f64::from(index % BAYS_IN_A_ROW) * 8_000.0;
            for corner in &mut bay.outline {
                corner.x_mm += across;
                corner.y_mm += up;
            }
            for pose in bay.stations.iter_mut().filter_map(|station| station.pose.as_mut()) {
                pose.x_mm += across;
                pose.y_mm += up;
            }
            bay
        })
        .collect();
    definition
}

/// The shop with so many bays, in which a job with a removed bumper calls for the radar alone.
pub fn definition_of_radars(bays: u32) -> v1::ShopDefinition {
    let mut definition = definition_with_bays(bays);
    let kept = ["every-job", "radar"];
    definition.call_rules.retain(|rule| kept.contains(&rule.call_rule_id.as_str()));
    let every_job = &mut definition.call_rules[0];
    every_job.calls.clear();
    every_job.prerequisites.retain(|one| one.provided_by_task_id.is_empty());
    definition.call_rules[1].calls[0].after.clear();
    definition
}

/// A survey of a rectangular bay: level, evenly lit, measured on a grid from edge to edge.
pub fn survey(bay: &v1::Bay) -> v1::Survey {
    let columns = grid(bay.outline.iter().map(|corner| corner.x_mm));
    let rows = grid(bay.outline.iter().map(|corner| corner.y_mm));
    let points: Vec<(f64, f64)> =
        columns.iter().flat_map(|x| rows.iter().map(move |y| (*x, *y))).collect();
    v1::Survey {
        survey_id: "may".to_owned(),
        bay_id: bay.bay_id.clone(),
        taken_on: "2026-05-04".to_owned(),
        valid_until: SURVEYS_VALID_UNTIL.to_owned(),
        instrument: "optical level and light meter (invented)".to_owned(),
        height_uncertainty_mm: 0.5,
        light_uncertainty_relative: 0.04,
        colour_temperature_k: Some(4_000.0),
        heights: points
            .iter()
            .map(|&(x_mm, y_mm)| v1::HeightPoint { x_mm, y_mm, height_mm: 0.0 })
            .collect(),
        light: points
            .iter()
            .map(|&(x_mm, y_mm)| v1::LightReading {
                x_mm,
                y_mm,
                height_mm: 800.0,
                plane: v1::LightPlane::Horizontal.into(),
                lux: 500.0,
            })
            .collect(),
        ..v1::Survey::default()
    }
}

/// From the least to the greatest value, half a metre apart.
fn grid(values: impl Iterator<Item = f64> + Clone) -> Vec<f64> {
    let least = values.clone().fold(f64::INFINITY, f64::min);
    let most = values.fold(f64::NEG_INFINITY, f64::max);
    let steps = (0..200_u32).map(|step| least + f64::from(step) * 500.0);
    steps.take_while(|value| *value <= most).collect()
}

/// The first revision of an estimate with these operations, for today, promised for the evening.
pub fn estimate(job_id: &str, operation_codes: &[&str]) -> v1::Estimate {
    v1::Estimate {
        job_id: job_id.to_owned(),
        revision: 1,
        account_id: "account-1".to_owned(),
        repair_order: format!("RO-{job_id}"),
        vehicle: Some(v1::Vehicle {
            vin: String::new(),
            vehicle_class_id: "saloon".to_owned(),
            sensors: vec![
                v1::SensorFamily::FrontCamera.into(),
                v1::SensorFamily::FrontRadar.into(),
            ],
        }),
        expected_arrival_time: Some(time(at(0))),
        arrival: v1::ArrivalKind::DropOff.into(),
        promise_time: Some(time(at(660))),
        lines: operation_codes
            .iter()
            .enumerate()
            .map(|(index, code)| v1::EstimateLine {
                operation_id: (index + 1).to_string(),
                operation_code: (*code).to_owned(),
                text: String::new(),
            })
            .collect(),
        weight: 1,
    }
}

/// What is recorded of glass that was set at `set_time`: moved at once, calibrated after 60, driven
/// after 90 minutes.
pub fn adhesive(set_time: Option<Timestamp>) -> v1::Adhesive {
    v1::Adhesive {
        product: "test adhesive (invented)".to_owned(),
        set_time,
        temperature_c: 21.0,
        humidity_percent: 50.0,
        cure: Some(v1::CureMinutes {
            moved_minutes: 0,
            calibrated_minutes: 60,
            driven_minutes: 90,
        }),
        document: "Test sheet 2 (invented)".to_owned(),
        task_id: String::new(),
    }
}
