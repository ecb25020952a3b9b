//! Linear programmes with few unknowns and many rows, solved by the dual simplex method.
//!
//! The question is always: make `goal · y` as large as possible while `row · y <= limit` for every row and every
//! unknown stays within its reach. The largest inscribed circle of a roundness trace is one such question; the best
//! grinding axis of a whole crankshaft is another, with a few dozen unknowns and a few hundred rows.
//!
//! Start with [`Programme`]. A [`Basis`] is where the last solution stood: solving again with other limits from there
//! takes a few steps only, which is what makes many thousand draws of one crankshaft affordable.
//!
//! What floats find is taken where weak duality proves it the best to within 1e-9; else the question is begun anew, and in
//! the end worked in whole numbers of any length, without rounding. So every programme of finite numbers is answered: with
//! the best point, or with [`Unsolved::Infeasible`] because there is no point.
//!
//! What this crate does not do: no integer unknowns, no sparse matrices, no presolve. It is meant for up to about a hundred
//! unknowns whose coefficients are of the order of one.
//!
//! # Source
//! The dual simplex method with an explicit inverse: R. J. Vanderbei, *Linear Programming*, ch. 5–6 (from memory);
//! the smallest-index rule against cycling: R. G. Bland, *Math. Oper. Res.* 2 (1977) 103–107 (from memory). Checked
//! against independent solvers in the tests of this workspace.

mod basis;
mod exact;

pub use basis::{Basis, Rescues};

/// A row counts as kept when it is exceeded by no more than this. With lengths in millimetres it is a hundredth of a
/// picometre, well above the rounding of sums of a few dozen terms of order one.
const FEASIBLE: f64 = 1e-11;

/// A best value is taken as found where no other point can be better by more than this. With lengths in millimetres a
/// millionth of a micron: a twenty-fifth of the 1e-9 in that answers are held to.
const PROVEN: f64 = 1e-9;

/// The same as a share of the value, for values so large that rounding comes near it.
const ROUNDED: f64 = 1e-12;

/// Steps without progress after which the smallest-index rule takes over.
const STALLED: usize = 60;

/// Why there is no solution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsolved {
    /// No point keeps every row, not even to within 1e-11. Proven without rounding.
    Infeasible,
    /// A limit, a coefficient, the goal or a reach is not a finite number, a reach is below zero, or there are not as many
    /// limits as rows. No other programme ends so.
    Numbers,
}

impl std::fmt::Display for Unsolved {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Unsolved::Infeasible => "no point keeps every row of the programme",
            Unsolved::Numbers => "the programme's numbers are not finite",
        })
    }
}

impl std::error::Error for Unsolved {}

/// The best point found.
#[derive(Clone, Debug, PartialEq)]
pub struct Optimum {
    /// `goal · y` there.
    pub value: f64,
    /// The unknowns.
    pub at: Vec<f64>,
    /// The rows that hold the value where it is, each with the gain in value for one more unit of its limit, largest
    /// first. Rows of the reach are not listed.
    pub governing: Vec<(usize, f64)>,
    /// Whether some unknown stands at the end of its reach.
    pub at_reach: bool,
}

/// The fixed part of a linear programme: its unknowns and the coefficients of its rows.
#[derive(Clone, Debug)]
pub struct Programme {
    goal: Vec<f64>,
    reach: Vec<f64>,
    /// One column for each unknown, each as long as there are rows.
    columns: Vec<Vec<f64>>,
    /// First and one-past-last row in which a column is not zero; most unknowns concern one journal only.
    spans: Vec<(usize, usize)>,
    rows: usize,
}

impl Programme {
    /// A programme without rows: `goal` to be made large, each unknown between `-reach` and `reach`.
    ///
    /// A reach makes the question bounded from the start; choose it so wide that no answer of interest comes near it.
    pub fn new(goal: Vec<f64>, reach: Vec<f64>) -> Programme {
        let unknowns = goal.len().min(reach.len());
        Programme {
            goal: goal[..unknowns].to_vec(),
            reach: reach[..unknowns].to_vec(),
            columns: vec![Vec::new(); unknowns],
            spans: vec![(0, 0); unknowns],
            rows: 0,
        }
    }

