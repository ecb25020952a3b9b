//! Mobility: how fast a journal drifts under a load, for every place it can be.
//!
//! J. F. Booker's method (*J. Basic Engineering* 87 (1965) 537–546): in a frame that turns with the mean of journal and
//! shell, the film only squeezes, and dε/dt = [F (c/R)² / (μ L D)] M, where the vector M depends on the journal's place
//! and the direction of the load alone. A map of M is worked out once for a bearing's shape and serves all loads.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;

use crate::problem::{Checks, Problems};
use crate::squeeze::{Broken, Push, Squeezes};
use crate::steady::Rupture;
use crate::upper_groove;

/// Steps of t = −ln(1 − ε) between the rows of a map, and their number: ε up to 0.998.
const ROW_STEP: f64 = 0.3;
const ROWS: usize = 22;
/// Directions of a row, from the load along the line of centres to against it, crowded where they begin: there the
/// drift of an eccentric journal changes within a few degrees.
const DIRECTIONS: usize = 57;
/// The net that a map is worked out on.
const AROUND: usize = 240;
/// Near the wall the wide side of the gap is cut into few steps, and a journal being drawn off has its pressure there.
const AROUND_AT_WALL: usize = 480;
const ACROSS: usize = 16;
/// Maps that are kept; one takes 30 kB.
const MOST_KEPT: usize = 64;
/// How far from the ends of a row, in steps, the ratios across of its first and last nodes are worked out: at the ends
/// what is across vanishes, here and in the closed form, and leaves no ratio to be told. It hardly changes there.
const AT_END: f64 = 0.3;
/// The eccentricity at which the first row's ratios across are worked out.
const BESIDE_CENTRE: f64 = 0.03;
/// The thinnest film, over the clearance, that laws are asked for: an orbit never passes it.
const THINNEST: f64 = 1e-6;

/// A drift, along the load and a quarter turn counter-clockwise from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drift {
    /// Along the load.
    pub along: f64,
    /// A quarter turn on.
    pub across: f64,
}

/// How a journal drifts.
#[derive(Clone, Copy, Debug)]
pub enum Law<'a> {
    /// Booker's closed form for short bearings, at a length over diameter.
    ///
    /// # Limits
    /// For narrow bearings and moderate loads. Under an engine's firing load it gives a film half as thick again and
    /// more as a finite bearing has: for comparison only.
    Short(f64),
    /// A map of the finite film.
    Map(&'a Map),
    /// A shell grooved along the middle of its upper half, the half towards Y. A load that points into that half is
    /// carried by two lands, one that points away from it by the whole width.
    ///
    /// # Limits
    /// Between the two (loads some 80 to 140 degrees from the groove's middle) what carries is taken to pass from one to
    /// the other smoothly. Against the film solved directly round such a shell, the least film under a steady load is
    /// within 6 % outside that passage and within a quarter in it; see `tests/grooved.rs`. Pressure in the groove is left
    /// out.
    UpperGroove {
        /// The map for the whole width.
        whole: &'a Map,
        /// The map for the width of one land.
        land: &'a Map,
    },
}

impl Law<'_> {
    /// The drift of a journal at (`along`, `across`), as measured along the load and a quarter turn on. `towards` is the
    /// cosine of the angle from Y to the load; only a shell that is not alike all round asks for it.
    pub fn drift(&self, along: f64, across: f64, towards: f64) -> Drift {
        match self {
            Law::Short(ratio) => short(*ratio, along, across),
            Law::Map(map) => map.drift(along, across),
            Law::UpperGroove { whole, land } => upper_groove::drift(whole, land, along, across, towards),
        }
    }

    /// Peak pressure over the mean pressure F/(L D), where the law knows it.
    pub fn peak_over_mean(&self, along: f64, across: f64, towards: f64) -> Option<f64> {
        match self {
            Law::Short(_) => None,
            Law::Map(map) => Some(map.peak_over_mean(along, across)),
            Law::UpperGroove { whole, land } => Some(upper_groove::peak_over_mean(whole, land, along, across, towards)),
        }
    }
}

