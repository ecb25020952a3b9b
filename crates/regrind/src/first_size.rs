//! The first size at which a set cleans up with the shop's confidence, on no ladder, from the draws that were made.
//!
//! A draw with spare S at the radius R cleans up at every radius not above R + S - stock. The first size at confidence q is
//! the (1 - q) quantile of those, rounded down to the shop's step. How far the number of draws leaves it open is told by
//! order statistics.

use crank::{JournalSet, SetName};
use units::{Unit, show_mm};

use crate::axis::Placement;
use crate::case::{Case, index};
use crate::chance::SAME_LENGTH_MM;
use crate::plan::ground_size_mm;
use crate::words::under;
use crate::{Axis, Policy};

/// How sure the range of the first size is.
const RANGE: f64 = 0.95;

/// Rounding may not take a size that stands on a step to the next one.
const STEPS_ALIKE: f64 = 1e-6;

/// The first size that cleans up. Lengths on the diameter.
#[derive(Clone, Debug, PartialEq)]
pub struct FirstSize {
    /// The finished size, rounded down to the shop's step below standard; standard where that cleans up.
    pub size_mm: f64,
    /// The same as an undersize.
    pub undersize_mm: f64,
    /// What the wheel must leave for it.
    pub ground_size_mm: f64,
    /// The quantile itself, before rounding, as a finished size; it may lie above standard.
    pub exact_mm: f64,
    /// Between these the quantile of ever so many draws lies, 95 in 100; nothing at an end that too few draws leave open.
    pub low_mm: Option<f64>,
    /// The upper end.
    pub high_mm: Option<f64>,
    /// The shop's confidence.
    pub confidence: f64,
    /// Draws that it rests on.
    pub draws: usize,
    /// Where the set is set up for it.
    pub way: Axis,
    /// The first undersize of the ladder that is no shallower; nothing where the ladder ends before, or there is none.
    pub next_shell_mm: Option<f64>,
    /// Whether the set has no ladder.
    pub any_size: bool,
    /// Whether the book's smallest size permits it.
    pub permitted: bool,
}

impl FirstSize {
    /// In words, as they stand beside the ladder: `Cleans up at 0.0137 under; the next shell is 0.020.`
    pub fn words(&self, unit: Unit) -> String {
        let shown = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
        let within = match (self.low_mm, self.high_mm) {
            (Some(low_mm), Some(high_mm)) => {
                let open_mm = (high_mm - low_mm) / 2.0;
                format!(
                    "; {} draws leave it open by {} either way",
                    self.draws,
                    show_mm(open_mm, unit, unit.usual_decimals() + 1)
                )
            }
            _ => "; too few draws to say how sure that is".to_owned(),
        };
        let size = format!("{} {unit}", shown(self.size_mm));
        if self.undersize_mm <= 0.0 {
            return format!("Cleans up at standard, {size}{within}.");
        }
        let undersize = under(self.undersize_mm, unit);
        let next = match (self.any_size, self.next_shell_mm) {
            (true, _) => format!(" ({size})"),
            (false, Some(mm)) => format!(" ({size}); the next shell is {}", crate::words::undersize_figure(mm, unit)),
            (false, None) => format!(" ({size}), past the last shell"),
        };
        let book = if self.permitted { "" } else { "; smaller than the book permits" };
        format!("Cleans up at {undersize}{next}{book}{within}.")
    }
}

/// Ranks (from one) of the order statistics that the (1 - q) quantile of n values lies between, each with 2.5 in 100 beyond
/// it at the most; nothing at an end that n values do not reach. The count of values below the quantile is binomial.
///
/// # Source
/// W. J. Conover, Practical Nonparametric Statistics, confidence interval for a quantile (from memory); held against
/// `scipy.stats.quantile_test` in the tests.
fn ranks(n: usize, below: f64) -> (Option<usize>, Option<usize>) {
    let beyond = (1.0 - RANGE) / 2.0;
    // Chances of k values below, from k = 0 on, in logarithms so that nothing underflows.
    let (log_p, log_q) = (below.ln(), (1.0 - below).ln());
    let mut log_chance = n as f64 * log_q;
    let (mut sum, mut low, mut high) = (0.0, None, None);
    for k in 0..=n {
        sum += log_chance.exp();
        // r is a lower rank while P(fewer than r below) stays within what may lie beyond.
        if sum <= beyond {
            low = Some(k + 1);
        }
        if high.is_none() && sum >= 1.0 - beyond && k < n {
            high = Some(k + 1);
        }
        log_chance += ((n - k) as f64).ln() - ((k + 1) as f64).ln() + log_p - log_q;
    }
    (low, high)
}

