//! The demo shop's floor against the core's own verdict: which bay can host which work.
//!
//! One bay is good for nearly everything, each other one is wanting in some way of its own: the demo is
//! of use only if they differ in what they can host, and if each reason for a refusal shows alone
//! somewhere. All figures of the demo are invented.
#![cfg(test)]

use baywright_api::v1::{self, zone_need::Need};
use baywright_core::axes::{PoseFloor, PoseFloorDraft};
use baywright_core::calendar::Window;
use baywright_core::daylight::SunTrack;
use baywright_core::demand::{
    LevelTerms, LightNeed, LightPlane, LightTerms, Method, MethodDraft, MethodMinutesDraft,
    SunDemand, VehicleClass, VehicleClassDraft, WorkPlace, XDatum, YDatum, ZoneDraft, ZoneNeed,
    ZoneVertex,
};
use baywright_core::fit::{
    Detail, Fit, NeedKind, StationFindings, SunAnswer, Verdict, fit, sun_hours,
};
use baywright_core::floor::{
    Bay, BayDraft, DaylightOpening, DaylightOpeningKind, ObstructionDraft, Station,
};
use baywright_core::ids::{
    BayId, DaylightOpeningId, MethodId, ObstructionId, ProcedureId, RoleId, StationId, SurveyId,
    UnitKindId, VehicleClassId, ZoneId,
};
use baywright_core::shop::ShopDefinition;
use baywright_core::survey::{
    HeightErrorsDraft, HeightPoint, LightConditions, LightReading, Survey, SurveyDraft,
};
use baywright_files::words::Word as _;
use baywright_files::{shop_file, survey_file};
use chrono::{DateTime, NaiveDate, Utc};
use rstest::rstest;
use std::collections::BTreeSet;

const SHOP: &str = include_str!("../../service/demo/shop.toml");
/// The class that is too long for the demo's bays.
const LONG: &str = "long-van";
/// The class that fits nearly everywhere.
const COMPACT: &str = "compact-hatch";

/// Surveys by bay; nobody has surveyed bay-8.
const SURVEYS: [(&str, &str); 10] = [
    ("bay-1", include_str!("../../service/demo/survey-bay-1.csv")),
    ("bay-2", include_str!("../../service/demo/survey-bay-2.csv")),
    ("bay-3", include_str!("../../service/demo/survey-bay-3.csv")),
    ("bay-4", include_str!("../../service/demo/survey-bay-4.csv")),
    ("bay-5", include_str!("../../service/demo/survey-bay-5.csv")),
    ("bay-6", include_str!("../../service/demo/survey-bay-6.csv")),
    ("bay-7", include_str!("../../service/demo/survey-bay-7.csv")),
    ("bay-9", include_str!("../../service/demo/survey-bay-9.csv")),
    ("bay-10", include_str!("../../service/demo/survey-bay-10.csv")),
    ("bay-11", include_str!("../../service/demo/survey-bay-11.csv")),
];

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
    let demo = shop_file::parse(SHOP).unwrap();
    let usual = demo.vehicle_classes.iter().filter(|class| class.vehicle_class_id != LONG);
    for class in usual {
        let got = verdict(&demo, procedure, &class.vehicle_class_id, bay);
        assert!(got.starts_with(expected), "{procedure}, {}, {bay}: {got}", class.vehicle_class_id);
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
    let demo = shop_file::parse(SHOP).unwrap();
    let got = verdict(&demo, procedure, LONG, bay);
    assert!(got.starts_with(expected), "{got}");
}

