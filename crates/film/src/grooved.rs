//! Shells with holes and grooves: the film with the pressure given where the oil comes in.

use serde::Serialize;

use crate::grid::Grid;
use crate::problem::{Checks, Problems};
use crate::ring::Ring;
use crate::steady::{LEAST_ECCENTRIC, MOST_ECCENTRIC, Net, Rupture};

/// One opening in the shell, in the middle of its width.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Opening {
    /// From the widest gap to the middle of the opening, in the sense of rotation.
    pub centre_deg: f64,
    /// Its shape.
    pub shape: Shape,
    /// The pressure in it, over 6 μ ω (R/c)² where the journal turns; any unit where it stands.
    pub pressure: f64,
}

/// The shape of an opening.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub enum Shape {
    /// A groove along the direction of motion, or across it, or a pocket: so many degrees long and so much of the
    /// shell's width wide. 360 degrees is a groove all the way round.
    Groove {
        /// Its length round the shell.
        degrees: f64,
        /// Its width over the shell's.
        width: f64,
    },
    /// A round hole.
    Hole {
        /// Its diameter over the shell's width.
        diameter: f64,
    },
}

/// Whether the journal turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Journal {
    /// It turns, and pumps oil round.
    Turns,
    /// It stands; only the pressure in the openings moves oil.
    Stands,
}

/// A film with openings, in numbers without units.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Grooved {
    /// Sommerfeld number of the load that the film carries; a journal that stands has none.
    pub sommerfeld: Option<f64>,
    /// From the line of the load to the thinnest film.
    pub attitude_deg: f64,
    /// What comes out of all openings: Q μ / (p c³) with p the unit of pressure; where the journal turns, with
    /// p = 6 μ ω (R/c)², less what it takes into them.
    pub feed: f64,
    /// Mean pressure over peak pressure.
    pub mean_over_peak: f64,
}

/// Solves a film with openings.
///
/// # Errors
/// Inputs that cannot be used, all at once.
/// # Limits
/// Those of [`crate::steady::Steady`], but that the film may begin anywhere: it does not have to start without pressure
/// at the widest gap. A hole is as round as the net allows.
pub fn solve(
    length_over_diameter: f64,
    eccentricity: f64,
    openings: &[Opening],
    journal: Journal,
    net: Net,
) -> Result<Grooved, Problems> {
    let mut checks = Checks::new();
    let physics = "shorter the edges drain all pressure, longer the bearing is no bearing";
    checks.between("length_over_diameter", length_over_diameter, 0.02, 50.0, physics);
    let least = if journal == Journal::Turns { LEAST_ECCENTRIC } else { 0.0 };
    let physics = "at 1 the surfaces touch and there is no film; a central journal that turns carries nothing";
    checks.between("eccentricity", eccentricity, least, MOST_ECCENTRIC, physics);
    // This solver's work grows with the cube of the net.
    checks
        .that((24..=1440).contains(&net.around), "net.around", net.around, "24 to 1440", "the film needs steps")
        .that((3..=100).contains(&net.across), "net.across", net.across, "3 to 100", "the film needs steps");
    for (place, opening) in openings.iter().enumerate() {
        let field = |name: &str| format!("openings[{}].{name}", place + 1);
        checks.between(&field("centre_deg"), opening.centre_deg, -720.0, 720.0, "a place on the shell").between(
            &field("pressure"),
            opening.pressure,
            0.0,
            1e12,
            "oil is pushed in, not drawn out",
        );
        match opening.shape {
            Shape::Groove { degrees, width } => checks
                .between(&field("degrees"), degrees, 0.0, 360.0, "a groove goes round once at most")
                .between(&field("width"), width, 0.0, 1.0, "a groove is not wider than the shell"),
            Shape::Hole { diameter } => {
                checks.between(&field("diameter"), diameter, 1e-3, 0.9, "a hole is not wider than the shell")
            }
        };
    }
    checks.finish()?;

    let slenderness = length_over_diameter.powi(-2);
    // The net is laid so that the first opening's middle is on a station: moved by less than a step, an opening would
    // otherwise jump from one to the next.
    let step = std::f64::consts::TAU / net.around as f64;
    let first = openings.first().map_or(0.0, |opening| opening.centre_deg.to_radians().rem_euclid(step));
    let grid = Grid::even(eccentricity, slenderness, net.around, net.across, first);
    let given = nodes(&grid, openings, length_over_diameter);
    let turning = |station| if journal == Journal::Turns { grid.turning(station) } else { 0.0 };
    let source: Vec<f64> = (0..net.around).map(turning).collect();
    let ring = Ring { grid: &grid, source: &source, given: &given };
    let solved = ring
        .solve(Rupture::Reynolds, None)
        .ok_or_else(|| Problems::one("net", "this one", "another net", "the ends of the film did not settle on it"))?;

    let lines = net.across;
    let step_across = 1.0 / lines as f64;
    let (mut towards, mut across, mut peak, mut feed) = (0.0, 0.0, 0.0f64, 0.0);
    for station in 0..net.around {
        for line in 0..lines {
            let node = station * lines + line;
            let weight = if line == 0 { 0.5 } else { 1.0 };
            let part = 2.0 * weight * step_across * solved.values[node] * grid.arc(station);
            towards -= part * grid.angle[station].cos();
            across += part * grid.angle[station].sin();
            peak = peak.max(solved.values[node]);
            if given[node].is_some() {
                feed += weight * step_across * ring.surplus(&solved.values, station, line);
            }
        }
    }
    let carried = towards.hypot(across).max(f64::MIN_POSITIVE);
    let sommerfeld = (1.0 / (3.0 * std::f64::consts::PI * carried)).min(f64::MAX);
    let mean_over_peak = if peak > 0.0 { carried / (4.0 * peak) } else { 0.0 };
    Ok(Grooved {
        sommerfeld: (journal == Journal::Turns).then_some(sommerfeld),
        attitude_deg: across.atan2(towards).to_degrees(),
        feed: length_over_diameter * feed / 6.0,
        mean_over_peak,
    })
}

/// Which nodes lie in an opening, and its pressure.
fn nodes(grid: &Grid, openings: &[Opening], length_over_diameter: f64) -> Vec<Option<f64>> {
    let lines = grid.across;
    let mut given = vec![None; grid.around * lines];
    for opening in openings {
        for station in 0..grid.around {
            let off = (grid.angle[station].to_degrees() - opening.centre_deg + 180.0).rem_euclid(360.0) - 180.0;
            for line in 0..lines {
                let out = line as f64 / lines as f64;
                // Nodes stand for their cells: those whose middle lies in the opening belong to it.
                let in_it = match opening.shape {
                    Shape::Groove { degrees, width } => off.abs() <= 0.5 * degrees + 1e-9 && out <= width + 1e-9,
                    Shape::Hole { diameter } => {
                        // In half widths: a radian of the shell is D / L of them.
                        let round = off.to_radians() / length_over_diameter;
                        round.hypot(out) <= diameter
                    }
                };
                if in_it {
                    given[station * lines + line] = Some(opening.pressure);
                }
            }
        }
    }
    given
}
