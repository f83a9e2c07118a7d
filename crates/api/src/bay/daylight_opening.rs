//! Daylight openings: what they are, where they are drawn and how they are assumed to stand.

use super::{outline, outline_points};
use crate::kinds::{Kind as _, kind_or, stated_kind};
use crate::reading::Reading as _;
use crate::v1;
use crate::v1::daylight_opening::Place;
use baywright_core::daylight::DoorState;
use baywright_core::fault::FaultList;
use baywright_core::floor::{DaylightOpening, DaylightOpeningKind, DrawnOpening, DrawnPlace};
use baywright_core::ids::DaylightOpeningId;

pub(super) fn read(
    faults: &mut FaultList,
    message: &v1::DaylightOpening,
) -> Option<DaylightOpening> {
    let id = &message.daylight_opening_id;
    Some(DaylightOpening {
        id: faults.name("daylight_opening_id", id, DaylightOpeningId::new)?,
        kind: kind_or(faults, "kind", message.kind, DaylightOpeningKind::Window),
        blind: message.blind,
        drawn: drawn(faults, message),
    })
}

fn drawn(faults: &mut FaultList, message: &v1::DaylightOpening) -> Option<DrawnOpening> {
    let door = faults.take("door_state", stated_kind::<DoorState>(message.door_state)).flatten();
    let Some(place) = &message.place else {
        only_where_drawn(faults, message);
        return None;
    };
    Some(DrawnOpening {
        place: match place {
            Place::Wall(wall) => DrawnPlace::Wall {
                base_mm: outline(&wall.base),
                sill_mm: wall.sill_mm,
                head_mm: wall.head_mm,
                outward: wall.outward_normal.map(|normal| (normal.x, normal.y)),
            },
            Place::Roof(roof) => {
                DrawnPlace::Roof { outline_mm: outline(&roof.outline), height_mm: roof.height_mm }
            }
        },
        blind_closed: message.blind_closed,
        door,
        horizon_deg: message
            .horizon
            .iter()
            .map(|point| (point.azimuth_deg, point.elevation_deg))
            .collect(),
        beyond_bay: message.beyond_bay,
    })
}

/// What is assumed of an opening without a place would never be looked at.
fn only_where_drawn(faults: &mut FaultList, message: &v1::DaylightOpening) {
    for (field, given) in [
        ("blind_closed", message.blind_closed),
        ("door_state", message.door_state != 0),
        ("horizon", !message.horizon.is_empty()),
        ("beyond_bay", message.beyond_bay),
    ] {
        if given {
            let limit = "be left out for an opening that is not drawn";
            faults.note(field, "given", limit, "say where the opening is, or leave this out");
        }
    }
}

impl From<&DaylightOpening> for v1::DaylightOpening {
    fn from(opening: &DaylightOpening) -> Self {
        let plain = Self {
            daylight_opening_id: opening.id.to_string(),
            kind: opening.kind.number(),
            blind: opening.blind,
            ..Self::default()
        };
        let Some(drawn) = &opening.drawn else { return plain };
        let point = |(azimuth_deg, elevation_deg): &(f64, f64)| v1::HorizonPoint {
            azimuth_deg: *azimuth_deg,
            elevation_deg: *elevation_deg,
        };
        Self {
            place: Some((&drawn.place).into()),
            blind_closed: drawn.blind_closed,
            door_state: drawn.door.map_or(0, DoorState::number),
            horizon: drawn.horizon_deg.iter().map(point).collect(),
            beyond_bay: drawn.beyond_bay,
            ..plain
        }
    }
}

impl From<&DrawnPlace> for Place {
    fn from(place: &DrawnPlace) -> Self {
        match place {
            DrawnPlace::Wall { base_mm, sill_mm, head_mm, outward } => {
                Self::Wall(v1::WallOpening {
                    base: outline_points(base_mm),
                    sill_mm: *sill_mm,
                    head_mm: *head_mm,
                    outward_normal: outward.map(|(x, y)| v1::FloorDirection { x, y }),
                })
            }
            DrawnPlace::Roof { outline_mm, height_mm } => Self::Roof(v1::RoofOpening {
                outline: outline_points(outline_mm),
                height_mm: *height_mm,
            }),
        }
    }
}
