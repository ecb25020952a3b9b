//! The film of a plain bearing that turns: a fast direct solver.
//!
//! The film begins at the widest gap and its coefficients change only round the bearing, not across. Where it is whole
//! from edge to edge, cosines across the width part the equations into one chain for each cosine. Only round the ragged
//! end, where the film breaks off earlier or later from line to line, are the equations solved all together.

use crate::cosines::Cosines;
use crate::envelope::{Envelope, dot};
use crate::grid::Grid;
use crate::steady::Rupture;

/// Rounds of taking nodes out of the film and putting others in; the sets found settle in two to six.
const ROUNDS: usize = 200;

/// Stations of whole film that are solved together with the ragged end, so that it may move back.
const MARGIN: usize = 3;

/// Rounding: what counts as no pressure, and as no surplus of flow, against the largest there is.
const TINY: f64 = 1e-12;

/// The chains eliminated from the widest gap on: for each station and cosine the inverse pivot and the right side.
#[derive(Debug)]
struct Chains {
    inverse_pivot: Vec<f64>,
    right: Vec<f64>,
}

impl Chains {
    fn new(grid: &Grid, cosines: &Cosines, stations: usize) -> Chains {
        let lines = cosines.lines;
        let mut chains = Chains { inverse_pivot: vec![0.0; stations * lines], right: vec![0.0; stations * lines] };
        for station in 1..stations {
            let before = grid.along[station - 1];
            let both = before + grid.along[station];
            let (sideways, load) = (grid.sideways[station], -grid.turning(station));
            let (done, open) = chains.inverse_pivot.split_at_mut(station * lines);
            let (right_done, right_open) = chains.right.split_at_mut(station * lines);
            let last = &done[(station - 1) * lines..];
            let right_last = &right_done[(station - 1) * lines..];
            for k in 0..lines {
                let carried = before * last[k];
                open[k] = 1.0 / (both + sideways * cosines.bend[k] - before * carried);
                right_open[k] = load * cosines.ones[k] + carried * right_last[k];
            }
        }
        chains
    }
}

/// Pressures at the nodes: station by station, the lines of the half width from the middle out, the edge left out.
#[derive(Debug)]
pub(crate) struct Pressures {
    pub grid: Grid,
    pub values: Vec<f64>,
}

/// Solves for the pressures P (p = 6 μ ω (R/c)² P) of a bearing at one eccentricity.
///
/// `None` where the film's end did not settle, which the theory of such problems excludes but arithmetic might not.
pub(crate) fn solve(eps: f64, slenderness: f64, around: usize, across: usize, rupture: Rupture) -> Option<Pressures> {
    match rupture {
        Rupture::Gumbel => Some(clipped(Grid::new(eps, slenderness, around, across))),
        Rupture::Reynolds => ruptured(eps, slenderness, around, across),
    }
}

/// The film round the whole bearing, its negative half left out afterwards.
fn clipped(grid: Grid) -> Pressures {
    let cosines = Cosines::new(grid.across);
    let chains = Chains::new(&grid, &cosines, grid.around);
    let mut values = vec![0.0; grid.around * grid.across];
    back(&grid, &cosines, &chains, grid.around - 1, &vec![0.0; grid.across], &mut values);
    for value in &mut values {
        *value = value.max(0.0);
    }
    Pressures { grid, values }
}

/// Fills in the pressures of stations `last` down to 1, from what stands (in cosines) at the station after `last`.
fn back(grid: &Grid, cosines: &Cosines, chains: &Chains, last: usize, after: &[f64], values: &mut [f64]) {
    let lines = cosines.lines;
    let mut amounts = after.to_vec();
    for station in (1..=last).rev() {
        let along = grid.along[station];
        let row = station * lines..(station + 1) * lines;
        let known = chains.right[row.clone()].iter().zip(&chains.inverse_pivot[row.clone()]);
        for (amount, (right, inverse)) in amounts.iter_mut().zip(known) {
            *amount = (right + along * *amount) * inverse;
        }
        cosines.pressures(&amounts, &mut values[row]);
    }
}

fn ruptured(eps: f64, slenderness: f64, around: usize, across: usize) -> Option<Pressures> {
    let grid = Grid::new(eps, slenderness, around, across);
    let coarser = around >= 48 && around.is_multiple_of(2) && across >= 6 && across.is_multiple_of(2);
    let ends = if coarser {
        finer_ends(&ruptured(eps, slenderness, around / 2, across / 2)?)
    } else {
        vec![around as f64 * 0.5 + 2.5; across]
    };
    let mut inside = vec![false; around * across];
    for station in 1..around {
        for (line, end) in ends.iter().enumerate() {
            inside[station * across + line] = (station as f64) < *end;
        }
    }
    settle(grid, inside)
}

