//! One job by itself: the least that it costs against prices, forwards and backwards over every end that each step may
//! have, and so the least that it costs with any one start.
//!
//! A wait that other steps come between counts only from the earliest end of the step before it: that lets more pass
//! than the rules do, and so proves less, never more.

use super::day::{Choice, Day, Job};
use super::prices::{Prices, place_alone, place_free, resource_free};
use std::collections::BTreeMap;

/// More than any cost; two of them still fit a number.
pub(super) const NEVER: i128 = i128::MAX / 8;

/// What a job pays for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Pays {
    /// Prices, and its costs in the certificate's scale.
    Prices,
    /// Its costs alone.
    Costs,
    /// The minute at which it finishes, and nothing else.
    Finish,
}

/// Per step and option, each start with a number.
pub(super) type Starts<T> = Vec<Vec<BTreeMap<i64, T>>>;

/// Numbers by minute; what is not there is [`NEVER`].
#[derive(Clone, Default)]
struct Minutes {
    from: i64,
    values: Vec<i128>,
}

impl Minutes {
    fn new(from: i64, until: i64) -> Self {
        let length = usize::try_from(until - from).unwrap_or(0);
        Self { from, values: vec![NEVER; length] }
    }

    fn until(&self) -> i64 {
        self.from + i64::try_from(self.values.len()).unwrap_or(0)
    }

    fn index(&self, minute: i64) -> Option<usize> {
        usize::try_from(minute - self.from).ok().filter(|at| *at < self.values.len())
    }

    fn get(&self, minute: i64) -> i128 {
        self.index(minute).map_or(NEVER, |at| self.values[at])
    }

    fn lower(&mut self, minute: i64, value: i128) {
        if let Some(at) = self.index(minute) {
            self.values[at] = self.values[at].min(value);
        }
    }
}

/// Steps done, how many, the last of them and its place.
type Key = (usize, u64, Option<usize>, Option<usize>);

struct State {
    key: Key,
    /// Per end of the last step, the least paid by then.
    paid: Minutes,
}

/// A step taken next, in one of its options or fixed.
struct Leg {
    from: usize,
    to: usize,
    step: usize,
    option: Option<usize>,
    minutes: i64,
    /// Per start, the least paid before it.
    reached: Minutes,
}

/// An option or none for a fixed step, its minutes and place, and the window of its starts.
type Taken = (Option<usize>, i64, Option<usize>, (i64, i64));

/// One job against prices.
pub(super) struct Alone<'a> {
    day: &'a Day,
    prices: &'a Prices,
    at: usize,
    job: &'a Job,
    pays: Pays,
    earliest: Vec<i64>,
    /// What each option pays for itself by its start; only these starts are allowed.
    own: Starts<i128>,
    states: Vec<State>,
    legs: Vec<Leg>,
}

impl<'a> Alone<'a> {
    /// Sweeps forwards; where starts are given, over these only.
    pub(super) fn new(
        day: &'a Day,
        prices: &'a Prices,
        at: usize,
        pays: Pays,
        kept: Option<&Starts<i128>>,
    ) -> Self {
        let job = &day.jobs[at];
        let (own, states, legs) = (Vec::new(), Vec::new(), Vec::new());
        let earliest = earliest(day, job);
        let mut alone = Self { day, prices, at, job, pays, earliest, own, states, legs };
        for step in 0..job.steps.len() {
            let options = 0..job.steps[step].options.len();
            let kept = |option: usize| kept.map(|kept| &kept[step][option]);
            alone
                .own
                .push(options.map(|option| alone.starts(step, option, kept(option))).collect());
        }
        alone.sweep();
        alone
    }

    /// The least that the job costs planned; [`NEVER`] where it has no way to stand.
    pub(super) fn planned(&self) -> i128 {
        let all = self.states.iter().filter(|state| state.key.0 == self.job.steps.len());
        let ends = all.flat_map(|state| (state.paid.from..).zip(&state.paid.values));
        ends.map(|(end, paid)| paid + self.finish(end)).min().unwrap_or(NEVER).min(NEVER)
    }

    /// The least that it costs, planned or left out; none where it must be planned and cannot.
    pub(super) fn least(&self) -> Option<i128> {
        let left_out = self.job.left_out.map_or(NEVER, |price| price * self.scale());
        Some(self.planned().min(left_out)).filter(|least| *least < NEVER)
    }

