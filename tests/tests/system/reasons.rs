//! Reasons over the wire: a late job is told what it waits for and what would bring it in time.

use baywright_api::v1;
use baywright_tests::system::{SHOP, TestService, at, definition, estimate, refused, time};
use tonic::Code;

fn ask(revision: u32, job_id: &str) -> v1::ExplainPlanRequest {
    v1::ExplainPlanRequest { shop_id: SHOP.to_owned(), revision, job_id: job_id.to_owned() }
}

/// One technician, with units enough for two, and two jobs of 40 minutes of work, both promised for 75
/// minutes from now.
#[tokio::test]
async fn a_late_job_is_told_what_it_waits_for_and_what_would_bring_it_in_time() {
    let service = TestService::start().await;
    let caller = service.caller();
    let mut shop = definition();
    shop.technicians.truncate(1);
    shop.units.iter_mut().for_each(|unit| unit.count = Some(2));
    caller.set_up(shop).await;
    refused(caller.send(ask(0, "")).await, Code::NotFound, "NOT_FOUND");
    for job_id in ["J-1", "J-2"] {
        let mut estimate = estimate(job_id, &["bumper-removed"]);
        estimate.promise_time = Some(time(at(75)));
        caller.bring_in(estimate).await;
    }
    let plan = caller.plan().await.unwrap();
    let [late] = &plan.late_jobs[..] else { panic!("{plan:?}") };

    let told = caller.send(ask(plan.revision, "")).await.unwrap();

    let [reasons] = &told.jobs[..] else { panic!("{told:?}") };
    assert_eq!((&reasons.job_id, reasons.finish_time), (&late.job_id, late.finish_time));
    assert_eq!(reasons.promise_time, late.promise_time);
    assert!(reasons.complete && !reasons.left_out && !told.caution.is_empty());
    let other = if late.job_id == "J-1" { "J-2" } else { "J-1" };
    let sentences: Vec<_> = reasons.waits.iter().map(|wait| wait.sentence.as_str()).collect();
    assert!(sentences.iter().any(|why| why.contains(&format!("job {other}"))), "{sentences:?}");
    let promise = reasons.remedies.iter().find(|one| one.sentence.starts_with("Promise it"));
    let promise = promise.unwrap_or_else(|| panic!("{reasons:?}"));
    assert_eq!(promise.minutes, late.late_minutes);
    assert_eq!(promise.others_cost_before, promise.others_cost_after);
    let more = reasons.remedies.iter().find(|one| one.sentence.starts_with("One technician more"));
    assert!(more.is_some_and(|more| more.cost_after < more.cost_before), "{reasons:?}");
    // The other one is in time, and a job that is not in the plan has no reasons.
    assert_eq!(caller.send(ask(0, other)).await.unwrap().jobs, []);
    refused(caller.send(ask(0, "J-3")).await, Code::NotFound, "NOT_FOUND");
}
