//! How much worse a plan may become: a tolerance that falls over a cycle, then rises again.
//!
//! Source: Kirkpatrick, Gelatt, Vecchi, "Optimization by simulated annealing", Science 220 (1983);
//! the cycles that grow longer and start from the best plan are own choices, measured.

use crate::planner::seeded::Seeded;

/// The moves of the first cycle, for each job, and the most of any cycle.
const CYCLE_MOVES_PER_JOB: u64 = 30;
const CYCLE_MAX: u64 = 400_000;
/// How often the tolerance halves over a cycle.
const HALVINGS: u64 = 9;

/// The tolerance's course.
#[derive(Debug, Clone)]
pub(super) struct Cooling {
    /// Moves made in this cycle, and the cycle's length.
    moves: u64,
    length: u64,
    /// So many halvings below twice the gap the tolerance begins.
    begin: u64,
    /// Whether this cycle blinks in every move: better where few jobs interlock, worse where many do.
    pub(super) bold: bool,
    /// Whether nothing worse is taken in this cycle.
    pub(super) cold: bool,
    /// Whether this cycle found a better plan.
    pub(super) gained: bool,
    /// How many cycles in a row found none.
    stale: u64,
}

impl Cooling {
    pub(super) fn new(jobs: usize) -> Self {
        Self::with_length(CYCLE_MOVES_PER_JOB * (jobs as u64).max(1), jobs)
    }

    /// A course whose first cycle has as many moves.
    pub(super) fn with_length(length: u64, jobs: usize) -> Self {
        // A move is about a few jobs, so what it may lose is a share of the gap for each.
        let begin = 1 + u64::from(jobs.max(2).ilog2());
        Self { moves: 0, length, begin, bold: false, cold: false, gained: false, stale: 0 }
    }

    /// The moves of this cycle.
    pub(super) fn length(&self) -> u64 {
        self.length
    }

    /// Begins a new cycle unless none was begun yet or one has just ended.
    pub(super) fn begin(&mut self) {
        if self.moves > 0 {
            self.moves = self.length;
            self.step();
            self.moves = 0;
        }
    }

    /// Counts a move; says whether a new cycle begins with it.
    pub(super) fn step(&mut self) -> bool {
        self.moves += 1;
        if self.moves <= self.length {
            return false;
        }
        self.moves = 1;
        if self.gained || self.stale % 4 == 3 {
            self.length = (self.length * 3 / 2).min(CYCLE_MAX);
        }
        // A manner that brought something is kept, otherwise the other one has its turn.
        self.stale = if self.gained { 0 } else { self.stale + 1 };
        self.bold = if self.gained { self.bold } else { !self.bold };
        self.gained = false;
        self.cold = false;
        true
    }

    /// Whether the first part of a cycle ends.
    pub(super) fn looks_again(&self) -> bool {
        self.moves == self.length / 2
    }

    /// Whether single steps should be moved next: after every other cycle without gain.
    pub(super) fn turns_to_shifts(&self) -> bool {
        self.stale % 2 == 1
    }

    /// Whether closing times should be moved next: after cycles without gain; where `early`, at once and after
    /// every other cycle.
    pub(super) fn turns_to_overtime(&self, early: bool) -> bool {
        if early {
            self.stale.is_multiple_of(2)
        } else {
            self.stale >= 4 && self.stale.is_multiple_of(4)
        }
    }

    /// Begins so many halvings higher.
    pub(super) fn warmer(mut self, halvings: u64) -> Self {
        self.begin = self.begin.saturating_sub(halvings);
        self
    }

    /// Whether a new cycle starts from a plan built anew: now and then after many without gain, so
    /// that a plan far away is found too.
    pub(super) fn starts_anew(&self) -> bool {
        self.stale >= 6 && self.stale.is_multiple_of(3)
    }

    /// Whether a new cycle starts from the best plan; after many without gain every other one
    /// goes on from where the last one ended.
    pub(super) fn returns(&self) -> bool {
        self.stale < 4 || self.stale.is_multiple_of(2)
    }

    /// How much more the next plan may cost, where `gap` is what could be gained at best: drawn so
    /// that much is seldom, around a mean that falls from about the gap over the number of jobs to next to
    /// nothing. The longer nothing was found, the higher it begins, up to twice the gap.
    pub(super) fn tolerance(&self, gap: i64, random: &mut Seeded) -> i64 {
        if self.cold {
            return 0;
        }
        let begin = self.begin.saturating_sub(self.stale.min(12) / 2);
        let scaled = i128::from(gap.max(0)) * 2 * exponential(random);
        // In 64 parts of a halving, so that the fall is smooth.
        let parts = 64 * begin + 64 * HALVINGS * self.moves / self.length;
        let whole = scaled >> (parts / 64);
        let fallen = whole - ((whole * i128::from(parts % 64)) >> 7);
        i64::try_from(fallen >> 10).unwrap_or(i64::MAX)
    }
}

/// An exponentially distributed number around 1,024, from the leading zeros of random bits.
fn exponential(random: &mut Seeded) -> i128 {
    let bits = random.next() | 1;
    let zeros = bits.leading_zeros();
    // The logarithm between two powers of 2 is taken as a line.
    let mantissa = (bits << zeros) >> 53 & 0x3ff;
    let binary = i128::from(zeros) * 1_024 + 1_023 - i128::from(mantissa);
    (binary * 710) >> 10
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tolerance_falls_over_a_cycle_and_its_mean_is_as_said() {
        let mut random = Seeded::new(1, 0);
        let mut cooling = Cooling::new(100);
        let mut mean = |cooling: &Cooling| {
            let draws: i64 = (0..4_000).map(|_| cooling.tolerance(1_600_000, &mut random)).sum();
            draws / 4_000
        };
        let first = mean(&cooling);
        assert!((22_500..27_500).contains(&first), "{first}");
        (0..2_940).for_each(|_| assert!(!cooling.step()));
        let last = mean(&cooling);
        assert!((40..70).contains(&last), "{last}");
    }
}
