//! One clearance in one condition of the engine: circuit, temperatures and orbits settled together.

use serde::Serialize;

use super::circulation::{BearingKind, Group, Guess, Kept, circulate, petroff};
use super::prepared::{Maps, Prepared, main_size, pin_size};
use super::{Case, Clearance};
use crate::bearing::Size;
use crate::mobility::Law;
use crate::orbit::{Cycle, Orbit, follow_until};
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

/// Rounds of orbits in which temperatures settle, at the most.
const ROUNDS: usize = 4;
/// Temperatures that move less than this from one round to the next have settled.
const SETTLED_K: f64 = 0.25;
/// How close a path must come to closing, over the clearance: a ten-thousandth is far inside what is assumed.
const CLOSED: f64 = 1e-4;

/// Where a state settled: a near one settles sooner from there.
#[derive(Clone, Debug)]
pub(super) struct Warm {
    guesses: Vec<Guess>,
    places: Vec<[f64; 2]>,
    pub paths: Paths,
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

/// Works out one clearance in one condition.
pub(super) fn state(
    case: &Case,
    prepared: &Prepared,
    maps: &Maps,
    clearance: &Clearance,
    mains: Mains,
) -> Result<State, Problems> {
    settle(case, prepared, maps, clearance, mains, None).map(|(state, _)| state)
}

/// The same from where a near state settled, and where this one did.
pub(super) fn settle(
    case: &Case,
    prepared: &Prepared,
    maps: &Maps,
    clearance: &Clearance,
    mains: Mains,
    warm: Option<&Warm>,
) -> Result<(State, Warm), Problems> {
    let mut groups = groups(case, prepared, clearance, mains);
    for (group, guess) in groups.iter_mut().zip(warm.map(|warm| warm.guesses.as_slice()).unwrap_or_default()) {
        group.guess = *guess;
    }
    let mut places = warm.map(|warm| warm.places.clone()).unwrap_or_default();
    places.resize(groups.iter().map(|group| group.followed.len()).sum(), [0.0, 0.5]);
    let mut orbits: Vec<(usize, usize, Orbit)> = Vec::new();
    let mut settled = circulate(case, prepared, &groups)?;
    for round in 0..ROUNDS {
        let temps = || settled.kept.iter().map(|kept| kept.temp_c);
        let moved = temps().zip(&groups).map(|(temp_c, group)| (temp_c - group.guess.temp_c).abs()).fold(0.0, f64::max);
        if round > 0 && moved < SETTLED_K {
            break;
        }
        for (group, temp_c) in groups.iter_mut().zip(temps()) {
            group.guess.temp_c = temp_c;
        }
        orbits.clear();
        for (place, group) in groups.iter_mut().enumerate() {
            let begins = orbits.len();
            follow_group(case, prepared, maps, group, &mut places, &mut orbits, place)?;
            let own = orbits.get(begins..).unwrap_or_default();
            let count = own.len().max(1) as f64;
            let mean = |of: fn(&Orbit) -> f64| own.iter().map(|(_, _, orbit)| of(orbit)).sum::<f64>() / count;
            let viscosity = prepared.film_viscosity(case, group.guess.temp_c);
            group.guess.mean_square = mean(|orbit| orbit.mean_square_eccentricity);
            group.guess.over_petroff =
                mean(|orbit| orbit.friction_w) / petroff(&group.size, viscosity, prepared.speed_rad_s);
        }
        settled = circulate(case, prepared, &groups)?;
    }
    let reading = &settled.reading;
    let short_of_oil = reading.fed_share < 1.0;
    let of_kind = |kind: BearingKind| -> Option<(BearingState, &Orbit)> {
        let own = |place: usize| groups.get(place).is_some_and(|group| group.kind == kind);
        let orbits = orbits.iter().filter(|(place, ..)| own(*place));
        let (place, number, orbit) = orbits.min_by(|a, b| a.2.least_film_m.total_cmp(&b.2.least_film_m))?;
        let kept: Vec<&Kept> =
            settled.kept.iter().enumerate().filter(|(place, _)| own(*place)).map(|(_, k)| k).collect();
        let friction_w = kept.iter().map(|kept| kept.friction_w).sum::<f64>();
        let flow_m3_s = kept.iter().map(|kept| kept.flow_m3_s).sum::<f64>();
        let rough = orbit.least_film_m < case.figures.roughness_m.value;
        let hot = kept.iter().any(|kept| kept.temp_c > OIL_BEARS_C);
        let state = BearingState {
            number: number + 1,
            least_film_m: orbit.least_film_m,
            least_film_deg: degrees(orbit.least_film_at),
            contact: if rough { Contact::Mixed } else { Contact::Film },
            within_model: !(rough || hot || short_of_oil),
            peak_pressure_pa: orbit.peak_pressure_pa.unwrap_or_default(),
            peak_pressure_deg: degrees(orbit.peak_pressure_at.unwrap_or_default()),
            friction_w,
            flow_m3_s,
            film_temp_c: settled.kept.get(*place)?.temp_c,
            rise_k: friction_w / (prepared.oil_heat_j_m3_k() * flow_m3_s),
        };
        Some((state, orbit))
    };
    let (Some((pins, pin_orbit)), Some((mains, main_orbit))) = (of_kind(BearingKind::Pin), of_kind(BearingKind::Main))
    else {
        return Err(unusable());
    };
    let state = State {
        condition: prepared.condition,
        speed_rpm: prepared.speed_rpm,
        supply_temp_c: prepared.supply_temp_c,
        gauge_pa: reading.gauge_pa,
        relief_open: reading.relief_m3_s > 0.0,
        pump_m3_s: reading.pump_m3_s,
        short_of_oil,
        pins,
        mains,
    };
    let paths = Paths { main: mains.number, pin: pin_orbit.clone(), main_path: main_orbit.clone() };
    Ok((state, Warm { guesses: groups.iter().map(|group| group.guess).collect(), places, paths }))
}

/// The bearings of an engine, those of one kind and clearance together: pins first. All pins carry the same load, so one
/// stands for a group; of the mains each is followed.
fn groups(case: &Case, prepared: &Prepared, clearance: &Clearance, mains: Mains) -> Vec<Group> {
    let guess = Guess { temp_c: prepared.supply_temp_c + 5.0, mean_square: 0.5, over_petroff: 1.6 };
    let (pin_count, main_count) = (prepared.loads.big_ends.len(), prepared.loads.mains.len());
    let each = |own: &[f64], common: f64, count: usize| -> Vec<f64> {
        if own.len() == count { own.to_vec() } else { vec![common; count] }
    };
    let mut groups: Vec<Group> = Vec::new();
    let mut add = |kind: BearingKind, size: Size, number: usize, follow: bool| {
        let alike = |group: &&mut Group| group.kind == kind && group.size == size;
        match groups.iter_mut().find(alike) {
            Some(group) => {
                group.count += 1;
                group.followed.extend(follow.then_some(number));
            }
            None => groups.push(Group { kind, count: 1, followed: vec![number], size, guess }),
        }
    };
    for (number, gap) in each(&clearance.each_pin_m, clearance.pin_diametral_m, pin_count).into_iter().enumerate() {
        add(BearingKind::Pin, pin_size(case, gap), number, false);
    }
    match mains {
        Mains::All => {
            let gaps = each(&clearance.each_main_m, clearance.main_diametral_m, main_count);
            for (number, gap) in gaps.into_iter().enumerate() {
                add(BearingKind::Main, main_size(case, gap), number, true);
            }
        }
        Mains::Only(one) => {
            let size = main_size(case, clearance.main_diametral_m);
            groups.push(Group { kind: BearingKind::Main, count: main_count, followed: vec![one], size, guess });
        }
    }
    groups
}

/// Follows the journals of a group, each from where it closed before; adds group, number and path of each.
fn follow_group(
    case: &Case,
    prepared: &Prepared,
    maps: &Maps,
    group: &Group,
    places: &mut [[f64; 2]],
    orbits: &mut Vec<(usize, usize, Orbit)>,
    place: usize,
) -> Result<(), Problems> {
    let viscosity = prepared.film_viscosity(case, group.guess.temp_c);
    let (law, cycles, name) = match group.kind {
        BearingKind::Pin => (Law::Map(&maps.pin), &prepared.loads.big_ends, "pin"),
        BearingKind::Main => (maps.main_law(), &prepared.loads.mains, "main"),
    };
    for number in &group.followed {
        let Some(cycle) = cycles.get(*number) else { return Err(unusable()) };
        let slot = orbits.len();
        let cycle = shared(cycle, group.lands(case));
        let orbit = follow_until(&group.size, &cycle, viscosity, &law, begin(places, slot), CLOSED);
        let orbit = orbit.map_err(|problems| problems.within(name))?;
        remember(places, slot, &orbit);
        orbits.push((place, *number, orbit));
    }
    Ok(())
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

fn begin(places: &[[f64; 2]], place: usize) -> [f64; 2] {
    places.get(place).copied().unwrap_or([0.0, 0.5])
}

fn remember(places: &mut [[f64; 2]], place: usize, orbit: &Orbit) {
    if let (Some(into), Some(instant)) = (places.get_mut(place), orbit.instants.first()) {
        *into = instant.place;
    }
}

pub(super) fn unusable() -> Problems {
    Problems::one("case", "not usable", "a whole case", "nothing can be said about it")
}
