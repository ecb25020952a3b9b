//! The certificate of a finished crank: before and after, what was looked at, and who answers for it.

use super::{AboutJob, field, foot};
use crate::setting::{Cell, Column, Flow, Row, Table, Width};
use crate::{Drawing, PaperSize, Pen, Unwritable};

/// What was signed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Certificate {
    /// Whose crank.
    pub about: AboutJob,
    /// The sentence that was signed; empty where nobody signed yet.
    pub sentence: String,
    /// Who signed, and when.
    pub signed_by: String,
    /// When.
    pub signed: String,
    /// The revision of the record.
    pub revision: String,
    /// The code by which the record finds the signature again.
    pub mark: String,
    /// The sheet that it was ground to.
    pub code: String,
    /// What keeps it from being signed, where it is not.
    pub open: Vec<String>,
    /// The sets.
    pub sets: Vec<CertificateSet>,
    /// Drawings: before and after. Those that do not fit on the first page are left out.
    pub drawings: Vec<Drawing>,
    /// How far the figures can be trusted.
    pub trust: Vec<String>,
    /// Treatments after grinding, with batch and growth.
    pub treatments: Vec<String>,
    /// How rough the finished journals are, against what the book allows.
    pub roughness: Vec<String>,
    /// What was looked at, and what of it.
    pub eyes: Vec<String>,
    /// What was not done.
    pub left_out: Vec<String>,
    /// Cautions for whoever fits the crank.
    pub cautions: Vec<String>,
    /// Lengths are in this unit.
    pub unit: String,
}

/// A set on the certificate.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CertificateSet {
    /// `Mains, 0.010 in under`.
    pub name: String,
    /// The limits that hold.
    pub limits: String,
    /// The limits of form that hold.
    pub form: String,
    /// Its journals.
    pub rows: Vec<CertificateRow>,
}

/// A journal on the certificate.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CertificateRow {
    /// `Main 3`.
    pub journal: String,
    /// As found: smallest to largest size, out of round, taper.
    pub before: [String; 3],
    /// The same as finished.
    pub after: [String; 3],
    /// `inside`, `outside`, `cannot tell`, `not measured`; with what is to be said of the form.
    pub state: String,
}

impl Certificate {
    /// The certificate on paper.
    ///
    /// # Errors
    /// Where the file could not be written.
    pub fn to_pdf(&self, paper: PaperSize) -> Result<Vec<u8>, Unwritable> {
        let mut flow = self.set(paper, self.drawings.len());
        for drawings in (0..self.drawings.len()).rev() {
            if flow.pages.len() == 1 {
                break;
            }
            flow = self.set(paper, drawings);
        }
        flow.into_pdf(
            &format!("Certificate of the finished crankshaft, {}", self.about.name()),
            &format!("Sizes before and after on {}", self.about.crank),
        )
    }

    fn set(&self, paper: PaperSize, drawings: usize) -> Flow {
        let mut block = self.about.fields();
        block.extend([
            field("Sheet", &self.code),
            field("Revision", &self.revision),
            field("Signed by", &self.signed_by),
            field("Signed", &self.signed),
            field("Units", &self.unit),
            field("Code of the record", &self.mark),
        ]);
        let mut flow = Flow::new(paper, foot(block, 9.0));
        self.about.begin(&mut flow, "Certificate");
        let signed = !self.sentence.is_empty();
        let title = if signed { "Finished crankshaft" } else { "Finished crankshaft: not signed off" };
        flow.heading(1, title, 20.0);
        let whose = if self.about.whose().is_empty() { String::new() } else { format!(", for {}", self.about.whose()) };
        flow.paragraph(&format!("{}{whose}", self.about.crank), 12.0);
        flow.space(2.0);
        if signed {
            flow.rule(Pen::Edge);
            flow.strong(&self.sentence, 12.0);
            flow.paragraph(&format!("{}, {}", self.signed_by, self.signed), 11.0);
            flow.rule(Pen::Edge);
        } else {
            flow.strong("■ This paper is no certificate yet. Open:", 12.0);
            flow.list(&self.open, 11.0);
        }
        flow.space(2.0);
        for set in self.sets.iter().filter(|set| !set.rows.is_empty()) {
            flow.heading(2, &format!("{}: {}; {}", set.name, set.limits, set.form), 11.0);
            flow.table(&table(set));
            flow.space(2.0);
        }
        flow.paragraph(&self.trust.join(" "), 9.5);
        flow.space(1.0);
        if !self.treatments.is_empty() {
            flow.heading(2, "Treatment", 12.0);
            flow.list(&self.treatments, 9.5);
            flow.space(1.0);
        }
        if !self.roughness.is_empty() {
            flow.heading(2, "Roughness", 12.0);
            flow.list(&self.roughness, 9.5);
            flow.space(1.0);
        }
        for drawing in self.drawings.iter().take(drawings) {
            flow.figure(drawing);
            flow.space(2.0);
        }
        if !self.eyes.is_empty() {
            flow.heading(2, "Looked at", 12.0);
            flow.list(&self.eyes, 9.5);
        }
        if !self.left_out.is_empty() {
            flow.space(1.0);
            flow.heading(2, "Not done", 12.0);
            flow.list(&self.left_out, 10.0);
        }
        flow.space(1.0);
        for says in &self.cautions {
            flow.paragraph(says, 9.5);
        }
        flow
    }
}

fn table(set: &CertificateSet) -> Table {
    let rows = set.rows.iter().map(|row| {
        let figures = row.before.iter().chain(&row.after).map(Cell::from);
        Row {
            cells: std::iter::once(Cell::bold(&row.journal)).chain(figures).chain([Cell::from(&row.state)]).collect(),
        }
    });
    let figures = |head: &str| Column::figures(head, Width::Fit);
    Table {
        columns: vec![
            Column::words("Journal", Width::Share(1.0)),
            figures("Before"),
            figures("Out of round"),
            figures("Taper"),
            figures("After"),
            figures("Out of round"),
            figures("Taper"),
            Column::words("State", Width::Share(1.2)),
        ],
        rows: rows.collect(),
        pt: 9.0,
        head_pt: 8.5,
        least_mm: 0.0,
        ruled: false,
    }
}
