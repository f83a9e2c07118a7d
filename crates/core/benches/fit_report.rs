//! The fit report of a large shop: 40 methods, 12 vehicle classes, 20 bays, 9600 fits at 2 stations
//! each, without nearest misses. `cargo bench -p baywright-core --bench fit_report`.
//!
//! The shop is `tests/reference/fit_report/shop.json`; heights and light are surveyed on grids of 1 m.
//! The space part of the same is timed over shapely by `tests/reference/fit_report_with_shapely.py`.
#![expect(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a benchmark stands for itself and its input is checked in"
)]

use baywright_core::axes::{PointFloor, PoseFloor, PoseFloorDraft};
use baywright_core::demand::{
    DocumentRef, LightNeed, LightPlane, MethodDraft, MethodMinutesDraft, Procedure, ProcedureDraft,
    TaskKind, VehicleClass, VehicleClassDraft, WorkPlace, XDatum, YDatum, ZoneDraft, ZoneNeed,
    ZoneVertex,
};
use baywright_core::fit::{Fit, fits_of_bay};
use baywright_core::floor::{Bay, BayDraft, ObstructionDraft, Station};
use baywright_core::ids::{
    BayId, MethodId, ObstructionId, ProcedureId, StationId, SurveyId, VehicleClassId, ZoneId,
};
use baywright_core::survey::{HeightPoint, LightReading, Survey, SurveyDraft};
use chrono::NaiveDate;
use divan::{Bencher, black_box};
use serde_json::Value;
use std::sync::atomic::{AtomicUsize, Ordering};

const CASE: &str = include_str!("../../../tests/reference/fit_report/shop.json");
/// The height at which light is read and asked for, millimetres.
const LIGHT_MM: f64 = 1_200.0;

fn main() {
    let shop = Shop::read();
    let fits = shop.fits(2);
    println!("{} fits, {} of them fit", fits.0, fits.1);
    divan::main();
}

struct Shop {
    procedures: Vec<Procedure>,
    classes: Vec<VehicleClass>,
    bays: Vec<(Bay, Survey)>,
    today: NaiveDate,
}

impl Shop {
    fn read() -> Self {
        let case: Value = serde_json::from_str(CASE).unwrap();
        let list = |key: &str| case[key].as_array().unwrap().clone();
        Self {
            procedures: list("methods").iter().map(procedure).collect(),
            classes: list("vehicle_classes").iter().map(class).collect(),
            bays: list("bays").iter().map(|one| surveyed(bay(one))).collect(),
            today: NaiveDate::from_ymd_opt(2026, 3, 2).unwrap(),
        }
    }

    /// How many fits there are, and how many of them fit, on so many threads.
    fn fits(&self, threads: usize) -> (usize, usize) {
        let (at, all, fitting) = (AtomicUsize::new(0), AtomicUsize::new(0), AtomicUsize::new(0));
        std::thread::scope(|scope| {
            for _ in 0..threads {
                scope.spawn(|| {
                    while let Some(bay) = self.bays.get(at.fetch_add(1, Ordering::Relaxed)) {
                        let fits = self.fits_in(bay);
                        all.fetch_add(fits.0, Ordering::Relaxed);
                        fitting.fetch_add(fits.1, Ordering::Relaxed);
                    }
                });
            }
        });
        (all.into_inner(), fitting.into_inner())
    }

    fn fits_in(&self, (bay, survey): &(Bay, Survey)) -> (usize, usize) {
        let fits = fits_of_bay(&self.procedures, &self.classes, (bay, Some(survey)), self.today);
        let fitting = fits.values().filter(|fit| matches!(fit, Fit::Fits(_))).count();
        (black_box(fits).len(), fitting)
    }
}

