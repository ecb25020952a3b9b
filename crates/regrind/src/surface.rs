//! The measured surface: the points that a new circle must clear, and how far out each of them lies.

use crank::{Findings, JournalId, SetName, Specification};

/// Two places along a journal are the same station when they are no farther apart than this.
const SAME_PLACE_MM: f64 = 1e-6;

/// Directions this close to the end of a damaged arc still lie in it.
const SAME_ANGLE_DEG: f64 = 1e-9;

/// Share of the loss on the diameter that counts for the worse side where nobody knows how a journal is worn: half-way
/// between even wear (one half) and wear all on one side (one).
const USUAL_SHARE: f64 = 0.75;

/// A size that was measured: a two-point reading, or the mean size of a trace.
#[derive(Clone, Debug)]
pub(crate) struct MeasuredSize {
    /// Index of its journal in [`Surface::journals`].
    pub(crate) journal: usize,
    /// Corrected size.
    pub(crate) size_mm: f64,
    /// Standard deviation of its own error (not shared with other readings).
    pub(crate) own_sd_mm: f64,
    /// Instrument, whose scale error all its readings share.
    pub(crate) instrument: usize,
    /// From a two-point reading, not from a trace.
    pub(crate) two_point: bool,
}

/// One departure of a trace.
#[derive(Clone, Debug)]
pub(crate) struct Departure {
    pub(crate) mm: f64,
    pub(crate) sd_mm: f64,
}

/// How the radius at a point follows from what was measured.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Radius {
    /// From a two-point size whose worse side is not known.
    WorseSide { size: usize },
    /// From a two-point size, shared equally, moved by the run-out.
    HalfSize { size: usize },
    /// From a trace.
    Trace { size: usize, departure: usize },
}

/// Where a direction on a pin is counted from. On a main the two are the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CountedFrom {
    /// The pin's own throw, as the planes of two-point readings are.
    OwnThrow,
    /// The first throw, as traces and damaged arcs are.
    FirstThrow,
}

/// One point of the measured surface.
#[derive(Clone, Debug)]
pub(crate) struct Point {
    /// Index of its journal in [`Surface::journals`].
    pub(crate) journal: usize,
    /// Along the journal from its mid-length.
    pub(crate) at_mm: f64,
    /// Along the crank.
    pub(crate) z_mm: f64,
    /// Direction as it was given, 0 to 360: a reading's from the throw's own, a trace's and a damage's from the first.
    pub(crate) angle_deg: f64,
    /// What `angle_deg` counts from.
    pub(crate) counted_from: CountedFrom,
    /// The direction in the frame of the crank, from the first throw.
    pub(crate) frame_deg: f64,
    /// The same as a unit vector.
    pub(crate) cos: f64,
    pub(crate) sin: f64,
    pub(crate) radius: Radius,
    /// What a run-out adds to the radius here.
    pub(crate) lift_mm: f64,
    /// Damage that reaches this point, as indices into [`Surface::depths`].
    pub(crate) damages: Vec<usize>,
}

/// What is known of one journal as a whole.
#[derive(Clone, Debug)]
pub(crate) struct Journal {
    pub(crate) id: JournalId,
    /// Middle of the limits of the size it was last ground to.
    pub(crate) last_ground_mm: f64,
    /// The share of the loss that the worse side has lost, where it is known.
    pub(crate) share: Option<f64>,
    /// Whether the share counts: some of its diameters came without a run-out.
    pub(crate) share_counts: bool,
    /// Its points, as a range of [`Surface::points`].
    pub(crate) points: std::ops::Range<usize>,
}

/// Depth of bad metal: lowest, likeliest, highest.
#[derive(Clone, Copy, Debug)]
pub(crate) struct DepthRange {
    pub(crate) journal: usize,
    pub(crate) lowest_mm: f64,
    pub(crate) likeliest_mm: f64,
    pub(crate) highest_mm: f64,
}

