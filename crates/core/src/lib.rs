//! What baywright decides: pure functions and types, without input, output, clock or database.

pub mod axes;
pub mod demand;
mod draft_checks;
pub mod fault;
pub mod fit;
pub mod floor;
pub mod ids;
pub mod planner;
pub mod region;
pub mod survey;
