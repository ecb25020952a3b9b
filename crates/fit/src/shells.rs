//! The shells on the bench: what undersize they are, whether they can be believed, and which go where.

use crank::{Band, JournalId, JournalSet, SetName};
use gauge::Instrument;
use regrind::words::{under, undersize_figure};
use units::{Entry, Unit, show_mm};

use crate::book::SetBook;
use crate::found::{Found, Shell, Shells};
use crate::{Material, Stop, StopKind};

/// Two undersizes closer than this are one step: far below the 0.004 mm between 0.25 mm and 0.010 in.
pub(crate) const SAME_STEP_MM: f64 = 0.0005;
/// A claimed undersize this near to a step, without being it, is a step of the other unit: 0.25 mm for 0.010 in, 1.00 mm
/// for 0.040 in.
const NEAR_STEP_MM: f64 = 0.03;

/// A wall is believed within this of its limits whatever the micrometer: 0.0001 in, dirt and the flat of a worn anvil.
/// Common practice, no source.
const WALL_SLACK_MM: f64 = 0.00254;

/// What one half shell was found to be.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Known {
    /// Its undersize: as marked, else as its wall says.
    pub(crate) undersize_mm: Option<f64>,
}

/// The undersize of a shell, with whatever stops it.
pub(crate) fn known(
    shell: &Shell,
    set: &JournalSet,
    book: &SetBook,
    instruments: &[Instrument],
    unit: Unit,
    stops: &mut Vec<Stop>,
) -> Known {
    let stop = |kind: StopKind, says: String| Stop { kind, set: Some(shell.set), journal: shell.journal, says };
    let ladder = set.ladder_mm();
    let step_at = |mm: f64| ladder.iter().copied().find(|step| (step - mm).abs() <= SAME_STEP_MM);
    let marked = shell.undersize.as_ref();
    if let Some(entry) = marked
        && step_at(entry.mm).is_none()
    {
        stops.push(not_a_step(shell, entry, &ladder, unit));
    }
    let wall_mm = shell.wall.as_ref().map(|wall| wall.at_20_c_mm(instruments, Material::Steel));
    let doubt_mm = shell.wall.as_ref().map_or(0.0, |wall| 2.0 * wall.standard_uncertainty_mm(instruments));
    let fits = |band: Band, wall_mm: f64| {
        let slack_mm = WALL_SLACK_MM + doubt_mm;
        (band.low_mm - slack_mm..=band.high_mm + slack_mm).contains(&wall_mm)
    };
    let by_wall = wall_mm.and_then(|wall_mm| {
        ladder.iter().copied().find(|step| book.wall_at(*step).is_some_and(|band| fits(band, wall_mm)))
    });
    let size = |mm: f64| format!("{} {unit}", show_mm(mm, unit, unit.usual_decimals()));
    if let (Some(entry), Some(wall_mm), Some(band)) =
        (marked, wall_mm, marked.and_then(|entry| book.wall_at(step_at(entry.mm)?)))
        && !fits(band, wall_mm)
    {
        let cause = match (by_wall, book.wall) {
            (Some(step), _) => format!("That is the wall of a shell {}.", step_words(step, unit)),
            (None, Some(standard)) if fits(standard.less(-entry.mm), wall_mm) => {
                "That is the standard wall and the whole undersize: a wall grows by half of it, for there are two across \
                 the bore. Whoever made the list counted it once too often."
                    .to_owned()
            }
            _ => "It is the wall of no step.".to_owned(),
        };
        let says = format!(
            "Shell {} is marked {}, and its wall at the crown is {}; {} to {} belongs to that mark. {cause} Measure the \
             others before any is fitted.",
            shell.name,
            step_words(entry.mm, unit),
            size(wall_mm),
            size(band.low_mm),
            size(band.high_mm),
        );
        stops.push(stop(StopKind::WallAgainstMark, says));
    }
    Known { undersize_mm: marked.map(|entry| step_at(entry.mm).unwrap_or(entry.mm)).or(by_wall) }
}

