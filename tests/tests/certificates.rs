//! Certificates of generated problems: a reader that shares no code with the planner derives the bound again from the
//! problem and the certificate alone, and nothing higher from one that was tampered with.
#![cfg(test)]

use baywright_core::planner::{Plan, PlanStatus, Problem, SolveOptions, solve};
use baywright_tests::generator::{Shape, cases, problem};
use baywright_tests::referee::{admits, cheapest, derive};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rstest::rstest;
use serde_json::{Value, json};

fn plan(text: &str, epochs: u64) -> Option<Plan> {
    let problem = Problem::from_json(text).unwrap();
    let options = SolveOptions { seed: 5, threads: 1, epochs: Some(epochs) };
    solve(&problem, options, &mut |_| false).ok().filter(|p| p.status != PlanStatus::Impossible)
}

/// What became of a family's plans.
#[derive(Debug, Default)]
struct Tally {
    certificates: usize,
    proved: usize,
    closed: usize,
    lessons: usize,
}

#[rstest]
#[case::tiny(Shape::Tiny, 60, 6)]
#[case::tiny_to_the_end(Shape::Tiny, 60, 60)]
#[case::nasty(Shape::Nasty, 30, 4)]
#[case::nasty_to_the_end(Shape::Nasty, 30, 80)]
#[case::day(Shape::Day { jobs: 6 }, 2, 3)]
#[case::day_to_the_end(Shape::Day { jobs: 8 }, 4, 60)]
fn the_certificate_alone_gives_the_bound_again(
    #[case] shape: Shape,
    #[case] count: u64,
    #[case] epochs: u64,
) {
    let mut tally = Tally::default();
    for seed in 0..cases(count) {
        derives(shape, seed, epochs, &mut tally);
    }
    println!("{shape:?}: {tally:?}");
    assert!(tally.certificates > 0, "{shape:?}");
}

/// Waits that other steps come between, with a price on the last finish: the certificate stated more than its
/// reader can derive.
#[rstest]
#[case(278)]
#[case(873)]
fn a_certificate_states_no_more_than_it_proves(#[case] seed: u64) {
    let mut tally = Tally::default();
    derives(Shape::Nasty, seed, 4, &mut tally);
    assert_eq!(tally.certificates, 1);
}

/// A certificate that proves less than it states fails, and so does a best plan whose certificate does not prove it.
#[track_caller]
fn derives(shape: Shape, seed: u64, epochs: u64, tally: &mut Tally) {
    let text = problem(shape, seed);
    let Some(plan) = plan(&text, epochs) else { return };
    let file = plan.to_json();
    let (cost, bound) = (plan.cost.map(i128::from), plan.bound.map(i128::from));
    if plan.status == PlanStatus::ProvedBest {
        assert_eq!(derive(&text, &file).ok(), cost, "{shape:?} {seed}: {:?}", derive(&text, &file));
        tally.proved += 1;
    }
    let Some(certificate) = &plan.certificate else { return };
    let derived = derive(&text, &file).unwrap();
    assert!(
        derived >= i128::from(certificate.bound),
        "{shape:?} {seed}: {derived}\n{text}\n{file}"
    );
    tally.certificates += 1;
    match admits(&text, &file) {
        Ok(admits) => assert!(admits, "{shape:?} {seed}: {file}"),
        Err(trouble) => assert!(trouble.contains("between two fixed steps"), "{trouble}"),
    }
    // What the prices do not prove, the plan says an exact search has closed.
    let open = Some(i128::from(certificate.bound)) < bound;
    assert_eq!(open, certificate.branches.is_some(), "{shape:?} {seed}");
    if let Some(closing) = &certificate.closing {
        assert_eq!(Some(i128::from(closing.bound)), bound, "{shape:?} {seed}");
        tally.closed += 1;
        tally.lessons += closing.clauses.split(',').filter(|clause| !clause.is_empty()).count();
    }
}

#[test]
fn a_certificate_with_a_group_that_does_not_clash_proves_nothing() {
    let text = problem(Shape::Day { jobs: 6 }, 1);
    let certificate = r#"{"certificate": {"scale": 1, "prices": [
        {"places": ["place 0", "place 0"], "runs": "0 1 5"}]}}"#;
    assert!(derive(&text, certificate).is_err());
    assert!(derive(&text, "{}").is_err());
}

/// A file in which the proof was changed.
fn changed(file: &Value, key: &str, value: &str) -> String {
    let mut file = file.clone();
    file["certificate"]["closing"][key] = json!(value);
    file.to_string()
}

/// Turns one fact of a clause round, points it to another number, or moves its limit.
fn bent(random: &mut ChaCha8Rng, clause: &str, numbers: usize) -> String {
    let mut facts: Vec<String> = clause.split(' ').map(str::to_owned).collect();
    let at = random.random_range(0..facts.len());
    let fact = facts[at].clone();
    facts[at] = match random.random_range(0..3) {
        0 => match fact.strip_prefix('-') {
            Some(number) => number.to_owned(),
            None if fact.contains('>') => fact.replace('>', "<"),
            None if fact.contains('<') => fact.replace('<', ">"),
            None => format!("-{fact}"),
        },
        1 => {
            let digits = |c: char| c.is_ascii_digit();
            let from = fact.find(digits).unwrap_or(0);
            let until = fact[from..].find(|c| !digits(c)).map_or(fact.len(), |until| from + until);
            let number = random.random_range(1..=numbers);
            format!("{}{number}{}", &fact[..from], &fact[until..])
        }
        _ => {
            facts.remove(at);
            return facts.join(" ");
        }
    };
    facts.join(" ")
}

