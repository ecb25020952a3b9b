//! Small drawings of the words of the trade, one for each: schematic, to no scale.

mod bearings;

use crate::{Anchor, Drawing, Fill, Label, Pen, Place};

/// Room for one drawing: as wide as the narrowest telephone has.
const WIDTH_MM: f64 = 46.0;
const HEIGHT_MM: f64 = 27.0;

/// Every word that has a drawing, by the key it is asked for.
pub const TERMS: [&str; 35] = [
    "journal",
    "mains",
    "pin",
    "set",
    "nose",
    "throw",
    "spot",
    "station",
    "across",
    "zero",
    "standard",
    "undersize",
    "shells",
    "clean-up",
    "spare",
    "decides-it",
    "out-of-round",
    "taper",
    "barrel",
    "run-out",
    "bend",
    "index",
    "trace",
    "stock",
    "growth",
    "fillet",
    "housing",
    "wall",
    "clearance",
    "crush",
    "end-float",
    "thrust-washer",
    "side-clearance",
    "oil-film",
    "in-100",
];

/// The drawing of a word; none for a word that has none.
pub fn term(key: &str) -> Option<Drawing> {
    let mut drawing = Drawing::new(WIDTH_MM, HEIGHT_MM, "");
    let d = &mut drawing;
    let says = match key {
        "journal" => {
            side(d, |part| matches!(part, Part::Main | Part::Pin));
            "A crank from the side; its two mains and its pin are drawn heavy."
        }
        "mains" => {
            side(d, |part| matches!(part, Part::Main));
            "A crank from the side; the two mains on its axis are drawn heavy."
        }
        "pin" => {
            side(d, |part| matches!(part, Part::Pin));
            "A crank from the side; the pin above its axis is drawn heavy."
        }
        "set" => {
            side(d, |part| matches!(part, Part::Main));
            d.line([(9.0, 23.0), (9.0, 24.5), (37.0, 24.5), (37.0, 23.0)], Pen::Thin);
            d.label(Label::words((23.0, 23.6), "one set").middle());
            "The mains of a crank joined by a bracket: one set."
        }
        "nose" => {
            side(d, |_| false);
            d.label(Label::words((1.0, 26.0), "nose"));
            d.label(Label::words((45.0, 26.0), "flywheel").end());
            "A crank from the side; the nose on the left, the flywheel end on the right."
        }
        "throw" => {
            side(d, |_| false);
            arrow(d, (23.0, 15.0), (23.0, 7.0));
            d.label(Label::words((25.0, 25.5), "throw").middle());
            d.line([(25.0, 22.6), (23.0, 12.0)], Pen::Thin);
            "An arrow from the axis of the crank to the middle of its pin: the throw."
        }
        "spot" => {
            lying(d, 0.0, 0.0);
            for x in [13.0, 33.0] {
                d.circle((x, 8.0), 0.9, None, Fill::Ink);
            }
            d.label(Label::words((13.0, 4.6), "spot").middle());
            "A journal from the side with two dots on it: two spots."
        }
        "station" => {
            lying(d, 0.0, 0.0);
            for (x, name) in [(12.0, "front"), (23.0, "middle"), (34.0, "rear")] {
                d.line([(x, 5.5), (x, 22.0)], Pen::Dashed);
                d.label(Label::words((x, 4.4), name).middle());
            }
            "A journal from the side, cut at three stations: front, middle, rear."
        }
        "across" => {
            round(d, (23.0, 15.0), 9.0, Pen::Edge);
            arrow(d, (23.0, 15.0), (23.0, 4.5));
            arrow(d, (23.0, 15.0), (23.0, 25.5));
            arrow(d, (23.0, 15.0), (12.5, 15.0));
            arrow(d, (23.0, 15.0), (33.5, 15.0));
            d.label(Label::words((25.0, 4.0), "A"));
            d.label(Label::words((34.5, 16.0), "B"));
            "A journal from its end: A lies in line with the throw, B square to it."
        }
        "zero" => {
            d.rectangle((8.0, 11.0), (30.0, 19.0), Some(Pen::Edge), Fill::None);
            d.label(Label::figures((19.0, 16.2), "1.0000").middle());
            d.label(Label::words((19.0, 8.0), "reads 1.0001").middle());
            d.line([(30.0, 9.5), (30.0, 24.0)], Pen::Thin);
            d.line([(31.6, 9.5), (31.6, 24.0)], Pen::Thin);
            d.label(Label::words((33.0, 21.0), "zero"));
            "A setting standard of 1.0000 that the micrometer reads as 1.0001: the difference is its zero."
        }
        "standard" => {
            band(d, 12.0, 22.0, "low", "high");
            d.label(Label::words((23.0, 24.5), "standard size").middle());
            "A scale of sizes with two limits: between them is the standard size."
        }
        "undersize" => {
            d.line([(3.0, 13.0), (43.0, 13.0)], Pen::Thin);
            bracket(d, 5.0, 12.0, Pen::Edge);
            bracket(d, 31.0, 38.0, Pen::Heavy);
            arrow(d, (8.5, 19.0), (34.5, 19.0));
            d.label(Label::words((23.0, 23.4), "undersize").middle());
            d.label(Label::words((8.5, 7.0), "new").middle());
            d.label(Label::words((34.5, 7.0), "ground").middle());
            "On a scale of sizes an arrow leads from the new size to the ground one: the undersize."
        }
        "shells" => {
            half_shell(d, true);
            half_shell(d, false);
            round(d, (23.0, 13.5), 6.0, Pen::Thin);
            d.label(Label::words((34.0, 8.0), "shell"));
            "Two half rings round a journal: the shells."
        }
        "clean-up" => {
            patch(d, 11.5);
            d.label(Label::words((23.0, 24.5), "no low patch left").middle());
            "The worn outline of a journal with the ground circle well inside it, hatched between: it cleans up."
        }
        "spare" => {
            d.line([(4.0, 8.0), (14.0, 7.6), (23.0, 10.0), (32.0, 7.8), (42.0, 8.2)], Pen::Thin);
            d.line([(4.0, 16.0), (42.0, 16.0)], Pen::Heavy);
            arrow(d, (23.0, 16.0), (23.0, 10.2));
            d.label(Label::words((24.5, 14.0), "spare"));
            d.label(Label::words((23.0, 21.0), "what the wheel leaves").middle());
            "Between the worn surface and the ground one the smallest gap: the spare."
        }
        "decides-it" => {
            d.line([(4.0, 12.0), (42.0, 12.0)], Pen::Thin);
            for x in [9.0, 12.0, 14.0, 17.0, 20.0] {
                d.circle((x, 9.8), 0.8, Some(Pen::Thin), Fill::Ink);
            }
            d.label(Label::words((34.0, 10.6), "◆").middle().sized(4.0));
            d.label(Label::words((34.0, 18.0), "decides it").middle());
            d.label(Label::words((4.0, 24.0), "larger"));
            d.label(Label::words((42.0, 24.0), "smaller").end());
            "Dots on a scale of sizes; the smallest, marked with a diamond, decides it."
        }
        "out-of-round" => {
            let oval: Vec<Place> = turn(|sin, cos| (23.0 + 10.5 * cos, 13.0 + 8.5 * sin));
            d.shape(oval, Some(Pen::Edge), Fill::None);
            arrow(d, (23.0, 13.0), (12.5, 13.0));
            arrow(d, (23.0, 13.0), (33.5, 13.0));
            arrow(d, (23.0, 13.0), (23.0, 4.5));
            arrow(d, (23.0, 13.0), (23.0, 21.5));
            d.label(Label::words((23.0, 25.8), "largest less smallest").middle());
            "An oval journal with its largest and its smallest diameter."
        }
        "taper" => {
            lying(d, 0.0, 2.5);
            d.label(Label::words((23.0, 25.8), "larger at one end").middle());
            "A journal from the side that grows thinner towards one end."
        }
        "barrel" => {
            lying(d, 2.5, 0.0);
            d.label(Label::words((23.0, 25.8), "thicker in the middle").middle());
            "A journal from the side that is thicker in its middle."
        }
        "run-out" => {
            round(d, (22.0, 15.0), 8.0, Pen::Edge);
            round(d, (22.0, 15.0), 0.4, Pen::Edge);
            d.circle((23.6, 15.0), 0.6, None, Fill::Ink);
            dial(d, (22.0, 7.0));
            d.label(Label::words((32.0, 24.0), "one turn"));
            "A dial on a main that turns about a point beside its own middle."
        }
        "bend" => {
            d.line([(3.0, 14.0), (43.0, 14.0)], Pen::Axis);
            let bow: Vec<Place> =
                (0..=20).map(|n| f64::from(n) / 20.0).map(|t| (4.0 + 38.0 * t, 14.0 - 20.0 * t * (1.0 - t))).collect();
            d.line(bow, Pen::Edge);
            arrow(d, (23.0, 14.0), (23.0, 9.2));
            d.label(Label::words((25.0, 13.0), "bend"));
            "A bowed line over a straight axis; the height of the bow is the bend."
        }
        "index" => {
            round(d, (20.0, 14.0), 3.0, Pen::Thin);
            d.line([(20.0, 14.0), (20.0, 3.0)], Pen::Axis);
            d.line([(20.0, 14.0), (31.5, 20.5)], Pen::Axis);
            let arc: Vec<Place> = (0..=20)
                .map(|n| (-90.0 + 6.0 * f64::from(n)).to_radians())
                .map(|a: f64| (20.0 + 8.0 * a.cos(), 14.0 + 8.0 * a.sin()))
                .collect();
            d.line(arc, Pen::Thin);
            d.label(Label::words((29.0, 9.0), "index"));
            d.label(Label::words((21.0, 4.0), "throw 1"));
            "The directions of two throws and the angle between them: the index."
        }
        "trace" => {
            let wavy: Vec<Place> = turn(|sin, cos| {
                let r = 8.0 + 0.8 * (3.0 * sin.atan2(cos)).cos();
                (22.0 + r * cos, 15.5 + r * sin)
            });
            d.shape(wavy, Some(Pen::Edge), Fill::None);
            dial(d, (22.0, 7.0));
            d.label(Label::words((32.0, 24.0), "all round"));
            "A dial swept round a journal that is not quite round."
        }
        "stock" => {
            d.rectangle((5.0, 8.0), (41.0, 12.0), Some(Pen::Thin), Fill::Hatch);
            d.line([(5.0, 12.0), (41.0, 12.0)], Pen::Heavy);
            d.label(Label::words((23.0, 17.4), "at least this much").middle());
            d.label(Label::words((23.0, 22.0), "comes off everywhere").middle());
            "A hatched layer of even thickness over the ground surface: the clean-up stock."
        }
        "growth" => {
            round(d, (23.0, 12.5), 7.0, Pen::Outline);
            round(d, (23.0, 12.5), 8.4, Pen::Edge);
            d.label(Label::words((23.0, 25.6), "before and after").middle());
            "A circle before hardening and a slightly larger one after it."
        }
        "fillet" => {
            d.line([(14.0, 2.0), (14.0, 9.0)], Pen::Edge);
            let curve: Vec<Place> = (0..=10)
                .map(|n| (90.0 * f64::from(n) / 10.0).to_radians())
                .map(|a: f64| (20.0 - 6.0 * a.cos(), 9.0 + 6.0 * a.sin()))
                .collect();
            d.line(curve, Pen::Heavy);
            d.line([(20.0, 15.0), (42.0, 15.0)], Pen::Edge);
            d.line([(17.0, 11.5), (26.0, 6.5)], Pen::Thin);
            d.label(Label::words((26.5, 7.0), "fillet"));
            d.label(Label::words((30.0, 19.5), "journal"));
            d.label(Label::words((12.5, 5.5), "web").end());
            "The corner between web and journal, rounded by a fillet."
        }
        "in-100" => {
            for n in 0..20_u32 {
                let at = (8.0 + 3.2 * f64::from(n % 10), 8.0 + 4.0 * f64::from(n / 10));
                let fill = if n < 19 { Fill::Ink } else { Fill::None };
                d.circle(at, 1.2, Some(Pen::Thin), fill);
            }
            d.label(Label::words((23.0, 19.5), "each dot stands").middle());
            d.label(Label::words((23.0, 23.5), "for 5 in 100").middle());
            "Twenty dots, nineteen of them full: about 97 in 100."
        }
        _ => bearings::draw(key, d)?,
    };
    drawing.says = says.to_owned();
    Some(drawing)
}

