//! Clearances and the gauge drawn, read back from their own marks.

mod support;

use paper::{ClearanceRow, ClearanceSketch, Drawing, Fill, GaugeCurve, GaugeLines, Mark, Pen, Place, SvgSize};
use support::{assert_finite, assert_labels_keep_clear, each_mark, group, label_boxes};
use units::Unit;

/// Invented: so many mains, of which the second is looser than its limits.
fn mains(count: usize) -> ClearanceSketch {
    let row = |n: usize| ClearanceRow {
        name: format!("Main {}", n + 1),
        tightest_mm: 0.040,
        mean_mm: 0.050,
        loosest_mm: if n == 1 { 0.080 } else { 0.060 },
    };
    ClearanceSketch {
        name: "mains".to_owned(),
        unit: Unit::Millimetre,
        rows: (0..count).map(row).collect(),
        limits_mm: Some((0.030, 0.070)),
        wanted_mm: Some(0.048),
        as_planned: true,
    }
}

fn words(drawing: &Drawing) -> String {
    label_boxes(drawing).into_iter().map(|(words, _)| words + " ").collect()
}

/// Left and right ends of every shape with a filling.
fn spans(marks: &[Mark], wanted: Fill) -> Vec<(f64, f64)> {
    let span = |mark: &Mark| match mark {
        Mark::Shape { points, fill, .. } if *fill == wanted => {
            let xs = || points.iter().map(|point| point.0);
            Some((xs().fold(f64::INFINITY, f64::min), xs().fold(f64::NEG_INFINITY, f64::max)))
        }
        _ => None,
    };
    marks.iter().filter_map(span).collect()
}

/// The level of a line that stands upright across the bars.
fn upright(marks: &[Mark]) -> Vec<(f64, Pen)> {
    let x = |mark: &Mark| match mark {
        Mark::Line { points, pen } => points.get(points.len() / 2).map(|point| (point.0, *pen)),
        _ => None,
    };
    marks.iter().filter_map(x).collect()
}

/// Drawn in full precision: a ten-thousandth of a millimetre of paper is rounding.
fn near(found: f64, expected: f64, what: &str) {
    assert!((found - expected).abs() < 1e-4, "{what}: {found} is not {expected}");
}

#[test]
fn bars_stand_against_the_brackets_as_the_clearances_against_the_limits() {
    for width in [ClearanceSketch::WIDE_MM, ClearanceSketch::NARROW_MM] {
        let drawn = mains(3).draw(width);
        assert_eq!(drawn.troubles, Vec::<String>::new());
        let drawing = &drawn.drawing;
        let limits = upright(group(drawing, "limits"));
        let [(low, Pen::Edge), (high, Pen::Edge)] = limits[..] else { panic!("{limits:?}") };
        let x = |mm: f64| low + (mm - 0.030) / 0.040 * (high - low);
        let wanted = upright(group(drawing, "wanted"));
        let [(wanted, Pen::Dashed)] = wanted[..] else { panic!("{wanted:?}") };
        near(wanted, x(0.048), "wanted");
        for (bearing, loosest) in [("bearing-1", 0.060), ("bearing-2", 0.080)] {
            let marks = group(drawing, bearing);
            let bars = spans(marks, Fill::Paper);
            let [(left, right)] = bars[..] else { panic!("{bars:?}") };
            near(left, x(0.040), bearing);
            near(right, x(loosest), bearing);
            let dots: Vec<Place> = marks
                .iter()
                .filter_map(|mark| match mark {
                    Mark::Circle { centre, fill: Fill::Ink, .. } => Some(*centre),
                    _ => None,
                })
                .collect();
            assert_eq!(dots.len(), 1);
            near(dots[0].0, x(0.050), "the mean");
        }
        // What is beyond the limits is hatched and said, never only coloured.
        assert_eq!(spans(group(drawing, "bearing-1"), Fill::CrossHatch), []);
        let beyond = spans(group(drawing, "bearing-2"), Fill::CrossHatch);
        let [(from, to)] = beyond[..] else { panic!("{beyond:?}") };
        near(from, high, "where it leaves the limits");
        near(to, x(0.080), "its end");
        assert!(words(drawing).contains("Beyond the limits, cross-hatched: Main 2."), "{}", words(drawing));
        assert_eq!(
            drawing.says,
            "Clearances of the mains as planned, in millimetres: Main 1 0.040 to 0.060, Main 2 0.040 to 0.080, Main 3 \
             0.040 to 0.060. The limits are 0.030 to 0.070. Wanted: 0.048. Beyond the limits: Main 2."
        );
    }
}

