//! What stands on the sheet for the grinder: the `plan` of a `SheetIssued` entry.
//!
//! Made from the decisions when the sheet is issued, read back by whoever shows it or compares a reading with it. Lengths
//! are texts in the plan's own unit, as they would be typed; on the diameter.
//!
//! ```json
//! { "unit": "in",
//!   "rests_on": "5d41402abc4b2a76-e3b0c44298fc1c14",
//!   "sets": [
//!     { "set": "main", "choice": "leave", "journals": [{ "journal": "main 1", "smallest": "2.1243", "largest": "2.1246" }],
//!       "stages": [] },
//!     { "set": "pin", "choice": "0.020",
//!       "journals": [{ "journal": "pin 1", "smallest": "1.8729", "largest": "1.8740", "take_off": "0.0196" }],
//!       "stages": [
//!         { "stage": "rough", "target": "1.8585", "low": "1.8572", "high": "1.8598", "as_read": "1.8586 in on …" },
//!         { "stage": "grind", "target": "1.8545", "low": "1.8544", "high": "1.8546", "as_read": "…",
//!           "graduation": "0.0001", "finishes_within": "0.8404", "rest": "growth", "rest_share": "0.3429" },
//!         { "stage": "before treatment", "target": "1.8543", "low": "1.8542", "high": "1.8544", "as_read": "…" },
//!         { "stage": "finished", "target": "1.8548", "low": "1.8545", "high": "1.8550", "as_read": "…" }] }] }
//! ```
//!
//! - `choice` is the decision's own word: an undersize, `leave`, `polish`, `build up` or `scrap`. Only a set that is to be
//!   ground has stages; they are those of [`regrind::Stage`], in the order of the work, the last one `finished`.
//!   A rough stage is there only where it has something to take off.
//! - `low` and `high` are absent together where nothing is left of the window, as plans of earlier versions had it.
//! - `graduation` is that of the micrometer that the sizes are for; `finishes_within` the chance that a journal worked to the
//!   target finishes within its limits, `rest` what most of the rest comes from and `rest_share` its share in the variance.
//!   A plan without them was written by an earlier version.
//! - `take_off` is the largest size now less the size off the wheel; absent where nothing is to come off. A plan without
//!   `largest` was written by an earlier version, and its `take_off` counts from the smallest.
//! - `rests_on` changes with the readings, the specification and the shop's rules that the plan was made from; after the
//!   dash with the widths, the crush and the thrust parts. A plan without the dash was written by an earlier version.

use crank::{JournalId, SetName};
use regrind::{Choice, Finishes, Part, Stage, Work};
use sha2::{Digest, Sha256};
use sheet::Sheet;
use shop::{Job, Value};
use units::{Unit, show_mm};

use crate::heading::Change;
use crate::judged::read;
use crate::nouns::{choice_on, journal_of, set_named};

/// The sizes that a sheet for the grinder carries.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanSheet {
    /// The unit of all its lengths.
    pub unit: Unit,
    /// A mark of what it was made from.
    pub rests_on: String,
    /// The sets that were decided, mains first.
    pub sets: Vec<SetSheet>,
}

/// One set on the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct SetSheet {
    /// Which set.
    pub set: SetName,
    /// The decision, as it stands in the log.
    pub choice: String,
    /// The measured journals as they came in.
    pub journals: Vec<JournalSheet>,
    /// What to work to; empty where the set is not ground.
    pub stages: Vec<StageSheet>,
}

/// One journal as it came in.
#[derive(Clone, Debug, PartialEq)]
pub struct JournalSheet {
    /// Which journal.
    pub journal: JournalId,
    /// Its smallest size, corrected.
    pub smallest: String,
    /// Its largest; empty in a plan of an earlier version.
    pub largest: String,
    /// What comes off the largest place, on the diameter, where anything does.
    pub take_off: Option<String>,
}

/// One stage of the work.
#[derive(Clone, Debug, PartialEq)]
pub struct StageSheet {
    /// Which stage.
    pub stage: Stage,
    /// The size to work to.
    pub target: String,
    /// The limits, both permitted; none where nothing is left of the window.
    pub window: Option<(String, String)>,
    /// Graduation of the micrometer it is for; none in a plan of an earlier version.
    pub graduation: Option<String>,
    /// The chance that a journal worked to it finishes within limits; none in a plan of an earlier version.
    pub finishes: Option<Finishes>,
    /// The target as it stands on the micrometer.
    pub as_read: String,
}

