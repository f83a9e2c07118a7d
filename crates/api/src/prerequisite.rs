//! Prerequisites of a job, and their sign-offs.

use crate::kinds::{Kind as _, kind_or};
use crate::procedure::document;
use crate::reading::{Reading as _, plain};
use crate::task::task_selector;
use crate::time::{optional_instant, required_instant, timestamp};
use crate::v1;
use baywright_core::demand::PrerequisiteKind;
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::{PrerequisiteId, TaskId};
use baywright_core::work::{AskedWhen, Prerequisite, PrerequisiteState, SignOff};

impl TryFrom<&v1::Prerequisite> for Prerequisite {
    type Error = Faults;

    fn try_from(message: &v1::Prerequisite) -> Result<Self, Faults> {
        plain(|faults| prerequisite(faults, message))
    }
}

pub(crate) fn prerequisite(
    faults: &mut FaultList,
    message: &v1::Prerequisite,
) -> Option<Prerequisite> {
    let provider = &message.provided_by_task_id;
    Some(Prerequisite {
        id: faults.name("prerequisite_id", &message.prerequisite_id, PrerequisiteId::new)?,
        kind: kind_or(faults, "kind", message.kind, PrerequisiteKind::Other),
        title: message.title.clone(),
        gates: faults.each("gates", &message.gates, task_selector),
        asked: kind_or(faults, "asked", message.asked, AskedWhen::Ahead),
        state: kind_or(faults, "state", message.state, PrerequisiteState::Open),
        party: message.party.clone(),
        expected_at: optional_instant(faults, "expected_time", message.expected_time.as_ref()),
        provided_by: faults.name_or_none("provided_by_task_id", provider, TaskId::new),
        counts_for_minutes: message.counts_for_minutes,
        document: faults.optional("document", message.document.as_ref(), document),
        sign_off: faults.optional("sign_off", message.sign_off.as_ref(), sign_off),
    })
}

impl From<&Prerequisite> for v1::Prerequisite {
    fn from(prerequisite: &Prerequisite) -> Self {
        let provider = prerequisite.provided_by.as_ref();
        Self {
            prerequisite_id: prerequisite.id.to_string(),
            kind: prerequisite.kind.number(),
            title: prerequisite.title.clone(),
            gates: prerequisite.gates.iter().map(Into::into).collect(),
            asked: prerequisite.asked.number(),
            state: prerequisite.state.number(),
            party: prerequisite.party.clone(),
            expected_time: prerequisite.expected_at.map(timestamp),
            provided_by_task_id: provider.map(TaskId::to_string).unwrap_or_default(),
            counts_for_minutes: prerequisite.counts_for_minutes,
            document: prerequisite.document.as_ref().map(Into::into),
            sign_off: prerequisite.sign_off.as_ref().map(Into::into),
        }
    }
}

fn sign_off(faults: &mut FaultList, message: &v1::SignOff) -> Option<SignOff> {
    let at = required_instant(faults, "signed_time", message.signed_time.as_ref());
    Some(SignOff {
        actor: message.actor.clone(),
        at: at.unwrap_or_default(),
        evidence: message.evidence.clone(),
        until: optional_instant(faults, "until_time", message.until_time.as_ref()),
    })
}

impl From<&SignOff> for v1::SignOff {
    fn from(said: &SignOff) -> Self {
        Self {
            actor: said.actor.clone(),
            signed_time: Some(timestamp(said.at)),
            evidence: said.evidence.clone(),
            until_time: said.until.map(timestamp),
        }
    }
}
