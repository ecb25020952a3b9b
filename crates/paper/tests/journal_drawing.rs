//! The journal drawing, read back from its own marks.

mod support;

use paper::{
    Across, Drawn, Fill, GrindTo, JournalSketch, Mark, Named, Patch, Pen, Place, Profile, Section, SvgSize, TracePoint,
};
use proptest::prelude::*;
use support::{assert_finite, assert_labels_keep_clear, each_mark, group, label_boxes};
use units::Unit;

/// An invented pin: two planes, three stations, to be ground from 47.625 to 47.371.
fn pin() -> JournalSketch {
    let across = |name: &str, plane_deg: f64, size_mm: f64| Across { name: name.to_owned(), plane_deg, size_mm };
    let profile = |words: &str, sizes: [f64; 3]| Profile {
        words: words.to_owned(),
        stations: [-8.4, 0.0, 8.4].into_iter().zip(sizes).collect(),
    };
    JournalSketch {
        name: "Pin 2".to_owned(),
        station: "front".to_owned(),
        zero: "toward its own throw".to_owned(),
        unit: Unit::Millimetre,
        width_mm: JournalSketch::USUAL_MM,
        length_mm: 24.0,
        section: Section::Sizes(vec![across("A", 0.0, 47.55), across("B", 90.0, 47.58)]),
        ground_before_mm: Some(47.625),
        grind_to: Some(GrindTo { size_mm: 47.371, toward_zero_mm: 0.0, toward_ninety_mm: 0.0 }),
        decides: Some(Named { angle_deg: 0.0, words: "◆\u{a0}decides it".to_owned() }),
        patches: Vec::new(),
        along: vec![
            profile("A: taper 0.015", [47.55, 47.56, 47.565]),
            profile("B: barrel 0.008", [47.58, 47.59, 47.584]),
        ],
    }
}

/// A trace of 720 points with a low place at 200 degrees.
fn traced() -> JournalSketch {
    let point = |n: u32| {
        let angle_deg = f64::from(n) / 2.0;
        let low = (-(angle_deg - 200.0).powi(2) / 800.0).exp();
        TracePoint { angle_deg, radius_mm: 26.98 + 0.008 * (2.0 * angle_deg.to_radians()).cos() - 0.02 * low }
    };
    JournalSketch {
        section: Section::Trace((0..720).map(point).collect()),
        ground_before_mm: Some(54.0),
        grind_to: Some(GrindTo { size_mm: 53.746, toward_zero_mm: 0.03, toward_ninety_mm: -0.02 }),
        decides: Some(Named { angle_deg: 200.0, words: "◆\u{a0}decides it".to_owned() }),
        patches: vec![
            Patch { kind: "scoring".to_owned(), arc_deg: Some((340.0, 30.0)), depth_mm: Some(0.04) },
            Patch { kind: "pitting".to_owned(), arc_deg: Some((90.0, 110.0)), depth_mm: None },
        ],
        ..pin()
    }
}

fn words(drawn: &Drawn) -> String {
    label_boxes(&drawn.drawing).into_iter().map(|(words, _)| words + " ").collect()
}

/// The factor that stands after some words of a note.
fn factor(drawn: &Drawn, before: &str) -> f64 {
    let words = words(drawn);
    let rest = words.split_once(before).unwrap_or_else(|| panic!("{before} in {words}")).1;
    let rest = rest.split_once("drawn ").expect("a factor").1;
    rest.split(' ').next().expect("a factor").parse().expect("a number")
}

fn circles(marks: &[Mark]) -> Vec<Place> {
    let centre = |mark: &Mark| match mark {
        Mark::Circle { centre, .. } => Some(*centre),
        _ => None,
    };
    marks.iter().filter_map(centre).collect()
}

/// The curves of the section that a kind of line was used for.
fn curves(drawn: &Drawn, wanted: Pen) -> Vec<Vec<Place>> {
    let curve = |mark: &Mark| match mark {
        Mark::Shape { points, pen: Some(pen), .. } if *pen == wanted => Some(points.clone()),
        _ => None,
    };
    group(&drawn.drawing, "section").iter().filter_map(curve).collect()
}

fn away(a: Place, b: Place) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// Tolerance throughout: drawn in full precision, so a ten-thousandth of a millimetre of paper is rounding.
fn near(found: f64, expected: f64, what: &str) {
    assert!((found - expected).abs() < 1e-4, "{what}: {found} is not {expected}");
}

