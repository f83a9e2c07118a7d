//! Every reason that the core gives about a need, and where the demo shop shows it.
//!
//! The table below is the match over the core's reasons: a new one does not compile until it has its place
//! here. A reason is shown where a fit holds, fails or stays undecided as the reason alone would make it.

use super::{COMPACT, DEMO, LONG, SALOON, SURVEYS, bay_work, fit_of};
use baywright_core::fit::{Detail, Fit, StationFindings, Verdict};

/// Where a reason is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Shown {
    /// With this verdict, at this procedure, vehicle class and bay.
    At(Verdict, &'static str, &'static str, &'static str),
    /// Nowhere in a shop whose surveys are looked up by bay and day.
    Nowhere(&'static str),
}

use Shown::{At, Nowhere};
use Verdict::{ConfirmAtStart, Conforms, DoesNotConform, Undecided};

macro_rules! reasons {
    ($($reason:ident => $shown:expr,)+) => {
        /// Every reason by its name.
        const REASONS: &[(&str, Shown)] = &[$((stringify!($reason), $shown),)+];

        fn name_of(detail: &Detail) -> &'static str {
            match detail { $(Detail::$reason { .. } => stringify!($reason),)+ }
        }
    };
}

const SET_TARGET: &str = "front-camera-set-target";

reasons! {
    Holds => At(Conforms, "front-camera-static", SALOON, "bay-1"),
    Clear => At(Conforms, "front-camera-static", SALOON, "bay-1"),
    FreeOfMetal => At(Conforms, "front-radar-static", SALOON, "bay-1"),
    NoDaylightOpening => At(Conforms, "front-camera-static", SALOON, "bay-10"),
    OutsideFloor => At(DoesNotConform, "front-radar-static", COMPACT, "bay-3"),
    Obstructed => At(DoesNotConform, "front-radar-static", COMPACT, "bay-6"),
    CeilingLow => At(DoesNotConform, "windshield-glass", LONG, "bay-6"),
    MetalInside => At(DoesNotConform, "front-radar-static", COMPACT, "bay-9"),
    SlopeTooSteep => At(DoesNotConform, "front-camera-static", COMPACT, "bay-2"),
    FloorUneven => At(DoesNotConform, "lidar-static", COMPACT, "bay-11"),
    TooDark => At(DoesNotConform, "windshield-glass", COMPACT, "bay-5"),
    TooBright => At(DoesNotConform, SET_TARGET, SALOON, "bay-10"),
    LightUneven => At(DoesNotConform, "front-camera-static", COMPACT, "bay-10"),
    ColourOff => At(DoesNotConform, "surround-view-mats", COMPACT, "bay-11"),
    ZoneWithoutShape => At(DoesNotConform, "ride-height-gauges", COMPACT, "bay-1"),
    TooUncertain => At(Undecided, "windshield-glass", SALOON, "bay-12"),
    HeightsTooUncertain => At(Undecided, "front-radar-static", SALOON, "bay-13"),
    HeightsScatter => At(Undecided, "front-radar-static", SALOON, "bay-12"),
    ResidualTooUncertain => At(Undecided, "front-radar-static", SALOON, "bay-12"),
    LeftToCompensation => At(Conforms, SET_TARGET, SALOON, "bay-11"),
    Compensated => At(ConfirmAtStart, SET_TARGET, SALOON, "bay-11"),
    BeyondStand => At(DoesNotConform, SET_TARGET, SALOON, "bay-12"),
    VehicleFloorNotSurveyed => At(Undecided, SET_TARGET, SALOON, "bay-16"),
    NotSurveyed => At(Undecided, "front-camera-static", SALOON, "bay-8"),
    SurveyOfOtherBay => Nowhere("a fit is given the survey of its own bay"),
    OutlineChanged => Nowhere("no outline of the demo has changed since its survey"),
    SurveyNotYetTaken => Nowhere("no survey of the demo lies in the future"),
    SurveyExpired => At(Undecided, "front-camera-static", SALOON, "bay-7"),
    TooFewPoints => At(Undecided, "front-radar-static", SALOON, "bay-15"),
    PointsOnOneLine => At(Undecided, "front-radar-static", SALOON, "bay-14"),
    NotSurveyedThere => At(Undecided, "lidar-static", SALOON, "bay-16"),
    PointsTooSparse => At(Undecided, "front-camera-static", SALOON, "bay-16"),
    TooFewReadings => At(Undecided, "lidar-static", SALOON, "bay-15"),
    ReadingsOnOneLine => At(Undecided, "windshield-glass", SALOON, "bay-14"),
    ReadingsTooSparse => At(Undecided, "windshield-glass", SALOON, "bay-15"),
    LightExpired => At(Undecided, "windshield-glass", SALOON, "bay-16"),
    LampsOut => At(Undecided, "windshield-glass", SALOON, "bay-13"),
    ColourNotMeasured => At(Undecided, "front-camera-static", SALOON, "bay-14"),
    SunToConfirm => At(ConfirmAtStart, "front-camera-static", SALOON, "bay-4"),
    SunInViewToConfirm => At(ConfirmAtStart, SET_TARGET, SALOON, "bay-2"),
    MetalBeyondBayToConfirm => At(ConfirmAtStart, "front-radar-static", COMPACT, "bay-3"),
    RestToConfirm => At(ConfirmAtStart, "front-camera-static", SALOON, "bay-1"),
    BackgroundToConfirm => At(ConfirmAtStart, "front-camera-static", SALOON, "bay-1"),
}

