//! What looks misread among the readings of one crankshaft.

use gauge::misread::{self, Group, Kind, Spot};
use units::{Unit, show_mm};

use crate::condition::{SAME_UNDERSIZE_MM, ground_to_one_of, mean_sizes};
use crate::{
    Findings, JournalId, SetName, Size, Specification, last_ground_to, not_as_stamped, planes_apart_deg, sizes,
    undersizes_known_mm,
};

/// Something about the readings that does not fit, in the terms of this crankshaft.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspicion {
    /// What sort.
    pub kind: Kind,
    /// Which set.
    pub set: SetName,
    /// Which journal; `None` when it is about the whole set.
    pub journal: Option<JournalId>,
    /// Which reading, as an index into [`Findings::readings`].
    pub reading: Option<usize>,
    /// The evidence and what to do.
    pub says: String,
    /// What the reading would be, corrected, if the suspicion is right.
    pub would_be_mm: Option<f64>,
}

impl Suspicion {
    /// Whether it says that a reading is wrong, rather than asking something or judging the instrument.
    ///
    /// A reading that is accused by itself is left out of the fit and read again.
    pub fn accuses(&self) -> bool {
        self.kind.accuses()
    }

    /// Whether its set must not be decided before this is answered.
    ///
    /// All of the set is accused at once, and not a reading or a journal that could be left out: the wrong engine, unit or
    /// set ([`Kind::OtherEngine`], [`Kind::OtherUnit`], [`Kind::TenTimesOut`], [`Kind::OtherSet`], [`Kind::RangeStep`]), two
    /// micrometers that disagree beyond their stated errors ([`Kind::MicrometersDisagree`]), a set a turn of the
    /// thimble off, bigger than new, or without any pattern. What stops also [accuses](Suspicion::accuses).
    pub fn stops(&self) -> bool {
        self.accuses() && self.journal.is_none()
    }

    /// Whether the readings of one journal fall into two halves of which nobody knows the right one: then nothing is known
    /// of that journal, and its set is not decided.
    pub fn splits_a_journal(&self) -> bool {
        let kind = matches!(self.kind, Kind::DoesNotHangTogether | Kind::LikelyMisread);
        kind && self.journal.is_some() && self.reading.is_none() && self.would_be_mm.is_none()
    }

    /// Whether it asks if all of one journal was read a turn of the thimble low, or ground further than the others: both fit, and
    /// only a stamp or another reading tells.
    pub fn asks_for_a_turn(&self) -> bool {
        self.kind == Kind::Question && self.journal.is_some() && self.reading.is_none() && self.would_be_mm.is_some()
    }

    /// Whether it doubts that these readings are of this engine, in this unit and of this set at all: to be asked before
    /// anything else, for nothing else is said of the set then.
    pub fn doubts_the_set(&self) -> bool {
        self.stops() && self.kind.doubts_the_set()
    }
}

/// Everything about the readings that does not fit: what stops a set first, then readings out of their instrument's range and
/// stamps that do not fit ([`not_as_stamped`]), then the rest in the order of the journals. Traces are not looked at: nobody
/// reads a whole sweep a turn off.
pub fn suspicions(specification: &Specification, findings: &Findings, unit: Unit) -> Vec<Suspicion> {
    let ids: Vec<JournalId> = specification.journals().collect();
    let groups: Vec<Group> = ids
        .iter()
        .map(|id| {
            let set = specification.set(id.set);
            Group {
                name: id.to_string(),
                set: usize::from(id.set == SetName::Pin),
                new_mm: (set.size.low_mm, set.size.high_mm),
                ladder_mm: set.ladder_mm(),
                out_of_round_mm: set.out_of_round_mm,
                // Stations lie at most the journal's length apart.
                taper_mm: set.taper.map(|taper| taper.over_mm(set.length_mm)),
            }
        })
        .collect();
    let mut readings = Vec::new();
    let mut spots = Vec::new();
    for (index, reading) in findings.readings.iter().enumerate() {
        let group = ids.iter().position(|id| *id == reading.journal);
        let (Some(group), Some(instrument)) = (group, findings.instruments.get(reading.with)) else { continue };
        let (turn_mm, frame_mm) = match instrument.unit {
            Unit::Inch => (0.635, 25.4),
            Unit::Millimetre => (0.5, 25.0),
        };
        readings.push(index);
        spots.push(Spot {
            group,
            at_mm: reading.at_mm,
            plane_deg: reading.plane_deg,
            sizes_mm: reading.sizes.iter().map(|entry| instrument.corrected_mm(entry.mm)).collect(),
            typed: reading.sizes.iter().map(|entry| entry.typed.clone()).collect(),
            turn_mm,
            frame_mm,
            uncertainty_mm: instrument.standard_uncertainty_mm(1),
            repeatability_mm: instrument.repeatability_mm,
            graduation_mm: instrument.graduation_mm,
            with: instrument.name.clone(),
        });
    }
    let mut found = outside_range(findings, unit);
    found.extend(not_as_stamped(specification, findings, unit).into_iter().map(|one| Suspicion {
        kind: if one.contradicted { Kind::Stamp } else { Kind::Question },
        set: one.stamp.set,
        journal: one.stamp.journal,
        reading: None,
        says: one.says,
        would_be_mm: None,
    }));
    let misread = misread::find(&groups, &spots, unit).into_iter().map(|found| Suspicion {
        kind: found.kind,
        set: if found.set == 1 { SetName::Pin } else { SetName::Main },
        journal: found.group.and_then(|group| ids.get(group)).copied(),
        reading: found.spot.and_then(|spot| readings.get(spot)).copied(),
        says: found.says,
        would_be_mm: found.would_be_mm,
    });
    let turned = SetName::BOTH.into_iter().filter_map(|set| one_of_two_a_turn_low(specification, findings, set, unit));
    found.extend(misread.chain(turned).filter(|one| !is_answered_by_a_stamp(specification, findings, one)));
    found.extend(sweeps_against_diameters(specification, findings, unit));
    let elsewhere = read_with_the_same(findings, &found);
    found.extend(elsewhere);
    // Which micrometer it was is asked after what stops a set, and before the rest.
    found.sort_by_key(|one| (!one.doubts_the_set(), !one.stops()));
    found
}

