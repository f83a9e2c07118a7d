//! The demonstration as a person meets it: the real process, started in an empty folder.
#![cfg(test)]
#![cfg(unix)]

mod common;

use baywright_api::v1::{
    ArrivalKind, Job, JobState, ListJobsRequest, OperationState, PrerequisiteState,
    PullTaskRequest, SensorFamily, TaskKind, TaskState, job_service_client::JobServiceClient,
    work_service_client::WorkServiceClient,
};
use common::service_binary;
use std::{
    collections::BTreeSet,
    fs,
    io::{BufRead as _, BufReader},
    net::TcpListener,
    path::Path,
    process::{Child, Command, Output, Stdio},
    sync::OnceLock,
};
use tempfile::TempDir;
use tonic::transport::{Channel, Endpoint};

/// The widest line for a terminal, columns.
const WIDTH: usize = 100;

/// The demo shop's bays.
const BAYS: usize = 16;
/// Its jobs that are expected or on site.
const JOBS_OPEN: usize = 31;
/// All of them.
const JOBS: usize = 34;

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
    for number in 1..=BAYS {
        let bay = format!("bay-{number}");
        assert!(bays.contains(&format!("  {bay:<6}  fits ")), "{bays}");
    }
    assert_eq!(bays.matches("but not").count(), BAYS, "{bays}");
    let bays = flowing(bays);
    for reason in [
        "front-camera-static for a compact-hatch, at rear-mark: Zone standing-and-target, level-slope",
        "front-radar-static for a compact-hatch, at ramp-mark: Zone standing-and-reflector, level-slope",
        "obstruction bumper-pallets",
        "night-vision-static for a compact-hatch, at middle-mark: Zone view, light-average-max",
        "the survey counted only until 2026-04-28",
        "the bay has no survey",
        "obstruction sensor-beam, 2500 to 2900 mm high",
        "light-maximum: 869.3 lux measured",
        "level-residual",
        "sun front-camera-static for a compact-hatch: On 2026-05-05 direct sun on zone view through \
         east-window",
        "free of it otherwise. (assumed of east-window: the blind is open)",
    ] {
        assert!(bays.contains(reason), "{reason:?} is not in {bays}");
    }

    let plan = section(day, "THE PLAN");
    let is_row = |line: &&str| line.trim_start().starts_with(|c: char| c.is_ascii_digit());
    let rows = plan.lines().filter(|line| line.starts_with("  ")).filter(is_row).count();
    assert!(rows >= 40, "{plan}");
    // Later days have a line each: `Wednesday 2026-05-06: 41 tasks of 11 jobs`.
    let later = plan.lines().filter_map(|line| line.split_once(": ")?.1.split_once(" tasks of "));
    let later: usize = later.map(|(count, _)| count.parse::<usize>().unwrap()).sum();
    assert!(later >= 20, "{plan}");
    assert!(plan.contains(&format!("{} tasks planned in ", rows + later)), "{plan}");
    assert!(plan.contains(" ms (measured here"), "{plan}");
    let next = section(day, "WHO IS AT WHAT, AND WHAT COMES NEXT");
    for now in
        ["J-1007/inspection, running", "J-1008/inspection, paused", "J-0910/front-camera, held"]
    {
        assert!(next.contains(now), "{next}");
    }
    let today = flowing(section(day, "TODAY"));
    for said in ["vera fills role aligner until before 2026-05-16", "Survey bay bay-7 again"] {
        assert!(today.contains(said), "{today}");
    }
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
    let chases = flowing(section(day, "WHOM TO CHASE"));
    for party in ["account", "body work", "parts desk", "vendor of control units"] {
        assert!(chases.contains(party), "{party:?} is not in {chases}");
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
    check_width(shown_day());
}

