//! The fits of each bay, computed once and kept as long as what they rest on stays the same.
//!
//! A bay's fits rest on the bay, its survey, the procedures, the vehicle classes and the date. After
//! one survey only its bay is computed again; bays are computed side by side.

use baywright_core::{
    fit::{Fit, FitAsked, fits_of_bay},
    floor::Bay,
    ids::BayId,
    shop::ShopDefinition,
    survey::Survey,
};
use chrono::NaiveDate;
use std::{
    collections::BTreeMap,
    sync::{
        Arc, Mutex, PoisonError,
        atomic::{AtomicUsize, Ordering},
    },
    thread,
};

/// Every fit of one bay.
pub(super) type BayFits = Arc<BTreeMap<FitAsked, Arc<Fit>>>;

/// What fits are computed from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ground<'a> {
    pub(super) definition: &'a ShopDefinition,
    pub(super) surveys: &'a BTreeMap<BayId, Survey>,
    pub(super) date: NaiveDate,
}

/// The fits of every bay; those that `before` holds for the same ground are taken over.
pub(super) fn fits_by_bay(
    ground: Ground<'_>,
    before: Option<(Ground<'_>, &BTreeMap<BayId, BayFits>)>,
) -> BTreeMap<BayId, BayFits> {
    let parts = ground.definition.parts();
    let mut known = BTreeMap::new();
    let mut open: Vec<&Bay> = Vec::new();
    for bay in &parts.bays {
        match before.and_then(|(old, fits)| taken_over(ground, old, fits, bay)) {
            Some(fits) => drop(known.insert(bay.id().clone(), fits)),
            None => open.push(bay),
        }
    }
    let at = AtomicUsize::new(0);
    let made = Mutex::new(known);
    let workers = thread::available_parallelism().map_or(1, usize::from).min(open.len());
    thread::scope(|scope| {
        for _ in 0..workers {
            scope.spawn(|| {
                while let Some(bay) = open.get(at.fetch_add(1, Ordering::Relaxed)) {
                    let fits = computed(ground, bay);
                    let mut made = made.lock().unwrap_or_else(PoisonError::into_inner);
                    made.insert(bay.id().clone(), fits);
                }
            });
        }
    });
    made.into_inner().unwrap_or_else(PoisonError::into_inner)
}

/// The fits of one bay.
pub(super) fn computed(ground: Ground<'_>, bay: &Bay) -> BayFits {
    let parts = ground.definition.parts();
    let fits = fits_of_bay(
        &parts.procedures,
        &parts.vehicle_classes,
        (bay, ground.surveys.get(bay.id())),
        ground.date,
    );
    Arc::new(fits.into_iter().map(|(asked, fit)| (asked, Arc::new(fit))).collect())
}

/// The fits of a bay that were computed from the same ground.
fn taken_over(
    now: Ground<'_>,
    old: Ground<'_>,
    fits: &BTreeMap<BayId, BayFits>,
    bay: &Bay,
) -> Option<BayFits> {
    let (new_parts, old_parts) = (now.definition.parts(), old.definition.parts());
    let was = old.definition.bay(bay.id())?;
    let same = now.date == old.date
        && new_parts.procedures == old_parts.procedures
        && new_parts.vehicle_classes == old_parts.vehicle_classes
        && was == bay
        && now.surveys.get(bay.id()) == old.surveys.get(bay.id());
    fits.get(bay.id()).filter(|_| same).map(Arc::clone)
}
