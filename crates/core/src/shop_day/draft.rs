//! The planning problem of a shop's state.

use super::inclusion::{Included, OnRoad, included};
use super::minutes::{minute_down, minute_up, open_minutes, zero_of};
use super::options::{
    is_road, option_as_held, options_of, technician_resource, unit_resource, usable_minutes,
    without_drives_before_glass,
};
use super::starts::{Span, both};
use super::{DAYS_MAX, DayError, Hold, OptionMeaning, ShopDay, ShopState, Unplanned};
use crate::demand::TaskKind;
use crate::ids::{JobId, TaskId};
use crate::planner::{
    CalendarDraft, CostWeights, FixedDraft, JobDraft, OptionDraft, PreviousDraft, Problem,
    ProblemDraft, StepDraft, WindowDraft,
};
use crate::work::{Job, JobState, Place, Task};
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// Name of the fixed step that stands for a vehicle which stands in a bay. Task names never hold a
/// space, so it cannot meet one.
pub(super) const STANDING: &str = "standing here";

type Meanings = BTreeMap<(String, String), Vec<OptionMeaning>>;

pub(super) fn shop_day(
    state: &ShopState<'_>,
    begun_only: &BTreeSet<JobId>,
) -> Result<ShopDay, DayError> {
    let zero = zero_of(state.now);
    let horizon = i64::from(state.days.clamp(1, DAYS_MAX)) * 1440;
    let parts = state.shop.parts();
    let zone = parts.shop.parts().hours.zone();
    let mut builder = Builder {
        state,
        zero,
        horizon,
        span: Span::new(zone, zero, horizon),
        meanings: Meanings::new(),
        unplanned: Vec::new(),
        blocked: BTreeMap::new(),
    };
    let jobs: Vec<_> = state
        .jobs
        .iter()
        .filter_map(|job| builder.job(job, begun_only.contains(&job.id)))
        .collect();
    let (places, clashes) = builder.places(&jobs);
    let technicians = parts.technicians.iter().map(|technician| CalendarDraft {
        id: technician_resource(technician.id()),
        open: Some(open_minutes(&technician.parts().shift, zero, horizon)),
    });
    let units = parts.units.iter().flat_map(|unit| {
        let open = usable_minutes(unit, zone, zero, horizon);
        let pieces = unit.pieces().into_iter();
        pieces.map(move |piece| CalendarDraft { id: unit_resource(&piece), open: open.clone() })
    });
    let mut resources: Vec<_> = technicians.chain(units).collect();
    add_resources_of_holds(state.holds, &mut resources);
    let weights = parts.shop.parts().weights;
    let draft = ProblemDraft {
        name: format!("{} {}", parts.shop.id(), zone.local(state.now).date()),
        now: i64::from(zero < state.now),
        horizon,
        places,
        resources,
        clashes,
        jobs,
        cost: CostWeights {
            lateness: weights.lateness.into(),
            finish: weights.finish.into(),
            place_change: weights.r#move.into(),
            change: weights.change.into(),
            makespan: 0,
        },
    };
    let problem = Problem::from_draft(draft).map_err(DayError::Problem)?;
    Ok(ShopDay { problem, zero, meanings: builder.meanings, unplanned: builder.unplanned })
}

/// People and units that have left the definition, but are held still.
fn add_resources_of_holds(holds: &[Hold], resources: &mut Vec<CalendarDraft>) {
    for hold in holds {
        let (_, _, uses) = option_as_held(hold);
        for id in uses {
            if !resources.iter().any(|known| known.id == id) {
                resources.push(CalendarDraft { id, open: Some(Vec::new()) });
            }
        }
    }
}

struct Builder<'a> {
    state: &'a ShopState<'a>,
    zero: DateTime<Utc>,
    horizon: i64,
    span: Span,
    meanings: Meanings,
    unplanned: Vec<Unplanned>,
    /// Places that a vehicle keeps for which nothing is planned, and until which minute at least.
    blocked: BTreeMap<Place, i64>,
}