    /// Adds a row and returns its number. Coefficients beyond the unknowns are ignored, missing ones are zero.
    pub fn add_row(&mut self, coefficients: &[f64]) -> usize {
        let row = self.rows;
        for (j, column) in self.columns.iter_mut().enumerate() {
            let value = coefficients.get(j).copied().unwrap_or(0.0);
            column.push(value);
            if value != 0.0 {
                let span = &mut self.spans[j];
                *span = if span.1 == 0 { (row, row + 1) } else { (span.0, row + 1) };
            }
        }
        self.rows += 1;
        row
    }

    /// How many rows there are.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// How many unknowns there are.
    pub fn unknowns(&self) -> usize {
        self.goal.len()
    }

    /// The basis to start from when nothing is known: every unknown at the end of its reach that the goal prefers.
    pub fn start(&self) -> Basis {
        Basis::at_reach(self)
    }

    /// Finds the best point for these limits, one for each row, starting from `basis` and leaving it at the solution.
    ///
    /// # Errors
    /// [`Unsolved`]; the basis is then back at the start.
    pub fn solve(&self, limits: &[f64], basis: &mut Basis) -> Result<Optimum, Unsolved> {
        basis.optimise(self, limits, f64::NEG_INFINITY)?;
        Ok(basis.optimum(self))
    }

    /// Like [`solve`](Self::solve), for when only the value is wanted.
    ///
    /// # Errors
    /// [`Unsolved`].
    pub fn value(&self, limits: &[f64], basis: &mut Basis) -> Result<f64, Unsolved> {
        basis.optimise(self, limits, f64::NEG_INFINITY)?;
        Ok(basis.value(self))
    }

    /// Whether the best value is at least `wanted`; stops as soon as the answer is no.
    ///
    /// # Errors
    /// [`Unsolved`].
    pub fn reaches(&self, limits: &[f64], basis: &mut Basis, wanted: f64) -> Result<bool, Unsolved> {
        basis.optimise(self, limits, wanted)?;
        Ok(basis.value(self) >= wanted)
    }

    /// `row · y` less the limit for the row that is exceeded most, as (row, excess); `None` without rows.
    fn worst_row(&self, limits: &[f64], y: &[f64], excess: &mut Vec<f64>) -> Option<(usize, f64)> {
        excess.clear();
        excess.extend(limits.iter().map(|limit| -limit));
        for ((column, &(from, to)), &value) in self.columns.iter().zip(&self.spans).zip(y) {
            if value != 0.0 {
                for (sum, coefficient) in excess[from..to].iter_mut().zip(&column[from..to]) {
                    *sum += coefficient * value;
                }
            }
        }
        // Two passes: the maximum of plain numbers is vectorised, the search for its place is short.
        let most = largest(excess, |e| e);
        excess.iter().position(|&e| e == most).map(|row| (row, most))
    }

    /// A coefficient of a row, where the rows of the reach follow the programme's own: upper ends, then lower ends.
    fn coefficient(&self, row: usize, j: usize) -> f64 {
        let n = self.unknowns();
        match row.checked_sub(self.rows) {
            None => self.columns[j][row],
            Some(k) if k < n => f64::from(u8::from(k == j)),
            Some(k) => -f64::from(u8::from(k - n == j)),
        }
    }

    fn limit(&self, limits: &[f64], row: usize) -> f64 {
        match row.checked_sub(self.rows) {
            None => limits[row],
            Some(k) => self.reach[k % self.unknowns()],
        }
    }
}

