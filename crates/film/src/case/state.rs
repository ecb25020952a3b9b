//! One clearance in one condition of the engine: circuit, temperatures and orbits settled together.

use std::borrow::Cow;

use serde::Serialize;

use super::circulation::{BearingKind, Circulation, Group, Guess, Kept, circulate, petroff};
use super::prepared::{Asked, Maps, Prepared, main_size, pin_size};
use super::{Case, Clearance};
use crate::bearing::Size;
use crate::mobility::Law;
use crate::orbit::{Cycle, Orbit, Run, Stepping, run, whole};
use crate::problem::Problems;

/// How the engine runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Condition {
    /// Warm, at idle.
    HotIdle,
    /// Warm, under load at the running speed.
    HotRunning,
    /// Just started, at idle.
    Cold,
}

/// Whether a film keeps the surfaces apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Contact {
    /// The film is thicker than the surfaces are rough.
    Film,
    /// The least film is thinner than the combined roughness: mixed contact, outside the model. The figure only says
    /// that the film fails to part the surfaces, not by how much.
    Mixed,
}

/// The hottest film that is still told, in °C. From memory, no source: beyond it engine oil breaks down within minutes.
pub const OIL_BEARS_C: f64 = 180.0;

/// The bearings of one kind, in one condition.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BearingState {
    /// Which one has the least film, counted from 1 at the nose.
    pub number: usize,
    /// Its least film over the cycle.
    pub least_film_m: f64,
    /// Crank angle at which it occurs: for a pin from its own cylinder's firing, for a main from crank angle 0.
    pub least_film_deg: f64,
    /// Whether that parts the surfaces.
    pub contact: Contact,
    /// Whether the model holds: the film parts the surfaces, no hotter than [`OIL_BEARS_C`], and
    /// there is oil enough. Where it does not, peak pressure, friction and temperature are what the sums gave, and say
    /// nothing of the bearing.
    pub within_model: bool,
    /// Highest pressure in its film.
    pub peak_pressure_pa: f64,
    /// Crank angle at which it occurs, counted as above.
    pub peak_pressure_deg: f64,
    /// Power turned into heat by all bearings of the kind.
    pub friction_w: f64,
    /// Oil through all of them: what the pump's pressure pushes, and what turning journals draw in.
    pub flow_m3_s: f64,
    /// Mean temperature of the film in the one with the least film, half way between the oil that comes and the oil that
    /// leaves.
    pub film_temp_c: f64,
    /// How much hotter the oil leaves all of them than it came: friction over flow and the oil's heat.
    pub rise_k: f64,
}

impl State {
    /// Power turned into heat by all bearings, in W; nothing where a film of theirs lies outside the model.
    pub fn friction_w(&self) -> Option<f64> {
        (self.pins.within_model && self.mains.within_model).then_some(self.pins.friction_w + self.mains.friction_w)
    }

    /// Oil through all bearings, in m³/s.
    pub fn flow_m3_s(&self) -> f64 {
        self.pins.flow_m3_s + self.mains.flow_m3_s
    }
}

/// One clearance in one condition.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct State {
    /// The condition.
    pub condition: Condition,
    /// Speed of the crank.
    pub speed_rpm: f64,
    /// Temperature of the oil in the gallery.
    pub supply_temp_c: f64,
    /// What the gauge shows.
    pub gauge_pa: f64,
    /// Whether the relief valve stands open: then the gauge says more about the valve than about clearances.
    pub relief_open: bool,
    /// What the pump delivers.
    pub pump_m3_s: f64,
    /// Whether the bearings would take more than that: then films are thinner than is said here.
    pub short_of_oil: bool,
    /// The big ends.
    pub pins: BearingState,
    /// The mains.
    pub mains: BearingState,
}

/// Which mains are followed.
#[derive(Clone, Copy, Debug)]
pub(super) enum Mains {
    /// All of them.
    All,
    /// This one alone, counted from 0; its friction stands for the others.
    Only(usize),
}

