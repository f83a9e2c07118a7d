//! What the planner reaches on the days of a folder in a given time, against reference plans.
//!
//! `cargo bench -p baywright-core --bench days -- --folder FOLDER --seconds 1 --seed 1 --threads 1`: a table with
//! one line per problem `FOLDER/NAME.json`; the reference is the plan `FOLDER/plans/NAME.json`, where there is one.
//! With one thread the seconds are the processor time that the search had, so that other work on the
//! machine does not count (where the system tells it), with more they are those of the wall clock.
#![expect(clippy::print_stdout, reason = "a benchmark reports on standard output")]

use baywright_core::planner::{Plan, PlanStatus, Problem, SolveOptions, cost_of, solve};
use std::path::{Path, PathBuf};
use std::time::Instant;

struct Settings {
    folder: PathBuf,
    only: String,
    seconds: f64,
    seed: u64,
    threads: u32,
}

fn main() {
    let Some(settings) = settings() else {
        println!("--folder FOLDER [--only PART-OF-NAME] [--seconds S] [--seed N] [--threads N]");
        return;
    };
    println!(
        "day          cost      bound  gap %  reference  ratio  first s  best s  end s  wall s  epochs"
    );
    for path in problems(&settings.folder) {
        let name = path.file_stem().map(|name| name.to_string_lossy().into_owned());
        let name = name.unwrap_or_default();
        if name.contains(&settings.only) {
            match line(&settings, &path, &name) {
                Ok(line) => println!("{line}"),
                Err(why) => println!("{name:<9} {why}"),
            }
        }
    }
}

fn settings() -> Option<Settings> {
    let given: Vec<String> = std::env::args().collect();
    let value = |key: &str| {
        let at = given.iter().position(|word| word == key)?;
        given.get(at + 1).cloned()
    };
    Some(Settings {
        folder: value("--folder")?.into(),
        only: value("--only").unwrap_or_default(),
        seconds: value("--seconds").map_or(Some(1.0), |text| text.parse().ok())?,
        seed: value("--seed").map_or(Some(1), |text| text.parse().ok())?,
        threads: value("--threads").map_or(Some(1), |text| text.parse().ok())?,
    })
}

fn problems(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.path()).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "json"));
    paths.sort();
    paths
}

#[expect(clippy::disallowed_methods, reason = "a benchmark reads files and clocks")]
fn line(settings: &Settings, path: &Path, name: &str) -> Result<String, String> {
    let text = std::fs::read_to_string(path).map_err(|error| error.to_string())?;
    let problem = Problem::from_json(&text).map_err(|faults| faults.to_string())?;
    let plans = settings.folder.join("plans").join(format!("{name}.json"));
    let plan = std::fs::read_to_string(plans).ok().and_then(|text| Plan::from_json(&text).ok());
    let reference = plan.and_then(|plan| cost_of(&problem, &plan).ok());
    let wall = Instant::now();
    let begun = processor_seconds();
    let passed = || match (settings.threads, begun, processor_seconds()) {
        (1, Some(begun), Some(now)) => now - begun,
        _ => wall.elapsed().as_secs_f64(),
    };
    let (mut first, mut best, mut least) = (None, 0.0, i64::MAX);
    let options = SolveOptions { seed: settings.seed, threads: settings.threads, epochs: None };
    let plan = solve(&problem, options, &mut |report| {
        let now = passed();
        first.get_or_insert(now);
        if report.missing == 0 && report.cost < least {
            (best, least) = (now, report.cost);
        }
        now >= settings.seconds
    });
    let plan = plan.map_err(|error| error.to_string())?;
    let (end, wall) = (passed(), wall.elapsed().as_secs_f64());
    let (cost, bound) = (plan.cost.unwrap_or(0), plan.bound.unwrap_or(0));
    let gap = 100.0 * (real(cost) - real(bound)) / real(cost.max(1));
    let ratio = reference.map_or_else(String::new, |to| format!("{:.4}", real(cost) / real(to)));
    let reference = reference.map_or_else(String::new, |cost| cost.to_string());
    let proved = if plan.status == PlanStatus::ProvedBest { "best" } else { "" };
    let (first, epochs) = (first.unwrap_or(0.0), plan.epochs);
    Ok(format!(
        "{name:<9} {cost:>9} {bound:>9} {gap:6.2} {reference:>10} {ratio:>6} {first:8.3} {best:7.2} {end:6.2} {wall:7.2} {epochs:7} {proved}"
    ))
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
