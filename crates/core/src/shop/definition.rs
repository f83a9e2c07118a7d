//! A shop with everything that is written down about it, checked as a whole.
//!
//! Each part was checked by itself; here names must be unique, every name that one part uses must
//! exist, and the order that the call rules ask for must not run in a circle: the tasks that all
//! rules together could call, with their `after`, form a graph without cycles, so no job can ever
//! wait for itself.

use super::drawing_detail::check_detail;
use super::{Account, Shop, Technician, Unit};
use crate::demand::{Procedure, VehicleClass};
use crate::fault::{Fault, FaultList, Faults};
use crate::floor::Bay;
use crate::ids::{BayId, ProcedureId, TaskId, VehicleClassId};
use crate::readiness::cycle_in;
use crate::work::{CallRule, CalledTask, Task, TaskSelector, TaskState};
use std::collections::{BTreeMap, BTreeSet};

/// What a definition is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct ShopDefinitionDraft {
    /// The shop itself.
    pub shop: Shop,
    /// Its bays.
    pub bays: Vec<Bay>,
    /// The vehicle classes it works on.
    pub vehicle_classes: Vec<VehicleClass>,
    /// The procedures it has written down.
    pub procedures: Vec<Procedure>,
    /// Its own call rules.
    pub call_rules: Vec<CallRule>,
    /// Its technicians.
    pub technicians: Vec<Technician>,
    /// Its equipment.
    pub units: Vec<Unit>,
    /// The accounts that send it work; none for any account.
    pub accounts: Vec<Account>,
}

/// A definition that holds together.
#[derive(Debug, Clone, PartialEq)]
pub struct ShopDefinition(ShopDefinitionDraft);

impl ShopDefinition {
    /// Checks and takes a definition.
    ///
    /// # Errors
    /// A fault for every name given twice, every name that does not exist, the first circle in the order
    /// of tasks, and every bay that is drawn in too much detail for some method's zones.
    pub fn new(draft: ShopDefinitionDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        named_once(&mut faults, "bays", "bay_id", draft.bays.iter().map(Bay::id));
        named_once(
            &mut faults,
            "vehicle_classes",
            "vehicle_class_id",
            draft.vehicle_classes.iter().map(VehicleClass::id),
        );
        named_once(
            &mut faults,
            "procedures",
            "procedure_id",
            draft.procedures.iter().map(Procedure::id),
        );
        named_once(
            &mut faults,
            "call_rules",
            "call_rule_id",
            draft.call_rules.iter().map(|rule| &rule.parts().id),
        );
        named_once(
            &mut faults,
            "technicians",
            "technician_id",
            draft.technicians.iter().map(Technician::id),
        );
        let pieces: Vec<_> = draft.units.iter().flat_map(Unit::pieces).collect();
        let alone = draft.units.iter().all(|unit| unit.pieces().len() == 1);
        named_once(&mut faults, "units", "unit_id", draft.units.iter().map(Unit::id));
        if !alone {
            named_once(&mut faults, "units", "pieces", pieces.iter());
        }
        named_once(
            &mut faults,
            "accounts",
            "account_id",
            draft.accounts.iter().map(|account| &account.id),
        );
        check_rules(&mut faults, &draft);
        check_detail(&mut faults, &draft);
        faults.finish(Self(draft))
    }

    /// The definition's parts.
    pub fn parts(&self) -> &ShopDefinitionDraft {
        &self.0
    }

    /// The procedure of that name.
    pub fn procedure(&self, id: &ProcedureId) -> Option<&Procedure> {
        self.0.procedures.iter().find(|procedure| procedure.id() == id)
    }

    /// The bay of that name.
    pub fn bay(&self, id: &BayId) -> Option<&Bay> {
        self.0.bays.iter().find(|bay| bay.id() == id)
    }

    /// The vehicle class of that name.
    pub fn vehicle_class(&self, id: &VehicleClassId) -> Option<&VehicleClass> {
        self.0.vehicle_classes.iter().find(|class| class.id() == id)
    }
}

fn named_once<'a, T: Ord + std::fmt::Display + 'a>(
    faults: &mut FaultList,
    list: &str,
    field: &str,
    names: impl Iterator<Item = &'a T>,
) {
    let mut seen = BTreeSet::new();
    for (index, name) in names.enumerate() {
        if !seen.insert(name) {
            faults.push(Fault::new(
                format!("{list}[{index}].{field}"),
                name,
                "differ from the other names in the list",
                "give each its own name",
            ));
        }
    }
}

