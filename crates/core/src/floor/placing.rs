//! How vehicles may stand in a bay away from its stations: at which headings, how exactly, and
//! whether work is planned there.

use super::{Bay, BayDraft};
use crate::draft_checks::at_most;
use crate::fault::{Fault, FaultList, Faults};
use crate::region::HEADING_TOLERANCE_DEG_MAX;

/// The most headings of a bay.
pub const HEADINGS_MAX: usize = 16;

/// How vehicles may stand away from the stations.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Placing {
    /// Degrees counter-clockwise from floor +x to vehicle +x, from -360 to 360, at most
    /// [`HEADINGS_MAX`]; none for those of the stations.
    pub headings_deg: Vec<f64>,
    /// How far a heading may be off to either side, 0 to [`HEADING_TOLERANCE_DEG_MAX`] degrees:
    /// every zone has room at every heading within it.
    pub tolerance_deg: f64,
    /// Whether work is planned and pulled at such poses where no station fits.
    pub planned: bool,
}

impl Placing {
    pub(super) fn check(&self) -> Result<(), Faults> {
        let mut faults = FaultList::new();
        at_most(&mut faults, "headings_deg", self.headings_deg.len(), HEADINGS_MAX);
        for (at, heading) in self.headings_deg.iter().enumerate() {
            let field = format!("headings_deg[{at}]");
            faults.number_within(&field, *heading, -360.0, 360.0, "degrees");
            if self.headings_deg[..at].iter().any(|one| one.to_bits() == heading.to_bits()) {
                faults.push(Fault::new(
                    field,
                    *heading,
                    "differ from the headings before it",
                    "state each heading once",
                ));
            }
        }
        let most = HEADING_TOLERANCE_DEG_MAX;
        faults.number_within("tolerance_deg", self.tolerance_deg, 0.0, most, "degrees");
        faults.finish(())
    }
}

impl Bay {
    /// Checks and takes a bay with what it says about poses away from its stations.
    ///
    /// # Errors
    /// Every fault of the bay ([`Bay::new`]) and of the placing, the latter under `placing`.
    pub fn with_placing(draft: BayDraft, placing: Placing) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        let _checked: Option<()> = faults.take("placing", placing.check());
        match Self::new(draft) {
            Ok(bay) => faults.finish(bay.placed(placing)),
            Err(refused) => {
                refused.list().iter().for_each(|fault| faults.push(fault.clone()));
                Err(faults.finish(()).err().unwrap_or(refused))
            }
        }
    }

    /// The headings at which a vehicle may stand away from the stations, each once: those that the
    /// bay states, else those of its stations.
    pub fn headings_deg(&self) -> Vec<f64> {
        let stated = &self.placing().headings_deg;
        let painted = self.stations().iter().map(|station| station.pose.heading_deg());
        let all: Vec<f64> = if stated.is_empty() { painted.collect() } else { stated.clone() };
        let mut once: Vec<f64> = Vec::new();
        for heading in all {
            if !once.iter().any(|one| one.to_bits() == heading.to_bits()) {
                once.push(heading);
            }
        }
        once
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case::as_stations(vec![], 0.0, &[])]
    #[case::nose_in_and_out(vec![0.0, 180.0], 1.0, &[])]
    #[case::twice(vec![90.0, 90.0], 0.0, &["headings_deg[1]"])]
    #[case::no_number(vec![f64::NAN], 0.0, &["headings_deg[0]"])]
    #[case::too_loose(vec![], 10.5, &["tolerance_deg"])]
    #[case::too_many((0..17).map(f64::from).collect(), 0.0, &["headings_deg"])]
    fn headings_are_few_and_within_a_turn(
        #[case] headings_deg: Vec<f64>,
        #[case] tolerance_deg: f64,
        #[case] fields: &[&str],
    ) {
        let checked = Placing { headings_deg, tolerance_deg, planned: false }.check();
        let faults = checked.err().map(Faults::into_list).unwrap_or_default();
        assert_eq!(faults.iter().map(|one| one.field.as_str()).collect::<Vec<_>>(), fields);
    }
}
