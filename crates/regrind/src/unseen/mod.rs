//! What nobody measured: a crank drawn whole, in the directions, stations and journals that no reading speaks of too.
//!
//! A few diameters leave a journal's shape open. Each journal is fitted with a grid of shapes (how deep, how oval, which
//! way, how narrow; five unknowns in each), weighed by how well they explain its readings and by what its siblings look
//! like ([`fit`], [`set`]). Thousands of whole cranks are then drawn from that ([`drawn`]), with the step each journal was
//! last ground to, the worse side, the bow of the shaft, errors of instruments and machine; each is looked at all round
//! ([`rings`], [`room`]) and counted ([`counts`]).
//!
//! The fits are made once; a draw only picks from them.
//!
//! # Limits
//! The scales stand in [`crate::Assumed`]. A shaft whose journals are worn in another way than any of the shapes, or whose
//! damage nobody looked for, is not in them.

mod counts;
mod drawn;
mod fit;
mod readings;
mod rings;
mod room;
mod seen;
mod set;
mod shape;
mod worth;

use std::collections::BTreeSet;
use std::ops::Range;

use crank::{Findings, JournalId, SetName, Specification};

use crate::axis::Questions;
use crate::surface::DepthRange;
use crate::{Assumed, Axis, Policy};

pub(crate) use counts::{Counted, GapKind, REMEMBERED, Without};
pub(crate) use rings::RingPoint;
use rings::Rings;
use room::Sides;
use seen::Seen;
use set::{About, Measured, SetFit};
pub(crate) use worth::{DIAGONALS_DEG, Measurement, worth};

/// Limits of one journal at standard size.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Limits {
    low_mm: f64,
    high_mm: f64,
    out_of_round_mm: Option<f64>,
    /// From the front to the rear station.
    taper_mm: Option<f64>,
    /// What a dial may show in one turn.
    run_out_mm: Option<f64>,
}

/// What the draws need to know of one journal.
struct JournalAt {
    id: JournalId,
    /// Mains, pins.
    set: usize,
    /// Middle of the finished limits at standard.
    middle_mm: f64,
    limits: Limits,
    /// How much of the bow shows here: nothing at the end mains, all in the middle.
    lever: f64,
    /// Half the run-out towards its high spot.
    run_out_mm: Option<(f64, f64)>,
    /// The share of the worse side, where somebody said it.
    share: Option<f64>,
    rings: Rings,
    /// Where its diameters were read: direction in its own frame, zeta.
    measured: Vec<(f64, f64)>,
    /// The same with what was read there.
    seen: Option<Seen>,
    first_trace: usize,
    first_traced_point: usize,
    traced_points: usize,
}

/// One crank as it can be drawn.
pub(crate) struct Model<'a> {
    findings: &'a Findings,
    policy: &'a Policy,
    assumed: &'a Assumed,
    journals: Vec<JournalAt>,
    /// The sets of which anything was measured.
    sets: [Option<SetFit>; 2],
    ladders_mm: [Vec<f64>; 2],
    tolerance_mm: [f64; 2],
    /// A size of each set, for what temperature does.
    size_of_set_mm: [f64; 2],
    temperature_shares: Vec<f64>,
    depths: Vec<DepthRange>,
    /// The main whose run-out tells most of the bow.
    bow_from: Option<usize>,
    sides: Sides,
    mains: usize,
    traces: usize,
    traced_points: usize,
    /// The programmes over the rings' points, where the axis is free.
    questions: Option<Questions>,
}

/// A lever shorter than this tells nothing of the bow.
const LEAST_LEVER: f64 = 0.05;

