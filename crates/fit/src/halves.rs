//! Half shells by kind, and the cheapest way to hand them out, bearing by bearing.

use std::collections::HashMap;

use crate::Half;
use crate::matching::{Candidate, NoMatch, Pair};

/// What handing out costs that cannot be done.
const NEVER: i64 = i64::MAX;

/// Half shells with the same wall that go to the same place.
#[derive(Debug)]
struct Kind {
    wall_nm: i64,
    half: Half,
    /// Its members, in the order of the bench.
    members: Vec<usize>,
    /// What one of them counts in a [`State`].
    stride: u64,
}

/// Two kinds that can share a housing.
#[derive(Clone, Copy, Debug)]
struct Two {
    upper: usize,
    lower: usize,
    walls_nm: i64,
    /// What taking both away takes off a [`State`].
    takes: u64,
}

/// How many of each kind are left, as one number.
type State = u64;

/// The halves on the bench.
#[derive(Debug)]
pub(crate) struct Halves {
    kinds: Vec<Kind>,
    twos: Vec<Two>,
    full: State,
}

/// How much may still be looked at before a bench counts as too varied.
#[derive(Debug)]
pub(crate) struct Patience(pub(crate) u64);

impl Patience {
    /// [`NoMatch::TooMany`] where it is at an end.
    pub(crate) fn less(&mut self, by: usize) -> Result<(), NoMatch> {
        self.0 = self.0.checked_sub(by as u64 + 1).ok_or(NoMatch::TooMany)?;
        Ok(())
    }
}

impl Halves {
    /// The halves sorted into kinds; [`NoMatch::TooMany`] where not even their counts fit one number.
    pub(crate) fn of(bench: &[Candidate]) -> Result<Halves, NoMatch> {
        let mut kinds: Vec<Kind> = Vec::new();
        for (index, candidate) in bench.iter().enumerate() {
            match kinds.iter_mut().find(|kind| kind.wall_nm == candidate.wall_nm && kind.half == candidate.half) {
                Some(kind) => kind.members.push(index),
                None => {
                    let Candidate { wall_nm, half } = *candidate;
                    kinds.push(Kind { wall_nm, half, members: vec![index], stride: 0 });
                }
            }
        }
        let mut states: State = 1;
        for kind in &mut kinds {
            kind.stride = states;
            states = states.checked_mul(kind.members.len() as u64 + 1).ok_or(NoMatch::TooMany)?;
        }
        let mut twos = Vec::new();
        for (u, upper) in kinds.iter().enumerate().filter(|(_, kind)| kind.half != Half::Lower) {
            for (l, lower) in kinds.iter().enumerate().filter(|(_, kind)| kind.half != Half::Upper) {
                // Two kinds that fit either half are taken in one order only.
                if !(upper.half == Half::Either && lower.half == Half::Either && u > l) {
                    let walls_nm = upper.wall_nm.saturating_add(lower.wall_nm);
                    twos.push(Two { upper: u, lower: l, walls_nm, takes: upper.stride + lower.stride });
                }
            }
        }
        Ok(Halves { kinds, twos, full: states - 1 })
    }

    /// Every sum of two walls that can share a housing, ascending, each once.
    pub(crate) fn sums_nm(&self) -> Vec<i64> {
        let mut sums: Vec<i64> = self.twos.iter().map(|two| two.walls_nm).collect();
        sums.sort_unstable();
        sums.dedup();
        sums
    }

    /// Hands out two halves to each bearing so that the sum of `costs` is least; of ways that cost the same the first.
    ///
    /// `limits_nm` holds for each bearing the least and the most that its two walls may be together; `cost` is asked with
    /// the bearing and its two walls, and is never negative. None where no way keeps the limits.
    pub(crate) fn cheapest(
        &self,
        limits_nm: &[(i64, i64)],
        cost: &dyn Fn(usize, i64) -> i64,
        patience: &mut Patience,
    ) -> Result<Option<(i64, Vec<usize>)>, NoMatch> {
        let ways: Vec<Vec<usize>> = limits_nm
            .iter()
            .map(|(least, most)| {
                let fits = |two: &Two| (*least..=*most).contains(&two.walls_nm);
                self.twos.iter().enumerate().filter(|(_, two)| fits(two)).map(|(index, _)| index).collect()
            })
            .collect();
        let mut walk = Walk { halves: self, ways: &ways, cost, known: HashMap::new(), patience };
        let all = walk.from(0, self.full)?;
        if all == NEVER {
            return Ok(None);
        }
        let (mut state, mut rest, mut chosen) = (self.full, all, Vec::with_capacity(ways.len()));
        for (bearing, open) in ways.iter().enumerate() {
            for &way in open {
                if let Some((with, after)) = walk.taking(bearing, state, way)?
                    && with == rest
                {
                    chosen.push(way);
                    rest -= self.twos.get(way).map_or(0, |two| cost(bearing, two.walls_nm));
                    state = after;
                    break;
                }
            }
        }
        Ok(Some((all, chosen)))
    }

