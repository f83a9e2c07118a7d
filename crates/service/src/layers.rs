//! What stands between the wire and the handlers.
//!
//! From outside in: [`panic_layer`] turns a panic into INTERNAL, [`DeadlineLayer`] ends a call whose
//! deadline has passed. The transport's own answers would be CANCELLED for both.

mod deadline;
mod panic;

pub(crate) use deadline::deadline_asked;
pub use deadline::{Deadline, DeadlineLayer};
pub use panic::{PanicResponse, panic_layer};
