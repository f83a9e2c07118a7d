//! Readiness, undoing and hand-back on the invented shop's rules.

use super::*;
use crate::demand::{PrerequisiteKind, TaskKind};
use crate::example_shop::*;
use crate::ids::{OperationId, PrerequisiteId, TaskId};
use crate::shop::ShopDefinition;
use crate::work::*;
use proptest::prelude::*;
use rstest::rstest;

fn id(task: &str) -> TaskId {
    TaskId::new(task).unwrap()
}

#[track_caller]
fn check_readiness(job: &Job, task: &str, clock: &str, expected: ReadinessState) {
    let answer = readiness(job, job.task(&id(task)).unwrap(), at(clock));
    assert_eq!(answer.state, expected, "{:#?}", answer.reasons);
    let explained = !matches!(expected, ReadinessState::Ready | ReadinessState::NotOpen(_));
    assert_eq!(!answer.reasons.is_empty(), explained);
}

fn start_undoes(job: &mut Job, task: &str, clock: &str) -> Undoing {
    let doing = job.task(&id(task)).unwrap().clone();
    undo(job, &doing.undoes, Some(&doing.id), &format!("task {task}"), at(clock))
}

fn keys(job: &Job, clock: &str) -> Vec<String> {
    hand_back_reasons(job, at(clock)).into_iter().map(|reason| reason.key).collect()
}

#[test]
fn an_estimate_calls_for_what_its_operations_and_the_vehicle_ask() {
    let job =
        take_estimate(None, &estimate(1, &["windshield-replaced"]), &definition(), at("08:00"))
            .unwrap();
    let names: Vec<_> = job.tasks.iter().map(|task| task.id.as_str()).collect();
    assert_eq!(names, ["pre-scan", "glass", "front-camera", "road-drive"]);
    assert!(job.tasks.iter().all(|task| task.state == TaskState::Proposed));
    assert_eq!(job.operations[0].state, OperationState::Called);
}

#[test]
fn an_operation_that_no_rule_knows_needs_a_decision() {
    let mut job =
        take_estimate(None, &estimate(1, &["roof-box-fitted"]), &definition(), at("08:00"))
            .unwrap();
    assert_eq!(job.operations[0].state, OperationState::NeedsDecision);
    let radar = task_of_procedure(&definition(), &procedure("front-radar")).unwrap();
    let line = OperationId::new("line-roof-box-fitted").unwrap();
    let decision = Decision {
        actor: "ada".to_owned(),
        at: at("08:00"),
        reason: "radar cover moved".to_owned(),
    };
    assert!(decide_operation(&mut job, &line, vec![radar], &decision));
    assert_eq!(job.operations[0].state, OperationState::Decided);
    assert_eq!(job.task(&id("front-radar")).unwrap().state, TaskState::Open);
    assert_eq!(job.task(&id("front-radar")).unwrap().after, [after("pre-scan", 0)]);
    assert!(!decide_operation(&mut job, &line, Vec::new(), &decision));
}

#[test]
fn a_rule_that_does_not_hold_for_the_vehicle_leaves_its_operation_undecided() {
    let mut draft = estimate(1, &["front-bumper-removed"]).parts().clone();
    draft.vehicle.sensors.clear();
    let job =
        take_estimate(None, &Estimate::new(draft).unwrap(), &definition(), at("08:00")).unwrap();
    assert_eq!(job.operations[0].state, OperationState::NeedsDecision);
}

#[test]
fn a_supplement_adds_its_tasks_and_keeps_what_has_passed() {
    let mut job = accepted_job(&["front-bumper-removed"]);
    pass(&mut job, "pre-scan", "08:30");
    let later = estimate(2, &["front-bumper-removed", "windshield-replaced"]);
    let job = take_estimate(Some(&job), &later, &definition(), at("08:00")).unwrap();
    assert_eq!(job.task(&id("pre-scan")).unwrap().state, TaskState::Passed);
    assert_eq!(job.task(&id("glass")).unwrap().state, TaskState::Proposed);
    assert!(matches!(
        take_estimate(Some(&job), &later, &definition(), at("08:00")),
        Err(EstimateRefused::StaleRevision { given: 2, last: 2 })
    ));
}

