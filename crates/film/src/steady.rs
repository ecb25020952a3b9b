//! The bearing under a steady load: one solution of Reynolds' equation and all that follows from it.

use serde::{Deserialize, Serialize};

use crate::plain::{self, Pressures};
use crate::problem::{Checks, Problems};

/// What is done where the oil would have to pull.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Rupture {
    /// The film breaks where pressure and its slope both reach zero (Reynolds' boundary): pressure is never negative,
    /// no oil appears from nothing where it breaks, and one of the two holds with equality at every node.
    Reynolds,
    /// The film is worked out all round and its negative half left out (half Sommerfeld, Gümbel). Quicker, linear, and
    /// wrong in its balance of oil at the end of the film.
    Gumbel,
}

/// How finely the film is cut: steps round the bearing, and steps across half its width.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Net {
    /// Steps of the Sommerfeld angle in a turn.
    pub around: usize,
    /// Steps from mid-width to the edge.
    pub across: usize,
}

impl Net {
    /// 181 × 41 points over the whole width: the Sommerfeld number within about 0.2 %.
    pub const STANDARD: Net = Net { around: 180, across: 20 };
    /// Half as fine, for quick curves: within about 1 %.
    pub const QUICK: Net = Net { around: 90, across: 10 };

    fn check(self, checks: &mut Checks) {
        checks
            .that((24..=4000).contains(&self.around), "net.around", self.around, "24 to 4000", "the film needs steps")
            .that((3..=1000).contains(&self.across), "net.across", self.across, "3 to 1000", "the film needs steps");
    }
}

/// Largest eccentricity ratio that is worked out: beyond it the surfaces touch before the sum means anything.
pub const MOST_ECCENTRIC: f64 = 0.9995;
/// Smallest eccentricity ratio that is worked out.
pub const LEAST_ECCENTRIC: f64 = 1e-4;

/// The steady film at one eccentricity, in numbers without units.
///
/// # Limits
/// One viscosity throughout, rigid and parallel surfaces, laminar film, no inertia; the film begins without pressure at
/// the widest gap. Real shells bend and real oil heats up on its way round.
/// # Source
/// Reynolds' equation with the definitions of A. A. Raimondi and J. Boyd, *Trans. ASLE* 1 (1958) 159–209: Sommerfeld
/// number S = (R/c)² μ N / P with P = W/(L D) and N in revolutions a second.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Steady {
    /// Length over diameter.
    pub length_over_diameter: f64,
    /// Distance of the centres over the radial clearance.
    pub eccentricity: f64,
    /// Sommerfeld number.
    pub sommerfeld: f64,
    /// From the line of the load to the thinnest film, in the sense of rotation.
    pub attitude_deg: f64,
    /// (R/c) f at the journal, all of the gap shearing full width.
    pub friction: f64,
    /// The same summed up from shear stresses over the net: a second route.
    pub friction_summed: f64,
    /// Oil carried in at the widest gap, over R c N L.
    pub flow: f64,
    /// Oil lost at both edges, over R c N L.
    pub side_flow: f64,
    /// Oil still in the film where it breaks, over R c N L.
    pub flow_at_rupture: f64,
    /// Mean pressure W/(L D) over the peak pressure.
    pub mean_over_peak: f64,
    /// From the widest gap to the peak pressure.
    pub peak_deg: f64,
    /// From the widest gap to the end of the film at mid-width.
    pub rupture_deg: f64,
    /// Heat made in the film, by shear and by flow under pressure, over the work done at the journal: one, but for the
    /// net.
    pub energy_ratio: f64,
}

impl Steady {
    /// Solves the film at an eccentricity.
    ///
    /// # Errors
    /// An eccentricity at which the surfaces touch (one and above), or at which nothing carries (zero); a bearing
    /// without length.
    /// # Example
    /// Raimondi and Boyd print S 0.319 for L/D ½ and ε 0.6:
    /// ```
    /// use film::steady::{Net, Rupture, Steady};
    /// let film = Steady::at(0.5, 0.6, Rupture::Reynolds, Net::STANDARD)?;
    /// assert!((film.sommerfeld - 0.319).abs() < 0.001);
    /// # Ok::<(), film::Problems>(())
    /// ```
    pub fn at(length_over_diameter: f64, eccentricity: f64, rupture: Rupture, net: Net) -> Result<Steady, Problems> {
        let mut checks = Checks::new();
        check_length(&mut checks, length_over_diameter);
        net.check(&mut checks);
        checks.between(
            "eccentricity",
            eccentricity,
            LEAST_ECCENTRIC,
            MOST_ECCENTRIC,
            "at 0 a steady film carries nothing, at 1 the surfaces touch and there is no film",
        );
        checks.finish()?;
        let slenderness = length_over_diameter.powi(-2);
        let solved = plain::solve(eccentricity, slenderness, net.around, net.across, rupture).ok_or_else(unsettled)?;
        Ok(evaluate(&solved, length_over_diameter))
    }

