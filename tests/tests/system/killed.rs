//! The process is killed under load, as a power cut would, 50 times: what was answered is there, what
//! was not is wholly there or wholly absent, the chain of records is whole, and repeats get the
//! answers that were stored.
//!
//! `BAYWRIGHT_TEST_KILLS=200` kills it 200 times.

use super::busy::{TASKS, TECHNICIANS, busy_service, proved_chain, technician};
use baywright_api::v1::{self, Outcome, TaskState};
use baywright_tests::system::{Caller, Refusal, SHOP, at, key_of, new_request_id, yes_to_all};
use std::{
    collections::BTreeMap,
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
    time::Duration,
};
use tokio::task::JoinSet;

/// How often the process is killed, where the environment says nothing else.
const KILLS: usize = 50;
/// Answers to pull, start and finish that are due in all.
const ANSWERS: usize = TASKS * 3;
/// How many answers of each technician are asked for again after each kill; all of them at the end.
const REPEATED: usize = 2;

/// What a technician asks for; sent again with the same request id it means the same.
#[derive(Debug, Clone)]
enum Step {
    Pull(v1::PullTaskRequest),
    Start(v1::StartTaskRequest),
    Finish(Box<v1::FinishTaskRequest>),
    /// Out of the bay, so that the next vehicle can come in.
    Move(v1::MoveVehicleRequest),
}

#[derive(Debug, Clone, PartialEq)]
enum Reply {
    Holding(Box<v1::Holding>),
    Record(Box<v1::ConditionsRecord>),
    Job(Box<v1::Job>),
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
            Self::Move(request) => Reply::Job(Box::new(caller.send(request).await?.job.unwrap())),
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
            (Self::Finish(_), Reply::Record(record)) => Self::Move(v1::MoveVehicleRequest {
                shop_id: SHOP.to_owned(),
                job_id: record.job_id.clone(),
                spot_id: "yard".to_owned(),
                request_id: new_request_id(),
                actor: technician_id.to_owned(),
                ..v1::MoveVehicleRequest::default()
            }),
            _ => Self::pull(technician_id),
        }
    }
}

impl Worker {
    fn new(index: usize) -> Self {
        let technician_id = technician(index);
        let next = Step::pull(&technician_id);
        Self { technician_id, next, answered: Vec::new() }
    }

    /// Works until the service is gone or everything has passed.
    async fn work(mut self, caller: Caller, answers: Arc<AtomicUsize>) -> Self {
        while answers.load(Ordering::SeqCst) < ANSWERS {
            match self.next.send(&caller).await {
                Ok(reply) => self.take(reply, &answers),
                Err(status) => match Refusal::from(&status).reason.as_str() {
                    // Not a refusal of the service's: it is gone, and the step is unanswered.
                    "" => return self,
                    reason => self.refused(reason),
                },
            }
            if matches!(self.next, Step::Pull(_)) {
                tokio::time::sleep(Duration::from_millis(5)).await;
            }
        }
        self
    }

    fn take(&mut self, reply: Reply, answers: &AtomicUsize) {
        if !matches!(reply, Reply::Job(_)) {
            answers.fetch_add(1, Ordering::SeqCst);
        }
        let next = self.next.after(&reply, &self.technician_id);
        self.answered.push((std::mem::replace(&mut self.next, next), reply));
    }

    /// A refusal is not kept, so the same request may be sent again.
    fn refused(&mut self, reason: &str) {
        match (&self.next, reason) {
            (Step::Pull(_), "NOTHING_READY") => {}
            // Somebody has taken the vehicle already.
            (Step::Move(_), "HELD_ELSEWHERE") => self.next = Step::pull(&self.technician_id),
            (step, other) => panic!("{other}: {step:?}"),
        }
    }

    /// The last so many answers are the same when they are asked for again.
    async fn repeats_are_answered_alike(&self, caller: &Caller, last: usize) {
        for (step, reply) in self.answered.iter().rev().take(last) {
            let again = step.send(caller).await.unwrap();
            assert_eq!(again, *reply, "{step:?}");
        }
    }
}

/// The jobs as they were last read, with their records, by name.
type Known = BTreeMap<String, (v1::Job, Vec<v1::ConditionsRecord>)>;

/// Reads the jobs that have changed with their records. That no record was kept without its job is
/// seen by the chain, which counts them all.
async fn read_again(caller: &Caller, known: &mut Known) {
    for job in caller.jobs().await {
        if known.get(&job.job_id).is_none_or(|(before, _)| before.etag != job.etag) {
            let records = caller.records(&job.job_id).await;
            known.insert(job.job_id.clone(), (job, records));
        }
    }
}

