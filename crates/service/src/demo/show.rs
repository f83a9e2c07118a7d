//! What the demonstration asks for to print it: the shop, its fits, its jobs, and the plan with the
//! time that planning took.

use super::{DemoError, SHOP_ID, caller::Caller};
use baywright_api::v1;
use baywright_core::calendar::TimeZone;
use std::time::{Duration, Instant};

/// Everything that is printed.
#[derive(Debug)]
pub(super) struct Seen {
    pub(super) shop: v1::Shop,
    pub(super) zone: TimeZone,
    pub(super) fits: Vec<v1::Fit>,
    pub(super) jobs: Vec<v1::Job>,
    pub(super) plan: v1::Plan,
    /// How long the call that plans took, there and back.
    pub(super) planning: Duration,
}

/// Asks for it.
pub(super) async fn look(caller: &Caller) -> Result<Seen, DemoError> {
    let shop = caller.shop().await?.shop.unwrap_or_default();
    let zone = TimeZone::parse(&shop.time_zone).map_err(|faults| DemoError::Refused {
        what: format!("the time zone of shop {SHOP_ID}"),
        sentence: faults.to_string(),
    })?;
    // Asked for before the plan, so that the bays' geometry is not counted as planning.
    let fits = caller.fits().await?;
    let begun = Instant::now();
    let plan = caller.plan().await?;
    let planning = begun.elapsed();
    let jobs = caller.jobs().await?;
    Ok(Seen { shop, zone, fits, jobs, plan, planning })
}
