//! A handler that panics answers INTERNAL with an incident id; the connection lives on.

use crate::error::ServiceError;
use std::any::Any;
use tonic::{Status, body::Body, codegen::http::Response};
use tower_http::catch_panic::{CatchPanicLayer, ResponseForPanic};

/// The layer.
pub fn panic_layer() -> CatchPanicLayer<PanicResponse> {
    CatchPanicLayer::custom(PanicResponse)
}

/// Answers a panic.
#[derive(Debug, Clone, Copy)]
pub struct PanicResponse;

impl ResponseForPanic for PanicResponse {
    type ResponseBody = Body;

    fn response_for_panic(&mut self, panic: Box<dyn Any + Send + 'static>) -> Response<Body> {
        let said = panic
            .downcast_ref::<&str>()
            .map(|text| (*text).to_owned())
            .or_else(|| panic.downcast_ref::<String>().cloned())
            .unwrap_or_else(|| "no text".to_owned());
        Status::from(ServiceError::internal(format!("a handler panicked: {said}"))).into_http()
    }
}
