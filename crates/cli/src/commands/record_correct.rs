//! `record-correct`: corrects a conditions record by a new one.

use super::print_record;
use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::record_service_client::RecordServiceClient;
use baywright_api::v1::{CorrectRecordRequest, EvidenceSource, EvidenceStatement};
use clap::Args;

/// Correct a conditions record by a new one that names it; the old one stays.
///
/// A correction changes no task: where the work itself is in doubt, redo it.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo record-correct 17 --reason 'read on the wrong gauge' \\\n    \
    --told prerequisite='Tyres 2.4 bar, all four.'"
)]
pub(crate) struct RecordCorrect {
    /// Number of the record.
    number: u64,
    /// Why it is wrong.
    #[arg(long, value_name = "TEXT")]
    reason: String,
    /// What a person says is right instead, with what it is about; may be repeated.
    #[arg(long, value_name = "SUBJECT=SENTENCE", required_unless_present = "measured")]
    told: Vec<String>,
    /// What was measured instead, with what it is about; may be repeated.
    #[arg(long, value_name = "SUBJECT=SENTENCE")]
    measured: Vec<String>,
}

impl RecordCorrect {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let mut statements = Vec::new();
        for text in &self.told {
            statements.push(statement("--told", text, EvidenceSource::Told)?);
        }
        for text in &self.measured {
            statements.push(statement("--measured", text, EvidenceSource::Measured)?);
        }
        let request = CorrectRecordRequest {
            shop_id: session.shop()?,
            number: self.number,
            reason: self.reason,
            statements,
            request_id: session.request_id(),
            actor: session.actor.clone(),
        };
        let reply = session
            .call(request, async |channel, request| {
                RecordServiceClient::new(channel).correct_record(request).await
            })
            .await?;
        print_record(session, "CorrectRecordResponse", &reply, reply.record.as_ref()).await
    }
}

fn statement(
    option: &str,
    text: &str,
    source: EvidenceSource,
) -> Result<EvidenceStatement, Failure> {
    let (subject, sentence) = text.split_once('=').ok_or_else(|| {
        Failure::usage(
            format!("{option} is \"{text}\"; it must be SUBJECT=SENTENCE."),
            "write it as prerequisite='Tyres 2.4 bar, all four.'",
        )
    })?;
    Ok(EvidenceStatement {
        subject: subject.trim().to_owned(),
        sentence: sentence.trim().to_owned(),
        source: source.into(),
    })
}
