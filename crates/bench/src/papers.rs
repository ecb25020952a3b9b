//! The papers of a job: what stands on them, taken from the record as the pages take it.
//!
//! The pages and the command line both come here, so that a figure on paper cannot differ from the one on the screen.

mod batch;
mod certificate;
mod engine_card;
mod form;
mod grinder;
mod label;
mod quotation;
mod record;
mod report;

use std::sync::Arc;
use std::time::Duration;

use gauge::Instrument;
use paper::documents::AboutJob;
use paper::{Drawing, PaperSize};
use regrind::Verdict;
use sheet::Sheet;
use shop::{Job, JobNumber, Shop, Store, StoreError, Value, fold_shop};

use crate::desk::Desk;
use crate::drawings;
use crate::judged::{Judged, fit_as_decided};
use crate::ladder::{Found, Manner};
use crate::trouble::Trouble;
use crate::wording::Words;
use job::JobCard;
use job::aims::{Unreadable, is_measured};
use job::card::NoBook;
use job::march::Walk;
use job::stops::Stops;

/// As wide as a drawing may be on either size of paper.
const ACROSS_MM: f64 = 184.0;

/// As wide as one of two drawings beside each other may be.
const HALF_MM: f64 = 89.0;

/// What a paper waits for a verdict.
const PATIENCE: Duration = Duration::from_secs(60);

/// A paper that can be printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// The sheet at the machine.
    Grinder,
    /// The customer's report.
    Report,
    /// What the work costs.
    Quotation,
    /// Every reading.
    Record,
    /// The finished crank.
    Certificate,
    /// A blank form to measure by.
    Form,
    /// The label for the box.
    Label,
    /// The slip of its treatment batch.
    Batch,
    /// The card for the wall: every undersize of its engine.
    Card,
}

impl Paper {
    /// All of them, in the order of the work.
    pub const ALL: [Paper; 9] = [
        Paper::Form,
        Paper::Report,
        Paper::Quotation,
        Paper::Grinder,
        Paper::Batch,
        Paper::Record,
        Paper::Certificate,
        Paper::Label,
        Paper::Card,
    ];

    /// The word it is asked for by.
    pub const fn word(self) -> &'static str {
        match self {
            Paper::Grinder => "grinder",
            Paper::Report => "report",
            Paper::Quotation => "quotation",
            Paper::Record => "record",
            Paper::Certificate => "certificate",
            Paper::Form => "form",
            Paper::Label => "label",
            Paper::Batch => "batch",
            Paper::Card => "card",
        }
    }

    /// The paper that a word asks for.
    pub fn from_word(word: &str) -> Option<Paper> {
        Paper::ALL.into_iter().find(|paper| paper.word() == word)
    }

    /// What it is, in a few words.
    pub const fn says(self) -> &'static str {
        match self {
            Paper::Grinder => "Sheet for the grinder",
            Paper::Report => "Report for the customer",
            Paper::Quotation => "Quotation",
            Paper::Record => "Inspection record, every reading",
            Paper::Certificate => "Certificate of the finished crank",
            Paper::Form => "Blank measuring form",
            Paper::Label => "Label for the box",
            Paper::Batch => "Slip for the treatment batch",
            Paper::Card => "Card of the engine, for the wall",
        }
    }

    /// Whether it needs the verdict.
    const fn needs_verdict(self) -> bool {
        matches!(self, Paper::Report | Paper::Quotation | Paper::Record)
    }
}

/// Why a paper cannot be printed.
#[derive(Clone, Debug, thiserror::Error)]
pub enum NotPrinted {
    /// There is nothing yet that could stand on it.
    #[error("{says} {advice}")]
    NothingYet {
        /// What is missing.
        says: String,
        /// What to do.
        advice: String,
    },
    /// The record could not be read.
    #[error("{0}")]
    Record(#[from] StoreError),
    /// The file could not be made.
    #[error("{0}")]
    Unwritable(#[from] paper::Unwritable),
}

impl NotPrinted {
    fn nothing_measured() -> NotPrinted {
        let says = "Nothing is measured yet, so there is no verdict to print.";
        NotPrinted::nothing_yet(says, "Print the blank form, measure, and come back.")
    }

    fn no_prices() -> NotPrinted {
        let says = "This job has no prices, so there is nothing to quote.";
        NotPrinted::nothing_yet(says, "Enter them under Shop; a job takes them with it when it is booked in.")
    }

    fn nothing_yet(says: impl Into<String>, advice: impl Into<String>) -> NotPrinted {
        NotPrinted::NothingYet { says: says.into(), advice: advice.into() }
    }
}

impl From<NotPrinted> for Trouble {
    fn from(not: NotPrinted) -> Trouble {
        match not {
            NotPrinted::NothingYet { says, advice } => Trouble::new(axum::http::StatusCode::CONFLICT, says, advice),
            NotPrinted::Record(error) => Trouble::from(error),
            NotPrinted::Unwritable(error) => Trouble::fault(error.to_string()),
        }
    }
}

impl From<NoBook> for NotPrinted {
    fn from(no: NoBook) -> NotPrinted {
        NotPrinted::nothing_yet(no.to_string(), "Put it right under Particulars.")
    }
}

impl From<Unreadable> for NotPrinted {
    fn from(unreadable: Unreadable) -> NotPrinted {
        NotPrinted::nothing_yet(unreadable.to_string(), "Put it right under Measure or Particulars.")
    }
}

/// A job with all that its papers are made from.
pub(crate) struct Papers<'a> {
    pub(crate) card: &'a JobCard,
    pub(crate) shop: &'a Shop,
    pub(crate) words: Words,
    judged: Option<Arc<Judged>>,
    /// All jobs of its treatment batch.
    pub(crate) batch: Vec<Arc<JobCard>>,
    /// The code by which the record finds its signature again, where it is signed.
    code: Option<String>,
}

impl<'a> Papers<'a> {
    /// The papers of a job as far as they need no verdict.
    pub(crate) fn at_hand(card: &'a JobCard, shop: &'a Shop) -> Papers<'a> {
        let words = Words::of_setting(shop.setting("words"));
        Papers { card, shop, words, judged: None, batch: Vec::new(), code: None }
    }

