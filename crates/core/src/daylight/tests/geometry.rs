//! Beams against a second way of finding them, and the search against looking at every second.

use super::super::beam::Beam;
use super::super::sun::{refraction_deg, true_position};
use super::super::track::SkyRegion as _;
use super::*;
use crate::axes::PointFloor;
use crate::region::common_part;

/// Whether a window at y = 0 that looks down the drawing lights a zone at a height: the glass above
/// that height, moved along the beam onto it, shares an area with the zone.
fn lit_by_projection(
    glass: [f64; 4],
    zone: &Polygon,
    height_mm: f64,
    sun: SunPosition,
    bearing_deg: f64,
) -> bool {
    let [from_x, to_x, sill_mm, head_mm] = glass;
    let elevation = sun.elevation_apparent().degrees().to_radians();
    // From floor +y clockwise to the sun.
    let from_y = (sun.azimuth().degrees() - bearing_deg).to_radians();
    let low = sill_mm.max(height_mm);
    if elevation <= 0.0 || from_y.cos() >= 0.0 || head_mm <= low {
        return false;
    }
    let moved = |x: f64, z: f64| {
        let reach = (z - height_mm) / elevation.tan();
        PointFloor { x_mm: x - reach * from_y.sin(), y_mm: -reach * from_y.cos() }
    };
    let beam = [moved(from_x, low), moved(to_x, low), moved(to_x, head_mm), moved(from_x, head_mm)];
    common_part(&Polygon::from_simple(beam.to_vec()), zone).has_area()
}

#[rstest]
#[case::square_zone(0.0, 50.0, &[(0.0, 2e3), (4e3, 2e3), (4e3, 7e3), (0.0, 7e3)])]
#[case::turned_shop(77.0, 44.65, &[(0.0, 2e3), (4e3, 2e3), (4e3, 7e3), (0.0, 7e3)])]
#[case::corner_missing(
    350.0, 28.6, &[(-2e3, 1e3), (3e3, 1e3), (3e3, 2e3), (-1e3, 2e3), (-1e3, 9e3), (-2e3, 9e3)])]
#[case::comb_before_the_window(
    20.0, -33.9, &[(0.0, 5e2), (5e3, 5e2), (5e3, 8e3), (4e3, 8e3), (4e3, 1e3), (1e3, 1e3),
                   (1e3, 8e3), (0.0, 8e3)])]
#[case::through_the_wall(
    310.0, 1.35, &[(-4e3, -2e3), (4e3, -2e3), (4e3, 3e3), (-4e3, 3e3)])]
fn a_level_zone_is_lit_when_the_projected_glass_meets_it(
    #[case] bearing_deg: f64,
    #[case] latitude_deg: f64,
    #[case] zone: &[(f64, f64)],
) {
    let glass = [1_000.0, 2_500.0, 900.0, 2_400.0];
    let site = site(latitude_deg, 8.0);
    let zone = Polygon::new(zone).unwrap();
    for (date, height_mm) in [("2026-03-15", 0.0), ("2026-06-21", 1_200.0), ("2026-12-01", 700.0)] {
        let target = SunTarget::level(&zone, height_mm).unwrap();
        let track = SunTrack::new(site, day(date)).unwrap();
        let window = wall_window(glass[0], glass[1], glass[2], glass[3]);
        let lit = sunlit_windows(&track, bearing(bearing_deg), &window, &target);
        let edges: Vec<_> = lit.iter().flat_map(|window| [window.start(), window.end()]).collect();
        for second in (0..86_400).step_by(211) {
            let instant = track.period().start() + Duration::seconds(second);
            if edges.iter().any(|edge| (*edge - instant).abs() < Duration::seconds(3)) {
                continue;
            }
            let sun = sun_position(&site, instant).unwrap();
            // The beam starts at the wall, so that it meets nothing outdoors.
            let expected = lit_by_projection(glass, &zone, height_mm, sun, bearing_deg);
            assert_eq!(lit.contains(instant), expected, "{instant}, zone at {height_mm} mm");
        }
    }
}

#[test]
fn a_volume_is_lit_when_one_of_its_levels_is() {
    let track = SunTrack::new(site(51.5, 0.0), day("2026-04-10")).unwrap();
    let outline = rectangle([-1_000.0, 2_000.0], [4_000.0, 6_000.0]);
    let window = wall_window(0.0, 1_500.0, 400.0, 1_800.0);
    let volume = SunTarget::volume(&outline, 1_500.0).unwrap();
    let lit = sunlit_windows(&track, bearing(80.0), &window, &volume);
    let levels: WindowSet = (0..=150)
        .flat_map(|step| {
            let level = SunTarget::level(&outline, f64::from(step) * 10.0).unwrap();
            let lit = sunlit_windows(&track, bearing(80.0), &window, &level);
            lit.iter().collect::<Vec<_>>()
        })
        .collect();
    assert!(levels.difference(&lit).is_empty());
    assert!(lit.difference(&levels).duration() < Duration::seconds(60), "{lit:?} {levels:?}");
    // The floor alone is lit for a shorter time: the volume catches what passes over it.
    let floor = SunTarget::level(&outline, 0.0).unwrap();
    let on_floor = sunlit_windows(&track, bearing(80.0), &window, &floor);
    assert!(on_floor.duration() < lit.duration());
}