/// Booker's short bearing: M = ((1 − ζ)^2.5 / π, −4 κ (1 − ζ)^1.5 / π²) / (L/D)².
fn short(ratio: f64, along: f64, across: f64) -> Drift {
    use std::f64::consts::PI;
    let open = (1.0 - along).max(THINNEST);
    let scale = open * open.sqrt() / (PI * ratio * ratio);
    Drift { along: scale * open, across: -scale * 4.0 * across / PI }
}

/// The drift of a finite film: its parts along the load and across it, each over that of Booker's closed form, which
/// leaves a smooth table. (Length and angle would not: close to the wall the angle turns within 1 − ε of a radian.)
///
/// # Limits
/// [`Map::new`] takes Gümbel's film: the negative half is left out, which for a journal that is being pressed in
/// differs by under 1 %, and by more where it is being drawn off, which does not decide the least film. Between ε 0.998
/// and the wall the last row's ratio to the closed form is kept.
#[derive(Clone, Debug)]
pub struct Map {
    ratio: f64,
    /// Row by row of t, then by direction: M over Booker's, along the load and across it.
    drifts: Vec<[f64; 2]>,
    /// ln(peak / mean) at the same nodes.
    peaks: Vec<f64>,
}

impl Map {
    /// Works out the map of a bearing's shape.
    ///
    /// # Errors
    /// A length over diameter that is no bearing's.
    pub fn new(length_over_diameter: f64) -> Result<Map, Problems> {
        Map::with_rupture(length_over_diameter, Rupture::Gumbel)
    }

    /// The same with the film broken as is asked. Reynolds' rupture takes a hundred times as long, and
    /// leaves a few per cent more film under an engine's loads.
    ///
    /// # Errors
    /// As [`Map::new`].
    pub fn with_rupture(length_over_diameter: f64, rupture: Rupture) -> Result<Map, Problems> {
        let mut checks = Checks::new();
        let physics = "shorter the edges drain all pressure, longer the bearing is no bearing";
        checks.between("length_over_diameter", length_over_diameter, 0.02, 50.0, physics);
        checks.finish()?;
        Map::worked_out(length_over_diameter, rupture)
    }

    fn worked_out(length_over_diameter: f64, rupture: Rupture) -> Result<Map, Problems> {
        let worked_out = |eps: f64| {
            let slenderness = length_over_diameter.powi(-2);
            let around = if eps > 0.97 { AROUND_AT_WALL } else { AROUND };
            match rupture {
                Rupture::Gumbel => {
                    let squeezes = Squeezes::new(eps, slenderness, around, ACROSS);
                    let peak = |angle| squeezes.peak(angle);
                    Some(directions(eps, length_over_diameter, |angle| squeezes.push(angle), peak))
                }
                Rupture::Reynolds => {
                    let broken = RefCell::new(Broken::new(eps, slenderness, around / 2, ACROSS / 2));
                    let settled = std::cell::Cell::new(true);
                    let pushed = |angle| {
                        broken.borrow_mut().push(angle).unwrap_or_else(|| {
                            settled.set(false);
                            (Push { along: 1.0, across: 0.0 }, 1.0)
                        })
                    };
                    let row = directions(eps, length_over_diameter, |angle| pushed(angle).0, |angle| pushed(angle).1);
                    settled.get().then_some(row)
                }
            }
        };
        let row = |row: usize| {
            let mut nodes = worked_out(row_eps(row))?;
            if row == 0 {
                // At the centre nothing is across, and no ratio can be told: it is that of a place beside.
                for (node, beside) in nodes.iter_mut().zip(worked_out(BESIDE_CENTRE)?) {
                    node[1] = beside[1];
                }
            }
            Some(nodes)
        };
        let rows: Option<Vec<Vec<[f64; 3]>>> = (0..ROWS).into_par_iter().map(row).collect();
        let unsettled = "the ends of the film did not settle";
        let rows =
            rows.ok_or_else(|| Problems::one("length_over_diameter", length_over_diameter, "another one", unsettled))?;
        let nodes = rows.concat();
        let drifts = nodes.iter().map(|node| [node[0], node[1]]).collect();
        Ok(Map { ratio: length_over_diameter, drifts, peaks: nodes.iter().map(|node| node[2]).collect() })
    }

