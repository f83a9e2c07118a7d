//! Where a shop stands and what air lies over it: all that the sun's position depends on, the
//! instant apart.

use crate::fault::{FaultList, Faults};

/// A site as it was given, not yet checked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SiteDraft {
    /// Degrees north, -90 to 90.
    pub latitude_deg: f64,
    /// Degrees east, -180 to 180.
    pub longitude_deg: f64,
    /// Metres above sea level, -500 to 9000; it moves the sun by parallax only, below 1e-5 degrees.
    pub elevation_m: f64,
    /// The year's average air pressure, millibars, 0 (no refraction) to 1100.
    pub pressure_mbar: f64,
    /// The year's average air temperature, degrees Celsius, -90 to 60.
    pub temperature_c: f64,
    /// Terrestrial time less UT1, seconds, -100 to 1000: about 69 in the 2020s.
    pub delta_t_s: f64,
}

impl SiteDraft {
    /// A place at sea level under the standard atmosphere's pressure, at 12 degrees Celsius, in the
    /// 2020s (delta T 69 s).
    ///
    /// Pressure and temperature bear on refraction only: away from the horizon they move the sun
    /// by less than 0.1 degrees.
    ///
    /// # Source
    /// 1013.25 mbar: ISO 2533, standard atmosphere. The temperature is our own choice. Delta T: the
    /// estimate of the `solar-positioning` crate, which is 69.1 s for 2026.5.
    pub fn at_sea_level(latitude_deg: f64, longitude_deg: f64) -> Self {
        Self {
            latitude_deg,
            longitude_deg,
            elevation_m: 0.0,
            pressure_mbar: 1013.25,
            temperature_c: 12.0,
            delta_t_s: 69.0,
        }
    }
}

/// Where a shop stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site(SiteDraft);

impl Site {
    /// Checks and takes a site.
    ///
    /// # Errors
    /// A fault for each figure that is no number within the limits that [`SiteDraft`] states.
    pub fn new(draft: SiteDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        for (field, value, least, most, unit) in [
            ("latitude_deg", draft.latitude_deg, -90.0, 90.0, "degrees north"),
            ("longitude_deg", draft.longitude_deg, -180.0, 180.0, "degrees east"),
            ("elevation_m", draft.elevation_m, -500.0, 9_000.0, "m"),
            ("pressure_mbar", draft.pressure_mbar, 0.0, 1_100.0, "mbar"),
            ("temperature_c", draft.temperature_c, -90.0, 60.0, "degrees Celsius"),
            ("delta_t_s", draft.delta_t_s, -100.0, 1_000.0, "s"),
        ] {
            faults.number_within(field, value, least, most, unit);
        }
        faults.finish(Self(draft))
    }

    /// The site's figures.
    pub fn parts(&self) -> &SiteDraft {
        &self.0
    }
}
