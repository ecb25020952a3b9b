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

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: from 0.1736 to -0.7660 the whole width takes over from the lands, in an even curve: nothing of it at one end, all
    /// at the other, half in the middle, and 3/16 less 2/64 = 5/32 after a quarter.
    #[test]
    fn the_whole_width_takes_over_in_an_even_curve() {
        for (towards, share) in [
            (1.0, 0.0),
            (0.1736, 0.0),
            (-0.0613, 0.156_25),
            (-0.2962, 0.5),
            (-0.5311, 0.843_75),
            (-0.766, 1.0),
            (-1.0, 1.0),
        ] {
            assert!((whole_width_share(towards) - share).abs() < 1e-12, "{towards}: {}", whole_width_share(towards));
        }
    }

    /// Two lands of 0.2 carry together what a width of 0.5 does: each peak stands on four fifths of the width, so it is a
    /// quarter more over the mean of the whole. Half-way the two laws count alike.
    #[test]
    fn a_peak_is_that_of_the_lands_or_of_the_whole() {
        let (whole, land) = (Map::new(0.5).unwrap(), Map::new(0.2).unwrap());
        let (along, across) = (0.6, 0.2);
        let (of_whole, of_land) = (whole.peak_over_mean(along, across), land.peak_over_mean(along, across));
        let peak = |towards: f64| peak_over_mean(&whole, &land, along, across, towards);
        for (towards, wanted) in [(-1.0, of_whole), (1.0, 1.25 * of_land), (-0.2962, 0.5 * of_whole + 0.625 * of_land)]
        {
            assert!((peak(towards) / wanted - 1.0).abs() < 1e-9, "{towards}: {} not {wanted}", peak(towards));
        }
    }
}
