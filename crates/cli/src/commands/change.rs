//! `change`: changes what was said about a visit.

use super::print_job;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::job_service_client::JobServiceClient;
use baywright_api::v1::{ArrivalKind, GetJobRequest, UpdateJobRequest};
use baywright_files::words::Word as _;
use clap::Args;

/// Change what was said about a visit, such as its promise.
///
/// The job is read first and its etag sent along, so that no change of somebody else is lost.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo change J-1001 --promise '2026-05-06 12:00'"
)]
pub(crate) struct Change {
    /// The job.
    job: String,
    #[command(flatten)]
    what: What,
}

#[derive(Debug, Args)]
#[group(required = true, multiple = true)]
struct What {
    /// Hand-back time that is promised now, in the shop's time or after RFC 3339.
    #[arg(long, value_name = "TIME")]
    promise: Option<String>,
    /// When the vehicle is expected; only while it is expected.
    #[arg(long, value_name = "TIME")]
    expected: Option<String>,
    /// How it comes.
    #[arg(long, value_parser = ["waiting", "drop-off", "tow-in"])]
    arrival: Option<String>,
    /// Weight of the promise, 1 to 100.
    #[arg(long, value_name = "NUMBER")]
    weight: Option<u32>,
    /// Vehicle identification number.
    #[arg(long, value_name = "VIN")]
    vin: Option<String>,
}

impl Change {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let shop_id = session.shop()?;
        let read = GetJobRequest { shop_id: shop_id.clone(), job_id: self.job.clone() };
        let job = session
            .call(read, async |channel, request| {
                JobServiceClient::new(channel).get_job(request).await
            })
            .await?;
        let What { promise, expected, arrival, weight, vin } = self.what;
        let mut paths = Vec::new();
        let mut time = async |path: &str, option: &str, text: Option<&String>| {
            let Some(text) = text else { return Ok::<_, Failure>(None) };
            paths.push(path.to_owned());
            Ok(Some(session.clock().await?.read(option, text)?))
        };
        let promise_time = time("promise_time", "--promise", promise.as_ref()).await?;
        let expected_arrival_time =
            time("expected_arrival_time", "--expected", expected.as_ref()).await?;
        for (path, given) in
            [("arrival", arrival.is_some()), ("weight", weight.is_some()), ("vin", vin.is_some())]
        {
            if given {
                paths.push(path.to_owned());
            }
        }
        let arrival = arrival.and_then(|word| ArrivalKind::from_word(&word));
        let request = UpdateJobRequest {
            shop_id,
            job_id: self.job,
            update_mask: Some(prost_types::FieldMask { paths }),
            promise_time,
            expected_arrival_time,
            arrival: arrival.map_or(0, Into::into),
            weight: weight.unwrap_or_default(),
            vin: vin.unwrap_or_default(),
            request_id: session.request_id(),
            actor: session.actor.clone(),
            etag: job.job.map(|job| job.etag).unwrap_or_default(),
        };
        let reply = session
            .call(request, async |channel, request| {
                JobServiceClient::new(channel).update_job(request).await
            })
            .await?;
        print_job(session, "UpdateJobResponse", &reply, reply.job.as_ref()).await
    }
}
