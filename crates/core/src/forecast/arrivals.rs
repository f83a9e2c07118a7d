//! Work that comes at random: in every open minute each kind as likely as in any other.
//!
//! Independent trials in many minutes give numbers a week that scatter as a Poisson distribution's do
//! (the law of rare events), with whole-number arithmetic alone, so that a seed gives the same weeks on
//! every machine.

use super::ForecastAsked;
use crate::planner::Seeded;
use chrono::{DateTime, TimeDelta, Utc};

/// A trial is a number below this.
const TRIAL: f64 = 4_294_967_296.0;

/// A piece of work that comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Arrival {
    /// Place in the mix.
    pub(super) work: usize,
    /// When.
    pub(super) at: DateTime<Utc>,
}

/// What comes in a week, in the order of time.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Arrivals(pub(super) Vec<Arrival>);

impl Arrivals {
    pub(super) fn of(asked: &ForecastAsked<'_>, start: DateTime<Utc>, random: &mut Seeded) -> Self {
        let hours = &asked.shop.parts().shop.parts().hours;
        let Ok(open) = hours.windows(start, start + TimeDelta::weeks(1)) else {
            return Self::default();
        };
        let mut arrivals = Vec::new();
        // The number a week is that of the fullest one; a week with a holiday has fewer minutes.
        let usual = fullest_week(asked).max(1);
        for window in open.iter() {
            for minute in 0..window.duration().num_minutes() {
                let at = window.start() + TimeDelta::minutes(minute);
                for (work, one) in asked.mix.iter().enumerate() {
                    let mut expected = one.per_week / super::minutes::as_f64(usual);
                    // More than one a minute: the whole ones surely.
                    while expected >= 1.0 {
                        arrivals.push(Arrival { work, at });
                        expected -= 1.0;
                    }
                    if drawn(random) < expected * TRIAL {
                        arrivals.push(Arrival { work, at });
                    }
                }
            }
        }
        Self(arrivals)
    }
}

fn drawn(random: &mut Seeded) -> f64 {
    f64::from(u32::try_from(random.next() >> 32).unwrap_or(u32::MAX))
}

/// The open minutes of the week that has the most of them.
fn fullest_week(asked: &ForecastAsked<'_>) -> i64 {
    let hours = &asked.shop.parts().shop.parts().hours;
    let minutes = (0..asked.weeks as usize).map(|index| {
        let start = super::week_start(asked, index);
        let windows = hours.windows(start, start + TimeDelta::weeks(1));
        windows.map_or(0, |windows| windows.duration().num_minutes())
    });
    minutes.max().unwrap_or(0)
}
