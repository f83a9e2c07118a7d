//! Shops of machines: what is recognised, that a spot's value is what the plan then costs, and that no
//! bound lies above a plan.

use super::chains::Chains;
use super::line::Line;
use super::removal::Removal;
use super::sequence::{Sequence, Shift, Trial};
use super::tabu::Tabu;
use super::{Machines, Worker, bound, start};
use crate::planner::problem::Problem;
use crate::planner::seeded::Seeded;
use proptest::prelude::*;
use rstest::rstest;
use serde_json::{Value, json};

fn shop() -> Value {
    json!({
        "format": "planning-problem/1", "name": "two machines", "horizon": 40,
        "places": [{"id": "bay-1"}],
        "resources": [{"id": "m0"}, {"id": "m1"}, {"id": "away", "open": []}],
        "jobs": [
            {"id": "A", "steps": [
                {"id": "s", "options": [{"minutes": 3, "needs": [["m0", "m1"]]}]},
                {"id": "t", "options": [{"minutes": 2, "needs": [["m1"]]}]}]},
            {"id": "B", "release": 2, "steps": [
                {"id": "s", "options": [{"minutes": 4, "needs": [["m1"]]},
                                        {"minutes": 9, "needs": [["m0"]]}]}]}],
        "cost": {"makespan": 1}
    })
}

fn machines(value: &Value) -> Option<Machines> {
    Machines::of(&Problem::from_json(&value.to_string()).unwrap())
}

#[test]
fn chains_of_steps_on_one_machine_each_are_a_shop_of_machines() {
    assert!(machines(&shop()).is_some());
}

#[rstest]
#[case::free_order("/jobs/0/steps/1/after", json!({}))]
#[case::a_wait("/jobs/0/steps/1/after", json!({"s": 1}))]
#[case::a_place("/jobs/0/steps/0/options/0/place", json!("bay-1"))]
#[case::two_machines_at_once("/jobs/0/steps/0/options/0/needs", json!([["m0"], ["m1"]]))]
#[case::no_machine("/jobs/0/steps/0/options/0/needs", json!([]))]
#[case::a_start_window("/jobs/0/steps/0/options/0/starts", json!([[0, 40]]))]
#[case::may_be_left_out("/jobs/0/leave_out_cost", json!(5))]
#[case::fixed("/jobs/0/fixed", json!({"t": {"start": 5, "option": 0, "uses": ["m1"]}}))]
#[case::a_pause("/resources/1/open", json!([[0, 12], [13, 40]]))]
#[case::no_cost("/cost/makespan", json!(0))]
#[case::too_short("/horizon", json!(15))]
fn what_a_shop_of_machines_does_not_know_is_not_taken_for_one(
    #[case] pointer: &str,
    #[case] value: Value,
) {
    let mut changed = shop();
    let (parent, key) = pointer.rsplit_once('/').unwrap();
    match changed.pointer_mut(parent).unwrap() {
        Value::Array(list) => list[key.parse::<usize>().unwrap()] = value,
        object => object[key] = value,
    }
    assert_eq!(machines(&changed), None);
}

/// Jackson's schedule of three steps, worked out by hand: the first is interrupted at 1 by the second,
/// whose tail is longer, and goes on from 3 to 6; the third follows till 7.
#[test]
fn a_machine_that_may_interrupt_its_steps_ends_as_worked_out_by_hand() {
    let work = [(0, 4, 1), (1, 2, 7), (2, 1, 0)].map(|(head, minutes, tail)| bound::Operation {
        head,
        minutes,
        tail,
    });
    assert_eq!(bound::preemptive(&work), 10);
    assert_eq!(bound::preemptive(&work[..1]), 5);
    assert_eq!(bound::preemptive(&[]), 0);
}

