//! The metal that a drawn journal has: its least radius, and whether it keeps its limits.

use super::Model;
use super::drawn::{Drawn, DrawnJournal};
use super::rings::Ring;
use super::shape::{SHARPNESSES, STEP_DEG, TURN, one_side};

/// One side's wear twice round, so that it can be read from any direction on without a turn over.
pub(super) struct Sides {
    twice: [[f64; 2 * TURN]; SHARPNESSES],
    cos: [f64; TURN],
    sin: [f64; TURN],
}

impl Sides {
    pub(super) fn new() -> Sides {
        let twice = std::array::from_fn(|sharpness| {
            let once = one_side(sharpness);
            std::array::from_fn(|n| once[n % TURN])
        });
        let angle = |n: usize| (STEP_DEG * n as f64).to_radians();
        Sides { twice, cos: std::array::from_fn(|n| angle(n).cos()), sin: std::array::from_fn(|n| angle(n).sin()) }
    }

    /// What share of the oval part is gone at each direction.
    fn worn(&self, journal: &DrawnJournal) -> [f64; TURN] {
        let twice = &self.twice[journal.sharpness];
        let side = journal.side % TURN;
        let worse = &twice[TURN - side..2 * TURN - side];
        let from = (TURN + TURN / 2 - side) % TURN;
        let better = &twice[from..from + TURN];
        let (share, rest) = (journal.share, 1.0 - journal.share);
        std::array::from_fn(|n| share * worse[n] + rest * better[n])
    }

    /// How far a centre that lies off moves the surface at each direction.
    fn moved(&self, (x, y): (f64, f64)) -> [f64; TURN] {
        std::array::from_fn(|n| x * self.cos[n] + y * self.sin[n])
    }
}

/// The smallest of some values; four at a time, so that the machine can.
fn least(values: &[f64; TURN]) -> f64 {
    const WIDE: usize = 8;
    let mut lanes = [f64::INFINITY; WIDE];
    for chunk in values.chunks_exact(WIDE) {
        for (lane, &value) in lanes.iter_mut().zip(chunk) {
            *lane = if value < *lane { value } else { *lane };
        }
    }
    lanes.into_iter().fold(f64::INFINITY, f64::min)
}

/// The least radius of one journal, and what it would be if only what was looked at counted.
#[derive(Clone, Copy, Debug)]
pub(super) struct Least {
    /// Over the whole surface.
    pub(super) mm: f64,
    /// Over the directions that somebody measured across.
    pub(super) seen_directions_mm: f64,
    /// Over the places along it that somebody measured at.
    pub(super) seen_stations_mm: f64,
    /// With its centre on the axis.
    pub(super) centred_mm: f64,
}

/// Which of the further figures of [`Least`] are asked for.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Wanted {
    pub(super) directions: bool,
    pub(super) stations: bool,
    pub(super) centred: bool,
}

