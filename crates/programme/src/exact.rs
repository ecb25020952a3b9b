//! The last resort: the dual simplex method in whole numbers of any length.
//!
//! A float is a whole number times a power of two, so a programme's numbers can be taken as they stand and worked without
//! any rounding. The inverse is kept as whole numbers over one common divisor, which is the determinant of the held rows
//! and divides every step without remainder. The row to let go is chosen by the lexicographic rule, under which no set of
//! held rows ever comes back: the steps always end, and what they end at is the answer, not a guess.
//!
//! It costs milliseconds a step where floats cost microseconds, which is why it comes last.
//!
//! # Source
//! Whole-number pivoting: J. Edmonds (1967) and E. H. Bareiss, *Math. Comp.* 22 (1968) 565-578; the lexicographic rule:
//! G. B. Dantzig, A. Orden and P. Wolfe, *Pacific J. Math.* 5 (1955) 183-195 (all from memory). The tests hold it against
//! sums by hand, and against the steps in floats.

use std::cmp::Ordering;

use num_bigint::{BigInt, Sign};

use crate::{FEASIBLE, Programme, Unsolved};

/// Where the held rows meet, rounded to floats once, at the end.
#[derive(Debug)]
pub(crate) struct Vertex {
    pub(crate) held: Vec<usize>,
    /// By columns, as [`Basis`](crate::Basis) keeps it.
    pub(crate) inverse: Vec<Vec<f64>>,
    pub(crate) gains: Vec<f64>,
    pub(crate) y: Vec<f64>,
}

/// Works the programme without rounding.
///
/// # Errors
/// [`Unsolved::Infeasible`] where no point keeps every row to within [`FEASIBLE`], [`Unsolved::Numbers`] where some number
/// is not finite.
pub(crate) fn solve(programme: &Programme, limits: &[f64]) -> Result<Vertex, Unsolved> {
    match Whole::new(programme, limits, 0.0)?.solve() {
        // Rows that contradict each other by a rounding error do not contradict each other.
        None => Whole::new(programme, limits, FEASIBLE)?.solve().ok_or(Unsolved::Infeasible),
        Some(vertex) => Ok(vertex),
    }
}

/// A row in whole numbers.
#[derive(Debug)]
struct Row {
    /// Its coefficients that are not zero, each with its unknown.
    coefficients: Vec<(usize, BigInt)>,
    limit: BigInt,
    /// Both were made whole by a factor of two to this power.
    power: i64,
}

/// A programme in whole numbers, and the rows held at present.
#[derive(Debug)]
struct Whole {
    /// The programme's own rows, then the reach: upper ends, then lower ends.
    rows: Vec<Row>,
    /// Unknowns are counted in units of two to the minus this.
    unit: i64,
    /// The goal was made whole by a factor of two to this power.
    goal_power: i64,
    /// Which end of each unknown's reach was held first.
    first_sign: Vec<bool>,
    held: Vec<usize>,
    /// The inverse of the held rows by columns, times `divisor`.
    inverse: Vec<Vec<BigInt>>,
    gains: Vec<BigInt>,
    y: Vec<BigInt>,
    divisor: BigInt,
}