/// Where the film ends along one line, in steps: the pressure goes out like the square of the distance.
pub(crate) fn end_of_film(pressures: &Pressures, line: usize) -> f64 {
    let across = pressures.grid.across;
    let at = |station: usize| pressures.values[station * across + line];
    let Some(last) = (1..pressures.grid.around).rev().find(|station| at(*station) > 0.0) else { return 1.0 };
    let (here, before) = (at(last).sqrt(), at(last - 1).sqrt());
    let beyond = if before > here { (here / (before - here)).min(1.0) } else { 1.0 };
    last as f64 + beyond
}

/// The ends of the film on a net twice as fine.
fn finer_ends(coarse: &Pressures) -> Vec<f64> {
    let ends: Vec<f64> = (0..coarse.grid.across).map(|line| 2.0 * end_of_film(coarse, line)).collect();
    let mut finer = Vec::with_capacity(2 * ends.len());
    for (line, end) in ends.iter().enumerate() {
        // Beyond the last line the end is carried on with its slope.
        let slope = match ends.get(line + 1) {
            Some(next) => next - end,
            None => end - ends.get(line.wrapping_sub(1)).unwrap_or(end),
        };
        finer.push(*end);
        finer.push(end + 0.5 * slope);
    }
    finer
}

/// Moves nodes in and out of the film until nowhere inside is the pressure negative and nowhere outside does oil pile
/// up.
///
/// # Source
/// Newton's method for min(P, A P − b) = 0 ("primal-dual active set"): M. Hintermüller, K. Ito, K. Kunisch, *SIAM J.
/// Optim.* 13 (2002) 865–888 (from memory). For matrices of this kind the sets settle after finitely many rounds.
fn settle(grid: Grid, mut inside: Vec<bool>) -> Option<Pressures> {
    let (around, lines) = (grid.around, grid.across);
    let cosines = Cosines::new(lines);
    let chains = Chains::new(&grid, &cosines, around);
    let most_flow = (1..around).map(|station| grid.turning(station).abs()).fold(0.0, f64::max);
    let mut work = Work::default();
    let mut values = vec![0.0; around * lines];
    for _ in 0..ROUNDS {
        let whole = whole_stations(&inside, around, lines);
        let lead = whole.saturating_sub(MARGIN);
        let last = (1..around).rev().find(|station| inside[station * lines..][..lines].contains(&true))?;
        values.fill(0.0);
        if !work.solve(&grid, &cosines, &chains, &inside, lead, last, &mut values) {
            return None;
        }
        let mut changed = update(&grid, &values, &mut inside, lead + 1..(last + 2).min(around), most_flow);
        if changed {
            continue;
        }
        // The ragged end has settled; now the whole part, which was left in cosines so far.
        let first = (lead + 1) * lines;
        let scaled: Vec<f64> =
            values[first..first + lines].iter().zip(&cosines.weight_root).map(|(value, root)| value * root).collect();
        let amounts: Vec<f64> = cosines.turned.chunks_exact(lines).map(|column| dot(column, &scaled)).collect();
        back(&grid, &cosines, &chains, lead, &amounts, &mut values);
        changed = update(&grid, &values, &mut inside, 1..around, most_flow);
        if !changed {
            return Some(Pressures { grid, values });
        }
    }
    None
}

/// How many stations from the first on have all their lines in the film.
fn whole_stations(inside: &[bool], around: usize, lines: usize) -> usize {
    (1..around).take_while(|station| !inside[station * lines..][..lines].contains(&false)).count()
}

/// One round over some stations; true where anything changed.
fn update(grid: &Grid, values: &[f64], inside: &mut [bool], stations: std::ops::Range<usize>, most_flow: f64) -> bool {
    let lines = grid.across;
    let peak = values.iter().copied().fold(0.0, f64::max);
    let mut changed = false;
    for station in stations {
        for line in 0..lines {
            let node = station * lines + line;
            if inside[node] {
                if values[node] < -TINY * peak {
                    inside[node] = false;
                    changed = true;
                }
            } else if surplus(grid, values, station, line) < -TINY * most_flow {
                inside[node] = true;
                changed = true;
            }
        }
    }
    changed
}

/// A P − b at one node: what the cell could still take up. Zero in the film; where there is no film it must not be
/// negative, for then more oil comes in than leaves and pressure builds up.
pub(crate) fn surplus(grid: &Grid, values: &[f64], station: usize, line: usize) -> f64 {
    let lines = grid.across;
    let at = |station: usize, line: usize| {
        if station == 0 || station == grid.around || line == lines { 0.0 } else { values[station * lines + line] }
    };
    let here = at(station, line);
    let inner = if line == 0 { at(station, 1) } else { at(station, line - 1) };
    grid.along[station - 1] * (here - at(station - 1, line))
        + grid.along[station] * (here - at(station + 1, line))
        + grid.sideways[station] * (2.0 * here - inner - at(station, line + 1))
        + grid.turning(station)
}

/// Memory that is used again from round to round.
#[derive(Debug, Default)]
struct Work {
    matrix: Envelope,
    right: Vec<f64>,
    nodes: Vec<usize>,
    /// The number of each node among the unknowns, at the station being written and at the one before.
    numbers: Vec<Option<usize>>,
    before: Vec<Option<usize>>,
}

