//! Names that look like others: asked about before they are taken, through every door.

use shop::{Draft, EntryKind, NameOf, ShopKind, StoreError, odd_name};

use crate::desk::Desk;
use crate::form::NotWritten;
use crate::trouble::{Fault, Trouble};

/// The field in which somebody says that a name is right.
pub(crate) const SURE: &str = "sure";

/// What that field offers.
pub(crate) fn sure() -> Vec<(String, String)> {
    [("", "Not yet"), ("yes", "Yes, it is right")].map(|(key, says)| (key.to_owned(), says.to_owned())).into()
}

impl Desk {
    /// What is asked about the names of cranks that are booked in, or of what is put right about them.
    pub(crate) async fn odd_marks_and_customers(&self, drafts: &[Draft]) -> Result<Vec<Fault>, StoreError> {
        let booked = drafts.iter().filter_map(|draft| match &draft.kind {
            EntryKind::BookedIn(booked) if !booked.example => Some(booked),
            _ => None,
        });
        let mut faults = Vec::new();
        let mut known = None;
        for booked in booked {
            let (marks, customers) = match &known {
                Some(known) => known,
                None => known.insert(self.store.marks_and_customers().await?),
            };
            faults.extend(asked(NameOf::Mark, &booked.mark, marks));
            faults.extend(asked(NameOf::Customer, &booked.customer, customers));
        }
        Ok(faults)
    }

    /// What is asked about the names of people who are added.
    pub(crate) async fn odd_people(&self, drafts: &[Draft<ShopKind>]) -> Result<Vec<Fault>, StoreError> {
        let mut faults = Vec::new();
        for draft in drafts {
            if let ShopKind::Person { name } = &draft.kind {
                faults.extend(asked(NameOf::Person, name, &self.shop().await?.people));
            }
        }
        Ok(faults)
    }
}

fn asked(of: NameOf, name: &str, known: &[String]) -> Option<Fault> {
    odd_name(name, known.iter().map(String::as_str)).map(|odd| Fault::new(SURE, odd.asks(of, name)))
}

/// Refuses names that are asked about, for a program that can say with `sure` that they are right.
pub(crate) fn surely(faults: Vec<Fault>) -> Result<(), Trouble> {
    if faults.is_empty() { Ok(()) } else { Err(Trouble::fields(faults)) }
}

/// Goes on where nothing is asked, or somebody said that it is right.
pub(crate) fn unless_sure(is_sure: bool, faults: Vec<Fault>) -> Result<(), NotWritten> {
    if is_sure || faults.is_empty() { Ok(()) } else { Err(faults.into()) }
}
