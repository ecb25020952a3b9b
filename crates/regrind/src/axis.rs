//! The grinding axis: the largest spare stock that any permitted placement of the crank leaves.

use std::ops::Range;

use crank::{Findings, JournalId, SetName, Specification};
use programme::{Basis, Optimum, Programme, Unsolved};

use crate::surface::Surface;
use crate::unseen::RingPoint;
use crate::{Axis, IndexDatum, PinCentre, Policy, SetUp};

mod least_move;
mod told;

pub(crate) use least_move::Mover;
pub use least_move::SpareAgainstShift;
pub(crate) use told::{Chooser, PILOT, Rooms, Takes, Told};

/// How far the axis may be thought away from its present place before the answer stops being of interest.
const AXIS_REACH_MM: f64 = 20.0;

/// No spare stock is larger than the crank.
const SPARE_REACH_MM: f64 = 10_000.0;

/// Two placements whose spare differs by no more than this are as good as each other.
const AS_GOOD_MM: f64 = 1e-10;

/// Steps of true geometry after the programme's first answer; two are nearly always enough.
const TRUE_STEPS: usize = 6;

/// The unknowns of the axis: its offset at mid-length and at the outer end, in two directions.
const AXIS_UNKNOWNS: usize = 4;

/// A new main axis: the straight line whose offset at z is (x0 + sx (z - zc), y0 + sy (z - zc)), zc the mid-point
/// between the outer mains, x toward the first throw.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AxisLine {
    /// Offset toward the first throw at mid-length.
    pub x0_mm: f64,
    /// Offset square to it.
    pub y0_mm: f64,
    /// Slope toward the first throw.
    pub sx: f64,
    /// Slope square to it.
    pub sy: f64,
}

impl AxisLine {
    /// Its offset at a distance along the crank from mid-length: toward the first throw, and square to it.
    ///
    /// # Example
    /// ```
    /// let line = regrind::AxisLine { x0_mm: 0.01, y0_mm: 0.0, sx: 0.0001, sy: 0.0 };
    /// assert!((line.at_mm(200.0).0 - 0.03).abs() < 1e-12);
    /// ```
    pub fn at_mm(&self, from_middle_mm: f64) -> (f64, f64) {
        (self.x0_mm + self.sx * from_middle_mm, self.y0_mm + self.sy * from_middle_mm)
    }
}

/// Where the wheel is to go: the axis, the turn of all throws, and each new pin's error of throw and direction.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Placement {
    /// The new main axis.
    pub line: AxisLine,
    /// Turn common to all throws, as a length at the throw.
    pub turn_mm: f64,
    /// For each pin: new throw less book throw, and its error of direction as a length at the throw.
    pub pins_mm: Vec<(f64, f64)>,
}

/// One pin as the axis sees it.
#[derive(Clone, Debug)]
struct Pin {
    position_mm: f64,
    throw_rad: f64,
    /// Measured error of the present centre along and across the throw.
    present_mm: (f64, f64),
}

/// The fixed geometry of one crank: which way each point looks, and what each placement does to it.
#[derive(Clone, Debug)]
pub(crate) struct Geometry {
    axis: Axis,
    turns: bool,
    centre_mm: f64,
    /// Where the outer mains stand along the crank.
    ends_mm: [f64; 2],
    half_span_mm: f64,
    throw_mm: f64,
    /// The errors of a throw are counted from the middle of its tolerance, so that both ends are as far away.
    throw_middle_mm: f64,
    throw_reach_mm: f64,
    index_tolerance_mm: f64,
    pins: Vec<Pin>,
    /// For each point: pin (none for mains), position, direction, and what the present centre error adds.
    points: Vec<Seen>,
    mains: Range<usize>,
    pins_range: Range<usize>,
}

#[derive(Clone, Copy, Debug)]
struct Seen {
    pin: Option<usize>,
    z_mm: f64,
    cos: f64,
    sin: f64,
    /// What the error of the pin's present centre adds to its clearance from a new centre in the middle of its tolerance.
    present_mm: f64,
}

impl Geometry {
    pub(crate) fn new(specification: &Specification, findings: &Findings, policy: &Policy, surface: &Surface) -> Self {
        let points = surface.points.iter().map(|point| {
            let id = surface.journals[point.journal].id;
            (id, RingPoint { z_mm: point.z_mm, cos: point.cos, sin: point.sin })
        });
        Geometry::of_points(specification, findings, policy, points.collect())
    }

