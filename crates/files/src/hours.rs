//! Hours as text: `"07:30-12:00, 12:30-17:00"`, or `"closed"`.

use baywright_api::v1::LocalSpan;

const DAY_MINUTES: u32 = 1_440;

/// Reads the spans of one day. A span whose end is not after its start ends on the next day.
///
/// # Errors
/// What the text must do, as the rest of a sentence that begins "it must".
pub(crate) fn parse_spans(text: &str) -> Result<Vec<LocalSpan>, String> {
    if text.trim() == "closed" {
        return Ok(Vec::new());
    }
    let spans: Option<Vec<LocalSpan>> = text.split(',').map(parse_span).collect();
    let spans =
        spans.ok_or("be spans such as \"07:30-12:00, 12:30-17:00\", or \"closed\"".to_owned())?;
    let apart = spans.windows(2).all(|pair| pair[0].to_minute <= pair[1].from_minute);
    if !apart {
        return Err("name its spans in order and without overlap".to_owned());
    }
    Ok(spans)
}

/// Writes the spans of one day as [`parse_spans`] reads them.
pub(crate) fn spans_text(spans: &[LocalSpan]) -> String {
    if spans.is_empty() {
        return "closed".to_owned();
    }
    let spans: Vec<String> = spans.iter().copied().map(span_text).collect();
    spans.join(", ")
}

fn span_text(span: LocalSpan) -> String {
    // Up to 24:00 an end is on the day itself, past it on the next.
    let to_minute = match span.to_minute {
        next_day if next_day > DAY_MINUTES => next_day - DAY_MINUTES,
        same_day => same_day,
    };
    format!("{}-{}", minute_text(span.from_minute), minute_text(to_minute))
}

fn minute_text(minute: u32) -> String {
    format!("{:02}:{:02}", minute / 60, minute % 60)
}

fn parse_span(text: &str) -> Option<LocalSpan> {
    let (from, to) = text.split_once('-')?;
    let (from_minute, mut to_minute) = (parse_minute(from)?, parse_minute(to)?);
    if from_minute >= DAY_MINUTES {
        return None;
    }
    if to_minute <= from_minute {
        to_minute += DAY_MINUTES;
    }
    Some(LocalSpan { from_minute, to_minute })
}

/// Minutes after midnight of `HH:MM`, up to `24:00`.
fn parse_minute(text: &str) -> Option<u32> {
    let (hours, minutes) = text.trim().split_once(':')?;
    let two_digits = |part: &str| part.len() == 2 && part.bytes().all(|b| b.is_ascii_digit());
    if !two_digits(hours) || !two_digits(minutes) {
        return None;
    }
    let (hours, minutes): (u32, u32) = (hours.parse().ok()?, minutes.parse().ok()?);
    let minute = hours * 60 + minutes;
    (minutes < 60 && minute <= DAY_MINUTES).then_some(minute)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case::one("07:30-17:00", &[(450, 1020)])]
    #[case::lunch("07:30-12:00, 12:30-17:00", &[(450, 720), (750, 1020)])]
    #[case::closed("closed", &[])]
    #[case::whole_day("00:00-24:00", &[(0, 1440)])]
    #[case::over_midnight("22:00-06:00", &[(1320, 1800)])]
    fn hours_are_read_as_minutes_after_midnight(
        #[case] text: &str,
        #[case] expected: &[(u32, u32)],
    ) {
        let spans = parse_spans(text).unwrap();
        let got: Vec<_> = spans.iter().map(|span| (span.from_minute, span.to_minute)).collect();
        assert_eq!(got, expected);
    }

    #[rstest]
    #[case::lunch("07:30-12:00, 12:30-17:00", "07:30-12:00, 12:30-17:00")]
    #[case::closed("closed", "closed")]
    #[case::whole_day("00:00-00:00", "00:00-24:00")]
    #[case::over_midnight("22:00-06:00", "22:00-06:00")]
    #[case::a_day_from_noon("12:00-12:00", "12:00-12:00")]
    #[case::to_midnight("08:00-00:00", "08:00-24:00")]
    fn hours_are_written_as_they_are_read(#[case] text: &str, #[case] expected: &str) {
        let spans = parse_spans(text).unwrap();
        assert_eq!(spans_text(&spans), expected);
        assert_eq!(parse_spans(expected).unwrap(), spans);
    }

    #[rstest]
    #[case::empty("")]
    #[case::one_digit("7:30-17:00")]
    #[case::minute_60("07:60-17:00")]
    #[case::past_the_day("07:30-24:01")]
    #[case::from_24("24:00-24:00")]
    #[case::overlap("07:30-12:00, 11:00-17:00")]
    #[case::out_of_order("13:00-17:00, 07:30-12:00")]
    #[case::night_before_another_span("22:00-06:00, 23:00-23:30")]
    #[case::trailing_comma("07:30-12:00,")]
    #[case::signs("+7:30-17:00")]
    fn other_texts_are_refused(#[case] text: &str) {
        assert!(parse_spans(text).is_err());
    }
}