/// Everything that the clean-up question needs of the findings, mains first, then pins, each from the nose.
#[derive(Clone, Debug)]
pub(crate) struct Surface {
    pub(crate) journals: Vec<Journal>,
    pub(crate) points: Vec<Point>,
    pub(crate) sizes: Vec<MeasuredSize>,
    pub(crate) departures: Vec<Departure>,
    pub(crate) depths: Vec<DepthRange>,
    /// Error limit of each instrument.
    pub(crate) error_limits_mm: Vec<f64>,
    /// What temperature leaves uncertain in all sizes of each instrument, as a share of the size.
    pub(crate) temperature_shares: Vec<f64>,
    /// Damage that touches no measured point: its index, and the journal's id.
    pub(crate) unmeasured_damage: Vec<(usize, JournalId)>,
}

/// One set of values for everything that is not known exactly.
#[derive(Clone, Debug)]
pub(crate) struct State {
    pub(crate) sizes_mm: Vec<f64>,
    pub(crate) departures_mm: Vec<f64>,
    pub(crate) depths_mm: Vec<f64>,
    pub(crate) shares: Vec<f64>,
}

/// The two things that every point is laid out from.
#[derive(Clone, Copy)]
struct Crank<'a> {
    specification: &'a Specification,
    findings: &'a Findings,
}

impl Surface {
    /// Lays out the points. `last_ground_mm` is the middle of the limits each set was last ground to.
    pub(crate) fn new(
        specification: &Specification,
        findings: &Findings,
        last_ground_mm: impl Fn(SetName) -> f64,
    ) -> Surface {
        let mut surface = Surface {
            journals: Vec::new(),
            points: Vec::new(),
            sizes: Vec::new(),
            departures: Vec::new(),
            depths: Vec::new(),
            error_limits_mm: findings.instruments.iter().map(|i| i.error_limit_mm).collect(),
            temperature_shares: findings.instruments.iter().map(|i| i.temperature_share()).collect(),
            unmeasured_damage: Vec::new(),
        };
        let crank = Crank { specification, findings };
        for id in specification.journals() {
            let share = findings.worn.iter().find(|worn| worn.journal == id).map(|worn| worn.share);
            let first = surface.points.len();
            let journal = surface.journals.len();
            surface.journals.push(Journal {
                id,
                last_ground_mm: last_ground_mm(id.set),
                share,
                share_counts: false,
                points: first..first,
            });
            surface.add_readings(crank, id, journal);
            surface.add_traces(crank, id, journal);
            surface.journals[journal].points = first..surface.points.len();
            surface.add_damage(crank, id, journal);
            surface.journals[journal].points = first..surface.points.len();
        }
        surface
    }

    fn add_readings(&mut self, crank: Crank<'_>, id: JournalId, journal: usize) {
        let findings = crank.findings;
        let run_out = findings.run_outs.iter().find(|r| r.journal == id);
        for reading in findings.readings.iter().filter(|r| r.journal == id) {
            let Some(instrument) = findings.instruments.get(reading.with) else { continue };
            if reading.sizes.is_empty() {
                continue;
            }
            let repeats = reading.sizes.len();
            let mean = reading.sizes.iter().map(|entry| entry.mm).sum::<f64>() / repeats as f64;
            let size = self.sizes.len();
            self.sizes.push(MeasuredSize {
                journal,
                size_mm: instrument.corrected_mm(mean),
                own_sd_mm: instrument.own_variance_mm2(repeats).sqrt(),
                instrument: reading.with,
                two_point: true,
            });
            let radius = if run_out.is_some() { Radius::HalfSize { size } } else { Radius::WorseSide { size } };
            self.journals[journal].share_counts |= run_out.is_none();
            for angle_deg in [reading.plane_deg, reading.plane_deg + 180.0] {
                self.add_point(crank, journal, reading.at_mm, angle_deg, CountedFrom::OwnThrow, radius);
            }
        }
    }