    /// The halves themselves, for ways that [`Halves::cheapest`] chose.
    pub(crate) fn handed_out(&self, ways: &[usize]) -> Option<Vec<Pair>> {
        let mut taken = vec![0usize; self.kinds.len()];
        let mut next = |kind: usize| {
            let nth = taken.get_mut(kind)?;
            *nth += 1;
            self.kinds.get(kind)?.members.get(*nth - 1).copied()
        };
        ways.iter()
            .map(|way| {
                let two = self.twos.get(*way)?;
                Some(Pair { upper: next(two.upper)?, lower: next(two.lower)? })
            })
            .collect()
    }

    fn left(&self, kind: usize, state: State) -> u64 {
        self.kinds.get(kind).map_or(0, |kind| state / kind.stride % (kind.members.len() as u64 + 1))
    }
}

/// One search: what is left on the bench says how many bearings have theirs, so what the rest costs is known by that.
struct Walk<'a> {
    halves: &'a Halves,
    ways: &'a [Vec<usize>],
    cost: &'a dyn Fn(usize, i64) -> i64,
    known: HashMap<State, i64>,
    patience: &'a mut Patience,
}

impl Walk<'_> {
    /// The least that the bearings from this one on cost.
    fn from(&mut self, bearing: usize, state: State) -> Result<i64, NoMatch> {
        let ways = self.ways;
        let Some(open) = ways.get(bearing) else { return Ok(0) };
        if let Some(cost) = self.known.get(&state) {
            return Ok(*cost);
        }
        self.patience.less(open.len())?;
        let mut least = NEVER;
        for &way in open {
            if let Some((cost, _)) = self.taking(bearing, state, way)? {
                least = least.min(cost);
            }
            if least == 0 {
                break;
            }
        }
        self.known.insert(state, least);
        Ok(least)
    }

    /// What it costs to give a bearing these two, and what is left then; none where they or the rest cannot be had.
    fn taking(&mut self, bearing: usize, state: State, way: usize) -> Result<Option<(i64, State)>, NoMatch> {
        let Some(two) = self.halves.twos.get(way).copied() else { return Ok(None) };
        let needed = if two.upper == two.lower { 2 } else { 1 };
        if self.halves.left(two.upper, state) < needed || self.halves.left(two.lower, state) < needed {
            return Ok(None);
        }
        let after = state - two.takes;
        let rest = self.from(bearing + 1, after)?;
        let cost = rest.checked_add((self.cost)(bearing, two.walls_nm)).filter(|_| rest < NEVER);
        Ok(cost.map(|cost| (cost, after)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: SciPy's `linear_sum_assignment` on 120 benches of shells (`checks/make_matching.py`), whole nanometres, so
    /// the sums must agree to the last digit.
    #[test]
    fn halves_are_handed_out_as_scipys_solver_does() {
        let table = include_str!("../tests/data/matching.csv");
        let mut compared = 0;
        for line in table.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())) {
            let cells: Vec<&str> = line.split(',').collect();
            let list = |cell: &str| -> Vec<i64> { cell.split(' ').map(|n| n.parse().unwrap()).collect() };
            let spaces = list(cells[0]);
            let of = |cell: &str, half: Half| -> Vec<Candidate> {
                list(cell).into_iter().map(|wall_nm| Candidate { wall_nm, half }).collect()
            };
            let bench = [of(cells[1], Half::Upper), of(cells[2], Half::Lower)].concat();
            let halves = Halves::of(&bench).unwrap();
            let any = vec![(i64::MIN, i64::MAX); spaces.len()];
            let squares = |bearing: usize, walls_nm: i64| (spaces[bearing] - walls_nm).pow(2);
            let (least, ways) = halves.cheapest(&any, &squares, &mut Patience(1 << 24)).unwrap().unwrap();
            assert_eq!(least.to_string(), cells[3], "{line}");
            let pairs = halves.handed_out(&ways).unwrap();
            let walls = |pair: &Pair| bench[pair.upper].wall_nm + bench[pair.lower].wall_nm;
            let handed: i64 = spaces.iter().zip(&pairs).map(|(space, pair)| (space - walls(pair)).pow(2)).sum();
            assert_eq!(handed, least, "{line}");
            compared += 1;
        }
        assert_eq!(compared, 120);
    }
}