    /// The geometry of points in the order of the journals, mains first.
    fn of_points(
        specification: &Specification,
        findings: &Findings,
        policy: &Policy,
        placed: Vec<(JournalId, RingPoint)>,
    ) -> Self {
        let throw_mm = specification.throw_mm;
        let ends = |set: SetName| {
            let positions = &specification.set(set).positions_mm;
            let low = positions.iter().copied().fold(f64::INFINITY, f64::min);
            let high = positions.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            (low, high)
        };
        let (low, high) = ends(SetName::Main);
        let centre_mm = (low + high) / 2.0;
        let half_span_mm = placed.iter().map(|(_, p)| (p.z_mm - centre_mm).abs()).fold(1.0, f64::max);
        let tolerance = specification.throw_tolerance_mm.unwrap_or(crank::ThrowTolerance::either_way(0.0));
        let throw_middle_mm = tolerance.low_mm.midpoint(tolerance.high_mm);
        let pins = (1..=specification.pin.count())
            .map(|number| {
                let id = JournalId { set: SetName::Pin, number };
                let present_mm = findings
                    .centres
                    .iter()
                    .find(|c| c.journal == id)
                    .map_or((0.0, 0.0), |c| (c.throw_mm, throw_mm * c.index_deg.to_radians()));
                Pin {
                    position_mm: specification.position_mm(id),
                    throw_rad: specification.throw_deg(id).to_radians(),
                    present_mm,
                }
            })
            .collect::<Vec<_>>();
        let mains = 0..placed.iter().filter(|(id, _)| id.set == SetName::Main).count();
        let pins_range = mains.end..placed.len();
        let points = placed
            .iter()
            .map(|&(id, point)| {
                let pin = (id.set == SetName::Pin).then(|| id.number - 1);
                let present_mm = pin.map_or(0.0, |k| {
                    let (across, along) = pins[k].look(point.cos, point.sin);
                    (pins[k].present_mm.0 - throw_middle_mm) * along + pins[k].present_mm.1 * across
                });
                Seen { pin, z_mm: point.z_mm, cos: point.cos, sin: point.sin, present_mm }
            })
            .collect();
        Geometry {
            axis: policy.axis,
            turns: policy.axis == Axis::Free && policy.index_datum == IndexDatum::Free,
            centre_mm,
            ends_mm: [low, high],
            half_span_mm,
            throw_mm,
            throw_middle_mm,
            throw_reach_mm: (tolerance.high_mm - tolerance.low_mm) / 2.0,
            index_tolerance_mm: throw_mm * specification.index_tolerance_deg.unwrap_or(0.0).to_radians(),
            pins,
            points,
            mains,
            pins_range,
        }
    }

    pub(crate) fn is_held(&self) -> bool {
        self.axis == Axis::Held
    }

    fn unknowns(&self) -> usize {
        AXIS_UNKNOWNS + usize::from(self.turns) + 2 * self.pins.len() + 1
    }

    /// What one more unit of each unknown takes from a point's clearance; the last entry is the spare's own.
    fn row(&self, seen: &Seen) -> Vec<f64> {
        let mut row = vec![0.0; self.unknowns()];
        let lever = (seen.z_mm - self.centre_mm) / self.half_span_mm;
        row[..AXIS_UNKNOWNS].copy_from_slice(&[seen.cos, seen.sin, seen.cos * lever, seen.sin * lever]);
        if let Some(k) = seen.pin {
            let (across, along) = self.pins[k].look(seen.cos, seen.sin);
            let first = AXIS_UNKNOWNS + usize::from(self.turns);
            row[first + 2 * k] = along;
            row[first + 2 * k + 1] = across;
            if self.turns {
                row[AXIS_UNKNOWNS] = across;
            }
        }
        if let Some(spare) = row.last_mut() {
            *spare = 1.0;
        }
        row
    }

    /// How far each unknown may go: the pins' errors keep their tolerances by it.
    fn reach(&self) -> Vec<f64> {
        let axis_mm = if self.axis == Axis::Free { AXIS_REACH_MM } else { 0.0 };
        let mut reach = vec![axis_mm; AXIS_UNKNOWNS + usize::from(self.turns)];
        reach.extend(self.pins.iter().flat_map(|_| [self.throw_reach_mm, self.index_tolerance_mm]));
        reach.push(SPARE_REACH_MM);
        reach
    }

