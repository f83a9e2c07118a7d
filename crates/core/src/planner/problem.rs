//! The planning problem, checked: every id is known, every number within its limit, every order
//! free of cycles, and no plan's cost can leave a 64-bit number.
//!
//! It comes from JSON text or from a draft that a program puts together; both meet the same
//! checks, and all faults are given at once. Ids become indices: a place, resource or job is known
//! by its position in the problem, a step by its position in its job, an option in its step.

use super::check;
use super::draft::{
    CalendarDraft, CostWeights, FixedDraft, JobDraft, OptionDraft, PROBLEM_FORMAT, PreviousDraft,
    ProblemDraft, StepDraft,
};
use super::read;
use super::span::Span;
use crate::fault::{FaultList, Faults};
use serde::Serialize;
use std::collections::BTreeSet;

/// A checked planning problem.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    pub(super) name: String,
    pub(super) now: i64,
    pub(super) horizon: i64,
    pub(super) places: Vec<Calendar>,
    pub(super) resources: Vec<Calendar>,
    /// Pairs of places, the smaller index first, sorted.
    pub(super) clashes: Vec<(usize, usize)>,
    pub(super) jobs: Vec<Job>,
    pub(super) cost: CostWeights,
}

/// A place or a resource: its name and its open windows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Calendar {
    pub(super) id: String,
    /// None inside another; starts and ends strictly increase.
    pub(super) open: Vec<Span>,
}

/// One checked job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Job {
    pub(super) id: String,
    pub(super) release: i64,
    pub(super) due: Option<i64>,
    pub(super) weight: i64,
    pub(super) leave_out_cost: Option<i64>,
    pub(super) move_minutes: i64,
    pub(super) steps: Vec<Step>,
}

/// One checked step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    pub(super) id: String,
    /// Steps that end first and the minutes that go by after each, by step.
    pub(super) after: Vec<(usize, i64)>,
    pub(super) release: i64,
    pub(super) options: Vec<StepOption>,
    pub(super) fixed: Option<Fixed>,
    pub(super) previous: Option<Previous>,
}

/// One way of doing a step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepOption {
    pub(super) minutes: i64,
    pub(super) place: Option<usize>,
    /// Disjoint, sorted; none means any start.
    pub(super) starts: Option<Vec<Span>>,
    pub(super) needs: Vec<Vec<usize>>,
}

/// How a fixed step stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fixed {
    pub(super) start: i64,
    pub(super) minutes: i64,
    pub(super) option: usize,
    pub(super) uses: Vec<usize>,
}

/// Where a step stood in the plan before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Previous {
    pub(super) start: i64,
    pub(super) option: Option<usize>,
    pub(super) uses: Vec<String>,
    /// The uses as resources, when all of them are known.
    pub(super) known_uses: Option<Vec<usize>>,
}

impl Problem {
    /// Reads and checks a problem. Unknown keys are ignored.
    ///
    /// # Errors
    /// Every fault at once, each with its path in the file.
    pub fn from_json(text: &str) -> Result<Self, Faults> {
        let object = read::parse_object("problem", text)?;
        let mut faults = FaultList::new();
        let draft = read::read_problem(&object, &mut faults);
        match (faults.finish(()), Self::from_draft(draft)) {
            (Ok(()), checked) => checked,
            (Err(misread), Ok(_)) => Err(misread),
            (Err(misread), Err(refused)) => {
                // What was misread was replaced, so a second fault of the same field is no news.
                let mut all = misread.into_list();
                let known: BTreeSet<String> = all.iter().map(|fault| fault.field.clone()).collect();
                all.extend(refused.into_list().into_iter().filter(|f| !known.contains(&f.field)));
                let mut merged = FaultList::new();
                for fault in all {
                    merged.push(fault);
                }
                merged.finish(()).and_then(|()| Self::from_draft(ProblemDraft::default()))
            }
        }
    }

    /// The same problem in which nothing costs but a job's finish, 1 for each minute.
    pub(super) fn finish_only(&self) -> Self {
        let mut quiet = self.clone();
        quiet.cost = CostWeights { finish: 1, ..CostWeights::default() };
        quiet.jobs.iter_mut().for_each(|job| job.due = None);
        quiet
    }

    /// Checks a problem put together by a program.
    ///
    /// # Errors
    /// Every fault at once; the paths are those of the file.
    pub fn from_draft(draft: ProblemDraft) -> Result<Self, Faults> {
        check::problem(draft)
    }

    /// The problem as plain values, with every default spelt out.
    pub fn to_draft(&self) -> ProblemDraft {
        let place_id = |index: &usize| self.places[*index].id.clone();
        ProblemDraft {
            name: self.name.clone(),
            now: self.now,
            horizon: self.horizon,
            places: self.places.iter().map(Calendar::to_draft).collect(),
            resources: self.resources.iter().map(Calendar::to_draft).collect(),
            clashes: self.clashes.iter().map(|(a, b)| [place_id(a), place_id(b)]).collect(),
            jobs: self.jobs.iter().map(|job| self.job_draft(job)).collect(),
            cost: self.cost,
        }
    }

