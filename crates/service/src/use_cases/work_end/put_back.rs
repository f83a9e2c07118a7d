//! A held, running or paused task goes back without a result.

use super::end_attempt;
use crate::{
    app::App,
    error::ServiceError,
    use_cases::{record_evidence::Ending, told::stated_note, work_holding::HolderCall},
};
use baywright_api::v1;
use baywright_core::{fault::FaultList, work::TaskEvent};

/// Puts a held, running or paused task back.
///
/// # Errors
/// A caller who does not hold the task; no note.
pub async fn put_back_task(
    app: &App,
    request: v1::PutBackTaskRequest,
) -> Result<v1::PutBackTaskResponse, ServiceError> {
    let holder = HolderCall::new(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    stated_note(&mut faults, &request.note);
    faults.finish(())?;
    let call = holder.call.clone();
    app.exactly_once_on_shop(call, (holder, request.note), |tx, shop, (holder, note)| {
        let ending = Ending::put_back(note);
        Box::pin(async move {
            let step = (TaskEvent::PutBack, &ending);
            end_attempt(tx, shop, holder, step, &|_, _| Ok(()), |record| v1::PutBackTaskResponse {
                record: Some(record),
            })
            .await
        })
    })
    .await
}
