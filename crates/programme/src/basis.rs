//! The steps of the dual simplex method.

use crate::exact::{self, Vertex};
use crate::{FEASIBLE, Optimum, PROVEN, Programme, ROUNDED, STALLED, Unsolved, largest};

/// A candidate for a leaving row must weigh at least this share of the heaviest; smaller weights are rounding.
const PIVOT: f64 = 1e-11;

/// Gains this little below zero are rounding. Where that leaves a choice, the heaviest row is let go.
const DUAL: f64 = 1e-13;

/// Steps between two fresh inversions of the basis, so that rounding does not pile up.
const REFRESH: usize = 48;

/// The same once a first attempt has failed.
const REFRESH_WITH_CARE: usize = 4;

/// The rows that hold the present point, and the inverse of their coefficients.
#[derive(Clone, Debug)]
pub struct Basis {
    /// As many rows as there are unknowns.
    held: Vec<usize>,
    /// The held rows' coefficients, row after row.
    rows: Vec<f64>,
    /// Their inverse, column after column: the p-th belongs to `held[p]`.
    inverse: Vec<f64>,
    /// How much the goal gains for one more unit of each held row's limit; never below zero.
    gains: Vec<f64>,
    /// The held rows' limits.
    limits: Vec<f64>,
    y: Vec<f64>,
    steps_since_refresh: usize,
    /// What of the goal the gains do not make up, because they are rounded; as of the last inversion.
    rest: Vec<f64>,
    /// How often a question had to be begun anew, and how often the last resort was needed.
    rescues: Rescues,
    // Working space, kept so that a draw allocates nothing.
    excess: Vec<f64>,
    row: Vec<f64>,
    weights: Vec<f64>,
    work: Vec<f64>,
}

/// How often floats alone did not answer; each of these questions was answered all the same.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rescues {
    /// Begun anew from the reach, in smaller steps of rounding.
    pub restarts: usize,
    /// Worked in whole numbers.
    pub exact: usize,
}

/// What a run of steps is asked.
#[derive(Clone, Copy)]
struct Asked<'a> {
    programme: &'a Programme,
    limits: &'a [f64],
    /// Excess that counts as none.
    feasible: f64,
    /// Below this value nobody cares.
    enough: f64,
    with_care: bool,
}

impl Basis {
    pub(crate) fn at_reach(programme: &Programme) -> Basis {
        let n = programme.unknowns();
        let mut basis = Basis {
            held: Vec::new(),
            rows: vec![0.0; n * n],
            inverse: vec![0.0; n * n],
            gains: Vec::new(),
            limits: vec![0.0; n],
            y: vec![0.0; n],
            steps_since_refresh: 0,
            rest: vec![0.0; n],
            rescues: Rescues::default(),
            excess: Vec::with_capacity(programme.rows()),
            row: vec![0.0; n],
            weights: vec![0.0; n],
            work: Vec::new(),
        };
        basis.reset(programme);
        basis
    }

    /// How often floats alone did not answer.
    pub fn rescues(&self) -> Rescues {
        self.rescues
    }

    fn reset(&mut self, programme: &Programme) {
        let (n, m) = (programme.unknowns(), programme.rows());
        // Rows added since this basis was made move the rows of the reach, so they are numbered afresh.
        self.held = (0..n).map(|j| if programme.goal[j] < 0.0 { m + n + j } else { m + j }).collect();
        self.inverse.iter_mut().for_each(|value| *value = 0.0);
        for (p, value) in self.inverse.iter_mut().step_by(n + 1).enumerate() {
            *value = if programme.goal[p] < 0.0 { -1.0 } else { 1.0 };
        }
        self.rows.clone_from(&self.inverse);
        self.gains = programme.goal.iter().map(|c| c.abs()).collect();
        self.steps_since_refresh = 0;
        self.rest.iter_mut().for_each(|rest| *rest = 0.0);
    }

