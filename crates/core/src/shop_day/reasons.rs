//! What the planner says of late and left-out jobs, in the shop's own words: jobs, tasks, bays, technicians,
//! units and the time on the shop's clock.

use super::minutes::instant_of;
use crate::calendar::TimeZone;
use crate::planner::explain::{Cause, Change, JobReasons, NotInTime, Remedy, Side, Wait};
use crate::shop::ShopDefinition;
use chrono::{DateTime, NaiveDate, Utc};

/// The reasons of one job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToldReasons {
    /// The job.
    pub job: String,
    /// When it finishes by the plan; none where it is left out.
    pub finish: Option<DateTime<Utc>>,
    /// When it is promised.
    pub promise: Option<DateTime<Utc>>,
    /// When it could finish if no other job were there; none where it has no way at all.
    pub alone_finish: Option<DateTime<Utc>>,
    /// What it waits for, link by link.
    pub waits: Vec<ToldWait>,
    /// The smallest changes found.
    pub remedies: Vec<ToldRemedy>,
    /// Whether everything was tried.
    pub complete: bool,
}

/// One link of a chain of waits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToldWait {
    /// The job.
    pub job: String,
    /// The task.
    pub task: String,
    /// When it starts.
    pub start: DateTime<Utc>,
    /// Why no earlier, a sentence.
    pub sentence: String,
}

/// A change that brings the job in time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToldRemedy {
    /// The change, a sentence.
    pub sentence: String,
    /// How many minutes it takes; 0 where it is not counted in minutes.
    pub minutes: i64,
    /// When the job then finishes.
    pub finish: DateTime<Utc>,
    /// What the plan costs as it is, and with the change.
    pub cost: (i64, i64),
    /// What the other jobs cost as it is, and with the change.
    pub others: (i64, i64),
    /// How many other jobs stand otherwise then.
    pub others_moved: usize,
}

/// Tells the reasons of a plan whose minute 0 is `zero`, on the day of `zero` as the shop's clock has it.
pub fn told(
    reasons: &[JobReasons],
    shop: &ShopDefinition,
    zero: DateTime<Utc>,
) -> Vec<ToldReasons> {
    let zone = shop.parts().shop.parts().hours.zone();
    let teller = Teller { shop, zone, zero, today: zone.local(zero).date() };
    reasons.iter().map(|one| teller.job(one)).collect()
}

struct Teller<'t> {
    shop: &'t ShopDefinition,
    zone: TimeZone,
    zero: DateTime<Utc>,
    today: NaiveDate,
}

