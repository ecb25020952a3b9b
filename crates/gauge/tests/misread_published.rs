//! Published readings with mistakes in them, and one case of each kind of nonsense.
//!
//! Sources: `reference-cases/readings/README.md`.

use gauge::misread::{Group, Kind, Spot, Suspicion, find};
use units::Unit;

const READINGS: [(&str, &str); 3] = [
    ("trainee", include_str!("../reference-cases/readings/trainee_crankpins_47mm.csv")),
    ("exercise", include_str!("../reference-cases/readings/exercise_misread_50mm.csv")),
    ("six pins", include_str!("../reference-cases/readings/six_pins_coarse_2012.csv")),
];

fn rows(name: &str) -> Vec<Vec<&'static str>> {
    let (_, text) = READINGS.iter().find(|(n, _)| *n == name).unwrap();
    text.lines().filter(|l| !l.starts_with('#')).skip(1).map(|l| l.split(',').collect()).collect()
}

fn group(name: &str, set: usize, new_mm: (f64, f64), ladder_mm: &[f64]) -> Group {
    Group { name: name.to_owned(), set, new_mm, ladder_mm: ladder_mm.to_vec(), out_of_round_mm: None, taper_mm: None }
}

/// A metric micrometer reading 0.01 mm; its doubt is mostly half a graduation and an error limit of 0.004 mm
/// (DIN 863-1 for 25 to 50 mm, from memory).
fn metric(group: usize, at_mm: f64, plane_deg: f64, size: &str) -> Spot {
    Spot {
        group,
        at_mm,
        plane_deg,
        sizes_mm: vec![size.parse().unwrap()],
        typed: vec![size.to_owned()],
        turn_mm: 0.5,
        frame_mm: 25.0,
        uncertainty_mm: 0.0045,
        repeatability_mm: 0.002,
        graduation_mm: 0.01,
        with: "mic".to_owned(),
    }
}

/// An inch micrometer reading 0.0001 in, with the doubt of the shop's default instrument.
fn inch(group: usize, at_mm: f64, plane_deg: f64, size: &str) -> Spot {
    Spot {
        group,
        at_mm,
        plane_deg,
        sizes_mm: vec![size.parse::<f64>().unwrap() * 25.4],
        typed: vec![size.to_owned()],
        turn_mm: 0.635,
        frame_mm: 25.4,
        uncertainty_mm: 0.0021,
        repeatability_mm: 0.00127,
        graduation_mm: 0.00254,
        with: "mic".to_owned(),
    }
}

const INCH_LADDER: [f64; 5] = [0.0, 0.254, 0.508, 0.762, 1.016];
const METRIC_LADDER: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// Four journals of four readings each, from two rows of sizes a journal (front, rear of one plane, then the other).
fn four(new_in: (f64, f64), sizes: [[&str; 4]; 4]) -> (Vec<Group>, Vec<Spot>) {
    let new_mm = (new_in.0 * 25.4, new_in.1 * 25.4);
    let groups = (1..=4).map(|n| group(&format!("pin {n}"), 1, new_mm, &INCH_LADDER)).collect();
    let place = [(-8.0, 0.0), (8.0, 0.0), (-8.0, 90.0), (8.0, 90.0)];
    let spots = sizes
        .iter()
        .enumerate()
        .flat_map(|(j, row)| row.iter().zip(place).map(move |(size, (at, plane))| inch(j, at, plane, size)))
        .collect();
    (groups, spots)
}

const SOUND: [[&str; 4]; 4] = [
    ["1.8741", "1.8743", "1.8738", "1.8740"],
    ["1.8745", "1.8744", "1.8741", "1.8741"],
    ["1.8739", "1.8740", "1.8733", "1.8735"],
    ["1.8745", "1.8745", "1.8742", "1.8742"],
];
const NEW: (f64, f64) = (1.8745, 1.8750);

fn of(found: &[Suspicion], kind: Kind) -> Vec<&Suspicion> {
    found.iter().filter(|f| f.kind == kind).collect()
}

