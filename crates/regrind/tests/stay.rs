//! Whether a set may stay: nineteen sets near a limit, each decided by hand as a grinder would before the program was asked.
//! The engines are invented; what a skilled grinder would sign is common practice, no source.

use std::fmt::Write;

use crank::SetName;
use regrind::{Choice, MeasureKind, Others, SetVerdict, Undecided, assess};

struct Nothing;

impl sheet::Library for Nothing {
    fn text(&self, _: &str) -> Result<String, String> {
        Err("there is none".to_owned())
    }
}

/// What a grinder says.
#[derive(Debug, PartialEq)]
enum Says {
    /// It stays.
    Stays,
    /// It stays, and 45 and 135 degrees are to be read to be sure.
    StaysAndReadBetween,
    /// A polish is enough.
    Polish,
    TooClose,
    WearLimit,
    /// One journal needs metal; the others are too close to call.
    OthersTooClose,
    /// Nothing of these.
    Else(String),
}

struct Case {
    name: &'static str,
    set: SetName,
    unit: &'static str,
    /// Length; size; out of round, taper, and what else the book says of the set.
    book: (f64, [f64; 2], f64, f64, &'static str),
    undersize: f64,
    /// Front, middle, rear: each in line with the throw and square to it.
    read: &'static [&'static str],
    /// The micrometer, and whatever else is told.
    told: &'static str,
    says: Says,
}

const GOOD_MIC: &str = "zero = 0.0\nerror_limit = 0.002";
const MIC: &str = "zero = 0.0";

impl Case {
    fn text(&self) -> String {
        let (length, [low, high], round, taper, more) = self.book;
        let (n, set, unit) = (self.read.len(), self.set, self.unit);
        let (metric, pitch) = (unit == "mm", if unit == "mm" { 90.0 } else { 4.0 });
        let places = |from: f64, count: usize| -> String {
            (0..count).map(|i| format!("{}", from + pitch * i as f64)).collect::<Vec<_>>().join(", ")
        };
        let own = format!(
            "length = {length}\nsize = [{low:.4}, {high:.4}]\nundersizes = [{0}]\nout_of_round = {round}\ntaper = {taper}\n{more}\n",
            self.undersize
        );
        let other = "length = 1.0\nsize = [2.0000, 2.0010]\nundersizes = [0.010]\n";
        let other = if metric { "length = 25\nsize = [49.980, 50.000]\nundersizes = [0.25]\n" } else { other };
        let (mains, pins) = if set == SetName::Main { (n, n - 1) } else { (n + 1, n) };
        let (of_mains, of_pins) = if set == SetName::Main { (own.as_str(), other) } else { (other, own.as_str()) };
        let angles = (0..pins).map(|i| (180 * (i % 2)).to_string()).collect::<Vec<_>>().join(", ");
        let range = if metric { "[25, 125]" } else { "[1, 4]" };
        let mut text = format!(
            "sheet = 1\nunits = \"{unit}\"\n[specification]\nspecification = 1\nname = \"a crank\"\nunits = \"{unit}\"\nthrow = {}\n\
             [specification.main]\ncount = {mains}\npositions = [{}]\n{of_mains}[specification.pin]\ncount = {pins}\nangles = \
             [{angles}]\npositions = [{}]\n{of_pins}[[instrument]]\nname = \"mic\"\nrange = {range}\n{}\n",
            if metric { 40.0 } else { 1.7 },
            places(0.0, mains),
            places(pitch / 2.0, pins),
            self.told
        );
        for (j, read) in self.read.iter().enumerate() {
            let spots = ["front", "middle", "rear"].into_iter().flat_map(|at| [(at, 0), (at, 90)]);
            for ((at, plane), size) in spots.zip(read.split(' ')) {
                let _ = writeln!(
                    text,
                    "[[reading]]\njournal = \"{set} {}\"\nat = \"{at}\"\nplane = {plane}\nsize = {size}\nwith = \"mic\"",
                    j + 1
                );
            }
        }
        if set == SetName::Main {
            for j in 2..n {
                let total = if metric { 0.008 } else { 0.0004 };
                let _ = writeln!(text, "[[run_out]]\njournal = \"main {j}\"\ntotal = {total}\nhigh = 60");
            }
        }
        text
    }

