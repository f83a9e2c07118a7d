//! Which fitting bay is free now, and until when.

use crate::calendar::{OpenHours, Window};
use crate::ids::MethodId;
use crate::shop_day::Assignment;
use crate::work::Place;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeSet;

/// What is asked, and what the shop looks like.
#[derive(Debug, Clone, Copy)]
pub struct FreePlaceAsked<'a> {
    /// Methods with the places that fit them.
    pub fitting: &'a [(MethodId, Vec<Place>)],
    /// Pairs of places that two vehicles cannot take at the same time.
    pub clashes: &'a BTreeSet<(Place, Place)>,
    /// Places where vehicles stand.
    pub taken: &'a [Place],
    /// Assignments of the plan.
    pub assignments: &'a [Assignment],
    /// When the shop is open.
    pub hours: &'a OpenHours,
    /// The instant.
    pub now: DateTime<Utc>,
}

/// A fitting place that is free.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FreePlace {
    /// The method that it fits.
    pub method: MethodId,
    /// The place.
    pub place: Place,
    /// Until when: the next planned use of it or of a place that clashes, or the shop's closing.
    pub until: DateTime<Utc>,
}

/// The fitting places that are free at the instant asked, by method, then the longest free first.
///
/// Nothing is free while the shop is closed.
pub fn free_places(asked: &FreePlaceAsked<'_>) -> Vec<FreePlace> {
    let day = asked.hours.windows(asked.now, asked.now + TimeDelta::days(1));
    let closing = day.ok().and_then(|windows| {
        windows.iter().find(|window| window.contains(asked.now)).map(Window::end)
    });
    let Some(closing) = closing else { return Vec::new() };
    let excludes = |one: &Place, other: &Place| {
        one == other
            || asked.clashes.contains(&(one.clone(), other.clone()))
            || asked.clashes.contains(&(other.clone(), one.clone()))
    };
    let mut free = Vec::new();
    for (method, places) in asked.fitting {
        let mut of_method: Vec<_> = places
            .iter()
            .filter(|place| !asked.taken.iter().any(|taken| excludes(place, taken)))
            .map(|place| {
                let next = asked
                    .assignments
                    .iter()
                    .filter(|one| one.end > asked.now)
                    .filter(|one| one.place.as_ref().is_some_and(|used| excludes(place, used)))
                    .map(|one| one.start)
                    .min();
                let until = next.map_or(closing, |next| next.min(closing));
                FreePlace { method: method.clone(), place: place.clone(), until }
            })
            .filter(|free| free.until > asked.now)
            .collect();
        of_method.sort_by(|one, other| {
            other.until.cmp(&one.until).then_with(|| one.place.cmp(&other.place))
        });
        free.extend(of_method);
    }
    free
}
