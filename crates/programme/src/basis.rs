//! The steps of the dual simplex method.

use crate::{FEASIBLE, Optimum, Programme, STALLED, Unsolved};

/// A candidate for a leaving row must weigh at least this much; smaller weights are rounding.
const PIVOT: f64 = 1e-10;

/// Steps between two fresh inversions of the basis, so that rounding does not pile up.
const REFRESH: usize = 48;

/// The rows that hold the present point, and the inverse of their coefficients.
#[derive(Clone, Debug)]
pub struct Basis {
    /// As many rows as there are unknowns.
    held: Vec<usize>,
    /// Inverse of the held rows' coefficients, by columns: `inverse[p]` belongs to `held[p]`.
    inverse: Vec<Vec<f64>>,
    /// How much the goal gains for one more unit of each held row's limit; never below zero.
    gains: Vec<f64>,
    y: Vec<f64>,
    steps_since_refresh: usize,
    // Working space, kept so that a draw allocates nothing.
    excess: Vec<f64>,
    weights: Vec<f64>,
    limits: Vec<f64>,
}

impl Basis {
    pub(crate) fn at_reach(programme: &Programme) -> Basis {
        let n = programme.unknowns();
        let mut basis = Basis {
            held: Vec::new(),
            inverse: Vec::new(),
            gains: Vec::new(),
            y: vec![0.0; n],
            steps_since_refresh: 0,
            excess: Vec::with_capacity(programme.rows()),
            weights: vec![0.0; n],
            limits: vec![0.0; n],
        };
        basis.reset(programme);
        basis
    }

    fn reset(&mut self, programme: &Programme) {
        let (n, m) = (programme.unknowns(), programme.rows());
        // Rows added since this basis was made move the rows of the reach, so they are numbered afresh.
        self.held = (0..n).map(|j| if programme.goal[j] < 0.0 { m + n + j } else { m + j }).collect();
        self.inverse = (0..n)
            .map(|p| {
                let sign = if programme.goal[p] < 0.0 { -1.0 } else { 1.0 };
                (0..n).map(|j| if j == p { sign } else { 0.0 }).collect()
            })
            .collect();
        self.gains = programme.goal.iter().map(|c| c.abs()).collect();
        self.steps_since_refresh = 0;
    }

    /// Steps from row to row until every row is kept, or until the value is below `enough`.
    pub(crate) fn optimise(&mut self, programme: &Programme, limits: &[f64], enough: f64) -> Result<(), Unsolved> {
        let (n, m) = (programme.unknowns(), programme.rows());
        if limits.len() != m || limits.iter().any(|limit| !limit.is_finite()) {
            return Err(Unsolved::Numbers);
        }
        if self.held.iter().any(|&row| row >= m + 2 * n) {
            self.reset(programme);
        }
        self.stand(programme, limits);
        let mut stalled = 0;
        let mut settled = false;
        for _ in 0..(200 + 50 * (n + 1) * (n + 1) + 4 * m) {
            let by_index = stalled > STALLED;
            let Some(entering) = self.entering(programme, limits, by_index) else {
                // A solution found with an inverse that has seen many steps is looked at again with a fresh one.
                if settled || self.steps_since_refresh == 0 {
                    return Ok(());
                }
                settled = true;
                if !self.refresh(programme) {
                    break;
                }
                self.stand(programme, limits);
                continue;
            };
            settled = false;
            self.weigh(programme, entering.row);
            let Some(leaving) = self.leaving(by_index) else {
                self.reset(programme);
                return Err(Unsolved::Infeasible);
            };
            let gain = self.exchange(leaving, entering);
            stalled = if gain > 1e-14 { 0 } else { stalled + 1 };
            if self.steps_since_refresh >= REFRESH {
                if !self.refresh(programme) {
                    break;
                }
                self.stand(programme, limits);
            }
            if self.value(programme) < enough {
                return Ok(());
            }
        }
        self.reset(programme);
        Err(Unsolved::Numbers)
    }

    pub(crate) fn value(&self, programme: &Programme) -> f64 {
        programme.goal.iter().zip(&self.y).map(|(c, y)| c * y).sum()
    }

    pub(crate) fn optimum(&self, programme: &Programme) -> Optimum {
        let mut governing: Vec<(usize, f64)> = self
            .held
            .iter()
            .zip(&self.gains)
            .filter(|&(&row, &gain)| row < programme.rows() && gain > 1e-9)
            .map(|(&row, &gain)| (row, gain))
            .collect();
        governing.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        Optimum {
            value: self.value(programme),
            at: self.y.clone(),
            governing,
            at_reach: self.y.iter().zip(&programme.reach).any(|(y, reach)| y.abs() >= reach * (1.0 - 1e-9)),
        }
    }

    /// Goes to the point at which the held rows meet, with one refinement against the inverse's rounding.
    fn stand(&mut self, programme: &Programme, limits: &[f64]) {
        let n = programme.unknowns();
        for (limit, &row) in self.limits.iter_mut().zip(&self.held) {
            *limit = programme.limit(limits, row);
        }
        self.y.iter_mut().for_each(|y| *y = 0.0);
        for (column, limit) in self.inverse.iter().zip(&self.limits) {
            for (y, value) in self.y.iter_mut().zip(column) {
                *y += value * limit;
            }
        }
        for p in 0..n {
            let reached: f64 = (0..n).map(|j| programme.coefficient(self.held[p], j) * self.y[j]).sum();
            self.weights[p] = self.limits[p] - reached;
        }
        for (column, missing) in self.inverse.iter().zip(&self.weights) {
            if *missing != 0.0 {
                for (y, value) in self.y.iter_mut().zip(column) {
                    *y += value * missing;
                }
            }
        }
    }