    /// Finds the eccentricity that carries a load, given by its Sommerfeld number.
    ///
    /// # Errors
    /// A Sommerfeld number that is not above zero, or so small that the film would be thinner than
    /// 1 − [`MOST_ECCENTRIC`] of the clearance.
    pub fn under(length_over_diameter: f64, sommerfeld: f64, rupture: Rupture, net: Net) -> Result<Steady, Problems> {
        let mut checks = Checks::new();
        check_length(&mut checks, length_over_diameter);
        net.check(&mut checks);
        checks.positive("sommerfeld", sommerfeld, "without speed, viscosity and load there is no steady film");
        checks.finish()?;
        // ln S falls nearly straight over t = −ln(1 − ε): secants from where Ocvirk's short bearing would run, kept
        // between the nearest values known to be too low and too high.
        let miss = |t: f64| -> Result<(Steady, f64), Problems> {
            let found = Steady::at(length_over_diameter, 1.0 - (-t).exp(), rupture, net)?;
            Ok((found, (found.sommerfeld / sommerfeld).ln()))
        };
        let least = -(-LEAST_ECCENTRIC).ln_1p() * 1.000_001;
        let most = -(1.0 - MOST_ECCENTRIC).ln() * 0.999_999;
        let (mut low, mut high) = (least, most);
        let mut here = short_start(length_over_diameter, sommerfeld).clamp(low, high);
        let (mut found, mut off) = miss(here)?;
        let mut slope = -1.5;
        for _ in 0..80 {
            if off.abs() < 1e-9 || high - low < 1e-13 {
                return Ok(found);
            }
            if off > 0.0 {
                low = here
            } else {
                high = here
            }
            if low >= most {
                let physics = "the surfaces would touch: too much load, or too little speed, viscosity or length";
                return Err(Problems::one("sommerfeld", sommerfeld, "a load that the film can carry", physics));
            }
            if high <= least {
                // So light a load that the journal runs central: the film hardly changes from there on.
                return Ok(found);
            }
            let mut next = here - off / slope;
            if !(next > low && next < high) {
                // The ends themselves are tried, so that a load beyond them is found out.
                next = if next >= high && high == most {
                    most
                } else if next <= low && low == least {
                    least
                } else {
                    0.5 * (low + high)
                };
            }
            let (there, off_there) = miss(next)?;
            if next != here {
                slope = ((off_there - off) / (next - here)).clamp(-50.0, -1e-3);
            }
            (here, found, off) = (next, there, off_there);
        }
        Err(unsettled())
    }
}

fn check_length(checks: &mut Checks, length_over_diameter: f64) {
    let physics = "shorter the edges drain all pressure, longer the bearing is no bearing";
    checks.between("length_over_diameter", length_over_diameter, 0.02, 50.0, physics);
}

fn unsettled() -> Problems {
    Problems::one("net", "this one", "another net", "the end of the film did not settle on it")
}

