//! Angles of the sky as types of their own, so that an azimuth never stands in for an elevation.
//!
//! Degrees at the boundary, radians inside.

use crate::fault::{FaultList, Faults};
use std::f64::consts::TAU;
use std::fmt;

/// A direction on the ground, degrees clockwise from true north, in `0..360`.
///
/// The bearing of a floor is one too: from true north to floor +y.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Azimuth(f64);

impl Azimuth {
    /// Takes a direction from -360 to 360 degrees and brings it into `0..360`.
    ///
    /// # Errors
    /// A fault of `azimuth_deg` when it is no number within these limits.
    pub fn from_degrees(azimuth_deg: f64) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        faults.number_within("azimuth_deg", azimuth_deg, -360.0, 360.0, "degrees from true north");
        faults.finish(Self::whole_turn(azimuth_deg))
    }

    /// The same direction in `0..360` degrees; a tiny negative number would round up to 360.
    pub(super) fn whole_turn(azimuth_deg: f64) -> Self {
        let turned = azimuth_deg.rem_euclid(360.0);
        Self(if turned >= 360.0 || turned == 0.0 { 0.0 } else { turned })
    }

    /// Degrees clockwise from true north.
    pub fn degrees(self) -> f64 {
        self.0
    }

    /// Radians clockwise from true north.
    pub(super) fn radians(self) -> f64 {
        self.0.to_radians()
    }
}

impl fmt::Display for Azimuth {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2} degrees from true north", self.0)
    }
}

/// An angle above the horizontal, degrees, in `-90..=90`; negative below it.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Elevation(f64);

impl Elevation {
    /// The true elevation of the sun's centre at which the day begins and ends by the usual
    /// definition: 34 minutes of arc of refraction and 16 of the sun's half-width below the
    /// horizontal.
    ///
    /// # Source
    /// I. Reda, A. Andreas, NREL/TP-560-34302 (rev. 2008), section A.2: -0.8333 degrees.
    pub const SUNRISE: Self = Self(-50.0 / 60.0);

    /// Takes an angle.
    ///
    /// # Errors
    /// A fault of `elevation_deg` when it is no number from -90 to 90.
    pub fn from_degrees(elevation_deg: f64) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        faults.number_within("elevation_deg", elevation_deg, -90.0, 90.0, "degrees");
        faults.finish(Self(elevation_deg))
    }

    /// Takes an angle that was computed; rounding beyond a right angle is cut off.
    pub(super) fn computed(elevation_deg: f64) -> Self {
        Self(elevation_deg.clamp(-90.0, 90.0))
    }

    /// Degrees above the horizontal.
    pub fn degrees(self) -> f64 {
        self.0
    }

    /// Radians above the horizontal.
    pub(super) fn radians(self) -> f64 {
        self.0.to_radians()
    }
}

impl fmt::Display for Elevation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2} degrees above the horizontal", self.0)
    }
}

/// The angle from `from` to `to`, radians, the short way round: from -pi to pi.
pub(super) fn turn_between(from: f64, to: f64) -> f64 {
    let turned = (to - from).rem_euclid(TAU);
    if turned > TAU / 2.0 { turned - TAU } else { turned }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case::north(0.0, 0.0)]
    #[case::a_whole_turn(360.0, 0.0)]
    #[case::to_the_left(-90.0, 270.0)]
    #[case::a_hair_left_of_north(-1e-20, 0.0)]
    fn an_azimuth_is_brought_into_one_turn(#[case] given: f64, #[case] degrees: f64) {
        let azimuth = Azimuth::from_degrees(given).unwrap();
        assert!((azimuth.degrees() - degrees).abs() < 1e-12);
    }

    #[rstest]
    #[case::no_number(f64::NAN)]
    #[case::endless(f64::INFINITY)]
    #[case::too_far(361.0)]
    fn what_is_no_angle_is_refused(#[case] given: f64) {
        assert_eq!(Azimuth::from_degrees(given).unwrap_err().list()[0].field, "azimuth_deg");
        assert_eq!(Elevation::from_degrees(given).unwrap_err().list()[0].field, "elevation_deg");
    }
}
