//! The process itself: what it prints, that it stops on a signal, that it refuses.
#![cfg(test)]
#![cfg(unix)]

use std::{
    io::{BufRead as _, BufReader, Read as _},
    path::Path,
    process::{Child, Command, Stdio},
};
use tonic::transport::Endpoint;
use tonic_health::pb::{HealthCheckRequest, health_client::HealthClient};

const BINARY: &str = env!("CARGO_BIN_EXE_baywright-service");

fn command(database: &Path, listen: &str) -> Command {
    let mut command = Command::new(BINARY);
    command.args(["serve", "--listen", listen, "--database"]).arg(database);
    command.stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

/// Starts the service and reads where it listens.
fn start(database: &Path) -> (Child, String) {
    let mut child = command(database, "127.0.0.1:0").spawn().unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
    let address = line.strip_prefix("listening on ").unwrap().trim_end().to_owned();
    (child, address)
}

fn signal(child: &Child, name: &str) {
    let sent = Command::new("kill").args(["-s", name, &child.id().to_string()]).status().unwrap();
    assert!(sent.success());
}

// Two threads: while this one waits for the process, the client must answer its goodbye.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn it_answers_health_and_stops_cleanly_on_each_signal() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["TERM", "INT"] {
        let (mut child, address) = start(&folder.path().join("shop.db"));
        let channel = Endpoint::from_shared(format!("http://{address}")).unwrap().connect().await;
        let mut health = HealthClient::new(channel.unwrap());
        let answer = health.check(HealthCheckRequest::default()).await.unwrap();
        assert_eq!(answer.into_inner().status, 1, "serving");

        signal(&child, name);

        assert!(child.wait().unwrap().success());
    }
}

#[test]
fn a_second_process_on_one_database_is_refused_with_the_remedy() {
    let folder = tempfile::tempdir().unwrap();
    let database = folder.path().join("shop.db");
    let (mut first, _) = start(&database);

    let second = command(&database, "127.0.0.1:0").output().unwrap();

    assert_eq!(second.status.code(), Some(1));
    assert!(second.stdout.is_empty());
    let said = String::from_utf8(second.stderr).unwrap();
    assert!(said.contains("another process serves the database"), "{said}");
    signal(&first, "TERM");
    first.wait().unwrap();
}

#[test]
fn a_process_that_was_killed_leaves_a_database_that_opens() {
    let folder = tempfile::tempdir().unwrap();
    let database = folder.path().join("shop.db");
    let (mut first, _) = start(&database);
    signal(&first, "KILL");
    first.wait().unwrap();

    let (mut second, _) = start(&database);

    signal(&second, "TERM");
    assert!(second.wait().unwrap().success());
}

#[test]
fn an_address_that_others_can_reach_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let mut child = command(&folder.path().join("shop.db"), "0.0.0.0:0").spawn().unwrap();
    let mut said = String::new();
    child.stderr.take().unwrap().read_to_string(&mut said).unwrap();

    assert_eq!(child.wait().unwrap().code(), Some(2));
    assert!(said.contains("can be reached from other machines"), "{said}");
    assert!(!folder.path().join("shop.db").exists(), "nothing was made");
}
