//! Jobs and their parts, estimates and adhesive records.
#![cfg(test)]

use super::piece::{
    after, cure, document, instant, line, name, one_of, selector, sensors, text, undo,
};
use baywright_core::demand::{PrerequisiteKind, SensorFamily, TaskKind};
use baywright_core::ids::{
    AccountId, BayId, CallRuleId, JobId, OperationCode, OperationId, PrerequisiteId, ProcedureId,
    SpotId, StationId, TaskId, VehicleClassId,
};
use baywright_core::vin::Vin;
use baywright_core::work::{
    Adhesive, AdhesiveDraft, ArrivalKind, AskedWhen, Decision, Estimate, EstimateDraft,
    EstimateLine, FoundCode, HandBackException, Job, JobState, Moved, Operation, OperationState,
    Place, Prerequisite, PrerequisiteState, SignOff, Sublet, Task, TaskState, Undone, Vehicle,
    Whereabouts,
};
use chrono::TimeDelta;
use proptest::collection::{btree_map, vec};
use proptest::option::of;
use proptest::prelude::*;

const ARRIVALS: &[ArrivalKind] = &[ArrivalKind::Waiting, ArrivalKind::DropOff, ArrivalKind::TowIn];

fn vehicle() -> impl Strategy<Value = Vehicle> {
    let vin = "[A-HJ-NPR-Za-hj-npr-z0-9]{17}".prop_map(|text| Vin::parse(&text).unwrap());
    (of(vin), name(VehicleClassId::new), sensors()).prop_map(|(vin, class, sensors)| Vehicle {
        vin,
        class,
        sensors,
    })
}

fn decision() -> impl Strategy<Value = Decision> {
    (text(), instant(), text()).prop_map(|(actor, at, reason)| Decision { actor, at, reason })
}

fn operation() -> impl Strategy<Value = Operation> {
    const STATES: &[OperationState] = &[
        OperationState::Called,
        OperationState::NeedsDecision,
        OperationState::Decided,
        OperationState::Withdrawn,
    ];
    let named = (name(OperationId::new), name(OperationCode::new), text());
    (named, one_of(STATES), of(decision()), of(instant())).prop_map(
        |((id, code, text), state, decision, done_outside_at)| Operation {
            id,
            code,
            text,
            state,
            decision,
            done_outside_at,
        },
    )
}

pub(crate) fn task() -> impl Strategy<Value = Task> {
    let what = (
        name(TaskId::new),
        name(ProcedureId::new),
        one_of(TaskKind::ALL),
        of(one_of(SensorFamily::ALL)),
        text(),
        one_of(&TaskState::ALL),
    );
    let order = (vec(after(), 0..3), vec(undo(), 0..3), vec(name(CallRuleId::new), 0..3));
    let undone = (text(), instant()).prop_map(|(by, at)| Undone { by, at });
    let history = (of(cure()), of(decision()), of(instant()), of(undone));
    let outside = (of(sublet()), any::<bool>());
    (what, order, history, outside).prop_map(|(what, order, history, outside)| {
        let (id, procedure, kind, sensor, title, state) = what;
        let (after, undoes, called_by) = order;
        let (planned_cure, decision, passed_at, undone) = history;
        let (sublet, no_longer_called) = outside;
        Task {
            id,
            procedure,
            kind,
            sensor,
            title,
            state,
            after,
            undoes,
            called_by,
            planned_cure,
            decision,
            passed_at,
            undone,
            sublet,
            no_longer_called,
        }
    })
}

fn sublet() -> impl Strategy<Value = Sublet> {
    (text(), instant(), instant(), text(), text()).prop_map(
        |(party, sent_at, expected_at, actor, note)| Sublet {
            party,
            sent_at,
            expected_at,
            actor,
            note,
        },
    )
}

fn prerequisite() -> impl Strategy<Value = Prerequisite> {
    const ASKED: &[AskedWhen] = &[AskedWhen::Ahead, AskedWhen::AtStart];
    const STATES: &[PrerequisiteState] = &[
        PrerequisiteState::Open,
        PrerequisiteState::Booked,
        PrerequisiteState::OnOrder,
        PrerequisiteState::Done,
        PrerequisiteState::Failed,
    ];
    let what = (name(PrerequisiteId::new), one_of(PrerequisiteKind::ALL), text());
    let gating = (vec(selector(), 0..3), one_of(ASKED), one_of(STATES), text());
    let sign_off = (text(), instant(), text(), of(instant()))
        .prop_map(|(actor, at, evidence, until)| SignOff { actor, at, evidence, until });
    let met =
        (of(instant()), of(name(TaskId::new)), of(any::<u32>()), of(document()), of(sign_off));
    (what, gating, met).prop_map(|(what, gating, met)| {
        let (id, kind, title) = what;
        let (gates, asked, state, party) = gating;
        let (expected_at, provided_by, counts_for_minutes, document, sign_off) = met;
        Prerequisite {
            id,
            kind,
            title,
            gates,
            asked,
            state,
            party,
            expected_at,
            provided_by,
            counts_for_minutes,
            document,
            sign_off,
        }
    })
}

