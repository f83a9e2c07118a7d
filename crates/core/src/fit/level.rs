//! A level floor: slope and residuals of the plane through the heights surveyed in the zone.

use super::site::Site;
use super::{Detail, Finding, NeedKind, Quantity, Verdict};
use crate::axes::PointFloor;
use crate::region::{Polygon, hull_area_mm2};
use crate::survey::{LevelPlane, Limits, NoPlane, Survey};

/// The fewest surveyed heights in a zone that decide about its floor.
pub const LEVEL_POINTS_MIN: usize = 3;
/// The least share of a zone's area that lies between the heights surveyed in it; our own choice,
/// so that a corner of a zone does not speak for the whole.
pub const LEVEL_COVER_SHARE_MIN: f64 = 0.25;

/// Judges slope and, where it is limited, residual of the floor in a zone.
pub(super) fn zone(
    site: &Site<'_>,
    zone_floor: &Polygon,
    slope_max_deg: f64,
    residual_max_mm: Option<f64>,
) -> Vec<Finding> {
    let slope_limit = Quantity::deg(slope_max_deg);
    let residual_limit = residual_max_mm.map(Quantity::mm);
    let found = site
        .survey_that_counts()
        .and_then(|survey| plane_within(survey, zone_floor).map(|plane| (survey, plane)));
    match found {
        Ok((survey, plane)) => {
            let u_mm = survey.height_uncertainty_mm();
            let slope = Finding::judged(
                NeedKind::LevelSlope,
                Quantity::deg(plane.steepest_deg()),
                plane.steepest_uncertainty_deg(u_mm),
                Limits::at_most(slope_max_deg),
                Detail::SlopeTooSteep,
            );
            let residual = residual_max_mm.map(|most| {
                Finding::judged(
                    NeedKind::LevelResidual,
                    Quantity::mm(plane.largest_residual_mm()),
                    // A residual is never less certain than the height it belongs to.
                    u_mm,
                    Limits::at_most(most),
                    Detail::FloorUneven,
                )
            });
            std::iter::once(slope).chain(residual).collect()
        }
        Err(detail) => {
            let undecided = |need, limit| Finding {
                limit: Some(limit),
                ..Finding::plain(need, Verdict::Undecided, detail.clone())
            };
            let slope = undecided(NeedKind::LevelSlope, slope_limit);
            let residual = residual_limit.map(|limit| undecided(NeedKind::LevelResidual, limit));
            std::iter::once(slope).chain(residual).collect()
        }
    }
}

/// The plane of the heights surveyed in a zone, or why there is none that speaks for the zone.
fn plane_within(survey: &Survey, zone_floor: &Polygon) -> Result<LevelPlane, Detail> {
    let place = |x_mm: f64, y_mm: f64| PointFloor { x_mm, y_mm };
    let inside: Vec<_> = survey
        .heights()
        .iter()
        .filter(|point| zone_floor.contains(place(point.x_mm, point.y_mm)))
        .collect();
    let points: Vec<_> =
        inside.iter().map(|point| [point.x_mm, point.y_mm, point.height_mm]).collect();
    let plane = LevelPlane::fit(&points).map_err(|why| match why {
        NoPlane::TooFewPoints { found } => Detail::TooFewPoints { found, needed: LEVEL_POINTS_MIN },
        NoPlane::OnOneLine { found } => Detail::PointsOnOneLine { found },
        // Surveys hold numbers only; points that are none would count as not measured.
        NoPlane::NotANumber { .. } => Detail::TooFewPoints { found: 0, needed: LEVEL_POINTS_MIN },
    })?;
    let places: Vec<_> = inside.iter().map(|point| place(point.x_mm, point.y_mm)).collect();
    let share = hull_area_mm2(&places) / zone_floor.area_mm2();
    if share < LEVEL_COVER_SHARE_MIN {
        return Err(Detail::PointsCoverTooLittle { share, share_min: LEVEL_COVER_SHARE_MIN });
    }
    Ok(plane)
}