#[test]
fn clearances_are_drawn_for_any_crank_and_whatever_is_missing() {
    for count in [1, 2, 5, 13] {
        for width in [ClearanceSketch::WIDE_MM, ClearanceSketch::NARROW_MM, 0.0, f64::NAN] {
            let drawn = mains(count).draw(width);
            assert_labels_keep_clear(&format!("{count} mains"), &drawn.drawing);
            assert_finite(&drawn.drawing);
            let svg = drawn.drawing.to_svg("c", SvgSize::Page);
            assert!(svg.len() <= 40_000, "{} bytes", svg.len());
            assert_eq!(svg, mains(count).draw(width).drawing.to_svg("c", SvgSize::Page));
        }
    }
    // A crank that would lock: none is a line of its own.
    let mut locked = mains(2);
    locked.rows[0].tightest_mm = -0.010;
    let drawing = locked.draw(90.0).drawing;
    let none = upright(group(&drawing, "none"));
    assert!(matches!(none[..], [(_, Pen::Heavy)]), "{none:?}");
    assert!(words(&drawing).contains("none"), "{}", words(&drawing));
    let bare = ClearanceSketch { limits_mm: None, wanted_mm: None, as_planned: false, ..mains(2) }.draw(90.0).drawing;
    assert!(!words(&bare).contains("Brackets") && !words(&bare).contains("Dashed"), "{}", words(&bare));
    assert!(!bare.says.contains("limits") && !bare.says.contains("planned"), "{}", bare.says);
    let mut odd = mains(2);
    odd.rows[0].loosest_mm = f64::NAN;
    assert_eq!(odd.draw(90.0).troubles, ["1 of the clearances is no length: left out."]);
    let nothing = ClearanceSketch { rows: Vec::new(), ..mains(2) }.draw(90.0);
    assert_eq!(nothing.troubles, ["No clearance is known."]);
}

/// Invented: a pump whose valve opens at 3 bar.
fn gauge() -> GaugeCurve {
    let lines = |name: &str, hot_pa: f64| GaugeLines {
        name: name.to_owned(),
        hot: vec![(800.0, hot_pa), (1900.0, 2.0 * hot_pa), (3000.0, 3e5)],
        cold: vec![(800.0, 2.9e5), (1900.0, 3e5), (3000.0, 3.1e5)],
    };
    GaugeCurve {
        unit: Unit::Millimetre,
        planned: lines("as planned", 1.2e5),
        found: Some(lines("as found", 0.6e5)),
        hint: "a hint, not a diagnosis".to_owned(),
    }
}

/// The curves as they were drawn, by their kind of line: every line of three points.
fn curves(drawing: &Drawing) -> Vec<(Pen, Vec<Place>)> {
    let mut curves = Vec::new();
    each_mark(&drawing.marks, &mut |mark| match mark {
        Mark::Line { points, pen } if points.len() == 3 => curves.push((*pen, points.clone())),
        _ => {}
    });
    curves
}

#[test]
fn the_gauge_has_a_kind_of_line_for_each_state_and_stands_where_its_scale_says() {
    let drawing = gauge().draw(GaugeCurve::USUAL_MM);
    assert_labels_keep_clear("gauge", &drawing);
    assert_finite(&drawing);
    let curves = curves(&drawing);
    let pens: Vec<Pen> = curves.iter().map(|(pen, _)| *pen).collect();
    assert_eq!(pens, [Pen::Edge, Pen::Thin, Pen::Dashed, Pen::Outline]);
    // By proportion from the plan's idle pressure: half of it as found. A pixel of the plotting library is 0.01 mm.
    let at = |curve: usize, point: usize| curves[curve].1[point];
    let per_bar = (at(0, 0).1 - at(0, 1).1) / 1.2;
    let nought = at(0, 0).1 + 1.2 * per_bar;
    assert!(per_bar > 10.0, "{per_bar} mm to a bar");
    for (curve, point, bar) in [(2, 0, 0.6), (2, 1, 1.2), (1, 0, 2.9), (3, 2, 3.1)] {
        let found = (nought - at(curve, point).1) / per_bar;
        assert!((found - bar).abs() < 0.005, "{found} bar is not {bar}");
    }
    assert!((at(0, 1).0 - at(0, 0).0.midpoint(at(0, 2).0)).abs() < 0.02, "speed runs evenly");
    let words = words(&drawing);
    for name in ["as planned, hot", "as planned, cold", "as found, hot", "as found, cold", "Broken lines: as found."] {
        assert!(words.contains(name), "{name} in {words}");
    }
    assert!(drawing.says.starts_with("as planned, hot: 1.2 bar at 800, 3.0 bar at 3000 turns a minute."));
    assert!(drawing.says.contains("Of the gauge: a hint, not a diagnosis."), "{}", drawing.says);
    let svg = drawing.to_svg("g", SvgSize::Page);
    assert!(svg.len() <= 40_000 && svg == gauge().draw(GaugeCurve::USUAL_MM).to_svg("g", SvgSize::Page));
}

#[test]
fn a_gauge_without_points_says_so() {
    let empty = |name: &str| GaugeLines { name: name.to_owned(), hot: Vec::new(), cold: vec![(f64::NAN, 1.0); 3] };
    let none = GaugeCurve { planned: empty("as planned"), found: None, ..gauge() }.draw(150.0);
    assert!(words(&none).contains("No pressure could be worked out."), "{}", words(&none));
    assert!(curves(&none).is_empty());
    // Bars in psi where the shop works in inches: 1.2 bar are 17.4 psi.
    let inches = GaugeCurve { unit: Unit::Inch, found: None, ..gauge() }.draw(f64::INFINITY);
    assert!(inches.says.starts_with("as planned, hot: 17 psi at 800"), "{}", inches.says);
    assert_finite(&inches);
}
