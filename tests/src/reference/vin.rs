//! Vehicle identification numbers: form and check digit, 49 CFR 565.15(c).

use super::{Kind, Mismatch};
use baywright_core::vin::Vin;
use serde::Deserialize;

/// `vin` with `valid`: whether form and check digit are both right.
pub(super) const VALIDITY: Kind = Kind {
    name: "VIN validity",
    recognises: |case| case.has(&["vin", "valid"]),
    check: |case| {
        let Validity { vin, valid } = case.read()?;
        Mismatch::unless_equal("valid", &valid, &is_valid(&vin))
    },
};

/// `vin` with `check`: the check digit that the rule computes.
pub(super) const SUM: Kind = Kind {
    name: "VIN check digit",
    recognises: |case| case.has(&["vin", "check"]),
    check: |case| {
        let Sum { vin, check } = case.read()?;
        let vin = Vin::parse(&vin).map_err(|faults| Mismatch::new("a VIN", faults.to_string()))?;
        Mismatch::unless_equal("check digit", &check, &vin.check_digit_computed())
    },
};

/// `text` with `fault` in a section about VINs: a text that is not a valid one.
pub(super) const REFUSAL: Kind = Kind {
    name: "VIN refusal",
    recognises: |case| case.section.starts_with("vin") && case.has(&["text", "fault"]),
    check: |case| {
        let Refusal { text } = case.read()?;
        Mismatch::unless_equal("valid", &false, &is_valid(&text))
    },
};

#[derive(Deserialize)]
struct Validity {
    vin: String,
    valid: bool,
}

#[derive(Deserialize)]
struct Sum {
    vin: String,
    check: char,
}

#[derive(Deserialize)]
struct Refusal {
    text: String,
}

/// The core takes a number with a wrong check digit and warns; a case calls it not valid.
fn is_valid(text: &str) -> bool {
    Vin::parse(text).is_ok_and(Vin::check_digit_valid)
}