    /// Steps from row to row until every row is kept, or until the value is below `enough`.
    ///
    /// What floats find is taken only where it is proven: every row kept, and no other point better by more than
    /// [`PROVEN`]. Where they find nothing, or nothing proven, they begin anew from the reach, and in the end the question
    /// is worked without rounding.
    pub(crate) fn optimise(&mut self, programme: &Programme, limits: &[f64], enough: f64) -> Result<(), Unsolved> {
        let (n, m) = (programme.unknowns(), programme.rows());
        let most = largest(limits, |limit| if limit.abs() <= f64::MAX { limit.abs() } else { f64::INFINITY });
        if limits.len() != m || most == f64::INFINITY {
            return Err(Unsolved::Numbers);
        }
        if self.held.iter().any(|&row| row >= m + 2 * n) {
            self.reset(programme);
        }
        // Sums of large limits are rounded more coarsely.
        let feasible = FEASIBLE.max(16.0 * f64::EPSILON * most);
        let asked = Asked { programme, limits, feasible, enough, with_care: false };
        if self.steps(asked) {
            return Ok(());
        }
        self.reset(programme);
        self.rescues.restarts += 1;
        if self.steps(Asked { with_care: true, ..asked }) {
            return Ok(());
        }
        self.reset(programme);
        self.rescues.exact += 1;
        self.take(programme, exact::solve(programme, limits)?);
        Ok(())
    }

    /// Steps until the answer is found and proven; false where it is not.
    fn steps(&mut self, asked: Asked<'_>) -> bool {
        let Asked { programme, limits, .. } = asked;
        let (n, m) = (programme.unknowns(), programme.rows());
        let refresh = if asked.with_care { REFRESH_WITH_CARE } else { REFRESH };
        self.stand(programme, limits);
        let mut stalled = 0;
        for _ in 0..(200 + 50 * (n + 1) * (n + 1) + 4 * m) {
            let by_index = stalled > STALLED;
            let next = self.entering(asked, by_index).map(|entering| {
                self.weigh(programme, entering.row);
                (entering, self.leaving(by_index))
            });
            let Some((entering, Some(leaving))) = next else {
                // Every row is kept, or one cannot be. That is believed of a fresh inverse only.
                if self.steps_since_refresh == 0 {
                    return next.is_none() && self.is_proven(programme);
                }
                if !self.refresh(programme) {
                    return false;
                }
                self.stand(programme, limits);
                continue;
            };
            let gain = self.exchange(asked, leaving, entering);
            stalled = if gain > 1e-14 { 0 } else { stalled + 1 };
            if self.steps_since_refresh >= refresh {
                if !self.refresh(programme) {
                    return false;
                }
                self.stand(programme, limits);
            }
            if self.value(programme) < asked.enough && self.bound() < asked.enough {
                return true;
            }
        }
        false
    }

    pub(crate) fn value(&self, programme: &Programme) -> f64 {
        programme.goal.iter().zip(&self.y).map(|(c, y)| c * y).sum()
    }

    /// No point that keeps every row has a larger value than this, but for rounding.
    fn bound(&self) -> f64 {
        self.gains.iter().zip(&self.limits).map(|(gain, limit)| gain * limit).sum()
    }

    /// Whether no point can be better by more than nothing: for every point within reach that keeps the held rows,
    /// goal · y = gains · rows · y + rest · y, of which the first part is no more than the bound and the second no more
    /// than at the ends of the reach. Where some number is none, nothing is proven.
    fn is_proven(&self, programme: &Programme) -> bool {
        let value = self.value(programme);
        let hidden: f64 = self.rest.iter().zip(&programme.reach).map(|(rest, reach)| rest.abs() * reach).sum();
        let better = self.bound() + hidden - value;
        better.abs() <= PROVEN + ROUNDED * value.abs()
    }

    pub(crate) fn optimum(&self, programme: &Programme) -> Optimum {
        let mut governing: Vec<(usize, f64)> = self
            .held
            .iter()
            .zip(&self.gains)
            .filter(|&(&row, &gain)| row < programme.rows() && gain > 1e-12)
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
        add_columns(&mut self.y, &self.inverse, &self.limits);
        for ((missing, limit), row) in self.weights.iter_mut().zip(&self.limits).zip(self.rows.chunks_exact(n.max(1))) {
            *missing = limit - dot(row, &self.y);
        }
        add_columns(&mut self.y, &self.inverse, &self.weights);
    }

