//! Checks one job: its numbers, its steps and options, their order, what is fixed and what was.

use super::{Checker, Ids, Index};
use crate::planner::draft::{FixedDraft, JobDraft, OptionDraft, PreviousDraft, StepDraft};
use crate::planner::limits::{
    HORIZON_MAX, LEAVE_OUT_COST_MAX, MINUTE_MAX, NEEDS_MAX, OPTIONS_MAX, RESOURCES_MAX, STEPS_MAX,
    WEIGHT_MAX,
};
use crate::planner::problem::{Fixed, Job, Previous, Step, StepOption};
use crate::planner::span::merged;

impl Checker {
    pub(super) fn job(&mut self, path: &str, draft: JobDraft, ids: Ids<'_>) -> Job {
        self.within(&format!("{path}.release"), draft.release, -MINUTE_MAX, MINUTE_MAX);
        if let Some(due) = draft.due {
            self.within(&format!("{path}.due"), due, -MINUTE_MAX, MINUTE_MAX);
        }
        self.within(&format!("{path}.weight"), draft.weight, 0, WEIGHT_MAX);
        if let Some(cost) = draft.leave_out_cost {
            self.within(&format!("{path}.leave_out_cost"), cost, 0, LEAVE_OUT_COST_MAX);
        }
        self.within(&format!("{path}.move_minutes"), draft.move_minutes, 0, HORIZON_MAX);
        let steps_path = format!("{path}.steps");
        if draft.steps.is_empty() {
            self.fault(
                &*steps_path,
                "empty",
                "have at least one step",
                "add a step or drop the job",
            );
        }
        self.count(&steps_path, draft.steps.len(), STEPS_MAX);
        let step_ids = self.index(&steps_path, draft.steps.iter().map(|step| step.id.as_str()));
        let mut steps: Vec<Step> = draft
            .steps
            .into_iter()
            .enumerate()
            .map(|(at, step)| self.step(&steps_path, at, step, &step_ids, ids))
            .collect();
        if steps.len() <= STEPS_MAX {
            self.acyclic(&steps_path, &steps);
        }
        for (name, fixed) in draft.fixed {
            let path = format!("{path}.fixed.{name}");
            if let Some(at) = self.known(&path, &name, &step_ids, "step of this job") {
                steps[at].fixed = self.fixed(&path, &fixed, &steps[at], ids);
            }
        }
        for (name, previous) in draft.previous {
            let path = format!("{path}.previous.{name}");
            if let Some(at) = self.known(&path, &name, &step_ids, "step of this job") {
                steps[at].previous = self.previous(&path, previous, &steps[at], ids);
            }
        }
        Job {
            id: draft.id,
            release: draft.release,
            due: draft.due,
            weight: draft.weight,
            leave_out_cost: draft.leave_out_cost,
            move_minutes: draft.move_minutes,
            steps,
        }
    }

    fn step(
        &mut self,
        steps: &str,
        at: usize,
        draft: StepDraft,
        own: &Index,
        ids: Ids<'_>,
    ) -> Step {
        let path = format!("{steps}[{at}]");
        self.within(&format!("{path}.release"), draft.release, -MINUTE_MAX, MINUTE_MAX);
        let mut after = Vec::new();
        match draft.after {
            None => after.extend(at.checked_sub(1).map(|before| (before, 0))),
            Some(named) => {
                for (name, gap) in named {
                    let path = format!("{path}.after.{name}");
                    self.within(&path, gap, 0, HORIZON_MAX);
                    let other = self.known(&path, &name, own, "step of this job");
                    after.extend(other.map(|other| (other, gap)));
                }
            }
        }
        after.sort_unstable();
        let options_path = format!("{path}.options");
        if draft.options.is_empty() {
            self.fault(
                &*options_path,
                "empty",
                "have at least one option",
                "add a way of doing the step",
            );
        }
        self.count(&options_path, draft.options.len(), OPTIONS_MAX);
        let options = draft
            .options
            .into_iter()
            .enumerate()
            .map(|(at, option)| self.option(&format!("{options_path}[{at}]"), option, ids))
            .collect();
        Step { id: draft.id, after, release: draft.release, options, fixed: None, previous: None }
    }

