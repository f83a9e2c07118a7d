//! Regions with known answers, and every position held against placing the zones directly.

use super::*;
use crate::axes::{OffsetVehicle, PointFloor};
use crate::region::{common_part, part_outside};
use proptest::prelude::*;
use rstest::rstest;

type Outline = Vec<(f64, f64)>;

fn polygon(outline_mm: &[(f64, f64)]) -> Polygon {
    Polygon::new(outline_mm).unwrap()
}

fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Polygon {
    polygon(&[(x, y), (x + width, y), (x + width, y + height), (x, y + height)])
}

/// One zone that stays on the floor, at heading 0.
fn region_of(floor: &Polygon, zone: Polygon, obstructions: &[Polygon]) -> FeasibleRegion {
    let clear_of = obstructions.iter().collect();
    let zone = ZoneToPlace { outline_vehicle: zone, stays_on_floor: true, clear_of };
    feasible(floor, &[zone], HeadingRange::new(0.0, 0.0).unwrap()).unwrap()
}

#[track_caller]
fn check(region: &FeasibleRegion, area_mm2: f64, pieces: usize, holes: usize) {
    assert!((region.area_mm2() - area_mm2).abs() < 1e-3, "{} mm2", region.area_mm2());
    let found_holes: usize = region.pieces().iter().map(|piece| piece.holes().len()).sum();
    assert_eq!((region.pieces().len(), found_holes), (pieces, holes));
}

#[test]
fn a_column_in_a_hall_leaves_a_hole() {
    // Plane geometry: a square of 2 m in a hall of 10 m, a column of 0.5 m in its middle.
    let column = rectangle(4_750.0, 4_750.0, 500.0, 500.0);
    let region = region_of(
        &rectangle(0.0, 0.0, 1e4, 1e4),
        rectangle(-1e3, -1e3, 2e3, 2e3),
        std::slice::from_ref(&column),
    );
    check(&region, 8e3 * 8e3 - 2.5e3 * 2.5e3, 1, 1);
}

#[test]
fn a_column_may_stand_in_the_notch_of_a_zone() {
    // A U of 3 m with a notch 1 m wide and 2 m deep, a column of 0.4 m: the sum is a square of
    // 3.4 m with a notch 0.6 m wide and 2 m deep.
    let u_shape = polygon(&[
        (0.0, 0.0),
        (3e3, 0.0),
        (3e3, 3e3),
        (2e3, 3e3),
        (2e3, 1e3),
        (1e3, 1e3),
        (1e3, 3e3),
        (0.0, 3e3),
    ]);
    let column = rectangle(9_800.0, 9_800.0, 400.0, 400.0);
    let region = region_of(&rectangle(0.0, 0.0, 2e4, 2e4), u_shape, std::slice::from_ref(&column));
    check(&region, 17e3 * 17e3 - (3.4e3 * 3.4e3 - 0.6e3 * 2e3), 1, 1);
    let around_the_column = PointFloor { x_mm: 8_500.0, y_mm: 8_300.0 };
    assert!(region.contains(around_the_column));
}

#[rstest]
#[case::a_metre_to_spare(3_000.0, 3e6, 1)]
#[case::a_millimetre_to_spare(2_001.0, 3e3, 1)]
#[case::a_hundredth_of_a_millimetre_to_spare(2_000.01, 30.0, 1)]
#[case::as_wide_as_the_bay(2_000.0, 0.0, 0)]
#[case::wider_than_the_bay(1_999.0, 0.0, 0)]
#[case::far_larger_than_the_bay(10.0, 0.0, 0)]
fn a_zone_of_two_metres_in_a_bay(
    #[case] width_mm: f64,
    #[case] area_mm2: f64,
    #[case] pieces: usize,
) {
    let bay = rectangle(0.0, 0.0, 7e3, width_mm);
    check(&region_of(&bay, rectangle(-3e3, -1e3, 4e3, 2e3), &[]), area_mm2, pieces, 0);
}

