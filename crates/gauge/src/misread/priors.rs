//! What is taken as known before a reading is looked at: how journals wear, and how often and how people misread.
//!
//! The rates of misreading follow the published rates for keyed numbers, 0.55 to 3.6 in 100 (reviewed in "Comparing
//! the accuracy and speed of four data-checking methods", Behavior Research Methods, 2019), most of them one turn of
//! the thimble. The shapes of wear are the trade's experience (common practice, no source): a few hundredths of a
//! millimetre as a rule, up to 0.2 mm (0.008 in) on a bad journal, almost always towards smaller. Turns of a thimble
//! are two to three times that, so that the findings hardly depend on the exact figures.

/// Chance that a reading is one turn off, to either side: 4 in 1,000 each.
pub const ONE_TURN: f64 = 0.004;
/// Chance that a reading is two, three or four turns off, to either side and for each number of turns.
pub const MORE_TURNS: f64 = 0.000_7;
/// Most turns looked for.
pub const MOST_TURNS: i32 = 4;
/// Chance that a reading is wrong in a way that is no whole number of turns.
pub const OTHERWISE_WRONG: f64 = 0.002;
/// Such a reading may lie anywhere within this many millimetres.
pub const OTHERWISE_WIDTH_MM: f64 = 4.0;
/// Chance that a whole journal was read a turn off, to either side; for more turns a fifth of it.
pub const JOURNAL_TURN: f64 = 0.002;
/// No honest journal's readings spread wider than this about their level (standard deviation, one place in ten left aside).
pub const WIDEST_SPREAD_MM: f64 = 0.075;
/// Readings of one journal further apart than this are beyond any wear: 0.27 mm, nearly 0.011 in.
pub const WIDEST_RANGE_MM: f64 = 0.27;
/// A reading above new by more than this is flagged whatever the spread of the others: 0.025 mm, 0.001 in.
pub const ABOVE_NEW_MM: f64 = 0.025;

/// Chance that a reading is a slip smaller than a turn: a digit misread or mistyped, a bad contact; 1 in 100, within the
/// published rates for keyed numbers.
pub const SLIP: f64 = 0.01;
/// Chance that one pair of neighbouring digits is changed over: 2 in 1,000 readings, among three pairs that matter.
pub const DIGITS_SWAPPED: f64 = 0.000_7;
/// Such slips grow rarer with their size, by this scale: 0.2 mm (0.008 in).
pub const SLIP_WIDTH_MM: f64 = 0.2;
/// Smaller ones are not looked for: 0.02 mm (0.0008 in) changes hardly a decision.
pub const LEAST_SLIP_MM: f64 = 0.02;
/// Share of places that have worn by themselves before the set is looked at, and how many readings that is worth.
pub const WORN_ALONE: (f64, f64) = (0.001, 10.0);
/// Chance that two readings of a set changed places, or that a row of one was shifted.
pub const CHANGED_OVER: f64 = 0.002;

/// Chance times density per millimetre of a slip this far from the honest size, to either side.
pub(super) fn slip(off_mm: f64) -> f64 {
    SLIP * 0.5 * (-off_mm / SLIP_WIDTH_MM).exp() / SLIP_WIDTH_MM
}

/// Density per millimetre of a place that has worn by itself, `d` from what the rest of its journal leads one to expect: as in
/// [`form`], to 0.2 mm deep.
pub(super) fn worn_place(d: f64) -> f64 {
    below(d, 0.09)
}

/// Density per millimetre of an honest reading `d` from its journal's level, `spread` being the set's usual spread.
///
/// Most places are near the level; one in ten lies in wear that reaches 0.2 mm deep; one in twenty-five is a place
/// that escaped the wear of the rest.
pub(super) fn form(d: f64, spread: f64) -> f64 {
    0.86 * normal(d, spread) + 0.10 * below(d, 0.09) + 0.04 * below(-d, 0.06)
}

/// Density per millimetre of a journal's level `d` from its set's.
///
/// A ruined journal may be 0.3 mm (0.012 in) and more below the rest; one above the rest is rarer, since none grows.
pub(super) fn journal(d: f64) -> f64 {
    0.50 * normal(d, 0.02) + 0.25 * normal(d, 0.05) + 0.20 * below(d, 0.17) + 0.04 * below(-d, 0.10) + 0.01 / 5.0
}

/// Density per millimetre of a journal's level `d` from its set's when the whole journal was read `turns` off.
pub(super) fn journal_turned(d: f64, turn: f64, turns: i32) -> f64 {
    let rate = if turns.abs() == 1 { JOURNAL_TURN } else { JOURNAL_TURN / 5.0 };
    let d = d - f64::from(turns) * turn;
    rate * (0.55 * normal(d, 0.02) + 0.30 * normal(d, 0.05) + 0.15 * below(d, 0.17))
}

/// Density per millimetre of a set's level: near standard (4 in 10) or an undersize on the list (5 in 10 together) or
/// worn below it, or anywhere.
pub(super) fn set(level: f64, new_mm: (f64, f64), ladder_mm: &[f64]) -> f64 {
    let anywhere = 0.10 / 5.0;
    let middle = 0.5 * (new_mm.0 + new_mm.1);
    let half_band = 0.5 * (new_mm.1 - new_mm.0).abs();
    if !middle.is_finite() || !half_band.is_finite() {
        return anywhere;
    }
    let undersizes: Vec<f64> = ladder_mm.iter().copied().filter(|u| u.is_finite() && u.abs() > 1e-6).collect();
    let each = 0.50 / undersizes.len().max(1) as f64;
    let at = |undersize: f64, weight: f64| {
        let d = level - (middle - undersize);
        weight * (0.5 * normal(d, 0.01 + half_band) + 0.5 * below(d, 0.12))
    };
    anywhere + at(0.0, 0.40) + undersizes.into_iter().map(|u| at(u, each)).sum::<f64>()
}

