//! `draw`: writes a plan of a bay or the whole floor as SVG.

use crate::answer;
use crate::failure::Failure;
use crate::json;
use crate::output;
use crate::session::Session;
use baywright_api::v1::DrawPlanRequest;
use baywright_api::v1::fit_service_client::FitServiceClient;
use clap::Args;
use std::path::PathBuf;

/// Draw a bay or the whole floor to scale, as SVG.
///
/// With procedure, method and vehicle class the vehicle is drawn where it fits, with zones, margins and
/// tape distances; where it does not fit, at the best pose with room or at the station named. The file is
/// written beside its place and then put there whole.
#[derive(Debug, Args)]
#[command(
    after_long_help = "Example:\n  baywright --shop demo draw bay-4.svg --bay bay-4 --at 2026-05-05T08:30:00+01:00"
)]
pub(crate) struct Draw {
    /// Where the drawing is written; without it, standard output.
    file: Option<PathBuf>,
    /// The bay; without it, the whole floor.
    #[arg(long, value_name = "ID")]
    bay: Option<String>,
    /// The procedure of the vehicle that is drawn.
    #[arg(long, value_name = "ID", requires_all = ["bay", "method", "class"])]
    procedure: Option<String>,
    /// The method.
    #[arg(long, value_name = "ID", requires = "procedure")]
    method: Option<String>,
    /// The vehicle class.
    #[arg(long, value_name = "ID", requires = "procedure")]
    class: Option<String>,
    /// The station at which the vehicle is drawn, whether it fits there or not.
    #[arg(long, value_name = "ID", requires = "procedure")]
    station: Option<String>,
    /// Also draw where direct sun falls onto the floor at this instant: in the shop's time or after RFC 3339.
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
}

impl Draw {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let at_time = match &self.at {
            Some(at) => Some(session.clock().await?.read("--at", at)?),
            None => None,
        };
        let request = DrawPlanRequest {
            shop_id: session.shop()?,
            bay_id: self.bay.unwrap_or_default(),
            procedure_id: self.procedure.unwrap_or_default(),
            method_id: self.method.unwrap_or_default(),
            vehicle_class_id: self.class.unwrap_or_default(),
            station_id: self.station.unwrap_or_default(),
            at_time,
        };
        let reply = session
            .call(request, async |channel, request| {
                FitServiceClient::new(channel).draw_plan(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("DrawPlanResponse", &reply)?);
        }
        let Some(file) = &self.file else { return answer::write(&reply.svg) };
        output::write_whole(file, &reply.svg)?;
        answer::write(&format!("The drawing is written to {}.", file.display()))
    }
}