/// A shop by chance: up to 4 jobs of up to 4 steps on 3 machines, some with a choice.
fn any_shop() -> impl Strategy<Value = Value> {
    let way = (0_usize..3, 1_i64..9);
    let step = prop::collection::vec(way, 1..3);
    let job = (prop::collection::vec(step, 1..5), 0_i64..6, 0_i64..25, 0_i64..4);
    (prop::collection::vec(job, 2..5), 0_i64..3, 0_i64..2, 1_i64..3).prop_map(
        |(jobs, lateness, finish, makespan)| {
            let jobs: Vec<Value> = jobs
                .iter()
                .enumerate()
                .map(|(at, job)| {
                    let (steps, release, due, weight) = job;
                    let steps: Vec<Value> = steps
                        .iter()
                        .enumerate()
                        .map(|(at, ways)| {
                            let options: Vec<Value> = ways.iter().map(|(machine, minutes)| {
                        json!({"minutes": minutes, "needs": [[format!("m{machine}")]]})
                    }).collect();
                            json!({"id": at.to_string(), "options": options})
                        })
                        .collect();
                    json!({"id": at.to_string(), "release": release, "due": due, "weight": weight,
                    "steps": steps})
                })
                .collect();
            json!({"format": "planning-problem/1", "horizon": 500, "places": [],
                "resources": [{"id": "m0"}, {"id": "m1"}, {"id": "m2"}], "jobs": jobs,
                "cost": {"lateness": lateness, "finish": finish, "makespan": makespan}})
        },
    )
}

/// Puts every step in every spot that is offered, and compares the cost with what was foretold.
#[track_caller]
fn check_every_spot(shop: &Machines, line: &Line) -> usize {
    let mut removal = Removal::default();
    let mut seen = 0;
    for step in 0..shop.count() {
        let mut spots = Vec::new();
        removal.take_out(shop, line, step);
        removal.each_spot(shop, line, |spot, value| spots.push((spot, value)));
        for (spot, (cost, _)) in spots {
            let mut other = line.clone();
            assert!(other.put(shop, step, spot), "step {step} waits in a circle");
            assert_eq!(other.cost, cost, "step {step} at {spot:?}");
            assert!(other.order != line.order || other.choice != line.choice);
            seen += 1;
        }
    }
    seen
}

/// The shop with the first choice of each step only.
fn without_choice(mut shop: Machines) -> Machines {
    shop.choices.iter_mut().for_each(|choices| choices.truncate(1));
    shop
}

/// The steps of each machine in the order of a plan.
fn orders(shop: &Machines, plan: &Sequence) -> Vec<Vec<usize>> {
    let mut orders = vec![Vec::new(); shop.machine_count];
    let none = shop.count();
    for first in (0..none).filter(|step| plan.previous[*step] == none) {
        let order = &mut orders[shop.choices[first][0].machine];
        let after = |step: &usize| (0..none).find(|other| plan.previous[*other] == *step);
        order.extend(std::iter::successors(Some(first), after));
    }
    orders
}

/// Moves steps by chance, and compares costs and circles with those of a plan that is built anew.
#[track_caller]
fn check_shifts(shop: &Machines, random: &mut Seeded) -> (usize, usize) {
    let chains = Chains::of(shop);
    let mut plan = Sequence::any(shop, &chains, random);
    let mut trial = Trial::new(&chains);
    let (mut moved, mut circles) = (0, 0);
    for _ in 0..60 {
        let orders = orders(shop, &plan);
        let order = &orders[random.below(orders.len())];
        let (low, high) = (random.below(order.len()), random.below(order.len()));
        if low >= high {
            continue;
        }
        let later = random.below(2) == 0;
        let mut moved_order = order.clone();
        if later {
            moved_order[low..=high].rotate_left(1);
        } else {
            moved_order[low..=high].rotate_right(1);
        }
        let machine = shop.choices[order[low]][0].machine;
        let mut expected_orders = orders.clone();
        expected_orders[machine] = moved_order;
        let expected = Line::new(shop, vec![0; shop.count()], expected_orders.clone());
        let shift = Shift { first: order[low], last: order[high], later };
        let old = plan.clone();
        let cost = trial.make(shop, &chains, &mut plan, shift);
        assert_eq!(cost, expected.map(|line| line.cost), "{shift:?} in {orders:?}");
        match cost {
            Some(cost) if random.below(2) == 0 => {
                trial.keep(&mut plan, cost);
                assert_eq!(self::orders(shop, &plan), expected_orders);
                moved += 1;
            }
            Some(_) => trial.undo(&chains, &mut plan),
            None => circles += 1,
        }
        assert!(plan == old || plan.cost == cost.unwrap());
    }
    (moved, circles)
}

