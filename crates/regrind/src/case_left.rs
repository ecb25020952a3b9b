//! What is left of a hardened case once a journal is ground.
//!
//! The original surface of a journal is a circle of the standard radius about the centre that the book gives it; the new one is
//! smaller, about a centre that may lie elsewhere. At the angle t the new surface has lost
//!
//! ```text
//! removed = R_std - R_new - (n - o) . (cos t, sin t)
//! ```
//!
//! n the new centre and o the original one, and the case is thinner by that. The thinnest spot lies opposite to the move.
//!
//! # Limits
//! A pin whose centre nobody measured is taken to stand where the book has it. A crank that is treated again after grinding gets
//! a new case, and nothing is said of the old one.

use crank::{CaseDepth, Findings, JournalId, SetName, Specification};

use crate::case::{Case, index};
use crate::verdict::{Note, SetVerdict, StepVerdict};
use crate::words::{capital, in_hundred};

/// A case that is more likely under the least allowed than this is said.
const WORTH_SAYING: f64 = 0.05;

/// The case at the thinnest spot of a set, at one step of its ladder. Lengths on the radius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CaseLeft {
    /// Where it is thinnest.
    pub journal: JournalId,
    /// What is gone there.
    pub removed_mm: f64,
    /// What is left where the case was as shallow as it may have been: the book's low limit, or the depth measured less twice its
    /// doubt. Below zero it is ground through.
    pub low_mm: f64,
    /// The same where it was as deep as it may have been.
    pub high_mm: f64,
    /// The least that is allowed to be left; nothing, so that it must not be ground through, where nobody says.
    pub least_mm: f64,
    /// The chance that less than that is left.
    pub chance_under: f64,
}

/// What is left of the case of a set at a step; nothing where its depth is not told, or it is treated again.
pub fn case_left(
    specification: &Specification,
    findings: &Findings,
    set: SetName,
    step: &StepVerdict,
    polish_mm: f64,
) -> Option<CaseLeft> {
    if specification.treatment.after_grinding {
        return None;
    }
    let case = (*findings.cases.get(index(set))?)?;
    let book = specification.set(set);
    let even_mm = (book.size.middle_mm() - (step.ground_size_mm - polish_mm)) / 2.0;
    let moved = |id: JournalId, at_mm: f64| {
        let (u, v) = step.set_up.as_ref().map_or((0.0, 0.0), |told| told.centre_at_mm(specification, id, at_mm));
        let error = findings.centres.iter().find(|centre| centre.journal == id);
        let (out_mm, round_mm) = error
            .map_or((0.0, 0.0), |centre| (centre.throw_mm, specification.throw_mm * centre.index_deg.to_radians()));
        let (sin, cos) = specification.throw_deg(id).to_radians().sin_cos();
        (u + out_mm * cos - round_mm * sin).hypot(v + out_mm * sin + round_mm * cos)
    };
    let half_mm = book.length_mm / 2.0;
    let worst = (1..=book.count())
        .map(|number| JournalId { set, number })
        .map(|id| (id, [-half_mm, 0.0, half_mm].map(|at_mm| moved(id, at_mm)).into_iter().fold(0.0, f64::max)))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let removed_mm = even_mm + worst.1;
    let least_mm = case.least_mm.unwrap_or(0.0);
    let under_mm = least_mm + removed_mm;
    let (low_mm, high_mm, chance_under) = match case.depth {
        CaseDepth::Book { low_mm, high_mm } => {
            let width_mm = high_mm - low_mm;
            let share =
                if width_mm > 0.0 { (under_mm - low_mm) / width_mm } else { f64::from(u8::from(under_mm > low_mm)) };
            (low_mm, high_mm, share.clamp(0.0, 1.0))
        }
        CaseDepth::Measured { mm, sd_mm } => (mm - 2.0 * sd_mm, mm + 2.0 * sd_mm, normal_below(under_mm, mm, sd_mm)),
    };
    Some(CaseLeft {
        journal: worst.0,
        removed_mm,
        low_mm: low_mm - removed_mm,
        high_mm: high_mm - removed_mm,
        least_mm,
        chance_under,
    })
}

