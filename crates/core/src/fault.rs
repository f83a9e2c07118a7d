//! What is wrong with a value that came from outside: field, value, limit and remedy.
//!
//! Every checking constructor collects all faults of what it was given instead of stopping at
//! the first, so that a person mends a file or a form once. The rim turns each fault into a
//! sentence; the four parts stay apart so that a program can read them too.

use std::fmt;

/// The most faults that one list keeps: nobody mends more of them at once, and a broken file of
/// millions of lines must not fill the memory with sentences.
pub const FAULTS_MAX: usize = 1_000;

/// One fault of a given value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Where it stands, as a path: `bays[2].stations[0].heading_deg`.
    pub field: String,
    /// The value as it was given, shortened where it is long.
    pub value: String,
    /// What the field allows: "lie between -500 and 500 mm".
    pub limit: String,
    /// What to do about it: "measure heights from the survey's datum".
    pub remedy: String,
}

impl Fault {
    /// States a fault. The value is shown with `Display` and shortened to 80 characters.
    pub fn new(
        field: impl Into<String>,
        value: impl fmt::Display,
        limit: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        let whole = value.to_string();
        let mut value: String = whole.chars().take(80).collect();
        if value.len() < whole.len() {
            value.push('…');
        }
        Self { field: field.into(), value, limit: limit.into(), remedy: remedy.into() }
    }

    /// The same fault seen from one level further out: `stations[0]` inside `bays[2]`.
    #[must_use]
    pub fn inside(mut self, outer: &str) -> Self {
        self.field = if outer.is_empty() {
            self.field
        } else if self.field.is_empty() {
            outer.to_owned()
        } else if self.field.starts_with('[') {
            format!("{outer}{}", self.field)
        } else {
            format!("{outer}.{}", self.field)
        };
        self
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} is {}; it must {}; {}", self.field, self.value, self.limit, self.remedy)
    }
}

/// All faults of one value; never empty.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", first_and_more(.0))]
pub struct Faults(Vec<Fault>);

fn first_and_more(faults: &[Fault]) -> String {
    match faults {
        [] => String::new(),
        [only] => only.to_string(),
        [first, more @ ..] => format!("{first} (and {} more)", more.len()),
    }
}

impl Faults {
    /// The faults in the order found; at least one.
    pub fn list(&self) -> &[Fault] {
        &self.0
    }

    /// The faults themselves, to be put under an outer path or turned into sentences.
    pub fn into_list(self) -> Vec<Fault> {
        self.0
    }
}

impl From<Fault> for Faults {
    fn from(fault: Fault) -> Self {
        Self(vec![fault])
    }
}

/// Collects faults while a value is being checked, the first [`FAULTS_MAX`] of them.
#[derive(Debug, Default)]
pub struct FaultList(Vec<Fault>);

impl FaultList {
    /// An empty list.
    pub fn new() -> Self {
        Self::default()
    }

    /// Notes one fault.
    pub fn push(&mut self, fault: Fault) {
        if self.0.len() < FAULTS_MAX {
            self.0.push(fault);
        }
    }

    /// Takes the value of `result`, or notes its faults under the path `outer`.
    pub fn take<T>(&mut self, outer: &str, result: Result<T, Faults>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(faults) => {
                let room = FAULTS_MAX - self.0.len();
                let inside = faults.into_list().into_iter().map(|fault| fault.inside(outer));
                self.0.extend(inside.take(room));
                None
            }
        }
    }

    /// Notes a fault unless `value` is a number within `least..=most`.
    pub fn number_within(&mut self, field: &str, value: f64, least: f64, most: f64, unit: &str) {
        if !(least..=most).contains(&value) {
            self.push(Fault::new(
                field,
                value,
                format!("be a number from {least} to {most} {unit}"),
                "correct the number or its unit",
            ));
        }
    }

    /// The value when nothing was noted.
    ///
    /// # Errors
    /// All noted faults, when there is one or more.
    pub fn finish<T>(self, value: T) -> Result<T, Faults> {
        if self.0.is_empty() { Ok(value) } else { Err(Faults(self.0)) }
    }

    /// Whether nothing was noted yet.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}