impl Whole {
    fn new(programme: &Programme, limits: &[f64], slack: f64) -> Result<Whole, Unsolved> {
        let n = programme.unknowns();
        let finite = |numbers: &[f64]| numbers.iter().all(|number| number.is_finite());
        let columns = programme.columns.iter().all(|column| finite(column));
        if limits.len() != programme.rows() || !(columns && finite(limits) && finite(&programme.goal)) {
            return Err(Unsolved::Numbers);
        }
        if !finite(&programme.reach) || programme.reach.iter().any(|reach| *reach < 0.0) {
            return Err(Unsolved::Numbers);
        }
        let reach: Vec<Binary> = programme.reach.iter().map(|&reach| Binary::of(reach)).collect();
        let unit = reach.iter().map(|reach| reach.places()).max().unwrap_or(0).max(0);
        let mut rows = Vec::with_capacity(limits.len() + 2 * n);
        for (row, &limit) in limits.iter().enumerate() {
            let coefficients = programme.columns.iter().enumerate().map(|(j, column)| (j, Binary::of(column[row])));
            let coefficients: Vec<(usize, Binary)> = coefficients.filter(|(_, value)| value.whole != 0).collect();
            let limit = Binary::of(limit + slack);
            let power = coefficients.iter().map(|(_, value)| value.places()).chain([limit.places() - unit]).max();
            let power = power.unwrap_or(0);
            rows.push(Row {
                coefficients: coefficients.into_iter().map(|(j, value)| (j, value.times_two_to(power))).collect(),
                limit: limit.times_two_to(power + unit),
                power,
            });
        }
        for sign in [1, -1] {
            rows.extend(reach.iter().enumerate().map(|(j, reach)| Row {
                coefficients: vec![(j, BigInt::from(sign))],
                limit: reach.times_two_to(unit),
                power: 0,
            }));
        }
        let goal: Vec<Binary> = programme.goal.iter().map(|&c| Binary::of(c)).collect();
        let goal_power = goal.iter().map(|c| c.places()).max().unwrap_or(0);
        let upward: Vec<bool> = goal.iter().map(|c| c.whole >= 0).collect();
        let one = |up: bool| BigInt::from(if up { 1 } else { -1 });
        Ok(Whole {
            held: (0..n).map(|j| limits.len() + if upward[j] { j } else { n + j }).collect(),
            inverse: (0..n)
                .map(|p| (0..n).map(|j| if j == p { one(upward[p]) } else { BigInt::ZERO }).collect())
                .collect(),
            gains: goal.iter().zip(&upward).map(|(c, &up)| one(up) * c.times_two_to(goal_power)).collect(),
            y: reach.iter().zip(&upward).map(|(reach, &up)| one(up) * reach.times_two_to(unit)).collect(),
            divisor: BigInt::from(1),
            rows,
            unit,
            goal_power,
            first_sign: upward,
        })
    }

    /// Steps to the best point; `None` where rows contradict each other.
    fn solve(mut self) -> Option<Vertex> {
        while let Some((row, excess)) = self.entering() {
            let weights: Vec<BigInt> = self.inverse.iter().map(|column| self.rows[row].along(column)).collect();
            let leaving = self.leaving(&weights)?;
            self.exchange(leaving, row, &weights, &excess);
        }
        Some(self.vertex())
    }

    /// The row exceeded most, as far as the length of the numbers tells, and its excess times the divisor.
    fn entering(&self) -> Option<(usize, BigInt)> {
        let mut found: Option<(usize, BigInt, i64)> = None;
        for (i, row) in self.rows.iter().enumerate() {
            let excess = row.along(&self.y) - &row.limit * &self.divisor;
            if excess.sign() != Sign::Plus {
                continue;
            }
            let length = excess.bits() as i64 - row.power;
            if found.as_ref().is_none_or(|(_, _, most)| length > *most) {
                found = Some((i, excess, length));
            }
        }
        found.map(|(row, excess, _)| (row, excess))
    }

    /// The held row to let go: the first whose gain would fall below zero, and of several the first in lexicographic
    /// order, as if each unknown had its own small share in the goal.
    fn leaving(&self, weights: &[BigInt]) -> Option<usize> {
        let mut candidates = (0..weights.len()).filter(|&p| weights[p].sign() == Sign::Plus);
        let first = candidates.next()?;
        Some(candidates.fold(first, |best, p| {
            let before = |a: &BigInt, b: &BigInt| (a * &weights[best]).cmp(&(b * &weights[p]));
            let mut order = before(&self.gains[p], &self.gains[best]);
            for j in 0..weights.len() {
                if order != Ordering::Equal {
                    break;
                }
                order = before(&self.inverse[p][j], &self.inverse[best][j]);
                if !self.first_sign[j] {
                    order = order.reverse();
                }
            }
            if order == Ordering::Less { p } else { best }
        }))
    }

