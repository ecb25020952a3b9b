//! What is wrong with the numbers handed in, all of it at once.

use std::fmt;

use serde::Serialize;

/// One number that the film cannot be worked out with.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Problem {
    /// Which input: the name of the field, with its place where it lies deeper (`pin.radial_clearance_m`).
    pub field: String,
    /// What stands there.
    pub value: String,
    /// What would be usable.
    pub limit: String,
    /// Why: what the oil, or the sum, does otherwise.
    pub physics: String,
    /// The usable range in the field's unit, where the limit is one: for those who tell it in another unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<[f64; 2]>,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} is {}, usable is {}: {}", self.field, self.value, self.limit, self.physics)
    }
}

/// Everything that is wrong with one set of inputs; never empty.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Problems(pub Vec<Problem>);

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, problem) in self.0.iter().enumerate() {
            if place > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{problem}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Problems {}

impl Problems {
    /// A single problem.
    pub(crate) fn one(field: &str, value: impl fmt::Display, limit: &str, physics: &str) -> Problems {
        let (field, value) = (field.to_owned(), value.to_string());
        let (limit, physics) = (limit.to_owned(), physics.to_owned());
        Problems(vec![Problem { field, value, limit, physics, range: None }])
    }

    /// The same problems, found one level deeper: `radial_clearance_m` becomes `pin.radial_clearance_m`.
    pub(crate) fn within(mut self, place: &str) -> Problems {
        for problem in &mut self.0 {
            problem.field = format!("{place}.{}", problem.field);
        }
        self
    }
}

/// Gathers problems while inputs are looked at one by one.
#[derive(Debug, Default)]
pub(crate) struct Checks {
    found: Vec<Problem>,
}

impl Checks {
    pub(crate) fn new() -> Checks {
        Checks::default()
    }

    /// The value must be above zero, and neither so small nor so large that no machine has it and sums overflow.
    pub(crate) fn positive(&mut self, field: &str, value: f64, physics: &str) -> &mut Checks {
        // Numbers are put into words only where something is wrong with them.
        if !(1e-18..=1e18).contains(&value) {
            self.that(false, field, short(value), "above 0, and what a machine can have", physics);
        }
        self
    }

    /// The value must lie within two bounds, both included.
    pub(crate) fn between(&mut self, field: &str, value: f64, from: f64, to: f64, physics: &str) -> &mut Checks {
        let inside = value.is_finite() && value >= from && value <= to;
        if !inside {
            let before = self.found.len();
            self.that(false, field, short(value), &format!("{} to {}", short(from), short(to)), physics);
            for problem in self.found.iter_mut().skip(before) {
                problem.range = Some([from, to]);
            }
        }
        self
    }

    /// Whatever else must hold.
    pub(crate) fn that(
        &mut self,
        holds: bool,
        field: &str,
        value: impl fmt::Display,
        limit: &str,
        physics: &str,
    ) -> &mut Checks {
        if !holds {
            self.found.extend(Problems::one(field, value, limit, physics).0);
        }
        self
    }

    /// Takes over what a deeper check found.
    pub(crate) fn take<T>(&mut self, place: &str, checked: Result<T, Problems>) -> Option<T> {
        match checked {
            Ok(value) => Some(value),
            Err(problems) => {
                self.found.extend(problems.within(place).0);
                None
            }
        }
    }

    /// Everything found, or the all-clear.
    pub(crate) fn finish(&mut self) -> Result<(), Problems> {
        if self.found.is_empty() { Ok(()) } else { Err(Problems(std::mem::take(&mut self.found))) }
    }
}

/// A number without a tail of noughts: powers of ten where it is very large or very small.
fn short(value: f64) -> String {
    let size = value.abs();
    if size == 0.0 || !size.is_finite() || (1e-6..1e9).contains(&size) {
        value.to_string()
    } else {
        format!("{value:e}")
    }
}
