//! Plane geometry of the floor: polygons, what is left of them, and distances between them.

mod hull;
mod overlay;
mod polygon;
mod segment;

pub use hull::hull_area_mm2;
pub use overlay::{OVERLAP_MM2_MAX, Parts, common_part, part_outside};
pub use polygon::{AREA_MM2_MIN, NearestEdge, OUTLINE_VERTICES_MAX, Polygon, TOUCH_MM};
