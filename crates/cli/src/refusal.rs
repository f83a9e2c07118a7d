//! A refusal of the service as sentences: the message, every faulty field, and what else it says.

use baywright_api::v1::ErrorReason;
use tonic::Status;
use tonic_types::StatusExt as _;

/// The lines that a person reads: the sentence, each detail on a line of its own, and a hint.
pub(crate) fn sentences(status: &Status) -> String {
    let details = status.get_error_details();
    let mut lines = vec![format!("error: {}", sentence(status))];
    if let Some(bad_request) = details.bad_request() {
        for violation in &bad_request.field_violations {
            lines.push(format!("  {}: {}", violation.field, violation.description));
        }
    }
    let reason = details.error_info().map(|info| {
        let mut metadata: Vec<_> = info.metadata.iter().collect();
        metadata.sort_by(|a, b| by_number_then_text(a.0, b.0));
        for (key, value) in metadata {
            lines.push(format!("  {key}: {value}"));
        }
        info.reason.as_str()
    });
    if let Some(hint) = reason.and_then(hint) {
        lines.push(format!("hint: {hint}"));
    }
    lines.join("\n")
}

/// Sentences are numbered, so that `10` comes after `9`.
fn by_number_then_text(a: &str, b: &str) -> std::cmp::Ordering {
    match (a.parse::<u32>(), b.parse::<u32>()) {
        (Ok(a), Ok(b)) => a.cmp(&b),
        _ => a.cmp(b),
    }
}

fn sentence(status: &Status) -> String {
    let message = status.message().trim();
    if message.is_empty() {
        format!("refused with the code {:?}.", status.code())
    } else {
        message.to_owned()
    }
}

/// One entry of what the service says beside the message.
pub(crate) fn entry(status: &Status, key: &str) -> Option<String> {
    status.get_error_details().error_info().and_then(|info| info.metadata.get(key).cloned())
}

/// Whether the service itself said why, so that it was reached.
pub(crate) fn has_reason(status: &Status) -> bool {
    status.get_error_details().error_info().is_some()
}

fn hint(reason: &str) -> Option<&'static str> {
    let hint = match ErrorReason::from_str_name(&format!("ERROR_REASON_{reason}"))? {
        ErrorReason::Unspecified => return None,
        ErrorReason::InvalidFields => "correct each field named above and send again.",
        ErrorReason::NotFound => {
            "check the name; `baywright jobs` and `baywright job JOB` list what there is."
        }
        ErrorReason::RequestIdReused => "leave --request-id out to get a fresh one.",
        ErrorReason::EtagMismatch => {
            "somebody changed it meanwhile: look at it again, then repeat."
        }
        ErrorReason::IllegalTransition => "`baywright job JOB` shows where each task stands.",
        ErrorReason::NothingReady => {
            "`baywright job JOB` says what each task waits for, and whom to ask."
        }
        ErrorReason::AlreadyHolding => {
            "finish, fail or put back what is held first; `baywright holdings` lists it."
        }
        ErrorReason::NotHolder => "`baywright holdings` says who holds it.",
        ErrorReason::FenceLost => {
            "the task was handed on since; `baywright holdings` shows the holding that counts."
        }
        ErrorReason::StartCheckNotMet => {
            "answer every check at the vehicle with --yes or --no; put the task back where one is not met."
        }
        ErrorReason::HandBackRefused => {
            "clear each reason, or let a named manager record it with --except KEY=REASON --manager NAME."
        }
        ErrorReason::HeldElsewhere => "`baywright holdings` says who has it.",
        ErrorReason::NoPlan => "each sentence above names what stands in the way.",
        ErrorReason::NotReady => "`baywright job JOB` says what the task waits for.",
        ErrorReason::Busy => "repeat the call with the same --request-id.",
        ErrorReason::Internal => "give the incident's number to whoever runs the service.",
        ErrorReason::NoFittingBay => "`baywright fits` says why each bay does not fit.",
        ErrorReason::DeadlineExceeded => {
            "it may have taken effect: repeat it with the same --request-id to learn the answer."
        }
        ErrorReason::WatchEnded => "go on with `baywright watch --after TOKEN`.",
        ErrorReason::TooManyWatchers => "close a watch that nobody reads, or come again later.",
    };
    Some(hint)
}

#[cfg(test)]
mod tests {
    use super::*;
    use tonic::Code;
    use tonic_types::ErrorDetails;

    #[test]
    fn every_faulty_field_and_every_entry_stands_on_its_own_line() {
        let mut details = ErrorDetails::new();
        details.add_bad_request_violation("estimate.weight", "101 must be 1 to 100");
        details.add_bad_request_violation("estimate.lines", "must hold at least one");
        details.set_error_info(
            "INVALID_FIELDS",
            "baywright",
            [("kind".to_owned(), "estimate".to_owned())],
        );
        let status =
            Status::with_error_details(Code::InvalidArgument, "two fields are wrong.", details);
        assert_eq!(
            sentences(&status),
            "error: two fields are wrong.\n  estimate.weight: 101 must be 1 to 100\n  \
             estimate.lines: must hold at least one\n  kind: estimate\n\
             hint: correct each field named above and send again."
        );
    }

    #[test]
    fn numbered_sentences_stand_in_their_order() {
        let entries = ["10", "9", "1"].map(|n| (n.to_owned(), format!("sentence {n}")));
        let details = ErrorDetails::with_error_info("HAND_BACK_REFUSED", "baywright", entries);
        let status = Status::with_error_details(Code::FailedPrecondition, "not yet.", details);
        let text = sentences(&status);
        assert!(text.contains("  1: sentence 1\n  9: sentence 9\n  10: sentence 10\n"), "{text}");
    }

    #[test]
    fn a_bare_status_still_gives_a_sentence() {
        assert_eq!(
            sentences(&Status::new(Code::Internal, "")),
            "error: refused with the code Internal."
        );
    }

    #[test]
    fn every_reason_of_the_contract_has_a_hint() {
        for number in 1.. {
            let Ok(reason) = ErrorReason::try_from(number) else { break };
            let name = reason.as_str_name().strip_prefix("ERROR_REASON_").unwrap();
            assert!(hint(name).is_some(), "{name}");
        }
    }
}
