//! The path of a journal's centre over a cycle of loads.

mod strides;

use std::f64::consts::PI;

use serde::Serialize;

use crate::bearing::Size;
use crate::mobility::Law;
use crate::problem::{Checks, Problems};

/// The load on a journal over one cycle, seen from its shell.
#[derive(Clone, Debug)]
pub struct Cycle {
    /// How long a cycle lasts.
    pub period_s: f64,
    /// The load that presses the journal into the shell, at equal steps of time from the cycle's beginning (its end,
    /// which is the beginning again, left out), along two axes fixed to the shell, the second a quarter turn
    /// counter-clockwise from the first.
    pub loads_n: Vec<[f64; 2]>,
    /// How fast the journal turns in its shell, counter-clockwise, at the same instants.
    pub turning_rad_s: Vec<f64>,
}

/// The film at one instant.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Instant {
    /// Part of the cycle gone by, from 0 up to 1.
    pub part: f64,
    /// Place of the journal over the clearance, along the two axes of the load.
    pub place: [f64; 2],
    /// Thinnest film.
    pub least_film_m: f64,
    /// Highest pressure, where the law knows it.
    pub peak_pressure_pa: Option<f64>,
    /// Power turned into heat: shear of the whole gap, and the work of pressing oil out.
    pub friction_w: f64,
}

/// One converged cycle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Orbit {
    /// The instants of the cycle, at the steps of the loads.
    pub instants: Vec<Instant>,
    /// Thinnest film of the cycle.
    pub least_film_m: f64,
    /// Part of the cycle at which it occurs.
    pub least_film_at: f64,
    /// Highest pressure of the cycle.
    pub peak_pressure_pa: Option<f64>,
    /// Part of the cycle at which it occurs.
    pub peak_pressure_at: Option<f64>,
    /// Mean power turned into heat.
    pub friction_w: f64,
    /// Mean square of the eccentricity ratio, which the flow through a groove depends on.
    pub mean_square_eccentricity: f64,
    /// By how much the last two cycles still differ, over the clearance.
    pub closure: f64,
    /// Cycles that were run.
    pub cycles: usize,
}

/// Two cycles that end this close, over the clearance, are taken for the same.
const CLOSED: f64 = 1e-6;
/// The same for a path in short that strides did not close: it settles so slowly that this must do.
const CLOSED_FOR_RUN: f64 = 1e-4;
/// Cycles after which a path that does not close is given up.
const MOST_CYCLES: usize = 200;
/// Largest share of the remaining gap that the journal may cross in one step.
const SHARE: f64 = 0.25;
/// Closest to the wall, over the clearance, that a journal is let.
const WALL: f64 = 1e-5;

/// Follows a journal until its path closes.
///
/// `start` is where it begins, over the clearance; the answer does not depend on it, only the number of cycles does.
///
/// # Errors
/// Inputs that cannot be used, all at once; a path that does not close (a load that never lets the film recover).
/// # Limits
/// Those of the law. The film is taken to be full of oil wherever pressure is asked of it: the method overstates the
/// least film and understates the flow where oil is short (D. Yu and J. Sawicki, 2002, abstract).
pub fn follow(
    size: &Size,
    cycle: &Cycle,
    viscosity_pa_s: f64,
    law: &Law<'_>,
    start: [f64; 2],
) -> Result<Orbit, Problems> {
    check(size, cycle, viscosity_pa_s, start)?;
    let path = Path::new(size, cycle, viscosity_pa_s, *law);
    path.whole(&path.even(start, CLOSED)?)
}

/// What bearings of an engine are asked for while heat and oil settle: a path in short.
#[derive(Clone, Debug)]
pub(crate) struct Run {
    /// The place at each instant of the loads, over the clearance.
    pub places: Vec<[f64; 2]>,
    closure: f64,
    cycles: usize,
    pub least_film_m: f64,
    pub friction_w: f64,
    pub mean_square_eccentricity: f64,
}

/// How a path is followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stepping {
    /// In strides by the error that each makes: the film within half a per cent of even steps.
    Strides,
    /// As [`follow`] does.
    Even,
}

/// A path in short, of a size and a cycle that were checked.
///
/// # Errors
/// As [`follow`].
pub(crate) fn run(
    size: &Size,
    cycle: &Cycle,
    viscosity_pa_s: f64,
    law: &Law<'_>,
    start: [f64; 2],
    stepping: Stepping,
) -> Result<Run, Problems> {
    let path = Path::new(size, cycle, viscosity_pa_s, *law);
    let strides = if stepping == Stepping::Strides { strides::stride(&path, start) } else { None };
    let trace = match strides {
        Some(trace) => trace,
        None => path.even(start, if stepping == Stepping::Even { CLOSED } else { CLOSED_FOR_RUN })?,
    };
    path.in_short(trace)
}

