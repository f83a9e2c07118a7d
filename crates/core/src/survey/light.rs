//! The light in a zone: average, minimum, maximum and uniformity, interpolated between readings.
//!
//! Readings of one plane and height span a surface; the zone is judged at the points of the grid of
//! EN 12464-1 over it, and at every reading within it. Next to the outermost readings each reading
//! stands for the floor around it, as in a grid whose points are the middles of its cells.
//!
//! # Source
//! Uniformity is the smallest value over the average: EN 12464-1. Uncertainties: JCGM 100:2008.

use super::{LightGrid, LightReading, Surface, Survey};
use crate::axes::PointFloor;
use crate::demand::LightPlane;
use crate::region::Polygon;
use std::borrow::Cow;
use std::f64::consts::SQRT_2;

/// A reading belongs to a height when it was taken this near to it, millimetres; our own choice.
pub const LIGHT_HEIGHT_TOLERANCE_MM: f64 = 100.0;

/// The readings of a survey in one plane at one height, and the surface through them.
#[derive(Debug, Clone)]
pub struct LightReadings<'a>(Cow<'a, Surface>);

/// The readings of one plane, kept with the survey.
#[derive(Debug, Clone)]
pub(super) struct PlaneOfLight {
    plane: LightPlane,
    lowest_mm: f64,
    highest_mm: f64,
    surface: Surface,
}

/// The light in a zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightField {
    count: usize,
    average_lux: f64,
    minimum_lux: f64,
    maximum_lux: f64,
}

impl PlaneOfLight {
    pub(super) fn of_all(readings: &[LightReading]) -> Vec<Self> {
        let plane_of = |plane: LightPlane| {
            let own = || readings.iter().filter(move |one| one.plane == plane);
            let heights = own().map(|one| one.height_mm);
            Self {
                plane,
                lowest_mm: heights.clone().fold(f64::INFINITY, f64::min),
                highest_mm: heights.fold(f64::NEG_INFINITY, f64::max),
                surface: Surface::through(own().map(value_of)),
            }
        };
        [LightPlane::Horizontal, LightPlane::Vertical].map(plane_of).into()
    }
}

fn value_of(reading: &LightReading) -> (PointFloor, f64) {
    (PointFloor { x_mm: reading.x_mm, y_mm: reading.y_mm }, reading.lux)
}

impl<'a> LightReadings<'a> {
    /// The readings of a survey in a plane at a height, within [`LIGHT_HEIGHT_TOLERANCE_MM`].
    pub fn at(survey: &'a Survey, plane: LightPlane, height_mm: f64) -> Self {
        let belongs = |reading_mm: f64| (reading_mm - height_mm).abs() <= LIGHT_HEIGHT_TOLERANCE_MM;
        let kept = survey.planes_of_light().iter().find(|kept| {
            kept.plane == plane && belongs(kept.lowest_mm) && belongs(kept.highest_mm)
        });
        if let Some(kept) = kept {
            return Self(Cow::Borrowed(&kept.surface));
        }
        let of_height = survey.light().iter().filter(|one| one.plane == plane);
        let values = of_height.filter(|one| belongs(one.height_mm)).map(value_of);
        Self(Cow::Owned(Surface::through(values)))
    }

    /// The surface through the readings.
    pub fn surface(&self) -> &Surface {
        &self.0
    }

    /// How many places within a zone have a reading.
    pub fn count_within(&self, zone: &Polygon) -> usize {
        self.surface().nodes_within(zone).count()
    }

    /// The light in a zone; none without three readings that are not on one line.
    pub fn field_over(&self, zone: &Polygon) -> Option<LightField> {
        let (_, places) = LightGrid::over(zone)?;
        let at_grid: Option<Vec<f64>> =
            places.iter().map(|place| self.surface().value_beside(*place)).collect();
        let of_grid = LightField::of(&at_grid?)?;
        let within: Vec<_> = self.surface().nodes_within(zone).map(|one| one.value).collect();
        let of_readings = LightField::of(&within);
        Some(LightField {
            count: within.len(),
            minimum_lux: of_readings
                .map_or(of_grid.minimum_lux, |own| own.minimum_lux.min(of_grid.minimum_lux)),
            maximum_lux: of_readings
                .map_or(of_grid.maximum_lux, |own| own.maximum_lux.max(of_grid.maximum_lux)),
            ..of_grid
        })
    }
}

