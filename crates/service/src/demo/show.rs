//! What the demonstration asks for to print it: the shop, its fits, its jobs, the plan with the time
//! that planning took, who is at work, whom to chase, and the day.

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
    pub(super) holdings: Vec<v1::Holding>,
    pub(super) chases: Vec<v1::Chase>,
    pub(super) today: v1::GetTodayResponse,
    /// Names of the technicians, as the shop lists them.
    pub(super) technicians: Vec<String>,
    /// Names of the bays, `bay-2` before `bay-10`.
    pub(super) bays: Vec<String>,
    /// Names of the procedures for calibrations, then of the others.
    pub(super) procedures: Vec<String>,
}

/// Asks for it.
pub(super) async fn look(caller: &Caller) -> Result<Seen, DemoError> {
    let definition = caller.shop().await?;
    let zone = zone_of(&definition)?;
    let technicians = definition.technicians.into_iter().map(|one| one.technician_id).collect();
    let mut bays: Vec<_> = definition.bays.into_iter().map(|bay| bay.bay_id).collect();
    bays.sort_by_key(|bay| (bay.len(), bay.clone()));
    let (calibrations, others): (Vec<_>, Vec<_>) =
        definition.procedures.into_iter().partition(|one| one.kind() == v1::TaskKind::Calibration);
    let procedures = calibrations.into_iter().chain(others).map(|one| one.procedure_id).collect();
    let shop = definition.shop.unwrap_or_default();
    // Asked for before the plan, so that the bays' geometry is not counted as planning.
    let fits = caller.fits().await?;
    let begun = Instant::now();
    let plan = caller.plan().await?;
    let planning = begun.elapsed();
    let jobs = caller.jobs().await?;
    let holdings = caller.holdings().await?;
    let chases = caller.chases("").await?;
    let today = caller.today().await?;
    Ok(Seen {
        shop,
        zone,
        fits,
        jobs,
        plan,
        planning,
        holdings,
        chases,
        today,
        technicians,
        bays,
        procedures,
    })
}

/// The time zone of the shop.
pub(super) fn zone_of(definition: &v1::ShopDefinition) -> Result<TimeZone, DemoError> {
    let zone = definition.shop.as_ref().map_or("", |shop| &shop.time_zone);
    TimeZone::parse(zone).map_err(|faults| DemoError::Refused {
        what: format!("the time zone of shop {SHOP_ID}"),
        sentence: faults.to_string(),
    })
}
