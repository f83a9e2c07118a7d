//! The texts of a drawing, each moved a little where another one stands already.
//!
//! Letters are taken to be [`LETTER_WIDE`] of their height wide, which is about what common fonts have. A
//! label that finds no free place stays where it was meant; on a plan of several bays, where it would be
//! taken for a neighbour's, it is left out.

use super::sheet::{Spot, escaped};
use std::fmt::Write as _;

/// The width of a letter over its height; common practice, no source.
const LETTER_WIDE: f64 = 0.58;
/// The distance of two lines over the height of their letters.
const LINE_APART: f64 = 1.2;
/// The clear space around a label, millimetres on paper.
const CLEAR: f64 = 0.3;
/// How often a label is moved on each way at most.
const MOVES_MAX: u32 = 8;
/// The same on a plan of several bays, so that no name gets into the next bay.
const MOVES_BESIDE_OTHERS_MAX: u32 = 1;

/// How a text stands to its spot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Anchor {
    Start,
    Middle,
}

/// Which way a label gives way to another one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum GivesWay {
    /// Not at all.
    Never,
    /// A line down or up.
    AcrossLines,
    /// Along its letters, as far as this to either side, millimetres on paper.
    AlongLine(f64),
}

/// A label that is asked for: lines under each other.
#[derive(Debug, Clone, Copy)]
pub(super) struct Label<'a> {
    /// The foot of its first line.
    pub(super) at: Spot,
    /// The height of its letters, millimetres on paper.
    pub(super) size: f64,
    pub(super) anchor: Anchor,
    /// Clockwise around its spot.
    pub(super) turned_deg: f64,
    pub(super) gives_way: GivesWay,
    pub(super) lines: &'a [&'a str],
}

/// The labels that stand already.
#[derive(Debug, Default)]
pub(super) struct Labels {
    /// Whether the plan shows several bays.
    pub(super) several: bool,
    taken: Vec<[Spot; 4]>,
    halos: String,
    texts: String,
}

impl Labels {
    /// Places a label where it is meant or, where another one stands, as near to it as may be.
    pub(super) fn place(&mut self, label: &Label<'_>) {
        let free = |at: &Spot| {
            let own = label.corners(*at);
            !self.taken.iter().any(|other| overlap(&own, other))
        };
        let most = if self.several { MOVES_BESIDE_OTHERS_MAX } else { MOVES_MAX };
        let at = match label.places(most).find(free) {
            Some(at) => at,
            None if self.several && label.gives_way != GivesWay::Never => return,
            None => label.at,
        };
        self.taken.push(label.corners(at));
        for (number, line) in (0_u32..).zip(label.lines) {
            let y = at.y + f64::from(number) * label.size * LINE_APART;
            self.write(label, Spot { x: at.x, y }, line);
        }
    }

    /// All labels: first the white around each, then the letters, so that a viewer need not know the
    /// order of painting.
    pub(super) fn svg(&self) -> String {
        format!(
            "<g class=\"halo\" aria-hidden=\"true\">\n{}</g>\n<g>\n{}</g>\n",
            self.halos, self.texts
        )
    }

    fn write(&mut self, label: &Label<'_>, at: Spot, line: &str) {
        let anchor = match label.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
        };
        let turn = if label.turned_deg == 0.0 {
            String::new()
        } else {
            format!(" transform=\"rotate({:.1} {:.2} {:.2})\"", label.turned_deg, at.x, at.y)
        };
        for layer in [&mut self.halos, &mut self.texts] {
            let _written = writeln!(
                layer,
                "<text x=\"{:.2}\" y=\"{:.2}\" font-size=\"{}\" text-anchor=\"{anchor}\"{turn}>{}</text>",
                at.x,
                at.y,
                label.size,
                escaped(line)
            );
        }
    }
}

