//! Random histories of readings, second looks, strikes, corrections, undos and repeats, on both databases, against a plain
//! model of the rules: a true reading is never refused, nothing that was acknowledged is missing, and what is shown is what the
//! acknowledged entries add up to.
//!
//! The model knows nothing of entries. It holds what a person with paper and pencil would: for each spot the figures that were
//! read, which are in doubt, which is struck out. Which figures look doubtful it is told; what follows from a doubt it
//! works out itself.

#[path = "../../shop/tests/support/mod.rs"]
mod support;

use std::collections::BTreeSet;
use std::fmt::Write;
use std::sync::Arc;

use job::JobCard;
use job::march::Spot;
use job::taking::{Outcome, ReadingIn, take};
use job::undo::{next_redo, next_undo};
use say::Words;
use shop::{
    Appended, Draft, EntryId, EntryKind, Settled, Shop, Source, Store, StoreError, Value, WorkedOut, fold, fold_shop,
};
use support::{Postgres, booked, draft, folder, id};
use tokio::task::JoinSet;

/// Histories in a file between two openings of it; there are four.
const HISTORIES_A_PART: u64 = 300;

/// `TENUNDER_TEST_HISTORIES=10` tries ten times as many.
fn times() -> u64 {
    std::env::var("TENUNDER_TEST_HISTORIES").ok().and_then(|times| times.parse().ok()).unwrap_or(1)
}

const MIC: &str = "mic 1-2";
/// The spots that are read, and what each measures, in 0.0001 in.
const SPOTS: [(&str, i64); 5] = [
    ("main-1.front.a", 14_991),
    ("main-1.rear.a", 14_990),
    ("main-1.front.b", 14_992),
    ("main-2.front.a", 14_990),
    ("pin-1.front.a", 12_446),
];
/// How far a figure is from that: it repeats, it does not, a turn or a line was miscounted.
const OFF: [i64; 9] = [0, 1, -1, 0, 8, -9, 250, -250, 20];

/// Random numbers that are the same each time (SplitMix64, Steele and others 2014).
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((mixed ^ (mixed >> 31)) % most as u64) as usize
    }
}

/// What was done at one stroke.
#[derive(Clone, Debug)]
enum Act {
    /// A figure at a spot, in place of another where it corrects it, with what it made doubtful.
    Read { entry: EntryId, spot: usize, size: i64, corrects: Option<EntryId>, doubts: Vec<(EntryId, EntryId)> },
    /// Somebody looked at what is in doubt.
    Settled { flag: EntryId, kept: bool },
}

/// What stands on the paper for one spot: one line of it.
#[derive(Clone, Debug)]
struct Line {
    entry: EntryId,
    spot: usize,
    /// What counts, or is compared with.
    counts: Vec<i64>,
    /// A second figure that did not agree: neither counts until there is a third.
    clashes: Option<i64>,
    doubts: BTreeSet<EntryId>,
    struck: bool,
}

/// Whether two figures agree: the repeatability limit of a micrometer read to 0.0001 in, as `gauge` documents it, and the
/// graduation to which both are rounded.
fn agree(one: i64, other: i64, limit: f64) -> bool {
    (one - other).abs() as f64 <= limit
}

/// Everything on the paper, from what was done; with each whether it was undone. A doubt stays with the figure that it is
/// about, also where the figure that raised it is taken back: somebody has to look.
fn paper(acts: &[(Act, bool)], limit: f64) -> (Vec<Line>, Outcome) {
    let mut lines: Vec<Line> = Vec::new();
    let mut outcome = Outcome::Saved;
    for (act, undone) in acts {
        match act {
            Act::Read { doubts, .. } if *undone => doubt(&mut lines, doubts),
            Act::Settled { .. } if *undone => {}
            Act::Read { entry, spot, size, corrects, doubts } => {
                let fresh = || Line {
                    entry: *entry,
                    spot: *spot,
                    counts: vec![*size],
                    clashes: None,
                    doubts: BTreeSet::new(),
                    struck: false,
                };
                let corrected = lines.iter_mut().find(|line| Some(line.entry) == *corrects);
                outcome = Outcome::Saved;
                if let Some(line) = corrected {
                    *line = fresh();
                } else if let Some(line) = lines.iter_mut().rev().find(|line| line.spot == *spot && !line.struck) {
                    let first = line.counts.first().copied().unwrap_or_default();
                    if let Some(second) = line.clashes.take() {
                        // The middle one; of an even number, for two may have agreed before, the larger of the middle two.
                        let mut all = line.counts.clone();
                        all.extend([second, *size]);
                        all.sort_unstable();
                        line.counts = vec![all[all.len() / 2]];
                        outcome = Outcome::Settles;
                    } else if !line.doubts.is_empty() {
                        line.doubts.clear();
                        if agree(first, *size, limit) {
                            // Read the same again: it is believed.
                            line.counts.push(*size);
                            outcome = Outcome::Agrees;
                        } else {
                            line.struck = true;
                            lines.push(fresh());
                        }
                    } else if agree(first, *size, limit) {
                        line.counts.push(*size);
                        outcome = Outcome::Agrees;
                    } else {
                        line.clashes = Some(*size);
                        outcome = Outcome::Clashes;
                    }
                } else {
                    lines.push(fresh());
                }
                doubt(&mut lines, doubts);
            }
            Act::Settled { flag, kept } => {
                if let Some(line) = lines.iter_mut().find(|line| line.doubts.contains(flag)) {
                    line.doubts.remove(flag);
                    line.struck |= !kept;
                }
            }
        }
    }
    (lines, outcome)
}

