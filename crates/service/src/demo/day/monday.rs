//! Monday: two vehicles come and leave, a calibration fails, a scan finds a code that blocks, a
//! supplement undoes an alignment, glass is set, work is sent out. All of it is invented.

use super::{Floor, Turn, monday, tuesday};
use crate::demo::{
    DemoError,
    caller::{Sent, refused},
    files,
};
use baywright_api::v1::{FailureCause, FoundCode, HandBackException, OfferState};
use chrono::{DateTime, Utc};

/// The last number of a job whose estimate came on Monday morning.
const LAST_OF_MONDAY: &str = "J-0999";

/// Evidence that a customer or an insurer has agreed.
const ORDER: &str = "order signed at the desk (invented)";

pub(super) async fn set_up(floor: Floor<'_>) -> Result<(), DemoError> {
    floor.hand.move_to(monday(8, 0));
    floor.caller.apply_shop(files::shop()?).await?;
    for survey in files::surveys()? {
        floor.caller.record_survey(survey).await?;
    }
    turned_away(floor).await?;
    for estimate in files::estimates()? {
        if *estimate.job_id <= *LAST_OF_MONDAY {
            floor.caller.submit_estimate(estimate).await?;
        }
    }
    handed_back(floor).await?;
    handed_back_with_an_exception(floor).await?;
    failed(floor).await?;
    blocked_by_a_code(floor).await?;
    undone_by_a_supplement(floor).await?;
    glass_set(floor).await?;
    sent_out(floor).await?;
    floor.caller.cancel_job("J-0903", "the customer keeps the vehicle (invented)").await
}

/// What was asked for and did not come: once no bay takes it, once the promise is too late.
async fn turned_away(floor: Floor<'_>) -> Result<(), DemoError> {
    let none = floor.caller.make_offer(files::later(files::OFFER_WITHOUT_BAY)?).await?;
    expect_state("an offer for the long van", &none, OfferState::Refused)?;
    let offer = floor.caller.make_offer(files::later(files::OFFER_DECLINED)?).await?;
    expect_state("an offer for the mirror", &offer, OfferState::Held)?;
    let reason = "the customer cannot wait that long (invented)";
    floor.caller.decline_offer(&offer.offer_id, reason).await
}

fn expect_state(
    what: &str,
    offer: &baywright_api::v1::Offer,
    wanted: OfferState,
) -> Result<(), DemoError> {
    if offer.state() == wanted {
        return Ok(());
    }
    let wanted = format!("{what} to be {}", wanted.as_str_name());
    Err(DemoError::Unexpected { wanted, got: offer.state().as_str_name().to_owned() })
}

/// Accepted and authorised, and its vehicle in the yard.
async fn comes(floor: Floor<'_>, job: &str, at: DateTime<Utc>) -> Result<(), DemoError> {
    floor.hand.move_to(at);
    floor.caller.accept(job, &[]).await?;
    floor.caller.sign_off(job, "authorised", ORDER).await?;
    floor.caller.record_arrival(job, "yard", "").await
}

const fn turn<'a>(
    technician: &'a str,
    (job, task): (&'a str, &'a str),
    from: DateTime<Utc>,
    until: DateTime<Utc>,
) -> Turn<'a> {
    Turn { technician, job, task, from, until }
}

async fn handed_back(floor: Floor<'_>) -> Result<(), DemoError> {
    let job = "J-0901";
    comes(floor, job, monday(8, 10)).await?;
    floor.works(turn("teo", (job, "inspection"), monday(8, 10), monday(8, 25))).await?;
    floor.works(turn("ines", (job, "pre-scan"), monday(8, 25), monday(8, 45))).await?;
    floor.works(turn("ines", (job, "surround-view"), monday(8, 50), monday(9, 35))).await?;
    floor.works(turn("ines", (job, "post-scan"), monday(9, 35), monday(9, 55))).await?;
    leaves(floor, job, Vec::new()).await
}

async fn leaves(
    floor: Floor<'_>,
    job: &str,
    exceptions: Vec<HandBackException>,
) -> Result<(), DemoError> {
    let left = floor.caller.hand_back(job, exceptions).await;
    left.map(drop).map_err(|status| refused(&format!("handing back job {job}"), &status))
}

