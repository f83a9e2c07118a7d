//! What the core writes is read back as the same, through the bytes of the wire.
#![cfg(test)]

use super::strategies;
use crate::hand_back::exception_told;
use crate::job::{job_message, whereabouts_from};
use crate::technician::technician_from;
use crate::time::timestamp;
use crate::v1;
use baywright_core::demand::{Procedure, VehicleClass};
use baywright_core::floor::Bay;
use baywright_core::ids::ShopId;
use baywright_core::questions::HeldOffer;
use baywright_core::shop::{Shop, ShopDefinition, Unit};
use baywright_core::survey::Survey;
use baywright_core::work::{Adhesive, CallRule, Estimate, FoundCode, Job, Task};
use proptest::prelude::*;
use prost::Message;

/// Writes a message as bytes and reads these again.
fn sent<M: Message + Default>(message: &M) -> M {
    M::decode(message.encode_to_vec().as_slice()).unwrap()
}

macro_rules! round_trips {
    ($($test:ident: $core:ty as $message:ty = $strategy:expr;)+) => {
        proptest! {
            #![proptest_config(ProptestConfig::with_cases(64))]
            $(
                #[test]
                fn $test(value in $strategy) {
                    let message = sent(&<$message>::from(&value));
                    prop_assert_eq!(&<$core>::try_from(&message).unwrap(), &value);
                }
            )+
        }
    };
}

round_trips! {
    a_bay_goes_there_and_back: Bay as v1::Bay = strategies::bay();
    a_vehicle_class_goes_there_and_back: VehicleClass as v1::VehicleClass =
        strategies::vehicle_class();
    a_procedure_goes_there_and_back: Procedure as v1::Procedure = strategies::procedure();
    a_call_rule_goes_there_and_back: CallRule as v1::CallRule = strategies::call_rule();
    a_unit_goes_there_and_back: Unit as v1::Unit = strategies::unit();
    a_shop_goes_there_and_back: Shop as v1::Shop = strategies::shop();
    a_definition_goes_there_and_back: ShopDefinition as v1::ShopDefinition =
        strategies::definition();
    a_survey_goes_there_and_back: Survey as v1::Survey = strategies::survey();
    an_estimate_goes_there_and_back: Estimate as v1::Estimate = strategies::estimate();
    a_task_goes_there_and_back: Task as v1::Task = strategies::task();
    an_adhesive_record_goes_there_and_back: Adhesive as v1::Adhesive = strategies::adhesive();
    a_found_code_goes_there_and_back: FoundCode as v1::FoundCode = strategies::found_code();
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_held_offer_is_read_back_as_the_same(estimate in strategies::estimate()) {
        let promise_at = estimate.parts().promise_at;
        let message = sent(&v1::Offer {
            estimate: Some((&estimate).into()),
            promise_time: Some(timestamp(promise_at)),
            ..v1::Offer::default()
        });
        let held = HeldOffer::try_from(&message).unwrap();
        prop_assert_eq!((held.estimate, held.promise_at), (estimate, promise_at));
    }

    #[test]
    fn a_stored_job_is_read_back_as_the_same(job in strategies::job()) {
        let shop = ShopId::new("shop-1").unwrap();
        let message = sent(&job_message(&job, &shop, "7"));
        prop_assert_eq!((message.shop_id.as_str(), message.etag.as_str()), ("shop-1", "7"));
        prop_assert_eq!(&message.warnings, &job.warnings());
        prop_assert_eq!(&Job::try_from(&message).unwrap(), &job);
    }

    #[test]
    fn a_technician_goes_there_and_back_in_the_shops_zone(technician in strategies::technician()) {
        let message = sent(&v1::Technician::from(&technician));
        let zone = technician.parts().shift.zone();
        prop_assert_eq!(&technician_from(&message, zone).unwrap(), &technician);
    }

    #[test]
    fn whereabouts_go_there_and_back(stands in strategies::whereabouts()) {
        let message = sent(&v1::Whereabouts::from(&stands));
        prop_assert_eq!(whereabouts_from(&message).unwrap(), Some(stands));
    }

    #[test]
    fn an_exception_goes_there_and_back(exception in strategies::exception()) {
        let message = sent(&v1::HandBackException::from(&exception));
        prop_assert_eq!(exception_told(&message, exception.at).unwrap(), exception);
    }

    #[test]
    fn a_job_with_one_wrong_byte_is_refused_or_read_and_written_as_the_same(
        job in strategies::job(), share in 0.0..1.0, byte: u8,
    ) {
        let shop = ShopId::new("shop-1").unwrap();
        let mut bytes = job_message(&job, &shop, "").encode_to_vec();
        let places = f64::from(u32::try_from(bytes.len()).unwrap());
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "an index")]
        let place = (share * places) as usize;
        bytes[place] = byte;
        if let Ok(message) = v1::Job::decode(bytes.as_slice())
            && let Ok(read) = Job::try_from(&message)
        {
            let again = sent(&job_message(&read, &shop, ""));
            // A temperature that is no number would differ from itself, but it is refused.
            prop_assert_eq!(Job::try_from(&again).unwrap(), read);
        }
    }
}

#[test]
fn whereabouts_that_say_nothing_are_none() {
    assert_eq!(whereabouts_from(&v1::Whereabouts::default()).unwrap(), None);
}
