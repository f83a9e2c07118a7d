//! Decisions with uncertainty: guard bands after ISO 14253-1 and JCGM 106:2012.

use super::{Case, Comparison, Kind, Mismatch};
use baywright_core::fault::Faults;
use baywright_core::survey::{
    ConformanceProbability, Decision, Limits, conformance_probability, decide,
};
use serde::Deserialize;

/// `measured`, `u` and limits with the `verdict` for a `conformance_probability`.
pub(super) const GUARDED: Kind = Kind {
    name: "guarded decision",
    recognises: |case| case.has(&["measured", "u", "conformance_probability", "verdict"]),
    check: check_guarded,
};

/// `measured` and `u` between `lower` and `upper`, with the probability that the true value is.
pub(super) const BETWEEN_TWO: Kind = Kind {
    name: "conformance probability between two limits",
    recognises: |case| case.has(&["lower", "upper", "measured", "u", "conformance_probability"]),
    check: |case| {
        let stated: BetweenTwo = case.read()?;
        let limits = Limits { lower: Some(stated.lower), upper: Some(stated.upper) };
        let got = conformance_probability(stated.measured, stated.u, limits);
        let mut comparison = Comparison::new();
        let expected = Some(stated.conformance_probability);
        comparison.number("conformance_probability", expected, got, relative(case) * got);
        comparison.finish()
    },
};

/// A limit and a relative uncertainty, with the reading from which it is passed for certain.
pub(super) const REJECTION: Kind = Kind {
    name: "rejection limit",
    recognises: |case| {
        case.has(&["limit_km_h", "relative_u", "probability", "rejection_limit_km_h"])
    },
    check: check_rejection,
};

/// The share of a value by which a result may be off where a file states none.
const TOLERANCE_RELATIVE: f64 = 1e-9;

fn relative(case: &Case<'_>) -> f64 {
    case.setting("tolerance_relative").unwrap_or(TOLERANCE_RELATIVE)
}

#[derive(Deserialize)]
struct Guarded {
    measured: f64,
    u: f64,
    lower_limit: Option<f64>,
    upper_limit: Option<f64>,
    conformance_probability: f64,
    k: Option<f64>,
    guard_band: Option<f64>,
    verdict: String,
    probability_true_value_conforms: Option<f64>,
    largest_u_that_decides: Option<f64>,
}

fn check_guarded(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: Guarded = case.read()?;
    let limits = Limits { lower: stated.lower_limit, upper: stated.upper_limit };
    let sure = taken(ConformanceProbability::new(stated.conformance_probability))?;
    let decision = decide(stated.measured, stated.u, limits, sure);
    let verdict = match decision {
        Decision::Conforms => "conforms",
        Decision::DoesNotConform => "does not conform",
        Decision::Undecided { .. } => "not decided",
    };
    Mismatch::unless_equal("verdict", &stated.verdict.as_str(), &verdict)?;
    let share = relative(case);
    let mut comparison = Comparison::new();
    let mut number = |name: &str, expected: Option<f64>, got: f64| {
        comparison.number(name, expected, got, share * expected.unwrap_or_default().abs());
    };
    number("k", stated.k, sure.guard_factor());
    number("guard_band", stated.guard_band, sure.guard_factor() * stated.u);
    let probability = conformance_probability(stated.measured, stated.u, limits);
    number("probability_true_value_conforms", stated.probability_true_value_conforms, probability);
    if let Decision::Undecided { largest_u_that_decides } = decision {
        // A difference of two figures loses as many digits as they share.
        number("largest_u_that_decides", stated.largest_u_that_decides, largest_u_that_decides);
    }
    comparison.finish()
}

#[derive(Deserialize)]
struct BetweenTwo {
    lower: f64,
    upper: f64,
    measured: f64,
    u: f64,
    conformance_probability: f64,
}

#[derive(Deserialize)]
struct BeyondCertainty {
    limit_km_h: f64,
    relative_u: f64,
    probability: f64,
    rejection_limit_km_h: f64,
}

fn check_rejection(case: &Case<'_>) -> Result<(), Mismatch> {
    let stated: BeyondCertainty = case.read()?;
    let sure = taken(ConformanceProbability::new(stated.probability))?;
    let at = |reading: f64| {
        let limits = Limits::at_most(stated.limit_km_h);
        decide(reading, stated.relative_u * reading, limits, sure)
    };
    let off = relative(case) * stated.rejection_limit_km_h;
    let above = at(stated.rejection_limit_km_h + off);
    Mismatch::unless_equal("just above", &Decision::DoesNotConform, &above)?;
    let below = at(stated.rejection_limit_km_h - off);
    let undecided = matches!(below, Decision::Undecided { .. });
    Mismatch::unless_equal("just below undecided", &true, &undecided)
}

fn taken<T>(value: Result<T, Faults>) -> Result<T, Mismatch> {
    value.map_err(|faults| Mismatch::new("input that is accepted", faults.to_string()))
}
