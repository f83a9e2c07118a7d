//! The contract's generated messages and stubs, and conversions to and from the core.
//!
//! Into the core: `Bay::try_from(&message)`, or a function where something else is needed; every
//! fault of the message is noted, each under its path in the contract's field names. Out of the
//! core: `v1::Bay::from(&bay)`. What was written is read back as the same.
//!
//! # Example: a vehicle class with two faults
//! ```
//! use baywright_api::v1;
//! use baywright_core::demand::VehicleClass;
//!
//! let message = v1::VehicleClass {
//!     vehicle_class_id: "small car".to_owned(),
//!     length_mm: 4_000.0,
//!     width_mm: 1_700.0,
//!     height_mm: f64::NAN,
//!     wheelbase_mm: 2_500.0,
//!     front_overhang_mm: 800.0,
//!     track_mm: 1_500.0,
//! };
//! let faults = VehicleClass::try_from(&message).unwrap_err();
//! let fields: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
//! assert_eq!(fields, ["vehicle_class_id", "height_mm"]);
//! ```

#![allow(
    clippy::unnecessary_wraps,
    reason = "every reader of a message has one shape, so that lists and outer messages can call it"
)]

pub mod adhesive;
mod bay;
pub mod call_rule;
pub mod day;
mod estimate;
pub mod fit;
pub mod forecast;
pub mod front;
pub mod gain;
pub mod hand_back;
mod hours;
pub mod job;
pub mod kinds;
pub mod offer;
pub mod plan;
mod prerequisite;
pub mod procedure;
pub mod readiness;
mod reading;
mod reasons;
pub mod road;
mod room;
pub mod shop;
pub mod sun;
mod survey;
mod task;
pub mod technician;
pub mod time;
mod unit;
pub mod v1;
mod vehicle_class;
pub mod what_if;

/// The contract as an encoded `google.protobuf.FileDescriptorSet`, without comments: for server
/// reflection and for writing messages as JSON.
pub const CONTRACT_DESCRIPTOR_SET: &[u8] =
    include_bytes!(concat!(env!("OUT_DIR"), "/contract.binpb"));

#[cfg(test)]
mod tests;
