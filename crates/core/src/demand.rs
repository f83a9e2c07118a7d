//! Demand: what a piece of work asks of vehicle, floor, light, equipment and people.

mod kinds;

pub use kinds::{PrerequisiteKind, SensorFamily, TaskKind, WorkPlace};
