//! The net that the film is cut into, and the coefficients of Reynolds' equation on it.

/// The film's shape round the bearing at one eccentricity.
///
/// # Source
/// Sommerfeld's angle γ: 1 + ε cos θ = (1 − ε²) / (1 − ε cos γ), dθ = H dγ / √(1 − ε²). Equal steps of γ crowd where
/// the film is thin, which is where the pressure is.
#[derive(Clone, Debug)]
pub(crate) struct Grid {
    /// Steps round the bearing.
    pub around: usize,
    /// Steps across the half width (or across one land).
    pub across: usize,
    /// Eccentricity ratio.
    pub eps: f64,
    /// Coupling between station i and i + 1: s H² / dγ at the half step.
    pub along: Vec<f64>,
    /// Coupling between two lines across at station i.
    pub sideways: Vec<f64>,
    /// Film at station i.
    pub film: Vec<f64>,
    /// Film half a step after station i.
    pub film_half: Vec<f64>,
    /// Angle from the widest film at station i, in radians.
    pub angle: Vec<f64>,
    /// Angle half a step after station i.
    pub angle_half: Vec<f64>,
    /// Part of ∫ … dθ that belongs to station i.
    pub arcs: Vec<f64>,
    /// √(1 − ε²).
    pub root: f64,
    /// One step of γ (of θ on an even net).
    pub step: f64,
}

impl Grid {
    /// Stations 0 to `around` − 1 and the same film again at `around`; lines 0 to `across`.
    ///
    /// `slenderness` is (R / width)² with the width that `across` covers: (D / L)² for a half width.
    pub(crate) fn new(eps: f64, slenderness: f64, around: usize, across: usize) -> Grid {
        let root = (1.0 - eps * eps).sqrt();
        let step = std::f64::consts::TAU / around as f64;
        let across_step = 1.0 / across as f64;
        let film_at = |gamma: f64| (1.0 - eps * eps) / (1.0 - eps * gamma.cos());
        // tan(θ/2) = √((1 + ε)/(1 − ε)) tan(γ/2), by its sine and cosine so that it goes on smoothly past half a turn.
        let angle_at = |gamma: f64| {
            let half = 0.5 * gamma;
            2.0 * ((1.0 + eps).sqrt() * half.sin()).atan2((1.0 - eps).sqrt() * half.cos())
        };
        let mut grid = Grid {
            around,
            across,
            eps,
            along: Vec::with_capacity(around),
            sideways: Vec::with_capacity(around),
            film: Vec::with_capacity(around),
            film_half: Vec::with_capacity(around),
            angle: Vec::with_capacity(around),
            angle_half: Vec::with_capacity(around),
            arcs: Vec::with_capacity(around),
            root,
            step,
        };
        for station in 0..around {
            let gamma = station as f64 * step;
            let (film, half) = (film_at(gamma), film_at(gamma + 0.5 * step));
            grid.along.push(root * half * half / step);
            grid.sideways.push(slenderness * film.powi(4) / root * step / (across_step * across_step));
            grid.arcs.push(film / root * step);
            grid.film.push(film);
            grid.film_half.push(half);
            grid.angle.push(angle_at(gamma));
            grid.angle_half.push(angle_at(gamma + 0.5 * step));
        }
        grid
    }

    /// The same film cut in equal steps of θ, the first station at `first` (radians), for shells with holes and grooves
    /// that may lie anywhere.
    pub(crate) fn even(eps: f64, slenderness: f64, around: usize, across: usize, first: f64) -> Grid {
        let step = std::f64::consts::TAU / around as f64;
        let across_step = 1.0 / across as f64;
        let mut grid = Grid::new(eps, slenderness, around, across);
        grid.step = step;
        for station in 0..around {
            let (angle, half) = (first + station as f64 * step, first + (station as f64 + 0.5) * step);
            let (film, film_half) = (1.0 + eps * angle.cos(), 1.0 + eps * half.cos());
            grid.along[station] = film_half.powi(3) / step;
            grid.sideways[station] = slenderness * film.powi(3) * step / (across_step * across_step);
            grid.film[station] = film;
            grid.film_half[station] = film_half;
            grid.angle[station] = angle;
            grid.angle_half[station] = half;
            grid.arcs[station] = step;
        }
        grid
    }

    /// The station before, round the ring.
    pub(crate) fn before(&self, station: usize) -> usize {
        (station + self.around - 1) % self.around
    }

    /// What turning the journal pumps into station i: ∫ dH/dθ dθ over its cell.
    pub(crate) fn turning(&self, station: usize) -> f64 {
        self.film_half[station] - self.film_half[self.before(station)]
    }

    /// The cell's part of ∫ … dθ.
    pub(crate) fn arc(&self, station: usize) -> f64 {
        self.arcs[station]
    }

    /// What a moving journal does to the gap over the cell of station i: ∫ (cos θ, sin θ) dθ. The first is ∂H/∂t where
    /// ε grows at unit speed, the second where the line of centres turns at unit speed over ε.
    pub(crate) fn squeeze(&self, station: usize) -> (f64, f64) {
        let before = self.before(station);
        let from = if station == 0 { self.angle_half[before] - std::f64::consts::TAU } else { self.angle_half[before] };
        let to = self.angle_half[station];
        (to.sin() - from.sin(), from.cos() - to.cos())
    }
}
