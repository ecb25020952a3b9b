//! From findings to verdict: the one function that every face of the program calls.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use crank::{Condition, Findings, FormCheck, GroundTo, JournalId, SetName, Size, Specification, State};
use statrs::distribution::{ContinuousCDF, StudentsT};
use units::{Unit, show_mm};

use crate::axis::{AxisLine, Best, Geometry, Questions, Stand};
use crate::chance::{Asked, Chance, Counts, DrawnSize, JournalForm, SAME_LENGTH_MM};
use crate::choice::{Choice, Ladder, choose, expected_cost};
use crate::next::{NextMeasurement, SetQuestion, next_measurement, plural, under};
use crate::place::Place;
use crate::plan::{Plan, ground_size_mm, plan};
use crate::surface::{Radius, Surface};
use crate::words::{in_hundred, likelihood};
use crate::{Policy, Prices};

/// The tool could not answer: its own fault, not the sheet's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure(pub(crate) programme::Unsolved);

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the clean-up question could not be solved: {}", self.0)
    }
}

impl std::error::Error for Failure {}

/// Something the reader should know about the readings or the answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// What kind of remark, from a short fixed list (`likely misread`, `question`, `missing`, `caution` …).
    pub kind: &'static str,
    /// The journal it is about.
    pub journal: Option<JournalId>,
    /// The remark.
    pub says: String,
}

/// A journal's condition and the chance that it is within its limits.
#[derive(Clone, Debug, PartialEq)]
pub struct JournalVerdict {
    /// Sizes, out-of-round, taper, wear.
    pub condition: Condition,
    /// Chance that size, out-of-round and taper all keep the limits of the size it was last ground to.
    pub within: Chance,
    /// What that chance means under the shop's rule.
    pub state: State,
}

/// One step of the ladder of one set.
#[derive(Clone, Debug, PartialEq)]
pub struct StepVerdict {
    /// The undersize, on the diameter; zero for standard.
    pub undersize_mm: f64,
    /// The size the wheel must leave.
    pub ground_size_mm: f64,
    /// Chance that the set cleans up, the other set left out.
    pub chance: Chance,
    /// Spare stock on the radius for the readings as they stand, before the clean-up stock is asked for.
    pub spare_mm: f64,
    /// What to expect to pay when starting here, where prices are known.
    pub expected_cost: Option<f64>,
}

/// Journals of a set that nobody measured, and what they could do.
#[derive(Clone, Debug, PartialEq)]
pub struct Missing {
    /// The journals.
    pub journals: Vec<JournalId>,
    /// The chance at the chosen step if they are like the measured ones, where three or more were measured.
    pub chance_if_alike: Option<f64>,
}

/// The verdict on all mains or all pins.
#[derive(Clone, Debug, PartialEq)]
pub struct SetVerdict {
    /// Which set.
    pub set: SetName,
    /// What it was last ground to.
    pub ground_to: GroundTo,
    /// What to do.
    pub choice: Choice,
    /// Why.
    pub reason: String,
    /// Whether better measurements should come first, because no journal is outside its limits beyond doubt.
    pub settle_first: bool,
    /// Chance that every measured journal is within its limits and undamaged.
    pub leave_alone: Chance,
    /// Chance that every measured journal is so after a polish.
    pub polish_only: Chance,
    /// The ladder, standard first.
    pub steps: Vec<StepVerdict>,
    /// The place that governs every step.
    pub governed_by: Option<Place>,
    /// What was not measured.
    pub missing: Option<Missing>,
    /// The one further measurement that would change the verdict most.
    pub next: Option<NextMeasurement>,
}

/// The verdict on one undersize of the mains together with one of the pins, on one axis.
#[derive(Clone, Debug, PartialEq)]
pub struct PairVerdict {
    /// Undersize of the mains.
    pub main_mm: f64,
    /// Undersize of the pins.
    pub pin_mm: f64,
    /// The programme's optimum.
    pub spare_mm: f64,
    /// The same placement in true geometry, moved to where that is best.
    pub spare_exact_mm: f64,
    /// Chance that both sets clean up.
    pub chance: Chance,
    /// The axis.
    pub axis: AxisLine,
    /// The place that governs.
    pub governed_by: Option<Place>,
}

