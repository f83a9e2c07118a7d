//! Where the sun falls onto a floor through an opening at an instant: the opening thrown along the
//! sun's direction onto the floor, and of that the part within an outline.

use super::angle::Azimuth;
use super::convex::clipped;
use super::opening::Opening;
use super::sun::SunPosition;
use super::vector::{Vector, dot};
use crate::axes::PointFloor;
use crate::region::{FloorBounds, Polygon, common_polygons};

/// The parts of a floor that the sun reaches through an opening.
///
/// `bearing`: degrees clockwise from true north to floor +y. Nothing but the opening's own wall and
/// skyline casts shadows, as everywhere here. The sun is a point.
///
/// # Edge cases
/// Empty where the sun stands on or below the horizontal, behind the opening's wall or its skyline, and
/// where the opening is shut. A sliver too small for an outline is left out.
pub fn sunlit_floor(
    sun: SunPosition,
    bearing: Azimuth,
    opening: &Opening,
    floor: &Polygon,
) -> Vec<Polygon> {
    let towards = towards(sun, bearing);
    let [x, y, up] = towards;
    if up <= 0.0 || !opening.lets_sun_in() || dot(opening.outward(), towards) <= 0.0 {
        return Vec::new();
    }
    let skyline = opening.parts().horizon.as_ref().map(|line| line.elevation_at(sun.azimuth()));
    if skyline.is_some_and(|line| line.degrees() >= sun.elevation_apparent().degrees()) {
        return Vec::new();
    }
    let onto_floor = |corner: &Vector| PointFloor {
        x_mm: corner[0] - x * corner[2] / up,
        y_mm: corner[1] - y * corner[2] / up,
    };
    let mut patches = Vec::new();
    for glass in opening.glass_above(0.0) {
        let thrown: Vec<_> = glass.corners.iter().map(onto_floor).collect();
        let near = within(thrown, &FloorBounds::of(floor));
        let near: Vec<_> = near.iter().map(|corner| (corner.x_mm, corner.y_mm)).collect();
        let Ok(near) = Polygon::new(&near) else { continue };
        patches.extend(common_polygons(&near, floor));
    }
    patches
}

/// Towards the sun as it is seen, in floor axes.
fn towards(sun: SunPosition, bearing: Azimuth) -> Vector {
    // Counted from floor +y instead of from north.
    let (sin, cos) = (sun.azimuth().radians() - bearing.radians()).sin_cos();
    let (up, level) = sun.elevation_apparent().degrees().to_radians().sin_cos();
    [level * sin, level * cos, up]
}

/// What of a convex outline lies in a rectangle: at a low sun it reaches very far.
fn within(mut outline: Vec<PointFloor>, bounds: &FloorBounds) -> Vec<PointFloor> {
    // Clipping keeps what goes around counter-clockwise; one of the two ways does.
    let (least, most) = (bounds.least, bounds.most);
    let sides = [
        ((1.0, 0.0), most.x_mm),
        ((-1.0, 0.0), -least.x_mm),
        ((0.0, 1.0), most.y_mm),
        ((0.0, -1.0), -least.y_mm),
    ];
    let cut = |outline: &[PointFloor]| {
        sides.iter().fold(outline.to_vec(), |kept, (normal, bound)| clipped(&kept, *normal, *bound))
    };
    let kept = cut(&outline);
    if !kept.is_empty() {
        return kept;
    }
    outline.reverse();
    cut(&outline)
}

#[cfg(test)]
mod tests;
