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
mod reproducible;
mod rooms;
mod soak;
mod supply;
mod test;
mod tools;

use std::process::ExitCode;

const USAGE: &str = "\
cargo xtask test                  everything that CI runs, with the tools it needs
cargo xtask fuzz [--seconds N] [--only TARGET]
                                  fuzz the readers and the answers for N seconds in all (60)
cargo xtask soak [--minutes N] [--program FILE]
                                  twenty people at one server that is stopped and killed: is anything lost? (30)
cargo xtask mutants [ROOM...] [--shard K/N] [--file F] [--operators]
                                  plant faults in the rooms that compute: does a test notice?
cargo xtask rooms                 draw the rooms of ARCHITECTURE.md anew
cargo xtask supply                licences, sources and bans of what is built in (deny.toml)
cargo xtask licences              gather the licences that the binary prints
cargo xtask reproducible          build the last commit in two folders: is it one file?
cargo xtask bench                 the speed table, written to docs/benchmarks.md
";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let done = match words.as_slice() {
        ["test"] => test::run(),
        ["fuzz", rest @ ..] => match options(rest, ["--seconds", "--only"]) {
            Ok([seconds, only]) => whole("--seconds", seconds, 60).and_then(|seconds| fuzz::run(seconds, only)),
            Err(what) => Err(what),
        },
        ["soak", rest @ ..] => match options(rest, ["--minutes", "--program"]) {
            Ok([minutes, program]) => whole("--minutes", minutes, 30).and_then(|minutes| soak::run(minutes, program)),
            Err(what) => Err(what),
        },
        ["mutants", rest @ ..] => mutants::Asked::of(rest).and_then(|asked| mutants::run(&asked)),
        ["rooms"] => rooms::run(),
        ["supply"] => supply::run(),
        ["licences"] => notices::run(),
        ["reproducible"] => reproducible::run(),
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

/// The values of these options, each given once at most.
fn options<'a, const N: usize>(words: &[&'a str], names: [&str; N]) -> Result<[Option<&'a str>; N], String> {
    let mut values = [None; N];
    for pair in words.chunks(2) {
        let &[name, value] = pair else { return Err(format!("{} wants a value", pair.join(" "))) };
        let at = names.iter().position(|known| *known == name);
        let place =
            at.and_then(|at| values.get_mut(at)).ok_or_else(|| format!("{name} is none of {}", names.join(", ")))?;
        *place = Some(value);
    }
    Ok(values)
}

fn whole(name: &str, value: Option<&str>, usual: u64) -> Result<u64, String> {
    value.map_or(Ok(usual), |text| text.parse().map_err(|_| format!("{name} wants a whole number, not {text:?}")))
}
