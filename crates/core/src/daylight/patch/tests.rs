//! Where the sun falls: against a ray from each point of the floor towards the sun, and against the
//! times at which the sun reaches a target there.

use super::super::{
    BlindState, DoorState, HorizonProfile, OpeningDraft, OpeningPlace, Site, SiteDraft, SunTarget,
    SunTrack, sun_position, sunlit_windows,
};
use super::*;
use crate::calendar::Window;
use crate::ids::DaylightOpeningId;
use chrono::{DateTime, Duration, Utc};
use proptest::prelude::*;
use rstest::rstest;

const ON_THE_FLOOR_OF: [(f64, f64); 6] =
    [(0.0, 0.0), (9e3, 0.0), (9e3, 6e3), (5e3, 6e3), (5e3, 4e3), (0.0, 4e3)];

fn floor() -> Polygon {
    Polygon::new(&ON_THE_FLOOR_OF).unwrap()
}

/// A window in the wall at x 9000 mm.
fn window_draft() -> OpeningDraft {
    OpeningDraft {
        id: DaylightOpeningId::new("w2").unwrap(),
        place: OpeningPlace::Wall {
            base_mm: [(9e3, 1e3), (9e3, 4e3)],
            sill_mm: 900.0,
            head_mm: 2_400.0,
            outward_normal: (1.0, 0.0),
        },
        blind: BlindState::Open,
        door: None,
        horizon: None,
    }
}

fn skylight_draft() -> OpeningDraft {
    let outline_mm = vec![(3e3, 1e3), (6e3, 1e3), (6e3, 3e3), (4.5e3, 1.5e3), (3e3, 3e3)];
    OpeningDraft { place: OpeningPlace::Roof { outline_mm, height_mm: 3_500.0 }, ..window_draft() }
}

fn site(latitude_deg: f64) -> Site {
    Site::new(SiteDraft::at_sea_level(latitude_deg, 0.0)).unwrap()
}

fn at(minute: i64) -> DateTime<Utc> {
    let midnight: DateTime<Utc> = "2026-05-05T00:00:00Z".parse().unwrap();
    midnight + Duration::minutes(minute)
}

fn sun(latitude_deg: f64, minute: i64) -> SunPosition {
    sun_position(&site(latitude_deg), at(minute)).unwrap()
}

fn bearing(bearing_deg: f64) -> Azimuth {
    Azimuth::from_degrees(bearing_deg).unwrap()
}

fn patches(draft: OpeningDraft, sun: SunPosition, bearing_deg: f64) -> Vec<Polygon> {
    sunlit_floor(sun, bearing(bearing_deg), &Opening::new(draft).unwrap(), &floor())
}

#[test]
fn a_window_in_the_east_throws_its_rectangle_along_the_sun() {
    // Elementary geometry: a corner at height h falls h / tan(elevation) away from the sun.
    let sun = sun(45.0, 9 * 60);
    let found = patches(window_draft(), sun, 0.0);
    let [patch] = found.as_slice() else { panic!("{found:?}") };
    let reach = |height_mm: f64| {
        let away = height_mm / sun.elevation_apparent().degrees().to_radians().tan();
        let (east, north) = sun.azimuth().degrees().to_radians().sin_cos();
        (9e3 - away * east, -away * north)
    };
    let ((sill_x, sill_y), (head_x, head_y)) = (reach(900.0), reach(2_400.0));
    let expected = [
        (sill_x, 1e3 + sill_y),
        (sill_x, 4e3 + sill_y),
        (head_x, 4e3 + head_y),
        (head_x, 1e3 + head_y),
    ];
    for (x, y) in expected {
        let near = |corner: &PointFloor| (corner.x_mm - x).hypot(corner.y_mm - y) < 0.01;
        assert!(patch.vertices().iter().any(near), "{x} {y} {patch:?}");
    }
    assert_eq!(patch.vertices().len(), 4);
}

#[rstest]
#[case::at_night(window_draft(), 0, false)]
#[case::from_the_other_side(window_draft(), 16 * 60, false)]
#[case::in_the_morning(window_draft(), 9 * 60, true)]
#[case::behind_a_closed_blind(OpeningDraft { blind: BlindState::Closed, ..window_draft() }, 9 * 60, false)]
#[case::behind_a_closed_door(
    OpeningDraft { door: Some(DoorState::ClosedOpaque), ..window_draft() }, 9 * 60, false)]
