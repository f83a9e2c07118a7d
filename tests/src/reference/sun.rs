//! Positions of the sun, sunrise and sunset, and the sun through openings.
//!
//! Sources: I. Reda, A. Andreas, Solar Energy 76 (2004) 577-589 (positions); the definition of
//! sunrise in the case's own file; plane geometry for what a beam reaches.

use super::{Case, Comparison, Kind, Mismatch};
use baywright_core::calendar::{TimeZone, Window, WindowSet, instant_of_wall_time};
use baywright_core::daylight::{
    Azimuth, BlindState, Elevation, Opening, OpeningDraft, OpeningPlace, Site, SiteDraft,
    SunTarget, SunTrack, Sunlight, road_daylight_windows, sun_position, sunlit_windows,
};
use baywright_core::fault::Faults;
use baywright_core::ids::DaylightOpeningId;
use baywright_core::region::Polygon;
use chrono::{DateTime, Days, Duration, NaiveDate, NaiveTime, Utc};
use serde::de::Error as _;
use serde::{Deserialize, Deserializer};
use std::fmt;
use std::str::FromStr;

/// A site, an instant and where the sun stands.
pub(super) const POSITION: Kind = Kind {
    name: "position of the sun",
    recognises: |case| case.has(&["utc", "latitude", "true_elevation_deg", "azimuth_deg"]),
    check: check_position,
};

/// A site, a local date and its sunrises and sunsets.
pub(super) const RISE_AND_SET: Kind = Kind {
    name: "sunrise and sunset",
    recognises: |case| case.has(&["latitude", "local_date", "sunrise_utc", "sunset_utc"]),
    check: check_rise_and_set,
};

/// A window, a zone at a height and when the sun reaches it on a UTC day.
pub(super) const WINDOW: Kind = Kind {
    name: "sun through a window",
    recognises: |case| case.has(&["window", "zone_mm", "zone_height_mm", "utc_day", "lit_utc"]),
    check: check_window,
};

/// The same with several windows and zones as volumes, and when no sun reaches any.
pub(super) const SUN_FREE: Kind = Kind {
    name: "sun-free windows of a bay",
    recognises: |case| case.has(&["windows", "volumes", "utc_day", "sun_free_utc"]),
    check: check_sun_free,
};

/// Degrees by which a position may be off where a file states no `tolerance_deg`: the uncertainty
/// that the algorithm's authors state, 0.0003 degrees.
const TOLERANCE_DEG: f64 = 0.0003;
/// Seconds by which an instant may be off where a file states no `tolerance_s`.
const TOLERANCE_S: f64 = 5.0;

/// A value that a case states as a text.
#[derive(Debug, Clone, Copy)]
struct Read<T>(T);

impl<'de, T: FromStr<Err: fmt::Display>> Deserialize<'de> for Read<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map(Self).map_err(D::Error::custom)
    }
}

#[derive(Deserialize)]
struct Place {
    latitude: f64,
    longitude: f64,
    #[serde(default)]
    elevation_m: f64,
    pressure_mbar: Option<f64>,
    temperature_c: Option<f64>,
    delta_t_s: f64,
}

impl Place {
    fn site(&self) -> Result<Site, Mismatch> {
        let usual = SiteDraft::at_sea_level(self.latitude, self.longitude);
        taken(Site::new(SiteDraft {
            elevation_m: self.elevation_m,
            pressure_mbar: self.pressure_mbar.unwrap_or(usual.pressure_mbar),
            temperature_c: self.temperature_c.unwrap_or(usual.temperature_c),
            delta_t_s: self.delta_t_s,
            ..usual
        }))
    }
}

#[derive(Deserialize)]
struct Position {
    #[serde(flatten)]
    place: Place,
    utc: Read<DateTime<Utc>>,
    true_elevation_deg: f64,
    apparent_elevation_deg: Option<f64>,
    azimuth_deg: f64,
    published: Option<Published>,
}

#[derive(Deserialize)]
struct Published {
    topocentric_zenith_deg: Option<f64>,
    topocentric_azimuth_deg: Option<f64>,
}

