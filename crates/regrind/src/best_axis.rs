//! How often each undersize, and each pair, cleans up if every simulated crank has the axis that suits it best.
//!
//! On a held axis there is but one. On a free one this is more than anybody reaches at the machine, for a real crank does not
//! show what was drawn: it says what the crank as far as it was measured has in it at most (`chance_as_measured`), while every
//! chance that is decided on stands on the placement that is told ([`Told`](crate::axis::Told)).

use programme::Unsolved;

use crate::chance::Chance;
use crate::tally::{Ladders, add};

/// The count over many draws.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct BestTally {
    /// Draws made.
    pub(crate) draws: usize,
    /// Draws whose programme could not be solved; they count for nothing.
    pub(crate) lost: usize,
    /// For each set and step of the ladder: draws in which it cleans up.
    pub(crate) sets: [Vec<usize>; 2],
    /// For each step of the mains and each of the pins: draws in which both do.
    pub(crate) pairs: Vec<Vec<usize>>,
}

impl BestTally {
    pub(crate) fn nothing(ladders: &Ladders) -> BestTally {
        let [mains, pins] = [0, 1].map(|s: usize| ladders.wanted_mm[s].len());
        BestTally { draws: 0, lost: 0, sets: [vec![0; mains], vec![0; pins]], pairs: vec![vec![0; pins]; mains] }
    }

    /// So many hits of the draws that were not lost.
    pub(crate) fn chance(&self, hits: usize) -> Chance {
        Chance { hits, draws: self.draws - self.lost }
    }

    /// Counts one draw: the room of each set at standard, where it was asked, and whether a pair cleans up on one axis,
    /// asked only for pairs of which each set does by itself.
    ///
    /// A deeper undersize of either set is never harder, so the pairs that clean up lie above a staircase. On a held axis,
    /// and nearly always on a free one, its only corner is where both sets clean up alone.
    pub(crate) fn count(
        &mut self,
        ladders: &Ladders,
        rooms_mm: [Option<f64>; 2],
        mut pair: impl FnMut(usize, usize) -> Result<bool, Unsolved>,
    ) -> Result<(), Unsolved> {
        let first = [0, 1].map(|s: usize| rooms_mm[s].and_then(|room| ladders.first_clean(s, room)));
        let clean = match first {
            [Some(main), Some(pin)] => self.staircase(main, pin, &mut pair)?,
            _ => Vec::new(),
        };
        self.draws += 1;
        for (sets, first) in self.sets.iter_mut().zip(first) {
            if let Some(first) = first {
                sets[first..].iter_mut().for_each(|hits| *hits += 1);
            }
        }
        for (row, from) in self.pairs.iter_mut().zip(clean) {
            row[from..].iter_mut().for_each(|hits| *hits += 1);
        }
        Ok(())
    }

    /// For each step of the mains the first step of the pins from which on the pair cleans up.
    fn staircase(
        &self,
        first_main: usize,
        first_pin: usize,
        pair: &mut impl FnMut(usize, usize) -> Result<bool, Unsolved>,
    ) -> Result<Vec<usize>, Unsolved> {
        let (mains, pins) = (self.sets[0].len(), self.sets[1].len());
        let mut from = vec![pins; mains];
        if pair(first_main, first_pin)? {
            from[first_main..].fill(first_pin);
            return Ok(from);
        }
        let (mut main, mut pin) = (first_main, pins);
        while main < mains && pin > first_pin {
            if pair(main, pin - 1)? {
                // This column cleans up for this main and every deeper one.
                from[main..].fill(pin - 1);
                pin -= 1;
            } else {
                main += 1;
            }
        }
        Ok(from)
    }

    /// Both, added up.
    pub(crate) fn and(mut self, other: &BestTally) -> BestTally {
        self.draws += other.draws;
        self.lost += other.lost;
        for (sets, more) in self.sets.iter_mut().zip(&other.sets) {
            add(sets, more);
        }
        for (row, more) in self.pairs.iter_mut().zip(&other.pairs) {
            add(row, more);
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: rooms of 0.01 and 0.30 at standard, steps of a quarter on the diameter and 0.0125 stock: the mains need a
    /// step, the pins none; where the pair holds only from the pins' second step on, the first column stays empty.
    #[test]
    fn pairs_are_counted_above_their_staircase() {
        let ladder = vec![25.0, 24.875, 24.75];
        let ladders = Ladders { wanted_mm: [ladder.clone(), ladder], stock_mm: 0.0125 };
        let mut tally = BestTally::nothing(&ladders);
        tally.count(&ladders, [Some(0.01), Some(0.30)], |_, _| Ok(true)).unwrap();
        assert_eq!(tally.sets, [vec![0, 1, 1], vec![1, 1, 1]]);
        assert_eq!(tally.pairs, [[0, 0, 0], [1, 1, 1], [1, 1, 1]]);
        tally.count(&ladders, [Some(0.01), Some(0.30)], |_, pin| Ok(pin > 0)).unwrap();
        assert_eq!(tally.pairs, [[0, 0, 0], [1, 2, 2], [1, 2, 2]]);
        // A set that was not asked cleans up nowhere, and so does no pair.
        tally.count(&ladders, [None, Some(0.30)], |_, _| Ok(true)).unwrap();
        assert_eq!(tally.sets, [vec![0, 2, 2], vec![3, 3, 3]]);
        assert_eq!((tally.draws, tally.chance(2).draws), (3, 3));
    }
}
