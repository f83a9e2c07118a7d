//! Room away from the stations, margins that name what limits, and poses set with a tape.

use super::*;
use crate::fit::example::*;
use crate::fit::{Fit, Neighbour, Side, fit};
use crate::floor::BayDraft;
use crate::ids::ObstructionId;
use proptest::prelude::*;
use rstest::rstest;

fn free(draft: BayDraft, needs: Vec<ZoneNeed>, tolerance_deg: f64) -> Vec<FreeHeading> {
    let bay = Bay::new(draft).unwrap();
    let survey = Survey::new(survey(0.001, 500.0)).unwrap();
    let when = (today(), tolerance_deg);
    free_placements(&method(needs), &saloon(), &bay, Some(&survey), when).unwrap()
}

/// The body stands at x 800 to 5400 mm and the target zone at x 6400 to 8400 mm; a column stands in
/// the zone's corner.
fn bay_with_a_column_in_the_zone() -> BayDraft {
    BayDraft { obstructions: vec![column("column-1", 8_200.0, 4_300.0)], ..bay() }
}

#[test]
fn where_no_station_fits_a_pose_beside_it_does() {
    let draft = bay_with_a_column_in_the_zone();
    let bay = Bay::new(draft.clone()).unwrap();
    let survey = Survey::new(survey(0.001, 500.0)).unwrap();
    let needs = vec![CLEAR, LEVEL, LIGHT];
    let at_stations = fit(&method(needs.clone()), &saloon(), &bay, Some(&survey), today());
    assert!(matches!(at_stations, Fit::DoesNotFit(_)));

    let found = free(draft, needs, 0.0);
    let best = found[0].best.as_ref().unwrap();
    assert!(best.verdict().lets_work_start(), "{:?}", best.findings);
    assert!(found[0].region.contains(best.pose.point_floor()));
    assert_eq!(best.pose.heading_deg().to_bits(), 0.0_f64.to_bits());
}

#[test]
fn the_region_is_that_of_body_and_zone_together() {
    // The body needs x 3700 to 8100 and y 925 to 5075, the zone (up to x + 3900, y +- 1500) x up to
    // 5100 and y 1500 to 4500; the column takes x above 8200 - 3900 together with y above 2800.
    let found = free(bay_with_a_column_in_the_zone(), vec![CLEAR], 0.0);
    let expected_mm2 = 1_400.0 * 3_000.0 - 800.0 * 1_700.0;
    assert!((found[0].region.area_mm2() - expected_mm2).abs() < 1.0, "{found:?}");
    let within_a_degree = free(bay_with_a_column_in_the_zone(), vec![CLEAR], 1.0);
    assert!(within_a_degree[0].region.area_mm2() < expected_mm2 - 1e5);
}

#[rstest]
// The zone may reach over the edge, the body may not: it has 4400 by 4150 mm, less 800 by 1700 mm for
// the column. Metal takes another 2500 by 2275 mm, where the zone meets the column.
#[case::wooden_column(false, 4_400.0 * 4_150.0 - 800.0 * 1_700.0)]
#[case::metal_column(true, 4_400.0 * 4_150.0 - 800.0 * 1_700.0 - 2_500.0 * 2_275.0)]
fn metal_takes_room_from_a_zone_without_metal(#[case] metal: bool, #[case] expected_mm2: f64) {
    let mut draft = bay_with_a_column_in_the_zone();
    draft.obstructions[0].metal = metal;
    let found = free(draft, vec![ZoneNeed::NoMetal { up_to_mm: 900.0 }], 0.0);
    let area_mm2 = found[0].region.area_mm2();
    assert!((area_mm2 - expected_mm2).abs() < 1.0, "{area_mm2}");
}

#[test]
fn there_is_no_room_under_a_low_ceiling_or_in_a_small_bay() {
    let low = BayDraft { ceiling_mm: 1_900.0, ..bay() };
    let small =
        BayDraft { outline_mm: vec![(3e3, 2e3), (6e3, 2e3), (6e3, 4e3), (3e3, 4e3)], ..bay() };
    for draft in [low, small] {
        let found = free(draft, vec![CLEAR], 0.0);
        assert!(found[0].region.is_empty() && found[0].best.is_none());
    }
}

