//! One clearance in one condition of the engine: circuit, temperatures and orbits settled together.

use serde::Serialize;

use super::circulation::{Guess, Kept, circulate, petroff};
use super::prepared::{Maps, Prepared, main_size, pin_size};
use super::{Case, Clearance, Groove};
use crate::mobility::Law;
use crate::orbit::{Cycle, Orbit, follow_until};
use crate::problem::Problems;

/// How the engine runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Condition {
    /// Warm, at idle.
    HotIdle,
    /// Warm, under load at the running speed.
    HotRunning,
    /// Just started, at idle.
    Cold,
}

/// Whether a film keeps the surfaces apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Contact {
    /// The film is thicker than the surfaces are rough.
    Film,
    /// The least film is thinner than the combined roughness: mixed contact, outside the model. The figure only says
    /// that the film fails to part the surfaces, not by how much.
    Mixed,
}

/// The hottest film that is still told, in °C. From memory, no source: beyond it engine oil breaks down within minutes.
pub const OIL_BEARS_C: f64 = 180.0;

/// The bearings of one kind, in one condition.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BearingState {
    /// Which one has the least film, counted from 1 at the nose.
    pub number: usize,
    /// Its least film over the cycle.
    pub least_film_m: f64,
    /// Crank angle at which it occurs: for a pin from its own cylinder's firing, for a main from crank angle 0.
    pub least_film_deg: f64,
    /// Whether that parts the surfaces.
    pub contact: Contact,
    /// Whether the model holds: the film parts the surfaces, no hotter than [`OIL_BEARS_C`], and
    /// there is oil enough. Where it does not, peak pressure, friction and temperature are what the sums gave, and say
    /// nothing of the bearing.
    pub within_model: bool,
    /// Highest pressure in its film.
    pub peak_pressure_pa: f64,
    /// Crank angle at which it occurs, counted as above.
    pub peak_pressure_deg: f64,
    /// Power turned into heat by all bearings of the kind.
    pub friction_w: f64,
    /// Oil through all of them: what the pump's pressure pushes, and what turning journals draw in.
    pub flow_m3_s: f64,
    /// Mean temperature of their films, half way between the oil that comes and the oil that leaves.
    pub film_temp_c: f64,
    /// How much hotter the oil leaves than it came: friction over flow and the oil's heat.
    pub rise_k: f64,
}

impl State {
    /// Power turned into heat by all bearings, in W; nothing where a film of theirs lies outside the model.
    pub fn friction_w(&self) -> Option<f64> {
        (self.pins.within_model && self.mains.within_model).then_some(self.pins.friction_w + self.mains.friction_w)
    }

    /// Oil through all bearings, in m³/s.
    pub fn flow_m3_s(&self) -> f64 {
        self.pins.flow_m3_s + self.mains.flow_m3_s
    }
}

/// One clearance in one condition.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct State {
    /// The condition.
    pub condition: Condition,
    /// Speed of the crank.
    pub speed_rpm: f64,
    /// Temperature of the oil in the gallery.
    pub supply_temp_c: f64,
    /// What the gauge shows.
    pub gauge_pa: f64,
    /// Whether the relief valve stands open: then the gauge says more about the valve than about clearances.
    pub relief_open: bool,
    /// What the pump delivers.
    pub pump_m3_s: f64,
    /// Whether the bearings would take more than that: then films are thinner than is said here.
    pub short_of_oil: bool,
    /// The big ends.
    pub pins: BearingState,
    /// The mains.
    pub mains: BearingState,
}

/// Which mains are followed.
#[derive(Clone, Copy, Debug)]
pub(super) enum Mains {
    /// All of them.
    All,
    /// This one alone, counted from 0; its friction stands for the others.
    Only(usize),
}

/// Rounds of orbits in which temperatures settle, at the most.
const ROUNDS: usize = 4;
/// Temperatures that move less than this from one round to the next have settled.
const SETTLED_K: f64 = 0.25;
/// How close a path must come to closing, over the clearance: a ten-thousandth is far inside what is assumed.
const CLOSED: f64 = 1e-4;

/// Where a state settled: a near one settles sooner from there.
#[derive(Clone, Debug)]
pub(super) struct Warm {
    pins: Guess,
    mains: Guess,
    places: Vec<[f64; 2]>,
    pub paths: Paths,
}

/// The paths of the journals' centres that a state rests on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Paths {
    /// The path of a pin in its rod's shell: across the rod and along it, from its cylinder's firing.
    pub pin: Orbit,
    /// Which main has the least film, counted from 1 at the nose.
    pub main: usize,
    /// Its path in the block: along X and Y, from crank angle 0.
    pub main_path: Orbit,
}

/// Works out one clearance in one condition.
pub(super) fn state(
    case: &Case,
    prepared: &Prepared,
    maps: &Maps,
    clearance: &Clearance,
    mains: Mains,
) -> Result<State, Problems> {
    settle(case, prepared, maps, clearance, mains, None).map(|(state, _)| state)
}