#[test]
fn there_are_shifts_that_fit_and_some_that_make_a_circle() {
    let step =
        |machine: &str| json!({"id": machine, "options": [{"minutes": 2, "needs": [[machine]]}]});
    let mut crossed = shop();
    crossed["jobs"] = json!([
        {"id": "A", "steps": [step("m0"), step("m1")]},
        {"id": "B", "steps": [step("m1"), step("m0")]},
        {"id": "C", "steps": [step("m0"), step("m1")]}]);
    let (moved, circles) = check_shifts(&machines(&crossed).unwrap(), &mut Seeded::new(1, 0));
    assert!(moved > 0 && circles > 0, "{moved} moved, {circles} circles");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]
    #[test]
    fn a_step_past_others_costs_what_the_plan_built_anew_does(
        value in any_shop(),
        seed in any::<u64>(),
    ) {
        let shop = without_choice(machines(&value).unwrap());
        check_shifts(&shop, &mut Seeded::new(seed, 0));
    }

    #[test]
    fn a_spot_is_worth_what_the_plan_then_costs(value in any_shop(), seed in any::<u64>()) {
        let shop = machines(&value).unwrap();
        let mut random = Seeded::new(seed, 0);
        let line = start::build(&shop, Some(&mut random)).unwrap();
        check_every_spot(&shop, &line);
    }

    #[test]
    fn a_search_ends_no_worse_than_it_begins_and_no_earlier_than_is_proved(
        value in any_shop(),
        seed in any::<u64>(),
    ) {
        let shop = machines(&value).unwrap();
        let first = start::build(&shop, None).unwrap();
        let mut search = Tabu::new(&shop, Seeded::new(seed, 0)).unwrap();
        search.moves_for_test(&shop, 200);
        let (cost, steps) = search.best();
        prop_assert!(cost <= first.cost);
        let end = |(at, (begin, choice)): (usize, &(i32, usize))| {
            begin + shop.choices[at][*choice].minutes
        };
        let last = steps.iter().enumerate().map(end).max().unwrap();
        prop_assert!(shop.last_finish() <= i64::from(last));
    }
}

#[test]
fn there_are_spots_to_look_at() {
    let shop = machines(&shop()).unwrap();
    let line = start::build(&shop, None).unwrap();
    assert!(check_every_spot(&shop, &line) > 2);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]
    #[test]
    fn an_annealed_plan_is_one_that_its_orders_give(value in any_shop(), seed in any::<u64>()) {
        let shop = without_choice(machines(&value).unwrap());
        let mut worker = Worker::new(&shop, Seeded::new(seed, 0)).unwrap();
        let first = worker.cost();
        worker.epoch(&shop, 0);
        prop_assert!(worker.cost() <= first);
        let steps = worker.best();
        let mut by_start: Vec<usize> = (0..steps.len()).collect();
        by_start.sort_by_key(|step| steps[*step].0);
        let mut orders = vec![Vec::new(); shop.machine_count];
        for step in by_start {
            orders[shop.choices[step][0].machine].push(step);
        }
        let line = Line::new(&shop, vec![0; shop.count()], orders).unwrap();
        prop_assert_eq!(line.cost, worker.cost());
        prop_assert!(line.start.iter().zip(&steps).all(|(start, step)| *start == step.0));
    }
}
