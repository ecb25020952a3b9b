//! From the specification as printed to the one that is used.

use crank::{
    Band, JournalSet, Per, PrintedBand, PrintedSet, RunOutAs, RunOutLimit, Specification, TaperLimit, Treatment,
};
use units::Unit;

use crate::Book;
use crate::problem::{Place, Problems};
use crate::sizes::millimetres;

/// The specification, if it can be used; what is wrong with it becomes problems.
pub(crate) fn adopt(book: &Book, problems: &mut Problems) -> Option<Specification> {
    let before = problems.len();
    let printed = &book.printed;
    let unit = printed.unit;
    let mut missing = |key: &str, expected: &str| {
        let place = Place { file: &book.file, line: book.places.line(key) };
        problems.add(place, format!("{}{key}", book.prefix), "nothing", expected, format!("add {key}"));
    };
    if printed.throw.is_none() {
        missing("throw", "the crank radius");
    }
    for (name, set) in [("main", &printed.main), ("pin", &printed.pin)] {
        if set.size.is_empty() {
            missing(&format!("{name}.size"), "the finished limits");
        }
        if set.positions.is_empty() {
            missing(&format!("{name}.positions"), "the mid-lengths along the axis");
        }
        if set.length.is_none() {
            missing(&format!("{name}.length"), "the length of a journal");
        }
        if set.count.is_some_and(|count| count as usize != set.positions.len()) {
            missing(&format!("{name}.positions"), "one position for each journal");
        }
    }
    if printed.pin.angles_deg.len() != printed.pin.positions.len() {
        missing("pin.angles", "one direction for each pin");
    }
    if problems.len() > before {
        return None;
    }
    let mm = |limit: &Option<crank::PrintedLimit>| limit.as_ref().and_then(|limit| millimetres(limit, unit));
    let (growth_mean_mm, growth_sd_mm) = (mm(&printed.growth_mean), mm(&printed.growth_sd));
    Some(Specification {
        name: printed.name.clone(),
        unit,
        throw_mm: mm(&printed.throw)?,
        throw_tolerance_mm: mm(&printed.throw_tolerance),
        index_tolerance_deg: printed.index_tolerance_deg,
        main: set(&printed.main, unit)?,
        pin: set(&printed.pin, unit)?,
        treatment: Treatment {
            kind: printed.treatment.clone(),
            growth_mean_mm: growth_mean_mm.unwrap_or(0.0),
            growth_sd_mm: growth_sd_mm.unwrap_or(0.0),
            after_grinding: growth_mean_mm.is_some() && printed.treatment != "none",
        },
    })
}

fn band(bands: &[PrintedBand], unit: Unit) -> Option<Band> {
    let band = bands.iter().find(|band| band.unit == unit).or(bands.first())?;
    let mm = |value: f64| value * band.unit.mm();
    Some(Band { low_mm: mm(band.low.as_ref()?.value), high_mm: mm(band.high.as_ref()?.value) })
}

fn set(set: &PrintedSet, unit: Unit) -> Option<JournalSet> {
    let mm = |limit: &Option<crank::PrintedLimit>| limit.as_ref().and_then(|limit| millimetres(limit, unit));
    let sense = |limit: &Option<crank::PrintedLimit>| limit.as_ref().and_then(|limit| limit.sense.clone());
    let per = if sense(&set.taper).as_deref() == Some("length") { Per::Length } else { Per::Journal };
    let taper_unit = set.taper.as_ref().and_then(|t| t.columns.first()).map_or(1.0, |(unit, _)| unit.mm());
    let read_as = if sense(&set.run_out).as_deref() == Some("bend") { RunOutAs::Bend } else { RunOutAs::Total };
    Some(JournalSet {
        positions_mm: set.positions.iter().map(|p| p * unit.mm()).collect(),
        angles_deg: set.angles_deg.clone(),
        size: band(&set.size, unit)?,
        undersizes_mm: set.undersizes.iter().filter_map(|limit| millimetres(limit, unit)).collect(),
        out_of_round_mm: mm(&set.out_of_round),
        taper: mm(&set.taper)
            .map(|mm| TaperLimit { limit: if per == Per::Length { mm / taper_unit } else { mm }, per }),
        run_out: mm(&set.run_out).map(|limit_mm| RunOutLimit { limit_mm, read_as }),
        length_mm: mm(&set.length)?,
        smallest_mm: mm(&set.smallest),
        wear_limit_mm: mm(&set.wear_limit),
    })
}
