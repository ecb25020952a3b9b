//! The first size that cleans up, the curve of spare against shift, and what a move does to the rest of the shaft: as JSON, and
//! the size in words with what its bearing is made to.

use crank::{PrintedBand, SetName};
use fit::Rollers;
use regrind::{FirstSize, SetVerdict, ShaftAfter, SpareAgainstShift, Verdict};
use serde::Serialize;
use units::show_mm;

use crate::Sheet;
use crate::answer::round;

/// The first size of a set; lengths on the diameter.
#[derive(Debug, Serialize)]
pub(crate) struct FirstSizeAnswer {
    size: f64,
    undersize: f64,
    grind_to: f64,
    /// The quantile before it was rounded down, and between what it lies 95 in 100 times.
    exact: f64,
    low: Option<f64>,
    high: Option<f64>,
    confidence: f64,
    draws: usize,
    way: &'static str,
    /// The first undersize that shells are made for and that does.
    next_shell: Option<f64>,
    permitted: bool,
    /// What a bearing is bored to for the wanted clearance, where the set has no ladder.
    #[serde(skip_serializing_if = "Option::is_none")]
    bore: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rollers: Option<RollersAnswer>,
    unit: &'static str,
}

#[derive(Debug, Serialize)]
struct RollersAnswer {
    race: f64,
    exact: f64,
    choice: Option<f64>,
    clearance: Option<f64>,
    made: Vec<Made>,
}

#[derive(Debug, Serialize)]
struct Made {
    roller: f64,
    clearance: f64,
}

/// A point of the curve; straight between them.
#[derive(Debug, Serialize)]
pub(crate) struct CurvePoint {
    spare: f64,
    shift: f64,
}

/// What is done to the rest of the shaft.
#[derive(Debug, Serialize)]
pub(crate) struct ShaftAnswer {
    features: Vec<FeatureAnswer>,
    #[serde(skip_serializing_if = "Option::is_none")]
    balance: Option<BalanceAnswer>,
}

#[derive(Debug, Serialize)]
struct FeatureAnswer {
    name: String,
    at: f64,
    measured: bool,
    now: Option<f64>,
    after: f64,
    high: f64,
    limit: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    face_after: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    face_limit: Option<f64>,
    over: bool,
}

/// In gram millimetres whatever the sizes are in.
#[derive(Debug, Serialize)]
struct BalanceAnswer {
    from_shift_g_mm: [f64; 2],
    from_grinding_g_mm: [f64; 2],
    static_g_mm: f64,
    couple_g_mm2: f64,
    permitted_g_mm: Option<f64>,
    over: bool,
    centre_of_mass_at: f64,
}

/// The rollers of a set at a size; nothing where the book has none.
fn rollers(sheet: &Sheet, set: SetName, size_mm: f64) -> Option<(f64, Rollers)> {
    let printed = book(sheet, set);
    let listed = printed.rollers.as_ref()?;
    let unit = sheet.printed.unit;
    let (race_mm, clearance_mm) = (listed.race.mm(unit)?, listed.clearance.mm(unit)?);
    let made: Vec<f64> = listed.made.iter().filter_map(|made| made.mm(unit)).collect();
    Some((race_mm, fit::rollers(race_mm, size_mm, clearance_mm, &made)))
}

fn book(sheet: &Sheet, set: SetName) -> &crank::PrintedSet {
    match set {
        SetName::Main => &sheet.printed.main,
        SetName::Pin => &sheet.printed.pin,
    }
}

/// What the bearing of a set without a ladder is bored to; nothing where no clearance is wanted or it runs on rollers.
fn bore_mm(sheet: &Sheet, first: &FirstSize, set: SetName) -> Option<f64> {
    if !first.any_size || book(sheet, set).rollers.is_some() {
        return None;
    }
    let printed = || PrintedBand::in_columns(&book(sheet, set).clearance, sheet.printed.unit)?.band();
    let clearance_mm = sheet.wanted.of(set).or_else(|| printed().map(crank::Band::middle_mm))?;
    Some(fit::bore_mm(first.size_mm, clearance_mm))
}

pub(crate) fn first_size(sheet: &Sheet, set: &SetVerdict) -> Option<FirstSizeAnswer> {
    let first = set.first_size.as_ref()?;
    let length = |mm: f64| round(mm / sheet.unit.mm());
    let rollers = rollers(sheet, set.set, first.size_mm).map(|(race_mm, rollers)| RollersAnswer {
        race: length(race_mm),
        exact: length(rollers.exact_mm),
        choice: rollers.choice.map(|roller| length(roller.made_mm)),
        clearance: rollers.choice.map(|roller| length(roller.clearance_mm)),
        made: rollers
            .made
            .iter()
            .map(|one| Made { roller: length(one.made_mm), clearance: length(one.clearance_mm) })
            .collect(),
    });
    Some(FirstSizeAnswer {
        size: length(first.size_mm),
        undersize: length(first.undersize_mm),
        grind_to: length(first.ground_size_mm),
        exact: length(first.exact_mm),
        low: first.low_mm.map(length),
        high: first.high_mm.map(length),
        confidence: first.confidence,
        draws: first.draws,
        way: first.way.word(),
        next_shell: first.next_shell_mm.filter(|_| !first.any_size).map(length),
        permitted: first.permitted,
        bore: bore_mm(sheet, first, set.set).map(length),
        rollers,
        unit: sheet.unit.symbol(),
    })
}

