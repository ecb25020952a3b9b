//! The film on a closed ring, with places in the shell where the pressure is given.
//!
//! Slower than the solver for plain bearings, and for everything: grooves and holes anywhere, motion in any direction,
//! film that ends on both sides.

use crate::envelope::Envelope;
use crate::grid::Grid;
use crate::steady::Rupture;

/// Rounds in which the edge of the film may settle.
const ROUNDS: usize = 400;
/// Rounding, as in the solver for plain bearings.
const TINY: f64 = 1e-12;

/// A ring to be solved: half the width, mirrored at the mid line, no pressure at the edge.
#[derive(Debug)]
pub(crate) struct Ring<'a> {
    pub grid: &'a Grid,
    /// What pumps oil into each station's cell (its half of the balance turned): ∂H/∂t or ∂H/∂θ over the cell.
    pub source: &'a [f64],
    /// Pressures that are given, node by node.
    pub given: &'a [Option<f64>],
}

/// Pressures at all nodes and which of them are film.
#[derive(Clone, Debug)]
pub(crate) struct Solved {
    pub values: Vec<f64>,
    pub inside: Vec<bool>,
}

impl Ring<'_> {
    /// Solves from scratch, or from the film of a neighbouring problem.
    pub(crate) fn solve(&self, rupture: Rupture, start: Option<&[bool]>) -> Option<Solved> {
        let nodes = self.grid.around * self.grid.across;
        let mut work = Work::default();
        let mut values = vec![0.0; nodes];
        let mut inside = vec![true; nodes];
        match start {
            Some(start) if rupture == Rupture::Reynolds => inside.copy_from_slice(start),
            _ => {
                if !work.solve(self, &inside, &mut values) {
                    return None;
                }
                for (node, value) in values.iter_mut().enumerate() {
                    if self.given[node].is_none() {
                        inside[node] = *value > 0.0;
                        *value = value.max(0.0);
                    }
                }
                if rupture == Rupture::Gumbel {
                    return Some(Solved { values, inside });
                }
            }
        }
        let flow = self.source.iter().fold(0.0f64, |most, source| most.max(source.abs()));
        for _ in 0..ROUNDS {
            if !work.solve(self, &inside, &mut values) {
                return None;
            }
            let peak = values.iter().copied().fold(0.0, f64::max);
            let scale = flow.max(peak * self.grid.along[0]);
            let mut changed = false;
            for station in 0..self.grid.around {
                for line in 0..self.grid.across {
                    let node = station * self.grid.across + line;
                    if self.given[node].is_some() {
                        continue;
                    }
                    let stays = if inside[node] {
                        values[node] >= -TINY * peak
                    } else {
                        self.surplus(&values, station, line) < -TINY * scale
                    };
                    changed |= stays != inside[node];
                    inside[node] = stays;
                }
            }
            if !changed {
                return Some(Solved { values, inside });
            }
        }
        None
    }

    /// A P − b at one node, for the whole cell (the mid line's mirrored half included).
    pub(crate) fn surplus(&self, values: &[f64], station: usize, line: usize) -> f64 {
        let (grid, lines) = (self.grid, self.grid.across);
        let at = |station: usize, line: usize| if line == lines { 0.0 } else { values[station * lines + line] };
        let (before, after) = (grid.before(station), (station + 1) % grid.around);
        let here = at(station, line);
        let inner = if line == 0 { at(station, 1) } else { at(station, line - 1) };
        grid.along[before] * (here - at(before, line))
            + grid.along[station] * (here - at(after, line))
            + grid.sideways[station] * (2.0 * here - inner - at(station, line + 1))
            + self.source[station]
    }

    /// The stations in an order in which each has few neighbours among those before it: from an empty station on round
    /// the ring, or folded together where there is none.
    fn order(&self, inside: &[bool]) -> Vec<usize> {
        let (around, lines) = (self.grid.around, self.grid.across);
        let unknown = |node: usize| inside[node] && self.given[node].is_none();
        let empty = (0..around).find(|station| !(0..lines).any(|line| unknown(station * lines + line)));
        match empty {
            Some(cut) => (1..around).map(|step| (cut + step) % around).collect(),
            None => (0..around).map(|place| if place % 2 == 0 { place / 2 } else { around - 1 - place / 2 }).collect(),
        }
    }
}

