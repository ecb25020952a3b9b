//! One journal drawn: across at a station, and along.
//!
//! Departures of a few microns would not be seen: across and along they are drawn larger, each by a factor that stands on
//! the drawing. Directions count from the top, clockwise as seen from the nose.

mod across;
mod along;

use units::{Unit, show_mm};

use crate::exaggeration::exaggerated_words;
use crate::labelling::{LEADING, fitted, wrapped};
use crate::{Drawing, Drawn, Label};

/// What was measured at a station.
#[derive(Clone, Debug, PartialEq)]
pub enum Section {
    /// Two-point sizes, one for each plane.
    Sizes(Vec<Across>),
    /// A trace: radii by direction.
    Trace(Vec<TracePoint>),
}

/// A two-point size.
#[derive(Clone, Debug, PartialEq)]
pub struct Across {
    /// What the plane is called: `A`.
    pub name: String,
    /// Its direction.
    pub plane_deg: f64,
    /// The size, on the diameter.
    pub size_mm: f64,
}

/// A point of a trace.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TracePoint {
    /// Its direction.
    pub angle_deg: f64,
    /// Its distance from the present centre.
    pub radius_mm: f64,
}

/// What the wheel is to leave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GrindTo {
    /// The size, on the diameter.
    pub size_mm: f64,
    /// How far the centre that the wheel goes round lies from the present one, in the direction that counts as zero.
    pub toward_zero_mm: f64,
    /// The same in the direction that counts as 90 degrees.
    pub toward_ninety_mm: f64,
}

/// A place named on the section.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// Its direction.
    pub angle_deg: f64,
    /// What it says beside the mark.
    pub words: String,
}

/// Bad metal at the station.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// What it is: `scoring`.
    pub kind: String,
    /// From which to which direction, the way angles grow; all round when absent.
    pub arc_deg: Option<(f64, f64)>,
    /// How deep below the surface, where that is known.
    pub depth_mm: Option<f64>,
}

/// The sizes of one plane along the journal.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// What the plane is called, with its form in words: `A: taper 0.0004`.
    pub words: String,
    /// Place from mid-length, towards the flywheel positive, and size on the diameter.
    pub stations: Vec<(f64, f64)>,
}

/// A journal to be drawn. Everything that is not known may be left empty.
#[derive(Clone, Debug, PartialEq)]
pub struct JournalSketch {
    /// What it is called.
    pub name: String,
    /// What the station of the section is called: `front`.
    pub station: String,
    /// Which direction counts as zero: `toward its own throw`.
    pub zero: String,
    /// The unit of figures.
    pub unit: Unit,
    /// How wide the drawing is to be; what is narrower than 150 mm or no number is drawn 150 mm wide.
    pub width_mm: f64,
    /// Length of the journal.
    pub length_mm: f64,
    /// What was measured at the station.
    pub section: Section,
    /// The size that the journal was ground to before, on the diameter.
    pub ground_before_mm: Option<f64>,
    /// What the wheel is to leave.
    pub grind_to: Option<GrindTo>,
    /// The point that decides.
    pub decides: Option<Named>,
    /// Bad metal at the station.
    pub patches: Vec<Patch>,
    /// The planes along the journal.
    pub along: Vec<Profile>,
}

/// No journal is thicker.
const REACH_MM: f64 = 1e5;

pub(crate) fn is_size(mm: f64) -> bool {
    mm > 0.0 && mm < REACH_MM
}

impl JournalSketch {
    /// As wide as a page of A4 has room for.
    pub const USUAL_MM: f64 = 186.0;

    const LEAST_MM: f64 = 150.0;

    /// Draws it.
    ///
    /// # Limits
    /// Of a trace the smallest radius in each degree is drawn. Two-point sizes say nothing of what lies between their
    /// planes, nor on which side metal is gone: the surface is dashed there, and both ends of a plane are drawn half a size
    /// from the present centre.
    pub fn draw(&self) -> Drawn {
        let width = if self.width_mm >= Self::LEAST_MM { self.width_mm.min(1000.0) } else { Self::LEAST_MM };
        let mut drawing = Drawing::new(width, 0.0, format!("{}, {}", self.name, self.station));
        let mut troubles = Vec::new();
        let heading = format!("{}, across at the {}", self.name, self.station);
        let (half, gap) = (0.54 * width, 6.0);
        let (lines, size) = fitted(&heading, 4.0, Label::USUAL_MM, half - gap, 3);
        let mut top = 0.0;
        for line in &lines {
            top += size * LEADING;
            drawing.label(Label::words((0.0, top - 0.2 * size), line.as_str()).sized(size).bold());
        }
        let across = across::draw(&mut drawing, self, top + 3.0, half - gap, &mut troubles);
        let along = along::draw(&mut drawing, self, half, &mut troubles);
        let mut notes = vec![format!("0° is {}. Seen from the nose; angles grow clockwise.", self.zero)];
        notes.extend(across.notes);
        if let Some(factor) = along.factor {
            notes.push(format!("Along: differences of radius {}.", exaggerated_words(factor)));
        }
        notes.push(format!("Sizes in {}, on the diameter.", self.unit.plural()));
        notes.extend(troubles.iter().cloned());
        let mut y = across.ends_mm.max(along.ends_mm) + 2.0;
        let mut put = |note: &str, drawing: &mut Drawing| {
            for line in wrapped(note, Label::USUAL_MM, false, width) {
                y += Label::USUAL_MM * LEADING;
                drawing.label(Label::words((0.0, y), line));
            }
        };
        notes.iter().for_each(|note| put(note, &mut drawing));
        drawing.height_mm = y + 1.5;
        drawing.says = [vec![format!("{heading}.")], across.says, along.says].concat().join(" ");
        Drawn { drawing, troubles }
    }

    /// A length in words, without its unit.
    fn figure(&self, mm: f64) -> String {
        let decimals = self.unit.usual_decimals();
        show_mm(mm, self.unit, decimals)
    }
}
