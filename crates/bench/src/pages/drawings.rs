//! The drawings of a job: the crank, each journal, wear along the crank, before and after.

use askama::Template;
use axum::Router;
use axum::extract::{Query, State};
use axum::routing::get;
use crank::JournalId;
use paper::{Drawn, SvgSize};
use serde::Deserialize;

use crate::bar::Bar;
use crate::desk::Desk;
use crate::drawings::{before_after, crank, with_known};
use crate::judged::PATIENCE;
use crate::ladder::{Found, Manner};
use crate::standing::along;
use crate::trouble::Trouble;
use crate::visitor::{Answer, Frame, JobPath, Visitor, shop_of, show};

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/jobs/{job}/drawings", get(drawings))
}

#[derive(Debug, Default, Deserialize)]
struct Asked {
    /// `wear`, `sizes`, `main-3`; the crank where nothing is asked for.
    #[serde(default)]
    show: String,
}

/// One drawing on the page.
struct Shown {
    title: String,
    svg: String,
    says: String,
    troubles: Vec<String>,
}

impl Shown {
    fn of(drawn: &Drawn, number: usize) -> Shown {
        Shown {
            title: drawn.drawing.title.clone(),
            svg: drawn.drawing.to_svg(&format!("drawing-{number}"), SvgSize::Page),
            says: drawn.drawing.says.clone(),
            troubles: drawn.troubles.clone(),
        }
    }
}

#[derive(Template)]
#[template(path = "drawings.html")]
struct DrawingsPage {
    frame: Frame,
    bar: Bar,
    /// What can be shown: the end of the address, what it is called, whether it is shown.
    others: Vec<(String, String, bool)>,
    shown: Vec<Shown>,
    /// Why there is nothing to see.
    nothing: String,
    /// Newer readings are still being worked in.
    is_old: bool,
}

async fn drawings(
    State(desk): State<Desk>,
    visitor: Visitor,
    JobPath(job): JobPath,
    Query(asked): Query<Asked>,
) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let judgement = desk.judges.judge(&held.job, PATIENCE).await;
    let manner = Manner::of(&shop, &held.job);
    let words = manner.words;
    let latest = judgement.latest();
    let judged = latest.map(|(judged, _)| judged);
    let answer = judged.and_then(|judged| judged.answer.as_ref().ok());
    let found = answer.map(|(sheet, verdict)| Found { job: &held.job, sheet, verdict, manner: &manner });
    let measured = |id: JournalId| {
        found.is_some_and(|found| found.verdict.journals.iter().any(|journal| journal.condition.journal == id))
    };
    let mut others = vec![(String::new(), "The crank".to_owned())];
    if let Ok(book) = &held.book {
        let wear = found.and_then(|found| with_known(&found, |known| known.wear().map(|_| ())));
        others.extend(wear.map(|()| ("wear".to_owned(), "Wear along the crank".to_owned())));
        if !held.job.final_readings.is_empty() {
            others.push(("sizes".to_owned(), "Before and after".to_owned()));
        }
        let journals = along(book).into_iter().filter(|id| measured(*id));
        others.extend(journals.map(|id| (part(id), words.journal(id))));
    }
    let Some((_, title)) = others.iter().find(|(part, _)| *part == asked.show) else {
        let asked: String = asked.show.chars().take(40).collect();
        let says = format!("There is no drawing {asked} of job {job}.");
        return Err(Trouble::not_found(says, "What is not measured yet is not drawn. Start from the crank."));
    };
    let frame = visitor.frame(&shop, format!("{title}, job {job}"), "jobs");
    let drawn = match asked.show.as_str() {
        "" => {
            let walk = held.book.as_ref().map_or_else(|_| Vec::new(), |book| manner.walk.spots(book));
            crank(&held, &walk, words, judged).into_iter().collect()
        }
        "sizes" => before_after(&held, &shop, words),
        which => found
            .and_then(|found| {
                with_known(&found, |known| match which {
                    "wear" => Some(known.wear()?.draw(paper::WearAlong::USUAL_MM)),
                    which => {
                        let id = known.specification.journals().find(|id| part(*id) == which)?;
                        Some(known.journal(id)?.draw())
                    }
                })
            })
            .into_iter()
            .collect(),
    };
    let shown: Vec<Shown> = drawn.iter().enumerate().map(|(n, drawn)| Shown::of(drawn, n)).collect();
    let nothing = match &held.book {
        Err(faults) => format!("The specification in this job cannot be used: {}", faults.join(" ")),
        Ok(_) if shown.is_empty() => "There is nothing to draw yet.".to_owned(),
        Ok(_) => String::new(),
    };
    let others = others.into_iter().map(|(part, name)| (part.clone(), name, part == asked.show)).collect();
    let is_old = latest.is_some_and(|(_, is_new)| !is_new);
    show(&DrawingsPage { frame, bar: Bar::of(&held.job, "drawings"), others, shown, nothing, is_old })
}

/// A journal at the end of an address.
fn part(id: JournalId) -> String {
    format!("{}-{}", id.set, id.number)
}
