//! Whether measured places speak for a whole zone: the largest gap between them, and where to
//! measure more.
//!
//! A square grid of spacing s leaves no place further than s / sqrt(2) from a point. That is what a
//! spacing means here for points at any places: every place of the zone has a point that near. The
//! largest gap is found exactly: it lies at the middle of the empty circle around a triangle, at
//! a corner of the zone, or where the zone's edge is as near to one point as to another.

use super::surface::Surface;
use crate::axes::PointFloor;
use crate::region::{Polygon, between};
use std::f64::consts::FRAC_1_SQRT_2;

/// What rounding may add to a gap, millimetres.
const GAP_TOLERANCE_MM: f64 = 1.0;
/// The most places that are named one by one before "or more" is said.
pub const MORE_PLACES_MAX: usize = 12;
/// How often an edge is divided at most; each division finds another point.
const DIVISIONS_MAX: u32 = 48;

/// What is asked of the points in a zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Density {
    /// Spacing of a square grid that is dense enough, millimetres.
    pub spacing_max_mm: f64,
    /// The fewest places within the zone.
    pub points_min: usize,
    /// Whether the whole zone must lie between the points.
    pub between_points: bool,
}

impl Density {
    /// The greatest distance of a place of the zone from the nearest point, millimetres.
    pub fn gap_max_mm(&self) -> f64 {
        self.spacing_max_mm * FRAC_1_SQRT_2
    }
}

/// Places that are still to be measured.
#[derive(Debug, Clone, PartialEq)]
pub struct MorePlaces {
    /// Where, the most needed first; at most [`MORE_PLACES_MAX`].
    pub places: Vec<PointFloor>,
    /// Whether these do not suffice.
    pub or_more: bool,
}

/// What keeps points from speaking for a zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Gap {
    /// Fewer places within the zone than asked for.
    TooFew {
        /// How many there are.
        found: usize,
    },
    /// All places within the zone lie on one line.
    OnOneLine {
        /// How many there are.
        found: usize,
    },
    /// Part of the zone lies outside of the outermost points.
    Outside {
        /// The place of the zone that lies furthest outside.
        at: PointFloor,
    },
    /// A place of the zone is too far from the nearest point.
    TooWide {
        /// The place.
        at: PointFloor,
        /// How far, millimetres.
        distance_mm: f64,
    },
}

/// What keeps the points of a surface from speaking for a zone; none when they do.
pub fn gap(surface: &Surface, zone: &Polygon, asked: &Density) -> Option<Gap> {
    let inside: Vec<_> = surface.nodes_within(zone).map(|node| node.place).collect();
    let found = inside.len();
    if found < asked.points_min {
        return Some(Gap::TooFew { found });
    }
    if on_one_line(&inside) {
        return Some(Gap::OnOneLine { found });
    }
    if asked.between_points
        && let Some(at) = outside(surface, zone)
    {
        return Some(Gap::Outside { at });
    }
    let (at, distance_mm) = widest(surface, zone)?;
    (distance_mm > asked.gap_max_mm() + GAP_TOLERANCE_MM)
        .then_some(Gap::TooWide { at, distance_mm })
}

/// Where to measure so that the points speak for the zone.
pub fn more_places(surface: &Surface, zone: &Polygon, asked: &Density) -> MorePlaces {
    // Points further away than two gaps change nothing within the zone.
    let near = 2.0 * asked.gap_max_mm();
    let mut values: Vec<_> = surface
        .nodes()
        .iter()
        .filter(|node| {
            zone.contains(node.place) || zone.edge_nearest_to_point(node.place).distance_mm <= near
        })
        .map(|node| (node.place, node.value))
        .collect();
    let mut more = MorePlaces { places: Vec::new(), or_more: false };
    loop {
        let tried = Surface::through(values.iter().copied());
        let at = match gap(&tried, zone, asked) {
            None => return more,
            Some(Gap::Outside { at } | Gap::TooWide { at, .. }) => at,
            Some(Gap::TooFew { .. } | Gap::OnOneLine { .. }) => {
                match widest(&tried, zone).or_else(|| Some((*zone.vertices().first()?, 0.0))) {
                    Some((at, _)) => at,
                    None => return more,
                }
            }
        };
        if more.places.len() == MORE_PLACES_MAX {
            more.or_more = true;
            return more;
        }
        more.places.push(at);
        values.push((at, 0.0));
    }
}

