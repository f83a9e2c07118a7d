//! Starting a held task after every start check was answered at the vehicle.

use super::{
    change_job::save_job,
    plans::doubts,
    run_check::{Roads, Run, minutes_left},
    work_holding::{Held, HolderCall, held},
};
use crate::{
    app::App,
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{Done, holdings::save_holding, place_claims::leave_place},
};
use baywright_api::{time::timestamp, v1};
use baywright_core::{
    demand::{Procedure, TaskKind, WorkPlace},
    fault::{Fault, FaultList},
    ids::{BayId, MethodId, PrerequisiteId, StationId, TaskId, UnitId},
    readiness::{ReadinessState, readiness, undo},
    work::{AskedWhen, Job, Place, Task, TaskEvent, TaskState},
};
use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;

/// Starts a held task.
///
/// # Errors
/// A start check that is unanswered or not met; a condition of the pull that no longer holds; a
/// caller who does not hold the task.
pub async fn start_task(
    app: &App,
    request: v1::StartTaskRequest,
) -> Result<v1::StartTaskResponse, ServiceError> {
    let holder = HolderCall::new(&request, app.clock.now())?;
    let call = holder.call.clone();
    app.exactly_once_on_shop(call, (holder, request.answers), |tx, shop, (holder, answers)| {
        Box::pin(start(tx, shop, holder, answers))
    })
    .await
}

async fn start(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    holder: &HolderCall,
    answers: &[v1::CheckAnswer],
) -> Result<Done<v1::StartTaskResponse>, ServiceError> {
    let now = holder.call.at();
    let held = held(tx, holder).await?;
    let state = held.task()?.state;
    state
        .after(TaskEvent::Start)
        .map_err(|refused| ServiceError::illegal_step(held.task.as_str(), refused))?;
    still_holds(tx, shop, holder, &held).await?;
    let mut holding = run_keeps_out(tx, shop, holder, &held).await?;
    let Held { holding: holding_before, loaded, task } = held;
    let given = matched(&holding.start_checks, answers)?;
    let mut job = loaded.job;
    sign_off_answers(&mut job, &given, holder.call.actor(), now);
    let before_start = job.prerequisites.clone();
    begin(&mut job, &task, now)?;
    let gating = job.task(&task).cloned();
    holding.prerequisites = before_start
        .iter()
        .filter(|one| gating.as_ref().is_some_and(|task| one.gates(task)))
        .map(Into::into)
        .collect();
    holding.answers = given;
    holding.started_time = Some(timestamp(now));
    save_holding(tx, &holding).await?;
    if is_on_the_road(shop, &job, &task, &holding.method_id) {
        // The vehicle leaves the bay, and somebody else may have it.
        job.whereabouts = None;
        leave_place(tx, holder.call.shop_id().as_str(), job.id.as_str()).await?;
    }
    let after = save_job(tx, holder.call.shop_id(), &job, Some(&loaded.message)).await?;
    let reply = v1::StartTaskResponse { holding: Some(holding.clone()) };
    Ok(Done::new(reply)
        .changed("job", job.id.as_str(), Some(&loaded.message), Some(&after))
        .changed("holding", holding.fence.to_string(), Some(&holding_before), Some(&holding)))
}

fn is_on_the_road(shop: &ShopSnapshot, job: &Job, task: &TaskId, method_id: &str) -> bool {
    let procedure = job.task(task).and_then(|task| shop.definition().procedure(&task.procedure));
    let mut methods = procedure.into_iter().flat_map(Procedure::methods);
    methods.any(|one| one.id().as_str() == method_id && one.place() == WorkPlace::Road)
}

/// Takes the step, and undoes what the task undoes from its start on.
fn begin(job: &mut Job, id: &TaskId, now: DateTime<Utc>) -> Result<(), ServiceError> {
    let task = job.task_mut(id).ok_or_else(|| ServiceError::not_found("task", id.as_str()))?;
    task.step(TaskEvent::Start)
        .map_err(|refused| ServiceError::illegal_step(id.as_str(), refused))?;
    task.undone = None;
    let (kind, undoes) = (task.kind, task.undoes.clone());
    if kind == TaskKind::Glass {
        // The old glass is out: what was recorded when it was set no longer counts.
        job.forget_adhesive(id);
    }
    undo(job, &undoes, Some(id), &format!("task {id}"), now);
    Ok(())
}

/// What the pull saw must still hold: readiness, a fit that counts today, no doubt since.
pub(super) async fn still_holds(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    holder: &HolderCall,
    held: &Held,
) -> Result<(), ServiceError> {
    let task = Task { state: TaskState::Open, ..held.task()?.clone() };
    let mut as_open = held.loaded.job.clone();
    if let Some(stored) = as_open.task_mut(&task.id) {
        stored.state = TaskState::Open;
    }
    let ready = readiness(&as_open, &task, holder.call.at());
    let mut sentences: Vec<String> = Vec::new();
    if ready.state != ReadinessState::Ready {
        sentences.extend(ready.reasons.into_iter().map(|reason| reason.sentence));
    }
    sentences.extend(changed_since_pull(shop, held, &task, holder.call.at()));
    for unit in &held.holding.unit_ids {
        let known = UnitId::new(unit).ok().and_then(|piece| shop.unit_of(&piece));
        if !known.is_some_and(|one| one.is_usable_on(shop.date())) {
            sentences.push(format!("Unit {unit} is away, or its verification no longer counts."));
        }
    }
    if let Some(place) = &held.holding.place {
        let method = MethodId::new(&held.holding.method_id)?;
        let bay = BayId::new(&place.bay_id)?;
        let key = (task.procedure.clone(), method.clone(), held.loaded.job.vehicle.class.clone());
        let doubts = doubts(tx, holder.call.shop_id().as_str()).await?;
        let hosts = shop.hosts_without(&doubts);
        let fits = hosts.get(&key).is_some_and(|places| {
            places.iter().any(|one| one.bay == bay && one.station.as_str() == place.station_id)
        });
        if !fits {
            sentences.push(format!(
                "Bay {bay} no longer counts as fitting for method {method}: the survey has expired, the \
                 bay has changed, or it is in doubt."
            ));
        }
    }
    if sentences.is_empty() {
        return Ok(());
    }
    sentences.push("Put the task back and pull again.".to_owned());
    Err(ServiceError::NotReady { sentences })
}