    fn option(&mut self, path: &str, draft: OptionDraft, ids: Ids<'_>) -> StepOption {
        self.within(&format!("{path}.minutes"), draft.minutes, 1, HORIZON_MAX);
        let place = draft
            .place
            .and_then(|id| self.known(&format!("{path}.place"), &id, ids.places, "place"));
        let starts =
            draft.starts.map(|windows| merged(self.windows(&format!("{path}.starts"), &windows)));
        self.count(&format!("{path}.needs"), draft.needs.len(), NEEDS_MAX);
        let mut needs = Vec::with_capacity(draft.needs.len());
        for (index, group) in draft.needs.iter().enumerate() {
            let path = format!("{path}.needs[{index}]");
            if group.is_empty() {
                self.fault(
                    &*path,
                    "empty",
                    "name at least one resource",
                    "name one or drop the group",
                );
            }
            self.count(&path, group.len(), RESOURCES_MAX);
            let mut known: Vec<usize> = Vec::new();
            for (member, id) in group.iter().take(RESOURCES_MAX).enumerate() {
                let found = self.known(&format!("{path}[{member}]"), id, ids.resources, "resource");
                known.extend(found.filter(|found| !known.contains(found)));
            }
            needs.push(known);
        }
        StepOption { minutes: draft.minutes, place, starts, needs }
    }

    /// Kahn's algorithm: what is left once steps without open predecessors are taken is a cycle.
    fn acyclic(&mut self, path: &str, steps: &[Step]) {
        let mut done = vec![false; steps.len()];
        loop {
            let next = (0..steps.len())
                .find(|at| !done[*at] && steps[*at].after.iter().all(|(other, _)| done[*other]));
            let Some(next) = next else { break };
            done[next] = true;
        }
        let cycle: Vec<&str> = steps
            .iter()
            .zip(&done)
            .filter_map(|(step, done)| (!done).then_some(step.id.as_str()))
            .collect();
        if !cycle.is_empty() {
            let value = format!("such that {} wait for each other", cycle.join(", "));
            self.fault(
                path,
                value,
                "have an order without a cycle",
                "drop one of the \"after\" entries",
            );
        }
    }

    fn option_index(&mut self, path: &str, option: i64, step: &Step) -> Option<usize> {
        let index = usize::try_from(option).ok().filter(|index| *index < step.options.len());
        if index.is_none() {
            let limit = format!(
                "be the number of one of the step's {} options, from 0",
                step.options.len()
            );
            self.fault(format!("{path}.option"), option, &limit, "correct the number");
        }
        index
    }

    fn fixed(
        &mut self,
        path: &str,
        draft: &FixedDraft,
        step: &Step,
        ids: Ids<'_>,
    ) -> Option<Fixed> {
        self.within(&format!("{path}.start"), draft.start, -MINUTE_MAX, MINUTE_MAX);
        if let Some(minutes) = draft.minutes {
            self.within(&format!("{path}.minutes"), minutes, 1, HORIZON_MAX);
        }
        let mut uses = Vec::with_capacity(draft.uses.len());
        for (index, id) in draft.uses.iter().enumerate() {
            uses.extend(self.known(
                &format!("{path}.uses[{index}]"),
                id,
                ids.resources,
                "resource",
            ));
        }
        let option = self.option_index(path, draft.option, step)?;
        if uses.len() == draft.uses.len() {
            self.fixed_uses(&format!("{path}.uses"), &uses, &draft.uses, &step.options[option]);
        }
        let minutes = draft.minutes.unwrap_or(step.options[option].minutes);
        Some(Fixed { start: draft.start, minutes, option, uses })
    }

    fn fixed_uses(&mut self, path: &str, uses: &[usize], names: &[String], option: &StepOption) {
        if uses.len() != option.needs.len() {
            let limit =
                format!("name one resource for each of the option's {} needs", option.needs.len());
            self.fault(path, format!("a list of {}", uses.len()), &limit, "name those really used");
            return;
        }
        for (index, (used, group)) in uses.iter().zip(&option.needs).enumerate() {
            let path = format!("{path}[{index}]");
            let value = format!("\"{}\"", names[index]);
            if !group.contains(used) {
                self.fault(
                    &*path,
                    &value,
                    "be in the option's need of that position",
                    "add it to the need",
                );
            }
            if uses[..index].contains(used) {
                self.fault(&*path, &value, "serve one need only", "name another resource");
            }
        }
    }

    fn previous(
        &mut self,
        path: &str,
        draft: PreviousDraft,
        step: &Step,
        ids: Ids<'_>,
    ) -> Option<Previous> {
        self.within(&format!("{path}.start"), draft.start, -MINUTE_MAX, MINUTE_MAX);
        self.count(&format!("{path}.uses"), draft.uses.len(), NEEDS_MAX);
        for (index, id) in draft.uses.iter().enumerate() {
            self.id(&format!("{path}.uses[{index}]"), id);
        }
        let option = match draft.option {
            Some(option) => Some(self.option_index(path, option, step)?),
            None => None,
        };
        let known_uses = draft.uses.iter().map(|id| ids.resources.get(id).copied()).collect();
        Some(Previous { start: draft.start, option, uses: draft.uses, known_uses })
    }
}