    fn judged(&self) -> (SetVerdict, Vec<regrind::JournalVerdict>) {
        let text = self.text();
        let sheet =
            sheet::read_sheet("case.toml", &text, &Nothing).unwrap_or_else(|p| panic!("{}: {p:?}\n{text}", self.name));
        let verdict =
            assess(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, &|_| ()).expect("an answer");
        (verdict.sets.into_iter().find(|set| set.set == self.set).expect("it was measured"), verdict.journals)
    }
}

fn said(set: &SetVerdict) -> Says {
    let between = set.next.as_ref().is_some_and(|next| {
        next.kind == MeasureKind::Size && next.measure.contains("at 45 and 135 degrees too, at front, middle and rear")
    });
    match (set.choice, set.undecided, &set.apart) {
        (Choice::LeaveAlone, ..) if between => Says::StaysAndReadBetween,
        (Choice::LeaveAlone, ..) => Says::Stays,
        (Choice::PolishOnly, ..) => Says::Polish,
        (Choice::NotDecided, Some(Undecided::TooClose), _) => Says::TooClose,
        (Choice::NotDecided, Some(Undecided::WearLimit), _) => Says::WearLimit,
        (Choice::Scrap, _, Some(apart)) if apart.others == Others::TooClose => Says::OthersTooClose,
        other => Says::Else(format!("{other:?}")),
    }
}

const REED: (f64, [f64; 2], f64, f64, &str) = (19.0, [37.984, 38.000], 0.006, 0.005, "");
const LIME_MAIN: (f64, [f64; 2], f64, f64, &str) = (24.0, [35.984, 36.000], 0.006, 0.006, "");
const LIME_PIN: (f64, [f64; 2], f64, f64, &str) = (20.0, [33.984, 34.000], 0.006, 0.006, "");
const ALDER_MAIN: (f64, [f64; 2], f64, f64, &str) = (20.0, [53.982, 54.000], 0.005, 0.005, "");
const ALDER_PIN: (f64, [f64; 2], f64, f64, &str) = (21.0, [44.984, 45.000], 0.005, 0.005, "");
const BIRCH: (f64, [f64; 2], f64, f64, &str) = (1.05, [2.7484, 2.7492], 0.0005, 0.0004, "");
const ROWAN: (f64, [f64; 2], f64, f64, &str) = (1.6, [3.2480, 3.2490], 0.001, 0.0005, "");

#[rustfmt::skip]
const BIRCH_READ: &[&str] = &[
    "2.7487 2.7489 2.7488 2.7489 2.7487 2.7488", "2.7487 2.7488 2.7487 2.7490 2.7488 2.7488",
    "2.7488 2.7489 2.7486 2.7489 2.7486 2.7489", "2.7488 2.7490 2.7486 2.7490 2.7487 2.7489",
    "2.7487 2.7489 2.7487 2.7489 2.7486 2.7489",
];

