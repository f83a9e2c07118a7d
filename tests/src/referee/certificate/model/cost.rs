//! What one job costs: by when it finishes, by its moves, and by what is done otherwise than before.

use super::{ALWAYS, StepCode, Writer, no, yes};
use crate::referee::certificate::rules::Bound;

impl Writer<'_, '_> {
    /// When the job finishes, and what that costs.
    pub(super) fn finish(&mut self, steps: &[StepCode]) -> Result<usize, String> {
        let (job, cost) = (self.job, &self.model.day.cost);
        let low = steps.iter().map(|step| self.model.rules.low(step.end)).max().unwrap_or(0);
        let high = steps.iter().map(|step| self.model.rules.high(step.end)).max().unwrap_or(0);
        let range = i64::try_from(job.finish(cost, low).min(0))
            .and_then(|from| Ok((from, i64::try_from(job.finish(cost, high))?.max(from))));
        let (from, until) =
            range.map_err(|error| format!("what finishing job {} costs: {error}", self.at))?;
        let late = i128::from(cost.lateness) * i128::from(job.weight);
        let per_minute = i128::from(cost.finish);
        let finish = self.number("finish", &[], low, high);
        for step in steps {
            self.gap(ALWAYS, step.end, 0, finish);
        }
        let paid = self.number("finish-cost", &[], from, until);
        let planned = yes(self.planned);
        self.model.rules.sum(planned, &[(per_minute, finish), (-1, paid)], 0);
        if let Some(due) = job.due {
            let terms = [(per_minute + late, finish), (-1, paid)];
            self.model.rules.sum(planned, &terms, late * i128::from(due));
        }
        self.paid.push((1, paid));
        Ok(finish)
    }

    /// What changes against the previous plan cost.
    pub(super) fn changes(&mut self, steps: &[StepCode]) {
        let price = i128::from(self.model.day.cost.change);
        let job = self.job;
        for (at, (step, code)) in job.steps.iter().zip(steps).enumerate() {
            let Some(was) = &step.previous else { continue };
            if let Some(fixed) = &step.fixed {
                self.paid_planned += if fixed.changed { price } else { 0 };
                continue;
            }
            let same = self.fact("as-before", &[at]);
            let changed = self.fact("changed", &[at]);
            self.one_of(&[no(changed), yes(self.planned)]);
            self.one_of(&[no(self.planned), yes(same), yes(changed)]);
            let Some(facts) = as_before(self, at, code) else {
                self.one_of(&[no(same)]);
                self.paid_planned += price;
                continue;
            };
            for fact in facts {
                self.one_of(&[no(same), yes(fact)]);
            }
            self.one_of(&[no(same), Bound::AtLeast(code.start, was.start)]);
            self.one_of(&[no(same), Bound::AtMost(code.start, was.start)]);
            self.paid.push((price, changed));
        }
    }
}

/// What holds where a step is done in the option and with the resources as before; none where it cannot be.
fn as_before(writer: &Writer<'_, '_>, at: usize, code: &StepCode) -> Option<Vec<usize>> {
    let step = &writer.job.steps[at];
    let was = step.previous.as_ref()?;
    let option = was.option?;
    let uses = was.uses.as_ref()?;
    let (taken, open) = code.options[option];
    if !open || uses.len() != step.options[option].needs.len() {
        return None;
    }
    let mut facts = vec![taken];
    for need in uses.iter().copied().enumerate() {
        facts.push(*code.uses.get(&need)?);
    }
    Some(facts)
}
