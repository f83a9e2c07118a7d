//! Flatness and levelness numbers of a floor profile: ASTM E1155, constants from memory.

use super::{Case, Comparison, Kind, Mismatch};
use baywright_core::survey::{FloorNumber, FloorNumbers};
use serde::Deserialize;
use serde_json::Value;

/// `heights_in` with `FF` and `FL`.
pub(super) const PROFILE: Kind = Kind {
    name: "floor numbers of a profile",
    recognises: |case| case.has(&["heights_in", "FF"]),
    check: check_profile,
};

/// `tilt_deg` of a plane floor, its rise over 10 feet and `FL`.
pub(super) const TILT: Kind = Kind {
    name: "floor number of a tilt",
    recognises: |case| case.has(&["tilt_deg", "rise_in_over_10_ft", "FL"]),
    check: check_tilt,
};

/// The share of a value by which a result may be off where a file states none.
const TOLERANCE_RELATIVE: f64 = 1e-9;
/// Inches between two readings.
const STEP_IN: f64 = 12.0;

#[derive(Deserialize)]
struct Profile {
    heights_in: Vec<f64>,
    n_q: Option<usize>,
    mean_q_in: Option<f64>,
    s_q_in: Option<f64>,
    #[serde(rename = "FF")]
    flatness: Option<f64>,
    n_z: Option<usize>,
    mean_z_in: Option<f64>,
    s_z_in: Option<f64>,
    #[serde(rename = "FL")]
    levelness: Option<f64>,
}

fn numbers(heights_in: &[f64]) -> Result<FloorNumbers, Mismatch> {
    FloorNumbers::of_profile(heights_in)
        .ok_or_else(|| Mismatch::new("numbers of the profile", "none"))
}

fn check_profile(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Profile = case.read()?;
    let found = numbers(&stated.heights_in)?;
    let (q, z) = (found.flatness, found.levelness);
    Mismatch::unless_equal("n_q", &stated.n_q.unwrap_or(q.count), &q.count)?;
    let count = z.map_or(0, |z| z.count);
    Mismatch::unless_equal("n_z", &stated.n_z.unwrap_or(count), &count)?;
    let share = case.setting("tolerance_relative").unwrap_or(TOLERANCE_RELATIVE);
    let mut comparison = Comparison::new();
    let mut number = |name: &str, expected: Option<f64>, got: Option<f64>| {
        let tolerance = share * expected.unwrap_or_default().abs();
        comparison.number(name, expected, got.unwrap_or(f64::NAN), tolerance);
    };
    number("mean_q_in", stated.mean_q_in, Some(q.mean_in));
    number("s_q_in", stated.s_q_in, Some(q.deviation_in));
    number("FF", stated.flatness, q.number);
    number("mean_z_in", stated.mean_z_in, z.map(|z| z.mean_in));
    number("s_z_in", stated.s_z_in, z.map(|z| z.deviation_in));
    number("FL", stated.levelness, z.and_then(|z| z.number));
    // What two profiles give together stands beside them.
    let both: Option<Vec<FloorNumbers>> =
        case.list_around("profiles").map(|list| list.iter().filter_map(read).collect());
    if let Some([one, two]) = both.as_deref() {
        let levelness = one.levelness.zip(two.levelness);
        number("combined_FF", case.setting("combined_FF"), one.flatness.combined(&two.flatness));
        let of_both = levelness.and_then(|(one, two)| FloorNumber::combined(&one, &two));
        number("combined_FL", case.setting("combined_FL"), of_both);
    }
    comparison.finish()
}

fn read(profile: &Value) -> Option<FloorNumbers> {
    let heights: Option<Vec<f64>> =
        profile.get("heights_in")?.as_array()?.iter().map(Value::as_f64).collect();
    FloorNumbers::of_profile(&heights?)
}

#[derive(Deserialize)]
struct PlaneRun {
    tilt_deg: f64,
    rise_in_over_10_ft: f64,
    #[serde(rename = "FL")]
    levelness: f64,
}

fn check_tilt(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: PlaneRun = case.read()?;
    let step = STEP_IN * stated.tilt_deg.to_radians().tan();
    let profile: Vec<f64> = (0..40_u32).map(|at| f64::from(at) * step).collect();
    let levelness = numbers(&profile)?.levelness;
    let share = case.setting("tolerance_relative").unwrap_or(TOLERANCE_RELATIVE);
    let mut comparison = Comparison::new();
    let mut number = |name: &str, expected: f64, got: Option<f64>| {
        comparison.number(name, Some(expected), got.unwrap_or(f64::NAN), share * expected);
    };
    number("rise_in_over_10_ft", stated.rise_in_over_10_ft, levelness.map(|z| z.mean_in));
    number("FL", stated.levelness, levelness.and_then(|z| z.number));
    comparison.finish()
}
