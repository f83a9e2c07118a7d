//! The printed day: text for a terminal of 100 columns, without colour.

mod bays;
mod lines;
mod open;
mod plan;
mod today;
mod trying;

use super::show::Seen;
use crate::caution::CAUTION;
use baywright_api::{time::instant_from, v1};
use baywright_core::calendar::TimeZone;
use chrono::{NaiveDateTime, Utc};
pub(super) use lines::wrap;
use prost_types::Timestamp;
use std::net::SocketAddr;

/// The whole text.
pub(super) fn text(seen: &Seen, address: SocketAddr) -> String {
    let parts = [
        opening(seen, address),
        section("BAYS, AS THEY WERE SURVEYED", &bays::text(seen)),
        section("TODAY", &today::text(seen)),
        section("THE PLAN", &plan::text(seen)),
        section("WHO IS AT WHAT, AND WHAT COMES NEXT", &today::next(seen)),
        section("NOT IN THE PLAN, AND WHY", &open::not_planned(seen)),
        section("LATE", &open::late(seen)),
        section("WHOM TO CHASE", &today::chases(seen)),
        section("A PERSON HAS TO DECIDE", &open::to_decide(&seen.jobs)),
        wrap(&format!("Caution: {CAUTION}"), "", "").trim_end().to_owned(),
        section("WHAT TO TRY NEXT, IN ANOTHER TERMINAL", &trying::text(&seen.plan, address)),
    ];
    parts.join("\n\n") + "\n"
}

/// The last lines: what becomes of the database, and how the demonstration ends.
pub(super) fn ending(database: &str, once: bool) -> String {
    let how =
        if once { "This was a single showing; it ends now." } else { "Ctrl-C ends the demo." };
    format!("\n{database}\n{how}\n")
}

fn opening(seen: &Seen, address: SocketAddr) -> String {
    let now = seen.plan.made_time.as_ref();
    let now = local(seen.zone, now).map_or_else(String::new, |at| {
        format!("{} at {}", at.format("%A %Y-%m-%d"), at.format("%H:%M"))
    });
    let words = format!(
        "{}, shop {}, listening on {address}. Shop, people, vehicles, documents and every figure are \
         invented; no real procedure may be done by them. Its clock stands at {now} ({}) and runs on \
         at real speed.",
        seen.shop.title, seen.shop.shop_id, seen.zone
    );
    wrap(&words, "", "").trim_end().to_owned()
}

fn section(heading: &str, body: &str) -> String {
    format!("{heading}\n{}", body.trim_end())
}

/// What a clock on the shop's wall shows.
pub(in crate::demo) fn local(zone: TimeZone, at: Option<&Timestamp>) -> Option<NaiveDateTime> {
    let instant: chrono::DateTime<Utc> = instant_from(at?).ok()?;
    Some(zone.local(instant))
}

/// Day of the week and time: `Tue 07:30`.
fn day_and_time(zone: TimeZone, at: Option<&Timestamp>) -> String {
    local(zone, at).map_or_else(|| "-".to_owned(), |at| at.format("%a %H:%M").to_string())
}

/// So many things of a kind: `1 job`, `2 jobs`.
pub(in crate::demo) fn counted(count: usize, one: &str) -> String {
    format!("{count} {one}{}", if count == 1 { "" } else { "s" })
}

/// What a person calls the vehicle of a job: class and how it comes.
fn vehicle(job: &v1::Job) -> String {
    let class = job.vehicle.as_ref().map_or("", |vehicle| vehicle.vehicle_class_id.as_str());
    let comes = match job.arrival() {
        v1::ArrivalKind::Waiting => "customer waiting",
        v1::ArrivalKind::DropOff => "drop-off",
        v1::ArrivalKind::TowIn => "tow-in",
        v1::ArrivalKind::Unspecified => "arrival not stated",
    };
    format!("{class}, {comes}")
}
