//! What every command understands: where the service is, which shop, who acts, and how to print.

use crate::commands::Command;
use clap::{Args, Parser};
use uuid::Uuid;

const EXIT_CODES: &str = "\
Exit codes:
  0  done
  1  refused by the service; the reason stands on standard error
  2  a fault of usage or of a file
  3  the service cannot be reached

Example:
  baywright --shop demo jobs

baywright is a planning aid. The vehicle maker's current procedure, local codes and licensed
practice decide; a wrong calibration is dangerous.";

/// Plan driver-assistance calibration work across a whole shop.
#[derive(Debug, Parser)]
#[command(name = "baywright", version, after_long_help = EXIT_CODES, max_term_width = 100)]
pub(crate) struct Arguments {
    #[command(flatten)]
    pub(crate) global: Global,
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// Options that stand before or after any command.
#[derive(Debug, Args)]
#[command(next_help_heading = "Options of every command")]
pub(crate) struct Global {
    /// Address of the service.
    #[arg(
        long,
        global = true,
        env = "BAYWRIGHT_SERVER",
        hide_env_values = true,
        value_name = "URL",
        default_value = "http://127.0.0.1:7420"
    )]
    pub(crate) server: String,
    /// Name of the shop; required by every command except apply and solve.
    #[arg(long, global = true, env = "BAYWRIGHT_SHOP", hide_env_values = true, value_name = "ID")]
    pub(crate) shop: Option<String>,
    /// Who acts, for the audit trail; by default the login name, else "command line".
    #[arg(
        long,
        global = true,
        env = "BAYWRIGHT_ACTOR",
        hide_env_values = true,
        value_name = "NAME"
    )]
    pub(crate) actor: Option<String>,
    /// Print the reply as JSON, in the canonical form of protocol buffers.
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// UUID of the request; by default a fresh one. Give the same one again to learn the answer
    /// of a call that may have taken effect.
    #[arg(long, global = true, value_name = "UUID")]
    pub(crate) request_id: Option<Uuid>,
}

impl Global {
    /// Who acts.
    pub(crate) fn actor(&self) -> String {
        let login =
            || ["LOGNAME", "USER", "USERNAME"].iter().find_map(|name| std::env::var(name).ok());
        self.actor
            .clone()
            .or_else(login)
            .filter(|name| !name.trim().is_empty())
            .unwrap_or_else(|| "command line".to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory as _;

    #[test]
    fn the_description_of_the_arguments_holds_together() {
        Arguments::command().debug_assert();
    }
}
