//! Plane geometry of the floor: polygons, what is left of them, distances between them, and the
//! positions at which a vehicle's zones lie on free floor.

mod bounds;
mod feasible;
mod overlay;
mod polygon;
mod segment;
mod travel;

pub use bounds::FloorBounds;
pub use feasible::{
    CENTRE_PRECISION_MM, CornerCount, FeasibleRegion, GRID_STEPS_PER_MM, HEADING_TOLERANCE_DEG_MAX,
    HeadingRange, PIECE_WIDTH_MM_MIN, RegionPiece, SUM_EDGES_MAX, SWEEP_EXCESS_MM_MAX,
    ZONE_OBSTRUCTIONS_MAX, ZONES_PLACED_MAX, ZoneToPlace, feasible,
};
pub use overlay::{OVERLAP_MM2_MAX, Parts, common_part, common_polygons, part_outside, united};
pub use polygon::{AREA_MM2_MIN, NearestEdge, OUTLINE_VERTICES_MAX, Polygon, TOUCH_MM};
pub(crate) use segment::{between, turn};
pub use travel::{Direction, Meeting, meetings, meetings_within};
