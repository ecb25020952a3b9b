//! What stands at the machine: one source of words for the grinder's page and for the grinder's sheet.

mod found_before;
mod set_up;

pub use set_up::{band, case_depth};

use crank::{Band, SetName};
use gauge::Instrument;
use regrind::{Choice, Move, PolishJournal, Stage, StageSize};
use shop::Job;
use units::{Unit, show_mm};

use crate::aims::{Aims, SetAim, stage_name};
use crate::heading::{Change, Heading};
use crate::nouns::choice_of;
use crate::plan_sheet::{self, JournalSheet, PlanSheet, SetSheet};
use crate::stops::{Matter, Stops};
use say::Words;

/// Everything that the grinder is told.
#[derive(Clone, Debug, Default)]
pub struct AtTheMachine {
    /// What stands first, in a few words, where something must be settled first or nothing is to be ground.
    pub headline: Option<Heading>,
    /// The same in full, with what was answered to it.
    pub stops: Vec<String>,
    /// Why the sheet no longer holds, where it does not.
    pub changed: Vec<String>,
    /// The sets, mains first; without sizes where none may be ground to.
    pub sets: Vec<SetWords>,
    /// What was found on the crank before: what decides, damage, run-out.
    pub found: Vec<(String, String)>,
    /// What to set up by and to keep.
    pub set_up: Vec<(String, String)>,
    /// Journals that are set up off their present centres: the end mains, then the pins that move.
    pub offsets: Vec<OffsetWords>,
    /// Whether anything is to be ground to a size.
    pub grinds: bool,
}

/// A journal that is set up off its present centre.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OffsetWords {
    /// `Pin 3`.
    pub name: String,
    /// `0.0019 outward, 0.0033 clockwise`, or that it stays.
    pub shift: String,
    /// What the dial on it is set to show in one turn, highest less lowest.
    pub dial: String,
    /// Where it then reads high, in words; empty where it stays.
    pub high: String,
}

impl OffsetWords {
    /// Each journal that moves, in the unit; an end main that stays is told too, so that nobody looks for it.
    pub fn of(moves: &[Move], unit: Unit, words: Words) -> Vec<OffsetWords> {
        let figure = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
        if moves.iter().all(|one| one.words.is_empty()) {
            return Vec::new();
        }
        let told = moves.iter().filter(|one| one.journal.set == SetName::Main || !one.words.is_empty());
        told.map(|one| {
            let stays = one.words.is_empty();
            let from = if one.journal.set == SetName::Main { "the first throw" } else { "its own throw" };
            OffsetWords {
                name: words.journal(one.journal),
                shift: if stays { "stays".to_owned() } else { one.words.clone() },
                dial: if stays { figure(0.0) } else { figure(one.dial_mm()) },
                high: if stays { String::new() } else { format!("{:.0}° from {from}", one.high_deg()) },
            }
        })
        .collect()
    }
}

/// One set.
#[derive(Clone, Debug)]
pub struct SetWords {
    /// `Mains`.
    pub name: String,
    /// `0.010 in under`, `Leave alone`, `Look again first`.
    pub choice: String,
    /// The true size off the wheel to aim for.
    pub grind_to: Option<String>,
    /// The same in the other unit, marked as converted.
    pub grind_to_other: String,
    /// The window off the wheel.
    pub window: String,
    /// Whether nothing is left of the window.
    pub lost: bool,
    /// The finished limits, in both units.
    pub finished: String,
    /// Who chose otherwise than the rule, and why.
    pub overruled: String,
    /// What else there is to say under it.
    pub says: Vec<String>,
    /// What to work to, stage by stage.
    pub stages: Vec<StageWords>,
    /// The journals as they came in.
    pub journals: Vec<JournalWords>,
}

/// One stage of the work.
#[derive(Clone, Debug)]
pub struct StageWords {
    /// `Rough`, `Grind`.
    pub name: &'static str,
    /// The size to work to.
    pub target: String,
    /// The limits of it.
    pub window: String,
    /// How the aim stands on the micrometer's scale.
    pub as_read: String,
}

/// One journal as it came in.
#[derive(Clone, Debug)]
pub struct JournalWords {
    /// `Main 3`.
    pub name: String,
    /// Its largest place.
    pub largest: String,
    /// What comes off the largest place.
    pub take_off: String,
}

