//! Long searches for a plan tell how they stand, end when their caller goes away, hold up nobody; and
//! every plan that is kept can be made again from its files.

use baywright_api::v1::{
    self,
    make_plan_with_progress_response::Item::{Plan, Progress},
};
use baywright_core::planner::{self, Problem, SolveOptions};
use baywright_tests::{
    referee::{Verdict, judge},
    system::{
        BOTH, Caller, SHOP, TestService, at, definition, definition_with_bays, estimate,
        new_request_id,
    },
};
use std::{
    path::PathBuf,
    process::{Command, Stdio},
    time::Duration,
};
use tonic::{Code, Streaming};

type Items = Streaming<v1::MakePlanWithProgressResponse>;

/// A service with jobs on site, in four bays: too many to be proved best in a moment, so that a search goes on until it is ended.
async fn with_many_jobs() -> (TestService, Caller) {
    let service = TestService::start().await;
    let caller = service.caller();
    let mut definition = definition_with_bays(4);
    definition.shop.as_mut().unwrap().spots[0].capacity = 100;
    caller.set_up(definition).await;
    for index in 0..20 {
        caller.bring_in(estimate(&format!("J-{index}"), &["bumper-removed"])).await;
    }
    (service, caller)
}

async fn next(items: &mut Items) -> v1::PlanProgress {
    match items.message().await.unwrap().unwrap().item {
        Some(Progress(progress)) => progress,
        other => panic!("{other:?}"),
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_search_tells_how_it_stands_and_pulls_go_on_meanwhile() {
    let (_service, caller) = with_many_jobs().await;
    let mut items = caller.plan_with_progress(30).await.unwrap();
    let first = next(&mut items).await;
    assert_eq!(first.epochs_max, 30);
    // A pull between two words of the search.
    let held = caller.pull("ana").await.unwrap();
    caller.put_back(&held).await.unwrap();

    let mut last = first;
    let plan = loop {
        match items.message().await.unwrap().unwrap().item {
            Some(Progress(now)) => {
                assert!(now.epochs >= last.epochs && now.elapsed_ms >= last.elapsed_ms);
                assert!(now.bound >= last.bound, "{now:?} after {last:?}");
                if last.missing_jobs == 0 {
                    assert!(now.cost <= last.cost, "{now:?} after {last:?}");
                }
                last = now;
            }
            Some(Plan(plan)) => break plan,
            None => panic!("an item says nothing"),
        }
    };
    assert!(items.message().await.unwrap().is_none(), "the plan is the last item");
    assert!(plan.epochs == 30 || plan.proved_best, "{} epochs", plan.epochs);
    assert!(plan.cost <= last.cost && plan.bound <= plan.cost);
    assert_eq!((plan.days, plan.threads, plan.seed), (1, 1, 1));
    assert_eq!(caller.newest_plan().await, plan);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_caller_who_goes_away_ends_the_search_and_nothing_is_kept() {
    let (service, caller) = with_many_jobs().await;
    let standing = caller.plan().await.unwrap();
    let mut items = caller.plan_with_progress(1_000).await.unwrap();
    next(&mut items).await;
    drop(items);
    // The service stops at once: no search holds it up, and what was begun is not kept.
    let again = service.restart_at(at(1)).await;
    assert_eq!(again.caller().newest_plan().await, standing);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_service_that_is_killed_during_a_search_has_the_plan_before_it() {
    let (service, caller) = with_many_jobs().await;
    let standing = caller.plan().await.unwrap();
    let mut items = caller.plan_with_progress(1_000).await.unwrap();
    next(&mut items).await;
    let again = service.kill_and_start_at(at(1)).await;
    assert_eq!(again.caller().newest_plan().await, standing);
}

/// A stop keeps what the search has found by then, and the caller gets it.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_service_that_stops_gives_the_plan_that_was_found_so_far() {
    let (service, caller) = with_many_jobs().await;
    let mut items = caller.plan_with_progress(1_000).await.unwrap();
    next(&mut items).await;
    service.terminate();
    let plan = loop {
        match items.message().await.unwrap().unwrap().item {
            Some(Plan(plan)) => break plan,
            Some(Progress(_)) | None => {}
        }
    };
    let again = service.restart_at(at(1)).await;
    assert_eq!(again.caller().newest_plan().await, plan);
}

#[tokio::test]
async fn a_deadline_ends_a_search_with_its_own_code() {
    let (_service, caller) = with_many_jobs().await;
    let standing = caller.plan().await.unwrap();
    let mut request = tonic::Request::new(v1::MakePlanWithProgressRequest {
        shop_id: SHOP.to_owned(),
        epochs: 1_000,
        request_id: new_request_id(),
        actor: "Mia (invented)".to_owned(),
        ..v1::MakePlanWithProgressRequest::default()
    });
    request.set_timeout(Duration::from_millis(400));
    let mut client = caller.plan_client();
    // The deadline may pass before the first item too.
    let status = match client.make_plan_with_progress(request).await {
        Err(status) => status,
        Ok(items) => {
            let mut items = items.into_inner();
            loop {
                match items.message().await {
                    Ok(Some(_)) => {}
                    Ok(None) => panic!("the stream ends well"),
                    Err(status) => break status,
                }
            }
        }
    };
    // The transport's own timer may win on the caller's side.
    let fine = [Code::DeadlineExceeded, Code::Cancelled].contains(&status.code());
    assert!(fine, "{status:?}");
    assert_eq!(caller.newest_plan().await, standing);
}

/// The problem and the plan of each revision, through the command line's `export` and `solve`.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_revision_is_made_again_from_its_files_byte_for_byte() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    for index in 0..3 {
        caller.bring_in(estimate(&format!("J-{index}"), &BOTH)).await;
    }
    caller.plan().await.unwrap();
    let held = caller.pull("ana").await.unwrap();
    caller.begin(&held).await.unwrap();
    caller.plan().await.unwrap();

    for revision in [1, 2] {
        let request = v1::GetPlanRequest { shop_id: SHOP.to_owned(), revision, with_files: true };
        let reply = caller.send(request).await.unwrap();
        let plan = reply.plan.unwrap();
        // The command line says the same.
        let folder = service.folder();
        let path = |name: &str| folder.path().join(format!("{name}-{revision}.json"));
        let [problem, kept, again] = ["problem", "kept", "again"].map(path);
        for (what, file) in [("problem", &problem), ("plan", &kept)] {
            let option = format!("--{what}={revision}");
            let server = format!("http://{}", service.address());
            let file = file.display().to_string();
            baywright(&["export", &option, &file, "--shop", SHOP, "--server", &server]);
        }
        let read = |path: &PathBuf| std::fs::read_to_string(path).unwrap();
        assert_eq!(read(&problem).trim_end(), reply.problem_file.trim_end());
        assert_eq!(read(&kept).trim_end(), reply.plan_file.trim_end());

        let [seed, threads, epochs] =
            [plan.seed, plan.threads.into(), plan.epochs].map(|number: u64| number.to_string());
        let (from, to) = (problem.display().to_string(), again.display().to_string());
        baywright(&[
            "solve",
            &from,
            "--out",
            &to,
            "--seed",
            &seed,
            "--threads",
            &threads,
            "--epochs",
            &epochs,
        ]);
        assert_eq!(read(&again), read(&kept), "revision {revision}");
        let Verdict { cost, broken } = judge(&read(&problem), &read(&again)).unwrap();
        assert_eq!((cost, broken), (i128::from(plan.cost), Vec::new()), "revision {revision}");
        // And the planner itself, without any of the programs.
        let options =
            SolveOptions { seed: plan.seed, threads: plan.threads, epochs: Some(plan.epochs) };
        let problem = Problem::from_json(&reply.problem_file).unwrap();
        let made = planner::solve(&problem, options, &mut |_| false).unwrap();
        assert_eq!(made.to_json(), reply.plan_file);
    }
}

/// Runs the command line, which must succeed.
fn baywright(arguments: &[&str]) {
    let ran = Command::new(super::common::binary("baywright-cli", "baywright"))
        .args(arguments)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    assert!(ran.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&ran.stderr));
}
