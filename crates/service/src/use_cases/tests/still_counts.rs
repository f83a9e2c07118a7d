//! What counted once may count no longer: surveys of a bay that was drawn anew, sign-offs and sheets
//! behind a paused task, bays and roles on later days of a plan.
#![cfg(test)]

use super::shop::{DEFINITION, SHOP, TestShop, minutes_on, morning, request_id, sublet_request};
use crate::{
    app::App,
    clock::Clock,
    use_cases::{fits, plans, shops, sublets, surveys},
};
use baywright_api::v1::{self, ErrorReason, TaskState};
use chrono::TimeDelta;
use rstest::rstest;

const BAY: &str = r#"
[[bay]]
id = "bay-1"
outline_mm = [[0, 0], [14000, 0], [14000, 7000], [0, 7000]]
ceiling_mm = 4500

[[bay.station]]
id = "mark"
x_mm = 4700
y_mm = 3500
heading_deg = 0
"#;

/// The radar in a bay, where its zone is level.
const IN_A_BAY: &str = r#"place = "bay"
roles = ["calibrator"]
run_minutes = 20

[[procedure.method.zone]]
id = "ahead"
corners = [
  ["front-bumper", "left-side"],
  ["front-bumper +2500", "left-side"],
  ["front-bumper +2500", "right-side"],
  ["front-bumper", "right-side"],
]
needs = [{ need = "level", slope_max_deg = 0.5, residual_max_mm = 5 }]

[[call_rule]]
id = "every-job""#;

fn with_a_bay(bay: &str) -> String {
    let anywhere = "place = \"anywhere\"\nroles = [\"calibrator\"]\nrun_minutes = 20\n\n[[procedure]]\nid = \"surround-view\"";
    assert!(DEFINITION.contains(anywhere), "the shop's file has been rearranged");
    let (radar, rest) = IN_A_BAY.split_once("\n\n[[call_rule]]").unwrap();
    assert!(rest.contains("every-job"));
    let in_a_bay = format!("{radar}\n\n[[procedure]]\nid = \"surround-view\"");
    format!("{}{bay}", DEFINITION.replace(anywhere, &in_a_bay))
}

async fn apply(app: &App, definition: &str) {
    let request = v1::ApplyShopRequest {
        definition: Some(baywright_files::shop_file::parse(definition).unwrap()),
        request_id: request_id(),
        actor: "desk".to_owned(),
        ..v1::ApplyShopRequest::default()
    };
    shops::apply_shop(app, request).await.unwrap();
}

/// Level within half a millimetre, measured every half metre.
async fn survey(app: &App, name: &str, valid_until: &str) {
    let across = |at: i32| f64::from(at) * 500.0;
    let heights = (0..=28).flat_map(|x| (0..=14).map(move |y| (x, y)));
    let heights = heights.map(|(x, y)| v1::HeightPoint {
        x_mm: across(x),
        y_mm: across(y),
        height_mm: 0.2 * f64::from((x + y) % 2),
    });
    let request = v1::RecordSurveyRequest {
        shop_id: SHOP.to_owned(),
        survey: Some(v1::Survey {
            bay_id: "bay-1".to_owned(),
            survey_id: name.to_owned(),
            taken_on: "2026-05-01".to_owned(),
            valid_until: valid_until.to_owned(),
            instrument: "level (invented)".to_owned(),
            height_uncertainty_mm: 0.3,
            heights: heights.collect(),
            ..v1::Survey::default()
        }),
        request_id: request_id(),
        actor: "desk".to_owned(),
    };
    surveys::record_survey(app, request).await.unwrap();
}

async fn radar_fits(app: &App) -> (bool, String) {
    let request = v1::ListFitsRequest {
        shop_id: SHOP.to_owned(),
        procedure_id: "front-radar".to_owned(),
        ..v1::ListFitsRequest::default()
    };
    let fits = fits::list_fits(app, request).await.unwrap().fits;
    let (fits, findings) = match fits.into_iter().next().and_then(|fit| fit.verdict).unwrap() {
        v1::fit::Verdict::Fits(placement) => (true, placement.findings),
        v1::fit::Verdict::DoesNotFit(unfit) => (false, unfit.findings),
        v1::fit::Verdict::Undecided(undecided) => (false, undecided.findings),
    };
    let sentences: Vec<_> = findings.iter().map(|one| one.sentence.as_str()).collect();
    (fits, sentences.join(" "))
}

fn later(app: &App, ahead: TimeDelta) -> App {
    App { clock: Clock::beginning_at(morning() + ahead), ..app.clone() }
}

#[tokio::test]
async fn a_survey_decides_nothing_once_the_outline_of_its_bay_has_changed() {
    let shop = TestShop::open().await;
    apply(&shop.app, &with_a_bay(BAY)).await;
    survey(&shop.app, "spring", "2026-11-01").await;
    assert!(radar_fits(&shop.app).await.0);

    // A cabinet moves nothing of the floor; a bay that is drawn longer has other corners to count from.
    let cabinet = "\n[[bay.obstruction]]\nid = \"cabinet\"\noutline_mm = [[13000, 6000], [14000, 6000], \
                   [14000, 7000], [13000, 7000]]\nto_mm = 2000\nmetal = true\n";
    apply(&shop.app, &with_a_bay(&format!("{BAY}{cabinet}"))).await;
    assert!(radar_fits(&shop.app).await.0);
    let longer = BAY.replace("14000", "15000");
    apply(&shop.app, &with_a_bay(&longer)).await;
    let (fits, why) = radar_fits(&shop.app).await;
    assert!(!fits && why.contains("outline has changed since its survey"), "{why}");

    survey(&shop.app, "after-the-works", "2026-11-01").await;
    assert!(radar_fits(&shop.app).await.0);
}

