//! The rows of a survey file: one point each.

use super::POINTS_MAX;
use crate::file_fault::FaultSink;
use crate::tree::Lines;
use crate::words::Word as _;
use baywright_api::v1::{HeightPoint, LightPlane, LightReading, Survey};
use baywright_core::fault::Fault;
use csv::StringRecord;
use std::ops::RangeInclusive;

pub(super) const COLUMNS: [&str; 6] = ["kind", "x_mm", "y_mm", "height_mm", "plane", "lux"];
const FLOOR_MM: RangeInclusive<f64> = -200_000.0..=200_000.0;

/// Reads the rows into the survey. `lines_before` is how many lines stand above `text`.
pub(super) fn read(text: &str, lines_before: usize, survey: &mut Survey, faults: &FaultSink) {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let lines = Lines::of(text);
    let mut columns_seen = false;
    for record in reader.records() {
        match record {
            Ok(record) => {
                let from = record.position().map_or(0, csv::Position::byte);
                let line = lines_before + lines.line_at(first_row_from(text, from));
                let row = Row { record: &record, line, faults };
                if columns_seen {
                    row.read_point(survey);
                } else {
                    row.check_columns();
                    columns_seen = true;
                }
            }
            Err(error) => {
                let fault = Fault::new("the row", error, "be plain CSV", "mend quotes and commas");
                faults.push(lines_before + 1, fault);
                return;
            }
        }
    }
    if !columns_seen || survey.heights.is_empty() && survey.light.is_empty() {
        faults.push(
            lines_before + 1,
            Fault::new(
                "the list of points",
                "empty",
                format!("begin with a line \"{}\" and hold at least one point", COLUMNS.join(",")),
                "enter what was measured",
            ),
        );
    }
}

/// Where the row itself begins: the reader counts the empty lines and remarks before it as its own.
fn first_row_from(text: &str, from: u64) -> usize {
    let mut at = usize::try_from(from).unwrap_or(0);
    for line in text.get(at..).unwrap_or_default().split_inclusive('\n') {
        if !(line.trim().is_empty() || line.starts_with('#')) {
            break;
        }
        at += line.len();
    }
    at
}

struct Row<'a> {
    record: &'a StringRecord,
    line: usize,
    faults: &'a FaultSink,
}

impl Row<'_> {
    fn refuse(&self, column: &str, value: &str, limit: &str, remedy: &str) {
        let value = if value.is_empty() { "empty".to_owned() } else { format!("\"{value}\"") };
        self.faults.push(self.line, Fault::new(column, value, limit, remedy));
    }

    fn check_columns(&self) {
        if !self.record.iter().eq(COLUMNS) {
            let given: Vec<&str> = self.record.iter().collect();
            let limit = format!("be {}", COLUMNS.join(","));
            self.refuse(
                "the line of columns",
                &given.join(","),
                &limit,
                "name the columns in this order",
            );
        }
    }

    fn read_point(&self, survey: &mut Survey) {
        if self.record.len() != COLUMNS.len() {
            let count = format!("{} columns", self.record.len());
            self.refuse(
                "the row",
                &count,
                &format!("have the {} columns {}", COLUMNS.len(), COLUMNS.join(",")),
                "leave a column empty where it does not apply, but keep its comma",
            );
            return;
        }
        match &self.record[0] {
            "height" => self.read_height(survey),
            "light" => self.read_light(survey),
            other => self.refuse("kind", other, "be height or light", "say what the row holds"),
        }
    }

    fn read_height(&self, survey: &mut Survey) {
        self.must_be_empty(4);
        self.must_be_empty(5);
        let (x, y) = (self.number(1, FLOOR_MM, "mm"), self.number(2, FLOOR_MM, "mm"));
        let height = self.number(3, -500.0..=500.0, "mm");
        let (Some(x_mm), Some(y_mm), Some(height_mm)) = (x, y, height) else { return };
        self.limit_count(survey.heights.len());
        survey.heights.push(HeightPoint { x_mm, y_mm, height_mm });
    }

    fn read_light(&self, survey: &mut Survey) {
        if survey.light_uncertainty_relative == 0.0 && survey.light.is_empty() {
            self.refuse(
                "light uncertainty",
                "",
                "be stated in a line \"# light uncertainty: 4 %\" where there are light readings",
                "take it from the instrument's papers (JCGM 100)",
            );
        }
        let (x, y) = (self.number(1, FLOOR_MM, "mm"), self.number(2, FLOOR_MM, "mm"));
        let height = self.number(3, 0.0..=10_000.0, "mm");
        let plane = LightPlane::from_word(&self.record[4]);
        if plane.is_none() {
            self.refuse(
                "plane",
                &self.record[4],
                "be horizontal or vertical",
                "say how the sensor was held",
            );
        }
        let lux = self.number(5, 0.0..=200_000.0, "lux");
        let (Some(x_mm), Some(y_mm), Some(height_mm), Some(plane), Some(lux)) =
            (x, y, height, plane, lux)
        else {
            return;
        };
        self.limit_count(survey.light.len());
        survey.light.push(LightReading { x_mm, y_mm, height_mm, plane: plane.into(), lux });
    }

    fn number(&self, column: usize, range: RangeInclusive<f64>, unit: &str) -> Option<f64> {
        let text = &self.record[column];
        let number = text.parse().ok().filter(|number| range.contains(number));
        if number.is_none() {
            let limit = format!("be a number from {} to {} {unit}", range.start(), range.end());
            let remedy = match COLUMNS[column] {
                "height_mm" => "heights are measured from the survey's datum, in millimetres",
                _ => "correct the number or its unit",
            };
            self.refuse(COLUMNS[column], text, &limit, remedy);
        }
        number
    }

    fn must_be_empty(&self, column: usize) {
        if !self.record[column].is_empty() {
            let limit = "be empty in a row of the kind height";
            self.refuse(
                COLUMNS[column],
                &self.record[column],
                limit,
                "leave it out or make the row one of light",
            );
        }
    }

    fn limit_count(&self, count: usize) {
        if count == POINTS_MAX {
            self.refuse(
                "the list of points",
                &format!("more than {POINTS_MAX} of one kind"),
                &format!("hold at most {POINTS_MAX} of one kind"),
                "measure on a wider grid",
            );
        }
    }
}
