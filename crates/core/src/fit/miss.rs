//! The nearest miss: the smallest single change that makes a bay fit.
//!
//! What was found at the stations says which kinds of change could help: all reasons against one
//! station must have it in common. Each such change is made to the bay or its survey and the fit is
//! computed anew; of a change that has a size the smallest that fits is taken, so that one step less
//! does not fit. Nothing is concluded from the numbers alone.
//!
//! A bay that fits may still be shut to a run by the sun: which blind to close then is asked apart,
//! as it depends on the date.
//!
//! A change is a figure of what the drawing and the survey show, not a promise: what was changed is
//! surveyed again before anything is done there.

mod applied;
mod blind;
mod change;
mod remedy;
mod search;

pub use applied::Around;
pub use blind::{SunAsked, blinds_to_close, sun_leaves_time};
pub use change::{Change, ChangeKind, FLOOR_GAIN_MM_MAX, LIGHT_ADDED_LUX_MAX, RELEVEL_MM_MAX};

use super::{Fit, Placement, fit, free};
use crate::demand::{Method, VehicleClass, WorkPlace};
use crate::fit::StationFindings;
use crate::fit::site::Site;
use remedy::{Remedy, remedies_of_station};
use search::smallest;
use std::collections::BTreeSet;

/// A single change that makes a bay fit, and how it then fits.
#[derive(Debug, Clone, PartialEq)]
pub struct Miss {
    /// The change.
    pub change: Change,
    /// The placement after it.
    pub placement: Placement,
}

/// Every kind of single change that makes the bay fit, each at its smallest size; what takes the
/// least effort first (the order of [`ChangeKind`], our own choice), then by size.
///
/// # Edge cases
/// Empty where it fits already, where the method is not done in a bay, and where no single change of
/// the kinds known does.
pub fn nearest_misses(method: &Method, vehicle: &VehicleClass, around: &Around<'_>) -> Vec<Miss> {
    let Around { bay, survey, on, .. } = *around;
    let stations = match fit(method, vehicle, bay, survey, on) {
        Fit::DoesNotFit(stations) | Fit::Undecided(stations) => stations,
        Fit::Fits(_) | Fit::NeedsNoBay => return Vec::new(),
    };
    if method.place() != WorkPlace::Bay {
        return Vec::new();
    }
    let after = |change: &Change| -> Option<Placement> {
        let (bay, survey) = change.applied(around)?;
        match fit(method, vehicle, &bay, survey.as_ref(), on) {
            Fit::Fits(placement) => Some(*placement),
            Fit::DoesNotFit(_) | Fit::Undecided(_) | Fit::NeedsNoBay => None,
        }
    };
    let mut misses: Vec<Miss> = Vec::new();
    let painted = painted_station(method, vehicle, around);
    let others = remedies(around, &stations)
        .into_iter()
        .flat_map(|remedy| remedy.changes(around, method, vehicle, &stations));
    for family in painted.into_iter().chain(others) {
        let fits = |steps: u32| after(&family.sized(steps)).is_some();
        if let Some(steps) = smallest(family.steps_max(), fits) {
            let change = family.sized(steps);
            misses.extend(after(&change).map(|placement| Miss { change, placement }));
        }
    }
    misses.sort_by(|a, b| {
        let size = |miss: &Miss| miss.change.size().map_or(0.0, |size| size.value);
        (a.change.kind().cmp(&b.change.kind())).then(size(a).total_cmp(&size(b)))
    });
    misses
}

/// What all reasons against one station have in common, for each station.
fn remedies(around: &Around<'_>, stations: &[StationFindings]) -> BTreeSet<Remedy> {
    if stations.is_empty() && around.bay.placing().planned {
        // No pose has room, so no finding says where it lacks.
        let all = around.bay.obstructions().iter().map(|one| Remedy::Obstruction(one.id().clone()));
        let sides = (0..around.bay.outline().vertices().len()).map(Remedy::Floor);
        return all.chain(sides).chain([Remedy::Neighbours]).collect();
    }
    stations.iter().flat_map(remedies_of_station).collect()
}

/// A mark painted where the vehicle would have room, in a bay that is planned by its marks only.
fn painted_station(method: &Method, vehicle: &VehicleClass, around: &Around<'_>) -> Option<Change> {
    let Around { bay, survey, on, .. } = *around;
    if bay.placing().planned {
        return None;
    }
    let found = free::best_as_station(method, vehicle, &Site { bay, survey, on })?;
    found.verdict().lets_work_start().then_some(Change::PaintStation { pose: found.pose })
}

#[cfg(test)]
mod tests;
