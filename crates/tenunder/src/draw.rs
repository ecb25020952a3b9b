//! Drawings of a sheet, of a specification alone, or of a case for the film.

mod what;

use std::path::PathBuf;

use crank::{
    Band, JournalSet, PrintedBand, PrintedLimit, PrintedSet, PrintedSpecification, SetName, Specification, Treatment,
};
use film::case::Case;
use paper::{
    ClearanceSketch, CrankSketch, Drawn, FilmCurve, GaugeCurve, Known, LadderSketch, SizeAxis, SvgSize, WearAlong,
};
use sheet::{Problem, Sheet};
use units::Unit;

use crate::film::problems as of_case;
use crate::{FAILED, complain, drawing_file, files, report, report_problems, say};
use what::{EVERYTHING, What};

/// What is asked for.
#[derive(clap::Args)]
pub(crate) struct Asked {
    /// The sheet, a specification, or a case for the film
    file: PathBuf,
    /// What to draw: crank, "main 3", wear, size, ladder, clearance, film, gauge; each word alone or with a set, as "size
    /// pin" [default: crank; of a case for the film: film]
    #[arg(long)]
    what: Option<String>,
    /// Draw it into this file; without one, what it shows is told in words
    #[arg(short, long, value_name = "FILE.svg")]
    output: Option<PathBuf>,
    /// Replace what stands there even where it is no earlier drawing of this program; a record never is
    #[arg(long, requires = "output")]
    replace: bool,
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
        Some(path) => drawing_file::put(
            "draw",
            path,
            &drawn.drawing.to_svg("drawing", SvgSize::Millimetres),
            &text,
            asked.replace,
        ),
        None => say(&text),
    }
}

fn problem(file: &str, key: &str, found: String, expected: &str, advice: &str) -> Not {
    let (file, key) = (file.to_owned(), key.to_owned());
    Not::AtFault(vec![Problem { file, line: None, key, found, expected: expected.into(), advice: advice.into() }])
}

fn drawn(asked: &Asked) -> Result<Drawn, Not> {
    let what = asked.what.as_deref().map(|words| {
        What::of(words).ok_or_else(|| {
            let found = words.chars().take(40).collect();
            problem("draw", "--what", found, EVERYTHING, "leave it out for the crank")
        })
    });
    let what = what.transpose()?;
    let text = files::read_text(&asked.file).map_err(|problem| Not::AtFault(vec![*problem]))?;
    let file = asked.file.display().to_string();
    if begins_with(&text, "film") {
        let what = what.unwrap_or(What::Film(SetName::Pin));
        if !what.is_of_oil() {
            let found = format!("{file}, a case for the film");
            return Err(problem("draw", "--what", found, "a sheet", "of a case draw film, \"film main\" or gauge"));
        }
        let case = sheet::read_film_case(&file, &text).map_err(Not::AtFault)?;
        return of_oil(&case.case, what, case.unit, &file, |_| None);
    }
    let what = what.unwrap_or(What::Crank);
    if !begins_with(&text, "sheet") {
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
    measured(&sheet, what, &file)
}

/// Whether a file says by a key of its own what it is: `sheet = 1`, `film = 1`.
fn begins_with(text: &str, key: &str) -> bool {
    let quoted = format!("\"{key}\"");
    let says = |line: &str| {
        let line = line.trim_start();
        let rest = line.strip_prefix(key).or_else(|| line.strip_prefix(&quoted));
        rest.is_some_and(|rest| rest.trim_start().starts_with(['=', ':']))
    };
    text.lines().any(says) || text.trim_start().starts_with('{') && text.contains(&quoted)
}

/// A kind of crank, from its specification, checked or not.
fn kind(printed: &PrintedSpecification) -> Drawn {
    let faulty = crank::check(printed).iter().any(|problem| problem.severity == crank::Severity::Fault);
    let book = Specification::from_printed(printed).unwrap_or_else(|_| as_it_stands(printed));
    let mut drawn = CrankSketch {
        specification: &book,
        unit: book.unit,
        width_mm: CrankSketch::USUAL_MM,
        journals: Vec::new(),
        stamps: Vec::new(),
    }
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
        wear_out_of_round_mm: None,
        wear_taper: None,
        aims: Vec::new(),
        any_size: false,
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
fn measured(sheet: &Sheet, what: What, file: &str) -> Result<Drawn, Not> {
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
    let fit = || fit::fit(&sheet.engine(), Some(&verdict), &sheet.policy);
    let drawn = match what {
        What::Crank => Some(known.crank().draw()),
        What::Wear => known.wear().map(|wear| wear.draw(WearAlong::USUAL_MM)),
        What::Sizes(set) => known.size_axis(set, &plural(set)).map(|axis| axis.draw(SizeAxis::WIDE_MM)),
        What::Ladder(set) => known
            .ladder(set, set_name(set), false, &sheet.policy)
            .map(|ladder| Drawn { drawing: ladder.draw(LadderSketch::USUAL_MM), troubles: Vec::new() }),
        What::Clearances(set) => ClearanceSketch::of(&fit(), set, unit, &plural(set), known.name)
            .map(|sketch| sketch.draw(ClearanceSketch::WIDE_MM)),
        What::Film(_) | What::Gauge => {
            let fit = fit();
            let asked = fit::oil_case(&sheet.engine(), &fit).map_err(|why| {
                let (what, expected) = (format!("{file}: {why}"), "an engine whose film can be worked out");
                problem("draw", "--what", what, expected, "write a case for the film; docs/film.md explains it")
            })?;
            let window = |set| paper::film_window(&fit, set, sheet.engine().book.set(set).clearance);
            return of_oil(&asked.case, what, unit, file, window);
        }
        What::Journal(id) => known.journal(id).map(|journal| journal.draw()),
    };
    drawn.ok_or_else(|| {
        let found = match what {
            What::Sizes(set) | What::Ladder(set) => format!("no {set} that is measured"),
            What::Clearances(set) => format!("no clearance of the {set}s: no housing, shell or book clearance"),
            What::Journal(id) => format!("no reading of {id}"),
            _ => "no main that is measured".to_owned(),
        };
        problem(file, "--what", found, "something that is measured", "draw the crank, or measure first")
    })
}

/// `Mains`.
const fn set_name(set: SetName) -> &'static str {
    match set {
        SetName::Main => "Mains",
        SetName::Pin => "Pins",
    }
}

/// What the oil makes of a case: the least film of a set, or the gauge.
fn of_oil(
    case: &Case,
    what: What,
    unit: Unit,
    file: &str,
    window: impl Fn(SetName) -> Option<(f64, f64)>,
) -> Result<Drawn, Not> {
    let answer = film::case::answer(case).map_err(|problems| Not::AtFault(of_case(file, problems)))?;
    let drawing = match what {
        What::Film(set) => {
            let curve = FilmCurve::of(case, &answer, set, unit, set_name(set).to_owned(), window(set));
            Some(curve.draw(FilmCurve::USUAL_MM))
        }
        _ => GaugeCurve::of(case, &answer, unit).map(|curve| curve.draw(GaugeCurve::USUAL_MM)),
    };
    let drawing = drawing.ok_or_else(|| Not::Failed("the plan was not among the clearances answered".to_owned()))?;
    Ok(Drawn { drawing, troubles: Vec::new() })
}
