//! What stands in the full inspection record.

use paper::Drawing;
use paper::documents::{InspectionRecord, RecordTable};
use regrind::station_name;
use shop::{SheetRow, Standing, Value};

use super::{ACROSS_MM, NotPrinted, Papers, moment};
use crate::drawings::{ladder, with_known};
use crate::ladder::Found;
use crate::wording::capital;
use crate::working;
use job::march::Walk;

impl Papers<'_> {
    pub(super) fn record(&self) -> Result<InspectionRecord, NotPrinted> {
        let manner = self.manner();
        let found = self.found(&manner)?;
        let working = working::working(&found);
        let mut notes: Vec<String> = found.verdict.notes.iter().map(|note| self.words.put(&note.says)).collect();
        notes.extend(self.job().flags.iter().map(|flag| format!("Not settled: {}", self.words.put(&flag.says))));
        let verdicts = found.verdict.sets.iter().map(|set| {
            format!("{}: {}. {}", self.words.set(set.set), found.choice(set.choice), self.words.put(&set.reason))
        });
        let mut remarks = working.journals;
        remarks.extend(working.remarks);
        let mut budgets = Vec::new();
        for budget in &working.budgets {
            budgets.extend(budget.lines().filter(|line| !line.trim().is_empty()).map(str::to_owned));
        }
        Ok(InspectionRecord {
            about: self.about(),
            unit: format!("{}, on the diameter", found.sheet.unit.plural()),
            verdicts: verdicts.collect(),
            notes,
            drawings: self.record_drawings(&found),
            tables: vec![
                journals(&found),
                sizes(&found, self),
                self.rows("Every reading as taken", &["reading"], &["at", "plane", "size", "with"]),
                self.rows("Run-outs", &["run_out"], &["total", "high", "with"]),
                self.rows("Traces", &["trace"], &["at", "size", "start", "departures"]),
                self.rows("Centres and wear as found", &["centre", "worn"], &["throw", "index", "share"]),
                self.rows("Stamps found", &["stamped"], &["undersize"]),
                self.rows("Damage seen", &["damage"], &["kind", "depth", "at", "from", "to"]),
            ],
            method: working.method,
            working: remarks,
            budgets,
            by: self.measured_by(),
            date: self.date(),
        })
    }

    /// The crank, where each set stands, and which mains suffered.
    fn record_drawings(&self, found: &Found<'_>) -> Vec<Drawing> {
        let wear = with_known(found, |known| known.wear()).map(|wear| wear.draw(ACROSS_MM).drawing);
        self.crank_drawing().into_iter().chain(self.size_axes(found)).chain(self.ladders(found)).chain(wear).collect()
    }

    /// The ladder of each set, with every size there is.
    fn ladders(&self, found: &Found<'_>) -> Vec<Drawing> {
        let Ok(book) = self.held.book.as_ref() else { return Vec::new() };
        let spots = Walk::of_job(self.shop, self.job()).spots(book);
        let sets = found.verdict.sets.iter();
        sets.filter_map(|set| ladder(found, set.set, &spots)).collect()
    }

    /// Rows of the sheet as they were entered, with who took them and how they stand.
    fn rows(&self, title: &str, keys: &[&str], fields: &[&str]) -> RecordTable {
        let rows: Vec<&SheetRow> = self.job().rows.iter().filter(|row| keys.contains(&row.key)).collect();
        // Nobody signed for rows of a file.
        let signed = rows.iter().any(|row| !row.who.is_empty());
        let mut columns = vec![("Journal".to_owned(), false, 0.9)];
        columns.extend(fields.iter().map(|field| {
            let figures =
                matches!(*field, "size" | "total" | "high" | "plane" | "throw" | "index" | "share" | "undersize");
            (head(field).to_owned(), figures, if *field == "departures" { 4.0 } else { 0.9 })
        }));
        columns.push(("Standing".to_owned(), false, 1.3));
        if signed {
            columns.push(("By".to_owned(), false, 2.4));
        }
        let rows = rows.into_iter().map(|row| {
            let whose = match (row.row.words("journal"), row.row.words("set")) {
                (Some(journal), _) => journal,
                (None, Some("main")) => "mains",
                (None, Some("pin")) => "pins",
                (None, _) => "",
            };
            let mut cells = vec![capital(&self.words.put(whose))];
            cells.extend(fields.iter().map(|field| shown(row.row.get(field))));
            let again = if row.again.is_empty() { String::new() } else { format!(", again {}", row.again.join(", ")) };
            cells.push(format!("{}{again}", standing(row.standing)));
            if signed {
                cells.push(format!("{}, {}", row.who, moment(&row.when)));
            }
            cells
        });
        RecordTable { title: title.to_owned(), columns, rows: rows.collect() }
    }
}

