//! Which closings are moved, for whom, and what becomes of overtime.

use super::*;

/// Two days of ten hours, one bay; the first job is due when the first day ends, the second on the next.
fn problem(night: i64) -> Problem {
    let text = format!(
        r#"{{"format": "planning-problem/1", "name": "night", "horizon": {horizon},
        "places": [{{"id": "bay-1", "open": [[0, 600], [{opens}, {horizon}]]}}], "resources": [],
        "jobs": [
            {{"id": "today", "due": 600, "steps": [{{"id": "scan", "options": [{{"minutes": 40, "place": "bay-1"}}]}}]}},
            {{"id": "tomorrow", "due": {horizon}, "steps": [{{"id": "scan", "options": [{{"minutes": 40, "place": "bay-1"}}]}}]}}
        ], "cost": {{"lateness": 100, "finish": 1}}}}"#,
        opens = 600 + night,
        horizon = 1200 + night
    );
    Problem::from_json(&text).unwrap()
}

#[test]
fn a_day_that_closes_for_the_night_is_stretched_for_whom_that_makes_late() {
    let stretched = stretched(&problem(840));
    let [plain, dearer] = &stretched[..] else { panic!("{stretched:?}") };
    assert_eq!(plain.places[0].open[0], Span { start: 0, end: 660 });
    assert_eq!(plain.places[0].open[1], Span { start: 1440, end: 2040 });
    assert_eq!((plain.cost.lateness, dearer.cost.lateness), (100, 500));
    assert_eq!(plain.jobs[0].steps[0].options[0].starts, None);
    // Whoever has until tomorrow ends by the closing time or begins the next morning.
    let starts = plain.jobs[1].steps[0].options[0].starts.as_deref();
    let expected = [Span { start: 0, end: 561 }, Span { start: 660, end: 2040 }];
    assert_eq!(starts, Some(&expected[..]));
}

#[test]
fn a_break_is_no_night() {
    assert!(stretched(&problem(LONG - 1)).is_empty());
}

#[test]
fn what_needs_overtime_is_put_where_it_costs_least_within_the_hours() {
    let problem = problem(840);
    let stretched = stretched(&problem);
    let (home, later) = (Shop::new(&problem), Shop::new(&stretched[0]));
    let mut board = Board::new(&later);
    let way = crate::planner::insertion::Blink { options: 0, late_steps: 1, not_before: 610 };
    settle(&mut board, Query { blink: Some(way), ..Query::plain(&later, 0) });
    settle(&mut board, Query::plain(&later, 1));
    assert!(!keeps_hours(&home, 0, &board.standing()[0]), "{:?}", board.standing());
    let fitted = fitted(&home, board.standing());
    assert!((0..2).all(|job| keeps_hours(&home, job, &fitted.standing()[job])));
    assert_eq!(fitted.worth(), Worth { missing: 0, cost: 40 + 80 });
}

#[test]
fn lateness_that_was_dearer_costs_within_the_hours_what_it_costs_there() {
    let mut problem = problem(840);
    problem.jobs[0].due = Some(30);
    let stretched = stretched(&problem);
    let [_, dearer] = &stretched[..] else { panic!("{stretched:?}") };
    let (home, later) = (Shop::new(&problem), Shop::new(dearer));
    let mut board = Board::new(&later);
    settle(&mut board, Query::plain(&later, 0));
    settle(&mut board, Query::plain(&later, 1));
    assert_eq!(board.worth().cost, 500 * 10 + 40 + 80);
    assert_eq!(fitted(&home, board.standing()).worth().cost, 100 * 10 + 40 + 80);
    // And what was cheap there is dear again.
    let back = fitted(&later, fitted(&home, board.standing()).standing());
    assert_eq!(back.worth(), board.worth());
}
