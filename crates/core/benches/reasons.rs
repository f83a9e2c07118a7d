//! What reasons and offers take on the days of a folder.
//!
//! `cargo bench -p baywright-core --bench reasons -- --folder FOLDER --seconds 1 --seed 1`: a table with one line per
//! problem `FOLDER/NAME.json`. The day is planned for the seconds given; then every late or left-out job, at most 20, is
//! explained, and each of a few jobs is taken as a newcomer for whom a menu is asked: the others are planned, then the
//! earliest time that makes nobody late is looked for, and three earlier ones with their price. Times are those of the
//! processor, so that other work on the machine does not count (where the system tells them).
#![expect(clippy::print_stdout, reason = "a benchmark reports on standard output")]

mod folder;

use baywright_core::planner::explain::{ExplainOptions, explain};
use baywright_core::planner::newcomer::{AfterWork, Effort, Newcomer};
use baywright_core::planner::{Problem, SolveOptions, solve};
use folder::{Settings, Stopwatch, problem, real, settings};
use std::path::Path;

/// As the service takes it.
const EFFORT: Effort = Effort { seed: 1, plan_epochs: 2, question_epochs: 1 };
const EXPLAIN: ExplainOptions = ExplainOptions { seed: 1, epochs: 2, jobs_max: 20 };
/// The jobs that are taken as newcomers.
const NEWCOMERS: usize = 9;
/// The most times that others are moved for a newcomer, and the times with a price.
const MOVED_MAX: usize = 6;
const PRICED: i64 = 3;

fn main() {
    let Some(settings) = settings() else {
        println!("--folder FOLDER [--only PART-OF-NAME] [--seconds S] [--seed N]");
        return;
    };
    println!("day       jobs  late  remedies  s a late job  worst job s   menu ms  worst menu ms");
    for (name, path) in settings.problems() {
        match line(&settings, &path, &name) {
            Ok(line) => println!("{line}"),
            Err(why) => println!("{name:<9} {why}"),
        }
    }
}

fn line(settings: &Settings, path: &Path, name: &str) -> Result<String, String> {
    let problem = problem(path)?;
    let watch = Stopwatch::begin(1);
    let options = SolveOptions { threads: 1, ..settings.options };
    let plan = solve(&problem, options, &mut |_| watch.passed() >= settings.seconds);
    let plan = plan.map_err(|error| error.to_string())?;
    let all = explain(&problem, &plan, EXPLAIN, &mut || true).map_err(|why| why.to_string())?;
    let (mut whole, mut worst, mut remedies) = (0.0_f64, 0.0_f64, 0);
    for one in &all {
        let watch = Stopwatch::begin(1);
        let wanted = |job: &str| job == one.job;
        let told = baywright_core::planner::explain::explain_some(
            &problem,
            &plan,
            EXPLAIN,
            &wanted,
            &mut || false,
        );
        let passed = watch.passed();
        (whole, worst) = (whole + passed, worst.max(passed));
        remedies += told.map_or(0, |told| told.iter().map(|one| one.remedies.len()).sum());
    }
    let mut menus: Vec<f64> = (0..NEWCOMERS.min(problem.jobs().len()))
        .map(|at| {
            let job = problem.jobs()[at * problem.jobs().len() / NEWCOMERS].id();
            let watch = Stopwatch::begin(1);
            menu(&problem, job);
            watch.passed() * 1e3
        })
        .collect();
    menus.sort_by(f64::total_cmp);
    let mean = whole / real(i64::try_from(all.len().max(1)).unwrap_or(1));
    let (middle, most) = (menus[menus.len() / 2], menus[menus.len() - 1]);
    Ok(format!(
        "{name:<9} {:>4} {:>5} {remedies:>9} {mean:>13.2} {worst:>12.2} {middle:>9.1} {most:>14.1}",
        problem.jobs().len(),
        all.len()
    ))
}

/// The questions that an offer asks, a quarter of an hour apart.
fn menu(problem: &Problem, job: &str) {
    let Some(Ok(newcomer)) = Newcomer::new(problem, job, &AfterWork::new(), EFFORT) else { return };
    let (Some(first), Some(last)) = (newcomer.alone(), newcomer.as_they_stand(None)) else {
        return;
    };
    let (mut without, mut with) = (-1, (last.finish - first) / 15);
    for _ in 0..MOVED_MAX {
        if without + 1 >= with {
            break;
        }
        let middle = without + (with - without) / 2;
        match newcomer.keeping_promises(first + 15 * middle) {
            Some(room) => with = (room.finish - first) / 15,
            None => without = middle,
        }
    }
    for part in 0..PRICED.min(with) {
        newcomer.at_any_price(first + 15 * (with * part / PRICED));
    }
}