    fn job(&self) -> &Job {
        &self.card.job
    }

    /// The paper as a file.
    fn print(&self, paper: Paper, size: PaperSize) -> Result<Vec<u8>, NotPrinted> {
        Ok(match paper {
            Paper::Grinder => self.grinder()?.to_pdf(size)?,
            Paper::Report => self.report()?.to_pdf(size)?,
            Paper::Quotation => self.quotation()?.to_pdf(size)?,
            Paper::Record => self.record()?.to_pdf(size)?,
            Paper::Certificate => self.certificate()?.to_pdf(size)?,
            Paper::Form => self.form()?.to_pdf(size)?,
            Paper::Label => self.label()?.to_pdf(size)?,
            Paper::Batch => self.batch_slip()?.to_pdf(size)?,
            Paper::Card => self.engine_card()?.to_pdf(size)?,
        })
    }

    /// Why a paper cannot be printed yet, where it cannot; what takes a verdict is only looked at for being measured.
    pub(crate) fn missing(&self, paper: Paper) -> Option<String> {
        let missing = match paper {
            Paper::Grinder => self.grinder().err(),
            Paper::Certificate => self.certificate().err(),
            Paper::Form => self.form().err(),
            Paper::Label => self.label().err(),
            Paper::Batch => self.batch_slip().err(),
            Paper::Card => self.engine_card().err(),
            Paper::Quotation if !is_priced(self.job()) => Some(NotPrinted::no_prices()),
            Paper::Report | Paper::Quotation | Paper::Record if is_measured(self.job()) => None,
            Paper::Report | Paper::Quotation | Paper::Record => Some(NotPrinted::nothing_measured()),
        };
        missing.map(|not| not.to_string())
    }

    fn about(&self) -> AboutJob {
        let booked = &self.job().booked_in;
        AboutJob {
            shop: self.shop.setting("name").unwrap_or_default().to_owned(),
            number: if self.job().number > 0 { self.job().number.to_string() } else { String::new() },
            crank: booked.crank.clone(),
            customer: booked.customer.clone(),
            mark: booked.mark.clone(),
            example: booked.example,
        }
    }

    /// The verdict with its sheet, or why there is none.
    fn verdict(&self) -> Result<(&Sheet, &Verdict), NotPrinted> {
        let judged = self.judged.as_deref().ok_or_else(|| match is_measured(self.job()) {
            false => NotPrinted::nothing_measured(),
            true => NotPrinted::nothing_yet(
                "The verdict is still being worked out.",
                "Your readings are kept. Print it again in a minute.",
            ),
        })?;
        match &judged.answer {
            Ok((sheet, verdict)) => Ok((sheet, verdict)),
            Err(problems) => {
                let first = problems.first().map(ToString::to_string).unwrap_or_default();
                let says = format!("The sheet of this job cannot be judged: {}", first);
                Err(NotPrinted::nothing_yet(says, "Put it right under Measure or Particulars."))
            }
        }
    }

    /// What it means for the bearings.
    fn fit(&self) -> Option<&fit::Fit> {
        self.judged.as_deref().and_then(|judged| judged.fit.as_ref())
    }

    fn found<'b>(&'b self, manner: &'b Manner) -> Result<Found<'b>, NotPrinted> {
        let (sheet, verdict) = self.verdict()?;
        Ok(Found { job: self.job(), sheet, verdict, manner })
    }

    /// What must be settled before this crank is ground or used.
    fn stops(&self, sheet: &Sheet) -> Stops {
        let worked_out = self.fit().cloned();
        let fit = worked_out.unwrap_or_else(|| fit_as_decided(self.job(), sheet));
        Stops::of(self.job(), sheet, Some(&fit), self.words)
    }

