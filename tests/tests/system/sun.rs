//! A bay with the morning sun: fit, plan, pull and record agree about when its run may take place.

use baywright_api::v1::{self, daylight_opening::Place};
use baywright_tests::system::{
    Caller, SHOP, TestService, at, definition, estimate, new_request_id, refused, time,
};
use prost_types::Timestamp;
use tonic::Code;

/// The tests' shop with one bay, a window in its right-hand wall, and a radar that keeps the sun out.
fn morning_sun() -> v1::ShopDefinition {
    let mut definition = definition();
    let shop = definition.shop.as_mut().unwrap();
    (shop.latitude_deg, shop.longitude_deg, shop.bearing_deg) = (38.7, -9.14, 0.0);
    definition.bays.truncate(1);
    let bay = &mut definition.bays[0];
    let right = bay.outline.iter().map(|corner| corner.x_mm).fold(f64::MIN, f64::max);
    let end = |y_mm| v1::FloorPoint { x_mm: right, y_mm };
    let low = bay.outline.iter().map(|corner| corner.y_mm).fold(f64::MAX, f64::min);
    let high = bay.outline.iter().map(|corner| corner.y_mm).fold(f64::MIN, f64::max);
    bay.daylight_openings = vec![v1::DaylightOpening {
        daylight_opening_id: "W2".to_owned(),
        kind: v1::DaylightOpeningKind::Window.into(),
        place: Some(Place::Wall(v1::WallOpening {
            base: vec![end(low), end(high)],
            sill_mm: 500.0,
            head_mm: 4_000.0,
            outward_normal: None,
        })),
        ..v1::DaylightOpening::default()
    }];
    for procedure in &mut definition.procedures {
        if procedure.procedure_id == "radar" {
            for zone in procedure.methods.iter_mut().flat_map(|method| &mut method.zones) {
                let no_sun = v1::NoDirectSunNeed { up_to_mm: 2_000.0 };
                zone.needs
                    .push(v1::ZoneNeed { need: Some(v1::zone_need::Need::NoDirectSun(no_sun)) });
            }
        }
    }
    definition
}

async fn radar_sun(caller: &Caller) -> v1::SunHours {
    let request = v1::ListFitsRequest {
        shop_id: SHOP.to_owned(),
        procedure_id: "radar".to_owned(),
        ..v1::ListFitsRequest::default()
    };
    let fits = caller.send(request).await.unwrap().fits;
    fits.into_iter().find_map(|fit| fit.sun).unwrap()
}

/// The first whole minute that is not before an instant.
fn minute_up(time: Timestamp) -> i64 {
    (time.seconds + i64::from(time.nanos > 0) + 59).div_euclid(60) * 60
}

#[tokio::test]
async fn a_run_waits_until_the_morning_sun_has_left_the_zone() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(morning_sun()).await;
    caller.bring_in(estimate("J-1", &["bumper-removed"])).await;
    let sun = radar_sun(&caller).await;
    assert_eq!(sun.state(), v1::SunState::Computed, "{sun:?}");
    let lit = sun.sunlit[0].windows[0];
    let (from, until) = (lit.start_time.unwrap(), lit.end_time.unwrap());
    assert!(from.seconds < time(at(0)).seconds && until.seconds > time(at(60)).seconds, "{lit:?}");

    let plan = caller.plan().await.unwrap();
    let radar = plan.assignments.iter().find(|one| one.task_id == "front-radar").unwrap();
    let minutes = morning_sun()
        .procedures
        .iter()
        .find(|one| one.procedure_id == "radar")
        .map(|one| i64::from(one.methods[0].setup_minutes))
        .unwrap();
    let run = radar.start_time.unwrap().seconds + minutes * 60;
    assert!(run >= minute_up(until), "{radar:?}");
    assert!(radar.notes[0].starts_with("Run not before ") && radar.notes[0].contains("W2"));

    // The scan, before it, needs no bay; the radar is refused with what bars it.
    let scan = caller.pull("ben").await.unwrap();
    caller.finish(&caller.begin(&scan).await.unwrap()).await.unwrap();
    let refusal = refused(caller.pull("ana").await, Code::FailedPrecondition, "NOTHING_READY");
    let why = refusal.metadata.get("J-1/front-radar").cloned().unwrap_or_default();
    assert!(why.contains("direct sun on zone") && why.contains("through W2"), "{why}");
}

#[tokio::test]
async fn a_manager_closes_the_road_and_opens_it_again() {
    let service = TestService::start().await;
    let caller = service.caller();
    caller.set_up(morning_sun()).await;
    let request = v1::RecordRoadEntryRequest {
        shop_id: SHOP.to_owned(),
        entry: Some(v1::RoadEntry {
            condition: v1::RoadCondition::Unusable.into(),
            from_time: Some(time(at(0))),
            until_time: Some(time(at(120))),
            reason: "black ice".to_owned(),
            ..v1::RoadEntry::default()
        }),
        request_id: new_request_id(),
        actor: "ruth".to_owned(),
    };
    let entry = caller.send(request.clone()).await.unwrap().entry.unwrap();
    assert_eq!(caller.send(request.clone()).await.unwrap().entry, Some(entry.clone()));
    let windows = v1::ListRoadWindowsRequest { shop_id: SHOP.to_owned(), date: String::new() };
    let day = caller.send(windows.clone()).await.unwrap();
    assert_eq!((day.date.as_str(), day.entries.len()), ("2026-05-05", 1));

    let mut spoilt = request;
    spoilt.request_id = new_request_id();
    spoilt.entry.as_mut().unwrap().until_time = Some(time(at(-1)));
    let refusal = refused(caller.send(spoilt).await, Code::InvalidArgument, "INVALID_FIELDS");
    assert_eq!(refusal.fields, ["entry.until_time"]);

    let withdraw = v1::WithdrawRoadEntryRequest {
        shop_id: SHOP.to_owned(),
        number: entry.number,
        request_id: new_request_id(),
        actor: "ruth".to_owned(),
    };
    caller.send(withdraw).await.unwrap();
    let listed =
        caller.send(v1::ListRoadEntriesRequest { shop_id: SHOP.to_owned() }).await.unwrap();
    assert!(listed.entries.is_empty());
    assert!(caller.send(windows).await.unwrap().entries.is_empty());
}