/// The first size of a set, from its rooms at standard: least radius of each draw less `standard_mm`. Nothing without draws.
pub(crate) fn first_size(
    set: &JournalSet,
    ground_at_standard_mm: f64,
    rooms_mm: &[f64],
    standard_mm: f64,
    policy: &Policy,
) -> Option<FirstSize> {
    let stock_mm = policy.clean_up_stock_mm;
    let mut most_mm: Vec<f64> = rooms_mm.iter().map(|room| 2.0 * (standard_mm + room - stock_mm)).collect();
    if most_mm.is_empty() || most_mm.iter().any(|mm| !mm.is_finite()) {
        return None;
    }
    most_mm.sort_by(f64::total_cmp);
    let n = most_mm.len();
    // So many must clean up, so the largest size that they all do is that of the last but so many.
    let must = ((policy.confidence * n as f64 - 1e-9).ceil().max(1.0) as usize).min(n);
    let ground_mm = most_mm.get(n - must).copied()?;
    let middle_mm = set.size.middle_mm();
    let finished_mm = |ground_mm: f64| middle_mm - (ground_at_standard_mm - ground_mm);
    let exact_mm = finished_mm(ground_mm + 2.0 * SAME_LENGTH_MM);
    let steps = ((middle_mm - exact_mm) / policy.size_step_mm - STEPS_ALIKE).ceil().max(0.0);
    let undersize_mm = steps * policy.size_step_mm;
    let size_mm = middle_mm - undersize_mm;
    let (low, high) = ranks(n, 1.0 - policy.confidence);
    let at = |rank: Option<usize>| rank.and_then(|r| most_mm.get(r - 1)).map(|mm| finished_mm(*mm));
    let low_limit_mm = set.finished(undersize_mm).low_mm;
    Some(FirstSize {
        size_mm,
        undersize_mm,
        ground_size_mm: ground_at_standard_mm - undersize_mm,
        exact_mm: finished_mm(ground_mm),
        low_mm: at(low),
        high_mm: at(high),
        confidence: policy.confidence,
        draws: n,
        way: Axis::Held,
        next_shell_mm: set.undersizes_mm.iter().copied().find(|mm| *mm >= undersize_mm - SAME_LENGTH_MM),
        any_size: set.any_size,
        permitted: set.smallest_mm.is_none_or(|smallest| low_limit_mm >= smallest - SAME_LENGTH_MM),
    })
}

impl Case<'_> {
    /// The first size of a set, set up as it is told for a step of its ladder.
    pub(crate) fn first_size(&self, set: SetName, step: usize) -> Option<FirstSize> {
        let s = index(set);
        let placement = self.told.sets.get(s)?.get(step).copied()?;
        self.first_size_at(set, placement)
    }

    fn first_size_at(&self, set: SetName, placement: usize) -> Option<FirstSize> {
        if !self.is_modelled(set) {
            return None;
        }
        let book = self.specification.set(set);
        let rooms_mm = self.all_rooms_mm(set, placement);
        let standard_mm = self.ladders.standard_mm()[index(set)];
        let at_standard_mm = off_the_ladder_mm(book, self.specification, self.policy);
        let found = first_size(book, at_standard_mm, rooms_mm, standard_mm, self.policy)?;
        let told: Option<&Placement> = self.told.placements.get(placement);
        let way = told.map_or(Axis::Held, |told| self.measured.questions.geometry.way(told));
        Some(FirstSize { way, ..found })
    }
}

