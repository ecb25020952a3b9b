//! What was measured and seen on the crank: readings, run-outs, traces, centres, damage, wear, stamps.

use std::collections::HashSet;

use crank::{
    Centre, Damage, DamageKind, Depth, Findings, JournalId, NotAJournal, PrintedSpecification, Reading, RunOut,
    SetName, Stamp, Trace, Worn,
};
use document::{Place, Problem, Problems, Value};
use gauge::Instrument;
use units::{Entry, Unit, show_mm};

use crate::Library;
use crate::rows::{READINGS, RUN_OUTS, Rows, rows};
use crate::sizes::{SetShape, Sizes};
use crate::table::{Field, Table, nearest, spelt};

/// Where, and as what, it is said that nothing was measured.
const READING: &str = "reading";
const NOTHING: &str = "nothing";

/// Whether a problem is only that nothing was measured yet, or that of what was measured nothing counts: no sheet can be judged
/// so, but one that is being measured may stand so for a while.
pub fn is_nothing_measured(problem: &Problem) -> bool {
    problem.key == READING && problem.found == NOTHING
}

/// More two-point readings than anybody takes; a hundred on each journal of a long engine.
const MOST_READINGS: usize = 5_000;
/// More departures than anybody records.
const MOST_DEPARTURES: usize = 200_000;
/// More than ten departures to a degree.
const MOST_IN_A_TRACE: usize = 3_600;
/// More rows of any other kind than one crank can need.
const MOST_ROWS: usize = 5_000;
/// `front` and `rear` as a share of the journal's length from its middle.
const END_STATION: f64 = 0.35;
/// One departure of a dial indicator reading to tenths of a thou: 0.00005 in.
const USUAL_DEPARTURE_SD_MM: f64 = 0.00127;

/// What reading a row needs to know of the rest of the document.
pub(crate) struct Bench<'a> {
    pub(crate) unit: Unit,
    pub(crate) instruments: &'a [Instrument],
    pub(crate) main: SetShape,
    pub(crate) pin: SetShape,
    pub(crate) printed: Option<&'a PrintedSpecification>,
    pub(crate) sizes: Sizes,
}

