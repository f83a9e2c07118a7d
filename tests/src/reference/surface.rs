//! Heights between scattered points: a triangulated floor, nothing outside of the points.

use super::{Case, Comparison, Kind, Mismatch};
use baywright_core::axes::PointFloor;
use baywright_core::survey::Surface;
use serde::Deserialize;

/// `surface_points_mm` with heights at other places; no height outside of the points.
pub(super) const HEIGHTS: Kind = Kind {
    name: "triangulated floor",
    recognises: |case| case.has(&["surface_points_mm", "heights_mm"]),
    check,
};

/// How far a height may be off where a file states nothing, millimetres.
const TOLERANCE_MM: f64 = 1e-6;

#[derive(Deserialize)]
struct Heights {
    surface_points_mm: Vec<[f64; 3]>,
    heights_mm: Vec<(f64, f64, Option<f64>)>,
}

fn check(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Heights = case.read()?;
    let place = |x_mm: f64, y_mm: f64| PointFloor { x_mm, y_mm };
    let points = stated.surface_points_mm.iter().map(|[x, y, height]| (place(*x, *y), *height));
    let surface = Surface::through(points);
    let tolerance = case.setting("tolerance_mm").unwrap_or(TOLERANCE_MM);
    let mut comparison = Comparison::new();
    for (x, y, expected) in stated.heights_mm {
        let found = surface.value_at(place(x, y));
        let name = format!("height at {x}, {y}");
        Mismatch::unless_equal(&format!("{name} surveyed"), &expected.is_some(), &found.is_some())?;
        comparison.number(&name, expected, found.unwrap_or(f64::NAN), tolerance);
    }
    comparison.finish()
}
