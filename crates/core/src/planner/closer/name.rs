//! What a number of the rules means, so that a proof can be read by whoever knows the problem alone.
//!
//! A name is a word and the positions of what it is about in the problem's file, counted from 0: jobs `j` in the problem,
//! steps `s` and `t` in the job, options `o` in the step, needs `n` in the option, places `p` and resources `r` in their lists.
//!
//! | name | meaning |
//! |---|---|
//! | `planned j` | the job is not left out |
//! | `start j s`, `end j s` | when a step starts and ends |
//! | `hold j s` | until when its place is held because of it: its end, or the start of the next step there |
//! | `option j s o`, `uses j s n r` | the option that is taken, the resource that serves a need |
//! | `at j s p`, `nowhere j s` | where the step is |
//! | `before j s t`, `next j s t`, `last j s` | a step comes before another, is followed by it, ends the job |
//! | `stays j s t p` | the vehicle stays at a place from a step to the next |
//! | `differs j s t`, `pause j s t` | two steps are at different places, a move's minutes go by between them |
//! | `moves j s`, `as-before j s`, `changed j s` | the vehicle moves after the step; the step stands as before, or otherwise |
//! | `finish j`, `finish-cost j`, `cost j` | when the job finishes, what that costs, what it costs in all |
//! | `last-finish` | the last finish of all jobs |
//! | `ends-before j s k t` | a step ends before a step of another job starts |
//! | `gone-before j s k t` | its place is left before that |
//!
//! For a job that is left out, and wherever a fact is not asked for, a number may be anything that the rules allow.

use std::fmt;

/// The most positions in one name.
const POSITIONS_MAX: usize = 4;

/// A word and positions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Name {
    word: &'static str,
    positions: [usize; POSITIONS_MAX],
    count: usize,
}

impl Name {
    /// What needs no name, because no proof speaks of it.
    pub(super) const NONE: Self = Self { word: "", positions: [0; POSITIONS_MAX], count: 0 };

    pub(super) fn of<const COUNT: usize>(word: &'static str, about: [usize; COUNT]) -> Self {
        let mut positions = [0; POSITIONS_MAX];
        let count = COUNT.min(POSITIONS_MAX);
        positions[..count].copy_from_slice(&about[..count]);
        Self { word, positions, count }
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word)?;
        self.positions[..self.count].iter().try_for_each(|position| write!(f, " {position}"))
    }
}
