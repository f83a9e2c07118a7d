//! What is no site, period, opening or target is refused with every fault; nothing panics.

use super::*;
use crate::fault::Faults;

#[track_caller]
fn check_fields<T: std::fmt::Debug>(result: Result<T, Faults>, expected: &[&str]) {
    let faults = result.unwrap_err();
    let fields: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
    assert_eq!(fields, expected);
}

#[test]
fn a_site_is_refused_with_every_field() {
    check_fields(
        Site::new(SiteDraft {
            latitude_deg: f64::NAN,
            longitude_deg: 181.0,
            elevation_m: f64::INFINITY,
            pressure_mbar: -1.0,
            temperature_c: -273.0,
            delta_t_s: 1e9,
        }),
        &[
            "latitude_deg",
            "longitude_deg",
            "elevation_m",
            "pressure_mbar",
            "temperature_c",
            "delta_t_s",
        ],
    );
}

#[test]
fn a_period_too_long_or_too_far_is_refused() {
    let site = site(40.0, 0.0);
    let long = window("2026-01-01T00:00:00Z", "2027-06-01T00:00:00Z");
    check_fields(SunTrack::new(site, long), &["period"]);
    let far = window("2200-12-31T00:00:00Z", "2201-01-02T00:00:00Z");
    check_fields(SunTrack::new(site, far), &["period"]);
    check_fields(sun_position(&site, DateTime::<Utc>::MAX_UTC), &["instant"]);
    check_fields(sun_position(&site, DateTime::<Utc>::MIN_UTC), &["instant"]);
}

#[rstest]
#[case::turned_over([(0.0, 0.0), (1e3, 0.0)], 2e3, 1e3, (0.0, -1.0), &["head_mm"])]
#[case::no_length([(1.0, 2.0), (1.0, 2.0)], 1e3, 2e3, (0.0, -1.0), &["base_mm"])]
#[case::no_normal([(0.0, 0.0), (1e3, 0.0)], 1e3, 2e3, (0.0, 0.0), &["outward_normal"])]
#[case::normal_along([(0.0, 0.0), (1e3, 0.0)], 1e3, 2e3, (1.0, 0.0), &["outward_normal"])]
#[case::no_numbers(
    [(f64::NAN, 0.0), (1e3, f64::INFINITY)], f64::NAN, f64::NAN, (f64::NAN, 1.0),
    &["sill_mm", "head_mm", "base_mm[0].x_mm", "base_mm[1].y_mm", "outward_normal"])]
fn a_wall_opening_is_refused(
    #[case] base_mm: [(f64, f64); 2],
    #[case] sill_mm: f64,
    #[case] head_mm: f64,
    #[case] outward_normal: (f64, f64),
    #[case] fields: &[&str],
) {
    let place = OpeningPlace::Wall { base_mm, sill_mm, head_mm, outward_normal };
    check_fields(
        Opening::new(OpeningDraft {
            id: DaylightOpeningId::new("W1").unwrap(),
            place,
            blind: BlindState::None,
            door: None,
            horizon: None,
        }),
        fields,
    );
}

#[test]
fn a_roof_opening_is_refused_for_its_outline() {
    let place = OpeningPlace::Roof { outline_mm: vec![(0.0, 0.0), (1.0, 1.0)], height_mm: 4e3 };
    check_fields(
        Opening::new(OpeningDraft {
            id: DaylightOpeningId::new("R1").unwrap(),
            place,
            blind: BlindState::None,
            door: None,
            horizon: None,
        }),
        &["outline_mm"],
    );
}

#[test]
fn a_target_is_refused_with_every_field() {
    let floor = rectangle([0.0, 1e3], [0.0, 1e3]);
    check_fields(SunTarget::level(&floor, -1.0), &["height_mm"]);
    check_fields(SunTarget::volume(&floor, 0.0), &["up_to_mm"]);
    let view = SensorView {
        x_mm: f64::NAN,
        y_mm: 1e9,
        height_mm: -1.0,
        heading_deg: 1e3,
        pitch_deg: 91.0,
        half_angle_horizontal_deg: 90.0,
        half_angle_vertical_deg: 0.0,
    };
    check_fields(
        SunTarget::sensor(view),
        &[
            "x_mm",
            "y_mm",
            "height_mm",
            "heading_deg",
            "pitch_deg",
            "half_angle_horizontal_deg",
            "half_angle_vertical_deg",
        ],
    );
}
