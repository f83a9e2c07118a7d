//! The use cases: each opens one transaction, loads, asks the core, stores.
//!
//! The clock is read and the request id checked here and nowhere else. Work that must wait, such as
//! fits and the search for a plan, happens outside of the transaction.

mod change_job;
mod day_changes;
mod known_shop;
mod page;
mod record_evidence;
mod record_interruptions;
mod run_check;
mod told;
mod work_holding;
mod write_request;

pub mod arrivals;
pub mod audit;
pub mod cancelling;
pub mod day;
pub mod decisions;
pub mod doubts;
pub mod drawings;
pub mod estimates;
mod fit_details;
pub mod fits;
pub mod forecast;
pub mod gain;
pub mod hand_back;
pub mod hand_over;
pub mod holdings;
pub mod housekeeping;
pub mod jobs;
pub mod offers;
pub mod plans;
pub mod prerequisites;
pub mod pull;
pub mod reasons;
pub mod record_chain;
pub mod records;
pub mod roads;
pub mod shops;
pub mod sublets;
pub mod surveys;
pub mod turned_away;
pub mod update_job;
pub mod watch;
pub mod work_end;
pub mod work_pause;
pub mod work_phase;
pub mod work_start;

#[cfg(test)]
mod tests;
