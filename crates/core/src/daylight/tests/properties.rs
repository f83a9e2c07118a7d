//! What must hold for any shop: more openings mean less sun-free time, a closed blind means no sun,
//! and turning everything together changes nothing.

use super::*;

#[derive(Debug, Clone)]
struct Scene {
    latitude_deg: f64,
    bearing_deg: f64,
    walls: Vec<Wall>,
    zone: ([f64; 2], [f64; 2]),
    up_to_mm: f64,
    day: i64,
}

/// A window in one of the four walls of a room from (0, 0) to (10000, 8000).
#[derive(Debug, Clone, Copy)]
struct Wall {
    side: usize,
    share: f64,
    width_mm: f64,
    sill_mm: f64,
    skyline_deg: f64,
}

fn scene() -> impl Strategy<Value = Scene> {
    let wall = (0_usize..4, 0.0..1.0, 500.0..3e3, 0.0..3e3, 0.0..30.0).prop_map(
        |(side, share, width_mm, sill_mm, skyline_deg)| Wall {
            side,
            share,
            width_mm,
            sill_mm,
            skyline_deg,
        },
    );
    let zone = (500.0..4e3, 500.0..3e3, 5e2..5e3, 5e2..4e3)
        .prop_map(|(x, y, long, wide)| ([x, x + long], [y, y + wide]));
    let walls = prop::collection::vec(wall, 1..4);
    (-75.0..75.0, 0.0..360.0, walls, zone, 100.0..3e3, 0_i64..365).prop_map(
        |(latitude_deg, bearing_deg, walls, zone, up_to_mm, day)| Scene {
            latitude_deg,
            bearing_deg,
            walls,
            zone,
            up_to_mm,
            day,
        },
    )
}

/// A point turned counter-clockwise about the origin.
fn turned((x, y): (f64, f64), by_deg: f64) -> (f64, f64) {
    let (sin, cos) = by_deg.to_radians().sin_cos();
    (x * cos - y * sin, x * sin + y * cos)
}

impl Scene {
    fn period(&self) -> Window {
        let start = at("2026-01-01T00:00:00Z") + Duration::days(self.day);
        Window::new(start..start + Duration::days(1)).unwrap()
    }

    fn openings(&self, turned_deg: f64) -> Vec<Opening> {
        let (long, wide) = (10_000.0, 8_000.0);
        let sides = [
            ((0.0, 0.0), (1.0, 0.0), long, (0.0, -1.0)),
            ((long, 0.0), (0.0, 1.0), wide, (1.0, 0.0)),
            ((long, wide), (-1.0, 0.0), long, (0.0, 1.0)),
            ((0.0, wide), (0.0, -1.0), wide, (-1.0, 0.0)),
        ];
        let open = |wall: &Wall| {
            let ((x, y), (along_x, along_y), length, outward) = sides[wall.side];
            let from = wall.share * (length - wall.width_mm);
            let to = from + wall.width_mm;
            let end = |at: f64| turned((x + along_x * at, y + along_y * at), turned_deg);
            let open = opening(
                "W1",
                OpeningPlace::Wall {
                    base_mm: [end(from), end(to)],
                    sill_mm: wall.sill_mm,
                    head_mm: wall.sill_mm + 1_500.0,
                    outward_normal: turned(outward, turned_deg),
                },
            );
            with_horizon(&open, &[(0.0, wall.skyline_deg), (180.0, 0.0)])
        };
        self.walls.iter().map(open).collect()
    }

