//! What stands on the customer's report.

mod outcome;
#[cfg(test)]
mod tests;
mod work;

use crank::SetName;
use paper::documents::{CustomersReport, ReportSet};
use regrind::words::in_hundred;
use regrind::{Apart, Choice, Others, SetVerdict, Undecided, Verdict};

use super::{ACROSS_MM, HALF_MM, NotPrinted, Papers, micrometers};
use crate::drawings;
use crate::ladder::Found;
use crate::pages::grind::choice_words;
use crate::whole_shaft;
use crate::wording::{OldWay, capital, count};
use job::Eye;
use job::stops::{Matter, Stop, Stops};

/// What a report is made from.
struct Told<'a> {
    found: Found<'a>,
    /// The verdict with each set as it was decided.
    decided: Verdict,
    stops: Stops,
}

impl Told<'_> {
    /// What nobody answered for yet.
    fn open(&self) -> impl Iterator<Item = &Stop> {
        self.stops.all.iter().filter(|stop| stop.answered.is_none())
    }

    fn is_open(&self, matter: Matter) -> bool {
        self.open().any(|stop| stop.matter == matter)
    }

    /// Whether readings of a set are in doubt, so that what it would be ground to is not known.
    fn is_doubtful(&self, set: SetName) -> bool {
        self.open().any(|stop| stop.matter == Matter::Doubtful && stop.set == Some(set))
    }

    fn is_given_up(&self) -> bool {
        self.decided.sets.iter().any(|set| set.choice == Choice::Scrap)
    }

    /// A crank that is given up on readings that are in doubt is not given up yet.
    fn is_lost(&self) -> bool {
        self.is_open(Matter::Crack) || (self.is_given_up() && !self.is_open(Matter::Doubtful))
    }
}

