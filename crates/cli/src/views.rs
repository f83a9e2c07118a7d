//! How answers look as plain text.

pub(crate) mod audit;
pub(crate) mod change;
pub(crate) mod day;
pub(crate) mod doubt;
pub(crate) mod explained;
pub(crate) mod fit;
pub(crate) mod forecast;
pub(crate) mod front;
pub(crate) mod gain;
pub(crate) mod holding;
pub(crate) mod job;
pub(crate) mod offer;
pub(crate) mod plan;
pub(crate) mod reasons;
pub(crate) mod record;
pub(crate) mod road;
pub(crate) mod what_if;

use baywright_api::v1::{Place, Whereabouts, whereabouts::Where};

/// The usual caution, shown where a person acts on a result and the service sent none.
pub(crate) const CAUTION: &str = "The vehicle maker's current procedure, local codes and licensed practice decide; \
    a wrong calibration is dangerous.";

/// A line of caution; the service's own words where it sent some.
pub(crate) fn caution(from_service: &str) -> String {
    let words = if from_service.is_empty() { CAUTION } else { from_service };
    format!("Caution: {words}")
}

/// A place as `bay-1/rear-mark`.
pub(crate) fn place(place: &Place) -> String {
    format!("{}/{}", place.bay_id, place.station_id)
}

/// Where a vehicle stands.
pub(crate) fn whereabouts(whereabouts: Option<&Whereabouts>) -> String {
    match whereabouts.and_then(|whereabouts| whereabouts.r#where.as_ref()) {
        Some(Where::Place(at)) => place(at),
        Some(Where::SpotId(spot)) => spot.clone(),
        None => "not known".to_owned(),
    }
}
