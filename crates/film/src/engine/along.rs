//! Where mains and throws stand along the crank, and how the load on a throw is shared by its two mains.

use serde::{Deserialize, Serialize};

use crate::problem::{Checks, Problems};

/// Mid-lengths of mains and throws along the crank, each from the nose on, all from one point.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Along {
    /// Middle of each main.
    pub mains_m: Vec<f64>,
    /// Middle of each throw's pin.
    pub throws_m: Vec<f64>,
}

/// How one throw rests on two neighbouring mains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rest {
    /// The first of the two mains, counted from 0.
    pub main: usize,
    /// Share of the load on the second; the first has what is left of one. Below 0 or above 1 for a throw that
    /// overhangs: then one of the two is lifted.
    pub behind: f64,
}

/// Two journals closer than this are in one place.
const APART_M: f64 = 1e-3;
/// Further from nought than this nothing stands on a crank.
const FURTHEST_M: f64 = 50.0;
/// More mains than any crank has.
const MOST_MAINS: usize = 49;

impl Along {
    /// A main before, between and behind all throws, each throw midway between its two.
    pub fn main_by_main(throws: usize) -> Along {
        Along {
            mains_m: (0..=throws).map(|main| main as f64).collect(),
            throws_m: (0..throws).map(|throw| throw as f64 + 0.5).collect(),
        }
    }

    /// Looks the places over, for so many throws.
    pub(super) fn check(&self, throws: usize) -> Result<(), Problems> {
        let mut checks = Checks::new();
        checks
            .that(
                (2..=MOST_MAINS).contains(&self.mains_m.len()),
                "mains_m",
                self.mains_m.len(),
                &format!("2 to {MOST_MAINS} mains"),
                "a throw rests on two mains",
            )
            .that(
                self.throws_m.len() == throws,
                "throws_m",
                format!("{} places", self.throws_m.len()),
                &format!("{throws}, one for each throw"),
                "without its place nobody can say which mains a throw rests on",
            );
        for (name, places) in [("mains_m", &self.mains_m), ("throws_m", &self.throws_m)] {
            for (number, place) in (1..).zip(places) {
                let inside = (-FURTHEST_M..=FURTHEST_M).contains(place);
                let limit = format!("at most {FURTHEST_M} m from nought");
                checks.that(inside, &format!("{name}[{number}]"), metres(*place), &limit, "a crank is not longer");
            }
            for (number, pair) in (2..).zip(places.windows(2)) {
                if let [before, place] = pair {
                    checks.that(
                        *place >= before + APART_M || !(place - before).is_finite(),
                        &format!("{name}[{number}]"),
                        metres(*place),
                        &format!("more than {}, where the one before it stands", metres(*before)),
                        "mains and throws are counted from the nose on",
                    );
                }
            }
        }
        checks.finish()?;
        self.check_rests(&mut checks);
        checks.finish()
    }

    fn check_rests(&self, checks: &mut Checks) {
        let rests = self.rests();
        for (number, (place, rest)) in (1..).zip(self.throws_m.iter().zip(&rests)) {
            let field = format!("throws_m[{number}]");
            let met = (1..).zip(&self.mains_m).find(|(_, main)| (place - **main).abs() < APART_M);
            if let Some((main, at)) = met {
                let limit = format!("a place clear of main {main}, which stands at {}", metres(*at));
                checks.that(false, &field, metres(*place), &limit, "pin and main cannot stand in one place");
            }
            checks.that(
                (-1.0..=2.0).contains(&rest.behind),
                &field,
                metres(*place),
                "between the outer mains, or no further out than the span beside it is long",
                "the mains of that span hold an overhung throw by levers, one pressed down and one lifted; longer levers \
                 hold nothing",
            );
        }
        for (main, place) in self.mains_m.iter().enumerate() {
            checks.that(
                rests.iter().any(|rest| rest.main == main || rest.main + 1 == main),
                &format!("mains_m[{}]", main + 1),
                metres(*place),
                "a main with a throw in the span before or behind it",
                "with the crank taken as cut at every main, this one has no load; leave it out",
            );
        }
    }

    /// What each throw rests on.
    ///
    /// # Source
    /// The lever rule of a beam on two supports. A throw outside the outer mains is held by the two that are nearest.
    pub(super) fn rests(&self) -> Vec<Rest> {
        let last = self.mains_m.len().saturating_sub(2);
        let rest = |place: &f64| {
            let main = self.mains_m.iter().filter(|main| *main <= place).count().saturating_sub(1).min(last);
            let ends = self.mains_m.get(main).copied().zip(self.mains_m.get(main + 1).copied());
            ends.map(|(before, behind)| Rest { main, behind: (place - before) / (behind - before) })
        };
        self.throws_m.iter().filter_map(rest).collect()
    }
}

fn metres(place: f64) -> String {
    format!("{place} m")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn behind(mains: &[f64], throws: &[f64]) -> Vec<(usize, f64)> {
        let along = Along { mains_m: mains.to_vec(), throws_m: throws.to_vec() };
        along.check(throws.len()).unwrap_or_else(|problems| panic!("{problems}"));
        along.rests().into_iter().map(|rest| (rest.main, rest.behind)).collect()
    }

    /// Worked by hand.
    #[test]
    fn levers() {
        assert_eq!(behind(&[0.0, 0.2], &[0.05, 0.1]), [(0, 0.25), (0, 0.5)]);
        assert_eq!(behind(&[0.0, 0.25, 0.5], &[0.0625, 0.1875, 0.375]), [(0, 0.25), (0, 0.75), (1, 0.5)]);
        // Half a span in front of the first main: one and a half of the load on it, half of it lifting the second.
        assert_eq!(behind(&[0.0, 0.5], &[-0.25]), [(0, -0.5)]);
        // A quarter of the last span behind the last main.
        assert_eq!(behind(&[0.0, 0.5, 1.5], &[0.25, 1.75]), [(0, 0.5), (1, 1.25)]);
    }

    #[test]
    fn a_main_on_both_sides_of_every_throw_halves_its_load() {
        let rests = Along::main_by_main(4).rests();
        assert_eq!(rests, (0..4).map(|main| Rest { main, behind: 0.5 }).collect::<Vec<_>>());
    }
}
