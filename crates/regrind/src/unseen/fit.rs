//! The fit of one journal: for each shape of the grid, where its unknowns lie after the readings and how well it explains
//! them. It is made once; the draws only pick from it.

use super::readings::{Diameter, groups, shown};
use super::shape::{self, Before, CELLS, LEVELS, OVAL, OVAL_SPREAD, OVALS, SHARPNESSES, Shape, UNKNOWNS};
use crate::Assumed;

/// Steps of the ladder that one journal can have been ground to.
pub(super) const MOST_STEPS: usize = 3;
/// Entries of a triangle of the unknowns.
pub(super) const TRIANGLE: usize = UNKNOWNS * (UNKNOWNS + 1) / 2;

/// A vector of the unknowns.
pub(super) type Unknowns = [f64; UNKNOWNS];

/// One shape after the readings.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub(super) shape: Shape,
    /// For each plausible step: logarithm of how well this shape explains the readings.
    pub(super) log_evidence: [f64; MOST_STEPS],
    /// For each plausible step: the unknowns' mean.
    pub(super) mean_mm: [Unknowns; MOST_STEPS],
    /// Upper triangle, row by row, of the root of their covariance.
    pub(super) root_mm: [f64; TRIANGLE],
    /// For each instrument of the journal: what one millimetre that it reads large adds to the unknowns.
    pub(super) gains: Vec<Unknowns>,
}

/// One journal after the readings.
#[derive(Clone, Debug)]
pub(super) struct Fit {
    /// Instruments of its readings, as indices into the findings'.
    pub(super) instruments: Vec<usize>,
    /// All shapes.
    pub(super) cells: Vec<Cell>,
    /// For each plausible step: the logarithm that all evidences are counted from.
    pub(super) largest_log: f64,
}

/// Sums over diameters with one spread of their own, for one direction and sharpness.
#[derive(Clone)]
struct Sums {
    own_mm2: f64,
    count: f64,
    squares: [f64; TRIANGLE],
    lengths: Unknowns,
    products: Unknowns,
    loss: f64,
    loss2: f64,
    /// For each instrument: how its readings weigh on each unknown.
    by_instrument: Vec<Unknowns>,
}

/// Fits every shape to the diameters of one journal.
///
/// `middle_mm` is the middle of the finished limits at standard, `tolerance_mm` their width; `steps_mm` the plausible
/// steps of the ladder, deepest first. The loss at a step is what is missing from the middle of its limits.
pub(super) fn fit(
    assumed: &Assumed,
    diameters: &[Diameter],
    middle_mm: f64,
    tolerance_mm: f64,
    steps_mm: &[f64],
) -> Fit {
    let groups = groups(diameters);
    let mut instruments: Vec<usize> = diameters.iter().map(|d| d.instrument).collect();
    instruments.sort_unstable();
    instruments.dedup();
    let shown: [Vec<_>; SHARPNESSES] = std::array::from_fn(|sharpness| shown(diameters, sharpness));
    let befores: Vec<Before> = (0..LEVELS * OVALS)
        .map(|n| {
            let (level, oval) = (n / OVALS, n % OVALS);
            shape::before(assumed, shape::level_mm(level), OVAL[oval], OVAL_SPREAD[oval], tolerance_mm / 3.0)
        })
        .collect();
    // Before the readings, how likely the unknowns are to be possible at all: an even part no larger than new, an oval
    // part that is one.
    let possible_before: Vec<f64> = befores
        .iter()
        .map(|b| possible(b.mean_mm, b.variance_mm2[0].sqrt(), b.variance_mm2[1].sqrt(), tolerance_mm))
        .collect();
    let mut cells = Vec::with_capacity(CELLS);
    let mut sums: Vec<Sums> = Vec::new();
    let mut at = None;
    for shape in Shape::all() {
        if at != Some((shape.direction, shape.sharpness)) {
            at = Some((shape.direction, shape.sharpness));
            sums = groups
                .iter()
                .map(|group| {
                    let members =
                        group.members.iter().map(|&n| (&diameters[n], shown[shape.sharpness][n][shape.direction]));
                    sums_of(members, group.own_mm2, middle_mm, &instruments)
                })
                .collect();
        }
        let which = shape.level * OVALS + shape.oval;
        cells.push(cell(
            shape,
            &befores[which],
            possible_before[which],
            &sums,
            tolerance_mm,
            steps_mm,
            instruments.len(),
        ));
    }
    let largest_log = cells
        .iter()
        .flat_map(|cell| &cell.log_evidence[..steps_mm.len().min(MOST_STEPS)])
        .copied()
        .filter(|log| log.is_finite())
        .fold(f64::NEG_INFINITY, f64::max);
    Fit { instruments, cells, largest_log: if largest_log.is_finite() { largest_log } else { 0.0 } }
}

