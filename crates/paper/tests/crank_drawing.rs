//! The crank drawing, read back from its own marks.

mod support;

use crank::{JournalId, SetName, Specification};
use paper::{CrankSketch, Drawn, Fill, JournalMark, Mark, Place, Standing, SvgSize};
use proptest::prelude::*;
use support::{assert_finite, assert_labels_keep_clear, crank, group, in_line, layouts, set};
use units::Unit;

const STANDINGS: [Standing; 8] = [
    Standing::Plain,
    Standing::NotMeasured,
    Standing::Part { taken: 2, of: 4 },
    Standing::Inside,
    Standing::Worn,
    Standing::LookAgain,
    Standing::Damaged,
    Standing::LeftOut,
];

fn draw(specification: &Specification, journals: Vec<JournalMark>) -> Drawn {
    let stamps = Vec::new();
    CrankSketch { specification, unit: Unit::Inch, width_mm: CrankSketch::USUAL_MM, journals, stamps }.draw()
}

/// Marks for every journal, with every standing and the longest usual words.
fn busy(specification: &Specification) -> Vec<JournalMark> {
    let mark = |(n, id): (usize, JournalId)| {
        let mut mark = JournalMark::plain(id).standing(STANDINGS[n % STANDINGS.len()]);
        match mark.standing {
            Standing::Worn => mark.words = "0.0006 under".to_owned(),
            Standing::Damaged => mark.words = "damage: overheated".to_owned(),
            _ => {}
        }
        JournalMark { decides: n % 7 == 3, current: n == 5, undersize_mm: 0.25, wear_mm: 0.01 * n as f64, ..mark }
    };
    specification.journals().enumerate().map(mark).collect()
}

/// The outline of a journal: left, top, right, bottom.
fn outline(drawn: &Drawn, id: JournalId) -> [f64; 4] {
    let marks = group(&drawn.drawing, &format!("{}-{}", id.set, id.number));
    let Some(Mark::Shape { points, .. }) = marks.first() else { panic!("{marks:?}") };
    let xs = points.iter().map(|p| p.0);
    let ys = points.iter().map(|p| p.1);
    [
        xs.clone().fold(f64::INFINITY, f64::min),
        ys.clone().fold(f64::INFINITY, f64::min),
        xs.fold(f64::NEG_INFINITY, f64::max),
        ys.fold(f64::NEG_INFINITY, f64::max),
    ]
}

/// Paper for each millimetre of the crank, from the two mains farthest apart.
fn scale(drawn: &Drawn, book: &Specification) -> f64 {
    let last = JournalId { set: SetName::Main, number: book.main.count() };
    let first = JournalId { set: SetName::Main, number: 1 };
    (outline(drawn, last)[0] - outline(drawn, first)[0]) / (book.position_mm(last) - book.position_mm(first))
}

/// Tolerance throughout: the drawing is computed in full precision, so a ten-thousandth of a millimetre is rounding.
fn near(found: f64, expected: f64, what: &str) {
    assert!((found - expected).abs() < 1e-4, "{what}: {found} is not {expected}");
}

#[test]
fn journals_stand_where_the_specification_has_them() {
    for (name, book) in layouts() {
        let drawn = draw(&book, Vec::new());
        assert_eq!(drawn.troubles, Vec::<String>::new(), "{name}");
        let scale = scale(&drawn, &book);
        let main = outline(&drawn, JournalId { set: SetName::Main, number: 1 });
        let axis = main[1].midpoint(main[3]);
        for id in book.journals() {
            let [left, top, right, bottom] = outline(&drawn, id);
            let along = (left.midpoint(right) - main[0].midpoint(main[2])) / scale;
            near(along, book.position_mm(id) - book.main.positions_mm[0], &format!("{name}, {id}, along"));
            let of = book.set(id.set);
            near((right - left) / scale, of.length_mm, &format!("{name}, {id}, length"));
            near((bottom - top) / scale, of.size.middle_mm(), &format!("{name}, {id}, size"));
            let up = match id.set {
                SetName::Main => 0.0,
                SetName::Pin => book.throw_mm * book.throw_deg(id).to_radians().cos(),
            };
            near((axis - top.midpoint(bottom)) / scale, up, &format!("{name}, {id}, throw"));
        }
    }
}

