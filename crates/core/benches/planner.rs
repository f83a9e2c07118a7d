//! How fast the planner's search moves and what that brings on seeded days, all invented.
//!
//! `cargo bench -p baywright-core --bench planner`: first a table of costs, each as a share of the baseline
//! (the best plan of the priority rules, no search), then the times; `items` are moves.

use baywright_core::planner::{
    CalendarDraft, CostWeights, JobDraft, OptionDraft, Problem, ProblemDraft, SolveOptions,
    StepDraft, solve,
};
use divan::Bencher;
use divan::counter::ItemsCount;

/// Moves that an epoch makes.
const MOVES_PER_EPOCH: u64 = 200;
const EPOCHS: u64 = 5;
const DAYS: [usize; 3] = [8, 24, 60];

fn main() {
    table();
    divan::main();
}

#[expect(clippy::print_stdout, reason = "a benchmark reports on standard output")]
fn table() {
    println!("jobs  rules only  after {EPOCHS} epochs  share of rules only");
    for jobs in DAYS {
        let problem = day(jobs);
        let (rules, searched) = (cost(&problem, 0), cost(&problem, EPOCHS));
        let per_mille = searched * 1_000 / rules.max(1);
        println!("{jobs:4}  {rules:10}  {searched:14}  0.{per_mille:03}");
    }
}

#[divan::bench(args = DAYS)]
fn rules_only(bencher: Bencher<'_, '_>, jobs: usize) {
    let problem = day(jobs);
    bencher.bench_local(|| cost(&problem, 0));
}

#[divan::bench(args = DAYS, sample_count = 10)]
fn rules_and_search(bencher: Bencher<'_, '_>, jobs: usize) {
    let problem = day(jobs);
    let moves = ItemsCount::new(EPOCHS * MOVES_PER_EPOCH);
    bencher.counter(moves).bench_local(|| cost(&problem, EPOCHS));
}

fn cost(problem: &Problem, epochs: u64) -> i64 {
    let options = SolveOptions { seed: 1, threads: 1, epochs: Some(epochs) };
    let plan = solve(problem, options, &mut |_| false).ok();
    plan.and_then(|plan| plan.cost).unwrap_or(i64::MAX)
}

/// A day of jobs of three steps in one bay per eight jobs and two more, as many technicians, two units.
#[expect(clippy::expect_used, reason = "a fault of the maker should end the benchmark")]
fn day(jobs: usize) -> Problem {
    let mut state = 17_u64;
    let mut below = move |count: u64| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) % count
    };
    let crew = jobs / 8 + 2;
    let named = |kind: &str, count: usize| -> Vec<String> {
        (0..count).map(|at| format!("{kind}-{at}")).collect()
    };
    let (bays, technicians, units) =
        (named("bay", crew), named("technician", crew), named("unit", 2));
    let open = |id: &String| CalendarDraft {
        id: id.clone(),
        open: Some(vec![[0, 240], [270, 540], [1_440, 1_680], [1_710, 1_980]]),
    };
    let mut made = Vec::new();
    for at in 0..jobs {
        let mut steps = Vec::new();
        for step in 0..3 {
            let minutes = 15 + i64::try_from(below(45)).unwrap_or(0);
            let option = |place: &String| OptionDraft {
                minutes,
                place: Some(place.clone()),
                starts: None,
                needs: if step == 1 {
                    vec![technicians.clone(), units.clone()]
                } else {
                    vec![technicians.clone()]
                },
            };
            let options = bays.iter().map(option).collect();
            steps.push(StepDraft { id: format!("step-{step}"), after: None, release: 0, options });
        }
        let weight = 1 + i64::try_from(below(8)).unwrap_or(0);
        made.push(JobDraft {
            id: format!("job-{at}"),
            release: i64::try_from(below(300)).unwrap_or(0),
            due: Some(300 + i64::try_from(below(400)).unwrap_or(0)),
            weight,
            leave_out_cost: Some(300_000 * weight),
            move_minutes: 10,
            steps,
            ..JobDraft::default()
        });
    }
    let draft = ProblemDraft {
        name: format!("{jobs} jobs"),
        horizon: 1_980,
        places: bays.iter().map(open).collect(),
        resources: technicians.iter().map(open).chain(units.iter().map(open)).collect(),
        jobs: made,
        cost: CostWeights { lateness: 100, finish: 1, place_change: 20, change: 0, makespan: 0 },
        ..ProblemDraft::default()
    };
    Problem::from_draft(draft).expect("the maker keeps the limits")
}
