//! What is kept of a sequence's starts beside working all of them out anew.

use super::*;
use crate::planner::any_problem::any_problem;
use crate::planner::board::Board;
use crate::planner::insertion::Query;
use crate::planner::schedule::settle;
use crate::planner::seeded::Seeded;
use proptest::prelude::*;

impl Sequence {
    /// All worked out from the first step on.
    fn anew(&self, shop: &Shop<'_>, floats: &mut [Float], most: i64) -> (Option<i64>, Line) {
        let mut anew = self.clone();
        anew.loose = 0;
        let cost = if floats.is_empty() {
            anew.decode(shop, 0..usize::MAX, most)
        } else {
            anew.decode_floating(shop, floats, most)
        };
        if cost.is_some() {
            anew.keep();
        }
        (cost, anew.line)
    }
}

/// Moves one task, or gives it another option or resource; says which positions may differ.
fn change(sequence: &mut Sequence, shop: &Shop<'_>, random: &mut Seeded) -> Range<usize> {
    let tasks = &mut sequence.line.tasks;
    let (from, to) = (random.below(tasks.len()), random.below(tasks.len()));
    if random.below(2) == 0 {
        let task = tasks.remove(from);
        tasks.insert(to, task);
        return from.min(to)..from.max(to) + 1;
    }
    let options = shop.problem.jobs[tasks[from].job].steps[tasks[from].step].options.len();
    tasks[from].option = random.below(options);
    tasks[from].picks = 0;
    tasks[from].set_pick(0, random.below(3));
    tasks[from].keeps = random.below(3) == 0;
    from..from + 1
}

fn float(sequence: &Sequence, shop: &Shop<'_>, random: &mut Seeded) -> Float {
    let job = sequence.line.tasks[random.below(sequence.line.tasks.len())].job;
    let before = &shop.jobs[job].before;
    let mut order = Vec::new();
    while order.len() < before.len() {
        let done = order.iter().fold(0_u64, |done, step: &usize| done | 1 << step);
        let may = |step: &usize| done >> step & 1 == 0 && before[*step] & !done == 0;
        let may: Vec<usize> = (0..before.len()).filter(may).collect();
        order.push(may[random.below(may.len())]);
    }
    let from = i64::try_from(random.below(150)).unwrap();
    Float { job, order, done: 0, from, skips: random.next() & random.next() & random.next() }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn what_is_kept_gives_the_same_starts_as_working_all_out_anew(seed in any::<u64>(), slack in 0_i64..3_000) {
        let problem = any_problem(seed);
        let shop = Shop::new(&problem);
        let mut board = Board::new(&shop);
        for job in 0..shop.jobs.len() {
            settle(&mut board, Query::plain(&shop, job));
        }
        let Some(mut sequence) = Sequence::new(&shop, board.standing()) else { return Ok(()) };
        sequence.every = 2;
        sequence.states.resize(sequence.line.tasks.len() / 2 + 1, sequence.state.clone());
        sequence.trial_states.clone_from(&sequence.states);
        let Some(mut cost) = sequence.decode(&shop, 0..0, i64::MAX) else { return Ok(()) };
        sequence.keep();
        let random = &mut Seeded::new(seed, 2);
        for _ in 0..60 {
            let before = sequence.line.clone();
            let most = if random.below(4) == 0 { i64::MAX } else { cost + slack };
            let mut floats = Vec::new();
            let mut changed = 0..0;
            if random.below(3) == 0 {
                floats.push(float(&sequence, &shop, random));
            } else {
                changed = change(&mut sequence, &shop, random);
            }
            let (expected, line) = sequence.anew(&shop, &mut floats.clone(), most);
            let got = if floats.is_empty() {
                sequence.decode(&shop, changed, most)
            } else {
                sequence.decode_floating(&shop, &mut floats, most)
            };
            prop_assert_eq!(got, expected);
            let Some(got) = got else {
                sequence.line.tasks.clone_from(&before.tasks);
                continue;
            };
            sequence.keep();
            cost = got;
            prop_assert_eq!(&sequence.line.tasks, &line.tasks);
            prop_assert_eq!(&sequence.line.starts, &line.starts);
            prop_assert_eq!(&sequence.line.uses, &line.uses);
            prop_assert_eq!(&sequence.line.finishes, &line.finishes);
            prop_assert_eq!(&sequence.line.costs, &line.costs);
            // And the plan stands as it is said to cost.
            let standing = sequence.standing(&shop, board.standing());
            prop_assert_eq!(Board::with(&shop, &standing).worth().cost, cost);
        }
    }
}
