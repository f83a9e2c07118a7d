//! Small problems by chance for tests of the planner's parts, with all that the format has.

use super::Problem;
use super::seeded::Seeded;
use serde_json::{Value, json};

/// A problem of a few vehicles in two bays with three places; the seed decides it.
pub(super) fn any_problem(seed: u64) -> Problem {
    let mut random = Seeded::new(seed, 0);
    let jobs = 2 + random.below(5);
    let jobs: Vec<Value> = (0..jobs).map(|job| any_job(&mut random, job)).collect();
    let open = |random: &mut Seeded| {
        let close = 90 + random.below(60);
        json!([[random.below(20), close], [close + random.below(40), 2_000]])
    };
    let (mut places, mut resources) = (Vec::new(), Vec::new());
    for place in 0..3 {
        places.push(json!({"id": format!("place {place}"), "open": open(&mut random)}));
        resources.push(json!({"id": format!("technician {place}"), "open": open(&mut random)}));
    }
    resources.push(json!({"id": "frame"}));
    let problem = json!({
        "format": "planning-problem/1", "name": "by chance", "horizon": 2_000, "now": random.below(2) * 10,
        "places": places, "resources": resources, "clashes": [["place 0", "place 1"]], "jobs": jobs,
        "cost": {"lateness": 10, "finish": 1, "move": random.below(30), "change": random.below(2) * 20,
            "makespan": random.below(2) * 3}
    });
    Problem::from_json(&problem.to_string()).unwrap()
}

fn any_job(random: &mut Seeded, job: usize) -> Value {
    let count = 1 + random.below(4);
    let steps: Vec<Value> = (0..count).map(|step| any_step(random, step)).collect();
    let mut previous = serde_json::Map::new();
    for step in 0..random.below(count + 1) {
        let uses: Vec<&str> = Vec::new();
        let was = json!({"start": random.below(200), "option": 0, "uses": uses});
        previous.insert(format!("step {step}"), was);
    }
    json!({
        "id": format!("job {job}"), "release": random.below(60), "due": 60 + random.below(150),
        "weight": 1 + random.below(5), "move_minutes": random.below(10), "steps": steps, "previous": previous
    })
}

fn any_step(random: &mut Seeded, step: usize) -> Value {
    let options: Vec<Value> = (0..=random.below(3))
        .map(|_| {
            let technicians: Vec<String> =
                (0..=random.below(3)).map(|one| format!("technician {one}")).collect();
            let mut needs = vec![technicians];
            match random.below(4) {
                0 => needs.push(vec!["frame".to_owned()]),
                1 => needs.push(vec!["technician 2".to_owned(), "frame".to_owned()]),
                _ => {}
            }
            let mut option = json!({"minutes": 5 + random.below(40), "needs": needs});
            if random.below(5) > 0 {
                option["place"] = json!(format!("place {}", random.below(3)));
            }
            if random.below(6) == 0 {
                option["starts"] = json!([[random.below(50), 60 + random.below(40)], [150, 1_500]]);
            }
            option
        })
        .collect();
    let mut spec = json!({"id": format!("step {step}"), "options": options});
    if random.below(2) == 0 {
        let mut after = serde_json::Map::new();
        for earlier in 0..step {
            if random.below(2) == 0 {
                after.insert(format!("step {earlier}"), json!(random.below(2) * 30));
            }
        }
        spec["after"] = Value::Object(after);
    }
    spec
}
