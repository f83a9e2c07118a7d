//! Codes that a scan found, as options.

use baywright_api::v1::FoundCode;
use clap::Args;

/// Every code found.
#[derive(Debug, Args)]
pub(crate) struct Codes {
    /// A code that the scan found, with what it says; may be repeated.
    #[arg(long, value_name = "CODE[=TEXT]")]
    code: Vec<String>,
    /// A code that forbids calibration and hand-back; may be repeated.
    #[arg(long, value_name = "CODE[=TEXT]")]
    blocking_code: Vec<String>,
}

impl Codes {
    /// The messages, blocking codes first.
    pub(crate) fn found(&self) -> Vec<FoundCode> {
        let blocking = self.blocking_code.iter().map(|text| found_code(text, true));
        blocking.chain(self.code.iter().map(|text| found_code(text, false))).collect()
    }
}

fn found_code(text: &str, blocking: bool) -> FoundCode {
    let (code, words) = text.split_once('=').unwrap_or((text, ""));
    FoundCode { code: code.to_owned(), text: words.to_owned(), blocking }
}
