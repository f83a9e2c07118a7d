//! Every kind of single change: an invented shop in which the report names it, and in which the work can
//! be done after it and cannot before.

use super::*;
use crate::calendar::{Window, WindowSet};
use crate::daylight::{Azimuth, Site, SiteDraft, SunTrack};
use crate::demand::SunDemand;
use crate::fit::example::{
    CLEAR, LEVEL, LIGHT, bay, column, day, saloon, survey, target_zone, today, wall_opening,
};
use crate::fit::{Fit, SunAsked, fits_of_bay};
use crate::floor::DaylightOpeningKind;

/// What is wrong in the shop: its bays, the survey of the first, what the zone asks, equipment.
struct Wrong {
    bays: Vec<BayDraft>,
    survey: SurveyDraft,
    needs: Vec<ZoneNeed>,
    rigs: usize,
}

fn right() -> Wrong {
    let (bays, survey) = (vec![bay()], survey(0.001, 500.0));
    Wrong { bays, survey, needs: vec![CLEAR, LEVEL, LIGHT], rigs: 0 }
}

/// The bay from one x to another, 6000 mm deep; in the example the zone reaches to x 8400 mm.
fn between(from_mm: f64, to_mm: f64) -> BayDraft {
    let outline_mm = vec![(from_mm, 0.0), (to_mm, 0.0), (to_mm, 6e3), (from_mm, 6e3)];
    BayDraft { outline_mm, ..bay() }
}

/// A shop to which the change of a kind brings work; a new kind needs a case here.
fn wrong_for(kind: ChangeKind) -> Wrong {
    let with_survey = |change: fn(&mut SurveyDraft)| {
        let mut wrong = right();
        change(&mut wrong.survey);
        wrong
    };
    match kind {
        ChangeKind::CloseBlind => {
            let whole_wall = [(9e3, 0.0), (9e3, 6e3)];
            let east = wall_opening("east", DaylightOpeningKind::Window, whole_wall, true);
            let bays = vec![BayDraft { daylight_openings: vec![east], ..bay() }];
            Wrong { bays, needs: vec![ZoneNeed::NoDirectSun { up_to_mm: 2_000.0 }], ..right() }
        }
        ChangeKind::PaintStation | ChangeKind::GainFloor => {
            Wrong { bays: vec![between(0.0, 8_300.0)], ..right() }
        }
        ChangeKind::KeepNeighbourEmpty => {
            let id = BayId::new("bay-2").unwrap();
            let next = BayDraft { id, stations: vec![], ..between(7_500.0, 12_000.0) };
            Wrong { bays: vec![between(0.0, 7_500.0), next], ..right() }
        }
        ChangeKind::RenewSurvey => with_survey(|draft| draft.valid_until = day("2026-02-01")),
        ChangeKind::MeasureHeights => with_survey(|draft| draft.height_uncertainty_mm = 6.0),
        ChangeKind::MeasureLight => with_survey(|draft| draft.light_uncertainty_relative = 0.2),
        ChangeKind::RemoveObstruction => {
            let obstructions = vec![column("column-1", 7_000.0, 2_750.0)];
            Wrong { bays: vec![BayDraft { obstructions, ..bay() }], ..right() }
        }
        ChangeKind::BuyUnit => Wrong { rigs: 1, ..right() },
        ChangeKind::AddLight => Wrong { survey: survey(0.001, 200.0), ..right() },
        ChangeKind::Relevel => Wrong { survey: survey(0.02, 500.0), ..right() },
    }
}

fn definition(wrong: &Wrong) -> ShopDefinition {
    let minutes = MethodMinutesDraft { setup_minutes: 20, run_minutes: 30, teardown_minutes: 10 };
    let method = MethodDraft {
        id: MethodId::new("static").unwrap(),
        title: "usual way".to_owned(),
        place: WorkPlace::Bay,
        roles: Vec::new(),
        equipment: vec![UnitKindId::new("rig").unwrap(); wrong.rigs],
        minutes,
        zones: vec![target_zone(wrong.needs.clone())],
        sun: SunDemand::default(),
    };
    let procedure = ProcedureDraft {
        id: ProcedureId::new("aim").unwrap(),
        title: "aim".to_owned(),
        kind: TaskKind::Glass,
        sensor: None,
        document: document(),
        methods: vec![method],
        start_checks: Vec::new(),
    };
    let mut draft = definition_draft();
    draft.bays = wrong.bays.iter().cloned().map(|bay| Bay::new(bay).unwrap()).collect();
    draft.vehicle_classes = vec![saloon()];
    draft.call_rules.clear();
    draft.procedures = vec![Procedure::new(procedure).unwrap()];
    ShopDefinition::new(draft).unwrap()
}

