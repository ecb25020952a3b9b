//! The final check of a job: what every spot says, what was looked at by eye, and what keeps it from being signed.

use std::collections::HashMap;

use crank::{SetName, Taken};
use gauge::conformity::Outcome;
use regrind::Choice;
use sheet::RoughnessWords;
use shop::{CheckRow, Entry, EntryId, EntryKind, Job, that_count};

use crate::aims::Aims;
use crate::finished::finished;
use crate::march::Spot;
use crate::nouns::{Eye, journal_named, journal_of};
use crate::objection::{Objection, TooOld};
use crate::refusal::{Against, Place};
use crate::stops;
use crate::wording::count;
use say::Words;

/// Something that is looked at and not measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EyeItem {
    /// The item as the log names it.
    pub item: &'static str,
    /// The item in addresses and forms, and the case by which a message names it.
    pub key: &'static str,
    /// What is asked.
    pub asks: &'static str,
    /// What a signature says where it was not done; absent where it must be done.
    pub left_out: Option<&'static str>,
}

/// What is looked at before a crank goes out, in the order of the work.
pub const EYE_ITEMS: [EyeItem; 8] = [
    EyeItem {
        item: "radius",
        key: "radius",
        asks: "The radius at both ends of every ground journal was tried with a gauge and runs out without a step.",
        left_out: None,
    },
    EyeItem {
        item: "oilways open",
        key: "oilways-open",
        asks: "Every oil passage was blown or rodded through, is clean, and its hole at the surface is rounded.",
        left_out: None,
    },
    EyeItem {
        item: "plugs refitted",
        key: "plugs-refitted",
        asks: "Every oil plug that was taken out is back and locked. If none was taken out, pass it and say so.",
        left_out: None,
    },
    EyeItem {
        item: "crack test",
        key: "crack-test",
        asks: "The whole crank was tested for cracks after grinding, and none was found. Say who tested it.",
        left_out: Some("No crack test was done."),
    },
    EyeItem {
        item: "demagnetised",
        key: "demagnetised",
        asks: "It was demagnetised after a magnetic crack test or a magnetic chuck.",
        left_out: Some("It was not demagnetised."),
    },
    EyeItem {
        item: "finish",
        key: "finish",
        asks: "Every journal and every thrust face is polished, free of chatter and grinding burns.",
        left_out: None,
    },
    EyeItem {
        item: "stamp",
        key: "stamp",
        asks: "The undersizes are stamped or etched where this shop puts them, and agree with the sheet.",
        left_out: Some("The undersizes were not stamped on it."),
    },
    EyeItem {
        item: "straightness",
        key: "straightness",
        asks: "Run-out at the middle main was measured and keeps the limit.",
        left_out: Some("Straightness was not checked."),
    },
];

/// Where one spot stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum State {
    /// It was not measured.
    Missing,
    /// It was measured, but before the crank was ground or treated again, or under a sheet that was replaced.
    TooOld(TooOld),
    /// It was measured.
    Measured(Outcome),
}

/// One spot of the final check.
#[derive(Clone, Debug)]
pub struct SpotCheck {
    /// Where.
    pub spot: Spot,
    /// Where it stands.
    pub state: State,
    /// What the latest reading says; empty without one.
    pub says: String,
    /// The reading that another one corrects.
    pub entry: Option<EntryId>,
    /// Who took the latest reading.
    pub who: String,
    /// Readings here before the latest, as they stood on the micrometer.
    pub before: Vec<String>,
}

impl SpotCheck {
    /// Whether there is nothing more to measure here, whatever it said.
    pub fn is_in(&self) -> bool {
        matches!(self.state, State::Measured(_))
    }

