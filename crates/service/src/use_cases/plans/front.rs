//! What steadiness costs: the plans with changes free, at their price and at a multiple of it; nothing is kept.

use super::{PlanAsked, no_plan, search::Basis};
use crate::{
    app::App, caution::CAUTION, error::ServiceError, limits::FRONT_SECONDS_MAX,
    off_thread::search_off_thread,
};
use baywright_api::{front::front_message, v1};
use baywright_core::{
    fault::{Fault, Faults},
    planner::FRONT_FACTORS,
    shop_day::front,
};
use std::time::{Duration, Instant};

/// Plans the shop once for each price of a change, and tells what each plan comes to.
///
/// # Errors
/// Days, epochs or seconds out of range; no plan that keeps every rule.
pub async fn report_front(
    app: &App,
    request: v1::ReportFrontRequest,
) -> Result<v1::ReportFrontResponse, ServiceError> {
    let v1::ReportFrontRequest { shop_id, days, seed, epochs, seconds } = request;
    if seconds > FRONT_SECONDS_MAX {
        let limit = format!("be 0 to {FRONT_SECONDS_MAX}");
        let fault = Fault::new("seconds", seconds, limit, "search for less long");
        return Err(Faults::from(fault).into());
    }
    let effort = PlanAsked { days, seed, epochs, seconds }.effort()?;
    let basis = Basis::read(app, &shop_id, app.clock.now()).await?;
    let share =
        Duration::from_secs(seconds.into()) / u32::try_from(FRONT_FACTORS.len()).unwrap_or(1);
    let points = search_off_thread(move |abandoned| {
        let mut begun: Option<(i64, Instant)> = None;
        let stop = &mut |factor: i64, _: &_| {
            let known = begun.filter(|(of, _)| *of == factor);
            let (_, at) = *begun.insert(known.unwrap_or_else(|| (factor, Instant::now())));
            abandoned.is_so() || (seconds > 0 && at.elapsed() >= share)
        };
        basis.with_state(effort.days, |state, _| front(state, effort.options, stop))
    })
    .await?
    .map_err(no_plan)?;
    let report = v1::FrontReport {
        days: effort.days,
        caution: CAUTION.to_owned(),
        ..front_message(&points)
    };
    Ok(v1::ReportFrontResponse { report: Some(report) })
}
