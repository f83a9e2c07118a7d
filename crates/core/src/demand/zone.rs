//! A region fixed to the vehicle, and what it asks of the bay.
//!
//! Each vertex is an offset from a datum of the vehicle, so one procedure serves vehicles of any
//! size. What shape comes out is checked once more for each vehicle: [`Zone::shape_for`].

use crate::axes::{OffsetVehicle, PoseFloor};
use crate::demand::kinds::kinds;
use crate::demand::{VehicleClass, ZoneNeed};
use crate::draft_checks::at_most;
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::ZoneId;
use crate::region::Polygon;

/// The most vertices that a zone has.
pub const ZONE_VERTICES_MAX: usize = 100;
/// The most needs that a zone has.
pub const ZONE_NEEDS_MAX: usize = 20;
/// The farthest that a vertex lies from its datum along an axis, millimetres.
pub const ZONE_OFFSET_MM_MAX: f64 = 50_000.0;

kinds! {
    /// Where a zone's x is counted from; positive is forward.
    XDatum ("x_from") {
        /// The foremost point of the body.
        FrontBumper = "front-bumper",
        /// The middle of the front axle.
        FrontAxle = "front-axle",
        /// The middle of the rear axle.
        RearAxle = "rear-axle",
        /// The rearmost point of the body.
        RearBumper = "rear-bumper",
    }

    /// Where a zone's y is counted from; positive is to the left.
    YDatum ("y_from") {
        /// The middle of the body.
        Centreline = "centreline",
        /// The left side of the body.
        LeftSide = "left-side",
        /// The right side of the body.
        RightSide = "right-side",
    }
}

impl XDatum {
    /// Where the datum lies in vehicle axes, millimetres.
    pub fn x_vehicle_mm(self, vehicle: &VehicleClass) -> f64 {
        match self {
            Self::FrontBumper => vehicle.front_overhang_mm(),
            Self::FrontAxle => 0.0,
            Self::RearAxle => -vehicle.wheelbase_mm(),
            Self::RearBumper => vehicle.front_overhang_mm() - vehicle.length_mm(),
        }
    }
}

impl YDatum {
    /// Where the datum lies in vehicle axes, millimetres.
    pub fn y_vehicle_mm(self, vehicle: &VehicleClass) -> f64 {
        match self {
            Self::Centreline => 0.0,
            Self::LeftSide => vehicle.width_mm() / 2.0,
            Self::RightSide => -vehicle.width_mm() / 2.0,
        }
    }
}

/// One corner of a zone: an offset from two datums of the vehicle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneVertex {
    /// Where x is counted from.
    pub x_from: XDatum,
    /// Forward of the datum, millimetres.
    pub x_mm: f64,
    /// Where y is counted from.
    pub y_from: YDatum,
    /// To the left of the datum, millimetres.
    pub y_mm: f64,
}

impl ZoneVertex {
    /// Where the corner lies for a vehicle.
    pub fn offset_vehicle(&self, vehicle: &VehicleClass) -> OffsetVehicle {
        OffsetVehicle {
            x_mm: self.x_from.x_vehicle_mm(vehicle) + self.x_mm,
            y_mm: self.y_from.y_vehicle_mm(vehicle) + self.y_mm,
        }
    }
}

/// A zone as it was given, not yet checked.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneDraft {
    /// Its name, unique within the method.
    pub id: ZoneId,
    /// Its corners in order, either way round; 3 to [`ZONE_VERTICES_MAX`].
    pub outline: Vec<ZoneVertex>,
    /// What it asks of the bay; 1 to [`ZONE_NEEDS_MAX`].
    pub needs: Vec<ZoneNeed>,
}

/// A region fixed to the vehicle, and what it asks of the bay.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    draft: ZoneDraft,
}

/// The shape that a zone takes for one vehicle: a simple polygon in vehicle axes.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneShape {
    vertices_vehicle: Vec<OffsetVehicle>,
}

impl Zone {
    /// Checks and takes a zone.
    ///
    /// # Errors
    /// A fault for too few or too many vertices or needs, for each offset beyond
    /// [`ZONE_OFFSET_MM_MAX`] and for each figure of a need outside its range.
    pub fn new(draft: ZoneDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        at_most(&mut faults, "outline", draft.outline.len(), ZONE_VERTICES_MAX);
        if draft.outline.len() < 3 {
            faults.push(Fault::new(
                "outline",
                format!("a list of {}", draft.outline.len()),
                "have at least 3 vertices",
                "give every corner of the zone",
            ));
        }
        let most = ZONE_OFFSET_MM_MAX;
        for (at, vertex) in draft.outline.iter().enumerate() {
            faults.number_within(&format!("outline[{at}].x_mm"), vertex.x_mm, -most, most, "mm");
            faults.number_within(&format!("outline[{at}].y_mm"), vertex.y_mm, -most, most, "mm");
        }
        at_most(&mut faults, "needs", draft.needs.len(), ZONE_NEEDS_MAX);
        if draft.needs.is_empty() {
            faults.push(Fault::new(
                "needs",
                "empty",
                "hold at least one need",
                "say what the zone asks of the bay, or leave the zone out",
            ));
        }
        for (at, need) in draft.needs.iter().enumerate() {
            let _checked: Option<()> = faults.take(&format!("needs[{at}]"), need.check());
        }
        faults.finish(Self { draft })
    }

    /// Its name.
    pub fn id(&self) -> &ZoneId {
        &self.draft.id
    }

    /// Its corners, in the order given.
    pub fn outline(&self) -> &[ZoneVertex] {
        &self.draft.outline
    }

    /// What it asks of the bay; at least one.
    pub fn needs(&self) -> &[ZoneNeed] {
        &self.draft.needs
    }

    /// The shape of the zone for one vehicle.
    ///
    /// # Errors
    /// A fault of the field `outline` when, for this vehicle, corners coincide, edges cross or
    /// touch, or the zone has no area.
    pub fn shape_for(&self, vehicle: &VehicleClass) -> Result<ZoneShape, Faults> {
        let vertices_vehicle: Vec<_> =
            self.draft.outline.iter().map(|vertex| vertex.offset_vehicle(vehicle)).collect();
        let outline_mm: Vec<_> =
            vertices_vehicle.iter().map(|offset| (offset.x_mm, offset.y_mm)).collect();
        let mut faults = FaultList::new();
        let _polygon: Option<Polygon> = faults.take("outline", Polygon::new(&outline_mm));
        faults.finish(ZoneShape { vertices_vehicle })
    }
}

impl ZoneShape {
    /// The body of a vehicle as a shape.
    pub fn of_body(vehicle: &VehicleClass) -> Self {
        Self { vertices_vehicle: vehicle.body_vehicle().to_vec() }
    }

    /// The corners in vehicle axes, in the order of the zone's outline.
    pub fn vertices_vehicle(&self) -> &[OffsetVehicle] {
        &self.vertices_vehicle
    }

    /// The shape where it lies on the floor when the vehicle stands at a pose.
    pub fn placed(&self, pose: &PoseFloor) -> Polygon {
        // Turning and moving keep a simple polygon simple.
        Polygon::from_simple(
            self.vertices_vehicle.iter().map(|offset| pose.to_floor(*offset)).collect(),
        )
    }
}
