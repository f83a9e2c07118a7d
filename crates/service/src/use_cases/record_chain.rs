//! Proving the chain of conditions records, and correcting a record by a new one.
//!
//! Records are only ever added, so a chain can be proved page by page without holding one
//! transaction open: what was proved stays proved.

use super::known_shop::{not_there, shop_exists};
use crate::{
    app::App,
    error::ServiceError,
    limits::{
        CORRECTION_CHARS_MAX, CORRECTION_STATEMENTS_MAX, RECORDS_VERIFIED_AT_ONCE,
        RECORDS_VERIFIED_MAX,
    },
    off_thread::off_thread,
    storage::{
        Done,
        record_chain::{StoredRecord, hash_before, last_record_told, stored_records},
        records::{insert_record, load_record, next_number},
    },
};
use baywright_api::{time::timestamp, v1};
use baywright_core::fault::{Fault, FaultList};
use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;

/// The highest number that a column takes.
const NUMBER_MAX: u64 = i64::MAX.unsigned_abs();

/// Proves the chain of a shop's records, or of a range of them.
///
/// # Errors
/// No such shop; a range that ends before it begins; trouble of storage.
pub async fn verify_records(
    app: &App,
    request: v1::VerifyRecordsRequest,
) -> Result<v1::VerifyRecordsResponse, ServiceError> {
    shop_exists(app, &request.shop_id).await?;
    let v1::VerifyRecordsRequest { shop_id, from_number, to_number } = request;
    let from = from_number.max(1);
    if from > NUMBER_MAX || (to_number != 0 && to_number < from) {
        return Err(Fault::new(
            "to_number",
            to_number,
            format!("be 0, for the end, or a number from {from} on"),
            "give the first number and the last one in this order",
        )
        .into());
    }
    let last_wanted = if to_number == 0 { NUMBER_MAX } else { to_number.min(NUMBER_MAX) };
    let mut proof = Proof { next: from, ..Proof::default() };
    loop {
        let room = RECORDS_VERIFIED_MAX - proof.reply.checked_count;
        let limit = u32::try_from(room).unwrap_or(u32::MAX).min(RECORDS_VERIFIED_AT_ONCE);
        let range = (proof.next, last_wanted);
        let page = read_page(app, &shop_id, range, limit).await?;
        let ended = page.records.len() < usize::try_from(limit).unwrap_or(usize::MAX);
        // Hashing and decoding a page takes a while: it must not hold up the threads that answer.
        proof = off_thread(move |_| proof.with(page)).await?;
        if proof.reply.mismatch.is_some() {
            return Ok(proof.reply);
        }
        if ended {
            break;
        }
        if proof.reply.checked_count >= RECORDS_VERIFIED_MAX {
            proof.reply.next_number = proof.next;
            return Ok(proof.reply);
        }
    }
    Ok(proof.ended_at(if to_number == 0 { None } else { Some(to_number) }))
}

/// Records to be proved, and what is known of their surroundings.
#[derive(Debug)]
struct Page {
    records: Vec<StoredRecord>,
    /// Hash of the record before the first one asked for.
    before: Option<Vec<u8>>,
    /// The highest number that the audit trail tells of.
    told: u64,
}

async fn read_page(
    app: &App,
    shop_id: &str,
    range: (u64, u64),
    limit: u32,
) -> Result<Page, ServiceError> {
    app.database
        .read((shop_id.to_owned(), range, limit), |tx, (shop_id, range, limit)| {
            Box::pin(async move {
                Ok(Page {
                    before: hash_before(tx, shop_id, range.0).await?,
                    records: stored_records(tx, shop_id, *range, *limit).await?,
                    told: last_record_told(tx, shop_id).await?,
                })
            })
        })
        .await
}

/// How far the chain is proved.
#[derive(Debug, Default)]
struct Proof {
    reply: v1::VerifyRecordsResponse,
    /// The number that comes next.
    next: u64,
    told: u64,
}

impl Proof {
    /// The proof with a page more, up to the first record that does not fit.
    fn with(mut self, page: Page) -> Self {
        self.told = page.told;
        let Some(mut previous) = page.before else {
            self.misfits(self.next - 1, v1::RecordMisfit::Missing);
            return self;
        };
        for record in page.records {
            if record.number != self.next {
                self.misfits(self.next, v1::RecordMisfit::Missing);
                return self;
            }
            if let Some(misfit) = record.misfit(&previous) {
                self.misfits(record.number, misfit);
                return self;
            }
            previous.clone_from(&record.hash);
            self.reply.checked_count += 1;
            self.reply.last_number = record.number;
            self.reply.last_hash = record.hash;
            self.next += 1;
        }
        self
    }

