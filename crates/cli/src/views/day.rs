//! The questions of the day, for a person.

use crate::clock::ShopClock;
use crate::table::Table;
use baywright_api::v1::whereabouts::Where;
use baywright_api::v1::{
    GetTodayResponse, ListChasesResponse, ListFinishesResponse, ListFreeBaysResponse,
    ListUnitUsesResponse, LocateVehicleResponse, ProjectedFinish,
};
use baywright_files::words::Word as _;

pub(crate) fn chases(reply: &ListChasesResponse, clock: ShopClock) -> String {
    if reply.chases.is_empty() {
        return "Nobody is to be chased.".to_owned();
    }
    let mut blocks = Vec::new();
    for chase in &reply.chases {
        let party = if chase.party.is_empty() { "nobody is named" } else { &chase.party };
        let mut table = Table::new(&["job", "what", "expected", "keeps waiting", "promise"]);
        for item in &chase.items {
            let expected = match (&item.expected_time, item.overdue) {
                (None, _) => "no time".to_owned(),
                (time, true) => format!("{} overdue", clock.show(time.as_ref())),
                (time, false) => clock.show(time.as_ref()),
            };
            table.row([
                item.job_id.clone(),
                item.sentence.clone(),
                expected,
                item.task_ids.join(", "),
                clock.show(item.promise_time.as_ref()),
            ]);
        }
        blocks.push(format!("Ask: {party}\n{}", table.text()));
    }
    blocks.join("\n\n")
}

pub(crate) fn finishes(reply: &ListFinishesResponse, clock: ShopClock) -> String {
    if reply.finishes.is_empty() {
        return "No job is expected or on site.".to_owned();
    }
    let table = finish_table(&reply.finishes, clock);
    format!("By plan {}.\n{}", reply.plan_revision, table.text())
}

fn finish_table(finishes: &[ProjectedFinish], clock: ShopClock) -> Table {
    let mut table = Table::new(&["job", "promise", "finish", "late", "not planned"]);
    for finish in finishes {
        let late = match finish.late_minutes {
            0 => String::new(),
            minutes => format!("{minutes} min"),
        };
        let known = finish.finish_time.as_ref().map(|time| clock.show(Some(time)));
        table.row([
            finish.job_id.clone(),
            clock.show(finish.promise_time.as_ref()),
            known.unwrap_or_else(|| "not known".to_owned()),
            late,
            finish.unplanned_task_ids.join(", "),
        ]);
    }
    table
}

pub(crate) fn whereabouts(reply: &LocateVehicleResponse, clock: ShopClock) -> String {
    let stands = match reply.whereabouts.as_ref().and_then(|one| one.r#where.as_ref()) {
        Some(Where::Place(place)) => super::place(place),
        Some(Where::SpotId(spot)) => spot.clone(),
        None => "not known, or on the road".to_owned(),
    };
    let keys = if reply.key_tag.is_empty() { "not known" } else { &reply.key_tag };
    let mut lines = vec![format!("Stands at: {stands}"), format!("Keys:      {keys}")];
    if !reply.moved_by.is_empty() {
        let when = clock.show(reply.moved_time.as_ref());
        lines.push(format!("Said by:   {} {when}", reply.moved_by));
    }
    lines.push(match &reply.holding {
        Some(holding) => {
            format!("Work:      task {} by {}", holding.task_id, holding.technician_ids.join(", "))
        }
        None => "Work:      nobody works on it now".to_owned(),
    });
    lines.join("\n")
}

pub(crate) fn units(reply: &ListUnitUsesResponse, clock: ShopClock) -> String {
    let mut table = Table::new(&["unit", "kind", "now", "where", "until", "next use"]);
    for one in &reply.uses {
        let now = if !one.technician_id.is_empty() {
            format!("{} on {}/{}", one.technician_id, one.job_id, one.task_id)
        } else if one.out.is_empty() {
            "free".to_owned()
        } else {
            format!("out: {}", one.out)
        };
        let next = one.next.as_ref().map(|next| {
            format!("{} {}/{}", clock.show(next.start_time.as_ref()), next.job_id, next.task_id)
        });
        let until = one.until_time.as_ref().map(|time| clock.show(Some(time)));
        table.row([
            one.unit_id.clone(),
            one.unit_kind_id.clone(),
            now,
            one.place.as_ref().map(super::place).unwrap_or_default(),
            until.unwrap_or_default(),
            next.unwrap_or_default(),
        ]);
    }
    table.text()
}

pub(crate) fn free_bays(reply: &ListFreeBaysResponse, clock: ShopClock) -> String {
    if reply.bays.is_empty() {
        return "No fitting bay is free now.".to_owned();
    }
    let mut table = Table::new(&["place", "method", "free until", "minutes", "method takes"]);
    for free in &reply.bays {
        table.row([
            free.place.as_ref().map(super::place).unwrap_or_default(),
            free.method_id.clone(),
            clock.show(free.until_time.as_ref()),
            free.free_minutes.to_string(),
            format!("{} min", free.method_minutes),
        ]);
    }
    table.text()
}

pub(crate) fn today(reply: &GetTodayResponse, clock: ShopClock) -> String {
    let mut blocks = vec![format!("{}, plan {}", reply.date, reply.plan_revision)];
    blocks.push(changed(reply, clock));
    let mut begins = Table::new(&["begins", "job", "task", "place", "technicians"]);
    for one in &reply.begins {
        begins.row([
            clock.show_time(one.start_time.as_ref()),
            one.job_id.clone(),
            one.task_id.clone(),
            one.place.as_ref().map(super::place).unwrap_or_default(),
            one.technician_ids.join(", "),
        ]);
    }
    if !begins.is_empty() {
        blocks.push(begins.text());
    }
    if !reply.late.is_empty() {
        blocks.push(format!("Late:\n{}", finish_table(&reply.late, clock).text()));
    }
    if !reply.waiting.is_empty() {
        blocks.push(format!("Waiting:\n{}", finish_table(&reply.waiting, clock).text()));
    }
    if !reply.expected_job_ids.is_empty() {
        blocks.push(format!("Expected today: {}", reply.expected_job_ids.join(", ")));
    }
    if !reply.expiring.is_empty() {
        let mut table = Table::new(&["runs out", "what to do"]);
        for one in &reply.expiring {
            table.row([one.date.clone(), one.sentence.clone()]);
        }
        blocks.push(table.text());
    }
    blocks.push(super::caution(&reply.caution));
    blocks.join("\n\n")
}

fn changed(reply: &GetTodayResponse, clock: ShopClock) -> String {
    let since = clock.show(reply.changes_since_time.as_ref());
    if reply.changed.is_empty() {
        return format!("Nothing changed since {since}.");
    }
    let mut table = Table::new(&["what", "name", "change", "times", "by", "last"]);
    for one in &reply.changed {
        table.row([
            one.kind.clone(),
            one.thing_id.clone(),
            one.change().word(),
            one.count.to_string(),
            one.actors.join(", "),
            clock.show(one.last_time.as_ref()),
        ]);
    }
    let more = if reply.more_changed { "\nThere is more; see the audit trail." } else { "" };
    format!("Changed since {since}:\n{}{more}", table.text())
}
