//! Derives a plan's bound again from the prices in its certificate, sharing no code with the planner.
//!
//! For any prices of 0 or more, no plan costs less than what the jobs cost at least against the prices,
//! each by itself, added up, less the sum of all prices: in no minute is a resource used, or a group
//! of clashing places held, by two jobs. Minutes of fixed steps are not paid for and not for sale. The
//! least of one job is worked out forwards, step after step, over every end that each may have.

use serde_json::Value;
use std::collections::BTreeMap;

/// What a certificate proves: a cost that no plan goes below.
///
/// # Errors
/// A sentence when there is no certificate, or one that proves nothing.
pub fn derive(problem: &str, plan: &str) -> Result<i128, String> {
    let problem: Value = serde_json::from_str(problem).map_err(|error| error.to_string())?;
    let plan: Value = serde_json::from_str(plan).map_err(|error| error.to_string())?;
    let shop = Shop::read(&problem, &plan["certificate"])?;
    let mut total = -shop.paid;
    for job in list(&problem["jobs"]) {
        total += shop.least(job, true).ok_or("a job that must be planned has no way to stand")?;
    }
    let whole = total.div_euclid(shop.scale) + i128::from(total.rem_euclid(shop.scale) > 0);
    // With a price on the last finish: no earlier than the latest of the jobs' earliest ones.
    let makespan = i128::from(number(&problem["cost"], "makespan", 0));
    let mut last = 0;
    if makespan > 0 {
        for job in list(&problem["jobs"]).iter().filter(|job| must_be_planned(job)) {
            last = last.max(shop.least(job, false).unwrap_or(0));
        }
    }
    Ok(whole + makespan * last)
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn number(value: &Value, key: &str, default: i64) -> i64 {
    value[key].as_i64().unwrap_or(default)
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or("")
}

fn must_be_planned(job: &Value) -> bool {
    let fixed = job["fixed"].as_object().is_some_and(|fixed| !fixed.is_empty());
    fixed || job["leave_out_cost"].is_null()
}

type Windows = Vec<(i64, i64)>;

fn windows(value: &Value) -> Option<Windows> {
    let pair = |pair: &Value| Some((pair[0].as_i64()?, pair[1].as_i64()?));
    value.as_array().map(|list| list.iter().filter_map(pair).collect())
}

/// The problem with the prices.
struct Shop<'p> {
    problem: &'p Value,
    scale: i128,
    paid: i128,
    horizon: i64,
    /// Per resource or place, running sums of prices from the first minute on.
    sums: BTreeMap<String, Vec<i128>>,
    first: i64,
    open: BTreeMap<&'p str, Windows>,
    /// What fixed steps hold: job, place or resource, span.
    fixed: Vec<(&'p str, &'p str, (i64, i64))>,
}

impl<'p> Shop<'p> {
    fn read(problem: &'p Value, certificate: &Value) -> Result<Self, String> {
        let scale = certificate["scale"].as_i64().filter(|scale| *scale > 0);
        let scale = scale.ok_or("there is no certificate, or none with a scale")?;
        let horizon = number(problem, "horizon", 0);
        let release = list(&problem["jobs"]).iter().map(|job| number(job, "release", 0)).min();
        let first = number(problem, "now", 0).max(release.unwrap_or(0)).min(horizon);
        let mut shop = Self {
            problem,
            scale: i128::from(scale),
            paid: 0,
            horizon,
            sums: BTreeMap::new(),
            first,
            open: BTreeMap::new(),
            fixed: Vec::new(),
        };
        let mut prices: BTreeMap<String, Vec<i128>> = BTreeMap::new();
        let length = usize::try_from(horizon - first).map_err(|error| error.to_string())?;
        for kind in ["places", "resources"] {
            for owner in list(&problem[kind]) {
                let id = text(&owner["id"]);
                let open = windows(&owner["open"]).unwrap_or_else(|| vec![(0, horizon)]);
                shop.open.insert(id, open);
                prices.insert(id.to_owned(), vec![0; length]);
            }
        }
        for unit in list(&certificate["prices"]) {
            shop.add_prices(unit, &mut prices)?;
        }
        for (id, prices) in prices {
            let mut sums = vec![0];
            for price in prices {
                sums.push(sums[sums.len() - 1] + price);
            }
            shop.sums.insert(id, sums);
        }
        shop.add_fixed();
        Ok(shop)
    }

