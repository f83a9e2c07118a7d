//! The outside mask of a daylight opening: how high buildings, trees and hills stand around it.

use super::angle::{Azimuth, Elevation, turn_between};
use crate::fault::{Fault, FaultList, Faults};

/// The most points of a horizon profile: one for each degree.
pub const HORIZON_POINTS_MAX: usize = 360;

/// The skyline seen from an opening: its elevation by azimuth, straight between its points.
///
/// Between two neighbouring points, also over north, the elevation is interpolated in proportion to
/// the azimuth; one point alone stands for the whole circle. The sun shines when its centre, bent by
/// refraction, stands above the skyline.
#[derive(Debug, Clone, PartialEq)]
pub struct HorizonProfile {
    /// Azimuth and elevation, radians, ascending.
    points: Vec<(f64, f64)>,
    points_deg: Vec<(f64, f64)>,
}

impl HorizonProfile {
    /// Checks and takes a skyline: azimuths clockwise from true north, each above the one before,
    /// with their elevations, degrees.
    ///
    /// # Errors
    /// A fault for no point or more than [`HORIZON_POINTS_MAX`], for an azimuth outside of `0..360`
    /// or not above the one before, and for an elevation outside of `0..=90`. Fields are relative
    /// to the list: `[3].azimuth_deg`.
    pub fn new(points_deg: &[(f64, f64)]) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        if !(1..=HORIZON_POINTS_MAX).contains(&points_deg.len()) {
            faults.push(Fault::new(
                "",
                format!("a list of {}", points_deg.len()),
                format!("have 1 to {HORIZON_POINTS_MAX} points"),
                "give the corners of the skyline only, or leave the skyline out",
            ));
        }
        let mut before: Option<f64> = None;
        for (at, (azimuth_deg, elevation_deg)) in points_deg.iter().enumerate() {
            let field = format!("[{at}].azimuth_deg");
            faults.number_within(&field, *azimuth_deg, 0.0, 360.0, "degrees from true north");
            faults.number_within(
                &format!("[{at}].elevation_deg"),
                *elevation_deg,
                0.0,
                90.0,
                "degrees",
            );
            if *azimuth_deg >= 360.0 || before.is_some_and(|before| *azimuth_deg <= before) {
                faults.push(Fault::new(
                    field,
                    azimuth_deg,
                    "be above the azimuth before it and below 360",
                    "give the skyline clockwise from north, each azimuth once",
                ));
            }
            before = Some(*azimuth_deg);
        }
        let points = points_deg.iter().map(|(at, up)| (at.to_radians(), up.to_radians())).collect();
        faults.finish(Self { points, points_deg: points_deg.to_vec() })
    }

    /// The points as they were given: azimuth and elevation, degrees.
    pub fn points_deg(&self) -> &[(f64, f64)] {
        &self.points_deg
    }

    /// The skyline's elevation in a direction.
    pub fn elevation_at(&self, azimuth: Azimuth) -> Elevation {
        Elevation::computed(self.elevation_rad_at(azimuth.radians()).to_degrees())
    }

    fn elevation_rad_at(&self, azimuth_rad: f64) -> f64 {
        let behind = self.points.partition_point(|(azimuth, _)| *azimuth <= azimuth_rad);
        let count = self.points.len();
        let at = |index: usize| self.points.get(index % count.max(1)).copied().unwrap_or_default();
        let ((from, low), (to, high)) = (at(behind + count - 1), at(behind));
        let span = (to - from).rem_euclid(std::f64::consts::TAU);
        if span <= 0.0 {
            return low;
        }
        let share = (azimuth_rad - from).rem_euclid(std::f64::consts::TAU) / span;
        low + share * (high - low)
    }

    /// The lowest and the highest elevation of the skyline within `reach_rad` of a direction,
    /// radians.
    pub(super) fn range_rad(&self, azimuth_rad: f64, reach_rad: f64) -> (f64, f64) {
        let turn = |at: f64| self.elevation_rad_at(at.rem_euclid(std::f64::consts::TAU));
        let ends = [turn(azimuth_rad - reach_rad), turn(azimuth_rad + reach_rad)];
        let between = self
            .points
            .iter()
            .filter(|(at, _)| turn_between(azimuth_rad, *at).abs() <= reach_rad)
            .map(|(_, elevation)| *elevation);
        ends.into_iter()
            .chain(between)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), elevation| {
                (low.min(elevation), high.max(elevation))
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    // Straight lines between the points, also over north.
    #[case::at_a_point(90.0, 10.0)]
    #[case::between(135.0, 20.0)]
    #[case::over_north(337.5, 20.0)]
    #[case::just_before_the_first(67.5, 12.5)]
    fn the_skyline_is_straight_between_its_points(#[case] azimuth: f64, #[case] elevation: f64) {
        let skyline = HorizonProfile::new(&[(90.0, 10.0), (180.0, 30.0)]).unwrap();
        let at = skyline.elevation_at(Azimuth::from_degrees(azimuth).unwrap());
        // From 180 over north to 90 the skyline falls by 20 degrees in 270.
        let over_north = |azimuth: f64| 30.0 - (azimuth - 180.0).rem_euclid(360.0) * 20.0 / 270.0;
        let expected =
            if (90.0..=180.0).contains(&azimuth) { elevation } else { over_north(azimuth) };
        assert!((at.degrees() - expected).abs() < 1e-9, "{}", at.degrees());
    }

    #[test]
    fn one_point_stands_for_the_whole_circle() {
        let skyline = HorizonProfile::new(&[(200.0, 12.0)]).unwrap();
        for azimuth in [0.0, 100.0, 200.0, 359.9] {
            let at = skyline.elevation_at(Azimuth::from_degrees(azimuth).unwrap());
            assert!((at.degrees() - 12.0).abs() < 1e-9);
        }
    }

    #[rstest]
    #[case::none(&[], "")]
    #[case::not_ascending(&[(10.0, 1.0), (10.0, 2.0)], "[1].azimuth_deg")]
    #[case::a_whole_turn(&[(360.0, 1.0)], "[0].azimuth_deg")]
    #[case::no_number(&[(f64::NAN, 1.0)], "[0].azimuth_deg")]
    #[case::below_the_horizontal(&[(0.0, -1.0)], "[0].elevation_deg")]
    fn what_is_no_skyline_is_refused(#[case] points: &[(f64, f64)], #[case] field: &str) {
        assert_eq!(HorizonProfile::new(points).unwrap_err().list()[0].field, field);
    }

    #[test]
    fn the_range_covers_corners_in_reach() {
        let skyline = HorizonProfile::new(&[(0.0, 0.0), (10.0, 40.0), (20.0, 0.0)]).unwrap();
        let (low, high) = skyline.range_rad(8.0_f64.to_radians(), 4.0_f64.to_radians());
        assert!((low.to_degrees() - 16.0).abs() < 1e-9 && (high.to_degrees() - 40.0).abs() < 1e-9);
    }
}
