//! What a moved axis does to the rest of the shaft: the dial that each feature will show, and the balance.
//!
//! A feature at z, off the present main axis by e0, is off the new one by e0 - (X(z), Y(z)); afterwards the dial shows twice
//! the length of that. A face at radius rho wobbles by 2 rho times the tilt more, at the worst.
//!
//! A shaft of mass M whose centre of mass lies at z_G gets the unbalance M |(X, Y)(z_G)|, opposite to the shift, and a couple
//! about z_G from the tilt. Metal that comes off a journal takes its mass times its place with it.
//!
//! # Limits
//! The couple takes the mass to be spread evenly over the length of the journals: M L² / 12 times the tilt. What counterweights
//! do to it is not known here. The metal ground off is that of round journals, old size to new; fillets are left out.

use crank::{Feature, JournalId, Mass, SetName, Specification};
use units::{Unit, show_mm};

use crate::Axis;
use crate::case::{Case, index};
use crate::set_up::SetUp;
use crate::verdict::{Note, PairVerdict, SetVerdict};
use crate::words::{capital, standard_or_under};

/// Density of crankshaft steel and, near enough, of nodular iron (7.1 to 7.3): g/mm³. From memory.
const STEEL_G_MM3: f64 = 7.85e-3;

/// What does not show on any dial.
const SAME_MM: f64 = 1e-6;

/// A feature once the crank is ground.
#[derive(Clone, Debug, PartialEq)]
pub struct FeatureAfter {
    /// What it is.
    pub name: String,
    /// Where along the shaft.
    pub at_mm: f64,
    /// What the dial shows now; nothing where nobody measured it, and it was taken to run true.
    pub now_mm: Option<f64>,
    /// What it will show about the new main axis.
    pub after_mm: f64,
    /// Direction of the high spot then, from pin 1's throw.
    pub high_deg: f64,
    /// The most that the book allows.
    pub limit_mm: Option<f64>,
    /// What a dial on its face may show then, at the worst.
    pub face_after_mm: Option<f64>,
    /// The most that the book allows there.
    pub face_limit_mm: Option<f64>,
}

impl FeatureAfter {
    /// Whether it will run out more than the book allows.
    pub fn is_over(&self) -> bool {
        let over = |mm: f64, limit: Option<f64>| limit.is_some_and(|limit| mm > limit + SAME_MM);
        over(self.after_mm, self.limit_mm) || self.face_after_mm.is_some_and(|mm| over(mm, self.face_limit_mm))
    }

    /// Whether it is over although it is not now: what nobody measured is taken to run true.
    pub fn is_broken(&self, feature: &Feature) -> bool {
        let before = after(feature, (0.0, 0.0), (0.0, 0.0));
        self.is_over() && !before.is_over()
    }

    /// `the flange would then run out 0.050 mm, over the book's 0.015`.
    pub fn words(&self, unit: Unit) -> String {
        let shown = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
        let mut says = Vec::new();
        match self.limit_mm {
            Some(limit) if self.after_mm > limit + SAME_MM => {
                let after = shown(self.after_mm);
                says.push(format!("run out {after} {unit}, over the book's {}", shown(limit)));
            }
            _ => {}
        }
        match (self.face_after_mm, self.face_limit_mm) {
            (Some(mm), Some(limit)) if mm > limit + SAME_MM => {
                says.push(format!("wobble {} {unit} on its face, over the book's {}", shown(mm), shown(limit)));
            }
            _ => {}
        }
        let taken = if self.now_mm.is_some() { "" } else { " (nobody measured it: taken to run true now)" };
        format!("the {} would then {}{taken}", self.name, says.join(" and "))
    }
}

/// The balance once the crank is ground. Vectors toward the first throw and square to it, as the way of the heavy side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unbalance {
    /// From the shift of the main axis, in gram millimetres.
    pub shift_g_mm: (f64, f64),
    /// From the metal that comes off, in gram millimetres.
    pub ground_off_g_mm: (f64, f64),
    /// The couple from the tilt of the main axis, in gram millimetres squared.
    pub couple_g_mm2: f64,
    /// The most allowed, in gram millimetres.
    pub permitted_g_mm: Option<f64>,
    /// Whether that is the maker's own figure; else it is by the balance grade.
    pub by_maker: bool,
    /// Where the centre of mass was taken to be.
    pub centre_at_mm: f64,
}

impl Unbalance {
    /// Both together.
    pub fn static_g_mm(&self) -> f64 {
        (self.shift_g_mm.0 + self.ground_off_g_mm.0).hypot(self.shift_g_mm.1 + self.ground_off_g_mm.1)
    }

    /// Whether that is more than is allowed.
    pub fn is_over(&self) -> bool {
        self.permitted_g_mm.is_some_and(|most| self.static_g_mm() > most * (1.0 + 1e-9))
    }
}

