//! What stands first on a paper about a crank, and why a sheet no longer holds: kinds. `say` has the sentences.

use crank::{JournalId, SetName};
use regrind::Choice;
use say::{Message, Quantity, Size, Told};
use units::Unit;

use crate::nouns::choice_of;

/// What stands first, in a few words for the largest letters: the gravest thing that nobody answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Heading {
    /// Cracks on these journals: nobody can answer them here.
    Crack(Vec<JournalId>),
    /// These sets were given up, so nothing of the crank is ground.
    Scrap(Vec<SetName>),
    /// A bend, heat or a throw is to be settled before anything is ground.
    Settle,
    /// Readings of these journals, or of whole sets, are to be looked at again.
    LookAgain(Vec<Doubted>),
    /// What the bearings say is to be settled before anything is ground, ordered or fitted.
    SettleBearings,
}

/// Whose readings are in doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubted {
    /// Those of one journal.
    Journal(JournalId),
    /// Those of a whole set.
    All(SetName),
}

impl Told for Heading {
    fn message(&self) -> Message {
        match self {
            Heading::Crack(journals) => {
                let journals = journals.iter().copied().map(Quantity::Journal).collect();
                Message::new("heading-crack").with("journals", Quantity::Listed(journals))
            }
            Heading::Scrap(sets) => {
                let sets = sets.iter().copied().map(Quantity::Set).collect();
                Message::new("heading-scrap").with("sets", Quantity::All(sets))
            }
            Heading::Settle => Message::new("heading-settle"),
            Heading::LookAgain(whose) => {
                let whose = whose.iter().map(|one| match one {
                    Doubted::Journal(journal) => Quantity::Journal(*journal),
                    Doubted::All(set) => Message::new("all-of-set").with("set", *set).into(),
                });
                Message::new("heading-look-again").with("whose", Quantity::Listed(whose.collect()))
            }
            Heading::SettleBearings => Message::new("heading-settle-bearings"),
        }
    }
}

/// Why a sheet no longer says what holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// Another choice for a set: as the log names the old and the new one, each in the unit of its sheet.
    Choice {
        /// Which set.
        set: SetName,
        /// What the sheet says.
        from: (String, Unit),
        /// What holds now.
        to: (String, Unit),
    },
    /// The sizes to work to changed for a set.
    Sizes(SetName),
    /// A set was decided since.
    Decided(SetName),
    /// A set is no longer decided.
    NoLongerDecided(SetName),
    /// What it rests on changed, and no size to grind to.
    Readings,
    /// Another program wrote it.
    Unknown,
}

impl Told for Change {
    fn message(&self) -> Message {
        match self {
            Change::Choice { set, from, to } => Message::new("change-choice")
                .with("set", *set)
                .with("from", chosen(&from.0, from.1))
                .with("to", chosen(&to.0, to.1)),
            Change::Sizes(set) => Message::new("change-sizes").with("set", *set),
            Change::Decided(set) => Message::new("change-decided").with("set", *set),
            Change::NoLongerDecided(set) => Message::new("change-no-longer-decided").with("set", *set),
            Change::Readings => Message::new("change-readings"),
            Change::Unknown => Message::new("change-unknown"),
        }
    }
}

/// A decision of the log as it is said in the middle of a sentence.
fn chosen(text: &str, unit: Unit) -> Quantity {
    let case = match choice_of(text, unit) {
        Some(Choice::LeaveAlone) => "leave",
        Some(Choice::PolishOnly) => "polish",
        Some(Choice::BuildUp) => "build-up",
        Some(Choice::Scrap) => "scrap",
        Some(Choice::NotDecided) => "not-decided",
        Some(Choice::Grind { undersize_mm: 0.0 }) => "standard",
        Some(Choice::Grind { undersize_mm }) => {
            return Quantity::Undersize(Size::of_undersize_mm(undersize_mm, unit));
        }
        None => return Quantity::Typed(text.to_owned()),
    };
    Message::new("choice-as-such").case("choice", case).into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use say::{Tongue, Words};

    const MAIN: JournalId = JournalId { set: SetName::Main, number: 3 };
    const PIN: JournalId = JournalId { set: SetName::Pin, number: 2 };

    #[test]
    fn every_heading_and_every_change_is_said_in_every_language() {
        let choice = |from: &str, to: &str| Change::Choice {
            set: SetName::Pin,
            from: (from.to_owned(), Unit::Inch),
            to: (to.to_owned(), Unit::Inch),
        };
        let headings = [
            Heading::Crack(vec![MAIN, PIN]),
            Heading::Scrap(SetName::BOTH.to_vec()),
            Heading::Settle,
            Heading::LookAgain(vec![Doubted::Journal(PIN), Doubted::All(SetName::Main), Doubted::All(SetName::Pin)]),
            Heading::SettleBearings,
        ];
        let changes = [
            choice("leave", "polish"),
            choice("build up", "scrap"),
            choice("not decided", "0"),
            choice("0.010", "0.020"),
            choice("soon", "0.010"),
            Change::Sizes(SetName::Main),
            Change::Decided(SetName::Pin),
            Change::NoLongerDecided(SetName::Main),
            Change::Readings,
            Change::Unknown,
        ];
        for words in Tongue::ALL.map(Words::from) {
            for heading in &headings {
                words.strictly(heading).unwrap_or_else(|faults| panic!("{heading:?}: {faults:?}"));
            }
            for change in &changes {
                let says = words.strictly(change).unwrap_or_else(|faults| panic!("{change:?}: {faults:?}"));
                assert!(says.ends_with('.'), "{says}");
            }
        }
        let say = |told: &Heading| Tongue::ALL.map(|tongue| Words::from(tongue).say(told));
        assert_eq!(
            say(&headings[0]),
            [
                "Crack, main 3, pin 2: do not grind, straighten or run",
                "Crack, main 3, rod journal 2: do not grind, straighten or run",
                "Riss, Hauptlagerzapfen 3, Hubzapfen 2: nicht schleifen, nicht richten, nicht einbauen",
                "Grieta, apoyo de bancada 3, muñequilla 2: no rectificar, enderezar ni montar"
            ]
        );
        assert_eq!(
            say(&headings[3])[2..],
            [
                "Zuerst noch einmal ansehen: Messwerte von Hubzapfen 2, alle Hauptlagerzapfen, alle Hubzapfen",
                "Vuelva a mirar primero: lecturas de muñequilla 2, todos los apoyos de bancada, todas las muñequillas"
            ]
        );
        let changed = |change: &Change| Tongue::ALL.map(|tongue| Words::from(tongue).say(change));
        assert_eq!(
            changed(&changes[3]),
            [
                "The pins changed from 0.010 in under to 0.020 in under.",
                "The rod journals changed from 0.010 in under to 0.020 in under.",
                "Hubzapfen: geändert von Untermaß 0,010 in zu Untermaß 0,020 in.",
                "Muñequillas: cambio de submedida 0,010 in a submedida 0,020 in."
            ]
        );
    }
}
