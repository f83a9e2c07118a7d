//! What baywright decides: pure functions and types, without input, output, clock or database.

pub mod axes;
pub mod calendar;
pub mod daylight;
pub mod demand;
mod draft_checks;
pub mod drawing;
#[cfg(test)]
mod example_shop;
pub mod fault;
pub mod fit;
pub mod floor;
pub mod forecast;
pub mod gain;
pub mod ids;
pub mod planner;
pub mod questions;
pub mod readiness;
pub mod region;
pub mod run_times;
pub mod shop;
pub mod shop_day;
pub mod survey;
pub mod vin;
pub mod work;
