//! The baywright service: storage, use cases and gRPC handlers.
//!
//! A handler converts, calls one use case and converts back. A use case opens one transaction,
//! loads, asks the core, stores. Storage holds every query. The core decides; nothing else does.

pub mod app;
pub mod caution;
pub mod clock;
pub mod command;
pub mod demo;
pub mod error;
pub mod handlers;
pub mod layers;
pub mod limits;
mod off_thread;
pub mod serve;
pub mod snapshot;
pub mod storage;
pub mod things;
pub mod use_cases;
