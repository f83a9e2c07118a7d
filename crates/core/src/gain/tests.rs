//! The gain report over an invented shop: what is counted, what brings more, what it would cost.

use super::*;
use crate::axes::{PoseFloor, PoseFloorDraft};
use crate::demand::{
    LightNeed, LightPlane, MethodDraft, MethodMinutesDraft, Procedure, ProcedureDraft, TaskKind,
    WorkPlace, XDatum, YDatum, ZoneDraft, ZoneNeed, ZoneVertex,
};
use crate::example_shop::{definition_draft, document};
use crate::floor::{Bay, BayDraft, Station};
use crate::ids::{MethodId, ProcedureId, StationId, SurveyId, UnitKindId, VehicleClassId, ZoneId};
use crate::shop::ShopDefinition;
use crate::survey::{LightReading, Survey, SurveyDraft};
use chrono::NaiveDate;
use std::collections::BTreeMap;

mod kinds;

fn today() -> NaiveDate {
    "2026-03-02".parse().unwrap()
}

/// Half an hour of work that asks for a strip of so many millimetres before the front bumper, with so
/// much equipment of the kind `rig`, and for no more light than a limit where one is given.
fn procedure(id: &str, ahead_mm: f64, rigs: usize, average_max_lux: Option<f64>) -> Procedure {
    let vertex = |x_mm: f64, y_mm: f64| ZoneVertex {
        x_from: XDatum::FrontBumper,
        x_mm,
        y_from: YDatum::Centreline,
        y_mm,
    };
    let light = |average_min_lux, average_max_lux| {
        ZoneNeed::Light(LightNeed {
            plane: LightPlane::Vertical,
            height_mm: 1_200.0,
            average_min_lux,
            average_max_lux,
            minimum_lux: None,
            maximum_lux: None,
            terms: crate::demand::LightTerms::default(),
            uniformity_min: None,
            colour_temperature_k: None,
        })
    };
    let mut needs = vec![ZoneNeed::ClearFloor { up_to_mm: 2_000.0 }];
    if id == "bright" {
        needs.push(light(Some(600.0), None));
    } else if average_max_lux.is_some() {
        needs.push(light(None, average_max_lux));
    }
    let ends = [(0.0, -1e3), (ahead_mm, -1e3), (ahead_mm, 1e3), (0.0, 1e3)];
    Procedure::new(ProcedureDraft {
        id: ProcedureId::new(id).unwrap(),
        title: id.to_owned(),
        kind: TaskKind::Glass,
        sensor: None,
        document: document(),
        methods: vec![MethodDraft {
            sun: crate::demand::SunDemand::default(),
            id: MethodId::new("only").unwrap(),
            title: "usual way".to_owned(),
            place: WorkPlace::Bay,
            roles: Vec::new(),
            equipment: vec![UnitKindId::new("rig").unwrap(); rigs],
            minutes: MethodMinutesDraft { setup_minutes: 5, run_minutes: 20, teardown_minutes: 5 },
            zones: vec![ZoneDraft {
                id: ZoneId::new("ahead").unwrap(),
                outline: ends.map(|(x, y)| vertex(x, y)).to_vec(),
                needs,
            }],
        }],
        start_checks: Vec::new(),
    })
    .unwrap()
}

/// One bay of 8 by 5 m; the compact stands with its front bumper at x 5000 mm, so 3000 mm are ahead.
fn shop(procedures: Vec<Procedure>) -> ShopDefinition {
    let pose = PoseFloorDraft { x_mm: 4_120.0, y_mm: 2_500.0, heading_deg: 0.0 };
    let bay = Bay::new(BayDraft {
        id: BayId::new("bay-1").unwrap(),
        outline_mm: vec![(0.0, 0.0), (8e3, 0.0), (8e3, 5e3), (0.0, 5e3)],
        ceiling_mm: 3_000.0,
        obstructions: vec![],
        stations: vec![Station {
            id: StationId::new("mark").unwrap(),
            pose: PoseFloor::new(pose).unwrap(),
        }],
        daylight_openings: vec![],
    });
    let mut draft = definition_draft();
    draft.bays = vec![bay.unwrap()];
    draft.procedures.extend(procedures);
    ShopDefinition::new(draft).unwrap()
}

fn survey_of(lux: f64) -> BTreeMap<BayId, Survey> {
    let bay = BayId::new("bay-1").unwrap();
    let reading = |at: u32| LightReading {
        x_mm: f64::from(at % 9) * 1_000.0,
        y_mm: f64::from(at / 9) * 500.0,
        height_mm: 1_200.0,
        plane: LightPlane::Vertical,
        lux,
    };
    let survey = Survey::new(SurveyDraft {
        height_errors: crate::survey::HeightErrorsDraft::default(),
        light_conditions: crate::survey::LightConditions::default(),
        id: SurveyId::new("survey-1").unwrap(),
        bay: bay.clone(),
        taken_on: "2026-01-10".parse().unwrap(),
        valid_until: "2027-01-10".parse().unwrap(),
        instrument: "invented meter".to_owned(),
        height_uncertainty_mm: 0.5,
        light_uncertainty_relative: 0.01,
        colour_temperature_k: None,
        datum: String::new(),
        heights: Vec::new(),
        light: (0..99).map(reading).collect(),
    });
    BTreeMap::from([(bay, survey.unwrap())])
}

