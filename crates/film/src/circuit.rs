//! The oil circuit: pump, relief valve, gallery and everything that drinks from it, solved together.
//!
//! A gauge reading is a hint, not a diagnosis: a worn pump, a lazy valve and thin oil look the same as open clearances.

use serde::Serialize;

use crate::bearing::Size;
use crate::feed;
use crate::problem::{Checks, Problems};

/// A pump of fixed displacement.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Pump {
    /// What it moves for one turn of the crank.
    pub displacement_m3_rev: f64,
    /// Slip back through its own gaps: p times this over the viscosity. Grows with the cube of the pump's wear.
    pub slip_m3: f64,
}

/// A relief valve at the pump.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Relief {
    /// Gauge pressure at which it begins to open.
    pub opens_pa: f64,
    /// What it lets by for each pascal above that.
    pub gain_m3_s_pa: f64,
}

/// What is lost on the way from the pump to the gauge: filter, cooler, drillings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Passages {
    /// Part that grows with flow and viscosity: Δp = this × μ Q.
    pub laminar_per_m3: f64,
    /// Part that grows with the square of the flow.
    pub turbulent_pa_s2_m6: f64,
}

/// How a bearing is fed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub enum Feed {
    /// A groove all the way round; the size's length is one land.
    FullGroove,
    /// A groove in the upper shell; the size's length is one land.
    HalfGroove,
    /// A hole in the middle; the size's length is the whole shell.
    Hole {
        /// Diameter of the hole.
        diameter_m: f64,
    },
}

/// Something that drinks from the gallery.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub enum Outlet {
    /// Bearings of one kind.
    Bearings {
        /// How many.
        count: usize,
        /// Size of each, see [`Feed`] for the length.
        size: Size,
        /// How they are fed.
        feed: Feed,
        /// Mean square of the eccentricity over a cycle; 0 is a floor. A hole is taken at the mean film.
        mean_square_eccentricity: f64,
        /// Viscosity of the oil in their gaps.
        viscosity_pa_s: f64,
        /// Pressure that the crank's own turning adds on the way, see [`centrifugal_head_pa`].
        head_pa: f64,
    },
    /// What turning journals draw in by themselves and lose at their edges, whatever the pressure.
    Drawn {
        /// All of them together.
        flow_m3_s: f64,
    },
    /// A plain hole: squirts, feeds to the valve gear.
    Orifice {
        /// Open area in all.
        area_m2: f64,
        /// Coefficient of discharge, about 0.7.
        discharge: f64,
        /// Density of the oil.
        density_kg_m3: f64,
    },
}

impl Outlet {
    /// Flow at a gauge pressure in the gallery.
    pub fn flow_m3_s(&self, gallery_pa: f64) -> f64 {
        match *self {
            Outlet::Bearings { count, size, feed, mean_square_eccentricity, viscosity_pa_s, head_pa } => {
                let eccentricity = mean_square_eccentricity.max(0.0).sqrt();
                let pressure = gallery_pa + head_pa;
                let each = match feed {
                    Feed::FullGroove => feed::full_groove_m3_s(&size, eccentricity, pressure, viscosity_pa_s),
                    Feed::HalfGroove => feed::half_groove_m3_s(&size, eccentricity, pressure, viscosity_pa_s),
                    Feed::Hole { diameter_m } => {
                        feed::hole_m3_s(&size, diameter_m, size.radial_clearance_m, pressure, viscosity_pa_s)
                    }
                };
                count as f64 * each
            }
            Outlet::Drawn { flow_m3_s } => flow_m3_s,
            Outlet::Orifice { area_m2, discharge, density_kg_m3 } => {
                discharge * area_m2 * (2.0 * gallery_pa.max(0.0) / density_kg_m3).sqrt()
            }
        }
    }

