//! The process is killed under load, as a power cut would: what was answered is there, what was not
//! is wholly there or wholly absent, and repeats get the answers that were stored.

use baywright_api::v1::{self, Outcome, TaskState};
use baywright_tests::system::{
    Caller, Refusal, SHOP, TestService, at, definition_with_bays, estimate, key_of, new_request_id,
    yes_to_all,
};
use std::{
    collections::BTreeMap,
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
    time::Duration,
};
use tokio::task::JoinSet;

const ROUNDS: i64 = 4;
const TECHNICIANS: usize = 6;
const JOBS: usize = 12;
const TASKS_PER_JOB: usize = 3;
/// Answers in a round before the process is killed.
const ANSWERS_PER_ROUND: usize = 18;

/// What a technician asks for; sent again with the same request id it means the same.
#[derive(Debug, Clone)]
enum Step {
    Pull(v1::PullTaskRequest),
    Start(v1::StartTaskRequest),
    Finish(Box<v1::FinishTaskRequest>),
}

#[derive(Debug, Clone, PartialEq)]
enum Reply {
    Holding(Box<v1::Holding>),
    Record(Box<v1::ConditionsRecord>),
}

/// A technician: the step that is to be sent, or was sent without an answer, and the answers so far.
#[derive(Debug)]
struct Worker {
    technician_id: String,
    next: Step,
    answered: Vec<(Step, Reply)>,
}

impl Step {
    async fn send(&self, caller: &Caller) -> Result<Reply, tonic::Status> {
        Ok(match self.clone() {
            Self::Pull(request) => {
                Reply::Holding(Box::new(caller.send(request).await?.holding.unwrap()))
            }
            Self::Start(request) => {
                Reply::Holding(Box::new(caller.send(request).await?.holding.unwrap()))
            }
            Self::Finish(request) => {
                Reply::Record(Box::new(caller.send(*request).await?.record.unwrap()))
            }
        })
    }

    fn pull(technician_id: &str) -> Self {
        Self::Pull(v1::PullTaskRequest {
            shop_id: SHOP.to_owned(),
            technician_id: technician_id.to_owned(),
            request_id: new_request_id(),
        })
    }

    /// What follows once this was answered.
    fn after(&self, reply: &Reply, technician_id: &str) -> Self {
        match (self, reply) {
            (Self::Pull(_), Reply::Holding(held)) => Self::Start(v1::StartTaskRequest {
                shop_id: SHOP.to_owned(),
                holding: Some(key_of(held)),
                answers: yes_to_all(held),
                request_id: new_request_id(),
            }),
            (Self::Start(_), Reply::Holding(running)) => {
                Self::Finish(Box::new(Caller::finish_request(running)))
            }
            _ => Self::pull(technician_id),
        }
    }
}

impl Worker {
    fn new(index: usize) -> Self {
        let technician_id = format!("technician-{index}");
        let next = Step::pull(&technician_id);
        Self { technician_id, next, answered: Vec::new() }
    }

    /// Works until the service is gone or everything has passed.
    async fn work(mut self, caller: Caller, answers: Arc<AtomicUsize>) -> Self {
        let all = JOBS * TASKS_PER_JOB * 3;
        while answers.load(Ordering::SeqCst) < all {
            match self.next.send(&caller).await {
                Ok(reply) => {
                    self.take(reply);
                    answers.fetch_add(1, Ordering::SeqCst);
                }
                Err(status) => match Refusal::from(&status).reason.as_str() {
                    // Not a refusal of the service's: it is gone, and the step is unanswered.
                    "" => return self,
                    "NOTHING_READY" => {
                        // Refused, so the same request may be sent again.
                        tokio::time::sleep(Duration::from_millis(10)).await;
                    }
                    _ => panic!("{status:?}"),
                },
            }
        }
        self
    }

    fn take(&mut self, reply: Reply) {
        let next = self.next.after(&reply, &self.technician_id);
        self.answered.push((std::mem::replace(&mut self.next, next), reply));
    }

    /// Everything that was answered is answered the same again.
    async fn repeats_are_answered_alike(&self, caller: &Caller) {
        for (step, reply) in &self.answered {
            let again = step.send(caller).await.unwrap();
            assert_eq!(again, *reply, "{step:?}");
        }
    }
}

fn busy_shop() -> v1::ShopDefinition {
    // A bay for each vehicle, so that none has to be moved.
    let mut definition = definition_with_bays(u32::try_from(JOBS).unwrap());
    let model = definition.technicians[0].clone();
    definition.technicians = (0..TECHNICIANS)
        .map(|index| v1::Technician {
            technician_id: format!("technician-{index}"),
            ..model.clone()
        })
        .collect();
    for kind in ["scan-unit", "reflector"] {
        definition.units.extend((2..=TECHNICIANS).map(|index| v1::Unit {
            unit_id: format!("{kind}-more-{index}"),
            unit_kind_id: kind.to_owned(),
            ..v1::Unit::default()
        }));
    }
    definition
}

