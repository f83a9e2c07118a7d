//! Small days with one job more, worked out by hand.

use super::*;
use rstest::rstest;

const EFFORT: Effort = Effort { seed: 1, plan_epochs: 4, question_epochs: 2 };

/// One bay. A takes 30 minutes by 30, B 30 by 90; the newcomer W takes 20 and sets for 15 more.
fn problem(due_of_b: i64) -> Problem {
    Problem::from_json(&format!(
        r#"{{
        "format": "planning-problem/1", "horizon": 200, "cost": {{"lateness": 10, "finish": 1}},
        "places": [{{"id": "bay-1"}}], "resources": [],
        "jobs": [
          {{"id": "A", "due": 30, "leave_out_cost": 90000,
            "steps": [{{"id": "aim", "options": [{{"minutes": 30, "place": "bay-1"}}]}}]}},
          {{"id": "W", "leave_out_cost": 90000,
            "steps": [{{"id": "glass", "options": [{{"minutes": 20, "place": "bay-1"}}]}}]}},
          {{"id": "B", "due": {due_of_b}, "leave_out_cost": 90000,
            "steps": [{{"id": "aim", "options": [{{"minutes": 30, "place": "bay-1"}}]}}]}}
        ]}}"#
    ))
    .unwrap()
}

fn after_work() -> AfterWork {
    AfterWork::from([(("W".to_owned(), "glass".to_owned()), 15)])
}

fn start_of(room: &Room, job: &str) -> i64 {
    room.plan.jobs.iter().find(|one| one.id == job).unwrap().steps[0].start
}

#[test]
fn a_newcomer_comes_last_where_the_others_stand_and_between_them_where_they_give_way() {
    let problem = problem(90);
    let newcomer = Newcomer::new(&problem, "W", &after_work(), EFFORT).unwrap().unwrap();
    // A until 30, B until 60.
    assert_eq!(newcomer.without().cost, Some(90));
    assert_eq!(newcomer.alone(), Some(35));
    let last = newcomer.as_they_stand(None).unwrap();
    assert_eq!((start_of(&last, "W"), last.finish, last.price), (60, 95, 0));
    assert_eq!(newcomer.as_they_stand(Some(94)), None);
    // B can wait until 60: W from 30 to 50, finished at 65; B ends at 80 and costs 20 more.
    let between = newcomer.keeping_promises(65).unwrap();
    assert_eq!((start_of(&between, "W"), between.finish, between.price), (30, 65, 20));
    assert_eq!(newcomer.keeping_promises(64), None);
}

#[rstest]
// W from 0 to 20: A ends at 50 and is 20 late, B at 80: 2 x 20 more and 20 x 10.
#[case::both_later(90, 35, 240)]
// B is due at 60: W from 30 makes it 20 late.
#[case::the_last_is_late(60, 65, 220)]
fn an_earlier_time_has_its_price(#[case] due_of_b: i64, #[case] by: i64, #[case] price: i64) {
    let problem = problem(due_of_b);
    let newcomer = Newcomer::new(&problem, "W", &after_work(), EFFORT).unwrap().unwrap();
    assert_eq!(newcomer.keeping_promises(by), None);
    let room = newcomer.at_any_price(by).unwrap();
    assert_eq!((room.finish, room.price), (by, price));
    assert_eq!(newcomer.at_any_price(34), None, "it takes 35 minutes even alone");
}

#[test]
fn a_job_that_the_problem_does_not_have_is_no_newcomer() {
    assert!(Newcomer::new(&problem(90), "X", &after_work(), EFFORT).is_none());
}
