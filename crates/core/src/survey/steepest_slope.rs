//! Whether the steepest slope of a plane keeps its limit, on an almost level floor too.
//!
//! Both components of a slope are uncertain, and their resultant is never negative: on a level
//! floor it is measured too steep on average, and first-order propagation divides by zero. So the
//! chance that the slope keeps its limit is found by propagating the distribution itself, in trials
//! from a fixed seed. In each trial the true slope is the measured one plus an error; the largest
//! factor by which that error may grow before the limit is passed is found in closed form, and with
//! it the uncertainty that would decide.
//!
//! # Source
//! JCGM 101:2008 (propagation of distributions by trials); JCGM 106:2012, clause 8 (guarded
//! acceptance by conformance probability). Rejection: JCGM 100 first order, enlarged by the unseen
//! component, see [`SlopeDistribution::rejection_guard`].

use super::{CONFORMANCE_PROBABILITY_DEFAULT, ConformanceProbability, Decision};
use std::f64::consts::TAU;
use std::sync::LazyLock;

/// How many trials are made.
pub const SLOPE_TRIALS: u32 = 20_000;
/// The seed of the trials.
const SEED: u64 = 0x5eed_f100_0075;
/// Below this share of its uncertainty a slope has no direction.
const LEVEL_SHARE: f64 = 1e-6;
/// Halvings in search of the uncertainty that decides a rejection.
const HALVINGS: u32 = 60;

/// A measured slope with the covariance of its two components, as rise per length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlopeDistribution {
    /// Slope along x.
    pub x: f64,
    /// Slope along y.
    pub y: f64,
    /// Variance of the slope along x.
    pub variance_x: f64,
    /// Variance of the slope along y.
    pub variance_y: f64,
    /// Their covariance.
    pub covariance: f64,
}

/// The golden section: multiples of it fill a turn evenly, however many there are.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// Errors of unit variance in two directions, drawn in layers of radius and turned by the golden
/// section from one to the next, so that few trials suffice.
static TRIALS: LazyLock<Vec<[f64; 2]>> = LazyLock::new(|| {
    let mut state = SEED;
    let mut uniform = || {
        // SplitMix64: G. Steele, D. Lea, C. Flood, Fast splittable pseudorandom number generators,
        // OOPSLA 2014.
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        let bits = u32::try_from((mixed ^ (mixed >> 31)) >> 32).unwrap_or(0);
        (f64::from(bits) + 0.5) / 4_294_967_296.0
    };
    let trial = |at: u32| {
        // The radius of a normal error in two directions: Rayleigh.
        let share = (f64::from(at) + uniform()) / f64::from(SLOPE_TRIALS);
        let radius = (-2.0 * (1.0 - share).ln()).sqrt();
        let turns = f64::from(at) * GOLDEN + uniform() / f64::from(SLOPE_TRIALS);
        let (sin, cos) = (TAU * turns).sin_cos();
        [radius * cos, radius * sin]
    };
    (0..SLOPE_TRIALS).map(trial).collect()
});

impl SlopeDistribution {
    /// The measured steepest slope, rise per length.
    pub fn steepest(&self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Standard uncertainty in the least certain direction: the root of the larger eigenvalue.
    pub fn largest_u(&self) -> f64 {
        let middle = f64::midpoint(self.variance_x, self.variance_y);
        let half_difference = (self.variance_x - self.variance_y) / 2.0;
        (middle + half_difference.hypot(self.covariance)).sqrt()
    }

    /// Standard uncertainty to first order, in the steepest direction (JCGM 100); none on a floor
    /// that is exactly level, where there is no such direction.
    pub fn first_order_u(&self) -> Option<f64> {
        let s = self.steepest();
        (s > 0.0).then(|| self.u_along(self.x / s, self.y / s))
    }

    fn u_along(&self, cos: f64, sin: f64) -> f64 {
        let variance = cos * cos * self.variance_x
            + sin * sin * self.variance_y
            + 2.0 * cos * sin * self.covariance;
        variance.max(0.0).sqrt()
    }

    /// Decides whether the steepest slope is at most `limit_deg`.
    ///
    /// # Edge cases
    /// The uncertainty that decides is one of the least certain direction, in degrees. A limit of
    /// zero or below is kept by no uncertain slope. What is no number is undecided.
    pub fn decide(&self, limit_deg: f64, probability: ConformanceProbability) -> Decision {
        let limit = limit_deg.to_radians().tan();
        let (s, u) = (self.steepest(), self.largest_u());
        if !(s.is_finite() && u.is_finite() && limit.is_finite()) {
            return Decision::Undecided { largest_u_that_decides: 0.0 };
        }
        if s <= limit {
            let factor = self.factor_that_conforms(limit, probability);
            if factor >= 1.0 {
                return Decision::Conforms;
            }
            return Decision::Undecided {
                largest_u_that_decides: (factor * u).atan().to_degrees(),
            };
        }
        if s - self.rejection_guard(u, probability) > limit {
            return Decision::DoesNotConform;
        }
        let (mut decides, mut too_large) = (0.0, u);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(decides, too_large);
            if s - self.rejection_guard(middle, probability) > limit {
                decides = middle;
            } else {
                too_large = middle;
            }
        }
        Decision::Undecided { largest_u_that_decides: decides.atan().to_degrees() }
    }

