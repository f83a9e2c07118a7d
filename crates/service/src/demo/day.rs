//! What has happened in the demo shop by 07:30 on its Tuesday. All of it is invented.
//!
//! One job is in good order, one has a line that no rule knows and one task that nobody has
//! accepted, one waits for glass on order, one comes on a tow truck with body work that somebody has
//! to chase and a length that no bay takes, one customer will wait in the shop.

use super::{DemoError, caller::Caller, files};
use baywright_api::v1::PrerequisiteState;
use prost_types::Timestamp;

/// Tasks that a person has accepted; none named means all that the rules propose.
const ACCEPTED: [(&str, &[&str]); 6] = [
    ("J-1001", &[]),
    ("J-1002", &[]),
    // Somebody has to say first what the unknown line calls for.
    ("J-1003", &["inspection", "pre-scan", "alignment", "post-scan"]),
    ("J-1004", &[]),
    ("J-1005", &[]),
    ("J-1006", &[]),
];

/// Job, prerequisite and on what evidence it is met.
const MET: [(&str, &str, &str); 8] = [
    ("J-1001", "authorised", "order signed at the desk (invented)"),
    ("J-1001", "front-bodywork", "bumper fitted on Monday, paint dry to the touch (invented)"),
    ("J-1001", "glass-parts", "windshield and mouldings unpacked, no damage (invented)"),
    ("J-1002", "authorised", "insurer's number on the order (invented)"),
    ("J-1002", "rear-bodywork", "bumper fitted on Monday, paint dry to the touch (invented)"),
    ("J-1004", "authorised", "order signed at the desk (invented)"),
    ("J-1005", "authorised", "insurer's number on the order (invented)"),
    ("J-1006", "authorised", "order signed at the desk (invented)"),
];

/// Seconds since 1970 of Monday 2026-05-04, 16:00 in Lisbon: past, and nobody has confirmed it.
const MONDAY_AFTERNOON: i64 = 1_777_906_800;
/// Seconds since 1970 of Wednesday 2026-05-06, 08:30 in Lisbon.
const WEDNESDAY_MORNING: i64 = 1_778_052_600;

/// Job, prerequisite, where it stands and when it is expected.
const EXPECTED: [(&str, &str, PrerequisiteState, i64); 2] = [
    ("J-1004", "glass-parts", PrerequisiteState::OnOrder, WEDNESDAY_MORNING),
    ("J-1005", "front-bodywork", PrerequisiteState::Booked, MONDAY_AFTERNOON),
];

/// Vehicles that are here, and where they stand.
const ARRIVED: [(&str, &str); 2] = [("J-1001", "front-row"), ("J-1004", "yard")];

/// Sends everything that has happened by that morning.
pub(super) async fn set_up(caller: &Caller) -> Result<(), DemoError> {
    caller.apply_shop(files::shop()?).await?;
    for survey in files::surveys()? {
        caller.record_survey(survey).await?;
    }
    for estimate in files::estimates()? {
        caller.submit_estimate(estimate).await?;
    }
    for (job, tasks) in ACCEPTED {
        caller.accept(job, tasks).await?;
    }
    for (job, prerequisite, evidence) in MET {
        caller.sign_off(job, prerequisite, evidence).await?;
    }
    for (job, prerequisite, state, seconds) in EXPECTED {
        let expected = Timestamp { seconds, nanos: 0 };
        caller.expect_prerequisite(job, prerequisite, state, expected).await?;
    }
    for (job, spot) in ARRIVED {
        caller.record_arrival(job, spot).await?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::{DateTime, Utc};

    #[test]
    fn the_instants_are_those_that_their_names_say() {
        // Lisbon keeps UTC+1 in May (IANA time zone database).
        let local = |seconds| DateTime::<Utc>::from_timestamp(seconds, 0).unwrap();
        let at = |text: &str| DateTime::parse_from_rfc3339(text).unwrap().to_utc();
        assert_eq!(local(MONDAY_AFTERNOON), at("2026-05-04T16:00:00+01:00"));
        assert_eq!(local(WEDNESDAY_MORNING), at("2026-05-06T08:30:00+01:00"));
    }
}
