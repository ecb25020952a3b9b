//! The comparison: which level has each journal, and which readings are then turns off it.
//!
//! Given its journal's level a reading is honest, some turns off, or wrong otherwise, with the chances of
//! [`super::priors`]. A level that explains the journal's readings well, and stands well in the set, is likely. The
//! set's level is found the same way from all journals and the book. All three are worked on grids, so a journal whose
//! readings are half and half is decided by the rest of its set without any rule saying so.

use std::collections::BTreeMap;

use super::priors::{self, MOST_TURNS};
use super::{Group, Reading, median};

const TURN_SLOTS: usize = 2 * MOST_TURNS as usize + 1;
/// The set's level and the journals' places in it are worked in steps of a hundredth of a millimetre.
const BIN_MM: f64 = 0.01;
/// Levels less likely than the best by this factor (its logarithm) are dropped.
const NEGLIGIBLE: f64 = 30.0;

/// How likely each explanation of one reading is.
#[derive(Clone, Debug)]
pub(super) struct Explained {
    by_turns: [f64; TURN_SLOTS],
    pub(super) otherwise: f64,
}

impl Explained {
    /// The likeliest number of turns off (not zero) and its chance.
    pub(super) fn likeliest_turns(&self) -> (i32, f64) {
        (-MOST_TURNS..=MOST_TURNS)
            .filter(|&k| k != 0)
            .map(|k| (k, self.at(k)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((1, 0.0))
    }

    /// Chance of being off by any whole turns.
    pub(super) fn turned(&self) -> f64 {
        self.by_turns.iter().sum::<f64>() - self.at(0)
    }

    fn at(&self, turns: i32) -> f64 {
        self.by_turns.get((turns + MOST_TURNS) as usize).copied().unwrap_or(0.0)
    }
}

/// What the comparison says of one journal.
#[derive(Clone, Debug)]
pub(super) struct Journal {
    pub(super) group: usize,
    pub(super) readings: Vec<Reading>,
    /// One for each reading.
    pub(super) explained: Vec<Explained>,
    /// Likeliest level as it was read.
    pub(super) level_mm: f64,
    /// Chance that no reading is wrong.
    pub(super) all_good: f64,
    /// Likeliest number of turns that the whole journal is off its set, and the chance that it is off.
    pub(super) turned: (i32, f64),
}

/// What the comparison says of a set.
#[derive(Clone, Debug)]
pub(super) struct Vote {
    pub(super) journals: Vec<Journal>,
    pub(super) level_mm: Option<f64>,
    /// The usual spread of honest readings about their journal's level.
    pub(super) spread_mm: f64,
}

impl Vote {
    /// How many readings were compared.
    pub(super) fn count(&self) -> usize {
        self.journals.iter().map(|journal| journal.readings.len()).sum()
    }
}

struct Levels {
    group: usize,
    readings: Vec<Reading>,
    /// Level and the logarithm of how well it explains the readings.
    fine: Vec<(f64, f64)>,
    /// The same, summed over bins and scaled to a largest of one.
    bins: BTreeMap<i64, f64>,
}

/// The usual spread: from all pairs of readings within a journal, whole turns taken out, by the median so that
/// misreads and bad journals do not widen it; never less than the readings' own doubt.
fn spread(by_group: &BTreeMap<usize, Vec<Reading>>) -> f64 {
    const MOST_PARTNERS: usize = 12;
    let mut differences = Vec::new();
    let mut doubts = Vec::new();
    for readings in by_group.values() {
        for (i, a) in readings.iter().enumerate() {
            doubts.push(a.doubt_mm);
            for b in readings.iter().skip(i + 1).take(MOST_PARTNERS) {
                let d = a.mm - b.mm;
                let turned = if a.turn_mm > 0.0 { (d / a.turn_mm).round() * a.turn_mm } else { 0.0 };
                differences.push((d - turned).abs());
            }
        }
    }
    // Half the differences of two normal readings are below 0.6745 of sqrt 2 standard deviations.
    let seen = median(differences) / (0.674_49 * std::f64::consts::SQRT_2);
    seen.max(median(doubts)).clamp(1e-4, priors::WIDEST_SPREAD_MM)
}

/// Turns that could matter between a level and a reading: none, and the nearest whole number.
fn turns_to_try(reading: &Reading, level: f64) -> (i32, Option<i32>) {
    if reading.turn_mm <= 0.0 {
        return (0, None);
    }
    let nearest = ((reading.mm - level) / reading.turn_mm).round();
    if nearest == 0.0 || nearest.abs() > f64::from(MOST_TURNS) { (0, None) } else { (0, Some(nearest as i32)) }
}

fn density(reading: &Reading, level: f64, turns: i32, spread: f64) -> f64 {
    let spread = spread.max(reading.doubt_mm);
    priors::turned(turns) * priors::form(reading.mm - level - f64::from(turns) * reading.turn_mm, spread)
}

const OTHERWISE: f64 = priors::OTHERWISE_WRONG / priors::OTHERWISE_WIDTH_MM;

fn likelihood(reading: &Reading, level: f64, spread: f64) -> f64 {
    let (none, nearest) = turns_to_try(reading, level);
    density(reading, level, none, spread) + nearest.map_or(0.0, |k| density(reading, level, k, spread)) + OTHERWISE
}

/// Levels worth trying: a fine grid about every reading, and between readings that wear could part.
fn grid(readings: &[Reading], spread: f64) -> Vec<f64> {
    const MOST_POINTS: f64 = 400.0;
    const WEAR_MM: f64 = 0.3;
    let mut sorted: Vec<f64> = readings.iter().map(|r| r.mm).collect();
    sorted.sort_by(f64::total_cmp);
    let mut stretches: Vec<(f64, f64)> = Vec::new();
    for y in sorted {
        let (low, high) = (y - 2.0 * spread, y + 2.0 * spread);
        match stretches.last_mut() {
            Some(last) if low - last.1 < WEAR_MM => last.1 = high,
            _ => stretches.push((low, high)),
        }
    }
    let total: f64 = stretches.iter().map(|(low, high)| high - low).sum();
    let step = (0.5 * spread).max(total / MOST_POINTS);
    let mut levels = Vec::new();
    for (low, high) in stretches {
        let count = ((high - low) / step).ceil() as usize;
        levels.extend((0..=count).map(|i| low + i as f64 * step));
    }
    levels
}

fn bin(mm: f64) -> i64 {
    (mm / BIN_MM).round() as i64
}

fn levels(group: usize, readings: Vec<Reading>, spread: f64) -> Levels {
    let mut fine: Vec<(f64, f64)> = grid(&readings, spread)
        .into_iter()
        .map(|level| (level, readings.iter().map(|r| likelihood(r, level, spread).ln()).sum()))
        .collect();
    let best = fine.iter().map(|l| l.1).fold(f64::NEG_INFINITY, f64::max);
    fine.retain(|l| l.1 > best - NEGLIGIBLE);
    let mut bins = BTreeMap::new();
    for (level, log) in &mut fine {
        *log -= best;
        *bins.entry(bin(*level)).or_insert(0.0) += log.exp();
    }
    Levels { group, readings, fine, bins }
}

fn turn_of(readings: &[Reading]) -> f64 {
    median(readings.iter().map(|r| r.turn_mm))
}

/// Density of a journal's level from its set's, whole turns allowed.
fn place(d: f64, turn: f64) -> f64 {
    priors::journal(d) + place_turned(d, turn).map_or(0.0, |(_, p)| p)
}

fn place_turned(d: f64, turn: f64) -> Option<(i32, f64)> {
    if turn <= 0.0 {
        return None;
    }
    let nearest = (d / turn).round();
    if nearest == 0.0 || nearest.abs() > f64::from(MOST_TURNS) {
        return None;
    }
    Some((nearest as i32, priors::journal_turned(d, turn, nearest as i32)))
}

/// Compares the readings of one set; `book` is a journal of the set to take the book sizes from, if they can be used.
pub(super) fn vote(readings: Vec<Reading>, book: Option<&Group>) -> Vote {
    let mut by_group: BTreeMap<usize, Vec<Reading>> = BTreeMap::new();
    for reading in readings {
        by_group.entry(reading.group).or_default().push(reading);
    }
    let spread_mm = spread(&by_group);
    let all: Vec<Levels> = by_group.into_iter().map(|(group, of)| levels(group, of, spread_mm)).collect();

    // The set's level: every place where some journal may stand.
    let mut places: Vec<i64> = all.iter().flat_map(|l| l.bins.keys().copied()).collect();
    places.sort_unstable();
    places.dedup();
    let every = places.len().div_ceil(400).max(1);
    let places: Vec<f64> = places.into_iter().step_by(every).map(|b| b as f64 * BIN_MM).collect();
    let by_journal: Vec<Vec<f64>> = all
        .iter()
        .map(|l| {
            let turn = turn_of(&l.readings);
            let at = |set: f64| l.bins.iter().map(|(&b, w)| w * place(b as f64 * BIN_MM - set, turn)).sum::<f64>().ln();
            places.iter().map(|&set| at(set)).collect()
        })
        .collect();
    let total: Vec<f64> = places
        .iter()
        .enumerate()
        .map(|(i, &set)| {
            book.map_or(0.0, |g| priors::set(set, g.new_mm, &g.ladder_mm).ln())
                + by_journal.iter().filter_map(|j| j.get(i)).sum::<f64>()
        })
        .collect();
    let level_mm = places.iter().zip(&total).max_by(|a, b| a.1.total_cmp(b.1)).map(|(place, _)| *place);

    let journals = all
        .into_iter()
        .zip(&by_journal)
        .map(|(levels, own)| {
            let without: Vec<f64> = total.iter().zip(own).map(|(t, o)| t - o).collect();
            settle(levels, &places, &without, spread_mm)
        })
        .collect();
    Vote { journals, level_mm, spread_mm }
}

/// One journal's verdict, given how the rest of the set and the book place the set's level.
fn settle(levels: Levels, places: &[f64], log_weights: &[f64], spread: f64) -> Journal {
    let best = log_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let set: Vec<(f64, f64)> =
        places.iter().zip(log_weights).map(|(&p, w)| (p, (w - best).exp())).filter(|(_, w)| *w > 1e-13).collect();
    let turn = turn_of(&levels.readings);
    let mut standing: BTreeMap<i64, f64> = BTreeMap::new();
    let mut by_turns: BTreeMap<i32, f64> = BTreeMap::new();
    let mut total = 0.0;
    for (&b, own) in &levels.bins {
        let mut sum = 0.0;
        for (place, weight) in &set {
            let d = b as f64 * BIN_MM - place;
            let honest = weight * priors::journal(d);
            sum += honest;
            if let Some((k, p)) = place_turned(d, turn) {
                sum += weight * p;
                *by_turns.entry(k).or_insert(0.0) += own * weight * p;
            }
        }
        standing.insert(b, sum);
        total += own * sum;
    }
    let likeliest = by_turns.iter().max_by(|a, b| a.1.total_cmp(b.1)).map_or(1, |(k, _)| *k);
    let turned = (likeliest, if total > 0.0 { by_turns.values().sum::<f64>() / total } else { 0.0 });

    let weighted: Vec<(f64, f64)> = levels
        .fine
        .iter()
        .map(|&(level, log)| (level, log.exp() * standing.get(&bin(level)).copied().unwrap_or(0.0)))
        .collect();
    let sum: f64 = weighted.iter().map(|w| w.1).sum::<f64>().max(f64::MIN_POSITIVE);
    let level_mm = weighted.iter().max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0.0, |w| w.0);
    let mut explained = vec![Explained { by_turns: [0.0; TURN_SLOTS], otherwise: 0.0 }; levels.readings.len()];
    let mut all_good = 0.0;
    for (level, weight) in weighted.into_iter().map(|(l, w)| (l, w / sum)).filter(|(_, w)| *w > 1e-9) {
        let mut good = weight;
        for (reading, of) in levels.readings.iter().zip(&mut explained) {
            let whole = likelihood(reading, level, spread);
            let (none, nearest) = turns_to_try(reading, level);
            let honest = density(reading, level, none, spread) / whole;
            good *= honest;
            for (k, share) in
                [(Some(none), honest), (nearest, nearest.map_or(0.0, |k| density(reading, level, k, spread) / whole))]
            {
                let slot = k.and_then(|k| of.by_turns.get_mut((k + MOST_TURNS) as usize));
                if let Some(slot) = slot {
                    *slot += weight * share;
                }
            }
            of.otherwise += weight * OTHERWISE / whole;
        }
        all_good += good;
    }
    Journal { group: levels.group, readings: levels.readings, explained, level_mm, all_good, turned }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn readings(sizes_mm: &[f64]) -> BTreeMap<usize, Vec<Reading>> {
        let reading =
            |(spot, &mm): (usize, &f64)| Reading { group: 0, spot, repeat: 0, mm, turn_mm: 0.5, doubt_mm: 0.0 };
        BTreeMap::from([(0, sizes_mm.iter().enumerate().map(reading).collect())])
    }

    /// Two readings of a normal spread differ by a normal of √2 times it, half of them by less than 0.6745 of that. So a middle
    /// difference of 0.047694 shows a spread of 0.0500. A whole turn between them is taken out.
    #[test]
    fn a_spread_is_read_from_differences() {
        for sizes in [[60.0, 60.047_694], [60.0, 60.547_694], [60.047_694, 59.5]] {
            let found = spread(&readings(&sizes));
            assert!((found - 0.0500).abs() < 1e-6, "{found} for {sizes:?}");
        }
        assert_eq!(spread(&readings(&[60.0, 60.2])), priors::WIDEST_SPREAD_MM, "no honest journal's is wider");
        assert_eq!(spread(&readings(&[60.0, 60.0])), 1e-4);
    }
}
