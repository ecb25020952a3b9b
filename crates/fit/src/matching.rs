//! Which half shell goes where: the halves assigned to the bearings so that the clearances come nearest to what is wanted.
//!
//! With an upper and a lower half for each bearing this is more than the textbook assignment of one thing to one place,
//! so it is solved exactly by going through every way to use up the halves, kinds of equal wall taken together.

use crate::Half;

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

/// Most states gone through: with walls in five grades this is far beyond any engine; 22 halves all different still fit.
const MOST_STATES: usize = 1 << 22;
/// What a state costs that cannot be finished.
const NEVER: i64 = i64::MAX;
/// A departure is cut here, 2 mm: twenty of its squares still fit the sum.
const MOST_NM: i64 = 2_000_000;

/// A kind of half shells with the same wall and place.
#[derive(Debug)]
struct Kind {
    wall_nm: i64,
    half: Half,
    /// Its members, in the order of the bench.
    members: Vec<usize>,
    stride: usize,
}

/// Assigns an upper and a lower half to each bearing so that the sum of the squared departures from what is wanted is
/// least. `spaces_nm` is, for each bearing, what its two walls together should be: bore less journal less wanted
/// clearance.
///
/// Of assignments that are equally good the first is taken: bearings in their order get halves in the order of the bench.
///
/// # Units
/// Nanometres; walls are single walls.
/// # Errors
/// [`NoMatch`].
/// # Limits
/// Where every half is used, the mean clearance is the same whatever goes where, and the least sum of squares is the
/// least spread too.
pub fn matched(spaces_nm: &[i64], bench: &[Candidate]) -> Result<Vec<Pair>, NoMatch> {
    let bearings = spaces_nm.len();
    let too_few = NoMatch::TooFew { needed: bearings };
    if bench.len() < 2 * bearings {
        return Err(too_few);
    }
    let mut kinds: Vec<Kind> = Vec::new();
    for (index, candidate) in bench.iter().enumerate() {
        match kinds.iter_mut().find(|kind| kind.wall_nm == candidate.wall_nm && kind.half == candidate.half) {
            Some(kind) => kind.members.push(index),
            None => {
                kinds.push(Kind { wall_nm: candidate.wall_nm, half: candidate.half, members: vec![index], stride: 0 })
            }
        }
    }
    let mut states = 1usize;
    for kind in &mut kinds {
        kind.stride = states;
        states = states
            .checked_mul(kind.members.len() + 1)
            .filter(|states| *states <= MOST_STATES)
            .ok_or(NoMatch::TooMany)?;
    }
    let pairs = pairs(&kinds);
    // A state is how many of each kind are left. Taking two away gives a smaller number, so one pass upwards does.
    let mut best = vec![NEVER; states];
    for state in 0..states {
        let left: usize = kinds.iter().map(|kind| left(kind, state)).sum();
        let used = bench.len() - left;
        if used % 2 == 1 || used / 2 > bearings {
            continue;
        }
        let bearing = used / 2;
        let cost = if bearing == bearings {
            0
        } else {
            let space_nm = spaces_nm.get(bearing).copied().unwrap_or_default();
            pairs.iter().filter_map(|pair| step(&kinds, &best, state, *pair, space_nm)).min().unwrap_or(NEVER)
        };
        if let Some(slot) = best.get_mut(state) {
            *slot = cost;
        }
    }
    let mut state = states - 1;
    let mut taken = vec![0usize; kinds.len()];
    let mut chosen = Vec::with_capacity(bearings);
    for &space_nm in spaces_nm {
        let least = best.get(state).copied().filter(|cost| *cost < NEVER).ok_or(too_few.clone())?;
        let pair = pairs
            .iter()
            .find(|pair| step(&kinds, &best, state, **pair, space_nm) == Some(least))
            .copied()
            .ok_or(too_few.clone())?;
        let mut hand_out = |kind: usize| {
            let nth = taken.get_mut(kind)?;
            *nth += 1;
            kinds.get(kind)?.members.get(*nth - 1).copied()
        };
        let (upper, lower) = (hand_out(pair.0), hand_out(pair.1));
        let (Some(upper), Some(lower)) = (upper, lower) else { return Err(too_few) };
        chosen.push(Pair { upper, lower });
        state = state.saturating_sub(stride(&kinds, pair.0) + stride(&kinds, pair.1));
    }
    Ok(chosen)
}

/// Every pair of kinds that can share a housing; two kinds that fit either half in one order only.
fn pairs(kinds: &[Kind]) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    for (u, upper) in kinds.iter().enumerate().filter(|(_, kind)| kind.half != Half::Lower) {
        for (l, lower) in kinds.iter().enumerate().filter(|(_, kind)| kind.half != Half::Upper) {
            if !(upper.half == Half::Either && lower.half == Half::Either && u > l) {
                pairs.push((u, l));
            }
        }
    }
    pairs
}

fn stride(kinds: &[Kind], kind: usize) -> usize {
    kinds.get(kind).map_or(0, |kind| kind.stride)
}

fn left(kind: &Kind, state: usize) -> usize {
    state / kind.stride % (kind.members.len() + 1)
}

