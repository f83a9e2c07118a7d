//! Sun, daylight and road from the shop file to plan, pull, start and record.
#![cfg(test)]

use super::shop::{SHOP, TestShop, minutes_on, morning, request_id};
use crate::{
    app::App,
    clock::Clock,
    error::ServiceError,
    use_cases::{day, drawings, fits, plans, roads},
};
use baywright_api::{
    time::{instant_from, timestamp},
    v1,
};
use baywright_core::calendar::Window;
use chrono::{DateTime, TimeDelta, Utc};
use prost::Message as _;
use rstest::rstest;

const SUN: &str = include_str!("sun.toml");

async fn shop_with(code: &str) -> TestShop {
    shop_of(SUN, code).await
}

async fn shop_of(sun: &str, code: &str) -> TestShop {
    let position = "time_zone = \"Europe/Lisbon\"\nlatitude_deg = 38.7\nlongitude_deg = -9.14";
    let text = super::shop::DEFINITION.replacen("time_zone = \"Europe/Lisbon\"", position, 1) + sun;
    let shop = TestShop::open_as(&text).await;
    shop.estimate(1, &[code]).await.unwrap();
    shop.decide(true).await.unwrap();
    shop.arrive().await.unwrap();
    shop
}

/// The same shop at another time of the same day.
fn at(shop: &TestShop, instant: DateTime<Utc>) -> TestShop {
    let mut later = shop.about(super::shop::JOB);
    later.app = App::new(shop.app.database.clone(), Clock::beginning_at(instant));
    later
}

async fn sun_of_the_bay(shop: &TestShop, sun_date: &str) -> v1::SunHours {
    let request = v1::ListFitsRequest {
        shop_id: SHOP.to_owned(),
        procedure_id: "camera-static".to_owned(),
        sun_date: sun_date.to_owned(),
        ..v1::ListFitsRequest::default()
    };
    let mut fits = fits::list_fits(&shop.app, request).await.unwrap().fits;
    fits.remove(0).sun.unwrap()
}

fn window(window: &v1::TimeWindow) -> Window {
    let instant = |time: &Option<prost_types::Timestamp>| instant_from(&time.unwrap()).unwrap();
    Window::new(instant(&window.start_time)..instant(&window.end_time)).unwrap()
}

fn lit_through(sun: &v1::SunHours, opening: &str) -> Window {
    let mut lit = sun.sunlit.iter().filter(|lit| lit.daylight_opening_id == opening);
    window(&lit.next().unwrap().windows[0])
}

async fn plan(shop: &TestShop) -> v1::Plan {
    let request = v1::MakePlanRequest {
        shop_id: SHOP.to_owned(),
        request_id: request_id(),
        actor: "desk".to_owned(),
        ..v1::MakePlanRequest::default()
    };
    plans::make_plan(&shop.app, request).await.unwrap().plan.unwrap()
}

fn planned(plan: &v1::Plan, task: &str) -> (Window, Vec<String>) {
    let one = plan.assignments.iter().find(|one| one.task_id == task).unwrap();
    let span = v1::TimeWindow { start_time: one.start_time, end_time: one.end_time };
    (window(&span), one.notes.clone())
}

#[tokio::test]
async fn a_fit_tells_the_sun_free_hours_of_a_date_and_what_they_assume() {
    let shop = shop_with("target-needed").await;
    let sun = sun_of_the_bay(&shop, "").await;
    assert_eq!((sun.state(), sun.date.as_str()), (v1::SunState::Computed, "2026-05-05"));
    // The sun leaves a window that faces east before it stands in the south, at 12:33 UTC
    // (longitude -9.14 degrees, equation of time 3.4 minutes: almanac value from memory).
    let noon = morning() + TimeDelta::minutes(213);
    let (east, west) = (lit_through(&sun, "W2"), lit_through(&sun, "D1"));
    assert!(east.end() < noon && noon < west.start(), "{east} {west}");
    assert_eq!(sun.sunlit[0].reaches, "zone target");
    assert_eq!(
        sun.assumptions,
        ["assumed of W2: the blind is open", "assumed of D1: the door is open"]
    );
    let free: Vec<_> = sun.sun_free.iter().map(window).collect();
    assert!(free.iter().all(|free| free.intersection(east).is_none()));
    let winter = sun_of_the_bay(&shop, "2026-12-21").await;
    assert!(lit_through(&winter, "W2").start() > east.start() + TimeDelta::days(230));
}

