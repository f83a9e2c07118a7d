//! Slopes of four wheels and their resultant: JCGM 100:2008 to first order, JCGM 101:2008 by trials.

use super::{Case, Comparison, Kind, Mismatch};
use baywright_core::survey::{ConformanceProbability, Decision, LevelPlane, SlopeDistribution};
use serde::Deserialize;

/// `heights_mm` of four wheels with slopes, uncertainties and trials.
pub(super) const FOUR_WHEELS: Kind = Kind {
    name: "slopes of four wheels",
    recognises: |case| case.has(&["wheelbase_mm", "track_mm", "heights_mm", "slope_along"]),
    check: check_wheels,
};

/// `sx` and `sy` with their uncertainties, and the same on a level floor (`trap`).
pub(super) const RESULTANT: Kind = Kind {
    name: "resultant slope",
    recognises: |case| case.has(&["sx", "sy", "u_x", "u_y", "s", "u"]),
    check: check_resultant,
};

/// A slope with its uncertainties and the chance that it keeps its limit.
pub(super) const WITHIN: Kind = Kind {
    name: "chance that a slope keeps its limit",
    recognises: |case| case.has(&["slope_x", "slope_y", "slope_max_deg", "probability_within"]),
    check: check_within,
};

/// The share of a value by which a result may be off where a file states none.
const TOLERANCE_RELATIVE: f64 = 1e-9;
/// The share by which two sets of trials may differ: the larger of theirs and ours (400,000 trials
/// here and there; ours are fewer, but drawn in layers).
const TRIALS_RELATIVE: f64 = 5e-3;

#[derive(Deserialize)]
struct Wheels {
    wheelbase_mm: f64,
    track_mm: f64,
    heights_mm: Heights,
    u_height_mm: f64,
    slope_along: f64,
    slope_across: f64,
    u_along: f64,
    u_across: f64,
    twist_residual_mm: f64,
    along_deg: f64,
    across_deg: f64,
    u_along_deg: f64,
    u_across_deg: f64,
    resultant_deg: f64,
    u_resultant_deg: f64,
    monte_carlo_400000: Option<Trials>,
}

#[derive(Deserialize)]
#[serde(rename_all = "UPPERCASE")]
struct Heights {
    fl: f64,
    fr: f64,
    rl: f64,
    rr: f64,
}

#[derive(Deserialize)]
struct Trials {
    u_resultant_deg: f64,
}

fn check_wheels(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Wheels = case.read()?;
    let (length, half) = (stated.wheelbase_mm, stated.track_mm / 2.0);
    let Heights { fl, fr, rl, rr } = stated.heights_mm;
    let wheels = [[0.0, half, fl], [0.0, -half, fr], [-length, half, rl], [-length, -half, rr]];
    let plane = LevelPlane::fit(&wheels)
        .map_err(|no_plane| Mismatch::new("a plane", no_plane.to_string()))?;
    let u_mm = stated.u_height_mm;
    let slopes = plane.slope_distribution(u_mm, 0.0);
    let degrees = |u: f64| (u / (1.0 + slopes.steepest().powi(2))).to_degrees();
    let first_order = degrees(slopes.first_order_u().unwrap_or(f64::NAN));
    let mut comparison = Comparison::new();
    let share = case.setting("tolerance_relative").unwrap_or(TOLERANCE_RELATIVE);
    let mut number = |name: &str, expected: f64, got: f64| {
        comparison.number(name, Some(expected), got, share * expected.abs());
    };
    number("slope_along", stated.slope_along, plane.slope_x());
    number("slope_across", stated.slope_across, plane.slope_y());
    number("u_along", stated.u_along, plane.slope_x_uncertainty(u_mm));
    number("u_across", stated.u_across, plane.slope_y_uncertainty(u_mm));
    number("twist_residual_mm", stated.twist_residual_mm, plane.largest_residual_mm());
    number("along_deg", stated.along_deg, plane.slope_x_deg());
    number("across_deg", stated.across_deg, plane.slope_y_deg());
    number("u_along_deg", stated.u_along_deg, plane.slope_x_uncertainty_deg(u_mm));
    number("u_across_deg", stated.u_across_deg, plane.slope_y_uncertainty_deg(u_mm));
    number("resultant_deg", stated.resultant_deg, plane.steepest_deg());
    number("u_resultant_deg", stated.u_resultant_deg, first_order);
    if let Some(trials) = stated.monte_carlo_400000 {
        let (_, u, _) = slopes.trials(0.95);
        let expected = trials.u_resultant_deg;
        let allowed = TRIALS_RELATIVE * expected;
        comparison.number("u_resultant_deg by trials", Some(expected), degrees(u), allowed);
    }
    comparison.finish()
}

