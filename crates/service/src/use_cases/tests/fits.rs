//! Fits with room and nearest misses, poses of their own, gain reports, drawings, and which bays are
//! computed again.
#![cfg(test)]

use super::shop::{DEFINITION, SHOP, TestShop, morning, request_id};
use crate::{
    app::App,
    clock::Clock,
    error::ServiceError,
    snapshot::FitKey,
    use_cases::{drawings, fits, gain, surveys},
};
use baywright_api::v1::{self, fit::Verdict};
use baywright_core::ids::{BayId, MethodId, ProcedureId, VehicleClassId};
use chrono::TimeDelta;
use rstest::rstest;
use std::sync::Arc;

/// Two bays of 9 by 6 m. In bay-1 the compact's front bumper stands at x 5380 mm, 3620 mm from the
/// wall; the radar's zone reaches 4000 mm ahead.
fn definition(free_placing: &str) -> String {
    let bays = format!(
        r#"
[[bay]]
id = "bay-1"
outline_mm = [[0, 0], [9000, 0], [9000, 6000], [0, 6000]]
ceiling_mm = 3500
{free_placing}

[[bay.station]]
id = "mark"
x_mm = 4500
y_mm = 3000
heading_deg = 0

[[bay]]
id = "bay-2"
outline_mm = [[0, 7000], [6000, 7000], [6000, 12000], [0, 12000]]
ceiling_mm = 3500

[[bay.station]]
id = "mark"
x_mm = 4500
y_mm = 9500
heading_deg = 0
"#
    );
    let zone = r#"
[[procedure.method.zone]]
id = "ahead"
corners = [
  ["front-bumper", "centreline +1000"],
  ["front-bumper", "centreline -1000"],
  ["front-bumper +4000", "centreline -1000"],
  ["front-bumper +4000", "centreline +1000"],
]
needs = [{ need = "clear-floor", up_to_mm = 2000 }]

[[procedure]]
id = "surround-view""#;
    let (before, after) = DEFINITION.split_once("id = \"front-radar\"\ntitle").unwrap();
    let after = after.replacen("place = \"anywhere\"", "place = \"bay\"", 1);
    let after = after.replacen("[[procedure]]\nid = \"surround-view\"", zone.trim_start(), 1);
    format!("{before}id = \"front-radar\"\ntitle{after}{bays}")
}

async fn shop(free_placing: &str) -> TestShop {
    let shop = TestShop::open().await;
    shop.apply(&definition(free_placing)).await;
    shop
}

async fn list(shop: &TestShop, room: bool, misses: bool) -> Vec<v1::Fit> {
    let request = v1::ListFitsRequest {
        shop_id: SHOP.to_owned(),
        with_room: room,
        with_nearest_misses: misses,
        ..v1::ListFitsRequest::default()
    };
    fits::list_fits(&shop.app, request).await.unwrap().fits
}

fn key(bay: &str) -> FitKey {
    (
        ProcedureId::new("front-radar").unwrap(),
        MethodId::new("usual").unwrap(),
        VehicleClassId::new("compact").unwrap(),
        BayId::new(bay).unwrap(),
    )
}

#[tokio::test]
async fn room_and_nearest_misses_are_told_where_they_are_asked_for() {
    let shop = shop("").await;
    let plain = list(&shop, false, false).await;
    assert!(plain.iter().all(|fit| fit.free_rooms.is_empty() && fit.nearest_misses.is_empty()));

    let told = list(&shop, true, true).await;
    let [one, two] = told.as_slice() else { panic!("{told:?}") };
    assert!(matches!(one.verdict, Some(Verdict::DoesNotFit(_))));
    // 4000 mm ahead and 3420 mm behind the front axle less its overhang: x 3420 to 4120 mm.
    let [room] = one.free_rooms.as_slice() else { panic!("{:?}", one.free_rooms) };
    assert!((room.area_mm2 - 700.0 * 4_000.0).abs() < 10.0, "{}", room.area_mm2);
    let best = room.best.as_ref().unwrap();
    assert_eq!(best.verdict(), v1::FindingVerdict::Conforms);
    assert!(best.room.as_ref().unwrap().tape.is_some());
    let changes: Vec<_> = one.nearest_misses.iter().map(|miss| miss.sentence.as_str()).collect();
    assert_eq!(
        changes,
        [
            "paint a station at x 3770 mm, y 3000 mm, heading 0.0 degrees",
            "gain 380.0 mm of clear floor along the bay's edge from its vertex 1",
        ]
    );
    assert_eq!(one.nearest_misses[1].edge, Some(1));
    // bay-2 is 6 m long: even the most room lacks metres.
    assert!(two.free_rooms.iter().all(|room| room.best.is_none() && room.area_mm2 == 0.0));
}