async fn nearest(shop: &TestShop) -> Vec<v1::NearestMiss> {
    let request = v1::ListFitsRequest {
        shop_id: SHOP.to_owned(),
        procedure_id: "camera-static".to_owned(),
        with_nearest_misses: true,
        ..v1::ListFitsRequest::default()
    };
    let mut fits = fits::list_fits(&shop.app, request).await.unwrap().fits;
    fits.remove(0).nearest_misses
}

#[tokio::test]
async fn the_blind_that_would_let_the_run_begin_in_the_morning_is_named_and_does_so() {
    let shop = shop_with("target-needed").await;
    let east = lit_through(&sun_of_the_bay(&shop, "").await, "W2");

    let told = nearest(&shop).await;

    // D1 lets the evening sun in, but it has no blind.
    let [miss] = told.as_slice() else { panic!("{told:?}") };
    assert_eq!((miss.change.as_str(), miss.subject.as_str()), ("close-blind", "W2"));
    // The shop opens at 7:30, 6:30 UTC, and the set-up takes 15 minutes; from then on runs may take
    // place that would have to wait for the end of the sun, in whole minutes.
    let first = morning() - TimeDelta::minutes(135);
    assert!(east.start() <= first, "{east}");
    let minutes = (east.end() - first + TimeDelta::seconds(59)).num_minutes();
    #[expect(clippy::cast_precision_loss, reason = "minutes of a day")]
    let expected = minutes as f64;
    assert_eq!((miss.size, miss.unit.as_str()), (Some(expected), "min"));
    assert!(miss.sentence.contains("on daylight opening W2"), "{}", miss.sentence);
    assert!(miss.sentence.contains("on 2026-05-05"), "{}", miss.sentence);
    assert!(miss.pose.is_some());

    // With the blind closed the same work is planned for the morning at once, and nothing is left to close.
    let shut = SUN.replacen("head_mm = 2400", "head_mm = 2400\nblind_closed = true", 1);
    let shut = shop_of(&shut, "target-needed").await;
    let (with, _) = planned(&plan(&shut).await, "camera-static");
    let (without, _) = planned(&plan(&shop).await, "camera-static");
    assert!(with.end() <= east.end() && east.end() < without.end(), "{with} {without} {east}");
    assert_eq!(nearest(&shut).await, []);
}

async fn drawn_at(shop: &TestShop, bay: &str, at: DateTime<Utc>) -> Result<String, ServiceError> {
    let request = v1::DrawPlanRequest {
        shop_id: SHOP.to_owned(),
        bay_id: bay.to_owned(),
        at_time: Some(timestamp(at)),
        ..v1::DrawPlanRequest::default()
    };
    drawings::draw_plan(&shop.app, request).await.map(|response| response.svg)
}

#[rstest]
#[case::in_the_morning("2026-05-05T08:00:00Z", &["sun through W2"], &["sun through D1"])]
#[case::in_the_evening("2026-05-05T17:30:00Z", &["sun through D1"], &["sun through W2"])]
#[case::at_night("2026-05-05T01:00:00Z", &["below the horizon"], &["sun through"])]
#[tokio::test]
async fn the_sun_on_the_floor_is_drawn_for_an_instant(
    #[case] at: &str,
    #[case] shown: &[&str],
    #[case] not_shown: &[&str],
) {
    let shop = shop_with("target-needed").await;
    for bay in ["bay-1", ""] {
        let svg = drawn_at(&shop, bay, at.parse().unwrap()).await.unwrap();
        let local = format!("Sun at 2026-05-05 {:02}:", at[11..13].parse::<u32>().unwrap() + 1);
        let always = [local.as_str(), "assumed of W2: the blind is open"];
        for text in shown.iter().chain(&always) {
            assert!(svg.contains(text), "{text} is not in {svg}");
        }
        for text in not_shown {
            assert!(!svg.contains(text), "{text} is in {svg}");
        }
    }
}