    fn add_traces(&mut self, crank: Crank<'_>, id: JournalId, journal: usize) {
        let findings = crank.findings;
        for trace in findings.traces.iter().filter(|t| t.journal == id) {
            let Some(instrument) = findings.instruments.get(trace.with) else { continue };
            let size = self.sizes.len();
            self.sizes.push(MeasuredSize {
                journal,
                size_mm: instrument.corrected_mm(trace.size.mm),
                own_sd_mm: instrument.own_variance_mm2(1).sqrt(),
                instrument: trace.with,
                two_point: false,
            });
            for (&mm, &angle_deg) in trace.departures_mm.iter().zip(&trace.angles_deg) {
                let departure = self.departures.len();
                self.departures.push(Departure { mm, sd_mm: trace.departure_sd_mm });
                self.add_point(
                    crank,
                    journal,
                    trace.at_mm,
                    angle_deg,
                    CountedFrom::FirstThrow,
                    Radius::Trace { size, departure },
                );
            }
        }
    }

    fn add_damage(&mut self, crank: Crank<'_>, id: JournalId, journal: usize) {
        let findings = crank.findings;
        let measured = self.journals[journal].points.clone();
        for (index, damage) in findings.damages.iter().enumerate().filter(|(_, d)| d.journal == id) {
            let depth = self.depths.len();
            self.depths.push(DepthRange {
                journal,
                lowest_mm: damage.depth.lowest_mm,
                likeliest_mm: damage.depth.likeliest_mm,
                highest_mm: damage.depth.highest_mm,
            });
            let mut touched = false;
            for point in &mut self.points[measured.clone()] {
                let here = damage.at_mm.is_none_or(|at| (at - point.at_mm).abs() <= SAME_PLACE_MM)
                    && damage.arc_deg.is_none_or(|arc| in_arc(point.frame_deg, arc));
                if here {
                    point.damages.push(depth);
                    touched = true;
                }
            }
            if !touched {
                self.unmeasured_damage.push((index, id));
                // Nobody measured where the damage is. The nearest measured radius stands in for the one there:
                // leaving the damage out would be the more dangerous guess.
                for angle_deg in arc_points(damage.arc_deg) {
                    let nearest = self.points[measured.clone()].iter().min_by(|a, b| {
                        let far = |p: &Point| {
                            (damage.at_mm.map_or(0.0, |at| (at - p.at_mm).abs()), apart_deg(p.frame_deg, angle_deg))
                        };
                        let (a, b) = (far(a), far(b));
                        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
                    });
                    let Some((at_mm, radius)) = nearest.map(|p| (damage.at_mm.unwrap_or(p.at_mm), p.radius)) else {
                        continue;
                    };
                    self.add_point(crank, journal, at_mm, angle_deg, CountedFrom::FirstThrow, radius);
                    if let Some(point) = self.points.last_mut() {
                        point.damages.push(depth);
                    }
                }
            }
        }
    }

    fn add_point(
        &mut self,
        crank: Crank<'_>,
        journal: usize,
        at_mm: f64,
        angle_deg: f64,
        counted_from: CountedFrom,
        radius: Radius,
    ) {
        let Crank { specification, findings } = crank;
        let id = self.journals[journal].id;
        let angle_deg = angle_deg.rem_euclid(360.0);
        let frame_deg = match counted_from {
            CountedFrom::OwnThrow => (specification.throw_deg(id) + angle_deg).rem_euclid(360.0),
            CountedFrom::FirstThrow => angle_deg,
        };
        let (sin, cos) = frame_deg.to_radians().sin_cos();
        let lift_mm = findings
            .run_outs
            .iter()
            .find(|r| r.journal == id)
            .map_or(0.0, |r| r.total_mm / 2.0 * (frame_deg - r.high_deg).to_radians().cos());
        let z_mm = specification.position_mm(id) + at_mm;
        self.points.push(Point {
            journal,
            at_mm,
            z_mm,
            angle_deg,
            counted_from,
            frame_deg,
            cos,
            sin,
            radius,
            lift_mm,
            damages: Vec::new(),
        });
    }

