//! The whole question that a shop asks: what does this clearance do in this engine?
//!
//! A shop knows the crank and its bearings; of the engine round them it knows little. So a [`Case`] starts out from
//! [`Case::new`] with every other figure **assumed**, each with the range it may lie in, and each may be given instead. The
//! [`Answer`] says what film, heat and gauge pressure come of each clearance, and how much it leans on what was assumed.

mod answer;
mod curve;
mod leaning;
mod state;

pub use answer::{Answer, AtClearance, HINT, LIMITS, answer, side_by_side};
pub use curve::{CurvePoint, curve};
pub use leaning::{Band, Lean, Leaning, leaning};
pub use state::{BearingState, Condition, Contact, State};

use serde::{Deserialize, Serialize};

use crate::engine::Layout;
use crate::oil::{Grade, Oil, OilData};
use crate::problem::{Checks, Problems};

/// Where a figure comes from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// Somebody gave it.
    Given,
    /// Nobody did; it may lie anywhere between these.
    Assumed {
        /// Lower end of the range.
        from: f64,
        /// Upper end of the range.
        to: f64,
    },
}

/// A figure with its mark, in the unit of its field's name.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Input {
    /// The figure.
    pub value: f64,
    /// Where it comes from.
    pub mark: Mark,
}

impl Input {
    /// A figure that somebody gave.
    pub fn given(value: f64) -> Input {
        Input { value, mark: Mark::Given }
    }

    /// A figure that is assumed, with the range it may lie in.
    pub fn assumed(value: f64, from: f64, to: f64) -> Input {
        Input { value, mark: Mark::Assumed { from, to } }
    }
}

/// Declares the figures of a case once: as fields, as a list with names, and for looking one up.
macro_rules! figures {
    ($($(#[$doc:meta])* $name:ident,)*) => {
        /// Every figure of a case, each given or assumed.
        #[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
        pub struct Figures {
            $($(#[$doc])* pub $name: Input,)*
        }

        impl Figures {
            /// All figures with their names.
            pub fn list(&self) -> Vec<(&'static str, Input)> {
                vec![$((stringify!($name), self.$name),)*]
            }

            /// One figure by its name.
            pub fn named(&mut self, name: &str) -> Option<&mut Input> {
                match name {
                    $(stringify!($name) => Some(&mut self.$name),)*
                    _ => None,
                }
            }
        }
    };
}

figures! {
    /// Diameter of the bores.
    bore_m,
    /// Stroke: twice the throw.
    stroke_m,
    /// Length of the rods from eye to eye.
    rod_m,
    /// Piston with rings and gudgeon pin.
    piston_kg,
    /// Whole rod.
    rod_kg,
    /// Share of the rod's mass at its big end.
    rod_big_share,
    /// Mass of one throw's pin and webs less counterweights, as if at the pin.
    throw_unbalance_kg,
    /// Compression ratio.
    compression_ratio,
    /// Absolute pressure in the cylinder before compression, running under load.
    charge_running_pa,
    /// The same at idle.
    charge_idle_pa,
    /// Heat from each cubic metre swept with a charge of one bar.
    heat_j_m3,
    /// Where burning begins, from top dead centre.
    burn_from_deg,
    /// How long burning lasts.
    burn_for_deg,
    /// Exponent of compression and expansion.
    gas_exponent,
    /// Diameter of the pins.
    pin_diameter_m,
    /// Width of the rod shells.
    pin_length_m,
    /// Diameter of the oil hole in the pins.
    pin_hole_m,
    /// Diameter of the mains.
    main_diameter_m,
    /// Width of the main shells.
    main_length_m,
    /// Width of the oil groove in the main shells.
    main_groove_m,
    /// Roughness of journal and shell together (root of the squares, from the mean line).
    roughness_m,
    /// Oil in the gallery, warm engine.
    oil_hot_c,
    /// Oil in the gallery, cold start.
    oil_cold_c,
    /// What is left of the oil's viscosity under the shear of a bearing.
    shear_share,
    /// Idle speed.
    idle_rpm,
    /// Running speed.
    running_rpm,
    /// What the pump moves for one turn of the crank.
    pump_m3_rev,
    /// Slip of the pump.
    pump_slip_m3,
    /// Gauge pressure at which the relief valve opens.
    relief_opens_pa,
    /// What the valve lets by for each pascal above that.
    relief_gain_m3_s_pa,
    /// Open area of all other outlets: squirts, valve gear, camshaft.
    other_outlets_m2,
    /// Pressure lost before the gauge that grows with flow and viscosity.
    passages_laminar_per_m3,
    /// Pressure lost before the gauge that grows with the square of the flow.
    passages_turbulent_pa_s2_m6,
}

/// How the mains are grooved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Groove {
    /// All the way round: two lands carry.
    Full,
    /// In the upper shell: the lower one carries with its whole width.
    Upper,
}

/// The oil in the engine.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OilChoice {
    /// By the grade on the can: a typical oil of it, assumed.
    Grade(Grade),
    /// By its data sheet.
    Data(OilData),
}

/// One clearance to be looked at, on the diameter, as a shop counts it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Clearance {
    /// What it is: "as found", "as planned".
    pub name: String,
    /// Clearance of the big ends, on the diameter.
    pub pin_diametral_m: f64,
    /// Clearance of the mains, on the diameter.
    pub main_diametral_m: f64,
}

/// The whole question.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Case {
    /// Angles of the throws from the nose on; one cylinder to each, upright.
    pub throws_deg: Vec<f64>,
    /// Cylinders, counted from 1 at the nose, in the order in which they fire.
    pub firing_order: Vec<usize>,
    /// How the mains are grooved.
    pub groove: Groove,
    /// The oil.
    pub oil: OilChoice,
    /// All other figures.
    pub figures: Figures,
    /// The clearances to be set side by side.
    pub clearances: Vec<Clearance>,
    /// Which of them is the plan, counted from 0: the curve and the leaning are worked out round it.
    pub plan: usize,
}

