//! The film of a journal that does not turn but moves bodily: towards the wall, away from it, or along it.

use crate::cosines::Cosines;
use crate::grid::Grid;
use crate::ring::Ring;
use crate::steady::Rupture;

/// The two unbroken films of one eccentricity, for unit speed along the line of centres and across it. Any motion is a
/// sum of the two, of which the positive part is kept (Gümbel).
///
/// Pressures are P with p = 12 μ (R/c)² P for a speed in clearances a second. The half ring from the widest gap to the
/// narrowest is enough: the first film is even about the line of centres, the second odd.
///
/// A node pushes from one direction of motion on, or up to one: where e cos φ + o sin φ passes nought. With the nodes in
/// the order of those directions and their sums kept, the force for any direction is found by looking up how many nodes
/// have been passed.
#[derive(Debug)]
pub(crate) struct Squeezes {
    /// cot φ = −o/e of each node, falling; φ runs from 0 to half a turn.
    passed_at: Vec<f64>,
    /// What pushes while so many nodes have been passed; one more than there are nodes.
    pushing: Vec<Share>,
    /// Both films on the mid line, from the widest gap to the narrowest.
    mid_line: Vec<(f64, f64)>,
}

/// Sums of cos θ e, cos θ o, sin θ e, sin θ o over the nodes that push, each by its part of the area.
type Share = [f64; 4];

/// The force of a squeezed film, along the line of centres and across, in the scale of P.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Push {
    pub along: f64,
    pub across: f64,
}

impl Squeezes {
    pub(crate) fn new(eps: f64, slenderness: f64, around: usize, lines: usize) -> Squeezes {
        let grid = Grid::new(eps, slenderness, around, lines);
        let cosines = Cosines::new(lines);
        let half = around / 2;
        let (evens, odds) = (chain(&grid, &cosines, half, true), chain(&grid, &cosines, half, false));
        let mut pushing: Share = [0.0; 4];
        let mut nodes: Vec<(f64, Share)> = Vec::with_capacity(evens.len());
        let mut mid_line = Vec::with_capacity(half + 1);
        for (station, (evens, odds)) in evens.chunks_exact(lines).zip(odds.chunks_exact(lines)).enumerate() {
            let end = if station == 0 || station == half { 0.5 } else { 1.0 };
            let arc = end * grid.arc(station) * 2.0 / lines as f64;
            let (sin, cos) = grid.angle[station].sin_cos();
            mid_line.push((evens[0], odds[0]));
            for (line, (even, odd)) in evens.iter().zip(odds).enumerate() {
                // The mid line counts half in the trapezoids.
                let part = if line == 0 { 0.5 * arc } else { arc };
                let share = [part * cos * even, part * cos * odd, part * sin * even, part * sin * odd];
                let from_start = *even > 0.0;
                if from_start {
                    pushing = plus(pushing, share, 1.0);
                }
                if *even != 0.0 {
                    nodes.push((-odd / even, share.map(|part| if from_start { -part } else { part })));
                }
            }
        }
        let mut order: Vec<(f64, usize)> = nodes.iter().map(|node| node.0).zip(0..).collect();
        order.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut sums = Vec::with_capacity(nodes.len() + 1);
        sums.push(pushing);
        for (_, node) in &order {
            pushing = plus(pushing, nodes[*node].1, 1.0);
            sums.push(pushing);
        }
        Squeezes { passed_at: order.into_iter().map(|node| node.0).collect(), pushing: sums, mid_line }
    }

    /// The force needed to move the journal at unit speed, `angle` away from the line of centres towards the narrowest
    /// gap (counted in the sense of θ, up to half a turn).
    pub(crate) fn push(&self, angle: f64) -> Push {
        let (sin, cos) = angle.sin_cos();
        let cot = cos / sin;
        let here = self.pushing[self.passed_at.partition_point(|at| *at > cot)];
        // On the other half ring o has the other sign, so its nodes are passed in the other order.
        let left = self.pushing[self.passed_at.partition_point(|at| *at >= -cot)];
        let all = plus(self.pushing[0], self.pushing[self.passed_at.len()], 1.0);
        let mirrored = plus(all, left, -1.0);
        // The film pushes from the narrow side: the load it carries points from θ = 0 to θ = 180°.
        Push {
            along: -(cos * (here[0] + mirrored[0]) + sin * (here[1] - mirrored[1])),
            across: -(cos * (here[2] - mirrored[2]) + sin * (here[3] + mirrored[3])),
        }
    }

    /// The highest pressure for that motion: it stands on the mid line.
    pub(crate) fn peak(&self, angle: f64) -> f64 {
        let (sin, cos) = angle.sin_cos();
        self.mid_line.iter().map(|(even, odd)| cos * even + (sin * odd).abs()).fold(0.0, f64::max)
    }
}

fn plus(sum: Share, part: Share, times: f64) -> Share {
    [0, 1, 2, 3].map(|place| sum[place] + times * part[place])
}

