//! Random cranks on a free axis, made of all that brings a linear programme into trouble: few points or points in one
//! plane, diameters only, points repeated or all but repeated, no tolerance at all, one journal or a dozen, spans of a
//! micron or a kilometre, and ties wherever one looks. Many of them no shop would ever see.

use crank::{
    Band, Centre, Damage, Depth, Findings, JournalId, JournalSet, Reading, RunOut, SetName, Specification, Trace,
    Treatment, Worn,
};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use regrind::{Axis, IndexDatum, Policy};
use units::Unit;

/// One crank and what was found on it.
#[derive(Clone, Debug)]
pub(crate) struct Prone {
    pub(crate) specification: Specification,
    pub(crate) findings: Findings,
    pub(crate) policy: Policy,
}

/// The crank that belongs to a number.
pub(crate) fn prone(seed: u64) -> Prone {
    let mut maker = Maker { rng: Pcg64::seed_from_u64(seed) };
    let specification = maker.specification();
    let findings = maker.findings(&specification);
    let policy = Policy {
        axis: Axis::Free,
        index_datum: *maker.of(&[IndexDatum::Fixed, IndexDatum::Free]),
        set_up_error_mm: *maker.of(&[0.0, 1e-9, 0.0075]),
        polish_stock_mm: *maker.of(&[0.0, 0.005]),
        draws: maker.rng.random_range(2..8usize),
        seed,
        ..Policy::usual(Unit::Millimetre)
    };
    Prone { specification, findings, policy }
}

struct Maker {
    rng: Pcg64,
}