/// A part of the little crank.
#[derive(Clone, Copy)]
enum Part {
    Main,
    Pin,
}

/// A crank of two mains and one pin, with the parts that are meant drawn heavy.
fn side(d: &mut Drawing, meant: impl Fn(Part) -> bool) {
    let pen = |part: Part| if meant(part) { Pen::Heavy } else { Pen::Thin };
    let fill = |part: Part| if meant(part) { Fill::Hatch } else { Fill::None };
    d.line([(2.0, 15.0), (44.0, 15.0)], Pen::Axis);
    for (from, to) in [(14.0, 17.5), (28.5, 32.0)] {
        d.rectangle((from, 3.0), (to, 21.0), Some(Pen::Thin), Fill::Paper);
    }
    for (from, to) in [(4.0, 14.0), (32.0, 42.0)] {
        d.rectangle((from, 11.0), (to, 19.0), Some(pen(Part::Main)), fill(Part::Main));
    }
    d.rectangle((17.5, 4.0), (28.5, 10.0), Some(pen(Part::Pin)), fill(Part::Pin));
}

/// A journal lying on its side between two webs, thicker in the middle or thinner at its rear by so much on the radius.
fn lying(d: &mut Drawing, barrel_mm: f64, taper_mm: f64) {
    const HALF: f64 = 6.0;
    let half = |t: f64| HALF + 4.0 * barrel_mm * t * (1.0 - t) - taper_mm * t;
    let along = |n: i32| f64::from(n) / 16.0;
    let mut outline: Vec<Place> = (0..=16).map(along).map(|t| (6.0 + 34.0 * t, 14.0 - half(t))).collect();
    outline.extend((0..=16).rev().map(along).map(|t| (6.0 + 34.0 * t, 14.0 + half(t))));
    d.rectangle((2.0, 5.0), (6.0, 23.0), Some(Pen::Thin), Fill::None);
    d.rectangle((40.0, 5.0), (44.0, 23.0), Some(Pen::Thin), Fill::None);
    d.shape(outline, Some(Pen::Edge), Fill::None);
    d.line([(0.5, 14.0), (45.5, 14.0)], Pen::Axis);
}

