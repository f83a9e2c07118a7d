//! Which tasks of a job are meant: by name, by kind, by sensor, or all of them.

use super::Task;
use crate::demand::{PrerequisiteKind, SensorFamily, TaskKind};
use crate::ids::TaskId;
use std::fmt;

/// Some tasks of a job.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum TaskSelector {
    /// The task of this name.
    Task(TaskId),
    /// Every task of this kind.
    Kind(TaskKind),
    /// Every calibration of this sensor.
    Sensor(SensorFamily),
    /// Every task.
    All,
}

impl TaskSelector {
    /// Whether `task` is meant.
    pub fn matches(&self, task: &Task) -> bool {
        match self {
            Self::Task(id) => task.id == *id,
            Self::Kind(kind) => task.kind == *kind,
            Self::Sensor(sensor) => task.sensor == Some(*sensor),
            Self::All => true,
        }
    }
}

impl fmt::Display for TaskSelector {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Task(id) => write!(f, "task:{id}"),
            Self::Kind(kind) => write!(f, "kind:{kind}"),
            Self::Sensor(sensor) => write!(f, "sensor:{sensor}"),
            Self::All => f.write_str("all"),
        }
    }
}

/// Tasks that must have passed before, and minutes that must go by after they end.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct TaskAfter {
    /// The tasks before.
    pub before: TaskSelector,
    /// Minutes after their end.
    pub gap_minutes: u32,
}

/// What a piece of work undoes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum UndoTarget {
    /// Passed tasks that match become open again.
    Tasks(TaskSelector),
    /// Prerequisites of this kind must be signed off again.
    Prerequisite(PrerequisiteKind),
}
