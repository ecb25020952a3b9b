//! Bend, oval and lobes, told apart from dial readings at several angles on each main.
//!
//! Main j carried on supports a and b reads, dial opposite the vee, as the shaft turns
//!
//! ```text
//! d_j(t) = Re[ b_j e^-it ] + sum over n >= 2 of Re[ (c_jn + lam_n ((1 - w) c_an + w c_bn)) e^-int ] + a constant
//! ```
//!
//! b_j is the bend: where its centre lies off the line through the supports; c_jn its oval part (n = 2) and its lobes, on the
//! radius; w how far along it lies from a to b. In a vee of angle alpha a support's own lobes lift the whole shaft by
//! lam_n = cos n(90 + alpha/2) / sin(alpha/2); on centres they do not.
//!
//! # Limits
//! With m equally spaced angles harmonics below m/2 are told apart; what is seen of n takes in m - n and m + n. From four
//! angles the bend takes in three lobes.
//!
//! # Source
//! The factor of the vee: *Journal of the Japan Society of Precision Engineering* 43 (1977) 1167.

use crate::{Findings, JournalId, SetName, Specification};

/// Harmonics that are looked for at most.
const MOST_HARMONICS: usize = 5;

/// Below this share of itself a lobe of a support does not show on the dial over it, and is not told.
const BLIND: f64 = 0.1;

/// A sum of squares below this has no inverse.
const SINGULAR: f64 = 1e-9;

/// A dial held on a main at several angles of the shaft.
#[derive(Clone, Debug, PartialEq)]
pub struct DialSweep {
    /// The main.
    pub journal: JournalId,
    /// Direction of the point under the dial, from pin 1's throw.
    pub angles_deg: Vec<f64>,
    /// What the dial showed; outward positive.
    pub readings_mm: Vec<f64>,
    /// Standard deviation of one reading.
    pub sd_mm: f64,
}

/// How the shaft was carried while a dial was on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Carried {
    /// On centres, or in rests that follow the axis.
    Centres,
    /// In vees of that angle under two mains.
    Vees {
        /// The mains.
        under: [JournalId; 2],
        /// Angle between the sides of a vee.
        angle_deg: f64,
    },
}

/// A vector in the frame of the crank: toward pin 1's throw, and square to it the way angles grow.
type Vector = (f64, f64);

/// What the dials tell of one main.
#[derive(Clone, Debug, PartialEq)]
pub struct MainForm {
    /// The main.
    pub journal: JournalId,
    /// Highest less lowest reading.
    pub total_mm: f64,
    /// Where its centre lies off the line through the supports.
    pub bend_mm: Vector,
    /// Standard deviation of either part of that, from the dial's own.
    pub sd_mm: f64,
    /// Oval part and lobes, on the radius: from the second harmonic on, as far as the angles tell; nothing for one that its own
    /// support hides.
    pub lobes_mm: Vec<Option<Vector>>,
    /// The harmonics that what is called bend takes in as well.
    pub takes_in: [usize; 2],
}

impl MainForm {
    /// How far its centre is off.
    pub fn bend_length_mm(&self) -> f64 {
        self.bend_mm.0.hypot(self.bend_mm.1)
    }

    /// Which way.
    pub fn bend_deg(&self) -> f64 {
        self.bend_mm.1.atan2(self.bend_mm.0).to_degrees().rem_euclid(360.0)
    }

    /// Its oval part on the radius; nothing where the angles do not tell it. A micrometer sees four times as much as
    /// out-of-round.
    pub fn oval_mm(&self) -> Option<f64> {
        self.lobes_mm.first().copied().flatten().map(|(x, y)| x.hypot(y))
    }
}

/// By how much a lobe of a journal in a vee lifts the shaft, for each unit of the lobe.
///
/// # Example
/// ```
/// // In a vee of 90 degrees an oval journal does not move the shaft along the dial, three lobes lift it by themselves.
/// assert!(crank::vee_factor(2, 90.0).abs() < 1e-12 && (crank::vee_factor(3, 90.0) - 1.0).abs() < 1e-12);
/// ```
pub fn vee_factor(harmonic: usize, angle_deg: f64) -> f64 {
    let half = (angle_deg / 2.0).to_radians();
    (harmonic as f64 * (std::f64::consts::FRAC_PI_2 + half)).cos() / half.sin()
}

