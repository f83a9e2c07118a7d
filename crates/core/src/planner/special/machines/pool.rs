//! Good plans to go on from, and a plan made from two of them.
//!
//! Source: Ono, Yamamura, Kobayashi, "A genetic algorithm for job-shop scheduling problems using job-based
//! order crossover", Proc. IEEE Int. Conf. on Evolutionary Computation (1996), for how two are joined.

use super::Machines;
use super::line::Line;
use crate::planner::seeded::Seeded;

/// The most plans that are kept.
const PLANS_MAX: usize = 8;

/// The plans kept, none of them twice.
#[derive(Debug, Clone, Default)]
pub(super) struct Pool {
    plans: Vec<Line>,
}

impl Pool {
    /// Whether more plans are wanted before any two are joined.
    pub(super) fn has_room(&self) -> bool {
        self.plans.len() < PLANS_MAX
    }

    /// Keeps a plan, in place of the dearest one where there is no room.
    pub(super) fn keep(&mut self, line: &Line) {
        let same = |other: &Line| other.cost == line.cost && other.start == line.start;
        if self.plans.iter().any(same) {
            return;
        }
        if self.has_room() {
            self.plans.push(line.clone());
            return;
        }
        let dearest = (0..self.plans.len()).max_by_key(|at| self.plans[*at].cost);
        if let Some(at) = dearest.filter(|at| self.plans[*at].cost >= line.cost) {
            self.plans[at].clone_from(line);
        }
    }

    /// Joins two plans: some jobs keep their machines and their turns in the order of starts from the
    /// first, the others take the turns that are left as they stand in the second.
    pub(super) fn join(&self, shop: &Machines, random: &mut Seeded) -> Option<Line> {
        let first = random.below(self.plans.len());
        let other = (first + 1 + random.below(self.plans.len().checked_sub(1)?)) % self.plans.len();
        let (first, other) = (&self.plans[first], &self.plans[other]);
        let kept: Vec<bool> = shop.last.iter().map(|_| random.below(2) == 0).collect();
        let keeps = |step: &usize| kept[shop.job[*step]];
        let mut others = in_turn(other).into_iter().filter(|step| !keeps(step));
        let mut choice = first.choice.clone();
        let mut order = vec![Vec::new(); shop.machine_count];
        for turn in in_turn(first) {
            let step = if keeps(&turn) { turn } else { others.next()? };
            if !keeps(&step) {
                choice[step] = other.choice[step];
            }
            order[shop.choices[step][choice[step]].machine].push(step);
        }
        Line::new(shop, choice, order)
    }
}

/// All steps by start; those that wait for others come after them.
fn in_turn(line: &Line) -> Vec<usize> {
    let mut steps: Vec<usize> = (0..line.start.len()).collect();
    steps.sort_by_key(|step| (line.start[*step], line.rank[*step]));
    steps
}
