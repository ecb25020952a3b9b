//! The size axis, the ladder, wear along the crank, before and after: read back from their own marks.

mod support;

use paper::{
    AxisSpot, AxisStep, BeforeAfter, Change, Drawing, Fill, LadderSketch, Mark, Pen, Place, Rung, RungChance, SizeAxis,
    SvgSize, WearAlong, WornMain,
};
use proptest::prelude::*;
use support::{assert_finite, assert_labels_keep_clear, each_mark, group, label_boxes};
use units::Unit;

/// Tolerance throughout: drawn in full precision, so a ten-thousandth of a millimetre of paper is rounding.
fn near(found: f64, expected: f64, what: &str) {
    assert!((found - expected).abs() < 1e-4, "{what}: {found} is not {expected}");
}

fn step(name: &str, undersize_mm: f64, chosen: bool) -> AxisStep {
    AxisStep { name: name.to_owned(), low_mm: 53.962 - undersize_mm, high_mm: 53.975 - undersize_mm, chosen }
}

/// Mains to be ground from standard to 0.50 under.
fn axis() -> SizeAxis {
    SizeAxis {
        name: "mains".to_owned(),
        unit: Unit::Millimetre,
        steps: vec![step("new", 0.0, false), step("0.25", 0.25, false), step("0.50", 0.5, true)],
        wheel_mm: Some(53.47),
        spots: [53.95, 53.94, 53.90, 53.94].map(|size_mm| AxisSpot { size_mm, doubtful: size_mm == 53.90 }).to_vec(),
        waiting_mm: vec![53.8, 25.0],
    }
}

fn circles(marks: &[Mark]) -> Vec<(Place, Fill)> {
    let circle = |mark: &Mark| match mark {
        Mark::Circle { centre, fill, .. } => Some((*centre, *fill)),
        _ => None,
    };
    marks.iter().filter_map(circle).collect()
}

fn line(marks: &[Mark]) -> (Vec<Place>, Pen) {
    marks
        .iter()
        .find_map(|mark| match mark {
            Mark::Line { points, pen } => Some((points.clone(), *pen)),
            _ => None,
        })
        .expect("a line")
}

#[test]
fn every_size_stands_on_one_scale() {
    for width in [SizeAxis::NARROW_MM, SizeAxis::WIDE_MM, 186.0] {
        let drawn = axis().draw(width);
        let drawing = &drawn.drawing;
        // From the largest size of all, 53.975, to the smallest, 53.462, with 3 mm of edge.
        let x = |mm: f64| 3.0 + (53.975 - mm) / 0.513 * (width - 6.0);
        for (name, undersize, pens) in
            [("step-new", 0.0, [Pen::Thin, Pen::Thin]), ("step-0-50", 0.5, [Pen::Heavy, Pen::Edge])]
        {
            let (points, pen) = line(group(drawing, name));
            assert!(pens.contains(&pen), "{name}: {pen:?}");
            near(points[1].0, x(53.975 - undersize), name);
            near(points[2].0, x(53.962 - undersize), name);
        }
        let dots = circles(group(drawing, "spots"));
        // Three that count, one that the verdict doubts, one that waits; what is far off is only counted.
        assert_eq!(dots.len(), 5);
        assert_eq!(dots.iter().filter(|(_, fill)| *fill == Fill::Paper).count(), 2);
        near(dots.first().expect("a dot").0.0, x(53.95), "the largest spot");
        near(dots.last().expect("a dot").0.0, x(53.8), "what waits");
        let [Mark::Shape { points, fill: Fill::Hatch, .. }] = group(drawing, "come-off") else { panic!("no hatching") };
        near(points[0].0, x(53.95), "from the largest");
        near(points[1].0, x(53.47), "to what the wheel leaves");
        assert_labels_keep_clear(&format!("{width} wide"), drawing);
    }
    let says = axis().draw(90.0).drawing.says;
    assert_eq!(
        says,
        "Sizes of the mains in millimetres, on the diameter: 4 spots from 53.900 to 53.950; new is 53.962 to 53.975, 0.25 \
         is 53.712 to 53.725, 0.50 is 53.462 to 53.475. 0.480 is to come off the largest. 2 readings in doubt. 1 reading \
         in doubt, off this scale."
    );
}

#[test]
fn labels_of_the_size_axis_keep_apart() {
    let steps =
        |n: u32| (0..n).map(move |k| step(&format!("{:.2}", 0.25 * f64::from(k)), 0.25 * f64::from(k), k + 1 == n));
    for n in 1..9 {
        let crowded = SizeAxis { steps: steps(n).collect(), ..axis() };
        assert_labels_keep_clear(&format!("{n} steps"), &crowded.draw(SizeAxis::NARROW_MM).drawing);
    }
    let alike = SizeAxis { spots: vec![AxisSpot { size_mm: 53.95, doubtful: false }; 60], steps: Vec::new(), ..axis() };
    let drawn = alike.draw(SizeAxis::NARROW_MM);
    assert_labels_keep_clear("alike", &drawn.drawing);
    let nothing = SizeAxis { spots: Vec::new(), ..axis() }.draw(90.0);
    assert_eq!(nothing.troubles, ["No size is measured."]);
}

