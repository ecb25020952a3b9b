//! How a crank is set up on another axis than its present one, as figures and in words.

use crank::{JournalId, SetName, Specification};
use units::{Unit, show_mm};

use crate::axis::AxisLine;
use crate::verdict::Verdict;

/// Where the wheel goes round one pin: its new centre less its present one, in the plane of its mid-length.
///
/// # Limits
/// The present centre is where it was measured to be, and true to the book where nobody measured it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PinCentre {
    /// The pin.
    pub journal: JournalId,
    /// How far toward the first throw.
    pub u_mm: f64,
    /// How far square to it, the way angles grow.
    pub v_mm: f64,
}

impl PinCentre {
    /// The same along the pin's own throw (outward positive) and square to it, the way angles grow.
    ///
    /// # Example
    /// ```
    /// use crank::{JournalId, SetName};
    /// use regrind::PinCentre;
    /// // A throw at 90 degrees points along v: what moves it that way moves it outward.
    /// let pin = PinCentre { journal: JournalId { set: SetName::Pin, number: 2 }, u_mm: 0.01, v_mm: 0.03 };
    /// let (outward, round) = pin.along_its_throw_mm(90.0);
    /// assert!((outward - 0.03).abs() < 1e-12 && (round + 0.01).abs() < 1e-12);
    /// ```
    pub fn along_its_throw_mm(&self, throw_deg: f64) -> (f64, f64) {
        let (sin, cos) = throw_deg.to_radians().sin_cos();
        (self.u_mm * cos + self.v_mm * sin, self.v_mm * cos - self.u_mm * sin)
    }
}

/// Where a crank is set up.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SetUp {
    /// The main axis.
    pub axis: AxisLine,
    /// Each pin's centre. Empty on a held axis, where every pin is ground about its present centre.
    pub pins: Vec<PinCentre>,
}

impl SetUp {
    /// How far the main axis moves at a place along the crank, counted as positions of journals are: toward the first
    /// throw, and square to it the way angles grow.
    pub fn axis_at_mm(&self, specification: &Specification, position_mm: f64) -> (f64, f64) {
        let positions = &specification.main.positions_mm;
        let low = positions.iter().copied().fold(f64::INFINITY, f64::min);
        let high = positions.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        self.axis.at_mm(position_mm - low.midpoint(high))
    }

    /// How far a journal's centre moves at a place along it, counted from its mid-length: toward the first throw, and
    /// square to it the way angles grow. A new pin lies parallel to the new main axis.
    pub fn centre_at_mm(&self, specification: &Specification, id: JournalId, at_mm: f64) -> (f64, f64) {
        match id.set {
            SetName::Main => self.axis_at_mm(specification, specification.position_mm(id) + at_mm),
            SetName::Pin => self
                .pins
                .iter()
                .find(|pin| pin.journal == id)
                .map_or((0.0, 0.0), |pin| (pin.u_mm + self.axis.sx * at_mm, pin.v_mm + self.axis.sy * at_mm)),
        }
    }

    /// For the grinder: how far the end mains go off their present centres, then each pin that moves, and which way; said
    /// once where nothing moves.
    pub fn in_words(&self, specification: &Specification, unit: Unit) -> Vec<String> {
        let told = self.moves(specification, unit).into_iter().map(|one| (one.journal, one.words));
        let (mains, pins): (Vec<Moved>, Vec<Moved>) = told.partition(|(id, _)| id.set == SetName::Main);
        let moves = |journals: &[Moved]| journals.iter().any(|(_, words)| !words.is_empty());
        let name = unit.plural();
        let mut says = Vec::new();
        if !moves(&mains) && !moves(&pins) {
            says.push("Nothing moves: the mains on their present axis, each pin round its present centre.".to_owned());
            return says;
        }
        if moves(&mains) {
            says.push(format!("Move the main axis, in {name}: {}.", listed(&mains)));
        } else {
            says.push("The main axis stays.".to_owned());
        }
        if moves(&pins) {
            let moved: Vec<Moved> = pins.iter().filter(|(_, words)| !words.is_empty()).cloned().collect();
            let rest = if moved.len() < pins.len() { "; no other pin" } else { "" };
            says.push(format!("Then each pin off its present centre, in {name}: {}{rest}.", listed(&moved)));
            says.push(
                "Outward and inward are along the throw, clockwise and anticlockwise square to it, seen from the nose."
                    .to_owned(),
            );
        } else if !pins.is_empty() {
            says.push("Each pin stays round its present centre.".to_owned());
        }
        says
    }
}

