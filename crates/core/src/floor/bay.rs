//! A named part of a shop's floor, as it was drawn.

use crate::axes::PoseFloor;
use crate::daylight::{BlindState, Opening};
use crate::draft_checks::{at_most, unique};
use crate::fault::{Fault, FaultList, Faults};
use crate::floor::opening::Room;
use crate::floor::{DaylightOpening, HEIGHT_MM_MAX, Obstruction, ObstructionDraft, Placing};
use crate::ids::{BayId, DaylightOpeningId, ObstructionId, StationId};
use crate::region::Polygon;

/// The most obstructions of a bay.
pub const OBSTRUCTIONS_MAX: usize = 200;
/// The most stations of a bay.
pub const STATIONS_MAX: usize = 50;
/// The most daylight openings of a bay.
pub const DAYLIGHT_OPENINGS_MAX: usize = 100;

/// A painted mark in a bay: a known pose.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Its name, unique within the bay.
    pub id: StationId,
    /// Where a vehicle stands on it.
    pub pose: PoseFloor,
}

/// A bay as it was given, not yet checked.
#[derive(Debug, Clone, PartialEq)]
pub struct BayDraft {
    /// Its name.
    pub id: BayId,
    /// Its corners in floor axes, millimetres, in order, either way round.
    pub outline_mm: Vec<(f64, f64)>,
    /// The clear height under the ceiling, 1000 to [`HEIGHT_MM_MAX`].
    pub ceiling_mm: f64,
    /// What stands in it; at most [`OBSTRUCTIONS_MAX`].
    pub obstructions: Vec<ObstructionDraft>,
    /// The painted marks; at most [`STATIONS_MAX`], each inside of the outline.
    pub stations: Vec<Station>,
    /// What lets daylight in; at most [`DAYLIGHT_OPENINGS_MAX`].
    pub daylight_openings: Vec<DaylightOpening>,
}

/// A named part of a shop's floor.
#[derive(Debug, Clone)]
pub struct Bay {
    id: BayId,
    outline: Polygon,
    ceiling_mm: f64,
    obstructions: Vec<Obstruction>,
    stations: Vec<Station>,
    daylight_openings: Vec<DaylightOpening>,
    placing: Placing,
    /// Those of them that are drawn, as the sun meets them.
    sun_openings: Vec<Opening>,
}

impl PartialEq for Bay {
    /// By what was given: what the sun meets follows from that.
    fn eq(&self, other: &Self) -> bool {
        let parts = |bay: &Self| (bay.id.clone(), bay.outline.clone(), bay.ceiling_mm);
        parts(self) == parts(other)
            && self.obstructions == other.obstructions
            && self.stations == other.stations
            && self.daylight_openings == other.daylight_openings
            && self.placing == other.placing
    }
}

impl Bay {
    /// Checks and takes a bay.
    ///
    /// # Errors
    /// Every fault of outline, ceiling, list lengths and obstructions; a name used twice within a
    /// list; a station whose point lies outside of the outline; an opening that is drawn off the
    /// bay's walls or roof.
    pub fn new(draft: BayDraft) -> Result<Self, Faults> {
        let BayDraft { id, outline_mm, ceiling_mm, obstructions, stations, daylight_openings } =
            draft;
        let mut faults = FaultList::new();
        let outline = Polygon::checked_into(&mut faults, "outline_mm", &outline_mm);
        let outline_is_sound = faults.is_empty();
        faults.number_within("ceiling_mm", ceiling_mm, 1_000.0, HEIGHT_MM_MAX, "mm");
        at_most(&mut faults, "obstructions", obstructions.len(), OBSTRUCTIONS_MAX);
        unique(&mut faults, "obstructions", obstructions.iter().map(|draft| &draft.id));
        let obstructions: Vec<_> = obstructions
            .into_iter()
            .enumerate()
            .filter_map(|(at, draft)| {
                faults.take(&format!("obstructions[{at}]"), Obstruction::new(draft))
            })
            .collect();
        at_most(&mut faults, "stations", stations.len(), STATIONS_MAX);
        unique(&mut faults, "stations", stations.iter().map(|station| &station.id));
        for (at, station) in stations.iter().enumerate() {
            if outline_is_sound && !outline.contains(station.pose.point_floor()) {
                faults.push(Fault::new(
                    format!("stations[{at}].pose"),
                    station.pose,
                    "lie inside of the bay's outline",
                    "give the point under the middle of the front axle in floor axes",
                ));
            }
        }
        at_most(&mut faults, "daylight_openings", daylight_openings.len(), DAYLIGHT_OPENINGS_MAX);
        unique(&mut faults, "daylight_openings", daylight_openings.iter().map(|door| &door.id));
        let placing = Placing::default();
        let room = Room { outline: outline_is_sound.then_some(&outline), ceiling_mm };
        let sun_openings: Vec<_> = daylight_openings
            .iter()
            .enumerate()
            .filter_map(|(at, opening)| {
                faults.take(&format!("daylight_openings[{at}]"), opening.checked(room)).flatten()
            })
            .collect();
        faults.finish(Self {
            id,
            outline,
            ceiling_mm,
            obstructions,
            stations,
            daylight_openings,
            placing,
            sun_openings,
        })
    }

