//! The sun's way over a site during a period, computed once and shared by all that asks for it.
//!
//! The algorithm is run every [`NODE_SECONDS`]; between these nodes the true direction, a unit
//! vector that turns by at most a quarter of a degree a minute, is interpolated with a polynomial
//! through six nodes. Its error is below 2e-7 degrees (measured in the tests), a thousandth of the
//! algorithm's own. Refraction is added after the interpolation.
//!
//! # How intervals are found, and why none is missed
//! Within a stretch of time the sun stays within a known angle of where it stands in the middle: half
//! the stretch times [`SPEED_RAD_PER_S_MAX`]. A [`SkyRegion`] says of that whole spherical cap whether
//! it lies inside, outside, or neither for certain; in the last case the stretch is halved, down to
//! whole seconds, which are judged by their middle. So every interval and every gap of 1 s or more
//! is found, and every edge lies within 0.5 s of the true one, whatever the number of intervals.

use super::site::Site;
use super::sun::{REFRACTION_FROM_DEG, check_year, refraction_deg, true_position};
use super::vector::{Vector, direction, plus_scaled};
use crate::calendar::{Window, WindowSet};
use crate::fault::{Fault, Faults};
use chrono::{DateTime, Duration};

/// The longest period of a track.
pub const PERIOD_DAYS_MAX: i64 = 400;

/// Seconds between two runs of the algorithm.
const NODE_SECONDS: i32 = 1_200;
/// Nodes before the period's first one and behind its last one that the interpolation needs.
const NODES_BEYOND: i32 = 3;

/// The most by which the sun moves in a second, radians.
///
/// The sky turns once in a sidereal day, 7.2921e-5 radians a second; the sun's own motion in
/// declination adds at most 0.4 degrees a day, refraction and parallax far less. The rest is margin.
const SPEED_RAD_PER_S_MAX: f64 = 7.5e-5;

/// The sun as it is seen at an instant.
#[derive(Debug, Clone, Copy)]
pub(super) struct SunSeen {
    /// Towards the sun, bent by refraction: east, north, up.
    pub(super) apparent: Vector,
    /// Elevation of the sun's centre without refraction, radians.
    pub(super) elevation_true_rad: f64,
}

/// A part of the sky that can be asked about a whole cap at once.
pub(super) trait SkyRegion {
    /// Whether all of the sky within `radius_rad` of the sun lies inside (`Some(true)`), all of it
    /// outside (`Some(false)`), or neither for certain.
    fn holds_within(&self, sun: &SunSeen, radius_rad: f64) -> Option<bool>;
}

/// The sun's way over a site during a period.
#[derive(Debug, Clone)]
pub struct SunTrack {
    site: Site,
    period: Window,
    /// Seconds from 1970 to the first node.
    first_s: i64,
    /// The true directions at the nodes: east, north, up.
    nodes: Vec<Vector>,
    /// The sun as it is seen at the nodes.
    seen: Vec<SunSeen>,
}

impl SunTrack {
    /// Follows the sun over a site during a period.
    ///
    /// # Errors
    /// A fault of `period` when it is longer than [`PERIOD_DAYS_MAX`] days or begins or ends in a
    /// year outside of [`SUN_YEARS`](super::SUN_YEARS).
    pub fn new(site: Site, period: Window) -> Result<Self, Faults> {
        if period.duration() > Duration::days(PERIOD_DAYS_MAX) {
            return Err(Fault::new(
                "period",
                period,
                format!("last at most {PERIOD_DAYS_MAX} days"),
                "ask for a shorter period, or for several one after the other",
            )
            .into());
        }
        check_year("period", period.start())?;
        check_year("period", period.end())?;
        let spacing = i64::from(NODE_SECONDS);
        let first = period.start().timestamp().div_euclid(spacing) - i64::from(NODES_BEYOND);
        let last = period.end().timestamp().div_euclid(spacing) + 1 + i64::from(NODES_BEYOND);
        let mut nodes = Vec::new();
        for node in first..=last {
            let instant = DateTime::from_timestamp(node * spacing, 0).unwrap_or(period.start());
            let (azimuth_deg, elevation_deg) = true_position(&site, instant)?;
            let (east, north) = azimuth_deg.to_radians().sin_cos();
            let (up, level) = elevation_deg.to_radians().sin_cos();
            nodes.push([level * east, level * north, up]);
        }
        let seen = nodes.iter().map(|node| seen_through_air(&site, *node)).collect();
        Ok(Self { site, period, first_s: first * spacing, nodes, seen })
    }

    /// The site.
    pub fn site(&self) -> &Site {
        &self.site
    }

    /// The period.
    pub fn period(&self) -> Window {
        self.period
    }

