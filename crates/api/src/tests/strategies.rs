//! Core values of every kind, as they may come, for the round trips.
#![cfg(test)]

mod definition;
mod job;
mod piece;

pub(super) use definition::{
    bay, call_rule, definition, procedure, shop, survey, technician, unit, vehicle_class,
};
pub(super) use job::{adhesive, estimate, exception, found_code, job, task, whereabouts};
