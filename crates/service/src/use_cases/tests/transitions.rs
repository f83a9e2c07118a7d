//! Every state with every request that moves a task: it goes where an arrow is drawn, and is refused
//! and unchanged elsewhere.
#![cfg(test)]

use super::shop::TestShop;
use crate::error::ServiceError;
use baywright_api::v1::{ErrorReason, FailureCause, Holding, Outcome, TaskState};
use rstest::rstest;

const TASK: &str = "front-radar";

/// A request that moves a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ask {
    Accept,
    Decline,
    Start,
    Pause,
    Resume,
    PutBack,
    Finish,
    Fail,
    Redo,
    Sublet,
    EndSubletPassed,
    EndSubletFailed,
    Cancel,
}

const ASKS: [Ask; 13] = [
    Ask::Accept,
    Ask::Decline,
    Ask::Start,
    Ask::Pause,
    Ask::Resume,
    Ask::PutBack,
    Ask::Finish,
    Ask::Fail,
    Ask::Redo,
    Ask::Sublet,
    Ask::EndSubletPassed,
    Ask::EndSubletFailed,
    Ask::Cancel,
];

/// The arrows that a request draws. A pull names no task; what undoes and what calls again are other
/// tasks and estimates, tested beside.
const DRAWN: [(TaskState, Ask, TaskState); 18] = [
    (TaskState::Proposed, Ask::Accept, TaskState::Open),
    (TaskState::Proposed, Ask::Decline, TaskState::Declined),
    (TaskState::Proposed, Ask::Cancel, TaskState::Cancelled),
    (TaskState::Open, Ask::Sublet, TaskState::Sublet),
    (TaskState::Open, Ask::Cancel, TaskState::Cancelled),
    (TaskState::Held, Ask::Start, TaskState::Running),
    (TaskState::Held, Ask::PutBack, TaskState::Open),
    (TaskState::Running, Ask::Pause, TaskState::Paused),
    (TaskState::Running, Ask::PutBack, TaskState::Open),
    (TaskState::Running, Ask::Finish, TaskState::Passed),
    (TaskState::Running, Ask::Fail, TaskState::Failed),
    (TaskState::Paused, Ask::Resume, TaskState::Running),
    (TaskState::Paused, Ask::PutBack, TaskState::Open),
    (TaskState::Sublet, Ask::EndSubletPassed, TaskState::Passed),
    (TaskState::Sublet, Ask::EndSubletFailed, TaskState::Failed),
    (TaskState::Sublet, Ask::Cancel, TaskState::Cancelled),
    (TaskState::Failed, Ask::Redo, TaskState::Open),
    (TaskState::Failed, Ask::Cancel, TaskState::Cancelled),
];

/// The shop with the task in this state, and the holding where somebody holds it.
async fn with_task(state: TaskState) -> (TestShop, Holding) {
    let shop = TestShop::open().await;
    shop.estimate(1, &["front-bumper-removed"]).await.unwrap();
    if !matches!(state, TaskState::Proposed | TaskState::Declined) {
        shop.decide(true).await.unwrap();
    }
    shop.arrive().await.unwrap();
    // What a stranger would say who never held it.
    let mut held = Holding {
        job_id: super::shop::JOB.to_owned(),
        task_id: TASK.to_owned(),
        technician_id: "ada".to_owned(),
        fence: 4_711,
        ..Holding::default()
    };
    match state {
        TaskState::Unspecified | TaskState::Proposed | TaskState::Open => {}
        TaskState::Declined => drop(shop.decide(false).await.unwrap()),
        TaskState::Held => held = shop.pull("ada").await.unwrap(),
        TaskState::Running => held = shop.begin("ada").await,
        TaskState::Paused => held = shop.pause(&shop.begin("ada").await).await.unwrap(),
        TaskState::Passed => drop(shop.finish(&shop.begin("ada").await).await.unwrap()),
        TaskState::Failed => {
            drop(shop.fail(&shop.begin("ada").await, FailureCause::Vehicle).await.unwrap());
        }
        TaskState::Sublet => drop(shop.sublet(TASK).await.unwrap()),
        TaskState::Cancelled => drop(shop.cancel_task(TASK).await.unwrap()),
    }
    assert_eq!(shop.state(TASK).await, state);
    (shop, held)
}

