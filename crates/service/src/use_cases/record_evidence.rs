//! The conditions record of an attempt: what is kept as evidence, with where each figure comes from.

use super::record_interruptions::{interruptions, local};
use crate::snapshot::ShopSnapshot;
use baywright_api::{
    time::{date_text, timestamp},
    v1::{self, EvidenceSource as Source},
};
use baywright_core::{
    ids::UnitId,
    work::{Adhesive, FoundCode, Task},
};
use chrono::{DateTime, Utc};

/// How an attempt ended.
#[derive(Debug, Clone)]
pub(super) struct Ending {
    outcome: v1::Outcome,
    cause: v1::FailureCause,
    note: String,
    codes: Vec<v1::FoundCode>,
    adhesive: Option<v1::Adhesive>,
}

impl Ending {
    /// It ended well.
    pub(super) fn passed(note: &str, codes: &[FoundCode], adhesive: Option<&Adhesive>) -> Self {
        Self {
            codes: codes.iter().map(Into::into).collect(),
            adhesive: adhesive.map(Into::into),
            ..Self::new(v1::Outcome::Passed, note)
        }
    }

    /// It ended badly.
    pub(super) fn failed(cause: v1::FailureCause, note: &str, codes: &[FoundCode]) -> Self {
        let codes = codes.iter().map(Into::into).collect();
        Self { cause, codes, ..Self::new(v1::Outcome::Failed, note) }
    }

    /// It ended without a result.
    pub(super) fn put_back(note: &str) -> Self {
        Self::new(v1::Outcome::PutBack, note)
    }

    fn new(outcome: v1::Outcome, note: &str) -> Self {
        Self {
            outcome,
            cause: v1::FailureCause::Unspecified,
            note: note.to_owned(),
            codes: Vec::new(),
            adhesive: None,
        }
    }
}

/// The record of an attempt that ended at `now`; its number is still to be given.
pub(super) fn record_of(
    shop: &ShopSnapshot,
    holding: &v1::Holding,
    task: &Task,
    ending: &Ending,
    now: DateTime<Utc>,
) -> v1::ConditionsRecord {
    let units: Vec<_> = holding.unit_ids.iter().map(|id| recorded_unit(shop, id)).collect();
    let mut record = v1::ConditionsRecord {
        shop_id: holding.shop_id.clone(),
        number: 0,
        job_id: holding.job_id.clone(),
        task: Some(task.into()),
        holding: Some(holding.clone()),
        attempt: holding.attempt,
        outcome: ending.outcome.into(),
        cause: ending.cause.into(),
        note: ending.note.clone(),
        ended_time: Some(timestamp(now)),
        units,
        codes: ending.codes.clone(),
        adhesive: ending.adhesive.clone(),
        statements: Vec::new(),
        correction: None,
    };
    let ended = local(shop, now);
    record.statements = statements(&record, holding, &ended);
    record.statements.extend(interruptions(shop, holding));
    record
}

fn recorded_unit(shop: &ShopSnapshot, id: &str) -> v1::RecordedUnit {
    let unit = UnitId::new(id).ok().and_then(|id| shop.unit_of(&id).cloned());
    let until = unit.and_then(|unit| unit.parts().verified_until);
    v1::RecordedUnit {
        unit_id: id.to_owned(),
        verified_until: until.map(date_text).unwrap_or_default(),
    }
}

