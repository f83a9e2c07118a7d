//! Everything that a shop writes down, and surveys.
#![cfg(test)]

use super::piece::{
    after, cure, date, dates, document, line, name, names, one_of, selector, sensors, undo,
};
use baywright_core::axes::{PoseFloor, PoseFloorDraft};
use baywright_core::calendar::{
    DayHours, HoursException, LocalSpan, OpenHours, TimeZone, WeeklyHours,
};
use baywright_core::demand::{
    LevelTerms, LightNeed, LightPlane, LightTerms, MethodDraft, MethodMinutesDraft,
    PrerequisiteKind, Procedure, ProcedureDraft, SensorFamily, StartCheck, SunDemand, TaskKind,
    VehicleClass, VehicleClassDraft, WorkPlace, XDatum, YDatum, ZoneDraft, ZoneNeed, ZoneVertex,
};
use baywright_core::floor::{
    Bay, BayDraft, DaylightOpening, DaylightOpeningKind, ObstructionDraft, Placing, Station,
};
use baywright_core::ids::{
    AccountId, BayId, CallRuleId, DaylightOpeningId, MethodId, ObstructionId, OperationCode,
    PrerequisiteId, ProcedureId, RoleId, ShopId, SpotId, StartCheckId, StationId, SurveyId, TaskId,
    TechnicianId, UnitId, UnitKindId, VehicleClassId, ZoneId,
};
use baywright_core::shop::{
    Account, DatedRole, PlanWeights, Shop, ShopDefinition, ShopDefinitionDraft, ShopDraft,
    SkyAssumed, Spot, Technician, TechnicianDraft, Unit, UnitAbsence, UnitDraft,
};
use baywright_core::survey::{
    HeightErrorsDraft, HeightPoint, LampState, LightConditions, LightReading, Survey, SurveyDraft,
};
use baywright_core::work::{AskedWhen, CallRule, CallRuleDraft, CalledPrerequisite, CalledTask};

use chrono::NaiveDate;
use proptest::collection::{btree_map, btree_set, vec};
use proptest::option::of;
use proptest::prelude::*;

/// A rectangle, its first corner at `(x, y)`.
fn rectangle(x_mm: f64, y_mm: f64, long_mm: f64, wide_mm: f64) -> Vec<(f64, f64)> {
    let (right, up) = (x_mm + long_mm, y_mm + wide_mm);
    vec![(x_mm, y_mm), (right, y_mm), (right, up), (x_mm, up)]
}

fn obstruction() -> impl Strategy<Value = ObstructionDraft> {
    let place = (-1e5..1e5, -1e5..1e5, 1.0..9_000.0, 1.0..9_000.0);
    (place, 0.0..9_000.0, 1.0..9_000.0, any::<bool>(), of(dates())).prop_map(
        |((x, y, long, wide), from_mm, tall_mm, metal, dates)| ObstructionDraft {
            id: ObstructionId::new("named-by-its-bay").unwrap(),
            outline_mm: rectangle(x, y, long, wide),
            from_mm,
            to_mm: from_mm + tall_mm,
            metal,
            dates,
        },
    )
}

pub(crate) fn bay() -> impl Strategy<Value = Bay> {
    let size = (-9e4..9e4, -9e4..9e4, 10.0..90_000.0, 10.0..90_000.0);
    let obstructions = btree_map(name(ObstructionId::new), obstruction(), 0..3);
    // The shares of length and width at which the station lies.
    let stations = btree_map(name(StationId::new), (0.01..0.99, 0.01..0.99, -360.0..=360.0), 0..3);
    let openings = btree_map(
        name(DaylightOpeningId::new),
        (one_of(DaylightOpeningKind::ALL), any::<bool>()),
        0..3,
    );
    let place = (size, 1_000.0..=30_000.0);
    (name(BayId::new), place, obstructions, stations, openings, placing()).prop_map(
        |(id, ((x, y, long, wide), ceiling_mm), obstructions, stations, openings, placing)| {
            let station = |(id, (along, across, heading_deg)): (_, (f64, f64, f64))| {
                let (x_mm, y_mm) = (x + along * long, y + across * wide);
                let pose = PoseFloor::new(PoseFloorDraft { x_mm, y_mm, heading_deg }).unwrap();
                Station { id, pose }
            };
            let draft = BayDraft {
                id,
                outline_mm: rectangle(x, y, long, wide),
                ceiling_mm,
                obstructions: obstructions
                    .into_iter()
                    .map(|(id, draft)| ObstructionDraft { id, ..draft })
                    .collect(),
                stations: stations.into_iter().map(station).collect(),
                daylight_openings: openings
                    .into_iter()
                    .map(|(id, (kind, blind))| DaylightOpening { id, kind, blind, drawn: None })
                    .collect(),
            };
            Bay::with_placing(draft, placing).unwrap()
        },
    )
}

