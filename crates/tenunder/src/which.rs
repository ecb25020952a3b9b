//! What is this? A crank that nobody knows, by a size or a few.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use crank::SetName;
use regrind::words::{in_hundred, under};
use regrind::{Fits, KnownCrank, Life, MOST_SIZES, Policy, Seen, SeenSize, Which};
use serde_json::json;
use sheet::Problem;
use units::{Unit, read, show_mm};

use crate::{AT_FAULT, files, report_problems, say};

/// What is asked.
#[derive(clap::Args)]
pub(crate) struct Asked {
    /// Sizes as they were read, each after main or pin where that is known: 1.8640, or main 2.1143 pin 1.8640 mm
    #[arg(required = true, value_name = "SIZE")]
    sizes: Vec<String>,
    /// How many mains it has
    #[arg(long, value_name = "COUNT")]
    mains: Option<usize>,
    /// How many crankpins it has
    #[arg(long, value_name = "COUNT")]
    pins: Option<usize>,
    /// Look among these engines too: a specification, or a folder of them
    #[arg(long = "among", value_name = "FILE|FOLDER")]
    among: Vec<PathBuf>,
    /// Print the answer as JSON
    #[arg(long)]
    json: bool,
}

/// An engine that it may be of.
struct Known {
    specification: crank::Specification,
    policy: Policy,
    comes_with_the_program: bool,
}

/// Answers; the exit code.
pub(crate) fn answer(asked: &Asked) -> u8 {
    let mut problems = Vec::new();
    let (sizes, unit) = sizes(&asked.sizes, &mut problems);
    let known = known(&asked.among, &mut problems);
    for (name, count) in [("--mains", asked.mains), ("--pins", asked.pins)] {
        if let Some(count @ (0 | 41..)) = count {
            problems.push(problem(name, count.to_string(), "a number from 1 to 40", "count the journals again"));
        }
    }
    if !problems.is_empty() {
        report_problems(&problems);
        return AT_FAULT;
    }
    let engines: Vec<KnownCrank<'_>> =
        known.iter().map(|known| KnownCrank { specification: &known.specification, policy: &known.policy }).collect();
    let seen = Seen { sizes, counts: [asked.mains, asked.pins] };
    let found = regrind::which(&engines, &seen);
    if asked.json {
        say(&format!("{:#}\n", as_json(&known, &seen, &found, unit)))
    } else {
        say(&told(&known, &seen, &found, unit))
    }
}

fn problem(key: &str, found: impl Into<String>, expected: impl Into<String>, advice: impl Into<String>) -> Problem {
    Problem {
        file: "which".into(),
        line: None,
        key: key.into(),
        found: found.into(),
        expected: expected.into(),
        advice: advice.into(),
    }
}

/// The sizes, and the unit they were given in.
fn sizes(words: &[String], problems: &mut Vec<Problem>) -> (Vec<SeenSize>, Unit) {
    let mut sizes: Vec<SeenSize> = Vec::new();
    let mut units: Vec<Unit> = Vec::new();
    let mut set = None;
    let words: Vec<&str> = words.iter().flat_map(|word| word.split_whitespace()).collect();
    let mut left = words.iter().copied().peekable();
    while let Some(word) = left.next() {
        set = match word.to_lowercase().trim_end_matches([':', ',']) {
            "main" | "mains" => Some(SetName::Main),
            "pin" | "pins" | "crankpin" | "crankpins" => Some(SetName::Pin),
            _ => {
                let unit = left.next_if(|next| {
                    [Unit::Inch, Unit::Millimetre].iter().any(|unit| unit.symbol() == next.to_lowercase())
                });
                let typed = unit.map_or_else(|| word.to_owned(), |unit| format!("{word} {unit}"));
                match read_size(&typed) {
                    Ok((size_mm, doubt_mm, unit)) => {
                        sizes.push(SeenSize { set, size_mm, doubt_mm });
                        units.push(unit);
                    }
                    Err(problem) => problems.push(*problem),
                }
                continue;
            }
        };
    }
    if sizes.is_empty() && problems.is_empty() {
        problems.push(problem("SIZE", "no size", "at least one", "tenunder which 1.8640"));
    }
    if sizes.len() > MOST_SIZES {
        let expected = format!("{MOST_SIZES} at most");
        problems.push(problem("SIZE", format!("{} sizes", sizes.len()), expected, "one or two of each set are enough"));
    }
    (sizes, units.first().copied().unwrap_or(Unit::Inch))
}

/// A bare number up to 20 is in inches, above it in millimetres: no journal is 20 inches thick, and few are under 20 mm.
const MOST_BARE_INCHES: f64 = 20.0;
/// Larger than any journal of an engine that a shop grinds.
const MOST_MM: f64 = 1000.0;

/// A size, what its last place leaves in doubt (evenly, half of it either way), and its unit.
fn read_size(typed: &str) -> Result<(f64, f64, Unit), Box<Problem>> {
    let shown: String = typed.chars().take(60).collect();
    let usual = match typed.trim().replace(',', ".").parse::<f64>() {
        Ok(bare) if bare > MOST_BARE_INCHES => Unit::Millimetre,
        _ => Unit::Inch,
    };
    let entry = read(typed, usual).map_err(|error| {
        let advice = error.help().unwrap_or_else(|| "type the size as the micrometer shows it".into());
        Box::new(problem("SIZE", error.to_string(), "a size such as 1.8640 or 47.35 mm, after main or pin", advice))
    })?;
    if !(entry.mm > 0.0 && entry.mm <= MOST_MM) {
        let expected = "a size above nought and up to 1000 mm";
        return Err(Box::new(problem("SIZE", shown, expected, "look where the point stands, and at the unit")));
    }
    let last_place_mm = entry.unit.mm() / 10f64.powi(entry.decimals.min(9) as i32);
    Ok((entry.mm, last_place_mm / 2.0 / 3f64.sqrt(), entry.unit))
}