fn doubt(lines: &mut [Line], doubts: &[(EntryId, EntryId)]) {
    for (flag, about) in doubts {
        if let Some(line) = lines.iter_mut().find(|line| line.entry == *about) {
            line.doubts.insert(*flag);
        }
    }
}

fn inches(size: i64) -> String {
    format!("{}.{:04}", size / 10_000, size % 10_000)
}

/// The readings that count, as the sheet has them.
fn shown_on_paper(lines: &[Line]) -> Vec<String> {
    let counts = lines.iter().filter(|line| !line.struck && line.doubts.is_empty() && line.clashes.is_none());
    counts
        .map(|line| {
            let sizes: Vec<String> = line.counts.iter().map(|size| inches(*size)).collect();
            format!("{} {}", SPOTS[line.spot].0, sizes.join(" "))
        })
        .collect()
}

fn shown_in(document: &Value) -> Vec<String> {
    let rows = document.get("reading").map(|rows| rows.items().to_vec()).unwrap_or_default();
    rows.iter()
        .map(|row| {
            let size = row.get("size").unwrap();
            let sizes: Vec<&str> = match size.as_typed() {
                Some(one) => vec![one],
                None => size.items().iter().map(|size| size.as_typed().unwrap()).collect(),
            };
            let spot = SPOTS.iter().find(|(spot, _)| spot.parse::<Spot>().unwrap().is_of(row)).unwrap().0;
            format!("{spot} {}", sizes.join(" "))
        })
        .collect()
}

/// One crank at the bench, and the paper beside it.
struct Bench {
    store: Store,
    shop: Shop,
    card: JobCard,
    /// The job as another screen still shows it.
    stale: Option<JobCard>,
    /// What was done, and whether it is undone.
    acts: Vec<(Act, bool)>,
    /// Which of them can be put back, the next one last.
    undone: Vec<usize>,
    acknowledged: Vec<Draft>,
    strokes: i64,
    told: String,
}

impl Bench {
    async fn booked(store: Store) -> Bench {
        let micrometer = EntryKind::Instrument {
            row: Value::table([
                ("name", Value::from(MIC)),
                ("range", Value::List(vec![Value::typed("1"), Value::typed("2")])),
                ("graduation", Value::typed("0.0001")),
            ]),
        };
        let drafts = vec![booked("H-1", "A. Miller"), draft(micrometer)];
        let job = store.book_in(&drafts).await.unwrap().job;
        let card = JobCard::of(store.entries(job, 0).await.unwrap());
        Bench {
            store,
            shop: fold_shop(&[]),
            card,
            stale: None,
            acts: Vec::new(),
            undone: Vec::new(),
            acknowledged: drafts,
            strokes: 0,
            told: String::new(),
        }
    }

    /// Each stroke has a moment of its own: what is written at one moment is undone at one stroke.
    fn when(&mut self) -> String {
        self.strokes += 1;
        format!("2026-11-25T09:{:02}:{:02}Z", self.strokes / 60, self.strokes % 60)
    }

    fn limit(&self) -> f64 {
        let micrometer = self.card.micrometer(Some(MIC)).unwrap();
        (2.8 * micrometer.repeatability_mm + micrometer.graduation_mm) / 0.002_54 + 1e-6
    }

    async fn catch_up(&mut self) {
        let more = self.store.entries(self.card.job.number, self.card.job.seq).await.unwrap();
        self.stale = Some(std::mem::replace(&mut self.card, JobCard::of(Vec::new())));
        self.card = self.stale.as_ref().unwrap().with_entries(more);
    }

