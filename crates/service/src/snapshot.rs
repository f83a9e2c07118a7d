//! What is written down and surveyed about a shop, converted once, with every fit that follows.
//!
//! Fits are computed here, outside of any transaction, and kept as long as the shop's stamp and its
//! local date stay the same; of a shop that has changed only the bays that are concerned are computed
//! again, and shops wait for no other shop. A transaction that rests on a snapshot checks the stamp first; when the
//! shop has changed meanwhile it gives up, and the use case tries again with a new snapshot.

mod bay_fits;
mod stored;
mod sun;

use crate::{
    app::App,
    error::ServiceError,
    off_thread::off_thread,
    storage::{
        Call, Done, Work,
        definitions::Definition,
        stamps::{Stamp, shop_stamp},
    },
};
use bay_fits::{BayFits, Ground, fits_by_bay};
use baywright_core::{
    fit::{Fit, FitAsked, Placement, places_clash},
    floor::{Bay, Obstruction},
    ids::{BayId, MethodId, ProcedureId, UnitId, VehicleClassId},
    region::{FloorBounds, Polygon},
    shop::{ShopDefinition, Unit},
    shop_day::{DAYS_MAX, Hosts, HostsByDay},
    survey::Survey,
    work::Place,
};
use chrono::{DateTime, NaiveDate, Utc};
use prost::Message;
use sea_orm::DatabaseTransaction;
use std::{
    collections::{BTreeMap, BTreeSet},
    sync::{Arc, PoisonError, RwLock},
};
use stored::{Loaded, load, read};
use tokio::sync::Mutex;

/// How often a write is tried again because the shop's definition changed under it.
const SHOP_CHANGES_MAX: u32 = 8;

/// Procedure, method, vehicle class and bay.
pub type FitKey = (ProcedureId, MethodId, VehicleClassId, BayId);

/// A shop at a stamp and a local date.
#[derive(Debug)]
pub struct ShopSnapshot {
    stamp: Stamp,
    date: NaiveDate,
    definition: ShopDefinition,
    revisions: BTreeMap<(&'static str, String), u32>,
    surveys: BTreeMap<BayId, Survey>,
    by_bay: BTreeMap<BayId, BayFits>,
    fits: BTreeMap<FitKey, Arc<Fit>>,
    hosts: Hosts,
    clashes: BTreeSet<(Place, Place)>,
    ahead: Ahead,
    sun: sun::SunCache,
}

/// What changes by itself on the days that a plan can reach into: surveys expire, obstructions come
/// and go.
#[derive(Debug)]
struct Ahead {
    hosts: BTreeMap<NaiveDate, Hosts>,
    /// Pairs of places that clash on any of the days.
    clashes: BTreeSet<(Place, Place)>,
}

impl ShopSnapshot {
    /// Everything that is written down about the shop.
    pub fn definition(&self) -> &ShopDefinition {
        &self.definition
    }

    /// What differs whenever the shop, its surveys or the date do.
    pub(crate) fn version(&self) -> (&Stamp, NaiveDate) {
        (&self.stamp, self.date)
    }

    /// The local date that surveys, obstructions and verifications are judged by.
    pub fn date(&self) -> NaiveDate {
        self.date
    }

    /// The current revision of a bay or procedure; 0 where there is none.
    pub fn revision<T: Definition>(&self, id: &str) -> u32 {
        self.revisions.get(&(T::KIND, id.to_owned())).copied().unwrap_or(0)
    }

    /// The survey of a bay that counts.
    pub fn survey(&self, bay: &BayId) -> Option<&Survey> {
        self.surveys.get(bay)
    }

    /// The surveys that are used, by bay.
    pub fn surveys(&self) -> impl Iterator<Item = &Survey> {
        self.surveys.values()
    }

    /// Every verdict, by procedure, method, vehicle class and bay.
    pub fn fits(&self) -> &BTreeMap<FitKey, Arc<Fit>> {
        &self.fits
    }

    /// One verdict.
    pub fn fit(&self, key: &FitKey) -> Option<&Fit> {
        self.fits.get(key).map(AsRef::as_ref)
    }

