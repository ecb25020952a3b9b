//! What a decided crank is ground and checked to, and what a reading taken since says against it.

use std::fmt;

use crank::{Band, JournalId, SetName, TaperLimit};
use gauge::Instrument;
use gauge::conformity::{Limits, Outcome, Rule};
use gauge::keyed::{KeyedAs, keyed};
use regrind::{Choice, Left, Stage, StageSize, Stands, Work, left_to_come_off};
use sheet::{Problem, Sheet};
use shop::{EntryKind, Job, JobNumber, Row, Shop, Source, Value};
use units::{Unit, show_mm};

use crate::card::JobCard;
use crate::judged::counts;
use crate::micrometers::{keyed_as, of_shop, row_of};
use crate::nouns::choice_on;
use crate::plan_sheet::PlanSheet;

/// The sheet of a job cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreadable {
    /// The job.
    pub job: JobNumber,
    /// What is wrong with it.
    pub problems: Vec<Problem>,
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "The sheet of job {} cannot be read: ", self.job)?;
        self.problems.first().map_or(Ok(()), |first| write!(f, "{first}"))
    }
}

impl std::error::Error for Unreadable {}

/// What a set is worked and held to.
#[derive(Clone, Debug)]
pub struct SetAim {
    /// Which set.
    pub set: SetName,
    /// What was decided, if it was.
    pub choice: Option<Choice>,
    /// The stages of the sheet in force; empty where the set is not ground.
    pub stages: Vec<StageSize>,
    /// What every journal of the set must keep when the work is done.
    pub limits: Band,
    /// Most out-of-round and most taper that every journal may have when the work is done.
    pub out_of_round_mm: Option<f64>,
    /// Most taper; none where the book has no limit.
    pub taper: Option<TaperLimit>,
}

impl SetAim {
    /// The undersize it is ground to.
    pub fn undersize_mm(&self) -> Option<f64> {
        self.choice.and_then(Choice::undersize_mm)
    }

    /// A stage of it.
    pub fn stage(&self, stage: Stage) -> Option<&StageSize> {
        self.stages.iter().find(|known| known.stage == stage)
    }

    /// The size as it leaves the wheel.
    pub fn off_the_wheel(&self) -> Option<&StageSize> {
        self.stage(Stage::Grind)
    }
}

/// What a crank is worked and held to, with the micrometers to measure it by.
#[derive(Debug)]
pub struct Aims {
    /// The job’s sheet as read.
    pub sheet: Sheet,
    /// Both sets, mains first.
    pub sets: Vec<SetAim>,
    /// The plan on the paper in force.
    pub plan: Option<PlanSheet>,
    /// The micrometers that were taken up for this job, with the zero of each now.
    micrometers: Vec<Instrument>,
    /// The shop's other micrometers, which can be taken up.
    offered: Vec<Instrument>,
}

/// A size found by a reading.
#[derive(Clone, Debug)]
pub struct Found {
    /// As it stood on the micrometer.
    pub read: String,
    /// Less the micrometer's zero, at 20 °C.
    pub size_mm: f64,
    /// Its standard uncertainty.
    pub doubt_mm: f64,
    /// The micrometer, with the zero that it had then.
    pub with: Instrument,
}

impl Aims {
    /// What a job is worked and held to now.
    ///
    /// # Errors
    /// [`Unreadable`] where the job's sheet cannot be read.
    pub fn of(card: &JobCard) -> Result<Aims, Unreadable> {
        let job = &*card.job;
        let unreadable = |problems: &[Problem]| Unreadable { job: job.number, problems: problems.to_vec() };
        let sheet = card.sheet().map_err(unreadable)?.clone();
        let plan = job.sheets.last().and_then(|sheet| PlanSheet::from_value(&sheet.plan));
        let sets = SetName::BOTH.into_iter().map(|set| set_aim(job, &sheet, plan.as_ref(), set)).collect();
        let micrometers = micrometers(job, &sheet);
        Ok(Aims { sheet, sets, plan, micrometers, offered: Vec::new() })
    }

    /// The same, with the shop's other micrometers to take up.
    pub fn offering(mut self, shop: &Shop) -> Aims {
        let known = |one: &Instrument| self.micrometers.iter().any(|own| own.name == one.name);
        self.offered = of_shop(shop).into_iter().filter(|one| !known(one)).collect();
        self
    }

    /// The entry that takes a micrometer up, where it is one of the shop's that was not taken up yet.
    pub fn taking_up(&self, name: &str, shop: &Shop, set: SetName) -> Option<EntryKind> {
        let offered = self.offered.iter().any(|one| one.name == name);
        let row = offered.then(|| row_of(name, shop, &self.sheet.specification, set)).flatten()?;
        Some(EntryKind::Instrument { row })
    }