/// Where bearings of one clearance in one condition settled: what a [`State`] is told from, and where a near one begins.
#[derive(Debug)]
pub(super) struct Settled {
    groups: Vec<Group>,
    circulation: Circulation,
    runs: Vec<Ran>,
}

/// A bearing that was followed.
#[derive(Debug)]
struct Ran {
    /// Its place among the groups.
    group: usize,
    kind: BearingKind,
    /// Counted from 0 among its kind.
    number: usize,
    /// For how many it stands.
    times: usize,
    run: Run,
}

/// The paths of the journals' centres that a state rests on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Paths {
    /// The path of a pin in its rod's shell: across the rod and along it, from its cylinder's firing.
    pub pin: Orbit,
    /// Which main has the least film, counted from 1 at the nose.
    pub main: usize,
    /// Its path in the block: along X and Y, from crank angle 0.
    pub main_path: Orbit,
}

/// Works out one clearance in one condition, from where a near one settled.
pub(super) fn settle(
    case: &Case,
    prepared: &Prepared,
    maps: &Maps,
    clearance: &Clearance,
    mains: Mains,
    asked: Asked,
    near: Option<&Settled>,
) -> Result<Settled, Problems> {
    let mut groups = groups(case, prepared, clearance, mains);
    let mut runs: Vec<Ran> = Vec::new();
    if let Some(near) = near {
        for (place, group) in groups.iter_mut().enumerate() {
            let alike = near.groups.iter().filter(|known| known.kind == group.kind);
            // As many groups: the same bearings, so each has its own.
            let own = near.groups.get(place).filter(|known| known.kind == group.kind);
            if let Some(known) = own.or(alike.clone().next()) {
                group.guess = known.guess;
            }
        }
    }
    let mut circulation = circulate(case, prepared, &groups)?;
    for round in 0..prepared.care.rounds() {
        let temps = || circulation.kept.iter().map(|kept| kept.temp_c);
        let moved = temps().zip(&groups).map(|(temp_c, group)| (temp_c - group.guess.temp_c).abs()).fold(0.0, f64::max);
        if round > 0 && moved < prepared.care.settled_k(asked) {
            break;
        }
        for (group, temp_c) in groups.iter_mut().zip(temps()) {
            group.guess.temp_c = temp_c;
        }
        let before = if runs.is_empty() { near.map(|near| near.runs.as_slice()).unwrap_or_default() } else { &runs };
        let mut found = Vec::new();
        for (place, group) in groups.iter_mut().enumerate() {
            let own = follow_group(case, prepared, maps, group, before, place)?;
            let count = own.iter().map(|ran| ran.times).sum::<usize>().max(1) as f64;
            let mean = |of: fn(&Run) -> f64| own.iter().map(|ran| ran.times as f64 * of(&ran.run)).sum::<f64>() / count;
            let viscosity = prepared.film_viscosity(case, group.guess.temp_c);
            group.guess.mean_square = mean(|run| run.mean_square_eccentricity);
            group.guess.over_petroff =
                mean(|run| run.friction_w) / petroff(&group.size, viscosity, prepared.speed_rad_s);
            found.extend(own);
        }
        runs = found;
        circulation = circulate(case, prepared, &groups)?;
    }
    Ok(Settled { groups, circulation, runs })
}

impl Settled {
    /// What the gauge shows.
    pub(super) fn gauge_pa(&self) -> f64 {
        self.circulation.reading.gauge_pa
    }

    /// The followed bearing of a kind with the least film.
    fn least(&self, kind: BearingKind) -> Result<&Ran, Problems> {
        let own = self.runs.iter().filter(|ran| ran.kind == kind);
        own.min_by(|a, b| a.run.least_film_m.total_cmp(&b.run.least_film_m)).ok_or_else(unusable)
    }

    /// Which main has the least film, counted from 0.
    pub(super) fn main(&self) -> Result<usize, Problems> {
        self.least(BearingKind::Main).map(|ran| ran.number)
    }

    /// The least film of a kind.
    pub(super) fn least_film_m(&self, kind: BearingKind) -> Result<f64, Problems> {
        self.least(kind).map(|ran| ran.run.least_film_m)
    }