/// From the nose: the first throw up, angles clockwise, all at one distance from the middle.
#[test]
fn throws_point_where_the_specification_has_them() {
    for (name, book) in layouts() {
        let drawn = draw(&book, Vec::new());
        let circles: Vec<(Place, f64)> = group(&drawn.drawing, "end-view")
            .iter()
            .filter_map(|mark| match mark {
                Mark::Circle { centre, radius_mm, .. } => Some((*centre, *radius_mm)),
                _ => None,
            })
            .collect();
        let [(centre, throw), main, pins @ ..] = circles.as_slice() else { panic!("{name}") };
        assert_eq!(main.0, *centre);
        let mut expected: Vec<f64> = book.pin.angles_deg.clone();
        expected.sort_by(f64::total_cmp);
        expected.dedup();
        assert_eq!(pins.len(), expected.len(), "{name}");
        for ((at, radius), angle) in pins.iter().zip(expected) {
            let (across, up) = (at.0 - centre.0, centre.1 - at.1);
            near(across.hypot(up), *throw, name);
            near(throw / radius, book.throw_mm / (book.pin.size.middle_mm() / 2.0), name);
            let found = across.atan2(up).to_degrees().rem_euclid(360.0);
            let off = (found - angle + 180.0).rem_euclid(360.0) - 180.0;
            near(off, 0.0, &format!("{name} at {angle} degrees"));
            assert!(drawn.drawing.says.contains(&format!("at {angle} degrees")), "{name}: {}", drawn.drawing.says);
        }
    }
}

/// The factor in the sentence is the one the lines were drawn with.
#[test]
fn undersize_and_wear_are_as_much_too_large_as_the_drawing_says() {
    let book = in_line("Tarn four, 1.5 litre", &[0.0, 180.0, 180.0, 0.0]);
    let id = JournalId { set: SetName::Pin, number: 2 };
    let mark = JournalMark { undersize_mm: 0.254, wear_mm: 0.03, ..JournalMark::plain(id) };
    let drawn = draw(&book, vec![mark]);
    let words: String = support::label_boxes(&drawn.drawing).into_iter().map(|(words, _)| words + " ").collect();
    let factor = |before: &str| -> f64 {
        let rest = words.split_once(before).unwrap_or_else(|| panic!("{before} in {words}")).1;
        let rest = rest.split_once("drawn ").expect("a factor").1;
        rest.split(' ').next().expect("a factor").parse().expect("a number")
    };
    let scale = scale(&drawn, &book);
    let [_, top, _, bottom] = outline(&drawn, id);
    let lines: Vec<&[Place]> = group(&drawn.drawing, "pin-2")
        .iter()
        .filter_map(|mark| match mark {
            Mark::Line { points, .. } => Some(points.as_slice()),
            _ => None,
        })
        .collect();
    let [standard_top, standard_bottom, worn_top, worn_bottom] = lines[..] else { panic!("{lines:?}") };
    near(standard_bottom[0].1 - standard_top[0].1, book.pin.size.middle_mm() * scale, "standard size");
    near((top - standard_top[0].1) / scale, factor("Undersize") * 0.254 / 2.0, "undersize");
    near((worn_top[1].1 - top) / scale, factor("Wear") * 0.03 / 2.0, "wear, top");
    near((bottom - worn_bottom[1].1) / scale, factor("Wear") * 0.03 / 2.0, "wear, bottom");
}

