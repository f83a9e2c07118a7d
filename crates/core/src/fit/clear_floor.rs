//! Clear floor: the zone lies in the bay, nothing stands in it, and the ceiling is high enough.

use super::site::Site;
use super::{Detail, Finding, NeedKind, Neighbour, Quantity, Verdict};
use crate::region::{
    FloorBounds, NearestEdge, Parts, Polygon, TOUCH_MM, common_part, part_outside,
};

/// Judges clear floor for the vehicle's own body.
pub(super) fn body(site: &Site<'_>, body_floor: &Polygon, height_mm: f64) -> Vec<Finding> {
    judge(site, NeedKind::Body, body_floor, height_mm)
}

/// Judges clear floor in a zone.
pub(super) fn zone(site: &Site<'_>, zone_floor: &Polygon, up_to_mm: f64) -> Vec<Finding> {
    judge(site, NeedKind::ClearFloor, zone_floor, up_to_mm)
}

/// Every reason why the floor is not clear, or one finding with the distance to what is nearest.
fn judge(site: &Site<'_>, need: NeedKind, zone_floor: &Polygon, up_to_mm: f64) -> Vec<Finding> {
    let mut reasons = Vec::new();
    let refuse = |detail| Finding::plain(need, Verdict::DoesNotConform, detail);
    let nearest_edge = site.bay.outline().edge_nearest_to(zone_floor);
    if let Some(outside) = what_lies_outside(zone_floor, site.bay.outline(), nearest_edge) {
        let reach = reach_beyond(&outside, site.bay.outline());
        reasons.push(Finding {
            measured: Some(Quantity::mm2(outside.area_mm2())),
            limit: Some(Quantity::mm2(0.0)),
            margin: Some(Quantity::mm(-reach.distance_mm)),
            ..refuse(Detail::OutsideFloor {
                outside_mm2: outside.area_mm2(),
                depth_mm: reach.distance_mm,
                beyond_edge: reach.edge,
            })
        });
    }
    for obstruction in site.obstructions_up_to(up_to_mm) {
        let common = common_part(zone_floor, obstruction.outline());
        if common.has_area() {
            reasons.push(Finding {
                measured: Some(Quantity::mm2(common.area_mm2())),
                limit: Some(Quantity::mm2(0.0)),
                ..refuse(Detail::Obstructed {
                    obstruction: obstruction.id().clone(),
                    overlap_mm2: common.area_mm2(),
                    from_mm: obstruction.from_mm(),
                    to_mm: obstruction.to_mm(),
                })
            });
        }
    }
    let ceiling_mm = site.bay.ceiling_mm();
    if ceiling_mm < up_to_mm {
        reasons.push(Finding {
            measured: Some(Quantity::mm(ceiling_mm)),
            limit: Some(Quantity::mm(up_to_mm)),
            margin: Some(Quantity::mm(ceiling_mm - up_to_mm)),
            ..refuse(Detail::CeilingLow)
        });
    }
    if reasons.is_empty() {
        reasons.push(clear(site, (need, up_to_mm), zone_floor, nearest_edge));
    }
    reasons
}

/// What of a zone lies outside of the floor; none when it all lies inside.
///
/// A zone whose edges keep off the floor's edges, and one corner of which lies inside, lies inside as
/// a whole: a floor is simple and has no holes. Only the others take a set operation.
fn what_lies_outside(zone_floor: &Polygon, floor: &Polygon, nearest: NearestEdge) -> Option<Parts> {
    let corner = zone_floor.vertices().first();
    let inside = corner.is_some_and(|corner| floor.contains(*corner));
    if nearest.distance_mm > TOUCH_MM && inside {
        return None;
    }
    Some(part_outside(zone_floor, floor)).filter(Parts::has_area)
}

/// The finding about a clear zone: how far away what is nearest to it is.
fn clear(
    site: &Site<'_>,
    (need, up_to_mm): (NeedKind, f64),
    zone_floor: &Polygon,
    edge: NearestEdge,
) -> Finding {
    let mut nearest = (edge.distance_mm, Neighbour::Edge(edge.edge));
    let around = FloorBounds::of(zone_floor);
    for obstruction in site.obstructions_up_to(up_to_mm) {
        if around.apart_mm(&FloorBounds::of(obstruction.outline())) >= nearest.0 {
            continue;
        }
        let distance_mm = obstruction.outline().distance_mm_to(zone_floor);
        if distance_mm < nearest.0 {
            nearest = (distance_mm, Neighbour::Obstruction(obstruction.id().clone()));
        }
    }
    let (distance_mm, nearest) = nearest;
    Finding {
        measured: Some(Quantity::mm(distance_mm)),
        limit: Some(Quantity::mm(0.0)),
        margin: Some(Quantity::mm(distance_mm)),
        ..Finding::plain(need, Verdict::Conforms, Detail::Clear { up_to_mm, nearest })
    }
}

/// How far parts outside of a floor reach beyond it, and beyond which edge.
fn reach_beyond(outside: &Parts, floor: &Polygon) -> NearestEdge {
    let start = NearestEdge { edge: 0, distance_mm: 0.0 };
    outside.vertices().iter().map(|vertex| floor.edge_nearest_to_point(*vertex)).fold(
        start,
        |farthest, one| if one.distance_mm > farthest.distance_mm { one } else { farthest },
    )
}