#[test]
fn a_zone_that_only_keeps_clear_of_metal_may_reach_over_the_edge() {
    let bay = rectangle(0.0, 0.0, 6e3, 5e3);
    let body = ZoneToPlace {
        outline_vehicle: rectangle(-3e3, -1e3, 4e3, 2e3),
        stays_on_floor: true,
        clear_of: vec![],
    };
    let locker = rectangle(6e3, 0.0, 1e3, 2e3);
    let ahead = ZoneToPlace {
        outline_vehicle: rectangle(1e3, -1e3, 2e3, 2e3),
        stays_on_floor: false,
        clear_of: vec![&locker],
    };
    let region = feasible(&bay, &[body, ahead], HeadingRange::new(0.0, 0.0).unwrap()).unwrap();
    // The body alone may stand at x 3 to 5 m and y 1 to 4 m; where the locker is ahead (y below
    // 3 m), the zone ahead ends in front of it only for x up to 3 m.
    check(&region, 2e3 * 1e3, 1, 0);
}

#[test]
fn what_has_no_answer_is_refused() {
    let bay = rectangle(0.0, 0.0, 6e3, 5e3);
    let straight = HeadingRange::new(0.0, 0.0).unwrap();
    assert_eq!(feasible(&bay, &[], straight).unwrap_err().list()[0].field, "zones");
    let zone = ZoneToPlace {
        outline_vehicle: rectangle(0.0, 0.0, 1e3, 1e3),
        stays_on_floor: true,
        clear_of: vec![&bay; ZONE_OBSTRUCTIONS_MAX + 1],
    };
    let zones = vec![zone; ZONES_PLACED_MAX + 1];
    let faults = feasible(&bay, &zones, straight).unwrap_err();
    assert_eq!(faults.list()[0].field, "zones");
    assert_eq!(faults.list()[1].field, "zones[0].clear_of");
    assert_eq!(HeadingRange::new(f64::NAN, 0.0).unwrap_err().list()[0].field, "heading_deg");
    for tolerance_deg in [-0.1, 10.1, f64::NAN] {
        let faults = HeadingRange::new(0.0, tolerance_deg).unwrap_err();
        assert_eq!(faults.list()[0].field, "tolerance_deg");
    }
}

#[test]
fn the_most_central_position_is_as_far_from_everything_as_can_be() {
    let room = rectangle(0.0, 0.0, 1e4, 6e3);
    let region = region_of(&room, rectangle(-500.0, -500.0, 1e3, 1e3), &[]);
    let at = region.most_central().unwrap();
    // The region is 9 by 5 m, so nothing is farther than 2.5 m from its edge.
    assert!(region.clearance_mm(at) >= 2_500.0 - CENTRE_PRECISION_MM);
    assert!((region.clearance_mm(PointFloor { x_mm: 0.0, y_mm: 3e3 }) + 500.0).abs() < 1e-6);
    let nearest = region.nearest_to(PointFloor { x_mm: 0.0, y_mm: 3e3 }).unwrap();
    assert!((nearest.x_mm - 500.0).abs() < 1e-6 && (nearest.y_mm - 3e3).abs() < 1e-6);
    let empty = FeasibleRegion::default();
    assert!(empty.most_central().is_none() && empty.nearest_to(at).is_none());
    assert!(empty.clearance_mm(at).is_infinite());
}

/// A shop and a vehicle's zones, as outlines that can be turned and moved.
#[derive(Debug, Clone)]
struct Scene {
    floor: Outline,
    obstructions: Vec<Outline>,
    zones: Vec<Outline>,
    heading_deg: f64,
}

impl Scene {
    fn region(&self, tolerance_deg: f64) -> FeasibleRegion {
        let obstructions: Vec<_> = self.obstructions.iter().map(|one| polygon(one)).collect();
        let zones: Vec<_> = self
            .zones
            .iter()
            .map(|zone| ZoneToPlace {
                outline_vehicle: polygon(zone),
                stays_on_floor: true,
                clear_of: obstructions.iter().collect(),
            })
            .collect();
        let headings = HeadingRange::new(self.heading_deg, tolerance_deg).unwrap();
        feasible(&polygon(&self.floor), &zones, headings).unwrap()
    }

