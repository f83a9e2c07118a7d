//! Vehicle classes: the sizes that zones are drawn from.

use crate::reading::{Reading as _, whole};
use crate::v1;
use baywright_core::demand::{VehicleClass, VehicleClassDraft};
use baywright_core::fault::Faults;
use baywright_core::ids::VehicleClassId;

impl TryFrom<&v1::VehicleClass> for VehicleClass {
    type Error = Faults;

    fn try_from(message: &v1::VehicleClass) -> Result<Self, Faults> {
        let id = &message.vehicle_class_id;
        whole(
            |faults| {
                Some(VehicleClassDraft {
                    id: faults.name("vehicle_class_id", id, VehicleClassId::new)?,
                    length_mm: message.length_mm,
                    width_mm: message.width_mm,
                    height_mm: message.height_mm,
                    wheelbase_mm: message.wheelbase_mm,
                    front_overhang_mm: message.front_overhang_mm,
                    track_mm: message.track_mm,
                })
            },
            Self::new,
            |fault| fault,
        )
    }
}

impl From<&VehicleClass> for v1::VehicleClass {
    fn from(class: &VehicleClass) -> Self {
        Self {
            vehicle_class_id: class.id().to_string(),
            length_mm: class.length_mm(),
            width_mm: class.width_mm(),
            height_mm: class.height_mm(),
            wheelbase_mm: class.wheelbase_mm(),
            front_overhang_mm: class.front_overhang_mm(),
            track_mm: class.track_mm(),
        }
    }
}