/// The harmonics of readings by least squares, from the first on, each as the vector of its e^-int, and the standard deviation of
/// one part of the first for readings of standard deviation one; nothing where the angles do not tell a first harmonic.
fn harmonics(angles_deg: &[f64], readings_mm: &[f64]) -> Option<(Vec<Vector>, f64)> {
    let m = angles_deg.len().min(readings_mm.len());
    let most = ((m.max(1) - 1) / 2).min(MOST_HARMONICS);
    (1..=most).rev().find_map(|orders| fitted(angles_deg, readings_mm, orders))
}

fn fitted(angles_deg: &[f64], readings_mm: &[f64], orders: usize) -> Option<(Vec<Vector>, f64)> {
    let unknowns = 2 * orders + 1;
    // Normal equations, and the inverse beside them for the doubt.
    let mut a = vec![vec![0.0f64; 2 * unknowns + 1]; unknowns];
    for (angle_deg, reading) in angles_deg.iter().zip(readings_mm) {
        let mut row = vec![1.0];
        for n in 1..=orders {
            let (sin, cos) = (n as f64 * angle_deg.to_radians()).sin_cos();
            row.extend([cos, sin]);
        }
        for (line, left) in a.iter_mut().zip(&row) {
            line.iter_mut().zip(&row).for_each(|(sum, right)| *sum += left * right);
            if let Some(sum) = line.last_mut() {
                *sum += left * reading;
            }
        }
    }
    for (n, line) in a.iter_mut().enumerate() {
        if let Some(one) = line.get_mut(unknowns + n) {
            *one = 1.0;
        }
    }
    for i in 0..unknowns {
        let best = (i..unknowns).max_by(|&p, &q| a[p][i].abs().total_cmp(&a[q][i].abs()))?;
        a.swap(i, best);
        let pivot = a[i].clone();
        if pivot[i].abs() < SINGULAR {
            return None;
        }
        for (j, line) in a.iter_mut().enumerate() {
            let share = if j == i { 1.0 - 1.0 / pivot[i] } else { line[i] / pivot[i] };
            line.iter_mut().zip(&pivot).for_each(|(value, from)| *value -= share * from);
        }
    }
    let at = |n: usize| a.get(n).and_then(|line| line.last()).copied();
    let found: Option<Vec<Vector>> = (1..=orders).map(|n| Some((at(2 * n - 1)?, at(2 * n)?))).collect();
    let variance = |n: usize| a.get(n).and_then(|line| line.get(unknowns + n)).copied();
    let sd = variance(1)?.max(variance(2)?).max(0.0).sqrt();
    found.filter(|found| found.iter().all(|(x, y)| x.is_finite() && y.is_finite())).map(|found| (found, sd))
}

