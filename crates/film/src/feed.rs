//! What the pump's pressure pushes through a bearing.
//!
//! These flows are a floor: a turning journal draws some oil in by itself, which is not counted.

use std::f64::consts::PI;

use crate::bearing::Size;

/// Flow through both lands of a bearing with a groove all the way round.
///
/// `size.length_m` is the width of **one** land.
/// # Source
/// J. E. Shigley, *Mechanical Engineering Design*, "Pressure-fed bearings": π R c³ p (1 + 1.5 ε²) / (3 μ l').
/// # Example
/// ```
/// use film::bearing::Size;
/// // Central: π D c³ p / (6 µ L), for 50 mm by 10 mm lands, 25 µm, 4 bar and 10 mPa s.
/// let land = Size { diameter_m: 0.050, length_m: 0.010, radial_clearance_m: 25e-6 };
/// let flow = film::feed::full_groove_m3_s(&land, 0.0, 4e5, 0.010);
/// assert!((flow - 1.636e-6).abs() < 1e-9);
/// ```
pub fn full_groove_m3_s(size: &Size, eccentricity: f64, pressure_pa: f64, viscosity_pa_s: f64) -> f64 {
    let shape = PI * (1.0 + 1.5 * eccentricity * eccentricity) / 3.0;
    shape * passage(size, pressure_pa, viscosity_pa_s) / size.length_m
}

/// Flow through both lands of a bearing whose upper shell alone is grooved (180°), whichever way the journal lies.
///
/// `size.length_m` is the width of **one** land. On the average over all directions of the eccentricity the half groove
/// passes half of a whole one. Leakage round the ends of the groove is left out: it adds 3 to 17 % on narrow bearings.
pub fn half_groove_m3_s(size: &Size, eccentricity: f64, pressure_pa: f64, viscosity_pa_s: f64) -> f64 {
    0.5 * full_groove_m3_s(size, eccentricity, pressure_pa, viscosity_pa_s)
}

/// Flow through both lands of a bearing with a 180° groove whose middle lies at the widest gap.
///
/// # Source
/// ∫ H³ over the half turn: R c³ p [π (1 + 1.5 ε²) + 6 ε + 4 ε³/3] / (6 μ l'); within 3 to 17 % of finite differences
/// for L/D 0.4 to 0.5, always on the low side (leakage round the groove's ends).
pub fn half_groove_at_widest_m3_s(size: &Size, eccentricity: f64, pressure_pa: f64, viscosity_pa_s: f64) -> f64 {
    let eps = eccentricity;
    let shape = (PI * (1.0 + 1.5 * eps * eps) + 6.0 * eps + 4.0 * eps.powi(3) / 3.0) / 6.0;
    shape * passage(size, pressure_pa, viscosity_pa_s) / size.length_m
}

/// Flow out of one round hole in the middle of the shell, where the film is `film_m` thick.
///
/// `size.length_m` is the width of the **whole** shell.
/// # Source
/// A source between two edges by its images: π h³ p / (6 μ ln(4 B / (π d))). Within 1.3 % of finite differences for a
/// central journal and 5.5 % at ε 0.6, for L/D up to ½.
/// # Limits
/// Holes up to half the width; with wider ones the logarithm is held at that of half the width.
pub fn hole_m3_s(size: &Size, hole_diameter_m: f64, film_m: f64, pressure_pa: f64, viscosity_pa_s: f64) -> f64 {
    let ratio = (4.0 * size.length_m / (PI * hole_diameter_m)).max(8.0 / PI);
    PI * film_m.powi(3) * pressure_pa / (6.0 * viscosity_pa_s * ratio.ln())
}

/// R c³ p / μ.
fn passage(size: &Size, pressure_pa: f64, viscosity_pa_s: f64) -> f64 {
    0.5 * size.diameter_m * size.radial_clearance_m.powi(3) * pressure_pa / viscosity_pa_s
}