impl PlanSheet {
    /// The plan for a job as it is decided; nothing is on it of a set that was not decided.
    pub fn of(job: &Job, sheet: &Sheet) -> PlanSheet {
        let sets = SetName::BOTH.into_iter().filter_map(|set| {
            let decided = job.decisions.iter().find(|decided| decided.set == set.word())?;
            Some(SetSheet::of(sheet, set, &decided.choice))
        });
        PlanSheet { unit: sheet.unit, rests_on: rests_on(job), sets: sets.collect() }
    }

    /// One set of it.
    pub fn set(&self, set: SetName) -> Option<&SetSheet> {
        self.sets.iter().find(|known| known.set == set)
    }

    /// A length of the plan in millimetres.
    pub fn mm(&self, typed: &str) -> Option<f64> {
        units::read(typed, self.unit).ok().map(|entry| entry.mm)
    }

    /// As it is kept in the log.
    pub fn to_value(&self) -> Value {
        Value::table([
            ("unit", Value::from(self.unit.symbol())),
            ("rests_on", Value::from(self.rests_on.as_str())),
            ("sets", Value::List(self.sets.iter().map(SetSheet::to_value).collect())),
        ])
    }

    /// A plan from the log; nothing where it was written by some other program and cannot be read here.
    pub fn from_value(value: &Value) -> Option<PlanSheet> {
        let unit = [Unit::Inch, Unit::Millimetre].into_iter().find(|u| Some(u.symbol()) == value.words("unit"))?;
        Some(PlanSheet {
            unit,
            rests_on: value.words("rests_on").unwrap_or_default().to_owned(),
            sets: value
                .get("sets")?
                .items()
                .iter()
                .map(|set| SetSheet::from_value(set, unit))
                .collect::<Option<_>>()?,
        })
    }

    /// Whether every size on this paper is still one to work to. A set that was decided since takes nothing from the others.
    pub fn same_sizes(&self, now: &PlanSheet) -> bool {
        self.sets
            .iter()
            .all(|old| now.set(old.set).is_some_and(|new| old.choice == new.choice && old.sizes() == new.sizes()))
    }

    /// What is different now, in words; empty where the sheet still says what holds.
    ///
    /// `self` is the plan on paper, `now` the plan as it would be made today.
    pub fn changed(&self, now: &PlanSheet) -> Vec<Change> {
        let mut changes = Vec::new();
        for set in SetName::BOTH {
            match (self.set(set), now.set(set)) {
                (Some(old), Some(new)) if old.choice != new.choice => changes.push(Change::Choice {
                    set,
                    from: (old.choice.clone(), self.unit),
                    to: (new.choice.clone(), now.unit),
                }),
                (Some(old), Some(new)) if old.sizes() != new.sizes() => changes.push(Change::Sizes(set)),
                (None, Some(_)) => changes.push(Change::Decided(set)),
                (Some(_), None) => changes.push(Change::NoLongerDecided(set)),
                _ => {}
            }
        }
        if changes.is_empty() && !rest_on_the_same(&self.rests_on, &now.rests_on) {
            changes.push(Change::Readings);
        }
        changes
    }
}

impl SetSheet {
    fn of(sheet: &Sheet, set: SetName, choice: &str) -> SetSheet {
        let unit = sheet.unit;
        let book = sheet.specification.set(set);
        let undersize_mm = choice_on(choice, unit, &book.ladder_mm()).and_then(Choice::undersize_mm);
        let plan = undersize_mm
            .map(|under_mm| Work::on(&sheet.specification, &sheet.findings, set, under_mm, unit))
            .map(|work| regrind::plan(book, &sheet.specification.treatment, &sheet.policy, &work).stages)
            .unwrap_or_default();
        let off_the_wheel_mm = plan.iter().find(|stage| stage.stage == Stage::Grind).map(|stage| stage.target_mm);
        let micrometers = sheet.micrometers_for(set);
        let stages = plan.iter().map(|stage| StageSheet {
            stage: stage.stage,
            target: stage.target_figure(unit),
            window: stage.window_figures(unit),
            graduation: stage.graduation_mm.map(|mm| show_mm(mm, unit, unit.usual_decimals() + 2)),
            finishes: stage.finishes,
            as_read: gauge::as_read(&micrometers, stage.target_mm, unit),
        });
        let journals = came_in(sheet, set, off_the_wheel_mm);
        SetSheet { set, choice: choice.to_owned(), journals, stages: stages.collect() }
    }

    /// A change of these makes the paper wrong.
    fn sizes(&self) -> Vec<(&str, Option<&(String, String)>)> {
        self.stages.iter().map(|stage| (stage.target.as_str(), stage.window.as_ref())).collect()
    }

