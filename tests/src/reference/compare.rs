//! Holding several numbers of one case against their expected values.

use super::Mismatch;

/// Numbers compared so far; the first that is off is kept.
#[derive(Debug, Default)]
pub struct Comparison(Option<Mismatch>);

impl Comparison {
    /// Nothing compared yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Compares `got` with `expected`, which may differ by `tolerance`. Nothing is expected of a
    /// number that the case does not state; what is not a number never agrees.
    pub fn number(&mut self, name: &str, expected: Option<f64>, got: f64, tolerance: f64) {
        let Some(expected) = expected else { return };
        let agrees = (got - expected).abs() <= tolerance;
        if !agrees && self.0.is_none() {
            let expected = format!("{name} {expected:e} within {tolerance:e}");
            self.0 = Some(Mismatch::new(expected, format!("{got:e}")));
        }
    }

    /// What was found.
    ///
    /// # Errors
    /// The first number that was off.
    pub fn finish(self) -> Result<(), Mismatch> {
        self.0.map_or(Ok(()), Err)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_beyond_its_tolerance_and_one_that_is_none_are_told() {
        for (expected, got, agrees) in [
            (Some(1.0), 1.05, true),
            (Some(1.0), 1.2, false),
            (Some(1.0), f64::NAN, false),
            (None, 1.2, true),
        ] {
            let mut comparison = Comparison::new();
            comparison.number("slope", expected, got, 0.1);
            assert_eq!(comparison.finish().is_ok(), agrees);
        }
    }
}