#[tokio::test]
async fn after_one_survey_only_its_bay_is_computed_again() {
    let shop = shop("").await;
    let now = shop.app.clock.now();
    let before = shop.app.snapshot(SHOP, now).await.unwrap();
    let request = v1::RecordSurveyRequest {
        shop_id: SHOP.to_owned(),
        survey: Some(v1::Survey {
            survey_id: "survey-1".to_owned(),
            bay_id: "bay-2".to_owned(),
            taken_on: "2026-05-04".to_owned(),
            valid_until: "2027-05-04".to_owned(),
            instrument: "invented level".to_owned(),
            height_uncertainty_mm: 0.5,
            datum: "door sill".to_owned(),
            heights: vec![v1::HeightPoint { x_mm: 100.0, y_mm: 8_000.0, height_mm: 1.0 }],
            ..v1::Survey::default()
        }),
        request_id: request_id(),
        actor: "desk".to_owned(),
    };
    surveys::record_survey(&shop.app, request).await.unwrap();
    let after = shop.app.snapshot(SHOP, now).await.unwrap();

    let same = |bay: &str| Arc::ptr_eq(&before.fits()[&key(bay)], &after.fits()[&key(bay)]);
    assert_eq!((same("bay-1"), same("bay-2")), (true, false));
    // A bay that changes is computed again; the other one is not.
    shop.apply(&definition("").replace("[9000, 0], [9000, 6000]", "[9500, 0], [9500, 6000]")).await;
    let grown = shop.app.snapshot(SHOP, now).await.unwrap();
    let same = |bay: &str| Arc::ptr_eq(&after.fits()[&key(bay)], &grown.fits()[&key(bay)]);
    assert_eq!((same("bay-1"), same("bay-2")), (false, true));
    assert!(matches!(grown.fit(&key("bay-1")), Some(baywright_core::fit::Fit::Fits(_))));
}

#[tokio::test]
async fn work_is_pulled_at_a_pose_of_its_own_only_where_the_bay_plans_such_poses() {
    let stations_only = TestShop::open().await;
    stations_only.apply(&definition("")).await;
    let planned = TestShop::open().await;
    planned.apply(&definition("free_placing = { planned = true }")).await;
    for shop in [&stations_only, &planned] {
        shop.estimate(1, &["front-bumper-removed"]).await.unwrap();
        shop.decide(true).await.unwrap();
        shop.arrive().await.unwrap();
    }
    let refused = stations_only.pull("ada").await.unwrap_err();
    assert!(matches!(refused, ServiceError::NoFittingBay { .. }), "{refused:?}");

    let held = planned.begin("ada").await;
    let place = held.place.clone().unwrap();
    assert_eq!((place.bay_id.as_str(), place.station_id.as_str()), ("bay-1", "free_3770_3000_0.0"));
    planned.finish(&held).await.unwrap();
}