    /// The map of a bearing's shape, kept for the next who asks for the same: it depends on nothing else.
    ///
    /// # Errors
    /// As [`Map::new`].
    pub(crate) fn kept(length_over_diameter: f64) -> Result<Arc<Map>, Problems> {
        static KEPT: Mutex<VecDeque<Arc<Map>>> = Mutex::new(VecDeque::new());
        // Nothing is left half done under the lock, so one that was poisoned is as good as any.
        let kept = || KEPT.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(map) = kept().iter().find(|map| map.ratio == length_over_diameter) {
            return Ok(map.clone());
        }
        // Worked out unlocked: meanwhile others find what is there, and two who ask for the same find the same.
        let map = Arc::new(Map::new(length_over_diameter)?);
        let mut kept = kept();
        kept.push_back(map.clone());
        if kept.len() > MOST_KEPT {
            kept.pop_front();
        }
        Ok(map)
    }

    /// The length over diameter that the map is for.
    pub fn length_over_diameter(&self) -> f64 {
        self.ratio
    }

    /// Mobility of a journal at (`along`, `across`), as measured along the load and a quarter turn on.
    pub fn drift(&self, along: f64, across: f64) -> Drift {
        let cell = Cell::of(along, across);
        let (mut by_along, mut by_across) = (0.0, 0.0);
        for (row, row_weight) in cell.rows.into_iter().enumerate() {
            let first = cell.first + row * DIRECTIONS;
            for (node, weight) in self.drifts[first..first + 4].iter().zip(cell.directions) {
                let weight = row_weight * weight;
                by_along += weight * node[0];
                by_across += weight * node[1];
            }
        }
        let short = short(self.ratio, along, across);
        Drift { along: by_along * short.along, across: by_across * short.across }
    }

    /// Peak pressure over the mean pressure F/(L D).
    pub fn peak_over_mean(&self, along: f64, across: f64) -> f64 {
        let cell = Cell::of(along, across);
        let mut log = 0.0;
        for (row, row_weight) in cell.rows.into_iter().enumerate() {
            let first = cell.first + row * DIRECTIONS;
            for (node, weight) in self.peaks[first..first + 4].iter().zip(cell.directions) {
                log += row_weight * weight * node;
            }
        }
        log.exp()
    }
}

/// Where a place lies in the table: between nodes it is read by cubics through four of them each way.
struct Cell {
    /// The first of the sixteen nodes.
    first: usize,
    rows: [f64; 4],
    directions: [f64; 4],
}

impl Cell {
    fn of(along: f64, across: f64) -> Cell {
        // Plain roots and one logarithm: this is the innermost loop, and ε lies between 0 and 1.
        let eps = (along * along + across * across).sqrt().min(1.0 - THINNEST);
        let row = (-(1.0 - eps).ln() / ROW_STEP).min((ROWS - 1) as f64);
        // ε (1 − cos γ), without the difference of two near numbers.
        let behind = if along > 0.0 { across * across / (eps + along) } else { eps - along };
        // sin²(γ/2), and tan(γ/4) from it.
        let square = (0.5 * behind / eps.max(THINNEST)).min(1.0);
        let quarter_tan = square.sqrt() / (1.0 + (1.0 - square).sqrt());
        let (first_row, row_part) = split(row, ROWS);
        let (first, part) = split(place_of(quarter_tan, eps), DIRECTIONS);
        Cell { first: first_row * DIRECTIONS + first, rows: cubic(row_part), directions: cubic(part) }
    }
}

