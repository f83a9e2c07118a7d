//! What stands around the drawing: titles, scale bar, north, the list of what is drawn.

use super::Plan;
use super::sheet::{MARGIN, Sheet, escaped};
use super::standing::letter;
use super::surveyed::{grey, heights_range};
use std::fmt::Write as _;

/// The height of a line of the list, millimetres on paper.
const LINE: f64 = 4.0;
/// The narrowest sheet, so that its texts have room, millimetres on paper.
const WIDTH_MIN: f64 = 190.0;
/// Characters of a line of the list for each millimetre of paper.
const CHARACTERS_PER_MM: f64 = 0.66;

/// Puts everything together.
pub(super) fn finish(sheet: &Sheet, plan: &Plan<'_>) -> String {
    let width = sheet.width.max(WIDTH_MIN);
    let subtitles: Vec<_> =
        plan.subtitles.iter().flat_map(|line| wrapped(line, characters(0.9 * width))).collect();
    let head = MARGIN + 7.0 + LINE * count(subtitles.len());
    let lines = list(plan, width);
    let foot = 16.0 + LINE * count(lines.len()) + MARGIN;
    let (paper_width, paper_height) = (width + 2.0 * MARGIN, head + sheet.height + foot);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{paper_width:.1}mm\" \
         height=\"{paper_height:.1}mm\" viewBox=\"0 0 {paper_width:.1} {paper_height:.1}\" \
         font-family=\"Helvetica, Arial, sans-serif\">\n<title>{}</title>\n{DEFINITIONS}\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n",
        escaped(&plan.title)
    );
    plain(&mut out, (MARGIN, MARGIN + 4.5), 5.0, &plan.title);
    for (at, (set_in, subtitle)) in subtitles.iter().enumerate() {
        plain(&mut out, (line_start(*set_in), MARGIN + 10.0 + LINE * count(at)), 3.0, subtitle);
    }
    let Sheet { body, labels, height, .. } = sheet;
    let texts = labels.svg();
    let left = MARGIN + (width - sheet.width) / 2.0;
    let _written =
        writeln!(out, "<g transform=\"translate({left:.2} {head:.2})\">\n{body}{texts}</g>");
    let below = head + height + 6.0;
    out.push_str(&scale_bar(sheet, below));
    out.push_str(&north(plan.bearing_deg, (paper_width - MARGIN - 8.0, below + 2.0)));
    out.push_str(&shading(plan, (MARGIN + 75.0, below)));
    for (at, (set_in, line)) in lines.iter().enumerate() {
        plain(&mut out, (line_start(*set_in), below + 14.0 + LINE * count(at)), 2.8, line);
    }
    out.push_str("</svg>\n");
    out
}

/// Hatchings and arrowheads.
const DEFINITIONS: &str = "<defs>\n\
    <style>.halo{fill:#fff;stroke:#fff;stroke-width:1.1;stroke-linejoin:round}</style>\n\
    <pattern id=\"solid\" width=\"2\" height=\"2\" patternUnits=\"userSpaceOnUse\" \
    patternTransform=\"rotate(45)\"><rect width=\"2\" height=\"2\" fill=\"#fff\"/>\
    <line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"2\" stroke=\"#000\" stroke-width=\"0.4\"/></pattern>\n\
    <pattern id=\"metal\" width=\"1.6\" height=\"1.6\" patternUnits=\"userSpaceOnUse\" \
    patternTransform=\"rotate(45)\"><rect width=\"1.6\" height=\"1.6\" fill=\"#fff\"/>\
    <path d=\"M0 0V1.6M0 0H1.6\" stroke=\"#000\" stroke-width=\"0.4\"/></pattern>\n\
    <pattern id=\"sun\" width=\"1.5\" height=\"1.5\" patternUnits=\"userSpaceOnUse\" \
    patternTransform=\"rotate(-60)\"><line x1=\"0.75\" y1=\"0\" x2=\"0.75\" y2=\"1.5\" stroke=\"#000\" \
    stroke-width=\"0.22\"/></pattern>\n\
    <marker id=\"arrow\" viewBox=\"0 0 6 4\" refX=\"6\" refY=\"2\" markerWidth=\"2.2\" \
    markerHeight=\"1.5\" markerUnits=\"userSpaceOnUse\" orient=\"auto-start-reverse\">\
    <path d=\"M0 0L6 2L0 4Z\"/></marker>\n</defs>\n";

#[expect(clippy::cast_precision_loss, reason = "a few lines of text")]
fn count(lines: usize) -> f64 {
    lines as f64
}

fn plain(out: &mut String, (x, y): (f64, f64), size: f64, text: &str) {
    let _written = writeln!(
        out,
        "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size}\">{}</text>",
        escaped(text)
    );
}

/// A bar of whole metres, at most 60 mm long on paper, and the scale in figures.
fn scale_bar(sheet: &Sheet, y: f64) -> String {
    let metre = sheet.length(1_000.0);
    let metres = [20_u32, 10, 5, 2, 1].into_iter().find(|one| f64::from(*one) * metre <= 60.0);
    let metres = metres.unwrap_or(1);
    let mut out = String::new();
    for at in 0..metres {
        let fill = if at % 2 == 0 { "#000" } else { "#fff" };
        let _written = writeln!(
            out,
            "<rect x=\"{:.2}\" y=\"{y:.2}\" width=\"{metre:.2}\" height=\"1.6\" fill=\"{fill}\" \
             stroke=\"#000\" stroke-width=\"0.25\"/>",
            MARGIN + f64::from(at) * metre
        );
    }
    plain(&mut out, (MARGIN, y + 5.0), 2.6, "0");
    let end = MARGIN + f64::from(metres) * metre;
    plain(&mut out, (end - 2.0, y + 5.0), 2.6, &format!("{metres} m"));
    let between = f64::midpoint(MARGIN, end);
    let _written = writeln!(
        out,
        "<text x=\"{between:.2}\" y=\"{:.2}\" font-size=\"2.6\" text-anchor=\"middle\">1:{}</text>",
        y + 5.0,
        sheet.scale()
    );
    out
}

