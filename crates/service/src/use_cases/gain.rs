//! What single changes to the shop would bring, over a stated mix of work or over what came and what
//! was turned away in the last weeks.

use super::fit_details::{Asked, as_it_stands, fit_of};
use crate::{
    app::App,
    caution::CAUTION,
    error::ServiceError,
    off_thread::search_off_thread,
    snapshot::ShopSnapshot,
    storage::{
        jobs::{JobKey, list_jobs},
        turned_away::list_turned_away,
    },
};
use baywright_api::{
    gain::{mix_from, report_message},
    time::instant_from,
    v1::{self, JobState, TaskState},
};
use baywright_core::{
    calendar::WindowSet,
    daylight::{Azimuth, SunTrack},
    fault::Fault,
    fit::SunAsked,
    gain::{GainShop, WorkAsked, gain_report},
    ids::{ProcedureId, VehicleClassId},
};
use chrono::{DateTime, Duration, NaiveDate, Utc};
use prost_types::Timestamp;
use sea_orm::DatabaseTransaction;
use std::{collections::BTreeMap, sync::Arc};

/// Weeks looked back when the caller does not say.
const WEEKS_USUAL: u32 = 8;
/// The most weeks looked back.
const WEEKS_MAX: u32 = 104;
/// Jobs and entries read at once.
const PAGE: u32 = 500;
/// Pages read at most.
const PAGES_MAX: u32 = 100;

/// Reports what would bring more work in house.
///
/// # Errors
/// No such shop; a mix with faults; too many weeks; trouble of storage.
pub async fn report_gain(
    app: &App,
    request: v1::ReportGainRequest,
) -> Result<v1::ReportGainResponse, ServiceError> {
    let now = app.clock.now();
    let snapshot = app.snapshot(&request.shop_id, now).await?;
    let v1::ReportGainRequest { shop_id, mix, weeks } = &request;
    let asked = MixAsked { shop_id, mix, weeks: ("weeks", *weeks), now };
    let (mix, basis) = mix_of(app, &snapshot, asked).await?;
    let report = search_off_thread(move |_| report_message_of(&snapshot, &mix, basis)).await?;
    Ok(v1::ReportGainResponse { report: Some(report) })
}

/// Which mix of work is asked about.
#[derive(Debug, Clone, Copy)]
pub(super) struct MixAsked<'a> {
    pub(super) shop_id: &'a str,
    /// A stated mix; empty where it is counted.
    pub(super) mix: &'a [v1::WorkAsked],
    /// Weeks looked back, 0 for the usual ones, and the field that says so.
    pub(super) weeks: (&'a str, u32),
    pub(super) now: DateTime<Utc>,
}

/// The mix, stated or counted, with a sentence that says which.
///
/// # Errors
/// A mix with faults, or about work that the shop does not have; too many weeks; trouble of storage.
pub(super) async fn mix_of(
    app: &App,
    snapshot: &ShopSnapshot,
    asked: MixAsked<'_>,
) -> Result<(Vec<WorkAsked>, String), ServiceError> {
    let MixAsked { shop_id, mix, weeks: (field, weeks), now } = asked;
    let weeks = match weeks {
        0 => WEEKS_USUAL,
        weeks @ 1..=WEEKS_MAX => weeks,
        more => {
            let limit = format!("be 0 to {WEEKS_MAX}");
            return Err(Fault::new(field, more, limit, "leave it out for the usual 8").into());
        }
    };
    let stated = mix_from(mix)?;
    if !stated.is_empty() {
        known_work(snapshot, &stated)?;
        return Ok((WorkAsked::mix(stated)?, "A stated mix of work.".to_owned()));
    }
    let span = Span { since: now - Duration::weeks(i64::from(weeks)), until: now, weeks };
    let counted = app
        .database
        .read((shop_id.to_owned(), span), |tx, (shop_id, span)| {
            Box::pin(counted(tx, shop_id, *span))
        })
        .await?;
    let basis = format!(
        "What came and what was turned away in the {weeks} week(s) before now, by expected arrival."
    );
    Ok((WorkAsked::mix(counted)?, basis))
}

/// Refuses stated work whose names the shop does not have; what came in the past may have been retired
/// since.
fn known_work(shop: &ShopSnapshot, mix: &[WorkAsked]) -> Result<(), ServiceError> {
    let definition = shop.definition();
    for work in mix {
        if definition.procedure(&work.procedure).is_none() {
            return Err(ServiceError::not_found("procedure", work.procedure.as_str()));
        }
        if definition.vehicle_class(&work.class).is_none() {
            return Err(ServiceError::not_found("vehicle class", work.class.as_str()));
        }
    }
    Ok(())
}