fn check_rules(faults: &mut FaultList, draft: &ShopDefinitionDraft) {
    let classes: BTreeSet<_> = draft.vehicle_classes.iter().map(VehicleClass::id).collect();
    let procedures: BTreeMap<_, _> =
        draft.procedures.iter().map(|procedure| (procedure.id(), procedure)).collect();
    let mut tasks: BTreeMap<&TaskId, Task> = BTreeMap::new();
    for (index, rule) in draft.call_rules.iter().enumerate() {
        let path = format!("call_rules[{index}]");
        for class in &rule.parts().classes {
            if !classes.contains(class) {
                faults.push(unknown(format!("{path}.vehicle_class_ids"), class, "vehicle class"));
            }
        }
        for (at, called) in rule.parts().calls.iter().enumerate() {
            let Some(procedure) = procedures.get(&called.procedure) else {
                faults.push(unknown(
                    format!("{path}.calls[{at}].procedure_id"),
                    &called.procedure,
                    "procedure",
                ));
                continue;
            };
            let known = tasks.entry(&called.task).or_insert_with(|| as_task(called, procedure));
            if known.procedure == called.procedure {
                known.after.extend(called.after.iter().cloned());
            } else {
                faults.push(Fault::new(
                    format!("{path}.calls[{at}].procedure_id"),
                    &called.procedure,
                    format!(
                        "be {}, as another rule calls the task {} by that procedure",
                        known.procedure, called.task
                    ),
                    "use one procedure for one task name, or another task name",
                ));
            }
        }
    }
    check_selectors(faults, draft, &tasks);
    let tasks: Vec<_> = tasks.into_values().collect();
    if let Some(circle) = cycle_in(&tasks) {
        let names: Vec<_> = circle.iter().map(TaskId::as_str).collect();
        faults.push(Fault::new(
            "call_rules",
            names.join(" -> "),
            "put tasks into an order without a circle",
            "remove one of these \"after\"",
        ));
    }
}

fn check_selectors(
    faults: &mut FaultList,
    draft: &ShopDefinitionDraft,
    tasks: &BTreeMap<&TaskId, Task>,
) {
    for (index, rule) in draft.call_rules.iter().enumerate() {
        let path = format!("call_rules[{index}]");
        let afters = rule.parts().calls.iter().enumerate().flat_map(|(at, called)| {
            called.after.iter().map(move |after| (format!("calls[{at}].after"), &after.before))
        });
        let gates = rule.parts().prerequisites.iter().enumerate().flat_map(|(at, brought)| {
            brought.gates.iter().map(move |gate| (format!("prerequisites[{at}].gates"), gate))
        });
        for (field, selector) in afters.chain(gates) {
            if let TaskSelector::Task(id) = selector
                && !tasks.contains_key(id)
            {
                faults.push(unknown(format!("{path}.{field}"), id, "task that a rule calls"));
            }
        }
        for (at, brought) in rule.parts().prerequisites.iter().enumerate() {
            if let Some(id) = &brought.provided_by
                && !tasks.contains_key(id)
            {
                let field = format!("{path}.prerequisites[{at}].provided_by_task_id");
                faults.push(unknown(field, id, "task that a rule calls"));
            }
        }
    }
}

fn unknown(field: String, name: &dyn std::fmt::Display, kind: &str) -> Fault {
    Fault::new(
        field,
        name,
        format!("name a {kind} of this definition"),
        "correct the name, or write it down too",
    )
}

/// The task that a call makes, before anything has happened to it.
pub(crate) fn as_task(called: &CalledTask, procedure: &Procedure) -> Task {
    Task {
        id: called.task.clone(),
        procedure: called.procedure.clone(),
        kind: procedure.kind(),
        sensor: procedure.sensor(),
        title: procedure.title().to_owned(),
        state: TaskState::Proposed,
        after: called.after.clone(),
        undoes: called.undoes.clone(),
        called_by: Vec::new(),
        planned_cure: called.planned_cure,
        decision: None,
        passed_at: None,
        undone: None,
        sublet: None,
        no_longer_called: false,
    }
}
