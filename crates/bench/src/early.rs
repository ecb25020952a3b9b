//! A page of a job that has to be measured first.

use askama::Template;
use shop::{Job, Shop};

use crate::bar::Bar;
use crate::visitor::{Frame, Visitor};

/// A page of a job that has to be measured first.
#[derive(Template)]
#[template(path = "early.html")]
pub(crate) struct EarlyPage {
    frame: Frame,
    bar: Bar,
    heading: &'static str,
}

impl EarlyPage {
    /// The page `here` of a job, under its heading.
    pub(crate) fn of(visitor: &Visitor, shop: &Shop, job: &Job, here: &str, heading: &'static str) -> EarlyPage {
        let frame = visitor.frame(shop, format!("{heading}, job {}", job.number), "jobs");
        EarlyPage { frame, bar: Bar::of(job, here), heading }
    }
}
