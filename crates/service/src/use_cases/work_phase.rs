//! Phases of running work, as the technician tells them: set-up, run, tear-down. They are kept with
//! the holding and so stand in the conditions record.

use super::work_holding::{Held, HolderCall, held};
use crate::{
    app::App,
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{Done, holdings::save_holding},
};
use baywright_api::{
    time::timestamp,
    v1::{self, WorkPhase},
};
use baywright_core::{
    demand::Procedure,
    fault::{Fault, FaultList},
    work::{Task, TaskState},
};
use chrono::{DateTime, Utc};
use prost_types::Timestamp;
use sea_orm::DatabaseTransaction;

const FIELD: &str = "phase";

/// Notes that the run or the tear-down of a running task begins.
///
/// # Errors
/// A caller who does not hold the task; a task that is not running; a phase that does not come next.
pub async fn enter_phase(
    app: &App,
    request: v1::EnterPhaseRequest,
) -> Result<v1::EnterPhaseResponse, ServiceError> {
    let holder = HolderCall::new(&request, app.clock.now())?;
    let phase = request.phase();
    let mut faults = FaultList::new();
    if !matches!(phase, WorkPhase::Run | WorkPhase::TearDown) {
        let remedy = "the set-up begins with the start; say when the next phase begins";
        faults.push(Fault::new(FIELD, phase.as_str_name(), "be run or tear-down", remedy));
    }
    faults.finish(())?;
    let call = holder.call.clone();
    app.exactly_once_on_shop(call, (holder, phase), |tx, shop, (holder, phase)| {
        Box::pin(enter(tx, shop, holder, *phase))
    })
    .await
}

async fn enter(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    holder: &HolderCall,
    phase: WorkPhase,
) -> Result<Done<v1::EnterPhaseResponse>, ServiceError> {
    let held = held(tx, holder).await?;
    let task = held.task()?;
    if task.state != TaskState::Running {
        return Err(ServiceError::IllegalTransition {
            kind: "task",
            id: held.task.to_string(),
            state: task.state.to_string(),
            wanted: "taken to its next phase".to_owned(),
        });
    }
    let has_set_up = has_set_up(shop, task, &held.holding.method_id);
    let Held { holding: before, .. } = held;
    let mut holding = before.clone();
    advance(&mut holding, phase, has_set_up, holder.call.at())?;
    save_holding(tx, &holding).await?;
    let reply = v1::EnterPhaseResponse { holding: Some(holding.clone()) };
    let fence = holding.fence.to_string();
    Ok(Done::new(reply).changed("holding", fence, Some(&before), Some(&holding)))
}

/// Whether the method states minutes of set-up; one that the shop no longer has may have stated some.
fn has_set_up(shop: &ShopSnapshot, task: &Task, method_id: &str) -> bool {
    let procedure = shop.definition().procedure(&task.procedure);
    let mut methods = procedure.into_iter().flat_map(Procedure::methods);
    let method = methods.find(|one| one.id().as_str() == method_id);
    method.is_none_or(|method| method.minutes().setup() > 0)
}

/// Ends the phase that lasts and begins `phase`.
fn advance(
    holding: &mut v1::Holding,
    phase: WorkPhase,
    has_set_up: bool,
    now: DateTime<Utc>,
) -> Result<(), ServiceError> {
    let lasts = holding.phases.last().map(v1::PhaseTime::phase);
    let started = holding.started_time;
    // What nobody told apart before is the set-up, or the run where there is none.
    let first = match (lasts, phase) {
        (None, WorkPhase::Run) => Some(WorkPhase::SetUp),
        (None, WorkPhase::TearDown) if !has_set_up => Some(WorkPhase::Run),
        (Some(WorkPhase::Run), WorkPhase::TearDown) => None,
        (lasts, _) => {
            let limit = match lasts {
                None => "be run: the method has a set-up, and when it ended is not told",
                Some(WorkPhase::TearDown) => "be told once; the tear-down lasts already",
                Some(_) => "be tear-down, which comes after the run",
            };
            let remedy = "look at the holding for the phases that were told";
            return Err(Fault::new(FIELD, phase.as_str_name(), limit, remedy).into());
        }
    };
    holding.phases.extend(first.map(|first| begun(first, started)));
    end_phase(holding, now);
    holding.phases.push(begun(phase, Some(timestamp(now))));
    Ok(())
}

fn begun(phase: WorkPhase, from_time: Option<Timestamp>) -> v1::PhaseTime {
    v1::PhaseTime { phase: phase.into(), from_time, until_time: None }
}

/// Ends the phase that lasts, where one was told.
pub(super) fn end_phase(holding: &mut v1::Holding, now: DateTime<Utc>) {
    if let Some(last) = holding.phases.last_mut() {
        last.until_time.get_or_insert(timestamp(now));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::testing::{noon, noon_time};
    use chrono::TimeDelta;
    use rstest::rstest;

    const SET_UP: WorkPhase = WorkPhase::SetUp;
    const RUN: WorkPhase = WorkPhase::Run;
    const TEAR_DOWN: WorkPhase = WorkPhase::TearDown;

    #[rstest]
    #[case::run_after_the_set_up(true, &[RUN], Some(&[SET_UP, RUN][..]))]
    #[case::all_three(true, &[RUN, TEAR_DOWN], Some(&[SET_UP, RUN, TEAR_DOWN][..]))]
    #[case::no_set_up(false, &[TEAR_DOWN], Some(&[RUN, TEAR_DOWN][..]))]
    #[case::the_run_was_not_told(true, &[TEAR_DOWN], None)]
    #[case::twice(true, &[RUN, RUN], None)]
    #[case::backwards(false, &[TEAR_DOWN, RUN], None)]
    #[case::tear_down_twice(true, &[RUN, TEAR_DOWN, TEAR_DOWN], None)]
    fn phases_follow_each_other(
        #[case] has_set_up: bool,
        #[case] told: &[WorkPhase],
        #[case] expected: Option<&[WorkPhase]>,
    ) {
        let mut holding = v1::Holding { started_time: Some(noon_time()), ..v1::Holding::default() };
        let mut now = noon();
        let told = told.iter().try_for_each(|phase| {
            now += TimeDelta::minutes(5);
            advance(&mut holding, *phase, has_set_up, now)
        });
        let Some(expected) = expected else {
            return drop(told.unwrap_err());
        };
        told.unwrap();
        end_phase(&mut holding, now + TimeDelta::minutes(5));

        let phases: Vec<_> = holding.phases.iter().map(v1::PhaseTime::phase).collect();
        assert_eq!(phases, expected);
        assert_eq!(holding.phases[0].from_time, Some(noon_time()));
        for (one, next) in holding.phases.iter().zip(&holding.phases[1..]) {
            assert_eq!(one.until_time, next.from_time);
        }
        let end = timestamp(now + TimeDelta::minutes(5));
        assert_eq!(holding.phases.last().unwrap().until_time, Some(end));
    }
}
