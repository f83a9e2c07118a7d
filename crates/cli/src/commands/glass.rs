//! What was recorded when glass was set, as options.

use crate::failure::Failure;
use crate::session::Session;
use baywright_api::v1::{Adhesive, CureMinutes};
use clap::Args;

/// All or none of what was recorded when glass was set.
#[derive(Debug, Args)]
#[command(next_help_heading = "Glass, as recorded when it was set (all or none)")]
pub(crate) struct Glass {
    /// The adhesive, as on its package.
    #[arg(long, value_name = "TEXT", requires_all = ["set_at", "temperature_c", "humidity_percent", "moved_minutes", "calibrated_minutes", "driven_minutes", "document"])]
    adhesive: Option<String>,
    /// When the glass was set: "2026-05-05 09:40" in the shop's time, or after RFC 3339.
    #[arg(long, value_name = "TIME", requires = "adhesive")]
    set_at: Option<String>,
    /// Temperature, degrees Celsius, -40 to 60.
    #[arg(long, value_name = "DEGREES", requires = "adhesive", allow_negative_numbers = true)]
    temperature_c: Option<f64>,
    /// Relative humidity, percent, 0 to 100.
    #[arg(long, value_name = "PERCENT", requires = "adhesive")]
    humidity_percent: Option<f64>,
    /// Minutes until the vehicle may be moved, as the adhesive's maker states for these conditions.
    #[arg(long, value_name = "N", requires = "adhesive")]
    moved_minutes: Option<u32>,
    /// Minutes until sensors behind the glass may be calibrated, as stated.
    #[arg(long, value_name = "N", requires = "adhesive")]
    calibrated_minutes: Option<u32>,
    /// Minutes until the vehicle may be driven, as stated.
    #[arg(long, value_name = "N", requires = "adhesive")]
    driven_minutes: Option<u32>,
    /// Where the minutes are stated.
    #[arg(long, value_name = "TEXT", requires = "adhesive")]
    document: Option<String>,
}

impl Glass {
    /// The message, or nothing where no glass was stated.
    pub(crate) async fn adhesive(&self, session: &Session) -> Result<Option<Adhesive>, Failure> {
        let (Some(product), Some(set_at)) = (&self.adhesive, &self.set_at) else { return Ok(None) };
        let set_time = session.clock().await?.read("--set-at", set_at)?;
        Ok(Some(Adhesive {
            product: product.clone(),
            set_time: Some(set_time),
            temperature_c: self.temperature_c.unwrap_or_default(),
            humidity_percent: self.humidity_percent.unwrap_or_default(),
            cure: Some(CureMinutes {
                moved_minutes: self.moved_minutes.unwrap_or_default(),
                calibrated_minutes: self.calibrated_minutes.unwrap_or_default(),
                driven_minutes: self.driven_minutes.unwrap_or_default(),
            }),
            document: self.document.clone().unwrap_or_default(),
            task_id: String::new(),
        }))
    }
}
