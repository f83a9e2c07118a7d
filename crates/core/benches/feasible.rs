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

/// A comb: a back of 500 mm with so many teeth of 1000 mm along `length_mm`, each half as wide as its
/// share and set over to one side by `slant_mm` at its end.
fn comb(teeth: u32, length_mm: f64, slant_mm: f64) -> Option<Polygon> {
    let mut outline = vec![(0.0, 0.0), (length_mm, 0.0), (length_mm, 500.0)];
    let step_mm = length_mm / f64::from(teeth);
    for tooth in (0..teeth).rev() {
        let left_mm = step_mm * f64::from(tooth);
        let (from, to) = (left_mm + 0.7 * step_mm, left_mm + 0.2 * step_mm);
        let ends = [(from + slant_mm, 1_500.0), (to + slant_mm, 1_500.0)];
        outline.extend([(from, 500.0), ends[0], ends[1], (to, 500.0)]);
    }
    outline.push((0.0, 500.0));
    Polygon::new(&outline).ok()
}

/// Combs against combs, the worst that we know: as many corners turn inwards as outwards, every tooth of one
/// meets every tooth of the other, and several lie over each other, each set over by a little.
#[divan::bench(
    args = [(1, 10, 10), (1, 120, 24), (4, 10, 10), (16, 10, 10), (64, 10, 10), (4, 120, 24), (16, 60, 12)],
    sample_count = 1,
    sample_size = 1
)]
fn combs(bencher: Bencher<'_, '_>, (stands, stand_teeth, zone_teeth): (u32, u32, u32)) {
    let moved = |at: u32| {
        let comb = comb(stand_teeth, 20e3, 40.0)?;
        let (x, y) = (37.0 * f64::from(at), 23.0 * f64::from(at));
        let corners = comb.vertices().iter().map(|corner| (corner.x_mm + x, corner.y_mm + y));
        Polygon::new(&corners.collect::<Vec<_>>()).ok()
    };
    let stands: Vec<_> = (0..stands).filter_map(moved).collect();
    let Some(zone) = comb(zone_teeth, 3_000.0, 90.0) else { return };
    let room = Polygon::new(&[(-9e3, -9e3), (30e3, -9e3), (30e3, 9e3), (-9e3, 9e3)]);
    let (Ok(floor), Ok(headings)) = (room, HeadingRange::new(0.0, 0.0)) else { return };
    let clear_of = stands.iter().collect();
    let zone = ZoneToPlace { outline_vehicle: zone, stays_on_floor: true, clear_of };
    bencher.bench_local(|| {
        let region = feasible(divan::black_box(&floor), std::slice::from_ref(&zone), headings);
        region.map(|region| (region.most_central(), region.pieces().len()))
    });
}

fn first_case() -> Option<Case> {
    let cases: Cases = serde_json::from_str(CASES).ok()?;
    cases.cases.into_iter().next()
}
