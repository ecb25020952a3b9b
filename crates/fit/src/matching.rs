//! Which half shell goes where: the halves assigned to the bearings for the least spread, exactly.
//!
//! All journals of a set are ground to one size, and that size follows the bearings: what the halves decide is how far
//! the bearings differ from each other. So the objective rests on no size of the journals. Of all ways to hand out the
//! halves these are taken, one rule after the other:
//!
//! 1. those with which some journal size within the book's finished limits keeps every bearing within its clearance, at
//!    its tightest and at its loosest; where no way does, all ways;
//! 2. of these the ways with the least spread, the greatest mean bore less the least;
//! 3. of these the least sum of squares about the wanted bore. The journals will be finished to the middle between the
//!    tightest and the widest bore less the wanted clearance, held within the finished limits; the wanted bore is that
//!    size and the wanted clearance;
//! 4. of these the first: bearings in their order get halves in the order of the bench.
//!
//! Bearings that have their shells already count in 1 and 2. Journals that are not to be ground again have no choice of
//! size: then the clearances stand in the place of the bores, and zero in the place of the size.
//!
//! An upper and a lower half for each bearing is more than the textbook assignment of one thing to one place. It is solved
//! by trying windows: the least spread is the narrowest one in which every bearing finds two halves, and whether it does is
//! gone through completely, kinds of equal wall taken together.

use crate::Half;
use crate::halves::{Halves, Patience};

/// A half shell on the bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// Its wall, in nanometres.
    pub wall_nm: i64,
    /// Where it can go.
    pub half: Half,
}

/// The halves chosen for one bearing, as indices into the candidates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pair {
    /// For the housing.
    pub upper: usize,
    /// For the cap.
    pub lower: usize,
}

/// A bore over the places where it was measured, in nanometres; less its journal where that keeps its size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Room {
    /// Smallest bore less largest journal.
    pub least_nm: i64,
    /// Mean bore less mean journal.
    pub mean_nm: i64,
    /// Largest bore less smallest journal.
    pub most_nm: i64,
}

/// What is asked of the halves of one set.
#[derive(Clone, Copy, Debug)]
pub struct Task<'a> {
    /// Housings that are to get two halves each: bare.
    pub open: &'a [Room],
    /// Bearings of the set that have their shells: with them in.
    pub settled: &'a [Room],
    /// The least and the greatest journal size that the book permits; zero and zero where journals keep their sizes.
    pub size_nm: (i64, i64),
    /// Limits of the clearance.
    pub clearance_nm: Option<(i64, i64)>,
    /// The wanted clearance.
    pub wanted_nm: Option<i64>,
}

/// Why no assignment was found.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoMatch {
    /// There are not enough halves of the right kind.
    #[error("{needed} upper and {needed} lower halves are needed, and those on the bench do not make them up")]
    TooFew {
        /// How many of each.
        needed: usize,
    },
    /// More different walls than can be gone through.
    #[error("too many different walls to match exactly: sort the halves into grades of a graduation first")]
    TooMany,
}

/// Most halves tried in a place, and most windows: about a second. Thirteen bearings with five grades take a small part.
const PATIENCE: u64 = 10_000_000;
/// A departure is cut here, 2 mm: thousands of its squares still fit the sum.
const MOST_NM: i64 = 2_000_000;

