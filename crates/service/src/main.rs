//! The process `baywright-service`: reads the command line, logs to stderr, runs.

use baywright_service::{command::Arguments, error::chain};
use clap::Parser as _;
use std::{
    io::{self, Write as _},
    process::ExitCode,
};
use tracing_subscriber::EnvFilter;

/// The environment variable with the log's filter; where it is absent the command has its usual one.
const LOG_VARIABLE: &str = "BAYWRIGHT_LOG";

#[tokio::main]
async fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let filter = EnvFilter::try_from_env(LOG_VARIABLE)
        .unwrap_or_else(|_| EnvFilter::new(arguments.usual_log_filter()));
    tracing_subscriber::fmt().with_env_filter(filter).with_writer(io::stderr).init();
    match arguments.run().await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            // Where even stderr is gone there is nobody left to tell.
            drop(writeln!(io::stderr(), "error: {}", chain(&error)));
            ExitCode::FAILURE
        }
    }
}