/// With one size put in place of a sound one.
fn with(journal: usize, place: usize, size: &'static str) -> Vec<Suspicion> {
    let mut sizes = SOUND;
    sizes[journal][place] = size;
    let (groups, spots) = four(NEW, sizes);
    find(&groups, &spots, Unit::Inch)
}

/// The limits are not published; 47.465 to 47.480 is assumed, just at the largest reading.
#[test]
fn trainees_crankpins_do_not_hang_together() {
    let groups: Vec<Group> =
        ["A", "B", "C", "D"].iter().map(|n| group(&format!("pin {n}"), 1, (47.465, 47.480), &METRIC_LADDER)).collect();
    let spots: Vec<Spot> = rows("trainee")
        .iter()
        .map(|r| {
            let at = if r[2] == "1" { -8.0 } else { 8.0 };
            let pin = ["A", "B", "C", "D"].iter().position(|p| *p == r[0]).unwrap();
            metric(pin, at, if r[1] == "a" { 0.0 } else { 90.0 }, r[3])
        })
        .collect();
    assert_eq!(spots.len(), 16);
    let found = find(&groups, &spots, Unit::Millimetre);
    let apart = of(&found, Kind::DoesNotHangTogether);
    assert!(apart.iter().any(|f| f.group == Some(1) && f.spot.is_none() && f.says.contains("0.31")), "{found:#?}");
    assert!(apart.iter().any(|f| f.group.is_none() && f.says.contains("four journals")), "{found:#?}");
    assert!(of(&found, Kind::LikelyMisread).is_empty(), "{found:#?}");
}

/// 50.22, 51.18, 51.19, 50.21: with no book the tool can only say that they are two pairs two turns apart.
#[test]
fn the_exercise_is_two_pairs_two_turns_apart() {
    let spots: Vec<Spot> = rows("exercise")
        .iter()
        .map(|r| metric(0, if r[1] == "A" { -8.0 } else { 8.0 }, if r[0] == "X" { 0.0 } else { 90.0 }, r[2]))
        .collect();
    assert_eq!(spots.len(), 4);
    let unknown = [group("pin 1", 1, (f64::NAN, f64::NAN), &[])];
    let found = find(&unknown, &spots, Unit::Millimetre);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert!(found[0].says.contains("do not hang together: two near") && found[0].says.contains("two full turns"));

    // An assumed book, 50.22 to 50.24 when new, settles it: a journal cannot have grown a millimetre.
    let known = [group("pin 1", 1, (50.22, 50.24), &METRIC_LADDER)];
    let found = find(&known, &spots, Unit::Millimetre);
    let named: Vec<_> = of(&found, Kind::LikelyMisread).iter().map(|f| (f.spot, f.would_be_mm)).collect();
    assert_eq!(named.len(), 2, "{found:#?}");
    for ((spot, would_be), (expected, size)) in named.iter().zip([(1, 50.18), (2, 50.19)]) {
        assert_eq!(*spot, Some(expected));
        assert!((would_be.unwrap() - size).abs() < 1e-9);
    }
}

/// Six pins all at 1.799 against 1.799 to 1.800, read to 0.001: nothing is wrong, and nothing can be told.
#[test]
fn six_pins_read_to_a_thou_cannot_be_judged() {
    let new = (1.799 * 25.4, 1.800 * 25.4);
    let groups: Vec<Group> = (1..=6).map(|n| group(&format!("pin {n}"), 1, new, &INCH_LADDER)).collect();
    let spots: Vec<Spot> = rows("six pins")
        .iter()
        .enumerate()
        .map(|(pin, r)| Spot { graduation_mm: 0.0254, uncertainty_mm: 0.0105, ..inch(pin, 0.0, 0.0, r[1]) })
        .collect();
    assert_eq!(spots.len(), 6);
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(found.iter().map(|f| f.kind).collect::<Vec<_>>(), [Kind::TooCoarse], "{found:#?}");
    assert!(found[0].says.contains("steps of 0.001 in") && found[0].says.contains("size band of 0.001 in"));
}

#[test]
fn sound_readings_raise_nothing() {
    let (mut groups, spots) = four(NEW, SOUND);
    for g in &mut groups {
        g.out_of_round_mm = Some(0.0127);
        g.taper_mm = Some(0.0127);
    }
    assert_eq!(find(&groups, &spots, Unit::Inch), []);
    assert_eq!(find(&[], &[], Unit::Inch), []);
}

