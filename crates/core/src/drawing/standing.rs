//! A vehicle at a pose: body, zones, margins and tape distances.

use super::Standing;
use super::labels::Anchor;
use super::sheet::{Sheet, Spot, middle};
use crate::axes::OffsetVehicle;
use crate::fit::{SideMargin, TapeDistances, Zoned};
use crate::region::FloorBounds;

/// The lines of zones, so that neighbouring ones differ.
const DASHES: [&str; 4] = ["3 1", "1 1", "4 1 1 1", "5 2"];
/// Margins shorter than this on paper are told in the list only.
const SHORTEST_SHOWN: f64 = 5.0;

/// The letter of the n-th zone: A to Z, then A1 and so on.
pub(super) fn letter(at: usize) -> String {
    let letter = char::from(b'A' + u8::try_from(at % 26).unwrap_or(0));
    if at < 26 { letter.to_string() } else { format!("{letter}{}", at / 26) }
}

/// Draws all of it.
pub(super) fn vehicle(sheet: &mut Sheet, standing: &Standing<'_>) {
    for (at, zone) in standing.zones.iter().enumerate().skip(1) {
        let dash = DASHES[(at - 1) % DASHES.len()];
        let style = format!(
            "fill=\"#000\" fill-opacity=\"0.035\" stroke=\"#000\" stroke-width=\"0.4\" \
             stroke-dasharray=\"{dash}\""
        );
        sheet.polygon(&zone.outline, &style);
    }
    if let Some(body) = standing.zones.first() {
        sheet.polygon(
            &body.outline,
            "fill=\"#bbb\" fill-opacity=\"0.55\" stroke=\"#000\" stroke-width=\"0.6\" \
             stroke-linejoin=\"round\"",
        );
    }
    nose(sheet, standing);
    for margin in &standing.room.margins {
        dimension(sheet, margin);
    }
    if let Some(tape) = &standing.room.tape {
        tapes(sheet, tape);
    }
    for (at, zone) in standing.zones.iter().enumerate().skip(1) {
        zone_letter(sheet, zone, at - 1);
    }
}

/// The cross under the front axle and an arrow ahead.
fn nose(sheet: &mut Sheet, standing: &Standing<'_>) {
    let point = |x_mm: f64| standing.pose.to_floor(OffsetVehicle { x_mm, y_mm: 0.0 });
    let (at, tip) = (sheet.spot(point(0.0)), sheet.spot(point(750.0)));
    sheet.circle(at, 0.9, "fill=\"#fff\" stroke=\"#000\" stroke-width=\"0.4\"");
    sheet.line(at, tip, "stroke=\"#000\" stroke-width=\"0.6\" marker-end=\"url(#arrow)\"");
}

/// A zone's letter in its corner; letters of zones that share it stand side by side.
fn zone_letter(sheet: &mut Sheet, zone: &Zoned, at: usize) {
    let bounds = FloorBounds::of(&zone.outline);
    let corner = sheet.spot(bounds.most);
    #[expect(clippy::cast_precision_loss, reason = "a method has at most 50 zones")]
    let beside = at as f64 * 3.4;
    let spot = Spot { x: corner.x - 2.4 - beside, y: corner.y + 4.0 };
    sheet.text(spot, (3.2, Anchor::Middle), &letter(at));
}

/// A margin as a line with arrows at both ends and its millimetres.
fn dimension(sheet: &mut Sheet, margin: &SideMargin) {
    let (from, to) = (sheet.spot(margin.from), sheet.spot(margin.to));
    if sheet.length(margin.gap_mm) < SHORTEST_SHOWN {
        return;
    }
    let style = "stroke=\"#000\" stroke-width=\"0.2\" marker-start=\"url(#arrow)\" \
                 marker-end=\"url(#arrow)\"";
    sheet.line(from, to, style);
    along(sheet, from, to, &format!("{:.0}", margin.gap_mm));
}

/// The tapes, dotted, with their millimetres, and the tyres where they begin.
fn tapes(sheet: &mut Sheet, tape: &TapeDistances) {
    let lengths = [tape.front_mm, tape.rear_mm];
    for (tyre, (point, feet)) in tape.tyres.iter().zip(&tape.feet).enumerate() {
        let from = sheet.spot(*point);
        for (foot, length_mm) in feet.iter().zip(lengths[tyre]) {
            let to = sheet.spot(*foot);
            let style = "stroke=\"#000\" stroke-width=\"0.35\" stroke-dasharray=\"0.2 1\" \
                         stroke-linecap=\"round\"";
            sheet.line(from, to, style);
            sheet.circle(to, 0.6, "fill=\"#000\"");
            along(sheet, from, to, &format!("tape {length_mm:.0}"));
        }
        sheet.circle(from, 0.9, "fill=\"#000\"");
    }
}

/// A text beside the middle of a line, along it.
fn along(sheet: &mut Sheet, from: Spot, to: Spot, text: &str) {
    let at = middle(from, to);
    let mut turned_deg = (to.y - from.y).atan2(to.x - from.x).to_degrees();
    if turned_deg > 90.0 || turned_deg <= -90.0 {
        turned_deg += 180.0;
    }
    let (sin, cos) = turned_deg.to_radians().sin_cos();
    let beside = Spot { x: at.x + 0.7 * sin, y: at.y - 0.7 * cos };
    let length = (to.x - from.x).hypot(to.y - from.y);
    // It may go as near to the ends as its letters are high.
    sheet.turned_text(beside, 2.2, (turned_deg, length / 2.0 - 2.2), text);
}
