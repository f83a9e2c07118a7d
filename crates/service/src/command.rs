//! The command line of `baywright-service`.

use crate::{
    clock::Clock,
    demo::{DemoError, DemoOptions, MORNING, demo, write_files},
    handlers,
    limits::{DRAIN_MAX, REPLAN_AFTER_USUAL},
    serve::{ListenAddress, ReplanOptions, ServeError, ServeOptions, serve},
};
use chrono::{DateTime, Utc};
use clap::{Args, Parser, Subcommand};
use std::{path::PathBuf, time::Duration};

/// Keeps a shop's calibration work and plans it. A planning aid: the vehicle maker's current
/// procedure, local codes and licensed practice decide.
#[derive(Debug, Parser)]
#[command(name = "baywright-service", version)]
pub struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve the shops in a database to callers on this machine.
    #[command(after_long_help = "Example:\n  baywright-service serve --database shop.db\n")]
    Serve(ServeArguments),
    /// Show a whole invented day: serve an invented shop, plan it, print it and stay up.
    ///
    /// Everything in it is invented; no real procedure may be done by its figures. Without
    /// --database it leaves nothing behind. With --story a morning is told step by step instead, and
    /// with --files the files of the shop are written and nothing else is done.
    #[command(after_long_help = "Example:\n  baywright-service demo --listen 127.0.0.1:0\n  \
                                 baywright-service demo --story --once\n  \
                                 baywright-service demo --files shop-files\n")]
    Demo(DemoArguments),
}

/// Why a command does not do what it should.
#[derive(Debug, thiserror::Error)]
pub enum CommandError {
    /// The service does not run.
    #[error(transparent)]
    Serve(#[from] ServeError),
    /// The demonstration does not run.
    #[error(transparent)]
    Demo(#[from] DemoError),
}

#[derive(Debug, Args)]
struct ServeArguments {
    /// Database file; made where there is none.
    #[arg(long, value_name = "PATH", env = "BAYWRIGHT_DATABASE")]
    database: PathBuf,
    /// Address and port to listen on, on this machine only; port 0 means any free one.
    #[arg(long, value_name = "ADDRESS", env = "BAYWRIGHT_LISTEN", default_value_t)]
    listen: ListenAddress,
    /// Instant (RFC 3339) at which the service's clock begins, to run on at real speed;
    /// without it the clock is the machine's.
    #[arg(long, value_name = "INSTANT", env = "BAYWRIGHT_CLOCK_START", value_parser = instant)]
    clock_start: Option<DateTime<Utc>>,
    /// Seconds to wait for accepted work when told to stop.
    #[arg(long, value_name = "SECONDS", env = "BAYWRIGHT_DRAIN_SECONDS",
        default_value_t = DRAIN_MAX.as_secs(), value_parser = clap::value_parser!(u64).range(..=3600))]
    drain_seconds: u64,
    /// Seconds without a further change after which a shop that has a plan is planned anew by the
    /// service itself; 0 means never.
    #[arg(long, value_name = "SECONDS", env = "BAYWRIGHT_REPLAN_AFTER_SECONDS",
        default_value_t = REPLAN_AFTER_USUAL.as_secs_f64(), value_parser = replan_seconds)]
    replan_after_seconds: f64,
}

#[derive(Debug, Args)]
struct DemoArguments {
    /// Address and port to listen on, on this machine only; port 0 means any free one.
    #[arg(long, value_name = "ADDRESS", env = "BAYWRIGHT_LISTEN", default_value_t)]
    listen: ListenAddress,
    /// Database file to make and keep; by default a temporary one that is removed at the end.
    #[arg(long, value_name = "PATH")]
    database: Option<PathBuf>,
    /// End as soon as everything is printed.
    #[arg(long)]
    once: bool,
    /// Tell a simulated morning step by step: arrival, supplement, late part, failed calibration and
    /// redo, hand-back refused and then allowed.
    #[arg(long, conflicts_with = "clock_start")]
    story: bool,
    /// Instant (RFC 3339) at which the day is shown, not before the default; the service's clock runs
    /// on from there at real speed.
    #[arg(long, value_name = "INSTANT", default_value = MORNING, value_parser = instant)]
    clock_start: DateTime<Utc>,
    /// Only write the files of the invented shop into this folder, over none that is there.
    #[arg(long, value_name = "FOLDER", conflicts_with_all = ["database", "once", "story", "clock_start"])]
    files: Option<PathBuf>,
}

