//! The answer for the bearings as JSON, in the sheet's own unit.

use crank::{Band, SetName, State};
use fit::{Bearing, Clearance, Fit, Quote, SetFit, Span, WantedFrom};
use regrind::Chance;
use serde::Serialize;
use serde_json::Value;
use units::Unit;

use crate::Sheet;
use crate::answer::round;

#[derive(Debug, Serialize)]
struct Answer {
    #[serde(skip_serializing_if = "Option::is_none")]
    mark: Option<String>,
    specification: String,
    bearings: Vec<OneBearing>,
    sets: Sets,
    #[serde(skip_serializing_if = "Option::is_none")]
    end_float: Option<EndFloat>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    sides: Vec<SideClearance>,
    order: Vec<OrderLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    quotation: Option<Quotation>,
    stops: Vec<Stop>,
    remarks: Vec<Remark>,
    /// The temperature of the hot clearances, degrees Celsius.
    running_c: f64,
    units: &'static str,
}

#[derive(Debug, Serialize)]
struct OneBearing {
    journal: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    housing: Option<Housing>,
    #[serde(skip_serializing_if = "Option::is_none")]
    shells: Option<Shells>,
    #[serde(skip_serializing_if = "Option::is_none")]
    as_found: Option<Room>,
    #[serde(skip_serializing_if = "Option::is_none")]
    as_planned: Option<Room>,
    #[serde(skip_serializing_if = "Option::is_none")]
    wanted_journal: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    crush: Option<Crush>,
}