    fn zone(&self, turned_deg: f64) -> SunTarget {
        let ([x0, x1], [y0, y1]) = self.zone;
        let corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)].map(|at| turned(at, turned_deg));
        SunTarget::volume(&Polygon::new(&corners).unwrap(), self.up_to_mm).unwrap()
    }

    fn sun_free(&self, openings: &[Opening], zone: SunTarget, bearing_deg: f64) -> WindowSet {
        let site = site(self.latitude_deg, 15.0);
        sun_free_windows(site, bearing(bearing_deg), openings, &[zone], self.period()).unwrap()
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn another_opening_only_shrinks_the_sun_free_time(scene in scene()) {
        let openings = scene.openings(0.0);
        let all = scene.sun_free(&openings, scene.zone(0.0), scene.bearing_deg);
        let fewer = scene.sun_free(&openings[1..], scene.zone(0.0), scene.bearing_deg);
        prop_assert!(all.difference(&fewer).is_empty());
    }

    #[test]
    fn turning_shop_openings_and_zones_together_changes_nothing(
        scene in scene(),
        turn_deg in -180.0..180.0,
    ) {
        let (openings, zone) = (scene.openings(0.0), scene.zone(0.0));
        let as_drawn = scene.sun_free(&openings, zone, scene.bearing_deg);
        // The drawing turned counter-clockwise: its +y then lies that much further clockwise.
        let bearing_deg = (scene.bearing_deg + turn_deg) % 360.0;
        let turned = scene.sun_free(&scene.openings(turn_deg), scene.zone(turn_deg), bearing_deg);
        // Rounding may move an edge over the middle of a second.
        let edges = as_drawn.iter().len().max(turned.iter().len()) * 2;
        let apart = as_drawn.difference(&turned).union(&turned.difference(&as_drawn));
        prop_assert!(apart.duration() <= Duration::seconds(i64::try_from(edges).unwrap()));
    }

    #[test]
    fn a_closed_blind_or_door_lets_no_sun_in(scene in scene()) {
        let period = WindowSet::from(scene.period());
        let closed = scene.openings(0.0).into_iter().map(|o| o.with_blind(BlindState::Closed));
        let closed: Vec<_> = closed.collect();
        prop_assert_eq!(&scene.sun_free(&closed, scene.zone(0.0), scene.bearing_deg), &period);
        let shut = scene.openings(0.0).into_iter().map(|o| o.with_door(Some(DoorState::ClosedOpaque)));
        let shut: Vec<_> = shut.collect();
        prop_assert_eq!(&scene.sun_free(&shut, scene.zone(0.0), scene.bearing_deg), &period);
    }

    #[test]
    fn a_higher_zone_and_a_lower_skyline_only_shrink_the_sun_free_time(scene in scene()) {
        let openings = scene.openings(0.0);
        let as_is = scene.sun_free(&openings, scene.zone(0.0), scene.bearing_deg);
        let higher = Scene { up_to_mm: scene.up_to_mm + 500.0, ..scene.clone() };
        let higher = scene.sun_free(&openings, higher.zone(0.0), scene.bearing_deg);
        prop_assert!(higher.difference(&as_is).is_empty());
        let bare: Vec<_> = openings.iter().map(|open| with_horizon(open, &[(0.0, 0.0)])).collect();
        let bare = scene.sun_free(&bare, scene.zone(0.0), scene.bearing_deg);
        prop_assert!(bare.difference(&as_is).is_empty());
    }
}

#[test]
fn what_was_assumed_of_blinds_and_doors_is_shown() {
    let door = wall_window(0.0, 3_000.0, 0.0, 3_000.0)
        .with_door(Some(DoorState::Open))
        .with_blind(BlindState::Open);
    let track = SunTrack::new(site(44.65, -63.58), day("2026-03-20")).unwrap();
    let zone = volume([0.0, 3_000.0], [1_000.0, 6_000.0], 2_000.0);
    let sunlight = Sunlight::new(&track, bearing(0.0), &[door], &[zone]);
    let shown: Vec<_> = sunlight.assumptions().iter().map(ToString::to_string).collect();
    assert_eq!(shown, ["assumed of W1: the blind is open", "assumed of W1: the door is open"]);
    // The door is named as the way the sun takes.
    let [through] = sunlight.through() else { panic!("{sunlight:?}") };
    assert_eq!((through.opening.as_str(), through.target), ("W1", 0));
    assert_eq!(sunlight.sun_free().union(&sunlight.sunlit()), WindowSet::from(track.period()));
    check_near(
        &through.windows.clipped(window("2026-03-20T16:00:00Z", "2026-03-20T17:00:00Z")),
        &[("2026-03-20T16:00:00Z", "2026-03-20T17:00:00Z")],
        0,
    );
}