/// What the dials tell of every main that was swept, in the order of the sweeps. A sweep whose angles tell nothing (fewer than
/// three apart) is left out; sheets are checked for them when they are read.
pub fn main_forms(specification: &Specification, sweeps: &[DialSweep], carried: Carried) -> Vec<MainForm> {
    struct Read<'a> {
        sweep: &'a DialSweep,
        found: Vec<Vector>,
        sd_mm: f64,
    }
    let read: Vec<Read<'_>> = sweeps
        .iter()
        .filter_map(|sweep| {
            let (found, sd) = harmonics(&sweep.angles_deg, &sweep.readings_mm)?;
            Some(Read { sweep, found, sd_mm: sd * sweep.sd_mm })
        })
        .collect();
    // A support's own lobes, and where it stands.
    let supports = match carried {
        Carried::Centres => None,
        Carried::Vees { under, angle_deg } => Some((under, angle_deg)),
    };
    let lobe_of = |id: JournalId, n: usize, angle_deg: f64| -> Vector {
        let factor = 1.0 + vee_factor(n, angle_deg);
        let found = read.iter().find(|read| read.sweep.journal == id).and_then(|read| read.found.get(n - 1)).copied();
        found.filter(|_| factor.abs() >= BLIND).map_or((0.0, 0.0), |(x, y)| (x / factor, y / factor))
    };
    read.iter()
        .map(|one| {
            let id = one.sweep.journal;
            let lobes_mm = (2..=one.found.len())
                .map(|n| {
                    let (x, y) = one.found.get(n - 1).copied()?;
                    let Some((under, angle_deg)) = supports else { return Some((x, y)) };
                    if under.contains(&id) {
                        let blind = (1.0 + vee_factor(n, angle_deg)).abs() < BLIND;
                        return (!blind).then(|| lobe_of(id, n, angle_deg));
                    }
                    let [a, b] = under.map(|support| specification.position_mm(support));
                    let w = (specification.position_mm(id) - a) / (b - a);
                    let [from_a, from_b] = under.map(|support| lobe_of(support, n, angle_deg));
                    let lift = vee_factor(n, angle_deg);
                    let lifted = |a: f64, b: f64| lift * ((1.0 - w) * a + w * b);
                    Some((x - lifted(from_a.0, from_b.0), y - lifted(from_a.1, from_b.1)))
                })
                .collect();
            let readings = || one.sweep.readings_mm.iter().copied();
            let on_a_support = supports.is_some_and(|(under, _)| under.contains(&id));
            let first = one.found.first().copied().unwrap_or_default();
            let m = one.sweep.angles_deg.len();
            MainForm {
                journal: id,
                total_mm: readings().fold(f64::NEG_INFINITY, f64::max) - readings().fold(f64::INFINITY, f64::min),
                // What a support reads of the first order is the dial's own; its centre is the line.
                bend_mm: if on_a_support { (0.0, 0.0) } else { first },
                sd_mm: one.sd_mm,
                lobes_mm,
                takes_in: [m.saturating_sub(1), m + 1],
            }
        })
        .collect()
}

/// The bend of each main off the line through two of them; nothing for a main that was not swept, and nothing at all where one of
/// the two was not.
pub fn bend_off_mm(
    specification: &Specification,
    forms: &[MainForm],
    supports: [JournalId; 2],
) -> Vec<(JournalId, Vector)> {
    let of = |id: JournalId| forms.iter().find(|form| form.journal == id).map(|form| form.bend_mm);
    let [Some(first), Some(last)] = supports.map(of) else { return Vec::new() };
    let [a, b] = supports.map(|id| specification.position_mm(id));
    if (b - a).abs() < SINGULAR {
        return Vec::new();
    }
    forms
        .iter()
        .map(|form| {
            let w = (specification.position_mm(form.journal) - a) / (b - a);
            let line = |first: f64, last: f64| (1.0 - w) * first + w * last;
            let (x, y) = form.bend_mm;
            (form.journal, (x - line(first.0, last.0), y - line(first.1, last.1)))
        })
        .collect()
}

/// The end mains of a shaft.
pub fn end_mains(specification: &Specification) -> [JournalId; 2] {
    [1, specification.main.count()].map(|number| JournalId { set: SetName::Main, number })
}

/// Where a rule counts.
#[derive(Clone, Debug, PartialEq)]
pub enum RuleFor {
    /// These mains, or all of them where none is named.
    Mains(Vec<usize>),
    /// Each main against the next, as vectors.
    Neighbours,
}

/// A run-out rule as a book prints it.
#[derive(Clone, Debug, PartialEq)]
pub struct RunOutRule {
    /// What it is for.
    pub of: RuleFor,
    /// The mains that the shaft stands on for it; the end mains where none are named.
    pub supports: Option<[usize; 2]>,
    /// Whether the figure is what the dial shows; else half of it.
    pub of_dial: bool,
    /// The most allowed.
    pub most_mm: f64,
}

