//! Handing what is held over to another technician. Task, place, vehicle, units, state and attempt
//! stay; the fencing number rises, so that the former holder can change nothing any more.

use super::{
    told::stated_note,
    work_holding::{Held, HolderCall, held},
};
use crate::{
    app::App,
    error::ServiceError,
    snapshot::ShopSnapshot,
    storage::{
        Done,
        holdings::{active_claims, end_holding, insert_holding},
    },
};
use baywright_api::{time::timestamp, v1};
use baywright_core::{
    fault::{Fault, FaultList},
    ids::{RoleId, TechnicianId},
    shop::Technician,
};
use sea_orm::DatabaseTransaction;

/// The field that names who takes over.
const TO: &str = "to_technician_id";

/// Hands what is held over to another technician.
///
/// # Errors
/// A caller who does not hold the task; no note; a technician who is not known, does not fill the
/// holder's role, is not on shift, or holds something.
pub async fn hand_over_task(
    app: &App,
    request: v1::HandOverTaskRequest,
) -> Result<v1::HandOverTaskResponse, ServiceError> {
    let holder = HolderCall::new(&request, app.clock.now())?;
    let mut faults = FaultList::new();
    let to = &request.to_technician_id;
    if TechnicianId::new(to).is_err() {
        let limit = "name a technician of the shop";
        faults.push(Fault::new(TO, format!("\"{to}\""), limit, "say who takes over"));
    }
    stated_note(&mut faults, &request.note);
    faults.finish(())?;
    let call = holder.call.clone();
    let input = (holder, request.to_technician_id, request.note);
    app.exactly_once_on_shop(call, input, |tx, shop, (holder, to, note)| {
        Box::pin(hand_over(tx, shop, holder, to, note))
    })
    .await
}

async fn hand_over(
    tx: &DatabaseTransaction,
    shop: &ShopSnapshot,
    holder: &HolderCall,
    to: &str,
    note: &str,
) -> Result<Done<v1::HandOverTaskResponse>, ServiceError> {
    let now = holder.call.at();
    let held = held(tx, holder).await?;
    let technicians = &shop.definition().parts().technicians;
    let next = technicians.iter().find(|known| known.id().as_str() == to);
    let next = next.ok_or_else(|| ServiceError::not_found("technician", to))?;
    fills_the_role(shop, &held, next)?;
    if !next.is_on_shift(now) {
        let sentence = format!("{to} is not on shift now; hand over to somebody who is.");
        return Err(ServiceError::NotReady { sentences: vec![sentence] });
    }
    let shop_id = holder.call.shop_id().as_str();
    if active_claims(tx, shop_id).await?.contains_key(&format!("technician:{to}")) {
        let (kind, id) = ("technician".to_owned(), to.to_owned());
        return Err(ServiceError::HeldElsewhere { kind, id });
    }
    let before = held.holding;
    end_holding(tx, &before, now).await?;
    let mut holding = before.clone();
    for technician in &mut holding.technician_ids {
        if *technician == before.technician_id {
            to.clone_into(technician);
        }
    }
    to.clone_into(&mut holding.technician_id);
    holding.hand_overs.push(v1::HandOver {
        from_technician_id: before.technician_id.clone(),
        to_technician_id: to.to_owned(),
        handed_over_time: Some(timestamp(now)),
        note: note.to_owned(),
    });
    insert_holding(tx, &mut holding).await?;
    let reply = v1::HandOverTaskResponse { holding: Some(holding.clone()) };
    Ok(Done::new(reply).changed("holding", before.fence.to_string(), Some(&before), None).changed(
        "holding",
        holding.fence.to_string(),
        None,
        Some(&holding),
    ))
}

/// The next technician fills the role in which the holder stands.
fn fills_the_role(shop: &ShopSnapshot, held: &Held, next: &Technician) -> Result<(), ServiceError> {
    let role = role_of_the_holder(shop, held)?;
    if next.fills(role, shop.date()) {
        return Ok(());
    }
    Err(Fault::new(
        TO,
        next.id(),
        format!("name a technician who fills the role {role}"),
        "hand over to somebody who does, or put the task back",
    )
    .into())
}

fn role_of_the_holder<'a>(shop: &'a ShopSnapshot, held: &Held) -> Result<&'a RoleId, ServiceError> {
    let holding = &held.holding;
    let crew = &holding.technician_ids;
    let procedure = shop.definition().procedure(&held.task()?.procedure);
    let method = procedure.and_then(|procedure| {
        procedure.methods().iter().find(|method| method.id().as_str() == holding.method_id)
    });
    let place_in_crew = crew.iter().position(|id| *id == holding.technician_id);
    let role = method.and_then(|method| method.roles().get(place_in_crew?));
    role.ok_or_else(|| {
        let sentence = format!(
            "The shop no longer has method {} with the roles of the pull; put the task back.",
            holding.method_id
        );
        ServiceError::NotReady { sentences: vec![sentence] }
    })
}