/// Sweeps that contradict the diameters read beside them: more often than not their directions were counted from the wrong
/// throw, and then the low place is taken for one that nobody measured.
fn sweeps_against_diameters(specification: &Specification, findings: &Findings, unit: Unit) -> Vec<Suspicion> {
    /// 0.001 in: no two readings of one place are so far apart that are both right.
    const APART_MM: f64 = 0.0254;
    /// A diameter of the sweep this near in direction, and this near along the journal as a share of its length, is that
    /// reading's.
    const NEAR_DEG: f64 = 8.0;
    const NEAR_SHARE: f64 = 0.2;
    let mut found = Vec::new();
    for (index, trace) in findings.traces.iter().enumerate() {
        let id = trace.journal;
        let near_mm = NEAR_SHARE * specification.set(id.set).length_mm;
        let swept: Vec<Size> = sizes(findings, id).into_iter().filter(|size| size.trace == Some(index)).collect();
        // The reading that differs most, where a reading's own directions are turned by so much.
        let worst = |turned_deg: f64| {
            let own = findings.readings.iter().filter(|r| r.journal == id && (r.at_mm - trace.at_mm).abs() <= near_mm);
            let apart = own.filter_map(|reading| {
                let instrument = findings.instruments.get(reading.with)?;
                let read_mm = instrument.corrected_mm(reading.sizes.first()?.mm);
                let across_deg = reading.plane_deg + turned_deg;
                let same = swept.iter().filter(|s| planes_apart_deg(s.plane_deg, across_deg) <= NEAR_DEG);
                let there = same.min_by(|a, b| {
                    planes_apart_deg(a.plane_deg, across_deg).total_cmp(&planes_apart_deg(b.plane_deg, across_deg))
                })?;
                Some((reading, read_mm, there.size_mm))
            });
            apart.max_by(|a, b| (a.1 - a.2).abs().total_cmp(&(b.1 - b.2).abs()))
        };
        // A trace counts from the throw of pin 1, a pin's diameter from the pin's own.
        let throw_deg = specification.throw_deg(id);
        let Some((reading, read_mm, swept_mm)) = worst(throw_deg) else { continue };
        let off_mm = (read_mm - swept_mm).abs();
        if off_mm <= APART_MM {
            continue;
        }
        let fits_own = planes_apart_deg(throw_deg, 0.0) > 1.0
            && worst(0.0).is_some_and(|(_, read_mm, swept_mm)| (read_mm - swept_mm).abs() < off_mm / 3.0);
        let why = if fits_own {
            format!(
                " They fit if its directions were counted from the throw of {id} itself: a trace counts from the throw of pin 1, \
                 and {id}'s stands at {throw_deg} degrees from it."
            )
        } else {
            " Look where its directions were counted from, and at both sizes.".to_owned()
        };
        let size = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
        found.push(Suspicion {
            kind: Kind::DoesNotHangTogether,
            set: id.set,
            journal: Some(id),
            reading: None,
            says: format!(
                "The sweep of {id} does not fit its diameters: by the sweep it measures {} {unit} at {} degrees, where {} \
                 {unit} was read.{why}",
                size(swept_mm),
                reading.plane_deg,
                size(read_mm)
            ),
            would_be_mm: None,
        });
    }
    found
}