#[derive(Debug, Default)]
struct Work {
    matrix: Envelope,
    right: Vec<f64>,
    nodes: Vec<usize>,
    numbers: Vec<usize>,
}

/// Not numbered yet, or never.
const NONE: usize = usize::MAX;

impl Work {
    /// Solves for all unknown nodes inside; given nodes keep their pressure, all others get none.
    fn solve(&mut self, ring: &Ring<'_>, inside: &[bool], values: &mut [f64]) -> bool {
        let (grid, lines) = (ring.grid, ring.grid.across);
        self.matrix.clear();
        self.right.clear();
        self.nodes.clear();
        self.numbers.clear();
        self.numbers.resize(inside.len(), NONE);
        for (node, value) in values.iter_mut().enumerate() {
            *value = ring.given[node].unwrap_or(0.0);
        }
        for station in ring.order(inside) {
            let (before, after) = (grid.before(station), (station + 1) % grid.around);
            for line in 0..lines {
                let node = station * lines + line;
                if !inside[node] || ring.given[node].is_some() {
                    continue;
                }
                let number = self.nodes.len();
                // The mid line's cell is mirrored: its row is halved, which keeps the matrix symmetric.
                let share = if line == 0 { 0.5 } else { 1.0 };
                let sideways = grid.sideways[station];
                let neighbours = [
                    (before * lines + line, share * grid.along[before]),
                    (after * lines + line, share * grid.along[station]),
                    if line > 0 { (node - 1, sideways) } else { (node, 0.0) },
                    if line + 1 < lines { (node + 1, sideways) } else { (node, 0.0) },
                ];
                let mut first = number;
                for (neighbour, coupling) in neighbours {
                    let known = self.numbers[neighbour];
                    if coupling > 0.0 && known != NONE {
                        first = first.min(known);
                    }
                }
                let row = self.matrix.push_row(first);
                row[number - first] = share * (grid.along[before] + grid.along[station] + 2.0 * sideways);
                let mut right = -share * ring.source[station];
                for (neighbour, coupling) in neighbours {
                    if coupling <= 0.0 {
                        continue;
                    }
                    let known = self.numbers[neighbour];
                    if known != NONE {
                        row[known - first] -= coupling;
                    }
                    if let Some(pressure) = ring.given[neighbour] {
                        right += coupling * pressure;
                    }
                }
                self.numbers[node] = number;
                self.nodes.push(node);
                self.right.push(right);
            }
        }
        if !self.matrix.factor() {
            return false;
        }
        self.matrix.solve(&mut self.right);
        for (node, value) in self.nodes.iter().zip(&self.right) {
            values[*node] = *value;
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The same film by two solvers that share nothing but the net: with the pressure given as zero along the widest
    /// gap, the ring is the plain bearing.
    #[test]
    fn the_ring_and_the_fast_solver_agree() {
        for (eps, rupture) in [(0.3, Rupture::Reynolds), (0.9, Rupture::Reynolds), (0.6, Rupture::Gumbel)] {
            let grid = Grid::new(eps, 4.0, 96, 12);
            let source: Vec<f64> = (0..96).map(|station| grid.turning(station)).collect();
            let given: Vec<Option<f64>> = (0..96 * 12).map(|node| (node < 12).then_some(0.0)).collect();
            let ring = Ring { grid: &grid, source: &source, given: &given };
            let ring = ring.solve(rupture, None).expect("a film");
            let plain = crate::plain::solve(eps, 4.0, 96, 12, rupture).expect("a film");
            let peak = plain.values.iter().copied().fold(0.0, f64::max);
            for (left, right) in ring.values.iter().zip(&plain.values) {
                assert!((left - right).abs() < 1e-9 * peak, "{left} and {right} at eps {eps}");
            }
        }
    }

    /// The load number of a journal moved along the line of centres: towards the wall for ε above zero, off it below.
    fn load_number(ratio: f64, eps: f64, rupture: Rupture, around: usize, across: usize) -> f64 {
        // Leaving the wall is approaching it from the other side.
        let (size, towards) = (f64::abs(eps).max(1e-6), if eps < 0.0 { -1.0 } else { 1.0 });
        let grid = Grid::new(size, ratio.powi(-2), around, across);
        let source: Vec<f64> = (0..around).map(|station| towards * grid.squeeze(station).0).collect();
        let given = vec![None; around * across];
        let ring = Ring { grid: &grid, source: &source, given: &given };
        let solved = ring.solve(rupture, None).expect("a film");
        let mut push = 0.0;
        for station in 0..around {
            let row = &solved.values[station * across..][..across];
            let mean = (row.iter().sum::<f64>() - 0.5 * row[0]) / across as f64;
            push -= 2.0 * mean * grid.arc(station) * grid.angle[station].cos();
        }
        3.0 * push.abs()
    }

    /// Source: an independent finite-difference solution (computed), B/D 1: with the negative half left out, and with
    /// the film broken where it breaks. Tolerance: 0.7 %, which this net leaves.
    #[test]
    fn a_journal_moved_along_the_line_of_centres() {
        for (eps, gumbel, reynolds) in [
            (-0.9, 0.326_55, 0.551_71),
            (-0.5, 0.763_45, 0.970_82),
            (0.0, 2.2469, 2.4084),
            (0.5, 9.635, 9.7411),
            (0.8, 50.352, 50.429),
            (0.95, 491.48, 491.55),
        ] {
            for (rupture, wanted) in [(Rupture::Gumbel, gumbel), (Rupture::Reynolds, reynolds)] {
                let found = load_number(1.0, eps, rupture, 180, 24);
                assert!((found / wanted - 1.0).abs() < 0.007, "{found}, wanted {wanted}, eps {eps} {rupture:?}");
            }
        }
    }

    /// Source: H. J. Butenschoen, dissertation Karlsruhe 1976, squeeze, as transcribed in a public repository (named in
    /// the table's heading). Tolerance: the independent solution is within 0.7 % of the table (misprints apart); ours
    /// gets 1 % for its net, 2 % beyond ε 0.97, where the edge of a wide bearing is cut too coarsely across.
    #[test]
    fn butenschoens_squeeze_is_met() {
        let mut compared = 0;
        for line in include_str!("../tests/reference/butenschoen_squeeze.csv").lines() {
            let cells: Vec<f64> = line.split(',').filter_map(|cell| cell.parse().ok()).collect();
            let [ratio, eps, wanted, ..] = cells[..] else { continue };
            // Values that break the table's own trend: see its heading.
            let misprint = ratio == 0.5 && [0.1, 0.2].contains(&eps);
            if ![1.0, 0.5, 0.25].contains(&ratio) || misprint || eps.abs() > 0.985 {
                continue;
            }
            let found = load_number(ratio, eps, Rupture::Reynolds, 120, 16);
            let allowed = if eps > 0.965 { 0.027 } else { 0.017 };
            assert!((found / wanted - 1.0).abs() < allowed, "{found}, wanted {wanted}, B/D {ratio} eps {eps}");
            compared += 1;
        }
        assert!(compared > 70, "{compared} compared");
    }

    /// The conditions of rupture with oil pushed in through an opening: no negative pressure, nowhere outside the film
    /// more oil in than out, and one of the two exactly zero.
    #[test]
    fn a_fed_ring_keeps_the_conditions_of_rupture() {
        let grid = Grid::even(0.7, 4.0, 120, 10, 0.0);
        let source: Vec<f64> = (0..120).map(|station| grid.turning(station)).collect();
        let fed = |node: usize| (node / 10).abs_diff(80) <= 3 && node % 10 <= 2;
        let given: Vec<Option<f64>> = (0..1200).map(|node| fed(node).then_some(0.3)).collect();
        let ring = Ring { grid: &grid, source: &source, given: &given };
        let solved = ring.solve(Rupture::Reynolds, None).expect("a film");
        let (mut film, mut empty) = (0, 0);
        for station in 0..120 {
            for line in 0..10 {
                let node = station * 10 + line;
                if given[node].is_some() {
                    continue;
                }
                let (pressure, surplus) = (solved.values[node], ring.surplus(&solved.values, station, line));
                assert!(pressure >= -1e-12 && surplus >= -1e-9, "{pressure}, {surplus} at {station}, {line}");
                assert!(pressure.min(surplus).abs() < 1e-9, "{pressure}, {surplus} at {station}, {line}");
                if pressure > 0.0 { film += 1 } else { empty += 1 }
            }
        }
        assert!(film > 300 && empty > 100, "{film} nodes of film, {empty} without");
    }
}
