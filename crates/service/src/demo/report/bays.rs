//! Bays: what each fits, and one reason why it does not fit something.

use super::lines::wrap;
use baywright_api::v1::{Finding, FindingVerdict, Fit, fit::Verdict};
use std::collections::BTreeMap;

/// Two entries for each bay: the procedures it fits, and the first that it does not, with a reason.
pub(super) fn text(fits: &[Fit]) -> String {
    let mut bays: BTreeMap<&str, Vec<&Fit>> = BTreeMap::new();
    for fit in fits {
        bays.entry(&fit.bay_id).or_default().push(fit);
    }
    bays.into_iter().map(|(bay, fits)| one_bay(bay, &fits)).collect()
}

fn one_bay(bay: &str, fits: &[&Fit]) -> String {
    let mut counts: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    for fit in fits {
        let (fitting, all) = counts.entry(&fit.procedure_id).or_default();
        *fitting += usize::from(matches!(fit.verdict, Some(Verdict::Fits(_))));
        *all += 1;
    }
    let fitting = counts.into_iter().filter(|(_, (fitting, _))| *fitting > 0);
    let fitting: Vec<_> = fitting
        .map(|(procedure, (fitting, all))| {
            if fitting == all {
                procedure.to_owned()
            } else {
                format!("{procedure} ({fitting} of {all} vehicle classes)")
            }
        })
        .collect();
    let fitting = if fitting.is_empty() { "nothing".to_owned() } else { fitting.join(", ") };
    let mut text = wrap(&fitting, &format!("  {bay}  fits      "), INDENT);
    if let Some(reason) = reason(fits) {
        text.push_str(&wrap(&reason, "         but not  ", INDENT));
    }
    text
}

/// As wide as `  bay-1  fits      `.
const INDENT: &str = "                   ";

/// The first fit that does not hold, with its first finding.
fn reason(fits: &[&Fit]) -> Option<String> {
    fits.iter().find_map(|fit| {
        let findings: &[Finding] = match fit.verdict.as_ref()? {
            Verdict::Fits(_) => return None,
            Verdict::DoesNotFit(unfit) => &unfit.findings,
            Verdict::Undecided(undecided) => &undecided.findings,
        };
        let against = findings.iter().find(|finding| {
            !matches!(finding.verdict(), FindingVerdict::Conforms | FindingVerdict::ConfirmAtStart)
        })?;
        Some(format!(
            "{} for a {}, at {}: {}",
            fit.procedure_id, fit.vehicle_class_id, against.station_id, against.sentence
        ))
    })
}