    /// Every survey that is used, by bay.
    pub fn surveys_by_bay(&self) -> &BTreeMap<BayId, Survey> {
        &self.surveys
    }

    /// Where each method can be done, with the doubts that stand left out.
    pub fn hosts_without(&self, doubts: &BTreeSet<(ProcedureId, MethodId, BayId)>) -> Hosts {
        without(&self.hosts, doubts)
    }

    /// Where each method can be done on today and the days ahead, with the doubts that stand left out.
    pub fn hosts_ahead_without(
        &self,
        doubts: &BTreeSet<(ProcedureId, MethodId, BayId)>,
    ) -> HostsByDay {
        let by_date = self.ahead.hosts.iter();
        HostsByDay::from_dates(
            by_date.map(|(date, hosts)| (*date, without(hosts, doubts))).collect(),
        )
    }

    /// Pairs of places that two vehicles cannot take at the same time, today or on a day ahead.
    pub fn clashes_ahead(&self) -> &BTreeSet<(Place, Place)> {
        &self.ahead.clashes
    }

    /// Pairs of places that two vehicles cannot take at the same time.
    pub fn clashes(&self) -> &BTreeSet<(Place, Place)> {
        &self.clashes
    }

    /// Whether two vehicles are known to have room at these places at the same time. Of a place that
    /// fits nothing today nothing is known, so another vehicle in the same bay counts as in the way.
    pub fn have_room_for_both(&self, one: &Place, other: &Place) -> bool {
        let placed = |place: &Place| self.hosts.values().flatten().any(|known| known == place);
        let clash = self.clashes.contains(&(one.clone(), other.clone()))
            || self.clashes.contains(&(other.clone(), one.clone()));
        one != other && !clash && (one.bay != other.bay || (placed(one) && placed(other)))
    }

    /// The unit that this piece is one of.
    pub fn unit_of(&self, piece: &UnitId) -> Option<&Unit> {
        self.definition.parts().units.iter().find(|unit| unit.pieces().contains(piece))
    }

    /// What a vehicle at `place` claims alone: the place, and for each place that clashes with it a
    /// token that the other place's vehicle would claim too.
    pub fn claims_of_place(&self, place: &Place) -> BTreeSet<String> {
        let mut claims = BTreeSet::from([format!("place:{place}")]);
        for (one, other) in &self.clashes {
            if one == place || other == place {
                claims.insert(format!("clash:{one}|{other}"));
            }
        }
        claims
    }
}

fn without(hosts: &Hosts, doubts: &BTreeSet<(ProcedureId, MethodId, BayId)>) -> Hosts {
    let mut hosts = hosts.clone();
    for ((procedure, method, _), places) in &mut hosts {
        places.retain(|place| {
            !doubts.contains(&(procedure.clone(), method.clone(), place.bay.clone()))
        });
    }
    hosts
}

/// The snapshots in use, one for each shop.
#[derive(Debug, Clone, Default)]
pub struct Snapshots {
    known: Arc<RwLock<BTreeMap<String, Arc<ShopSnapshot>>>>,
    /// One for each shop, held while its fits are computed, so that callers who come together wait for
    /// one computation.
    computing: Arc<std::sync::Mutex<BTreeMap<String, Arc<Mutex<()>>>>>,
}

impl Snapshots {
    /// The snapshot of a shop, if it is known and still holds.
    fn holding(
        &self,
        shop_id: &str,
        stamp: Option<&Stamp>,
        now: DateTime<Utc>,
    ) -> Option<Arc<ShopSnapshot>> {
        let known = self.last(shop_id)?;
        let holds = Some(&known.stamp) == stamp && local_date(&known.definition, now) == known.date;
        holds.then_some(known)
    }

    /// The last snapshot of a shop, whether it still holds or not.
    fn last(&self, shop_id: &str) -> Option<Arc<ShopSnapshot>> {
        self.known.read().ok()?.get(shop_id).cloned()
    }

