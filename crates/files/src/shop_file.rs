//! The shop file: everything that is written down about a shop, as TOML.
//!
//! The layout is described in `docs/files.md`. What is written down can be written out in the same
//! layout. The reader checks form, spelling and the ranges
//! that the contract states; whether the parts agree with each other (a method's role that
//! nobody has, a polygon that crosses itself) the service says when the file is applied.

mod bay;
mod call_rule;
mod people;
mod procedure;
mod shop;
mod zone;

use crate::file_fault::{FaultSink, FileFaults, check_size};
use crate::reader::{Field, Table};
use crate::toml_text::{Keys, TomlText};
use crate::toml_tree;
use baywright_api::v1;

/// The longest shop file, bytes.
pub const SHOP_FILE_BYTES_MAX: usize = 4 * 1024 * 1024;

/// How a written file begins.
const REMARK: &str = "A shop file, written from what is written down.
What decides about a calibration is the vehicle maker's current procedure, local codes and
licensed practice.";

/// Reads a shop file.
///
/// # Errors
/// Every fault with its line: what is not TOML, keys that are missing or not known, values out
/// of range.
///
/// # Example: an unknown key is a fault on its line
/// ```
/// let text = "[shop]\nid = \"demo\"\ncolour = \"blue\"\n";
/// let faults = baywright_files::shop_file::parse(text).unwrap_err();
/// assert!(faults.list().iter().any(|f| f.line() == 3 && f.fault().field == "shop.colour"));
/// ```
pub fn parse(text: &str) -> Result<v1::ShopDefinition, FileFaults> {
    check_size(text, SHOP_FILE_BYTES_MAX)?;
    let faults = FaultSink::default();
    let tree = toml_tree::parse(text, &faults);
    let definition = Table::read_file(&tree, &faults, definition).unwrap_or_default();
    faults.finish(definition)
}

/// Writes a shop file: for every definition that [`parse`] gives, `parse(&write(&definition))` gives
/// it again. Remarks of the file that it was read from are not kept.
///
/// # Edge cases
/// What a file cannot say (kinds of a later contract, a span of more than 24 hours) is written such that
/// [`parse`] refuses it or reads something else; compare where the definition came from elsewhere.
///
/// # Example: a file read and written says the same
/// ```
/// use baywright_files::shop_file::{parse, write};
/// let text = "shop = { id = \"s\", title = \"S\", time_zone = \"Etc/UTC\", hours = { saturday = \"08:00-12:00\" } }";
/// let definition = parse(text).unwrap();
/// assert!(write(&definition).contains("\n[shop.hours]\nsaturday = \"08:00-12:00\"\n"));
/// assert_eq!(parse(&write(&definition)).unwrap(), definition);
/// ```
pub fn write(definition: &v1::ShopDefinition) -> String {
    let mut file = TomlText::begin(REMARK);
    if let Some(shop) = &definition.shop {
        shop::write(&mut file, shop);
    }
    for bay in &definition.bays {
        bay::write(&mut file, bay);
    }
    for class in &definition.vehicle_classes {
        file.item("vehicle_class", vehicle_class_keys(class));
    }
    for procedure in &definition.procedures {
        procedure::write(&mut file, procedure);
    }
    for rule in &definition.call_rules {
        call_rule::write(&mut file, rule);
    }
    for technician in &definition.technicians {
        people::write_technician(&mut file, technician);
    }
    for unit in &definition.units {
        people::write_unit(&mut file, unit);
    }
    for account in &definition.accounts {
        people::write_account(&mut file, account);
    }
    file.end()
}

fn definition(file: &Table<'_>) -> v1::ShopDefinition {
    v1::ShopDefinition {
        shop: file.nested("shop", shop::read),
        bays: file.tables("bay", 200, bay::read),
        vehicle_classes: file.tables("vehicle_class", 500, vehicle_class),
        procedures: file.tables("procedure", 2_000, procedure::read),
        call_rules: file.tables("call_rule", 2_000, call_rule::read),
        technicians: file.tables("technician", 500, people::technician),
        units: file.tables("unit", 2_000, people::unit),
        accounts: file.tables("account", 2_000, people::account),
    }
}

fn vehicle_class(table: &Table<'_>) -> v1::VehicleClass {
    v1::VehicleClass {
        vehicle_class_id: table.id("id"),
        length_mm: table.number("length_mm", 1_000.0..=20_000.0, "mm"),
        width_mm: table.number("width_mm", 500.0..=4_000.0, "mm"),
        height_mm: table.number("height_mm", 500.0..=5_000.0, "mm"),
        wheelbase_mm: table.number("wheelbase_mm", 500.0..=15_000.0, "mm"),
        front_overhang_mm: table.number("front_overhang_mm", 0.0..=5_000.0, "mm"),
        track_mm: table.number("track_mm", 300.0..=3_500.0, "mm"),
    }
}

fn vehicle_class_keys(class: &v1::VehicleClass) -> Keys {
    Keys::default()
        .text("id", &class.vehicle_class_id)
        .raw("length_mm", class.length_mm)
        .raw("width_mm", class.width_mm)
        .raw("height_mm", class.height_mm)
        .raw("wheelbase_mm", class.wheelbase_mm)
        .raw("front_overhang_mm", class.front_overhang_mm)
        .raw("track_mm", class.track_mm)
}

/// The document that something was written down from.
fn document(field: &Field<'_>) -> Option<v1::Document> {
    field.table(|table: &Table<'_>| v1::Document {
        reference: table.text("reference"),
        checked_on: table.date("checked_on"),
    })
}

fn required_document(table: &Table<'_>) -> Option<v1::Document> {
    table
        .required("document", "be a table with reference and checked_on")
        .and_then(|field| document(&field))
}

fn document_text(document: &v1::Document) -> String {
    let keys = Keys::default().text("reference", &document.reference);
    keys.date("checked_on", &document.checked_on).inline()
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod written_tests;
