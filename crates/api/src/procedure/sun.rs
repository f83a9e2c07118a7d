//! What a method asks of the sun besides its zones.

use super::zone::vertex;
use crate::kinds::Kind as _;
use crate::reading::Reading as _;
use crate::v1;
use baywright_core::demand::{SunDemand, SunFreeView};
use baywright_core::fault::FaultList;
use baywright_core::ids::SunFreeViewId;

pub(super) fn demand(faults: &mut FaultList, message: &v1::Method) -> SunDemand {
    SunDemand {
        views: faults.each("sun_free_views", &message.sun_free_views, view),
        elevation_min_deg: message.sun_elevation_min_deg,
    }
}

fn view(faults: &mut FaultList, message: &v1::SunFreeView) -> Option<SunFreeView> {
    Some(SunFreeView {
        id: faults.name("sun_free_view_id", &message.sun_free_view_id, SunFreeViewId::new)?,
        apex: faults.required("apex", message.apex.as_ref(), vertex)?,
        height_mm: message.height_mm,
        heading_deg: message.heading_deg,
        pitch_deg: message.pitch_deg,
        half_angle_horizontal_deg: message.half_angle_horizontal_deg,
        half_angle_vertical_deg: message.half_angle_vertical_deg,
    })
}

impl From<&SunFreeView> for v1::SunFreeView {
    fn from(view: &SunFreeView) -> Self {
        Self {
            sun_free_view_id: view.id.to_string(),
            apex: Some(v1::ZoneVertex {
                x_from: view.apex.x_from.number(),
                x_mm: view.apex.x_mm,
                y_from: view.apex.y_from.number(),
                y_mm: view.apex.y_mm,
            }),
            height_mm: view.height_mm,
            heading_deg: view.heading_deg,
            pitch_deg: view.pitch_deg,
            half_angle_horizontal_deg: view.half_angle_horizontal_deg,
            half_angle_vertical_deg: view.half_angle_vertical_deg,
        }
    }
}