    /// The programme over some of the points: the unknowns are the axis, the common turn where it is free, each pin's
    /// new error of throw and direction (which keep their tolerances as their reach), and the spare stock itself.
    fn programme(&self, points: Range<usize>) -> Programme {
        let mut goal = vec![0.0; self.unknowns()];
        if let Some(spare) = goal.last_mut() {
            *spare = 1.0;
        }
        let mut programme = Programme::new(goal, self.reach());
        for seen in &self.points[points] {
            programme.add_row(&self.row(seen));
        }
        programme
    }
}

impl Pin {
    /// A direction as this throw sees it: across (the way it turns) and along.
    fn look(&self, cos: f64, sin: f64) -> (f64, f64) {
        let (throw_sin, throw_cos) = self.throw_rad.sin_cos();
        (sin * throw_cos - cos * throw_sin, cos * throw_cos + sin * throw_sin)
    }
}

/// The three questions that can be asked of one crank: the mains alone, the pins alone, and both on one axis.
#[derive(Clone, Debug)]
pub(crate) struct Questions {
    pub(crate) geometry: Geometry,
    main: Programme,
    pin: Programme,
    both: Programme,
}

/// Where the solutions of the three questions last stood.
#[derive(Clone, Debug)]
pub(crate) struct Stand {
    main: Basis,
    pin: Basis,
    both: Basis,
    limits_mm: Vec<f64>,
}

/// The best placement for one question.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Best {
    /// The programme's optimum.
    pub(crate) spare_mm: f64,
    /// The point that holds it there most.
    pub(crate) governing: Option<usize>,
    pub(crate) placement: Placement,
}

impl Questions {
    pub(crate) fn new(geometry: Geometry) -> Questions {
        let (mains, pins, all) = (geometry.mains.clone(), geometry.pins_range.clone(), 0..geometry.points.len());
        Questions {
            main: geometry.programme(mains),
            pin: geometry.programme(pins),
            both: geometry.programme(all),
            geometry,
        }
    }

    /// The questions about rings of points that are drawn, journal by journal, mains first.
    pub(crate) fn of_rings(
        specification: &Specification,
        findings: &Findings,
        policy: &Policy,
        rings: Vec<(JournalId, Vec<RingPoint>)>,
    ) -> Questions {
        let placed = rings.into_iter().flat_map(|(id, points)| points.into_iter().map(move |point| (id, point)));
        Questions::new(Geometry::of_points(specification, findings, policy, placed.collect()))
    }

    pub(crate) fn start(&self) -> Stand {
        Stand { main: self.main.start(), pin: self.pin.start(), both: self.both.start(), limits_mm: Vec::new() }
    }

    fn range(&self, set: Option<SetName>) -> Range<usize> {
        match set {
            Some(SetName::Main) => self.geometry.mains.clone(),
            Some(SetName::Pin) => self.geometry.pins_range.clone(),
            None => 0..self.geometry.points.len(),
        }
    }

    /// Whether a set has any measured point.
    pub(crate) fn is_measured(&self, set: SetName) -> bool {
        !self.range(Some(set)).is_empty()
    }

    /// How far each point of a question lies outside the wanted circle with everything at its present place.
    fn limits(&self, set: Option<SetName>, radii_mm: &[f64], wanted_mm: [f64; 2], limits_mm: &mut Vec<f64>) {
        let range = self.range(set);
        limits_mm.clear();
        limits_mm.extend(
            self.geometry.points[range.clone()]
                .iter()
                .zip(&radii_mm[range])
                .map(|(seen, radius)| radius - wanted_mm[usize::from(seen.pin.is_some())] + self.present_share(seen)),
        );
    }

    /// On a held axis each pin is ground about its present centre, wherever that is.
    fn present_share(&self, seen: &Seen) -> f64 {
        if self.geometry.is_held() { 0.0 } else { seen.present_mm }
    }

    /// The spare stock of a question for radii that are sound to `radii_mm`, asked for circles of radius `wanted_mm`
    /// (main, pin); `set` leaves the other set out.
    pub(crate) fn spare_mm(
        &self,
        set: Option<SetName>,
        radii_mm: &[f64],
        wanted_mm: [f64; 2],
        stand: &mut Stand,
    ) -> Result<f64, Unsolved> {
        let mut limits_mm = std::mem::take(&mut stand.limits_mm);
        self.limits(set, radii_mm, wanted_mm, &mut limits_mm);
        let spare = if self.geometry.is_held() {
            Ok(limits_mm.iter().copied().fold(f64::INFINITY, f64::min))
        } else {
            let (programme, basis) = self.ask(set, stand);
            programme.value(&limits_mm, basis)
        };
        stand.limits_mm = limits_mm;
        spare
    }

