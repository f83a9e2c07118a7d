//! The shop as the gain report asks it: methods, equipment, bays and their nearest misses.

use super::WorkAsked;
use crate::demand::{Method, Procedure, VehicleClass, WorkPlace};
use crate::fit::{
    Around, Change, Fit, Placement, SunAsked, blinds_to_close, nearest_misses, sun_leaves_time,
};
use crate::floor::Bay;
use crate::ids::{BayId, MethodId, ProcedureId, UnitKindId, VehicleClassId};
use crate::shop::{ShopDefinition, Unit};
use crate::survey::Survey;
use chrono::NaiveDate;
use std::collections::BTreeMap;
use std::fmt;

/// What a fit is known by.
type Asked<'a> = (&'a ProcedureId, &'a MethodId, &'a VehicleClassId, &'a BayId);

/// A shop on a day.
#[derive(Clone, Copy)]
pub struct GainShop<'a> {
    /// Everything that is written down.
    pub shop: &'a ShopDefinition,
    /// The survey of each bay.
    pub surveys: &'a BTreeMap<BayId, Survey>,
    /// The day.
    pub on: NaiveDate,
    /// The sun of the day and the shop's hours on it; none where the sun is not looked at.
    pub sun: Option<SunAsked<'a>>,
    /// The fits of the shop as it is, already computed.
    pub fit: &'a dyn Fn(Asked<'_>) -> Option<&'a Fit>,
}

impl fmt::Debug for GainShop<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("GainShop").field("on", &self.on).finish_non_exhaustive()
    }
}

impl<'a> GainShop<'a> {
    pub(super) fn methods(&self, work: &WorkAsked) -> impl Iterator<Item = &'a Method> + use<'a> {
        self.shop.procedure(&work.procedure).into_iter().flat_map(Procedure::methods)
    }

    pub(super) fn class(&self, work: &WorkAsked) -> Option<&'a VehicleClass> {
        self.shop.vehicle_class(&work.class)
    }

    /// The kinds of equipment of which fewer units can be used than the method takes, one for each
    /// unit that lacks.
    pub fn kinds_lacking(&self, method: &Method) -> Vec<UnitKindId> {
        let mut have: BTreeMap<&UnitKindId, usize> = BTreeMap::new();
        for unit in self.shop.parts().units.iter().filter(|unit| unit.is_usable_on(self.on)) {
            *have.entry(&unit.parts().kind).or_default() += Unit::pieces(unit).len();
        }
        let mut lacking = Vec::new();
        for kind in method.equipment() {
            match have.get_mut(kind).filter(|left| **left > 0) {
                Some(left) => *left -= 1,
                None => lacking.push(kind.clone()),
            }
        }
        lacking
    }

    /// Where the work can be done in a bay as it is, the sun aside; none where it cannot.
    fn placement(&self, method: &Method, work: &WorkAsked, bay: &BayId) -> Option<&'a Placement> {
        match (self.fit)((&work.procedure, method.id(), &work.class, bay)) {
            Some(Fit::Fits(placement)) => Some(placement),
            _ => None,
        }
    }

    /// Whether the work can be done in a bay as it is.
    pub(super) fn can_as_it_is(&self, method: &Method, work: &WorkAsked, bay: &Bay) -> bool {
        let placement = self.placement(method, work, bay.id());
        placement.is_some_and(|placement| self.sun_leaves_time(method, work, (bay, placement)))
    }

    /// Whether the sun leaves time for the run on the day.
    pub(super) fn sun_leaves_time(
        &self,
        method: &Method,
        work: &WorkAsked,
        (bay, placement): (&Bay, &Placement),
    ) -> bool {
        self.sun.zip(self.class(work)).is_none_or(|(sun, class)| {
            sun_leaves_time(&sun, (method, class), (bay, placement.pose()))
        })
    }

    /// A bay with what is around it.
    pub fn around(&self, bay: &BayId) -> Option<Around<'a>> {
        let bays = &self.shop.parts().bays;
        let bay = self.shop.bay(bay)?;
        Some(Around { bay, survey: self.surveys.get(bay.id()), bays, on: self.on })
    }

    /// The single changes of every bay that let the work be done there: what makes it fit, and where it
    /// fits, the blinds that leave time for the run.
    pub(super) fn misses(&self, method: &Method, work: &WorkAsked) -> Vec<(&'a BayId, Change)> {
        let Some(class) = self.class(work).filter(|_| method.place() == WorkPlace::Bay) else {
            return Vec::new();
        };
        let mut found = Vec::new();
        for bay in &self.shop.parts().bays {
            let Some(around) = self.around(bay.id()) else { continue };
            if let Some(placement) = self.placement(method, work, bay.id()) {
                let standing = (bay, placement.pose());
                let to_close = |sun: SunAsked<'_>| blinds_to_close(&sun, (method, class), standing);
                let blinds = self.sun.map(to_close).unwrap_or_default();
                found.extend(blinds.into_iter().map(|change| (bay.id(), change)));
            } else {
                let misses = nearest_misses(method, class, &around);
                found.extend(misses.into_iter().map(|miss| (bay.id(), miss.change)));
            }
        }
        found
    }
}
