//! What the planner reaches on the problems of a folder, against the best values known for them.
//!
//! `cargo bench -p baywright-core --bench published -- --folder FOLDER --seconds 1 --seed 1 --threads 1`: one line
//! per problem `FOLDER/NAME.json`, and a last line with the count of those that reached their best value. The values stand in
//! `FOLDER/best.txt`, one `NAME VALUE` a line. A problem ends when its best value is reached, unless
//! `--on` asks to go on until it is proved. With one thread the seconds are the processor time that the
//! search had (where the system tells it), with more they are those of the wall clock.
#![expect(clippy::print_stdout, reason = "a benchmark reports on standard output")]

use baywright_core::planner::{Plan, Problem, SolveOptions, solve};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Instant;

struct Settings {
    folder: PathBuf,
    only: String,
    seconds: f64,
    on: bool,
    options: SolveOptions,
}

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
    for path in problems(&settings.folder) {
        let name = path.file_stem().map(|name| name.to_string_lossy().into_owned());
        let name = name.unwrap_or_default();
        if !name.contains(&settings.only) {
            continue;
        }
        let best = best.get(&name).copied();
        known += usize::from(best.is_some());
        match outcome(&settings, &path, best) {
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

fn settings() -> Option<Settings> {
    let given: Vec<String> = std::env::args().collect();
    let value = |key: &str| {
        let at = given.iter().position(|word| word == key)?;
        given.get(at + 1).cloned()
    };
    let number = |key: &str| value(key).map_or(Some(1), |text| text.parse().ok());
    let threads = u32::try_from(number("--threads")?).ok()?;
    Some(Settings {
        folder: value("--folder")?.into(),
        only: value("--only").unwrap_or_default(),
        seconds: value("--seconds").map_or(Some(1.0), |text| text.parse().ok())?,
        on: given.iter().any(|word| word == "--on"),
        options: SolveOptions { seed: number("--seed")?, threads, epochs: None },
    })
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

fn problems(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.path()).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "json"));
    paths.sort();
    paths
}

#[expect(clippy::disallowed_methods, reason = "a benchmark reads files and clocks")]
fn outcome(settings: &Settings, path: &Path, best: Option<i64>) -> Result<Outcome, String> {
    let text = std::fs::read_to_string(path).map_err(|error| error.to_string())?;
    let problem = Problem::from_json(&text).map_err(|faults| faults.to_string())?;
    let wall = Instant::now();
    let begun = processor_seconds();
    let passed = || match (settings.options.threads, begun, processor_seconds()) {
        (1, Some(begun), Some(now)) => now - begun,
        _ => wall.elapsed().as_secs_f64(),
    };
    let (mut reached_after, mut least) = (0.0, i64::MAX);
    let plan = solve(&problem, settings.options, &mut |report| {
        let now = passed();
        if report.missing == 0 && report.cost < least {
            (reached_after, least) = (now, report.cost);
        }
        now >= settings.seconds || (!settings.on && best.is_some_and(|best| least <= best))
    });
    let plan = plan.map_err(|error| error.to_string())?;
    Ok(Outcome { plan, reached_after, seconds: passed() })
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

/// The processor time of this thread, where the system tells it.
#[expect(clippy::disallowed_methods, reason = "a benchmark reads clocks")]
fn processor_seconds() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    let nanoseconds: u64 = text.split(' ').next()?.parse().ok()?;
    Some(std::time::Duration::from_nanos(nanoseconds).as_secs_f64())
}

#[expect(clippy::cast_precision_loss, reason = "ratios need no exact figures")]
fn real(value: i64) -> f64 {
    value as f64
}
