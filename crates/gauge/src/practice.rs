//! Readings to practise on: a round of ten, the same again for the same number.
//!
//! Four in ten stand near the thimble's nought, where most turns are misread; the others go through what else is misread:
//! the vernier passing nought, half-millimetre lines, digits without a pattern.

use units::Length;

use crate::scale::{Frame, Scale, Setting};

/// Questions of a round.
pub const ROUND: usize = 10;
/// Questions near the thimble's nought in a usual round.
pub const USUAL_NEAR_NOUGHT: usize = 4;

/// One reading to practise on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Question {
    /// The micrometer.
    pub frame: Frame,
    /// What it shows.
    pub size: Length,
    /// How far the next line of the sleeve shows before it counts, in thirds of the most: 0 to 3.
    pub peep_thirds: u32,
    /// Whether it stands near the thimble's nought.
    pub near_nought: bool,
}

/// A round: ten readings of a scale, `near_nought` of them (ten at most) near the thimble's nought.
///
/// # Example
/// ```
/// use gauge::practice::{round, USUAL_NEAR_NOUGHT};
/// use gauge::scale::Scale;
/// let ten = round(Scale::Tenth, 7, USUAL_NEAR_NOUGHT);
/// assert_eq!(ten.iter().filter(|question| question.near_nought).count(), 4);
/// assert_eq!(ten, round(Scale::Tenth, 7, USUAL_NEAR_NOUGHT));
/// ```
pub fn round(scale: Scale, seed: u64, near_nought: usize) -> Vec<Question> {
    let mut chance = Chance(seed);
    // In which order the ten come: each index is put somewhere among those before it.
    let mut order: Vec<usize> = Vec::new();
    for index in 0..ROUND {
        let at = chance.below(u32::try_from(index).unwrap_or(0) + 1);
        order.insert(at as usize, index);
    }
    order.into_iter().map(|index| question(scale, &mut chance, index, near_nought.min(ROUND))).collect()
}

fn question(scale: Scale, chance: &mut Chance, index: usize, near: usize) -> Question {
    let divisions = scale.divisions();
    let near_nought = index < near;
    let top = divisions / 5;
    let (mut lines, mut vernier) = (chance.below(scale.most_lines() + 1), chance.below(10));
    let thimble = match (near_nought, index % 4) {
        // Three in four near nought stand under it, with a line coming; one just past it.
        (true, 0) => chance.below(2),
        (true, _) => divisions - 1 - chance.below(top / 2 + 1),
        (false, 0) => {
            // The vernier passes nought.
            vernier = if chance.below(2) == 0 { 9 } else { 0 };
            3 + chance.below(divisions - top - 4)
        }
        (false, 1) => {
            // The half line, or the third of four.
            lines = scale.most_lines();
            3 + chance.below(divisions - top - 4)
        }
        (false, _) => {
            // Between two numbers, where it matters from which one is counted.
            vernier = 1 + 2 * chance.below(4);
            let five = chance.below((divisions - top) / 5 - 1) + 1;
            5 * five + 1 + chance.below(4)
        }
    };
    let setting = Setting {
        sleeve: 1 + chance.below(scale.most_sleeve() - 2),
        lines,
        thimble,
        vernier: scale.has_vernier().then_some(vernier),
    };
    let inches_or_steps = 1 + i64::from(chance.below(2));
    let lower = Length::from_nm(scale.travel().nm() * inches_or_steps);
    // Neither can fail: the limits are whole steps, and the setting lies inside the travel.
    let frame = Frame::new(scale, lower, lower + scale.travel()).unwrap_or(Frame::usual(scale, scale.travel()));
    let size = frame.size(setting).unwrap_or(lower);
    Question { frame, size, peep_thirds: if near_nought { 1 + chance.below(3) } else { chance.below(3) }, near_nought }
}

/// Numbers without a pattern from a seed: SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number
/// generators", OOPSLA 2014; the constants from memory).
struct Chance(u64);

impl Chance {
    fn below(&mut self, most: u32) -> u32 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^= mixed >> 31;
        u32::try_from(mixed % u64::from(most.max(1))).unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn rounds_hold_what_is_misread() {
        for scale in Scale::ALL {
            let (mut places, mut halves, mut wraps, mut sizes) = (BTreeSet::new(), 0, 0, BTreeSet::new());
            for seed in 0..200 {
                let ten = round(scale, seed, USUAL_NEAR_NOUGHT);
                assert_eq!(ten.len(), ROUND);
                let mut near = 0;
                for (place, question) in ten.iter().enumerate() {
                    let shown = question.frame.setting(question.size).unwrap();
                    let by_hand = scale.near_the_top(shown.thimble) || shown.thimble < 2;
                    assert_eq!(question.near_nought, by_hand, "{scale:?} {seed}: {shown:?}");
                    near += usize::from(question.near_nought);
                    if question.near_nought {
                        places.insert(place);
                    }
                    halves += usize::from(shown.lines > 0);
                    wraps += usize::from(matches!(shown.vernier, Some(0 | 9)));
                    sizes.insert(question.size);
                }
                assert_eq!(near, 4, "{scale:?} {seed}");
            }
            assert_eq!(places.len(), ROUND, "near nought at any place of the round");
            assert!(halves > 400 && (wraps > 200 || !scale.has_vernier()), "{scale:?} {halves} {wraps}");
            assert!(sizes.len() > 500, "{scale:?}: {} sizes", sizes.len());
        }
        assert!(round(Scale::Thou, 1, 99).iter().all(|question| question.near_nought));
    }
}
