//! The upright rectangle around a polygon: what lies apart by it needs no closer look.

use super::Polygon;
use crate::axes::PointFloor;

/// The smallest rectangle along the floor axes that holds a polygon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FloorBounds {
    /// The corner with the least coordinates.
    pub least: PointFloor,
    /// The corner with the greatest coordinates.
    pub most: PointFloor,
}

impl FloorBounds {
    /// The rectangle around a polygon.
    pub fn of(polygon: &Polygon) -> Self {
        Self::around(polygon.vertices())
    }

    /// The rectangle around points; turned inside out where there is none.
    pub fn around<'a>(points: impl IntoIterator<Item = &'a PointFloor>) -> Self {
        let least = PointFloor { x_mm: f64::INFINITY, y_mm: f64::INFINITY };
        let most = PointFloor { x_mm: f64::NEG_INFINITY, y_mm: f64::NEG_INFINITY };
        points.into_iter().fold(Self { least, most }, |bounds, point| Self {
            least: PointFloor {
                x_mm: bounds.least.x_mm.min(point.x_mm),
                y_mm: bounds.least.y_mm.min(point.y_mm),
            },
            most: PointFloor {
                x_mm: bounds.most.x_mm.max(point.x_mm),
                y_mm: bounds.most.y_mm.max(point.y_mm),
            },
        })
    }

    /// How far two rectangles are apart, millimetres: what is in them is at least as far apart.
    /// Zero when they touch or overlap.
    pub fn apart_mm(&self, other: &Self) -> f64 {
        let gap =
            |least: f64, most: f64, from: f64, to: f64| (from - most).max(least - to).max(0.0);
        let x = gap(self.least.x_mm, self.most.x_mm, other.least.x_mm, other.most.x_mm);
        let y = gap(self.least.y_mm, self.most.y_mm, other.least.y_mm, other.most.y_mm);
        (x * x + y * y).sqrt()
    }

    /// The rectangle with its sides moved out by so much, millimetres.
    #[must_use]
    pub fn widened(&self, by_mm: f64) -> Self {
        let moved = |at: PointFloor, by_mm: f64| PointFloor {
            x_mm: at.x_mm + by_mm,
            y_mm: at.y_mm + by_mm,
        };
        Self { least: moved(self.least, -by_mm), most: moved(self.most, by_mm) }
    }

    /// Whether a point lies in the rectangle or on its sides.
    pub fn holds(&self, point: PointFloor) -> bool {
        (self.least.x_mm..=self.most.x_mm).contains(&point.x_mm)
            && (self.least.y_mm..=self.most.y_mm).contains(&point.y_mm)
    }

    /// Whether two rectangles have an area in common, so that their polygons may have one.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.least.x_mm < other.most.x_mm
            && other.least.x_mm < self.most.x_mm
            && self.least.y_mm < other.most.y_mm
            && other.least.y_mm < self.most.y_mm
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    // Elementary plane geometry: a square of 10 mm at the origin and another one.
    #[case::beside(13.0, 0.0, 3.0, false)]
    #[case::across_the_corner(13.0, 14.0, 5.0, false)]
    #[case::touching(10.0, 0.0, 0.0, false)]
    #[case::overlapping(-9.0, 9.0, 0.0, true)]
    fn rectangles_are_apart_or_overlap(
        #[case] x: f64,
        #[case] y: f64,
        #[case] apart_mm: f64,
        #[case] overlaps: bool,
    ) {
        let square = |x: f64, y: f64| {
            let corners = [(x, y), (x + 10.0, y), (x + 10.0, y + 10.0), (x, y + 10.0)];
            FloorBounds::of(&Polygon::new(&corners).unwrap())
        };
        let (one, other) = (square(0.0, 0.0), square(x, y));
        assert!((one.apart_mm(&other) - apart_mm).abs() < 1e-12);
        assert!((other.apart_mm(&one) - apart_mm).abs() < 1e-12);
        assert_eq!((one.overlaps(&other), other.overlaps(&one)), (overlaps, overlaps));
    }
}
