//! The answer as JSON, in the sheet's own unit.

use crank::{Lay, SetName, Taken};
use regrind::{Chance, Choice, Others, Place, SetUp, StageSize, Verdict};
use serde::Serialize;
use serde_json::Value;
use units::Unit;

use crate::cases::{self, CaseAnswer};
use crate::dials::{self, BendAnswer};
use crate::heights::{self, ThrowsAnswer};
use crate::shaft_answer::{self, CurvePoint, FirstSizeAnswer, ShaftAnswer};
use crate::{RoughnessWords, Sheet};

/// The whole answer, in the order in which a reader wants it.
#[derive(Debug, Serialize)]
struct Answer {
    #[serde(skip_serializing_if = "Option::is_none")]
    mark: Option<String>,
    specification: String,
    journals: Vec<Journal>,
    sets: Sets,
    pairs: Vec<Pair>,
    #[serde(skip_serializing_if = "Option::is_none")]
    chosen_pair: Option<ChosenPair>,
    plan: Vec<JournalPlan>,
    /// Where features or the shaft's mass are told.
    #[serde(skip_serializing_if = "Option::is_none")]
    shaft: Option<ShaftAnswer>,
    /// Where a dial was read at several angles.
    #[serde(skip_serializing_if = "Option::is_none")]
    bend: Option<BendAnswer>,
    /// Where heights of pins were measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    throws: Option<ThrowsAnswer>,
    /// Where anybody measured it.
    #[serde(skip_serializing_if = "Option::is_none")]
    roughness: Option<Rough>,
    notes: Vec<Note>,
    /// Whether somebody must look again before anything is ground.
    look_again: bool,
    rule: Rule,
    units: &'static str,
}

#[derive(Debug, Serialize)]
struct Journal {
    journal: String,
    mean: f64,
    smallest: f64,
    largest: f64,
    out_of_round: Option<f64>,
    taper: Option<f64>,
    stations: Vec<Station>,
    planes: Vec<Plane>,
    ground_to: f64,
    /// What it alone is stamped; the stamp of its set stands with the set.
    #[serde(skip_serializing_if = "Option::is_none")]
    stamped: Option<f64>,
    wear: f64,
    state: &'static str,
    within_chance: f64,
    within_chance_as_measured: f64,
    within_chance_as_read: f64,
    uncertainty: f64,
}

/// One station of a journal.
#[derive(Debug, Serialize)]
struct Station {
    at: f64,
    out_of_round: Option<f64>,
}