fn placing() -> impl Strategy<Value = Placing> {
    let headings = btree_set(-360..=360_i32, 0..4);
    (headings, 0.0..=10.0, any::<bool>()).prop_map(|(headings, tolerance_deg, planned)| Placing {
        headings_deg: headings.into_iter().map(f64::from).collect(),
        tolerance_deg,
        planned,
    })
}

pub(crate) fn vehicle_class() -> impl Strategy<Value = VehicleClass> {
    let sizes = (3_000.0..6_000.0, 1_600.0..4_000.0, 500.0..5_000.0);
    let axles = (500.0..2_500.0, 0.0..500.0, 300.0..1_500.0);
    (name(VehicleClassId::new), sizes, axles).prop_map(|(id, sizes, axles)| {
        let (length_mm, width_mm, height_mm) = sizes;
        let (wheelbase_mm, front_overhang_mm, track_mm) = axles;
        VehicleClass::new(VehicleClassDraft {
            id,
            length_mm,
            width_mm,
            height_mm,
            wheelbase_mm,
            front_overhang_mm,
            track_mm,
        })
        .unwrap()
    })
}

fn light() -> impl Strategy<Value = LightNeed> {
    let averages = (of(1.0..1_000.0), of(1_000.0..200_000.0), of(1.0..200_000.0));
    let colour = of((1_000.0..5_000.0, 5_000.0..20_000.0));
    (one_of(LightPlane::ALL), 0.0..10_000.0, averages, 0.01..=1.0, colour).prop_map(
        |(plane, height_mm, averages, uniformity, colour_temperature_k)| LightNeed {
            plane,
            height_mm,
            average_min_lux: averages.0,
            average_max_lux: averages.1,
            minimum_lux: averages.2,
            maximum_lux: averages.2.map(|lux| 2.0 * lux).filter(|lux| *lux <= 200_000.0),
            uniformity_min: Some(uniformity),
            colour_temperature_k,
            terms: LightTerms {
                reading_spacing_max_mm: averages.0.map(|lux| 100.0 + lux),
                conformance_probability: averages.1.map(|_| 0.8 + 0.19 * uniformity),
            },
        },
    )
}

fn level_terms() -> impl Strategy<Value = LevelTerms> {
    (of(100.0..=10_000.0), of(0.01..=500.0), of(0.8..=0.999_9)).prop_map(
        |(point_spacing_max_mm, compensation_max_mm, conformance_probability)| LevelTerms {
            point_spacing_max_mm,
            compensation_max_mm,
            conformance_probability,
        },
    )
}

fn need() -> impl Strategy<Value = ZoneNeed> {
    let height = || 0.5..=10_000.0;
    prop_oneof![
        height().prop_map(|up_to_mm| ZoneNeed::ClearFloor { up_to_mm }),
        (0.01..10.0, of(0.01..500.0), level_terms()).prop_map(
            |(slope_max_deg, residual_max_mm, terms)| {
                ZoneNeed::Level { slope_max_deg, residual_max_mm, terms }
            }
        ),
        light().prop_map(ZoneNeed::Light),
        height().prop_map(|up_to_mm| ZoneNeed::NoDirectSun { up_to_mm }),
        height().prop_map(|up_to_mm| ZoneNeed::NoMetal { up_to_mm }),
        Just(ZoneNeed::NothingMoving),
        Just(ZoneNeed::PlainBackground),
    ]
}

