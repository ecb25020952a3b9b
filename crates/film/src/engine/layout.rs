//! How the cylinders sit on the crank and when they fire.

use serde::{Deserialize, Serialize};

use super::Along;
use crate::problem::{Checks, Problems};

/// A cylinder on a throw.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct OnThrow {
    /// Which throw its rod is on, counted from 1 at the nose.
    pub throw: usize,
    /// Lean of the bore from upright, counted the same way round as the throws.
    pub lean_deg: f64,
    /// Crank angle at which it fires, from 0 up to 720; where it is left out, the firing order says it.
    pub fires_deg: Option<f64>,
}

impl OnThrow {
    /// An upright cylinder on each of so many throws.
    pub fn each(throws: usize) -> Vec<OnThrow> {
        (1..=throws).map(|throw| OnThrow { throw, lean_deg: 0.0, fires_deg: None }).collect()
    }
}

/// Where a cylinder sits and when it fires.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Seat {
    /// Which throw its rod is on, counted from 0 at the nose.
    pub throw: usize,
    /// Lean of the bore from Y, counter-clockwise; 0 for an upright engine.
    pub bank_deg: f64,
    /// Crank angle at which it fires, from 0 up to 720.
    pub fires_deg: f64,
}

/// How the crank is laid out: its throws and mains from the nose on, and the cylinders.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Layout {
    /// Angle of each throw ahead of Y at crank angle 0, counter-clockwise.
    pub throws_deg: Vec<f64>,
    /// The cylinders. Several may share a throw; each has its own shell on the pin, and all press at its middle.
    pub seats: Vec<Seat>,
    /// Where mains and throws stand along the crank.
    pub along: Along,
    /// Mass of pin and webs of one throw, less its counterweights, as if at the pin; negative where the counterweights
    /// take more than pin and webs.
    pub throw_unbalance_kg: f64,
}

/// More throws than any crank has.
const MOST_THROWS: usize = 24;
/// More cylinders than any engine has.
const MOST_CYLINDERS: usize = 48;
/// How far a throw may stand from its bore when the cylinder fires: books round to a degree.
const IN_LINE_DEG: f64 = 1.0;
const AT_TOP: &str = "a cylinder is taken to fire at the top: look over throws, leans (counted the same way round) and \
                      order, and give each cylinder’s own firing angle where the engine fires unevenly";

impl Layout {
    /// An upright engine with one cylinder to each throw and a main before, between and behind all throws, from the
    /// angles at which the throws stand and the order in which the cylinders, counted from 1 at the nose, fire at equal
    /// distances.
    ///
    /// # Errors
    /// As [`Layout::of`].
    pub fn upright(throws_deg: &[f64], firing_order: &[usize]) -> Result<Layout, Problems> {
        let throws = throws_deg.len();
        Layout::of(throws_deg, &OnThrow::each(throws), firing_order, &Along::main_by_main(throws))
    }

