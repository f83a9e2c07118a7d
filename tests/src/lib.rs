//! Whole-system checks: the plans' referee and a generator of planning problems.

pub mod generator;
pub mod referee;