#[derive(Debug, Serialize)]
struct Housing {
    smallest: f64,
    mean: f64,
    largest: f64,
    out_of_round: Option<f64>,
    taper: Option<f64>,
    uncertainty: f64,
    within_chance: Option<f64>,
    sampling_error: Option<f64>,
    state: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct Shells {
    upper: String,
    lower: String,
}

#[derive(Debug, Serialize)]
struct Crush {
    gap: f64,
    within: Option<bool>,
}

/// A clearance, on the diameter.
#[derive(Debug, Serialize)]
struct Room {
    undersize: f64,
    tightest: f64,
    mean: f64,
    loosest: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    along: Option<Along>,
    uncertainty: f64,
    /// What the uncertainty is made of, standard uncertainties.
    parts: Vec<Part>,
    within_chance: Option<f64>,
    sampling_error: Option<f64>,
    state: Option<&'static str>,
    walls: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    hot_mean: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Along {
    tightest: f64,
    mean: f64,
    loosest: f64,
}

#[derive(Debug, Serialize)]
struct Part {
    name: String,
    uncertainty: f64,
    shared: bool,
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
    undersize: f64,
    ground: bool,
    limits: Option<[f64; 2]>,
    wanted: Option<f64>,
    wanted_from: Option<&'static str>,
    finish_to: Option<f64>,
    finish_within: Option<[f64; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    no_size: Option<String>,
    matched: bool,
    within_chance: Option<f64>,
    spread: Option<f64>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    not_measured: Vec<String>,
}

#[derive(Debug, Serialize)]
struct EndFloat {
    journal: String,
    reckoned: Option<f64>,
    measured: Option<f64>,
    uncertainty: Option<f64>,
    limits: Option<[f64; 2]>,
    within_chance: Option<f64>,
    sampling_error: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    washers: Option<Washers>,
}

#[derive(Debug, Serialize)]
struct Washers {
    front: f64,
    rear: f64,
    float: f64,
    within: bool,
    front_stays: bool,
    rear_stays: bool,
}

#[derive(Debug, Serialize)]
struct SideClearance {
    journal: String,
    clearance: f64,
    uncertainty: f64,
    limits: Option<[f64; 2]>,
    within_chance: Option<f64>,
    sampling_error: Option<f64>,
}

#[derive(Debug, Serialize)]
struct OrderLine {
    what: String,
    size: f64,
    size_in_words: String,
    needed: usize,
    on_the_bench: usize,
    to_order: usize,
    note: String,
}

#[derive(Debug, Serialize)]
struct Quotation {
    lines: Vec<QuoteLine>,
    total: f64,
    again: Vec<Again>,
    likely: f64,
    not_priced: Vec<String>,
    ways: Vec<Ways>,
}

#[derive(Debug, Serialize)]
struct QuoteLine {
    what: String,
    count: u32,
    each: f64,
    amount: f64,
}

#[derive(Debug, Serialize)]
struct Again {
    what: String,
    amount: f64,
}

#[derive(Debug, Serialize)]
struct Ways {
    set: &'static str,
    by_cost: Option<f64>,
    by_confidence: Option<f64>,
    ways: Vec<Way>,
}

#[derive(Debug, Serialize)]
struct Way {
    undersize: f64,
    chance: f64,
    grind: f64,
    bearings: f64,
    life: f64,
    going_again: f64,
    expected_cost: f64,
    charged: f64,
    steps_used: usize,
    steps_left: usize,
}

#[derive(Debug, Serialize)]
struct Stop {
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    journal: Option<String>,
    says: String,
}

#[derive(Debug, Serialize)]
struct Remark {
    #[serde(skip_serializing_if = "Option::is_none")]
    journal: Option<String>,
    says: String,
}

/// The answer for the bearings of a sheet as a JSON value; lengths in the sheet's unit, money in the shop's.
pub fn fit_answer(sheet: &Sheet, fit: &Fit, quote: &Quote) -> Value {
    let length = |mm: f64| round(mm / sheet.unit.mm());
    let band = |band: Option<Band>| band.map(|band| [length(band.low_mm), length(band.high_mm)]);
    let set = |name: SetName| fit.sets.iter().find(|set| set.set == name).map(|found| set(found, sheet.unit));
    let answer = Answer {
        mark: sheet.mark.clone(),
        specification: sheet.specification.name.clone(),
        bearings: fit.bearings.iter().map(|found| bearing(sheet, found)).collect(),
        sets: Sets { main: set(SetName::Main), pin: set(SetName::Pin) },
        end_float: fit.end_float.as_ref().map(|float| EndFloat {
            journal: float.journal.to_string(),
            reckoned: float.reckoned_mm.map(length),
            measured: float.measured_mm.map(length),
            uncertainty: float.uncertainty_mm.map(length),
            limits: band(float.limits),
            within_chance: float.within.map(Chance::share),
            sampling_error: float.within.map(Chance::sampling_error),
            washers: float.washers.map(|washers| Washers {
                front: length(washers.front_mm),
                rear: length(washers.rear_mm),
                float: length(washers.float_mm),
                within: washers.within,
                front_stays: washers.front_there,
                rear_stays: washers.rear_there,
            }),
        }),
        sides: fit
            .sides
            .iter()
            .map(|side| SideClearance {
                journal: side.journal.to_string(),
                clearance: length(side.mm),
                uncertainty: length(side.uncertainty_mm),
                limits: band(side.limits),
                within_chance: side.within.map(Chance::share),
                sampling_error: side.within.map(Chance::sampling_error),
            })
            .collect(),
        order: fit
            .order
            .iter()
            .map(|line| OrderLine {
                what: line.what.clone(),
                size: length(line.size_mm),
                size_in_words: line.size.clone(),
                needed: line.needed,
                on_the_bench: line.on_the_bench,
                to_order: line.to_order(),
                note: line.note.clone(),
            })
            .collect(),
        quotation: (!quote.lines.is_empty() || !quote.ways.is_empty()).then(|| quotation(quote, sheet.unit)),
        stops: fit
            .stops
            .iter()
            .map(|stop| Stop {
                kind: stop.kind.word(),
                journal: stop.journal.map(|journal| journal.to_string()),
                says: stop.says.clone(),
            })
            .collect(),
        remarks: fit
            .remarks
            .iter()
            .map(|remark| Remark {
                journal: remark.journal.map(|journal| journal.to_string()),
                says: remark.says.clone(),
            })
            .collect(),
        running_c: fit.running_c,
        units: sheet.unit.symbol(),
    };
    // As for the other answer: plain structs of numbers and strings.
    serde_json::to_value(answer).unwrap_or(Value::Null)
}

fn bearing(sheet: &Sheet, found: &Bearing) -> OneBearing {
    let length = |mm: f64| round(mm / sheet.unit.mm());
    let name = |index: usize| sheet.bearings.shells.get(index).map_or_else(String::new, |shell| shell.name.clone());
    OneBearing {
        journal: found.journal.to_string(),
        housing: found.housing.as_ref().map(|form| Housing {
            smallest: length(form.smallest_mm),
            mean: length(form.mean_mm),
            largest: length(form.largest_mm),
            out_of_round: form.out_of_round_mm.map(length),
            taper: form.taper_mm.map(length),
            uncertainty: length(form.uncertainty_mm),
            within_chance: form.within.map(Chance::share),
            sampling_error: form.within.map(Chance::sampling_error),
            state: form.state.map(State::words),
        }),
        shells: found.shells.map(|placed| Shells { upper: name(placed.upper), lower: name(placed.lower) }),
        as_found: found.as_found.as_ref().map(|clearance| room(clearance, sheet.unit)),
        as_planned: found.as_planned.as_ref().map(|clearance| room(clearance, sheet.unit)),
        wanted_journal: found.wanted_journal_mm.map(length),
        crush: found.crush.map(|(gap_mm, within)| Crush { gap: length(gap_mm), within }),
    }
}

fn room(clearance: &Clearance, unit: Unit) -> Room {
    let length = |mm: f64| round(mm / unit.mm());
    let Span { tightest_mm, mean_mm, loosest_mm } = clearance.across;
    Room {
        undersize: length(clearance.undersize_mm),
        tightest: length(tightest_mm),
        mean: length(mean_mm),
        loosest: length(loosest_mm),
        along: clearance.along.map(|along| Along {
            tightest: length(along.tightest_mm),
            mean: length(along.mean_mm),
            loosest: length(along.loosest_mm),
        }),
        uncertainty: length(clearance.uncertainty_mm),
        parts: clearance
            .budget
            .parts
            .iter()
            .map(|part| Part { name: part.name.clone(), uncertainty: length(part.contribution()), shared: part.shared })
            .collect(),
        within_chance: clearance.within.map(Chance::share),
        sampling_error: clearance.within.map(Chance::sampling_error),
        state: clearance.state.map(State::words),
        walls: clearance.walls.words(),
        hot_mean: clearance.gained_hot_mm.map(|gained_mm| length(mean_mm + gained_mm)),
    }
}

fn set(found: &SetFit, unit: Unit) -> Set {
    let length = |mm: f64| round(mm / unit.mm());
    let band = |band: Band| [length(band.low_mm), length(band.high_mm)];
    Set {
        undersize: length(found.undersize_mm),
        ground: found.ground,
        limits: found.limits.map(band),
        wanted: found.wanted_mm.map(|(mm, _)| length(mm)),
        wanted_from: found.wanted_mm.map(|(_, from)| match from {
            WantedFrom::Shop => "the shop",
            WantedFrom::Book => "the middle of the book's limits",
        }),
        finish_to: found.aim.map(|aim| length(aim.target_mm)),
        finish_within: found.aim.map(|aim| band(aim.window)),
        no_size: found.no_aim.clone(),
        matched: found.matched,
        within_chance: found.within.map(Chance::share),
        spread: found.spread_mm.map(length),
        not_measured: found.not_measured.iter().map(ToString::to_string).collect(),
    }
}

fn quotation(quote: &Quote, unit: Unit) -> Quotation {
    let length = |mm: f64| round(mm / unit.mm());
    Quotation {
        lines: quote
            .lines
            .iter()
            .map(|line| QuoteLine {
                what: line.what.clone(),
                count: line.count,
                each: line.each,
                amount: line.amount(),
            })
            .collect(),
        total: quote.total(),
        again: quote.again.iter().map(|(what, amount)| Again { what: what.clone(), amount: *amount }).collect(),
        likely: quote.likely(),
        not_priced: quote.not_priced.clone(),
        ways: quote
            .ways
            .iter()
            .map(|ways| Ways {
                set: ways.set.word(),
                by_cost: ways.by_cost_mm.map(length),
                by_confidence: ways.by_confidence_mm.map(length),
                ways: ways
                    .ways
                    .iter()
                    .map(|way| Way {
                        undersize: length(way.undersize_mm),
                        chance: way.chance.share(),
                        grind: way.bill.grind,
                        bearings: way.bill.bearings,
                        life: way.bill.life,
                        going_again: way.bill.again_share * way.bill.again,
                        expected_cost: way.bill.total(),
                        charged: way.charged,
                        steps_used: way.steps_used,
                        steps_left: way.steps_left,
                    })
                    .collect(),
            })
            .collect(),
    }
}
