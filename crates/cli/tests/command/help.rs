//! Help: every command says what it does, what it takes, and gives one example.

use super::baywright;
use rstest::rstest;

/// Every command, in the order of the day.
const COMMANDS: [&str; 62] = [
    "apply",
    "survey",
    "export",
    "fits",
    "gain",
    "forecast",
    "draw",
    "doubts",
    "doubt-clear",
    "estimate",
    "offer",
    "offer-accept",
    "offer-decline",
    "offers",
    "turned-away",
    "accept",
    "decide",
    "change",
    "arrive",
    "move",
    "sign-off",
    "prerequisite",
    "outside",
    "sublet",
    "sublet-end",
    "cancel-task",
    "cancel",
    "job",
    "jobs",
    "today",
    "chases",
    "finishes",
    "where",
    "units",
    "free",
    "road-drive",
    "road-entry",
    "road-entries",
    "road-withdraw",
    "plan",
    "explain",
    "what-if",
    "front",
    "next",
    "start",
    "phase",
    "pause",
    "resume",
    "hand-over",
    "finish",
    "fail",
    "put-back",
    "redo",
    "holdings",
    "hand-back",
    "record",
    "records-verify",
    "record-correct",
    "audit",
    "watch",
    "solve",
    "help",
];

#[test]
fn the_help_lists_every_command_and_the_exit_codes() {
    let run = baywright(&["--help"]);
    assert_eq!(run.code, 0);
    let (_, after) = run.stdout.split_once("Commands:\n").unwrap();
    let (commands, _) = after.split_once("\n\n").unwrap();
    let names: Vec<&str> =
        commands.lines().filter_map(|line| line.split_whitespace().next()).collect();
    assert_eq!(names, COMMANDS);
    let tail = "\
Exit codes:
  0  done
  1  refused by the service; the reason stands on standard error
  2  a fault of usage or of a file
  3  the service cannot be reached

Example:
  baywright --shop demo jobs

baywright is a planning aid. The vehicle maker's current procedure, local codes and licensed
practice decide; a wrong calibration is dangerous.
";
    assert!(run.stdout.ends_with(tail), "{}", run.stdout);
}

