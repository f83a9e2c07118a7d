//! Every fit of one bay: what a fit report is put together from.
//!
//! A bay's fits rest on the bay, its survey, the procedures, the vehicle classes and the day, and on
//! no other bay: after one survey only its bay is asked again.

use super::{Fit, fit};
use crate::demand::{Procedure, VehicleClass, WorkPlace};
use crate::floor::Bay;
use crate::ids::{MethodId, ProcedureId, VehicleClassId};
use crate::survey::Survey;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// What a fit of one bay is asked for.
pub type FitAsked = (ProcedureId, MethodId, VehicleClassId);

/// The fit of every method that is done in a bay, for every vehicle class.
pub fn fits_of_bay(
    procedures: &[Procedure],
    classes: &[VehicleClass],
    (bay, survey): (&Bay, Option<&Survey>),
    on: NaiveDate,
) -> BTreeMap<FitAsked, Fit> {
    let mut fits = BTreeMap::new();
    for procedure in procedures {
        for method in procedure.methods().iter().filter(|one| one.place() == WorkPlace::Bay) {
            for class in classes {
                let asked = (procedure.id().clone(), method.id().clone(), class.id().clone());
                fits.insert(asked, fit(method, class, bay, survey, on));
            }
        }
    }
    fits
}