/// The corner of the zone that lies furthest outside of the outermost points; a zone lies between
/// them when all its corners do, because their outline has no dent worth the name.
fn outside(surface: &Surface, zone: &Polygon) -> Option<PointFloor> {
    let mut furthest: Option<(PointFloor, f64)> = None;
    for corner in zone.vertices() {
        let distance = surface.distance_outside_mm(*corner).unwrap_or(f64::INFINITY);
        let is_out = distance > super::surface::HULL_TOLERANCE_MM;
        if is_out && furthest.is_none_or(|(_, most)| distance > most) {
            furthest = Some((*corner, distance));
        }
    }
    furthest.map(|(corner, _)| corner)
}

/// The place of the zone that is furthest from the nearest point, and how far; none without a point.
fn widest(surface: &Surface, zone: &Polygon) -> Option<(PointFloor, f64)> {
    let mut widest: Option<(PointFloor, f64)> = None;
    let mut note = |at: PointFloor, distance: f64| {
        if widest.is_none_or(|(_, most)| distance > most) {
            widest = Some((at, distance));
        }
    };
    let corners = zone.vertices();
    let nearest = |at: PointFloor| surface.nearest_node(at);
    for (from, to) in corners.iter().zip(corners.iter().cycle().skip(1)) {
        let (from_node, distance) = nearest(*from)?;
        note(*from, distance);
        let (to_node, _) = nearest(*to)?;
        let mut open = vec![((*from, from_node), (*to, to_node), 0)];
        while let Some((a, b, depth)) = open.pop() {
            let Some(middle) = equally_near(surface, a, b) else { continue };
            let Some((node, distance)) = nearest(middle) else { continue };
            if node == a.1 || node == b.1 || depth == DIVISIONS_MAX {
                note(middle, distance);
            } else {
                open.push((a, (middle, node), depth + 1));
                open.push(((middle, node), b, depth + 1));
            }
        }
    }
    let wider = |(_, radius): &&(PointFloor, f64)| widest.is_none_or(|(_, most)| *radius > most);
    let mut circles = surface.empty_circles().iter().take_while(wider);
    circles.find(|(centre, _)| zone.contains(*centre)).copied().or(widest)
}

/// The place on the way from `a` to `b` that is as near to the node of the one as to the other's.
fn equally_near(
    surface: &Surface,
    a: (PointFloor, usize),
    b: (PointFloor, usize),
) -> Option<PointFloor> {
    if a.1 == b.1 {
        return None;
    }
    let (one, two) = (surface.nodes().get(a.1)?.place, surface.nodes().get(b.1)?.place);
    // How much nearer node one is than node two changes evenly along the way.
    let lead = |at: PointFloor| between(at, two).powi(2) - between(at, one).powi(2);
    let (first, last) = (lead(a.0), lead(b.0));
    let share = first / (first - last);
    (0.0..=1.0).contains(&share).then_some(PointFloor {
        x_mm: a.0.x_mm + share * (b.0.x_mm - a.0.x_mm),
        y_mm: a.0.y_mm + share * (b.0.y_mm - a.0.y_mm),
    })
}

