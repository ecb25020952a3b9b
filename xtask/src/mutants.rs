//! Faults planted one by one in the rooms that compute, to see whether their own tests notice.
//!
//! `cargo-mutants` changes an operator or a result, builds the room and runs its tests; what no test notices is named. A
//! whole run takes days, so it is cut into shards and is no part of CI. What was run, and what is known to be left, stands in
//! `docs/mutants.md`.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

use crate::tools::{self, root};

/// The rooms whose arithmetic decides on metal.
const ROOMS: [&str; 5] = ["gauge", "crank", "regrind", "fit", "film"];

/// Of so many planted faults in operators no more than three may be left unnoticed.
const MOST_MISSED_IN_100: f64 = 3.0;

/// A mutant that makes a loop endless is caught by this.
const TIMEOUT_S: &str = "300";

/// How cargo-mutants ended, where that is no failure of its own: all caught, some missed, some timed out.
const ENDED: [i32; 3] = [0, 2, 3];

/// The names of what it writes down, each with the outcome.
const OUTCOMES: [(&str, Outcome); 4] = [
    ("caught.txt", Outcome::Caught),
    ("missed.txt", Outcome::Missed),
    ("unviable.txt", Outcome::Unviable),
    ("timeout.txt", Outcome::TimedOut),
];

/// What became of one planted fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Outcome {
    /// A test noticed.
    Caught,
    /// None did.
    Missed,
    /// It did not compile.
    Unviable,
    /// The tests did not end, which counts as noticed.
    TimedOut,
}

/// What is asked for.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Asked<'a> {
    rooms: Vec<&'a str>,
    /// `K/N`: the K-th of N parts, counted from 0.
    shard: Option<&'a str>,
    /// Only these files, by the end of their path.
    files: Vec<&'a str>,
    /// Arithmetic and comparisons only, which is what the bound is about.
    operators: bool,
}

