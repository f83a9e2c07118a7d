//! The plane against certified figures, worked examples and its own geometry.

use super::*;
use proptest::prelude::*;
use rstest::rstest;

#[track_caller]
fn check_close(found: f64, expected: f64, tolerance_relative: f64) {
    let off = (found - expected).abs();
    assert!(off <= tolerance_relative * expected.abs(), "found {found}, expected {expected}");
}

/// NIST Statistical Reference Datasets, linear regression, Pontius: load cell calibration,
/// y over x and x squared; deflections for loads of 150000 to 3000000 in steps of 150000, twice.
const PONTIUS_Y: [f64; 40] = [
    0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146,
    1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
    0.11052, 0.22018, 0.32939, 0.43886, 0.54798, 0.65739, 0.76596, 0.87474, 0.983, 1.0915, 1.20004,
    1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
];

#[test]
fn a_plane_over_x_and_x_squared_gives_the_certified_pontius_figures() {
    let points: Vec<_> = PONTIUS_Y
        .iter()
        .enumerate()
        .map(|(at, y)| {
            let x = 150_000.0 * as_float(at % 20 + 1);
            [x, x * x, *y]
        })
        .collect();

    let plane = LevelPlane::fit(&points).unwrap();

    // Certified values of the data set; the tolerance leaves room for its conditioning.
    check_close(plane.intercept_mm(), 0.673_565_789_473_684e-3, 1e-9);
    check_close(plane.slope_x(), 0.732_059_160_401_003e-6, 1e-11);
    check_close(plane.slope_y(), -0.316_081_871_345_029e-14, 1e-10);
    let std = plane.residual_std_mm().unwrap();
    check_close(std, 0.205_177_424_076_185e-3, 1e-9);
    check_close(plane.slope_x_uncertainty(std), 0.157_817_399_981_659e-9, 1e-9);
    check_close(plane.slope_y_uncertainty(std), 0.486_652_849_992_036e-16, 1e-9);
    check_close(plane.r_squared().unwrap(), 0.999_999_900_178_537, 1e-12);
}

#[test]
fn four_wheels_give_the_slopes_and_uncertainties_of_the_closed_formulas() {
    // Least squares through four corners of a rectangle, wheelbase W and track T: along = ((FL +
    // FR) - (RL + RR)) / 2W with u = u0 / W, across = ((FL + RL) - (FR + RR)) / 2T with u = u0 / T,
    // and residuals of a quarter of the twist. Heights are invented.
    let (wheelbase, half_track) = (2_700.0, 780.0);
    let points = [
        [0.0, half_track, 3.2],
        [0.0, -half_track, 1.4],
        [-wheelbase, half_track, -6.1],
        [-wheelbase, -half_track, -7.3],
    ];

    let plane = LevelPlane::fit(&points).unwrap();

    check_close(plane.slope_x(), 18.0 / 5_400.0, 1e-12);
    check_close(plane.slope_y(), 3.0 / 3_120.0, 1e-12);
    check_close(plane.slope_x_uncertainty(0.5), 0.5 / 2_700.0, 1e-12);
    check_close(plane.slope_y_uncertainty(0.5), 0.5 / 1_560.0, 1e-12);
    check_close(plane.largest_residual_mm(), 0.15, 1e-9);
    // The slope across is the less certain one.
    check_close(plane.steepest_uncertainty(0.5), 0.5 / 1_560.0, 1e-12);
}

#[test]
fn three_points_have_a_plane_without_a_residual_deviation() {
    let points = [[0.0, 0.0, 1.5], [3_000.0, 0.0, -2.25], [0.0, 1_500.0, 4.0]];
    let plane = LevelPlane::fit(&points).unwrap();
    check_close(plane.slope_x(), -0.001_25, 1e-12);
    check_close(plane.intercept_mm(), 1.5, 1e-12);
    assert!(plane.largest_residual_mm() < 1e-12);
    assert_eq!(plane.residual_std_mm(), None);
}

#[rstest]
#[case::two_points(&[[0.0, 0.0, 1.0], [1_000.0, 500.0, 2.0]], NoPlane::TooFewPoints { found: 2 })]
#[case::a_slanting_line(
    &[[0.0, 0.0, 1.0], [1_000.1, 500.05, 2.0], [2_000.2, 1_000.1, 2.5], [3_000.3, 1_500.15, 2.0]],
    NoPlane::OnOneLine { found: 4 })]
#[case::a_line_along_x(
    &[[0.0, 70.1, 1.0], [1_000.0, 70.1, 2.0], [2_000.0, 70.1, 2.5]],
    NoPlane::OnOneLine { found: 3 })]
#[case::one_place(
    &[[5.0, 5.0, 1.0], [5.0, 5.0, 1.2], [5.0, 5.0, 0.9]], NoPlane::OnOneLine { found: 3 })]
#[case::no_number(
    &[[0.0, 0.0, 1.0], [f64::NAN, 5.0, 1.2], [5.0, 0.0, 0.9]], NoPlane::NotANumber { at: 1 })]
fn points_without_a_plane_are_refused(#[case] points: &[[f64; 3]], #[case] why: NoPlane) {
    assert_eq!(LevelPlane::fit(points), Err(why));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_steepest_slope_and_its_uncertainty_do_not_depend_on_the_axes(
        points in prop::collection::vec((0.0..9_000.0, 0.0..5_000.0, -20.0..20.0_f64), 5..20),
        angle_deg in 0.0..360.0_f64,
    ) {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let straight: Vec<_> = points.iter().map(|(x, y, z)| [*x, *y, *z]).collect();
        let turned: Vec<_> =
            points.iter().map(|(x, y, z)| [cos * x - sin * y, sin * x + cos * y, *z]).collect();
        let (Ok(a), Ok(b)) = (LevelPlane::fit(&straight), LevelPlane::fit(&turned)) else {
            return Ok(());
        };
        prop_assert!((a.steepest_deg() - b.steepest_deg()).abs() < 1e-6);
        let (u_a, u_b) = (a.steepest_uncertainty(1.0), b.steepest_uncertainty(1.0));
        prop_assert!((u_a - u_b).abs() <= 1e-6 * u_a);
    }
}