fn ladder() -> LadderSketch {
    let rung = |name: &str, dots: Option<usize>| Rung {
        name: name.to_owned(),
        range: "53.462 to 53.475 mm".to_owned(),
        chance: dots.map(|dots| RungChance { words: "likely".to_owned(), figure: "88 in 100".to_owned(), dots }),
        reason: "Leaves a low patch of about 0.01 at main 3.".to_owned(),
        chosen: None,
        rule_above: false,
    };
    LadderSketch {
        heading: "Mains: grind to 0.50".to_owned(),
        rungs: vec![
            rung("Leave alone", None),
            rung("0.25", Some(3)),
            Rung { chosen: Some("Grind to this".to_owned()), rule_above: true, ..rung("0.50", Some(19)) },
        ],
        rule: "The shop’s rule: 95 in 100.".to_owned(),
    }
}

#[test]
fn the_ladder_shows_its_dots_its_choice_and_the_rule() {
    let drawing = ladder().draw(LadderSketch::USUAL_MM);
    assert_labels_keep_clear("ladder", &drawing);
    for (number, full) in [(2, 3), (3, 19)] {
        let dots = circles(group(&drawing, &format!("dots-{number}")));
        assert_eq!(dots.len(), 20);
        assert_eq!(dots.iter().filter(|(_, fill)| *fill == Fill::Ink).count(), full);
        // Two rows of ten.
        assert_eq!(dots.iter().filter(|(at, _)| at.1 == dots[0].0.1).count(), 10);
    }
    let frame = |number: u32| match group(&drawing, &format!("rung-{number}")) {
        [Mark::Shape { pen: Some(pen), points, .. }] => (*pen, points[0].1),
        marks => panic!("{marks:?}"),
    };
    assert_eq!([1, 2, 3].map(|n| frame(n).0), [Pen::Dotted, Pen::Thin, Pen::Heavy]);
    let (rule, _) = line(group(&drawing, "rule"));
    assert!(frame(2).1 < rule[0].1 && rule[0].1 < frame(3).1, "the rule lies between the rungs it divides");
    assert!(drawing.says.contains("0.50: Grind to this; Finished 53.462 to 53.475 mm; Likely, 88 in 100;"));
    let mut long = ladder();
    long.rungs[0].name = "Past the last undersize".to_owned();
    long.rungs[1].reason = "One reason that goes on ".repeat(8);
    assert_labels_keep_clear("long words", &long.draw(0.0));
}

fn mains(count: usize) -> WearAlong {
    let main = |n: usize| WornMain {
        name: format!("Main {}", n + 1),
        position_mm: 81.28 * n as f64,
        wear_mm: Some(0.01 + 0.002 * n as f64),
        out_of_round_mm: Some(0.004),
        run_out_mm: n.is_multiple_of(2).then_some(0.03),
    };
    WearAlong { unit: Unit::Millimetre, mains: (0..count).map(main).collect(), pattern: "A hint.".to_owned() }
}

/// The plotting library rounds to its pixels, a hundredth of a millimetre each: a size is off by one at most.
#[test]
fn bars_are_as_high_as_the_wear() {
    for count in [1, 2, 5, 13] {
        let drawn = mains(count).draw(WearAlong::USUAL_MM);
        assert_eq!(drawn.troubles, Vec::<String>::new());
        assert_labels_keep_clear(&format!("{count} mains"), &drawn.drawing);
        let mut bars: Vec<(f64, f64)> = Vec::new();
        let mut dots = 0;
        let mut diamonds = 0;
        each_mark(group(&drawn.drawing, "plot"), &mut |mark| match mark {
            Mark::Shape { points, fill: Fill::Hatch, .. } => {
                let ys = points.iter().map(|p| p.1);
                let high = ys.clone().fold(f64::NEG_INFINITY, f64::max) - ys.fold(f64::INFINITY, f64::min);
                bars.push((points[0].0.midpoint(points[1].0), high));
            }
            Mark::Shape { fill: Fill::Ink, .. } => diamonds += 1,
            Mark::Circle { fill: Fill::Paper, .. } => dots += 1,
            _ => {}
        });
        assert_eq!((bars.len(), dots, diamonds), (count, count, count.div_ceil(2)));
        let (first, last) = (bars[0], bars[count - 1]);
        for (n, (x, high)) in bars.iter().enumerate() {
            let wear = |n: usize| 0.01 + 0.002 * n as f64;
            assert!((high / first.1 - wear(n) / wear(0)).abs() < 0.02 / first.1 * 3.0, "bar {n}: {high}");
            if count > 1 {
                let share = n as f64 / (count - 1) as f64;
                assert!((x - first.0 - share * (last.0 - first.0)).abs() < 0.03, "bar {n} at {x}");
            }
        }
        let words: String = label_boxes(&drawn.drawing).into_iter().map(|(words, _)| words + " ").collect();
        assert!(words.contains("nose") && words.contains("flywheel") && words.contains("A hint."), "{words}");
        assert!(drawn.drawing.to_svg("wear", SvgSize::Page).len() <= 40_000);
    }
}

