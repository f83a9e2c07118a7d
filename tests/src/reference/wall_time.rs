//! Wall times and the time elapsed between them: IANA time zone database, RFC 5545 3.3.5.

use super::{Case, Kind, Mismatch};
use baywright_core::calendar::{TimeZone, instant_of_wall_time, instants_of_wall_time};
use chrono::{DateTime, Days, NaiveDate, NaiveDateTime, NaiveTime, Utc};
use serde::Deserialize;

/// `zone` and `wall` with the instants that show it (`utc`), the one that a calendar means
/// (`rfc5545_utc`, or `utc` as a single text), or both.
pub(super) const INSTANTS: Kind = Kind {
    name: "instants of a wall time",
    recognises: |case| case.has_text("zone") && case.has_text("wall") && case.has(&["utc"]),
    check: check_instants,
};

/// `from_wall` and `to_wall` with the minutes that pass between them.
pub(super) const ELAPSED: Kind = Kind {
    name: "time elapsed between wall times",
    recognises: |case| case.has(&["zone", "from_wall", "to_wall", "elapsed_min"]),
    check: check_elapsed,
};

#[derive(Deserialize)]
struct Instants {
    zone: String,
    wall: String,
    utc: OneOrMany,
    rfc5545_utc: Option<String>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum OneOrMany {
    One(String),
    Many(Vec<String>),
}

#[derive(Deserialize)]
struct Elapsed {
    zone: String,
    from_wall: String,
    to_wall: String,
    from_utc: String,
    to_utc: String,
    #[serde(rename = "elapsed_min")]
    minutes: i64,
    local_date: Option<String>,
    date_length_min: Option<i64>,
}

fn check_instants(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Instants = case.read()?;
    let zone = zone(&stated.zone)?;
    let wall = wall(&stated.wall)?;
    let mut meant = stated.rfc5545_utc;
    match stated.utc {
        OneOrMany::One(only) => meant = meant.or(Some(only)),
        OneOrMany::Many(all) => {
            let all = all.iter().map(|text| utc(text)).collect::<Result<Vec<_>, _>>()?;
            Mismatch::unless_equal("instants", &all, &instants_of_wall_time(zone, wall))?;
        }
    }
    meant.map_or(Ok(()), |text| {
        Mismatch::unless_equal("instant meant", &utc(&text)?, &instant_of_wall_time(zone, wall))
    })
}

fn check_elapsed(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Elapsed = case.read()?;
    let zone = zone(&stated.zone)?;
    let from = instant_of_wall_time(zone, wall(&stated.from_wall)?);
    let to = instant_of_wall_time(zone, wall(&stated.to_wall)?);
    Mismatch::unless_equal("start", &utc(&stated.from_utc)?, &from)?;
    Mismatch::unless_equal("end", &utc(&stated.to_utc)?, &to)?;
    Mismatch::unless_equal("minutes", &stated.minutes, &(to - from).num_minutes())?;
    let (Some(date), Some(length)) = (stated.local_date, stated.date_length_min) else {
        return Ok(());
    };
    let date: NaiveDate = read(&date, "a date")?;
    let midnight = |date: NaiveDate| instant_of_wall_time(zone, date.and_time(NaiveTime::MIN));
    let next = date.checked_add_days(Days::new(1)).unwrap_or(date);
    let minutes = (midnight(next) - midnight(date)).num_minutes();
    Mismatch::unless_equal("length of the date", &length, &minutes)
}

fn zone(name: &str) -> Result<TimeZone, Mismatch> {
    TimeZone::parse(name).map_err(|faults| Mismatch::new("a known zone", faults.to_string()))
}

fn wall(text: &str) -> Result<NaiveDateTime, Mismatch> {
    read(text, "a wall time")
}

fn utc(text: &str) -> Result<DateTime<Utc>, Mismatch> {
    read(text, "an instant")
}

fn read<T: std::str::FromStr<Err: std::fmt::Display>>(
    text: &str,
    what: &str,
) -> Result<T, Mismatch> {
    text.parse().map_err(|error| Mismatch::new(what, format!("\"{text}\": {error}")))
}