    fn manner(&self) -> Manner {
        Manner::of(self.shop, self.job())
    }

    /// The crank as it is known now; nothing where its book cannot be used.
    fn crank_drawing(&self) -> Option<Drawing> {
        let book = self.card.book.as_ref().ok()?;
        let walk = Walk::of_job(self.shop, self.job()).spots(book);
        drawings::crank(self.card, &walk, self.words, self.judged.as_deref()).map(|drawn| drawn.drawing)
    }

    /// The size axis of each set that was judged.
    fn size_axes(&self, found: &Found<'_>) -> Vec<Drawing> {
        let sets = found.verdict.sets.iter().filter_map(|set| drawings::size_axis(found, set.set));
        sets.map(|axis| axis.draw(ACROSS_MM).drawing).collect()
    }

    /// Who took the readings that count.
    fn measured_by(&self) -> String {
        let mut names: Vec<&str> = Vec::new();
        for row in self.job().rows.iter().filter(|row| matches!(row.key, "reading" | "trace")) {
            if !row.who.is_empty() && !names.contains(&row.who.as_str()) {
                names.push(&row.who);
            }
        }
        names.join(", ")
    }

    /// The day of the latest entry: a paper says how old what stands on it is, not when it was printed.
    fn date(&self) -> String {
        self.card.entries.last().map(|entry| crate::wording::day(&entry.when)).unwrap_or_default()
    }
}

/// Whether a job has prices.
fn is_priced(job: &Job) -> bool {
    job.document.get("prices").is_some()
}

/// A moment on paper: always with its day.
fn moment(when: &str) -> String {
    crate::wording::full_clock(when)
}

/// Micrometers by their names; the shop's usual one has none of its own.
fn micrometers(names: &[&str]) -> String {
    let unnamed = "a micrometer that nobody named, taken to be as good as is usual in a shop";
    let told: Vec<&str> =
        names.iter().map(|name| if *name == Instrument::SHOP_DEFAULT { unnamed } else { *name }).collect();
    told.join(" and ")
}

/// A paper of a job on the desk.
pub(crate) async fn of_job(
    desk: &Desk,
    number: JobNumber,
    paper: Paper,
    size: PaperSize,
) -> Result<Vec<u8>, NotPrinted> {
    let held = desk.job(number).await?;
    // What is at hand was sound when it was read; what is printed is looked at as it is kept now.
    let now = desk.store.entries(number, 0).await?;
    if now.last().map(|entry| entry.seq) == Some(held.job.seq) && now != held.entries {
        return Err(
            StoreError::Damaged { detail: format!("job {number} is not what it was when it was opened") }.into()
        );
    }
    let code = match &held.job.signed_off {
        Some(sign) => desk.store.paper_code(number, sign.entry).await?,
        None => None,
    };
    let shop = desk.shop().await?;
    let judged = if paper.needs_verdict() && is_measured(&held.job) {
        desk.judges.judge(&held, PATIENCE).await.into_new()
    } else {
        None
    };
    let mut batch = Vec::new();
    if let Some(stay) = held.job.treatments.last().filter(|_| paper == Paper::Batch) {
        for head in desk.store.jobs_in_batch(&stay.batch).await? {
            batch.push(desk.job(head.job).await?);
        }
    }
    Papers { judged, batch, code, ..Papers::at_hand(&held, &shop) }.print(paper, size)
}

/// The size of paper that a shop prints on.
pub(crate) fn usual_size(shop: &Shop) -> PaperSize {
    shop.setting("page").and_then(PaperSize::from_word).unwrap_or(PaperSize::A4)
}

/// Prints a paper of a job in the record. Without a size it is the shop's.
///
/// # Errors
/// Where there is nothing yet to print, or the record cannot be read.
pub async fn print_job(
    store: Store,
    number: JobNumber,
    paper: Paper,
    size: Option<PaperSize>,
) -> Result<Vec<u8>, NotPrinted> {
    let desk = Desk::new(store, Vec::new());
    let size = match size {
        Some(size) => size,
        None => usual_size(&*desk.shop().await?),
    };
    of_job(&desk, number, paper, size).await
}

/// Prints a paper of a sheet that is in no record, with each set decided by the rule. `document` is the whole sheet.
///
/// # Errors
/// Where the sheet cannot be judged, or the paper needs what only a record has.
pub fn print_sheet(document: Value, paper: Paper, size: PaperSize) -> Result<Vec<u8>, NotPrinted> {
    let shop = fold_shop(&[]);
    let mut card = JobCard::of_sheet(document).map_err(|not| NotPrinted::nothing_yet(format!("{not}."), ""))?;
    let mut judged = None;
    if is_measured(&card.job) && !matches!(paper, Paper::Form | Paper::Card) {
        let answer = Arc::new(card.to_judge().judge(&|_| ()));
        card = card.decided_by_the_rule(&answer);
        judged = Some(answer);
    }
    Papers { judged, ..Papers::at_hand(&card, &shop) }.print(paper, size)
}
