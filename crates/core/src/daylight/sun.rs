//! The position of the sun at an instant, to the accuracy of the NREL algorithm (0.0003 degrees).
//!
//! The crate `solar-positioning` computes the true position (its SPA mode); refraction is added
//! here, because the whole core must bend every beam alike.
//!
//! # Source
//! I. Reda, A. Andreas, Solar position algorithm for solar radiation applications, Solar Energy 76
//! (2004) 577-589; NREL/TP-560-34302 (rev. 2008). Refraction: its equation 42.

use super::angle::{Azimuth, Elevation};
use super::site::Site;
use crate::fault::{Fault, Faults};
use chrono::{DateTime, Datelike as _, Utc};
use solar_positioning::time::JulianDate;
use solar_positioning::{Location, SolarPositions};

/// The years in which positions are asked for; the algorithm itself holds from -2000 to 6000.
pub const SUN_YEARS: std::ops::RangeInclusive<i32> = 1900..=2200;

/// Refraction counts from this true elevation upwards, degrees: half the sun's width and the
/// refraction at sunrise below the horizontal.
pub const REFRACTION_FROM_DEG: f64 = -(0.26667 + 0.5667);

/// Julian date of 1970-01-01T00:00:00Z.
const JULIAN_DATE_OF_EPOCH: f64 = 2_440_587.5;

/// Where the sun's centre stands, seen from a site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunPosition {
    azimuth: Azimuth,
    elevation_true: Elevation,
    elevation_apparent: Elevation,
}

impl SunPosition {
    /// Degrees clockwise from true north. Ill-conditioned near the zenith.
    pub fn azimuth(self) -> Azimuth {
        self.azimuth
    }

    /// Without refraction.
    pub fn elevation_true(self) -> Elevation {
        self.elevation_true
    }

    /// With refraction where the true elevation is at least [`REFRACTION_FROM_DEG`], else the true
    /// one: it jumps by about half a degree there.
    pub fn elevation_apparent(self) -> Elevation {
        self.elevation_apparent
    }
}

/// The sun's position at an instant.
///
/// # Example: the published one
/// ```
/// use baywright_core::daylight::{Site, SiteDraft, sun_position};
///
/// // Reda and Andreas, NREL/TP-560-34302, appendix A.5: zenith angle 50.11162, azimuth 194.34024.
/// let site = Site::new(SiteDraft {
///     latitude_deg: 39.742476,
///     longitude_deg: -105.1786,
///     elevation_m: 1830.14,
///     pressure_mbar: 820.0,
///     temperature_c: 11.0,
///     delta_t_s: 67.0,
/// })?;
/// let sun = sun_position(&site, "2003-10-17T19:30:30Z".parse().unwrap())?;
/// assert!((90.0 - sun.elevation_apparent().degrees() - 50.11162).abs() < 0.00001);
/// assert!((sun.azimuth().degrees() - 194.34024).abs() < 0.00001);
/// # Ok::<(), baywright_core::fault::Faults>(())
/// ```
///
/// # Errors
/// A fault of `instant` when its year does not lie within [`SUN_YEARS`].
pub fn sun_position(site: &Site, instant: DateTime<Utc>) -> Result<SunPosition, Faults> {
    check_year("instant", instant)?;
    let (azimuth_deg, elevation_deg) = true_position(site, instant)?;
    let refraction_deg = if elevation_deg >= REFRACTION_FROM_DEG {
        refraction_deg(site, elevation_deg)
    } else {
        0.0
    };
    Ok(SunPosition {
        azimuth: Azimuth::whole_turn(azimuth_deg),
        elevation_true: Elevation::computed(elevation_deg),
        elevation_apparent: Elevation::computed(elevation_deg + refraction_deg),
    })
}

/// A fault unless the instant's year lies within [`SUN_YEARS`].
pub(super) fn check_year(field: &str, instant: DateTime<Utc>) -> Result<(), Faults> {
    if SUN_YEARS.contains(&instant.year()) {
        return Ok(());
    }
    let limit = format!("lie in the years {} to {}", SUN_YEARS.start(), SUN_YEARS.end());
    Err(Fault::new(field, instant, limit, "check the year").into())
}

/// Azimuth and true elevation, degrees.
pub(super) fn true_position(site: &Site, instant: DateTime<Utc>) -> Result<(f64, f64), Faults> {
    let parts = site.parts();
    let location = Location { latitude: parts.latitude_deg, longitude: parts.longitude_deg };
    // Milliseconds of the years 1900 to 2200 lie below 2^53; a Julian date resolves 0.04 ms.
    #[expect(clippy::cast_precision_loss, reason = "below 2^53 for every year that is allowed")]
    let days = instant.timestamp_millis() as f64 / 86_400_000.0;
    let julian = JulianDate::new(JULIAN_DATE_OF_EPOCH + days, parts.delta_t_s);
    julian
        .and_then(|julian| {
            SolarPositions::new().at_from_julian(julian, location, parts.elevation_m, None)
        })
        .map(|sun| (sun.azimuth(), sun.elevation_angle()))
        .map_err(|error| {
            let limit = format!("have a position of the sun ({error})");
            Fault::new("instant", instant, limit, "check instant and site").into()
        })
}

/// What refraction adds to a true elevation, degrees (equation 42).
pub(super) fn refraction_deg(site: &Site, elevation_true_deg: f64) -> f64 {
    let parts = site.parts();
    let density = parts.pressure_mbar / 1010.0 * 283.0 / (273.0 + parts.temperature_c);
    let bent = elevation_true_deg + 10.3 / (elevation_true_deg + 5.11);
    density * 1.02 / (60.0 * bent.to_radians().tan())
}
