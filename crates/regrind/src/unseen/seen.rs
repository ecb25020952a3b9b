//! A journal where it was read: what its true diameters are at those spots, drawn from all its readings together.
//!
//! The largest of many readings is too large and the smallest too small, each by what the micrometer and the hand add; their
//! difference is out of round before the journal is. Of a drawn shape the readings tell more: what a reading differs from
//! it is partly the journal's (ragged) and partly the micrometer's own, in the share of their variances. So a diameter at a
//! spot is drawn as shape + ragged, where ragged given the difference r is normal with mean r v / (v + w) and variance
//! v w / (v + w), v of the raggedness and w of the reading's own error.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;

use crank::{Band, FormCheck, JournalId, Size, Specification};

use super::Model;
use super::drawn::{Drawn, DrawnJournal, Sampler};
use super::readings::{Diameter, END_STATION};
use super::room::Standing;
use super::shape::{DIRECTIONS, SHARPNESSES, across};
use crate::afterwards::Later;
use crate::chance::SAME_LENGTH_MM;
use crate::draws::BLOCK;
use crate::outgrown::Grown;
use crate::tally::add;

/// Two readings so near to each other may be of one spot.
const SAME_MM: f64 = 1.0;
const SAME_DEG: f64 = 5.0;

/// One spot that was read.
struct Spot {
    zeta: f64,
    size_mm: f64,
    own_mm2: f64,
    instrument: usize,
    /// How much of an oval part it shows, for each sharpness and direction.
    shows: [[f64; DIRECTIONS]; SHARPNESSES],
}

/// The spots of one journal that were read, and the check of its limits there.
pub(super) struct Seen {
    spots: Vec<Spot>,
    check: FormCheck,
    /// Whether any of them was read twice.
    repeated: bool,
}

impl Seen {
    /// The spots of a journal; nothing where none was read.
    pub(super) fn new(specification: &Specification, id: JournalId, diameters: &[Diameter]) -> Option<Seen> {
        let set = specification.set(id.set);
        let places: Vec<Size> = diameters
            .iter()
            .map(|d| Size {
                at_mm: d.zeta * END_STATION * set.length_mm,
                plane_deg: d.angle_deg.rem_euclid(180.0),
                size_mm: d.size_mm,
                ..Size::default()
            })
            .collect();
        let spot = |d: &Diameter| Spot {
            zeta: d.zeta,
            size_mm: d.size_mm,
            own_mm2: d.own_mm2,
            instrument: d.instrument,
            shows: std::array::from_fn(|sharpness| {
                std::array::from_fn(|direction| across(d.angle_deg, direction, sharpness))
            }),
        };
        let same = |a: &Size, b: &Size| {
            (a.at_mm - b.at_mm).abs() < SAME_MM && crank::planes_apart_deg(a.plane_deg, b.plane_deg) < SAME_DEG
        };
        let repeated = places.iter().enumerate().any(|(n, a)| places.iter().take(n).any(|b| same(a, b)));
        let check = FormCheck::new(set, 0.0, &places);
        (!diameters.is_empty()).then(|| Seen { spots: diameters.iter().map(spot).collect(), check, repeated })
    }

    /// The diameters of a drawn journal at the spots that were read, as they would be if it had been ground to standard.
    /// `middle_mm` is the middle of the limits at standard, `set` mains or pins.
    fn draw(
        &self,
        drawn: &Drawn,
        journal: &DrawnJournal,
        (middle_mm, step_mm, set): (f64, f64, usize),
        noise: &mut Pcg64,
        sizes_mm: &mut Vec<f64>,
    ) {
        sizes_mm.clear();
        sizes_mm.extend(self.spots.iter().map(|spot| {
            let (even, oval) = journal.parts_mm(spot.zeta);
            let shown = spot.shows.get(journal.sharpness).map_or(0.0, |shows| shows[journal.side % DIRECTIONS]);
            let shape_mm = middle_mm - even - oval * shown;
            let error_mm = drawn.errors_mm.get(spot.instrument).map_or(0.0, |errors| errors[set]);
            let both_mm2 = (journal.ragged_mm2 + spot.own_mm2).max(f64::MIN_POSITIVE);
            let share = journal.ragged_mm2 / both_mm2;
            let normal: f64 = StandardNormal.sample(noise);
            let off_mm = spot.size_mm + error_mm + step_mm - shape_mm;
            shape_mm + share * off_mm + (share * spot.own_mm2).sqrt() * normal
        }));
    }