    /// Whether every zone lies on free floor, by placing each and overlaying it with everything.
    fn stands(&self, at: PointFloor, heading_deg: f64) -> bool {
        let pose = PoseFloorDraft { x_mm: at.x_mm, y_mm: at.y_mm, heading_deg };
        let pose = PoseFloor::new(pose).unwrap();
        let floor = polygon(&self.floor);
        self.zones.iter().all(|zone| {
            let on_floor = |(x_mm, y_mm): &(f64, f64)| {
                pose.to_floor(OffsetVehicle { x_mm: *x_mm, y_mm: *y_mm })
            };
            let placed = Polygon::from_simple(zone.iter().map(on_floor).collect());
            part_outside(&placed, &floor).area_mm2() < 1e-3
                && self
                    .obstructions
                    .iter()
                    .all(|one| common_part(&placed, &polygon(one)).area_mm2() < 1e-3)
        })
    }

    /// Floor and obstructions turned around the floor's origin and moved, the heading with them.
    fn moved(&self, angle_deg: f64, by: (f64, f64)) -> Self {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let place = |outline: &Outline| -> Outline {
            let turn = |(x, y): &(f64, f64)| (cos * x - sin * y + by.0, sin * x + cos * y + by.1);
            outline.iter().map(turn).collect()
        };
        Self {
            floor: place(&self.floor),
            obstructions: self.obstructions.iter().map(place).collect(),
            zones: self.zones.clone(),
            heading_deg: (self.heading_deg + angle_deg) % 360.0,
        }
    }
}

/// A star around a point: simple, and convex or not as its radii come out.
fn star(radius_mm: std::ops::Range<f64>, corners: usize) -> impl Strategy<Value = Outline> {
    prop::collection::vec(radius_mm, corners).prop_map(|radii| {
        let count = f64::from(u32::try_from(radii.len()).unwrap());
        let corner = |(at, radius): (usize, f64)| {
            let angle = f64::from(u32::try_from(at).unwrap()) / count * std::f64::consts::TAU;
            (radius * angle.cos(), radius * angle.sin())
        };
        radii.into_iter().enumerate().map(corner).collect()
    })
}

fn moved_by(outline: Outline, x: f64, y: f64) -> Outline {
    outline.into_iter().map(|(u, v)| (u + x, v + y)).collect()
}

