//! Metal, sun, movement and background: what the drawing decides, and what is seen at the vehicle.

use super::site::Site;
use super::{Detail, Finding, NeedKind, Quantity, Verdict};
use crate::demand::Method;
use crate::ids::ObstructionId;
use crate::region::{FloorBounds, Polygon, common_part, part_outside};

/// Judges that no metal obstruction stands in a zone.
///
/// # Edge cases
/// The part of a zone that lies outside of the bay is not drawn, so it is confirmed at the start.
pub(super) fn no_metal(site: &Site<'_>, zone_floor: &Polygon, up_to_mm: f64) -> Vec<Finding> {
    let metal = || site.obstructions_up_to(up_to_mm).filter(|one| one.metal());
    let inside: Vec<_> = metal()
        .filter_map(|obstruction| {
            let common = common_part(zone_floor, obstruction.outline());
            common.has_area().then(|| Finding {
                measured: Some(Quantity::mm2(common.area_mm2())),
                limit: Some(Quantity::mm2(0.0)),
                ..Finding::plain(
                    NeedKind::NoMetal,
                    Verdict::DoesNotConform,
                    Detail::MetalInside {
                        obstruction: obstruction.id().clone(),
                        overlap_mm2: common.area_mm2(),
                    },
                )
            })
        })
        .collect();
    if !inside.is_empty() {
        return inside;
    }
    let mut nearest: Option<(f64, ObstructionId)> = None;
    let around = FloorBounds::of(zone_floor);
    for obstruction in metal() {
        let apart_mm = around.apart_mm(&FloorBounds::of(obstruction.outline()));
        if nearest.as_ref().is_some_and(|(least, _)| apart_mm >= *least) {
            continue;
        }
        let distance_mm = obstruction.outline().distance_mm_to(zone_floor);
        if nearest.as_ref().is_none_or(|(least, _)| distance_mm < *least) {
            nearest = Some((distance_mm, obstruction.id().clone()));
        }
    }
    let outside = part_outside(zone_floor, site.bay.outline());
    let distance = nearest.as_ref().map(|(distance_mm, _)| Quantity::mm(*distance_mm));
    let (verdict, detail) = if outside.has_area() {
        let outside_mm2 = outside.area_mm2();
        (Verdict::ConfirmAtStart, Detail::MetalBeyondBayToConfirm { outside_mm2 })
    } else {
        let nearest = nearest.map(|(_, id)| id);
        (Verdict::Conforms, Detail::FreeOfMetal { up_to_mm, nearest })
    };
    vec![Finding {
        measured: distance,
        limit: distance.map(|_| Quantity::mm(0.0)),
        margin: distance,
        ..Finding::plain(NeedKind::NoMetal, verdict, detail)
    }]
}

/// Judges direct sun: a bay without an opening has none, elsewhere it is seen at the vehicle.
pub(super) fn no_sun(site: &Site<'_>, up_to_mm: f64) -> Finding {
    let openings = site.bay.daylight_openings().len();
    let (verdict, detail) = if openings == 0 {
        (Verdict::Conforms, Detail::NoDaylightOpening)
    } else {
        (Verdict::ConfirmAtStart, Detail::SunToConfirm { up_to_mm, openings })
    };
    Finding::plain(NeedKind::NoDirectSun, verdict, detail)
}

/// Judges direct sun in the fields of view that must stay free of it, as [`no_sun`] does.
pub(super) fn no_sun_in_views(site: &Site<'_>, method: &Method) -> Vec<Finding> {
    let openings = site.bay.daylight_openings().len();
    let views = method.sun().views.iter().map(|view| view.id.clone());
    let finding = |view| {
        let (verdict, detail) = if openings == 0 {
            (Verdict::Conforms, Detail::NoDaylightOpening)
        } else {
            (Verdict::ConfirmAtStart, Detail::SunInViewToConfirm { view, openings })
        };
        Finding::plain(NeedKind::NoDirectSun, verdict, detail)
    };
    views.map(finding).collect()
}

/// Nobody can tell beforehand what will move.
pub(super) fn nothing_moving() -> Finding {
    let detail = Detail::RestToConfirm;
    Finding::plain(NeedKind::NothingMoving, Verdict::ConfirmAtStart, detail)
}

/// Backgrounds are not drawn.
pub(super) fn plain_background() -> Finding {
    let detail = Detail::BackgroundToConfirm;
    Finding::plain(NeedKind::PlainBackground, Verdict::ConfirmAtStart, detail)
}
