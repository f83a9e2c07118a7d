//! Pull: a technician takes the next task that really is ready.
//!
//! One transaction looks at the technician's own assignments in the order of the plan, then at the
//! other assignments, then at ready tasks that are not in the plan, and gives the first for which
//! everything is there at this instant: readiness, a bay that fits and is free, people for the other
//! roles, units whose verification counts. The database itself refuses what somebody holds.

mod crew;
mod order;

use super::{
    change_job::save_job,
    plans::{doubts, present_jobs},
    run_check::{CannotRun, Roads, Run},
};
use crate::{
    app::App,
    caution::CAUTION,
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{
        Call, Done,
        holdings::{active_claims, active_holding_of_technician, insert_holding, next_attempt},
        place_claims::{take_place, who_stands},
        plans::newest_plan,
    },
};
use baywright_api::{fit::finding_message, time::timestamp, v1};
use baywright_core::{
    demand::{Method, Procedure, WorkPlace},
    fit::{Fit, Placement},
    ids::TechnicianId,
    readiness::{ReadinessState, readiness},
    shop::Technician,
    shop_day::{Assignment, Hosts},
    work::{AskedWhen, Job, JobState, Place, Task, TaskEvent, Whereabouts},
};
use chrono::{DateTime, Utc};
use order::Candidate;
use sea_orm::DatabaseTransaction;
use std::collections::BTreeMap;

/// Gives a technician the next task that really is ready.
///
/// # Errors
/// Nothing is ready, with the reason for every task that was looked at; the technician holds a task
/// already; no such technician.
pub async fn pull_task(
    app: &App,
    request: v1::PullTaskRequest,
) -> Result<v1::PullTaskResponse, ServiceError> {
    let call = App::call(&request, app.clock.now())?;
    let technician = TechnicianId::new(&request.technician_id)?;
    app.exactly_once_on_shop(call.clone(), (call, technician), |tx, shop, (call, technician)| {
        Box::pin(pull(tx, shop, call, technician))
    })
    .await
}

/// What the shop looks like at the instant of the pull.
struct Floor<'a> {
    shop: &'a ShopSnapshot,
    technician: &'a Technician,
    now: DateTime<Utc>,
    hosts: Hosts,
    /// Claims of active holdings with their fence.
    held: BTreeMap<String, u64>,
    /// Claims of places with the job whose vehicle stands there.
    standing: BTreeMap<String, String>,
    /// Jobs whose vehicle stands in a bay, and where.
    stands: Vec<(String, Place)>,
    /// What managers say of the roads.
    roads: Roads,
}

/// Everything that a pull takes.
struct Found<'a> {
    task: &'a Task,
    procedure: &'a Procedure,
    method: &'a Method,
    placement: Option<&'a Placement>,
    crew: crew::Crew,
}

/// Why a task cannot be given.
struct Refusal {
    sentence: String,
    /// When it becomes ready by itself.
    ready_at: Option<DateTime<Utc>>,
    /// Whether the task is ready and only no bay fits.
    no_bay: bool,
}

impl Refusal {
    fn because(sentence: impl Into<String>) -> Self {
        Self { sentence: sentence.into(), ready_at: None, no_bay: false }
    }
}