    /// The row to take in: the one exceeded most, or the first exceeded one where the steps have stalled.
    fn entering(&mut self, asked: Asked<'_>, by_index: bool) -> Option<Entering> {
        let Asked { programme, limits, feasible, .. } = asked;
        let (n, m) = (programme.unknowns(), programme.rows());
        let mut found: Option<Entering> = None;
        if let Some((row, excess)) = programme.worst_row(limits, &self.y, &mut self.excess)
            && excess > feasible
        {
            found = Some(Entering { row, excess });
        }
        if by_index && found.is_some() {
            found =
                self.excess.iter().position(|&e| e > feasible).map(|row| Entering { row, excess: self.excess[row] });
        }
        if found.is_none() || !by_index {
            for j in 0..n {
                for (row, excess) in
                    [(m + j, self.y[j] - programme.reach[j]), (m + n + j, -self.y[j] - programme.reach[j])]
                {
                    let more = found.as_ref().map_or(feasible, |f| if by_index { f64::INFINITY } else { f.excess });
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
        for (j, value) in self.row.iter_mut().enumerate() {
            *value = programme.coefficient(row, j);
        }
        for (weight, column) in self.weights.iter_mut().zip(self.inverse.chunks_exact(self.row.len().max(1))) {
            *weight = dot(&self.row, column);
        }
    }

    /// The held row to let go: the first whose gain would fall below zero, or of those that would be hardly below it the
    /// one with most weight, which keeps rounding small.
    fn leaving(&self, by_index: bool) -> Option<usize> {
        let heaviest = self.weights.iter().fold(1.0, |most: f64, weight| most.max(weight.abs()));
        let candidates = || {
            let weighty = self.weights.iter().zip(&self.gains).enumerate();
            weighty
                .filter(|(_, (weight, _))| **weight > PIVOT * heaviest)
                .map(|(p, (&weight, &gain))| (p, weight, gain))
        };
        if by_index {
            let least = candidates().map(|(_, weight, gain)| gain / weight).fold(f64::INFINITY, f64::min);
            return candidates()
                .filter(|(_, weight, gain)| gain / weight <= least)
                .min_by_key(|&(p, ..)| self.held[p])
                .map(|(p, ..)| p);
        }
        let least = candidates().map(|(_, weight, gain)| (gain + DUAL) / weight).fold(f64::INFINITY, f64::min);
        candidates()
            .filter(|(_, weight, gain)| gain / weight <= least)
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(p, ..)| p)
    }

    /// Swaps one row for another and returns by how much the value fell.
    fn exchange(&mut self, asked: Asked<'_>, leaving: usize, entering: Entering) -> f64 {
        let n = self.row.len();
        let weight = self.weights[leaving];
        let step = entering.excess / weight;
        let gain = self.gains[leaving] / weight;
        self.rows[leaving * n..][..n].copy_from_slice(&self.row);
        // The row's own place is free now to hold the column while the others are changed by it.
        self.row.copy_from_slice(&self.inverse[leaving * n..][..n]);
        for (y, value) in self.y.iter_mut().zip(&self.row) {
            *y -= step * value;
        }
        self.row.iter_mut().for_each(|value| *value /= weight);
        for (p, column) in self.inverse.chunks_exact_mut(n).enumerate() {
            let weight = self.weights[p];
            if p == leaving || weight == 0.0 {
                continue;
            }
            for (value, shared) in column.iter_mut().zip(&self.row) {
                *value -= weight * shared;
            }
            // A gain a rounding error below zero is zero.
            self.gains[p] = (self.gains[p] - gain * weight).max(0.0);
        }
        self.inverse[leaving * n..][..n].copy_from_slice(&self.row);
        self.gains[leaving] = gain;
        self.held[leaving] = entering.row;
        self.limits[leaving] = asked.programme.limit(asked.limits, entering.row);
        self.steps_since_refresh += 1;
        gain * entering.excess
    }

    /// Inverts the held rows afresh; false when they have become dependent.
    fn refresh(&mut self, programme: &Programme) -> bool {
        let n = programme.unknowns();
        let width = 2 * n;
        // Rows of `work` are the held rows followed by the unit matrix; after elimination the right half is the
        // inverse, whose columns are kept.
        self.work.clear();
        self.work.resize(n * width, 0.0);
        for (p, (to, from)) in self.work.chunks_exact_mut(width).zip(self.rows.chunks_exact(n)).enumerate() {
            to[..n].copy_from_slice(from);
            to[n + p] = 1.0;
        }
        let work = &mut self.work;
        for j in 0..n {
            let Some(pivot) = (j..n).max_by(|&a, &b| work[a * width + j].abs().total_cmp(&work[b * width + j].abs()))
            else {
                return false;
            };
            if pivot != j {
                for k in j..width {
                    work.swap(j * width + k, pivot * width + k);
                }
            }
            let scale = work[j * width + j];
            if scale == 0.0 || !scale.is_finite() {
                return false;
            }
            let (before, rest) = work.split_at_mut(j * width);
            let (row, after) = rest.split_at_mut(width);
            row[j..].iter_mut().for_each(|value| *value /= scale);
            for other in before.chunks_exact_mut(width).chain(after.chunks_exact_mut(width)) {
                let factor = other[j];
                if factor != 0.0 {
                    for (value, shared) in other[j..].iter_mut().zip(&row[j..]) {
                        *value -= factor * shared;
                    }
                }
            }
        }
        for (p, column) in self.inverse.chunks_exact_mut(n).enumerate() {
            for (value, row) in column.iter_mut().zip(work.chunks_exact(width)) {
                *value = row[n + p];
            }
        }
        for (gain, column) in self.gains.iter_mut().zip(self.inverse.chunks_exact(n)) {
            *gain = dot(&programme.goal, column);
        }
        self.settle_gains(programme);
        self.steps_since_refresh = 0;
        true
    }

    /// Refines the gains once and takes those below zero for zero. [`Self::is_proven`] sees what that hides.
    fn settle_gains(&mut self, programme: &Programme) {
        let n = programme.unknowns().max(1);
        self.find_rest(programme);
        for (gain, column) in self.gains.iter_mut().zip(self.inverse.chunks_exact(n)) {
            *gain = (*gain + dot(&self.rest, column)).max(0.0);
        }
        self.find_rest(programme);
        // Any multiple of the gains proves something; this one makes good what is missing of the goal itself, whose reach
        // is often far wider than the others'.
        let (goal, missing) = (dot(&programme.goal, &programme.goal), dot(&programme.goal, &self.rest));
        if missing != 0.0 && missing.abs() < 0.5 * goal {
            let factor = goal / (goal - missing);
            self.gains.iter_mut().for_each(|gain| *gain *= factor);
            self.find_rest(programme);
        }
    }

    fn find_rest(&mut self, programme: &Programme) {
        self.rest.copy_from_slice(&programme.goal);
        for (gain, row) in self.gains.iter().zip(self.rows.chunks_exact(self.rest.len().max(1))) {
            if *gain != 0.0 {
                for (rest, value) in self.rest.iter_mut().zip(row) {
                    *rest -= gain * value;
                }
            }
        }
    }

    /// Stands where the last resort ended.
    fn take(&mut self, programme: &Programme, vertex: Vertex) {
        let n = programme.unknowns();
        self.held = vertex.held;
        self.inverse = vertex.inverse.concat();
        self.gains = vertex.gains;
        self.y = vertex.y;
        for (row, &held) in self.rows.chunks_exact_mut(n.max(1)).zip(&self.held) {
            for (j, value) in row.iter_mut().enumerate() {
                *value = programme.coefficient(held, j);
            }
        }
        self.find_rest(programme);
        self.steps_since_refresh = 0;
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Adds to `sum` each column times its factor.
fn add_columns(sum: &mut [f64], columns: &[f64], factors: &[f64]) {
    for (column, factor) in columns.chunks_exact(sum.len().max(1)).zip(factors) {
        if *factor != 0.0 {
            for (sum, value) in sum.iter_mut().zip(column) {
                *sum += value * factor;
            }
        }
    }
}

#[derive(Clone, Copy, Debug)]
struct Entering {
    row: usize,
    excess: f64,
}
