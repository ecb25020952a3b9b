//! One clearance in one condition of the engine: circuit, temperatures and orbits settled together.

use serde::Serialize;

use super::{Case, Clearance, Groove};
use crate::bearing::Size;
use crate::circuit::{Circuit, Feed, Outlet, Passages, Pump, Reading, Relief, centrifugal_head_pa};
use crate::engine::{Burning, Cylinder, Layout, Loads, loads};
use crate::mobility::{Law, Map};
use crate::oil::Oil;
use crate::orbit::{Cycle, Orbit, follow_until};
use crate::problem::{Checks, Problems};

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
    /// The least film is thinner than the combined roughness: mixed contact, outside the model. The figure only says that
    /// the film fails to part the surfaces, not by how much.
    Mixed,
}

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
    /// Highest pressure in its film.
    pub peak_pressure_pa: f64,
    /// Power turned into heat by all bearings of the kind.
    pub friction_w: f64,
    /// Oil that the pump's pressure pushes through all of them.
    pub flow_m3_s: f64,
    /// Mean temperature of the film in the one with the least film.
    pub film_temp_c: f64,
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
    /// The big ends.
    pub pins: BearingState,
    /// The mains.
    pub mains: BearingState,
}

/// What changes neither with clearance nor with condition.
#[derive(Debug)]
pub(super) struct Maps {
    pin: Map,
    main: Map,
}

impl Maps {
    pub(super) fn new(case: &Case) -> Result<Maps, Problems> {
        let mut checks = Checks::new();
        let pin = checks.take("pin", Map::new(pin_size(case, 1e-5).length_over_diameter()));
        let main = checks.take("main", Map::new(main_size(case, 1e-5).length_over_diameter()));
        match (pin, main) {
            (Some(pin), Some(main)) => Ok(Maps { pin, main }),
            _ => Err(checks.finish().err().unwrap_or_else(unusable)),
        }
    }

    /// These maps where the case still has their shapes, else new ones.
    pub(super) fn still_fit(&self, case: &Case) -> bool {
        self.pin.length_over_diameter() == pin_size(case, 1e-5).length_over_diameter()
            && self.main.length_over_diameter() == main_size(case, 1e-5).length_over_diameter()
    }
}

fn unusable() -> Problems {
    Problems::one("case", "not usable", "a whole case", "nothing can be said about it")
}

fn pin_size(case: &Case, diametral_m: f64) -> Size {
    let figures = &case.figures;
    Size {
        diameter_m: figures.pin_diameter_m.value,
        length_m: figures.pin_length_m.value,
        radial_clearance_m: 0.5 * diametral_m,
    }
}

/// What carries in a main: one land where the groove runs all the way round, else the whole lower shell.
fn main_size(case: &Case, diametral_m: f64) -> Size {
    let figures = &case.figures;
    let length_m = match case.groove {
        Groove::Upper => figures.main_length_m.value,
        Groove::Full => land(case),
    };
    Size { diameter_m: figures.main_diameter_m.value, length_m, radial_clearance_m: 0.5 * diametral_m }
}

/// Width of one land beside the groove.
fn land(case: &Case) -> f64 {
    0.5 * (case.figures.main_length_m.value - case.figures.main_groove_m.value)
}

/// A condition with all that follows from it before any clearance is known.
#[derive(Debug)]
pub(super) struct Prepared {
    pub condition: Condition,
    speed_rev_s: f64,
    supply_temp_c: f64,
    loads: Loads,
    oil: Oil,
    /// Part of a cycle's radians that a rod swings back and forth: only its mean speed is needed, which is the crank's.
    speed_rad_s: f64,
}

/// Instants of a cycle: one for each degree.
const STEPS_PER_DEG: usize = 1;