    /// Writes the problem as indented JSON; reading it again gives an equal problem.
    pub fn to_json(&self) -> String {
        #[derive(Serialize)]
        struct File<'a> {
            format: &'a str,
            name: &'a str,
            now: i64,
            horizon: i64,
            places: &'a [CalendarDraft],
            resources: &'a [CalendarDraft],
            clashes: &'a [[String; 2]],
            jobs: &'a [JobDraft],
            cost: CostWeights,
        }
        let draft = self.to_draft();
        let file = File {
            format: PROBLEM_FORMAT,
            name: &draft.name,
            now: draft.now,
            horizon: draft.horizon,
            places: &draft.places,
            resources: &draft.resources,
            clashes: &draft.clashes,
            jobs: &draft.jobs,
            cost: draft.cost,
        };
        // Plain values with text keys always serialise.
        serde_json::to_string_pretty(&file).unwrap_or_default() + "\n"
    }

    /// What the problem is called.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// No step that is not fixed starts earlier.
    pub fn now(&self) -> i64 {
        self.now
    }

    /// Every step that is not fixed ends at or before it.
    pub fn horizon(&self) -> i64 {
        self.horizon
    }

    /// The places.
    pub fn places(&self) -> &[Calendar] {
        &self.places
    }

    /// The resources.
    pub fn resources(&self) -> &[Calendar] {
        &self.resources
    }

    /// The jobs.
    pub fn jobs(&self) -> &[Job] {
        &self.jobs
    }

    /// What costs how much.
    pub fn cost(&self) -> CostWeights {
        self.cost
    }

    fn job_draft(&self, job: &Job) -> JobDraft {
        let names = |list: &[usize]| -> Vec<String> {
            list.iter().map(|index| self.resources[*index].id.clone()).collect()
        };
        let step_draft = |step: &Step| StepDraft {
            id: step.id.clone(),
            after: Some(
                step.after
                    .iter()
                    .map(|(other, gap)| (job.steps[*other].id.clone(), *gap))
                    .collect(),
            ),
            release: step.release,
            options: step
                .options
                .iter()
                .map(|option| OptionDraft {
                    minutes: option.minutes,
                    place: option.place.map(|place| self.places[place].id.clone()),
                    starts: option
                        .starts
                        .as_ref()
                        .map(|list| list.iter().map(Span::pair).collect()),
                    needs: option.needs.iter().map(|group| names(group)).collect(),
                })
                .collect(),
        };
        let fixed_draft = |fixed: &Fixed| FixedDraft {
            start: fixed.start,
            minutes: Some(fixed.minutes),
            option: check::as_i64(fixed.option),
            uses: names(&fixed.uses),
        };
        let previous_draft = |previous: &Previous| PreviousDraft {
            start: previous.start,
            option: previous.option.map(check::as_i64),
            uses: previous.uses.clone(),
        };
        let named = |step: &Step| step.id.clone();
        JobDraft {
            id: job.id.clone(),
            release: job.release,
            due: job.due,
            weight: job.weight,
            leave_out_cost: job.leave_out_cost,
            move_minutes: job.move_minutes,
            steps: job.steps.iter().map(step_draft).collect(),
            fixed: job
                .steps
                .iter()
                .filter_map(|step| Some((named(step), fixed_draft(step.fixed.as_ref()?))))
                .collect(),
            previous: job
                .steps
                .iter()
                .filter_map(|step| Some((named(step), previous_draft(step.previous.as_ref()?))))
                .collect(),
        }
    }
}

impl Calendar {
    /// Its name.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Its open windows `[from, to)`; none lies inside another, and they are sorted.
    pub fn open(&self) -> &[Span] {
        &self.open
    }

    fn to_draft(&self) -> CalendarDraft {
        CalendarDraft {
            id: self.id.clone(),
            open: Some(self.open.iter().map(Span::pair).collect()),
        }
    }
}

impl Job {
    /// Its name.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// When it should be finished.
    pub fn due(&self) -> Option<i64> {
        self.due
    }

    /// What leaving it out costs; none when it must be planned.
    pub fn leave_out_cost(&self) -> Option<i64> {
        self.leave_out_cost
    }

    /// Its steps in the order listed.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// Whether the rules allow it to be left out: it has a price for that and no fixed step.
    pub fn may_be_left_out(&self) -> bool {
        self.leave_out_cost.is_some() && !self.has_fixed()
    }

    pub(super) fn has_fixed(&self) -> bool {
        self.steps.iter().any(|step| step.fixed.is_some())
    }
}

impl Step {
    /// Its name.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// The ways of doing it.
    pub fn options(&self) -> &[StepOption] {
        &self.options
    }

    /// Whether it stands fixed.
    pub fn is_fixed(&self) -> bool {
        self.fixed.is_some()
    }

    /// How long it takes with an option; a fixed step takes what it takes in fact.
    pub(super) fn minutes(&self, option: usize) -> i64 {
        self.fixed.as_ref().map_or(self.options[option].minutes, |fixed| fixed.minutes)
    }

    /// The start that it had in the previous plan, where it took that option there.
    pub(super) fn kept_start(&self, option: usize) -> Option<i64> {
        self.previous.as_ref().filter(|was| was.option == Some(option)).map(|was| was.start)
    }

    /// Whether a placing differs from the previous plan's; a step without one never differs.
    pub(super) fn differs(&self, start: i64, option: usize, uses: &[usize]) -> bool {
        self.previous.as_ref().is_some_and(|was| {
            was.start != start
                || was.option != Some(option)
                || was.known_uses.as_deref() != Some(uses)
        })
    }
}

impl StepOption {
    /// How long it takes.
    pub fn minutes(&self) -> i64 {
        self.minutes
    }

    /// The place's index; none means nowhere in particular.
    pub fn place(&self) -> Option<usize> {
        self.place
    }

    /// Groups of resource indices; one out of each is used.
    pub fn needs(&self) -> &[Vec<usize>] {
        &self.needs
    }
}

#[cfg(test)]
mod tests;
