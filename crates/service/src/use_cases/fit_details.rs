//! What is computed for a fit only when it is asked for: margins, tape distances, the room away from
//! the stations, the nearest misses, the blinds that would let a run take place, and the equipment that
//! lacks.

use crate::{
    error::ServiceError,
    off_thread::off_thread,
    snapshot::{FitKey, ShopSnapshot},
};
use baywright_api::v1::{self, fit::Verdict as Outcome};
use baywright_core::{
    demand::{Method, VehicleClass},
    fault::Faults,
    fit::{
        Change, Fit, Placement, SunAsked, blinds_to_close, free_placements, nearest_misses, room_at,
    },
    floor::Bay,
    gain::GainShop,
    ids::{BayId, MethodId, ProcedureId, VehicleClassId},
};
use chrono::NaiveDate;
use std::sync::Arc;

/// What a caller wants beside the verdicts.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wants {
    pub(super) room: bool,
    pub(super) misses: bool,
    /// The local date on which blinds are tried.
    pub(super) sun_date: NaiveDate,
}

/// Adds what is wanted to each fit; off the threads that answer.
pub(super) async fn detailed(
    snapshot: &Arc<ShopSnapshot>,
    fits: Vec<(FitKey, v1::Fit)>,
    wants: Wants,
) -> Result<Vec<v1::Fit>, ServiceError> {
    if !wants.room && !wants.misses {
        return Ok(fits.into_iter().map(|(_, message)| message).collect());
    }
    let snapshot = Arc::clone(snapshot);
    off_thread(move |_| {
        let one = |(key, message)| with_details(&snapshot, &key, message, wants);
        fits.into_iter().map(one).collect::<Result<Vec<_>, Faults>>()
    })
    .await?
    .map_err(Into::into)
}

fn with_details(
    snapshot: &ShopSnapshot,
    key: &FitKey,
    mut message: v1::Fit,
    wants: Wants,
) -> Result<v1::Fit, Faults> {
    let Some((method, class)) = method_and_class(snapshot, key) else { return Ok(message) };
    let look_up = |asked: Asked<'_>| fit_of(snapshot, asked);
    let shop = as_it_stands(snapshot, &look_up);
    let Some(around) = shop.around(&key.3) else { return Ok(message) };
    let (bay, on) = (around.bay, around.on);
    let verdict = snapshot.fit(key);
    if wants.room {
        if let (Some(Outcome::Fits(told)), Some(Fit::Fits(placement))) =
            (&mut message.verdict, verdict)
        {
            told.room = Some((&room_at(method, class, (bay, on), placement.pose())).into());
        } else {
            let when = (on, bay.placing().tolerance_deg);
            // A bay's tolerance was checked with the bay; zones swept through it may still have too many
            // corners to be placed.
            let rooms = free_placements(method, class, bay, around.survey, when)?;
            message.free_rooms = rooms.iter().map(Into::into).collect();
        }
    }
    let lacking = shop.kinds_lacking(method);
    if wants.misses {
        let fits = matches!(verdict, Some(Fit::Fits(_)));
        if let ([kind], true) = (lacking.as_slice(), fits) {
            message.nearest_misses.push((&Change::BuyUnit { kind: kind.clone() }).into());
        } else if let (true, Some(Fit::Fits(placement))) = (lacking.is_empty(), verdict) {
            let blinds = blinds(snapshot, (method, class), (bay, placement), wants.sun_date);
            message.nearest_misses = blinds.unwrap_or_default();
        } else {
            let misses = nearest_misses(method, class, &around);
            message.nearest_misses = misses.iter().map(Into::into).collect();
        }
    }
    message.lacking_unit_kinds = lacking.iter().map(ToString::to_string).collect();
    Ok(message)
}

/// The blinds that, closed, give the run more time within the shop's hours on a date; none where the
/// sun is not computed.
fn blinds(
    snapshot: &ShopSnapshot,
    work: (&Method, &VehicleClass),
    (bay, placement): (&Bay, &Placement),
    on: NaiveDate,
) -> Option<Vec<v1::NearestMiss>> {
    let shop = &snapshot.definition().parts().shop;
    let (track, day) = (snapshot.sun_track(on)?, snapshot.local_day(on)?);
    let hours = shop.parts().hours.windows(day.start(), day.end()).ok()?;
    let asked = SunAsked { on, hours: &hours, track: &track, bearing: shop.bearing()? };
    let found = blinds_to_close(&asked, work, (bay, placement.pose()));
    let pose = Some(placement.pose().into());
    let told = found.iter().map(|change| v1::NearestMiss { pose, ..change.into() });
    Some(told.collect())
}

/// What a fit is known by.
pub(super) type Asked<'a> = (&'a ProcedureId, &'a MethodId, &'a VehicleClassId, &'a BayId);

/// A fit of a snapshot by the parts of its key.
pub(super) fn fit_of<'s>(
    snapshot: &'s ShopSnapshot,
    (procedure, method, class, bay): Asked<'_>,
) -> Option<&'s Fit> {
    snapshot.fit(&(procedure.clone(), method.clone(), class.clone(), bay.clone()))
}

/// The shop as single changes start from, with the verdicts that are known and without the sun.
pub(super) fn as_it_stands<'a>(
    snapshot: &'a ShopSnapshot,
    fit: &'a dyn Fn(Asked<'_>) -> Option<&'a Fit>,
) -> GainShop<'a> {
    let (shop, surveys) = (snapshot.definition(), snapshot.surveys_by_bay());
    GainShop { shop, surveys, on: snapshot.date(), sun: None, fit }
}

/// The method and the vehicle class of a fit.
pub(super) fn method_and_class<'s>(
    snapshot: &'s ShopSnapshot,
    (procedure, method, class, _): &FitKey,
) -> Option<(&'s Method, &'s VehicleClass)> {
    let definition = snapshot.definition();
    let mut methods = definition.procedure(procedure)?.methods().iter();
    let method = methods.find(|one| one.id() == method)?;
    Some((method, definition.vehicle_class(class)?))
}
