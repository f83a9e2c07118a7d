//! Offers of the invented shop.

use super::menu::step_up;
use super::trial::leaves_at;
use super::*;
use crate::calendar::Window;
use crate::demand::TaskKind;
use crate::example_shop::*;
use crate::ids::{BayId, JobId, MethodId, StationId, VehicleClassId};
use crate::run_times::{Barred, BoundRuns, RunTimes};
use crate::shop::{ShopDefinition, ShopDefinitionDraft};
use crate::shop_day::HostsByDay;
use crate::work::{CallRule, Place};
use rstest::rstest;
use std::collections::BTreeSet;

struct Shop {
    definition: ShopDefinition,
    jobs: Vec<Job>,
    hosts: HostsByDay,
    runs: BoundRuns,
    days: u32,
}

/// One technician and one bay.
fn narrow(jobs: Vec<Job>) -> Shop {
    let mut draft = definition_draft();
    draft.technicians.truncate(1);
    with_bays(draft, jobs, &["bay-1"])
}

fn with_bays(draft: ShopDefinitionDraft, jobs: Vec<Job>, bays: &[&str]) -> Shop {
    let place = |bay: &&str| Place {
        bay: BayId::new(*bay).unwrap(),
        station: StationId::new("mark").unwrap(),
    };
    let class = VehicleClassId::new("compact").unwrap();
    let hosts = ["glass", "front-camera", "front-radar"].into_iter().map(|procedure| {
        let procedure = ProcedureId::new(procedure).unwrap();
        let places = bays.iter().map(place).collect();
        ((procedure, MethodId::new("static").unwrap(), class.clone()), places)
    });
    let definition = ShopDefinition::new(draft).unwrap();
    let (hosts, runs) = (HostsByDay::always(hosts.collect()), BoundRuns::default());
    Shop { definition, jobs, hosts, runs, days: 1 }
}

impl Shop {
    fn ask(
        &self,
        estimate: &Estimate,
        held: &[HeldOffer],
        promised: Option<DateTime<Utc>>,
    ) -> Result<Offering, OfferError> {
        let clashes = BTreeSet::new();
        let state = ShopState {
            shop: &self.definition,
            jobs: &self.jobs,
            hosts: &self.hosts,
            clashes: &clashes,
            runs: &self.runs,
            closed: &[],
            holds: &[],
            previous: &[],
            now: at("07:45"),
            days: self.days,
        };
        let effort = Effort { seed: 0, plan_epochs: 2, question_epochs: 2 };
        offer(&OfferAsked { state, estimate, held, promised, effort })
    }

    fn earliest(&self, estimate: &Estimate, held: &[HeldOffer]) -> Result<Promise, Vec<String>> {
        self.ask(estimate, held, None).unwrap().promise
    }
}

fn visit(job: &str, codes: &[&str]) -> Estimate {
    let mut draft = estimate(1, codes).parts().clone();
    draft.job = JobId::new(job).unwrap();
    Estimate::new(draft).unwrap()
}

/// A job that is expected at 08:00, all accepted, with its promise.
fn expected(job: &str, promise: &str) -> Job {
    let mut job =
        take_estimate(None, &visit(job, &["front-bumper-removed"]), &definition(), at("07:45"))
            .unwrap();
    accept_all(&mut job, at("07:45"));
    job.promise_at = at(promise);
    job
}

/// From the arrival at 08:00 two tasks of 30 minutes, and 10 minutes of a move after each.
#[test]
fn the_earliest_promise_is_the_planned_finish_and_a_move_rounded_up_to_a_quarter_of_an_hour() {
    let offered =
        narrow(Vec::new()).ask(&visit("W", &["front-bumper-removed"]), &[], None).unwrap();
    let promise = Promise { promise_at: at("09:30"), finish_at: at("09:10") };
    assert_eq!(offered.promise, Ok(promise));
    let needs: Vec<_> = offered.needs.iter().map(|(task, _)| task.as_str()).collect();
    assert_eq!(needs, ["pre-scan", "front-radar"]);
}

#[rstest]
#[case::on_the_quarter("09:15", "09:15")]
#[case::a_minute_after_it("09:16", "09:30")]
fn a_promise_is_rounded_up(#[case] from: &str, #[case] expected: &str) {
    assert_eq!(step_up(at(from)), at(expected));
    assert_eq!(
        step_up(at(expected) + TimeDelta::nanoseconds(1)),
        at(expected) + TimeDelta::minutes(15)
    );
}

/// Glass from 08:40 to 09:10, the camera 60 minutes after it until 10:40, then a move and the drive.
#[test]
fn the_adhesive_is_waited_for() {
    let promise = narrow(Vec::new()).earliest(&visit("W", &["windshield-replaced"]), &[]).unwrap();
    assert_eq!(promise, Promise { promise_at: at("11:30"), finish_at: at("11:20") });
}