impl AtTheMachine {
    /// What the sheet in force says of a job, or that it no longer holds.
    pub fn of(job: &Job, aims: &Aims, stops: &Stops, words: Words) -> AtTheMachine {
        let mut hand = Hand { job, aims, stops, words, moves: Vec::new() };
        let changed = changed(job, aims);
        let ended = ended(aims, stops);
        let withdrawn = changed.iter().any(|one| one.sizes);
        let sets: Vec<SetWords> = aims
            .sets
            .iter()
            .filter(|aim| aim.choice.is_some())
            .map(|aim| hand.set(aim, withdrawn, ended.is_some()))
            .collect();
        let grinds = sets.iter().any(|set| set.grind_to.is_some());
        let told = if grinds { hand.told() } else { None };
        if let Some(told) = &told {
            hand.moves = told.moves(&aims.sheet.specification, aims.unit());
        }
        AtTheMachine {
            offsets: OffsetWords::of(&hand.moves, aims.unit(), words),
            stops: stops.all.iter().map(|stop| stop.in_full(words)).collect(),
            changed: changed.iter().map(|one| words.say(&one.what)).collect(),
            found: if ended.is_some() { Vec::new() } else { hand.found_before(grinds) },
            set_up: if grinds { hand.set_up() } else { Vec::new() },
            headline: stops.heading().or(ended),
            grinds,
            sets,
        }
    }
}

/// Why nothing of a crank is to be ground or used, where that is so: a set that cannot be saved is the end of the whole
/// crank. Doubtful readings come first, for they may be what it rests on.
pub fn ended(aims: &Aims, stops: &Stops) -> Option<Heading> {
    let scrap = |aim: &&SetAim| {
        let doubted = stops.holding(aim.set).any(|stop| stop.matter == Matter::Doubtful);
        aim.choice == Some(Choice::Scrap) && !doubted
    };
    let cracked = stops.cracked();
    if !cracked.is_empty() {
        return Some(Heading::Crack(cracked));
    }
    let sets: Vec<SetName> = aims.sets.iter().filter(scrap).map(|aim| aim.set).collect();
    (!sets.is_empty()).then_some(Heading::Scrap(sets))
}

/// What changed since the sheet was issued.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changed {
    /// What did.
    pub what: Change,
    /// Whether the sizes on the paper no longer hold.
    pub sizes: bool,
}

/// Why the sheet in force no longer says what holds; empty where it does, or none was issued.
pub fn changed(job: &Job, aims: &Aims) -> Vec<Changed> {
    let Some(_) = job.sheets.last() else { return Vec::new() };
    let Some(plan) = &aims.plan else {
        return vec![Changed { what: Change::Unknown, sizes: true }];
    };
    let now = PlanSheet::of(job, &aims.sheet);
    let sizes = !plan.same_sizes(&now);
    plan.changed(&now).into_iter().map(|what| Changed { what, sizes }).collect()
}

/// A job with what its words are made from.
struct Hand<'a> {
    job: &'a Job,
    aims: &'a Aims,
    stops: &'a Stops,
    words: Words,
    /// Where the journals are told to be set up; empty where nothing moves.
    moves: Vec<Move>,
}