    /// Whether a pair of circles leaves at least `stock_mm` everywhere.
    pub(crate) fn pair_cleans_up(
        &self,
        radii_mm: &[f64],
        wanted_mm: [f64; 2],
        stock_mm: f64,
        stand: &mut Stand,
    ) -> Result<bool, Unsolved> {
        if self.geometry.is_held() {
            return Ok(self.spare_mm(None, radii_mm, wanted_mm, stand)? >= stock_mm);
        }
        let mut limits_mm = std::mem::take(&mut stand.limits_mm);
        self.limits(None, radii_mm, wanted_mm, &mut limits_mm);
        let found = self.both.reaches(&limits_mm, &mut stand.both, stock_mm);
        stand.limits_mm = limits_mm;
        found
    }

    fn ask<'a>(&'a self, set: Option<SetName>, stand: &'a mut Stand) -> (&'a Programme, &'a mut Basis) {
        match set {
            Some(SetName::Main) => (&self.main, &mut stand.main),
            Some(SetName::Pin) => (&self.pin, &mut stand.pin),
            None => (&self.both, &mut stand.both),
        }
    }

    /// The best placement, the least far from the present axis of those that are as good.
    pub(crate) fn best(
        &self,
        set: Option<SetName>,
        radii_mm: &[f64],
        wanted_mm: [f64; 2],
        stand: &mut Stand,
    ) -> Result<Best, Unsolved> {
        let range = self.range(set);
        let mut limits_mm = Vec::new();
        self.limits(set, radii_mm, wanted_mm, &mut limits_mm);
        if self.geometry.is_held() {
            let governing = (0..limits_mm.len()).min_by(|&a, &b| limits_mm[a].total_cmp(&limits_mm[b]));
            return Ok(Best {
                spare_mm: governing.map_or(f64::INFINITY, |i| limits_mm[i]),
                governing: governing.map(|i| range.start + i),
                placement: self.geometry.present_placement(),
            });
        }
        let (programme, basis) = self.ask(set, stand);
        let optimum = programme.solve(&limits_mm, basis)?;
        let geometry = &self.geometry;
        let rows = geometry.points[range.clone()].iter().map(|seen| geometry.row(seen));
        // About throws that are true to the book.
        let true_throws =
            geometry.unknowns_of(&Placement { pins_mm: vec![(0.0, 0.0); geometry.pins.len()], ..Placement::default() });
        let at = geometry.least_shift(rows, &limits_mm, &optimum, &true_throws).unwrap_or(optimum.at);
        Ok(Best {
            spare_mm: optimum.value,
            governing: optimum.governing.first().map(|&(row, _)| range.start + row),
            placement: geometry.placement(&at),
        })
    }

    /// The spare stock of a placement in true geometry, after moving it to where true geometry is best.
    ///
    /// The programme takes distances to first order. A pin turned by psi really moves in by throw psi²/2, and a
    /// sideways shift e gives back e²/2r, together up to half a micron. Each step here makes a programme of the true
    /// distances at the present placement; the best placement met is kept. Where the programme is indifferent, true
    /// geometry has several hilltops a few nanometres apart; the one nearest the present axis is taken.
    pub(crate) fn exact(&self, radii_mm: &[f64], wanted_mm: [f64; 2], from: &Best) -> (f64, Placement) {
        let geometry = &self.geometry;
        let mut placement = from.placement.clone();
        if geometry.is_held() {
            return (from.spare_mm, placement);
        }
        let mut best = geometry.true_spare(radii_mm, wanted_mm, &placement);
        for _ in 0..TRUE_STEPS {
            let better = geometry
                .relinearised(radii_mm, wanted_mm, &placement)
                .into_iter()
                .map(|next| (geometry.true_spare(radii_mm, wanted_mm, &next), next))
                .max_by(|a, b| a.0.total_cmp(&b.0))
                .filter(|(spare, _)| *spare > best + 1e-12);
            let Some((spare, next)) = better else { break };
            (best, placement) = (spare, next);
        }
        (best, placement)
    }
}

