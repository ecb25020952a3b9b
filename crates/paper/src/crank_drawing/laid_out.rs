//! The journals of a specification in the order in which they stand, with whatever cannot be drawn put aside.

use crank::{JournalId, SetName};
use units::{Unit, show_mm};

use super::{CrankSketch, JournalMark};
use crate::exaggeration::exaggeration;

/// No crank is longer or thicker than this.
const REACH_MM: f64 = 1e5;

/// Journals of one set that are drawn; a maker's book knows of no more.
const MOST: usize = 40;

/// Journals that meet within this touch and do not overlap.
const TOUCH_MM: f64 = 1e-6;

/// One journal ready to be drawn. Lengths are those of the crank.
#[derive(Clone, Debug)]
pub(super) struct Bar {
    pub(super) mark: JournalMark,
    pub(super) from_mm: f64,
    pub(super) to_mm: f64,
    /// Direction of the throw; nothing for a main.
    pub(super) angle_deg: Option<f64>,
    /// Standard size, on the radius.
    pub(super) radius_mm: f64,
    pub(super) undersize_mm: f64,
    pub(super) wear_mm: f64,
}

/// The crank ready to be drawn.
#[derive(Clone, Debug)]
pub(super) struct Crank {
    /// Journals from the nose.
    pub(super) bars: Vec<Bar>,
    /// Crank radius.
    pub(super) throw_mm: f64,
    /// How many times too large undersize and wear are drawn.
    pub(super) undersize_factor: f64,
    pub(super) wear_factor: f64,
    pub(super) troubles: Vec<String>,
}

impl Bar {
    /// How far above the axis it stands, from -1 to 1 crank radius.
    pub(super) fn up(&self) -> f64 {
        self.angle_deg.map_or(0.0, |angle| angle.to_radians().cos())
    }

    pub(super) fn middle_mm(&self) -> f64 {
        self.from_mm.midpoint(self.to_mm)
    }
}

fn is_length(mm: f64) -> bool {
    mm > 0.0 && mm < REACH_MM
}

impl Crank {
    pub(super) fn laid_out(sketch: &CrankSketch<'_>) -> Crank {
        let book = sketch.specification;
        let figure = |mm: f64| length(mm, sketch.unit);
        let mut troubles = Vec::new();
        let mut bars = Vec::new();
        for set in SetName::BOTH {
            let of = book.set(set);
            let plural = match set {
                SetName::Main => "mains",
                SetName::Pin => "pins",
            };
            let drawn = of.positions_mm.iter().enumerate().take(MOST);
            if of.count() > MOST {
                troubles.push(format!("Only the first {MOST} of {} {plural} are drawn.", of.count()));
            }
            let length_mm = if is_length(of.length_mm) {
                of.length_mm
            } else if of.count() > 0 {
                troubles.push(format!("The {plural} are {} long: drawn as lines.", figure(of.length_mm)));
                0.0
            } else {
                0.0
            };
            let size_mm = of.size.middle_mm();
            let other_mm = book.set(if set == SetName::Main { SetName::Pin } else { SetName::Main }).size.middle_mm();
            let radius_mm = match [size_mm, other_mm].into_iter().find(|mm| is_length(*mm)) {
                Some(mm) => mm / 2.0,
                None => length_mm.max(1.0) / 2.0,
            };
            if !is_length(size_mm) && of.count() > 0 {
                troubles.push(format!("The size of the {plural} is {}: another is drawn.", figure(size_mm)));
            }
            let mut before: Option<f64> = None;
            for (index, &position_mm) in drawn {
                let id = JournalId { set, number: index + 1 };
                let mark = sketch.journals.iter().find(|mark| mark.journal == id).cloned();
                let mark = mark.unwrap_or_else(|| JournalMark::plain(id));
                if position_mm.is_nan() || position_mm.abs() >= REACH_MM {
                    troubles.push(format!("{} stands at {}: left out.", mark.name, figure(position_mm)));
                    continue;
                }
                if before.is_some_and(|before| position_mm < before) {
                    troubles.push(format!("{} stands nearer the nose than the one before it.", mark.name));
                }
                before = Some(position_mm);
                let angle_deg = (set == SetName::Pin).then(|| match of.angles_deg.get(index) {
                    Some(angle) if angle.is_finite() => angle.rem_euclid(360.0),
                    _ => {
                        troubles.push(format!("{} has no direction: drawn up.", mark.name));
                        0.0
                    }
                });
                let [undersize_mm, wear_mm] = [mark.undersize_mm, mark.wear_mm].map(|mm| {
                    let known = mm.max(0.0);
                    if mm.is_finite() && known < radius_mm { known } else { f64::NAN }
                });
                let mut taken = |mm: f64, given_mm: f64, what: &str| {
                    if mm.is_nan() {
                        troubles.push(format!("{what} of {} is {}: not drawn.", mark.name, figure(given_mm)));
                    }
                    if mm.is_nan() { 0.0 } else { mm }
                };
                let undersize_mm = taken(undersize_mm, mark.undersize_mm, "The undersize");
                let wear_mm = taken(wear_mm, mark.wear_mm, "The wear");
                bars.push(Bar {
                    from_mm: position_mm - length_mm / 2.0,
                    to_mm: position_mm + length_mm / 2.0,
                    angle_deg,
                    radius_mm,
                    undersize_mm,
                    wear_mm,
                    mark,
                });
            }
        }
        bars.sort_by(|a, b| a.middle_mm().total_cmp(&b.middle_mm()));
        for (a, b) in bars.iter().zip(bars.iter().skip(1)) {
            let over_mm = a.to_mm - b.from_mm;
            if over_mm > TOUCH_MM {
                let (a, b) = (&a.mark.name, &b.mark.name);
                troubles.push(format!("{a} and {b} overlap by {} along the axis: drawn as given.", figure(over_mm)));
            }
        }
        if bars.len() == 1 {
            troubles.push("There is one journal only, so no web can be drawn.".to_owned());
        }
        let has_pins = bars.iter().any(|bar| bar.angle_deg.is_some());
        if !is_length(book.throw_mm) && has_pins {
            troubles.push(format!("The crank radius is {}: the throws are drawn on the axis.", figure(book.throw_mm)));
        }
        let throw_mm = if is_length(book.throw_mm) && has_pins { book.throw_mm } else { 0.0 };
        let (undersize_factor, wear_factor) = (factor(&bars, |bar| bar.undersize_mm), factor(&bars, |bar| bar.wear_mm));
        Crank { bars, throw_mm, undersize_factor, wear_factor, troubles }
    }
}

/// So large that the largest takes a quarter of the radius of the thinnest journal.
fn factor(bars: &[Bar], what_mm: impl Fn(&Bar) -> f64) -> f64 {
    const SHARE: f64 = 0.25;
    let largest_mm = bars.iter().map(what_mm).fold(0.0, f64::max) / 2.0;
    let thinnest_mm = bars.iter().map(|bar| bar.radius_mm).fold(f64::INFINITY, f64::min);
    exaggeration(largest_mm, SHARE * thinnest_mm)
}

/// A length with its unit, or that it is none.
fn length(mm: f64, unit: Unit) -> String {
    if mm.is_finite() && mm.abs() < 1e9 {
        let decimals = match unit {
            Unit::Inch => 3,
            Unit::Millimetre => 2,
        };
        format!("{} {unit}", show_mm(mm, unit, decimals))
    } else {
        "no length".to_owned()
    }
}
