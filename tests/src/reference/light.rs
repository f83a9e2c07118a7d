//! Light: grid and uniformity after EN 12464-1, point sources by the inverse-square law.

use super::{Case, Comparison, Kind, Mismatch};
use baywright_core::axes::PointFloor;
use baywright_core::survey::{LightField, LightGrid, PointSource, grid_spacing_m, horizontal_lux};
use serde::Deserialize;

/// `d_m` with the spacing `p_m` and the least points along it.
pub(super) const SPACING: Kind = Kind {
    name: "light grid spacing",
    recognises: |case| case.has(&["d_m", "p_m", "least_points_along_d"]),
    check: check_spacing,
};

/// `sides_m` of an area with its grid.
pub(super) const GRID: Kind = Kind {
    name: "light grid of an area",
    recognises: |case| case.has(&["sides_m", "p_m", "points"]),
    check: check_grid,
};

/// `lux` with their average, extremes and uniformity.
pub(super) const UNIFORMITY: Kind = Kind {
    name: "uniformity of light",
    recognises: |case| case.has(&["lux", "U0"]),
    check: check_uniformity,
};

/// Lamps in metres and candela, with the illuminance at a point.
pub(super) const POINT_SOURCES: Kind = Kind {
    name: "light of point sources",
    recognises: |case| case.has(&["sources_x_y_z_m_and_candela", "point_m", "horizontal_lux"]),
    check: check_sources,
};

/// The share of a value by which a result may be off where a file states none.
const TOLERANCE_RELATIVE: f64 = 1e-9;

#[derive(Deserialize)]
struct Spacing {
    d_m: f64,
    p_m: f64,
    least_points_along_d: usize,
}

fn check_spacing(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Spacing = case.read()?;
    compare(case, &[("p_m", Some(stated.p_m), grid_spacing_m(stated.d_m))])?;
    // A square takes its spacing from either side.
    let side_mm = 1_000.0 * stated.d_m;
    let grid = grid_of(side_mm, side_mm)?;
    Mismatch::unless_equal("points along d", &stated.least_points_along_d, &grid.along)
}

#[derive(Deserialize)]
struct Grid {
    sides_m: [f64; 2],
    p_m: f64,
    points: [usize; 2],
}

fn check_grid(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Grid = case.read()?;
    let [along, across] = stated.sides_m.map(|metres| 1_000.0 * metres);
    let grid = grid_of(along, across)?;
    compare(case, &[("p_m", Some(stated.p_m), grid.spacing_mm / 1_000.0)])?;
    Mismatch::unless_equal("points", &stated.points, &[grid.along, grid.across])
}

fn grid_of(along_mm: f64, across_mm: f64) -> Result<LightGrid, Mismatch> {
    LightGrid::of_sides(along_mm, across_mm).ok_or_else(|| Mismatch::new("a grid", "none"))
}

#[derive(Deserialize)]
struct Readings {
    lux: Vec<f64>,
    average: Option<f64>,
    minimum: Option<f64>,
    maximum: Option<f64>,
    #[serde(rename = "U0")]
    uniformity: Option<f64>,
}

fn check_uniformity(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Readings = case.read()?;
    let field = LightField::of(&stated.lux).ok_or_else(|| Mismatch::new("light", "none"))?;
    compare(
        case,
        &[
            ("average", stated.average, field.average_lux()),
            ("minimum", stated.minimum, field.minimum_lux()),
            ("maximum", stated.maximum, field.maximum_lux()),
            ("U0", stated.uniformity, field.uniformity()),
        ],
    )
}

#[derive(Deserialize)]
struct Lamps {
    sources_x_y_z_m_and_candela: Vec<[f64; 4]>,
    point_m: [f64; 3],
    horizontal_lux: f64,
}

fn check_sources(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Lamps = case.read()?;
    let source = |[x, y, z, candela]: &[f64; 4]| PointSource {
        x_mm: 1_000.0 * x,
        y_mm: 1_000.0 * y,
        height_mm: 1_000.0 * z,
        candela: *candela,
    };
    let sources: Vec<_> = stated.sources_x_y_z_m_and_candela.iter().map(source).collect();
    let [x, y, z] = stated.point_m.map(|metres| 1_000.0 * metres);
    let got = horizontal_lux(&sources, PointFloor { x_mm: x, y_mm: y }, z);
    compare(case, &[("horizontal_lux", Some(stated.horizontal_lux), got)])
}

fn compare(case: &Case<'_>, figures: &[(&str, Option<f64>, f64)]) -> Result<(), Mismatch> {
    let share = case.setting("tolerance_relative").unwrap_or(TOLERANCE_RELATIVE);
    let mut comparison = Comparison::new();
    for (name, expected, got) in figures {
        comparison.number(name, *expected, *got, share * expected.unwrap_or_default().abs());
    }
    comparison.finish()
}