#[test]
fn a_declined_task_that_is_called_again_becomes_proposed() {
    let mut job =
        take_estimate(None, &estimate(1, &["windshield-replaced"]), &definition(), at("08:00"))
            .unwrap();
    job.task_mut(&id("front-camera")).unwrap().step(TaskEvent::Decline).unwrap();
    let again = estimate(2, &["windshield-replaced"]);
    let job = take_estimate(Some(&job), &again, &definition(), at("08:00")).unwrap();
    assert_eq!(job.task(&id("front-camera")).unwrap().state, TaskState::Proposed);
}

#[test]
fn an_operation_gone_from_the_estimate_is_withdrawn_and_its_tasks_stay() {
    let job = accepted_job(&["windshield-replaced", "front-bumper-removed"]);
    let fewer = estimate(2, &["windshield-replaced"]);
    let job = take_estimate(Some(&job), &fewer, &definition(), at("08:00")).unwrap();
    assert_eq!(job.operations[1].state, OperationState::Withdrawn);
    assert_eq!(job.task(&id("front-radar")).unwrap().state, TaskState::Open);
}

#[test]
fn a_task_that_no_rule_calls_for_any_more_is_marked_and_kept() {
    let mut job = accepted_job(&["windshield-replaced", "front-bumper-removed"]);
    pass(&mut job, "pre-scan", "08:30");
    for event in [TaskEvent::Pull, TaskEvent::Start] {
        job.task_mut(&id("glass")).unwrap().step(event).unwrap();
    }
    let job = take_estimate(
        Some(&job),
        &estimate(2, &["front-bumper-removed"]),
        &definition(),
        at("08:00"),
    );
    let job = job.unwrap();
    let marked = |job: &Job| -> Vec<(String, TaskState, bool)> {
        let marked = job.tasks.iter().filter(|task| task.no_longer_called);
        marked
            .map(|task| (task.id.to_string(), task.state, task.is_offered_for_cancelling()))
            .collect()
    };
    assert_eq!(
        marked(&job),
        [
            ("glass".to_owned(), TaskState::Running, false),
            ("front-camera".to_owned(), TaskState::Open, true),
            ("road-drive".to_owned(), TaskState::Open, true),
        ]
    );
    let again = estimate(3, &["front-bumper-removed", "windshield-replaced"]);
    assert!(
        marked(&take_estimate(Some(&job), &again, &definition(), at("08:00")).unwrap()).is_empty()
    );
}

#[test]
fn what_a_person_decided_on_is_never_marked_as_no_longer_called() {
    let job = take_estimate(None, &estimate(1, &["roof-box-fitted"]), &definition(), at("08:00"));
    let mut job = job.unwrap();
    let line = OperationId::new("line-roof-box-fitted").unwrap();
    let radar = procedure("front-radar");
    let radar = task_of_procedure(&definition(), &radar).unwrap();
    let decision =
        Decision { actor: "ada".to_owned(), at: at("08:00"), reason: "cover moved".to_owned() };
    assert!(decide_operation(&mut job, &line, vec![radar], &decision));
    let other = estimate(2, &["windshield-replaced"]);
    let job = take_estimate(Some(&job), &other, &definition(), at("08:00")).unwrap();
    assert!(!job.task(&id("front-radar")).unwrap().no_longer_called);
}

/// What is sent out is a stranger's promise: it is never assumed to have been kept.
#[rstest]
#[case::before_the_expected_time("10:29", ReadinessState::ReadyBy(at("10:30")), "glazier")]
#[case::once_it_has_passed("10:30", ReadinessState::Overdue, "glazier")]
fn a_task_behind_one_that_is_sent_out_waits_for_its_expected_time(
    #[case] clock: &str,
    #[case] expected: ReadinessState,
    #[case] party: &str,
) {
    let mut job = accepted_job(&["windshield-replaced"]);
    pass(&mut job, "pre-scan", "08:30");
    let glass = job.task_mut(&id("glass")).unwrap();
    glass.step(TaskEvent::Sublet).unwrap();
    glass.sublet = Some(Sublet {
        party: "glazier".to_owned(),
        sent_at: at("08:40"),
        expected_at: at("10:30"),
        actor: "desk".to_owned(),
        note: String::new(),
    });
    check_readiness(&job, "front-camera", clock, expected);
    let answer = readiness(&job, job.task(&id("front-camera")).unwrap(), at(clock));
    assert!(answer.reasons.iter().any(|reason| reason.party == party));
}