impl Hand<'_> {
    fn unit(&self) -> Unit {
        self.aims.unit()
    }

    fn set(&self, aim: &SetAim, withdrawn: bool, ended: bool) -> SetWords {
        let unit = self.unit();
        let on_paper = self.aims.plan.as_ref().and_then(|plan| plan.set(aim.set));
        // What stands on the paper, not what was decided since.
        let choice = on_paper.and_then(|set| choice_of(&set.choice, unit)).or(aim.choice);
        let held = self.stops.holding(aim.set).map(|stop| stop.matter).next();
        let mut set = SetWords {
            name: self.words.set(aim.set),
            choice: choice_words(choice, unit),
            grind_to: None,
            grind_to_other: String::new(),
            window: String::new(),
            lost: false,
            finished: String::new(),
            overruled: String::new(),
            says: Vec::new(),
            stages: Vec::new(),
            journals: Vec::new(),
        };
        if withdrawn {
            set.choice = format!("was {}; no longer valid", lower(&set.choice));
            return set;
        }
        match held {
            Some(Matter::Doubtful) => {
                set.choice = "look again first".to_owned();
                return set;
            }
            Some(_) if !ended => {
                set.choice = "grind nothing yet".to_owned();
                return set;
            }
            _ if ended => {
                set.choice = "grind nothing".to_owned();
                return set;
            }
            _ => {}
        }
        match choice {
            Some(Choice::BuildUp) => set.says.push(BUILD_UP.to_owned()),
            Some(Choice::LeaveAlone | Choice::PolishOnly) => {
                let must = if choice == Some(Choice::PolishOnly) { "finish" } else { "stay" };
                set.says.push(format!("Every journal must {must} inside {} {unit}.", self.aims.band(aim.limits)));
                if choice == Some(Choice::PolishOnly) {
                    set.says.extend(self.polish(aim));
                }
            }
            _ => {}
        }
        let decided = self.job.decisions.iter().find(|decided| decided.set == aim.set.word());
        if let Some((decided, why)) = decided.and_then(|decided| Some((decided, decided.overruled.as_ref()?))) {
            set.overruled = format!("Decided by {}: {}.", decided.who, why.trim_end_matches('.'));
        }
        if let Some(wheel) = aim.off_the_wheel() {
            self.to_size(&mut set, aim, wheel, on_paper);
        }
        set
    }

    /// Where to stop on each journal of a set that is only polished.
    fn polish(&self, aim: &SetAim) -> Vec<String> {
        let (sheet, unit) = (&self.aims.sheet, self.unit());
        let ground_to = crank::last_ground_to(&sheet.specification, &sheet.findings, aim.set);
        let ground = self.aims.sets.iter().any(|other| other.undersize_mm().is_some());
        let plan = regrind::polish_plan(
            &sheet.specification,
            &sheet.findings,
            &sheet.policy,
            aim.set,
            ground_to.undersize_mm,
            ground && sheet.specification.treatment.after_grinding,
            unit,
        );
        let polish = |journal: &PolishJournal| journal.stages.iter().find(|s| s.stage == Stage::Polish).copied();
        let stops: Vec<String> = plan
            .journals
            .iter()
            .filter_map(|one| Some(format!("{} {}", self.words.journal(one.journal), polish(one)?.target_figure(unit))))
            .collect();
        let Some(first) = plan.journals.iter().find_map(polish) else { return Vec::new() };
        let mut says = vec![format!(
            "Stop the polish where the largest place of each shows: {}; every place within {} {unit}.",
            stops.join(", "),
            self.aims.window(&first)
        )];
        says.extend(plan.growth_words(unit));
        let beyond = plan.journals.iter().filter(|journal| journal.beyond_mm != 0.0);
        let out: Vec<String> = beyond
            .map(|journal| {
                let way = if journal.beyond_mm > 0.0 { "over" } else { "under" };
                let by = self.aims.size(journal.beyond_mm.abs());
                format!("{} {by} {way}", self.words.journal(journal.journal))
            })
            .collect();
        if !out.is_empty() {
            says.push(format!("■ A polish does not keep these in their limits: {}. Ask first.", out.join(", ")));
        }
        says
    }

    fn to_size(&self, set: &mut SetWords, aim: &SetAim, wheel: &StageSize, on_paper: Option<&SetSheet>) {
        let (aims, unit) = (self.aims, self.unit());
        let micrometers = aims.micrometers_for(aim.set);
        set.lost = wheel.is_lost();
        set.grind_to = Some(wheel.target_figure(unit));
        set.grind_to_other = other_unit(wheel.target_mm, unit);
        set.window = aims.window(wheel);
        set.finished = format!("Finished {} {unit} ({}).", aims.band(aim.limits), other_band(aim.limits, unit));
        if set.lost {
            let says =
                "■ No window is left: the growth in treatment varies too much for these limits. Ask before grinding.";
            set.says.push(says.to_owned());
        } else {
            set.says.extend(wheel.finishes.map(|finishes| format!("{}.", finishes.words())));
            set.says.extend(shown_on(&micrometers, wheel.window, unit));
            if regrind::narrow_window(&micrometers, wheel, unit).is_some() {
                set.says.push("■ A very fine window: see Window below.".to_owned());
            }
        }
        set.stages = aim
            .stages
            .iter()
            .map(|stage| StageWords {
                name: stage_name(stage.stage),
                target: stage.target_figure(unit),
                window: aims.window(stage),
                as_read: gauge::as_read(&micrometers, stage.target_mm, unit),
            })
            .collect();
        let came_in = self.came_in(aim.set, wheel.target_mm, on_paper);
        set.journals = came_in
            .into_iter()
            .map(|journal| JournalWords {
                name: self.words.journal(journal.journal),
                largest: journal.largest,
                take_off: journal.take_off.unwrap_or_else(|| "nothing".to_owned()),
            })
            .collect();
    }

    /// The journals as they came in, as the paper has them; a paper of before has them from their smallest place.
    fn came_in(&self, set: SetName, target_mm: f64, on_paper: Option<&SetSheet>) -> Vec<JournalSheet> {
        match on_paper {
            Some(set) if set.journals.iter().all(|journal| !journal.largest.is_empty()) => set.journals.clone(),
            _ => plan_sheet::came_in(&self.aims.sheet, set, Some(target_mm)),
        }
    }
}

