//! What was learned, in order, and from what: so that a proof can be told again with only the lessons that it rests on.

use super::rules::Rules;
use super::{Engine, Fact, Reason};
use crate::planner::closer::name::Name;

/// Facts noted at most; beyond, no proof can be told.
const FACTS_MAX: usize = 3_000_000;

/// Lessons are numbered in the order in which they were learned.
#[derive(Debug, Default)]
pub(super) struct Log {
    facts: Vec<Fact>,
    /// Per lesson, where its facts end in `facts`.
    ends: Vec<usize>,
    /// Lessons from which others followed, and per lesson where its own end.
    used: Vec<usize>,
    used_ends: Vec<usize>,
    /// Lessons on which something rests that holds without any choice.
    grounds: Vec<usize>,
    /// Whether there was too much to note.
    full: bool,
}

impl Log {
    /// Notes a lesson; gives its number.
    pub(super) fn note(&mut self, facts: &[Fact], used: &mut Vec<usize>) -> Option<usize> {
        self.full |= self.facts.len() + facts.len() > FACTS_MAX;
        if self.full {
            return None;
        }
        used.sort_unstable();
        used.dedup();
        self.facts.extend(facts);
        self.ends.push(self.facts.len());
        self.used.append(used);
        self.used_ends.push(self.used.len());
        Some(self.ends.len() - 1)
    }

    /// Something holds for good, by a rule or a lesson.
    pub(super) fn rests_on(&mut self, reason: Reason, rules: &Rules) {
        self.grounds.extend(rules.lesson_of(reason));
    }

    /// A lesson holds for good.
    pub(super) fn rests_on_lesson(&mut self, lesson: Option<usize>) {
        self.grounds.extend(lesson);
    }

    fn lesson(&self, lesson: usize) -> &[Fact] {
        let from = lesson.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.facts[from..self.ends[lesson]]
    }

    fn used(&self, lesson: usize) -> &[usize] {
        let from = lesson.checked_sub(1).map_or(0, |before| self.used_ends[before]);
        &self.used[from..self.used_ends[lesson]]
    }

    /// Per lesson, whether what holds for good rests on it, given on what some more rests.
    fn needed(&self, more: impl Iterator<Item = usize>) -> Vec<bool> {
        let mut needed = vec![false; self.ends.len()];
        more.for_each(|lesson| needed[lesson] = true);
        self.grounds.iter().for_each(|lesson| needed[*lesson] = true);
        for lesson in (0..needed.len()).rev() {
            if needed[lesson] {
                self.used(lesson).iter().for_each(|from| needed[*from] = true);
            }
        }
        needed
    }
}

impl Engine {
    /// The lessons on which it rests that no values are left, in order; none where that is not proved or there were too
    /// many.
    pub(in crate::planner::closer) fn lessons(&self) -> Option<Vec<&[Fact]>> {
        if !self.shut || self.broken || self.log.full {
            return None;
        }
        let chosen = self.choices.first().copied().unwrap_or(self.trail.len());
        let raises = self.trail[..chosen].iter();
        let needed = self.log.needed(raises.filter_map(|raise| self.rules.lesson_of(raise.reason)));
        let lessons = (0..needed.len()).filter(|lesson| needed[*lesson]);
        Some(lessons.map(|lesson| self.log.lesson(lesson)).collect())
    }

    /// What a fact's number means.
    pub(in crate::planner::closer) fn name(&self, fact: Fact) -> Name {
        self.names[fact.side / 2]
    }
}