/// The largest of the values, taken eight abreast, as the machine does it fastest; nothing that is not a number is largest.
fn largest(values: &[f64], of: impl Fn(f64) -> f64) -> f64 {
    let mut lanes = [f64::NEG_INFINITY; 8];
    let take = |lane: &mut f64, value: &f64| {
        let value = of(*value);
        *lane = if value > *lane { value } else { *lane };
    };
    let chunks = values.chunks_exact(lanes.len());
    let rest = chunks.remainder();
    chunks.for_each(|chunk| lanes.iter_mut().zip(chunk).for_each(|(lane, value)| take(lane, value)));
    lanes.iter_mut().zip(rest).for_each(|(lane, value)| take(lane, value));
    lanes.into_iter().fold(f64::NEG_INFINITY, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-10, "found {found}, expected {expected}");
    }

    /// max 3x + 5y; x <= 4, 2y <= 12, 3x + 2y <= 18: 36 at (2, 6).
    ///
    /// Source: the Wyndor Glass example of Hillier and Lieberman, *Introduction to Operations Research* (from memory;
    /// the optimum is checked by hand: both tight rows give 2·6 = 12 and 3·2 + 2·6 = 18).
    #[test]
    fn the_textbook_example_comes_out() {
        let mut p = Programme::new(vec![3.0, 5.0], vec![100.0, 100.0]);
        p.add_row(&[1.0, 0.0]);
        p.add_row(&[0.0, 2.0]);
        p.add_row(&[3.0, 2.0]);
        let mut basis = p.start();
        let best = p.solve(&[4.0, 12.0, 18.0], &mut basis).unwrap();
        close(best.value, 36.0);
        close(best.at[0], 2.0);
        close(best.at[1], 6.0);
        // Shadow prices 3/2 and 1, by hand: 12 · 1.5 + 18 · 1 = 36.
        assert_eq!(best.governing.iter().map(|g| g.0).collect::<Vec<_>>(), [1, 2]);
        close(best.governing[0].1, 1.5);
        close(best.governing[1].1, 1.0);
        assert!(!best.at_reach);
    }

    #[test]
    fn limits_may_change_between_solutions() {
        let mut p = Programme::new(vec![0.0, 0.0, 1.0], vec![10.0, 10.0, 1000.0]);
        let n = 36;
        for k in 0..n {
            let t = f64::from(k) * std::f64::consts::TAU / f64::from(n);
            p.add_row(&[t.cos(), t.sin(), 1.0]);
        }
        let mut basis = p.start();
        // A circle of radius 20 seen from (0.3, -0.2): to first order its points lie at 20 + 0.3 cos - 0.2 sin.
        for (x, y) in [(0.3, -0.2), (0.0, 0.0), (-0.01, 4.0)] {
            let limits: Vec<f64> = (0..n)
                .map(|k| {
                    let t = f64::from(k) * std::f64::consts::TAU / f64::from(n);
                    20.0 + x * t.cos() + y * t.sin()
                })
                .collect();
            let best = p.solve(&limits, &mut basis).unwrap();
            close(best.value, 20.0);
            close(best.at[0], x);
            close(best.at[1], y);
            assert!(p.reaches(&limits, &mut basis, 19.99).unwrap());
            assert!(!p.reaches(&limits, &mut basis, 20.01).unwrap());
        }
    }

    #[test]
    fn contradiction_and_rubbish_are_said() {
        let mut p = Programme::new(vec![1.0], vec![10.0]);
        p.add_row(&[1.0]);
        p.add_row(&[-1.0]);
        let mut basis = p.start();
        assert_eq!(p.solve(&[1.0, -2.0], &mut basis), Err(Unsolved::Infeasible));
        assert_eq!(p.solve(&[f64::NAN, 0.0], &mut basis), Err(Unsolved::Numbers));
        assert_eq!(p.solve(&[1.0], &mut basis), Err(Unsolved::Numbers));
        // The basis recovers.
        close(p.solve(&[3.0, 1.0], &mut basis).unwrap().value, 3.0);
    }

    #[test]
    fn nothing_to_keep_goes_to_the_end_of_the_reach() {
        let p = Programme::new(vec![1.0, -1.0], vec![2.0, 3.0]);
        let best = p.solve(&[], &mut p.start()).unwrap();
        close(best.value, 5.0);
        assert!(best.at_reach);
    }

    /// Many rows through one point: every step is degenerate, and the steps must still end.
    #[test]
    fn degenerate_rows_do_not_cycle() {
        let mut p = Programme::new(vec![0.0, 0.0, 0.0, 1.0], vec![1.0, 1.0, 1.0, 10.0]);
        let mut limits = Vec::new();
        for k in 0..400 {
            let t = f64::from(k) * 0.7;
            p.add_row(&[t.cos(), t.sin(), (3.0 * t).cos(), 1.0]);
            limits.push(0.0);
        }
        close(p.solve(&limits, &mut p.start()).unwrap().value, 0.0);
    }
}