#[test]
fn the_section_is_as_much_too_large_as_it_says() {
    let drawn = pin().draw();
    assert_eq!(drawn.troubles, Vec::<String>::new());
    let (a, b) = (circles(group(&drawn.drawing, "plane-0")), circles(group(&drawn.drawing, "plane-90")));
    let ([a, a2], [b, b2]) = (a.as_slice(), b.as_slice()) else { panic!("{a:?} {b:?}") };
    let centre = (a.0.midpoint(a2.0), a.1.midpoint(a2.1));
    // Zero is up and angles grow clockwise.
    assert!(a.1 < centre.1 && b.0 > centre.0);
    near(a.0, centre.0, "zero is straight up");
    near(b.1, centre.1, "90 degrees is straight to the right");
    near(away(*b, *b2) / 2.0, away(*b, centre), "both ends half a size from the centre");
    let before = curves(&drawn, Pen::Outline);
    let ground = curves(&drawn, Pen::Edge);
    let ([before], [ground]) = (before.as_slice(), ground.as_slice()) else { panic!("{before:?} {ground:?}") };
    let out = |curve: &[Place]| curve.iter().map(|p| away(*p, centre)).fold(0.0, f64::max);
    let factor = factor(&drawn, "Across: ");
    let largest = out(before);
    let true_scale = largest / (47.625 / 2.0);
    for (what, found, size) in
        [("A", away(*a, centre), 47.55), ("B", away(*b, centre), 47.58), ("ground to", out(ground), 47.371)]
    {
        near(largest - found, factor * true_scale * (47.625 - size) / 2.0, what);
    }
}

#[test]
fn the_axis_and_the_circle_lie_off_centre_as_given() {
    let drawn = traced().draw();
    let marks = group(&drawn.drawing, "section");
    let crosses: Vec<(Pen, Place)> = marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Line { points, pen } => match points.as_slice() {
                // The level arm of each cross.
                [a, b] if a.1 == b.1 => Some((*pen, (a.0.midpoint(b.0), a.1))),
                _ => None,
            },
            _ => None,
        })
        .collect();
    let [(Pen::Axis, present), (Pen::Edge, new)] = crosses[..] else { panic!("{crosses:?}") };
    let scale = factor(&drawn, "Across: ") * 23.5 / 27.0;
    near((present.1 - new.1) / scale, 0.03, "toward zero");
    near((new.0 - present.0) / scale, -0.02, "toward 90 degrees");
    // In the direction that counts as zero: the offset, and the radius less what the offset across takes.
    let ground = curves(&drawn, Pen::Edge);
    let circle = ground.iter().max_by_key(|curve| curve.len()).expect("a circle");
    let up = circle.iter().filter(|p| (p.0 - present.0).abs() < 1e-6).map(|p| present.1 - p.1).fold(0.0, f64::max);
    let right = circle.iter().filter(|p| (p.1 - present.1).abs() < 1e-6).map(|p| p.0 - present.0).fold(0.0, f64::max);
    let radius = 53.746 / 2.0;
    let out = |mm: f64| 23.5 - (27.0 - mm) * scale;
    near(up, out(0.03 + f64::sqrt(radius * radius - 0.02 * 0.02)), "the circle, up");
    near(right, out(-0.02 + f64::sqrt(radius * radius - 0.03 * 0.03)), "the circle, to the right");
    let says = "The wheel goes round a centre off the present one: 0.030 toward 0°, 0.020 toward 270°.";
    assert!(words(&drawn).contains(says) && drawn.drawing.says.contains(says), "{}", drawn.drawing.says);
    assert!(!words(&pin().draw()).contains("off the present one"));
}

/// Hatching covers what lies between the surface and the circle, and nothing where there is no circle.
#[test]
fn metal_to_come_off_is_hatched() {
    let hatched = |drawn: &Drawn| {
        group(&drawn.drawing, "section").iter().find_map(|mark| match mark {
            Mark::Shape { points, fill: Fill::Hatch, .. } => Some(points.clone()),
            _ => None,
        })
    };
    let area = |points: &[Place]| {
        let pairs = points.iter().zip(points.iter().cycle().skip(1));
        (pairs.map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum::<f64>() / 2.0).abs()
    };
    let drawn = pin().draw();
    let ring = area(&hatched(&drawn).expect("a hatched ring"));
    let surface = area(&curves(&drawn, Pen::Dashed)[0]);
    let circle = area(&curves(&drawn, Pen::Edge)[0]);
    near(ring, surface - circle, "the area");
    assert!(hatched(&JournalSketch { grind_to: None, ..pin() }.draw()).is_none());
    // Nowhere is there metal for a circle outside the surface, and that is said.
    let outside = JournalSketch {
        grind_to: Some(GrindTo { size_mm: 47.60, toward_zero_mm: 0.0, toward_ninety_mm: 0.0 }),
        ..pin()
    };
    let drawn = outside.draw();
    near(area(&hatched(&drawn).expect("an empty ring")), 0.0, "nothing to come off");
    assert!(
        drawn.drawing.says.contains("At 0 degrees the surface lies 0.025 inside the circle"),
        "{}",
        drawn.drawing.says
    );
    assert!(pin().draw().drawing.says.contains("Least to come off: 0.090 on the radius, at 0 degrees."));
}

