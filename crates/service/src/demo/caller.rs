//! The demonstration's side of the socket: each call of the contract that it makes, with a request
//! id of its own.

mod definitions;
mod jobs;
mod questions;
mod work;

pub(super) use jobs::Sent;
pub(super) use work::adhesive_set;

use super::{DemoError, SHOP_ID};
use std::net::SocketAddr;
use tonic::{
    Response, Status,
    transport::{Channel, Endpoint},
};
use uuid::Uuid;

/// Who acts in the demonstration, as the audit trail shows it.
const ACTOR: &str = "demo";

/// The most pages that are read of one list.
const PAGES_MAX: usize = 20;

/// A connection to the service.
#[derive(Debug)]
pub(super) struct Caller(Channel);

impl Caller {
    /// Connects to the address.
    pub(super) async fn connect(address: SocketAddr) -> Result<Self, DemoError> {
        let endpoint = Endpoint::from_shared(format!("http://{address}"))?;
        Ok(Self(endpoint.connect().await?))
    }

    fn channel(&self) -> Channel {
        self.0.clone()
    }
}

fn answered<T>(what: &str, answer: Result<Response<T>, Status>) -> Result<T, DemoError> {
    answer.map(Response::into_inner).map_err(|status| refused(what, &status))
}

/// A refusal of what was to be taken.
pub(super) fn refused(what: &str, status: &Status) -> DemoError {
    DemoError::Refused { what: what.to_owned(), sentence: status.message().to_owned() }
}

fn shop_id() -> String {
    SHOP_ID.to_owned()
}

fn actor() -> String {
    ACTOR.to_owned()
}

fn request_id() -> String {
    Uuid::now_v7().to_string()
}
