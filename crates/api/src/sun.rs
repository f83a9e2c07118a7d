//! The sun in a bay on the way out.

use crate::time::{date_text, timestamp};
use crate::v1;
use baywright_core::calendar::{TimeZone, Window, WindowSet};
use baywright_core::fit::{SunAnswer, SunHours, SunReach};
use chrono::{DateTime, Duration, NaiveDate, Utc};

/// What is known of the sun at a place on a local date, with local times in its sentence.
pub fn sun_message(answer: &SunAnswer, date: NaiveDate, zone: TimeZone) -> v1::SunHours {
    let (state, sentence) = match answer {
        SunAnswer::NotAsked => (
            v1::SunState::NotAsked,
            "The method does not ask for freedom from direct sun.".to_owned(),
        ),
        SunAnswer::NoOpening => {
            (v1::SunState::NoOpening, "The bay has no opening for daylight.".to_owned())
        }
        SunAnswer::NotDrawn(openings) => {
            let names: Vec<_> = openings.iter().map(ToString::to_string).collect();
            let sentence = format!(
                "Not computed, because {} of the bay's openings for daylight are not drawn ({}); the \
                 sun is confirmed at the vehicle.",
                names.len(),
                names.join(", ")
            );
            (v1::SunState::NotDrawn, sentence)
        }
        SunAnswer::NoPosition => (
            v1::SunState::NoPosition,
            "Not computed, because the shop's latitude and longitude are not stated; the sun is \
             confirmed at the vehicle."
                .to_owned(),
        ),
        SunAnswer::Computed(hours) => (v1::SunState::Computed, sentence(hours, date, zone)),
    };
    let hours = match answer {
        SunAnswer::Computed(hours) => Some(hours),
        _ => None,
    };
    let assumptions = hours.into_iter().flat_map(|hours| &hours.assumptions);
    v1::SunHours {
        state: state.into(),
        date: date_text(date),
        sun_free: hours.map(|hours| windows(&hours.sun_free)).unwrap_or_default(),
        sunlit: hours.into_iter().flat_map(|hours| &hours.reached).map(Into::into).collect(),
        assumptions: assumptions.map(ToString::to_string).collect(),
        sentence,
    }
}

/// Windows as the contract's spans of time.
pub fn windows(set: &WindowSet) -> Vec<v1::TimeWindow> {
    set.iter().map(window).collect()
}

/// A window as the contract's span of time.
pub fn window(window: Window) -> v1::TimeWindow {
    v1::TimeWindow {
        start_time: Some(timestamp(window.start())),
        end_time: Some(timestamp(window.end())),
    }
}

impl From<&SunReach> for v1::SunlitTime {
    fn from(reach: &SunReach) -> Self {
        Self {
            daylight_opening_id: reach.opening.to_string(),
            reaches: reach.aim.clone(),
            windows: windows(&reach.windows),
        }
    }
}

fn sentence(hours: &SunHours, date: NaiveDate, zone: TimeZone) -> String {
    if hours.reached.is_empty() {
        return format!("Free of direct sun all of {date}.");
    }
    let lit = hours.reached.iter().map(|reach| {
        let spans = reach.windows.iter().map(|lit| span(lit, date, zone));
        let spans: Vec<_> = spans.collect();
        format!("direct sun on {} through {} {}", reach.aim, reach.opening, spans.join(", "))
    });
    let lit: Vec<_> = lit.collect();
    format!("On {date} {}; free of it otherwise.", lit.join("; "))
}

/// A span as local times, widened to whole minutes.
fn span(window: Window, date: NaiveDate, zone: TimeZone) -> String {
    let up = minute_up(window.end());
    let until = zone.local(up);
    let until =
        if until.date() > date { "24:00".to_owned() } else { until.format("%H:%M").to_string() };
    format!("{}-{until}", zone.local(window.start()).format("%H:%M"))
}

fn minute_up(at: DateTime<Utc>) -> DateTime<Utc> {
    let past = at.timestamp().rem_euclid(60);
    if past == 0 { at } else { at + Duration::seconds(60 - past) }
}