impl SetUp {
    /// Both end mains, then each pin that may move, with how far it goes and what a dial on it shows then.
    pub fn moves(&self, specification: &Specification, unit: Unit) -> Vec<Move> {
        let last = specification.main.count();
        let ends = if last > 1 { vec![1, last] } else { vec![1] };
        let mains = ends.into_iter().map(|number| {
            let journal = JournalId { set: SetName::Main, number };
            let (x, y) = self.centre_at_mm(specification, journal, 0.0);
            let ways = [(x, "toward the first throw", "away from the first throw"), (y, ROUND[0], ROUND[1])];
            Move { journal, shift_mm: (x, y), words: shift(ways, unit) }
        });
        let pins = self.pins.iter().map(|pin| {
            let (out, round) = pin.along_its_throw_mm(specification.throw_deg(pin.journal));
            let words = shift([(out, "outward", "inward"), (round, ROUND[0], ROUND[1])], unit);
            Move { journal: pin.journal, shift_mm: (out, round), words }
        });
        mains.chain(pins).collect()
    }
}

/// How far one journal goes off its present centre.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    /// The journal.
    pub journal: JournalId,
    /// Of a main toward the first throw, of a pin outward along its own; and square to that, the way angles grow.
    pub shift_mm: (f64, f64),
    /// `0.0019 outward, 0.0033 clockwise`; empty where no digit of it shows.
    pub words: String,
}

impl Move {
    /// What a dial on the journal, which is still round its old centre, shows in one turn about the new one.
    ///
    /// # Example
    /// ```
    /// use crank::{JournalId, SetName};
    /// let journal = JournalId { set: SetName::Main, number: 1 };
    /// let moved = regrind::Move { journal, shift_mm: (0.0, 0.01), words: String::new() };
    /// // It moves at 90 degrees, so the old surface stands high at 270.
    /// assert_eq!((moved.dial_mm(), moved.high_deg()), (0.02, 270.0));
    /// ```
    pub fn dial_mm(&self) -> f64 {
        2.0 * self.shift_mm.0.hypot(self.shift_mm.1)
    }

    /// The direction in which the dial then reads high: of a main from the first throw, of a pin from its own.
    pub fn high_deg(&self) -> f64 {
        (-self.shift_mm.1).atan2(-self.shift_mm.0).to_degrees().rem_euclid(360.0)
    }
}

/// A journal and how far it goes which way; nothing where it stays.
type Moved = (JournalId, String);

/// The ways square to a throw: as angles grow, and against it.
const ROUND: [&str; 2] = ["clockwise", "anticlockwise"];

/// `0.0006 toward the first throw, 0.0020 clockwise`; nothing where no digit of it shows.
fn shift(ways: [(f64, &str, &str); 2], unit: Unit) -> String {
    let figure = |mm: f64| show_mm(mm.abs(), unit, unit.usual_decimals());
    let shows = ways.into_iter().filter(|(mm, ..)| figure(*mm) != figure(0.0));
    let words = shows.map(|(mm, plus, minus)| format!("{} {}", figure(mm), if mm > 0.0 { plus } else { minus }));
    words.collect::<Vec<_>>().join(", ")
}

fn listed(journals: &[Moved]) -> String {
    let one = |(id, words): &Moved| {
        if words.is_empty() { format!("{id} stays") } else { format!("{id} by {words}") }
    };
    journals.iter().map(one).collect::<Vec<_>>().join("; ")
}

impl Verdict {
    /// Where the crank is told to be set up, on a free axis: once for both sets where they are ground as a pair, else for
    /// each set that is to be ground, or would be, by itself. Empty on a held axis.
    pub fn set_ups(&self) -> Vec<(Option<SetName>, &SetUp)> {
        let pair = self.chosen_pair.and_then(|(main_mm, pin_mm)| {
            self.pairs.iter().find(|pair| (pair.main_mm, pair.pin_mm) == (main_mm, pin_mm))
        });
        if let Some(pair) = pair {
            return vec![(None, &pair.set_up)];
        }
        self.sets.iter().filter_map(|set| Some((Some(set.set), set.set_up.as_ref()?))).collect()
    }
}