#[rstest]
#[case::camera_in_the_short_bay("front-camera-static", "bay-3")]
#[case::surround_view_on_the_slope("surround-view-mats", "bay-2")]
#[case::surround_view_in_the_short_bay("surround-view-mats", "bay-3")]
#[case::rear_radar_in_the_short_bay("rear-corner-radar-static", "bay-3")]
fn a_bay_refuses_what_it_cannot_host(#[case] procedure: &str, #[case] bay: &str) {
    let demo = shop_file::parse(SHOP).unwrap();
    for class in &demo.vehicle_classes {
        let got = verdict(&demo, procedure, &class.vehicle_class_id, bay);
        assert!(
            got.starts_with("does not fit: "),
            "{procedure}, {}, {bay}: {got}",
            class.vehicle_class_id
        );
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
fn each_reason_shows_alone_in_some_bay(
    #[case] procedure: &str,
    #[case] class: &str,
    #[case] bay: &str,
    #[case] need: &str,
) {
    let demo = shop_file::parse(SHOP).unwrap();
    let got = verdict(&demo, procedure, class, bay);
    assert_eq!(got, format!("does not fit: {need}"));
}

/// What is only asked at the vehicle cannot refuse a fit, and the demo's zones have a shape for every
/// class; every other need is refused alone somewhere.
#[test]
fn no_need_is_left_without_its_bay() {
    let demo = shop_file::parse(SHOP).unwrap();
    let mut alone = BTreeSet::new();
    for procedure in demo.procedures.iter().filter(|p| p.methods[0].place() == v1::WorkPlace::Bay) {
        for (class, bay) in
            [COMPACT, LONG].iter().flat_map(|class| SURVEYS.map(|(bay, _)| (class, bay)))
        {
            let got = verdict(&demo, &procedure.procedure_id, class, bay);
            let need = got.strip_prefix("does not fit: ").unwrap_or_default();
            alone.extend(NeedKind::ALL.iter().filter(|kind| kind.as_str() == need).copied());
        }
    }
    // The demo's procedures let no target be set and limit no single bright spot; the two needs have
    // their cases in the core's own tests.
    let not_asked = [NeedKind::TargetCompensation, NeedKind::LightMaximum];
    let never_refuses = [
        NeedKind::ZoneShape,
        NeedKind::NoDirectSun,
        NeedKind::NothingMoving,
        NeedKind::PlainBackground,
    ];
    let missing: Vec<_> = NeedKind::ALL
        .iter()
        .filter(|kind| !alone.contains(*kind))
        .filter(|kind| !never_refuses.contains(kind) && !not_asked.contains(kind))
        .collect();
    assert_eq!(missing, Vec::<&NeedKind>::new());
}

#[rstest]
#[case::never_surveyed("bay-8", Detail::NotSurveyed)]
#[case::expired("bay-7", Detail::SurveyExpired { valid_until: NaiveDate::from_ymd_opt(2026, 4, 28).unwrap() })]
fn a_bay_without_a_survey_that_counts_decides_nothing(#[case] bay: &str, #[case] why: Detail) {
    let demo = shop_file::parse(SHOP).unwrap();
    let Fit::Undecided(stations) = fit_of(&demo, "front-camera-static", COMPACT, bay) else {
        panic!("{}", verdict(&demo, "front-camera-static", COMPACT, bay));
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
    let demo = shop_file::parse(SHOP).unwrap();
    let Fit::Fits(placement) = fit_of(&demo, "front-camera-static", COMPACT, "bay-4") else {
        panic!("{}", verdict(&demo, "front-camera-static", COMPACT, "bay-4"));
    };
    let asked = placement.findings().iter().find(|one| one.need == NeedKind::NoDirectSun).unwrap();
    assert_eq!(asked.verdict, Verdict::ConfirmAtStart);
}

#[test]
fn the_morning_sun_keeps_camera_runs_out_of_the_bay_with_the_east_window() {
    let demo = shop_file::parse(SHOP).unwrap();
    let shop = ShopDefinition::try_from(&demo).unwrap();
    let parts = shop.parts();
    let bay = parts.bays.iter().find(|bay| bay.id().as_str() == "bay-4").unwrap();
    let class = parts.vehicle_classes.iter().find(|class| class.id().as_str() == COMPACT).unwrap();
    let camera = ProcedureId::new("front-camera-static").unwrap();
    let method = &shop.procedure(&camera).unwrap().methods()[0];
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
    let demo = shop_file::parse(SHOP).unwrap();
    let Fit::DoesNotFit(stations) = fit_of(&demo, "front-camera-static", COMPACT, "bay-3") else {
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
    let demo = shop_file::parse(SHOP).unwrap();
    for (bay, text) in SURVEYS {
        survey_of(bay, text).check_against(&self::bay(&demo, bay)).unwrap();
    }
}

/// `fits`, or `does not fit: ` with the needs that fail at the station with the fewest of them.
fn verdict(demo: &v1::ShopDefinition, procedure: &str, class: &str, bay_id: &str) -> String {
    match fit_of(demo, procedure, class, bay_id) {
        Fit::Fits(_) => "fits".to_owned(),
        Fit::DoesNotFit(stations) => format!("does not fit: {}", failing(&stations)),
        Fit::Undecided(stations) => format!("undecided: {}", failing(&stations)),
        Fit::NeedsNoBay => "needs no bay".to_owned(),
    }
}

/// The verdict on the procedure's first method, on the demo's Tuesday.
fn fit_of(demo: &v1::ShopDefinition, procedure: &str, class: &str, bay_id: &str) -> Fit {
    let procedure = demo.procedures.iter().find(|p| p.procedure_id == procedure).unwrap();
    let method = method(&procedure.methods[0]);
    let class = demo.vehicle_classes.iter().find(|c| c.vehicle_class_id == class).unwrap();
    let survey = SURVEYS.iter().find(|(bay, _)| *bay == bay_id);
    let survey = survey.map(|(_, text)| survey_of(bay_id, text));
    let day = NaiveDate::from_ymd_opt(2026, 5, 5).unwrap();
    fit(&method, &vehicle_class(class), &bay(demo, bay_id), survey.as_ref(), day)
}

/// The needs that fail at the station with the fewest of them; where none fails for certain, those
/// that are undecided. A zone that reaches out of its bay fails for its clear floor, and that the
/// floor beyond was not measured is no further reason; the contract tells it the same way.
fn failing(stations: &[StationFindings]) -> String {
    let needs = |station: &StationFindings| -> Vec<NeedKind> {
        let worst = station.verdict();
        let failing = station.findings.iter().filter(|finding| finding.verdict == worst);
        failing.map(|finding| finding.need).collect()
    };
    let fewest = stations.iter().map(needs).min_by_key(Vec::len).unwrap_or_default();
    fewest.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

fn bay(demo: &v1::ShopDefinition, bay_id: &str) -> Bay {
    let bay = demo.bays.iter().find(|bay| bay.bay_id == bay_id).unwrap();
    let outline = |points: &[v1::FloorPoint]| points.iter().map(|p| (p.x_mm, p.y_mm)).collect();
    Bay::new(BayDraft {
        id: BayId::new(&bay.bay_id).unwrap(),
        outline_mm: outline(&bay.outline),
        ceiling_mm: bay.ceiling_mm,
        obstructions: bay
            .obstructions
            .iter()
            .map(|one| ObstructionDraft {
                id: ObstructionId::new(&one.obstruction_id).unwrap(),
                outline_mm: outline(&one.outline),
                from_mm: one.from_mm,
                to_mm: one.to_mm,
                metal: one.metal,
                dates: None,
            })
            .collect(),
        stations: bay.stations.iter().map(station).collect(),
        daylight_openings: bay
            .daylight_openings
            .iter()
            .map(|one| DaylightOpening {
                id: DaylightOpeningId::new(&one.daylight_opening_id).unwrap(),
                kind: DaylightOpeningKind::parse(&one.kind().word()).unwrap(),
                blind: one.blind,
                drawn: None,
            })
            .collect(),
    })
    .unwrap()
}

fn station(station: &v1::Station) -> Station {
    let pose = station.pose.unwrap();
    let draft = PoseFloorDraft { x_mm: pose.x_mm, y_mm: pose.y_mm, heading_deg: pose.heading_deg };
    Station {
        id: StationId::new(&station.station_id).unwrap(),
        pose: PoseFloor::new(draft).unwrap(),
    }
}

fn survey_of(bay: &str, text: &str) -> Survey {
    let survey = survey_file::parse(text, bay).unwrap();
    let date = |text: &str| NaiveDate::parse_from_str(text, "%Y-%m-%d").unwrap();
    Survey::new(SurveyDraft {
        id: SurveyId::new(&survey.survey_id).unwrap(),
        bay: BayId::new(bay).unwrap(),
        taken_on: date(&survey.taken_on),
        valid_until: date(&survey.valid_until),
        instrument: survey.instrument.clone(),
        height_uncertainty_mm: survey.height_uncertainty_mm,
        light_uncertainty_relative: survey.light_uncertainty_relative,
        colour_temperature_k: survey.colour_temperature_k,
        datum: survey.datum.clone(),
        height_errors: HeightErrorsDraft::default(),
        light_conditions: LightConditions::default(),
        heights: survey
            .heights
            .iter()
            .map(|p| HeightPoint { x_mm: p.x_mm, y_mm: p.y_mm, height_mm: p.height_mm })
            .collect(),
        light: survey
            .light
            .iter()
            .map(|p| LightReading {
                x_mm: p.x_mm,
                y_mm: p.y_mm,
                height_mm: p.height_mm,
                plane: LightPlane::parse(&p.plane().word()).unwrap(),
                lux: p.lux,
            })
            .collect(),
    })
    .unwrap()
}

fn vehicle_class(class: &v1::VehicleClass) -> VehicleClass {
    VehicleClass::new(VehicleClassDraft {
        id: VehicleClassId::new(&class.vehicle_class_id).unwrap(),
        length_mm: class.length_mm,
        width_mm: class.width_mm,
        height_mm: class.height_mm,
        wheelbase_mm: class.wheelbase_mm,
        front_overhang_mm: class.front_overhang_mm,
        track_mm: class.track_mm,
    })
    .unwrap()
}

fn method(method: &v1::Method) -> Method {
    Method::new(MethodDraft {
        id: MethodId::new(&method.method_id).unwrap(),
        title: method.title.clone(),
        place: WorkPlace::parse(&method.place().word()).unwrap(),
        roles: method.role_ids.iter().map(|role| RoleId::new(role).unwrap()).collect(),
        equipment: method.unit_kind_ids.iter().map(|kind| UnitKindId::new(kind).unwrap()).collect(),
        minutes: MethodMinutesDraft {
            setup_minutes: method.setup_minutes,
            run_minutes: method.run_minutes,
            teardown_minutes: method.teardown_minutes,
        },
        zones: method.zones.iter().map(zone).collect(),
        sun: SunDemand::default(),
    })
    .unwrap()
}

fn zone(zone: &v1::Zone) -> ZoneDraft {
    ZoneDraft {
        id: ZoneId::new(&zone.zone_id).unwrap(),
        outline: zone
            .outline
            .iter()
            .map(|corner| ZoneVertex {
                x_from: XDatum::parse(&corner.x_from().word()).unwrap(),
                x_mm: corner.x_mm,
                y_from: YDatum::parse(&corner.y_from().word()).unwrap(),
                y_mm: corner.y_mm,
            })
            .collect(),
        needs: zone.needs.iter().map(|need| zone_need(need.need.as_ref().unwrap())).collect(),
    }
}

fn zone_need(need: &Need) -> ZoneNeed {
    match need {
        Need::ClearFloor(need) => ZoneNeed::ClearFloor { up_to_mm: need.up_to_mm },
        Need::Level(need) => ZoneNeed::Level {
            slope_max_deg: need.slope_max_deg,
            residual_max_mm: need.residual_max_mm,
            terms: LevelTerms {
                point_spacing_max_mm: need.point_spacing_max_mm,
                compensation_max_mm: need.compensation_max_mm,
                conformance_probability: need.conformance_probability,
            },
        },
        Need::Light(need) => ZoneNeed::Light(LightNeed {
            plane: LightPlane::parse(&need.plane().word()).unwrap(),
            height_mm: need.height_mm,
            average_min_lux: need.average_min_lux,
            average_max_lux: need.average_max_lux,
            minimum_lux: need.minimum_lux,
            maximum_lux: need.maximum_lux,
            uniformity_min: need.uniformity_min,
            colour_temperature_k: need.colour_temperature_min_k.zip(need.colour_temperature_max_k),
            terms: LightTerms {
                reading_spacing_max_mm: need.reading_spacing_max_mm,
                conformance_probability: need.conformance_probability,
            },
        }),
        Need::NoDirectSun(need) => ZoneNeed::NoDirectSun { up_to_mm: need.up_to_mm },
        Need::NoMetal(need) => ZoneNeed::NoMetal { up_to_mm: need.up_to_mm },
        Need::NothingMoving(_) => ZoneNeed::NothingMoving,
        Need::PlainBackground(_) => ZoneNeed::PlainBackground,
    }
}
