//! The running service with its callers: what the whole-system tests share.
//!
//! Each test starts the real binary on its own database and port and talks to it over a socket.
//! The service's clock begins where the test says and runs on; a service that is started again with
//! a later beginning makes time pass, because the database is kept.
#![expect(
    clippy::unwrap_used,
    clippy::panic,
    clippy::missing_panics_doc,
    clippy::missing_errors_doc,
    reason = "it serves tests alone: trouble ends the test at once, and every refusal is a status"
)]

mod binary;
mod caller;
mod calls;
mod refusal;
mod running;
mod shop;

pub use caller::{Caller, key_of, new_request_id, yes_to_all};
pub use calls::Request;
pub use refusal::{Refusal, refused};
pub use running::TestService;
pub use shop::{
    BOTH, SHOP, START, adhesive, at, definition, definition_of_radars, definition_with_bays,
    estimate, survey, time,
};
