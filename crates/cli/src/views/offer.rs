//! Offers and what was turned away, for a person.

use crate::clock::ShopClock;
use crate::table::Table;
use baywright_api::v1::{Offer, OfferNeed, OfferState, PricedPromise, TurnedAway};

/// An offer; nothing but a word where there is none.
pub(crate) fn text(offer: Option<&Offer>, clock: ShopClock) -> String {
    let Some(offer) = offer else { return "No offer.".to_owned() };
    let mut lines = vec![format!("Offer {}: {}", offer.offer_id, state(offer.state()))];
    if let Some(estimate) = &offer.estimate {
        lines.push(format!("Job:     {}", estimate.job_id));
        lines.push(format!("Wished:  {}", clock.show(estimate.promise_time.as_ref())));
    }
    if offer.promise_time.is_some() {
        lines.push(format!("Promise: {}", clock.show(offer.promise_time.as_ref())));
        lines.push(format!("Finish:  {}", clock.show(offer.finish_time.as_ref())));
        lines.push(format!("Lapses:  {}", clock.show(offer.lapse_time.as_ref())));
    }
    lines.push(format!("Needs:   {}", needs(&offer.needs)));
    sentences(&mut lines, "No promise can be offered:", &offer.reasons);
    let priced: Vec<String> = offer.priced.iter().map(|one| priced_line(one, clock)).collect();
    let opening = match offer.promise_time {
        Some(_) => "Earlier, at the price of others:",
        None => "At the price of others:",
    };
    sentences(&mut lines, opening, &priced);
    sentences(&mut lines, "It takes for granted:", &offer.assumptions);
    lines.push(super::caution(&offer.caution));
    lines.join("\n")
}

/// One promise with its price and whom it makes late.
fn priced_line(priced: &PricedPromise, clock: ShopClock) -> String {
    let late = priced.late_jobs.iter().map(|late| {
        let promise = clock.show(late.promise_time.as_ref());
        format!("job {} {} min after its promise {promise}", late.job_id, late.late_minutes)
    });
    let late: Vec<String> = late.collect();
    let promise = clock.show(priced.promise_time.as_ref());
    format!("{promise}: the other jobs cost {} more; late: {}", priced.price, late.join(", "))
}

fn sentences(lines: &mut Vec<String>, opening: &str, sentences: &[String]) {
    if !sentences.is_empty() {
        lines.push(opening.to_owned());
        lines.extend(sentences.iter().map(|sentence| format!("  {sentence}")));
    }
}

/// Offers as a table.
pub(crate) fn list(offers: &[Offer], clock: ShopClock) -> String {
    if offers.is_empty() {
        return "No offers.".to_owned();
    }
    let mut table = Table::new(&["offer", "state", "job", "promise", "lapses", "needs"]);
    for offer in offers {
        let promise = offer.promise_time.as_ref().map(|time| clock.show(Some(time)));
        table.row([
            offer.offer_id.clone(),
            state(offer.state()).to_owned(),
            offer.estimate.as_ref().map(|one| one.job_id.clone()).unwrap_or_default(),
            promise.unwrap_or_else(|| "none".to_owned()),
            clock.show(offer.lapse_time.as_ref()),
            needs(&offer.needs),
        ]);
    }
    table.text()
}

/// The turned-away log as a table.
pub(crate) fn turned_away(entries: &[TurnedAway], clock: ShopClock) -> String {
    if entries.is_empty() {
        return "Nothing was turned away.".to_owned();
    }
    let mut table = Table::new(&["when", "offer", "job", "class", "needs", "offered", "why"]);
    for entry in entries {
        let estimate = entry.estimate.clone().unwrap_or_default();
        let offered = entry.promise_time.as_ref().map(|time| clock.show(Some(time)));
        table.row([
            clock.show(entry.turned_away_time.as_ref()),
            entry.offer_id.clone(),
            estimate.job_id,
            estimate.vehicle.map(|vehicle| vehicle.vehicle_class_id).unwrap_or_default(),
            needs(&entry.needs),
            offered.unwrap_or_else(|| "none".to_owned()),
            entry.reasons.join(" "),
        ]);
    }
    table.text()
}