    fn to_value(&self) -> Value {
        let journals = self.journals.iter().map(|journal| {
            let mut row = Value::table([
                ("journal", Value::from(journal.journal.to_string())),
                ("smallest", Value::from(journal.smallest.as_str())),
                ("largest", Value::from(journal.largest.as_str())),
            ]);
            if let Some(take_off) = &journal.take_off {
                row.set("take_off", Value::from(take_off.as_str()));
            }
            row
        });
        let stages = self.stages.iter().map(|stage| {
            let mut row = Value::table([
                ("stage", Value::from(stage.stage.word())),
                ("target", Value::from(stage.target.as_str())),
            ]);
            if let Some((low, high)) = &stage.window {
                row.set("low", Value::from(low.as_str()));
                row.set("high", Value::from(high.as_str()));
            }
            row.set("as_read", Value::from(stage.as_read.as_str()));
            if let Some(graduation) = &stage.graduation {
                row.set("graduation", Value::from(graduation.as_str()));
            }
            if let Some(finishes) = stage.finishes {
                row.set("finishes_within", Value::from(format!("{:.4}", finishes.chance)));
                row.set("rest", Value::from(finishes.rest.word()));
                row.set("rest_share", Value::from(format!("{:.4}", finishes.share)));
            }
            row
        });
        Value::table([
            ("set", Value::from(self.set.word())),
            ("choice", Value::from(self.choice.as_str())),
            ("journals", Value::List(journals.collect())),
            ("stages", Value::List(stages.collect())),
        ])
    }

    fn from_value(value: &Value, unit: Unit) -> Option<SetSheet> {
        // What cannot be compared with a reading is no size.
        let size = |row: &Value, key: &str| {
            let typed = row.get(key).and_then(Value::as_typed)?;
            units::read(typed, unit).is_ok().then(|| typed.to_owned())
        };
        let text = |row: &Value, key: &str| row.get(key).and_then(Value::as_typed).map(str::to_owned);
        let set = set_named(value.words("set")?)?;
        let journal = |row: &Value| {
            Some(JournalSheet {
                journal: journal_of(row).filter(|journal| journal.set == set)?,
                smallest: text(row, "smallest")?,
                largest: text(row, "largest").unwrap_or_default(),
                take_off: text(row, "take_off"),
            })
        };
        let share = |row: &Value, key: &str| -> Option<f64> {
            row.get(key).and_then(Value::as_typed)?.parse().ok().filter(|share| (0.0..=1.0).contains(share))
        };
        let stage = |row: &Value| {
            let finishes = || {
                let rest = row.words("rest").and_then(Part::of_word)?;
                Some(Finishes { chance: share(row, "finishes_within")?, rest, share: share(row, "rest_share")? })
            };
            Some(StageSheet {
                stage: row.words("stage").and_then(Stage::of_word)?,
                graduation: size(row, "graduation"),
                finishes: finishes(),
                target: size(row, "target")?,
                window: size(row, "low").zip(size(row, "high")),
                as_read: text(row, "as_read").unwrap_or_default(),
            })
        };
        Some(SetSheet {
            set,
            choice: text(value, "choice")?,
            journals: value.get("journals")?.items().iter().map(journal).collect::<Option<_>>()?,
            stages: value.get("stages")?.items().iter().map(stage).collect::<Option<_>>()?,
        })
    }
}

/// The measured journals of a set as they came in, and what comes off each to this size off the wheel.
pub fn came_in(sheet: &Sheet, set: SetName, off_the_wheel_mm: Option<f64>) -> Vec<JournalSheet> {
    let size = |mm: f64| show_mm(mm, sheet.unit, sheet.unit.usual_decimals());
    let numbers = 1..=sheet.specification.set(set).count();
    numbers
        .filter_map(|number| {
            let journal = JournalId { set, number };
            let found = crank::condition(&sheet.specification, &sheet.findings, journal, 0.0)?;
            let off_mm = off_the_wheel_mm.map(|target_mm| found.largest_mm - target_mm).filter(|mm| *mm > 0.0);
            Some(JournalSheet {
                journal,
                smallest: size(found.smallest_mm),
                largest: size(found.largest_mm),
                take_off: off_mm.map(size),
            })
        })
        .collect()
}

/// What a sheet for the grinder carries for a job as it is decided: the `plan` of a `SheetIssued` entry.
///
/// # Errors
/// What is wrong with the job's sheet.
pub fn grinders_plan(job: &Job) -> Result<Value, Vec<sheet::Problem>> {
    Ok(PlanSheet::of(job, &read(job)?).to_value())
}

