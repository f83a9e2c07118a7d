//! Kinds and states: each enum of the core and its twin in the contract.
//!
//! A number that the contract does not know, and the zero that says "not stated", are refused with
//! the names there are.

use crate::v1;
use baywright_core::daylight::DoorState;
use baywright_core::demand::{
    LightPlane, PrerequisiteKind, SensorFamily, TaskKind, WorkPlace, XDatum, YDatum,
};
use baywright_core::fault::{Fault, FaultList, Faults};
use baywright_core::floor::DaylightOpeningKind;
use baywright_core::survey::LampState;
use baywright_core::work::{
    ArrivalKind, AskedWhen, FailureCause, JobState, OperationState, PrerequisiteState, TaskState,
};

/// An enum of the core that has numbers in the contract.
pub trait Kind: Copy {
    /// Reads a number of the contract.
    ///
    /// # Errors
    /// A fault with the empty path for the zero and for an unknown number.
    fn from_number(number: i32) -> Result<Self, Faults>;

    /// The number in the contract.
    fn number(self) -> i32;
}

/// Reads a number where zero means that nothing is stated.
///
/// # Errors
/// A fault with the empty path for an unknown number.
pub fn stated_kind<K: Kind>(number: i32) -> Result<Option<K>, Faults> {
    if number == 0 { Ok(None) } else { K::from_number(number).map(Some) }
}

/// Notes a refused kind at `field`, and goes on with `stand_in`.
pub(crate) fn kind_or<K: Kind>(faults: &mut FaultList, field: &str, number: i32, stand_in: K) -> K {
    faults.take(field, K::from_number(number)).unwrap_or(stand_in)
}

macro_rules! twins {
    ($($kind:ident { $($variant:ident)+ })+) => {$(
        impl From<$kind> for v1::$kind {
            fn from(kind: $kind) -> Self {
                match kind { $($kind::$variant => Self::$variant,)+ }
            }
        }

        impl TryFrom<v1::$kind> for $kind {
            type Error = Faults;

            fn try_from(message: v1::$kind) -> Result<Self, Faults> {
                match message {
                    v1::$kind::Unspecified => {
                        let known = [$(v1::$kind::$variant.as_str_name()),+];
                        Err(unknown("not stated".to_owned(), &known))
                    }
                    $(v1::$kind::$variant => Ok(Self::$variant),)+
                }
            }
        }

        impl Kind for $kind {
            fn from_number(number: i32) -> Result<Self, Faults> {
                match v1::$kind::try_from(number) {
                    Ok(message) => Self::try_from(message),
                    Err(_no_such_number) => {
                        let known = [$(v1::$kind::$variant.as_str_name()),+];
                        Err(unknown(format!("the unknown number {number}"), &known))
                    }
                }
            }

            fn number(self) -> i32 {
                v1::$kind::from(self).into()
            }
        }
    )+};
}

fn unknown(value: String, known: &[&str]) -> Faults {
    let limit = format!("be one of {}", known.join(", "));
    Fault::new("", value, limit, "choose one of these").into()
}

twins! {
    SensorFamily {
        FrontCamera FrontRadar RearCornerRadar SurroundView Lidar NightVision SteeringAngle
    }
    TaskKind {
        Inspection PreScan Glass Alignment Calibration RoadDrive PostScan VendorVisit
    }
    WorkPlace { Bay Road Anywhere }
    PrerequisiteKind {
        VehicleOnSite Authorised PartsReceived AlignmentDone NoBlockingCodes TyresByGauge
        SteeringCentred GlassClean GlassReplaced FuelAndLoad NoModifications BodyworkDone
        SteeringAngleZero Other
    }
    XDatum { FrontBumper FrontAxle RearAxle RearBumper }
    YDatum { Centreline LeftSide RightSide }
    LightPlane { Horizontal Vertical }
    LampState { AllOn SomeOut }
    DaylightOpeningKind { Window Skylight Door }
    ArrivalKind { Waiting DropOff TowIn }
    AskedWhen { Ahead AtStart }
    PrerequisiteState { Open Booked OnOrder Done Failed }
    TaskState {
        Proposed Open Held Running Paused Sublet Passed Failed Declined Cancelled
    }
    JobState { Expected OnSite HandedBack Cancelled }
    OperationState { Called NeedsDecision Decided Withdrawn }
    FailureCause { Environment Preparation Vehicle Equipment Procedure }
}

impl From<DoorState> for v1::DoorState {
    fn from(state: DoorState) -> Self {
        match state {
            DoorState::Open => Self::Open,
            DoorState::ClosedOpaque => Self::Closed,
            DoorState::ClosedGlazed => Self::ClosedGlazed,
        }
    }
}

impl Kind for DoorState {
    fn from_number(number: i32) -> Result<Self, Faults> {
        let known = ["DOOR_STATE_OPEN", "DOOR_STATE_CLOSED", "DOOR_STATE_CLOSED_GLAZED"];
        match v1::DoorState::try_from(number) {
            Ok(v1::DoorState::Open) => Ok(Self::Open),
            Ok(v1::DoorState::Closed) => Ok(Self::ClosedOpaque),
            Ok(v1::DoorState::ClosedGlazed) => Ok(Self::ClosedGlazed),
            Ok(v1::DoorState::Unspecified) => Err(unknown("not stated".to_owned(), &known)),
            Err(_no_such_number) => Err(unknown(format!("the unknown number {number}"), &known)),
        }
    }

    fn number(self) -> i32 {
        v1::DoorState::from(self).into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check_every_number<K: Kind + std::fmt::Debug + PartialEq>(count: i32) {
        for number in 1..=count {
            assert_eq!(K::from_number(number).unwrap().number(), number);
        }
        for number in [-1, 0, count + 1] {
            let faults = K::from_number(number).unwrap_err();
            assert_eq!(faults.list()[0].field, "");
        }
        assert_eq!(stated_kind::<K>(0).unwrap(), None);
    }

    #[test]
    fn every_number_of_the_contract_goes_there_and_back() {
        check_every_number::<SensorFamily>(7);
        check_every_number::<TaskKind>(8);
        check_every_number::<WorkPlace>(3);
        check_every_number::<PrerequisiteKind>(14);
        check_every_number::<XDatum>(4);
        check_every_number::<YDatum>(3);
        check_every_number::<LightPlane>(2);
        check_every_number::<DaylightOpeningKind>(3);
        check_every_number::<DoorState>(3);
        check_every_number::<ArrivalKind>(3);
        check_every_number::<AskedWhen>(2);
        check_every_number::<PrerequisiteState>(5);
        check_every_number::<TaskState>(10);
        check_every_number::<JobState>(4);
        check_every_number::<OperationState>(4);
        check_every_number::<FailureCause>(5);
    }

    #[test]
    fn a_refusal_names_what_there_is() {
        let fault = WorkPlace::from_number(9).unwrap_err().into_list().remove(0);
        assert_eq!(fault.value, "the unknown number 9");
        assert!(fault.limit.contains("WORK_PLACE_ROAD"), "{fault}");
    }
}
