//! From findings and a verdict to what the drawings take: nothing is worked out here that the verdict does not hold.
//!
//! On a drawing every direction on a pin counts from its own throw, as two-point readings do; what counts from the first
//! throw (traces, damaged arcs) is turned.

use crank::{
    Condition, Damage, Findings, JournalId, MainWear, SetName, Size, Specification, State, sizes, suspicions,
    wear_pattern,
};
use regrind::words::{dots_of_twenty, in_hundred, likelihood, under, undersize_figure};
use regrind::{CountedFrom, LadderWords, Place, Policy, SetVerdict, Verdict, station_name};
use units::{Unit, show_mm};

use crate::{
    Across, AxisSpot, AxisStep, CrankSketch, GrindTo, JournalMark, JournalSketch, LadderSketch, Named, Patch, Profile,
    Rung, RungChance, Section, SizeAxis, Standing, TracePoint, WearAlong, WornMain,
};

/// Two places along a journal, or two directions, are the same when they are no farther apart.
const SAME: f64 = 1e-6;

/// What is known of one crank.
#[derive(Clone, Copy)]
pub struct Known<'a> {
    /// The kind of crank.
    pub specification: &'a Specification,
    /// What was measured and seen.
    pub findings: &'a Findings,
    /// What came of it.
    pub verdict: &'a Verdict,
    /// The unit of figures.
    pub unit: Unit,
    /// What a journal is called.
    pub name: &'a dyn Fn(JournalId) -> String,
}

impl std::fmt::Debug for Known<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Known").field("specification", &self.specification.name).finish_non_exhaustive()
    }
}

impl<'a> Known<'a> {
    fn figure(&self, mm: f64) -> String {
        let decimals = self.unit.usual_decimals();
        show_mm(mm, self.unit, decimals)
    }

