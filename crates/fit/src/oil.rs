//! The question that these bearings put to the oil: which clearances, in which engine.

use crank::{JournalId, SetName};
use film::case::{Case, Clearance, Input, Known};
use film::engine::{Along, Layout, OnThrow};
use units::show_mm;

use crate::{CLEARANCE_PER_DIAMETER, Engine, Fit, WantedFrom};

/// Share of a journal's length that its shell covers, where the shell's width is not known.
///
/// From memory, no source: a shell clears both fillets.
const SHELL_SHARE: [f64; 3] = [0.78, 0.86, 0.94];

/// Firing orders of engines in a row, by the number of cylinders, read from either end. Of each number the one that is
/// met most. Other orders that go with the same crank put the same loads on other mains.
///
/// Common practice, no source; that of eight cylinders from memory.
const FIRING_ORDERS: [&[usize]; 7] =
    [&[1], &[1, 2], &[1, 3, 2], &[1, 3, 4, 2], &[1, 2, 4, 5, 3], &[1, 5, 3, 6, 2, 4], &[1, 6, 2, 5, 8, 3, 7, 4]];

/// What to do where the book does not say enough of an engine.
const WRITE_A_CASE: &str = "Write a case for the command line, with a [[cylinder]] row for each cylinder: its throw, how \
                            far its bore leans, and when it fires; docs/film.md has a vee twin and a vee eight to \
                            copy. Then ask: tenunder film.";

/// A case for the film, and in words where its clearances come from.
#[derive(Clone, Debug, PartialEq)]
pub struct OilCase {
    /// The case; the second clearance is the plan.
    pub case: Case,
    /// Where the clearances come from, and what else was taken for granted.
    pub notes: Vec<String>,
    /// Readings that look misread: what is said of the clearances as found rests on them.
    pub doubts: Vec<String>,
}

