//! What a clearance is made of: measured and stated sizes, what each may be off by, and what they share.

use crank::{Band, Findings, JournalId};
use gauge::Instrument;
use gauge::budget::{Budget, Part, rectangular};
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;

/// What kind of thing an unnamed instrument measured. Two unnamed instruments are not taken for one, or their scale
/// errors would cancel without anybody having seen that they do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Used {
    Journal,
    Bore,
    Wall,
    Width,
    Faces,
    Washer,
    Rod,
}

impl Used {
    const fn word(self) -> &'static str {
        match self {
            Used::Journal => "journal",
            Used::Bore => "bore",
            Used::Wall => "shell wall",
            Used::Width => "width",
            Used::Faces => "housing width",
            Used::Washer => "washer",
            Used::Rod => "rod width",
        }
    }
}

/// An instrument as the model knows it: what all its readings share.
#[derive(Clone, Debug)]
struct Scale {
    key: (usize, Option<Used>),
    name: String,
    error_limit_mm: f64,
    temperature_share: f64,
}

/// One size that goes into clearances.
#[derive(Clone, Debug)]
struct Quantity {
    what: String,
    mm: f64,
    own_sd_mm: f64,
    /// Equally likely anywhere within this of `mm`.
    half_width_mm: f64,
    scale: Option<usize>,
}

/// A sum of quantities, each with its sign.
pub(crate) type Term = Vec<(f64, usize)>;

/// Everything that a set of clearances is made of.
#[derive(Clone, Debug, Default)]
pub(crate) struct Model {
    scales: Vec<Scale>,
    quantities: Vec<Quantity>,
}

impl Model {
    fn scale(&mut self, instruments: &[Instrument], with: usize, used: Used) -> Option<usize> {
        let instrument = instruments.get(with)?;
        let key = (with, (with == 0).then_some(used));
        if let Some(there) = self.scales.iter().position(|scale| scale.key == key) {
            return Some(there);
        }
        let name = if with == 0 { format!("the {} gauge", used.word()) } else { instrument.name.clone() };
        self.scales.push(Scale {
            key,
            name,
            error_limit_mm: instrument.error_limit_mm,
            temperature_share: instrument.temperature_share(),
        });
        Some(self.scales.len() - 1)
    }

    fn add(&mut self, quantity: Quantity) -> Term {
        self.quantities.push(quantity);
        vec![(1.0, self.quantities.len() - 1)]
    }

    /// A measured size.
    pub(crate) fn measured(
        &mut self,
        instruments: &[Instrument],
        what: impl Into<String>,
        (mm, own_sd_mm): (f64, f64),
        with: usize,
        used: Used,
    ) -> Term {
        let scale = self.scale(instruments, with, used);
        self.add(Quantity { what: what.into(), mm, own_sd_mm, half_width_mm: 0.0, scale })
    }

    /// A size known only to lie within limits.
    pub(crate) fn within(&mut self, what: impl Into<String>, band: Band) -> Term {
        let half_width_mm = (band.width_mm() / 2.0).max(0.0);
        self.add(Quantity { what: what.into(), mm: band.middle_mm(), own_sd_mm: 0.0, half_width_mm, scale: None })
    }

    /// The sizes of a journal: every reading and every diameter of its traces.
    pub(crate) fn journal(&mut self, findings: &Findings, journal: JournalId) -> Vec<Term> {
        let instruments = &findings.instruments;
        let mut terms = Vec::new();
        let mut readings = findings.readings.iter().filter(|r| r.journal == journal && !r.sizes.is_empty());
        for size in crank::sizes(findings, journal) {
            let (with, own_sd_mm) = match size.trace {
                None => {
                    let Some(reading) = readings.next() else { continue };
                    let own = instruments.get(reading.with).map_or(0.0, |i| i.own_variance_mm2(reading.sizes.len()));
                    (reading.with, own.sqrt())
                }
                Some(trace) => {
                    let Some(trace) = findings.traces.get(trace) else { continue };
                    let limit = instruments.get(trace.with).map_or(0.0, |i| rectangular(i.error_limit_mm));
                    (trace.with, (size.standard_uncertainty_mm.powi(2) - limit * limit).max(0.0).sqrt())
                }
            };
            terms.push(self.measured(instruments, "journal", (size.size_mm, own_sd_mm), with, Used::Journal));
        }
        terms
    }

