//! The front of cost against changes on the way out.

use crate::plan::steadiness_message;
use crate::{v1, what_if::outcome};
use baywright_core::shop_day::DayFrontPoint;

/// The front as a message; the caller adds days and caution.
pub fn front_message(points: &[DayFrontPoint]) -> v1::FrontReport {
    let points = points.iter().map(|point| v1::FrontPoint {
        change_factor: u32::try_from(point.factor).unwrap_or_default(),
        cost: point.cost,
        outcome: Some(outcome(&point.outcome)),
        steadiness: steadiness_message(&point.steadiness),
    });
    v1::FrontReport { points: points.collect(), ..v1::FrontReport::default() }
}