/// The shop closes at 17:00 and the survey counts for the last time today.
#[rstest]
#[case::the_same_day(0, true)]
#[case::in_the_evening_for_tomorrow(7 * 60 + 50, false)]
#[tokio::test]
async fn a_plan_uses_a_bay_only_on_days_on_which_its_survey_counts(
    #[case] minutes: i64,
    #[case] planned: bool,
) {
    let shop = TestShop::open().await;
    apply(&shop.app, &with_a_bay(BAY)).await;
    survey(&shop.app, "spring", "2026-05-06").await;
    shop.estimate(1, &["front-bumper-removed"]).await.unwrap();
    shop.decide(true).await.unwrap();
    shop.arrive().await.unwrap();
    let request = v1::MakePlanRequest {
        shop_id: SHOP.to_owned(),
        days: 2,
        epochs: 1,
        request_id: request_id(),
        actor: "desk".to_owned(),
        ..v1::MakePlanRequest::default()
    };
    let app = later(&shop.app, TimeDelta::minutes(minutes));
    let plan = plans::make_plan(&app, request).await.unwrap().plan.unwrap();
    let radar = plan.assignments.iter().find(|one| one.task_id == "front-radar");
    assert_eq!(radar.is_some(), planned, "{plan:?}");
}

#[tokio::test]
async fn a_paused_task_does_not_go_on_once_its_sheet_has_changed() {
    let shop = TestShop::with(&["front-bumper-removed"]).await;
    let paused = shop.pause(&shop.begin("ada").await).await.unwrap();
    apply(&shop.app, &DEFINITION.replace("Is the cover clean?", "Is the cover clean and dry?"))
        .await;
    let refused = shop.resume(&paused).await.unwrap_err();
    assert_eq!(refused.reason(), ErrorReason::NotReady);
    assert!(refused.to_string().contains("has changed since the pull"), "{refused}");
    assert_eq!(shop.state("front-radar").await, TaskState::Paused);
    // What the refusal asks for works.
    shop.put_back(&paused).await.unwrap();
    shop.begin("ada").await;
}

#[tokio::test]
async fn a_paused_task_does_not_go_on_once_what_was_answered_at_its_start_has_lapsed() {
    let mut shop = TestShop::open().await;
    let lapsing = "asked = \"at-start\"\ncounts_for_minutes = 60";
    apply(&shop.app, &DEFINITION.replace("asked = \"at-start\"", lapsing)).await;
    shop.estimate(1, &["front-bumper-removed"]).await.unwrap();
    shop.decide(true).await.unwrap();
    shop.arrive().await.unwrap();
    let paused = shop.pause(&shop.begin("ada").await).await.unwrap();
    shop.app = later(&shop.app, TimeDelta::minutes(58));
    let resumed = shop.resume(&paused).await.unwrap();
    let paused = shop.pause(&resumed).await.unwrap();
    shop.app = later(&shop.app, TimeDelta::minutes(62));
    let refused = shop.resume(&paused).await.unwrap_err();
    assert!(refused.to_string().contains("no longer counts"), "{refused}");
}

#[rstest]
#[case::its_turn_has_not_come("front-camera", "comes after task glass")]
#[case::its_turn_has_come("glass", "")]
#[tokio::test]
async fn a_task_is_sent_out_only_when_its_turn_has_come(#[case] task: &str, #[case] why: &str) {
    let shop = TestShop::with(&["windshield-replaced"]).await;
    let answer = sublets::sublet_task(&shop.app, sublet_request(task)).await;
    match answer {
        Ok(_) => assert!(why.is_empty()),
        Err(refused) => {
            assert_eq!(refused.reason(), ErrorReason::NotReady);
            assert!(!why.is_empty() && refused.to_string().contains(why), "{refused}");
            assert_eq!(shop.state(task).await, TaskState::Open);
        }
    }
}

/// The radar waits for nothing but the vehicle.
#[tokio::test]
async fn while_a_task_is_out_no_other_task_of_the_vehicle_is_given_and_while_one_is_held_none_goes_out()
 {
    let shop = TestShop::with(&["windshield-replaced", "front-bumper-removed"]).await;
    shop.sublet("glass").await.unwrap();
    let refused = shop.pull("ada").await.unwrap_err();
    assert_eq!(refused.reason(), ErrorReason::NothingReady);
    assert!(format!("{refused:?}").contains("away for task glass"), "{refused:?}");
    let radar = shop.job().await.readiness.into_iter().find(|one| one.task_id == "front-radar");
    assert_eq!(radar.unwrap().ready_time, Some(minutes_on(120)));

    let other = TestShop::with(&["windshield-replaced", "front-bumper-removed"]).await;
    let held = other.pull("ada").await.unwrap();
    let out = if held.task_id == "glass" { "front-radar" } else { "glass" };
    let refused = other.sublet(out).await.unwrap_err();
    assert!(refused.to_string().contains("The vehicle is taken by task"), "{refused}");
}
