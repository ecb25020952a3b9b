//! One real bearing, in metres, newtons and pascal-seconds, under a steady load.

use serde::Serialize;

use crate::problem::{Checks, Problems};
use crate::steady::{Net, Rupture, Steady};

/// A journal bearing's size.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Size {
    /// Journal diameter.
    pub diameter_m: f64,
    /// Width of the film: of the whole shell, or of one land where a groove runs all the way round.
    pub length_m: f64,
    /// Half of what the shop calls the clearance.
    pub radial_clearance_m: f64,
}

impl Size {
    /// Looks the sizes over.
    ///
    /// # Errors
    /// A size that is missing or not above zero, and a clearance out of all proportion.
    pub fn check(&self) -> Result<(), Problems> {
        let mut checks = Checks::new();
        let bearing = "a bearing needs a journal with a surface";
        checks
            .positive("diameter_m", self.diameter_m, bearing)
            .positive("length_m", self.length_m, bearing)
            .positive("radial_clearance_m", self.radial_clearance_m, "without a gap there is no film")
            .that(
                self.radial_clearance_m.is_nan() || self.radial_clearance_m <= 0.02 * self.diameter_m,
                "radial_clearance_m",
                self.radial_clearance_m,
                "at most a fiftieth of the diameter",
                "the film's equation holds for gaps that are thin beside the journal",
            );
        if self.diameter_m > 0.0 && self.length_m > 0.0 {
            let ratio = self.length_m / self.diameter_m;
            checks.between("length_m / diameter_m", ratio, 0.02, 50.0, "beyond that it is no bearing");
        }
        checks.finish()
    }

    /// Width over diameter.
    pub fn length_over_diameter(&self) -> f64 {
        self.length_m / self.diameter_m
    }
}

/// What a steady load asks of a bearing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Duty {
    /// Load on the bearing.
    pub load_n: f64,
    /// Speed of the journal, in turns a second. The shell stands still.
    pub speed_rev_s: f64,
    /// Viscosity of the oil in the film.
    pub viscosity_pa_s: f64,
}

impl Duty {
    fn check(&self) -> Result<(), Problems> {
        let mut checks = Checks::new();
        checks
            .positive(
                "load_n",
                self.load_n,
                "without load the journal floats in the middle and there is nothing to ask",
            )
            .positive(
                "speed_rev_s",
                self.speed_rev_s,
                "a journal that stands still drags no oil in and carries nothing",
            )
            .positive("viscosity_pa_s", self.viscosity_pa_s, "oil without viscosity carries nothing");
        checks.finish()
    }
}

/// How a bearing runs under a steady load.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Running {
    /// The same in numbers without units.
    pub film: Steady,
    /// Thinnest film.
    pub least_film_m: f64,
    /// Highest pressure in the film.
    pub peak_pressure_pa: f64,
    /// Friction torque at the journal.
    pub torque_n_m: f64,
    /// Power turned into heat.
    pub friction_w: f64,
    /// Oil carried into the film.
    pub flow_m3_s: f64,
    /// Oil lost at both edges.
    pub side_flow_m3_s: f64,
}

/// Works out one bearing at a given viscosity.
///
/// # Errors
/// All inputs that cannot be used, at once; a load that would bring the surfaces together.
/// # Limits
/// Those of [`Steady`]. Turbulence sets in where ρ ω R c √(c/R) / μ passes about 41, far from any engine bearing.
pub fn run(size: &Size, duty: &Duty, net: Net) -> Result<Running, Problems> {
    let mut checks = Checks::new();
    checks.take("bearing", size.check());
    checks.take("duty", duty.check());
    checks.finish()?;
    let radius = 0.5 * size.diameter_m;
    let mean_pressure = duty.load_n / (size.length_m * size.diameter_m);
    let ratio = radius / size.radial_clearance_m;
    let sommerfeld = ratio * ratio * duty.viscosity_pa_s * duty.speed_rev_s / mean_pressure;
    let film = Steady::under(size.length_over_diameter(), sommerfeld, Rupture::Reynolds, net)?;
    let torque = film.friction / ratio * duty.load_n * radius;
    let flow = radius * size.radial_clearance_m * duty.speed_rev_s * size.length_m;
    let running = Running {
        film,
        least_film_m: size.radial_clearance_m * (1.0 - film.eccentricity),
        peak_pressure_pa: mean_pressure / film.mean_over_peak,
        torque_n_m: torque,
        friction_w: torque * std::f64::consts::TAU * duty.speed_rev_s,
        flow_m3_s: film.flow * flow,
        side_flow_m3_s: film.side_flow * flow,
    };
    let finite =
        running.peak_pressure_pa.is_finite() && running.friction_w.is_finite() && running.flow_m3_s.is_finite();
    if finite {
        Ok(running)
    } else {
        Err(Problems::one("duty", "out of range", "sizes and loads that fit a machine", "the sum overflowed"))
    }
}

impl Running {
    /// How much hotter the oil leaves than it came, where the heat leaves with the oil and nothing else.
    ///
    /// # Source
    /// Heat balance of Raimondi and Boyd: what leaves at the edges has on average half the rise, so
    /// ΔT = friction / (ρ c_p (Q − Q_s / 2)).
    pub fn rise_k(&self, heat_j_m3_k: f64) -> f64 {
        self.friction_w / (heat_j_m3_k * (self.flow_m3_s - 0.5 * self.side_flow_m3_s))
    }
}

