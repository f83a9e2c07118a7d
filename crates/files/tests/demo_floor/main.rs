//! The demo shop's floor against the core's own verdict: which bay can host which work.
//!
//! One bay is good for nearly everything, each other one is wanting in some way of its own: the demo is
//! of use only if they differ in what they can host, and if each reason for a refusal shows alone
//! somewhere. All figures of the demo are invented.
#![cfg(test)]

use baywright_core::calendar::Window;
use baywright_core::daylight::SunTrack;
use baywright_core::demand::{Method, WorkPlace};
use baywright_core::fit::{
    Detail, Fit, NeedKind, StationFindings, SunAnswer, Verdict, fit, sun_hours,
};
use baywright_core::ids::{BayId, ProcedureId, VehicleClassId};
use baywright_core::shop::ShopDefinition;
use baywright_core::survey::Survey;
use baywright_files::{shop_file, survey_file};
use chrono::{DateTime, NaiveDate, Utc};
use rstest::rstest;
use std::collections::BTreeSet;
use std::sync::LazyLock;

mod reasons;

const SHOP: &str = include_str!("../../../service/demo/shop.toml");
/// The class that is too long for the demo's bays.
const LONG: &str = "long-van";
/// The class that fits nearly everywhere.
const COMPACT: &str = "compact-hatch";
/// One that is longer between its axles.
const SALOON: &str = "mid-saloon";

/// Surveys by bay; nobody has surveyed bay-8.
const SURVEYS: [(&str, &str); 15] = [
    ("bay-1", include_str!("../../../service/demo/survey-bay-1.csv")),
    ("bay-2", include_str!("../../../service/demo/survey-bay-2.csv")),
    ("bay-3", include_str!("../../../service/demo/survey-bay-3.csv")),
    ("bay-4", include_str!("../../../service/demo/survey-bay-4.csv")),
    ("bay-5", include_str!("../../../service/demo/survey-bay-5.csv")),
    ("bay-6", include_str!("../../../service/demo/survey-bay-6.csv")),
    ("bay-7", include_str!("../../../service/demo/survey-bay-7.csv")),
    ("bay-9", include_str!("../../../service/demo/survey-bay-9.csv")),
    ("bay-10", include_str!("../../../service/demo/survey-bay-10.csv")),
    ("bay-11", include_str!("../../../service/demo/survey-bay-11.csv")),
    ("bay-12", include_str!("../../../service/demo/survey-bay-12.csv")),
    ("bay-13", include_str!("../../../service/demo/survey-bay-13.csv")),
    ("bay-14", include_str!("../../../service/demo/survey-bay-14.csv")),
    ("bay-15", include_str!("../../../service/demo/survey-bay-15.csv")),
    ("bay-16", include_str!("../../../service/demo/survey-bay-16.csv")),
];

/// The shop as the core has it.
static DEMO: LazyLock<ShopDefinition> =
    LazyLock::new(|| (&shop_file::parse(SHOP).unwrap()).try_into().unwrap());

#[rstest]
#[case::camera_in_the_large_bay("front-camera-static", "bay-1", "fits")]
#[case::camera_on_the_slope("front-camera-static", "bay-2", "does not fit: level-slope")]
#[case::front_radar_in_the_large_bay("front-radar-static", "bay-1", "fits")]
#[case::front_radar_on_the_slope("front-radar-static", "bay-2", "fits")]
#[case::front_radar_in_the_short_bay("front-radar-static", "bay-3", "does not fit: clear-floor")]
#[case::rear_radar_in_the_large_bay("rear-corner-radar-static", "bay-1", "fits")]
#[case::rear_radar_on_the_slope("rear-corner-radar-static", "bay-2", "fits")]
#[case::surround_view_in_the_large_bay("surround-view-mats", "bay-1", "fits")]
#[case::alignment_on_the_slope("wheel-alignment", "bay-2", "fits")]
#[case::alignment_in_the_short_bay("wheel-alignment", "bay-3", "does not fit: clear-floor")]
#[case::glass_in_the_short_bay("windshield-glass", "bay-3", "fits")]
#[case::glass_on_the_slope("windshield-glass", "bay-2", "fits")]
#[case::camera_in_the_morning_sun("front-camera-static", "bay-4", "fits")]
#[case::lidar_in_the_morning_sun("lidar-static", "bay-4", "fits")]
#[case::front_radar_under_uneven_light("front-radar-static", "bay-10", "fits")]
#[case::night_vision_on_the_rack("night-vision-static", "bay-9", "fits")]
#[case::alignment_on_the_rack("wheel-alignment", "bay-9", "fits")]
fn a_bay_hosts_what_it_is_meant_to(
    #[case] procedure: &str,
    #[case] bay: &str,
    #[case] expected: &str,
) {
    let classes = DEMO.parts().vehicle_classes.iter().map(|class| class.id().as_str());
    for class in classes.filter(|class| *class != LONG) {
        let got = verdict(procedure, class, bay);
        assert!(got.starts_with(expected), "{procedure}, {class}, {bay}: {got}");
    }
}

