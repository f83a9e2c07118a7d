//! Drawings: to scale, complete, and sound as documents. How they look was judged by eye.

use super::*;
use crate::axes::PoseFloorDraft;
use crate::demand::{
    Method, MethodDraft, MethodMinutesDraft, VehicleClass, VehicleClassDraft, WorkPlace, XDatum,
    YDatum, ZoneDraft, ZoneNeed, ZoneVertex,
};
use crate::fit::{room_at, zones_at};
use crate::floor::{
    BayDraft, DaylightOpening, DaylightOpeningKind, DrawnOpening, DrawnPlace, ObstructionDraft,
    Station,
};
use crate::ids::{
    BayId, DaylightOpeningId, MethodId, ObstructionId, StationId, SurveyId, VehicleClassId, ZoneId,
};
use crate::survey::{HeightPoint, SurveyDraft};
use chrono::NaiveDate;

fn today() -> NaiveDate {
    "2026-03-02".parse().unwrap()
}

fn pose(x_mm: f64) -> PoseFloor {
    let draft = PoseFloorDraft { x_mm: x_mm + 4_500.0, y_mm: 3_000.0, heading_deg: 0.0 };
    PoseFloor::new(draft).unwrap()
}

/// 9 by 6 m with a metal column, a beam overhead, a mark and a window.
fn bay(id: &str, x_mm: f64) -> Bay {
    let block = |id: &str, (x, y): (f64, f64), (w, h): (f64, f64), from_mm: f64, metal: bool| {
        let x = x + x_mm;
        ObstructionDraft {
            id: ObstructionId::new(id).unwrap(),
            outline_mm: vec![(x, y), (x + w, y), (x + w, y + h), (x, y + h)],
            from_mm,
            to_mm: 3_000.0,
            metal,
            dates: None,
        }
    };
    let outline = [(0.0, 0.0), (9e3, 0.0), (9e3, 6e3), (0.0, 6e3)];
    Bay::new(BayDraft {
        id: BayId::new(id).unwrap(),
        outline_mm: outline.map(|(x, y)| (x + x_mm, y)).to_vec(),
        ceiling_mm: 3_500.0,
        obstructions: vec![
            block("column-c2", (1e3, 4.6e3), (400.0, 400.0), 0.0, true),
            block("bench", (6e3, 5.3e3), (2e3, 700.0), 0.0, false),
            block("beam", (5.6e3, 0.0), (300.0, 1e3), 2_400.0, true),
        ],
        stations: vec![Station { id: StationId::new("mark-1").unwrap(), pose: pose(x_mm) }],
        daylight_openings: vec![DaylightOpening {
            id: DaylightOpeningId::new("w2").unwrap(),
            kind: DaylightOpeningKind::Window,
            blind: true,
            drawn: None,
        }],
    })
    .unwrap()
}

fn survey() -> Survey {
    let points = (0..=12).flat_map(|i| (0..=8).map(move |j| (f64::from(i), f64::from(j))));
    let height = |(i, j): (f64, f64)| HeightPoint {
        x_mm: i * 750.0,
        y_mm: j * 750.0,
        height_mm: i * 1.1 - j * 0.4,
    };
    Survey::new(SurveyDraft {
        height_errors: crate::survey::HeightErrorsDraft::default(),
        light_conditions: crate::survey::LightConditions::default(),
        id: SurveyId::new("survey-1").unwrap(),
        bay: BayId::new("bay-1").unwrap(),
        taken_on: "2026-01-10".parse().unwrap(),
        valid_until: "2027-01-10".parse().unwrap(),
        instrument: "invented level".to_owned(),
        height_uncertainty_mm: 0.5,
        light_uncertainty_relative: 0.0,
        colour_temperature_k: None,
        datum: String::new(),
        heights: points.map(height).collect(),
        light: Vec::new(),
    })
    .unwrap()
}

fn vehicle() -> VehicleClass {
    VehicleClass::new(VehicleClassDraft {
        id: VehicleClassId::new("saloon").unwrap(),
        length_mm: 4_600.0,
        width_mm: 1_850.0,
        height_mm: 1_450.0,
        wheelbase_mm: 2_700.0,
        front_overhang_mm: 900.0,
        track_mm: 1_560.0,
    })
    .unwrap()
}

