//! The spots of a crank and the order in which they are measured.

use std::fmt;
use std::str::FromStr;

use crank::{JournalId, SetName, Specification};
use regrind::{CountedFrom, Place};
use shop::{Job, SheetRow, Shop, Standing};

use crate::nouns::{journal_named, journal_of};
use say::Words;

/// A place along a journal that has a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Station {
    /// Towards the nose.
    Front,
    /// Mid-length.
    Middle,
    /// Towards the flywheel.
    Rear,
}

impl Station {
    const ALL: [Station; 3] = [Station::Front, Station::Middle, Station::Rear];

    /// The station as a sheet writes it.
    pub const fn word(self) -> &'static str {
        match self {
            Station::Front => "front",
            Station::Middle => "middle",
            Station::Rear => "rear",
        }
    }
}

/// A direction across a journal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Across {
    /// In line with the throw: a pin's own, the first pin's on a main.
    A,
    /// Square to it.
    B,
}

impl Across {
    /// The direction as a sheet writes it, degrees.
    pub const fn plane(self) -> &'static str {
        match self {
            Across::A => "0",
            Across::B => "90",
        }
    }

    /// `A` or `B`.
    pub const fn letter(self) -> char {
        match self {
            Across::A => 'A',
            Across::B => 'B',
        }
    }
}

/// One place and direction on one journal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Spot {
    /// The journal.
    pub journal: JournalId,
    /// Where along it.
    pub station: Station,
    /// In which direction across it.
    pub across: Across,
}

impl Spot {
    /// `Main 3, rear, across A`.
    pub fn name(self, words: Words) -> String {
        format!("{}, {}, across {}", words.journal(self.journal), self.station.word(), self.across.letter())
    }

    /// What A or B means here, in the hand's terms.
    pub fn direction(self, words: Words) -> String {
        let throw = match self.journal.set {
            SetName::Main => format!("the throw of {} 1", words.one_of(SetName::Pin)),
            SetName::Pin => "its own throw".to_owned(),
        };
        match self.across {
            Across::A => format!("A: in line with {throw}"),
            Across::B => format!("B: square to {throw}"),
        }
    }

    /// Whether a row of a sheet was taken here.
    pub fn is_of(self, row: &shop::Value) -> bool {
        let half_turns = |plane: &str| plane.trim().parse::<f64>().ok().map(|degrees| degrees.rem_euclid(180.0));
        journal_of(row) == Some(self.journal)
            && row.words("at") == Some(self.station.word())
            && row.get("plane").and_then(shop::Value::as_typed).and_then(half_turns) == half_turns(self.across.plane())
    }
}

/// The key of a spot in addresses and forms: `main-3.rear.a`.
impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let JournalId { set, number } = self.journal;
        write!(f, "{}-{number}.{}.{}", set.word(), self.station.word(), self.across.letter().to_ascii_lowercase())
    }
}

/// A text that is no key of a spot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoSpot;

impl FromStr for Spot {
    type Err = NoSpot;
    fn from_str(key: &str) -> Result<Spot, NoSpot> {
        let (journal, place) = key.split_once('.').ok_or(NoSpot)?;
        let (station, across) = place.split_once('.').ok_or(NoSpot)?;
        let journal = journal_named(journal).filter(|journal| journal.number <= 1000).ok_or(NoSpot)?;
        let station = Station::ALL.into_iter().find(|known| known.word() == station).ok_or(NoSpot)?;
        let across = match across {
            "a" => Across::A,
            "b" => Across::B,
            _ => return Err(NoSpot),
        };
        Ok(Spot { journal, station, across })
    }
}

/// In which order the spots are walked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    /// All spots of a journal, then the next journal.
    #[default]
    JournalByJournal,
    /// All spots across A from front to rear, then, with the crank turned, all across B; mains first.
    DirectionFirst,
}

/// How this shop walks a crank.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Walk {
    /// Front and rear, or front, middle and rear.
    pub with_middle: bool,
    /// In which order.
    pub order: Order,
}

impl Walk {
    /// As the shop's settings have it.
    pub fn of(shop: &Shop) -> Walk {
        Walk {
            with_middle: shop.setting("stations") == Some("3"),
            order: match shop.setting("order") {
                Some("direction") => Order::DirectionFirst,
                _ => Order::JournalByJournal,
            },
        }
    }

    /// As the shop's settings have it, with the middle where this job has readings there already.
    pub fn of_job(shop: &Shop, job: &Job) -> Walk {
        let walk = Walk::of(shop);
        let middle = job.rows.iter().any(|row| row.key == "reading" && row.row.words("at") == Some("middle"));
        Walk { with_middle: walk.with_middle || middle, ..walk }
    }