    /// The state in one or two words.
    pub fn words(&self) -> &'static str {
        match &self.state {
            State::Missing => "to do",
            State::TooOld(_) => "measure again",
            State::Measured(Outcome::Within) => "inside",
            State::Measured(Outcome::Outside) => "outside",
            State::Measured(Outcome::TooCloseToCall) => "cannot tell",
        }
    }

    /// The class that draws the state.
    pub fn class(&self) -> &'static str {
        match &self.state {
            State::Missing => "is-missing",
            State::TooOld(_) | State::Measured(Outcome::TooCloseToCall) => "is-doubtful",
            State::Measured(Outcome::Within) => "is-inside",
            State::Measured(Outcome::Outside) => "is-outside",
        }
    }
}

/// Every spot of a job at the final check, in the order of the walk.
pub fn spots(entries: &[Entry], job: &Job, aims: &Aims, walk: &[Spot]) -> Vec<SpotCheck> {
    let at: HashMap<EntryId, i64> = entries.iter().map(|entry| (entry.id, entry.seq)).collect();
    let treated = last_treated(entries);
    let in_force = job.sheets.last().map(|sheet| sheet.code.as_str());
    walk.iter()
        .filter(|spot| !is_given_up(aims, spot.journal.set))
        .map(|spot| {
            let blank = SpotCheck {
                spot: *spot,
                state: State::Missing,
                says: String::new(),
                entry: None,
                who: String::new(),
                before: Vec::new(),
            };
            let here = |row: &&CheckRow| spot.is_of(&row.row.row);
            let Some(row) = job.final_readings.iter().rev().find(here) else { return blank };
            let limits = aims.set(spot.journal.set).map(|aim| aim.limits);
            let found = aims.found(&row.row.row, row.zero.as_deref());
            let (Some(found), Some(limits)) = (found, limits) else { return blank };
            let (says, outcome) = aims.held(&found, limits);
            let taken = at.get(&row.entry).copied().unwrap_or(0);
            let ground = job.ground.iter().filter(|ground| journal_of(&ground.row.row) == Some(spot.journal));
            let ground = ground.filter_map(|ground| at.get(&ground.entry).copied()).max().unwrap_or(0);
            let state = if row.sheet.as_deref() != in_force {
                State::TooOld(TooOld::SheetReplaced)
            } else if ground > taken {
                State::TooOld(TooOld::GroundAgain)
            } else if treated > taken {
                State::TooOld(TooOld::TreatedSince)
            } else {
                State::Measured(outcome)
            };
            SpotCheck {
                state,
                says,
                entry: Some(row.entry),
                who: row.who.clone(),
                before: earlier(entries, row),
                ..blank
            }
        })
        .collect()
}

/// A set that is to be built up or scrapped is not checked as finished.
fn is_given_up(aims: &Aims, set: SetName) -> bool {
    matches!(aims.set(set).and_then(|aim| aim.choice), Some(Choice::BuildUp | Choice::Scrap))
}

fn last_treated(entries: &[Entry]) -> i64 {
    let treated =
        |entry: &&Entry| matches!(entry.kind, EntryKind::SentToTreatment { .. } | EntryKind::BackFromTreatment { .. });
    that_count(entries).filter(treated).map(|entry| entry.seq).max().unwrap_or(0)
}

/// Earlier readings of the same spot that the latest corrects, oldest first.
fn earlier(entries: &[Entry], latest: &CheckRow) -> Vec<String> {
    let mut chain = Vec::new();
    let mut next = entries.iter().find(|entry| entry.id == latest.entry).and_then(|entry| entry.corrects);
    while let Some(entry) = next.and_then(|id| entries.iter().find(|entry| entry.id == id)) {
        if let EntryKind::FinalReading(row) = &entry.kind {
            chain.push(row.row.get("size").and_then(shop::Value::as_typed).unwrap_or_default().to_owned());
        }
        // A correction stands after what it corrects, so this ends.
        next = entry.corrects;
    }
    chain.reverse();
    chain
}