impl Prepared {
    pub(super) fn new(case: &Case, condition: Condition) -> Result<Prepared, Problems> {
        let figures = &case.figures;
        let (rpm, supply_temp_c, charge) = match condition {
            Condition::HotIdle => (figures.idle_rpm, figures.oil_hot_c, figures.charge_idle_pa),
            Condition::HotRunning => (figures.running_rpm, figures.oil_hot_c, figures.charge_running_pa),
            Condition::Cold => (figures.idle_rpm, figures.oil_cold_c, figures.charge_idle_pa),
        };
        let (charge, rod) = (charge.value, figures.rod_kg.value);
        let big = figures.rod_big_share.value;
        let cylinder = Cylinder {
            bore_m: figures.bore_m.value,
            stroke_m: figures.stroke_m.value,
            rod_m: figures.rod_m.value,
            reciprocating_kg: figures.piston_kg.value + (1.0 - big) * rod,
            rotating_kg: big * rod,
            crankcase_pa: 1e5,
        };
        let swept = 0.25 * std::f64::consts::PI * cylinder.bore_m * cylinder.bore_m * cylinder.stroke_m;
        let gas = Burning {
            compression_ratio: figures.compression_ratio.value,
            exponent: figures.gas_exponent.value,
            charge_pa: charge,
            exhaust_pa: 1.1e5,
            intake_pa: 0.95 * charge,
            heat_j: figures.heat_j_m3.value * swept * charge / 1e5,
            burn_from_deg: figures.burn_from_deg.value,
            burn_for_deg: figures.burn_for_deg.value,
            wiebe_a: 5.0,
            wiebe_m: 2.0,
            blow_down_deg: 15.0,
        };
        let mut layout = Layout::upright(&case.throws_deg, &case.firing_order)?;
        layout.throw_unbalance_kg = figures.throw_unbalance_kg.value;
        let speed_rad_s = rpm.value * std::f64::consts::TAU / 60.0;
        let pressures = gas.pressures_pa(&cylinder, STEPS_PER_DEG)?;
        let loads = loads(&cylinder, &pressures, speed_rad_s, &layout)?;
        Ok(Prepared {
            condition,
            speed_rev_s: rpm.value / 60.0,
            supply_temp_c: supply_temp_c.value,
            loads,
            oil: case.oil_data()?,
            speed_rad_s,
        })
    }

    /// Viscosity in a film at a temperature: the oil's, thinned by shear.
    fn film_viscosity(&self, case: &Case, temp_c: f64) -> f64 {
        case.figures.shear_share.value * self.oil.viscosity_pa_s(temp_c)
    }
}

/// Which mains are followed.
#[derive(Clone, Copy, Debug)]
pub(super) enum Mains {
    /// All of them.
    All,
    /// This one alone, counted from 0; its friction stands for the others.
    Only(usize),
}

/// What is known of one kind of bearing while its state settles.
#[derive(Clone, Copy, Debug)]
struct Guess {
    temp_c: f64,
    mean_square: f64,
    /// Friction over Petroff's for a central journal.
    over_petroff: f64,
}

/// Rounds of orbits in which temperatures settle, at the most.
const ROUNDS: usize = 4;
/// Temperatures that move less than this from one round to the next have settled.
const SETTLED_K: f64 = 0.25;
/// How close a path must come to closing, over the clearance: a ten-thousandth is far inside what is assumed.
const CLOSED: f64 = 1e-4;

