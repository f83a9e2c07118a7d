//! Forecasts on the way out.

use crate::time::timestamp;
use crate::v1;
use baywright_core::forecast::{Forecast, MinutesUsed, Range, Spread, WeekForecast};

/// A forecast as a message; the caller adds basis, runs, seed, assumptions and caution.
pub fn report_message(found: &Forecast) -> v1::ForecastReport {
    v1::ForecastReport {
        weeks: found.weeks.iter().map(week).collect(),
        bays: found
            .bays
            .iter()
            .map(|(bay, used)| v1::BayUse { bay_id: bay.to_string(), used_percent: range(*used) })
            .collect(),
        technicians: found
            .technicians
            .iter()
            .map(|(technician, used)| v1::TechnicianUse {
                technician_id: technician.to_string(),
                used_percent: range(*used),
            })
            .collect(),
        outside: found
            .outside
            .iter()
            .map(|(work, reason)| v1::WorkOutside {
                work: Some(work.into()),
                reason: reason.clone(),
            })
            .collect(),
        minutes: found.minutes.iter().map(minutes).collect(),
        ..v1::ForecastReport::default()
    }
}

fn week(week: &WeekForecast) -> v1::WeekForecast {
    v1::WeekForecast {
        start_time: Some(timestamp(week.start)),
        come_tasks: range(week.come),
        done_tasks: range(week.tasks),
        done_hours: range(week.hours),
        late_jobs: range(week.late_jobs),
        waiting_tasks: range(week.waiting),
    }
}

#[expect(clippy::unnecessary_wraps, reason = "a field of a message may be absent; these never are")]
fn range(range: Range) -> Option<v1::PercentileRange> {
    let Range { p10, p50, p90 } = range;
    Some(v1::PercentileRange { p10, p50, p90 })
}

fn minutes(used: &MinutesUsed) -> v1::MinutesUsed {
    v1::MinutesUsed {
        procedure_id: used.procedure.to_string(),
        method_id: used.method.to_string(),
        written_minutes: used.written,
        past: used.past.as_ref().map(spread),
        by_technician: used
            .by_technician
            .iter()
            .map(|(technician, past)| v1::TechnicianMinutes {
                technician_id: technician.to_string(),
                past: Some(spread(past)),
            })
            .collect(),
        used_past: used.used_past,
    }
}

fn spread(spread: &Spread) -> v1::MinutesSpread {
    v1::MinutesSpread {
        attempts: u32::try_from(spread.attempts).unwrap_or(u32::MAX),
        median_minutes: spread.median,
        p10_minutes: spread.p10,
        p90_minutes: spread.p90,
    }
}
