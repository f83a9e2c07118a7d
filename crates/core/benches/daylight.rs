//! Sun-free windows of the twenty bays in `tests/reference/sun`, three openings each: a day and a
//! year, the sun's track included.
//!
//! `cargo bench -p baywright-core --bench daylight`; the same over pvlib and shapely:
//! `tests/reference/sun_with_pvlib.py`.
#![expect(
    clippy::unwrap_used,
    reason = "a benchmark stands for itself and its input is checked in"
)]

use baywright_core::calendar::{Window, WindowSet};
use baywright_core::daylight::{
    Azimuth, BlindState, Opening, OpeningDraft, OpeningPlace, Site, SiteDraft, SunTarget, SunTrack,
    Sunlight,
};
use baywright_core::ids::DaylightOpeningId;
use baywright_core::region::Polygon;
use chrono::Duration;
use divan::{Bencher, black_box};
use serde_json::Value;

const BAYS: usize = 20;
const CASES: &str = include_str!("../../../tests/reference/sun/sun_free_cases.json");

fn main() {
    divan::main();
}

struct Bay {
    bearing: Azimuth,
    openings: Vec<Opening>,
    zones: Vec<SunTarget>,
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap()
}

fn points(value: &Value) -> Vec<(f64, f64)> {
    let point = |at: &Value| (at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
    value.as_array().unwrap().iter().map(point).collect()
}

fn opening((at, window): (usize, &Value)) -> Opening {
    let base = points(&window["base_mm"]);
    let normal = &window["outward_normal"];
    Opening::new(OpeningDraft {
        id: DaylightOpeningId::new(format!("W{}", at + 1)).unwrap(),
        place: OpeningPlace::Wall {
            base_mm: [base[0], base[1]],
            sill_mm: number(window, "sill_mm"),
            head_mm: number(window, "head_mm"),
            outward_normal: (normal[0].as_f64().unwrap(), normal[1].as_f64().unwrap()),
        },
        blind: BlindState::None,
        door: None,
        horizon: None,
    })
    .unwrap()
}

fn zone(value: &Value) -> SunTarget {
    let outline = Polygon::new(&points(&value["zone_mm"])).unwrap();
    SunTarget::volume(&outline, number(value, "up_to_mm")).unwrap()
}

fn shop() -> (Site, Vec<Bay>) {
    let document: Value = serde_json::from_str(CASES).unwrap();
    let cases = &document["cases"].as_array().unwrap()[..BAYS];
    let site = Site::new(SiteDraft {
        elevation_m: number(&cases[0], "elevation_m"),
        ..SiteDraft::at_sea_level(number(&cases[0], "latitude"), number(&cases[0], "longitude"))
    });
    let bay = |case: &Value| Bay {
        bearing: Azimuth::from_degrees(number(case, "bearing_deg")).unwrap(),
        openings: case["windows"].as_array().unwrap().iter().enumerate().map(opening).collect(),
        zones: case["volumes"].as_array().unwrap().iter().map(zone).collect(),
    };
    (site.unwrap(), cases.iter().map(bay).collect())
}

fn sun_free(site: Site, bays: &[Bay], days: i64) -> Vec<WindowSet> {
    let start = "2026-03-20T00:00:00Z".parse().unwrap();
    let period = Window::new(start..start + Duration::days(days)).unwrap();
    let track = SunTrack::new(site, period).unwrap();
    bays.iter()
        .map(|bay| Sunlight::new(&track, bay.bearing, &bay.openings, &bay.zones).sun_free())
        .collect()
}

#[divan::bench(args = [1, 7, 365], sample_count = 10)]
fn days_of_twenty_bays(bencher: Bencher<'_, '_>, days: i64) {
    let (site, bays) = shop();
    bencher.bench_local(|| sun_free(site, black_box(&bays), days));
}

#[divan::bench(args = [1, 365], sample_count = 10)]
fn days_of_the_sun_alone(bencher: Bencher<'_, '_>, days: i64) {
    let (site, _) = shop();
    bencher.bench_local(|| sun_free(site, black_box(&[]), days));
}
