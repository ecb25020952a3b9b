//! What the wear of the mains, compared along the crank, reminds a grinder of.

use std::fmt;

/// How much one main has lost.
#[derive(Clone, Debug, PartialEq)]
pub struct MainWear {
    /// What it is called.
    pub name: String,
    /// Wear on the diameter.
    pub wear_mm: f64,
    /// Total indicator reading, where it was measured.
    pub run_out_mm: Option<f64>,
}

/// How the wear lies along the crank.
#[derive(Clone, Debug, PartialEq)]
pub enum WearPattern {
    /// Too few mains are measured to compare.
    TooFew,
    /// No main stands out.
    Alike,
    /// The mains between the outer ones lost more.
    Middle {
        /// The one that lost most.
        most: String,
        /// Whether the run-out is largest between the outer mains too.
        run_out_too: bool,
    },
    /// The first main lost more than the others.
    Nose {
        /// What it is called.
        most: String,
    },
    /// The last main lost more than the others.
    Flywheel {
        /// What it is called.
        most: String,
    },
    /// One main between the others lost more than all of them.
    One {
        /// What it is called.
        most: String,
    },
}

/// One main stands out where it lost half as much again as the others on average.
const STANDS_OUT: f64 = 1.5;

/// Differences of wear smaller than this are no pattern: two readings with a workshop micrometer differ by as much.
const SEEN_MM: f64 = 0.005;

/// How the wear of the mains lies along the crank, from the nose.
///
/// # Units
/// Millimetres on the diameter.
/// # Limits
/// A hint for whoever looks for the cause, never a diagnosis: dirt, oil and a replaced shell wear a main as well. Wear that
/// is no number counts as not measured.
/// # Source
/// Common practice, no source: a shaft that is bent, or bores that are out of line, load the middle; a tight belt loads the
/// nose, a gearbox out of line the flywheel end.
/// # Example
/// ```
/// use crank::{MainWear, WearPattern, wear_pattern};
/// let main = |(n, wear_mm): (usize, f64)| MainWear { name: format!("main {}", n + 1), wear_mm, run_out_mm: None };
/// let mains: Vec<MainWear> = [0.05, 0.02, 0.02, 0.02, 0.02].into_iter().enumerate().map(main).collect();
/// assert_eq!(wear_pattern(&mains), WearPattern::Nose { most: "main 1".into() });
/// ```
pub fn wear_pattern(mains: &[MainWear]) -> WearPattern {
    let known: Vec<&MainWear> = mains.iter().filter(|main| main.wear_mm.is_finite()).collect();
    let [first, inner @ .., last] = known.as_slice() else { return WearPattern::TooFew };
    if inner.is_empty() {
        return WearPattern::TooFew;
    }
    let mean = |of: &[&MainWear]| of.iter().map(|main| main.wear_mm).sum::<f64>() / of.len().max(1) as f64;
    let most = known.iter().copied().max_by(|a, b| a.wear_mm.total_cmp(&b.wear_mm));
    let Some(most) = most else { return WearPattern::TooFew };
    let stands_out = |high: f64, low: f64| high - low >= SEEN_MM && high >= STANDS_OUT * low;
    let others: Vec<&MainWear> = known.iter().copied().filter(|main| !std::ptr::eq(*main, most)).collect();
    let name = || most.name.clone();
    if std::ptr::eq(most, *first) && stands_out(most.wear_mm, mean(&others)) {
        return WearPattern::Nose { most: name() };
    }
    if std::ptr::eq(most, *last) && stands_out(most.wear_mm, mean(&others)) {
        return WearPattern::Flywheel { most: name() };
    }
    let of_run_out = |mains: &[&MainWear]| mains.iter().filter_map(|main| main.run_out_mm).fold(0.0, f64::max);
    let run_out_too = of_run_out(inner) > of_run_out(&[*first, *last]);
    // One among several between the ends is no middle; where the run-out is largest there, it is.
    let neighbours: Vec<&MainWear> = inner.iter().copied().filter(|main| !std::ptr::eq(*main, most)).collect();
    let alone = !neighbours.is_empty() && stands_out(most.wear_mm, mean(&neighbours)) && !run_out_too;
    if stands_out(mean(inner), mean(&[*first, *last])) && !alone {
        return WearPattern::Middle { most: name(), run_out_too };
    }
    if stands_out(most.wear_mm, mean(&others)) {
        return WearPattern::One { most: name() };
    }
    WearPattern::Alike
}