#[rstest]
#[case::apply("apply <FILE>", "apply shop.toml --dry-run")]
#[case::survey("survey <BAY> <FILE>", "survey bay-1 survey-bay-1.csv")]
#[case::export("export [FILE]", "export shop-now.toml")]
#[case::fits("fits", "fits --procedure front-camera-static")]
#[case::gain("gain", "gain --work front-camera-static/long-van=3")]
#[case::forecast("forecast", "forecast --weeks 6 --work front-camera-static/long-van=3")]
#[case::draw("draw", "draw bay-4.svg --bay bay-4 --at")]
#[case::doubts("doubts", "doubts --all")]
#[case::doubt_clear("doubt-clear --reason <TEXT> <DOUBT>", "doubt-clear D-1 --reason")]
#[case::estimate("estimate <FILES>...", "estimate estimate-1001-windshield.json")]
#[case::offer("offer <FILE>", "offer estimate-1001-windshield.json --hold 60")]
#[case::offer_accept("offer-accept <OFFER>", "offer-accept O-1")]
#[case::offer_decline("offer-decline --reason <TEXT> <OFFER>", "offer-decline O-1 --reason")]
#[case::offers("offers [OFFER]", "offers --state held --state lapsed")]
#[case::turned_away("turned-away", "turned-away --limit 20")]
#[case::accept("accept <JOB> [TASKS]...", "accept J-1001 --decline road-drive --reason")]
#[case::decide("decide --reason <TEXT> <JOB> <OPERATION>", "decide J-1003 2 --nothing")]
#[case::arrive("arrive <JOB>", "arrive J-1001 --spot yard")]
#[case::move_vehicle("move <JOB> <SPOT>", "move J-1001 yard")]
#[case::sign_off("sign-off --evidence <TEXT> <JOB> <PREREQUISITE>", "sign-off J-1001 glass-parts")]
#[case::prerequisite(
    "prerequisite --state <STATE> <JOB> <PREREQUISITE>",
    "prerequisite J-1004 glass-parts --state on-order"
)]
#[case::outside("outside --evidence <TEXT> <JOB> <OPERATION>", "outside J-1005 2")]
#[case::sublet("sublet --to <TEXT> --back <TIME> <JOB> <TASK>", "sublet J-1001 glass --to")]
#[case::sublet_end("sublet-end --evidence <TEXT> <JOB> <TASK>", "sublet-end J-1001 glass --passed")]
#[case::cancel_task("cancel-task --reason <TEXT> <JOB> <TASK>", "cancel-task J-1001 road-drive")]
#[case::cancel("cancel --reason <TEXT> <JOB>", "cancel J-1004 --reason")]
#[case::job("job <JOB>", "job J-1001")]
#[case::jobs("jobs", "jobs --state on-site")]
#[case::road_drive("road-drive", "road-drive --date 2026-05-05")]
#[case::road_entry(
    "road-entry --from <TIME> --until <TIME> --reason <TEXT> <CONDITION>",
    "road-entry unusable --from"
)]
#[case::road_entries("road-entries", "road-entries")]
#[case::road_withdraw("road-withdraw <NUMBER>", "road-withdraw 3")]
#[case::plan("plan", "plan --days 2")]
#[case::what_if("what-if", "what-if --close 'bay-4=")]
#[case::front("front", "front --seconds 6")]
#[case::next("next <TECHNICIAN>", "next ines")]
#[case::start("start --technician <ID> <JOB> <TASK>", "start J-1001 pre-scan --technician ines")]
#[case::phase("phase --technician <ID> --begins <PHASE> <JOB> <TASK>", "phase J-1001 front-camera")]
#[case::pause("pause --technician <ID> --note <TEXT> <JOB> <TASK>", "pause J-1001 front-camera")]
#[case::resume("resume --technician <ID> <JOB> <TASK>", "resume J-1001 front-camera")]
#[case::hand_over(
    "hand-over --technician <ID> --to <ID> --note <TEXT> <JOB> <TASK>",
    "hand-over J-1001 front-camera --technician ines --to"
)]
#[case::finish("finish --technician <ID> <JOB> <TASK>", "finish J-1001 pre-scan --technician ines")]
#[case::fail(
    "fail --technician <ID> --cause <CAUSE> --note <TEXT> <JOB> <TASK>",
    "--cause environment"
)]
#[case::put_back(
    "put-back --technician <ID> --note <TEXT> <JOB> <TASK>",
    "put-back J-1001 front-camera"
)]
#[case::redo("redo --reason <TEXT> <JOB> <TASK>", "redo J-1001 front-camera")]
#[case::holdings("holdings [TECHNICIAN]", "holdings ines")]
#[case::hand_back("hand-back <JOB>", "hand-back J-1001 --check")]
#[case::record("record <JOB>", "record J-1001 --task front-camera")]
#[case::records_verify("records-verify", "records-verify --from 1 --to 100")]
#[case::record_correct("record-correct --reason <TEXT> <NUMBER>", "record-correct 17 --reason")]
#[case::audit("audit [KIND] [ID]", "audit job J-1001 --since")]
#[case::watch("watch", "watch --after 0 --limit 20")]
#[case::solve("solve --out <FILE> <PROBLEM>", "solve tuesday.json --out plan.json")]
fn every_command_has_its_usage_and_an_example(#[case] usage: &str, #[case] example: &str) {
    let command = usage.split(' ').next().unwrap();
    let run = baywright(&[command, "--help"]);
    assert_eq!(run.code, 0);
    assert!(run.stderr.is_empty());
    let wanted: Vec<&str> =
        usage.split_whitespace().filter(|word| !word.starts_with('-')).collect();
    let shown = run.stdout.lines().find(|line| line.starts_with("Usage: ")).unwrap();
    for word in wanted {
        assert!(shown.contains(word), "{word} in {shown}");
    }
    let (_, examples) = run.stdout.split_once("\nExample:\n").unwrap();
    assert!(examples.contains(example), "{examples}");
    let about = run.stdout.lines().next().unwrap();
    assert!(about.len() > 8, "{about}");
}

#[test]
fn the_example_of_every_command_is_understood() {
    let run = baywright(&["--help"]);
    let (_, after) = run.stdout.split_once("Commands:\n").unwrap();
    let (commands, _) = after.split_once("\n\n").unwrap();
    let names = commands.lines().filter_map(|line| line.split_whitespace().next());
    // Side by side, because each waits a second for a service that does not come.
    std::thread::scope(|scope| {
        for command in names.filter(|name| *name != "help") {
            scope.spawn(move || check_example(command));
        }
    });
}

#[track_caller]
fn check_example(command: &str) {
    let help = baywright(&[command, "--help"]).stdout;
    let (_, example) = help.split_once("\nExample:\n").unwrap();
    let words = shell_words(&example.replace("\\\n", " "));
    let mut words: Vec<&str> = words.iter().map(String::as_str).skip(1).collect();
    words.extend(["--server", super::NOBODY]);
    let run = baywright(&words);
    // Understood: it fails only because a file or the service is not there.
    let understood = run.code == 3 || run.stderr.contains("cannot be used");
    assert!(understood, "{command}: {}", run.stderr);
}

/// Splits an example as a shell would, as far as the examples go: spaces and single quotes.
fn shell_words(text: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for character in text.trim().chars() {
        match character {
            '\'' => quoted = !quoted,
            space if space.is_whitespace() && !quoted => words.push(String::new()),
            other => words.last_mut().unwrap().push(other),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}
