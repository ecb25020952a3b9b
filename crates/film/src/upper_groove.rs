//! How a journal drifts in a shell that is grooved along its upper half alone.
//!
//! What presses back on a journal points against the load, so the film carries on the side to which the load points.

use crate::mobility::{Drift, Map};

/// Where a load begins to be carried by more than the lands, and from where on by the whole width, as cosines of its
/// angle from the groove's middle: 80 and 140 degrees.
const LANDS_ONLY: f64 = 0.1736;
const WHOLE_WIDTH: f64 = -0.7660;

/// The drift under a load that points so far (`towards`, a cosine) from the groove's middle, for the whole width.
pub(crate) fn drift(whole: &Map, land: &Map, along: f64, across: f64, towards: f64) -> Drift {
    let share = whole_width_share(towards);
    let lands = || {
        let narrower = width_over_lands(whole, land);
        let drift = land.drift(along, across);
        Drift { along: narrower * drift.along, across: narrower * drift.across }
    };
    if share >= 1.0 {
        whole.drift(along, across)
    } else if share <= 0.0 {
        lands()
    } else {
        between(&lands(), &whole.drift(along, across), share)
    }
}

/// Peak pressure over the mean pressure on the whole width.
pub(crate) fn peak_over_mean(whole: &Map, land: &Map, along: f64, across: f64, towards: f64) -> f64 {
    let share = whole_width_share(towards);
    let lands = width_over_lands(whole, land) * land.peak_over_mean(along, across);
    share * whole.peak_over_mean(along, across) + (1.0 - share) * lands
}

/// How much of what carries is the whole width.
fn whole_width_share(towards: f64) -> f64 {
    let part = ((LANDS_ONLY - towards) / (LANDS_ONLY - WHOLE_WIDTH)).clamp(0.0, 1.0);
    part * part * (3.0 - 2.0 * part)
}

/// The whole width over that of both lands: the mean pressure on them is as much higher.
fn width_over_lands(whole: &Map, land: &Map) -> f64 {
    whole.length_over_diameter() / (2.0 * land.length_over_diameter())
}

/// Between two drifts, as springs side by side: what each would carry at the same drift is weighed, not the drift.
fn between(from: &Drift, to: &Drift, part: f64) -> Drift {
    let inverse = |drift: &Drift| {
        let square = (drift.along * drift.along + drift.across * drift.across).max(f64::MIN_POSITIVE);
        Drift { along: drift.along / square, across: drift.across / square }
    };
    let (from, to) = (inverse(from), inverse(to));
    inverse(&Drift {
        along: (1.0 - part) * from.along + part * to.along,
        across: (1.0 - part) * from.across + part * to.across,
    })
}
