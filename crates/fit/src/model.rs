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

#[cfg(test)]
mod tests {
    use super::*;
    use units::Unit;

    fn mic(name: &str, error_limit_mm: f64) -> Instrument {
        Instrument { name: name.to_owned(), error_limit_mm, ..Instrument::shop_default(Unit::Millimetre) }
    }

    /// A bore of 60.05 and a journal of 60.00, their own doubts 0.003 and 0.004 mm.
    fn bore_and_journal(instruments: &[Instrument], with: (usize, usize)) -> (Model, Term) {
        let mut model = Model::default();
        let bore = model.measured(instruments, "bore", (60.05, 0.003), with.0, Used::Bore);
        let journal = model.measured(instruments, "journal", (60.00, 0.004), with.1, Used::Journal);
        let between = less(&bore, &journal);
        (model, between)
    }

    fn part(budget: &Budget, name: &str) -> f64 {
        budget.parts.iter().find(|part| part.name == name).map_or(0.0, Part::contribution)
    }

    /// One micrometer for both, its part at 30 °C: 36.233 millionths of a size are not known (worked in `gauge`). They take
    /// themselves away but for the 0.05 mm that bore and journal differ by: 1.81e-6 mm, not 0.0022 of either nor 0.0044 of both.
    /// Its scale takes itself away altogether. What is left is each reading's own: 3-4-5.
    #[test]
    fn what_one_micrometer_shares_takes_itself_away_in_a_difference() {
        let warm = Instrument { part_temperature_c: Some(30.0), ..mic("mic", 0.004) };
        let (model, between) = bore_and_journal(&[mic("none", 0.0), warm], (1, 1));
        assert!((model.value(&between) - 0.05).abs() < 1e-9);
        let budget = model.budget("a clearance".to_owned(), &between);
        assert!((part(&budget, "temperature of mic") - 36.233e-6 * 0.05).abs() < 1e-9);
        assert_eq!(part(&budget, "scale of mic"), 0.0);
        assert!((budget.combined() - 0.005).abs() < 1e-8, "{}", budget.combined());
    }

    /// Two micrometers, within 0.003 and 0.006 mm: a third of 9 and of 36 square microns beside the readings' own 25 make 40.
    #[test]
    fn two_scales_have_nothing_to_do_with_each_other() {
        let instruments = [mic("none", 0.0), mic("one", 0.003), mic("other", 0.006)];
        let (model, between) = bore_and_journal(&instruments, (1, 2));
        let found = model.budget("a clearance".to_owned(), &between).combined();
        assert!((found - 0.001 * 40.0_f64.sqrt()).abs() < 1e-9, "{found}");
        // Gauges that nobody named are one for each kind of size: the first stands for both, and its two scales count twice.
        let (model, between) = bore_and_journal(&[mic("shop default", 0.003)], (0, 0));
        let found = model.budget("a clearance".to_owned(), &between).combined();
        assert!((found - 0.001 * 31.0_f64.sqrt()).abs() < 1e-9, "{found}");
    }

    /// Two walls off one page, each anywhere within 0.006: half of that either way by the root of 3, twice over: 3² / 3 · 2 = 6
    /// square microns.
    #[test]
    fn two_walls_within_one_band_are_doubted_each_for_itself() {
        let mut model = Model::default();
        let band = Band { low_mm: 1.820, high_mm: 1.826 };
        let mut walls = model.within("shell wall", band);
        walls.extend(model.within("shell wall", band));
        assert!((model.value(&walls) - 3.646).abs() < 1e-9);
        let found = model.budget("two walls".to_owned(), &walls).combined();
        assert!((found - 0.001 * 6.0_f64.sqrt()).abs() < 1e-9, "{found}");
    }

    /// Drawn often enough, a size scatters as its budget says: own 0.003, a scale within 0.003 and a band of 0.006 wide are 9, 3
    /// and 3 square microns, 0.003873; with 36.233 millionths of 60 for the temperature, 4.726 more, 0.004441. Tolerance: three
    /// in a hundred for 20,000 draws.
    #[test]
    fn what_is_drawn_scatters_as_the_budget_says() {
        let warm = Instrument { part_temperature_c: Some(30.0), ..mic("warm", 0.003) };
        let instruments = [mic("none", 0.0), mic("cold", 0.003), warm];
        for (with, wanted_mm) in [(1, 0.003_873), (2, 0.004_441)] {
            let mut model = Model::default();
            let mut both = model.measured(&instruments, "bore", (60.0, 0.003), with, Used::Bore);
            both.extend(model.within("shell wall", Band { low_mm: 1.820, high_mm: 1.826 }));
            let (mut sum, mut squares, draws) = (0.0, 0.0, 20_000);
            model.draw(draws, 1, |drawn| {
                let off = drawn.value(&both) - 61.823;
                sum += off;
                squares += off * off;
            });
            let n = draws as f64;
            let sd = (squares / n - (sum / n).powi(2)).sqrt();
            assert!((sd / wanted_mm - 1.0).abs() < 0.03, "{sd}, not {wanted_mm}");
            let budget = model.budget("both".to_owned(), &both).combined();
            assert!((budget - wanted_mm).abs() < 1e-6, "{budget}, not {wanted_mm}");
        }
    }
}
