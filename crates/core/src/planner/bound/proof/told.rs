//! What proves a bound, as it goes into the plan's file: prices where they do, else what closed the problem.
//!
//! A bound that was found otherwise, from the jobs alone or from a special structure, is proved anew where that takes
//! little: without prices, or by closing the problem just below it.

use super::{CELLS_PER_EPOCH, Close, Priced, Proof, RUNS_MAX, SMALL_JOBS, WORK_PER_EPOCH};
use crate::planner::bound::NEVER;
use crate::planner::bound::ascent::Room;
use crate::planner::bound::certificate::Certificate;
use crate::planner::bound::prices::Prices;
use crate::planner::closer::{Closer, Closing};

impl Proof<'_> {
    /// What proves a bound; none where that would be too long, or takes more than a little.
    pub(in crate::planner) fn certificate(&self, bound: i64) -> Option<Certificate> {
        let priced = self.prices.as_ref()?;
        let certificate = if priced.ascent.passes > 0 && priced.bound >= bound {
            Some(Certificate::new(&priced.market, &priced.ascent.best, bound))
        } else if self.bound >= bound && bound > self.alone.max(priced.bound) {
            priced.closing.as_ref().map(|close| close.certificate(priced))
        } else {
            self.anew(priced, bound)
        };
        let runs = |certificate: &Certificate| -> usize {
            certificate.prices.iter().map(|unit| unit.runs.len()).sum()
        };
        certificate.filter(|certificate| runs(certificate) <= RUNS_MAX)
    }

    /// Proves a bound without prices; where the jobs alone do not reach it, by closing a small problem.
    fn anew(&self, priced: &Priced<'_>, bound: i64) -> Option<Certificate> {
        let market = &priced.market;
        if market.cells > CELLS_PER_EPOCH {
            return None;
        }
        let none = Prices::none(&market.units, market.origin, market.len);
        let mut room = Room::default();
        room.tariff.set(&market.units, &none);
        let domains = priced.domains.iter().enumerate();
        let least = domains.map(|(job, domain)| room.bid(market, job, domain).0.min(NEVER));
        let least = least.fold(0_i64, i64::saturating_add);
        let spanned = market.problem.cost.makespan.saturating_mul(self.last);
        let alone = market.unscaled(least).saturating_add(spanned);
        let mut certificate = Certificate::new(market, &none, alone.min(bound));
        if alone >= bound {
            return Some(certificate);
        }
        if priced.domains.len() > SMALL_JOBS {
            return None;
        }
        let mut closer = Closer::new(market, self.shop, &priced.domains, (bound, self.last))?;
        if !matches!(closer.epoch(self.shop, WORK_PER_EPOCH, bound), Closing::Closed(_)) {
            return None;
        }
        certificate.branches = Some(closer.dead_ends());
        certificate.closing = Some(closer.proof()?);
        Some(certificate)
    }
}

impl Close {
    fn certificate(&self, priced: &Priced<'_>) -> Certificate {
        let mut certificate = Certificate::new(&priced.market, &self.prices, self.bound);
        certificate.branches = Some(self.dead_ends());
        certificate.closing = self.closer.proof();
        certificate
    }
}
