//! Daylight openings where they were drawn: in a wall as a double line on the outline, in the roof as
//! a broken outline; a shut one is filled.

use super::labels::Anchor;
use super::sheet::{Sheet, Spot, middle};
use crate::axes::PointFloor;
use crate::daylight::{Opening, OpeningPlace};
use crate::floor::Bay;

/// How far a name stands from its opening, millimetres on paper.
const NAME_APART: f64 = 2.6;

/// All drawn openings of a bay. Those of several bays bear no names.
pub(super) fn of_bay(sheet: &mut Sheet, bay: &Bay, several: bool) {
    for opening in bay.sun_openings() {
        let name = match (several, opening.lets_sun_in()) {
            (true, _) => None,
            (false, true) => Some(opening.id().to_string()),
            (false, false) => Some(format!("{} (shut)", opening.id())),
        };
        match &opening.parts().place {
            OpeningPlace::Wall { base_mm, .. } => in_wall(sheet, bay, opening, *base_mm, name),
            OpeningPlace::Roof { outline_mm, .. } => in_roof(sheet, outline_mm, name),
        }
    }
}

fn in_wall(
    sheet: &mut Sheet,
    bay: &Bay,
    opening: &Opening,
    base_mm: [(f64, f64); 2],
    name: Option<String>,
) {
    let [from, to] = base_mm.map(|(x_mm, y_mm)| sheet.spot(PointFloor { x_mm, y_mm }));
    sheet.line(from, to, "stroke=\"#000\" stroke-width=\"2.2\"");
    if opening.lets_sun_in() {
        sheet.line(from, to, "stroke=\"#fff\" stroke-width=\"1.3\"");
    }
    let Some(name) = name else { return };
    let (x, y) = (to.x - from.x, to.y - from.y);
    let length = x.hypot(y).max(1e-9);
    let at = middle(from, to);
    let beside = |sign: f64| Spot {
        x: at.x + sign * NAME_APART * y / length,
        y: at.y - sign * NAME_APART * x / length,
    };
    // Outside of the bay, where its own figures do not stand.
    let outside = [1.0, -1.0].map(beside);
    let inside = |spot: &Spot| bay.outline().contains(sheet.floor_point(*spot));
    let spot = outside.into_iter().find(|spot| !inside(spot)).unwrap_or(outside[0]);
    let mut turned_deg = y.atan2(x).to_degrees();
    if turned_deg > 90.0 || turned_deg <= -90.0 {
        turned_deg += 180.0;
    }
    // Letters stand on their lower edge: half of them is moved back over the middle.
    let (sin, cos) = turned_deg.to_radians().sin_cos();
    let spot = Spot { x: spot.x - 0.8 * sin, y: spot.y + 0.8 * cos };
    sheet.turned_text(spot, 2.3, (turned_deg, length / 2.0), &name);
}

fn in_roof(sheet: &mut Sheet, outline_mm: &[(f64, f64)], name: Option<String>) {
    let corner = |(x_mm, y_mm): &(f64, f64)| PointFloor { x_mm: *x_mm, y_mm: *y_mm };
    let spots: Vec<Spot> = outline_mm.iter().map(|at| sheet.spot(corner(at))).collect();
    for (from, to) in spots.iter().zip(spots.iter().cycle().skip(1)) {
        let style = "stroke=\"#000\" stroke-width=\"0.4\" stroke-dasharray=\"2 1.2\"";
        sheet.line(*from, *to, style);
    }
    let lowest = spots.iter().max_by(|a, b| a.y.total_cmp(&b.y));
    if let (Some(name), Some(lowest)) = (name, lowest) {
        let at = Spot { x: lowest.x, y: lowest.y - 1.0 };
        sheet.text(at, (2.3, Anchor::Start), &name);
    }
}
