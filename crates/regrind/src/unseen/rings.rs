//! Where the drawn surface is looked at: rings of points round each journal, from one end to the other.

use crank::{Findings, JournalId, Specification, planes_apart_deg};

use super::readings::END_STATION;
use super::shape::{STEP_DEG, TURN};
use crate::surface::in_arc;

/// The rings of a journal that nobody traced: near its front, in its middle, near its rear.
pub(super) const ZETAS: [f64; 3] = [-1.2, 0.0, 1.2];
/// A trace this near to a ring stands in its place.
const STANDS_FOR: f64 = 0.45;
/// Round a trace with a wider gap than this there is metal that nobody saw.
const WIDEST_GAP_DEG: f64 = 45.0;

/// One point of a trace.
#[derive(Clone, Debug)]
pub(super) struct Traced {
    /// Direction in the journal's own frame.
    pub(super) sin: f64,
    pub(super) cos: f64,
    /// Departure, and how far it may be off.
    pub(super) departure_mm: f64,
    pub(super) sd_mm: f64,
    /// Damage that reaches it, as indices into the findings' damages.
    pub(super) damages: Vec<usize>,
}

/// One ring.
#[derive(Clone, Debug)]
pub(super) enum Ring {
    /// Every 15 degrees, by the drawn shape.
    Shape {
        /// Where along the journal: one is the rear station.
        zeta: f64,
        /// Damage that reaches it: an index into the findings' damages, and the directions that it reaches, one bit each.
        damages: Vec<(usize, u32)>,
        /// Directions near which somebody measured a diameter anywhere on the journal, one bit each.
        seen: u32,
        /// Whether somebody measured near this place along the journal.
        seen_here: bool,
    },
    /// As it was traced.
    Trace {
        /// Mean size, corrected.
        size_mm: f64,
        /// What that size may be off by itself.
        size_sd_mm: f64,
        /// The instrument of the size.
        instrument: usize,
        /// The points.
        points: Vec<Traced>,
    },
}

/// A point of any ring as the grinding axis sees it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RingPoint {
    /// Along the crank.
    pub(crate) z_mm: f64,
    /// Direction in the frame of the crank.
    pub(crate) cos: f64,
    pub(crate) sin: f64,
}

/// The rings of one journal.
#[derive(Clone, Debug, Default)]
pub(super) struct Rings {
    pub(super) rings: Vec<Ring>,
    /// First harmonic of its traces: where they say that more metal stands.
    pub(super) traced_harmonic_mm: Option<(f64, f64)>,
}

impl Rings {
    /// The rings of a journal. `measured` are the places of its diameters: direction in its own frame, and zeta.
    pub(super) fn new(
        specification: &Specification,
        findings: &Findings,
        id: JournalId,
        measured: &[(f64, f64)],
    ) -> Rings {
        let end_mm = END_STATION * specification.set(id.set).length_mm;
        let zeta_of = |at_mm: f64| if end_mm > 0.0 { at_mm / end_mm } else { 0.0 };
        let throw_deg = specification.throw_deg(id);
        let mut rings = Vec::new();
        let mut stood_for = [false; ZETAS.len()];
        let mut harmonic: Option<(f64, f64)> = None;
        let nearest = |zeta: f64| {
            let apart = |n: &usize| (ZETAS[*n] - zeta).abs();
            (0..ZETAS.len()).min_by(|a, b| apart(a).total_cmp(&apart(b))).unwrap_or(1)
        };
        for trace in findings.traces.iter().filter(|t| t.journal == id) {
            let Some(instrument) = findings.instruments.get(trace.with) else { continue };
            let zeta = zeta_of(trace.at_mm);
            if whole(&trace.angles_deg) {
                for (stood_for, ring) in stood_for.iter_mut().zip(ZETAS) {
                    *stood_for |= (zeta - ring).abs() <= STANDS_FOR;
                }
                harmonic = harmonic.or_else(|| first_harmonic(&trace.angles_deg, &trace.departures_mm, throw_deg));
            }
            let points = trace
                .angles_deg
                .iter()
                .zip(&trace.departures_mm)
                .map(|(&angle_deg, &departure_mm)| {
                    let (sin, cos) = (angle_deg - throw_deg).to_radians().sin_cos();
                    let here = |d: &crank::Damage| {
                        d.journal == id
                            && d.at_mm.is_none_or(|at| nearest(zeta_of(at)) == nearest(zeta))
                            && d.arc_deg.is_none_or(|arc| in_arc(angle_deg.rem_euclid(360.0), arc))
                    };
                    let damages = damages(findings, here);
                    Traced { sin, cos, departure_mm, sd_mm: trace.departure_sd_mm, damages }
                })
                .collect();
            rings.push(Ring::Trace {
                size_mm: instrument.corrected_mm(trace.size.mm),
                size_sd_mm: instrument.own_variance_mm2(1).sqrt(),
                instrument: trace.with,
                points,
            });
        }
        for (n, zeta) in ZETAS.into_iter().enumerate().filter(|(n, _)| !stood_for[*n]) {
            let reaching = damages(findings, |d| d.journal == id && d.at_mm.is_none_or(|at| nearest(zeta_of(at)) == n))
                .into_iter()
                .map(|index| (index, reach(findings.damages.get(index).and_then(|d| d.arc_deg), throw_deg)))
                .collect();
            rings.push(Ring::Shape {
                zeta,
                damages: reaching,
                seen: seen(measured),
                seen_here: measured.iter().any(|&(_, at)| nearest(at) == n),
            });
        }
        Rings { rings, traced_harmonic_mm: harmonic }
    }

