//! Whether a measured value conforms to its limits, given its uncertainty.
//!
//! A guard band of k times the standard uncertainty counts against every verdict: a value conforms
//! when it keeps that far inside of each limit, does not conform when it lies that far beyond one,
//! and is undecided between. The factor k is the one-sided quantile of the stated conformance
//! probability.
//!
//! # Source
//! Decision rule: ISO 14253-1 (uncertainty counts against whoever states the verdict). Guarded
//! acceptance and rejection: JCGM 106:2012, clause 8. The default of 95 % is that of ISO 14253-1
//! since 2017, from memory.

use super::normal_quantile::normal_quantile;
use super::normal_tail::upper_tail;
use crate::fault::{FaultList, Faults};

/// The conformance probability that is used unless another is stated.
pub const CONFORMANCE_PROBABILITY_DEFAULT: f64 = 0.95;

/// How sure a verdict has to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConformanceProbability(f64);

impl ConformanceProbability {
    /// Checks and takes a probability.
    ///
    /// # Errors
    /// A fault unless it is a number from 0.5 to 0.9999.
    pub fn new(probability: f64) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        faults.number_within("conformance_probability", probability, 0.5, 0.9999, "");
        faults.finish(Self(probability))
    }

    /// The probability.
    pub fn probability(self) -> f64 {
        self.0
    }

    /// The guard band in standard uncertainties: 1.645 for 95 %.
    pub fn guard_factor(self) -> f64 {
        normal_quantile(self.0)
    }
}

impl Default for ConformanceProbability {
    fn default() -> Self {
        Self(CONFORMANCE_PROBABILITY_DEFAULT)
    }
}

/// The limits of a value; a missing one does not bind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The least value that conforms.
    pub lower: Option<f64>,
    /// The greatest value that conforms.
    pub upper: Option<f64>,
}

impl Limits {
    /// A value conforms from here on.
    pub fn at_least(lower: f64) -> Self {
        Self { lower: Some(lower), upper: None }
    }

    /// A value conforms up to here.
    pub fn at_most(upper: f64) -> Self {
        Self { lower: None, upper: Some(upper) }
    }

    /// The limit that is nearest to a value; the lower one of two equally near.
    pub fn nearest(&self, measured: f64) -> Option<f64> {
        match (self.lower, self.upper) {
            (Some(lower), Some(upper)) => {
                let lower_is_nearer = (measured - lower).abs() <= (upper - measured).abs();
                Some(if lower_is_nearer { lower } else { upper })
            }
            (lower, upper) => lower.or(upper),
        }
    }

    /// How far a value lies inside of the nearest limit; negative beyond it.
    pub fn margin(&self, measured: f64) -> f64 {
        if measured.is_nan() {
            // The smaller of NaN and a number would be the number.
            return f64::NAN;
        }
        let above = self.lower.map_or(f64::INFINITY, |lower| measured - lower);
        let below = self.upper.map_or(f64::INFINITY, |upper| upper - measured);
        above.min(below)
    }
}

/// The verdict on a measured value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Decision {
    /// Inside of every limit by the guard band or more.
    Conforms,
    /// Beyond a limit by more than the guard band.
    DoesNotConform,
    /// Nearer to a limit than the guard band.
    Undecided {
        /// The largest standard uncertainty with which this value would be decided.
        largest_u_that_decides: f64,
    },
}

/// Decides about a measured value of standard uncertainty `u`.
///
/// # Edge cases
/// NaN as value or uncertainty is undecided. Without a limit every value conforms.
pub fn decide(
    measured: f64,
    u: f64,
    limits: Limits,
    probability: ConformanceProbability,
) -> Decision {
    let factor = probability.guard_factor();
    let guard = factor * u;
    let margin = limits.margin(measured);
    if margin >= guard {
        Decision::Conforms
    } else if -margin > guard {
        Decision::DoesNotConform
    } else {
        let nearest =
            limits.nearest(measured).map_or(f64::INFINITY, |limit| (measured - limit).abs());
        let largest_u_that_decides = if factor > 0.0 { nearest / factor } else { f64::INFINITY };
        Decision::Undecided { largest_u_that_decides }
    }
}