/// All of a path that [`run`] has in short.
///
/// # Errors
/// As [`follow`].
pub(crate) fn whole(
    size: &Size,
    cycle: &Cycle,
    viscosity_pa_s: f64,
    law: &Law<'_>,
    run: &Run,
) -> Result<Orbit, Problems> {
    let trace = Trace { places: run.places.clone(), speeds: Vec::new(), closure: run.closure, cycles: run.cycles };
    Path::new(size, cycle, viscosity_pa_s, *law).whole(&trace)
}

/// Where a journal is after one cycle of loads, over the clearance, from where it began; the path need not close.
///
/// # Errors
/// Inputs that cannot be used, all at once.
pub fn drifted(
    size: &Size,
    cycle: &Cycle,
    viscosity_pa_s: f64,
    law: &Law<'_>,
    start: [f64; 2],
) -> Result<[f64; 2], Problems> {
    check(size, cycle, viscosity_pa_s, start)?;
    let path = Path::new(size, cycle, viscosity_pa_s, *law);
    Ok((0..cycle.loads_n.len()).fold(start, |place, step| path.step(place, step)))
}

fn check(size: &Size, cycle: &Cycle, viscosity_pa_s: f64, start: [f64; 2]) -> Result<(), Problems> {
    let mut checks = Checks::new();
    checks.take("bearing", size.check());
    checks.positive("viscosity_pa_s", viscosity_pa_s, "oil without viscosity carries nothing");
    cycle.look_over(&mut checks);
    checks.that(
        start[0].hypot(start[1]) < 1.0 - WALL,
        "start",
        start[0].hypot(start[1]),
        "below 1",
        "at 1 the surfaces touch and there is no film",
    );
    checks.finish()
}

impl Cycle {
    /// Looks loads and speeds over.
    ///
    /// # Errors
    /// All that no path can be followed with, at once.
    pub(crate) fn check(&self) -> Result<(), Problems> {
        let mut checks = Checks::new();
        self.look_over(&mut checks);
        checks.finish()
    }

    fn look_over(&self, checks: &mut Checks) {
        let loads = self.loads_n.iter().flatten();
        let largest = loads.clone().fold(0.0f64, |most, load| most.max(load.abs()));
        let turning = self.turning_rad_s.iter().fold(0.0f64, |most, turning| most.max(turning.abs()));
        checks
            .positive("period_s", self.period_s, "a cycle takes time")
            .that(
                self.loads_n.len() >= 24 && self.loads_n.len() == self.turning_rad_s.len(),
                "loads_n",
                format_args!("{} loads and {} speeds", self.loads_n.len(), self.turning_rad_s.len()),
                "at least 24 instants with a load and a speed each",
                "between instants the load is taken to change evenly",
            )
            .that(
                loads.clone().all(|load| load.is_finite()) && (1e-9..1e12).contains(&largest),
                "loads_n",
                largest,
                "finite loads, not all zero",
                "without load the journal stays wherever it is",
            )
            .that(
                self.turning_rad_s.iter().all(|turning| turning.is_finite()) && (1e-9..1e6).contains(&turning),
                "turning_rad_s",
                turning,
                "a speed above 0",
                "a journal that stands still drags no oil in, and nothing lifts it off again",
            );
    }
}

/// One cycle of a path, at the instants of the loads.
struct Trace {
    places: Vec<[f64; 2]>,
    /// How the place changes there in one step of the loads, where it is known.
    speeds: Vec<[f64; 2]>,
    closure: f64,
    cycles: usize,
}

/// What does not change along a path.
struct Path<'a> {
    size: &'a Size,
    cycle: &'a Cycle,
    law: Law<'a>,
    /// (c/R)² / (μ L D): load to drift.
    drift_per_load: f64,
    step_s: f64,
    /// Friction of a central journal, for a turning of one radian a second.
    central_shear: f64,
}