    /// The unit of every bare size in the job.
    pub fn unit(&self) -> Unit {
        self.sheet.unit
    }

    /// What one set is worked and held to.
    pub fn set(&self, set: SetName) -> Option<&SetAim> {
        self.sets.iter().find(|aim| aim.set == set)
    }

    /// The rule by which the shop calls a size within or outside its limits.
    pub fn rule(&self) -> Rule {
        Rule::Chance { within_at: self.sheet.policy.within_at, outside_at: self.sheet.policy.outside_at }
    }

    /// The micrometers that can measure journals of a set, as they are set now.
    pub fn micrometers_for(&self, set: SetName) -> Vec<&Instrument> {
        let book = self.sheet.specification.set(set);
        let (low_mm, high_mm) = (book.size.low_mm, book.size.high_mm);
        let deepest_mm = book.ladder_mm().last().copied().unwrap_or(0.0);
        let reaches =
            |m: &&Instrument| m.range_mm.is_none_or(|(low, high)| low <= high_mm && low_mm - deepest_mm <= high);
        let all = self.micrometers.iter().chain(&self.offered);
        all.filter(|m| m.kind.contains("micrometer")).filter(reaches).collect()
    }

    /// A micrometer by its name; the shop's usual one where there is none of that name.
    pub fn micrometer(&self, name: &str) -> Instrument {
        let usual = || self.sheet.findings.instruments.first().cloned();
        let known = self.micrometers.iter().chain(&self.offered).find(|m| m.name == name).cloned();
        known.or_else(usual).unwrap_or_else(|| Instrument::shop_default(self.unit()))
    }

    /// What a reading that was kept says, with the zero that its micrometer had then, as typed.
    pub fn found(&self, row: &Value, zero: Option<&str>) -> Option<Found> {
        let typed = row.get("size").and_then(Value::as_typed)?;
        let entry = units::read(typed, self.unit()).ok()?;
        let mut with = self.micrometer(row.words("with").unwrap_or_default());
        with.zero_mm = zero.and_then(|zero| zero_mm(zero, with.unit)).unwrap_or(0.0);
        let size_mm = with.corrected_mm(entry.mm);
        let doubt_mm = with.budget(entry.mm, 1).combined();
        Some(Found { read: typed.to_owned(), size_mm, doubt_mm, with })
    }

    /// A computed size as it is shown: tenths of a thou, or microns.
    pub fn size(&self, mm: f64) -> String {
        show_mm(mm, self.unit(), self.unit().usual_decimals())
    }

    /// A limit or a size to work to, with the digits it has.
    pub fn exact(&self, mm: f64) -> String {
        let usual = self.unit().usual_decimals();
        let finer = show_mm(mm, self.unit(), usual + 2);
        let spare = finer.chars().rev().take(2).take_while(|c| *c == '0').count();
        finer.get(..finer.len().saturating_sub(spare)).unwrap_or(&finer).to_owned()
    }

    /// A computed size as it is said, with its unit.
    pub fn size_to_say(&self, mm: f64) -> say::Size {
        say::Size::of_mm(mm, self.unit(), self.unit().usual_decimals())
    }

    /// A limit as it is said, with the digits it has and its unit.
    pub fn exact_to_say(&self, mm: f64) -> say::Size {
        let digits = self.exact(mm);
        let decimals = digits.split_once('.').map_or(0, |(_, behind)| behind.len());
        say::Size::of_mm(mm, self.unit(), u32::try_from(decimals).unwrap_or_default())
    }

    /// The window of a stage, or that there is none.
    pub fn window(&self, stage: &StageSize) -> String {
        match stage.window_figures(self.unit()) {
            Some((low, high)) => format!("{low}–{high}"),
            None => "no window left".to_owned(),
        }
    }

    /// `1.8645–1.8650`.
    pub fn band(&self, band: Band) -> String {
        format!("{}–{}", self.exact(band.low_mm), self.exact(band.high_mm))
    }

    /// `1.8649`, or where the micrometer has a zero `1.8649 (1.8650 read, less its zero)`.
    pub fn as_found(&self, found: &Found) -> String {
        let size = self.size(found.size_mm);
        if found.with.zero_mm == 0.0 && found.with.unit == self.unit() {
            return size;
        }
        format!("{size} ({} on {}, less its zero)", found.read, found.with.name)
    }