#[test]
fn a_skylight_lights_what_lies_below_it_and_not_what_stands_above() {
    let outline_mm = vec![(0.0, 0.0), (2e3, 0.0), (2e3, 1e3), (1e3, 1e3), (1e3, 2e3), (0.0, 2e3)];
    let skylight = opening("R1", OpeningPlace::Roof { outline_mm, height_mm: 5_000.0 });
    let site = site(0.0, 0.0);
    // At the equinox the sun passes through the zenith of the equator: straight down at noon.
    let track = SunTrack::new(site, day("2026-03-20")).unwrap();
    let noon = at("2026-03-20T12:07:30Z");
    let lit_at_noon = |x: [f64; 2], y: [f64; 2], up_to_mm: f64| {
        sunlit_windows(&track, bearing(0.0), &skylight, &volume(x, y, up_to_mm)).contains(noon)
    };
    assert!(lit_at_noon([500.0, 900.0], [1_500.0, 1_900.0], 1_000.0));
    assert!(!lit_at_noon([1_300.0, 1_900.0], [1_300.0, 1_900.0], 1_000.0), "the missing corner");
    assert!(!lit_at_noon([3_000.0, 4_000.0], [500.0, 900.0], 1_000.0), "beside it");
    let level_above = SunTarget::level(&rectangle([0.0, 1e3], [0.0, 1e3]), 6_000.0).unwrap();
    assert!(sunlit_windows(&track, bearing(0.0), &skylight, &level_above).is_empty());
}

#[test]
fn a_sensor_sees_the_sun_through_the_window_within_its_view_only() {
    let site = site(44.65, -63.58);
    let track = SunTrack::new(site, day("2026-03-20")).unwrap();
    let noon = at("2026-03-20T16:21:00Z");
    let sun = sun_position(&site, noon).unwrap();
    // The wall looks south (floor +y is north); the sun stands in its middle from the apex.
    let rise = 4_000.0 * sun.elevation_apparent().degrees().to_radians().tan();
    let window = wall_window(-500.0, 500.0, 1_200.0 + rise - 400.0, 1_200.0 + rise + 400.0);
    let view = SensorView {
        x_mm: 0.0,
        y_mm: 4_000.0,
        height_mm: 1_200.0,
        heading_deg: 270.0,
        pitch_deg: 0.0,
        half_angle_horizontal_deg: 30.0,
        half_angle_vertical_deg: 60.0,
    };
    let sees = |view: SensorView| {
        let sensor = SunTarget::sensor(view).unwrap();
        sunlit_windows(&track, bearing(0.0), &window, &sensor)
    };
    // Seen across the 1000 mm of the window at 4000 mm: some 14 degrees, about an hour.
    assert!(sees(view).contains(noon));
    assert!(sees(view).duration() < Duration::minutes(80));
    let elevation_deg = sun.elevation_apparent().degrees();
    assert!(
        !sees(SensorView { half_angle_vertical_deg: elevation_deg - 1.0, ..view }).contains(noon)
    );
    assert!(
        sees(SensorView { pitch_deg: 20.0, half_angle_vertical_deg: elevation_deg - 1.0, ..view })
            .contains(noon)
    );
    assert!(sees(SensorView { heading_deg: 90.0, ..view }).is_empty(), "it looks away");
    assert!(sees(SensorView { heading_deg: 220.0, ..view }).is_empty(), "it looks aside");
    assert!(sees(SensorView { y_mm: -4_000.0, heading_deg: 90.0, ..view }).is_empty(), "outdoors");
}

#[test]
fn a_skyline_takes_away_exactly_the_time_below_it() {
    let site = site(44.65, -63.58);
    let track = SunTrack::new(site, day("2026-09-10")).unwrap();
    let open = wall_window(-3_000.0, 3_000.0, 0.0, 4_000.0);
    let zone = volume([-3_000.0, 3_000.0], [10.0, 6_000.0], 2_000.0);
    let free = sunlit_windows(&track, bearing(0.0), &open, &zone);
    // A tower with upright sides in the south, a roof that falls to the west, else a low horizon.
    let points = [
        (0.0, 5.0),
        (170.0, 5.0),
        (170.01, 80.0),
        (185.0, 80.0),
        (185.01, 5.0),
        (200.0, 40.0),
        (260.0, 8.0),
    ];
    let masked_opening = with_horizon(&open, &points);
    let masked = sunlit_windows(&track, bearing(0.0), &masked_opening, &zone);
    assert!(masked.difference(&free).is_empty());
    assert!(masked.iter().len() >= 2, "{masked:?}");
    let skyline = HorizonProfile::new(&points).unwrap();
    let edges: Vec<_> = masked.iter().flat_map(|window| [window.start(), window.end()]).collect();
    for second in (0..86_400).step_by(97) {
        let instant = track.period().start() + Duration::seconds(second);
        if edges.iter().any(|edge| (*edge - instant).abs() < Duration::seconds(3)) {
            continue;
        }
        let sun = sun_position(&site, instant).unwrap();
        let above = sun.elevation_apparent() > skyline.elevation_at(sun.azimuth());
        assert_eq!(masked.contains(instant), free.contains(instant) && above, "{instant}");
    }
    let walled_in = with_horizon(&open, &[(0.0, 90.0)]);
    assert!(sunlit_windows(&track, bearing(0.0), &walled_in, &zone).is_empty());
}