    /// What such diameters come to: the smallest and the largest, and whether they keep out-of-round and taper. The form, which
    /// takes longest, is not asked of sizes that lie under every limit of size anyway.
    fn found(&self, sizes_mm: &[f64], least_asked_mm: f64) -> Found {
        let (mut low_mm, mut high_mm) = (f64::INFINITY, f64::NEG_INFINITY);
        for &mm in sizes_mm {
            (low_mm, high_mm) = (low_mm.min(mm), high_mm.max(mm));
        }
        let any_size = Band { low_mm: f64::NEG_INFINITY, high_mm: f64::INFINITY };
        let formed = low_mm >= least_asked_mm && self.check.keeps_with(sizes_mm, any_size);
        Found { low_mm, high_mm, formed }
    }

    /// Whether such diameters, made smaller by so much, keep size, out-of-round and taper. A spot that was read twice counts as
    /// its mean.
    fn keeps(&self, sizes_mm: &[f64], found: &Found, smaller_mm: f64) -> bool {
        let band = self.check.size_limits();
        let (low_mm, high_mm) = (band.low_mm + smaller_mm, band.high_mm + smaller_mm);
        if self.repeated {
            return self.check.keeps_with(sizes_mm, Band { low_mm, high_mm });
        }
        found.formed && found.low_mm >= low_mm && found.high_mm <= high_mm
    }

    /// Whether they do where a journal may be larger than new.
    fn keeps_if_larger(&self, sizes_mm: &[f64], found: &Found) -> bool {
        let low_mm = self.check.size_limits().low_mm;
        if self.repeated {
            return self.check.keeps_with(sizes_mm, Band { low_mm, high_mm: f64::INFINITY });
        }
        found.formed && found.low_mm >= low_mm
    }
}

/// What the diameters of one journal of a draw come to.
struct Found {
    low_mm: f64,
    high_mm: f64,
    /// Out-of-round and taper are kept.
    formed: bool,
}

/// How many draws keep their limits where they were read.
#[derive(Clone, Debug)]
pub(crate) struct Reads {
    /// For each journal.
    pub(crate) within: Vec<usize>,
    /// For each set: every journal, and nothing is damaged.
    pub(crate) alone: [usize; 2],
    /// For each set: the same where a journal may be larger than new.
    pub(crate) unworn: [usize; 2],
    /// For each set: every journal after a polish, which takes out what was seen; and for each journal by itself.
    pub(crate) polished: [usize; 2],
    pub(crate) polished_each: Vec<usize>,
    /// For each set: once it has grown in treatment.
    pub(crate) grown: Grown,
}

impl Reads {
    pub(super) fn nothing(journals: usize) -> Reads {
        Reads {
            within: vec![0; journals],
            alone: [0; 2],
            unworn: [0; 2],
            polished: [0; 2],
            polished_each: vec![0; journals],
            grown: Grown::default(),
        }
    }

    pub(super) fn add(&mut self, other: &Reads) {
        add(&mut self.within, &other.within);
        add(&mut self.alone, &other.alone);
        add(&mut self.unworn, &other.unworn);
        add(&mut self.polished, &other.polished);
        add(&mut self.polished_each, &other.polished_each);
        self.grown.add(other.grown);
    }
}

/// What is asked of one journal of a draw.
#[derive(Clone, Copy)]
struct Keeps {
    within: bool,
    unworn: bool,
    polished: bool,
    left: bool,
    to_size: bool,
}

