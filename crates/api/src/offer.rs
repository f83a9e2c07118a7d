//! Offers: what a plan could keep on the way out, what is held on the way in.

use crate::reading::{Reading as _, plain};
use crate::time::{required_instant, timestamp};
use crate::v1;
use baywright_core::fault::Faults;
use baywright_core::questions::{HeldOffer, Offering, PricedPromise, Promise};
use baywright_core::shop_day::Assignment;
use baywright_core::work::Estimate;

/// What was found as the contract's offer: held, or refused where there is no promise. The caller
/// adds shop, name, estimate, instants and caution.
pub fn offer_message(offering: &Offering) -> v1::Offer {
    let (promise, reasons, state) = match &offering.promise {
        Ok(promise) => (Some(promise), Vec::new(), v1::OfferState::Held),
        Err(reasons) => (None, reasons.clone(), v1::OfferState::Refused),
    };
    let need = |(task, procedure): &(_, _)| need(task, procedure);
    v1::Offer {
        promise_time: promise.map(|Promise { promise_at, .. }| timestamp(*promise_at)),
        finish_time: promise.map(|Promise { finish_at, .. }| timestamp(*finish_at)),
        state: state.into(),
        reasons,
        assumptions: offering.assumptions.clone(),
        needs: offering.needs.iter().map(need).collect(),
        reserved: offering.reserved.iter().map(Into::into).collect(),
        priced: offering.priced.iter().map(Into::into).collect(),
        ..v1::Offer::default()
    }
}

impl From<&PricedPromise> for v1::PricedPromise {
    fn from(priced: &PricedPromise) -> Self {
        Self {
            promise_time: Some(timestamp(priced.promise.promise_at)),
            finish_time: Some(timestamp(priced.promise.finish_at)),
            price: priced.price,
            late_jobs: priced.late.iter().map(Into::into).collect(),
        }
    }
}

fn need(task: &impl ToString, procedure: &impl ToString) -> v1::OfferNeed {
    v1::OfferNeed { task_id: task.to_string(), procedure_id: procedure.to_string() }
}

impl TryFrom<&v1::Offer> for HeldOffer {
    type Error = Faults;

    fn try_from(message: &v1::Offer) -> Result<Self, Faults> {
        plain(|faults| {
            let estimate = faults.required("estimate", message.estimate.as_ref(), |list, inner| {
                list.take("", Estimate::try_from(inner))
            });
            let promise_at =
                required_instant(faults, "promise_time", message.promise_time.as_ref());
            let reserved = faults.each("reserved", &message.reserved, |list, inner| {
                list.take("", Assignment::try_from(inner))
            });
            Some(Self { estimate: estimate?, promise_at: promise_at?, reserved })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_core::ids::{JobId, MethodId, ProcedureId, TaskId, TechnicianId};
    use baywright_core::shop_day::LateJob;
    use chrono::{DateTime, TimeDelta, Utc};

    fn offering(promise: Result<Promise, Vec<String>>) -> Offering {
        let needs =
            vec![(TaskId::new("camera").unwrap(), ProcedureId::new("front-camera").unwrap())];
        Offering {
            needs,
            assumptions: vec!["The vehicle comes.".to_owned()],
            promise,
            reserved: Vec::new(),
            priced: Vec::new(),
        }
    }

    fn noon() -> DateTime<Utc> {
        "2026-05-05T12:00:00Z".parse().unwrap()
    }

    #[test]
    fn a_promise_makes_a_held_offer() {
        let promise = Promise { promise_at: noon() + TimeDelta::minutes(15), finish_at: noon() };
        let message = offer_message(&offering(Ok(promise)));
        assert_eq!(message.state(), v1::OfferState::Held);
        assert_eq!(message.promise_time, Some(timestamp(promise.promise_at)));
        assert_eq!(message.finish_time, Some(timestamp(noon())));
        assert_eq!(message.needs, [need(&"camera", &"front-camera")]);
        assert_eq!(message.assumptions, ["The vehicle comes."]);
    }

    #[test]
    fn what_is_reserved_is_read_back_and_a_price_is_told_with_who_is_late() {
        let job = JobId::new("J-1").unwrap();
        let reserved = Assignment {
            job: job.clone(),
            task: TaskId::new("camera").unwrap(),
            method: MethodId::new("static").unwrap(),
            place: None,
            technicians: vec![TechnicianId::new("ines").unwrap()],
            units: Vec::new(),
            start: noon() - TimeDelta::minutes(30),
            end: noon(),
            fixed: false,
            notes: Vec::new(),
        };
        let promise = Promise { promise_at: noon() + TimeDelta::minutes(15), finish_at: noon() };
        let late = LateJob { job, finish: noon(), promise: noon() - TimeDelta::minutes(7) };
        let message = v1::Offer {
            estimate: Some(v1::Estimate::default()),
            ..offer_message(&Offering {
                reserved: vec![reserved.clone()],
                priced: vec![PricedPromise { promise, price: 700, late: vec![late] }],
                ..offering(Ok(promise))
            })
        };
        assert_eq!(Assignment::try_from(&message.reserved[0]), Ok(reserved));
        assert_eq!(
            (message.priced[0].price, message.priced[0].late_jobs[0].late_minutes),
            (700, 7)
        );
    }

    #[test]
    fn no_promise_makes_a_refused_one_with_the_reasons() {
        let message = offer_message(&offering(Err(vec!["The day is full.".to_owned()])));
        assert_eq!((message.state(), message.promise_time), (v1::OfferState::Refused, None));
        assert_eq!(message.reasons, ["The day is full."]);
    }

    #[test]
    fn an_offer_that_lacks_estimate_and_promise_names_both() {
        let faults = HeldOffer::try_from(&v1::Offer::default()).unwrap_err();
        let fields: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(fields, ["estimate", "promise_time"]);
    }
}