/// What a plan rests on, with the keys of their rows that name a micrometer.
const RESTS_ON: Ground = Ground {
    keys: &[
        "specification",
        "policy",
        "assumed",
        "reading",
        "run_out",
        "trace",
        "centre",
        "damage",
        "worn",
        "stamped",
        "housing",
        "shell",
        "wanted",
    ],
    micrometers: &["with", "size_with"],
};

/// What it rests on besides, which plans of earlier versions have no mark of.
const RESTS_ON_TOO: Ground = Ground {
    keys: &["bearing", "thrust", "roughness", "carried", "dial", "height", "feature", "case"],
    micrometers: &["with", "housing_with", "washers_with"],
};

/// Whether a plan rests on a row: what was measured when the work was done it does not know.
fn is_ground(row: &Value) -> bool {
    row.words("when") != Some("after")
}

struct Ground {
    keys: &'static [&'static str],
    micrometers: &'static [&'static str],
}

impl Ground {
    /// A mark of the rows, rules and micrometers. Micrometers that no row names are left out: one that is taken up to check
    /// the ground sizes changes nothing about the plan.
    fn mark(&self, job: &Job) -> String {
        let mut hash = Sha256::new();
        let mut add = |value: &Value| {
            hash.update(value.to_json());
            hash.update([0]);
        };
        let mut named: Vec<&str> = Vec::new();
        for part in self.keys.iter().filter_map(|key| job.document.get(key)) {
            if part.items().iter().all(is_ground) {
                add(part);
            } else {
                let rows: Vec<Value> = part.items().iter().filter(|row| is_ground(row)).cloned().collect();
                // None is no part at all, as it was before any was measured.
                if !rows.is_empty() {
                    add(&Value::List(rows));
                }
            }
            for row in part.items().iter().filter(|row| is_ground(row)) {
                named.extend(self.micrometers.iter().filter_map(|key| row.words(key)));
            }
        }
        let instruments = job.document.get("instrument").map(Value::items).unwrap_or_default();
        for row in instruments.iter().filter(|row| row.words("name").is_some_and(|name| named.contains(&name))) {
            add(row);
        }
        hash.finalize().iter().take(8).map(|byte| format!("{byte:02x}")).collect()
    }
}

/// A mark of all that a plan rests on.
fn rests_on(job: &Job) -> String {
    format!("{}-{}", RESTS_ON.mark(job), RESTS_ON_TOO.mark(job))
}