    /// How far beyond its limit a slope of uncertainty `u` must lie to be refused.
    ///
    /// It is k u, enlarged by the share of a second, unseen component across the steepest direction:
    /// `hypot(s, u) - s`, in proportion to k over its value at 95 %.
    pub fn rejection_guard(&self, u: f64, probability: ConformanceProbability) -> f64 {
        let factor = probability.guard_factor();
        let usual = super::normal_quantile::normal_quantile(CONFORMANCE_PROBABILITY_DEFAULT);
        let s = self.steepest();
        factor * u + (s.hypot(u) - s) * factor / usual
    }

    /// The factor by which every error may grow so that the slope still conforms; at least 1 when it
    /// conforms as it is.
    fn factor_that_conforms(&self, limit: f64, probability: ConformanceProbability) -> f64 {
        let (s, room) = (self.steepest(), limit - self.steepest());
        let u = self.largest_u();
        if u <= 0.0 {
            return f64::INFINITY;
        }
        let refused = 1.0 - probability.probability();
        // Whatever its direction, an error is rarely longer than this (Rayleigh).
        let certain = room / (u * (-2.0 * refused.ln()).sqrt());
        if certain >= 1.0 {
            return certain;
        }
        let [along, mixed, across] = self.triangular();
        let mut factors: Vec<f64> = TRIALS
            .iter()
            .map(|[one, two]| factor_to_limit(s, limit, along * one, mixed * one + across * two))
            .collect();
        let at = index_of_share(refused, factors.len());
        let (_, factor, _) = factors.select_nth_unstable_by(at, f64::total_cmp);
        *factor
    }

    /// The errors along and across the steepest direction as sums of two independent ones:
    /// along = a one, across = b one + c two.
    fn triangular(&self) -> [f64; 3] {
        let s = self.steepest();
        let (cos, sin) = if s > LEVEL_SHARE * self.largest_u() {
            (self.x / s, self.y / s)
        } else {
            self.least_certain_direction()
        };
        let along = self.u_along(cos, sin);
        let across = self.u_along(-sin, cos);
        let covariance = cos * sin * (self.variance_y - self.variance_x)
            + (cos * cos - sin * sin) * self.covariance;
        let mixed = if along > 0.0 { covariance / along } else { 0.0 };
        [along, mixed, (across * across - mixed * mixed).max(0.0).sqrt()]
    }

    fn least_certain_direction(&self) -> (f64, f64) {
        let twice = (2.0 * self.covariance).atan2(self.variance_x - self.variance_y);
        let (sin, cos) = (twice / 2.0).sin_cos();
        (cos, sin)
    }

    /// Mean, standard deviation and the value that a share of trials stays below, of the steepest
    /// slope itself, rise per length.
    pub fn trials(&self, share: f64) -> (f64, f64, f64) {
        let s = self.steepest();
        let [along, mixed, across] = self.triangular();
        let mut slopes: Vec<f64> = TRIALS
            .iter()
            .map(|[one, two]| (s + along * one).hypot(mixed * one + across * two))
            .collect();
        let count = f64::from(SLOPE_TRIALS);
        let mean = slopes.iter().sum::<f64>() / count;
        let squares: f64 = slopes.iter().map(|slope| (slope - mean).powi(2)).sum();
        let at = index_of_share(share, slopes.len());
        let (_, quantile, _) = slopes.select_nth_unstable_by(at, f64::total_cmp);
        (mean, (squares / (count - 1.0)).sqrt(), *quantile)
    }
}

