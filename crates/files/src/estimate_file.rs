//! The estimate file: what a sending system says about a visit, as JSON with this project's own
//! keys. The layout is described in `docs/files.md`.

use crate::file_fault::{FaultSink, FileFaults, check_size};
use crate::json_tree;
use crate::reader::{Field, Table};
use baywright_api::v1::{ArrivalKind, Estimate, EstimateLine, SensorFamily, Vehicle};

/// The longest estimate file, bytes.
pub const ESTIMATE_FILE_BYTES_MAX: usize = 1024 * 1024;

/// The longest VIN, characters; what is wrong with a shorter or odd one the service says.
const VIN_LENGTH: usize = 17;

/// Reads an estimate file.
///
/// # Errors
/// Every fault with its line: what is not JSON, keys that are missing, doubled or not known,
/// values out of range.
///
/// # Example: an empty estimate misses every required key
/// ```
/// let faults = baywright_files::estimate_file::parse("{}").unwrap_err();
/// assert!(faults.list().iter().any(|f| f.fault().field == "promise_time"));
/// ```
pub fn parse(text: &str) -> Result<Estimate, FileFaults> {
    check_size(text, ESTIMATE_FILE_BYTES_MAX)?;
    let faults = FaultSink::default();
    let tree = json_tree::parse(text, &faults);
    let estimate = tree
        .as_ref()
        .and_then(|tree| Table::read_file(tree, &faults, estimate))
        .unwrap_or_default();
    faults.finish(estimate)
}

fn estimate(file: &Table<'_>) -> Estimate {
    let estimate = Estimate {
        job_id: file.id("job_id"),
        revision: file.whole("revision", 1..=u32::MAX),
        account_id: file.id("account_id"),
        repair_order: file.text("repair_order"),
        vehicle: file.nested("vehicle", vehicle),
        expected_arrival_time: file.instant("expected_arrival_time"),
        arrival: file.word::<ArrivalKind>("arrival"),
        promise_time: file.instant("promise_time"),
        lines: file.tables("lines", 200, line),
        weight: file.whole_if_any("weight", 1..=100).unwrap_or(1),
    };
    file.some_of("lines", "name what is to be done");
    if let (Some(arrival), Some(promise)) =
        (&estimate.expected_arrival_time, &estimate.promise_time)
        && (promise.seconds, promise.nanos) <= (arrival.seconds, arrival.nanos)
    {
        file.fault(
            "promise_time",
            "not after expected_arrival_time",
            "be later than expected_arrival_time",
            "check both times and their offsets",
        );
    }
    estimate
}

fn vehicle(table: &Table<'_>) -> Vehicle {
    let vin = table.optional("vin").and_then(|field| vin(&field)).unwrap_or_default();
    Vehicle {
        vin,
        vehicle_class_id: table.id("vehicle_class_id"),
        sensors: table
            .each("sensors", 20, Field::word::<SensorFamily>)
            .into_iter()
            .map(Into::into)
            .collect(),
    }
}

/// A VIN by its length; an empty one is not known yet.
fn vin(field: &Field<'_>) -> Option<String> {
    let text = field.raw_text()?;
    let fits = text.is_empty()
        || (text.len() == VIN_LENGTH && text.bytes().all(|byte| byte.is_ascii_alphanumeric()));
    if !fits {
        field.refuse(
            format!("be {VIN_LENGTH} letters and digits, or empty while it is not known"),
            "read it again from the vehicle",
        );
        return None;
    }
    Some(text.to_owned())
}

fn line(table: &Table<'_>) -> EstimateLine {
    EstimateLine {
        operation_id: table.id("operation_id"),
        operation_code: table.id("operation_code"),
        text: table.text_or_empty("text"),
    }
}

#[cfg(test)]
mod tests;