impl<'a> Bench<'a> {
    pub(crate) fn new(
        unit: Unit,
        instruments: &'a [Instrument],
        printed: Option<&'a PrintedSpecification>,
    ) -> Bench<'a> {
        let shape = |set: fn(&PrintedSpecification) -> &crank::PrintedSet| {
            printed.map(|printed| SetShape::of(set(printed), printed.unit)).unwrap_or_default()
        };
        Bench { unit, instruments, main: shape(|p| &p.main), pin: shape(|p| &p.pin), printed, sizes: Sizes::default() }
    }

    pub(crate) fn shape(&self, set: SetName) -> SetShape {
        match set {
            SetName::Main => self.main,
            SetName::Pin => self.pin,
        }
    }

    /// Reads everything found; what has a problem is left out.
    pub(crate) fn findings(
        &mut self,
        root: &mut Table<'_>,
        library: &dyn Library,
        problems: &mut Problems,
    ) -> Findings {
        let before = problems.len();
        let mut findings = Findings { instruments: self.instruments.to_vec(), ..Findings::default() };
        self.readings(root, library, &mut findings, problems);
        self.run_outs(root, library, &mut findings, problems);
        self.traces(root, library, &mut findings, problems);
        self.centres(root, &mut findings, problems);
        self.damages(root, &mut findings, problems);
        self.worn(root, &mut findings, problems);
        self.stamps(root, &mut findings, problems);
        self.roughness(root, &mut findings, problems);
        self.dials(root, &mut findings, problems);
        self.heights(root, &mut findings, problems);
        findings.cases = crate::cases::cases(root, self.unit, self.printed, problems);
        (findings.features, findings.mass) = crate::shaft::measured(root, self.unit, self.printed, problems);
        if findings.readings.is_empty() && findings.traces.is_empty() && problems.len() == before {
            let advice = "add [[reading]] rows: journal, at, plane and size";
            problems.add(root.place(), READING, NOTHING, "readings or traces, at least one", advice);
        }
        findings
    }

    fn readings(
        &mut self,
        root: &mut Table<'_>,
        library: &dyn Library,
        findings: &mut Findings,
        problems: &mut Problems,
    ) {
        let field = root.take("reading");
        let files = root.take("readings");
        let advice = "for a journal swept all round use [[trace]], one list of departures for each place";
        let too_many = |f: &Field<'_>, count: usize, problems: &mut Problems| {
            let found = format!("{count} readings");
            problems.add(f.place(), f.key.as_str(), found, format!("at most {MOST_READINGS}"), advice);
        };
        let mut count = 0;
        if let Some(field) = &field {
            let listed = field.items().len();
            if listed > MOST_READINGS {
                too_many(field, listed, problems);
            } else {
                for row in field.rows(problems) {
                    findings.readings.extend(self.reading(row, problems));
                }
                count = listed;
            }
        }
        for file in files.iter().flat_map(|f| f.items()) {
            let Some(rows) = rows(&file, Some(READINGS), MOST_READINGS, library, problems) else { continue };
            count += rows.tables().count();
            if count > MOST_READINGS {
                too_many(&file, count, problems);
                break;
            }
            for row in rows.tables() {
                findings.readings.extend(self.reading(row, problems));
            }
        }
        let repeats: usize = findings.readings.iter().map(|reading| reading.sizes.len()).sum();
        if let Some(field) = field.or(files).filter(|_| repeats > MOST_READINGS) {
            too_many(&field, repeats, problems);
        }
    }

    fn reading(&mut self, mut row: Table<'_>, problems: &mut Problems) -> Option<Reading> {
        let journal = self.journal(&mut row, problems);
        let at_mm = self.needed_at(&mut row, journal, problems);
        let plane = row.need("plane", "the direction across, in degrees from the throw", "plane = 0", problems);
        let plane_deg = plane.and_then(|f| f.angle_deg(problems));
        let size = row.need("size", "what the micrometer showed", "size = 2.1236", problems);
        let mut sizes = Vec::new();
        if let Some(field) = size {
            let expected = "one size or a list of sizes";
            let empty = matches!(field.node.value, Value::List(list) if list.is_empty());
            if empty {
                field.list(expected, problems);
            } else {
                sizes = field.items().iter().filter_map(|f| self.size(f, journal, problems)).collect();
            }
        }
        let with = self.instrument(&mut row, "with", problems);
        row.finish(problems);
        if sizes.is_empty() {
            return None;
        }
        Some(Reading { journal: journal?, at_mm: at_mm?, plane_deg: plane_deg?, sizes, with: with? })
    }

    fn run_outs(
        &mut self,
        root: &mut Table<'_>,
        library: &dyn Library,
        findings: &mut Findings,
        problems: &mut Problems,
    ) {
        let mut seen = HashSet::new();
        if let Some(field) = root.take("run_out") {
            for row in few_rows(&field, problems) {
                findings.run_outs.extend(self.run_out(row, &mut seen, problems));
            }
        }
        for file in root.take("run_outs").iter().flat_map(|f| f.items()) {
            let Some(rows) = rows(&file, Some(RUN_OUTS), MOST_ROWS, library, problems) else { continue };
            for row in rows.tables() {
                findings.run_outs.extend(self.run_out(row, &mut seen, problems));
            }
        }
    }

    fn run_out(&self, mut row: Table<'_>, seen: &mut HashSet<JournalId>, problems: &mut Problems) -> Option<RunOut> {
        let journal = self.journal_of(&mut row, SetName::Main, seen, problems);
        let most_mm = self.most_departure_mm(journal);
        let total = row.need("total", "highest less lowest reading of the dial", "total = 0.0021", problems);
        let total_mm = total.and_then(|f| {
            let entry = f.length(self.unit, problems)?;
            if !(0.0..=most_mm).contains(&entry.mm) {
                let advice = format!("it is the highest reading less the lowest, in {}", spelt(self.unit));
                f.refuse(problems, format!("a small length from 0, in {}", spelt(self.unit)), advice);
                return None;
            }
            Some(entry.mm)
        });
        let high = row.need("high", "the direction of the high spot in degrees", "high = 90", problems);
        let high_deg = high.and_then(|f| f.angle_deg(problems));
        row.finish(problems);
        Some(RunOut { journal: journal?, total_mm: total_mm?, high_deg: high_deg? })
    }

    fn traces(
        &mut self,
        root: &mut Table<'_>,
        library: &dyn Library,
        findings: &mut Findings,
        problems: &mut Problems,
    ) {
        let mut count = 0;
        let mut enough = |trace: &Trace, place: Place<'_>, problems: &mut Problems| {
            count += trace.departures_mm.len();
            if count > MOST_DEPARTURES {
                let advice = "thin the traces out: 360 departures to a turn are plenty";
                let found = format!("more than {MOST_DEPARTURES} departures in all");
                problems.add(place, "departures", found, format!("at most {MOST_DEPARTURES}"), advice);
            }
            count <= MOST_DEPARTURES
        };
        if let Some(field) = root.take("trace") {
            for row in few_rows(&field, problems) {
                let place = row.place();
                let Some(trace) = self.trace(row, problems) else { continue };
                if !enough(&trace, place, problems) {
                    return;
                }
                findings.traces.push(trace);
            }
        }
        for file in root.take("traces").iter().flat_map(|f| f.items()) {
            let Some(rows): Option<Rows> = rows(&file, None, MOST_DEPARTURES, library, problems) else { continue };
            for row in rows.tables() {
                let place = row.place();
                let Some(trace) = self.trace(row, problems) else { continue };
                if !enough(&trace, place, problems) {
                    return;
                }
                findings.traces.push(trace);
            }
        }
    }

    fn trace(&mut self, mut row: Table<'_>, problems: &mut Problems) -> Option<Trace> {
        let journal = self.journal(&mut row, problems);
        let at_mm = self.needed_at(&mut row, journal, problems);
        let size = row.need("size", "the mean diameter that the departures refer to", "size = 1.8736", problems);
        let size = size.and_then(|f| self.size(&f, journal, problems));
        let departures =
            row.need("departures", "a list of departures on the radius", "departures = [0.0, …]", problems);
        let angles = row.take("angles");
        let start = row.take("start");
        let start_deg = start.as_ref().map_or(Some(0.0), |f| f.angle_deg(problems));
        if let (Some(start), Some(_)) = (start.filter(|_| start_deg.is_some_and(|deg| deg != 0.0)), &angles) {
            let advice = "angles count from the throw as they stand; take start out";
            start.refuse(problems, "angles or start, not both", advice);
        }
        let swept = departures.and_then(|f| self.departures(&f, angles.as_ref(), journal, problems));
        let with = self.instrument(&mut row, "with", problems);
        let departure_sd_mm = with
            .filter(|index| *index > 0)
            .and_then(|index| self.instruments.get(index))
            .map_or(USUAL_DEPARTURE_SD_MM, |instrument| instrument.repeatability_mm);
        let size_with = row.take("size_with").map(|f| self.named_instrument(&f, problems));
        row.finish(problems);
        let (angles_deg, departures_mm) = swept?;
        let start_deg = start_deg?;
        let count = departures_mm.len();
        let angles_deg = angles_deg
            .unwrap_or_else(|| (0..count).map(|i| start_deg + 360.0 * i as f64 / count as f64).collect::<Vec<_>>());
        Some(Trace {
            journal: journal?,
            at_mm: at_mm?,
            size: size?,
            angles_deg: angles_deg.into_iter().map(|deg| deg.rem_euclid(360.0)).collect(),
            departures_mm,
            with: size_with.unwrap_or(with)?,
            departure_sd_mm,
        })
    }

    /// The angles, where they are given, and the departures; as many of the one as of the other.
    fn departures(
        &self,
        field: &Field<'_>,
        angles: Option<&Field<'_>>,
        journal: Option<JournalId>,
        problems: &mut Problems,
    ) -> Option<(Option<Vec<f64>>, Vec<f64>)> {
        let before = problems.len();
        let expected = "a list of three departures or more";
        let items = field.list(expected, problems)?;
        if items.len() > MOST_IN_A_TRACE {
            let expected = format!("at most {MOST_IN_A_TRACE} departures in one trace");
            field.refuse(problems, expected, "thin the trace out: ten to a degree are more than any wheel follows");
            return None;
        }
        if items.len() < 3 {
            field.refuse(problems, expected, "sweep the whole journal, or give diameters as [[reading]]");
        }
        let most_mm = self.most_departure_mm(journal);
        let expected = format!("small departures from the mean radius, in {}", spelt(self.unit));
        let advice = match self.unit {
            Unit::Inch => "look at the point; a thou is 0.001",
            Unit::Millimetre => "look at the point; a micron is 0.001",
        };
        let departures: Vec<f64> = items
            .iter()
            .filter_map(|f| f.length_where(self.unit, |mm| mm.abs() <= most_mm, &expected, advice, problems))
            .map(|entry| entry.mm)
            .collect();
        let angles = match angles {
            Some(field) => {
                let list = field.list("one direction for each departure", problems)?;
                if list.len() != items.len() {
                    let expected = format!("{} directions, one for each departure", items.len());
                    field.refuse(problems, expected, "complete the list, or leave it out if they are equally spaced");
                }
                let angles: Vec<f64> = list.iter().filter_map(|f| f.angle_deg(problems)).collect();
                if angles.len() == items.len() && widest_gap_deg(&angles) > 180.0 {
                    let expected = "directions that go at least half way round, with no gap wider than 180 degrees";
                    let advice = "what was not swept says nothing of where the metal is; sweep on, or give diameters";
                    field.refuse(problems, expected, advice);
                }
                Some(angles)
            }
            None => None,
        };
        (problems.len() == before).then_some((angles, departures))
    }

    fn centres(&mut self, root: &mut Table<'_>, findings: &mut Findings, problems: &mut Problems) {
        let Some(field) = root.take("centre") else { return };
        let mut seen = HashSet::new();
        for mut row in few_rows(&field, problems) {
            let journal = self.journal_of(&mut row, SetName::Pin, &mut seen, problems);
            let throw = row.take("throw");
            let index = row.take("index");
            if throw.is_none() && index.is_none() {
                let advice = "add throw = …, index = … or both";
                problems.add(row.place(), row.named("throw"), "nothing", "the error of the centre", advice);
            }
            let throw_mm = throw.map_or(Some(0.0), |f| {
                let expected = "a small error of the throw, below 0.1 in";
                let advice = "write only the error: measured throw less the book's";
                f.length_where(self.unit, |mm| mm.abs() < 2.54, expected, advice, problems).map(|entry| entry.mm)
            });
            let index_deg = index.map_or(Some(0.0), |f| {
                let advice = "write only the error: measured direction less the book's";
                f.number(|deg| deg.abs() < 45.0, "a small error in degrees", advice, problems)
            });
            row.finish(problems);
            if let (Some(journal), Some(throw_mm), Some(index_deg)) = (journal, throw_mm, index_deg) {
                findings.centres.push(Centre { journal, throw_mm, index_deg });
            }
        }
    }

    fn damages(&mut self, root: &mut Table<'_>, findings: &mut Findings, problems: &mut Problems) {
        let Some(field) = root.take("damage") else { return };
        for row in few_rows(&field, problems) {
            findings.damages.extend(self.damage(row, problems));
        }
    }

    fn damage(&self, mut row: Table<'_>, problems: &mut Problems) -> Option<Damage> {
        let journal = self.journal(&mut row, problems);
        let words = DamageKind::ALL.map(DamageKind::word);
        let listed = words.join(", ");
        let kind = row.need("kind", &format!("one of {listed}"), "kind = \"scoring\"", problems).and_then(|f| {
            let typed = f.text(problems)?;
            let kind = typed.parse::<DamageKind>();
            if kind.is_err() {
                let advice = match nearest(typed, &words) {
                    Some(kind) => format!("did you mean \"{kind}\"?"),
                    None => "write the nearest of them, or \"other\"".to_owned(),
                };
                f.refuse(problems, format!("one of {listed}"), advice);
            }
            kind.ok()
        });
        let nothing = Depth { lowest_mm: 0.0, likeliest_mm: 0.0, highest_mm: 0.0 };
        let depth = match row.take("depth") {
            Some(field) => self.depth(&field, journal, problems),
            // How deep a crack goes does not matter: it ends the matter anyway. Heat has no depth: it is tested, not measured.
            None if matches!(kind, Some(DamageKind::Crack | DamageKind::Heat)) => Some(nothing),
            None => {
                row.need("depth", "how deep it is", "depth = [lowest, likeliest, highest], or one number", problems);
                None
            }
        };
        let at = row.take("at");
        let at_mm = at.map_or(Some(None), |f| self.at(&f, journal, problems).map(Some));
        let (from, to) = (row.take("from"), row.take("to"));
        if from.is_some() != to.is_some() {
            let missing = if from.is_some() { "to" } else { "from" };
            let advice = "give both directions, or neither where it goes all round";
            problems.add(row.place(), row.named(missing), "nothing", "a direction in degrees", advice);
        }
        let arc_deg = match (from, to) {
            (Some(from), Some(to)) => self.arc_deg(&from, &to, problems),
            _ => Some(None),
        };
        row.finish(problems);
        Some(Damage { journal: journal?, kind: kind?, depth: depth?, at_mm: at_mm?, arc_deg: arc_deg? })
    }

    /// From and to within one turn; nothing where they go all round.
    fn arc_deg(&self, from: &Field<'_>, to: &Field<'_>, problems: &mut Problems) -> Option<Option<(f64, f64)>> {
        let plain = |f: &Field<'_>, problems: &mut Problems| f.direction_deg(problems);
        let (low, high) = (plain(from, problems), plain(to, problems));
        let (low, high) = (low?, high?);
        Some((high - low < 360.0).then(|| (low.rem_euclid(360.0), high.rem_euclid(360.0))))
    }

    /// One number, lowest and highest, or lowest, likeliest and highest.
    fn depth(&self, field: &Field<'_>, journal: Option<JournalId>, problems: &mut Problems) -> Option<Depth> {
        let most_mm = self.most_departure_mm(journal);
        let expected = format!("a small depth from 0, in {}", spelt(self.unit));
        let advice = "it is measured from the surface down, without a sign";
        let items = match field.node.value {
            Value::List(_) => field.list("lowest, likeliest and highest depth", problems)?,
            _ => field.items(),
        };
        let mm: Vec<f64> = items
            .iter()
            .filter_map(|f| f.length_where(self.unit, |mm| (0.0..=most_mm).contains(&mm), &expected, advice, problems))
            .map(|entry| entry.mm)
            .collect();
        if mm.len() < items.len() {
            return None;
        }
        let (lowest_mm, likeliest_mm, highest_mm) = match mm.as_slice() {
            [one] => (*one, *one, *one),
            [low, high] => (*low, (low + high) / 2.0, *high),
            [low, likeliest, high] => (*low, *likeliest, *high),
            _ => {
                field.refuse(problems, "one, two or three depths", "write it as [lowest, likeliest, highest]");
                return None;
            }
        };
        if lowest_mm > likeliest_mm || likeliest_mm > highest_mm {
            let typed: Vec<String> = items.iter().map(|f| f.node.value.shown()).collect();
            let found = format!("[{}]", typed.join(", "));
            let advice = "write the lowest first and the highest last";
            problems.add(field.place(), field.key.as_str(), found, "lowest, likeliest, highest", advice);
            return None;
        }
        Some(Depth { lowest_mm, likeliest_mm, highest_mm })
    }

    fn worn(&mut self, root: &mut Table<'_>, findings: &mut Findings, problems: &mut Problems) {
        let Some(field) = root.take("worn") else { return };
        let mut seen = HashSet::new();
        for mut row in few_rows(&field, problems) {
            let journal = self.journal(&mut row, problems);
            let journal = once(&row, journal, &mut seen, problems);
            let (share, how) = (row.take("share"), row.take("how"));
            if let (Some(_), Some(how)) = (&share, &how) {
                how.refuse(problems, "share or how, not both", "keep one of them");
            }
            let share = share.or(how);
            if share.is_none() {
                let advice = "add share = \"even\", share = \"one-sided\", or a number such as share = 0.8";
                problems.add(row.place(), row.named("share"), "nothing", "how the journal is worn", advice);
            }
            let share = share.and_then(|f| match f.node.value {
                Value::Text(_) => f.word(&[("even", 0.5), ("one-sided", 1.0)], problems),
                _ => f.number(
                    |share| (0.5..=1.0).contains(&share),
                    "a share from 0.5 (even) to 1 (all on one side)",
                    "it is the share of the loss on the diameter that the worse side has lost",
                    problems,
                ),
            });
            row.finish(problems);
            if let (Some(journal), Some(share)) = (journal, share) {
                findings.worn.push(Worn { journal, share });
            }
        }
    }

    /// Which undersize a set or a journal is stamped with; at most one row for each.
    fn stamps(&self, root: &mut Table<'_>, findings: &mut Findings, problems: &mut Problems) {
        let Some(field) = root.take("stamped") else { return };
        let mut seen = HashSet::new();
        for mut row in few_rows(&field, problems) {
            let stated = row.take("set");
            let one = row.has("journal");
            if let Some(stated) = stated.as_ref().filter(|_| one) {
                stated.refuse(problems, "set or journal, not both", "keep the one that the stamp is about");
            }
            if stated.is_none() && !one {
                let expected = "a set, or a journal where the stamp is about one alone";
                let advice = "add set = \"main\", set = \"pin\", or journal = \"pin 3\"";
                problems.add(row.place(), row.named("set"), "nothing", expected, advice);
            }
            let journal = if one {
                self.journal(&mut row, problems).map(Some)
            } else {
                row.take("journal"); // a key of this row all the same
                Some(None)
            };
            let set = match (journal.flatten(), &stated) {
                (Some(journal), _) => Some(journal.set),
                (None, Some(stated)) => stated.word(&SetName::BOTH.map(|set| (set.word(), set)), problems),
                (None, None) => None,
            };
            let what = "the undersize it is stamped with, on the diameter, from 0";
            let undersize_mm =
                row.need("undersize", what, "undersize = 0.010, or 0 for standard", problems).and_then(|f| {
                    let most_mm = set.and_then(|set| self.shape(set).size_mm).map_or(25.4, |size_mm| size_mm / 20.0);
                    let most = show_mm(most_mm, self.unit, self.unit.usual_decimals() - 1);
                    let expected = format!("{what} to {most}");
                    let advice = format!("look at the point and at the unit; a bare number is in {}", spelt(self.unit));
                    f.length_where(self.unit, |mm| (0.0..=most_mm).contains(&mm), &expected, &advice, problems)
                });
            if let (Some(set), Some(journal)) = (set, journal)
                && !seen.insert((set, journal))
            {
                let found = journal.map_or_else(|| format!("the {set}s"), |one| one.to_string()) + " a second time";
                let key = if journal.is_some() { "journal" } else { "set" };
                let advice = "keep what stands on the crank now";
                problems.add(row.place(), row.named(key), found, "one stamp for each set and each journal", advice);
            }
            row.finish(problems);
            if let (Some(set), Some(journal), Some(entry)) = (set, journal, undersize_mm) {
                findings.stamps.push(Stamp { set, journal, undersize_mm: entry.mm });
            }
        }
    }

    /// The journal of a row, one of the specification.
    pub(crate) fn journal(&self, row: &mut Table<'_>, problems: &mut Problems) -> Option<JournalId> {
        let field = row.need("journal", "main or pin and its number", "journal = \"main 1\"", problems)?;
        let there = |set: SetName| {
            self.shape(set).count.map(|count| match count {
                1 => format!("{set} 1"),
                _ => format!("{set} 1 to {set} {count}"),
            })
        };
        let all = SetName::BOTH.iter().filter_map(|set| there(*set)).collect::<Vec<_>>().join(" or ");
        let all = if all.is_empty() { "main or pin and its number".to_owned() } else { all };
        let typed = match field.node.value {
            Value::Text(text) => text.trim(),
            _ => {
                field.refuse(problems, all, "write it in quotes, as \"main 1\"");
                return None;
            }
        };
        let set = match typed.parse::<JournalId>() {
            Ok(journal) if self.shape(journal.set).count.is_none_or(|count| journal.number <= count) => {
                return Some(journal);
            }
            Ok(journal) => journal.set,
            Err(NotAJournal::Zero(set)) => set,
            Err(NotAJournal::NoName) => {
                field.refuse(problems, all, "count the journals from the nose and write \"main 1\" or \"pin 1\"");
                return None;
            }
        };
        let which = match self.shape(set).count {
            Some(1) => format!("this specification has one {set}"),
            Some(count) => format!("this specification has {set}s 1 to {count}"),
            None => "journals count from 1".to_owned(),
        };
        field.refuse(problems, there(set).unwrap_or(all), format!("{which}, counted from the nose"));
        None
    }

    /// The journal of a row of which each journal of one set can have one.
    pub(crate) fn journal_of(
        &self,
        row: &mut Table<'_>,
        set: SetName,
        seen: &mut HashSet<JournalId>,
        problems: &mut Problems,
    ) -> Option<JournalId> {
        let journal = self.journal(row, problems)?;
        if journal.set != set {
            let advice = match set {
                SetName::Main => "a run-out is taken on the present main axis; give a pin's error as [[centre]]",
                SetName::Pin => "give a main's error as [[run_out]]",
            };
            problems.add(row.place(), row.named("journal"), journal.to_string(), format!("a {set}"), advice);
            return None;
        }
        once(row, Some(journal), seen, problems)
    }

    pub(crate) fn needed_at(
        &self,
        row: &mut Table<'_>,
        journal: Option<JournalId>,
        problems: &mut Problems,
    ) -> Option<f64> {
        let expected = "front, middle, rear, or a distance from mid-length";
        let field = row.need("at", expected, "at = \"middle\"", problems)?;
        self.at(&field, journal, problems)
    }

    /// A place along the journal; to the rear (the flywheel) positive.
    pub(crate) fn at(&self, field: &Field<'_>, journal: Option<JournalId>, problems: &mut Problems) -> Option<f64> {
        let length_mm = journal.and_then(|journal| self.shape(journal.set).length_mm);
        if let Value::Text(text) = field.node.value {
            // Without a length the specification is already at fault.
            let end_mm = END_STATION * length_mm.unwrap_or_default();
            let words = [("front", -end_mm), ("middle", 0.0), ("rear", end_mm)];
            if let Some((_, at_mm)) = words.iter().find(|(word, _)| *word == text.trim().to_lowercase()) {
                return Some(*at_mm);
            }
            if units::read(text, self.unit).is_err() {
                let expected = "\"front\", \"middle\", \"rear\", or a distance from mid-length";
                field.refuse(problems, expected, "front is towards the nose, rear towards the flywheel");
                return None;
            }
        }
        let entry = field.length(self.unit, problems)?;
        if let Some(length_mm) = length_mm.filter(|length_mm| entry.mm.abs() > length_mm / 2.0 * (1.0 + 1e-9)) {
            let half = length_mm / 2.0 / self.unit.mm();
            let expected = format!("a distance from mid-length of at most {half:.4} {}, half the journal", self.unit);
            field.refuse(problems, expected, "measure from the middle of the journal, not from its end");
            return None;
        }
        Some(entry.mm)
    }

    /// A measured diameter; one that is nowhere near the journal's is put aside for [`Sizes`].
    fn size(&mut self, field: &Field<'_>, journal: Option<JournalId>, problems: &mut Problems) -> Option<Entry> {
        let entry = field.length(self.unit, problems)?;
        if let Some(journal) = journal {
            self.sizes.look_at(field, &entry, journal, self.shape(journal.set));
        }
        Some(entry)
    }

    /// Nothing on a journal departs from round by more than a twentieth of its diameter.
    pub(crate) fn most_departure_mm(&self, journal: Option<JournalId>) -> f64 {
        let size = journal.and_then(|journal| self.shape(journal.set).size_mm);
        size.map_or(25.4, |size_mm| size_mm / 20.0)
    }

    /// The instrument that a row names, or the shop's default.
    pub(crate) fn instrument(&self, row: &mut Table<'_>, key: &'static str, problems: &mut Problems) -> Option<usize> {
        row.take(key).map_or(Some(0), |field| self.named_instrument(&field, problems))
    }

    fn named_instrument(&self, field: &Field<'_>, problems: &mut Problems) -> Option<usize> {
        let name = field.text(problems)?;
        let found = self.instruments.iter().enumerate().skip(1).find(|(_, instrument)| instrument.name == name);
        if found.is_none() {
            let names: Vec<String> = self.instruments.iter().skip(1).map(|i| format!("\"{}\"", i.name)).collect();
            let expected = match names.len() {
                0 => "the name of an [[instrument]] of this sheet".to_owned(),
                1..=6 => names.join(" or "),
                _ => "the name of one of this sheet's instruments".to_owned(),
            };
            field.refuse(problems, expected, "add the [[instrument]], or leave with out for the shop's usual one");
        }
        found.map(|(index, _)| index)
    }
}

