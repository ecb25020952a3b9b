//! What the pages are drawn with: style, script, type. All of it is in the program.

use axum::Router;
use axum::http::{HeaderName, HeaderValue, header};
use axum::routing::get;

/// The style, a part for each part of the program, sent as one file.
const STYLE: [&str; 5] = [
    include_str!("../../static/css/base.css"),
    include_str!("../../static/css/jobs.css"),
    include_str!("../../static/css/measure.css"),
    include_str!("../../static/css/verdict.css"),
    include_str!("../../static/css/work.css"),
];

/// The browser asks each time whether it changed; the files change only with the program.
fn headers(kind: &'static str) -> [(HeaderName, HeaderValue); 2] {
    [
        (header::CONTENT_TYPE, HeaderValue::from_static(kind)),
        (header::CACHE_CONTROL, HeaderValue::from_static("no-cache")),
    ]
}

macro_rules! fixed {
    ($file:literal, $kind:literal) => {
        get(|| async { (headers($kind), &include_bytes!(concat!("../../static/", $file))[..]) })
    };
}

pub(crate) fn routes<S: Clone + Send + Sync + 'static>() -> Router<S> {
    Router::new()
        .route("/static/bench.css", get(|| async { (headers("text/css; charset=utf-8"), STYLE.concat()) }))
        .route("/static/reading.css", fixed!("css/reading.css", "text/css; charset=utf-8"))
        .route("/static/bench.js", fixed!("bench.js", "text/javascript; charset=utf-8"))
        .route("/static/icon.svg", fixed!("icon.svg", "image/svg+xml"))
        .route("/static/words-400.woff2", fixed!("words-400.woff2", "font/woff2"))
        .route("/static/words-700.woff2", fixed!("words-700.woff2", "font/woff2"))
        .route("/static/figures-400.woff2", fixed!("figures-400.woff2", "font/woff2"))
        .route("/static/figures-700.woff2", fixed!("figures-700.woff2", "font/woff2"))
        .route("/static/FONTS-LICENSE.txt", fixed!("FONTS-LICENSE.txt", "text/plain; charset=utf-8"))
}
