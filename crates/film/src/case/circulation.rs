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

/// Bearings that are alike in kind and clearance.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub kind: BearingKind,
    /// How many there are.
    pub count: usize,
    /// Which of them are followed, counted from 0 among their kind; their mean stands for the others.
    pub followed: Vec<usize>,
    pub size: Size,
    pub guess: Guess,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum BearingKind {
    Pin,
    Main,
}

impl Group {
    /// How many films share the load of one of them: the lands beside a groove all round.
    pub(super) fn lands(&self, case: &Case) -> f64 {
        if self.kind == BearingKind::Main && case.groove == Groove::Full { 2.0 } else { 1.0 }
    }

    /// What the pump pushes through all of them, with their films at a temperature.
    fn outlet(&self, case: &Case, prepared: &Prepared, temp_c: f64) -> Outlet {
        let figures = &case.figures;
        let half_throw = 0.5 * figures.stroke_m.value;
        let density = prepared.oil.density_kg_m3(prepared.supply_temp_c);
        let hole_m = figures.pin_hole_m.value.min(0.45 * self.size.length_m);
        let (feed, length_m, head_pa) = match (self.kind, case.groove) {
            (BearingKind::Pin, _) => {
                let from = 0.5 * figures.main_diameter_m.value;
                let head = centrifugal_head_pa(density, prepared.speed_rad_s, from, half_throw);
                (Feed::Hole { diameter_m: hole_m }, self.size.length_m, head)
            }
            (BearingKind::Main, Groove::Full) => (Feed::FullGroove, land(case), 0.0),
            (BearingKind::Main, Groove::Upper) => (Feed::HalfGroove, land(case), 0.0),
        };
        Outlet::Bearings {
            count: self.count,
            size: Size { length_m, ..self.size },
            feed,
            mean_square_eccentricity: self.guess.mean_square,
            viscosity_pa_s: prepared.film_viscosity(case, temp_c),
            head_pa,
        }
    }

    /// What all of them draw in by turning and lose at their edges.
    ///
    /// Source: F. W. Ocvirk, short bearing: 2 π ε R c N L, here at the mean eccentricity over the cycle.
    fn drawn_m3_s(&self, case: &Case, prepared: &Prepared) -> f64 {
        let eccentricity = self.guess.mean_square.max(0.0).sqrt();
        let Size { diameter_m, length_m, radial_clearance_m } = self.size;
        let each = std::f64::consts::PI * eccentricity * diameter_m * radial_clearance_m * length_m;
        self.count as f64 * self.lands(case) * each * prepared.speed_rev_s
    }

    /// Power that all of them turn into heat, with their films at a temperature.
    fn friction_w(&self, case: &Case, prepared: &Prepared, temp_c: f64) -> f64 {
        let one = petroff(&self.size, prepared.film_viscosity(case, temp_c), prepared.speed_rad_s);
        self.count as f64 * self.lands(case) * self.guess.over_petroff * one
    }
}

/// What settled round the bearings.
#[derive(Debug)]
pub(super) struct Circulation {
    pub reading: Reading,
    /// For each group.
    pub kept: Vec<Kept>,
}

/// What all bearings of a group keep in balance: the heat that they make leaves with the oil that they are fed.
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
pub(super) fn circulate(case: &Case, prepared: &Prepared, groups: &[Group]) -> Result<Circulation, Problems> {
    let figures = &case.figures;
    let supply = prepared.supply_temp_c;
    let density_kg_m3 = prepared.oil.density_kg_m3(supply);
    let mut temps: Vec<f64> = groups.iter().map(|group| group.guess.temp_c).collect();
    let mut settled = None;
    for _ in 0..60 {
        let area_m2 = figures.other_outlets_m2.value;
        let mut outlets = vec![Outlet::Orifice { area_m2, discharge: 0.7, density_kg_m3 }];
        for (group, temp_c) in groups.iter().zip(&temps) {
            outlets.push(group.outlet(case, prepared, *temp_c));
            outlets.push(Outlet::Drawn { flow_m3_s: group.drawn_m3_s(case, prepared) });
        }
        let circuit = Circuit {
            pump: Pump { displacement_m3_rev: figures.pump_m3_rev.value, slip_m3: figures.pump_slip_m3.value },
            relief: Relief { opens_pa: figures.relief_opens_pa.value, gain_m3_s_pa: figures.relief_gain_m3_s_pa.value },
            passages: Passages {
                laminar_per_m3: figures.passages_laminar_per_m3.value,
                turbulent_pa_s2_m6: figures.passages_turbulent_pa_s2_m6.value,
            },
            outlets,
            speed_rev_s: prepared.speed_rev_s,
            viscosity_pa_s: prepared.oil.viscosity_pa_s(supply),
        };
        let reading = circuit.settle()?;
        let kept: Vec<Kept> = groups
            .iter()
            .map(|group| {
                let friction_w = |temp_c: f64| group.friction_w(case, prepared, temp_c);
                let drawn = group.drawn_m3_s(case, prepared);
                let flow_m3_s = |temp_c: f64| {
                    let pushed = group.outlet(case, prepared, temp_c).flow_m3_s(reading.gauge_pa);
                    reading.fed_share * (pushed + drawn)
                };
                let temp_c = film_temp(prepared, friction_w, flow_m3_s);
                Kept { temp_c, friction_w: friction_w(temp_c), flow_m3_s: flow_m3_s(temp_c) }
            })
            .collect();
        let moved = kept.iter().zip(&temps).map(|(kept, temp_c)| (kept.temp_c - temp_c).abs()).fold(0.0, f64::max);
        // Gently: a hotter film drinks more, lowers the gauge, and gets less.
        temps = kept.iter().zip(&temps).map(|(kept, temp_c)| 0.5 * (kept.temp_c + temp_c)).collect();
        settled = Some(Circulation { reading, kept });
        if moved < 0.002 {
            break;
        }
    }
    settled.ok_or_else(unusable)
}

/// The mean temperature at which films give their heat to the oil that passes through them: half way between that of the
/// oil that comes and of the oil that leaves.
fn film_temp(prepared: &Prepared, friction_w: impl Fn(f64) -> f64, flow_m3_s: impl Fn(f64) -> f64) -> f64 {
    let supply = prepared.supply_temp_c;
    let heat = prepared.oil_heat_j_m3_k();
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