#[test]
fn a_turn_is_named_with_its_evidence() {
    let found = with(2, 0, "1.8489");
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!((found[0].kind, found[0].group, found[0].spot), (Kind::LikelyMisread, Some(2), Some(8)));
    assert!((found[0].would_be_mm.unwrap() - 1.8739 * 25.4).abs() < 1e-9);
    assert_eq!(
        found[0].says,
        "1.8489 is 0.0246 less than the other three here: about one full turn of the thimble (0.025 in a turn). Read it \
         again before grinding."
    );
    assert_eq!(with(1, 3, "1.9491")[0].would_be_mm.map(|mm| (mm / 25.4 * 1e4).round()), Some(18741.0));
}

#[test]
fn gross_slips_are_explained() {
    for (typed, kind, would_be) in [
        ("18.741", Kind::TenTimesOut, 1.8741),
        ("18741", Kind::TenTimesOut, 1.8741),
        ("2.8741", Kind::RangeStep, 1.8741),
        (".8741", Kind::RangeStep, 1.8741),
        ("47.602", Kind::OtherUnit, 1.8741),
        ("1.7841", Kind::Mistyped, 1.8741),
    ] {
        let found = with(1, 2, typed);
        assert_eq!(found.len(), 1, "{typed}: {found:#?}");
        assert_eq!((found[0].kind, found[0].spot), (kind, Some(6)), "{typed}: {found:#?}");
        assert!((found[0].would_be_mm.unwrap() / 25.4 - would_be).abs() < 2e-5, "{typed}: {found:#?}");
    }
}

/// A metric sheet with one reading typed in inches.
#[test]
fn inches_on_a_metric_sheet() {
    let groups: Vec<Group> = (1..=3).map(|n| group(&format!("main {n}"), 0, (59.98, 60.0), &METRIC_LADDER)).collect();
    let mut spots: Vec<Spot> = (0..6).map(|i| metric(i / 2, (i % 2) as f64, 0.0, "59.97")).collect();
    spots[3] = metric(1, 1.0, 0.0, "2.3610");
    let found = find(&groups, &spots, Unit::Millimetre);
    assert_eq!(of(&found, Kind::OtherUnit).len(), 1, "{found:#?}");
    assert!(found[0].says.contains("2.3610 in is 59.97 mm"), "{found:#?}");
}

/// Everything in the other unit is one remark, not one for each reading.
#[test]
fn a_whole_set_in_the_other_unit() {
    let (groups, mut spots) = four(NEW, SOUND);
    for spot in &mut spots {
        spot.sizes_mm[0] *= 25.4;
    }
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(found.iter().map(|f| (f.kind, f.group)).collect::<Vec<_>>(), [(Kind::OtherUnit, None)], "{found:#?}");
}

#[test]
fn bigger_than_new() {
    let found = with(3, 1, "1.8762");
    assert_eq!(found.iter().map(|f| (f.kind, f.spot)).collect::<Vec<_>>(), [(Kind::BiggerThanNew, Some(13))]);
    assert!(found[0].says.contains("0.0012 more than the largest new size, 1.8750"), "{found:#?}");
}

#[test]
fn a_whole_journal_a_turn_down() {
    let mut sizes = SOUND;
    sizes[2] = ["1.8489", "1.8490", "1.8483", "1.8485"];
    let (groups, spots) = four(NEW, sizes);
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(
        found.iter().map(|f| (f.kind, f.group, f.spot)).collect::<Vec<_>>(),
        [(Kind::LikelyMisread, Some(2), None)]
    );
    assert!(found[0].says.contains("A ruined journal, or the same misreading every time?"));
}

/// In inches a turn, 0.025, is no undersize on the list, so a set a turn down is accused.
#[test]
fn a_whole_inch_set_a_turn_low() {
    let (groups, mut spots) = four(NEW, SOUND);
    for spot in &mut spots {
        spot.sizes_mm[0] -= spot.turn_mm;
    }
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(found.iter().map(|f| (f.kind, f.group)).collect::<Vec<_>>(), [(Kind::SetTurnOff, None)], "{found:#?}");
    assert!(found[0].says.contains("fits no undersize on the list"), "{found:#?}");
}