/// What grinding does to the rest of the shaft.
#[derive(Clone, Debug, PartialEq)]
pub struct ShaftAfter {
    /// Every feature whose place is told.
    pub features: Vec<FeatureAfter>,
    /// The balance, where the shaft's mass is told.
    pub unbalance: Option<Unbalance>,
}

/// A feature after a shift of the axis at its place, with the tilt.
fn after(feature: &Feature, shift_mm: (f64, f64), tilt: (f64, f64)) -> FeatureAfter {
    let (x, y) = feature.offset_mm();
    let (x, y) = (x - shift_mm.0, y - shift_mm.1);
    let face = feature.face.as_ref();
    FeatureAfter {
        name: feature.name.clone(),
        at_mm: feature.at_mm,
        now_mm: feature.dial.map(|dial| dial.total_mm),
        after_mm: 2.0 * x.hypot(y),
        high_deg: y.atan2(x).to_degrees().rem_euclid(360.0),
        limit_mm: feature.limit_mm,
        face_after_mm: face.map(|face| face.total_mm.unwrap_or(0.0) + 2.0 * face.radius_mm * tilt.0.hypot(tilt.1)),
        face_limit_mm: face.and_then(|face| face.limit_mm),
    }
}

/// One journal that is ground: its present size and its new one, its length, and its present and new centre.
#[derive(Clone, Copy, Debug)]
struct GroundOff {
    from_mm: f64,
    to_mm: f64,
    length_mm: f64,
    centre_mm: (f64, f64),
    new_centre_mm: (f64, f64),
}

impl GroundOff {
    /// Mass times place of what comes off, in gram millimetres.
    fn takes_g_mm(&self) -> (f64, f64) {
        let mass = |size_mm: f64| STEEL_G_MM3 * self.length_mm * std::f64::consts::FRAC_PI_4 * size_mm * size_mm;
        let (old, new) = (mass(self.from_mm), mass(self.to_mm));
        (old * self.centre_mm.0 - new * self.new_centre_mm.0, old * self.centre_mm.1 - new * self.new_centre_mm.1)
    }
}

/// The balance after a move and what comes off.
fn unbalance(mass: &Mass, specification: &Specification, set_up: &SetUp, ground: &[GroundOff]) -> Unbalance {
    let positions = &specification.main.positions_mm;
    let low = positions.iter().copied().fold(f64::INFINITY, f64::min);
    let high = positions.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let centre_at_mm = mass.at_mm.unwrap_or(low.midpoint(high));
    let (x, y) = set_up.axis_at_mm(specification, centre_at_mm);
    let grams = 1000.0 * mass.kg;
    let taken = ground.iter().map(GroundOff::takes_g_mm).fold((0.0, 0.0), |(x, y), (tx, ty)| (x + tx, y + ty));
    let length_mm = high - low + specification.main.length_mm;
    let tilt = set_up.axis.sx.hypot(set_up.axis.sy);
    Unbalance {
        shift_g_mm: (-grams * x, -grams * y),
        ground_off_g_mm: (-taken.0, -taken.1),
        couple_g_mm2: grams * length_mm * length_mm / 12.0 * tilt,
        permitted_g_mm: mass.permitted_g_mm(),
        by_maker: mass.most_g_mm.is_some(),
        centre_at_mm,
    }
}