    /// The answer where the records end here.
    fn ended_at(mut self, wanted: Option<u64>) -> v1::VerifyRecordsResponse {
        let promised = wanted.map_or(self.told, |wanted| wanted.min(self.told));
        if self.next <= promised {
            self.misfits(self.next, v1::RecordMisfit::Missing);
        }
        self.reply
    }

    fn misfits(&mut self, number: u64, misfit: v1::RecordMisfit) {
        let sentence = match misfit {
            v1::RecordMisfit::Unspecified => String::new(),
            v1::RecordMisfit::Missing => {
                format!("Record {number} is missing, though it was kept once.")
            }
            v1::RecordMisfit::Link => {
                format!("Record {number} does not carry the hash of the record before it.")
            }
            v1::RecordMisfit::Content => {
                format!("Record {number} was changed after it was kept: its hash is another.")
            }
            v1::RecordMisfit::Key => format!(
                "Record {number} is filed under another job, task, attempt or time than it says."
            ),
        };
        self.reply.mismatch = Some(v1::RecordMismatch { number, misfit: misfit.into(), sentence });
    }
}

/// Corrects a record by a new one, which names it.
///
/// # Errors
/// Every fault of the request at once; no such record.
pub async fn correct_record(
    app: &App,
    request: v1::CorrectRecordRequest,
) -> Result<v1::CorrectRecordResponse, ServiceError> {
    let call = App::call(&request, app.clock.now())?;
    check(&request)?;
    app.database
        .exactly_once(call.clone(), (call, request), |tx, (call, request)| {
            Box::pin(correct(tx, request, call.at()))
        })
        .await
}

fn check(request: &v1::CorrectRecordRequest) -> Result<(), ServiceError> {
    let mut faults = FaultList::new();
    let mut text = |field: String, text: &str| {
        let length = text.chars().count();
        if text.trim().is_empty() || length > CORRECTION_CHARS_MAX {
            faults.push(Fault::new(
                field,
                format!("a text of {length} characters"),
                format!("have 1 to {CORRECTION_CHARS_MAX} characters"),
                "say it in one or two sentences",
            ));
        }
    };
    text("reason".to_owned(), &request.reason);
    for (index, statement) in request.statements.iter().enumerate() {
        text(format!("statements[{index}].subject"), &statement.subject);
        text(format!("statements[{index}].sentence"), &statement.sentence);
    }
    for (index, statement) in request.statements.iter().enumerate() {
        let source = statement.source();
        if !matches!(source, v1::EvidenceSource::Measured | v1::EvidenceSource::Told) {
            faults.push(Fault::new(
                format!("statements[{index}].source"),
                source.as_str_name(),
                "be measured or told: what is surveyed or computed is not a person's to correct",
                "say whether it was measured or told",
            ));
        }
    }
    let count = request.statements.len();
    if count == 0 || count > CORRECTION_STATEMENTS_MAX {
        faults.push(Fault::new(
            "statements",
            format!("a list of {count}"),
            format!("hold 1 to {CORRECTION_STATEMENTS_MAX} statements"),
            "state what is right instead",
        ));
    }
    Ok(faults.finish(())?)
}

async fn correct(
    tx: &DatabaseTransaction,
    request: &v1::CorrectRecordRequest,
    now: DateTime<Utc>,
) -> Result<Done<v1::CorrectRecordResponse>, ServiceError> {
    let shop_id = request.shop_id.as_str();
    if request.number > NUMBER_MAX {
        return Err(not_there(tx, shop_id, "record", &request.number.to_string()).await);
    }
    let Some(old) = load_record(tx, shop_id, request.number).await? else {
        return Err(not_there(tx, shop_id, "record", &request.number.to_string()).await);
    };
    let record = v1::ConditionsRecord {
        shop_id: shop_id.to_owned(),
        number: next_number(tx, shop_id).await?,
        job_id: old.job_id,
        task: old.task,
        attempt: old.attempt,
        outcome: old.outcome,
        cause: old.cause,
        ended_time: old.ended_time,
        statements: request.statements.clone(),
        correction: Some(v1::Correction {
            corrects_number: request.number,
            reason: request.reason.clone(),
            actor: request.actor.clone(),
            corrected_time: Some(timestamp(now)),
        }),
        ..v1::ConditionsRecord::default()
    };
    insert_record(tx, &record).await?;
    let reply = v1::CorrectRecordResponse { record: Some(record.clone()) };
    Ok(Done::new(reply).changed("record", record.number.to_string(), None, Some(&record)))
}

#[cfg(test)]
mod tests;
