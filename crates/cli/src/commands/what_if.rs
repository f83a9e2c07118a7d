//! `what-if`: what would be if the shop were otherwise.

use crate::answer;
use crate::clock::ShopClock;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::plan_service_client::PlanServiceClient;
use baywright_api::v1::supposition::Kind;
use baywright_api::v1::{
    BayClosed, ReportWhatIfRequest, Supposition, TechnicianMore, UnitMore, WorkGrown,
};
use clap::Args;

/// Show what a change to the shop would do to the plan; nothing is kept.
///
/// The shop as it is and a copy with everything that is supposed are planned beside each other. Neither
/// search is proved to be the best, so a small difference may be the search's.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo what-if --close 'bay-4=2026-05-05 08:00/2026-05-05 12:00' --grow 20"
)]
pub(crate) struct WhatIf {
    /// No work goes on in a bay for a time, as `BAY=FROM/UNTIL` in the shop's time or after RFC 3339; may
    /// stand several times.
    #[arg(long, value_name = "BAY=FROM/UNTIL", required_unless_present_any = ["technician_like", "unit_like", "grow"])]
    close: Vec<String>,
    /// There is another technician, like this one; may stand several times.
    #[arg(long, value_name = "TECHNICIAN")]
    technician_like: Vec<String>,
    /// There is another unit, like this one; may stand several times.
    #[arg(long, value_name = "UNIT")]
    unit_like: Vec<String>,
    /// There are so many percent more jobs, copies of those not begun: `20`, `20:PROCEDURE` or
    /// `20:PROCEDURE/CLASS`, where the procedure may be empty; may stand several times.
    #[arg(long, value_name = "PERCENT[:KIND]", value_parser = grown)]
    grow: Vec<WorkGrown>,
    /// Days ahead, 1 to 14.
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=14))]
    days: u32,
    /// Seed of both searches.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Epochs of each search, 1 to 1000.
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = clap::value_parser!(u64).range(1..=1000))]
    epochs: u64,
}

impl WhatIf {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let clock = session.clock().await?;
        let mut kinds = Vec::new();
        for text in &self.close {
            kinds.push(Kind::BayClosed(closed(text, clock)?));
        }
        let technicians = self.technician_like.into_iter();
        kinds.extend(
            technicians.map(|like_technician_id| {
                Kind::TechnicianMore(TechnicianMore { like_technician_id })
            }),
        );
        let units = self.unit_like.into_iter();
        kinds.extend(units.map(|like_unit_id| Kind::UnitMore(UnitMore { like_unit_id })));
        kinds.extend(self.grow.into_iter().map(Kind::WorkGrown));
        let request = ReportWhatIfRequest {
            shop_id: session.shop()?,
            suppositions: kinds.into_iter().map(|kind| Supposition { kind: Some(kind) }).collect(),
            days: self.days,
            seed: self.seed,
            epochs: self.epochs,
        };
        let reply = session
            .call(request, async |channel, request| {
                PlanServiceClient::new(channel).report_what_if(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ReportWhatIfResponse", &reply)?);
        }
        answer::write(&views::what_if::report(&reply.report.unwrap_or_default(), clock))
    }
}

/// Reads `BAY=FROM/UNTIL`.
fn closed(text: &str, clock: ShopClock) -> Result<BayClosed, Failure> {
    let parts = text.split_once('=').and_then(|(bay, span)| Some((bay, span.split_once('/')?)));
    let Some((bay, (from, until))) = parts else {
        return Err(Failure::usage(
            format!("--close is \"{text}\"; it must be BAY=FROM/UNTIL."),
            "write it as 'bay-4=2026-05-05 08:00/2026-05-05 12:00'.",
        ));
    };
    Ok(BayClosed {
        bay_id: bay.to_owned(),
        from_time: Some(clock.read("--close", from)?),
        until_time: Some(clock.read("--close", until)?),
    })
}

fn grown(text: &str) -> Result<WorkGrown, String> {
    let (percent, kind) = text.split_once(':').unwrap_or((text, ""));
    let (procedure, class) = kind.split_once('/').unwrap_or((kind, ""));
    let percent = percent.trim_end_matches('%').parse();
    Ok(WorkGrown {
        percent: percent.map_err(|_no_number| {
            "write PERCENT, PERCENT:PROCEDURE or PERCENT:PROCEDURE/CLASS, such as 20:glass/saloon"
        })?,
        procedure_id: procedure.to_owned(),
        vehicle_class_id: class.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn growth_is_written_as_percent_procedure_and_class() {
        let of = |text: &str| {
            let read = grown(text).unwrap();
            (read.percent, read.procedure_id, read.vehicle_class_id)
        };
        assert_eq!(of("20"), (20, String::new(), String::new()));
        assert_eq!(of("20%"), (20, String::new(), String::new()));
        assert_eq!(of("20:glass"), (20, "glass".to_owned(), String::new()));
        assert_eq!(of("5:glass/saloon"), (5, "glass".to_owned(), "saloon".to_owned()));
        assert_eq!(of("5:/saloon"), (5, String::new(), "saloon".to_owned()));
        for wrong in ["", "often", "-5", "2.5"] {
            assert!(grown(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_closure_is_written_as_bay_and_span() {
        let clock = ShopClock::new("Europe/Lisbon").unwrap();
        let read = closed("bay-4=2026-05-05 08:00/2026-05-05T12:00:00+01:00", clock).unwrap();
        assert_eq!(read.bay_id, "bay-4");
        let seconds = |time: Option<prost_types::Timestamp>| time.unwrap().seconds;
        assert_eq!(seconds(read.until_time) - seconds(read.from_time), 4 * 3_600);
        for wrong in ["bay-4", "bay-4=2026-05-05 08:00", "bay-4=soon/later"] {
            assert!(closed(wrong, clock).is_err(), "{wrong}");
        }
    }
}