    /// Any engine whose cylinders are alike.
    ///
    /// Angles of throws and leans of bores count the same way round: the way the crank turns, or all of them against it.
    /// Throws may count from anywhere, for the firing says where the crank stands. `firing_order` names the cylinders
    /// as listed, from 1, and they fire at equal distances; it is left empty where every cylinder has its own angle.
    ///
    /// # Errors
    /// All at once: throws or cylinders that no engine has, an order that does not name every cylinder once, a cylinder
    /// that would fire with its piston not at the top (within a degree) whichever way the crank turns, places along the
    /// crank that cannot be.
    pub fn of(
        throws_deg: &[f64],
        cylinders: &[OnThrow],
        firing_order: &[usize],
        along: &Along,
    ) -> Result<Layout, Problems> {
        let mut checks = Checks::new();
        check_throws(throws_deg, &mut checks);
        checks.that(
            (1..=MOST_CYLINDERS).contains(&cylinders.len()),
            "cylinders",
            cylinders.len(),
            &format!("1 to {MOST_CYLINDERS} cylinders"),
            "without cylinders there is no load",
        );
        check_cylinders(throws_deg.len(), cylinders, &mut checks);
        checks.take("along", along.check(throws_deg.len()));
        let fires_deg = firing(cylinders, firing_order, &mut checks);
        checks.finish()?;

        let turning = |sense: f64| {
            let seats: Vec<Seat> = cylinders
                .iter()
                .zip(&fires_deg)
                .map(|(cylinder, fires)| Seat {
                    throw: cylinder.throw.saturating_sub(1),
                    bank_deg: sense * cylinder.lean_deg,
                    fires_deg: *fires,
                })
                .collect();
            let throws: Vec<f64> = throws_deg.iter().map(|angle| sense * angle).collect();
            let mut layout = Layout { throws_deg: throws, seats, along: along.clone(), throw_unbalance_kg: 0.0 };
            layout.turn_to_first_firing();
            layout
        };
        let with_the_crank = turning(1.0);
        let off = with_the_crank.not_at_top();
        if off.is_empty() {
            return Ok(with_the_crank);
        }
        let against_it = turning(-1.0);
        if against_it.not_at_top().is_empty() {
            return Ok(against_it);
        }
        for (seat, fires, top) in off {
            checks.that(false, &format!("cylinders[{}].fires_deg", seat + 1), fires, &two_tops(top), AT_TOP);
        }
        checks.finish()?;
        Ok(with_the_crank)
    }

    /// Turns all throws together so that the cylinder that fires first has its piston at the top.
    fn turn_to_first_firing(&mut self) {
        let first = self.seats.iter().min_by(|a, b| a.fires_deg.total_cmp(&b.fires_deg));
        let found = first.and_then(|seat| Some((seat, self.throws_deg.get(seat.throw)?)));
        let Some(turn) = found.map(|(seat, throw)| seat.bank_deg - seat.fires_deg - throw) else { return };
        for throw in &mut self.throws_deg {
            *throw += turn;
        }
    }

    /// Cylinders that would not fire at the top: place, where they fire, and the first angle at which they would.
    fn not_at_top(&self) -> Vec<(usize, f64, f64)> {
        let seats = self.seats.iter().enumerate();
        let off = seats.filter_map(|(place, seat)| {
            let top = (seat.bank_deg - self.throws_deg.get(seat.throw)?).rem_euclid(360.0);
            let off = (seat.fires_deg - top).rem_euclid(360.0);
            (off.min(360.0 - off) > IN_LINE_DEG).then_some((place, seat.fires_deg, top))
        });
        off.collect()
    }

    pub(super) fn check(&self) -> Result<(), Problems> {
        let mut checks = Checks::new();
        check_throws(&self.throws_deg, &mut checks);
        checks.take("along", self.along.check(self.throws_deg.len()));
        checks
            .that(
                (1..=MOST_CYLINDERS).contains(&self.seats.len()),
                "seats",
                self.seats.len(),
                &format!("1 to {MOST_CYLINDERS} cylinders"),
                "without cylinders there is no load",
            )
            .between("throw_unbalance_kg", self.throw_unbalance_kg, -1e4, 1e4, "a throw is not heavier");
        for (place, seat) in self.seats.iter().enumerate() {
            let field = |name: &str| format!("seats[{}].{name}", place + 1);
            checks
                .that(
                    seat.throw < self.throws_deg.len(),
                    &field("throw"),
                    seat.throw,
                    "one of the throws",
                    "a rod needs a pin",
                )
                .between(&field("bank_deg"), seat.bank_deg, -360.0, 360.0, "a bore points somewhere round the crank")
                .between(&field("fires_deg"), seat.fires_deg, 0.0, 720.0, "a cycle is two turns");
        }
        checks.finish()?;
        for (place, fires, top) in self.not_at_top() {
            checks.that(false, &format!("seats[{}].fires_deg", place + 1), fires, &two_tops(top), AT_TOP);
        }
        checks.finish()
    }
}

