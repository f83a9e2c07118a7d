//! By what work the last finish comes no earlier than a minute: steps that only some resources can serve keep these
//! from the least of the steps' earliest starts on for at least their minutes shared out evenly, and what the jobs have
//! left at least comes after that.

use super::alone::earliest;
use super::day::{Day, Job, list, text};
use serde_json::Value;

/// The minute before which no plan has its last finish.
///
/// # Errors
/// A sentence when a step is not one that only these resources serve.
pub(super) fn last_finish(day: &Day, work: &Value) -> Result<i64, String> {
    let named: Option<Vec<usize>> =
        list(&work["resources"]).iter().map(|id| day.resource(text(id))).collect();
    let mut resources = named.ok_or("the shared work names an unknown resource")?;
    resources.sort_unstable();
    resources.dedup();
    let count = i64::try_from(resources.len()).map_err(|error| error.to_string())?;
    if count == 0 {
        return Err("the shared work names no resource".to_owned());
    }
    let (mut head, mut tail, mut minutes) = (i64::MAX, i64::MAX, 0);
    let mut seen: Vec<(usize, usize)> = Vec::new();
    for step in text(&work["steps"]).split(',') {
        let place = || format!("step \"{step}\" of the shared work");
        let (job, at) = position(step).ok_or_else(|| format!("{} cannot be read", place()))?;
        let spec = day.jobs.get(job).filter(|spec| at < spec.steps.len());
        let spec = spec.ok_or_else(|| format!("{} is not one of the problem", place()))?;
        if seen.contains(&(job, at)) || spec.left_out.is_some() || !only(spec, at, &resources) {
            return Err(format!("{} need not be done by these resources, once", place()));
        }
        seen.push((job, at));
        head = head.min(earliest(day, spec)[at]);
        tail = tail.min(left_after(spec, at));
        minutes += shortest(spec, at);
    }
    Ok(head + (minutes + count - 1) / count + tail)
}

fn position(step: &str) -> Option<(usize, usize)> {
    let (job, at) = step.split_once(' ')?;
    Some((job.parse().ok()?, at.parse().ok()?))
}

/// Whether every option of a step needs one of some resources, and it is not fixed.
fn only(job: &Job, at: usize, resources: &[usize]) -> bool {
    let among = |group: &Vec<usize>| group.iter().all(|used| resources.contains(used));
    let step = &job.steps[at];
    step.fixed.is_none() && step.options.iter().all(|option| option.needs.iter().any(among))
}

fn shortest(job: &Job, at: usize) -> i64 {
    job.steps[at].options.iter().map(|option| option.minutes).min().unwrap_or(0)
}

/// The least minutes from the end of a step to its job's last end.
fn left_after(job: &Job, at: usize) -> i64 {
    let mut left = vec![0; job.steps.len()];
    for _ in &job.steps {
        for (later, step) in job.steps.iter().enumerate().filter(|(_, step)| step.fixed.is_none()) {
            for (before, gap) in &step.after {
                left[*before] = left[*before].max(gap + shortest(job, later) + left[later]);
            }
        }
    }
    left[at]
}