/// The first of four neighbouring nodes, and how far behind its first the point lies.
fn split(place: f64, nodes: usize) -> (usize, f64) {
    let first = (place as usize).saturating_sub(1).min(nodes - 4);
    (first, place - first as f64)
}

/// Weights of Lagrange's cubic through nodes at 0, 1, 2, 3.
fn cubic(x: f64) -> [f64; 4] {
    let (a, b, c, d) = (x, x - 1.0, x - 2.0, x - 3.0);
    [-b * c * d / 6.0, 0.5 * a * c * d, -0.5 * a * b * d, a * b * c / 6.0]
}

fn row_eps(row: usize) -> f64 {
    -(-ROW_STEP * row as f64).exp_m1()
}

/// The slope with which tan(γ/4) grows from node to node where it begins: the nearer the wall, the smaller.
fn crowding(eps: f64) -> f64 {
    0.25 * (1.0 - eps).max(THINNEST).sqrt()
}

/// The angle γ of a place among the nodes: tan(γ/4) = w u + (1 − w) u².
fn direction_at(place: f64, eps: f64) -> f64 {
    let (u, w) = (place / (DIRECTIONS - 1) as f64, crowding(eps));
    4.0 * (u * (w + (1.0 - w) * u)).atan()
}

/// Where tan(γ/4) lies among the nodes.
fn place_of(quarter_tan: f64, eps: f64) -> f64 {
    let w = crowding(eps);
    let root = (w * w + 4.0 * (1.0 - w) * quarter_tan).sqrt();
    (root - w) / (2.0 * (1.0 - w)) * (DIRECTIONS - 1) as f64
}

/// One row of the map: all directions of the load at one eccentricity.
fn directions(eps: f64, ratio: f64, pushed: impl Fn(f64) -> Push, peak_at: impl Fn(f64) -> f64) -> Vec<[f64; 3]> {
    // Where the load points when the journal moves at `angle`, both from the line of centres.
    let load_at = |push: Push| push.across.atan2(push.along);
    let node = |angle: f64| {
        let push = pushed(angle);
        let force = push.along.hypot(push.across);
        // The journal lies behind the load by as much as the load stands from the line of centres; the map counts the
        // journal ahead of the load and mirrors the drift.
        let load = load_at(push);
        let (sin, cos) = (load - angle).sin_cos();
        let short = short(ratio, eps * load.cos(), eps * load.sin());
        let over_short = |part: f64, short: f64| part / (3.0 * force * short);
        [over_short(cos, short.along), over_short(sin, short.across), (4.0 * peak_at(angle) / force).ln()]
    };
    // The last two angles, from which the next is guessed.
    let mut last = (0.0, 0.0);
    let mut row = Vec::with_capacity(DIRECTIONS);
    for direction in 0..DIRECTIONS {
        let place = direction as f64;
        let wanted = direction_at(place.clamp(AT_END, (DIRECTIONS - 1) as f64 - AT_END), eps);
        let guess = if direction < 2 { wanted } else { 2.0 * last.0 - last.1 };
        let angle = invert(|angle| load_at(pushed(angle)) - wanted, last.0, std::f64::consts::PI, guess);
        last = (angle, last.0);
        let found = node(angle);
        row.push(match direction {
            0 => [node(0.0)[0], found[1], node(0.0)[2]],
            direction if direction == DIRECTIONS - 1 => {
                let end = node(std::f64::consts::PI);
                [end[0], found[1], end[2]]
            }
            _ => found,
        });
    }
    row
}

