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

/// What settled round the bearings.
#[derive(Debug)]
pub(super) struct Circulation {
    pub reading: Reading,
    pub pins: Kept,
    pub mains: Kept,
}

/// What all bearings of one kind keep in balance: the heat that they make leaves with the oil that they are fed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Kept {
    pub temp_c: f64,
    pub friction_w: f64,
    pub flow_m3_s: f64,
}

/// Lets gallery pressure and film temperatures settle against each other, with friction and eccentricity as they were
/// in the last orbits.
///
/// A bearing takes what the pump pushes through it and what its journal draws in by turning; both come out of the
/// gallery, and both carry heat off. Source: ISO 7902-1 adds the two alike, for flow and for heat (from memory).
pub(super) fn circulate(
    case: &Case,
    prepared: &Prepared,
    pin: &Size,
    main: &Size,
    pins: &Guess,
    mains: &Guess,
) -> Result<Circulation, Problems> {
    let figures = &case.figures;
    let supply = prepared.supply_temp_c;
    let density = prepared.oil.density_kg_m3(supply);
    let throw = 0.5 * figures.stroke_m.value;
    let head = centrifugal_head_pa(density, prepared.speed_rad_s, 0.5 * main.diameter_m, throw);
    let land_size = Size { length_m: land(case), ..*main };
    let (feed, lands) = match case.groove {
        Groove::Full => (Feed::FullGroove, 2.0),
        Groove::Upper => (Feed::HalfGroove, 1.0),
    };
    let (main_count, pin_count) = (prepared.loads.mains.len(), prepared.loads.big_ends.len());
    let main_outlet = |temp_c: f64| Outlet::Bearings {
        count: main_count,
        size: land_size,
        feed,
        mean_square_eccentricity: mains.mean_square,
        viscosity_pa_s: prepared.film_viscosity(case, temp_c),
        head_pa: 0.0,
    };
    let pin_outlet = |temp_c: f64| Outlet::Bearings {
        count: pin_count,
        size: *pin,
        feed: Feed::Hole { diameter_m: figures.pin_hole_m.value.min(0.45 * pin.length_m) },
        mean_square_eccentricity: pins.mean_square,
        viscosity_pa_s: prepared.film_viscosity(case, temp_c),
        head_pa: head,
    };
    let main_drawn = main_count as f64 * lands * drawn(main, mains, prepared.speed_rev_s);
    let pin_drawn = pin_count as f64 * drawn(pin, pins, prepared.speed_rev_s);
    let friction = |size: &Size, guess: &Guess, bearings: f64, temp_c: f64| {
        bearings * guess.over_petroff * petroff(size, prepared.film_viscosity(case, temp_c), prepared.speed_rad_s)
    };
    let main_friction = |temp_c: f64| friction(main, mains, main_count as f64 * lands, temp_c);
    let pin_friction = |temp_c: f64| friction(pin, pins, pin_count as f64, temp_c);
    let (mut pin_temp, mut main_temp) = (pins.temp_c, mains.temp_c);
    let mut settled = None;
    for _ in 0..60 {
        let circuit = Circuit {
            pump: Pump { displacement_m3_rev: figures.pump_m3_rev.value, slip_m3: figures.pump_slip_m3.value },
            relief: Relief { opens_pa: figures.relief_opens_pa.value, gain_m3_s_pa: figures.relief_gain_m3_s_pa.value },
            passages: Passages {
                laminar_per_m3: figures.passages_laminar_per_m3.value,
                turbulent_pa_s2_m6: figures.passages_turbulent_pa_s2_m6.value,
            },
            outlets: vec![
                main_outlet(main_temp),
                pin_outlet(pin_temp),
                Outlet::Orifice { area_m2: figures.other_outlets_m2.value, discharge: 0.7, density_kg_m3: density },
                Outlet::Drawn { flow_m3_s: main_drawn },
                Outlet::Drawn { flow_m3_s: pin_drawn },
            ],
            speed_rev_s: prepared.speed_rev_s,
            viscosity_pa_s: prepared.oil.viscosity_pa_s(supply),
        };
        let reading = circuit.settle()?;
        let (gauge, share) = (reading.gauge_pa, reading.fed_share);
        let main_flow = |temp_c: f64| share * (main_outlet(temp_c).flow_m3_s(gauge) + main_drawn);
        let pin_flow = |temp_c: f64| share * (pin_outlet(temp_c).flow_m3_s(gauge) + pin_drawn);
        let before = (pin_temp, main_temp);
        pin_temp = film_temp(prepared, pin_friction, pin_flow);
        main_temp = film_temp(prepared, main_friction, main_flow);
        let kept = |temp_c: f64, friction_w: f64, flow_m3_s: f64| Kept { temp_c, friction_w, flow_m3_s };
        settled = Some(Circulation {
            pins: kept(pin_temp, pin_friction(pin_temp), pin_flow(pin_temp)),
            mains: kept(main_temp, main_friction(main_temp), main_flow(main_temp)),
            reading,
        });
        if (pin_temp - before.0).abs().max((main_temp - before.1).abs()) < 0.002 {
            break;
        }
        // Gently: a hotter film drinks more, lowers the gauge, and gets less.
        pin_temp = 0.5 * (pin_temp + before.0);
        main_temp = 0.5 * (main_temp + before.1);
    }
    settled.ok_or_else(unusable)
}

/// What one film (one land, where a groove runs all the way round) draws in by turning and loses at its edges.
///
/// Source: F. W. Ocvirk, short bearing: 2 π ε R c N L, here at the mean eccentricity over the cycle.
fn drawn(size: &Size, guess: &Guess, speed_rev_s: f64) -> f64 {
    let eccentricity = guess.mean_square.max(0.0).sqrt();
    std::f64::consts::PI * eccentricity * size.diameter_m * size.radial_clearance_m * speed_rev_s * size.length_m
}

/// The mean temperature at which films give their heat to the oil that passes through them: half way between that of the
/// oil that comes and of the oil that leaves.
fn film_temp(prepared: &Prepared, friction_w: impl Fn(f64) -> f64, flow_m3_s: impl Fn(f64) -> f64) -> f64 {
    let supply = prepared.supply_temp_c;
    let heat = prepared.oil.heat_j_kg_k(supply) * prepared.oil.density_kg_m3(supply);
    let above = |temp_c: f64| supply + 0.5 * friction_w(temp_c) / (heat * flow_m3_s(temp_c)) - temp_c;
    // Hotter oil is thinner: less heat, more flow. One answer, found by halving.
    let (mut low, mut high) = (supply, supply + HOTTEST_K);
    for _ in 0..24 {
        let middle = 0.5 * (low + high);
        if above(middle) > 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// How far above the supply a temperature is looked for: far beyond what oil bears.
const HOTTEST_K: f64 = 400.0;