async fn ask(shop: &TestShop, held: &Holding, ask: Ask) -> Result<(), ServiceError> {
    match ask {
        Ask::Accept => shop.accept(TASK).await.map(drop),
        Ask::Decline => shop.decide(false).await.map(drop),
        Ask::Start => shop.start(held).await.map(drop),
        Ask::Pause => shop.pause(held).await.map(drop),
        Ask::Resume => shop.resume(held).await.map(drop),
        Ask::PutBack => shop.put_back(held).await.map(drop),
        Ask::Finish => shop.finish(held).await.map(drop),
        Ask::Fail => shop.fail(held, FailureCause::Vehicle).await.map(drop),
        Ask::Redo => shop.redo(TASK).await.map(drop),
        Ask::Sublet => shop.sublet(TASK).await.map(drop),
        Ask::EndSubletPassed => shop.end_sublet(TASK, Outcome::Passed).await.map(drop),
        Ask::EndSubletFailed => shop.end_sublet(TASK, Outcome::Failed).await.map(drop),
        Ask::Cancel => shop.cancel_task(TASK).await.map(drop),
    }
}

/// What only the holder may ask; whoever holds nothing is told that first, whatever the state.
const fn is_the_holders(ask: Ask) -> bool {
    matches!(ask, Ask::Start | Ask::Pause | Ask::Resume | Ask::PutBack | Ask::Finish | Ask::Fail)
}

#[rstest]
#[tokio::test]
async fn a_task_goes_where_an_arrow_is_drawn_and_is_refused_elsewhere(
    #[values(
        TaskState::Proposed,
        TaskState::Open,
        TaskState::Held,
        TaskState::Running,
        TaskState::Paused,
        TaskState::Sublet,
        TaskState::Passed,
        TaskState::Failed,
        TaskState::Declined,
        TaskState::Cancelled
    )]
    state: TaskState,
) {
    let is_held = matches!(state, TaskState::Held | TaskState::Running | TaskState::Paused);
    let (shop, held) = with_task(state).await;
    for wanted in ASKS {
        let drawn = DRAWN.iter().find(|(from, by, _)| (*from, *by) == (state, wanted));
        if let Some((_, _, to)) = drawn {
            let (shop, held) = with_task(state).await;
            ask(&shop, &held, wanted).await.unwrap();
            assert_eq!(shop.state(TASK).await, *to, "{state:?} {wanted:?}");
            continue;
        }
        let expected = if is_the_holders(wanted) && !is_held {
            ErrorReason::NotHolder
        } else {
            ErrorReason::IllegalTransition
        };
        let refused = ask(&shop, &held, wanted).await.unwrap_err();
        assert_eq!(refused.reason(), expected, "{state:?} {wanted:?}: {refused}");
        assert_eq!(shop.state(TASK).await, state, "{wanted:?}");
    }
}

/// A pull gives what is open and nothing else.
#[rstest]
#[case::proposed(TaskState::Proposed)]
#[case::sublet(TaskState::Sublet)]
#[case::passed(TaskState::Passed)]
#[case::failed(TaskState::Failed)]
#[case::declined(TaskState::Declined)]
#[case::cancelled(TaskState::Cancelled)]
#[case::held(TaskState::Held)]
#[case::paused(TaskState::Paused)]
#[tokio::test]
async fn a_pull_never_gives_a_task_that_is_not_open(#[case] state: TaskState) {
    let (shop, _) = with_task(state).await;
    let refused = shop.pull("bo").await.unwrap_err();
    assert_eq!(refused.reason(), ErrorReason::NothingReady);
    assert_eq!(shop.state(TASK).await, state);
}

#[tokio::test]
async fn a_declined_task_that_a_supplement_calls_again_is_proposed_and_a_cancelled_one_stays() {
    let (shop, _) = with_task(TaskState::Declined).await;
    shop.estimate(2, &["front-bumper-removed"]).await.unwrap();
    assert_eq!(shop.state(TASK).await, TaskState::Proposed);

    shop.cancel_task(TASK).await.unwrap();
    shop.estimate(3, &["front-bumper-removed"]).await.unwrap();
    assert_eq!(shop.state(TASK).await, TaskState::Cancelled);
}