/// Without a word and without colour each standing has its own lines, whether or not it decides or is in hand.
#[test]
fn no_two_standings_look_alike() {
    let book = in_line("Tarn", &[0.0]);
    let id = JournalId { set: SetName::Main, number: 2 };
    let mut seen: Vec<(String, Vec<Mark>)> = Vec::new();
    let mut words: Vec<String> = Vec::new();
    for standing in STANDINGS {
        words.push(JournalMark::plain(id).standing(standing).words);
        for (decides, current) in [(false, false), (false, true), (true, false), (true, true)] {
            let mark = JournalMark { decides, current, ..JournalMark::plain(id).standing(standing) };
            let drawn = draw(&book, vec![mark]);
            let what = format!("{standing:?}, decides {decides}, current {current}");
            let marks = group(&drawn.drawing, "main-2").to_vec();
            for (other, known) in &seen {
                assert_ne!(known, &marks, "{what} looks like {other}");
            }
            seen.push((what, marks));
        }
    }
    assert_eq!(seen.len(), 32);
    words.retain(|words| !words.is_empty());
    let all = words.len();
    words.sort();
    words.dedup();
    assert_eq!((words.len(), all), (6, 6), "plain says nothing; what is worn says by how much");
}

#[test]
fn only_what_is_damaged_is_cross_hatched_and_only_wear_is_hatched() {
    let book = in_line("Tarn", &[0.0]);
    for standing in STANDINGS {
        let id = JournalId { set: SetName::Pin, number: 1 };
        let drawn = draw(&book, vec![JournalMark::plain(id).standing(standing)]);
        let fills = |wanted: Fill| {
            group(&drawn.drawing, "pin-1").iter().any(|m| matches!(m, Mark::Shape { fill, .. } if *fill == wanted))
        };
        assert_eq!(fills(Fill::CrossHatch), standing == Standing::Damaged, "{standing:?}");
        assert_eq!(fills(Fill::Hatch), standing == Standing::Worn, "{standing:?}");
    }
}

#[test]
fn every_layout_keeps_its_labels_apart_and_its_file_small() {
    let long =
        ["Skelder six, 7 litre diesel, marine, left hand, second crank of two, with the long nose for the pump", "W"];
    for (name, mut book) in layouts() {
        for (marks, engine) in [(busy(&book), long[0]), (Vec::new(), long[1])] {
            book.name = engine.to_owned();
            let drawn = draw(&book, marks);
            assert_labels_keep_clear(name, &drawn.drawing);
            let svg = drawn.drawing.to_svg("crank", SvgSize::Page);
            assert!(svg.len() <= 40_000, "{name}: {} bytes", svg.len());
            assert!(drawn.drawing.height_mm < 250.0, "{name}: {} high", drawn.drawing.height_mm);
        }
    }
}

/// A name without a space, in another script, or very long stays on the paper.
#[test]
fn names_of_any_length_stay_on_the_paper() {
    let mut book = in_line("", &[0.0, 180.0]);
    for name in ["x".repeat(200), "Коленчатый вал ".repeat(20), "   ".to_owned(), "O’Brien & Söhne <b>".to_owned()]
    {
        book.name = name.clone();
        let mut marks = busy(&book);
        for mark in &mut marks {
            mark.name = format!("{} {}", "Hauptlagerzapfenlaufflächen".repeat(2), mark.journal.number);
        }
        let drawn = draw(&book, marks);
        assert_labels_keep_clear(&name, &drawn.drawing);
        assert!(!drawn.drawing.title.trim().is_empty());
    }
}

