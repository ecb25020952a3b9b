//! Writing one job of the invented shop, line after line, each a little later than the one before.

use crank::{SetName, Specification};
use jiff::{SignedDuration, Timestamp};
use regrind::{Policy, Stage, Work};
use shop::{BookedIn, CheckedAt, Draft, EntryId, EntryKind, Row, Source, StoreError, Value, fresh_id};
use units::Unit;

use crate::files;

/// An engine as the shop's micrometers meet it. Sizes are in steps of the last decimal: tenths of a thou, or microns.
#[derive(Clone, Copy, Debug)]
pub(super) struct Engine {
    pub(super) file: &'static str,
    pub(super) crank: &'static str,
    units: Unit,
    /// Mains, then pins.
    sets: [Set; 2],
}

/// One set of an engine.
#[derive(Clone, Copy, Debug)]
struct Set {
    name: SetName,
    /// What a journal measured when new.
    new: i64,
    micrometer: &'static str,
    /// What that micrometer reads too much.
    zero: i64,
}

const fn mains(new: i64, micrometer: &'static str, zero: i64) -> Set {
    Set { name: SetName::Main, new, micrometer, zero }
}

const fn pins(new: i64, micrometer: &'static str, zero: i64) -> Set {
    Set { name: SetName::Pin, new, micrometer, zero }
}

pub(super) const TARN: Engine = Engine {
    file: "tarn-four",
    crank: "Tarn four, 1.5 litre",
    units: Unit::Inch,
    sets: [mains(21_248, "mic 2-3", 0), pins(18_748, "mic 1-2", 1)],
};

pub(super) const SKELDER: Engine = Engine {
    file: "skelder-six",
    crank: "Skelder six, 7 litre diesel",
    units: Unit::Millimetre,
    sets: [mains(79_992, "mic 75-100", 2), pins(63_992, "mic 50-75", 0)],
};

pub(super) const WREN: Engine = Engine {
    file: "wren",
    crank: "Wren single, 500 cc",
    units: Unit::Inch,
    sets: [mains(14_990, "mic 1-2", 1), pins(12_490, "mic 1-2", 1)],
};

impl Engine {
    /// The engine's specification as the program brings it.
    pub(super) fn book(self) -> Result<Value, StoreError> {
        let text = files::shipped(&format!("{}.toml", self.file)).unwrap_or_default();
        Value::from_text(text).map_err(fault)
    }

    fn specification(self) -> Result<Specification, StoreError> {
        let (printed, _) = sheet::read_specification(self.file, &self.book()?.to_json())
            .map_err(|problems| fault(format!("{} has {} faults", self.file, problems.len())))?;
        Specification::from_printed(&printed)
            .map_err(|faults| fault(format!("{} has {} faults", self.file, faults.len())))
    }

    fn set(self, name: SetName) -> Set {
        let [mains, pins] = self.sets;
        if name == SetName::Main { mains } else { pins }
    }

    /// A size as this engine's micrometers show it.
    fn typed(self, steps: i64) -> String {
        let (one, decimals) = match self.units {
            Unit::Inch => (10_000, 4),
            Unit::Millimetre => (1000, 3),
        };
        format!("{}.{:0decimals$}", steps / one, steps % one)
    }

    /// The micrometers that it is measured with, without naming one twice.
    fn micrometers(self) -> Vec<&'static str> {
        let mut names: Vec<_> = self.sets.iter().map(|set| set.micrometer).collect();
        names.dedup();
        names
    }
}

/// The shop's micrometers, as rows of a sheet.
pub(super) fn micrometer(name: &str) -> Value {
    let (low, high, graduation, error_limit, repeatability, units) = match name {
        "mic 1-2" => ("1.0", "2.0", "0.0001", "0.0001", "0.00005", "in"),
        "mic 2-3" => ("2.0", "3.0", "0.0001", "0.0001", "0.00005", "in"),
        "mic 50-75" => ("50", "75", "0.002", "0.004", "0.001", "mm"),
        _ => ("75", "100", "0.002", "0.004", "0.001", "mm"),
    };
    Value::table([
        ("name", Value::from(name)),
        ("kind", Value::from("outside micrometer")),
        ("units", Value::from(units)),
        ("range", Value::List(vec![Value::typed(low), Value::typed(high)])),
        ("graduation", Value::typed(graduation)),
        ("error_limit", Value::typed(error_limit)),
        ("repeatability", Value::typed(repeatability)),
    ])
}

/// How one journal is worn: what is gone in line with the throw, and how much less across it. In the engine's steps.
pub(super) type Wear = (i64, i64);

/// One job while it is being written.
#[derive(Debug)]
pub(super) struct Pen {
    engine: Engine,
    who: &'static str,
    at: Timestamp,
    drafts: Vec<Draft>,
    /// The micrometers whose zero was tried in this job.
    tried: Vec<&'static str>,
}

