//! A mix of work: what is asked how often.

use crate::fault::{FaultList, Faults};
use crate::ids::{ProcedureId, VehicleClassId};

/// The most kinds of work of a mix.
pub const MIX_MAX: usize = 500;

/// A kind of work and how often it is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkAsked {
    /// The procedure.
    pub procedure: ProcedureId,
    /// The vehicle class.
    pub class: VehicleClassId,
    /// How often a week, above 0 to 10000.
    pub per_week: f64,
}

impl WorkAsked {
    /// Adds up work of the same kind, by procedure and class.
    ///
    /// # Errors
    /// A fault for a number a week out of range, and for more than [`MIX_MAX`] kinds.
    pub fn mix(work: impl IntoIterator<Item = Self>) -> Result<Vec<Self>, Faults> {
        let mut faults = FaultList::new();
        let mut mix: Vec<Self> = Vec::new();
        for (at, one) in work.into_iter().enumerate() {
            let field = format!("[{at}].per_week");
            faults.number_within(&field, one.per_week, f64::MIN_POSITIVE, 10_000.0, "a week");
            let same =
                |held: &&mut Self| held.procedure == one.procedure && held.class == one.class;
            match mix.iter_mut().find(same) {
                Some(held) => held.per_week += one.per_week,
                None => mix.push(one),
            }
        }
        crate::draft_checks::at_most(&mut faults, "", mix.len(), MIX_MAX);
        mix.sort_by(|a, b| (&a.procedure, &a.class).cmp(&(&b.procedure, &b.class)));
        faults.finish(mix)
    }
}
