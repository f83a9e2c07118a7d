//! Commands for whoever reads the day: each can be typed as it stands.

use super::lines::{WIDTH, wrap};
use baywright_api::v1::{Assignment, Plan};
use std::net::SocketAddr;

/// The technician who takes the first task.
const TECHNICIAN: &str = "ines";

/// A comment and its commands.
type Step = (&'static str, Vec<String>);

/// The steps, one after the other.
pub(super) fn text(plan: &Plan, address: SocketAddr) -> String {
    let caller = format!("baywright --server http://{address} --shop {}", plan.shop_id);
    let mut text = wrap(
        "Where the command is not installed, `cargo run -q -p baywright-cli --` in the source tree \
         stands for `baywright`.",
        "",
        "",
    );
    for (comment, commands) in steps(plan) {
        text.push('\n');
        text.push_str(&wrap(comment, "  # ", "  # "));
        for command in commands {
            text.push_str(&typed(&caller, &command));
        }
    }
    text
}

fn steps(plan: &Plan) -> Vec<Step> {
    let mut steps = vec![
        (
            "Every job by promise, and what blocks one of them",
            vec!["jobs".to_owned(), "job J-1005".to_owned()],
        ),
        (
            "Why no bay takes the long van, with the numbers",
            vec!["fits --procedure front-camera-static --class long-van".to_owned()],
        ),
    ];
    if let Some(Assignment { job_id, task_id, .. }) = first_of(plan, TECHNICIAN) {
        steps.extend([
            ("A technician takes the next task that is ready", vec![format!("next {TECHNICIAN}")]),
            (
                "Start it, once each check was really answered at the vehicle",
                vec![format!(
                    "start {job_id} {task_id} --technician {TECHNICIAN} --all-met --evidence 'seen'"
                )],
            ),
            (
                "Finish it, and look at the evidence that is kept",
                vec![
                    format!("finish {job_id} {task_id} --technician {TECHNICIAN}"),
                    format!("record {job_id}"),
                ],
            ),
            (
                "Plan again from here; may the vehicle leave? (It may not yet.)",
                vec![
                    "plan".to_owned(),
                    format!("hand-back {job_id} --check"),
                    format!("hand-back {job_id}"),
                ],
            ),
        ]);
    }
    steps
}

/// The technician's first assignment: what a pull gives first.
fn first_of<'a>(plan: &'a Plan, technician: &str) -> Option<&'a Assignment> {
    let own =
        plan.assignments.iter().filter(|one| one.technician_ids.iter().any(|id| id == technician));
    own.min_by_key(|one| one.start_time.as_ref().map(|at| at.seconds))
}

/// A command on one line, or on two where one would be too wide.
fn typed(caller: &str, command: &str) -> String {
    let line = format!("  {caller} {command}\n");
    if line.trim_end().chars().count() <= WIDTH {
        line
    } else {
        format!("  {caller} \\\n      {command}\n")
    }
}