/// Decides about the largest of several measured values of standard uncertainty `u`, such as
/// residuals of either sign, against its greatest allowed value.
///
/// The largest of many is measured too large more often than a single one. That costs an acceptance
/// nothing; a refusal takes the guard factor of all of them together (Bonferroni), so that their
/// noise alone does not refuse.
///
/// # Edge cases
/// NaN is undecided. One value of a known sign is decided by [`decide`].
pub fn decide_largest(
    measured: f64,
    u: f64,
    count: u32,
    limit: f64,
    probability: ConformanceProbability,
) -> Decision {
    let accept = probability.guard_factor();
    let each = (1.0 - probability.probability()) / (2.0 * f64::from(count.max(1)));
    let refuse = accept.max(normal_quantile(1.0 - each));
    if measured + accept * u <= limit {
        Decision::Conforms
    } else if measured - refuse * u > limit {
        Decision::DoesNotConform
    } else {
        let (room, factor) = (limit - measured, if measured <= limit { accept } else { refuse });
        let largest_u_that_decides = if factor > 0.0 { room.abs() / factor } else { f64::INFINITY };
        Decision::Undecided { largest_u_that_decides }
    }
}

/// The probability that the true value keeps its limits: normal around the measured value, without
/// knowledge from before.
///
/// # Source
/// JCGM 106:2012, clause 7 (conformance probability).
///
/// # Edge cases
/// Without uncertainty it is 0 or 1; NaN for a value or uncertainty that is no number.
pub fn conformance_probability(measured: f64, u: f64, limits: Limits) -> f64 {
    if measured.is_nan() || u.is_nan() {
        return f64::NAN;
    }
    if u <= 0.0 {
        return if limits.margin(measured) >= 0.0 { 1.0 } else { 0.0 };
    }
    let lower = limits.lower.map_or(f64::NEG_INFINITY, |lower| (lower - measured) / u);
    let upper = limits.upper.map_or(f64::INFINITY, |upper| (upper - measured) / u);
    if lower > 0.0 {
        upper_tail(lower) - upper_tail(upper)
    } else if upper < 0.0 {
        upper_tail(-upper) - upper_tail(-lower)
    } else {
        1.0 - upper_tail(-lower) - upper_tail(upper)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    #[rstest]
    // ISO 14253-1 with k = 1.645; a slope limit of 0.3 degrees, values in degrees.
    #[case::well_inside(0.20, 0.02, "conforms")]
    #[case::inside_by_less_than_the_guard(0.28, 0.02, "undecided")]
    #[case::beyond_by_less_than_the_guard(0.32, 0.02, "undecided")]
    #[case::well_beyond(0.40, 0.02, "does not")]
    #[case::on_the_limit_without_uncertainty(0.30, 0.0, "conforms")]
    #[case::no_number(f64::NAN, 0.02, "undecided")]
    fn uncertainty_counts_against_every_verdict(
        #[case] measured: f64,
        #[case] u: f64,
        #[case] expected: &str,
    ) {
        let decision = decide(measured, u, Limits::at_most(0.3), ConformanceProbability::default());
        let found = match decision {
            Decision::Conforms => "conforms",
            Decision::DoesNotConform => "does not",
            Decision::Undecided { .. } => "undecided",
        };
        assert_eq!(found, expected);
    }

    #[test]
    fn an_undecided_value_says_which_uncertainty_would_decide_it() {
        let limits = Limits { lower: Some(-0.3), upper: Some(0.3) };
        let decision = decide(0.33, 0.036, limits, ConformanceProbability::default());
        // 0.03 / 1.6448536
        let Decision::Undecided { largest_u_that_decides } = decision else {
            panic!("{decision:?}");
        };
        assert!((largest_u_that_decides - 0.018_238_705).abs() < 1e-9);
    }

    #[rstest]
    // JCGM 106:2012, clause 7, definition; values computed with another implementation of the normal
    // distribution (4 million trials of another program agree with the second to 2e-4).
    #[case::upper_limit_passed(5.5, 0.6, None, Some(5.0), 0.202_328_380_963_643_03)]
    #[case::between_two(5_400.0, 80.0, Some(4_500.0), Some(5_500.0), 0.894_350_226_333_144_6)]
    #[case::on_the_limit(0.3, 0.02, None, Some(0.3), 0.5)]
    #[case::no_uncertainty(0.3, 0.0, None, Some(0.3), 1.0)]
    fn the_conformance_probability_is_that_of_the_normal_distribution(
        #[case] measured: f64,
        #[case] u: f64,
        #[case] lower: Option<f64>,
        #[case] upper: Option<f64>,
        #[case] expected: f64,
    ) {
        let found = conformance_probability(measured, u, Limits { lower, upper });
        assert!((found - expected).abs() <= 1e-12 * expected, "{found}");
    }

    #[test]
    fn the_noise_of_many_points_alone_refuses_no_floor() {
        // A hundred residuals of u = 0.5 mm on a plane floor: the largest is near 2.5 u. Held
        // against a limit of 0.1 mm with k = 1.645 it would be refused; 3.48 u are asked (1 -
        // 0.05 / 200, normal quantile).
        let probability = ConformanceProbability::default();
        let largest = 2.5 * 0.5;
        assert_eq!(
            decide(largest, 0.5, Limits::at_most(0.1), probability),
            Decision::DoesNotConform
        );
        let found = decide_largest(largest, 0.5, 100, 0.1, probability);
        assert!(matches!(found, Decision::Undecided { .. }), "{found:?}");
        let refused = decide_largest(0.1 + 3.49 * 0.5, 0.5, 100, 0.1, probability);
        assert_eq!(refused, Decision::DoesNotConform);
        assert_eq!(decide_largest(0.1, 0.0, 100, 0.1, probability), Decision::Conforms);
    }

    #[test]
    fn a_speed_is_refused_from_the_rejection_limit_of_the_handbook() {
        // JCGM 106:2012, 8.3.3: limit 100 km/h, u = 2 % of the reading, 99.9 %: 107 km/h (printed,
        // rounded up; from memory), 100 / (1 - 0.02 k) = 106.588 computed.
        let probability = ConformanceProbability::new(0.999).unwrap();
        let at = |speed: f64| decide(speed, 0.02 * speed, Limits::at_most(100.0), probability);
        assert_eq!(at(106.588), Decision::DoesNotConform);
        assert!(matches!(at(106.587), Decision::Undecided { .. }));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(256))]

        #[test]
        fn worse_uncertainty_never_reverses_a_verdict(
            measured in -10.0..10.0_f64, u in 0.0..5.0_f64, more in 0.0..5.0_f64,
            lower in -8.0..0.0_f64, upper in 0.0..8.0_f64,
        ) {
            let limits = Limits { lower: Some(lower), upper: Some(upper) };
            let better = decide(measured, u, limits, ConformanceProbability::default());
            let worse = decide(measured, u + more, limits, ConformanceProbability::default());
            let undecided = matches!(worse, Decision::Undecided { .. });
            prop_assert!(undecided || better == worse, "{better:?} became {worse:?}");
        }

        #[test]
        fn worse_uncertainty_never_reverses_a_verdict_on_the_largest(
            measured in 0.0..10.0_f64, u in 0.0..5.0_f64, more in 0.0..5.0_f64, count in 1..500_u32,
        ) {
            let probability = ConformanceProbability::default();
            let better = decide_largest(measured, u, count, 5.0, probability);
            let worse = decide_largest(measured, u + more, count, 5.0, probability);
            let undecided = matches!(worse, Decision::Undecided { .. });
            prop_assert!(undecided || better == worse, "{better:?} became {worse:?}");
            if let Decision::Undecided { largest_u_that_decides } = better {
                let named = largest_u_that_decides * 0.999_999;
                let again = decide_largest(measured, named, count, 5.0, probability);
                prop_assert!(!matches!(again, Decision::Undecided { .. }), "{again:?}");
            }
        }

        #[test]
        fn the_uncertainty_named_does_decide(measured in 0.2..0.4_f64, u in 0.01..0.5_f64) {
            let limits = Limits::at_most(0.3);
            let probability = ConformanceProbability::default();
            let decision = decide(measured, u, limits, probability);
            if let Decision::Undecided { largest_u_that_decides } = decision {
                let again = decide(measured, largest_u_that_decides * 0.999_999, limits, probability);
                let decided = !matches!(again, Decision::Undecided { .. });
                prop_assert!(decided, "{again:?}");
            }
        }
    }
}
