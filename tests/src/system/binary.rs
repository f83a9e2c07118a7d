//! Where the service's binary is, built once where it is missing or older than what it is made from.
//!
//! Cargo tells only the service's own tests where its binary is. `cargo test --workspace` has built
//! it; `cargo test -p baywright-tests` has not.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
    sync::OnceLock,
    time::SystemTime,
};

/// What the binary is made from, seen from the root.
const SOURCES: [&str; 15] = [
    "Cargo.lock",
    "Cargo.toml",
    "proto",
    "migrations/Cargo.toml",
    "migrations/src",
    "crates/core/Cargo.toml",
    "crates/core/src",
    "crates/api/Cargo.toml",
    "crates/api/build.rs",
    "crates/api/src",
    "crates/files/Cargo.toml",
    "crates/files/src",
    "crates/service/Cargo.toml",
    "crates/service/src",
    "crates/service/demo",
];

/// The path of a binary that is up to date.
pub(super) fn service_binary() -> &'static Path {
    static BINARY: OnceLock<PathBuf> = OnceLock::new();
    BINARY.get_or_init(|| {
        // This test is TARGET/PROFILE/deps/NAME.
        let test = std::env::current_exe().unwrap();
        let profile = test.ancestors().nth(2).unwrap();
        let binary = profile.join(format!("baywright-service{}", std::env::consts::EXE_SUFFIX));
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
        let built = changed(&binary);
        let newest = SOURCES.iter().filter_map(|source| newest_in(&root.join(source))).max();
        if built.is_none() || built < newest {
            build(root, profile);
        }
        binary
    })
}

fn build(root: &Path, profile: &Path) {
    let name = match profile.file_name().and_then(|name| name.to_str()) {
        Some("debug") | None => "dev",
        Some(name) => name,
    };
    let built = Command::new(env!("CARGO"))
        .current_dir(root)
        .args(["build", "--quiet", "--package", "baywright-service", "--profile", name])
        .arg("--target-dir")
        .arg(profile.parent().unwrap())
        .status()
        .unwrap();
    assert!(built.success(), "the service must build");
}

fn newest_in(path: &Path) -> Option<SystemTime> {
    let Ok(entries) = fs::read_dir(path) else { return changed(path) };
    entries.filter_map(|entry| newest_in(&entry.ok()?.path())).max()
}

fn changed(path: &Path) -> Option<SystemTime> {
    fs::metadata(path).ok()?.modified().ok()
}
