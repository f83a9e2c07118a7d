//! Weeks of the invented shop whose outcome follows from hours and minutes alone.

use super::*;
use crate::example_shop::*;
use crate::floor::{Bay, BayDraft};
use crate::ids::{MethodId, ProcedureId, StationId, VehicleClassId};
use crate::shop::ShopDefinitionDraft;
use crate::shop_day::Hosts;
use rstest::rstest;

/// Open hours of the example shop and its two technicians: 07:30 to 17:00 from Monday to Friday.
const OPEN_MINUTES: f64 = 5.0 * 570.0;

fn draft() -> ShopDefinitionDraft {
    let bay = BayDraft {
        id: BayId::new("bay-1").unwrap(),
        outline_mm: vec![(0.0, 0.0), (8e3, 0.0), (8e3, 5e3), (0.0, 5e3)],
        ceiling_mm: 3_000.0,
        obstructions: Vec::new(),
        stations: Vec::new(),
        daylight_openings: Vec::new(),
    };
    let mut draft = definition_draft();
    draft.bays = vec![Bay::new(bay).unwrap()];
    // Without the rules every procedure is a task by itself.
    draft.call_rules.clear();
    draft
}

fn work(procedure: &str, per_week: f64) -> WorkAsked {
    WorkAsked {
        procedure: ProcedureId::new(procedure).unwrap(),
        class: VehicleClassId::new("compact").unwrap(),
        per_week,
    }
}

/// One bay in which the radar fits.
fn hosts() -> HostsByDay {
    let key = (
        ProcedureId::new("front-radar").unwrap(),
        MethodId::new("static").unwrap(),
        VehicleClassId::new("compact").unwrap(),
    );
    let place =
        Place { bay: BayId::new("bay-1").unwrap(), station: StationId::new("mark").unwrap() };
    HostsByDay::always(Hosts::from([(key, vec![place])]))
}

struct Question {
    shop: ShopDefinition,
    hosts: HostsByDay,
    clashes: BTreeSet<(Place, Place)>,
    mix: Vec<WorkAsked>,
    past: PastMinutes,
}

impl Question {
    fn about(mix: &[WorkAsked]) -> Self {
        Self {
            shop: ShopDefinition::new(draft()).unwrap(),
            hosts: hosts(),
            clashes: BTreeSet::new(),
            mix: mix.to_vec(),
            past: PastMinutes::default(),
        }
    }

    fn asked(&self) -> ForecastAsked<'_> {
        ForecastAsked {
            shop: &self.shop,
            hosts: &self.hosts,
            clashes: &self.clashes,
            mix: &self.mix,
            past: &self.past,
            use_past: false,
            // A Monday, half an hour before the shop opens.
            from: at("07:00") - TimeDelta::days(1),
            weeks: 2,
            runs: 5,
            promise_hours: 48,
            seed: 1,
        }
    }

    fn answer(&self) -> Forecast {
        forecast(&self.asked(), &mut || false).unwrap()
    }
}

/// Ten radars of half an hour a week in one bay: all of them fit, and hours are half the tasks.
#[test]
fn work_that_fits_is_done_in_its_week() {
    let found = Question::about(&[work("front-radar", 10.0)]).answer();
    for week in &found.weeks {
        assert!((week.hours.p50 - week.tasks.p50 / 2.0).abs() < 1e-9, "{week:?}");
        assert!(week.tasks.p50 > 0.0 && week.waiting.p50 < 1.0, "{week:?}");
    }
    assert_eq!(found.outside, []);
}

/// A hundred and fifty radars a week: one bay takes 19 a day (570 minutes, 30 each), 95 a week, and no more.
#[test]
fn a_bay_takes_no_more_than_its_hours() {
    let found = Question::about(&[work("front-radar", 150.0)]).answer();
    let most = 5.0 * (570.0_f64 / 30.0).floor();
    for week in &found.weeks {
        assert!(week.tasks.p90 <= most, "{week:?}");
    }
    // The second week begins with what waits, so the bay is busy from its first minute to its last.
    assert!(found.weeks[1].tasks.p10 >= most - 1.0, "{:?}", found.weeks[1]);
    assert!(found.weeks[1].waiting.p50 > found.weeks[0].waiting.p50);
    assert!(found.weeks[1].late_jobs.p50 > 0.0);
    let (_, busy) = &found.bays[0];
    assert!(busy.p50 > 90.0 && busy.p90 <= 100.0, "{busy:?}");
    // One bay keeps one technician busy: of two they share it.
    let people: f64 = found.technicians.iter().map(|(_, range)| range.p50).sum();
    assert!((people - busy.p50).abs() < 5.0, "{people} and {busy:?}");
}

#[test]
fn work_that_no_bay_fits_is_outside_with_its_reason() {
    let found = Question::about(&[work("front-radar", 5.0), work("front-camera", 5.0)]).answer();
    let [(outside, why)] = found.outside.as_slice() else { panic!("{:?}", found.outside) };
    assert_eq!(outside.procedure.as_str(), "front-camera");
    assert!(why.contains("no surveyed bay fits"), "{why}");
    assert!(found.weeks.iter().all(|week| week.waiting.p90 < 1.0));
}

