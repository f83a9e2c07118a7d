//! Bays with their corners, obstructions and stations, and where the sun falls.

use super::SunlitPatch;
use super::labels::Anchor;
use super::sheet::{Sheet, Spot};
use crate::axes::{OffsetVehicle, PointFloor};
use crate::floor::Bay;
use crate::region::{FloorBounds, Polygon};

/// The floor itself, under everything else.
pub(super) fn ground(sheet: &mut Sheet, bay: &Bay) {
    sheet.polygon(bay.outline(), "fill=\"#fff\" stroke=\"none\"");
}

/// Where the sun falls, in thin lines the other way than those of obstructions.
pub(super) fn sunlit(sheet: &mut Sheet, patches: &[SunlitPatch]) {
    for patch in patches {
        let style = "fill=\"url(#sun)\" stroke=\"#000\" stroke-width=\"0.3\"";
        sheet.polygon(&patch.outline, style);
    }
}

/// What the sun falls through; after all other names, to which it gives way.
pub(super) fn sunlit_names(sheet: &mut Sheet, patches: &[SunlitPatch]) {
    for patch in patches {
        let at = sheet.spot(patch.outline.middle());
        sheet.text(at, (2.4, Anchor::Middle), &format!("sun through {}", patch.through));
    }
}

/// The bay's edge, obstructions and stations. Of one bay alone the corners are numbered, as texts
/// name its edges by them; of several each bears its name.
pub(super) fn bay(sheet: &mut Sheet, bay: &Bay, several: bool) {
    for obstruction in bay.obstructions() {
        let hatching = if obstruction.metal() { "metal" } else { "solid" };
        let overhead =
            if obstruction.from_mm() > 0.0 { " stroke-dasharray=\"1.2 0.8\"" } else { "" };
        let style =
            format!("fill=\"url(#{hatching})\" stroke=\"#000\" stroke-width=\"0.35\"{overhead}");
        sheet.polygon(obstruction.outline(), &style);
        label_obstruction(
            sheet,
            obstruction.outline(),
            &[
                obstruction.id().as_str(),
                &format!("{:.0}-{:.0} mm", obstruction.from_mm(), obstruction.to_mm()),
            ],
        );
    }
    sheet.polygon(
        bay.outline(),
        "fill=\"none\" stroke=\"#000\" stroke-width=\"0.9\" stroke-linejoin=\"miter\"",
    );
    for station in bay.stations() {
        let (x, y) = (station.pose.x_mm(), station.pose.y_mm());
        let at = sheet.spot(PointFloor { x_mm: x, y_mm: y });
        let tip = sheet.spot(station.pose.to_floor(OffsetVehicle { x_mm: 600.0, y_mm: 0.0 }));
        let thin = "stroke=\"#000\" stroke-width=\"0.3\"";
        sheet.line(Spot { x: at.x - 1.6, ..at }, Spot { x: at.x + 1.6, ..at }, thin);
        sheet.line(Spot { y: at.y - 1.6, ..at }, Spot { y: at.y + 1.6, ..at }, thin);
        sheet.line(at, tip, "stroke=\"#000\" stroke-width=\"0.3\" marker-end=\"url(#arrow)\"");
        let below = Spot { x: at.x, y: at.y + 4.2 };
        sheet.text(below, (2.3, Anchor::Middle), station.id.as_str());
    }
    if !several {
        corners(sheet, bay);
    }
}

/// The name of one bay of several, in its upper left corner; before all other names, which give way to it.
pub(super) fn bay_name(sheet: &mut Sheet, bay: &Bay) {
    let bounds = FloorBounds::of(bay.outline());
    let corner = sheet.spot(PointFloor { x_mm: bounds.least.x_mm, y_mm: bounds.most.y_mm });
    let at = Spot { x: corner.x + 1.5, y: corner.y + 5.0 };
    sheet.fixed_text(at, (3.6, Anchor::Start), bay.id().as_str());
}

/// The number of each corner, just outside of it.
fn corners(sheet: &mut Sheet, bay: &Bay) {
    let outline = bay.outline().vertices();
    let count = outline.len();
    for (at, corner) in outline.iter().enumerate() {
        let before = sheet.spot(outline[(at + count - 1) % count]);
        let after = sheet.spot(outline[(at + 1) % count]);
        let spot = sheet.spot(*corner);
        let unit = |to: Spot| {
            let (x, y) = (to.x - spot.x, to.y - spot.y);
            let length = x.hypot(y).max(1e-9);
            (x / length, y / length)
        };
        let ((ax, ay), (bx, by)) = (unit(before), unit(after));
        // Away from both edges where they meet at an angle, square to them where they go straight on.
        let (x, y) = (ax + bx, ay + by);
        let length = x.hypot(y);
        let (x, y) = if length < 0.1 { (ay, -ax) } else { (x / length, y / length) };
        let try_at = |sign: f64| Spot { x: spot.x + sign * 3.4 * x, y: spot.y + sign * 3.4 * y };
        let inside = |spot: Spot| bay.outline().contains(sheet.floor_point(spot));
        let outside = [-1.0, 1.0].map(try_at).into_iter().find(|one| !inside(*one));
        let at_spot = outside.unwrap_or_else(|| try_at(-1.0));
        let on_line = Spot { x: at_spot.x, y: at_spot.y + 0.9 };
        sheet.text(on_line, (2.4, Anchor::Middle), &at.to_string());
    }
}

/// Names an obstruction: in it where there is room, else beside it.
fn label_obstruction(sheet: &mut Sheet, outline: &Polygon, lines: &[&str]) {
    let bounds = FloorBounds::of(outline);
    let wide = sheet.length(bounds.most.x_mm - bounds.least.x_mm);
    let high = sheet.length(bounds.most.y_mm - bounds.least.y_mm);
    let middle = sheet.spot(middle_of(outline));
    let longest = lines.iter().map(|line| line.len()).max().unwrap_or(0);
    #[expect(clippy::cast_precision_loss, reason = "a name of at most 64 characters")]
    let needed = longest as f64 * 1.15;
    let fits = wide >= needed && high >= 5.5;
    let at = if fits {
        Spot { x: middle.x, y: middle.y - 0.4 }
    } else {
        let above = middle.y - high / 2.0 - 4.0;
        // Under it where it stands at the upper end of the sheet.
        let y = if above > 3.0 { above } else { middle.y + high / 2.0 + 2.6 };
        Spot { x: middle.x, y }
    };
    sheet.text_lines(at, (2.1, Anchor::Middle), lines);
}

/// A point to put a text at: the middle of the rectangle around an outline.
fn middle_of(outline: &Polygon) -> PointFloor {
    let bounds = FloorBounds::of(outline);
    PointFloor {
        x_mm: f64::midpoint(bounds.least.x_mm, bounds.most.x_mm),
        y_mm: f64::midpoint(bounds.least.y_mm, bounds.most.y_mm),
    }
}
