//! The whole system: the real service over real sockets, seen as its callers see it.
#![cfg(test)]
#![cfg(unix)]

mod busy;
mod concurrency;
mod day;
mod doubts;
mod every_rpc;
mod failures;
mod glass;
mod killed;
mod offers;
mod process;
mod reasons;
mod refused_fields;
mod refused_requests;
mod refused_steps;
mod shop_nouns;
mod sun;
mod whole_way;
