//! Cranks of every layout, for the drawings. All are invented; they keep the proportions of common ones.

#![allow(dead_code, reason = "each test file uses some of these")]

use crank::{Band, JournalSet, Specification, Treatment};
use paper::{Anchor, Drawing, Mark, Place};
use units::Unit;

pub(crate) fn set(positions_mm: &[f64], angles_deg: &[f64], size_mm: f64, length_mm: f64) -> JournalSet {
    JournalSet {
        positions_mm: positions_mm.to_vec(),
        angles_deg: angles_deg.to_vec(),
        size: Band { low_mm: size_mm - 0.01, high_mm: size_mm + 0.01 },
        undersizes_mm: vec![0.25, 0.5, 0.75, 1.0],
        out_of_round_mm: Some(0.0125),
        taper: None,
        run_out: None,
        length_mm,
        smallest_mm: None,
        wear_limit_mm: None,
        wear_out_of_round_mm: None,
        wear_taper: None,
        aims: Vec::new(),
        any_size: false,
    }
}

pub(crate) fn crank(name: &str, throw_mm: f64, main: JournalSet, pin: JournalSet) -> Specification {
    Specification {
        name: name.to_owned(),
        unit: Unit::Millimetre,
        throw_mm,
        throw_tolerance_mm: None,
        index_tolerance_deg: None,
        main,
        pin,
        treatment: Treatment { kind: "none".to_owned(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false },
    }
}

fn every(n: usize, from: f64, step: f64) -> Vec<f64> {
    (0..n).map(|k| from + step * k as f64).collect()
}

/// As many throws as angles, a main on either side of each.
pub(crate) fn in_line(name: &str, angles_deg: &[f64]) -> Specification {
    let throws = angles_deg.len();
    let mains = set(&every(throws + 1, 0.0, 81.28), &[], 54.0, 27.94);
    let pins = set(&every(throws, 40.64, 81.28), angles_deg, 47.6, 24.13);
    crank(name, 38.1, mains, pins)
}

/// Every layout that the drawings must bear.
pub(crate) fn layouts() -> Vec<(&'static str, Specification)> {
    let split: Vec<f64> = every(4, 0.0, 100.0).into_iter().flat_map(|bay| [bay + 38.0, bay + 62.0]).collect();
    let split_deg = [0.0, 30.0, 90.0, 120.0, 270.0, 300.0, 180.0, 210.0];
    let twelve: Vec<f64> = every(6, 0.0, 110.0).into_iter().flat_map(|bay| [bay + 42.0, bay + 68.0]).collect();
    let twelve_deg = [0.0, 60.0, 240.0, 300.0, 120.0, 180.0, 120.0, 180.0, 240.0, 300.0, 0.0, 60.0];
    let two_between: Vec<f64> = [22.0, 46.0, 90.0, 114.0].to_vec();
    vec![
        (
            "single",
            crank(
                "Wren single, 500 cc",
                44.45,
                set(&[0.0, 139.7], &[], 38.1, 44.45),
                set(&[69.85], &[0.0], 31.7, 35.56),
            ),
        ),
        ("overhung", crank("Wren single", 30.0, set(&[0.0, 60.0], &[], 30.0, 25.0), set(&[100.0], &[0.0], 25.0, 20.0))),
        ("twin", in_line("Wren twin", &[0.0, 180.0])),
        ("three", in_line("Tarn three", &[0.0, 240.0, 120.0])),
        ("four", in_line("Tarn four, 1.5 litre", &[0.0, 180.0, 180.0, 0.0])),
        (
            "four on three mains",
            crank(
                "Tarn four, 1.5 litre",
                38.0,
                set(&[0.0, 68.0, 136.0], &[], 50.0, 20.0),
                set(&two_between, &[0.0, 180.0, 180.0, 0.0], 42.0, 14.0),
            ),
        ),
        ("six", in_line("Skelder six, 7 litre diesel", &[0.0, 120.0, 240.0, 240.0, 120.0, 0.0])),
        ("vee eight, cross", in_line("Skelder eight", &[0.0, 90.0, 270.0, 180.0])),
        (
            "vee eight, split pins",
            crank(
                "Skelder eight, split pins",
                42.0,
                set(&every(5, 0.0, 100.0), &[], 64.0, 26.0),
                set(&split, &split_deg, 54.0, 22.0),
            ),
        ),
        (
            "vee twelve, split pins",
            crank(
                "Skelder twelve, split pins",
                42.0,
                set(&every(7, 0.0, 110.0), &[], 64.0, 26.0),
                set(&twelve, &twelve_deg, 54.0, 24.0),
            ),
        ),
        ("five", in_line("Tarn five", &[0.0, 144.0, 216.0, 288.0, 72.0])),
        (
            "flat twelve in line",
            in_line("Skelder twelve", &[0.0, 180.0, 120.0, 300.0, 240.0, 60.0, 60.0, 240.0, 300.0, 120.0, 180.0, 0.0]),
        ),
        ("eight in line", in_line("Tarn eight", &[0.0, 180.0, 90.0, 270.0, 270.0, 90.0, 180.0, 0.0])),
    ]
}

/// Every label of a drawing, as the rectangle that its letters take: left, top, right, bottom.
pub(crate) fn label_boxes(drawing: &Drawing) -> Vec<(String, [f64; 4])> {
    let mut out = Vec::new();
    each_mark(&drawing.marks, &mut |mark| {
        if let Mark::Label(label) = mark {
            let (x, y) = label.at;
            let left = match label.anchor {
                Anchor::Start => x,
                Anchor::Middle => x - label.width_mm() / 2.0,
                Anchor::End => x - label.width_mm(),
            };
            let right = left + label.width_mm();
            // Capitals rise 0.67 of the size; a comma falls a little below the line.
            let (top, bottom) = (y - 0.7 * label.size_mm, y + 0.2 * label.size_mm);
            out.push((label.words.clone(), [left, top, right, bottom]));
        }
    });
    out
}

pub(crate) fn each_mark(marks: &[Mark], look: &mut impl FnMut(&Mark)) {
    for mark in marks {
        look(mark);
        if let Mark::Group { marks, .. } = mark {
            each_mark(marks, look);
        }
    }
}

/// The marks of a group.
pub(crate) fn group<'a>(drawing: &'a Drawing, wanted: &str) -> &'a [Mark] {
    drawing
        .marks
        .iter()
        .find_map(|mark| match mark {
            Mark::Group { name, marks } if name == wanted => Some(marks.as_slice()),
            _ => None,
        })
        .unwrap_or_else(|| panic!("no group {wanted}"))
}

