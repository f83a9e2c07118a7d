//! What one step takes: one of its options, one resource for each need, a start that both allow.

use super::{ALWAYS, StepCode, Writer, no, yes};
use crate::referee::certificate::day::Choice;
use crate::referee::certificate::prices::resource_free;
use crate::referee::certificate::rules::Bound;
use std::collections::{BTreeMap, BTreeSet};

impl Writer<'_, '_> {
    pub(super) fn step(&mut self, at: usize) -> StepCode {
        let job = self.job;
        if let Some(fixed) = &job.steps[at].fixed {
            let start = self.number("start", &[at], fixed.span.0, fixed.span.0);
            let end = self.number("end", &[at], fixed.span.1, fixed.span.1);
            let hold = self.number("hold", &[at], fixed.span.1, fixed.span.1.max(self.latest()));
            let there = BTreeMap::from([(fixed.place, (self.planned, true))]);
            let (options, uses) = (Vec::new(), BTreeMap::new());
            return StepCode { fixed: true, start, end, hold, options, uses, at: there };
        }
        let choices = &job.steps[at].options;
        let kept = self.kept;
        let open = |option: usize| !kept[at][option].is_empty();
        let starts = || kept[at].iter().flat_map(BTreeMap::keys);
        let (first, last) = (starts().min().unwrap_or(&0), starts().max().unwrap_or(&0));
        let any = kept[at].iter().any(|starts| !starts.is_empty());
        // Where no option is open the job is left out, and its numbers are whatever they are.
        let minutes = (0..choices.len()).filter(|option| open(*option) || !any);
        let minutes: Vec<i64> = minutes.map(|option| choices[option].minutes).collect();
        let shortest = minutes.iter().min().copied().unwrap_or(1);
        let longest = minutes.iter().max().copied().unwrap_or(1);
        let start = self.number("start", &[at], *first, *last);
        let end = self.number("end", &[at], first + shortest, last + longest);
        let hold =
            self.number("hold", &[at], first + shortest, (last + longest).max(self.latest()));
        self.gap(ALWAYS, start, shortest, end);
        self.gap(ALWAYS, end, -longest, start);
        let options = self.options(at, start, end);
        let uses = self.uses(at, start, &options);
        let there = self.places(at, &options);
        StepCode { fixed: false, start, end, hold, options, uses, at: there }
    }

    /// The latest start of any step of the job.
    fn latest(&self) -> i64 {
        let kept = self.kept.iter().flatten().filter_map(|starts| starts.keys().next_back());
        let fixed = self.job.steps.iter().filter_map(|step| step.fixed.as_ref());
        kept.copied().chain(fixed.map(|fixed| fixed.span.0)).max().unwrap_or(0)
    }

    /// Exactly one option where the job is planned, and none otherwise.
    fn options(&mut self, at: usize, start: usize, end: usize) -> Vec<(usize, bool)> {
        let planned = self.planned;
        let mut options: Vec<(usize, bool)> = Vec::new();
        let (job, kept) = (self.job, self.kept);
        for (option, choice) in job.steps[at].options.iter().enumerate() {
            let taken = self.fact("option", &[at, option]);
            let starts = &kept[at][option];
            if starts.is_empty() {
                self.one_of(&[no(taken)]);
            }
            self.one_of(&[no(taken), yes(planned)]);
            for (other, _) in &options {
                self.one_of(&[no(taken), no(*other)]);
            }
            let starts: BTreeSet<i64> = starts.keys().copied().collect();
            self.within(&[no(taken)], start, &starts);
            self.gap(yes(taken), start, choice.minutes, end);
            self.gap(yes(taken), end, -choice.minutes, start);
            options.push((taken, !starts.is_empty()));
        }
        let any: Vec<Bound> = options.iter().map(|(taken, _)| yes(*taken)).collect();
        self.one_of(&[any, vec![no(planned)]].concat());
        options
    }

