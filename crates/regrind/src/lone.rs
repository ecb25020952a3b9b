//! A set that would be treated otherwise but for one reading that nothing bears out.
//!
//! A slip that is large enough is told from the others by itself. One of a few tenths or thous looks like wear, and sends a
//! sound crank to the wheel. Where one reading alone decides, the cheapest measurement there is comes first: that place
//! again.

use crank::{JournalId, Reading, SetName};

use crate::Choice;
use crate::case::Case;
use crate::next::plural;
use crate::place::Place;
use crate::surface::CountedFrom;
use crate::verdict::{Note, SetVerdict};
use crate::words::under;

/// A reading is borne out by another of its set that has lost at least this share of what it has.
const BORNE_OUT: f64 = 0.5;

/// Readings in its direction that could bear it out, at least: where nobody read that way it stands alone by no fault of its
/// own.
const WITNESSES: usize = 2;
/// How far apart two directions across a journal may lie and still be the same.
pub(crate) const SAME_WAY_DEG: f64 = 30.0;

/// How many standard deviations of its own a reading must lie beyond the next to stand alone.
const BEYOND: f64 = 4.0;

/// The one reading that a choice rests on.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Lone {
    /// Where it was taken.
    pub(crate) place: Place,
    /// What it read, corrected.
    size_mm: f64,
    /// What would be chosen without it.
    without: Choice,
}

impl Case<'_> {
    /// The reading without which a set would be ground less deep or not at all, where no other bears it out and it was
    /// taken once; nothing where the sheet tells why the journal is low there (damage, a side of wear, a trace).
    pub(crate) fn lone_reading(&self, verdict: &SetVerdict) -> Option<Lone> {
        if self.foreseen || !matches!(verdict.choice, Choice::Grind { .. } | Choice::Scrap | Choice::BuildUp) {
            return None;
        }
        let (n, size_mm) = self.standing_alone(verdict.set)?;
        let reading = self.findings.readings.get(n)?;
        let mut findings = self.findings.clone();
        findings.readings.remove(n);
        let then = self.foretell(&findings)?;
        let without = then.sets.iter().find(|set| set.set == verdict.set)?.choice;
        let depth = |choice: Choice| match choice {
            Choice::LeaveAlone | Choice::PolishOnly | Choice::NotDecided => -1.0,
            Choice::Grind { undersize_mm } => undersize_mm,
            Choice::BuildUp | Choice::Scrap => f64::INFINITY,
        };
        let place = Place {
            journal: reading.journal,
            at_mm: reading.at_mm,
            length_mm: self.specification.set(verdict.set).length_mm,
            angle_deg: reading.plane_deg.rem_euclid(180.0),
            counted_from: CountedFrom::OwnThrow,
            unit: self.unit,
        };
        (depth(without) < depth(verdict.choice)).then_some(Lone { place, size_mm, without })
    }

    /// The reading of a set that has lost most, by its place in the findings, and its size: where it stands alone.
    fn standing_alone(&self, set: SetName) -> Option<(usize, f64)> {
        let told = |id: JournalId| {
            let findings = self.findings;
            findings.damages.iter().any(|d| d.journal == id && d.depth.highest_mm > 0.0)
                || findings.worn.iter().any(|w| w.journal == id)
                || findings.traces.iter().any(|t| t.journal == id)
        };
        let mut lost: Vec<(f64, usize, f64, f64)> = Vec::new();
        let readings = self.findings.readings.iter().enumerate();
        for (n, reading) in readings.filter(|(n, r)| r.journal.set == set && !self.doubtful.contains(n)) {
            let (size_mm, own_sd_mm) = self.corrected(reading)?;
            lost.push((self.new_mm(reading.journal)? - size_mm, n, size_mm, own_sd_mm));
        }
        lost.sort_by(|a, b| b.0.total_cmp(&a.0));
        let [most, next, ..] = lost.as_slice() else { return None };
        let reading = self.findings.readings.get(most.1)?;
        let same_way = |n: usize| {
            let other = self.findings.readings.get(n);
            other.is_some_and(|other| crank::planes_apart_deg(other.plane_deg, reading.plane_deg) <= SAME_WAY_DEG)
        };
        let witnesses = lost.iter().filter(|other| other.1 != most.1 && same_way(other.1)).count();
        let alone = witnesses >= WITNESSES
            && next.0.max(0.0) <= BORNE_OUT * most.0
            && most.0 - next.0.max(0.0) > BEYOND * most.3;
        (alone && reading.sizes.len() == 1 && !told(reading.journal)).then_some((most.1, most.2))
    }

    /// A reading corrected, and the standard deviation of its own error.
    fn corrected(&self, reading: &Reading) -> Option<(f64, f64)> {
        let instrument = self.findings.instruments.get(reading.with)?;
        let repeats = reading.sizes.len();
        let mean = reading.sizes.iter().map(|entry| entry.mm).sum::<f64>() / repeats.max(1) as f64;
        Some((instrument.corrected_mm(mean), instrument.own_variance_mm2(repeats.max(1)).sqrt()))
    }

    /// The middle of what a journal was itself last ground to.
    fn new_mm(&self, id: JournalId) -> Option<f64> {
        let journals = &self.undoubted.surface.journals;
        let j = journals.iter().position(|journal| journal.id == id)?;
        let own = self.own_step(j).map(|own| self.specification.set(id.set).finished(own.0).middle_mm());
        Some(own.unwrap_or(journals[j].last_ground_mm))
    }

    /// What is said of it.
    pub(crate) fn lone_note(&self, set: SetName, lone: &Lone) -> Note {
        let without = match lone.without {
            Choice::Grind { undersize_mm } if undersize_mm > 0.0 => {
                format!("the {} would go to {}", plural(set), under(undersize_mm, self.unit))
            }
            Choice::Grind { .. } => format!("the {} would go to standard", plural(set)),
            Choice::LeaveAlone => format!("the {} may stay as they are", plural(set)),
            Choice::PolishOnly => format!("a polish of the {} is enough", plural(set)),
            _ => format!("nothing would be decided on the {}", plural(set)),
        };
        Note {
            kind: "one reading decides",
            journal: Some(lone.place.journal),
            says: format!(
                "What is said of the {} rests on one reading that no other bears out: {} at {}. Take it again before anything \
                 is ground: without it {without}.",
                plural(set),
                self.size(lone.size_mm),
                lone.place.in_full(),
            ),
        }
    }
}
