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

/// Fills the roles that are still empty, each by the planned people first. A role whose people are all
/// taken asks the ones who have them to move to other roles (augmenting paths, H. W. Kuhn 1955), so
/// that the work grows with roles times people times roles and not with their orders.
fn fill_rest<'a>(
    floor: &'a Floor<'_>,
    roles: &[RoleId],
    planned: Option<&Assignment>,
    chosen: &mut [Option<&'a Technician>],
) -> Result<(), RoleId> {
    let mut people: Vec<&Technician> = floor
        .shop
        .definition()
        .parts()
        .technicians
        .iter()
        .filter(|one| one.id() != floor.technician.id() && is_free(floor, one))
        .collect();
    people.sort_by_key(|one| planned.is_none_or(|planned| !planned.technicians.contains(one.id())));
    let able: Vec<Vec<usize>> = roles
        .iter()
        .map(|role| {
            let fills = |&person: &usize| people[person].fills(role, floor.shop.date());
            (0..people.len()).filter(fills).collect()
        })
        .collect();
    let mut role_of: Vec<Option<usize>> = vec![None; people.len()];
    for role in 0..roles.len() {
        if chosen[role].is_none()
            && !seat(role, &able, &mut role_of, &mut vec![false; people.len()])
        {
            return Err(roles[role].clone());
        }
    }
    for (person, role) in role_of.iter().enumerate() {
        if let Some(role) = role {
            chosen[*role] = Some(people[person]);
        }
    }
    Ok(())
}

/// Gives `role` a person, moving others to other roles where that helps; whether there is one.
fn seat(
    role: usize,
    able: &[Vec<usize>],
    role_of: &mut [Option<usize>],
    asked: &mut [bool],
) -> bool {
    for &person in &able[role] {
        if asked[person] {
            continue;
        }
        asked[person] = true;
        let moves = match role_of[person] {
            None => true,
            Some(other) => seat(other, able, role_of, asked),
        };
        if moves {
            role_of[person] = Some(role);
            return true;
        }
    }
    false
}

fn is_free(floor: &Floor<'_>, technician: &Technician) -> bool {
    let claim = format!("technician:{}", technician.id());
    !floor.held.contains_key(&claim) && technician.is_on_shift(floor.now)
}

#[cfg(test)]
mod tests {
    use super::seat;

    /// The number of roles that find a person, tried in every order of people.
    fn most_by_trying(able: &[Vec<usize>], from: usize, taken: &mut Vec<usize>) -> usize {
        let Some(people) = able.get(from) else { return 0 };
        let mut best = most_by_trying(able, from + 1, taken);
        for &person in people {
            if !taken.contains(&person) {
                taken.push(person);
                best = best.max(1 + most_by_trying(able, from + 1, taken));
                taken.pop();
            }
        }
        best
    }

    #[test]
    fn every_role_finds_a_person_where_some_order_of_people_does() {
        // Every way in which four people may be able to fill three roles.
        for bits in 0_u32..1 << 12 {
            let able: Vec<Vec<usize>> = (0..3)
                .map(|role| (0..4).filter(|person| bits >> (role * 4 + person) & 1 == 1).collect())
                .collect();
            let mut role_of = vec![None; 4];
            let seated =
                (0..3).filter(|&role| seat(role, &able, &mut role_of, &mut [false; 4])).count();
            assert_eq!(seated, most_by_trying(&able, 0, &mut Vec::new()), "{able:?}");
            for (person, role) in role_of.iter().enumerate() {
                assert!(role.is_none_or(|role: usize| able[role].contains(&person)));
            }
        }
    }

    #[test]
    fn sixteen_roles_of_which_one_has_nobody_are_refused_at_once() {
        let mut able: Vec<Vec<usize>> = vec![(0..40).collect(); 15];
        able.push(Vec::new());
        let mut role_of = vec![None; 40];
        let seated: Vec<bool> =
            (0..16).map(|role| seat(role, &able, &mut role_of, &mut [false; 40])).collect();
        assert_eq!(seated.iter().filter(|seated| **seated).count(), 15);
    }
}
