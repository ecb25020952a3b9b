//! What entries add up to: corrections, flags, second readings, zero checks, stages.

mod support;

use shop::{
    Agreement, CheckedAt, Draft, Entry, EntryKind, Job, Row, Settled, Source, Stage, Value, admit, entry_of, fold,
};
use support::{booked, draft, reading};

/// A log in the making.
#[derive(Default)]
struct Log {
    entries: Vec<Entry>,
}

impl Log {
    fn booked() -> Log {
        let mut log = Log::default();
        log.put(booked("C-0412", "A. Miller"));
        log
    }

    /// Writes a line that must be admitted, and returns its name.
    #[track_caller]
    fn put(&mut self, draft: Draft) -> shop::EntryId {
        admit(&self.entries, &draft).unwrap();
        let id = draft.id;
        let seq = self.entries.len() as i64 + 1;
        self.entries.push(entry_of(&draft, 1001, seq, "2026-11-25T10:00:00Z"));
        id
    }

    #[track_caller]
    fn kind(&mut self, kind: EntryKind) -> shop::EntryId {
        self.put(draft(kind))
    }

    fn job(&self) -> Job {
        fold(&self.entries)
    }

    /// The sizes in the sheet, as JSON has them.
    fn sizes(&self) -> Vec<String> {
        let document = self.job().document;
        let rows = document.get("reading").map(Value::items).unwrap_or_default().to_vec();
        rows.iter().map(|row| row.get("size").map(Value::to_json).unwrap_or_default()).collect()
    }
}

#[test]
fn a_correction_takes_the_place_of_what_it_corrects() {
    let mut log = Log::booked();
    let first = log.put(reading("0", "1.2450"));
    log.put(reading("90", "1.2470"));
    let second = log.put(reading("0", "1.2451").correcting(first));
    assert_eq!(log.sizes(), ["1.2451", "1.2470"], "the place in the sheet stays");
    // A correction may itself be corrected, and the undo of one brings back what it corrected.
    let third = log.put(reading("0", "1.2452").correcting(second));
    assert_eq!(log.sizes(), ["1.2452", "1.2470"]);
    log.kind(EntryKind::Undo { entry: third });
    assert_eq!(log.sizes(), ["1.2451", "1.2470"]);
    // Of another kind it is refused.
    let wrong = draft(EntryKind::Note { text: "no reading".into() }).correcting(first);
    assert!(admit(&log.entries, &wrong).is_err());
}

#[test]
fn a_flagged_reading_waits_outside_the_verdict() {
    let mut log = Log::booked();
    log.put(reading("0", "1.2450"));
    let odd = log.put(reading("90", "1.2200"));
    let flag = EntryKind::FlagRaised { about: Some(odd), check: "likely misread".into(), says: "A turn.".into() };
    let flag = log.kind(flag);
    assert_eq!(log.sizes(), ["1.2450"]);
    assert_eq!(log.job().flags.len(), 1);
    let kept = log.kind(EntryKind::FlagSettled { flag, how: Settled::Kept });
    assert_eq!(log.sizes(), ["1.2450", "1.2200"]);
    assert!(log.job().flags.is_empty());
    log.kind(EntryKind::Undo { entry: kept });
    assert_eq!(log.sizes(), ["1.2450"], "with the settling undone the flag stands again");
    let again = log.put(reading("90", "1.2450"));
    log.kind(EntryKind::FlagSettled { flag, how: Settled::MeasuredAgain { by: again } });
    assert_eq!(log.sizes(), ["1.2450", "1.2450"], "the doubtful one is struck out, not changed");
}

#[test]
fn second_readings_agree_clash_and_are_settled_by_a_third() {
    let mut log = Log::booked();
    let first = log.put(reading("0", "1.2450"));
    let second =
        |size: &str, found| EntryKind::SecondReading { of: first, size: size.into(), source: Source::Typed, found };
    let agrees = log.kind(second("1.2451", Agreement::Agrees));
    assert_eq!(log.sizes(), ["[1.2450,1.2451]"], "both are kept and their mean counts");
    log.kind(EntryKind::Undo { entry: agrees });
    log.kind(second("1.2700", Agreement::Clashes));
    assert_eq!(log.sizes(), Vec::<String>::new(), "neither counts until a third is taken");
    assert_eq!(log.job().third_wanted, [first]);
    log.kind(second("1.2452", Agreement::Settles));
    assert_eq!(log.sizes(), ["1.2452"], "the middle one of 1.2450, 1.2700 and 1.2452");
    assert!(log.job().third_wanted.is_empty());
}