/// What a shop has measured of a crank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// Stroke: twice the throw.
    pub stroke_m: f64,
    /// Diameter of the pins.
    pub pin_diameter_m: f64,
    /// Width of the rod shells.
    pub pin_length_m: f64,
    /// Diameter of the mains.
    pub main_diameter_m: f64,
    /// Width of the main shells.
    pub main_length_m: f64,
}

impl Case {
    /// A case in which only the crank is known and the rest assumed.
    ///
    /// The assumed figures suit a petrol engine of a road vehicle. They are **from memory, no source**: rules of thumb,
    /// scaled with the stroke, each with a range wide enough to hold most such engines. A diesel, a racing engine or a
    /// big one needs its own compression ratio, charge, heat and masses.
    pub fn new(known: &Known, throws_deg: &[f64], firing_order: &[usize]) -> Case {
        let stroke = known.stroke_m;
        let bore = stroke;
        let (cube, cylinders) = (bore.powi(3), throws_deg.len().max(1) as f64);
        let swept = 0.25 * std::f64::consts::PI * bore * bore * stroke * cylinders;
        let grade = Grade::Sae15w40;
        let share = Oil::new(&grade.typical()).map_or(0.75, |oil| grade.shear_share(&oil));
        let times =
            |value: f64, from: f64, to: f64, scale: f64| Input::assumed(value * scale, from * scale, to * scale);
        let figures = Figures {
            bore_m: times(1.0, 0.85, 1.2, bore),
            stroke_m: Input::given(stroke),
            rod_m: times(1.65, 1.5, 1.95, stroke),
            piston_kg: times(800.0, 600.0, 1100.0, cube),
            rod_kg: times(1100.0, 800.0, 1500.0, cube),
            rod_big_share: Input::assumed(0.7, 0.62, 0.76),
            throw_unbalance_kg: times(0.0, -400.0, 800.0, cube),
            compression_ratio: Input::assumed(9.0, 7.5, 10.5),
            charge_running_pa: Input::assumed(0.95e5, 0.8e5, 1.05e5),
            charge_idle_pa: Input::assumed(0.4e5, 0.3e5, 0.5e5),
            heat_j_m3: Input::assumed(2.2e6, 1.8e6, 2.5e6),
            burn_from_deg: Input::assumed(-20.0, -30.0, -10.0),
            burn_for_deg: Input::assumed(50.0, 40.0, 65.0),
            gas_exponent: Input::assumed(1.3, 1.27, 1.34),
            pin_diameter_m: Input::given(known.pin_diameter_m),
            pin_length_m: Input::given(known.pin_length_m),
            pin_hole_m: Input::assumed(
                0.1 * known.pin_diameter_m,
                0.06 * known.pin_diameter_m,
                0.14 * known.pin_diameter_m,
            ),
            main_diameter_m: Input::given(known.main_diameter_m),
            main_length_m: Input::given(known.main_length_m),
            main_groove_m: times(0.15, 0.1, 0.25, known.main_length_m),
            roughness_m: Input::assumed(0.5e-6, 0.3e-6, 1.0e-6),
            oil_hot_c: Input::assumed(95.0, 85.0, 110.0),
            oil_cold_c: Input::assumed(15.0, 0.0, 25.0),
            shear_share: Input::assumed(0.5 * (1.0 + share), share, 1.0),
            idle_rpm: Input::assumed(750.0, 650.0, 900.0),
            running_rpm: Input::assumed(3000.0, 2000.0, 4500.0),
            pump_m3_rev: times(7e-3, 5e-3, 10e-3, swept),
            pump_slip_m3: times(2.5e-10, 1e-10, 8e-10, swept),
            relief_opens_pa: Input::assumed(4e5, 3e5, 5e5),
            relief_gain_m3_s_pa: Input::assumed(5e-9, 2e-9, 1e-8),
            other_outlets_m2: times(4e-3, 2e-3, 8e-3, swept),
            passages_laminar_per_m3: Input::assumed(5e8, 1e8, 2e9),
            passages_turbulent_pa_s2_m6: Input::assumed(3e11, 1e11, 1e12),
        };
        Case {
            throws_deg: throws_deg.to_vec(),
            firing_order: firing_order.to_vec(),
            groove: Groove::Upper,
            oil: OilChoice::Grade(grade),
            figures,
            clearances: Vec::new(),
            plan: 0,
        }
    }

