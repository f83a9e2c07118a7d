//! Plane geometry of the floor: polygons, what is left of them, and distances between them.

mod polygon;
mod segment;

pub use polygon::{AREA_MM2_MIN, OUTLINE_VERTICES_MAX, Polygon, TOUCH_MM};
