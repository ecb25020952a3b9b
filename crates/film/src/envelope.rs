//! Cholesky's factors of a symmetric matrix kept row by row from its first entry on.

/// A positive definite matrix under construction, later its factor: each row from its first column to the diagonal.
///
/// # Source
/// Envelope (skyline) method: A. George and J. Liu, *Computer Solution of Large Sparse Positive Definite Systems*,
/// 1981, ch. 4 (from memory).
#[derive(Debug, Default)]
pub(crate) struct Envelope {
    first: Vec<usize>,
    /// Where each row begins in `entries`; one more for the end.
    starts: Vec<usize>,
    entries: Vec<f64>,
}

impl Envelope {
    pub(crate) fn clear(&mut self) {
        self.first.clear();
        self.starts.clear();
        self.starts.push(0);
        self.entries.clear();
    }

    /// Adds a row of zeros from column `first` to its own; returns it for filling in, diagonal last.
    pub(crate) fn push_row(&mut self, first: usize) -> &mut [f64] {
        let row = self.first.len();
        self.first.push(first);
        let start = self.entries.len();
        self.entries.resize(start + row + 1 - first, 0.0);
        self.starts.push(self.entries.len());
        &mut self.entries[start..]
    }

    fn rows(&self) -> usize {
        self.first.len()
    }

    /// Turns the matrix into its factor. False where it is not positive definite.
    pub(crate) fn factor(&mut self) -> bool {
        for row in 0..self.rows() {
            let (done, open) = self.entries.split_at_mut(self.starts[row]);
            let first = self.first[row];
            let mine = &mut open[..row + 1 - first];
            for column in first..row {
                let theirs = &done[self.starts[column]..self.starts[column + 1]];
                let from = first.max(self.first[column]);
                let length = column - from;
                let left = &mine[from - first..from - first + length];
                let right = &theirs[from - self.first[column]..from - self.first[column] + length];
                let pivot = theirs[theirs.len() - 1];
                mine[column - first] = (mine[column - first] - dot(left, right)) * pivot;
            }
            let last = row - first;
            let (left, diagonal) = mine.split_at_mut(last);
            let rest = diagonal[0] - dot(left, left);
            // Not `rest <= 0.0`: that would let a not-a-number pass.
            if !(rest > 0.0 && rest.is_finite()) {
                return false;
            }
            // The inverse of the diagonal is kept, so that solving multiplies.
            diagonal[0] = 1.0 / rest.sqrt();
        }
        true
    }

    /// Solves with the factor, in place.
    pub(crate) fn solve(&self, values: &mut [f64]) {
        for row in 0..self.rows() {
            let entries = &self.entries[self.starts[row]..self.starts[row + 1]];
            let (left, diagonal) = entries.split_at(entries.len() - 1);
            let (before, here) = values.split_at_mut(row);
            here[0] = (here[0] - dot(left, &before[self.first[row]..])) * diagonal[0];
        }
        for row in (0..self.rows()).rev() {
            let entries = &self.entries[self.starts[row]..self.starts[row + 1]];
            let (left, diagonal) = entries.split_at(entries.len() - 1);
            let (before, here) = values.split_at_mut(row);
            here[0] *= diagonal[0];
            let value = here[0];
            for (entry, into) in left.iter().zip(&mut before[self.first[row]..]) {
                *into -= entry * value;
            }
        }
    }
}

/// The product of two rows, in four sums side by side so that the processor can do several at once.
pub(crate) fn dot(left: &[f64], right: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (lefts, rights) = (left.chunks_exact(4), right.chunks_exact(4));
    let rest: f64 = lefts.remainder().iter().zip(rights.remainder()).map(|(l, r)| l * r).sum();
    for (l, r) in lefts.zip(rights) {
        for (sum, (l, r)) in sums.iter_mut().zip(l.iter().zip(r)) {
            *sum += l * r;
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_matrix_times_its_solution_is_the_right_side() {
        // Five unknowns; the envelope of row 3 begins at column 1.
        let rows: [(usize, &[f64]); 5] =
            [(0, &[4.0]), (0, &[1.0, 5.0]), (1, &[-1.0, 6.0]), (1, &[2.0, 0.5, 7.0]), (3, &[-2.0, 3.0])];
        let mut matrix = Envelope::default();
        matrix.clear();
        let mut full = [[0.0; 5]; 5];
        for (row, (first, entries)) in rows.into_iter().enumerate() {
            matrix.push_row(first).copy_from_slice(entries);
            for (place, entry) in entries.iter().enumerate() {
                full[row][first + place] = *entry;
                full[first + place][row] = *entry;
            }
        }
        assert!(matrix.factor());
        let right = [1.0, -2.0, 3.0, 0.25, 5.0];
        let mut found = right;
        matrix.solve(&mut found);
        for (row, wanted) in full.iter().zip(right) {
            assert!((dot(row, &found) - wanted).abs() < 1e-13, "{found:?}");
        }
    }

    #[test]
    fn a_matrix_that_is_not_positive_is_refused() {
        let mut matrix = Envelope::default();
        matrix.clear();
        matrix.push_row(0).copy_from_slice(&[1.0]);
        matrix.push_row(0).copy_from_slice(&[2.0, 1.0]);
        assert!(!matrix.factor());
    }
}