impl Model<'_> {
    /// The least radius of sound metal on a drawn journal, on the axis that the wheel follows.
    pub(super) fn least_mm(&self, drawn: &Drawn, j: usize, wanted: Wanted) -> Least {
        let at = &self.journals[j];
        let journal = &drawn.journals[j];
        let worn = self.sides.worn(journal);
        let off = (journal.offset_mm.0 - journal.set_up_mm.0, journal.offset_mm.1 - journal.set_up_mm.1);
        let moved = self.sides.moved(off);
        let wheel = wanted.centred.then(|| self.sides.moved((-journal.set_up_mm.0, -journal.set_up_mm.1)));
        let middle_mm = at.middle_mm - self.ladder_mm(at.set)[journal.step];
        let mut found = Least {
            mm: f64::INFINITY,
            seen_directions_mm: f64::INFINITY,
            seen_stations_mm: f64::INFINITY,
            centred_mm: f64::INFINITY,
        };
        for ring in &at.rings.rings {
            match ring {
                Ring::Shape { zeta, damages, seen, seen_here } => {
                    let (even, oval) = journal.parts_mm(*zeta);
                    let base = (middle_mm - even) / 2.0 - journal.hidden_mm;
                    let mut radii: [f64; TURN] = std::array::from_fn(|n| moved[n] - oval * worn[n]);
                    let deep = depths(drawn, damages);
                    if let Some(deep) = &deep {
                        radii.iter_mut().zip(deep).for_each(|(radius, deep)| *radius -= deep);
                    }
                    let here = base + least(&radii);
                    found.mm = found.mm.min(here);
                    if wanted.directions {
                        let looked_at = (0..TURN).filter(|n| seen >> n & 1 == 1).map(|n| radii[n]);
                        found.seen_directions_mm =
                            found.seen_directions_mm.min(base + looked_at.fold(f64::INFINITY, f64::min));
                    }
                    if wanted.stations && *seen_here {
                        found.seen_stations_mm = found.seen_stations_mm.min(here);
                    }
                    if let Some(wheel) = &wheel {
                        let mut radii: [f64; TURN] = std::array::from_fn(|n| wheel[n] - oval * worn[n]);
                        if let Some(deep) = &deep {
                            radii.iter_mut().zip(deep).for_each(|(radius, deep)| *radius -= deep);
                        }
                        found.centred_mm = found.centred_mm.min(base + least(&radii));
                    }
                }
                Ring::Trace { .. } => {}
            }
        }
        if at.traced_points > 0 {
            let mut traced = f64::INFINITY;
            self.traced_radii(drawn, j, &mut |radius| traced = traced.min(radius));
            for mm in [&mut found.mm, &mut found.seen_directions_mm, &mut found.seen_stations_mm, &mut found.centred_mm]
            {
                *mm = mm.min(traced);
            }
        }
        found
    }

    /// Radii of all points of a drawn journal, ring by ring, for the programmes of a free axis.
    pub(super) fn radii_mm(&self, drawn: &Drawn, j: usize, radii_mm: &mut Vec<f64>) {
        let at = &self.journals[j];
        let journal = &drawn.journals[j];
        let worn = self.sides.worn(journal);
        let off = (journal.offset_mm.0 - journal.set_up_mm.0, journal.offset_mm.1 - journal.set_up_mm.1);
        let moved = self.sides.moved(off);
        let middle_mm = at.middle_mm - self.ladder_mm(at.set)[journal.step];
        // Traces come first, as their rings do.
        self.traced_radii(drawn, j, &mut |radius| radii_mm.push(radius));
        for ring in &at.rings.rings {
            let Ring::Shape { zeta, damages, .. } = ring else { continue };
            let (even, oval) = journal.parts_mm(*zeta);
            let base = (middle_mm - even) / 2.0 - journal.hidden_mm;
            let deep = depths(drawn, damages);
            let deep = |n: usize| deep.as_ref().map_or(0.0, |deep| deep[n]);
            radii_mm.extend((0..TURN).map(|n| base + moved[n] - oval * worn[n] - deep(n)));
        }
    }

    /// Radii of the traced points of a drawn journal, as they were traced.
    fn traced_radii(&self, drawn: &Drawn, j: usize, tell: &mut dyn FnMut(f64)) {
        let at = &self.journals[j];
        let journal = &drawn.journals[j];
        let off = (journal.offset_mm.0 - journal.set_up_mm.0, journal.offset_mm.1 - journal.set_up_mm.1);
        let mut point = at.first_traced_point;
        let mut trace = at.first_trace;
        for ring in &at.rings.rings {
            let Ring::Trace { size_mm, size_sd_mm, instrument, points } = ring else { continue };
            let error_mm = drawn.errors_mm[*instrument][at.set] + size_sd_mm * drawn.trace_normals[trace];
            trace += 1;
            for traced in points {
                let departure = traced.departure_mm + traced.sd_mm * drawn.point_normals[point];
                point += 1;
                let deep = traced.damages.iter().map(|&d| drawn.depths_mm[d]).fold(0.0, f64::max);
                tell((size_mm + error_mm) / 2.0 + departure + off.0 * traced.cos + off.1 * traced.sin - deep);
            }
        }
    }

    /// How a drawn journal, made smaller by so much on the diameter, stands against the limits of the step that it was last
    /// ground to: size, out-of-round, taper; and on a main the run-out, as it was measured or drawn.
    pub(super) fn standing(&self, drawn: &Drawn, j: usize, smaller_mm: f64) -> Standing {
        let at = &self.journals[j];
        let journal = &drawn.journals[j];
        let step_mm = self.ladder_mm(at.set)[journal.step];
        let middle_mm = at.middle_mm - step_mm - smaller_mm;
        let hidden_mm = journal.hidden_mm;
        let mut even = (f64::INFINITY, f64::NEG_INFINITY);
        let mut worst = (f64::INFINITY, f64::NEG_INFINITY);
        let mut out_of_round_mm: f64 = 0.0;
        for zeta in [-1.0, 0.0, 1.0] {
            let (even_part, oval) = journal.parts_mm(zeta);
            even = (even.0.min(even_part), even.1.max(even_part));
            worst = (worst.0.min(even_part + oval), worst.1.max(even_part + oval));
            out_of_round_mm = out_of_round_mm.max(oval);
        }
        let limits = at.limits;
        let taper_mm = (even.1 - even.0).max(worst.1 - worst.0) + hidden_mm;
        let worn = middle_mm - worst.1 - hidden_mm < limits.low_mm - step_mm
            || limits.out_of_round_mm.is_some_and(|most| out_of_round_mm + hidden_mm > most)
            || limits.taper_mm.is_some_and(|most| taper_mm > most);
        let larger = middle_mm - even.0 > limits.high_mm - step_mm;
        let dial_mm = at.run_out_mm.map_or_else(|| journal.run_out_mm(), |(x, y)| 2.0 * x.hypot(y));
        let bent = limits.run_out_mm.is_some_and(|most| dial_mm > most);
        Standing { within: !worn && !larger && !bent, worn, bent }
    }
}

/// How a drawn journal stands against its limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Standing {
    /// It keeps all of them.
    pub(super) within: bool,
    /// It is past them by wear: too small, out of round, tapered.
    pub(super) worn: bool,
    /// It runs out further than the book allows.
    pub(super) bent: bool,
}

/// The deepest damage at each direction of a ring; nothing where there is none.
fn depths(drawn: &Drawn, damages: &[(usize, u32)]) -> Option<[f64; TURN]> {
    if damages.is_empty() {
        return None;
    }
    let mut deep = [0.0f64; TURN];
    for &(index, directions) in damages {
        let depth = drawn.depths_mm[index];
        for (n, deep) in deep.iter_mut().enumerate() {
            if directions >> n & 1 == 1 {
                *deep = deep.max(depth);
            }
        }
    }
    Some(deep)
}
