//! The leading lines of a survey file: `# key: value`.

use crate::file_fault::FaultSink;
use crate::reader::{TEXT_LENGTH_MAX, is_date};
use crate::words::Word;
use baywright_api::v1::{LampState, Survey};
use baywright_core::fault::Fault;
use baywright_core::ids::SurveyId;
use std::ops::RangeInclusive;

const KEYS: [&str; 15] = [
    "survey",
    "taken on",
    "valid until",
    "instrument",
    "datum",
    "unit",
    "height uncertainty",
    "light uncertainty",
    "colour temperature",
    "datum uncertainty",
    "height correlation",
    "tilt uncertainty",
    "lamps",
    "light valid until",
    "colour temperature uncertainty",
];

/// A header line that says something.
struct Entry<'a> {
    line: usize,
    key: &'a str,
    value: &'a str,
}

struct Header<'a> {
    entries: Vec<Entry<'a>>,
    faults: &'a FaultSink,
}

/// Reads the header; rows and bay are left empty.
pub(super) fn read(lines: &[&str], faults: &FaultSink) -> Survey {
    let header = Header { entries: entries(lines, faults), faults };
    // The unit is stated so that nobody mixes it up; the message has one unit only.
    header.unit();
    Survey {
        survey_id: header.name("survey"),
        bay_id: String::new(),
        taken_on: header.date("taken on"),
        valid_until: header.valid_until(),
        instrument: header.text("instrument", "say in general words what it was measured with"),
        height_uncertainty_mm: header.height_uncertainty(),
        light_uncertainty_relative: header.light_uncertainty(),
        colour_temperature_k: header.colour_temperature(),
        datum: header.text("datum", "name the point that counts as height 0"),
        datum_uncertainty_mm: header.figure_or_0("datum uncertainty", "mm", 100.0),
        height_correlation: header.figure_or_0("height correlation", "", 0.99),
        tilt_uncertainty_mm_per_m: header.figure_or_0("tilt uncertainty", "mm per m", 50.0),
        lamps: header.lamps(),
        light_valid_until: header.light_valid_until(),
        colour_temperature_uncertainty_k: header.figure_or_0(
            "colour temperature uncertainty",
            "K",
            2_000.0,
        ),
        heights: Vec::new(),
        light: Vec::new(),
    }
}

/// Writes the header in the order in which it is described.
pub(super) fn text(survey: &Survey) -> String {
    let datum = if survey.datum.is_empty() { "not stated" } else { &survey.datum };
    let light = survey.light_uncertainty_relative;
    let kelvin = survey.colour_temperature_k;
    let values = [
        Some(survey.survey_id.clone()),
        Some(survey.taken_on.clone()),
        Some(survey.valid_until.clone()),
        Some(survey.instrument.clone()),
        Some(datum.to_owned()),
        Some("mm".to_owned()),
        Some(format!("{} mm", survey.height_uncertainty_mm)),
        (light != 0.0).then(|| format!("{} %", percent(light))),
        Some(kelvin.map_or("not measured".to_owned(), |kelvin| format!("{kelvin} K"))),
        stated(survey.datum_uncertainty_mm, " mm"),
        stated(survey.height_correlation, ""),
        stated(survey.tilt_uncertainty_mm_per_m, " mm per m"),
        (survey.lamps != 0).then(|| LampState::word_of(survey.lamps)),
        (!survey.light_valid_until.is_empty()).then(|| survey.light_valid_until.clone()),
        stated(survey.colour_temperature_uncertainty_k, " K"),
    ];
    KEYS.iter()
        .zip(values)
        .filter_map(|(key, value)| value.map(|value| format!("# {key}: {value}\n")))
        .collect()
}

/// A figure with its unit; 0 says that nobody stated it and is left out.
fn stated(figure: f64, unit: &str) -> Option<String> {
    (figure != 0.0).then(|| format!("{figure}{unit}"))
}

/// The percentage that is read as this share: 0.07 is `7`, not the 7.000000000000001 of the product.
///
/// The product itself always is such a percentage. Let u be the spacing of numbers at the share; that at
/// the percentage is 64 u or 128 u. A percentage that is read as the share lies within 50 u of 100 times
/// it. With 128 u it is the only number that near, so the product is rounded to it; with 64 u the product
/// is off by 32 u at most, which is less than half of u after the division.
#[expect(clippy::float_cmp, reason = "exactly this number must be read back")]
fn percent(share: f64) -> String {
    let product = share * 100.0;
    let is_read_back =
        |text: &String| text.parse().is_ok_and(|number: f64| number / 100.0 == share);
    (0..=9)
        .map(|decimals| format!("{product:.decimals$}"))
        .find(is_read_back)
        .unwrap_or_else(|| product.to_string())
}

/// Lines without a colon are remarks.
fn entries<'a>(lines: &[&'a str], faults: &FaultSink) -> Vec<Entry<'a>> {
    let mut entries: Vec<Entry<'a>> = Vec::new();
    for (at, text) in lines.iter().enumerate() {
        let Some((key, value)) = text.trim_start_matches('#').split_once(':') else { continue };
        let entry = Entry { line: at + 1, key: key.trim(), value: value.trim() };
        if !KEYS.contains(&entry.key) {
            let limit = format!("be one of {}", KEYS.join(", "));
            let remedy = "correct the spelling; a remark has no colon";
            faults.push(
                entry.line,
                Fault::new(entry.key, "a key that is not known here", limit, remedy),
            );
        } else if let Some(first) = entries.iter().find(|other| other.key == entry.key) {
            let value = format!("given twice, first on line {}", first.line);
            faults.push(entry.line, Fault::new(entry.key, value, "be given once", "leave one out"));
        } else {
            entries.push(entry);
        }
    }
    entries
}

