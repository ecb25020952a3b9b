//! What was measured of the bearings: housings, shells, widths, crush, thrust; and what is wanted of them.

use std::collections::HashSet;

use crank::{JournalId, SetName};
use document::{Problems, Value};
use fit::{Bore, Crush, Found, Half, Measured, Shell, Shells, Side, Thrust, Wanted, Washer};
use units::Entry;

use crate::findings::{Bench, few_rows, once};
use crate::table::{Field, Table, spelt};

/// More half shells than any engine holds.
const MOST_SHELLS: usize = 200;
/// A housing is between the journal's size and this many times it; published ones are 1.04 to 1.16 times.
const WIDEST_HOUSING: f64 = 1.6;
/// A wall is thinner than this share of the journal's size; published ones are about a thirtieth.
const THICKEST_WALL: f64 = 0.2;
/// Gaps, floats and washer oversizes from here up are slips of the point: 0.1 in.
const SMALL_BELOW_MM: f64 = 2.54;

impl Bench<'_> {
    /// Reads everything measured of the bearings; what has a problem is left out.
    pub(crate) fn bearings(&mut self, root: &mut Table<'_>, problems: &mut Problems) -> Found {
        let mut found = Found::default();
        if let Some(field) = root.take("housing") {
            for row in few_rows(&field, problems) {
                found.bores.extend(self.bore(row, problems));
            }
        }
        if let Some(field) = root.take("shell") {
            for row in few_rows(&field, problems) {
                self.shell(row, &field, &mut found.shells, problems);
            }
        }
        if let Some(field) = root.take("bearing") {
            let mut seen = HashSet::new();
            for row in few_rows(&field, problems) {
                self.bearing(row, &mut seen, &mut found, problems);
            }
        }
        if let Some(field) = root.take("thrust") {
            let rows = few_rows(&field, problems);
            if rows.len() > 1 {
                let advice = "one main locates the crank endways; keep its row";
                field.refuse(problems, "one row", advice);
            }
            for row in rows.into_iter().take(1) {
                found.thrust = self.thrust(row, problems);
            }
        }
        found
    }

    fn bore(&self, mut row: Table<'_>, problems: &mut Problems) -> Option<Bore> {
        let journal = self.journal(&mut row, problems);
        let at_mm = row.take("at").map_or(Some(0.0), |f| self.at(&f, journal, problems));
        let expected = "\"across\", \"along\", or degrees from the split";
        let plane = row.need("plane", expected, "plane = \"across\"", problems);
        let plane_deg = plane.and_then(|f| match f.node.value {
            Value::Text(_) => f.word(&[("across", 90.0), ("along", 0.0)], problems),
            _ => f.angle_deg(problems),
        });
        let with = self.instrument(&mut row, "with", problems);
        let shells_in = row.take("shells").map_or(Some(false), |f| f.word(&[("out", false), ("in", true)], problems));
        // Through the shells of an undersize a bore may be smaller than a standard journal; bare it never is.
        let narrowest = if shells_in == Some(true) { 0.95 } else { 1.0 };
        let size_mm = journal.and_then(|journal| self.shape(journal.set).size_mm);
        let size = row.need("size", "what the bore gauge showed", "size = 2.2708", problems);
        let sizes = size.map(|f| {
            let (low_mm, high_mm) = size_mm.map_or((0.0, f64::INFINITY), |mm| (mm * narrowest, mm * WIDEST_HOUSING));
            let expected = "a bore that its journal runs in";
            let advice = "look at the point, at the unit, and at the journal it belongs to";
            let holds = move |mm: f64| mm > low_mm && mm < high_mm;
            self.sizes_where(&f, holds, expected, advice, problems)
        });
        let undersize = row.take("undersize");
        let shells = match (shells_in, undersize) {
            (Some(true), Some(field)) => {
                let holds = |mm: f64| (0.0..SMALL_BELOW_MM).contains(&mm);
                let advice = "write 0 for standard, 0.010 for ten thou under";
                field
                    .length_where(self.unit, holds, "the undersize of the shells, from 0", advice, problems)
                    .map(|entry| Shells::In { undersize_mm: entry.mm })
            }
            (Some(true), None) => {
                let advice = "add undersize = 0.010, or 0 for standard";
                problems.add(
                    row.place(),
                    row.named("undersize"),
                    "nothing",
                    "the undersize of the shells in it",
                    advice,
                );
                None
            }
            (Some(false), Some(field)) => {
                let advice = "take it out, or write shells = \"in\"";
                field.refuse(problems, "no undersize, for no shells were in", advice);
                None
            }
            (Some(false), None) => Some(Shells::Out),
            (None, _) => None,
        };
        row.finish(problems);
        let size = Measured { sizes: sizes.flatten()?, with: with? };
        Some(Bore { journal: journal?, at_mm: at_mm?, plane_deg: plane_deg?, size, shells: shells? })
    }

    fn shell(&self, mut row: Table<'_>, list: &Field<'_>, shells: &mut Vec<Shell>, problems: &mut Problems) {
        let before = problems.len();
        let words = SetName::BOTH.map(|set| (set.word(), set));
        let stated = row.take("set");
        let set = stated.as_ref().and_then(|f| f.word(&words, problems));
        // A shell that goes anywhere in its set needs no journal.
        let placed = if row.has("journal") || stated.is_none() { self.journal(&mut row, problems) } else { None };
        if stated.is_some() {
            row.take("journal");
        }
        if let (Some(stated), Some(set), Some(journal)) = (&stated, set, placed)
            && set != journal.set
        {
            stated.refuse(problems, format!("\"{}\", as the journal", journal.set), "take set out");
        }
        let (set, journal) = (set.or(placed.map(|journal| journal.set)), placed);
        let name = row.take("name").and_then(|f| match f.node.value {
            Value::Number(number) => Some(number.clone()),
            _ => f.text(problems).map(str::to_owned),
        });
        let halves = [("upper", Half::Upper), ("lower", Half::Lower), ("either", Half::Either)];
        let half = row.take("half").map_or(Some(Half::Either), |f| f.word(&halves, problems));
        let undersize = row.take("undersize").map(|f| {
            let holds = |mm: f64| (0.0..SMALL_BELOW_MM).contains(&mm);
            let advice = "write what is marked, as 0.010 or \"0.25 mm\"; leave it out where nothing is";
            f.length_where(self.unit, holds, "an undersize on the diameter, from 0", advice, problems)
        });
        let size_mm = set.and_then(|set| self.shape(set).size_mm);
        let walls = row.take("wall").map(|f| {
            let most_mm = size_mm.map_or(f64::INFINITY, |mm| mm * THICKEST_WALL);
            let expected = "the thickness of one shell at its crown";
            let advice = "look at the point and at the unit; it is one wall, not two";
            self.sizes_where(&f, move |mm| mm > 0.0 && mm < most_mm, expected, advice, problems)
        });
        let with = self.instrument(&mut row, "with", problems);
        let count = row.take("count").map_or(Some(1), |f| f.whole(1, MOST_SHELLS as u64, problems)).unwrap_or(1);
        row.finish(problems);
        let (Some(set), Some(half), Some(with)) = (set, half, with) else { return };
        if problems.len() > before {
            return;
        }
        for nth in 1..=count {
            if shells.len() >= MOST_SHELLS {
                let expected = format!("at most {MOST_SHELLS} half shells");
                problems.add(
                    list.place(),
                    list.key.as_str(),
                    "more half shells",
                    expected,
                    "list those of this engine",
                );
                return;
            }
            let place = shells.len() + 1;
            let name = match &name {
                Some(name) if count > 1 => format!("{name} {nth}"),
                Some(name) => name.clone(),
                None => format!("{place}"),
            };
            let wall = walls.clone().flatten().map(|sizes| Measured { sizes, with });
            shells.push(Shell { name, set, journal, half, undersize: undersize.clone().flatten(), wall });
        }
    }

    /// Crush, and on a pin its width and the rods on it.
    fn bearing(&self, mut row: Table<'_>, seen: &mut HashSet<JournalId>, found: &mut Found, problems: &mut Problems) {
        let journal = self.journal(&mut row, problems);
        let journal = once(&row, journal, seen, problems);
        let crush = row.take("crush").and_then(|f| self.small(&f, "the gap with one bolt freed", problems));
        let (width, rods) = (row.take("width"), row.take("rods"));
        let with = self.instrument(&mut row, "with", problems);
        if width.is_some() != rods.is_some() {
            let missing = if width.is_some() { "rods" } else { "width" };
            let advice = "side clearance is the width between the cheeks less every rod on the pin: give both";
            problems.add(row.place(), row.named(missing), "nothing", "a width", advice);
        }
        if let (Some(width), Some(set)) = (&width, journal.map(|journal| journal.set))
            && set == SetName::Main
        {
            width.refuse(problems, "a pin's width", "a main's belongs into [[thrust]], as width");
        }
        let widths = width.map(|f| self.widths(&f, problems));
        let rods: Option<Vec<Measured>> = rods.and_then(|f| {
            let items = f.items();
            let list: Vec<Vec<Entry>> = items.iter().filter_map(|f| self.widths(f, problems)).collect();
            (list.len() == items.len())
                .then(|| list.into_iter().map(|sizes| Measured { sizes, with: with.unwrap_or_default() }).collect())
        });
        if !row.has("crush") && widths.is_none() && rods.is_none() {
            let advice = "add crush = 0.0035, or width and rods";
            problems.add(row.place(), row.named("crush"), "nothing", "something that was measured", advice);
        }
        row.finish(problems);
        let (Some(journal), Some(with)) = (journal, with) else { return };
        if let Some(gap_mm) = crush {
            found.crush.push(Crush { journal, gap_mm });
        }
        if let (Some(Some(sizes)), Some(rods)) = (widths, rods) {
            found.sides.push(Side { journal, width: Measured { sizes, with }, rods });
        }
    }

    fn thrust(&self, mut row: Table<'_>, problems: &mut Problems) -> Option<Thrust> {
        let mut seen = HashSet::new();
        let journal = self.journal(&mut row, problems);
        if let Some(journal) = journal.filter(|journal| journal.set != SetName::Main) {
            let advice = "name the main that locates the crank endways";
            problems.add(row.place(), row.named("journal"), journal.to_string(), "a main", advice);
        }
        let journal = once(&row, journal, &mut seen, problems);
        let fields = ["width", "housing", "front", "rear"].map(|key| row.take(key));
        let oversizes = ["front_oversize", "rear_oversize"].map(|key| {
            row.take(key).map(|f| self.small(&f, "an oversize of a thrust washer, 0 for standard", problems))
        });
        let float_mm = row.take("float").and_then(|f| self.small(&f, "the end float by the dial", problems));
        let with = self.instrument(&mut row, "with", problems);
        // What is not named for itself was measured with the same.
        let mut own = |key: &'static str| if row.has(key) { self.instrument(&mut row, key, problems) } else { with };
        let (of_housing, of_washers) = (own("housing_with"), own("washers_with"));
        row.finish(problems);
        let instruments = [with, of_housing, of_washers, of_washers];
        let mut measured = fields.into_iter().zip(instruments).map(|(field, with)| {
            let sizes = field.and_then(|f| self.widths(&f, problems))?;
            Some(Measured { sizes, with: with? })
        });
        let mut take = || measured.next().flatten();
        let (width, housing, front, rear) = (take(), take(), take(), take());
        with.zip(of_housing).zip(of_washers)?;
        let [front_over, rear_over] = oversizes.map(|given| given.map_or(Some(0.0), |mm| mm));
        let washer = |thickness: Option<Measured>, oversize_mm: f64| {
            thickness.map(|thickness| Washer { thickness, oversize_mm })
        };
        let (front, rear) = (washer(front, front_over?), washer(rear, rear_over?));
        Some(Thrust { journal: journal?, width, housing, front, rear, float_mm })
    }

    /// One size or a list of sizes that satisfy a condition.
    fn sizes_where(
        &self,
        field: &Field<'_>,
        holds: impl Fn(f64) -> bool + Copy,
        expected: &str,
        advice: &str,
        problems: &mut Problems,
    ) -> Option<Vec<Entry>> {
        let items = match field.node.value {
            Value::List(_) => field.list("one size or a list of sizes", problems)?,
            _ => field.items(),
        };
        let sizes: Vec<Entry> =
            items.iter().filter_map(|f| f.length_where(self.unit, holds, expected, advice, problems)).collect();
        (sizes.len() == items.len()).then_some(sizes)
    }

    fn widths(&self, field: &Field<'_>, problems: &mut Problems) -> Option<Vec<Entry>> {
        let expected = "a width above zero, below 40 in";
        let advice = format!("look at the point; a bare number is in {}", spelt(self.unit));
        self.sizes_where(field, |mm| mm > 0.0 && mm < 1016.0, expected, &advice, problems)
    }

    fn small(&self, field: &Field<'_>, what: &str, problems: &mut Problems) -> Option<f64> {
        let expected = format!("{what}, from 0 to below 0.1 in");
        let advice = format!("look at the point; a bare number is in {}", spelt(self.unit));
        let holds = |mm: f64| (0.0..SMALL_BELOW_MM).contains(&mm);
        field.length_where(self.unit, holds, &expected, &advice, problems).map(|entry| entry.mm)
    }

    /// What the shop wants of the bearings.
    pub(crate) fn wanted(&self, root: &mut Table<'_>, problems: &mut Problems) -> Wanted {
        let mut wanted = Wanted::default();
        let Some(mut table) = root.take("wanted").and_then(|f| f.table(problems)) else { return wanted };
        for (key, value) in [("main", &mut wanted.main_mm), ("pin", &mut wanted.pin_mm)] {
            let Some(field) = table.take(key) else { continue };
            let expected = "a running clearance on the diameter, above 0 and below 0.04 in";
            let advice = format!("look at the point; a bare number is in {}", spelt(self.unit));
            let entry = field.length_where(self.unit, |mm| mm > 0.0 && mm < 1.0, expected, &advice, problems);
            *value = entry.map(|entry| entry.mm);
        }
        if let Some(celsius) = table.take("running").and_then(|f| {
            let expected = "degrees Celsius from -40 to 200";
            f.number(|c| (-40.0..=200.0).contains(&c), expected, "write it in degrees Celsius", problems)
        }) {
            wanted.running_c = celsius;
        }
        table.finish(problems);
        wanted
    }
}
