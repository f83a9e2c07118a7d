//! An invented shop for the tests of this crate, in builders that show only what matters.
#![allow(clippy::unwrap_used, reason = "test support")]

use crate::calendar::{OpenHours, TimeZone, WeeklyHours};
use crate::demand::{
    DocumentRef, MethodDraft, MethodMinutesDraft, PrerequisiteKind, Procedure, ProcedureDraft,
    SensorFamily, SunDemand, TaskKind, VehicleClass, VehicleClassDraft, WorkPlace,
};
use crate::floor::{Bay, BayDraft};
use crate::ids::*;
use crate::shop::{
    PlanWeights, Shop, ShopDefinition, ShopDefinitionDraft, ShopDraft, SkyAssumed, Technician,
    TechnicianDraft, Unit, UnitDraft,
};
use crate::shop_day::Hosts;
use crate::work::*;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeSet;

/// An instant on the invented Tuesday, from "08:30".
pub(crate) fn at(clock: &str) -> DateTime<Utc> {
    format!("2026-05-05T{clock}:00Z").parse().unwrap()
}

pub(crate) fn document() -> DocumentRef {
    DocumentRef {
        reference: "invented sheet 1".to_owned(),
        checked_on: NaiveDate::from_ymd_opt(2026, 5, 4).unwrap(),
    }
}

pub(crate) fn after(task: &str, gap_minutes: u32) -> TaskAfter {
    TaskAfter { before: TaskSelector::Task(TaskId::new(task).unwrap()), gap_minutes }
}

pub(crate) fn called(task: &str) -> CalledTask {
    CalledTask {
        task: TaskId::new(task).unwrap(),
        procedure: ProcedureId::new(task).unwrap(),
        after: Vec::new(),
        undoes: Vec::new(),
        planned_cure: None,
    }
}

pub(crate) fn brought(id: &str, kind: PrerequisiteKind, gates: TaskSelector) -> CalledPrerequisite {
    CalledPrerequisite {
        id: PrerequisiteId::new(id).unwrap(),
        kind,
        title: id.replace('-', " "),
        gates: vec![gates],
        asked: AskedWhen::Ahead,
        party: "front desk".to_owned(),
        provided_by: None,
        counts_for_minutes: None,
        document: None,
    }
}

pub(crate) fn rule(id: &str, operations: &[&str]) -> CallRuleDraft {
    CallRuleDraft {
        id: CallRuleId::new(id).unwrap(),
        operations: operations.iter().map(|code| OperationCode::new(*code).unwrap()).collect(),
        classes: BTreeSet::new(),
        sensors: BTreeSet::new(),
        calls: Vec::new(),
        prerequisites: Vec::new(),
        undoes: Vec::new(),
        document: document(),
    }
}

/// Every job is scanned first and is authorised ahead; a windshield brings glass, camera and a drive.
pub(crate) fn rules() -> Vec<CallRule> {
    let sensor = |sensor| TaskSelector::Sensor(sensor);
    let always = CallRuleDraft {
        calls: vec![called("pre-scan")],
        prerequisites: vec![brought("authorised", PrerequisiteKind::Authorised, TaskSelector::All)],
        ..rule("every-job", &[])
    };
    let camera = UndoTarget::Tasks(sensor(SensorFamily::FrontCamera));
    let clean = UndoTarget::Prerequisite(PrerequisiteKind::GlassClean);
    let windshield = CallRuleDraft {
        calls: vec![
            CalledTask {
                after: vec![after("pre-scan", 0)],
                undoes: vec![camera.clone(), clean.clone()],
                planned_cure: Some(CureMinutes::new(0, 60, 90).unwrap()),
                ..called("glass")
            },
            CalledTask { after: vec![after("glass", 0)], ..called("front-camera") },
            CalledTask { after: vec![after("front-camera", 0)], ..called("road-drive") },
        ],
        prerequisites: vec![
            brought(
                "parts",
                PrerequisiteKind::PartsReceived,
                TaskSelector::Task(TaskId::new("glass").unwrap()),
            ),
            CalledPrerequisite {
                asked: AskedWhen::AtStart,
                ..brought(
                    "glass-clean",
                    PrerequisiteKind::GlassClean,
                    sensor(SensorFamily::FrontCamera),
                )
            },
        ],
        undoes: vec![camera, clean],
        ..rule("windshield", &["windshield-replaced"])
    };
    let bumper = CallRuleDraft {
        sensors: BTreeSet::from([SensorFamily::FrontRadar]),
        calls: vec![CalledTask { after: vec![after("pre-scan", 0)], ..called("front-radar") }],
        ..rule("bumper", &["front-bumper-removed"])
    };
    [always, windshield, bumper].map(|draft| CallRule::new(draft).unwrap()).to_vec()
}

