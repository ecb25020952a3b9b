//! What is this? The sizes of a crank that nobody knows as somebody types them, and the answer for a program.

use crank::{SetName, Specification};
use regrind::words::standard_or_under;
use regrind::{Fits, KnownCrank, Life, MOST_SIZES, Policy, Seen, SeenSize, Which};
use serde::Serialize;
use units::{Unit, read, show_mm};

use crate::Problem;

/// An engine that a crank may be of, ready to be asked about.
#[derive(Clone, Debug)]
pub struct KnownBook {
    /// Its book.
    pub specification: Specification,
    /// How the shop works on it.
    pub policy: Policy,
    /// Whether it is one of the invented ones that come with the program.
    pub comes_with_the_program: bool,
}

impl KnownBook {
    /// A book, with the usual ways of a shop.
    pub fn new(specification: Specification, comes_with_the_program: bool) -> KnownBook {
        let policy = Policy::usual(specification.unit);
        KnownBook { specification, policy, comes_with_the_program }
    }
}

/// What was asked: the sizes, the counts, and the unit that the first size was typed in.
#[derive(Clone, Debug, PartialEq)]
pub struct AskedWhich {
    /// What is known of the crank.
    pub seen: Seen,
    /// The unit of the answer.
    pub unit: Unit,
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

/// Journals of one set that a crank can have.
const MOST_JOURNALS: usize = 40;

/// Reads sizes as somebody types them, each after `main` or `pin` where that is known: `main 2.1143 pin 1.8640`, and how many
/// mains and pins were counted. A bare number up to 20 is in inches, above it in millimetres.
///
/// # Errors
/// Every problem at once.
pub fn read_which(typed: &str, counts: [Option<usize>; 2]) -> Result<AskedWhich, Vec<Problem>> {
    let mut problems = Vec::new();
    let mut sizes: Vec<SeenSize> = Vec::new();
    let mut units: Vec<Unit> = Vec::new();
    let mut set = None;
    let is_unit = |next: &&str| {
        let next = next.to_lowercase();
        [Unit::Inch, Unit::Millimetre].iter().any(|unit| unit.symbol() == next)
    };
    let mut left = typed.split_whitespace().peekable();
    while let Some(word) = left.next() {
        match word.to_lowercase().trim_end_matches([':', ',', ';']) {
            "main" | "mains" => set = Some(SetName::Main),
            "pin" | "pins" | "crankpin" | "crankpins" => set = Some(SetName::Pin),
            "" => {}
            _ => {
                let word = word.trim_end_matches([',', ';']);
                let unit = left.next_if(is_unit);
                let typed = unit.map_or_else(|| word.to_owned(), |unit| format!("{word} {unit}"));
                match read_size(&typed) {
                    Ok((size_mm, doubt_mm, unit)) => {
                        sizes.push(SeenSize { set, size_mm, doubt_mm });
                        units.push(unit);
                    }
                    Err(problem) => problems.push(*problem),
                }
            }
        }
    }
    if sizes.is_empty() && problems.is_empty() {
        problems.push(problem("sizes", "no size", "at least one", "type what the micrometer showed: 1.8640"));
    }
    if sizes.len() > MOST_SIZES {
        let expected = format!("{MOST_SIZES} at most");
        problems.push(problem(
            "sizes",
            format!("{} sizes", sizes.len()),
            expected,
            "one or two of each set are enough",
        ));
    }
    for (name, count) in [("mains", counts[0]), ("pins", counts[1])] {
        if let Some(count) = count.filter(|count| !(1..=MOST_JOURNALS).contains(count)) {
            let expected = format!("a number from 1 to {MOST_JOURNALS}");
            problems.push(problem(name, count.to_string(), expected, "count the journals again"));
        }
    }
    let unit = units.first().copied().unwrap_or(Unit::Inch);
    if problems.is_empty() { Ok(AskedWhich { seen: Seen { sizes, counts }, unit }) } else { Err(problems) }
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
        Box::new(problem("sizes", error.to_string(), "a size such as 1.8640 or 47.35 mm, after main or pin", advice))
    })?;
    if !(entry.mm > 0.0 && entry.mm <= MOST_MM) {
        let expected = "a size above nought and up to 1000 mm";
        return Err(Box::new(problem("sizes", shown, expected, "look where the point stands, and at the unit")));
    }
    let last_place_mm = entry.unit.mm() / 10f64.powi(entry.decimals.min(9) as i32);
    Ok((entry.mm, last_place_mm / 2.0 / 3f64.sqrt(), entry.unit))
}