/// The engines that come with the program, and those that are named.
fn known(among: &[PathBuf], problems: &mut Vec<Problem>) -> Vec<Known> {
    let mut known = Vec::new();
    for path in among {
        for file in specifications_in(path, problems) {
            match files::read_text(&file) {
                Ok(text) => take(&file.display().to_string(), &text, false, path.is_dir(), &mut known, problems),
                Err(problem) => problems.push(*problem),
            }
        }
    }
    for (name, text) in files::specifications() {
        take(name, text, true, false, &mut known, problems);
    }
    known
}

/// A specification, or every one in a folder, by name.
fn specifications_in(path: &Path, problems: &mut Vec<Problem>) -> Vec<PathBuf> {
    if !path.is_dir() {
        return vec![path.to_owned()];
    }
    let listed = std::fs::read_dir(path).and_then(|entries| entries.map(|entry| Ok(entry?.path())).collect());
    let mut files: Vec<PathBuf> = match listed {
        Ok(files) => files,
        Err(error) => {
            let found = format!("it could not be read ({error})");
            problems.push(problem("--among", found, "a folder of specifications", "check the name and the rights"));
            return Vec::new();
        }
    };
    files.retain(|file| file.extension().is_some_and(|ending| ending == "toml"));
    files.sort();
    files
}

/// Reads a specification and takes it among those known. Of a folder, sheets and other files are passed over.
fn take(
    file: &str,
    text: &str,
    comes_with_the_program: bool,
    of_folder: bool,
    known: &mut Vec<Known>,
    problems: &mut Vec<Problem>,
) {
    if of_folder && !text.lines().any(|line| line.trim_start().starts_with("specification")) {
        return;
    }
    if of_folder && text.lines().any(|line| line.trim_start().starts_with("sheet")) {
        return;
    }
    match sheet::read_book(file, text) {
        Ok(specification) => {
            let policy = Policy::usual(specification.unit);
            known.push(Known { specification, policy, comes_with_the_program });
        }
        Err(found) => problems.extend(found),
    }
}

fn figure(mm: f64, unit: Unit) -> String {
    format!("{} {unit}", show_mm(mm, unit, unit.usual_decimals()))
}

fn told(known: &[Known], seen: &Seen, found: &Which, unit: Unit) -> String {
    let mut says = String::new();
    if found.fits.is_empty() {
        let _ = writeln!(says, "None of the {} engines known here fits.", known.len());
    }
    for fits in &found.fits {
        let engine = &known[fits.engine];
        let invented = if engine.comes_with_the_program { " (invented, comes with the program)" } else { "" };
        let _ =
            writeln!(says, "{}{invented}, {}: {}", engine.specification.name, fits.life.word(), in_hundred(fits.share));
        for (size, read) in fits.sizes.iter().zip(&seen.sizes) {
            let step = if size.undersize_mm == 0.0 {
                "standard".to_owned()
            } else {
                under(size.undersize_mm, engine.specification.unit)
            };
            let asks = format!(
                "{} to {}",
                show_mm(size.window.low_mm, unit, unit.usual_decimals()),
                figure(size.window.high_mm, unit)
            );
            let worn_mm = (size.window.high_mm + size.window.low_mm) / 2.0 - read.size_mm;
            let what = match fits.life {
                Life::Worn if worn_mm > 0.0 => format!("worn {} from {asks}", figure(worn_mm, unit)),
                Life::Worn => format!("hardly worn, from {asks}"),
                _ => asks,
            };
            let _ = writeln!(says, "    {}: {} at {step}, {what}", figure(read.size_mm, unit), size.set);
        }
    }
    if !found.fits.is_empty() {
        let _ = writeln!(says, "None of the engines known here: {}", in_hundred(found.none));
    }
    if let Some(tell) = says_apart(known, found, unit) {
        let _ = writeln!(says, "\nTo tell them apart: {tell}");
    }
    says + "\nA place to look in a book, not a specification to grind by.\n"
}

fn says_apart(known: &[Known], found: &Which, unit: Unit) -> Option<String> {
    let [first, second, ..] = found.fits.as_slice() else { return None };
    let names = [first, second].map(|fits: &Fits| known[fits.engine].specification.name.as_str());
    found.tell_apart.map(|tell| tell.words(names, unit))
}

fn as_json(known: &[Known], seen: &Seen, found: &Which, unit: Unit) -> serde_json::Value {
    let round = |mm: f64| (mm / unit.mm() * 1e6).round() / 1e6;
    let share = |share: f64| (share * 1e6).round() / 1e6;
    let fits: Vec<_> = found
        .fits
        .iter()
        .map(|fits| {
            let sizes: Vec<_> = fits
                .sizes
                .iter()
                .zip(&seen.sizes)
                .map(|(size, read)| {
                    json!({
                        "size": round(read.size_mm), "set": size.set.to_string(), "undersize": round(size.undersize_mm),
                        "low": round(size.window.low_mm), "high": round(size.window.high_mm),
                    })
                })
                .collect();
            json!({
                "engine": known[fits.engine].specification.name, "life": fits.life.word(),
                "chance": share(fits.share), "sizes": sizes,
            })
        })
        .collect();
    json!({ "units": unit.symbol(), "fits": fits, "none": share(found.none), "tell_apart": says_apart(known, found, unit) })
}
