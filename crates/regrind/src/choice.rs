//! The choice between leaving a set alone, polishing it, grinding it to an undersize, building it up and scrapping it.

use std::fmt;

use crate::chance::SAME_LENGTH_MM;
use crate::{Policy, SetPrices, SetVerdict};

/// What to do with a set of journals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Choice {
    /// It is within its limits and undamaged.
    LeaveAlone,
    /// A polish brings it within its limits.
    PolishOnly,
    /// Grind to this undersize, on the diameter.
    Grind {
        /// The undersize.
        undersize_mm: f64,
    },
    /// No undersize does; metal has to be put on first.
    BuildUp,
    /// It cannot be saved.
    Scrap,
    /// Something must be looked at first; [`SetVerdict::undecided`] says what.
    NotDecided,
}

impl Choice {
    /// The choice in a word or two, without its size.
    pub const fn word(self) -> &'static str {
        match self {
            Choice::LeaveAlone => "leave alone",
            Choice::PolishOnly => "polish only",
            Choice::Grind { .. } => "grind",
            Choice::BuildUp => "build up",
            Choice::Scrap => "scrap",
            Choice::NotDecided => "not decided",
        }
    }

    /// The undersize, where it is to be ground.
    pub const fn undersize_mm(self) -> Option<f64> {
        match self {
            Choice::Grind { undersize_mm } => Some(undersize_mm),
            _ => None,
        }
    }
}

impl fmt::Display for Choice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// What the choice between the steps of one set rests on.
#[derive(Clone, Debug)]
pub(crate) struct Ladder<'a> {
    /// Undersizes from standard down, on the diameter.
    pub(crate) steps_mm: &'a [f64],
    /// Chance of each, rising.
    pub(crate) chances: &'a [f64],
}

/// Chooses an undersize for one set, or gives it up: without prices the smallest undersize whose chance reaches the shop's
/// confidence; with prices the start whose expected cost is least.
pub(crate) fn choose(ladder: &Ladder<'_>, policy: &Policy, prices: Option<&SetPrices>) -> Choice {
    let surest = ladder.chances.last().copied().unwrap_or(0.0);
    let step = match prices {
        Some(prices) if surest >= policy.confidence => (0..ladder.steps_mm.len())
            .filter(|&start| ladder.chances[start] > 0.0)
            .min_by(|&a, &b| expected_cost(ladder, prices, a).total_cmp(&expected_cost(ladder, prices, b))),
        _ => ladder.chances.iter().position(|&chance| chance >= policy.confidence),
    };
    match step {
        Some(step) => Choice::Grind { undersize_mm: ladder.steps_mm[step] },
        None if policy.build_up => Choice::BuildUp,
        None => Choice::Scrap,
    }
}

impl SetPrices {
    /// What starting at a step costs on a crank that first cleans up at `first`, of so many permitted steps: the passes
    /// down to there, the shells, the life used up; the crank where none cleans up.
    pub(crate) fn walk(&self, start: usize, first: usize, permitted: usize) -> f64 {
        let end = first.max(start);
        if end >= permitted {
            return self.pass * (permitted - start) as f64 + self.scrap;
        }
        self.pass * (end - start + 1) as f64 + shells(self, end) + self.life * end as f64
    }
}

/// What it is expected to cost to start at a step and to go down from there until it cleans up: the passes, the shells
/// of the size it ends at, the life used up on the way there, and the crank where the last step fails too.
///
/// Whatever cleans up at a step cleans up at every deeper one, so the chance of ending at a step is the difference of
/// its chance and the one before.
pub(crate) fn expected_cost(ladder: &Ladder<'_>, prices: &SetPrices, start: usize) -> f64 {
    let mut cost = 0.0;
    let mut cleaned_before = 0.0;
    for (step, &chance) in ladder.chances.iter().enumerate().skip(start) {
        cost += prices.pass * (1.0 - cleaned_before);
        let ends_here = (chance - cleaned_before).max(0.0);
        cost += ends_here * (shells(prices, step) + prices.life * step as f64);
        cleaned_before = chance.max(cleaned_before);
    }
    cost + (1.0 - cleaned_before) * prices.scrap
}

/// What starting at one step is expected to cost, in the parts that a customer asks about. The parts add up to
/// [`StepVerdict::expected_cost`](crate::StepVerdict::expected_cost).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bill {
    /// The first pass.
    pub grind: f64,
    /// Shells of this step's size.
    pub bearings: f64,
    /// What the steps used up by then are worth.
    pub life: f64,
    /// Chance, 0 to 1, that it does not clean up here.
    pub again_share: f64,
    /// What going on from here costs more, on average, where it does not.
    pub again: f64,
}

impl Bill {
    /// All of it.
    pub fn total(&self) -> f64 {
        self.grind + self.bearings + self.life + self.again_share * self.again
    }
}

/// The likely bill for starting at a step of a set's ladder, with these prices; none where the book does not permit it.
///
/// Money is in the currency of the prices.
pub fn bill(set: &SetVerdict, prices: &SetPrices, undersize_mm: f64) -> Option<Bill> {
    let permitted = || set.steps.iter().filter(|step| step.permitted);
    let start = permitted().position(|step| (step.undersize_mm - undersize_mm).abs() < SAME_LENGTH_MM)?;
    let steps_mm: Vec<f64> = permitted().map(|step| step.undersize_mm).collect();
    let chances: Vec<f64> = permitted().map(|step| step.chance.share()).collect();
    let ladder = Ladder { steps_mm: &steps_mm, chances: &chances };
    let bearings = shells(prices, start);
    let life = prices.life * start as f64;
    let again_share = 1.0 - chances.get(start).copied().unwrap_or(0.0);
    let rest = expected_cost(&ladder, prices, start) - prices.pass - bearings - life;
    let again = if again_share > 0.0 { rest / again_share } else { 0.0 };
    Some(Bill { grind: prices.pass, bearings, life, again_share, again })
}