fn at(minute: i64) -> chrono::DateTime<chrono::Utc> {
    today().and_time(chrono::NaiveTime::MIN).and_utc() + chrono::Duration::minutes(minute)
}

/// The report for one piece of work a week, on a morning at 45 degrees north with the sun in the east.
fn report_for(wrong: &Wrong) -> GainReport {
    let shop = definition(wrong);
    let survey = Survey::new(wrong.survey.clone()).unwrap();
    let surveys = BTreeMap::from([(survey.bay().clone(), survey)]);
    let parts = shop.parts();
    let fits_in = |bay: &Bay| {
        let surveyed = (bay, surveys.get(bay.id()));
        fits_of_bay(&parts.procedures, &parts.vehicle_classes, surveyed, today())
    };
    let fits: BTreeMap<BayId, _> =
        parts.bays.iter().map(|bay| (bay.id().clone(), fits_in(bay))).collect();
    let look_up = |(procedure, method, class, bay): (&_, &_, &_, &BayId)| -> Option<&Fit> {
        let asked: crate::fit::FitAsked =
            (Clone::clone(procedure), Clone::clone(method), Clone::clone(class));
        fits.get(bay)?.get(&asked)
    };
    let site = Site::new(SiteDraft::at_sea_level(45.0, 0.0)).unwrap();
    let track = SunTrack::new(site, Window::new(at(0)..at(24 * 60)).unwrap()).unwrap();
    let hours = WindowSet::from(Window::new(at(7 * 60)..at(8 * 60 + 30)).unwrap());
    let bearing = Azimuth::from_degrees(0.0).unwrap();
    let sun = Some(SunAsked { on: today(), hours: &hours, track: &track, bearing });
    let asked = GainShop { shop: &shop, surveys: &surveys, on: today(), sun, fit: &look_up };
    let work = WorkAsked {
        procedure: ProcedureId::new("aim").unwrap(),
        class: saloon().id().clone(),
        per_week: 1.0,
    };
    gain_report(&asked, &[work])
}

#[test]
fn every_kind_of_change_is_named_where_it_brings_work() {
    for kind in ChangeKind::ALL.iter().copied() {
        let found = report_for(&wrong_for(kind));
        assert!(found.in_house.is_empty(), "{kind}: nothing is wrong");
        let gain = found.gains.iter().find(|gain| gain.change.kind() == kind);
        let gain = gain.unwrap_or_else(|| panic!("{kind} is not told: {:?}", lines(&found)));
        assert_eq!((gain.brings.len(), gain.loses.len()), (1, 0), "{kind}");
        assert!((gain.hours_per_week() - 1.0).abs() < 1e-12, "{kind}");
    }
}

#[test]
fn nothing_is_told_where_nothing_is_wrong() {
    let found = report_for(&right());
    assert_eq!((found.in_house.len(), found.gains.len()), (1, 0));
}

#[test]
fn a_shop_whose_blind_is_closed_can_do_what_the_report_says_that_it_brings() {
    let brings = report_for(&wrong_for(ChangeKind::CloseBlind)).gains[0].brings.clone();
    let mut closed = wrong_for(ChangeKind::CloseBlind);
    closed.bays[0].daylight_openings[0].drawn.as_mut().unwrap().blind_closed = true;
    assert_eq!(report_for(&closed).in_house, brings);
    // Without a blind there is nothing to close, and no other change keeps the sun out.
    let mut without = wrong_for(ChangeKind::CloseBlind);
    without.bays[0].daylight_openings[0].blind = false;
    let found = report_for(&without);
    assert_eq!((found.outside.len(), found.gains.len()), (1, 0));
}
