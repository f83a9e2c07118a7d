//! How the story is printed: a sentence with the time on the shop's clock, then what the service
//! answered.

use super::Print;
use crate::{
    caution::CAUTION,
    demo::{
        DemoError,
        day::Floor,
        report::{local, wrap},
    },
};
use baywright_api::time::timestamp;
use baywright_core::calendar::TimeZone;
use chrono::{DateTime, Utc};
use prost_types::Timestamp;
use std::net::SocketAddr;

/// As wide as `07:40  `.
const INDENT: &str = "       ";
/// Before an answer of the service.
const ANSWER: &str = "       > ";
/// As wide as that.
const ANSWER_INDENT: &str = "         ";

/// Prints the story.
pub(super) struct Teller<'a> {
    floor: Floor<'a>,
    zone: TimeZone,
    print: Print<'a>,
}

impl<'a> Teller<'a> {
    pub(super) fn new(floor: Floor<'a>, zone: TimeZone, print: Print<'a>) -> Self {
        Self { floor, zone, print }
    }

    pub(super) fn opening(&mut self, address: SocketAddr) -> Result<(), DemoError> {
        let words = format!(
            "A simulated Tuesday morning in shop demo, whose service listens on {address}. Shop, people, \
             vehicles, documents and every figure are invented; no real procedure may be done by them. \
             The time is that of the simulated clock; after \">\" stands what the service answered."
        );
        (self.print)(&format!("{}\n", wrap(&words, "", "")))
    }

    /// A sentence, and what the service answered.
    pub(super) fn step(&mut self, said: &str, answers: &[String]) -> Result<(), DemoError> {
        let now = self.clock(self.floor.hand.now());
        let mut text = wrap(said, &format!("{now}  "), INDENT);
        for answer in answers {
            text.push_str(&wrap(answer, ANSWER, ANSWER_INDENT));
        }
        (self.print)(&text)
    }

    /// What the rest of the shop has done.
    pub(super) fn meanwhile(&mut self, counts: &str) -> Result<(), DemoError> {
        if counts.is_empty() {
            return Ok(());
        }
        (self.print)(&wrap(&format!("(Meanwhile in the shop: {counts}.)"), INDENT, INDENT))
    }

    pub(super) fn ending(&mut self) -> Result<(), DemoError> {
        let text = wrap(&format!("Caution: {CAUTION}"), "", "");
        (self.print)(&format!("\n{text}"))
    }

    /// What the clock on the wall shows at that instant.
    pub(super) fn clock(&self, at: DateTime<Utc>) -> String {
        self.time(Some(&timestamp(at)))
    }

    /// The same of a message.
    pub(super) fn time(&self, at: Option<&Timestamp>) -> String {
        local(self.zone, at).map_or_else(|| "-".to_owned(), |at| at.format("%H:%M").to_string())
    }
}
