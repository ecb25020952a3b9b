//! The chores of development: `cargo xtask test`, `cargo xtask fuzz`, `cargo xtask mutants`, `cargo xtask bench`.
#![allow(clippy::print_stdout, clippy::print_stderr, reason = "a chore talks to the person who runs it")]

mod bench;
mod describe;
mod first_command;
mod fuzz;
mod languages;
mod layers;
mod mutants;
mod notices;
mod rooms;
mod supply;
mod test;
mod tools;

use std::process::ExitCode;

const USAGE: &str = "\
cargo xtask test                  everything that CI runs, with the tools it needs
cargo xtask fuzz [--seconds N]    fuzz the two readers for N seconds in all (60)
cargo xtask mutants [ROOM...] [--shard K/N] [--file F] [--operators]
                                  plant faults in the rooms that compute: does a test notice?
cargo xtask rooms                 draw the rooms of ARCHITECTURE.md anew
cargo xtask supply                licences, sources and bans of what is built in (deny.toml)
cargo xtask licences              gather the licences that the binary prints
cargo xtask bench                 the speed table, written to docs/benchmarks.md
";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let done = match words.as_slice() {
        ["test"] => test::run(),
        ["fuzz"] => fuzz::run(60),
        ["fuzz", "--seconds", seconds] => match seconds.parse() {
            Ok(seconds) => fuzz::run(seconds),
            Err(_) => Err(format!("--seconds wants a whole number, not {seconds:?}")),
        },
        ["mutants", rest @ ..] => mutants::Asked::of(rest).and_then(|asked| mutants::run(&asked)),
        ["rooms"] => rooms::run(),
        ["supply"] => supply::run(),
        ["licences"] => notices::run(),
        ["bench"] => bench::run(),
        _ => {
            eprint!("{USAGE}");
            return ExitCode::from(2);
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(what) => {
            eprintln!("{what}");
            ExitCode::FAILURE
        }
    }
}
