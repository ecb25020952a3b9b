//! The shapes that a worn journal can have: a grid of levels, oval parts, directions and sharpnesses.

use crate::Assumed;

/// How deep the most worn side may be: this many steps, each twice the one before.
pub(super) const LEVELS: usize = 8;
/// The shallowest of them, on the diameter: 0.00015 in.
const FIRST_LEVEL_MM: f64 = 0.000_15 * 25.4;
/// Shares of the oval part.
pub(super) const OVALS: usize = 5;
pub(super) const OVAL: [f64; OVALS] = [0.06, 0.20, 0.45, 0.70, 0.92];
/// How far the oval part spreads about each of them, as a share of the loss.
pub(super) const OVAL_SPREAD: [f64; OVALS] = [0.04, 0.07, 0.11, 0.11, 0.09];
/// Directions of an oval, every 15 degrees of half a turn.
pub(super) const DIRECTIONS: usize = 12;
/// Wide (a cosine) and narrow (its third power).
pub(super) const SHARPNESSES: usize = 2;
const POWER: [i32; SHARPNESSES] = [1, 3];
/// First harmonic of one side of such an oval: of max(0, cos x) and of max(0, cos x)³.
pub(super) const FIRST_HARMONIC: [f64; SHARPNESSES] = [0.5, 0.375];
/// Directions at which the surface is looked at, every 15 degrees of a whole turn.
pub(super) const TURN: usize = 24;
pub(super) const STEP_DEG: f64 = 15.0;
/// The unknowns of a shape: even loss E, oval loss S, taper b, barrel q, taper of the oval c.
pub(super) const UNKNOWNS: usize = 5;
/// All shapes of the grid.
pub(super) const CELLS: usize = LEVELS * OVALS * DIRECTIONS * SHARPNESSES;

/// Scatter of a reading about a shape of the grid: 0.00005 in, and this share of the oval part.
const RAGGED_MM: f64 = 0.000_05 * 25.4;
const RAGGED_SHARE: f64 = 0.05;
/// Spread of the even part as a share of the loss; the size it was ground to lies anywhere within its limits on top.
const EVEN_SPREAD: f64 = 0.12;

/// One shape of the grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Shape {
    pub(super) level: usize,
    pub(super) oval: usize,
    pub(super) direction: usize,
    pub(super) sharpness: usize,
}

impl Shape {
    /// The shapes by direction, then sharpness, level and oval part: those of one direction lie side by side.
    pub(super) fn all() -> impl Iterator<Item = Shape> {
        (0..CELLS).map(|n| Shape {
            direction: n / (SHARPNESSES * LEVELS * OVALS),
            sharpness: n / (LEVELS * OVALS) % SHARPNESSES,
            level: n / OVALS % LEVELS,
            oval: n % OVALS,
        })
    }
}

/// What the most worn side has lost at a level, on the diameter.
pub(super) fn level_mm(level: usize) -> f64 {
    FIRST_LEVEL_MM * f64::from(1 << level)
}

/// How much of the oval part a two-point size across `angle_deg` shows: |cos|^k of the angle from the oval's direction.
pub(super) fn across(angle_deg: f64, direction: usize, sharpness: usize) -> f64 {
    (angle_deg - STEP_DEG * direction as f64).to_radians().cos().abs().powi(POWER[sharpness])
}

/// How much of one side's wear lies at each direction from it: max(0, cos x)^k.
pub(super) fn one_side(sharpness: usize) -> [f64; TURN] {
    std::array::from_fn(|n| (STEP_DEG * n as f64).to_radians().cos().max(0.0).powi(POWER[sharpness]))
}

/// Means and variances of the unknowns before anything was read, in a cell.
pub(super) struct Before {
    pub(super) mean_mm: [f64; UNKNOWNS],
    pub(super) variance_mm2: [f64; UNKNOWNS],
    /// Variance of a reading about the shape.
    pub(super) ragged_mm2: f64,
}

/// The prior of the unknowns for a loss of `level_mm` with the share `oval` of it oval; `even_extra_mm` is the spread of
/// the size it was ground to.
pub(super) fn before(assumed: &Assumed, level_mm: f64, oval: f64, oval_spread: f64, even_extra_mm: f64) -> Before {
    let spreads = [
        (EVEN_SPREAD * level_mm).hypot(even_extra_mm),
        oval_spread * level_mm,
        assumed.taper * level_mm,
        assumed.barrel * level_mm,
        assumed.oval_taper * oval * level_mm,
    ];
    Before {
        mean_mm: [(1.0 - oval) * level_mm, oval * level_mm, 0.0, 0.0, 0.0],
        variance_mm2: spreads.map(|spread| spread * spread),
        ragged_mm2: ragged_mm2(oval, level_mm),
    }
}

/// Variance of a diameter about the shape, for a loss of `level_mm` with the share `oval` of it oval.
pub(super) fn ragged_mm2(oval: f64, level_mm: f64) -> f64 {
    (RAGGED_MM + RAGGED_SHARE * oval * level_mm).powi(2)
}

/// Weights of the directions about one of them: a share near it, the rest anywhere.
pub(super) fn about(direction: usize, share: f64, spread_deg: f64) -> [f64; DIRECTIONS] {
    let near: [f64; DIRECTIONS] = std::array::from_fn(|n| {
        let apart = (n as f64 - direction as f64).abs();
        let apart_deg = STEP_DEG * apart.min(DIRECTIONS as f64 - apart);
        (-0.5 * (apart_deg / spread_deg).powi(2)).exp()
    });
    let sum: f64 = near.iter().sum();
    near.map(|weight| share * weight / sum + (1.0 - share) / DIRECTIONS as f64)
}