fn needs(needs: &[OfferNeed]) -> String {
    let tasks: Vec<&str> = needs.iter().map(|need| need.task_id.as_str()).collect();
    if tasks.is_empty() { "nothing known".to_owned() } else { tasks.join(", ") }
}

const fn state(state: OfferState) -> &'static str {
    match state {
        OfferState::Held => "held",
        OfferState::Accepted => "accepted",
        OfferState::Declined => "declined",
        OfferState::Lapsed => "lapsed",
        OfferState::Refused => "refused",
        OfferState::Unspecified => "not known",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{Estimate, LateJob, OfferNeed};
    use prost_types::Timestamp;

    const fn noon() -> Timestamp {
        Timestamp { seconds: 1_777_982_400, nanos: 0 }
    }

    fn offer(state: OfferState) -> Offer {
        Offer {
            offer_id: "O-1".to_owned(),
            estimate: Some(Estimate { job_id: "W-1".to_owned(), ..Estimate::default() }),
            state: state.into(),
            needs: vec![OfferNeed { task_id: "front-camera".to_owned(), ..OfferNeed::default() }],
            ..Offer::default()
        }
    }

    #[test]
    fn a_held_offer_shows_promise_assumptions_and_caution() {
        let held = Offer {
            promise_time: Some(noon()),
            assumptions: vec!["Parts are here.".to_owned()],
            ..offer(OfferState::Held)
        };
        let text = text(Some(&held), ShopClock::new("Etc/UTC").unwrap());
        for part in ["O-1: held", "W-1", "2026-05-05 12:00", "  Parts are here.", "Caution: "] {
            assert!(text.contains(part), "{part}: {text}");
        }
    }

    #[test]
    fn an_earlier_promise_shows_its_price_and_who_becomes_late() {
        let late = LateJob {
            job_id: "J-1".to_owned(),
            promise_time: Some(noon()),
            late_minutes: 20,
            ..LateJob::default()
        };
        let priced = PricedPromise {
            promise_time: Some(noon()),
            price: 2_050,
            late_jobs: vec![late],
            ..PricedPromise::default()
        };
        let held =
            Offer { promise_time: Some(noon()), priced: vec![priced], ..offer(OfferState::Held) };
        let text = text(Some(&held), ShopClock::new("Etc/UTC").unwrap());
        let expected = "Earlier, at the price of others:\n  2026-05-05 12:00 UTC: the other jobs cost 2050 more; \
            late: job J-1 20 min after its promise 2026-05-05 12:00 UTC";
        assert!(text.contains(expected), "{text}");
    }

    #[test]
    fn a_refused_offer_shows_why_and_no_promise() {
        let refused =
            Offer { reasons: vec!["The day is full.".to_owned()], ..offer(OfferState::Refused) };
        let text = text(Some(&refused), ShopClock::new("Etc/UTC").unwrap());
        assert!(text.contains("The day is full.") && !text.contains("Promise:"), "{text}");
    }

    #[test]
    fn a_list_shows_the_state_of_each() {
        let clock = ShopClock::new("Etc/UTC").unwrap();
        assert_eq!(list(&[], clock), "No offers.");
        let offers = [offer(OfferState::Lapsed), offer(OfferState::Refused)];
        let text = list(&offers, clock);
        for part in ["O-1", "lapsed", "refused", "W-1", "none", "front-camera"] {
            assert!(text.contains(part), "{part}: {text}");
        }
    }

    #[test]
    fn the_log_shows_needs_and_reason() {
        let clock = ShopClock::new("Etc/UTC").unwrap();
        assert_eq!(turned_away(&[], clock), "Nothing was turned away.");
        let entry = TurnedAway {
            offer_id: "O-1".to_owned(),
            needs: offer(OfferState::Refused).needs,
            reasons: vec!["The day is full.".to_owned()],
            turned_away_time: Some(noon()),
            ..TurnedAway::default()
        };
        let text = turned_away(&[entry], clock);
        assert!(text.contains("front-camera") && text.contains("The day is full."), "{text}");
    }
}