#[rstest]
#[case::camera_in_the_large_bay("front-camera-static", "bay-1", "does not fit")]
#[case::camera_on_the_slope("front-camera-static", "bay-2", "does not fit")]
#[case::camera_in_the_short_bay("front-camera-static", "bay-3", "does not fit")]
#[case::front_radar_in_the_large_bay("front-radar-static", "bay-1", "fits")]
#[case::alignment_on_the_slope("wheel-alignment", "bay-2", "fits")]
#[case::glass_in_the_short_bay("windshield-glass", "bay-3", "does not fit: body")]
fn the_longest_class_finds_no_bay_for_its_camera(
    #[case] procedure: &str,
    #[case] bay: &str,
    #[case] expected: &str,
) {
    let got = verdict(procedure, LONG, bay);
    assert!(got.starts_with(expected), "{got}");
}

#[rstest]
#[case::camera_in_the_short_bay("front-camera-static", "bay-3")]
#[case::surround_view_on_the_slope("surround-view-mats", "bay-2")]
#[case::surround_view_in_the_short_bay("surround-view-mats", "bay-3")]
#[case::rear_radar_in_the_short_bay("rear-corner-radar-static", "bay-3")]
fn a_bay_refuses_what_it_cannot_host(#[case] procedure: &str, #[case] bay: &str) {
    for class in DEMO.parts().vehicle_classes.iter().map(|class| class.id().as_str()) {
        let got = verdict(procedure, class, bay);
        assert!(got.starts_with("does not fit: "), "{procedure}, {class}, {bay}: {got}");
    }
}

/// The needs that a fit can refuse, each alone in some bay of the demo.
#[rstest]
#[case::too_long_for_the_bay("windshield-glass", LONG, "bay-3", "body")]
#[case::no_room_ahead("front-radar-static", COMPACT, "bay-3", "clear-floor")]
#[case::storage_in_the_way("front-radar-static", COMPACT, "bay-6", "clear-floor")]
#[case::floor_falls_to_a_drain("front-camera-static", COMPACT, "bay-2", "level-slope")]
#[case::ramp("front-radar-static", COMPACT, "bay-5", "level-slope")]
#[case::trench("lidar-static", COMPACT, "bay-11", "level-residual")]
#[case::dim("windshield-glass", COMPACT, "bay-5", "light-average-min")]
#[case::too_bright("night-vision-static", COMPACT, "bay-1", "light-average-max")]
#[case::dark_side("lidar-static", COMPACT, "bay-10", "light-minimum")]
#[case::lamps_out_on_one_side("front-camera-static", COMPACT, "bay-10", "light-uniformity")]
#[case::cold_lamps("surround-view-mats", COMPACT, "bay-11", "colour-temperature")]
#[case::steel_beam_overhead("front-radar-static", COMPACT, "bay-9", "no-metal")]
#[case::a_bright_spot("front-camera-set-target", SALOON, "bay-10", "light-maximum")]
#[case::no_room_between_the_gauges("ride-height-gauges", COMPACT, "bay-1", "zone-shape")]
fn each_reason_shows_alone_in_some_bay(
    #[case] procedure: &str,
    #[case] class: &str,
    #[case] bay: &str,
    #[case] need: &str,
) {
    let got = verdict(procedure, class, bay);
    assert_eq!(got, format!("does not fit: {need}"));
}

