//! Road drives: what managers say of the roads, and when a drive can take place.

use super::{
    estimates::inside,
    known_shop::{known_shop, not_there},
    plans::{Today, standing_entries, today},
};
use crate::{
    app::App,
    caution::CAUTION,
    error::ServiceError,
    limits::{ROAD_ENTRIES_MAX, SUN_DAYS_MAX},
    snapshot::ShopSnapshot,
    storage::{Call, Done, road_entries as table},
};
use baywright_api::{
    sun::window,
    time::{date_from, date_text, timestamp},
    v1,
};
use baywright_core::{
    calendar::WindowSet,
    demand::{Method, Procedure, WorkPlace},
    fault::{Fault, Faults},
    run_times::RoadEntry,
    work::TaskState,
};
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use sea_orm::DatabaseTransaction;

/// Records an entry about the roads.
///
/// # Errors
/// Every fault of the entry at once; an entry that has ended; too many that stand.
pub async fn record_road_entry(
    app: &App,
    request: v1::RecordRoadEntryRequest,
) -> Result<v1::RecordRoadEntryResponse, ServiceError> {
    let call = App::call(&request, app.clock.now())?;
    let message = request.entry.as_ref().ok_or_else(|| {
        Fault::new("entry", "absent", "be given", "say what is known of the roads")
    })?;
    let entry = RoadEntry::try_from(message).map_err(|faults| inside("entry", faults))?;
    let message = v1::RoadEntry {
        shop_id: request.shop_id.clone(),
        number: 0,
        actor: request.actor.clone(),
        recorded_time: Some(timestamp(call.at())),
        withdrawn_time: None,
        withdrawn_by: String::new(),
        ..message.clone()
    };
    app.database
        .exactly_once(call.clone(), (call, entry, message), |tx, (call, entry, message)| {
            Box::pin(record(tx, call, entry, message))
        })
        .await
}

async fn record(
    tx: &DatabaseTransaction,
    call: &Call,
    entry: &RoadEntry,
    message: &v1::RoadEntry,
) -> Result<Done<v1::RecordRoadEntryResponse>, ServiceError> {
    let shop_id = call.shop_id().as_str();
    known_shop(tx, shop_id).await?;
    if entry.window.end() <= call.at() {
        return Err(Fault::new(
            "entry.until_time",
            entry.window.end().to_rfc3339(),
            format!("lie after now, {}", call.at().to_rfc3339()),
            "record what holds now or later",
        )
        .into());
    }
    let standing = standing_entries(tx, shop_id, call.at()).await?;
    if standing.len() >= usize::try_from(ROAD_ENTRIES_MAX).unwrap_or(usize::MAX) {
        let limit = format!("have at most {ROAD_ENTRIES_MAX} entries about the roads that stand");
        return Err(
            Fault::new("shop_id", shop_id, limit, "withdraw some that no longer hold").into()
        );
    }
    let kept = table::insert_road_entry(tx, message.clone()).await?;
    let reply = v1::RecordRoadEntryResponse { entry: Some(kept.clone()) };
    Ok(Done::new(reply).changed("road-entry", kept.number.to_string(), None, Some(&kept)))
}

/// Withdraws an entry about the roads.
///
/// # Errors
/// No such entry; one that was withdrawn before.
pub async fn withdraw_road_entry(
    app: &App,
    request: v1::WithdrawRoadEntryRequest,
) -> Result<v1::WithdrawRoadEntryResponse, ServiceError> {
    let call = App::call(&request, app.clock.now())?;
    app.database
        .exactly_once(call.clone(), (call, request.number), |tx, (call, number)| {
            Box::pin(withdraw(tx, call, *number))
        })
        .await
}

async fn withdraw(
    tx: &DatabaseTransaction,
    call: &Call,
    number: u32,
) -> Result<Done<v1::WithdrawRoadEntryResponse>, ServiceError> {
    let shop_id = call.shop_id().as_str();
    let name = number.to_string();
    let before = table::load_road_entry(tx, shop_id, number).await?;
    let Some(before) = before else {
        return Err(not_there(tx, shop_id, "road entry", &name).await);
    };
    if before.withdrawn_time.is_some() {
        return Err(ServiceError::IllegalTransition {
            kind: "road entry",
            id: name,
            state: "withdrawn".to_owned(),
            wanted: "withdrawn".to_owned(),
        });
    }
    let after = v1::RoadEntry {
        withdrawn_time: Some(timestamp(call.at())),
        withdrawn_by: call.actor().to_owned(),
        ..before.clone()
    };
    table::save_withdrawn(tx, &after).await?;
    let reply = v1::WithdrawRoadEntryResponse { entry: Some(after.clone()) };
    Ok(Done::new(reply).changed("road-entry", name, Some(&before), Some(&after)))
}

/// Lists the entries that hold now or later.
///
/// # Errors
/// No such shop.
pub async fn list_road_entries(
    app: &App,
    request: v1::ListRoadEntriesRequest,
) -> Result<v1::ListRoadEntriesResponse, ServiceError> {
    let now = app.clock.now();
    app.database
        .read((request.shop_id, now), |tx, (shop_id, now)| {
            Box::pin(async move {
                known_shop(tx, shop_id).await?;
                let entries = standing_entries(tx, shop_id, *now).await?;
                Ok(v1::ListRoadEntriesResponse { entries })
            })
        })
        .await
}