/// Assigns an upper and a lower half to each open bearing, by the rules at the head of this file.
///
/// # Units
/// Nanometres; walls are single walls.
/// # Errors
/// [`NoMatch`].
/// # Limits
/// Exact, or refused. Walls in grades are no question of size; two dozen halves that are all different may be refused.
/// # Example
/// ```
/// use fit::{Candidate, Half, Room, Task, matched};
/// // Two bearings whose bores are 20 µm apart, and halves of two walls 10 µm apart: the thick pair goes to the wide bore.
/// let room = |nm: i64| Room { least_nm: nm, mean_nm: nm, most_nm: nm };
/// let open = [room(57_700_000), room(57_680_000)];
/// let halves = [1_820_000, 1_820_000, 1_830_000, 1_830_000].map(|wall_nm| Candidate { wall_nm, half: Half::Either });
/// let task = Task { open: &open, settled: &[], size_nm: (0, 0), clearance_nm: None, wanted_nm: None };
/// let pairs = matched(&task, &halves)?;
/// assert_eq!((pairs[0].upper, pairs[0].lower), (2, 3));
/// assert_eq!((pairs[1].upper, pairs[1].lower), (0, 1));
/// # Ok::<(), fit::NoMatch>(())
/// ```
pub fn matched(task: &Task<'_>, bench: &[Candidate]) -> Result<Vec<Pair>, NoMatch> {
    let needed = task.open.len();
    let too_few = NoMatch::TooFew { needed };
    let of = |half: Half| bench.iter().filter(|candidate| candidate.half == half).count();
    let missing = needed.saturating_sub(of(Half::Upper)) + needed.saturating_sub(of(Half::Lower));
    if missing > of(Half::Either) {
        return Err(too_few);
    }
    let halves = Halves::of(bench)?;
    let mut search = Search::of(task, &halves)?;
    for limits in [task.clearance_nm, None] {
        if let Some(spread_nm) = search.least_spread_nm(limits)? {
            let chosen = search.nearest(limits, spread_nm)?;
            return chosen.and_then(|ways| halves.handed_out(&ways)).ok_or(too_few);
        }
    }
    Err(too_few)
}

/// Limits of the two walls of each open bearing.
type Walls = Vec<(i64, i64)>;

struct Search<'a> {
    task: &'a Task<'a>,
    halves: &'a Halves,
    sums_nm: Vec<i64>,
    /// Every mean bore that a bearing can have, ascending: where a window can begin or end.
    bores_nm: Vec<i64>,
    patience: Patience,
}

