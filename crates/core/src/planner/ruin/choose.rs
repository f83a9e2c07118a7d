//! Which jobs a move takes off the board, and in which order they come back.

use super::Search;
use crate::planner::board::Standing;
use crate::planner::check::as_i64;

/// The most jobs taken off in one move, mostly and now and then.
const RUINED_MAX: usize = 7;
const RUINED_SELDOM_MAX: usize = 14;

impl Search<'_> {
    /// How much more a job costs than it must.
    fn excess(&self, job: usize) -> i64 {
        match self.board.standing()[job] {
            Standing::Missing => i64::MAX / 4,
            Standing::Placed(_) | Standing::LeftOut => {
                (self.board.job_cost(job) - self.least[job]).max(0)
            }
        }
    }

    /// One job and a few that stand near it, rival it, or none of that.
    pub(super) fn choose_jobs(&mut self) -> Vec<usize> {
        let count = self.least.len();
        let seldom = self.random.below(8) == 0;
        let most = if seldom { RUINED_SELDOM_MAX } else { RUINED_MAX }.min(count);
        let size = 1 + self.random.below(most);
        let first = self.choose_first();
        let mut pool = match self.random.below(4) {
            0 => (0..count).collect(),
            1 => self.near_in_time(first),
            _ => self.rivals(first, self.window(first)),
        };
        pool.retain(|job| *job != first);
        self.random.shuffle(&mut pool);
        pool.truncate(size.max(2) - 1);
        pool.push(first);
        pool
    }

    /// The costliest of a few, so that what could gain most comes up most.
    pub(super) fn choose_first(&mut self) -> usize {
        let count = self.least.len();
        let mut first = self.random.below(count);
        for _ in 0..self.random.below(5) {
            let other = self.random.below(count);
            if self.excess(other) > self.excess(first) {
                first = other;
            }
        }
        first
    }

    /// When a job stands, or could have stood when it does not.
    pub(super) fn window(&self, job: usize) -> (i64, i64) {
        let problem = self.board.shop.problem;
        let spec = &problem.jobs[job];
        let from = spec.release.max(problem.now);
        match &self.board.standing()[job] {
            Standing::Placed(placement) => (from, placement.finish.max(from + 1)),
            Standing::LeftOut | Standing::Missing => {
                (from, spec.due.unwrap_or(problem.horizon).max(from + 1))
            }
        }
    }

    fn near_in_time(&mut self, first: usize) -> Vec<usize> {
        let (from, until) = self.window(first);
        let length = usize::try_from(until - from).unwrap_or(1);
        let at = from + as_i64(self.random.below(length));
        let mut distance: Vec<(i64, usize)> = Vec::new();
        for (job, standing) in self.board.standing().iter().enumerate() {
            let near = match standing {
                Standing::Placed(placement) => {
                    let steps = placement.steps.iter();
                    steps.map(|placed| (placed.start - at).abs()).min().unwrap_or(0)
                }
                Standing::LeftOut | Standing::Missing => {
                    let (from, until) = self.window(job);
                    if (from..until).contains(&at) { 0 } else { i64::MAX }
                }
            };
            distance.push((near, job));
        }
        distance.sort_unstable();
        distance.into_iter().take(2 * RUINED_MAX).map(|(_, job)| job).collect()
    }

    /// Jobs that take, within a window of time, what `first` could use; and those left out.
    pub(super) fn rivals(&self, first: usize, window: (i64, i64)) -> Vec<usize> {
        let (from, until) = window;
        let shop = self.board.shop;
        let spec = &shop.problem.jobs[first];
        let mut places = vec![false; shop.clashing.len()];
        let mut resources = vec![false; shop.demand.len()];
        for option in spec.steps.iter().flat_map(|step| &step.options) {
            if let Some(place) = option.place {
                places[place] = true;
                shop.clashing[place].iter().for_each(|other| places[*other] = true);
            }
            // A need that few can serve is where jobs get in each other's way.
            for group in option.needs.iter().filter(|group| group.len() <= 2) {
                for used in group {
                    resources[*used] = true;
                }
            }
        }
        let jobs = self.board.standing().iter().enumerate();
        let rivals = jobs.filter(|(job, standing)| match standing {
            Standing::Placed(placement) => placement.steps.iter().any(|placed| {
                let option = &shop.problem.jobs[*job].steps[placed.step].options[placed.option];
                let meets = option.place.is_some_and(|place| places[place])
                    || placed.uses.iter().any(|used| resources[*used]);
                meets && placed.start < until && placed.end > from
            }),
            Standing::LeftOut | Standing::Missing => true,
        });
        rivals.map(|(job, _)| job).collect()
    }

    /// Those with fixed steps cannot be left out: mostly they come first.
    pub(super) fn fixed_first(&mut self, jobs: &mut [usize]) {
        let problem = self.board.shop.problem;
        let fixed = |job: &usize| problem.jobs[*job].has_fixed();
        if jobs.iter().any(fixed) && self.random.below(2) == 0 {
            jobs.sort_by_key(|job| !fixed(job));
        }
    }

    /// The order in which jobs are put back.
    pub(super) fn order(&mut self, jobs: &mut [usize]) {
        self.random.shuffle(jobs);
        let problem = self.board.shop.problem;
        match self.random.below(8) {
            0 => jobs.sort_by_key(|job| problem.jobs[*job].due),
            1 => jobs.sort_by_key(|job| -problem.jobs[*job].weight),
            2 | 3 => jobs.sort_by_key(|job| std::cmp::Reverse(self.excess(*job))),
            4 => jobs.sort_by_key(|job| problem.jobs[*job].release),
            // As they stand: what is put in first pushes the others later.
            5 => jobs.sort_by_key(|job| match &self.board.standing()[*job] {
                Standing::Placed(placement) => placement.steps.first().map_or(0, |p| p.start),
                Standing::LeftOut | Standing::Missing => i64::MIN,
            }),
            _ => {}
        }
        self.fixed_first(jobs);
    }
}
