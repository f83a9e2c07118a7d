//! The sizes of a class of vehicles that zones are drawn from.

use crate::axes::OffsetVehicle;
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::VehicleClassId;

/// A vehicle class as it was given, not yet checked.
#[derive(Debug, Clone, PartialEq)]
pub struct VehicleClassDraft {
    /// Its name.
    pub id: VehicleClassId,
    /// Front bumper to rear bumper, 1000 to 20000 mm.
    pub length_mm: f64,
    /// Over all, mirrors as they stand during the work, 500 to 4000 mm.
    pub width_mm: f64,
    /// Floor to the highest point, 500 to 5000 mm.
    pub height_mm: f64,
    /// Front axle to rear axle, 500 to 15000 mm.
    pub wheelbase_mm: f64,
    /// Front axle to front bumper, 0 to 5000 mm.
    pub front_overhang_mm: f64,
    /// Middle of the left tyre to middle of the right one, 300 to 3500 mm, less than the width.
    pub track_mm: f64,
}

/// A class of vehicles of one size.
///
/// # Units
/// Millimetres; the body is a rectangle in vehicle axes, symmetrical to the centreline.
#[derive(Debug, Clone, PartialEq)]
pub struct VehicleClass {
    draft: VehicleClassDraft,
}

impl VehicleClass {
    /// Checks and takes a vehicle class.
    ///
    /// # Errors
    /// A fault for each size outside its range, for a track as wide as the body or wider, and for
    /// a wheelbase and front overhang that together exceed the length.
    pub fn new(draft: VehicleClassDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        faults.number_within("length_mm", draft.length_mm, 1_000.0, 20_000.0, "mm");
        faults.number_within("width_mm", draft.width_mm, 500.0, 4_000.0, "mm");
        faults.number_within("height_mm", draft.height_mm, 500.0, 5_000.0, "mm");
        faults.number_within("wheelbase_mm", draft.wheelbase_mm, 500.0, 15_000.0, "mm");
        faults.number_within("front_overhang_mm", draft.front_overhang_mm, 0.0, 5_000.0, "mm");
        faults.number_within("track_mm", draft.track_mm, 300.0, 3_500.0, "mm");
        let front_part_mm = draft.wheelbase_mm + draft.front_overhang_mm;
        if front_part_mm > draft.length_mm {
            faults.push(Fault::new(
                "wheelbase_mm",
                draft.wheelbase_mm,
                format!(
                    "be at most {} mm: the length less the front overhang",
                    draft.length_mm - draft.front_overhang_mm
                ),
                "check length, wheelbase and front overhang against each other",
            ));
        }
        if draft.track_mm >= draft.width_mm {
            faults.push(Fault::new(
                "track_mm",
                draft.track_mm,
                format!("be less than the width of {} mm", draft.width_mm),
                "measure between the middles of the tyres",
            ));
        }
        faults.finish(Self { draft })
    }

    /// Its name.
    pub fn id(&self) -> &VehicleClassId {
        &self.draft.id
    }

    /// Front bumper to rear bumper, millimetres.
    pub fn length_mm(&self) -> f64 {
        self.draft.length_mm
    }

    /// Over all, millimetres.
    pub fn width_mm(&self) -> f64 {
        self.draft.width_mm
    }

    /// Floor to the highest point, millimetres.
    pub fn height_mm(&self) -> f64 {
        self.draft.height_mm
    }

    /// Front axle to rear axle, millimetres.
    pub fn wheelbase_mm(&self) -> f64 {
        self.draft.wheelbase_mm
    }

    /// Front axle to front bumper, millimetres.
    pub fn front_overhang_mm(&self) -> f64 {
        self.draft.front_overhang_mm
    }

    /// Rear axle to rear bumper, millimetres; never negative.
    pub fn rear_overhang_mm(&self) -> f64 {
        (self.draft.length_mm - self.draft.wheelbase_mm - self.draft.front_overhang_mm).max(0.0)
    }

    /// Middle of the left tyre to middle of the right one, millimetres.
    pub fn track_mm(&self) -> f64 {
        self.draft.track_mm
    }

    /// The body as a rectangle in vehicle axes, counter-clockwise from the rear right corner.
    pub fn body_vehicle(&self) -> [OffsetVehicle; 4] {
        let front = self.draft.front_overhang_mm;
        let rear = front - self.draft.length_mm;
        let half = self.draft.width_mm / 2.0;
        [(rear, -half), (front, -half), (front, half), (rear, half)]
            .map(|(x_mm, y_mm)| OffsetVehicle { x_mm, y_mm })
    }

    /// Where the tyres touch the floor: front left, front right, rear left, rear right.
    pub fn wheels_vehicle(&self) -> [OffsetVehicle; 4] {
        let rear = -self.draft.wheelbase_mm;
        let half = self.draft.track_mm / 2.0;
        [(0.0, half), (0.0, -half), (rear, half), (rear, -half)]
            .map(|(x_mm, y_mm)| OffsetVehicle { x_mm, y_mm })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn saloon() -> VehicleClassDraft {
        // Invented sizes.
        VehicleClassDraft {
            id: VehicleClassId::new("saloon").unwrap(),
            length_mm: 4_600.0,
            width_mm: 1_850.0,
            height_mm: 1_450.0,
            wheelbase_mm: 2_700.0,
            front_overhang_mm: 900.0,
            track_mm: 1_560.0,
        }
    }

    #[test]
    fn the_body_reaches_from_the_front_bumper_to_the_rear_bumper() {
        let class = VehicleClass::new(saloon()).unwrap();
        let body = class.body_vehicle();
        assert_eq!(body[0], OffsetVehicle { x_mm: -3_700.0, y_mm: -925.0 });
        assert_eq!(body[2], OffsetVehicle { x_mm: 900.0, y_mm: 925.0 });
        assert_eq!(class.rear_overhang_mm().to_bits(), 1_000.0_f64.to_bits());
        assert_eq!(class.wheels_vehicle()[2], OffsetVehicle { x_mm: -2_700.0, y_mm: 780.0 });
    }

    #[rstest]
    #[case::axles_longer_than_the_body(
        VehicleClassDraft { wheelbase_mm: 3_701.0, ..saloon() }, &["wheelbase_mm"])]
    #[case::wheels_outside_the_body(
        VehicleClassDraft { track_mm: 1_850.0, ..saloon() }, &["track_mm"])]
    #[case::no_number(VehicleClassDraft { height_mm: f64::NAN, ..saloon() }, &["height_mm"])]
    #[case::metres_for_millimetres(
        VehicleClassDraft { length_mm: 4.6, ..saloon() }, &["length_mm", "wheelbase_mm"])]
    fn sizes_that_cannot_be_are_refused(#[case] draft: VehicleClassDraft, #[case] fields: &[&str]) {
        let faults = VehicleClass::new(draft).unwrap_err();
        let found: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(found, fields);
    }
}
