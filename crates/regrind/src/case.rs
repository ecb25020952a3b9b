//! One crank on its way through the judgement: the parts of its verdict, one by one.

use std::collections::{BTreeMap, BTreeSet};

use crank::{Findings, JournalId, SetName, Specification, Suspicion};
use units::{Unit, show_mm};

use crate::Policy;
use crate::as_measured::AsMeasured;
use crate::axis::{Best, Mover, Placement, SpareAgainstShift, Stand, Told};
use crate::chance::{Chance, SAME_LENGTH_MM};
use crate::choice::{Ladder, expected_cost};
use crate::decide::Decision;
use crate::lone::Lone;
use crate::place::Place;
use crate::plan::{Work, plan};
use crate::surface::Surface;
use crate::tally::Ladders;
use crate::unseen::{Counted, Model, REMEMBERED};
use crate::verdict::{
    Apart, Failure, JournalVerdict, Note, Others, PairVerdict, SetPlan, SetVerdict, Shape, StepVerdict, Verdict,
};
use crate::words::{capital, standard_or_under};

/// Where a set stands in a pair of things, mains first.
pub(crate) fn index(set: SetName) -> usize {
    usize::from(set == SetName::Pin)
}

/// A point of the surface in a grinder's words.
pub(crate) fn place_of(specification: &Specification, surface: &Surface, point: usize, unit: Unit) -> Place {
    let point = &surface.points[point];
    let journal = surface.journals[point.journal].id;
    Place {
        journal,
        at_mm: point.at_mm,
        length_mm: specification.set(journal.set).length_mm,
        angle_deg: point.angle_deg,
        counted_from: point.counted_from,
        unit,
    }
}

/// One crank on its way through the judgement.
#[derive(Clone, Copy)]
pub(crate) struct Case<'a> {
    pub(crate) specification: &'a Specification,
    pub(crate) findings: &'a Findings,
    pub(crate) policy: &'a Policy,
    pub(crate) unit: Unit,
    pub(crate) ladders: &'a Ladders,
    /// As far as it was measured, every reading counted.
    pub(crate) measured: &'a AsMeasured,
    /// The same without readings that look wrong: what is decided rests on it.
    pub(crate) undoubted: &'a AsMeasured,
    pub(crate) model: &'a Model<'a>,
    /// With what nobody measured.
    pub(crate) counted: &'a Counted,
    /// Where it is told to be set up.
    pub(crate) told: &'a Told,
    pub(crate) suspicions: &'a [Suspicion],
    /// Readings that look wrong, as indices.
    pub(crate) doubtful: &'a BTreeSet<usize>,
    /// Whether this is what a further measurement would bring: then no further one is looked for.
    pub(crate) foreseen: bool,
}

/// The middle one of some values; nothing of none, or of what is no number.
fn middle(values: &[f64]) -> Option<f64> {
    let mut values: Vec<f64> = values.iter().copied().filter(|value| value.is_finite()).collect();
    let at = values.len() / 2;
    if values.is_empty() {
        return None;
    }
    Some(*values.select_nth_unstable_by(at, f64::total_cmp).1)
}

/// The first draws, which figures rest on that need no more of them.
fn first_draws(rooms_mm: &[f64]) -> &[f64] {
    rooms_mm.get(..REMEMBERED).unwrap_or(rooms_mm)
}

/// Whether something is to be looked at again: a reading that looks wrong, a journal that may be a turn of the thimble low, or a
/// stamp that the readings contradict.
fn is_doubt(suspicion: &Suspicion) -> bool {
    suspicion.accuses() || suspicion.asks_for_a_turn() || suspicion.kind == gauge::misread::Kind::Stamp
}