/// How each unknown shows in a diameter: E, S, b, q, c.
pub(super) fn weights(zeta: f64, across: f64) -> Unknowns {
    [1.0, across, zeta, zeta * zeta - 0.5, zeta * across]
}

fn sums_of<'a>(
    members: impl Iterator<Item = (&'a Diameter, f64)>,
    own_mm2: f64,
    middle_mm: f64,
    instruments: &[usize],
) -> Sums {
    let mut sums = Sums {
        own_mm2,
        count: 0.0,
        squares: [0.0; TRIANGLE],
        lengths: [0.0; UNKNOWNS],
        products: [0.0; UNKNOWNS],
        loss: 0.0,
        loss2: 0.0,
        by_instrument: vec![[0.0; UNKNOWNS]; instruments.len()],
    };
    for (diameter, across) in members {
        let x = weights(diameter.zeta, across);
        let loss = middle_mm - diameter.size_mm;
        let mut entry = 0;
        for i in 0..UNKNOWNS {
            for j in 0..=i {
                sums.squares[entry] += x[i] * x[j];
                entry += 1;
            }
            sums.lengths[i] += x[i];
            sums.products[i] += x[i] * loss;
        }
        if let Some(of) =
            instruments.iter().position(|&n| n == diameter.instrument).and_then(|n| sums.by_instrument.get_mut(n))
        {
            of.iter_mut().zip(x).for_each(|(sum, x)| *sum += x);
        }
        sums.count += 1.0;
        sums.loss += loss;
        sums.loss2 += loss * loss;
    }
    sums
}

/// Logarithm of the chance that both parts are possible, as the product of their own chances.
fn possible(mean_mm: Unknowns, even_sd_mm: f64, oval_sd_mm: f64, tolerance_mm: f64) -> f64 {
    below((mean_mm[0] + tolerance_mm / 2.0) / even_sd_mm).ln() + below(mean_mm[1] / oval_sd_mm).ln()
}

/// The normal distribution function, never quite nothing.
fn below(z: f64) -> f64 {
    (0.5 * statrs::function::erf::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)).max(1e-300)
}

fn cell(
    shape: Shape,
    before: &Before,
    possible_before: f64,
    sums: &[Sums],
    tolerance_mm: f64,
    steps_mm: &[f64],
    instruments: usize,
) -> Cell {
    // Information of the unknowns: the prior's and each group's.
    let mut information = [0.0; TRIANGLE];
    let mut weighed: Unknowns = std::array::from_fn(|i| before.mean_mm[i] / before.variance_mm2[i]);
    let mut lengths = [0.0; UNKNOWNS];
    let (mut count_w, mut loss_w, mut loss2_w, mut logs) = (0.0, 0.0, 0.0, 0.0);
    let mut gains = vec![[0.0; UNKNOWNS]; instruments];
    for i in 0..UNKNOWNS {
        information[i * (i + 1) / 2 + i] = 1.0 / before.variance_mm2[i];
        logs -= before.variance_mm2[i].ln();
        loss2_w += before.mean_mm[i].powi(2) / before.variance_mm2[i];
    }
    for sum in sums {
        let variance = sum.own_mm2 + before.ragged_mm2;
        let weight = 1.0 / variance;
        information.iter_mut().zip(&sum.squares).for_each(|(a, b)| *a += weight * b);
        for i in 0..UNKNOWNS {
            weighed[i] += weight * sum.products[i];
            lengths[i] += weight * sum.lengths[i];
        }
        for (gain, of) in gains.iter_mut().zip(&sum.by_instrument) {
            gain.iter_mut().zip(of).for_each(|(g, x)| *g += weight * x);
        }
        count_w += weight * sum.count;
        loss_w += weight * sum.loss;
        loss2_w += weight * sum.loss2;
        logs -= sum.count * variance.ln();
    }
    let root = cholesky(information);
    for i in 0..UNKNOWNS {
        logs -= 2.0 * root[i * (i + 1) / 2 + i].ln();
    }
    let root_mm = inverse_transposed(&root);
    let sd = |row: usize| -> f64 {
        let from = row * UNKNOWNS - row * row.saturating_sub(1) / 2;
        root_mm[from..from + UNKNOWNS - row].iter().map(|x| x * x).sum::<f64>().sqrt()
    };
    let (even_sd, oval_sd) = (sd(0), sd(1));
    let mut log_evidence = [f64::NEG_INFINITY; MOST_STEPS];
    let mut mean_mm = [[0.0; UNKNOWNS]; MOST_STEPS];
    for (n, &step) in steps_mm.iter().enumerate().take(MOST_STEPS) {
        let shifted: Unknowns = std::array::from_fn(|i| weighed[i] - step * lengths[i]);
        let mean = solve(&root, shifted);
        let fitted: f64 = (0..UNKNOWNS).map(|i| mean[i] * shifted[i]).sum();
        let squares = loss2_w - 2.0 * step * loss_w + step * step * count_w;
        log_evidence[n] =
            0.5 * (logs - (squares - fitted)) + possible(mean, even_sd, oval_sd, tolerance_mm) - possible_before;
        mean_mm[n] = mean;
    }
    for gain in &mut gains {
        *gain = solve(&root, *gain);
    }
    Cell { shape, log_evidence, mean_mm, root_mm, gains }
}

