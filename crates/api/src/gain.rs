//! Nearest misses and gain reports as messages, and the mix of work that a report is asked for.

use crate::fit::unit_text;
use crate::reading::{Reading as _, plain};
use crate::v1;
use baywright_core::fault::Faults;
use baywright_core::fit::{Change, Miss};
use baywright_core::gain::{Done, Gain, GainReport, WorkAsked, hours, tasks};
use baywright_core::ids::{ProcedureId, VehicleClassId};

/// The most changes of a report that are told.
pub const GAINS_TOLD_MAX: usize = 100;
/// The most lines of a mix that are read.
pub const MIX_LINES_MAX: usize = 500;

/// Reads a stated mix of work.
///
/// # Errors
/// A fault for each name that is none and each number a week out of range, and for a mix too long.
pub fn mix_from(mix: &[v1::WorkAsked]) -> Result<Vec<WorkAsked>, Faults> {
    let read = plain(|faults| {
        faults.count("mix", mix.len(), 0..=MIX_LINES_MAX);
        let lines: Vec<WorkAsked> = faults.each("mix", mix, |faults, line| {
            let class = &line.vehicle_class_id;
            Some(WorkAsked {
                procedure: faults.name("procedure_id", &line.procedure_id, ProcedureId::new)?,
                class: faults.name("vehicle_class_id", class, VehicleClassId::new)?,
                per_week: line.per_week,
            })
        });
        Some(lines)
    })?;
    let mut faults = baywright_core::fault::FaultList::new();
    let made = faults.take("mix", WorkAsked::mix(read));
    faults.finish(made.unwrap_or_default())
}

impl From<&WorkAsked> for v1::WorkAsked {
    fn from(work: &WorkAsked) -> Self {
        Self {
            procedure_id: work.procedure.to_string(),
            vehicle_class_id: work.class.to_string(),
            per_week: work.per_week,
        }
    }
}

impl From<&Done> for v1::WorkInHouse {
    fn from(done: &Done) -> Self {
        Self { work: Some((&done.work).into()), minutes: done.minutes }
    }
}

impl From<&Change> for v1::NearestMiss {
    /// The change by itself, without the pose at which the vehicle then stands.
    fn from(change: &Change) -> Self {
        let (subject, edge) = match change {
            Change::KeepNeighbourEmpty { bay } => (bay.to_string(), None),
            Change::RemoveObstruction { obstruction } => (obstruction.to_string(), None),
            Change::BuyUnit { kind } => (kind.to_string(), None),
            Change::CloseBlind { opening, .. } => (opening.to_string(), None),
            Change::GainFloor { edge, .. } => (String::new(), u32::try_from(*edge).ok()),
            Change::PaintStation { .. }
            | Change::RenewSurvey
            | Change::MeasureHeights { .. }
            | Change::MeasureLight { .. }
            | Change::AddLight { .. }
            | Change::Relevel { .. } => (String::new(), None),
        };
        let size = change.size();
        Self {
            change: change.kind().as_str().to_owned(),
            subject,
            edge,
            size: size.map(|size| size.value),
            unit: size.map(|size| unit_text(size.unit).to_owned()).unwrap_or_default(),
            sentence: change.to_string(),
            pose: None,
        }
    }
}

impl From<&Miss> for v1::NearestMiss {
    fn from(miss: &Miss) -> Self {
        Self { pose: Some(miss.placement.pose().into()), ..(&miss.change).into() }
    }
}

impl From<&Gain> for v1::Gain {
    fn from(gain: &Gain) -> Self {
        Self {
            bay_id: gain.bay.as_ref().map(ToString::to_string).unwrap_or_default(),
            change: Some((&gain.change).into()),
            tasks_per_week: gain.tasks_per_week(),
            hours_per_week: gain.hours_per_week(),
            brings: gain.brings.iter().map(Into::into).collect(),
            loses: gain.loses.iter().map(Into::into).collect(),
        }
    }
}

/// Writes a report; at most [`GAINS_TOLD_MAX`] changes.
pub fn report_message(report: &GainReport, basis: String, caution: &str) -> v1::GainReport {
    v1::GainReport {
        basis,
        in_house: report.in_house.iter().map(Into::into).collect(),
        outside: report.outside.iter().map(Into::into).collect(),
        in_house_tasks: tasks(&report.in_house),
        in_house_hours: hours(&report.in_house),
        outside_tasks: report.outside.iter().map(|work| work.per_week).sum(),
        gains: report.gains.iter().take(GAINS_TOLD_MAX).map(Into::into).collect(),
        caution: caution.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mix_names_every_faulty_line() {
        let line = |procedure: &str, per_week: f64| v1::WorkAsked {
            procedure_id: procedure.to_owned(),
            vehicle_class_id: "saloon".to_owned(),
            per_week,
        };
        let mix = mix_from(&[line("glass", 2.0), line("glass", 3.0)]).unwrap();
        assert_eq!(mix.iter().map(|work| work.per_week).collect::<Vec<_>>(), [5.0]);
        let faults = mix_from(&[line("glass", 2.0), line("no name", 1.0)]).unwrap_err();
        assert_eq!(faults.list()[0].field, "mix[1].procedure_id");
        let faults = mix_from(&[line("glass", 2.0), line("glass", -1.0)]).unwrap_err();
        assert_eq!(faults.list()[0].field, "mix[1].per_week");
        let long = vec![line("glass", 1.0); MIX_LINES_MAX + 1];
        assert_eq!(mix_from(&long).unwrap_err().list()[0].field, "mix");
    }
}