/// The holding with what is known now of sun, daylight and road.
///
/// # Errors
/// The run would meet sun, dark or an unusable road; until when.
pub(super) async fn run_keeps_out(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    holder: &HolderCall,
    held: &Held,
) -> Result<v1::Holding, ServiceError> {
    let now = holder.call.at();
    let mut holding = held.holding.clone();
    let task = held.task()?;
    let procedure = shop.definition().procedure(&task.procedure);
    let method = procedure.and_then(|procedure| {
        procedure.methods().iter().find(|one| one.id().as_str() == holding.method_id)
    });
    let (Some(procedure), Some(method)) = (procedure, method) else { return Ok(holding) };
    let place = match &holding.place {
        Some(place) => Some(Place {
            bay: BayId::new(&place.bay_id)?,
            station: StationId::new(&place.station_id)?,
        }),
        None => None,
    };
    let roads = Roads::read(tx, holder.call.shop_id().as_str(), now).await?;
    let (setup_minutes, minutes) = minutes_left(method, &holding, now);
    let run = Run {
        shop,
        procedure,
        method,
        class: &held.loaded.job.vehicle.class,
        place: place.as_ref(),
        roads: &roads,
        now,
        setup_minutes,
        minutes,
    };
    run.check().map_err(|cannot| ServiceError::NotReady { sentences: vec![cannot.sentence] })?;
    run.note_in(&mut holding);
    Ok(holding)
}

/// What was asked at the pull must be what is asked now, and a drive needs cured glass.
fn changed_since_pull(
    shop: &ShopSnapshot,
    held: &Held,
    task: &Task,
    now: DateTime<Utc>,
) -> Vec<String> {
    let (holding, job) = (&held.holding, &held.loaded.job);
    let mut sentences = Vec::new();
    let procedure = task.procedure.as_str();
    if shop.revision::<v1::Procedure>(procedure) != holding.procedure_revision {
        sentences.push(format!("Procedure {procedure} has changed since the pull."));
    }
    let bay = holding.place.as_ref().map(|place| place.bay_id.as_str());
    if bay.is_some_and(|bay| shop.revision::<v1::Bay>(bay) != holding.bay_revision) {
        sentences.push("The bay has changed since the pull.".to_owned());
    }
    for one in job.prerequisites.iter().filter(|one| one.asked == AskedWhen::AtStart) {
        let name = format!("prerequisite:{}", one.id);
        let asked = holding.start_checks.iter().any(|check| check.check_id == name);
        if one.gates(task) && !asked {
            sentences.push(format!("{} is to be asked at the start since the pull.", one.title));
        }
    }
    if is_on_the_road(shop, job, &task.id, &holding.method_id)
        && job.drivable_at().is_some_and(|drivable_at| now < drivable_at)
    {
        sentences.push("The adhesive cures; the vehicle may not be driven yet.".to_owned());
    }
    sentences
}

/// One answer for each check that was asked, all of them met.
fn matched(
    asked: &[v1::AskedCheck],
    answers: &[v1::CheckAnswer],
) -> Result<Vec<v1::CheckAnswer>, ServiceError> {
    let mut faults = FaultList::new();
    for (index, answer) in answers.iter().enumerate() {
        let field = format!("answers[{index}].check_id");
        if !asked.iter().any(|check| check.check_id == answer.check_id) {
            let limit = "name a check that the pull asked";
            faults.push(Fault::new(field, &answer.check_id, limit, "answer the checks as asked"));
        } else if answers[..index].iter().any(|other| other.check_id == answer.check_id) {
            let limit = "be answered once";
            faults.push(Fault::new(field, &answer.check_id, limit, "send one answer for it"));
        }
    }
    faults.finish(())?;
    let met = |check: &v1::AskedCheck| {
        answers.iter().find(|answer| answer.check_id == check.check_id && answer.met)
    };
    let not_met: Vec<_> = asked
        .iter()
        .filter(|check| met(check).is_none())
        .map(|check| (check.check_id.clone(), check.question.clone()))
        .collect();
    if !not_met.is_empty() {
        return Err(ServiceError::StartCheckNotMet { checks: not_met });
    }
    Ok(asked.iter().filter_map(met).cloned().collect())
}

fn sign_off_answers(job: &mut Job, given: &[v1::CheckAnswer], actor: &str, now: DateTime<Utc>) {
    for answer in given {
        let Some(name) = answer.check_id.strip_prefix("prerequisite:") else { continue };
        let Ok(id) = PrerequisiteId::new(name) else { continue };
        if let Some(prerequisite) = job.prerequisite_mut(&id) {
            let evidence =
                if answer.evidence.is_empty() { "asked at the start" } else { &answer.evidence };
            prerequisite.sign_off(actor, now, evidence, None);
        }
    }
}