fn floors() -> impl Strategy<Value = Outline> {
    let (w, h) = (9e3, 8e3);
    let angled = (1e3..3e3_f64, 1e3..3e3_f64);
    prop_oneof![
        Just(vec![(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]),
        angled.clone().prop_map(move |(a, b)| {
            vec![
                (0.0, 0.0),
                (w, 0.0),
                (w, h),
                (w - a, h),
                (w - a, h - b),
                (a, h - b),
                (a, h),
                (0.0, h),
            ]
        }),
        angled.prop_map(move |(a, b)| vec![(a, 0.0), (w, b), (w - b, h), (0.0, h - a)]),
        star(3.5e3..6e3, 9).prop_map(move |star| moved_by(star, w / 2.0, h / 2.0)),
    ]
}

fn scenes() -> impl Strategy<Value = Scene> {
    let obstruction = (star(150.0..700.0, 6), 0.0..9e3_f64, 0.0..8e3_f64)
        .prop_map(|(outline, x, y)| moved_by(outline, x, y));
    let small = (star(300.0..1_500.0, 7), -800.0..800.0_f64, -500.0..500.0_f64);
    let large = (star(300.0..2_800.0, 7), -1_500.0..1_500.0_f64, -500.0..500.0_f64);
    let zone = prop_oneof![small, large].prop_map(|(outline, x, y)| moved_by(outline, x, y));
    let quarter = prop::sample::select(vec![0.0, 90.0, 180.0, 270.0]);
    (
        floors(),
        prop::collection::vec(obstruction, 0..4),
        prop::collection::vec(zone, 1..3),
        prop_oneof![quarter, 0.0..360.0_f64],
    )
        .prop_map(|(floor, obstructions, zones, heading_deg)| Scene {
            floor,
            obstructions,
            zones,
            heading_deg,
        })
}

fn points() -> impl Strategy<Value = Vec<PointFloor>> {
    let point = (0.0..9e3_f64, 0.0..8e3_f64).prop_map(|(x_mm, y_mm)| PointFloor { x_mm, y_mm });
    prop::collection::vec(point, 40)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    #[test]
    fn inside_nothing_collides_and_outside_something_does(scene in scenes(), points in points()) {
        let region = scene.region(0.0);
        for at in points {
            let clearance_mm = region.clearance_mm(at);
            // On the edge the two ways may round differently.
            if clearance_mm.abs() > 1.0 {
                prop_assert_eq!(region.contains(at), clearance_mm > 0.0);
                prop_assert_eq!(scene.stands(at, scene.heading_deg), clearance_mm > 0.0, "{:?}", at);
            }
        }
        if let Some(at) = region.most_central() {
            prop_assert!(scene.stands(at, scene.heading_deg));
        }
    }

    #[test]
    fn a_larger_obstruction_never_makes_the_region_larger(
        scene in scenes(), grows in 1.0..2.0_f64, points in points(),
    ) {
        let mut larger = scene.clone();
        for outline in &mut larger.obstructions {
            let count = f64::from(u32::try_from(outline.len()).unwrap());
            // The middle of the corners lies in each of these stars or is not far from it; what is
            // grown around it may still leave part of the old one, which therefore stays as well.
            let (x, y) = outline.iter().fold((0.0, 0.0), |sum, at| (sum.0 + at.0, sum.1 + at.1));
            let (x, y) = (x / count, y / count);
            for corner in outline {
                *corner = (x + grows * (corner.0 - x), y + grows * (corner.1 - y));
            }
        }
        larger.obstructions.extend(scene.obstructions.clone());
        let (before, after) = (scene.region(0.0), larger.region(0.0));
        prop_assert!(after.area_mm2() <= before.area_mm2() + 1e-3);
        for at in points {
            prop_assert!(!after.contains(at) || before.contains(at));
        }
    }

    #[test]
    fn turning_and_moving_everything_changes_nothing(
        scene in scenes(), angle_deg in 0.0..360.0_f64,
        x in -9e4..9e4_f64, y in -9e4..9e4_f64, points in points(),
    ) {
        let moved = scene.moved(angle_deg, (x, y));
        let (here, there) = (scene.region(0.0), moved.region(0.0));
        // A hundredth of a square millimetre for each metre around is rounding.
        prop_assert!((here.area_mm2() - there.area_mm2()).abs() < 1.0);
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        for at in points {
            let to = PointFloor {
                x_mm: cos * at.x_mm - sin * at.y_mm + x,
                y_mm: sin * at.x_mm + cos * at.y_mm + y,
            };
            let (before, after) = (here.clearance_mm(at), there.clearance_mm(to));
            // A piece of hardly any width may come or go by rounding, and with it the distance to the
            // nearest piece from outside; inside, the clearance stays.
            if before.max(after) > 0.01 {
                prop_assert!((before - after).abs() < 0.01, "{before} {after}");
            }
        }
    }

    #[test]
    fn within_a_tolerance_the_zones_hold_at_every_heading(
        scene in scenes(), tolerance_deg in 0.1..8.0_f64, share in -1.0..1.0_f64, points in points(),
    ) {
        let region = scene.region(tolerance_deg);
        let heading_deg = (scene.heading_deg + share * tolerance_deg) % 360.0;
        for at in points {
            if region.contains(at) {
                prop_assert!(scene.stands(at, heading_deg), "{at:?}");
            }
        }
    }

}

proptest! {
    // Each case turns a zone two hundred times.
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn a_swept_zone_reaches_hardly_beyond_the_turned_ones(
        outline in star(300.0..1_800.0, 7), x in -6e3..6e3_f64, tolerance_deg in 0.1..8.0_f64,
    ) {
        let zone = polygon(&moved_by(outline, x, 0.0));
        let straight = HeadingRange::new(30.0, 0.0).unwrap().straight;
        let turned: Vec<_> = (-100..=100)
            .map(|step| {
                let heading_deg = 30.0 + tolerance_deg * f64::from(step) / 100.0;
                let turned = HeadingRange::new(heading_deg, 0.0).unwrap().straight;
                swept(&zone, &turned, 0.0).remove(0)
            })
            .map(|ring| Polygon::from_simple(ring.into_iter().map(grid::from_grid).collect()))
            .collect();
        // Between two of the headings tried a point 7.8 m away moves by less than this.
        let step_mm = 7_800.0 * (tolerance_deg / 100.0).to_radians();
        for corner in swept(&zone, &straight, tolerance_deg).into_iter().flatten() {
            let corner = grid::from_grid(corner);
            let beyond_mm = turned
                .iter()
                .map(|one| {
                    let distance_mm = one.edge_nearest_to_point(corner).distance_mm;
                    if one.contains(corner) { 0.0 } else { distance_mm }
                })
                .fold(f64::INFINITY, f64::min);
            prop_assert!(beyond_mm <= SWEEP_EXCESS_MM_MAX + step_mm, "{beyond_mm} mm");
        }
    }
}

#[test]
fn the_scenes_of_the_properties_show_every_shape() {
    use proptest::strategy::ValueTree as _;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let (mut empty, mut split, mut holed) = (0, 0, 0);
    for _ in 0..300 {
        let region = scenes().new_tree(&mut runner).unwrap().current().region(0.0);
        empty += usize::from(region.is_empty());
        split += usize::from(region.pieces().len() > 1);
        holed += usize::from(region.pieces().iter().any(|piece| !piece.holes().is_empty()));
    }
    assert!(empty > 1 && split > 5 && holed > 5, "{empty} empty, {split} split, {holed} holed");
}

/// A comb of 20 m with so many teeth, set over by `over_mm`.
fn comb(teeth: u32, over_mm: f64) -> Polygon {
    let (step_mm, right_mm) = (20e3 / f64::from(teeth), 20e3 + over_mm);
    let mut outline = vec![(over_mm, 0.0), (right_mm, 0.0), (right_mm, 500.0)];
    for left_mm in (0..teeth).rev().map(|tooth| over_mm + step_mm * f64::from(tooth)) {
        let (from, to) = (left_mm + 0.7 * step_mm, left_mm + 0.2 * step_mm);
        outline.extend([(from, 500.0), (from, 1_500.0), (to, 1_500.0), (to, 500.0)]);
    }
    outline.push((over_mm, 500.0));
    Polygon::new(&outline).unwrap()
}

#[test]
fn what_would_take_minutes_to_sum_up_is_refused() {
    let stands: Vec<_> = (0..50).map(|at| comb(100, 11.0 * f64::from(at))).collect();
    let clear_of = stands.iter().collect();
    let zone = ZoneToPlace { outline_vehicle: comb(20, 0.0), stays_on_floor: true, clear_of };
    let room = Polygon::new(&[(-9e4, -9e4), (9e4, -9e4), (9e4, 9e4), (-9e4, 9e4)]).unwrap();
    let straight = HeadingRange::new(0.0, 0.0).unwrap();
    let faults = feasible(&room, std::slice::from_ref(&zone), straight).unwrap_err();
    assert_eq!(faults.list()[0].field, "zones");
    assert!(faults.to_string().contains("at most 250000"), "{faults}");
    // One of them is placed.
    let one = ZoneToPlace { clear_of: vec![&stands[0]], ..zone };
    assert!(!feasible(&room, &[one], straight).unwrap().is_empty());
}