#[test]
fn what_cannot_be_drawn_is_said_and_the_rest_drawn() {
    let sound = || in_line("Tarn four", &[0.0, 180.0, 180.0, 0.0]);
    let drawn_with = |change: &dyn Fn(&mut Specification)| {
        let mut book = sound();
        change(&mut book);
        let drawn = draw(&book, Vec::new());
        assert_finite(&drawn.drawing);
        assert_labels_keep_clear("bad input", &drawn.drawing);
        // Each trouble stands on the drawing too, as far as there is room.
        let on_it: String = support::label_boxes(&drawn.drawing).into_iter().map(|(words, _)| words + " ").collect();
        if let Some(first) = drawn.troubles.first() {
            let start: String = first.split(' ').take(3).collect::<Vec<_>>().join(" ");
            assert!(on_it.contains(&start), "{first} in {on_it}");
        }
        drawn.troubles
    };
    assert_eq!(drawn_with(&|_| {}), Vec::<String>::new());
    assert_eq!(drawn_with(&|book| book.main.length_mm = 0.0), ["The mains are 0.000 in long: drawn as lines."]);
    assert_eq!(drawn_with(&|book| book.pin.length_mm = f64::NAN), ["The pins are no length long: drawn as lines."]);
    assert_eq!(drawn_with(&|book| book.pin.positions_mm[1] = f64::NAN), ["Pin 2 stands at no length: left out."]);
    let overlap = drawn_with(&|book| book.main.length_mm = 25.4 * 2.3);
    assert_eq!(overlap.len(), 8, "{overlap:?}");
    assert_eq!(overlap[0], "Main 1 and Pin 1 overlap by 0.025 in along the axis: drawn as given.");
    assert_eq!(drawn_with(&|book| book.pin.angles_deg.truncate(3)), ["Pin 4 has no direction: drawn up."]);
    assert_eq!(
        drawn_with(&|book| book.throw_mm = 0.0),
        ["The crank radius is 0.000 in: the throws are drawn on the axis."]
    );
    assert_eq!(
        drawn_with(&|book| book.main.positions_mm.swap(0, 4)).first().map(String::as_str),
        Some("Main 2 stands nearer the nose than the one before it.")
    );
    let only_one = crank("Wren", 0.0, set(&[0.0], &[], 40.0, 30.0), set(&[], &[], 40.0, 30.0));
    assert_eq!(draw(&only_one, Vec::new()).troubles, ["There is one journal only, so no web can be drawn."]);
    let none = crank("Wren", 0.0, set(&[], &[], 40.0, 30.0), set(&[], &[], 40.0, 30.0));
    assert_eq!(draw(&none, Vec::new()).troubles, ["No journal has a position, so there is nothing to draw."]);
}

fn any_length() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => -50.0..500.0f64,
        1 => Just(0.0),
        1 => prop::sample::select(vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300, 1e-300, f64::MAX]),
    ]
}

fn any_set() -> impl Strategy<Value = crank::JournalSet> {
    let lengths = || prop::collection::vec(any_length(), 0..14);
    (lengths(), lengths(), any_length(), any_length()).prop_map(|(positions, angles, size, length)| {
        let mut of = set(&positions, &angles, size, length);
        of.size.low_mm = size;
        of
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_breaks_the_drawing(
        main in any_set(),
        pin in any_set(),
        throw in any_length(),
        width in any_length(),
        undersize in any_length(),
        wear in any_length(),
        name in "\\PC{0,80}",
        seed in 0usize..100,
    ) {
        let book = crank(&name, throw, main, pin);
        let journals = book.journals().enumerate().map(|(n, id)| {
            let mut mark = JournalMark::plain(id).standing(STANDINGS[(n + seed) % STANDINGS.len()]);
            mark.undersize_mm = undersize;
            mark.wear_mm = wear;
            mark
        });
        let journals = journals.collect();
        let stamps = vec!["Mains stamped 0.25 mm under.".to_owned()];
        let drawn =
            CrankSketch { specification: &book, unit: Unit::Millimetre, width_mm: width, journals, stamps }.draw();
        assert_finite(&drawn.drawing);
        let svg = drawn.drawing.to_svg("crank", SvgSize::Page);
        prop_assert!(!svg.contains("NaN") && !svg.contains("inf\"") && svg.ends_with("</svg>"));
    }
}
