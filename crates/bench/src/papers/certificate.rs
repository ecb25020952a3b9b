//! What stands on the certificate of the finished crank.

use crank::JournalId;
use paper::documents::{Certificate, CertificateRow, CertificateSet};

use super::{NotPrinted, Papers, moment};
use crate::aims::{Aims, SetAim};
use crate::checked::{EYE_ITEMS, Eye, SpotCheck, State, eye, finished_mm, left_out, not_treated, obstacles, spots};
use crate::drawings::before_after;
use crate::march::Walk;
use crate::pages::grind::choice_words;
use crate::wording::capital;
use gauge::conformity::Outcome;

impl Papers<'_> {
    pub(super) fn certificate(&self) -> Result<Certificate, NotPrinted> {
        let job = self.job();
        if job.final_readings.is_empty() && job.signed_off.is_none() {
            return Err(NotPrinted::nothing_yet(
                "Nothing is measured at the final check yet.",
                "Measure the finished journals under Final check.",
            ));
        }
        let aims = Aims::of(job)?;
        let walk = Walk::of_job(self.shop, job).spots(self.held.book()?);
        let checked = spots(&self.held.entries, job, &aims, &walk);
        let signed = job.signed_off.as_ref();
        let mut omitted: Vec<String> = left_out(job).into_iter().map(|(_, says)| says.to_owned()).collect();
        omitted.extend(not_treated(job, &aims));
        let open = if signed.is_some() { Vec::new() } else { obstacles(job, &aims, &checked, self.words) };
        Ok(Certificate {
            about: self.about(),
            sentence: signed.map(|sign| sign.says.clone()).unwrap_or_default(),
            signed_by: signed.map(|sign| sign.who.clone()).unwrap_or_default(),
            signed: signed.map(|sign| moment(&sign.when)).unwrap_or_default(),
            revision: job.revision.to_string(),
            hash: signed.map(|sign| sign.document_hash.chars().take(16).collect()).unwrap_or_default(),
            code: job.sheets.last().map(|sheet| sheet.code.clone()).unwrap_or_default(),
            open: if signed.is_none() && open.is_empty() {
                vec!["The signature.".to_owned()]
            } else {
                open.into_iter().map(|obstacle| self.words.put(&obstacle.says)).collect()
            },
            sets: aims.sets.iter().map(|aim| self.certificate_set(&aims, aim, &checked)).collect(),
            drawings: before_after(self.held, self.shop, self.words).into_iter().map(|drawn| drawn.drawing).collect(),
            eyes: self.eyes(),
            left_out: omitted,
            cautions: vec![
                "Clean every oilway again before the crank is fitted, measure the clearance of every bearing, and build it by \
                 the maker’s manual. These sizes hold for the crank as it left the shop."
                    .to_owned(),
            ],
            unit: format!("{}, on the diameter", aims.unit().plural()),
        })
    }

    fn certificate_set(&self, aims: &Aims, aim: &SetAim, checked: &[SpotCheck]) -> CertificateSet {
        let count = aims.sheet.specification.set(aim.set).count();
        let rows = (1..=count).map(|number| {
            let journal = JournalId { set: aim.set, number };
            let before = crank::condition(&aims.sheet.specification, &aims.sheet.findings, journal, 0.0);
            let here: Vec<&SpotCheck> = checked.iter().filter(|check| check.spot.journal == journal).collect();
            CertificateRow {
                journal: self.words.journal(journal),
                before: before.map(|found| aims.size(found.smallest_mm)).unwrap_or_else(|| "not measured".to_owned()),
                after: match finished_mm(self.job(), aims, checked, journal) {
                    Some((low, high)) if aims.size(low) == aims.size(high) => aims.size(low),
                    Some((low, high)) => format!("{}–{}", aims.size(low), aims.size(high)),
                    None => String::new(),
                },
                state: state(&here).to_owned(),
            }
        });
        CertificateSet {
            name: format!("{}: {}", self.words.set(aim.set), choice_words(aim.choice, aims.unit())),
            limits: aims.band(aim.limits),
            rows: rows.collect(),
        }
    }

    fn eyes(&self) -> Vec<(String, String)> {
        let says = EYE_ITEMS.iter().filter_map(|item| {
            let known = self.job().eye_checks.iter().find(|check| check.item == item.item);
            let words = match eye(self.job(), item.item) {
                Eye::Unanswered => return None,
                Eye::Passed => "passed",
                Eye::NotPassed => "not passed",
                Eye::NotDone => "not done",
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
            Some((capital(item.item), line))
        });
        says.collect()
    }
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