impl Geometry {
    pub(crate) fn present_placement(&self) -> Placement {
        Placement {
            line: AxisLine::default(),
            turn_mm: 0.0,
            pins_mm: self.pins.iter().map(|pin| pin.present_mm).collect(),
        }
    }

    fn placement(&self, at: &[f64]) -> Placement {
        let get = |i: usize| at.get(i).copied().unwrap_or(0.0);
        let first = AXIS_UNKNOWNS + usize::from(self.turns);
        Placement {
            line: AxisLine {
                x0_mm: get(0),
                y0_mm: get(1),
                sx: get(2) / self.half_span_mm,
                sy: get(3) / self.half_span_mm,
            },
            turn_mm: if self.turns { get(AXIS_UNKNOWNS) } else { 0.0 },
            pins_mm: (0..self.pins.len())
                .map(|k| (get(first + 2 * k) + self.throw_middle_mm, get(first + 2 * k + 1)))
                .collect(),
        }
    }

    fn unknowns_of(&self, placement: &Placement) -> Vec<f64> {
        let line = placement.line;
        let mut at = vec![line.x0_mm, line.y0_mm, line.sx * self.half_span_mm, line.sy * self.half_span_mm];
        if self.turns {
            at.push(placement.turn_mm);
        }
        at.extend(placement.pins_mm.iter().flat_map(|&(throw, index)| [throw - self.throw_middle_mm, index]));
        at
    }

    /// Of all points as good as the optimum, the one least far from `about` in its largest unknown. The optimum need not
    /// be unique: a grinder would not move the crank further than it pays, and a step of true geometry that strays
    /// where the programme is indifferent would leave the place its distances were taken at.
    fn least_shift(
        &self,
        rows: impl Iterator<Item = Vec<f64>>,
        limits_mm: &[f64],
        optimum: &Optimum,
        about: &[f64],
    ) -> Option<Vec<f64>> {
        // The last unknown, which was the spare, is now the largest shift.
        let unknowns = self.unknowns();
        let mut goal = vec![0.0; unknowns];
        *goal.last_mut()? = -1.0;
        let mut reach = self.reach();
        *reach.last_mut()? = 2.0 * AXIS_REACH_MM;
        let mut programme = Programme::new(goal, reach);
        let mut limits = Vec::with_capacity(limits_mm.len() + 2 * unknowns);
        for (mut row, limit) in rows.zip(limits_mm) {
            *row.last_mut()? = 0.0;
            programme.add_row(&row);
            limits.push(limit - optimum.value + AS_GOOD_MM);
        }
        for (j, &place) in about.iter().enumerate().take(unknowns - 1) {
            for sign in [1.0, -1.0] {
                let mut row = vec![0.0; unknowns];
                row[j] = sign;
                *row.last_mut()? = -1.0;
                programme.add_row(&row);
                limits.push(sign * place);
            }
        }
        programme.solve(&limits, &mut programme.start()).ok().map(|found| found.at)
    }

    /// The new pin's centre in the plane of its mid-length.
    fn new_centre_mm(&self, k: usize, placement: &Placement) -> (f64, f64) {
        let pin = &self.pins[k];
        let (throw_error, index_error) = placement.pins_mm[k];
        let (x, y) = self.axis_at(placement.line, pin.position_mm);
        let angle = pin.throw_rad + (placement.turn_mm + index_error) / self.throw_mm;
        (x + (self.throw_mm + throw_error) * angle.cos(), y + (self.throw_mm + throw_error) * angle.sin())
    }

    /// The pin's present centre in the same plane.
    fn present_centre_mm(&self, k: usize) -> (f64, f64) {
        let pin = &self.pins[k];
        let (throw_error, index_error) = pin.present_mm;
        let angle = pin.throw_rad + index_error / self.throw_mm;
        ((self.throw_mm + throw_error) * angle.cos(), (self.throw_mm + throw_error) * angle.sin())
    }

    /// A placement as the grinder sets it up: how far each pin's centre moves in true geometry.
    pub(crate) fn set_up(&self, placement: &Placement) -> SetUp {
        let moves = |k: usize| {
            let ((x, y), (from_x, from_y)) = (self.new_centre_mm(k, placement), self.present_centre_mm(k));
            let journal = JournalId { set: SetName::Pin, number: k + 1 };
            PinCentre { journal, u_mm: x - from_x, v_mm: y - from_y }
        };
        let pins = if self.is_held() { Vec::new() } else { (0..self.pins.len()).map(moves).collect() };
        SetUp { axis: placement.line, pins }
    }

