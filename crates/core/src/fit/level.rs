//! A level floor: slope and residuals of the plane through the heights surveyed in the zone.
//!
//! The points must speak for the whole zone: enough of them, dense enough, and the zone between
//! them. A plane through few points has no residual to speak of, so without enough of them both
//! slope and residual are undecided, with the places to measure. The slope's uncertainty is that of
//! the instrument or, where the heights scatter by more about their plane, that of the scatter.

use super::site::Site;
use super::{Detail, Finding, NeedKind, Quantity, Verdict};
use crate::axes::PointFloor;
use crate::demand::LevelTerms;
use crate::region::Polygon;
use crate::survey::{
    ConformanceProbability, Decision, Density, Gap, LevelPlane, Limits, NoPlane, Survey,
    decide_largest, gap, more_places,
};

/// The fewest places surveyed in a zone that decide about its floor: three more than a plane takes,
/// so that residuals can show; our own choice.
pub const LEVEL_POINTS_MIN: usize = 6;
/// The spacing of surveyed places that a level floor takes unless its procedure asks for another,
/// millimetres; our own choice.
pub const LEVEL_SPACING_MM_DEFAULT: f64 = 1_000.0;

/// What is asked of a level floor.
#[derive(Debug, Clone, Copy)]
pub(super) struct LevelAsked {
    pub(super) slope_max_deg: f64,
    pub(super) residual_max_mm: Option<f64>,
    pub(super) terms: LevelTerms,
}

impl LevelAsked {
    fn density(&self) -> Density {
        Density {
            spacing_max_mm: self.terms.point_spacing_max_mm.unwrap_or(LEVEL_SPACING_MM_DEFAULT),
            points_min: LEVEL_POINTS_MIN,
            between_points: true,
        }
    }

    pub(super) fn probability(&self) -> ConformanceProbability {
        probability(self.terms.conformance_probability)
    }
}

/// A stated probability, or the usual one.
pub(super) fn probability(stated: Option<f64>) -> ConformanceProbability {
    // Needs are checked when they are made, so a stated one is sound.
    stated.and_then(|stated| ConformanceProbability::new(stated).ok()).unwrap_or_default()
}

/// Judges slope and, where it is limited, residual of the floor in a zone.
pub(super) fn zone(site: &Site<'_>, zone_floor: &Polygon, asked: &LevelAsked) -> Vec<Finding> {
    let found = site.survey_that_counts().and_then(|survey| {
        measured_within(survey, zone_floor, &asked.density()).map(|found| (survey, found))
    });
    match found {
        Ok((survey, measured)) => {
            let slope = slope(survey, &measured.plane, asked);
            let residual = asked.residual_max_mm.map(|most| measured.residual(survey, most, asked));
            std::iter::once(slope).chain(residual).collect()
        }
        Err(detail) => {
            let undecided = |need, limit| Finding {
                limit: Some(limit),
                ..Finding::plain(need, Verdict::Undecided, detail.clone())
            };
            let slope = undecided(NeedKind::LevelSlope, Quantity::deg(asked.slope_max_deg));
            let residual = asked
                .residual_max_mm
                .map(|most| undecided(NeedKind::LevelResidual, Quantity::mm(most)));
            std::iter::once(slope).chain(residual).collect()
        }
    }
}

fn slope(survey: &Survey, plane: &LevelPlane, asked: &LevelAsked) -> Finding {
    let errors = survey.height_errors();
    // Three points more than a plane takes are asked for, so there always is a scatter.
    let scatter_mm = plane.residual_std_mm().unwrap_or(f64::INFINITY);
    let own_mm = errors.own_mm().max(scatter_mm);
    let distribution = plane.slope_distribution(own_mm, errors.tilt());
    let decision = distribution.decide(asked.slope_max_deg, asked.probability());
    let u_deg = distribution.largest_u().atan().to_degrees();
    let undecided = |largest_u_deg: f64| {
        let more = |sure: f64| HeightsNeeded::of(plane, own_mm, errors.tilt(), sure);
        let needed = more(largest_u_deg.to_radians().tan());
        let largest_u_that_decides = Quantity::deg(largest_u_deg);
        if scatter_mm > errors.own_mm() {
            Detail::HeightsScatter { largest_u_that_decides, scatter_mm, points: needed.points }
        } else {
            let height_u_mm = needed.height_u_mm;
            Detail::HeightsTooUncertain {
                largest_u_that_decides,
                height_u_mm,
                points: needed.points,
            }
        }
    };
    Finding::decided(
        NeedKind::LevelSlope,
        Quantity::deg(plane.steepest_deg()),
        u_deg,
        Limits::at_most(asked.slope_max_deg),
        match decision {
            Decision::Conforms => (Verdict::Conforms, Detail::Holds),
            Decision::DoesNotConform => (Verdict::DoesNotConform, Detail::SlopeTooSteep),
            Decision::Undecided { largest_u_that_decides } => {
                (Verdict::Undecided, undecided(largest_u_that_decides))
            }
        },
    )
    .with_probability(asked.probability())
}

