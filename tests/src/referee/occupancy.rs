//! Rules between jobs: a resource serves one step, a place holds one vehicle, clashing places one job.

use super::days::{Days, Stood};
use super::{Broken, Rule};

/// A span during which a job holds a place.
struct Held<'p> {
    place: &'p str,
    job: &'p str,
    start: i64,
    end: i64,
    fixed: bool,
}

/// Compares every pair of steps and of holds.
pub(super) fn judge(days: &Days<'_>, stood: &[Stood<'_>], broken: &mut Vec<Broken>) {
    for (at, one) in stood.iter().enumerate() {
        for other in &stood[at + 1..] {
            let together = one.start < other.end && other.start < one.end;
            if !together || (one.fixed && other.fixed) {
                continue;
            }
            for used in one.uses.iter().filter(|used| other.uses.contains(used)) {
                let what = format!("{used}: serves {} and {} at once", one.name(), other.name());
                broken.push(Broken::new(Rule::ResourceTwice, what));
            }
        }
    }
    let held = holds(stood);
    for (at, one) in held.iter().enumerate() {
        for other in &held[at + 1..] {
            let together = one.start < other.end && other.start < one.end;
            if !together || (one.fixed && other.fixed) || one.job == other.job {
                continue;
            }
            let what =
                || format!("{} for {}, {} for {}", one.place, one.job, other.place, other.job);
            if one.place == other.place {
                broken.push(Broken::new(Rule::PlaceTwice, what()));
            } else if days.clash(one.place, other.place) {
                broken.push(Broken::new(Rule::Clash, what()));
            }
        }
    }
}

/// Each step holds its place; between consecutive steps at one place the vehicle stays there.
fn holds<'a>(stood: &'a [Stood<'_>]) -> Vec<Held<'a>> {
    let mut held = Vec::new();
    for (at, step) in stood.iter().enumerate() {
        let Some(place) = step.place() else { continue };
        let (job, start, end, fixed) = (step.job, step.start, step.end, step.fixed);
        held.push(Held { place, job, start, end, fixed });
        // The steps stand job by job, each job's in the order of time.
        if let Some(next) = stood.get(at + 1)
            && next.job == job
            && next.place() == Some(place)
            && next.start > end
        {
            let fixed = fixed && next.fixed;
            held.push(Held { place, job, start: end, end: next.start, fixed });
        }
    }
    held
}
