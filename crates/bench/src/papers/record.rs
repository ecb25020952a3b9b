//! What stands in the full inspection record.

use paper::documents::{InspectionRecord, RecordTable};
use paper::{BendSketch, Drawing, SpareCurve};
use regrind::station_name;
use sheet::RoughnessWords;
use shop::{SheetRow, Standing, Value};

use super::{ACROSS_MM, NotPrinted, Papers, moment};
use crate::drawings::{ladder, with_known};
use crate::ladder::Found;
use crate::whole_shaft;
use crate::wording::{OldWay, capital};
use crate::working;
use job::march::Walk;

impl Papers<'_> {
    pub(super) fn record(&self) -> Result<InspectionRecord, NotPrinted> {
        let manner = self.manner();
        let found = self.found(&manner)?;
        let working = working::working(&found);
        let mut notes: Vec<String> = found.verdict.notes.iter().map(|note| self.words.put(&note.says)).collect();
        let choice = |set| found.verdict.sets.iter().find(|known| known.set == set).map(|known| known.choice);
        let rough = RoughnessWords::of(found.sheet).meaning(choice);
        notes.extend(rough.into_iter().map(|(_, says)| self.words.put(&says)));
        notes.extend(self.job().flags.iter().map(|flag| format!("Not settled: {}", self.words.put(&flag.says))));
        let verdicts = found.verdict.sets.iter().map(|set| {
            format!("{}: {}. {}", self.words.set(set.set), found.choice(set.choice), self.words.put(&set.reason))
        });
        let mut remarks = whole_shaft::in_words(&found);
        remarks.extend(working.journals);
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
            tables: [journals(&found), sizes(&found, self)]
                .into_iter()
                .chain(LISTS.iter().map(|list| self.list(list)))
                .collect(),
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
        let bend = whole_shaft::bend_sketch(found.sheet, self.words).and_then(|bend| bend.draw(BendSketch::USUAL_MM));
        let curve = found.curve().and_then(|curve| curve.draw(SpareCurve::WIDE_MM));
        let first = self.crank_drawing().into_iter().chain(bend).chain(self.size_axes(found));
        first.chain(self.ladders(found)).chain(curve).chain(wear).collect()
    }

    /// The ladder of each set, with every size there is.
    fn ladders(&self, found: &Found<'_>) -> Vec<Drawing> {
        let Ok(book) = self.card.book.as_ref() else { return Vec::new() };
        let spots = Walk::of_job(self.shop, self.job()).spots(book);
        let sets = found.verdict.sets.iter();
        sets.filter_map(|set| ladder(found, set.set, &spots)).collect()
    }

    /// Rows of the sheet as they were entered, with who took them and how they stand.
    fn list(&self, list: &List) -> RecordTable {
        let rows: Vec<&SheetRow> = self.job().rows.iter().filter(|row| list.keys.contains(&row.key)).collect();
        // Nobody signed for rows of a file.
        let signed = rows.iter().any(|row| !row.who.is_empty());
        let is_there = |field: &str| rows.iter().any(|row| row.row.get(field).is_some());
        let shown_fields: Vec<&Field> =
            list.fields.iter().filter(|field| field.always || is_there(field.key)).collect();
        // A list of its own for what hardly any row says is left out where none does.
        let rows = if shown_fields.is_empty() { Vec::new() } else { rows };
        let mut columns = vec![("Journal".to_owned(), false, 0.9)];
        columns.extend(shown_fields.iter().map(|field| (field.head.to_owned(), field.figures, field.share)));
        columns.push(("Standing".to_owned(), false, 1.3));
        if signed {
            columns.push(("By".to_owned(), false, 2.4));
        }
        let rows = rows.into_iter().map(|row| {
            let whose = match (row.row.words("journal"), row.row.words("set").map(str::parse)) {
                (Some(journal), _) => self.words.journal_named(journal),
                (None, Some(Ok(set))) => self.words.set(set),
                (None, _) => String::new(),
            };
            let mut cells = vec![whose];
            cells.extend(shown_fields.iter().map(|field| self.cell(field, &row.row)));
            let again = if row.again.is_empty() { String::new() } else { format!(", again {}", row.again.join(", ")) };
            cells.push(format!("{}{again}", standing(row.standing)));
            if signed {
                cells.push(format!("{}, {}", row.who, moment(&row.when)));
            }
            cells
        });
        RecordTable { title: list.title.to_owned(), columns, rows: rows.collect() }
    }
}

impl Papers<'_> {
    /// A value of a row as it was typed; a bare roughness with the unit that it is in.
    fn cell(&self, field: &Field, row: &Value) -> String {
        let mut cell = shown(row.get(field.key));
        if field.small && cell.ends_with(|last: char| last.is_ascii_digit()) {
            cell.push_str(&format!(" {}", crank::RaUnit::of(self.card.unit()).sign()));
        }
        cell
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

/// The rows of one kind, or of some that belong together, as a table.
struct List {
    title: &'static str,
    /// The keys of the sheet that they stand under.
    keys: &'static [&'static str],
    fields: &'static [Field],
}

/// A column of it.
struct Field {
    key: &'static str,
    head: &'static str,
    figures: bool,
    share: f64,
    /// Whether a bare figure is in the small unit that goes with the sizes.
    small: bool,
    /// Whether it stands there even where no row says anything.
    always: bool,
}

impl Field {
    const fn words(key: &'static str, head: &'static str) -> Field {
        Field { key, head, figures: false, share: 0.9, small: false, always: true }
    }

    const fn figures(key: &'static str, head: &'static str) -> Field {
        Field { key, head, figures: true, share: 0.9, small: false, always: true }
    }

