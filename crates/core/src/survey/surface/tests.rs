//! The surface on invented floors whose height is known everywhere.

use super::*;
use proptest::prelude::*;
use rstest::rstest;

fn place(x_mm: f64, y_mm: f64) -> PointFloor {
    PointFloor { x_mm, y_mm }
}

fn grid(height: impl Fn(f64, f64) -> f64) -> Surface {
    let steps = |count: u32| (0..count).map(|step| f64::from(step) * 500.0);
    let places = steps(5).flat_map(|x| steps(4).map(move |y| (x, y)));
    Surface::through(places.map(|(x, y)| (place(x, y), height(x, y))))
}

#[rstest]
// A plane is met everywhere between the points: 1 mm up for every 100 mm to the right, 2 mm down
// for every 100 mm upwards.
#[case::on_a_point(500.0, 1_000.0, Some(-15.0))]
#[case::on_an_edge(250.0, 1_000.0, Some(-17.5))]
#[case::inside_of_a_cell(730.0, 410.0, Some(-0.9))]
#[case::on_the_rim(2_000.0, 777.0, Some(4.46))]
#[case::half_a_millimetre_out(2_000.5, 0.0, Some(20.0))]
#[case::outside(2_002.0, 700.0, None)]
#[case::far_outside(-9_000.0, 0.0, None)]
fn a_plane_is_met_between_the_points_and_nothing_is_extrapolated(
    #[case] x_mm: f64,
    #[case] y_mm: f64,
    #[case] expected: Option<f64>,
) {
    let found = grid(|x, y| x / 100.0 - y / 50.0).value_at(place(x_mm, y_mm));
    assert_eq!(found.is_some(), expected.is_some(), "{found:?}");
    if let (Some(found), Some(expected)) = (found, expected) {
        assert!((found - expected).abs() < 1e-9, "{found}");
    }
}

#[test]
fn the_middle_of_a_twisted_square_is_the_mean_of_both_diagonals() {
    // Corners 0, 4, 0, 4 mm: one diagonal says 0, the other 4.
    let corners = [(0.0, 0.0, 0.0), (500.0, 0.0, 4.0), (500.0, 500.0, 0.0), (0.0, 500.0, 4.0)];
    let surface = Surface::through(corners.map(|(x, y, z)| (place(x, y), z)));
    let found = surface.value_at(place(250.0, 250.0)).unwrap();
    assert!((found - 2.0).abs() < 1e-9, "{found}");
}

#[test]
fn readings_at_one_place_are_one_node_with_their_mean() {
    let surface = Surface::through([
        (place(0.0, 0.0), 1.0),
        (place(0.0, 0.0), 2.0),
        (place(0.0, 0.0), 6.0),
        (place(900.0, 0.0), 3.0),
        (place(0.0, 900.0), 3.0),
    ]);
    assert_eq!(surface.nodes().len(), 3);
    assert_eq!(surface.nodes()[0], Node { place: place(0.0, 0.0), value: 3.0, readings: 3 });
    assert!((surface.value_at(place(300.0, 300.0)).unwrap() - 3.0).abs() < 1e-9);
}

#[rstest]
#[case::nothing(&[])]
#[case::one_point(&[(5.0, 5.0)])]
#[case::twice_the_same_and_another(&[(5.0, 5.0), (5.0, 5.0), (900.0, 5.0)])]
#[case::a_line(&[(0.0, 0.0), (500.0, 250.0), (1_000.0, 500.0), (2_000.0, 1_000.0)])]
fn points_on_a_line_have_no_surface(#[case] places: &[(f64, f64)]) {
    let surface = Surface::through(places.iter().map(|(x, y)| (place(*x, *y), 1.0)));
    assert!(surface.hull().is_none());
    assert_eq!(surface.value_at(place(500.0, 250.0)), None);
    assert_eq!(surface.value_beside(place(5.0, 5.0)), None);
}

#[test]
fn a_node_on_a_wall_that_is_not_quite_straight_still_counts() {
    // The middle node stands 0.001 mm inside of the line between its neighbours.
    let surface = Surface::through([
        (place(0.0, 0.0), 0.0),
        (place(500.0, 0.001), 8.0),
        (place(1_000.0, 0.0), 0.0),
        (place(500.0, 800.0), 0.0),
    ]);
    let found = surface.value_at(place(500.0, 0.0)).unwrap();
    assert!((found - 8.0).abs() < 1e-4, "{found}");
    assert_eq!(surface.hull().unwrap().vertices().len(), 4);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn turning_a_grid_changes_no_height(angle_deg in 0.0..360.0_f64, x in 0.0..2_000.0_f64, y in 0.0..1_500.0_f64) {
        // Invented, curved both ways.
        let height = |x: f64, y: f64| (x / 300.0).sin() * 5.0 + (y / 400.0).cos() * 3.0;
        let straight = grid(height);
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let turned = |at: PointFloor| place(cos * at.x_mm - sin * at.y_mm, sin * at.x_mm + cos * at.y_mm);
        let other = Surface::through(straight.nodes().iter().map(|node| (turned(node.place), node.value)));
        let (a, b) = (straight.value_at(place(x, y)).unwrap(), other.value_at(turned(place(x, y))).unwrap());
        prop_assert!((a - b).abs() < 1e-6, "{a} {b}");
    }

    #[test]
    fn the_hull_holds_every_node_and_its_area_is_that_of_the_triangles(
        places in prop::collection::vec((0.0..9_000.0_f64, 0.0..5_000.0_f64), 4..30),
    ) {
        let surface = Surface::through(places.iter().map(|(x, y)| (place(*x, *y), x + y)));
        for node in surface.nodes() {
            prop_assert!(surface.holds(node.place));
            prop_assert!((surface.value_at(node.place).unwrap() - node.value).abs() < 1e-6);
        }
        let triangles: f64 = surface.triangles.iter()
            .filter_map(|one| surface.places(one.nodes)).map(|[a, b, c]| turn(a, b, c) / 2.0).sum();
        let hull = surface.hull().unwrap().area_mm2();
        prop_assert!((triangles - hull).abs() <= 1e-9 * hull, "{triangles} {hull}");
    }
}