/// The caution that goes with building up.
pub const BUILD_UP: &str = "Building up changes the strength of a shaft. Only where the maker permits it, by somebody \
                                   who does it to the maker’s manual; crack-test before and after, then measure \
                                   everything again.";

/// What is to be done with a set: `0.020 in under`.
pub fn choice_words(choice: Option<Choice>, unit: Unit) -> String {
    match choice {
        None => "Not decided yet".to_owned(),
        Some(Choice::LeaveAlone) => "Leave alone".to_owned(),
        Some(Choice::PolishOnly) => "Polish only".to_owned(),
        Some(Choice::BuildUp) => "Build up first; grind nothing yet".to_owned(),
        Some(Choice::Scrap) => "Scrap; grind nothing".to_owned(),
        Some(Choice::NotDecided) => "Not decided yet; grind nothing".to_owned(),
        Some(Choice::Grind { undersize_mm: 0.0 }) => "Standard".to_owned(),
        Some(Choice::Grind { undersize_mm }) => regrind::words::under(undersize_mm, unit),
    }
}

fn lower(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

/// A size in the unit that the sheet is not in, marked as converted.
fn other_unit(mm: f64, unit: Unit) -> String {
    let other = other(unit);
    format!("≈ {} {other}", show_mm(mm, other, other.usual_decimals()))
}

fn other_band(band: Band, unit: Unit) -> String {
    let other = other(unit);
    let show = |mm: f64| show_mm(mm, other, other.usual_decimals());
    format!("≈ {}–{} {other}", show(band.low_mm), show(band.high_mm))
}

const fn other(unit: Unit) -> Unit {
    match unit {
        Unit::Inch => Unit::Millimetre,
        Unit::Millimetre => Unit::Inch,
    }
}

/// What the window is on each micrometer that does not read true, to whole graduations inside it. The sizes on the sheet
/// are true ones; a micrometer that reads true needs no second figure.
fn shown_on(micrometers: &[&Instrument], window: Band, unit: Unit) -> Vec<String> {
    /// A sum of exact lengths is off by less than this.
    const ROUNDING: f64 = 1e-6;
    let reaches =
        |m: &&&Instrument| m.range_mm.is_none_or(|(low, high)| low <= window.low_mm && window.high_mm <= high);
    let off = micrometers.iter().filter(|m| m.zero_mm != 0.0).filter(reaches);
    off.map(|m| {
        let figure = |steps: f64| show_mm(steps * m.graduation_mm, m.unit, m.unit.usual_decimals());
        let by = show_mm(m.zero_mm.abs(), m.unit, m.unit.usual_decimals());
        let way = if m.zero_mm > 0.0 { "high" } else { "low" };
        let low = ((window.low_mm + m.zero_mm) / m.graduation_mm - ROUNDING).ceil();
        let high = ((window.high_mm + m.zero_mm) / m.graduation_mm + ROUNDING).floor();
        let shows = if m.graduation_mm <= 0.0 || low > high {
            "has no graduation inside the window".to_owned()
        } else if low == high {
            format!("shows {} inside the window", figure(low))
        } else {
            format!("shows {}–{}", figure(low), figure(high))
        };
        let own = if m.unit == unit { String::new() } else { format!(" {}", m.unit) };
        format!("{} ({by} {way}) {shows}{own}.", m.name)
    })
    .collect()
}
