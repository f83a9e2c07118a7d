//! The search for a plan: what it rests on, read at one instant, and how far it goes.

use super::{Today, no_plan, today};
use crate::{
    app::App,
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{
        Call,
        audit::newest_audit_id,
        plans::{self as table, PlanTexts},
    },
    use_cases::offers,
};
use baywright_api::{plan::plan_message, time::timestamp, v1};
use baywright_core::{
    ids::JobId,
    planner::{EpochReport, SolveOptions},
    questions::{HeldOffer, reserved_jobs},
    shop_day::{PlannedDay, ShopState, plan_day},
    work::Job,
};
use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;
use sha2::{Digest as _, Sha256};
use std::{collections::BTreeSet, sync::Arc, time::Instant};

/// What a plan rests on.
#[derive(Debug)]
pub(in crate::use_cases) struct Basis {
    pub(in crate::use_cases) shop: Arc<ShopSnapshot>,
    pub(in crate::use_cases) today: Today,
    /// Offers that are held; their time is kept.
    pub(in crate::use_cases) held: Vec<HeldOffer>,
    pub(in crate::use_cases) now: DateTime<Utc>,
    /// Number of the last change in the audit trail that is surely in it.
    pub(in crate::use_cases) known_change: i64,
}

/// How far a search goes.
#[derive(Debug, Clone, Copy)]
pub(in crate::use_cases) struct Effort {
    pub(in crate::use_cases) days: u32,
    pub(in crate::use_cases) options: SolveOptions,
}

/// A planned day, and the jobs in it for which time is kept because an offer of them is held.
#[derive(Debug)]
pub(crate) struct Planned {
    pub(in crate::use_cases) day: PlannedDay,
    pub(in crate::use_cases) offered: BTreeSet<JobId>,
    /// The jobs that were planned, those that are only offered among them.
    pub(in crate::use_cases) jobs: Vec<Job>,
    basis_hash: Vec<u8>,
    days: u32,
    known_change: i64,
    search_ms: u32,
}

impl Basis {
    /// Reads what a plan of the shop at `now` rests on.
    pub(in crate::use_cases) async fn read(
        app: &App,
        shop_id: &str,
        now: DateTime<Utc>,
    ) -> Result<Self, ServiceError> {
        let shop_id = shop_id.to_owned();
        // Read before all the rest, so that a change that comes between counts as unknown.
        let known_change = app
            .database
            .read(shop_id.clone(), |tx, shop_id| {
                Box::pin(async move { Ok(newest_audit_id(tx, shop_id).await?) })
            })
            .await?;
        let shop = app.snapshot(&shop_id, now).await?;
        let (today, held) = app
            .database
            .read((shop_id, now), |tx, (shop_id, now)| {
                Box::pin(async move {
                    let held = offers::held(tx, shop_id, *now).await?;
                    Ok((today(tx, shop_id, *now).await?, held))
                })
            })
            .await?;
        Ok(Self { shop, today, held, now, known_change })
    }

    /// A hash of everything but the plan that stands: where it is the same, nothing has changed. The text is
    /// that of this release; another one may hash the same state otherwise, and plans once more.
    pub(in crate::use_cases) fn hash(&self) -> Vec<u8> {
        let Self { shop, today, held, now: _, known_change: _ } = self;
        let Today { jobs, holds, previous: _, doubts, road } = today;
        let text = format!("{:?}", (shop.version(), jobs, holds, doubts, road, held));
        Sha256::digest(text).to_vec()
    }

    /// Searches; `stop` is asked between epochs. Takes long: not for the threads that answer.
    pub(in crate::use_cases) fn search(
        &self,
        effort: Effort,
        stop: &mut dyn FnMut(&EpochReport) -> bool,
    ) -> Result<Planned, ServiceError> {
        let begun = Instant::now();
        let known_change = self.known_change;
        let (day, jobs, offered) = self.with_state(effort.days, |state, offered| {
            let day = plan_day(state, effort.options, stop).map_err(no_plan)?;
            Ok::<_, ServiceError>((day, state.jobs.to_vec(), offered.clone()))
        })?;
        let search_ms = u32::try_from(begun.elapsed().as_millis()).unwrap_or(u32::MAX);
        let (basis_hash, days) = (self.hash(), effort.days);
        Ok(Planned { day, offered, jobs, basis_hash, days, known_change, search_ms })
    }

    /// Does something with the state that a plan of so many days is made from, and the jobs in it that are
    /// only offered.
    pub(in crate::use_cases) fn with_state<T>(
        &self,
        days: u32,
        work: impl FnOnce(&ShopState<'_>, &BTreeSet<JobId>) -> T,
    ) -> T {
        let Self { shop, today, held, now, known_change: _ } = self;
        let hosts = shop.hosts_ahead_without(&today.doubts);
        let reserved = reserved_jobs(held, &today.jobs, shop.definition(), *now);
        let offered = reserved.iter().map(|job| job.id.clone()).collect();
        let jobs: Vec<_> = today.jobs.iter().cloned().chain(reserved).collect();
        let runs = shop.bound_runs(&today.classes(), &today.road, (*now, days));
        let state = ShopState {
            shop: shop.definition(),
            jobs: &jobs,
            hosts: &hosts,
            clashes: shop.clashes_ahead(),
            runs: &runs,
            closed: &[],
            holds: &today.holds,
            previous: &today.previous,
            now: *now,
            days,
        };
        work(&state, &offered)
    }
}

impl Planned {
    /// Keeps it as the next revision, on behalf of the call.
    pub(super) async fn keep(
        &self,
        tx: &DatabaseTransaction,
        call: &Call,
    ) -> Result<v1::Plan, ServiceError> {
        let shop_id = call.shop_id().as_str();
        let plan = v1::Plan {
            shop_id: shop_id.to_owned(),
            revision: table::next_plan_revision(tx, shop_id).await?,
            made_time: Some(timestamp(call.at())),
            days: self.days,
            search_ms: self.search_ms,
            actor: call.actor().to_owned(),
            basis_hash: self.basis_hash.clone(),
            known_change: u64::try_from(self.known_change).unwrap_or_default(),
            ..plan_message(&self.day, &self.offered)
        };
        let (problem, file) = (self.day.problem.to_json(), self.day.plan.to_json());
        table::insert_plan(tx, &plan, &PlanTexts { problem, plan: file }).await?;
        Ok(plan)
    }
}
