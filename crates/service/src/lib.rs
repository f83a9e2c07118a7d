//!
//! A handler converts, calls one use case and converts back. A use case opens one transaction,
//! loads, asks the core, stores. Storage holds every query. The core decides; nothing else does.

pub mod app;
pub mod clock;
pub mod error;
pub mod limits;
pub mod storage;