#[test]
fn damage_is_cross_hatched_where_it_is() {
    let drawn = traced().draw();
    let patches: Vec<Vec<Place>> = group(&drawn.drawing, "section")
        .iter()
        .filter_map(|mark| match mark {
            Mark::Shape { points, fill: Fill::CrossHatch, .. } => Some(points.clone()),
            _ => None,
        })
        .collect();
    assert_eq!(patches.len(), 2);
    let Some(Mark::Line { points: level, .. }) =
        group(&drawn.drawing, "section").iter().find(|m| matches!(m, Mark::Line { pen: Pen::Axis, .. }))
    else {
        panic!("no axis")
    };
    let centre = (level[0].0.midpoint(level[1].0), level[0].1);
    let angle = |p: &Place| (p.0 - centre.0).atan2(centre.1 - p.1).to_degrees().rem_euclid(360.0);
    // 340 to 30 degrees goes through the top.
    let ends = |patch: &[Place]| (angle(&patch[0]), angle(&patch[patch.len() / 2 - 1]));
    let (from, to) = ends(&patches[0]);
    near(from, 340.0, "from");
    near(to, 30.0, "to");
    let (from, to) = ends(&patches[1]);
    near(from, 90.0, "from");
    near(to, 110.0, "to");
    assert!(drawn.drawing.says.contains("Damage, scoring, from 340 to 30 degrees."));
    assert!(words(&drawn).contains("damage: scoring"), "{}", words(&drawn));
}

#[test]
fn along_the_journal_sizes_stand_at_their_stations() {
    let sketch = pin();
    let drawn = sketch.draw();
    let factor = factor(&drawn, "Along: ");
    let largest = 47.59;
    for (n, plane) in sketch.along.iter().enumerate() {
        let points = circles(group(&drawn.drawing, &format!("along-{}", n + 1)));
        assert_eq!(points.len(), 6);
        let (upper, lower) = points.split_at(3);
        let scale = (upper[2].0 - upper[0].0) / 16.8;
        near(upper[1].0 - upper[0].0, 8.4 * scale, "the middle station");
        for ((up, down), (_, size)) in upper.iter().zip(lower).zip(&plane.stations) {
            let half = (down.1 - up.1) / 2.0;
            near(8.0 - half, factor * 8.0 / (largest / 2.0) * (largest - size) / 2.0, "half a size");
        }
    }
}

#[test]
fn labels_keep_apart_and_files_stay_small() {
    let planes = |n: u32| {
        let across = |k: u32| Across {
            name: format!("{} degrees", k * 180 / n),
            plane_deg: f64::from(k) * 180.0 / f64::from(n),
            size_mm: 47.55 + 0.002 * f64::from(k),
        };
        Section::Sizes((0..n).map(across).collect())
    };
    let many = Profile {
        words: "One of many ".repeat(12),
        stations: (0..9).map(|n| (2.0 * f64::from(n) - 8.0, 47.6)).collect(),
    };
    let cases = [
        ("two planes", pin()),
        ("a trace", traced()),
        ("no grinding", JournalSketch { grind_to: None, ground_before_mm: None, decides: None, ..pin() }),
        ("eight planes", JournalSketch { section: planes(8), ..pin() }),
        ("many stations", JournalSketch { along: vec![many; 4], ..pin() }),
        ("narrow", JournalSketch { width_mm: 0.0, ..traced() }),
        ("long names", JournalSketch { name: "Hauptlagerzapfen ".repeat(9), station: "rear".repeat(40), ..traced() }),
        ("nothing", JournalSketch { section: planes(0), along: Vec::new(), ..pin() }),
    ];
    for (name, sketch) in cases {
        let drawn = sketch.draw();
        assert_labels_keep_clear(name, &drawn.drawing);
        let svg = drawn.drawing.to_svg("journal", SvgSize::Page);
        assert!(svg.len() <= 40_000, "{name}: {} bytes", svg.len());
    }
}

