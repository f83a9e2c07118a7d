//! What baywright decides: pure functions and types, without input, output, clock or database.

pub mod calendar;
pub mod demand;
pub mod fault;
pub mod ids;
pub mod vin;
