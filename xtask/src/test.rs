//! Everything that CI runs.

use std::time::Instant;

use crate::tools::{self, cargo, command, run as start};
use crate::{describe, fuzz, supply};

/// Seconds of fuzzing, for all targets together.
const FUZZ_S: u64 = 60;

/// One step of the run: its name and what it does.
type Step = (&'static str, fn() -> Result<(), String>);

const STEPS: [Step; 13] = [
    ("format", format),
    ("licences, sources and bans", supply::run),
    ("clippy, warnings denied", clippy),
    ("unit, reference and property tests", tests),
    ("documentation tests", documentation),
    ("release build", build),
    ("independent checks in Python", checks),
    ("chances that come true", chances),
    ("papers, read back", papers),
    ("pages in a browser", pages),
    ("JSON interface against its description", describe::run),
    ("fuzz targets, clippy", fuzz::lint),
    ("fuzzing", || fuzz::run(FUZZ_S, None)),
];

/// Runs every step, even after one has failed, and lists at the end what failed.
///
/// # Errors
/// The steps that failed, each with its reason.
pub(crate) fn run() -> Result<(), String> {
    let began = Instant::now();
    let mut lines = Vec::new();
    let mut failed = Vec::new();
    for (name, step) in STEPS {
        println!("\n== {name}");
        let step_began = Instant::now();
        let outcome = step();
        let word = if outcome.is_ok() { "passed" } else { "FAILED" };
        lines.push(format!("{name:<40}{word:>8}{:>8.1} s", step_began.elapsed().as_secs_f64()));
        if let Err(what) = outcome {
            println!("{what}");
            failed.push(format!("{name}: {what}"));
        }
    }
    println!("\n{}", lines.join("\n"));
    println!("{} steps, {} failed, {:.0} s", lines.len(), failed.len(), began.elapsed().as_secs_f64());
    if failed.is_empty() { Ok(()) } else { Err(format!("failed:\n{}", failed.join("\n"))) }
}

fn format() -> Result<(), String> {
    start(cargo().args(["fmt", "--all", "--check"]))?;
    start(cargo().args(["fmt", "--manifest-path", "fuzz/Cargo.toml", "--check"]))
}

fn clippy() -> Result<(), String> {
    start(cargo().args(["clippy", "--workspace", "--all-targets", "--locked", "--", "-D", "warnings"]))
}

fn tests() -> Result<(), String> {
    let mut tests = cargo();
    // A snapshot that differs is a failure here, never a new file.
    tests.env("INSTA_UPDATE", "no");
    tools::postgresql()?;
    if tools::nextest() {
        tests.args(["nextest", "run", "--workspace", "--locked", "--no-fail-fast"]);
    } else {
        println!("nextest could not be installed: the tests run under cargo test");
        tests.args(["test", "--workspace", "--locked", "--all-targets", "--no-fail-fast"]);
    }
    start(&mut tests)
}

fn documentation() -> Result<(), String> {
    start(cargo().args(["test", "--workspace", "--locked", "--doc"]))
}

fn build() -> Result<(), String> {
    start(cargo().args(["build", "--release", "--locked", "--package", "tenunder"]))
}

fn checks() -> Result<(), String> {
    let python = tools::python()?;
    start(command(python).arg("checks/compare.py").arg(tools::target().join("release/tenunder")))
}

fn chances() -> Result<(), String> {
    let python = tools::python()?;
    let program = tools::target().join("release/tenunder");
    start(command(python).arg("checks/chances.py").arg(program).arg("--hold"))
}

fn papers() -> Result<(), String> {
    let python = tools::python()?;
    tools::poppler()?;
    start(command(python).arg("checks/papers.py").arg(tools::target().join("release/tenunder")))
}

fn pages() -> Result<(), String> {
    tools::browser()?;
    let screens = tools::target().join("screens");
    let mut browser = command("node");
    browser.env("SCREENS", &screens).arg("checks/browser/run.mjs").arg(tools::target().join("release/tenunder"));
    start(&mut browser).map_err(|failure| {
        // Told once more at the end of the run, where whoever reads a long output looks first.
        let report = std::fs::read_to_string(screens.join("report.txt")).unwrap_or_default();
        let faults: Vec<&str> = report.lines().filter(|line| line.starts_with("FAULT")).take(40).collect();
        format!("{failure}\n{}", faults.join("\n"))
    })
}
