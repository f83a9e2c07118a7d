//! How the planner answers what happened during a day: how soon, against right shift, how steadily.
//!
//! `cargo bench -p baywright-core --bench events -- --folder FOLDER --seconds 1 --seed 1 --threads 1 [--free]`: one line
//! per problem `FOLDER/DAY-EVENT-SEED.json` that names a previous plan, then the medians of each kind of event. `first`
//! is the first answer, `shift` the previous plan repaired by right shift; both as a ratio to the final cost. `--free` plans
//! every problem once more with no price on changes and prints the ratio of the costs less changes.
//! Seconds are processor time with one thread, as in `days`.
#![expect(clippy::print_stdout, reason = "a benchmark reports on standard output")]

mod folder;

use baywright_core::planner::{
    Plan, Problem, Roles, Steadiness, cost_less_changes, right_shift, solve, steadiness,
};
use folder::{Settings, Stopwatch, problem, real, settings};
use std::collections::BTreeMap;
use std::path::Path;

/// What was measured of one problem.
struct Measured {
    first_ms: f64,
    /// The first answer's and the right shift's cost for each unit of the last plan's.
    first: f64,
    shift: f64,
    cost: i64,
    steady: Steadiness,
    /// Changed steps in a hundred, of those not fixed and of all.
    changed: (f64, f64),
    free: Option<f64>,
}

fn main() {
    let Some(settings) = settings() else {
        println!(
            "--folder FOLDER [--only PART-OF-NAME] [--seconds S] [--seed N] [--threads N] [--free]"
        );
        return;
    };
    println!("{}", heading("problem"));
    let mut kinds: BTreeMap<String, Vec<Measured>> = BTreeMap::new();
    for (name, path) in settings.problems() {
        match measure(&settings, &path) {
            Ok(measured) => {
                println!("{name:<22} {}", measured.line());
                kinds.entry(kind(&name)).or_default().push(measured);
            }
            Err(why) => println!("{name:<22} {why}"),
        }
    }
    println!("\nmedians (first ms: greatest)\n{}", heading("kind"));
    for (kind, all) in &kinds {
        println!("{kind:<22} {}", Measured::middle(all).line());
    }
}

fn heading(what: &str) -> String {
    format!(
        "{what:<22} first ms  first/cost  shift/cost       cost  changed %  of all %  shift min  tech  bay  cost/free"
    )
}

/// The name without its day and seed.
fn kind(name: &str) -> String {
    let parts: Vec<&str> = name.split('-').collect();
    let inner = parts.get(2..parts.len().saturating_sub(1)).unwrap_or(&[]);
    inner.join("-")
}

fn measure(settings: &Settings, path: &Path) -> Result<Measured, String> {
    let problem = problem(path)?;
    let shift = right_shift(&problem).and_then(|plan| plan.cost).unwrap_or(i64::MAX);
    let watch = Stopwatch::begin(settings.options.threads);
    let mut first = None;
    let plan = solve(&problem, settings.options, &mut |report| {
        let now = watch.passed();
        first.get_or_insert((now, if report.missing == 0 { report.cost } else { i64::MAX }));
        now >= settings.seconds
    });
    let plan = plan.map_err(|error| error.to_string())?;
    let (seconds, first) = first.unwrap_or((watch.passed(), plan.cost.unwrap_or(0)));
    let cost = plan.cost.unwrap_or(0);
    let steady = steadiness(&problem, &plan, Roles::by_id()).map_err(|error| error.to_string())?;
    let ratio = |other: i64| real(other) / real(cost.max(1));
    Ok(Measured {
        first_ms: 1_000.0 * seconds,
        first: ratio(first),
        shift: ratio(shift),
        cost,
        steady,
        changed: (
            steady.changed_percent(),
            100.0 * count(steady.changed) / count(steady.steps.max(1)),
        ),
        free: if std::env::args().any(|word| word == "--free") {
            Some(freely(settings, &problem, &plan)?)
        } else {
            None
        },
    })
}

/// The cost less changes for each unit of what a plan costs for which changes are free.
fn freely(settings: &Settings, problem: &Problem, plan: &Plan) -> Result<f64, String> {
    let mut draft = problem.to_draft();
    draft.cost.change = 0;
    let free = Problem::from_draft(draft).map_err(|faults| faults.to_string())?;
    let watch = Stopwatch::begin(settings.options.threads);
    let other = solve(&free, settings.options, &mut |_| watch.passed() >= settings.seconds);
    let other = other.map_err(|error| error.to_string())?;
    let cost = cost_less_changes(problem, plan).map_err(|error| error.to_string())?;
    Ok(real(cost) / real(other.cost.unwrap_or(0).max(1)))
}

impl Measured {
    fn line(&self) -> String {
        let Self { first_ms, first, shift, cost, steady, changed: (open, all), free } = self;
        let free = free.map_or_else(String::new, |free| format!("{free:.4}"));
        format!(
            "{first_ms:8.1} {first:11.4} {shift:11.4} {cost:10} {open:10.1} {all:9.1} {:10} {:5} {:4} {free:>10}",
            steady.shift_minutes, steady.technician_changes, steady.bay_changes
        )
    }

    fn middle(all: &[Self]) -> Self {
        let real_of = |of: &dyn Fn(&Self) -> f64| {
            let mut values: Vec<f64> = all.iter().map(of).collect();
            values.sort_by(f64::total_cmp);
            values.get(values.len() / 2).copied().unwrap_or(0.0)
        };
        let count_of = |of: &dyn Fn(&Self) -> usize| {
            let mut values: Vec<usize> = all.iter().map(of).collect();
            values.sort_unstable();
            values.get(values.len() / 2).copied().unwrap_or(0)
        };
        let steady = Steadiness {
            technician_changes: count_of(&|one| one.steady.technician_changes),
            bay_changes: count_of(&|one| one.steady.bay_changes),
            ..Steadiness::default()
        };
        Self {
            first_ms: all.iter().map(|one| one.first_ms).fold(0.0, f64::max),
            first: real_of(&|one| one.first),
            shift: real_of(&|one| one.shift),
            cost: 0,
            steady,
            changed: (real_of(&|one| one.changed.0), real_of(&|one| one.changed.1)),
            free: all
                .iter()
                .all(|one| one.free.is_some())
                .then(|| real_of(&|one| one.free.unwrap_or(0.0))),
        }
    }
}

fn count(steps: usize) -> f64 {
    f64::from(u32::try_from(steps).unwrap_or(u32::MAX))
}
