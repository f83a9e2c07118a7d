//! What runs out soon: surveys, verifications, roles with a date, and sign-offs.

use crate::shop::ShopDefinition;
use crate::survey::Survey;
use crate::work::{Job, TaskState};
use chrono::{DateTime, Days, NaiveDate, Utc};

/// What runs out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ExpiringKind {
    /// The survey of a bay.
    Survey,
    /// The verification of a unit.
    Verification,
    /// A technician's role.
    Role,
    /// A sign-off that open tasks rest on.
    SignOff,
}

/// Something that runs out within the days asked, or has run out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expiring {
    /// The first local date on which it no longer counts.
    pub date: NaiveDate,
    /// What it is.
    pub kind: ExpiringKind,
    /// Whose: bay, unit, technician and role, or job and prerequisite.
    pub name: String,
    /// One sentence that says what to do.
    pub sentence: String,
}

/// Everything that runs out on or before `today` and `days` more, by date.
pub fn expiring<'a>(
    shop: &ShopDefinition,
    surveys: impl Iterator<Item = &'a Survey>,
    jobs: &[Job],
    now: DateTime<Utc>,
    days: u32,
) -> Vec<Expiring> {
    let zone = shop.parts().shop.parts().hours.zone();
    let today = zone.local(now).date();
    let last = today.checked_add_days(Days::new(days.into())).unwrap_or(today);
    let mut found = Vec::new();
    let mut note = |date: NaiveDate, kind, name: String, sentence: String| {
        if date <= last {
            found.push(Expiring { date, kind, name, sentence });
        }
    };
    for survey in surveys {
        let (bay, until) = (survey.bay(), survey.valid_until());
        let sentence = format!("Survey bay {bay} again; its survey counts until before {until}.");
        note(until, ExpiringKind::Survey, bay.to_string(), sentence);
    }
    for unit in &shop.parts().units {
        if let Some(until) = unit.parts().verified_until {
            let sentence =
                format!("Have unit {} verified; it counts until before {until}.", unit.id());
            note(until, ExpiringKind::Verification, unit.id().to_string(), sentence);
        }
    }
    for technician in &shop.parts().technicians {
        for dated in &technician.parts().dated_roles {
            if let Some(until) = dated.until {
                let name = format!("{}/{}", technician.id(), dated.role);
                let sentence = format!(
                    "{} fills role {} until before {until}; renew it or plan without it.",
                    technician.id(),
                    dated.role
                );
                note(until, ExpiringKind::Role, name, sentence);
            }
        }
    }
    for job in jobs.iter().filter(|job| job.tasks.iter().any(|task| task.state == TaskState::Open))
    {
        for prerequisite in &job.prerequisites {
            let until = prerequisite.sign_off.as_ref().and_then(|said| said.until);
            if let Some(until) = until {
                let name = format!("{}/{}", job.id, prerequisite.id);
                let title = &prerequisite.title;
                let sentence = format!("{title} of job {} must be signed off again.", job.id);
                note(zone.local(until).date(), ExpiringKind::SignOff, name, sentence);
            }
        }
    }
    found.sort_by(|one, other| {
        (one.date, one.kind, &one.name).cmp(&(other.date, other.kind, &other.name))
    });
    found
}
