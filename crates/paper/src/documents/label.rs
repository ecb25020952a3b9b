//! The label for the box: what lies in it, and what is stamped on it.

use super::{AboutJob, foot};
use crate::setting::{Flow, Tag, Type};
use crate::{Anchor, PaperSize, Pen, Unwritable};

/// A label to cut out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BoxLabel {
    /// Whose crank.
    pub about: AboutJob,
    /// Why it is not to be ground or used, in a few words, where that is so: no size stands on the label then.
    pub never: Option<String>,
    /// The sets with their undersizes.
    pub sets: Vec<LabelSet>,
    /// What to stamp on the crank, and where this shop puts it.
    pub stamp: String,
    /// Words about its state: `Signed off`, `Not signed off`.
    pub state: String,
    /// The sheet that it was ground to.
    pub code: String,
    /// What to do with it, beside lifting it.
    pub advice: String,
}

/// A set on the label.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LabelSet {
    /// `Mains`.
    pub name: String,
    /// `0.010 in under`.
    pub undersize: String,
    /// The finished sizes.
    pub range: String,
}

/// A single's crank is carried in one hand, a big diesel's weighs hundreds of kilograms: the label does not guess.
const LIFTING: &str = "Weigh it, or take its weight from the maker’s book, before it is lifted. Above what local rules let \
                       people lift, use rated lifting gear, slung so that no journal is touched.";

/// Width of the label.
const WIDTH_MM: f64 = 150.0;

impl BoxLabel {
    /// The label at the upper left of a page, with a line to cut along.
    ///
    /// # Errors
    /// Where the file could not be written.
    pub fn to_pdf(&self, paper: PaperSize) -> Result<Vec<u8>, Unwritable> {
        let mut flow = Flow::new(paper, foot(Vec::new(), 9.0));
        self.about.begin(&mut flow, "Label");
        let (left, top) = (flow.left_mm(), flow.y_mm());
        flow.set_column(Some((left + 4.0, WIDTH_MM - 8.0)));
        flow.space(3.0);
        flow.heading(1, &self.about.name(), 36.0);
        flow.strong(&self.about.crank, 14.0);
        let mut whose = Vec::new();
        if !self.about.whose().is_empty() {
            whose.push(self.about.whose());
        }
        if !self.about.mark.is_empty() {
            whose.push(format!("mark {}", self.about.mark));
        }
        flow.paragraph(&whose.join(", "), 12.0);
        flow.space(2.0);
        if let Some(never) = &self.never {
            flow.block(Tag::Paragraph, never, Type::words(36.0).bold(), Anchor::Start);
            flow.space(2.0);
        }
        for set in &self.sets {
            flow.block(
                Tag::Paragraph,
                &format!("{}: {}", set.name.to_uppercase(), set.undersize),
                Type::words(26.0).bold(),
                Anchor::Start,
            );
            flow.block(Tag::Paragraph, &set.range, Type::figures(14.0), Anchor::Start);
            flow.space(1.0);
        }
        flow.space(1.0);
        if !self.stamp.is_empty() {
            flow.strong(&format!("Stamp: {}", self.stamp), 14.0);
        }
        let mut last: Vec<String> = Some(self.state.clone()).filter(|state| !state.is_empty()).into_iter().collect();
        if !self.code.is_empty() {
            last.push(format!("sheet {}", self.code));
        }
        if !self.about.shop.is_empty() {
            last.push(self.about.shop.clone());
        }
        flow.paragraph(&last.join(", "), 11.0);
        flow.paragraph(LIFTING, 9.0);
        flow.paragraph(&self.advice, 9.0);
        flow.set_column(None);
        let bottom = flow.y_mm() + 2.0;
        flow.eye_frame((left, top), (left + WIDTH_MM, bottom), Pen::Dashed);
        flow.into_pdf(
            &format!("Box label, {}", self.about.name()),
            &format!("Label for the box of {}", self.about.crank),
        )
    }
}
