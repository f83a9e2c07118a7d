//! The use cases on a database of their own, without a socket: transitions, and every refusal.

mod cancelling;
mod fits;
mod offers;
mod requests;
mod shop;
mod still_counts;
mod sublets;
mod sun;
mod supplements;
mod transitions;
mod work;