    /// All that is told of it, with the paths that it rests on.
    pub(super) fn state(&self, case: &Case, prepared: &Prepared, maps: &Maps) -> Result<(State, Paths), Problems> {
        let reading = &self.circulation.reading;
        let (pins, pin) = self.bearings(BearingKind::Pin, case, prepared, maps)?;
        let (mains, main_path) = self.bearings(BearingKind::Main, case, prepared, maps)?;
        let state = State {
            condition: prepared.condition,
            speed_rpm: prepared.speed_rpm,
            supply_temp_c: prepared.supply_temp_c,
            gauge_pa: reading.gauge_pa,
            relief_open: reading.relief_m3_s > 0.0,
            pump_m3_s: reading.pump_m3_s,
            short_of_oil: reading.fed_share < 1.0,
            pins,
            mains,
        };
        Ok((state, Paths { main: mains.number, pin, main_path }))
    }

    fn bearings(
        &self,
        kind: BearingKind,
        case: &Case,
        prepared: &Prepared,
        maps: &Maps,
    ) -> Result<(BearingState, Orbit), Problems> {
        let least = self.least(kind)?;
        let group = self.groups.get(least.group).ok_or_else(unusable)?;
        let orbit = Followed::of(case, prepared, maps, group).whole(least)?;
        let settled = self.circulation.kept.iter().zip(&self.groups);
        let kept: Vec<&Kept> = settled.filter(|(_, group)| group.kind == kind).map(|(kept, _)| kept).collect();
        let friction_w = kept.iter().map(|kept| kept.friction_w).sum::<f64>();
        let flow_m3_s = kept.iter().map(|kept| kept.flow_m3_s).sum::<f64>();
        let rough = orbit.least_film_m < case.figures.roughness_m.value;
        let hot = kept.iter().any(|kept| kept.temp_c > OIL_BEARS_C);
        let state = BearingState {
            number: least.number + 1,
            least_film_m: orbit.least_film_m,
            least_film_deg: degrees(orbit.least_film_at),
            contact: if rough { Contact::Mixed } else { Contact::Film },
            within_model: !(rough || hot || self.circulation.reading.fed_share < 1.0),
            peak_pressure_pa: orbit.peak_pressure_pa.unwrap_or_default(),
            peak_pressure_deg: degrees(orbit.peak_pressure_at.unwrap_or_default()),
            friction_w,
            flow_m3_s,
            film_temp_c: self.circulation.kept.get(least.group).ok_or_else(unusable)?.temp_c,
            rise_k: friction_w / (prepared.oil_heat_j_m3_k() * flow_m3_s),
        };
        Ok((state, orbit))
    }
}

/// The bearings of an engine, those of one kind and clearance together: pins first. All pins carry the same load, so one
/// stands for a group; of the mains each is followed that has no twin before it.
fn groups(case: &Case, prepared: &Prepared, clearance: &Clearance, mains: Mains) -> Vec<Group> {
    let guess = Guess { temp_c: prepared.supply_temp_c + 5.0, mean_square: 0.5, over_petroff: 1.6 };
    let (pin_count, main_count) = (prepared.loads.big_ends.len(), prepared.loads.mains.len());
    let each = |own: &[f64], common: f64, count: usize| -> Vec<f64> {
        if own.len() == count { own.to_vec() } else { vec![common; count] }
    };
    let mut groups: Vec<Group> = Vec::new();
    // A bearing that carries what another of its size does is not followed: that one stands for both.
    let mut add = |kind: BearingKind, size: Size, number: usize, twin_of: usize, twins: &[usize]| {
        let alike = |group: &&mut Group| group.kind == kind && group.size == size;
        let Some(group) = groups.iter_mut().find(alike) else {
            groups.push(Group { kind, count: 1, followed: vec![(number, 1)], size, guess });
            return;
        };
        group.count += 1;
        match group.followed.iter_mut().find(|(other, _)| twins.get(*other).is_some_and(|first| *first == twin_of)) {
            Some((_, times)) => *times += 1,
            None => group.followed.push((number, 1)),
        }
    };
    let alike = vec![0; pin_count];
    for (number, gap) in each(&clearance.each_pin_m, clearance.pin_diametral_m, pin_count).into_iter().enumerate() {
        add(BearingKind::Pin, pin_size(case, gap), number, 0, &alike);
    }
    match mains {
        Mains::All => {
            let gaps = each(&clearance.each_main_m, clearance.main_diametral_m, main_count);
            for (number, gap) in gaps.into_iter().enumerate() {
                let twin_of = prepared.twins().get(number).copied().unwrap_or(number);
                add(BearingKind::Main, main_size(case, gap), number, twin_of, prepared.twins());
            }
        }
        Mains::Only(one) => {
            let size = main_size(case, clearance.main_diametral_m);
            groups.push(Group { kind: BearingKind::Main, count: main_count, followed: vec![(one, 1)], size, guess });
        }
    }
    groups
}