    /// Its points as the axis sees them, in the order in which the drawn radii come.
    pub(super) fn points<'a>(
        &'a self,
        specification: &'a Specification,
        findings: &'a Findings,
        id: JournalId,
    ) -> Vec<RingPoint> {
        let end_mm = END_STATION * specification.set(id.set).length_mm;
        let middle_mm = specification.position_mm(id);
        let throw_deg = specification.throw_deg(id);
        let mut traces =
            findings.traces.iter().filter(|t| t.journal == id && findings.instruments.get(t.with).is_some());
        let mut points = Vec::new();
        for ring in &self.rings {
            match ring {
                Ring::Shape { zeta, .. } => points.extend((0..TURN).map(|n| {
                    let (sin, cos) = (throw_deg + STEP_DEG * n as f64).to_radians().sin_cos();
                    RingPoint { z_mm: middle_mm + zeta * end_mm, cos, sin }
                })),
                Ring::Trace { .. } => {
                    let Some(trace) = traces.next() else { continue };
                    points.extend(trace.angles_deg.iter().zip(&trace.departures_mm).map(|(angle_deg, _)| {
                        let (sin, cos) = angle_deg.to_radians().sin_cos();
                        RingPoint { z_mm: middle_mm + trace.at_mm, cos, sin }
                    }));
                }
            }
        }
        points
    }

    /// Whether any of its rings is drawn by its shape, and so rests on what nobody measured.
    pub(super) fn rests_on_shape(&self) -> bool {
        self.rings.iter().any(|ring| matches!(ring, Ring::Shape { .. }))
    }
}

/// Indices of the damages that reach somewhere.
fn damages(findings: &Findings, here: impl Fn(&crank::Damage) -> bool) -> Vec<usize> {
    findings.damages.iter().enumerate().filter(|(_, d)| here(d)).map(|(index, _)| index).collect()
}

/// The directions of a ring that an arc reaches, one bit each; the nearest one where it is narrower than their distance.
fn reach(arc_deg: Option<(f64, f64)>, throw_deg: f64) -> u32 {
    let Some((from, to)) = arc_deg else { return (1 << TURN) - 1 };
    let mut bits = 0;
    for n in 0..TURN {
        let frame_deg = (throw_deg + STEP_DEG * n as f64).rem_euclid(360.0);
        if in_arc(frame_deg, (from, to)) {
            bits |= 1 << n;
        }
    }
    if bits == 0 {
        let middle = from + (to - from).rem_euclid(360.0) / 2.0;
        let nearest = ((middle - throw_deg).rem_euclid(360.0) / STEP_DEG).round() as usize % TURN;
        bits = 1 << nearest;
    }
    bits
}