impl Papers<'_> {
    pub(super) fn report(&self) -> Result<CustomersReport, NotPrinted> {
        let manner = self.manner();
        let found = self.found(&manner)?;
        let (decided, quote) = self.quoted()?;
        let stops = Stops::of(self.job(), found.sheet, self.fit(), self.words);
        let told = Told { found, decided, stops };
        let axes = |sets: &[SetName], across_mm: f64| -> Vec<paper::Drawing> {
            let axes = sets.iter().filter_map(|set| drawings::size_axis(&told.found, *set));
            axes.map(|axis| axis.draw(across_mm).drawing).collect()
        };
        Ok(CustomersReport {
            about: self.about(),
            outcome: self.outcome(&told),
            first: self.first(&told),
            why: self.why(&told),
            work_head: work::head(&told).to_owned(),
            work: self.work(&told, &quote),
            sets: SetName::BOTH.into_iter().map(|set| self.report_set(&told, set)).collect(),
            axes: axes(&by_weight(&told.decided), ACROSS_MM),
            narrow_axes: axes(&SetName::BOTH, HALF_MM),
            crank: self.crank_drawing(),
            not_checked: self.not_checked(&told.found),
            method: self.method(&told.found),
            meanings: self.meanings(),
            by: self.measured_by(),
            date: self.date(),
        })
    }

    /// What was measured and what it means, set by set.
    fn why(&self, told: &Told<'_>) -> Vec<String> {
        let found = &told.found;
        let unit = found.sheet.unit;
        let mut says = Vec::new();
        for set in &told.decided.sets {
            let name = self.words.set_within(set.set);
            let journals = found.verdict.journals.iter().filter(|journal| journal.condition.journal.set == set.set);
            let Some(worst) = journals.min_by(|a, b| a.condition.smallest_mm.total_cmp(&b.condition.smallest_mm))
            else {
                continue;
            };
            let (smallest, low) =
                (found.figure(worst.condition.smallest_mm), found.figure(worst.condition.limits.low_mm));
            // The new limit is no wear limit: only a manual that states one allows or forbids a used journal.
            let limit = match found.sheet.specification.set(set.set).wear_limit_mm {
                Some(_) => format!("the maker allows no less than {low}"),
                None => format!("a newly ground one has {low} or more"),
            };
            let mut line = format!(
                "The {name} measure {smallest} {unit} at the least ({}); {limit}.",
                self.words.journal(worst.condition.journal)
            );
            if told.is_doubtful(set.set) {
                line.push_str(" That rests on readings in doubt.");
            } else if !told.is_lost()
                && told.open().all(|stop| stop.matter == Matter::Bearings)
                && set.undecided.is_none()
            {
                line.push_str(&chance(set, found));
            } else if set.choice == Choice::Scrap && !told.is_open(Matter::Crack) {
                line.push_str(&deepest(set, found));
            }
            // What doubtful readings could change stands in the box.
            let asks = !told.is_lost() && !told.is_doubtful(set.set);
            if let Some(next) = set.next.as_ref().filter(|next| next.changes_choice && asks) {
                let says = format!(" What could change this: {} {}", next.measure, next.could_change);
                line.push_str(&self.words.put(&says));
            }
            says.push(line);
        }
        says.extend(self.of_the_shaft(told));
        says
    }

    /// Bend, features and case, as far as a customer has to know.
    fn of_the_shaft(&self, told: &Told<'_>) -> Vec<String> {
        let found = &told.found;
        let unit = found.sheet.unit;
        let mut says = Vec::new();
        if let Some(bend) = whole_shaft::bend(found.sheet, self.words) {
            let forms = crank::told_by_dials(&found.sheet.specification, &found.sheet.findings).forms;
            let most = forms.iter().max_by(|a, b| a.bend_length_mm().total_cmp(&b.bend_length_mm()));
            if let Some(form) = most {
                let name = self.words.journal(form.journal);
                says.push(if form.bend_length_mm() <= 2.0 * form.sd_mm {
                    format!("It is straight to within {} {unit}.", found.figure(2.0 * form.sd_mm))
                } else {
                    format!(
                        "It is bent: {name} stands {} {unit} off the line. What is merely oval is not counted in that.",
                        found.figure(form.bend_length_mm())
                    )
                });
            }
            says.extend(bend.rules.into_iter().filter(|(broken, _)| *broken).map(|(_, rule)| format!("{rule}.")));
        }
        if told.is_lost() {
            return says;
        }
        says.extend(found.features().into_iter().filter(|one| one.over).map(|one| {
            format!("{} would run out {} {unit} afterwards; the maker allows {}.", one.name, one.after, one.limit)
        }));
        for set in &told.decided.sets {
            let Some(mm) = set.choice.undersize_mm() else { continue };
            let step = found.step(mm);
            says.extend(found.case(set).into_iter().filter(|row| row.step == step && row.over).map(|row| {
                format!(
                    "The hardened case of the {} would be too thin at {step}: {} {unit} left, chance of less than allowed {}.",
                    self.words.set_within(set.set),
                    row.left,
                    row.chance
                )
            }));
        }
        says
    }

    fn report_set(&self, told: &Told<'_>, set: SetName) -> ReportSet {
        let found = &told.found;
        let of_set = found.verdict.journals.iter().filter(|journal| journal.condition.journal.set == set);
        let rows = of_set.map(|journal| {
            let c = &journal.condition;
            let damages = found.sheet.findings.damages.iter().filter(|damage| damage.journal == c.journal);
            let damage: Vec<&str> = damages.map(|damage| damage.kind.word()).collect();
            let doubtful = told.open().any(|stop| stop.matter == Matter::Doubtful && stop.journal == Some(c.journal));
            let own = told.decided.sets.iter().find(|known| known.set == set);
            let untold = own.is_some_and(|known| known.undecided == Some(Undecided::WearLimit));
            // Beside a journal that cannot go with them the others were judged by themselves.
            let stays = own.and_then(|known| known.apart.as_ref()).is_some_and(|apart| {
                apart.others == Others::Stay && apart.journals.iter().all(|one| one.journal != c.journal)
            });
            let state = match (doubtful, damage.is_empty(), journal.stands.words()) {
                (true, ..) => "look again".to_owned(),
                (_, true, "too close to call") if stays => "may stay".to_owned(),
                // Below new is not worn out before somebody has looked up how far it may wear.
                (_, true, "outside") if untold => "below new".to_owned(),
                (_, true, "outside") => "worn".to_owned(),
                (_, true, words) => words.to_owned(),
                (_, false, _) => damage.join(", "),
            };
            [
                self.words.journal(c.journal),
                found.figure(c.smallest_mm),
                format!("{}–{}", found.figure(c.limits.low_mm), found.figure(c.limits.high_mm)),
                state,
            ]
        });
        ReportSet { name: format!("{}, {}", self.words.set(set), found.sheet.unit.plural()), rows: rows.collect() }
    }

    fn not_checked(&self, found: &Found<'_>) -> Vec<String> {
        let mut says = self.not_measured(found);
        if Eye::on(self.job(), "crack test") != Some(Eye::Passed) {
            says.push("We did not test for cracks.".to_owned());
        }
        if found.sheet.findings.run_outs.is_empty() {
            says.push("We did not check that it is straight.".to_owned());
        }
        says.push("We did not measure hardness, balance or the inside of the oilways.".to_owned());
        says
    }

    /// Sets and journals that nobody measured.
    fn not_measured(&self, found: &Found<'_>) -> Vec<String> {
        let mut says = Vec::new();
        for set in SetName::BOTH {
            match found.verdict.sets.iter().find(|known| known.set == set) {
                None => says.push(format!("The {} were not measured.", self.words.set_within(set))),
                Some(known) => {
                    if let Some(missing) = &known.missing {
                        let names: Vec<String> = missing.journals.iter().map(|id| self.words.journal(*id)).collect();
                        says.push(format!("Not measured: {}.", names.join(", ")));
                    }
                }
            }
        }
        says
    }

    fn method(&self, found: &Found<'_>) -> Vec<String> {
        let readings: usize = found.sheet.findings.readings.iter().map(|reading| reading.sizes.len()).sum();
        let mut names: Vec<&str> = Vec::new();
        for reading in &found.sheet.findings.readings {
            if let Some(instrument) = found.sheet.findings.instruments.get(reading.with)
                && !names.contains(&instrument.name.as_str())
            {
                names.push(&instrument.name);
            }
        }
        let mut says = Vec::new();
        if readings > 0 {
            says.push(format!("We took {} with {}.", count(readings, "reading"), micrometers(&names)));
        }
        says.push(
            "A chance like 97 in 100 means: of 100 cranks with these readings, about 97 would come out clean. It counts how \
             far each reading can be trusted, and what nobody measured as it usually is on such cranks."
                .to_owned(),
        );
        says
    }

    fn meanings(&self) -> Vec<String> {
        let pin = capital(&self.words.one_of(SetName::Pin));
        vec![
            format!("Main: a round part that the crank turns on. {pin}: one that a connecting rod runs on."),
            "Undersize: how much smaller than new; the bearings are made thicker to match.".to_owned(),
        ]
    }
}