impl<'a> Search<'a> {
    fn of(task: &'a Task<'a>, halves: &'a Halves) -> Result<Search<'a>, NoMatch> {
        let sums_nm = halves.sums_nm();
        if (sums_nm.len() as u64).saturating_mul(task.open.len() as u64) > PATIENCE / 100 {
            return Err(NoMatch::TooMany);
        }
        let of_room = |room: &Room| {
            let mean_nm = room.mean_nm;
            sums_nm.iter().map(move |sum| mean_nm - sum).collect::<Vec<i64>>()
        };
        let mut bores_nm: Vec<i64> = task.open.iter().flat_map(of_room).collect();
        bores_nm.extend(task.settled.iter().map(|room| room.mean_nm));
        bores_nm.sort_unstable();
        bores_nm.dedup();
        Ok(Search { task, halves, sums_nm, bores_nm, patience: Patience(PATIENCE) })
    }

    /// The least spread that the halves permit; none where no way keeps the limits.
    fn least_spread_nm(&mut self, limits: Option<(i64, i64)>) -> Result<Option<i64>, NoMatch> {
        let bores = self.bores_nm.clone();
        let (Some(&first), Some(&last)) = (bores.first(), bores.last()) else { return Ok(Some(0)) };
        if !self.is_possible(first, last, limits)? {
            return Ok(None);
        }
        let mut spread_nm = last - first;
        for (at, &low) in bores.iter().enumerate() {
            if spread_nm == 0 || !self.is_possible(low, low + spread_nm - 1, limits)? {
                continue;
            }
            // The narrowest window from here lies between two of the bores.
            let ends: Vec<i64> = bores.iter().skip(at).copied().take_while(|high| *high < low + spread_nm).collect();
            let (mut from, mut to) = (0, ends.len().saturating_sub(1));
            while from < to {
                let middle = (from + to) / 2;
                let high = ends.get(middle).copied().unwrap_or(low);
                if self.is_possible(low, high, limits)? { to = middle } else { from = middle + 1 }
            }
            spread_nm = ends.get(from).copied().unwrap_or(low) - low;
        }
        Ok(Some(spread_nm))
    }

    fn is_possible(&mut self, low: i64, high: i64, limits: Option<(i64, i64)>) -> Result<bool, NoMatch> {
        for walls in self.walls(low, high, limits)? {
            if self.halves.cheapest(&walls, &|_, _| 0, &mut self.patience)?.is_some() {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Of the ways with the least spread the one nearest to what is wanted.
    fn nearest(&mut self, limits: Option<(i64, i64)>, spread_nm: i64) -> Result<Option<Vec<usize>>, NoMatch> {
        let mut best: Option<(i64, Vec<usize>)> = None;
        for low in self.bores_nm.clone() {
            // No way has less spread, so in this window every way reaches from end to end: its middle is known. Twice it
            // is a whole number.
            let middle = 2 * low + spread_nm;
            let (smallest, largest) = self.task.size_nm;
            let wanted = self.task.wanted_nm.map_or(middle, |wanted_nm| {
                middle.clamp(2 * (smallest + wanted_nm), 2 * (largest.max(smallest) + wanted_nm))
            });
            let open = self.task.open;
            let squared = |bearing: usize, walls_nm: i64| {
                let mean_nm = open.get(bearing).map_or(0, |room| room.mean_nm);
                (2 * (mean_nm - walls_nm) - wanted).clamp(-2 * MOST_NM, 2 * MOST_NM).pow(2)
            };
            for walls in self.walls(low, low + spread_nm, limits)? {
                let found = self.halves.cheapest(&walls, &squared, &mut self.patience)?;
                best = best.into_iter().chain(found).min();
            }
        }
        Ok(best.map(|(_, ways)| ways))
    }

    /// What the two walls of each bearing may be so that its mean bore lies within a window and, where limits are given,
    /// one journal size keeps all clearances: for each journal size that permits what no other does.
    fn walls(&mut self, low: i64, high: i64, limits: Option<(i64, i64)>) -> Result<Vec<Walls>, NoMatch> {
        let Task { open, settled, size_nm: (smallest, largest), .. } = *self.task;
        if settled.iter().any(|room| !(low..=high).contains(&room.mean_nm)) {
            return Ok(Vec::new());
        }
        let sums = &self.sums_nm;
        // Only sums that there are: two limits between the same sums are one.
        let met = |(least, most): (i64, i64)| {
            let from = sums.partition_point(|sum| *sum < least);
            let to = sums.partition_point(|sum| *sum <= most);
            Some((*sums.get(from)?, *sums.get(to.checked_sub(1)?)?)).filter(|(least, most)| least <= most)
        };
        let window = |room: &Room| (room.mean_nm - high, room.mean_nm - low);
        let Some(within): Option<Walls> = open.iter().map(|room| met(window(room))).collect() else {
            return Ok(Vec::new());
        };
        let Some((tightest, loosest)) = limits else { return Ok(vec![within]) };
        // A journal may grow until the tightest bearing stops it, and loses nothing by it: no other sizes need a look.
        let mut sizes = vec![largest];
        for (room, (least, most)) in open.iter().zip(&within) {
            let walls = sums.iter().filter(|sum| (least..=most).contains(sum));
            sizes.extend(walls.map(|walls_nm| room.least_nm - walls_nm - tightest));
        }
        sizes.extend(settled.iter().map(|room| room.least_nm - tightest));
        sizes.retain(|size| (smallest..=largest).contains(size));
        sizes.sort_unstable();
        sizes.dedup();
        self.patience.less(sizes.len().saturating_mul(open.len()))?;
        let mut all: Vec<Walls> = Vec::new();
        for size in sizes {
            let keeps = |room: &Room| room.least_nm - size >= tightest && room.most_nm - size <= loosest;
            let one = |room: &Room| {
                let (least, most) = window(room);
                met((least.max(room.most_nm - size - loosest), most.min(room.least_nm - size - tightest)))
            };
            if let Some(walls) = open.iter().map(one).collect::<Option<Walls>>()
                && settled.iter().all(keeps)
            {
                let covers = |a: &Walls, b: &Walls| a.iter().zip(b).all(|(a, b)| a.0 <= b.0 && a.1 >= b.1);
                // Limits move one way as the size grows, so what is covered is covered by a neighbour.
                while all.last().is_some_and(|last| covers(&walls, last)) {
                    all.pop();
                }
                if all.last().is_none_or(|last| !covers(last, &walls)) {
                    all.push(walls);
                }
            }
        }
        Ok(all)
    }
}