impl Builder<'_> {
    fn job(&mut self, job: &Job, begun_only: bool) -> Option<JobDraft> {
        if !matches!(job.state, JobState::Expected | JobState::OnSite) {
            return None;
        }
        let mut fixed = BTreeMap::new();
        let mut steps = Vec::new();
        let holds = self.state.holds.iter().filter(|hold| hold.job == job.id);
        for hold in holds.clone() {
            steps.push(self.held_step(job, hold, &mut fixed));
        }
        if holds.count() == 0
            && let Some(place) = job.standing_place()
        {
            steps.push(standing_step(place, &mut fixed));
        }
        let mut previous = BTreeMap::new();
        let mut options: BTreeMap<TaskId, Vec<(OptionDraft, OptionMeaning)>> = BTreeMap::new();
        let mut possible = BTreeMap::new();
        for task in &job.tasks {
            let found = options_of(self.state, job, task, &self.span)
                .map(|found| without_drives_before_glass(self.state, job, task, found));
            let on_road = |found: &Vec<(OptionDraft, OptionMeaning)>| {
                OnRoad(found.iter().any(|(_, option)| is_road(self.state, task, option)))
            };
            possible.insert(task.id.clone(), found.as_ref().map(on_road).map_err(Clone::clone));
            options.insert(task.id.clone(), found.unwrap_or_default());
        }
        let (tasks, unplanned) = self.included(job, &options, &mut possible);
        self.unplanned.extend(unplanned);
        for task in tasks {
            if begun_only {
                let reason = "The vehicle's work has begun, but this does not fit into the days \
                              planned; plan more days ahead or free a bay or technician.";
                self.unplanned.push(Unplanned {
                    job: job.id.clone(),
                    task: Some(task.task),
                    reasons: vec![reason.to_owned()],
                });
                continue;
            }
            let options = options.remove(&task.task).unwrap_or_default();
            previous.extend(self.previous(job, &task.task, &options));
            steps.push(self.open_step(job, task, options));
        }
        if !begun_only {
            let sets: Vec<_> =
                job.tasks.iter().filter_map(|task| glass_sets(task, &steps)).collect();
            steps.extend(sets);
        }
        if steps.iter().all(|step| step.id == STANDING) {
            if let Some(place) = job.standing_place() {
                self.keep_place(job, place);
            }
            return None;
        }
        let due = minute_down(self.zero, job.promise_at);
        let weights = self.state.shop.parts().shop.parts().weights;
        Some(JobDraft {
            id: job.id.to_string(),
            release: 0,
            due: Some(due),
            weight: job.weight.into(),
            leave_out_cost: fixed.is_empty().then(|| self.leave_out_cost(job, due, steps.len())),
            move_minutes: weights.move_minutes.into(),
            steps,
            fixed,
            previous,
        })
    }

    /// The tasks that can be planned: each has a way that starts before what it rests on lapses.
    fn included(
        &self,
        job: &Job,
        options: &BTreeMap<TaskId, Vec<(OptionDraft, OptionMeaning)>>,
        possible: &mut BTreeMap<TaskId, Result<OnRoad, Vec<String>>>,
    ) -> (Vec<Included>, Vec<Unplanned>) {
        loop {
            let (tasks, unplanned) = included(job, self.state.now, self.zero, possible);
            let too_late: Vec<TaskId> = tasks
                .iter()
                .filter(|task| {
                    let Some(lapse) = task.starts_before else { return false };
                    let mut ways = options.get(&task.task).into_iter().flatten();
                    !ways.any(|(draft, _)| !before(draft, lapse).is_empty())
                })
                .map(|task| task.task.clone())
                .collect();
            if too_late.is_empty() {
                return (tasks, unplanned);
            }
            for task in too_late {
                let why = "It can start only after a sign-off that it rests on lapses; have it \
                           signed off anew for that time.";
                possible.insert(task, Err(vec![why.to_owned()]));
            }
        }
    }

    /// Keeps the place of a vehicle for which nothing is planned until it may be moved away, and asks
    /// for that.
    fn keep_place(&mut self, job: &Job, place: &Place) {
        let weights = self.state.shop.parts().shop.parts().weights;
        let movable = job.movable_at().map_or(0, |at| minute_up(self.zero, at).max(0));
        self.blocked.insert(place.clone(), movable + i64::from(weights.move_minutes));
        self.unplanned.push(Unplanned {
            job: job.id.clone(),
            task: None,
            reasons: vec![format!(
                "The vehicle stands at {place} and nothing is planned for it; hand it back or move it to \
                 a spot as soon as it may be moved: the plan counts on its place from then on."
            )],
        });
    }

    /// More than the worst plan of the job could cost, so that nothing is left out that fits.
    fn leave_out_cost(&self, job: &Job, due: i64, steps: usize) -> i64 {
        let weights = self.state.shop.parts().shop.parts().weights;
        let steps = i64::try_from(steps).unwrap_or(i64::MAX);
        let late = (self.horizon - due).max(0);
        i64::from(weights.lateness) * i64::from(job.weight) * late
            + i64::from(weights.finish) * self.horizon
            + (i64::from(weights.r#move) + i64::from(weights.change)) * steps
            + i64::from(weights.lateness) * i64::from(job.weight) * 1440
            + 1
    }

    fn held_step(
        &mut self,
        job: &Job,
        hold: &Hold,
        fixed: &mut BTreeMap<String, FixedDraft>,
    ) -> StepDraft {
        let (option, meaning, uses) = option_as_held(hold);
        let start = minute_down(self.zero, hold.started_at.unwrap_or(hold.pulled_at));
        // What is interrupted takes longer by that.
        let worked = option.minutes + hold.paused_minutes(self.state.now);
        // A task that runs over is expected to end a minute from now, until somebody says more.
        let minutes = worked.max(1 - start + i64::from(self.zero < self.state.now));
        let id = hold.task.to_string();
        fixed.insert(id.clone(), FixedDraft { start, minutes: Some(minutes), option: 0, uses });
        self.meanings
            .insert((job.id.to_string(), id.clone()), vec![OptionMeaning { minutes, ..meaning }]);
        StepDraft { id, after: Some(BTreeMap::new()), release: 0, options: vec![option] }
    }

    fn open_step(
        &mut self,
        job: &Job,
        task: Included,
        options: Vec<(OptionDraft, OptionMeaning)>,
    ) -> StepDraft {
        let id = task.task.to_string();
        let lapse = task.starts_before;
        let in_time = options.into_iter().filter_map(|(mut draft, meaning)| {
            if let Some(lapse) = lapse {
                let starts = before(&draft, lapse);
                draft.starts = (!starts.is_empty()).then_some(starts);
                draft.starts.as_ref()?;
            }
            Some((draft, meaning))
        });
        let (drafts, meanings): (Vec<_>, Vec<_>) = in_time.unzip();
        self.meanings.insert((job.id.to_string(), id.clone()), meanings);
        let after = task.after.into_iter().map(|(id, gap)| (id.to_string(), gap)).collect();
        StepDraft { id, after: Some(after), release: task.release.max(0), options: drafts }
    }

    fn previous(
        &self,
        job: &Job,
        task: &TaskId,
        options: &[(OptionDraft, OptionMeaning)],
    ) -> Option<(String, PreviousDraft)> {
        let was = self.state.previous.iter().find(|was| was.job == job.id && was.task == *task)?;
        let start = minute_down(self.zero, was.start);
        let may_start = |starts: &Option<Vec<WindowDraft>>| {
            starts.as_ref().is_none_or(|all| all.iter().any(|[a, b]| (*a..*b).contains(&start)))
        };
        let same = |(_, option): &&(OptionDraft, OptionMeaning)| {
            option.method == was.method && option.place == was.place
        };
        // The same way of doing it may stand for different days, with other people.
        let of_that_day = options.iter().position(|one| same(&one) && may_start(&one.0.starts));
        let option = of_that_day
            .or_else(|| options.iter().position(|one| same(&one)))
            .and_then(|index| i64::try_from(index).ok());
        let technicians = was.technicians.iter().map(technician_resource);
        let uses = technicians.chain(was.units.iter().map(unit_resource)).collect();
        Some((task.to_string(), PreviousDraft { start, option, uses }))
    }

    /// The places that the jobs name, and the pairs of them that clash.
    fn places(&self, jobs: &[JobDraft]) -> (Vec<CalendarDraft>, Vec<[String; 2]>) {
        let named: BTreeSet<&String> = jobs
            .iter()
            .flat_map(|job| &job.steps)
            .flat_map(|step| &step.options)
            .filter_map(|option| option.place.as_ref())
            .collect();
        let hours = &self.state.shop.parts().shop.parts().hours;
        let open = open_minutes(hours, self.zero, self.horizon);
        let places = named
            .iter()
            .map(|id| {
                let from = self.free_from(id);
                let free = |[start, end]: &WindowDraft| [(*start).max(from), *end];
                let open: Vec<_> =
                    open.iter().map(free).filter(|[start, end]| start < end).collect();
                let open = self.without_closures(id, open);
                CalendarDraft { id: (*id).clone(), open: Some(open) }
            })
            .collect();
        let clashes = self
            .state
            .clashes
            .iter()
            .map(|(one, other)| [one.to_string(), other.to_string()])
            .filter(|[one, other]| named.contains(one) && named.contains(other))
            .collect();
        (places, clashes)
    }
}

/// When a step may start before a minute.
fn before(draft: &OptionDraft, minute: i64) -> Vec<WindowDraft> {
    both(draft.starts.clone(), Some(vec![[0, minute.max(1)]])).unwrap_or_default()
}

impl Builder<'_> {
    /// What is left of a place's windows while its bay is not closed.
    fn without_closures(&self, place: &str, mut open: Vec<WindowDraft>) -> Vec<WindowDraft> {
        // A place is named by its bay and its station; neither has a stroke.
        let bay = place.split_once('/').map_or(place, |(bay, _)| bay);
        for closed in self.state.closed.iter().filter(|one| one.bay.as_str() == bay) {
            let (from, to) = (closed.window.start(), closed.window.end());
            let (from, to) = (minute_down(self.zero, from), minute_up(self.zero, to));
            let parts = open
                .iter()
                .flat_map(|[start, end]| [[*start, (*end).min(from)], [(*start).max(to), *end]]);
            open = parts.filter(|[start, end]| start < end).collect();
        }
        open
    }

    /// The minute from which on no vehicle without planned work keeps a place from being used.
    fn free_from(&self, place: &str) -> i64 {
        let in_the_way = |standing: &Place| {
            let standing = standing.to_string();
            standing == place
                || self.state.clashes.iter().any(|(one, other)| {
                    let pair = [one.to_string(), other.to_string()];
                    pair.contains(&standing) && pair.iter().any(|id| id == place)
                })
        };
        let minutes = self.blocked.iter().filter(|(standing, _)| in_the_way(standing));
        minutes.map(|(_, until)| *until).max().unwrap_or(0)
    }
}

