//! A placement: where the vehicle stands when every need holds, and what it takes up there.

use super::{Finding, TargetHeight, Verdict};
use crate::axes::PoseFloor;
use crate::ids::{BayId, StationId};
use crate::region::{Polygon, common_part};
use crate::survey::WheelPlane;

/// The length that counts as one when margins are compared, millimetres; our own choice.
pub const LENGTH_REFERENCE_MM: f64 = 100.0;

/// Everything that was found at one station.
#[derive(Debug, Clone, PartialEq)]
pub struct StationFindings {
    /// The station.
    pub station: StationId,
    /// Where the vehicle would stand.
    pub pose: PoseFloor,
    /// What was found: the body first, then the zones in their order.
    pub findings: Vec<Finding>,
}

impl StationFindings {
    /// The verdict that outweighs the others.
    pub fn verdict(&self) -> Verdict {
        self.findings.iter().map(|finding| finding.verdict).max().unwrap_or(Verdict::Conforms)
    }

    /// The smallest of the margins, each by [`Finding::margin_relative`].
    pub fn smallest_margin(&self) -> f64 {
        smallest_margin(&self.findings)
    }
}

/// A pose in a bay at which every need holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Placement {
    pub(super) bay: BayId,
    pub(super) station: StationId,
    pub(super) pose: PoseFloor,
    pub(super) findings: Vec<Finding>,
    pub(super) footprint: Vec<Polygon>,
    pub(super) targets: Vec<TargetHeight>,
    pub(super) wheel_plane: Option<WheelPlane>,
}

impl Placement {
    /// The bay.
    pub fn bay(&self) -> &BayId {
        &self.bay
    }

    /// The station in the bay.
    pub fn station(&self) -> &StationId {
        &self.station
    }

    /// Where the vehicle stands.
    pub fn pose(&self) -> &PoseFloor {
        &self.pose
    }

    /// What was found about every need; each conforms or is confirmed at the start.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// What is asked at the vehicle before work starts.
    pub fn to_confirm(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.verdict == Verdict::ConfirmAtStart)
    }

    /// What the placement takes up of the floor: the body, then each zone of clear floor.
    pub fn footprint(&self) -> &[Polygon] {
        &self.footprint
    }

    /// The floor in the middle of each level zone, seen from the vehicle, where it was surveyed.
    pub fn targets(&self) -> &[TargetHeight] {
        &self.targets
    }

    /// The plane under the tyres, when the method asks for a level floor and it was surveyed.
    pub fn wheel_plane(&self) -> Option<&WheelPlane> {
        self.wheel_plane.as_ref()
    }

    /// The smallest of the margins, each by [`Finding::margin_relative`].
    pub fn smallest_margin(&self) -> f64 {
        smallest_margin(&self.findings)
    }
}

fn smallest_margin(findings: &[Finding]) -> f64 {
    findings.iter().filter_map(Finding::margin_relative).fold(f64::INFINITY, f64::min)
}

/// Whether two placements cannot be held at the same time: what they take up of the floor overlaps
/// in area.
///
/// Floor axes are those of the whole shop, so this also holds for two bays that are drawn over
/// each other. A vehicle that merely waits counts with all its zones, which is conservative.
pub fn places_clash(a: &Placement, b: &Placement) -> bool {
    a.footprint
        .iter()
        .any(|ours| b.footprint.iter().any(|theirs| common_part(ours, theirs).has_area()))
}
