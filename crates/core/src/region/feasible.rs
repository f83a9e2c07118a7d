//! Exact feasible positions: where a vehicle's origin may stand so that every zone lies on free
//! floor, at one heading and its tolerance.
//!
//! A zone that must stay on the floor keeps the vehicle's origin in the floor's rectangle eroded by
//! the zone's, and out of the sum of the reflected zone with each pocket of the floor; an
//! obstruction keeps it out of the sum of the reflected zone with the obstruction. What is left of the
//! rectangle is the region, computed by one set operation on a grid of [`GRID_STEPS_PER_MM`] steps to a
//! millimetre: no raster of positions, no samples.
//!
//! Floor and zones are closed and obstructions open: touching is allowed. The region is regular:
//! parts without area, such as the line on which a vehicle exactly as wide as the bay would stand,
//! and parts narrower than [`PIECE_WIDTH_MM_MIN`] are no room that a person could use and are not
//! in it.

mod centre;
mod clip;
mod convolution;
mod effort;
mod grid;
mod pockets;
mod region;
mod sweep;

pub use centre::CENTRE_PRECISION_MM;
pub use effort::{CornerCount, SUM_EDGES_MAX};
pub use region::{FeasibleRegion, PIECE_WIDTH_MM_MIN, RegionPiece};
pub use sweep::SWEEP_EXCESS_MM_MAX;

use crate::axes::{PoseFloor, PoseFloorDraft};
use crate::fault::{Fault, FaultList, Faults};
use crate::region::Polygon;
use clip::clipped;
use convolution::convolution;
use grid::{Bounds, Ring, STEPS_PER_MM, reflected, ring_of};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{IntOverlayOptions, Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::core::solver::Solver;
use i_overlay::i_shape::int::shape::IntShapes;
use pockets::pockets;
use sweep::swept;

/// Grid steps to a millimetre; coordinates are rounded to the grid once.
pub const GRID_STEPS_PER_MM: f64 = STEPS_PER_MM;
/// The most zones that are placed together.
pub const ZONES_PLACED_MAX: usize = 200;
/// The most obstructions that one zone keeps clear of.
pub const ZONE_OBSTRUCTIONS_MAX: usize = 500;
/// The greatest tolerance of a heading, degrees.
pub const HEADING_TOLERANCE_DEG_MAX: f64 = 10.0;

/// A zone and what it keeps clear of.
#[derive(Debug, Clone)]
pub struct ZoneToPlace<'a> {
    /// Its outline where the vehicle's origin stands on the floor's origin with heading 0, so that
    /// floor axes and vehicle axes are the same.
    pub outline_vehicle: Polygon,
    /// Whether it must lie on the floor; a zone that only keeps clear of things, such as metal, may
    /// reach over the floor's edge.
    pub stays_on_floor: bool,
    /// The outlines of the obstructions that matter to it, in floor axes; they may overlap each
    /// other and reach over the floor's edge.
    pub clear_of: Vec<&'a Polygon>,
}

/// A heading with a tolerance to either side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeadingRange {
    straight: PoseFloor,
    tolerance_deg: f64,
}

impl HeadingRange {
    /// Checks and takes a heading and its tolerance.
    ///
    /// # Errors
    /// A fault for a heading outside of -360 to 360 degrees and for a tolerance outside of 0 to
    /// [`HEADING_TOLERANCE_DEG_MAX`].
    pub fn new(heading_deg: f64, tolerance_deg: f64) -> Result<Self, Faults> {
        let straight = PoseFloor::new(PoseFloorDraft { x_mm: 0.0, y_mm: 0.0, heading_deg })?;
        let mut faults = FaultList::new();
        let most = HEADING_TOLERANCE_DEG_MAX;
        faults.number_within("tolerance_deg", tolerance_deg, 0.0, most, "degrees");
        faults.finish(Self { straight, tolerance_deg })
    }

    /// The heading in the middle, degrees counter-clockwise from floor +x, in `0..360`.
    pub fn heading_deg(&self) -> f64 {
        self.straight.heading_deg()
    }

    /// The tolerance to either side, degrees.
    pub fn tolerance_deg(&self) -> f64 {
        self.tolerance_deg
    }
}

