//! What is assumed of an engine of which only the crank is known.

use super::{Case, Figures, Groove, Input, Kind, Mark, OilChoice};
use crate::engine::OnThrow;
use crate::oil::{Grade, Oil};

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
    /// scaled with the stroke (the bore taken as equal to it), each with a range wide enough to hold most such engines.
    /// See [`Case::diesel`] for diesels; a racing engine or a big one needs its own figures. There is one upright
    /// cylinder on each throw and a main on both sides of it, until [`Case::set_cylinders`] and the field `along` say
    /// otherwise.
    pub fn new(known: &Known, throws_deg: &[f64], firing_order: &[usize]) -> Case {
        let stroke = known.stroke_m;
        let bore = stroke;
        let (cube, cylinders) = (bore.powi(3), throws_deg.len().max(1) as f64);
        let swept = 0.25 * std::f64::consts::PI * bore * bore * stroke * cylinders;
        let grade = Grade::Sae15w40;
        let share = Oil::new(&grade.typical()).map_or(0.75, |oil| grade.shear_share(&oil));
        let times =
            |value: f64, from: f64, to: f64, scale: f64| Input::assumed(value * scale, from * scale, to * scale);
        let running = turning(stroke, [5.33, 8.0, 12.0]);
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
            heat_idle_share: Input::assumed(0.9, 0.7, 1.0),
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
            idle_rpm: idle(stroke, running),
            running_rpm: running,
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
            cylinders: Vec::new(),
            firing_order: firing_order.to_vec(),
            along: None,
            groove: Groove::Upper,
            oil: OilChoice::Grade(grade),
            oil_given: false,
            kind: Kind::Petrol,
            kind_given: false,
            figures,
            clearances: Vec::new(),
            plan: 0,
        }
    }

    /// The same for a diesel: **from memory, no source**, as there. Turbocharged ones lie at the upper end of the
    /// charge.
    pub fn diesel(known: &Known, throws_deg: &[f64], firing_order: &[usize]) -> Case {
        let mut case = Case::new(known, throws_deg, firing_order);
        case.set_kind(Kind::Diesel);
        case
    }

    /// Takes the kind of engine as given, and assumes anew for it what is not given; before [`Case::set_bore`].
    pub fn set_kind(&mut self, kind: Kind) {
        (self.kind, self.kind_given) = (kind, true);
        if kind == Kind::Petrol {
            return;
        }
        let stroke = self.figures.stroke_m.value;
        let cube = stroke.powi(3);
        let running = turning(stroke, [4.0, 6.0, 9.0]);
        let figures = &mut self.figures;
        for (figure, assumed) in [
            (&mut figures.piston_kg, Input::assumed(1150.0 * cube, 850.0 * cube, 1500.0 * cube)),
            (&mut figures.rod_kg, Input::assumed(1600.0 * cube, 1100.0 * cube, 2200.0 * cube)),
            (&mut figures.compression_ratio, Input::assumed(17.5, 15.5, 21.0)),
            (&mut figures.charge_running_pa, Input::assumed(1.2e5, 0.95e5, 2.0e5)),
            (&mut figures.charge_idle_pa, Input::assumed(0.98e5, 0.9e5, 1.05e5)),
            (&mut figures.heat_j_m3, Input::assumed(1.8e6, 1.4e6, 2.2e6)),
            (&mut figures.heat_idle_share, Input::assumed(0.2, 0.12, 0.3)),
            (&mut figures.burn_from_deg, Input::assumed(-6.0, -15.0, 2.0)),
            (&mut figures.burn_for_deg, Input::assumed(55.0, 40.0, 80.0)),
            (&mut figures.gas_exponent, Input::assumed(1.33, 1.29, 1.36)),
            (&mut figures.idle_rpm, idle(stroke, running)),
            (&mut figures.running_rpm, running),
        ] {
            if figure.mark != Mark::Given {
                *figure = assumed;
            }
        }
    }

    /// Takes the oil as given by its grade: a typical oil of it, with what is left of its viscosity under shear assumed anew.
    pub fn set_grade(&mut self, grade: Grade) {
        (self.oil, self.oil_given) = (OilChoice::Grade(grade), true);
        let share = Oil::new(&grade.typical()).map_or(0.75, |oil| grade.shear_share(&oil));
        self.figures.shear_share = Input::assumed(0.5 * (1.0 + share), share, 1.0);
    }

    /// Lists the cylinders where they lean or share throws. Pump and outlets, where they are assumed, grow with the swept
    /// volume.
    pub fn set_cylinders(&mut self, cylinders: Vec<OnThrow>) {
        let before = self.cylinder_count().max(1) as f64;
        self.cylinders = cylinders;
        let grown = self.cylinder_count().max(1) as f64 / before;
        let figures = &mut self.figures;
        for figure in [&mut figures.pump_m3_rev, &mut figures.pump_slip_m3, &mut figures.other_outlets_m2] {
            figure.scale_assumed(grown);
        }
    }

    /// Takes the bore as given, and scales what was assumed with it: masses with its cube, pump and outlets with the
    /// swept volume.
    pub fn set_bore(&mut self, bore_m: f64) {
        let grown = bore_m / self.figures.bore_m.value;
        self.figures.bore_m = Input::given(bore_m);
        let figures = &mut self.figures;
        let masses = [&mut figures.piston_kg, &mut figures.rod_kg, &mut figures.throw_unbalance_kg];
        for figure in masses {
            figure.scale_assumed(grown.powi(3));
        }
        for figure in [&mut figures.pump_m3_rev, &mut figures.pump_slip_m3, &mut figures.other_outlets_m2] {
            figure.scale_assumed(grown * grown);
        }
    }
}

/// Running speed from mean piston speeds in m/s (least, usual, most): long strokes turn slowly.
///
/// From memory, no source: some 8 m/s on the road with petrol, 6 with a diesel.
fn turning(stroke_m: f64, [from, usual, to]: [f64; 3]) -> Input {
    let rpm = |piston_m_s: f64| (30.0 * piston_m_s / stroke_m).min(12_000.0);
    let round = |rpm: f64| if rpm > 500.0 { (rpm / 50.0).round() * 50.0 } else { rpm };
    Input::assumed(round(rpm(usual)), round(rpm(from)), round(rpm(to)))
}

/// Idle speed: 750 turns a minute for a stroke of 80 mm, less with the root of the stroke, and below half of the running
/// speed. From memory, no source.
fn idle(stroke_m: f64, running: Input) -> Input {
    let rpm = (750.0 * (0.08 / stroke_m).sqrt()).min(0.5 * running.value);
    let usual = if rpm > 200.0 { (rpm / 10.0).round() * 10.0 } else { rpm };
    Input::assumed(usual, 0.87 * usual, 1.2 * usual)
}