impl Maker {
    fn of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.rng.random_range(0..list.len())]
    }

    fn chance(&mut self, share: f64) -> bool {
        self.rng.random::<f64>() < share
    }

    fn specification(&mut self) -> Specification {
        let pins = *self.of(&[1, 1, 2, 3, 4, 4, 6, 6, 8, 12]);
        let mains = match self.rng.random_range(0..6) {
            0 => 1,
            1 => 2,
            2 => 13,
            _ => pins + 1,
        };
        let pitch_mm = *self.of(&[84.0, 84.0, 84.0, 1e-3, 1.0, 5_000.0, 1e6]);
        let even = self.chance(0.7);
        let positions_mm = |maker: &mut Maker, count: usize, first: f64| -> Vec<f64> {
            (0..count)
                .map(|k| first + pitch_mm * (k as f64 + if even { 0.0 } else { maker.rng.random_range(-0.4..0.4) }))
                .collect()
        };
        let (mains_mm, pins_mm) = (positions_mm(self, mains, 0.0), positions_mm(self, pins, pitch_mm / 2.0));
        let angles_deg = self.throws_deg(pins);
        let set = |maker: &mut Maker, positions_mm: Vec<f64>, angles_deg: Vec<f64>, size_mm: f64| JournalSet {
            positions_mm,
            angles_deg,
            size: Band { low_mm: size_mm - 0.006, high_mm: size_mm + 0.006 },
            undersizes_mm: maker.of(&[vec![], vec![0.25], vec![0.25, 0.5, 0.75], vec![0.01, 0.02, 0.03, 0.25]]).clone(),
            out_of_round_mm: Some(0.01),
            taper: None,
            run_out: None,
            length_mm: 30.0,
            smallest_mm: None,
            wear_limit_mm: None,
            wear_out_of_round_mm: None,
            wear_taper: None,
            aims: Vec::new(),
            any_size: false,
        };
        let tolerances = |maker: &mut Maker, usual: f64| {
            let loose = maker.rng.random_range(0.0..2.0);
            *maker.of(&[None, Some(0.0), Some(1e-12), Some(1e-7), Some(usual), Some(usual), Some(loose)])
        };
        Specification {
            name: "prone".into(),
            unit: Unit::Millimetre,
            throw_mm: *self.of(&[43.0, 43.0, 5.0, 0.5, 2_000.0]),
            throw_tolerance_mm: tolerances(self, 0.04).map(crank::ThrowTolerance::either_way),
            index_tolerance_deg: tolerances(self, 0.15),
            main: set(self, mains_mm, Vec::new(), 56.0),
            pin: set(self, pins_mm, angles_deg, 48.0),
            treatment: Treatment { kind: "none".into(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false },
        }
    }

    fn throws_deg(&mut self, pins: usize) -> Vec<f64> {
        let step = *self.of(&[0.0, 90.0, 120.0, 180.0, 180.0, 1e-6, 1e-9, 72.0]);
        let any = self.chance(0.2);
        (0..pins)
            .map(|k| if k > 0 && any { self.rng.random_range(0.0..360.0) } else { (step * k as f64).rem_euclid(360.0) })
            .collect()
    }

    fn findings(&mut self, specification: &Specification) -> Findings {
        let shop = gauge::Instrument::shop_default(Unit::Millimetre);
        // An instrument without any error keeps every tie in every draw.
        let exact =
            gauge::Instrument { graduation_mm: 0.0, error_limit_mm: 0.0, repeatability_mm: 0.0, ..shop.clone() };
        let instrument = if self.chance(0.4) { exact } else { shop };
        let mut findings = Findings { instruments: vec![instrument], ..Findings::default() };
        let wear_mm = *self.of(&[0.0, 0.0, 0.01, 0.04, 0.3]);
        let grain_mm = *self.of(&[0.0, 0.01, 0.001, 1e-9]);
        let alike = self.chance(0.5);
        let way = self.rng.random_range(0..7);
        for journal in specification.journals() {
            let way = if alike { way } else { self.rng.random_range(0..8) };
            let book_mm = specification.set(journal.set).size.middle_mm();
            match way {
                // Something is measured of each set.
                7 if journal.number > 1 => {}
                0..=3 => self.sweeps(journal, book_mm, wear_mm, grain_mm, &mut findings),
                _ => self.diameters(journal, book_mm, wear_mm, grain_mm, &mut findings),
            }
            self.seen(journal, &mut findings);
        }
        findings
    }

    fn size(&mut self, book_mm: f64, wear_mm: f64, grain_mm: f64) -> units::Entry {
        let worn_mm = grained(wear_mm * self.rng_unit(), grain_mm);
        units::read(&format!("{:.9}", book_mm - worn_mm), Unit::Millimetre).expect("a plain decimal")
    }

    fn rng_unit(&mut self) -> f64 {
        self.rng.random()
    }

    fn stations_mm(&mut self) -> Vec<f64> {
        self.of(&[vec![0.0], vec![-10.0, 10.0], vec![-10.0, 0.0, 10.0], vec![10.0, 10.0], vec![0.0, 1e-9]]).clone()
    }

    fn diameters(&mut self, journal: JournalId, book_mm: f64, wear_mm: f64, grain_mm: f64, findings: &mut Findings) {
        let any = self.rng.random_range(0.0..180.0);
        let planes = self
            .of(&[
                vec![0.0],
                vec![any],
                vec![0.0, 90.0],
                vec![0.0, 90.0],
                vec![any, any + 60.0, any + 120.0],
                vec![0.0, 45.0, 90.0, 135.0],
                vec![0.0, 1e-9],
                vec![any, any + 1e-6, 90.0],
                vec![90.0, 90.0],
            ])
            .clone();
        for at_mm in self.stations_mm() {
            for &plane_deg in &planes {
                let sizes = vec![self.size(book_mm, wear_mm, grain_mm)];
                findings.readings.push(Reading { journal, at_mm, plane_deg, sizes, with: 0 });
            }
        }
    }

    fn sweeps(&mut self, journal: JournalId, book_mm: f64, wear_mm: f64, grain_mm: f64, findings: &mut Findings) {
        let count = *self.of(&[1, 2, 3, 4, 5, 8, 12, 12, 15, 24, 36]);
        let start = *self.of(&[0.0, 0.0, 7.5, 33.333]);
        let over = *self.of(&[360.0, 360.0, 360.0, 360.0, 180.0, 90.0, 1.0, 1e-5]);
        let jitter = *self.of(&[0.0, 0.0, 0.0, 1e-7, 1e-10, 1.0]);
        let (off_mm, toward) = (wear_mm * self.rng_unit(), 360.0 * self.rng_unit());
        let again = self.chance(0.2);
        for at_mm in self.stations_mm() {
            let mut angles_deg: Vec<f64> =
                (0..count).map(|k| start + over * f64::from(k) / f64::from(count) + jitter * self.rng_unit()).collect();
            if again {
                // Every direction twice, the second time all but the same.
                angles_deg.extend(angles_deg.clone().into_iter().map(|a| a + jitter));
            }
            let departures_mm = angles_deg
                .iter()
                .map(|a| {
                    let low = off_mm * (a - toward).to_radians().cos() - wear_mm * self.rng_unit() / 4.0;
                    grained(low, grain_mm)
                })
                .collect();
            findings.traces.push(Trace {
                journal,
                at_mm,
                size: self.size(book_mm, wear_mm, grain_mm),
                angles_deg,
                departures_mm,
                with: 0,
                departure_sd_mm: *self.of(&[0.0, 1e-9, 0.0013]),
            });
        }
    }

    /// Run-out, centre, damage and wear, here and there.
    fn seen(&mut self, journal: JournalId, findings: &mut Findings) {
        if journal.set == SetName::Main && self.chance(0.2) {
            let (total_mm, high_deg) = (*self.of(&[0.0, 0.02, 0.2]), 360.0 * self.rng_unit());
            findings.run_outs.push(RunOut { journal, total_mm, high_deg });
        }
        if journal.set == SetName::Pin && self.chance(0.3) {
            let (throw_mm, index_deg) = (self.rng.random_range(-0.1..0.1), self.rng.random_range(-0.2..0.2));
            findings.centres.push(Centre { journal, throw_mm, index_deg });
        }
        if self.chance(0.2) {
            let likeliest_mm = *self.of(&[0.0, 0.02, 0.5]);
            let depth = Depth { lowest_mm: likeliest_mm / 2.0, likeliest_mm, highest_mm: 1.5 * likeliest_mm };
            let arc_deg = *self.of(&[None, Some((0.0, 90.0)), Some((350.0, 10.0))]);
            findings.damages.push(Damage { journal, kind: crank::DamageKind::Scoring, depth, at_mm: None, arc_deg });
        }
        if self.chance(0.2) {
            findings.worn.push(Worn { journal, share: *self.of(&[0.5, 0.75, 1.0]) });
        }
    }
}

fn grained(mm: f64, grain_mm: f64) -> f64 {
    if grain_mm > 0.0 { (mm / grain_mm).round() * grain_mm } else { mm }
}
