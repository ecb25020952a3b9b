//! What is left to come off a journal on the machine.

use gauge::conformity::{Limits, Outcome, Rule};

use crate::stage::StageSize;

/// Where a size stands against the window of a stage of the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stands {
    /// Above the window: metal is still to come off.
    Above,
    /// In the window, both ends included.
    Inside,
    /// Under the window: too much has come off for this stage.
    Under,
}

/// What a reading taken while grinding says of one stage. Millimetres on the diameter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Left {
    /// The size found less the size to aim for; negative where it is past it.
    pub to_target_mm: f64,
    /// Where the size found stands.
    pub stands: Stands,
    /// How far the size found is beyond the window: over it or under it, never negative.
    pub beyond_mm: f64,
    /// Whether the micrometer can tell, by the shop's rule, that it stands there and not elsewhere.
    pub settled: bool,
}

/// What is left to come off to a stage's size, for a size found with its standard uncertainty, corrected for the
/// micrometer's zero.
///
/// Where nothing is left of the window, the size to aim for is all there is of it.
///
/// # Units
/// Millimetres on the diameter.
/// # Limits
/// One spot of one journal. The doubt is the micrometer's own; heat from the wheel, grit and coolant are not in it, and
/// a warm journal reads large: about 0.0002 in (0.006 mm) on 2 in for every 10 °C.
/// # Source
/// The rule is that of [`gauge::conformity`]. Expansion: [`gauge::STEEL_PER_K`].
/// # Example
/// ```
/// use crank::Band;
/// use gauge::conformity::Rule;
/// use regrind::{Stage, StageSize, Stands, left_to_come_off};
/// let window = Band { low_mm: 47.60, high_mm: 47.62 };
/// let aim = StageSize { stage: Stage::Grind, target_mm: 47.61, window, finishes: None, graduation_mm: None };
/// let left = left_to_come_off(47.65, 0.002, &aim, Rule::USUAL);
/// assert!((left.to_target_mm - 0.04).abs() < 1e-9 && (left.beyond_mm - 0.03).abs() < 1e-9);
/// assert_eq!((left.stands, left.settled), (Stands::Above, true));
/// ```
pub fn left_to_come_off(size_mm: f64, standard_uncertainty_mm: f64, aim: &StageSize, rule: Rule) -> Left {
    let window = aim.window;
    let (low_mm, high_mm) =
        if aim.is_lost() { (aim.target_mm, aim.target_mm) } else { (window.low_mm, window.high_mm) };
    // A computed end may be off by the last bit; a reading exactly on it is inside.
    const SAME_MM: f64 = 1e-7;
    let (stands, beyond_mm, limits) = if size_mm > high_mm + SAME_MM {
        (Stands::Above, size_mm - high_mm, Limits::from(high_mm))
    } else if size_mm < low_mm - SAME_MM {
        (Stands::Under, low_mm - size_mm, Limits::up_to(low_mm))
    } else {
        (Stands::Inside, 0.0, Limits::between(low_mm, high_mm))
    };
    let settled = rule.judge(size_mm, standard_uncertainty_mm, limits) == Outcome::Within;
    Left { to_target_mm: size_mm - aim.target_mm, stands, beyond_mm, settled }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stage::Stage;
    use crank::Band;

    const IN: f64 = 25.4;

    fn grind() -> StageSize {
        // The window of a paper of an earlier version: 1.8544 to 1.8545 in.
        let window = Band { low_mm: 1.8544 * IN, high_mm: 1.8545 * IN };
        StageSize { stage: Stage::Grind, target_mm: 1.85445 * IN, window, finishes: None, graduation_mm: None }
    }

    /// By hand: 1.8586 less 1.85445 is 0.00415 in, and 1.8541 is 0.0003 under 1.8544.
    #[test]
    fn what_is_left_is_the_size_less_the_aim() {
        let left = |inches: f64, doubt_in: f64| left_to_come_off(inches * IN, doubt_in * IN, &grind(), Rule::USUAL);
        let above = left(1.8586, 0.00007);
        assert_eq!((above.stands, above.settled), (Stands::Above, true));
        assert!((above.to_target_mm / IN - 0.00415).abs() < 1e-9, "{}", above.to_target_mm / IN);
        let under = left(1.8541, 0.00007);
        assert_eq!((under.stands, under.settled), (Stands::Under, true));
        assert!((under.beyond_mm / IN - 0.0003).abs() < 1e-9, "{}", under.beyond_mm / IN);
        // Both ends belong to the window; without any doubt that is settled.
        for end in [1.8544, 1.8545] {
            let inside = left(end, 0.0);
            assert_eq!((inside.stands, inside.settled, inside.beyond_mm), (Stands::Inside, true, 0.0), "{end}");
        }
    }

    /// The chance of 0.92 at 1.4 standard uncertainties (normal tables: 0.9192) is short of 95 in 100; 0.9772 at two
    /// is not.
    #[test]
    fn a_micrometer_that_cannot_tell_says_so() {
        let over = |uncertainties: f64| {
            let doubt_mm = 0.00007 * IN;
            left_to_come_off(1.8545 * IN + uncertainties * doubt_mm, doubt_mm, &grind(), Rule::USUAL)
        };
        assert_eq!((over(1.4).stands, over(1.4).settled), (Stands::Above, false));
        assert_eq!((over(2.0).stands, over(2.0).settled), (Stands::Above, true));
        // A window of a tenth of a thou is too narrow for this micrometer even in its middle.
        let middle = left_to_come_off(1.85445 * IN, 0.00007 * IN, &grind(), Rule::USUAL);
        assert_eq!((middle.stands, middle.settled), (Stands::Inside, false));
    }

    #[test]
    fn where_no_window_is_left_only_the_aim_counts() {
        let lost = StageSize { window: Band { low_mm: 1.8546 * IN, high_mm: 1.8543 * IN }, ..grind() };
        let stands = |inches: f64| left_to_come_off(inches * IN, 0.0, &lost, Rule::USUAL).stands;
        assert_eq!(stands(1.8545), Stands::Above);
        assert_eq!(stands(1.85445), Stands::Inside);
        assert_eq!(stands(1.8544), Stands::Under);
    }

    #[test]
    fn what_is_no_number_is_never_settled() {
        for (size, doubt) in [(f64::NAN, 0.001), (47.1, f64::NAN)] {
            assert!(!left_to_come_off(size, doubt, &grind(), Rule::USUAL).settled, "{size} {doubt}");
        }
    }
}