/// How likely the chosen size cleans up.
fn chance(set: &SetVerdict, found: &Found<'_>) -> String {
    let Some(undersize_mm) = set.choice.undersize_mm() else { return String::new() };
    let step = set.steps.iter().find(|step| (step.undersize_mm - undersize_mm).abs() < 1e-6);
    step.map_or(String::new(), |step| {
        let share = step.chance.share();
        format!(
            " Ground to {}, {} such cranks come out clean.",
            choice_words(Some(set.choice), found.sheet.unit),
            in_hundred(share)
        )
    })
}

/// Why no size does.
fn deepest(set: &SetVerdict, found: &Found<'_>) -> String {
    let names = |apart: &Apart| -> String {
        let journals = apart.journals.iter();
        journals.map(|one| found.manner.words.journal_within(one.journal)).collect::<Vec<_>>().join(", ")
    };
    if let Some(apart) = set.apart.as_ref().filter(|apart| apart.others == Others::Stay) {
        return format!(" No size cleans {} up; the others may stay as they are.", names(apart));
    }
    if let Some((apart, (undersize_mm, _))) = set.apart.as_ref().and_then(|apart| Some((apart, apart.others.ground()?)))
    {
        return format!(
            " No size cleans {} up; the others alone would be ground to {}.",
            names(apart),
            choice_words(Some(Choice::Grind { undersize_mm }), found.sheet.unit)
        );
    }
    let deepest = set.steps.iter().rev().find(|step| step.permitted);
    deepest.map_or(String::new(), |step| {
        format!(
            " Even the deepest size, {}, would come out clean in {} only.",
            choice_words(Some(Choice::Grind { undersize_mm: step.undersize_mm }), found.sheet.unit),
            in_hundred(step.chance.share())
        )
    })
}

/// The sets, the one that decides the crank's fate first: what is to be done to it weighs most, then how deep, then how
/// unsure.
fn by_weight(decided: &Verdict) -> Vec<SetName> {
    let weight = |set: &SetVerdict| match set.choice {
        Choice::Scrap => (4, 0.0, 0.0),
        Choice::BuildUp => (3, 0.0, 0.0),
        Choice::Grind { undersize_mm } => {
            let step = set.steps.iter().find(|step| (step.undersize_mm - undersize_mm).abs() < 1e-6);
            (2, undersize_mm, -step.map_or(0.0, |step| step.chance.share()))
        }
        Choice::PolishOnly => (1, 0.0, 0.0),
        Choice::NotDecided => (1, 0.0, 0.0),
        Choice::LeaveAlone => (0, 0.0, 0.0),
    };
    let mut sets: Vec<&SetVerdict> = decided.sets.iter().collect();
    sets.sort_by(|a, b| {
        let (a, b) = (weight(a), weight(b));
        b.0.cmp(&a.0).then(b.1.total_cmp(&a.1)).then(b.2.total_cmp(&a.2))
    });
    sets.into_iter().map(|set| set.set).collect()
}
