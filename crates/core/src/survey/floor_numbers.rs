//! Flatness and levelness numbers of a floor profile, for talking to whoever mends the floor.
//!
//! Elevations every 12 inches along a line; FF from the curvature over 24 inches, FL from the rise
//! over 10 feet. They say little about the few metres under a vehicle and prove no levelness for a
//! calibration.
//!
//! # Source
//! ASTM E1155: elevations every 12 in, curvature and rise; the constants 4.57 and 12.5 and the rule
//! for combining samples are from memory. Deviations are those of a sample (n - 1).

/// Readings between which the rise is taken: 10 feet in steps of 12 inches.
const RISE_STEPS: usize = 10;

/// Mean and deviation of one kind of figure along a profile, and the number made of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FloorNumber {
    /// How many figures there are.
    pub count: usize,
    /// Their mean, inches.
    pub mean_in: f64,
    /// Their deviation, inches.
    pub deviation_in: f64,
    /// The number, the larger the better; none for a perfect profile, which has no number.
    pub number: Option<f64>,
}

/// Both numbers of a profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FloorNumbers {
    /// FF, of the curvature.
    pub flatness: FloorNumber,
    /// FL, of the rise over 10 feet; none for a profile of fewer than 12 readings.
    pub levelness: Option<FloorNumber>,
}

impl FloorNumbers {
    /// The numbers of elevations in inches, 12 inches apart; none for fewer than four.
    pub fn of_profile(heights_in: &[f64]) -> Option<Self> {
        let curvatures: Vec<_> =
            heights_in.windows(3).map(|run| run[2] - 2.0 * run[1] + run[0]).collect();
        let rises: Vec<_> =
            heights_in.windows(RISE_STEPS + 1).map(|run| run[RISE_STEPS] - run[0]).collect();
        Some(Self {
            flatness: FloorNumber::of(&curvatures, 4.57)?,
            levelness: FloorNumber::of(&rises, 12.5),
        })
    }
}

impl FloorNumber {
    fn of(figures: &[f64], constant: f64) -> Option<Self> {
        if figures.len() < 2 || !figures.iter().all(|figure| figure.is_finite()) {
            return None;
        }
        let count = as_float(figures.len());
        let mean_in = figures.iter().sum::<f64>() / count;
        let squares: f64 = figures.iter().map(|figure| (figure - mean_in).powi(2)).sum();
        let deviation_in = (squares / (count - 1.0)).sqrt();
        let unevenness = 3.0 * deviation_in + mean_in.abs();
        let number = (unevenness > 0.0).then(|| constant / unevenness);
        Some(Self { count: figures.len(), mean_in, deviation_in, number })
    }

    /// The number of two samples together; none when one of them has none.
    pub fn combined(&self, other: &Self) -> Option<f64> {
        let (a, b) = (self.number?, other.number?);
        let (of_a, of_b) = (as_float(self.count), as_float(other.count));
        Some(a * b * ((of_a + of_b) / (of_b * a * a + of_a * b * b)).sqrt())
    }
}

#[expect(clippy::cast_precision_loss, reason = "far fewer readings than 2^52")]
fn as_float(count: usize) -> f64 {
    count as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_even_tilt_has_a_levelness_and_no_flatness_number() {
        // 0.3 degrees rise 0.6283 in over 10 ft: FL = 12.5 / 0.6283 = 19.89 (constant from memory).
        let step = 12.0 * 0.3_f64.to_radians().tan();
        let profile: Vec<_> = (0..20_u32).map(|at| f64::from(at) * step).collect();
        let numbers = FloorNumbers::of_profile(&profile).unwrap();
        let levelness = numbers.levelness.unwrap();
        assert!((levelness.number.unwrap() - 19.894).abs() < 1e-3, "{levelness:?}");
        assert!(numbers.flatness.number.is_none_or(|number| number > 1e6));
    }

    #[test]
    fn a_short_profile_has_no_levelness_and_a_perfect_one_no_number() {
        let numbers = FloorNumbers::of_profile(&[0.0; 10]).unwrap();
        assert_eq!((numbers.flatness.number, numbers.levelness), (None, None));
        assert_eq!(FloorNumbers::of_profile(&[0.0, 1.0, 2.0]), None);
    }
}