/// What the rest costs when the next bearing gets this pair; none where the pair is not left or the rest cannot be done.
fn step(kinds: &[Kind], best: &[i64], state: usize, (u, l): (usize, usize), space_nm: i64) -> Option<i64> {
    let (upper, lower) = (kinds.get(u)?, kinds.get(l)?);
    let needed = if u == l { 2 } else { 1 };
    if left(upper, state) < needed || left(lower, state) < needed {
        return None;
    }
    let rest = best.get(state.checked_sub(upper.stride + lower.stride)?).copied().filter(|cost| *cost < NEVER)?;
    let walls_nm = upper.wall_nm.saturating_add(lower.wall_nm);
    let off_nm = space_nm.saturating_sub(walls_nm).clamp(-MOST_NM, MOST_NM);
    rest.checked_add(off_nm * off_nm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn half(wall_nm: i64, half: Half) -> Candidate {
        Candidate { wall_nm, half }
    }

    fn cost(spaces: &[i64], bench: &[Candidate], pairs: &[Pair]) -> i64 {
        let walls = |pair: &Pair| bench[pair.upper].wall_nm + bench[pair.lower].wall_nm;
        spaces.iter().zip(pairs).map(|(space, pair)| (space - walls(pair)).pow(2)).sum()
    }

    /// Every way, one after the other: slow and certain.
    fn by_force(spaces: &[i64], bench: &[Candidate], used: &mut Vec<bool>) -> Option<i64> {
        let Some((space, rest)) = spaces.split_first() else { return Some(0) };
        let mut least = None;
        for u in 0..bench.len() {
            for l in 0..bench.len() {
                let fits = bench[u].half != Half::Lower && bench[l].half != Half::Upper;
                if u == l || used[u] || used[l] || !fits {
                    continue;
                }
                (used[u], used[l]) = (true, true);
                if let Some(more) = by_force(rest, bench, used) {
                    let all = more + (space - bench[u].wall_nm - bench[l].wall_nm).pow(2);
                    least = Some(least.map_or(all, |so_far: i64| so_far.min(all)));
                }
                (used[u], used[l]) = (false, false);
            }
        }
        least
    }

    proptest! {
        #[test]
        fn no_other_way_is_better(
            spaces in prop::collection::vec(3_600_000i64..3_610_000, 1..=3),
            walls in prop::collection::vec((1_800_000i64..1_805_000, 0usize..3), 0..=8),
        ) {
            let halves = [Half::Upper, Half::Lower, Half::Either];
            let bench: Vec<Candidate> = walls.iter().map(|(wall, h)| half(wall / 1000 * 1000, halves[*h])).collect();
            let forced = by_force(&spaces, &bench, &mut vec![false; bench.len()]);
            match matched(&spaces, &bench) {
                Ok(pairs) => {
                    prop_assert_eq!(Some(cost(&spaces, &bench, &pairs)), forced);
                    let mut seen: Vec<usize> = pairs.iter().flat_map(|p| [p.upper, p.lower]).collect();
                    seen.sort_unstable();
                    seen.dedup();
                    prop_assert_eq!(seen.len(), 2 * spaces.len(), "a half stands in two places");
                }
                Err(NoMatch::TooFew { needed }) => {
                    prop_assert_eq!(needed, spaces.len());
                    prop_assert_eq!(forced, None);
                }
                Err(NoMatch::TooMany) => prop_assert!(false, "eight halves are never too many"),
            }
        }
    }

    #[test]
    fn equals_are_handed_out_in_their_order() {
        let bench = vec![half(1_800_000, Half::Either); 6];
        let pairs = matched(&[3_600_000; 3], &bench).unwrap();
        let order: Vec<(usize, usize)> = pairs.iter().map(|p| (p.upper, p.lower)).collect();
        assert_eq!(order, [(0, 1), (2, 3), (4, 5)]);
    }

    #[test]
    fn thick_halves_go_to_the_wide_housing() {
        let (thin, thick) = (1_800_000, 1_804_000);
        let bench = [thick, thin, thick, thin].map(|wall| half(wall, Half::Either));
        // The second housing is 8 µm wider: it gets both thick halves.
        let pairs = matched(&[3_600_000, 3_608_000], &bench).unwrap();
        assert_eq!(pairs, [Pair { upper: 1, lower: 3 }, Pair { upper: 0, lower: 2 }]);
    }

    #[test]
    fn an_upper_half_never_goes_into_the_cap() {
        let bench = [half(1, Half::Upper), half(2, Half::Upper), half(3, Half::Lower), half(4, Half::Either)];
        let pairs = matched(&[0, 0], &bench).unwrap();
        assert!(pairs.iter().all(|pair| pair.upper < 2 && pair.lower >= 2), "{pairs:?}");
        assert_eq!(matched(&[0, 0], &bench[..3]), Err(NoMatch::TooFew { needed: 2 }));
    }

    #[test]
    fn a_long_engine_with_graded_shells_is_matched_and_a_heap_of_odd_ones_is_refused() {
        let bench: Vec<Candidate> = (0..26).map(|n| half(1_800_000 + n % 4 * 2_540, Half::Either)).collect();
        let spaces: Vec<i64> = (0..13).map(|n| 3_603_000 + n * 500).collect();
        assert_eq!(matched(&spaces, &bench).unwrap().len(), 13);
        let odd: Vec<Candidate> = (0..26).map(|n| half(1_800_000 + n * 100, Half::Either)).collect();
        assert_eq!(matched(&spaces, &odd), Err(NoMatch::TooMany));
    }
}