    fn set(&self, set: SetName) -> Option<&'a SetVerdict> {
        self.verdict.sets.iter().find(|known| known.set == set)
    }

    fn condition(&self, id: JournalId) -> Option<(&'a Condition, State)> {
        let of = self.verdict.journals.iter().find(|journal| journal.condition.journal == id)?;
        Some((&of.condition, of.state))
    }

    fn damages(&self, id: JournalId) -> impl Iterator<Item = &'a Damage> {
        self.findings.damages.iter().filter(move |damage| damage.journal == id)
    }

    /// Readings that the verdict doubts.
    fn accused(&self) -> Vec<usize> {
        if !self.verdict.look_again {
            return Vec::new();
        }
        let all = suspicions(self.specification, self.findings, self.unit);
        all.iter().filter(|suspicion| suspicion.accuses()).filter_map(|suspicion| suspicion.reading).collect()
    }

    /// The crank with what is known of each journal.
    pub fn crank(&self) -> CrankSketch<'a> {
        let accused = self.accused();
        let doubtful = |id: JournalId| {
            accused.iter().filter_map(|index| self.findings.readings.get(*index)).any(|reading| reading.journal == id)
        };
        let mark = |id: JournalId| {
            let condition = self.condition(id);
            let (standing, words) = match (doubtful(id), self.damages(id).next(), condition) {
                (true, ..) => (Standing::LookAgain, None),
                (_, Some(damage), _) => (Standing::Damaged, Some(format!("damage: {}", damage.kind))),
                (_, None, None) => (Standing::NotMeasured, None),
                (_, None, Some((_, State::Within))) => (Standing::Inside, None),
                (_, None, Some((condition, state))) => (Standing::Worn, Some(self.worn(condition, state))),
            };
            let mark = JournalMark { name: (self.name)(id), ..JournalMark::plain(id) }.standing(standing);
            let own = self.findings.stamps.iter().find(|stamp| stamp.journal == Some(id));
            JournalMark {
                stamped: own.map_or_else(String::new, |stamp| {
                    format!("stamped\u{a0}{}", undersize_figure(stamp.undersize_mm, self.unit))
                }),
                words: words.unwrap_or_else(|| mark.words.clone()),
                decides: self.set(id.set).and_then(|set| set.governed_by).is_some_and(|place| place.journal == id),
                undersize_mm: self.set(id.set).map_or(0.0, |set| set.ground_to.undersize_mm),
                wear_mm: condition.map_or(0.0, |(condition, _)| condition.wear_mm),
                ..mark
            }
        };
        CrankSketch {
            specification: self.specification,
            unit: self.unit,
            width_mm: CrankSketch::USUAL_MM,
            journals: self.specification.journals().map(mark).collect(),
            stamps: SetName::BOTH.iter().filter_map(|set| self.stamp(*set)).collect(),
        }
    }

    /// What a whole set is stamped.
    fn stamp(&self, set: SetName) -> Option<String> {
        let stamp = self.findings.stamps.iter().find(|stamp| stamp.set == set && stamp.journal.is_none())?;
        let first = (self.name)(JournalId { set, number: 1 });
        let name = first.strip_suffix(" 1").unwrap_or(&first);
        let says = match stamp.undersize_mm {
            mm if mm > 0.0 => under(mm, self.unit),
            _ => "standard".to_owned(),
        };
        Some(format!("{name}s stamped {says}."))
    }

    /// `0.0006 under`, or the state in words.
    fn worn(&self, condition: &Condition, state: State) -> String {
        let under_mm = condition.limits.low_mm - condition.smallest_mm;
        if under_mm > 0.0 { format!("{} under", self.figure(under_mm)) } else { state.words().to_owned() }
    }

    /// A direction as a drawing of the journal counts it.
    fn own(&self, id: JournalId, angle_deg: f64, counted_from: CountedFrom) -> f64 {
        let pin = self.specification.pin.angles_deg.get(id.number.saturating_sub(1));
        match (id.set, counted_from) {
            (SetName::Pin, CountedFrom::FirstThrow) => (angle_deg - pin.copied().unwrap_or(0.0)).rem_euclid(360.0),
            _ => angle_deg,
        }
    }

    /// A journal, across at the place that decides or else where it is smallest; nothing where it was not measured.
    pub fn journal(&self, id: JournalId) -> Option<JournalSketch> {
        let set = self.specification.set(id.set);
        let all = sizes(self.findings, id);
        let decides: Option<Place> =
            self.set(id.set).and_then(|set| set.governed_by).filter(|place| place.journal == id);
        let smallest = all.iter().min_by(|a, b| a.size_mm.total_cmp(&b.size_mm))?;
        let at_mm = decides.map_or(smallest.at_mm, |place| place.at_mm);
        let is_here = |other_mm: f64| (other_mm - at_mm).abs() < SAME;
        let trace = self.findings.traces.iter().find(|trace| trace.journal == id && is_here(trace.at_mm));
        let here: Vec<&Size> = all.iter().filter(|size| size.trace.is_none() && is_here(size.at_mm)).collect();
        let section = match trace {
            Some(trace) => {
                let point = |(angle_deg, departure_mm): (&f64, &f64)| TracePoint {
                    angle_deg: self.own(id, *angle_deg, CountedFrom::FirstThrow),
                    radius_mm: trace.size.mm / 2.0 + departure_mm,
                };
                Section::Trace(trace.angles_deg.iter().zip(&trace.departures_mm).map(point).collect())
            }
            None => Section::Sizes(
                here.iter()
                    .map(|size| Across {
                        name: plane_name(size.plane_deg),
                        plane_deg: size.plane_deg,
                        size_mm: size.size_mm,
                    })
                    .collect(),
            ),
        };
        let verdict = self.set(id.set);
        let patch = |damage: &Damage| Patch {
            kind: damage.kind.to_string(),
            arc_deg: damage.arc_deg.map(|(from, to)| {
                let turned = |angle| self.own(id, angle, CountedFrom::FirstThrow);
                (turned(from), turned(to))
            }),
            depth_mm: Some(damage.depth.likeliest_mm).filter(|mm| *mm > 0.0),
        };
        Some(JournalSketch {
            name: (self.name)(id),
            station: station_name(at_mm, set.length_mm, self.unit),
            zero: match id.set {
                SetName::Main => "toward the first throw".to_owned(),
                SetName::Pin => "toward its own throw".to_owned(),
            },
            unit: self.unit,
            width_mm: JournalSketch::USUAL_MM,
            length_mm: set.length_mm,
            section,
            ground_before_mm: verdict.map(|of| set.finished(of.ground_to.undersize_mm).middle_mm()),
            grind_to: self.grind_to(id, at_mm),
            decides: decides.map(|place| Named {
                angle_deg: self.own(id, place.angle_deg, place.counted_from),
                words: "◆\u{a0}decides it".to_owned(),
            }),
            patches: self.damages(id).filter(|damage| damage.at_mm.is_none_or(is_here)).map(patch).collect(),
            along: self.condition(id).map_or_else(Vec::new, |(condition, _)| self.along(condition, &all)),
        })
    }

    /// What the wheel is to leave, and where a free axis puts it.
    fn grind_to(&self, id: JournalId, at_mm: f64) -> Option<GrindTo> {
        let set = self.set(id.set)?;
        let chosen_mm = set.choice.undersize_mm()?;
        let step = set.steps.iter().find(|step| step.undersize_mm == chosen_mm)?;
        let (x, y) =
            set.set_up.as_ref().map_or((0.0, 0.0), |set_up| set_up.centre_at_mm(self.specification, id, at_mm));
        // The drawing counts from the journal's own zero.
        let (sin, cos) = self.own(id, 0.0, CountedFrom::FirstThrow).to_radians().sin_cos();
        Some(GrindTo {
            size_mm: step.ground_size_mm,
            toward_zero_mm: x * cos - y * sin,
            toward_ninety_mm: x * sin + y * cos,
        })
    }

    /// Each plane along the journal, with its form in words.
    fn along(&self, condition: &Condition, all: &[Size]) -> Vec<Profile> {
        let plane = |plane: &crank::PlaneForm| {
            let of = all.iter().filter(|size| size.trace.is_none() && (size.plane_deg - plane.plane_deg).abs() < SAME);
            let stations: Vec<(f64, f64)> = of.map(|size| (size.at_mm, size.size_mm)).collect();
            let mut words = vec![plane_name(plane.plane_deg)];
            words.extend(plane.taper_mm.map(|mm| format!("taper {}", self.figure(mm))));
            let barrel = plane.barrel.map(|barrel| barrel.barrel_mm());
            if let Some(mm) = barrel.filter(|mm| self.figure(mm.abs()) != self.figure(0.0)) {
                let what = if mm > 0.0 { "barrel" } else { "waist" };
                words.push(format!("{what} {}", self.figure(mm.abs())));
            }
            (stations.len() > 1).then(|| Profile { words: words.join(", "), stations })
        };
        condition.planes.iter().filter_map(plane).collect()
    }

    /// The mains along the crank, with the pattern in words; nothing where no main was measured.
    pub fn wear(&self) -> Option<WearAlong> {
        let mains = self.specification.main.positions_mm.iter().enumerate().map(|(index, &position_mm)| {
            let id = JournalId { set: SetName::Main, number: index + 1 };
            let condition = self.condition(id).map(|(condition, _)| condition);
            WornMain {
                name: (self.name)(id),
                position_mm,
                wear_mm: condition.map(|condition| condition.wear_mm),
                out_of_round_mm: condition.and_then(Condition::out_of_round_mm),
                run_out_mm: self.findings.run_outs.iter().find(|run| run.journal == id).map(|run| run.total_mm),
            }
        });
        let mains: Vec<WornMain> = mains.collect();
        if mains.iter().all(|main| main.wear_mm.is_none() && main.run_out_mm.is_none()) {
            return None;
        }
        let worn: Vec<MainWear> = mains
            .iter()
            .filter_map(|main| {
                Some(MainWear { name: main.name.clone(), wear_mm: main.wear_mm?, run_out_mm: main.run_out_mm })
            })
            .collect();
        Some(WearAlong { unit: self.unit, mains, pattern: wear_pattern(&worn).to_string() })
    }

    /// The sizes of a set on one scale; nothing where no size of it counts.
    pub fn size_axis(&self, set: SetName, plural: &str) -> Option<SizeAxis> {
        let of = self.set(set)?;
        let book = self.specification.set(set);
        let spots = self.spots(set);
        if spots.is_empty() {
            return None;
        }
        let chosen_mm = of.choice.undersize_mm();
        let from_mm = of.ground_to.undersize_mm;
        // Where nothing is to be ground, the next size shows how far it would be.
        let permitted = || of.steps.iter().filter(|step| step.permitted).map(|step| step.undersize_mm);
        let to_mm = chosen_mm.or_else(|| permitted().find(|mm| *mm > from_mm)).unwrap_or(from_mm);
        let shown = permitted().filter(|mm| (from_mm.min(to_mm)..=to_mm).contains(mm));
        let step = |undersize_mm: f64| {
            let band = book.finished(undersize_mm);
            AxisStep {
                name: if undersize_mm == 0.0 { "new".to_owned() } else { undersize_figure(undersize_mm, self.unit) },
                low_mm: band.low_mm,
                high_mm: band.high_mm,
                chosen: chosen_mm == Some(undersize_mm),
            }
        };
        Some(SizeAxis {
            name: plural.to_owned(),
            unit: self.unit,
            steps: shown.map(step).collect(),
            wheel_mm: of.steps.iter().find(|step| chosen_mm == Some(step.undersize_mm)).map(|step| step.ground_size_mm),
            spots,
            waiting_mm: Vec::new(),
        })
    }

    /// The ladder of a set under what stands for its name (`Mains`), every rung of it; `so_far` where not every spot is
    /// measured. Nothing where the set was not judged.
    pub fn ladder(&self, set: SetName, name: &str, so_far: bool, policy: &Policy) -> Option<LadderSketch> {
        let of = self.set(set)?;
        let (specification, findings, verdict) = (self.specification, self.findings, self.verdict);
        let words = LadderWords { specification, findings, policy, verdict, unit: self.unit };
        let rung = |rung: regrind::Rung| Rung {
            name: rung.name,
            range: rung.range,
            chance: rung.chance.map(|chance| RungChance {
                words: likelihood(chance.share()).to_owned(),
                figure: in_hundred(chance.share()),
                dots: dots_of_twenty(chance.share()),
            }),
            reason: rung.reason,
            chosen: rung.chosen.then(|| if rung.is_size { "Grind to this" } else { "This" }.to_owned()),
            rule_above: rung.rule_above,
        };
        Some(LadderSketch {
            heading: words.heading(name, so_far, of),
            rungs: words.rungs(of).into_iter().map(rung).collect(),
            rule: words.rule(),
        })
    }

    /// Corrected sizes of a set, one for each spot, with whether the verdict doubts them. Of a trace its smallest diameter.
    fn spots(&self, set: SetName) -> Vec<AxisSpot> {
        let accused = self.accused();
        let mut spots = Vec::new();
        for number in 1..=self.specification.set(set).count() {
            let id = JournalId { set, number };
            let own = self.findings.readings.iter().enumerate().filter(|(_, r)| r.journal == id && !r.sizes.is_empty());
            let mut whose = own.map(|(index, _)| accused.contains(&index));
            let mut of_trace: Vec<(usize, f64)> = Vec::new();
            for size in sizes(self.findings, id) {
                match size.trace {
                    // The sizes of readings come in the order of the readings.
                    None => {
                        spots.push(AxisSpot { size_mm: size.size_mm, doubtful: whose.next().unwrap_or(false) });
                    }
                    Some(trace) => match of_trace.iter_mut().find(|(known, _)| *known == trace) {
                        Some((_, smallest)) => *smallest = smallest.min(size.size_mm),
                        None => of_trace.push((trace, size.size_mm)),
                    },
                }
            }
            spots.extend(of_trace.into_iter().map(|(_, size_mm)| AxisSpot { size_mm, doubtful: false }));
        }
        spots
    }
}

/// A plane as the walk names it; others by their direction.
fn plane_name(plane_deg: f64) -> String {
    if plane_deg.abs() < SAME {
        "A".to_owned()
    } else if (plane_deg - 90.0).abs() < SAME {
        "B".to_owned()
    } else {
        format!("{}°", (plane_deg * 10.0).round() / 10.0)
    }
}