    fn add_prices(
        &mut self,
        unit: &Value,
        prices: &mut BTreeMap<String, Vec<i128>>,
    ) -> Result<(), String> {
        let named: Vec<&str> = match unit["resource"].as_str() {
            Some(resource) => vec![resource],
            None => list(&unit["places"]).iter().map(text).collect(),
        };
        for (at, one) in named.iter().enumerate() {
            if named[..at].iter().any(|other| !self.clash(one, other)) {
                return Err(format!("the group {named:?} has places that do not clash"));
            }
        }
        for run in text(&unit["runs"]).split(',').filter(|run| !run.is_empty()) {
            let numbers: Vec<i64> = run.split(' ').filter_map(|part| part.parse().ok()).collect();
            let [from, to, price] = numbers[..] else { return Err(format!("no run: {run}")) };
            if price < 0 || from < self.first || to > self.horizon || from > to {
                return Err(format!("a run outside what may be priced: {run}"));
            }
            self.paid += i128::from(price) * i128::from(to - from);
            for minute in from..to {
                let at = usize::try_from(minute - self.first).map_err(|error| error.to_string())?;
                for id in &named {
                    let of = prices.get_mut(*id).ok_or_else(|| format!("unknown {id}"))?;
                    of[at] += i128::from(price);
                }
            }
        }
        Ok(())
    }

    fn add_fixed(&mut self) {
        for job in list(&self.problem["jobs"]) {
            for step in list(&job["steps"]) {
                let Some(fixed) = job["fixed"].get(text(&step["id"])) else { continue };
                let (option, span) = fixed_stand(step, fixed);
                let uses = list(&fixed["uses"]).iter().map(text);
                for held in uses.chain(option["place"].as_str()) {
                    self.fixed.push((text(&job["id"]), held, span));
                }
            }
        }
    }

    fn clash(&self, one: &str, other: &str) -> bool {
        list(&self.problem["clashes"]).iter().any(|pair| {
            let pair = (text(&pair[0]), text(&pair[1]));
            pair == (one, other) || pair == (other, one)
        })
    }

    fn paid(&self, id: &str, from: i64, to: i64) -> i128 {
        let sums = &self.sums[id];
        let at =
            |minute: i64| usize::try_from(minute - self.first).unwrap_or(0).min(sums.len() - 1);
        sums[at(to.max(from))] - sums[at(from)]
    }

    /// Whether fixed steps leave a resource or place alone; a place also where it clashes, the
    /// job's own fixed steps apart.
    fn left_alone(&self, job: &str, id: &str, place: bool, from: i64, to: i64) -> bool {
        !self.fixed.iter().any(|(other, held, span)| {
            let meets = *held == id || (place && self.clash(held, id));
            meets && !(place && *other == job) && span.0 < to && from < span.1
        })
    }

    fn free(&self, job: &str, id: &str, place: bool, from: i64, to: i64) -> bool {
        self.open[id].iter().any(|(open, close)| *open <= from && to <= *close)
            && self.left_alone(job, id, place, from, to)
    }

    /// The least a job costs against the prices, scaled; or, not `priced`, its earliest finish.
    fn least(&self, job: &Value, priced: bool) -> Option<i128> {
        let alone = Alone::new(self, job, priced);
        let planned = alone.least();
        if must_be_planned(job) || !priced {
            return planned;
        }
        let had = job["previous"].as_object().map_or(0, serde_json::Map::len) as i128;
        let change = i128::from(number(&self.problem["cost"], "change", 0));
        let left_out = i128::from(number(job, "leave_out_cost", 0)) + change * had;
        Some(planned.map_or(left_out * self.scale, |planned| planned.min(left_out * self.scale)))
    }
}

fn fixed_stand<'v>(step: &'v Value, fixed: &Value) -> (&'v Value, (i64, i64)) {
    let number_of = usize::try_from(number(fixed, "option", 0)).unwrap_or(0);
    let option = &step["options"][number_of];
    let start = number(fixed, "start", 0);
    (option, (start, start + number(fixed, "minutes", number(option, "minutes", 1))))
}

/// One job by itself.
struct Alone<'a> {
    shop: &'a Shop<'a>,
    job: &'a Value,
    id: &'a str,
    priced: bool,
    steps: &'a [Value],
    fixed: Vec<Option<(i64, i64)>>,
    /// Per step, the steps before it and the minutes after each; none between two fixed steps.
    after: Vec<Vec<(usize, i64)>>,
    earliest: Vec<i64>,
    pause: i64,
}

/// Steps done, the last of them, and its place.
type Key<'a> = (u64, Option<usize>, Option<&'a str>);
/// Per end of the last step, the least paid.
type Ends = BTreeMap<i64, i128>;