#[divan::bench(args = [1, 2], sample_count = 5, sample_size = 1)]
fn whole_report_on_threads(bencher: Bencher<'_, '_>, threads: usize) {
    let shop = Shop::read();
    bencher.bench_local(|| shop.fits(threads));
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn one_bay_after_its_survey(bencher: Bencher<'_, '_>) {
    let shop = Shop::read();
    bencher.bench_local(|| shop.fits_in(&shop.bays[0]));
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap()
}

fn text(value: &Value, key: &str) -> String {
    value[key].as_str().unwrap().to_owned()
}

fn points(value: &Value) -> Vec<(f64, f64)> {
    let point = |at: &Value| (at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
    value.as_array().unwrap().iter().map(point).collect()
}

fn class(value: &Value) -> VehicleClass {
    VehicleClass::new(VehicleClassDraft {
        id: VehicleClassId::new(text(value, "id")).unwrap(),
        length_mm: number(value, "length_mm"),
        width_mm: number(value, "width_mm"),
        height_mm: number(value, "height_mm"),
        wheelbase_mm: number(value, "wheelbase_mm"),
        front_overhang_mm: number(value, "front_overhang_mm"),
        track_mm: number(value, "track_mm"),
    })
    .unwrap()
}

fn bay(value: &Value) -> Bay {
    let obstruction = |one: &Value| ObstructionDraft {
        id: ObstructionId::new(text(one, "id")).unwrap(),
        outline_mm: points(&one["outline_mm"]),
        from_mm: number(one, "from_mm"),
        to_mm: number(one, "to_mm"),
        metal: one["metal"].as_bool().unwrap(),
        dates: None,
    };
    let station = |one: &Value| Station {
        id: StationId::new(text(one, "id")).unwrap(),
        pose: PoseFloor::new(PoseFloorDraft {
            x_mm: number(one, "x_mm"),
            y_mm: number(one, "y_mm"),
            heading_deg: number(one, "heading_deg"),
        })
        .unwrap(),
    };
    let list = |key: &str| value[key].as_array().unwrap().clone();
    Bay::new(BayDraft {
        id: BayId::new(text(value, "id")).unwrap(),
        outline_mm: points(&value["outline_mm"]),
        ceiling_mm: number(value, "ceiling_mm"),
        obstructions: list("obstructions").iter().map(obstruction).collect(),
        stations: list("stations").iter().map(station).collect(),
        daylight_openings: vec![],
    })
    .unwrap()
}

/// A bay with a survey: heights that fall by 2 mm per metre, light that fades towards the far wall.
fn surveyed(bay: Bay) -> (Bay, Survey) {
    let corner = bay.outline().vertices()[0];
    let grid: Vec<_> = (0..=15_u32)
        .flat_map(|i| (0..=7_u32).map(move |j| (f64::from(i), f64::from(j))))
        .map(|(i, j)| {
            (i, PointFloor { x_mm: corner.x_mm + 1e3 * i, y_mm: corner.y_mm + 900.0 * j })
        })
        .filter(|(_, at)| bay.outline().contains(*at))
        .collect();
    let height = |(i, at): &(f64, PointFloor)| HeightPoint {
        x_mm: at.x_mm,
        y_mm: at.y_mm,
        height_mm: 2.0 * i,
    };
    let reading = |(i, at): &(f64, PointFloor)| LightReading {
        x_mm: at.x_mm,
        y_mm: at.y_mm,
        height_mm: LIGHT_MM,
        plane: LightPlane::Vertical,
        lux: 600.0 - 15.0 * i,
    };
    let survey = Survey::new(SurveyDraft {
        height_errors: baywright_core::survey::HeightErrorsDraft::default(),
        light_conditions: baywright_core::survey::LightConditions::default(),
        id: SurveyId::new("survey-1").unwrap(),
        bay: bay.id().clone(),
        taken_on: NaiveDate::from_ymd_opt(2026, 1, 10).unwrap(),
        valid_until: NaiveDate::from_ymd_opt(2027, 1, 10).unwrap(),
        instrument: "invented level and meter".to_owned(),
        height_uncertainty_mm: 0.4,
        light_uncertainty_relative: 0.03,
        colour_temperature_k: Some(4_500.0),
        datum: String::new(),
        heights: grid.iter().map(height).collect(),
        light: grid.iter().map(reading).collect(),
    })
    .unwrap();
    (bay, survey)
}

fn procedure(value: &Value) -> Procedure {
    let up_to_mm = number(value, "up_to_mm");
    let needs = |need: &str| match need {
        "clear-floor" => vec![ZoneNeed::ClearFloor { up_to_mm }],
        "no-metal" => vec![ZoneNeed::NoMetal { up_to_mm }],
        _ => vec![
            ZoneNeed::Level {
                slope_max_deg: number(value, "slope_max_deg"),
                residual_max_mm: Some(6.0),
                terms: baywright_core::demand::LevelTerms::default(),
            },
            ZoneNeed::Light(LightNeed {
                plane: LightPlane::Vertical,
                height_mm: LIGHT_MM,
                average_min_lux: Some(number(value, "average_min_lux")),
                average_max_lux: None,
                minimum_lux: None,
                maximum_lux: None,
                terms: baywright_core::demand::LightTerms::default(),
                uniformity_min: Some(0.5),
                colour_temperature_k: Some((3_000.0, 6_500.0)),
            }),
        ],
    };
    let vertex = |(x_mm, y_mm): (f64, f64)| ZoneVertex {
        x_from: XDatum::FrontBumper,
        x_mm,
        y_from: YDatum::Centreline,
        y_mm,
    };
    let zone = |one: &Value| ZoneDraft {
        id: ZoneId::new(text(one, "id")).unwrap(),
        outline: points(&one["corners_mm"]).into_iter().map(vertex).collect(),
        needs: needs(one["need"].as_str().unwrap()),
    };
    Procedure::new(ProcedureDraft {
        id: ProcedureId::new(text(value, "id")).unwrap(),
        title: text(value, "id"),
        kind: TaskKind::Glass,
        sensor: None,
        document: DocumentRef {
            reference: "invented".to_owned(),
            checked_on: NaiveDate::from_ymd_opt(2026, 1, 5).unwrap(),
        },
        methods: vec![MethodDraft {
            sun: baywright_core::demand::SunDemand::default(),
            id: MethodId::new("only").unwrap(),
            title: "usual way".to_owned(),
            place: WorkPlace::Bay,
            roles: vec![],
            equipment: vec![],
            minutes: MethodMinutesDraft { setup_minutes: 10, run_minutes: 30, teardown_minutes: 5 },
            zones: value["zones"].as_array().unwrap().iter().map(zone).collect(),
        }],
        start_checks: vec![],
    })
    .unwrap()
}