/// The two crank angles of a cycle at which a piston is at the top.
fn two_tops(top_deg: f64) -> String {
    // Nought is added so that a nought does not carry a sign.
    let rounded = (top_deg * 1000.0).round() / 1000.0 % 360.0 + 0.0;
    format!("{rounded} or {}, when its piston is at the top", rounded + 360.0)
}

fn check_throws(throws_deg: &[f64], checks: &mut Checks) {
    checks.that(
        (1..=MOST_THROWS).contains(&throws_deg.len()),
        "throws_deg",
        throws_deg.len(),
        &format!("1 to {MOST_THROWS} throws"),
        "a crank has throws",
    );
    for (number, angle) in (1..).zip(throws_deg) {
        let round = "a throw points somewhere round the crank";
        checks.between(&format!("throws_deg[{number}]"), *angle, -720.0, 720.0, round);
    }
}

fn check_cylinders(throws: usize, cylinders: &[OnThrow], checks: &mut Checks) {
    for (place, cylinder) in cylinders.iter().enumerate() {
        let field = |name: &str| format!("cylinders[{}].{name}", place + 1);
        checks
            .that(
                (1..=throws).contains(&cylinder.throw),
                &field("throw"),
                cylinder.throw,
                &format!("1 to {throws}, counted from the nose"),
                "a rod needs a pin",
            )
            .between(&field("lean_deg"), cylinder.lean_deg, -360.0, 360.0, "a bore points somewhere round the crank");
        let same = |other: &OnThrow| {
            let apart = (other.lean_deg - cylinder.lean_deg).rem_euclid(360.0);
            other.throw == cylinder.throw && apart.min(360.0 - apart) < IN_LINE_DEG
        };
        if let Some(twin) = cylinders.iter().take(place).position(same) {
            checks.that(
                false,
                &field("lean_deg"),
                cylinder.lean_deg,
                &format!("another lean than that of cylinder {}, which is on the same throw", twin + 1),
                "two pistons cannot share a bore",
            );
        }
    }
    for throw in 1..=throws.min(MOST_THROWS) {
        checks.that(
            cylinders.is_empty() || cylinders.iter().any(|cylinder| cylinder.throw == throw),
            "cylinders",
            format!("none on throw {throw}"),
            "a cylinder on each throw",
            "a throw without a rod is a main’s load left out",
        );
    }
}

/// When each cylinder fires: as given, or at equal distances in the order.
fn firing(cylinders: &[OnThrow], order: &[usize], checks: &mut Checks) -> Vec<f64> {
    let count = cylinders.len();
    if cylinders.iter().all(|cylinder| cylinder.fires_deg.is_some()) && count > 0 {
        checks.that(
            order.is_empty(),
            "firing_order",
            format!("{order:?}"),
            "left out where every cylinder has its own firing angle",
            "of two ways to say one thing they may say two",
        );
        for (number, cylinder) in (1..).zip(cylinders) {
            let field = format!("cylinders[{number}].fires_deg");
            checks.between(&field, cylinder.fires_deg.unwrap_or_default(), 0.0, 720.0, "a cycle is two turns");
        }
        return cylinders.iter().map(|cylinder| cylinder.fires_deg.unwrap_or_default()).collect();
    }
    let some = cylinders.iter().filter(|cylinder| cylinder.fires_deg.is_some()).count();
    checks.that(
        some == 0,
        "cylinders.fires_deg",
        format!("given for {some} of {count}"),
        "given for every cylinder or for none",
        "an order spaces all firings evenly, or none",
    );
    let mut seen: Vec<usize> = order.to_vec();
    seen.sort_unstable();
    checks.that(
        seen.iter().copied().eq(1..=count),
        "firing_order",
        format!("{order:?}"),
        &format!("each of the {count} cylinders once"),
        "every cylinder fires once in two turns",
    );
    let apart = 720.0 / count.max(1) as f64;
    let place = |cylinder: usize| order.iter().position(|number| *number == cylinder).unwrap_or(0);
    (1..=count).map(|cylinder| apart * place(cylinder) as f64).collect()
}