fn on_one_line(places: &[PointFloor]) -> bool {
    let points: Vec<_> = places.iter().map(|one| [one.x_mm, one.y_mm, 0.0]).collect();
    matches!(super::LevelPlane::fit(&points), Err(super::NoPlane::OnOneLine { .. }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    fn zone() -> Polygon {
        Polygon::new(&[(0.0, 0.0), (2_000.0, 0.0), (2_000.0, 1_000.0), (0.0, 1_000.0)]).unwrap()
    }

    fn through(places: &[(f64, f64)]) -> Surface {
        let place = |(x_mm, y_mm): &(f64, f64)| PointFloor { x_mm: *x_mm, y_mm: *y_mm };
        Surface::through(places.iter().map(|one| (place(one), 0.0)))
    }

    const ASKED: Density = Density { spacing_max_mm: 1_000.0, points_min: 6, between_points: true };

    #[rstest]
    #[case::none(&[], Some(Gap::TooFew { found: 0 }))]
    #[case::corners_only(&[(0.0, 0.0), (2_000.0, 0.0), (2_000.0, 1_000.0), (0.0, 1_000.0)],
        Some(Gap::TooFew { found: 4 }))]
    #[case::the_same_place_six_times(&[(5.0, 5.0); 6], Some(Gap::TooFew { found: 1 }))]
    #[case::a_line(&[(0.0, 0.0), (400.0, 200.0), (800.0, 400.0), (1_200.0, 600.0),
        (1_600.0, 800.0), (2_000.0, 1_000.0)], Some(Gap::OnOneLine { found: 6 }))]
    #[case::the_grid_asked_for(&[(0.0, 0.0), (1_000.0, 0.0), (2_000.0, 0.0), (0.0, 1_000.0),
        (1_000.0, 1_000.0), (2_000.0, 1_000.0)], None)]
    #[case::one_corner_missing(&[(0.0, 0.0), (1_000.0, 0.0), (2_000.0, 0.0), (0.0, 1_000.0),
        (1_000.0, 1_000.0), (1_990.0, 990.0)],
        Some(Gap::Outside { at: PointFloor { x_mm: 2_000.0, y_mm: 1_000.0 } }))]
    fn points_speak_for_a_zone_or_it_is_said_why_not(
        #[case] places: &[(f64, f64)],
        #[case] expected: Option<Gap>,
    ) {
        assert_eq!(gap(&through(places), &zone(), &ASKED), expected);
    }

    #[test]
    fn the_widest_gap_is_told_with_its_place() {
        // Six points at the two ends: the middle of the zone is 1000 mm from the ends' middles.
        let ends = [
            (0.0, 0.0),
            (0.0, 500.0),
            (0.0, 1_000.0),
            (2_000.0, 0.0),
            (2_000.0, 500.0),
            (2_000.0, 1_000.0),
        ];
        let Some(Gap::TooWide { at, distance_mm }) = gap(&through(&ends), &zone(), &ASKED) else {
            panic!("a gap");
        };
        // Between two points 500 mm apart: hypot(1000, 250).
        assert!((at.x_mm - 1_000.0).abs() < 1e-6, "{at:?}");
        assert!((distance_mm - 1_000.0_f64.hypot(250.0)).abs() < 1e-6, "{distance_mm}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        #[test]
        fn no_place_of_the_zone_is_further_from_a_point_than_the_widest_gap(
            places in prop::collection::vec((-500.0..2_500.0_f64, -500.0..1_500.0_f64), 1..25),
        ) {
            let surface = through(&places);
            let (at, most) = widest(&surface, &zone()).unwrap();
            prop_assert!(zone().contains(at));
            let mut found = 0.0_f64;
            for i in 0..=40_u32 {
                for j in 0..=20_u32 {
                    let at = PointFloor { x_mm: f64::from(i) * 50.0, y_mm: f64::from(j) * 50.0 };
                    found = found.max(surface.nearest_node(at).unwrap().1);
                }
            }
            prop_assert!(found <= most + 1e-6, "{found} {most}");
            prop_assert!(most - found < 36.0, "{found} {most}");
        }

        #[test]
        fn what_is_asked_for_suffices_when_it_is_measured(
            places in prop::collection::vec((-500.0..2_500.0_f64, -500.0..1_500.0_f64), 0..9),
        ) {
            let surface = through(&places);
            let more = more_places(&surface, &zone(), &ASKED);
            let added = more.places.iter().map(|at| (at.x_mm, at.y_mm));
            let all: Vec<_> = places.iter().copied().chain(added).collect();
            let left = gap(&through(&all), &zone(), &ASKED);
            prop_assert!(more.or_more || left.is_none(), "{more:?} {left:?}");
            prop_assert_eq!(more.places.is_empty(), gap(&surface, &zone(), &ASKED).is_none());
        }
    }
}
