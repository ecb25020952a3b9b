//! One set's verdict as people read it: a ladder, shallowest on top, with each chance in words and in 100s.
//!
//! The panel beside the measuring and the page of the verdict both show this, so that they never differ.

use crank::{JournalId, SetName};
use regrind::words::{dots_of_twenty, in_hundred, likelihood};
use regrind::{Bill, Choice, LadderWords, Place, Policy, SetVerdict, StepVerdict, Undecided, Verdict};
use sheet::Sheet;
use shop::{Job, Shop, Source, Stage, Standing};
use units::{Unit, show_mm};

use crate::judged::counts;
use crate::wording::{OldWay, Words, capital, count};
use job::march::{Across, Spot, Station, Walk, is_open, spot_at};
use job::nouns::journal_of;

/// How this shop speaks and measures, as far as a ladder needs it.
#[derive(Clone, Debug)]
pub(crate) struct Manner {
    pub(crate) words: Words,
    pub(crate) walk: Walk,
    /// What stands before an amount of money; nothing where the shop has not said.
    pub(crate) money: String,
}

impl Manner {
    pub(crate) fn of(shop: &Shop, job: &Job) -> Manner {
        Manner {
            words: Words::of_setting(shop.setting("words")),
            walk: Walk::of_job(shop, job),
            money: shop.setting("money").unwrap_or_default().to_owned(),
        }
    }

    /// An amount of money, to the nearest whole one.
    pub(crate) fn sum(&self, amount: f64) -> String {
        format!("{}{amount:.0}", self.money)
    }

    /// An amount of a quotation: with two decimals where one of its prices has a fraction, so that it adds up as printed.
    pub(crate) fn price(&self, amount: f64, quote: &fit::Quote) -> String {
        if quote.has_pence() { format!("{}{amount:.2}", self.money) } else { self.sum(amount) }
    }
}

/// How pressing a sentence is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Weight {
    Plain,
    Look,
    Stop,
}

/// A sentence about a set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Says {
    pub(crate) weight: Weight,
    pub(crate) words: String,
}

/// A sentence that leads to a spot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Leads {
    pub(crate) words: String,
    /// Where the spot is measured, if the sentence is about one.
    pub(crate) to: Option<String>,
}

/// How many readings of a set there are, of how many.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Tally {
    pub(crate) taken: usize,
    pub(crate) all: usize,
    /// Spots of one journal.
    pub(crate) each: usize,
    /// Whether a whole journal is measured, so that a verdict can be shown.
    pub(crate) started: bool,
}

impl Tally {
    /// Counts the spots of a set that are measured.
    pub(crate) fn of(job: &Job, spots: &[Spot], set: SetName) -> Tally {
        let traced = |id: JournalId| {
            job.rows.iter().any(|row| row.key == "trace" && counts(row) && journal_of(&row.row) == Some(id))
        };
        let mut journals: Vec<(JournalId, usize, usize)> = Vec::new();
        for spot in spots.iter().filter(|spot| spot.journal.set == set) {
            let here = match journals.iter_mut().find(|(id, ..)| *id == spot.journal) {
                Some(here) => here,
                None => {
                    journals.push((spot.journal, 0, 0));
                    let Some(last) = journals.last_mut() else { continue };
                    last
                }
            };
            here.2 += 1;
            here.1 += usize::from(!is_open(job, *spot) || traced(spot.journal));
        }
        // A sheet that was brought in may have its readings elsewhere; it is judged as it is.
        let brought = job.rows.iter().any(|row| {
            let whose = journal_of(&row.row).is_some_and(|journal| journal.set == set);
            row.source == Source::Sheet && whose && counts(row) && matches!(row.key, "reading" | "trace")
        });
        Tally {
            taken: journals.iter().map(|journal| journal.1).sum(),
            all: journals.iter().map(|journal| journal.2).sum(),
            each: journals.iter().map(|journal| journal.2).max().unwrap_or(0),
            started: brought || journals.iter().any(|(_, taken, all)| taken == all),
        }
    }

    pub(crate) const fn is_complete(self) -> bool {
        self.taken >= self.all
    }