    /// The value of a sum as measured.
    pub(crate) fn value(&self, term: &Term) -> f64 {
        term.iter().map(|&(sign, quantity)| sign * self.quantities.get(quantity).map_or(0.0, |q| q.mm)).sum()
    }

    /// What the doubt about a sum is made of: each size's own, and for each instrument what its readings share. A scale
    /// that stands on both sides of a difference takes itself away, as far as it does.
    pub(crate) fn budget(&self, of: String, term: &Term) -> Budget {
        let mut budget = Budget::new(of);
        let mut shared = vec![(0.0, 0.0); self.scales.len()];
        let mut push = |name: String, standard_uncertainty: f64, sign: f64| {
            if standard_uncertainty > 0.0 {
                let same = budget.parts.iter_mut().find(|part: &&mut Part| part.name == name && !part.shared);
                match same {
                    // Parts of one name that have nothing to do with each other: two walls off one page of a book.
                    Some(part) => {
                        let variance = part.contribution().powi(2) + (sign * standard_uncertainty).powi(2);
                        (part.standard_uncertainty, part.sensitivity) = (variance.sqrt(), 1.0);
                    }
                    None => budget.parts.push(Part::new(name, standard_uncertainty).with_sensitivity(sign)),
                }
            }
        };
        for &(sign, quantity) in term {
            let Some(quantity) = self.quantities.get(quantity) else { continue };
            push(format!("{}, its own reading", quantity.what), quantity.own_sd_mm, sign);
            push(format!("{}, within its limits", quantity.what), rectangular(quantity.half_width_mm), sign);
            if let Some(slot) = quantity.scale.and_then(|scale| shared.get_mut(scale)) {
                slot.0 += sign;
                slot.1 += sign * quantity.mm;
            }
        }
        for (scale, (sign, mm)) in self.scales.iter().zip(shared) {
            for (what, standard_uncertainty, sensitivity) in
                [("scale", rectangular(scale.error_limit_mm), sign), ("temperature", scale.temperature_share, mm)]
            {
                if standard_uncertainty > 0.0 && sensitivity != 0.0 {
                    let part = Part::new(format!("{what} of {}", scale.name), standard_uncertainty);
                    budget.parts.push(part.with_sensitivity(sensitivity).shared());
                }
            }
        }
        budget
    }

    /// Draws everything anew, many times, and shows each draw. The same seed gives the same draws.
    pub(crate) fn draw(&self, draws: usize, seed: u64, mut show: impl FnMut(&Drawn<'_>)) {
        // Off the numbers of the clean-up question, which takes its seeds the same way.
        let mut rng = Pcg64::seed_from_u64(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5348_454C_4C53);
        let mut errors = vec![(0.0, 0.0); self.scales.len()];
        let mut sizes = vec![0.0; self.quantities.len()];
        for _ in 0..draws {
            for (error, scale) in errors.iter_mut().zip(&self.scales) {
                let normal: f64 = StandardNormal.sample(&mut rng);
                *error = (scale.error_limit_mm * (2.0 * rng.random::<f64>() - 1.0), scale.temperature_share * normal);
            }
            for (size, quantity) in sizes.iter_mut().zip(&self.quantities) {
                let (fixed, share) = quantity.scale.and_then(|scale| errors.get(scale)).copied().unwrap_or((0.0, 0.0));
                *size = quantity.mm + fixed + share * quantity.mm;
                if quantity.own_sd_mm > 0.0 {
                    let normal: f64 = StandardNormal.sample(&mut rng);
                    *size += quantity.own_sd_mm * normal;
                }
                if quantity.half_width_mm > 0.0 {
                    *size += quantity.half_width_mm * (2.0 * rng.random::<f64>() - 1.0);
                }
            }
            show(&Drawn { sizes: &sizes });
        }
    }
}

/// One draw of every size.
#[derive(Debug)]
pub(crate) struct Drawn<'a> {
    sizes: &'a [f64],
}

impl Drawn<'_> {
    /// The value of a sum in this draw.
    pub(crate) fn value(&self, term: &Term) -> f64 {
        term.iter().map(|&(sign, quantity)| sign * self.sizes.get(quantity).copied().unwrap_or(0.0)).sum()
    }
}

/// One sum less another.
pub(crate) fn less(a: &Term, b: &Term) -> Term {
    a.iter().copied().chain(b.iter().map(|&(sign, quantity)| (-sign, quantity))).collect()
}