pub(crate) fn procedure(id: &str) -> Procedure {
    let (kind, sensor, place) = match id {
        "pre-scan" => (TaskKind::PreScan, None, WorkPlace::Anywhere),
        "glass" => (TaskKind::Glass, None, WorkPlace::Bay),
        "road-drive" => (TaskKind::RoadDrive, None, WorkPlace::Road),
        "front-camera" => (TaskKind::Calibration, Some(SensorFamily::FrontCamera), WorkPlace::Bay),
        _ => (TaskKind::Calibration, Some(SensorFamily::FrontRadar), WorkPlace::Bay),
    };
    Procedure::new(ProcedureDraft {
        id: ProcedureId::new(id).unwrap(),
        title: id.replace('-', " "),
        kind,
        sensor,
        document: document(),
        methods: vec![MethodDraft {
            id: MethodId::new("static").unwrap(),
            title: "usual way".to_owned(),
            place,
            roles: vec![RoleId::new("calibrator").unwrap()],
            equipment: Vec::new(),
            minutes: MethodMinutesDraft { setup_minutes: 5, run_minutes: 20, teardown_minutes: 5 },
            zones: Vec::new(),
            sun: SunDemand::default(),
        }],
        start_checks: Vec::new(),
    })
    .unwrap()
}

pub(crate) fn definition_draft() -> ShopDefinitionDraft {
    let open = ["07:30-17:00"; 5];
    let week = [open[0], open[1], open[2], open[3], open[4], "", ""];
    let hours =
        OpenHours::new(TimeZone::UTC, WeeklyHours::parse(week).unwrap(), Vec::new()).unwrap();
    let technician = |id: &str| {
        Technician::new(TechnicianDraft {
            id: TechnicianId::new(id).unwrap(),
            title: id.to_owned(),
            roles: BTreeSet::from([RoleId::new("calibrator").unwrap()]),
            dated_roles: Vec::new(),
            shift: hours.clone(),
        })
        .unwrap()
    };
    ShopDefinitionDraft {
        shop: Shop::new(ShopDraft {
            id: ShopId::new("harbour").unwrap(),
            title: "Invented shop".to_owned(),
            latitude_deg: 38.7,
            longitude_deg: -9.1,
            sky: SkyAssumed::default(),
            bearing_deg: 0.0,
            hours: hours.clone(),
            spots: Vec::new(),
            weights: PlanWeights::default(),
        })
        .unwrap(),
        bays: Vec::new(),
        vehicle_classes: vec![
            VehicleClass::new(VehicleClassDraft {
                id: VehicleClassId::new("compact").unwrap(),
                length_mm: 4300.0,
                width_mm: 1800.0,
                height_mm: 1450.0,
                wheelbase_mm: 2640.0,
                front_overhang_mm: 880.0,
                track_mm: 1550.0,
            })
            .unwrap(),
        ],
        procedures: ["pre-scan", "glass", "road-drive", "front-camera", "front-radar"]
            .map(procedure)
            .to_vec(),
        call_rules: rules(),
        technicians: vec![technician("ada"), technician("bo")],
        units: vec![
            Unit::new(UnitDraft {
                id: UnitId::new("frame-1").unwrap(),
                kind: UnitKindId::new("frame").unwrap(),
                verified_until: NaiveDate::from_ymd_opt(2026, 12, 31),
                verification_document: String::new(),
                count: 1,
                absences: Vec::new(),
            })
            .unwrap(),
        ],
        accounts: Vec::new(),
    }
}