impl<'a> Model<'a> {
    /// Fits the journals. `left_out` are readings that look wrong, as indices into [`Findings::readings`].
    pub(crate) fn new(
        specification: &'a Specification,
        findings: &'a Findings,
        policy: &'a Policy,
        left_out: &BTreeSet<usize>,
    ) -> Model<'a> {
        let assumed = &policy.assumed;
        let free = policy.axis != Axis::Held;
        let mut journals = Vec::new();
        let (mut traces, mut traced_points) = (0, 0);
        let mut measured: [Vec<Measured>; 2] = [Vec::new(), Vec::new()];
        for id in specification.journals() {
            let s = usize::from(id.set == SetName::Pin);
            let set = specification.set(id.set);
            let diameters = readings::diameters(specification, findings, id, left_out);
            let places: Vec<(f64, f64)> = diameters.iter().map(|d| (d.angle_deg, d.zeta)).collect();
            let rings = Rings::new(specification, findings, id, &places);
            let counted: Vec<usize> = rings
                .rings
                .iter()
                .filter_map(|ring| match ring {
                    rings::Ring::Trace { points, .. } => Some(points.len()),
                    rings::Ring::Shape { .. } => None,
                })
                .collect();
            let limits = crank::size_limits(set, 0.0);
            let run_out = findings.run_outs.iter().find(|r| r.journal == id);
            journals.push(JournalAt {
                id,
                set: s,
                middle_mm: set.size.middle_mm(),
                limits: Limits {
                    low_mm: limits.low_mm - 1e-9,
                    high_mm: limits.high_mm + 1e-9,
                    out_of_round_mm: set.out_of_round_in_use_mm().map(|mm| mm + 1e-9),
                    taper_mm: set.taper_in_use().map(|t| t.over_mm(2.0 * readings::END_STATION * set.length_mm) + 1e-9),
                    run_out_mm: set.run_out.filter(|_| s == 0).map(|limit| limit.total_mm() + 1e-9),
                },
                lever: if s == 0 { lever(specification, id) } else { 0.0 },
                run_out_mm: run_out.map(|r| {
                    let (sin, cos) = r.high_deg.to_radians().sin_cos();
                    (r.total_mm / 2.0 * cos, r.total_mm / 2.0 * sin)
                }),
                share: findings.worn.iter().find(|worn| worn.journal == id).map(|worn| worn.share),
                rings,
                measured: places,
                seen: Seen::new(specification, id, &diameters),
                first_trace: traces,
                first_traced_point: traced_points,
                traced_points: counted.iter().sum(),
            });
            traces += counted.len();
            traced_points += counted.iter().sum::<usize>();
            measured[s]
                .push(Measured { diameters, stamped: stamped(specification, findings, assumed, id.set, Some(id)) });
        }
        // What it can have been ground to, with a stamp of another ladder.
        let ladders_mm = SetName::BOTH.map(|set| crank::undersizes_known_mm(specification, findings, set));
        let mains = specification.main.count();
        let sets = SetName::BOTH.map(|name| {
            let s = usize::from(name == SetName::Pin);
            let set = specification.set(name);
            let any = measured[s].iter().any(|j| !j.diameters.is_empty());
            let doubts_mm: Vec<f64> = specification
                .journals()
                .filter(|id| id.set == name)
                .map(|id| doubt_mm(findings, id, left_out))
                .collect();
            any.then(|| {
                let about = About {
                    assumed,
                    mains: name == SetName::Main,
                    middle_mm: set.size.middle_mm(),
                    tolerance_mm: set.size.width_mm(),
                    ladder_mm: &ladders_mm[s],
                    stamped: &stamped(specification, findings, assumed, name, None),
                    doubts_mm: &doubts_mm,
                };
                SetFit::new(&about, &measured[s])
            })
        });
        let bow_from = (0..mains)
            .filter(|&j| journals[j].run_out_mm.is_some() && journals[j].lever > LEAST_LEVER)
            .max_by(|&a, &b| journals[a].lever.total_cmp(&journals[b].lever));
        let ring_points: Vec<Vec<RingPoint>> = if free {
            journals.iter().map(|j| j.rings.points(specification, findings, j.id)).collect()
        } else {
            Vec::new()
        };
        let questions = free.then(|| {
            // A set that nobody measured is not drawn, so it is asked nothing.
            let asked = journals.iter().zip(ring_points).map(|(j, points)| {
                let points = if sets[j.set].is_some() { points } else { Vec::new() };
                (j.id, points)
            });
            Questions::of_rings(specification, findings, policy, asked.collect())
        });
        Model {
            findings,
            policy,
            assumed,
            size_of_set_mm: SetName::BOTH.map(|set| specification.set(set).size.middle_mm()),
            tolerance_mm: SetName::BOTH.map(|set| specification.set(set).size.width_mm()),
            temperature_shares: findings.instruments.iter().map(gauge::Instrument::temperature_share).collect(),
            depths: findings
                .damages
                .iter()
                .map(|d| DepthRange {
                    journal: 0,
                    lowest_mm: d.depth.lowest_mm,
                    likeliest_mm: d.depth.likeliest_mm,
                    highest_mm: d.depth.highest_mm,
                })
                .collect(),
            journals,
            sets,
            ladders_mm,
            bow_from,
            sides: Sides::new(),
            mains,
            traces,
            traced_points,
            questions,
        }
    }

    /// The questions about the points that are drawn; nothing on a held axis.
    pub(crate) fn questions(&self) -> Option<&Questions> {
        self.questions.as_ref()
    }

    /// The journals of a set, as indices.
    fn of_set(&self, s: usize) -> Range<usize> {
        if s == 0 { 0..self.mains } else { self.mains..self.journals.len() }
    }

    fn ladder_mm(&self, s: usize) -> &[f64] {
        &self.ladders_mm[s]
    }

    /// What a journal was most likely ground to; nothing where it is not far likelier than all others together.
    pub(crate) fn likeliest_step_mm(&self, j: usize) -> Option<f64> {
        const FAR_LIKELIER: f64 = 0.8;
        let s = self.journals[j].set;
        let set = self.sets[s].as_ref()?;
        let set::Drawable::Fitted { steps, given_set, .. } = &set.journals[j - self.of_set(s).start] else {
            return None;
        };
        let chance_of = |n: usize| set.steps.iter().zip(given_set).map(|(p, given)| p * given[n]).sum::<f64>();
        let likeliest = (0..steps.len()).max_by(|&a, &b| chance_of(a).total_cmp(&chance_of(b)))?;
        let step = steps[likeliest].step;
        (chance_of(likeliest) >= FAR_LIKELIER).then(|| self.ladder_mm(s)[step])
    }

    /// What each set was last ground to: how likely each step is, standard first; nothing for a set that nobody measured.
    pub(crate) fn steps(&self, set: SetName) -> Option<&[f64]> {
        self.sets[usize::from(set == SetName::Pin)].as_ref().map(|set| set.steps.as_slice())
    }
}