impl<'a> Header<'a> {
    fn find(&self, key: &str) -> Option<&Entry<'a>> {
        self.entries.iter().find(|entry| entry.key == key)
    }

    fn refuse(&self, key: &str, limit: &str, remedy: &str) {
        let (line, value) = self.find(key).map_or((1, "missing".to_owned()), |entry| {
            (entry.line, format!("\"{}\"", entry.value))
        });
        self.faults.push(line, Fault::new(key, value, limit, remedy));
    }

    fn text(&self, key: &str, remedy: &str) -> String {
        let value = self.find(key).map(|entry| entry.value).unwrap_or_default();
        if value.is_empty() || value.chars().count() > TEXT_LENGTH_MAX {
            self.refuse(key, &format!("be 1 to {TEXT_LENGTH_MAX} characters"), remedy);
        }
        value.to_owned()
    }

    fn name(&self, key: &str) -> String {
        let value = self.find(key).map(|entry| entry.value).unwrap_or_default();
        if let Err(faults) = SurveyId::new(value) {
            for fault in faults.into_list() {
                self.refuse(key, &fault.limit, "choose a short name without spaces");
            }
        }
        value.to_owned()
    }

    fn date(&self, key: &str) -> String {
        let value = self.find(key).map(|entry| entry.value).unwrap_or_default();
        if !is_date(value) {
            self.refuse(key, "be a date such as 2026-05-04", "write year, month and day");
        }
        value.to_owned()
    }

    fn valid_until(&self) -> String {
        let until = self.date("valid until");
        let taken = self.find("taken on").map(|entry| entry.value).unwrap_or_default();
        // Dates of this form stand in the order of their texts.
        if is_date(&until) && is_date(taken) && until.as_str() <= taken {
            self.refuse(
                "valid until",
                &format!("be later than {taken}, the day it was taken"),
                "name the first day on which it no longer counts",
            );
        }
        until
    }

    fn unit(&self) {
        if self.find("unit").is_none_or(|entry| entry.value != "mm") {
            self.refuse("unit", "be mm", "turn all lengths into millimetres and say so");
        }
    }

    fn height_uncertainty(&self) -> f64 {
        self.figure("height uncertainty", "mm", 0.001..=100.0, 1.0).unwrap_or_else(|| {
            self.refuse(
                "height uncertainty",
                "be the standard uncertainty of one height with its unit, such as \"0.3 mm\", 0.001 to 100 mm",
                "take it from the instrument's papers (JCGM 100); the word mm belongs to it",
            );
            0.0
        })
    }

    fn light_uncertainty(&self) -> f64 {
        if self.find("light uncertainty").is_none() {
            return 0.0;
        }
        self.figure("light uncertainty", "%", 0.01..=100.0, 100.0).unwrap_or_else(|| {
            self.refuse(
                "light uncertainty",
                "be the standard uncertainty of one reading in percent, such as \"4 %\", 0.01 to 100 %",
                "take it from the instrument's papers (JCGM 100)",
            );
            0.0
        })
    }

    fn colour_temperature(&self) -> Option<f64> {
        let entry = self.find("colour temperature")?;
        if entry.value == "not measured" {
            return None;
        }
        let kelvin = self.figure("colour temperature", "K", 1_000.0..=20_000.0, 1.0);
        if kelvin.is_none() {
            self.refuse(
                "colour temperature",
                "be kelvin such as \"4000 K\", 1000 to 20000 K, or \"not measured\"",
                "take it from the lamps or measure it",
            );
        }
        kelvin
    }

    /// A figure from 0 to `most` that may be left out.
    fn figure_or_0(&self, key: &str, unit: &str, most: f64) -> f64 {
        if self.find(key).is_none() {
            return 0.0;
        }
        self.figure(key, unit, 0.0..=most, 1.0).unwrap_or_else(|| {
            let with_unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
            self.refuse(
                key,
                &format!("be a number with its unit, 0 to {most}{with_unit}"),
                "take it from the instrument's papers (JCGM 100) or leave the line out",
            );
            0.0
        })
    }

    fn lamps(&self) -> i32 {
        let Some(entry) = self.find("lamps") else { return 0 };
        LampState::from_word(entry.value).map_or_else(
            || {
                let words: Vec<String> = LampState::all().into_iter().map(Word::word).collect();
                let limit = format!("be {}", words.join(" or "));
                self.refuse("lamps", &limit, "say how the lamps were while the light was read");
                0
            },
            Into::into,
        )
    }

    fn light_valid_until(&self) -> String {
        let Some(entry) = self.find("light valid until") else { return String::new() };
        let taken = self.find("taken on").map(|entry| entry.value).unwrap_or_default();
        let until = self.find("valid until").map(|entry| entry.value).unwrap_or_default();
        let is_within = is_date(entry.value) && taken < entry.value && entry.value <= until;
        if !is_within {
            self.refuse(
                "light valid until",
                "be a date such as 2026-11-04, later than the day it was taken and not later than \"valid until\"",
                "name the first day on which the light readings no longer count, or leave it out",
            );
        }
        entry.value.to_owned()
    }

    /// A number with its unit behind it, divided by `divisor`.
    fn figure(
        &self,
        key: &str,
        unit: &str,
        range: RangeInclusive<f64>,
        divisor: f64,
    ) -> Option<f64> {
        let number: f64 = self.find(key)?.value.strip_suffix(unit)?.trim().parse().ok()?;
        range.contains(&number).then_some(number / divisor)
    }
}
