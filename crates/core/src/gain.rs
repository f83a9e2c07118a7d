//! The gain report: of a mix of work, which single change to the shop brings how many tasks and hours
//! a week in house.
//!
//! Work is in house when one of its methods can be done here: the bays as surveyed fit it (or it needs
//! none) and every kind of equipment is there. For what is not, the nearest misses of every bay and
//! the units that lack are the candidates; each is made by itself, and everything is computed anew: what
//! it brings, and what it would cost where a bay stops fitting.
//!
//! Only space, level floor, light and equipment are looked at; not people, hours or promises.

mod mix;
mod shop;

pub use mix::{MIX_MAX, WorkAsked};
pub use shop::GainShop;

use crate::demand::{Method, WorkPlace};
use crate::fit::{Change, ChangeKind, Fit, fit};
use crate::floor::Bay;
use crate::ids::{BayId, UnitKindId};
use crate::survey::Survey;

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
    let (mut in_house, mut outside) = (Vec::new(), Vec::new());
    for work in mix {
        match shop.quickest(work, &Changed::default()) {
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
                let minutes = shop.quickest(work, &changed)?;
                Some(Done { work: work.clone(), minutes })
            })
            .collect();
        let lost = |done: &&Done| shop.quickest(&done.work, &changed).is_none();
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
        let one = (bay.cloned(), change);
        if !found.contains(&one) {
            found.push(one);
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

/// The shop with one thing changed.
#[derive(Debug, Default)]
struct Changed {
    bay: Option<(Bay, Option<Survey>)>,
    bought: Option<UnitKindId>,
}

impl Changed {
    fn by(shop: &GainShop<'_>, bay: Option<&BayId>, change: &Change) -> Option<Self> {
        if let Change::BuyUnit { kind } = change {
            return Some(Self { bay: None, bought: Some(kind.clone()) });
        }
        let bay = shop.around(bay?)?;
        Some(Self { bay: Some(change.applied(&bay)?), bought: None })
    }
}

impl GainShop<'_> {
    /// Minutes of the quickest method by which work can be done here; none when it cannot.
    fn quickest(&self, work: &WorkAsked, changed: &Changed) -> Option<u32> {
        let can = |method: &&Method| {
            let lacking = self.kinds_lacking(method);
            let equipped = match lacking.as_slice() {
                [] => true,
                [kind] => changed.bought.as_ref() == Some(kind),
                _ => false,
            };
            equipped
                && (method.place() != WorkPlace::Bay || self.some_bay_fits(method, work, changed))
        };
        self.methods(work).filter(can).map(|method| method.minutes().total()).min()
    }

    fn some_bay_fits(&self, method: &Method, work: &WorkAsked, changed: &Changed) -> bool {
        let same =
            self.shop.parts().bays.iter().filter(|bay| {
                changed.bay.as_ref().is_none_or(|(changed, _)| changed.id() != bay.id())
            });
        same.clone().any(|bay| self.fits_as_it_is(method, work, bay.id()))
            || changed.bay.as_ref().is_some_and(|(bay, survey)| {
                let class = self.class(work);
                class.is_some_and(|class| {
                    let fit = fit(method, class, bay, survey.as_ref(), self.on);
                    matches!(fit, Fit::Fits(_))
                })
            })
    }
}

/// The most hours first; of changes of one kind in one bay those that bring something of their own.
fn best_first(mut gains: Vec<Gain>) -> Vec<Gain> {
    let size = |gain: &Gain| gain.change.size().map_or(0.0, |size| size.value);
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
