//! An invented bay, vehicle, method and survey for the tests of fit; a test changes what matters.
#![cfg(test)]

use crate::axes::{PoseFloor, PoseFloorDraft};
use crate::demand::{
    LevelTerms, LightNeed, LightPlane, LightTerms, Method, MethodDraft, MethodMinutesDraft,
    SunDemand, VehicleClass, VehicleClassDraft, WorkPlace, XDatum, YDatum, ZoneDraft, ZoneNeed,
    ZoneVertex,
};
use crate::floor::{
    BayDraft, DaylightOpening, DaylightOpeningKind, DrawnOpening, DrawnPlace, ObstructionDraft,
    Station,
};
use crate::ids::{
    BayId, DaylightOpeningId, MethodId, ObstructionId, StationId, SurveyId, VehicleClassId, ZoneId,
};
use crate::survey::{HeightErrorsDraft, HeightPoint, LightConditions, LightReading, SurveyDraft};
use chrono::NaiveDate;

pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// The day on which everything is judged.
pub(crate) fn today() -> NaiveDate {
    day("2026-03-02")
}

/// 4600 mm long, 1850 mm wide, its front bumper 900 mm before the front axle.
pub(crate) fn saloon() -> VehicleClass {
    VehicleClass::new(VehicleClassDraft {
        id: VehicleClassId::new("saloon").unwrap(),
        length_mm: 4_600.0,
        width_mm: 1_850.0,
        height_mm: 1_450.0,
        wheelbase_mm: 2_700.0,
        front_overhang_mm: 900.0,
        track_mm: 1_560.0,
    })
    .unwrap()
}

pub(crate) fn station(id: &str, x_mm: f64, y_mm: f64, heading_deg: f64) -> Station {
    let pose = PoseFloor::new(PoseFloorDraft { x_mm, y_mm, heading_deg }).unwrap();
    Station { id: StationId::new(id).unwrap(), pose }
}

/// 9000 by 6000 mm with one station: the body stands at x 800 to 5400 mm, y 2075 to 3925 mm.
pub(crate) fn bay() -> BayDraft {
    BayDraft {
        id: BayId::new("bay-1").unwrap(),
        outline_mm: vec![(0.0, 0.0), (9_000.0, 0.0), (9_000.0, 6_000.0), (0.0, 6_000.0)],
        ceiling_mm: 3_500.0,
        obstructions: vec![],
        stations: vec![station("mark-1", 4_500.0, 3_000.0, 0.0)],
        daylight_openings: vec![],
    }
}

/// An opening from 500 to 3500 mm over a stretch of a wall: its blind open, its door as it may be.
pub(crate) fn wall_opening(
    id: &str,
    kind: DaylightOpeningKind,
    base_mm: [(f64, f64); 2],
    blind: bool,
) -> DaylightOpening {
    let place = DrawnPlace::Wall {
        base_mm: base_mm.to_vec(),
        sill_mm: 500.0,
        head_mm: 3_500.0,
        outward: None,
    };
    DaylightOpening {
        id: DaylightOpeningId::new(id).unwrap(),
        kind,
        blind,
        drawn: Some(DrawnOpening {
            place,
            blind_closed: false,
            door: None,
            horizon_deg: Vec::new(),
            beyond_bay: false,
        }),
    }
}

/// A square obstruction of 500 mm, from the floor to 3000 mm, of wood.
pub(crate) fn column(id: &str, x_mm: f64, y_mm: f64) -> ObstructionDraft {
    ObstructionDraft {
        id: ObstructionId::new(id).unwrap(),
        outline_mm: vec![
            (x_mm, y_mm),
            (x_mm + 500.0, y_mm),
            (x_mm + 500.0, y_mm + 500.0),
            (x_mm, y_mm + 500.0),
        ],
        from_mm: 0.0,
        to_mm: 3_000.0,
        metal: false,
        dates: None,
    }
}

