//! What the benchmarks share that try the planner on every problem of a folder.

use baywright_core::planner::{Problem, SolveOptions};
use std::path::{Path, PathBuf};
use std::time::Instant;

/// What was given on the command line.
pub(crate) struct Settings {
    pub(crate) folder: PathBuf,
    only: String,
    pub(crate) seconds: f64,
    pub(crate) options: SolveOptions,
}

/// The settings; none where they cannot be read.
pub(crate) fn settings() -> Option<Settings> {
    let given: Vec<String> = std::env::args().collect();
    let value = |key: &str| {
        let at = given.iter().position(|word| word == key)?;
        given.get(at + 1).cloned()
    };
    let number = |key: &str| value(key).map_or(Some(1), |text| text.parse().ok());
    let threads = u32::try_from(number("--threads")?).ok()?;
    Some(Settings {
        folder: value("--folder")?.into(),
        only: value("--only").unwrap_or_default(),
        seconds: value("--seconds").map_or(Some(1.0), |text| text.parse().ok())?,
        options: SolveOptions { seed: number("--seed")?, threads, epochs: None },
    })
}

impl Settings {
    /// The problems asked for, by name.
    pub(crate) fn problems(&self) -> Vec<(String, PathBuf)> {
        let entries = std::fs::read_dir(&self.folder).into_iter().flatten().flatten();
        let mut paths: Vec<PathBuf> = entries.map(|entry| entry.path()).collect();
        paths.retain(|path| path.extension().is_some_and(|extension| extension == "json"));
        paths.sort();
        let named = |path: PathBuf| Some((path.file_stem()?.to_string_lossy().into_owned(), path));
        let problems = paths.into_iter().filter_map(named);
        problems.filter(|(name, _)| name.contains(&self.only)).collect()
    }
}

/// Reads a problem.
#[expect(clippy::disallowed_methods, reason = "a benchmark reads files")]
pub(crate) fn problem(path: &Path) -> Result<Problem, String> {
    let text = std::fs::read_to_string(path).map_err(|error| error.to_string())?;
    Problem::from_json(&text).map_err(|faults| faults.to_string())
}

/// Seconds since it was begun: with one thread the processor time that the search had, so that other
/// work on the machine does not count (where the system tells it), with more those of the wall clock.
pub(crate) struct Stopwatch {
    pub(crate) wall: Instant,
    processor: Option<f64>,
}

impl Stopwatch {
    #[expect(clippy::disallowed_methods, reason = "a benchmark reads clocks")]
    pub(crate) fn begin(threads: u32) -> Self {
        Self { wall: Instant::now(), processor: processor_seconds().filter(|_| threads == 1) }
    }

    pub(crate) fn passed(&self) -> f64 {
        match (self.processor, processor_seconds()) {
            (Some(begun), Some(now)) => now - begun,
            _ => self.wall.elapsed().as_secs_f64(),
        }
    }
}

/// The processor time of this thread, where the system tells it.
#[expect(clippy::disallowed_methods, reason = "a benchmark reads clocks")]
fn processor_seconds() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    let nanoseconds: u64 = text.split(' ').next()?.parse().ok()?;
    Some(std::time::Duration::from_nanos(nanoseconds).as_secs_f64())
}

#[expect(clippy::cast_precision_loss, reason = "ratios need no exact figures")]
pub(crate) fn real(value: i64) -> f64 {
    value as f64
}
