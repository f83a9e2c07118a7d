//! The starts that a right shift gives: step after step in the order of the previous starts, each behind
//! those before it on its resources and its place or in a gap that they leave, around what stands on the board already.

use super::Manner;
use crate::planner::board::Board;
use crate::planner::placement::Placed;
use crate::planner::problem::StepOption;
use crate::planner::span::{Span, earliest, earliest_inside};

/// How often everything is shifted anew because a vehicle could not stay at its place, or a job found no room.
const ROUNDS_MAX: usize = 64;

/// One step that is shifted.
#[derive(Debug, Clone, Copy)]
struct Task {
    /// The position of its job among those shifted.
    at: usize,
    job: usize,
    step: usize,
    option: usize,
    was: i64,
}

/// Why a step cannot start.
enum Trouble {
    /// The stay that begins with this step has to begin later.
    Later { step: usize, from: i64 },
    /// Nowhere within the horizon.
    NoRoom,
}

/// A vehicle on its way: when its last step ended and where, and the first step of its stay there.
#[derive(Debug, Clone, Copy)]
struct Vehicle {
    end: i64,
    place: Option<usize>,
    begun: bool,
    stay: Option<usize>,
}

/// Shifts the jobs `moving`, which are off the board and stood in the previous plan. Per job the steps
/// that are not fixed, in the order of time; none where it found no room.
pub(super) fn shifted(
    board: &Board<'_>,
    moving: &[usize],
    manner: Manner,
) -> Vec<Option<Vec<Placed>>> {
    let mut tasks: Vec<Task> = Vec::new();
    for (at, job) in moving.iter().enumerate() {
        for (step, spec) in board.shop.problem.jobs[*job].steps.iter().enumerate() {
            let was = spec.previous.as_ref().filter(|_| !spec.is_fixed());
            if let Some((was, option)) = was.and_then(|was| Some((was.start, was.option?))) {
                tasks.push(Task { at, job: *job, step, option, was });
            }
        }
    }
    tasks.sort_by_key(|task| (task.was, task.at, task.step));
    let mut dropped = vec![false; moving.len()];
    let mut floors: Vec<Vec<i64>> = moving
        .iter()
        .map(|job| vec![i64::MIN; board.shop.problem.jobs[*job].steps.len()])
        .collect();
    for _ in 0..ROUNDS_MAX {
        let mut round = Round::new(board, moving, manner);
        match round.run(&tasks, &dropped, &floors) {
            Ok(()) => {
                let found = round.placed.into_iter().zip(dropped);
                return found.map(|(steps, dropped)| (!dropped).then_some(steps)).collect();
            }
            Err((at, Trouble::Later { step, from })) => floors[at][step] = from,
            Err((at, Trouble::NoRoom)) => dropped[at] = true,
        }
    }
    vec![None; moving.len()]
}

struct Round<'b, 's> {
    board: &'b Board<'s>,
    manner: Manner,
    resource_free: Vec<i64>,
    place_free: Vec<i64>,
    /// Where gaps may be used: per resource when it is taken, per place when and by which job.
    resource_taken: Vec<Vec<Span>>,
    place_taken: Vec<Vec<(Span, usize)>>,
    vehicles: Vec<Vehicle>,
    placed: Vec<Vec<Placed>>,
}

impl<'b, 's> Round<'b, 's> {
    fn new(board: &'b Board<'s>, moving: &[usize], manner: Manner) -> Self {
        let shop = board.shop;
        let vehicle = |job: &usize| {
            let spec = &shop.problem.jobs[*job];
            let last = shop.jobs[*job].fixed.last().and_then(|step| {
                let fixed = spec.steps[*step].fixed.as_ref()?;
                Some((*step, fixed, spec.steps[*step].options[fixed.option].place))
            });
            match last {
                Some((step, fixed, place)) => Vehicle {
                    end: fixed.start + fixed.minutes,
                    place,
                    begun: true,
                    stay: place.map(|_| step),
                },
                None => Vehicle { end: i64::MIN, place: None, begun: false, stay: None },
            }
        };
        Self {
            board,
            manner,
            resource_free: vec![i64::MIN; shop.free.len()],
            place_free: vec![i64::MIN; shop.held.len()],
            resource_taken: vec![Vec::new(); shop.free.len()],
            place_taken: vec![Vec::new(); shop.held.len()],
            vehicles: moving.iter().map(vehicle).collect(),
            placed: vec![Vec::new(); moving.len()],
        }
    }

    fn run(
        &mut self,
        tasks: &[Task],
        dropped: &[bool],
        floors: &[Vec<i64>],
    ) -> Result<(), (usize, Trouble)> {
        for task in tasks.iter().filter(|task| !dropped[task.at]) {
            let floor = floors[task.at][task.step].max(task.was);
            let (start, uses) = self.start(*task, floor).map_err(|trouble| (task.at, trouble))?;
            self.stand(*task, start, uses);
        }
        Ok(())
    }

