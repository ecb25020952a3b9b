//! The one further measurement that would change the verdict most.

use crank::{JournalId, SetName};
use units::{Unit, show_mm};

use crate::chance::{Counts, SAME_LENGTH_MM};
use crate::surface::Surface;
use crate::words::{in_hundred, under};

/// A swing of the chance smaller than this is not worth a measurement.
const WORTH_MEASURING: f64 = 0.05;

/// What to measure next, and what it could change the verdict to.
#[derive(Clone, Debug, PartialEq)]
pub struct NextMeasurement {
    /// The set whose verdict it would change.
    pub set: SetName,
    /// The journal to measure; none where it is an instrument that wants checking.
    pub journal: Option<JournalId>,
    /// What to do, as an instruction.
    pub measure: String,
    /// What the answer could become.
    pub could_change: String,
    /// Difference of the chance at the undersize it moves most, between a bad and a good outcome.
    pub swing: f64,
    /// Whether one of the outcomes would change the choice.
    pub changes_choice: bool,
}

/// One set as the search sees it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SetQuestion<'a> {
    pub(crate) set: SetName,
    /// Undersizes, standard first.
    pub(crate) steps_mm: &'a [f64],
    /// Radius wanted at each step.
    pub(crate) wanted_mm: &'a [f64],
    pub(crate) stock_mm: f64,
    pub(crate) confidence: f64,
    /// The step chosen, or the deepest where none was.
    pub(crate) chosen: usize,
}

/// One thing that is not known exactly, and the measurement that would settle it.
struct Unknown<'a> {
    values: &'a [f64],
    journal: Option<JournalId>,
    measure: String,
    /// What it means when the value turns out low, and when high.
    low: String,
    high: String,
}

/// Finds the measurement, looking at how often each step cleans up in the draws in which an unknown came out in its
/// lowest fifth, against those in which it came out in its highest.
pub(crate) fn next_measurement(
    surface: &Surface,
    counts: &Counts,
    instruments: &[String],
    question: SetQuestion<'_>,
    unit: Unit,
) -> Option<NextMeasurement> {
    let rooms = &counts.rooms_mm[usize::from(question.set == SetName::Pin)];
    unknowns(surface, counts, instruments, question.set, unit)
        .into_iter()
        .filter_map(|unknown| weigh(&unknown, rooms, question, unit))
        .max_by(|a, b| a.changes_choice.cmp(&b.changes_choice).then(a.swing.total_cmp(&b.swing)))
        .filter(|best| best.swing >= WORTH_MEASURING)
}

fn weigh(unknown: &Unknown<'_>, rooms: &[f64], question: SetQuestion<'_>, unit: Unit) -> Option<NextMeasurement> {
    let n = unknown.values.len().min(rooms.len());
    if n < 100 {
        return None;
    }
    let mut ranked: Vec<f64> = unknown.values[..n].to_vec();
    let (_, &mut low_end, _) = ranked.select_nth_unstable_by(n / 5, f64::total_cmp);
    let (_, &mut high_end, _) = ranked.select_nth_unstable_by(n - 1 - n / 5, f64::total_cmp);
    if high_end <= low_end {
        return None;
    }
    let chance = |step: usize, keep: &dyn Fn(f64) -> bool| {
        let needed = question.stock_mm + question.wanted_mm[step] - question.wanted_mm[0] - SAME_LENGTH_MM;
        let (mut hits, mut all) = (0.0, 0.0_f64);
        for (&value, &room) in unknown.values[..n].iter().zip(rooms) {
            if keep(value) {
                all += 1.0;
                hits += f64::from(u8::from(room >= needed));
            }
        }
        hits / all.max(1.0)
    };
    let low = |step| chance(step, &|v| v <= low_end);
    let high = |step| chance(step, &|v| v >= high_end);
    let choice =
        |chance: &dyn Fn(usize) -> f64| (0..question.steps_mm.len()).find(|&step| chance(step) >= question.confidence);
    let (low_choice, high_choice) = (choice(&low), choice(&high));
    let steps = [question.chosen.saturating_sub(1), question.chosen];
    let &step = steps.iter().max_by(|&&a, &&b| {
        let swing = |s| (high(s) - low(s)).abs();
        swing(a).total_cmp(&swing(b))
    })?;
    let size = |step: Option<usize>| match step {
        Some(0) => "standard".to_owned(),
        Some(step) => under(question.steps_mm[step], unit),
        None => "no undersize".to_owned(),
    };
    let at = size(Some(step));
    let outcome = |words: &str, chance: f64, choice: Option<usize>| {
        format!(
            "{words}, {at} has {} and the {} would go to {}",
            in_hundred(chance),
            plural(question.set),
            size(choice)
        )
    };
    Some(NextMeasurement {
        set: question.set,
        journal: unknown.journal,
        measure: unknown.measure.clone(),
        could_change: format!(
            "{}; {}.",
            outcome(&unknown.low, low(step), low_choice),
            outcome(&unknown.high, high(step), high_choice)
        ),
        swing: (high(step) - low(step)).abs(),
        changes_choice: low_choice != high_choice,
    })
}