/// An arrow to true north. North lies `bearing` degrees counter-clockwise from floor +y.
fn north(bearing_deg: f64, (x, y): (f64, f64)) -> String {
    format!(
        "<g transform=\"translate({x:.2} {y:.2}) rotate({:.2})\"><circle r=\"5\" fill=\"#fff\" \
         stroke=\"#000\" stroke-width=\"0.3\"/><path d=\"M0 -4.6L1.7 3L0 1.6L-1.7 3Z\"/>\
         <text y=\"-5.8\" font-size=\"3\" text-anchor=\"middle\">N</text></g>\n",
        -bearing_deg
    )
}

/// Which grey stands for which height; each bay is shaded between its own lowest and highest point.
fn shading(plan: &Plan<'_>, (x, y): (f64, f64)) -> String {
    let mut out = String::new();
    let surveys = || plan.bays.iter().filter_map(|drawn| drawn.survey);
    let Some((least, most)) = heights_range(surveys()) else { return out };
    for at in 0..5_u32 {
        let fill = grey(f64::from(at), (0.0, 4.0));
        let _written = writeln!(
            out,
            "<circle cx=\"{:.2}\" cy=\"{:.2}\" r=\"0.95\" fill=\"{fill}\" stroke=\"#555\" \
             stroke-width=\"0.12\"/>",
            x + 1.0 + 3.0 * f64::from(at),
            y + 0.8
        );
    }
    let text = if surveys().count() > 1 {
        "floor heights, each bay from its lowest to its highest point".to_owned()
    } else {
        format!("floor heights, {least:.1} to {most:.1} mm from the survey's datum")
    };
    plain(&mut out, (x + 17.0, y + 1.6), 2.6, &text);
    out
}

/// What is drawn, in words: zones, margins, tape distances, openings and notes.
fn list(plan: &Plan<'_>, width: f64) -> Vec<(bool, String)> {
    let mut lines = Vec::new();
    if let Some(standing) = &plan.standing {
        lines.push(format!(
            "Vehicle: {}; the open dot lies under the middle of the front axle, \
                            the arrow points ahead.",
            standing.pose
        ));
        for (at, zone) in standing.zones.iter().skip(1).enumerate() {
            let name = zone.zone.as_ref().map_or("vehicle", |zone| zone.as_str());
            lines.push(format!("{} Zone {name}: {}.", letter(at), zone.asks.join(", ")));
        }
        let margins: Vec<_> = standing.room.margins.iter().map(ToString::to_string).collect();
        if !margins.is_empty() {
            lines.push(format!("Margins: {}.", margins.join("; ")));
        }
        lines.push(match &standing.room.tape {
            Some(tape) => format!("Tape: {tape}."),
            None => "Tape: no two walls at an angle can be measured from here.".to_owned(),
        });
    }
    for drawn in &plan.bays {
        let openings: Vec<_> = drawn
            .bay
            .daylight_openings()
            .iter()
            .map(|one| {
                let blind = if one.blind { ", with a blind" } else { "" };
                format!("{} ({}{blind})", one.id, one.kind)
            })
            .collect();
        if !openings.is_empty() {
            lines.push(format!("Daylight into {}: {}.", drawn.bay.id(), openings.join(", ")));
        }
    }
    let drawn = || plan.bays.iter().flat_map(|drawn| drawn.bay.sun_openings());
    if drawn().next().is_some() {
        lines.push(
            "Openings for daylight: a double line on the outline is one in a wall, a broken outline \
             one in the roof; filled where shut."
                .to_owned(),
        );
    }
    if !plan.sunlit.is_empty() {
        lines.push(
            "Thin lines falling to the right: where direct sun falls onto the floor.".to_owned(),
        );
    }
    let hatched = plan.bays.iter().any(|drawn| !drawn.bay.obstructions().is_empty());
    if hatched {
        lines.push(
            "Hatched: obstructions with the heights they take up; cross-hatched: of metal; broken \
             edge: not from the floor."
                .to_owned(),
        );
    }
    lines.extend(plan.notes.iter().cloned());
    lines.iter().flat_map(|line| wrapped(line, characters(width))).collect()
}

/// How many characters stand on a line of so many millimetres.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a sheet is a few hundred millimetres wide"
)]
fn characters(width: f64) -> usize {
    (width * CHARACTERS_PER_MM) as usize
}

/// Where a line of text begins.
fn line_start(set_in: bool) -> f64 {
    if set_in { MARGIN + 4.0 } else { MARGIN }
}

/// A text in lines of at most so many characters; the later ones are set in.
fn wrapped(text: &str, most: usize) -> Vec<(bool, String)> {
    let mut lines = vec![(false, String::new())];
    for word in text.split(' ') {
        let last = lines.len() - 1;
        let line = &mut lines[last].1;
        if line.is_empty() {
            line.push_str(word);
        } else if line.len() + word.len() < most {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push((true, word.to_owned()));
        }
    }
    lines
}
