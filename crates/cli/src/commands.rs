//! The commands, one file each.

mod accept;
mod apply;
mod arrive;
mod audit;
mod cancel;
mod cancel_task;
mod change;
mod chases;
mod codes;
mod decide;
mod doubt_clear;
mod doubts;
mod draw;
mod estimate;
mod explain;
mod export;
mod fail;
mod finish;
mod finishes;
mod fits;
mod forecast;
mod free;
mod front;
mod gain;
mod glass;
mod hand_back;
mod hand_over;
mod held_task;
mod holdings;
mod job;
mod jobs;
mod move_vehicle;
mod next;
mod offer;
mod offer_accept;
mod offer_decline;
mod offers;
mod outside;
mod pause;
mod phase;
mod plan;
mod prerequisite;
mod put_back;
mod record;
mod record_correct;
mod records_verify;
mod redo;
mod resume;
mod road_drive;
mod road_entries;
mod road_entry;
mod road_withdraw;
mod sign_off;
mod solve;
mod start;
mod sublet;
mod sublet_end;
mod survey;
mod today;
mod turned_away;
mod units;
mod watch;
mod what_if;
mod whereabouts;

use crate::answer;
use crate::arguments::Arguments;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::offer_service_client::OfferServiceClient;
use baywright_api::v1::{AcceptOfferRequest, AcceptOfferResponse, ConditionsRecord, Holding, Job};
use clap::Subcommand;
use prost::Message;

/// What can be asked for.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    Apply(apply::Apply),
    Survey(survey::Survey),
    Export(export::Export),
    Fits(fits::Fits),
    Gain(gain::Gain),
    Forecast(forecast::Forecast),
    Draw(draw::Draw),
    Doubts(doubts::Doubts),
    DoubtClear(doubt_clear::DoubtClear),
    Estimate(estimate::Estimate),
    Offer(offer::Offer),
    OfferAccept(offer_accept::OfferAccept),
    OfferDecline(offer_decline::OfferDecline),
    Offers(offers::Offers),
    TurnedAway(turned_away::TurnedAway),
    Accept(accept::Accept),
    Decide(decide::Decide),
    Change(change::Change),
    Arrive(arrive::Arrive),
    Move(move_vehicle::MoveVehicle),
    SignOff(sign_off::SignOff),
    Prerequisite(prerequisite::Prerequisite),
    Outside(outside::Outside),
    Sublet(sublet::Sublet),
    SubletEnd(sublet_end::SubletEnd),
    CancelTask(cancel_task::CancelTask),
    Cancel(cancel::Cancel),
    Job(job::Job),
    Jobs(jobs::Jobs),
    Today(today::Today),
    Chases(chases::Chases),
    Finishes(finishes::Finishes),
    #[command(name = "where")]
    Where(whereabouts::Whereabouts),
    Units(units::Units),
    Free(free::Free),
    RoadDrive(road_drive::RoadDrive),
    RoadEntry(road_entry::RoadEntry),
    RoadEntries(road_entries::RoadEntries),
    RoadWithdraw(road_withdraw::RoadWithdraw),
    Plan(plan::Plan),
    Explain(explain::Explain),
    WhatIf(what_if::WhatIf),
    Front(front::Front),
    Next(next::Next),
    Start(start::Start),
    Phase(phase::Phase),
    Pause(pause::Pause),
    Resume(resume::Resume),
    HandOver(hand_over::HandOver),
    Finish(finish::Finish),
    Fail(fail::Fail),
    PutBack(put_back::PutBack),
    Redo(redo::Redo),
    Holdings(holdings::Holdings),
    HandBack(hand_back::HandBack),
    Record(record::Record),
    RecordsVerify(records_verify::RecordsVerify),
    RecordCorrect(record_correct::RecordCorrect),
    Audit(audit::Audit),
    Watch(watch::Watch),
    Solve(solve::Solve),
}