    fn scale(&self) -> i128 {
        if self.pays == Pays::Prices { self.prices.scale } else { 1 }
    }

    fn finish(&self, end: i64) -> i128 {
        let last = self.job.fixed.iter().filter_map(|step| self.span(*step));
        let end = last.map(|span| span.1).fold(end, i64::max);
        if self.pays == Pays::Finish {
            return i128::from(end);
        }
        self.job.finish(&self.day.cost, end) * self.scale()
    }

    fn span(&self, step: usize) -> Option<(i64, i64)> {
        self.job.steps[step].fixed.as_ref().map(|fixed| fixed.span)
    }

    fn price(&self, price: i64) -> i128 {
        if self.pays == Pays::Finish { 0 } else { i128::from(price) * self.scale() }
    }

    fn place_price(&self, place: usize, from: i64, to: i64) -> i128 {
        if self.pays == Pays::Prices { self.prices.place(place, from, to) } else { 0 }
    }

    /// The starts of an option that can be, with what it pays for itself.
    fn starts(
        &self,
        step: usize,
        option: usize,
        kept: Option<&BTreeMap<i64, i128>>,
    ) -> BTreeMap<i64, i128> {
        if self.job.steps[step].fixed.is_some() {
            return BTreeMap::new();
        }
        let choice = &self.job.steps[step].options[option];
        let all = self.earliest[step]..=self.day.horizon - choice.minutes;
        let may = |start: &i64| kept.is_none_or(|kept| kept.contains_key(start));
        let own = |start: i64| Some((start, self.stand(step, option, choice, start)?));
        all.filter(may).filter_map(own).collect()
    }

    /// The least that an option pays for itself at a start; none where it cannot stand.
    fn stand(&self, step: usize, option: usize, choice: &Choice, start: i64) -> Option<i128> {
        let end = start + choice.minutes;
        if let Some(starts) = &choice.starts
            && !starts.iter().any(|(from, to)| *from <= start && start < *to)
        {
            return None;
        }
        // In a cheapest plan no job costs more than leaving it out.
        let cost = self.job.finish(&self.day.cost, end);
        if self.pays != Pays::Finish && self.job.left_out.is_some_and(|left_out| cost > left_out) {
            return None;
        }
        let mut paid = 0;
        if let Some(place) = choice.place {
            if !place_free(self.day, self.at, place, start, end) {
                return None;
            }
            paid += self.place_price(place, start, end);
        }
        let mut teams: Vec<(Vec<usize>, i128)> = vec![(Vec::new(), paid)];
        for group in &choice.needs {
            let mut longer = Vec::new();
            for (team, paid) in &teams {
                for used in group.iter().filter(|used| !team.contains(used)) {
                    if resource_free(self.day, *used, start, end) {
                        let more = if self.pays == Pays::Prices {
                            self.prices.resource(*used, start, end)
                        } else {
                            0
                        };
                        longer.push((team.iter().copied().chain([*used]).collect(), paid + more));
                    }
                }
            }
            teams = longer;
        }
        let changed = |team: &[usize]| match &self.job.steps[step].previous {
            Some(was) => {
                let same = was.start == start && was.option == Some(option);
                if same && was.uses.as_deref() == Some(team) {
                    0
                } else {
                    self.price(self.day.cost.change)
                }
            }
            None => 0,
        };
        teams.iter().map(|(team, paid)| paid + changed(team)).min()
    }

    fn sweep(&mut self) {
        let mut start = Minutes::new(0, 1);
        start.lower(0, 0);
        self.states.push(State { key: (0, 0, None, None), paid: start });
        let mut known: BTreeMap<Key, usize> = BTreeMap::from([((0, 0, None, None), 0)]);
        let mut round: Vec<usize> = vec![0];
        for _ in 0..self.job.steps.len() {
            let mut next = Vec::new();
            for from in round {
                let done = self.states[from].key.1;
                for step in (0..self.job.steps.len()).filter(|step| done >> step & 1 == 0) {
                    if self.job.steps[step].after.iter().all(|(other, _)| done >> other & 1 == 1) {
                        self.extend(&mut known, &mut next, from, step);
                    }
                }
            }
            round = next;
        }
    }