/// The share of a normal distribution below a length.
fn normal_below(mm: f64, mean_mm: f64, sd_mm: f64) -> f64 {
    if sd_mm <= 0.0 {
        return f64::from(u8::from(mm > mean_mm));
    }
    0.5 * statrs::function::erf::erfc((mean_mm - mm) / sd_mm * std::f64::consts::FRAC_1_SQRT_2)
}

impl Case<'_> {
    /// A case that is ground through, or nearly, at the step that a set goes to.
    pub(crate) fn case_notes(&self, sets: &[SetVerdict]) -> Vec<Note> {
        let note = |set: &SetVerdict| {
            let to_mm = set.choice.undersize_mm().or(set.if_ground_mm)?;
            let step = set.steps.iter().find(|step| step.undersize_mm == to_mm)?;
            let left = case_left(self.specification, self.findings, set.set, step, self.policy.polish_stock_mm)?;
            if left.chance_under < WORTH_SAYING {
                return None;
            }
            let plural = capital(crate::next::plural(set.set));
            let what = if left.least_mm > 0.0 {
                format!("less than the {} of case that must be left", self.size(left.least_mm))
            } else {
                "no case at all".to_owned()
            };
            Some(Note {
                kind: "case",
                journal: Some(left.journal),
                says: format!(
                    "{plural}: {} is gone from the case at the thinnest spot at {}, which leaves {what} in {}. Measure its depth, or \
                     have it hardened again.",
                    self.size(left.removed_mm),
                    self.step(to_mm).to_lowercase(),
                    in_hundred(left.chance_under)
                ),
            })
        };
        sets.iter().filter_map(note).collect()
    }
}

#[cfg(test)]
mod tests {
    use crank::{Band, CaseFound, JournalSet, Treatment};

    use super::*;
    use crate::chance::Chance;
    use crate::{Axis, AxisLine, PinCentre, SetUp};

    fn set(positions_mm: Vec<f64>, angles_deg: Vec<f64>) -> JournalSet {
        JournalSet {
            positions_mm,
            angles_deg,
            size: Band { low_mm: 63.98, high_mm: 64.0 },
            undersizes_mm: Vec::new(),
            out_of_round_mm: None,
            taper: None,
            run_out: None,
            length_mm: 38.0,
            smallest_mm: None,
            wear_limit_mm: None,
            wear_out_of_round_mm: None,
            wear_taper: None,
            aims: Vec::new(),
            any_size: false,
        }
    }

    fn six() -> Specification {
        Specification {
            name: "any".into(),
            unit: units::Unit::Millimetre,
            throw_mm: 60.0,
            throw_tolerance_mm: None,
            index_tolerance_deg: None,
            main: set(vec![0.0, 240.0], Vec::new()),
            pin: set(vec![60.0, 180.0], vec![0.0, 240.0]),
            treatment: Treatment {
                kind: "induction".into(),
                growth_mean_mm: 0.0,
                growth_sd_mm: 0.0,
                after_grinding: false,
            },
        }
    }

    fn step(undersize_mm: f64, inward_mm: f64) -> StepVerdict {
        let pin = PinCentre {
            journal: JournalId { set: SetName::Pin, number: 2 },
            u_mm: 0.5 * inward_mm,
            v_mm: 0.75f64.sqrt() * inward_mm,
        };
        StepVerdict {
            undersize_mm,
            ground_size_mm: 63.99 - undersize_mm + 0.005,
            chance: Chance::default(),
            chance_as_measured: Chance::default(),
            spare_mm: 0.0,
            spare_after_stock_mm: 0.0,
            middle_spare_mm: 0.0,
            permitted: true,
            expected_cost: None,
            set_up: Some(SetUp { axis: AxisLine::default(), pins: vec![pin] }),
            way: Axis::Throws,
        }
    }