#[test]
fn a_zero_check_counts_for_the_readings_after_it() {
    let mut log = Log::booked();
    let micrometer = Value::from_text("name = \"mic 1-2\"\nrange = [1, 2]\ngraduation = 0.0001\n").unwrap();
    log.kind(EntryKind::Instrument { row: micrometer });
    let check = |reads: &str, at| EntryKind::ZeroCheck { instrument: "mic 1-2".into(), reads: reads.into(), at };
    log.kind(check("+0.0001", CheckedAt::Start));
    let with = |size: &str| {
        draft(EntryKind::Reading(Row::typed(Value::table([
            ("journal", Value::from("pin 1")),
            ("at", Value::from("middle")),
            ("plane", Value::typed("0")),
            ("size", Value::typed(size)),
            ("with", Value::from("mic 1-2")),
        ]))))
    };
    let one = log.put(with("1.2450"));
    log.kind(check("+0.0001", CheckedAt::End));
    assert!(log.job().zero_moved.is_empty());
    log.kind(check("+0.0003", CheckedAt::End));
    let moved = log.job().zero_moved;
    assert_eq!(moved.len(), 1);
    assert_eq!(moved[0].readings, [one]);
    let json = log.job().sheet_json();
    assert!(json.contains("0.0001"), "the zero in use stands in the sheet: {json}");
}

/// A reading kept on a tablet and sent late stands where it arrived; its own clock does not matter.
#[test]
fn times_out_of_order_change_nothing() {
    let mut log = Log::booked();
    log.put(Draft { when: "2026-11-25T11:00:00Z".into(), ..reading("0", "1.2450") });
    log.put(Draft { when: "2024-02-29T08:00:00+02:00".into(), ..reading("90", "1.2470") });
    assert_eq!(log.sizes(), ["1.2450", "1.2470"]);
    let nonsense = Draft { when: "yesterday".into(), ..reading("0", "1.2450") };
    assert!(admit(&log.entries, &nonsense).is_err());
}

#[test]
fn a_crank_goes_through_the_shop() {
    let mut log = Log::booked();
    assert_eq!(log.job().stage, Stage::BookedIn);
    log.put(reading("0", "1.2400"));
    assert_eq!(log.job().stage, Stage::Measuring);
    let decided =
        EntryKind::Decision { set: "pin".into(), choice: "0.010".into(), overruled: None, verdict: "94 in 100".into() };
    log.kind(decided);
    let sheet = |code: &str, supersedes: Option<&str>| EntryKind::SheetIssued {
        code: code.into(),
        supersedes: supersedes.map(Into::into),
        plan: Value::table([("pin", Value::typed("1.2390"))]),
    };
    log.kind(sheet("K7Q", None));
    assert_eq!(log.job().stage, Stage::AtTheGrinder);
    assert!(admit(&log.entries, &draft(sheet("K7Q", None))).is_err(), "a code is used once");
    log.kind(sheet("M4P", Some("K7Q")));
    assert_eq!(log.job().sheets.last().map(|s| s.code.clone()), Some("M4P".into()));
    log.kind(EntryKind::CleanedUp { journal: "pin 1".into(), yes: true, left: None });
    log.kind(EntryKind::SentToTreatment { batch: "T-19".into(), sizes: Vec::new() });
    assert_eq!(log.job().stage, Stage::AtTreatment);
    let other = draft(EntryKind::BackFromTreatment { batch: "T-20".into(), sizes: Vec::new() });
    assert!(admit(&log.entries, &other).is_err(), "it is not away in that batch");
    log.kind(EntryKind::BackFromTreatment { batch: "T-19".into(), sizes: Vec::new() });
    assert_eq!(log.job().stage, Stage::FinalCheck);
    let radius = EntryKind::EyeCheck { item: "radius".into(), passed: true, by: "Pat".into(), says: None };
    log.kind(radius);
    let document_hash = log.job().frozen_hash();
    log.kind(EntryKind::SignedOff { document_hash, says: "I measured these.".into() });
    assert_eq!(log.job().stage, Stage::Ready);
    log.kind(EntryKind::HandedOver { to: "A. Miller".into() });
    assert_eq!(log.job().stage, Stage::Collected);
}

