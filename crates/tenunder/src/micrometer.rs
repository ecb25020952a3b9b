//! A micrometer drawn from a size, in the terminal and to a file.

use std::path::PathBuf;

use clap::ValueEnum;
use gauge::scale::{Frame, Scale};
use paper::SvgSize;
use paper::micrometer;
use sheet::Problem;
use units::{Entry, Length, Unit, read};

use crate::{drawing_file, report, report_problems, say};

/// Largest size taken without a unit: above it millimetres may be meant.
const MOST_BARE_INCHES: f64 = 20.0;
/// Largest size that any micrometer for cranks reaches.
const MOST_MM: f64 = 1000.0;

/// What is asked for.
#[derive(clap::Args)]
pub(crate) struct Asked {
    /// The size, with its unit: 2.4480, "2.4480 in", 62.18 mm
    #[arg(required = true, num_args = 1..=2)]
    size: Vec<String>,
    /// What the micrometer reads to [default: as fine as the size was given]
    #[arg(long, value_enum)]
    reads: Option<Reads>,
    /// How far the next line of the sleeve is showing before it counts: 0 to 0.003 in, or 0 to 0.06 mm
    #[arg(long, value_name = "LENGTH")]
    showing: Option<String>,
    /// Draw it into this file too, as SVG
    #[arg(short, long, value_name = "FILE.svg")]
    output: Option<PathBuf>,
    /// Replace what stands there even where it is no earlier drawing of this program; a record never is
    #[arg(long, requires = "output")]
    replace: bool,
}

/// The scales, by what they read to.
#[derive(Clone, Copy, ValueEnum)]
enum Reads {
    /// One thou, without a vernier
    #[value(name = "0.001in", alias = "0.001")]
    Thou,
    /// A tenth of a thou, by vernier
    #[value(name = "0.0001in", alias = "0.0001")]
    Tenth,
    /// A hundredth of a millimetre, without a vernier
    #[value(name = "0.01mm", alias = "0.01")]
    Hundredth,
    /// A micron, by vernier
    #[value(name = "0.001mm")]
    Micron,
}

impl Reads {
    const fn scale(self) -> Scale {
        match self {
            Reads::Thou => Scale::Thou,
            Reads::Tenth => Scale::Tenth,
            Reads::Hundredth => Scale::Hundredth,
            Reads::Micron => Scale::Micron,
        }
    }
}

fn problem(key: &str, found: impl Into<String>, expected: impl Into<String>, advice: impl Into<String>) -> Problem {
    Problem {
        file: "micrometer".into(),
        line: None,
        key: key.into(),
        found: found.into(),
        expected: expected.into(),
        advice: advice.into(),
    }
}

/// Draws it; the exit code.
pub(crate) fn draw(asked: &Asked) -> u8 {
    match drawn(asked) {
        Err(problem) => report_problems(&[*problem]),
        Ok((text, drawing)) => match &asked.output {
            None => say(&text),
            Some(path) => drawing_file::put("micrometer", path, &drawing, &text, asked.replace),
        },
    }
}

/// The drawing in plain letters and as SVG.
fn drawn(asked: &Asked) -> Result<(String, String), Box<Problem>> {
    let typed = asked.size.join(" ");
    let size = size_of(&typed, asked.reads.map(|reads| reads.scale().unit()))?;
    let scale = asked.reads.map_or_else(|| as_fine_as(&size), Reads::scale);
    let unit = scale.unit();
    let peep = peep_of(asked.showing.as_deref(), unit)?;
    let frame = Frame::usual(scale, size.length);
    // The frame was taken from the size, so it reaches it.
    let unreached = |error: gauge::scale::ScaleError| {
        Box::new(problem("SIZE", error.to_string(), "a size that the micrometer reaches", "look at the size again"))
    };
    let drawing = micrometer::draw(frame, size.length, peep).map_err(unreached)?;
    let text = micrometer::in_text(frame, size.length, peep).map_err(unreached)?;
    let (says, picture) = text.split_once('\n').unwrap_or((&text, ""));
    let stands = frame.words(size.length).map_err(unreached)?;
    let text = format!("{}{}{picture}", report::wrap(&format!("{stands}."), "", ""), report::wrap(says, "", ""));
    Ok((text, drawing.to_svg("micrometer", SvgSize::Millimetres)))
}

fn size_of(typed: &str, unit: Option<Unit>) -> Result<Entry, Box<Problem>> {
    let shown = || typed.chars().take(60).collect::<String>();
    let entry = read(typed, unit.unwrap_or(Unit::Inch)).map_err(|error| {
        let advice = error.help().unwrap_or_else(|| "type the size as the micrometer shows it".into());
        problem("SIZE", error.to_string(), "a size such as 2.4480 or 62.18 mm", advice)
    })?;
    let bare = typed.trim_end().ends_with(|last: char| last.is_ascii_digit() || last == '.');
    if bare && unit.is_none() && entry.mm > MOST_BARE_INCHES * 25.4 {
        let advice = format!("add the unit: \"{} mm\"", shown());
        let found = format!("{} without a unit, which would be inches", shown());
        return Err(Box::new(problem("SIZE", found, "a unit with a size above 20", advice)));
    }
    if entry.length <= Length::ZERO || entry.mm > MOST_MM {
        let (most, advice) = match entry.unit {
            Unit::Inch => ("39.37 in", "look where the point stands"),
            Unit::Millimetre => ("1000 mm", "look where the point stands, and at the unit"),
        };
        let expected = format!("a size above nought and up to {most}");
        return Err(Box::new(problem("SIZE", shown(), expected, advice)));
    }
    Ok(entry)
}

/// The scale that shows as many places as were given.
fn as_fine_as(size: &Entry) -> Scale {
    match (size.unit, size.decimals) {
        (Unit::Inch, 0..=3) => Scale::Thou,
        (Unit::Inch, _) => Scale::Tenth,
        (Unit::Millimetre, 0..=2) => Scale::Hundredth,
        (Unit::Millimetre, _) => Scale::Micron,
    }
}

fn peep_of(typed: Option<&str>, unit: Unit) -> Result<Length, Box<Problem>> {
    let Some(typed) = typed else { return Ok(micrometer::usual_peep(unit)) };
    let most = micrometer::most_peep(unit);
    let expected = format!("0 to {} {unit}", most.show(unit, if unit == Unit::Inch { 3 } else { 2 }));
    let advice = "a line that shows further than that counts";
    let entry = read(typed, unit).map_err(|error| problem("--showing", error.to_string(), &expected, advice))?;
    if entry.length < Length::ZERO || entry.length > most {
        let found: String = typed.chars().take(60).collect();
        return Err(Box::new(problem("--showing", found, expected, advice)));
    }
    Ok(entry.length)
}