#[test]
fn what_the_wear_plot_cannot_show_is_said() {
    let none = WearAlong { mains: Vec::new(), ..mains(1) }.draw(0.0);
    assert_eq!(none.troubles, ["No main is measured."]);
    let mut bad = mains(3);
    bad.mains[0].position_mm = f64::NAN;
    bad.mains[1].wear_mm = Some(f64::INFINITY);
    assert_eq!(
        bad.draw(186.0).troubles,
        ["Main 1 has no position: left out.", "The wear of Main 2 is no length: left out."]
    );
}

fn before_after() -> BeforeAfter {
    let change = |n: usize| Change {
        name: format!("Main {n}"),
        before_mm: Some((53.90, 53.95)),
        after_mm: (n != 3).then_some((53.466, 53.470)),
    };
    BeforeAfter {
        name: "Mains".to_owned(),
        unit: Unit::Millimetre,
        limits_mm: Some((53.462, 53.475)),
        journals: (1..=5).map(change).collect(),
    }
}

#[test]
fn before_and_after_stand_on_one_scale_with_the_limits() {
    let drawn = before_after().draw(BeforeAfter::USUAL_MM);
    assert_eq!(drawn.troubles, Vec::<String>::new());
    assert_labels_keep_clear("before and after", &drawn.drawing);
    let before = circles(group(&drawn.drawing, "before"));
    let after = circles(group(&drawn.drawing, "after"));
    let (limit, _) = line(group(&drawn.drawing, "limits"));
    let ([(high, open), (low, _)], [(_, full), (finished, _)]) = (before.as_slice(), after.as_slice()) else {
        panic!("{before:?} {after:?}")
    };
    assert_eq!((*open, *full), (Fill::Paper, Fill::Ink));
    let scale = (low.0 - high.0) / 0.05;
    near(finished.0 - high.0, (53.95 - 53.466) * scale, "after");
    near(limit[0].0 - high.0, (53.95 - 53.475) * scale, "the upper limit");
    assert!(drawn.drawing.says.contains("Main 3: 53.900 → not measured"), "{}", drawn.drawing.says);
    let none = BeforeAfter { limits_mm: None, journals: Vec::new(), ..before_after() }.draw(186.0);
    assert_eq!(none.troubles, ["No size is measured."]);
    let many =
        (1..=26).map(|n| Change { name: format!("Big end {n}, of a long name"), before_mm: None, after_mm: None });
    let many = BeforeAfter { journals: many.collect(), ..before_after() }.draw(0.0);
    assert_labels_keep_clear("many", &many.drawing);
}

fn any() -> impl Strategy<Value = f64> {
    prop_oneof![
        5 => 20.0..60.0f64,
        3 => -1.0..1.0f64,
        1 => prop::sample::select(vec![0.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300, 1e-300]),
    ]
}

fn sound(drawing: &Drawing) {
    assert_finite(drawing);
    let svg = drawing.to_svg("d", SvgSize::Page);
    assert!(!svg.contains("NaN") && svg.ends_with("</svg>"), "{svg}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_breaks_a_plot(
        steps in prop::collection::vec((any(), any(), prop::bool::ANY), 0..6),
        sizes in prop::collection::vec((any(), any(), any()), 0..9),
        width in any(),
        name in "\\PC{0,40}",
    ) {
        let axis = SizeAxis {
            name: name.clone(),
            unit: Unit::Inch,
            steps: steps
                .iter()
                .map(|&(low_mm, high_mm, chosen)| AxisStep { name: name.clone(), low_mm, high_mm, chosen })
                .collect(),
            wheel_mm: sizes.first().map(|&(.., mm)| mm),
            spots: sizes.iter().map(|&(size_mm, ..)| AxisSpot { size_mm, doubtful: false }).collect(),
            waiting_mm: sizes.iter().map(|&(_, mm, _)| mm).collect(),
        };
        sound(&axis.draw(width).drawing);
        let main = |&(position_mm, wear, run_out): &(f64, f64, f64)| WornMain {
            name: name.clone(),
            position_mm,
            wear_mm: Some(wear),
            out_of_round_mm: None,
            run_out_mm: Some(run_out),
        };
        let wear = WearAlong { unit: Unit::Inch, mains: sizes.iter().map(main).collect(), pattern: name.clone() };
        sound(&wear.draw(width).drawing);
        let change = |&(low, high, after): &(f64, f64, f64)| Change {
            name: name.clone(),
            before_mm: Some((low, high)),
            after_mm: Some((after, after)),
        };
        let both = BeforeAfter {
            name: name.clone(),
            unit: Unit::Inch,
            limits_mm: steps.first().map(|&(low, high, _)| (low, high)),
            journals: sizes.iter().map(change).collect(),
        };
        sound(&both.draw(width).drawing);
        let mut rungs = ladder();
        rungs.heading = name.clone();
        rungs.rungs.iter_mut().for_each(|rung| rung.name.clone_from(&name));
        sound(&rungs.draw(width));
    }
}