    /// The lock under which a shop's fits are computed.
    fn lock_of(&self, shop_id: &str) -> Arc<Mutex<()>> {
        let mut locks = self.computing.lock().unwrap_or_else(PoisonError::into_inner);
        Arc::clone(locks.entry(shop_id.to_owned()).or_default())
    }
}

impl App {
    /// The snapshot of a shop at `now`.
    ///
    /// # Errors
    /// [`ServiceError::NotFound`] where there is no such shop; trouble of storage.
    pub async fn snapshot(
        &self,
        shop_id: &str,
        now: DateTime<Utc>,
    ) -> Result<Arc<ShopSnapshot>, ServiceError> {
        let stamp = self
            .database
            .read(shop_id.to_owned(), |tx, shop_id| {
                Box::pin(async move { Ok(shop_stamp(tx, shop_id).await?) })
            })
            .await?;
        if let Some(known) = self.snapshots.holding(shop_id, stamp.as_ref(), now) {
            return Ok(known);
        }
        if stamp.is_none() {
            return Err(ServiceError::not_found("shop", shop_id));
        }
        let lock = self.snapshots.lock_of(shop_id);
        let _one_at_a_time = lock.lock().await;
        if let Some(known) = self.snapshots.holding(shop_id, stamp.as_ref(), now) {
            return Ok(known);
        }
        let before = self.snapshots.last(shop_id);
        let asked = (shop_id.to_owned(), now);
        let read = self
            .database
            .read(asked, |tx, (shop_id, now)| Box::pin(read(tx, shop_id, *now)))
            .await?;
        // Geometry for a whole shop takes a while: it must not hold up the threads that answer.
        let snapshot = off_thread(move |_| {
            let loaded = load(read, before.as_deref())?;
            Ok::<_, ServiceError>(compute(loaded, before.as_deref()))
        })
        .await??;
        let snapshot = Arc::new(snapshot);
        if let Ok(mut all) = self.snapshots.known.write() {
            all.insert(shop_id.to_owned(), Arc::clone(&snapshot));
        }
        Ok(snapshot)
    }

    /// Does the work of a call exactly once, on a snapshot that still holds in its transaction.
    ///
    /// # Errors
    /// As [`crate::storage::Database::exactly_once`], and as [`App::snapshot`].
    pub async fn exactly_once_on_shop<I, T, F>(
        &self,
        call: Call,
        input: I,
        work: F,
    ) -> Result<T, ServiceError>
    where
        I: Send + Sync + 'static,
        T: Message + Default + 'static,
        F: for<'t> Fn(&'t DatabaseTransaction, &'t ShopSnapshot, &'t I) -> Work<'t, Done<T>>
            + Send
            + Sync
            + 'static,
    {
        let shared = Arc::new((input, work));
        for _ in 0..SHOP_CHANGES_MAX {
            let snapshot = self.snapshot(call.shop_id().as_str(), call.at()).await?;
            let lent = (Arc::clone(&shared), snapshot);
            let answer = self
                .database
                .exactly_once(call.clone(), lent, |tx, (shared, snapshot)| {
                    Box::pin(async move {
                        let (input, work) = &**shared;
                        let shop_id = snapshot.definition.parts().shop.id().as_str();
                        if shop_stamp(tx, shop_id).await?.as_ref() != Some(&snapshot.stamp) {
                            return Err(ServiceError::internal(ShopChanged));
                        }
                        work(tx, snapshot, input).await
                    })
                })
                .await;
            match answer {
                Err(ServiceError::Internal(cause)) if cause.is::<ShopChanged>() => {}
                ended => return ended,
            }
        }
        Err(ServiceError::Busy)
    }
}

/// The shop's definition changed between snapshot and transaction.
#[derive(Debug, thiserror::Error)]
#[error("the shop's definition changed meanwhile")]
struct ShopChanged;

fn local_date(definition: &ShopDefinition, now: DateTime<Utc>) -> NaiveDate {
    definition.parts().shop.parts().hours.zone().local(now).date()
}

fn compute(loaded: Loaded, before: Option<&ShopSnapshot>) -> ShopSnapshot {
    let Loaded { stamp, date, definition, revisions, surveys } = loaded;
    let before = before.map(|old| {
        let ground = Ground { definition: &old.definition, surveys: &old.surveys, date: old.date };
        (ground, &old.by_bay)
    });
    let ground = Ground { definition: &definition, surveys: &surveys, date };
    let by_bay = fits_by_bay(ground, before);
    let fits = by_key(&by_bay);
    let (hosts, clashes) = places_of(&fits);
    let ahead = ahead(ground, &fits, (&hosts, &clashes));
    ShopSnapshot {
        stamp,
        date,
        definition,
        revisions,
        surveys,
        by_bay,
        fits,
        hosts,
        clashes,
        ahead,
        sun: sun::SunCache::default(),
    }
}

