//! Checks the certificate in a plan's file against its problem, sharing no code with the planner:
//! `cargo run --release -p baywright-tests --bin certificate -- PROBLEM PLAN`.
//!
//! It says what the certificate proves, whether that is the bound that the plan states, and where a proof goes wrong.

#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a command writes to its streams")]

use baywright_tests::referee::derive;
use std::process::ExitCode;

fn main() -> ExitCode {
    match checked(&std::env::args().skip(1).collect::<Vec<_>>()) {
        Ok(told) => {
            println!("{told}");
            ExitCode::SUCCESS
        }
        Err(trouble) => {
            eprintln!("error: {trouble}");
            ExitCode::FAILURE
        }
    }
}

fn checked(arguments: &[String]) -> Result<String, String> {
    let [problem, plan] = arguments else {
        return Err("give two files: the problem, and the plan with its certificate".to_owned());
    };
    let read = |path: &str| {
        std::fs::read_to_string(path).map_err(|error| format!("{path} cannot be read: {error}"))
    };
    let (problem, plan) = (read(problem)?, read(plan)?);
    let proved = derive(&problem, &plan)?;
    let plan: serde_json::Value = serde_json::from_str(&plan).map_err(|error| error.to_string())?;
    let stated = plan["bound"].as_i64().ok_or("the plan states no bound")?;
    if i128::from(stated) > proved {
        return Err(format!(
            "the plan states the bound {stated}, but its certificate proves only {proved}"
        ));
    }
    Ok(format!("No plan costs less than {proved}; the plan states the bound {stated}."))
}