async fn handed_back_with_an_exception(floor: Floor<'_>) -> Result<(), DemoError> {
    let job = "J-0902";
    floor.hand.move_to(monday(10, 0));
    let declined = "the customer takes it to a calibration elsewhere (invented)";
    let rest = ["pre-scan", "rear-corner-radar", "post-scan"];
    floor.caller.decline(job, &rest, declined).await?;
    floor.caller.accept(job, &[]).await?;
    floor.caller.record_arrival(job, "yard", "").await?;
    floor.works(turn("teo", (job, "inspection"), monday(10, 0), monday(10, 15))).await?;
    let exception = HandBackException {
        reason_key: "task:rear-corner-radar".to_owned(),
        manager: "the service manager (invented)".to_owned(),
        reason: "the customer signed that the radars are not aimed (invented)".to_owned(),
        recorded_time: None,
    };
    leaves(floor, job, vec![exception]).await
}

async fn failed(floor: Floor<'_>) -> Result<(), DemoError> {
    let job = "J-0904";
    comes(floor, job, monday(10, 20)).await?;
    floor.caller.sign_off(job, "rear-bodywork", "fitted on Friday (invented)").await?;
    floor.works(turn("teo", (job, "inspection"), monday(10, 20), monday(10, 35))).await?;
    floor.works(turn("ines", (job, "pre-scan"), monday(10, 35), monday(10, 55))).await?;
    let radar = turn("vera", (job, "rear-corner-radar"), monday(11, 0), monday(11, 40));
    let note = "the left radar does not answer; its plug is damaged (invented)";
    floor.fails(radar, FailureCause::Vehicle, note).await?;
    floor.caller.move_vehicle(job, "yard").await
}

async fn blocked_by_a_code(floor: Floor<'_>) -> Result<(), DemoError> {
    let job = "J-0907";
    comes(floor, job, monday(13, 0)).await?;
    floor.caller.sign_off(job, "front-bodywork", "fitted on Friday (invented)").await?;
    floor.works(turn("teo", (job, "inspection"), monday(13, 0), monday(13, 15))).await?;
    let code = FoundCode {
        code: "INVENTED-17".to_owned(),
        text: "supply voltage too low (invented)".to_owned(),
        blocking: true,
    };
    let scan = turn("ines", (job, "pre-scan"), monday(13, 15), monday(13, 35));
    floor.works_with_codes(scan, vec![code]).await
}

async fn undone_by_a_supplement(floor: Floor<'_>) -> Result<(), DemoError> {
    let job = "J-0906";
    comes(floor, job, monday(13, 40)).await?;
    floor.works(turn("teo", (job, "inspection"), monday(13, 40), monday(13, 55))).await?;
    floor.works(turn("ines", (job, "pre-scan"), monday(13, 55), monday(14, 15))).await?;
    floor.works(turn("ruth", (job, "alignment"), monday(14, 20), monday(15, 20))).await?;
    floor.caller.move_vehicle(job, "yard").await?;
    // A suspension arm turns out to be bent: the alignment is to be done again. The mirror was a
    // mistake of the sender's and is no longer asked for.
    floor.caller.submit_estimate(files::later(files::SUPPLEMENT)?).await?;
    let given_up = "no longer on the estimate (invented)";
    floor.caller.cancel_task((job, "surround-view"), given_up).await
}

async fn glass_set(floor: Floor<'_>) -> Result<(), DemoError> {
    let job = "J-0910";
    comes(floor, job, monday(15, 20)).await?;
    floor.caller.sign_off(job, "glass-parts", "unpacked, no damage (invented)").await?;
    floor.works(turn("teo", (job, "inspection"), monday(15, 20), monday(15, 30))).await?;
    floor.works(turn("omar", (job, "pre-scan"), monday(15, 30), monday(15, 45))).await?;
    floor.works(turn("omar", (job, "glass"), monday(15, 45), monday(16, 25))).await?;
    floor.hand.move_to(monday(17, 0));
    floor.caller.move_vehicle(job, "yard").await
}

async fn sent_out(floor: Floor<'_>) -> Result<(), DemoError> {
    let job = "J-0905";
    comes(floor, job, monday(17, 0)).await?;
    floor.works(turn("teo", (job, "inspection"), monday(17, 0), monday(17, 10))).await?;
    floor.works(turn("omar", (job, "pre-scan"), monday(17, 10), monday(17, 25))).await?;
    let sent = Sent {
        party: "alignment shop for long vehicles (invented)",
        expected: tuesday(14, 0),
        note: "fetched on Monday evening, back on Tuesday (invented)",
    };
    floor.caller.sublet((job, "alignment"), sent).await
}
