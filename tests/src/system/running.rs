//! A running service: started, stopped, killed, started again later.

use super::{Caller, binary::service_binary, shop::at};
use chrono::{DateTime, Utc};
use std::{
    fs::{self, File},
    io::{BufRead as _, BufReader},
    path::PathBuf,
    process::{Child, Command, ExitStatus, Output, Stdio},
    sync::Arc,
    time::Duration,
};
use tempfile::TempDir;
use tonic::transport::{Channel, Endpoint};

/// When a service plans anew by itself.
#[derive(Debug, Clone, Copy)]
enum Replan {
    Never,
    After(Duration),
}

/// A service process on a database of its own.
#[derive(Debug)]
pub struct TestService {
    child: Child,
    replan: Replan,
    address: String,
    channel: Channel,
    folder: Arc<TempDir>,
}

impl TestService {
    /// Starts a service on a new database, its clock beginning at [`super::START`]. It plans nothing by
    /// itself.
    pub async fn start() -> Self {
        Self::start_in(Arc::new(tempfile::tempdir().unwrap()), at(0), Replan::Never).await
    }

    /// The same, but it plans anew by itself once no change has come for so long.
    pub async fn start_replanning(after: Duration) -> Self {
        Self::start_in(Arc::new(tempfile::tempdir().unwrap()), at(0), Replan::After(after)).await
    }

    async fn start_in(folder: Arc<TempDir>, clock_start: DateTime<Utc>, replan: Replan) -> Self {
        let mut child = command(&folder, clock_start, replan)
            .stdout(Stdio::piped())
            .stderr(File::create(folder.path().join("stderr")).unwrap())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let Some(address) = line.trim_end().strip_prefix("listening on ") else {
            let said = fs::read_to_string(folder.path().join("stderr")).unwrap_or_default();
            panic!("the service does not listen; it printed \"{line}\" and said: {said}");
        };
        let channel = Endpoint::from_shared(format!("http://{address}")).unwrap();
        let channel = channel.connect().await.unwrap();
        Self { child, replan, address: address.to_owned(), channel, folder }
    }

    /// Stops the service and starts it again on the same database with its clock at `clock_start`.
    pub async fn restart_at(self, clock_start: DateTime<Utc>) -> Self {
        let (folder, replan) = (Arc::clone(&self.folder), self.replan);
        assert!(self.stop().await.success());
        Self::start_in(folder, clock_start, replan).await
    }

    /// Tells the service to stop.
    pub fn terminate(&self) {
        let id = self.child.id().to_string();
        assert!(Command::new("kill").args(["-s", "TERM", &id]).status().unwrap().success());
    }

    /// Waits until the process has ended. Calls on its connections go on meanwhile.
    pub async fn ended(&mut self) -> ExitStatus {
        loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status;
            }
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    }

    /// Tells the service to stop, and waits until it has.
    pub async fn stop(mut self) -> ExitStatus {
        self.terminate();
        self.ended().await
    }

    /// Kills the process, as a power cut would, and starts the service again on the same database.
    pub async fn kill_and_start_at(mut self, clock_start: DateTime<Utc>) -> Self {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
        Self::start_in(Arc::clone(&self.folder), clock_start, self.replan).await
    }

    /// Runs a second process on the same database until it ends.
    pub fn second_process(&self) -> Output {
        command(&self.folder, at(0), self.replan).output().unwrap()
    }

    /// The database file.
    pub fn database(&self) -> PathBuf {
        self.folder.path().join("shop.db")
    }

    /// The folder of the database; it lives as long as this does.
    pub fn folder(&self) -> Arc<TempDir> {
        Arc::clone(&self.folder)
    }

    /// Where it listens.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// A caller on the service's first connection.
    pub fn caller(&self) -> Caller {
        Caller::new(self.channel.clone())
    }

    /// A caller on a connection of its own.
    pub async fn new_caller(&self) -> Caller {
        let endpoint = Endpoint::from_shared(format!("http://{}", self.address)).unwrap();
        Caller::new(endpoint.connect().await.unwrap())
    }

    /// The service's first connection.
    pub fn channel(&self) -> Channel {
        self.channel.clone()
    }
}

fn command(folder: &TempDir, clock_start: DateTime<Utc>, replan: Replan) -> Command {
    let mut command = Command::new(service_binary());
    command.args(["serve", "--listen", "127.0.0.1:0", "--clock-start"]);
    let seconds = match replan {
        Replan::Never => 0.0,
        Replan::After(time) => time.as_secs_f64(),
    };
    command.arg(clock_start.to_rfc3339()).arg("--database").arg(folder.path().join("shop.db"));
    command.arg("--replan-after-seconds").arg(seconds.to_string());
    command
}

impl Drop for TestService {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to kill.
        if self.child.kill().is_ok() {
            drop(self.child.wait());
        }
    }
}