/// What keeps the job from being signed; empty where nothing does.
pub fn obstacles(job: &Job, aims: &Aims, spots: &[SpotCheck], words: Words) -> Vec<Against> {
    let mut out = Vec::new();
    let mut add = |what: Objection, place: Place, fails: bool| out.push(Against { place, what, fails });
    if job.put_away {
        add(Objection::ArchivedNotSigned, Place::Particulars, false);
    }
    for journal in stops::cracks(job, &aims.sheet, words) {
        add(Objection::Crack(journal), Place::Verdict, true);
    }
    for aim in &aims.sets {
        match aim.choice {
            None => add(Objection::NothingDecided(aim.set), Place::Verdict, false),
            Some(Choice::Scrap) => add(Objection::GivenUp(aim.set), Place::Verdict, true),
            Some(Choice::BuildUp) => add(Objection::ToBeBuiltUp(aim.set), Place::Verdict, false),
            Some(_) => {}
        }
    }
    if job.treatments.iter().any(|stay| !stay.back) {
        add(Objection::AtTreatment, Place::Treatment, false);
    }
    for journal in aims.sheet.specification.journals() {
        if aims.set(journal.set).and_then(|aim| aim.undersize_mm()).is_none() {
            continue;
        }
        match job.cleaned_up.iter().find(|clean| journal_named(&clean.journal) == Some(journal)) {
            None => add(Objection::NobodySaid(journal), Place::CleanedUp, false),
            Some(clean) if !clean.yes => add(Objection::NotCleanedUp(journal), Place::CleanedUp, true),
            Some(_) => {}
        }
    }
    let missing: Vec<&SpotCheck> = spots.iter().filter(|check| check.state == State::Missing).collect();
    if let Some(first) = missing.first() {
        add(Objection::NotMeasured(missing.len()), Place::Spot(first.spot), false);
    }
    for check in spots {
        let (spot, place) = (check.spot, Place::Spot(check.spot));
        match &check.state {
            State::TooOld(why) => add(Objection::TooOld(spot, *why), place, false),
            State::Measured(Outcome::Outside) => add(Objection::AtSpot(spot, format!("{}.", check.says)), place, true),
            State::Measured(Outcome::TooCloseToCall) => add(Objection::AtSpot(spot, check.says.clone()), place, true),
            State::Missing | State::Measured(Outcome::Within) => {}
        }
    }
    for journal in aims.sheet.specification.journals() {
        let form = finished(job, aims, spots, journal).map(|now| now.form(aims, journal)).unwrap_or_default();
        for form in form.iter().filter(|form| form.outcome == Outcome::Outside) {
            let (found, limit) = (aims.size_to_say(form.found_mm), aims.exact_to_say(form.limit_mm));
            let here = spots.iter().find(|check| check.spot.journal == journal);
            let place = here.map_or(Place::FinalCheck, |check| Place::Spot(check.spot));
            add(Objection::Form { journal, taper: form.taper, found, limit }, place, true);
        }
    }
    for one in finished_roughness(aims) {
        let Some(limit_um) = one.limit_um else { continue };
        let (journal, limit) = (one.journal, crank::show_ra(limit_um, aims.unit()));
        for (row, _) in one.places.iter().filter(|(_, outcome)| *outcome == Some(Outcome::Outside)) {
            let length_mm = aims.sheet.specification.set(journal.set).length_mm;
            let at = regrind::station_name(row.at_mm, length_mm, aims.unit());
            let found = crank::show_ra(row.ra_um, aims.unit());
            add(Objection::TooRough { journal, at, found, limit: limit.clone() }, Place::Roughness, true);
        }
    }
    for item in &EYE_ITEMS {
        let place = Place::Eye(item.item);
        match Eye::on(job, item.item) {
            None => add(Objection::NotAnswered(item), place, false),
            Some(Eye::Failed(_)) => add(Objection::NotPassed(item), place, true),
            Some(Eye::NotDone(_)) if item.left_out.is_none() => add(Objection::MustBeDone(item), place, true),
            Some(Eye::NotDone(_) | Eye::Passed) => {}
        }
    }
    out
}

