//! The shop's own log: specifications, instruments, people, prices, settings, batches.

use document::Value;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::admit::{self, Refusal};
use crate::fold::counting;
use crate::log::{Draft, Entry, EntryId};
use crate::names::same_name;

/// What was done in the shop at large: one line of its log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum ShopKind {
    /// Settings were changed: replaces the keys given, leaves the others. The shop's name and address, `words` (`pin` or
    /// `rod journal`), `units`, `page`, `confidence` and what else the pages offer.
    Settings {
        /// The keys to replace.
        #[schema(value_type = Object)]
        settings: Value,
    },
    /// A specification, new or in place of the one of that name.
    Specification {
        /// The name it is chosen by.
        name: String,
        /// The specification, with the keys of its own format.
        #[schema(value_type = Object)]
        specification: Value,
    },
    /// A specification is no longer offered; jobs that used it keep theirs.
    SpecificationPutAway {
        /// Its name.
        name: String,
    },
    /// An instrument of the shop, new or in place of the one of that name; the keys of `[[instrument]]`.
    Instrument {
        /// The row.
        #[schema(value_type = Object)]
        row: Value,
    },
    /// An instrument was tried on a setting standard.
    InstrumentChecked {
        /// Its name.
        instrument: String,
        /// The standard, as typed: `2.0000 in`.
        standard: String,
        /// What it read on it, less the standard, as typed.
        reads: String,
    },
    /// An instrument is no longer used.
    InstrumentPutAway {
        /// Its name.
        name: String,
    },
    /// A person who works here.
    Person {
        /// The name that entries are signed with.
        name: String,
    },
    /// A person who no longer works here; entries keep the name.
    PersonPutAway {
        /// The name.
        name: String,
    },
    /// Prices, new or in place of those for that specification; the keys of `[prices]`.
    Prices {
        /// The specification they hold for; all that have none of their own where absent.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        specification: Option<String>,
        /// The prices.
        #[schema(value_type = Object)]
        prices: Value,
    },
    /// A batch for heat treatment was opened, or its particulars changed.
    Batch {
        /// What it is called.
        batch: String,
        /// Who treats it, which treatment, when it goes.
        #[schema(value_type = Object)]
        particulars: Value,
    },
    /// A batch is done with.
    BatchClosed {
        /// What it is called.
        batch: String,
    },
    /// Words.
    Note {
        /// What they are.
        text: String,
    },
    /// An entry no longer counts. Where that entry is itself an undo, what it undid counts again.
    Undo {
        /// The entry.
        entry: EntryId,
    },
}

impl ShopKind {
    /// The name of the kind, as it is kept.
    pub fn name(&self) -> &'static str {
        match self {
            ShopKind::Settings { .. } => "settings",
            ShopKind::Specification { .. } => "specification",
            ShopKind::SpecificationPutAway { .. } => "specification_put_away",
            ShopKind::Instrument { .. } => "instrument",
            ShopKind::InstrumentChecked { .. } => "instrument_checked",
            ShopKind::InstrumentPutAway { .. } => "instrument_put_away",
            ShopKind::Person { .. } => "person",
            ShopKind::PersonPutAway { .. } => "person_put_away",
            ShopKind::Prices { .. } => "prices",
            ShopKind::Batch { .. } => "batch",
            ShopKind::BatchClosed { .. } => "batch_closed",
            ShopKind::Note { .. } => "note",
            ShopKind::Undo { .. } => "undo",
        }
    }
}

/// The shop as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Shop {
    /// The place of the last entry: what a writer states as the last one seen.
    pub seq: i64,
    /// Its settings, a table.
    pub settings: Value,
    /// Specifications by the name they are chosen by, in the order they were first kept.
    pub specifications: Vec<(String, Value)>,
    /// Its instruments, in the order they were first kept.
    pub instruments: Vec<ShopInstrument>,
    /// Who works here, in the order they came.
    pub people: Vec<String>,
    /// Prices, by specification; those for all others have no name.
    pub prices: Vec<(Option<String>, Value)>,
    /// Batches that are open, with their particulars, in the order they were opened.
    pub batches: Vec<(String, Value)>,
}

/// An instrument of the shop.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ShopInstrument {
    /// Its name.
    pub name: String,
    /// The keys of `[[instrument]]`.
    #[schema(value_type = Object)]
    pub row: Value,
    /// How it did on its setting standards, in order.
    pub checks: Vec<StandardCheck>,
}

/// One trial on a setting standard.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct StandardCheck {
    /// The standard, as typed.
    pub standard: String,
    /// What the instrument read on it, less the standard, as typed.
    pub reads: String,
    /// Who tried it.
    pub who: String,
    /// When.
    pub when: String,
}

impl Shop {
    /// The words of a setting.
    pub fn setting(&self, key: &str) -> Option<&str> {
        self.settings.get(key).and_then(Value::as_typed)
    }

    /// A specification by its name.
    pub fn specification(&self, name: &str) -> Option<&Value> {
        self.specifications.iter().find(|(known, _)| known == name).map(|(_, specification)| specification)
    }

    /// The prices that hold for a specification: its own, or those for all.
    pub fn prices_for(&self, specification: &str) -> Option<&Value> {
        let of = |name: Option<&str>| self.prices.iter().find(|(known, _)| known.as_deref() == name);
        of(Some(specification)).or_else(|| of(None)).map(|(_, prices)| prices)
    }
}

