//! Which places can host what, day by day.
//!
//! Surveys expire and obstructions come and go on a date, so a place that fits today may not fit
//! on a later day of the same plan.

use crate::ids::{MethodId, ProcedureId, VehicleClassId};
use crate::work::Place;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Which places can host a method of a procedure for a class of vehicles, on one day.
pub type Hosts = BTreeMap<(ProcedureId, MethodId, VehicleClassId), Vec<Place>>;

/// The hosts of each day: an entry holds from its date until the date of the next.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct HostsByDay(BTreeMap<NaiveDate, Hosts>);

impl HostsByDay {
    /// The same hosts on every day.
    pub fn always(hosts: Hosts) -> Self {
        Self(BTreeMap::from([(NaiveDate::MIN, hosts)]))
    }

    /// Hosts from each date until the next date that is given; before the first there are none.
    pub fn from_dates(by_date: BTreeMap<NaiveDate, Hosts>) -> Self {
        Self(by_date)
    }

    /// The hosts of a day; none before the first date that was given.
    pub fn on(&self, day: NaiveDate) -> Option<&Hosts> {
        self.0.range(..=day).next_back().map(|(_, hosts)| hosts)
    }

    /// The places that can host on a day what `key` names.
    pub fn places_on(
        &self,
        day: NaiveDate,
        key: &(ProcedureId, MethodId, VehicleClassId),
    ) -> &[Place] {
        self.on(day).and_then(|hosts| hosts.get(key)).map_or(&[], Vec::as_slice)
    }
}