#[rustfmt::skip]
const CASES: &[Case] = &[
    // Worn 0.0006 to 0.0007 oval of the 0.0010 in that the manual lets stay, 0.0004 above its smallest size: everything in hand by
    // three of the micrometer's tenths. It stays. But mains wear anywhere: an oval that lies at 45 degrees would show half.
    Case { name: "p01 mains", set: SetName::Main, unit: "in", undersize: 0.010, told: MIC, says: Says::StaysAndReadBetween,
        book: (1.25, [2.2490, 2.2500], 0.0005, 0.0005, "wear_limit = { size = 2.2475, out_of_round = 0.0010, taper = 0.0010 }"),
        read: &["2.2479 2.2486 2.2481 2.2486 2.2480 2.2487", "2.2481 2.2487 2.2480 2.2486 2.2480 2.2485",
            "2.2480 2.2487 2.2480 2.2485 2.2481 2.2485", "2.2481 2.2485 2.2481 2.2486 2.2479 2.2486",
            "2.2480 2.2487 2.2481 2.2486 2.2480 2.2487"] },
    // Just ground, 0.25 under: 37.738 to 37.744 in 37.734 to 37.750, 0.002 to 0.004 oval of 0.006. The largest of eighteen readings
    // less the smallest is the micrometer's own doubt. It stays; half of the limit is used, so the other two planes are read.
    Case { name: "s16 pins", set: SetName::Pin, unit: "mm", undersize: 0.25, told: GOOD_MIC, says: Says::StaysAndReadBetween,
        book: REED,
        read: &["37.740 37.742 37.738 37.740 37.742 37.742", "37.740 37.744 37.742 37.744 37.740 37.742",
            "37.738 37.742 37.742 37.742 37.740 37.742", "37.740 37.742 37.740 37.740 37.738 37.742"] },
    // 35.990 to 35.994 in 35.984 to 36.000, the worst 0.004 oval of 0.006, and that once of nine times: it stays.
    Case { name: "p06 mains", set: SetName::Main, unit: "mm", undersize: 0.25, told: GOOD_MIC, says: Says::Stays,
        book: LIME_MAIN,
        read: &["35.994 35.994 35.992 35.992 35.992 35.994", "35.990 35.994 35.994 35.994 35.990 35.994",
            "35.992 35.992 35.990 35.994 35.992 35.992"] },
    // Pin 2 is oval by 0.004, 0.006 and 0.004 of 0.006: on its limit as it reads. With a graduation of 0.002 nobody says.
    Case { name: "p06 pins", set: SetName::Pin, unit: "mm", undersize: 0.25, told: GOOD_MIC, says: Says::TooClose,
        book: LIME_PIN,
        read: &["33.992 33.992 33.990 33.992 33.988 33.992", "33.988 33.992 33.988 33.994 33.990 33.994"] },
    // Main 1 reads 0.000, 0.008 and 0.002 oval: past its 0.006 in the middle and round on both sides of it. Read it again.
    Case { name: "s19 mains", set: SetName::Main, unit: "mm", undersize: 0.25, told: GOOD_MIC, says: Says::TooClose,
        book: LIME_MAIN,
        read: &["35.992 35.992 35.988 35.996 35.992 35.994", "35.990 35.994 35.988 35.994 35.990 35.994",
            "35.990 35.992 35.990 35.994 35.990 35.996"] },
    // In the middle of their size, 0.0001 to 0.0003 oval of 0.0005, main 3 once 0.0004: wear of a tenth or two. They stay.
    Case { name: "g32 mains", set: SetName::Main, unit: "in", undersize: 0.010, told: MIC, says: Says::Stays,
        book: (1.2, [2.3740, 2.3750], 0.0005, 0.0005, ""),
        read: &["2.3744 2.3747 2.3745 2.3747 2.3744 2.3746", "2.3744 2.3746 2.3743 2.3746 2.3744 2.3745",
            "2.3743 2.3747 2.3745 2.3746 2.3744 2.3745", "2.3744 2.3747 2.3743 2.3746 2.3743 2.3745",
            "2.3745 2.3746 2.3744 2.3745 2.3744 2.3747"] },
    // The pins beside them: the same.
    Case { name: "g32 pins", set: SetName::Pin, unit: "in", undersize: 0.010, told: MIC, says: Says::Stays,
        book: (1.0, [1.9990, 2.0000], 0.0005, 0.0005, ""),
        read: &["1.9993 1.9996 1.9994 1.9997 1.9993 1.9995", "1.9994 1.9996 1.9994 1.9997 1.9994 1.9997",
            "1.9994 1.9996 1.9994 1.9997 1.9993 1.9996", "1.9995 1.9995 1.9993 1.9996 1.9995 1.9997"] },
    // Six mains a tenth or two above their lowest size with a micrometer that reads tenths, and one torn 0.068 deep: what the
    // six are is measured again before metal is put on the seventh.
    Case { name: "g38 mains", set: SetName::Main, unit: "in", undersize: 0.010, told: MIC, says: Says::OthersTooClose,
        book: ROWAN,
        read: &["3.1800 3.1881 3.1799 3.1881 3.1801 3.1880", "3.2481 3.2486 3.2482 3.2485 3.2481 3.2485",
            "3.2483 3.2487 3.2482 3.2486 3.2482 3.2487", "3.2482 3.2486 3.2481 3.2487 3.2482 3.2486",
            "3.2482 3.2486 3.2481 3.2487 3.2482 3.2485", "3.2483 3.2487 3.2482 3.2487 3.2483 3.2486",
            "3.2481 3.2486 3.2481 3.2485 3.2482 3.2487"] },
    // The same six beside a sound main 1: the same is said of them.
    Case { name: "g38 with a sound main 1", set: SetName::Main, unit: "in", undersize: 0.010, told: MIC, says: Says::TooClose,
        book: ROWAN,
        read: &["3.2482 3.2486 3.2482 3.2486 3.2482 3.2486", "3.2481 3.2486 3.2482 3.2485 3.2481 3.2485",
            "3.2483 3.2487 3.2482 3.2486 3.2482 3.2487", "3.2482 3.2486 3.2481 3.2487 3.2482 3.2486",
            "3.2482 3.2486 3.2481 3.2487 3.2482 3.2485", "3.2483 3.2487 3.2482 3.2487 3.2483 3.2486",
            "3.2481 3.2486 3.2481 3.2485 3.2482 3.2487"] },
    // Perfectly round in the middle of their size. They stay, and nobody asks for more.
    Case { name: "g44 mains", set: SetName::Main, unit: "mm", undersize: 0.25, told: MIC, says: Says::Stays,
        book: ALDER_MAIN, read: &["53.992 53.992 53.992 53.992 53.992 53.992"; 5] },
    // One graduation oval of the two and a half that are allowed, everywhere alike: it stays.
    Case { name: "g63 mains", set: SetName::Main, unit: "mm", undersize: 0.25, told: MIC, says: Says::StaysAndReadBetween,
        book: ALDER_MAIN, read: &["53.990 53.992 53.990 53.992 53.990 53.992"; 5] },
    // The pins beside the mains of g44, one graduation oval and 0.005 above their lowest: they stay.
    Case { name: "g44 pins", set: SetName::Pin, unit: "mm", undersize: 0.25, told: MIC, says: Says::StaysAndReadBetween,
        book: ALDER_PIN, read: &["44.989 44.991 44.989 44.991 44.989 44.991"; 4] },
    // New but for a scratch 0.001 deep on pin 3, 0.002 to 0.004 oval of 0.005: the polish takes the scratch out, and an oval is
    // no larger after it. 52.992 less the polish is well inside 52.980.
    Case { name: "j21 pins", set: SetName::Pin, unit: "mm", undersize: 0.25, says: Says::Polish,
        told: "zero = 0.0\nerror_limit = 0.002\n[[damage]]\njournal = \"pin 3\"\nkind = \"scoring\"\ndepth = 0.001",
        book: (20.0, [52.980, 53.000], 0.005, 0.006, ""),
        read: &["52.994 52.996 52.994 52.996 52.994 52.996", "52.994 52.996 52.994 52.996 52.994 52.996",
            "52.994 52.996 52.992 52.996 52.994 52.996", "52.994 52.996 52.992 52.996 52.994 52.996",
            "52.992 52.996 52.994 52.996 52.994 52.996", "52.994 52.996 52.992 52.996 52.994 52.996"] },
    // Worn 0.004 to 0.008 oval of the 0.015 that the manual lets stay, 0.006 above its smallest size: they stay.
    Case { name: "g22b mains", set: SetName::Main, unit: "mm", undersize: 0.25, told: MIC, says: Says::StaysAndReadBetween,
        book: (20.0, [53.982, 54.000], 0.005, 0.005, "wear_limit = { size = 53.960, out_of_round = 0.015, taper = 0.015 }"),
        read: &["53.968 53.976 53.968 53.974 53.968 53.974", "53.968 53.974 53.970 53.974 53.966 53.974",
            "53.968 53.976 53.968 53.976 53.966 53.972", "53.970 53.974 53.970 53.972 53.970 53.972",
            "53.968 53.972 53.970 53.974 53.968 53.974"] },
    // 0.008 to 0.012 oval of 0.015: three in hand as they read, with a graduation of two. They stay, and the other planes are read.
    Case { name: "g22b pins", set: SetName::Pin, unit: "mm", undersize: 0.25, told: MIC, says: Says::StaysAndReadBetween,
        book: (21.0, [44.984, 45.000], 0.005, 0.005, "wear_limit = { size = 44.960, out_of_round = 0.015, taper = 0.015 }"),
        read: &["44.972 44.980 44.968 44.980 44.968 44.980", "44.968 44.978 44.970 44.978 44.968 44.978",
            "44.970 44.980 44.970 44.980 44.970 44.976", "44.968 44.978 44.970 44.978 44.970 44.978"] },
    // 0.0002 to 0.0004 above the lowest size, 0.0001 to 0.0004 oval of 0.0005, with a micrometer good to a tenth: they stay.
    Case { name: "v30 mains, read true", set: SetName::Main, unit: "in", undersize: 0.010, told: "zero = 0.0\nerror_limit = 0.0",
        says: Says::Stays, book: BIRCH, read: BIRCH_READ },
    // The same read by a micrometer that is a tenth low: a tenth more in hand, so all the more.
    Case { name: "v30 mains, read low", set: SetName::Main, unit: "in", undersize: 0.010, told: "zero = -0.0001\nerror_limit = 0.0",
        says: Says::Stays, book: BIRCH, read: BIRCH_READ },
    // Above the size that the manual lets them wear to, but 0.0004 to 0.0005 oval of 0.0005: on the limit of a new crank at six
    // places. How oval they may be in use the manual says, and it was not looked up.
    Case { name: "w8 mains", set: SetName::Main, unit: "in", undersize: 0.010, told: MIC, says: Says::WearLimit,
        book: (1.05, [2.7484, 2.7492], 0.0005, 0.0004, "wear_limit = { size = 2.7475 }"),
        read: &["2.7482 2.7485 2.7481 2.7486 2.7482 2.7484", "2.7481 2.7486 2.7480 2.7485 2.7481 2.7484",
            "2.7481 2.7485 2.7481 2.7485 2.7481 2.7485", "2.7481 2.7485 2.7481 2.7485 2.7481 2.7484",
            "2.7480 2.7485 2.7482 2.7485 2.7481 2.7486"] },
    // Brand new: nothing to say.
    Case { name: "g67 mains", set: SetName::Main, unit: "in", undersize: 0.010, told: MIC, says: Says::Stays,
        book: (1.2, [2.3740, 2.3750], 0.0005, 0.0005, ""), read: &["2.3745 2.3745 2.3745 2.3745 2.3745 2.3745"; 5] },
];

