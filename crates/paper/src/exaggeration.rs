//! How many times too large small departures are drawn, so that an eye can see them.

/// The largest of 1, 2, 5, 10, 20, 50 … at which a length becomes no longer than there is room for; never below one.
///
/// Both lengths in the same unit. A length that is no number, or not above zero, is left at one.
pub(crate) fn exaggeration(largest: f64, room: f64) -> f64 {
    const MOST: f64 = 1e5;
    let wanted = room / largest;
    if !wanted.is_finite() || largest <= 0.0 || wanted < 2.0 {
        return 1.0;
    }
    let mut step = 1.0;
    for next in [2.0, 2.5, 2.0].into_iter().cycle() {
        if step * next > wanted || step >= MOST {
            break;
        }
        step *= next;
    }
    step
}

/// `drawn 50 times too large`, `drawn in true size`.
pub(crate) fn exaggerated_words(factor: f64) -> String {
    if factor > 1.0 { format!("drawn {factor:.0} times too large") } else { "drawn in true size".to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_factor_is_round_and_fits() {
        for (largest, room, factor) in [
            (1.0, 7.0, 5.0),
            (1.0, 10.0, 10.0),
            (0.01, 3.0, 200.0),
            (5.0, 3.0, 1.0),
            (0.0, 3.0, 1.0),
            (f64::NAN, 3.0, 1.0),
        ] {
            assert_eq!(exaggeration(largest, room), factor, "{largest} in {room}");
        }
        assert_eq!(exaggeration(1e-300, 3.0), 1e5);
    }
}