/// The answer for a program, in the unit that the sizes were typed in.
#[derive(Debug, Serialize)]
pub struct WhichAnswer {
    /// `in` or `mm`.
    pub units: &'static str,
    /// The likeliest first; none below one in a hundred.
    pub fits: Vec<FitsAnswer>,
    /// The chance that it is of none of the engines known.
    pub none: f64,
    /// What would tell the first answer from the next.
    pub tell_apart: Option<String>,
}

/// One answer.
#[derive(Debug, Serialize)]
pub struct FitsAnswer {
    /// What the engine is called.
    pub engine: String,
    /// Whether it is invented, and comes with the program.
    pub invented: bool,
    /// `finished`, `worn`, `before treatment` or `off the wheel`.
    pub life: &'static str,
    /// How likely.
    pub chance: f64,
    /// What each size is, in the order they were typed.
    pub sizes: Vec<IdentifiedAnswer>,
}

/// What one size is.
#[derive(Debug, Serialize)]
pub struct IdentifiedAnswer {
    /// As typed, in the unit of the answer.
    pub size: f64,
    /// `main` or `pin`.
    pub set: String,
    /// The undersize; zero at standard.
    pub undersize: f64,
    /// What is asked for at that point of its life; of a worn one the finished limits.
    pub low: f64,
    /// The upper end of it.
    pub high: f64,
    /// The same in words: `main at 0.010 in under, worn 0.0005 in from 2.1145 to 2.1150 in`.
    pub says: String,
}

/// What a crank may be, among some engines.
pub fn which_answer(known: &[KnownBook], asked: &AskedWhich) -> WhichAnswer {
    let engines: Vec<KnownCrank<'_>> =
        known.iter().map(|known| KnownCrank { specification: &known.specification, policy: &known.policy }).collect();
    let found = regrind::which(&engines, &asked.seen);
    let unit = asked.unit;
    let places = |share: f64| (share * 1e6).round() / 1e6;
    let fits = found.fits.iter().filter_map(|fits| {
        let engine = known.get(fits.engine)?;
        Some(FitsAnswer {
            engine: engine.specification.name.clone(),
            invented: engine.comes_with_the_program,
            life: fits.life.word(),
            chance: places(fits.share),
            sizes: identified(engine, fits, asked),
        })
    });
    WhichAnswer {
        units: unit.symbol(),
        fits: fits.collect(),
        none: places(found.none),
        tell_apart: says_apart(known, &found, unit),
    }
}

fn identified(engine: &KnownBook, fits: &Fits, asked: &AskedWhich) -> Vec<IdentifiedAnswer> {
    let unit = asked.unit;
    let round = |mm: f64| (mm / unit.mm() * 1e6).round() / 1e6;
    let figure = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
    let all = fits.sizes.iter().zip(&asked.seen.sizes);
    all.map(|(size, read)| {
        let step = standard_or_under(size.undersize_mm, engine.specification.unit);
        let asks = format!("{} to {} {unit}", figure(size.window.low_mm), figure(size.window.high_mm));
        let worn_mm = size.window.middle_mm() - read.size_mm;
        let what = match fits.life {
            Life::Worn if worn_mm > 0.0 => format!("worn {} {unit} from {asks}", figure(worn_mm)),
            Life::Worn => format!("hardly worn, from {asks}"),
            _ => asks,
        };
        IdentifiedAnswer {
            size: round(read.size_mm),
            set: size.set.to_string(),
            undersize: round(size.undersize_mm),
            low: round(size.window.low_mm),
            high: round(size.window.high_mm),
            says: format!("{} at {step}, {what}", size.set),
        }
    })
    .collect()
}

fn says_apart(known: &[KnownBook], found: &Which, unit: Unit) -> Option<String> {
    let [first, second, ..] = found.fits.as_slice() else { return None };
    let name = |fits: &Fits| known.get(fits.engine).map_or("", |known| known.specification.name.as_str());
    found.tell_apart.map(|tell| tell.words([name(first), name(second)], unit))
}