/// What a rule comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleFound {
    /// The main, or the first of two neighbours, with the worst.
    pub journal: JournalId,
    /// What it is there, counted as the rule counts.
    pub found_mm: f64,
    /// The most allowed.
    pub most_mm: f64,
    /// Whether it is between neighbours.
    pub neighbours: bool,
}

impl RuleFound {
    /// Whether it is broken.
    pub fn is_broken(&self) -> bool {
        self.found_mm > self.most_mm + 1e-9
    }
}

/// Where each rule is worst; nothing for one that no swept main tells of. The bend alone counts: what is oval does not.
pub fn rules_found(specification: &Specification, forms: &[MainForm], rules: &[RunOutRule]) -> Vec<Option<RuleFound>> {
    let main = |number: usize| JournalId { set: SetName::Main, number };
    rules
        .iter()
        .map(|rule| {
            let supports = rule.supports.map_or_else(|| end_mains(specification), |two| two.map(main));
            let bends = bend_off_mm(specification, forms, supports);
            let factor = if rule.of_dial { 2.0 } else { 1.0 };
            let worst = |found: Vec<(JournalId, f64)>| found.into_iter().max_by(|a, b| a.1.total_cmp(&b.1));
            let (found, neighbours) = match &rule.of {
                RuleFor::Mains(mains) => {
                    let asked = |id: &JournalId| mains.is_empty() || mains.contains(&id.number);
                    let own = bends.iter().filter(|(id, _)| asked(id)).map(|(id, (x, y))| (*id, factor * x.hypot(*y)));
                    (worst(own.collect()), false)
                }
                RuleFor::Neighbours => {
                    let next = |id: JournalId| bends.iter().find(|(other, _)| *other == main(id.number + 1));
                    let pairs = bends.iter().filter_map(|(id, (x, y))| {
                        let (_, (nx, ny)) = next(*id)?;
                        Some((*id, factor * (x - nx).hypot(y - ny)))
                    });
                    (worst(pairs.collect()), true)
                }
            };
            found.map(|(journal, found_mm)| RuleFound { journal, found_mm, most_mm: rule.most_mm, neighbours })
        })
        .collect()
}

/// What the dials of one crank come to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ToldByDials {
    /// Each main that was swept.
    pub forms: Vec<MainForm>,
    /// Each of them off the line through the end mains, where that is known.
    pub off_mm: Vec<(JournalId, Vector)>,
    /// The book's rules in their order; nothing for one that no swept main tells of.
    pub rules: Vec<Option<RuleFound>>,
}

