//! A plan read back in the shop's own words.

use super::draft::STANDING;
use super::minutes::instant_of;
use super::run_starts::{notes, run_times};
use super::{Assignment, LateJob, PlannedDay, ShopDay, ShopState, Unplanned};
use crate::ids::{TaskId, TechnicianId, UnitId};
use crate::planner::{Plan, PlannedStep};
use crate::work::Job;

pub(super) fn planned_day(state: &ShopState<'_>, day: ShopDay, plan: Plan) -> PlannedDay {
    let mut assignments = Vec::new();
    let mut unplanned = day.unplanned.clone();
    let mut late = Vec::new();
    for planned in &plan.jobs {
        let Some(job) = state.jobs.iter().find(|job| job.id.as_str() == planned.id) else {
            continue;
        };
        if planned.left_out {
            unplanned.push(left_out(job));
            continue;
        }
        let of_job: Vec<_> = planned
            .steps
            .iter()
            .filter(|step| step.id != STANDING)
            .filter_map(|step| assignment(&day, state, job, step))
            .collect();
        if let Some(finish) = of_job.iter().map(|assignment| assignment.end).max()
            && finish > job.promise_at
        {
            late.push(LateJob { job: job.id.clone(), finish, promise: job.promise_at });
        }
        assignments.extend(of_job);
    }
    assignments.sort_by(|one, other| {
        (one.start, &one.job, &one.task).cmp(&(other.start, &other.job, &other.task))
    });
    PlannedDay { problem: day.problem, plan, assignments, unplanned, late }
}

fn left_out(job: &Job) -> Unplanned {
    Unplanned {
        job: job.id.clone(),
        task: None,
        reasons: vec![
            "Nothing fits into the days planned; plan more days ahead, move the promise or free a \
             bay or technician."
                .to_owned(),
        ],
    }
}

fn assignment(
    day: &ShopDay,
    state: &ShopState<'_>,
    job: &Job,
    step: &PlannedStep,
) -> Option<Assignment> {
    let meanings = day.meanings.get(&(job.id.to_string(), step.id.clone()))?;
    let meaning = meanings.get(step.option)?;
    let (technicians, units) = step.uses.split_at_checked(meaning.roles)?;
    let fixed = state.holds.iter().any(|hold| hold.job == job.id && hold.task.as_str() == step.id);
    let task = job.tasks.iter().find(|task| task.id.as_str() == step.id);
    let procedure = task.and_then(|task| state.shop.procedure(&task.procedure));
    let methods =
        procedure.into_iter().flat_map(|known| known.methods().iter().map(move |one| (known, one)));
    // What is held stands as it does; its start was checked when it was pulled.
    let planned = methods.filter(|(_, method)| !fixed && *method.id() == meaning.method);
    let notes = planned.flat_map(|(procedure, method)| {
        let times = run_times(state, job, procedure, method, meaning.place.as_ref());
        notes(state, times, method, day.zero, step.start)
    });
    let notes = notes.collect();
    Some(Assignment {
        job: job.id.clone(),
        task: TaskId::new(step.id.clone()).ok()?,
        method: meaning.method.clone(),
        place: meaning.place.clone(),
        technicians: technicians
            .iter()
            .filter_map(|id| TechnicianId::new(id.strip_prefix("technician:")?).ok())
            .collect(),
        units: units.iter().filter_map(|id| UnitId::new(id.strip_prefix("unit:")?).ok()).collect(),
        start: instant_of(day.zero, step.start),
        end: instant_of(day.zero, step.start + meaning.minutes),
        fixed,
        notes,
    })
}
