//! Mobility: how fast a journal drifts under a load, for every place it can be.
//!
//! J. F. Booker's method (*J. Basic Engineering* 87 (1965) 537–546): in a frame that turns with the mean of journal and
//! shell, the film only squeezes, and dε/dt = [F (c/R)² / (μ L D)] M, where the vector M depends on the journal's place
//! and the direction of the load alone. A map of M is worked out once for a bearing's shape and serves all loads.

use rayon::prelude::*;

use crate::problem::{Checks, Problems};
use crate::squeeze::{Broken, Push, Squeezes};
use crate::steady::Rupture;
use crate::upper_groove;

/// Steps of t = −ln(1 − ε) between the rows of a map, and their number: ε up to 0.998.
const ROW_STEP: f64 = 0.2;
const ROWS: usize = 32;
/// Directions of a row, from the load along the line of centres to against it, crowded where they begin: there the
/// drift of an eccentric journal changes within a few degrees.
const DIRECTIONS: usize = 57;
/// The net that a map is worked out on.
const AROUND: usize = 240;
/// Near the wall the wide side of the gap is cut into few steps, and a journal being drawn off has its pressure there.
const AROUND_AT_WALL: usize = 480;
const ACROSS: usize = 16;
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

/// The drift of a finite film, as logarithm of its length and as angle, both against Booker's closed form, which
/// leaves a smooth table.
///
/// # Limits
/// [`Map::new`] takes Gümbel's film: the negative half is left out, which for a journal that is being pressed in
/// differs by under 1 %, and by more where it is being drawn off, which does not decide the least film. Between ε 0.998
/// and the wall the last row's ratio to the closed form is kept.
#[derive(Clone, Debug)]
pub struct Map {
    ratio: f64,
    /// Row by row of t, then by direction: ln(|M| / |M short|), angle of M less that of M short, ln(peak / mean).
    nodes: Vec<[f64; 3]>,
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
        let row = |row: usize| {
            let (eps, slenderness) = (row_eps(row), length_over_diameter.powi(-2));
            let around = if eps > 0.97 { AROUND_AT_WALL } else { AROUND };
            match rupture {
                Rupture::Gumbel => {
                    let squeezes = Squeezes::new(eps, slenderness, around, ACROSS);
                    Some(directions(eps, length_over_diameter, |angle| squeezes.push(angle)))
                }
                Rupture::Reynolds => {
                    let mut broken = Broken::new(eps, slenderness, around / 2, ACROSS / 2);
                    let mut settled = true;
                    let row = directions(eps, length_over_diameter, |angle| {
                        broken.push(angle).unwrap_or_else(|| {
                            settled = false;
                            Push { along: 1.0, across: 0.0, peak: 1.0 }
                        })
                    });
                    settled.then_some(row)
                }
            }
        };
        let rows: Option<Vec<Vec<[f64; 3]>>> = (0..ROWS).into_par_iter().map(row).collect();
        let unsettled = "the ends of the film did not settle";
        let rows =
            rows.ok_or_else(|| Problems::one("length_over_diameter", length_over_diameter, "another one", unsettled))?;
        Ok(Map { ratio: length_over_diameter, nodes: rows.concat() })
    }

    /// The length over diameter that the map is for.
    pub fn length_over_diameter(&self) -> f64 {
        self.ratio
    }

    /// Mobility of a journal at (`along`, `across`), as measured along the load and a quarter turn on.
    pub fn drift(&self, along: f64, across: f64) -> Drift {
        let [log, turn] = self.at(along, across, |node| [node[0], node[1]]);
        let short = short(self.ratio, along, across);
        let (sin, cos) = (if across < 0.0 { -turn } else { turn }).sin_cos();
        let grown = log.exp();
        Drift {
            along: grown * (short.along * cos - short.across * sin),
            across: grown * (short.along * sin + short.across * cos),
        }
    }

    /// Peak pressure over the mean pressure F/(L D).
    pub fn peak_over_mean(&self, along: f64, across: f64) -> f64 {
        let [log] = self.at(along, across, |node| [node[2]]);
        log.exp()
    }

    /// The table between its nodes, by cubics through four nodes each way.
    fn at<const N: usize>(&self, along: f64, across: f64, of: impl Fn(&[f64; 3]) -> [f64; N]) -> [f64; N] {
        // Plain roots and logarithms: this is the innermost loop, and ε lies between 0 and 1.
        let eps = (along * along + across * across).sqrt().min(1.0 - THINNEST);
        let row = -(1.0 - eps).ln() / ROW_STEP;
        let direction = place_of(across.abs().atan2(along), eps);
        let row = row.min((ROWS - 1) as f64);
        let (first_row, row_part) = split(row, ROWS);
        let (first, part) = split(direction, DIRECTIONS);
        let (row_weights, weights) = (cubic(row_part), cubic(part));
        let mut sum = [0.0; N];
        for (row_place, row_weight) in row_weights.into_iter().enumerate() {
            let base = (first_row + row_place) * DIRECTIONS + first;
            for (node, weight) in self.nodes[base..base + 4].iter().zip(weights) {
                for (sum, value) in sum.iter_mut().zip(of(node)) {
                    *sum += row_weight * weight * value;
                }
            }
        }
        sum
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

/// The slope with which angles grow from node to node where they begin: the nearer the wall, the smaller.
fn crowding(eps: f64) -> f64 {
    0.3 * (1.0 - eps).max(THINNEST).sqrt()
}

/// The angle of a node: half a turn times (w u + (1 − w) u²).
fn direction_at(place: usize, eps: f64) -> f64 {
    let (u, w) = (place as f64 / (DIRECTIONS - 1) as f64, crowding(eps));
    std::f64::consts::PI * u * (w + (1.0 - w) * u)
}

/// Where an angle lies among the nodes.
fn place_of(angle: f64, eps: f64) -> f64 {
    let (part, w) = (angle / std::f64::consts::PI, crowding(eps));
    let root = (w * w + 4.0 * (1.0 - w) * part).sqrt();
    (root - w) / (2.0 * (1.0 - w)) * (DIRECTIONS - 1) as f64
}

/// One row of the map: all directions of the load at one eccentricity.
fn directions(eps: f64, ratio: f64, mut pushed: impl FnMut(f64) -> Push) -> Vec<[f64; 3]> {
    let pi = std::f64::consts::PI;
    // Where the load points when the journal moves at `angle`, both from the line of centres.
    let mut load_at = |angle: f64| {
        let push = pushed(angle);
        (push.across.atan2(push.along), push)
    };
    // The last two angles, from which the next is guessed.
    let mut last = (0.0, 0.0);
    let mut row = Vec::with_capacity(DIRECTIONS);
    for direction in 0..DIRECTIONS {
        let wanted = direction_at(direction, eps);
        let angle = if direction == 0 {
            0.0
        } else if direction == DIRECTIONS - 1 {
            pi
        } else {
            invert(|angle| load_at(angle).0 - wanted, last.0, pi, last.0 + (last.0 - last.1))
        };
        last = (angle, last.0);
        let (_, push) = load_at(angle);
        let force = push.along.hypot(push.across);
        // The load stands at `wanted` from the line of centres here, so the journal lies behind the load by as much;
        // the map counts the journal ahead of the load and mirrors the drift.
        let drift_angle = wanted - angle;
        let magnitude = 1.0 / (3.0 * force);
        let short = short(ratio, eps * wanted.cos(), eps * wanted.sin());
        let length = short.along.hypot(short.across);
        let turn = drift_angle - short.across.atan2(short.along);
        row.push([(magnitude / length).ln(), turn, (4.0 * push.peak / force).ln()]);
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
}
