//! Feasible placements at one heading: area, number of pieces and holes, and poses that are in or out.

use super::{Case, Comparison, Kind, Mismatch};
use baywright_core::axes::PointFloor;
use baywright_core::fault::Faults;
use baywright_core::region::{FeasibleRegion, HeadingRange, Polygon, ZoneToPlace, feasible};
use serde::Deserialize;

/// `floor_mm`, `obstructions_mm` and `zones_vehicle_mm` with the feasible set's `area_mm2`.
pub(super) const PLACEMENT: Kind = Kind {
    name: "placement",
    recognises: |case| {
        case.has(&["floor_mm", "obstructions_mm", "zones_vehicle_mm", "heading_deg", "area_mm2"])
    },
    check,
};

/// The share of an area by which a result may be off where a file states none.
const AREA_RELATIVE: f64 = 1e-6;
/// The area by which a result may be off where a file states none, square millimetres.
const AREA_MM2: f64 = 10.0;

type Outline = Vec<(f64, f64)>;

/// A placement case.
#[derive(Deserialize)]
struct Placement {
    floor_mm: Outline,
    obstructions_mm: Vec<Outline>,
    zones_vehicle_mm: Vec<Outline>,
    heading_deg: f64,
    area_mm2: f64,
    components: Option<usize>,
    holes: Option<usize>,
    #[serde(default)]
    poses: Vec<(f64, f64, bool)>,
}

fn check(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Placement = case.read()?;
    let region = stated
        .region()
        .map_err(|faults| Mismatch::new("a floor with simple polygons", faults.to_string()))?;
    let relative = case.setting("tolerance_area_relative").unwrap_or(AREA_RELATIVE);
    let absolute = case.setting("tolerance_area_mm2").unwrap_or(AREA_MM2);
    let tolerance = absolute.max(relative * stated.area_mm2);
    let mut comparison = Comparison::new();
    comparison.number("area_mm2", Some(stated.area_mm2), region.area_mm2(), tolerance);
    comparison.finish()?;
    if let Some(components) = stated.components {
        Mismatch::unless_equal("components", &components, &region.pieces().len())?;
    }
    if let Some(holes) = stated.holes {
        let found = region.pieces().iter().map(|piece| piece.holes().len()).sum();
        Mismatch::unless_equal("holes", &holes, &found)?;
    }
    for (x_mm, y_mm, feasible) in stated.poses {
        let found = region.contains(PointFloor { x_mm, y_mm });
        Mismatch::unless_equal(&format!("pose {x_mm}, {y_mm} feasible"), &feasible, &found)?;
    }
    Ok(())
}

impl Placement {
    fn region(&self) -> Result<FeasibleRegion, Faults> {
        let outlines = |list: &[Outline]| {
            list.iter().map(|outline| Polygon::new(outline)).collect::<Result<Vec<_>, _>>()
        };
        let obstructions = outlines(&self.obstructions_mm)?;
        let zones: Vec<_> = outlines(&self.zones_vehicle_mm)?
            .into_iter()
            .map(|outline_vehicle| ZoneToPlace {
                outline_vehicle,
                stays_on_floor: true,
                clear_of: obstructions.iter().collect(),
            })
            .collect();
        let headings = HeadingRange::new(self.heading_deg, 0.0)?;
        feasible(&Polygon::new(&self.floor_mm)?, &zones, headings)
    }
}

#[cfg(test)]
mod tests {
    use crate::reference::{Tally, run};
    use std::path::PathBuf;

    #[test]
    fn the_cases_of_the_repository_are_met() {
        let folder = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/reference/placements"));
        let (mut out, mut notes) = (Vec::new(), Vec::new());
        let tally = run(&[folder], &mut out, &mut notes).unwrap();
        let out = String::from_utf8(out).unwrap();
        assert_eq!(tally, Tally { passed: 33, failed: 0, skipped: 0 }, "{out}");
    }
}
