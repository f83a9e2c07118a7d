//! One site: where it is, how its floor lies, when it is open and what its planner weighs.

use crate::calendar::OpenHours;
use crate::daylight::{Azimuth, Site, SiteDraft};
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::{ShopId, SpotId};
use std::collections::BTreeSet;

/// Anywhere a vehicle may stand outside of the bays.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spot {
    /// Name of the spot.
    pub id: SpotId,
    /// How many vehicles it takes.
    pub capacity: u32,
}

/// Prices of the planner, and the minutes that a move takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlanWeights {
    /// Per minute late and weight of the job.
    pub lateness: u32,
    /// Per minute until a job is finished.
    pub finish: u32,
    /// Per change of place.
    pub r#move: u32,
    /// Per step that stands otherwise than in the plan before.
    pub change: u32,
    /// Minutes that moving a vehicle between two places takes.
    pub move_minutes: u32,
}

impl Default for PlanWeights {
    fn default() -> Self {
        Self { lateness: 100, finish: 1, r#move: 20, change: 5, move_minutes: 10 }
    }
}

/// What bears on the sun's place in the sky besides a shop's position: all of it little.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SkyAssumed {
    /// Metres above sea level.
    pub elevation_m: f64,
    /// The year's average air pressure, millibars.
    pub pressure_mbar: f64,
    /// The year's average air temperature, degrees Celsius.
    pub temperature_c: f64,
    /// Terrestrial time less UT1, seconds.
    pub delta_t_s: f64,
}

impl Default for SkyAssumed {
    /// What [`SiteDraft::at_sea_level`] takes.
    fn default() -> Self {
        let SiteDraft { elevation_m, pressure_mbar, temperature_c, delta_t_s, .. } =
            SiteDraft::at_sea_level(0.0, 0.0);
        Self { elevation_m, pressure_mbar, temperature_c, delta_t_s }
    }
}

/// What a shop is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct ShopDraft {
    /// Name of the shop.
    pub id: ShopId,
    /// What people call it.
    pub title: String,
    /// Degrees north.
    pub latitude_deg: f64,
    /// Degrees east.
    pub longitude_deg: f64,
    /// Air, height and clock, as far as they bear on the sun.
    pub sky: SkyAssumed,
    /// Degrees clockwise from true north to floor +y.
    pub bearing_deg: f64,
    /// When it is open; carries its time zone.
    pub hours: OpenHours,
    /// Spots outside of the bays.
    pub spots: Vec<Spot>,
    /// What the planner weighs.
    pub weights: PlanWeights,
}

impl ShopDraft {
    fn site_draft(&self) -> SiteDraft {
        let SkyAssumed { elevation_m, pressure_mbar, temperature_c, delta_t_s } = self.sky;
        let (latitude_deg, longitude_deg) = (self.latitude_deg, self.longitude_deg);
        SiteDraft {
            latitude_deg,
            longitude_deg,
            elevation_m,
            pressure_mbar,
            temperature_c,
            delta_t_s,
        }
    }
}

/// One site.
#[derive(Debug, Clone, PartialEq)]
pub struct Shop(ShopDraft);

impl Shop {
    /// Checks and takes a shop.
    ///
    /// # Errors
    /// A fault for an empty title, a position or bearing out of range, a spot named twice or without
    /// capacity, and weights above a million.
    pub fn new(draft: ShopDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        if draft.title.trim().is_empty() {
            faults.push(Fault::new("title", "empty", "be stated", "say what people call the shop"));
        }
        let _checked: Option<Site> = faults.take("", Site::new(draft.site_draft()));
        faults.number_within("bearing_deg", draft.bearing_deg, 0.0, 360.0, "degrees");
        let mut seen = BTreeSet::new();
        for (index, spot) in draft.spots.iter().enumerate() {
            if !seen.insert(&spot.id) {
                faults.push(Fault::new(
                    format!("spots[{index}].spot_id"),
                    &spot.id,
                    "differ from the other spots' names",
                    "give each spot its own name",
                ));
            }
            faults.number_within(
                &format!("spots[{index}].capacity"),
                spot.capacity.into(),
                1.0,
                1000.0,
                "vehicles",
            );
        }
        let weights = draft.weights;
        for (field, value, most) in [
            ("weights.lateness", weights.lateness, 1_000_000.0),
            ("weights.finish", weights.finish, 1_000_000.0),
            ("weights.move", weights.r#move, 1_000_000.0),
            ("weights.change", weights.change, 1_000_000.0),
            ("weights.move_minutes", weights.move_minutes, 1440.0),
        ] {
            faults.number_within(field, value.into(), 0.0, most, "");
        }
        faults.finish(Self(draft))
    }

    /// The shop's name.
    pub fn id(&self) -> &ShopId {
        &self.0.id
    }

    /// Where the shop stands under the sun; none where its position is not stated.
    ///
    /// # Edge cases
    /// Latitude and longitude both zero are taken as not stated: that point lies in the open sea.
    pub fn sun_site(&self) -> Option<Site> {
        let stated = self.0.latitude_deg != 0.0 || self.0.longitude_deg != 0.0;
        stated.then(|| Site::new(self.0.site_draft()).ok()).flatten()
    }

    /// The direction of the floor's +y, clockwise from true north.
    pub fn bearing(&self) -> Option<Azimuth> {
        Azimuth::from_degrees(self.0.bearing_deg).ok()
    }

    /// The shop's parts.
    pub fn parts(&self) -> &ShopDraft {
        &self.0
    }
}
