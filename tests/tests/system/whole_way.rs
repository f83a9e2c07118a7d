//! One vehicle's whole way through the shop, and every plan made on it judged by the referee.

use baywright_api::v1::{self, EvidenceSource, JobState, TaskState};
use baywright_service::storage::{Database, plans};
use baywright_tests::{
    referee,
    system::{BOTH, SHOP, TestService, at, definition, estimate},
};
use chrono::{DateTime, TimeDelta, Utc};
use std::{collections::BTreeSet, path::Path};
use tonic::Code;

const TASKS: [&str; 6] =
    ["pre-scan", "post-scan", "glass", "front-camera", "road-drive", "front-radar"];

fn states(job: &v1::Job) -> BTreeSet<(&str, TaskState)> {
    job.tasks.iter().map(|task| (task.task_id.as_str(), task.state())).collect()
}

fn all(state: TaskState) -> BTreeSet<(&'static str, TaskState)> {
    TASKS.iter().map(|task| (*task, state)).collect()
}

fn planned(plan: &v1::Plan) -> BTreeSet<&str> {
    plan.assignments.iter().map(|one| one.task_id.as_str()).collect()
}

fn instant(time: prost_types::Timestamp) -> DateTime<Utc> {
    DateTime::from_timestamp(time.seconds, u32::try_from(time.nanos).unwrap()).unwrap()
}

#[tokio::test]
async fn a_vehicle_goes_its_whole_way_from_estimate_to_hand_back() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;

    // The rules propose, a person accepts.
    let job = caller.submit(estimate("J-1", &BOTH)).await.unwrap();
    assert_eq!((job.state(), states(&job)), (JobState::Expected, all(TaskState::Proposed)));
    let job = caller.accept_all("J-1").await.unwrap();
    assert_eq!(states(&job), all(TaskState::Open));

    // What is asked ahead keeps tasks out of the plan until it is signed off.
    let early = caller.plan().await.unwrap();
    assert_eq!(planned(&early), BTreeSet::new(), "the vehicle is overdue");
    for prerequisite in ["authorised", "glass-parts", "bodywork"] {
        caller.sign_off("J-1", prerequisite).await.unwrap();
    }
    caller.arrive("J-1").await.unwrap();
    let whole = caller.plan().await.unwrap();
    assert_eq!(planned(&whole), TASKS.into());
    assert_eq!((whole.unplanned.as_slice(), whole.late_jobs.as_slice()), (&[][..], &[][..]));

    // The work, as far as the adhesive lets it.
    let first = caller.work_off(&["ana", "ben"]).await;
    assert_eq!(tasks_of(&first), ["pre-scan", "glass", "front-radar"].into());
    let adhesive = caller.job("J-1").await.adhesives.remove(0);
    let set_at = instant(adhesive.set_time.unwrap());
    caller.plan().await.unwrap();

    let service = service.restart_at(set_at + TimeDelta::minutes(60)).await;
    let caller = service.caller();
    caller.plan().await.unwrap();
    let second = caller.work_off(&["ana", "ben"]).await;
    assert_eq!(tasks_of(&second), ["front-camera"].into(), "the vehicle may not be driven yet");

    let service = service.restart_at(set_at + TimeDelta::minutes(90)).await;
    let caller = service.caller();
    let last_plan = caller.plan().await.unwrap();
    assert_eq!(planned(&last_plan), ["road-drive", "post-scan"].into());
    let third = caller.work_off(&["ana", "ben"]).await;
    assert_eq!(tasks_of(&third), ["road-drive", "post-scan"].into());
    assert_eq!(states(&caller.job("J-1").await), all(TaskState::Passed));

    // The evidence, and the way out.
    let records = caller.records("J-1").await;
    assert_eq!(records, [first, second, third].concat());
    check_evidence(&records);
    assert_eq!(caller.hand_back_reasons("J-1").await, []);
    let job = caller.hand_back("J-1", &[]).await.unwrap();
    assert_eq!((job.state(), job.whereabouts), (JobState::HandedBack, None));
    assert!(
        caller.hand_back("J-1", &[]).await.is_err_and(|no| no.code() == Code::FailedPrecondition)
    );

    let (folder, database) = (service.folder(), service.database());
    assert!(service.stop().await.success());
    check_plans(&database, last_plan.revision).await;
    drop(folder);
}