fn by_key(by_bay: &BTreeMap<BayId, BayFits>) -> BTreeMap<FitKey, Arc<Fit>> {
    by_bay.iter().flat_map(|(bay, all)| keyed(bay, all)).collect()
}

/// The fits of one bay under their whole keys.
fn keyed(bay: &BayId, all: &BayFits) -> Vec<(FitKey, Arc<Fit>)> {
    let whole = |((procedure, method, class), fit): (&FitAsked, &Arc<Fit>)| {
        ((procedure.clone(), method.clone(), class.clone(), bay.clone()), Arc::clone(fit))
    };
    all.iter().map(whole).collect()
}

/// Hosts from today on, computed again for a bay on each date on which something about it changes.
fn ahead(
    ground: Ground<'_>,
    fits: &BTreeMap<FitKey, Arc<Fit>>,
    (hosts, clashes): (&Hosts, &BTreeSet<(Place, Place)>),
) -> Ahead {
    let Ground { definition, surveys, date: today } = ground;
    let bays = &definition.parts().bays;
    let mut ahead = BTreeMap::from([(today, hosts.clone())]);
    let mut clashes = clashes.clone();
    let mut fits = fits.clone();
    // A plan that begins in the evening reaches into one more date than it has days.
    for date in today.iter_days().skip(1).take(DAYS_MAX as usize) {
        let changed: Vec<&Bay> =
            bays.iter().filter(|bay| changes_on(bay, surveys.get(bay.id()), date)).collect();
        if changed.is_empty() {
            continue;
        }
        for bay in changed {
            fits.extend(keyed(bay.id(), &bay_fits::computed(Ground { date, ..ground }, bay)));
        }
        let (hosts, more_clashes) = places_of(&fits);
        ahead.insert(date, hosts);
        clashes.extend(more_clashes);
    }
    Ahead { hosts: ahead, clashes }
}

/// Whether a verdict about the bay can differ between `date` and the day before.
fn changes_on(bay: &Bay, survey: Option<&Survey>, date: NaiveDate) -> bool {
    let Some(before) = date.pred_opt() else { return false };
    let survey = survey.is_some_and(|one| one.counts_on(before) != one.counts_on(date));
    let stands_differently = |one: &Obstruction| one.stands_on(before) != one.stands_on(date);
    survey || bay.obstructions().iter().any(stands_differently)
}

/// The place of a placement.
pub fn place_of(placement: &Placement) -> Place {
    Place { bay: placement.bay().clone(), station: placement.station().clone() }
}

fn places_of(fits: &BTreeMap<FitKey, Arc<Fit>>) -> (Hosts, BTreeSet<(Place, Place)>) {
    let mut hosts = Hosts::new();
    let mut placements: BTreeMap<Place, Vec<&Placement>> = BTreeMap::new();
    for ((procedure, method, class, _), verdict) in fits {
        let Fit::Fits(placement) = verdict.as_ref() else { continue };
        let place = place_of(placement);
        placements.entry(place.clone()).or_default().push(placement);
        let wanted = (procedure.clone(), method.clone(), class.clone());
        hosts.entry(wanted).or_default().push(place);
    }
    let around: BTreeMap<&Place, FloorBounds> = placements
        .iter()
        .map(|(place, all)| {
            let footprints = all.iter().flat_map(|one| one.footprint());
            (place, FloorBounds::around(footprints.flat_map(Polygon::vertices)))
        })
        .collect();
    let mut clashes = BTreeSet::new();
    for (one, ones) in &placements {
        for (other, others) in placements.range(one.clone()..).skip(1) {
            if around[one].overlaps(&around[other])
                && ones.iter().any(|a| others.iter().any(|b| places_clash(a, b)))
            {
                clashes.insert((one.clone(), other.clone()));
            }
        }
    }
    (hosts, clashes)
}