/// Tasks, holdings and records tell one story.
async fn check_whole(caller: &Caller, workers: &[Worker], known: &mut Known) {
    read_again(caller, known).await;
    let holdings = caller.holdings().await;
    let mut held: BTreeMap<(String, String), &v1::Holding> = BTreeMap::new();
    for holding in &holdings {
        let task = (holding.job_id.clone(), holding.task_id.clone());
        assert_eq!(held.insert(task, holding), None);
    }
    let mut kept = BTreeMap::new();
    for (job, records) in known.values() {
        for task in &job.tasks {
            let holding = held.remove(&(job.job_id.clone(), task.task_id.clone()));
            task_is_whole(job, task, holding, records);
        }
        kept.extend(records.iter().map(|record| (record.number, record)));
    }
    assert_eq!(held, BTreeMap::new(), "a holding without its task");
    let count = u64::try_from(kept.len()).unwrap();
    assert!(kept.keys().copied().eq(1..=count), "numbered without gaps");
    assert_eq!(proved_chain(caller).await, count, "a record without its job");
    let ended: BTreeMap<u64, u64> = kept
        .values()
        .map(|record| (record.holding.as_ref().unwrap().fence, record.number))
        .collect();

    // What was answered is there: each record, and each last holding unless the unanswered step
    // has changed it.
    for worker in workers {
        for (_, reply) in &worker.answered {
            if let Reply::Record(record) = reply {
                let found = kept.get(&record.number).copied();
                assert_eq!(found, Some(&**record), "record {} is lost", record.number);
            }
        }
        if let Some((_, Reply::Holding(last))) = worker.answered.last() {
            let now = holdings.iter().find(|one| one.fence == last.fence);
            let done = ended.contains_key(&last.fence) && matches!(worker.next, Step::Finish(_));
            assert!(now.is_some() || done, "holding {} is lost", last.fence);
        }
    }
}

/// A task's state, its holding, its records and where the vehicle stands agree.
fn task_is_whole(
    job: &v1::Job,
    task: &v1::Task,
    holding: Option<&v1::Holding>,
    records: &[v1::ConditionsRecord],
) {
    let of_task = records.iter().filter(|one| one.task.as_ref().unwrap().task_id == task.task_id);
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
        let stands = v1::Whereabouts { r#where: Some(v1::whereabouts::Where::Place(place)) };
        assert_eq!(job.whereabouts, Some(stands));
    }
}

/// How often the process is to be killed.
fn kills() -> usize {
    std::env::var("BAYWRIGHT_TEST_KILLS").map_or(KILLS, |text| text.parse().unwrap())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_service_that_is_killed_under_load_keeps_what_it_answered_and_nothing_by_halves() {
    let kills = kills();
    let mut service = busy_service().await;
    let mut known = Known::new();
    let mut workers: Vec<_> = (0..TECHNICIANS).map(Worker::new).collect();
    let answers = Arc::new(AtomicUsize::new(0));
    let mut unanswered = 0;
    for kill in 1..=kills {
        // The kills are spread over nine tenths of the work, no two after the same number of answers.
        let most = ANSWERS * 9 / 10;
        let enough = (most * kill / kills + kill % 7).max(answers.load(Ordering::SeqCst) + 1);
        let mut working = JoinSet::new();
        for worker in workers {
            working.spawn(worker.work(service.new_caller().await, Arc::clone(&answers)));
        }
        while answers.load(Ordering::SeqCst) < enough {
            tokio::time::sleep(Duration::from_millis(1)).await;
            assert!(working.try_join_next().is_none(), "a technician stopped too early");
        }
        service = service.kill_and_start_at(at(i64::try_from(kill).unwrap())).await;
        workers = working.join_all().await;

        let caller = service.caller();
        check_whole(&caller, &workers, &mut known).await;
        unanswered += send_again(&caller, &mut workers, &answers).await;
    }
    println!("killed {kills} times; {unanswered} calls had no answer and were sent again");
    assert!(unanswered > kills / 2, "the kills cut hardly any call");

    // The rest of the work, with nobody killed.
    let mut working = JoinSet::new();
    for worker in workers {
        working.spawn(worker.work(service.new_caller().await, Arc::clone(&answers)));
    }
    workers = working.join_all().await;
    let caller = service.caller();
    check_whole(&caller, &workers, &mut known).await;
    for (job, _) in known.values() {
        assert!(job.tasks.iter().all(|task| task.state() == TaskState::Passed), "{job:?}");
    }
    for worker in &workers {
        worker.repeats_are_answered_alike(&caller, usize::MAX).await;
    }
}

/// What was answered is answered the same again; what was not is sent again and done once, now or
/// before. Returns how many were without an answer.
async fn send_again(caller: &Caller, workers: &mut [Worker], answers: &AtomicUsize) -> usize {
    let mut unanswered = 0;
    for worker in workers {
        worker.repeats_are_answered_alike(caller, REPEATED).await;
        if matches!(worker.next, Step::Pull(_)) {
            // Sent again with the next round; a pull may find nothing.
            continue;
        }
        match worker.next.send(caller).await {
            Ok(reply) => {
                worker.take(reply, answers);
                unanswered += 1;
            }
            Err(status) => worker.refused(&Refusal::from(&status).reason),
        }
    }
    unanswered
}
