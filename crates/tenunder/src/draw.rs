//! Drawings of a sheet or of a specification alone.

use std::path::PathBuf;

use crank::{
    Band, JournalId, JournalSet, PrintedBand, PrintedLimit, PrintedSet, PrintedSpecification, SetName, Specification,
    Treatment,
};
use paper::{CrankSketch, Drawn, Known, SizeAxis, SvgSize, WearAlong};
use sheet::{Problem, Sheet};
use units::Unit;

use crate::{FAILED, complain, drawing_file, files, report, report_problems, say};

/// What is asked for.
#[derive(clap::Args)]
pub(crate) struct Asked {
    /// The sheet, or a specification
    file: PathBuf,
    /// What to draw: crank, "main 3", "pin 2", wear, size, "size pin"
    #[arg(long, default_value = "crank")]
    what: String,
    /// Draw it into this file; without one, what it shows is told in words
    #[arg(short, long, value_name = "FILE.svg")]
    output: Option<PathBuf>,
}

/// Why nothing was drawn.
enum Not {
    AtFault(Vec<Problem>),
    Failed(String),
}

/// Draws it; the exit code.
pub(crate) fn draw(asked: &Asked) -> u8 {
    let drawn = match drawn(asked) {
        Ok(drawn) => drawn,
        Err(Not::AtFault(problems)) => return report_problems(&problems),
        Err(Not::Failed(says)) => {
            complain(&format!("tenunder: {says}.\nThis is a fault of the program, not of the sheet.\n"));
            return FAILED;
        }
    };
    let mut text = report::wrap(&drawn.drawing.says, "", "");
    for trouble in &drawn.troubles {
        text += &report::wrap(trouble, "- ", "  ");
    }
    match &asked.output {
        Some(path) => drawing_file::put("draw", path, &drawn.drawing.to_svg("drawing", SvgSize::Millimetres), &text),
        None => say(&text),
    }
}

/// What can be asked for.
enum What {
    Crank,
    Wear,
    Sizes(SetName),
    Journal(JournalId),
}

impl What {
    fn of(words: &str) -> Option<What> {
        let words: Vec<&str> = words.split_whitespace().collect();
        let set = |word: &str| SetName::BOTH.into_iter().find(|set| set.word() == word);
        match words.as_slice() {
            ["crank"] => Some(What::Crank),
            ["wear"] => Some(What::Wear),
            ["size"] => Some(What::Sizes(SetName::Main)),
            ["size", word] => Some(What::Sizes(set(word)?)),
            [word, number] => {
                let number = number.parse().ok().filter(|number| *number > 0)?;
                Some(What::Journal(JournalId { set: set(word)?, number }))
            }
            _ => None,
        }
    }
}

fn problem(file: &str, key: &str, found: String, expected: &str, advice: &str) -> Not {
    let (file, key) = (file.to_owned(), key.to_owned());
    Not::AtFault(vec![Problem { file, line: None, key, found, expected: expected.into(), advice: advice.into() }])
}

fn drawn(asked: &Asked) -> Result<Drawn, Not> {
    let what = What::of(&asked.what).ok_or_else(|| {
        let found = asked.what.chars().take(40).collect();
        let expected = "crank, wear, size, \"size pin\", or a journal such as \"main 3\"";
        problem("draw", "--what", found, expected, "leave it out for the crank")
    })?;
    let text = files::read_text(&asked.file).map_err(|problem| Not::AtFault(vec![*problem]))?;
    let file = asked.file.display().to_string();
    if !is_sheet(&text) {
        let (printed, _) = sheet::read_specification(&file, &text).map_err(Not::AtFault)?;
        return match what {
            What::Crank => Ok(kind(&printed)),
            _ => {
                let found = format!("{file}, a specification");
                Err(problem("draw", "--what", found, "a sheet with readings", "draw the crank from this file"))
            }
        };
    }
    let folder = files::Beside { folder: asked.file.parent().map(std::path::Path::to_owned) };
    let sheet = sheet::read_sheet(&file, &text, &folder).map_err(Not::AtFault)?;
    measured(&sheet, &what, &file)
}