    /// What one journal takes: `4 readings`.
    pub(crate) fn journal_words(self) -> String {
        count(self.each, "reading")
    }

    /// `6 of 16 readings`.
    pub(crate) fn words(self) -> String {
        format!("{} of {}", self.taken, count(self.all, "reading"))
    }
}

/// One rung.
#[derive(Clone, Debug)]
pub(crate) struct Rung {
    /// `0.010`, `Standard`, `Leave alone`.
    pub(crate) name: String,
    /// Whether the name is a size to grind to.
    pub(crate) is_size: bool,
    /// The finished sizes, with the unit; nothing for a set that is not ground.
    pub(crate) range: String,
    /// The chance in words and in 100s, with its dots; nothing where arithmetic forbids the rung.
    pub(crate) chance: Option<Chanced>,
    /// Spare on the radius.
    pub(crate) spare: String,
    /// The likely bill of this set: what is charged.
    pub(crate) cost: String,
    /// How the bill comes about, and what the choice weighs besides.
    pub(crate) sum: String,
    /// The one reason.
    pub(crate) reason: String,
    pub(crate) chosen: bool,
    /// Whether the line of the shop's rule lies over this rung.
    pub(crate) rule_above: bool,
}

impl Rung {
    /// Whether its name is a figure and no word.
    pub(crate) fn is_figure(&self) -> bool {
        self.name.starts_with(|c: char| c.is_ascii_digit())
    }
}

/// A chance as it is shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Chanced {
    pub(crate) words: &'static str,
    pub(crate) figure: String,
    /// The path of the full ones of twenty dots, two rows of ten.
    pub(crate) full: String,
}

impl Chanced {
    fn of(share: f64) -> Chanced {
        let full = dots_of_twenty(share);
        // A row of dots is a line with a round dash for each; it ends a little after the last one.
        let row = |n: usize, y: usize| match n {
            0 => String::new(),
            n => format!("M5 {y}h{}.1", (n - 1) * 10),
        };
        let path = row(full.min(10), 5) + &row(full.saturating_sub(10), 15);
        Chanced { words: likelihood(share), figure: in_hundred(share), full: path }
    }
}

/// One set's verdict.
#[derive(Clone, Debug)]
pub(crate) struct Ladder {
    pub(crate) set: SetName,
    /// `Mains`.
    pub(crate) name: String,
    /// `Mains so far: grind to 0.010`.
    pub(crate) heading: String,
    /// What nobody looked at, to stand under the heading.
    pub(crate) unseen: Option<String>,
    pub(crate) tally: Tally,
    pub(crate) says: Vec<Says>,
    pub(crate) rungs: Vec<Rung>,
    /// Rungs more than one below the chosen one, which matter little.
    pub(crate) deeper: Vec<Rung>,
    /// The rule in words.
    pub(crate) rule: String,
    /// `If 100 cranks with these readings were ground to 0.010, …`
    pub(crate) of_hundred: Option<String>,
    /// What decides it, the largest effect first.
    pub(crate) decides: Vec<Leads>,
    /// What to measure next.
    pub(crate) next: Option<Leads>,
    /// Why, as the verdict has it.
    pub(crate) reason: String,
}

/// What a ladder is made from.
#[derive(Clone, Copy)]
pub(crate) struct Found<'a> {
    pub(crate) job: &'a Job,
    pub(crate) sheet: &'a Sheet,
    pub(crate) verdict: &'a Verdict,
    pub(crate) manner: &'a Manner,
}

