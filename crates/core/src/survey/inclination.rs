//! The slope between two heights, and its uncertainty.
//!
//! # Source
//! JCGM 100:2008, 5.1.2 and 5.2.2 (clause numbers from memory): s = (h2 - h1) / L with
//! `u^2(s) = 2 u_h^2 (1 - r) / L^2 + (s / L)^2 u_L^2`. What both readings share cancels.

/// Two readings a distance apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoReadings {
    /// Height of the second place less that of the first, millimetres.
    pub height_difference_mm: f64,
    /// The distance between them, millimetres, above zero.
    pub length_mm: f64,
    /// Standard uncertainty of each reading, millimetres.
    pub reading_u_mm: f64,
    /// Correlation of the two readings, 0 to 1.
    pub correlation: f64,
    /// Standard uncertainty of the distance, millimetres.
    pub length_u_mm: f64,
}

/// A slope with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inclination {
    /// Rise per length.
    pub slope: f64,
    /// Its standard uncertainty.
    pub slope_u: f64,
    /// The angle from the horizontal, degrees.
    pub slope_deg: f64,
    /// Its standard uncertainty, degrees.
    pub slope_u_deg: f64,
}

impl TwoReadings {
    /// The slope between the two places; none unless the distance is above zero.
    pub fn inclination(&self) -> Option<Inclination> {
        let slope = self.height_difference_mm / self.length_mm;
        if !(self.length_mm > 0.0 && slope.is_finite()) {
            return None;
        }
        let heights_u = self.reading_u_mm * (2.0 * (1.0 - self.correlation)).sqrt();
        let slope_u = (heights_u / self.length_mm).hypot(slope * self.length_u_mm / self.length_mm);
        Some(Inclination {
            slope,
            slope_u,
            slope_deg: slope.atan().to_degrees(),
            // d(atan s)/ds = 1 / (1 + s^2)
            slope_u_deg: (slope_u / (1.0 + slope * slope)).to_degrees(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_millimetre_over_three_metres_is_the_handbook_figure() {
        // sqrt(2) u / L: 0.0270 degrees for u = 1 mm and L = 3 m (JCGM 100, independent readings).
        let readings = TwoReadings {
            height_difference_mm: 0.0,
            length_mm: 3_000.0,
            reading_u_mm: 1.0,
            correlation: 0.0,
            length_u_mm: 0.0,
        };
        let found = readings.inclination().unwrap();
        assert!((found.slope_u_deg - 0.027_01).abs() < 5e-6, "{found:?}");
        // Readings that share their whole error have an exact difference.
        let shared = TwoReadings { correlation: 1.0, ..readings }.inclination().unwrap();
        assert!(shared.slope_u_deg.abs() < 1e-15);
        assert_eq!(TwoReadings { length_mm: 0.0, ..readings }.inclination(), None);
    }
}