    /// One of some bounds holds, or a number has one of some values.
    fn within(&mut self, unless: &[Bound], number: usize, values: &BTreeSet<i64>) {
        let (Some(first), Some(last)) = (values.first(), values.last()) else {
            return self.one_of(unless);
        };
        self.one_of(&[unless, &[Bound::AtLeast(number, *first)]].concat());
        self.one_of(&[unless, &[Bound::AtMost(number, *last)]].concat());
        for (before, after) in values.iter().zip(values.iter().skip(1)) {
            if before + 1 < *after {
                let apart = [Bound::AtMost(number, *before), Bound::AtLeast(number, *after)];
                self.one_of(&[unless, &apart].concat());
            }
        }
    }

    /// Which resource serves which need.
    fn uses(
        &mut self,
        at: usize,
        start: usize,
        options: &[(usize, bool)],
    ) -> BTreeMap<(usize, usize), usize> {
        let job = self.job;
        let choices = &job.steps[at].options;
        let most = choices.iter().map(|choice| choice.needs.len()).max().unwrap_or(0);
        let mut uses: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        for need in 0..most {
            let group = |choice: &Choice| choice.needs.get(need).cloned().unwrap_or_default();
            let named: BTreeSet<usize> = choices.iter().flat_map(group).collect();
            for resource in &named {
                let fact = self.fact("uses", &[at, need, *resource]);
                for ((other_need, other), with) in &uses {
                    // One resource for a need, and one need for a resource.
                    if *other_need == need || other == resource {
                        self.one_of(&[no(fact), no(*with)]);
                    }
                }
                uses.insert((need, *resource), fact);
            }
            let mut all = BTreeSet::new();
            for (option, (taken, open)) in options.iter().enumerate() {
                let group = group(&choices[option]);
                let facts = group.iter().map(|resource| yes(uses[&(need, *resource)]));
                if !group.is_empty() {
                    self.one_of(&[facts.collect(), vec![no(*taken)]].concat());
                }
                for resource in named.iter().filter(|resource| !group.contains(resource)) {
                    self.one_of(&[no(*taken), no(uses[&(need, *resource)])]);
                }
                for resource in &group {
                    let free = self.free(at, option, *resource);
                    let with = [no(*taken), no(uses[&(need, *resource)])];
                    self.within(&with, start, &free);
                }
                if *open {
                    all.extend(group);
                }
            }
            let mut open = (0..choices.len()).filter(|option| options[*option].1);
            if open.all(|option| !group(&choices[option]).is_empty()) {
                let facts = all.iter().map(|resource| yes(uses[&(need, *resource)]));
                self.one_of(&[facts.collect(), vec![no(self.planned)]].concat());
            }
        }
        uses
    }

    /// The starts of an option at which a resource is free.
    fn free(&self, at: usize, option: usize, resource: usize) -> BTreeSet<i64> {
        let minutes = self.job.steps[at].options[option].minutes;
        let free =
            |start: &&i64| resource_free(self.model.day, resource, **start, **start + minutes);
        self.kept[at][option].keys().filter(free).copied().collect()
    }

    /// Where the step is, from where each of its options is.
    fn places(
        &mut self,
        at: usize,
        options: &[(usize, bool)],
    ) -> BTreeMap<Option<usize>, (usize, bool)> {
        let job = self.job;
        let choices = &job.steps[at].options;
        let places: BTreeSet<Option<usize>> = choices.iter().map(|choice| choice.place).collect();
        let mut there = BTreeMap::new();
        for place in places {
            let here = match place {
                Some(place) => self.fact("at", &[at, place]),
                None => self.fact("nowhere", &[at]),
            };
            let of = (0..choices.len()).filter(|option| choices[*option].place == place);
            let of: Vec<usize> = of.collect();
            for option in &of {
                self.one_of(&[no(options[*option].0), yes(here)]);
            }
            let any = of.iter().map(|option| yes(options[*option].0));
            self.one_of(&[any.collect(), vec![no(here)]].concat());
            self.one_of(&[no(here), yes(self.planned)]);
            there.insert(place, (here, of.iter().any(|option| options[*option].1)));
        }
        let any = there.values().map(|(here, _)| yes(*here));
        self.one_of(&[any.collect(), vec![no(self.planned)]].concat());
        let single: Vec<usize> = there.values().filter(|at| at.1).map(|at| at.0).collect();
        if let [only] = single[..] {
            self.same(only, self.planned);
        }
        there
    }
}