pub(crate) fn definition() -> ShopDefinition {
    ShopDefinition::new(definition_draft()).unwrap()
}

/// Revision `revision` of an estimate with one line for each operation code.
pub(crate) fn estimate(revision: u32, codes: &[&str]) -> Estimate {
    Estimate::new(EstimateDraft {
        job: JobId::new("RO-1").unwrap(),
        revision,
        account: AccountId::new("body-shop").unwrap(),
        repair_order: "1".to_owned(),
        vehicle: Vehicle {
            vin: None,
            class: VehicleClassId::new("compact").unwrap(),
            sensors: BTreeSet::from([SensorFamily::FrontCamera, SensorFamily::FrontRadar]),
        },
        expected_arrival_at: at("08:00"),
        arrival: ArrivalKind::DropOff,
        promise_at: at("16:00"),
        weight: 1,
        lines: codes
            .iter()
            .map(|code| EstimateLine {
                id: OperationId::new(format!("line-{code}")).unwrap(),
                code: OperationCode::new(*code).unwrap(),
                text: String::new(),
            })
            .collect(),
    })
    .unwrap()
}

/// A job on site with everything called for accepted and authorised.
pub(crate) fn accepted_job(codes: &[&str]) -> Job {
    let mut job =
        crate::readiness::take_estimate(None, &estimate(1, codes), &definition(), at("08:00"))
            .unwrap();
    job.state = JobState::OnSite;
    job.arrived_at = Some(at("08:00"));
    for task in &mut job.tasks {
        task.step(TaskEvent::Accept).unwrap();
    }
    for prerequisite in &mut job.prerequisites {
        if prerequisite.asked == AskedWhen::Ahead {
            prerequisite.sign_off("desk", at("08:00"), "told by telephone", None);
        }
    }
    job
}

/// Lets a task of `job` pass at `clock`.
pub(crate) fn pass(job: &mut Job, task: &str, clock: &str) {
    let task = job.task_mut(&TaskId::new(task).unwrap()).unwrap();
    for event in [TaskEvent::Pull, TaskEvent::Start, TaskEvent::Pass] {
        task.step(event).unwrap();
    }
    task.passed_at = Some(at(clock));
}

/// The only station of a bay.
pub(crate) fn place(bay: &str) -> Place {
    Place { bay: BayId::new(bay).unwrap(), station: StationId::new("mark").unwrap() }
}

/// For a compact these procedures fit in these bays, and nothing else anywhere.
pub(crate) fn hosts_of(procedures: &[&str], bays: &[&str]) -> Hosts {
    let (method, class) =
        (MethodId::new("static").unwrap(), VehicleClassId::new("compact").unwrap());
    let key =
        |procedure: &str| (ProcedureId::new(procedure).unwrap(), method.clone(), class.clone());
    let places: Vec<Place> = bays.iter().map(|bay| place(bay)).collect();
    procedures.iter().map(|procedure| (key(procedure), places.clone())).collect()
}

/// Glass, front camera and front radar fit in these bays.
pub(crate) fn hosts(bays: &[&str]) -> Hosts {
    hosts_of(&["glass", "front-camera", "front-radar"], bays)
}

/// A bay of 8 by 5 metres with nothing in it.
pub(crate) fn empty_bay() -> Bay {
    let draft = BayDraft {
        id: BayId::new("bay-1").unwrap(),
        outline_mm: vec![(0.0, 0.0), (8e3, 0.0), (8e3, 5e3), (0.0, 5e3)],
        ceiling_mm: 3_000.0,
        obstructions: Vec::new(),
        stations: Vec::new(),
        daylight_openings: Vec::new(),
    };
    Bay::new(draft).unwrap()
}
