//! `records-verify`: proves the chain of the shop's conditions records.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use baywright_api::v1::record_service_client::RecordServiceClient;
use baywright_api::v1::{VerifyRecordsRequest, VerifyRecordsResponse};
use clap::Args;
use std::fmt::Write as _;

/// Parts of a chain checked at most; a service that never ends is cut off.
const PARTS_MAX: usize = 100_000;

/// Prove that no conditions record of the shop was changed, taken out or put in.
///
/// Prints the last number with its hash: write both down outside of the service from time to time, and
/// give them again with --to and --hash. Only this shows when the end of the records and of the audit
/// trail were cut off together.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright --shop demo records-verify --from 1 --to 100")]
pub(crate) struct RecordsVerify {
    /// First number to check; the hash of the one before it is taken as it is stored.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    from: u64,
    /// Last number to check; by default the last there is.
    #[arg(long, value_name = "NUMBER", default_value_t = 0, hide_default_value = true)]
    to: u64,
    /// Hash of the last number as it was written down: 64 hexadecimal digits.
    #[arg(long, value_name = "HEX", requires = "to")]
    hash: Option<String>,
}

impl RecordsVerify {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let proof = self.proof(session).await?;
        if session.json {
            answer::write(&json::text("VerifyRecordsResponse", &proof)?)?;
        }
        if let Some(mismatch) = &proof.mismatch {
            return Err(Failure::NotProved {
                sentence: mismatch.sentence.clone(),
                proved: proof.last_number,
            });
        }
        let hash = hex(&proof.last_hash);
        if let Some(expected) = self.hash.filter(|expected| !expected.eq_ignore_ascii_case(&hash)) {
            return Err(Failure::NotProved {
                sentence: format!(
                    "The hash of record {} is {hash}, not {expected} as written down.",
                    proof.last_number
                ),
                proved: 0,
            });
        }
        if session.json {
            return Ok(());
        }
        answer::write(&sentence(&proof, &hash))
    }

    /// The proof of the whole range, part by part.
    async fn proof(&self, session: &Session) -> Result<VerifyRecordsResponse, Failure> {
        let mut request = VerifyRecordsRequest {
            shop_id: session.shop()?,
            from_number: self.from,
            to_number: self.to,
        };
        let mut checked = 0;
        let mut proof = VerifyRecordsResponse::default();
        for _ in 0..PARTS_MAX {
            let part = session
                .call(request.clone(), async |channel, request| {
                    RecordServiceClient::new(channel).verify_records(request).await
                })
                .await?;
            checked += part.checked_count;
            let (last_number, last_hash) = if part.checked_count == 0 {
                (proof.last_number, proof.last_hash)
            } else {
                (part.last_number, part.last_hash.clone())
            };
            let VerifyRecordsResponse { next_number, mismatch, .. } = part;
            let ended = next_number == 0 || mismatch.is_some();
            proof = VerifyRecordsResponse {
                checked_count: checked,
                last_number,
                last_hash,
                next_number,
                mismatch,
            };
            if ended {
                break;
            }
            request.from_number = proof.next_number;
        }
        Ok(proof)
    }
}

fn sentence(proof: &VerifyRecordsResponse, hash: &str) -> String {
    match proof.checked_count {
        0 => "No records.".to_owned(),
        count => {
            let noun = if count == 1 { "record fits" } else { "records fit" };
            format!("{count} {noun}, up to number {}.\nHash: {hash}", proof.last_number)
        }
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing into a text cannot fail.
        let _written = write!(text, "{byte:02x}");
        text
    })
}
