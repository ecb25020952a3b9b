//! The question that these bearings put to the oil: which clearances, in which engine.

use crank::{JournalId, SetName};
use film::case::{Case, Clearance, Input, Known};
use units::show_mm;

use crate::{CLEARANCE_PER_DIAMETER, Engine, Fit, WantedFrom};

/// Share of a journal's length that its shell covers, where the shell's width is not known.
///
/// From memory, no source: a shell clears both fillets.
const SHELL_SHARE: [f64; 3] = [0.78, 0.86, 0.94];

/// Firing orders of engines in line, by the number of cylinders; of each number the one that is met most.
///
/// Common practice, no source.
const FIRING_ORDERS: [&[usize]; 6] = [&[1], &[1, 2], &[1, 3, 2], &[1, 3, 4, 2], &[1, 2, 4, 5, 3], &[1, 5, 3, 6, 2, 4]];

/// A case for the film, and in words where its clearances come from.
#[derive(Clone, Debug, PartialEq)]
pub struct OilCase {
    /// The case; the second clearance is the plan.
    pub case: Case,
    /// Where the clearances come from, and what else was taken for granted.
    pub notes: Vec<String>,
}

/// The case of an engine as found, as planned, and at the upper limit of the book.
///
/// Where housings and shells were measured, clearances are the measured ones: as found the greatest, as planned the mean.
/// Elsewhere the plan is the wanted clearance or the middle of the book's limits, and as found it is wider by the wear.
///
/// # Errors
/// Why no case can be made of this crank, in words.
/// # Limits
/// One upright cylinder to each throw, and a main on both sides of every throw.
pub fn oil_case(engine: &Engine<'_>, fit: &Fit) -> Result<OilCase, String> {
    let specification = engine.specification;
    let throws = specification.pin.angles_deg.as_slice();
    let order = throws.len().checked_sub(1).and_then(|n| FIRING_ORDERS.get(n)).copied();
    let Some(order) = order.filter(|order| fires_evenly(throws, order)) else {
        return Err(
            "The film is worked out for cylinders in line, one to each throw, that fire evenly in the usual order. For \
             another engine write a case for the command line: tenunder film."
                .to_owned(),
        );
    };
    if specification.main.count() != throws.len() + 1 {
        return Err(
            "The film is worked out for cranks with a main on both sides of every throw. For another crank write a case \
             for the command line: tenunder film."
                .to_owned(),
        );
    }
    let mut notes = Vec::new();
    let (pin, main) =
        (clearances(engine, fit, SetName::Pin, &mut notes), clearances(engine, fit, SetName::Main, &mut notes));
    let diameter_m = |set: SetName| specification.set(set).finished(undersize_mm(fit, set)).middle_mm() / 1000.0;
    let length_m = |set: SetName| specification.set(set).length_mm / 1000.0;
    let [_, usual, _] = SHELL_SHARE;
    let known = Known {
        stroke_m: 2.0 * specification.throw_mm / 1000.0,
        pin_diameter_m: diameter_m(SetName::Pin),
        pin_length_m: usual * length_m(SetName::Pin),
        main_diameter_m: diameter_m(SetName::Main),
        main_length_m: usual * length_m(SetName::Main),
    };
    let mut case = Case::new(&known, throws, order);
    let shell = |journal_m: f64| {
        let [from, usual, to] = SHELL_SHARE;
        Input::assumed(usual * journal_m, from * journal_m, to * journal_m)
    };
    case.figures.pin_length_m = shell(length_m(SetName::Pin));
    case.figures.main_length_m = shell(length_m(SetName::Main));
    notes.push("The width of the shells is taken from the length of the journals.".to_owned());
    let order: Vec<String> = order.iter().map(ToString::to_string).collect();
    notes.push(format!("Firing order {}, one upright cylinder to each throw.", order.join("-")));
    let row = |name: &str, pin_mm: f64, main_mm: f64| Clearance {
        name: name.to_owned(),
        pin_diametral_m: pin_mm / 1000.0,
        main_diametral_m: main_mm / 1000.0,
    };
    case.clearances = vec![
        row("as found", pin.found_mm, main.found_mm),
        row("as planned", pin.planned_mm, main.planned_mm),
        row("at the upper limit", pin.upper_mm, main.upper_mm),
    ];
    case.plan = 1;
    Ok(OilCase { case, notes })
}

/// Clearances of one set, on the diameter.
struct OfSet {
    found_mm: f64,
    planned_mm: f64,
    upper_mm: f64,
}

