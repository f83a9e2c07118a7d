//! What one job costs: by when it finishes, by its moves, and by what is done otherwise than before.

use super::super::engine::{Fact, Number, SURE};
use super::{StepCode, Writer};
use crate::planner::placement::finish_cost;
use crate::planner::problem::Step;

impl Writer<'_> {
    /// When the job finishes, and what that costs.
    pub(super) fn finish(&mut self, steps: &[StepCode]) -> Number {
        let (spec, cost) = (self.market.problem.jobs[self.job].clone(), self.market.problem.cost);
        let low = steps.iter().map(|step| self.engine.low(step.end)).max().unwrap_or(0);
        let high = steps.iter().map(|step| self.engine.high(step.end)).max().unwrap_or(0);
        let finish = self.engine.number(self.name("finish"), low, high);
        for step in steps {
            self.engine.gap(SURE, step.end, 0, finish);
        }
        let from = finish_cost(cost, &spec, low);
        let from = if self.planned == SURE { from } else { from.min(0) };
        let most = finish_cost(cost, &spec, high).max(from);
        let paid = self.engine.number(self.name("finish-cost"), from, most);
        self.engine.sum(self.planned, &[(cost.finish, finish), (-1, paid)], 0);
        if let Some(due) = spec.due {
            let late = cost.lateness * spec.weight;
            let terms = [(cost.finish + late, finish), (-1, paid)];
            self.engine.sum(self.planned, &terms, late * due);
        }
        self.paid.push((1, paid));
        finish
    }

    /// What changes against the previous plan cost.
    pub(super) fn changes(&mut self, steps: &[StepCode]) {
        let price = self.market.problem.cost.change;
        let spec = self.market.problem.jobs[self.job].clone();
        for (step, code) in spec.steps.iter().zip(steps) {
            let Some(was) = step.previous.as_ref().filter(|_| price > 0) else { continue };
            if let Some(fixed) = &step.fixed {
                let differs = step.differs(fixed.start, fixed.option, &fixed.uses);
                self.paid_planned += if differs { price } else { 0 };
                continue;
            }
            let Some(mut facts) = as_before(step, code) else {
                self.paid_planned += price;
                continue;
            };
            facts.extend([code.start.at_least(was.start), code.start.at_most(was.start)]);
            let same = self.engine.fact(self.step_name("as-before", code.id[1]));
            for fact in facts {
                self.engine.any_of(&[!same, fact]);
            }
            let changed = self.engine.switch(self.step_name("changed", code.id[1]));
            self.engine.any_of(&[!self.planned, same, changed.at_least(1)]);
            self.paid.push((price, changed));
        }
    }
}

/// What has to hold for a step to be done in the option and with the resources as before; none where it cannot.
fn as_before(step: &Step, code: &StepCode) -> Option<Vec<Fact>> {
    let was = step.previous.as_ref()?;
    let option = was.option?;
    let uses = was.known_uses.as_ref()?;
    if uses.len() != step.options[option].needs.len() {
        return None;
    }
    let mut facts = vec![code.ways.iter().find(|way| way.1 == option)?.0];
    for (need, used) in uses.iter().enumerate() {
        facts.push(code.uses.get(need)?.iter().find(|fact| fact.1 == *used)?.0);
    }
    Some(facts)
}
