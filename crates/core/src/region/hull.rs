//! The convex hull of points: how much floor they speak for.

use super::segment::turn;
use super::{AREA_MM2_MIN, Polygon};
use crate::axes::PointFloor;

/// The area of the convex hull of points, square millimetres; zero for fewer than three.
///
/// # Source
/// A. M. Andrew, Another efficient algorithm for convex hulls in two dimensions, Information
/// Processing Letters 9 (1979): lower and upper chain of the sorted points.
pub fn hull_area_mm2(points: &[PointFloor]) -> f64 {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x_mm.total_cmp(&b.x_mm).then(a.y_mm.total_cmp(&b.y_mm)));
    let mut hull = chain(sorted.iter());
    hull.extend(chain(sorted.iter().rev()));
    let area_mm2 = Polygon::from_simple(hull).area_mm2();
    if area_mm2 < AREA_MM2_MIN { 0.0 } else { area_mm2 }
}

/// The points of a sorted run at which its right-hand border turns left; without the last one.
fn chain<'a>(sorted: impl Iterator<Item = &'a PointFloor>) -> Vec<PointFloor> {
    let mut border: Vec<PointFloor> = Vec::new();
    for point in sorted {
        while let [.., before, last] = border[..] {
            if turn(before, last, *point) > 0.0 {
                break;
            }
            let _dropped = border.pop();
        }
        border.push(*point);
    }
    let _shared = border.pop();
    border
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    // Elementary plane geometry.
    #[case::square_with_a_point_inside(
        &[(0.0, 0.0), (10.0, 10.0), (4.0, 5.0), (10.0, 0.0), (0.0, 10.0)], 100.0)]
    #[case::triangle_with_points_on_its_edges(
        &[(0.0, 0.0), (5.0, 0.0), (10.0, 0.0), (0.0, 10.0), (5.0, 5.0)], 50.0)]
    #[case::line(&[(0.0, 0.0), (5.0, 5.0), (10.0, 10.0)], 0.0)]
    #[case::nothing(&[], 0.0)]
    fn the_hull_is_the_rubber_band(#[case] points: &[(f64, f64)], #[case] expected: f64) {
        let points: Vec<_> =
            points.iter().map(|(x_mm, y_mm)| PointFloor { x_mm: *x_mm, y_mm: *y_mm }).collect();
        assert!((hull_area_mm2(&points) - expected).abs() < 1e-9);
    }
}