#[rstest]
#[case::signed_off_before(true)]
#[case::never_signed_off(false)]
fn a_preparation_that_was_not_met_opens_again_with_everything_behind_it(#[case] signed: bool) {
    let mut job = accepted_job(&["windshield-replaced"]);
    let parts = PrerequisiteId::new("parts").unwrap();
    if !signed {
        job.prerequisite_mut(&parts).unwrap().reopen();
    }
    for (task, clock) in [("pre-scan", "08:30"), ("glass", "09:00")] {
        pass(&mut job, task, clock);
    }
    for event in [TaskEvent::Pull, TaskEvent::Start, TaskEvent::Fail] {
        job.task_mut(&id("front-camera")).unwrap().step(event).unwrap();
    }
    let undone = reopen_prerequisite(&mut job, &parts, "ada", at("10:00"));
    assert_eq!(undone.prerequisites, if signed { vec![parts] } else { Vec::new() });
    assert_eq!(undone.tasks, [id("glass")]);
    assert_eq!(job.task(&id("front-camera")).unwrap().state, TaskState::Failed);
    assert_eq!(job.task(&id("pre-scan")).unwrap().state, TaskState::Passed);
}

#[test]
fn glass_that_was_done_outside_undoes_the_camera_whether_it_passed_or_failed() {
    let mut job = accepted_job(&["windshield-replaced"]);
    pass(&mut job, "front-camera", "08:30");
    set_adhesive(&mut job, "08:00");
    let undone = undo_by_outside_work(&mut job, &id("glass"), at("10:00"));
    assert_eq!(undone.tasks, [id("front-camera")]);
    assert!(job.adhesives.is_empty());
    let camera = job.task(&id("front-camera")).unwrap().undone.clone().unwrap();
    assert_eq!((camera.by.as_str(), camera.at), ("task glass, done outside,", at("10:00")));
}

#[test]
fn tasks_are_ready_in_their_order() {
    let mut job = accepted_job(&["windshield-replaced"]);
    check_readiness(&job, "pre-scan", "08:30", ReadinessState::Ready);
    check_readiness(&job, "glass", "08:30", ReadinessState::After);
    pass(&mut job, "pre-scan", "08:40");
    check_readiness(&job, "glass", "08:40", ReadinessState::Ready);
    check_readiness(&job, "pre-scan", "08:40", ReadinessState::NotOpen(TaskState::Passed));
}

/// What stands against a part decides; an expected time is never assumed to have been kept.
#[rstest]
#[case::nobody_knows_when(PrerequisiteState::OnOrder, None, ReadinessState::Waiting)]
#[case::tried_and_failed(PrerequisiteState::Failed, Some("12:00"), ReadinessState::Waiting)]
#[case::expected_at_noon(
    PrerequisiteState::OnOrder,
    Some("12:00"),
    ReadinessState::ReadyBy(at("12:00"))
)]
#[case::expected_an_hour_ago(PrerequisiteState::Booked, Some("08:00"), ReadinessState::Overdue)]
fn a_part_makes_the_glass_wait(
    #[case] state: PrerequisiteState,
    #[case] expected: Option<&str>,
    #[case] readiness: ReadinessState,
) {
    let mut job = accepted_job(&["windshield-replaced"]);
    pass(&mut job, "pre-scan", "08:30");
    let parts = job.prerequisite_mut(&PrerequisiteId::new("parts").unwrap()).unwrap();
    parts.reopen();
    parts.state = state;
    parts.expected_at = expected.map(at);
    check_readiness(&job, "glass", "09:00", readiness);
}