#[rstest]
#[case::slit(1.0, 1.0, 44.65, &[])]
#[case::slit_of_the_far_north(1.0, 2.0, 69.65, &[])]
#[case::under_the_zenith(300.0, 200.0, 1.35, &[])]
#[case::picket_fence(
    1_000.0, 800.0, 50.0,
    &[(0.0, 0.0), (150.0, 0.0), (150.05, 50.0), (150.1, 0.0), (160.0, 0.0), (160.02, 60.0),
      (160.04, 0.0), (180.0, 38.5), (200.0, 0.0)])]
fn the_search_finds_what_looking_at_every_second_finds(
    #[case] opening_mm: f64,
    #[case] zone_mm: f64,
    #[case] latitude_deg: f64,
    #[case] skyline: &[(f64, f64)],
) {
    let site = site(latitude_deg, 10.0);
    let track = SunTrack::new(site, day("2026-03-21")).unwrap();
    // The wall is turned so that the sun shines through it aslant late in the morning, and the
    // opening placed where it is then seen from the zone.
    let sun = sun_position(&site, at("2026-03-21T11:00:00Z")).unwrap();
    let bearing = Azimuth::from_degrees(sun.azimuth().degrees() - 160.0).unwrap();
    let aslant = 20.0_f64.to_radians();
    let x = 300.0 + 1_000.0 * aslant.tan();
    let z = 1_000.0 / aslant.cos() * sun.elevation_apparent().degrees().to_radians().tan();
    let open = wall_window(x, x + opening_mm, z, z + opening_mm);
    let open = if skyline.is_empty() { open } else { with_horizon(&open, skyline) };
    let target = volume([300.0, 300.0 + zone_mm], [1_000.0, 1_000.0 + zone_mm], zone_mm);
    let beam = Beam::new(&site, bearing, &open, &target).unwrap();
    let found = track.windows_where(&beam);
    let seconds: WindowSet = (0..86_400)
        .filter(|second| {
            let middle = track.period().start() + Duration::seconds(*second);
            beam.holds_within(&track.seen_half_a_second_after(middle), 0.0) == Some(true)
        })
        .map(|second| {
            let start = track.period().start() + Duration::seconds(second);
            Window::new(start..start + Duration::seconds(1)).unwrap()
        })
        .collect();
    assert_eq!(found, seconds);
    assert!(!found.is_empty());
}

#[rstest]
#[case::middle(44.65)]
#[case::equator(0.0)]
#[case::far_north(78.2)]
#[case::pole(90.0)]
fn positions_between_nodes_are_those_of_the_algorithm(#[case] latitude_deg: f64) {
    let site = site(latitude_deg, -63.58);
    for date in ["2026-03-20", "2026-06-21", "2026-10-30"] {
        let track = SunTrack::new(site, day(date)).unwrap();
        let mut before: Option<[f64; 3]> = None;
        for second in (0..86_400).step_by(37) {
            let instant = track.period().start() + Duration::seconds(second);
            let seen = track.seen_half_a_second_after(instant);
            let (azimuth_deg, elevation_deg) =
                true_position(&site, instant + Duration::milliseconds(500)).unwrap();
            let off_deg = seen.elevation_true_rad.to_degrees() - elevation_deg;
            assert!(off_deg.abs() < 2e-7, "{off_deg:e} degrees at {instant}");
            if elevation_deg > -0.5 {
                let bent_deg = elevation_deg + refraction_deg(&site, elevation_deg);
                let (up, level) = bent_deg.to_radians().sin_cos();
                let (east, north) = azimuth_deg.to_radians().sin_cos();
                let off = [level * east, level * north, up]
                    .iter()
                    .zip(seen.apparent)
                    .fold(0.0, |most: f64, (a, b)| most.max((a - b).abs()));
                assert!(off.to_degrees() < 2e-7, "{off:e} at {instant}");
            }
            // Far below the horizon nothing depends on the direction.
            if let Some(before) = before.filter(|_| elevation_deg > -10.0) {
                let chord = before
                    .iter()
                    .zip(seen.apparent)
                    .fold(0.0, |sum, (a, b)| sum + (a - b) * (a - b))
                    .sqrt();
                assert!(chord < 37.0 * 7.5e-5, "{chord} in 37 s before {instant}");
            }
            before = Some(seen.apparent);
        }
    }
}

#[test]
fn windows_begin_and_end_with_a_period_that_has_broken_seconds() {
    let start = at("2026-06-21T11:59:59.250Z");
    let period = Window::new(start..at("2026-06-21T12:00:03.500Z")).unwrap();
    let light = road_daylight_windows(site(51.5, 0.0), Elevation::SUNRISE, period).unwrap();
    assert_eq!(light, WindowSet::from(period));
}