/// The plan's file of a seed with something changed in its certificate.
fn tampered(random: &mut ChaCha8Rng, file: &Value) -> String {
    let closing = &file["certificate"]["closing"];
    let text = |key: &str| closing[key].as_str().unwrap_or("").to_owned();
    let numbers = text("numbers").split(',').count();
    let mut lessons: Vec<String> = text("clauses").split(',').map(str::to_owned).collect();
    let at = random.random_range(0..lessons.len());
    match random.random_range(0..5) {
        0 => {
            lessons.remove(at);
        }
        1 | 2 => lessons[at] = bent(random, &lessons[at], numbers),
        3 => {
            let mut names: Vec<String> = text("numbers").split(',').map(str::to_owned).collect();
            let (one, other) =
                (random.random_range(0..names.len()), random.random_range(0..names.len()));
            names.swap(one, other);
            return changed(file, "numbers", &names.join(","));
        }
        _ => {
            let mut file = file.clone();
            let prices = file["certificate"]["prices"].as_array_mut().unwrap();
            if prices.is_empty() {
                file["certificate"]["scale"] = json!(1);
            } else {
                prices.remove(random.random_range(0..prices.len()));
            }
            return file.to_string();
        }
    }
    changed(file, "clauses", &lessons.join(","))
}

#[test]
fn a_tampered_proof_never_derives_more_than_the_cheapest_plan_costs() {
    let (mut tried, mut refused) = (0, 0);
    for seed in 0..cases(400) {
        let text = problem(Shape::Tiny, seed);
        let Some(plan) = plan(&text, 60).filter(has_lessons) else { continue };
        let optimum = cheapest(&text).unwrap().unwrap();
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let file: Value = serde_json::from_str(&plan.to_json()).unwrap();
        for _ in 0..20 {
            let mut tampered: Value = serde_json::from_str(&tampered(&mut random, &file)).unwrap();
            for more in [0, 1, 3] {
                let bound = plan.bound.unwrap() + more;
                tampered["certificate"]["closing"]["bound"] = json!(bound);
                tried += 1;
                match derive(&text, &tampered.to_string()) {
                    Ok(bound) => {
                        assert!(bound <= optimum, "{seed}: {bound}, {optimum}\n{tampered}");
                    }
                    Err(_) => refused += 1,
                }
            }
        }
    }
    println!("{tried} tried, {refused} refused");
    assert!(refused > 0, "{tried}");
}

/// The file of a day's best plan, with lessons in its certificate, and what it costs.
fn closed_day(seed: u64) -> (String, Value, i64) {
    let text = problem(Shape::Day { jobs: 8 }, seed);
    let plan = plan(&text, 60).filter(has_lessons).unwrap();
    let file = serde_json::from_str(&plan.to_json()).unwrap();
    (text, file, plan.cost.unwrap())
}

#[rstest]
#[case(1)]
#[case(3)]
fn a_proof_of_one_more_than_the_cost_is_refused(#[case] seed: u64) {
    let (text, mut file, cost) = closed_day(seed);
    assert_eq!(derive(&text, &file.to_string()), Ok(i128::from(cost)));
    file["certificate"]["closing"]["bound"] = json!(cost + 1);
    let refusal = derive(&text, &file.to_string()).unwrap_err();
    assert!(refusal.contains("lesson"), "{refusal}");
}

#[rstest]
#[case::no_lessons("clauses", "", "leave plans that cost less")]
#[case::a_lesson_from_nowhere("clauses", "1,-1", "lesson 1 of the proof, \"1\" does not follow")]
#[case::no_lesson("clauses", "1 what", "lesson 1 of the proof, \"1 what\" cannot be read")]
#[case::a_number_without_name("clauses", "100000", "cannot be read")]
#[case::a_limit_out_of_bounds("clauses", "1>9223372036854775807", "cannot be read")]
#[case::an_unknown_number("numbers", "start 99 0", "names \"start 99 0\"")]
fn a_proof_that_does_not_hold_is_refused_by_place(
    #[case] key: &str,
    #[case] value: &str,
    #[case] says: &str,
) {
    let (text, file, _) = closed_day(1);
    let refusal = derive(&text, &changed(&file, key, value)).unwrap_err();
    assert!(refusal.contains(says), "{refusal}");
}

#[test]
fn a_certificate_without_its_prices_proves_less() {
    let text = problem(Shape::Day { jobs: 6 }, 0);
    let plan = plan(&text, 3).unwrap();
    let mut file: Value = serde_json::from_str(&plan.to_json()).unwrap();
    assert!(file["certificate"]["closing"].is_null());
    let derived = derive(&text, &file.to_string()).unwrap();
    file["certificate"]["prices"] = json!([]);
    assert!(derive(&text, &file.to_string()).unwrap() < derived);
}

fn has_lessons(plan: &Plan) -> bool {
    let closing = plan.certificate.as_ref().and_then(|certificate| certificate.closing.as_ref());
    closing.is_some_and(|closing| !closing.clauses.is_empty())
}