/// What was found in a fit, and its verdict.
fn found(fit: Fit) -> (Vec<(&'static str, Verdict)>, Verdict) {
    let (stations, verdict) = match fit {
        Fit::Fits(placement) => {
            let names = placement.findings().iter();
            return (names.map(|one| (name_of(&one.detail), one.verdict)).collect(), Conforms);
        }
        Fit::DoesNotFit(stations) => (stations, DoesNotConform),
        Fit::Undecided(stations) => (stations, Undecided),
        Fit::NeedsNoBay => (Vec::<StationFindings>::new(), Conforms),
    };
    let all = stations.iter().flat_map(|station| &station.findings);
    (all.map(|one| (name_of(&one.detail), one.verdict)).collect(), verdict)
}

#[test]
fn every_reason_is_shown_where_the_table_says() {
    let mut wrong = Vec::new();
    for (name, shown) in REASONS {
        let At(verdict, procedure, class, bay) = *shown else { continue };
        let (names, whole) = found(fit_of(procedure, class, bay));
        let decides = verdict == whole || matches!(verdict, Conforms | ConfirmAtStart);
        if !names.contains(&(*name, verdict)) || !decides {
            wrong.push(format!("{name}: {procedure}, {class}, {bay}: {whole:?} {names:?}"));
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn what_the_table_shows_nowhere_is_shown_nowhere() {
    let nowhere =
        |name: &str| REASONS.iter().any(|(one, shown)| *one == name && matches!(shown, Nowhere(_)));
    for (procedure, _) in bay_work() {
        for class in DEMO.parts().vehicle_classes.iter().map(|class| class.id().as_str()) {
            for (bay, _) in SURVEYS {
                let (names, _) = found(fit_of(procedure, class, bay));
                let shown = names.into_iter().find(|(name, _)| nowhere(name));
                assert_eq!(shown, None, "{procedure}, {class}, {bay}");
            }
        }
    }
}

/// The second hall is there to show what else it takes, not to take work.
#[test]
fn nothing_that_is_called_for_is_done_in_the_second_hall() {
    let mut hosted = Vec::new();
    for (procedure, _) in bay_work().filter(|(one, _)| *one != "ride-height-gauges") {
        for class in DEMO.parts().vehicle_classes.iter().map(|class| class.id().as_str()) {
            for bay in ["bay-12", "bay-13", "bay-14", "bay-15", "bay-16"] {
                if matches!(fit_of(procedure, class, bay), Fit::Fits(_)) {
                    hosted.push((procedure, class, bay));
                }
            }
        }
    }
    assert_eq!(hosted, []);
}
