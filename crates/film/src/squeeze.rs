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
#[derive(Debug)]
pub(crate) struct Squeezes {
    lines: usize,
    /// Station by station from the widest gap to the narrowest, the lines of the half width from the middle out.
    along: Vec<f64>,
    across: Vec<f64>,
    /// For each station: its part of the arc (a half at both ends), cos θ and sin θ.
    places: Vec<(f64, f64, f64)>,
}

/// The force of a squeezed film, along the line of centres and across, and its highest pressure, in the scale of P.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Push {
    pub along: f64,
    pub across: f64,
    pub peak: f64,
}

impl Squeezes {
    pub(crate) fn new(eps: f64, slenderness: f64, around: usize, lines: usize) -> Squeezes {
        let grid = Grid::new(eps, slenderness, around, lines);
        let cosines = Cosines::new(lines);
        let half = around / 2;
        let mut places = Vec::with_capacity(half + 1);
        for station in 0..=half {
            let share = if station == 0 || station == half { 0.5 } else { 1.0 };
            places.push((share * grid.arc(station), grid.angle[station].cos(), grid.angle[station].sin()));
        }
        Squeezes {
            lines,
            along: chain(&grid, &cosines, half, true),
            across: chain(&grid, &cosines, half, false),
            places,
        }
    }

    /// The force needed to move the journal at unit speed, `angle` away from the line of centres towards the narrowest
    /// gap (counted in the sense of θ).
    ///
    /// The peak is that of the mid line.
    pub(crate) fn push(&self, angle: f64) -> Push {
        let (across_speed, along_speed) = angle.sin_cos();
        let mut push = Push::default();
        for (station, (arc, cos, sin)) in self.places.iter().enumerate() {
            let row = station * self.lines..(station + 1) * self.lines;
            let (evens, odds) = (&self.along[row.clone()], &self.across[row]);
            // Several sums side by side, so that the processor can do several at once.
            let (mut here, mut mirrored) = ([0.0; 4], [0.0; 4]);
            for (evens, odds) in evens.chunks(4).zip(odds.chunks(4)) {
                let sums = here.iter_mut().zip(&mut mirrored);
                for ((here, mirrored), (even, odd)) in sums.zip(evens.iter().zip(odds)) {
                    let (even, odd) = (along_speed * even, across_speed * odd);
                    *here += (even + odd).max(0.0);
                    *mirrored += (even - odd).max(0.0);
                }
            }
            let mut here: f64 = here.iter().sum();
            let mut mirrored: f64 = mirrored.iter().sum();
            let (even, odd) = (along_speed * evens[0], across_speed * odds[0]);
            // The mid line counts half in the trapezoids.
            here -= 0.5 * (even + odd).max(0.0);
            mirrored -= 0.5 * (even - odd).max(0.0);
            push.peak = push.peak.max(even + odd.abs());
            // The film pushes from the narrow side: the load it carries points from θ = 0 to θ = 180°.
            push.along -= arc * cos * (here + mirrored);
            push.across -= arc * sin * (here - mirrored);
        }
        let step = 2.0 / self.lines as f64;
        Push { along: step * push.along, across: step * push.across, peak: push.peak }
    }
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

    /// As [`Squeezes::push`]; `None` where the ends of the film did not settle.
    pub(crate) fn push(&mut self, angle: f64) -> Option<Push> {
        let (across_speed, along_speed) = angle.sin_cos();
        let (around, lines) = (self.grid.around, self.grid.across);
        let moved = |station: usize| {
            let (towards, sideways) = self.grid.squeeze(station);
            along_speed * towards + across_speed * sideways
        };
        let source: Vec<f64> = (0..around).map(moved).collect();
        let ring = Ring { grid: &self.grid, source: &source, given: &self.given };
        let solved = ring.solve(Rupture::Reynolds, self.last.as_deref())?;
        let mut push = Push::default();
        for station in 0..around {
            let row = solved.values.get(station * lines..(station + 1) * lines)?;
            let mean = 2.0 * (row.iter().sum::<f64>() - 0.5 * row[0]) / lines as f64;
            push.along -= mean * self.grid.arc(station) * self.grid.angle[station].cos();
            push.across -= mean * self.grid.arc(station) * self.grid.angle[station].sin();
            push.peak = push.peak.max(row[0]);
        }
        self.last = Some(solved.inside);
        Some(push)
    }
}
