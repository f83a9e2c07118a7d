//! A daylight opening: what it is, where it is drawn, and how it is assumed to stand.

use super::{FLOOR_MM, HEIGHT_MM, corners, point};
use crate::reader::{Field, Table};
use crate::toml_text::Keys;
use crate::words::Word as _;
use baywright_api::v1::{
    DaylightOpening, DaylightOpeningKind, DoorState, FloorDirection, HorizonPoint, RoofOpening,
    WallOpening, daylight_opening::Place,
};

pub(super) fn read(table: &Table<'_>) -> DaylightOpening {
    let kind = table.word::<DaylightOpeningKind>("kind");
    let door = table.optional("door").and_then(|field| field.word::<DoorState>());
    DaylightOpening {
        daylight_opening_id: table.id("id"),
        kind,
        blind: table.flag_or_no("blind"),
        place: place(table),
        blind_closed: table.flag_or_no("blind_closed"),
        door_state: door.map_or(0, Into::into),
        horizon: table.each("horizon_deg", 360, horizon_point),
        beyond_bay: table.flag_or_no("beyond_bay"),
    }
}

/// `wall_mm` with sill and head, or `roof_mm` with its height; neither where it is not drawn.
fn place(table: &Table<'_>) -> Option<Place> {
    let wall = table.optional("wall_mm");
    let roof = table.optional("roof_mm");
    let figures = Figures {
        sill_mm: table.number_if_any("sill_mm", HEIGHT_MM, "mm"),
        head_mm: table.number_if_any("head_mm", HEIGHT_MM, "mm"),
        height_mm: table.number_if_any("height_mm", HEIGHT_MM, "mm"),
        outward: table.optional("outward").is_some(),
    };
    match (wall, roof) {
        (Some(_), Some(_)) => {
            table.fault(
                "roof_mm",
                "given beside wall_mm",
                "be left out for an opening on a wall",
                "keep the one that holds",
            );
            None
        }
        (Some(wall), None) => Some(Place::Wall(on_wall(table, &wall, &figures))),
        (None, Some(roof)) => Some(Place::Roof(in_roof(table, &roof, &figures))),
        (None, None) => {
            let limit = "come with wall_mm or roof_mm";
            for key in figures.given(&["sill_mm", "head_mm", "height_mm", "outward"]) {
                let remedy = "say where the opening is, or leave this out";
                table.fault(key, "given without a place", limit, remedy);
            }
            None
        }
    }
}

/// What is stated of a place besides its points.
struct Figures {
    sill_mm: Option<f64>,
    head_mm: Option<f64>,
    height_mm: Option<f64>,
    outward: bool,
}

impl Figures {
    /// Those of the keys that are given.
    fn given(&self, keys: &[&'static str]) -> Vec<&'static str> {
        let is_given = |key: &&'static str| match *key {
            "sill_mm" => self.sill_mm.is_some(),
            "head_mm" => self.head_mm.is_some(),
            "height_mm" => self.height_mm.is_some(),
            _ => self.outward,
        };
        keys.iter().copied().filter(is_given).collect()
    }
}

fn on_wall(table: &Table<'_>, wall: &Field<'_>, figures: &Figures) -> WallOpening {
    unused(table, figures.given(&["height_mm"]), "wall_mm");
    if figures.head_mm.is_none() {
        table.fault(
            "head_mm",
            "missing or wrong",
            "be the height of its upper edge in mm",
            "add \"head_mm\" here",
        );
    }
    let base = wall.list(2);
    if base.len() != 2 {
        wall.refuse("be two points such as [[8000, 2000], [8000, 5000]]", "give both ends");
    }
    WallOpening {
        base: base.iter().filter_map(point).collect(),
        sill_mm: figures.sill_mm.unwrap_or_default(),
        head_mm: figures.head_mm.unwrap_or_default(),
        outward_normal: table.optional("outward").and_then(|field| direction(&field)),
    }
}

fn in_roof(table: &Table<'_>, roof: &Field<'_>, figures: &Figures) -> RoofOpening {
    unused(table, figures.given(&["sill_mm", "head_mm", "outward"]), "roof_mm");
    if figures.height_mm.is_none() {
        table.fault(
            "height_mm",
            "missing or wrong",
            "be its height above the floor in mm",
            "add \"height_mm\" here",
        );
    }
    let outline = roof.list(32);
    if outline.len() < 3 {
        roof.refuse("have 3 to 32 corners", "give every corner in order, as [x, y] in mm");
    }
    RoofOpening {
        outline: outline.iter().filter_map(point).collect(),
        height_mm: figures.height_mm.unwrap_or_default(),
    }
}

fn unused(table: &Table<'_>, given: Vec<&str>, place: &str) {
    for key in given {
        let limit = format!("be left out where {place} is given");
        table.fault(key, "given", &limit, "leave it out");
    }
}

fn pair(field: &Field<'_>, limit: &str) -> Option<[f64; 2]> {
    let pair = field.list(2);
    let [one, other] = pair.as_slice() else {
        field.refuse(limit, "give two numbers");
        return None;
    };
    let (one, other) = (one.number(FLOOR_MM, ""), other.number(FLOOR_MM, ""));
    Some([one?, other?])
}

fn direction(field: &Field<'_>) -> Option<FloorDirection> {
    let [x, y] = pair(field, "be a direction such as [1, 0]")?;
    Some(FloorDirection { x, y })
}

fn horizon_point(field: &Field<'_>) -> Option<HorizonPoint> {
    let pair = field.list(2);
    let [azimuth, elevation] = pair.as_slice() else {
        field.refuse("be a point such as [90, 12.5]", "give azimuth and elevation in degrees");
        return None;
    };
    let azimuth = azimuth.number(0.0..=360.0, "degrees from true north");
    let elevation = elevation.number(0.0..=90.0, "degrees");
    Some(HorizonPoint { azimuth_deg: azimuth?, elevation_deg: elevation? })
}

pub(super) fn keys(opening: &DaylightOpening) -> Keys {
    let keys = Keys::default()
        .text("id", &opening.daylight_opening_id)
        .word::<DaylightOpeningKind>("kind", opening.kind)
        .raw("blind", opening.blind);
    let keys = match &opening.place {
        Some(Place::Wall(wall)) => {
            let outward = wall.outward_normal.map(|normal| format!("[{}, {}]", normal.x, normal.y));
            keys.list("wall_mm", &corners(&wall.base))
                .number_unless_0("sill_mm", wall.sill_mm)
                .raw("head_mm", wall.head_mm)
                .raw_if_any("outward", outward)
        }
        Some(Place::Roof(roof)) => {
            keys.list("roof_mm", &corners(&roof.outline)).raw("height_mm", roof.height_mm)
        }
        None => keys,
    };
    let door = DoorState::try_from(opening.door_state).ok();
    let door = door.filter(|state| *state != DoorState::Unspecified).map(DoorState::word);
    let horizon: Vec<String> = opening
        .horizon
        .iter()
        .map(|point| format!("[{}, {}]", point.azimuth_deg, point.elevation_deg))
        .collect();
    let keys = keys
        .raw_if_any("blind_closed", opening.blind_closed.then_some(true))
        .text_if_any("door", &door.unwrap_or_default());
    let keys = if horizon.is_empty() { keys } else { keys.list("horizon_deg", &horizon) };
    keys.raw_if_any("beyond_bay", opening.beyond_bay.then_some(true))
}
