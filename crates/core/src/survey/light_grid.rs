//! The grid on which light is measured, and the readings expected of lamps.
//!
//! # Source
//! EN 12464-1: spacing p = 0.2 x 5^(log10 d) metres, at most 10 m, d being the longer side of the
//! area in metres, or the shorter one when the longer is twice as long or longer (the switch from
//! memory). The table printed with it rounds generously; here the formula counts. Points along a
//! side are its length over the spacing, rounded up: our own convention.

use crate::axes::PointFloor;
use crate::region::Polygon;

/// The most readings along a side; more would say nothing new.
const POINTS_MAX: f64 = 200.0;

/// A grid of readings over a rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightGrid {
    /// The greatest spacing, millimetres.
    pub spacing_mm: f64,
    /// Readings along the first side given.
    pub along: usize,
    /// Readings along the other side.
    pub across: usize,
}

/// The greatest grid spacing for a decisive side, both in metres.
pub fn grid_spacing_m(side_m: f64) -> f64 {
    (0.2 * 5.0_f64.powf(side_m.log10())).min(10.0)
}

impl LightGrid {
    /// The grid for a rectangle of two sides, millimetres; none unless both are above zero.
    pub fn of_sides(along_mm: f64, across_mm: f64) -> Option<Self> {
        let (long, short) = (along_mm.max(across_mm), along_mm.min(across_mm));
        if !(short > 0.0 && long.is_finite()) {
            return None;
        }
        let decisive = if long / short >= 2.0 { short } else { long };
        let spacing_mm = 1_000.0 * grid_spacing_m(decisive / 1_000.0);
        let points = |side: f64| as_count((side / spacing_mm).ceil().clamp(1.0, POINTS_MAX));
        Some(Self { spacing_mm, along: points(along_mm), across: points(across_mm) })
    }

    /// The grid for the rectangle around a zone along its longest edge, and the middles of those of
    /// its cells that lie in the zone.
    pub fn over(zone: &Polygon) -> Option<(Self, Vec<PointFloor>)> {
        let (x, y) = longest_edge(zone)?;
        let length = x.hypot(y);
        let (cos, sin) = (x / length, y / length);
        let turned =
            |at: &PointFloor| (cos * at.x_mm + sin * at.y_mm, cos * at.y_mm - sin * at.x_mm);
        let corners: Vec<_> = zone.vertices().iter().map(turned).collect();
        let span = |values: &dyn Fn(&(f64, f64)) -> f64| {
            let ends = corners.iter().map(values);
            ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), value| {
                (value.min(least), value.max(most))
            })
        };
        let (along_from, along_to) = span(&|corner| corner.0);
        let (across_from, across_to) = span(&|corner| corner.1);
        let grid = Self::of_sides(along_to - along_from, across_to - across_from)?;
        let middles = |from: f64, to: f64, count: usize| -> Vec<f64> {
            let step = (to - from) / as_float(count);
            (0..count).map(|at| from + (as_float(at) + 0.5) * step).collect()
        };
        let along = middles(along_from, along_to, grid.along);
        let across = middles(across_from, across_to, grid.across);
        let places = along
            .iter()
            .flat_map(|u| across.iter().map(move |v| (u, v)))
            .map(|(u, v)| PointFloor { x_mm: cos * u - sin * v, y_mm: sin * u + cos * v })
            .filter(|place| zone.contains(*place))
            .collect();
        Some((grid, places))
    }
}

/// The longest edge of a zone as a vector; the first of equals.
fn longest_edge(zone: &Polygon) -> Option<(f64, f64)> {
    let corners = zone.vertices();
    let edges = corners.iter().zip(corners.iter().cycle().skip(1));
    let mut longest: Option<(f64, f64)> = None;
    for (from, to) in edges {
        let edge = (to.x_mm - from.x_mm, to.y_mm - from.y_mm);
        // Edges that differ by rounding only are equal.
        if longest.is_none_or(|(x, y)| edge.0.hypot(edge.1) > x.hypot(y) + 1e-6) {
            longest = Some(edge);
        }
    }
    longest.filter(|(x, y)| x.hypot(*y) > 0.0)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to 1 to 200 before"
)]
fn as_count(points: f64) -> usize {
    points as usize
}

#[expect(clippy::cast_precision_loss, reason = "at most 200")]
fn as_float(count: usize) -> f64 {
    count as f64
}

/// A small lamp that shines alike in all directions downwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointSource {
    /// Floor x, millimetres.
    pub x_mm: f64,
    /// Floor y, millimetres.
    pub y_mm: f64,
    /// Height above the floor, millimetres.
    pub height_mm: f64,
    /// Luminous intensity towards the point, candela.
    pub candela: f64,
}

/// The illuminance that lamps bring to a level surface at a height, lux.
///
/// The inverse-square law E = I cos(angle) / r^2, good to 1 % from five widths of a lamp away (IES
/// definition). Lamps at or below the height bring nothing; reflections are left out.
pub fn horizontal_lux(sources: &[PointSource], at: PointFloor, height_mm: f64) -> f64 {
    let of_one = |source: &PointSource| {
        let above_m = (source.height_mm - height_mm) / 1_000.0;
        if above_m <= 0.0 {
            return 0.0;
        }
        let aside_m = (source.x_mm - at.x_mm).hypot(source.y_mm - at.y_mm) / 1_000.0;
        let distance_m = above_m.hypot(aside_m);
        source.candela * above_m / distance_m.powi(3)
    };
    sources.iter().map(of_one).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    // EN 12464-1, formula: metres.
    #[case::two(2.0, 0.325)]
    #[case::five(5.0, 0.616)]
    #[case::ten(10.0, 1.0)]
    #[case::fifty(50.0, 3.080)]
    #[case::hundred(100.0, 5.0)]
    #[case::capped(1_000.0, 10.0)]
    fn the_grid_spacing_follows_the_formula(#[case] side_m: f64, #[case] expected: f64) {
        assert!((grid_spacing_m(side_m) - expected).abs() < 5e-4, "{}", grid_spacing_m(side_m));
    }

    #[test]
    fn a_long_area_takes_its_grid_from_the_shorter_side() {
        let square = LightGrid::of_sides(6_000.0, 4_000.0).unwrap();
        assert!((square.spacing_mm - 699.736).abs() < 1e-3);
        assert_eq!((square.along, square.across), (9, 6));
        let long = LightGrid::of_sides(12_000.0, 2_000.0).unwrap();
        assert!((long.spacing_mm - 324.669).abs() < 1e-3, "{long:?}");
        assert_eq!(LightGrid::of_sides(0.0, 2_000.0), None);
    }

    #[test]
    fn a_lamp_straight_above_brings_its_candela_over_the_square_of_its_height() {
        let lamp = PointSource { x_mm: 0.0, y_mm: 0.0, height_mm: 3_000.0, candela: 900.0 };
        let below = horizontal_lux(&[lamp], PointFloor { x_mm: 0.0, y_mm: 0.0 }, 0.0);
        assert!((below - 100.0).abs() < 1e-9);
        assert!(horizontal_lux(&[lamp], PointFloor { x_mm: 0.0, y_mm: 0.0 }, 3_000.0).abs() < 1e-9);
    }
}