pub(crate) fn whereabouts() -> impl Strategy<Value = Whereabouts> {
    let place = (name(BayId::new), name(StationId::new))
        .prop_map(|(bay, station)| Whereabouts::Place(Place { bay, station }));
    prop_oneof![place, name(SpotId::new).prop_map(Whereabouts::Spot)]
}

pub(crate) fn found_code() -> impl Strategy<Value = FoundCode> {
    ("[A-Z0-9-]{1,32}", text(), any::<bool>()).prop_map(|(code, text, blocking)| FoundCode {
        code,
        text,
        blocking,
    })
}

pub(crate) fn adhesive() -> impl Strategy<Value = Adhesive> {
    let day = (instant(), -40.0..=60.0, 0.0..=100.0);
    (line(), day, cure(), line(), of(name(TaskId::new))).prop_map(
        |(product, (set_at, temperature_c, humidity_percent), cure, document, task)| {
            Adhesive::new(AdhesiveDraft {
                product,
                set_at,
                temperature_c,
                humidity_percent,
                cure,
                document,
                task,
            })
            .unwrap()
        },
    )
}

pub(crate) fn exception() -> impl Strategy<Value = HandBackException> {
    (line(), line(), line(), instant()).prop_map(|(reason_key, manager, reason, at)| {
        HandBackException { reason_key, manager, reason, at }
    })
}

pub(crate) fn job() -> impl Strategy<Value = Job> {
    const STATES: &[JobState] =
        &[JobState::Expected, JobState::OnSite, JobState::HandedBack, JobState::Cancelled];
    let who = (name(JobId::new), name(AccountId::new), text(), vehicle(), one_of(ARRIVALS));
    let when = (instant(), instant(), of(instant()), of(instant()));
    let how = (any::<u32>(), one_of(STATES), any::<u32>(), of(decision()));
    let work = (vec(operation(), 0..3), vec(task(), 0..4), vec(prerequisite(), 0..3));
    let now =
        (of(whereabouts()), vec(found_code(), 0..3), vec(adhesive(), 0..3), vec(exception(), 0..2));
    (who, when, how, work, now).prop_map(|(who, when, how, work, now)| {
        let (id, account, repair_order, vehicle, arrival) = who;
        let (expected_arrival_at, promise_at, arrived_at, handed_back_at) = when;
        let (weight, state, estimate_revision, cancellation) = how;
        let (operations, tasks, prerequisites) = work;
        let (whereabouts, codes, adhesives, exceptions) = now;
        Job {
            id,
            account,
            repair_order,
            vehicle,
            expected_arrival_at,
            arrival,
            promise_at,
            weight,
            state,
            arrived_at,
            handed_back_at,
            estimate_revision,
            operations,
            tasks,
            prerequisites,
            whereabouts,
            codes,
            adhesives,
            exceptions,
            cancellation,
            key_tag: "K-7".to_owned(),
            moved: arrived_at.map(|at| Moved { actor: "ada".to_owned(), at }),
        }
    })
}

pub(crate) fn estimate() -> impl Strategy<Value = Estimate> {
    let who = (name(JobId::new), name(AccountId::new), line(), vehicle(), one_of(ARRIVALS));
    let when = (instant(), 1_i64..1_000_000_000_000);
    let lines = btree_map(name(OperationId::new), (name(OperationCode::new), text()), 1..5);
    (who, when, 1_u32.., 1_u32..=100, lines).prop_map(|(who, when, revision, weight, lines)| {
        let (job, account, repair_order, vehicle, arrival) = who;
        let (expected_arrival_at, micros) = when;
        let line = |(id, (code, text))| EstimateLine { id, code, text };
        Estimate::new(EstimateDraft {
            job,
            revision,
            account,
            repair_order,
            vehicle,
            expected_arrival_at,
            arrival,
            promise_at: expected_arrival_at + TimeDelta::microseconds(micros),
            weight,
            lines: lines.into_iter().map(line).collect(),
        })
        .unwrap()
    })
}
