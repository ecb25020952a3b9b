//! The example: a job to try things on, left out of counts and searches.

use shop::{Draft, EntryId, EntryKind, JobNumber, Value, brought_in, fresh_id, now};

use crate::desk::Desk;
use crate::form::NotWritten;
use crate::trouble::Trouble;
use crate::visitor::Visitor;

impl Desk {
    /// Opens the example: the one that is there, the one that was put away, or a new one.
    pub(crate) async fn open_example(&self, visitor: &Visitor) -> Result<JobNumber, Trouble> {
        if let Some(there) = self.store.examples().await?.first() {
            return Ok(there.job);
        }
        if let Some(away) = self.store.examples_put_away().await?.first() {
            let draft = visitor.draft(EntryKind::TakenUp)?;
            self.put_down(away.job, away.seq, &[draft]).await?;
            return Ok(away.job);
        }
        let drafts = self.example_drafts(&visitor.who)?;
        self.write_new_job(&drafts).await.map_err(NotWritten::into_trouble)
    }

    /// Puts the examples away; they are kept and can be brought back.
    pub(crate) async fn put_examples_away(&self, visitor: &Visitor) -> Result<(), Trouble> {
        for head in self.store.examples().await? {
            let reason = "the example is not needed any more".to_owned();
            let draft = visitor.draft(EntryKind::PutAway { reason })?;
            self.put_down(head.job, head.seq, &[draft]).await?;
        }
        Ok(())
    }

    /// The sheet that the program brought, as a job.
    fn example_drafts(&self, who: &str) -> Result<Vec<Draft>, Trouble> {
        let text = self.example.as_deref().ok_or_else(none)?;
        let sheet = Value::from_text(text).map_err(Trouble::fault)?;
        let specification = sheet.words("specification").and_then(|name| {
            let name = name.strip_suffix(".toml").unwrap_or(name);
            let known = self.engines.iter().find(|known| known.name == name)?;
            Value::from_text(&known.text).ok()
        });
        let mut failed = None;
        let fresh = || {
            fresh_id().unwrap_or_else(|error| {
                failed = Some(error);
                EntryId::from_bits(0)
            })
        };
        let mut drafts = brought_in(sheet, specification, who, &now(), fresh).map_err(Trouble::fault)?;
        if let Some(error) = failed {
            return Err(error.into());
        }
        if let Some(EntryKind::BookedIn(booked)) = drafts.first_mut().map(|draft| &mut draft.kind) {
            booked.example = true;
            booked.customer = "Oxbow Engine Works".to_owned();
        }
        Ok(drafts)
    }
}

fn none() -> Trouble {
    Trouble::not_found("This program was started without an example.", "Book in a crank instead.")
}