    /// The row to take in: the one exceeded most, or the first exceeded one where the steps have stalled.
    fn entering(&mut self, programme: &Programme, limits: &[f64], by_index: bool) -> Option<Entering> {
        let (n, m) = (programme.unknowns(), programme.rows());
        let mut found: Option<Entering> = None;
        if let Some((row, excess)) = programme.worst_row(limits, &self.y, &mut self.excess)
            && excess > FEASIBLE
        {
            found = Some(Entering { row, excess });
        }
        if by_index && found.is_some() {
            found =
                self.excess.iter().position(|&e| e > FEASIBLE).map(|row| Entering { row, excess: self.excess[row] });
        }
        if found.is_none() || !by_index {
            for j in 0..n {
                for (row, excess) in
                    [(m + j, self.y[j] - programme.reach[j]), (m + n + j, -self.y[j] - programme.reach[j])]
                {
                    let more = found.as_ref().map_or(FEASIBLE, |f| if by_index { f64::INFINITY } else { f.excess });
                    if excess > more {
                        found = Some(Entering { row, excess });
                    }
                }
            }
        }
        found
    }

    /// The entering row as a sum of the held rows.
    fn weigh(&mut self, programme: &Programme, row: usize) {
        for (p, column) in self.inverse.iter().enumerate() {
            self.weights[p] = column.iter().enumerate().map(|(j, value)| programme.coefficient(row, j) * value).sum();
        }
    }

    /// The held row to let go: the first whose gain would fall below zero.
    fn leaving(&self, by_index: bool) -> Option<usize> {
        let mut best: Option<(usize, f64)> = None;
        for (p, (&weight, &gain)) in self.weights.iter().zip(&self.gains).enumerate() {
            if weight <= PIVOT {
                continue;
            }
            let ratio = gain / weight;
            best = match best {
                None => Some((p, ratio)),
                Some((b, least)) => {
                    let tie = (ratio - least).abs() <= 1e-13 * (1.0 + least);
                    let wins_tie = if by_index { self.held[p] < self.held[b] } else { weight > self.weights[b] };
                    if if tie { wins_tie } else { ratio < least } {
                        Some((p, ratio.min(least)))
                    } else {
                        Some((b, least))
                    }
                }
            };
        }
        best.map(|(p, _)| p)
    }

    /// Swaps one row for another and returns by how much the value fell.
    fn exchange(&mut self, leaving: usize, entering: Entering) -> f64 {
        let weight = self.weights[leaving];
        let step = entering.excess / weight;
        let gain = self.gains[leaving] / weight;
        for (y, value) in self.y.iter_mut().zip(&self.inverse[leaving]) {
            *y -= step * value;
        }
        let mut column = std::mem::take(&mut self.inverse[leaving]);
        column.iter_mut().for_each(|value| *value /= weight);
        for (p, other) in self.inverse.iter_mut().enumerate() {
            let weight = self.weights[p];
            if p == leaving || weight == 0.0 {
                continue;
            }
            for (value, shared) in other.iter_mut().zip(&column) {
                *value -= weight * shared;
            }
            // A gain a rounding error below zero is zero.
            self.gains[p] = (self.gains[p] - gain * weight).max(0.0);
        }
        self.inverse[leaving] = column;
        self.gains[leaving] = gain;
        self.held[leaving] = entering.row;
        self.steps_since_refresh += 1;
        gain * entering.excess
    }

    /// Inverts the held rows afresh; false when they have become dependent.
    fn refresh(&mut self, programme: &Programme) -> bool {
        let n = programme.unknowns();
        // Rows of `work` are the held rows followed by the unit matrix; after elimination the right half is the
        // inverse, whose columns are kept.
        let mut work: Vec<Vec<f64>> = (0..n)
            .map(|p| {
                let mut row: Vec<f64> = (0..n).map(|j| programme.coefficient(self.held[p], j)).collect();
                row.extend((0..n).map(|j| f64::from(u8::from(j == p))));
                row
            })
            .collect();
        for j in 0..n {
            let Some(pivot) = (j..n).max_by(|&a, &b| work[a][j].abs().total_cmp(&work[b][j].abs())) else {
                return false;
            };
            if work[pivot][j].abs() < 1e-12 {
                return false;
            }
            work.swap(j, pivot);
            let scale = work[j][j];
            work[j].iter_mut().for_each(|value| *value /= scale);
            let row = std::mem::take(&mut work[j]);
            for (k, other) in work.iter_mut().enumerate() {
                if k != j && other[j] != 0.0 {
                    let factor = other[j];
                    for (value, shared) in other.iter_mut().zip(&row) {
                        *value -= factor * shared;
                    }
                }
            }
            work[j] = row;
        }
        for p in 0..n {
            for (value, row) in self.inverse[p].iter_mut().zip(&work) {
                *value = row[n + p];
            }
            let gain: f64 = programme.goal.iter().zip(&self.inverse[p]).map(|(c, value)| c * value).sum();
            self.gains[p] = gain.max(0.0);
        }
        self.steps_since_refresh = 0;
        true
    }
}

#[derive(Clone, Copy)]
struct Entering {
    row: usize,
    excess: f64,
}
