//! The whole question that a shop asks: what does this clearance do in this engine?
//!
//! A shop knows the crank and its bearings; of the engine round them it knows little. So a [`Case`] starts out from
//! [`Case::new`] with every other figure **assumed**, each with the range it may lie in, and each may be given instead.
//! The [`Answer`] says what film, heat and gauge pressure come of each clearance, and how much it leans on what was
//! assumed.

mod answer;
mod assumed;
mod check;
mod circulation;
mod curve;
mod gauge;
mod leaning;
mod paths;
mod plan;
mod prepared;
mod state;

pub use answer::{
    Answer, AtClearance, HINT, LIMITS, OilUsed, answer, settled_answer, settled_side_by_side, side_by_side,
};
pub use assumed::Known;
pub use curve::{CurvePoint, curve};
pub use gauge::GaugePoint;
pub use leaning::{Band, Lean, Leaning, leaning};
pub use paths::paths;
pub use state::{BearingState, Condition, Contact, OIL_BEARS_C, Paths, State};

use serde::{Deserialize, Serialize};

use crate::engine::{Along, Layout, OnThrow};
use crate::oil::{Grade, Oil, OilData};
use crate::problem::Problems;

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

    /// Scales a figure and its range, where it is assumed.
    fn scale_assumed(&mut self, by: f64) {
        if let Mark::Assumed { from, to } = self.mark {
            *self = Input::assumed(self.value * by, from * by, to * by);
        }
    }
}

/// Declares the figures of a case once: as fields, as a list with names, and for looking one up.
macro_rules! figures {
    ($(#[doc = $words:literal] $name:ident,)*) => {
        /// Every figure of a case, each given or assumed.
        #[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
        pub struct Figures {
            $(#[doc = $words] pub $name: Input,)*
        }

        impl Figures {
            /// All figures with their names.
            pub fn list(&self) -> Vec<(&'static str, Input)> {
                vec![$((stringify!($name), self.$name),)*]
            }

            /// What a figure is, in words.
            pub fn words(name: &str) -> Option<&'static str> {
                match name {
                    $(stringify!($name) => Some($words.trim()),)*
                    _ => None,
                }
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
    /// Share of that heat at idle, for the same charge: a diesel idles on a full charge with little fuel.
    heat_idle_share,
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
    /// In the upper shell, where a bore without lean points: loads into that shell rest on two lands, others on the whole
    /// width.
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

/// What burns in the engine: it says which figures are assumed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Spark ignition.
    Petrol,
    /// Compression ignition.
    Diesel,
}

impl Kind {
    /// As it stands in a sentence and in a case.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Petrol => "petrol",
            Kind::Diesel => "diesel",
        }
    }
}

/// One clearance to be looked at, on the diameter, as a shop counts it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Clearance {
    /// What it is: "as found", "as planned".
    pub name: String,
    /// Clearance of the big ends, on the diameter; of the widest, where each has its own.
    pub pin_diametral_m: f64,
    /// Clearance of the mains, on the diameter; of the widest, where each has its own.
    pub main_diametral_m: f64,
    /// Each cylinder's own big end clearance, as the cylinders are listed; empty where all are alike.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub each_pin_m: Vec<f64>,
    /// Each main's own clearance, from the nose on; empty where all are alike.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub each_main_m: Vec<f64>,
}

impl Clearance {
    /// All big ends alike, and all mains.
    pub fn alike(name: impl Into<String>, pin_diametral_m: f64, main_diametral_m: f64) -> Clearance {
        let (each_pin_m, each_main_m) = (Vec::new(), Vec::new());
        Clearance { name: name.into(), pin_diametral_m, main_diametral_m, each_pin_m, each_main_m }
    }
}

/// The whole question.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Case {
    /// Angles of the throws from the nose on.
    pub throws_deg: Vec<f64>,
    /// The cylinders; empty for one upright cylinder on each throw. See [`Case::set_cylinders`].
    pub cylinders: Vec<OnThrow>,
    /// Cylinders, counted from 1 as listed (from the nose, where they are not), in the order in which they fire, at
    /// equal distances. Empty where every cylinder has its own firing angle.
    pub firing_order: Vec<usize>,
    /// Where mains and throws stand along the crank; none for a main before, between and behind all throws, with every
    /// throw midway.
    pub along: Option<Along>,
    /// How the mains are grooved.
    pub groove: Groove,
    /// The oil.
    pub oil: OilChoice,
    /// Whether somebody chose it; otherwise it is assumed, and a thinner or a thicker grade may be in the engine.
    pub oil_given: bool,
    /// What burns in the engine.
    pub kind: Kind,
    /// Whether somebody said so; otherwise it is assumed.
    pub kind_given: bool,
    /// All other figures.
    pub figures: Figures,
    /// The clearances to be set side by side.
    pub clearances: Vec<Clearance>,
    /// Which of them is the plan, counted from 0: the curve and the leaning are worked out round it.
    pub plan: usize,
}

impl Case {
    /// How many cylinders the engine has.
    pub fn cylinder_count(&self) -> usize {
        if self.cylinders.is_empty() { self.throws_deg.len() } else { self.cylinders.len() }
    }

    /// How many mains it has.
    pub fn main_count(&self) -> usize {
        self.along.as_ref().map_or(self.throws_deg.len() + 1, |along| along.mains_m.len())
    }

    /// How the engine is laid out, or what is wrong with that.
    pub(crate) fn layout(&self) -> Result<Layout, Problems> {
        let throws = self.throws_deg.len();
        let each;
        let cylinders = if self.cylinders.is_empty() {
            each = OnThrow::each(throws);
            &each
        } else {
            &self.cylinders
        };
        let along = self.along.clone().unwrap_or_else(|| Along::main_by_main(throws));
        Layout::of(&self.throws_deg, cylinders, &self.firing_order, &along)
    }

    /// The oil's line, or what is wrong with its data.
    pub(crate) fn oil_data(&self) -> Result<Oil, Problems> {
        match &self.oil {
            OilChoice::Grade(grade) => Oil::new(&grade.typical()),
            OilChoice::Data(data) => Oil::new(data),
        }
    }
}
