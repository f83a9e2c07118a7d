//! The sheet: its scale, where floor points lie on it, and its pen.

use super::labels::{Anchor, GivesWay, Label, Labels};
use crate::axes::PointFloor;
use crate::region::{FloorBounds, Polygon};
use std::fmt::Write as _;

/// The scales that are used: one on paper for so many on the floor, the largest that fits the sheet.
pub const SCALES: [u32; 9] = [20, 25, 50, 75, 100, 200, 250, 500, 1_000];
/// The widest drawing on paper, millimetres: A3 across with its margins.
const WIDTH_PAPER_MM: f64 = 380.0;
/// The highest drawing on paper, millimetres: A3 across with room for its texts.
const HEIGHT_PAPER_MM: f64 = 215.0;
/// The margin around the drawing, millimetres on paper.
pub(super) const MARGIN: f64 = 8.0;

/// A point on paper: millimetres right and down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    pub(super) x: f64,
    pub(super) y: f64,
}

/// A sheet that is being drawn on.
#[derive(Debug)]
pub(super) struct Sheet {
    least: PointFloor,
    scale: u32,
    /// Width and height of the drawing on paper.
    pub(super) width: f64,
    pub(super) height: f64,
    pub(super) body: String,
    /// Texts, drawn last so that no line covers them.
    pub(super) labels: Labels,
}

impl Sheet {
    /// The sheet for a part of the floor, at the largest scale that fits.
    pub(super) fn around(bounds: &FloorBounds) -> Self {
        let wide = bounds.most.x_mm - bounds.least.x_mm;
        let high = bounds.most.y_mm - bounds.least.y_mm;
        let fits = |scale: &u32| {
            wide / f64::from(*scale) <= WIDTH_PAPER_MM
                && high / f64::from(*scale) <= HEIGHT_PAPER_MM
        };
        let scale = SCALES.into_iter().find(fits).unwrap_or(SCALES[SCALES.len() - 1]);
        Self {
            least: bounds.least,
            scale,
            width: wide / f64::from(scale),
            height: high / f64::from(scale),
            body: String::new(),
            labels: Labels::default(),
        }
    }

    /// One on paper for so many on the floor.
    pub(super) fn scale(&self) -> u32 {
        self.scale
    }

    /// A length on paper, millimetres.
    pub(super) fn length(&self, floor_mm: f64) -> f64 {
        floor_mm / f64::from(self.scale)
    }

    /// Where a floor point lies on paper, counted from the drawing's upper left corner.
    pub(super) fn spot(&self, point: PointFloor) -> Spot {
        Spot {
            x: self.length(point.x_mm - self.least.x_mm),
            y: self.height - self.length(point.y_mm - self.least.y_mm),
        }
    }

    /// The floor point that lies at a spot.
    pub(super) fn floor_point(&self, spot: Spot) -> PointFloor {
        PointFloor {
            x_mm: self.least.x_mm + spot.x * f64::from(self.scale),
            y_mm: self.least.y_mm + (self.height - spot.y) * f64::from(self.scale),
        }
    }

    /// A polygon with its style.
    pub(super) fn polygon(&mut self, outline: &Polygon, style: &str) {
        let spots = outline.vertices().iter().map(|corner| self.spot(*corner));
        let mut points = String::new();
        for spot in spots {
            let _written = write!(points, "{:.2},{:.2} ", spot.x, spot.y);
        }
        let points = points.trim_end();
        let _written = writeln!(self.body, "<polygon points=\"{points}\" {style}/>");
    }

    /// A straight line with its style.
    pub(super) fn line(&mut self, from: Spot, to: Spot, style: &str) {
        let _written = writeln!(
            self.body,
            "<line x1=\"{:.2}\" y1=\"{:.2}\" x2=\"{:.2}\" y2=\"{:.2}\" {style}/>",
            from.x, from.y, to.x, to.y
        );
    }

    /// A circle with its style.
    pub(super) fn circle(&mut self, middle: Spot, radius: f64, style: &str) {
        let _written = writeln!(
            self.body,
            "<circle cx=\"{:.2}\" cy=\"{:.2}\" r=\"{radius:.2}\" {style}/>",
            middle.x, middle.y
        );
    }

    /// A text on a white halo, `size` millimetres high, a line up or down where another one stands.
    pub(super) fn text(&mut self, at: Spot, style: (f64, Anchor), text: &str) {
        self.text_lines(at, style, &[text]);
    }

    /// A text that stays where it is.
    pub(super) fn fixed_text(&mut self, at: Spot, (size, anchor): (f64, Anchor), text: &str) {
        let gives_way = GivesWay::Never;
        self.labels.place(&Label { at, size, anchor, turned_deg: 0.0, gives_way, lines: &[text] });
    }

    /// Lines under each other.
    pub(super) fn text_lines(&mut self, at: Spot, (size, anchor): (f64, Anchor), lines: &[&str]) {
        let gives_way = GivesWay::AcrossLines;
        self.labels.place(&Label { at, size, anchor, turned_deg: 0.0, gives_way, lines });
    }

    /// A text that stands with its middle at a spot, turned clockwise around it; where another one stands
    /// it moves along its line by at most `most` millimetres on paper.
    pub(super) fn turned_text(
        &mut self,
        at: Spot,
        size: f64,
        (turned_deg, most): (f64, f64),
        text: &str,
    ) {
        let (anchor, gives_way) = (Anchor::Middle, GivesWay::AlongLine(most));
        self.labels.place(&Label { at, size, anchor, turned_deg, gives_way, lines: &[text] });
    }
}

/// A text as it may stand in a document.
pub(super) fn escaped(text: &str) -> String {
    text.chars().fold(String::with_capacity(text.len()), |mut out, one| {
        match one {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            other => out.push(other),
        }
        out
    })
}

/// The middle between two spots.
pub(super) fn middle(a: Spot, b: Spot) -> Spot {
    Spot { x: f64::midpoint(a.x, b.x), y: f64::midpoint(a.y, b.y) }
}