async fn pull(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    call: &Call,
    technician: &TechnicianId,
) -> Result<Done<v1::PullTaskResponse>, ServiceError> {
    let shop_id = call.shop_id().as_str();
    let technicians = &shop.definition().parts().technicians;
    let technician = technicians
        .iter()
        .find(|known| known.id() == technician)
        .ok_or_else(|| ServiceError::not_found("technician", technician.as_str()))?;
    if let Some(held) = active_holding_of_technician(tx, shop_id, technician.id().as_str()).await? {
        let v1::Holding { job_id, task_id, .. } = held;
        return Err(ServiceError::AlreadyHolding { job_id, task_id });
    }
    let jobs = present_jobs(tx, shop_id).await?;
    let stands = jobs
        .iter()
        .filter_map(|(_, job)| Some((job.id.to_string(), job.standing_place()?.clone())))
        .collect();
    let floor = Floor {
        shop,
        technician,
        now: call.at(),
        hosts: shop.hosts_without(&doubts(tx, shop_id).await?),
        held: active_claims(tx, shop_id).await?,
        standing: who_stands(tx, shop_id).await?,
        stands,
        roads: Roads::read(tx, shop_id, call.at()).await?,
    };
    if floor.held.contains_key(&format!("technician:{}", technician.id())) {
        let id = technician.id().to_string();
        return Err(ServiceError::HeldElsewhere { kind: "technician".to_owned(), id });
    }
    let plan = newest_plan(tx, shop_id).await?.unwrap_or_default();
    let assignments: Result<Vec<_>, _> =
        plan.assignments.iter().map(Assignment::try_from).collect();
    let assignments = assignments.map_err(ServiceError::internal)?;
    let mut refusals = Vec::new();
    for candidate in order::candidates(technician.id(), &assignments, &jobs) {
        let (message, job) = &jobs[candidate.job];
        match look_at(&floor, job, &candidate) {
            Ok(found) => return take(tx, call, &floor, (message, job), found, plan.revision).await,
            Err(refusal) => {
                refusals.push((format!("{}/{}", job.id, candidate.task.id), refusal));
            }
        }
    }
    Err(nothing(refusals))
}

fn nothing(refusals: Vec<(String, Refusal)>) -> ServiceError {
    let only_bays = !refusals.is_empty()
        && refusals.iter().any(|(_, refusal)| refusal.no_bay)
        && refusals.iter().all(|(_, refusal)| refusal.no_bay);
    if only_bays {
        let sentences =
            refusals.into_iter().map(|(task, refusal)| format!("{task}: {}", refusal.sentence));
        return ServiceError::NoFittingBay { sentences: sentences.collect() };
    }
    let next = refusals.iter().filter_map(|(_, refusal)| refusal.ready_at).min();
    let looked_at = refusals.into_iter().map(|(task, refusal)| (task, refusal.sentence)).collect();
    ServiceError::NothingReady { looked_at, next }
}

/// Whether a task can be given now, and with what.
fn look_at<'a>(
    floor: &'a Floor<'_>,
    job: &'a Job,
    candidate: &Candidate<'a>,
) -> Result<Found<'a>, Refusal> {
    let task = candidate.task;
    if job.state != JobState::OnSite {
        return Err(Refusal {
            ready_at: Some(job.expected_arrival_at).filter(|at| *at > floor.now),
            ..Refusal::because("The vehicle is not here; record its arrival when it comes.")
        });
    }
    let ready = readiness(job, task, floor.now);
    if ready.state != ReadinessState::Ready {
        let worst = ready.reasons.iter().max_by_key(|reason| reason.state);
        let sentence = worst.map_or("The task is not open.", |reason| &reason.sentence);
        let ready_at = match ready.state {
            ReadinessState::ReadyBy(at) => Some(at),
            ReadinessState::Ready
            | ReadinessState::After
            | ReadinessState::Overdue
            | ReadinessState::Waiting
            | ReadinessState::NotOpen(_) => None,
        };
        return Err(Refusal { ready_at, ..Refusal::because(sentence) });
    }
    let procedure = floor.shop.definition().procedure(&task.procedure).ok_or_else(|| {
        Refusal::because(format!("The shop no longer has procedure {}.", task.procedure))
    })?;
    let planned = candidate.assignment;
    let mut methods: Vec<_> = procedure.methods().iter().collect();
    methods.sort_by_key(|method| planned.is_none_or(|planned| planned.method != *method.id()));
    let mut refusal = Refusal::because("The procedure has no method.");
    for method in methods {
        let crew = match crew::gather(floor, method, planned) {
            Ok(crew) => crew,
            Err(sentence) => {
                refusal = Refusal::because(sentence);
                continue;
            }
        };
        if method.place() == WorkPlace::Road
            && let Some(drivable_at) = job.drivable_at()
            && floor.now < drivable_at
        {
            refusal = Refusal {
                ready_at: Some(drivable_at),
                ..Refusal::because("The adhesive cures; the vehicle may not be driven yet.")
            };
            continue;
        }
        if method.place() != WorkPlace::Bay {
            if let Err(cannot) = run(floor, job, (procedure, method), None).check() {
                refusal = cannot.into();
                continue;
            }
            return Ok(Found { task, procedure, method, placement: None, crew });
        }
        match free_place(floor, job, procedure, method, planned) {
            Ok(placement) => {
                return Ok(Found { task, procedure, method, placement: Some(placement), crew });
            }
            Err(blocked) => refusal = blocked,
        }
    }
    Err(refusal)
}