    /// The instants of the period, to the second, at which the sun stands in a part of the sky.
    pub(super) fn windows_where(&self, region: &impl SkyRegion) -> WindowSet {
        let second = |at: i64| i32::try_from(at - self.first_s).unwrap_or(i32::MAX);
        let end = self.period.end();
        let ceiling = i64::from(end.timestamp_subsec_nanos() > 0);
        let mut search = Search {
            track: self,
            region,
            start: second(self.period.start().timestamp()),
            end: second(end.timestamp() + ceiling),
            found: Vec::new(),
        };
        for (node, sun) in (0..).zip(&self.seen) {
            // From halfway to the node before to halfway to the next one, so that the node's own
            // position serves and nothing is interpolated.
            search.look_around_node(node * NODE_SECONDS, sun);
        }
        let windows = search.found.into_iter().filter_map(|(start, end)| {
            let instant = |at: i32| DateTime::from_timestamp(self.first_s + i64::from(at), 0);
            Window::new(instant(start)?..instant(end)?).ok()
        });
        windows.collect::<WindowSet>().clipped(self.period)
    }

    /// The sun as it is seen a number of half seconds after the first node.
    fn seen_at(&self, half_seconds: i32) -> SunSeen {
        let halves_per_node = 2 * NODE_SECONDS;
        let share =
            f64::from(half_seconds.rem_euclid(halves_per_node)) / f64::from(halves_per_node);
        let node = usize::try_from(half_seconds.div_euclid(halves_per_node)).unwrap_or(0);
        let around = self.nodes.iter().skip(node.saturating_sub(2)).take(6);
        let mut sum = [0.0; 3];
        for (weight, direction) in weights(share + 2.0).into_iter().zip(around) {
            sum = plus_scaled(sum, *direction, weight);
        }
        seen_through_air(&self.site, direction(sum, 0.0).unwrap_or(sum))
    }

    /// The sun as it is seen half a second after a whole second of the period.
    #[cfg(test)]
    pub(super) fn seen_half_a_second_after(&self, instant: DateTime<chrono::Utc>) -> SunSeen {
        self.seen_at(2 * i32::try_from(instant.timestamp() - self.first_s).unwrap() + 1)
    }
}

/// The weights of six nodes at `0, 1, .. 5` for a place between them (Lagrange's polynomial).
fn weights(at: f64) -> [f64; 6] {
    const DENOMINATORS: [f64; 6] = [-120.0, 24.0, -12.0, 12.0, -24.0, 120.0];
    let from = [at, at - 1.0, at - 2.0, at - 3.0, at - 4.0, at - 5.0];
    let mut weights = [1.0; 6];
    let (mut before, mut behind) = (1.0, 1.0);
    for up in 0..6 {
        let down = 5 - up;
        weights[up] *= before;
        weights[down] *= behind;
        before *= from[up];
        behind *= from[down];
    }
    for (weight, denominator) in weights.iter_mut().zip(DENOMINATORS) {
        *weight /= denominator;
    }
    weights
}

/// The sun in a true direction as it is seen through the air.
///
/// Below [`REFRACTION_FROM_DEG`] the refraction of that elevation is kept instead of none, so that
/// the direction moves steadily. Nothing depends on it: the sun is then below the horizon.
fn seen_through_air(site: &Site, [east, north, up]: Vector) -> SunSeen {
    let elevation_true_rad = up.clamp(-1.0, 1.0).asin();
    let bent_deg = refraction_deg(site, elevation_true_rad.to_degrees().max(REFRACTION_FROM_DEG));
    let (up, level) = (elevation_true_rad + bent_deg.to_radians()).sin_cos();
    let level_true = east.hypot(north);
    let stretch = if level_true > 0.0 { level / level_true } else { 0.0 };
    SunSeen { apparent: [east * stretch, north * stretch, up], elevation_true_rad }
}

/// A search for the stretches in which the sun stands in a part of the sky; seconds from the first
/// node.
struct Search<'a, R> {
    track: &'a SunTrack,
    region: &'a R,
    start: i32,
    end: i32,
    found: Vec<(i32, i32)>,
}

impl<R: SkyRegion> Search<'_, R> {
    fn look_around_node(&mut self, node_s: i32, sun: &SunSeen) {
        let half = NODE_SECONDS / 2;
        let (start, end) = ((node_s - half).max(self.start), (node_s + half).min(self.end));
        if start < end {
            match self.region.holds_within(sun, f64::from(half) * SPEED_RAD_PER_S_MAX) {
                Some(true) => self.note(start, end),
                Some(false) => {}
                None => self.halve(start, end),
            }
        }
    }

    fn look(&mut self, start: i32, end: i32) {
        let length = end - start;
        let sun = self.track.seen_at(start + end);
        // A single second is judged by its middle alone.
        let radius = if length > 1 { f64::from(length) / 2.0 * SPEED_RAD_PER_S_MAX } else { 0.0 };
        match self.region.holds_within(&sun, radius) {
            Some(true) => self.note(start, end),
            None if length > 1 => self.halve(start, end),
            Some(false) | None => {}
        }
    }

    fn halve(&mut self, start: i32, end: i32) {
        let middle = start + (end - start) / 2;
        for (from, to) in [(start, middle), (middle, end)] {
            if from < to {
                self.look(from, to);
            }
        }
    }

    fn note(&mut self, start: i32, end: i32) {
        match self.found.last_mut() {
            Some(last) if last.1 == start => last.1 = end,
            _ => self.found.push((start, end)),
        }
    }
}