#[test]
fn each_heading_is_told_once() {
    let stations = vec![
        station("in", 4_500.0, 3_000.0, 0.0),
        station("in-too", 4_600.0, 3_000.0, 0.0),
        station("out", 4_500.0, 3_000.0, 180.0),
    ];
    let found = free(BayDraft { stations, ..bay() }, vec![CLEAR], 0.0);
    let headings: Vec<_> = found.iter().map(|one| one.heading_deg).collect();
    assert_eq!(headings, [0.0, 180.0]);
    assert!(free(BayDraft { stations: vec![], ..bay() }, vec![CLEAR], 0.0).is_empty());
}

#[track_caller]
fn check_margin(margins: &[SideMargin], zone: bool, side: Side, expected: &str) {
    let found = margins.iter().find(|one| one.zone.is_some() == zone && one.side == side);
    assert_eq!(found.unwrap().to_string(), expected);
}

#[test]
fn margins_name_side_end_and_what_limits() {
    // The bay is 9 by 6 m, the body 4600 by 1850 mm; the column stands beside its left rear corner.
    let column = column("column-c2", 900.0, 4_337.0);
    let bay = Bay::new(BayDraft { obstructions: vec![column], ..bay() }).unwrap();
    let site = Site { bay: &bay, survey: None, on: today() };
    let pose = bay.stations()[0].pose;
    let margins = side_margins(&method(vec![CLEAR]), &saloon(), &site, &pose);
    check_margin(&margins, false, Side::Left, "vehicle, left rear: 412 mm to column-c2");
    check_margin(
        &margins,
        false,
        Side::Right,
        "vehicle, right: 2075 mm to the bay's edge from its vertex 0",
    );
    check_margin(
        &margins,
        false,
        Side::Rear,
        "vehicle, rear: 800 mm to the bay's edge from its vertex 3",
    );
    check_margin(
        &margins,
        true,
        Side::Front,
        "zone target, front: 600 mm to the bay's edge from its vertex 1",
    );
    let column = ObstructionId::new("column-c2").unwrap();
    let left = margins.iter().find(|one| one.side == Side::Left).unwrap();
    assert_eq!(left.limited_by, Neighbour::Obstruction(column));
}