/// Runs one command.
pub(crate) async fn run(arguments: Arguments) -> Result<(), Failure> {
    let session = Session::new(&arguments.global)?;
    match arguments.command {
        Command::Solve(command) => command.run(session.json),
        Command::Apply(command) => command.run(&session).await,
        Command::Survey(command) => command.run(&session).await,
        Command::Export(command) => command.run(&session).await,
        Command::Fits(command) => command.run(&session).await,
        Command::Gain(command) => command.run(&session).await,
        Command::Forecast(command) => command.run(&session).await,
        Command::Draw(command) => command.run(&session).await,
        Command::Doubts(command) => command.run(&session).await,
        Command::DoubtClear(command) => command.run(&session).await,
        Command::Estimate(command) => command.run(&session).await,
        Command::Offer(command) => command.run(&session).await,
        Command::OfferAccept(command) => command.run(&session).await,
        Command::OfferDecline(command) => command.run(&session).await,
        Command::Offers(command) => command.run(&session).await,
        Command::TurnedAway(command) => command.run(&session).await,
        Command::Accept(command) => command.run(&session).await,
        Command::Decide(command) => command.run(&session).await,
        Command::Arrive(command) => command.run(&session).await,
        Command::Change(command) => command.run(&session).await,
        Command::Move(command) => command.run(&session).await,
        Command::SignOff(command) => command.run(&session).await,
        Command::Prerequisite(command) => command.run(&session).await,
        Command::Outside(command) => command.run(&session).await,
        Command::Sublet(command) => command.run(&session).await,
        Command::SubletEnd(command) => command.run(&session).await,
        Command::CancelTask(command) => command.run(&session).await,
        Command::Cancel(command) => command.run(&session).await,
        Command::Job(command) => command.run(&session).await,
        Command::Jobs(command) => command.run(&session).await,
        Command::Chases(command) => command.run(&session).await,
        Command::Finishes(command) => command.run(&session).await,
        Command::Where(command) => command.run(&session).await,
        Command::Units(command) => command.run(&session).await,
        Command::Free(command) => command.run(&session).await,
        Command::Today(command) => command.run(&session).await,
        Command::RoadDrive(command) => command.run(&session).await,
        Command::RoadEntry(command) => command.run(&session).await,
        Command::RoadEntries(command) => command.run(&session).await,
        Command::RoadWithdraw(command) => command.run(&session).await,
        Command::Plan(command) => command.run(&session).await,
        Command::Explain(command) => command.run(&session).await,
        Command::WhatIf(command) => command.run(&session).await,
        Command::Front(command) => command.run(&session).await,
        Command::Next(command) => command.run(&session).await,
        Command::Start(command) => command.run(&session).await,
        Command::Phase(command) => command.run(&session).await,
        Command::Pause(command) => command.run(&session).await,
        Command::Resume(command) => command.run(&session).await,
        Command::HandOver(command) => command.run(&session).await,
        Command::Finish(command) => command.run(&session).await,
        Command::Fail(command) => command.run(&session).await,
        Command::PutBack(command) => command.run(&session).await,
        Command::Redo(command) => command.run(&session).await,
        Command::Holdings(command) => command.run(&session).await,
        Command::HandBack(command) => command.run(&session).await,
        Command::Record(command) => command.run(&session).await,
        Command::RecordsVerify(command) => command.run(&session).await,
        Command::RecordCorrect(command) => command.run(&session).await,
        Command::Audit(command) => command.run(&session).await,
        Command::Watch(command) => command.run(&session).await,
    }
}

/// Prints a reply that holds a job: as JSON under the reply's own name, else the job as text.
async fn print_job<M: Message>(
    session: &Session,
    reply_name: &str,
    reply: &M,
    job: Option<&Job>,
) -> Result<(), Failure> {
    if session.json {
        return answer::write(&json::text(reply_name, reply)?);
    }
    let clock = session.clock().await?;
    let job = job.cloned().unwrap_or_default();
    answer::write(&views::job::text(&job, &[], clock))
}

/// Accepts an offer.
async fn accept_offer(
    session: &Session,
    shop_id: String,
    offer_id: String,
) -> Result<AcceptOfferResponse, Failure> {
    let (request_id, actor) = (session.request_id(), session.actor.clone());
    let request = AcceptOfferRequest { shop_id, offer_id, request_id, actor };
    session
        .call(request, async |channel, request| {
            OfferServiceClient::new(channel).accept_offer(request).await
        })
        .await
}

/// Prints what became of an offer that was accepted.
async fn print_accepted(session: &Session, reply: &AcceptOfferResponse) -> Result<(), Failure> {
    print_job(session, "AcceptOfferResponse", reply, reply.job.as_ref()).await
}

/// Prints a reply that holds a conditions record.
async fn print_record<M: Message>(
    session: &Session,
    reply_name: &str,
    reply: &M,
    record: Option<&ConditionsRecord>,
) -> Result<(), Failure> {
    if session.json {
        return answer::write(&json::text(reply_name, reply)?);
    }
    let clock = session.clock().await?;
    let record = record.cloned().unwrap_or_default();
    answer::write(&views::record::text(&record, clock))
}

/// Prints a reply that holds a holding.
async fn print_holding<M: Message>(
    session: &Session,
    reply_name: &str,
    reply: &M,
    holding: Option<&Holding>,
) -> Result<(), Failure> {
    if session.json {
        return answer::write(&json::text(reply_name, reply)?);
    }
    let clock = session.clock().await?;
    let holding = holding.cloned().unwrap_or_default();
    answer::write(&views::holding::text(&holding, clock))
}
