//! Writing what a form says, once, and without treading on what others wrote.

use axum::http::StatusCode;
use shop::{Appended, Draft, Entry, EntryKind, JobNumber, ShopKind, StoreError};

use crate::desk::Desk;
use crate::door::NotAppended;
use crate::form::NotWritten;
use crate::trouble::Fault;
use crate::wording::clock;

impl Desk {
    /// Writes entries to a job, once however often the form is sent. Where others wrote something that `clashes` since
    /// the page was made, nothing is written, and the form says so.
    pub(crate) async fn write(
        &self,
        number: JobNumber,
        seen: i64,
        drafts: &[Draft],
        clashes: fn(&EntryKind) -> bool,
    ) -> Result<(), NotWritten> {
        let mut seen = seen;
        loop {
            match self.append(number, seen, drafts).await {
                Ok(Appended::Written { .. } | Appended::Repeated { .. }) => return Ok(()),
                Ok(Appended::Behind { since, seq }) => {
                    // What the same form wrote, sent twice at the same moment, clashes with nothing.
                    let ours = |entry: &Entry| drafts.iter().any(|draft| draft.id == entry.id);
                    if let Some(other) = since.iter().rev().find(|entry| clashes(&entry.kind) && !ours(entry)) {
                        let says = format!(
                            "{} changed this at {}, while this page was open. Look at what changed, then save again if \
                             yours still holds.",
                            other.who,
                            clock(&other.received)
                        );
                        return Err(NotWritten::Again(StatusCode::CONFLICT, vec![Fault::new("", says)]));
                    }
                    seen = seq;
                }
                Err(NotAppended::Store(error @ StoreError::NameTaken(_))) => {
                    return if self.was_written(number, drafts).await? { Ok(()) } else { Err(error.into()) };
                }
                Err(error) => return Err(error.into()),
            }
        }
    }

    /// Books a crank in, once however often the form is sent.
    pub(crate) async fn write_new_job(&self, drafts: &[Draft]) -> Result<JobNumber, NotWritten> {
        match self.store.book_in(drafts).await {
            Ok(booked) => Ok(booked.job),
            Err(StoreError::NameTaken(id)) => match self.store.place_of(id).await? {
                Some((job, _)) if self.was_written(job, drafts).await? => Ok(job),
                _ => Err(StoreError::NameTaken(id).into()),
            },
            Err(error) => Err(error.into()),
        }
    }

    /// Writes lines to the shop's own log, once however often the form is sent.
    pub(crate) async fn write_to_shop(&self, drafts: &[Draft<ShopKind>]) -> Result<(), NotWritten> {
        let mut seen = self.shop().await?.seq;
        loop {
            match self.store.append_to_shop(seen, drafts).await {
                Ok(Appended::Written { .. } | Appended::Repeated { .. }) => return Ok(()),
                Ok(Appended::Behind { seq, .. }) => seen = seq,
                Err(StoreError::NameTaken(id)) => {
                    let entries = self.store.shop_entries().await?;
                    return if says_the_same(&entries, drafts) {
                        Ok(())
                    } else {
                        Err(StoreError::NameTaken(id).into())
                    };
                }
                Err(error) => return Err(error.into()),
            }
        }
    }

    /// Whether a job holds these lines already; the clock does not matter, for a form does not know when it is sent.
    pub(crate) async fn was_written(&self, number: JobNumber, drafts: &[Draft]) -> Result<bool, StoreError> {
        Ok(says_the_same(&self.store.entries(number, 0).await?, drafts))
    }
}

fn says_the_same<K: PartialEq>(entries: &[Entry<K>], drafts: &[Draft<K>]) -> bool {
    drafts.iter().all(|draft| {
        let there = entries.iter().find(|entry| entry.id == draft.id);
        there.is_some_and(|there| there.kind == draft.kind && there.corrects == draft.corrects)
    })
}
