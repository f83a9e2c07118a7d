//! Hostile problem files: the reader refuses them with a path or the planner plans them, and neither
//! panics nor goes on for ever.
//!
//! Sound problems are damaged by chance, as values and as bytes; `BAYWRIGHT_CASES` asks for more of
//! them than a plain run of the tests has time for.
#![cfg(test)]

use baywright_core::planner::{PlanStatus, Problem, SolveOptions, solve};
use baywright_tests::generator::{Shape, cases, problem};
use baywright_tests::referee::judge;
use rand::{Rng as _, RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};

/// What came of a text.
#[derive(Debug, PartialEq, Eq)]
enum Outcome {
    Refused,
    Planned,
    NotPlanned,
}

/// Reads and, where it is a problem, plans a text; what is planned is judged.
#[track_caller]
fn check(text: &str) -> Outcome {
    let problem = match Problem::from_json(text) {
        Ok(problem) => problem,
        Err(faults) => {
            let list = faults.list();
            assert!(!list.is_empty());
            for fault in list {
                let said = [&fault.field, &fault.limit, &fault.remedy];
                assert!(said.iter().all(|part| !part.is_empty()), "{fault:?}");
            }
            return Outcome::Refused;
        }
    };
    let options = SolveOptions { seed: 3, threads: 1, epochs: Some(1) };
    match solve(&problem, options, &mut |_| false) {
        Ok(plan) if plan.status == PlanStatus::Impossible => Outcome::NotPlanned,
        Ok(plan) => {
            let verdict = judge(&problem.to_json(), &plan.to_json()).unwrap();
            assert_eq!(verdict.broken, [], "{text}\n{}", plan.to_json());
            Outcome::Planned
        }
        Err(_) => Outcome::NotPlanned,
    }
}

/// A value that somebody may get wrong, or choose to.
fn hostile(random: &mut ChaCha8Rng) -> Value {
    match random.random_range(0..14) {
        0 => json!(null),
        1 => json!(-1),
        2 => json!(0),
        3 => json!(i64::MAX),
        4 => json!(i64::MIN),
        5 => json!(u64::MAX),
        6 => json!(1e308),
        7 => json!(""),
        8 => json!("no such thing"),
        9 => json!([]),
        10 => json!({}),
        11 => json!([[5, 2]]),
        12 => json!(random.random_range(-3_i64..200)),
        _ => json!(10_i64.pow(random.random_range(5..16))),
    }
}

/// Damages a value somewhere below `value`.
fn damage(value: &mut Value, random: &mut ChaCha8Rng) {
    let deeper = !random.next_u32().is_multiple_of(32);
    match value {
        Value::Array(list) if deeper && !list.is_empty() => {
            let at = random.random_range(0..list.len());
            match random.random_range(0..12) {
                0 => drop(list.remove(at)),
                1 => list.push(list[at].clone()),
                2 => list.reverse(),
                _ => damage(&mut list[at], random),
            }
        }
        Value::Object(map) if deeper && !map.is_empty() => {
            let at = random.random_range(0..map.len());
            let Some(key) = map.keys().nth(at).cloned() else { return };
            if random.next_u32().is_multiple_of(12) {
                map.remove(&key);
            } else {
                damage(&mut map[&key], random);
            }
        }
        // Mostly such that it may still be a problem: another small number, a text as it was.
        Value::Number(_) if !random.next_u32().is_multiple_of(4) => {
            *value = json!(random.random_range(0_i64..60));
        }
        Value::String(_) if !random.next_u32().is_multiple_of(4) => {}
        other => *other = hostile(random),
    }
}

#[test]
fn damaged_values_are_refused_or_planned() {
    let (mut refused, mut planned) = (0, 0);
    for seed in 0..cases(1_500) {
        let shape = if seed % 2 == 0 { Shape::Tiny } else { Shape::Nasty };
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut value: Value = serde_json::from_str(&problem(shape, seed / 2)).unwrap();
        for _ in 0..random.random_range(1..3) {
            damage(&mut value, &mut random);
        }
        match check(&value.to_string()) {
            Outcome::Refused => refused += 1,
            Outcome::Planned => planned += 1,
            Outcome::NotPlanned => {}
        }
    }
    // Damage that is always or never seen would check one half only.
    assert!(refused * 4 > cases(1_500) && planned * 20 > cases(1_500), "{refused} {planned}");
}

#[test]
fn damaged_bytes_are_refused_or_planned() {
    let mut refused = 0;
    for seed in 0..cases(1_500) {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut bytes = problem(Shape::Tiny, seed).into_bytes();
        for _ in 0..random.random_range(1..4) {
            let at = random.random_range(0..bytes.len());
            match random.random_range(0..4) {
                0 => bytes.truncate(at.max(1)),
                1 => bytes[at] = random.random_range(0..=255),
                2 => bytes.insert(at, b"0123456789-[]{},:\"e."[random.random_range(0..20)]),
                _ => drop(bytes.remove(at)),
            }
            if bytes.is_empty() {
                break;
            }
        }
        refused += u64::from(check(&String::from_utf8_lossy(&bytes)) == Outcome::Refused);
    }
    assert!(refused > 0);
}

/// A million jobs: refused for their number, in a file that is within the limit of its length and
/// in one that is not.
#[test]
fn a_million_jobs_are_refused() {
    for job in ["{}", r#"{"id":"j","steps":[{"id":"s","options":[{"minutes":5}]}]}"#] {
        let jobs = vec![job; 1_000_000].join(",");
        let text = format!(
            r#"{{"format":"planning-problem/1","horizon":9,"places":[],"resources":[],"cost":{{}},"jobs":[{jobs}]}}"#
        );
        let faults = Problem::from_json(&text).unwrap_err();
        let list = faults.list();
        assert!(list.iter().any(|fault| fault.field == "jobs"), "{:?}", list.first());
        assert!(list.len() < 1_000, "{}", list.len());
    }
}

/// Deep nesting must not exhaust the stack.
#[test]
fn deep_nesting_is_refused() {
    for (open, close) in [("[", "]"), ("{\"a\":", "}")] {
        let text = open.repeat(200_000) + "1" + &close.repeat(200_000);
        assert_eq!(check(&text), Outcome::Refused);
    }
}

/// Fixed steps are what is; that two of them collide is no fault (they are not checked against each other), and what is planned
/// keeps clear of both.
#[test]
fn fixed_steps_that_collide_stand_and_the_rest_is_planned_around_them() {
    let job = |id: &str, fixed: Value| {
        json!({"id": id, "fixed": fixed, "steps": [
            {"id": "s", "options": [{"minutes": 5, "place": "bay-1", "needs": [["ines"]]}]}]})
    };
    let text = json!({"format": "planning-problem/1", "horizon": 40, "cost": {"finish": 1},
        "places": [{"id": "bay-1"}], "resources": [{"id": "ines"}], "jobs": [
            job("A", json!({"s": {"start": 2, "option": 0, "uses": ["ines"]}})),
            job("B", json!({"s": {"start": 4, "option": 0, "uses": ["ines"]}})),
            job("C", json!({}))]});
    assert_eq!(check(&text.to_string()), Outcome::Planned);
}