/// What the wheel must leave at standard where no bearing asks for another size than the middle of the limits: sizes off the
/// ladder are counted from there.
pub(crate) fn off_the_ladder_mm(set: &JournalSet, specification: &crank::Specification, policy: &Policy) -> f64 {
    let plain = JournalSet { aims: Vec::new(), ..set.clone() };
    ground_size_mm(&plain, &specification.treatment, policy, 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `scipy.stats.quantile_test` (SciPy 1.17.1) on the values 1 to n gives as the ends of its two-sided 95 % confidence
    /// interval, for (n, p): (10, 0.5) 2 and 9, (20, 0.5) 6 and 15, (20, 0.1) no lower end and 6, (100, 0.1) 5 and 17,
    /// (1000, 0.1) 82 and 120, (20000, 0.1) 1917 and 2085, (4000, 0.05) 173 and 228.
    #[test]
    fn ranks_are_those_of_a_reference_library() {
        for (n, below, low, high) in RANKS_BY_SCIPY {
            assert_eq!(ranks(n, below), (low, high), "{n} values, {below} below");
        }
    }

    const RANKS_BY_SCIPY: [(usize, f64, Option<usize>, Option<usize>); 7] = [
        (10, 0.5, Some(2), Some(9)),
        (20, 0.5, Some(6), Some(15)),
        (20, 0.1, None, Some(6)),
        (100, 0.1, Some(5), Some(17)),
        (1_000, 0.1, Some(82), Some(120)),
        (20_000, 0.1, Some(1_917), Some(2_085)),
        (4_000, 0.05, Some(173), Some(228)),
    ];

    fn pins(undersizes_mm: Vec<f64>) -> JournalSet {
        JournalSet {
            positions_mm: vec![50.0],
            angles_deg: vec![0.0],
            size: crank::Band { low_mm: 49.98, high_mm: 50.0 },
            out_of_round_mm: None,
            taper: None,
            run_out: None,
            length_mm: 30.0,
            smallest_mm: Some(49.4),
            wear_limit_mm: None,
            wear_out_of_round_mm: None,
            wear_taper: None,
            aims: Vec::new(),
            any_size: undersizes_mm.is_empty(),
            undersizes_mm,
        }
    }

    /// By hand: the wheel leaves 49.995 at standard (49.990 and 0.005 polish), a radius of 24.9975, stock 0.0125. Ten draws with
    /// rooms of -0.010, -0.020 … -0.100; nine in ten must clean up, so all but the worst: room -0.090, which the wheel leaves
    /// 2 (24.9975 - 0.090 - 0.0125) = 49.790 for. Finished 49.785, which is 0.205 under; in steps of 0.02 it is 0.22.
    #[test]
    fn the_first_size_is_the_quantile_rounded_down() {
        let policy = Policy { size_step_mm: 0.02, ..Policy::usual(Unit::Millimetre) };
        let rooms_mm: Vec<f64> = (1..=10).map(|n| -0.010 * f64::from(n)).collect();
        let found = first_size(&pins(vec![0.2, 0.25]), 49.995, &rooms_mm, 24.9975, &policy).unwrap();
        assert!((found.exact_mm - 49.785).abs() < 1e-9, "{found:?}");
        assert!((found.undersize_mm - 0.22).abs() < 1e-9 && (found.size_mm - 49.77).abs() < 1e-9, "{found:?}");
        assert!((found.ground_size_mm - 49.775).abs() < 1e-9, "{found:?}");
        assert_eq!((found.next_shell_mm, found.permitted, found.draws), (Some(0.25), true, 10));
        // Of ten values no lower end: all of them lie above the tenth part by 35 in 100. The upper is the fourth from below.
        assert_eq!(found.low_mm, None);
        assert!((found.high_mm.unwrap() - 49.825).abs() < 1e-9, "{found:?}");
        assert_eq!(
            found.words(Unit::Millimetre),
            "Cleans up at 0.22 mm under (49.770 mm); the next shell is 0.25; too few draws to say how sure that is."
        );
        // A step that it stands on is not left for a rounding error, and a shell of that undersize does.
        let on_a_step = Policy { size_step_mm: 0.005, ..policy.clone() };
        let found = first_size(&pins(vec![0.205]), 49.995, &rooms_mm, 24.9975, &on_a_step).unwrap();
        assert!((found.undersize_mm - 0.205).abs() < 1e-9, "{found:?}");
        assert_eq!(found.next_shell_mm, Some(0.205));
        // Deeper than the book permits: 49.98 - 0.60 is below 49.4.
        let deep: Vec<f64> = rooms_mm.iter().map(|room| room - 0.2).collect();
        let found = first_size(&pins(Vec::new()), 49.995, &deep, 24.9975, &policy).unwrap();
        assert!(!found.permitted && found.any_size && found.next_shell_mm.is_none(), "{found:?}");
        // Metal to spare at standard stays standard, and the quantile says by how much.
        let found = first_size(&pins(vec![0.25]), 49.995, &[0.1; 10], 24.9975, &policy).unwrap();
        assert!(found.undersize_mm == 0.0 && (found.exact_mm - 50.165).abs() < 1e-9, "{found:?}");
        assert!(first_size(&pins(vec![0.25]), 49.995, &[], 24.9975, &policy).is_none());
        assert!(first_size(&pins(vec![0.25]), 49.995, &[f64::NAN], 24.9975, &policy).is_none());
    }
}
