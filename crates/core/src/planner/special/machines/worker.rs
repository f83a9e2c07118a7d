//! One search of a shop of machines, of the kind that suits the shop.

use super::Machines;
use super::annealing::Annealing;
use super::tabu::Tabu;
use crate::planner::seeded::Seeded;

/// A search under way.
#[derive(Debug, Clone)]
pub(in crate::planner::special) enum Worker {
    /// Where there are machines to choose from, or only the last finish of all counts.
    Tabu(Box<Tabu>),
    /// Where only the orders are to be decided, and single finishes count.
    Annealing(Box<Annealing>),
}

impl Worker {
    /// None where no first plan can be built.
    pub(in crate::planner::special) fn new(shop: &Machines, random: Seeded) -> Option<Self> {
        let chosen = shop.choices.iter().all(|choices| choices.len() == 1);
        if chosen && !shop.goal.jobs.is_empty() {
            return Some(Self::Annealing(Box::new(Annealing::new(shop, random))));
        }
        Tabu::new(shop, random).map(|tabu| Self::Tabu(Box::new(tabu)))
    }

    /// Goes on for a fixed effort, or until nothing can be better than `bound`.
    pub(in crate::planner::special) fn epoch(&mut self, shop: &Machines, bound: i64) {
        match self {
            Self::Tabu(tabu) => tabu.epoch(shop, bound),
            Self::Annealing(annealing) => annealing.epoch(shop, bound),
        }
    }

    /// The cost of the best plan so far.
    pub(in crate::planner::special) fn cost(&self) -> i64 {
        match self {
            Self::Tabu(tabu) => tabu.cost(),
            Self::Annealing(annealing) => annealing.cost(),
        }
    }

    /// The start and choice of each step in the best plan so far.
    pub(in crate::planner::special) fn best(&self) -> Vec<(i32, usize)> {
        match self {
            Self::Tabu(tabu) => tabu.best().1,
            Self::Annealing(annealing) => annealing.best().1,
        }
    }

    /// Whether nothing better has come up for long.
    pub(in crate::planner::special) fn is_settled(&self) -> bool {
        match self {
            Self::Tabu(tabu) => tabu.is_settled(),
            Self::Annealing(annealing) => annealing.is_settled(),
        }
    }
}
