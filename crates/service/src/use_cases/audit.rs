//! Reading the audit trail: who changed what, by which call, and how.

mod field_changes;

#[cfg(test)]
mod tests;

use super::{
    known_shop::shop_exists,
    page::{PageSizes, page_key, page_size},
};
use crate::{
    app::App,
    error::ServiceError,
    limits::AUDIT_PAGE_BYTES_MAX,
    storage::{
        AuditRow,
        audit::{AuditFilter, AuditOrder, list_audit},
    },
    things,
};
use baywright_api::{
    time::{instant_from, timestamp},
    v1::{self, ThingChange},
};
use baywright_core::fault::{Fault, FaultList};
use chrono::{DateTime, Utc};
use field_changes::field_changes;
use prost::Message as _;
use prost_types::Timestamp;

const PAGES: PageSizes = PageSizes { usual: 50, most: 200 };

/// Rows that are read at once: their messages may be long.
const ROWS_AT_ONCE: u32 = 50;

/// Lists entries of a shop's audit trail.
///
/// # Errors
/// Every fault of the request; no such shop; trouble of storage.
pub async fn list_entries(
    app: &App,
    request: v1::ListAuditEntriesRequest,
) -> Result<v1::ListAuditEntriesResponse, ServiceError> {
    let size = page_size(request.page_size, PAGES)?;
    let after = page_key(&request.page_token, |token| {
        token.parse::<i64>().ok().filter(|number| *number > 0)
    })?;
    let filter = filter_of(&request)?;
    shop_exists(app, &request.shop_id).await?;
    let mut last = after.unwrap_or(if request.newest_first { i64::MAX } else { 0 });
    let mut page = v1::ListAuditEntriesResponse::default();
    let mut left = size;
    let mut bytes = 0;
    loop {
        let order = if request.newest_first {
            AuditOrder::NewestFirst(last)
        } else {
            AuditOrder::OldestFirst(last)
        };
        // One more than is wanted tells whether there is a next page.
        let limit = left.saturating_add(1).min(ROWS_AT_ONCE);
        let input = (request.shop_id.clone(), filter.clone(), order, limit);
        let rows = app
            .database
            .read(input, |tx, (shop_id, filter, order, limit)| {
                Box::pin(async move { Ok(list_audit(tx, shop_id, filter, *order, *limit).await?) })
            })
            .await?;
        let ended = rows.len() < usize::try_from(limit).unwrap_or(usize::MAX);
        for row in rows {
            if left == 0 || bytes >= AUDIT_PAGE_BYTES_MAX {
                page.next_page_token = last.to_string();
                return Ok(page);
            }
            let entry = entry_of(&row)?;
            bytes += entry.encoded_len();
            page.entries.push(entry);
            last = row.id;
            left -= 1;
        }
        if ended {
            return Ok(page);
        }
    }
}

fn filter_of(request: &v1::ListAuditEntriesRequest) -> Result<AuditFilter, ServiceError> {
    let mut faults = FaultList::new();
    let mut instant = |field: &str, time: Option<&Timestamp>| -> Option<DateTime<Utc>> {
        time.and_then(|time| faults.take(field, instant_from(time)))
    };
    let from = instant("from_time", request.from_time.as_ref());
    let until = instant("until_time", request.until_time.as_ref());
    if !request.thing_id.is_empty() && request.kind.is_empty() {
        faults.push(Fault::new(
            "kind",
            "empty",
            "be given where thing_id is: names are unique within a kind only",
            "name the kind, such as job",
        ));
    }
    if let (Some(from), Some(until)) = (from, until)
        && until <= from
    {
        faults.push(Fault::new(
            "until_time",
            until.to_rfc3339(),
            format!("lie after from_time, {}", from.to_rfc3339()),
            "give the earlier instant first",
        ));
    }
    Ok(faults.finish(AuditFilter {
        kind: request.kind.clone(),
        thing_id: request.thing_id.clone(),
        actor: request.actor.clone(),
        method: request.method.clone(),
        from,
        until,
    })?)
}

fn entry_of(row: &AuditRow) -> Result<v1::AuditEntry, ServiceError> {
    let json = |body: &Option<Vec<u8>>| {
        let json = body.as_ref().map(|body| things::json(&row.kind, body)).transpose()?;
        Ok::<_, ServiceError>(json.flatten())
    };
    let changes = field_changes(json(&row.before)?, json(&row.after)?);
    Ok(v1::AuditEntry {
        number: u64::try_from(row.id).unwrap_or_default(),
        time: Some(timestamp(row.at)),
        actor: row.actor.clone(),
        method: row.method.clone(),
        request_id: row.request_id.clone(),
        kind: row.kind.clone(),
        thing_id: row.thing_id.clone(),
        change: change_of(row).into(),
        fields: changes.listed,
        more_fields: changes.more,
    })
}

/// What became of the thing of a row.
pub(super) fn change_of(row: &AuditRow) -> ThingChange {
    match (&row.before, &row.after) {
        (None, _) => ThingChange::Added,
        (Some(_), None) => ThingChange::Removed,
        (Some(_), Some(_)) => ThingChange::Changed,
    }
}
