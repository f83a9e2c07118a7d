//! A zone: corners as pairs of texts, `["front-bumper +1500", "centreline -900"]`, and needs.

use crate::reader::{Field, Table};
use crate::toml_text::{Keys, quoted};
use crate::words::Word;
use baywright_api::v1::{
    ClearFloorNeed, LevelNeed, LightNeed, LightPlane, NoDirectSunNeed, NoMetalNeed,
    NothingMovingNeed, PlainBackgroundNeed, XDatum, YDatum, Zone, ZoneNeed, ZoneVertex,
    zone_need::Need,
};
use std::ops::RangeInclusive;

/// Offsets of corners from their datum, millimetres either way.
const OFFSET_MM_MAX: f64 = 50_000.0;
const HEIGHT_MM: RangeInclusive<f64> = 0.0..=10_000.0;
const LUX: RangeInclusive<f64> = 0.0..=200_000.0;
const SPACING_MM: RangeInclusive<f64> = 100.0..=10_000.0;
const KELVIN: RangeInclusive<f64> = 1_000.0..=20_000.0;
const NEEDS: &str = "be one of clear-floor, level, light, no-direct-sun, no-metal, \
    nothing-moving, plain-background";

pub(crate) fn read(table: &Table<'_>) -> Zone {
    table.some_of(
        "corners",
        "give every corner in order, such as [\"front-bumper +1500\", \"centreline -900\"]",
    );
    table.some_of("needs", "say what the zone asks of the bay");
    let outline = table.each("corners", 100, vertex);
    Zone { zone_id: table.id("id"), outline, needs: table.each("needs", 20, need) }
}

pub(crate) fn keys(zone: &Zone) -> Keys {
    let corners: Vec<String> = zone.outline.iter().map(vertex_text).collect();
    let needs: Vec<String> = zone.needs.iter().map(need_text).collect();
    let keys = Keys::default().text("id", &zone.zone_id).list_in_lines("corners", &corners);
    if needs.len() == 1 { keys.list("needs", &needs) } else { keys.list_in_lines("needs", &needs) }
}

pub(super) fn vertex_text(vertex: &ZoneVertex) -> String {
    let x = offset_text::<XDatum>(vertex.x_from, vertex.x_mm);
    let y = offset_text::<YDatum>(vertex.y_from, vertex.y_mm);
    format!("[{}, {}]", quoted(&x), quoted(&y))
}

fn offset_text<D: Word>(datum: i32, mm: f64) -> String {
    let datum = D::word_of(datum);
    if mm == 0.0 { datum } else { format!("{datum} {mm:+}") }
}

fn need_text(need: &ZoneNeed) -> String {
    let named = |word| Keys::default().text("need", word);
    let keys = match &need.need {
        Some(Need::ClearFloor(need)) => named("clear-floor").raw("up_to_mm", need.up_to_mm),
        Some(Need::Level(need)) => named("level")
            .real("slope_max_deg", need.slope_max_deg)
            .raw_if_any("residual_max_mm", need.residual_max_mm)
            .raw_if_any("point_spacing_max_mm", need.point_spacing_max_mm)
            .raw_if_any("compensation_max_mm", need.compensation_max_mm)
            .raw_if_any("conformance_probability", need.conformance_probability),
        Some(Need::Light(need)) => light_keys(named("light"), need),
        Some(Need::NoDirectSun(need)) => named("no-direct-sun").raw("up_to_mm", need.up_to_mm),
        Some(Need::NoMetal(need)) => named("no-metal").raw("up_to_mm", need.up_to_mm),
        Some(Need::NothingMoving(_)) => named("nothing-moving"),
        Some(Need::PlainBackground(_)) => named("plain-background"),
        None => Keys::default(),
    };
    keys.inline()
}

fn light_keys(keys: Keys, need: &LightNeed) -> Keys {
    keys.word::<LightPlane>("plane", need.plane)
        .number_unless_0("height_mm", need.height_mm)
        .raw_if_any("average_min_lux", need.average_min_lux)
        .raw_if_any("average_max_lux", need.average_max_lux)
        .raw_if_any("minimum_lux", need.minimum_lux)
        .raw_if_any("maximum_lux", need.maximum_lux)
        .raw_if_any("uniformity_min", need.uniformity_min)
        .raw_if_any("colour_temperature_min_k", need.colour_temperature_min_k)
        .raw_if_any("colour_temperature_max_k", need.colour_temperature_max_k)
        .raw_if_any("reading_spacing_max_mm", need.reading_spacing_max_mm)
        .raw_if_any("conformance_probability", need.conformance_probability)
}