impl Found<'_> {
    fn unit(&self) -> Unit {
        self.sheet.unit
    }

    fn policy(&self) -> &Policy {
        &self.sheet.policy
    }

    /// A size or a difference of sizes, without its unit.
    pub(crate) fn figure(&self, mm: f64) -> String {
        show_mm(mm, self.unit(), self.unit().usual_decimals())
    }

    fn with_unit(&self, mm: f64) -> String {
        format!("{} {}", self.figure(mm), self.unit())
    }

    fn in_words(&self) -> LadderWords<'_> {
        let (sheet, verdict) = (self.sheet, self.verdict);
        let (specification, findings, policy) = (&sheet.specification, &sheet.findings, &sheet.policy);
        LadderWords { specification, findings, policy, verdict, unit: sheet.unit }
    }

    /// `0.010`, `standard`.
    pub(crate) fn step(&self, undersize_mm: f64) -> String {
        self.in_words().step(undersize_mm)
    }

    /// `grind to 0.010`, `leave alone`.
    pub(crate) fn choice(&self, choice: Choice) -> String {
        self.in_words().choice(choice)
    }

    /// What is to be done with a set: `grind to 0.010`, `not decided: too close to call, measure again`.
    pub(crate) fn decision(&self, set: &SetVerdict) -> String {
        self.manner.words.put(&self.in_words().decision(set))
    }

    /// Whether a crack or heat stops the work, so that no undersize is spoken of.
    pub(crate) fn is_stopped(&self) -> bool {
        self.in_words().is_stopped()
    }

    fn cracked(&self) -> bool {
        self.in_words().cracked()
    }

    /// The address where a spot is measured.
    pub(crate) fn spot(&self, place: &Place) -> String {
        let spot = spot_at(place).unwrap_or(first_spot(place.journal));
        format!("/jobs/{}/measure?spot={spot}", self.job.number)
    }

    /// The address where a journal is measured.
    pub(crate) fn journal(&self, id: JournalId) -> String {
        format!("/jobs/{}/measure?spot={}", self.job.number, first_spot(id))
    }

    /// A place in words: as the measuring page names the spot where it is one.
    pub(crate) fn place(&self, place: &Place) -> String {
        match spot_at(place) {
            Some(spot) => spot.name(self.manner.words),
            None => capital(&self.manner.words.put(&place.in_full())),
        }
    }

    /// The smallest corrected size found at a place.
    fn size_at(&self, place: &Place) -> Option<f64> {
        const SAME: f64 = 1e-3;
        crank::sizes(&self.sheet.findings, place.journal)
            .into_iter()
            .filter(|size| {
                (size.at_mm - place.at_mm).abs() < SAME
                    && crank::planes_apart_deg(size.plane_deg, place.angle_deg) < SAME
            })
            .map(|size| size.size_mm)
            .min_by(f64::total_cmp)
    }

    /// The ladder of one set.
    pub(crate) fn ladder(&self, set: &SetVerdict, tally: Tally) -> Ladder {
        let name = self.manner.words.set(set.set);
        let mut rungs = self.rungs(set);
        let if_ground = set.if_ground_mm.map(|mm| self.step(mm));
        let chosen = rungs.iter().position(|rung| rung.chosen && rung.is_size);
        let chosen = chosen.or(rungs.iter().position(|rung| rung.is_size && Some(&rung.name) == if_ground.as_ref()));
        let deeper = chosen.map_or(Vec::new(), |at| rungs.split_off((at + 2).min(rungs.len())));
        Ladder {
            set: set.set,
            heading: self.manner.words.put(&self.in_words().heading(&name, !tally.is_complete(), set)),
            unseen: set.not_looked_at().map(|what| format!("Not looked at: {}.", self.manner.words.put(&what))),
            tally,
            says: self.says(set, tally),
            rungs,
            deeper,
            rule: self.in_words().rule(),
            of_hundred: self.of_hundred(set),
            decides: self.decides(set),
            next: set.next.as_ref().map(|next| Leads {
                words: self.manner.words.put(&format!("{} {}", next.measure, next.could_change)),
                to: next.journal.map(|id| self.journal(id)),
            }),
            reason: self.manner.words.put(&set.reason),
            name,
        }
    }

    /// The rungs as the rooms below word them, in this shop's words and money; none where a crack or heat stops the work:
    /// beside a stop nothing is offered to choose from.
    fn rungs(&self, set: &SetVerdict) -> Vec<Rung> {
        if self.is_stopped() {
            return Vec::new();
        }
        // What stands over the ladder has no rung of its own at its end.
        let said_above = matches!(set.choice, Choice::NotDecided) || set.apart.is_some();
        let rung = |rung: regrind::Rung| Rung {
            name: rung.name,
            is_size: rung.is_size,
            range: rung.range,
            chance: rung.chance.map(|chance| Chanced::of(chance.share())),
            spare: rung.spare,
            cost: rung.bill.map_or(String::new(), |bill| self.manner.sum(bill.total())),
            sum: rung.bill.zip(rung.weighed).map_or(String::new(), |(bill, weighed)| self.sum(&bill, &weighed)),
            reason: self.manner.words.put(&rung.reason),
            chosen: rung.chosen,
            rule_above: rung.rule_above,
        };
        let mut rungs: Vec<Rung> = self
            .in_words()
            .rungs(set)
            .into_iter()
            .filter(|rung| !(said_above && rung.says_the_whole))
            .map(rung)
            .collect();
        // Its chance is about the limits of the new size, which is not what an untold wear limit asks, nor whether a set may
        // run on shells of two sizes.
        let instead = match set.undecided {
            Some(Undecided::WearLimit) => {
                Some("By the limits of the new size, no; by the manual’s wear limit, which is not told, perhaps.")
            }
            Some(Undecided::TwoSizes) => Some("Only with shells of different sizes; find out why first."),
            _ => None,
        };
        if let (Some(whole), Some(says)) = (rungs.first_mut().filter(|rung| !rung.is_size), instead) {
            whole.chance = None;
            whole.reason = says.to_owned();
        }
        rungs
    }

    fn is_gone(&self, set: &SetVerdict, step: &StepVerdict) -> bool {
        self.in_words().is_gone(set, step)
    }

    /// The bill in its parts: `grind £140 + bearings £38 + 3 in 100 × £268 of going again`; and what the choice weighs
    /// where sizes used up are worth something to the owner.
    fn sum(&self, bill: &Bill, weighed: &Bill) -> String {
        let money = |amount| self.manner.sum(amount);
        let mut says = format!("grind {} + bearings {}", money(bill.grind), money(bill.bearings));
        if bill.again_share > 0.0 {
            says += &format!(" + {} × {} of going again", in_hundred(bill.again_share), money(bill.again));
        }
        if weighed.total() > bill.total() {
            let worth = money(weighed.total() - bill.total());
            says += &format!(". The choice weighs {worth} more, what the sizes used up are worth to the owner");
        }
        says
    }

    fn of_hundred(&self, set: &SetVerdict) -> Option<String> {
        let undersize_mm = set.choice.undersize_mm()?;
        let at = set.steps.iter().position(|step| step.undersize_mm == undersize_mm)?;
        let share = set.steps.get(at)?.chance.share();
        let deeper = set.steps.get(at + 1).is_some_and(|step| step.permitted);
        let rest = if deeper { "need the next size" } else { "be past the last size" };
        let (would, would_not) = if share >= 0.995 {
            ("more than 99".to_owned(), "fewer than 1".to_owned())
        } else if share < 0.005 {
            ("fewer than 1".to_owned(), "more than 99".to_owned())
        } else {
            let whole = (share * 100.0).round().clamp(1.0, 99.0);
            (format!("about {whole}"), format!("{}", 100.0 - whole))
        };
        Some(format!(
            "If 100 cranks with these readings were ground to {}, {would} would clean up and {would_not} would {rest}.",
            self.step(undersize_mm)
        ))
    }

    /// At most two lines: the place that governs, and what the size above would leave there.
    fn decides(&self, set: &SetVerdict) -> Vec<Leads> {
        let mut lines = Vec::new();
        if matches!(set.choice, Choice::LeaveAlone | Choice::PolishOnly) || self.in_words().is_stopped() {
            return lines;
        }
        let Some(place) = &set.governed_by else { return lines };
        let size = self.size_at(place).map_or(String::new(), |mm| format!(": {}", self.with_unit(mm)));
        let findings = &self.sheet.findings;
        let bent = findings.run_outs.iter().any(|run_out| run_out.journal == place.journal);
        let hurt = findings.damages.iter().any(|damage| damage.journal == place.journal);
        let allowing = match (bent, hurt) {
            (true, true) => ", allowing for its run-out and its damage",
            (true, false) => ", allowing for its run-out",
            (false, true) => ", allowing for its damage",
            (false, false) => "",
        };
        let words = format!("{}{size}{allowing}", self.place(place));
        lines.push(Leads { words, to: Some(self.spot(place)) });
        let chosen_mm = set.choice.undersize_mm().or(set.if_ground_mm);
        let above = set
            .steps
            .iter()
            .filter(|step| step.permitted && !self.is_gone(set, step))
            .take_while(|step| chosen_mm.is_none_or(|chosen| step.undersize_mm < chosen))
            .last();
        let Some(above) = above else { return lines };
        let stock_mm = self.policy().clean_up_stock_mm;
        let name = capital(&self.step(above.undersize_mm));
        let journal = self.manner.words.journal(place.journal);
        let words = if above.spare_mm < 0.0 {
            format!(
                "{name} would leave a low patch of about {} at {journal}, on the radius.",
                self.with_unit(-above.spare_mm)
            )
        } else if above.spare_mm < stock_mm {
            format!(
                "{name} would take only {} off the radius at {journal}, short of the {} that a clean-up takes.",
                self.with_unit(above.spare_mm),
                self.with_unit(stock_mm)
            )
        } else {
            format!(
                "{name} would do by the readings as they stand, but would clean up in {} only.",
                in_hundred(above.chance.share())
            )
        };
        lines.push(Leads { words, to: Some(self.spot(place)) });
        lines
    }

    /// The set phrases for the awkward cases.
    fn says(&self, set: &SetVerdict, tally: Tally) -> Vec<Says> {
        let mut says = Vec::new();
        let mut say = |weight, words: String| says.push(Says { weight, words });
        let name = self.manner.words.set(set.set);
        let these = self.manner.words.set_within(set.set);
        if self.cracked() {
            say(Weight::Stop, "Cracks end it: do not grind.".to_owned());
            say(Weight::Stop, self.manner.words.put(&set.reason));
        }
        if !tally.is_complete() {
            let rest = self.not_yet(set);
            let could = match rest.as_slice() {
                [] => String::new(),
                [one] => format!(" {one} could still change it."),
                [all @ .., last] if all.len() < 4 => format!(" {} and {last} could still change it.", all.join(", ")),
                all => format!(" {} could still change it.", count(all.len(), "journal")),
            };
            say(Weight::Plain, format!("{name}: {}. So far {}.{could}", tally.words(), self.decision(set)));
        }
        let accused =
            self.verdict.notes.iter().any(|note| note.presses() && note.journal.is_some_and(|id| id.set == set.set));
        if self.verdict.look_again && accused {
            say(Weight::Look, "Look again at the readings in doubt before anything is ground.".to_owned());
        }
        match set.choice {
            Choice::NotDecided => {
                let weight = if self.in_words().is_stopped() { Weight::Stop } else { Weight::Look };
                say(weight, self.manner.words.put(&set.reason));
            }
            Choice::LeaveAlone => say(Weight::Plain, self.can_stay(set, &name)),
            Choice::PolishOnly => say(Weight::Plain, self.manner.words.put(&set.reason)),
            Choice::BuildUp | Choice::Scrap if set.apart.is_some() => {
                say(Weight::Look, self.manner.words.put(&set.reason));
            }
            Choice::BuildUp | Choice::Scrap if !self.cracked() => {
                let words = "Past the last undersize. It cannot be ground to a listed size. Options: build up and \
                             grind, or another crank.";
                say(Weight::Look, words.to_owned());
            }
            Choice::Grind { .. } => {
                if let Some(words) = self.close_call(set) {
                    say(Weight::Look, words);
                }
            }
            _ => {}
        }
        if set.ground_to.undersize_mm > 0.0 {
            let deeper = set.steps.iter().find(|step| step.undersize_mm > set.ground_to.undersize_mm && step.permitted);
            let next = deeper.map_or("There is no next size.".to_owned(), |step| {
                format!("The next size is {}.", self.step(step.undersize_mm))
            });
            let is = self.step(set.ground_to.undersize_mm);
            say(Weight::Plain, format!("These {these} are already {is} under. {next}"));
        }
        for note in self.verdict.notes.iter().filter(|note| note.kind == "damage not measured") {
            if note.journal.is_some_and(|id| id.set == set.set) {
                say(Weight::Look, format!("{} The chance is a guess there.", self.manner.words.put(&note.says)));
            }
        }
        says
    }

    /// Journals of a set with spots that are not measured.
    fn not_yet(&self, set: &SetVerdict) -> Vec<String> {
        let mut journals: Vec<JournalId> = Vec::new();
        for spot in self.manner.walk.spots(&self.sheet.specification) {
            let known = journals.contains(&spot.journal);
            if spot.journal.set == set.set && !known && is_open(self.job, spot) {
                journals.push(spot.journal);
            }
        }
        journals.sort();
        journals.into_iter().map(|id| self.manner.words.journal(id)).collect()
    }

    fn can_stay(&self, set: &SetVerdict, name: &str) -> String {
        let journals = || self.verdict.journals.iter().filter(|j| j.condition.journal.set == set.set);
        let to_spare = journals()
            .map(|j| {
                (j.condition.smallest_mm - j.condition.limits.low_mm)
                    .min(j.condition.limits.high_mm - j.condition.largest_mm)
            })
            .min_by(f64::total_cmp);
        let lowest = journals().map(|j| j.condition.smallest_mm - j.condition.limits.low_mm).min_by(f64::total_cmp);
        let readings = self.sheet.findings.readings.iter().filter(|r| r.journal.set == set.set);
        let all = readings.map(|r| r.sizes.len()).sum::<usize>();
        match (to_spare, lowest) {
            (Some(inside), Some(lowest)) if inside >= 0.0 && all > 0 => format!(
                "{name} can stay as they are, as far as measured. All {} are inside the limits, with {} to spare. Where \
                 they were read {} such sets keep their limits.",
                count(all, "reading"),
                self.with_unit(lowest),
                in_hundred(set.leave_alone_as_read.share())
            ),
            _ => format!("{name} can stay as they are, as far as measured. {}", self.manner.words.put(&set.reason)),
        }
    }

    /// The size above is just short of the rule.
    fn close_call(&self, set: &SetVerdict) -> Option<String> {
        /// Within so much of the rule a further measurement may well turn it.
        const CLOSE: f64 = 0.10;
        let chosen_mm = set.choice.undersize_mm()?;
        let above = set.steps.iter().take_while(|step| step.undersize_mm < chosen_mm).last()?;
        let (share, rule) = (above.chance.share(), self.policy().confidence);
        if share >= rule || share < rule - CLOSE || self.is_gone(set, above) {
            return None;
        }
        let (is, asked) = (in_hundred(share), in_hundred(rule));
        let figures = if is == asked { format!("just under {asked}") } else { format!("{is}, the rule is {asked}") };
        let next = set.next.as_ref().map_or(String::new(), |next| format!(" {}", self.manner.words.put(&next.measure)));
        Some(format!("{} is just short of the shop rule ({figures}).{next}", capital(&self.step(above.undersize_mm))))
    }
}

const fn first_spot(journal: JournalId) -> Spot {
    Spot { journal, station: Station::Front, across: Across::A }
}

/// How many readings wait for another look and are not counted.
pub(crate) fn waiting(job: &Job) -> Option<String> {
    let waits = |row: &&shop::SheetRow| matches!(row.standing, Standing::LookAgain | Standing::ThirdWanted);
    match job.rows.iter().filter(waits).count() {
        0 => None,
        1 => Some("1 reading is waiting for another look and is not counted.".to_owned()),
        n => Some(format!("{n} readings are waiting for another look and are not counted.")),
    }
}

/// Whether the crank is still to be ground, so that a decision can be taken.
pub(crate) fn is_open_to_decide(job: &Job) -> bool {
    job.signed_off.is_none() && job.stage < Stage::Ready
}