impl<'a> Asked<'a> {
    /// Reads the words after `mutants`.
    ///
    /// # Errors
    /// A word that is none of the options, or no room.
    pub(crate) fn of(words: &[&'a str]) -> Result<Asked<'a>, String> {
        let mut asked = Asked::default();
        let mut words = words.iter().copied();
        while let Some(word) = words.next() {
            let mut value = || words.next().ok_or_else(|| format!("{word} wants a value"));
            match word {
                "--shard" => asked.shard = Some(value()?),
                "--file" => asked.files.push(value()?),
                "--operators" => asked.operators = true,
                room if root().join("crates").join(room).join("src/lib.rs").exists() => asked.rooms.push(room),
                other => {
                    return Err(format!(
                        "{other:?} is no room and no option: a room, --shard K/N, --file F or --operators"
                    ));
                }
            }
        }
        if asked.rooms.is_empty() {
            asked.rooms.extend(ROOMS);
        }
        Ok(asked)
    }
}

/// Plants the faults and prints what became of them, room by room.
///
/// # Errors
/// More than three in a hundred faults in operators unnoticed, or a tool that could not be run.
pub(crate) fn run(asked: &Asked<'_>) -> Result<(), String> {
    let tool = tools::mutants()?;
    let mut found = Vec::new();
    for room in &asked.rooms {
        let folder = tools::target().join("mutants").join(room);
        std::fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
        // By its path, so that it is the version that was installed; a folder of its own for what it builds, or the
        // product's would be rebuilt after each run.
        let mut mutants = tools::as_cargo(&tool);
        mutants.env("CARGO_TARGET_DIR", tools::target().join("mutants/build"));
        mutants.args(["mutants", "--no-times", "--jobs", "1", "--timeout", TIMEOUT_S, "--package", room]);
        // Documentation tests show how a thing is called; what bites stands in the others.
        mutants.args(["--cargo-test-arg=--lib", "--cargo-test-arg=--tests", "--output"]).arg(&folder);
        mutants.args(asked.shard.iter().flat_map(|shard| ["--shard", shard]));
        for file in &asked.files {
            mutants.args(["--file", &format!("crates/{room}/src/{file}")]);
        }
        if asked.operators {
            mutants.args(["--re", "replace [^ a-z]+ with "]);
        }
        let status = mutants.status().map_err(|error| format!("{}: {error}", tool.display()))?;
        if !status.code().is_some_and(|code| ENDED.contains(&code)) {
            return Err(format!("cargo mutants on {room}: {status}"));
        }
        found.extend(read(&folder.join("mutants.out"))?);
    }
    let summary = Summary::of(&found);
    print!("{}", summary.in_words());
    summary.within_bound()
}

/// What was written down of a run: each fault, as cargo-mutants names it, with its outcome.
fn read(folder: &Path) -> Result<Vec<(String, Outcome)>, String> {
    let mut found = Vec::new();
    for (file, outcome) in OUTCOMES {
        let file = folder.join(file);
        let text = std::fs::read_to_string(&file).map_err(|error| format!("{}: {error}", file.display()))?;
        found.extend(text.lines().filter(|line| !line.is_empty()).map(|line| (line.to_owned(), outcome)));
    }
    Ok(found)
}

/// `crates/gauge/src/line.rs:53:9: replace + with - in Line::at`: the room, and whether it is an operator that was changed.
fn kind(mutant: &str) -> (&str, bool) {
    let room = mutant.strip_prefix("crates/").and_then(|rest| rest.split('/').next()).unwrap_or_default();
    let changed = mutant.split_once(": replace ").and_then(|(_, rest)| rest.split_once(" with "));
    let deleted = mutant.split_once(": delete ").map(|(_, rest)| (rest, ""));
    let word = changed.or(deleted).map_or("", |(word, _)| word.split(' ').next().unwrap_or_default());
    (room, !word.is_empty() && word.chars().all(|c| "+-*/%<>=!&|^".contains(c)))
}

/// How many of each outcome, for operators and for the rest, room by room.
#[derive(Debug, Default)]
struct Summary {
    counts: BTreeMap<(String, bool), BTreeMap<Outcome, usize>>,
    missed: Vec<String>,
}

impl Summary {
    fn of(found: &[(String, Outcome)]) -> Summary {
        let mut summary = Summary::default();
        for (mutant, outcome) in found {
            let (room, operator) = kind(mutant);
            *summary.counts.entry((room.to_owned(), operator)).or_default().entry(*outcome).or_default() += 1;
            if *outcome == Outcome::Missed {
                summary.missed.push(mutant.clone());
            }
        }
        summary
    }

    fn in_words(&self) -> String {
        let mut text = String::from("room       kind        caught  missed  timed out  did not compile\n");
        for ((room, operator), counts) in &self.counts {
            let of = |outcome| counts.get(&outcome).copied().unwrap_or(0);
            let kind = if *operator { "operators" } else { "the rest" };
            let _ = writeln!(
                text,
                "{room:<9}  {kind:<9}  {:>7}  {:>6}  {:>9}  {:>15}",
                of(Outcome::Caught),
                of(Outcome::Missed),
                of(Outcome::TimedOut),
                of(Outcome::Unviable),
            );
        }
        for mutant in &self.missed {
            let _ = writeln!(text, "no test noticed: {mutant}");
        }
        text
    }

    /// Of the faults in operators that compiled, whether few enough went unnoticed.
    fn within_bound(&self) -> Result<(), String> {
        let of = |outcome| -> usize {
            let operators = self.counts.iter().filter(|((_, operator), _)| *operator);
            operators.filter_map(|(_, counts)| counts.get(&outcome)).sum()
        };
        let missed = of(Outcome::Missed);
        let tried = missed + of(Outcome::Caught) + of(Outcome::TimedOut);
        let in_100 = if tried > 0 { 100.0 * missed as f64 / tried as f64 } else { 0.0 };
        if in_100 > MOST_MISSED_IN_100 {
            return Err(format!(
                "{missed} of {tried} faults in operators went unnoticed, {in_100:.1} in 100; no more than \
                 {MOST_MISSED_IN_100} may. Write a case worked by hand for each, or explain it in docs/mutants.md."
            ));
        }
        println!("{missed} of {tried} faults in operators went unnoticed: {in_100:.1} in 100");
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn options_are_read_and_others_refused() {
        assert_eq!(Asked::of(&[]).map(|asked| asked.rooms), Ok(ROOMS.to_vec()));
        let asked = Asked::of(&["fit", "--shard", "2/40", "--file", "aim.rs", "--operators"]);
        let wanted = Asked { rooms: vec!["fit"], shard: Some("2/40"), files: vec!["aim.rs"], operators: true };
        assert_eq!(asked, Ok(wanted));
        assert!(Asked::of(&["kitchen"]).is_err() && Asked::of(&["--shard"]).is_err());
    }

    /// Lines as cargo-mutants 27.1 writes them.
    #[test]
    fn operators_are_told_from_the_rest() {
        for (line, expected) in [
            ("crates/gauge/src/line.rs:53:9: replace + with - in Line::at", ("gauge", true)),
            ("crates/fit/src/judge.rs:1:2: replace <= with > in keeps", ("fit", true)),
            ("crates/fit/src/judge.rs:1:2: replace && with || in keeps", ("fit", true)),
            ("crates/film/src/feed.rs:1:2: delete - in beyond", ("film", true)),
            ("crates/film/src/feed.rs:1:2: delete match arm Half::Upper in x", ("film", false)),
            ("crates/fit/src/aim.rs:1:2: replace beyond -> f64 with -1.0", ("fit", false)),
            ("crates/fit/src/aim.rs:1:2: replace match guard a > b with true in x", ("fit", false)),
        ] {
            assert_eq!(kind(line), expected, "{line}");
        }
    }

    /// By hand: 3 of 100 is just allowed, 4 of 101 is 3.96; what did not compile and what is no operator counts for nothing.
    #[test]
    fn more_than_three_in_a_hundred_is_too_many() {
        let plus = |outcome| ("crates/fit/src/aim.rs:1:2: replace + with - in x".to_owned(), outcome);
        let mut found: Vec<(String, Outcome)> = vec![plus(Outcome::Caught); 96];
        found.extend(vec![plus(Outcome::Missed); 3]);
        found.push(plus(Outcome::TimedOut));
        found.push(plus(Outcome::Unviable));
        found.push(("crates/fit/src/aim.rs:1:2: replace beyond -> f64 with 0.0".to_owned(), Outcome::Missed));
        assert_eq!(Summary::of(&found).within_bound(), Ok(()));
        found.push(plus(Outcome::Missed));
        let said = Summary::of(&found).within_bound().unwrap_err();
        assert!(said.starts_with("4 of 101 faults in operators went unnoticed, 4.0 in 100"), "{said}");
        assert_eq!(Summary::of(&found).missed.len(), 5);
    }
}