fn check_position(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Position = case.read()?;
    let sun = taken(sun_position(&stated.place.site()?, stated.utc.0))?;
    let tolerance = case.setting("tolerance_deg").unwrap_or(TOLERANCE_DEG);
    let (elevation, apparent) =
        (sun.elevation_true().degrees(), sun.elevation_apparent().degrees());
    let mut comparison = Comparison::new();
    let mut angle = |name: &str, expected: Option<f64>, got: f64| {
        comparison.number(name, expected, got, tolerance);
    };
    // Azimuths are compared by the short way round.
    let off_by = |azimuth_deg: f64| {
        (sun.azimuth().degrees() - azimuth_deg + 180.0).rem_euclid(360.0) - 180.0
    };
    angle("true_elevation_deg", Some(stated.true_elevation_deg), elevation);
    angle("apparent_elevation_deg", stated.apparent_elevation_deg, apparent);
    angle("azimuth_deg, difference", Some(0.0), off_by(stated.azimuth_deg));
    if let Some(published) = stated.published {
        angle("topocentric_zenith_deg", published.topocentric_zenith_deg, 90.0 - apparent);
        let azimuth = published.topocentric_azimuth_deg.map(off_by);
        angle("topocentric_azimuth_deg, difference", azimuth.map(|_| 0.0), azimuth.unwrap_or(0.0));
    }
    comparison.finish()
}

#[derive(Deserialize)]
struct RiseAndSet {
    #[serde(flatten)]
    place: Place,
    zone: String,
    local_date: Read<NaiveDate>,
    sunrise_utc: Vec<Read<DateTime<Utc>>>,
    sunset_utc: Vec<Read<DateTime<Utc>>>,
    above_all_day: bool,
    below_all_day: bool,
}

fn check_rise_and_set(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: RiseAndSet = case.read()?;
    let zone = taken(TimeZone::parse(&stated.zone))?;
    let midnight = |date: NaiveDate| instant_of_wall_time(zone, date.and_time(NaiveTime::MIN));
    let date = stated.local_date.0;
    let next = date.checked_add_days(Days::new(1)).unwrap_or(date);
    let date = taken(Window::new(midnight(date)..midnight(next)))?;
    let light = taken(road_daylight_windows(stated.place.site()?, Elevation::SUNRISE, date))?;
    Mismatch::unless_equal("above all day", &stated.above_all_day, &light.covers(date))?;
    Mismatch::unless_equal("below all day", &stated.below_all_day, &light.is_empty())?;
    let within = |instant: &DateTime<Utc>| date.start() < *instant && *instant < date.end();
    let rises: Vec<_> = light.iter().map(Window::start).filter(within).collect();
    let sets: Vec<_> = light.iter().map(Window::end).filter(within).collect();
    instants_agree(case, "sunrise", &stated.sunrise_utc, &rises)?;
    instants_agree(case, "sunset", &stated.sunset_utc, &sets)
}

#[derive(Deserialize)]
struct WallWindow {
    base_mm: [(f64, f64); 2],
    sill_mm: f64,
    head_mm: f64,
    outward_normal: (f64, f64),
}

impl WallWindow {
    fn opening(&self, number: usize) -> Result<Opening, Mismatch> {
        taken(Opening::new(OpeningDraft {
            id: taken(DaylightOpeningId::new(format!("W{number}")))?,
            place: OpeningPlace::Wall {
                base_mm: self.base_mm,
                sill_mm: self.sill_mm,
                head_mm: self.head_mm,
                outward_normal: self.outward_normal,
            },
            blind: BlindState::None,
            door: None,
            horizon: None,
        }))
    }
}

#[derive(Deserialize)]
struct SunThroughWindow {
    #[serde(flatten)]
    place: Place,
    utc_day: Read<NaiveDate>,
    bearing_deg: f64,
    window: WallWindow,
    zone_mm: Vec<(f64, f64)>,
    zone_height_mm: f64,
    lit_utc: Vec<[Read<DateTime<Utc>>; 2]>,
}

