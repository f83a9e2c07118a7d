//! The demonstration as a person meets it: the real process, started in an empty folder.
#![cfg(test)]
#![cfg(unix)]

mod common;

use baywright_api::v1::{
    ListJobsRequest, PullTaskRequest, job_service_client::JobServiceClient,
    work_service_client::WorkServiceClient,
};
use common::service_binary;
use std::{
    fs,
    io::{BufRead as _, BufReader},
    net::TcpListener,
    path::Path,
    process::{Child, Command, Output, Stdio},
    sync::OnceLock,
};
use tempfile::TempDir;
use tonic::transport::Endpoint;

/// The widest line for a terminal, columns.
const WIDTH: usize = 100;

/// An empty folder to stand in, and another for what is temporary.
struct Folders {
    here: TempDir,
    temporary: TempDir,
}

impl Folders {
    fn new() -> Self {
        Self { here: tempfile::tempdir().unwrap(), temporary: tempfile::tempdir().unwrap() }
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(service_binary());
        command.arg("demo").args(arguments).current_dir(self.here.path());
        command.env("TMPDIR", self.temporary.path());
        for name in ["BAYWRIGHT_LISTEN", "BAYWRIGHT_LOG", "BAYWRIGHT_DATABASE"] {
            command.env_remove(name);
        }
        command
    }

    fn run(&self, arguments: &[&str]) -> Output {
        self.command(arguments).output().unwrap()
    }

    #[track_caller]
    fn check_nothing_left(&self) {
        for folder in [self.here.path(), self.temporary.path()] {
            assert_eq!(names_in(folder), Vec::<String>::new(), "left in {}", folder.display());
        }
    }
}

fn names_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

/// The part of the printed day under a heading, up to the next empty line.
#[track_caller]
fn section<'a>(day: &'a str, heading: &str) -> &'a str {
    let (_, after) = day.split_once(&format!("\n{heading}\n")).expect(heading);
    after.split_once("\n\n").map_or(after, |(body, _)| body)
}

/// Words without their line breaks.
fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The day that a single showing printed; it left nothing behind.
fn shown_day() -> &'static str {
    static DAY: OnceLock<String> = OnceLock::new();
    DAY.get_or_init(|| {
        let folders = Folders::new();
        let showing = folders.run(&["--once", "--listen", "127.0.0.1:0"]);
        assert!(showing.status.success(), "{}", text(&showing.stderr));
        assert_eq!(text(&showing.stderr), "");
        folders.check_nothing_left();
        text(&showing.stdout).to_owned()
    })
}

#[test]
fn a_single_showing_prints_the_bays_and_the_plan_and_leaves_nothing_behind() {
    let day = shown_day();

    let bays = section(day, "BAYS, AS THEY WERE SURVEYED");
    for bay in ["bay-1", "bay-2", "bay-3"] {
        assert!(bays.contains(&format!("  {bay}  fits ")), "{bays}");
    }
    assert_eq!(bays.matches("but not").count(), 3, "{bays}");

    let plan = section(day, "THE PLAN");
    let is_row = |line: &&str| line.trim_start().starts_with(|c: char| c.is_ascii_digit());
    let rows = plan.lines().filter(|line| line.starts_with("  ")).filter(is_row).count();
    assert!(rows >= 20, "{plan}");
    assert!(plan.contains(&format!("{rows} tasks planned in ")), "{plan}");
    assert!(plan.contains(" ms (measured here"), "{plan}");
    assert!(day.contains("Caution: "), "{day}");
    assert!(day.contains("A wrong calibration is dangerous."), "{day}");
}

#[test]
fn the_day_has_a_task_for_each_sort_of_reason() {
    let day = shown_day();

    let open = flowing(section(day, "NOT IN THE PLAN, AND WHY"));
    for reason in [
        "without an expected time; ask account",
        "nobody has confirmed it; chase body work",
        "no surveyed bay fits it for a vehicle of class long-van",
        "which is only proposed; accept or decline it",
        "which is not planned",
    ] {
        assert!(open.contains(reason), "{reason:?} is not in {open}");
    }
    let late = flowing(section(day, "LATE"));
    assert!(late.contains("J-1004 finishes Wed"), "{late}");
    assert!(late.contains("on order, expected Wed 08:30"), "{late}");
    let decide = flowing(section(day, "A PERSON HAS TO DECIDE"));
    assert!(decide.contains("no rule of the shop knows \"headlamp-replaced\""), "{decide}");
    assert!(decide.contains("task front-camera is only proposed"), "{decide}");
}