#[tokio::test]
async fn a_gain_report_counts_what_is_stated_or_what_came() {
    let shop = shop("").await;
    let request =
        |mix: Vec<v1::WorkAsked>| v1::ReportGainRequest { shop_id: SHOP.to_owned(), mix, weeks: 2 };
    let radar = v1::WorkAsked {
        procedure_id: "front-radar".to_owned(),
        vehicle_class_id: "compact".to_owned(),
        per_week: 3.0,
    };
    let reply = gain::report_gain(&shop.app, request(vec![radar])).await.unwrap();
    let report = reply.report.unwrap();
    assert_eq!((report.in_house_tasks, report.outside_tasks), (0.0, 3.0));
    // What takes the least effort stands first: a mark in bay-1, before metres of floor in bay-2.
    assert_eq!(report.gains[0].bay_id, "bay-1");
    assert_eq!(report.gains[0].change.as_ref().unwrap().change, "paint-station");
    assert!((report.gains[0].tasks_per_week - 3.0).abs() < 1e-9);
    assert!((report.gains[0].hours_per_week - 1.0).abs() < 1e-9);

    // Two tasks came: the scan that is done anywhere, and the radar; one of each in two weeks.
    shop.estimate(1, &["codes-read", "front-bumper-removed"]).await.unwrap();
    shop.decide(true).await.unwrap();
    let later = Clock::beginning_at(morning() + TimeDelta::hours(2));
    let app = App { clock: later, ..shop.app.clone() };
    let report = gain::report_gain(&app, request(vec![])).await.unwrap().report.unwrap();
    assert_eq!((report.in_house_tasks, report.outside_tasks), (0.5, 0.5), "{report:?}");
}

#[tokio::test]
async fn a_gain_report_refuses_what_cannot_be() {
    let shop = shop("").await;
    let wrong = v1::WorkAsked {
        procedure_id: "front-radar".to_owned(),
        vehicle_class_id: "compact".to_owned(),
        per_week: 0.0,
    };
    let cases = [(vec![wrong], 0, "mix[0].per_week"), (vec![], 105, "weeks")];
    for (mix, weeks, field) in cases {
        let request = v1::ReportGainRequest { shop_id: SHOP.to_owned(), mix, weeks };
        let refused = gain::report_gain(&shop.app, request).await.unwrap_err();
        let ServiceError::InvalidFields(faults) = refused else { panic!("{refused:?}") };
        assert_eq!(faults.list()[0].field, field);
    }
}

fn drawing(bay: &str, vehicle: bool, station: &str) -> v1::DrawPlanRequest {
    let name = |name: &str| if vehicle { name.to_owned() } else { String::new() };
    v1::DrawPlanRequest {
        shop_id: SHOP.to_owned(),
        bay_id: bay.to_owned(),
        procedure_id: name("front-radar"),
        method_id: name("usual"),
        vehicle_class_id: name("compact"),
        station_id: station.to_owned(),
        at_time: None,
    }
}

#[rstest]
#[case::the_whole_floor(drawing("", false, ""), &["Floor plan", ">bay-1<", ">bay-2<"])]
#[case::one_bay(drawing("bay-1", false, ""), &["Bay bay-1", "Not surveyed."])]
#[case::where_there_is_room(
    drawing("bay-1", true, ""), &["drawn at a pose with room", "Vehicle: x 3770 mm", "Tape: from"])]
#[case::where_it_does_not_fit(
    drawing("bay-1", true, "mark"), &["does not fit at mark", "Vehicle: x 4500 mm"])]
#[tokio::test]
async fn plans_are_drawn(#[case] request: v1::DrawPlanRequest, #[case] texts: &[&str]) {
    let shop = shop("").await;
    let svg = drawings::draw_plan(&shop.app, request).await.unwrap().svg;
    for text in texts {
        assert!(svg.contains(text), "{text}: {svg}");
    }
}

#[tokio::test]
async fn what_is_not_there_is_not_drawn() {
    let shop = shop("").await;
    for request in [drawing("bay-9", false, ""), drawing("bay-1", true, "no-mark")] {
        let refused = drawings::draw_plan(&shop.app, request).await.unwrap_err();
        assert!(matches!(refused, ServiceError::NotFound { .. }), "{refused:?}");
    }
    let refused = drawings::draw_plan(&shop.app, drawing("", true, "")).await.unwrap_err();
    let ServiceError::InvalidFields(faults) = refused else { panic!("{refused:?}") };
    assert_eq!(faults.list()[0].field, "bay_id");
}