#[tokio::test]
async fn a_sun_that_is_not_computed_is_not_drawn_and_said() {
    let nowhere = TestShop::open_as(&(super::shop::DEFINITION.to_owned() + SUN)).await;
    let svg = drawn_at(&nowhere, "bay-1", morning()).await.unwrap();
    assert!(svg.contains("latitude and longitude are not stated"), "{svg}");
    assert!(!svg.contains("sun through"), "{svg}");
    let refused = drawn_at(&nowhere, "bay-1", "2300-01-01T00:00:00Z".parse().unwrap()).await;
    let ServiceError::InvalidFields(faults) = refused.unwrap_err() else { panic!("no fields") };
    assert_eq!(faults.list()[0].field, "at_time");
}

#[rstest]
#[case::no_date("tomorrow")]
#[case::too_far("2028-01-01")]
#[tokio::test]
async fn a_date_that_is_none_or_too_far_is_refused(#[case] date: &str) {
    let shop = shop_with("target-needed").await;
    let request = v1::ListFitsRequest {
        shop_id: SHOP.to_owned(),
        sun_date: date.to_owned(),
        ..v1::ListFitsRequest::default()
    };
    let refused = fits::list_fits(&shop.app, request).await.unwrap_err();
    let ServiceError::InvalidFields(faults) = refused else { panic!("{refused}") };
    assert_eq!(faults.list()[0].field, "sun_date");
}

#[tokio::test]
async fn work_waits_for_the_sun_to_leave_and_the_record_keeps_what_was_computed() {
    let shop = shop_with("target-needed").await;
    let gone = lit_through(&sun_of_the_bay(&shop, "").await, "W2").end();
    // The morning of the test lies well inside of the sunlit time: else it would prove nothing.
    assert!(gone > morning() + TimeDelta::minutes(15 + 1), "{gone}");

    let plan = plan(&shop).await;
    let (span, notes) = planned(&plan, "camera-static");
    assert!(span.start() + TimeDelta::minutes(15) >= gone, "{span} {gone}");
    assert!(notes[0].starts_with("Run not before "), "{notes:?}");
    assert!(notes[0].ends_with(": direct sun on zone target through W2."), "{notes:?}");

    let refused = shop.pull("ada").await.unwrap_err();
    let ServiceError::NothingReady { looked_at, next } = refused else { panic!("{refused}") };
    assert!(looked_at[0].1.contains("direct sun on zone target through W2"), "{looked_at:?}");
    assert_eq!(next, Some(span.start()), "the plan and the pull agree");

    let later = at(&shop, span.start());
    let held = later.pull("ada").await.unwrap();
    assert_eq!(held.sun.as_ref().unwrap().state(), v1::SunState::Computed);
    let running = later.start(&held).await.unwrap();
    let record = later.finish(&running).await.unwrap();
    let said: Vec<_> = record.statements.iter().filter(|one| one.subject == "sun").collect();
    let computed = |text: &str| {
        let computed = v1::EvidenceSource::Computed;
        said.iter().any(|one| one.sentence.contains(text) && one.source() == computed)
    };
    assert!(computed("direct sun on zone target through W2"), "{said:?}");
    assert!(computed("Assumed of D1: the door is open."), "{said:?}");
}