/// The condition of every journal.
fn journals(found: &Found<'_>) -> RecordTable {
    let heads = ["Journal", "Smallest", "Largest", "Out-of-round", "Taper", "Wear", "State", "Within limits"];
    let columns = heads.iter().enumerate().map(|(n, head)| {
        // "fewer than 1 in 100" on one line.
        ((*head).to_owned(), (1..=5).contains(&n), if n == 7 { 1.7 } else { 1.0 })
    });
    let rows = working::journals(found).into_iter().map(|row| {
        vec![
            row.name,
            row.smallest,
            row.largest,
            row.out_of_round,
            row.taper,
            row.wear,
            row.state.to_owned(),
            row.chance,
        ]
    });
    RecordTable { title: "Journals".to_owned(), columns: columns.collect(), rows: rows.collect() }
}

/// Every size less the zero of its micrometer: a row for each journal, a column for each spot.
fn sizes(found: &Found<'_>, papers: &Papers<'_>) -> RecordTable {
    let mut spots: Vec<String> = Vec::new();
    let mut rows: Vec<(String, Vec<(String, String)>)> = Vec::new();
    for journal in found.sheet.specification.journals() {
        let length_mm = found.sheet.specification.set(journal.set).length_mm;
        let mut row = Vec::new();
        for size in crank::sizes(&found.sheet.findings, journal).iter().filter(|size| size.trace.is_none()) {
            let station = station_name(size.at_mm, length_mm, found.sheet.unit);
            let spot = format!("{}, {:.0}°", capital(&station), size.plane_deg);
            if !spots.contains(&spot) {
                spots.push(spot.clone());
            }
            row.push((spot, found.figure(size.size_mm)));
        }
        if !row.is_empty() {
            rows.push((papers.words.journal(journal), row));
        }
    }
    let mut columns = vec![("Journal".to_owned(), false, 1.2)];
    columns.extend(spots.iter().map(|spot| (spot.clone(), true, 1.0)));
    let rows = rows.into_iter().map(|(name, row)| {
        let of = |spot: &String| {
            let here = row.iter().filter(|(known, _)| known == spot).map(|(_, size)| size.as_str());
            here.collect::<Vec<_>>().join(", ")
        };
        std::iter::once(name).chain(spots.iter().map(of)).collect()
    });
    RecordTable { title: "Sizes, less the zero of the micrometer".to_owned(), columns, rows: rows.collect() }
}

fn head(field: &str) -> &'static str {
    match field {
        "at" => "Station",
        "plane" => "Degrees",
        "size" => "As read",
        "with" => "Micrometer",
        "total" => "Total reading",
        "high" => "High point",
        "start" => "Start",
        "departures" => "Departures on the radius",
        "throw" => "Throw off by",
        "index" => "Index off by",
        "share" => "One-sided share",
        "undersize" => "Undersize stamped",
        "kind" => "Kind",
        "depth" => "Depth",
        "from" => "From",
        _ => "To",
    }
}

fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Counts => "counts",
        Standing::LookAgain => "look again",
        Standing::ThirdWanted => "third reading wanted",
        Standing::StruckOut => "struck out",
    }
}

/// A value of a row as it was typed.
fn shown(value: Option<&Value>) -> String {
    match value {
        None => String::new(),
        Some(Value::List(items)) => items.iter().map(|item| shown(Some(item))).collect::<Vec<_>>().join(", "),
        Some(one) => one.as_typed().unwrap_or_default().to_owned(),
    }
}
