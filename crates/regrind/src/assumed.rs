//! What is taken for granted about what nobody measured: one table, each figure with where it comes from.

/// A median in inches, as millimetres.
const fn inches(inches: f64) -> f64 {
    inches * 25.4
}

/// The scales of the model of what nobody measured ([`crate::assess`]). They hold until a shop's own record knows better.
///
/// # Units
/// Lengths in millimetres on the diameter unless the name says radius; spreads of a logarithm and shares are bare
/// numbers; directions in degrees.
/// # Limits
/// "Assumed" means that nobody has measured it: the figure is a workshop's guess, tuned on simulated cranks that were worn
/// another way than the model says. `docs/chances.md` tells which of them matter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Assumed {
    /// Median of what the most worn side of a journal has lost, in a set that nobody measured. Assumed.
    pub level_mm: f64,
    /// Spread of its logarithm from one such set to another. Assumed.
    pub level_spread: f64,
    /// Spread of its logarithm between the journals of one set. Assumed; the ovality of the eight crankpins in a published
    /// marine survey spreads by 0.63 (marinesite.info, "What is ovality").
    pub journals_spread: f64,
    /// For how many journals that spread speaks against what the set itself shows. Assumed.
    pub journals_worth: f64,
    /// Shares of the oval part of the loss (0.06, 0.20, 0.45, 0.70, 0.92) on mains. Assumed.
    pub oval_mains: [f64; 5],
    /// The same on pins. Assumed.
    pub oval_pins: [f64; 5],
    /// For how many journals those shares speak. Assumed.
    pub oval_worth: f64,
    /// Taper from the middle to an end station, as a share of the loss. Assumed; the marine survey has 0.05.
    pub taper: f64,
    /// Barrel or waist, as a share of the loss. Assumed; the marine survey has 0.17 of the ovality.
    pub barrel: f64,
    /// Change of the oval part along the journal, as a share of it. Assumed.
    pub oval_taper: f64,
    /// How often an oval is narrow (the third power of a cosine) and not wide (a plain cosine). Assumed.
    pub narrow_share: f64,
    /// How often a pin is worn in line with its own throw. Assumed.
    pub in_line_share: f64,
    /// How closely, then. Assumed.
    pub in_line_spread_deg: f64,
    /// How often a main is worn in the direction that its set has in common. Assumed.
    pub common_share: f64,
    /// How closely, then. Assumed.
    pub common_spread_deg: f64,
    /// The least share of the oval part that the worse side has lost: one half is even. Geometry.
    pub one_sided_from: f64,
    /// The most: one is all on one side. Geometry.
    pub one_sided_to: f64,
    /// How often a journal was last ground to another step than its siblings. Assumed.
    pub other_step: f64,
    /// How much likelier a stamp makes its step. Assumed.
    pub stamp_odds: f64,
    /// Form that two points do not show, on the radius: what every journal may have. Tuned.
    pub hidden_radius_mm: f64,
    /// The same as a share of the oval part. Tuned.
    pub hidden_share: f64,
    /// How often a journal that nobody measured is wrecked, or was ground deeper than its siblings. Assumed.
    pub wrecked_share: f64,
    /// What such a journal has lost on top, on average. Assumed, tuned.
    pub wrecked_mm: f64,
    /// Median of the bow of the mains between the ends, on the radius. Assumed: 0.4 of what the middle of 19 printed run-out
    /// limits allows (0.05 mm on the dial, 0.025 mm off the axis).
    pub bow_radius_mm: f64,
    /// Spread of its logarithm. Assumed.
    pub bow_spread: f64,
    /// How far a main's centre is off the bow, on the radius, in each of two directions. Assumed.
    pub off_bow_radius_mm: f64,
    /// The same where the bow is known from one other main only. Assumed.
    pub off_known_bow_radius_mm: f64,
    /// How far a pin's centre is off its place, on the radius, in each of two directions, where nobody measured it and the
    /// pins are ground to the book's throw. Assumed.
    pub pin_centre_radius_mm: f64,
}

impl Default for Assumed {
    fn default() -> Assumed {
        Assumed {
            level_mm: inches(0.0015),
            level_spread: 0.9,
            journals_spread: 0.45,
            journals_worth: 4.0,
            oval_mains: [0.15, 0.30, 0.30, 0.15, 0.10],
            oval_pins: [0.08, 0.17, 0.30, 0.30, 0.15],
            oval_worth: 2.0,
            taper: 0.15,
            barrel: 0.10,
            oval_taper: 0.12,
            narrow_share: 0.45,
            in_line_share: 0.85,
            in_line_spread_deg: 20.0,
            common_share: 0.85,
            common_spread_deg: 25.0,
            one_sided_from: 0.5,
            one_sided_to: 1.0,
            other_step: 0.03,
            stamp_odds: 20.0,
            hidden_radius_mm: inches(0.00008),
            hidden_share: 0.08,
            wrecked_share: 0.02,
            wrecked_mm: inches(0.008),
            bow_radius_mm: inches(0.0004),
            bow_spread: 0.8,
            off_bow_radius_mm: inches(0.00012),
            off_known_bow_radius_mm: inches(0.00036),
            pin_centre_radius_mm: inches(0.0007),
        }
    }
}
