//! What can be done in house, as the shop is and with one thing changed.
//!
//! What can be done in the bays as they are is found once for a whole mix: every candidate change leaves
//! all bays but one as they are.

use super::{GainShop, WorkAsked};
use crate::demand::{Method, WorkPlace};
use crate::fit::{Change, Fit, fit};
use crate::floor::Bay;
use crate::ids::{BayId, MethodId, ProcedureId, UnitKindId, VehicleClassId};
use crate::survey::Survey;
use std::collections::BTreeSet;

/// The shop with one thing changed; nothing by default.
#[derive(Debug, Default)]
pub(super) struct Changed {
    bay: Option<(Bay, Option<Survey>)>,
    bought: Option<UnitKindId>,
}

impl Changed {
    /// The shop after a change; none where it cannot be made.
    pub(super) fn by(shop: &GainShop<'_>, bay: Option<&BayId>, change: &Change) -> Option<Self> {
        if let Change::BuyUnit { kind } = change {
            return Some(Self { bay: None, bought: Some(kind.clone()) });
        }
        let bay = shop.around(bay?)?;
        Some(Self { bay: Some(change.applied(&bay)?), bought: None })
    }
}

/// Work of a method in a bay.
type Possible = (ProcedureId, MethodId, VehicleClassId, BayId);

/// The shop with what of a mix can be done in which of its bays.
#[derive(Debug)]
pub(super) struct AsItIs<'s, 'a> {
    shop: &'s GainShop<'a>,
    possible: BTreeSet<Possible>,
}

impl<'s, 'a> AsItIs<'s, 'a> {
    /// Looks at every bay for a mix of work.
    pub(super) fn of(shop: &'s GainShop<'a>, mix: &[WorkAsked]) -> Self {
        let mut possible = BTreeSet::new();
        for work in mix {
            for method in shop.methods(work) {
                let bays = shop.shop.parts().bays.iter();
                let able = bays.filter(|bay| shop.can_as_it_is(method, work, bay));
                possible.extend(able.map(|bay| Self::key(method, work, bay)));
            }
        }
        Self { shop, possible }
    }

    fn key(method: &Method, work: &WorkAsked, bay: &Bay) -> Possible {
        (work.procedure.clone(), method.id().clone(), work.class.clone(), bay.id().clone())
    }

    /// Minutes of the quickest method by which work can be done here; none when it cannot.
    pub(super) fn quickest(&self, work: &WorkAsked, changed: &Changed) -> Option<u32> {
        let can = |method: &&Method| {
            let lacking = self.shop.kinds_lacking(method);
            let equipped = match lacking.as_slice() {
                [] => true,
                [kind] => changed.bought.as_ref() == Some(kind),
                _ => false,
            };
            equipped && (method.place() != WorkPlace::Bay || self.some_bay(method, work, changed))
        };
        self.shop.methods(work).filter(can).map(|method| method.minutes().total()).min()
    }

    /// Whether work can be done in one of the bays.
    fn some_bay(&self, method: &Method, work: &WorkAsked, changed: &Changed) -> bool {
        self.shop.shop.parts().bays.iter().any(|bay| match &changed.bay {
            Some((other, survey)) if other.id() == bay.id() => {
                self.can_in(method, work, (other, survey.as_ref()))
            }
            _ => self.possible.contains(&Self::key(method, work, bay)),
        })
    }

    /// Whether work can be done in a changed bay; computed anew.
    fn can_in(
        &self,
        method: &Method,
        work: &WorkAsked,
        (bay, survey): (&Bay, Option<&Survey>),
    ) -> bool {
        let Some(class) = self.shop.class(work) else { return false };
        match fit(method, class, bay, survey, self.shop.on) {
            Fit::Fits(placement) => self.shop.sun_leaves_time(method, work, (bay, &placement)),
            Fit::DoesNotFit(_) | Fit::Undecided(_) | Fit::NeedsNoBay => false,
        }
    }
}
