//! What one job at a time can use: every resource, and every group of places that all clash.
//!
//! Two jobs never hold two places of one group in the same minute, so one price per group and minute
//! speaks for all its pairs. The groups cover every pair that clashes; a place without clashes is a
//! group of its own.

use crate::planner::problem::Problem;

/// Units are numbered: the resources first, then the groups.
#[derive(Debug)]
pub(in crate::planner) struct Units {
    /// How many resources there are.
    pub(in crate::planner) resources: usize,
    /// The groups of places, each sorted.
    pub(in crate::planner) groups: Vec<Vec<usize>>,
    /// Per place, the units of its groups.
    pub(in crate::planner) of_place: Vec<Vec<usize>>,
}

impl Units {
    pub(in crate::planner) fn new(problem: &Problem) -> Self {
        let count = problem.places.len();
        let clash = |one: usize, other: usize| {
            problem.clashes.binary_search(&(one.min(other), one.max(other))).is_ok()
        };
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for (one, other) in &problem.clashes {
            if groups.iter().any(|group| group.contains(one) && group.contains(other)) {
                continue;
            }
            let mut group = vec![*one, *other];
            for place in 0..count {
                if group.iter().all(|member| *member != place && clash(*member, place)) {
                    group.push(place);
                }
            }
            group.sort_unstable();
            groups.push(group);
        }
        for place in 0..count {
            if !groups.iter().any(|group| group.contains(&place)) {
                groups.push(vec![place]);
            }
        }
        let resources = problem.resources.len();
        let mut of_place = vec![Vec::new(); count];
        for (at, group) in groups.iter().enumerate() {
            for place in group {
                of_place[*place].push(resources + at);
            }
        }
        Self { resources, groups, of_place }
    }

    /// How many units there are.
    pub(in crate::planner) fn count(&self) -> usize {
        self.resources + self.groups.len()
    }
}
