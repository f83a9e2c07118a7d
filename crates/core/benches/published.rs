//! What the planner reaches on the problems of a folder, against the best values known for them.
//!
//! `cargo bench -p baywright-core --bench published -- --folder FOLDER --seconds 1 --seed 1 --threads 1`: one line
//! per problem `FOLDER/NAME.json`, and a last line with the count of those that reached their best value. The values stand in
//! `FOLDER/best.txt`, one `NAME VALUE` a line. A problem ends when its best value is reached, unless
//! `--on` asks to go on until it is proved. With one thread the seconds are the processor time that the
//! search had (where the system tells it), with more they are those of the wall clock.
#![expect(clippy::print_stdout, reason = "a benchmark reports on standard output")]

mod folder;

use baywright_core::planner::{Plan, solve};
use folder::{Settings, Stopwatch, problem, real, settings};
use std::collections::BTreeMap;
use std::path::Path;

/// How a problem went.
struct Outcome {
    plan: Plan,
    reached_after: f64,
    seconds: f64,
}

fn main() {
    let Some(settings) = settings() else {
        println!(
            "--folder FOLDER [--only PART-OF-NAME] [--seconds S] [--on] [--seed N] [--threads N]"
        );
        return;
    };
    let best = best_values(&settings.folder);
    let (mut reached, mut known, mut slowest) = (0, 0, 0.0_f64);
    println!(
        "problem             value       best   over %      bound  value after s  seconds  epochs"
    );
    let on = std::env::args().any(|word| word == "--on");
    for (name, path) in settings.problems() {
        let best = best.get(&name).copied();
        known += usize::from(best.is_some());
        match outcome(&settings, on, &path, best) {
            Ok(outcome) => {
                let hit = best.is_some_and(|best| outcome.plan.cost.is_some_and(|c| c <= best));
                reached += usize::from(hit);
                slowest = slowest.max(if hit { outcome.reached_after } else { 0.0 });
                println!("{name:<14} {}", line(&outcome, best));
            }
            Err(why) => println!("{name:<14} {why}"),
        }
    }
    println!("{reached} of {known} at their best value, the slowest after {slowest:.2} s");
}

#[expect(clippy::disallowed_methods, reason = "a benchmark reads files")]
fn best_values(folder: &Path) -> BTreeMap<String, i64> {
    let text = std::fs::read_to_string(folder.join("best.txt")).unwrap_or_default();
    let lines = text.lines().filter_map(|line| {
        let (name, value) = line.split_once(' ')?;
        Some((name.to_owned(), value.trim().parse().ok()?))
    });
    lines.collect()
}

fn outcome(
    settings: &Settings,
    on: bool,
    path: &Path,
    best: Option<i64>,
) -> Result<Outcome, String> {
    let problem = problem(path)?;
    let watch = Stopwatch::begin(settings.options.threads);
    let (mut reached_after, mut least) = (0.0, i64::MAX);
    let plan = solve(&problem, settings.options, &mut |report| {
        let now = watch.passed();
        if report.missing == 0 && report.cost < least {
            (reached_after, least) = (now, report.cost);
        }
        now >= settings.seconds || (!on && best.is_some_and(|best| least <= best))
    });
    let plan = plan.map_err(|error| error.to_string())?;
    Ok(Outcome { plan, reached_after, seconds: watch.passed() })
}

fn line(outcome: &Outcome, best: Option<i64>) -> String {
    let value = outcome.plan.cost.unwrap_or(0);
    let over = best.map_or(0.0, |best| 100.0 * real(value - best) / real(best.max(1)));
    let best = best.map_or_else(String::new, |best| best.to_string());
    let (bound, epochs) = (outcome.plan.bound.unwrap_or(0), outcome.plan.epochs);
    let (after, seconds) = (outcome.reached_after, outcome.seconds);
    format!(
        "{value:>10} {best:>10} {over:>8.3} {bound:>10} {after:>14.3} {seconds:>8.3} {epochs:>7}"
    )
}