/// One of the two films: even (moving along the line of centres) or odd (across it).
fn chain(grid: &Grid, cosines: &Cosines, half: usize, even: bool) -> Vec<f64> {
    let lines = cosines.lines;
    let mut values = vec![0.0; (half + 1) * lines];
    // An odd film has no pressure on the line of centres.
    let (first, last) = if even { (0, half) } else { (1, half - 1) };
    let mut pivots = vec![0.0; (half + 1) * lines];
    let mut rights = vec![0.0; (half + 1) * lines];
    for station in first..=last {
        let end = station == 0 || station == half;
        let share = if end { 0.5 } else { 1.0 };
        let before = if station == 0 { 0.0 } else { grid.along[station - 1] };
        let after = if station == half { 0.0 } else { grid.along[station] };
        let (towards, sideways) = grid.squeeze(station);
        // ∂H/∂t = v_r cos θ + v_t sin θ: one of the two speeds is one, the other zero.
        let load = -share * if even { towards } else { sideways };
        for k in 0..lines {
            let row = station * lines + k;
            let carried = if station == first { 0.0 } else { before / pivots[row - lines] };
            let right = if station == first { 0.0 } else { rights[row - lines] };
            pivots[row] = before + after + share * grid.sideways[station] * cosines.bend[k] - before * carried;
            rights[row] = load * cosines.ones[k] + carried * right;
        }
    }
    let mut amounts = vec![0.0; lines];
    for station in (first..=last).rev() {
        let after = if station == half { 0.0 } else { grid.along[station] };
        let row = station * lines..(station + 1) * lines;
        for (amount, (right, pivot)) in amounts.iter_mut().zip(rights[row.clone()].iter().zip(&pivots[row.clone()])) {
            *amount = (right + after * *amount) / pivot;
        }
        cosines.pressures(&amounts, &mut values[row]);
    }
    values
}

/// The same motions with the film broken as Reynolds has it: not a sum of two any more, so each direction is solved
/// anew, from the film of the last.
#[derive(Debug)]
pub(crate) struct Broken {
    grid: Grid,
    given: Vec<Option<f64>>,
    last: Option<Vec<bool>>,
}

impl Broken {
    pub(crate) fn new(eps: f64, slenderness: f64, around: usize, lines: usize) -> Broken {
        let grid = Grid::new(eps, slenderness, around, lines);
        Broken { grid, given: vec![None; around * lines], last: None }
    }

    /// As [`Squeezes::push`], with the highest pressure; `None` where the ends of the film did not settle.
    pub(crate) fn push(&mut self, angle: f64) -> Option<(Push, f64)> {
        let (across_speed, along_speed) = angle.sin_cos();
        let (around, lines) = (self.grid.around, self.grid.across);
        let moved = |station: usize| {
            let (towards, sideways) = self.grid.squeeze(station);
            along_speed * towards + across_speed * sideways
        };
        let source: Vec<f64> = (0..around).map(moved).collect();
        let ring = Ring { grid: &self.grid, source: &source, given: &self.given };
        let solved = ring.solve(Rupture::Reynolds, self.last.as_deref())?;
        let (mut push, mut peak) = (Push::default(), 0.0f64);
        for station in 0..around {
            let row = solved.values.get(station * lines..(station + 1) * lines)?;
            let mean = 2.0 * (row.iter().sum::<f64>() - 0.5 * row[0]) / lines as f64;
            push.along -= mean * self.grid.arc(station) * self.grid.angle[station].cos();
            push.across -= mean * self.grid.arc(station) * self.grid.angle[station].sin();
            peak = peak.max(row[0]);
        }
        self.last = Some(solved.inside);
        Some((push, peak))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The force by looking up is the sum over all nodes of what is above nought, added up one by one. Tolerance: rounding
    /// of some thousand terms.
    #[test]
    fn the_force_is_the_sum_of_what_pushes() {
        let (eps, slenderness, around, lines) = (0.9, 4.0, 120, 8);
        let (grid, cosines, half) = (Grid::new(eps, slenderness, around, lines), Cosines::new(lines), around / 2);
        let (evens, odds) = (chain(&grid, &cosines, half, true), chain(&grid, &cosines, half, false));
        let squeezes = Squeezes::new(eps, slenderness, around, lines);
        for angle in [0.0f64, 0.001, 0.3, 1.2, 1.57, 2.0, 2.9, 3.1, std::f64::consts::PI] {
            let (mut along, mut across, mut peak) = (0.0, 0.0, 0.0f64);
            for station in 0..around {
                // The second half of the ring mirrors the first.
                let (row, side) = if station <= half { (station, 1.0) } else { (around - station, -1.0) };
                let (sin, cos) = grid.angle[row].sin_cos();
                for line in 0..lines {
                    let part = grid.arc(row) * if line == 0 { 1.0 } else { 2.0 } / lines as f64;
                    let (even, odd) = (evens[row * lines + line], odds[row * lines + line]);
                    let pressure = (angle.cos() * even + side * angle.sin() * odd).max(0.0);
                    along -= part * cos * pressure;
                    across -= part * side * sin * pressure;
                    peak = peak.max(pressure);
                }
            }
            let (found, force) = (squeezes.push(angle), along.hypot(across));
            assert!((found.along - along).hypot(found.across - across) < 1e-12 * force, "{angle}: {found:?}");
            assert!((squeezes.peak(angle) - peak).abs() < 1e-12 * peak, "{angle}");
        }
    }
}