    fn check(&self) -> Result<(), Problems> {
        let mut checks = Checks::new();
        match *self {
            Outlet::Bearings { size, feed, mean_square_eccentricity, viscosity_pa_s, head_pa, .. } => {
                checks.take("size", size.check());
                checks
                    .between("mean_square_eccentricity", mean_square_eccentricity, 0.0, 1.0, "at 1 the surfaces touch")
                    .positive("viscosity_pa_s", viscosity_pa_s, "oil without viscosity leaks without end")
                    .between("head_pa", head_pa, 0.0, 1e9, "turning adds pressure, it takes none away");
                if let Feed::Hole { diameter_m } = feed {
                    checks.positive("hole", diameter_m, "no oil comes through a hole that is not there");
                }
            }
            Outlet::Drawn { flow_m3_s } => {
                checks.between("flow_m3_s", flow_m3_s, 0.0, 1.0, "a journal draws oil in, it does not deliver any");
            }
            Outlet::Orifice { area_m2, discharge, density_kg_m3 } => {
                checks
                    .between("area_m2", area_m2, 0.0, 1.0, "a hole is open or shut")
                    .between("discharge", discharge, 0.0, 1.0, "no more goes through than the hole is wide")
                    .positive("density_kg_m3", density_kg_m3, "oil has weight");
            }
        }
        checks.finish()
    }
}

/// Pressure that turning adds between two radii of the crank's drilling: ρ ω² (r₂² − r₁²) / 2; never below zero.
///
/// # Example
/// ```
/// // ½ · 850 · 628.3² · (0.04² - 0.03²): 1.17 bar at 6000 a minute.
/// let head = film::circuit::centrifugal_head_pa(850.0, 628.3, 0.03, 0.04);
/// assert!((head / 1e5 - 1.174).abs() < 0.001);
/// ```
pub fn centrifugal_head_pa(density_kg_m3: f64, speed_rad_s: f64, inner_m: f64, outer_m: f64) -> f64 {
    (0.5 * density_kg_m3 * speed_rad_s * speed_rad_s * (outer_m * outer_m - inner_m * inner_m)).max(0.0)
}

/// The circuit at one speed and temperature.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Circuit {
    /// The pump.
    pub pump: Pump,
    /// The relief valve.
    pub relief: Relief,
    /// What is lost before the gauge.
    pub passages: Passages,
    /// Everything that drinks.
    pub outlets: Vec<Outlet>,
    /// Speed of the crank.
    pub speed_rev_s: f64,
    /// Viscosity of the oil in pump and passages.
    pub viscosity_pa_s: f64,
}

/// What the circuit settles at.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reading {
    /// What the gauge on the gallery shows.
    pub gauge_pa: f64,
    /// Pressure at the pump.
    pub pump_pa: f64,
    /// What the pump delivers after its own slip.
    pub pump_m3_s: f64,
    /// What the relief valve lets by.
    pub relief_m3_s: f64,
    /// What each outlet takes, in their order.
    pub outlets_m3_s: Vec<f64>,
    /// Share of what the outlets would take that the pump delivers: 1, or less where no pressure is left on the gauge.
    pub fed_share: f64,
}

impl Circuit {
    /// Solves the circuit: what the pump delivers is what the valve and all outlets take.
    ///
    /// # Errors
    /// Inputs that cannot be used, all at once.
    /// # Limits
    /// Steady flow; no air in the oil; a pump that never starves at its inlet.
    pub fn settle(&self) -> Result<Reading, Problems> {
        self.check()?;
        let reading = self.balance(|gauge, _| self.drunk(gauge))?;
        let each = |outlet: &Outlet| reading.fed_share * outlet.flow_m3_s(reading.gauge_pa);
        Ok(Reading { outlets_m3_s: self.outlets.iter().map(each).collect(), ..reading })
    }

    /// The same for outlets that ask for so much in all at a gauge pressure and at the share of it that they get: the more,
    /// the higher the one, and get the more, the higher the other.
    pub(crate) fn balance(&self, asked_m3_s: impl Fn(f64, f64) -> f64) -> Result<Reading, Problems> {
        // Surplus at a gauge pressure: falls steadily, so there is one answer, kept between two pressures that close
        // in.
        let surplus = |gauge: f64| {
            let drunk = asked_m3_s(gauge, 1.0);
            let pump = self.at_pump(gauge, drunk);
            self.delivered(pump) - self.let_by(pump) - drunk
        };
        let gauge = falling_zero(surplus, self.relief.opens_pa + 1.0);
        // Without pressure on the gauge the outlets share what comes.
        let fed_share = match gauge == 0.0 && asked_m3_s(0.0, 1.0) > 0.0 {
            true => {
                let surplus = |share: f64| {
                    let drunk = share * asked_m3_s(0.0, share);
                    self.delivered(self.at_pump(0.0, drunk)) - drunk
                };
                falling_zero(surplus, 0.5).min(1.0)
            }
            false => 1.0,
        };
        let outlets = fed_share * asked_m3_s(gauge, fed_share);
        let pump = self.at_pump(gauge, outlets);
        let reading = Reading {
            fed_share,
            gauge_pa: gauge,
            pump_pa: pump,
            pump_m3_s: self.delivered(pump),
            relief_m3_s: self.let_by(pump),
            outlets_m3_s: vec![outlets],
        };
        if reading.gauge_pa.is_finite() && reading.pump_m3_s.is_finite() {
            Ok(reading)
        } else {
            let physics = "the sum overflowed: pump, valve and bearings do not fit one engine";
            Err(Problems::one("circuit", "out of range", "parts of one engine", physics))
        }
    }

