//! Drawings: a plan of a bay or of the whole floor to scale, as SVG, readable in print and without
//! colour.
//!
//! Everything is drawn in black and greys; what must be told apart differs by line, hatching or
//! letter. Lengths on paper are to scale: the sheet states its size in millimetres, and the scale bar
//! shows whether a printer kept it. A drawing is a picture of what was written down and surveyed; it
//! decides nothing.

mod floor;
mod frame;
mod labels;
mod openings;
mod sheet;
mod standing;
mod surveyed;

pub use sheet::SCALES;

use crate::axes::{PointFloor, PoseFloor};
use crate::fit::{PoseRoom, Zoned};
use crate::floor::{Bay, Obstruction};
use crate::region::{FloorBounds, Polygon};
use crate::survey::Survey;
use sheet::Sheet;

/// How much floor is shown around what is drawn, millimetres.
const AROUND_MM: f64 = 700.0;

/// A bay to be drawn.
#[derive(Debug, Clone, Copy)]
pub struct DrawnBay<'a> {
    /// The bay.
    pub bay: &'a Bay,
    /// Its survey, if its points shall be shown.
    pub survey: Option<&'a Survey>,
}

/// A vehicle that stands at a pose with its zones.
#[derive(Debug, Clone, Copy)]
pub struct Standing<'a> {
    /// Where it stands.
    pub pose: &'a PoseFloor,
    /// Its body and its zones, the body first.
    pub zones: &'a [Zoned],
    /// The margins to be shown, and the tape distances.
    pub room: &'a PoseRoom,
}

/// Where the sun falls onto the floor at an instant.
#[derive(Debug, Clone, PartialEq)]
pub struct SunlitPatch {
    /// The part of the floor.
    pub outline: Polygon,
    /// What it falls through.
    pub through: String,
}

/// What a drawing shows.
#[derive(Debug, Clone)]
pub struct Plan<'a> {
    /// Its title, one line.
    pub title: String,
    /// Lines under the title: the day, the survey, the verdict.
    pub subtitles: Vec<String>,
    /// Degrees clockwise from true north to floor +y.
    pub bearing_deg: f64,
    /// The bays.
    pub bays: Vec<DrawnBay<'a>>,
    /// A vehicle.
    pub standing: Option<Standing<'a>>,
    /// Where the sun falls.
    pub sunlit: Vec<SunlitPatch>,
    /// Lines at the foot.
    pub notes: Vec<String>,
}

impl Plan<'_> {
    /// The drawing as one SVG document.
    ///
    /// # Edge cases
    /// A plan without a bay gives a sheet with its texts only.
    pub fn svg(&self) -> String {
        let mut sheet = Sheet::around(&self.bounds());
        let several = self.bays.len() > 1;
        sheet.labels.several = several;
        for drawn in &self.bays {
            floor::ground(&mut sheet, drawn.bay);
            if several {
                floor::bay_name(&mut sheet, drawn.bay);
            }
        }
        floor::sunlit(&mut sheet, &self.sunlit);
        for drawn in &self.bays {
            surveyed::points(&mut sheet, drawn.survey, several);
            floor::bay(&mut sheet, drawn.bay, several);
            openings::of_bay(&mut sheet, drawn.bay, several);
        }
        if let Some(standing) = &self.standing {
            standing::vehicle(&mut sheet, standing);
        }
        floor::sunlit_names(&mut sheet, &self.sunlit);
        frame::finish(&sheet, self)
    }

    /// What has to be on the sheet.
    fn bounds(&self) -> FloorBounds {
        let bays = self.bays.iter().flat_map(|drawn| {
            let obstructions = drawn.bay.obstructions().iter().map(Obstruction::outline);
            std::iter::once(drawn.bay.outline()).chain(obstructions)
        });
        let zones = self.standing.iter().flat_map(|one| one.zones.iter().map(|zone| &zone.outline));
        let corners: Vec<PointFloor> =
            bays.chain(zones).flat_map(|outline| outline.vertices().iter().copied()).collect();
        let empty = [PointFloor { x_mm: 0.0, y_mm: 0.0 }];
        let corners = if corners.is_empty() { &empty[..] } else { &corners };
        let mut bounds = FloorBounds::around(corners);
        bounds.least.x_mm -= AROUND_MM;
        bounds.least.y_mm -= AROUND_MM;
        bounds.most.x_mm += AROUND_MM;
        bounds.most.y_mm += AROUND_MM;
        bounds
    }
}

#[cfg(test)]
mod tests;
