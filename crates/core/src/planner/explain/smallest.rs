//! The smallest amount of each change that brings a job in time, found by halving.
//!
//! A plan found with some amount is a plan with any larger one, so halving keeps one amount with a
//! plan and a smaller one without; it ends when they lie a minute apart. No change at all is tried
//! first: where it has a plan, nothing else is needed.

use super::attempt::Case;
use super::binding::waits;
use super::candidates::{candidates, promise};
use super::change::Change;
use super::{JobReasons, Remedy};
use crate::planner::board::Standing;

/// Everything about one job.
pub(super) fn reasons(case: &Case<'_>, stop: &mut dyn FnMut() -> bool) -> JobReasons {
    let waits = waits(case);
    let mut remedies = Vec::new();
    let mut complete = true;
    let mut tried = Tried { case, stop, stopped: false };
    if let Some(remedy) = tried.attempt(&Change::Nothing) {
        remedies.push(remedy);
    } else {
        for change in promise(case).into_iter().chain(candidates(case, &waits)) {
            remedies.extend(tried.smallest(&change));
        }
        complete = !tried.stopped;
    }
    keep_the_least(&mut remedies);
    JobReasons {
        job: case.spec().id.clone(),
        standing: case.not_in_time(),
        waits,
        earliest_alone: case.alone.as_ref().map(|placement| placement.finish),
        remedies,
        complete,
    }
}

/// Trying, as long as the caller lets it.
struct Tried<'c, 'p> {
    case: &'c Case<'p>,
    stop: &'c mut dyn FnMut() -> bool,
    stopped: bool,
}

impl Tried<'_, '_> {
    fn attempt(&mut self, change: &Change) -> Option<Remedy> {
        self.stopped = self.stopped || (self.stop)();
        if self.stopped { None } else { self.case.attempt(change) }
    }

    /// The smallest amount with a plan, from the largest given down; none where that has none, or
    /// where the caller stopped before it was known.
    fn smallest(&mut self, largest: &Change) -> Option<Remedy> {
        let mut best = match self.known(largest) {
            Some(remedy) => remedy,
            None => self.attempt(largest)?,
        };
        let (mut without, mut with) = (0, largest.minutes().unwrap_or(1));
        while without + 1 < with {
            let middle = without + (with - without) / 2;
            match self.attempt(&largest.with_minutes(middle)) {
                Some(remedy) => (best, with) = (remedy, middle),
                None => without = middle,
            }
        }
        (!self.stopped).then_some(best)
    }

    /// The plan as it is keeps a promise moved to its finish.
    fn known(&self, largest: &Change) -> Option<Remedy> {
        match (largest, &self.case.standing[self.case.job]) {
            (Change::PromiseLater { .. }, Standing::Placed(_)) => self.case.as_it_is(largest),
            _ => None,
        }
    }
}

/// Fewest minutes first, what is not counted in minutes last; of a resource that helps alone, the way
/// that needs places too is dropped unless it takes fewer minutes.
fn keep_the_least(remedies: &mut Vec<Remedy>) {
    remedies.sort_by_key(|remedy| (remedy.change.minutes().unwrap_or(i64::MAX), remedy.cost_after));
    let mut kept: Vec<Change> = Vec::new();
    remedies.retain(|remedy| {
        let Change::ResourceOpen { resource, side, at, .. } = &remedy.change else { return true };
        let again = kept.iter().any(|other| {
            matches!(other, Change::ResourceOpen { resource: known, side: same, at: there, .. }
                if known == resource && same == side && there == at)
        });
        if !again {
            kept.push(remedy.change.clone());
        }
        !again
    });
}