/// What is only asked at the vehicle cannot refuse a fit; every other need is refused alone somewhere.
#[test]
fn no_need_is_left_without_its_bay() {
    let mut alone = BTreeSet::new();
    for (procedure, _) in bay_work() {
        for (class, bay) in
            [COMPACT, SALOON, LONG].iter().flat_map(|class| SURVEYS.map(|(bay, _)| (class, bay)))
        {
            let got = verdict(procedure, class, bay);
            let need = got.strip_prefix("does not fit: ").unwrap_or_default();
            alone.extend(NeedKind::ALL.iter().filter(|kind| kind.as_str() == need).copied());
        }
    }
    // Where a target would have to be set further than its stand reaches, its slope fails too.
    let never_alone = [NeedKind::TargetCompensation];
    let never_refuses = [NeedKind::NoDirectSun, NeedKind::NothingMoving, NeedKind::PlainBackground];
    let missing: Vec<_> = NeedKind::ALL
        .iter()
        .filter(|kind| !alone.contains(*kind))
        .filter(|kind| !never_refuses.contains(kind) && !never_alone.contains(kind))
        .collect();
    assert_eq!(missing, Vec::<&NeedKind>::new());
}

#[rstest]
#[case::never_surveyed("bay-8", Detail::NotSurveyed)]
#[case::expired("bay-7", Detail::SurveyExpired { valid_until: NaiveDate::from_ymd_opt(2026, 4, 28).unwrap() })]
fn a_bay_without_a_survey_that_counts_decides_nothing(#[case] bay: &str, #[case] why: Detail) {
    let Fit::Undecided(stations) = fit_of("front-camera-static", COMPACT, bay) else {
        panic!("{}", verdict("front-camera-static", COMPACT, bay));
    };
    let findings = stations.iter().flat_map(|station| &station.findings);
    let undecided: Vec<_> = findings.filter(|one| one.verdict == Verdict::Undecided).collect();
    assert!(
        !undecided.is_empty() && undecided.iter().all(|one| one.detail == why),
        "{undecided:?}"
    );
}

#[test]
fn the_sun_is_asked_about_where_the_window_looks_east() {
    let Fit::Fits(placement) = fit_of("front-camera-static", COMPACT, "bay-4") else {
        panic!("{}", verdict("front-camera-static", COMPACT, "bay-4"));
    };
    let asked = placement.findings().iter().find(|one| one.need == NeedKind::NoDirectSun).unwrap();
    assert_eq!(asked.verdict, Verdict::ConfirmAtStart);
}

#[test]
fn the_morning_sun_keeps_camera_runs_out_of_the_bay_with_the_east_window() {
    let parts = DEMO.parts();
    let bay = parts.bays.iter().find(|bay| bay.id().as_str() == "bay-4").unwrap();
    let class = parts.vehicle_classes.iter().find(|class| class.id().as_str() == COMPACT).unwrap();
    let camera = ProcedureId::new("front-camera-static").unwrap();
    let method = &DEMO.procedure(&camera).unwrap().methods()[0];
    // The demo's Tuesday in its own time, an hour ahead of UTC in May.
    let at = |text: &str| format!("2026-05-05T{text}:00+01:00").parse::<DateTime<Utc>>().unwrap();
    let day = Window::new(at("00:00")..at("23:59")).unwrap();
    let track = SunTrack::new(parts.shop.sun_site().unwrap(), day).unwrap();
    let bearing = parts.shop.bearing().unwrap();
    for station in bay.stations() {
        let place = (bay, &station.pose);
        let answer = sun_hours(Some(&track), bearing, (method, class), place);
        let SunAnswer::Computed(hours) = answer else { panic!("{answer:?}") };
        let through: Vec<_> = hours.reached.iter().map(|one| one.opening.as_str()).collect();
        assert_eq!(through, ["east-window"], "{}", station.id);
        // The shop opens at 7:00: no camera run then. The sun has left at the latest when it stands behind
        // the wall, which looks to 110 degrees: from azimuth 200 degrees on.
        assert!(!hours.sun_free.contains(at("08:00")), "{} {:?}", station.id, hours.sun_free);
        let afternoon = Window::new(at("14:30")..at("17:30")).unwrap();
        assert!(hours.sun_free.covers(afternoon), "{} {:?}", station.id, hours.sun_free);
    }
}

