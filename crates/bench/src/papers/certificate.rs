//! What stands on the certificate of the finished crank.

use crank::JournalId;
use paper::documents::{Certificate, CertificateRow, CertificateSet};

use super::{NotPrinted, Papers, micrometers, moment};
use crate::drawings::before_after;
use crate::pages::grind::choice_words;
use crate::wording::capital;
use gauge::conformity::Outcome;
use job::Eye;
use job::aims::{Aims, SetAim};
use job::final_check::{EYE_ITEMS, SpotCheck, State, not_treated, obstacles, proof_of_roughness, spots};
use job::finished::{Finished, SPAN, finished};
use job::march::Walk;
use job::treatment::Growth;

impl Papers<'_> {
    pub(super) fn certificate(&self) -> Result<Certificate, NotPrinted> {
        let job = self.job();
        if job.final_readings.is_empty() && job.signed_off.is_none() {
            return Err(NotPrinted::nothing_yet(
                "Nothing is measured at the final check yet.",
                "Measure the finished journals under Final check.",
            ));
        }
        let aims = Aims::of(self.card)?;
        let walk = Walk::of_job(self.shop, job).spots(self.card.book()?);
        let checked = spots(&self.card.entries, job, &aims, &walk);
        let signed = job.signed_off.as_ref();
        let open = if signed.is_some() { Vec::new() } else { obstacles(job, &aims, &checked, self.words) };
        Ok(Certificate {
            about: self.about(),
            sentence: signed.map(|sign| sign.says.clone()).unwrap_or_default(),
            signed_by: signed.map(|sign| sign.who.clone()).unwrap_or_default(),
            signed: signed.map(|sign| moment(&sign.when)).unwrap_or_default(),
            revision: job.revision.to_string(),
            mark: self.code.clone().unwrap_or_default(),
            code: job.sheets.last().map(|sheet| sheet.code.clone()).unwrap_or_default(),
            open: if signed.is_none() && open.is_empty() {
                vec!["The signature.".to_owned()]
            } else {
                open.into_iter().map(|obstacle| obstacle.says(self.words)).collect()
            },
            sets: aims.sets.iter().map(|aim| self.certificate_set(&aims, aim, &checked)).collect(),
            drawings: before_after(self.card, self.shop, self.words).into_iter().map(|drawn| drawn.drawing).collect(),
            trust: self.trust(&aims, &checked),
            treatments: self.treatments(&aims),
            roughness: proof_of_roughness(&aims, self.words).0,
            eyes: self.eyes(self.run_outs(&aims)),
            left_out: self.not_done(&aims),
            cautions: vec![
                "Clean every oilway again before the crank is fitted, measure the clearance of every bearing, and build it by \
                 the maker’s manual. These sizes hold for the crank as it left the shop."
                    .to_owned(),
            ],
            unit: format!("{}, on the diameter", aims.unit().plural()),
        })
    }

    fn certificate_set(&self, aims: &Aims, aim: &SetAim, checked: &[SpotCheck]) -> CertificateSet {
        let book = aims.sheet.specification.set(aim.set);
        let rows = (1..=book.count()).map(|number| {
            let journal = JournalId { set: aim.set, number };
            let before = crank::condition(&aims.sheet.specification, &aims.sheet.findings, journal, 0.0);
            let after = finished(self.job(), aims, checked, journal);
            let here: Vec<&SpotCheck> = checked.iter().filter(|check| check.spot.journal == journal).collect();
            let mut says = vec![state(&here).to_owned()];
            let form = after.iter().flat_map(|now| now.form(aims, journal));
            says.extend(form.filter_map(|form| form.words()));
            let of_before = before.map(|was| {
                let (round, taper) = (was.out_of_round_mm(), was.taper_mm());
                [span(aims, was.smallest_mm, was.largest_mm), judged(aims, round), judged(aims, taper)]
            });
            let of_after = after.map(|now| {
                let (round, taper) = (now.out_of_round_mm, now.taper_mm);
                [span(aims, now.low_mm, now.high_mm), judged(aims, round), judged(aims, taper)]
            });
            let blank = || ["not measured".to_owned(), "–".to_owned(), "–".to_owned()];
            CertificateRow {
                journal: self.words.journal(journal),
                before: of_before.unwrap_or_else(blank),
                after: of_after.unwrap_or_else(blank),
                state: says.join(", "),
            }
        });
        let at_most = |what: &str, limit_mm: Option<f64>| match limit_mm {
            Some(mm) => format!("{what} {} at most", aims.exact(mm)),
            None => format!("no limit for {what} in the book"),
        };
        let taper = aim.taper.map(|limit| limit.over_mm(SPAN * book.length_mm));
        CertificateSet {
            name: format!("{}: {}", self.words.set(aim.set), choice_words(aim.choice, aims.unit())),
            limits: aims.band(aim.limits),
            form: format!("{}; {}", at_most("out of round", aim.out_of_round_mm), at_most("taper", taper)),
            rows: rows.collect(),
        }
    }

    /// How far the figures can be trusted, before and after.
    fn trust(&self, aims: &Aims, checked: &[SpotCheck]) -> Vec<String> {
        let unit = aims.unit();
        let twice = |mm: f64| units::show_mm(2.0 * mm, unit, unit.usual_decimals() + 1);
        let specification = &aims.sheet.specification;
        let after: Vec<Finished> =
            specification.journals().filter_map(|id| finished(self.job(), aims, checked, id)).collect();
        let before = specification.journals().filter_map(|id| {
            crank::condition(specification, &aims.sheet.findings, id, 0.0).map(|found| found.uncertainty_mm)
        });
        let mut says = Vec::new();
        if let Some(doubt_mm) = after.iter().map(|now| now.doubt_mm).max_by(f64::total_cmp) {
            let form_mm = after.iter().map(|now| now.difference_doubt_mm).fold(0.0, f64::max);
            let mut with: Vec<&str> = Vec::new();
            for name in after.iter().flat_map(|now| &now.with) {
                if !with.contains(&name.as_str()) {
                    with.push(name);
                }
            }
            says.push(format!(
                "Sizes after are good to ± {} {unit}, out of round and taper to ± {} {unit}; measured with {}.",
                twice(doubt_mm),
                twice(form_mm),
                micrometers(&with)
            ));
        }
        if let Some(doubt_mm) = before.max_by(f64::total_cmp) {
            says.push(format!("Sizes before are good to ± {} {unit}.", twice(doubt_mm)));
        }
        if !says.is_empty() {
            says.push(
                "Each ± is twice the standard uncertainty: about 95 in 100 such figures lie inside it. Two-point sizes \
                 do not show three or five lobes."
                    .to_owned(),
            );
        }
        says
    }

    /// Batch and growth of every treatment after grinding.
    fn treatments(&self, aims: &Aims) -> Vec<String> {
        let kind = capital(&aims.sheet.specification.treatment.kind);
        let stays = self.job().treatments.iter().map(|stay| {
            let back = if stay.back { "" } else { "; it is not back yet" };
            let growth = Growth::of(aims, stay).says.join(" ");
            format!("{kind}, batch {}{back}. {growth}", stay.batch).trim_end().to_owned()
        });
        stays.collect()
    }

    /// Straightness as it came in; what it is now stands among what was looked at.
    fn run_outs(&self, aims: &Aims) -> Option<String> {
        let unit = aims.unit();
        let found = aims.sheet.findings.run_outs.iter().map(|run_out| {
            let limit = aims.sheet.specification.set(run_out.journal.set).run_out;
            let of = limit.map_or(String::new(), |limit| format!(" of {} allowed", aims.exact(limit.total_mm())));
            format!("{} {} {unit}{of}", self.words.journal(run_out.journal), aims.size(run_out.total_mm))
        });
        let found: Vec<String> = found.collect();
        (!found.is_empty()).then(|| format!("Run-out as it came in: {}", found.join("; ")))
    }

    /// What was left out, and what nobody answered: what was not done stands on the paper.
    fn not_done(&self, aims: &Aims) -> Vec<String> {
        let says = EYE_ITEMS.iter().filter_map(|item| match Eye::on(self.job(), item.item) {
            Some(Eye::NotDone(_)) | None => Some(
                item.left_out.map_or_else(|| format!("{}: not done.", capital(&self.words.say(item))), str::to_owned),
            ),
            Some(Eye::Passed | Eye::Failed(_)) => None,
        });
        let mut says: Vec<String> = says.collect();
        says.extend(not_treated(self.job(), aims));
        says.extend(proof_of_roughness(aims, self.words).1);
        says.push("Hardness, depth of the treatment, and balance were not measured.".to_owned());
        says
    }

    fn eyes(&self, run_outs: Option<String>) -> Vec<String> {
        let says = EYE_ITEMS.iter().filter_map(|item| {
            let known = self.job().eye_checks.iter().find(|check| check.item == item.item);
            let words = match Eye::on(self.job(), item.item) {
                None | Some(Eye::NotDone(_)) => return None,
                Some(Eye::Passed) => "passed",
                Some(Eye::Failed(_)) => "not passed",
            };
            let by = known.map(|check| check.by.as_str()).filter(|by| !by.is_empty());
            let says = known.and_then(|check| check.says.as_deref()).filter(|says| !says.is_empty());
            let mut line = words.to_owned();
            if let Some(by) = by {
                line.push_str(&format!(", by {by}"));
            }
            if let Some(says) = says {
                line.push_str(&format!(" ({says})"));
            }
            Some(format!("{}: {line}", capital(&self.words.say(item))))
        });
        says.chain(run_outs).collect()
    }
}

/// Smallest to largest, in one figure where they show the same.
fn span(aims: &Aims, low_mm: f64, high_mm: f64) -> String {
    let (low, high) = (aims.size(low_mm), aims.size(high_mm));
    if low == high { low } else { format!("{low}–{high}") }
}

/// A figure of form; a dash where too few places were measured.
fn judged(aims: &Aims, mm: Option<f64>) -> String {
    mm.map_or_else(|| "–".to_owned(), |mm| aims.size(mm))
}

/// The worst of the spots of one journal.
fn state(spots: &[&SpotCheck]) -> &'static str {
    let any = |wanted: &State| spots.iter().any(|check| check.state == *wanted);
    if spots.is_empty() {
        "not checked"
    } else if any(&State::Measured(Outcome::Outside)) {
        "outside"
    } else if spots.iter().any(|check| !check.is_in()) {
        "not all measured"
    } else if any(&State::Measured(Outcome::TooCloseToCall)) {
        "cannot tell"
    } else {
        "inside"
    }
}

#[cfg(test)]
mod tests;
