//! The service plans anew by itself: changes in a short time become one revision, nothing new leaves the
//! standing one, a stop loses no change.

use baywright_api::v1;
use baywright_tests::system::{
    Caller, SHOP, TestService, at, definition, definition_with_bays, estimate, time,
};
use std::{collections::BTreeSet, time::Duration};
use tokio::time::sleep;

/// Longer than any pause between two calls of a burst, on a busy machine too.
const SETTLE: Duration = Duration::from_secs(2);
/// After this the service would have planned, had it a reason to.
const QUIET: Duration = Duration::from_secs(5);

/// Waits for a revision that knows a change, and gives it.
async fn plan_that_knows(caller: &Caller, change: u64) -> v1::Plan {
    // Whoever never comes here is caught by the test's own end.
    loop {
        let plan = caller.newest_plan().await;
        if plan.known_change >= change {
            return plan;
        }
        sleep(Duration::from_millis(100)).await;
    }
}

async fn newest_change(caller: &Caller) -> u64 {
    let request = v1::ListAuditEntriesRequest {
        shop_id: SHOP.to_owned(),
        page_size: 1,
        newest_first: true,
        ..v1::ListAuditEntriesRequest::default()
    };
    caller.send(request).await.unwrap().entries[0].number
}

/// A job that comes in two hours.
fn later(job_id: &str) -> v1::Estimate {
    v1::Estimate {
        expected_arrival_time: Some(time(at(120))),
        ..estimate(job_id, &["bumper-removed"])
    }
}

/// Takes an estimate of a job that comes in two hours, with everything accepted and authorised.
async fn expect(caller: &Caller, job_id: &str) {
    caller.submit(later(job_id)).await.unwrap();
    let job = caller.accept_all(job_id).await.unwrap();
    for prerequisite in &job.prerequisites {
        let asked = prerequisite.asked() == v1::AskedWhen::Ahead;
        if asked && prerequisite.provided_by_task_id.is_empty() {
            caller.sign_off(job_id, &prerequisite.prerequisite_id).await.unwrap();
        }
    }
}

fn jobs_of(plan: &v1::Plan) -> BTreeSet<&str> {
    plan.assignments.iter().map(|one| one.job_id.as_str()).collect()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn twenty_changes_in_a_short_time_become_one_revision() {
    let service = TestService::start_replanning(SETTLE).await;
    let caller = service.caller();
    caller.set_up(definition_with_bays(4)).await;
    expect(&caller, "J-first").await;
    for index in 0..20 {
        caller.submit(later(&format!("J-{index}"))).await.unwrap();
    }
    let first = caller.plan().await.unwrap();
    assert_eq!((first.revision, first.actor.as_str()), (1, "Mia (invented)"));

    // What they call for is accepted, but nothing is authorised yet: it waits, and the plan says so.
    for index in 0..20 {
        caller.accept_all(&format!("J-{index}")).await.unwrap();
    }
    let plan = plan_that_knows(&caller, newest_change(&caller).await).await;

    assert_eq!((plan.revision, plan.actor.as_str()), (2, "baywright"));
    assert_eq!((plan.days, plan.seed), (first.days, first.seed));
    let named: BTreeSet<_> = plan.unplanned.iter().map(|one| one.job_id.as_str()).collect();
    assert!((0..20).all(|index| named.contains(format!("J-{index}").as_str())), "{named:?}");
    // Their scans need no word from the customer.
    assert_eq!(jobs_of(&plan).len(), 21);
    sleep(QUIET).await;
    assert_eq!(caller.newest_plan().await, plan);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn changes_that_leave_everything_as_it_was_leave_the_revision() {
    let service = TestService::start_replanning(Duration::from_millis(200)).await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    expect(&caller, "J-1").await;
    let plan = caller.plan().await.unwrap();

    // Another word for the shop, and the same prerequisite signed off again.
    let mut renamed = definition();
    renamed.technicians[0].title = "Somebody else (invented)".to_owned();
    caller.apply(renamed).await.unwrap();
    caller.sign_off("J-1", "authorised").await.unwrap();
    sleep(QUIET).await;

    assert_eq!(caller.newest_plan().await, plan);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_shop_without_a_plan_gets_none_by_itself() {
    let service = TestService::start_replanning(Duration::from_millis(200)).await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    expect(&caller, "J-1").await;
    sleep(QUIET).await;
    let request = v1::GetPlanRequest { shop_id: SHOP.to_owned(), ..v1::GetPlanRequest::default() };
    assert!(caller.send(request).await.is_err());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_pulled_while_the_service_plans_is_in_the_plan_that_comes() {
    let service = TestService::start_replanning(Duration::from_millis(100)).await;
    let caller = service.caller();
    let mut definition = definition_with_bays(4);
    definition.shop.as_mut().unwrap().spots[0].capacity = 100;
    caller.set_up(definition).await;
    for index in 0..12 {
        caller.bring_in(estimate(&format!("J-{index}"), &["bumper-removed"])).await;
    }
    caller.plan().await.unwrap();
    // Each pull is a change: the search begins anew, and every pull is answered.
    for _ in 0..10 {
        let held = caller.pull("ana").await.unwrap();
        caller.put_back(&held).await.unwrap();
    }
    let held = caller.pull("ana").await.unwrap();
    let running = caller.begin(&held).await.unwrap();
    caller.bring_in(estimate("J-last", &["bumper-removed"])).await;

    let plan = plan_that_knows(&caller, newest_change(&caller).await).await;

    let fixed: Vec<_> = plan.assignments.iter().filter(|one| one.fixed).collect();
    assert_eq!(fixed.len(), 1, "{fixed:?}");
    assert_eq!((&fixed[0].job_id, &fixed[0].task_id), (&running.job_id, &running.task_id));
    assert_eq!(jobs_of(&plan).len(), 13);
}

/// The process is stopped, or killed, before its plan is kept: the next one makes it.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_change_that_was_not_planned_before_a_stop_is_planned_after_it() {
    for kill in [false, true] {
        let service = TestService::start_replanning(Duration::from_millis(300)).await;
        let caller = service.caller();
        caller.set_up(definition()).await;
        expect(&caller, "J-1").await;
        let before = caller.plan().await.unwrap();
        expect(&caller, "J-2").await;
        let change = newest_change(&caller).await;

        let service = if kill {
            service.kill_and_start_at(at(1)).await
        } else {
            service.restart_at(at(1)).await
        };

        let plan = plan_that_knows(&service.caller(), change).await;
        assert!(plan.revision > before.revision);
        assert_eq!(jobs_of(&plan), BTreeSet::from(["J-1", "J-2"]));
    }
}
