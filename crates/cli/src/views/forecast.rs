//! A forecast: week by week, then bays and people, then what it counted with.

use super::caution;
use crate::clock::ShopClock;
use crate::table::Table;
use baywright_api::v1::{
    ForecastReport, MinutesSpread, MinutesUsed, PercentileRange, WeekForecast,
};

/// The whole report.
pub(crate) fn report(report: &ForecastReport, clock: ShopClock) -> String {
    let mut parts = vec![format!(
        "{}\n{} runs, seed {}. Of three figures a tenth, half and nine tenths of the runs gave no more.",
        report.basis, report.runs, report.seed
    )];
    parts.push(weeks(&report.weeks, clock));
    parts.push(used(report));
    parts.push(minutes(&report.minutes));
    if !report.outside.is_empty() {
        let outside = report.outside.iter().map(|one| {
            let work = one.work.clone().unwrap_or_default();
            format!("  {}/{}: {}", work.procedure_id, work.vehicle_class_id, one.reason)
        });
        let outside: Vec<_> = outside.collect();
        parts.push(format!("Cannot be done here, and not counted with:\n{}", outside.join("\n")));
    }
    parts.push(format!("Taken for granted:\n  {}", report.assumptions.join("\n  ")));
    parts.push(caution(&report.caution));
    parts.join("\n\n")
}

fn weeks(weeks: &[WeekForecast], clock: ShopClock) -> String {
    let heading = ["week from", "tasks come", "done", "hours", "late jobs", "waiting at its end"];
    let mut table = Table::new(&heading);
    for week in weeks {
        table.row([
            clock.show(week.start_time.as_ref()),
            range(week.come_tasks, 0),
            range(week.done_tasks, 0),
            range(week.done_hours, 1),
            range(week.late_jobs, 0),
            range(week.waiting_tasks, 0),
        ]);
    }
    table.text()
}

fn used(report: &ForecastReport) -> String {
    let mut table = Table::new(&["bay or technician", "percent of open time or shift"]);
    for bay in &report.bays {
        table.row([bay.bay_id.clone(), range(bay.used_percent, 0)]);
    }
    for technician in &report.technicians {
        table.row([technician.technician_id.clone(), range(technician.used_percent, 0)]);
    }
    table.text()
}

fn minutes(all: &[MinutesUsed]) -> String {
    let heading =
        ["procedure", "method", "written min", "past median (p10 to p90)", "counted with"];
    let mut table = Table::new(&heading);
    for one in all {
        table.row([
            one.procedure_id.clone(),
            one.method_id.clone(),
            one.written_minutes.to_string(),
            one.past.as_ref().map(spread).unwrap_or_default(),
            if one.used_past { "past" } else { "written" }.to_owned(),
        ]);
        for person in &one.by_technician {
            table.row([
                String::new(),
                person.technician_id.clone(),
                String::new(),
                person.past.as_ref().map(spread).unwrap_or_default(),
                String::new(),
            ]);
        }
    }
    table.text()
}

fn spread(spread: &MinutesSpread) -> String {
    format!(
        "{} ({} to {}) of {}",
        spread.median_minutes, spread.p10_minutes, spread.p90_minutes, spread.attempts
    )
}

fn range(range: Option<PercentileRange>, digits: usize) -> String {
    let PercentileRange { p10, p50, p90 } = range.unwrap_or_default();
    format!("{p10:.digits$} / {p50:.digits$} / {p90:.digits$}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{BayUse, TechnicianMinutes};
    use prost_types::Timestamp;

    #[test]
    fn a_forecast_is_shown_with_the_minutes_that_it_counted_with() {
        let of = |p10, p50, p90| Some(PercentileRange { p10, p50, p90 });
        let past =
            MinutesSpread { attempts: 6, median_minutes: 38, p10_minutes: 30, p90_minutes: 55 };
        let week = WeekForecast {
            start_time: Some(Timestamp { seconds: 1_777_962_600, nanos: 0 }),
            come_tasks: of(8.0, 10.0, 13.0),
            done_tasks: of(8.0, 10.0, 12.0),
            done_hours: of(4.0, 5.0, 6.0),
            late_jobs: of(0.0, 0.0, 1.0),
            waiting_tasks: of(0.0, 0.0, 1.0),
        };
        let report_of = ForecastReport {
            basis: "A stated mix of work.".to_owned(),
            weeks: vec![week],
            bays: vec![BayUse { bay_id: "bay-1".to_owned(), used_percent: of(8.0, 10.5, 13.0) }],
            minutes: vec![MinutesUsed {
                procedure_id: "radar".to_owned(),
                method_id: "static".to_owned(),
                written_minutes: 30,
                past: Some(past),
                by_technician: vec![TechnicianMinutes {
                    technician_id: "ines".to_owned(),
                    past: Some(past),
                }],
                used_past: true,
            }],
            runs: 20,
            seed: 1,
            assumptions: vec!["Nothing fails.".to_owned()],
            caution: "Mind this.".to_owned(),
            ..ForecastReport::default()
        };
        let text = report(&report_of, ShopClock::new("Europe/Lisbon").unwrap());
        for line in [
            "2026-05-05 07:30 WEST  8 / 10 / 13  8 / 10 / 12  4.0 / 5.0 / 6.0  0 / 0 / 1  0 / 0 / 1",
            "radar      static  30           38 (30 to 55) of 6        past",
            "-          ines    -            38 (30 to 55) of 6        -",
            "Taken for granted:\n  Nothing fails.",
            "Caution: Mind this.",
        ] {
            assert!(text.contains(line), "{line}\n{text}");
        }
    }
}
