//! The one further measurement that is worth most.

use crank::{Depth, Findings, JournalId, Reading, RunOut, SetName, Trace, Worn};
use units::{Unit, show_mm};

use crate::Axis;
use crate::assess::foresee;
use crate::case::{Case, index};
use crate::choice::Choice;
use crate::lone::Lone;
use crate::place::station_name;
use crate::unseen::{DIAGONALS_DEG, Measurement, worth};
use crate::verdict::{SetVerdict, Undecided, UnmeasuredKind, Verdict};
use crate::words::{in_hundred, standard_or_under};

/// A measurement that saves less than this, in rungs of the ladder, is not worth a walk to the bench.
const WORTH_A_WALK: f64 = 0.02;
/// Two measurements whose worth differs by no more than this are as good as each other.
const AS_GOOD: f64 = 0.005;
/// Draws that a foretold answer rests on: enough for a chance to within two in a hundred; fewer on a free axis, where each
/// is a programme.
const FORESEEN_DRAWS: usize = 4_000;
const FORESEEN_DRAWS_FREE: usize = 1_000;
/// A chance from those draws this near to the shop's rule is taken from all of them: three of its standard deviations.
const NEAR_THE_RULE: f64 = 0.015;
/// A chance that no measurement is expected to raise to the shop's rule.
const HOPELESS: f64 = 0.05;
/// Measurements that are tried before nothing is said.
const TRIES: usize = 3;
/// Journals of which sweeps are thought of together.
const MOST_SWEPT: usize = 4;
/// The station at the end of a journal, as a share of its length from the middle.
const END_STATION: f64 = 0.35;

/// What sort of measurement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeasureKind {
    /// A doubtful reading, again.
    Again,
    /// A diameter.
    Size,
    /// Two diameters, square to each other.
    TwoSizes,
    /// An indicator once round.
    Sweep,
    /// A run-out.
    RunOut,
    /// The side of wear.
    Side,
    /// The depth of a damage.
    Depth,
    /// An instrument.
    Instrument,
}

impl MeasureKind {
    /// As JSON calls it.
    pub const fn word(self) -> &'static str {
        match self {
            MeasureKind::Again => "again",
            MeasureKind::Size => "size",
            MeasureKind::TwoSizes => "two sizes",
            MeasureKind::Sweep => "sweep",
            MeasureKind::RunOut => "run-out",
            MeasureKind::Side => "side",
            MeasureKind::Depth => "depth",
            MeasureKind::Instrument => "instrument",
        }
    }
}

/// What the answer then is, for one result.
#[derive(Clone, Debug, PartialEq)]
pub struct Foretold {
    /// The result, to follow "if".
    pub result: String,
    /// What the micrometer or the dial would show, or how deep the damage would prove.
    pub shows_mm: Option<f64>,
    /// Of two sizes, what it shows square to that.
    pub shows_square_mm: Option<f64>,
    /// What a sweep shows.
    pub sweep: Option<Trace>,
    /// Direction of the high spot, for a run-out.
    pub high_deg: Option<f64>,
    /// The share of the worse side, for a side of wear.
    pub share: Option<f64>,
    /// The undersize that the chance is told at.
    pub undersize_mm: f64,
    /// The chance there.
    pub chance: f64,
    /// What would be chosen.
    pub choice: Choice,
}

/// What to measure next, and what it could change the verdict to.
#[derive(Clone, Debug, PartialEq)]
pub struct NextMeasurement {
    /// The set whose verdict it would change.
    pub set: SetName,
    /// The journal to measure; none where it is an instrument that wants checking.
    pub journal: Option<JournalId>,
    /// What sort of measurement.
    pub kind: MeasureKind,
    /// Where along the journal, for a diameter.
    pub at_mm: Option<f64>,
    /// Across which direction, for a diameter.
    pub plane_deg: Option<f64>,
    /// What to do, as an instruction.
    pub measure: String,
    /// What the answer could become.
    pub could_change: String,
    /// The same result by result: each is what the program says once that result is entered.
    pub foretold: Vec<Foretold>,
    /// Of what is foretold without a result: the undersize that it may bring.
    pub brings_mm: Option<f64>,
    /// Whether one of the outcomes would change the choice.
    pub changes_choice: bool,
}

