//! When direct sun reaches what it must not reach, through which opening, and under which
//! assumptions.

use super::angle::Azimuth;
use super::beam::Beam;
use super::opening::{Assumption, Opening};
use super::target::SunTarget;
use super::track::SunTrack;
use crate::calendar::{Window, WindowSet};
use crate::ids::DaylightOpeningId;

/// When the sun reaches one target through one opening.
#[derive(Debug, Clone, PartialEq)]
pub struct SunThrough {
    /// The opening.
    pub opening: DaylightOpeningId,
    /// The target, counted from 0 in the order given.
    pub target: usize,
    /// When; never empty.
    pub windows: WindowSet,
}

/// When the sun reaches any of several targets through any of several openings, during a period.
///
/// Nothing but the openings' walls and skylines casts shadows: columns, other walls and other vehicles
/// do not, so that the sun is rather told too often.
#[derive(Debug, Clone, PartialEq)]
pub struct Sunlight {
    period: Window,
    through: Vec<SunThrough>,
    assumptions: Vec<Assumption>,
}

impl Sunlight {
    /// Follows the sun through every opening to every target, to the second.
    ///
    /// `bearing`: degrees clockwise from true north to floor +y. Every interval of 1 s or more is
    /// found; edges lie within 0.5 s of where the sun's position puts them.
    pub fn new(
        track: &SunTrack,
        bearing: Azimuth,
        openings: &[Opening],
        targets: &[SunTarget],
    ) -> Self {
        let mut through = Vec::new();
        for opening in openings {
            for (target, shape) in targets.iter().enumerate() {
                let windows = sunlit_windows(track, bearing, opening, shape);
                if !windows.is_empty() {
                    through.push(SunThrough { opening: opening.id().clone(), target, windows });
                }
            }
        }
        let assumptions = openings.iter().flat_map(Opening::assumptions).collect();
        Self { period: track.period(), through, assumptions }
    }

    /// The period looked at.
    pub fn period(&self) -> Window {
        self.period
    }

    /// Which opening lets the sun onto which target, and when; by opening, then by target.
    pub fn through(&self) -> &[SunThrough] {
        &self.through
    }

    /// What was assumed of blinds and doors; to be shown with the result.
    pub fn assumptions(&self) -> &[Assumption] {
        &self.assumptions
    }

    /// When the sun reaches any target.
    pub fn sunlit(&self) -> WindowSet {
        self.through.iter().flat_map(|one| one.windows.iter()).collect()
    }

    /// When the sun reaches no target.
    pub fn sun_free(&self) -> WindowSet {
        WindowSet::from(self.period).difference(&self.sunlit())
    }
}

/// When the sun reaches one target through one opening, to the second.
pub fn sunlit_windows(
    track: &SunTrack,
    bearing: Azimuth,
    opening: &Opening,
    target: &SunTarget,
) -> WindowSet {
    Beam::new(track.site(), bearing, opening, target)
        .map_or(WindowSet::EMPTY, |beam| track.windows_where(&beam))
}