/// What the dials of a crank come to; nothing of mains that were not swept.
pub fn told_by_dials(specification: &Specification, findings: &Findings) -> ToldByDials {
    let Some(carried) = findings.carried else { return ToldByDials::default() };
    let forms = main_forms(specification, &findings.dials, carried);
    let mut with_supports = forms.clone();
    if let Carried::Vees { under, .. } = carried {
        // The line is that of the vees, whether or not a dial stood over them.
        let on_the_line = |journal: JournalId| MainForm {
            journal,
            total_mm: 0.0,
            bend_mm: (0.0, 0.0),
            sd_mm: 0.0,
            lobes_mm: Vec::new(),
            takes_in: [0, 0],
        };
        with_supports
            .extend(under.into_iter().filter(|id| forms.iter().all(|form| form.journal != *id)).map(on_the_line));
    }
    let mut off_mm = bend_off_mm(specification, &with_supports, end_mains(specification));
    off_mm.retain(|(id, _)| forms.iter().any(|form| form.journal == *id));
    let rules = rules_found(specification, &with_supports, &findings.run_out_rules);
    ToldByDials { forms, off_mm, rules }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn four() -> Specification {
        crate::samples::four(100.0, 45.0)
    }

    fn main(number: usize) -> JournalId {
        JournalId { set: SetName::Main, number }
    }

    /// Computed by others from a known shaft, to 0.001 mm: five mains on 90 degree vees under mains 1 and 5, every 45 degrees.
    /// Truth: mains 2, 3, 4 off the line by 0.012, 0.020, 0.011 toward 30 degrees; main 3 oval, 0.011 on the radius; main 1
    /// three-lobed, 0.004.
    const MADE: [[f64; 8]; 5] = [
        [0.000, -0.014, -0.013, -0.003, -0.016, -0.005, -0.010, -0.016],
        [0.000, -0.000, -0.008, -0.017, -0.027, -0.020, -0.019, -0.016],
        [0.000, 0.005, 0.011, -0.009, -0.039, -0.031, -0.008, -0.002],
        [0.000, 0.004, -0.005, -0.017, -0.021, -0.017, -0.016, -0.012],
        [0.000, -0.002, -0.004, -0.002, 0.000, -0.002, -0.004, -0.002],
    ];

    fn made(step: usize) -> Vec<DialSweep> {
        let angles = |n: &usize| n.is_multiple_of(step);
        (1..)
            .zip(MADE)
            .map(|(number, readings)| DialSweep {
                journal: main(number),
                angles_deg: (0..8).filter(angles).map(|n| 45.0 * n as f64).collect(),
                readings_mm: (0..8).filter(angles).map(|n| readings[n]).collect(),
                sd_mm: 0.001,
            })
            .collect()
    }

    const VEES: Carried = Carried::Vees {
        under: [JournalId { set: SetName::Main, number: 1 }, JournalId { set: SetName::Main, number: 5 }],
        angle_deg: 90.0,
    };

    #[test]
    fn the_bend_of_a_made_shaft_is_told_from_its_oval_and_its_lobes() {
        let forms = main_forms(&four(), &made(1), VEES);
        // Half the dial says 0.008, 0.0135, 0.025, 0.0125, 0.002.
        let bends: Vec<f64> = forms.iter().map(MainForm::bend_length_mm).collect();
        for (found, truth) in bends.iter().zip([0.0, 0.012, 0.020, 0.011, 0.0]) {
            assert!((found - truth).abs() < 0.0005, "{bends:?}");
        }
        for form in &forms[1..4] {
            assert!((form.bend_deg() - 30.0).abs() < 2.5, "{form:?}");
        }
        assert!((forms[2].oval_mm().unwrap() - 0.011).abs() < 0.0005, "{:?}", forms[2]);
        // The head of the figures names no other oval; a discrete Fourier transform (NumPy) finds 0.0018 to 0.0040 on the others too.
        for (n, oval) in [(0, 0.001_75), (1, 0.003_25), (3, 0.004_0), (4, 0.002_0)] {
            assert!((forms[n].oval_mm().unwrap() - oval).abs() < 0.000_006, "{:?}", forms[n]);
        }
        let lobes = |n: usize| forms[n].lobes_mm[1].map(|(x, y)| x.hypot(y)).unwrap();
        // The dial over main 1 shows its lobes twice, and those over the others lifted; none of the others has any.
        assert!((lobes(0) - 0.004).abs() < 0.0005, "{}", lobes(0));
        assert!((1..5).all(|n| lobes(n) < 0.0006), "{:?}", [1, 2, 3, 4].map(lobes));
        // Eight readings of 0.001 leave either part of the bend open by 0.001 sqrt(2/8).
        assert!((forms[2].sd_mm - 0.0005).abs() < 1e-9);
        assert_eq!(forms[2].takes_in, [7, 9]);
        // Of half the readings the bend takes in the lobes that lift the shaft: on main 2 three quarters of 0.004.
        let few = main_forms(&four(), &made(2), VEES);
        assert_eq!((few[1].takes_in, few[1].lobes_mm.len()), ([3, 5], 0));
        assert!((few[1].bend_length_mm() - 0.012).abs() > 0.0005, "{:?}", few[1]);
    }

    /// The sentences of one book (Detroit 6V-53T, TM 9-2815-202-34 p. 4-157): neighbours high on opposite sides add, on the same side
    /// subtract, at right angles their vectors; at most 0.003 in. The third sentence, 0.002 each at right angles, is 0.0028.
    #[test]
    fn neighbours_are_held_against_each_other_as_vectors() {
        const IN: f64 = 25.4;
        let forms = |two: [(f64, f64); 2]| -> Vec<MainForm> {
            let bend = |(total_in, deg): (f64, f64)| {
                let (sin, cos) = deg.to_radians().sin_cos();
                (total_in * IN / 2.0 * cos, total_in * IN / 2.0 * sin)
            };
            let bends = [(0.0, 0.0), bend(two[0]), bend(two[1]), bend(two[1]), (0.0, 0.0)];
            (1..)
                .zip(bends)
                .map(|(number, bend_mm)| MainForm {
                    journal: main(number),
                    total_mm: 0.0,
                    bend_mm,
                    sd_mm: 0.0,
                    lobes_mm: Vec::new(),
                    takes_in: [7, 9],
                })
                .collect()
        };
        let rules = [
            RunOutRule { of: RuleFor::Neighbours, supports: None, of_dial: true, most_mm: 0.003 * IN },
            RunOutRule { of: RuleFor::Mains(vec![2, 4]), supports: Some([1, 5]), of_dial: true, most_mm: 0.002 * IN },
        ];
        for (two, between) in [
            ([(0.0015, 0.0), (0.0015, 180.0)], 0.0030),
            ([(0.0010, 40.0), (0.0020, 40.0)], 0.0020),
            ([(0.0020, 0.0), (0.0020, 90.0)], 0.002_828),
        ] {
            let found = rules_found(&four(), &forms(two), &rules);
            let neighbours = found[0].clone().unwrap();
            assert!((neighbours.found_mm / IN - between).abs() < 1e-6, "{two:?}: {neighbours:?}");
            assert!(!neighbours.is_broken() && neighbours.neighbours);
            assert!(!found[1].clone().unwrap().is_broken());
        }
        let found = rules_found(&four(), &forms([(0.0021, 0.0), (0.0021, 180.0)]), &rules);
        assert!(found.iter().flatten().all(RuleFound::is_broken), "{found:?}");
    }

    /// By hand: off a line that runs through main 1 and main 3, which lies 0.02 off, main 2 of no bend is 0.01 off the other way.
    #[test]
    fn a_bend_is_counted_off_any_two_mains() {
        let forms: Vec<MainForm> = (1..)
            .zip([0.0, 0.0, 0.02])
            .map(|(number, x)| MainForm {
                journal: main(number),
                total_mm: 0.0,
                bend_mm: (x, 0.0),
                sd_mm: 0.0,
                lobes_mm: Vec::new(),
                takes_in: [7, 9],
            })
            .collect();
        let found = bend_off_mm(&four(), &forms, [main(1), main(3)]);
        assert!((found[1].1.0 + 0.01).abs() < 1e-12 && found[2].1.0.abs() < 1e-12, "{found:?}");
        assert!(bend_off_mm(&four(), &forms, [main(1), main(5)]).is_empty(), "main 5 was not swept");
    }

    #[test]
    fn readings_that_tell_nothing_are_left_out() {
        let sweep = |angles_deg: Vec<f64>, readings_mm: Vec<f64>| DialSweep {
            journal: main(2),
            angles_deg,
            readings_mm,
            sd_mm: 0.001,
        };
        for one in [
            sweep(vec![], vec![]),
            sweep(vec![0.0, 180.0], vec![0.0, 0.1]),
            sweep(vec![0.0, 0.0, 0.0, 0.0], vec![0.0; 4]),
            sweep(vec![0.0, 90.0, f64::NAN, 270.0], vec![0.0; 4]),
        ] {
            assert_eq!(main_forms(&four(), &[one], Carried::Centres), []);
        }
        // Three angles unevenly apart: 0.010 cos(t - 30) by hand.
        let angles = vec![0.0, 50.0, 200.0];
        let readings = angles.iter().map(|t: &f64| 0.1 + 0.010 * (t - 30.0).to_radians().cos()).collect();
        let found = main_forms(&four(), &[sweep(angles, readings)], Carried::Centres);
        assert!((found[0].bend_length_mm() - 0.010).abs() < 1e-9 && (found[0].bend_deg() - 30.0).abs() < 1e-6);
    }
}
