//! What one calibration demands, written down by the shop from the vehicle maker's document.
//!
//! A planning aid: the maker's current document decides, which is why each procedure names it and
//! the day on which it was last compared.

use crate::demand::{Method, MethodDraft, SensorFamily, TaskKind};
use crate::draft_checks::{at_most, one_line, unique};
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::{ProcedureId, StartCheckId};
use chrono::NaiveDate;

/// The most methods of a procedure.
pub const METHODS_MAX: usize = 20;
/// The most start checks of a procedure.
pub const START_CHECKS_MAX: usize = 50;

/// The document from which a procedure was written down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DocumentRef {
    /// Where to find it, one line.
    pub reference: String,
    /// The day on which the procedure was last compared with it.
    pub checked_on: NaiveDate,
}

/// A question answered at the vehicle before work starts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StartCheck {
    /// Its name, unique within the procedure.
    pub id: StartCheckId,
    /// The question, one line; yes means that work may start.
    pub question: String,
}

/// A procedure as it was given, not yet checked.
#[derive(Debug, Clone, PartialEq)]
pub struct ProcedureDraft {
    /// Its name.
    pub id: ProcedureId,
    /// What it is called, one line.
    pub title: String,
    /// The kind of work.
    pub kind: TaskKind,
    /// The sensor that is aimed; given for a calibration.
    pub sensor: Option<SensorFamily>,
    /// The document it was written down from.
    pub document: DocumentRef,
    /// The ways of doing it, the preferred one first; 1 to [`METHODS_MAX`].
    pub methods: Vec<MethodDraft>,
    /// What is asked at the vehicle before work starts; at most [`START_CHECKS_MAX`].
    pub start_checks: Vec<StartCheck>,
}

/// What one piece of work demands.
#[derive(Debug, Clone, PartialEq)]
pub struct Procedure {
    id: ProcedureId,
    title: String,
    kind: TaskKind,
    sensor: Option<SensorFamily>,
    document: DocumentRef,
    methods: Vec<Method>,
    start_checks: Vec<StartCheck>,
}

impl Procedure {
    /// Checks and takes a procedure.
    ///
    /// # Errors
    /// Every fault of its texts, list lengths and methods; a calibration without a sensor; a
    /// procedure without a method; a name of a method or start check used twice.
    pub fn new(draft: ProcedureDraft) -> Result<Self, Faults> {
        let ProcedureDraft { id, title, kind, sensor, document, methods, start_checks } = draft;
        let mut faults = FaultList::new();
        one_line(&mut faults, "title", &title);
        if kind == TaskKind::Calibration && sensor.is_none() {
            faults.push(Fault::new(
                "sensor",
                "absent",
                "be given for a calibration",
                "name the family of the sensor that is aimed",
            ));
        }
        one_line(&mut faults, "document.reference", &document.reference);
        if methods.is_empty() {
            faults.push(Fault::new(
                "methods",
                "empty",
                "hold at least one method",
                "describe one way of doing the work",
            ));
        }
        at_most(&mut faults, "methods", methods.len(), METHODS_MAX);
        unique(&mut faults, "methods", methods.iter().map(|method| &method.id));
        let methods: Vec<_> = methods
            .into_iter()
            .enumerate()
            .filter_map(|(at, method)| faults.take(&format!("methods[{at}]"), Method::new(method)))
            .collect();
        at_most(&mut faults, "start_checks", start_checks.len(), START_CHECKS_MAX);
        unique(&mut faults, "start_checks", start_checks.iter().map(|check| &check.id));
        for (at, check) in start_checks.iter().enumerate() {
            one_line(&mut faults, &format!("start_checks[{at}].question"), &check.question);
        }
        faults.finish(Self { id, title, kind, sensor, document, methods, start_checks })
    }

    /// Its name.
    pub fn id(&self) -> &ProcedureId {
        &self.id
    }

    /// What it is called.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The kind of work.
    pub fn kind(&self) -> TaskKind {
        self.kind
    }

    /// The sensor that is aimed; always there for a calibration.
    pub fn sensor(&self) -> Option<SensorFamily> {
        self.sensor
    }

    /// The document it was written down from.
    pub fn document(&self) -> &DocumentRef {
        &self.document
    }

    /// The ways of doing it, the preferred one first; at least one.
    pub fn methods(&self) -> &[Method] {
        &self.methods
    }

    /// What is asked at the vehicle before work starts.
    pub fn start_checks(&self) -> &[StartCheck] {
        &self.start_checks
    }
}
