//! Cosines across the width, which part the film's equations into one chain each.

use crate::envelope::dot;

/// The cosines across the half width: an orthonormal set that diagonalises second differences with a mirror at
/// mid-width and no pressure at the edge. Values are scaled by √weight, the weight of the mid line being one half.
#[derive(Debug)]
pub(crate) struct Cosines {
    pub lines: usize,
    /// Row j, column k.
    pub shape: Vec<f64>,
    /// The same, turned over.
    pub turned: Vec<f64>,
    /// 4 sin²: the second difference of each cosine, with its sign turned.
    pub bend: Vec<f64>,
    /// A load of one on every line, in cosines.
    pub ones: Vec<f64>,
    pub weight_root: Vec<f64>,
}

impl Cosines {
    pub(crate) fn new(lines: usize) -> Cosines {
        let weight_root: Vec<f64> = (0..lines).map(|line| if line == 0 { 0.5f64.sqrt() } else { 1.0 }).collect();
        let scale = (2.0 / lines as f64).sqrt();
        let wave = |k: usize| (k as f64 + 0.5) * std::f64::consts::PI / lines as f64;
        let mut shape = vec![0.0; lines * lines];
        let mut turned = vec![0.0; lines * lines];
        for line in 0..lines {
            for k in 0..lines {
                let value = scale * weight_root[line] * (wave(k) * line as f64).cos();
                shape[line * lines + k] = value;
                turned[k * lines + line] = value;
            }
        }
        let bend = (0..lines).map(|k| 4.0 * (0.5 * wave(k)).sin().powi(2)).collect();
        let ones = turned.chunks_exact(lines).map(|column| dot(column, &weight_root)).collect();
        Cosines { lines, shape, turned, bend, ones, weight_root }
    }

    /// From cosines to pressures.
    pub(crate) fn pressures(&self, cosines: &[f64], into: &mut [f64]) {
        into.fill(0.0);
        for (amount, column) in cosines.iter().zip(self.turned.chunks_exact(self.lines)) {
            for (value, part) in into.iter_mut().zip(column) {
                *value += amount * part;
            }
        }
        for (value, root) in into.iter_mut().zip(&self.weight_root) {
            *value /= root;
        }
    }
}
