//! Level planes through measured heights: least squares, and JCGM 100:2008 for the uncertainties.

use super::{Case, Comparison, Kind, Mismatch};
use baywright_core::survey::LevelPlane;
use serde::Deserialize;

/// `points_mm` with the plane through them.
pub(super) const PLANE: Kind = Kind {
    name: "level plane",
    recognises: |case| case.has(&["points_mm", "intercept_mm", "slope_x_mm_per_mm"]),
    check: check_plane,
};

/// `points_mm` that have no plane, with the reason `why`.
pub(super) const NO_PLANE: Kind = Kind {
    name: "points without a plane",
    recognises: |case| case.has(&["points_mm", "why"]),
    check: |case| {
        let NoPlane { points_mm, why } = case.read()?;
        match LevelPlane::fit(&points_mm) {
            Ok(plane) => Err(Mismatch::new(format!("no plane: {why}"), format!("{plane:?}"))),
            Err(_) => Ok(()),
        }
    },
};

/// The share of a value by which a result may be off where a file states none.
const TOLERANCE_RELATIVE: f64 = 1e-9;

/// What rounding may leave of a value that is zero, as a share of the data it is made of: some
/// thousand units in the last place of double precision.
const ROUNDING: f64 = 1e-12;

#[derive(Deserialize)]
struct NoPlane {
    points_mm: Vec<[f64; 3]>,
    why: String,
}

/// Plane and uncertainties as a case states them; what it does not state is not compared.
#[derive(Deserialize)]
struct Plane {
    points_mm: Vec<[f64; 3]>,
    intercept_mm: f64,
    slope_x_mm_per_mm: f64,
    slope_y_mm_per_mm: f64,
    slope_x_deg: Option<f64>,
    slope_y_deg: Option<f64>,
    steepest_deg: Option<f64>,
    largest_residual_mm: Option<f64>,
    residual_std_mm: Option<f64>,
    #[serde(default)]
    residuals_mm: Vec<f64>,
    instrument_u_mm: Option<f64>,
    u_slope_x_mm_per_mm: Option<f64>,
    u_slope_y_mm_per_mm: Option<f64>,
    u_steepest_mm_per_mm: Option<f64>,
    steepest_mm_per_m: Option<f64>,
    cov_slopes: Option<f64>,
    u_slope_x_deg: Option<f64>,
    u_slope_y_deg: Option<f64>,
    se_slope_x_from_residuals: Option<f64>,
    se_slope_y_from_residuals: Option<f64>,
}

fn check_plane(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Plane = case.read()?;
    let plane = LevelPlane::fit(&stated.points_mm)
        .map_err(|no_plane| Mismatch::new("a plane", no_plane.to_string()))?;
    let allowed = Allowed::of(case, &stated.points_mm);
    let mut comparison = Comparison::new();
    let mut length = |name: &str, expected: Option<f64>, got: f64| {
        comparison.number(name, expected, got, allowed.length_mm(expected));
    };
    length("intercept_mm", Some(stated.intercept_mm), plane.intercept_mm());
    length("largest_residual_mm", stated.largest_residual_mm, plane.largest_residual_mm());
    if let Some(deviation) = stated.residual_std_mm {
        let got = plane.residual_std_mm().unwrap_or(f64::NAN);
        length("residual_std_mm", Some(deviation), got);
    }
    for (expected, got) in stated.residuals_mm.iter().zip(plane.residuals()) {
        length("residuals_mm", Some(*expected), *got);
    }
    comparison.finish()?;
    if !stated.residuals_mm.is_empty() {
        let counts = (stated.residuals_mm.len(), plane.residuals().len());
        Mismatch::unless_equal("residuals", &counts.0, &counts.1)?;
    }
    check_slopes(&stated, &plane, &allowed)
}