fn round(d: &mut Drawing, centre: Place, radius_mm: f64, pen: Pen) {
    d.circle(centre, radius_mm, Some(pen), Fill::None);
}

/// A closed curve from sine and cosine of one turn.
fn turn(at: impl Fn(f64, f64) -> Place) -> Vec<Place> {
    (0..36).map(|n| (f64::from(n) * 10.0).to_radians().sin_cos()).map(|(sin, cos)| at(sin, cos)).collect()
}

/// A line with a head at its end.
fn arrow(d: &mut Drawing, from: Place, to: Place) {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let length = dx.hypot(dy).max(1e-6);
    let (ux, uy) = (dx / length, dy / length);
    d.line([from, to], Pen::Thin);
    let wing = |side: f64| (to.0 - 2.0 * ux - 0.7 * side * uy, to.1 - 2.0 * uy + 0.7 * side * ux);
    d.shape([to, wing(1.0), wing(-1.0)], None, Fill::Ink);
}

fn bracket(d: &mut Drawing, from: f64, to: f64, pen: Pen) {
    d.line([(from + 1.0, 9.0), (from, 9.0), (from, 17.0), (from + 1.0, 17.0)], pen);
    d.line([(to - 1.0, 9.0), (to, 9.0), (to, 17.0), (to - 1.0, 17.0)], pen);
}