fn zone() -> impl Strategy<Value = (Vec<ZoneVertex>, Vec<ZoneNeed>)> {
    let offsets = (-5e4..5e4, -5e4..5e4);
    let vertex = (one_of(XDatum::ALL), one_of(YDatum::ALL), offsets)
        .prop_map(|(x_from, y_from, (x_mm, y_mm))| ZoneVertex { x_from, x_mm, y_from, y_mm });
    (vec(vertex, 3..5), vec(need(), 1..4))
}

fn method() -> impl Strategy<Value = MethodDraft> {
    let zones = btree_map(name(ZoneId::new), zone(), 0..3);
    let people = (vec(name(RoleId::new), 1..=5), vec(name(UnitKindId::new), 0..4));
    let minutes = (0_u32..900, 1_u32..900, 0_u32..900);
    (line(), one_of(WorkPlace::ALL), people, minutes, zones).prop_map(
        |(
            title,
            place,
            (roles, equipment),
            (setup_minutes, run_minutes, teardown_minutes),
            zones,
        )| {
            let zone = |(id, (outline, needs))| ZoneDraft { id, outline, needs };
            let zones = zones.into_iter().map(zone).collect();
            MethodDraft {
                id: MethodId::new("named-by-its-procedure").unwrap(),
                title,
                place,
                roles,
                equipment,
                minutes: MethodMinutesDraft { setup_minutes, run_minutes, teardown_minutes },
                zones: if place == WorkPlace::Bay { zones } else { Vec::new() },
                sun: SunDemand {
                    views: Vec::new(),
                    elevation_min_deg: (place == WorkPlace::Road).then_some(6.0),
                },
            }
        },
    )
}

pub(crate) fn procedure() -> impl Strategy<Value = Procedure> {
    let what = (name(ProcedureId::new), line(), one_of(TaskKind::ALL), one_of(SensorFamily::ALL));
    let methods = btree_map(name(MethodId::new), method(), 1..3);
    let checks = btree_map(name(StartCheckId::new), line(), 0..3);
    (what, any::<bool>(), document(), methods, checks).prop_map(
        |((id, title, kind, sensor), aims, document, methods, checks)| {
            let check = |(id, question)| StartCheck { id, question };
            Procedure::new(ProcedureDraft {
                id,
                title,
                kind,
                sensor: (aims || kind == TaskKind::Calibration).then_some(sensor),
                document,
                methods: methods
                    .into_iter()
                    .map(|(id, draft)| MethodDraft { id, ..draft })
                    .collect(),
                start_checks: checks.into_iter().map(check).collect(),
            })
            .unwrap()
        },
    )
}

/// A call of each named task, in any order and without an order among them.
fn calls() -> impl Strategy<Value = Vec<CalledTask>> {
    let call = (name(ProcedureId::new), vec(after(), 0..3), vec(undo(), 0..3), of(cure()));
    btree_map(name(TaskId::new), call, 1..4).prop_map(|calls| {
        let call = |(task, (procedure, after, undoes, planned_cure))| CalledTask {
            task,
            procedure,
            after,
            undoes,
            planned_cure,
        };
        calls.into_iter().map(call).collect()
    })
}

fn brought() -> impl Strategy<Value = Vec<CalledPrerequisite>> {
    const ASKED: &[AskedWhen] = &[AskedWhen::Ahead, AskedWhen::AtStart];
    let what = (one_of(PrerequisiteKind::ALL), line(), vec(selector(), 1..3), one_of(ASKED));
    let how = (line(), of(name(TaskId::new)), of(any::<u32>()), of(document()));
    btree_map(name(PrerequisiteId::new), (what, how), 0..3).prop_map(|brought| {
        let bring = |(id, (what, how))| {
            let (kind, title, gates, asked) = what;
            let (party, provided_by, counts_for_minutes, document) = how;
            CalledPrerequisite {
                id,
                kind,
                title,
                gates,
                asked,
                party,
                provided_by,
                counts_for_minutes,
                document,
            }
        };
        brought.into_iter().map(bring).collect()
    })
}