    /// Every spot of a crank, in order; mains before pins, so that the micrometer changes once.
    pub fn spots(self, book: &Specification) -> Vec<Spot> {
        let mut spots = Vec::new();
        for set in SetName::BOTH {
            let count = book.set(set).count();
            let journals = (1..=count).map(|number| JournalId { set, number });
            match self.order {
                Order::JournalByJournal => {
                    for journal in journals {
                        for across in [Across::A, Across::B] {
                            spots.extend(self.along(journal, across));
                        }
                    }
                }
                Order::DirectionFirst => {
                    for across in [Across::A, Across::B] {
                        spots.extend(journals.clone().flat_map(|journal| self.along(journal, across)));
                    }
                }
            }
        }
        spots
    }

    fn along(self, journal: JournalId, across: Across) -> impl Iterator<Item = Spot> {
        let taken = move |station: &Station| self.with_middle || *station != Station::Middle;
        Station::ALL.into_iter().filter(taken).map(move |station| Spot { journal, station, across })
    }
}

/// The spot of the walk at a place, if it is one.
pub fn spot_at(place: &Place) -> Option<Spot> {
    const SAME_DEG: f64 = 0.5;
    if place.journal.set == SetName::Pin && place.counted_from == CountedFrom::FirstThrow {
        return None;
    }
    let station = match place.station().as_str() {
        "front" => Station::Front,
        "middle" => Station::Middle,
        "rear" => Station::Rear,
        _ => return None,
    };
    let turned = place.angle_deg.rem_euclid(180.0);
    let across = if turned.min(180.0 - turned) < SAME_DEG {
        Across::A
    } else if (turned - 90.0).abs() < SAME_DEG {
        Across::B
    } else {
        return None;
    };
    Some(Spot { journal: place.journal, station, across })
}

/// The row that says what a spot measures now: the one that counts, or the one in doubt.
pub fn row_at(job: &Job, spot: Spot) -> Option<&SheetRow> {
    let here = || job.rows.iter().rev().filter(|row| row.key == "reading" && spot.is_of(&row.row));
    here().find(|row| row.standing != Standing::StruckOut)
}

/// The spot of the walk at which a row was taken, if it was at one.
pub fn spot_of(row: &SheetRow) -> Option<Spot> {
    let journal = journal_of(&row.row)?;
    let station = Station::ALL.into_iter().find(|station| row.row.words("at") == Some(station.word()))?;
    let at = |across: &Across| Spot { journal, station, across: *across }.is_of(&row.row);
    [Across::A, Across::B].into_iter().find(at).map(|across| Spot { journal, station, across })
}

/// Whether a spot needs (another) reading. A journal that was traced has its diameters from the trace.
pub fn is_open(job: &Job, spot: Spot) -> bool {
    match row_at(job, spot) {
        Some(row) => row.standing != Standing::Counts,
        None => !job.rows.iter().any(|row| {
            row.key == "trace" && row.standing == Standing::Counts && journal_of(&row.row) == Some(spot.journal)
        }),
    }
}

/// The spot to go to after `after` (or from the start): the nearest that is open, in the order of the walk, going round.
pub fn next_open(spots: &[Spot], job: &Job, after: Option<Spot>) -> Option<Spot> {
    let at = after.and_then(|after| spots.iter().position(|spot| *spot == after));
    let start = at.map_or(0, |at| at + 1);
    let (before, rest) = spots.split_at(start.min(spots.len()));
    rest.iter().chain(before).copied().find(|spot| is_open(job, *spot))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spot_is_known_by_its_key_and_by_its_row() {
        let spot: Spot = "pin-2.rear.b".parse().unwrap();
        assert_eq!(spot.to_string(), "pin-2.rear.b");
        assert_eq!(spot.name(Words::of_setting(Some("big end"))), "Big end 2, rear, across B");
        let row = |plane: &str| {
            shop::Value::table([
                ("journal", shop::Value::from("pin 2")),
                ("at", shop::Value::from("rear")),
                ("plane", shop::Value::typed(plane)),
            ])
        };
        assert!(spot.is_of(&row("90")) && spot.is_of(&row("-90")) && spot.is_of(&row("270.0")));
        assert!(!spot.is_of(&row("0")) && !spot.is_of(&row("45")));
        for wrong in ["", "pin-2", "pin-0.rear.b", "pin-2.rear.c", "pin-99999999999999999999.rear.a", "bore-1.rear.a"] {
            assert_eq!(wrong.parse::<Spot>(), Err(NoSpot), "{wrong}");
        }
    }

    #[test]
    fn the_walk_changes_the_micrometer_once() {
        let text = include_str!("../../tenunder/library/tarn-four.toml");
        let (printed, _) = sheet::read_specification("tarn-four", text).unwrap();
        let book = Specification::from_printed(&printed).unwrap();
        for order in [Order::JournalByJournal, Order::DirectionFirst] {
            for with_middle in [false, true] {
                let spots = Walk { with_middle, order }.spots(&book);
                assert_eq!(spots.len(), 9 * 2 * if with_middle { 3 } else { 2 });
                let changes = spots.windows(2).filter(|pair| pair[0].journal.set != pair[1].journal.set).count();
                assert_eq!(changes, 1, "{order:?}");
                let mut unique = spots.clone();
                unique.sort();
                unique.dedup();
                assert_eq!(unique.len(), spots.len());
            }
        }
    }
}