#[test]
fn light_beyond_the_short_bay_is_told_by_no_reading() {
    // The camera's zones reach out of bay-3: the readings in it do not speak for them, dim as they are.
    let Fit::DoesNotFit(stations) = fit_of("front-camera-static", COMPACT, "bay-3") else {
        panic!("does not fit");
    };
    let findings = || stations.iter().flat_map(|station| &station.findings);
    let light: Vec<_> = findings().filter(|one| one.need == NeedKind::LightAverageMin).collect();
    assert!(!light.is_empty());
    for one in light {
        assert_eq!(one.verdict, Verdict::Undecided, "{one}");
        assert!(one.to_string().contains("from the nearest reading"), "{one}");
    }
}

#[test]
fn every_survey_lies_inside_of_its_bay() {
    for (bay, text) in SURVEYS {
        let bay = DEMO.bay(&BayId::new(bay).unwrap()).unwrap();
        survey_of(bay.id().as_str(), text).check_against(bay).unwrap();
    }
}

/// `fits`, or `does not fit: ` with the needs that fail at the station with the fewest of them.
fn verdict(procedure: &str, class: &str, bay_id: &str) -> String {
    match fit_of(procedure, class, bay_id) {
        Fit::Fits(_) => "fits".to_owned(),
        Fit::DoesNotFit(stations) => format!("does not fit: {}", failing(&stations)),
        Fit::Undecided(stations) => format!("undecided: {}", failing(&stations)),
        Fit::NeedsNoBay => "needs no bay".to_owned(),
    }
}

/// The procedures whose first method is done in a bay, with that method.
fn bay_work() -> impl Iterator<Item = (&'static str, &'static Method)> {
    let first = DEMO.parts().procedures.iter().map(|one| (one.id().as_str(), &one.methods()[0]));
    first.filter(|(_, method)| method.place() == WorkPlace::Bay)
}

/// The verdict on the procedure's first method, on the demo's Tuesday.
fn fit_of(procedure: &str, class: &str, bay_id: &str) -> Fit {
    let method = &DEMO.procedure(&ProcedureId::new(procedure).unwrap()).unwrap().methods()[0];
    let class = DEMO.vehicle_class(&VehicleClassId::new(class).unwrap()).unwrap();
    let bay = DEMO.bay(&BayId::new(bay_id).unwrap()).unwrap();
    let survey = SURVEYS.iter().find(|(bay, _)| *bay == bay_id);
    let survey = survey.map(|(_, text)| survey_of(bay_id, text));
    let day = NaiveDate::from_ymd_opt(2026, 5, 5).unwrap();
    fit(method, class, bay, survey.as_ref(), day)
}

fn survey_of(bay: &str, text: &str) -> Survey {
    (&survey_file::parse(text, bay).unwrap()).try_into().unwrap()
}

/// The needs that fail at the station with the fewest of them; where none fails for certain, those
/// that are undecided. A zone that reaches out of its bay fails for its clear floor, and that the
/// floor beyond was not measured is no further reason; the contract tells it the same way.
fn failing(stations: &[StationFindings]) -> String {
    let needs = |station: &StationFindings| -> Vec<NeedKind> {
        let worst = station.verdict();
        let failing = station.findings.iter().filter(|finding| finding.verdict == worst);
        let mut needs: Vec<_> = failing.map(|finding| finding.need).collect();
        // A zone without a shape may have more than one fault.
        needs.dedup();
        needs
    };
    let fewest = stations.iter().map(needs).min_by_key(Vec::len).unwrap_or_default();
    fewest.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