impl<'a> Path<'a> {
    fn new(size: &'a Size, cycle: &'a Cycle, viscosity_pa_s: f64, law: Law<'a>) -> Path<'a> {
        let narrow = size.radial_clearance_m / (0.5 * size.diameter_m);
        let drift_per_load = narrow * narrow / (viscosity_pa_s * size.length_m * size.diameter_m);
        let step_s = cycle.period_s / cycle.loads_n.len() as f64;
        let radius = 0.5 * size.diameter_m;
        let central_shear = 2.0 * PI * viscosity_pa_s * radius.powi(3) * size.length_m / size.radial_clearance_m;
        Path { size, cycle, law, drift_per_load, step_s, central_shear }
    }

    /// Load and speed a share of a step after an instant.
    fn given(&self, step: usize, share: f64) -> ([f64; 2], f64) {
        let next = if step + 1 < self.cycle.loads_n.len() { step + 1 } else { 0 };
        let (from, to) = (self.cycle.loads_n[step], self.cycle.loads_n[next]);
        let between = |from: f64, to: f64| from + share * (to - from);
        let load = [between(from[0], to[0]), between(from[1], to[1])];
        (load, between(self.cycle.turning_rad_s[step], self.cycle.turning_rad_s[next]))
    }

    /// The drift under the load alone, over the clearance, for one second, with its part along the load.
    fn squeezed(&self, place: [f64; 2], load: [f64; 2]) -> ([f64; 2], f64) {
        let force = length(load);
        if force <= 0.0 {
            return ([0.0, 0.0], 0.0);
        }
        let (cos, sin) = (load[0] / force, load[1] / force);
        let along = place[0] * cos + place[1] * sin;
        let across = place[1] * cos - place[0] * sin;
        let drift = self.law.drift(along, across, sin);
        let scale = self.drift_per_load * force;
        let (along, across) = (scale * drift.along, scale * drift.across);
        ([along * cos - across * sin, along * sin + across * cos], along)
    }

    /// dε/dt: squeezed by the load, and carried round with half the speed of the journal.
    fn speed(&self, place: [f64; 2], step: usize, share: f64) -> [f64; 2] {
        let (load, turning) = self.given(step, share);
        let (squeezed, _) = self.squeezed(place, load);
        [squeezed[0] - 0.5 * turning * place[1], squeezed[1] + 0.5 * turning * place[0]]
    }

    /// One step of the cycle, by Runge and Kutta's fourth order, cut finer while the journal runs fast at the wall.
    fn step(&self, mut place: [f64; 2], step: usize) -> [f64; 2] {
        let mut share = 0.0;
        while share < 1.0 {
            let first = self.speed(place, step, share);
            let gap = (1.0 - length(place)).max(WALL);
            let crossing = length(first) * self.step_s / (SHARE * gap);
            // A step so small comes only at the wall, where the drift itself goes out.
            let mut part = (1.0 - share).min(1.0 / crossing.max(1.0));
            part = part.max(1e-3).min(1.0 - share);
            let time = part * self.step_s;
            let ahead = |speed: [f64; 2], time: f64| inside([place[0] + time * speed[0], place[1] + time * speed[1]]);
            let second = self.speed(ahead(first, 0.5 * time), step, share + 0.5 * part);
            let third = self.speed(ahead(second, 0.5 * time), step, share + 0.5 * part);
            let fourth = self.speed(ahead(third, time), step, share + part);
            let mean = |axis: usize| (first[axis] + 2.0 * (second[axis] + third[axis]) + fourth[axis]) / 6.0;
            place = ahead([mean(0), mean(1)], time);
            share = if share + part > 1.0 - 1e-9 { 1.0 } else { share + part };
        }
        place
    }

    /// Follows a journal in even steps until its path closes within so much, over the clearance.
    fn even(&self, start: [f64; 2], closed: f64) -> Result<Trace, Problems> {
        let mut place = start;
        let mut places = vec![place; self.cycle.loads_n.len()];
        for cycles in 1..=MOST_CYCLES {
            let began = place;
            for (step, stored) in places.iter_mut().enumerate() {
                *stored = place;
                place = self.step(place, step);
            }
            let closure = (place[0] - began[0]).hypot(place[1] - began[1]);
            if closure < closed {
                return Ok(Trace { places, speeds: Vec::new(), closure, cycles });
            }
        }
        Err(Problems::one(
            "loads_n",
            "this cycle",
            "one whose path closes",
            "the journal keeps drifting: the load turns with the oil, or never lets the film recover",
        ))
    }

    /// Power turned into heat at an instant, with the part along the load of the drift under it: shear of the whole gap,
    /// and the work of pressing oil out.
    fn friction_w(&self, square: f64, turning: f64, work_w: f64) -> f64 {
        self.central_shear * turning * turning / (1.0 - square).sqrt() + work_w
    }

    fn in_short(&self, trace: Trace) -> Result<Run, Problems> {
        let (mut most, mut squares, mut friction_w) = (0.0f64, 0.0, 0.0);
        let clearance = self.size.radial_clearance_m;
        let known = trace.speeds.len() == trace.places.len();
        let instants = trace.places.iter().zip(&self.cycle.loads_n).zip(&self.cycle.turning_rad_s);
        for (step, ((place, load), turning)) in instants.enumerate() {
            let square = place[0] * place[0] + place[1] * place[1];
            let work_w = match trace.speeds.get(step).filter(|_| known) {
                // What the load does is how the place changes, less what carries the journal round.
                Some(speed) => {
                    let x = speed[0] / self.step_s + 0.5 * turning * place[1];
                    let y = speed[1] / self.step_s - 0.5 * turning * place[0];
                    clearance * (load[0] * x + load[1] * y)
                }
                None => clearance * length(*load) * self.squeezed(*place, *load).1,
            };
            most = most.max(square);
            squares += square;
            friction_w += self.friction_w(square, *turning, work_w);
        }
        let count = trace.places.len() as f64;
        let friction_w = finite(friction_w / count)?;
        Ok(Run {
            least_film_m: clearance * (1.0 - most.sqrt()),
            friction_w,
            mean_square_eccentricity: squares / count,
            closure: trace.closure,
            cycles: trace.cycles,
            places: trace.places,
        })
    }

    fn instant(&self, place: [f64; 2], step: usize) -> Instant {
        let (load, turning) = self.given(step, 0.0);
        let (_, along) = self.squeezed(place, load);
        let force = length(load);
        let square = place[0] * place[0] + place[1] * place[1];
        let size = self.size;
        let peak = if force > 0.0 {
            let (cos, sin) = (load[0] / force, load[1] / force);
            let (ahead, aside) = (place[0] * cos + place[1] * sin, place[1] * cos - place[0] * sin);
            self.law.peak_over_mean(ahead, aside, sin).map(|ratio| ratio * force / (size.length_m * size.diameter_m))
        } else {
            self.law.peak_over_mean(0.0, 0.0, 0.0).map(|_| 0.0)
        };
        Instant {
            part: step as f64 / self.cycle.loads_n.len() as f64,
            place,
            least_film_m: size.radial_clearance_m * (1.0 - square.sqrt()),
            peak_pressure_pa: peak,
            friction_w: self.friction_w(square, turning, force * size.radial_clearance_m * along),
        }
    }

    fn whole(&self, trace: &Trace) -> Result<Orbit, Problems> {
        let places = &trace.places;
        let instants: Vec<Instant> =
            places.iter().enumerate().map(|(step, place)| self.instant(*place, step)).collect();
        let count = instants.len() as f64;
        let least = instants.iter().min_by(|a, b| a.least_film_m.total_cmp(&b.least_film_m));
        let most = instants
            .iter()
            .filter_map(|instant| instant.peak_pressure_pa.map(|peak| (peak, instant.part)))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let friction_w = instants.iter().map(|instant| instant.friction_w).sum::<f64>() / count;
        let squares = places.iter().map(|place| place[0] * place[0] + place[1] * place[1]).sum::<f64>() / count;
        let least_film_m = least.map_or(0.0, |instant| instant.least_film_m);
        finite(most.map_or(friction_w, |(peak, _)| peak + friction_w))?;
        Ok(Orbit {
            least_film_m,
            least_film_at: least.map_or(0.0, |instant| instant.part),
            peak_pressure_pa: most.map(|(peak, _)| peak),
            peak_pressure_at: most.map(|(_, part)| part),
            friction_w,
            mean_square_eccentricity: squares,
            closure: trace.closure,
            cycles: trace.cycles,
            instants,
        })
    }
}

fn finite(sum: f64) -> Result<f64, Problems> {
    let physics = "the sum overflowed: sizes, loads and speeds do not fit one machine";
    let overflowed = || Problems::one("loads_n", "out of range", "loads that fit the bearing", physics);
    sum.is_finite().then_some(sum).ok_or_else(overflowed)
}

/// The place itself, or the nearest one that leaves the least gap there may be.
fn inside(place: [f64; 2]) -> [f64; 2] {
    let eps = length(place);
    if eps <= 1.0 - WALL { place } else { [place[0] * (1.0 - WALL) / eps, place[1] * (1.0 - WALL) / eps] }
}

/// Plain root of squares: `hypot` guards against overflow that cannot come here, and takes most of the time.
fn length(vector: [f64; 2]) -> f64 {
    (vector[0] * vector[0] + vector[1] * vector[1]).sqrt()
}