/// Independent arrivals: over many runs their number a week has the stated mean, and a variance near it
/// (Poisson's law of rare events).
#[test]
fn what_comes_scatters_around_the_stated_number() {
    let question = Question::about(&[work("front-radar", 20.0)]);
    let counts: Vec<f64> = (0..400)
        .map(|seed| {
            let mut random = Seeded::new(seed, 0);
            let asked = question.asked();
            let arrivals = Arrivals::of(&asked, asked.from, &mut random);
            f64::from(u32::try_from(arrivals.0.len()).unwrap())
        })
        .collect();
    let mean = counts.iter().sum::<f64>() / 400.0;
    let variance = counts.iter().map(|count| (count - mean).powi(2)).sum::<f64>() / 399.0;
    // Standard errors: of the mean sqrt(20 / 400) = 0.22, of the variance about 20 sqrt(2 / 400) = 1.4.
    assert!((mean - 20.0).abs() < 4.0 * 0.22, "{mean}");
    assert!((variance - 20.0).abs() < 4.0 * 1.4, "{variance}");
}

#[test]
fn arrivals_lie_in_the_open_hours() {
    let question = Question::about(&[work("front-radar", 190.0)]);
    let asked = question.asked();
    let arrivals = Arrivals::of(&asked, asked.from, &mut Seeded::new(3, 0));
    let hours = &question.shop.parts().shop.parts().hours;
    let open = hours.windows(asked.from, asked.from + TimeDelta::weeks(1)).unwrap();
    assert!(arrivals.0.len() > 100);
    assert!(arrivals.0.iter().all(|one| open.contains(one.at)));
    assert!((minutes::as_f64(open.duration().num_minutes()) - OPEN_MINUTES).abs() < 1e-9);
}

#[test]
fn the_same_seed_gives_the_same_forecast_and_another_one_another() {
    let question = Question::about(&[work("front-radar", 30.0)]);
    assert_eq!(question.answer(), question.answer());
    let other = ForecastAsked { seed: 2, ..question.asked() };
    assert_ne!(forecast(&other, &mut || false).unwrap().weeks, question.answer().weeks);
}

fn attempt(minutes: u32, technician: &str) -> Attempt {
    Attempt {
        procedure: ProcedureId::new("front-radar").unwrap(),
        method: MethodId::new("static").unwrap(),
        technicians: vec![TechnicianId::new(technician).unwrap()],
        minutes,
    }
}

/// Attempts of an hour each where half an hour is written: hours are counted double, and only when asked.
#[test]
fn minutes_of_the_past_are_used_only_when_asked_for() {
    let mut question = Question::about(&[work("front-radar", 10.0)]);
    question.past = PastMinutes::of((0..6).map(|_| attempt(60, "ada")));
    let written = question.answer();
    let drawn = ForecastAsked { use_past: true, ..question.asked() };
    let drawn = forecast(&drawn, &mut || false).unwrap();

    let [used] = written.minutes.as_slice() else { panic!("{:?}", written.minutes) };
    assert_eq!((used.written, used.used_past), (30, false));
    assert_eq!(used.past.map(|past| (past.attempts, past.median)), Some((6, 60)));
    assert!(drawn.minutes[0].used_past);
    for (written, drawn) in written.weeks.iter().zip(&drawn.weeks) {
        assert!((written.hours.p50 * 2.0 - drawn.hours.p50).abs() < 1e-9, "{drawn:?}");
    }
}

#[test]
fn too_few_attempts_are_shown_but_not_drawn_from() {
    let mut question = Question::about(&[work("front-radar", 10.0)]);
    question.past = PastMinutes::of([attempt(60, "ada"), attempt(80, "bo"), attempt(40, "ada")]);
    let asked = ForecastAsked { use_past: true, ..question.asked() };
    let found = forecast(&asked, &mut || false).unwrap();
    let used = &found.minutes[0];
    assert!(!used.used_past);
    assert_eq!(used.past, Some(Spread { attempts: 3, median: 60, p10: 40, p90: 80 }));
    let ada = Spread { attempts: 2, median: 40, p10: 40, p90: 60 };
    assert_eq!(used.by_technician[0], (TechnicianId::new("ada").unwrap(), ada));
    assert_eq!(found.weeks, question.answer().weeks);
}

#[rstest]
#[case::no_week(|asked: &mut ForecastAsked<'_>| asked.weeks = 0, "weeks")]
#[case::too_many_weeks(|asked: &mut ForecastAsked<'_>| asked.weeks = WEEKS_MAX + 1, "weeks")]
#[case::no_run(|asked: &mut ForecastAsked<'_>| asked.runs = 0, "runs")]
#[case::too_much_in_all(
    |asked: &mut ForecastAsked<'_>| (asked.weeks, asked.runs) = (WEEKS_MAX, RUNS_MAX),
    "runs"
)]
#[case::no_promise(|asked: &mut ForecastAsked<'_>| asked.promise_hours = 0, "promise_hours")]
#[case::no_work(|asked: &mut ForecastAsked<'_>| asked.mix = &[], "mix")]
fn a_question_out_of_its_limits_is_refused(
    #[case] spoil: impl Fn(&mut ForecastAsked<'_>),
    #[case] field: &str,
) {
    let question = Question::about(&[work("front-radar", 10.0)]);
    let mut asked = question.asked();
    spoil(&mut asked);
    let Err(ForecastError::Asked(faults)) = forecast(&asked, &mut || false) else {
        panic!("it is answered")
    };
    assert_eq!(faults.list()[0].field, field);
}

#[test]
fn it_ends_when_it_is_told_to() {
    let question = Question::about(&[work("front-radar", 10.0)]);
    let ended = forecast(&question.asked(), &mut || true);
    assert!(matches!(ended, Err(ForecastError::Stopped)));
}
