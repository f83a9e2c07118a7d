//! The names by which things are told apart, each a type of its own.
//!
//! A name is chosen by a person or by the sending system, is read aloud across a shop and typed
//! at a bench: 1 to 64 characters out of letters, digits, `.`, `_` and `-`, the first a letter or
//! a digit.

use crate::fault::{Fault, Faults};
use std::fmt;

/// The longest name, in characters.
pub const ID_LENGTH_MAX: usize = 64;

fn check(kind: &str, text: &str) -> Result<(), Faults> {
    let first_fits = text.chars().next().is_some_and(|c| c.is_ascii_alphanumeric());
    let rest_fits = text.chars().all(|c| c.is_ascii_alphanumeric() || "._-".contains(c));
    if first_fits && rest_fits && text.len() <= ID_LENGTH_MAX {
        return Ok(());
    }
    Err(Fault::new(
        kind,
        format!("\"{text}\""),
        format!("be 1 to {ID_LENGTH_MAX} letters, digits, dots, underscores or hyphens, the first a letter or digit"),
        "choose a short name without spaces, such as \"bay-1\"",
    )
    .into())
}

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident = $kind:literal;)+) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(String);

        impl $name {
            /// Checks and takes a name.
            ///
            /// # Errors
            /// A fault whose field is the name's own kind, when the text is empty, too long or
            /// holds a character that names do not have.
            pub fn new(text: impl Into<String>) -> Result<Self, Faults> {
                let text = text.into();
                check($kind, &text).map(|()| Self(text))
            }

            /// The name as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    )+};
}

ids! {
    /// One site.
    ShopId = "shop_id";
    /// A named part of a shop's floor.
    BayId = "bay_id";
    /// A painted mark in a bay: a known pose.
    StationId = "station_id";
    /// Anywhere a vehicle may stand outside of the bays.
    SpotId = "spot_id";
    /// A body that stands in a bay: a column, a bench, a lift.
    ObstructionId = "obstruction_id";
    /// A window, skylight or door that lets daylight in.
    DaylightOpeningId = "daylight_opening_id";
    /// What was measured in a bay on a day.
    SurveyId = "survey_id";
    /// A class of vehicles of one size.
    VehicleClassId = "vehicle_class_id";
    /// What one piece of work demands, written down by the shop.
    ProcedureId = "procedure_id";
    /// One way of doing a procedure.
    MethodId = "method_id";
    /// A region fixed to the vehicle.
    ZoneId = "zone_id";
    /// A sensor's field of view into which the sun must not shine; unique within the method.
    SunFreeViewId = "sun_free_view_id";
    /// A question answered at the vehicle before work starts.
    StartCheckId = "start_check_id";
    /// The shop's own rule from operations to tasks.
    CallRuleId = "call_rule_id";
    /// A person who does the work.
    TechnicianId = "technician_id";
    /// A skill that is present for a task.
    RoleId = "role_id";
    /// One piece of equipment.
    UnitId = "unit_id";
    /// A kind of equipment of which a shop may own several units.
    UnitKindId = "unit_kind_id";
    /// Who sent a job.
    AccountId = "account_id";
    /// One vehicle's visit.
    JobId = "job_id";
    /// One line of an estimate, named by its sender.
    OperationId = "operation_id";
    /// What an operation does, in the shop's list: `windshield-replaced`.
    OperationCode = "operation_code";
    /// One piece of work on a job; unique within the job.
    TaskId = "task_id";
    /// A state of the world that gates tasks; unique within the job.
    PrerequisiteId = "prerequisite_id";
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case::plain("bay-1", true)]
    #[case::digits_first("2nd_bay.left", true)]
    #[case::empty("", false)]
    #[case::space("bay 1", false)]
    #[case::hyphen_first("-bay", false)]
    #[case::letters_of_other_scripts("bäy", false)]
    fn a_name_is_short_and_can_be_typed(#[case] text: &str, #[case] fits: bool) {
        assert_eq!(BayId::new(text).is_ok(), fits);
    }

    #[test]
    fn a_name_too_long_is_refused_with_field_and_limit() {
        let faults = BayId::new("b".repeat(65)).unwrap_err();
        assert_eq!(faults.list()[0].field, "bay_id");
        assert!(faults.list()[0].limit.contains("64"));
    }
}