/// Where and how a spot is: its journal, its station, its direction.
type Spot = (SetName, usize, &'static str, i64);

/// Oxbow has prices for one engine only, so that the pages show both.
fn with_prices(engine: Engine, sheet: &mut Value) {
    if engine.file == TARN.file {
        sheet.set("prices", super::prices_of_the_tarn());
    }
}

impl Pen {
    /// Books a crank in. `promised` is in days from then.
    pub(super) fn book_in(
        engine: Engine,
        (who, at): (&'static str, Timestamp),
        mark: &str,
        (customer, telephone): (&str, &str),
        promised: Option<i64>,
    ) -> Result<Pen, StoreError> {
        let mut sheet =
            Value::table([("units", Value::from(engine.units.symbol())), ("specification", engine.book()?)]);
        if engine.file == SKELDER.file {
            sheet.set("note", Value::from("Out of a generator set."));
        }
        with_prices(engine, &mut sheet);
        let mut pen = Pen { engine, who, at, drafts: Vec::new(), tried: Vec::new() };
        let day = promised.map(|days| at + SignedDuration::from_hours(24 * days));
        pen.put(EntryKind::BookedIn(BookedIn {
            mark: mark.to_owned(),
            customer: customer.to_owned(),
            telephone: telephone.to_owned(),
            crank: engine.crank.to_owned(),
            promised: day.map(|day| day.to_string().chars().take(10).collect()),
            sheet,
            example: false,
        }))?;
        Ok(pen)
    }

    /// Books in what a sheet holds, all its rows included.
    pub(super) fn bring_in(
        engine: Engine,
        (who, at): (&'static str, Timestamp),
        name: &str,
        (customer, telephone): (&str, &str),
    ) -> Result<Pen, StoreError> {
        let text = files::shipped(name).unwrap_or_default();
        let whole = sheet::whole_sheet(name, text, &files::Beside { folder: None })
            .map_err(|problems| fault(format!("{name} has {} faults", problems.len())))?;
        let mut sheet = Value::from_json(&whole).map_err(fault)?;
        with_prices(engine, &mut sheet);
        // Names are drawn afresh below.
        let drafts = shop::brought_in(sheet, None, who, &at.to_string(), || EntryId::from_bits(0)).map_err(fault)?;
        let mut pen = Pen { engine, who, at, drafts: Vec::new(), tried: Vec::new() };
        for draft in drafts {
            let kind = match draft.kind {
                EntryKind::BookedIn(booked) => EntryKind::BookedIn(BookedIn {
                    customer: customer.to_owned(),
                    telephone: telephone.to_owned(),
                    crank: engine.crank.to_owned(),
                    ..booked
                }),
                EntryKind::Reading(row) => EntryKind::Reading(Row { source: Source::Typed, ..row }),
                other => other,
            };
            pen.put(kind)?;
        }
        Ok(pen)
    }

    /// Marks the job as the example.
    pub(super) fn example(mut self) -> Pen {
        if let Some(Draft { kind: EntryKind::BookedIn(booked), .. }) = self.drafts.first_mut() {
            booked.example = true;
        }
        self
    }

    /// Somebody else goes on, at another time.
    pub(super) fn then(&mut self, who: &'static str, at: Timestamp) {
        self.who = who;
        self.at = at;
    }

    /// Puts a line down; the next comes half a minute later.
    pub(super) fn put(&mut self, kind: EntryKind) -> Result<EntryId, StoreError> {
        let id = fresh_id()?;
        self.drafts.push(Draft::new(id, self.who, self.at.to_string(), kind));
        // A little unevenly, as people work.
        let pause = 21 + self.drafts.len() as i64 * 7 % 19;
        self.at += SignedDuration::from_secs(pause);
        Ok(id)
    }

    /// All lines, in order.
    pub(super) fn lines(&self) -> &[Draft] {
        &self.drafts
    }

    /// The size of a reading as it was typed.
    pub(super) fn same_again(&self, of: EntryId) -> Option<String> {
        let EntryKind::Reading(row) = &self.drafts.iter().find(|draft| draft.id == of)?.kind else { return None };
        row.row.get("size").and_then(Value::as_typed).map(str::to_owned)
    }

    /// Takes up a micrometer and tries it on its standard.
    fn take_up(&mut self, set: SetName) -> Result<(), StoreError> {
        let set = self.engine.set(set);
        if self.tried.is_empty() {
            for name in self.engine.micrometers() {
                self.put(EntryKind::Instrument { row: micrometer(name) })?;
            }
        }
        let at = if self.tried.is_empty() { CheckedAt::Start } else { CheckedAt::Change };
        self.put(EntryKind::MicrometerChanged { to: set.micrometer.to_owned() })?;
        let sign = if set.zero > 0 { "+" } else { "" };
        let reads = format!("{sign}{}", self.engine.typed(set.zero));
        self.put(EntryKind::ZeroCheck { instrument: set.micrometer.to_owned(), reads, at })?;
        self.tried.push(set.micrometer);
        Ok(())
    }

    /// The row of one reading, of a true size.
    fn row(&self, (set, number, at, plane): Spot, steps: i64) -> Row {
        let set = self.engine.set(set);
        Row::typed(Value::table([
            ("journal", Value::from(format!("{} {number}", set.name))),
            ("at", Value::from(at)),
            ("plane", Value::from(plane)),
            ("size", Value::typed(&self.engine.typed(steps + set.zero))),
            ("with", Value::from(set.micrometer)),
        ]))
    }

    /// One reading before grinding.
    pub(super) fn read(&mut self, spot: Spot, steps: i64) -> Result<EntryId, StoreError> {
        let row = self.row(spot, steps);
        self.put(EntryKind::Reading(row))
    }

    /// Measures a set: front and rear, in line with the throw and across it.
    pub(super) fn measure(&mut self, set: SetName, wear: &[Wear]) -> Result<Vec<EntryId>, StoreError> {
        self.take_up(set)?;
        let mut written = Vec::new();
        for (number, &(gone, less)) in (1..).zip(wear) {
            for (spot, steps) in spots(set, number).zip(worn_sizes(self.engine.set(set).new, gone, less)) {
                written.push(self.read(spot, steps)?);
            }
        }
        Ok(written)
    }

    /// What was decided for a set.
    pub(super) fn decide(&mut self, set: SetName, choice: &str, verdict: &str) -> Result<(), StoreError> {
        self.put(EntryKind::Decision {
            set: set.to_string(),
            choice: choice.to_owned(),
            overruled: None,
            verdict: verdict.to_owned(),
        })?;
        Ok(())
    }

    /// Issues the sheet for the grinder.
    pub(super) fn issue(&mut self, code: &str) -> Result<(), StoreError> {
        let entries: Vec<_> =
            (1..).zip(&self.drafts).map(|(seq, draft)| shop::entry_of(draft, 1, seq, &draft.when)).collect();
        let plan = bench::grinders_plan(&shop::fold(&entries))
            .map_err(|problems| fault(format!("the sheet has {} faults", problems.len())))?;
        self.put(EntryKind::SheetIssued { code: code.to_owned(), supersedes: None, plan })?;
        Ok(())
    }

    fn mm(&self, typed: &str) -> Result<f64, StoreError> {
        units::read(typed, self.engine.units).map(|entry| entry.mm).map_err(fault)
    }

    /// A set as it comes out of a stage: every spot within a step or so of the middle.
    pub(super) fn after(
        &mut self,
        stage: Stage,
        (set, undersize): (SetName, &str),
        numbers: std::ops::RangeInclusive<usize>,
    ) -> Result<Vec<Row>, StoreError> {
        let book = self.engine.specification()?;
        let work = Work::to(self.mm(undersize)?, self.engine.units);
        let plan = regrind::plan(book.set(set), &book.treatment, &Policy::usual(self.engine.units), &work);
        let target_mm = plan.stages.iter().find(|size| size.stage == stage).map_or(0.0, |size| size.target_mm);
        let (one_mm, coarse) = match self.engine.units {
            Unit::Inch => (Unit::Inch.mm() / 10_000.0, 1),
            // These thimbles are read to two microns.
            Unit::Millimetre => (0.001, 2),
        };
        // A target stands on a graduation; the last bit of it must not take it to the one below.
        let middle = (target_mm / one_mm / coarse as f64 + 1e-6).floor() as i64 * coarse;
        let mut rows = Vec::new();
        for number in numbers {
            for (n, spot) in spots(set, number).enumerate() {
                let off = [0, 1, 0, 0, 1, 0, 1][(n + 3 * number) % 7] * coarse;
                rows.push(self.row(spot, middle + off));
            }
        }
        Ok(rows)
    }
}

/// The spots of one journal in the order in which they are measured.
fn spots(set: SetName, number: usize) -> impl Iterator<Item = Spot> {
    [("front", 0), ("front", 90), ("rear", 0), ("rear", 90)]
        .into_iter()
        .map(move |(at, plane)| (set, number, at, plane))
}

/// True sizes of the four spots of a journal: its rear a little more worn than its front.
fn worn_sizes(new: i64, gone: i64, less: i64) -> [i64; 4] {
    // Thimbles of this shop that read microns read even ones.
    let rear = if new > 30_000 { 2 } else { 1 };
    [new - gone, new - gone + less, new - gone - rear, new - gone + less - rear]
}

pub(super) fn fault(detail: impl std::fmt::Display) -> StoreError {
    StoreError::Fault { detail: detail.to_string() }
}