/// The case of an engine as found, as planned, and at the upper limit of the book.
///
/// Where housings and shells were measured, clearances are the measured ones: as found the greatest, as planned the mean.
/// Elsewhere the plan is the wanted clearance or the middle of the book's limits, and as found it is wider by the wear since
/// the journals were last ground.
///
/// # Errors
/// Why no case can be made of this crank, in words.
/// # Limits
/// One upright cylinder to each throw, firing in the usual order; a bank angle is never guessed. Mains may be missing
/// between throws.
pub fn oil_case(engine: &Engine<'_>, fit: &Fit) -> Result<OilCase, String> {
    let specification = engine.specification;
    let throws = specification.pin.angles_deg.as_slice();
    if let Some(side) = engine.found.sides.iter().find(|side| side.rods.len() > 1) {
        return Err(format!(
            "{} carries {} rods, and the book does not say how their bores lean. {WRITE_A_CASE}",
            capital(&side.journal.to_string()),
            side.rods.len()
        ));
    }
    let Some(fired) = usually_fired(throws) else {
        return Err(format!(
            "These throws are not those of cylinders in a row, one to each throw, that fire in a usual order. \
             {WRITE_A_CASE}"
        ));
    };
    let metres = |places_mm: &[f64]| places_mm.iter().map(|mm| mm / 1000.0).collect::<Vec<f64>>();
    let along =
        Along { mains_m: metres(&specification.main.positions_mm), throws_m: metres(&specification.pin.positions_mm) };
    if let Err(problems) = Layout::of(throws, &fired.cylinders, &fired.order, &along) {
        // By the keys of the specification.
        let key =
            |text: String| text.replace("along.mains_m", "main.positions").replace("along.throws_m", "pin.positions");
        let reasons: Vec<String> = problems.0.iter().map(|problem| key(format!("{problem}."))).collect();
        return Err(format!("The book’s positions do not say what carries the throws: {}", reasons.join(" ")));
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
    let mut case = Case::new(&known, throws, &fired.order);
    if fired.order.is_empty() {
        case.set_cylinders(fired.cylinders);
    }
    case.along = Some(along);
    let shell = |journal_m: f64| {
        let [from, usual, to] = SHELL_SHARE;
        Input::assumed(usual * journal_m, from * journal_m, to * journal_m)
    };
    case.figures.pin_length_m = shell(length_m(SetName::Pin));
    case.figures.main_length_m = shell(length_m(SetName::Main));
    notes.push("The width of the shells is taken from the length of the journals.".to_owned());
    notes.push(format!(
        "{}, one upright cylinder to each throw. For a vee or a flat engine write a case: tenunder film.",
        fired.words
    ));
    let mains = specification.main.count();
    if mains <= throws.len() {
        notes.push(format!(
            "{mains} mains carry {} throws: each throw rests on the two mains beside it, by the lever rule and the book’s \
             positions.",
            throws.len()
        ));
    }
    let row = |name: &str, pin_mm: f64, main_mm: f64| Clearance::alike(name, pin_mm / 1000.0, main_mm / 1000.0);
    let found = Clearance {
        each_pin_m: metres(&pin.found_each_mm),
        each_main_m: metres(&main.found_each_mm),
        ..row("as found", pin.found_mm, main.found_mm)
    };
    if !(pin.found_each_mm.is_empty() && main.found_each_mm.is_empty()) {
        notes.push(
            "As found every bearing drinks at its own clearance; the table shows the widest, and the film of the bearing \
             that has the least."
                .to_owned(),
        );
    }
    case.clearances = vec![
        found,
        row("as planned", pin.planned_mm, main.planned_mm),
        row("at the upper limit", pin.upper_mm, main.upper_mm),
    ];
    case.plan = 1;
    let suspicions = crank::suspicions(specification, engine.findings, engine.unit);
    let doubts = suspicions.into_iter().filter(crank::Suspicion::accuses).map(|suspicion| suspicion.says).collect();
    Ok(OilCase { case, notes, doubts })
}

/// Clearances of one set, on the diameter.
struct OfSet {
    /// The widest.
    found_mm: f64,
    /// Each bearing's own, where every journal was looked at; otherwise none.
    found_each_mm: Vec<f64>,
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
            // Wear is counted from the size that the set was last ground to: its shells are of that undersize.
            let ground_mm = crank::last_ground_to(engine.specification, engine.findings, set).undersize_mm;
            let worn = journals.filter_map(|id| crank::condition(engine.specification, engine.findings, id, ground_mm));
            let worn_mm = worn.map(|condition| condition.wear_mm).fold(0.0, f64::max);
            let middle_mm = book.map_or(by_rule_mm, |band| band.middle_mm());
            (middle_mm + worn_mm, "the middle of the limits and the most worn journal in sound shells")
        }
    };
    let found_each_mm = each_found_mm(engine, fit, set, book.map_or(by_rule_mm, |band| band.middle_mm()));
    let found_mm = found_each_mm.iter().copied().max_by(f64::total_cmp).unwrap_or(found_mm);
    notes.push(format!("Clearance of the {name} as planned {}: {from}.", show(planned_mm)));
    notes.push(format!("As found {}: {found_from}.", show(found_mm)));
    let upper_mm = book.map_or(1.5 * by_rule_mm, |band| band.high_mm);
    OfSet { found_mm, found_each_mm, planned_mm, upper_mm }
}

/// Each bearing's clearance as found, in the order of the journals: as measured, or where no bearing of the set was, the
/// middle of the limits and the journal's own wear since it was last ground. Nothing where one of them is not known.
fn each_found_mm(engine: &Engine<'_>, fit: &Fit, set: SetName, middle_mm: f64) -> Vec<f64> {
    let ids = || (1..=engine.specification.set(set).count()).map(|number| JournalId { set, number });
    let measured = |id: JournalId| {
        let bearing = fit.bearings.iter().find(|bearing| bearing.journal == id)?;
        bearing.as_found.as_ref().map(|clearance| clearance.across.loosest_mm)
    };
    if ids().any(|id| measured(id).is_some()) {
        return ids().map(measured).collect::<Option<Vec<f64>>>().unwrap_or_default();
    }
    let ground_mm = crank::last_ground_to(engine.specification, engine.findings, set).undersize_mm;
    let worn = |id: JournalId| {
        let condition = crank::condition(engine.specification, engine.findings, id, ground_mm)?;
        Some(middle_mm + condition.wear_mm.max(0.0))
    };
    ids().map(worn).collect::<Option<Vec<f64>>>().unwrap_or_default()
}

