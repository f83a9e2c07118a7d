//! The binaries for tests of the whole process.
//!
//! Cargo tells only a package's own tests where its binary is: `cargo test --workspace` has built
//! it, `cargo test -p baywright-tests` has not. The compiler's list of what a binary was made from
//! says whether it is still up to date.
#![cfg(test)]

use std::{
    env, fs,
    path::{Path, PathBuf},
    process::Command,
    sync::OnceLock,
    time::SystemTime,
};

/// The path of the service's binary, up to date; it is built where there is none.
pub(crate) fn service_binary() -> &'static Path {
    static BINARY: OnceLock<PathBuf> = OnceLock::new();
    BINARY.get_or_init(|| binary("baywright-service", "baywright-service"))
}

/// The path of a package's binary, up to date; it is built where there is none.
pub(crate) fn binary(package: &str, name: &str) -> PathBuf {
    let profile = profile_folder();
    let binary = profile.join(format!("{name}{}", env::consts::EXE_SUFFIX));
    if !is_current(&binary) {
        build(package, &profile);
    }
    assert!(binary.is_file(), "{} must be there", binary.display());
    binary
}

/// Where cargo puts binaries: this test is `TARGET/PROFILE/deps/NAME`.
pub(crate) fn profile_folder() -> PathBuf {
    env::current_exe().unwrap().ancestors().nth(2).unwrap().to_owned()
}

/// Whether nothing that the binary was made from is newer than it is.
fn is_current(binary: &Path) -> bool {
    let (Some(built), Ok(list)) = (changed(binary), fs::read_to_string(binary.with_extension("d")))
    else {
        return false;
    };
    // One line, `BINARY: SOURCE SOURCE`, with spaces within a path escaped.
    let Some((_, sources)) = list.trim_end().split_once(": ") else { return false };
    let sources = sources.replace("\\ ", "\0");
    sources.split(' ').all(|source| {
        changed(Path::new(&source.replace('\0', " "))).is_some_and(|changed| changed <= built)
    })
}

fn changed(path: &Path) -> Option<SystemTime> {
    fs::metadata(path).ok()?.modified().ok()
}

fn build(package: &str, profile: &Path) {
    let name = match profile.file_name().and_then(|name| name.to_str()) {
        Some("debug") | None => "dev",
        Some(name) => name,
    };
    let built = Command::new(env!("CARGO"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(["build", "--quiet", "--package", package, "--profile", name])
        .arg("--target-dir")
        .arg(profile.parent().unwrap())
        .status()
        .unwrap();
    assert!(built.success(), "{package} must build");
}
