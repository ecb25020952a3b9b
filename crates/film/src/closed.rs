//! Closed forms: the limits that any film must meet, and first guesses.

use std::f64::consts::PI;

/// Sommerfeld number of the short bearing with half Sommerfeld rupture.
///
/// # Limits
/// For L/D going to zero; at L/D = ¼ it is 2 to 30 % off, the more the higher the eccentricity.
/// # Source
/// F. W. Ocvirk, NACA TN 2808 (1952): S (L/D)² = (1 − ε²)² / (π ε √(π² (1 − ε²) + 16 ε²)).
pub fn short_sommerfeld(length_over_diameter: f64, eccentricity: f64) -> f64 {
    let (e2, b2) = (eccentricity * eccentricity, length_over_diameter * length_over_diameter);
    (1.0 - e2).powi(2) / (PI * eccentricity * (PI * PI * (1.0 - e2) + 16.0 * e2).sqrt()) / b2
}

/// Attitude of the short bearing, in degrees: tan φ = π √(1 − ε²) / (4 ε). Source: as [`short_sommerfeld`].
pub fn short_attitude_deg(eccentricity: f64) -> f64 {
    (PI * (1.0 - eccentricity * eccentricity).sqrt()).atan2(4.0 * eccentricity).to_degrees()
}

/// Sommerfeld number of the endless bearing with half Sommerfeld rupture.
///
/// # Source
/// A. Sommerfeld, *Z. Math. Phys.* 50 (1904) 97–155, the half film:
/// S = (2 + ε²)(1 − ε²) / (6 π ε √(π² − ε² (π² − 4))).
pub fn long_sommerfeld(eccentricity: f64) -> f64 {
    let e2 = eccentricity * eccentricity;
    (2.0 + e2) * (1.0 - e2) / (6.0 * PI * eccentricity * (PI * PI - e2 * (PI * PI - 4.0)).sqrt())
}

/// Attitude of the endless bearing, in degrees: tan φ = π √(1 − ε²) / (2 ε). Source: as [`long_sommerfeld`].
pub fn long_attitude_deg(eccentricity: f64) -> f64 {
    (PI * (1.0 - eccentricity * eccentricity).sqrt()).atan2(2.0 * eccentricity).to_degrees()
}
