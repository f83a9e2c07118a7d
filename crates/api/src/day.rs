//! Answers to the questions of the day; they are computed and never read.

use crate::time::{date_text, timestamp};
use crate::v1;
use baywright_core::questions::{Chase, ChaseItem, Expiring, ExpiringKind, ProjectedFinish};

impl From<&Chase> for v1::Chase {
    fn from(chase: &Chase) -> Self {
        Self { party: chase.party.clone(), items: chase.items.iter().map(Into::into).collect() }
    }
}

impl From<&ChaseItem> for v1::ChaseItem {
    fn from(item: &ChaseItem) -> Self {
        Self {
            job_id: item.job.to_string(),
            key: item.key.clone(),
            sentence: item.sentence.clone(),
            expected_time: item.expected_at.map(timestamp),
            overdue: item.overdue,
            task_ids: item.tasks.iter().map(ToString::to_string).collect(),
            promise_time: Some(timestamp(item.promise_at)),
        }
    }
}

impl From<&ProjectedFinish> for v1::ProjectedFinish {
    fn from(finish: &ProjectedFinish) -> Self {
        let late = finish.late_minutes().unwrap_or(0);
        Self {
            job_id: finish.job.to_string(),
            promise_time: Some(timestamp(finish.promise_at)),
            finish_time: finish.finish_at.map(timestamp),
            late_minutes: u32::try_from(late).unwrap_or(u32::MAX),
            unplanned_task_ids: finish.unplanned.iter().map(ToString::to_string).collect(),
            reasons: finish.reasons.clone(),
        }
    }
}

impl From<&Expiring> for v1::Expiring {
    fn from(expiring: &Expiring) -> Self {
        let kind = match expiring.kind {
            ExpiringKind::Survey => v1::ExpiringKind::Survey,
            ExpiringKind::Verification => v1::ExpiringKind::Verification,
            ExpiringKind::Role => v1::ExpiringKind::Role,
            ExpiringKind::SignOff => v1::ExpiringKind::SignOff,
        };
        Self {
            date: date_text(expiring.date),
            kind: kind.into(),
            name: expiring.name.clone(),
            sentence: expiring.sentence.clone(),
        }
    }
}