/// Of a set of two journals one that stands a turn of the thimble below the other, where both fit a step of the ladder: of two
/// nobody can say which is the odd one, so the lower is asked about.
fn one_of_two_a_turn_low(
    specification: &Specification,
    findings: &Findings,
    set: SetName,
    unit: Unit,
) -> Option<Suspicion> {
    /// 0.002 in: two journals in use differ by no more from what they were ground to.
    const ALIKE_MM: f64 = 0.0508;
    let of: Vec<JournalId> = specification.journals().filter(|id| id.set == set).collect();
    let [a, b] = of.as_slice() else { return None };
    let mean = |id: JournalId| {
        let sizes = mean_sizes(findings, |other| other == id);
        let sum: f64 = sizes.iter().map(|size| size.0).sum();
        (!sizes.is_empty()).then(|| sum / sizes.len() as f64)
    };
    let (low, high) = if mean(*a)? <= mean(*b)? { (*a, *b) } else { (*b, *a) };
    let (low_mm, high_mm) = (mean(low)?, mean(high)?);
    let reading = findings.readings.iter().find(|r| r.journal == low)?;
    let turn_mm = match findings.instruments.get(reading.with)?.unit {
        Unit::Inch => 0.635,
        Unit::Millimetre => 0.5,
    };
    let book = specification.set(set);
    let fits = |mm: f64| {
        book.ladder_mm().iter().any(|&u| {
            let band = book.finished(u);
            mm <= band.high_mm + 0.01 && mm >= band.low_mm - ALIKE_MM
        })
    };
    let is_turned = (high_mm - low_mm - turn_mm).abs() <= ALIKE_MM && fits(low_mm) && fits(high_mm);
    let size = |mm: f64| format!("{} {unit}", show_mm(mm, unit, unit.usual_decimals()));
    is_turned.then(|| Suspicion {
        kind: Kind::Question,
        set,
        journal: Some(low),
        reading: None,
        says: format!(
            "{low} stands {} below {high}, about one full turn of the thimble. Was it ground further than the other? Look for a \
             mark on the web beside it; if there is none, read it again.",
            size(high_mm - low_mm)
        ),
        would_be_mm: Some(low_mm + turn_mm),
    })
}

/// Whether somebody asks if a set, or a journal, was ground before or read a turn low, and a stamp that the sizes bear out says
/// that it was.
fn is_answered_by_a_stamp(specification: &Specification, findings: &Findings, one: &Suspicion) -> bool {
    if one.kind != Kind::Question || one.reading.is_some() || one.would_be_mm.is_none() {
        return false;
    }
    let known_mm = undersizes_known_mm(specification, findings, one.set);
    let of = |journal: JournalId| mean_sizes(findings, |other| other == journal);
    let ground_to_mm = match one.journal {
        Some(journal) => ground_to_one_of(specification.set(one.set), &known_mm, &of(journal)).undersize_mm,
        None => last_ground_to(specification, findings, one.set).undersize_mm,
    };
    let stamp = findings
        .stamps
        .iter()
        .filter(|stamp| stamp.set == one.set)
        .find(|stamp| stamp.journal == one.journal)
        .or_else(|| findings.stamps.iter().find(|stamp| stamp.set == one.set && stamp.journal.is_none()));
    ground_to_mm > 0.0 && stamp.is_some_and(|stamp| (stamp.undersize_mm - ground_to_mm).abs() < SAME_UNDERSIZE_MM)
}

/// Sets of which any reading was taken with a micrometer of another set's disagreement: which of the two is right is not known
/// for them either.
fn read_with_the_same(findings: &Findings, found: &[Suspicion]) -> Vec<Suspicion> {
    let disagree =
        |set: SetName| found.iter().any(|s| s.set == set && s.kind == Kind::MicrometersDisagree && s.stops());
    let mut more = Vec::new();
    for (set, other) in [(SetName::Main, SetName::Pin), (SetName::Pin, SetName::Main)] {
        if disagree(set) || !disagree(other) {
            continue;
        }
        let used = |of: SetName, with: usize| findings.readings.iter().any(|r| r.journal.set == of && r.with == with);
        let shared = (0..findings.instruments.len()).find(|&with| used(set, with) && used(other, with));
        let Some(instrument) = shared.and_then(|with| findings.instruments.get(with)) else { continue };
        more.push(Suspicion {
            kind: Kind::MicrometersDisagree,
            set,
            journal: None,
            reading: None,
            says: format!(
                "The {set}s were read with {}, one of the micrometers that disagree on the {other}s. Until it is known which \
                 of them is right, neither set can be decided.",
                instrument.name
            ),
            would_be_mm: None,
        });
    }
    more
}

/// Readings beyond the stated range of the instrument they name: the wrong one was named, or a size a range out was
/// read. Which of the two only the person at the bench can say.
fn outside_range(findings: &Findings, unit: Unit) -> Vec<Suspicion> {
    // A micrometer travels a little beyond its range.
    const BEYOND: f64 = 0.01;
    let mut found = Vec::new();
    for (index, reading) in findings.readings.iter().enumerate() {
        let Some(instrument) = findings.instruments.get(reading.with) else { continue };
        let Some((low, high)) = instrument.range_mm else { continue };
        let slack = BEYOND * (high - low);
        let Some(entry) = reading.sizes.iter().find(|e| e.mm < low - slack || e.mm > high + slack) else { continue };
        let show = |mm: f64| show_mm(mm, unit, if unit == Unit::Inch { 1 } else { 0 });
        found.push(Suspicion {
            kind: Kind::Question,
            set: reading.journal.set,
            journal: Some(reading.journal),
            reading: Some(index),
            says: format!(
                "{} was read with {}, which measures {} to {} {unit}: which micrometer was it?",
                entry.typed,
                instrument.name,
                show(low),
                show(high)
            ),
            would_be_mm: None,
        });
    }
    found
}
