//! The shop itself: where it is, its hours, its spots and what the planner weighs.

use crate::hours::{parse_spans, spans_text};
use crate::reader::{Field, Table};
use crate::toml_text::{Keys, TomlText, quoted};
use baywright_api::v1::{HoursException, LocalSpan, PlanWeights, Shop, Spot, WeeklyHours};

/// The largest price of the planner.
const WEIGHT_MAX: u32 = 1_000_000;

pub(crate) fn read(table: &Table<'_>) -> Shop {
    Shop {
        shop_id: table.id("id"),
        title: table.text("title"),
        time_zone: table.text("time_zone"),
        latitude_deg: table.number_if_any("latitude_deg", -90.0..=90.0, "degrees").unwrap_or(0.0),
        longitude_deg: table
            .number_if_any("longitude_deg", -180.0..=180.0, "degrees")
            .unwrap_or(0.0),
        bearing_deg: table.number_if_any("bearing_deg", 0.0..=360.0, "degrees").unwrap_or(0.0),
        hours: table.nested("hours", week),
        exceptions: exceptions(table),
        spots: table.tables("spot", 1_000, spot),
        weights: table.optional("weights").and_then(|field| field.table(weights)),
        elevation_m: table.number_if_any("elevation_m", -500.0..=9_000.0, "m"),
        pressure_mbar: table.number_if_any("pressure_mbar", 0.0..=1_100.0, "mbar"),
        temperature_c: table.number_if_any("temperature_c", -90.0..=60.0, "degrees Celsius"),
        delta_t_s: table.number_if_any("delta_t_s", -100.0..=1_000.0, "s"),
    }
}

pub(crate) fn write(file: &mut TomlText, shop: &Shop) {
    let keys = Keys::default()
        .text("id", &shop.shop_id)
        .text("title", &shop.title)
        .text("time_zone", &shop.time_zone)
        .real("latitude_deg", shop.latitude_deg)
        .real("longitude_deg", shop.longitude_deg)
        .real("bearing_deg", shop.bearing_deg)
        .raw_if_any("elevation_m", shop.elevation_m)
        .raw_if_any("pressure_mbar", shop.pressure_mbar)
        .raw_if_any("temperature_c", shop.temperature_c)
        .raw_if_any("delta_t_s", shop.delta_t_s);
    file.table("shop", keys);
    if let Some(hours) = &shop.hours {
        file.table("shop.hours", week_keys(hours));
    }
    write_exceptions(file, "shop.exception", &shop.exceptions);
    for spot in &shop.spots {
        let keys = Keys::default().text("id", &spot.spot_id).raw("capacity", spot.capacity);
        file.item("shop.spot", keys);
    }
    if let Some(weights) = &shop.weights {
        file.table("shop.weights", weights_keys(weights));
    }
}

fn weights_keys(weights: &PlanWeights) -> Keys {
    Keys::default()
        .raw_if_any("lateness", weights.lateness)
        .raw_if_any("finish", weights.finish)
        .raw_if_any("move", weights.r#move)
        .raw_if_any("change", weights.change)
        .raw_if_any("move_minutes", weights.move_minutes)
}

fn spot(table: &Table<'_>) -> Spot {
    Spot { spot_id: table.id("id"), capacity: table.whole("capacity", 1..=1_000) }
}

/// Weights that the file leaves out get the service's usual ones.
fn weights(table: &Table<'_>) -> PlanWeights {
    let weight = |key| table.whole_if_any(key, 0..=WEIGHT_MAX);
    PlanWeights {
        lateness: weight("lateness"),
        finish: weight("finish"),
        r#move: weight("move"),
        change: weight("change"),
        move_minutes: table.whole_if_any("move_minutes", 0..=1_440),
    }
}

/// The hours of a usual week: `weekdays` is Monday to Friday, `every_day` all seven; a day by
/// its own name goes before both. A day that is not named is closed.
pub(crate) fn week(table: &Table<'_>) -> WeeklyHours {
    let of = |key: &'static str| table.optional(key).map(|field| spans(&field).unwrap_or_default());
    let every_day = of("every_day").unwrap_or_default();
    let weekdays = of("weekdays").unwrap_or_else(|| every_day.clone());
    let weekday = |key| of(key).unwrap_or_else(|| weekdays.clone());
    WeeklyHours {
        monday: weekday("monday"),
        tuesday: weekday("tuesday"),
        wednesday: weekday("wednesday"),
        thursday: weekday("thursday"),
        friday: weekday("friday"),
        saturday: of("saturday").unwrap_or_else(|| every_day.clone()),
        sunday: of("sunday").unwrap_or_else(|| every_day.clone()),
    }
}

/// The hours of a usual week in the fewest lines that a person would write.
pub(crate) fn week_keys(week: &WeeklyHours) -> Keys {
    let monday_to_friday = [
        ("monday", &week.monday),
        ("tuesday", &week.tuesday),
        ("wednesday", &week.wednesday),
        ("thursday", &week.thursday),
        ("friday", &week.friday),
    ];
    let weekend = [("saturday", &week.saturday), ("sunday", &week.sunday)];
    let as_monday = |(_, spans): &(_, &Vec<LocalSpan>)| **spans == week.monday;
    let open = |(_, spans): &(_, &Vec<LocalSpan>)| !spans.is_empty();
    let weekdays_alike = monday_to_friday.iter().all(as_monday);
    if weekdays_alike && weekend.iter().all(as_monday) {
        return Keys::default().text("every_day", &spans_text(&week.monday));
    }
    let weekdays = [("weekdays", &week.monday)];
    let first = if weekdays_alike { &weekdays[..] } else { &monday_to_friday[..] };
    // A day that is not named is closed.
    let named = first.iter().chain(&weekend).copied().filter(open);
    named.fold(Keys::default(), |keys, (key, spans)| keys.text(key, &spans_text(spans)))
}

/// Dates with other hours, each as a table of that name.
pub(crate) fn write_exceptions(file: &mut TomlText, name: &str, exceptions: &[HoursException]) {
    for exception in exceptions {
        let keys = Keys::default().date("date", &exception.date);
        file.item(name, keys.raw("hours", quoted(&spans_text(&exception.spans))));
    }
}

/// Dates with other hours, or none.
pub(crate) fn exceptions(table: &Table<'_>) -> Vec<HoursException> {
    table.tables("exception", 1_000, |exception| HoursException {
        date: exception.date("date"),
        spans: exception
            .required("hours", "be hours such as \"08:00-12:00\", or \"closed\"")
            .and_then(|field| spans(&field))
            .unwrap_or_default(),
    })
}

fn spans(field: &Field<'_>) -> Option<Vec<LocalSpan>> {
    parse_spans(field.raw_text()?)
        .map_err(|limit| field.refuse(limit, "write hours and minutes with two digits each"))
        .ok()
}