/// A bearing together with the temperature that it settles at.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Settled {
    /// How it runs.
    pub running: Running,
    /// Mean temperature of the film, at which the viscosity was taken.
    pub film_temp_c: f64,
    /// How much hotter the oil leaves than it came.
    pub rise_k: f64,
}

/// Lets a temperature settle between what heats the oil and what that does to it.
///
/// `rise_at` says how much hotter oil leaves if its mean temperature is so much; the mean is the supply temperature
/// plus half of that. Hotter oil is thinner and makes less heat, so there is exactly one answer, found by halving.
///
/// # Errors
/// What `rise_at` reports; a temperature beyond 400 °C, at which no oil is left.
pub(crate) fn settle_temp<T>(
    supply_temp_c: f64,
    mut rise_at: impl FnMut(f64) -> Result<(f64, T), Problems>,
) -> Result<(f64, f64, T), Problems> {
    let (mut low, mut high) = (supply_temp_c, supply_temp_c + 1.0);
    loop {
        let (rise, _) = rise_at(high)?;
        if supply_temp_c + 0.5 * rise <= high {
            break;
        }
        low = high;
        high = supply_temp_c + 2.0 * (high - supply_temp_c);
        if high > 800.0 {
            let physics = "the film would burn before it settled: too little flow or clearance for this speed";
            return Err(Problems::one("supply_temp_c", supply_temp_c, "a supply that can carry the heat off", physics));
        }
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let (rise, found) = rise_at(middle)?;
        if (supply_temp_c + 0.5 * rise - middle).abs() < 1e-4 || high - low < 1e-9 {
            return Ok((middle, rise, found));
        }
        if supply_temp_c + 0.5 * rise > middle { low = middle } else { high = middle }
    }
    let (rise, found) = rise_at(low)?;
    Ok((low, rise, found))
}

/// Works out a bearing that heats its own oil.
///
/// `viscosity_pa_s` gives the viscosity at a temperature in °C; `heat_j_m3_k` is density times specific heat.
///
/// # Errors
/// As [`run`]; a film that would not settle below 400 °C.
/// # Limits
/// One temperature for the whole film, and no heat into journal or shell.
pub fn run_warm(
    size: &Size,
    load_n: f64,
    speed_rev_s: f64,
    supply_temp_c: f64,
    heat_j_m3_k: f64,
    viscosity_pa_s: impl Fn(f64) -> f64,
    net: Net,
) -> Result<Settled, Problems> {
    let mut checks = Checks::new();
    checks.between("supply_temp_c", supply_temp_c, -40.0, 200.0, "engine oil is not used beyond").positive(
        "heat_j_m3_k",
        heat_j_m3_k,
        "oil that takes up no heat cannot cool",
    );
    checks.finish()?;
    let (film_temp_c, rise_k, running) = settle_temp(supply_temp_c, |temp_c| {
        let duty = Duty { load_n, speed_rev_s, viscosity_pa_s: viscosity_pa_s(temp_c) };
        let running = run(size, &duty, net)?;
        Ok((running.rise_k(heat_j_m3_k), running))
    })?;
    Ok(Settled { running, film_temp_c, rise_k })
}

/// A bearing with a groove all the way round, fed under pressure: two lands that share the load, cooled by what the
/// pump pushes through them.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Fed {
    /// One of the two lands, with half of the load.
    pub land: Running,
    /// Mean temperature of the film.
    pub film_temp_c: f64,
    /// How much hotter the oil leaves than it came.
    pub rise_k: f64,
    /// Oil through both lands.
    pub flow_m3_s: f64,
    /// Power turned into heat in both lands.
    pub friction_w: f64,
}

/// Works out a bearing fed through a groove all the way round, at the temperature at which it settles.
///
/// `size.length_m` is the width of one land, `load_n` the whole load.
///
/// # Errors
/// As [`run_warm`]; no supply pressure.
/// # Limits
/// The supply pressure is not added to the pressures in the film: for loads far above it.
/// # Source
/// J. E. Shigley, *Mechanical Engineering Design*, "Pressure-fed bearings": each land as a bearing of its own, the heat
/// carried off by the flow of [`crate::feed::full_groove_m3_s`].
#[expect(clippy::too_many_arguments, reason = "each is one plain physical quantity, named at the call by its binding")]
pub fn run_fed(
    size: &Size,
    load_n: f64,
    speed_rev_s: f64,
    supply_pressure_pa: f64,
    supply_temp_c: f64,
    heat_j_m3_k: f64,
    viscosity_pa_s: impl Fn(f64) -> f64,
    net: Net,
) -> Result<Fed, Problems> {
    let mut checks = Checks::new();
    checks
        .between("supply_temp_c", supply_temp_c, -40.0, 200.0, "engine oil is not used beyond")
        .positive("supply_pressure_pa", supply_pressure_pa, "nothing pushes oil through a groove without pressure")
        .positive("heat_j_m3_k", heat_j_m3_k, "oil that takes up no heat cannot cool");
    checks.finish()?;
    let (film_temp_c, rise_k, (land, flow_m3_s)) = settle_temp(supply_temp_c, |temp_c| {
        let viscosity = viscosity_pa_s(temp_c);
        let land = run(size, &Duty { load_n: 0.5 * load_n, speed_rev_s, viscosity_pa_s: viscosity }, net)?;
        let flow = crate::feed::full_groove_m3_s(size, land.film.eccentricity, supply_pressure_pa, viscosity);
        Ok((2.0 * land.friction_w / (heat_j_m3_k * flow), (land, flow)))
    })?;
    Ok(Fed { land, film_temp_c, rise_k, flow_m3_s, friction_w: 2.0 * land.friction_w })
}