    const fn wide(self, share: f64) -> Field {
        Field { share, ..self }
    }

    const fn roughness(key: &'static str, head: &'static str) -> Field {
        Field { small: true, ..Field::figures(key, head) }
    }

    const fn if_there(self) -> Field {
        Field { always: false, ..self }
    }
}

/// Every row that a sheet can hold, in the order of the work.
const LISTS: [List; 16] = [
    List {
        title: "Every reading as taken",
        keys: &["reading"],
        fields: &[
            Field::words("at", "Station"),
            Field::figures("plane", "Degrees"),
            Field::figures("size", "As read"),
            Field::words("with", "Micrometer"),
        ],
    },
    List {
        title: "Run-outs",
        keys: &["run_out"],
        fields: &[
            Field::figures("total", "Total reading"),
            Field::figures("high", "High point"),
            Field::words("with", "Micrometer"),
        ],
    },
    List {
        title: "Traces",
        keys: &["trace"],
        fields: &[
            Field::words("at", "Station"),
            Field::figures("size", "As read"),
            Field::words("start", "Start"),
            Field::words("angles", "Directions").wide(2.0).if_there(),
            Field::words("departures", "Departures on the radius").wide(4.0),
            Field::words("with", "Instrument").if_there(),
            Field::words("size_with", "Size by").if_there(),
        ],
    },
    List {
        title: "Centres and wear as found",
        keys: &["centre", "worn"],
        fields: &[
            Field::figures("throw", "Throw off by"),
            Field::figures("index", "Index off by"),
            Field::figures("share", "One-sided share"),
            Field::words("how", "How it is worn").if_there(),
            Field::words("with", "Instrument").if_there(),
        ],
    },
    List { title: "Stamps found", keys: &["stamped"], fields: &[Field::figures("undersize", "Undersize stamped")] },
    List {
        title: "Damage seen",
        keys: &["damage"],
        fields: &[
            Field::words("kind", "Kind"),
            Field::words("depth", "Depth"),
            Field::words("at", "Station"),
            Field::words("from", "From"),
            Field::words("to", "To"),
            Field::words("with", "Instrument").if_there(),
        ],
    },
    List {
        title: "Housings as measured",
        keys: &["housing"],
        fields: &[
            Field::words("at", "Station"),
            Field::words("plane", "From the split"),
            Field::figures("size", "As read"),
            Field::words("shells", "Shells").if_there(),
            Field::figures("undersize", "Their undersize").if_there(),
            Field::words("with", "Instrument"),
        ],
    },
    List {
        title: "Half shells as measured",
        keys: &["shell"],
        fields: &[
            Field::words("name", "Mark").if_there(),
            Field::words("half", "Half").if_there(),
            Field::figures("undersize", "Undersize").if_there(),
            Field::figures("wall", "Wall"),
            Field::figures("count", "Alike").if_there(),
            Field::words("with", "Instrument"),
        ],
    },
    List {
        title: "Widths and crush at the bearings",
        keys: &["bearing"],
        fields: &[
            Field::figures("crush", "Crush"),
            Field::figures("width", "Width of the journal").wide(1.1),
            Field::figures("rods", "Widths of its rods"),
            Field::words("with", "Instrument"),
        ],
    },
    List {
        title: "Thrust bearing as measured",
        keys: &["thrust"],
        fields: &[
            Field::figures("width", "Width of the journal"),
            Field::figures("housing", "Over the housing"),
            Field::figures("front", "Front washer"),
            Field::figures("rear", "Rear washer"),
            Field::figures("front_oversize", "Front oversize").if_there(),
            Field::figures("rear_oversize", "Rear oversize").if_there(),
            Field::figures("float", "End float"),
        ],
    },
    List {
        title: "Thrust bearing, what it was measured with",
        keys: &["thrust"],
        fields: &[
            Field::words("with", "Width by").if_there(),
            Field::words("housing_with", "Housing by").if_there(),
            Field::words("washers_with", "Washers by").if_there(),
        ],
    },
    List {
        title: "Roughness as measured",
        keys: &["roughness"],
        fields: &[
            Field::words("at", "Station"),
            Field::roughness("ra", "Ra").wide(1.2),
            Field::words("lay", "Lay"),
            Field::words("when", "Before or after work").if_there(),
            Field::words("error_limit", "Wrong by at most").wide(1.1).if_there(),
            Field::words("cutoff", "Cut-off").if_there(),
            Field::words("with", "Instrument").wide(1.4),
        ],
    },
    List {
        title: "Dial on mains, as read",
        keys: &["dial"],
        fields: &[
            Field::figures("readings", "Readings").wide(3.0),
            Field::words("angles", "Angles").wide(1.6).if_there(),
            Field::words("with", "Instrument").if_there(),
        ],
    },
    List {
        title: "Heights of pins",
        keys: &["height"],
        fields: &[
            Field::figures("heights", "Heights").wide(2.4).if_there(),
            Field::words("angles", "Angles").wide(1.6).if_there(),
            Field::figures("top", "Top").if_there(),
            Field::figures("bottom", "Bottom").if_there(),
            Field::figures("doubt", "Doubt").if_there(),
        ],
    },
    List {
        title: "Features of the shaft",
        keys: &["feature"],
        fields: &[
            Field::words("name", "Feature").wide(1.4),
            Field::figures("total", "Dial").if_there(),
            Field::figures("high", "High at").if_there(),
            Field::figures("face_total", "Face").if_there(),
        ],
    },
    List {
        title: "Hardened case",
        keys: &["case"],
        fields: &[Field::figures("depth", "Depth"), Field::figures("doubt", "Doubt").if_there()],
    },
];

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

#[cfg(test)]
mod tests;