/// 1000 to 3000 mm before the front bumper and 1500 mm to either side: at the station x 6400 to
/// 8400 mm, y 1500 to 4500 mm.
pub(crate) fn target_zone(needs: Vec<ZoneNeed>) -> ZoneDraft {
    let vertex = |x_mm: f64, y_mm: f64| ZoneVertex {
        x_from: XDatum::FrontBumper,
        x_mm,
        y_from: YDatum::Centreline,
        y_mm,
    };
    ZoneDraft {
        id: ZoneId::new("target").unwrap(),
        outline: vec![
            vertex(1_000.0, -1_500.0),
            vertex(3_000.0, -1_500.0),
            vertex(3_000.0, 1_500.0),
            vertex(1_000.0, 1_500.0),
        ],
        needs,
    }
}

pub(crate) fn method_with(zones: Vec<ZoneDraft>) -> Method {
    Method::new(MethodDraft {
        id: MethodId::new("static").unwrap(),
        title: "Static, with a target".to_owned(),
        place: WorkPlace::Bay,
        roles: vec![],
        equipment: vec![],
        minutes: MethodMinutesDraft { setup_minutes: 20, run_minutes: 30, teardown_minutes: 10 },
        zones,
        sun: SunDemand::default(),
    })
    .unwrap()
}

pub(crate) fn method(needs: Vec<ZoneNeed>) -> Method {
    method_with(vec![target_zone(needs)])
}

pub(crate) const CLEAR: ZoneNeed = ZoneNeed::ClearFloor { up_to_mm: 2_000.0 };
pub(crate) const USUAL: LevelTerms = LevelTerms {
    point_spacing_max_mm: None,
    compensation_max_mm: None,
    conformance_probability: None,
};
pub(crate) const LEVEL: ZoneNeed =
    ZoneNeed::Level { slope_max_deg: 0.3, residual_max_mm: Some(5.0), terms: USUAL };
pub(crate) const LIGHT: ZoneNeed = ZoneNeed::Light(LightNeed {
    plane: LightPlane::Vertical,
    height_mm: 1_200.0,
    average_min_lux: Some(300.0),
    average_max_lux: Some(800.0),
    minimum_lux: Some(200.0),
    maximum_lux: None,
    uniformity_min: Some(0.6),
    colour_temperature_k: Some((4_000.0, 6_500.0)),
    terms: LightTerms { reading_spacing_max_mm: None, conformance_probability: None },
});

/// Heights on a grid of 500 mm over the whole bay, rising along x by `slope`, and light of
/// `lux`, a little brighter in the middle, on a grid of 1000 mm.
pub(crate) fn survey(slope: f64, lux: f64) -> SurveyDraft {
    let grid = |step_mm: f64, across: u32, up: u32| {
        (0..=across).flat_map(move |i| {
            (0..=up).map(move |j| (f64::from(i) * step_mm, f64::from(j) * step_mm))
        })
    };
    SurveyDraft {
        id: SurveyId::new("survey-1").unwrap(),
        bay: BayId::new("bay-1").unwrap(),
        taken_on: day("2026-01-10"),
        valid_until: day("2027-01-10"),
        instrument: "invented level".to_owned(),
        height_uncertainty_mm: 0.5,
        light_uncertainty_relative: 0.03,
        colour_temperature_k: Some(5_000.0),
        datum: String::new(),
        height_errors: HeightErrorsDraft::default(),
        light_conditions: LightConditions::default(),
        heights: grid(500.0, 18, 12)
            .map(|(x_mm, y_mm)| HeightPoint { x_mm, y_mm, height_mm: slope * x_mm })
            .collect(),
        light: grid(1_000.0, 9, 6)
            .map(|(x_mm, y_mm)| LightReading {
                x_mm,
                y_mm,
                height_mm: 1_200.0,
                plane: LightPlane::Vertical,
                lux: if (y_mm - 3_000.0).abs() < 1.0 { 1.2 * lux } else { lux },
            })
            .collect(),
    }
}
