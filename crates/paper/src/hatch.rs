//! Hatching: parallel lines clipped to a shape, as plain segments, so that screen and paper hatch alike.

use crate::Place;

/// Distance between two lines of hatching, in millimetres.
const PITCH_MM: f64 = 1.2;

/// Most lines of one hatching; a shape so large is hatched more coarsely.
const MOST: f64 = 400.0;

/// Which way the lines run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Slope {
    /// Rising to the right.
    Rising,
    /// Falling to the right.
    Falling,
}

/// Segments at 45 degrees inside a closed shape, even-odd where it crosses itself.
pub(crate) fn hatch(points: &[Place], slope: Slope) -> Vec<(Place, Place)> {
    if points.len() < 3 || points.iter().any(|p| !p.0.is_finite() || !p.1.is_finite()) {
        return Vec::new();
    }
    let sign = if slope == Slope::Rising { 1.0 } else { -1.0 };
    // Across the lines: `x + sign y` is the same all along one of them.
    let across = |p: &Place| p.0 + sign * p.1;
    let first = points.iter().map(across).fold(f64::INFINITY, f64::min);
    let last = points.iter().map(across).fold(f64::NEG_INFINITY, f64::max);
    let pitch = (PITCH_MM * std::f64::consts::SQRT_2).max((last - first) / MOST);
    // Lines lie on one grid for the whole paper, so that neighbouring shapes hatch through.
    let mut at = (first / pitch).ceil() * pitch;
    let mut segments = Vec::new();
    while at < last {
        let mut crossings: Vec<f64> = edges(points)
            .filter_map(|(a, b)| {
                let (from, to) = (across(&a) - at, across(&b) - at);
                // Half open, so that a corner counts once.
                ((from <= 0.0) != (to <= 0.0)).then(|| a.0 + (b.0 - a.0) * from / (from - to))
            })
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            if let [left, right] = pair {
                let y = |x: f64| sign * (at - x);
                segments.push(((*left, y(*left)), (*right, y(*right))));
            }
        }
        at += pitch;
    }
    segments
}

fn edges(points: &[Place]) -> impl Iterator<Item = (Place, Place)> + '_ {
    points.iter().copied().zip(points.iter().copied().cycle().skip(1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length((a, b): &(Place, Place)) -> f64 {
        (b.0 - a.0).hypot(b.1 - a.1)
    }

    /// Lines of a hatching take up as much of any shape: their whole length times the pitch is its area.
    #[test]
    fn hatching_covers_the_area() {
        let square = [(0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0)];
        for slope in [Slope::Rising, Slope::Falling] {
            let area: f64 = hatch(&square, slope).iter().map(length).sum::<f64>() * PITCH_MM;
            assert!((area / 1200.0 - 1.0).abs() < 0.02, "{area}");
        }
    }

    #[test]
    fn no_line_leaves_the_shape() {
        // A hollow shape: lines break at the notch.
        let notched = [(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (10.0, 5.0), (0.0, 20.0)];
        let segments = hatch(&notched, Slope::Rising);
        assert!(segments.len() > 10);
        for (a, b) in &segments {
            let middle = ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0);
            // Under the notch's two edges: y <= 5 + 1.5 |x - 10|.
            assert!(middle.1 <= 5.0 + 1.5 * (middle.0 - 10.0).abs() + 1e-9 && middle.1 >= 0.0, "{middle:?}");
        }
    }

    #[test]
    fn what_is_no_shape_is_not_hatched() {
        assert!(hatch(&[(0.0, 0.0), (1.0, 1.0)], Slope::Rising).is_empty());
        assert!(hatch(&[(0.0, 0.0), (f64::NAN, 1.0), (1.0, 0.0)], Slope::Rising).is_empty());
    }
}