#[tokio::test]
async fn a_start_into_the_sun_is_refused_with_its_end() {
    let shop = shop_with("target-needed").await;
    let west = lit_through(&sun_of_the_bay(&shop, "").await, "D1");
    let held = at(&shop, morning() + TimeDelta::hours(3)).pull("ada").await.unwrap();

    let evening = at(&shop, west.start() + TimeDelta::minutes(1));
    let refused = evening.start(&held).await.unwrap_err();
    let ServiceError::NotReady { sentences } = refused else { panic!("{refused}") };
    assert!(sentences[0].contains("direct sun on zone target through D1"), "{sentences:?}");
    assert!(sentences[0].contains("the work can start at "), "{sentences:?}");
    assert_eq!(evening.state("camera-static").await, v1::TaskState::Held);

    // What is left of the run must end before the sun comes, also after a pause.
    // Clocks run on: some seconds more, so that five whole minutes are done by the pause.
    let started = at(&shop, west.start() - TimeDelta::minutes(21) - TimeDelta::seconds(10));
    let running = started.start(&held).await.unwrap();
    let paused = at(&shop, west.start() - TimeDelta::minutes(16)).pause(&running).await.unwrap();
    let refused = at(&shop, west.start() - TimeDelta::minutes(10)).resume(&paused).await;
    assert_eq!(refused.unwrap_err().reason(), v1::ErrorReason::NotReady);
    at(&shop, west.start() - TimeDelta::minutes(16)).resume(&paused).await.unwrap();
}

#[tokio::test]
async fn a_bay_whose_openings_are_not_drawn_is_left_to_confirm() {
    let undrawn = SUN
        .lines()
        .filter(|line| {
            !["wall_mm", "sill_mm", "head_mm", "door ="].iter().any(|key| line.starts_with(key))
        })
        .collect::<Vec<_>>()
        .join("\n");
    let shop = TestShop::open_as(&(super::shop::DEFINITION.to_owned() + &undrawn)).await;
    let sun = sun_of_the_bay(&shop, "").await;
    assert_eq!(sun.state(), v1::SunState::NotDrawn);
    assert!(sun.sun_free.is_empty() && sun.sentence.contains("W2, D1"), "{}", sun.sentence);
}

#[tokio::test]
async fn a_shop_without_a_position_computes_no_sun() {
    let shop = TestShop::open_as(&(super::shop::DEFINITION.to_owned() + SUN)).await;
    assert_eq!(sun_of_the_bay(&shop, "").await.state(), v1::SunState::NoPosition);
}

fn entry(condition: v1::RoadCondition, from: i64, until: i64) -> v1::RecordRoadEntryRequest {
    v1::RecordRoadEntryRequest {
        shop_id: SHOP.to_owned(),
        entry: Some(v1::RoadEntry {
            condition: condition.into(),
            from_time: Some(minutes_on(from)),
            until_time: Some(minutes_on(until)),
            reason: "standing water".to_owned(),
            ..v1::RoadEntry::default()
        }),
        request_id: request_id(),
        actor: "ruth".to_owned(),
    }
}

fn withdrawal(number: u32) -> v1::WithdrawRoadEntryRequest {
    v1::WithdrawRoadEntryRequest {
        shop_id: SHOP.to_owned(),
        number,
        request_id: request_id(),
        actor: "ruth".to_owned(),
    }
}

async fn drives(shop: &TestShop, date: &str) -> v1::ListRoadWindowsResponse {
    let request = v1::ListRoadWindowsRequest { shop_id: SHOP.to_owned(), date: date.to_owned() };
    roads::list_road_windows(&shop.app, request).await.unwrap()
}