#[derive(Deserialize)]
struct Resultant {
    sx: f64,
    sy: f64,
    u_x: f64,
    u_y: f64,
    s: f64,
    u: f64,
    monte_carlo_u: Option<f64>,
    trap: Option<Level>,
}

#[derive(Deserialize)]
struct Level {
    mean: f64,
    p95: f64,
}

fn check_resultant(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Resultant = case.read()?;
    let slopes = |x: f64, y: f64| SlopeDistribution {
        x,
        y,
        variance_x: stated.u_x.powi(2),
        variance_y: stated.u_y.powi(2),
        covariance: 0.0,
    };
    let found = slopes(stated.sx, stated.sy);
    let mut comparison = Comparison::new();
    let mut number = |name: &str, expected: Option<f64>, got: f64, share: f64| {
        comparison.number(name, expected, got, share * expected.unwrap_or_default());
    };
    let share = case.setting("tolerance_relative").unwrap_or(TOLERANCE_RELATIVE);
    number("s", Some(stated.s), found.steepest(), share);
    number("u", Some(stated.u), found.first_order_u().unwrap_or(f64::NAN), share);
    number("monte_carlo_u", stated.monte_carlo_u, found.trials(0.95).1, TRIALS_RELATIVE);
    if let Some(level) = stated.trap {
        // Both components of 3e-4 on a floor that is measured as exactly level.
        let u = 3e-4;
        let flat = SlopeDistribution { variance_x: u * u, variance_y: u * u, ..slopes(0.0, 0.0) };
        let (mean, _, most) = flat.trials(0.95);
        number("mean on a level floor", Some(level.mean), mean, TRIALS_RELATIVE);
        number("95 % on a level floor", Some(level.p95), most, TRIALS_RELATIVE);
    }
    comparison.finish()
}

#[derive(Deserialize)]
struct Chance {
    slope_x: f64,
    slope_y: f64,
    u_slope_x: f64,
    u_slope_y: f64,
    correlation: f64,
    slope_max_deg: f64,
    probability_within: f64,
}

/// How far the chance found by trials may be off where a file states nothing.
const TOLERANCE_PROBABILITY: f64 = 2e-3;

/// It must conform when a little less than the stated chance is asked for, and not for a little more.
fn check_within(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Chance = case.read()?;
    let slopes = SlopeDistribution {
        x: stated.slope_x,
        y: stated.slope_y,
        variance_x: stated.u_slope_x.powi(2),
        variance_y: stated.u_slope_y.powi(2),
        covariance: stated.correlation * stated.u_slope_x * stated.u_slope_y,
    };
    let off = case.setting("tolerance_probability").unwrap_or(TOLERANCE_PROBABILITY);
    for (asked, conforms) in
        [(stated.probability_within - off, true), (stated.probability_within + off, false)]
    {
        // What is not a probability that can be asked for says nothing.
        let Ok(sure) = ConformanceProbability::new(asked) else { continue };
        let found = slopes.decide(stated.slope_max_deg, sure) == Decision::Conforms;
        Mismatch::unless_equal(&format!("conforms for {asked}"), &conforms, &found)?;
    }
    Ok(())
}
