//! The shaft with its bend: the mains off the line through the supports, drawn many times too large.
//!
//! It is seen square to the plane in which the most bent main lies off the line, so that this one shows all of its bend; of
//! the others their part in that plane shows.

use units::{Unit, show_mm};

use crate::exaggeration::{exaggerated_words, exaggeration};
use crate::labelling::{LEADING, wrapped};
use crate::{Drawing, Fill, Label, Pen};

/// One main of it.
#[derive(Clone, Debug, PartialEq)]
pub struct BentMain {
    /// What it is called.
    pub name: String,
    /// Mid-length along the axis, from the nose.
    pub position_mm: f64,
    /// Where its centre lies off the line: toward the first throw, and square to it the way angles grow. Nothing where no dial
    /// was on it.
    pub off_mm: Option<(f64, f64)>,
    /// Whether it stands in a vee.
    pub carried: bool,
}

/// The bend of one shaft.
#[derive(Clone, Debug, PartialEq)]
pub struct BendSketch {
    /// The unit of figures.
    pub unit: Unit,
    /// The mains, in any order.
    pub mains: Vec<BentMain>,
}

/// Room for the bend either way.
const ROOM_MM: f64 = 9.0;
/// Half a main, across and along.
const HALF_MM: (f64, f64) = (2.6, 3.2);
/// What no digit of a figure shows.
const NOTHING_MM: f64 = 1e-5;

impl BendSketch {
    /// As wide as a page of A4 has room for.
    pub const USUAL_MM: f64 = 186.0;
    /// As wide as a panel is.
    pub const WIDE_MM: f64 = 110.0;
    /// The least width.
    pub const NARROW_MM: f64 = 48.0;

