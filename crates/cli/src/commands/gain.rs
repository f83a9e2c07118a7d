//! `gain`: which single change to the shop would bring how much work in house.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::session::Session;
use crate::views;
use baywright_api::v1::fit_service_client::FitServiceClient;
use baywright_api::v1::{ReportGainRequest, WorkAsked};
use clap::Args;

/// Show which single change would bring more work in house.
///
/// The mix of work is what came and what was turned away in the last weeks, or what is stated with
/// `--work`. Each change is made by itself and every fit computed anew. Space, level floor, light, sun and
/// equipment are looked at: not people or promises.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo gain --work front-camera-static/long-van=3"
)]
pub(crate) struct Gain {
    /// Work and how often a week, as `PROCEDURE/CLASS=PER_WEEK`; may stand several times.
    #[arg(long, value_name = "WORK", value_parser = work)]
    work: Vec<WorkAsked>,
    /// How many weeks to look back where no work is stated.
    #[arg(long, value_name = "WEEKS", default_value_t = 8, value_parser = clap::value_parser!(u32).range(1..=104))]
    weeks: u32,
}

impl Gain {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let request =
            ReportGainRequest { shop_id: session.shop()?, mix: self.work, weeks: self.weeks };
        let reply = session
            .call(request, async |channel, request| {
                FitServiceClient::new(channel).report_gain(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ReportGainResponse", &reply)?);
        }
        answer::write(&views::gain::report(&reply.report.unwrap_or_default()))
    }
}

pub(super) fn work(text: &str) -> Result<WorkAsked, String> {
    let wrong = || "write PROCEDURE/CLASS=PER_WEEK, such as glass/saloon=2.5".to_owned();
    let (kind, per_week) = text.split_once('=').ok_or_else(wrong)?;
    let (procedure, class) = kind.split_once('/').ok_or_else(wrong)?;
    Ok(WorkAsked {
        procedure_id: procedure.to_owned(),
        vehicle_class_id: class.to_owned(),
        per_week: per_week.parse().map_err(|_not_a_number| wrong())?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_is_written_as_procedure_class_and_number() {
        let read = work("glass/saloon=2.5").unwrap();
        assert_eq!(
            (read.procedure_id.as_str(), read.vehicle_class_id.as_str()),
            ("glass", "saloon")
        );
        assert!((read.per_week - 2.5).abs() < 1e-12);
        for wrong in ["glass", "glass/saloon", "glass=2", "glass/saloon=often"] {
            assert!(work(wrong).is_err(), "{wrong}");
        }
    }
}