/// One stop for the shells of a set that bear the same mark and are stopped for the same reason: they came out of one box.
///
/// `stopped` holds for each stop the place of its shell in the list.
pub(crate) fn box_by_box(shells: &[Shell], stopped: Vec<(usize, Stop)>) -> Vec<Stop> {
    let mark = |shell: &Shell| (shell.set, shell.undersize.as_ref().map(|entry| (entry.unit, entry.mm.to_bits())));
    let mut boxes: Vec<(usize, Stop, usize)> = Vec::new();
    for (index, stop) in stopped {
        let Some(shell) = shells.get(index) else { continue };
        let same = |(first, other, _): &&mut (usize, Stop, usize)| {
            other.kind == stop.kind && shells.get(*first).is_some_and(|first| mark(first) == mark(shell))
        };
        match boxes.iter_mut().find(same) {
            Some((_, _, more)) => *more += 1,
            None => boxes.push((index, stop, 0)),
        }
    }
    let with_more = |(_, mut stop, more): (usize, Stop, usize)| {
        if more > 0 {
            stop.says += &format!(" So with {more} more.");
        }
        stop
    };
    boxes.into_iter().map(with_more).collect()
}

/// The reason why a marked undersize is none of the ladder's.
fn not_a_step(shell: &Shell, entry: &Entry, ladder: &[f64], unit: Unit) -> Stop {
    let near = ladder.iter().copied().filter(|step| *step > 0.0 && (step - entry.mm).abs() <= NEAR_STEP_MM);
    let near = near.min_by(|a, b| (a - entry.mm).abs().total_cmp(&(b - entry.mm).abs()));
    let marked = format!("{} {}", undersize_figure(entry.mm, entry.unit), entry.unit);
    let stop = |kind: StopKind, says: String| Stop { kind, set: Some(shell.set), journal: shell.journal, says };
    match near {
        Some(step) => {
            let decimals = if unit == Unit::Inch { 5 } else { 4 };
            let off_mm = step - entry.mm;
            let more = if off_mm > 0.0 { "looser" } else { "tighter" };
            let says = format!(
                "Shell {} is marked {marked}, which is {} {unit}, not {}: inch and metric steps are not the same. On a \
                 journal ground to {} it would run {} {unit} {more} than the shells made for it. Order by the engine's \
                 own ladder.",
                shell.name,
                show_mm(entry.mm, unit, decimals),
                step_figure(step, unit),
                step_words(step, unit),
                show_mm(off_mm.abs(), unit, decimals),
            );
            stop(StopKind::StepsConfused, says)
        }
        None => {
            let steps: Vec<String> = ladder.iter().map(|step| step_figure(*step, unit)).collect();
            let says = format!(
                "Shell {} is marked {marked}. The engine's shells are made in {}. Look at the mark again, or at the \
                 engine.",
                shell.name,
                steps.join(", "),
            );
            stop(StopKind::NoSuchStep, says)
        }
    }
}

/// `0.010 in under`, or `standard`.
pub(crate) fn step_words(step_mm: f64, unit: Unit) -> String {
    if step_mm.abs() < SAME_STEP_MM { "standard".to_owned() } else { under(step_mm, unit) }
}

fn step_figure(step_mm: f64, unit: Unit) -> String {
    if step_mm == 0.0 { "standard".to_owned() } else { format!("{} {unit}", undersize_figure(step_mm, unit)) }
}

/// Every undersize that the shells of a set were found to be, ascending, each once; those in measured housings too.
pub(crate) fn undersizes_mm(found: &Found, set: SetName, known: &[Known]) -> Vec<f64> {
    let shells = found.shells.iter().zip(known).filter(|(shell, _)| shell.set == set);
    let shells = shells.filter_map(|(_, known)| known.undersize_mm);
    let housings = found.bores.iter().filter(|bore| bore.journal.set == set).filter_map(|bore| match bore.shells {
        Shells::In { undersize_mm } => Some(undersize_mm),
        Shells::Out => None,
    });
    let mut all: Vec<f64> = shells.chain(housings).collect();
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() <= SAME_STEP_MM);
    all
}

/// Mixed undersizes within one set.
pub(crate) fn mixed(set: SetName, undersizes_mm: &[f64], unit: Unit) -> Option<Stop> {
    if undersizes_mm.len() < 2 {
        return None;
    }
    let listed: Vec<String> = undersizes_mm.iter().map(|mm| step_words(*mm, unit)).collect();
    let says = format!(
        "The {set} shells on the bench are of more than one undersize: {}. All journals of a set are ground to one size, \
         so all its shells must be of one undersize.",
        listed.join(", ")
    );
    Some(Stop { kind: StopKind::MixedUndersizes, set: Some(set), journal: None, says })
}

/// The two shells of one bearing, as indices into [`Found::shells`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Placed {
    /// The bearing's journal.
    pub journal: JournalId,
    /// The housing's half.
    pub upper: usize,
    /// The cap's half.
    pub lower: usize,
}
