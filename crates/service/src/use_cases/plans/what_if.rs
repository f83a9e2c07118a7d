//! What would be if the shop were otherwise: only asked, nothing is kept.

use super::{PlanAsked, no_plan, search::Basis};
use crate::{app::App, caution::CAUTION, error::ServiceError, off_thread::search_off_thread};
use baywright_api::{
    v1,
    what_if::{report_message, supposed_from},
};
use baywright_core::{
    fault::{FaultList, Faults},
    shop_day::{WhatIfError, what_if},
};

/// Plans a copy of the shop in which everything that is supposed is so, and tells the difference.
///
/// # Errors
/// No such shop; a supposition with faults or about something that the shop does not have; no plan.
pub async fn report_what_if(
    app: &App,
    request: v1::ReportWhatIfRequest,
) -> Result<v1::ReportWhatIfResponse, ServiceError> {
    let v1::ReportWhatIfRequest { shop_id, suppositions, days, seed, epochs } = request;
    let effort = PlanAsked { days, seed, epochs, seconds: 0 }.effort()?;
    let supposed = supposed_from(&suppositions)?;
    let basis = Basis::read(app, &shop_id, app.clock.now()).await?;
    let report = search_off_thread(move |abandoned| {
        let stop = &mut |_: &_| abandoned.is_so();
        basis.with_state(effort.days, |state, _| what_if(state, &supposed, effort.options, stop))
    })
    .await?
    .map_err(|error| match error {
        WhatIfError::Supposed(faults) => inside_list(faults),
        WhatIfError::Day(error) => no_plan(error),
    })?;
    let report = v1::WhatIfReport {
        days: effort.days,
        caution: CAUTION.to_owned(),
        ..report_message(&report)
    };
    Ok(v1::ReportWhatIfResponse { report: Some(report) })
}

/// Faults of the core's list as faults of the request's.
fn inside_list(faults: Faults) -> ServiceError {
    let mut list = FaultList::new();
    list.take::<()>("suppositions", Err(faults));
    match list.finish(()) {
        Err(faults) => faults.into(),
        Ok(()) => ServiceError::internal("a refusal without a fault"),
    }
}