/// Lower root of a positive definite matrix, both as lower triangles row by row.
fn cholesky(mut a: [f64; TRIANGLE]) -> [f64; TRIANGLE] {
    let at = |i: usize, j: usize| i * (i + 1) / 2 + j;
    for j in 0..UNKNOWNS {
        let mut pivot = a[at(j, j)];
        for k in 0..j {
            pivot -= a[at(j, k)].powi(2);
        }
        let root = pivot.max(f64::MIN_POSITIVE).sqrt();
        a[at(j, j)] = root;
        for i in j + 1..UNKNOWNS {
            let mut sum = a[at(i, j)];
            for k in 0..j {
                sum -= a[at(i, k)] * a[at(j, k)];
            }
            a[at(i, j)] = sum / root;
        }
    }
    a
}

/// Solves with a lower root: forwards, then backwards.
fn solve(root: &[f64; TRIANGLE], mut right: Unknowns) -> Unknowns {
    let at = |i: usize, j: usize| i * (i + 1) / 2 + j;
    for i in 0..UNKNOWNS {
        for k in 0..i {
            right[i] -= root[at(i, k)] * right[k];
        }
        right[i] /= root[at(i, i)];
    }
    for i in (0..UNKNOWNS).rev() {
        for k in i + 1..UNKNOWNS {
            right[i] -= root[at(k, i)] * right[k];
        }
        right[i] /= root[at(i, i)];
    }
    right
}

/// The inverse of a lower root, transposed: an upper triangle, row by row, whose product with itself transposed is the
/// covariance.
fn inverse_transposed(root: &[f64; TRIANGLE]) -> [f64; TRIANGLE] {
    let mut upper = [0.0; TRIANGLE];
    for column in 0..UNKNOWNS {
        let mut unit = [0.0; UNKNOWNS];
        unit[column] = 1.0;
        // Column of the inverse of the transposed root, by going backwards.
        for i in (0..UNKNOWNS).rev() {
            for k in i + 1..UNKNOWNS {
                unit[i] -= root[k * (k + 1) / 2 + i] * unit[k];
            }
            unit[i] /= root[i * (i + 1) / 2 + i];
        }
        for (row, &value) in unit.iter().enumerate().take(column + 1) {
            upper[row * UNKNOWNS - row * row.saturating_sub(1) / 2 + column - row] = value;
        }
    }
    upper
}

/// A draw of the unknowns of a cell: its mean at a step and the root of its covariance times normal numbers.
pub(super) fn spread(root_mm: &[f64; TRIANGLE], normal: &Unknowns) -> Unknowns {
    let mut entry = 0;
    let mut out = [0.0; UNKNOWNS];
    for (row, value) in out.iter_mut().enumerate() {
        for z in &normal[row..] {
            *value += root_mm[entry] * z;
            entry += 1;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three numbers worked by hand: the covariance of a 5 x 5 information matrix with one coupling,
    /// [[2, 1], [1, 2]] in its corner and ones elsewhere, is [[2, -1], [-1, 2]] / 3.
    #[test]
    fn the_root_of_the_covariance_gives_the_covariance_back() {
        let mut information = [0.0; TRIANGLE];
        for (i, value) in [2.0, 2.0, 1.0, 1.0, 1.0].into_iter().enumerate() {
            information[i * (i + 1) / 2 + i] = value;
        }
        information[1] = 1.0;
        let root = cholesky(information);
        let upper = inverse_transposed(&root);
        let columns: Vec<Unknowns> = (0..UNKNOWNS)
            .map(|n| {
                let mut unit = [0.0; UNKNOWNS];
                unit[n] = 1.0;
                spread(&upper, &unit)
            })
            .collect();
        let covariance = |i: usize, j: usize| columns.iter().map(|c| c[i] * c[j]).sum::<f64>();
        for (i, j, expected) in [(0, 0, 2.0 / 3.0), (0, 1, -1.0 / 3.0), (1, 1, 2.0 / 3.0), (2, 2, 1.0), (0, 4, 0.0)] {
            assert!((covariance(i, j) - expected).abs() < 1e-12, "{i} {j}: {}", covariance(i, j));
        }
        let solved = solve(&root, [3.0, 3.0, 1.0, 2.0, 3.0]);
        for (found, expected) in solved.into_iter().zip([1.0, 1.0, 1.0, 2.0, 3.0]) {
            assert!((found - expected).abs() < 1e-12);
        }
    }
}
