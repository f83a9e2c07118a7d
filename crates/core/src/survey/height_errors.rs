//! The errors of a survey's heights and how they carry over to what is computed from them.
//!
//! One height errs by what is its own and by what it shares with all others. A shift that all share
//! (the datum, one set-up of the instrument) cancels in every slope; an instrument whose horizontal
//! is tilted shifts all heights in proportion to their distance and does not cancel at all.
//!
//! # Source
//! JCGM 100:2008, 5.1.2 (independent readings) and 5.2.2 (correlated ones); clause numbers from
//! memory.

use crate::fault::{FaultList, Faults};

/// What a survey states about the errors of its heights beside their standard uncertainty.
///
/// All of it is zero where nobody stated it: independent readings, an exact datum, a true
/// horizontal.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HeightErrorsDraft {
    /// Standard uncertainty of the datum, common to all heights, 0 to 100 mm.
    pub datum_uncertainty_mm: f64,
    /// Correlation between any two heights, 0 to 0.99: the share of the variance that they share.
    pub correlation: f64,
    /// Standard uncertainty of the instrument's horizontal in each direction, 0 to 50 mm per metre.
    pub tilt_uncertainty_mm_per_m: f64,
}

impl HeightErrorsDraft {
    pub(super) fn check(&self) -> Result<(), Faults> {
        let mut faults = FaultList::new();
        faults.number_within("datum_uncertainty_mm", self.datum_uncertainty_mm, 0.0, 100.0, "mm");
        faults.number_within("height_correlation", self.correlation, 0.0, 0.99, "");
        let tilt = self.tilt_uncertainty_mm_per_m;
        faults.number_within("tilt_uncertainty_mm_per_m", tilt, 0.0, 50.0, "mm per metre");
        faults.finish(())
    }
}

/// The errors of a survey's heights.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeightErrors {
    own_mm: f64,
    shared_mm: f64,
    tilt: f64,
}

/// One height in a sum: where it was measured, and how much it counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// Floor x, millimetres.
    pub x_mm: f64,
    /// Floor y, millimetres.
    pub y_mm: f64,
    /// Its factor.
    pub factor: f64,
    /// How many readings it is the mean of.
    pub readings: u32,
}

impl HeightErrors {
    /// Splits the standard uncertainty of one height into its own part and the shared one.
    pub fn new(height_uncertainty_mm: f64, stated: &HeightErrorsDraft) -> Self {
        let shared = height_uncertainty_mm * stated.correlation.sqrt();
        Self {
            own_mm: height_uncertainty_mm * (1.0 - stated.correlation).sqrt(),
            shared_mm: shared.hypot(stated.datum_uncertainty_mm),
            tilt: stated.tilt_uncertainty_mm_per_m / 1_000.0,
        }
    }

    /// The part of a height's standard uncertainty that is its own, millimetres.
    pub fn own_mm(&self) -> f64 {
        self.own_mm
    }

    /// Standard uncertainty of the horizontal in each direction, millimetres per millimetre.
    pub fn tilt(&self) -> f64 {
        self.tilt
    }

    /// Standard uncertainty of a sum of heights with factors, millimetres; distances for the tilt
    /// count from `origin`, which matters only where the factors do not add up to zero.
    pub fn of_sum(&self, terms: &[Term], origin: (f64, f64)) -> f64 {
        let sum = |of: &dyn Fn(&Term) -> f64| terms.iter().map(of).sum::<f64>();
        let own = self.own_mm.powi(2) * sum(&|one| one.factor.powi(2) / f64::from(one.readings));
        let shared = self.shared_mm * sum(&|one| one.factor);
        let along_x = self.tilt * sum(&|one| one.factor * (one.x_mm - origin.0));
        let along_y = self.tilt * sum(&|one| one.factor * (one.y_mm - origin.1));
        (own + shared.powi(2) + along_x.powi(2) + along_y.powi(2)).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn term(x_mm: f64, factor: f64) -> Term {
        Term { x_mm, y_mm: 0.0, factor, readings: 1 }
    }

    #[test]
    fn what_heights_share_cancels_in_a_difference_and_a_tilt_does_not() {
        let stated = HeightErrorsDraft {
            datum_uncertainty_mm: 3.0,
            correlation: 0.8,
            tilt_uncertainty_mm_per_m: 0.0,
        };
        let difference = [term(0.0, -1.0), term(3_000.0, 1.0)];
        let errors = HeightErrors::new(1.0, &stated);
        // sqrt(2 u^2 (1 - r)): JCGM 100, 5.2.2.
        let found = errors.of_sum(&difference, (0.0, 0.0));
        assert!((found - 0.4_f64.sqrt()).abs() < 1e-12, "{found}");
        // A single height has all of it: u^2 + datum^2.
        let one = errors.of_sum(&[term(0.0, 1.0)], (0.0, 0.0));
        assert!((one - 10.0_f64.sqrt()).abs() < 1e-12, "{one}");
        // A horizontal out by 0.1 mm per metre adds 0.3 mm over three metres.
        let tilted = HeightErrorsDraft { tilt_uncertainty_mm_per_m: 0.1, ..stated };
        let found = HeightErrors::new(1.0, &tilted).of_sum(&difference, (7.0, 7.0));
        assert!((found - (0.4_f64 + 0.09).sqrt()).abs() < 1e-12, "{found}");
    }
}
