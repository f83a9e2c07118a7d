//! What is supposed of a shop on the way in, what would be on the way out.

use crate::reading::{Reading as _, plain};
use crate::time::{required_instant, timestamp};
use crate::v1::{self, supposition::Kind};
use baywright_core::calendar::Window;
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::{BayId, ProcedureId, TechnicianId, UnitId, VehicleClassId};
use baywright_core::shop_day::{ClosedBay, JobDifference, Outcome, SUPPOSED_MAX, Supposed, WhatIf};

/// Reads what is supposed.
///
/// # Errors
/// Every fault with its path.
pub fn supposed_from(suppositions: &[v1::Supposition]) -> Result<Vec<Supposed>, Faults> {
    plain(|faults| {
        faults.count("suppositions", suppositions.len(), 1..=SUPPOSED_MAX);
        Some(faults.each("suppositions", suppositions, supposed))
    })
}

fn supposed(faults: &mut FaultList, one: &v1::Supposition) -> Option<Supposed> {
    let Some(kind) = &one.kind else {
        faults.note("kind", "absent", "be given", "say what is supposed");
        return None;
    };
    match kind {
        Kind::BayClosed(closed) => faults.inside("bay_closed", |list| {
            let bay = list.name("bay_id", &closed.bay_id, BayId::new);
            let from = required_instant(list, "from_time", closed.from_time.as_ref())?;
            let until = required_instant(list, "until_time", closed.until_time.as_ref())?;
            let window = list.leaf("until_time", Window::new(from..until))?;
            Some(Supposed::BayClosed(ClosedBay { bay: bay?, window }))
        }),
        Kind::TechnicianMore(more) => faults.inside("technician_more", |list| {
            let like =
                list.name("like_technician_id", &more.like_technician_id, TechnicianId::new)?;
            Some(Supposed::TechnicianMore { like })
        }),
        Kind::UnitMore(more) => faults.inside("unit_more", |list| {
            let like = list.name("like_unit_id", &more.like_unit_id, UnitId::new)?;
            Some(Supposed::UnitMore { like })
        }),
        Kind::WorkGrown(grown) => faults.inside("work_grown", |list| {
            let class = &grown.vehicle_class_id;
            Some(Supposed::WorkGrown {
                percent: grown.percent,
                procedure: list.name_or_none("procedure_id", &grown.procedure_id, ProcedureId::new),
                class: list.name_or_none("vehicle_class_id", class, VehicleClassId::new),
            })
        }),
    }
}

/// What would be, as a message; the caller adds days and caution.
pub fn report_message(found: &WhatIf) -> v1::WhatIfReport {
    let moved = found.jobs.iter().map(|job| job.moved_tasks).sum();
    v1::WhatIfReport {
        sentences: found.sentences.clone(),
        before: Some(outcome(&found.before)),
        after: Some(outcome(&found.after)),
        jobs: found.jobs.iter().map(difference).collect(),
        moved_tasks: count(moved),
        ..v1::WhatIfReport::default()
    }
}

pub(crate) fn outcome(outcome: &Outcome) -> v1::DayOutcome {
    v1::DayOutcome {
        cost_less_changes: outcome.cost_less_changes,
        planned_tasks: count(outcome.planned_tasks),
        unplanned_tasks: count(outcome.unplanned_tasks),
        left_out_jobs: count(outcome.left_out_jobs),
        late_jobs: count(outcome.late_jobs),
        late_minutes: minutes(outcome.late_minutes),
    }
}

fn difference(job: &JobDifference) -> v1::JobDifference {
    v1::JobDifference {
        job_name: job.job.to_string(),
        promise_time: Some(timestamp(job.promise)),
        added: job.added,
        before_finish_time: job.before.finish.map(timestamp),
        after_finish_time: job.after.finish.map(timestamp),
        before_late_minutes: minutes(job.before.late_minutes),
        after_late_minutes: minutes(job.after.late_minutes),
        before_tasks: count(job.before.tasks),
        after_tasks: count(job.after.tasks),
        moved_tasks: count(job.moved_tasks),
    }
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

fn minutes(number: i64) -> u32 {
    u32::try_from(number.max(0)).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use prost_types::Timestamp;

    fn at(seconds: i64) -> Option<Timestamp> {
        Some(Timestamp { seconds, nanos: 0 })
    }

    fn closed(from: i64, until: i64) -> v1::Supposition {
        let bay_id = "bay-1".to_owned();
        let closed = v1::BayClosed { bay_id, from_time: at(from), until_time: at(until) };
        v1::Supposition { kind: Some(Kind::BayClosed(closed)) }
    }

    fn fields(suppositions: &[v1::Supposition]) -> Vec<String> {
        let faults = supposed_from(suppositions).unwrap_err().into_list();
        faults.into_iter().map(|fault| fault.field).collect()
    }

    #[test]
    fn what_is_supposed_is_read() {
        let grown = v1::WorkGrown { percent: 20, ..v1::WorkGrown::default() };
        let grown = v1::Supposition { kind: Some(Kind::WorkGrown(grown)) };
        let read = supposed_from(&[closed(0, 3_600), grown]).unwrap();
        assert!(matches!(&read[0], Supposed::BayClosed(one) if one.bay.as_str() == "bay-1"));
        let expected = Supposed::WorkGrown { percent: 20, procedure: None, class: None };
        assert_eq!(read[1], expected);
    }

    #[test]
    fn every_fault_has_its_path() {
        let nobody = v1::TechnicianMore { like_technician_id: "no name".to_owned() };
        let nobody = v1::Supposition { kind: Some(Kind::TechnicianMore(nobody)) };
        let nothing = v1::Supposition { kind: None };
        let found = fields(&[closed(3_600, 3_600), nobody, nothing]);
        let expected = [
            "suppositions[0].bay_closed.until_time",
            "suppositions[1].technician_more.like_technician_id",
            "suppositions[2].kind",
        ];
        assert_eq!(found, expected);
        assert_eq!(fields(&[]), ["suppositions"]);
        assert_eq!(fields(&vec![closed(0, 1); SUPPOSED_MAX + 1]), ["suppositions"]);
    }
}