/// Works out one clearance in one condition.
pub(super) fn state(
    case: &Case,
    prepared: &Prepared,
    maps: &Maps,
    clearance: &Clearance,
    mains: Mains,
) -> Result<State, Problems> {
    let pin = pin_size(case, clearance.pin_diametral_m);
    let main = main_size(case, clearance.main_diametral_m);
    let start = Guess { temp_c: prepared.supply_temp_c + 5.0, mean_square: 0.5, over_petroff: 1.6 };
    let (mut pins, mut main_guess) = (start, start);
    let lands = if case.groove == Groove::Full { 2.0 } else { 1.0 };
    let followed: Vec<usize> = match mains {
        Mains::All => (0..prepared.loads.mains.len()).collect(),
        Mains::Only(one) => vec![one],
    };
    let main_cycles: Vec<Cycle> =
        followed.iter().filter_map(|main| prepared.loads.mains.get(*main)).map(|cycle| shared(cycle, lands)).collect();
    let Some(pin_cycle) = prepared.loads.big_ends.first() else { return Err(unusable()) };
    let mut places = vec![[0.0, 0.5]; main_cycles.len() + 1];
    let mut settled: Option<(Reading, Orbit, Vec<Orbit>, f64)> = None;
    for round in 0..ROUNDS {
        let (reading, pin_temp, main_temp) = circulate(case, prepared, &pin, &main, &pins, &main_guess)?;
        let moved = (pin_temp - pins.temp_c).abs().max((main_temp - main_guess.temp_c).abs());
        if round > 0 && moved < SETTLED_K {
            if let Some((last, ..)) = &mut settled {
                *last = reading;
            }
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
        let law = Law::Map(&maps.main);
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
        settled = Some((reading, pin_orbit, main_orbits, friction * lands));
    }
    let (reading, pin_orbit, main_orbits, main_friction) = settled.ok_or_else(unusable)?;
    let worst = main_orbits.iter().zip(&followed).min_by(|a, b| a.0.least_film_m.total_cmp(&b.0.least_film_m));
    let Some((main_orbit, main_number)) = worst else { return Err(unusable()) };
    let roughness = case.figures.roughness_m.value;
    let flow = |place: usize| reading.outlets_m3_s.get(place).copied().unwrap_or_default();
    let report = |orbit: &Orbit, number: usize, friction_w: f64, flow_m3_s: f64, film_temp_c: f64| BearingState {
        number: number + 1,
        least_film_m: orbit.least_film_m,
        least_film_deg: 720.0 * orbit.least_film_at,
        contact: if orbit.least_film_m < roughness { Contact::Mixed } else { Contact::Film },
        peak_pressure_pa: orbit.peak_pressure_pa.unwrap_or_default(),
        friction_w,
        flow_m3_s,
        film_temp_c,
    };
    let cylinders = prepared.loads.big_ends.len() as f64;
    let all_mains = prepared.loads.mains.len() as f64;
    Ok(State {
        condition: prepared.condition,
        speed_rpm: prepared.speed_rev_s * 60.0,
        supply_temp_c: prepared.supply_temp_c,
        gauge_pa: reading.gauge_pa,
        relief_open: reading.relief_m3_s > 0.0,
        pump_m3_s: reading.pump_m3_s,
        pins: report(&pin_orbit, 0, cylinders * pin_orbit.friction_w, flow(1), pins.temp_c),
        mains: report(main_orbit, *main_number, all_mains * main_friction, flow(0), main_guess.temp_c),
    })
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

/// Friction of a central journal: 2 π μ R³ L ω² / c. Source: N. Petroff (1883).
fn petroff(size: &Size, viscosity_pa_s: f64, speed_rad_s: f64) -> f64 {
    let radius = 0.5 * size.diameter_m;
    std::f64::consts::TAU * viscosity_pa_s * radius.powi(3) * size.length_m * speed_rad_s * speed_rad_s
        / size.radial_clearance_m
}

/// Lets gallery pressure and film temperatures settle against each other, with friction and eccentricity as they were
/// in the last orbits: the reading, and the temperatures of pins and mains.
fn circulate(
    case: &Case,
    prepared: &Prepared,
    pin: &Size,
    main: &Size,
    pins: &Guess,
    mains: &Guess,
) -> Result<(Reading, f64, f64), Problems> {
    let figures = &case.figures;
    let (mut pin_temp, mut main_temp) = (pins.temp_c, mains.temp_c);
    let supply = prepared.supply_temp_c;
    let density = prepared.oil.density_kg_m3(supply);
    let throw = 0.5 * figures.stroke_m.value;
    let head = centrifugal_head_pa(density, prepared.speed_rad_s, 0.5 * main.diameter_m, throw);
    let land_size = Size { length_m: land(case), ..*main };
    let feed = match case.groove {
        Groove::Full => Feed::FullGroove,
        Groove::Upper => Feed::HalfGroove,
    };
    let lands = if case.groove == Groove::Full { 2.0 } else { 1.0 };
    let mut reading = None;
    for _ in 0..40 {
        let main_outlet = |temp_c: f64, count: usize| Outlet::Bearings {
            count,
            size: land_size,
            feed,
            mean_square_eccentricity: mains.mean_square,
            viscosity_pa_s: prepared.film_viscosity(case, temp_c),
            head_pa: 0.0,
        };
        let pin_outlet = |temp_c: f64, count: usize| Outlet::Bearings {
            count,
            size: *pin,
            feed: Feed::Hole { diameter_m: figures.pin_hole_m.value.min(0.45 * pin.length_m) },
            mean_square_eccentricity: pins.mean_square,
            viscosity_pa_s: prepared.film_viscosity(case, temp_c),
            head_pa: head,
        };
        let circuit = Circuit {
            pump: Pump { displacement_m3_rev: figures.pump_m3_rev.value, slip_m3: figures.pump_slip_m3.value },
            relief: Relief { opens_pa: figures.relief_opens_pa.value, gain_m3_s_pa: figures.relief_gain_m3_s_pa.value },
            passages: Passages {
                laminar_per_m3: figures.passages_laminar_per_m3.value,
                turbulent_pa_s2_m6: figures.passages_turbulent_pa_s2_m6.value,
            },
            outlets: vec![
                main_outlet(main_temp, prepared.loads.mains.len()),
                pin_outlet(pin_temp, prepared.loads.big_ends.len()),
                Outlet::Orifice { area_m2: figures.other_outlets_m2.value, discharge: 0.7, density_kg_m3: density },
            ],
            speed_rev_s: prepared.speed_rev_s,
            viscosity_pa_s: prepared.oil.viscosity_pa_s(supply),
        };
        let settled = circuit.settle()?;
        let gauge = settled.gauge_pa;
        let before = (pin_temp, main_temp);
        pin_temp = film_temp(prepared, case, pin, 1.0, pins, |temp_c| pin_outlet(temp_c, 1).flow_m3_s(gauge));
        main_temp = film_temp(prepared, case, main, lands, mains, |temp_c| main_outlet(temp_c, 1).flow_m3_s(gauge));
        reading = Some(settled);
        if (pin_temp - before.0).abs().max((main_temp - before.1).abs()) < 0.01 {
            break;
        }
        // Gently: a hotter film drinks more, lowers the gauge, and gets less.
        pin_temp = 0.5 * (pin_temp + before.0);
        main_temp = 0.5 * (main_temp + before.1);
    }
    reading.map(|reading| (reading, pin_temp, main_temp)).ok_or_else(unusable)
}

/// The mean temperature at which a film gives its heat to the oil that passes through it: what the pump pushes, and what
/// the journal draws in by turning (Ocvirk's side flow 2 π ε R c N L at the mean eccentricity, an upper bound where the
/// feed is scant).
fn film_temp(
    prepared: &Prepared,
    case: &Case,
    size: &Size,
    lands: f64,
    guess: &Guess,
    pushed_m3_s: impl Fn(f64) -> f64,
) -> f64 {
    let supply = prepared.supply_temp_c;
    let eccentricity = guess.mean_square.max(0.0).sqrt();
    let drawn = lands
        * std::f64::consts::PI
        * eccentricity
        * size.diameter_m
        * size.radial_clearance_m
        * prepared.speed_rev_s
        * size.length_m;
    let heat = prepared.oil.heat_j_kg_k(supply) * prepared.oil.density_kg_m3(supply);
    let above = |temp_c: f64| {
        let viscosity = prepared.film_viscosity(case, temp_c);
        let friction = lands * guess.over_petroff * petroff(size, viscosity, prepared.speed_rad_s);
        supply + 0.5 * friction / (heat * (pushed_m3_s(temp_c) + drawn)) - temp_c
    };
    // Hotter oil is thinner: less heat, more flow. One answer, found by halving.
    let (mut low, mut high) = (supply, supply + 200.0);
    for _ in 0..24 {
        let middle = 0.5 * (low + high);
        if above(middle) > 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}