pub(crate) fn call_rule() -> impl Strategy<Value = CallRule> {
    let woken = (
        btree_set(name(OperationCode::new), 0..3),
        btree_set(name(VehicleClassId::new), 0..3),
        sensors(),
    );
    (name(CallRuleId::new), woken, calls(), brought(), vec(undo(), 0..3), document()).prop_map(
        |(id, (operations, classes, sensors), calls, prerequisites, undoes, document)| {
            CallRule::new(CallRuleDraft {
                id,
                operations,
                classes,
                sensors,
                calls,
                prerequisites,
                undoes,
                document,
            })
            .unwrap()
        },
    )
}

/// Spans of a day that may touch; the last one ends by midnight.
fn day() -> impl Strategy<Value = DayHours> {
    btree_set(0_u32..1_440, 0..5).prop_map(|ends| {
        let ends: Vec<_> = ends.into_iter().collect();
        let spans = ends.chunks_exact(2).map(|ends| LocalSpan::new(ends[0]..ends[1]).unwrap());
        DayHours::new(spans.collect()).unwrap()
    })
}

fn hours(zone: &'static str) -> impl Strategy<Value = OpenHours> {
    let week = [day(), day(), day(), day(), day(), day(), day()];
    (week, btree_map(date(), day(), 0..3)).prop_map(move |(week, exceptions)| {
        let exceptions = exceptions.into_iter().map(|(date, day)| HoursException::new(date, day));
        let week = WeeklyHours::new(week).unwrap();
        OpenHours::new(TimeZone::parse(zone).unwrap(), week, exceptions.collect()).unwrap()
    })
}

pub(crate) const ZONE: &str = "Asia/Kolkata";

pub(crate) fn technician() -> impl Strategy<Value = Technician> {
    let roles = btree_set(name(RoleId::new), 1..4);
    (name(TechnicianId::new), line(), roles, hours(ZONE)).prop_map(|(id, title, roles, shift)| {
        let dated_roles = roles
            .iter()
            .map(|role| DatedRole {
                role: role.clone(),
                from: None,
                until: NaiveDate::from_ymd_opt(2027, 1, 1),
            })
            .collect();
        Technician::new(TechnicianDraft { id, title, roles, dated_roles, shift }).unwrap()
    })
}

pub(crate) fn unit() -> impl Strategy<Value = Unit> {
    let away = (date(), of(Just(())), line()).prop_map(|(from, back, reason)| UnitAbsence {
        from,
        back: back.and_then(|()| from.succ_opt()),
        reason,
    });
    let names = (name(UnitId::new), name(UnitKindId::new), line());
    (names, of(date()), 1_u32..=100, vec(away, 0..3)).prop_map(
        |((id, kind, verification_document), verified_until, count, absences)| {
            let draft =
                UnitDraft { id, kind, verified_until, verification_document, count, absences };
            Unit::new(draft).unwrap()
        },
    )
}

pub(crate) fn account() -> impl Strategy<Value = Account> {
    (name(AccountId::new), line(), line()).prop_map(|(id, title, party)| Account {
        id,
        title,
        party,
    })
}