/// The first size of a set in words, with what its bearing is made to.
pub fn first_size_words(sheet: &Sheet, set: &SetVerdict) -> Vec<String> {
    let Some(first) = &set.first_size else { return Vec::new() };
    let unit = sheet.unit;
    let shown = |mm: f64| format!("{} {unit}", show_mm(mm, unit, unit.usual_decimals()));
    let mut says = vec![first.words(unit)];
    if let Some(mm) = bore_mm(sheet, first, set.set) {
        says.push(format!("Bore the bearing to {} for the clearance that is wanted.", shown(mm)));
    }
    if let Some((_, rollers)) = rollers(sheet, set.set, first.size_mm) {
        says.push(match rollers.choice {
            Some(one) => format!(
                "Rollers of {} would be right; of those made take {}, which gives {} of clearance.",
                shown(rollers.exact_mm),
                shown(one.made_mm),
                shown(one.clearance_mm)
            ),
            None => format!(
                "Rollers of {} would be right, and all that are made are larger: the race has to be opened, or the journal goes \
                 deeper.",
                shown(rollers.exact_mm)
            ),
        });
    }
    says
}

pub(crate) fn curve(points: &[SpareAgainstShift], length: impl Fn(f64) -> f64) -> Vec<CurvePoint> {
    points.iter().map(|point| CurvePoint { spare: length(point.spare_mm), shift: length(point.shift_mm) }).collect()
}

pub(crate) fn shaft(sheet: &Sheet, verdict: &Verdict) -> Option<ShaftAnswer> {
    let ShaftAfter { features, unbalance } = verdict.shaft.as_ref()?;
    let length = |mm: f64| round(mm / sheet.unit.mm());
    let grams = |g_mm: f64| (g_mm * 1e6).round() / 1e6;
    Some(ShaftAnswer {
        features: features
            .iter()
            .map(|one| FeatureAnswer {
                name: one.name.clone(),
                at: length(one.at_mm),
                measured: one.now_mm.is_some(),
                now: one.now_mm.map(length),
                after: length(one.after_mm),
                high: (one.high_deg * 1e6).round() / 1e6,
                limit: one.limit_mm.map(length),
                face_after: one.face_after_mm.map(length),
                face_limit: one.face_limit_mm.map(length),
                over: one.is_over(),
            })
            .collect(),
        balance: unbalance.as_ref().map(|one| BalanceAnswer {
            from_shift_g_mm: [grams(one.shift_g_mm.0), grams(one.shift_g_mm.1)],
            from_grinding_g_mm: [grams(one.ground_off_g_mm.0), grams(one.ground_off_g_mm.1)],
            static_g_mm: grams(one.static_g_mm()),
            couple_g_mm2: grams(one.couple_g_mm2),
            permitted_g_mm: one.permitted_g_mm.map(grams),
            over: one.is_over(),
            centre_of_mass_at: length(one.centre_at_mm),
        }),
    })
}

/// The shaft after grinding, in words: a line for each feature and for the balance. Empty where neither is told.
pub fn shaft_words(sheet: &Sheet, verdict: &Verdict) -> Vec<String> {
    let Some(ShaftAfter { features, unbalance }) = &verdict.shaft else { return Vec::new() };
    let unit = sheet.unit;
    let shown = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
    let mut says: Vec<String> = features
        .iter()
        .map(|one| {
            let now =
                one.now_mm.map_or("not measured, taken to run true".to_owned(), |mm| format!("now {}", shown(mm)));
            let limit = one.limit_mm.map_or(String::new(), |mm| format!(", the book allows {}", shown(mm)));
            let face = one.face_after_mm.map_or(String::new(), |mm| {
                let limit = one.face_limit_mm.map_or(String::new(), |mm| format!(", the book allows {}", shown(mm)));
                format!("; its face at most {}{limit}", shown(mm))
            });
            let over = if one.is_over() { " (over)" } else { "" };
            format!("{}: dial {} {unit} afterwards, {now}{limit}{face}{over}", one.name, shown(one.after_mm))
        })
        .collect();
    if let Some(one) = unbalance {
        let limit = one.permitted_g_mm.map_or("no figure to hold it to".to_owned(), |most| {
            let whose = if one.by_maker { "the maker allows" } else { "its balance grade allows" };
            format!("{whose} {most:.0}")
        });
        says.push(format!(
            "balance: {:.0} g mm of the shift, {:.0} g mm with the metal that comes off, {limit}; couple {:.0} g mm²",
            one.shift_g_mm.0.hypot(one.shift_g_mm.1),
            one.static_g_mm(),
            one.couple_g_mm2
        ));
    }
    says
}
