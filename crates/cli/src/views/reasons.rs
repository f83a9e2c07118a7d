//! Why jobs of a planned problem are late or left out, and what brings them in time, for a person.
//!
//! Ids and minutes are those of the problem's file.

use baywright_core::planner::explain::{
    Cause, Change, Conflict, JobReasons, NotInTime, Remedy, Side, Wait,
};

/// All reasons, a paragraph for each job.
pub(crate) fn text(reasons: &[JobReasons]) -> String {
    if reasons.is_empty() {
        return "Every job is in the plan and in time.".to_owned();
    }
    reasons.iter().map(job).collect::<Vec<_>>().join("\n\n")
}

/// A smallest set of jobs without a plan.
pub(crate) fn conflict(found: &Conflict) -> String {
    let proof = if found.proved { "have no plan together" } else { "found no plan together" };
    let mut lines = vec![format!("These jobs {proof}: {}.", found.jobs.join(", "))];
    if found.complete {
        lines.push("  Without any one of them the others have a plan.".to_owned());
    }
    lines.push(if found.limits.is_empty() {
        "  Their own times leave none, whatever else is free.".to_owned()
    } else {
        format!("  What limits them: {}.", found.limits.join(", "))
    });
    if !found.proved {
        lines.push("  That none exists is not proved.".to_owned());
    }
    if !found.complete {
        lines.push("  The set may be larger than it need be: the time for it was over.".to_owned());
    }
    lines.join("\n")
}

fn job(reasons: &JobReasons) -> String {
    let mut lines = vec![format!("{} {}", standing(reasons), alone(reasons))];
    if !reasons.waits.is_empty() {
        let title = match reasons.standing {
            NotInTime::Late { .. } => "  It waits, from its end back:",
            NotInTime::LeftOut { .. } => "  In the way of its best time:",
        };
        lines.push(title.to_owned());
        lines.extend(reasons.waits.iter().map(|wait| format!("    {}", waiting(wait))));
    }
    if reasons.remedies.is_empty() && reasons.complete {
        lines.push("  No single change was found that brings it in time.".to_owned());
    }
    if !reasons.remedies.is_empty() {
        lines.push("  In time, and no other job later than promised, with:".to_owned());
        lines.extend(reasons.remedies.iter().map(|one| format!("    {}", remedy(one))));
    }
    if !reasons.complete {
        lines.push("  Not every change was tried: the time for it was over.".to_owned());
    }
    lines.join("\n")
}

fn standing(reasons: &JobReasons) -> String {
    match reasons.standing {
        NotInTime::Late { finish, due, minutes } => format!(
            "Job {} finishes at {finish}, {minutes} minutes after it is due at {due}.",
            reasons.job
        ),
        NotInTime::LeftOut { cost, due } => {
            let due = due.map_or_else(String::new, |due| format!(", due at {due},"));
            format!("Job {}{due} is left out, which costs {cost}.", reasons.job)
        }
    }
}

fn alone(reasons: &JobReasons) -> String {
    match reasons.earliest_alone {
        Some(finish) => format!("Without the other jobs it could finish at {finish}."),
        None => "It has no way within the horizon even without the other jobs.".to_owned(),
    }
}

fn waiting(Wait { job, step, start, cause }: &Wait) -> String {
    let why = match cause {
        Cause::Now => "the plan begins then".to_owned(),
        Cause::Fixed => "it stands fixed".to_owned(),
        Cause::Free => {
            "nothing keeps it; starting earlier would not pay or was not found".to_owned()
        }
        Cause::JobRelease { until } => format!("the job is released at {until}"),
        Cause::StepRelease { until } => format!("the step is released at {until}"),
        Cause::After { step, gap: 0, until } => format!("step {step} ends at {until}"),
        Cause::After { step, gap, until } => {
            format!("{gap} minutes after step {step} are over at {until}")
        }
        Cause::Move { step, minutes: 0, until } => format!("step {step} ends at {until}"),
        Cause::Move { step, minutes, until } => {
            format!("the move of {minutes} minutes after step {step} ends at {until}")
        }
        Cause::PlaceHeld { place, held, by_job, by_step, until } => {
            let clash = if place == held { String::new() } else { format!(" at {held}") };
            format!("{place} is taken by job {by_job}{clash}, step {by_step}, until {until}")
        }
        Cause::ResourceBusy { resource, by_job, by_step, until } => {
            format!("{resource} is busy with step {by_step} of job {by_job} until {until}")
        }
        Cause::PlaceClosed { place } => format!("{place} is closed before"),
        Cause::ResourceAway { resource } => format!("{resource} is away before"),
        Cause::StartWindow => "it may not start earlier by its start windows".to_owned(),
    };
    format!("step {step} of job {job} at {start}: {why}")
}

fn remedy(remedy: &Remedy) -> String {
    format!(
        "{}: finish {}, cost {} -> {}, others {} -> {} ({} moved)",
        change(&remedy.change),
        remedy.finish,
        remedy.cost_before,
        remedy.cost_after,
        remedy.others_before,
        remedy.others_after,
        remedy.others_moved,
    )
}

fn change(change: &Change) -> String {
    let side = |side: &Side| match side {
        Side::Before => "before",
        Side::After => "after",
    };
    match change {
        Change::Nothing => "no change, other jobs give way".to_owned(),
        Change::PromiseLater { job, minutes } => format!("job {job} due {minutes} minutes later"),
        Change::OneMore { like } => format!("one more like {like}"),
        Change::ResourceOpen { resource, side: at_side, at, minutes, with_places } => {
            let places = if *with_places { ", the places staying open too" } else { "" };
            format!("{resource} {minutes} minutes more {} {at}{places}", side(at_side))
        }
        Change::PlaceOpen { place, side: Side::Before, at, minutes } => {
            format!("{place} open from {}, {minutes} minutes earlier", at - minutes)
        }
        Change::PlaceOpen { place, side: Side::After, at, minutes } => {
            format!("{place} open until {}, {minutes} minutes longer", at + minutes)
        }
        Change::StepRelease { job, step, release, minutes } => format!(
            "what step {step} of job {job} waits for by {}, {minutes} minutes earlier",
            release - minutes
        ),
        Change::JobRelease { job, release, minutes } => {
            format!("job {job} released at {}, {minutes} minutes earlier", release - minutes)
        }
    }
}
