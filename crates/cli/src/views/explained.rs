//! Why jobs of the plan are late or left out, for a person.

use crate::clock::ShopClock;
use baywright_api::v1::{ExplainPlanResponse, JobReasons, PlanRemedy, PlanWait};

/// All reasons, a paragraph for each job.
pub(crate) fn text(reply: &ExplainPlanResponse, clock: ShopClock) -> String {
    if reply.jobs.is_empty() {
        return format!(
            "Plan {}: every job that is asked about is in the plan and in time.",
            reply.revision
        );
    }
    let mut parts = vec![format!("Plan {}", reply.revision)];
    parts.extend(reply.jobs.iter().map(|one| job(one, clock)));
    parts.push(super::caution(&reply.caution));
    parts.join("\n\n")
}

fn job(reasons: &JobReasons, clock: ShopClock) -> String {
    let promise = clock.show(reasons.promise_time.as_ref());
    let mut lines = vec![if reasons.left_out {
        format!("Job {}, promised {promise}, is left out.", reasons.job_id)
    } else {
        let finish = clock.show(reasons.finish_time.as_ref());
        format!("Job {} finishes {finish}, promised {promise}.", reasons.job_id)
    }];
    lines.push(match &reasons.alone_finish_time {
        Some(_) => {
            let alone = clock.show(reasons.alone_finish_time.as_ref());
            format!("  If it were alone: {alone}.")
        }
        None => "  Even alone it does not fit into the days planned.".to_owned(),
    });
    if !reasons.waits.is_empty() {
        let title = if reasons.left_out {
            "In the way of its best time"
        } else {
            "It waits, from its end back"
        };
        lines.push(format!("  {title}:"));
        lines.extend(reasons.waits.iter().map(|one| wait(one, clock)));
    }
    if !reasons.remedies.is_empty() {
        lines.push("  In time, and no other job later than promised:".to_owned());
        lines.extend(reasons.remedies.iter().map(|one| remedy(one, clock)));
    } else if reasons.complete {
        lines.push("  No single change was found that brings it in time.".to_owned());
    }
    if !reasons.complete {
        lines.push(
            "  Not every change was tried: the time for it was over; ask for this job alone."
                .to_owned(),
        );
    }
    lines.join("\n")
}

fn wait(wait: &PlanWait, clock: ShopClock) -> String {
    let start = clock.show(wait.start_time.as_ref());
    format!("    {}/{} at {start}: {}", wait.job_id, wait.task_id, wait.sentence)
}

fn remedy(remedy: &PlanRemedy, clock: ShopClock) -> String {
    format!(
        "    {} Finish {}, cost {} -> {}, other jobs {} -> {} ({} moved).",
        remedy.sentence,
        clock.show(remedy.finish_time.as_ref()),
        remedy.cost_before,
        remedy.cost_after,
        remedy.others_cost_before,
        remedy.others_cost_after,
        remedy.others_moved,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use prost_types::Timestamp;

    #[test]
    fn a_late_job_shows_what_it_waits_for_and_what_helps() {
        let time = |seconds| Some(Timestamp { seconds, nanos: 0 });
        let noon = 1_777_982_400;
        let wait = PlanWait {
            job_id: "J-2".to_owned(),
            task_id: "camera".to_owned(),
            start_time: time(noon - 1_800),
            sentence: "Technician ines is busy with task radar of job J-1 until 11:30.".to_owned(),
        };
        let remedy = PlanRemedy {
            sentence: "Promise it 15 minutes later.".to_owned(),
            minutes: 15,
            finish_time: time(noon),
            cost_before: 900,
            cost_after: 720,
            others_cost_before: 500,
            others_cost_after: 500,
            others_moved: 0,
        };
        let reply = ExplainPlanResponse {
            revision: 7,
            jobs: vec![JobReasons {
                job_id: "J-2".to_owned(),
                left_out: false,
                finish_time: time(noon),
                promise_time: time(noon - 900),
                alone_finish_time: time(noon - 3_600),
                waits: vec![wait],
                remedies: vec![remedy],
                complete: true,
            }],
            caution: "Take care.".to_owned(),
        };
        let expected = "\
Plan 7

Job J-2 finishes 2026-05-05 12:00 UTC, promised 2026-05-05 11:45 UTC.
  If it were alone: 2026-05-05 11:00 UTC.
  It waits, from its end back:
    J-2/camera at 2026-05-05 11:30 UTC: Technician ines is busy with task radar of job J-1 until 11:30.
  In time, and no other job later than promised:
    Promise it 15 minutes later. Finish 2026-05-05 12:00 UTC, cost 900 -> 720, other jobs 500 -> 500 (0 moved).

Caution: Take care.";
        assert_eq!(text(&reply, ShopClock::new("Etc/UTC").unwrap()), expected);
    }
}