/// The directions near which diameters were measured, one bit each: within 45 degrees, so that two planes at right angles
/// see them all.
fn seen(measured: &[(f64, f64)]) -> u32 {
    const NEAR_DEG: f64 = 45.0 + 1e-9;
    let mut bits = 0;
    for n in 0..TURN {
        let near = |&(angle_deg, _): &(f64, f64)| planes_apart_deg(angle_deg, STEP_DEG * n as f64) <= NEAR_DEG;
        if measured.iter().any(near) {
            bits |= 1 << n;
        }
    }
    bits
}

/// Whether a trace goes all the way round.
fn whole(angles_deg: &[f64]) -> bool {
    let mut angles: Vec<f64> = angles_deg.iter().map(|a| a.rem_euclid(360.0)).filter(|a| a.is_finite()).collect();
    angles.sort_by(f64::total_cmp);
    let (Some(first), Some(last)) = (angles.first(), angles.last()) else { return false };
    let round = first + 360.0 - last;
    angles.windows(2).map(|pair| pair[1] - pair[0]).fold(round, f64::max) <= WIDEST_GAP_DEG
}

/// Where a trace says that more metal stands: its first harmonic, in the journal's own frame, by least squares over
/// directions that may be unevenly spaced.
fn first_harmonic(angles_deg: &[f64], departures_mm: &[f64], throw_deg: f64) -> Option<(f64, f64)> {
    // Normal equations of departure = m + x cos + y sin.
    let mut a = [[0.0f64; 4]; 3];
    for (&angle, &departure) in angles_deg.iter().zip(departures_mm) {
        let (sin, cos) = (angle - throw_deg).to_radians().sin_cos();
        let row = [1.0, cos, sin];
        for i in 0..3 {
            for j in 0..3 {
                a[i][j] += row[i] * row[j];
            }
            a[i][3] += row[i] * departure;
        }
    }
    for i in 0..3 {
        let pivot = a[i][i];
        if pivot.abs() < 1e-9 {
            return None;
        }
        for j in (0..3).filter(|&j| j != i) {
            let share = a[j][i] / pivot;
            let from = a[i];
            a[j].iter_mut().zip(from).for_each(|(value, from)| *value -= share * from);
        }
    }
    let solved = (a[1][3] / a[1][1], a[2][3] / a[2][2]);
    (solved.0.is_finite() && solved.1.is_finite()).then_some(solved)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 0.010 cos(a - 30°) is 0.010 cos 30° along and 0.010 sin 30° across; unevenly spaced on purpose.
    #[test]
    fn the_first_harmonic_of_a_trace_is_found() {
        let angles = [0.0, 20.0, 70.0, 110.0, 160.0, 200.0, 260.0, 300.0, 340.0];
        let departures = angles.map(|a: f64| 0.003 + 0.010 * (a - 30.0).to_radians().cos());
        let (x, y) = first_harmonic(&angles, &departures, 0.0).unwrap();
        assert!((x - 0.010 * 30f64.to_radians().cos()).abs() < 1e-12, "{x}");
        assert!((y - 0.005).abs() < 1e-12, "{y}");
        // Seen from a throw at 30 degrees it lies in line with it.
        let (x, y) = first_harmonic(&angles, &departures, 30.0).unwrap();
        assert!((x - 0.010).abs() < 1e-12 && y.abs() < 1e-12, "{x} {y}");
    }

    #[test]
    fn a_narrow_arc_reaches_the_nearest_direction() {
        assert_eq!(reach(None, 0.0).count_ones(), 24);
        assert_eq!(reach(Some((0.0, 45.0)), 0.0), 0b1111);
        // From 182 to 188 nothing of the grid lies; 185 is nearest to 180.
        assert_eq!(reach(Some((182.0, 188.0)), 0.0), 1 << 12);
        // On a pin whose throw is at 180 degrees the same arc lies at its own 0.
        assert_eq!(reach(Some((182.0, 188.0)), 180.0), 1);
    }

    #[test]
    fn a_diameter_is_seen_at_both_its_ends() {
        // Across 0 degrees: three steps either way of 0 and of 180.
        let expected: u32 = [21, 22, 23, 0, 1, 2, 3, 9, 10, 11, 12, 13, 14, 15].into_iter().map(|n| 1 << n).sum();
        assert_eq!(seen(&[(0.0, 0.0)]), expected);
        assert_eq!(seen(&[(0.0, 0.0), (90.0, 1.0)]).count_ones(), 24);
        assert_eq!(seen(&[]), 0);
    }
}
