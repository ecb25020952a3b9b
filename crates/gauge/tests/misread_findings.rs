//! Single cases that were once missed or accused in error, each with what is to be said now.
//!
//! The sizes are made up; the sense of each case is common practice, no source.

use gauge::misread::{Group, Kind, Spot, Suspicion, find};
use units::Unit;

const INCH: f64 = 25.4;

fn group(name: &str, set: usize, new_in: (f64, f64)) -> Group {
    Group {
        name: name.to_owned(),
        set,
        new_mm: (new_in.0 * INCH, new_in.1 * INCH),
        ladder_mm: vec![0.0, 0.254, 0.508, 0.762, 1.016],
        out_of_round_mm: None,
        taper_mm: None,
    }
}

/// An inch micrometer good to a tenth, reading tenths.
fn spot(group: usize, at_mm: f64, plane_deg: f64, sizes: &[&str], with: &str) -> Spot {
    Spot {
        group,
        at_mm,
        plane_deg,
        sizes_mm: sizes.iter().map(|size| size.parse::<f64>().unwrap() * INCH).collect(),
        typed: sizes.iter().map(|size| (*size).to_owned()).collect(),
        turn_mm: 0.635,
        frame_mm: INCH,
        uncertainty_mm: 0.0021,
        repeatability_mm: 0.00127,
        graduation_mm: 0.00254,
        with: with.to_owned(),
    }
}

const PINS: (f64, f64) = (1.8745, 1.8750);
const MAINS: (f64, f64) = (1.9995, 2.0000);
const PLACES: [(f64, f64); 4] = [(-8.0, 0.0), (8.0, 0.0), (-8.0, 90.0), (8.0, 90.0)];

