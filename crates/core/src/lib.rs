//! What baywright decides: pure functions and types, without input, output, clock or database.

pub mod demand;
pub mod fault;
pub mod ids;
pub mod planner;