impl<'a> Alone<'a> {
    fn new(shop: &'a Shop<'a>, job: &'a Value, priced: bool) -> Self {
        let steps = list(&job["steps"]);
        let fixed: Vec<_> = steps
            .iter()
            .map(|step| job["fixed"].get(text(&step["id"])).map(|fixed| fixed_stand(step, fixed).1))
            .collect();
        let at = |id: &str| steps.iter().position(|step| step["id"] == id);
        let mut after = Vec::new();
        for (number, step) in steps.iter().enumerate() {
            let mut before: Vec<(usize, i64)> = match step["after"].as_object() {
                Some(named) => named
                    .iter()
                    .filter_map(|(id, gap)| Some((at(id)?, gap.as_i64().unwrap_or(0))))
                    .collect(),
                None => number.checked_sub(1).map(|before| (before, 0)).into_iter().collect(),
            };
            before.retain(|(other, _)| fixed[number].is_none() || fixed[*other].is_none());
            after.push(before);
        }
        let from = number(shop.problem, "now", 0).max(number(job, "release", 0));
        let mut alone = Self {
            shop,
            job,
            id: text(&job["id"]),
            priced,
            steps,
            fixed,
            after,
            earliest: steps.iter().map(|step| from.max(number(step, "release", 0))).collect(),
            pause: number(job, "move_minutes", 0),
        };
        for _ in steps {
            alone.push_earliest();
        }
        alone
    }

    fn push_earliest(&mut self) {
        for step in 0..self.steps.len() {
            for (other, gap) in self.after[step].clone() {
                let shortest = list(&self.steps[other]["options"]).iter();
                let shortest = shortest.map(|option| number(option, "minutes", 1)).min();
                let end = self.fixed[other]
                    .map_or(self.earliest[other] + shortest.unwrap_or(1), |(_, end)| end);
                self.earliest[step] = self.earliest[step].max(end + gap);
            }
        }
    }

