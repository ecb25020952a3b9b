//! The least move that leaves a wanted spare, and how the one grows with the other.
//!
//! Among all placements with a spare of at least s the one is looked for whose largest shift is least:
//!
//! ```text
//! m(s) = min  max over { |X(z)|, |Y(z)| at the two end mains ; |u_k|, |v_k| of every pin }
//! ```
//!
//! a second programme with one unknown more. It is convex and piecewise linear in s. Of placements that are as good the one
//! with the least sum of shifts is taken, so that what need not move stays.

use std::ops::Range;

use crank::SetName;
use programme::{Basis, Programme};

use super::{AS_GOOD_MM, AXIS_REACH_MM, AXIS_UNKNOWNS, Geometry, Placement, Questions, SPARE_REACH_MM};
use crate::Axis;

/// Shifts may exceed their least by so much, for what rounding leaves.
pub(super) const ROUNDING_MM: f64 = 1e-9;

/// Corners of a curve that are looked for at most; between them a straight line is an upper bound.
const MOST_CORNERS: usize = 12;

/// A corner is not looked for between points whose lines meet so near to the curve: a hundredth of a micron.
const ON_THE_CURVE_MM: f64 = 1e-5;

/// A shift as a row: its coefficients and what it is with all unknowns at nothing.
type Shift = (Vec<f64>, f64);

/// One point of the curve of spare against shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpareAgainstShift {
    /// The spare asked for, on the radius.
    pub spare_mm: f64,
    /// The least largest shift that leaves it.
    pub shift_mm: f64,
}

/// The second programme of one question, kept with where its solutions last stood.
pub(crate) struct Mover<'a> {
    questions: &'a Questions,
    set: Option<SetName>,
    /// The largest shift in the place of the spare.
    largest: Programme,
    largest_basis: Basis,
    /// One unknown for each shift, and a row that keeps it below the largest.
    sum: Programme,
    sum_basis: Basis,
    /// Limits of the rows of shifts, either way.
    from_mm: Vec<f64>,
    shifts: usize,
    unknowns: usize,
}