fn undersize_mm(fit: &Fit, set: SetName) -> f64 {
    fit.sets.iter().find(|known| known.set == set).map_or(0.0, |known| known.undersize_mm)
}

fn clearances(engine: &Engine<'_>, fit: &Fit, set: SetName, notes: &mut Vec<String>) -> OfSet {
    let name = match set {
        SetName::Main => "mains",
        SetName::Pin => "pins",
    };
    let show = |mm: f64| show_mm(mm, engine.unit, engine.unit.usual_decimals());
    let of_set = fit.sets.iter().find(|known| known.set == set);
    let bearings = || fit.bearings.iter().filter(|bearing| bearing.journal.set == set);
    let book = engine.book.set(set).clearance;
    let by_rule_mm = CLEARANCE_PER_DIAMETER * engine.specification.set(set).size.middle_mm();
    let planned: Vec<f64> = bearings().filter_map(|b| b.as_planned.as_ref()).map(|c| c.across.mean_mm).collect();
    let (planned_mm, from) = match (planned.is_empty(), of_set.and_then(|known| known.wanted_mm), book) {
        (false, ..) => (planned.iter().sum::<f64>() / planned.len() as f64, "from the measured housings and shells"),
        (true, Some((mm, WantedFrom::Shop)), _) => (mm, "as the shop wants it"),
        (true, Some((mm, WantedFrom::Book)), _) => (mm, "the middle of the book’s limits"),
        (true, None, Some(band)) => (band.middle_mm(), "the middle of the book’s limits"),
        (true, None, None) => (by_rule_mm, "one thousandth of the diameter, as the book gives none"),
    };
    let found = bearings().filter_map(|b| b.as_found.as_ref()).map(|c| c.across.loosest_mm).max_by(f64::total_cmp);
    let (found_mm, found_from) = match found {
        Some(mm) => (mm, "the widest measured"),
        None => {
            let count = engine.specification.set(set).count();
            let journals = (1..=count).map(|number| JournalId { set, number });
            let worn = journals.filter_map(|id| crank::condition(engine.specification, engine.findings, id, 0.0));
            let worn_mm = worn.map(|condition| condition.wear_mm).fold(0.0, f64::max);
            let middle_mm = book.map_or(by_rule_mm, |band| band.middle_mm());
            (middle_mm + worn_mm, "the middle of the limits and the most worn journal in sound shells")
        }
    };
    notes.push(format!("Clearance of the {name} as planned {}: {from}.", show(planned_mm)));
    notes.push(format!("As found {}: {found_from}.", show(found_mm)));
    let upper_mm = book.map_or(1.5 * by_rule_mm, |band| band.high_mm);
    OfSet { found_mm, planned_mm, upper_mm }
}

/// Whether throws and order belong together: from one firing to the next every throw comes round by the same angle.
fn fires_evenly(throws_deg: &[f64], order: &[usize]) -> bool {
    let apart = 720.0 / order.len().max(1) as f64;
    let angle = |cylinder: usize| cylinder.checked_sub(1).and_then(|n| throws_deg.get(n)).copied();
    let turns = |sign: f64| {
        order.iter().zip(order.iter().cycle().skip(1)).all(|(this, next)| match (angle(*this), angle(*next)) {
            (Some(a), Some(b)) => {
                let off = (sign * (b - a) - apart).rem_euclid(360.0);
                off.min(360.0 - off) < 1.0
            }
            _ => false,
        })
    };
    turns(1.0) || turns(-1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no source: 1-3-4-2 in a four with a flat crank, 1-5-3-6-2-4 in a six of either hand.
    #[test]
    fn usual_orders_fit_usual_cranks() {
        let order = |n: usize| FIRING_ORDERS[n - 1];
        assert!(fires_evenly(&[0.0], order(1)));
        assert!(fires_evenly(&[0.0, 0.0], order(2)));
        assert!(fires_evenly(&[0.0, 240.0, 120.0], order(3)));
        assert!(fires_evenly(&[0.0, 180.0, 180.0, 0.0], order(4)));
        assert!(fires_evenly(&[0.0, 120.0, 240.0, 240.0, 120.0, 0.0], order(6)));
        assert!(fires_evenly(&[0.0, 240.0, 120.0, 120.0, 240.0, 0.0], order(6)));
        // A cross does not fire evenly with one cylinder to each throw in that order.
        assert!(!fires_evenly(&[0.0, 90.0, 270.0, 180.0], order(4)));
        assert!(!fires_evenly(&[0.0, 180.0], order(2)));
    }
}
