//! One crank on its way through the judgement: the parts of its verdict, one by one.

use std::collections::BTreeMap;

use crank::{Condition, Findings, GroundTo, JournalId, SetName, Specification, State};
use statrs::distribution::{ContinuousCDF, StudentsT};
use units::{Unit, show_mm};

use crate::axis::{Best, Placement, Questions, Stand};
use crate::chance::{Chance, Counts, SAME_LENGTH_MM};
use crate::choice::{Choice, Ladder, choose, expected_cost};
use crate::next::{NextMeasurement, SetQuestion, next_measurement, plural};
use crate::place::Place;
use crate::plan::{Work, plan};
use crate::surface::Surface;
use crate::verdict::{Failure, JournalVerdict, Missing, PairVerdict, SetPlan, SetVerdict, StepVerdict};
use crate::words::{in_hundred, likelihood, under};
use crate::{Policy, Prices};

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
    pub(crate) surface: &'a Surface,
    pub(crate) questions: &'a Questions,
    pub(crate) counts: &'a Counts,
    pub(crate) radii_mm: &'a [f64],
    pub(crate) wanted_mm: &'a [Vec<f64>; 2],
    pub(crate) ladders: &'a [Vec<f64>; 2],
    pub(crate) conditions: &'a [Option<Condition>],
}

impl Case<'_> {
    fn chance(&self, hits: usize) -> Chance {
        Chance { hits, draws: self.counts.draws }
    }

    pub(crate) fn journals(&self) -> Vec<JournalVerdict> {
        self.conditions
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
        place_of(self.specification, self.surface, point, self.unit)
    }

    pub(crate) fn pairs(&self, stand: &mut Stand) -> Result<Vec<PairVerdict>, Failure> {
        if !SetName::BOTH.into_iter().all(|set| self.questions.is_measured(set)) {
            return Ok(Vec::new());
        }
        // Only the difference of the two circles moves the axis; where it is the same, so is the answer but for a shift.
        let mut solved: BTreeMap<i64, (f64, Best, f64, Placement)> = BTreeMap::new();
        let mut pairs = Vec::new();
        for (m, &main_mm) in self.ladders[0].iter().enumerate() {
            for (p, &pin_mm) in self.ladders[1].iter().enumerate() {
                let wanted = [self.wanted_mm[0][m], self.wanted_mm[1][p]];
                let difference = ((wanted[0] - wanted[1]) * 1e9).round() as i64;
                let key = if self.questions.geometry.is_held() { pairs.len() as i64 } else { difference };
                let (at, best, exact, placement) = match solved.get(&key) {
                    Some(found) => found.clone(),
                    None => {
                        let best = self.questions.best(None, self.radii_mm, wanted, stand).map_err(Failure)?;
                        let (exact, placement) = self.questions.exact(self.radii_mm, wanted, &best);
                        let found = (wanted[0], best, exact, placement);
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
                    set_up: self.questions.geometry.set_up(&placement),
                    governed_by: best.governing.map(|point| self.place(point)),
                });
            }
        }
        Ok(pairs)
    }

    pub(crate) fn set(
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
        let permitted = self.permitted(set);
        let ladder = Ladder {
            steps_mm: &self.ladders[s][..permitted],
            chances: &chances[..permitted],
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
                expected_cost: prices.filter(|_| step < permitted).map(|prices| expected_cost(&ladder, prices, step)),
                permitted: step < permitted,
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
            .unwrap_or(permitted - 1);
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

    /// How many steps of the ladder leave a journal no smaller than the book permits; standard always counts.
    fn permitted(&self, set: SetName) -> usize {
        let set = self.specification.set(set);
        let ladder = set.ladder_mm();
        let Some(smallest) = set.smallest_mm else { return ladder.len() };
        let fits = |undersize: &&f64| set.finished(**undersize).low_mm >= smallest - SAME_LENGTH_MM;
        ladder.iter().take_while(fits).count().max(1)
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
        let decimals = self.unit.usual_decimals();
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
            Choice::LeaveAlone => {
                "Every journal measured is within its limits and the sheet tells of no damage.".into()
            }
            Choice::PolishOnly => "A polish takes out what was seen and leaves every journal within its limits.".into(),
            Choice::Grind { undersize_mm } => {
                let at = steps.iter().position(|s| s.undersize_mm == undersize_mm);
                let here = at.map_or(0.0, |i| steps[i].chance.share());
                let above = at.and_then(|i| i.checked_sub(1)).map(|i| &steps[i]);
                let words = match likelihood(here) {
                    words @ "could go either way" => words.to_owned(),
                    words => format!("is {words}"),
                };
                let mut says = format!(
                    "At {} cleaning up {words}: {} such cranks would.",
                    self.step(undersize_mm).to_lowercase(),
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
                let deepest = steps.iter().rfind(|s| s.permitted);
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
        // On a free axis a journal more moves the axis; what that does cannot be told from the others' spare.
        let tells = spares.len() >= 3 && self.questions.geometry.is_held();
        let chance_if_alike = tells.then(|| {
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
    pub(crate) fn choose_pair(&self, sets: &mut [SetVerdict], pairs: &[PairVerdict]) -> Option<(f64, f64)> {
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
            .filter(|p| p.main_mm >= main && p.pin_mm >= pin && self.pair_permitted(p))
            .filter(together)
            .min_by(|a, b| (a.main_mm + a.pin_mm).total_cmp(&(b.main_mm + b.pin_mm)))
            .map(|p| (p.main_mm, p.pin_mm));
        match chosen {
            Some((main, pin)) => {
                for (set, undersize_mm) in [(mains, main), (pins, pin)] {
                    if set.choice != (Choice::Grind { undersize_mm }) {
                        let s = index(set.set);
                        if let Some(step) = self.ladders[s].iter().position(|&u| u == undersize_mm) {
                            let own = self.chance(self.counts.sets[s][step]).share();
                            set.missing = self.missing(set.set, step, own);
                            set.next = self.next(set.set, step);
                        }
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

    fn pair_permitted(&self, pair: &PairVerdict) -> bool {
        let reaches =
            |set: SetName, undersize_mm: f64| self.ladders[index(set)][..self.permitted(set)].contains(&undersize_mm);
        reaches(SetName::Main, pair.main_mm) && reaches(SetName::Pin, pair.pin_mm)
    }

    pub(crate) fn plans(&self, sets: &[SetVerdict]) -> Vec<SetPlan> {
        let treatment = &self.specification.treatment;
        sets.iter()
            .filter_map(|verdict| {
                let undersize_mm = verdict.choice.undersize_mm()?;
                let work = Work::on(self.specification, self.findings, verdict.set, undersize_mm, self.unit);
                let plan = plan(self.specification.set(verdict.set), treatment, self.policy, &work);
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