/// Chance of being `turns` off for one reading.
pub(super) fn turned(turns: i32) -> f64 {
    match turns.abs() {
        0 => 1.0 - 2.0 * (ONE_TURN + 3.0 * MORE_TURNS) - OTHERWISE_WRONG,
        1 => ONE_TURN,
        t if t <= MOST_TURNS => MORE_TURNS,
        _ => 0.0,
    }
}

fn normal(d: f64, sd: f64) -> f64 {
    let z = d / sd;
    (-0.5 * z * z).exp() / (sd * 2.506_628_274_631_000_5)
}

/// Half a normal, below zero only.
fn below(d: f64, sd: f64) -> f64 {
    if d <= 0.0 { 2.0 * normal(d, sd) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The area under a density from -9 to 9 mm, by trapezoids of a micron; what jumps at nought is halved there.
    fn area(density: impl Fn(f64) -> f64) -> f64 {
        const STEP: f64 = 0.001;
        (-9000..9000).map(|n| f64::from(n) * STEP).map(|d| 0.5 * STEP * (density(d) + density(d + STEP))).sum()
    }

    /// Whatever a reading is, it is one of these: the chances of no turn, of turns either way and of an error otherwise are
    /// one together.
    #[test]
    fn the_chances_of_a_reading_add_up_to_one() {
        let turns: f64 = (-MOST_TURNS..=MOST_TURNS).map(turned).sum();
        assert!((turns + OTHERWISE_WRONG - 1.0).abs() < 1e-12, "{turns}");
        // By hand: 1 less twice (0.004 and three times 0.0007), less 0.002.
        assert!((turned(0) - 0.9858).abs() < 1e-12, "{}", turned(0));
        assert_eq!((turned(1), turned(-4), turned(5)), (0.004, 0.0007, 0.0));
    }

    /// A density has an area of one, but for its share of *anywhere*, 0.01 over 5 mm, which the level of a journal may be.
    #[test]
    fn densities_have_an_area_of_one() {
        // Half a normal is twice as high on its one side.
        assert!((area(|d| below(d, 0.09)) - 1.0).abs() < 0.01, "{}", area(|d| below(d, 0.09)));
        assert!((below(-0.09, 0.09) - 2.0 * normal(0.09, 0.09)).abs() < 1e-12);
        assert_eq!(below(0.01, 0.09), 0.0);
        assert!((area(|d| form(d, 0.02)) - 1.0).abs() < 0.01, "{}", area(|d| form(d, 0.02)));
        let level = area(|d| journal(d) - 0.01 / 5.0);
        assert!((level - 0.99).abs() < 0.01, "{level}");
        // A slip lies to either side, and is one in a hundred altogether.
        let slips = area(|d| slip(d.abs()));
        assert!((slips / SLIP - 1.0).abs() < 0.01, "{slips}");
    }

    /// Normal by any table: 0.3989 over its standard deviation at the middle, 0.6065 of that at one, 0.1353 at two.
    #[test]
    fn a_normal_is_that_of_the_tables() {
        assert!((normal(0.0, 2.0) - 0.199_47).abs() < 1e-5);
        assert!((normal(2.0, 2.0) / normal(0.0, 2.0) - 0.606_53).abs() < 1e-5);
        assert!((normal(-4.0, 2.0) / normal(0.0, 2.0) - 0.135_34).abs() < 1e-5);
    }

    /// Pins of 63.98 to 64.00 with steps of 0.25 and 0.50 stand about 63.99, 63.74 and 63.49, standard oftenest: 0.4 beside
    /// 0.25 for each step. A journal stands no higher than half the band and what it scatters allow.
    #[test]
    fn a_set_stands_at_its_steps() {
        let density = |mm: f64| set(mm, (63.98, 64.00), &[0.0, 0.25, 0.50]) - 0.02;
        assert!((density(63.99) / density(63.74) - 1.6).abs() < 0.1, "{}", density(63.99) / density(63.74));
        assert!((density(63.74) / density(63.49) - 1.0).abs() < 0.1);
        assert!(density(64.24) < 1e-6, "no step is an oversize");
        // Half of what stands at standard is normal about 63.99 by 0.01 and half the band, 0.02; one such above, 0.6065 of it.
        let normal_part = |mm: f64| density(mm);
        assert!((normal_part(64.01) / (0.4 * 0.5 * 0.398_94 / 0.02) - 0.6065).abs() < 0.01);
    }

    /// A journal that was read a turn off, whichever way, is five times as likely as one that is two turns off.
    #[test]
    fn more_turns_are_rarer_than_one() {
        let at = |turns: i32| journal_turned(f64::from(turns) * 0.5, 0.5, turns);
        assert!((at(1) / at(2) - 5.0).abs() < 1e-9 && (at(-1) / at(1) - 1.0).abs() < 1e-9);
    }
}
