//! What is expected from Tuesday on, as it was written down on Monday evening: estimates, decisions,
//! what is met and what is awaited. All of it is invented.

use super::{Floor, monday, tuesday, wednesday};
use crate::demo::{DemoError, files};
use baywright_api::v1::PrerequisiteState;

/// The first number of a job whose estimate came on Monday evening.
const FIRST_EXPECTED: &str = "J-1000";

/// Jobs of which a person has accepted some tasks only.
const ACCEPTED_IN_PART: [(&str, &[&str]); 1] = [
    // Somebody has to say first what the unknown line calls for.
    ("J-1003", &["inspection", "pre-scan", "alignment", "steering-angle", "post-scan"]),
];

/// Nobody has looked at it yet.
const UNDECIDED: &str = "J-1012";

/// Jobs for which nobody has authorised the work yet.
const NOT_AUTHORISED: [&str; 3] = ["J-1003", "J-1012", "J-1024"];

/// Job, prerequisite and on what evidence it is met.
const MET: [(&str, &str, &str); 10] = [
    ("J-1001", "front-bodywork", "bumper fitted on Monday, paint dry to the touch (invented)"),
    ("J-1001", "glass-parts", "windshield and mouldings unpacked, no damage (invented)"),
    ("J-1002", "rear-bodywork", "bumper fitted on Monday, paint dry to the touch (invented)"),
    ("J-1008", "front-bodywork", "bumper fitted on Monday (invented)"),
    ("J-1013", "front-bodywork", "bumper fitted on Monday (invented)"),
    ("J-1013", "rear-bodywork", "bumper fitted on Monday (invented)"),
    ("J-1014", "rear-bodywork", "bumper fitted on Monday (invented)"),
    ("J-1016", "glass-parts", "windshield and mouldings unpacked, no damage (invented)"),
    ("J-1022", "front-bodywork", "bumper fitted on Monday (invented)"),
    ("J-1023", "front-bodywork", "bumper fitted on Monday (invented)"),
];

/// Sends it.
pub(super) async fn set_up(floor: Floor<'_>) -> Result<(), DemoError> {
    floor.hand.move_to(monday(17, 30));
    let caller = floor.caller;
    decided(floor).await?;
    for estimate in files::estimates()? {
        if *estimate.job_id < *FIRST_EXPECTED {
            continue;
        }
        let job = estimate.job_id.clone();
        caller.submit_estimate(estimate).await?;
        let in_part = ACCEPTED_IN_PART.iter().find(|(other, _)| *other == job);
        if job != UNDECIDED {
            caller.accept(&job, in_part.map_or(&[], |(_, tasks)| tasks)).await?;
        }
        if !NOT_AUTHORISED.contains(&job.as_str()) {
            caller.sign_off(&job, "authorised", "insurer's number on the order (invented)").await?;
        }
    }
    for (job, prerequisite, evidence) in MET {
        caller.sign_off(job, prerequisite, evidence).await?;
    }
    awaited(floor).await
}

/// Monday's jobs that a person had to decide about.
async fn decided(floor: Floor<'_>) -> Result<(), DemoError> {
    // The tow bar stands before both rear radars, so somebody decides that they are aimed again.
    let reason = "the bar is mounted behind the bumper's cover (invented)";
    let procedures = ["rear-corner-radar-static"];
    floor.caller.decide_operation(("J-0908", "1"), &procedures, reason).await?;
    floor.caller.accept("J-0908", &[]).await?;
    floor.caller.sign_off("J-0908", "authorised", "order signed at the desk (invented)").await?;
    floor.caller.decline("J-0909", &["glass"], "a fitter from outside sets it (invented)").await?;
    floor.caller.accept("J-0909", &[]).await?;
    floor.caller.sign_off("J-0909", "authorised", "order signed at the desk (invented)").await?;
    floor.caller.record_arrival("J-0909", "yard", "K-9").await
}

/// What is not met yet and when it is expected. One of them was expected on Monday afternoon, and
/// nobody has confirmed it.
async fn awaited(floor: Floor<'_>) -> Result<(), DemoError> {
    use PrerequisiteState::{Booked, OnOrder};
    let awaited = [
        ("J-1004", "glass-parts", OnOrder, wednesday(8, 30)),
        ("J-1005", "front-bodywork", Booked, monday(16, 0)),
        ("J-1011", "vendor-booked", Booked, tuesday(13, 0)),
        ("J-1017", "bracket-parts", OnOrder, wednesday(10, 0)),
        ("J-1021", "rear-bodywork", Booked, wednesday(11, 0)),
        ("J-1022", "glass-parts", OnOrder, wednesday(15, 0)),
    ];
    for (job, prerequisite, state, expected) in awaited {
        floor.caller.expect_prerequisite(job, prerequisite, state, expected).await?;
    }
    Ok(())
}