    fn exchange(&mut self, leaving: usize, entering: usize, weights: &[BigInt], excess: &BigInt) {
        let pivot = &weights[leaving];
        let column = self.inverse[leaving].clone();
        let gain = self.gains[leaving].clone();
        // Every quotient is a determinant of the new rows, hence whole.
        for (y, value) in self.y.iter_mut().zip(&column) {
            *y = (&*y * pivot - excess * value) / &self.divisor;
        }
        for (p, other) in self.inverse.iter_mut().enumerate().filter(|(p, _)| *p != leaving) {
            for (value, shared) in other.iter_mut().zip(&column) {
                *value = (&*value * pivot - &weights[p] * shared) / &self.divisor;
            }
            self.gains[p] = (&self.gains[p] * pivot - &weights[p] * &gain) / &self.divisor;
        }
        self.divisor = pivot.clone();
        self.held[leaving] = entering;
    }

    fn vertex(self) -> Vertex {
        let power = |p: usize| self.rows[self.held[p]].power;
        let n = self.held.len();
        Vertex {
            inverse: (0..n)
                .map(|p| self.inverse[p].iter().map(|value| quotient(value, &self.divisor, power(p))).collect())
                .collect(),
            gains: (0..n).map(|p| quotient(&self.gains[p], &self.divisor, power(p) - self.goal_power)).collect(),
            y: self.y.iter().map(|y| quotient(y, &self.divisor, -self.unit)).collect(),
            held: self.held,
        }
    }
}

impl Row {
    fn along(&self, vector: &[BigInt]) -> BigInt {
        self.coefficients.iter().map(|(j, value)| value * &vector[*j]).sum()
    }
}

/// A finite float as `whole` times two to the `power`, `whole` odd or zero.
#[derive(Clone, Copy, Debug)]
struct Binary {
    whole: i64,
    power: i64,
}

impl Binary {
    fn of(value: f64) -> Binary {
        let bits = value.to_bits();
        let exponent = ((bits >> 52) & 0x7ff) as i64;
        let fraction = (bits & ((1 << 52) - 1)) as i64;
        let (whole, power) = if exponent == 0 { (fraction, -1074) } else { (fraction | (1 << 52), exponent - 1075) };
        if whole == 0 {
            return Binary { whole: 0, power: 0 };
        }
        let zeros = whole.trailing_zeros();
        let whole = whole >> zeros;
        Binary { whole: if value < 0.0 { -whole } else { whole }, power: power + i64::from(zeros) }
    }

    /// The least power of two that makes it whole.
    fn places(self) -> i64 {
        if self.whole == 0 { i64::MIN / 4 } else { -self.power }
    }

    /// Itself times two to the `power`, which is no less than its places.
    fn times_two_to(self, power: i64) -> BigInt {
        if self.whole == 0 { BigInt::ZERO } else { BigInt::from(self.whole) << (self.power + power).max(0) }
    }
}