#[case::behind_a_hill(
    OpeningDraft { horizon: Some(HorizonProfile::new(&[(0.0, 80.0), (180.0, 80.0)]).unwrap()),
        ..window_draft() }, 9 * 60, false)]
#[case::over_a_hill(
    OpeningDraft { horizon: Some(HorizonProfile::new(&[(0.0, 10.0), (180.0, 10.0)]).unwrap()),
        ..window_draft() }, 9 * 60, true)]
#[case::through_the_roof(skylight_draft(), 12 * 60, true)]
fn the_sun_falls_in_or_not(#[case] draft: OpeningDraft, #[case] minute: i64, #[case] lit: bool) {
    assert_eq!(!patches(draft, sun(45.0, minute), 0.0).is_empty(), lit);
}

/// Whether the ray from a floor point to the sun passes the opening.
fn ray_passes(draft: &OpeningDraft, sun: SunPosition, bearing_deg: f64, x: f64, y: f64) -> bool {
    let turned = (sun.azimuth().degrees() - bearing_deg).to_radians();
    let up = sun.elevation_apparent().degrees().to_radians();
    let (dx, dy, dz) = (up.cos() * turned.sin(), up.cos() * turned.cos(), up.sin());
    match &draft.place {
        OpeningPlace::Wall { base_mm: [(wall, from), (_, to)], sill_mm, head_mm, .. } => {
            let way = (wall - x) / dx;
            let (beside, height) = (y + way * dy, way * dz);
            dx > 0.0 && (*from..*to).contains(&beside) && (*sill_mm..*head_mm).contains(&height)
        }
        OpeningPlace::Roof { outline_mm, height_mm } => {
            let way = height_mm / dz;
            let point = PointFloor { x_mm: x + way * dx, y_mm: y + way * dy };
            Polygon::new(outline_mm).unwrap().contains(point)
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn a_point_of_the_floor_is_lit_when_its_ray_to_the_sun_passes_the_opening(
        latitude_deg in -65.0_f64..65.0,
        minute in 0_i64..1_440,
        bearing_deg in 0.0_f64..360.0,
        roof in any::<bool>(),
        points in proptest::collection::vec((0.0_f64..9e3, 0.0_f64..6e3), 30),
    ) {
        let draft = if roof { skylight_draft() } else { window_draft() };
        let sun = sun(latitude_deg, minute);
        let found = patches(draft.clone(), sun, bearing_deg);
        if sun.elevation_apparent().degrees() <= 0.0 {
            prop_assert!(found.is_empty());
            return Ok(());
        }
        for (x_mm, y_mm) in points {
            let point = PointFloor { x_mm, y_mm };
            let on_edge = |outline: &Polygon| {
                outline.edge_nearest_to_point(point).distance_mm.abs() < 1.0
            };
            // Within a millimetre of an edge rounding decides.
            if on_edge(&floor()) || found.iter().any(on_edge) {
                continue;
            }
            let lit = found.iter().any(|patch| patch.contains(point));
            let expected = floor().contains(point)
                && ray_passes(&draft, sun, bearing_deg, x_mm, y_mm);
            prop_assert_eq!(lit, expected, "{:?} {:?}", point, found);
        }
    }
}

#[test]
fn a_target_in_the_middle_of_the_patch_is_reached_at_that_time_by_the_hours_too() {
    let track = SunTrack::new(site(45.0), Window::new(at(0)..at(1_440)).unwrap()).unwrap();
    for (draft, minute) in [(window_draft(), 9 * 60), (skylight_draft(), 12 * 60 + 30)] {
        let found = patches(draft.clone(), sun(45.0, minute), 0.0);
        let middle = found[0].middle();
        let square = |x: f64, y: f64| {
            let corners = [(x, y), (x + 10.0, y), (x + 10.0, y + 10.0), (x, y + 10.0)];
            SunTarget::level(&Polygon::new(&corners).unwrap(), 0.0).unwrap()
        };
        let opening = Opening::new(draft).unwrap();
        let hours = |target: &SunTarget| sunlit_windows(&track, bearing(0.0), &opening, target);
        assert!(hours(&square(middle.x_mm, middle.y_mm)).contains(at(minute)));
        assert!(!hours(&square(10.0, 10.0)).contains(at(minute)));
    }
}
