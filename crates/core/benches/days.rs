//! What the planner reaches on the days of a folder in a given time, against reference plans.
//!
//! `cargo bench -p baywright-core --bench days -- --folder FOLDER --seconds 1 --seed 1 --threads 1`: a table with
//! one line per problem `FOLDER/NAME.json`; the reference is the plan `FOLDER/plans/NAME.json`, where there is one.
//! With one thread the seconds are the processor time that the search had, so that other work on the
//! machine does not count (where the system tells it), with more they are those of the wall clock.
#![expect(clippy::print_stdout, reason = "a benchmark reports on standard output")]

mod folder;

use baywright_core::planner::{Plan, PlanStatus, cost_of, solve};
use folder::{Settings, Stopwatch, problem, real, settings};
use std::path::Path;

fn main() {
    let Some(settings) = settings() else {
        println!("--folder FOLDER [--only PART-OF-NAME] [--seconds S] [--seed N] [--threads N]");
        return;
    };
    println!(
        "day          cost      bound  gap %  reference  ratio  first s  best s  end s  wall s  epochs"
    );
    for (name, path) in settings.problems() {
        match line(&settings, &path, &name) {
            Ok(line) => println!("{line}"),
            Err(why) => println!("{name:<9} {why}"),
        }
    }
}

#[expect(clippy::disallowed_methods, reason = "a benchmark reads files")]
fn line(settings: &Settings, path: &Path, name: &str) -> Result<String, String> {
    let problem = problem(path)?;
    let plans = settings.folder.join("plans").join(format!("{name}.json"));
    let plan = std::fs::read_to_string(plans).ok().and_then(|text| Plan::from_json(&text).ok());
    let reference = plan.and_then(|plan| cost_of(&problem, &plan).ok());
    let watch = Stopwatch::begin(settings.options.threads);
    let (mut first, mut best, mut least) = (None, 0.0, i64::MAX);
    let plan = solve(&problem, settings.options, &mut |report| {
        let now = watch.passed();
        first.get_or_insert(now);
        if report.missing == 0 && report.cost < least {
            (best, least) = (now, report.cost);
        }
        now >= settings.seconds
    });
    let plan = plan.map_err(|error| error.to_string())?;
    let (end, wall) = (watch.passed(), watch.wall.elapsed().as_secs_f64());
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