/// What would make a slope as sure as it has to be.
struct HeightsNeeded {
    /// Standard uncertainty of a height's own part, millimetres; none where no height is sure enough.
    height_u_mm: Option<f64>,
    /// Points in the zone with the heights as they are; none where no number suffices.
    points: Option<u32>,
}

impl HeightsNeeded {
    /// For a slope of the standard uncertainty `sure` where heights have `own_mm`.
    fn of(plane: &LevelPlane, own_mm: f64, tilt: f64, sure: f64) -> Self {
        let left = sure * sure - tilt * tilt;
        let per_mm = plane.steepest_uncertainty(1.0);
        if !(left > 0.0 && per_mm > 0.0) {
            return Self { height_u_mm: None, points: None };
        }
        let height_u_mm = left.sqrt() / per_mm;
        // The uncertainty falls with the square root of the number of points.
        let times = (own_mm / height_u_mm).powi(2);
        Self { height_u_mm: Some(height_u_mm), points: rounded_up(times, plane.residuals().len()) }
    }
}

/// The most points that are worth asking for in a zone.
const POINTS_WORTH_ASKING: f64 = 1_000.0;

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "at most a thousand"
)]
fn rounded_up(times: f64, points: usize) -> Option<u32> {
    let needed = (times * points as f64).ceil();
    (needed <= POINTS_WORTH_ASKING).then_some(needed as u32)
}

/// The places measured in a zone and the plane through their heights.
struct Measured {
    places: Vec<PointFloor>,
    plane: LevelPlane,
}

impl Measured {
    fn residual(&self, survey: &Survey, most_mm: f64, asked: &LevelAsked) -> Finding {
        // A residual is never less certain than the height it belongs to; what heights share and a
        // tilted horizontal are part of the plane.
        let u_mm = survey.height_errors().own_mm();
        let measured = self.plane.largest_residual_mm();
        let count = u32::try_from(self.places.len()).unwrap_or(u32::MAX);
        let found = match decide_largest(measured, u_mm, count, most_mm, asked.probability()) {
            Decision::Conforms => (Verdict::Conforms, Detail::Holds),
            Decision::DoesNotConform => (Verdict::DoesNotConform, Detail::FloorUneven),
            Decision::Undecided { largest_u_that_decides } => {
                let largest_u_that_decides = Quantity::mm(largest_u_that_decides);
                (Verdict::Undecided, self.residual_unsure(largest_u_that_decides))
            }
        };
        let limits = Limits::at_most(most_mm);
        Finding::decided(NeedKind::LevelResidual, Quantity::mm(measured), u_mm, limits, found)
            .with_probability(asked.probability())
    }

    /// The doubt about the largest residual, with its place.
    fn residual_unsure(&self, largest_u_that_decides: Quantity) -> Detail {
        let residuals = self.places.iter().zip(self.plane.residuals());
        let largest = residuals.max_by(|one, two| one.1.abs().total_cmp(&two.1.abs()));
        largest.map_or(Detail::TooUncertain { largest_u_that_decides }, |(at, _)| {
            Detail::ResidualTooUncertain { largest_u_that_decides, at: *at }
        })
    }
}

/// The plane of the heights surveyed in a zone, or why there is none that speaks for the zone.
fn measured_within(
    survey: &Survey,
    zone_floor: &Polygon,
    asked: &Density,
) -> Result<Measured, Detail> {
    let floor = survey.floor();
    if let Some(gap) = gap(floor, zone_floor, asked) {
        let more = more_places(floor, zone_floor, asked);
        return Err(match gap {
            Gap::TooFew { found } => Detail::TooFewPoints { found, needed: LEVEL_POINTS_MIN, more },
            Gap::OnOneLine { found } => Detail::PointsOnOneLine { found, more },
            Gap::Outside { at } => Detail::NotSurveyedThere { at, more },
            Gap::TooWide { at, distance_mm } => Detail::PointsTooSparse {
                at,
                distance_mm,
                distance_max_mm: asked.gap_max_mm(),
                more,
            },
        });
    }
    // Each place once, so that a place that was read often does not weigh more than the others.
    let inside = || floor.nodes_within(zone_floor);
    let points: Vec<_> =
        inside().map(|node| [node.place.x_mm, node.place.y_mm, node.value]).collect();
    let places = inside().map(|node| node.place).collect();
    let plane = LevelPlane::fit(&points).map_err(|why| match why {
        NoPlane::TooFewPoints { found } => Detail::TooFewPoints {
            found,
            needed: LEVEL_POINTS_MIN,
            more: more_places(floor, zone_floor, asked),
        },
        NoPlane::OnOneLine { .. } | NoPlane::NotANumber { .. } => Detail::PointsOnOneLine {
            found: points.len(),
            more: more_places(floor, zone_floor, asked),
        },
    })?;
    Ok(Measured { places, plane })
}

#[cfg(test)]
mod tests;
