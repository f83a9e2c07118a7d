//! The record of work that was done outside: nobody here saw it, so every statement is told.

use crate::{
    snapshot::ShopSnapshot,
    use_cases::{
        change_job::JobCall, record_evidence::adhesive_sentence, record_interruptions::local,
    },
};
use baywright_api::{
    time::timestamp,
    v1::{self, EvidenceSource},
};
use baywright_core::work::{Adhesive, FoundCode, Sublet, Task};

/// What was told about the end of work done outside.
#[derive(Debug, Clone)]
pub(super) struct Told {
    pub(super) passed: bool,
    pub(super) evidence: String,
    pub(super) codes: Vec<FoundCode>,
    pub(super) adhesive: Option<Adhesive>,
}

/// The record of `task`, ended by `call`; its number and attempt are still to be given.
pub(super) fn record_of(
    shop: &ShopSnapshot,
    call: &JobCall,
    task: &Task,
    told: &Told,
) -> v1::ConditionsRecord {
    let outcome = if told.passed { v1::Outcome::Passed } else { v1::Outcome::Failed };
    v1::ConditionsRecord {
        shop_id: call.call.shop_id().to_string(),
        job_id: call.job_id.clone(),
        task: Some(task.into()),
        outcome: outcome.into(),
        note: told.evidence.clone(),
        ended_time: Some(timestamp(call.call.at())),
        codes: told.codes.iter().map(Into::into).collect(),
        adhesive: told.adhesive.as_ref().map(Into::into),
        statements: statements(shop, call, task.sublet.as_ref(), told),
        ..v1::ConditionsRecord::default()
    }
}

fn statements(
    shop: &ShopSnapshot,
    call: &JobCall,
    sublet: Option<&Sublet>,
    told: &Told,
) -> Vec<v1::EvidenceStatement> {
    let say = |subject: &str, sentence: String| v1::EvidenceStatement {
        subject: subject.to_owned(),
        sentence,
        source: EvidenceSource::Told.into(),
    };
    let mut statements = Vec::new();
    if let Some(sublet) = sublet {
        let Sublet { party, sent_at, expected_at, actor, note } = sublet;
        let note = if note.is_empty() { String::new() } else { format!(" {note}") };
        let sentence = format!(
            "Done outside by {party}: sent out {} by {actor}, expected back {}.{note}",
            local(shop, *sent_at),
            local(shop, *expected_at)
        );
        statements.push(say("outside", sentence));
    }
    let ended = if told.passed { "passed" } else { "failed" };
    let sentence = format!(
        "Recorded as {ended} by {} at {}. Evidence: {}",
        call.call.actor(),
        local(shop, call.call.at()),
        told.evidence
    );
    statements.push(say("outside", sentence));
    for code in &told.codes {
        let weight = if code.blocking { "blocking" } else { "not blocking" };
        let sentence = format!("Code {} ({weight}) {}", code.code, code.text);
        statements.push(say("codes", sentence.trim_end().to_owned()));
    }
    if let Some(adhesive) = &told.adhesive {
        statements.push(say("adhesive", adhesive_sentence(&adhesive.into())));
    }
    statements
}