/// Follows the journals of a group, each from where it was before.
fn follow_group(
    case: &Case,
    prepared: &Prepared,
    maps: &Maps,
    group: &Group,
    before: &[Ran],
    place: usize,
) -> Result<Vec<Ran>, Problems> {
    let followed = Followed::of(case, prepared, maps, group);
    let run = |(number, times): &(usize, usize)| {
        let known = before.iter().find(|ran| ran.kind == group.kind && ran.number == *number);
        let start = known.and_then(|ran| ran.run.places.first()).copied().unwrap_or([0.0, 0.5]);
        let run = followed.run(*number, start)?;
        Ok(Ran { group: place, kind: group.kind, number: *number, times: *times, run })
    };
    group.followed.iter().map(run).collect()
}

/// What the journals of a group are followed with.
struct Followed<'a> {
    size: Size,
    viscosity_pa_s: f64,
    law: Law<'a>,
    cycles: &'a [Cycle],
    lands: f64,
    name: &'static str,
    stepping: Stepping,
}

impl<'a> Followed<'a> {
    fn of(case: &Case, prepared: &'a Prepared, maps: &'a Maps, group: &Group) -> Followed<'a> {
        let (law, cycles, name) = match group.kind {
            BearingKind::Pin => (Law::Map(&maps.pin), &prepared.loads.big_ends, "pin"),
            BearingKind::Main => (maps.main_law(), &prepared.loads.mains, "main"),
        };
        let viscosity_pa_s = prepared.film_viscosity(case, group.guess.temp_c);
        let (lands, stepping) = (group.lands(case), prepared.care.stepping());
        Followed { size: group.size, viscosity_pa_s, law, cycles, lands, name, stepping }
    }

    /// The loads on one film of a bearing.
    fn cycle(&self, number: usize) -> Result<Cow<'a, Cycle>, Problems> {
        let cycle = self.cycles.get(number).ok_or_else(unusable)?;
        Ok(if self.lands == 1.0 { Cow::Borrowed(cycle) } else { Cow::Owned(shared(cycle, self.lands)) })
    }

    fn run(&self, number: usize, start: [f64; 2]) -> Result<Run, Problems> {
        let run = run(&self.size, &*self.cycle(number)?, self.viscosity_pa_s, &self.law, start, self.stepping);
        run.map_err(|problems| problems.within(self.name))
    }

    fn whole(&self, ran: &Ran) -> Result<Orbit, Problems> {
        let orbit = whole(&self.size, &*self.cycle(ran.number)?, self.viscosity_pa_s, &self.law, &ran.run);
        orbit.map_err(|problems| problems.within(self.name))
    }
}

/// Part of a cycle as a crank angle, without the last digits of a division.
fn degrees(part: f64) -> f64 {
    (720.0 * part * 1000.0).round() / 1000.0
}

/// The load of a main on each of so many lands.
fn shared(cycle: &Cycle, lands: f64) -> Cycle {
    let loads_n = cycle.loads_n.iter().map(|[x, y]| [x / lands, y / lands]).collect();
    Cycle { loads_n, ..cycle.clone() }
}

pub(super) fn unusable() -> Problems {
    Problems::one("case", "not usable", "a whole case", "nothing can be said about it")
}