impl fmt::Display for WearPattern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const HINT: &str = "A hint, not a diagnosis.";
        match self {
            WearPattern::TooFew => f.write_str("Fewer than three mains are measured: no pattern can be seen."),
            WearPattern::Alike => f.write_str("The mains are worn much alike; none stands out."),
            WearPattern::Middle { most, run_out_too } => {
                let too = if *run_out_too { "; the run-out is largest there too" } else { "" };
                write!(
                    f,
                    "The mains between the ends are worn most, {most} above all{too}. A bent shaft or bores out of line wear \
                     so: check run-out and housings. {HINT}"
                )
            }
            WearPattern::Nose { most } => {
                write!(f, "{most}, at the nose, is worn most. A tight belt or a heavy drive there wears so. {HINT}")
            }
            WearPattern::Flywheel { most } => write!(
                f,
                "{most}, at the flywheel end, is worn most. Load or misalignment at that end wears so: check the gearbox \
                 or coupling. {HINT}"
            ),
            WearPattern::One { most } => write!(
                f,
                "{most} stands out from its neighbours. Look for what it lacked: oil, clearance, clean oil ways. {HINT}"
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mains(wear_um: &[f64], run_out_um: &[f64]) -> Vec<MainWear> {
        let main = |(n, wear): (usize, &f64)| MainWear {
            name: format!("Main {}", n + 1),
            wear_mm: wear / 1000.0,
            run_out_mm: run_out_um.get(n).map(|um| um / 1000.0),
        };
        wear_um.iter().enumerate().map(main).collect()
    }

    #[test]
    fn the_pattern_is_read_from_the_nose() {
        let most = |n: usize| format!("Main {n}");
        let cases: [(&[f64], &[f64], WearPattern); 13] = [
            (&[30.0, 30.0], &[], WearPattern::TooFew),
            (&[20.0, 22.0, 21.0, 19.0, 20.0], &[], WearPattern::Alike),
            // Twice as much, yet no more than two readings differ by.
            (&[2.0, 4.0, 2.0], &[], WearPattern::Alike),
            // Twice the 4 of the ends and more than a reading, but 4 apart: not seen. 12 and 5 are 7 apart and are.
            (&[4.0, 8.0, 4.0], &[], WearPattern::Alike),
            (&[5.0, 12.0, 5.0], &[], WearPattern::Middle { most: most(2), run_out_too: false }),
            // 30 is five thirds of 18, which is more than half as much again; 26 is not.
            (&[18.0, 30.0, 18.0], &[], WearPattern::Middle { most: most(2), run_out_too: false }),
            (&[18.0, 26.0, 18.0], &[], WearPattern::Alike),
            (&[10.0, 30.0, 40.0, 30.0, 12.0], &[], WearPattern::Middle { most: most(3), run_out_too: false }),
            (
                &[10.0, 18.0, 45.0, 18.0, 12.0],
                &[0.0, 20.0, 60.0, 20.0, 0.0],
                WearPattern::Middle { most: most(3), run_out_too: true },
            ),
            (&[10.0, 40.0, 10.0], &[], WearPattern::Middle { most: most(2), run_out_too: false }),
            (&[45.0, 20.0, 15.0, 14.0, 15.0], &[], WearPattern::Nose { most: most(1) }),
            (&[14.0, 15.0, 15.0, 20.0, 45.0], &[], WearPattern::Flywheel { most: most(5) }),
            (&[14.0, 60.0, 15.0, 14.0, 15.0], &[], WearPattern::One { most: most(2) }),
        ];
        for (wear, run_out, expected) in cases {
            assert_eq!(wear_pattern(&mains(wear, run_out)), expected, "{wear:?}");
        }
        let mut unknown = mains(&[10.0, 30.0, 40.0], &[]);
        unknown.iter_mut().for_each(|main| main.wear_mm = f64::NAN);
        assert_eq!(wear_pattern(&unknown), WearPattern::TooFew);
    }

    #[test]
    fn every_cause_is_called_a_hint() {
        for wear in [[45.0, 10.0, 10.0], [10.0, 45.0, 10.0], [10.0, 10.0, 45.0]] {
            let says = wear_pattern(&mains(&wear, &[])).to_string();
            assert!(says.ends_with("A hint, not a diagnosis."), "{says}");
        }
    }
}