/// −ln(1 − ε) of Ocvirk's short bearing at a Sommerfeld number, by halving.
fn short_start(length_over_diameter: f64, sommerfeld: f64) -> f64 {
    let (mut low, mut high) = (1e-4, 7.5);
    for _ in 0..30 {
        let middle: f64 = 0.5 * (low + high);
        let short = crate::closed::short_sommerfeld(length_over_diameter, 1.0 - (-middle).exp());
        if short > sommerfeld { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Everything that follows from the pressures.
fn evaluate(solved: &Pressures, length_over_diameter: f64) -> Steady {
    let (grid, values) = (&solved.grid, &solved.values);
    let (around, lines) = (grid.around, grid.across);
    let step_across = 1.0 / lines as f64;
    let row = |station: usize| &values[station * lines..][..lines];
    // The mean across the width, by trapezoids; the edge itself carries nothing.
    let mean = |station: usize| -> f64 {
        let row = row(station);
        step_across * (row.iter().sum::<f64>() - 0.5 * row[0])
    };
    let means: Vec<f64> = (0..around).map(mean).collect();

    let (mut towards, mut across) = (0.0, 0.0);
    for (station, mean) in means.iter().enumerate() {
        let part = 2.0 * mean * grid.arc(station);
        towards -= part * grid.angle[station].cos();
        across += part * grid.angle[station].sin();
    }
    let carried = towards.hypot(across);
    let attitude = across.atan2(towards);

    let sommerfeld = 1.0 / (3.0 * std::f64::consts::PI * carried);
    let eps = grid.eps;
    let friction = 2.0 * std::f64::consts::PI.powi(2) * sommerfeld / grid.root + 0.5 * eps * attitude.sin();
    let sums = Sums::new(grid, &means, values);
    // With W^ = ∫∫ P over the whole width, (R/c) f W^ = ⅓ ∫ dθ/H + ½ ∫∫ H P_θ: the shear at the journal's surface.
    let couette: f64 = (0..around).map(|station| grid.arc(station) / grid.film[station]).sum::<f64>() / 3.0;
    let friction_summed = (couette + sums.dragged) / carried;
    let energy_ratio = (couette + sums.squeezed) / (friction * carried);

    let (peak, peak_deg) = peak(solved);
    let end = plain::end_of_film(solved, 0).min(around as f64);
    Steady {
        length_over_diameter,
        eccentricity: eps,
        sommerfeld,
        attitude_deg: attitude.to_degrees(),
        friction,
        friction_summed,
        flow: sums.flow_in,
        side_flow: sums.side_flow,
        flow_at_rupture: sums.flow_at_rupture,
        mean_over_peak: carried / (4.0 * peak),
        peak_deg,
        rupture_deg: angle_at(grid, end).to_degrees(),
        energy_ratio,
    }
}

/// Sums over the net that concern flow and heat.
struct Sums {
    /// ½ ∫∫ H ∂P/∂θ over the whole width: what the pressure adds to the drag on the journal.
    dragged: f64,
    /// ½ ∫∫ H³ |∇P|² over the whole width: what the flow under pressure turns into heat.
    squeezed: f64,
    flow_in: f64,
    side_flow: f64,
    flow_at_rupture: f64,
}

impl Sums {
    fn new(grid: &crate::grid::Grid, means: &[f64], values: &[f64]) -> Sums {
        use std::f64::consts::PI;
        let (around, lines) = (grid.around, grid.across);
        let step_across = 1.0 / lines as f64;
        let at = |station: usize, line: usize| {
            if station.is_multiple_of(around) || line == lines { 0.0 } else { values[station * lines + line] }
        };
        let (mut dragged, mut squeezed, mut side, mut at_rupture) = (0.0, 0.0, 0.0, 0.0);
        for station in 0..around {
            let after = if station + 1 == around { 0.0 } else { means[station + 1] };
            let difference = after - means[station];
            dragged += grid.film_half[station] * difference;
            let mut along_sum = 0.0;
            let mut across_sum = 0.0;
            for line in 0..lines {
                let weight = if line == 0 { 0.5 } else { 1.0 };
                along_sum += weight * (at(station + 1, line) - at(station, line)).powi(2);
                across_sum += (at(station, line + 1) - at(station, line)).powi(2);
            }
            squeezed += step_across * (grid.along[station] * along_sum + grid.sideways[station] * across_sum);
            // The edge's cell is half as wide; what it takes up itself leaves with the rest.
            if station > 0 {
                let through = grid.sideways[station] * at(station, lines - 1) * step_across * step_across;
                let edge = through / step_across - 0.5 * step_across * grid.turning(station);
                side += if at(station, lines - 1) > 0.0 { edge } else { edge.max(0.0) };
            }
        }
        // The first half cell, where pressure only begins: on the average a quarter of what the next station has.
        let begun = 0.125 * grid.sideways[0] * at(1, lines - 1) * step_across;
        let begun = begun - 0.5 * step_across * (grid.film_half[0] - grid.film[0]);
        side += begun;
        let flow_in = PI * (grid.film_half[0] - grid.along[0] * means[1] + begun);
        // What the film has left line by line where it breaks: the narrowing has been pumped out till there.
        for line in 0..=lines {
            let weight = if line == 0 || line == lines { 0.5 } else { 1.0 };
            let inner = line.min(lines - 1);
            let last = (1..around).rev().find(|station| at(*station, inner) > 0.0).unwrap_or(0);
            let left = grid.film_half[last] + grid.along[last] * at(last, line);
            at_rupture += weight * step_across * left;
        }
        Sums { dragged, squeezed, flow_in, side_flow: PI * side, flow_at_rupture: PI * at_rupture }
    }
}

/// The peak pressure and its angle in degrees, by a parabola through three stations at mid-width.
fn peak(solved: &Pressures) -> (f64, f64) {
    let (grid, lines) = (&solved.grid, solved.grid.across);
    let at = |station: usize| solved.values[station * lines];
    let highest = (1..grid.around - 1).max_by(|a, b| at(*a).total_cmp(&at(*b))).unwrap_or(1);
    let (before, here, after) = (at(highest - 1), at(highest), at(highest + 1));
    let bend = before - 2.0 * here + after;
    let shift = if bend < 0.0 { 0.5 * (before - after) / bend } else { 0.0 };
    let shift = shift.clamp(-1.0, 1.0);
    (here - 0.25 * (before - after) * shift, angle_at(grid, highest as f64 + shift).to_degrees())
}

/// The angle from the widest gap at so many steps of γ.
fn angle_at(grid: &crate::grid::Grid, steps: f64) -> f64 {
    let half = 0.5 * steps * grid.step;
    2.0 * ((1.0 + grid.eps).sqrt() * half.sin()).atan2((1.0 - grid.eps).sqrt() * half.cos())
}
