//! The light in a zone: average, minimum and uniformity of the readings that belong to it.
//!
//! # Source
//! Uniformity is the smallest reading over the average: EN 12464-1. Uncertainties: JCGM 100:2008.

use super::{LightReading, Survey};
use crate::axes::PointFloor;
use crate::demand::LightPlane;
use crate::region::Polygon;
use std::f64::consts::SQRT_2;

/// A reading belongs to a height when it was taken this near to it, millimetres; our own choice.
pub const LIGHT_HEIGHT_TOLERANCE_MM: f64 = 100.0;

/// The light in a zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightField {
    count: usize,
    average_lux: f64,
    minimum_lux: f64,
}

/// The light that was read within a zone, in one plane, at one height (within
/// [`LIGHT_HEIGHT_TOLERANCE_MM`]); none when there is no such reading.
pub fn light_within(
    survey: &Survey,
    zone_floor: &Polygon,
    plane: LightPlane,
    height_mm: f64,
) -> Option<LightField> {
    let belongs = |reading: &LightReading| {
        reading.plane == plane
            && (reading.height_mm - height_mm).abs() <= LIGHT_HEIGHT_TOLERANCE_MM
            && zone_floor.contains(PointFloor { x_mm: reading.x_mm, y_mm: reading.y_mm })
    };
    let lux: Vec<_> =
        survey.light().iter().filter(|reading| belongs(reading)).map(|one| one.lux).collect();
    LightField::of(&lux)
}

impl LightField {
    /// The light that readings show, lux; none without a reading.
    pub fn of(readings_lux: &[f64]) -> Option<Self> {
        let count = readings_lux.len();
        if count == 0 {
            return None;
        }
        #[expect(clippy::cast_precision_loss, reason = "far fewer readings than 2^52")]
        let average_lux = readings_lux.iter().sum::<f64>() / count as f64;
        let minimum_lux = readings_lux.iter().copied().fold(f64::INFINITY, f64::min);
        Some(Self { count, average_lux, minimum_lux })
    }

    /// How many readings there are; at least one.
    pub fn count(&self) -> usize {
        self.count
    }

    /// The mean reading, lux.
    pub fn average_lux(&self) -> f64 {
        self.average_lux
    }

    /// The smallest reading, lux.
    pub fn minimum_lux(&self) -> f64 {
        self.minimum_lux
    }

    /// Smallest reading over the average, from 0 to 1; 1 in the dark, where all readings are 0.
    pub fn uniformity(&self) -> f64 {
        if self.average_lux > 0.0 { self.minimum_lux / self.average_lux } else { 1.0 }
    }

    /// Standard uncertainty of the average for readings of a relative uncertainty, lux.
    ///
    /// One meter took them all and its error is common to them, so the average is no surer than
    /// a reading.
    pub fn average_uncertainty_lux(&self, relative: f64) -> f64 {
        relative * self.average_lux
    }

    /// Standard uncertainty of the smallest reading, lux.
    pub fn minimum_uncertainty_lux(&self, relative: f64) -> f64 {
        relative * self.minimum_lux
    }

    /// Standard uncertainty of the uniformity: the one of a quotient of two independent values,
    /// which is an upper bound, because the meter's common error cancels.
    pub fn uniformity_uncertainty(&self, relative: f64) -> f64 {
        SQRT_2 * relative * self.uniformity()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn uniformity_is_the_smallest_reading_over_the_average() {
        // Definition in EN 12464-1; readings are invented: 400 / 500.
        let field = LightField::of(&[400.0, 500.0, 600.0]).unwrap();
        assert!((field.average_lux() - 500.0).abs() < 1e-12);
        assert!((field.uniformity() - 0.8).abs() < 1e-12);
        assert!((field.average_uncertainty_lux(0.05) - 25.0).abs() < 1e-12);
    }

    #[test]
    fn without_a_reading_there_is_no_light_to_speak_of() {
        assert_eq!(LightField::of(&[]), None);
    }
}
