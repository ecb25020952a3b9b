//! What stands on the blank measuring form.

use crank::{JournalId, SetName};
use gauge::Instrument;
use paper::documents::{FormPass, MeasuringForm};

use super::{NotPrinted, Papers};
use crate::in_hand::{of_shop, steps};
use crate::march::{Across, Order, Spot, Walk};
use crate::wording::capital;

impl Papers<'_> {
    pub(super) fn form(&self) -> Result<MeasuringForm, NotPrinted> {
        let book = self.held.book()?;
        let walk = Walk::of_job(self.shop, self.job());
        let spots = walk.spots(book);
        let order = match walk.order {
            Order::JournalByJournal => "Journal by journal, from the nose, mains first.",
            Order::DirectionFirst => "Once along the crank across A, then turn it a quarter and once more across B.",
        };
        let meaning = format!(
            " A is in line with the throw ({}s: their own; mains: that of {} 1), B square to it.",
            self.words.one(),
            self.words.one()
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
                    .map(|spot| format!("{}, across {}", capital(spot.station.word()), spot.across.letter()));
                let title = match direction {
                    None => self.words.set(set),
                    Some(across) => format!("{}, across {}", self.words.set(set), across.letter()),
                };
                let journals = (1..=book.set(set).count()).map(|number| self.words.journal(JournalId { set, number }));
                passes.push(FormPass { title, spots: names.collect(), journals: journals.collect() });
            }
        }
        Ok(MeasuringForm {
            about: self.about(),
            order: format!("{order}{meaning}"),
            micrometers: self.form_micrometers(),
            passes,
            drawing: self.crank_drawing(),
        })
    }

    /// The micrometers whose zeros the form asks for: the job's own, else the shop's.
    fn form_micrometers(&self) -> Vec<String> {
        let words = |one: &Instrument| format!("{}, reads {}", one.name, steps(one));
        let own: Vec<String> = self.held.micrometers.iter().skip(1).map(words).collect();
        if !own.is_empty() {
            return own;
        }
        let reaches = |one: &&Instrument| {
            let Ok(book) = &self.held.book else { return true };
            SetName::BOTH.into_iter().any(|set| {
                let size = book.set(set).size;
                one.range_mm.is_none_or(|(low, high)| low <= size.high_mm && size.low_mm <= high)
            })
        };
        of_shop(self.shop).iter().filter(reaches).map(words).collect()
    }
}
