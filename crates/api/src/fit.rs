//! Fits with their findings, as they are shown; they are computed and never read.
//!
//! Of a bay that does not fit the message tells what fails, of an undecided one what a measurement
//! would decide; of one that fits it tells every need with its figures.

use crate::v1;
use crate::v1::fit::Verdict as Outcome;
use baywright_core::fit::{
    Finding, Fit, Placement, Quantity, StationFindings, TargetHeight, Unit, Verdict,
};
use baywright_core::ids::{BayId, MethodId, ProcedureId, StationId, SurveyId, VehicleClassId};
use baywright_core::survey::WheelPlane;

/// What a fit was asked for.
#[derive(Debug, Clone, Copy)]
pub struct FitAsked<'a> {
    /// The procedure.
    pub procedure: &'a ProcedureId,
    /// The method.
    pub method: &'a MethodId,
    /// The vehicle class.
    pub vehicle_class: &'a VehicleClassId,
    /// The bay.
    pub bay: &'a BayId,
    /// The survey that was used; none when there is none that counts.
    pub survey: Option<&'a SurveyId>,
}

/// Writes a fit; none for a method that is not done in a bay.
pub fn fit_message(asked: FitAsked<'_>, fit: &Fit) -> Option<v1::Fit> {
    let verdict = match fit {
        Fit::Fits(placement) => Outcome::Fits(placement.as_ref().into()),
        Fit::DoesNotFit(stations) => {
            let findings = findings_of(stations.iter(), Verdict::DoesNotConform);
            Outcome::DoesNotFit(v1::Unfit { findings })
        }
        Fit::Undecided(stations) => {
            // A station at which something fails for certain is not decided by a measurement.
            let open = stations.iter().filter(|found| found.verdict() == Verdict::Undecided);
            let findings = findings_of(open, Verdict::Undecided);
            Outcome::Undecided(v1::Undecided { findings })
        }
        Fit::NeedsNoBay => return None,
    };
    Some(v1::Fit {
        procedure_id: asked.procedure.to_string(),
        method_id: asked.method.to_string(),
        vehicle_class_id: asked.vehicle_class.to_string(),
        bay_id: asked.bay.to_string(),
        survey_id: asked.survey.map(SurveyId::to_string).unwrap_or_default(),
        verdict: Some(verdict),
        ..v1::Fit::default()
    })
}

fn findings_of<'a>(
    stations: impl Iterator<Item = &'a StationFindings>,
    verdict: Verdict,
) -> Vec<v1::Finding> {
    let with_station =
        stations.flat_map(|found| found.findings.iter().map(|finding| (&found.station, finding)));
    with_station
        .filter(|(_, finding)| finding.verdict == verdict)
        .map(|(station, finding)| finding_message(station, finding))
        .collect()
}

impl From<&Placement> for v1::Placement {
    fn from(placement: &Placement) -> Self {
        let station = placement.station();
        let findings = placement.findings().iter();
        Self {
            station_id: station.to_string(),
            pose: Some(placement.pose().into()),
            findings: findings.map(|finding| finding_message(station, finding)).collect(),
            wheel_plane: placement.wheel_plane().map(Into::into),
            targets: placement.targets().iter().map(Into::into).collect(),
            room: None,
        }
    }
}

impl From<&WheelPlane> for v1::WheelPlane {
    fn from(plane: &WheelPlane) -> Self {
        let [front_left_mm, front_right_mm, rear_left_mm, rear_right_mm] = plane.heights_mm;
        Self {
            front_left_mm,
            front_right_mm,
            rear_left_mm,
            rear_right_mm,
            along_deg: plane.along_deg,
            along_uncertainty_deg: plane.along_u_deg,
            across_deg: plane.across_deg,
            across_uncertainty_deg: plane.across_u_deg,
            twist_mm: plane.twist_mm,
        }
    }
}

impl From<&TargetHeight> for v1::TargetHeight {
    fn from(target: &TargetHeight) -> Self {
        Self {
            zone_id: target.zone.to_string(),
            x_mm: target.at.x_mm,
            y_mm: target.at.y_mm,
            floor_above_vehicle_mm: target.floor_above_vehicle_mm,
            uncertainty_mm: target.uncertainty_mm,
        }
    }
}

/// Writes what was found about one need at a station.
pub fn finding_message(station: &StationId, finding: &Finding) -> v1::Finding {
    let value = |quantity: Quantity| quantity.value;
    let unit = finding.measured.or(finding.limit).map(|quantity| quantity.unit);
    v1::Finding {
        station_id: station.to_string(),
        zone_id: finding.zone.as_ref().map(ToString::to_string).unwrap_or_default(),
        need: finding.need.as_str().to_owned(),
        verdict: v1::FindingVerdict::from(finding.verdict).into(),
        measured: finding.measured.map(value),
        limit: finding.limit.map(value),
        unit: unit.map(unit_text).unwrap_or_default().to_owned(),
        uncertainty: finding.uncertainty,
        sentence: finding.to_string(),
    }
}

/// The contract writes a plain number's unit as `1`.
pub(crate) fn unit_text(unit: Unit) -> &'static str {
    match unit {
        Unit::Millimetre
        | Unit::SquareMillimetre
        | Unit::Degree
        | Unit::Lux
        | Unit::Kelvin
        | Unit::Minute => unit.as_str(),
        Unit::Ratio => "1",
    }
}

impl From<Verdict> for v1::FindingVerdict {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Conforms => Self::Conforms,
            Verdict::ConfirmAtStart => Self::ConfirmAtStart,
            Verdict::Undecided => Self::Undecided,
            Verdict::DoesNotConform => Self::DoesNotConform,
        }
    }
}

#[cfg(test)]
mod tests;