pub(crate) fn shop() -> impl Strategy<Value = Shop> {
    let lies = (-90.0..=90.0, -180.0..=180.0, 0.0..=360.0);
    let weights = [0_u32..1_440, 0..1_440, 0..1_440, 0..1_440, 0..1_440];
    let spots = btree_map(name(SpotId::new), 1_u32..=1_000, 0..4);
    (name(ShopId::new), line(), lies, hours(ZONE), spots, weights).prop_map(
        |(id, title, (latitude_deg, longitude_deg, bearing_deg), hours, spots, weights)| {
            let [lateness, finish, r#move, change, move_minutes] = weights;
            Shop::new(ShopDraft {
                id,
                title,
                latitude_deg,
                longitude_deg,
                sky: SkyAssumed { elevation_m: 12.5, ..SkyAssumed::default() },
                bearing_deg,
                hours,
                spots: spots.into_iter().map(|(id, capacity)| Spot { id, capacity }).collect(),
                weights: PlanWeights { lateness, finish, r#move, change, move_minutes },
            })
            .unwrap()
        },
    )
}

/// A definition whose rules name only what it has.
pub(crate) fn definition() -> impl Strategy<Value = ShopDefinition> {
    let parts = (shop(), bay(), vehicle_class(), procedure(), technician(), unit(), account());
    let rules = (names(CallRuleId::new, 3), names(TaskId::new, 2), document());
    (parts, rules).prop_map(|(parts, (rules, tasks, document))| {
        let (shop, bay, class, procedure, technician, unit, account) = parts;
        let call = |task: TaskId| CalledTask {
            task,
            procedure: procedure.id().clone(),
            after: Vec::new(),
            undoes: Vec::new(),
            planned_cure: None,
        };
        let rule = |id| {
            CallRule::new(CallRuleDraft {
                id,
                operations: [].into(),
                classes: [class.id().clone()].into(),
                sensors: [].into(),
                calls: tasks.iter().cloned().map(call).collect(),
                prerequisites: Vec::new(),
                undoes: vec![baywright_core::work::UndoTarget::Prerequisite(
                    PrerequisiteKind::GlassClean,
                )],
                document: document.clone(),
            })
            .unwrap()
        };
        let call_rules = rules.into_iter().map(rule).collect();
        ShopDefinition::new(ShopDefinitionDraft {
            shop,
            bays: vec![bay],
            vehicle_classes: vec![class.clone()],
            procedures: vec![procedure.clone()],
            call_rules,
            technicians: vec![technician],
            units: vec![unit],
            accounts: vec![account],
        })
        .unwrap()
    })
}

pub(crate) fn survey() -> impl Strategy<Value = Survey> {
    let point = || (-2e5..=2e5, -2e5..=2e5);
    let height = (point(), -500.0..=500.0).prop_map(|((x_mm, y_mm), height_mm)| HeightPoint {
        x_mm,
        y_mm,
        height_mm,
    });
    let light = (point(), 0.0..=10_000.0, one_of(LightPlane::ALL), 0.0..=200_000.0).prop_map(
        |((x_mm, y_mm), height_mm, plane, lux)| LightReading { x_mm, y_mm, height_mm, plane, lux },
    );
    let named = (name(SurveyId::new), name(BayId::new), line(), dates());
    let unsure = (0.001..=100.0, 0.000_1..=1.0, of(1_000.0..=20_000.0));
    let errors = (0.0..=100.0, 0.0..=0.99, 0.0..=50.0).prop_map(
        |(datum_uncertainty_mm, correlation, tilt_uncertainty_mm_per_m)| HeightErrorsDraft {
            datum_uncertainty_mm,
            correlation,
            tilt_uncertainty_mm_per_m,
        },
    );
    let lamps = (of(one_of(LampState::ALL)), any::<bool>(), 0.0..=2_000.0);
    (named, (unsure, errors, lamps), vec(height, 1..6), vec(light, 0..6)).prop_map(
        |((id, bay, instrument, (taken_on, valid_until)), unsure, heights, light)| {
            let (unsure, height_errors, (lamps, ends_with_it, kelvin_u)) = unsure;
            let (height_uncertainty_mm, light_uncertainty_relative, colour_temperature_k) = unsure;
            let light_conditions = LightConditions {
                lamps,
                light_valid_until: ends_with_it.then_some(valid_until),
                colour_temperature_uncertainty_k: kelvin_u,
            };
            Survey::new(SurveyDraft {
                id,
                bay,
                taken_on,
                valid_until,
                instrument,
                height_uncertainty_mm,
                light_uncertainty_relative,
                colour_temperature_k,
                datum: "door mark".to_owned(),
                height_errors,
                light_conditions,
                heights,
                light,
            })
            .unwrap()
        },
    )
}