/// The plan for one set.
#[derive(Clone, Debug, PartialEq)]
pub struct SetPlan {
    /// Which set.
    pub set: SetName,
    /// Undersize it is for.
    pub undersize_mm: f64,
    /// The sizes of every stage; the same for every journal of the set.
    pub plan: Plan,
}

/// How much of the shape of the journals was looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Two-point diameters only.
    DiametersOnly,
    /// Run-outs or traces as well.
    WithDirection,
}

/// The answer for one crank.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// Every measured journal, mains first.
    pub journals: Vec<JournalVerdict>,
    /// The sets that were measured.
    pub sets: Vec<SetVerdict>,
    /// Every pair of undersizes, where both sets were measured.
    pub pairs: Vec<PairVerdict>,
    /// On a free axis: the pair to grind to, where both sets are to be ground.
    pub chosen_pair: Option<(f64, f64)>,
    /// The plan, for each set that is to be ground.
    pub plans: Vec<SetPlan>,
    /// What the reader should know, the most pressing first.
    pub notes: Vec<Note>,
    /// Whether anything tells on which side the metal went.
    pub shape: Shape,
    /// Whether somebody must look again before anything is ground.
    pub look_again: bool,
}

/// Judges one crank: condition, clean-up, choice and plan.
///
/// `unit` is what the remarks are worded in. `progress` is told, from any thread, how many more draws were made.
///
/// # Errors
/// [`Failure`] when a programme could not be solved, which no sheet that was read should bring about.
pub fn assess(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    unit: Unit,
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Verdict, Failure> {
    let mut verdict = judge(specification, findings, policy, unit, progress)?;
    let suspicions = crank::suspicions(specification, findings, unit);
    verdict.look_again = suspicions.iter().any(|s| s.accuses());
    let mut notes: Vec<Note> =
        suspicions.iter().map(|s| Note { kind: s.kind.word(), journal: s.journal, says: s.says.clone() }).collect();
    let doubtful: Vec<usize> = suspicions.iter().filter(|s| s.accuses()).filter_map(|s| s.reading).collect();
    if !doubtful.is_empty() {
        notes.extend(without(specification, findings, policy, unit, &doubtful, &mut verdict)?);
    }
    notes.append(&mut verdict.notes);
    verdict.notes = notes;
    Ok(verdict)
}

/// The spare stock of every pair of undersizes for the readings as they stand, mains first, without chances and without
/// true geometry: what can be shown at once while the draws are still being made.
///
/// Empty where one of the sets was not measured.
///
/// # Errors
/// [`Failure`].
pub fn spares(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
) -> Result<Vec<(f64, f64, f64)>, Failure> {
    let last_ground_mm = |set: SetName| {
        specification.set(set).finished(last_ground_to(specification, findings, set).undersize_mm).middle_mm()
    };
    let surface = Surface::new(specification, findings, last_ground_mm);
    let questions = Questions::new(Geometry::new(specification, findings, policy, &surface));
    if !SetName::BOTH.into_iter().all(|set| questions.is_measured(set)) {
        return Ok(Vec::new());
    }
    let mut radii_mm = Vec::new();
    surface.sound_radii_mm(&surface.as_it_stands(), &mut radii_mm);
    let wanted = |set: SetName, undersize_mm: f64| {
        ground_size_mm(specification.set(set), &specification.treatment, policy, undersize_mm) / 2.0
    };
    let mut stand = questions.start();
    let mut spares = Vec::new();
    for main_mm in specification.main.ladder_mm() {
        for pin_mm in specification.pin.ladder_mm() {
            let wanted_mm = [wanted(SetName::Main, main_mm), wanted(SetName::Pin, pin_mm)];
            let spare_mm = questions.spare_mm(None, &radii_mm, wanted_mm, &mut stand).map_err(Failure)?;
            spares.push((main_mm, pin_mm, spare_mm));
        }
    }
    Ok(spares)
}

/// What the answer would be if the doubtful readings had not been taken. They are never left out silently; taking them
/// again is the measurement to make first.
fn without(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    unit: Unit,
    doubtful: &[usize],
    verdict: &mut Verdict,
) -> Result<Vec<Note>, Failure> {
    let mut fewer = findings.clone();
    let mut index = 0;
    fewer.readings.retain(|_| {
        index += 1;
        !doubtful.contains(&(index - 1))
    });
    let other = judge(specification, &fewer, policy, unit, &|_| ())?;
    let accused: BTreeSet<JournalId> =
        doubtful.iter().filter_map(|&i| findings.readings.get(i)).map(|reading| reading.journal).collect();
    let mut notes = Vec::new();
    for set in &mut verdict.sets {
        let own: Vec<String> = accused.iter().filter(|j| j.set == set.set).map(ToString::to_string).collect();
        if own.is_empty() {
            continue;
        }
        let now = choice_words(set.set, set.choice, unit);
        let (could_change, changes_choice) = match other.sets.iter().find(|o| o.set == set.set) {
            Some(o) if o.choice == set.choice => (format!("Without them it is still to {now}."), false),
            Some(o) => {
                (format!("With them counted: {now}. Without them: {}.", choice_words(o.set, o.choice, unit)), true)
            }
            None => (format!("Without them nothing is known of the {}.", plural(set.set)), true),
        };
        if changes_choice {
            let says = format!("The {} hang on doubtful readings. {could_change}", plural(set.set));
            notes.push(Note { kind: "hangs on doubtful readings", journal: None, says });
        }
        set.next = Some(NextMeasurement {
            set: set.set,
            journal: accused.iter().find(|j| j.set == set.set).copied(),
            measure: format!("Take the doubtful readings of {} again.", own.join(", ")),
            could_change,
            swing: 1.0,
            changes_choice,
        });
    }
    Ok(notes)
}

fn choice_words(set: SetName, choice: Choice, unit: Unit) -> String {
    match choice {
        Choice::Grind { undersize_mm: 0.0 } => format!("grind the {} to standard", plural(set)),
        Choice::Grind { undersize_mm } => format!("grind the {} to {}", plural(set), under(undersize_mm, unit)),
        Choice::LeaveAlone => format!("leave the {} alone", plural(set)),
        Choice::PolishOnly => format!("polish the {} only", plural(set)),
        Choice::BuildUp => format!("build the {} up", plural(set)),
        Choice::Scrap => format!("scrap (the {} cannot be saved)", plural(set)),
    }
}

/// The whole of the work but for the suspicions about single readings.
fn judge(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    unit: Unit,
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Verdict, Failure> {
    let ground_to = SetName::BOTH.map(|set| last_ground_to(specification, findings, set));
    let last_ground_mm = |set: SetName| specification.set(set).finished(ground_to[index(set)].undersize_mm).middle_mm();
    let surface = Surface::new(specification, findings, last_ground_mm);
    let geometry = Geometry::new(specification, findings, policy, &surface);
    let questions = Questions::new(geometry);
    let ladders = SetName::BOTH.map(|set| specification.set(set).ladder_mm());
    let wanted_mm = SetName::BOTH.map(|set| {
        ladders[index(set)]
            .iter()
            .map(|&u| ground_size_mm(specification.set(set), &specification.treatment, policy, u) / 2.0)
            .collect::<Vec<_>>()
    });
    let conditions: Vec<Option<Condition>> = surface
        .journals
        .iter()
        .map(|j| crank::condition(specification, findings, j.id, ground_to[index(j.id.set)].undersize_mm))
        .collect();
    let forms = (0..surface.journals.len()).map(|j| form(specification, &surface, j, &ground_to)).collect();
    let asked = Asked {
        surface: &surface,
        questions: &questions,
        wanted_mm: wanted_mm.clone(),
        stock_mm: policy.clean_up_stock_mm,
        set_up_error_mm: policy.set_up_error_mm,
        polish_stock_mm: policy.polish_stock_mm,
        forms,
        draws: policy.draws,
        seed: policy.seed,
    };
    let counts = asked.answer(progress).map_err(Failure)?;

    let mut radii_mm = Vec::new();
    surface.sound_radii_mm(&surface.as_it_stands(), &mut radii_mm);
    let case = Case {
        specification,
        findings,
        policy,
        unit,
        surface: &surface,
        questions: &questions,
        counts: &counts,
        radii_mm: &radii_mm,
        wanted_mm: &wanted_mm,
        ladders: &ladders,
    };
    let mut stand = questions.start();
    let journals = case.journals(&conditions);
    let pairs = case.pairs(&mut stand)?;
    let mut sets = Vec::new();
    for set in SetName::BOTH {
        if questions.is_measured(set) {
            sets.push(case.set(set, ground_to[index(set)].clone(), &journals, &mut stand)?);
        }
    }
    let chosen_pair = case.choose_pair(&mut sets, &pairs);
    let plans = case.plans(&sets);
    let notes = case.notes(&sets, &plans);
    let shape = if findings.run_outs.is_empty() && findings.traces.is_empty() {
        Shape::DiametersOnly
    } else {
        Shape::WithDirection
    };
    Ok(Verdict { journals, sets, pairs, chosen_pair, plans, notes, shape, look_again: false })
}

fn index(set: SetName) -> usize {
    usize::from(set == SetName::Pin)
}

/// What a set was last ground to, from its largest size: every reading's mean and every trace's mean size, each with
/// its own standard uncertainty.
fn last_ground_to(specification: &Specification, findings: &Findings, set: SetName) -> GroundTo {
    let mut sizes = Vec::new();
    for reading in findings.readings.iter().filter(|r| r.journal.set == set && !r.sizes.is_empty()) {
        if let Some(instrument) = findings.instruments.get(reading.with) {
            let repeats = reading.sizes.len();
            let mean = reading.sizes.iter().map(|e| e.mm).sum::<f64>() / repeats as f64;
            sizes.push((instrument.corrected_mm(mean), instrument.standard_uncertainty_mm(repeats)));
        }
    }
    for trace in findings.traces.iter().filter(|t| t.journal.set == set) {
        if let Some(instrument) = findings.instruments.get(trace.with) {
            sizes.push((instrument.corrected_mm(trace.size.mm), instrument.standard_uncertainty_mm(1)));
        }
    }
    crank::ground_to(specification.set(set), &sizes)
}

/// A journal's sizes as they can be drawn: its readings, and the diameters across its traces where both ends of a
/// diameter were traced.
fn form(
    specification: &Specification,
    surface: &Surface,
    journal: usize,
    ground_to: &[GroundTo; 2],
) -> Option<JournalForm> {
    let id = surface.journals[journal].id;
    let points = &surface.points[surface.journals[journal].points.clone()];
    let mut sizes = Vec::new();
    let mut places = Vec::new();
    let mut add = |drawn: DrawnSize, at_mm: f64, plane_deg: f64| {
        sizes.push(drawn);
        places.push(Size {
            at_mm,
            plane_deg: plane_deg.rem_euclid(180.0),
            size_mm: surface.sizes[drawn.size].size_mm,
            ..Size::default()
        });
    };
    for (size, measured) in surface.sizes.iter().enumerate().filter(|(_, s)| s.journal == journal) {
        let mut of_size = points.iter().filter(|p| match p.radius {
            Radius::WorseSide { size: s } | Radius::HalfSize { size: s } | Radius::Trace { size: s, .. } => s == size,
        });
        if measured.two_point {
            if let Some(point) = of_size.next() {
                add(DrawnSize { size, departures: None }, point.at_mm, point.angle_deg);
            }
            continue;
        }
        let traced: Vec<(f64, f64, usize)> = of_size
            .filter_map(|p| match p.radius {
                Radius::Trace { departure, .. } => Some((p.angle_deg, p.at_mm, departure)),
                _ => None,
            })
            .collect();
        for &(angle, at_mm, departure) in traced.iter().filter(|t| t.0 < 180.0) {
            let opposite = traced.iter().find(|t| ((t.0 - angle).abs() - 180.0).abs() < 1e-6);
            if let Some(&(_, _, other)) = opposite {
                add(DrawnSize { size, departures: Some((departure, other)) }, at_mm, angle);
            }
        }
    }
    if sizes.is_empty() {
        return None;
    }
    let check = FormCheck::new(specification.set(id.set), ground_to[index(id.set)].undersize_mm, &places);
    Some(JournalForm { sizes, check })
}

/// One crank on its way through the judgement.
#[derive(Clone, Copy)]
pub(crate) struct Case<'a> {
    pub(crate) specification: &'a Specification,
    pub(crate) findings: &'a Findings,
    pub(crate) policy: &'a Policy,
    pub(crate) unit: Unit,
    pub(crate) surface: &'a Surface,
    pub(crate) questions: &'a Questions,
    pub(crate) counts: &'a Counts,
    pub(crate) radii_mm: &'a [f64],
    pub(crate) wanted_mm: &'a [Vec<f64>; 2],
    pub(crate) ladders: &'a [Vec<f64>; 2],
}

impl Case<'_> {
    fn chance(&self, hits: usize) -> Chance {
        Chance { hits, draws: self.counts.draws }
    }

    fn journals(&self, conditions: &[Option<Condition>]) -> Vec<JournalVerdict> {
        conditions
            .iter()
            .zip(&self.counts.within)
            .filter_map(|(condition, &hits)| {
                let within = self.chance(hits);
                let state = crank::verdict(within.share(), self.policy.within_at, self.policy.outside_at);
                condition.clone().map(|condition| JournalVerdict { condition, within, state })
            })
            .collect()
    }

    fn place(&self, point: usize) -> Place {
        let point = &self.surface.points[point];
        let journal = self.surface.journals[point.journal].id;
        Place {
            journal,
            at_mm: point.at_mm,
            length_mm: self.specification.set(journal.set).length_mm,
            angle_deg: point.angle_deg,
            counted_from: point.counted_from,
            unit: self.unit,
        }
    }

    fn pairs(&self, stand: &mut Stand) -> Result<Vec<PairVerdict>, Failure> {
        if !SetName::BOTH.into_iter().all(|set| self.questions.is_measured(set)) {
            return Ok(Vec::new());
        }
        // Only the difference of the two circles moves the axis; where it is the same, so is the answer but for a shift.
        let mut solved: BTreeMap<i64, (f64, Best, f64, AxisLine)> = BTreeMap::new();
        let mut pairs = Vec::new();
        for (m, &main_mm) in self.ladders[0].iter().enumerate() {
            for (p, &pin_mm) in self.ladders[1].iter().enumerate() {
                let wanted = [self.wanted_mm[0][m], self.wanted_mm[1][p]];
                let difference = ((wanted[0] - wanted[1]) * 1e9).round() as i64;
                let key = if self.questions.geometry.is_held() { pairs.len() as i64 } else { difference };
                let (at, best, exact, axis) = match solved.get(&key) {
                    Some(found) => found.clone(),
                    None => {
                        let best = self.questions.best(None, self.radii_mm, wanted, stand).map_err(Failure)?;
                        let (exact, placement) = self.questions.exact(self.radii_mm, wanted, &best);
                        let found = (wanted[0], best, exact, placement.line);
                        solved.insert(key, found.clone());
                        found
                    }
                };
                let shift = at - wanted[0];
                pairs.push(PairVerdict {
                    main_mm,
                    pin_mm,
                    spare_mm: best.spare_mm + shift,
                    spare_exact_mm: exact + shift,
                    chance: self.chance(self.counts.pairs[m][p]),
                    axis,
                    governed_by: best.governing.map(|point| self.place(point)),
                });
            }
        }
        Ok(pairs)
    }

    fn set(
        &self,
        set: SetName,
        ground_to: GroundTo,
        journals: &[JournalVerdict],
        stand: &mut Stand,
    ) -> Result<SetVerdict, Failure> {
        let s = index(set);
        let standard = [self.wanted_mm[0][0], self.wanted_mm[1][0]];
        let best = self.questions.best(Some(set), self.radii_mm, standard, stand).map_err(Failure)?;
        let chances: Vec<f64> = self.counts.sets[s].iter().map(|&hits| self.chance(hits).share()).collect();
        let mut leave_alone = self.chance(self.counts.leave_alone[s]);
        let mut polish_only = self.chance(self.counts.polish_only[s]);
        if self.run_out_beyond_limit(set).is_some() || ground_to.bigger_than_new {
            // A bent shaft is not put right by a polish.
            (leave_alone.hits, polish_only.hits) = (0, 0);
        }
        let ladder = Ladder {
            steps_mm: &self.ladders[s],
            chances: &chances,
            leave_alone: leave_alone.share(),
            polish_only: polish_only.share(),
        };
        let prices = self.policy.prices.as_ref().map(|p: &Prices| if set == SetName::Main { &p.main } else { &p.pin });
        let governed_by = best.governing.map(|point| self.place(point));
        let steps: Vec<StepVerdict> = self.ladders[s]
            .iter()
            .enumerate()
            .map(|(step, &undersize_mm)| StepVerdict {
                undersize_mm,
                ground_size_mm: 2.0 * self.wanted_mm[s][step],
                chance: self.chance(self.counts.sets[s][step]),
                spare_mm: best.spare_mm + standard[s] - self.wanted_mm[s][step],
                expected_cost: prices.map(|prices| expected_cost(&ladder, prices, step)),
            })
            .collect();
        let ended = self.ended(set, journals);
        let choice = match &ended {
            Some((choice, _)) => *choice,
            None => choose(&ladder, self.policy, prices),
        };
        let mut reason = match ended {
            Some((_, reason)) => reason,
            None => self.reason(set, choice, &steps, governed_by, prices.is_some()),
        };
        let states = || journals.iter().filter(|j| j.condition.journal.set == set).map(|j| j.state);
        let settle_first = choice.undersize_mm().is_some()
            && leave_alone.hits > 0
            && states().all(|state| state != State::Outside)
            && states().any(|state| state == State::TooCloseToCall);
        if settle_first {
            reason = format!(
                "No journal is outside its limits beyond doubt: this may be a set to leave alone. Measure again, with \
                 a finer instrument where there is one, before anything is ground. {reason}"
            );
        }
        let chosen = choice
            .undersize_mm()
            .and_then(|u| self.ladders[s].iter().position(|&step| step == u))
            .unwrap_or(self.ladders[s].len() - 1);
        let next = match choice {
            Choice::LeaveAlone | Choice::PolishOnly => None,
            _ => self.next(set, chosen),
        };
        let missing = self.missing(set, chosen, chances[chosen]);
        Ok(SetVerdict {
            set,
            ground_to,
            choice,
            reason,
            settle_first,
            leave_alone,
            polish_only,
            steps,
            governed_by,
            missing,
            next,
        })
    }

    fn next(&self, set: SetName, chosen: usize) -> Option<NextMeasurement> {
        let names: Vec<String> = self.findings.instruments.iter().map(|i| i.name.clone()).collect();
        let s = index(set);
        let question = SetQuestion {
            set,
            steps_mm: &self.ladders[s],
            wanted_mm: &self.wanted_mm[s],
            stock_mm: self.policy.clean_up_stock_mm,
            confidence: self.policy.confidence,
            chosen,
        };
        next_measurement(self.surface, self.counts, &names, question, self.unit)
    }

    /// A crack anywhere, or a journal of this set already too small, ends the matter before any ladder.
    fn ended(&self, set: SetName, journals: &[JournalVerdict]) -> Option<(Choice, String)> {
        if let Some(crack) = self.findings.damages.iter().find(|d| d.is_crack()) {
            return Some((
                Choice::Scrap,
                format!(
                    "Crack on {}: do not grind. A cracked crankshaft can break in service and hurt people. Have the \
                     indication judged against the maker's manual by somebody qualified to; until then it is scrap.",
                    crack.journal
                ),
            ));
        }
        let smallest = self.specification.set(set).smallest_mm?;
        let below = journals.iter().find(|j| {
            j.condition.journal.set == set && j.condition.smallest_mm + 2.0 * j.condition.uncertainty_mm < smallest
        })?;
        let choice = if self.policy.build_up { Choice::BuildUp } else { Choice::Scrap };
        Some((
            choice,
            format!(
                "{} is {} at its smallest, already below the {} that the book permits for any journal of the set.",
                below.condition.journal,
                self.size(below.condition.smallest_mm),
                self.size(smallest)
            ),
        ))
    }

    pub(crate) fn size(&self, mm: f64) -> String {
        let decimals = if self.unit == Unit::Inch { 4 } else { 3 };
        format!("{} {}", show_mm(mm, self.unit, decimals), self.unit)
    }

    fn reason(
        &self,
        set: SetName,
        choice: Choice,
        steps: &[StepVerdict],
        governed_by: Option<Place>,
        priced: bool,
    ) -> String {
        let governs = governed_by.map_or(String::new(), |place| format!(" What decides it: {}.", place.in_full()));
        match choice {
            Choice::LeaveAlone => "Every journal measured is within its limits and no damage was seen.".into(),
            Choice::PolishOnly => "A polish takes out what was seen and leaves every journal within its limits.".into(),
            Choice::Grind { undersize_mm } => {
                let at = steps.iter().position(|s| s.undersize_mm == undersize_mm);
                let here = at.map_or(0.0, |i| steps[i].chance.share());
                let above = at.and_then(|i| i.checked_sub(1)).map(|i| &steps[i]);
                let mut says = format!(
                    "{} is {} to clean up: {} such cranks would.",
                    self.step(undersize_mm),
                    likelihood(here),
                    in_hundred(here)
                );
                if let Some(above) =
                    above.filter(|a| a.chance.share() > 0.0 && a.chance.share() < self.policy.confidence)
                {
                    says += &format!(
                        " {} would in {}, short of the {} asked for.",
                        self.step(above.undersize_mm),
                        in_hundred(above.chance.share()),
                        in_hundred(self.policy.confidence)
                    );
                }
                if priced {
                    says += " With the prices given it costs least to start here.";
                }
                says + &governs
            }
            Choice::BuildUp | Choice::Scrap => {
                let deepest = steps.last();
                let chance = deepest.map_or(0.0, |s| s.chance.share());
                let name = deepest.map_or(String::new(), |s| self.step(s.undersize_mm));
                let mut says = format!(
                    "No undersize of the {} reaches {}; the deepest, {name}, cleans up in {}.{governs}",
                    plural(set),
                    in_hundred(self.policy.confidence),
                    in_hundred(chance)
                );
                if chance >= 0.05 {
                    says += " Measure more, or try the deepest knowing that chance, before giving the crank up.";
                }
                if choice == Choice::BuildUp {
                    says += " Building up changes the strength of the shaft: only where the maker permits it.";
                }
                says
            }
        }
    }

    pub(crate) fn step(&self, undersize_mm: f64) -> String {
        if undersize_mm == 0.0 { "Standard".into() } else { under(undersize_mm, self.unit) }
    }

    fn run_out_beyond_limit(&self, set: SetName) -> Option<(JournalId, f64, f64)> {
        let limit = self.specification.set(set).run_out?.total_mm();
        self.findings
            .run_outs
            .iter()
            .filter(|r| r.journal.set == set && r.total_mm > limit + SAME_LENGTH_MM)
            .max_by(|a, b| a.total_mm.total_cmp(&b.total_mm))
            .map(|r| (r.journal, r.total_mm, limit))
    }

    /// What was not measured, and what the chance becomes if it is like what was: each missing journal cleans up with
    /// the chance that a further value of a normal sample exceeds the stock (Student's t with a further observation).
    fn missing(&self, set: SetName, chosen: usize, chance: f64) -> Option<Missing> {
        let s = index(set);
        let journals: Vec<JournalId> =
            self.surface.journals.iter().filter(|j| j.id.set == set && j.points.is_empty()).map(|j| j.id).collect();
        if journals.is_empty() {
            return None;
        }
        let wanted = self.wanted_mm[s][chosen];
        let spares: Vec<f64> = self
            .surface
            .journals
            .iter()
            .filter(|j| j.id.set == set && !j.points.is_empty())
            .map(|j| self.radii_mm[j.points.clone()].iter().copied().fold(f64::INFINITY, f64::min) - wanted)
            .collect();
        let n = spares.len() as f64;
        let chance_if_alike = (spares.len() >= 3).then(|| {
            let mean = spares.iter().sum::<f64>() / n;
            let sd = (spares.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
            let margin = mean - self.policy.clean_up_stock_mm;
            let spread = (sd * sd * (1.0 + 1.0 / n) + self.policy.set_up_error_mm.powi(2)).sqrt();
            let one = match StudentsT::new(0.0, 1.0, n - 1.0) {
                Ok(t) if spread > 0.0 => t.cdf(margin / spread),
                _ => f64::from(u8::from(margin >= 0.0)),
            };
            chance * one.powi(journals.len() as i32)
        });
        Some(Missing { journals, chance_if_alike })
    }

    /// On a free axis the two sets share it, so they are chosen as a pair: of the pairs in which each set reaches the
    /// shop's confidence given that the other cleans up on the same axis, none shallower than what each needs alone,
    /// the one that takes off least in all. `None` where the question does not arise.
    fn choose_pair(&self, sets: &mut [SetVerdict], pairs: &[PairVerdict]) -> Option<(f64, f64)> {
        if self.questions.geometry.is_held() {
            return None;
        }
        let [mains, pins] = sets else { return None };
        let (main, pin) = (mains.choice.undersize_mm()?, pins.choice.undersize_mm()?);
        let own = |set: &SetVerdict, undersize_mm: f64| {
            set.steps.iter().find(|s| s.undersize_mm == undersize_mm).map_or(0.0, |s| s.chance.share())
        };
        let together = |pair: &&PairVerdict| {
            let joint = pair.chance.share();
            let enough = |other: f64| joint >= self.policy.confidence * other;
            joint > 0.0 && enough(own(mains, pair.main_mm)) && enough(own(pins, pair.pin_mm))
        };
        let chosen = pairs
            .iter()
            .filter(|p| p.main_mm >= main && p.pin_mm >= pin)
            .filter(together)
            .min_by(|a, b| (a.main_mm + a.pin_mm).total_cmp(&(b.main_mm + b.pin_mm)))
            .map(|p| (p.main_mm, p.pin_mm));
        match chosen {
            Some((main, pin)) => {
                for (set, undersize_mm) in [(mains, main), (pins, pin)] {
                    if set.choice != (Choice::Grind { undersize_mm }) {
                        set.reason = format!(
                            "Alone, {} But mains and pins share one axis, and together they need {} here.",
                            lower_first(&set.reason),
                            under(undersize_mm, self.unit)
                        );
                        set.choice = Choice::Grind { undersize_mm };
                    }
                }
            }
            None => {
                let end = if self.policy.build_up { Choice::BuildUp } else { Choice::Scrap };
                for set in [mains, pins] {
                    set.reason = format!(
                        "Alone, {} But no pair of undersizes leaves both sets {} on one axis.",
                        lower_first(&set.reason),
                        in_hundred(self.policy.confidence)
                    );
                    set.choice = end;
                }
            }
        }
        chosen
    }

    fn plans(&self, sets: &[SetVerdict]) -> Vec<SetPlan> {
        let treatment = &self.specification.treatment;
        sets.iter()
            .filter_map(|verdict| {
                let undersize_mm = verdict.choice.undersize_mm()?;
                let plan = plan(self.specification.set(verdict.set), treatment, self.policy, undersize_mm);
                Some(SetPlan { set: verdict.set, undersize_mm, plan })
            })
            .collect()
    }
}

/// A sentence that goes on after another word.
fn lower_first(sentence: &str) -> String {
    let mut chars = sentence.chars();
    chars.next().map_or_else(String::new, |c| c.to_lowercase().collect::<String>() + chars.as_str())
}