impl Work {
    /// Solves stations `lead` + 1 to `last` together, with the stations up to `lead`, all whole, folded in.
    #[expect(clippy::too_many_arguments, reason = "one step of `settle`, kept apart only for its length")]
    fn solve(
        &mut self,
        grid: &Grid,
        cosines: &Cosines,
        chains: &Chains,
        inside: &[bool],
        lead: usize,
        last: usize,
        values: &mut [f64],
    ) -> bool {
        let lines = cosines.lines;
        self.matrix.clear();
        self.right.clear();
        self.nodes.clear();
        self.before = vec![None; lines];
        for station in lead + 1..=last {
            let sideways = grid.sideways[station];
            let diagonal = grid.along[station - 1] + grid.along[station] + 2.0 * sideways;
            let dense = station == lead + 1 && lead > 0;
            self.numbers.clear();
            self.numbers.resize(lines, None);
            for line in 0..lines {
                if !inside[station * lines + line] {
                    continue;
                }
                let number = self.nodes.len();
                let inner = if line == 0 { None } else { self.numbers[line - 1] };
                let first = if dense { 0 } else { self.before[line].or(inner).unwrap_or(number) };
                let row = self.matrix.push_row(first);
                row[number - first] = diagonal;
                if let Some(inner) = inner {
                    let mirrored = if line == 1 { std::f64::consts::SQRT_2 } else { 1.0 };
                    row[inner - first] -= sideways * mirrored;
                }
                if let Some(before) = self.before[line] {
                    row[before - first] -= grid.along[station - 1];
                }
                let mut right = -grid.turning(station) * cosines.weight_root[line];
                if dense {
                    right += fold_in(grid, cosines, chains, &self.nodes, lead, line, row);
                }
                self.right.push(right);
                self.numbers[line] = Some(number);
                self.nodes.push(station * lines + line);
            }
            std::mem::swap(&mut self.numbers, &mut self.before);
        }
        if !self.matrix.factor() {
            return false;
        }
        self.matrix.solve(&mut self.right);
        for (node, value) in self.nodes.iter().zip(&self.right) {
            values[*node] = value / cosines.weight_root[node % lines];
        }
        true
    }
}

/// Takes the eliminated stations into one row of the station after them; returns what they add to its right side.
fn fold_in(
    grid: &Grid,
    cosines: &Cosines,
    chains: &Chains,
    nodes: &[usize],
    lead: usize,
    line: usize,
    row: &mut [f64],
) -> f64 {
    let lines = cosines.lines;
    let along = grid.along[lead];
    let inverse = &chains.inverse_pivot[lead * lines..][..lines];
    let mine = &cosines.shape[line * lines..][..lines];
    let weighted: Vec<f64> = mine.iter().zip(inverse).map(|(shape, inverse)| along * shape * inverse).collect();
    let others = nodes.iter().map(|node| node % lines).chain([line]);
    for (entry, other) in row.iter_mut().zip(others) {
        *entry -= along * dot(&weighted, &cosines.shape[other * lines..][..lines]);
    }
    dot(&weighted, &chains.right[lead * lines..][..lines])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The conditions that make rupture right, node by node: no negative pressure, no cell that takes in more than it
    /// lets out, and one of the two exactly zero.
    #[test]
    fn pressure_and_surplus_are_never_both_there_and_never_negative() {
        for slenderness in [1.0, 4.0, 16.0] {
            for eps in [0.05, 0.4, 0.8, 0.95, 0.99] {
                let film = solve(eps, slenderness, 180, 40, Rupture::Reynolds).expect("the end settles");
                let peak = film.values.iter().copied().fold(0.0, f64::max);
                let flow = (1..180).map(|station| film.grid.turning(station).abs()).fold(0.0, f64::max);
                let (mut inside, mut outside) = (0, 0);
                for station in 1..180 {
                    for line in 0..40 {
                        let pressure = film.values[station * 40 + line];
                        let surplus = surplus(&film.grid, &film.values, station, line);
                        assert!(pressure >= -1e-12 * peak, "pressure {pressure} at {station}, {line}");
                        assert!(surplus >= -1e-9 * flow, "surplus {surplus} at {station}, {line}; eps {eps}");
                        assert!((pressure / peak).min(surplus / flow).abs() < 1e-9, "both at {station}, {line}");
                        if pressure > 0.0 { inside += 1 } else { outside += 1 }
                    }
                }
                assert!(inside > 3000 && outside > 1000, "{inside} in the film, {outside} out of it");
            }
        }
    }

    /// Turning pumps as much in before the narrowest gap as it draws out after it, so an unbroken film is odd about it.
    #[test]
    fn the_unbroken_film_ends_at_the_narrowest_gap() {
        let film = solve(0.7, 4.0, 180, 20, Rupture::Gumbel).expect("nothing to settle");
        for line in 0..20 {
            assert!(film.values[90 * 20 + line].abs() < 1e-12);
            assert!(film.values[89 * 20 + line] > 0.0 && film.values[91 * 20 + line] == 0.0);
        }
    }
}