/// Each as a grinder would sign it; and what is printed beside it bears it out.
#[test]
fn sets_near_a_limit_are_decided_as_a_grinder_would() {
    let mut otherwise = Vec::new();
    for case in CASES {
        let (set, journals) = case.judged();
        let says = said(&set);
        if says != case.says {
            let (read, all_over) = (set.leave_alone_as_read.share(), set.leave_alone.share());
            otherwise.push(format!("{}: {says:?} ({read:.2} read, {all_over:.2} all over): {}", case.name, set.reason));
        }
        // What lies between the readings can only make it less sure.
        assert!(set.leave_alone.hits <= set.leave_alone_as_read.hits, "{}", case.name);
        for journal in &journals {
            assert!(journal.within.hits <= journal.within_as_read.hits, "{}", case.name);
        }
        if set.choice == Choice::LeaveAlone {
            assert!(set.leave_alone_as_read.share() >= 0.5, "{}", case.name);
            for journal in &journals {
                assert_eq!(journal.stands, crank::State::Within, "{}: {}", case.name, journal.condition.journal);
            }
            // No figure stands in the words that speaks against them.
            let figures =
                set.reason.match_indices(" in 100").filter_map(|(at, _)| set.reason.get(..at)?.rsplit(' ').next());
            for figure in figures {
                assert!(figure.parse::<f64>().is_ok_and(|share| share >= 50.0), "{}: {}", case.name, set.reason);
            }
        }
    }
    assert!(otherwise.is_empty(), "{otherwise:#?}");
}

