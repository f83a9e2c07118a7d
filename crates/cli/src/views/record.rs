//! Conditions records: the evidence kept for each attempt.

use crate::clock::ShopClock;
use baywright_api::v1::{ConditionsRecord, EvidenceSource, FailureCause, Outcome};
use baywright_files::words::Word as _;

/// One record: a heading, then every statement with where it comes from.
pub(crate) fn text(record: &ConditionsRecord, clock: ShopClock) -> String {
    let task = record.task.as_ref().map(|task| task.task_id.as_str()).unwrap_or_default();
    let cause = match record.cause {
        0 => String::new(),
        cause => format!(" ({})", FailureCause::word_of(cause)),
    };
    let mut lines = vec![format!(
        "Record {}: job {}, task {task}, attempt {}, {}{cause} {}",
        record.number,
        record.job_id,
        record.attempt,
        Outcome::word_of(record.outcome),
        clock.show(record.ended_time.as_ref()),
    )];
    if let Some(correction) = &record.correction {
        lines.push(format!(
            "  corrects record {}, by {} {}: {}",
            correction.corrects_number,
            correction.actor,
            clock.show(correction.corrected_time.as_ref()),
            correction.reason
        ));
    }
    for statement in &record.statements {
        lines.push(format!(
            "  {} [{}]: {}",
            statement.subject,
            EvidenceSource::word_of(statement.source),
            statement.sentence
        ));
    }
    for code in &record.codes {
        let blocking = if code.blocking { " (blocking)" } else { "" };
        lines.push(format!("  code {}{blocking}: {}", code.code, code.text));
    }
    if !record.note.is_empty() {
        lines.push(format!("  note: {}", record.note));
    }
    lines.join("\n")
}

/// All records, by number.
pub(crate) fn list(records: &[ConditionsRecord], clock: ShopClock) -> String {
    if records.is_empty() {
        return "No records.".to_owned();
    }
    records.iter().map(|record| text(record, clock)).collect::<Vec<_>>().join("\n\n")
}