fn unknowns<'a>(
    surface: &Surface,
    counts: &'a Counts,
    instruments: &[String],
    set: SetName,
    unit: Unit,
) -> Vec<Unknown<'a>> {
    let mut unknowns = Vec::new();
    for (journal, values) in surface.journals.iter().zip(&counts.drawn.shares) {
        if journal.id.set == set && journal.share.is_none() && journal.share_counts {
            let how = match set {
                SetName::Main => "take its run-out on the present axis, with the direction of the high spot",
                SetName::Pin => "sweep an indicator round it, or compare the inner and the outer side of its throw",
            };
            unknowns.push(Unknown {
                values,
                journal: Some(journal.id),
                measure: format!("Find out on which side {} is worn: {how}.", journal.id),
                low: "If it is worn evenly".into(),
                high: "if all on one side".into(),
            });
        }
    }
    for (depth, values) in surface.depths.iter().zip(&counts.drawn.depths_mm) {
        let id = surface.journals[depth.journal].id;
        if id.set == set && depth.highest_mm > depth.lowest_mm {
            let show = |mm| format!("{} {unit}", show_mm(mm, unit, unit.usual_decimals()));
            unknowns.push(Unknown {
                values,
                journal: Some(id),
                measure: format!("Measure how deep the damage on {id} really is."),
                low: format!("If it is near {}", show(depth.lowest_mm)),
                high: format!("if near {}", show(depth.highest_mm)),
            });
        }
    }
    for (i, values) in counts.drawn.scale_errors_mm.iter().enumerate() {
        let used = surface.sizes.iter().any(|s| s.instrument == i && surface.journals[s.journal].id.set == set);
        if used && surface.error_limits_mm[i] > 0.0 {
            let name = instruments.get(i).map_or("micrometer", String::as_str);
            unknowns.push(Unknown {
                values,
                journal: None,
                measure: format!("Check \"{name}\" against a standard close to the size of the journals."),
                low: "If it reads large by its error limit".into(),
                high: "if small".into(),
            });
        }
    }
    for (size, values) in surface.sizes.iter().zip(&counts.drawn.own_errors_mm) {
        let id = surface.journals[size.journal].id;
        if id.set == set {
            let found = show_mm(size.size_mm, unit, unit.usual_decimals());
            unknowns.push(Unknown {
                values,
                journal: Some(id),
                measure: format!("Measure {id} again where it was found at {found} {unit}, three times."),
                low: "If it proves smaller".into(),
                high: "if larger".into(),
            });
        }
    }
    unknowns
}

/// The set as one speaks of it.
pub(crate) fn plural(set: SetName) -> &'static str {
    match set {
        SetName::Main => "mains",
        SetName::Pin => "pins",
    }
}
