//! From what the book prints to a specification that can be used.

use crate::check::{Severity, SpecProblem, check};
use crate::{
    Band, JournalSet, Per, PrintedBand, PrintedLimit, PrintedSet, PrintedSpecification, RunOutAs, RunOutLimit, SetName,
    Specification, TaperLimit, ThrowTolerance, Treatment,
};

impl Specification {
    /// A checked specification, in millimetres.
    ///
    /// Where the book prints two unit columns, the one in the document's unit counts. Directions of throws are turned
    /// so that the first is zero. A crank counts as treated after grinding where a treatment and its growth are
    /// stated. Where only one limit of a size is printed it counts as both.
    ///
    /// # Errors
    /// Every fault of [`check`]; queries do not stop it.
    pub fn from_printed(printed: &PrintedSpecification) -> Result<Specification, Vec<SpecProblem>> {
        let mut faults = check(printed);
        faults.retain(|problem| problem.severity == Severity::Fault);
        if !faults.is_empty() {
            return Err(faults);
        }
        let unit = printed.unit;
        let mm = |limit: &Option<PrintedLimit>| limit.as_ref().and_then(|limit| limit.mm(unit));
        let treated = printed.treatment != "none" && printed.growth_mean.is_some();
        Ok(Specification {
            name: printed.name.clone(),
            unit,
            throw_mm: mm(&printed.throw).ok_or_else(|| absent("throw"))?,
            throw_tolerance_mm: PrintedBand::in_columns(&printed.throw_limits, unit)
                .and_then(PrintedBand::band)
                .map(|band| ThrowTolerance { low_mm: band.low_mm, high_mm: band.high_mm })
                .or(mm(&printed.throw_tolerance).map(ThrowTolerance::either_way)),
            index_tolerance_deg: printed.index_tolerance_deg,
            main: set(printed, SetName::Main, &printed.main)?,
            pin: set(printed, SetName::Pin, &printed.pin)?,
            treatment: Treatment {
                kind: printed.treatment.clone(),
                growth_mean_mm: if treated { mm(&printed.growth_mean).unwrap_or(0.0) } else { 0.0 },
                growth_sd_mm: if treated { mm(&printed.growth_sd).unwrap_or(0.0) } else { 0.0 },
                after_grinding: treated,
            },
        })
    }
}

fn set(printed: &PrintedSpecification, name: SetName, set: &PrintedSet) -> Result<JournalSet, Vec<SpecProblem>> {
    let unit = printed.unit;
    let mm = |limit: &Option<PrintedLimit>| limit.as_ref().and_then(|limit| limit.mm(unit));
    let undersizes_mm: Vec<f64> = if set.undersizes.is_empty() {
        set.steps.iter().filter_map(|step| step.undersize.mm(unit)).filter(|mm| *mm > 0.0).collect()
    } else {
        set.undersizes.iter().filter_map(|limit| limit.mm(unit)).filter(|mm| *mm > 0.0).collect()
    };
    let standard_row = set.steps.iter().find(|step| step.undersize.mm(unit) == Some(0.0));
    let worn_at_standard = standard_row.and_then(|step| step.worn.as_ref()).and_then(|limit| limit.mm(unit));
    let first_deg = set.angles_deg.first().copied().unwrap_or(0.0);
    let angles_deg = match name {
        SetName::Main => Vec::new(),
        SetName::Pin => set.angles_deg.iter().map(|angle| turn_from(first_deg, *angle)).collect(),
    };
    let taper = |limit: &Option<PrintedLimit>| {
        let limit = limit.as_ref()?;
        let (unit, number) = limit.column(unit)?;
        Some(match limit.sense.as_deref() {
            // So many inches in an inch are as many millimetres in a millimetre.
            Some("length") => TaperLimit { limit: number.value, per: Per::Length },
            _ => TaperLimit { limit: number.value * unit.mm(), per: Per::Journal },
        })
    };
    let run_out = set.run_out.as_ref().and_then(|limit| {
        let read_as = if limit.sense.as_deref() == Some("bend") { RunOutAs::Bend } else { RunOutAs::Total };
        Some(RunOutLimit { limit_mm: limit.mm(unit)?, read_as })
    });
    Ok(JournalSet {
        positions_mm: set.positions.iter().map(|position| position * unit.mm()).collect(),
        angles_deg,
        size: size(set, unit).ok_or_else(|| absent(&format!("{name}.size")))?,
        undersizes_mm,
        out_of_round_mm: mm(&set.out_of_round),
        taper: taper(&set.taper),
        run_out,
        length_mm: mm(&set.length).ok_or_else(|| absent(&format!("{name}.length")))?,
        smallest_mm: mm(&set.smallest),
        wear_limit_mm: mm(&set.wear_limit).or(worn_at_standard),
        wear_out_of_round_mm: mm(&set.wear_out_of_round),
        wear_taper: taper(&set.wear_taper),
        aims: Vec::new(),
        any_size: set.any_size,
    })
}

/// Limits at standard, from the set's own line or from the standard row of its table.
fn size(set: &PrintedSet, unit: units::Unit) -> Option<Band> {
    let row = set.steps.iter().find(|step| step.undersize.mm(unit) == Some(0.0));
    PrintedBand::in_columns(&set.size, unit)
        .or_else(|| row.and_then(|step| PrintedBand::in_columns(&step.size, unit)))
        .and_then(PrintedBand::band)
}

/// How far one direction is ahead of another, from zero up to a full turn.
fn turn_from(first_deg: f64, deg: f64) -> f64 {
    let turn = (deg - first_deg).rem_euclid(360.0);
    // The remainder of a tiny negative number rounds to the full turn itself.
    if turn >= 360.0 { 0.0 } else { turn }
}

/// The check asks for every value used here, so this says that the check has a hole.
fn absent(key: &str) -> Vec<SpecProblem> {
    vec![SpecProblem {
        key: key.to_owned(),
        severity: Severity::Fault,
        found: "nothing".to_owned(),
        expected: "a value".to_owned(),
        cause: "the value was left out".to_owned(),
        source: None,
        confirm: Vec::new(),
    }]
}