/// Journals of one set, four readings each: front and rear of one plane, then of the other.
fn set(name: &str, number: usize, new_in: (f64, f64), first: usize, sizes: &[[&str; 4]]) -> (Vec<Group>, Vec<Spot>) {
    let groups = (1..=sizes.len()).map(|n| group(&format!("{name} {n}"), number, new_in)).collect();
    let of = |(j, row): (usize, &[&'static str; 4])| {
        row.iter()
            .zip(PLACES)
            .map(|(size, (at, plane))| spot(first + j, at, plane, &[*size], "mic 1-2"))
            .collect::<Vec<_>>()
    };
    let sizes: Vec<[&'static str; 4]> = sizes.iter().map(|row| row.map(|size| &*size.to_owned().leak())).collect();
    (groups, sizes.iter().enumerate().flat_map(of).collect())
}

const SOUND: [[&str; 4]; 4] = [
    ["1.8741", "1.8743", "1.8738", "1.8740"],
    ["1.8745", "1.8744", "1.8741", "1.8741"],
    ["1.8739", "1.8740", "1.8733", "1.8735"],
    ["1.8745", "1.8745", "1.8742", "1.8742"],
];

fn about(found: &[Suspicion]) -> Vec<(Kind, Option<usize>, Option<usize>)> {
    found.iter().map(|f| (f.kind, f.group, f.spot)).collect()
}

#[test]
fn a_hundredth_low_among_seven_that_agree() {
    let groups = vec![group("pin 1", 1, PINS)];
    let sizes = ["1.8741", "1.8741", "1.8740", "1.8741", "1.8640", "1.8741", "1.8741", "1.8740"];
    let spots: Vec<Spot> = sizes
        .iter()
        .enumerate()
        .map(|(i, size)| spot(0, if i % 2 == 0 { -8.0 } else { 8.0 }, 45.0 * (i / 2) as f64, &[size], "mic 1-2"))
        .collect();
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(about(&found), [(Kind::OddReading, Some(0), Some(4))], "{found:#?}");
    assert!(found[0].kind.accuses() && !found[0].stops());
    assert_eq!(
        found[0].says,
        "Towards the front across 90 degrees: 1.8640 is 0.0101 less than the other readings lead one to expect there \
         (1.8741, give or take 0.0001). With one digit changed, 1.8740, it would fit. Read it again."
    );
}

/// 0.005 in on a sound set, at every place, high and low.
#[test]
fn half_a_hundredth_among_sound_journals() {
    for journal in 0..4 {
        for place in 0..4 {
            for by in [-0.005, 0.005] {
                let (groups, mut spots) = set("pin", 1, PINS, 0, &SOUND);
                let at = journal * 4 + place;
                spots[at].sizes_mm[0] += by * INCH;
                spots[at].typed[0] = format!("{:.4}", spots[at].sizes_mm[0] / INCH);
                let found = find(&groups, &spots, Unit::Inch);
                let hit = found.iter().any(|f| f.kind.accuses() && f.spot == Some(at));
                assert!(hit && found.len() == 1, "{at} {by}: {found:#?}");
            }
        }
    }
}

#[test]
fn two_digits_changed_over() {
    let mut sizes = SOUND;
    sizes[1][2] = "1.8714"; // 1.8741
    let (groups, spots) = set("pin", 1, PINS, 0, &sizes);
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(about(&found), [(Kind::Mistyped, Some(1), Some(6))], "{found:#?}");
    assert!((found[0].would_be_mm.unwrap() / INCH - 1.8741).abs() < 1e-9);
}

#[test]
fn two_micrometers_six_tenths_apart_at_one_spot() {
    let (groups, mut spots) = set("pin", 1, PINS, 0, &SOUND);
    spots.push(spot(0, -8.0, 0.0, &["1.8747"], "mic B")); // 1.8741 by the other
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(about(&found), [(Kind::MicrometersDisagree, None, None)], "{found:#?}");
    assert!(found[0].stops());
    assert!(found[0].says.starts_with("Mic B reads 0.0006 more than mic 1-2, at the one place read with both"));
    // Two tenths are within what is stated of the two.
    spots.last_mut().unwrap().sizes_mm = vec![1.8743 * INCH];
    assert_eq!(find(&groups, &spots, Unit::Inch), []);
}

/// In one row or in two.
#[test]
fn one_spot_read_a_thou_and_a_half_apart() {
    let (groups, mut spots) = set("pin", 1, PINS, 0, &SOUND);
    spots.push(spot(1, 8.0, 90.0, &["1.8726"], "mic 1-2")); // 1.8741 before
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert!(found[0].kind.accuses() && found[0].group == Some(1), "{found:#?}");
    let (groups, mut spots) = set("pin", 1, PINS, 0, &SOUND);
    spots[7] = spot(1, 8.0, 90.0, &["1.8741", "1.8726"], "mic 1-2");
    let found = find(&groups, &spots, Unit::Inch);
    assert!(found.len() == 1 && found[0].kind.accuses() && found[0].spot == Some(7), "{found:#?}");
}

/// 0.125 below the book, and below any undersize: not scrap, but another engine.
#[test]
fn mains_an_eighth_below_the_book() {
    let sizes = SOUND.map(|row| row.map(|size| format!("{:.4}", size.parse::<f64>().unwrap()).leak() as &str));
    let (groups, spots) = set("main", 0, MAINS, 0, &sizes);
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(about(&found), [(Kind::OtherEngine, None, None)], "{found:#?}");
    assert!(found[0].stops() && found[0].kind.doubts_the_set());
    assert!(found[0].says.contains("Is it the right engine, the right unit and the right set?"), "{found:#?}");
}

#[test]
fn mains_and_pins_changed_over() {
    let mains = SOUND.map(|row| row.map(|s| format!("{:.4}", s.parse::<f64>().unwrap() + 0.125).leak() as &str));
    let (mut groups, mut spots) = set("main", 0, MAINS, 0, &SOUND);
    let (pins, of_pins) = set("pin", 1, PINS, 4, &mains);
    groups.extend(pins);
    spots.extend(of_pins);
    let found = find(&groups, &spots, Unit::Inch);
    assert_eq!(about(&found), [(Kind::OtherSet, None, None), (Kind::OtherSet, None, None)], "{found:#?}");
    assert!(found.iter().all(|f| f.stops() && f.says.contains("Were the two sets changed over?")));
}

/// It happens: a pin that was burnt was ground further than its siblings.
#[test]
fn one_pin_at_another_step_is_not_a_misread() {
    let under = |thou: f64| move |s: &str| format!("{:.4}", s.parse::<f64>().unwrap() - thou).leak() as &str;
    let mut sizes = SOUND.map(|row| row.map(under(0.020)));
    sizes[2] = SOUND[2].map(under(0.030));
    let (groups, spots) = set("pin", 1, PINS, 0, &sizes);
    let found = find(&groups, &spots, Unit::Inch);
    assert!(found.iter().all(|f| !f.kind.accuses()), "{found:#?}");
}

/// In millimetres a step of the ladder may be a turn of the thimble: asked, not said.
#[test]
fn one_metric_pin_half_a_millimetre_down_is_asked_about() {
    let ladder_mm = vec![0.0, 0.25, 0.5, 0.75, 1.0];
    let of = |n: usize| Group {
        new_mm: (47.61, 47.625),
        ladder_mm: ladder_mm.clone(),
        ..group(&format!("pin {n}"), 1, PINS)
    };
    let groups: Vec<Group> = (1..=4).map(of).collect();
    let spots: Vec<Spot> = (0..16)
        .map(|i| {
            let mm = 47.606 + 0.002 * (i % 3) as f64 - if i / 4 == 2 { 0.5 } else { 0.0 };
            let (at, plane) = PLACES[i % 4];
            let one = spot(i / 4, at, plane, &[], "mic");
            Spot { sizes_mm: vec![mm], turn_mm: 0.5, frame_mm: 25.0, graduation_mm: 0.002, ..one }
        })
        .collect();
    let found = find(&groups, &spots, Unit::Millimetre);
    assert_eq!(about(&found), [(Kind::Question, Some(2), None)], "{found:#?}");
    assert!(found[0].says.contains("Was it ground further"), "{found:#?}");
}

/// Every size to half a thou with a micrometer that reads tenths.
#[test]
fn a_last_digit_that_heaps_is_mentioned() {
    let sizes = [
        ["1.8740", "1.8735", "1.8725", "1.8720"],
        ["1.8745", "1.8740", "1.8730", "1.8725"],
        ["1.8715", "1.8710", "1.8705", "1.8700"],
        ["1.8745", "1.8735", "1.8730", "1.8715"],
    ];
    let (groups, spots) = set("pin", 1, PINS, 0, &sizes);
    let found = find(&groups, &spots, Unit::Inch);
    let heaps: Vec<&Suspicion> = found.iter().filter(|f| f.kind == Kind::LastDigitHeaps).collect();
    assert_eq!(heaps.len(), 1, "{found:#?}");
    assert!(!heaps[0].kind.accuses() && heaps[0].says.contains("Were they rounded to 0.0005 in?"), "{found:#?}");
    let (groups, spots) = set("pin", 1, PINS, 0, &SOUND);
    assert_eq!(find(&groups, &spots, Unit::Inch), []);
}

/// The row across 90 degrees at the rear, entered from the second journal on.
#[test]
fn a_row_shifted_by_a_journal_is_mentioned() {
    let mut sizes = [
        ["1.8741", "1.8741", "1.8739", "1.8739"],
        ["1.8722", "1.8721", "1.8720", "1.8719"],
        ["1.8745", "1.8744", "1.8742", "1.8742"],
        ["1.8711", "1.8712", "1.8709", "1.8710"],
        ["1.8733", "1.8733", "1.8731", "1.8731"],
        ["1.8718", "1.8718", "1.8716", "1.8716"],
    ];
    for j in (1..6).rev() {
        sizes[j][3] = sizes[j - 1][3];
    }
    let (groups, spots) = set("pin", 1, PINS, 0, &sizes);
    let found = find(&groups, &spots, Unit::Inch);
    let row: Vec<&Suspicion> = found.iter().filter(|f| f.kind == Kind::ShiftedRow).collect();
    assert_eq!(row.len(), 1, "{found:#?}");
    assert!(row[0].says.contains("most readings fit the journal before theirs"), "{found:#?}");
    assert!(row[0].says.starts_with("Towards the rear across 90 degrees"), "{found:#?}");
}