/// A step that keeps the place of a planned or held glass task until the vehicle may be moved, where
/// no other step of the job comes after the glass.
fn glass_sets(glass: &Task, steps: &[StepDraft]) -> Option<StepDraft> {
    let moved = glass.planned_cure.filter(|_| glass.kind == TaskKind::Glass)?.moved();
    let id = glass.id.to_string();
    let step = steps.iter().find(|step| step.id == id)?;
    let followed =
        steps.iter().any(|other| other.after.as_ref().is_some_and(|after| after.contains_key(&id)));
    let mut places: Vec<_> = step.options.iter().map(|option| &option.place).collect();
    places.dedup();
    if moved == 0 || followed || places.contains(&&None) {
        return None;
    }
    let option = |place: &Option<String>| OptionDraft {
        minutes: 1,
        place: place.clone(),
        starts: None,
        needs: Vec::new(),
    };
    Some(StepDraft {
        id: format!("{id} sets"),
        after: Some(BTreeMap::from([(id, i64::from(moved))])),
        release: 0,
        options: places.into_iter().map(option).collect(),
    })
}

fn standing_step(place: &Place, fixed: &mut BTreeMap<String, FixedDraft>) -> StepDraft {
    let draft = FixedDraft { start: -1, minutes: Some(1), option: 0, uses: Vec::new() };
    fixed.insert(STANDING.to_owned(), draft);
    StepDraft {
        id: STANDING.to_owned(),
        after: Some(BTreeMap::new()),
        release: 0,
        options: vec![OptionDraft {
            minutes: 1,
            place: Some(place.to_string()),
            starts: None,
            needs: Vec::new(),
        }],
    }
}
