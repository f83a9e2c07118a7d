//! The best set of moves that do not meet: swaps of two jobs and jobs put elsewhere, each within its own
//! stretch of the order, found all at once by going through the ends of the stretches.
//!
//! Sources: Congram, Potts, van de Velde, "An iterated dynasearch algorithm for the single-machine total
//! weighted tardiness scheduling problem", INFORMS J. on Computing 14 (2002), for swaps; Grosso, Della
//! Croce, Tadei, "An enhanced dynasearch neighborhood for the single-machine total weighted tardiness
//! scheduling problem", Operations Research Letters 32 (2004), for jobs that are put elsewhere.

use super::Single;

/// One move within the positions `first..=last`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Move {
    Swap,
    /// The first job goes behind the last.
    Later,
    /// The last job goes before the first.
    Earlier,
}

/// Memory of the search, by position in the order.
#[derive(Debug, Clone, Default)]
pub(super) struct Dynasearch {
    minutes: Vec<i64>,
    due: Vec<i64>,
    late: Vec<i64>,
    end: Vec<i64>,
    cost: Vec<i64>,
    /// The sum of what the jobs up to here could save at most, were they done at once.
    savings: Vec<i64>,
    /// By first position: what it changes that the jobs behind it, up to the position looked at,
    /// move up by its minutes.
    moved_up: Vec<i64>,
    /// By position: what the best moves before it change, and the last of those.
    least: Vec<i64>,
    choice: Vec<Option<(usize, Move)>>,
    /// Positions looked at.
    pub(super) effort: u64,
}

impl Dynasearch {
    /// Improves an order until no set of moves does, and says what it then costs.
    pub(super) fn improve(&mut self, single: &Single, order: &mut [usize]) -> i64 {
        while self.pass(single, order) {}
        self.cost.iter().sum()
    }

    /// Makes the best set of moves; says whether there was any.
    fn pass(&mut self, single: &Single, order: &mut [usize]) -> bool {
        self.load(single, order);
        let count = order.len();
        self.least.clear();
        self.least.push(0);
        self.choice.clear();
        self.moved_up.clear();
        self.moved_up.resize(count, 0);
        for last in 0..count {
            self.best_up_to(single, last);
        }
        if self.least[count] == 0 {
            return false;
        }
        let mut at = count;
        while at > 0 {
            at -= 1;
            let Some((first, made)) = self.choice[at] else { continue };
            match made {
                Move::Swap => order.swap(first, at),
                Move::Later => order[first..=at].rotate_left(1),
                Move::Earlier => order[first..=at].rotate_right(1),
            }
            at = first;
        }
        true
    }

    fn load(&mut self, single: &Single, order: &[usize]) {
        for list in [
            &mut self.minutes,
            &mut self.due,
            &mut self.late,
            &mut self.end,
            &mut self.cost,
            &mut self.savings,
        ] {
            list.clear();
        }
        let mut at = single.start;
        let mut savings = 0;
        for job in order {
            let task = single.tasks[*job];
            at += task.minutes;
            self.minutes.push(task.minutes);
            self.due.push(task.due);
            self.late.push(task.late);
            self.end.push(at);
            self.cost.push(single.cost(*job, at));
            savings += task.late * (at - task.due).max(0) + single.finish * (at - single.start);
            self.savings.push(savings);
        }
    }

    /// What it changes that the job at a position ends at another minute.
    fn change(&self, single: &Single, at: usize, end: i64) -> i64 {
        self.late[at] * (end - self.due[at]).max(0) + single.finish * end - self.cost[at]
    }

    /// The best moves among the positions up to `last`.
    fn best_up_to(&mut self, single: &Single, last: usize) {
        let (mut least, mut choice) = (self.least[last], None);
        let (minutes, end) = (self.minutes[last], self.end[last]);
        // What it changes that the jobs from `first` on make room for the last before them.
        let mut moved_back = 0;
        for first in (0..last).rev() {
            let before = self.least[first];
            let other = self.minutes[first];
            self.moved_up[first] += self.change(single, last, end - other);
            let goes_last = self.change(single, first, end);
            let mut consider = |made: Move, change: i64| {
                if before + change < least {
                    least = before + change;
                    choice = Some((first, made));
                }
            };
            consider(Move::Later, self.moved_up[first] + goes_last);
            moved_back += self.change(single, first, self.end[first] + minutes);
            let goes_first = self.change(single, last, self.end[first] - other + minutes);
            consider(Move::Earlier, moved_back + goes_first);
            if first + 1 < last {
                let ends = goes_first + goes_last;
                // All jobs between move the same way: they cost more, or save at most their savings.
                let between = self.savings[last - 1] - self.savings[first];
                let possible = if minutes < other { ends - between } else { ends };
                if before + possible < least {
                    let total = ends + self.shift(single, first + 1..last, minutes - other);
                    if before + total < least {
                        least = before + total;
                        choice = Some((first, Move::Swap));
                    }
                }
            }
        }
        self.effort += last as u64;
        self.least.push(least);
        self.choice.push(choice);
    }

    /// What it changes that all jobs of some positions end later by so many minutes.
    fn shift(&mut self, single: &Single, positions: std::ops::Range<usize>, minutes: i64) -> i64 {
        if minutes == 0 {
            return 0;
        }
        self.effort += positions.len() as u64 / 4;
        let ends = &self.end[positions.clone()];
        let dues = &self.due[positions.clone()];
        let lates = &self.late[positions.clone()];
        let costs = &self.cost[positions];
        let each = ends.iter().zip(dues).zip(lates).zip(costs);
        each.map(|(((end, due), late), cost)| {
            let end = end + minutes;
            late * (end - due).max(0) + single.finish * end - cost
        })
        .sum()
    }
}