/// The readings of p01's mains, then 45 and 135 degrees too at all three places as round as the others: what was asked for
/// settles it, and nothing more is asked.
#[test]
fn the_readings_that_are_asked_for_settle_it() {
    let case = &CASES[0];
    let mut text = case.text();
    for j in 1..=5 {
        for at in ["front", "middle", "rear"] {
            for plane in [45, 135] {
                let _ = writeln!(
                    text,
                    "[[reading]]\njournal = \"main {j}\"\nat = \"{at}\"\nplane = {plane}\nsize = 2.2483\nwith = \"mic\""
                );
            }
        }
    }
    let sheet = sheet::read_sheet("case.toml", &text, &Nothing).expect("a sheet");
    let verdict = assess(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, &|_| ()).expect("an answer");
    let mains = verdict.sets.iter().find(|set| set.set == SetName::Main).expect("the mains");
    assert_eq!(said(mains), Says::Stays, "{}", mains.reason);
    assert!(mains.leave_alone.share() > 0.95 && mains.next.is_none(), "{:?}", mains.leave_alone);
}

/// A main that reads 0.008 mm out of round across its middle, where 0.006 is allowed, is not called within because its ends are
/// round: it may be, by the model of what nobody measured, which takes a lone place for the micrometer's too. Twice the limit is no
/// such place.
#[test]
fn a_figure_past_its_limit_speaks_for_itself() {
    const AT_8: &[&str] = &["35.992 35.990 35.996 35.988 35.992 35.990", "35.992 35.990 35.992 35.990 35.992 35.990"];
    const AT_12: &[&str] = &["35.992 35.990 35.998 35.986 35.992 35.990", "35.992 35.990 35.992 35.990 35.992 35.990"];
    for (read, most) in [(AT_8, 0.60), (AT_12, 0.35)] {
        let case = Case {
            name: "two mains, one oval across its middle",
            set: SetName::Main,
            unit: "mm",
            book: LIME_MAIN,
            undersize: 0.25,
            read,
            told: GOOD_MIC,
            says: Says::TooClose,
        };
        let (set, journals) = case.judged();
        let oval = &journals[0];
        assert!(oval.said.share() <= most, "{} of {most}", oval.said.share());
        let (measured, all_over) = (oval.within_as_measured.share(), oval.within.share());
        assert!(oval.within_as_read.share() <= measured.max(all_over), "no surer than as it was measured, or all over");
        assert!(set.leave_alone_as_read.share() <= oval.said.share(), "a set is no surer than any journal of it");
        assert_ne!(set.choice, Choice::LeaveAlone, "{}", set.reason);
        assert!(!set.reason.contains("The new size is past"), "the oval is: {}", set.reason);
    }
}