fn band(d: &mut Drawing, from: f64, to: f64, low: &str, high: &str) {
    let (from, to) = (from + 1.0, to + 11.0);
    d.line([(3.0, 13.0), (43.0, 13.0)], Pen::Thin);
    bracket(d, from, to, Pen::Heavy);
    d.label(Label { anchor: Anchor::Middle, ..Label::words((from, 7.0), high) });
    d.label(Label { anchor: Anchor::Middle, ..Label::words((to, 7.0), low) });
}

/// A dial standing on something.
fn dial(d: &mut Drawing, foot: Place) {
    d.line([foot, (foot.0, foot.1 - 2.0)], Pen::Edge);
    d.circle((foot.0, foot.1 - 4.2), 2.3, Some(Pen::Edge), Fill::Paper);
    d.line([(foot.0, foot.1 - 4.2), (foot.0 + 1.2, foot.1 - 5.4)], Pen::Thin);
}

/// Upper or lower half of a pair of shells.
fn half_shell(d: &mut Drawing, upper: bool) {
    let sign = if upper { -1.0 } else { 1.0 };
    let arc = |radius: f64| {
        (0..=12)
            .map(|n| (f64::from(n) * 15.0).to_radians())
            .map(move |a: f64| (23.0 + radius * a.cos(), 13.5 + sign * (0.6 + radius * a.sin())))
            .collect::<Vec<Place>>()
    };
    let mut outline = arc(9.5);
    outline.extend(arc(7.3).into_iter().rev());
    d.shape(outline, Some(Pen::Edge), Fill::Hatch);
}

