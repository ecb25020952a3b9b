//! The certificate of a finished crank: before and after, what was looked at, and who answers for it.

use super::{AboutJob, field, foot, side_by_side};
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
    /// The mark of the record that was signed.
    pub hash: String,
    /// The sheet that it was ground to.
    pub code: String,
    /// What keeps it from being signed, where it is not.
    pub open: Vec<String>,
    /// The sets.
    pub sets: Vec<CertificateSet>,
    /// Drawings: before and after. Those that do not fit on the first page are left out.
    pub drawings: Vec<Drawing>,
    /// What was looked at, and what of it.
    pub eyes: Vec<(String, String)>,
    /// What was left out on purpose.
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
    /// Its journals.
    pub rows: Vec<CertificateRow>,
}

/// A journal on the certificate.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CertificateRow {
    /// `Main 3`.
    pub journal: String,
    /// Smallest size as found.
    pub before: String,
    /// Sizes as finished, smallest to largest; empty where not measured.
    pub after: String,
    /// `inside`, `outside`, `cannot tell`, `not measured`.
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
            field("Mark of the record", &self.hash),
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
        let tables: Vec<(String, Table)> = self
            .sets
            .iter()
            .filter(|set| !set.rows.is_empty())
            .map(|set| (format!("{}: {}", set.name, set.limits), table(set)))
            .collect();
        side_by_side(&mut flow, &tables, 11.0);
        for drawing in self.drawings.iter().take(drawings) {
            flow.figure(drawing);
            flow.space(2.0);
        }
        if !self.eyes.is_empty() {
            flow.heading(2, "Looked at", 12.0);
            let says: Vec<String> = self.eyes.iter().map(|(item, says)| format!("{item}: {says}")).collect();
            flow.list(&says, 9.5);
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
    let rows = set.rows.iter().map(|row| Row {
        cells: vec![Cell::bold(&row.journal), Cell::from(&row.before), Cell::from(&row.after), Cell::from(&row.state)],
    });
    Table {
        columns: vec![
            Column::words("Journal", Width::Share(1.0)),
            Column::figures("Before, smallest", Width::Fit),
            Column::figures("After", Width::Fit),
            Column::words("State", Width::Share(1.0)),
        ],
        rows: rows.collect(),
        pt: 9.5,
        head_pt: 9.0,
        least_mm: 0.0,
        ruled: false,
    }
}
