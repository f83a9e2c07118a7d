//! The use cases on a database of their own, without a socket: transitions, and every refusal.

mod cancelling;
mod offers;
mod requests;
mod shop;
mod still_counts;
mod sublets;
mod supplements;
mod transitions;
mod work;
