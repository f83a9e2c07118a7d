//! What would be: the two days beside each other, then the jobs that come out otherwise.

use super::caution;
use crate::clock::ShopClock;
use crate::table::Table;
use baywright_api::v1::{DayOutcome, JobDifference, WhatIfReport};

/// The whole report.
pub(crate) fn report(report: &WhatIfReport, clock: ShopClock) -> String {
    let mut parts = vec![format!("Supposed:\n  {}", report.sentences.join("\n  "))];
    let [before, after] = [report.before, report.after].map(Option::unwrap_or_default);
    parts.push(outcomes(&before, &after, report.days));
    parts.push(jobs(&report.jobs, clock));
    parts.push(format!(
        "{} task(s) would be planned otherwise. Nothing was kept; small differences may be the search's.",
        report.moved_tasks
    ));
    parts.push(caution(&report.caution));
    parts.join("\n\n")
}

fn outcomes(before: &DayOutcome, after: &DayOutcome, days: u32) -> String {
    let head = format!("over {days} day(s)");
    let mut table = Table::new(&[&head, "as it is", "supposed", "difference"]);
    let mut row = |name: &str, was: i64, is: i64| {
        table.row([name.to_owned(), was.to_string(), is.to_string(), format!("{:+}", is - was)]);
    };
    row("cost less changes", before.cost_less_changes, after.cost_less_changes);
    for (name, was, is) in [
        ("late jobs", before.late_jobs, after.late_jobs),
        ("minutes late", before.late_minutes, after.late_minutes),
        ("jobs left out", before.left_out_jobs, after.left_out_jobs),
        ("tasks planned", before.planned_tasks, after.planned_tasks),
        ("tasks not planned", before.unplanned_tasks, after.unplanned_tasks),
    ] {
        row(name, was.into(), is.into());
    }
    table.text()
}

fn jobs(jobs: &[JobDifference], clock: ShopClock) -> String {
    if jobs.is_empty() {
        return "No job comes out otherwise.".to_owned();
    }
    let mut table =
        Table::new(&["job", "promise", "finish as it is", "finish supposed", "min late", "moved"]);
    for job in jobs {
        let added = if job.added { " (added)" } else { "" };
        table.row([
            format!("{}{added}", job.job_name),
            clock.show(job.promise_time.as_ref()),
            clock.show(job.before_finish_time.as_ref()),
            clock.show(job.after_finish_time.as_ref()),
            format!("{} -> {}", job.before_late_minutes, job.after_late_minutes),
            job.moved_tasks.to_string(),
        ]);
    }
    table.text()
}

#[cfg(test)]
mod tests {
    use super::*;
    use prost_types::Timestamp;

    #[test]
    fn a_report_stands_as_it_is_beside_as_supposed() {
        let at = |minutes: i64| Some(Timestamp { seconds: 1_777_962_600 + minutes * 60, nanos: 0 });
        let before =
            DayOutcome { cost_less_changes: 100, planned_tasks: 4, ..DayOutcome::default() };
        let after = DayOutcome {
            cost_less_changes: 160,
            planned_tasks: 4,
            late_jobs: 1,
            late_minutes: 30,
            ..DayOutcome::default()
        };
        let job = JobDifference {
            job_name: "J-1".to_owned(),
            promise_time: at(60),
            before_finish_time: at(60),
            after_finish_time: at(90),
            after_late_minutes: 30,
            moved_tasks: 2,
            ..JobDifference::default()
        };
        let found = WhatIfReport {
            sentences: vec!["Bay bay-4 is closed.".to_owned()],
            before: Some(before),
            after: Some(after),
            jobs: vec![job],
            moved_tasks: 2,
            days: 1,
            caution: "Mind this.".to_owned(),
        };
        let expected = "\
Supposed:
  Bay bay-4 is closed.

OVER 1 DAY(S)      AS IT IS  SUPPOSED  DIFFERENCE
cost less changes  100       160       +60
late jobs          0         1         +1
minutes late       0         30        +30
jobs left out      0         0         +0
tasks planned      4         4         +0
tasks not planned  0         0         +0

JOB  PROMISE                FINISH AS IT IS        FINISH SUPPOSED        MIN LATE  MOVED
J-1  2026-05-05 08:30 WEST  2026-05-05 08:30 WEST  2026-05-05 09:00 WEST  0 -> 30   2

2 task(s) would be planned otherwise. Nothing was kept; small differences may be the search's.

Caution: Mind this.";
        assert_eq!(report(&found, ShopClock::new("Europe/Lisbon").unwrap()), expected);
    }
}