/// An entry of a kind that only a newer program knows is refused with its name, never dropped.
#[test]
fn kinds_of_a_newer_program_are_not_dropped() {
    let found = serde_json::from_str::<EntryKind>("{\"polished_by_robot\":{\"passes\":3}}");
    assert!(found.unwrap_err().to_string().contains("polished_by_robot"));
}

/// Housings, shells, bearings and the thrust bearing are rows like the others: kept as typed, put right, undone.
#[test]
fn what_was_measured_of_the_bearings_stands_in_the_sheet() {
    let row = |toml: &str| Row::typed(Value::from_text(toml).unwrap());
    let mut log = Log::booked();
    let bore = "journal = \"main 1\"\nplane = \"across\"\nsize = 1.6250\n";
    let housing = log.kind(EntryKind::Housing(row(bore)));
    log.kind(EntryKind::Shell(row("set = \"main\"\nundersize = 0.010\nwall = 0.0670\ncount = 4\n")));
    log.kind(EntryKind::Bearing(row("journal = \"pin 1\"\nwidth = 0.9480\nrods = [0.9400]\n")));
    let thrust = log.kind(EntryKind::Thrust(row("journal = \"main 1\"\nfloat = 0.0080\n")));
    let listed = |log: &Log, key: &str| log.job().document.get(key).map(Value::to_json).unwrap_or_default();
    assert_eq!(listed(&log, "housing"), r#"[{"journal":"main 1","plane":"across","size":1.6250}]"#);
    assert_eq!(listed(&log, "shell"), r#"[{"set":"main","undersize":0.010,"wall":0.0670,"count":4}]"#);
    assert_eq!(listed(&log, "bearing"), r#"[{"journal":"pin 1","width":0.9480,"rods":[0.9400]}]"#);
    assert_eq!(listed(&log, "thrust"), r#"[{"journal":"main 1","float":0.0080}]"#);
    assert_eq!(log.job().stage, Stage::Measuring);
    let right = EntryKind::Housing(row("journal = \"main 1\"\nplane = \"across\"\nsize = 1.6252\n"));
    let right = log.put(draft(right).correcting(housing));
    assert!(listed(&log, "housing").contains("1.6252"));
    log.kind(EntryKind::Undo { entry: right });
    log.kind(EntryKind::Undo { entry: thrust });
    assert!(listed(&log, "housing").contains("1.6250"));
    assert_eq!(listed(&log, "thrust"), "");
    // A housing without a size is none, and a correction keeps its kind.
    let none = draft(EntryKind::Housing(row("journal = \"main 1\"\nplane = 90\n")));
    assert!(admit(&log.entries, &none).is_err());
    let other = draft(EntryKind::Shell(row("set = \"main\"\n"))).correcting(housing);
    assert!(admit(&log.entries, &other).is_err());
    // Written down and read again, every line is what it was.
    for entry in &log.entries {
        let kept = serde_json::to_string(&entry.kind).unwrap();
        assert_eq!(serde_json::from_str::<EntryKind>(&kept).unwrap(), entry.kind, "{kept}");
    }
    let told: Vec<String> =
        shop::history(&log.entries, say::Words::default()).into_iter().map(|line| line.says).collect();
    for words in [
        "housing of main 1, across: 1.6250",
        "4 × half shell of main, marked 0.010, wall 0.0670",
        "bearing of pin 1, width 0.9480, rods 0.9400",
        "thrust bearing at main 1, end float 0.0080",
    ] {
        assert!(told.iter().any(|says| says.contains(words)), "{words}: {told:?}");
    }
}

/// A line as it was kept before there were rows for bearings.
#[test]
fn old_lines_are_read_as_ever() {
    let old = r#"{"worn":{"row":{"journal":"pin 1","share":"even"},"source":"sheet"}}"#;
    let kind: EntryKind = serde_json::from_str(old).unwrap();
    assert_eq!(kind.name(), "worn");
    assert_eq!(serde_json::to_string(&kind).unwrap(), old);
}

/// A roughness is a row like the others; what it was measured with is words, whatever micrometers there are.
#[test]
fn a_roughness_stands_in_the_sheet() {
    let row = |toml: &str| Row::typed(Value::from_text(toml).unwrap());
    let mut log = Log::booked();
    let found =
        log.kind(EntryKind::Roughness(row("journal = \"pin 1\"\nat = \"rear\"\nra = 12\nwith = \"gauge 7\"\n")));
    log.kind(EntryKind::Roughness(row("journal = \"pin 1\"\nat = \"rear\"\nra = \"0.2 µm\"\nwhen = \"after\"\n")));
    let listed = |log: &Log| log.job().document.get("roughness").map(Value::to_json).unwrap_or_default();
    assert!(listed(&log).contains(r#"{"journal":"pin 1","at":"rear","ra":12,"with":"gauge 7"}"#), "{}", listed(&log));
    assert_eq!(log.job().stage, Stage::Measuring);
    let right = EntryKind::Roughness(row("journal = \"pin 1\"\nat = \"rear\"\nra = 11\nlay = \"along\"\n"));
    log.put(draft(right).correcting(found));
    // Undoing the first takes what put it right with it.
    log.kind(EntryKind::Undo { entry: found });
    assert_eq!(listed(&log), r#"[{"journal":"pin 1","at":"rear","ra":"0.2 µm","when":"after"}]"#);
    let none = draft(EntryKind::Roughness(row("journal = \"pin 1\"\nat = \"rear\"\n")));
    assert!(admit(&log.entries, &none).unwrap_err().to_string().contains("ra"));
    let told: Vec<String> = shop::history(&log.entries, say::Words::of_setting(Some("big end")))
        .into_iter()
        .map(|line| line.says)
        .collect();
    for words in [
        "roughness at big end 1, rear: Ra 12 µin",
        "roughness at big end 1, rear: Ra 11 µin, lay along",
        "roughness at big end 1, rear when finished: Ra 0.2 µm",
    ] {
        assert!(told.iter().any(|says| says == words), "{words}: {told:?}");
    }
}

/// What is measured of the shaft is rows like the others; how it was carried is one word for all of them.
#[test]
fn the_shaft_stands_in_the_sheet() {
    let row = |toml: &str| Row::typed(Value::from_text(toml).unwrap());
    let mut log = Log::booked();
    let listed = |log: &Log, key: &str| log.job().document.get(key).map(Value::to_json).unwrap_or_default();
    let vees = Value::from_text("on = [\"main 1\", \"main 5\"]\nvee = 90\n").unwrap();
    let first = log.kind(EntryKind::Carried { carried: vees });
    assert_eq!(listed(&log, "carried"), r#"{"on":["main 1","main 5"],"vee":90}"#);
    let centres = log.kind(EntryKind::Carried { carried: Value::from("centres") });
    assert_eq!(listed(&log, "carried"), r#""centres""#);
    log.kind(EntryKind::Undo { entry: centres });
    assert_eq!(listed(&log, "carried"), r#"{"on":["main 1","main 5"],"vee":90}"#);
    log.kind(EntryKind::Undo { entry: first });
    assert_eq!(listed(&log, "carried"), "");
    let dial = log.kind(EntryKind::Dial(row("journal = \"main 2\"\nreadings = [0, 1, 2, 1]\n")));
    let right = EntryKind::Dial(row("journal = \"main 2\"\nreadings = [0, 1, 2, 3]\n"));
    log.put(draft(right).correcting(dial));
    log.kind(EntryKind::Height(row("journal = \"pin 1\"\ntop = 10.1\nbottom = 7.1\n")));
    log.kind(EntryKind::Feature(row("name = \"flange\"\ntotal = 0.001\nhigh = 90\n")));
    log.kind(EntryKind::Case(row("set = \"pin\"\ndepth = 0.030\n")));
    assert_eq!(listed(&log, "dial"), r#"[{"journal":"main 2","readings":[0,1,2,3]}]"#);
    assert_eq!(listed(&log, "case"), r#"[{"set":"pin","depth":0.030}]"#);
    let said = |kind: EntryKind| admit(&log.entries, &draft(kind)).unwrap_err().to_string();
    assert!(said(EntryKind::Dial(row("journal = \"main 2\"\n"))).contains("readings"));
    assert!(said(EntryKind::Case(row("set = \"pin\"\n"))).contains("depth"));
    assert!(said(EntryKind::Feature(row("total = 0.001\n"))).contains("name"));
    assert!(said(EntryKind::Carried { carried: Value::from("") }).contains("support of the shaft"));
    assert!(said(EntryKind::Carried { carried: Value::from(3) }).contains("support of the shaft"));
    let told: Vec<String> =
        shop::history(&log.entries, say::Words::of_setting(Some("pin"))).into_iter().map(|line| line.says).collect();
    for words in [
        "the shaft in vees under main 1 and main 5",
        "the shaft on centres",
        "a dial on main 2, 4 readings",
        "heights of pin 1, top 10.1, bottom 7.1",
        "a dial on the flange, dial 0.001, high at 90°",
        "depth of the case, pins: 0.030",
    ] {
        assert!(told.iter().any(|says| says == words), "{words}: {told:?}");
    }
}

/// Rows that came in before their kind was an entry stand with what was booked in; later ones join them.
#[test]
fn rows_that_were_booked_in_are_not_lost() {
    let mut log = Log::booked();
    let before = r#"{"units":"in","dial":[{"journal":"main 2","readings":[0,1,2,1]}]}"#;
    if let Some(EntryKind::BookedIn(booked)) = log.entries.first_mut().map(|entry| &mut entry.kind) {
        booked.sheet = Value::from_json(before).unwrap();
    }
    let row = Value::from_text("journal = \"main 3\"\nreadings = [0, 2, 4, 2]\n").unwrap();
    log.kind(EntryKind::Dial(Row::typed(row)));
    let listed = log.job().document.get("dial").map(Value::to_json).unwrap_or_default();
    assert_eq!(listed, r#"[{"journal":"main 2","readings":[0,1,2,1]},{"journal":"main 3","readings":[0,2,4,2]}]"#);
}

/// A stamp is a row like the others: admitted, corrected, undone and told.
#[test]
fn a_stamp_stands_in_the_sheet() {
    let row = |toml: &str| Row::typed(Value::from_text(toml).unwrap());
    let mut log = Log::booked();
    let mains = log.kind(EntryKind::Stamped(row("set = \"main\"\nundersize = 0.010\n")));
    let three = log.kind(EntryKind::Stamped(row("journal = \"pin 3\"\nundersize = \"0.25 mm\"\n")));
    let listed = |log: &Log| log.job().document.get("stamped").map(Value::to_json).unwrap_or_default();
    assert_eq!(listed(&log), r#"[{"set":"main","undersize":0.010},{"journal":"pin 3","undersize":"0.25 mm"}]"#);
    log.put(draft(EntryKind::Stamped(row("set = \"main\"\nundersize = 0.020\n"))).correcting(mains));
    log.kind(EntryKind::Undo { entry: three });
    assert_eq!(listed(&log), r#"[{"set":"main","undersize":0.020}]"#);
    let none = draft(EntryKind::Stamped(row("set = \"main\"\n")));
    assert!(admit(&log.entries, &none).unwrap_err().to_string().contains("undersize"));
    for entry in &log.entries {
        let kept = serde_json::to_string(&entry.kind).unwrap();
        assert_eq!(serde_json::from_str::<EntryKind>(&kept).unwrap(), entry.kind, "{kept}");
    }
    let told: Vec<String> = shop::history(&log.entries, say::Words::of_setting(Some("big end")))
        .into_iter()
        .map(|line| line.says)
        .collect();
    for words in ["mains stamped 0.010", "big end 3 stamped 0.25 mm", "mains stamped 0.020"] {
        assert!(told.iter().any(|says| says == words), "{words}: {told:?}");
    }
}
