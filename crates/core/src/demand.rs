//! Demand: what a piece of work asks of vehicle, floor, light, equipment and people.
//!
//! A [`Procedure`] is what one calibration demands, written down by the shop from the vehicle
//! maker's document. It has [`Method`]s, and each of these has [`Zone`]s fixed to the vehicle with
//! [`ZoneNeed`]s. A [`VehicleClass`] gives the sizes that turn a zone into a shape.

pub(crate) mod kinds;
mod method;
mod need;
mod procedure;
mod sun;
mod vehicle_class;
mod zone;

pub use kinds::{PrerequisiteKind, SensorFamily, TaskKind, WorkPlace};
pub use method::{
    EQUIPMENT_MAX, METHOD_MINUTES_MAX, Method, MethodDraft, MethodMinutes, MethodMinutesDraft,
    ROLES_MAX, ZONES_MAX,
};
pub use need::{LevelTerms, LightNeed, LightPlane, LightTerms, ZoneNeed};
pub use procedure::{
    DocumentRef, METHODS_MAX, Procedure, ProcedureDraft, START_CHECKS_MAX, StartCheck,
};
pub use sun::{SUN_FREE_VIEWS_MAX, SunDemand, SunFreeView};
pub use vehicle_class::{VehicleClass, VehicleClassDraft};
pub use zone::{
    XDatum, YDatum, ZONE_NEEDS_MAX, ZONE_OFFSET_MM_MAX, ZONE_VERTICES_MAX, Zone, ZoneDraft,
    ZoneShape, ZoneVertex,
};

#[cfg(test)]
mod tests;
