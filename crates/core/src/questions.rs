//! The questions asked all day: whom to chase, what will be late, which bay is free, what runs out,
//! what can be promised.
//!
//! Each is a pure function of the shop's state at an instant.

mod chase;
mod expiry;
mod finish;
mod free_place;
mod offer;

pub use chase::{Chase, ChaseItem, chases};
pub use expiry::{Expiring, ExpiringKind, expiring};
pub use finish::{ProjectedFinish, projected_finishes};
pub use free_place::{FreePlace, FreePlaceAsked, free_places};
pub use offer::{
    HeldOffer, OfferAsked, OfferError, Offering, PricedPromise, Promise, offer,
    reserved_assignments, reserved_jobs,
};

#[cfg(test)]
mod tests;
