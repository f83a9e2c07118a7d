//! The people and units for a method, at this instant.

use super::Floor;
use baywright_core::{
    demand::Method,
    ids::{RoleId, TechnicianId, UnitId},
    shop::{Technician, Unit},
    shop_day::Assignment,
};

/// Who and what a task takes.
#[derive(Debug)]
pub(super) struct Crew {
    /// In the order of the method's roles.
    pub(super) technicians: Vec<TechnicianId>,
    /// In the order of the method's equipment.
    pub(super) units: Vec<UnitId>,
}

/// People and units for `method`, the puller among them, or a sentence that says what is missing.
pub(super) fn gather(
    floor: &Floor<'_>,
    method: &Method,
    planned: Option<&Assignment>,
) -> Result<Crew, String> {
    let technicians = fill_roles(floor, method.roles(), planned)?;
    let mut units: Vec<UnitId> = Vec::new();
    for kind in method.equipment() {
        let mut of_kind: Vec<_> = floor
            .shop
            .definition()
            .parts()
            .units
            .iter()
            .filter(|unit| unit.parts().kind == *kind && unit.is_usable_on(floor.shop.date()))
            .flat_map(Unit::pieces)
            .collect();
        of_kind.sort_by_key(|piece| planned.is_none_or(|planned| !planned.units.contains(piece)));
        let free = of_kind.iter().find(|piece| {
            !units.contains(piece) && !floor.held.contains_key(&format!("unit:{piece}"))
        });
        let Some(free) = free else {
            return Err(if of_kind.is_empty() {
                format!("No unit of kind {kind} is here with a verification that counts.")
            } else {
                format!("Every unit of kind {kind} is in use.")
            });
        };
        units.push(free.clone());
    }
    Ok(Crew { technicians, units })
}

/// Gives the puller one of the roles and finds others for the rest; each order of roles is tried, so
/// that nobody is put where only the puller could stand.
fn fill_roles(
    floor: &Floor<'_>,
    roles: &[RoleId],
    planned: Option<&Assignment>,
) -> Result<Vec<TechnicianId>, String> {
    let puller = floor.technician;
    let mut missing = None;
    for own in (0..roles.len()).filter(|&index| puller.fills(&roles[index], floor.shop.date())) {
        let mut chosen: Vec<Option<&Technician>> = vec![None; roles.len()];
        chosen[own] = Some(puller);
        match fill_rest(floor, roles, planned, &mut chosen) {
            Ok(()) => {
                return Ok(chosen.into_iter().flatten().map(|one| one.id().clone()).collect());
            }
            Err(role) => missing = Some(role),
        }
    }
    if let Some(role) = missing {
        return Err(format!("Nobody who fills role {role} is free and on shift."));
    }
    let roles: Vec<_> = roles.iter().map(RoleId::as_str).collect();
    Err(format!("{} fills none of the roles {}.", puller.id(), roles.join(", ")))
}

/// Depth-first over the roles that are still empty; few roles and few people.
fn fill_rest<'a>(
    floor: &'a Floor<'_>,
    roles: &[RoleId],
    planned: Option<&Assignment>,
    chosen: &mut Vec<Option<&'a Technician>>,
) -> Result<(), RoleId> {
    let Some(empty) = chosen.iter().position(Option::is_none) else { return Ok(()) };
    let role = &roles[empty];
    let mut able: Vec<&Technician> = floor
        .shop
        .definition()
        .parts()
        .technicians
        .iter()
        .filter(|one| one.fills(role, floor.shop.date()) && is_free(floor, one))
        .filter(|one| !chosen.iter().flatten().any(|taken| taken.id() == one.id()))
        .collect();
    able.sort_by_key(|one| planned.is_none_or(|planned| !planned.technicians.contains(one.id())));
    for one in able {
        chosen[empty] = Some(one);
        if fill_rest(floor, roles, planned, chosen).is_ok() {
            return Ok(());
        }
    }
    chosen[empty] = None;
    Err(role.clone())
}

fn is_free(floor: &Floor<'_>, technician: &Technician) -> bool {
    let claim = format!("technician:{}", technician.id());
    !floor.held.contains_key(&claim) && technician.is_on_shift(floor.now)
}
