//! Daylight: where the sun stands, when it shines through which opening onto what it must not reach,
//! and when there is daylight on the road.
//!
//! A [`Site`] and a period give a [`SunTrack`], the sun's way, computed once for all bays. Each bay has
//! [`Opening`]s (windows, skylights, doors) and [`SunTarget`]s (sun-free zones, sensors);
//! [`Sunlight`] tells when the sun reaches a target, through which opening, and what was assumed of
//! blinds and doors. [`start_windows`] turns sun-free time into times to start.
//!
//! Time enters as an argument. Angles are degrees at the boundary; floor axes are those of
//! [`axes`](crate::axes), and a floor's bearing is the [`Azimuth`] of its +y.
//!
//! # Example: morning sun through a window in the east wall
//! ```
//! use baywright_core::calendar::Window;
//! use baywright_core::daylight::{
//!     Azimuth, BlindState, Opening, OpeningDraft, OpeningPlace, Site, SiteDraft, SunTarget,
//!     sun_free_windows,
//! };
//! use baywright_core::ids::DaylightOpeningId;
//! use baywright_core::region::Polygon;
//!
//! let site = Site::new(SiteDraft::at_sea_level(44.65, -63.58))?;
//! let north_is_up = Azimuth::from_degrees(0.0)?;
//! let window = Opening::new(OpeningDraft {
//!     id: DaylightOpeningId::new("W2")?,
//!     place: OpeningPlace::Wall {
//!         base_mm: [(8_000.0, 2_000.0), (8_000.0, 5_000.0)],
//!         sill_mm: 900.0,
//!         head_mm: 2_400.0,
//!         outward_normal: (1.0, 0.0),
//!     },
//!     blind: BlindState::None,
//!     door: None,
//!     horizon: None,
//! })?;
//! let zone = Polygon::new(&[(2.0e3, 1.0e3), (6.0e3, 1.0e3), (6.0e3, 6.0e3), (2.0e3, 6.0e3)])?;
//! let zone = SunTarget::volume(&zone, 2_000.0)?;
//! let day = Window::new("2026-06-21T04:00:00Z".parse().unwrap()..
//!     "2026-06-22T04:00:00Z".parse().unwrap())?;
//! let sun_free = sun_free_windows(site, north_is_up, &[window], &[zone], day)?;
//! // Sun from the east in the morning only: free before sunrise and from before noon on.
//! assert_eq!(sun_free.iter().len(), 2);
//! # Ok::<(), baywright_core::fault::Faults>(())
//! ```

mod angle;
mod beam;
mod cone;
mod convex;
mod horizon;
mod opening;
mod patch;
mod site;
mod sun;
mod sun_free;
mod sunlight;
mod target;
mod track;
mod vector;

pub use angle::{Azimuth, Elevation};
pub use horizon::{HORIZON_POINTS_MAX, HorizonProfile};
pub use opening::{
    AssumedState, Assumption, BlindState, DoorState, NORMAL_OFF_SQUARE_DEG_MAX,
    OPENING_SIZE_MM_MIN, Opening, OpeningDraft, OpeningPlace, ROOF_OPENING_CORNERS_MAX,
};
pub use patch::sunlit_floor;
pub use site::{Site, SiteDraft};
pub use sun::{REFRACTION_FROM_DEG, SUN_YEARS, SunPosition, sun_position};
pub use sun_free::{daylight_of, road_daylight_windows, start_windows, sun_free_windows};
pub use sunlight::{SunThrough, Sunlight, sunlit_windows};
pub use target::{HALF_ANGLE_DEG_MAX, HALF_ANGLE_DEG_MIN, SensorView, SunTarget};
pub use track::{PERIOD_DAYS_MAX, SunTrack};

#[cfg(test)]
mod tests;