fn tasks_of(records: &[v1::ConditionsRecord]) -> BTreeSet<&str> {
    records.iter().filter_map(|record| Some(record.task.as_ref()?.task_id.as_str())).collect()
}

/// Records are numbered without gaps; each says what it rests on and where that comes from.
#[track_caller]
fn check_evidence(records: &[v1::ConditionsRecord]) {
    let numbers: Vec<_> = records.iter().map(|record| record.number).collect();
    assert_eq!(numbers, (1..=6).collect::<Vec<_>>());
    for record in records {
        assert_eq!((record.outcome(), record.attempt), (v1::Outcome::Passed, 1));
        let sources = record.statements.iter().map(v1::EvidenceStatement::source);
        assert!(sources.into_iter().all(|source| source != EvidenceSource::Unspecified));
    }
    let camera =
        records.iter().find(|one| tasks_of(std::slice::from_ref(one)).contains("front-camera"));
    let camera = camera.unwrap();
    let said: BTreeSet<_> =
        camera.statements.iter().map(|said| (said.subject.as_str(), said.source())).collect();
    let expected = [
        ("space", EvidenceSource::Surveyed),
        ("space", EvidenceSource::Computed),
        ("space", EvidenceSource::Told),
        ("floor", EvidenceSource::Surveyed),
        ("prerequisite", EvidenceSource::Told),
        ("start-check", EvidenceSource::Told),
        ("equipment", EvidenceSource::Told),
        ("time", EvidenceSource::Measured),
    ];
    assert_eq!(said, expected.into());
    let holding = camera.holding.as_ref().unwrap();
    assert_eq!((holding.survey_id.as_str(), holding.bay_revision), ("may", 1));
    assert_eq!(camera.units[0].verified_until, "2027-01-31");
    let tyres = holding.prerequisites.iter().find(|one| one.prerequisite_id == "tyres").unwrap();
    assert_eq!(tyres.sign_off.as_ref().unwrap().actor, holding.technician_id);
}

/// Every plan that was kept follows every rule and costs what it says.
async fn check_plans(database: &Path, revisions: u32) {
    assert!(revisions >= 5, "{revisions}");
    let database = Database::open(database).await.unwrap();
    for revision in 1..=revisions {
        let texts = plans::plan_texts(database.reader(), SHOP, revision).await.unwrap().unwrap();
        let verdict = referee::judge(&texts.problem, &texts.plan).unwrap();
        assert_eq!(verdict.broken, [], "revision {revision}: {}\n{}", texts.problem, texts.plan);
    }
    database.close().await.unwrap();
}

#[tokio::test]
async fn plans_of_a_day_with_vehicles_in_every_state_follow_every_rule() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(definition()).await;
    for index in 0..5 {
        let codes: &[&str] = [&BOTH[..], &["camera-removed"], &["bumper-removed"]][index % 3];
        caller.bring_in(estimate(&format!("J-{index}"), codes)).await;
    }
    let mut late = estimate("J-late", &BOTH);
    late.promise_time = Some(baywright_tests::system::time(at(30)));
    caller.submit(late).await.unwrap();
    caller.accept_all("J-late").await.unwrap();
    let mut revision = caller.plan().await.unwrap().revision;

    // Plans while tasks are held, running, passed, and vehicles stand in the bays.
    for round in 0..4 {
        for technician in ["ana", "ben"] {
            let Ok(held) = caller.pull(technician).await else { continue };
            caller.plan().await.unwrap();
            let running = caller.begin(&held).await.unwrap();
            revision = caller.plan().await.unwrap().revision;
            if round % 2 == 0 {
                caller.finish(&running).await.unwrap();
            } else {
                caller.put_back(&running).await.unwrap();
            }
        }
    }
    assert!(revision >= 10, "{revision}");

    let (folder, database) = (service.folder(), service.database());
    assert!(service.stop().await.success());
    check_plans(&database, revision).await;
    drop(folder);
}
