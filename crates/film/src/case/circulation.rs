//! The oil on its way round: gallery pressure, flows and film temperatures, settled against each other.

use std::cell::Cell;

use super::prepared::{Prepared, land};
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
    /// Which of them are followed, counted from 0 among their kind, and for how many each stands, itself among them; their
    /// mean stands for the rest.
    pub followed: Vec<(usize, usize)>,
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
        self.outlet_at(case, prepared, prepared.film_viscosity(case, temp_c))
    }

    fn outlet_at(&self, case: &Case, prepared: &Prepared, viscosity_pa_s: f64) -> Outlet {
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
            viscosity_pa_s,
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

    /// Power that all of them turn into heat, for each pascal second of viscosity.
    fn friction_w_per_pa_s(&self, case: &Case, prepared: &Prepared) -> f64 {
        let one = petroff(&self.size, 1.0, prepared.speed_rad_s);
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

/// Settles gallery pressure and film temperatures together, with friction and eccentricity as they were in the last
/// orbits. At each pressure that is tried, every group's film has the temperature that it would settle at.
///
/// A bearing takes what the pump pushes through it and what its journal draws in by turning; both come out of the
/// gallery, and both carry heat off. Source: ISO 7902-1 adds the two alike, for flow and for heat (from memory).
pub(super) fn circulate(case: &Case, prepared: &Prepared, groups: &[Group]) -> Result<Circulation, Problems> {
    let figures = &case.figures;
    let supply = prepared.supply_temp_c;
    let density_kg_m3 = prepared.oil.density_kg_m3(supply);
    let area_m2 = figures.other_outlets_m2.value;
    let others = Outlet::Orifice { area_m2, discharge: 0.7, density_kg_m3 };
    let outlets = groups.iter().map(|group| group.outlet(case, prepared, group.guess.temp_c));
    let circuit = Circuit {
        pump: Pump { displacement_m3_rev: figures.pump_m3_rev.value, slip_m3: figures.pump_slip_m3.value },
        relief: Relief { opens_pa: figures.relief_opens_pa.value, gain_m3_s_pa: figures.relief_gain_m3_s_pa.value },
        passages: Passages {
            laminar_per_m3: figures.passages_laminar_per_m3.value,
            turbulent_pa_s2_m6: figures.passages_turbulent_pa_s2_m6.value,
        },
        outlets: std::iter::once(others).chain(outlets).collect(),
        speed_rev_s: prepared.speed_rev_s,
        viscosity_pa_s: prepared.oil.viscosity_pa_s(supply),
    };
    circuit.check()?;
    let heats: Vec<Heat> = groups.iter().map(|group| Heat::of(case, prepared, group)).collect();
    let asked = |gauge_pa: f64, share: f64| {
        let groups = heats.iter().map(|heat| heat.asked_m3_s(gauge_pa, heat.film_temp_c(gauge_pa, share)));
        others.flow_m3_s(gauge_pa) + groups.sum::<f64>()
    };
    let reading = circuit.balance(asked)?;
    let kept = heats.iter().map(|heat| {
        let temp_c = heat.film_temp_c(reading.gauge_pa, reading.fed_share);
        let friction_w = heat.friction_w(temp_c);
        Kept { temp_c, friction_w, flow_m3_s: reading.fed_share * heat.asked_m3_s(reading.gauge_pa, temp_c) }
    });
    let kept = kept.collect();
    Ok(Circulation { reading, kept })
}

/// How far above the supply a temperature is looked for: far beyond what oil bears.
const HOTTEST_K: f64 = 400.0;
/// How closely a film's heat is balanced.
const BALANCED_K: f64 = 1e-6;

/// Heat and flow of a group, by the temperature of its films.
struct Heat<'a> {
    case: &'a Case,
    prepared: &'a Prepared,
    /// What the pump would push through at a gauge pressure, were the viscosity 1 Pa s; it falls as that rises.
    outlet: Outlet,
    drawn_m3_s: f64,
    /// Power for each pascal second of viscosity.
    friction_w_per_pa_s: f64,
    heat_j_m3_k: f64,
    /// Where the last search ended: the next is near.
    last_c: Cell<f64>,
}

impl<'a> Heat<'a> {
    fn of(case: &'a Case, prepared: &'a Prepared, group: &Group) -> Heat<'a> {
        Heat {
            case,
            prepared,
            outlet: group.outlet_at(case, prepared, 1.0),
            drawn_m3_s: group.drawn_m3_s(case, prepared),
            friction_w_per_pa_s: group.friction_w_per_pa_s(case, prepared),
            heat_j_m3_k: prepared.oil_heat_j_m3_k(),
            last_c: Cell::new(group.guess.temp_c),
        }
    }

    fn friction_w(&self, temp_c: f64) -> f64 {
        self.friction_w_per_pa_s * self.prepared.film_viscosity(self.case, temp_c)
    }

    fn asked_m3_s(&self, gauge_pa: f64, temp_c: f64) -> f64 {
        self.outlet.flow_m3_s(gauge_pa) / self.prepared.film_viscosity(self.case, temp_c) + self.drawn_m3_s
    }

    /// The mean temperature at which films give their heat to the oil that passes through them: half way between that of
    /// the oil that comes and of the oil that leaves.
    fn film_temp_c(&self, gauge_pa: f64, share: f64) -> f64 {
        let supply = self.prepared.supply_temp_c;
        let pushed = self.outlet.flow_m3_s(gauge_pa);
        let above = |temp_c: f64| {
            let viscosity = self.prepared.film_viscosity(self.case, temp_c);
            let carried = self.heat_j_m3_k * share * (pushed / viscosity + self.drawn_m3_s);
            supply + 0.5 * self.friction_w_per_pa_s * viscosity / carried - temp_c
        };
        // Hotter oil is thinner: less heat, more flow. One answer, by secants kept between what is too cold and too hot.
        let (mut low, mut high) = (supply, supply + HOTTEST_K);
        let mut here = self.last_c.get().clamp(low, high);
        let mut off = above(here);
        let mut slope = -1.0 - 0.05 * (here - supply);
        for _ in 0..60 {
            if off > 0.0 {
                low = here
            } else {
                high = here
            }
            if off.abs() < BALANCED_K || high - low < BALANCED_K {
                break;
            }
            let mut next = here - off / slope;
            if !(next > low && next < high) {
                next = 0.5 * (low + high);
            }
            let off_next = above(next);
            slope = ((off_next - off) / (next - here)).min(-1.0);
            (here, off) = (next, off_next);
        }
        self.last_c.set(here);
        here
    }
}