#[tokio::test]
async fn an_unusable_road_bars_plan_pull_and_windows_until_it_is_withdrawn() {
    let shop = shop_with("drive-needed").await;
    let closed = entry(v1::RoadCondition::Unusable, -30, 120);
    let number = roads::record_road_entry(&shop.app, closed).await.unwrap().entry.unwrap().number;

    let (span, notes) = planned(&plan(&shop).await, "road-drive");
    assert_eq!(span.start(), morning() + TimeDelta::minutes(115), "five minutes of set-up before");
    assert!(
        notes.iter().any(|note| note.contains("the road is unusable: standing water")),
        "{notes:?}"
    );
    assert!(notes.iter().any(|note| note.starts_with("Provisional")), "{notes:?}");
    let refused = shop.pull("ada").await.unwrap_err();
    let ServiceError::NothingReady { looked_at, next } = refused else { panic!("{refused}") };
    assert!(looked_at[0].1.contains("the road is unusable"), "{looked_at:?}");
    assert_eq!(next, Some(span.start()));

    let day = drives(&shop, "").await;
    assert_eq!(day.waiting[0].task_id, "road-drive");
    assert_eq!(day.entries.len(), 1);
    let drive = &day.methods[0];
    let windows: Vec<_> = drive.windows.iter().map(|one| window(&one.window.unwrap())).collect();
    assert_eq!(windows[0].end(), morning() - TimeDelta::minutes(30));
    assert_eq!(windows[1].start(), morning() + TimeDelta::minutes(120));
    assert!(drive.barred.iter().any(|why| why.contains("lower than 6 degrees")), "{drive:?}");

    roads::withdraw_road_entry(&shop.app, withdrawal(number)).await.unwrap();
    let usable = entry(v1::RoadCondition::Usable, -30, 120);
    roads::record_road_entry(&shop.app, usable).await.unwrap();
    let held = shop.pull("ada").await.unwrap();
    assert!(held.road_notes[0].contains("above 6 degrees"), "{:?}", held.road_notes);
    let record = shop.finish(&shop.start(&held).await.unwrap()).await.unwrap();
    let told = record.statements.iter().filter(|one| one.subject == "road");
    let told: Vec<_> = told.filter(|one| one.source() == v1::EvidenceSource::Told).collect();
    assert!(told[0].sentence.contains("by ruth: usable, standing water"), "{told:?}");
}

#[tokio::test]
async fn a_drive_that_was_pulled_in_time_is_not_started_in_the_dusk() {
    let shop = shop_with("drive-needed").await;
    let dusk = window(&drives(&shop, "").await.methods[0].windows[0].window.unwrap()).end();
    let held = at(&shop, dusk - TimeDelta::minutes(40)).pull("ada").await.unwrap();
    let refused = at(&shop, dusk - TimeDelta::minutes(20)).start(&held).await.unwrap_err();
    let ServiceError::NotReady { sentences } = refused else { panic!("{refused}") };
    assert!(sentences[0].contains("the sun stands lower than 6 degrees"), "{sentences:?}");
}

#[tokio::test]
async fn entries_are_kept_once_and_refused_where_they_say_nothing() {
    let shop = shop_with("drive-needed").await;
    let request = entry(v1::RoadCondition::Unusable, 0, 60);
    let first = roads::record_road_entry(&shop.app, request.clone()).await.unwrap();
    let again = roads::record_road_entry(&shop.app, request.clone()).await.unwrap();
    assert_eq!(first.encode_to_vec(), again.encode_to_vec());
    let other = v1::RecordRoadEntryRequest {
        request_id: request.request_id,
        ..entry(v1::RoadCondition::Usable, 0, 60)
    };
    let reused = roads::record_road_entry(&shop.app, other).await.unwrap_err();
    assert_eq!(reused.reason(), v1::ErrorReason::RequestIdReused);

    let listed = async |shop_id: &str| {
        let request = v1::ListRoadEntriesRequest { shop_id: shop_id.to_owned() };
        roads::list_road_entries(&shop.app, request).await
    };
    assert_eq!(listed(SHOP).await.unwrap().entries, [first.entry.clone().unwrap()]);
    assert_eq!(listed("never-opened").await.unwrap_err().reason(), v1::ErrorReason::NotFound);

    let ended = roads::record_road_entry(&shop.app, entry(v1::RoadCondition::Usable, -60, 0)).await;
    let ServiceError::InvalidFields(faults) = ended.unwrap_err() else { panic!("not refused") };
    assert_eq!(faults.list()[0].field, "entry.until_time");
    let absent =
        v1::RecordRoadEntryRequest { entry: None, ..entry(v1::RoadCondition::Usable, 0, 1) };
    let ServiceError::InvalidFields(faults) =
        roads::record_road_entry(&shop.app, absent).await.unwrap_err()
    else {
        panic!("not refused")
    };
    assert_eq!(faults.list()[0].field, "entry");

    let request = withdrawal(1);
    let first = roads::withdraw_road_entry(&shop.app, request.clone()).await.unwrap();
    let again = roads::withdraw_road_entry(&shop.app, request).await.unwrap();
    assert_eq!(first.encode_to_vec(), again.encode_to_vec());
    let twice = roads::withdraw_road_entry(&shop.app, withdrawal(1)).await.unwrap_err();
    assert_eq!(twice.reason(), v1::ErrorReason::IllegalTransition);
    let unknown = roads::withdraw_road_entry(&shop.app, withdrawal(9)).await.unwrap_err();
    assert_eq!(unknown.reason(), v1::ErrorReason::NotFound);
    assert!(listed(SHOP).await.unwrap().entries.is_empty());
}