/// One plane of a journal; barrel positive, waist negative.
#[derive(Debug, Serialize)]
struct Plane {
    plane: f64,
    taper: Option<f64>,
    barrel: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Sets {
    #[serde(skip_serializing_if = "Option::is_none")]
    main: Option<Set>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pin: Option<Set>,
}

#[derive(Debug, Serialize)]
struct Set {
    ground_to: f64,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    perhaps_ground_to: Vec<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    stamped: Option<f64>,
    /// Journals that were most likely ground to another undersize than the set.
    #[serde(skip_serializing_if = "serde_json::Map::is_empty")]
    own_ground_to: serde_json::Map<String, Value>,
    choice: Value,
    action: &'static str,
    reason: String,
    /// Why it is not decided.
    #[serde(skip_serializing_if = "Option::is_none")]
    undecided: Option<&'static str>,
    /// What it would be ground to if it had to be, where it is left alone or not decided.
    #[serde(skip_serializing_if = "Option::is_none")]
    if_ground: Option<f64>,
    leave_alone: f64,
    leave_alone_as_measured: f64,
    leave_alone_as_read: f64,
    polish_only: f64,
    polish_only_as_measured: f64,
    polish_only_as_read: f64,
    undersizes: Vec<Undersize>,
    /// The first size that cleans up with the shop's confidence, on no ladder.
    first_size: Option<FirstSizeAnswer>,
    /// On a free axis: the placement that is told for what it is or would be ground to.
    #[serde(skip_serializing_if = "Option::is_none")]
    set_up: Option<Axis>,
    unmeasured: Vec<Unmeasured>,
    #[serde(skip_serializing_if = "Option::is_none")]
    apart: Option<Apart>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    not_measured: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    chance_if_the_rest_are_alike: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    measure_next: Option<Next>,
}

#[derive(Debug, Serialize)]
struct Undersize {
    undersize: f64,
    chance: f64,
    sampling_error: f64,
    chance_as_measured: f64,
    spare: f64,
    spare_after_stock: f64,
    middle_spare: f64,
    grind_to: f64,
    /// Whether the book's smallest size permits it.
    permitted: bool,
    /// On a free axis: the placement that is told for it, and its chances stand on.
    #[serde(skip_serializing_if = "Option::is_none")]
    set_up: Option<Axis>,
    /// How far that goes: held, throws or free.
    way: &'static str,
    /// What is left of a hardened case at its thinnest spot, where its depth is told.
    #[serde(skip_serializing_if = "Option::is_none")]
    case_left: Option<CaseAnswer>,
    governed_by: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    expected_cost: Option<f64>,
}

/// Something that nobody looked at, and what it costs of the chance at the step that is told.
#[derive(Debug, Serialize)]
struct Unmeasured {
    what: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    journal: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    costs: Option<f64>,
}

/// The journals that keep the others of their set from an undersize.
#[derive(Debug, Serialize)]
struct Apart {
    journals: Vec<ApartJournal>,
    /// Whether the others are good as they are.
    others_may_stay: bool,
    /// Whether they read within their limits, too near to one to be called so.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    others_too_close: bool,
    /// Whether they are, and are polished to size because the crank grows once more.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    others_polish_to_size: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    others: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    others_chance: Option<f64>,
}

#[derive(Debug, Serialize)]
struct ApartJournal {
    journal: String,
    under_deposit: f64,
    thickness: f64,
    back_to: f64,
}

#[derive(Debug, Serialize)]
struct Next {
    #[serde(skip_serializing_if = "Option::is_none")]
    journal: Option<String>,
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    plane: Option<f64>,
    measure: String,
    could_change: String,
    foretold: Vec<Foretold>,
    changes_choice: bool,
}

/// What the answer is once this result is entered.
#[derive(Debug, Serialize)]
struct Foretold {
    #[serde(rename = "if")]
    result: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    shows: Option<f64>,
    /// Of two sizes, what is shown square to that.
    #[serde(skip_serializing_if = "Option::is_none")]
    shows_square: Option<f64>,
    /// A trace, with the keys of the sheet.
    #[serde(skip_serializing_if = "Option::is_none")]
    trace: Option<Trace>,
    #[serde(skip_serializing_if = "Option::is_none")]
    high: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    share: Option<f64>,
    undersize: f64,
    chance: f64,
    choice: Value,
}

/// A sweep that is foretold.
#[derive(Debug, Serialize)]
struct Trace {
    at: f64,
    size: f64,
    angles: Vec<f64>,
    departures: Vec<f64>,
}

#[derive(Debug, Serialize)]
struct Pair {
    main: f64,
    pin: f64,
    spare: f64,
    spare_exact: f64,
    chance: f64,
    sampling_error: f64,
    chance_as_measured: f64,
    governed_by: Option<String>,
    /// The placement of the greatest spare.
    axis: Axis,
    /// The placement that the grinder is told, and the chances stand on.
    set_up: Axis,
    spare_as_set_up: f64,
    /// How far that goes, the spare that it leaves to first order, and its largest shift.
    way: &'static str,
    spare_chosen: f64,
    shift: f64,
    /// The least largest shift for each spare, from no move on.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    curve: Vec<CurvePoint>,
}

#[derive(Debug, Serialize)]
struct Axis {
    x0: f64,
    y0: f64,
    sx: f64,
    sy: f64,
    /// Where each pin's centre goes; on a held axis none moves.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pins: Vec<PinCentre>,
}

/// A pin's new centre less its present one at mid-length: toward the first throw, and square to it.
#[derive(Debug, Serialize)]
struct PinCentre {
    journal: String,
    u: f64,
    v: f64,
}

#[derive(Debug, Serialize)]
struct ChosenPair {
    main: f64,
    pin: f64,
}

#[derive(Debug, Serialize)]
struct JournalPlan {
    journal: String,
    undersize: f64,
    stages: Vec<Stage>,
}

#[derive(Debug, Serialize)]
struct Stage {
    stage: &'static str,
    target: f64,
    /// None of both where nothing is left of the window.
    low: Option<f64>,
    high: Option<f64>,
    micrometer: String,
    /// Graduation of that micrometer, in the sheet's unit.
    graduation: Option<f64>,
    /// Chance that one journal worked to the target finishes within its limits, and what most of the rest comes from.
    finishes_within: Option<f64>,
    rest: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct Note {
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    journal: Option<String>,
    says: String,
}

/// How rough journals are, in microns whatever the sizes are in.
#[derive(Debug, Serialize)]
struct Rough {
    places: Vec<RoughPlace>,
    /// Journals whose roughness the book limits and nobody measured as the crank came in.
    not_measured: Vec<String>,
    /// What is said of it.
    says: Vec<String>,
}

#[derive(Debug, Serialize)]
struct RoughPlace {
    journal: String,
    at: f64,
    when: &'static str,
    ra_um: f64,
    limit_um: Option<f64>,
    /// Most that it may be wrong by.
    error_limit_um: f64,
    /// Whether that is assumed, since nobody said.
    error_limit_assumed: bool,
    state: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    lay: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    with: Option<String>,
}

/// The roughness of a sheet; nothing where none was measured.
fn rough(sheet: &Sheet, verdict: &Verdict) -> Option<Rough> {
    let words = RoughnessWords::of(sheet);
    let length = |mm: f64| round(mm / sheet.unit.mm());
    let mut places = Vec::new();
    for one in Taken::BOTH.into_iter().flat_map(|taken| words.journals(taken)) {
        places.extend(one.places.iter().map(|(row, outcome)| RoughPlace {
            journal: one.journal.to_string(),
            at: length(row.at_mm),
            when: row.taken.word(),
            ra_um: round(row.ra_um),
            limit_um: one.limit_um.map(round),
            error_limit_um: round(row.wrong_by_um()),
            error_limit_assumed: row.error_limit_um.is_none(),
            state: RoughnessWords::state(*outcome),
            lay: row.lay.map(Lay::word),
            with: row.with.clone(),
        }));
    }
    if places.is_empty() {
        return None;
    }
    let choice = |set| verdict.sets.iter().find(|known| known.set == set).map(|known| known.choice);
    let before = words.journals(Taken::Before);
    let not = before.iter().filter(|one| one.limit_um.is_some() && !one.is_measured());
    Some(Rough {
        places,
        not_measured: not.map(|one| one.journal.to_string()).collect(),
        says: words.meaning(choice).into_iter().map(|(_, says)| says).collect(),
    })
}

/// The decision rule, so that a verdict can be read again later.
#[derive(Debug, Serialize)]
struct Rule {
    within_at: f64,
    outside_at: f64,
    confidence: f64,
    clean_up_stock: f64,
    draws: usize,
    seed: u64,
}

/// The answer to a sheet as a JSON value; lengths in the sheet's unit.
pub fn answer(sheet: &Sheet, verdict: &Verdict) -> Value {
    let unit = sheet.unit;
    let length = |mm: f64| round(mm / unit.mm());
    let choice = |choice: Choice| match choice {
        Choice::Grind { undersize_mm } => Value::from(length(undersize_mm)),
        other => Value::from(other.word()),
    };
    let stamped = |set: SetName, journal: Option<crank::JournalId>| {
        let stamp = sheet.findings.stamps.iter().find(|stamp| stamp.set == set && stamp.journal == journal)?;
        Some(length(stamp.undersize_mm))
    };
    let set = |name: SetName| {
        let set = verdict.sets.iter().find(|s| s.set == name)?;
        Some(Set {
            ground_to: length(set.ground_to.undersize_mm),
            perhaps_ground_to: set.ground_to.also.iter().map(|&u| length(u)).collect(),
            stamped: stamped(name, None),
            own_ground_to: set
                .own_steps
                .iter()
                .map(|(journal, mm)| (journal.to_string(), Value::from(length(*mm))))
                .collect(),
            choice: choice(set.choice),
            action: set.choice.word(),
            reason: set.reason.clone(),
            undecided: set.undecided.map(regrind::Undecided::word),
            if_ground: set.if_ground_mm.map(length),
            leave_alone: set.leave_alone.share(),
            leave_alone_as_measured: set.leave_alone_as_measured.share(),
            leave_alone_as_read: set.leave_alone_as_read.share(),
            polish_only: set.polish_only.share(),
            polish_only_as_measured: set.polish_only_as_measured.share(),
            polish_only_as_read: set.polish_only_as_read.share(),
            set_up: set.set_up.as_ref().map(|told| axis(told, length)),
            first_size: shaft_answer::first_size(sheet, set),
            undersizes: set
                .steps
                .iter()
                .map(|step| Undersize {
                    undersize: length(step.undersize_mm),
                    chance: step.chance.share(),
                    sampling_error: sampling_error(step.chance),
                    chance_as_measured: step.chance_as_measured.share(),
                    spare: length(step.spare_mm),
                    spare_after_stock: length(step.spare_after_stock_mm),
                    middle_spare: length(step.middle_spare_mm),
                    grind_to: length(step.ground_size_mm),
                    permitted: step.permitted,
                    set_up: step.set_up.as_ref().map(|told| axis(told, length)),
                    way: step.way.word(),
                    case_left: cases::answer(sheet, name, step),
                    governed_by: governed_by(set.governed_by),
                    expected_cost: step.expected_cost,
                })
                .collect(),
            unmeasured: set
                .unmeasured
                .iter()
                .map(|u| Unmeasured { what: u.kind.word(), journal: u.journal.map(|j| j.to_string()), costs: u.costs })
                .collect(),
            apart: set.apart.as_ref().map(|apart| Apart {
                journals: apart
                    .journals
                    .iter()
                    .map(|one| ApartJournal {
                        journal: one.journal.to_string(),
                        under_deposit: length(one.under_deposit_mm),
                        thickness: length(one.thickness_mm),
                        back_to: length(one.back_to_mm),
                    })
                    .collect(),
                others_may_stay: matches!(apart.others, Others::Stay),
                others_too_close: matches!(apart.others, Others::TooClose),
                others_polish_to_size: matches!(apart.others, Others::ToSize),
                others: apart.others.ground().map(|(mm, _)| length(mm)),
                others_chance: apart.others.ground().map(|(_, chance)| chance.share()),
            }),
            not_measured: set.missing.iter().flat_map(|m| &m.journals).map(ToString::to_string).collect(),
            chance_if_the_rest_are_alike: set.missing.as_ref().and_then(|m| m.chance_if_alike),
            measure_next: set.next.as_ref().map(|next| Next {
                journal: next.journal.map(|j| j.to_string()),
                kind: next.kind.word(),
                at: next.at_mm.map(length),
                plane: next.plane_deg,
                measure: next.measure.clone(),
                could_change: next.could_change.clone(),
                foretold: next
                    .foretold
                    .iter()
                    .map(|f| Foretold {
                        result: f.result.clone(),
                        shows: f.shows_mm.map(length),
                        shows_square: f.shows_square_mm.map(length),
                        trace: f.sweep.as_ref().map(|swept| Trace {
                            at: length(swept.at_mm),
                            size: length(swept.size.mm),
                            angles: swept.angles_deg.clone(),
                            departures: swept.departures_mm.iter().map(|&mm| length(mm)).collect(),
                        }),
                        high: f.high_deg,
                        share: f.share,
                        undersize: length(f.undersize_mm),
                        chance: f.chance,
                        choice: choice(f.choice),
                    })
                    .collect(),
                changes_choice: next.changes_choice,
            }),
        })
    };
    let whole = Answer {
        mark: sheet.mark.clone(),
        specification: sheet.specification.name.clone(),
        journals: verdict
            .journals
            .iter()
            .map(|journal| {
                let condition = &journal.condition;
                Journal {
                    journal: condition.journal.to_string(),
                    mean: length(condition.mean_mm),
                    smallest: length(condition.smallest_mm),
                    largest: length(condition.largest_mm),
                    out_of_round: condition.out_of_round_mm().map(length),
                    taper: condition.taper_mm().map(length),
                    stations: condition
                        .stations
                        .iter()
                        .map(|s| Station { at: length(s.at_mm), out_of_round: s.out_of_round_mm.map(length) })
                        .collect(),
                    planes: condition
                        .planes
                        .iter()
                        .map(|p| Plane {
                            plane: p.plane_deg,
                            taper: p.taper_mm.map(length),
                            barrel: p.barrel.map(|b| length(b.barrel_mm())),
                        })
                        .collect(),
                    ground_to: length(condition.ground_to_mm),
                    stamped: stamped(condition.journal.set, Some(condition.journal)),
                    wear: length(condition.wear_mm),
                    state: journal.state.words(),
                    within_chance: journal.within.share(),
                    within_chance_as_measured: journal.within_as_measured.share(),
                    within_chance_as_read: journal.within_as_read.share(),
                    uncertainty: length(condition.uncertainty_mm),
                }
            })
            .collect(),
        sets: Sets { main: set(SetName::Main), pin: set(SetName::Pin) },
        pairs: verdict
            .pairs
            .iter()
            .map(|pair| Pair {
                main: length(pair.main_mm),
                pin: length(pair.pin_mm),
                spare: length(pair.spare_mm),
                spare_exact: length(pair.spare_exact_mm),
                chance: pair.chance.share(),
                sampling_error: sampling_error(pair.chance),
                chance_as_measured: pair.chance_as_measured.share(),
                governed_by: governed_by(pair.governed_by),
                axis: axis(&pair.best, length),
                set_up: axis(&pair.set_up, length),
                spare_as_set_up: length(pair.spare_as_set_up_mm),
                way: pair.way.word(),
                spare_chosen: length(pair.spare_chosen_mm),
                shift: length(pair.shift_mm),
                curve: shaft_answer::curve(&pair.curve, length),
            })
            .collect(),
        chosen_pair: verdict.chosen_pair.map(|(main, pin)| ChosenPair { main: length(main), pin: length(pin) }),
        plan: SetName::BOTH.into_iter().flat_map(|set| plans_of(sheet, verdict, set)).collect(),
        shaft: shaft_answer::shaft(sheet, verdict),
        bend: dials::answer(sheet),
        throws: heights::answer(sheet),
        roughness: rough(sheet, verdict),
        notes: verdict
            .notes
            .iter()
            .map(|note| Note { kind: note.kind, journal: note.journal.map(|j| j.to_string()), says: note.says.clone() })
            .collect(),
        look_again: verdict.look_again,
        rule: Rule {
            within_at: sheet.policy.within_at,
            outside_at: sheet.policy.outside_at,
            confidence: sheet.policy.confidence,
            clean_up_stock: length(sheet.policy.clean_up_stock_mm),
            draws: sheet.policy.draws,
            seed: sheet.policy.seed,
        },
        units: unit.symbol(),
    };
    // Serialising plain structs of numbers and strings cannot fail; a null would be the honest answer if it did.
    serde_json::to_value(whole).unwrap_or(Value::Null)
}

fn axis(set_up: &SetUp, length: impl Fn(f64) -> f64) -> Axis {
    let pin = |pin: &regrind::PinCentre| PinCentre {
        journal: pin.journal.to_string(),
        u: length(pin.u_mm),
        v: length(pin.v_mm),
    };
    Axis {
        x0: length(set_up.axis.x0_mm),
        y0: length(set_up.axis.y0_mm),
        sx: set_up.axis.sx,
        sy: set_up.axis.sy,
        pins: set_up.pins.iter().map(pin).collect(),
    }
}

/// The plan of every journal of a set: alike for all where the set is ground, of its own where it is only polished.
fn plans_of(sheet: &Sheet, verdict: &Verdict, set: SetName) -> Vec<JournalPlan> {
    let plan = |journal: String, undersize_mm: f64, stages: &[StageSize]| JournalPlan {
        journal,
        undersize: round(undersize_mm / sheet.unit.mm()),
        stages: stages.iter().map(|stage| stage_answer(stage, sheet, set)).collect(),
    };
    let mut all = Vec::new();
    for ground in verdict.plans.iter().filter(|plan| plan.set == set) {
        let own = sheet.specification.journals().filter(|id| id.set == set && !ground.without.contains(id));
        all.extend(own.map(|id| plan(id.to_string(), ground.undersize_mm, &ground.plan.stages)));
    }
    for polished in verdict.polish.iter().filter(|plan| plan.set == set) {
        let journals = polished.journals.iter();
        all.extend(journals.map(|one| plan(one.journal.to_string(), polished.undersize_mm, &one.stages)));
    }
    all
}

fn stage_answer(stage: &StageSize, sheet: &Sheet, set: SetName) -> Stage {
    let unit = sheet.unit;
    let window = stage.window_figures(unit);
    Stage {
        stage: stage.stage.word(),
        target: printed(&stage.target_figure(unit), stage.target_mm, unit),
        low: window.as_ref().map(|(low, _)| printed(low, stage.window.low_mm, unit)),
        high: window.as_ref().map(|(_, high)| printed(high, stage.window.high_mm, unit)),
        graduation: stage.graduation_mm.map(|mm| round(mm / unit.mm())),
        finishes_within: stage.finishes.map(|finishes| (finishes.chance * 1e6).round() / 1e6),
        rest: stage.finishes.map(|finishes| finishes.rest.word()),
        micrometer: gauge::as_read(&sheet.micrometers_for(set), stage.target_mm, sheet.unit),
    }
}

/// A figure as it is printed, as a number; programs get the sizes that people read.
fn printed(figure: &str, mm: f64, unit: Unit) -> f64 {
    figure.parse().unwrap_or_else(|_| round(mm / unit.mm()))
}

fn governed_by(place: Option<Place>) -> Option<String> {
    place.map(|p| p.to_string())
}

fn sampling_error(chance: Chance) -> f64 {
    chance.sampling_error()
}

/// Takes away the rounding noise of the conversion: eleven decimals are a hundredth of the finest thing compared.
pub(crate) fn round(value: f64) -> f64 {
    let rounded = (value * 1e11).round() / 1e11;
    if rounded == 0.0 { 0.0 } else { rounded }
}
