//! Checks of the sun, its beams and what follows, over the whole of the module.

use super::*;
use crate::calendar::{Window, WindowSet};
use crate::ids::DaylightOpeningId;
use crate::region::Polygon;
use chrono::{DateTime, Duration, Utc};
use proptest::prelude::*;
use rstest::rstest;

mod geometry;
mod polar;
mod properties;
mod refusals;
mod starts;

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

fn window(start: &str, end: &str) -> Window {
    Window::new(at(start)..at(end)).unwrap()
}

fn day(date: &str) -> Window {
    let start = at(&format!("{date}T00:00:00Z"));
    Window::new(start..start + Duration::days(1)).unwrap()
}

fn site(latitude_deg: f64, longitude_deg: f64) -> Site {
    Site::new(SiteDraft::at_sea_level(latitude_deg, longitude_deg)).unwrap()
}

fn bearing(degrees: f64) -> Azimuth {
    Azimuth::from_degrees(degrees).unwrap()
}

fn opening(id: &str, place: OpeningPlace) -> Opening {
    let id = DaylightOpeningId::new(id).unwrap();
    Opening::new(OpeningDraft { id, place, blind: BlindState::None, door: None, horizon: None })
        .unwrap()
}

/// A window in a wall at y = 0 that looks down the drawing.
fn wall_window(from_x: f64, to_x: f64, sill_mm: f64, head_mm: f64) -> Opening {
    let base_mm = [(from_x, 0.0), (to_x, 0.0)];
    let outward_normal = (0.0, -1.0);
    opening("W1", OpeningPlace::Wall { base_mm, sill_mm, head_mm, outward_normal })
}

fn with_horizon(opening: &Opening, points: &[(f64, f64)]) -> Opening {
    let horizon = Some(HorizonProfile::new(points).unwrap());
    Opening::new(OpeningDraft { horizon, ..opening.parts().clone() }).unwrap()
}

fn rectangle(x: [f64; 2], y: [f64; 2]) -> Polygon {
    Polygon::new(&[(x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])]).unwrap()
}

fn volume(x: [f64; 2], y: [f64; 2], up_to_mm: f64) -> SunTarget {
    SunTarget::volume(&rectangle(x, y), up_to_mm).unwrap()
}

#[track_caller]
fn check_near(got: &WindowSet, expected: &[(&str, &str)], tolerance_s: i64) {
    let near = |a: DateTime<Utc>, b: &str| (a - at(b)).abs() <= Duration::seconds(tolerance_s);
    let agree = got.iter().len() == expected.len()
        && got
            .iter()
            .zip(expected)
            .all(|(own, (start, end))| near(own.start(), start) && near(own.end(), end));
    assert!(agree, "{got:?} is not {expected:?} within {tolerance_s} s");
}