    fn extend(
        &mut self,
        known: &mut BTreeMap<Key, usize>,
        next: &mut Vec<usize>,
        from: usize,
        step: usize,
    ) {
        let key = self.states[from].key;
        let mut ways: Vec<Taken> = Vec::new();
        if let Some((start, end)) = self.span(step) {
            let open = self.job.fixed.iter().find(|fixed| key.1 >> **fixed & 1 == 0);
            if open != Some(&step) {
                return;
            }
            let place = self.job.steps[step].fixed.as_ref().and_then(|fixed| fixed.place);
            ways.push((None, end - start, place, (start, start + 1)));
        } else {
            let done = self.job.fixed.iter().filter(|fixed| key.1 >> **fixed & 1 == 1);
            let floor = done.filter_map(|fixed| Some(self.span(*fixed)?.1)).max();
            for (option, choice) in self.job.steps[step].options.iter().enumerate() {
                let own = &self.own[step][option];
                let first = own.keys().next().copied().unwrap_or(0);
                let until = own.keys().next_back().map_or(first, |last| last + 1);
                let from = first.max(floor.unwrap_or(first));
                ways.push((Some(option), choice.minutes, choice.place, (from, until)));
            }
        }
        for (option, minutes, place, (first, until)) in ways {
            if first >= until {
                continue;
            }
            let reached = self.reach(&self.states[from], step, place, (first, until));
            let to_key = (key.0 + 1, key.1 | 1 << step, Some(step), place);
            let to = *known.entry(to_key).or_insert_with(|| {
                let paid = self.ends(step);
                self.states.push(State { key: to_key, paid });
                next.push(self.states.len() - 1);
                self.states.len() - 1
            });
            for start in first..until {
                let paid = reached.get(start) + self.own(step, option, start);
                self.states[to].paid.lower(start + minutes, paid.min(NEVER));
            }
            self.legs.push(Leg { from, to, step, option, minutes, reached });
        }
    }

    fn own(&self, step: usize, option: Option<usize>, start: i64) -> i128 {
        let Some(option) = option else {
            let fixed = self.job.steps[step].fixed.as_ref();
            let changed = fixed.is_some_and(|fixed| fixed.changed);
            return if changed { self.price(self.day.cost.change) } else { 0 };
        };
        self.own[step][option].get(&start).copied().unwrap_or(NEVER)
    }

    /// Room for every end that a step can have.
    fn ends(&self, step: usize) -> Minutes {
        if let Some((_, end)) = self.span(step) {
            return Minutes::new(end, end + 1);
        }
        Minutes::new(self.earliest[step], self.day.horizon + 1)
    }

    /// How a step at a place follows the state's last one: after how many minutes, and whether the vehicle moves; none
    /// between fixed steps, which stand as they stand.
    fn follows(&self, key: Key, step: usize, place: Option<usize>) -> (Option<i64>, bool) {
        let moves = key.3 != place;
        let Some(last) = key.2 else { return (Some(0), false) };
        if self.span(last).is_some() && self.span(step).is_some() {
            return (None, moves);
        }
        let after = self.job.steps[step].after.iter().filter(|(other, _)| *other == last);
        let gap = after.map(|(_, gap)| *gap).max().unwrap_or(0);
        (Some(if moves { gap.max(self.job.pause) } else { gap }), moves)
    }

    /// Per start of a window, the least paid before a step can start then at a place.
    fn reach(
        &self,
        state: &State,
        step: usize,
        place: Option<usize>,
        (from, until): (i64, i64),
    ) -> Minutes {
        let mut reached = Minutes::new(from, until);
        let (delay, moves) = self.follows(state.key, step, place);
        let moved = if moves { self.price(self.day.cost.moves) } else { 0 };
        if state.key.2.is_none() {
            reached.values.fill(0);
            return reached;
        }
        let Some(delay) = delay else {
            reached.lower(from, state.paid.values.iter().min().copied().unwrap_or(NEVER) + moved);
            return reached;
        };
        let held = place.filter(|_| !moves);
        let mut least = NEVER;
        let first = from.min(state.paid.from + delay);
        for start in first..until {
            if let Some(place) = held.filter(|_| least < NEVER) {
                let alone = place_alone(self.day, self.at, place, start - 1, start);
                let more = self.place_price(place, start - 1, start);
                least = if alone { least + more } else { NEVER };
            }
            let end = start - delay;
            let mut paid = state.paid.get(end);
            if let Some(place) = held.filter(|_| paid < NEVER && delay > 0) {
                let alone = place_alone(self.day, self.at, place, end, start);
                paid = if alone { paid + self.place_price(place, end, start) } else { NEVER };
            }
            least = least.min(paid);
            reached.lower(start, least + moved);
        }
        reached
    }

