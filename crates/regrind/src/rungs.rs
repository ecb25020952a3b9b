//! The ladder of one set in words: a rung for each thing that could be done, shallowest first, each with its one reason.
//!
//! Page, paper and command line all show these, so that they never differ. They say "pin"; a shop that calls it otherwise
//! puts its own word in its place.

use crank::{Damage, Findings, SetName, Specification};
use units::{Unit, show_mm};

use crate::decide::EVEN_ODDS;
use crate::next::plural;
use crate::unmeasured::list;
use crate::words::{in_hundred, undersize_figure};
use crate::{
    Apart, Bill, Chance, Choice, Others, Policy, PolishWhen, Prices, SetPrices, SetVerdict, StepVerdict, Verdict, bill,
};

/// Before a decision on a set of which a reading is to be taken again.
pub const LOOK_AGAIN_FIRST: &str = "look again first; as it stands, ";

/// One rung.
#[derive(Clone, Debug, PartialEq)]
pub struct Rung {
    /// `0.010`, `Standard`, `Leave alone`.
    pub name: String,
    /// Whether the name is a size to grind to.
    pub is_size: bool,
    /// The finished sizes, with the unit; empty for a set that is not ground.
    pub range: String,
    /// The chance; nothing where arithmetic forbids the rung.
    pub chance: Option<Chance>,
    /// What is to spare or wanting on the radius; empty where it is not asked.
    pub spare: String,
    /// The likely bill of the set, where prices are known: what is charged.
    pub bill: Option<Bill>,
    /// The same with what sizes used up are worth to the owner, as the choice weighs it.
    pub weighed: Option<Bill>,
    /// The one reason.
    pub reason: String,
    /// Whether that is the reason of the whole set, which stands over the ladder too.
    pub says_the_whole: bool,
    /// Whether it is what the verdict chose.
    pub chosen: bool,
    /// Whether the line of the shop's rule lies over this rung.
    pub rule_above: bool,
}

/// What the words are made from.
#[derive(Clone, Copy, Debug)]
pub struct LadderWords<'a> {
    /// The kind of crank.
    pub specification: &'a Specification,
    /// What was measured and seen.
    pub findings: &'a Findings,
    /// How the shop works.
    pub policy: &'a Policy,
    /// What came of it.
    pub verdict: &'a Verdict,
    /// The unit of figures.
    pub unit: Unit,
}

