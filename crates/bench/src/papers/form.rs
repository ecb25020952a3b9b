//! What stands on the blank measuring form.

use crank::{JournalId, PrintedSet, PrintedSpecification, SetName, Specification};
use gauge::Instrument;
use paper::documents::{FormLimits, FormPass, MeasuringForm};
use paper::{CrankSketch, Drawing, JournalMark};
use regrind::words::undersize_figure;
use units::show_mm;

use super::{ACROSS_MM, NotPrinted, Papers};
use crate::wording::capital;
use job::at_the_machine::band;
use job::in_hand::steps;
use job::march::{Across, Order, Spot, Walk};
use job::micrometers::of_shop;

impl Papers<'_> {
    pub(super) fn form(&self) -> Result<MeasuringForm, NotPrinted> {
        let book = self.card.book()?;
        let walk = Walk::of_job(self.shop, self.job());
        let spots = walk.spots(book);
        let order = match walk.order {
            Order::JournalByJournal => "Journal by journal, from the nose, mains first.",
            Order::DirectionFirst => "Once along the crank across A, then turn it a quarter and once more across B.",
        };
        let meaning = format!(
            " A is in line with the throw ({}s: their own; mains: that of {} 1), B square to it.",
            self.words.one_of(SetName::Pin),
            self.words.one_of(SetName::Pin)
        );
        let mut passes = Vec::new();
        for set in SetName::BOTH {
            let here: Vec<&Spot> = spots.iter().filter(|spot| spot.journal.set == set).collect();
            let directions: &[Option<Across>] = match walk.order {
                Order::JournalByJournal => &[None],
                Order::DirectionFirst => &[Some(Across::A), Some(Across::B)],
            };
            for direction in directions {
                let wanted = |spot: &&&Spot| direction.is_none_or(|across| spot.across == across);
                let first = here.first().map(|spot| spot.journal);
                let names = here
                    .iter()
                    .filter(wanted)
                    .filter(|spot| Some(spot.journal) == first)
                    .map(|spot| format!("{}, across\u{a0}{}", capital(spot.station.word()), spot.across.letter()));
                let title = match direction {
                    None => self.words.set(set),
                    Some(across) => format!("{}, across {}", self.words.set(set), across.letter()),
                };
                // Worn sides are seen once both directions are read.
                let asks_side = *direction != Some(Across::A);
                passes.push(FormPass {
                    title,
                    limits: self.allowed(book, set),
                    spots: names.collect(),
                    journals: self.names(book, set),
                    worn_side: asks_side.then(|| self.sides(set)),
                });
            }
        }
        let printed = self.card.printed();
        Ok(MeasuringForm {
            about: self.about(),
            order: format!("{order}{meaning}"),
            micrometers: self.form_micrometers(),
            sets: SetName::BOTH.into_iter().map(|set| self.words.set(set)).collect(),
            passes,
            mains: self.names(book, SetName::Main),
            limits: FormLimits {
                run_out: book.main.run_out.map_or_else(String::new, |limit| {
                    format!("The manual allows {}.", self.with_unit(limit.total_mm()))
                }),
                radii: printed.as_ref().map(|printed| self.radii(printed)).unwrap_or_default(),
                float: printed
                    .as_ref()
                    .and_then(|printed| band(&printed.main.thrust, self.card.unit(), 4, 3))
                    .map(|float| format!("End float by the manual: {float}."))
                    .unwrap_or_default(),
            },
            drawing: Some(self.blank_crank(book)),
        })
    }

    /// The journals of a set as they are called.
    fn names(&self, book: &Specification, set: SetName) -> Vec<String> {
        (1..=book.set(set).count()).map(|number| self.words.journal(JournalId { set, number })).collect()
    }

    /// What the manual allows of a set when new: for the heading, never for a box.
    fn allowed(&self, book: &Specification, set: SetName) -> String {
        let of = book.set(set);
        let unit = self.card.unit();
        let size = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
        let mut says = vec![format!("standard {} to {} {unit}", size(of.size.low_mm), size(of.size.high_mm))];
        says.extend(of.wear_limit_mm.map(|mm| format!("worn not below {} {unit}", size(mm))));
        says.extend(of.out_of_round_mm.map(|mm| format!("out-of-round at most {}", self.with_unit(mm))));
        says.extend(of.taper.map(|taper| format!("taper at most {}", self.with_unit(taper.over_mm(of.length_mm)))));
        if !of.undersizes_mm.is_empty() {
            let rungs: Vec<String> = of.undersizes_mm.iter().map(|mm| undersize_figure(*mm, unit)).collect();
            says.push(format!("undersizes {} {unit}", rungs.join(", ")));
        }
        format!("By the manual: {}.", says.join("; "))
    }

    /// Which side of a journal is which.
    fn sides(&self, set: SetName) -> String {
        match set {
            SetName::Main => {
                format!("outer is the side of {} 1, inner the side away from it", self.words.one_of(SetName::Pin))
            }
            SetName::Pin => "inner is the side towards the crank’s axis, outer the side away from it".to_owned(),
        }
    }

    fn radii(&self, printed: &PrintedSpecification) -> String {
        let of = |set: SetName, book: &PrintedSet| {
            let radius = band(&book.fillet, self.card.unit(), 3, 2)?;
            Some(format!("{} {radius}", self.words.set_within(set)))
        };
        let known = [of(SetName::Main, &printed.main), of(SetName::Pin, &printed.pin)];
        let known: Vec<String> = known.into_iter().flatten().collect();
        if known.is_empty() { String::new() } else { format!("By the manual: {}.", known.join(", ")) }
    }

    pub(super) fn with_unit(&self, mm: f64) -> String {
        let unit = self.card.unit();
        format!("{} {unit}", show_mm(mm, unit, unit.usual_decimals()))
    }

    /// The kind of crank, with nothing of what is known of this one: it is there to be drawn on.
    fn blank_crank(&self, book: &Specification) -> Drawing {
        let mark = |id: JournalId| JournalMark { name: self.words.journal(id), ..JournalMark::plain(id) };
        let sketch = CrankSketch {
            specification: book,
            unit: self.card.unit(),
            width_mm: ACROSS_MM,
            journals: book.journals().map(mark).collect(),
            stamps: Vec::new(),
        };
        sketch.draw().drawing
    }

    /// The micrometers that there are, in the heading: which was used is asked for.
    fn form_micrometers(&self) -> Vec<String> {
        let words = |one: &Instrument| format!("{}, reads {}", one.name, steps(one));
        let own: Vec<String> = self.card.micrometers.iter().skip(1).map(words).collect();
        if !own.is_empty() {
            return own;
        }
        let reaches = |one: &&Instrument| {
            let Ok(book) = &self.card.book else { return true };
            SetName::BOTH.into_iter().any(|set| {
                let size = book.set(set).size;
                one.range_mm.is_none_or(|(low, high)| low <= size.high_mm && size.low_mm <= high)
            })
        };
        of_shop(self.shop).iter().filter(reaches).map(words).collect()
    }
}