impl Model<'_> {
    /// Numbers of its own for what was read, so that the draws stay as they were.
    pub(super) fn noise(&self, block: usize) -> Pcg64 {
        Pcg64::seed_from_u64(self.policy.seed.wrapping_mul(0xC2B2_AE3D_27D4_EB4F).wrapping_add(block as u64))
    }

    /// What a journal of a draw keeps where it was read; `standings` as it is, and polished. One that keeps its limits all over keeps them there too; against one
    /// that nobody read nothing is known.
    fn reads(
        &self,
        drawn: &Drawn,
        later: Option<&Later<'_>>,
        j: usize,
        standings: (Standing, Standing),
        noise: &mut Pcg64,
        sizes_mm: &mut Vec<f64>,
    ) -> Keeps {
        let at = &self.journals[j];
        let Some(seen) = &at.seen else {
            return Keeps { within: true, unworn: true, polished: true, left: true, to_size: true };
        };
        let (as_it_is, polished) = standings;
        if as_it_is.within && polished.within && later.is_none() {
            return Keeps { within: true, unworn: true, polished: true, left: true, to_size: true };
        }
        let journal = &drawn.journals[j];
        let step_mm = self.ladder_mm(at.set).get(journal.step).copied().unwrap_or(0.0);
        seen.draw(drawn, journal, (at.middle_mm, step_mm, at.set), noise, sizes_mm);
        // A run-out that nobody took was not read.
        let straight = |standing: &Standing| at.run_out_mm.is_none() || !standing.bent;
        let polished_mm = |later: &Later<'_>| later.polished_mm.get(j).copied().unwrap_or(0.0);
        let least_mm = later.map_or(0.0, |later| later.left_mm.min(polished_mm(later))).min(0.0);
        let found = seen.found(sizes_mm, seen.check.size_limits().low_mm + least_mm);
        let keeps = |standing: &Standing, smaller_mm: f64| {
            standing.within || straight(standing) && seen.keeps(sizes_mm, &found, smaller_mm)
        };
        let later_keeps = |smaller_mm: f64| keeps(&self.standing(drawn, j, smaller_mm), smaller_mm);
        let within = keeps(&as_it_is, 0.0);
        Keeps {
            within,
            unworn: within || straight(&as_it_is) && (!as_it_is.worn || seen.keeps_if_larger(sizes_mm, &found)),
            polished: keeps(&polished, self.policy.polish_stock_mm),
            left: later.is_none_or(|later| later_keeps(later.left_mm)),
            to_size: later.is_none_or(|later| later_keeps(polished_mm(later))),
        }
    }

    /// Counts what a draw keeps where it was read.
    pub(super) fn count_reads(
        &self,
        drawn: &Drawn,
        later: Option<&Later<'_>>,
        noise: &mut Pcg64,
        sizes_mm: &mut Vec<f64>,
        counted: &mut Reads,
    ) {
        for s in 0..2 {
            if self.sets[s].is_none() {
                continue;
            }
            let mut set = Keeps { within: true, unworn: true, polished: true, left: true, to_size: true };
            for j in self.of_set(s) {
                let standings = (self.standing(drawn, j, 0.0), self.standing(drawn, j, self.policy.polish_stock_mm));
                let mut keeps = self.reads(drawn, later, j, standings, noise, sizes_mm);
                let id = self.journals[j].id;
                let own = self.findings.damages.iter().zip(&drawn.depths_mm).filter(|(damage, _)| damage.journal == id);
                for (_, &deep) in own {
                    let sound = deep <= SAME_LENGTH_MM;
                    (set.within, set.unworn, keeps.left) =
                        (set.within && sound, set.unworn && sound, keeps.left && sound);
                    keeps.polished &= deep <= self.policy.polish_stock_mm / 2.0 + SAME_LENGTH_MM;
                    keeps.to_size &= later.is_none_or(|later| deep <= later.of.takes_out_mm(j) + SAME_LENGTH_MM);
                }
                counted.within[j] += usize::from(keeps.within);
                counted.polished_each[j] += usize::from(keeps.polished);
                set.within &= keeps.within;
                set.unworn &= keeps.unworn;
                set.polished &= keeps.polished;
                set.left &= keeps.left;
                set.to_size &= keeps.to_size;
            }
            counted.alone[s] += usize::from(set.within);
            counted.unworn[s] += usize::from(set.unworn);
            counted.polished[s] += usize::from(set.polished);
            counted.grown.left_alone[s] += usize::from(set.left);
            counted.grown.to_size[s] += usize::from(set.to_size);
        }
    }

    /// In how large a share of the draws all of some journals keep their limits, where they were read and all over.
    pub(crate) fn share_kept(&self, journals: &[usize], draws: usize) -> (f64, f64) {
        let (mut read, mut all_over) = (0usize, 0usize);
        let mut sizes_mm = Vec::new();
        for block in 0..draws.div_ceil(BLOCK) {
            let mut sampler = Sampler::new(self, block);
            let mut noise = self.noise(block);
            for _ in block * BLOCK..((block + 1) * BLOCK).min(draws) {
                sampler.next();
                let drawn = &sampler.drawn;
                let mut keep = (true, true);
                for &j in journals {
                    let standing = self.standing(drawn, j, 0.0);
                    keep.0 &= self.reads(drawn, None, j, (standing, standing), &mut noise, &mut sizes_mm).within;
                    keep.1 &= standing.within;
                }
                read += usize::from(keep.0);
                all_over += usize::from(keep.1);
            }
        }
        let share = |hits: usize| hits as f64 / draws.max(1) as f64;
        (share(read), share(all_over))
    }
}