fn statements(
    record: &v1::ConditionsRecord,
    holding: &v1::Holding,
    ended: &str,
) -> Vec<v1::EvidenceStatement> {
    let say = |subject: &str, sentence: String, source: Source| v1::EvidenceStatement {
        subject: subject.to_owned(),
        sentence,
        source: source.into(),
    };
    let mut statements = Vec::new();
    if let Some(place) = &holding.place {
        let v1::Place { bay_id, station_id } = place;
        statements.push(say(
            "space",
            format!(
                "Bay {bay_id} revision {}, station {station_id}, judged by survey {}.",
                holding.bay_revision, holding.survey_id
            ),
            Source::Surveyed,
        ));
    }
    for finding in &holding.findings {
        statements.push(say(
            subject_of(&finding.need),
            finding.sentence.clone(),
            source_of(finding),
        ));
    }
    statements.extend(
        sky_statements(holding)
            .into_iter()
            .map(|(subject, sentence, source)| say(subject, sentence, source)),
    );
    for one in &holding.prerequisites {
        let said = one.sign_off.as_ref().map_or_else(
            || "not signed off".to_owned(),
            |said| format!("signed off by {}: {}", said.actor, said.evidence),
        );
        statements.push(say("prerequisite", format!("{}: {said}.", one.title), Source::Told));
    }
    for answer in &holding.answers {
        let question = holding.start_checks.iter().find(|one| one.check_id == answer.check_id);
        let question = question.map_or(answer.check_id.as_str(), |one| &one.question);
        let answered = if answer.met { "yes" } else { "no" };
        let seen = match answer.evidence.trim() {
            "" => String::new(),
            evidence => format!(": {evidence}"),
        };
        let sentence = format!("{question} Answered {answered}{seen}.");
        statements.push(say("start-check", sentence, Source::Told));
    }
    for unit in &record.units {
        let until = match unit.verified_until.as_str() {
            "" => "needs no verification".to_owned(),
            date => format!("verification counts until before {date}"),
        };
        statements.push(say("equipment", format!("Unit {}: {until}.", unit.unit_id), Source::Told));
    }
    for code in &record.codes {
        statements.push(say("codes", code_sentence(code), Source::Measured));
    }
    if let Some(adhesive) = &record.adhesive {
        statements.push(say("adhesive", adhesive_sentence(adhesive), Source::Told));
    }
    let sentence = format!(
        "Attempt {} by {} on procedure revision {}, method {}, ended {ended}.",
        record.attempt,
        holding.technician_ids.join(", "),
        holding.procedure_revision,
        holding.method_id
    );
    statements.push(say("time", sentence, Source::Measured));
    statements
}

fn code_sentence(code: &v1::FoundCode) -> String {
    let weight = if code.blocking { "blocking" } else { "not blocking" };
    format!("Code {} ({weight}) {}", code.code, code.text).trim_end().to_owned()
}

/// What was computed of the sun and the road, with what it assumes, and what a manager said.
fn sky_statements(holding: &v1::Holding) -> Vec<(&'static str, String, Source)> {
    let mut statements = Vec::new();
    if let Some(sun) = &holding.sun
        && sun.state() != v1::SunState::NotAsked
    {
        statements.push(("sun", sun.sentence.clone(), Source::Computed));
        let assumed = sun.assumptions.iter().map(|one| format!("{one}."));
        statements
            .extend(assumed.map(|sentence| ("sun", capitalised(&sentence), Source::Computed)));
    }
    let notes = holding.road_notes.iter().cloned();
    statements.extend(notes.map(|note| ("road", note, Source::Computed)));
    for entry in &holding.road_entries {
        let v1::RoadEntry { number, actor, reason, .. } = entry;
        let said = match entry.condition() {
            v1::RoadCondition::Usable => "usable",
            v1::RoadCondition::Unusable => "unusable",
            v1::RoadCondition::Unspecified => "not stated",
        };
        let sentence = format!("Road entry {number} by {actor}: {said}, {reason}.");
        statements.push(("road", sentence, Source::Told));
    }
    statements
}

fn capitalised(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What was recorded when glass was set, as a sentence.
pub(super) fn adhesive_sentence(adhesive: &v1::Adhesive) -> String {
    let cure = adhesive.cure.unwrap_or_default();
    format!(
        "Adhesive {} set at {} degrees Celsius and {} % humidity; stated in {}: moved after {}, calibrated \
         after {}, driven after {} minutes.",
        adhesive.product,
        adhesive.temperature_c,
        adhesive.humidity_percent,
        adhesive.document,
        cure.moved_minutes,
        cure.calibrated_minutes,
        cure.driven_minutes
    )
}

fn subject_of(need: &str) -> &'static str {
    if need.starts_with("level") || need.starts_with("slope") || need.starts_with("target") {
        "floor"
    } else if need.starts_with("light") || need.starts_with("colour") || need.starts_with("uniform")
    {
        "light"
    } else if need.contains("sun") {
        "sun"
    } else {
        "space"
    }
}

/// A figure with an uncertainty was surveyed; the others follow from drawing and geometry.
fn source_of(finding: &v1::Finding) -> Source {
    match finding.verdict() {
        v1::FindingVerdict::ConfirmAtStart => Source::Told,
        _ if finding.uncertainty.is_some() => Source::Surveyed,
        _ => Source::Computed,
    }
}
