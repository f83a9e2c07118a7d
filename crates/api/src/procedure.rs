//! Procedures with their methods, zones and needs.

mod sun;
mod zone;

use crate::kinds::{Kind, kind_or, stated_kind};
use crate::reading::{Reading as _, renamed, whole};
use crate::time::{date_from, date_text};
use crate::v1;
use baywright_core::demand::{
    DocumentRef, Method, MethodDraft, MethodMinutesDraft, Procedure, ProcedureDraft, SensorFamily,
    StartCheck, TaskKind, WorkPlace,
};
use baywright_core::fault::{Fault, FaultList, Faults};
use baywright_core::ids::{MethodId, ProcedureId, RoleId, StartCheckId, UnitKindId};
use chrono::NaiveDate;

/// The most roles of a method that the contract takes.
pub const ROLES_MAX: usize = 5;
/// The most kinds of equipment of a method that the contract takes.
pub const UNIT_KINDS_MAX: usize = 10;

impl TryFrom<&v1::Procedure> for Procedure {
    type Error = Faults;

    fn try_from(message: &v1::Procedure) -> Result<Self, Faults> {
        whole(|faults| draft(faults, message), Self::new, |fault| in_contract(message, fault))
    }
}

fn in_contract(message: &v1::Procedure, fault: Fault) -> Fault {
    renamed(
        zone::with_need_named(message, fault),
        &[
            ("methods", "id", "method_id"),
            ("methods", "roles", "role_ids"),
            ("methods", "equipment", "unit_kind_ids"),
            // The three add up to the fault; the run is the one that is never zero in earnest.
            ("methods", "minutes", "run_minutes"),
            ("zones", "id", "zone_id"),
            ("sun_free_views", "id", "sun_free_view_id"),
            ("start_checks", "id", "start_check_id"),
        ],
    )
}

fn draft(faults: &mut FaultList, message: &v1::Procedure) -> Option<ProcedureDraft> {
    let sensor = faults.take("sensor", stated_kind::<SensorFamily>(message.sensor));
    Some(ProcedureDraft {
        id: faults.name("procedure_id", &message.procedure_id, ProcedureId::new)?,
        title: message.title.clone(),
        kind: kind_or(faults, "kind", message.kind, TaskKind::Inspection),
        // A sensor that was refused is not absent.
        sensor: sensor.unwrap_or(Some(SensorFamily::FrontCamera)),
        document: faults.required("document", message.document.as_ref(), document)?,
        methods: faults.each("methods", &message.methods, method),
        start_checks: faults.each("start_checks", &message.start_checks, start_check),
    })
}

/// Reads where something was written down from; the reference is taken as it stands.
pub(crate) fn document(faults: &mut FaultList, message: &v1::Document) -> Option<DocumentRef> {
    let checked_on = faults.leaf("checked_on", date_from(&message.checked_on));
    Some(DocumentRef {
        reference: message.reference.clone(),
        checked_on: checked_on.unwrap_or(NaiveDate::MIN),
    })
}

impl From<&DocumentRef> for v1::Document {
    fn from(document: &DocumentRef) -> Self {
        Self { reference: document.reference.clone(), checked_on: date_text(document.checked_on) }
    }
}

fn start_check(faults: &mut FaultList, message: &v1::StartCheck) -> Option<StartCheck> {
    Some(StartCheck {
        id: faults.name("start_check_id", &message.start_check_id, StartCheckId::new)?,
        question: message.question.clone(),
    })
}

fn method(faults: &mut FaultList, message: &v1::Method) -> Option<MethodDraft> {
    faults.count("role_ids", message.role_ids.len(), 1..=ROLES_MAX);
    faults.count("unit_kind_ids", message.unit_kind_ids.len(), 0..=UNIT_KINDS_MAX);
    Some(MethodDraft {
        id: faults.name("method_id", &message.method_id, MethodId::new)?,
        title: message.title.clone(),
        place: kind_or(faults, "place", message.place, WorkPlace::Bay),
        roles: faults.names("role_ids", &message.role_ids, RoleId::new),
        equipment: faults.names("unit_kind_ids", &message.unit_kind_ids, UnitKindId::new),
        minutes: MethodMinutesDraft {
            setup_minutes: message.setup_minutes,
            run_minutes: message.run_minutes,
            teardown_minutes: message.teardown_minutes,
        },
        zones: faults.each("zones", &message.zones, zone::draft),
        sun: sun::demand(faults, message),
    })
}

impl From<&Procedure> for v1::Procedure {
    fn from(procedure: &Procedure) -> Self {
        let check = |check: &StartCheck| v1::StartCheck {
            start_check_id: check.id.to_string(),
            question: check.question.clone(),
        };
        Self {
            procedure_id: procedure.id().to_string(),
            title: procedure.title().to_owned(),
            kind: procedure.kind().number(),
            sensor: procedure.sensor().map_or(0, Kind::number),
            document: Some(procedure.document().into()),
            methods: procedure.methods().iter().map(Into::into).collect(),
            start_checks: procedure.start_checks().iter().map(check).collect(),
        }
    }
}

impl From<&Method> for v1::Method {
    fn from(method: &Method) -> Self {
        Self {
            method_id: method.id().to_string(),
            title: method.title().to_owned(),
            place: method.place().number(),
            role_ids: method.roles().iter().map(RoleId::to_string).collect(),
            unit_kind_ids: method.equipment().iter().map(UnitKindId::to_string).collect(),
            setup_minutes: method.minutes().setup(),
            run_minutes: method.minutes().run(),
            teardown_minutes: method.minutes().teardown(),
            zones: method.zones().iter().map(Into::into).collect(),
            sun_free_views: method.sun().views.iter().map(Into::into).collect(),
            sun_elevation_min_deg: method.sun().elevation_min_deg,
        }
    }
}
