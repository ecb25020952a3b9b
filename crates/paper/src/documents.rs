//! The papers of a job. Each is given what stands on it, in words and figures as the pages show them, and becomes a PDF.

mod batch;
mod certificate;
mod engine_card;
mod form;
mod grinder;
mod label;
mod quotation;
mod record;
mod report;

pub use batch::{BatchRow, BatchSize, BatchSlip};
pub use certificate::{Certificate, CertificateRow, CertificateSet};
pub use engine_card::{CardRow, CardSet, EngineCard};
pub use form::{FormLimits, FormPass, MeasuringForm};
pub use grinder::{Gravity, GrinderJournal, GrinderOffset, GrinderSet, GrinderSheet, GrinderStage, Headline};
pub use label::{BoxLabel, LabelSet};
pub use quotation::{Quotation, QuotationWays};
pub use record::{InspectionRecord, RecordTable};
pub use report::{CustomersReport, ReportFirst, ReportSet};

use crate::setting::{Flow, Foot, Table, one_line};

/// Whose crank a paper is about.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AboutJob {
    /// The shop's name.
    pub shop: String,
    /// The number of the job; empty for a sheet that is in no record.
    pub number: String,
    /// The crank.
    pub crank: String,
    /// Whose it is; empty where nobody said.
    pub customer: String,
    /// The shop's mark on it.
    pub mark: String,
    /// An example: the paper says so in outline letters.
    pub example: bool,
}

impl AboutJob {
    /// `Job 1042`, or the mark of a crank that is in no record.
    fn name(&self) -> String {
        match (self.number.is_empty(), self.mark.is_empty()) {
            (false, _) => format!("Job {}", self.number),
            (true, false) => self.mark.clone(),
            (true, true) => "No job number".to_owned(),
        }
    }

    /// Whose it is, on one line.
    fn whose(&self) -> String {
        one_line(&self.customer)
    }

    fn begin(&self, flow: &mut Flow, title: &str) {
        flow.mark = self.example.then(|| "EXAMPLE".to_owned());
        flow.running = Some(format!("{title}, {} ({})", self.name(), one_line(&self.crank)));
    }

    /// Lines of the title block that every paper has.
    fn fields(&self) -> Vec<(String, String)> {
        let mut fields = vec![("Job".to_owned(), self.number.clone())];
        if !self.mark.is_empty() {
            fields.push(("Mark".to_owned(), self.mark.clone()));
        }
        if !self.shop.is_empty() {
            fields.push(("Shop".to_owned(), self.shop.clone()));
        }
        fields
    }
}

fn field(name: &str, value: impl Into<String>) -> (String, String) {
    (name.to_owned(), value.into())
}

fn foot(block: Vec<(String, String)>, pt: f64) -> Foot {
    Foot { block, pt }
}

/// Tables side by side, where there are two; each on its own where there is one.
fn side_by_side(flow: &mut Flow, tables: &[(String, Table)], pt: f64) {
    let [left, right] = tables else {
        for (title, table) in tables {
            flow.heading(2, title, pt);
            flow.table(table);
            flow.space(2.0);
        }
        return;
    };
    const GAP_MM: f64 = 6.0;
    let (edge, width) = (flow.left_mm(), (flow.width_mm() - GAP_MM) / 2.0);
    let top = flow.y_mm();
    let mut lowest = top;
    for (n, (title, table)) in [left, right].into_iter().enumerate() {
        flow.set_y_mm(top);
        flow.set_column(Some((edge + n as f64 * (width + GAP_MM), width)));
        flow.heading(2, title, pt);
        flow.table(table);
        lowest = lowest.max(flow.y_mm());
    }
    flow.set_column(None);
    flow.set_y_mm(lowest + 2.0);
}
