//! What changed since the evening: the audit trail from then on, one item per thing.

use super::audit::change_of;
use crate::{
    error::ServiceError,
    limits::{CHANGED_THINGS_MAX, CHANGES_DAYS_MAX, CHANGES_READ_MAX},
    storage::{
        AuditRow,
        audit::{AuditFilter, AuditOrder, list_audit},
    },
};
use baywright_api::{
    time::{instant_from, timestamp},
    v1,
};
use baywright_core::{
    calendar::{OpenHours, Window},
    fault::Fault,
};
use chrono::{DateTime, TimeDelta, Utc};
use prost_types::Timestamp;
use sea_orm::DatabaseTransaction;
use std::collections::{BTreeMap, BTreeSet};

/// Rows that are read at once.
const ROWS_AT_ONCE: u32 = 200;

/// Since when changes are told: as asked, else since the last closing on a day before today.
///
/// # Errors
/// An instant that is none, lies ahead or too far back.
pub(super) fn changes_since(
    asked: Option<&Timestamp>,
    hours: &OpenHours,
    now: DateTime<Utc>,
) -> Result<DateTime<Utc>, ServiceError> {
    const FIELD: &str = "changes_since_time";
    let Some(asked) = asked else { return Ok(evening(hours, now)) };
    let since = instant_from(asked).map_err(|faults| {
        let fault = faults.into_list().into_iter().next();
        let fault = fault.map(|fault| Fault { field: FIELD.to_owned(), ..fault });
        fault.map_or_else(|| ServiceError::internal("a refused instant left no fault"), Into::into)
    })?;
    if since > now || now - since > TimeDelta::days(CHANGES_DAYS_MAX) {
        let limit = format!("lie within the last {CHANGES_DAYS_MAX} days");
        let remedy = "read the audit trail for what is older";
        return Err(Fault::new(FIELD, since.to_rfc3339(), limit, remedy).into());
    }
    Ok(since)
}

/// The shop's last closing on a local date before today; a day ago where it has been shut for long.
fn evening(hours: &OpenHours, now: DateTime<Utc>) -> DateTime<Utc> {
    let zone = hours.zone();
    let today = zone.local(now).date();
    let windows = hours.windows(now - TimeDelta::days(CHANGES_DAYS_MAX), now);
    let closings = windows.ok().into_iter().flat_map(|windows| {
        let ends: Vec<_> = windows.iter().map(Window::end).collect();
        ends
    });
    let before_today = closings.filter(|end| *end <= now && zone.local(*end).date() < today);
    before_today.max().unwrap_or(now - TimeDelta::days(1))
}

/// Everything that changed since an instant, the newest first, one item per thing; and whether there is
/// more.
pub(super) async fn changed_things(
    tx: &DatabaseTransaction,
    shop_id: &str,
    since: DateTime<Utc>,
) -> Result<(Vec<v1::ChangedThing>, bool), ServiceError> {
    let filter = AuditFilter { from: Some(since), ..AuditFilter::default() };
    let mut things = Things::default();
    let (mut before, mut read) = (i64::MAX, 0);
    let mut more = false;
    loop {
        let order = AuditOrder::NewestFirst(before);
        let rows = list_audit(tx, shop_id, &filter, order, ROWS_AT_ONCE).await?;
        let count = u32::try_from(rows.len()).unwrap_or(u32::MAX);
        for row in &rows {
            things.add(row);
            before = row.id;
        }
        read += count;
        if count < ROWS_AT_ONCE {
            break;
        }
        if read >= CHANGES_READ_MAX {
            more = true;
            break;
        }
    }
    let (listed, cut) = things.listed();
    Ok((listed, more || cut))
}

/// What became of things, told by rows from the newest to the oldest.
#[derive(Default)]
struct Things(BTreeMap<(String, String), Thing>);

struct Thing {
    newest: v1::ThingChange,
    oldest: v1::ThingChange,
    count: u32,
    methods: BTreeSet<String>,
    actors: BTreeSet<String>,
    last: (DateTime<Utc>, i64),
}

impl Things {
    fn add(&mut self, row: &AuditRow) {
        let change = change_of(row);
        let thing =
            self.0.entry((row.kind.clone(), row.thing_id.clone())).or_insert_with(|| Thing {
                newest: change,
                oldest: change,
                count: 0,
                methods: BTreeSet::new(),
                actors: BTreeSet::new(),
                last: (row.at, row.id),
            });
        thing.oldest = change;
        thing.count += 1;
        thing.methods.insert(row.method.clone());
        thing.actors.insert(row.actor.clone());
    }

    fn listed(self) -> (Vec<v1::ChangedThing>, bool) {
        let things = self.0.into_iter().filter_map(|((kind, thing_id), thing)| {
            // Came and went within the time: nothing is left of it but its record.
            let change = thing.overall()?;
            let (at, number) = thing.last;
            Some(v1::ChangedThing {
                kind,
                thing_id,
                change: change.into(),
                count: thing.count,
                methods: thing.methods.into_iter().collect(),
                actors: thing.actors.into_iter().collect(),
                last_time: Some(timestamp(at)),
                last_number: u64::try_from(number).unwrap_or_default(),
            })
        });
        let mut things: Vec<_> = things.collect();
        things.sort_by_key(|thing| std::cmp::Reverse(thing.last_number));
        let cut = things.len() > CHANGED_THINGS_MAX;
        things.truncate(CHANGED_THINGS_MAX);
        (things, cut)
    }
}

impl Thing {
    fn overall(&self) -> Option<v1::ThingChange> {
        use v1::ThingChange::{Added, Changed, Removed};
        match (self.oldest, self.newest) {
            (Added, Removed) => None,
            (Added, _) => Some(Added),
            (_, Removed) => Some(Removed),
            _ => Some(Changed),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_core::calendar::{TimeZone, WeeklyHours};
    use rstest::rstest;

    fn hours() -> OpenHours {
        let day = "08:00-12:00, 13:00-17:00";
        let week = WeeklyHours::parse([day, day, day, day, day, "", ""]).unwrap();
        OpenHours::new(TimeZone::UTC, week, Vec::new()).unwrap()
    }

    // 2026-03-02 is a Monday.
    #[rstest]
    #[case::in_the_morning("2026-03-03T09:00:00Z", "2026-03-02T17:00:00Z")]
    #[case::after_the_lunch_break("2026-03-03T13:30:00Z", "2026-03-02T17:00:00Z")]
    #[case::at_night("2026-03-03T22:00:00Z", "2026-03-02T17:00:00Z")]
    #[case::after_the_weekend("2026-03-02T09:00:00Z", "2026-02-27T17:00:00Z")]
    fn the_evening_is_the_last_closing_of_an_earlier_day(#[case] now: &str, #[case] since: &str) {
        let now = now.parse().unwrap();
        assert_eq!(
            changes_since(None, &hours(), now).unwrap(),
            since.parse::<DateTime<Utc>>().unwrap()
        );
    }

    #[rstest]
    #[case::ahead(1, false)]
    #[case::now(0, true)]
    #[case::a_month_ago(-31 * 24 * 60, true)]
    #[case::longer_ago(-31 * 24 * 60 - 1, false)]
    fn an_instant_may_be_asked_for(#[case] minutes: i64, #[case] taken: bool) {
        let now: DateTime<Utc> = "2026-03-03T09:00:00Z".parse().unwrap();
        let asked = timestamp(now + TimeDelta::minutes(minutes));
        assert_eq!(changes_since(Some(&asked), &hours(), now).is_ok(), taken);
    }
}