/// A worn outline with a circle inside it.
fn patch(d: &mut Drawing, y: f64) {
    let worn: Vec<Place> = turn(|sin, cos| {
        let flat = if cos > 0.3 { 1.4 * (cos - 0.3) } else { 0.0 };
        let r = 9.5 - flat;
        (23.0 + r * cos, y + r * sin)
    });
    d.shape(worn, Some(Pen::Thin), Fill::Hatch);
    d.circle((23.0, y), 7.6, Some(Pen::Heavy), Fill::Paper);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Mark, SvgSize};

    #[test]
    fn every_word_has_a_drawing_of_its_own_that_stays_on_its_paper() {
        let mut seen: Vec<String> = Vec::new();
        for key in TERMS {
            let drawing = term(key).unwrap();
            let svg = drawing.to_svg("t", SvgSize::Page);
            assert!(!drawing.says.is_empty() && svg.len() < 8000, "{key}: {}", svg.len());
            assert!(!seen.contains(&svg), "{key} is drawn like another");
            for mark in &drawing.marks {
                let (points, label) = match mark {
                    Mark::Line { points, .. } | Mark::Shape { points, .. } => (points.clone(), None),
                    Mark::Circle { centre, radius_mm, .. } => (crate::drawing::round(*centre, *radius_mm), None),
                    Mark::Label(label) => (vec![label.at], Some(label)),
                    Mark::Group { .. } => continue,
                };
                let inside = |p: &Place| (0.0..=WIDTH_MM).contains(&p.0) && (0.0..=HEIGHT_MM).contains(&p.1);
                assert!(points.iter().all(inside), "{key}: {points:?}");
                if let Some(label) = label {
                    let (start, end) = match label.anchor {
                        Anchor::Start => (label.at.0, label.at.0 + label.width_mm()),
                        Anchor::Middle => (label.at.0 - label.width_mm() / 2.0, label.at.0 + label.width_mm() / 2.0),
                        Anchor::End => (label.at.0 - label.width_mm(), label.at.0),
                    };
                    assert!(start >= 0.0 && end <= WIDTH_MM, "{key}: {:?} runs from {start} to {end}", label.words);
                }
            }
            seen.push(svg);
        }
        assert!(term("no such word").is_none());
    }
}
