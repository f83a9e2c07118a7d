//! In which order one job's steps are done, which follows which, where the vehicle stays and where it moves.

use super::{ALWAYS, StepCode, Writer, no, yes};
use crate::referee::certificate::rules::Bound;

/// Per step and step, whether the one comes before the other.
type Before = Vec<Vec<usize>>;

impl Writer<'_, '_> {
    /// Per step, the steps that always come before it.
    fn known_before(&self) -> Vec<Vec<bool>> {
        let job = self.job;
        let count = job.steps.len();
        let mut known = vec![vec![false; count]; count];
        for (step, spec) in job.steps.iter().enumerate() {
            spec.after.iter().for_each(|(earlier, _)| known[*earlier][step] = true);
        }
        for pair in job.fixed.windows(2) {
            known[pair[0]][pair[1]] = true;
        }
        for middle in 0..count {
            for one in 0..count {
                for other in 0..count {
                    known[one][other] |= known[one][middle] && known[middle][other];
                }
            }
        }
        known
    }

    pub(super) fn order(&mut self, steps: &[StepCode]) -> Before {
        let (job, planned, count) = (self.job, self.planned, steps.len());
        let known = self.known_before();
        let mut before = vec![vec![planned; count]; count];
        for (one, other) in pairs(count) {
            let fact = self.fact("before", &[one, other]);
            before[one][other] = fact;
            self.one_of(&[no(fact), yes(planned)]);
            if known[one][other] {
                self.one_of(&[yes(fact), no(planned)]);
            }
            if known[other][one] {
                self.one_of(&[no(fact)]);
            }
            if !(steps[one].fixed && steps[other].fixed) {
                self.gap(yes(fact), steps[one].end, 0, steps[other].start);
            }
        }
        for (one, other) in pairs(count).filter(|(one, other)| one < other) {
            let (there, back) = (before[one][other], before[other][one]);
            self.one_of(&[no(planned), yes(there), yes(back)]);
            self.one_of(&[no(there), no(back)]);
        }
        for (one, other) in pairs(count) {
            for third in (0..count).filter(|third| *third != one && *third != other) {
                let (first, then) = (before[one][other], before[other][third]);
                self.one_of(&[no(first), no(then), yes(before[one][third])]);
            }
        }
        for (later, spec) in job.steps.iter().enumerate() {
            for (earlier, gap) in &spec.after {
                self.gap(yes(planned), steps[*earlier].end, *gap, steps[later].start);
            }
        }
        before
    }

    /// Which step is followed by which.
    fn next(&mut self, before: &Before) -> Before {
        let (planned, count) = (self.planned, before.len());
        let mut next = vec![vec![planned; count]; count];
        for one in 0..count {
            let last = self.fact("last", &[one]);
            let others = || (0..count).filter(move |other| *other != one);
            let mut any = vec![no(planned), yes(last)];
            for other in others() {
                self.one_of(&[no(last), yes(before[other][one])]);
            }
            for other in others() {
                let fact = self.fact("next", &[one, other]);
                next[one][other] = fact;
                self.one_of(&[no(fact), yes(before[one][other])]);
                self.one_of(&[no(fact), no(last)]);
                for sooner in others().filter(|sooner| *sooner < other) {
                    self.one_of(&[no(fact), no(next[one][sooner])]);
                }
                for third in others().filter(|third| *third != other) {
                    let apart = [yes(before[third][one]), yes(before[other][third])];
                    self.one_of(&[no(fact), apart[0], apart[1]]);
                }
                any.push(yes(fact));
            }
            self.one_of(&any);
        }
        next
    }

    pub(super) fn follow(&mut self, steps: &mut [StepCode], before: &Before) -> Result<(), String> {
        self.refuse_waits_between_fixed()?;
        let next = self.next(before);
        for step in steps.iter() {
            self.gap(ALWAYS, step.end, 0, step.hold);
        }
        for (from, to) in pairs(steps.len()) {
            self.stay((from, to), (&steps[from], &steps[to]), next[from][to]);
        }
        for step in steps.iter() {
            self.waits_after_fixed(step);
        }
        for from in 0..steps.len() {
            self.moves(steps, from, (&before[from], &next[from]));
        }
        Ok(())
    }