#[test]
fn a_sign_off_lapses_at_its_instant() {
    let mut job = accepted_job(&["windshield-replaced"]);
    let authorised = job.prerequisite_mut(&PrerequisiteId::new("authorised").unwrap()).unwrap();
    authorised.sign_off("desk", at("08:00"), "told", Some(at("09:00")));
    let scan = job.task(&id("pre-scan")).unwrap();
    assert_eq!(readiness(&job, scan, at("08:59")).lapses_at, Some(at("09:00")));
    check_readiness(&job, "pre-scan", "08:59", ReadinessState::Ready);
    check_readiness(&job, "pre-scan", "09:00", ReadinessState::Waiting);
}

#[test]
fn what_is_asked_at_the_start_never_makes_a_task_wait() {
    let mut job = accepted_job(&["windshield-replaced"]);
    pass(&mut job, "pre-scan", "08:30");
    pass(&mut job, "glass", "09:00");
    let clean = job.prerequisites.iter().find(|one| one.kind == PrerequisiteKind::GlassClean);
    assert_eq!(clean.unwrap().state, PrerequisiteState::Open);
    check_readiness(&job, "front-camera", "09:00", ReadinessState::Ready);
}

#[test]
fn a_vehicle_that_should_be_here_is_chased() {
    let mut job = accepted_job(&["windshield-replaced"]);
    job.state = JobState::Expected;
    check_readiness(&job, "pre-scan", "07:59", ReadinessState::ReadyBy(at("08:00")));
    check_readiness(&job, "pre-scan", "08:00", ReadinessState::Overdue);
}

fn set_adhesive(job: &mut Job, clock: &str) {
    let draft = AdhesiveDraft {
        product: "invented adhesive".to_owned(),
        set_at: at(clock),
        temperature_c: 20.0,
        humidity_percent: 50.0,
        cure: CureMinutes::new(10, 60, 90).unwrap(),
        document: "invented sheet".to_owned(),
        task: Some(id("glass")),
    };
    job.note_adhesive(Adhesive::new(draft).unwrap());
}

/// Camera looks through the glass, radar does not: only moving binds it.
#[rstest]
#[case::radar_may_not_be_moved_yet("front-radar", "09:09", ReadinessState::ReadyBy(at("09:10")))]
#[case::radar_meanwhile("front-radar", "09:10", ReadinessState::Ready)]
#[case::camera_waits_for_the_cure("front-camera", "09:10", ReadinessState::ReadyBy(at("10:00")))]
#[case::camera_after_the_cure("front-camera", "10:00", ReadinessState::Ready)]
fn the_three_instants_of_the_adhesive_bind_what_they_are_stated_for(
    #[case] task: &str,
    #[case] clock: &str,
    #[case] expected: ReadinessState,
) {
    let mut job = accepted_job(&["windshield-replaced", "front-bumper-removed"]);
    pass(&mut job, "pre-scan", "08:30");
    pass(&mut job, "glass", "09:00");
    set_adhesive(&mut job, "09:00");
    check_readiness(&job, task, clock, expected);
}

#[test]
fn windshield_replaced_after_the_camera_passed_undoes_the_camera_and_bars_the_hand_back() {
    let mut job = accepted_job(&["windshield-replaced"]);
    for (task, clock) in [("pre-scan", "08:30"), ("glass", "09:00"), ("front-camera", "11:00")] {
        pass(&mut job, task, clock);
    }
    pass(&mut job, "road-drive", "11:30");
    assert!(keys(&job, "12:00").is_empty());

    let glass = job.task_mut(&id("glass")).unwrap();
    glass.step(TaskEvent::Undo).unwrap();
    glass.step(TaskEvent::Pull).unwrap();
    let undone = start_undoes(&mut job, "glass", "13:00");

    assert_eq!(undone.tasks, [id("front-camera"), id("road-drive")]);
    let reasons = hand_back_reasons(&job, at("13:30"));
    let camera = reasons.iter().find(|reason| reason.key == "task:front-camera").unwrap();
    assert!(camera.sentence.contains("task glass has undone it"), "{}", camera.sentence);
}

