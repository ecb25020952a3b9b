//! The oil on its way round: gallery pressure, flows and film temperatures, settled against each other.

use super::prepared::{Prepared, land};
use super::state::unusable;
use super::{Case, Groove};
use crate::bearing::Size;
use crate::circuit::{Circuit, Feed, Outlet, Passages, Pump, Reading, Relief, centrifugal_head_pa};
use crate::problem::Problems;

/// What is known of one kind of bearing while its state settles.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guess {
    pub temp_c: f64,
    pub mean_square: f64,
    /// Friction over Petroff's for a central journal.
    pub over_petroff: f64,
}

/// Friction of a central journal: 2 π μ R³ L ω² / c. Source: N. Petroff (1883).
pub(super) fn petroff(size: &Size, viscosity_pa_s: f64, speed_rad_s: f64) -> f64 {
    let radius = 0.5 * size.diameter_m;
    std::f64::consts::TAU * viscosity_pa_s * radius.powi(3) * size.length_m * speed_rad_s * speed_rad_s
        / size.radial_clearance_m
}

/// Lets gallery pressure and film temperatures settle against each other, with friction and eccentricity as they were
/// in the last orbits: the reading, and the temperatures of pins and mains.
pub(super) fn circulate(
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

/// The mean temperature at which a film gives its heat to the oil that passes through it: what the pump pushes, and
/// what the journal draws in by turning (Ocvirk's side flow 2 π ε R c N L at the mean eccentricity, an upper bound
/// where the feed is scant).
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