/// The same from where a near state settled, and where this one did.
pub(super) fn settle(
    case: &Case,
    prepared: &Prepared,
    maps: &Maps,
    clearance: &Clearance,
    mains: Mains,
    warm: Option<&Warm>,
) -> Result<(State, Warm), Problems> {
    let pin = pin_size(case, clearance.pin_diametral_m);
    let main = main_size(case, clearance.main_diametral_m);
    let start = Guess { temp_c: prepared.supply_temp_c + 5.0, mean_square: 0.5, over_petroff: 1.6 };
    let (mut pins, mut main_guess) = warm.map_or((start, start), |warm| (warm.pins, warm.mains));
    let lands = if case.groove == Groove::Full { 2.0 } else { 1.0 };
    let followed: Vec<usize> = match mains {
        Mains::All => (0..prepared.loads.mains.len()).collect(),
        Mains::Only(one) => vec![one],
    };
    let main_cycles: Vec<Cycle> =
        followed.iter().filter_map(|main| prepared.loads.mains.get(*main)).map(|cycle| shared(cycle, lands)).collect();
    let Some(pin_cycle) = prepared.loads.big_ends.first() else { return Err(unusable()) };
    let mut places = warm.map(|warm| warm.places.clone()).unwrap_or_default();
    places.resize(main_cycles.len() + 1, [0.0, 0.5]);
    let mut orbits: Option<(Orbit, Vec<Orbit>)> = None;
    let mut settled = circulate(case, prepared, &pin, &main, &pins, &main_guess)?;
    for round in 0..ROUNDS {
        let (pin_temp, main_temp) = (settled.pins.temp_c, settled.mains.temp_c);
        let moved = (pin_temp - pins.temp_c).abs().max((main_temp - main_guess.temp_c).abs());
        if round > 0 && moved < SETTLED_K {
            break;
        }
        (pins.temp_c, main_guess.temp_c) = (pin_temp, main_temp);
        let viscosity = prepared.film_viscosity(case, pin_temp);
        let law = Law::Map(&maps.pin);
        let pin_orbit = follow_until(&pin, pin_cycle, viscosity, &law, begin(&places, 0), CLOSED);
        let pin_orbit = pin_orbit.map_err(|problems| problems.within("pin"))?;
        remember(&mut places, 0, &pin_orbit);
        pins.mean_square = pin_orbit.mean_square_eccentricity;
        pins.over_petroff = pin_orbit.friction_w / petroff(&pin, viscosity, prepared.speed_rad_s);
        let viscosity = prepared.film_viscosity(case, main_temp);
        let law = maps.main_law();
        let mut main_orbits: Vec<Orbit> = Vec::with_capacity(main_cycles.len());
        for (place, cycle) in main_cycles.iter().enumerate() {
            let begun = begin(&places, place + 1);
            let orbit = follow_until(&main, cycle, viscosity, &law, begun, CLOSED);
            let orbit = orbit.map_err(|problems| problems.within("main"))?;
            remember(&mut places, place + 1, &orbit);
            main_orbits.push(orbit);
        }
        let count = main_orbits.len().max(1) as f64;
        let friction = main_orbits.iter().map(|orbit| orbit.friction_w).sum::<f64>() / count;
        main_guess.mean_square = main_orbits.iter().map(|orbit| orbit.mean_square_eccentricity).sum::<f64>() / count;
        main_guess.over_petroff = friction / petroff(&main, viscosity, prepared.speed_rad_s);
        orbits = Some((pin_orbit, main_orbits));
        settled = circulate(case, prepared, &pin, &main, &pins, &main_guess)?;
    }
    let (pin_orbit, main_orbits) = orbits.ok_or_else(unusable)?;
    let reading = &settled.reading;
    let short_of_oil = reading.fed_share < 1.0;
    let worst = main_orbits.iter().zip(&followed).min_by(|a, b| a.0.least_film_m.total_cmp(&b.0.least_film_m));
    let Some((main_orbit, main_number)) = worst else { return Err(unusable()) };
    let roughness = case.figures.roughness_m.value;
    let report = |orbit: &Orbit, number: usize, kept: &Kept| BearingState {
        number: number + 1,
        least_film_m: orbit.least_film_m,
        least_film_deg: degrees(orbit.least_film_at),
        contact: if orbit.least_film_m < roughness { Contact::Mixed } else { Contact::Film },
        peak_pressure_pa: orbit.peak_pressure_pa.unwrap_or_default(),
        peak_pressure_deg: degrees(orbit.peak_pressure_at.unwrap_or_default()),
        friction_w: kept.friction_w,
        flow_m3_s: kept.flow_m3_s,
        film_temp_c: kept.temp_c,
        rise_k: 2.0 * (kept.temp_c - prepared.supply_temp_c),
        within_model: orbit.least_film_m >= roughness && kept.temp_c <= OIL_BEARS_C && !short_of_oil,
    };
    let state = State {
        condition: prepared.condition,
        speed_rpm: prepared.speed_rpm,
        supply_temp_c: prepared.supply_temp_c,
        gauge_pa: reading.gauge_pa,
        relief_open: reading.relief_m3_s > 0.0,
        pump_m3_s: reading.pump_m3_s,
        short_of_oil,
        pins: report(&pin_orbit, 0, &settled.pins),
        mains: report(main_orbit, *main_number, &settled.mains),
    };
    let paths = Paths { main: main_number + 1, pin: pin_orbit, main_path: main_orbit.clone() };
    Ok((state, Warm { pins, mains: main_guess, places, paths }))
}

/// Part of a cycle as a crank angle, without the last digits of a division.
fn degrees(part: f64) -> f64 {
    (720.0 * part * 1000.0).round() / 1000.0
}

/// The load of a main on each of so many lands.
fn shared(cycle: &Cycle, lands: f64) -> Cycle {
    let loads_n = cycle.loads_n.iter().map(|[x, y]| [x / lands, y / lands]).collect();
    Cycle { loads_n, ..cycle.clone() }
}

fn begin(places: &[[f64; 2]], place: usize) -> [f64; 2] {
    places.get(place).copied().unwrap_or([0.0, 0.5])
}

fn remember(places: &mut [[f64; 2]], place: usize, orbit: &Orbit) {
    if let (Some(into), Some(instant)) = (places.get_mut(place), orbit.instants.first()) {
        *into = instant.place;
    }
}

pub(super) fn unusable() -> Problems {
    Problems::one("case", "not usable", "a whole case", "nothing can be said about it")
}