/// Whether a file is a sheet rather than a specification: it says so by its first key.
fn is_sheet(text: &str) -> bool {
    let says = |line: &str| {
        let rest = line.trim_start().strip_prefix("sheet").or_else(|| line.trim_start().strip_prefix("\"sheet\""));
        rest.is_some_and(|rest| rest.trim_start().starts_with(['=', ':']))
    };
    text.lines().any(says) || text.trim_start().starts_with('{') && text.contains("\"sheet\"")
}

/// A kind of crank, from its specification, checked or not.
fn kind(printed: &PrintedSpecification) -> Drawn {
    let faulty = crank::check(printed).iter().any(|problem| problem.severity == crank::Severity::Fault);
    let book = Specification::from_printed(printed).unwrap_or_else(|_| as_it_stands(printed));
    let mut drawn =
        CrankSketch { specification: &book, unit: book.unit, width_mm: CrankSketch::USUAL_MM, journals: Vec::new() }
            .draw();
    if faulty {
        drawn.troubles.push("The specification has faults: `tenunder check-spec` lists them.".to_owned());
    }
    drawn
}

/// A specification that has faults, as far as it can be read. What is missing is no number and is said so.
fn as_it_stands(printed: &PrintedSpecification) -> Specification {
    let unit = printed.unit;
    let mm = |limit: &Option<PrintedLimit>| limit.as_ref().and_then(|limit| limit.mm(unit)).unwrap_or(f64::NAN);
    let set = |of: &PrintedSet| JournalSet {
        positions_mm: of.positions.iter().map(|at| at * unit.mm()).collect(),
        angles_deg: of.angles_deg.clone(),
        size: PrintedBand::in_columns(&of.size, unit)
            .and_then(PrintedBand::band)
            .unwrap_or(Band { low_mm: f64::NAN, high_mm: f64::NAN }),
        undersizes_mm: Vec::new(),
        out_of_round_mm: None,
        taper: None,
        run_out: None,
        length_mm: mm(&of.length),
        smallest_mm: None,
        wear_limit_mm: None,
        aims: Vec::new(),
    };
    Specification {
        name: printed.name.clone(),
        unit,
        throw_mm: mm(&printed.throw),
        throw_tolerance_mm: None,
        index_tolerance_deg: None,
        main: set(&printed.main),
        pin: set(&printed.pin),
        treatment: Treatment {
            kind: printed.treatment.clone(),
            growth_mean_mm: 0.0,
            growth_sd_mm: 0.0,
            after_grinding: false,
        },
    }
}

/// A crank that was measured.
fn measured(sheet: &Sheet, what: &What, file: &str) -> Result<Drawn, Not> {
    let verdict = regrind::assess(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, &|_| ())
        .map_err(|failure| Not::Failed(failure.to_string()))?;
    let unit: Unit = sheet.unit;
    let known = Known {
        specification: &sheet.specification,
        findings: &sheet.findings,
        verdict: &verdict,
        unit,
        name: &|id| match id.set {
            SetName::Main => format!("Main {}", id.number),
            SetName::Pin => format!("Pin {}", id.number),
        },
    };
    let plural = |set: SetName| format!("{set}s");
    let drawn = match what {
        What::Crank => Some(known.crank().draw()),
        What::Wear => known.wear().map(|wear| wear.draw(WearAlong::USUAL_MM)),
        What::Sizes(set) => known.size_axis(*set, &plural(*set)).map(|axis| axis.draw(SizeAxis::WIDE_MM)),
        What::Journal(id) => known.journal(*id).map(|journal| journal.draw()),
    };
    drawn.ok_or_else(|| {
        let found = match what {
            What::Crank | What::Wear => "no main that is measured".to_owned(),
            What::Sizes(set) => format!("no {set} that is measured"),
            What::Journal(id) => format!("no reading of {id}"),
        };
        problem(file, "--what", found, "something that is measured", "draw the crank, or measure first")
    })
}