#[test]
fn no_line_is_wider_than_a_terminal() {
    // The path of the database is as long as the machine makes it.
    let lines = shown_day().lines().filter(|line| !line.contains("shop.db"));
    let wide: Vec<_> = lines.filter(|line| line.chars().count() > WIDTH).collect();
    assert_eq!(wide, Vec::<&str>::new());
}

#[test]
fn an_address_that_is_taken_is_refused_with_the_remedy() {
    let folders = Folders::new();
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = taken.local_addr().unwrap().to_string();

    let showing = folders.run(&["--once", "--listen", &address]);

    assert_eq!(showing.status.code(), Some(1));
    assert_eq!(text(&showing.stdout), "");
    let said = text(&showing.stderr);
    assert!(said.contains(&format!("{address} is taken by another process")), "{said}");
    assert!(said.contains("--listen 127.0.0.1:0"), "{said}");
    folders.check_nothing_left();
}

#[test]
fn a_named_database_is_kept_and_not_filled_twice() {
    let folders = Folders::new();
    let arguments = ["--once", "--listen", "127.0.0.1:0", "--database", "kept.db"];
    assert!(folders.run(&arguments).status.success());
    assert!(folders.here.path().join("kept.db").is_file());

    let second = folders.run(&arguments);

    assert_eq!(second.status.code(), Some(1));
    let said = text(&second.stderr);
    assert!(said.contains("kept.db holds the demo shop already"), "{said}");
}

// Two threads: while this one waits for the process, the client must answer its goodbye.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn it_stays_up_and_its_first_technician_can_pull_what_it_says() {
    for signal in ["TERM", "INT"] {
        let folders = Folders::new();
        let (mut demo, day) = stays_up(&folders);
        let address = after(&day, "--server ").to_owned();
        let channel = Endpoint::from_shared(address).unwrap().connect().await.unwrap();
        let shop_id = after(&day, "--shop ").to_owned();

        let jobs = ListJobsRequest { shop_id: shop_id.clone(), ..ListJobsRequest::default() };
        let jobs = JobServiceClient::new(channel.clone()).list_jobs(jobs).await.unwrap();
        let technician = after(&day, "--shop demo next ").to_owned();
        let pull = PullTaskRequest {
            shop_id,
            technician_id: technician.clone(),
            request_id: uuid::Uuid::new_v4().to_string(),
        };
        let pulled = WorkServiceClient::new(channel).pull_task(pull).await.unwrap();

        assert_eq!(jobs.into_inner().jobs.len(), 6);
        let holding = pulled.into_inner().holding.unwrap();
        let said = format!(
            "start {} {} --technician {technician} --all-met",
            holding.job_id, holding.task_id
        );
        assert!(day.contains(&said), "{said:?} is not in {day}");
        let id = demo.0.id().to_string();
        assert!(Command::new("kill").args(["-s", signal, &id]).status().unwrap().success());
        assert!(demo.0.wait().unwrap().success(), "ends well on SIG{signal}");
        folders.check_nothing_left();
    }
}

/// A demonstration that stays up; it ends with the value.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        // It may have ended already.
        drop(self.0.kill());
        drop(self.0.wait());
    }
}

/// Starts a demonstration that stays up, and reads the day that it prints.
fn stays_up(folders: &Folders) -> (Running, String) {
    let mut command = folders.command(&["--listen", "127.0.0.1:0"]);
    let mut demo = Running(command.stdout(Stdio::piped()).spawn().unwrap());
    let mut day = String::new();
    for line in BufReader::new(demo.0.stdout.take().unwrap()).lines() {
        day.push_str(&line.unwrap());
        day.push('\n');
        if day.ends_with("Ctrl-C ends the demo.\n") {
            return (demo, day);
        }
    }
    panic!("it ended by itself after:\n{day}");
}

/// The word that follows.
#[track_caller]
fn after<'a>(day: &'a str, what: &str) -> &'a str {
    let (_, rest) = day.split_once(what).expect(what);
    rest.split_whitespace().next().expect(what)
}