/// The zero of a rising function between two places, by secants from two guesses, kept between what is known to be
/// below and above.
fn invert(mut miss: impl FnMut(f64) -> f64, mut low: f64, mut high: f64, guess: f64) -> f64 {
    let mut here = guess.clamp(low + 1e-9, high - 1e-9);
    let mut off = miss(here);
    let mut slope = 1.0;
    for _ in 0..60 {
        if off < 0.0 {
            low = here
        } else {
            high = here
        }
        if off.abs() < 1e-8 || high - low < 1e-12 {
            break;
        }
        let mut next = here - off / slope;
        if !(next > low && next < high) {
            next = 0.5 * (low + high);
        }
        let off_next = miss(next);
        slope = ((off_next - off) / (next - here)).max(1e-9);
        (here, off) = (next, off_next);
    }
    here
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The map against a film cut three times as fine, between its rows and directions and close to the wall.
    /// Tolerance: 1.2 % of the drift's length up to ε 0.985, 2 % at 0.993, 3 % at 0.997, where films are thinner than
    /// surfaces are rough.
    #[test]
    fn a_finer_net_agrees_up_to_the_wall() {
        for ratio in [0.25, 0.5, 1.0] {
            let map = Map::new(ratio).expect("a map");
            for eps in [0.05, 0.37, 0.83, 0.96, 0.985, 0.993, 0.997] {
                let fine = Squeezes::new(eps, f64::powi(ratio, -2), 720, 48);
                for angle in [0.0, 0.05, 0.4, 1.0, 1.6, 2.2, 2.8, 3.1] {
                    let push = fine.push(angle);
                    let (load, force) = (push.across.atan2(push.along), push.across.hypot(push.along));
                    let drift = map.drift(eps * load.cos(), -eps * load.sin());
                    let turned = angle - load;
                    let (along, across) = (turned.cos() / (3.0 * force), turned.sin() / (3.0 * force));
                    let off = (drift.along - along).hypot(drift.across - across) * 3.0 * force;
                    let allowed = if eps > 0.995 {
                        0.03
                    } else if eps > 0.99 {
                        0.02
                    } else {
                        0.012
                    };
                    assert!(off < allowed, "L/D {ratio}, eps {eps}, angle {angle}: off by {off}");
                }
            }
        }
    }

    /// Close to the wall, under a load that all but points at the narrowest gap, both parts of the drift are those of the
    /// short bearing, whose pressure is known in closed form: p = 6 μ (∂h/∂t) (z² − L²/4) / h³, kept where it is above
    /// nought. (Ocvirk's film; J. F. Booker, 1965, squeezed alone.) Its force is added up here in 20,000 steps of
    /// Sommerfeld's angle. Tolerance: 1 % of each part by itself; half of that is the map's net across.
    #[test]
    fn close_to_the_wall_both_parts_are_those_of_the_short_bearing() {
        // Narrower than any bearing, so that no pressure flows off round the gap where that is a few thousandths wide.
        let ratio = 1e-3;
        let map = Map::worked_out(ratio, Rupture::Gumbel).expect("a map");
        let mut compared = 0;
        for eps in [0.9, 0.98, 0.995, 0.998] {
            let grid = crate::grid::Grid::new(eps, 1.0, 20_000, 3);
            for angle in [1e-3, 0.01, 0.1, 0.4, 0.8, 1.2, 1.5] {
                let (mut towards, mut aside) = (0.0, 0.0);
                for station in 0..20_000 {
                    let at = grid.angle[station];
                    let pressure = (-(at - angle).cos()).max(0.0) / grid.film[station].powi(3);
                    towards -= pressure * at.cos() * grid.arc(station);
                    aside -= pressure * at.sin() * grid.arc(station);
                }
                let (load, force) = (f64::atan2(aside, towards), f64::hypot(towards, aside));
                let length = 0.5 / (ratio * ratio * force);
                let (along, across) = (length * (load - angle).cos(), length * (load - angle).sin());
                let found = map.drift(eps * load.cos(), eps * load.sin());
                let (off_along, off_across) = (found.along / along - 1.0, found.across / across - 1.0);
                assert!(
                    off_along.abs() < 0.01 && off_across.abs() < 0.01,
                    "eps {eps}, load {load}: along off by {off_along}, across by {off_across}"
                );
                compared += usize::from(eps == 0.998 && load < 1e-3);
            }
        }
        assert!(compared >= 3, "{compared} loads within a thousandth at the wall");
    }
}