/// The factor f at which (s + f along, f across) reaches the length `limit`; s is at most `limit`.
fn factor_to_limit(s: f64, limit: f64, along: f64, across: f64) -> f64 {
    let (a, b, c) = (along * along + across * across, s * along, (limit - s) * (limit + s));
    if a <= 0.0 {
        return f64::INFINITY;
    }
    // The positive root of a f^2 + 2 b f - c = 0, without cancellation.
    let root = (b * b + a * c.max(0.0)).sqrt();
    if b > 0.0 { c.max(0.0) / (b + root) } else { (root - b) / a }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a share of a small count"
)]
fn index_of_share(share: f64, count: usize) -> usize {
    let last = count.saturating_sub(1);
    ((share.clamp(0.0, 1.0) * count as f64) as usize).min(last)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn slope(x: f64, y: f64, u_x: f64, u_y: f64) -> SlopeDistribution {
        let (variance_x, variance_y) = (u_x * u_x, u_y * u_y);
        SlopeDistribution { x, y, variance_x, variance_y, covariance: 0.0 }
    }

    fn usual() -> ConformanceProbability {
        ConformanceProbability::default()
    }

    #[test]
    fn trials_on_a_level_floor_show_the_resultant_that_first_order_propagation_denies() {
        // Two components of u each: Rayleigh, mean u sqrt(pi / 2), 95 % below u sqrt(-2 ln 0.05).
        let u = 3e-4;
        let level = slope(0.0, 0.0, u, u);
        assert_eq!(level.first_order_u(), None);
        let (mean, _, most) = level.trials(0.95);
        assert!((mean - 3.759_942e-4).abs() < 1e-8, "{mean}");
        assert!((most - 7.343_24e-4).abs() < 1e-7, "{most}");
    }

    #[test]
    fn trials_on_a_clear_slope_meet_first_order_propagation() {
        // u(s) = sqrt((sx ux)^2 + (sy uy)^2) / s = 3.394e-4 (JCGM 100); 4 million trials of another
        // program: 3.3885e-4.
        let clear = slope(0.004, 0.003, 3e-4, 4e-4);
        assert!((clear.first_order_u().unwrap() - 3.394_112_549_695_428e-4).abs() < 1e-15);
        let (_, u, _) = clear.trials(0.95);
        assert!((u - 3.3885e-4).abs() < 3e-7, "{u}");
    }

    #[test]
    fn a_level_floor_conforms_only_when_the_resultant_stays_below_its_limit() {
        let limit_deg = 0.3_f64;
        let decide = |u: f64| slope(0.0, 0.0, u, u).decide(limit_deg, usual());
        // The limit over sqrt(-2 ln 0.05) = 2.4477; first order with k = 1.645 would allow more.
        let most = limit_deg.to_radians().tan() / 2.4477;
        assert_eq!(decide(0.995 * most), Decision::Conforms);
        let Decision::Undecided { largest_u_that_decides } = decide(1.2 * most) else {
            panic!("undecided");
        };
        assert!((largest_u_that_decides - most.to_degrees()).abs() < 2e-4 * limit_deg);
        assert!(matches!(decide(40.0 * most), Decision::Undecided { .. }));
    }

    #[test]
    fn a_limit_of_zero_is_kept_by_no_uncertain_slope() {
        let found = slope(0.0, 0.0, 1e-4, 1e-4).decide(0.0, usual());
        assert_eq!(found, Decision::Undecided { largest_u_that_decides: 0.0 });
        assert_eq!(slope(0.01, 0.0, 1e-4, 1e-4).decide(0.0, usual()), Decision::DoesNotConform);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn worse_uncertainty_never_reverses_a_verdict(
            x in -0.01..0.01_f64, y in -0.01..0.01_f64, u_x in 1e-6..0.01_f64, u_y in 1e-6..0.01_f64,
            tilt in -0.9..0.9_f64, worse in 1.0..20.0_f64, limit_deg in 0.05..0.5_f64,
            probability in 0.6..0.999_f64,
        ) {
            let better = SlopeDistribution {
                x, y, variance_x: u_x * u_x, variance_y: u_y * u_y, covariance: tilt * u_x * u_y,
            };
            let grown = SlopeDistribution {
                variance_x: better.variance_x * worse, variance_y: better.variance_y * worse,
                covariance: better.covariance * worse, ..better
            };
            let probability = ConformanceProbability::new(probability).unwrap();
            let (a, b) = (better.decide(limit_deg, probability), grown.decide(limit_deg, probability));
            prop_assert!(matches!(b, Decision::Undecided { .. }) || a == b, "{a:?} became {b:?}");
        }

        #[test]
        fn the_uncertainty_named_does_decide(
            x in -0.006..0.006_f64, y in -0.006..0.006_f64, u in 1e-4..0.01_f64, ratio in 0.2..1.0_f64,
        ) {
            let found = slope(x, y, u, ratio * u);
            if let Decision::Undecided { largest_u_that_decides } = found.decide(0.3, usual()) {
                let share = largest_u_that_decides.to_radians().tan() / u * 0.9999;
                let again = slope(x, y, share * u, share * ratio * u).decide(0.3, usual());
                prop_assert!(!matches!(again, Decision::Undecided { .. }), "{again:?}");
            }
        }
    }
}