fn method() -> Method {
    let zone = |id: &str, from: f64, to: f64, half: f64, needs: Vec<ZoneNeed>| {
        let vertex = |x_mm: f64, y_mm: f64| ZoneVertex {
            x_from: XDatum::FrontBumper,
            x_mm,
            y_from: YDatum::Centreline,
            y_mm,
        };
        let outline =
            vec![vertex(from, -half), vertex(to, -half), vertex(to, half), vertex(from, half)];
        ZoneDraft { id: ZoneId::new(id).unwrap(), outline, needs }
    };
    let clear = ZoneNeed::ClearFloor { up_to_mm: 2_000.0 };
    let level = ZoneNeed::Level {
        slope_max_deg: 0.3,
        residual_max_mm: None,
        terms: crate::demand::LevelTerms::default(),
    };
    Method::new(MethodDraft {
        sun: crate::demand::SunDemand::default(),
        id: MethodId::new("static").unwrap(),
        title: "Static".to_owned(),
        place: WorkPlace::Bay,
        roles: vec![],
        equipment: vec![],
        minutes: MethodMinutesDraft { setup_minutes: 20, run_minutes: 30, teardown_minutes: 10 },
        zones: vec![
            zone("target", 1_000.0, 3_000.0, 1_500.0, vec![clear, ZoneNeed::PlainBackground]),
            zone("floor", -4_600.0, 3_000.0, 900.0, vec![level]),
        ],
    })
    .unwrap()
}

fn drawn(title: &str) -> String {
    let (bay, survey, pose) = (bay("bay-1", 0.0), survey(), pose(0.0));
    let room = room_at(&method(), &vehicle(), (&bay, today()), &pose);
    let zones = zones_at(&method(), &vehicle(), &pose);
    let patch = Polygon::new(&[(6.5e3, 200.0), (8.2e3, 500.0), (8.2e3, 1.4e3), (6.5e3, 1.1e3)]);
    Plan {
        title: title.to_owned(),
        subtitles: vec!["drawn for 2026-03-02".to_owned()],
        bearing_deg: 20.0,
        bays: vec![DrawnBay { bay: &bay, survey: Some(&survey) }],
        standing: Some(Standing { pose: &pose, zones: &zones, room: &room }),
        sunlit: vec![SunlitPatch { outline: patch.unwrap(), through: "w2".to_owned() }],
        notes: vec!["A note.".to_owned()],
    }
    .svg()
}

/// The example's bay with a window in its right wall, shut or not, and a skylight.
fn daylit(shut: bool) -> Bay {
    let drawn = |place: DrawnPlace| DrawnOpening {
        place,
        blind_closed: shut,
        door: None,
        horizon_deg: Vec::new(),
        beyond_bay: false,
    };
    let opening = |id: &str, kind: DaylightOpeningKind, place: DrawnPlace| DaylightOpening {
        id: DaylightOpeningId::new(id).unwrap(),
        kind,
        blind: true,
        drawn: Some(drawn(place)),
    };
    let window = DrawnPlace::Wall {
        base_mm: vec![(9e3, 1e3), (9e3, 4e3)],
        sill_mm: 900.0,
        head_mm: 2_400.0,
        outward: None,
    };
    let outline_mm = vec![(3e3, 2e3), (5e3, 2e3), (5e3, 4e3), (3e3, 4e3)];
    let skylight = DrawnPlace::Roof { outline_mm, height_mm: 3_500.0 };
    Bay::new(BayDraft {
        id: BayId::new("bay-1").unwrap(),
        outline_mm: vec![(0.0, 0.0), (9e3, 0.0), (9e3, 6e3), (0.0, 6e3)],
        ceiling_mm: 3_500.0,
        obstructions: vec![],
        stations: vec![],
        daylight_openings: vec![
            opening("w1", DaylightOpeningKind::Window, window),
            opening("s1", DaylightOpeningKind::Skylight, skylight),
        ],
    })
    .unwrap()
}

#[test]
fn daylight_openings_are_drawn_where_they_are() {
    let svg = |bay: &Bay| {
        let plan = Plan {
            title: "Bay".to_owned(),
            subtitles: vec![],
            bearing_deg: 0.0,
            bays: vec![DrawnBay { bay, survey: None }],
            standing: None,
            sunlit: vec![],
            notes: vec![],
        };
        plan.svg()
    };
    let (open, shut) = (svg(&daylit(false)), svg(&daylit(true)));
    check_document(&open);
    // At 1:50 with 14 mm around: x 9000 mm lies at 194 mm, y 1000 and 4000 mm at 114 and 54 mm.
    let window = "<line x1=\"194.00\" y1=\"114.00\" x2=\"194.00\" y2=\"54.00\" stroke=\"#000\"";
    let white = window.replace("#000", "#fff");
    assert!(open.contains(window) && open.contains(&white), "{open}");
    assert!(shut.contains(window) && !shut.contains(&white), "{shut}");
    // The skylight's lower edge, broken: x 3000 to 5000 mm at y 2000 mm.
    let edge = "<line x1=\"74.00\" y1=\"94.00\" x2=\"114.00\" y2=\"94.00\" stroke=\"#000\" \
                stroke-width=\"0.4\" stroke-dasharray";
    assert!(open.contains(edge), "{open}");
    for name in [">w1<", ">s1<"] {
        assert!(open.contains(name), "{name} is not in {open}");
    }
    assert!(shut.contains(">w1 (shut)<"), "{shut}");
    assert!(open.contains("a double line on the outline"), "{open}");
}