/// A drive that comes last hides the cure; without it the adhesive alone decides.
#[test]
fn a_vehicle_leaves_only_when_it_may_be_driven() {
    let mut job = accepted_job(&["windshield-replaced"]);
    job.tasks.retain(|task| task.kind != TaskKind::RoadDrive);
    let ends = |task: &TaskId| (task.as_str() == "glass").then(|| at("09:00"));
    assert_eq!(leaves_at(&job, at("09:30"), ends), at("10:30"));
}

#[test]
fn what_is_taken_for_granted_is_said() {
    let offered = narrow(Vec::new()).ask(&visit("W", &["windshield-replaced"]), &[], None).unwrap();
    for start in ["authorised: met when", "parts: met when", "The vehicle comes at its expected"] {
        assert!(
            offered.assumptions.iter().any(|sentence| sentence.starts_with(start)),
            "{start}: {:?}",
            offered.assumptions
        );
    }
}

#[test]
fn no_promise_is_offered_while_an_operation_needs_a_decision() {
    let codes = ["front-bumper-removed", "seats-heated"];
    let reasons = narrow(Vec::new()).earliest(&visit("W", &codes), &[]).unwrap_err();
    assert_eq!(reasons.len(), 1);
    assert!(reasons[0].contains("line-seats-heated"), "{reasons:?}");
}

#[test]
fn no_promise_is_offered_without_the_adhesive_makers_minutes() {
    let mut draft = definition_draft();
    draft.call_rules = rules()
        .iter()
        .map(|rule| {
            let mut parts = rule.parts().clone();
            parts.calls.iter_mut().for_each(|call| call.planned_cure = None);
            CallRule::new(parts).unwrap()
        })
        .collect();
    let shop = with_bays(draft, Vec::new(), &["bay-1"]);
    let reasons = shop.earliest(&visit("W", &["windshield-replaced"]), &[]).unwrap_err();
    assert!(reasons[0].contains("adhesive maker"), "{reasons:?}");
}

#[test]
fn no_promise_is_offered_where_no_bay_fits() {
    let shop = with_bays(definition_draft(), Vec::new(), &[]);
    let reasons = shop.earliest(&visit("W", &["front-bumper-removed"]), &[]).unwrap_err();
    assert!(reasons.iter().any(|reason| reason.contains("no surveyed bay fits")), "{reasons:?}");
}

/// The one technician has 60 minutes of work for each vehicle.
#[test]
fn a_promise_that_can_be_kept_comes_first() {
    let shop = narrow(vec![expected("A", "09:15")]);
    let promise = shop.earliest(&visit("W", &["front-bumper-removed"]), &[]).unwrap();
    assert!(promise.finish_at >= at("10:00"), "{promise:?}");
}

/// A needs 70 minutes from 08:00 on and its door by 09:15; the walk-in can be there at 09:30 in its stead.
#[test]
fn an_earlier_promise_is_told_with_its_price_and_who_becomes_late() {
    let shop = narrow(vec![expected("A", "09:15")]);
    let offered = shop.ask(&visit("W", &["front-bumper-removed"]), &[], None).unwrap();
    let promise = offered.promise.unwrap();
    let first = offered.priced.first().unwrap();
    assert_eq!(first.promise, Promise { promise_at: at("09:30"), finish_at: at("09:10") });
    assert!(first.promise.promise_at < promise.promise_at && first.price > 0, "{first:?}");
    let [late] = &first.late[..] else { panic!("{first:?}") };
    assert_eq!((late.job.as_str(), late.promise), ("A", at("09:15")));
    assert!(late.finish > late.promise);
    let cheaper = offered.priced.windows(2).all(|two| two[1].price < two[0].price);
    assert!(cheaper && offered.priced.iter().all(|one| !one.late.is_empty()));
}

/// Who does what for the promise is kept with the offer: the two tasks, one after the other, by its finish.
#[test]
fn an_offer_says_what_it_reserves() {
    let shop = narrow(vec![expected("A", "09:15")]);
    let offered = shop.ask(&visit("W", &["front-bumper-removed"]), &[], None).unwrap();
    let tasks: Vec<_> = offered.reserved.iter().map(|one| one.task.as_str()).collect();
    assert_eq!(tasks, ["pre-scan", "front-radar"]);
    assert!(offered.reserved.iter().all(|one| one.job.as_str() == "W"));
    let last = offered.reserved.last().unwrap();
    assert_eq!(Ok(last.end), offered.promise.map(|promise| promise.finish_at));
    assert!(last.place.is_some());
}