    /// What there is to say of a reading taken while grinding, against a stage: in words, and where it stands.
    pub fn left(&self, found: &Found, aim: &StageSize) -> (String, Left) {
        let mut left = left_to_come_off(found.size_mm, found.doubt_mm, aim, self.rule());
        let unit = self.unit();
        let off = |mm: f64| show_mm(mm.max(0.0), unit, unit.usual_decimals());
        let (stage, target) = (stage_words(aim.stage), aim.target_figure(unit));
        let window = if aim.is_lost() { target.clone() } else { self.window(aim) };
        let doubt =
            format!("{} cannot tell: it is good to about {} either way.", found.with.name, off(2.0 * found.doubt_mm));
        let says = match (left.stands, left.settled) {
            (Stands::Above, true) => format!("{} to come off to the {stage} size {target}.", off(left.to_target_mm)),
            (Stands::Above, false) => format!(
                "{} to come off to the {stage} size {target}, or it is inside the {stage} window {window} already. {doubt} \
                 Measure again before more comes off.",
                off(left.to_target_mm)
            ),
            (Stands::Inside, true) => format!("Inside the {stage} window {window}."),
            // The doubt is counted in the chance that stands beside the window; to flag it at every journal says nothing.
            (Stands::Inside, false) if aim.finishes.is_some() => {
                left.settled = true;
                format!(
                    "Inside the {stage} window {window}, as far as {} can tell: it is good to about {} either way.",
                    found.with.name,
                    off(2.0 * found.doubt_mm)
                )
            }
            (Stands::Inside, false) => format!("Reads inside the {stage} window {window}. Whether it is, {doubt}"),
            (Stands::Under, true) => format!(
                "{} under the {stage} window {window}: stop. Measure it again cold; if it stands, tell whoever decided the \
                 size before any more is ground.",
                off(left.beyond_mm)
            ),
            (Stands::Under, false) => format!(
                "Reads {} under the {stage} window {window}. Whether it is, {doubt} Take nothing more off; measure again.",
                off(left.beyond_mm)
            ),
        };
        (says, left)
    }

    /// What a reading at the final check says against the limits of its set.
    pub fn held(&self, found: &Found, limits: Band) -> (String, Outcome) {
        let outcome = self.rule().judge(found.size_mm, found.doubt_mm, Limits::between(limits.low_mm, limits.high_mm));
        let (size, band) = (self.as_found(found), self.band(limits));
        let off = |mm: f64| show_mm(mm, self.unit(), self.unit().usual_decimals());
        let over_mm = found.size_mm - limits.high_mm;
        let under_mm = limits.low_mm - found.size_mm;
        let says = match outcome {
            Outcome::Within => format!("{size}, inside {band}"),
            Outcome::Outside if over_mm > under_mm => format!("{size}, outside {band}: {} over", off(over_mm)),
            Outcome::Outside => format!("{size}, outside {band}: {} under", off(under_mm)),
            Outcome::TooCloseToCall => {
                let advice = if found.with.too_coarse_for(limits.width_mm()) {
                    format!("{} is too coarse for limits this close. Use a finer one.", found.with.name)
                } else {
                    format!("{} cannot settle it. Measure again, or use a finer one.", found.with.name)
                };
                let by_mm = over_mm.max(under_mm);
                let place = if by_mm.abs() < 1e-6 {
                    format!("on a limit of {band}")
                } else if by_mm > 0.0 {
                    format!("{} outside {band}", off(by_mm))
                } else {
                    format!("{} inside a limit of {band}", off(-by_mm))
                };
                format!("{size}, cannot tell: {place}. {advice}")
            }
        };
        (says, outcome)
    }

    /// The row of a reading as it was keyed, without its place on the journal; or why it is none. A row of digits alone is
    /// taken as what stands on sleeve and thimble, unless the shop keys that micrometer otherwise.
    pub fn keyed(&self, shop: &Shop, typed: &str, with: &str, journal: JournalId) -> Result<Row, String> {
        let micrometer = self.micrometer(with);
        let about_mm = self.set(journal.set).map_or(0.0, |aim| aim.limits.middle_mm());
        let digits = typed.len() > 3 && typed.bytes().all(|byte| byte.is_ascii_digit());
        let how = match keyed_as(shop, &micrometer, about_mm) {
            KeyedAs::Size if digits => KeyedAs::Counts,
            how => how,
        };
        let keyed = keyed(typed, &how, &micrometer).map_err(|not| not.to_string())?;
        let book = self.sheet.specification.set(journal.set).size.middle_mm();
        if !(0.5..=1.5).contains(&(keyed.size.mm() / book)) {
            return Err(format!(
                "{} is no size of a {} of this crank. Look at the micrometer again.",
                keyed.as_size, journal.set
            ));
        }
        let bare = keyed.as_size.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        let size = if bare && micrometer.unit != self.unit() {
            format!("{} {}", keyed.as_size, micrometer.unit)
        } else {
            keyed.as_size.clone()
        };
        let mut row = Value::table([("journal", Value::from(journal.to_string())), ("size", Value::typed(&size))]);
        if self.micrometers.iter().chain(&self.offered).any(|m| m.name == with) {
            row.set("with", Value::from(with));
        }
        let source = if how == KeyedAs::Counts && digits { Source::Counts } else { Source::Typed };
        let typed = keyed.sum.is_some().then(|| typed.to_owned());
        Ok(Row { row, source, typed })
    }
}