fn check_slopes(stated: &Plane, plane: &LevelPlane, allowed: &Allowed) -> Result<(), Mismatch> {
    let mut comparison = Comparison::new();
    let mut ratio = |name: &str, expected: Option<f64>, got: f64| {
        comparison.number(name, expected, got, allowed.ratio(expected));
    };
    ratio("slope_x_mm_per_mm", Some(stated.slope_x_mm_per_mm), plane.slope_x());
    ratio("slope_y_mm_per_mm", Some(stated.slope_y_mm_per_mm), plane.slope_y());
    ratio("slope_x_deg", stated.slope_x_deg, plane.slope_x_deg());
    ratio("slope_y_deg", stated.slope_y_deg, plane.slope_y_deg());
    ratio("steepest_deg", stated.steepest_deg, plane.steepest_deg());
    let per_metre = 1_000.0 * plane.slope_x().hypot(plane.slope_y());
    ratio("steepest_mm_per_m", stated.steepest_mm_per_m, per_metre);
    if let Some(u_mm) = stated.instrument_u_mm {
        ratio("u_slope_x_mm_per_mm", stated.u_slope_x_mm_per_mm, plane.slope_x_uncertainty(u_mm));
        ratio("u_slope_y_mm_per_mm", stated.u_slope_y_mm_per_mm, plane.slope_y_uncertainty(u_mm));
        ratio("u_slope_x_deg", stated.u_slope_x_deg, plane.slope_x_uncertainty_deg(u_mm));
        ratio("u_slope_y_deg", stated.u_slope_y_deg, plane.slope_y_uncertainty_deg(u_mm));
        let first_order = plane.slope_distribution(u_mm, 0.0).first_order_u().unwrap_or(f64::NAN);
        ratio("u_steepest_mm_per_mm", stated.u_steepest_mm_per_mm, first_order);
    }
    let std = plane.residual_std_mm().unwrap_or(f64::NAN);
    let errors = (plane.slope_x_uncertainty(std), plane.slope_y_uncertainty(std));
    ratio("se_slope_x_from_residuals", stated.se_slope_x_from_residuals, errors.0);
    ratio("se_slope_y_from_residuals", stated.se_slope_y_from_residuals, errors.1);
    comparison.finish()?;
    check_covariance(stated, plane, allowed)
}

/// A covariance may be zero, so it is held against the product of the two uncertainties.
fn check_covariance(stated: &Plane, plane: &LevelPlane, allowed: &Allowed) -> Result<(), Mismatch> {
    let Some(u_mm) = stated.instrument_u_mm else { return Ok(()) };
    let product = plane.slope_x_uncertainty(u_mm) * plane.slope_y_uncertainty(u_mm);
    let mut comparison = Comparison::new();
    let got = plane.slope_covariance(u_mm);
    comparison.number("cov_slopes", stated.cov_slopes, got, allowed.relative * product);
    comparison.finish()
}

/// How far a result may be off: the file's share of the value, and near zero what rounding leaves.
struct Allowed {
    relative: f64,
    absolute_mm: f64,
    ratio: f64,
}

impl Allowed {
    fn of(case: &Case<'_>, points_mm: &[[f64; 3]]) -> Self {
        let relative = case.setting("tolerance_relative").unwrap_or(TOLERANCE_RELATIVE);
        let height = points_mm.iter().fold(0.0, |most: f64, [_, _, z]| most.max(z.abs()));
        let spread =
            points_mm.iter().fold(1.0, |most: f64, [x, y, _]| most.max(x.abs()).max(y.abs()));
        let absolute_mm = case.setting("tolerance_absolute_mm").unwrap_or(ROUNDING * height);
        Self { relative, absolute_mm, ratio: absolute_mm / spread }
    }

    fn length_mm(&self, expected: Option<f64>) -> f64 {
        self.absolute_mm.max(self.relative * expected.unwrap_or_default().abs())
    }

    fn ratio(&self, expected: Option<f64>) -> f64 {
        self.ratio.max(self.relative * expected.unwrap_or_default().abs())
    }
}

#[cfg(test)]
mod tests {
    use crate::reference::{Tally, run};
    use std::path::Path;

    #[test]
    fn the_cases_of_the_repository_are_met() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference");
        let (mut out, mut notes) = (Vec::new(), Vec::new());
        let folders = [folder.join("floor"), folder.join("light")];
        let tally = run(&folders, &mut out, &mut notes).unwrap();
        let passed = (40 + 2 + 40 + 60 + 20) + (10 + 15 + 15 + 15);
        let out = String::from_utf8_lossy(&out);
        assert_eq!(tally, Tally { passed, failed: 0, skipped: 0 }, "{out}");
    }
}
