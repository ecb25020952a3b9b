//! Drawings (SVG) and documents (PDF) of a crankshaft and its measuring.
//!
//! This room decides nothing: it draws what it is given. A drawing is built once, as a [`Drawing`] in millimetres on the
//! paper, and shown from there: as SVG on a page or in a file, as marks on a sheet of a document. So a figure on the
//! screen and on paper cannot differ.
//!
//! The same input gives the same bytes: no clock, no file and no random source is read.

mod before_after;
mod bend_drawing;
mod clearance_drawing;
mod crank_drawing;
pub mod documents;
mod drawing;
mod drawn;
mod exaggeration;
mod film_curve;
mod gauge_curve;
mod hatch;
mod journal_drawing;
mod labelling;
mod ladder_drawing;
mod letters;
pub mod micrometer;
mod of_bearings;
mod of_verdict;
mod pen;
mod plot;
mod setting;
mod size_axis;
mod spare_curve;
mod svg;
mod terms;
mod wear_along;

pub use before_after::{BeforeAfter, Change};
pub use bend_drawing::{BendSketch, BentMain};
pub use clearance_drawing::{ClearanceRow, ClearanceSketch};
pub use crank_drawing::{CrankSketch, JournalMark, Standing};
pub use drawing::{Anchor, Drawing, Face, Fill, Label, Mark, Place};
pub use drawn::Drawn;
pub use film_curve::FilmCurve;
pub use gauge_curve::{GaugeCurve, GaugeLines};
pub use journal_drawing::{Across, GrindTo, JournalSketch, Named, Patch, Profile, Section, TracePoint};
pub use ladder_drawing::{LadderSketch, Rung, RungChance};
pub use letters::width_mm;
pub use of_bearings::film_window;
pub use of_verdict::Known;
pub use pen::Pen;
pub use setting::PaperSize;
pub use size_axis::{AxisSpot, AxisStep, SizeAxis};
pub use spare_curve::SpareCurve;
pub use svg::SvgSize;
pub use terms::{TERMS, term};
pub use wear_along::{WearAlong, WornMain};

/// A document that could not be written. No input should lead to it; where one does, it is a fault of this program.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the document \"{title}\" could not be written: {what}")]
pub struct Unwritable {
    title: String,
    what: String,
}