    /// The bay with another placing, which was checked.
    pub(super) fn placed(self, placing: Placing) -> Self {
        Self { placing, ..self }
    }

    /// Its name.
    pub fn id(&self) -> &BayId {
        &self.id
    }

    /// Its outline in floor axes.
    pub fn outline(&self) -> &Polygon {
        &self.outline
    }

    /// The clear height under the ceiling, millimetres.
    pub fn ceiling_mm(&self) -> f64 {
        self.ceiling_mm
    }

    /// What stands in it.
    pub fn obstructions(&self) -> &[Obstruction] {
        &self.obstructions
    }

    /// The painted marks.
    pub fn stations(&self) -> &[Station] {
        &self.stations
    }

    /// What lets daylight in.
    pub fn daylight_openings(&self) -> &[DaylightOpening] {
        &self.daylight_openings
    }

    /// How vehicles may stand away from the stations.
    pub fn placing(&self) -> &Placing {
        &self.placing
    }

    /// The bay with another outline.
    pub(crate) fn with_outline(&self, outline: Polygon) -> Self {
        Self { outline, ..self.clone() }
    }

    /// The bay without one of its obstructions.
    pub(crate) fn without_obstruction(&self, id: &ObstructionId) -> Self {
        let mut bay = self.clone();
        bay.obstructions.retain(|one| one.id() != id);
        bay
    }

    /// The bay with more that stands in it; names may stand twice.
    pub(crate) fn with_obstructions(&self, more: impl IntoIterator<Item = Obstruction>) -> Self {
        let mut bay = self.clone();
        bay.obstructions.extend(more);
        bay
    }

    /// The bay with one more station.
    pub(crate) fn with_station(&self, station: Station) -> Self {
        let mut bay = self.clone();
        bay.stations.push(station);
        bay
    }

    /// The bay with the blind of a drawn opening closed; none where it has none.
    pub(crate) fn with_blind_closed(&self, id: &DaylightOpeningId) -> Option<Self> {
        let mut bay = self.clone();
        let opening = bay.daylight_openings.iter_mut().find(|one| one.id == *id && one.blind)?;
        opening.drawn.as_mut()?.blind_closed = true;
        let sun = bay.sun_openings.iter_mut().find(|one| one.id() == id)?;
        *sun = sun.clone().with_blind(BlindState::Closed);
        Some(bay)
    }

    /// The daylight openings that are drawn, as the sun meets them.
    pub fn sun_openings(&self) -> &[Opening] {
        &self.sun_openings
    }

    /// The daylight openings that are not drawn: of their sun nothing can be computed.
    pub fn undrawn_openings(&self) -> impl Iterator<Item = &DaylightOpeningId> {
        let undrawn = self.daylight_openings.iter().filter(|opening| opening.drawn.is_none());
        undrawn.map(|opening| &opening.id)
    }
}