impl LightField {
    /// The light that readings of equal weight show, lux; none without a reading.
    pub fn of(readings_lux: &[f64]) -> Option<Self> {
        let count = readings_lux.len();
        if count == 0 {
            return None;
        }
        #[expect(clippy::cast_precision_loss, reason = "far fewer readings than 2^52")]
        let average_lux = readings_lux.iter().sum::<f64>() / count as f64;
        let minimum_lux = readings_lux.iter().copied().fold(f64::INFINITY, f64::min);
        let maximum_lux = readings_lux.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        Some(Self { count, average_lux, minimum_lux, maximum_lux })
    }

    /// How many readings there are.
    pub fn count(&self) -> usize {
        self.count
    }

    /// The average, lux.
    pub fn average_lux(&self) -> f64 {
        self.average_lux
    }

    /// The smallest value, lux.
    pub fn minimum_lux(&self) -> f64 {
        self.minimum_lux
    }

    /// The greatest value, lux.
    pub fn maximum_lux(&self) -> f64 {
        self.maximum_lux
    }

    /// Smallest value over the average, from 0 to 1; 1 in the dark, where all readings are 0.
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

    /// Standard uncertainty of the smallest value, lux.
    pub fn minimum_uncertainty_lux(&self, relative: f64) -> f64 {
        relative * self.minimum_lux
    }

    /// Standard uncertainty of the greatest value, lux.
    pub fn maximum_uncertainty_lux(&self, relative: f64) -> f64 {
        relative * self.maximum_lux
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
        assert!((field.maximum_lux() - 600.0).abs() < 1e-12);
        assert!((field.uniformity() - 0.8).abs() < 1e-12);
        assert!((field.average_uncertainty_lux(0.05) - 25.0).abs() < 1e-12);
    }

    #[test]
    fn without_a_reading_there_is_no_light_to_speak_of() {
        assert_eq!(LightField::of(&[]), None);
    }

    #[test]
    fn light_between_readings_is_interpolated_and_kept_beside_the_outermost_ones() {
        // Readings in the middles of four cells of 1 m, rising to the right by 100 lux per metre:
        // over the whole area the average is 400 lux, and the outer half cells keep 350 and 450.
        let places = [(500.0, 500.0), (1_500.0, 500.0), (500.0, 1_500.0), (1_500.0, 1_500.0)];
        let value =
            |(x_mm, y_mm): (f64, f64)| (PointFloor { x_mm, y_mm }, 300.0 + (x_mm - 0.0) / 10.0);
        let readings = LightReadings(Cow::Owned(Surface::through(places.map(value))));
        let zone = Polygon::new(&[(0.0, 0.0), (2_000.0, 0.0), (2_000.0, 2_000.0), (0.0, 2_000.0)])
            .unwrap();
        let field = readings.field_over(&zone).unwrap();
        assert!((field.average_lux() - 400.0).abs() < 1e-9, "{field:?}");
        assert!((field.minimum_lux() - 350.0).abs() < 1e-9, "{field:?}");
        assert!((field.maximum_lux() - 450.0).abs() < 1e-9, "{field:?}");
        assert_eq!(field.count(), 4);
    }

    #[test]
    fn a_dark_reading_between_grid_points_is_not_lost() {
        let mut values: Vec<_> = (0..=4_u32)
            .flat_map(|i| (0..=4_u32).map(move |j| (f64::from(i) * 500.0, f64::from(j) * 500.0)))
            .map(|(x_mm, y_mm)| (PointFloor { x_mm, y_mm }, 500.0))
            .collect();
        values[12].1 = 90.0;
        let readings = LightReadings(Cow::Owned(Surface::through(values)));
        let zone = Polygon::new(&[(0.0, 0.0), (2_000.0, 0.0), (2_000.0, 2_000.0), (0.0, 2_000.0)])
            .unwrap();
        let field = readings.field_over(&zone).unwrap();
        assert!((field.minimum_lux() - 90.0).abs() < 1e-9, "{field:?}");
    }
}