    async fn write(&mut self, drafts: &[Draft]) {
        let job = self.card.job.number;
        let written = self.store.append(job, self.card.job.seq, drafts).await;
        let seq = self.card.job.seq + drafts.len() as i64;
        assert_eq!(written.unwrap(), Appended::Written { seq }, "{}", self.told);
        self.acknowledged.extend_from_slice(drafts);
        self.catch_up().await;
    }

    async fn read(&mut self, spot: usize, size: i64, corrects: Option<EntryId>, late: bool) {
        let _ = writeln!(self.told, "{} {} correcting {corrects:?}, late {late}", SPOTS[spot].0, inches(size));
        let reading = ReadingIn {
            id: id(),
            who: "Pat".to_owned(),
            when: self.when(),
            spot: SPOTS[spot].0.parse().unwrap(),
            typed: inches(size),
            source: Source::Typed,
            with: Some(MIC.to_owned()),
            corrects,
        };
        let job = self.card.job.number;
        if let Some(stale) = self.stale.as_ref().filter(|_| late) {
            // From a screen that has not seen the last stroke: told so, nothing is written, nothing is lost.
            let taking = take(stale, &self.shop, &reading).unwrap_or_else(|no| panic!("{no:?}\n{}", self.told));
            let known = WorkedOut { before: Arc::clone(&stale.job), after: Arc::clone(&taking.after.job) };
            let answer = self.store.append_worked_out(job, &taking.drafts, known).await.unwrap();
            assert!(matches!(answer, Appended::Behind { .. }), "{answer:?}\n{}", self.told);
        }
        // A true reading is never refused.
        let taking = take(&self.card, &self.shop, &reading).unwrap_or_else(|no| panic!("{no:?}\n{}", self.told));
        let known = WorkedOut { before: Arc::clone(&self.card.job), after: Arc::clone(&taking.after.job) };
        let answer = self.store.append_worked_out(job, &taking.drafts, known).await;
        let seq = self.card.job.seq + taking.drafts.len() as i64;
        assert_eq!(answer.unwrap(), Appended::Written { seq }, "{}", self.told);
        let doubts = taking.drafts.iter().filter_map(|draft| match draft.kind {
            EntryKind::FlagRaised { about: Some(about), .. } => Some((draft.id, about)),
            _ => None,
        });
        self.acts.push((Act::Read { entry: reading.id, spot, size, corrects, doubts: doubts.collect() }, false));
        self.undone.clear();
        let (_, outcome) = paper(&self.acts, self.limit());
        let drafts = &taking.drafts;
        assert_eq!(taking.outcome, outcome, "{}{:#?}\n{drafts:#?}", self.told, paper(&self.acts, self.limit()));
        self.acknowledged.extend_from_slice(&taking.drafts);
        self.catch_up().await;
    }

    async fn settle(&mut self, dice: &mut Dice) {
        let about: Vec<EntryId> =
            self.card.job.flags.iter().filter(|flag| flag.about.is_some()).map(|flag| flag.entry).collect();
        let Some(&flag) = about.get(dice.below(about.len().max(1))) else { return };
        let kept = dice.below(2) == 0;
        let _ = writeln!(self.told, "settle {flag}, kept {kept}");
        let how = if kept { Settled::Kept } else { Settled::StruckOut };
        let when = self.when();
        self.write(&[Draft::new(id(), "Pat", when, EntryKind::FlagSettled { flag, how })]).await;
        self.acts.push((Act::Settled { flag, kept }, false));
        self.undone.clear();
    }

    async fn undo(&mut self) {
        let Some(last) = self.acts.iter().rposition(|(_, undone)| !undone) else { return };
        let _ = writeln!(self.told, "undo");
        let step =
            next_undo(&self.card.entries, &self.card.job, Words::default()).expect("what was done can be undone");
        let when = self.when();
        self.write(&step.drafts(id(), "Pat", &when)).await;
        self.acts[last].1 = true;
        self.undone.push(last);
    }

    async fn redo(&mut self) {
        let Some(last) = self.undone.pop() else { return };
        let _ = writeln!(self.told, "redo");
        let step = next_redo(&self.card.entries, &self.card.job, Words::default()).expect("an undo can be taken back");
        let when = self.when();
        self.write(&step.drafts(id(), "Pat", &when)).await;
        self.acts[last].1 = false;
    }