pub(crate) fn undoes(kind: &ShopKind) -> Option<EntryId> {
    match kind {
        ShopKind::Undo { entry } => Some(*entry),
        _ => None,
    }
}

/// Adds up the entries of the shop's log.
pub fn fold_shop(entries: &[Entry<ShopKind>]) -> Shop {
    let mut shop = Shop {
        seq: entries.last().map_or(0, |entry| entry.seq),
        settings: Value::Table(Vec::new()),
        specifications: Vec::new(),
        instruments: Vec::new(),
        people: Vec::new(),
        prices: Vec::new(),
        batches: Vec::new(),
    };
    let counts = counting(entries, undoes);
    for entry in entries.iter().zip(counts).filter(|(_, counts)| *counts).map(|(entry, _)| entry) {
        match &entry.kind {
            ShopKind::Settings { settings } => {
                for (key, value) in settings.pairs() {
                    shop.settings.set(key, value.clone());
                }
            }
            ShopKind::Specification { name, specification } => {
                put(&mut shop.specifications, name.clone(), specification.clone());
            }
            ShopKind::SpecificationPutAway { name } => shop.specifications.retain(|(known, _)| known != name),
            ShopKind::Instrument { row } => {
                let name = row.words("name").unwrap_or_default();
                match shop.instruments.iter_mut().find(|instrument| instrument.name == name) {
                    Some(instrument) => instrument.row = row.clone(),
                    None => shop.instruments.push(ShopInstrument {
                        name: name.to_owned(),
                        row: row.clone(),
                        checks: Vec::new(),
                    }),
                }
            }
            ShopKind::InstrumentChecked { instrument, standard, reads } => {
                let known = shop.instruments.iter_mut().find(|known| known.name == *instrument);
                if let Some(known) = known {
                    known.checks.push(StandardCheck {
                        standard: standard.clone(),
                        reads: reads.clone(),
                        who: entry.who.clone(),
                        when: entry.when.clone(),
                    });
                }
            }
            ShopKind::InstrumentPutAway { name } => shop.instruments.retain(|known| known.name != *name),
            ShopKind::Person { name } => {
                if !shop.people.iter().any(|known| same_name(known, name)) {
                    shop.people.push(name.clone());
                }
            }
            ShopKind::PersonPutAway { name } => shop.people.retain(|known| !same_name(known, name)),
            ShopKind::Prices { specification, prices } => {
                put(&mut shop.prices, specification.clone(), prices.clone());
            }
            ShopKind::Batch { batch, particulars } => put(&mut shop.batches, batch.clone(), particulars.clone()),
            ShopKind::BatchClosed { batch } => shop.batches.retain(|(known, _)| known != batch),
            ShopKind::Note { .. } | ShopKind::Undo { .. } => {}
        }
    }
    shop
}

fn put<K: PartialEq>(list: &mut Vec<(K, Value)>, key: K, value: Value) {
    match list.iter_mut().find(|(known, _)| *known == key) {
        Some((_, there)) => *there = value,
        None => list.push((key, value)),
    }
}

/// Whether a line can be written into the shop's log as it stands after `entries`.
///
/// # Errors
/// [`Refusal`] says what is wrong with the line.
pub fn admit_to_shop(entries: &[Entry<ShopKind>], draft: &Draft<ShopKind>) -> Result<(), Refusal> {
    admit::frame(draft)?;
    if draft.corrects.is_some() {
        let advice = "Write a new one; it takes the place of the old.";
        return Err(Refusal::new("corrects", "Entries of the shop's log are not corrected.", advice));
    }
    match &draft.kind {
        ShopKind::Settings { settings } => admit::table("settings", settings),
        ShopKind::Specification { name, specification } => {
            admit::needed("name", name)?;
            admit::table("specification", specification)
        }
        ShopKind::Instrument { row } => {
            admit::table("instrument", row)?;
            admit::needed("instrument's name", row.words("name").unwrap_or_default())
        }
        ShopKind::InstrumentChecked { instrument, standard, reads } => {
            admit::length("standard", standard)?;
            admit::length("reading on it", reads)?;
            if fold_shop(entries).instruments.iter().any(|known| known.name == *instrument) {
                return Ok(());
            }
            let says = format!("The shop has no instrument \"{instrument}\".");
            Err(Refusal::new("instrument", says, "Add it first."))
        }
        ShopKind::SpecificationPutAway { name }
        | ShopKind::InstrumentPutAway { name }
        | ShopKind::Person { name }
        | ShopKind::PersonPutAway { name } => admit::needed("name", name),
        ShopKind::Prices { specification, prices } => {
            specification.as_deref().map_or(Ok(()), |name| admit::needed("specification", name))?;
            admit::table("prices", prices)
        }
        ShopKind::Batch { batch, particulars } => {
            admit::needed("batch", batch)?;
            admit::table("particulars", particulars)
        }
        ShopKind::BatchClosed { batch } => admit::needed("batch", batch),
        ShopKind::Note { text } => admit::needed_text("note", text),
        ShopKind::Undo { entry } => {
            let counts = counting(entries, undoes);
            match entries.iter().zip(counts).find(|(known, _)| known.id == *entry) {
                Some((_, true)) => Ok(()),
                Some((_, false)) => Err(Refusal::new("entry", "That entry is undone already.", "Load the page again.")),
                None => {
                    let says = format!("The shop's log has no entry {entry}.");
                    Err(Refusal::new("entry", says, "Load the page again."))
                }
            }
        }
    }
}
