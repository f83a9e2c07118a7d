//! One invocation's talk with the service: address, shop, actor, request id, and calls that are
//! repeated, with the same request id, while the service is unavailable.

use crate::arguments::Global;
use crate::clock::ShopClock;
use crate::failure::Failure;
use crate::refusal;
use baywright_api::v1::GetShopRequest;
use baywright_api::v1::shop_service_client::ShopServiceClient;
use std::error::Error as _;
use std::time::Duration;
use tonic::transport::{Channel, Endpoint};
use tonic::{Code, Request, Response, Status, Streaming};
use uuid::Uuid;

/// How often a call is tried in all.
const TRIES: u32 = 4;
/// The pause after the first try; it doubles after each.
const FIRST_PAUSE: Duration = Duration::from_millis(150);
/// How long a connection may take.
const CONNECT_LIMIT: Duration = Duration::from_secs(5);
/// How often a connection in use is asked whether it still lives.
const KEEPALIVE_INTERVAL: Duration = Duration::from_secs(30);
/// How long the answer to that may take.
const KEEPALIVE_LIMIT: Duration = Duration::from_secs(10);
/// How long an answer may take; making a plan takes longest.
const ANSWER_LIMIT: Duration = Duration::from_mins(3);

/// Why a stream did not open or ended.
#[derive(Debug)]
pub(crate) struct Fault {
    /// Whether it is worth while to try again.
    pub(crate) passes: bool,
    pub(crate) failure: Failure,
}

/// Everything that a command needs for its calls.
#[derive(Debug)]
pub(crate) struct Session {
    server: String,
    channel: Channel,
    shop: Option<String>,
    pub(crate) actor: String,
    request_id: Uuid,
    request_id_given: bool,
    pub(crate) json: bool,
}

impl Session {
    pub(crate) fn new(global: &Global) -> Result<Self, Failure> {
        let endpoint = Endpoint::from_shared(global.server.clone()).map_err(|error| {
            Failure::usage(
                format!("--server is \"{}\"; it must be an address: {error}.", global.server),
                "write it as http://127.0.0.1:7420.",
            )
        })?;
        Ok(Self {
            server: global.server.clone(),
            channel: endpoint
                .connect_timeout(CONNECT_LIMIT)
                .http2_keep_alive_interval(KEEPALIVE_INTERVAL)
                .keep_alive_timeout(KEEPALIVE_LIMIT)
                .connect_lazy(),
            shop: global.shop.clone(),
            actor: global.actor(),
            request_id: global.request_id.unwrap_or_else(Uuid::new_v4),
            request_id_given: global.request_id.is_some(),
            json: global.json,
        })
    }

    /// The shop that was named.
    pub(crate) fn shop(&self) -> Result<String, Failure> {
        self.shop.clone().ok_or_else(|| {
            Failure::usage("no shop was named.", "name it with --shop ID or BAYWRIGHT_SHOP.")
        })
    }

    /// The request id of this invocation's write.
    pub(crate) fn request_id(&self) -> String {
        self.request_id.to_string()
    }

    /// A request id for one of several writes of this invocation.
    ///
    /// # Errors
    /// Where one request id was given for more than one write.
    pub(crate) fn request_id_of(&self, count: usize) -> Result<String, Failure> {
        if count <= 1 {
            return Ok(self.request_id());
        }
        if self.request_id_given {
            return Err(Failure::usage(
                format!("--request-id was given for {count} requests; each has its own."),
                "send one file at a time, or leave --request-id out.",
            ));
        }
        Ok(Uuid::new_v4().to_string())
    }

    /// The shop's own clock, for local times.
    pub(crate) async fn clock(&self) -> Result<ShopClock, Failure> {
        self.clock_of(self.shop()?).await
    }

    /// The clock of a shop that need not be the one named.
    pub(crate) async fn clock_of(&self, shop_id: String) -> Result<ShopClock, Failure> {
        let reply = self
            .call(GetShopRequest { shop_id }, async |channel, request| {
                ShopServiceClient::new(channel).get_shop(request).await
            })
            .await?;
        let shop = reply.definition.and_then(|definition| definition.shop).unwrap_or_default();
        ShopClock::new(&shop.time_zone)
    }

