//! A running task has passed.

use super::{codes_told, end_attempt, only_scans_find_codes};
use crate::{
    app::App,
    error::ServiceError,
    use_cases::{
        arrivals::set_before, estimates::inside, record_evidence::Ending, work_holding::HolderCall,
    },
};
use baywright_api::{adhesive::adhesive_told, v1};
use baywright_core::{
    demand::{PrerequisiteKind, TaskKind},
    fault::{Fault, FaultList},
    ids::TaskId,
    work::{Adhesive, FoundCode, Job, PrerequisiteState, TaskEvent},
};
use chrono::{DateTime, Utc};

/// Finishes a running task as passed: signs off what it provides and keeps its record.
///
/// # Errors
/// A caller who does not hold the task; a task that is not running; glass without its adhesive's
/// record; codes from a task that is no scan.
pub async fn finish_task(
    app: &App,
    request: v1::FinishTaskRequest,
) -> Result<v1::FinishTaskResponse, ServiceError> {
    let holder = HolderCall::new(&request, app.clock.now())?;
    let task = TaskId::new(&holder.key.task_id)?;
    let mut faults = FaultList::new();
    let codes = codes_told(&mut faults, &request.codes);
    faults.finish(())?;
    let adhesive =
        request.adhesive.as_ref().map(|message| adhesive_told(message, Some(task.clone())));
    let adhesive = adhesive.transpose().map_err(|faults| inside("adhesive", faults))?;
    let call = holder.call.clone();
    app.exactly_once_on_shop(
        call,
        (holder, codes, adhesive, request.note),
        |tx, shop, (holder, codes, adhesive, note)| {
            let (actor, now) = (holder.call.actor(), holder.call.at());
            let ending = Ending::passed(note, codes, adhesive.as_ref());
            Box::pin(async move {
                let effect = |job: &mut Job, id: &TaskId| {
                    pass(job, id, (codes, adhesive.as_ref()), actor, now)
                };
                let step = (TaskEvent::Pass, &ending);
                end_attempt(tx, shop, holder, step, &effect, |record| v1::FinishTaskResponse {
                    record: Some(record),
                })
                .await
            })
        },
    )
    .await
}

fn pass(
    job: &mut Job,
    id: &TaskId,
    (codes, adhesive): (&[FoundCode], Option<&Adhesive>),
    actor: &str,
    now: DateTime<Utc>,
) -> Result<(), ServiceError> {
    let task = job.task_mut(id).ok_or_else(|| ServiceError::not_found("task", id.as_str()))?;
    task.passed_at = Some(now);
    task.undone = None;
    let kind = task.kind;
    only_scans_find_codes(kind, codes)?;
    check_adhesive(kind, adhesive, now)?;
    if kind == TaskKind::Glass {
        job.adhesive = adhesive.cloned();
    }
    if matches!(kind, TaskKind::PreScan | TaskKind::PostScan) {
        job.codes = codes.to_vec();
    }
    let blocking = codes.iter().any(|code| code.blocking);
    for prerequisite in &mut job.prerequisites {
        if prerequisite.provided_by.as_ref() != Some(id) {
            continue;
        }
        if prerequisite.kind == PrerequisiteKind::NoBlockingCodes && blocking {
            prerequisite.reopen();
            prerequisite.state = PrerequisiteState::Failed;
        } else {
            prerequisite.sign_off(actor, now, &format!("task {id} passed"), None);
        }
    }
    Ok(())
}

fn check_adhesive(
    kind: TaskKind,
    adhesive: Option<&Adhesive>,
    now: DateTime<Utc>,
) -> Result<(), ServiceError> {
    let fault = match (kind == TaskKind::Glass, adhesive) {
        (true, None) => Fault::new(
            "adhesive",
            "absent",
            "be given for glass",
            "record product, instant, temperature, humidity and the adhesive maker's minutes",
        ),
        (false, Some(_)) => Fault::new(
            "adhesive",
            "given",
            format!("be absent for a task of the kind {kind}"),
            "leave it out; it belongs to the glass task",
        ),
        (true, Some(adhesive)) => return set_before(adhesive, now),
        (false, None) => return Ok(()),
    };
    Err(fault.into())
}