    /// The earliest start from `floor` on, and with which resources.
    fn start(&self, task: Task, floor: i64) -> Result<(i64, Vec<usize>), Trouble> {
        let problem = self.board.shop.problem;
        let spec = &problem.jobs[task.job].steps[task.step];
        let option = &spec.options[task.option];
        let vehicle = self.vehicles[task.at];
        let stays = vehicle.begun && vehicle.place == option.place;
        let mut from = self.ready(task, floor);
        if let Some(place) = option.place.filter(|_| !stays) {
            from = from.max(self.place_free[place]);
        }
        let uses = spec.previous.as_ref().and_then(|was| was.known_uses.as_deref()).unwrap_or(&[]);
        let groups: Vec<&[usize]> = if self.manner.any_resources {
            option.needs.iter().map(Vec::as_slice).collect()
        } else {
            uses.iter().map(std::slice::from_ref).collect()
        };
        loop {
            let before = from;
            from = self.open(option, from).ok_or(Trouble::NoRoom)?;
            for group in &groups {
                let free = group.iter().filter_map(|used| self.free(*used, from, option.minutes));
                from = free.min().ok_or(Trouble::NoRoom)?;
            }
            if let Some(place) = option.place {
                let start = if stays { vehicle.end.min(from) } else { from };
                let span = Span { start, end: from + option.minutes };
                if let Some(until) = self.in_the_way(task.job, place, span) {
                    match vehicle.stay.filter(|_| stays) {
                        // The whole stay has to come behind what is in its way, unless it has begun.
                        Some(step) if self.may_wait(task, step) => {
                            return Err(Trouble::Later { step, from: until });
                        }
                        Some(_) => return Err(Trouble::NoRoom),
                        None => from = until,
                    }
                }
            }
            if from == before {
                break;
            }
        }
        if from + option.minutes > problem.horizon {
            return Err(Trouble::NoRoom);
        }
        let uses = self.choose(&groups, uses, from, option.minutes).ok_or(Trouble::NoRoom)?;
        Ok((from, uses))
    }

    /// When a step may start by the clock, its releases, its vehicle and the waits.
    fn ready(&self, task: Task, floor: i64) -> i64 {
        let problem = self.board.shop.problem;
        let job = &problem.jobs[task.job];
        let spec = &job.steps[task.step];
        let vehicle = self.vehicles[task.at];
        let moves = vehicle.begun && vehicle.place != spec.options[task.option].place;
        let mut from = floor.max(problem.now).max(job.release).max(spec.release);
        if vehicle.begun {
            from = from.max(vehicle.end + if moves { job.move_minutes } else { 0 });
        }
        for (earlier, gap) in &spec.after {
            let fixed = job.steps[*earlier].fixed.as_ref();
            let end = fixed.map(|fixed| fixed.start + fixed.minutes).or_else(|| {
                self.placed[task.at].iter().find(|p| p.step == *earlier).map(|p| p.end)
            });
            from = from.max(end.map_or(i64::MIN, |end| end + gap));
        }
        from
    }

    fn may_wait(&self, task: Task, step: usize) -> bool {
        !self.board.shop.problem.jobs[task.job].steps[step].is_fixed()
    }

    /// The earliest start from `from` on at which the place is open and the start is allowed.
    fn open(&self, option: &StepOption, from: i64) -> Option<i64> {
        let mut from = from;
        if let Some(place) = option.place {
            from = earliest(&self.board.shop.problem.places[place].open, from, option.minutes)?;
        }
        match &option.starts {
            Some(starts) => earliest_inside(starts, from),
            None => Some(from),
        }
    }

    fn free(&self, used: usize, from: i64, minutes: i64) -> Option<i64> {
        let mut from = from.max(self.resource_free[used]);
        loop {
            from = earliest(&self.board.free[used], from, minutes)?;
            let span = Span { start: from, end: from + minutes };
            let meets = self.resource_taken[used].iter().filter(|taken| taken.overlaps(span));
            match meets.map(|taken| taken.end).max() {
                Some(end) => from = end,
                None => return Some(from),
            }
        }
    }

    /// Until when something on the board holds a place that a job would hold over a span.
    fn in_the_way(&self, job: usize, place: usize, span: Span) -> Option<i64> {
        let taken = self.board.blocked[place].iter();
        let standing = taken.map(|taken| (taken.span, taken.job));
        let all = standing.chain(self.place_taken[place].iter().copied());
        let others = all.filter(|(taken, other)| *other != job && taken.overlaps(span));
        others.map(|(taken, _)| taken.end).max()
    }

    /// The resources as before where they are free, or others; none where one would serve two needs.
    fn choose(
        &self,
        groups: &[&[usize]],
        was: &[usize],
        start: i64,
        minutes: i64,
    ) -> Option<Vec<usize>> {
        let mut uses: Vec<usize> = Vec::with_capacity(groups.len());
        for (group, was) in groups.iter().zip(was) {
            let may = |used: &&usize| {
                !uses.contains(*used) && self.free(**used, start, minutes) == Some(start)
            };
            let used = Some(was).filter(may).or_else(|| group.iter().find(may));
            uses.push(*used?);
        }
        Some(uses)
    }

    fn stand(&mut self, task: Task, start: i64, uses: Vec<usize>) {
        let shop = self.board.shop;
        let option = &shop.problem.jobs[task.job].steps[task.step].options[task.option];
        let end = start + option.minutes;
        for used in &uses {
            if self.manner.gaps {
                self.resource_taken[*used].push(Span { start, end });
            } else {
                self.resource_free[*used] = end;
            }
        }
        let vehicle = &mut self.vehicles[task.at];
        let stays = vehicle.begun && vehicle.place == option.place;
        if let Some(place) = option.place {
            let span = Span { start: if stays { vehicle.end } else { start }, end };
            for held in std::iter::once(&place).chain(&shop.clashing[place]) {
                if self.manner.gaps {
                    self.place_taken[*held].push((span, task.job));
                } else {
                    self.place_free[*held] = self.place_free[*held].max(end);
                }
            }
        }
        let stay = if stays { vehicle.stay } else { Some(task.step) };
        *vehicle = Vehicle { end, place: option.place, begun: true, stay };
        let Task { step, option, .. } = task;
        self.placed[task.at].push(Placed { step, option, start, end, uses });
    }
}