    /// Makes a call, and repeats it unchanged while the service is unavailable.
    pub(crate) async fn call<Q, R, F>(&self, message: Q, send: F) -> Result<R, Failure>
    where
        Q: Clone,
        F: AsyncFn(Channel, Request<Q>) -> Result<Response<R>, Status>,
    {
        let mut pause = FIRST_PAUSE;
        for tries_left in (0..TRIES).rev() {
            let mut request = Request::new(message.clone());
            request.set_timeout(ANSWER_LIMIT);
            match send(self.channel.clone(), request).await {
                Ok(response) => return Ok(response.into_inner()),
                Err(status) if may_repeat(&status) && tries_left > 0 => {
                    tokio::time::sleep(pause).await;
                    pause *= 2;
                }
                Err(status) => return Err(self.failure(status)),
            }
        }
        Err(self.failure(Status::unavailable("no answer")))
    }

    /// Opens a stream, once and without a deadline. Whether a fault of it passes by itself, and what
    /// it is otherwise.
    pub(crate) async fn open<Q, R, F>(&self, message: Q, send: F) -> Result<R, Fault>
    where
        F: AsyncFn(Channel, Request<Q>) -> Result<Response<R>, Status>,
    {
        match send(self.channel.clone(), Request::new(message)).await {
            Ok(response) => Ok(response.into_inner()),
            Err(status) => Err(self.fault(status)),
        }
    }

    /// Hears a stream that ends by itself, item by item; it is opened again, with the same request, while
    /// the service is unavailable.
    pub(crate) async fn hear<Q, I, F>(
        &self,
        message: Q,
        send: F,
        mut heard: impl FnMut(I),
    ) -> Result<(), Failure>
    where
        Q: Clone,
        F: AsyncFn(Channel, Request<Q>) -> Result<Response<Streaming<I>>, Status>,
    {
        let mut pause = FIRST_PAUSE;
        for tries_left in (0..TRIES).rev() {
            let opened = send(self.channel.clone(), Request::new(message.clone())).await;
            let status = match opened.map(Response::into_inner) {
                Ok(mut items) => loop {
                    match items.message().await {
                        Ok(Some(item)) => heard(item),
                        Ok(None) => return Ok(()),
                        Err(status) => break status,
                    }
                },
                Err(status) => status,
            };
            if !may_repeat(&status) || tries_left == 0 {
                return Err(self.failure(status));
            }
            tokio::time::sleep(pause).await;
            pause *= 2;
        }
        Err(self.failure(Status::unavailable("no answer")))
    }

    /// What a status of a stream comes to.
    pub(crate) fn fault(&self, status: Status) -> Fault {
        Fault { passes: may_repeat(&status), failure: self.failure(status) }
    }

    fn failure(&self, status: Status) -> Failure {
        let unreached = (status.code() == Code::Unavailable || status.source().is_some())
            && !refusal::has_reason(&status);
        // The transport's own word for an answer that came too late.
        let too_late = status.code() == Code::Cancelled && status.message() == "Timeout expired";
        if !unreached && !too_late {
            return Failure::Refused(Box::new(status));
        }
        let cause = if too_late {
            format!(
                "no answer within {} seconds; a write may have taken effect, request id {}",
                ANSWER_LIMIT.as_secs(),
                self.request_id
            )
        } else {
            innermost_cause(&status)
        };
        Failure::Unreachable { server: self.server.clone(), cause }
    }
}

/// Reads and writes may be repeated alike: a write carries its request id.
fn may_repeat(status: &Status) -> bool {
    let transport_fault = status.source().is_some() && !refusal::has_reason(status);
    status.code() == Code::Unavailable || transport_fault
}

fn innermost_cause(status: &Status) -> String {
    let mut cause = status.message().to_owned();
    let mut source = status.source();
    while let Some(error) = source {
        cause = error.to_string();
        source = error.source();
    }
    cause
}