impl Arguments {
    /// The log's filter where the environment states none: a demonstration prints its day and logs
    /// only what is amiss.
    pub const fn usual_log_filter(&self) -> &'static str {
        match self.command {
            Command::Serve(_) => "info",
            Command::Demo(_) => "warn",
        }
    }

    /// Does what was asked for.
    ///
    /// # Errors
    /// [`CommandError`] when the service or the demonstration cannot run.
    pub async fn run(self) -> Result<(), CommandError> {
        match self.command {
            Command::Serve(arguments) => {
                serve(arguments.options(), handlers::routes).await.map_err(CommandError::from)
            }
            Command::Demo(DemoArguments { files: Some(folder), .. }) => {
                write_files(&folder).map_err(CommandError::from)
            }
            Command::Demo(arguments) => demo(arguments.options()).await.map_err(CommandError::from),
        }
    }
}

impl DemoArguments {
    fn options(self) -> DemoOptions {
        let Self { listen, database, once, story, clock_start, files: _ } = self;
        DemoOptions { listen, database, once, story, clock_start }
    }
}

impl ServeArguments {
    fn options(self) -> ServeOptions {
        let replan = (self.replan_after_seconds > 0.0)
            .then(|| ReplanOptions::at_once(Duration::from_secs_f64(self.replan_after_seconds)));
        ServeOptions {
            replan,
            clock: self.clock_start.map_or_else(Clock::system, Clock::beginning_at),
            drain_max: Duration::from_secs(self.drain_seconds),
            ..ServeOptions::new(self.database, self.listen)
        }
    }
}

fn instant(text: &str) -> Result<DateTime<Utc>, String> {
    DateTime::parse_from_rfc3339(text).map(|at| at.to_utc()).map_err(|trouble| {
        format!("{trouble}; write date, time and offset, such as 2026-03-02T07:00:00Z")
    })
}

fn replan_seconds(text: &str) -> Result<f64, String> {
    let seconds = text.parse::<f64>().ok().filter(|seconds| (0.0..=3_600.0).contains(seconds));
    seconds.ok_or_else(|| "give seconds from 0 to 3600; 0 means never".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory as _;
    use rstest::rstest;

    #[test]
    fn the_command_line_is_well_formed() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn the_clock_begins_at_a_given_instant() {
        let arguments = ["baywright-service", "serve", "--database", "shop.db"];
        let with_clock = arguments.iter().chain(&["--clock-start", "2026-03-02T08:00:00+01:00"]);
        let command = Arguments::try_parse_from(with_clock).unwrap().command;
        let Command::Serve(serve) = command else { panic!("{command:?}") };
        let options = serve.options();
        let began: DateTime<Utc> = "2026-03-02T07:00:00Z".parse().unwrap();
        let now = options.clock.now();
        assert!(now >= began && now < began + Duration::from_mins(1));
        assert_eq!(options.listen.to_string(), "127.0.0.1:7420");
    }

    #[rstest]
    #[case::when_nobody_says(&[], Some(2_000))]
    #[case::sooner(&["--replan-after-seconds", "0.25"], Some(250))]
    #[case::never(&["--replan-after-seconds", "0"], None)]
    fn plans_are_made_anew_when_changes_have_settled(
        #[case] more: &[&str],
        #[case] after_ms: Option<u64>,
    ) {
        let arguments = ["baywright-service", "serve", "--database", "shop.db"];
        let command = Arguments::try_parse_from(arguments.iter().chain(more)).unwrap().command;
        let Command::Serve(serve) = command else { panic!("{command:?}") };
        let after = serve.options().replan.map(|options| options.after);
        assert_eq!(after, after_ms.map(Duration::from_millis));
    }

    #[rstest]
    #[case::less_than_nothing("-1")]
    #[case::more_than_an_hour("3601")]
    #[case::no_number("soon")]
    fn seconds_out_of_range_are_refused(#[case] seconds: &str) {
        let option = format!("--replan-after-seconds={seconds}");
        let arguments = ["baywright-service", "serve", "--database", "shop.db", &option];
        let refused = Arguments::try_parse_from(arguments).unwrap_err().to_string();
        assert!(refused.contains("seconds from 0 to 3600; 0 means never"), "{refused}");
    }

    #[test]
    fn the_demonstration_begins_on_its_tuesday_morning_unless_told_otherwise() {
        let command = Arguments::try_parse_from(["baywright-service", "demo"]).unwrap().command;
        let Command::Demo(arguments) = command else { panic!("{command:?}") };
        let options = arguments.options();
        assert_eq!(options.clock_start.to_rfc3339(), "2026-05-05T06:30:00+00:00");
        assert_eq!(options.listen.to_string(), "127.0.0.1:7420");
        assert!(options.database.is_none() && !options.once && !options.story);
    }

    #[test]
    fn an_address_that_others_can_reach_is_refused_with_the_remedy() {
        let refused = Arguments::try_parse_from([
            "baywright-service",
            "serve",
            "--database",
            "shop.db",
            "--listen",
            "0.0.0.0:7420",
        ])
        .unwrap_err()
        .to_string();
        assert!(refused.contains("listen on 127.0.0.1"), "{refused}");
    }
}
