//! Windows in which a step may start, in minutes: half-open, ascending, never touching.

use super::minutes::minute_up;
use crate::calendar::{TimeZone, instant_of_wall_time};
use crate::planner::WindowDraft;
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};

/// What a plan reaches over.
#[derive(Debug, Clone)]
pub(super) struct Span {
    /// Minute zero.
    pub(super) zero: DateTime<Utc>,
    /// The first minute that is not planned.
    pub(super) horizon: i64,
    /// The local days.
    pub(super) days: Days,
}

impl Span {
    /// `[zero, zero + horizon)` in a zone.
    pub(super) fn new(zone: TimeZone, zero: DateTime<Utc>, horizon: i64) -> Self {
        Self { zero, horizon, days: Days::new(zone, zero, horizon) }
    }

    /// The minutes from `at` on.
    pub(super) fn from(&self, at: DateTime<Utc>) -> Vec<WindowDraft> {
        let from = minute_up(self.zero, at).max(0);
        if from < self.horizon { vec![[from, self.horizon]] } else { Vec::new() }
    }
}

/// The local days that a plan reaches into, with the minutes of their midnights.
#[derive(Debug, Clone)]
pub(super) struct Days {
    /// Each date with the minutes `[from, to)` of the plan that lie in it.
    days: Vec<(NaiveDate, WindowDraft)>,
}

impl Days {
    /// The days that `[zero, zero + horizon)` reaches into.
    pub(super) fn new(zone: TimeZone, zero: DateTime<Utc>, horizon: i64) -> Self {
        let midnight = |date: NaiveDate| {
            minute_up(zero, instant_of_wall_time(zone, date.and_time(NaiveTime::MIN)))
        };
        let mut days = Vec::new();
        for date in zone.local(zero).date().iter_days() {
            let from = midnight(date).max(0);
            let to = date.succ_opt().map_or(horizon, midnight).min(horizon);
            if from >= horizon {
                break;
            }
            if from < to {
                days.push((date, [from, to]));
            }
        }
        Self { days }
    }

    /// Every date.
    pub(super) fn dates(&self) -> impl Iterator<Item = NaiveDate> {
        self.days.iter().map(|(date, _)| *date)
    }

    /// When a step of `minutes` may start so that it lies wholly within runs of the days for which
    /// `holds`; none where it may start at any time.
    pub(super) fn starts_within(
        &self,
        minutes: i64,
        holds: impl Fn(NaiveDate) -> bool,
    ) -> Option<Vec<WindowDraft>> {
        if self.dates().all(&holds) {
            return None;
        }
        let mut runs: Vec<WindowDraft> = Vec::new();
        for (date, [from, to]) in &self.days {
            if !holds(*date) {
                continue;
            }
            match runs.last_mut() {
                Some(run) if run[1] == *from => run[1] = *to,
                _ => runs.push([*from, *to]),
            }
        }
        let last = self.days.last().map_or(0, |(_, window)| window[1]);
        for run in &mut runs {
            // Beyond the last day nothing is known to end, and nothing is planned.
            if run[1] < last {
                run[1] = run[1] - minutes + 1;
            }
        }
        runs.retain(|[from, to]| from < to);
        Some(runs)
    }
}

/// What lies in both; none stands for any time.
pub(super) fn both(
    one: Option<Vec<WindowDraft>>,
    other: Option<Vec<WindowDraft>>,
) -> Option<Vec<WindowDraft>> {
    let (one, other) = match (one, other) {
        (Some(one), Some(other)) => (one, other),
        (one, None) => return one,
        (None, other) => return other,
    };
    let mut both = Vec::new();
    for a in &one {
        for b in &other {
            let [from, to] = [a[0].max(b[0]), a[1].min(b[1])];
            if from < to {
                both.push([from, to]);
            }
        }
    }
    both.sort_unstable();
    Some(both)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn days() -> Days {
        let zone = TimeZone::parse("Europe/Berlin").unwrap();
        // 18:00 local time on the evening before the clocks go forward.
        let zero = "2026-03-28T17:00:00Z".parse().unwrap();
        Days::new(zone, zero, 3 * 1440)
    }

    #[test]
    fn days_are_cut_at_local_midnight_and_one_of_them_has_23_hours() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let expected = [
            (day("2026-03-28"), [0, 360]),
            (day("2026-03-29"), [360, 360 + 23 * 60]),
            (day("2026-03-30"), [1740, 1740 + 1440]),
            (day("2026-03-31"), [3180, 4320]),
        ];
        assert_eq!(days().days, expected);
    }

    #[test]
    fn a_step_ends_within_the_days_that_hold() {
        let until = "2026-03-29".parse::<NaiveDate>().unwrap();
        let starts = days().starts_within(60, |date| date <= until).unwrap();
        assert_eq!(starts, [[0, 1740 - 59]]);
        assert_eq!(days().starts_within(60, |_| true), None);
        assert_eq!(days().starts_within(60, |_| false), Some(Vec::new()));
        assert_eq!(days().starts_within(60, |date| date > until), Some(vec![[1740, 4320]]));
    }

    #[test]
    fn windows_that_both_name_remain() {
        let one = Some(vec![[0, 10], [20, 30]]);
        assert_eq!(both(one.clone(), Some(vec![[5, 25]])), Some(vec![[5, 10], [20, 25]]));
        assert_eq!(both(one.clone(), None), one);
        assert_eq!(both(None, None), None);
    }
}
