//! A last digit that heaps on 0 and 5: sizes read to the nearest half step, not to the graduation.

use std::collections::{BTreeMap, BTreeSet};

use units::Unit;

use super::{Kind, Search, Suspicion, words};

/// By chance so rarely, before it is mentioned.
const CHANCE: f64 = 1e-4;
/// Two of ten digits are 0 and 5.
const SHARE: f64 = 0.2;

/// One remark for each micrometer whose readings heap, with the first set that was read with it.
///
/// Different sizes are counted, each once: journals that are all alike end alike, and honestly so.
pub(super) fn heaped(search: &Search) -> Vec<Suspicion> {
    let mut sizes: BTreeMap<&str, (usize, Unit, f64, BTreeSet<i64>)> = BTreeMap::new();
    for spot in search.spots {
        let Some(set) = search.groups.get(spot.group).map(|g| g.set) else { continue };
        let Some((unit, step)) = decimal(spot.graduation_mm) else { continue };
        for (i, mm) in spot.sizes_mm.iter().enumerate().filter(|(_, mm)| mm.is_finite() && **mm > 0.0) {
            let read = typed(spot.typed.get(i).map_or("", String::as_str), *mm, unit).unwrap_or(mm / unit.mm());
            let steps = read / step;
            // Finer than the graduation: estimated between the lines, and its last digit is another.
            if steps.abs() < 1e12 && (steps - steps.round()).abs() < 1e-6 {
                let of = sizes.entry(&spot.with).or_insert((set, unit, step, BTreeSet::new()));
                if of.1 == unit && of.2 == step {
                    of.3.insert(steps.round() as i64);
                }
            }
        }
    }
    sizes.into_iter().filter_map(|(with, (set, unit, step, of))| says(with, set, unit, step, &of)).collect()
}

fn says(with: &str, set: usize, unit: Unit, step: f64, of: &BTreeSet<i64>) -> Option<Suspicion> {
    let heaped = of.iter().filter(|steps| steps.rem_euclid(5) == 0).count();
    if tail(of.len(), heaped) > CHANCE {
        return None;
    }
    let whose = if with.is_empty() { "the micrometer" } else { with };
    let says = format!(
        "Of {} different sizes read with {whose}, {} end in 0 or 5; about {} would by chance. Were they rounded to {}? Read \
         to the last graduation, {}.",
        words::number(of.len()),
        words::number(heaped),
        words::number((of.len() as f64 * SHARE).round() as usize),
        words::step(5.0 * step * unit.mm(), unit),
        words::step(step * unit.mm(), unit),
    );
    let kind = Kind::LastDigitHeaps;
    Some(Suspicion { kind, set, group: None, spot: None, repeat: None, says, would_be_mm: None })
}

/// A graduation that is one in the last decimal, in inches or millimetres.
fn decimal(graduation_mm: f64) -> Option<(Unit, f64)> {
    [Unit::Inch, Unit::Millimetre].into_iter().find_map(|unit| {
        let step = graduation_mm / unit.mm();
        let power = step.log10().round();
        let whole = 10f64.powf(power);
        ((-6.0..0.0).contains(&power) && (step - whole).abs() < 1e-9 * whole).then_some((unit, whole))
    })
}

/// The number as typed, where it is the reading in this unit but for a zero correction.
fn typed(text: &str, mm: f64, unit: Unit) -> Option<f64> {
    const ZERO_MM: f64 = 0.2;
    let figure = text.trim().trim_end_matches(|c: char| c.is_alphabetic() || c == '"' || c == ' ').replace(',', ".");
    figure.parse::<f64>().ok().filter(|n| (n * unit.mm() - mm).abs() < ZERO_MM)
}

/// The chance of at least `heaped` of `count`, by the binomial distribution.
fn tail(count: usize, heaped: usize) -> f64 {
    let mut term = (1.0 - SHARE).powi(count.min(10_000) as i32);
    let mut sum = 0.0;
    for k in 0..=count.min(10_000) {
        if k >= heaped {
            sum += term;
        }
        term *= (count - k) as f64 / (k as f64 + 1.0) * SHARE / (1.0 - SHARE);
    }
    if heaped * 2 > count { sum } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand, of five digits each 0 or 5 with two in ten: all five 0.2⁵ = 0.00032, four or more 5 · 0.2⁴ · 0.8 more, 0.00672.
    /// Ten with six or more: 0.0064 in any table of the binomial.
    #[test]
    fn heaps_are_as_rare_as_the_binomial_says() {
        for (count, heaped, chance, within) in [(5, 5, 0.000_32, 1e-12), (5, 4, 0.006_72, 1e-12), (10, 6, 0.0064, 5e-5)]
        {
            assert!((tail(count, heaped) - chance).abs() < within, "{heaped} of {count}: {}", tail(count, heaped));
        }
        assert_eq!(tail(10, 5), 1.0, "half of them is no heap");
    }
}