    fn axis_at(&self, line: AxisLine, z_mm: f64) -> (f64, f64) {
        line.at_mm(z_mm - self.centre_mm)
    }

    /// A point's true distance from the new axis of its journal, and the direction from that axis to the point.
    fn distance(&self, seen: &Seen, radius_mm: f64, placement: &Placement) -> (f64, f64, f64) {
        let line = placement.line;
        let (px, py, nx, ny) = match seen.pin {
            None => {
                let (nx, ny) = self.axis_at(line, seen.z_mm);
                (0.0, 0.0, nx, ny)
            }
            Some(k) => {
                let ((px, py), (cx, cy)) = (self.present_centre_mm(k), self.new_centre_mm(k, placement));
                let dz = seen.z_mm - self.pins[k].position_mm;
                (px, py, cx + line.sx * dz, cy + line.sy * dz)
            }
        };
        let (wx, wy) = (px + radius_mm * seen.cos - nx, py + radius_mm * seen.sin - ny);
        // In the plane of the point, less what the tilt of the axis takes from it.
        let along = (wx * line.sx + wy * line.sy) / (1.0 + line.sx * line.sx + line.sy * line.sy).sqrt();
        let distance = (wx * wx + wy * wy - along * along).max(0.0).sqrt();
        let flat = wx.hypot(wy).max(f64::MIN_POSITIVE);
        (distance, wx / flat, wy / flat)
    }

    /// The least clearance in true geometry.
    fn true_spare(&self, radii_mm: &[f64], wanted_mm: [f64; 2], placement: &Placement) -> f64 {
        self.points
            .iter()
            .zip(radii_mm)
            .map(|(seen, &radius)| {
                self.distance(seen, radius, placement).0 - wanted_mm[usize::from(seen.pin.is_some())]
            })
            .fold(f64::INFINITY, f64::min)
    }

    /// The best placements of the programme made of true distances and directions at a placement: where its solution
    /// stands, and the one of the equally good that is nearest. The first may gain from a long way sideways, the second
    /// never strays to where the distances no longer hold.
    fn relinearised(&self, radii_mm: &[f64], wanted_mm: [f64; 2], placement: &Placement) -> Vec<Placement> {
        let here = self.unknowns_of(placement);
        let mut programme = self.programme(0..0);
        let mut rows = Vec::with_capacity(self.points.len());
        let mut limits = Vec::with_capacity(self.points.len());
        for (seen, &radius) in self.points.iter().zip(radii_mm) {
            let (distance, cos, sin) = self.distance(seen, radius, placement);
            let mut row = self.row(&Seen { cos, sin, ..*seen });
            if let Some(k) = seen.pin {
                self.turn_row(&mut row, k, cos, sin, placement);
            }
            let moved: f64 = row.iter().zip(&here).map(|(c, y)| c * y).sum();
            programme.add_row(&row);
            rows.push(row);
            limits.push(distance - wanted_mm[usize::from(seen.pin.is_some())] + moved);
        }
        let Ok(optimum) = programme.solve(&limits, &mut programme.start()) else { return Vec::new() };
        let nearest = self.least_shift(rows.into_iter(), &limits, &optimum, &here);
        [Some(optimum.at), nearest].into_iter().flatten().map(|at| self.placement(&at)).collect()
    }

    /// The pin's columns of a row where the pin has already turned: along and across its new direction.
    fn turn_row(&self, row: &mut [f64], k: usize, cos: f64, sin: f64, placement: &Placement) {
        let (throw_error, index_error) = placement.pins_mm[k];
        let turned = Pin {
            throw_rad: self.pins[k].throw_rad + (placement.turn_mm + index_error) / self.throw_mm,
            ..self.pins[k]
        };
        let (across, along) = turned.look(cos, sin);
        let lever = 1.0 + throw_error / self.throw_mm;
        let first = AXIS_UNKNOWNS + usize::from(self.turns);
        row[first + 2 * k] = along;
        row[first + 2 * k + 1] = across * lever;
        if self.turns {
            row[AXIS_UNKNOWNS] = across * lever;
        }
    }
}

#[cfg(test)]
mod tests;
