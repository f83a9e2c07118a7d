//! The gain report: what is in house, what is not, and what each change would bring.

use super::caution;
use crate::table::Table;
use baywright_api::v1::{GainReport, WorkAsked, WorkInHouse};

/// Totals, then one line for each change, then what cannot be done here.
pub(crate) fn report(report: &GainReport) -> String {
    let mut parts = vec![format!(
        "{}\nIn house: {:.1} task(s), {:.1} hour(s) a week. Not in house: {:.1} task(s) a week.",
        report.basis, report.in_house_tasks, report.in_house_hours, report.outside_tasks
    )];
    let mut table = Table::new(&["tasks/week", "hours/week", "bay", "change", "brings", "loses"]);
    for gain in &report.gains {
        let sentence = gain.change.as_ref().map(|change| change.sentence.clone());
        table.row([
            format!("{:+.1}", gain.tasks_per_week),
            format!("{:+.1}", gain.hours_per_week),
            gain.bay_id.clone(),
            sentence.unwrap_or_default(),
            names(&gain.brings),
            names(&gain.loses),
        ]);
    }
    if table.is_empty() {
        parts.push("No single change brings more of this work in house.".to_owned());
    } else {
        parts.push(table.text());
    }
    if !report.outside.is_empty() {
        let outside: Vec<_> = report.outside.iter().map(work).collect();
        parts.push(format!("Not in house: {}.", outside.join(", ")));
    }
    parts.push(
        "Space, level floor, light, sun and equipment are looked at: not people or promises."
            .to_owned(),
    );
    parts.push(caution(&report.caution));
    parts.join("\n\n")
}

fn names(work_in_house: &[WorkInHouse]) -> String {
    let works = work_in_house.iter().filter_map(|one| one.work.as_ref());
    works.map(work).collect::<Vec<_>>().join(", ")
}

fn work(asked: &WorkAsked) -> String {
    format!("{}/{} ({:.1})", asked.procedure_id, asked.vehicle_class_id, asked.per_week)
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{Gain, NearestMiss};

    fn van(per_week: f64) -> WorkAsked {
        WorkAsked {
            procedure_id: "front-camera".to_owned(),
            vehicle_class_id: "long-van".to_owned(),
            per_week,
        }
    }

    #[test]
    fn a_report_tells_totals_changes_and_what_is_left() {
        let gain = Gain {
            bay_id: "bay-1".to_owned(),
            change: Some(NearestMiss {
                sentence: "take cabinet away".to_owned(),
                ..NearestMiss::default()
            }),
            tasks_per_week: 2.0,
            hours_per_week: 1.5,
            brings: vec![WorkInHouse { work: Some(van(2.0)), minutes: 45 }],
            loses: vec![],
        };
        let text = report(&GainReport {
            basis: "A stated mix of work.".to_owned(),
            in_house: vec![],
            outside: vec![van(2.0)],
            in_house_tasks: 0.0,
            in_house_hours: 0.0,
            outside_tasks: 2.0,
            gains: vec![gain],
            caution: "c".to_owned(),
        });
        let expected = "\
A stated mix of work.
In house: 0.0 task(s), 0.0 hour(s) a week. Not in house: 2.0 task(s) a week.

TASKS/WEEK  HOURS/WEEK  BAY    CHANGE             BRINGS                        LOSES
+2.0        +1.5        bay-1  take cabinet away  front-camera/long-van (2.0)  -

Not in house: front-camera/long-van (2.0).

Space, level floor, light, sun and equipment are looked at: not people or promises.

Caution: c";
        assert_eq!(
            text.split_whitespace().collect::<Vec<_>>(),
            expected.split_whitespace().collect::<Vec<_>>()
        );
    }
}