#[rstest]
#[case::its_task_declined(true, "front-camera", ReadinessState::ReadyBy(at("10:00")))]
#[case::its_task_declined_and_another_sensor(true, "front-radar", ReadinessState::Ready)]
#[case::no_task_of_it(false, "front-camera", ReadinessState::ReadyBy(at("10:00")))]
#[case::no_task_says_what_looks_through(false, "front-radar", ReadinessState::ReadyBy(at("10:00")))]
fn glass_that_was_set_outside_cures_too(
    #[case] has_glass_task: bool,
    #[case] task: &str,
    #[case] expected: ReadinessState,
) {
    let mut job = accepted_job(&["windshield-replaced", "front-bumper-removed"]);
    pass(&mut job, "pre-scan", "08:30");
    if has_glass_task {
        job.task_mut(&id("glass")).unwrap().state = TaskState::Declined;
    } else {
        job.tasks.retain(|task| task.kind != TaskKind::Glass);
    }
    set_adhesive(&mut job, "09:00");
    check_readiness(&job, task, "09:45", expected);
}

#[test]
fn undoing_reopens_the_sign_off_of_the_kind_named_and_what_rests_on_it() {
    let mut job = accepted_job(&["windshield-replaced"]);
    let clean = PrerequisiteId::new("glass-clean").unwrap();
    job.prerequisite_mut(&clean).unwrap().sign_off("ada", at("09:00"), "wiped", None);
    pass(&mut job, "front-camera", "09:30");
    let targets = [UndoTarget::Prerequisite(PrerequisiteKind::GlassClean)];
    let undone = undo(&mut job, &targets, None, "outside work", at("10:00"));
    assert_eq!(undone.prerequisites, [clean]);
    assert_eq!(undone.tasks, [id("front-camera")]);
}

#[test]
fn a_preparation_that_was_not_met_is_open_again_with_every_calibration_that_rests_on_it() {
    let mut job = accepted_job(&["windshield-replaced"]);
    let clean = PrerequisiteId::new("glass-clean").unwrap();
    job.prerequisite_mut(&clean).unwrap().sign_off("ada", at("09:00"), "wiped", None);
    pass(&mut job, "front-camera", "09:30");
    let undone = reopen_prerequisite(&mut job, &clean, "a failed preparation", at("10:00"));
    assert_eq!(undone.prerequisites, std::slice::from_ref(&clean));
    assert_eq!(undone.tasks, [id("front-camera")]);

    // Where nobody has signed it off, what was noted of it no longer holds, and nothing is undone.
    job.prerequisite_mut(&clean).unwrap().state = PrerequisiteState::Booked;
    let undone = reopen_prerequisite(&mut job, &clean, "a failed preparation", at("10:00"));
    assert_eq!(undone, Undoing::default());
    assert_eq!(job.prerequisite_mut(&clean).unwrap().state, PrerequisiteState::Open);
}

type Change = fn(&mut Job);

#[rstest]
#[case::calibration_open(|job: &mut Job| { job.task_mut(&id("front-radar")).unwrap().state = TaskState::Open; }, "task:front-radar", true)]
#[case::calibration_declined(|job: &mut Job| { job.task_mut(&id("front-radar")).unwrap().state = TaskState::Declined; }, "task:front-radar", true)]
#[case::calibration_cancelled(|job: &mut Job| { job.task_mut(&id("front-radar")).unwrap().state = TaskState::Cancelled; }, "task:front-radar", true)]
#[case::calibration_failed(|job: &mut Job| { job.task_mut(&id("front-radar")).unwrap().state = TaskState::Failed; }, "task:front-radar", true)]
#[case::proposal_undecided(|job: &mut Job| { job.task_mut(&id("pre-scan")).unwrap().state = TaskState::Proposed; }, "task:pre-scan", true)]
#[case::somebody_works_on_it(|job: &mut Job| { job.task_mut(&id("pre-scan")).unwrap().state = TaskState::Running; }, "task:pre-scan", false)]
#[case::operation_undecided(|job: &mut Job| { job.operations[0].state = OperationState::NeedsDecision; }, "operation:line-front-bumper-removed", true)]
#[case::blocking_code(|job: &mut Job| { job.codes = vec![FoundCode { code: "X1".to_owned(), text: String::new(), blocking: true }]; }, "code:X1", true)]
#[case::adhesive_not_drivable(|job: &mut Job| set_adhesive(job, "11:30"), "adhesive", false)]
#[case::not_here(|job: &mut Job| { job.state = JobState::Expected; }, "vehicle", false)]
#[case::gone_already(|job: &mut Job| { job.state = JobState::HandedBack; }, "vehicle", false)]
fn each_thing_that_stands_against_a_hand_back_is_named(
    #[case] change: Change,
    #[case] key: &str,
    #[case] can_be_excepted: bool,
) {
    let mut job = accepted_job(&["front-bumper-removed"]);
    pass(&mut job, "pre-scan", "08:30");
    pass(&mut job, "front-radar", "09:30");
    assert!(keys(&job, "12:00").is_empty());

    change(&mut job);
    assert_eq!(keys(&job, "12:00"), [key]);

    job.exceptions.push(HandBackException {
        reason_key: key.to_owned(),
        manager: "ada".to_owned(),
        reason: "invented".to_owned(),
        at: at("12:00"),
    });
    assert_eq!(keys(&job, "12:00").is_empty(), can_be_excepted);
}