/// Shells are priced for the undersizes; standard shells cost what the first undersize's do.
fn shells(prices: &SetPrices, step: usize) -> f64 {
    prices.shells.get(step.saturating_sub(1)).or(prices.shells.last()).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Chance, StepVerdict};
    use crank::{GroundTo, SetName};
    use units::Unit;

    fn ladder<'a>(steps_mm: &'a [f64], chances: &'a [f64]) -> Ladder<'a> {
        Ladder { steps_mm, chances }
    }

    #[test]
    fn without_prices_the_smallest_sure_step_wins() {
        let policy = Policy::usual(Unit::Inch);
        let steps = [0.0, 0.254, 0.508, 0.762];
        assert_eq!(
            choose(&ladder(&steps, &[0.0, 0.89, 0.99, 1.0]), &policy, None),
            Choice::Grind { undersize_mm: 0.508 }
        );
        assert_eq!(
            choose(&ladder(&steps, &[0.0, 0.90, 0.99, 1.0]), &policy, None),
            Choice::Grind { undersize_mm: 0.254 }
        );
        assert_eq!(choose(&ladder(&steps, &[0.0, 0.1, 0.2, 0.3]), &policy, None), Choice::Scrap);
        let may_build_up = Policy { build_up: true, ..policy };
        assert_eq!(choose(&ladder(&steps, &[0.0, 0.1, 0.2, 0.3]), &may_build_up, None), Choice::BuildUp);
    }

    /// By hand: starting at the first undersize costs 100 + 0.4·100 passes, 0.6·50 + 0.4·50 shells, 0.6·1·30 + 0.4·2·30
    /// of life = 232; starting at the second 100 + 50 + 60 = 210.
    #[test]
    fn the_cost_of_a_start_is_the_sum_over_where_it_ends() {
        let steps = [0.0, 0.254, 0.508];
        let chances = [0.0, 0.6, 1.0];
        let prices = SetPrices { pass: 100.0, shells: vec![50.0, 50.0], life: 30.0, scrap: 1000.0 };
        let l = ladder(&steps, &chances);
        assert!((expected_cost(&l, &prices, 1) - 232.0).abs() < 1e-9);
        assert!((expected_cost(&l, &prices, 2) - 210.0).abs() < 1e-9);
        let policy = Policy::usual(Unit::Inch);
        assert_eq!(choose(&l, &policy, Some(&prices)), Choice::Grind { undersize_mm: 0.508 });
        // Where a step of life is dear, the try at the first undersize pays: 140 + 50 + 140 = 330 against 350.
        let dear = SetPrices { life: 100.0, ..prices };
        assert!((expected_cost(&l, &dear, 1) - 330.0).abs() < 1e-9);
        assert!((expected_cost(&l, &dear, 2) - 350.0).abs() < 1e-9);
        assert_eq!(choose(&l, &policy, Some(&dear)), Choice::Grind { undersize_mm: 0.254 });
    }

    /// The same ladder by hand: from the first undersize 100 for the pass, 50 for shells, 30 of life, and in 40 of 100
    /// cases 100 for another pass and 30 more of life: 180 + 0.4 · 130 = 232.
    #[test]
    fn a_bill_falls_into_what_is_sure_and_what_going_again_costs() {
        let step = |undersize_mm: f64, hits: usize, permitted: bool| StepVerdict {
            undersize_mm,
            ground_size_mm: 50.0,
            chance: Chance { hits, draws: 10 },
            chance_as_measured: Chance { hits, draws: 10 },
            spare_mm: 0.0,
            spare_after_stock_mm: 0.0,
            middle_spare_mm: 0.0,
            permitted,
            set_up: None,
            way: crate::Axis::Held,
            expected_cost: None,
        };
        let steps = vec![step(0.0, 0, true), step(0.254, 6, true), step(0.508, 10, true), step(0.762, 10, false)];
        let set = SetVerdict { steps, ..SetVerdict::decided(SetName::Main, GroundTo::default(), Choice::Scrap) };
        let prices = SetPrices { pass: 100.0, shells: vec![50.0, 50.0], life: 30.0, scrap: 1000.0 };
        let found = bill(&set, &prices, 0.254).unwrap();
        assert_eq!((found.grind, found.bearings, found.life), (100.0, 50.0, 30.0));
        assert!((found.again_share - 0.4).abs() < 1e-12 && (found.again - 130.0).abs() < 1e-9);
        assert!((found.total() - 232.0).abs() < 1e-9);
        assert!((bill(&set, &prices, 0.508).unwrap().total() - 210.0).abs() < 1e-9);
        assert_eq!(bill(&set, &prices, 0.762), None);
        // An undersize that somebody typed is not the ladder's own to the last bit.
        let typed = 0.508 - 1e-13;
        assert!((bill(&set, &prices, typed).unwrap().total() - 210.0).abs() < 1e-9);
    }
}
