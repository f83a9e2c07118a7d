//! The slope between two readings: JCGM 100:2008, 5.1.2 and 5.2.2 (clause numbers from memory).

use super::{Case, Comparison, Kind, Mismatch};
use baywright_core::survey::{Inclination, TwoReadings};
use serde::Deserialize;

/// `length_mm` and `height_difference_mm` with the slope and its uncertainty.
pub(super) const HEIGHT_DIFFERENCE: Kind = Kind {
    name: "inclination",
    recognises: |case| case.has(&["length_mm", "height_difference_mm", "u_reading_mm"]),
    check: check_difference,
};

/// `h1_mm` and `h2_mm` over `L_mm`, whose length is uncertain too.
pub(super) const TWO_HEIGHTS: Kind = Kind {
    name: "inclination between two heights",
    recognises: |case| case.has(&["h1_mm", "h2_mm", "L_mm", "u_h_mm"]),
    check: check_heights,
};

/// The share of a value by which a result may be off where a file states none.
const TOLERANCE_RELATIVE: f64 = 1e-9;

#[derive(Deserialize)]
struct Difference {
    length_mm: f64,
    height_difference_mm: f64,
    u_reading_mm: f64,
    #[serde(default)]
    correlation: f64,
    slope_mm_per_m: Option<f64>,
    slope_deg: Option<f64>,
    u_slope_mm_per_m: Option<f64>,
    u_slope_deg: Option<f64>,
}

#[derive(Deserialize)]
struct Heights {
    h1_mm: f64,
    h2_mm: f64,
    #[serde(rename = "L_mm")]
    length_mm: f64,
    u_h_mm: f64,
    #[serde(rename = "u_L_mm", default)]
    length_u_mm: f64,
    #[serde(default)]
    correlation: f64,
    slope: Option<f64>,
    u_slope: Option<f64>,
    slope_deg: Option<f64>,
    u_slope_deg: Option<f64>,
}

fn slope(readings: TwoReadings) -> Result<Inclination, Mismatch> {
    readings.inclination().ok_or_else(|| Mismatch::new("a slope", "none"))
}

fn check_difference(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Difference = case.read()?;
    let found = slope(TwoReadings {
        height_difference_mm: stated.height_difference_mm,
        length_mm: stated.length_mm,
        reading_u_mm: stated.u_reading_mm,
        correlation: stated.correlation,
        length_u_mm: 0.0,
    })?;
    compare(
        case,
        &[
            ("slope_mm_per_m", stated.slope_mm_per_m, 1_000.0 * found.slope),
            ("slope_deg", stated.slope_deg, found.slope_deg),
            ("u_slope_mm_per_m", stated.u_slope_mm_per_m, 1_000.0 * found.slope_u),
            ("u_slope_deg", stated.u_slope_deg, found.slope_u_deg),
        ],
    )
}

fn check_heights(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Heights = case.read()?;
    let found = slope(TwoReadings {
        height_difference_mm: stated.h2_mm - stated.h1_mm,
        length_mm: stated.length_mm,
        reading_u_mm: stated.u_h_mm,
        correlation: stated.correlation,
        length_u_mm: stated.length_u_mm,
    })?;
    compare(
        case,
        &[
            ("slope", stated.slope, found.slope),
            ("u_slope", stated.u_slope, found.slope_u),
            ("slope_deg", stated.slope_deg, found.slope_deg),
            ("u_slope_deg", stated.u_slope_deg, found.slope_u_deg),
        ],
    )
}

fn compare(case: &Case<'_>, figures: &[(&str, Option<f64>, f64)]) -> Result<(), Mismatch> {
    let share = case.setting("tolerance_relative").unwrap_or(TOLERANCE_RELATIVE);
    let mut comparison = Comparison::new();
    for (name, expected, got) in figures {
        comparison.number(name, *expected, *got, share * expected.unwrap_or_default().abs());
    }
    comparison.finish()
}