/// The positions of the vehicle's origin at which every zone lies on free floor.
///
/// With a tolerance, the zones hold at every heading within it: each zone is replaced by polygons
/// that hold it at all of them and exceed that by at most [`SWEEP_EXCESS_MM_MAX`].
///
/// # Errors
/// A fault when no zone stays on the floor (the region would have no end), for more than
/// [`ZONES_PLACED_MAX`] zones or [`ZONE_OBSTRUCTIONS_MAX`] obstructions of a zone, and where their sums
/// have more than [`SUM_EDGES_MAX`] edges.
///
/// # Example: a vehicle of 4 by 2 metres in a room of 6 by 5 metres
/// ```
/// use baywright_core::region::{HeadingRange, Polygon, ZoneToPlace, feasible};
///
/// let room = Polygon::new(&[(0.0, 0.0), (6e3, 0.0), (6e3, 5e3), (0.0, 5e3)])?;
/// let body = Polygon::new(&[(-3e3, -1e3), (1e3, -1e3), (1e3, 1e3), (-3e3, 1e3)])?;
/// let zone = ZoneToPlace { outline_vehicle: body, stays_on_floor: true, clear_of: vec![] };
/// let region = feasible(&room, &[zone], HeadingRange::new(0.0, 0.0)?)?;
/// assert_eq!(region.area_mm2(), 2e3 * 3e3);
/// # Ok::<(), baywright_core::fault::Faults>(())
/// ```
///
/// # Edge cases
/// Zones larger than the floor give a region without pieces.
pub fn feasible(
    floor: &Polygon,
    zones: &[ZoneToPlace<'_>],
    headings: HeadingRange,
) -> Result<FeasibleRegion, Faults> {
    check_counts(zones)?;
    let floor = ring_of(floor);
    let rectangle = Bounds::of(&floor);
    let pockets = pockets(&floor);
    let mut frame: Option<Bounds> = None;
    let mut reflections = Vec::with_capacity(zones.len());
    for zone in zones {
        let rings = swept(&zone.outline_vehicle, &headings.straight, headings.tolerance_deg);
        for ring in &rings {
            if zone.stays_on_floor {
                let eroded = rectangle.eroded_by(&Bounds::of(ring));
                frame = Some(frame.map_or(eroded, |frame| frame.common(&eroded)));
            }
            reflections.push((zone, reflected(ring)));
        }
    }
    let Some(frame) = frame.filter(Bounds::has_area) else {
        return Ok(FeasibleRegion::default());
    };
    check_effort(&reflections, &pockets)?;
    // Larger zones first: they leave the least to look at for the others.
    reflections.sort_by_key(|(_, ring)| std::cmp::Reverse(Bounds::of(ring).half_circumference()));
    let mut left = vec![vec![frame.corners().to_vec()]];
    for (zone, ring) in &reflections {
        let obstructions = zone.clear_of.iter().map(|outline| ring_of(outline));
        let blocked = if zone.stays_on_floor { pockets.as_slice() } else { &[] };
        let obstacles = obstructions.chain(blocked.iter().cloned());
        let frame = Bounds::of_shapes(&left);
        let forbidden: Vec<_> =
            obstacles.flat_map(|obstacle| kept_from(&obstacle, ring, &frame)).collect();
        if !forbidden.is_empty() {
            left = without(&left, &forbidden);
        }
    }
    Ok(FeasibleRegion::from_shapes(left))
}

/// Refuses zones and outlines that would take minutes to sum up.
fn check_effort(zones: &[(&ZoneToPlace<'_>, Ring)], pockets: &[Ring]) -> Result<(), Faults> {
    let pockets = pockets.iter().map(|pocket| CornerCount::of_ring(pocket));
    let floor = pockets.fold(CornerCount::default(), CornerCount::and);
    let edges = zones.iter().fold(0_usize, |sum, (zone, ring)| {
        let blocked = if zone.stays_on_floor { floor } else { CornerCount::default() };
        let obstructions = zone.clear_of.iter().map(|outline| CornerCount::of(outline));
        let solids = obstructions.fold(blocked, CornerCount::and);
        sum.saturating_add(CornerCount::of_ring(ring).sum_edges(solids))
    });
    if edges <= SUM_EDGES_MAX {
        return Ok(());
    }
    Err(Fault::new(
        "zones",
        format!("zones that, moved along the outlines, have {edges} edges"),
        format!("have at most {SUM_EDGES_MAX}"),
        "draw bay, obstructions or zones with fewer corners, above all inward ones, or allow the heading \
         less tolerance",
    )
    .into())
}

/// Where an obstacle keeps the origin of a reflected zone away from, as far as it matters.
fn kept_from(obstacle: &Ring, zone: &Ring, frame: &Bounds) -> Vec<Ring> {
    let around = Bounds::of(obstacle).sum(&Bounds::of(zone));
    if !around.common(frame).has_area() {
        return Vec::new();
    }
    let sums = convolution(obstacle, zone).into_iter().map(|ring| clipped(ring, frame));
    sums.filter(|ring| ring.len() > 2).collect()
}

/// What is left of shapes.
fn without(shapes: &IntShapes<i64>, forbidden: &[Ring]) -> IntShapes<i64> {
    let edges = forbidden.iter().map(Vec::len).sum::<usize>() + 64;
    let mut overlay = Overlay::new_custom(edges, IntOverlayOptions::ogc(), Solver::default());
    overlay.add_source(shapes, ShapeType::Subject);
    for ring in forbidden {
        overlay.add_contour(ring, ShapeType::Clip);
    }
    overlay.overlay(OverlayRule::Difference, FillRule::Positive)
}

fn check_counts(zones: &[ZoneToPlace<'_>]) -> Result<(), Faults> {
    let mut faults = FaultList::new();
    let at_most = |faults: &mut FaultList, field: String, count: usize, most: usize| {
        if count > most {
            faults.push(Fault::new(
                field,
                format!("a list of {count}"),
                format!("hold at most {most}"),
                "place fewer together",
            ));
        }
    };
    at_most(&mut faults, "zones".to_owned(), zones.len(), ZONES_PLACED_MAX);
    for (at, zone) in zones.iter().enumerate() {
        let field = format!("zones[{at}].clear_of");
        at_most(&mut faults, field, zone.clear_of.len(), ZONE_OBSTRUCTIONS_MAX);
    }
    if !zones.iter().any(|zone| zone.stays_on_floor) {
        faults.push(Fault::new(
            "zones",
            "without one that stays on the floor",
            "hold at least one that does",
            "add the vehicle's own body",
        ));
    }
    faults.finish(())
}

#[cfg(test)]
mod tests;
