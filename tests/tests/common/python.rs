//! The Python clients, for tests that run them against a service of their own.
#![cfg(test)]

use crate::common::profile_folder;
use std::{
    env,
    ffi::OsString,
    fs::{self, File},
    path::{Path, PathBuf},
    process::{Command, Output},
    sync::OnceLock,
};

/// Runs a script of the Python folder to its end.
pub(crate) fn script(name: &str, arguments: &[&str]) -> Output {
    let mut command = Command::new(python());
    // Nothing is written beside the script.
    command.arg("-B").arg(python_folder().join(name)).args(arguments).output().unwrap()
}

fn python_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("python")
}

/// The Python that `BAYWRIGHT_PYTHON` names, else one with the packages of `requirements.txt` in a
/// virtual environment of the target folder.
fn python() -> &'static Path {
    static PYTHON: OnceLock<PathBuf> = OnceLock::new();
    PYTHON.get_or_init(|| {
        env::var_os("BAYWRIGHT_PYTHON").map_or_else(virtual_environment, PathBuf::from)
    })
}

fn virtual_environment() -> PathBuf {
    let target = profile_folder().parent().unwrap().to_owned();
    let (folder, requirements) = (target.join("venv"), python_folder().join("requirements.txt"));
    // Two test processes make it one after the other.
    let lock = File::create(target.join("venv.lock")).unwrap();
    lock.lock().unwrap();
    let (python, installed) =
        (folder.join("bin/python"), folder.join("requirements.installed.txt"));
    let wanted = fs::read(&requirements).unwrap();
    if fs::read(&installed).ok().as_ref() != Some(&wanted) {
        let system = env::var_os("PYTHON").unwrap_or_else(|| OsString::from("python3"));
        succeed(Command::new(system).args(["-m", "venv", "--clear"]).arg(&folder));
        let install = ["-m", "pip", "install", "--quiet", "--disable-pip-version-check"];
        succeed(Command::new(&python).args(install).arg("--requirement").arg(&requirements));
        fs::write(&installed, wanted).unwrap();
    }
    python
}

#[track_caller]
fn succeed(command: &mut Command) {
    let output = command.output().unwrap_or_else(|cause| panic!("{command:?}: {cause}"));
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
}
