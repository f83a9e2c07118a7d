//! Road drives: when they can take place, and what managers say of the roads.

use super::caution;
use crate::clock::ShopClock;
use crate::table::Table;
use baywright_api::v1::{ListRoadWindowsResponse, RoadEntry, RoadWindow, RoadWindows};
use baywright_files::words::Word as _;

/// The windows of a day, what bars the rest, and who waits.
pub(crate) fn windows(reply: &ListRoadWindowsResponse, clock: ShopClock) -> String {
    let mut parts = vec![format!("Road drives on {}", reply.date)];
    let mut table =
        Table::new(&["procedure", "method", "run", "sun above", "drive", "said usable"]);
    for method in &reply.methods {
        rows(&mut table, method, clock);
    }
    if table.is_empty() {
        return "No procedure has a method that is done on the road.".to_owned();
    }
    parts.push(table.text());
    let barred = reply.methods.iter().flat_map(|method| {
        method
            .barred
            .iter()
            .map(|why| format!("  {}/{}: {why}", method.procedure_id, method.method_id))
    });
    let barred: Vec<_> = barred.collect();
    if !barred.is_empty() {
        parts.push(format!("Not then:\n{}", barred.join("\n")));
    }
    let mut waiting = Table::new(&["waits", "task", "procedure", "planned"]);
    for one in &reply.waiting {
        let planned = one.planned.as_ref().map(|planned| clock.show(planned.start_time.as_ref()));
        waiting.row([
            one.job_id.clone(),
            one.task_id.clone(),
            one.procedure_id.clone(),
            planned.unwrap_or_default(),
        ]);
    }
    parts.push(if waiting.is_empty() {
        "No task waits for a road drive.".to_owned()
    } else {
        waiting.text()
    });
    if !reply.entries.is_empty() {
        parts.push(entries(&reply.entries, clock));
    }
    parts.push(caution(&reply.caution));
    parts.join("\n\n")
}

fn rows(table: &mut Table, method: &RoadWindows, clock: ShopClock) {
    let mut row = |drive: String, said: &str| {
        let sun = method.sun_elevation_min_deg.map(|degrees| format!("{degrees} deg"));
        table.row([
            method.procedure_id.clone(),
            method.method_id.clone(),
            format!("{} min", method.run_minutes),
            sun.unwrap_or_default(),
            drive,
            said.to_owned(),
        ]);
    };
    if method.windows.is_empty() {
        row("not on this day".to_owned(), "");
    }
    for RoadWindow { window, confirmed } in &method.windows {
        let window = window.unwrap_or_default();
        let (from, until) = (window.start_time.as_ref(), window.end_time.as_ref());
        let said = if *confirmed { "yes" } else { "nobody yet" };
        row(format!("{} to {}", clock.show(from), clock.show_time(until)), said);
    }
}

/// One entry in full.
pub(crate) fn entry(entry: &RoadEntry, clock: ShopClock) -> String {
    let mut lines = vec![format!(
        "Road entry {}: {} from {} to {}: {}",
        entry.number,
        entry.condition().word(),
        clock.show(entry.from_time.as_ref()),
        clock.show(entry.until_time.as_ref()),
        entry.reason
    )];
    lines.push(format!("Said by {} {}", entry.actor, clock.show(entry.recorded_time.as_ref())));
    if entry.withdrawn_time.is_some() {
        let when = clock.show(entry.withdrawn_time.as_ref());
        lines.push(format!("Withdrawn by {} {when}", entry.withdrawn_by));
    }
    lines.join("\n")
}

/// One line per entry.
pub(crate) fn entries(entries: &[RoadEntry], clock: ShopClock) -> String {
    if entries.is_empty() {
        return "Nobody has said anything of the roads.".to_owned();
    }
    let mut table = Table::new(&["entry", "roads", "from", "until", "why", "said by"]);
    for entry in entries {
        table.row([
            entry.number.to_string(),
            entry.condition().word(),
            clock.show(entry.from_time.as_ref()),
            clock.show(entry.until_time.as_ref()),
            entry.reason.clone(),
            entry.actor.clone(),
        ]);
    }
    table.text()
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{Assignment, RoadCondition, TimeWindow, WaitingDrive};
    use prost_types::Timestamp;

    fn at(seconds: i64) -> Timestamp {
        // 2026-05-05T06:30:00Z; Lisbon keeps summer time then (IANA time zone database).
        Timestamp { seconds: 1_777_962_600 + seconds, nanos: 0 }
    }

    #[test]
    fn the_day_of_road_drives_reads_as_tables() {
        let reply = ListRoadWindowsResponse {
            date: "2026-05-05".to_owned(),
            methods: vec![RoadWindows {
                procedure_id: "road-drive".to_owned(),
                method_id: "loop".to_owned(),
                sun_elevation_min_deg: Some(6.0),
                windows: vec![
                    RoadWindow {
                        window: Some(TimeWindow {
                            start_time: Some(at(0)),
                            end_time: Some(at(3_600)),
                        }),
                        confirmed: true,
                    },
                    RoadWindow {
                        window: Some(TimeWindow {
                            start_time: Some(at(7_200)),
                            end_time: Some(at(9_000)),
                        }),
                        confirmed: false,
                    },
                ],
                barred: vec!["the road is unusable: ice from 08:30 to 09:30".to_owned()],
                run_minutes: 25,
            }],
            waiting: vec![WaitingDrive {
                job_id: "J-1".to_owned(),
                task_id: "road-drive".to_owned(),
                procedure_id: "road-drive".to_owned(),
                planned: Some(Assignment { start_time: Some(at(600)), ..Assignment::default() }),
            }],
            entries: vec![RoadEntry {
                number: 3,
                condition: RoadCondition::Unusable.into(),
                from_time: Some(at(3_600)),
                until_time: Some(at(7_200)),
                reason: "ice".to_owned(),
                actor: "Mia".to_owned(),
                ..RoadEntry::default()
            }],
            caution: String::new(),
        };
        let text = windows(&reply, ShopClock::new("Europe/Lisbon").unwrap());
        let expected = "\
Road drives on 2026-05-05

PROCEDURE   METHOD  RUN     SUN ABOVE  DRIVE                          SAID USABLE
road-drive  loop    25 min  6 deg      2026-05-05 07:30 WEST to 08:30  yes
road-drive  loop    25 min  6 deg      2026-05-05 09:30 WEST to 10:00  nobody yet

Not then:
  road-drive/loop: the road is unusable: ice from 08:30 to 09:30

WAITS  TASK        PROCEDURE   PLANNED
J-1    road-drive  road-drive  2026-05-05 07:40 WEST

ENTRY  ROADS     FROM                   UNTIL                  WHY  SAID BY
3      unusable  2026-05-05 08:30 WEST  2026-05-05 09:30 WEST  ice  Mia
";
        let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
        let (shown, _) = text.split_once("\n\nCaution: ").unwrap();
        assert_eq!(words(shown), words(expected));
    }

    #[test]
    fn a_day_without_a_window_says_so() {
        let reply = ListRoadWindowsResponse {
            methods: vec![RoadWindows::default()],
            ..ListRoadWindowsResponse::default()
        };
        let text = windows(&reply, ShopClock::new("Etc/UTC").unwrap());
        assert!(text.contains("not on this day") && text.contains("No task waits"), "{text}");
    }
}
