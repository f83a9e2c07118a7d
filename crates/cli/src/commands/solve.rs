//! `solve`: plans a problem file without the service.
//!
//! The clock is read here and nowhere below: the search is asked to stop at the end of the epoch in
//! which the seconds run out. With `--epochs` the clock decides nothing, and the file is the same again.
//! Explaining gets as many seconds again.

mod reasons;

use crate::answer;
use crate::failure::Failure;
use crate::input;
use crate::output;
use crate::progress::{End, Progress, Standing};
use crate::views;
use baywright_core::planner::limits::{TEXT_BYTES_MAX, THREADS_MAX};
use baywright_core::planner::{
    EpochReport, FRONT_FACTORS, FrontError, FrontPoint, Plan, PlanStatus, Problem, Roles,
    SolveOptions, front, solve,
};
use clap::Args;
use reasons::Explaining;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Plan a problem file, without the service.
///
/// The plan is written beside its place and then put there whole, so that a reader never sees half
/// of it. The same problem, seed, threads and epochs give the same file. How a long search stands is told
/// on standard error: a bar in a terminal, else (and with `NO_COLOR`) a line now and then.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright solve tuesday.json --out plan.json --seconds 20 --seed 7 --threads 2"
)]
pub(crate) struct Solve {
    /// Problem file (JSON, planning-problem/1).
    problem: PathBuf,
    /// Where the plan is written (JSON, planning-plan/1).
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Stop at the end of the epoch in which so many seconds have passed.
    #[arg(long, value_name = "S", default_value_t = 10, value_parser = clap::value_parser!(u64).range(1..=86_400))]
    seconds: u64,
    /// Stop after so many epochs instead, or when the plan is proved best.
    #[arg(long, value_name = "N", conflicts_with = "seconds")]
    epochs: Option<u64>,
    /// Seed of all random choices.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Worker threads.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=i64::from(THREADS_MAX)))]
    threads: u32,
    /// Show the front of cost against changes: plan three times, with changes free, at their price and at four times
    /// that, in the same time; the plan at their price is written.
    #[arg(long, conflicts_with = "explain")]
    front: bool,
    /// Say of every late or left-out job, at most 20, what it waits for and which smallest changes bring
    /// it in time, each found by planning again with it; where there is no plan, name a smallest set
    /// of jobs that have none together.
    #[arg(long)]
    explain: bool,
}

impl Solve {
    pub(crate) fn run(self, json: bool) -> Result<(), Failure> {
        let begun = Instant::now();
        let text = input::text(&self.problem, TEXT_BYTES_MAX)?;
        let problem = Problem::from_json(&text).map_err(|faults| Failure::ProblemFaults {
            path: self.problem.clone(),
            faults: faults.into_list().iter().map(ToString::to_string).collect(),
        })?;
        let options = SolveOptions { seed: self.seed, threads: self.threads, epochs: self.epochs };
        if self.front {
            return self.show_front(&problem, options, json);
        }
        let limit = Duration::from_secs(self.seconds);
        let mut progress =
            Progress::new(self.epochs.map_or(End::Seconds(self.seconds), End::Epochs));
        let mut stop = |report: &EpochReport| {
            progress.tell(Standing {
                epochs: report.epochs,
                missing: report.missing.try_into().unwrap_or(u64::MAX),
                cost: report.cost,
                bound: report.bound,
            });
            self.epochs.is_none() && begun.elapsed() >= limit
        };
        let explaining =
            Explaining { seed: self.seed, limit: self.epochs.is_none().then_some(limit) };
        let solved = solve(&problem, options, &mut stop);
        drop(progress);
        let plan = match solved {
            Ok(plan) => plan,
            Err(error) => {
                if self.explain {
                    explaining.write_conflict(&problem, json)?;
                }
                return Err(Failure::NoPlan { sentence: error.to_string() });
            }
        };
        let text = plan.to_json();
        output::write_whole(&self.out, &text)?;
        let summary = summary(&plan, &self.out);
        answer::write(&match (json, self.explain) {
            (true, false) => text,
            (false, false) => summary,
            (_, true) => explaining.answer(&problem, &plan, (json, summary))?,
        })?;
        if self.explain && !json && plan.status == PlanStatus::Impossible {
            explaining.write_conflict(&problem, json)?;
        }
        if plan.status == PlanStatus::Impossible {
            return Err(Failure::NoPlan {
                sentence: format!(
                    "no plan keeps every rule; the jobs concerned: {}",
                    plan.why.join(", ")
                ),
            });
        }
        Ok(())
    }

    fn show_front(
        &self,
        problem: &Problem,
        options: SolveOptions,
        json: bool,
    ) -> Result<(), Failure> {
        let share = Duration::from_secs(self.seconds) / 3;
        let mut begun: Option<(i64, Instant)> = None;
        let mut stop = |factor: i64, _: &EpochReport| {
            let began = begun.filter(|(of, _)| *of == factor).map(|(_, at)| at);
            let began = began.unwrap_or_else(Instant::now);
            begun = Some((factor, began));
            self.epochs.is_none() && began.elapsed() >= share
        };
        let points = front(problem, &FRONT_FACTORS, options, Roles::by_id(), &mut stop);
        let points = points.map_err(|error| self.refused(error))?;
        if let Some(FrontPoint { plan, .. }) = points.iter().find(|point| point.factor == 1) {
            output::write_whole(&self.out, &plan.to_json())?;
        }
        answer::write(&if json {
            views::front::json(&points)
        } else {
            views::front::table(&points)
        })
    }

    fn refused(&self, error: FrontError) -> Failure {
        match error {
            FrontError::Factor { faults, .. } => Failure::ProblemFaults {
                path: self.problem.clone(),
                faults: faults.into_list().iter().map(ToString::to_string).collect(),
            },
            other
            @ (FrontError::Solve(_) | FrontError::Impossible { .. } | FrontError::Cost(_)) => {
                Failure::NoPlan { sentence: other.to_string() }
            }
        }
    }
}

fn summary(plan: &Plan, out: &Path) -> String {
    let figure =
        |figure: Option<i64>| figure.map_or_else(|| "-".to_owned(), |value| value.to_string());
    let left_out = plan.jobs.iter().filter(|job| job.left_out).count();
    let proof = match plan.status {
        PlanStatus::ProvedBest => "proved best",
        PlanStatus::Feasible => "feasible",
        PlanStatus::Impossible => "impossible",
    };
    format!(
        "{}: {proof}, cost {}, bound {}, {} jobs, {left_out} left out, {} epochs, seed {}, {} threads",
        out.display(),
        figure(plan.cost),
        figure(plan.bound),
        plan.jobs.len(),
        plan.epochs,
        plan.seed,
        plan.threads,
    )
}