/// Everything that a signature must say was left out, in the words of the shop.
pub fn must_be_said(job: &Job, aims: &Aims) -> Vec<(String, String)> {
    let left = left_out(job).into_iter().map(|(item, says)| (item.key.to_owned(), says.to_owned()));
    let left = left.chain(not_treated(job, aims).map(|says| ("treatment".to_owned(), says)));
    let rough = RoughnessWords::of(&aims.sheet);
    let too_close = finished_roughness(aims).into_iter().filter_map(|journal| {
        let name = journal.journal.to_string();
        Some((format!("roughness-{}", name.replace(' ', "-")), rough.too_close_when_finished(&journal, &name)?))
    });
    left.chain(too_close).collect()
}

/// The roughness of every finished journal of the sets that are finished.
fn finished_roughness(aims: &Aims) -> Vec<crank::JournalRoughness<'_>> {
    let mut all = RoughnessWords::of(&aims.sheet).journals(Taken::After);
    all.retain(|one| !is_given_up(aims, one.journal.set));
    all
}

/// What the finished crank is proved by of its roughness: what was measured, and what was not.
pub fn proof_of_roughness(aims: &Aims, words: Words) -> (Vec<String>, Vec<String>) {
    let sets = SetName::BOTH.into_iter().filter(|set| !is_given_up(aims, *set));
    let sets: Vec<(SetName, String)> = sets.map(|set| (set, words.set_within(set))).collect();
    RoughnessWords::of(&aims.sheet).proof(&sets, |journal| words.journal(journal))
}

/// What was left out and must be said under the signature.
pub fn left_out(job: &Job) -> Vec<(&'static EyeItem, &'static str)> {
    let says = |item: &'static EyeItem| {
        item.left_out.filter(|_| matches!(Eye::on(job, item.item), Some(Eye::NotDone(_)))).map(|says| (item, says))
    };
    EYE_ITEMS.iter().filter_map(says).collect()
}

/// What else a signature says: a crank that its book has treated after grinding and nobody treated.
pub fn not_treated(job: &Job, aims: &Aims) -> Option<String> {
    let treatment = &aims.sheet.specification.treatment;
    let ground = aims.sets.iter().any(|aim| aim.undersize_mm().is_some());
    (treatment.after_grinding && ground && job.treatments.is_empty())
        .then(|| format!("It was not treated after grinding ({}).", treatment.kind))
}

/// Who ground the crank, by the record.
pub fn ground_by(entries: &[Entry]) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for entry in entries {
        let ground = matches!(entry.kind, EntryKind::GroundReading(_) | EntryKind::CleanedUp { .. });
        if ground && !names.contains(&entry.who.as_str()) {
            names.push(&entry.who);
        }
    }
    names
}

/// The sentence that is signed.
pub fn sentence(entries: &[Entry], job: &Job, aims: &Aims, spots: &[SpotCheck], who: &str) -> String {
    let ground = aims.sets.iter().any(|aim| aim.undersize_mm().is_some());
    let sizes = match job.sheets.last() {
        Some(sheet) => format!("the sizes on sheet {}", sheet.code),
        None => "the limits they are held to".to_owned(),
    };
    let mut by: Vec<&str> = Vec::new();
    for check in spots {
        if !by.contains(&check.who.as_str()) {
            by.push(&check.who);
        }
    }
    let when = if ground { "after grinding" } else { "at the final check" };
    let measured = match (spots.len(), by.as_slice()) {
        (0, _) => "No spot was to be measured".to_owned(),
        (many, [one]) if *one == who => format!("I measured these {} {when}", count(many, "spot")),
        (many, names) => format!("These {} were measured {when} by {}", count(many, "spot"), names.join(" and ")),
    };
    let mut says = format!("{measured}, and all are inside {sizes}.");
    for (_, left_out) in must_be_said(job, aims) {
        says.push(' ');
        says.push_str(&left_out);
    }
    if ground_by(entries).contains(&who) {
        says.push_str(&format!(" {who} also ground it."));
    }
    says
}