/// Every entry of a glass job's menu waits the maker's 60 minutes for the camera and 90 for the road, and
/// keeps out of the sun, which stands in the bay until 12:00.
#[test]
fn a_glass_jobs_menu_waits_for_the_adhesive_and_the_sun() {
    let mut shop = narrow(vec![expected("A", "09:15"), expected("B", "11:00")]);
    let glass = visit("W", &["windshield-replaced"]);
    let free = shop.ask(&glass, &[], None).unwrap();
    let period = Window::new(at("00:00")..at("00:00") + TimeDelta::days(3)).unwrap();
    let window = Window::new(at("06:00")..at("12:00")).unwrap();
    let barred = Barred { window, why: "direct sun on zone target through W2".to_owned() };
    let key = (
        ProcedureId::new("front-camera").unwrap(),
        MethodId::new("static").unwrap(),
        VehicleClassId::new("compact").unwrap(),
        Place { bay: BayId::new("bay-1").unwrap(), station: StationId::new("mark").unwrap() },
    );
    shop.runs.in_bays.insert(key, RunTimes::new(period, vec![barred]));
    let sunny = shop.ask(&glass, &[], None).unwrap();
    for offered in [&free, &sunny] {
        let of = |task: &str| offered.reserved.iter().find(|one| one.task.as_str() == task);
        let [set, camera, drive] =
            ["glass", "front-camera", "road-drive"].map(|task| of(task).unwrap());
        assert!(set.end + TimeDelta::minutes(60) <= camera.start);
        assert!(set.end + TimeDelta::minutes(90) <= drive.start && camera.end <= drive.start);
        // Scan, move, glass, the hour, camera, move and drive take 230 minutes from the arrival at 08:00.
        let earliest = offered.priced.iter().map(|one| one.promise.finish_at);
        assert!(
            earliest
                .chain([offered.promise.clone().unwrap().finish_at])
                .all(|at_| at_ >= at("11:20"))
        );
    }
    // The run begins 5 minutes after the start: 12:00 at the earliest; then a move and the drive.
    let after_sun = |one: &Promise| one.finish_at >= at("13:05");
    assert!(
        after_sun(&sunny.promise.unwrap()) && sunny.priced.iter().all(|o| after_sun(&o.promise))
    );
}

#[test]
fn what_is_reserved_is_what_was_planned_last_or_what_the_offer_says() {
    let shop = narrow(Vec::new());
    let estimate = visit("V", &["front-bumper-removed"]);
    let offered = shop.ask(&estimate, &[], None).unwrap();
    let promise_at = offered.promise.unwrap().promise_at;
    let held = [HeldOffer { estimate, promise_at, reserved: offered.reserved.clone() }];
    assert_eq!(reserved_assignments(&held, &[], &[]), offered.reserved);
    let planned = offered.reserved[..1].to_vec();
    assert_eq!(reserved_assignments(&held, &planned, &[]), planned);
    assert_eq!(reserved_assignments(&held, &planned, &[expected("V", "12:00")]), []);
}

#[test]
fn an_offer_that_is_held_is_planned_around() {
    let shop = narrow(Vec::new());
    let first = visit("V", &["front-bumper-removed"]);
    let promise_at = shop.earliest(&first, &[]).unwrap().promise_at;
    let held = [HeldOffer { estimate: first.clone(), promise_at, reserved: Vec::new() }];
    let second = shop.earliest(&visit("W", &["front-bumper-removed"]), &held).unwrap();
    assert!(second.finish_at >= at("10:00"), "{second:?}");
    // Asked again for the same visit, it does not stand in its own way.
    assert_eq!(shop.earliest(&first, &held).unwrap().promise_at, promise_at);
}

#[test]
fn a_promise_that_was_offered_is_kept_or_refused() {
    let walk_in = visit("W", &["front-bumper-removed"]);
    let ask = |shop: &Shop, at| shop.ask(&walk_in, &[], Some(at)).unwrap().promise;
    let free = ask(&narrow(Vec::new()), at("09:30")).unwrap();
    assert_eq!((free.promise_at, free.finish_at), (at("09:30"), at("09:10")));
    // A job with an earlier promise came in meanwhile.
    let reasons = ask(&narrow(vec![expected("A", "09:15")]), at("09:30")).unwrap_err();
    assert!(!reasons.is_empty());
}

/// Work of ten hours for one technician: nothing more fits before the shop closes.
#[test]
fn a_day_that_is_full_refuses_with_reasons() {
    let jobs = (0..9).map(|number| expected(&format!("A-{number}"), "17:00")).collect();
    let reasons = narrow(jobs).earliest(&visit("W", &["front-bumper-removed"]), &[]).unwrap_err();
    assert!(!reasons.is_empty());
}

/// No rule for this class: the estimate is refused as a sent one would be.
#[test]
fn an_estimate_that_the_shop_cannot_take_is_an_error() {
    let mut draft = visit("W", &["front-bumper-removed"]).parts().clone();
    draft.vehicle.class = VehicleClassId::new("tall-van").unwrap();
    let asked = narrow(Vec::new()).ask(&Estimate::new(draft).unwrap(), &[], None);
    assert!(matches!(
        asked,
        Err(OfferError::Estimate(EstimateRefused::UnknownVehicleClass { .. }))
    ));
}