    /// Per start, the least that the job costs with it.
    pub(super) fn over(&self) -> Starts<i128> {
        let mut onward: Vec<Minutes> = self.states.iter().map(|state| state.paid.clone()).collect();
        for (state, onward) in self.states.iter().zip(&mut onward) {
            let complete = state.key.0 == self.job.steps.len();
            for end in onward.from..onward.until() {
                let at = onward.index(end).unwrap_or(0);
                let reached = onward.values[at] < NEVER;
                onward.values[at] = if complete && reached { self.finish(end) } else { NEVER };
            }
        }
        let mut over: Starts<i128> =
            self.own.iter().map(|own| vec![BTreeMap::new(); own.len()]).collect();
        // Legs stand by how many steps are done before them.
        for leg in self.legs.iter().rev() {
            let mut still = Minutes::new(leg.reached.from, leg.reached.until());
            for start in still.from..still.until() {
                let own = self.own(leg.step, leg.option, start);
                let rest = (own + onward[leg.to].get(start + leg.minutes)).min(NEVER);
                still.lower(start, rest);
                let all = leg.reached.get(start) + rest;
                if let (Some(option), true) = (leg.option, all < NEVER) {
                    let known = over[leg.step][option].entry(start).or_insert(all);
                    *known = all.min(*known);
                }
            }
            self.back(leg, &still, &mut onward[leg.from]);
        }
        over
    }

    /// Lowers what is still to pay after the ends of a state, given what is from a leg's starts on.
    fn back(&self, leg: &Leg, still: &Minutes, onward: &mut Minutes) {
        let state = &self.states[leg.from];
        let place = self.states[leg.to].key.3;
        let (delay, moves) = self.follows(state.key, leg.step, place);
        let moved = if moves { self.price(self.day.cost.moves) } else { 0 };
        let (Some(delay), Some(_)) = (delay, state.key.2) else {
            let least = still.values.iter().min().copied().unwrap_or(NEVER) + moved;
            onward.values.iter_mut().for_each(|value| *value = least.min(*value));
            return;
        };
        let held = place.filter(|_| !moves);
        let mut least = NEVER;
        for start in (onward.from + delay..still.until().max(onward.until() + delay)).rev() {
            if let Some(place) = held.filter(|_| least < NEVER) {
                let alone = place_alone(self.day, self.at, place, start, start + 1);
                let more = self.place_price(place, start, start + 1);
                least = if alone { least + more } else { NEVER };
            }
            least = least.min(still.get(start));
            let end = start - delay;
            if least >= NEVER || onward.index(end).is_none() {
                continue;
            }
            let mut rest = least + moved;
            if let Some(place) = held.filter(|_| delay > 0) {
                let alone = place_alone(self.day, self.at, place, end, start);
                rest = if alone { rest + self.place_price(place, end, start) } else { NEVER };
            }
            onward.lower(end, rest);
        }
    }
}

/// Per step, the earliest start that releases and the steps before it allow.
pub(super) fn earliest(day: &Day, job: &Job) -> Vec<i64> {
    let from = day.now.max(job.release);
    let mut earliest: Vec<i64> = job.steps.iter().map(|step| from.max(step.release)).collect();
    for _ in &job.steps {
        for (at, step) in job.steps.iter().enumerate() {
            for (other, gap) in &step.after {
                let before = &job.steps[*other];
                let shortest = before.options.iter().map(|option| option.minutes).min();
                let end = match &before.fixed {
                    Some(fixed) => fixed.span.1,
                    None => earliest[*other] + shortest.unwrap_or(1),
                };
                earliest[at] = earliest[at].max(end + gap);
            }
        }
    }
    earliest
}