    /// Draws it, so wide; nothing where fewer than two mains have a place, or none was swept.
    pub fn draw(&self, width_mm: f64) -> Option<Drawing> {
        let width = if width_mm >= Self::NARROW_MM { width_mm.min(500.0) } else { Self::NARROW_MM };
        let mut mains: Vec<&BentMain> = self.mains.iter().filter(|main| main.position_mm.is_finite()).collect();
        mains.sort_by(|a, b| a.position_mm.total_cmp(&b.position_mm));
        let (first, last) = (mains.first()?.position_mm, mains.last()?.position_mm);
        let length_mm = last - first;
        if length_mm <= 0.0 || length_mm.is_nan() {
            return None;
        }
        let length = |(x, y): (f64, f64)| x.hypot(y);
        let swept = mains.iter().filter_map(|main| Some((*main, main.off_mm.filter(|off| length(*off).is_finite())?)));
        let (most, off) = swept.max_by(|a, b| length(a.1).total_cmp(&length(b.1)))?;
        let most_mm = length(off);
        let plane_deg = off.1.atan2(off.0).to_degrees().rem_euclid(360.0);
        let (sin, cos) = plane_deg.to_radians().sin_cos();
        let (left, right) = (HALF_MM.1 + 1.0, width - HALF_MM.1 - 1.0);
        let scale = (right - left) / length_mm;
        let factor = exaggeration(most_mm * scale, ROOM_MM);
        let middle = 7.0 + ROOM_MM + HALF_MM.0;
        let at = |main: &BentMain| {
            let (x, y) = main.off_mm.unwrap_or((0.0, 0.0));
            // Upwards on the paper is the way of the bend.
            (left + (main.position_mm - first) * scale, middle - (x * cos + y * sin) * scale * factor)
        };
        let title = "The bend of the shaft";
        let mut drawing = Drawing::new(width, 0.0, title);
        drawing.label(Label::words((0.0, 4.0), title).sized(4.0).bold());
        drawing.line([(0.0, middle), (width, middle)], Pen::Axis);
        drawing.line(
            mains.iter().filter(|main| main.off_mm.is_some()).map(|main| at(main)).collect::<Vec<_>>(),
            Pen::Edge,
        );
        let foot = middle + ROOM_MM.min(4.0) + HALF_MM.0 + 2.0;
        for main in &mains {
            let (x, y) = at(main);
            let is_known = main.off_mm.is_some();
            let (pen, fill) = if is_known { (Pen::Edge, Fill::Paper) } else { (Pen::Dashed, Fill::None) };
            drawing.rectangle((x - HALF_MM.1, y - HALF_MM.0), (x + HALF_MM.1, y + HALF_MM.0), Some(pen), fill);
            if main.carried {
                let tip = y + HALF_MM.0;
                drawing.line([(x - 2.4, tip + 2.4), (x, tip), (x + 2.4, tip + 2.4)], Pen::Edge);
            }
            // Names of many mains would run into each other; their numbers do not.
            let number = main.name.rsplit(' ').next().unwrap_or_default();
            drawing.label(Label::figures((x, foot + 3.4), number).middle());
        }
        let decimals = self.unit.usual_decimals();
        let says = if most_mm < NOTHING_MM {
            "No main lies off the line through the supports.".to_owned()
        } else {
            format!(
                "{} lies {} {} off the line through the supports, toward {plane_deg:.0} degrees from the first throw; the drawing \
                 shows that plane, the bend upwards.",
                most.name,
                show_mm(most_mm, self.unit, decimals),
                self.unit
            )
        };
        let how = format!(
            "Nose on the left. The bend is {}. Mains by their numbers; dashed: no dial was on it.",
            exaggerated_words(factor)
        );
        let mut y = foot + 4.0;
        for line in [&says, &how].into_iter().flat_map(|note| wrapped(note, Label::USUAL_MM, false, width)) {
            y += Label::USUAL_MM * LEADING;
            drawing.label(Label::words((0.0, y), line));
        }
        drawing.height_mm = y + 1.5;
        drawing.says = format!("{says} {how}");
        Some(drawing)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Mark;

    fn main(number: usize, position_mm: f64, off_mm: Option<(f64, f64)>) -> BentMain {
        BentMain { name: format!("Main {number}"), position_mm, off_mm, carried: number == 1 }
    }

    fn middles(drawing: &Drawing) -> Vec<(f64, f64)> {
        let shape = |mark: &Mark| match mark {
            Mark::Shape { points, .. } => {
                let n = points.len() as f64;
                Some((points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n))
            }
            _ => None,
        };
        drawing.marks.iter().filter_map(shape).collect()
    }

    /// By hand: 0.05 mm on 400 mm of shaft that take 47.6 mm of paper is 0.00595 mm; 1,000 times that is 5.95, and 2,000 times
    /// would be more than the 9 mm there are. A main square to the plane that is shown lies on the line.
    #[test]
    fn the_bend_is_drawn_by_the_factor_that_it_states() {
        let mains = vec![
            main(1, 0.0, Some((0.0, 0.0))),
            main(2, 100.0, Some((0.02, 0.0))),
            main(3, 200.0, Some((0.0, 0.05))),
            main(4, 300.0, None),
            main(5, 400.0, Some((0.0, 0.0))),
        ];
        let drawing = BendSketch { unit: Unit::Millimetre, mains }.draw(56.0).unwrap();
        assert!(drawing.says.contains("drawn 1000 times too large"), "{}", drawing.says);
        assert!(drawing.says.contains("Main 3 lies 0.050 mm off the line"), "{}", drawing.says);
        assert!(drawing.says.contains("toward 90 degrees"), "{}", drawing.says);
        let at = middles(&drawing);
        assert_eq!(at.len(), 5);
        let scale = (56.0 - 2.0 * 4.2) / 400.0;
        assert!((at[0].1 - at[2].1 - 0.05 * scale * 1000.0).abs() < 1e-9, "main 3 is up by its bend");
        assert!((at[0].1 - at[1].1).abs() < 1e-9, "main 2 is bent square to what is shown");
        assert!((at[2].0 - 28.0).abs() < 1e-9, "main 3 stands half way");
    }

    #[test]
    fn nothing_is_drawn_of_nothing() {
        for mains in [vec![], vec![main(1, 0.0, Some((0.0, 0.0)))], vec![main(1, 0.0, None), main(2, 9.0, None)]] {
            assert_eq!(BendSketch { unit: Unit::Inch, mains }.draw(100.0), None);
        }
        let odd = vec![main(1, f64::NAN, None), main(2, 0.0, Some((f64::NAN, 0.0))), main(3, 9.0, Some((0.0, 0.0)))];
        let drawing = BendSketch { unit: Unit::Inch, mains: odd }.draw(100.0).unwrap();
        assert!(drawing.says.contains("No main lies off"), "{}", drawing.says);
    }
}
