//! In which order one job's steps are done, where its vehicle stays between them and where it moves.

use super::super::engine::{Fact, NEVER, SURE};
use super::{Name, StepCode, Writer};

impl Writer<'_> {
    /// In which order the steps are done, with the waits and moves between them.
    pub(super) fn order(&mut self, steps: &[StepCode]) {
        let count = steps.len();
        let facts = &self.shop.jobs[self.job];
        let mut known = facts.before.clone();
        for pair in facts.fixed.windows(2) {
            known[pair[1]] |= 1 << pair[0];
        }
        for _ in 0..count {
            for step in 0..count {
                let earlier = (0..count).filter(|other| known[step] >> other & 1 == 1);
                known[step] |= earlier.fold(0, |all, other| all | known[other]);
            }
        }
        self.before = vec![vec![NEVER; count]; count];
        for one in 0..count {
            for other in one + 1..count {
                let pair = if known[other] >> one & 1 == 1 {
                    [self.planned, NEVER]
                } else if known[one] >> other & 1 == 1 {
                    [NEVER, self.planned]
                } else {
                    let fact = self.engine.fact(self.pair_name("before", one, other));
                    let back = if self.planned == SURE {
                        !fact
                    } else {
                        self.engine.fact(self.pair_name("before", other, one))
                    };
                    let planned = self.planned;
                    self.engine.any_of(&[!planned, fact, back]);
                    self.engine.any_of(&[!fact, !back]);
                    [fact, back]
                };
                self.before[one][other] = pair[0];
                self.before[other][one] = pair[1];
                for (from, to, fact) in [(one, other, pair[0]), (other, one, pair[1])] {
                    if fact != NEVER && !(steps[from].fixed && steps[to].fixed) {
                        self.engine.gap(fact, steps[from].end, 0, steps[to].start);
                    }
                }
            }
        }
        for (earlier, later, minutes) in &facts.waits {
            let (earlier, later) = (&steps[*earlier], &steps[*later]);
            self.engine.gap(self.planned, earlier.end, *minutes, later.start);
        }
        for (one, other, third) in triples(count) {
            let (first, then) = (self.before[one][other], self.before[other][third]);
            let all = self.before[one][third];
            if first != NEVER && then != NEVER && all != self.planned {
                self.engine.any_of(&[!first, !then, all]);
            }
        }
    }

    /// Per step and step, whether the one is followed by the other.
    fn next(&mut self, count: usize) -> Vec<Vec<Fact>> {
        let mut next = vec![vec![NEVER; count]; count];
        let planned = self.planned;
        for one in 0..count {
            let others = || (0..count).filter(|other| *other != one);
            let before = self.before.clone();
            let between = |other: usize| {
                (0..count)
                    .any(|third| before[one][third] == planned && before[third][other] == planned)
            };
            let open: Vec<usize> =
                others().filter(|other| before[one][*other] != NEVER && !between(*other)).collect();
            let ends = others().all(|other| before[one][other] != planned);
            let last = if ends { self.engine.fact(self.step_name("last", one)) } else { NEVER };
            if ends {
                others().for_each(|other| self.engine.any_of(&[!last, before[other][one]]));
            }
            if let ([only], false) = (open.as_slice(), ends) {
                next[one][*only] = planned;
                continue;
            }
            let mut any = vec![!planned, last];
            for other in &open {
                let fact = self.engine.fact(self.pair_name("next", one, *other));
                any.iter().skip(2).for_each(|sooner| self.engine.any_of(&[!fact, !*sooner]));
                self.engine.any_of(&[!fact, before[one][*other]]);
                for third in others().filter(|third| third != other) {
                    self.engine.any_of(&[!fact, before[third][one], before[*other][third]]);
                }
                any.push(fact);
                next[one][*other] = fact;
            }
            self.engine.any_of(&any);
        }
        next
    }

    /// Which step follows which, where the vehicle stays and where it moves.
    pub(super) fn stays(&mut self, steps: &mut [StepCode]) {
        let count = steps.len();
        let next: Vec<Vec<Fact>> = self.next(count);
        for from in 0..count {
            let shares = |to: usize| {
                let place = |at: &&(Option<usize>, Fact)| {
                    at.0.is_some() && steps[to].at.iter().any(|other| other.0 == at.0)
                };
                steps[from].at.iter().any(|at| place(&at))
            };
            let shared: Vec<usize> =
                (0..count).filter(|to| next[from][*to] != NEVER && shares(*to)).collect();
            if !shared.is_empty() && !shared.iter().all(|to| steps[from].fixed && steps[*to].fixed)
            {
                let latest = shared.iter().map(|to| self.engine.high(steps[*to].start)).max();
                let (low, high) =
                    (self.engine.low(steps[from].end), self.engine.high(steps[from].end));
                let name = self.step_name("hold", from);
                let hold = self.engine.number(name, low, high.max(latest.unwrap_or(high)));
                self.engine.gap(SURE, steps[from].end, 0, hold);
                steps[from].hold = hold;
                for to in shared {
                    self.stay(&steps[from], &steps[to], next[from][to]);
                }
            }
            self.no_waits(&steps[from]);
            self.moves(steps, from, &next[from]);
        }
    }

    /// Where a step follows another at its place, the place is held until then.
    fn stay(&mut self, from: &StepCode, to: &StepCode, next: Fact) {
        for (place, here) in &from.at {
            let Some(at) = place else { continue };
            let Some((_, there)) = to.at.iter().find(|(other, _)| other == place) else { continue };
            let stays = if [*here, *there].iter().all(|fact| *fact == self.planned) {
                next
            } else {
                let name = Name::of("stays", [self.job, from.id[1], to.id[1], *at]);
                let fact = self.engine.fact(name);
                self.engine.any_of(&[!next, !*here, !*there, fact]);
                fact
            };
            self.engine.gap(stays, to.start, 0, from.hold);
        }
    }

    /// Keeps waits out of the minutes that fixed steps of other jobs need.
    fn no_waits(&mut self, step: &StepCode) {
        if step.hold == step.end {
            return;
        }
        for (place, span) in &self.domain.no_wait {
            let Some((_, here)) = step.at.iter().find(|at| at.0 == Some(*place)) else { continue };
            if step.fixed {
                let end = self.engine.low(step.end);
                if end < span.end {
                    self.engine.any_of(&[step.hold.at_most(end.max(span.start))]);
                }
            } else {
                let apart = [step.hold.at_most(span.start), step.start.at_least(span.end)];
                self.engine.any_of(&[!*here, apart[0], apart[1]]);
            }
        }
    }

    /// What moves from one step on take and cost.
    fn moves(&mut self, steps: &[StepCode], from: usize, next: &[Fact]) {
        let minutes = self.spec().move_minutes;
        let price = self.market.problem.cost.place_change;
        if minutes == 0 && price == 0 {
            return;
        }
        let moved = self.engine.switch(self.step_name("moves", from));
        let plain = self.fixed_leave_time(steps);
        for to in (0..steps.len()).filter(|to| *to != from) {
            let before = self.before[from][to];
            if before == NEVER {
                continue;
            }
            let differs = self.differs(&steps[from], &steps[to]);
            if differs == NEVER {
                continue;
            }
            if minutes > 0 && !(steps[from].fixed && steps[to].fixed) {
                // What holds from a step to the next holds to later ones too, where every move takes its minutes.
                let then = if plain { before } else { next[to] };
                let fact = if differs == SURE {
                    then
                } else {
                    let fact = self.engine.fact(self.pair_name("pause", from, to));
                    self.engine.any_of(&[!then, !differs, fact]);
                    fact
                };
                self.engine.gap(fact, steps[from].end, minutes, steps[to].start);
            }
            if next[to] != NEVER {
                self.engine.any_of(&[!next[to], !differs, moved.at_least(1)]);
            }
        }
        self.paid.push((price, moved));
    }

    /// Whether fixed steps stand one after another, with the minutes of a move between those at different places: nothing
    /// else sees to that.
    fn fixed_leave_time(&self, steps: &[StepCode]) -> bool {
        let place = |step: usize| steps[step].at.first().and_then(|at| at.0);
        self.shop.jobs[self.job].fixed.windows(2).all(|pair| {
            let stays = place(pair[0]) == place(pair[1]);
            let pause = if stays { 0 } else { self.spec().move_minutes };
            self.engine.low(steps[pair[0]].end) + pause <= self.engine.low(steps[pair[1]].start)
        })
    }

    /// Whether two steps are at different places.
    fn differs(&mut self, one: &StepCode, other: &StepCode) -> Fact {
        let there = |place: &Option<usize>| {
            other.at.iter().find(|at| at.0 == *place).map_or(NEVER, |at| at.1)
        };
        if one.at.iter().all(|(place, _)| there(place) == NEVER) {
            return SURE;
        }
        if one.at.len() == 1 && other.at.len() == 1 {
            return NEVER;
        }
        let fact = self.engine.fact(self.pair_name("differs", one.id[1], other.id[1]));
        for (place, here) in &one.at {
            self.engine.any_of(&[!*here, there(place), fact]);
        }
        fact
    }
}

fn triples(count: usize) -> impl Iterator<Item = (usize, usize, usize)> {
    let all = (0..count).flat_map(move |one| {
        (0..count).flat_map(move |other| (0..count).map(move |third| (one, other, third)))
    });
    all.filter(|(one, other, third)| one != other && other != third && one != third)
}