impl Teller<'_> {
    fn job(&self, reasons: &JobReasons) -> ToldReasons {
        let (finish, due) = match reasons.standing {
            NotInTime::Late { finish, due, .. } => (Some(finish), Some(due)),
            NotInTime::LeftOut { due, .. } => (None, due),
        };
        ToldReasons {
            job: reasons.job.clone(),
            finish: finish.map(|at| self.instant(at)),
            promise: due.map(|at| self.instant(at)),
            alone_finish: reasons.earliest_alone.map(|at| self.instant(at)),
            waits: reasons.waits.iter().map(|wait| self.wait(wait)).collect(),
            remedies: reasons.remedies.iter().map(|one| self.remedy(one)).collect(),
            complete: reasons.complete,
        }
    }

    fn instant(&self, minute: i64) -> DateTime<Utc> {
        instant_of(self.zero, minute)
    }

    /// The shop's clock, with the date on other days.
    fn clock(&self, minute: i64) -> String {
        let local = self.zone.local(self.instant(minute));
        if local.date() == self.today {
            local.format("%H:%M").to_string()
        } else {
            local.format("%Y-%m-%d %H:%M").to_string()
        }
    }

    fn wait(&self, wait: &Wait) -> ToldWait {
        ToldWait {
            job: wait.job.clone(),
            task: wait.step.clone(),
            start: self.instant(wait.start),
            sentence: self.why(&wait.cause),
        }
    }

    fn why(&self, cause: &Cause) -> String {
        match cause {
            Cause::Now => "The plan begins then.".to_owned(),
            Cause::Fixed => "It is held or running, or the vehicle stands there.".to_owned(),
            Cause::Free => {
                "Nothing keeps it; to start earlier would not pay or was not found.".to_owned()
            }
            Cause::JobRelease { until } => {
                format!("The vehicle is ready for work from {} on.", self.clock(*until))
            }
            Cause::StepRelease { until } => {
                format!("What it waits for is expected at {}.", self.clock(*until))
            }
            Cause::After { step, gap: 0, until } => {
                format!("Task {step} ends at {}.", self.clock(*until))
            }
            Cause::After { step, gap, until } => {
                let until = self.clock(*until);
                format!("The {gap} minutes after task {step} are over at {until}.")
            }
            Cause::Move { step, minutes: 0, until } => {
                format!("The vehicle is worked on by task {step} until {}.", self.clock(*until))
            }
            Cause::Move { step, until, .. } => {
                format!("The vehicle comes from task {step} and is there at {}.", self.clock(*until))
            }
            Cause::PlaceHeld { place, held, by_job, by_step, until } => {
                let until = self.clock(*until);
                if place == held {
                    format!("{place} is taken by job {by_job} (task {by_step}) until {until}.")
                } else {
                    format!(
                        "{place} cannot be used while job {by_job} stands at {held} (task {by_step}), until \
                         {until}."
                    )
                }
            }
            Cause::ResourceBusy { resource, by_job, by_step, until } => format!(
                "{} is busy with task {by_step} of job {by_job} until {}.",
                named(resource),
                self.clock(*until)
            ),
            Cause::PlaceClosed { place } => format!("{place} cannot be used earlier."),
            Cause::ResourceAway { resource } => {
                format!("{} is not there earlier.", named(resource))
            }
            Cause::StartWindow => {
                "It may not start earlier: sun, daylight, the road, or a date on which people, units or the \
                 bay count."
                    .to_owned()
            }
        }
    }

    fn remedy(&self, remedy: &Remedy) -> ToldRemedy {
        ToldRemedy {
            sentence: self.change(&remedy.change),
            minutes: remedy.change.minutes().unwrap_or(0),
            finish: self.instant(remedy.finish),
            cost: (remedy.cost_before, remedy.cost_after),
            others: (remedy.others_before, remedy.others_after),
            others_moved: remedy.others_moved,
        }
    }

    fn change(&self, change: &Change) -> String {
        match change {
            Change::Nothing => {
                "No change: other jobs have room to give way; plan anew with more epochs."
                    .to_owned()
            }
            Change::PromiseLater { minutes, .. } => format!("Promise it {minutes} minutes later."),
            Change::OneMore { like } => self.one_more(like),
            Change::ResourceOpen { resource, side, at, minutes, with_places } => {
                let bays = if *with_places { ", the bays staying open as long" } else { "" };
                let [from, until] = self.added(*side, *at, *minutes);
                let who = named(resource);
                format!("{who} is there from {from} to {until} too, {minutes} minutes more{bays}.")
            }
            Change::PlaceOpen { place, side, at, minutes } => {
                let [from, until] = self.added(*side, *at, *minutes);
                match side {
                    Side::Before => {
                        format!("{place} can be used from {from} on, {minutes} minutes earlier.")
                    }
                    Side::After => {
                        format!("{place} can be used until {until}, {minutes} minutes longer.")
                    }
                }
            }
            Change::StepRelease { step, release, minutes, .. } => format!(
                "What task {step} waits for is there by {}, {minutes} minutes earlier.",
                self.clock(release - minutes)
            ),
            Change::JobRelease { release, minutes, .. } => format!(
                "The vehicle is ready for work by {}, {minutes} minutes earlier.",
                self.clock(release - minutes)
            ),
        }
    }

    fn added(&self, side: Side, at: i64, minutes: i64) -> [String; 2] {
        let [from, until] = match side {
            Side::Before => [at - minutes, at],
            Side::After => [at, at + minutes],
        };
        [from, until].map(|minute| self.clock(minute))
    }

    fn one_more(&self, like: &str) -> String {
        if let Some(technician) = like.strip_prefix("technician:") {
            return format!("One technician more with the roles and hours of {technician}.");
        }
        let piece = like.strip_prefix("unit:").unwrap_or(like);
        let mut units = self.shop.parts().units.iter();
        let unit = units.find(|unit| unit.pieces().iter().any(|one| one.as_str() == piece));
        match unit {
            Some(unit) => format!("One unit more of kind {}.", unit.parts().kind),
            None => format!("One unit more like {piece}."),
        }
    }
}

fn named(id: &str) -> String {
    match (id.strip_prefix("technician:"), id.strip_prefix("unit:")) {
        (Some(technician), _) => format!("Technician {technician}"),
        (None, Some(unit)) => format!("Unit {unit}"),
        (None, None) => id.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_shop::{at, definition};
    use rstest::rstest;

    fn teller_says(change: &Change) -> String {
        let definition = definition();
        let zone = definition.parts().shop.parts().hours.zone();
        let zero = at("08:00");
        let today = zone.local(zero).date();
        Teller { shop: &definition, zone, zero, today }.change(change)
    }

    fn ada() -> String {
        "technician:ada".to_owned()
    }

    #[rstest]
    #[case::promise(
        Change::PromiseLater { job: "J".to_owned(), minutes: 20 },
        "Promise it 20 minutes later."
    )]
    #[case::a_kind_of_unit(
        Change::OneMore { like: "unit:frame-1".to_owned() },
        "One unit more of kind frame."
    )]
    #[case::a_technician(
        Change::OneMore { like: ada() },
        "One technician more with the roles and hours of ada."
    )]
    #[case::staying_longer(
        Change::ResourceOpen {
            resource: ada(), side: Side::After, at: 540, minutes: 25, with_places: true,
        },
        "Technician ada is there from 17:00 to 17:25 too, 25 minutes more, the bays staying open as long."
    )]
    #[case::a_bay_on_the_next_day(
        Change::PlaceOpen {
            place: "bay-1/mark".to_owned(), side: Side::Before, at: 24 * 60, minutes: 30,
        },
        "bay-1/mark can be used from 2026-05-06 07:30 on, 30 minutes earlier."
    )]
    #[case::a_part(
        Change::StepRelease {
            job: "J".to_owned(), step: "glass".to_owned(), release: 120, minutes: 45,
        },
        "What task glass waits for is there by 09:15, 45 minutes earlier."
    )]
    fn a_change_is_told_in_the_shops_words(#[case] change: Change, #[case] expected: &str) {
        assert_eq!(teller_says(&change), expected);
    }
}