fn report(procedures: Vec<Procedure>, per_week: &[(&str, f64)]) -> GainReport {
    let shop = shop(procedures);
    let surveys = survey_of(300.0);
    let parts = shop.parts();
    let bay = &parts.bays[0];
    let survey = surveys.get(bay.id());
    let fits =
        crate::fit::fits_of_bay(&parts.procedures, &parts.vehicle_classes, (bay, survey), today());
    let mix = per_week.iter().map(|(procedure, per_week)| WorkAsked {
        procedure: ProcedureId::new(*procedure).unwrap(),
        class: VehicleClassId::new("compact").unwrap(),
        per_week: *per_week,
    });
    let mix = WorkAsked::mix(mix).unwrap();
    let look_up = |(procedure, method, class, _): (&_, &_, &_, &BayId)| {
        let asked: crate::fit::FitAsked =
            (Clone::clone(procedure), Clone::clone(method), Clone::clone(class));
        fits.get(&asked)
    };
    let asked = GainShop { shop: &shop, surveys: &surveys, on: today(), sun: None, fit: &look_up };
    gain_report(&asked, &mix)
}

fn lines(report: &GainReport) -> Vec<String> {
    let line = |gain: &Gain| {
        format!("{}: {} tasks, {} h", gain.change, gain.tasks_per_week(), gain.hours_per_week())
    };
    report.gains.iter().map(line).collect()
}

#[test]
fn more_floor_brings_more_work_and_each_step_is_told() {
    // 3000 mm are ahead: 2500 fit, 3200 and 3500 lack 200 and 500 mm. A mark further back gives the
    // room too: the rear bumper meets the wall at x 3420 mm, 3500 mm are ahead up to x 3620 mm, and
    // halfway between is the most room.
    let procedures = vec![
        procedure("near", 2_500.0, 0, None),
        procedure("far", 3_200.0, 0, None),
        procedure("farther", 3_500.0, 0, None),
    ];
    let found = report(procedures, &[("near", 10.0), ("far", 4.0), ("farther", 2.0)]);
    assert_eq!(found.in_house.len(), 1);
    assert!((hours(&found.in_house) - 5.0).abs() < 1e-12);
    assert_eq!(
        lines(&found),
        [
            "paint a station at x 3520 mm, y 2500 mm, heading 0.0 degrees: 6 tasks, 3 h",
            "gain 500.0 mm of clear floor along the bay's edge from its vertex 1: 6 tasks, 3 h",
            "gain 200.0 mm of clear floor along the bay's edge from its vertex 1: 4 tasks, 2 h",
        ]
    );
}

#[test]
fn a_unit_bought_brings_what_lacks_one_and_not_what_lacks_two() {
    let procedures = vec![procedure("one", 2_500.0, 1, None), procedure("two", 2_500.0, 2, None)];
    let found = report(procedures, &[("one", 3.0), ("two", 5.0)]);
    assert_eq!(lines(&found), ["buy a unit of kind rig: 3 tasks, 1.5 h"]);
}

#[test]
fn what_a_change_costs_is_taken_off() {
    // The bay has 300 lux. The bright work asks for 600, the other for at most 400.
    let procedures =
        vec![procedure("bright", 2_500.0, 0, None), procedure("dim", 2_500.0, 0, Some(400.0))];
    let found = report(procedures, &[("bright", 5.0), ("dim", 2.0)]);
    let [gain] = found.gains.as_slice() else { panic!("{found:?}") };
    assert_eq!(gain.change.kind(), ChangeKind::AddLight);
    assert_eq!((gain.brings.len(), gain.loses.len()), (1, 1));
    assert!((gain.tasks_per_week() - 3.0).abs() < 1e-12);
}

#[test]
fn work_that_nobody_knows_stays_outside() {
    let found = report(vec![], &[("unheard-of", 1.0)]);
    assert_eq!((found.in_house.len(), found.outside.len(), found.gains.len()), (0, 1, 0));
}

#[test]
fn work_of_one_kind_is_added_up_and_figures_are_checked() {
    let work = |per_week: f64| WorkAsked {
        procedure: ProcedureId::new("glass").unwrap(),
        class: VehicleClassId::new("compact").unwrap(),
        per_week,
    };
    let mix = WorkAsked::mix([work(1.5), work(2.0)]).unwrap();
    assert_eq!(mix, [work(3.5)]);
    for wrong in [0.0, -1.0, f64::NAN, 20_000.0] {
        let faults = WorkAsked::mix([work(1.0), work(wrong)]).unwrap_err();
        assert_eq!(faults.list()[0].field, "[1].per_week");
    }
}