/// In millimetres half a millimetre is a turn and a usual undersize too, listed or not: ask.
#[test]
fn a_whole_metric_set_half_a_millimetre_low() {
    for ladder in [&METRIC_LADDER[..], &[0.0]] {
        let groups: Vec<Group> = (1..=5).map(|n| group(&format!("main {n}"), 0, (59.98, 60.0), ladder)).collect();
        let spots: Vec<Spot> = (0..10).map(|i| metric(i / 2, (i % 2) as f64, 0.0, ["59.47", "59.48"][i % 2])).collect();
        let found = find(&groups, &spots, Unit::Millimetre);
        let questions = of(&found, Kind::Question);
        assert_eq!(questions.len(), 1, "{found:#?}");
        assert!(questions[0].says.contains("Ground before? Look for a stamped mark."));
        assert!(found.iter().all(|f| !f.kind.accuses()), "{found:#?}");
    }
}

#[test]
fn front_and_rear_changed_over() {
    let sizes = [
        ["1.8741", "1.8735", "1.8734", "1.8740"], // the second pair changed over
        ["1.8745", "1.8740", "1.8743", "1.8738"],
        ["1.8739", "1.8738", "1.8736", "1.8735"],
        ["1.8745", "1.8741", "1.8744", "1.8740"],
    ];
    let (groups, spots) = four(NEW, sizes);
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(found.iter().map(|f| (f.kind, f.group)).collect::<Vec<_>>(), [(Kind::SwappedStations, Some(0))]);
}

#[test]
fn a_mains_size_entered_on_a_pin() {
    let (mut groups, mut spots) = four(NEW, SOUND);
    for n in 0..3 {
        groups.push(group(&format!("main {}", n + 1), 0, (1.9995 * 25.4, 2.0 * 25.4), &INCH_LADDER));
        spots.extend([inch(4 + n, -8.0, 0.0, "1.9990"), inch(4 + n, 8.0, 0.0, "1.9992")]);
    }
    for (spot, size) in spots.iter_mut().skip(4).take(4).zip(["1.9991", "1.9990", "1.9992", "1.9990"]) {
        spot.sizes_mm[0] = size.parse::<f64>().unwrap() * 25.4;
    }
    let found = find(&groups, &spots, Unit::Inch);
    let journal = of(&found, Kind::OtherSet);
    assert_eq!(journal.len(), 1, "{found:#?}");
    assert!(journal[0].group == Some(1) && journal[0].says.contains("main 1"), "{found:#?}");
}

#[test]
fn a_clash_at_one_place() {
    let (groups, mut spots) = four(NEW, SOUND);
    spots[5].sizes_mm = vec![1.8744 * 25.4, 1.8731 * 25.4];
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(found.iter().map(|f| (f.kind, f.spot)).collect::<Vec<_>>(), [(Kind::DoesNotHangTogether, Some(5))]);
}

#[test]
fn nonsense_is_survived() {
    let (mut groups, mut spots) = four(NEW, SOUND);
    spots[0].sizes_mm = vec![f64::NAN, f64::INFINITY, -1.0, 0.0, 1e300, 1e-300];
    spots[1].group = 99;
    spots[2].turn_mm = f64::NAN;
    spots[3].uncertainty_mm = f64::NAN;
    spots[4].graduation_mm = -1.0;
    spots[5].frame_mm = 0.0;
    spots[6].at_mm = f64::NAN;
    spots[7].sizes_mm.clear();
    groups[0].new_mm = (f64::INFINITY, f64::NAN);
    groups[1].ladder_mm = vec![f64::NAN, -5.0, 1e9];
    find(&groups, &spots, Unit::Millimetre);
    // Ten thousand readings of one journal.
    let many: Vec<Spot> = (0..10_000).map(|i| inch(0, f64::from(i % 9), 0.0, "1.8740")).collect();
    assert_eq!(find(&groups[1..2], &many, Unit::Inch), []);
}
