//! Zones and what they ask of the bay.

use crate::kinds::{Kind as _, kind_or};
use crate::reading::Reading as _;
use crate::v1;
use crate::v1::zone_need::Need;
use baywright_core::demand::{
    LevelTerms, LightNeed, LightPlane, LightTerms, XDatum, YDatum, Zone, ZoneDraft, ZoneNeed,
    ZoneVertex,
};
use baywright_core::fault::{Fault, FaultList};
use baywright_core::ids::ZoneId;

pub(super) fn draft(faults: &mut FaultList, message: &v1::Zone) -> Option<ZoneDraft> {
    Some(ZoneDraft {
        id: faults.name("zone_id", &message.zone_id, ZoneId::new)?,
        outline: faults.each("outline", &message.outline, vertex),
        needs: faults.each("needs", &message.needs, need),
    })
}

pub(super) fn vertex(faults: &mut FaultList, message: &v1::ZoneVertex) -> Option<ZoneVertex> {
    Some(ZoneVertex {
        x_from: kind_or(faults, "x_from", message.x_from, XDatum::FrontAxle),
        x_mm: message.x_mm,
        y_from: kind_or(faults, "y_from", message.y_from, YDatum::Centreline),
        y_mm: message.y_mm,
    })
}

fn need(faults: &mut FaultList, message: &v1::ZoneNeed) -> Option<ZoneNeed> {
    match &message.need {
        Some(Need::ClearFloor(need)) => Some(ZoneNeed::ClearFloor { up_to_mm: need.up_to_mm }),
        Some(Need::Level(need)) => Some(ZoneNeed::Level {
            slope_max_deg: need.slope_max_deg,
            residual_max_mm: need.residual_max_mm,
            terms: LevelTerms {
                point_spacing_max_mm: need.point_spacing_max_mm,
                compensation_max_mm: need.compensation_max_mm,
                conformance_probability: need.conformance_probability,
            },
        }),
        Some(Need::Light(need)) => {
            faults.inside("light", |faults| light(faults, need)).map(ZoneNeed::Light)
        }
        Some(Need::NoDirectSun(need)) => Some(ZoneNeed::NoDirectSun { up_to_mm: need.up_to_mm }),
        Some(Need::NoMetal(need)) => Some(ZoneNeed::NoMetal { up_to_mm: need.up_to_mm }),
        Some(Need::NothingMoving(v1::NothingMovingNeed {})) => Some(ZoneNeed::NothingMoving),
        Some(Need::PlainBackground(v1::PlainBackgroundNeed {})) => Some(ZoneNeed::PlainBackground),
        None => {
            faults.note("", "empty", "hold one demand", "say what the zone demands");
            Some(ZoneNeed::NothingMoving)
        }
    }
}

fn light(faults: &mut FaultList, message: &v1::LightNeed) -> Option<LightNeed> {
    let (low, high) = (message.colour_temperature_min_k, message.colour_temperature_max_k);
    for (field, end, other) in
        [("colour_temperature_min_k", low, high), ("colour_temperature_max_k", high, low)]
    {
        if end.is_none() && other.is_some() {
            let remedy = "state both ends of the range, or neither";
            faults.note(field, "absent", "be given where the other end is", remedy);
        }
    }
    Some(LightNeed {
        plane: kind_or(faults, "plane", message.plane, LightPlane::Horizontal),
        height_mm: message.height_mm,
        average_min_lux: message.average_min_lux,
        average_max_lux: message.average_max_lux,
        minimum_lux: message.minimum_lux,
        maximum_lux: message.maximum_lux,
        uniformity_min: message.uniformity_min,
        colour_temperature_k: low.or(high).zip(high.or(low)),
        terms: LightTerms {
            reading_spacing_max_mm: message.reading_spacing_max_mm,
            conformance_probability: message.conformance_probability,
        },
    })
}

impl From<&Zone> for v1::Zone {
    fn from(zone: &Zone) -> Self {
        let vertex = |vertex: &ZoneVertex| v1::ZoneVertex {
            x_from: vertex.x_from.number(),
            x_mm: vertex.x_mm,
            y_from: vertex.y_from.number(),
            y_mm: vertex.y_mm,
        };
        Self {
            zone_id: zone.id().to_string(),
            outline: zone.outline().iter().map(vertex).collect(),
            needs: zone.needs().iter().map(Into::into).collect(),
        }
    }
}