#[cfg(test)]
mod tests {
    use crank::{Band, JournalSet, Treatment};

    use super::*;

    fn set(positions_mm: &[f64], angles_deg: &[f64]) -> JournalSet {
        JournalSet {
            positions_mm: positions_mm.to_vec(),
            angles_deg: angles_deg.to_vec(),
            size: Band { low_mm: 49.99, high_mm: 50.0 },
            undersizes_mm: Vec::new(),
            out_of_round_mm: None,
            taper: None,
            run_out: None,
            length_mm: 30.0,
            smallest_mm: None,
            wear_limit_mm: None,
            wear_out_of_round_mm: None,
            wear_taper: None,
            aims: Vec::new(),
            any_size: false,
        }
    }

    /// By hand: the throw of pin 2 looks at 180 degrees, so what goes toward the first throw goes inward there.
    #[test]
    fn the_grinder_is_told_how_much_and_which_way() {
        let specification = Specification {
            name: "any".into(),
            unit: Unit::Millimetre,
            throw_mm: 43.0,
            throw_tolerance_mm: None,
            index_tolerance_deg: None,
            main: set(&[0.0, 100.0, 200.0], &[]),
            pin: set(&[50.0, 150.0], &[0.0, 180.0]),
            treatment: Treatment { kind: "none".into(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false },
        };
        let pin = |number, u_mm, v_mm| PinCentre { journal: JournalId { set: SetName::Pin, number }, u_mm, v_mm };
        let set_up = SetUp {
            axis: AxisLine { x0_mm: 0.010, y0_mm: -0.004, sx: 0.0001, sy: 0.0 },
            pins: vec![pin(1, 0.0, 0.0002), pin(2, 0.020, 0.003)],
        };
        assert_eq!(
            set_up.in_words(&specification, Unit::Millimetre),
            [
                "Move the main axis, in millimetres: main 1 by 0.004 anticlockwise; main 3 by 0.020 toward the first \
                 throw, 0.004 anticlockwise.",
                "Then each pin off its present centre, in millimetres: pin 2 by 0.020 inward, 0.003 anticlockwise; no \
                 other pin.",
                "Outward and inward are along the throw, clockwise and anticlockwise square to it, seen from the nose."
            ]
        );
        let still = SetUp { axis: AxisLine::default(), pins: vec![pin(1, 0.0, 0.0), pin(2, 0.0, 0.000_4)] };
        assert_eq!(
            still.in_words(&specification, Unit::Millimetre),
            ["Nothing moves: the mains on their present axis, each pin round its present centre."]
        );
        let at = |set, number, at_mm| set_up.centre_at_mm(&specification, JournalId { set, number }, at_mm);
        let same = |(x, y): (f64, f64), (to_x, to_y): (f64, f64)| (x - to_x).hypot(y - to_y) < 1e-12;
        assert!(same(at(SetName::Main, 2, 0.0), (0.010, -0.004)), "the middle main stands at mid-length");
        assert!(same(at(SetName::Main, 3, 10.0), (0.021, -0.004)), "and the axis is tilted");
        assert!(same(at(SetName::Pin, 2, -10.0), (0.019, 0.003)), "a pin lies parallel to it");
    }

    /// By hand: a throw at 30 degrees. 0.010 along the first throw is 0.010 cos 30 outward and 0.010 sin 30 against the way that
    /// angles grow; 0.010 square to it is 0.005 outward and 0.00866 with it.
    #[test]
    fn a_move_is_turned_into_its_throw() {
        let id = JournalId { set: SetName::Pin, number: 1 };
        let turned = |u_mm, v_mm| PinCentre { journal: id, u_mm, v_mm }.along_its_throw_mm(30.0);
        for (found, wanted) in [(turned(0.010, 0.0), (0.008_660, -0.005)), (turned(0.0, 0.010), (0.005, 0.008_660))] {
            assert!((found.0 - wanted.0).abs() < 1e-6 && (found.1 - wanted.1).abs() < 1e-6, "{found:?}");
        }
    }
}