    pub(crate) fn check(&self) -> Result<(), Problems> {
        let mut checks = Checks::new();
        checks
            .positive("speed_rev_s", self.speed_rev_s, "a pump that stands still delivers nothing")
            .positive("viscosity_pa_s", self.viscosity_pa_s, "oil without viscosity leaks without end")
            .positive("pump.displacement_m3_rev", self.pump.displacement_m3_rev, "a pump moves oil")
            .between("pump.slip_m3", self.pump.slip_m3, 0.0, 1.0, "a pump does not slip forwards")
            .between("relief.opens_pa", self.relief.opens_pa, 0.0, 1e9, "a valve opens at some pressure")
            .positive("relief.gain_m3_s_pa", self.relief.gain_m3_s_pa, "a valve that never opens bursts the filter")
            .between("passages.laminar_per_m3", self.passages.laminar_per_m3, 0.0, 1e30, "passages lose pressure")
            .between("passages.turbulent_pa_s2_m6", self.passages.turbulent_pa_s2_m6, 0.0, 1e30, "and never gain any");
        for (place, outlet) in self.outlets.iter().enumerate() {
            if let Err(problems) = outlet.check() {
                checks.take::<()>(&format!("outlets[{}]", place + 1), Err(problems));
            }
        }
        checks.finish()
    }

    fn drunk(&self, gauge_pa: f64) -> f64 {
        self.outlets.iter().map(|outlet| outlet.flow_m3_s(gauge_pa)).sum()
    }

    fn at_pump(&self, gauge_pa: f64, flow: f64) -> f64 {
        let lost = self.passages.laminar_per_m3 * self.viscosity_pa_s * flow;
        gauge_pa + lost + self.passages.turbulent_pa_s2_m6 * flow * flow
    }

    fn delivered(&self, pump_pa: f64) -> f64 {
        let moved = self.pump.displacement_m3_rev * self.speed_rev_s;
        (moved - self.pump.slip_m3 * pump_pa / self.viscosity_pa_s).max(0.0)
    }

    fn let_by(&self, pump_pa: f64) -> f64 {
        self.relief.gain_m3_s_pa * (pump_pa - self.relief.opens_pa).max(0.0)
    }
}

/// Where a falling function passes zero, from 0 up; 0 where it is below zero from the start. By the Illinois rule, with
/// halvings in between where that creeps.
fn falling_zero(value: impl Fn(f64) -> f64, first_guess: f64) -> f64 {
    let (mut low, mut high) = (0.0, first_guess);
    let (mut at_low, mut at_high) = (value(low), value(high));
    if at_low <= 0.0 {
        return 0.0;
    }
    for _ in 0..80 {
        if at_high <= 0.0 {
            break;
        }
        (low, at_low) = (high, at_high);
        high *= 2.0;
        at_high = value(high);
    }
    let mut kept = 0;
    for round in 0..200 {
        if high - low <= 1e-10 * high || at_low == 0.0 {
            break;
        }
        let cut = (low * at_high - high * at_low) / (at_high - at_low);
        let middle = if round % 4 == 3 || !(cut > low && cut < high) { 0.5 * (low + high) } else { cut };
        let found = value(middle);
        if found > 0.0 {
            (low, at_low) = (middle, found);
            if kept == 1 {
                at_high *= 0.5;
            }
            kept = 1;
        } else {
            (high, at_high) = (middle, found);
            if kept == -1 {
                at_low *= 0.5;
            }
            kept = -1;
            if found == 0.0 {
                return middle;
            }
        }
    }
    0.5 * (low + high)
}
