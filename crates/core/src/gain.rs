//! The gain report: of a mix of work, which single change to the shop brings how many tasks and hours
//! a week in house.
//!
//! Work is in house when one of its methods can be done here: a bay as surveyed fits it (or it needs
//! none), the sun leaves time for its run within the day's hours, and every kind of equipment is there.
//! For what is not, the nearest misses of every bay, the blinds that would leave time and the units that
//! lack are the candidates; each is made by itself, and everything is computed anew: what it brings, and
//! what it would cost where a bay stops fitting.
//!
//! Only space, level floor, light, sun and equipment are looked at; not people, working hours or promises.

mod in_house;
mod mix;
mod shop;

pub use mix::{MIX_MAX, WorkAsked};
pub use shop::GainShop;

use crate::fit::{Change, ChangeKind};
use crate::ids::BayId;
use in_house::{AsItIs, Changed};

/// A kind of work with its minutes.
#[derive(Debug, Clone, PartialEq)]
pub struct Done {
    /// The work.
    pub work: WorkAsked,
    /// Minutes of the quickest method by which it can be done.
    pub minutes: u32,
}

/// A single change and what it brings.
#[derive(Debug, Clone, PartialEq)]
pub struct Gain {
    /// The bay that is changed; none for equipment.
    pub bay: Option<BayId>,
    /// The change.
    pub change: Change,
    /// What can be done here after it and cannot before.
    pub brings: Vec<Done>,
    /// What can be done here before it and cannot after.
    pub loses: Vec<Done>,
}

impl Gain {
    /// Tasks a week that it brings, less those that it loses.
    pub fn tasks_per_week(&self) -> f64 {
        tasks(&self.brings) - tasks(&self.loses)
    }

    /// Hours a week that it brings, less those that it loses.
    pub fn hours_per_week(&self) -> f64 {
        hours(&self.brings) - hours(&self.loses)
    }
}

/// A mix of work as the shop is, and what would bring more of it in house.
#[derive(Debug, Clone, PartialEq)]
pub struct GainReport {
    /// What can be done here.
    pub in_house: Vec<Done>,
    /// What cannot.
    pub outside: Vec<WorkAsked>,
    /// Changes that bring something, the most hours a week first.
    pub gains: Vec<Gain>,
}

/// Tasks a week of work.
pub fn tasks(work: &[Done]) -> f64 {
    work.iter().map(|one| one.work.per_week).sum()
}

/// Hours a week of work.
pub fn hours(work: &[Done]) -> f64 {
    work.iter().map(|one| one.work.per_week * f64::from(one.minutes) / 60.0).sum()
}

/// What single changes bring over a mix of work.
///
/// # Edge cases
/// Work of a procedure or class that the shop does not have is outside, and no change brings it.
/// Of changes of one kind in one bay that bring and lose the same the smallest is kept, and of those
/// without a size only what no other one brings too.
pub fn gain_report(shop: &GainShop<'_>, mix: &[WorkAsked]) -> GainReport {
    let as_it_is = AsItIs::of(shop, mix);
    let (mut in_house, mut outside) = (Vec::new(), Vec::new());
    for work in mix {
        match as_it_is.quickest(work, &Changed::default()) {
            Some(minutes) => in_house.push(Done { work: work.clone(), minutes }),
            None => outside.push(work.clone()),
        }
    }
    let mut gains: Vec<Gain> = Vec::new();
    for (bay, change) in candidates(shop, &outside) {
        let Some(changed) = Changed::by(shop, bay.as_ref(), &change) else { continue };
        let brings: Vec<_> = outside
            .iter()
            .filter_map(|work| {
                let minutes = as_it_is.quickest(work, &changed)?;
                Some(Done { work: work.clone(), minutes })
            })
            .collect();
        let lost = |done: &&Done| as_it_is.quickest(&done.work, &changed).is_none();
        let loses = in_house.iter().filter(lost).cloned().collect();
        if !brings.is_empty() {
            gains.push(Gain { bay, change, brings, loses });
        }
    }
    GainReport { in_house, outside, gains: best_first(gains) }
}

/// The single changes that bring at least one kind of work, each once.
fn candidates(shop: &GainShop<'_>, outside: &[WorkAsked]) -> Vec<(Option<BayId>, Change)> {
    let mut found: Vec<(Option<BayId>, Change)> = Vec::new();
    let mut note = |bay: Option<&BayId>, change: Change| {
        let same = |held: &&mut (Option<BayId>, Change)| {
            held.0.as_ref() == bay && held.1.is_but_for_minutes(&change)
        };
        match found.iter_mut().find(same) {
            Some(held) if held.1.minutes() < change.minutes() => held.1 = change,
            Some(_) => {}
            None => found.push((bay.cloned(), change)),
        }
    };
    for work in outside {
        for method in shop.methods(work) {
            match shop.kinds_lacking(method).as_slice() {
                [] => {
                    for (bay, change) in shop.misses(method, work) {
                        note(Some(bay), change);
                    }
                }
                [kind] => note(None, Change::BuyUnit { kind: kind.clone() }),
                _ => {}
            }
        }
    }
    found
}

/// The most hours first; of changes of one kind in one bay those that bring something of their own.
fn best_first(mut gains: Vec<Gain>) -> Vec<Gain> {
    // The more minutes a blind leaves the better; of everything else the less the better.
    let size = |gain: &Gain| match gain.change.minutes() {
        Some(minutes) => -f64::from(minutes),
        None => gain.change.size().map_or(0.0, |size| size.value),
    };
    let effort = |gain: &Gain| -> (ChangeKind, f64) { (gain.change.kind(), size(gain)) };
    gains.sort_by(|a, b| {
        let ((kind_a, size_a), (kind_b, size_b)) = (effort(a), effort(b));
        (b.hours_per_week().total_cmp(&a.hours_per_week()))
            .then(kind_a.cmp(&kind_b))
            .then(size_a.total_cmp(&size_b))
    });
    let mut kept: Vec<Gain> = Vec::new();
    for gain in gains {
        // A larger size of a change may bring more at a higher price; a change without size may not.
        let covers = |held: &Gain| {
            let alike = held.bay == gain.bay && held.change.kind() == gain.change.kind();
            let same = held.brings == gain.brings && held.loses == gain.loses;
            let more = gain.change.size().is_none()
                && gain.brings.iter().all(|one| held.brings.contains(one))
                && held.loses.iter().all(|one| gain.loses.contains(one));
            alike && (same || more)
        };
        if !kept.iter().any(covers) {
            kept.push(gain);
        }
    }
    kept
}

#[cfg(test)]
mod tests;
