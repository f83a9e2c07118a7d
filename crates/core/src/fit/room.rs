//! The room at one pose: margins side by side, tape distances, and where body and zones lie.

use super::margins::{SideMargin, side_margins};
use super::site::Site;
use super::tape::{TapeDistances, tape_distances};
use crate::axes::PoseFloor;
use crate::demand::{Method, VehicleClass, ZoneShape};
use crate::floor::Bay;
use crate::ids::ZoneId;
use crate::region::Polygon;
use chrono::NaiveDate;

/// How far body and zones are from what limits them at a pose, and how a person sets it out.
#[derive(Debug, Clone, PartialEq)]
pub struct PoseRoom {
    /// Side by side; the body first, then each zone of clear floor.
    pub margins: Vec<SideMargin>,
    /// From which walls a person measures the pose; none when no two walls serve.
    pub tape: Option<TapeDistances>,
}

/// The room for a method and a vehicle at a pose in a bay on a day.
pub fn room_at(
    method: &Method,
    vehicle: &VehicleClass,
    (bay, on): (&Bay, NaiveDate),
    pose: &PoseFloor,
) -> PoseRoom {
    let site = Site { bay, survey: None, on };
    PoseRoom {
        margins: side_margins(method, vehicle, &site, pose),
        tape: tape_distances(vehicle, &site, pose),
    }
}

/// The body or a zone where it lies on the floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Zoned {
    /// The zone; none for the vehicle's own body.
    pub zone: Option<ZoneId>,
    /// What it asks, in short; empty for the body.
    pub asks: Vec<String>,
    /// Its outline, floor axes.
    pub outline: Polygon,
}

/// The body and every zone that has a shape for the vehicle, where they lie at a pose.
pub fn zones_at(method: &Method, vehicle: &VehicleClass, pose: &PoseFloor) -> Vec<Zoned> {
    let body =
        Zoned { zone: None, asks: Vec::new(), outline: ZoneShape::of_body(vehicle).placed(pose) };
    let zones = method.zones().iter().filter_map(|zone| {
        Some(Zoned {
            zone: Some(zone.id().clone()),
            asks: zone.needs().iter().map(ToString::to_string).collect(),
            outline: zone.shape_for(vehicle).ok()?.placed(pose),
        })
    });
    std::iter::once(body).chain(zones).collect()
}