pub(super) fn vertex(field: &Field<'_>) -> Option<ZoneVertex> {
    let pair = field.list(2);
    let [x, y] = pair.as_slice() else {
        field.refuse(
            "be a corner such as [\"front-bumper +1500\", \"centreline -900\"]",
            "give x and y, each with what it is counted from",
        );
        return None;
    };
    let x = offset::<XDatum>(x);
    let y = offset::<YDatum>(y);
    let ((x_from, x_mm), (y_from, y_mm)) = (x?, y?);
    Some(ZoneVertex { x_from: x_from.into(), x_mm, y_from: y_from.into(), y_mm })
}

/// A datum and millimetres from it: `front-bumper +1500`; without a number, the datum itself.
fn offset<D: Word>(field: &Field<'_>) -> Option<(D, f64)> {
    let text = field.raw_text()?;
    let offset = parse_offset(text);
    if offset.is_none() {
        let datums: Vec<String> = D::all().into_iter().map(Word::word).collect();
        field.refuse(
            format!(
                "be one of {} and millimetres, such as \"{} +1500\"",
                datums.join(", "),
                datums[0]
            ),
            "say what it is counted from, then plus or minus millimetres",
        );
    }
    offset
}

fn parse_offset<D: Word>(text: &str) -> Option<(D, f64)> {
    let (datum, rest) = text.trim().split_once(' ').unwrap_or((text.trim(), ""));
    let datum = D::from_word(datum)?;
    let digits: String = rest.split_whitespace().collect();
    if digits.is_empty() {
        return Some((datum, 0.0));
    }
    let signed = digits.starts_with(['+', '-']);
    let mm: f64 = digits.parse().ok()?;
    (signed && mm.abs() <= OFFSET_MM_MAX).then_some((datum, mm))
}

fn need(field: &Field<'_>) -> Option<ZoneNeed> {
    field.table(|table: &Table<'_>| {
        let word = table.required("need", NEEDS)?;
        let need = match word.raw_text()? {
            "clear-floor" => Need::ClearFloor(ClearFloorNeed { up_to_mm: up_to(table) }),
            "level" => Need::Level(level(table)),
            "light" => Need::Light(light(table)),
            "no-direct-sun" => Need::NoDirectSun(NoDirectSunNeed { up_to_mm: up_to(table) }),
            "no-metal" => Need::NoMetal(NoMetalNeed { up_to_mm: up_to(table) }),
            "nothing-moving" => Need::NothingMoving(NothingMovingNeed {}),
            "plain-background" => Need::PlainBackground(PlainBackgroundNeed {}),
            _ => {
                word.refuse(NEEDS, "use one of these spellings");
                return None;
            }
        };
        Some(ZoneNeed { need: Some(need) })
    })?
}

fn up_to(table: &Table<'_>) -> f64 {
    table.number("up_to_mm", HEIGHT_MM, "mm")
}

fn level(table: &Table<'_>) -> LevelNeed {
    LevelNeed {
        slope_max_deg: table.number("slope_max_deg", 0.001..=45.0, "degrees"),
        residual_max_mm: table.number_if_any("residual_max_mm", HEIGHT_MM, "mm"),
        point_spacing_max_mm: table.number_if_any("point_spacing_max_mm", SPACING_MM, "mm"),
        compensation_max_mm: table.number_if_any("compensation_max_mm", 0.1..=500.0, "mm"),
        conformance_probability: probability(table),
    }
}

fn probability(table: &Table<'_>) -> Option<f64> {
    table.number_if_any("conformance_probability", 0.8..=0.999_9, "(0.95 is usual)")
}

fn light(table: &Table<'_>) -> LightNeed {
    let need = LightNeed {
        plane: table.word::<LightPlane>("plane"),
        height_mm: table.number_if_any("height_mm", HEIGHT_MM, "mm").unwrap_or(0.0),
        average_min_lux: table.number_if_any("average_min_lux", LUX, "lux"),
        average_max_lux: table.number_if_any("average_max_lux", LUX, "lux"),
        minimum_lux: table.number_if_any("minimum_lux", LUX, "lux"),
        maximum_lux: table.number_if_any("maximum_lux", LUX, "lux"),
        uniformity_min: table.number_if_any("uniformity_min", 0.0..=1.0, "(Emin/Eavg)"),
        colour_temperature_min_k: table.number_if_any("colour_temperature_min_k", KELVIN, "K"),
        colour_temperature_max_k: table.number_if_any("colour_temperature_max_k", KELVIN, "K"),
        reading_spacing_max_mm: table.number_if_any("reading_spacing_max_mm", SPACING_MM, "mm"),
        conformance_probability: probability(table),
    };
    if need.colour_temperature_min_k.is_some() != need.colour_temperature_max_k.is_some() {
        table.fault(
            "colour_temperature_min_k",
            "given without its other end",
            "come with colour_temperature_max_k, or both be left out",
            "give both ends of the range",
        );
    }
    need
}
