//! How a command can end otherwise than well, the exit code of each way, and what a person reads.

use crate::refusal;
use baywright_files::FileFaults;
use std::fmt;
use std::path::PathBuf;
use tonic::Status;

/// Why a command did not do what it was asked to.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The service said no.
    Refused(Box<Status>),
    /// The service has no task to give now, but something becomes ready at this local time.
    NothingReady { status: Box<Status>, next_time: String },
    /// The technician does not hold the task, so there is no fencing number to look up.
    NotHeld { technician: String, job: String, task: String },
    /// The arguments do not go together.
    Usage { sentence: String, hint: String },
    /// A file cannot be read or written.
    FileAccess { path: PathBuf, cause: std::io::Error },
    /// A file is longer than its sort may be.
    FileTooLong { path: PathBuf, bytes: u64, bytes_max: u64 },
    /// Files with their faults.
    FileFaults(Vec<(PathBuf, FileFaults)>),
    /// A planning problem with its faults, each a sentence that begins with a JSON path.
    ProblemFaults { path: PathBuf, faults: Vec<String> },
    /// The planner has no plan to give.
    NoPlan { sentence: String },
    /// A chain of records does not fit.
    NotProved { sentence: String, proved: u64 },
    /// The service cannot be reached or did not answer.
    Unreachable { server: String, cause: String },
    /// Standard output cannot be written.
    Output(std::io::Error),
    /// The machine would not give what a command needs to run.
    Machine(std::io::Error),
    /// A reply that this version cannot show.
    Reply(String),
}

impl Failure {
    pub(crate) fn usage(sentence: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::Usage { sentence: sentence.into(), hint: hint.into() }
    }

    /// The documented exit code.
    pub(crate) fn exit_code(&self) -> u8 {
        match self {
            Self::Refused(_)
            | Self::NothingReady { .. }
            | Self::NotHeld { .. }
            | Self::NoPlan { .. }
            | Self::NotProved { .. }
            | Self::Reply(_) => 1,
            Self::Usage { .. }
            | Self::FileAccess { .. }
            | Self::FileTooLong { .. }
            | Self::FileFaults(_)
            | Self::ProblemFaults { .. }
            | Self::Output(_)
            | Self::Machine(_) => 2,
            Self::Unreachable { .. } => 3,
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Refused(status) => f.write_str(&refusal::sentences(status)),
            Self::NothingReady { status, next_time } => {
                write!(
                    f,
                    "{}\nnext: something becomes ready at {next_time}.",
                    refusal::sentences(status)
                )
            }
            Self::NotHeld { technician, job, task } => write!(
                f,
                "error: technician {technician} does not hold task {task} of job {job}.\n\
                 hint: `baywright holdings` lists what is held, `baywright next {technician}` pulls the next task."
            ),
            Self::Usage { sentence, hint } => write!(f, "error: {sentence}\nhint: {hint}"),
            Self::FileAccess { path, cause } => write!(
                f,
                "error: {} cannot be used: {cause}.\nhint: check the path and your rights to it.",
                path.display()
            ),
            Self::FileTooLong { path, bytes, bytes_max } => write!(
                f,
                "error: {} is {bytes} bytes long; it must be at most {bytes_max} bytes.\n\
                 hint: split the file or leave out what is not needed.",
                path.display()
            ),
            Self::FileFaults(files) => write_file_faults(f, files),
            Self::ProblemFaults { path, faults } => {
                for fault in faults {
                    writeln!(f, "error: {}: {fault}", path.display())?;
                }
                write!(
                    f,
                    "hint: the format is described in the planning documents; nothing was planned."
                )
            }
            Self::NoPlan { sentence } => write!(
                f,
                "error: {sentence}.\nhint: give more epochs, or let jobs be left out with leave_out_cost."
            ),
            Self::NotProved { sentence, proved } => write!(
                f,
                "error: {sentence}\n\
                 hint: the records up to number {proved} fit; keep the database file and its backups as they are, and find out who \
                 had access to them."
            ),
            Self::Unreachable { server, cause } => write!(
                f,
                "error: the service at {server} cannot be reached: {cause}.\n\
                 hint: start it with `baywright-service serve`, or name its address with --server or BAYWRIGHT_SERVER."
            ),
            Self::Output(cause) => write!(
                f,
                "error: standard output cannot be written: {cause}.\n\
                 hint: the call itself was answered; read again where you need the answer."
            ),
            Self::Machine(cause) => {
                write!(
                    f,
                    "error: the command cannot run here: {cause}.\nhint: free memory or handles."
                )
            }
            Self::Reply(what) => write!(
                f,
                "error: the reply cannot be shown: {what}.\nhint: service and command are of different versions."
            ),
        }
    }
}

fn write_file_faults(f: &mut fmt::Formatter<'_>, files: &[(PathBuf, FileFaults)]) -> fmt::Result {
    let mut count = 0;
    for (path, faults) in files {
        for fault in faults.list() {
            writeln!(f, "{}", fault.in_file(&path.display().to_string()))?;
        }
        count += faults.list().len() + faults.more();
    }
    let noun = if count == 1 { "fault" } else { "faults" };
    write!(f, "{count} {noun}; nothing was sent.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_technician_reads_when_something_becomes_ready() {
        let status =
            Box::new(Status::failed_precondition("nothing is ready for this technician now"));
        let failure =
            Failure::NothingReady { status, next_time: "2026-05-05 07:45 WEST".to_owned() };
        assert_eq!(
            failure.to_string(),
            "error: nothing is ready for this technician now\n\
             next: something becomes ready at 2026-05-05 07:45 WEST."
        );
        assert_eq!(failure.exit_code(), 1);
    }
}