impl Case<'_> {
    /// What the crank as it is to be ground, or would be, does to features and balance; nothing where neither is told.
    pub(crate) fn shaft(
        &self,
        sets: &[SetVerdict],
        pairs: &[PairVerdict],
        chosen: Option<(f64, f64)>,
    ) -> Option<ShaftAfter> {
        if self.findings.features.is_empty() && self.findings.mass.is_none() {
            return None;
        }
        let pair = chosen.and_then(|chosen| pairs.iter().find(|pair| (pair.main_mm, pair.pin_mm) == chosen));
        // One set alone is set up for itself; both that are not a pair have no axis in common, and the mains' counts.
        let own = || sets.iter().find_map(|set| set.set_up.clone());
        let set_up = pair.map(|pair| pair.set_up.clone()).or_else(own).unwrap_or_default();
        let features = self
            .findings
            .features
            .iter()
            .map(|feature| {
                let shift_mm = set_up.axis_at_mm(self.specification, feature.at_mm);
                after(feature, shift_mm, (set_up.axis.sx, set_up.axis.sy))
            })
            .collect();
        let ground = self.ground_off(sets, &set_up);
        let unbalance = self.findings.mass.as_ref().map(|mass| unbalance(mass, self.specification, &set_up, &ground));
        Some(ShaftAfter { features, unbalance })
    }

    fn ground_off(&self, sets: &[SetVerdict], set_up: &SetUp) -> Vec<GroundOff> {
        let mut ground = Vec::new();
        for set in sets {
            let Some(undersize_mm) = set.choice.undersize_mm().or(set.if_ground_mm) else { continue };
            let step = set.steps.iter().find(|step| step.undersize_mm == undersize_mm);
            let Some(to_mm) = step.map(|step| step.ground_size_mm) else { continue };
            let book = self.specification.set(set.set);
            // What nobody measured is as large as its set was last ground.
            let last_mm = book.finished(set.ground_to.undersize_mm).middle_mm();
            for number in 1..=book.count() {
                let id = JournalId { set: set.set, number };
                let measured = self.undoubted.conditions.iter().flatten().find(|c| c.journal == id);
                let centre_mm = self.present_centre_mm(id);
                let (u, v) = set_up.centre_at_mm(self.specification, id, 0.0);
                ground.push(GroundOff {
                    from_mm: measured.map_or(last_mm, |c| c.mean_mm).max(to_mm),
                    to_mm,
                    length_mm: book.length_mm,
                    centre_mm,
                    new_centre_mm: (centre_mm.0 + u, centre_mm.1 + v),
                });
            }
        }
        ground
    }

    fn present_centre_mm(&self, id: JournalId) -> (f64, f64) {
        if id.set == SetName::Main {
            return (0.0, 0.0);
        }
        let error = self.findings.centres.iter().find(|centre| centre.journal == id);
        let (longer_mm, ahead_deg) = error.map_or((0.0, 0.0), |centre| (centre.throw_mm, centre.index_deg));
        let (sin, cos) = (self.specification.throw_deg(id) + ahead_deg).to_radians().sin_cos();
        let throw_mm = self.specification.throw_mm + longer_mm;
        (throw_mm * cos, throw_mm * sin)
    }

    /// The book's run-out rules that a shaft breaks, by what a dial told at several angles: oval and lobes are not in it.
    pub(crate) fn bend_notes(&self) -> Vec<Note> {
        let told = crank::told_by_dials(self.specification, self.findings);
        let size = |mm: f64| self.size(mm);
        let broken = told.rules.iter().flatten().filter(|found| found.is_broken());
        broken
            .map(|found| {
                let next = JournalId { number: found.journal.number + 1, ..found.journal };
                let (who, what) = if found.neighbours {
                    (format!("{} and {next}", found.journal), "differ in run-out by")
                } else {
                    (found.journal.to_string(), "runs out by")
                };
                Note {
                    kind: "run-out rule",
                    journal: Some(found.journal),
                    says: format!(
                        "{} {what} {}, without what is oval or lobed, over the book's {}. Grinding on the present axis does not \
                         straighten a shaft; whether the book lets it be straightened stands in the maker's manual.",
                        capital(&who),
                        size(found.found_mm),
                        size(found.most_mm)
                    ),
                }
            })
            .collect()
    }

    /// A move that spoils a feature, said before anything is ground.
    pub(crate) fn feature_notes(&self, shaft: &ShaftAfter, sets: &[SetVerdict]) -> Vec<Note> {
        let mut notes = Vec::new();
        let broken: Vec<&FeatureAfter> = shaft
            .features
            .iter()
            .zip(&self.findings.features)
            .filter(|(after, feature)| after.is_broken(feature))
            .map(|(after, _)| after)
            .collect();
        if !broken.is_empty() {
            let words: Vec<String> = broken.iter().map(|after| after.words(self.unit)).collect();
            let saves = sets.iter().filter_map(|set| self.saves(set)).collect::<Vec<_>>();
            let saves =
                if saves.is_empty() { "The move of the main axis is not free".to_owned() } else { saves.join("; ") };
            notes.push(Note {
                kind: "feature spoilt",
                journal: None,
                says: format!(
                    "{saves}; {}. Grind on the present axis instead (axis = \"held\" or \"throws\"), or settle first how the \
                     feature is put right.",
                    words.join(", and ")
                ),
            });
        }
        let already: Vec<String> = shaft
            .features
            .iter()
            .zip(&self.findings.features)
            .filter(|(after, feature)| after.is_over() && !after.is_broken(feature))
            .map(|(after, _)| after.words(self.unit).replace(" would then ", " is over its limit already and would "))
            .collect();
        if !already.is_empty() {
            let says = format!("{}.", capital(&already.join("; ")));
            notes.push(Note { kind: "feature spoilt", journal: None, says });
        }
        if let Some(unbalance) = shaft.unbalance.filter(Unbalance::is_over) {
            let who = if unbalance.by_maker { "the maker's" } else { "the balance grade's" };
            notes.push(Note {
                kind: "balance",
                journal: None,
                says: format!(
                    "The shift of the axis and the metal that comes off put the shaft {:.0} g mm out of balance, over {who} \
                     {:.0} g mm: have it balanced afterwards.",
                    unbalance.static_g_mm(),
                    unbalance.permitted_g_mm.unwrap_or_default()
                ),
            });
        }
        notes
    }

    /// What the move saves a set: `Moving the main axis takes the pins to 0.010 in under, and not to 0.020 in under`.
    fn saves(&self, set: &SetVerdict) -> Option<String> {
        let chosen_mm = set.choice.undersize_mm()?;
        let s = index(set.set);
        let present = self.measured.questions.geometry.present_placement();
        let at = self.told.placements.iter().position(|placement| *placement == present)?;
        let rooms_mm = self.all_rooms_mm(set.set, at);
        let reaches = |step: &usize| {
            let clean = rooms_mm.iter().filter(|room| self.ladders.cleans(s, **room, *step)).count();
            clean as f64 >= self.policy.confidence * rooms_mm.len().max(1) as f64
        };
        let ladder_mm = self.specification.set(set.set).ladder_mm();
        let held_mm = (0..self.permitted(set.set)).find(reaches).and_then(|step| ladder_mm.get(step).copied());
        if set.steps.iter().any(|step| step.undersize_mm == chosen_mm && step.way != Axis::Free) {
            return None;
        }
        let to = |mm: f64| standard_or_under(mm, self.unit);
        let plural = crate::next::plural(set.set);
        match held_mm {
            Some(held_mm) if held_mm <= chosen_mm => None,
            Some(held_mm) => {
                Some(format!("Moving the main axis takes the {plural} to {} and not to {}", to(chosen_mm), to(held_mm)))
            }
            None => Some(format!(
                "Moving the main axis takes the {plural} to {}; on the present axis no listed size cleans up",
                to(chosen_mm)
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use crank::{Face, FeatureDial};

    use super::*;

    fn flange(dial: Option<FeatureDial>) -> Feature {
        let face = Some(Face { radius_mm: 60.0, limit_mm: Some(0.02), total_mm: Some(0.004) });
        Feature { name: "flange".into(), at_mm: 300.0, limit_mm: Some(0.015), dial, face }
    }

    /// By hand: a shift of 0.03 and 0.04 is 0.05 long, 0.100 on a dial, high on the other side: 180 + 53.13 degrees. A dial of
    /// 0.04 high at 0 stands 0.02 off toward the first throw: 0.02 - 0.03 and -0.04 leave 0.041231, a dial of 0.082462. A tilt of
    /// 0.0001 at 60 mm is 0.012 of wobble, on top of 0.004.
    #[test]
    fn a_shift_shows_twice_on_a_dial_and_adds_as_vectors() {
        let found = after(&flange(None), (0.03, 0.04), (0.000_06, 0.000_08));
        assert!((found.after_mm - 0.100).abs() < 1e-12 && (found.high_deg - 233.130_102).abs() < 1e-6, "{found:?}");
        assert!((found.face_after_mm.unwrap() - 0.016).abs() < 1e-12, "{found:?}");
        assert!(found.is_over() && found.is_broken(&flange(None)));
        let dial = Some(FeatureDial { total_mm: 0.04, high_deg: 0.0 });
        let found = after(&flange(dial), (0.03, 0.04), (0.0, 0.0));
        assert!((found.after_mm - 0.082_462).abs() < 1e-6, "{found:?}");
        // Over its limit before anything moved: the move did not break it.
        assert!(found.is_over() && !found.is_broken(&flange(dial)));
        assert_eq!(found.words(Unit::Millimetre), "the flange would then run out 0.082 mm, over the book's 0.015");
        // A move towards the high spot takes the dial away.
        assert!(after(&flange(dial), (0.02, 0.0), (0.0, 0.0)).after_mm < 1e-12);
    }

    /// Computed elsewhere from the same sizes: a pin of 63.74 ground to 63.49 over 38 mm loses 7.45 g, and at a throw of 60 mm
    /// that is 447 g mm.
    #[test]
    fn metal_off_a_pin_takes_its_mass_times_its_throw() {
        let pin = GroundOff {
            from_mm: 63.74,
            to_mm: 63.49,
            length_mm: 38.0,
            centre_mm: (60.0, 0.0),
            new_centre_mm: (60.0, 0.0),
        };
        let (x, y) = pin.takes_g_mm();
        assert!((x - 447.0).abs() < 0.5 && y.abs() < 1e-9, "{x} {y}");
        // By hand: moved out by 0.05 the 0.1203 kg mm... of what stays go with it: mass pi/4 63.49² 38 7.85e-3 = 944.4 g, 47.2 g mm.
        let moved = GroundOff { new_centre_mm: (60.05, 0.0), ..pin };
        assert!((moved.takes_g_mm().0 - (x - 47.22)).abs() < 0.02, "{:?}", moved.takes_g_mm());
    }
}