/// Fails where two labels lie on each other or one leaves the paper.
pub(crate) fn assert_labels_keep_clear(what: &str, drawing: &Drawing) {
    let boxes = label_boxes(drawing);
    for (n, (words, a)) in boxes.iter().enumerate() {
        let inside = a[0] >= -0.01 && a[2] <= drawing.width_mm + 0.01 && a[1] >= 0.0 && a[3] <= drawing.height_mm;
        assert!(inside, "{what}: {words} leaves the paper: {a:?} of {} x {}", drawing.width_mm, drawing.height_mm);
        for (other, b) in boxes.iter().skip(n + 1) {
            let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
            assert!(apart, "{what}: {words} {a:?} lies on {other} {b:?}");
        }
    }
}

/// Fails where a place is no number.
pub(crate) fn assert_finite(drawing: &Drawing) {
    assert!(drawing.width_mm.is_finite() && drawing.height_mm.is_finite() && drawing.height_mm >= 0.0);
    each_mark(&drawing.marks, &mut |mark| {
        let places: Vec<Place> = match mark {
            Mark::Line { points, .. } | Mark::Shape { points, .. } => points.clone(),
            Mark::Circle { centre, radius_mm, .. } => vec![*centre, (*radius_mm, 0.0)],
            Mark::Label(label) => vec![label.at],
            Mark::Group { .. } => Vec::new(),
        };
        assert!(places.iter().all(|p| p.0.is_finite() && p.1.is_finite()), "{mark:?}");
    });
}