    /// The readings, the likeliest damage and the usual share of wear, as they stand.
    pub(crate) fn as_it_stands(&self) -> State {
        State {
            sizes_mm: self.sizes.iter().map(|s| s.size_mm).collect(),
            departures_mm: self.departures.iter().map(|d| d.mm).collect(),
            depths_mm: self.depths.iter().map(|d| d.likeliest_mm).collect(),
            shares: self.journals.iter().map(|j| j.share.unwrap_or(USUAL_SHARE)).collect(),
        }
    }

    /// Radius of sound metal at every point: measured radius less the depth of the damage there.
    ///
    /// Without a run-out two-point sizes do not say on which side the metal went. With w the loss on the diameter and
    /// f the share of it that the worse side has lost, both ends of the plane are taken at (last ground size)/2 - f w.
    pub(crate) fn sound_radii_mm(&self, state: &State, radii_mm: &mut Vec<f64>) {
        radii_mm.clear();
        radii_mm.extend(self.points.iter().map(|point| {
            let radius = match point.radius {
                Radius::HalfSize { size } => state.sizes_mm[size] / 2.0,
                Radius::Trace { size, departure } => state.sizes_mm[size] / 2.0 + state.departures_mm[departure],
                Radius::WorseSide { size } => {
                    let measured = state.sizes_mm[size];
                    let ground = self.journals[point.journal].last_ground_mm;
                    let loss = ground - measured;
                    if loss > 0.0 { ground / 2.0 - state.shares[point.journal] * loss } else { measured / 2.0 }
                }
            };
            let depth = point.damages.iter().map(|&d| state.depths_mm[d]).fold(0.0, f64::max);
            radius + point.lift_mm - depth
        }));
    }

    /// The same for the search of a placement: on a journal that was traced too, two-point sizes have their metal where the
    /// nearest trace has it. Its diameters do not say on which side it went, but nobody who swept the journal is without
    /// that. With d the departures of the trace, the end of a size at an angle lies at
    ///
    /// ```text
    /// size/2 + (d(angle) - d(angle + 180))/2
    /// ```
    ///
    /// The spare of the readings as they stand takes both ends as worn all the same.
    pub(crate) fn sided_radii_mm(&self, state: &State, radii_mm: &mut Vec<f64>) {
        self.sound_radii_mm(state, radii_mm);
        for journal in &self.journals {
            let traced = self.traced(journal);
            for n in journal.points.clone().filter(|_| !traced.is_empty()) {
                let point = &self.points[n];
                let Radius::WorseSide { size } = point.radius else { continue };
                let far = |at_mm: f64| (at_mm - point.at_mm).abs();
                let Some(trace) = traced.iter().min_by(|a, b| far(a.at_mm).total_cmp(&far(b.at_mm))) else { continue };
                let departure = |angle_deg: f64| -> Option<f64> {
                    Some(
                        departure_at(&trace.departures, angle_deg)?
                            .iter()
                            .map(|&(d, share)| share * state.departures_mm[d])
                            .sum(),
                    )
                };
                if let (Some(here), Some(there)) = (departure(point.frame_deg), departure(point.frame_deg + 180.0)) {
                    let depth = point.damages.iter().map(|&d| state.depths_mm[d]).fold(0.0, f64::max);
                    radii_mm[n] = (state.sizes_mm[size] + here - there) / 2.0 + point.lift_mm - depth;
                }
            }
        }
    }

    /// The traces of a journal.
    fn traced(&self, journal: &Journal) -> Vec<Traced> {
        let mut traces: Vec<Traced> = Vec::new();
        for point in &self.points[journal.points.clone()] {
            let Radius::Trace { size, departure } = point.radius else { continue };
            let here = (point.frame_deg, departure);
            match traces.iter_mut().find(|trace| trace.size == size) {
                // Damage adds points that borrow a departure traced elsewhere; each is taken where it was traced.
                Some(trace) if trace.departures.iter().any(|&(_, known)| known == departure) => {}
                Some(trace) => trace.departures.push(here),
                None => traces.push(Traced { size, at_mm: point.at_mm, departures: vec![here] }),
            }
        }
        for trace in &mut traces {
            trace.departures.sort_by(|a, b| a.0.total_cmp(&b.0));
        }
        traces
    }
}