/// How much of the bow shows at a main: a parabola that is nothing at the outer ones.
fn lever(specification: &Specification, id: JournalId) -> f64 {
    let positions = &specification.main.positions_mm;
    let low = positions.iter().copied().fold(f64::INFINITY, f64::min);
    let high = positions.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if high - low <= 0.0 {
        return 0.0;
    }
    let x = (specification.position_mm(id) - low) / (high - low);
    let lever = 4.0 * x * (1.0 - x);
    if lever < 1e-9 { 0.0 } else { lever }
}

/// How much likelier stamps make each step of the ladder, for a set or for one journal.
fn stamped(
    specification: &Specification,
    findings: &Findings,
    assumed: &Assumed,
    set: SetName,
    journal: Option<JournalId>,
) -> Vec<f64> {
    const SAME_STEP_MM: f64 = 0.002;
    let stamps = findings.stamps.iter().filter(|stamp| stamp.set == set && stamp.journal == journal);
    let stamps: Vec<f64> = stamps.map(|stamp| stamp.undersize_mm).collect();
    let odds =
        |step: &f64| if stamps.iter().any(|s| (s - step).abs() <= SAME_STEP_MM) { assumed.stamp_odds } else { 1.0 };
    crank::undersizes_known_mm(specification, findings, set).iter().map(odds).collect()
}

/// Twice the standard uncertainty of a journal's largest size; nothing where it has none.
fn doubt_mm(findings: &Findings, id: JournalId, left_out: &BTreeSet<usize>) -> f64 {
    let readings = findings.readings.iter().enumerate().filter(|(n, r)| r.journal == id && !left_out.contains(n));
    let of_readings = readings.filter_map(|(_, reading)| {
        let instrument = findings.instruments.get(reading.with)?;
        let largest = reading.sizes.iter().map(|entry| entry.mm).fold(f64::NEG_INFINITY, f64::max);
        Some((largest, instrument.standard_uncertainty_mm(reading.sizes.len())))
    });
    let of_traces = findings.traces.iter().filter(|t| t.journal == id).filter_map(|trace| {
        let instrument = findings.instruments.get(trace.with)?;
        Some((trace.size.mm, instrument.standard_uncertainty_mm(1)))
    });
    of_readings.chain(of_traces).max_by(|a, b| a.0.total_cmp(&b.0)).map_or(0.0, |(_, doubt)| 2.0 * doubt)
}
