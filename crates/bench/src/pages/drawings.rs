//! The drawings of a job: the crank, each journal, wear along the crank, ladder, clearances, before and after.

use askama::Template;
use axum::Router;
use axum::extract::{Query, State};
use axum::routing::get;
use crank::{JournalId, SetName};
use paper::{ClearanceSketch, Drawn, SvgSize};
use serde::Deserialize;

use crate::bar::Bar;
use crate::desk::Desk;
use crate::drawings::{self, before_after, crank, ladder, with_known};
use crate::judged::{Judged, PATIENCE};
use crate::ladder::{Found, Manner};
use crate::standing::along;
use crate::trouble::Trouble;
use crate::visitor::{Answer, Frame, JobPath, Visitor, shop_of, show};
use crate::wording::Words;

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/jobs/{job}/drawings", get(drawings))
}

#[derive(Debug, Default, Deserialize)]
struct Asked {
    /// `wear`, `ladder`, `clearance`, `sizes`, `main-3`; the crank where nothing is asked for.
    #[serde(default)]
    show: String,
}

/// One drawing on the page.
struct Shown {
    title: String,
    svg: String,
    /// The same for a narrow page, where it can be drawn so.
    narrow: Option<String>,
    says: String,
    troubles: Vec<String>,
}

impl Shown {
    fn of(drawn: &Drawn, narrow: Option<&Drawn>, number: usize) -> Shown {
        Shown {
            title: drawn.drawing.title.clone(),
            svg: drawn.drawing.to_svg(&format!("drawing-{number}"), SvgSize::Page),
            narrow: narrow.map(|drawn| drawn.drawing.to_svg(&format!("drawing-{number}-narrow"), SvgSize::Page)),
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
    let judgement = desk.judges.judge(&held, PATIENCE).await;
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
        if found.is_some_and(|found| !found.verdict.sets.is_empty() && !found.is_stopped()) {
            others.push(("ladder".to_owned(), "Ladder".to_owned()));
        }
        if !clearances(judged, words, ClearanceSketch::WIDE_MM).is_empty() {
            others.push(("clearance".to_owned(), "Clearances".to_owned()));
        }
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
    let walk = held.book.as_ref().map_or_else(|_| Vec::new(), |book| manner.walk.spots(book));
    let drawn = match asked.show.as_str() {
        "" => crank(&held, &walk, words, judged).into_iter().collect(),
        "ladder" => found.map_or_else(Vec::new, |found| {
            let sets = found.verdict.sets.iter().filter_map(|set| ladder(&found, set.set, &walk));
            sets.map(|drawing| Drawn { drawing, troubles: Vec::new() }).collect()
        }),
        "clearance" => clearances(judged, words, ClearanceSketch::WIDE_MM),
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
    let narrow = match asked.show.as_str() {
        "clearance" => clearances(judged, words, ClearanceSketch::NARROW_MM),
        _ => Vec::new(),
    };
    let shown: Vec<Shown> = drawn.iter().enumerate().map(|(n, drawn)| Shown::of(drawn, narrow.get(n), n)).collect();
    let nothing = match &held.book {
        Err(faults) => format!("The specification in this job cannot be used: {}", faults.join(" ")),
        Ok(_) if shown.is_empty() => "There is nothing to draw yet.".to_owned(),
        Ok(_) => String::new(),
    };
    let others = others.into_iter().map(|(part, name)| (part.clone(), name, part == asked.show)).collect();
    let is_old = latest.is_some_and(|(_, is_new)| !is_new);
    show(&DrawingsPage { frame, bar: Bar::of(&held.job, "drawings"), others, shown, nothing, is_old })
}

/// The clearances of each set whose bearings are known, so wide.
fn clearances(judged: Option<&Judged>, words: Words, width_mm: f64) -> Vec<Drawn> {
    let Some(judged) = judged else { return Vec::new() };
    let (Ok((sheet, _)), Some(fit)) = (&judged.answer, &judged.fit) else { return Vec::new() };
    let sets = SetName::BOTH.into_iter().filter_map(|set| drawings::clearances(fit, set, sheet.unit, words));
    sets.map(|sketch| sketch.draw(width_mm)).collect()
}

/// A journal at the end of an address.
fn part(id: JournalId) -> String {
    format!("{}-{}", id.set, id.number)
}