    /// Looks the whole case over.
    ///
    /// # Errors
    /// Everything that cannot be worked with, at once.
    pub fn check(&self) -> Result<(), Problems> {
        let mut checks = Checks::new();
        checks.take("layout", Layout::upright(&self.throws_deg, &self.firing_order));
        checks.take("oil", self.oil_data());
        self.check_figures(&mut checks);
        checks
            .that(
                (1..=20).contains(&self.clearances.len()),
                "clearances",
                self.clearances.len(),
                "1 to 20 clearances",
                "without a clearance there is nothing to ask",
            )
            .that(
                self.plan < self.clearances.len().max(1),
                "plan",
                self.plan,
                "one of the clearances",
                "the curve is worked out round the plan",
            );
        let (pin, main) = (self.figures.pin_diameter_m.value, self.figures.main_diameter_m.value);
        for (place, clearance) in self.clearances.iter().enumerate() {
            let gap = "without a gap there is no film; a fiftieth of the journal is no bearing any more";
            for (name, value, diameter) in [
                ("pin_diametral_m", clearance.pin_diametral_m, pin),
                ("main_diametral_m", clearance.main_diametral_m, main),
            ] {
                let usable = value > 0.0 && value < 0.02 * diameter;
                let field = format!("clearances[{}].{name}", place + 1);
                checks.that(usable, &field, value, "above 0 and under a fiftieth of the journal", gap);
            }
        }
        checks.finish()
    }

