//! Messages, clients and servers of `baywright.v1`, as generated from the contract.
#![allow(
    missing_docs,
    unused_qualifications,
    clippy::all,
    clippy::nursery,
    clippy::pedantic,
    clippy::nursery,
    clippy::restriction,
    rustdoc::all,
    reason = "generated from the contract"
)]

tonic::include_proto!("baywright.v1");