/// When drives can take place on a date, and which tasks wait for them.
///
/// # Errors
/// No such shop; a date that is none or too far away.
pub async fn list_road_windows(
    app: &App,
    request: v1::ListRoadWindowsRequest,
) -> Result<v1::ListRoadWindowsResponse, ServiceError> {
    let now = app.clock.now();
    let shop = app.snapshot(&request.shop_id, now).await?;
    let date = date_near(&shop, "date", &request.date)?;
    let day = shop.local_day(date).ok_or_else(|| date_fault("date", &request.date))?;
    let (today, entries) = app
        .database
        .read((request.shop_id, now, day.start()), |tx, (shop_id, now, midnight)| {
            Box::pin(async move {
                // The morning's entries belong to the day even when they have ended.
                let entries = standing_entries(tx, shop_id, *midnight).await?;
                Ok((today(tx, shop_id, *now).await?, entries))
            })
        })
        .await?;
    let mut touching = Vec::new();
    for message in entries {
        let entry = RoadEntry::try_from(&message).map_err(ServiceError::internal)?;
        if entry.window.intersection(day).is_some() {
            touching.push((message, entry));
        }
    }
    let said: Vec<_> = touching.iter().map(|(_, entry)| entry.clone()).collect();
    let procedures = &shop.definition().parts().procedures;
    let methods = procedures.iter().flat_map(road_methods);
    let methods = methods.filter_map(|way| road_windows(&shop, way, &said, (date, day.start())));
    Ok(v1::ListRoadWindowsResponse {
        date: date_text(date),
        methods: methods.collect(),
        waiting: waiting(&shop, &today),
        entries: touching.into_iter().map(|(message, _)| message).collect(),
        caution: CAUTION.to_owned(),
    })
}

fn road_methods(procedure: &Procedure) -> impl Iterator<Item = (&Procedure, &Method)> {
    let methods = procedure.methods().iter().filter(|method| method.place() == WorkPlace::Road);
    methods.map(move |method| (procedure, method))
}

fn road_windows(
    shop: &ShopSnapshot,
    (procedure, method): (&Procedure, &Method),
    entries: &[RoadEntry],
    (date, midnight): (NaiveDate, DateTime<Utc>),
) -> Option<v1::RoadWindows> {
    let times = shop.run_times_on_road(method, entries, (midnight, 1))?;
    let usable: WindowSet =
        entries.iter().filter(|entry| entry.usable).map(|entry| entry.window).collect();
    let confirmed = times.free().intersection(&usable);
    let open = times.free().difference(&usable);
    let mut windows: Vec<_> = [(confirmed, true), (open, false)]
        .iter()
        .flat_map(|(set, confirmed)| set.iter().map(move |one| (one, *confirmed)))
        .collect();
    windows.sort_by_key(|(one, _)| one.start());
    let windows = windows
        .into_iter()
        .map(|(one, confirmed)| v1::RoadWindow { window: Some(window(one)), confirmed });
    let zone = shop.definition().parts().shop.parts().hours.zone();
    Some(v1::RoadWindows {
        procedure_id: procedure.id().to_string(),
        method_id: method.id().to_string(),
        sun_elevation_min_deg: method.sun().elevation_min_deg,
        windows: windows.collect(),
        barred: times.sentences(zone, date),
        run_minutes: method.minutes().run(),
    })
}

fn waiting(shop: &ShopSnapshot, today: &Today) -> Vec<v1::WaitingDrive> {
    let mut waiting = Vec::new();
    for job in &today.jobs {
        for task in job.tasks.iter().filter(|task| task.state == TaskState::Open) {
            let procedure = shop.definition().procedure(&task.procedure);
            if procedure.is_none_or(|procedure| road_methods(procedure).next().is_none()) {
                continue;
            }
            let planned =
                today.previous.iter().find(|one| one.job == job.id && one.task == task.id);
            waiting.push(v1::WaitingDrive {
                job_id: job.id.to_string(),
                task_id: task.id.to_string(),
                procedure_id: task.procedure.to_string(),
                planned: planned.map(Into::into),
            });
        }
    }
    waiting
}

/// A local date that the sun may be asked for; empty means today.
pub(super) fn date_near(
    shop: &ShopSnapshot,
    field: &str,
    text: &str,
) -> Result<NaiveDate, ServiceError> {
    if text.is_empty() {
        return Ok(shop.date());
    }
    let date = date_from(text).map_err(|faults| named(field, faults))?;
    if (date - shop.date()).num_days().abs() > SUN_DAYS_MAX {
        return Err(date_fault(field, text).into());
    }
    Ok(date)
}

fn date_fault(field: &str, text: &str) -> Fault {
    let limit = format!("lie at most {SUN_DAYS_MAX} days from today");
    Fault::new(field, text, limit, "ask for a nearer date")
}

fn named(field: &str, faults: Faults) -> ServiceError {
    let mut list = baywright_core::fault::FaultList::new();
    for fault in faults.into_list() {
        list.push(Fault { field: field.to_owned(), ..fault });
    }
    match list.finish(NaiveTime::MIN) {
        Ok(_) => ServiceError::internal("a refused date left no fault"),
        Err(faults) => faults.into(),
    }
}