    /// Such a wait is judged against some steps and not against others, which these rules do not tell apart.
    fn refuse_waits_between_fixed(&self) -> Result<(), String> {
        let fixed: Vec<_> =
            self.job.fixed.iter().filter_map(|step| self.job.steps[*step].fixed.as_ref()).collect();
        let waits = |pair: &[&super::super::day::Fixed]| {
            pair[0].place.is_some()
                && pair[0].place == pair[1].place
                && pair[0].span.1 < pair[1].span.0
        };
        if fixed.windows(2).any(waits) {
            return Err(format!("job {} waits at a place between two fixed steps", self.at));
        }
        Ok(())
    }

    /// Where a step follows another at its place, the place is held until then.
    fn stay(&mut self, id: (usize, usize), (from, to): (&StepCode, &StepCode), next: usize) {
        for (place, (here, _)) in &from.at {
            let (Some(place), Some((there, _))) = (place, to.at.get(place)) else { continue };
            let stays = self.fact("stays", &[id.0, id.1, *place]);
            self.one_of(&[no(next), no(*here), no(*there), yes(stays)]);
            self.gap(yes(stays), to.start, 0, from.hold);
            if only(from) == Some(*place) && only(to) == Some(*place) {
                self.one_of(&[no(next), yes(stays)]);
            }
        }
    }

    /// A wait after a fixed step stays clear of fixed steps of other jobs.
    fn waits_after_fixed(&mut self, step: &StepCode) {
        let day = self.model.day;
        let Some(place) = only(step).filter(|_| step.fixed) else { return };
        let end = self.model.rules.low(step.end);
        for (other, held, span) in &day.held {
            if *other != self.at && day.meet(*held, place) && end < span.1 {
                self.one_of(&[Bound::AtMost(step.hold, end.max(span.0))]);
            }
        }
    }

    /// What moves from one step on take, and whether there is one.
    fn moves(&mut self, steps: &[StepCode], from: usize, (before, next): (&[usize], &[usize])) {
        let moved = self.fact("moves", &[from]);
        let plain = self.fixed_are_plain();
        for to in (0..steps.len()).filter(|to| *to != from) {
            let differs = self.differs(steps, from, to);
            let pause = self.fact("pause", &[from, to]);
            // What holds from a step to the next holds to later ones too.
            let then = if plain { before[to] } else { next[to] };
            self.one_of(&[no(then), no(differs), yes(pause)]);
            if !(steps[from].fixed && steps[to].fixed) {
                self.gap(yes(pause), steps[from].end, self.job.pause, steps[to].start);
            }
            self.one_of(&[no(next[to]), no(differs), yes(moved)]);
        }
        self.paid.push((i128::from(self.model.day.cost.moves), moved));
    }

    /// Whether fixed steps stand one after another, with the minutes of a move between those at different places.
    fn fixed_are_plain(&self) -> bool {
        let fixed: Vec<_> =
            self.job.fixed.iter().filter_map(|step| self.job.steps[*step].fixed.as_ref()).collect();
        fixed.windows(2).all(|pair| {
            let pause = if pair[0].place == pair[1].place { 0 } else { self.job.pause };
            pair[0].span.1 + pause <= pair[1].span.0
        })
    }

    /// Whether two steps are at different places; it may be said of steps at one place too, but never needs to be.
    fn differs(&mut self, steps: &[StepCode], one: usize, other: usize) -> usize {
        let fact = self.fact("differs", &[one, other]);
        let open =
            |step: usize, place: &Option<usize>| steps[step].at.get(place).is_some_and(|at| at.1);
        if !steps[one].at.keys().any(|place| open(one, place) && open(other, place)) {
            self.one_of(&[yes(fact)]);
        }
        for (place, (here, _)) in &steps[one].at {
            match steps[other].at.get(place) {
                Some((there, _)) => self.one_of(&[no(*here), yes(*there), yes(fact)]),
                None => self.one_of(&[no(*here), yes(fact)]),
            }
        }
        fact
    }
}

/// The one place where a step can be; none where there are several, or it can be at none.
fn only(step: &StepCode) -> Option<usize> {
    let mut open = step.at.iter().filter(|(_, (_, open))| *open).map(|(place, _)| *place);
    let first = open.next()?;
    open.next().is_none().then_some(first).flatten()
}

fn pairs(count: usize) -> impl Iterator<Item = (usize, usize)> {
    let all = (0..count).flat_map(move |one| (0..count).map(move |other| (one, other)));
    all.filter(|(one, other)| one != other)
}
