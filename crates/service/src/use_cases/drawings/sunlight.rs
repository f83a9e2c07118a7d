//! Direct sun on the floor at an instant, and what it rests on.

use crate::{error::ServiceError, snapshot::ShopSnapshot};
use baywright_api::time::instant_from;
use baywright_core::{
    daylight::{SUN_YEARS, sun_position, sunlit_floor},
    drawing::SunlitPatch,
    fault::{Fault, FaultList},
    floor::Bay,
};
use chrono::{DateTime, Datelike as _, Utc};
use prost_types::Timestamp;

/// What is drawn and said of the sun.
#[derive(Debug, Default)]
pub(super) struct Sunlit {
    pub(super) patches: Vec<SunlitPatch>,
    /// The instant and where the sun stands.
    pub(super) line: Option<String>,
    /// What was assumed and what could not be drawn.
    pub(super) notes: Vec<String>,
}

/// The instant that is asked for.
pub(super) fn instant(at: &Timestamp) -> Result<DateTime<Utc>, ServiceError> {
    let mut faults = FaultList::new();
    let instant = faults.take("at_time", instant_from(at)).unwrap_or_default();
    if !SUN_YEARS.contains(&instant.year()) {
        let limit = format!("lie in the years {} to {}", SUN_YEARS.start(), SUN_YEARS.end());
        faults.push(Fault::new("at_time", instant, limit, "check the year"));
    }
    Ok(faults.finish(instant)?)
}

/// The sunlit floor of bays at an instant.
pub(super) fn sunlit(
    snapshot: &ShopSnapshot,
    bays: &[&Bay],
    at: DateTime<Utc>,
) -> Result<Sunlit, ServiceError> {
    let shop = &snapshot.definition().parts().shop;
    let zone = shop.parts().hours.zone();
    let when = format!("{} ({zone})", zone.local(at).format("%Y-%m-%d %H:%M:%S"));
    let (Some(site), Some(bearing)) = (shop.sun_site(), shop.bearing()) else {
        let line = format!(
            "Sun at {when}: not drawn, because the shop's latitude and longitude are not stated."
        );
        return Ok(Sunlit { line: Some(line), ..Sunlit::default() });
    };
    let sun = sun_position(&site, at)?;
    let elevation_deg = sun.elevation_apparent().degrees();
    let below = if elevation_deg > 0.0 { "" } else { ", below the horizon" };
    let line = format!(
        "Sun at {when}: azimuth {:.1} degrees from north, elevation {elevation_deg:.1} degrees{below}.",
        sun.azimuth().degrees()
    );
    let mut patches = Vec::new();
    let mut notes = Vec::new();
    for bay in bays {
        for opening in bay.sun_openings() {
            let lit = sunlit_floor(sun, bearing, opening, bay.outline());
            let through = || opening.id().to_string();
            patches
                .extend(lit.into_iter().map(|outline| SunlitPatch { outline, through: through() }));
            let assumed = opening.assumptions();
            notes.extend(assumed.iter().map(|one| format!("Sun in {}: {one}.", bay.id())));
        }
        let undrawn: Vec<_> = bay.undrawn_openings().map(ToString::to_string).collect();
        if !undrawn.is_empty() {
            notes.push(format!(
                "Sun in {}: none is drawn through {}, of which the place is not written down.",
                bay.id(),
                undrawn.join(", ")
            ));
        }
    }
    notes.push(
        "Only an opening's own wall and skyline cast shadows here: obstructions and vehicles do not."
            .to_owned(),
    );
    Ok(Sunlit { patches, line: Some(line), notes })
}
