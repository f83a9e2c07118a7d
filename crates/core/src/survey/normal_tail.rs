//! Probabilities of the normal distribution, exact in their far tails too.
//!
//! # Source
//! M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 26.2.11 (series) near the middle
//! and 26.2.14 (continued fraction) in the tail.

use std::f64::consts::TAU;

/// From here on the continued fraction takes over from the series.
const TAIL_FROM: f64 = 2.5;
/// Enough terms of the continued fraction for all digits from [`TAIL_FROM`] on.
const FRACTION_TERMS: u32 = 400;

/// The probability that a standard normal variable exceeds `x`.
///
/// # Edge cases
/// 0 and 1 at the two infinities; NaN for NaN.
pub(super) fn upper_tail(x: f64) -> f64 {
    if x < 0.0 {
        1.0 - upper_tail(-x)
    } else if x < TAIL_FROM {
        0.5 - density(x) * series(x)
    } else if x.is_finite() {
        density(x) / fraction(x)
    } else if x.is_nan() {
        x
    } else {
        0.0
    }
}

fn density(x: f64) -> f64 {
    (-x * x / 2.0).exp() / TAU.sqrt()
}

/// The sum `x + x^3 / 3 + x^5 / (3 5) + ...`, all terms that count.
fn series(x: f64) -> f64 {
    let (mut sum, mut term, mut odd) = (0.0, x, 1.0);
    while term > f64::EPSILON * sum {
        sum += term;
        odd += 2.0;
        term *= x * x / odd;
    }
    sum
}

/// The fraction `x + 1 / (x + 2 / (x + 3 / (x + ...)))`.
fn fraction(x: f64) -> f64 {
    (1..=FRACTION_TERMS).rev().fold(x, |below, term| x + f64::from(term) / below)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    // The percentage points of the tables, turned around (M. Abramowitz, I. Stegun, Handbook of
    // Mathematical Functions, table 26.5), and tails computed with another implementation (erfc of
    // a C library).
    #[case::middle(0.0, 0.5)]
    #[case::ninety(1.281_551_565_544_600_4, 0.1)]
    #[case::ninety_five(1.644_853_626_951_472_2, 0.05)]
    #[case::before_the_fraction(2.499_999, 0.006_209_682_854_098_547)]
    #[case::three_nines(3.090_232_306_167_813_7, 0.001)]
    #[case::far(6.0, 9.865_876_450_376_98e-10)]
    #[case::farther(20.0, 2.753_624_118_606_233_7e-89)]
    #[case::below(-1.0, 0.841_344_746_068_542_9)]
    fn tails_are_those_of_the_tables(#[case] x: f64, #[case] expected: f64) {
        let found = upper_tail(x);
        assert!((found - expected).abs() <= 1e-12 * expected, "{found:e}");
    }
}