#[test]
fn a_declined_scan_bars_nothing() {
    let mut job = accepted_job(&["front-bumper-removed"]);
    job.task_mut(&id("pre-scan")).unwrap().state = TaskState::Declined;
    pass(&mut job, "front-radar", "09:30");
    assert!(keys(&job, "12:00").is_empty());
}

#[test]
fn rules_that_run_in_a_circle_are_refused_with_the_circle() {
    let mut draft = definition_draft();
    let mut scan = draft.call_rules[0].parts().clone();
    scan.calls[0].after = vec![after("road-drive", 0)];
    draft.call_rules[0] = CallRule::new(scan).unwrap();
    let faults = ShopDefinition::new(draft).unwrap_err();
    let circle = &faults.list()[0];
    assert_eq!(circle.field, "call_rules");
    assert!(circle.value.contains("road-drive -> pre-scan"), "{}", circle.value);
}

#[test]
fn names_that_do_not_exist_are_all_reported_at_once() {
    let mut draft = definition_draft();
    let mut bumper = draft.call_rules[2].parts().clone();
    bumper.calls[0].procedure = crate::ids::ProcedureId::new("nowhere").unwrap();
    bumper.calls.push(CalledTask { after: vec![after("nothing", 0)], ..called("glass") });
    draft.call_rules[2] = CallRule::new(bumper).unwrap();
    let faults = ShopDefinition::new(draft).unwrap_err();
    let fields: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
    assert_eq!(fields, ["call_rules[2].calls[0].procedure_id", "call_rules[2].calls[1].after"]);
}

fn any_state() -> impl Strategy<Value = TaskState> {
    prop::sample::select(TaskState::ALL.to_vec())
}