impl<'a> Mover<'a> {
    pub(crate) fn new(questions: &'a Questions, set: Option<SetName>) -> Mover<'a> {
        let geometry = &questions.geometry;
        let shifts = geometry.shifts();
        let unknowns = geometry.unknowns() - 1;
        let mut goal = vec![0.0; unknowns];
        goal.push(-1.0);
        let mut reach = geometry.reach();
        reach.truncate(unknowns);
        let mut sum_reach = reach.clone();
        reach.push(4.0 * AXIS_REACH_MM);
        let mut largest = Programme::new(goal, reach);
        let mut goal = vec![0.0; unknowns];
        goal.extend(shifts.iter().map(|_| -1.0));
        sum_reach.extend(shifts.iter().map(|_| 4.0 * AXIS_REACH_MM));
        let mut sum = Programme::new(goal, sum_reach);
        for seen in &geometry.points[questions.range(set)] {
            let row = geometry.row(seen);
            let row = row.get(..unknowns).unwrap_or_default();
            largest.add_row(row);
            sum.add_row(row);
        }
        let mut from_mm = Vec::with_capacity(2 * shifts.len());
        for (n, (coefficients, from)) in shifts.iter().enumerate() {
            for sign in [1.0, -1.0] {
                let mut row: Vec<f64> = coefficients.iter().map(|c| sign * c).collect();
                row.push(-1.0);
                largest.add_row(&row);
                row.pop();
                row.resize(unknowns + shifts.len(), 0.0);
                if let Some(own) = row.get_mut(unknowns + n) {
                    *own = -1.0;
                }
                sum.add_row(&row);
                from_mm.push(-sign * from);
            }
        }
        for n in 0..shifts.len() {
            let mut row = vec![0.0; unknowns + shifts.len()];
            if let Some(own) = row.get_mut(unknowns + n) {
                *own = 1.0;
            }
            sum.add_row(&row);
        }
        Mover {
            questions,
            set,
            largest_basis: largest.start(),
            sum_basis: sum.start(),
            largest,
            sum,
            from_mm,
            shifts: shifts.len(),
            unknowns,
        }
    }

    /// What the rows of clearances may come to.
    fn limits_mm(&self, radii_mm: &[f64], wanted_mm: [f64; 2], spare_mm: f64) -> Vec<f64> {
        let mut limits_mm = Vec::new();
        self.questions.limits(self.set, radii_mm, wanted_mm, &mut limits_mm);
        for limit in &mut limits_mm {
            // No spare asked for is no row.
            *limit = if spare_mm.is_finite() { *limit - spare_mm + AS_GOOD_MM } else { SPARE_REACH_MM };
        }
        limits_mm
    }

    /// The least largest shift with that spare, and by how much it grows with the spare; nothing where nothing leaves it.
    fn least_mm(&mut self, radii_mm: &[f64], wanted_mm: [f64; 2], spare_mm: f64) -> Option<(f64, f64)> {
        let mut limits_mm = self.limits_mm(radii_mm, wanted_mm, spare_mm);
        let clearances = limits_mm.len();
        limits_mm.extend(&self.from_mm);
        let found = self.largest.solve(&limits_mm, &mut self.largest_basis).ok()?;
        let rises = found.governing.iter().filter(|(row, _)| *row < clearances).map(|(_, gain)| gain).sum();
        Some((-found.value, rises))
    }

    /// The placement that leaves at least `spare_mm` on these radii and moves least; nothing where there is none.
    pub(crate) fn place(&mut self, radii_mm: &[f64], wanted_mm: [f64; 2], spare_mm: f64) -> Option<Placement> {
        let clearances_mm = self.limits_mm(radii_mm, wanted_mm, spare_mm);
        let mut limits_mm = clearances_mm.clone();
        limits_mm.extend(&self.from_mm);
        let largest = self.largest.solve(&limits_mm, &mut self.largest_basis).ok()?.at;
        let most_mm = largest.last().copied()?.max(0.0) + ROUNDING_MM;
        limits_mm.extend(std::iter::repeat_n(most_mm, self.shifts));
        let at = self.sum.solve(&limits_mm, &mut self.sum_basis).map_or(largest, |found| found.at);
        let at = at.get(..self.unknowns)?;
        let geometry = &self.questions.geometry;
        let present = geometry.present_placement();
        // What does not show to a millionth of a micron is no move.
        if geometry.shifts_mm(at).iter().all(|mm| mm.abs() <= 2.0 * ROUNDING_MM) && geometry.permits(&present) {
            return Some(present);
        }
        Some(geometry.placement(at))
    }

    /// The curve from no move to the greatest spare, or from the least move that the tolerances ask for; empty where nothing
    /// moves or the spare is not known. `most_mm` is the greatest spare.
    pub(crate) fn curve(&mut self, radii_mm: &[f64], wanted_mm: [f64; 2], most_mm: f64) -> Vec<SpareAgainstShift> {
        let point = |spare_mm: f64, shift_mm: f64| SpareAgainstShift { spare_mm, shift_mm: shift_mm.max(0.0) };
        let Some(stay) = self.place(radii_mm, wanted_mm, f64::NEG_INFINITY) else { return Vec::new() };
        let first_mm = self.questions.first_order_spare_mm(self.set, radii_mm, wanted_mm, &stay);
        let Some((least_mm, _)) = self.least_mm(radii_mm, wanted_mm, f64::NEG_INFINITY) else { return Vec::new() };
        // Nor where either is no number.
        if (most_mm - first_mm).partial_cmp(&ROUNDING_MM) != Some(std::cmp::Ordering::Greater) {
            return vec![point(first_mm, least_mm)];
        }
        let Some((last_mm, last_rises)) = self.least_mm(radii_mm, wanted_mm, most_mm - AS_GOOD_MM) else {
            return vec![point(first_mm, least_mm)];
        };
        // Each with a line that lies below the curve and touches it there.
        let first = (first_mm, least_mm, 0.0);
        let mut corners = vec![first, (most_mm, last_mm, last_rises)];
        let mut open = vec![(first, (most_mm, last_mm, last_rises))];
        while let Some((left, right)) = open.pop().filter(|_| corners.len() < MOST_CORNERS) {
            let bends = right.2 - left.2;
            if bends <= 1e-9 {
                continue;
            }
            let meet_mm = (left.1 - right.1 + right.2 * right.0 - left.2 * left.0) / bends;
            let below_mm = left.1 + left.2 * (meet_mm - left.0);
            if !(meet_mm > left.0 + ROUNDING_MM && meet_mm < right.0 - ROUNDING_MM) {
                continue;
            }
            let Some((shift_mm, rises)) = self.least_mm(radii_mm, wanted_mm, meet_mm) else { continue };
            let found = (meet_mm, shift_mm, rises);
            corners.push(found);
            if shift_mm - below_mm > ON_THE_CURVE_MM {
                // The one further to the right last, so that corners are found from the end of no move on.
                open.push((found, right));
                open.push((left, found));
            }
        }
        corners.sort_by(|a, b| a.0.total_cmp(&b.0));
        corners.into_iter().map(|(spare_mm, shift_mm, _)| point(spare_mm, shift_mm)).collect()
    }
}

impl Questions {
    /// The same questions with the main axis held and each throw free within its tolerances.
    pub(crate) fn of_throws(&self) -> Questions {
        Questions::new(Geometry { axis: Axis::Throws, turns: false, ..self.geometry.clone() })
    }

