//! The papers of a job, to look at and to print.

use askama::Template;
use axum::Router;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use paper::PaperSize;
use serde::Deserialize;

use crate::bar::Bar;
use crate::desk::Desk;
use crate::papers::{Paper, Papers, of_job, usual_size};
use crate::trouble::Trouble;
use crate::visitor::{Answer, Frame, JobPath, Visitor, shop_of, show};

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/jobs/{job}/papers", get(papers)).route("/jobs/{job}/papers/{file}", get(file))
}

/// One paper on the page.
struct Line {
    says: &'static str,
    for_what: &'static str,
    /// The file, in the shop's size.
    file: String,
    /// The other size, and its file.
    other: (&'static str, String),
    /// Why it cannot be printed yet.
    missing: Option<String>,
}

#[derive(Template)]
#[template(path = "papers.html")]
struct PapersPage {
    frame: Frame,
    bar: Bar,
    size: &'static str,
    lines: Vec<Line>,
}

async fn papers(State(desk): State<Desk>, visitor: Visitor, JobPath(job): JobPath) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let size = usual_size(&shop);
    let frame = visitor.frame(&shop, format!("Papers, job {job}"), "jobs");
    let all = Papers::at_hand(&held, &shop);
    let lines = Paper::ALL.into_iter().map(|paper| {
        let address = |size: PaperSize| format!("/jobs/{job}/papers/{}.pdf?size={}", paper.word(), size.word());
        let other = PaperSize::ALL.into_iter().find(|other| *other != size).unwrap_or(size);
        Line {
            says: paper.says(),
            for_what: for_what(paper),
            file: address(size),
            other: (other.word(), address(other)),
            missing: all.missing(paper),
        }
    });
    show(&PapersPage { lines: lines.collect(), frame, bar: Bar::of(&held.job, "papers"), size: size.word() })
}

fn for_what(paper: Paper) -> &'static str {
    match paper {
        Paper::Form => "For a dirty day or a power cut: every spot in the order it is walked, blank.",
        Paper::Report => "What was found, what will be done and why, on one page and in plain words.",
        Paper::Quotation => "What the work costs, line by line, and the ways that were weighed.",
        Paper::Grinder => "Sizes to read at the machine, with the code that the final check asks for.",
        Paper::Batch => "Goes with the cranks to heat treatment.",
        Paper::Record => "Every reading with its micrometer, and how far each can be trusted.",
        Paper::Certificate => "Sizes before and after, what was looked at, and who answers for it.",
        Paper::Label => "For the box: the undersizes, and what to stamp.",
        Paper::Card => {
            "Every undersize of this engine, with the size to work to at each stage as it stands on the micrometer."
        }
    }
}

#[derive(Debug, Default, Deserialize)]
struct Asked {
    #[serde(default)]
    size: String,
}

async fn file(State(desk): State<Desk>, Path((job, file)): Path<(i64, String)>, Query(asked): Query<Asked>) -> Answer {
    let Some(paper) = file.strip_suffix(".pdf").and_then(Paper::from_word) else {
        let file: String = file.chars().take(40).collect();
        return Err(Trouble::not_found(format!("There is no paper {file}."), "Choose one under Papers."));
    };
    let size = match PaperSize::from_word(&asked.size) {
        Some(size) => size,
        None => usual_size(&*shop_of(&desk).await?),
    };
    Ok(as_pdf(of_job(&desk, job, paper, size).await?, &format!("{job}-{}.pdf", paper.word())))
}

/// A file that the browser shows in its own window.
fn as_pdf(bytes: Vec<u8>, name: &str) -> Response {
    let shown = HeaderValue::from_str(&format!("inline; filename=\"{name}\""));
    let mut response = ([(header::CONTENT_TYPE, HeaderValue::from_static("application/pdf"))], bytes).into_response();
    if let Ok(shown) = shown {
        response.headers_mut().insert(header::CONTENT_DISPOSITION, shown);
    }
    response
}
