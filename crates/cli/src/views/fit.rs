//! Fits: which bay can host which work, and why not.

use super::caution;
use crate::table::Table;
use baywright_api::v1::{Finding, FindingVerdict, Fit, SunHours, SunState, fit::Verdict};

/// One line per fit, then every reason of those that do not fit or are undecided.
pub(crate) fn list(fits: &[Fit]) -> String {
    let mut table =
        Table::new(&["procedure", "method", "class", "bay", "verdict", "station", "survey"]);
    let mut reasons = Vec::new();
    let mut sun = Vec::new();
    for fit in fits {
        let (verdict, station, findings): (_, _, &[Finding]) = match &fit.verdict {
            Some(Verdict::Fits(placement)) => ("fits", placement.station_id.clone(), &[]),
            Some(Verdict::DoesNotFit(unfit)) => ("does not fit", String::new(), &unfit.findings),
            Some(Verdict::Undecided(undecided)) => {
                ("undecided", String::new(), &undecided.findings)
            }
            None => ("not stated", String::new(), &[]),
        };
        table.row([
            fit.procedure_id.clone(),
            fit.method_id.clone(),
            fit.vehicle_class_id.clone(),
            fit.bay_id.clone(),
            verdict.to_owned(),
            station,
            fit.survey_id.clone(),
        ]);
        if let Some(hours) = &fit.sun
            && !matches!(hours.state(), SunState::NotAsked | SunState::NoOpening)
        {
            sun.push(sun_line(fit, hours));
        }
        let against = findings.iter().filter(|finding| {
            !matches!(finding.verdict(), FindingVerdict::Conforms | FindingVerdict::ConfirmAtStart)
        });
        for finding in against {
            reasons.push(format!(
                "{}/{}, {}, {}, {}: {}",
                fit.procedure_id,
                fit.method_id,
                fit.vehicle_class_id,
                fit.bay_id,
                finding.station_id,
                finding.sentence
            ));
        }
    }
    if table.is_empty() {
        return "No fits: nothing of that name is to be done in a bay.".to_owned();
    }
    let mut parts = vec![table.text()];
    if !reasons.is_empty() {
        parts.push(reasons.join("\n"));
    }
    if !sun.is_empty() {
        parts.push(format!("Sun:\n{}", sun.join("\n")));
    }
    parts.push(caution(""));
    parts.join("\n\n")
}

fn sun_line(fit: &Fit, hours: &SunHours) -> String {
    let Fit { procedure_id, method_id, vehicle_class_id, bay_id, .. } = fit;
    let assumed: Vec<_> = hours.assumptions.iter().map(|one| format!(" {one}.")).collect();
    let assumed = assumed.concat();
    let work = format!("{procedure_id}/{method_id}, {vehicle_class_id}, {bay_id}");
    format!("  {work}: {}{assumed}", hours.sentence)
}
