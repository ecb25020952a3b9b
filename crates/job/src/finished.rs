//! A journal as it was finished: what the final check measured of its sizes and its form.

use crank::JournalId;
use gauge::conformity::{Limits, Outcome};
use shop::Job;

use crate::aims::Aims;
use crate::final_check::SpotCheck;
use crate::march::{Across, Station};

/// One journal at the final check.
#[derive(Clone, Debug, PartialEq)]
pub struct Finished {
    /// Smallest size.
    pub low_mm: f64,
    /// Largest size.
    pub high_mm: f64,
    /// Most that the sizes at one station differ by; none where no station has both directions.
    pub out_of_round_mm: Option<f64>,
    /// Most that the sizes along one direction differ by; none where no direction has two stations.
    pub taper_mm: Option<f64>,
    /// Standard uncertainty of a size, the largest of them.
    pub doubt_mm: f64,
    /// Standard uncertainty of the difference of two sizes: what the micrometer does to both alike does not count.
    pub difference_doubt_mm: f64,
    /// The micrometers, each once.
    pub with: Vec<String>,
}

struct Taken {
    station: Station,
    across: Across,
    size_mm: f64,
}

/// What the final check has of a journal now; nothing where none of it is in.
pub fn finished(job: &Job, aims: &Aims, checked: &[SpotCheck], journal: JournalId) -> Option<Finished> {
    let mut taken: Vec<Taken> = Vec::new();
    let (mut doubt_mm, mut own_mm) = (0.0_f64, 0.0_f64);
    let mut with: Vec<String> = Vec::new();
    for check in checked.iter().filter(|check| check.spot.journal == journal && check.is_in()) {
        let Some(row) = job.final_readings.iter().find(|row| check.entry == Some(row.entry)) else { continue };
        let Some(found) = aims.found(&row.row.row, row.zero.as_deref()) else { continue };
        taken.push(Taken { station: check.spot.station, across: check.spot.across, size_mm: found.size_mm });
        doubt_mm = doubt_mm.max(found.doubt_mm);
        own_mm = own_mm.max(found.with.own_variance_mm2(1).sqrt());
        if !with.contains(&found.with.name) {
            with.push(found.with.name);
        }
    }
    let sizes = || taken.iter().map(|one| one.size_mm);
    Some(Finished {
        low_mm: sizes().min_by(f64::total_cmp)?,
        high_mm: sizes().max_by(f64::total_cmp)?,
        out_of_round_mm: worst(&taken, |a, b| a.station == b.station && a.across != b.across),
        taper_mm: worst(&taken, |a, b| a.across == b.across && a.station != b.station),
        doubt_mm,
        difference_doubt_mm: own_mm * std::f64::consts::SQRT_2,
        with,
    })
}

/// The largest difference of two sizes that belong together.
fn worst(taken: &[Taken], together: impl Fn(&Taken, &Taken) -> bool) -> Option<f64> {
    let pairs = taken.iter().flat_map(|a| taken.iter().map(move |b| (a, b)));
    pairs.filter(|(a, b)| together(a, b)).map(|(a, b)| (a.size_mm - b.size_mm).abs()).max_by(f64::total_cmp)
}

/// One figure of form against the limit in the book.
#[derive(Clone, Debug, PartialEq)]
pub struct FormFound {
    /// Whether it is the taper, or else the out-of-round.
    pub taper: bool,
    /// What was found.
    pub found_mm: f64,
    /// The limit in the book.
    pub limit_mm: f64,
    /// Whether the limit is kept.
    pub outcome: Outcome,
}

impl Finished {
    /// Its form against the book; nothing for what was measured at too few places or has no limit.
    pub fn form(&self, aims: &Aims, journal: JournalId) -> Vec<FormFound> {
        /// A limit is kept by a figure that is equal to it.
        const SLACK_MM: f64 = 1e-9;
        let Some(aim) = aims.set(journal.set) else { return Vec::new() };
        let span_mm = SPAN * aims.sheet.specification.set(journal.set).length_mm;
        let judged = [
            (false, self.out_of_round_mm, aim.out_of_round_mm),
            (true, self.taper_mm, aim.taper.map(|limit| limit.over_mm(span_mm))),
        ];
        let all = judged.into_iter().filter_map(|(taper, found, limit)| {
            let (found_mm, limit_mm) = found.zip(limit)?;
            let limits = Limits::up_to(limit_mm + SLACK_MM);
            let outcome = aims.rule().judge(found_mm, self.difference_doubt_mm, limits);
            Some(FormFound { taper, found_mm, limit_mm, outcome })
        });
        all.collect()
    }
}

impl FormFound {
    /// `out of round`, `tapered`.
    pub const fn what(&self) -> &'static str {
        if self.taper { "tapered" } else { "out of round" }
    }

    /// What stands beside the size: nothing where the limit is kept.
    pub fn words(&self) -> Option<String> {
        match self.outcome {
            Outcome::Within => None,
            Outcome::Outside => Some(self.what().to_owned()),
            Outcome::TooCloseToCall => Some(format!("cannot tell whether {}", self.what())),
        }
    }
}

/// From the front station to the rear one, as a share of the journal's length.
pub const SPAN: f64 = 0.7;