/// The rows of a table that nobody needs thousands of.
pub(crate) fn few_rows<'a>(field: &Field<'a>, problems: &mut Problems) -> Vec<Table<'a>> {
    let count = field.items().len();
    if count > MOST_ROWS {
        let found = format!("{count} rows");
        let advice = "check that this is one crankshaft";
        problems.add(field.place(), field.key.as_str(), found, format!("at most {MOST_ROWS}"), advice);
        return Vec::new();
    }
    field.rows(problems)
}

/// Puts down a journal that had such a row before.
pub(crate) fn once(
    row: &Table<'_>,
    journal: Option<JournalId>,
    seen: &mut HashSet<JournalId>,
    problems: &mut Problems,
) -> Option<JournalId> {
    let journal = journal?;
    if !seen.insert(journal) {
        let found = format!("{journal} a second time");
        problems.add(row.place(), row.named("journal"), found, "one row for each journal", "keep the right one");
        return None;
    }
    Some(journal)
}

/// The widest gap between neighbouring directions, all the way round.
fn widest_gap_deg(angles_deg: &[f64]) -> f64 {
    let mut sorted: Vec<f64> = angles_deg.iter().map(|angle| angle.rem_euclid(360.0)).collect();
    sorted.sort_by(f64::total_cmp);
    let (Some(first), Some(last)) = (sorted.first(), sorted.last()) else { return 360.0 };
    let round = 360.0 - (last - first);
    sorted.windows(2).map(|pair| pair[1] - pair[0]).fold(round, f64::max)
}
