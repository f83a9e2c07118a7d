//! Outlines that are refused, areas, distances and set operations with known answers.

use super::*;
use crate::region::{common_part, part_outside};
use proptest::prelude::*;
use rstest::rstest;

const SQUARE: [(f64, f64); 4] = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)];

fn polygon(outline_mm: &[(f64, f64)]) -> Polygon {
    Polygon::new(outline_mm).unwrap()
}

fn square_at(x_mm: f64, y_mm: f64, side_mm: f64) -> Polygon {
    polygon(&[
        (x_mm, y_mm),
        (x_mm + side_mm, y_mm),
        (x_mm + side_mm, y_mm + side_mm),
        (x_mm, y_mm + side_mm),
    ])
}

#[rstest]
#[case::bow_tie(
    &[(0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 100.0)],
    "", "edge [0] to [1] crosses edge [2] to [3]")]
#[case::corner_on_an_edge(
    &[(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (50.0, 0.0), (0.0, 100.0)],
    "", "edge [0] to [1] touches edge [2] to [3]")]
#[case::two_corners_at_one_place(
    &[(0.0, 0.0), (50.0, 50.0), (100.0, 0.0), (100.0, 100.0), (50.0, 50.0), (0.0, 100.0)],
    "", "edge [0] to [1] touches edge [3] to [4]")]
#[case::there_and_back(
    &[(0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (100.0, 10.0)],
    "", "edge [1] to [2] folds back onto edge [2] to [3]")]
#[case::all_on_one_line(
    &[(0.0, 0.0), (100.0, 100.0), (200.0, 200.0)], "", "folds back onto")]
#[case::first_vertex_repeated_at_the_end(
    &[(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 0.0)], "[0]", "same point as vertex [3]")]
#[case::two_vertices(&[(0.0, 0.0), (100.0, 0.0)], "", "a list of 2")]
#[case::metres_for_millimetres(
    &[(0.0, 0.0), (0.5, 0.0), (0.5, 0.9), (0.0, 0.9)], "", "0.45 mm2")]
#[case::no_number(&[(0.0, 0.0), (f64::NAN, 0.0), (1.0, 500.0)], "[1].x_mm", "NaN")]
#[case::beyond_the_floor(&[(0.0, 0.0), (0.0, 250_000.0), (1.0, 500.0)], "[1].y_mm", "250000")]
fn an_outline_that_is_no_simple_polygon_is_refused(
    #[case] outline_mm: &[(f64, f64)],
    #[case] field: &str,
    #[case] value_holds: &str,
) {
    let faults = Polygon::new(outline_mm).unwrap_err();
    assert_eq!(faults.list()[0].field, field);
    assert!(faults.list()[0].value.contains(value_holds), "{}", faults.list()[0]);
}

#[test]
fn an_outline_with_too_many_vertices_is_refused_before_it_is_looked_at() {
    let outline_mm = vec![(f64::NAN, 0.0); 100_000];
    let faults = Polygon::new(&outline_mm).unwrap_err();
    assert_eq!(faults.list()[0].limit, "have 3 to 500 vertices");
    assert!(faults.list().len() <= 501);
}

#[rstest]
#[case::inside(50.0, 50.0, true)]
#[case::on_an_edge(100.0, 50.0, true)]
#[case::on_a_corner(0.0, 0.0, true)]
#[case::level_with_an_edge_but_outside(150.0, 100.0, false)]
#[case::outside(-1.0, 50.0, false)]
fn the_edge_belongs_to_a_polygon(#[case] x_mm: f64, #[case] y_mm: f64, #[case] inside: bool) {
    assert_eq!(polygon(&SQUARE).contains(PointFloor { x_mm, y_mm }), inside);
}

#[rstest]
// Elementary plane geometry.
#[case::beside(130.0, 20.0, 10.0, 30.0)]
#[case::over_the_corner(130.0, 140.0, 10.0, 50.0)]
#[case::touching(100.0, 20.0, 10.0, 0.0)]
#[case::within(40.0, 40.0, 10.0, 0.0)]
#[case::around(-50.0, -50.0, 300.0, 0.0)]
fn distance_between_polygons(
    #[case] x_mm: f64,
    #[case] y_mm: f64,
    #[case] side_mm: f64,
    #[case] expected_mm: f64,
) {
    let (a, b) = (polygon(&SQUARE), square_at(x_mm, y_mm, side_mm));
    assert!((a.distance_mm_to(&b) - expected_mm).abs() < 1e-9);
    assert!((b.distance_mm_to(&a) - expected_mm).abs() < 1e-9);
}

#[test]
fn set_operations_give_the_areas_of_plane_geometry() {
    let (square, corner) = (polygon(&SQUARE), square_at(60.0, 70.0, 100.0));
    assert!((common_part(&square, &corner).area_mm2() - 40.0 * 30.0).abs() < 1e-6);
    assert!((part_outside(&square, &corner).area_mm2() - 8_800.0).abs() < 1e-6);
    // A hole is taken off: the inner square lies wholly in the outer one.
    let inner = square_at(40.0, 40.0, 20.0);
    assert!((part_outside(&square, &inner).area_mm2() - 9_600.0).abs() < 1e-6);
    // Neighbours that share an edge share no area.
    assert!(!common_part(&square, &square_at(100.0, 0.0, 50.0)).has_area());
}

#[test]
fn a_region_across_the_notch_of_a_u_is_outside_though_its_corners_are_inside() {
    let u_shape = polygon(&[
        (0.0, 0.0),
        (300.0, 0.0),
        (300.0, 300.0),
        (200.0, 300.0),
        (200.0, 100.0),
        (100.0, 100.0),
        (100.0, 300.0),
        (0.0, 300.0),
    ]);
    let across = polygon(&[(50.0, 150.0), (250.0, 150.0), (250.0, 200.0), (50.0, 200.0)]);
    assert!(across.vertices().iter().all(|vertex| u_shape.contains(*vertex)));
    assert!((part_outside(&across, &u_shape).area_mm2() - 5_000.0).abs() < 1e-6);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn parts_add_up_to_the_whole(
        x in -50.0..150.0_f64, y in -50.0..150.0_f64, side in 10.0..200.0_f64,
        angle_deg in 0.0..90.0_f64,
    ) {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let turned = Polygon::from_simple(
            [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]
                .map(|(u, v)| PointFloor { x_mm: x + cos * u - sin * v, y_mm: y + sin * u + cos * v })
                .to_vec(),
        );
        let square = polygon(&SQUARE);
        let common = common_part(&turned, &square).area_mm2();
        let outside = part_outside(&turned, &square).area_mm2();
        prop_assert!((common + outside - side * side).abs() < 1e-5);
        let apart = turned.distance_mm_to(&square) > TOUCH_MM;
        prop_assert!(!(apart && common > 0.0), "apart, yet {} mm2 in common", common);
    }
}

#[test]
fn the_middle_of_an_area_is_its_centre_of_gravity() {
    // An L of three unit squares, counter-clockwise and clockwise: (5/6, 5/6) from its corner.
    let mut outline = vec![(7.0, 7.0), (9.0, 7.0), (9.0, 8.0), (8.0, 8.0), (8.0, 9.0), (7.0, 9.0)];
    for _ in 0..2 {
        let middle = Polygon::new(&outline).unwrap().middle();
        assert!((middle.x_mm - 7.0 - 5.0 / 6.0).abs() < 1e-12, "{middle:?}");
        assert!((middle.y_mm - 7.0 - 5.0 / 6.0).abs() < 1e-12, "{middle:?}");
        outline.reverse();
    }
}