/// The place where the vehicle stands already, else the planned one, else the first that is free.
fn free_place<'a>(
    floor: &'a Floor<'_>,
    job: &Job,
    procedure: &Procedure,
    method: &Method,
    planned: Option<&Assignment>,
) -> Result<&'a Placement, Refusal> {
    let class = &job.vehicle.class;
    let key = (procedure.id().clone(), method.id().clone(), class.clone());
    let mut places: Vec<&Place> = floor.hosts.get(&key).into_iter().flatten().collect();
    places.sort_by_key(|place| {
        let stands = job.standing_place() == Some(place);
        let is_planned = planned.is_some_and(|planned| planned.place.as_ref() == Some(place));
        (!stands, !is_planned)
    });
    if places.is_empty() {
        let sentence = format!(
            "No surveyed bay fits method {} for a vehicle of class {class}, or the ones that fit are in \
             doubt; see the fits for the numbers.",
            method.id()
        );
        return Err(Refusal { no_bay: true, ..Refusal::because(sentence) });
    }
    let mut in_the_way = Vec::new();
    let mut barred = Vec::new();
    let mut start_at: Option<DateTime<Utc>> = None;
    for place in places {
        let claims = floor.shop.claims_of_place(place);
        let by_claim = claims.iter().find_map(|claim| {
            floor.standing.get(claim).filter(|other| **other != *job.id.as_str())
        });
        let by_place = floor.stands.iter().find_map(|(other, stands)| {
            let apart = floor.shop.have_room_for_both(place, stands);
            (*other != job.id.as_str() && !apart).then_some(other)
        });
        if let Some(other) = by_claim.or(by_place) {
            in_the_way.push(format!("{place} is taken by the vehicle of job {other}"));
            continue;
        }
        let fit_key =
            (procedure.id().clone(), method.id().clone(), class.clone(), place.bay.clone());
        if let Some(Fit::Fits(placement)) = floor.shop.fit(&fit_key) {
            match run(floor, job, (procedure, method), Some(place)).check() {
                Ok(()) => return Ok(placement),
                Err(cannot) => {
                    start_at = start_at.into_iter().chain(cannot.start_at).min();
                    barred.push(format!("{place}: {}", cannot.sentence));
                }
            }
        }
    }
    if in_the_way.is_empty() && !barred.is_empty() {
        return Err(Refusal { ready_at: start_at, ..Refusal::because(barred.join(" ")) });
    }
    let taken = format!(
        "Every bay that fits is taken: {}. Move a vehicle that is done out of the bay.",
        in_the_way.join("; ")
    );
    barred.insert(0, taken);
    Err(Refusal { ready_at: start_at, ..Refusal::because(barred.join(" ")) })
}

/// The work as it would begin now.
fn run<'a>(
    floor: &'a Floor<'_>,
    job: &'a Job,
    (procedure, method): (&'a Procedure, &'a Method),
    place: Option<&'a Place>,
) -> Run<'a> {
    Run {
        shop: floor.shop,
        procedure,
        method,
        class: &job.vehicle.class,
        place,
        roads: &floor.roads,
        now: floor.now,
        setup_minutes: method.minutes().setup(),
        minutes: method.minutes().run(),
    }
}

impl From<CannotRun> for Refusal {
    fn from(cannot: CannotRun) -> Self {
        Self { ready_at: cannot.start_at, ..Self::because(cannot.sentence) }
    }
}

