//! Midnight sun and polar night, and days on which nothing happens.

use super::*;

/// Near 70 degrees north.
fn far_north() -> Site {
    site(69.65, 18.96)
}

#[test]
fn the_midnight_sun_gives_one_window_without_end() {
    let june = window("2026-06-10T00:00:00Z", "2026-06-30T00:00:00Z");
    let light = road_daylight_windows(far_north(), Elevation::SUNRISE, june).unwrap();
    assert_eq!(light, WindowSet::from(june));
}

#[test]
fn the_polar_night_gives_none_and_twilight_for_some_hours() {
    let date = day("2026-12-21");
    let site = far_north();
    assert!(road_daylight_windows(site, Elevation::SUNRISE, date).unwrap().is_empty());
    let civil = Elevation::from_degrees(-6.0).unwrap();
    let twilight = road_daylight_windows(site, civil, date).unwrap();
    // Two hours before and behind noon, roughly: the sun stays 3 degrees below the horizon at noon.
    assert_eq!(twilight.iter().len(), 1);
    let hours = twilight.duration().as_seconds_f64() / 3_600.0;
    assert!((3.0..7.0).contains(&hours), "{hours}");
    assert!(twilight.contains(at("2026-12-21T10:42:00Z")));
}

#[test]
fn the_sun_comes_back_for_a_short_while_at_noon() {
    // The first sunrise of the year: by 16 January the sun's upper edge is seen, by 10 January not.
    let january = window("2026-01-01T00:00:00Z", "2026-02-01T00:00:00Z");
    let light = road_daylight_windows(far_north(), Elevation::SUNRISE, january).unwrap();
    let first = light.as_slice()[0];
    assert!(first.duration() < Duration::hours(2), "{first}");
    assert!(window("2026-01-12T00:00:00Z", "2026-01-18T00:00:00Z").covers(first), "{first}");
    // From then on a day each, every one longer.
    assert!(light.as_slice().windows(2).all(|pair| pair[0].duration() < pair[1].duration()));
}

#[test]
fn through_a_north_window_the_midnight_sun_shines_at_midnight_only() {
    // The window looks north: floor +y points south.
    let north = wall_window(0.0, 4_000.0, 0.0, 4_000.0);
    let track = SunTrack::new(far_north(), day("2026-06-21")).unwrap();
    let zone = volume([0.0, 4_000.0], [500.0, 9_000.0], 2_000.0);
    let lit = sunlit_windows(&track, bearing(180.0), &north, &zone);
    // Local midnight is about 22:46 UTC: the sun stands in the north before and behind it.
    assert!(lit.contains(at("2026-06-21T22:46:00Z")) && lit.contains(at("2026-06-21T00:30:00Z")));
    assert!(!lit.contains(at("2026-06-21T10:46:00Z")));
    assert!(lit.iter().all(|window| window.duration() < Duration::hours(13)));
}

#[test]
fn a_day_without_sun_is_free_of_sun_as_a_whole() {
    let date = day("2026-12-21");
    let zone = volume([0.0, 4_000.0], [500.0, 9_000.0], 2_000.0);
    let south = [wall_window(0.0, 4_000.0, 0.0, 4_000.0)];
    let sun_free = sun_free_windows(far_north(), bearing(0.0), &south, &[zone], date).unwrap();
    assert_eq!(sun_free, WindowSet::from(date));
}

#[rstest]
#[case::north_pole(90.0)]
#[case::south_pole(-90.0)]
fn the_poles_have_one_day_a_year(#[case] latitude_deg: f64) {
    let year = window("2026-01-01T00:00:00Z", "2027-01-01T00:00:00Z");
    let light = road_daylight_windows(site(latitude_deg, 0.0), Elevation::SUNRISE, year).unwrap();
    let days = light.duration().num_days();
    assert!((180..195).contains(&days), "{days}");
    assert!(light.iter().len() <= 2);
}
