//! The whole system: the real service over real sockets, seen as its callers see it.
#![cfg(test)]
#![cfg(unix)]

mod busy;
#[expect(dead_code, reason = "the service's binary is found by the helpers of these tests")]
#[path = "../common/mod.rs"]
mod common;
mod concurrency;
mod day;
mod doubts;
mod every_rpc;
mod failures;
mod glass;
mod killed;
mod looking_ahead;
mod offers;
mod planning;
mod process;
mod reasons;
mod refused_fields;
mod refused_requests;
mod refused_steps;
mod replanning;
mod shop_nouns;
mod sun;
mod whole_way;