/// The pose that tape distances describe: each tyre lies where two lines beside the walls cross.
fn pose_from(tape: &TapeDistances, bay: &Bay, vehicle: &VehicleClass) -> (f64, f64, f64) {
    let corners = bay.outline().vertices();
    let wall = |neighbour: &Neighbour| {
        let Neighbour::Edge(edge) = neighbour else { panic!("walls are edges of the bay") };
        let (from, to) = (corners[*edge], corners[(edge + 1) % corners.len()]);
        let length = (to.x_mm - from.x_mm).hypot(to.y_mm - from.y_mm);
        // The outlines of these tests go around counter-clockwise: the inside is to the left.
        let normal = (-(to.y_mm - from.y_mm) / length, (to.x_mm - from.x_mm) / length);
        (normal, normal.0 * from.x_mm + normal.1 * from.y_mm)
    };
    let (a, offset_a) = wall(&tape.walls[0]);
    let (b, offset_b) = wall(&tape.walls[1]);
    let point = |mm: [f64; 2]| {
        let (p, q) = (offset_a + mm[0], offset_b + mm[1]);
        let determinant = a.0 * b.1 - a.1 * b.0;
        ((p * b.1 - q * a.1) / determinant, (q * a.0 - p * b.0) / determinant)
    };
    let (front, rear) = (point(tape.front_mm), point(tape.rear_mm));
    let heading = (front.1 - rear.1).atan2(front.0 - rear.0);
    let half = vehicle.track_mm() / 2.0 * if tape.side == Side::Left { 1.0 } else { -1.0 };
    (
        front.0 + half * heading.sin(),
        front.1 - half * heading.cos(),
        heading.to_degrees().rem_euclid(360.0),
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn a_pose_is_recovered_from_its_tape_distances(
        x_mm in 2_600.0..6_500.0_f64, y_mm in 2_000.0..4_000.0_f64, heading_deg in 0.0..360.0_f64,
        skew in -800.0..800.0_f64,
    ) {
        let outline_mm = vec![(0.0, 0.0), (9e3, skew.abs()), (9e3 - skew, 6e3), (0.0, 6e3)];
        let bay = Bay::new(BayDraft { outline_mm, stations: vec![], ..bay() }).unwrap();
        let site = Site { bay: &bay, survey: None, on: today() };
        let pose = PoseFloor::new(PoseFloorDraft { x_mm, y_mm, heading_deg }).unwrap();
        if let Some(tape) = tape_distances(&saloon(), &site, &pose) {
            let (x, y, heading) = pose_from(&tape, &bay, &saloon());
            prop_assert!((x - x_mm).hypot(y - y_mm) < 5.0, "{x} {y}");
            let off_deg = (heading - heading_deg + 180.0).rem_euclid(360.0) - 180.0;
            prop_assert!(off_deg.abs() < 0.1, "{off_deg}");
        } else {
            // Only near a corner or outside of the bay there are no two walls.
            let inside = |tyre: &PointFloor| {
                let edge_mm = bay.outline().edge_nearest_to_point(*tyre).distance_mm;
                bay.outline().contains(*tyre) && edge_mm > 1_000.0
            };
            let tyres = saloon().wheels_vehicle().map(|wheel| pose.to_floor(wheel));
            prop_assert!(!tyres.iter().all(inside));
        }
    }
}

/// The left rear tyre stands beyond a slanted wall: only the right side is measured, or none.
#[test]
fn a_tyre_outside_of_the_bay_is_not_measured_from() {
    let skew = 534.9;
    let outline_mm = vec![(0.0, 0.0), (9e3, skew), (9e3 - skew, 6e3), (0.0, 6e3)];
    let bay = Bay::new(BayDraft { outline_mm, stations: vec![], ..bay() }).unwrap();
    let site = Site { bay: &bay, survey: None, on: today() };
    let draft = PoseFloorDraft { x_mm: 6_371.6, y_mm: 2_586.0, heading_deg: 194.38 };
    let pose = PoseFloor::new(draft).unwrap();
    let rear_left = pose.to_floor(saloon().wheels_vehicle()[2]);
    assert!(!bay.outline().contains(rear_left));
    let tape = tape_distances(&saloon(), &site, &pose);
    assert!(tape.is_none_or(|tape| tape.side == Side::Right));
}

#[test]
fn a_tape_is_not_led_through_a_column() {
    // From both left tyres the upper wall is near, but a bench stands before it.
    let mut bench = column("bench", 1_000.0, 4_500.0);
    bench.outline_mm = vec![(1e3, 4.5e3), (6e3, 4.5e3), (6e3, 5e3), (1e3, 5e3)];
    let bay = Bay::new(BayDraft { obstructions: vec![bench], ..bay() }).unwrap();
    let site = Site { bay: &bay, survey: None, on: today() };
    let tape = tape_distances(&saloon(), &site, &bay.stations()[0].pose).unwrap();
    assert!(!tape.walls.contains(&Neighbour::Edge(2)), "{tape}");
    assert_eq!(
        tape.to_string(),
        "from the floor under the middle of the right front tyre 2220 mm square to the bay's edge \
         from its vertex 0 and 4500 mm to the bay's edge from its vertex 3; from the right rear \
         tyre 2220 mm and 1800 mm to the same"
    );
}

#[test]
fn a_tolerance_out_of_range_is_refused() {
    let bay = Bay::new(bay()).unwrap();
    let faults =
        free_placements(&method(vec![CLEAR]), &saloon(), &bay, None, (today(), 90.0)).unwrap_err();
    assert_eq!(faults.list()[0].field, "tolerance_deg");
}