proptest! {
    /// More reasons never make a task readier: signing off less never helps.
    #[test]
    fn reopening_a_prerequisite_never_makes_a_task_readier(
        which in 0_usize..3, minutes in 0_i64..600, states in prop::collection::vec(any_state(), 5)
    ) {
        let mut job = accepted_job(&["windshield-replaced", "front-bumper-removed"]);
        for (task, state) in job.tasks.iter_mut().zip(states) {
            task.state = state;
            task.passed_at = (state == TaskState::Passed).then(|| at("08:30"));
        }
        let now = at("08:00") + chrono::TimeDelta::minutes(minutes);
        let before: Vec<_> =
            job.tasks.iter().map(|task| readiness(&job, task, now).state).collect();
        job.prerequisites[which].reopen();
        for (task, before) in job.tasks.iter().zip(before) {
            prop_assert!(readiness(&job, task, now).state >= before);
        }
    }

    /// Undoing one task leaves nothing passed behind it, by order or by gate, and touches passed tasks
    /// only; work in hand is marked, so that it cannot pass.
    #[test]
    fn nothing_stays_passed_behind_what_was_undone(
        which in 0_usize..5, states in prop::collection::vec(any_state(), 5)
    ) {
        let mut job = accepted_job(&["windshield-replaced", "front-bumper-removed"]);
        for (task, state) in job.tasks.iter_mut().zip(states) {
            task.state = state;
        }
        job.tasks[which].state = TaskState::Passed;
        let before = job.clone();
        let target = job.tasks[which].id.clone();
        let targets = [UndoTarget::Tasks(TaskSelector::Task(target.clone()))];
        let undone = undo(&mut job, &targets, None, "test", at("09:00"));
        prop_assert_eq!(job.tasks[which].state, TaskState::Open);
        for (old, new) in before.tasks.iter().zip(&job.tasks) {
            let changed = old.state != new.state;
            prop_assert!(!changed || (old.state, new.state) == (TaskState::Passed, TaskState::Open));
            prop_assert_eq!(undone.tasks.contains(&new.id), changed);
            for (first, _) in tasks_before(&job.tasks, new) {
                let first_undone = undone.tasks.contains(&first.id);
                prop_assert!(!first_undone || new.state != TaskState::Passed, "{}", new.id);
                if first_undone && (new.state.is_held() || new.state == TaskState::Sublet) {
                    prop_assert!(new.undone.is_some());
                }
            }
        }
    }

    /// A hand-back is never allowed while a called calibration has not passed and no manager spoke.
    #[test]
    fn no_hand_back_without_every_called_calibration(states in prop::collection::vec(any_state(), 5)) {
        let mut job = accepted_job(&["windshield-replaced", "front-bumper-removed"]);
        for (task, state) in job.tasks.iter_mut().zip(states) {
            task.state = state;
        }
        let all_passed = job.tasks.iter().filter(|task| task.sensor.is_some())
            .all(|task| task.state == TaskState::Passed);
        let allowed = hand_back_reasons(&job, at("15:00")).is_empty();
        prop_assert!(all_passed || !allowed);
    }
}

#[test]
fn a_new_line_that_calls_for_a_passed_task_makes_it_to_be_done_again() {
    let mut job = accepted_job(&["windshield-replaced"]);
    for (task, clock) in [("pre-scan", "08:30"), ("glass", "09:00"), ("front-camera", "11:00")] {
        pass(&mut job, task, clock);
    }
    let codes = ["windshield-replaced", "front-bumper-removed"];
    let wider =
        take_estimate(Some(&job), &estimate(2, &codes), &definition(), at("12:00")).unwrap();
    assert_eq!(wider.task(&id("front-camera")).unwrap().state, TaskState::Passed);

    // The same work once more, under a line of its own.
    let mut draft = estimate(3, &codes).parts().clone();
    draft.lines.push(EstimateLine {
        id: OperationId::new("line-again").unwrap(),
        code: crate::ids::OperationCode::new("windshield-replaced").unwrap(),
        text: String::new(),
    });
    let again = Estimate::new(draft).unwrap();
    let job = take_estimate(Some(&wider), &again, &definition(), at("12:30")).unwrap();
    assert_eq!(job.task(&id("glass")).unwrap().state, TaskState::Open);
    assert_eq!(job.task(&id("front-camera")).unwrap().state, TaskState::Open);
    assert_eq!(job.task(&id("pre-scan")).unwrap().state, TaskState::Passed);
}

#[test]
fn the_slowest_of_two_glasses_decides_when_the_vehicle_may_be_driven() {
    let mut job = accepted_job(&["windshield-replaced"]);
    for task in ["pre-scan", "glass", "front-camera", "road-drive"] {
        pass(&mut job, task, "09:00");
    }
    set_adhesive(&mut job, "12:00");
    let mut outside = job.adhesives[0].parts().clone();
    outside.task = None;
    outside.set_at = at("08:00");
    job.note_adhesive(Adhesive::new(outside).unwrap());
    assert_eq!(job.drivable_at(), Some(at("13:30")));
    assert_eq!(keys(&job, "13:00"), ["adhesive"]);
    job.forget_adhesive(&id("glass"));
    assert!(keys(&job, "13:00").is_empty());
}

#[test]
fn glass_that_was_given_up_and_never_recorded_bars_the_hand_back() {
    let mut job = accepted_job(&["windshield-replaced"]);
    for task in ["pre-scan", "front-camera", "road-drive"] {
        pass(&mut job, task, "09:00");
    }
    job.task_mut(&id("glass")).unwrap().state = TaskState::Declined;
    assert_eq!(keys(&job, "12:00"), ["task:glass"]);
}