/// A quotient times two to the `power`, rounded to a float.
fn quotient(above: &BigInt, below: &BigInt, power: i64) -> f64 {
    if above.sign() == Sign::NoSign {
        return 0.0;
    }
    // Some 100 significant bits, of which the last is set where anything is left over.
    let shift = 100 + below.bits() as i64 - above.bits() as i64;
    let (above, below) = if shift >= 0 { (above << shift, below.clone()) } else { (above.clone(), below << -shift) };
    let whole = &above / &below;
    let left_over = &whole * &below != above;
    let Ok(whole) = i128::try_from(&whole) else { return f64::NAN };
    let rounded = (if left_over { whole | 1 } else { whole }) as f64;
    // Two factors, so that neither is beyond what a float holds before the product is.
    let power = (power - shift).clamp(-2040, 2040) as i32;
    rounded * 2f64.powi(power / 2) * 2f64.powi(power - power / 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a float is made of gives the float back, to the smallest there is.
    #[test]
    fn a_float_is_a_whole_number_times_a_power_of_two() {
        for value in [0.0, 1.0, -0.1, 1e300, -1e-300, 5e-324, f64::MAX, 6.123e-17, 0.75] {
            let binary = Binary::of(value);
            let power = binary.places().max(0);
            assert_eq!(quotient(&binary.times_two_to(power), &BigInt::from(1), -power), value);
        }
        // 1/3 and 2/3 round as the machine's own division does.
        let third = |n: i32| quotient(&BigInt::from(n), &BigInt::from(3), 0);
        assert_eq!((third(1), third(-2)), (1.0 / 3.0, -2.0 / 3.0));
    }

    /// max 3x + 5y; x <= 4, 2y <= 12, 3x + 2y <= 18: 36 at (2, 6), as in this crate's own tests, where the source stands.
    /// By hand: the gains are 0, 3/2 and 1; the rows held are 2y and 3x + 2y, whose inverse has the columns
    /// (-1/3, 1/2) and (1/3, 0).
    #[test]
    fn the_textbook_example_comes_out_to_the_last_bit() {
        let mut programme = Programme::new(vec![3.0, 5.0], vec![100.0, 100.0]);
        for row in [[1.0, 0.0], [0.0, 2.0], [3.0, 2.0]] {
            programme.add_row(&row);
        }
        let vertex = solve(&programme, &[4.0, 12.0, 18.0]).expect("a point");
        assert_eq!(vertex.y, [2.0, 6.0]);
        let at = |row: usize| vertex.held.iter().position(|&held| held == row).expect("held");
        assert_eq!([vertex.gains[at(1)], vertex.gains[at(2)]], [1.5, 1.0]);
        assert_eq!(vertex.inverse[at(1)], [-1.0 / 3.0, 0.5]);
        assert_eq!(vertex.inverse[at(2)], [1.0 / 3.0, 0.0]);
    }

    /// Rows that differ in the last bit only still meet in a point: (1 + 2^-52) x + y <= 1 + 2^-52 and x + y <= 1 meet at
    /// (1, 0). Floats cannot tell the rows apart from one row taken twice.
    #[test]
    fn rows_that_differ_in_the_last_bit_are_told_apart() {
        let next = 1.0 + f64::EPSILON;
        let mut programme = Programme::new(vec![1.0, 1.0 - f64::EPSILON / 2.0], vec![4.0, 4.0]);
        programme.add_row(&[next, 1.0]);
        programme.add_row(&[1.0, 1.0]);
        let vertex = solve(&programme, &[next, 1.0]).expect("a point");
        // By hand: 1 there; 1 - 3/2 epsilon at x = 4, where the first row leaves y = -3 - 3 epsilon; 1 - 2 epsilon at y = 4.
        assert_eq!(vertex.y, [1.0, 0.0]);
    }

    #[test]
    fn contradictions_are_told_from_rounding() {
        let mut programme = Programme::new(vec![1.0], vec![10.0]);
        programme.add_row(&[1.0]);
        programme.add_row(&[-1.0]);
        assert_eq!(solve(&programme, &[1.0, -1.0 - 1e-9]).map(|_| ()), Err(Unsolved::Infeasible));
        assert_eq!(solve(&programme, &[1.0, -1.0 - f64::EPSILON]).map(|vertex| vertex.held.len()), Ok(1));
        assert_eq!(solve(&programme, &[1.0, f64::INFINITY]).map(|_| ()), Err(Unsolved::Numbers));
        let endless = Programme::new(vec![1.0], vec![f64::INFINITY]);
        assert_eq!(solve(&endless, &[]).map(|_| ()), Err(Unsolved::Numbers));
        let nothing = Programme::new(Vec::new(), Vec::new());
        assert!(solve(&nothing, &[]).expect("a point").y.is_empty());
    }

    /// Many rows through one point, as where a journal is round: whole numbers come to the end of them, and to the value
    /// that floats prove.
    #[test]
    fn ties_come_to_an_end() {
        let mut programme = Programme::new(vec![0.0, 0.0, 0.0, 1.0], vec![1.0, 1.0, 1.0, 10.0]);
        for k in 0..60 {
            let t = f64::from(k) * 0.7;
            programme.add_row(&[t.cos(), t.sin(), (3.0 * t).cos(), 1.0]);
        }
        let limits: Vec<f64> = (0..60).map(|k| f64::from(k % 3) * 0.01).collect();
        for limits in [vec![0.0; 60], limits] {
            let value = programme.value(&limits, &mut programme.start()).expect("a point");
            let vertex = solve(&programme, &limits).expect("a point");
            assert!((vertex.y[3] - value).abs() < 1e-11, "{} and {value}", vertex.y[3]);
        }
    }
}