impl LadderWords<'_> {
    fn figure(&self, mm: f64) -> String {
        show_mm(mm, self.unit, self.unit.usual_decimals())
    }

    /// `0.010`, `standard`.
    pub fn step(&self, undersize_mm: f64) -> String {
        if undersize_mm == 0.0 { "standard".to_owned() } else { undersize_figure(undersize_mm, self.unit) }
    }

    /// What is to be done with a set: `grind to 0.010 in under`, `not decided: too close to call, measure again`.
    pub fn decision(&self, set: &SetVerdict) -> String {
        match (set.choice, set.undecided, &set.apart) {
            (Choice::NotDecided, Some(why), _) => format!("not decided: {}", why.words()),
            (choice, ..) if set.waits_for_measuring(self.policy.confidence) => {
                format!("measure first; as it stands, {}", self.chosen(set, choice))
            }
            (Choice::LeaveAlone, ..) if set.unmeasured.is_empty() && set.leave_alone.share() >= EVEN_ODDS => {
                "leave alone".to_owned()
            }
            (Choice::LeaveAlone, ..) => "leave alone, as far as measured".to_owned(),
            (Choice::Scrap | Choice::BuildUp, _, Some(apart)) => {
                let journals: Vec<_> = apart.journals.iter().map(|one| one.journal).collect();
                let others = match apart.others {
                    Others::None => String::new(),
                    Others::Stay => "; the others may stay".to_owned(),
                    Others::ToSize => "; the others: polish to size".to_owned(),
                    Others::TooClose => "; the others: too close to call, measure again".to_owned(),
                    Others::LittleWorn { undersize_mm, .. } => {
                        format!("; the others: look up the manual's wear limit, or {}", self.step(undersize_mm))
                    }
                    Others::Grind { undersize_mm, .. } => format!("; the others: {}", self.step(undersize_mm)),
                };
                let need = if journals.len() == 1 { "needs" } else { "need" };
                format!("{} {need} metal put on, or another crank{others}", list(&journals))
            }
            (choice, ..) => self.chosen(set, choice),
        }
    }

    /// As [`choice`](Self::choice), of a set that it was chosen for: a polish says whether it is one to size.
    fn chosen(&self, set: &SetVerdict, choice: Choice) -> String {
        match set.to_size {
            Some(PolishWhen::AfterTreatment) => "polish to size, last of all, after treatment".to_owned(),
            Some(PolishWhen::BeforeTreatment) => "polish to size, before treatment".to_owned(),
            None => self.choice(choice),
        }
    }

    /// `grind to 0.010`, `leave alone`.
    pub fn choice(&self, choice: Choice) -> String {
        match choice {
            Choice::Grind { undersize_mm } => format!("grind to {}", self.step(undersize_mm)),
            Choice::LeaveAlone => "leave alone".to_owned(),
            Choice::PolishOnly => "polish only".to_owned(),
            Choice::BuildUp => "build up".to_owned(),
            Choice::Scrap if self.cracked() => "do not grind".to_owned(),
            Choice::Scrap => "past the last undersize".to_owned(),
            Choice::NotDecided => "not decided yet".to_owned(),
        }
    }

    /// `Mains so far: grind to 0.010`; `so_far` where not every spot is measured. Where a reading is to be taken again first,
    /// the heading says so.
    pub fn heading(&self, name: &str, so_far: bool, set: &SetVerdict) -> String {
        let decided = !matches!(set.choice, Choice::Scrap | Choice::NotDecided);
        let first = if set.in_doubt && decided { LOOK_AGAIN_FIRST } else { "" };
        format!("{name}{}: {first}{}", if so_far { " so far" } else { "" }, self.decision(set))
    }

    /// The shop's rule.
    pub fn rule(&self) -> String {
        format!("The shop asks for {}.", in_hundred(self.policy.confidence))
    }

    /// Whether a crack ends the matter.
    pub fn cracked(&self) -> bool {
        self.findings.damages.iter().any(Damage::is_crack)
    }

    /// Whether a crack or heat stands before everything: then no undersize is spoken of.
    pub fn is_stopped(&self) -> bool {
        self.cracked() || self.findings.damages.iter().any(Damage::is_heat)
    }

    /// Whether the journals are smaller than a step already.
    pub fn is_gone(&self, set: &SetVerdict, step: &StepVerdict) -> bool {
        step.undersize_mm < set.ground_to.undersize_mm
    }

    fn prices(&self, set: SetName) -> Option<&SetPrices> {
        self.policy.prices.as_ref().map(|Prices { main, pin }| if set == SetName::Main { main } else { pin })
    }

    /// Every rung of a set, shallowest first.
    pub fn rungs(&self, set: &SetVerdict) -> Vec<Rung> {
        if self.is_stopped() {
            let name = if self.cracked() { "Do not grind" } else { "Test first" };
            return vec![Rung { chosen: true, ..plain(name, None, set.reason.clone()) }];
        }
        let mut rungs = Vec::new();
        let whole = [
            (
                Choice::LeaveAlone,
                "Leave alone",
                set.leave_alone_as_read,
                set.leave_alone,
                "every journal keeps its limits",
            ),
            (
                Choice::PolishOnly,
                if set.to_size.is_some() { "Polish to size" } else { "Polish only" },
                set.polish_only_as_read,
                set.polish_only,
                if set.to_size.is_some() {
                    "every journal keeps its limits once it has grown and is polished to size"
                } else {
                    "a polish takes out what was seen"
                },
            ),
        ];
        for (choice, name, as_read, chance, says) in whole {
            let chosen = set.choice == choice;
            // A polish is only worth a rung where it could do.
            if choice == Choice::LeaveAlone || as_read.hits > 0 || chosen {
                // A chance below even odds of what nobody read says nothing against a set that may stay.
                let all_over = if chosen && chance.share() < EVEN_ODDS {
                    String::new()
                } else {
                    format!("; {} with what nobody measured", in_hundred(chance.share()))
                };
                let reason = format!("The chance that {says} where it was read{all_over}.");
                rungs.push(Rung { chosen, ..plain(name, Some(as_read), reason) });
            }
        }
        let mut over_the_rule = true;
        for step in &set.steps {
            let reaches = step.chance.share() >= self.policy.confidence;
            let rule_above = over_the_rule && reaches && !self.is_gone(set, step) && step.permitted;
            over_the_rule &= !rule_above;
            rungs.push(Rung { rule_above, ..self.rung(set, step) });
        }
        rungs.extend(set.apart.as_ref().and_then(|apart| self.others(set, apart)));
        let end = match set.choice {
            Choice::BuildUp => Some("Build up"),
            Choice::Scrap => Some(if self.cracked() { "Do not grind" } else { "No listed size" }),
            Choice::NotDecided => Some("Not decided yet"),
            _ => None,
        };
        rungs.extend(end.map(|name| Rung {
            chosen: true,
            says_the_whole: true,
            ..plain(name, None, set.reason.clone())
        }));
        rungs
    }

    /// What the others need, of a set of which some journals stand apart: the rungs above count the whole set.
    fn others(&self, set: &SetVerdict, apart: &Apart) -> Option<Rung> {
        let journals: Vec<_> = apart.journals.iter().map(|one| one.journal).collect();
        let without = format!("Without {}", list(&journals));
        let (name, reason) = match apart.others {
            Others::None => return None,
            Others::TooClose => (
                "too close to call".to_owned(),
                format!("{without}: as they read within their limits, too near to one to be sure."),
            ),
            Others::Stay => ("stay".to_owned(), format!("{without}: as far as measured they are within their limits.")),
            Others::ToSize => (
                "polish to size".to_owned(),
                format!("{without}: within their limits now, and past them once they have grown in treatment."),
            ),
            Others::LittleWorn { undersize_mm, .. } => {
                (self.step(undersize_mm), format!("{without}, and if the manual's wear limit does not let them stay."))
            }
            Others::Grind { undersize_mm, .. } => (self.step(undersize_mm), format!("{without}.")),
        };
        let ground = apart.others.ground();
        let range = ground.map_or(String::new(), |(undersize_mm, _)| {
            let finished = self.specification.set(set.set).finished(undersize_mm);
            format!("{} to {} {}", self.figure(finished.low_mm), self.figure(finished.high_mm), self.unit)
        });
        let chance = ground.map(|(_, chance)| chance);
        Some(Rung { range, chosen: true, ..plain(&format!("The others: {name}"), chance, reason) })
    }

    fn rung(&self, set: &SetVerdict, step: &StepVerdict) -> Rung {
        let finished = self.specification.set(set.set).finished(step.undersize_mm);
        let unit = self.unit;
        let cannot = self.is_gone(set, step) || !step.permitted;
        let spare = match step.middle_spare_mm {
            _ if cannot => String::new(),
            mm if mm >= 0.0 => format!("{} {unit} spare on the radius", self.figure(mm)),
            mm => format!("{} {unit} short on the radius", self.figure(-mm)),
        };
        let prices = self.prices(set.set).filter(|_| !cannot);
        let name = if step.undersize_mm == 0.0 { "Standard".to_owned() } else { self.step(step.undersize_mm) };
        Rung {
            is_size: true,
            range: format!("{} to {} {unit}", self.figure(finished.low_mm), self.figure(finished.high_mm)),
            spare,
            bill: prices.and_then(|prices| bill(set, &prices.charged(), step.undersize_mm)),
            weighed: prices.and_then(|prices| bill(set, prices, step.undersize_mm)),
            chosen: set.choice == Choice::Grind { undersize_mm: step.undersize_mm },
            ..plain(&name, Some(step.chance).filter(|_| !cannot), self.reason(set, step))
        }
    }

    fn reason(&self, set: &SetVerdict, step: &StepVerdict) -> String {
        let confidence = self.policy.confidence;
        let priced = self.prices(set.set).is_some();
        let share = step.chance.share();
        if self.is_gone(set, step) {
            return format!("The {} are smaller than this size already: cannot.", plural(set.set));
        }
        if !step.permitted {
            return "Smaller than the book permits.".to_owned();
        }
        if self.cracked() {
            return "A crack is reported: nothing is ground, whatever the sizes say.".to_owned();
        }
        let short = || format!("Short of the {} that the shop asks for.", in_hundred(confidence));
        match set.choice.undersize_mm() {
            Some(chosen) if chosen == step.undersize_mm => {
                let alone = || set.steps.iter().find(|s| s.permitted && s.chance.share() >= confidence);
                if self.verdict.chosen_pair.is_some() && alone().is_some_and(|s| s.undersize_mm < chosen) {
                    "Both sets share one axis, and together they need this.".to_owned()
                } else if priced {
                    "With the prices given it costs least to start here.".to_owned()
                } else {
                    "The shallowest that reaches the shop’s rule.".to_owned()
                }
            }
            Some(_) if share < confidence => short(),
            Some(chosen) if chosen > step.undersize_mm && priced => {
                "Reaches the shop’s rule; deeper costs less on average.".to_owned()
            }
            Some(chosen) if chosen > step.undersize_mm => "Not enough for both sets on one axis.".to_owned(),
            Some(_) => "Surer still, and a size less left for the next time.".to_owned(),
            None if share < confidence => short(),
            None if matches!(set.choice, Choice::LeaveAlone | Choice::PolishOnly) => {
                "Would clean up, but nothing needs to come off.".to_owned()
            }
            None if set.choice == Choice::NotDecided => "Would clean up, if it has to be ground.".to_owned(),
            None => "Would clean up by itself, but not with the other set on one axis.".to_owned(),
        }
    }
}

fn plain(name: &str, chance: Option<Chance>, reason: String) -> Rung {
    Rung {
        name: name.to_owned(),
        is_size: false,
        range: String::new(),
        chance,
        spare: String::new(),
        bill: None,
        weighed: None,
        reason,
        says_the_whole: false,
        chosen: false,
        rule_above: false,
    }
}