async fn take(
    tx: &DatabaseTransaction,
    call: &Call,
    floor: &Floor<'_>,
    (message, job): (&v1::Job, &Job),
    found: Found<'_>,
    plan_revision: u32,
) -> Result<Done<v1::PullTaskResponse>, ServiceError> {
    let shop_id = call.shop_id().as_str();
    let task_id = &found.task.id;
    let mut changed = job.clone();
    if let Some(task) = changed.task_mut(task_id) {
        task.step(TaskEvent::Pull)
            .map_err(|refused| ServiceError::illegal_step(task_id.as_str(), refused))?;
    }
    if let Some(placement) = found.placement {
        let place = crate::snapshot::place_of(placement);
        take_place(tx, shop_id, job.id.as_str(), &floor.shop.claims_of_place(&place)).await?;
        changed.whereabouts = Some(Whereabouts::Place(place));
    }
    let mut holding = holding(call, floor, job, &found);
    let place = found.placement.map(crate::snapshot::place_of);
    run(floor, job, (found.procedure, found.method), place.as_ref()).note_in(&mut holding);
    holding.plan_revision = plan_revision;
    holding.attempt = next_attempt(tx, shop_id, job.id.as_str(), task_id.as_str()).await?;
    insert_holding(tx, &mut holding).await?;
    let after = save_job(tx, call.shop_id(), &changed, Some(message)).await?;
    let fence = holding.fence.to_string();
    let reply = v1::PullTaskResponse { holding: Some(holding.clone()) };
    Ok(Done::new(reply).changed("job", job.id.as_str(), Some(message), Some(&after)).changed(
        "holding",
        fence,
        None,
        Some(&holding),
    ))
}

fn holding(call: &Call, floor: &Floor<'_>, job: &Job, found: &Found<'_>) -> v1::Holding {
    let placement = found.placement;
    let bay = placement.map(Placement::bay);
    let survey = bay.and_then(|bay| floor.shop.survey(bay));
    v1::Holding {
        shop_id: call.shop_id().to_string(),
        job_id: job.id.to_string(),
        task_id: found.task.id.to_string(),
        technician_id: floor.technician.id().to_string(),
        technician_ids: found.crew.technicians.iter().map(ToString::to_string).collect(),
        unit_ids: found.crew.units.iter().map(ToString::to_string).collect(),
        method_id: found.method.id().to_string(),
        place: placement.map(|placement| (&crate::snapshot::place_of(placement)).into()),
        findings: placement
            .map(|placement| {
                let station = placement.station();
                placement.findings().iter().map(|one| finding_message(station, one)).collect()
            })
            .unwrap_or_default(),
        start_checks: start_checks(job, found),
        pulled_time: Some(timestamp(floor.now)),
        minutes: found.method.minutes().total(),
        caution: CAUTION.to_owned(),
        procedure_revision: floor.shop.revision::<v1::Procedure>(found.procedure.id().as_str()),
        bay_revision: bay.map_or(0, |bay| floor.shop.revision::<v1::Bay>(bay.as_str())),
        survey_id: survey.map(|survey| survey.id().to_string()).unwrap_or_default(),
        ..v1::Holding::default()
    }
}

/// What is asked at the vehicle: prerequisites asked at the start, the procedure's own questions, and
/// what the fit could not see from the survey.
fn start_checks(job: &Job, found: &Found<'_>) -> Vec<v1::AskedCheck> {
    let asked = |check_id: String, question: String| v1::AskedCheck { check_id, question };
    let mut checks: Vec<_> = job
        .prerequisites
        .iter()
        .filter(|one| one.asked == AskedWhen::AtStart && one.gates(found.task))
        .map(|one| asked(format!("prerequisite:{}", one.id), format!("{}?", one.title)))
        .collect();
    let own = found.procedure.start_checks().iter();
    checks.extend(own.map(|one| asked(format!("check:{}", one.id), one.question.clone())));
    for (index, finding) in found.placement.into_iter().flat_map(Placement::to_confirm).enumerate()
    {
        let zone = finding.zone.as_ref().map_or("body", |zone| zone.as_str());
        let remedy = finding.remedy().unwrap_or_default();
        checks.push(asked(format!("fit:{zone}-{}", index + 1), format!("{finding}. {remedy}")));
    }
    checks
}