impl Case<'_> {
    /// The measurement to make next for a set; nothing where none could change anything.
    pub(crate) fn next(&self, verdict: &SetVerdict, lone: Option<&Lone>) -> Option<NextMeasurement> {
        if self.foreseen {
            return None;
        }
        let set = verdict.set;
        if let Some(again) = self.again(verdict) {
            return Some(again);
        }
        if let Some(lone) = lone {
            return Some(NextMeasurement {
                set,
                journal: Some(lone.place.journal),
                kind: MeasureKind::Again,
                at_mm: Some(lone.place.at_mm),
                plane_deg: Some(lone.place.angle_deg),
                measure: format!("Take the reading at {} again.", lone.place.in_full()),
                could_change: format!("What is said of the {} rests on it alone.", plural(set)),
                foretold: Vec::new(),
                brings_mm: None,
                changes_choice: true,
            });
        }
        let ended = self.findings.damages.iter().any(crank::Damage::is_crack)
            || matches!(
                verdict.undecided,
                Some(Undecided::Heat | Undecided::Readings | Undecided::BiggerThanNew | Undecided::WearLimit)
            );
        if ended || verdict.choice == Choice::PolishOnly || !self.is_modelled(set) {
            return None;
        }
        let measurements = self.model.measurements(set, &self.counted.governs, self.policy.draws);
        self.most_worth(verdict, &measurements)
            .or_else(|| {
                // Where a size could still be saved it is worth the longer way.
                let confidence = self.policy.confidence;
                let saves = |s: &crate::StepVerdict| {
                    s.permitted && s.chance.share() < confidence && s.chance.share() > HOPELESS
                };
                verdict.choice.undersize_mm()?;
                verdict.steps.iter().find(|s| saves(s))?;
                let longer = self.model.longer_measurements(set, &self.counted.governs, self.policy.draws);
                // A micrometer is sooner at hand than an indicator on a fixture.
                let (read, swept): (Vec<_>, Vec<_>) =
                    longer.into_iter().partition(|m| matches!(m, Measurement::Diagonals { .. }));
                self.most_worth(verdict, &read).or_else(|| self.most_worth(verdict, &swept))
            })
            .or_else(|| self.settles(verdict, &measurements))
            .or_else(|| self.along(verdict))
            .or_else(|| self.together(verdict))
            .or_else(|| self.looked_between(verdict))
    }

    /// Where no measurement by itself saves a size and several sweeps may: those, if on one of the cranks that they could show
    /// the set then goes to it. On a free axis one may, though on the placement that is told nothing cleans up
    /// there: which way to move a pin is what a sweep tells. No figure is told of a result that so many dials make.
    fn together(&self, verdict: &SetVerdict) -> Option<NextMeasurement> {
        let set = verdict.set;
        let chosen_mm = verdict.choice.undersize_mm()?;
        let (step, shallower) = verdict.steps.iter().enumerate().rfind(|(_, step)| {
            step.permitted && step.undersize_mm < chosen_mm && step.undersize_mm >= verdict.ground_to.undersize_mm
        })?;
        let free = self.policy.axis != Axis::Held;
        let share = shallower.chance.share();
        if share >= self.policy.confidence || !free && share <= HOPELESS || free && set == SetName::Main {
            return None;
        }
        let longer = self.model.longer_measurements(set, &self.counted.governs, self.policy.draws);
        let mut could: Vec<usize> = longer
            .into_iter()
            .filter_map(|m| if let Measurement::Sweep { journal } = m { Some(journal) } else { None })
            .collect();
        // The journal that decides first.
        let decides = verdict.governed_by.map(|place| place.journal);
        could.sort_by_key(|&j| self.specification.journals().nth(j) != decides);
        let (first, draw) = (could.first().copied()?, self.telling_draw(set, step, free)?);
        // A micrometer is sooner at hand.
        let along = |id: JournalId| {
            verdict.unmeasured.iter().any(|u| u.kind == UnmeasuredKind::Station && u.journal == Some(id))
        };
        if could.iter().filter_map(|&j| self.specification.journals().nth(j)).any(along) {
            return Some(self.read_along(verdict));
        }
        let mut tries: Vec<Vec<(usize, f64)>> = vec![along_it(first)];
        if free {
            tries.insert(0, vec![(first, 0.0)]);
        }
        if (2..=MOST_SWEPT).contains(&could.len()) {
            tries.push(could.iter().map(|&j| (j, 0.0)).collect());
            tries.push(could.iter().flat_map(|&j| along_it(j)).collect());
        }
        tries.into_iter().find_map(|swept| self.swept_together(verdict, shallower.undersize_mm, &swept, draw))
    }

    /// One of the first draws: of those that clean up at a step one with room in hand, for what just cleans up no dial can
    /// tell; the middle one of all where the axis is free.
    fn telling_draw(&self, set: SetName, step: usize, all: bool) -> Option<usize> {
        let cleans = |room: f64| self.ladders.first_clean(index(set), room).is_some_and(|first| first <= step);
        let rooms = self.rooms_mm(set, step).iter().copied().zip(0..);
        let mut found: Vec<(f64, usize)> = rooms.filter(|(room, _)| all || cleans(*room)).collect();
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        let at = if all { found.len() / 2 } else { 3 * found.len() / 4 };
        found.get(at).map(|(_, draw)| *draw)
    }

    /// What sweeps, each of a journal by its place among all and where along it, would bring on one of the first draws.
    fn swept_together(
        &self,
        verdict: &SetVerdict,
        shallower_mm: f64,
        swept: &[(usize, f64)],
        draw: usize,
    ) -> Option<NextMeasurement> {
        let set = verdict.set;
        let mut findings = self.findings.clone();
        for &(j, zeta) in swept {
            findings.traces.push(self.swept(j, zeta, draw)?);
        }
        let then = self.foretell(&findings)?.sets.into_iter().find(|then| then.set == set)?;
        let brings_mm = then.choice.undersize_mm().filter(|mm| *mm <= shallower_mm)?;
        let mut ids: Vec<JournalId> = swept.iter().filter_map(|&(j, _)| self.specification.journals().nth(j)).collect();
        ids.sort_unstable();
        ids.dedup();
        let which = crate::unmeasured::list(&ids);
        let places = if ids.len() == swept.len() { "middle" } else { "front, the middle and the rear" };
        let (each, its) = if ids.len() == 1 { ("", "its") } else { ("each of ", "its own") };
        Some(NextMeasurement {
            set,
            journal: ids.first().copied(),
            kind: MeasureKind::Sweep,
            at_mm: Some(0.0),
            plane_deg: None,
            measure: format!(
                "Sweep an indicator once round the {places} of {each}{which}, about {its} present centre, and enter what it shows \
                 every 15 degrees, counted from the throw of pin 1."
            ),
            could_change: format!(
                "{} the {} may go to {}.",
                if self.policy.axis == Axis::Held { "Swept so," } else { "It tells which way to move the pin; then" },
                plural(set),
                standard_or_under(brings_mm, self.unit)
            ),
            foretold: Vec::new(),
            brings_mm: Some(brings_mm),
            changes_choice: true,
        })
    }

    /// For a set that may stay by what was read: the readings that would show what lies between, without a figure.
    fn looked_between(&self, verdict: &SetVerdict) -> Option<NextMeasurement> {
        if !matches!(verdict.choice, Choice::LeaveAlone | Choice::PolishOnly) {
            return None;
        }
        let (journals, where_to) = self.between(verdict)?;
        Some(NextMeasurement {
            set: verdict.set,
            journal: journals.first().copied(),
            kind: MeasureKind::Size,
            at_mm: Some(0.0),
            plane_deg: Some(DIAGONALS_DEG[0]),
            measure: format!("To be sure of them, read {} {where_to}.", crate::unmeasured::list(&journals)),
            could_change: format!(
                "An oval that lies between the readings would show there; by the readings there are the {} may stay.",
                plural(verdict.set)
            ),
            foretold: Vec::new(),
            brings_mm: None,
            changes_choice: false,
        })
    }

    /// Where a set may well go to a shallower undersize once it is read along its journals, though no single reading tells: all
    /// of them, without a figure for what each would change.
    fn along(&self, verdict: &SetVerdict) -> Option<NextMeasurement> {
        let shallower = verdict.measured_first(self.policy.confidence)?.undersize_mm;
        let name = standard_or_under(shallower, self.unit);
        Some(NextMeasurement {
            could_change: format!("Read so far along, the {} may well go to {name}.", plural(verdict.set)),
            changes_choice: true,
            ..self.read_along(verdict)
        })
    }

    /// That a set is read along its journals.
    fn read_along(&self, verdict: &SetVerdict) -> NextMeasurement {
        let set = verdict.set;
        NextMeasurement {
            set,
            journal: verdict.governed_by.map(|place| place.journal),
            kind: MeasureKind::Size,
            at_mm: Some(-END_STATION * self.specification.set(set).length_mm),
            plane_deg: Some(0.0),
            measure: format!(
                "Measure every {set} at its front and at its rear too, in line with the throw and square to it."
            ),
            could_change: "It tells how far the wear goes along them; before that no sweep is worth its while."
                .to_owned(),
            foretold: Vec::new(),
            brings_mm: None,
            changes_choice: false,
        }
    }

    /// Of some measurements the one that is worth most, where it could change anything.
    fn most_worth(&self, verdict: &SetVerdict, measurements: &[Measurement]) -> Option<NextMeasurement> {
        let set = verdict.set;
        let shown = self.model.show(set, measurements, self.policy.draws);
        let rooms = self.rooms_mm(set, self.looked_at(verdict));
        let may_stay = verdict.choice == Choice::LeaveAlone
            || matches!(verdict.undecided, Some(Undecided::TooClose | Undecided::TooLittle));
        let losses = self.losses(verdict, rooms, may_stay.then_some(&shown.keeps));
        let mut ranked: Vec<(f64, Measurement, [usize; 2], usize)> = measurements
            .iter()
            .enumerate()
            .filter_map(|(n, &measurement)| {
                let found = worth(&shown.results[n], &losses);
                Some((found.value, measurement, found.examples?, n))
            })
            .filter(|(value, ..)| *value >= WORTH_A_WALK)
            .collect();
        // As good as each other: the journal that decides, in line with the throw, first.
        let decides = verdict.governed_by.map(|place| place.journal);
        let first = |m: Measurement| {
            let own = self.model.journal_of(m) == decides;
            let in_line = matches!(m, Measurement::Size { plane_deg: 0.0, .. });
            (own, in_line)
        };
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
        if let Some(best) = ranked.first().map(|r| r.0) {
            let as_good = ranked.partition_point(|r| r.0 >= best - AS_GOOD);
            ranked[..as_good].sort_by_key(|r| std::cmp::Reverse(first(r.1)));
        }
        ranked.into_iter().take(TRIES).find_map(|(_, measurement, examples, n)| {
            let results = examples.map(|draw| (shown.results[n][draw], draw));
            self.told(verdict, measurement, results)
        })
    }

    /// For a set that is left alone as far as it was measured, though what nobody measured speaks against it: the reading
    /// that is missing, without a figure for what it would change.
    fn settles(&self, verdict: &SetVerdict, measurements: &[Measurement]) -> Option<NextMeasurement> {
        let may_stay = verdict.choice == Choice::LeaveAlone || verdict.undecided == Some(Undecided::TooLittle);
        if !may_stay || verdict.leave_alone.share() >= self.policy.confidence {
            return None;
        }
        let open = verdict.unmeasured.first()?;
        let fits = |m: &&Measurement| match (open.kind, m) {
            (UnmeasuredKind::RunOut, Measurement::RunOut { .. }) => true,
            (UnmeasuredKind::RunOut, _) => false,
            (_, Measurement::Size { .. }) => self.model.journal_of(**m) == open.journal,
            _ => false,
        };
        // A dial shows most of a bow in the middle of a shaft.
        let middle = (self.specification.main.count() as f64 - 1.0) / 2.0;
        let off = |m: &&Measurement| match m {
            Measurement::RunOut { journal } => (*journal as f64 - middle).abs(),
            _ => 0.0,
        };
        let measurement = *measurements.iter().filter(fits).min_by(|a, b| off(a).total_cmp(&off(b)))?;
        let journal = self.model.journal_of(measurement);
        let (kind, measure) = self.instruction(verdict.set, measurement, journal);
        let (at_mm, plane_deg) = self.spot_of(verdict.set, measurement);
        Some(NextMeasurement {
            set: verdict.set,
            journal,
            kind,
            at_mm,
            plane_deg,
            measure,
            could_change: format!("It helps to settle whether the {} may stay as they are.", plural(verdict.set)),
            foretold: Vec::new(),
            brings_mm: None,
            changes_choice: false,
        })
    }

    /// Where a diameter is to be measured: along the journal, and across it.
    fn spot_of(&self, set: SetName, measurement: Measurement) -> (Option<f64>, Option<f64>) {
        match measurement {
            Measurement::Size { plane_deg, zeta, .. } => {
                (Some(zeta * END_STATION * self.specification.set(set).length_mm), Some(plane_deg))
            }
            Measurement::Diagonals { .. } => (Some(0.0), Some(DIAGONALS_DEG[0])),
            Measurement::Sweep { .. } => (Some(0.0), None),
            _ => (None, None),
        }
    }

    /// Loss of each option on each remembered draw, in rungs of the ladder, or in money where prices are known. The first
    /// option is to leave the set alone, where that is one.
    fn losses(&self, verdict: &SetVerdict, rooms: &[f64], keeps: Option<&Vec<bool>>) -> Vec<Vec<f64>> {
        let s = index(verdict.set);
        let permitted = self.permitted(verdict.set);
        let lost = 1.0 / (1.0 - self.policy.confidence).max(1e-6);
        let prices = self.policy.prices.as_ref().map(|prices| prices.of(verdict.set)).filter(|_| keeps.is_none());
        let first: Vec<usize> = rooms
            .iter()
            .map(|&room| self.ladders.first_clean(s, room).filter(|&step| step < permitted).unwrap_or(permitted))
            .collect();
        let mut losses: Vec<Vec<f64>> = Vec::new();
        if let Some(keeps) = keeps {
            losses.push(keeps.iter().map(|&keeps| if keeps { 0.0 } else { lost }).collect());
        }
        let more = if keeps.is_some() { 1.0 } else { 0.0 };
        for step in 0..permitted {
            losses.push(
                first
                    .iter()
                    .map(|&first| match prices {
                        // In units of a pass, so that one bound serves both.
                        Some(prices) => prices.walk(step, first, permitted) / prices.pass.max(1e-9),
                        None => more + step as f64 + if first > step { lost } else { 0.0 },
                    })
                    .collect(),
            );
        }
        losses
    }

    /// Doubtful readings come first: until they are read again nothing else is worth it.
    fn again(&self, verdict: &SetVerdict) -> Option<NextMeasurement> {
        let mut accused: Vec<JournalId> = self
            .doubtful
            .iter()
            .filter_map(|&n| self.findings.readings.get(n))
            .map(|reading| reading.journal)
            .filter(|journal| journal.set == verdict.set)
            .collect();
        accused.sort_unstable();
        accused.dedup();
        if accused.is_empty() {
            return None;
        }
        let names: Vec<String> = accused.iter().map(ToString::to_string).collect();
        Some(NextMeasurement {
            set: verdict.set,
            journal: accused.first().copied(),
            kind: MeasureKind::Again,
            at_mm: None,
            plane_deg: None,
            measure: format!("Take the doubtful readings of {} again.", names.join(", ")),
            could_change: "They are left out of the chances until then.".to_owned(),
            foretold: Vec::new(),
            brings_mm: None,
            changes_choice: true,
        })
    }

    /// What the program says once a result is entered, for two results; nothing where it says the same to both.
    fn told(
        &self,
        verdict: &SetVerdict,
        measurement: Measurement,
        results: [(f64, usize); 2],
    ) -> Option<NextMeasurement> {
        let set = verdict.set;
        let journal = self.model.journal_of(measurement);
        let mut foretold = Vec::new();
        // Sides are told as the two that can be entered.
        let results = match measurement {
            Measurement::Side { .. } => [(0.5, 0), (1.0, 0)],
            _ => results,
        };
        for (result, draw) in results {
            foretold.push(self.once(verdict, measurement, result, draw)?);
        }
        // The result that is better for the crank first.
        foretold.sort_by(|a, b| b.chance.total_cmp(&a.chance));
        // Both results alike, or both what is chosen already: then nothing hangs on it.
        let alike = foretold.windows(2).all(|pair| pair[0].choice == pair[1].choice);
        if alike || foretold.iter().all(|f| f.choice == verdict.choice) {
            return None;
        }
        let (kind, measure) = self.instruction(set, measurement, journal);
        let (at_mm, plane_deg) = self.spot_of(set, measurement);
        let says: Vec<String> = foretold.iter().map(|f| self.outcome(verdict, f)).collect();
        let smaller_is_better = kind == MeasureKind::Size
            && foretold.first().zip(foretold.last()).is_some_and(|(good, bad)| good.shows_mm < bad.shows_mm);
        let why = if smaller_is_better {
            " The smaller size is the better news: then the deepest place is found, and none deeper is feared beside it."
        } else {
            ""
        };
        Some(NextMeasurement {
            set,
            journal,
            kind,
            at_mm,
            plane_deg,
            measure,
            could_change: format!("If {}.{why}{}", says.join("; if "), self.and_the_others(verdict, journal)),
            foretold,
            brings_mm: None,
            changes_choice: true,
        })
    }

    /// Where a set waits for all that is missing: the other journals that nobody measured.
    fn and_the_others(&self, verdict: &SetVerdict, journal: Option<JournalId>) -> String {
        let missing = |kind: UnmeasuredKind, id: JournalId| {
            verdict.unmeasured.iter().any(|u| u.kind == kind && u.journal == Some(id))
        };
        if !journal.is_some_and(|id| missing(UnmeasuredKind::Journal, id)) {
            return String::new();
        }
        let damaged = |d: &&crank::Damage| Some(d.journal) == journal && d.depth.highest_mm > d.depth.lowest_mm;
        let depth = self.findings.damages.iter().find(damaged).map_or(String::new(), |damage| {
            format!(" How deep the {} on it is tells as much: measure that too.", damage.kind)
        });
        let Some(shallower) = verdict.measured_first(self.policy.confidence) else { return depth };
        let others: Vec<JournalId> = self
            .specification
            .journals()
            .filter(|&id| id.set == verdict.set && Some(id) != journal && missing(UnmeasuredKind::Journal, id))
            .collect();
        if others.is_empty() {
            return depth;
        }
        format!(
            "{depth} Then {}: only all of them together may bring {}.",
            crate::unmeasured::list(&others),
            standard_or_under(shallower.undersize_mm, self.unit)
        )
    }

    fn outcome(&self, verdict: &SetVerdict, foretold: &Foretold) -> String {
        let set = verdict.set;
        let still = if verdict.choice == Choice::NotDecided { "still " } else { "" };
        let size = |undersize_mm: f64| standard_or_under(undersize_mm, self.unit);
        let goes = match foretold.choice {
            Choice::Grind { undersize_mm } => format!("the {} go to {}", plural(set), size(undersize_mm)),
            Choice::LeaveAlone => format!("the {} may stay as they are", plural(set)),
            Choice::PolishOnly => format!("a polish of the {} is enough", plural(set)),
            Choice::BuildUp | Choice::Scrap => format!("no undersize of the {} is left", plural(set)),
            Choice::NotDecided => format!("the {} are {still}not decided", plural(set)),
        };
        match foretold.choice {
            Choice::LeaveAlone | Choice::PolishOnly => format!("{}, {goes}", foretold.result),
            _ => {
                let asked = in_hundred(self.policy.confidence);
                let short = foretold.chance < self.policy.confidence && in_hundred(foretold.chance) == asked;
                let has = if short { format!("just under the {asked} asked for") } else { in_hundred(foretold.chance) };
                format!("{}, {} has {has} and {goes}", foretold.result, size(foretold.undersize_mm))
            }
        }
    }

    /// What to do, in words.
    fn instruction(&self, set: SetName, measurement: Measurement, journal: Option<JournalId>) -> (MeasureKind, String) {
        let name = journal.map_or(String::new(), |j| j.to_string());
        match measurement {
            Measurement::Size { plane_deg, zeta, .. } => {
                let length_mm = self.specification.set(set).length_mm;
                let at = station_name(zeta * END_STATION * length_mm, length_mm, self.unit);
                let throw = if set == SetName::Pin { "its throw" } else { "the throw of pin 1" };
                let across = if plane_deg == 0.0 {
                    format!("in line with {throw}")
                } else if plane_deg == 90.0 {
                    format!("square to {throw}")
                } else {
                    format!("at {plane_deg} degrees from {throw}")
                };
                (MeasureKind::Size, format!("Measure {name} at its {at}, {across}."))
            }
            Measurement::Diagonals { .. } => {
                let [a, b] = DIAGONALS_DEG;
                let throw = if set == SetName::Pin { "its throw" } else { "the throw of pin 1" };
                (
                    MeasureKind::TwoSizes,
                    format!("Measure {name} at its middle twice: at {a} and at {b} degrees from {throw}."),
                )
            }
            Measurement::Sweep { .. } => (
                MeasureKind::Sweep,
                format!(
                    "Sweep an indicator once round the middle of {name}, about its present centre, and enter the trace: every 15 \
                     degrees, counted from the throw of pin 1."
                ),
            ),
            Measurement::RunOut { .. } => (
                MeasureKind::RunOut,
                format!("Take the run-out of {name} on the present axis, with the direction of the high spot."),
            ),
            Measurement::Side { .. } => (
                MeasureKind::Side,
                format!(
                    "Find out on which side {name} is worn: sweep an indicator round it, or compare the inner and the \
                     outer side of its throw."
                ),
            ),
            Measurement::Depth { .. } => {
                (MeasureKind::Depth, format!("Measure how deep the damage on {name} really is."))
            }
            Measurement::Instrument { instrument } => {
                let name = self.findings.instruments.get(instrument).map_or("micrometer", |i| i.name.as_str());
                (
                    MeasureKind::Instrument,
                    format!(
                        "Check \"{name}\" against a standard close to the size of the journals, and tell what it is off there as \
                         its zero, and its error limit as 0."
                    ),
                )
            }
        }
    }

    /// The answer once one result is entered.
    fn once(&self, verdict: &SetVerdict, measurement: Measurement, result: f64, draw: usize) -> Option<Foretold> {
        let set = verdict.set;
        let unit = self.unit;
        let mut findings: Findings = self.findings.clone();
        let show = |mm: f64| format!("{} {unit}", show_mm(mm, unit, unit.usual_decimals()));
        let mut told = Foretold {
            result: String::new(),
            shows_mm: None,
            shows_square_mm: None,
            sweep: None,
            high_deg: None,
            share: None,
            undersize_mm: 0.0,
            chance: 0.0,
            choice: verdict.choice,
        };
        match measurement {
            Measurement::Size { plane_deg, zeta, .. } => {
                let journal = self.model.journal_of(measurement)?;
                let with = self.usual_instrument(set);
                let instrument = findings.instruments.get(with)?;
                let shows_mm = shown_by(instrument, result);
                let entry = entry(shows_mm, unit)?;
                told.result = format!("it reads {}", show(entry.mm));
                told.shows_mm = Some(entry.mm);
                let at_mm = zeta * END_STATION * self.specification.set(set).length_mm;
                findings.readings.push(Reading { journal, at_mm, plane_deg, sizes: vec![entry], with });
            }
            Measurement::Diagonals { journal: j } => {
                let journal = self.model.journal_of(measurement)?;
                let with = self.usual_instrument(set);
                let instrument = findings.instruments.get(with)?.clone();
                let mut read = Vec::new();
                for (mm, plane_deg) in self.model.diagonals_mm(j, draw).into_iter().zip(DIAGONALS_DEG) {
                    let mm = shown_by(&instrument, mm);
                    let entry = entry(mm, unit)?;
                    read.push(entry.mm);
                    findings.readings.push(Reading { journal, at_mm: 0.0, plane_deg, sizes: vec![entry], with });
                }
                let (&[a, b], [at_a, at_b]) = (read.as_slice(), DIAGONALS_DEG) else { return None };
                told.result = format!("they read {} at {at_a} degrees and {} at {at_b}", show(a), show(b));
                (told.shows_mm, told.shows_square_mm) = (Some(a), Some(b));
            }
            Measurement::Sweep { journal: j } => {
                let trace = self.swept(j, 0.0, draw)?;
                let departures_mm = &trace.departures_mm;
                let lowest = (0..departures_mm.len()).min_by(|&a, &b| departures_mm[a].total_cmp(&departures_mm[b]))?;
                let (least, most) = (departures_mm[lowest], departures_mm.iter().copied().fold(f64::MIN, f64::max));
                let low_deg = trace.angles_deg.get(lowest)?;
                let swing = show(most - least);
                told.result =
                    format!("the dial swings by {swing}, lowest at {low_deg} degrees from the throw of pin 1");
                told.sweep = Some(trace.clone());
                findings.traces.push(trace);
            }
            Measurement::RunOut { journal: j } => {
                let journal = self.model.journal_of(measurement)?;
                let total_mm = rounded(result.max(0.0), if unit == Unit::Inch { 0.002_54 } else { 0.002 });
                let high_deg = (self.model.high_deg(j, draw) / 15.0).round() * 15.0 % 360.0;
                told.result = if total_mm > 0.0 {
                    format!("the dial shows {} altogether, high at {high_deg} degrees", show(total_mm))
                } else {
                    "the dial does not move".to_owned()
                };
                told.shows_mm = Some(total_mm);
                told.high_deg = Some(high_deg);
                findings.run_outs.push(RunOut { journal, total_mm, high_deg });
            }
            Measurement::Side { .. } => {
                let journal = self.model.journal_of(measurement)?;
                let share = result;
                told.result =
                    if share > 0.75 { "it is worn on one side".to_owned() } else { "it is worn evenly".to_owned() };
                told.share = Some(share);
                findings.worn.retain(|worn| worn.journal != journal);
                findings.worn.push(Worn { journal, share });
            }
            Measurement::Depth { damage } => {
                let seen = findings.damages.get_mut(damage)?;
                let deep = rounded(result, if unit == Unit::Inch { 0.002_54 } else { 0.002 });
                seen.depth = Depth { lowest_mm: deep, likeliest_mm: deep, highest_mm: deep };
                told.result = format!("it is {} deep", show(deep));
                told.shows_mm = Some(deep);
            }
            Measurement::Instrument { instrument } => {
                let known = findings.instruments.get_mut(instrument)?;
                // What all sizes are too small by is what it reads too small by.
                let off_mm = rounded(-result, known.graduation_mm / 2.0);
                known.zero_mm += off_mm;
                known.zero_taken = true;
                known.error_limit_mm = 0.0;
                told.result = match off_mm {
                    off if off > 1e-9 => format!("it reads {} high", show(off)),
                    off if off < -1e-9 => format!("it reads {} low", show(-off)),
                    _ => "it reads true".to_owned(),
                };
                told.shows_mm = Some(off_mm);
            }
        }
        let at_mm = self.told_at_mm(verdict);
        let answer = |then: Option<Verdict>| {
            let then = then?.sets.into_iter().find(|s| s.set == set)?;
            let chance = then.steps.iter().find(|s| s.undersize_mm == at_mm).map_or(0.0, |s| s.chance.share());
            Some((then.choice, chance))
        };
        let mut then = answer(self.foretell(&findings))?;
        // So near to the rule a few draws may fall on the other side than all of them.
        if self.policy.axis == Axis::Held && (then.1 - self.policy.confidence).abs() < NEAR_THE_RULE {
            then = answer(foresee(self.specification, &findings, self.policy, self.unit).ok())?;
        }
        (told.choice, told.chance) = then;
        told.undersize_mm = at_mm;
        Some(told)
    }

    /// What a sweep round a journal, by its place among all, would show at a place along it on one of the first draws.
    fn swept(&self, j: usize, zeta: f64, draw: usize) -> Option<Trace> {
        let journal = self.specification.journals().nth(j)?;
        let with = self.usual_instrument(journal.set);
        let instrument = self.findings.instruments.get(with)?;
        let (mean_mm, departures_mm) = self.model.sweep_mm(j, zeta, draw);
        let mean_mm = shown_by(instrument, mean_mm);
        let grain_mm = if self.unit == Unit::Inch { 0.002_54 } else { 0.002 };
        let departures_mm: Vec<f64> = departures_mm.iter().map(|&mm| rounded(mm, grain_mm)).collect();
        let every = 360.0 / departures_mm.len() as f64;
        let throw_deg = self.specification.throw_deg(journal);
        Some(Trace {
            journal,
            at_mm: zeta * END_STATION * self.specification.set(journal.set).length_mm,
            size: entry(mean_mm, self.unit)?,
            angles_deg: (0..departures_mm.len()).map(|n| (every * n as f64 + throw_deg).rem_euclid(360.0)).collect(),
            departures_mm,
            with,
            departure_sd_mm: instrument.repeatability_mm,
        })
    }

    /// The verdict that these findings would bring, from as many draws as a foretold answer rests on.
    pub(crate) fn foretell(&self, findings: &Findings) -> Option<Verdict> {
        let most = if self.policy.axis != Axis::Held { FORESEEN_DRAWS_FREE } else { FORESEEN_DRAWS };
        let policy = crate::Policy { draws: self.policy.draws.min(most), ..self.policy.clone() };
        foresee(self.specification, findings, &policy, self.unit).ok()
    }

    /// The undersize whose chance is told: the shallowest that is short of the shop's rule, for a measurement may raise it,
    /// unless it is hopeless; else the one chosen.
    fn told_at_mm(&self, verdict: &SetVerdict) -> f64 {
        let confidence = self.policy.confidence;
        let open = verdict.steps.iter().filter(|s| s.permitted).rfind(|s| {
            let share = s.chance.share();
            share < confidence && share >= HOPELESS
        });
        let chosen = || verdict.choice.undersize_mm().or(verdict.if_ground_mm);
        let deepest = || verdict.steps.iter().rfind(|s| s.permitted).map(|s| s.undersize_mm);
        open.map(|s| s.undersize_mm).or_else(chosen).or_else(deepest).unwrap_or(0.0)
    }

    /// The instrument that most readings of a set were taken with.
    fn usual_instrument(&self, set: SetName) -> usize {
        let used =
            |with: usize| self.findings.readings.iter().filter(|r| r.journal.set == set && r.with == with).count();
        (0..self.findings.instruments.len()).max_by_key(|&n| (used(n), std::cmp::Reverse(n))).unwrap_or(0)
    }
}

/// Sweeps at the front, the middle and the rear of a journal.
fn along_it(journal: usize) -> Vec<(usize, f64)> {
    [-1.0, 0.0, 1.0].map(|zeta| (journal, zeta)).to_vec()
}

/// What an instrument shows of a true size.
fn shown_by(instrument: &gauge::Instrument, mm: f64) -> f64 {
    rounded(mm / instrument.to_20_c() + instrument.zero_mm, instrument.graduation_mm)
}

/// A length as an instrument of this graduation shows it.
fn rounded(mm: f64, graduation_mm: f64) -> f64 {
    if graduation_mm > 0.0 { (mm / graduation_mm).round() * graduation_mm } else { mm }
}

/// A length as somebody would type it.
fn entry(mm: f64, unit: Unit) -> Option<units::Entry> {
    units::read(&show_mm(mm, unit, unit.usual_decimals() + 1), unit).ok()
}

/// The set as one speaks of it.
pub(crate) fn plural(set: SetName) -> &'static str {
    match set {
        SetName::Main => "mains",
        SetName::Pin => "pins",
    }
}
