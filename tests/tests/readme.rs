//! The README's shell blocks, one after another in one shell and a fresh folder, with the built
//! binaries on the path.
#![cfg(test)]
#![cfg(unix)]

mod common;

use common::{binary, service_binary};
use std::{
    env,
    ffi::OsString,
    fs,
    net::TcpListener,
    path::{Path, PathBuf},
    process::{Command, Output},
};
use tempfile::TempDir;

const README: &str = include_str!("../../README.md");

/// The fewest blocks that the quick tour consists of.
const BLOCKS_MIN: usize = 8;

#[test]
fn the_shell_blocks_of_the_readme_run_one_after_another_in_a_fresh_folder() {
    let blocks = shell_blocks(README);
    assert!(blocks.len() >= BLOCKS_MIN, "{blocks:#?}");
    let folder = Folder::new();

    let run = folder.run(&blocks);

    let said = String::from_utf8_lossy(&run.stdout);
    let failed = format!(
        "{said}{}{}",
        String::from_utf8_lossy(&run.stderr),
        fs::read_to_string(folder.path().join("service.log")).unwrap_or_default()
    );
    assert!(run.status.success(), "{failed}");
    assert_eq!(said.matches("== block ").count(), blocks.len(), "{failed}");
    // What the text around the blocks says has come true.
    for wanted in [
        "Task pre-scan is not done yet",
        "Job J-1006 is handed-back",
        "4 records fit, up to number 4.",
        "plan.json: proved best",
    ] {
        assert!(said.contains(wanted), "{wanted:?} was not said: {failed}");
    }
    assert!(folder.path().join("plan.json").is_file(), "{failed}");
}

#[test]
fn a_block_that_fails_is_noticed_and_named() {
    let folder = Folder::new();
    let blocks = ["true\n", "false\ntrue\n", "touch reached\n"];

    let run = folder.run(&blocks);

    assert!(!run.status.success());
    let said = String::from_utf8_lossy(&run.stdout);
    assert!(said.contains("== block 2\n") && !said.contains("== block 3\n"), "{said}");
    assert!(!folder.path().join("reached").exists());
}

/// Every block that is marked as shell, in its order.
fn shell_blocks(text: &str) -> Vec<&str> {
    let after = text.split("\n```sh\n").skip(1);
    after.map(|rest| rest.split_once("\n```").expect("the block ends").0).collect()
}

/// A fresh folder; a service that was left running in it ends with the value.
struct Folder(TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn path(&self) -> &Path {
        self.0.path()
    }

    /// Runs the blocks in one shell that ends at the first command that fails.
    fn run(&self, blocks: &[&str]) -> Output {
        let numbered = (1..).zip(blocks);
        let numbered =
            numbered.map(|(number, block)| format!("echo '== block {number}'\n{block}\n"));
        let script = numbered.collect::<Vec<_>>().concat();
        // A free port: others may be testing on this machine.
        let free = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = free.local_addr().unwrap().to_string();
        drop(free);
        Command::new("sh")
            .args(["-eu", "-c", &script])
            .current_dir(self.path())
            .env("PATH", search_path())
            .env("BAYWRIGHT_LISTEN", &address)
            .env("BAYWRIGHT_SERVER", format!("http://{address}"))
            .env("TMPDIR", self.path())
            .env_remove("BAYWRIGHT_DATABASE")
            .env_remove("BAYWRIGHT_LOG")
            .output()
            .unwrap()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // After a whole run the service has ended, and nothing is there to be ended.
        let Ok(pid) = fs::read_to_string(self.path().join("service.pid")) else { return };
        let is_ours = fs::read(format!("/proc/{}/cmdline", pid.trim()));
        if is_ours.is_ok_and(|line| String::from_utf8_lossy(&line).contains("baywright-service")) {
            drop(Command::new("kill").arg(pid.trim()).status());
        }
    }
}

/// The binaries' folder, then the usual ones.
fn search_path() -> OsString {
    let binaries = [service_binary().to_owned(), binary("baywright-cli", "baywright")];
    let folders = binaries.iter().map(|binary| binary.parent().unwrap().to_owned());
    let usual = env::var_os("PATH").unwrap();
    let all: Vec<PathBuf> = folders.chain(env::split_paths(&usual)).collect();
    env::join_paths(all).unwrap()
}