/// Whether anything is measured, without which there is nothing to grind, to treat or to check.
pub fn is_measured(job: &Job) -> bool {
    job.rows.iter().any(|row| matches!(row.key, "reading" | "trace") && counts(row))
}

/// A stage in the middle of a sentence.
pub const fn stage_words(stage: Stage) -> &'static str {
    match stage {
        Stage::Rough => "rough",
        Stage::Grind => "grind",
        Stage::Polish => "polish",
        Stage::BeforeTreatment => "before-treatment",
        Stage::Finished => "finished",
    }
}

/// A stage as a heading.
pub const fn stage_name(stage: Stage) -> &'static str {
    match stage {
        Stage::Rough => "Rough",
        Stage::Grind => "Grind",
        Stage::Polish => "Polish",
        Stage::BeforeTreatment => "Before treatment",
        Stage::Finished => "Finished",
    }
}

fn set_aim(job: &Job, sheet: &Sheet, plan: Option<&PlanSheet>, set: SetName) -> SetAim {
    let decided = job.decisions.iter().find(|decided| decided.set == set.word());
    let book = sheet.specification.set(set);
    let choice = decided.and_then(|decided| choice_on(&decided.choice, sheet.unit, &book.ladder_mm()));
    let undersize_mm = choice.and_then(Choice::undersize_mm);
    let on_paper = plan.and_then(|plan| stages_on(plan, set));
    let stages = match (on_paper, undersize_mm) {
        (Some(stages), _) if !stages.is_empty() => stages,
        (_, Some(under_mm)) => {
            let work = Work::on(&sheet.specification, &sheet.findings, set, under_mm, sheet.unit);
            regrind::plan(book, &sheet.specification.treatment, &sheet.policy, &work).stages
        }
        _ => Vec::new(),
    };
    // What is ground is held to the limits when new; what is not, to those of a journal in use.
    let (limits, out_of_round_mm, taper) = match undersize_mm {
        Some(under_mm) => (book.finished(under_mm), book.out_of_round_mm, book.taper),
        None => (left_alone(sheet, set), book.out_of_round_in_use_mm(), book.taper_in_use()),
    };
    SetAim { set, choice, stages, limits, out_of_round_mm, taper }
}

/// What journals that are not ground must keep: the limits of what they were last ground to.
fn left_alone(sheet: &Sheet, set: SetName) -> Band {
    let ground_to = crank::last_ground_to(&sheet.specification, &sheet.findings, set);
    crank::size_limits(sheet.specification.set(set), ground_to.undersize_mm)
}

fn stages_on(plan: &PlanSheet, set: SetName) -> Option<Vec<StageSize>> {
    let stages = plan.set(set)?.stages.iter().map(|stage| {
        let target_mm = plan.mm(&stage.target)?;
        let window = match &stage.window {
            Some((low, high)) => Band { low_mm: plan.mm(low)?, high_mm: plan.mm(high)? },
            // Nothing is left of it: low above high, as the plan itself says it.
            None => Band { low_mm: target_mm + 1e-6, high_mm: target_mm - 1e-6 },
        };
        let graduation_mm = stage.graduation.as_deref().and_then(|typed| plan.mm(typed));
        Some(StageSize { stage: stage.stage, target_mm, window, finishes: stage.finishes, graduation_mm })
    });
    stages.collect()
}

/// The micrometers that were taken up for a job, each with the zero it has now.
fn micrometers(job: &Job, sheet: &Sheet) -> Vec<Instrument> {
    let zero = |name: &str| job.zeros.iter().find(|(known, _)| known == name).map(|(_, zero)| zero.as_str());
    let named = |m: &&Instrument| {
        // A micrometer whose zero was set anew stands in the sheet a second time, under a name of the record's own.
        let again = m
            .name
            .rsplit_once(", set again ")
            .is_some_and(|(name, _)| sheet.findings.instruments.iter().any(|other| other.name == name));
        !again
    };
    let as_set = |m: &Instrument| {
        let zero_mm = zero(&m.name).and_then(|typed| zero_mm(typed, m.unit)).unwrap_or(m.zero_mm);
        Instrument { zero_mm, ..m.clone() }
    };
    sheet.findings.instruments.iter().skip(1).filter(named).map(as_set).collect()
}

fn zero_mm(typed: &str, unit: Unit) -> Option<f64> {
    units::read(typed, unit).ok().map(|entry| entry.mm)
}
