//! Bays: what each fits, and the plainest reason why it does not fit something else.

use super::lines::wrap;
use crate::demo::show::Seen;
use baywright_api::v1::{Finding, FindingVerdict, Fit, fit::Verdict};
use std::collections::BTreeMap;

/// Entries for each bay: the procedures it fits, when the sun keeps a run out of it, and one that it does
/// not fit, with a reason.
pub(super) fn text(seen: &Seen) -> String {
    let of = |bay: &String| seen.fits.iter().filter(|fit| fit.bay_id == *bay).collect::<Vec<_>>();
    seen.bays.iter().map(|bay| one_bay(seen, bay, &of(bay))).collect()
}

fn one_bay(seen: &Seen, bay: &str, fits: &[&Fit]) -> String {
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
    let mut text = wrap(&fitting, &format!("  {bay:<6}  fits     "), INDENT);
    if let Some(sun) = sun(seen, fits) {
        text.push_str(&wrap(&sun, "          sun      ", INDENT));
    }
    if let Some(reason) = reason(seen, fits) {
        text.push_str(&wrap(&reason, "          but not  ", INDENT));
    }
    text
}

/// As wide as `  bay-1   fits     `.
const INDENT: &str = "                   ";

/// The sun in the way of a run, of the first fit in whose way it is; with what is assumed of blinds.
fn sun(seen: &Seen, fits: &[&Fit]) -> Option<String> {
    let order = |fit: &Fit| seen.procedures.iter().position(|one| *one == fit.procedure_id);
    let bound = fits.iter().filter_map(|fit| Some((*fit, fit.sun.as_ref()?)));
    let (fit, sun) = bound
        .filter(|(_, sun)| !sun.sunlit.is_empty())
        .min_by_key(|(fit, _)| (order(fit), &fit.vehicle_class_id))?;
    let assumed: Vec<_> = sun.assumptions.iter().map(|one| format!(" ({one})")).collect();
    let work = format!("{} for a {}", fit.procedure_id, fit.vehicle_class_id);
    Some(format!("{work}: {}{}", sun.sentence, assumed.concat()))
}

/// Of the first vehicle class that does not fit all, the fit that fails by the fewest findings, with the
/// first of them; among equals a calibration goes first, and what the vehicle itself is too large for
/// goes last.
fn reason(seen: &Seen, fits: &[&Fit]) -> Option<String> {
    let order = |fit: &Fit| seen.procedures.iter().position(|one| *one == fit.procedure_id);
    let failing = fits.iter().filter_map(|fit| Some((*fit, against(fit)?)));
    let (fit, against) = failing.min_by_key(|(fit, against)| {
        let too_large = against.iter().any(|one| one.zone_id.is_empty());
        (too_large, &fit.vehicle_class_id, against.len(), order(fit))
    })?;
    let first = against.first()?;
    Some(format!(
        "{} for a {}, at {}: {}",
        fit.procedure_id, fit.vehicle_class_id, first.station_id, first.sentence
    ))
}

/// The findings against a fit at the station with the fewest of them; none where it fits.
fn against(fit: &Fit) -> Option<Vec<&Finding>> {
    let findings: &[Finding] = match fit.verdict.as_ref()? {
        Verdict::Fits(_) => return None,
        Verdict::DoesNotFit(unfit) => &unfit.findings,
        Verdict::Undecided(undecided) => &undecided.findings,
    };
    let mut stations: BTreeMap<&str, Vec<&Finding>> = BTreeMap::new();
    for finding in findings {
        let holds =
            matches!(finding.verdict(), FindingVerdict::Conforms | FindingVerdict::ConfirmAtStart);
        let against = stations.entry(&finding.station_id).or_default();
        if !holds {
            against.push(finding);
        }
    }
    stations.into_values().filter(|against| !against.is_empty()).min_by_key(Vec::len)
}
