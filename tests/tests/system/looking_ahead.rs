//! What would be if the shop were otherwise, and what will get done: only asked, from the state and the
//! attempts that the service has.

use baywright_api::v1::{self, supposition::Kind};
use baywright_tests::system::{
    BOTH, Caller, SHOP, TestService, at, definition, definition_with_bays, estimate,
    new_request_id, time,
};

async fn what_if(caller: &Caller, kinds: Vec<Kind>) -> v1::WhatIfReport {
    let of = |kind| v1::Supposition { kind: Some(kind) };
    let request = v1::ReportWhatIfRequest {
        shop_id: SHOP.to_owned(),
        suppositions: kinds.into_iter().map(of).collect(),
        days: 1,
        seed: 1,
        epochs: 4,
    };
    caller.send(request).await.unwrap().report.unwrap()
}

/// Both bays closed all day: nothing of what needs a bay is done, and whoever asked sees each job.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn closed_bays_leave_out_what_needs_a_bay_and_the_plan_stays_as_it_is() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    for index in 0..3 {
        caller.bring_in(estimate(&format!("J-{index}"), &BOTH)).await;
    }
    let plan = caller.plan().await.unwrap();
    let closed = |bay: &str| {
        Kind::BayClosed(v1::BayClosed {
            bay_id: bay.to_owned(),
            from_time: Some(time(at(-60))),
            until_time: Some(time(at(2 * 24 * 60))),
        })
    };

    let report = what_if(&caller, vec![closed("bay-1"), closed("bay-2")]).await;

    let (before, after) = (report.before.unwrap(), report.after.unwrap());
    assert_eq!((before.left_out_jobs, after.left_out_jobs), (0, 3));
    assert_eq!(after.planned_tasks, 0);
    assert_eq!(report.jobs.len(), 3);
    assert!(report.jobs.iter().all(|job| job.after_finish_time.is_none() && !job.added));
    assert!(after.cost_less_changes > before.cost_less_changes);
    assert_eq!(caller.newest_plan().await, plan, "nothing is kept");
}

/// More hands never make it worse: the plan without them may stand.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_technician_more_costs_no_more_and_work_that_grows_is_named() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition_with_bays(4)).await;
    for index in 0..6 {
        caller.bring_in(estimate(&format!("J-{index}"), &["bumper-removed"])).await;
    }
    let like = v1::TechnicianMore { like_technician_id: "ana".to_owned() };
    let report = what_if(&caller, vec![Kind::TechnicianMore(like)]).await;
    let (before, after) = (report.before.unwrap(), report.after.unwrap());
    assert!(after.cost_less_changes <= before.cost_less_changes, "{after:?} and {before:?}");

    let grown = v1::WorkGrown { percent: 50, ..v1::WorkGrown::default() };
    let report = what_if(&caller, vec![Kind::WorkGrown(grown)]).await;
    let added: Vec<_> = report.jobs.iter().filter(|job| job.added).collect();
    assert_eq!(added.len(), 3);
    assert!(added.iter().all(|job| job.job_name.contains("-more-")), "{added:?}");
}

async fn forecast(caller: &Caller, use_past_minutes: bool) -> v1::ForecastReport {
    let (procedure_id, vehicle_class_id) = ("radar".to_owned(), "saloon".to_owned());
    let request = v1::ReportForecastRequest {
        shop_id: SHOP.to_owned(),
        mix: vec![v1::WorkAsked { procedure_id, vehicle_class_id, per_week: 20.0 }],
        weeks: 1,
        runs: 4,
        use_past_minutes,
        ..v1::ReportForecastRequest::default()
    };
    caller.send(request).await.unwrap().report.unwrap()
}

/// Attempts that took no time on the test's clock: a minute each, where the document states more. They
/// are shown, and counted with only when that is asked for; a corrected one is in doubt.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn minutes_of_past_attempts_stand_beside_the_written_ones() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition_with_bays(4)).await;
    let mut records = Vec::new();
    for index in 0..6 {
        caller.bring_in(estimate(&format!("J-{index}"), &["bumper-removed"])).await;
        records.extend(caller.work_off(&["ana", "ben"]).await);
        caller.move_out(&format!("J-{index}")).await.unwrap();
    }
    let radars: Vec<_> = records
        .iter()
        .filter(|record| record.task.as_ref().is_some_and(|task| task.procedure_id == "radar"))
        .collect();
    assert_eq!(radars.len(), 6);

    let written = forecast(&caller, false).await;
    let past = forecast(&caller, true).await;

    let [used] = written.minutes.as_slice() else { panic!("{:?}", written.minutes) };
    assert!(!used.used_past && past.minutes[0].used_past);
    let spread = used.past.unwrap();
    assert_eq!((spread.attempts, spread.median_minutes), (6, 1));
    assert!(used.written_minutes > 1 && !used.by_technician.is_empty());
    let hours = |report: &v1::ForecastReport| report.weeks[0].done_hours.unwrap().p50;
    assert!(hours(&past) < hours(&written), "{past:?}");

    let correct = v1::CorrectRecordRequest {
        shop_id: SHOP.to_owned(),
        number: radars[0].number,
        reason: "the times were noted at another vehicle".to_owned(),
        statements: vec![v1::EvidenceStatement {
            subject: "time".to_owned(),
            sentence: "It took an hour.".to_owned(),
            source: v1::EvidenceSource::Told.into(),
        }],
        request_id: new_request_id(),
        actor: "Mia (invented)".to_owned(),
    };
    caller.send(correct).await.unwrap();
    let spread = forecast(&caller, false).await.minutes[0].past.unwrap();
    assert_eq!(spread.attempts, 5);
}

/// Nothing has happened since the plan: it stands at every price of a change. Its next revision says so too.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_front_and_the_next_revision_show_how_steady_a_plan_is() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    for index in 0..3 {
        caller.bring_in(estimate(&format!("J-{index}"), &BOTH)).await;
    }
    let front = async || {
        let request = v1::ReportFrontRequest {
            shop_id: SHOP.to_owned(),
            days: 1,
            seed: 1,
            epochs: 4,
            seconds: 0,
        };
        caller.send(request).await.unwrap().report.unwrap()
    };
    let before = front().await;
    assert!(before.points.iter().all(|point| point.steadiness.is_none()), "{before:?}");

    let plan = caller.plan().await.unwrap();
    assert_eq!(plan.steadiness, None, "nothing stood before");
    let report = front().await;

    let factors: Vec<u32> = report.points.iter().map(|point| point.change_factor).collect();
    assert_eq!(factors, [0, 1, 4]);
    let steady: Vec<_> = report.points.iter().map(|point| point.steadiness.unwrap()).collect();
    assert!(steady.is_sorted_by(|one, next| one.changed_tasks >= next.changed_tasks), "{steady:?}");
    let cost = |point: &v1::FrontPoint| point.outcome.unwrap().cost_less_changes;
    assert!(report.points.is_sorted_by_key(cost), "{report:?}");
    assert_eq!(usize::try_from(steady[2].tasks).unwrap(), plan.assignments.len());
    assert_eq!(caller.newest_plan().await, plan, "nothing is kept");

    let again = caller.plan().await.unwrap();
    let steady = again.steadiness.unwrap();
    assert!(steady.tasks > 0 && again.cost <= plan.cost, "{again:?}");
    let moved = again.assignments.iter().filter(|one| !plan.assignments.contains(one)).count();
    assert_eq!(usize::try_from(steady.changed_tasks).unwrap(), moved);
}