fn check_window(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: SunThroughWindow = case.read()?;
    let track = taken(SunTrack::new(stated.place.site()?, utc_day(stated.utc_day.0)?))?;
    let bearing = taken(Azimuth::from_degrees(stated.bearing_deg))?;
    let outline = taken(Polygon::new(&stated.zone_mm))?;
    let zone = taken(SunTarget::level(&outline, stated.zone_height_mm))?;
    let lit = sunlit_windows(&track, bearing, &stated.window.opening(1)?, &zone);
    windows_agree(case, &stated.lit_utc, &lit)
}

#[derive(Deserialize)]
struct Volume {
    zone_mm: Vec<(f64, f64)>,
    up_to_mm: f64,
}

#[derive(Deserialize)]
struct SunFree {
    #[serde(flatten)]
    place: Place,
    utc_day: Read<NaiveDate>,
    bearing_deg: f64,
    windows: Vec<WallWindow>,
    volumes: Vec<Volume>,
    #[serde(rename = "sun_free_utc")]
    free_utc: Vec<[Read<DateTime<Utc>>; 2]>,
}

fn check_sun_free(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: SunFree = case.read()?;
    let track = taken(SunTrack::new(stated.place.site()?, utc_day(stated.utc_day.0)?))?;
    let bearing = taken(Azimuth::from_degrees(stated.bearing_deg))?;
    let openings: Result<Vec<_>, _> =
        (1..).zip(&stated.windows).map(|(number, window)| window.opening(number)).collect();
    let zones: Result<Vec<_>, _> = stated
        .volumes
        .iter()
        .map(|zone| taken(SunTarget::volume(&taken(Polygon::new(&zone.zone_mm))?, zone.up_to_mm)))
        .collect();
    let sunlight = Sunlight::new(&track, bearing, &openings?, &zones?);
    windows_agree(case, &stated.free_utc, &sunlight.sun_free())
}

fn utc_day(date: NaiveDate) -> Result<Window, Mismatch> {
    let start = date.and_time(NaiveTime::MIN).and_utc();
    taken(Window::new(start..start + Duration::days(1)))
}

fn windows_agree(
    case: &Case<'_>,
    expected: &[[Read<DateTime<Utc>>; 2]],
    got: &WindowSet,
) -> Result<(), Mismatch> {
    let (starts, ends): (Vec<_>, Vec<_>) =
        expected.iter().map(|[start, end]| (*start, *end)).unzip();
    instants_agree(case, "starts", &starts, &got.iter().map(Window::start).collect::<Vec<_>>())?;
    instants_agree(case, "ends", &ends, &got.iter().map(Window::end).collect::<Vec<_>>())
}

fn instants_agree(
    case: &Case<'_>,
    what: &str,
    expected: &[Read<DateTime<Utc>>],
    got: &[DateTime<Utc>],
) -> Result<(), Mismatch> {
    let tolerance_s = case.setting("tolerance_s").unwrap_or(TOLERANCE_S);
    let near = |(a, b): (&Read<DateTime<Utc>>, &DateTime<Utc>)| {
        (a.0 - *b).as_seconds_f64().abs() <= tolerance_s
    };
    if expected.len() == got.len() && expected.iter().zip(got).all(near) {
        return Ok(());
    }
    Err(Mismatch::new(format!("{what} {expected:?} within {tolerance_s} s"), format!("{got:?}")))
}

fn taken<T>(value: Result<T, Faults>) -> Result<T, Mismatch> {
    value.map_err(|faults| Mismatch::new("input that is accepted", faults.to_string()))
}

#[cfg(test)]
mod tests {
    use crate::reference::run;
    use std::path::Path;

    #[test]
    fn the_cases_of_the_repository_are_met() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference/sun");
        let (mut out, mut notes) = (Vec::new(), Vec::new());
        let tally = run(&[folder], &mut out, &mut notes).unwrap();
        assert_eq!((tally.failed, tally.skipped), (0, 0), "{}", String::from_utf8_lossy(&out));
        assert_eq!(tally.passed, 41 + 28 + 60);
    }
}