/// Tasks, holdings and records tell one story.
async fn check_whole(caller: &Caller, workers: &[Worker]) {
    let holdings = caller.holdings().await;
    let mut held: BTreeMap<(String, String), &v1::Holding> = BTreeMap::new();
    for holding in &holdings {
        let task = (holding.job_id.clone(), holding.task_id.clone());
        assert_eq!(held.insert(task, holding), None);
    }
    let mut numbers = Vec::new();
    let mut kept = Vec::new();
    for job in caller.jobs().await {
        let records = caller.records(&job.job_id).await;
        for task in &job.tasks {
            let holding = held.remove(&(job.job_id.clone(), task.task_id.clone()));
            let of_task =
                records.iter().filter(|one| one.task.as_ref().unwrap().task_id == task.task_id);
            let outcomes: Vec<_> = of_task.map(v1::ConditionsRecord::outcome).collect();
            let (begun, expected) = match task.state() {
                TaskState::Open => (None, vec![]),
                TaskState::Held => (Some(false), vec![]),
                TaskState::Running => (Some(true), vec![]),
                TaskState::Passed => (None, vec![Outcome::Passed]),
                other => panic!("{other:?}"),
            };
            assert_eq!(holding.map(|one| one.started_time.is_some()), begun, "{task:?}");
            assert_eq!(outcomes, expected, "{task:?}");
            if let Some(place) = holding.and_then(|one| one.place.clone()) {
                let stands =
                    v1::Whereabouts { r#where: Some(v1::whereabouts::Where::Place(place)) };
                assert_eq!(job.whereabouts, Some(stands));
            }
        }
        numbers.extend(records.iter().map(|record| record.number));
        kept.extend(records);
    }
    assert_eq!(held, BTreeMap::new(), "a holding without its task");
    numbers.sort_unstable();
    let count = u64::try_from(numbers.len()).unwrap();
    assert_eq!(numbers, (1..=count).collect::<Vec<_>>(), "numbered without gaps");

    // What was answered is there: each record, and each last holding unless the unanswered step
    // has changed it.
    for worker in workers {
        for (_, reply) in &worker.answered {
            if let Reply::Record(record) = reply {
                assert!(kept.contains(record), "record {} is lost", record.number);
            }
        }
        if let Some((_, Reply::Holding(last))) = worker.answered.last() {
            let now = holdings.iter().find(|one| one.fence == last.fence);
            let ended = kept.iter().any(|one| one.holding.as_ref().unwrap().fence == last.fence);
            let done_unanswered = ended && matches!(worker.next, Step::Finish(_));
            assert!(now.is_some() || done_unanswered, "holding {} is lost", last.fence);
        }
    }
}

#[tokio::test]
async fn a_service_that_is_killed_under_load_keeps_what_it_answered_and_nothing_by_halves() {
    let mut service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(busy_shop()).await;
    for index in 0..JOBS {
        caller.bring_in(estimate(&format!("J-{index:02}"), &["bumper-removed"])).await;
    }
    let mut workers: Vec<_> = (0..TECHNICIANS).map(Worker::new).collect();
    let answers = Arc::new(AtomicUsize::new(0));
    let mut unanswered = 0;
    for round in 1..=ROUNDS {
        let enough = answers.load(Ordering::SeqCst) + ANSWERS_PER_ROUND;
        let mut working = JoinSet::new();
        for worker in workers {
            working.spawn(worker.work(service.new_caller().await, Arc::clone(&answers)));
        }
        while answers.load(Ordering::SeqCst) < enough {
            tokio::time::sleep(Duration::from_millis(1)).await;
            assert!(working.try_join_next().is_none(), "a technician stopped too early");
        }
        service = service.kill_and_start_at(at(round)).await;
        workers = working.join_all().await;

        let caller = service.caller();
        check_whole(&caller, &workers).await;
        for worker in &mut workers {
            worker.repeats_are_answered_alike(&caller).await;
            // What was not answered is sent again: done once, now or before.
            match worker.next.send(&caller).await {
                Ok(reply) => {
                    worker.take(reply);
                    answers.fetch_add(1, Ordering::SeqCst);
                    unanswered += 1;
                }
                Err(status) => assert_eq!(Refusal::from(&status).reason, "NOTHING_READY"),
            }
        }
        check_whole(&caller, &workers).await;
    }
    assert!(unanswered > 0, "the kill never cut a call");

    // The rest of the work, with nobody killed.
    let mut working = JoinSet::new();
    for worker in workers {
        working.spawn(worker.work(service.new_caller().await, Arc::clone(&answers)));
    }
    workers = working.join_all().await;
    check_whole(&service.caller(), &workers).await;
    for job in service.caller().jobs().await {
        assert!(job.tasks.iter().all(|task| task.state() == TaskState::Passed), "{job:?}");
    }
}
