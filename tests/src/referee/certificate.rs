//! Derives a plan's bound again from the certificate in its file, sharing no code with the planner.
//!
//! For any prices of 0 or more, no plan costs less than what the jobs cost at least against the prices,
//! each by itself, added up, less the sum of all prices: in no minute is a resource used, or a group
//! of clashing places held, by two jobs. Minutes of fixed steps are not paid for and not for sale.
//!
//! Where the certificate goes on from there, to a bound that the prices do not prove, no cheaper plan may be left: first the
//! starts go over which the job costs too much for that against the prices (reduced-cost fixing), then the problem's
//! rules are written down, and each lesson of the proof must follow from them by propagation alone (reverse unit
//! propagation; Goldberg and Novikov, DATE 2003), until no values are left.

mod admits;
mod alone;
mod day;
mod model;
mod prices;
mod proof;
mod rules;
mod shared_work;

pub use admits::admits;

use alone::{Alone, NEVER, Pays, Starts};
use day::Day;
use model::Known;
use prices::Prices;
use serde_json::Value;

/// What a certificate proves: a cost that no plan goes below.
///
/// # Errors
/// A sentence when there is no certificate, or one that proves nothing, or one with a step that does not follow.
pub fn derive(problem: &str, plan: &str) -> Result<i128, String> {
    let problem: Value = serde_json::from_str(problem).map_err(|error| error.to_string())?;
    let plan: Value = serde_json::from_str(plan).map_err(|error| error.to_string())?;
    let day = Day::read(&problem)?;
    let certificate = &plan["certificate"];
    let priced = Priced::new(&day, certificate)?;
    let closing = &certificate["closing"];
    if closing.is_null() {
        return Ok(priced.bound());
    }
    let bound = closing["bound"].as_i64().ok_or("the proof states no bound")?;
    if i128::from(bound) <= priced.bound() {
        return Ok(priced.bound());
    }
    let known = priced.known(i128::from(bound) - 1);
    let mut model = model::model(&day, &known, i128::from(bound) - 1)?;
    proof::go_through(&mut model, closing)?;
    Ok(i128::from(bound))
}

/// The jobs against the prices.
struct Priced<'d> {
    day: &'d Day,
    prices: Prices,
    /// Per job, the least that it costs against them.
    least: Vec<i128>,
    /// The earliest last finish.
    last: i64,
}

impl<'d> Priced<'d> {
    fn new(day: &'d Day, certificate: &Value) -> Result<Self, String> {
        let prices = prices::read(day, certificate)?;
        let mut least = Vec::new();
        let work = &certificate["shared_work"];
        let mut last = if work.is_null() { 0 } else { shared_work::last_finish(day, work)?.max(0) };
        for (at, job) in day.jobs.iter().enumerate() {
            let priced = Alone::new(day, &prices, at, Pays::Prices, None).least();
            least.push(priced.ok_or("a job that must be planned has no way to stand")?);
            // No earlier than the latest of the earliest finishes of the jobs that must be planned.
            if day.cost.makespan > 0 && job.left_out.is_none() {
                let finish = Alone::new(day, &prices, at, Pays::Finish, None).planned();
                last = last.max(i64::try_from(finish).unwrap_or(0));
            }
        }
        Ok(Self { day, prices, least, last })
    }

    /// What the prices prove, in the certificate's parts, and for the last finish.
    fn proved(&self) -> (i128, i128) {
        let spanned = i128::from(self.day.cost.makespan) * i128::from(self.last);
        (self.least.iter().sum::<i128>() - self.prices.paid, spanned)
    }

    fn bound(&self) -> i128 {
        let (proved, spanned) = self.proved();
        let scale = self.prices.scale;
        proved.div_euclid(scale) + i128::from(proved.rem_euclid(scale) > 0) + spanned
    }

    /// What is known of the jobs in plans that cost at most so much.
    fn known(&self, most: i128) -> Known {
        let (proved, spanned) = self.proved();
        let slack = (most - spanned) * self.prices.scale - proved;
        let mut known = Known { kept: Vec::new(), least: Vec::new(), last: self.last };
        for at in 0..self.day.jobs.len() {
            let mut kept: Starts<i128> =
                Alone::new(self.day, &self.prices, at, Pays::Prices, None).over();
            for starts in kept.iter_mut().flatten() {
                starts.retain(|_, over| *over <= self.least[at] + slack);
            }
            let alone = Alone::new(self.day, &self.prices, at, Pays::Costs, Some(&kept));
            // Where a job has no way left, no plan is cheap enough.
            known.least.push(alone.least().unwrap_or(NEVER / 1_000_000));
            known.kept.push(kept);
        }
        known
    }
}