#[test]
fn what_cannot_be_drawn_is_said() {
    let troubles = |sketch: JournalSketch| sketch.draw().troubles;
    let none = JournalSketch { section: Section::Sizes(Vec::new()), ..pin() };
    assert_eq!(troubles(none), ["No size is measured at this station."]);
    let mut one_bad = pin();
    if let Section::Sizes(sizes) = &mut one_bad.section {
        sizes[1].size_mm = f64::NAN;
    }
    assert_eq!(troubles(one_bad), ["2 points are no sizes: left out."]);
    assert_eq!(
        troubles(JournalSketch { length_mm: 0.0, ..pin() }),
        ["The journal has no length above zero, so it is not drawn along."]
    );
    let nowhere = GrindTo { size_mm: -1.0, toward_zero_mm: 0.0, toward_ninety_mm: 0.0 };
    assert_eq!(
        troubles(JournalSketch { grind_to: Some(nowhere), ..pin() }),
        ["What it is to be ground to is no size: not drawn."]
    );
    let nowhere = Patch { kind: "scoring".to_owned(), arc_deg: Some((f64::NAN, 10.0)), depth_mm: None };
    assert_eq!(
        troubles(JournalSketch { patches: vec![nowhere], ..pin() }),
        ["The damage (scoring) has no direction: drawn all round."]
    );
    let mut far = pin();
    far.along[0].stations[0].0 = f64::INFINITY;
    assert_eq!(troubles(far), ["Along, 1 sizes or places are unusable: left out."]);
}

/// What is not drawn leaves no dashes behind: a plain trace has a continuous surface.
#[test]
fn a_trace_is_continuous_and_two_points_are_dashed() {
    let pens = |drawn: &Drawn| {
        let mut pens = Vec::new();
        each_mark(group(&drawn.drawing, "section"), &mut |mark| {
            if let Mark::Shape { pen: Some(pen), .. } = mark {
                pens.push(*pen);
            }
        });
        pens
    };
    let (two, trace) = (pens(&pin().draw()), pens(&traced().draw()));
    assert!(two.contains(&Pen::Dashed) && !two.contains(&Pen::Thin));
    assert!(trace.contains(&Pen::Thin) && !trace.contains(&Pen::Dashed));
}

fn any() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => -500.0..500.0f64,
        3 => 47.0..48.0f64,
        1 => prop::sample::select(vec![0.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300, 1e-300]),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_breaks_the_drawing(
        sizes in prop::collection::vec((any(), any()), 0..9),
        is_trace: bool,
        stations in prop::collection::vec((any(), any()), 0..6),
        length in any(),
        width in any(),
        before in prop::option::of(any()),
        grind in prop::option::of((any(), any(), any())),
        decides in prop::option::of(any()),
        patch in prop::option::of((any(), any(), prop::option::of(any()))),
        name in "\\PC{0,60}",
    ) {
        let section = if is_trace {
            let point = |&(angle_deg, radius_mm): &(f64, f64)| TracePoint { angle_deg, radius_mm };
            Section::Trace(sizes.iter().map(point).collect())
        } else {
            let across = |&(plane_deg, size_mm): &(f64, f64)| Across { name: name.clone(), plane_deg, size_mm };
            Section::Sizes(sizes.iter().map(across).collect())
        };
        let patches: Vec<Patch> = patch
            .into_iter()
            .map(|(from, to, depth_mm)| Patch { kind: name.clone(), arc_deg: Some((from, to)), depth_mm })
            .collect();
        let sketch = JournalSketch {
            name: name.clone(),
            section,
            length_mm: length,
            width_mm: width,
            ground_before_mm: before,
            grind_to: grind.map(|(size_mm, toward_zero_mm, toward_ninety_mm)| GrindTo { size_mm, toward_zero_mm, toward_ninety_mm }),
            decides: decides.map(|angle_deg| Named { angle_deg, words: name.clone() }),
            patches,
            along: vec![Profile { words: name.clone(), stations }],
            ..pin()
        };
        let drawn = sketch.draw();
        assert_finite(&drawn.drawing);
        let svg = drawn.drawing.to_svg("journal", SvgSize::Page);
        prop_assert!(!svg.contains("NaN") && svg.ends_with("</svg>"));
    }
}