impl Case<'_> {
    /// The whole answer.
    pub(crate) fn verdict(&self) -> Result<Verdict, Failure> {
        let mut stand = self.measured.questions.start();
        let journals = self.journals();
        let pairs = self.pairs(&mut stand)?;
        let mut sets = Vec::new();
        for set in SetName::BOTH.into_iter().filter(|set| self.measured.questions.is_measured(*set)) {
            sets.push(self.set(set, &journals, &mut stand)?);
        }
        let chosen_pair = self.choose_pair(&mut sets, &pairs);
        self.through_treatment(&mut sets);
        let mut lone_notes = Vec::new();
        for set in &mut sets {
            let lone = self.lone_reading(set);
            set.in_doubt |= lone.is_some();
            lone_notes.extend(lone.iter().map(|lone| self.lone_note(set.set, lone)));
            self.look_further(set, lone.as_ref());
        }
        let plans = self.plans(&sets);
        let polish = self.polish_plans(&sets);
        let mut notes: Vec<Note> = self
            .suspicions
            .iter()
            .map(|s| {
                let kind = if s.asks_for_a_turn() { "a turn of the thimble" } else { s.kind.word() };
                Note { kind, journal: s.journal, says: s.says.clone() }
            })
            .collect();
        notes.extend(lone_notes);
        notes.extend(self.left_out(&sets));
        notes.extend(self.notes(&sets, &plans));
        self.polish_remarks(&sets, &polish, &mut notes);
        let shape = if self.findings.run_outs.is_empty() && self.findings.traces.is_empty() {
            Shape::DiametersOnly
        } else {
            Shape::WithDirection
        };
        let shaft = self.shaft(&sets, &pairs, chosen_pair);
        notes.extend(self.bend_notes());
        notes.extend(self.case_notes(&sets));
        notes.extend(shaft.iter().flat_map(|shaft| self.feature_notes(shaft, &sets)));
        let look_again =
            sets.iter().any(|set| set.in_doubt || set.undecided.is_some()) || self.suspicions.iter().any(is_doubt);
        Ok(Verdict { journals, sets, pairs, chosen_pair, plans, polish, notes, shape, look_again, shaft })
    }

    /// So many hits as a share of all draws.
    pub(crate) fn share(&self, hits: usize) -> f64 {
        Chance { hits, draws: self.policy.draws }.share()
    }

    /// Whether the model knows anything of a set: not where every reading of it is in doubt.
    pub(crate) fn is_modelled(&self, set: SetName) -> bool {
        self.model.steps(set).is_some()
    }

    /// How often a set cleans up at a step. Of a set that the model knows nothing of only what was measured speaks.
    fn cleans_up(&self, set: SetName, step: usize) -> Chance {
        let s = index(set);
        let as_measured = &self.measured.counts.clean;
        if self.is_modelled(set) {
            self.counted.clean.chance(self.counted.clean.sets[s][step])
        } else {
            as_measured.chance(as_measured.sets[s][step])
        }
    }

    fn journals(&self) -> Vec<JournalVerdict> {
        self.measured
            .conditions
            .iter()
            .enumerate()
            .filter_map(|(j, condition)| {
                let condition = condition.clone()?;
                let set = condition.journal.set;
                // What it has lost is counted from what it was itself ground to.
                let condition = self.own_step(j).map_or(condition, |(_, own)| own.clone());
                let as_measured = Chance { hits: self.measured.counts.within[j], draws: self.policy.draws };
                let within = if self.is_modelled(set) {
                    Chance { hits: self.counted.within[j], draws: self.policy.draws }
                } else {
                    as_measured
                };
                let worn = self.is_worn(j);
                let within_as_read = Chance { hits: self.within_as_read(j), draws: self.policy.draws };
                let said = if self.is_read_both_ways(condition.journal) { within_as_read } else { within };
                let stands = crank::verdict(said.share(), self.policy.within_at, self.policy.outside_at);
                let state = crank::verdict(within.share(), self.policy.within_at, self.policy.outside_at);
                Some(JournalVerdict {
                    condition,
                    within,
                    within_as_measured: as_measured,
                    within_as_read,
                    state,
                    said,
                    stands,
                    worn,
                })
            })
            .collect()
    }

    /// The journals of a set by the readings that nobody doubts, each with its place in the surface and its condition against
    /// what it was itself ground to.
    pub(crate) fn by_own_step(&self, set: SetName) -> impl Iterator<Item = (usize, crank::Condition)> {
        (0..self.undoubted.conditions.len()).filter_map(move |j| {
            let own = self.own_condition(j).filter(|own| own.journal.set == set)?;
            Some((j, own.clone()))
        })
    }

    /// The condition of one of them.
    pub(crate) fn own_condition(&self, j: usize) -> Option<&crank::Condition> {
        let condition = self.undoubted.conditions.get(j)?.as_ref()?;
        Some(self.own_step(j).map_or(condition, |(_, own)| own))
    }

    /// What a journal, by its place in the surface, was itself ground to where that is another undersize than its set's, and its
    /// condition against that.
    pub(crate) fn own_step(&self, j: usize) -> Option<&(f64, crank::Condition)> {
        self.undoubted.own_steps.get(j)?.as_ref()
    }

    /// Journals of a set that were most likely ground to another undersize than it.
    pub(crate) fn own_steps(&self, set: SetName) -> Vec<(crank::JournalId, f64)> {
        let journals = self.specification.journals().enumerate().filter(|(_, id)| id.set == set);
        journals.filter_map(|(j, id)| Some((id, self.own_step(j)?.0))).collect()
    }

    /// Whether a journal, by its place in the surface, is past its limits by wear beyond doubt: as far as it was measured,
    /// and with what nobody measured too.
    fn is_worn(&self, j: usize) -> bool {
        let beyond_doubt = 1.0 - self.policy.outside_at;
        let is = |hits: usize| self.share(hits) >= beyond_doubt;
        let modelled = self.is_modelled(self.measured.surface.journals[j].id.set);
        is(self.undoubted.counts.worn[j]) && (!modelled || is(self.counted.worn[j]))
    }

    /// Whether any journal of a set is.
    pub(crate) fn any_worn(&self, set: SetName) -> bool {
        let journals = &self.measured.surface.journals;
        (0..journals.len()).any(|j| journals[j].id.set == set && self.is_worn(j))
    }

    fn place(&self, measured: &AsMeasured, point: usize) -> Place {
        place_of(self.specification, &measured.surface, point, self.unit)
    }

    fn pairs(&self, stand: &mut Stand) -> Result<Vec<PairVerdict>, Failure> {
        let questions = &self.measured.questions;
        if !SetName::BOTH.into_iter().all(|set| questions.is_measured(set)) {
            return Ok(Vec::new());
        }
        // Only the difference of the two circles moves the axis; where it is the same, so is the answer but for a shift.
        let mut solved: BTreeMap<i64, (f64, Best, f64, Placement, Vec<SpareAgainstShift>)> = BTreeMap::new();
        let mut mover = (!questions.geometry.is_held()).then(|| Mover::new(questions, None));
        let mut pairs = Vec::new();
        let ladders_mm = SetName::BOTH.map(|set| self.specification.set(set).ladder_mm());
        for (m, &main_mm) in ladders_mm[0].iter().enumerate() {
            for (p, &pin_mm) in ladders_mm[1].iter().enumerate() {
                let wanted = [self.ladders.wanted_mm[0][m], self.ladders.wanted_mm[1][p]];
                let difference = ((wanted[0] - wanted[1]) * 1e9).round() as i64;
                let key = if questions.geometry.is_held() { pairs.len() as i64 } else { difference };
                let (at, best, exact, placement, curve) = match solved.get(&key) {
                    Some(found) => found.clone(),
                    None => {
                        let best = questions.best(None, &self.measured.radii_mm, wanted, stand).map_err(Failure)?;
                        let (exact, placement) = questions.exact(&self.measured.radii_mm, wanted, &best);
                        let curve = mover
                            .as_mut()
                            .map_or_else(Vec::new, |mover| mover.curve(&self.measured.radii_mm, wanted, best.spare_mm));
                        let found = (wanted[0], best, exact, placement, curve);
                        solved.insert(key, found.clone());
                        found
                    }
                };
                let shift = at - wanted[0];
                let told = &self.told.placements[self.told.pairs[m][p]];
                let spare_as_set_up_mm = questions.true_spare_mm(&self.measured.radii_mm, wanted, told);
                pairs.push(PairVerdict {
                    main_mm,
                    pin_mm,
                    spare_mm: best.spare_mm + shift,
                    spare_exact_mm: exact + shift,
                    chance: self.counted.clean.chance(self.counted.clean.pairs[m][p]),
                    chance_as_measured: self.measured.counts.clean.chance(self.measured.counts.clean.pairs[m][p]),
                    best: questions.geometry.set_up(&placement),
                    set_up: questions.geometry.set_up(told),
                    spare_as_set_up_mm,
                    way: questions.geometry.way(told),
                    spare_chosen_mm: questions.first_order_spare_mm(None, &self.measured.radii_mm, wanted, told),
                    shift_mm: questions.geometry.largest_shift_mm(told),
                    curve: curve
                        .iter()
                        .map(|point| SpareAgainstShift { spare_mm: point.spare_mm + shift, ..*point })
                        .collect(),
                    middle_spare_mm: self.middle_spare_mm(self.told.pairs[m][p], wanted).unwrap_or(spare_as_set_up_mm)
                        - self.policy.clean_up_stock_mm,
                    governed_by: questions
                        .governing(None, &self.measured.radii_mm, wanted, told)
                        .map(|point| self.place(self.measured, point)),
                });
            }
        }
        Ok(pairs)
    }

    fn set(&self, set: SetName, journals: &[JournalVerdict], stand: &mut Stand) -> Result<SetVerdict, Failure> {
        let s = index(set);
        let standard_mm = self.ladders.standard_mm();
        let best =
            self.measured.questions.best(Some(set), &self.measured.radii_mm, standard_mm, stand).map_err(Failure)?;
        let geometry = &self.measured.questions.geometry;
        let as_measured = &self.measured.counts.clean;
        let ladder_mm = self.specification.set(set).ladder_mm();
        let permitted = self.permitted(set);
        let chances: Vec<f64> = (0..ladder_mm.len()).map(|step| self.cleans_up(set, step).share()).collect();
        let ladder = Ladder { steps_mm: &ladder_mm[..permitted], chances: &chances[..permitted] };
        let prices = self.policy.prices.as_ref().map(|prices| prices.of(set));
        let steps: Vec<StepVerdict> = ladder_mm
            .iter()
            .enumerate()
            .map(|(step, &undersize_mm)| StepVerdict {
                undersize_mm,
                ground_size_mm: 2.0 * self.ladders.wanted_mm[s][step],
                chance: self.cleans_up(set, step),
                chance_as_measured: as_measured.chance(as_measured.sets[s][step]),
                spare_mm: best.spare_mm + standard_mm[s] - self.ladders.wanted_mm[s][step],
                spare_after_stock_mm: best.spare_mm + standard_mm[s]
                    - self.ladders.wanted_mm[s][step]
                    - self.policy.clean_up_stock_mm,
                middle_spare_mm: middle(self.rooms_mm(set, step)).unwrap_or(best.spare_mm) + standard_mm[s]
                    - self.ladders.wanted_mm[s][step]
                    - self.policy.clean_up_stock_mm,
                expected_cost: prices.filter(|_| step < permitted).map(|prices| expected_cost(&ladder, prices, step)),
                permitted: step < permitted,
                set_up: (!geometry.is_held()).then(|| geometry.set_up(self.told.of_set(s, step))),
                way: geometry.way(self.told.of_set(s, step)),
            })
            .collect();
        let whole = |hits: [usize; 2]| Chance { hits: hits[s], draws: self.policy.draws };
        let ground_to = self.undoubted.ground_to[s].clone();
        // A bent shaft is not put right by a polish, and nothing that grew is as it should be.
        let bent = self.run_out_beyond_limit(set).is_some();
        let unless_bent = |chance: Chance| if bent { Chance { hits: 0, ..chance } } else { chance };
        let as_measured = &self.undoubted.counts;
        let counted = if self.is_modelled(set) {
            (self.counted.leave_alone, self.counted.polish_only)
        } else {
            (as_measured.leave_alone, as_measured.polish_only)
        };
        let polished = if self.is_modelled(set) { self.counted.reads.polished } else { counted.1 };
        let mut verdict = SetVerdict {
            leave_alone: unless_bent(whole(counted.0)),
            leave_alone_as_measured: unless_bent(whole(as_measured.leave_alone)),
            leave_alone_as_read: unless_bent(Chance { hits: self.alone_as_read(set), draws: self.policy.draws }),
            polish_only: unless_bent(whole(counted.1)),
            polish_only_as_measured: unless_bent(whole(as_measured.polish_only)),
            polish_only_as_read: unless_bent(whole(polished)),
            steps,
            governed_by: self.governing(set, 0),
            ..SetVerdict::decided(set, ground_to, crate::Choice::NotDecided)
        };
        // What was not looked at decides too; what it costs is told once the step is known.
        verdict.unmeasured = self.unmeasured(set, permitted - 1);
        let Decision { choice, undecided, if_ground_mm } = self.decide(&verdict, journals, &ladder);
        (verdict.choice, verdict.undecided, verdict.if_ground_mm) = (choice, undecided, if_ground_mm);
        let step = self.looked_at(&verdict);
        verdict.governed_by = self.governing(set, step);
        let ground = verdict.choice.undersize_mm().or(if_ground_mm).is_some() && !geometry.is_held();
        verdict.set_up = ground.then(|| geometry.set_up(self.told.of_set(s, step)));
        verdict.own_steps = self.own_steps(set);
        verdict.read_once = self.is_read_once(set);
        verdict.damaged_unmeasured = self.is_damaged_unmeasured(set);
        verdict.in_doubt = self.suspicions.iter().any(|s| s.set == set && is_doubt(s));
        verdict.unmeasured = self.unmeasured(set, self.looked_at(&verdict));
        verdict.apart = self.apart(&verdict);
        verdict.first_size = self.first_size(set, step);
        verdict.reason = self.reason(&verdict, journals, prices.is_some());
        Ok(verdict)
    }

    /// Whether all that was read of a set is one size.
    fn is_read_once(&self, set: SetName) -> bool {
        let sizes: usize = self.findings.readings.iter().filter(|r| r.journal.set == set).map(|r| r.sizes.len()).sum();
        sizes == 1 && !self.findings.traces.iter().any(|trace| trace.journal.set == set)
    }

    /// Whether damage is told of on a journal of a set that nobody measured.
    fn is_damaged_unmeasured(&self, set: SetName) -> bool {
        let unmeasured =
            |id: JournalId| self.measured.surface.journals.iter().any(|j| j.id == id && j.points.is_empty());
        self.findings.damages.iter().any(|d| d.journal.set == set && d.depth.highest_mm > 0.0 && unmeasured(d.journal))
    }

    /// The place of a set that has least to spare, set up as it is told for a step: by the readings that nobody doubts,
    /// where there are any.
    fn governing(&self, set: SetName, step: usize) -> Option<Place> {
        let measured = if self.undoubted.questions.is_measured(set) { self.undoubted } else { self.measured };
        let told = self.told.of_set(index(set), step);
        let standard_mm = self.ladders.standard_mm();
        let point = measured.questions.governing(Some(set), &measured.radii_mm, standard_mm, told)?;
        Some(self.place(measured, point))
    }

    /// The room of a set at standard in the first draws, set up as it is told for a step.
    pub(crate) fn rooms_mm(&self, set: SetName, step: usize) -> &[f64] {
        let s = index(set);
        let placement = self.told.sets[s].get(step).copied().unwrap_or_default();
        self.counted.rooms_mm.get(placement).map_or(&[], |rooms| first_draws(&rooms[s]))
    }

    /// The same of every draw that is remembered.
    pub(crate) fn all_rooms_mm(&self, set: SetName, placement: usize) -> &[f64] {
        self.counted.rooms_mm.get(placement).map_or(&[], |rooms| &rooms[index(set)])
    }

    /// What both sets have to spare together on a placement that is told, on the middle one of the first draws.
    fn middle_spare_mm(&self, placement: usize, wanted_mm: [f64; 2]) -> Option<f64> {
        let [mains, pins] = self.counted.rooms_mm.get(placement)?;
        let standard_mm = self.ladders.standard_mm();
        let more = [0, 1].map(|s: usize| standard_mm[s] - wanted_mm[s]);
        let (mains, pins) = (first_draws(mains), first_draws(pins));
        let both: Vec<f64> = mains.iter().zip(pins).map(|(main, pin)| (main + more[0]).min(pin + more[1])).collect();
        middle(&both)
    }

    /// The middle one of its rooms on a placement that is told.
    pub(crate) fn middle_room_mm(&self, set: SetName, placement: usize) -> Option<f64> {
        self.counted.rooms_mm.get(placement).and_then(|rooms| middle(first_draws(&rooms[index(set)])))
    }

    /// The step of the ladder that a verdict is told at: the chosen one, the one that it would be ground to, or the
    /// deepest.
    pub(crate) fn looked_at(&self, verdict: &SetVerdict) -> usize {
        let ladder_mm = self.specification.set(verdict.set).ladder_mm();
        let told = verdict.choice.undersize_mm().or(verdict.if_ground_mm);
        told.and_then(|u| ladder_mm.iter().position(|&step| step == u)).unwrap_or(self.permitted(verdict.set) - 1)
    }

    /// What rests on the chosen step and is looked for only once it is known: journals that nobody measured, and the
    /// measurement to make next.
    fn look_further(&self, verdict: &mut SetVerdict, lone: Option<&Lone>) {
        let step = self.looked_at(verdict);
        let chance = verdict.steps.get(step).map_or(0.0, |step| step.chance_as_measured.share());
        verdict.missing = self.missing(verdict.set, step, chance);
        verdict.next = self.next(verdict, lone);
    }

    /// How many steps of the ladder leave a journal no smaller than the book permits; standard always counts.
    pub(crate) fn permitted(&self, set: SetName) -> usize {
        let set = self.specification.set(set);
        let ladder = set.ladder_mm();
        let Some(smallest) = set.smallest_mm else { return ladder.len() };
        let fits = |undersize: &&f64| set.finished(**undersize).low_mm >= smallest - SAME_LENGTH_MM;
        ladder.iter().take_while(fits).count().max(1)
    }

    pub(crate) fn size(&self, mm: f64) -> String {
        let decimals = self.unit.usual_decimals();
        format!("{} {}", show_mm(mm, self.unit, decimals), self.unit)
    }

    pub(crate) fn step(&self, undersize_mm: f64) -> String {
        capital(&standard_or_under(undersize_mm, self.unit))
    }

    pub(crate) fn run_out_beyond_limit(&self, set: SetName) -> Option<(crank::JournalId, f64, f64)> {
        let limit = self.specification.set(set).run_out?.total_mm();
        self.findings
            .run_outs
            .iter()
            .filter(|r| r.journal.set == set && r.total_mm > limit + SAME_LENGTH_MM)
            .max_by(|a, b| a.total_mm.total_cmp(&b.total_mm))
            .map(|r| (r.journal, r.total_mm, limit))
    }

    pub(crate) fn plans(&self, sets: &[SetVerdict]) -> Vec<SetPlan> {
        let treatment = &self.specification.treatment;
        sets.iter()
            .filter_map(|verdict| {
                let work = |mm: f64| Work::on(self.specification, self.findings, verdict.set, mm, self.unit);
                let (undersize_mm, without, work) = match (verdict.choice.undersize_mm(), &verdict.apart) {
                    (Some(undersize_mm), _) => (undersize_mm, Vec::new(), work(undersize_mm)),
                    // What a set needs without the journals that cannot go with it.
                    (None, Some(Apart { journals, others: Others::Grind { undersize_mm, .. } })) => {
                        (*undersize_mm, journals.iter().map(|one| one.journal).collect(), work(*undersize_mm))
                    }
                    // The others are not ground, or not yet: what is put on these is ground to what the set has.
                    (None, Some(Apart { journals, .. })) => {
                        let undersize_mm = verdict.ground_to.undersize_mm;
                        let is_apart = |id: &JournalId| journals.iter().any(|one| one.journal == *id);
                        let of_set = self.specification.journals().filter(|id| id.set == verdict.set);
                        let back_to_mm = journals.first().map(|one| one.back_to_mm);
                        let work = Work { largest_mm: back_to_mm, ..work(undersize_mm) };
                        (undersize_mm, of_set.filter(|id| !is_apart(id)).collect(), work)
                    }
                    (None, None) => return None,
                };
                let plan = plan(self.specification.set(verdict.set), treatment, self.policy, &work);
                Some(SetPlan { set: verdict.set, undersize_mm, without, plan })
            })
            .collect()
    }
}