    fn least(&self) -> Option<i128> {
        let all = self.steps.len();
        let mut known: BTreeMap<(usize, Key<'a>), Ends> = BTreeMap::new();
        known.insert((0, (0, None, None)), Ends::from([(i64::MIN / 4, 0)]));
        let mut least: Option<i128> = None;
        while let Some(((count, key), ends)) = known.pop_first() {
            if count == all {
                for (end, paid) in ends {
                    let total = paid + self.finish(end);
                    least = Some(least.map_or(total, |least| least.min(total)));
                }
                continue;
            }
            for step in (0..self.steps.len()).filter(|step| key.0 >> step & 1 == 0) {
                if self.after[step].iter().all(|(other, _)| key.0 >> other & 1 == 1) {
                    self.extend(&mut known, count, key, &ends, step);
                }
            }
        }
        least
    }

    fn finish(&self, end: i64) -> i128 {
        let fixed = self.fixed.iter().flatten().map(|(_, end)| *end).max();
        let end = end.max(fixed.unwrap_or(end));
        if !self.priced {
            return i128::from(end);
        }
        let cost = &self.shop.problem["cost"];
        let late = self.job["due"].as_i64().map_or(0, |due| (end - due).max(0));
        let weight = i128::from(number(self.job, "weight", 1));
        (i128::from(number(cost, "lateness", 0)) * weight * i128::from(late)
            + i128::from(number(cost, "finish", 0)) * i128::from(end))
            * self.shop.scale
    }

    fn price(&self, of: &str) -> i128 {
        let price = i128::from(number(&self.shop.problem["cost"], of, 0));
        if self.priced { price * self.shop.scale } else { 0 }
    }

    fn paid(&self, id: &str, from: i64, to: i64) -> i128 {
        if self.priced { self.shop.paid(id, from, to) } else { 0 }
    }

    fn extend(
        &self,
        known: &mut BTreeMap<(usize, Key<'a>), Ends>,
        count: usize,
        key: Key<'a>,
        ends: &Ends,
        step: usize,
    ) {
        let mut add = |place: Option<&'a str>, end: i64, paid: i128| {
            let next = (count + 1, (key.0 | 1 << step, Some(step), place));
            let least = known.entry(next).or_default().entry(end).or_insert(paid);
            *least = paid.min(*least);
        };
        if let Some((start, end)) = self.fixed[step] {
            let sooner = |other: usize| {
                key.0 >> other & 1 == 0
                    && self.fixed[other].is_some_and(|span| (span, other) < ((start, end), step))
            };
            if (0..self.steps.len()).any(sooner) {
                return;
            }
            let fixed = &self.job["fixed"][text(&self.steps[step]["id"])];
            let place = fixed_stand(&self.steps[step], fixed).0["place"].as_str();
            if key.1.is_some_and(|last| self.fixed[last].is_some()) {
                let moves = if key.2 == place { 0 } else { self.price("move") };
                for paid in ends.values() {
                    add(place, end, paid + moves);
                }
            } else if let Some(paid) = self.reach(key, ends, step, place, (start, start + 1))[0] {
                add(place, end, paid);
            }
            return;
        }
        let done_fixed = (0..self.steps.len()).filter(|other| key.0 >> other & 1 == 1);
        let floor = done_fixed.filter_map(|other| Some(self.fixed[other]?.1)).max();
        let from = self.earliest[step].max(floor.unwrap_or(i64::MIN));
        for option in list(&self.steps[step]["options"]) {
            let (minutes, place) = (number(option, "minutes", 1), option["place"].as_str());
            let until = (self.shop.horizon - minutes + 1).max(from);
            let reach = self.reach(key, ends, step, place, (from, until));
            for (start, reached) in (from..until).zip(reach) {
                if let Some(reached) = reached
                    && let Some(paid) = self.stand(step, option, start)
                {
                    add(place, start + minutes, reached + paid);
                }
            }
        }
    }

    /// Per start of a window, the least paid before a step can start then at a place.
    fn reach(
        &self,
        key: Key<'a>,
        ends: &Ends,
        step: usize,
        place: Option<&str>,
        (from, until): (i64, i64),
    ) -> Vec<Option<i128>> {
        let Some(last) = key.1 else {
            return vec![Some(0); usize::try_from(until - from).unwrap_or(0)];
        };
        let gap = self.after[step].iter().filter(|(other, _)| *other == last).map(|(_, gap)| *gap);
        let gap = gap.max().unwrap_or(0);
        let moves = key.2 != place;
        let delay = if moves { gap.max(self.pause) } else { gap };
        let mut waiting = ends.iter().peekable();
        let mut least: Option<i128> = None;
        let mut reach = Vec::new();
        let first = ends.keys().next().map_or(from, |end| (end + delay).min(from));
        for start in first..until {
            if let Some(place) = place.filter(|_| !moves && start > first) {
                let alone = self.shop.left_alone(self.id, place, true, start - 1, start);
                least =
                    least.filter(|_| alone).map(|paid| paid + self.paid(place, start - 1, start));
            }
            while let Some((end, paid)) = waiting.next_if(|(end, _)| **end + delay <= start) {
                let arrived = match place.filter(|_| !moves) {
                    Some(place)
                        if !self.shop.left_alone(self.id, place, true, *end, end + delay) =>
                    {
                        continue;
                    }
                    Some(place) => paid + self.paid(place, *end, end + delay),
                    None => *paid,
                };
                least = Some(least.map_or(arrived, |least| least.min(arrived)));
            }
            if start >= from {
                let moved = if moves { self.price("move") } else { 0 };
                reach.push(least.map(|paid| paid + moved));
            }
        }
        reach
    }

    /// The least that an option pays for itself at a start; none where it cannot stand.
    fn stand(&self, step: usize, option: &Value, start: i64) -> Option<i128> {
        let end = start + number(option, "minutes", 1);
        if let Some(starts) = windows(&option["starts"])
            && !starts.iter().any(|(from, to)| *from <= start && start < *to)
        {
            return None;
        }
        let mut paid = 0;
        if let Some(place) = option["place"].as_str() {
            if !self.shop.free(self.id, place, true, start, end) {
                return None;
            }
            paid += self.paid(place, start, end);
        }
        let was = &self.job["previous"][text(&self.steps[step]["id"])];
        let same = was["start"].as_i64() == Some(start) && {
            let options = list(&self.steps[step]["options"]);
            let number = was["option"].as_u64().and_then(|number| usize::try_from(number).ok());
            number.and_then(|number| options.get(number)).is_some_and(|of| std::ptr::eq(of, option))
        };
        let mut teams: Vec<(Vec<&str>, i128)> = vec![(Vec::new(), paid)];
        for group in list(&option["needs"]) {
            let mut longer = Vec::new();
            for (team, paid) in &teams {
                for used in list(group).iter().map(text).filter(|used| !team.contains(used)) {
                    if self.shop.free(self.id, used, false, start, end) {
                        let team = team.iter().copied().chain([used]).collect();
                        longer.push((team, paid + self.paid(used, start, end)));
                    }
                }
            }
            teams = longer;
        }
        let changed = |team: &[&str]| {
            let stays = same && list(&was["uses"]).iter().map(text).eq(team.iter().copied());
            if was.is_null() || stays { 0 } else { self.price("change") }
        };
        teams.iter().map(|(team, paid)| paid + changed(team)).min()
    }
}
