//! Whom to chase: everything that keeps tasks waiting, grouped by the party to ask.
//!
//! What another own task of the job provides is not chased; it comes with that task.

use crate::ids::{JobId, TaskId};
use crate::readiness::{ReadinessState, readiness};
use crate::work::{Job, TaskState};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// Everything that one party is to be asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chase {
    /// The party; empty where nobody is named.
    pub party: String,
    /// What to ask, the most pressing promise first.
    pub items: Vec<ChaseItem>,
}

/// One thing to be asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChaseItem {
    /// The job.
    pub job: JobId,
    /// What it is: `prerequisite:parts`, `vehicle`.
    pub key: String,
    /// One sentence that says what to do.
    pub sentence: String,
    /// When it is expected.
    pub expected_at: Option<DateTime<Utc>>,
    /// Whether the expected time has passed unconfirmed.
    pub overdue: bool,
    /// The tasks that it keeps waiting.
    pub tasks: Vec<TaskId>,
    /// The job's promise.
    pub promise_at: DateTime<Utc>,
}

/// By promise, job and key.
type Items = BTreeMap<(DateTime<Utc>, JobId, String), ChaseItem>;

/// Everything that keeps open tasks of `jobs` from being ready at `at`, grouped by party.
///
/// What is expected later and not yet due is listed too: it is what the promise rests on.
pub fn chases(jobs: &[Job], at: DateTime<Utc>) -> Vec<Chase> {
    let mut by_party: BTreeMap<String, Items> = BTreeMap::new();
    for job in jobs {
        for task in job.tasks.iter().filter(|task| task.state == TaskState::Open) {
            for reason in readiness(job, task, at).reasons {
                let overdue = reason.state == ReadinessState::Overdue;
                let waiting = reason.state == ReadinessState::Waiting;
                let expected = matches!(reason.state, ReadinessState::ReadyBy(_));
                let somebody = reason.key.starts_with("prerequisite:")
                    || reason.key == "vehicle"
                    || !reason.party.is_empty();
                if !somebody || !(overdue || waiting || expected) {
                    continue;
                }
                let key = (job.promise_at, job.id.clone(), reason.key.clone());
                let item =
                    by_party.entry(reason.party).or_default().entry(key).or_insert_with(|| {
                        ChaseItem {
                            job: job.id.clone(),
                            key: reason.key,
                            sentence: reason.sentence,
                            expected_at: reason.expected_at,
                            overdue,
                            tasks: Vec::new(),
                            promise_at: job.promise_at,
                        }
                    });
                item.tasks.push(task.id.clone());
            }
        }
    }
    by_party
        .into_iter()
        .map(|(party, items)| Chase { party, items: items.into_values().collect() })
        .collect()
}
