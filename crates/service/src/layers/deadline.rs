//! A call ends at its deadline with `DEADLINE_EXCEEDED`: at what the caller asked for in
//! `grpc-timeout`, and at [`crate::limits::DEADLINE_MAX`] at the latest.
//!
//! The transport has a timer of its own for `grpc-timeout`, which answers CANCELLED. This one
//! starts first and is asked first, so it wins. It guards the time until an answer begins; a stream
//! watches its own deadline.
//!
//! # Source
//! gRPC over HTTP2, "Requests": `Timeout` is at most eight digits and a unit.

use crate::error::ServiceError;
use std::{
    pin::Pin,
    task::{Context, Poll},
    time::Duration,
};
use tonic::{
    Status,
    body::Body,
    codegen::http::{HeaderMap, Request, Response},
};
use tower::{Layer, Service};

/// Puts a deadline on every call.
#[derive(Debug, Clone, Copy)]
pub struct DeadlineLayer {
    longest: Duration,
}

impl DeadlineLayer {
    /// No call takes longer than `longest`.
    pub const fn new(longest: Duration) -> Self {
        Self { longest }
    }
}

impl<S> Layer<S> for DeadlineLayer {
    type Service = Deadline<S>;

    fn layer(&self, inner: S) -> Self::Service {
        Deadline { inner, longest: self.longest }
    }
}

/// A service with a deadline on every call.
#[derive(Debug, Clone)]
pub struct Deadline<S> {
    inner: S,
    longest: Duration,
}

impl<S> Service<Request<Body>> for Deadline<S>
where
    S: Service<Request<Body>, Response = Response<Body>>,
    S::Future: Send + 'static,
{
    type Response = Response<Body>;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Result<Response<Body>, S::Error>> + Send>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request<Body>) -> Self::Future {
        let asked = deadline_asked(request.headers()).unwrap_or(self.longest);
        // Made here and not in the future: it must run before the transport's own timer.
        let deadline = tokio::time::sleep(asked.min(self.longest));
        let answer = self.inner.call(request);
        Box::pin(async move {
            tokio::select! {
                biased;
                answer = answer => answer,
                () = deadline => Ok(Status::from(ServiceError::DeadlineExceeded).into_http()),
            }
        })
    }
}

/// The time that the caller allows; none where it says nothing that can be read.
pub(crate) fn deadline_asked(headers: &HeaderMap) -> Option<Duration> {
    let text = headers.get("grpc-timeout")?.to_str().ok()?;
    let (digits, unit) = text.split_at_checked(text.len().checked_sub(1)?)?;
    if digits.is_empty() || digits.len() > 8 || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let count: u64 = digits.parse().ok()?;
    match unit {
        "H" => Some(Duration::from_secs(count * 3_600)),
        "M" => Some(Duration::from_secs(count * 60)),
        "S" => Some(Duration::from_secs(count)),
        "m" => Some(Duration::from_millis(count)),
        "u" => Some(Duration::from_micros(count)),
        "n" => Some(Duration::from_nanos(count)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;
    use std::{convert::Infallible, future::pending};
    use tonic::Code;
    use tower::{ServiceExt as _, service_fn};

    #[rstest]
    // gRPC over HTTP2, "Requests": Timeout -> TimeoutValue TimeoutUnit.
    #[case::hours("2H", Some(Duration::from_hours(2)))]
    #[case::minutes("3M", Some(Duration::from_mins(3)))]
    #[case::seconds("10S", Some(Duration::from_secs(10)))]
    #[case::milliseconds("250m", Some(Duration::from_millis(250)))]
    #[case::microseconds("7u", Some(Duration::from_micros(7)))]
    #[case::nanoseconds("99999999n", Some(Duration::from_nanos(99_999_999)))]
    #[case::nine_digits("123456789S", None)]
    #[case::no_digits("S", None)]
    #[case::no_unit("12", None)]
    #[case::a_sign("+1S", None)]
    #[case::empty("", None)]
    fn a_timeout_is_digits_and_a_unit(#[case] text: &str, #[case] expected: Option<Duration>) {
        let mut headers = HeaderMap::new();
        headers.insert("grpc-timeout", text.parse().unwrap());
        assert_eq!(deadline_asked(&headers), expected);
    }

    #[rstest]
    #[case::the_callers(Some("5m"), Duration::from_mins(1))]
    #[case::the_services_when_the_caller_asks_for_more(Some("1H"), Duration::from_millis(5))]
    #[case::the_services_when_the_caller_says_nothing(None, Duration::from_millis(5))]
    #[tokio::test]
    async fn a_call_ends_at_the_shorter_deadline(
        #[case] asked: Option<&str>,
        #[case] longest: Duration,
    ) {
        let never = service_fn(|_: Request<Body>| pending::<Result<Response<Body>, Infallible>>());
        let mut request = Request::new(Body::empty());
        if let Some(asked) = asked {
            request.headers_mut().insert("grpc-timeout", asked.parse().unwrap());
        }

        let answer = DeadlineLayer::new(longest).layer(never).oneshot(request).await.unwrap();

        let status = Status::from_header_map(answer.headers()).unwrap();
        assert_eq!(status.code(), Code::DeadlineExceeded);
    }
}