/// How the cylinders of an engine in a row fire.
struct Fired {
    cylinders: Vec<OnThrow>,
    /// Empty where the cylinders have their own angles.
    order: Vec<usize>,
    words: String,
}

/// The usual firing of an engine with these throws, one upright cylinder on each; none where there is no usual one.
fn usually_fired(throws_deg: &[f64]) -> Option<Fired> {
    let count = throws_deg.len();
    let bays = Along::main_by_main(count);
    let each = OnThrow::each(count);
    let fits = |cylinders: &[OnThrow], order: &[usize]| Layout::of(throws_deg, cylinders, order, &bays).is_ok();
    let usual = FIRING_ORDERS.iter().find(|order| order.len() == count && fits(&each, order));
    if let Some(order) = usual {
        let words = order.iter().map(ToString::to_string).collect::<Vec<_>>().join("-");
        return Some(Fired { cylinders: each, order: order.to_vec(), words: format!("Firing order {words}") });
    }
    // Twins with throws opposed, or square to each other: the second fires at that of its tops which is nearer to a whole
    // turn. Common practice, no source.
    [180.0, 270.0].into_iter().find_map(|second| {
        let cylinders: Vec<OnThrow> = (1..)
            .zip([0.0, second])
            .map(|(throw, fires)| OnThrow { throw, lean_deg: 0.0, fires_deg: Some(fires) })
            .collect();
        let words = format!("Firing at 0 and {second:.0} degrees of two turns");
        (count == 2 && fits(&cylinders, &[])).then_some(Fired { cylinders, order: Vec::new(), words })
    })
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no source: 1-3-4-2 in a four with a flat crank, 1-5-3-6-2-4 in a six of either hand, 1-2-4-5-3 in
    /// a five, twins together and opposed.
    #[test]
    fn usual_orders_fit_usual_cranks() {
        let words = |throws: &[f64]| usually_fired(throws).map(|fired| fired.words);
        let order = |throws: &[f64], words_of: &str| assert_eq!(words(throws).as_deref(), Some(words_of), "{throws:?}");
        order(&[0.0], "Firing order 1");
        order(&[0.0, 0.0], "Firing order 1-2");
        order(&[0.0, 180.0], "Firing at 0 and 180 degrees of two turns");
        order(&[0.0, 270.0], "Firing at 0 and 270 degrees of two turns");
        order(&[0.0, 90.0], "Firing at 0 and 270 degrees of two turns");
        order(&[0.0, 240.0, 120.0], "Firing order 1-3-2");
        order(&[0.0, 120.0, 240.0], "Firing order 1-3-2");
        order(&[0.0, 180.0, 180.0, 0.0], "Firing order 1-3-4-2");
        order(&[0.0, 216.0, 144.0, 72.0, 288.0], "Firing order 1-2-4-5-3");
        order(&[0.0, 120.0, 240.0, 240.0, 120.0, 0.0], "Firing order 1-5-3-6-2-4");
        order(&[0.0, 240.0, 120.0, 120.0, 240.0, 0.0], "Firing order 1-5-3-6-2-4");
        order(&[0.0, 180.0, 90.0, 270.0, 270.0, 90.0, 180.0, 0.0], "Firing order 1-6-2-5-8-3-7-4");
        // A cross does not fire evenly with one cylinder to each throw; nor are odd twins and split pins guessed at.
        for throws in [&[0.0, 90.0, 270.0, 180.0][..], &[0.0, 76.0], &[0.0, 60.0, 120.0, 180.0, 240.0, 300.0], &[]] {
            assert_eq!(words(throws), None, "{throws:?}");
        }
    }
}