/// Every element that is opened is closed, in order; attributes hold no angle bracket.
#[track_caller]
fn check_document(svg: &str) {
    let mut open: Vec<&str> = Vec::new();
    for tag in svg.split('<').skip(1) {
        let (tag, _) = tag.split_once('>').expect("every tag ends");
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name));
        } else if !tag.ends_with('/') {
            open.push(tag.split(' ').next().unwrap());
        }
    }
    assert!(open.is_empty(), "{open:?}");
}

#[test]
fn a_plan_shows_everything_and_is_a_sound_document() {
    let svg = drawn("Bay bay-1 <\"A\" & B>");
    check_document(&svg);
    assert!(svg.contains("Bay bay-1 &lt;&quot;A&quot; &amp; B&gt;"));
    let expected = [
        "column-c2",
        "0-3000 mm",
        "mark-1",
        "sun through w2",
        "A Zone target: clear floor up to 2000 mm, plain background.",
        "B Zone floor: level within 0.3 degrees.",
        "vehicle, right: 2075 mm to the",
        "tape 1800",
        "floor heights, -3.2 to 13.2 mm",
        "Daylight into bay-1: w2 (window, with a blind).",
        "rotate(-20.00)",
        "A note.",
        "1:50",
    ];
    for text in expected {
        assert!(svg.contains(text), "{text} is not in\n{svg}");
    }
    // Greys only: red, green and blue of every colour are the same.
    for colour in svg.split("\"#").skip(1).filter(|text| !text.starts_with(char::is_uppercase)) {
        let digits = colour.split('"').next().unwrap();
        let step = digits.len() / 3;
        assert_eq!(digits[..step], digits[step..2 * step], "{digits}");
        assert_eq!(digits[..step], digits[2 * step..], "{digits}");
    }
}

#[test]
fn a_long_line_is_wrapped_to_the_sheet() {
    let plan = Plan {
        title: "Bay".to_owned(),
        subtitles: vec!["word ".repeat(100).trim_end().to_owned()],
        bearing_deg: 0.0,
        bays: vec![],
        standing: None,
        sunlit: vec![],
        notes: vec![],
    };
    let svg = plan.svg();
    check_document(&svg);
    let longest = svg.lines().filter(|line| line.contains("word")).map(str::len).max();
    assert!(longest.is_some_and(|longest| longest < 200), "{svg}");
}

#[test]
fn lengths_on_paper_are_to_scale() {
    // 9 by 6 m at 1:50 are 180 by 120 mm; 700 mm, that is 14 mm on paper, lie around.
    let svg = drawn("Bay");
    assert!(
        svg.contains("<polygon points=\"14.00,134.00 194.00,134.00 194.00,14.00 14.00,14.00\"")
    );
    // At x 4500, y 3000 mm the station's cross is 90 + 14 and 60 + 14 mm away from the corner.
    assert!(svg.contains("<line x1=\"102.40\" y1=\"74.00\" x2=\"105.60\" y2=\"74.00\""), "{svg}");
}

#[test]
fn a_whole_floor_names_its_bays_and_an_empty_one_is_a_sheet_of_texts() {
    let bays = [bay("bay-1", 0.0), bay("bay-2", 10e3), bay("bay-3", 20e3)];
    let mut plan = Plan {
        title: "Floor".to_owned(),
        subtitles: vec![],
        bearing_deg: 0.0,
        bays: bays.iter().map(|bay| DrawnBay { bay, survey: None }).collect(),
        standing: None,
        sunlit: vec![],
        notes: vec![],
    };
    let svg = plan.svg();
    check_document(&svg);
    for bay in ["bay-1", "bay-2", "bay-3"] {
        assert!(svg.contains(&format!(">{bay}</text>")), "{bay}");
    }
    // 29 m and 1.4 m around take 1:100 to fit a sheet of 380 mm.
    assert!(svg.contains("1:100"));
    plan.bays.clear();
    check_document(&plan.svg());
}
