//! A bay and its survey as they would be after a change.

use super::Change;
use crate::axes::PointFloor;
use crate::floor::{Bay, HEIGHT_MM_MAX, Obstruction, ObstructionDraft, Station};
use crate::ids::{ObstructionId, StationId};
use crate::region::{Polygon, united};
use crate::survey::Survey;
use chrono::{Days, NaiveDate};

/// The name of the station that a change paints.
const PAINTED: &str = "painted";
/// Edges that turn by less than this (sine) go straight on.
const STRAIGHT_SINE_MAX: f64 = 1e-3;

/// A bay on a day with its survey and the bays of the same floor.
#[derive(Debug, Clone, Copy)]
pub struct Around<'a> {
    /// The bay.
    pub bay: &'a Bay,
    /// Its survey.
    pub survey: Option<&'a Survey>,
    /// All bays of the floor; the bay itself may be among them.
    pub bays: &'a [Bay],
    /// The day.
    pub on: NaiveDate,
}

impl Change {
    /// The bay and its survey as they would be; none where the change cannot be made.
    pub fn applied(&self, around: &Around<'_>) -> Option<(Bay, Option<Survey>)> {
        let Around { bay, survey, .. } = *around;
        let same = || survey.cloned();
        match self {
            Self::PaintStation { pose } => {
                let station = Station { id: StationId::new(PAINTED).ok()?, pose: *pose };
                Some((bay.with_station(station), same()))
            }
            Self::RemoveObstruction { obstruction } => {
                Some((bay.without_obstruction(obstruction), same()))
            }
            Self::KeepNeighbourEmpty { bay: neighbour } => {
                let neighbour = around.bays.iter().find(|one| one.id() == neighbour)?;
                Some((reaching_over(bay, neighbour)?, same()))
            }
            Self::GainFloor { edge, gain_mm } => {
                let strip = strip_along(bay.outline(), *edge, f64::from(*gain_mm))?;
                Some((bay.with_outline(united(bay.outline(), &strip)?), same()))
            }
            Self::CloseBlind { opening, .. } => Some((bay.with_blind_closed(opening)?, same())),
            Self::BuyUnit { .. } => Some((bay.clone(), same())),
            Self::RenewSurvey
            | Self::MeasureHeights { .. }
            | Self::MeasureLight { .. }
            | Self::AddLight { .. }
            | Self::Relevel { .. } => Some((bay.clone(), Some(self.surveyed(survey?, around.on)?))),
        }
    }

    /// The survey as it would show the bay after the change.
    fn surveyed(&self, survey: &Survey, on: NaiveDate) -> Option<Survey> {
        let size = self.size().map_or(0.0, |size| size.value);
        let tomorrow = on.checked_add_days(Days::new(1))?;
        let changed = survey.changed(|draft| match self {
            Self::RenewSurvey => {
                (draft.taken_on, draft.valid_until) = (on, tomorrow);
                // The light is read again too, so it counts as long as the survey.
                draft.light_conditions.light_valid_until = None;
            }
            Self::MeasureHeights { .. } => draft.height_uncertainty_mm = size,
            Self::MeasureLight { .. } => draft.light_uncertainty_relative = size,
            Self::AddLight { .. } => {
                for reading in &mut draft.light {
                    reading.lux += size;
                }
            }
            Self::Relevel { to_mm, .. } => {
                for point in &mut draft.heights {
                    point.height_mm += (to_mm - point.height_mm).clamp(-size, size);
                }
            }
            Self::PaintStation { .. }
            | Self::KeepNeighbourEmpty { .. }
            | Self::RemoveObstruction { .. }
            | Self::BuyUnit { .. }
            | Self::CloseBlind { .. }
            | Self::GainFloor { .. } => {}
        });
        Some(if *self == Self::RenewSurvey { changed.taken_anew() } else { changed })
    }
}

/// The bay with the floor of a neighbour that touches it, everything that stands there, and where the
/// neighbour's ceiling is lower, that as an obstruction.
fn reaching_over(bay: &Bay, neighbour: &Bay) -> Option<Bay> {
    let floor = united(bay.outline(), neighbour.outline())?;
    let mut there = neighbour.obstructions().to_vec();
    if neighbour.ceiling_mm() < bay.ceiling_mm() && neighbour.ceiling_mm() < HEIGHT_MM_MAX {
        let corners = neighbour.outline().vertices().iter();
        let low = Obstruction::new(ObstructionDraft {
            id: ObstructionId::new(format!("ceiling-of-{}", neighbour.id())).ok()?,
            outline_mm: corners.map(|corner| (corner.x_mm, corner.y_mm)).collect(),
            from_mm: neighbour.ceiling_mm(),
            to_mm: HEIGHT_MM_MAX,
            metal: false,
            dates: None,
        });
        there.push(low.ok()?);
    }
    Some(bay.with_outline(floor).with_obstructions(there))
}

/// The first edge of the straight side to which an edge belongs.
pub(super) fn side_of_edge(outline: &Polygon, edge: usize) -> usize {
    let count = outline.vertices().len();
    let mut first = edge % count;
    for _ in 0..count {
        let before = (first + count - 1) % count;
        if !goes_straight_on(outline, before) {
            break;
        }
        first = before;
    }
    first
}

/// Whether the edge after this one has the same direction.
fn goes_straight_on(outline: &Polygon, edge: usize) -> bool {
    let corners = outline.vertices();
    let at = |index: usize| corners[(edge + index) % corners.len()];
    let (a, b, c) = (at(0), at(1), at(2));
    let (ux, uy) = (b.x_mm - a.x_mm, b.y_mm - a.y_mm);
    let (vx, vy) = (c.x_mm - b.x_mm, c.y_mm - b.y_mm);
    let lengths = ux.hypot(uy) * vx.hypot(vy);
    (ux * vy - uy * vx).abs() <= STRAIGHT_SINE_MAX * lengths && ux * vx + uy * vy > 0.0
}

/// A strip along a straight side, outside of it.
fn strip_along(outline: &Polygon, first: usize, width_mm: f64) -> Option<Polygon> {
    let corners = outline.vertices();
    let count = corners.len();
    let mut last = first;
    for _ in 0..count {
        if !goes_straight_on(outline, last) {
            break;
        }
        last = (last + 1) % count;
    }
    let (from, to) = (corners.get(first)?, corners[(last + 1) % count]);
    let (x, y) = (to.x_mm - from.x_mm, to.y_mm - from.y_mm);
    let length_mm = x.hypot(y);
    // Outside lies to the right of an outline that goes around counter-clockwise.
    let out = outline.sense() * width_mm / length_mm;
    let moved = |corner: &PointFloor| (corner.x_mm + out * y, corner.y_mm - out * x);
    let corner = |corner: &PointFloor| (corner.x_mm, corner.y_mm);
    Polygon::new(&[corner(from), corner(&to), moved(&to), moved(from)]).ok()
}