    fn check_figures(&self, checks: &mut Checks) {
        for (name, input) in self.figures.list() {
            let Bounds { from, to, physics } = bounds(name);
            checks.between(name, input.value, from, to, physics);
            if let Mark::Assumed { from: low, to: high } = input.mark {
                let ordered = low <= input.value && input.value <= high && low >= from && high <= to;
                checks.that(
                    ordered || !input.value.is_finite(),
                    &format!("{name}.assumed"),
                    format!("{low} to {high}"),
                    "a range round the value, within what is usable",
                    "the answer is worked out at both ends of it",
                );
            }
        }
        let figures = &self.figures;
        checks
            .that(
                above(figures.rod_m.value, 0.6 * figures.stroke_m.value),
                "rod_m",
                figures.rod_m.value,
                "more than six tenths of the stroke",
                "a shorter rod could not turn",
            )
            .that(
                above(0.8 * figures.main_length_m.value, figures.main_groove_m.value),
                "main_groove_m",
                figures.main_groove_m.value,
                "under eight tenths of the shell's width",
                "the lands beside the groove carry",
            )
            .that(
                above(figures.running_rpm.value, 0.999_999 * figures.idle_rpm.value),
                "running_rpm",
                figures.running_rpm.value,
                "idle speed or above",
                "an engine does not run slower than it idles",
            );
    }

    /// The oil's line, or what is wrong with its data.
    pub(crate) fn oil_data(&self) -> Result<Oil, Problems> {
        match &self.oil {
            OilChoice::Grade(grade) => Oil::new(&grade.typical()),
            OilChoice::Data(data) => Oil::new(data),
        }
    }
}

/// Whether one figure is above another; a figure that is not a number has been spoken of already.
fn above(value: f64, limit: f64) -> bool {
    value.is_nan() || limit.is_nan() || value > limit
}

/// What a figure may be at all, and why.
struct Bounds {
    from: f64,
    to: f64,
    physics: &'static str,
}

fn bounds(name: &str) -> Bounds {
    let (from, to, physics) = match name {
        "bore_m" | "stroke_m" => (0.01, 1.5, "an engine's cylinder"),
        "rod_m" => (0.01, 5.0, "a rod is longer than the throw"),
        "pin_diameter_m" | "main_diameter_m" => (0.005, 1.0, "a journal has a surface"),
        "pin_length_m" | "main_length_m" => (0.002, 1.0, "a shell without width carries nothing"),
        "pin_hole_m" => (1e-4, 0.1, "no oil comes through a hole that is not there"),
        "main_groove_m" => (0.0, 0.5, "a groove is not negative"),
        "piston_kg" | "rod_kg" => (1e-3, 1e3, "moving parts have mass"),
        "rod_big_share" => (0.0, 1.0, "a share of the rod"),
        "throw_unbalance_kg" => (-1e3, 1e3, "a throw is not heavier"),
        "compression_ratio" => (1.5, 40.0, "no engine runs beyond"),
        "charge_running_pa" | "charge_idle_pa" => (5e3, 1e6, "an engine breathes something like air"),
        "heat_j_m3" => (0.0, 1e7, "burning does not cool"),
        "burn_from_deg" => (-120.0, 60.0, "fuel burns near top dead centre"),
        "burn_for_deg" => (5.0, 200.0, "fuel takes time to burn"),
        "gas_exponent" => (1.05, 1.6, "gases compress between isothermal and adiabatic"),
        "roughness_m" => (0.0, 1e-4, "surfaces are not smoother than smooth"),
        "oil_hot_c" | "oil_cold_c" => (-40.0, 180.0, "engine oil is not used beyond"),
        "shear_share" => (0.2, 1.2, "oil thins under shear, but does not vanish"),
        "idle_rpm" | "running_rpm" => (30.0, 30_000.0, "a journal that stands still carries nothing"),
        "pump_m3_rev" => (1e-8, 1e-1, "a pump moves oil"),
        "pump_slip_m3" => (0.0, 1e-6, "a pump does not slip forwards"),
        "relief_opens_pa" => (1e3, 1e8, "a valve opens at some pressure"),
        "relief_gain_m3_s_pa" => (1e-13, 1e-3, "a valve that never opens bursts the filter"),
        "other_outlets_m2" => (0.0, 1.0, "a hole is open or shut"),
        _ => (0.0, 1e20, "passages lose pressure and never gain any"),
    };
    Bounds { from, to, physics }
}