impl Label<'_> {
    /// Where it may stand, the most wanted place first.
    fn places(&self, moves_max: u32) -> impl Iterator<Item = Spot> + use<'_> {
        let (sin, cos) = self.turned_deg.to_radians().sin_cos();
        let (step, most) = match self.gives_way {
            GivesWay::Never => (0.0, 0.0),
            GivesWay::AcrossLines => (self.size * LINE_APART, f64::INFINITY),
            GivesWay::AlongLine(most) => (self.size, most),
        };
        let moves =
            (1..=moves_max).flat_map(|times| [1.0, -1.0].map(|sign| sign * f64::from(times)));
        let moved = move |by: f64| match self.gives_way {
            GivesWay::AcrossLines => Spot { x: self.at.x - by * sin, y: self.at.y + by * cos },
            GivesWay::Never | GivesWay::AlongLine(_) => {
                Spot { x: self.at.x + by * cos, y: self.at.y + by * sin }
            }
        };
        let by = std::iter::once(0.0).chain(moves.map(move |times| times * step));
        by.filter(move |by| by.abs() <= most).map(moved)
    }

    /// The corners of what it covers when it stands at a spot.
    fn corners(&self, at: Spot) -> [Spot; 4] {
        let longest = self.lines.iter().map(|line| line.chars().count()).max().unwrap_or(0);
        #[expect(clippy::cast_precision_loss, reason = "a label has a few dozen letters")]
        let (letters, lines) = (longest as f64, self.lines.len() as f64);
        let wide = letters * LETTER_WIDE * self.size;
        let left = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -wide / 2.0,
        };
        let (top, foot) = (-self.size, (lines - 1.0) * self.size * LINE_APART + 0.2 * self.size);
        let (sin, cos) = self.turned_deg.to_radians().sin_cos();
        let corner =
            |x: f64, y: f64| Spot { x: at.x + x * cos - y * sin, y: at.y + x * sin + y * cos };
        let (left, right) = (left - CLEAR, left + wide + CLEAR);
        let (top, foot) = (top - CLEAR, foot + CLEAR);
        [corner(left, top), corner(right, top), corner(right, foot), corner(left, foot)]
    }
}

/// Whether two rectangles have a part in common: no side of either parts them.
fn overlap(one: &[Spot; 4], other: &[Spot; 4]) -> bool {
    let parted_by = |from: Spot, to: Spot| {
        let (x, y) = (to.y - from.y, from.x - to.x);
        let range = |corners: &[Spot; 4]| {
            let along = corners.map(|corner| corner.x * x + corner.y * y);
            (
                along.into_iter().fold(f64::INFINITY, f64::min),
                along.into_iter().fold(f64::NEG_INFINITY, f64::max),
            )
        };
        let (ours, theirs) = (range(one), range(other));
        ours.1 <= theirs.0 || theirs.1 <= ours.0
    };
    let sides = |corners: &[Spot; 4]| [(corners[0], corners[1]), (corners[1], corners[2])];
    !sides(one).into_iter().chain(sides(other)).any(|(from, to)| parted_by(from, to))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn label<'a>(x: f64, turned_deg: f64, gives_way: GivesWay, lines: &'a [&'a str]) -> Label<'a> {
        let at = Spot { x, y: 50.0 };
        Label { at, size: 2.0, anchor: Anchor::Middle, turned_deg, gives_way, lines }
    }

    #[rstest]
    // A line of 2 mm is moved by 2.4 mm down or up; along its letters it moves by 2 mm until it is clear.
    #[case::apart(80.0, 0.0, GivesWay::AcrossLines, (80.0, 50.0))]
    #[case::two_lines_up(52.0, 0.0, GivesWay::AcrossLines, (52.0, 45.2))]
    #[case::no_room_to_give_way(52.0, 0.0, GivesWay::AlongLine(1.0), (52.0, 50.0))]
    #[case::upright_and_along(50.0, 90.0, GivesWay::AlongLine(30.0), (50.0, 44.0))]
    fn a_label_gives_way_to_the_one_that_stands(
        #[case] x: f64,
        #[case] turned_deg: f64,
        #[case] gives_way: GivesWay,
        #[case] expected: (f64, f64),
    ) {
        let mut labels = Labels::default();
        labels.place(&label(50.0, 0.0, GivesWay::AcrossLines, &["the first one", "with a foot"]));
        labels.place(&label(x, turned_deg, gives_way, &["12345"]));
        let svg = labels.svg();
        let place = format!("x=\"{:.2}\" y=\"{:.2}\"", expected.0, expected.1);
        assert_eq!(svg.matches(&place).count(), 2, "{svg}");
    }

    #[test]
    fn on_a_plan_of_several_bays_a_name_is_left_out_before_it_gets_into_the_next() {
        let mut labels = Labels { several: true, ..Labels::default() };
        labels.place(&label(50.0, 0.0, GivesWay::Never, &["bay-1", "", "", "bay-2"]));
        labels.place(&label(50.0, 0.0, GivesWay::Never, &["bay-3"]));
        labels.place(&label(50.0, 0.0, GivesWay::AcrossLines, &["rear-mark"]));
        let svg = labels.svg();
        assert!(svg.contains("bay-3") && !svg.contains("rear-mark"), "{svg}");
    }

    #[test]
    fn letters_are_written_over_all_halos() {
        let mut labels = Labels::default();
        labels.place(&label(50.0, 0.0, GivesWay::AcrossLines, &["a < b"]));
        let svg = labels.svg();
        let (halo, letters) = svg.split_once("</g>").unwrap();
        assert!(halo.contains("a &lt; b") && letters.contains("a &lt; b"), "{svg}");
    }
}
