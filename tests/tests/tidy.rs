//! The tree keeps its own rules: small files that say what they are for, a commented contract,
//! arrows that point down only, and no paths of anybody's machine.
//!
//! Each check collects everything that is amiss and fails with the list.
#![cfg(test)]

use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The most lines of a Rust file, its trailing tests apart.
const FILE_LINES_MAX: usize = 500;

/// Folders that hold nothing of ours.
const FOREIGN_FOLDERS: [&str; 5] = ["target", ".git", ".venv", "node_modules", "__pycache__"];

/// What must not stand in any file, split so that this file may name it: folders of somebody's
/// machine and hosts of somebody's network.
const FORBIDDEN: [&str; 6] = [
    concat!("/ho", "me/"),
    concat!("/ro", "ot/"),
    concat!("/Us", "ers/"),
    concat!("C:\\Us", "ers"),
    concat!("/wo", "rk/"),
    concat!("arti", "factory"),
];

/// Which of our own crates a crate may build on.
const ARROWS: [(&str, &[&str]); 6] = [
    ("baywright-core", &[]),
    ("baywright-migrations", &[]),
    ("baywright-api", &["baywright-core"]),
    ("baywright-files", &["baywright-api", "baywright-core"]),
    (
        "baywright-service",
        &["baywright-files", "baywright-api", "baywright-core", "baywright-migrations"],
    ),
    ("baywright-cli", &["baywright-files", "baywright-api", "baywright-core"]),
];

/// What the core must not know: no input or output, no database, no wire.
const NOT_IN_THE_CORE: [&str; 4] = ["tokio", "sea-orm", "tonic", "prost"];

#[test]
fn rust_files_are_short() {
    let mut amiss = Vec::new();
    for (path, text) in files_ending(".rs") {
        let lines = text_without_tests(&text).lines().count();
        if path.file_name().is_some_and(|name| name != "tests.rs") && lines > FILE_LINES_MAX {
            amiss.push(format!(
                "{}: {lines} lines without tests; make a folder of it, one idea per file",
                path.display()
            ));
        }
    }
    check_nothing_amiss(&amiss);
}

#[test]
fn rust_files_open_with_what_they_are_for() {
    let amiss: Vec<_> = files_ending(".rs")
        .into_iter()
        .filter(|(_, text)| !text.starts_with("//! "))
        .map(|(path, _)| format!("{}: line 1 must be a `//!` sentence", path.display()))
        .collect();
    check_nothing_amiss(&amiss);
}

#[test]
fn everything_in_the_contract_has_a_comment() {
    let contract = root().join("proto/baywright/v1");
    // The contract stands as soon as there is something that is generated from it.
    assert_eq!(contract.is_dir(), root().join("crates/api/build.rs").is_file());
    let mut amiss = Vec::new();
    for (path, text) in files_ending(".proto") {
        for (line, what) in uncommented(&text) {
            amiss.push(format!("{}:{line}: `{what}` has no comment above it", path.display()));
        }
    }
    check_nothing_amiss(&amiss);
}

#[test]
fn no_file_names_a_place_on_somebodys_machine() {
    let mut amiss = Vec::new();
    for (path, text) in files_ending("") {
        for (index, line) in text.lines().enumerate() {
            for word in FORBIDDEN.iter().filter(|word| line.contains(**word)) {
                amiss.push(format!("{}:{}: holds \"{word}\"", path.display(), index + 1));
            }
        }
    }
    check_nothing_amiss(&amiss);
}

#[test]
fn crates_build_on_those_below_them_only() {
    let metadata = cargo_metadata();
    let packages = metadata["packages"].as_array().expect("cargo lists packages");
    let mut amiss = Vec::new();
    let mut seen = BTreeSet::new();
    for package in packages {
        let name = package["name"].as_str().expect("a package has a name");
        let Some((known, below)) = ARROWS.iter().find(|(known, _)| *known == name) else {
            // Whole-system tests may build on anything.
            assert_eq!(name, "baywright-tests", "give the new crate its arrows");
            continue;
        };
        seen.insert(*known);
        for dependency in built_on(package) {
            if dependency.starts_with("baywright") && !below.contains(&dependency.as_str()) {
                amiss.push(format!("{name} builds on {dependency}; it may on {below:?} only"));
            }
            if name == "baywright-core" && NOT_IN_THE_CORE.contains(&dependency.as_str()) {
                amiss.push(format!("{name} builds on {dependency}; the core is pure"));
            }
        }
    }
    check_nothing_amiss(&amiss);
    assert_eq!(seen.len(), ARROWS.len(), "crates found: {seen:?}");
}