impl From<&ZoneNeed> for v1::ZoneNeed {
    fn from(need: &ZoneNeed) -> Self {
        let need = match *need {
            ZoneNeed::ClearFloor { up_to_mm } => Need::ClearFloor(v1::ClearFloorNeed { up_to_mm }),
            ZoneNeed::Level { slope_max_deg, residual_max_mm, terms } => {
                Need::Level(v1::LevelNeed {
                    slope_max_deg,
                    residual_max_mm,
                    point_spacing_max_mm: terms.point_spacing_max_mm,
                    compensation_max_mm: terms.compensation_max_mm,
                    conformance_probability: terms.conformance_probability,
                })
            }
            ZoneNeed::Light(need) => Need::Light(light_message(&need)),
            ZoneNeed::NoDirectSun { up_to_mm } => {
                Need::NoDirectSun(v1::NoDirectSunNeed { up_to_mm })
            }
            ZoneNeed::NoMetal { up_to_mm } => Need::NoMetal(v1::NoMetalNeed { up_to_mm }),
            ZoneNeed::NothingMoving => Need::NothingMoving(v1::NothingMovingNeed {}),
            ZoneNeed::PlainBackground => Need::PlainBackground(v1::PlainBackgroundNeed {}),
        };
        Self { need: Some(need) }
    }
}

fn light_message(need: &LightNeed) -> v1::LightNeed {
    v1::LightNeed {
        plane: need.plane.number(),
        height_mm: need.height_mm,
        average_min_lux: need.average_min_lux,
        average_max_lux: need.average_max_lux,
        minimum_lux: need.minimum_lux,
        maximum_lux: need.maximum_lux,
        uniformity_min: need.uniformity_min,
        colour_temperature_min_k: need.colour_temperature_k.map(|(low, _)| low),
        colour_temperature_max_k: need.colour_temperature_k.map(|(_, high)| high),
        reading_spacing_max_mm: need.terms.reading_spacing_max_mm,
        conformance_probability: need.terms.conformance_probability,
    }
}

/// Puts the name of the need into a path that leads through one: `needs[1].up_to_mm` becomes
/// `needs[1].clear_floor.up_to_mm`.
pub(super) fn with_need_named(message: &v1::Procedure, mut fault: Fault) -> Fault {
    let steps: Vec<&str> = fault.field.split('.').collect();
    let [method, zone, need, figure] = steps[..] else { return fault };
    let named = index_of(method, "methods")
        .and_then(|at| message.methods.get(at))
        .zip(index_of(zone, "zones"))
        .and_then(|(method, at)| method.zones.get(at))
        .zip(index_of(need, "needs"))
        .and_then(|(zone, at)| zone.needs.get(at))
        .and_then(|need| need.need.as_ref());
    let Some(named) = named else { return fault };
    let figure = match (figure, named) {
        ("colour_temperature_k", Need::Light(light)) => {
            // The fault shows which end it is about.
            let low = light.colour_temperature_min_k.map(|kelvin| kelvin.to_string());
            if low.as_ref() == Some(&fault.value) {
                "colour_temperature_min_k"
            } else {
                "colour_temperature_max_k"
            }
        }
        _ => figure,
    };
    fault.field = format!("{method}.{zone}.{need}.{}.{figure}", name_of(named));
    fault
}

/// The index in a step of a path, when it is one of this list: 2 in `zones[2]`.
fn index_of(step: &str, list: &str) -> Option<usize> {
    step.strip_prefix(list)?.strip_prefix('[')?.strip_suffix(']')?.parse().ok()
}

fn name_of(need: &Need) -> &'static str {
    match need {
        Need::ClearFloor(_) => "clear_floor",
        Need::Level(_) => "level",
        Need::Light(_) => "light",
        Need::NoDirectSun(_) => "no_direct_sun",
        Need::NoMetal(_) => "no_metal",
        Need::NothingMoving(_) => "nothing_moving",
        Need::PlainBackground(_) => "plain_background",
    }
}
