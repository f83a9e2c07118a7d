//! The words by which a holder names what is held; the fencing number is looked up where it is
//! left out.

use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::work_service_client::WorkServiceClient;
use baywright_api::v1::{Holding, HoldingKey, ListHoldingsRequest};
use clap::Args;

/// A held task and its holder.
#[derive(Debug, Args)]
pub(crate) struct HeldTask {
    /// The job.
    job: String,
    /// The task.
    task: String,
    /// The technician who holds it.
    #[arg(long, value_name = "ID")]
    technician: String,
    /// The holding's fencing number; by default that of what the technician holds now.
    #[arg(long, value_name = "N")]
    fence: Option<u64>,
}

impl HeldTask {
    /// The holder's word for which holding is meant.
    pub(crate) async fn key(&self, session: &Session) -> Result<HoldingKey, Failure> {
        let fence = match self.fence {
            Some(fence) => fence,
            None => self.holding(session).await?.fence,
        };
        Ok(HoldingKey {
            job_id: self.job.clone(),
            task_id: self.task.clone(),
            technician_id: self.technician.clone(),
            fence,
        })
    }

    /// The holding itself.
    pub(crate) async fn holding(&self, session: &Session) -> Result<Holding, Failure> {
        let request = ListHoldingsRequest {
            shop_id: session.shop()?,
            technician_id: self.technician.clone(),
        };
        let reply = session
            .call(request, async |channel, request| {
                WorkServiceClient::new(channel).list_holdings(request).await
            })
            .await?;
        reply
            .holdings
            .into_iter()
            .find(|holding| holding.job_id == self.job && holding.task_id == self.task)
            .ok_or_else(|| Failure::NotHeld {
                technician: self.technician.clone(),
                job: self.job.clone(),
                task: self.task.clone(),
            })
    }
}