#[rstest]
#[case::record("RecordRoadEntry")]
#[case::withdraw("WithdrawRoadEntry")]
#[case::windows("ListRoadWindows")]
#[tokio::test]
async fn nothing_is_found_in_a_shop_that_does_not_exist(#[case] method: &str) {
    let shop = shop_with("drive-needed").await;
    let shop_id = "never-opened".to_owned();
    let refused = match method {
        "RecordRoadEntry" => {
            let request =
                v1::RecordRoadEntryRequest { shop_id, ..entry(v1::RoadCondition::Usable, 0, 60) };
            roads::record_road_entry(&shop.app, request).await.map(|_| ())
        }
        "WithdrawRoadEntry" => {
            let request = v1::WithdrawRoadEntryRequest { shop_id, ..withdrawal(1) };
            roads::withdraw_road_entry(&shop.app, request).await.map(|_| ())
        }
        _ => {
            let request = v1::ListRoadWindowsRequest { shop_id, date: String::new() };
            roads::list_road_windows(&shop.app, request).await.map(|_| ())
        }
    };
    assert_eq!(refused.unwrap_err().reason(), v1::ErrorReason::NotFound);
}

#[tokio::test]
async fn the_day_tells_what_changed_since_the_evening_one_item_for_each_thing() {
    let shop = shop_with("drive-needed").await;
    let held = shop.begin("ada").await;
    shop.put_back(&held).await.unwrap();
    let today = async |since: Option<i64>| {
        let request = v1::GetTodayRequest {
            shop_id: SHOP.to_owned(),
            changes_since_time: since.map(minutes_on),
            ..v1::GetTodayRequest::default()
        };
        day::get_today(&shop.app, request).await
    };
    let day = today(None).await.unwrap();
    // Closed on Monday at 17:00 in Lisbon, which keeps summer time: 16:00 UTC.
    let evening: DateTime<Utc> = "2026-05-04T16:00:00Z".parse().unwrap();
    assert_eq!(instant_from(&day.changes_since_time.unwrap()).unwrap(), evening);
    let of = |kind: &str| day.changed.iter().filter(|one| one.kind == kind).collect::<Vec<_>>();
    let [job] = of("job")[..] else { panic!("{:?}", day.changed) };
    assert_eq!((job.thing_id.as_str(), job.change()), ("J-1", v1::ThingChange::Added));
    // Taken, accepted, arrived, pulled, started, put back.
    assert_eq!((job.count, &job.actors[..]), (6, &["ada".to_owned(), "desk".to_owned()][..]));
    assert!(of("holding").is_empty(), "it came and went");
    assert_eq!(of("record").len(), 1);
    assert!(!day.more_changed);
    let numbers: Vec<_> = day.changed.iter().map(|one| one.last_number).collect();
    assert!(numbers.is_sorted_by(|one, other| one > other), "{numbers:?}");

    let ahead = today(Some(10)).await.unwrap_err();
    let ServiceError::InvalidFields(faults) = ahead else { panic!("{ahead}") };
    assert_eq!(faults.list()[0].field, "changes_since_time");
}
