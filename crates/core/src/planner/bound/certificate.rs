//! The prices that prove a bound, as the plan's file keeps them.
//!
//! Whoever reads them can derive the bound again from the problem alone: the least that each job
//! costs against the prices, added up, less the sum of the prices; see the format's description in
//! the documentation.

use super::ascent::Market;
use super::prices::Prices;
use crate::fault::Fault;
use crate::planner::check::as_i64;
use crate::planner::read::shown;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::Value;

/// What proves a bound.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Certificate {
    /// The bound that the prices prove by themselves.
    pub bound: i64,
    /// So many parts make one of the cost's units; prices are counted in these parts.
    pub scale: i64,
    /// The dead ends after which the rules of the problem closed what lies between that bound and the
    /// plan's; absent when the prices prove it all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub branches: Option<u64>,
    /// How those rules close it, lesson by lesson; absent also where that would be too long.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closing: Option<ClosingProof>,
    /// Work that shows that the last finish comes no earlier than the bound says; absent where it is not needed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shared_work: Option<SharedWork>,
    /// The prices; what is not named is free.
    pub prices: Vec<UnitPrices>,
}

/// A proof that no plan costs less than a bound: lessons that each follow from the problem's rules and those before it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClosingProof {
    /// No plan costs less.
    pub bound: i64,
    /// What the numbers in the lessons are, from 1, with commas between: a word and positions in the problem's lists, from 0.
    pub numbers: String,
    /// The lessons in order, with commas between: facts of which one holds, with spaces between. `7>45` is "number 7 is at
    /// least 45", `7<44` "at most 44", `7` "at least 1", `-7` "at most 0".
    pub clauses: String,
}

/// Work that only some resources can do, and that takes them so long that the last finish comes late.
///
/// Every step is one of a job that must be planned and needs one of the resources in every option. From the least of their
/// earliest starts on the resources take at least the work shared out evenly, and the least that any of their jobs has left
/// follows (Carlier, European J. of Operational Research 11 (1982), for one; several: from memory).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SharedWork {
    /// The resources' ids.
    pub resources: Vec<String>,
    /// The steps: the job's position in the problem and the step's in the job, from 0; in the file one text, with commas
    /// between.
    #[serde(serialize_with = "write_steps", deserialize_with = "read_steps")]
    pub steps: Vec<[usize; 2]>,
}

/// The prices of one resource or of a group of places that all clash.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct UnitPrices {
    /// The resource's id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resource: Option<String>,
    /// The ids of the places, of which one job at a time holds one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<String>,
    /// The minutes that are not free, in order; in the file one text, "from to price" each, with
    /// commas between.
    #[serde(serialize_with = "write_runs", deserialize_with = "read_runs")]
    pub runs: Vec<PricedRun>,
}

/// Minutes `[from, to)` of one price each: `[from, to, price]`.
pub type PricedRun = [i64; 3];

impl Certificate {
    /// Reads a certificate; whether it proves anything is not judged.
    pub(in crate::planner) fn from_value(value: &Value) -> Result<Self, Fault> {
        Self::deserialize(value).map_err(|error| {
            let shown = shown(value);
            let limit = format!("be a certificate as a plan's file has it ({error})");
            Fault::new("certificate", shown, limit, "leave it out or take it as it was written")
        })
    }

    /// A bound that needs no prices.
    pub(in crate::planner) fn without_prices(bound: i64, work: Option<SharedWork>) -> Self {
        let prices = Vec::new();
        Self { bound, scale: 1, branches: None, closing: None, shared_work: work, prices }
    }

    pub(super) fn new(market: &Market<'_>, prices: &Prices, bound: i64) -> Self {
        let problem = market.problem;
        let resources = market.units.resources;
        let units = (0..market.units.count()).map(|unit| UnitPrices {
            resource: problem.resources.get(unit).map(|resource| resource.id.clone()),
            places: unit.checked_sub(resources).map_or(Vec::new(), |group| {
                let places = market.units.groups[group].iter();
                places.map(|place| problem.places[*place].id.clone()).collect()
            }),
            runs: runs(prices.unit(unit), prices.origin),
        });
        let prices = units.filter(|unit| !unit.runs.is_empty()).collect();
        Self {
            bound,
            scale: market.scale,
            branches: None,
            closing: None,
            shared_work: None,
            prices,
        }
    }
}

fn write_steps<S: Serializer>(steps: &[[usize; 2]], serializer: S) -> Result<S::Ok, S::Error> {
    let text: Vec<String> = steps.iter().map(|[job, step]| format!("{job} {step}")).collect();
    serializer.serialize_str(&text.join(","))
}

fn read_steps<'d, D: Deserializer<'d>>(deserializer: D) -> Result<Vec<[usize; 2]>, D::Error> {
    let text = String::deserialize(deserializer)?;
    let step = |text: &str| {
        let pair = text.split_once(' ').map(|(job, step)| (job.parse(), step.parse()));
        match pair {
            Some((Ok(job), Ok(step))) => Ok([job, step]),
            Some(_) | None => Err(D::Error::custom(format!("no step: {text}"))),
        }
    };
    text.split(',').filter(|text| !text.is_empty()).map(step).collect()
}

fn runs(prices: &[i64], origin: i64) -> Vec<PricedRun> {
    let mut runs: Vec<PricedRun> = Vec::new();
    for (at, price) in prices.iter().enumerate().filter(|(_, price)| **price > 0) {
        let minute = origin + as_i64(at);
        match runs.last_mut() {
            Some([_, to, last]) if *to == minute && last == price => *to += 1,
            _ => runs.push([minute, minute + 1, *price]),
        }
    }
    runs
}

fn write_runs<S: Serializer>(runs: &[PricedRun], serializer: S) -> Result<S::Ok, S::Error> {
    let text: Vec<String> =
        runs.iter().map(|[from, to, price]| format!("{from} {to} {price}")).collect();
    serializer.serialize_str(&text.join(","))
}

fn read_runs<'d, D: Deserializer<'d>>(deserializer: D) -> Result<Vec<PricedRun>, D::Error> {
    let text = String::deserialize(deserializer)?;
    let run = |text: &str| {
        let numbers: Vec<i64> = text.split(' ').map_while(|number| number.parse().ok()).collect();
        <PricedRun>::try_from(numbers).map_err(|numbers| {
            D::Error::custom(format!("no run: {text} ({} numbers)", numbers.len()))
        })
    };
    text.split(',').filter(|text| !text.is_empty()).map(run).collect()
}
