//! Least squares against certified figures: NIST Statistical Reference Datasets.

use super::{Case, Comparison, Kind, Mismatch};
use baywright_core::survey::{LevelLine, LevelPlane};
use serde::Deserialize;

/// `x` and `y` with certified coefficients `B`: a line for two of them, a plane over x and x^2 for
/// three.
pub(super) const CERTIFIED: Kind = Kind {
    name: "certified least squares",
    recognises: |case| case.has(&["x", "y", "B", "residual_sd"]),
    check: check_certified,
};

/// Invented points with the exact fractions of their plane.
pub(super) const EXACT_PLANE: Kind = Kind {
    name: "plane in exact fractions",
    recognises: |case| case.has(&["points_mm_invented", "a_mm", "b", "c"]),
    check: check_exact,
};

/// The share of a value by which a result may be off where a file states none.
const TOLERANCE_RELATIVE: f64 = 1e-9;

#[derive(Deserialize)]
struct Certified {
    x: Vec<f64>,
    y: Vec<f64>,
    #[serde(rename = "B")]
    coefficients: Vec<f64>,
    #[serde(rename = "se_B", default)]
    errors: Vec<f64>,
    residual_sd: f64,
    r_squared: Option<f64>,
}

type Figure<'a> = (&'a str, Option<f64>, Option<f64>);

fn check_certified(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Certified = case.read()?;
    let data = || stated.x.iter().copied().zip(stated.y.iter().copied());
    let error = |at: usize| stated.errors.get(at).copied();
    let figures: Vec<Figure<'_>> = match stated.coefficients[..] {
        [intercept, slope] => {
            let points: Vec<_> = data().map(|(x, y)| [x, y]).collect();
            let line = LevelLine::fit(&points).ok_or_else(|| Mismatch::new("a line", "none"))?;
            vec![
                ("B0", Some(intercept), Some(line.intercept_mm)),
                ("B1", Some(slope), Some(line.slope)),
                ("se_B0", error(0), line.intercept_error_mm),
                ("se_B1", error(1), line.slope_error),
                ("residual_sd", Some(stated.residual_sd), line.residual_std_mm),
                ("r_squared", stated.r_squared, line.r_squared),
            ]
        }
        [intercept, along, across] => {
            let points: Vec<_> = data().map(|(x, y)| [x, x * x, y]).collect();
            let plane = LevelPlane::fit(&points)
                .map_err(|no_plane| Mismatch::new("a plane", no_plane.to_string()))?;
            let std = plane.residual_std_mm().unwrap_or(f64::NAN);
            vec![
                ("B0", Some(intercept), Some(plane.intercept_mm())),
                ("B1", Some(along), Some(plane.slope_x())),
                ("B2", Some(across), Some(plane.slope_y())),
                ("se_B1", error(1), Some(plane.slope_x_uncertainty(std))),
                ("se_B2", error(2), Some(plane.slope_y_uncertainty(std))),
                ("residual_sd", Some(stated.residual_sd), Some(std)),
                ("r_squared", stated.r_squared, plane.r_squared()),
            ]
        }
        _ => return Err(Mismatch::new("two or three coefficients", "others")),
    };
    compare(case, &figures)
}

#[derive(Deserialize)]
struct Exact {
    points_mm_invented: Vec<[f64; 3]>,
    a_mm: (String, f64),
    b: (String, f64),
    c: (String, f64),
    slope_x_deg: Option<f64>,
    slope_y_deg: Option<f64>,
    steepest_deg: Option<f64>,
    residual_stdev_mm: Option<f64>,
}

fn check_exact(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Exact = case.read()?;
    let plane = LevelPlane::fit(&stated.points_mm_invented)
        .map_err(|no_plane| Mismatch::new("a plane", no_plane.to_string()))?;
    compare(
        case,
        &[
            ("a_mm", Some(stated.a_mm.1), Some(plane.intercept_mm())),
            ("b", Some(stated.b.1), Some(plane.slope_x())),
            ("c", Some(stated.c.1), Some(plane.slope_y())),
            ("slope_x_deg", stated.slope_x_deg, Some(plane.slope_x_deg())),
            ("slope_y_deg", stated.slope_y_deg, Some(plane.slope_y_deg())),
            ("steepest_deg", stated.steepest_deg, Some(plane.steepest_deg())),
            ("residual_stdev_mm", stated.residual_stdev_mm, plane.residual_std_mm()),
        ],
    )
}

fn compare(case: &Case<'_>, figures: &[Figure<'_>]) -> Result<(), Mismatch> {
    let share = case.setting("tolerance_relative").unwrap_or(TOLERANCE_RELATIVE);
    let mut comparison = Comparison::new();
    for (name, expected, got) in figures {
        let tolerance = share * expected.unwrap_or_default().abs();
        comparison.number(name, *expected, got.unwrap_or(f64::NAN), tolerance);
    }
    comparison.finish()
}