fn report_message_of(snapshot: &ShopSnapshot, mix: &[WorkAsked], basis: String) -> v1::GainReport {
    let look_up = |asked: Asked<'_>| fit_of(snapshot, asked);
    let day = sunny_day(snapshot);
    let basis = match &day {
        Some((on, ..)) => format!("{basis} The sun is that of {on}, within the shop's hours."),
        None => basis,
    };
    let sun = day.as_ref().map(|(on, hours, track, bearing)| SunAsked {
        on: *on,
        hours,
        track,
        bearing: *bearing,
    });
    let shop = GainShop { sun, ..as_it_stands(snapshot, &look_up) };
    report_message(&gain_report(&shop, mix), basis, CAUTION)
}

/// The first date from the snapshot's own on, within a week, on which the shop has hours, with these and
/// the sun; none where the shop's position is not stated.
fn sunny_day(snapshot: &ShopSnapshot) -> Option<(NaiveDate, WindowSet, Arc<SunTrack>, Azimuth)> {
    let shop = &snapshot.definition().parts().shop;
    let bearing = shop.bearing()?;
    let open = |on: NaiveDate| {
        let day = snapshot.local_day(on)?;
        let hours = shop.parts().hours.windows(day.start(), day.end()).ok()?;
        (!hours.is_empty()).then_some((on, hours))
    };
    let (on, hours) = snapshot.date().iter_days().take(7).find_map(open)?;
    Some((on, hours, snapshot.sun_track(on)?, bearing))
}

/// A span of whole weeks.
#[derive(Debug, Clone, Copy)]
struct Span {
    since: DateTime<Utc>,
    until: DateTime<Utc>,
    weeks: u32,
}

impl Span {
    fn holds(&self, time: Option<&Timestamp>) -> bool {
        let at = time.and_then(|time| instant_from(time).ok());
        at.is_some_and(|at| self.since <= at && at <= self.until)
    }
}

/// What was asked in a span, by procedure and class.
async fn counted(
    tx: &DatabaseTransaction,
    shop_id: &str,
    span: Span,
) -> Result<Vec<WorkAsked>, ServiceError> {
    let mut counts: BTreeMap<(String, String), u32> = BTreeMap::new();
    let mut count = |procedure: &str, class: &str| {
        *counts.entry((procedure.to_owned(), class.to_owned())).or_default() += 1;
    };
    let states = [JobState::Expected, JobState::OnSite, JobState::HandedBack];
    // A promise lies after the expected arrival, so no job of the span stands before this key.
    let mut after = JobKey { promise: span.since, job_id: String::new() };
    for _ in 0..PAGES_MAX {
        let jobs = list_jobs(tx, shop_id, &states, Some(&after), PAGE).await?;
        for job in jobs.iter().filter(|job| span.holds(job.expected_arrival_time.as_ref())) {
            let class = job.vehicle.as_ref().map_or("", |vehicle| &vehicle.vehicle_class_id);
            let called = job.tasks.iter().filter(|task| {
                !matches!(
                    task.state(),
                    TaskState::Unspecified
                        | TaskState::Proposed
                        | TaskState::Declined
                        | TaskState::Cancelled
                )
            });
            called.for_each(|task| count(&task.procedure_id, class));
        }
        let Some(last) = jobs.last().filter(|_| jobs.len() == PAGE as usize) else { break };
        let promise = last.promise_time.as_ref().and_then(|time| instant_from(time).ok());
        let Some(promise) = promise else { break };
        after = JobKey { promise, job_id: last.job_id.clone() };
    }
    let mut before = None;
    for _ in 0..PAGES_MAX {
        let entries = list_turned_away(tx, shop_id, before, PAGE).await?;
        for entry in entries.iter().filter(|entry| span.holds(entry.turned_away_time.as_ref())) {
            let vehicle = entry.estimate.as_ref().and_then(|estimate| estimate.vehicle.as_ref());
            let class = vehicle.map_or("", |vehicle| &vehicle.vehicle_class_id);
            entry.needs.iter().for_each(|need| count(&need.procedure_id, class));
        }
        before = entries.last().map(|entry| entry.number);
        let older = entries.last().is_some_and(|last| !span.holds(last.turned_away_time.as_ref()));
        if entries.len() < PAGE as usize || older {
            break;
        }
    }
    let work = counts.into_iter().filter_map(|((procedure, class), count)| {
        Some(WorkAsked {
            procedure: ProcedureId::new(procedure).ok()?,
            class: VehicleClassId::new(class).ok()?,
            per_week: f64::from(count) / f64::from(span.weeks),
        })
    });
    Ok(work.collect())
}
