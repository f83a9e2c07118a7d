//! Survey points, the higher the darker.

use super::sheet::Sheet;
use crate::axes::PointFloor;
use crate::survey::Survey;
use std::collections::BTreeSet;

/// Points nearer to each other than this are drawn once, millimetres on paper.
const APART: f64 = 2.0;

/// The lowest and the highest height of surveys, millimetres; none without a point.
pub(super) fn heights_range<'a>(surveys: impl Iterator<Item = &'a Survey>) -> Option<(f64, f64)> {
    let heights = surveys.flat_map(|survey| survey.heights().iter().map(|point| point.height_mm));
    let (least, most) = heights
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), height| {
            (least.min(height), most.max(height))
        });
    (least <= most).then_some((least, most))
}

/// The grey of a height, as a share of white: from light (low) to dark (high).
pub(super) fn grey(height_mm: f64, (least, most): (f64, f64)) -> String {
    let share = if most > least { (height_mm - least) / (most - least) } else { 0.5 };
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 30 and 240 by construction"
    )]
    let level = (240.0 - 210.0 * share.clamp(0.0, 1.0)).round() as u8;
    format!("#{level:02x}{level:02x}{level:02x}")
}

/// The points of a survey; of several bays together smaller ones.
pub(super) fn points(sheet: &mut Sheet, survey: Option<&Survey>, several: bool) {
    let Some(survey) = survey else { return };
    let Some(range) = heights_range(std::iter::once(survey)) else { return };
    let mut taken = BTreeSet::new();
    let radius = if several { 0.5 } else { 0.85 };
    for point in survey.heights() {
        let spot = sheet.spot(PointFloor { x_mm: point.x_mm, y_mm: point.y_mm });
        #[expect(clippy::cast_possible_truncation, reason = "a sheet is a few hundred wide")]
        let cell = ((spot.x / APART).floor() as i32, (spot.y / APART).floor() as i32);
        if taken.insert(cell) {
            let fill = grey(point.height_mm, range);
            let style = format!("fill=\"{fill}\" stroke=\"#555\" stroke-width=\"0.12\"");
            sheet.circle(spot, radius, &style);
        }
    }
}
