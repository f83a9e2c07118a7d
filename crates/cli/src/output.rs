//! Writes the files that a command was asked for.

use crate::failure::Failure;
use std::io::Write as _;
use std::path::Path;

/// Writes a file beside its place, then puts it there in one step.
pub(crate) fn write_whole(path: &Path, text: &str) -> Result<(), Failure> {
    let access = |cause| Failure::FileAccess { path: path.to_owned(), cause };
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{}.part", std::process::id()));
    let beside = path.with_file_name(name);
    let written = std::fs::File::create(&beside)
        .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all()))
        .and_then(|()| std::fs::rename(&beside, path));
    if written.is_err() {
        // The first fault is the one to report; a part that was never made cannot be removed.
        let _removed = std::fs::remove_file(&beside);
    }
    written.map_err(access)
}
