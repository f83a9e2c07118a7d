//! Fits: which bay can host which work, and why not.

use super::caution;
use crate::table::Table;
use baywright_api::v1::{Finding, FindingVerdict, Fit, fit::Verdict};

/// One line per fit, then every reason of those that do not fit or are undecided, and every target
/// that has to be set.
pub(crate) fn list(fits: &[Fit]) -> String {
    let mut table =
        Table::new(&["procedure", "method", "class", "bay", "verdict", "station", "survey"]);
    let mut reasons = Vec::new();
    for fit in fits {
        let (verdict, station, findings): (_, _, &[Finding]) = match &fit.verdict {
            Some(Verdict::Fits(placement)) => {
                ("fits", placement.station_id.clone(), &placement.findings)
            }
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
        let against = findings.iter().filter(|finding| {
            // Where work fits, a target that has to be set is told all the same.
            finding.need == "target-compensation"
                || !matches!(
                    finding.verdict(),
                    FindingVerdict::Conforms | FindingVerdict::ConfirmAtStart
                )
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
    parts.push(caution(""));
    parts.join("\n\n")
}
