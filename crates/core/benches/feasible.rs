//! How long the exact region of one heading takes: `cargo bench -p baywright-core --bench feasible`.
//!
//! The input is the benchmark case of the placement cases (a bay of 40 corners, 20 obstructions,
//! 8 zones). The same computation by a general-purpose library is timed by
//! `tests/reference/placements_with_shapely.py`.

use baywright_core::region::{HeadingRange, Polygon, ZoneToPlace, feasible};
use divan::Bencher;
use serde::Deserialize;

const CASES: &str = include_str!("../../../tests/reference/placements/benchmark.json");

type Outline = Vec<(f64, f64)>;

#[derive(Deserialize)]
struct Cases {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    floor_mm: Outline,
    obstructions_mm: Vec<Outline>,
    zones_vehicle_mm: Vec<Outline>,
    heading_deg: f64,
}

fn main() {
    divan::main();
}

#[divan::bench(args = [0.0, 1.0], sample_count = 300)]
fn region_at_one_heading(bencher: Bencher<'_, '_>, tolerance_deg: f64) {
    let Some(case) = first_case() else { return };
    let outlines = |list: &[Outline]| -> Vec<Polygon> {
        list.iter().filter_map(|outline| Polygon::new(outline).ok()).collect()
    };
    let obstructions = outlines(&case.obstructions_mm);
    let zones: Vec<_> = outlines(&case.zones_vehicle_mm)
        .into_iter()
        .map(|outline_vehicle| ZoneToPlace {
            outline_vehicle,
            stays_on_floor: true,
            clear_of: obstructions.iter().collect(),
        })
        .collect();
    let (Ok(floor), Ok(headings)) =
        (Polygon::new(&case.floor_mm), HeadingRange::new(case.heading_deg, tolerance_deg))
    else {
        return;
    };
    bencher.bench_local(|| feasible(divan::black_box(&floor), &zones, headings));
}

fn first_case() -> Option<Case> {
    let cases: Cases = serde_json::from_str(CASES).ok()?;
    cases.cases.into_iter().next()
}