    /// Computed by others: undersize, shift inward, removed on the outer side, and left there of a case of 1.50 and of 0.30.
    const MADE: [(f64, f64, f64, f64, f64); 8] = [
        (0.25, 0.0, 0.125, 1.375, 0.175),
        (0.25, 0.062, 0.187, 1.313, 0.113),
        (0.50, 0.0, 0.250, 1.250, 0.050),
        (0.50, 0.062, 0.312, 1.188, -0.012),
        (0.75, 0.0, 0.375, 1.125, -0.075),
        (0.75, 0.062, 0.437, 1.063, -0.137),
        (1.00, 0.0, 0.500, 1.000, -0.200),
        (1.00, 0.062, 0.562, 0.938, -0.262),
    ];

    #[test]
    fn the_thinnest_spot_of_made_cranks_is_found() {
        for (undersize_mm, shift_mm, removed_mm, of_deep, of_thin) in MADE {
            let depth = CaseDepth::Book { low_mm: 0.30, high_mm: 1.50 };
            let findings = Findings { cases: [None, Some(CaseFound { depth, least_mm: None })], ..Findings::default() };
            let left = case_left(&six(), &findings, SetName::Pin, &step(undersize_mm, shift_mm), 0.005).unwrap();
            assert!((left.removed_mm - removed_mm).abs() < 1e-9, "{left:?}");
            assert!((left.high_mm - of_deep).abs() < 1e-9 && (left.low_mm - of_thin).abs() < 1e-9, "{left:?}");
            // Uniform between the limits: so much of the 1.20 lies below what is removed.
            assert!((left.chance_under - ((removed_mm - 0.30) / 1.20).max(0.0)).abs() < 1e-9, "{left:?}");
            assert_eq!(case_left(&six(), &findings, SetName::Main, &step(undersize_mm, shift_mm), 0.005), None);
        }
    }

    /// By hand: measured 0.312 with a doubt of 0.05, and all of it gone on the outer side: an even chance. With 0.05 that must be
    /// left it lies one standard deviation over: 84.13 in 100. A pin that stood 0.062 inward when it came needs no move for it.
    #[test]
    fn a_measured_case_is_as_doubtful_as_its_measurement() {
        let depth = CaseDepth::Measured { mm: 0.312, sd_mm: 0.05 };
        let found = |least_mm| [None, Some(CaseFound { depth, least_mm })];
        let findings = Findings { cases: found(None), ..Findings::default() };
        let left = case_left(&six(), &findings, SetName::Pin, &step(0.50, 0.062), 0.005).unwrap();
        assert!((left.chance_under - 0.5).abs() < 1e-6, "{left:?}");
        let more = Findings { cases: found(Some(0.05)), ..Findings::default() };
        let left = case_left(&six(), &more, SetName::Pin, &step(0.50, 0.062), 0.005).unwrap();
        assert!((left.chance_under - 0.841_345).abs() < 1e-5, "{left:?}");
        let pin = JournalId { set: SetName::Pin, number: 2 };
        let short = crank::Centre { journal: pin, throw_mm: -0.062, index_deg: 0.0 };
        let centred = Findings { centres: vec![short], ..more };
        let left = case_left(&six(), &centred, SetName::Pin, &step(0.50, 0.0), 0.005).unwrap();
        assert!((left.removed_mm - 0.312).abs() < 1e-9 && left.journal == pin, "{left:?}");
    }

    #[test]
    fn a_crank_that_is_treated_again_gets_a_new_case() {
        let mut treated = six();
        treated.treatment.after_grinding = true;
        let depth = CaseDepth::Book { low_mm: 0.30, high_mm: 1.50 };
        let findings = Findings { cases: [Some(CaseFound { depth, least_mm: None }); 2], ..Findings::default() };
        assert_eq!(case_left(&treated, &findings, SetName::Pin, &step(0.5, 0.0), 0.005), None);
    }
}