    /// A line that was lost on its way back: sent again as it was, and with another figure under its name.
    async fn repeat(&mut self) {
        let (job, seq) = (self.card.job.number, self.card.job.seq);
        let Some(last) = self.acknowledged.iter().rev().find(|draft| matches!(draft.kind, EntryKind::Reading(_)))
        else {
            return;
        };
        let _ = writeln!(self.told, "repeat");
        let place = self.card.entries.iter().find(|entry| entry.id == last.id).unwrap().seq;
        let again = self.store.append(job, seq, std::slice::from_ref(last)).await.unwrap();
        assert_eq!(again, Appended::Repeated { seq: place }, "{}", self.told);
        let mut other = last.clone();
        if let EntryKind::Reading(row) = &mut other.kind {
            row.row.set("size", Value::typed("1.2345"));
        }
        let other = self.store.append(job, seq, &[other]).await;
        assert_eq!(other.unwrap_err(), StoreError::NameTaken(last.id), "{}", self.told);
    }

    async fn step(&mut self, dice: &mut Dice) {
        match dice.below(16) {
            0..9 => {
                let spot = dice.below(SPOTS.len());
                let size = SPOTS[spot].1 + OFF[dice.below(OFF.len())];
                self.read(spot, size, None, dice.below(6) == 0).await;
            }
            9 | 10 => {
                let (lines, _) = paper(&self.acts, self.limit());
                let lines: Vec<&Line> = lines.iter().filter(|line| !line.struck).collect();
                let Some(line) = lines.get(dice.below(lines.len().max(1))) else { return };
                let size = SPOTS[line.spot].1 + OFF[dice.below(OFF.len())];
                self.read(line.spot, size, Some(line.entry), false).await;
            }
            11 | 12 => self.settle(dice).await,
            13 => self.undo().await,
            14 => self.redo().await,
            _ => self.repeat().await,
        }
        let (lines, _) = paper(&self.acts, self.limit());
        let job = &self.card.job;
        assert_eq!(shown_in(&job.document), shown_on_paper(&lines), "{}\n{lines:#?}", self.told);
        let doubted: BTreeSet<EntryId> =
            lines.iter().filter(|line| !line.struck).flat_map(|line| line.doubts.clone()).collect();
        let open: BTreeSet<EntryId> =
            job.flags.iter().filter(|flag| flag.about.is_some()).map(|flag| flag.entry).collect();
        assert_eq!(open, doubted, "{}\n{lines:#?}", self.told);
        let waiting: Vec<EntryId> =
            lines.iter().filter(|l| !l.struck && l.clashes.is_some()).map(|line| line.entry).collect();
        assert_eq!(job.third_wanted, waiting, "{}\n{lines:#?}", self.told);
    }

    /// Nothing that was acknowledged is missing, and what is shown is what it adds up to.
    async fn look_up(&self) {
        let entries = self.store.entries(self.card.job.number, 0).await.unwrap();
        let kept: Vec<(EntryId, &EntryKind)> = entries.iter().map(|entry| (entry.id, &entry.kind)).collect();
        let told: Vec<(EntryId, &EntryKind)> = self.acknowledged.iter().map(|draft| (draft.id, &draft.kind)).collect();
        assert_eq!(kept, told, "{}", self.told);
        assert_eq!(self.store.job(self.card.job.number).await.unwrap(), fold(&entries), "{}", self.told);
    }
}

/// So many histories, some at a time, each of a crank of its own in one record.
async fn histories(store: &Store, seeds: std::ops::Range<u64>) {
    let mut running = JoinSet::new();
    let mut strokes = 0;
    for seed in seeds {
        if running.len() >= 8 {
            strokes += running.join_next().await.unwrap().unwrap();
        }
        let store = store.clone();
        running.spawn(async move {
            let mut bench = Bench::booked(store).await;
            let _ = writeln!(bench.told, "history {seed}");
            let mut dice = Dice(seed);
            for _ in 0..4 + dice.below(9) {
                bench.step(&mut dice).await;
            }
            bench.look_up().await;
            bench.strokes
        });
    }
    strokes += running.join_all().await.into_iter().sum::<i64>();
    assert!(strokes > 0);
    assert_eq!(store.verify().await.unwrap().faults, Vec::<String>::new());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_order_comes_to_what_the_paper_says() {
    let file = folder("histories").join("shop.tenunder");
    let place = file.to_str().unwrap();
    // Closed and opened again on the way, as a program is.
    let each = HISTORIES_A_PART * times();
    for part in 0..4 {
        let store = Store::open(place).await.unwrap();
        histories(&store, part * each..(part + 1) * each).await;
        store.close().await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_order_comes_to_what_the_paper_says_on_postgresql() {
    let server = Postgres::start("histories");
    let store = Store::open(&server.address()).await.unwrap();
    histories(&store, 1_000_000..1_000_000 + 200 * times()).await;
}