/// One trace: its mean size, where it was taken along the journal, and its departures by their directions.
struct Traced {
    size: usize,
    at_mm: f64,
    departures: Vec<(f64, usize)>,
}

/// The departure of a trace in a direction, its points sorted by theirs: the one traced there, or its two neighbours, each
/// with its weight. Nothing in a gap wider than the condition itself interpolates over.
pub(crate) fn departure_at(traced: &[(f64, usize)], angle_deg: f64) -> Option<Vec<(usize, f64)>> {
    const SAME_DEG: f64 = 1e-6;
    const WIDEST_GAP_DEG: f64 = 45.0;
    let wanted = angle_deg.rem_euclid(360.0);
    let next = traced.partition_point(|(angle, _)| *angle < wanted - SAME_DEG);
    let after = traced.get(next).or(traced.first())?;
    let apart = (after.0 - wanted).rem_euclid(360.0);
    if apart <= SAME_DEG || apart >= 360.0 - SAME_DEG {
        return Some(vec![(after.1, 1.0)]);
    }
    let before = next.checked_sub(1).and_then(|i| traced.get(i)).or(traced.last())?;
    let gap = (after.0 - before.0).rem_euclid(360.0);
    if gap <= 0.0 || gap > WIDEST_GAP_DEG {
        return None;
    }
    let share = (wanted - before.0).rem_euclid(360.0) / gap;
    Some(vec![(before.1, 1.0 - share), (after.1, share)])
}

/// Whether a direction lies in an arc counted the way angles grow, both ends included.
pub(crate) fn in_arc(angle_deg: f64, (from, to): (f64, f64)) -> bool {
    let width = if (to - from).abs() >= 360.0 { 360.0 } else { (to - from).rem_euclid(360.0) };
    let beyond = (angle_deg - from).rem_euclid(360.0);
    beyond <= width + SAME_ANGLE_DEG || beyond >= 360.0 - SAME_ANGLE_DEG
}

/// Directions at which to stand in for an arc that nobody measured: its ends and its middle, or the middle alone where
/// the arc is narrow; without an arc, every quarter turn.
fn arc_points(arc_deg: Option<(f64, f64)>) -> Vec<f64> {
    let Some((from, to)) = arc_deg else { return vec![0.0, 90.0, 180.0, 270.0] };
    let width = (to - from).rem_euclid(360.0);
    if width < 10.0 { vec![from + width / 2.0] } else { vec![from, from + width / 2.0, from + width] }
}

/// The angle between two directions, 0 to 180.
fn apart_deg(a: f64, b: f64) -> f64 {
    let apart = (a - b).rem_euclid(360.0);
    apart.min(360.0 - apart)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arcs_run_the_way_angles_grow() {
        assert!(in_arc(10.0, (350.0, 20.0)));
        assert!(in_arc(350.0, (350.0, 20.0)));
        assert!(in_arc(20.0, (350.0, 20.0)));
        assert!(!in_arc(180.0, (350.0, 20.0)));
        assert!(in_arc(180.0, (20.0, 350.0)));
        assert!(!in_arc(10.0, (20.0, 350.0)));
        assert!(in_arc(77.0, (0.0, 360.0)));
        assert!(in_arc(0.0, (359.999, 0.001)));
        assert!(in_arc(90.0, (90.0, 90.0)));
        assert!(!in_arc(90.1, (90.0, 90.0)));
    }

    #[test]
    fn an_unmeasured_arc_is_stood_in_for() {
        assert_eq!(arc_points(Some((350.0, 10.0))), [350.0, 360.0, 370.0]);
        assert_eq!(arc_points(Some((359.0, 1.0))), [360.0]);
        assert_eq!(arc_points(None).len(), 4);
        assert_eq!(apart_deg(350.0, 10.0), 20.0);
    }
}

#[cfg(test)]
mod by_hand;