#[track_caller]
fn check_nothing_amiss(amiss: &[String]) {
    assert!(amiss.is_empty(), "{} found:\n{}", amiss.len(), amiss.join("\n"));
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The text files whose name ends so, by their path from the root; at least one but for `.proto`.
fn files_ending(suffix: &str) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    collect(&root(), Path::new(""), suffix, &mut found);
    assert!(!found.is_empty() || suffix == ".proto", "no file ends in \"{suffix}\"");
    found
}

fn collect(root: &Path, folder: &Path, suffix: &str, found: &mut Vec<(PathBuf, String)>) {
    let entries = fs::read_dir(root.join(folder)).expect("a folder of the tree can be read");
    let mut names: Vec<_> = entries.map(|entry| entry.expect("an entry").file_name()).collect();
    names.sort();
    for name in names {
        let (path, name) = (folder.join(&name), name.to_string_lossy().into_owned());
        let full = root.join(&path);
        if full.is_symlink() || FOREIGN_FOLDERS.contains(&name.as_str()) {
            continue;
        }
        if full.is_dir() {
            collect(root, &path, suffix, found);
        } else if name.ends_with(suffix) {
            // What is not text, such as a picture or a database, has no words to check.
            found.extend(fs::read_to_string(&full).ok().map(|text| (path, text)));
        }
    }
}

/// The file up to its trailing `mod tests { .. }`.
fn text_without_tests(text: &str) -> &str {
    text.rfind("\n#[cfg(test)]\nmod tests {").map_or(text, |start| &text[..start])
}

/// The declarations without a comment above or behind them: line and text of each.
fn uncommented(text: &str) -> Vec<(usize, &str)> {
    let mut found = Vec::new();
    let mut commented = false;
    for (index, line) in text.lines().map(str::trim).enumerate() {
        if line.starts_with("//") || line.starts_with("/*") || line.ends_with("*/") {
            commented = true;
            continue;
        }
        let (code, behind) = line.split_once("//").map_or((line, false), |(code, _)| (code, true));
        if declares(code.trim()) && !commented && !behind {
            found.push((index + 1, line));
        }
        commented = false;
    }
    found
}

/// Whether a line of a contract opens a message, enum, service or call, or states a field or an
/// enum value.
fn declares(code: &str) -> bool {
    let first = code.split_whitespace().next().unwrap_or_default();
    match first {
        "message" | "enum" | "service" | "rpc" => true,
        "syntax" | "package" | "import" | "option" | "reserved" | "extensions" | "oneof" => false,
        _ => code.split_once('=').is_some_and(|(name, number)| {
            let named = name.chars().next().is_some_and(|c| c.is_ascii_alphabetic() || c == '.');
            let number = number.trim_start().trim_start_matches('-');
            named && number.starts_with(|c: char| c.is_ascii_digit())
        }),
    }
}

fn cargo_metadata() -> Value {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .args(["metadata", "--format-version", "1", "--no-deps", "--offline"])
        .current_dir(root())
        .output()
        .expect("cargo runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).expect("cargo writes JSON")
}

/// What a package builds on, itself or its build script; its own tests may use more.
fn built_on(package: &Value) -> Vec<String> {
    let dependencies = package["dependencies"].as_array().expect("a package lists dependencies");
    dependencies
        .iter()
        .filter(|dependency| dependency["kind"] != "dev")
        .filter_map(|dependency| dependency["name"].as_str().map(str::to_owned))
        .collect()
}

#[test]
fn the_contract_check_finds_what_has_no_comment() {
    let contract = "
        syntax = \"proto3\";
        // A bay.
        message Bay {
          // Required. Its name.
          string name = 1;
          repeated Station stations = 2;
          double length_mm = 3; // Required. Millimetres.
          // One of two.
          oneof shape {
            map<string, int32> named = 4;
          }
          // Told.
          string etag = 5 [
            (behavior) = 1
          ];
          reserved 6;
        }
        enum State {
          // None.
          STATE_UNSPECIFIED = 0;
          STATE_OPEN = 1;
        }
        // Bays.
        service Bays {
          rpc GetBay(GetBayRequest) returns (GetBayResponse);
        }";
    let found: Vec<_> = uncommented(contract).into_iter().map(|(line, _)| line).collect();
    assert_eq!(found, [7, 11, 19, 22, 26]);
}

#[test]
fn trailing_tests_do_not_count_as_length() {
    let file = "//! A file.\nfn f() {}\n\n#[cfg(test)]\nmod tests {\n    // Long.\n}\n";
    assert_eq!(text_without_tests(file), "//! A file.\nfn f() {}\n");
}