    /// The least clearance of a placement to first order, as the programme counts it.
    pub(crate) fn first_order_spare_mm(
        &self,
        set: Option<SetName>,
        radii_mm: &[f64],
        wanted_mm: [f64; 2],
        placement: &Placement,
    ) -> f64 {
        let mut limits_mm = Vec::new();
        self.limits(set, radii_mm, wanted_mm, &mut limits_mm);
        let range: Range<usize> = self.range(set);
        if self.geometry.is_held() {
            return limits_mm.into_iter().fold(f64::INFINITY, f64::min);
        }
        let at = self.geometry.unknowns_of(placement);
        let clear = |(seen, limit): (&super::Seen, f64)| {
            limit - self.geometry.row(seen).iter().zip(&at).map(|(c, y)| c * y).sum::<f64>()
        };
        self.geometry.points[range].iter().zip(limits_mm).map(clear).fold(f64::INFINITY, f64::min)
    }
}

impl Geometry {
    /// The shifts that a grinder makes: both end mains, then each pin's centre, all toward the first throw and square to it.
    pub(super) fn shifts(&self) -> Vec<Shift> {
        let unknowns = self.unknowns() - 1;
        let axis = |z_mm: f64| (z_mm - self.centre_mm) / self.half_span_mm;
        let mut shifts = Vec::new();
        let mut ends = self.ends_mm.to_vec();
        ends.dedup();
        for z_mm in ends {
            for (offset, slope) in [(0, 2), (1, 3)] {
                let mut row = vec![0.0; unknowns];
                (row[offset], row[slope]) = (1.0, axis(z_mm));
                shifts.push((row, 0.0));
            }
        }
        let first = AXIS_UNKNOWNS + usize::from(self.turns);
        for (k, pin) in self.pins.iter().enumerate() {
            let lever = axis(pin.position_mm);
            let (sin, cos) = pin.throw_rad.sin_cos();
            // From the present centre: out along the throw, and round the way angles grow.
            let out_mm = self.throw_middle_mm - pin.present_mm.0;
            let round_mm = -pin.present_mm.1;
            for (offset, slope, along, across) in [(0, 2, cos, -sin), (1, 3, sin, cos)] {
                let mut row = vec![0.0; unknowns];
                (row[offset], row[slope]) = (1.0, lever);
                (row[first + 2 * k], row[first + 2 * k + 1]) = (along, across);
                if self.turns {
                    row[AXIS_UNKNOWNS] = across;
                }
                shifts.push((row, along * out_mm + across * round_mm));
            }
        }
        shifts
    }

    pub(super) fn shifts_mm(&self, at: &[f64]) -> Vec<f64> {
        let of = |(row, from): &Shift| row.iter().zip(at).map(|(c, y)| c * y).sum::<f64>() + from;
        self.shifts().iter().map(of).collect()
    }

    /// The largest shift of a placement, to first order.
    pub(crate) fn largest_shift_mm(&self, placement: &Placement) -> f64 {
        if self.is_held() {
            return 0.0;
        }
        self.shifts_mm(&self.unknowns_of(placement)).into_iter().fold(0.0, |most, mm| most.max(mm.abs()))
    }

    /// How far a placement goes: whether anything moves, and whether the main axis does.
    pub(crate) fn way(&self, placement: &Placement) -> Axis {
        let moves = |mm: &f64| mm.abs() > 2.0 * ROUNDING_MM;
        let shifts = if self.is_held() { Vec::new() } else { self.shifts_mm(&self.unknowns_of(placement)) };
        let mut ends = self.ends_mm.to_vec();
        ends.dedup();
        match shifts.iter().position(moves) {
            None => Axis::Held,
            Some(first) if first < 2 * ends.len() || moves(&placement.turn_mm) => Axis::Free,
            Some(_) => Axis::Throws,
        }
    }

    /// Whether the pins of a placement keep their tolerances.
    pub(super) fn permits(&self, placement: &Placement) -> bool {
        let within = |mm: f64, most_mm: f64| mm.abs() <= most_mm + ROUNDING_MM;
        placement.pins_mm.iter().all(|&(throw, index)| {
            within(throw - self.throw_middle_mm, self.throw_reach_mm) && within(index, self.index_tolerance_mm)
        })
    }

    /// Whether any pin may leave its place within its tolerance, or must.
    pub(super) fn throws_move(&self) -> bool {
        !self.pins.is_empty()
    }
}
