//! How often each undersize, and each pair of undersizes, cleans up.

use crate::axis::{Rooms, Told};
use crate::chance::{Chance, SAME_LENGTH_MM};

/// The circles that the wheel must leave, and the stock wanted of them.
#[derive(Clone, Debug)]
pub(crate) struct Ladders {
    /// Radius wanted at each step of the ladder, standard first: mains, pins.
    pub(crate) wanted_mm: [Vec<f64>; 2],
    /// Metal that must come off everywhere, on the radius.
    pub(crate) stock_mm: f64,
}

impl Ladders {
    /// The radii wanted at standard.
    pub(crate) fn standard_mm(&self) -> [f64; 2] {
        [0, 1].map(|s: usize| self.wanted_mm[s].first().copied().unwrap_or(0.0))
    }

    /// Whether a set with so much room at standard cleans up at a step.
    pub(crate) fn cleans(&self, s: usize, room_mm: f64, step: usize) -> bool {
        room_mm + self.standard_mm()[s] - self.wanted_mm[s][step] >= self.stock_mm - SAME_LENGTH_MM
    }

    /// The first step at which it does.
    pub(crate) fn first_clean(&self, s: usize, room_mm: f64) -> Option<usize> {
        (0..self.wanted_mm[s].len()).find(|&step| self.cleans(s, room_mm, step))
    }
}

/// Adds further counts to those there are.
pub(crate) fn add(total: &mut [usize], more: &[usize]) {
    total.iter_mut().zip(more).for_each(|(total, more)| *total += more);
}

/// The count over many draws.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Tally {
    /// Draws made.
    pub(crate) draws: usize,
    /// For each set and step of the ladder: draws in which it cleans up.
    pub(crate) sets: [Vec<usize>; 2],
    /// For each step of the mains and each of the pins: draws in which both do.
    pub(crate) pairs: Vec<Vec<usize>>,
    /// Of the same: draws in which each of the two sets does, where the pair is told to be set up.
    pub(crate) each: Vec<Vec<[usize; 2]>>,
    /// Of the last draw: for each placement the first step of each set that cleans up.
    first: Vec<[usize; 2]>,
}

impl Tally {
    pub(crate) fn nothing(ladders: &Ladders) -> Tally {
        let [mains, pins] = [0, 1].map(|s: usize| ladders.wanted_mm[s].len());
        Tally {
            draws: 0,
            sets: [vec![0; mains], vec![0; pins]],
            pairs: vec![vec![0; pins]; mains],
            each: vec![vec![[0; 2]; pins]; mains],
            first: Vec::new(),
        }
    }

    /// So many hits of the draws.
    pub(crate) fn chance(&self, hits: usize) -> Chance {
        Chance { hits, draws: self.draws }
    }

    /// Counts one draw: the room of each set at standard, where it was asked, on each placement that is told.
    pub(crate) fn count(&mut self, ladders: &Ladders, told: &Told, rooms: &[Rooms]) {
        self.first.clear();
        self.first.extend(rooms.iter().map(|rooms| {
            [0, 1].map(|s: usize| rooms[s].and_then(|room| ladders.first_clean(s, room)).unwrap_or(usize::MAX))
        }));
        let clean = |placement: usize, s: usize, step: usize| self.first.get(placement).is_some_and(|f| step >= f[s]);
        self.draws += 1;
        for (s, (sets, told)) in self.sets.iter_mut().zip(&told.sets).enumerate() {
            for (step, (hits, &placement)) in sets.iter_mut().zip(told).enumerate() {
                *hits += usize::from(clean(placement, s, step));
            }
        }
        for (main, (row, each)) in self.pairs.iter_mut().zip(&mut self.each).enumerate() {
            for (pin, (hits, each)) in row.iter_mut().zip(each).enumerate() {
                let placement = told.pairs[main][pin];
                let both = [clean(placement, 0, main), clean(placement, 1, pin)];
                *hits += usize::from(both[0] && both[1]);
                each.iter_mut().zip(both).for_each(|(hits, clean)| *hits += usize::from(clean));
            }
        }
    }

    /// Both, added up.
    pub(crate) fn and(mut self, other: &Tally) -> Tally {
        self.draws += other.draws;
        for (sets, more) in self.sets.iter_mut().zip(&other.sets) {
            add(sets, more);
        }
        for (row, more) in self.pairs.iter_mut().zip(&other.pairs) {
            add(row, more);
        }
        for (each, more) in self.each.iter_mut().flatten().zip(other.each.iter().flatten()) {
            add(each, more);
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: rooms of 0.01 and 0.30 at standard, steps of a quarter on the diameter and 0.0125 stock: the mains need a
    /// step, the pins none. On the second placement, told for the pairs of the last column, the mains have 0.14.
    #[test]
    fn each_chance_is_counted_where_its_placement_is_told() {
        let ladder = vec![25.0, 24.875, 24.75];
        let ladders = Ladders { wanted_mm: [ladder.clone(), ladder], stock_mm: 0.0125 };
        let mut told = Told::alone(&ladders, crate::Placement::default());
        let mut tally = Tally::nothing(&ladders);
        tally.count(&ladders, &told, &[[Some(0.01), Some(0.30)]]);
        assert_eq!(tally.sets, [vec![0, 1, 1], vec![1, 1, 1]]);
        assert_eq!(tally.pairs, [[0, 0, 0], [1, 1, 1], [1, 1, 1]]);
        told.placements.push(crate::Placement::default());
        told.pairs.iter_mut().for_each(|row| row[2] = 1);
        tally.count(&ladders, &told, &[[Some(0.01), Some(0.30)], [Some(0.14), Some(-0.15)]]);
        assert_eq!(tally.sets, [vec![0, 2, 2], vec![2, 2, 2]], "alone, both stay");
        assert_eq!(tally.pairs, [[0, 0, 1], [2, 2, 2], [2, 2, 2]]);
        assert_eq!((tally.each[0][1], tally.each[0][2]), ([0, 2], [1, 2]));
        // A set that was not asked cleans up nowhere, and so does no pair.
        tally.count(&ladders, &told, &[[None, Some(0.30)], [None, Some(0.30)]]);
        assert_eq!(tally.sets, [vec![0, 2, 2], vec![3, 3, 3]]);
        assert_eq!(tally.pairs, [[0, 0, 1], [2, 2, 2], [2, 2, 2]]);
        assert_eq!((tally.draws, tally.chance(2).draws), (3, 3));
    }

    /// Radii of 30 and 29.875, stock of 0.0125 on the radius. Standard wants 0.0125 of room, a step of a quarter on the diameter
    /// 0.125 less: 0.1125 may be missing there, and a tenth of a micron more may not.
    #[test]
    fn a_step_gives_half_of_itself_to_the_room() {
        let ladders = Ladders { wanted_mm: [vec![30.0, 29.875], vec![30.0]], stock_mm: 0.0125 };
        for (room_mm, step, cleans) in
            [(0.0125, 0, true), (0.0124, 0, false), (-0.1125, 1, true), (-0.1126, 1, false), (-0.1125, 0, false)]
        {
            assert_eq!(ladders.cleans(0, room_mm, step), cleans, "{room_mm} at step {step}");
        }
        assert_eq!(
            (ladders.first_clean(0, 0.02), ladders.first_clean(0, -0.1), ladders.first_clean(0, -0.2)),
            (Some(0), Some(1), None)
        );
    }
}