/// Whether two marks are of the same. One of an earlier version says nothing of some rows, and nothing is said of them then.
fn rest_on_the_same(old: &str, now: &str) -> bool {
    old == now || now.split_once('-').is_some_and(|(first, _)| first == old)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan() -> PlanSheet {
        PlanSheet {
            unit: Unit::Inch,
            rests_on: "5d41402abc4b2a76".into(),
            sets: vec![
                SetSheet { set: SetName::Main, choice: "leave".into(), journals: Vec::new(), stages: Vec::new() },
                SetSheet {
                    set: SetName::Pin,
                    choice: "0.020".into(),
                    journals: vec![JournalSheet {
                        journal: JournalId { set: SetName::Pin, number: 2 },
                        smallest: "1.8719".into(),
                        largest: "1.8736".into(),
                        take_off: Some("0.0175".into()),
                    }],
                    stages: vec![
                        StageSheet {
                            stage: Stage::Grind,
                            target: "1.85445".into(),
                            window: Some(("1.8544".into(), "1.8545".into())),
                            graduation: Some("0.0001".into()),
                            finishes: Some(Finishes { chance: 0.8404, rest: Part::Growth, share: 0.3429 }),
                            as_read: "1.8545 in".into(),
                        },
                        StageSheet {
                            stage: Stage::Finished,
                            target: "1.85475".into(),
                            window: None,
                            graduation: None,
                            finishes: None,
                            as_read: "1.8548 in".into(),
                        },
                    ],
                },
            ],
        }
    }

    /// Whatever can be measured of a crank, a plan rests on: a new kind of row is one that somebody thought of here.
    #[test]
    fn a_plan_rests_on_every_kind_of_row() {
        for kind in shop::KINDS.iter().filter(|kind| kind.row.is_some()) {
            let known = [RESTS_ON, RESTS_ON_TOO].iter().any(|ground| ground.keys.contains(&kind.name));
            assert!(known, "a sheet is issued whatever becomes of {}", kind.name);
        }
    }

    #[test]
    fn a_plan_comes_back_from_the_log_as_it_went_in() {
        let value = Value::from_json(&plan().to_value().to_json()).unwrap();
        assert_eq!(PlanSheet::from_value(&value), Some(plan()));
        let read = PlanSheet::from_value(&value).unwrap();
        let grind = &read.set(SetName::Pin).unwrap().stages[0];
        assert!((read.mm(&grind.target).unwrap() - 1.85445 * 25.4).abs() < 1e-9);
    }

    #[test]
    fn a_plan_that_nothing_can_be_compared_with_is_none() {
        for wrong in [
            "{}",
            r#"{"unit":"in"}"#,
            r#"{"unit":"ell","sets":[]}"#,
            r#"{"unit":"in","sets":[{"set":"rod","choice":"0.010","journals":[],"stages":[]}]}"#,
            r#"{"unit":"in","sets":[{"set":"pin","choice":"0.010","journals":[{"journal":"main 1","smallest":"1"}],"stages":[]}]}"#,
            r#"{"unit":"in","sets":[{"set":"pin","choice":"0.010","journals":[],"stages":[{"stage":"grind","target":"soon"}]}]}"#,
        ] {
            assert_eq!(PlanSheet::from_value(&Value::from_json(wrong).unwrap()), None, "{wrong}");
        }
    }

    #[test]
    fn a_sheet_that_no_longer_holds_says_why() {
        let old = plan();
        assert!(old.changed(&plan()).is_empty());
        let mut now = plan();
        now.sets[1].choice = "0.030".into();
        assert_eq!(
            old.changed(&now),
            [Change::Choice {
                set: SetName::Pin,
                from: ("0.020".to_owned(), Unit::Inch),
                to: ("0.030".to_owned(), Unit::Inch)
            }]
        );
        let mut now = plan();
        now.sets.remove(0);
        assert_eq!(old.changed(&now), [Change::NoLongerDecided(SetName::Main)]);
        let mut now = plan();
        now.sets[1].stages[0].target = "1.8544".into();
        assert_eq!(old.changed(&now), [Change::Sizes(SetName::Pin)]);
        let now = PlanSheet { rests_on: "0".into(), ..plan() };
        assert_eq!(old.changed(&now), [Change::Readings]);
    }

    /// A job whose sheet holds this.
    fn with(key: &str, rows: &str) -> Job {
        let mut job = shop::fold(&[]);
        let mic = r#"[{"name":"mic a","zero":"0.0001"},{"name":"mic b","zero":"0"},{"name":"mic c","zero":"0"}]"#;
        job.document.set("instrument", Value::from_json(mic).unwrap());
        job.document.set(key, Value::from_json(rows).unwrap());
        job
    }

    #[test]
    fn a_plan_rests_on_every_row_and_on_the_micrometers_that_they_name() {
        for kind in shop::KINDS {
            let Some(row) = &kind.row else { continue };
            let plain = rests_on(&with(kind.name, r#"[{"journal":"pin 1","size":"1.87"}]"#));
            let other = rests_on(&with(kind.name, r#"[{"journal":"pin 1","size":"1.88"}]"#));
            assert_ne!(plain, other, "{}", kind.name);
            for key in row.micrometers {
                let mut job = with(kind.name, &format!(r#"[{{"journal":"pin 1","{key}":"mic a"}}]"#));
                let before = rests_on(&job);
                let set = r#"[{"name":"mic a","zero":"0.0002"},{"name":"mic b","zero":"0"}]"#;
                job.document.set("instrument", Value::from_json(set).unwrap());
                assert_ne!(rests_on(&job), before, "the zero of {key} of a {}", kind.name);
                let set = r#"[{"name":"mic a","zero":"0.0001"},{"name":"mic d","zero":"0.0003"}]"#;
                job.document.set("instrument", Value::from_json(set).unwrap());
                assert_eq!(rests_on(&job), before, "one that no row names");
            }
        }
        for rule in ["specification", "policy", "assumed", "wanted"] {
            assert_ne!(rests_on(&with(rule, r#"{"a":"1"}"#)), rests_on(&with(rule, r#"{"a":"2"}"#)), "{rule}");
        }
    }

    #[test]
    fn a_plan_of_an_earlier_version_is_not_called_changed_for_what_it_has_no_mark_of() {
        let job = with("thrust", r#"[{"journal":"main 3","width":"1.2445"}]"#);
        let now = PlanSheet { rests_on: rests_on(&job), ..plan() };
        let (first, _) = now.rests_on.split_once('-').unwrap();
        let old = PlanSheet { rests_on: first.to_owned(), ..plan() };
        assert!(old.changed(&now).is_empty());
        let read = with("reading", r#"[{"journal":"pin 1","size":"1.87"}]"#);
        assert_eq!(old.changed(&PlanSheet { rests_on: rests_on(&read), ..plan() }).len(), 1);
    }
}