#[track_caller]
fn check_width(text: &str) {
    // The path of the database is as long as the machine makes it.
    let lines = text.lines().filter(|line| !line.contains("shop.db"));
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
    let folders = Folders::new();
    let (demo, day) = stays_up(&folders);
    let channel = connected(&day).await;
    let technician = after(&day, "--shop demo next ").to_owned();
    let pull = PullTaskRequest {
        shop_id: after(&day, "--shop ").to_owned(),
        technician_id: technician.clone(),
        request_id: uuid::Uuid::new_v4().to_string(),
    };

    let pulled = WorkServiceClient::new(channel).pull_task(pull).await.unwrap();

    let holding = pulled.into_inner().holding.unwrap();
    let said =
        format!("start {} {} --technician {technician} --all-met", holding.job_id, holding.task_id);
    assert!(day.contains(&said), "{said:?} is not in {day}");
    check_ends_well_on("TERM", demo, &folders);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn its_jobs_are_in_every_state_that_there_is() {
    let folders = Folders::new();
    let (demo, day) = stays_up(&folders);
    let mut service = JobServiceClient::new(connected(&day).await);
    let shop_id = after(&day, "--shop ").to_owned();
    let usual = ListJobsRequest { shop_id, ..ListJobsRequest::default() };
    let open = service.list_jobs(usual.clone()).await.unwrap().into_inner().jobs;
    let all = ListJobsRequest { states: every(JobState::try_from), ..usual };

    let jobs = service.list_jobs(all).await.unwrap().into_inner().jobs;

    assert_eq!((open.len(), jobs.len()), (JOBS_OPEN, JOBS));
    check_states(&jobs);
    let tasks = || jobs.iter().flat_map(|job| &job.tasks);
    assert!(tasks().any(|task| task.undone.is_some()), "something was undone");
    assert!(tasks().any(|task| task.no_longer_called), "something is no longer called for");
    assert!(jobs.iter().any(|job| !job.hand_back_exceptions.is_empty()), "an exception stands");
    let outside = |job: &Job| job.operations.iter().any(|one| one.done_outside_time.is_some());
    assert!(jobs.iter().any(outside), "something was done outside");
    check_ends_well_on("INT", demo, &folders);
}

/// Every state, kind and sensor of the contract is there, and no other number.
#[track_caller]
fn check_states(jobs: &[Job]) {
    let check = |what: &str, wanted: Vec<i32>, get: fn(&Job) -> Vec<i32>| {
        let found: BTreeSet<_> = jobs.iter().flat_map(get).collect();
        assert_eq!(found, wanted.into_iter().collect(), "{what}");
    };
    check("jobs", every(JobState::try_from), |job| vec![job.state]);
    check("arrivals", every(ArrivalKind::try_from), |job| vec![job.arrival]);
    check("tasks", every(TaskState::try_from), |job| {
        job.tasks.iter().map(|task| task.state).collect()
    });
    check("kinds of task", every(TaskKind::try_from), |job| {
        job.tasks.iter().map(|task| task.kind).collect()
    });
    check("sensors", every(SensorFamily::try_from), |job| {
        job.tasks.iter().map(|task| task.sensor).filter(|sensor| *sensor != 0).collect()
    });
    check("operations", every(OperationState::try_from), |job| {
        job.operations.iter().map(|one| one.state).collect()
    });
    check("prerequisites", every(PrerequisiteState::try_from), |job| {
        job.prerequisites.iter().map(|one| one.state).collect()
    });
}

async fn connected(day: &str) -> Channel {
    let address = after(day, "--server ").to_owned();
    Endpoint::from_shared(address).unwrap().connect().await.unwrap()
}

#[track_caller]
fn check_ends_well_on(signal: &str, mut demo: Running, folders: &Folders) {
    let id = demo.0.id().to_string();
    assert!(Command::new("kill").args(["-s", signal, &id]).status().unwrap().success());
    assert!(demo.0.wait().unwrap().success(), "ends well on SIG{signal}");
    folders.check_nothing_left();
}

/// Every value of an enum of the contract but the one that is never sent.
fn every<T, E>(value: fn(i32) -> Result<T, E>) -> Vec<i32> {
    (1..100).filter(|number| value(*number).is_ok()).collect()
}

#[test]
fn the_story_is_told_to_its_end_in_short_lines() {
    let folders = Folders::new();
    let telling = folders.run(&["--story", "--once", "--listen", "127.0.0.1:0"]);

    assert!(telling.status.success(), "{}{}", text(&telling.stdout), text(&telling.stderr));
    assert_eq!(text(&telling.stderr), "");
    folders.check_nothing_left();
    let story = text(&telling.stdout);
    let mut rest = flowing(story);
    for chapter in [
        "07:30 The manager plans the day. > plan 1: ",
        "The vehicle of J-2001 arrives",
        "> on site",
        "The body shop sends a supplement, revision 2 of the estimate. > proposed: front-radar",
        "The bracket has not come. Whom to chase? > The radar's bracket with its screws was expected",
        "The bracket is there and is mounted. > signed off",
        "the attempt fails. > front-radar failed, conditions record ",
        "May it be handed back? > refused: ",
        "> refused: Task front-radar has failed; allow a new attempt and let it pass.",
        "the manager allows a new attempt. > front-radar open again, the doubt cleared",
        "> front-radar passed at attempt 2, conditions record ",
        "May it be handed back now? The keys go to the customer. > allowed: handed back",
        "Caution: ",
    ] {
        let found = rest.split_once(chapter).map(|(_, after)| after.to_owned());
        rest = found.unwrap_or_else(|| panic!("{chapter:?} does not come next in {rest}\n{story}"));
    }
    check_width(story);
    // The clock never goes back.
    let times: Vec<_> = story
        .lines()
        .filter_map(|line| line.get(..5).filter(|time| time.as_bytes()[2] == b':'))
        .collect();
    assert!(times.len() >= 15 && times.is_sorted(), "{times:?}");
}

#[test]
fn the_files_are_written_once_into_a_folder() {
    let folders = Folders::new();
    let written = folders.run(&["--files", "shop"]);

    assert!(written.status.success(), "{}", text(&written.stderr));
    let names = names_in(&folders.here.path().join("shop"));
    assert!(
        text(&written.stdout).starts_with(&format!("{} files of the invented shop", names.len()))
    );
    assert!(names.iter().any(|name| name == "shop.toml"), "{names:?}");

    let again = folders.run(&["--files", "shop"]);
    assert_eq!(again.status.code(), Some(1));
    assert!(text(&again.stderr).contains("cannot be written"), "{}", text(&again.stderr));
}

#[test]
fn a_clock_before_the_demo_day_is_refused_with_the_remedy() {
    let folders = Folders::new();
    let early = ["--once", "--listen", "127.0.0.1:0", "--clock-start", "2026-05-05T06:29:59Z"];

    let showing = folders.run(&early);

    assert_eq!(showing.status.code(), Some(1));
    let said = text(&showing.stderr);
    assert!(said.contains("--clock-start must not be earlier"), "{said}");
    folders.check_nothing_left();
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
