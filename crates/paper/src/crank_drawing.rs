//! The crank drawn from its specification: from the side, nose on the left, and from the nose, first throw up.
//!
//! Positions, lengths and diameters are to scale. Undersize and wear would not be seen at that scale: each is drawn larger
//! by a factor that stands on the drawing. What a specification does not give (webs, nose, flange) is drawn plain.

mod end_view;
mod journal_marks;
mod laid_out;
mod side_view;

use crank::{JournalId, SetName, Specification};
use units::Unit;

use crate::labelling::{LEADING, fitted, wrapped};
use crate::{Drawing, Drawn, Label};
use laid_out::Crank;

/// What is known of a journal, as far as a drawing shows it. Each is told from the others by its lines and its words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// The drawing is about the kind of crank, not about one that is being measured.
    Plain,
    /// Not measured yet.
    NotMeasured,
    /// Some of its spots are measured.
    Part {
        /// How many are.
        taken: usize,
        /// Of how many.
        of: usize,
    },
    /// Measured, and within its limits.
    Inside,
    /// Measured, and not within its limits beyond doubt.
    Worn,
    /// A reading is doubtful.
    LookAgain,
    /// Damage was seen.
    Damaged,
    /// Left out on purpose.
    LeftOut,
}

/// How one journal is to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct JournalMark {
    /// Which journal.
    pub journal: JournalId,
    /// What it is called.
    pub name: String,
    /// What is known of it.
    pub standing: Standing,
    /// The same in words (`0.0006 under`, `damage: scored`); may be empty.
    pub words: String,
    /// Whether it decides its set.
    pub decides: bool,
    /// Whether it is the one in hand.
    pub current: bool,
    /// The stamp that is about it alone, in words (`stamped 0.010`); empty where it has none.
    pub stamped: String,
    /// What it was last ground to, on the diameter; zero for standard.
    pub undersize_mm: f64,
    /// What it has lost since, on the diameter; zero where nothing is known.
    pub wear_mm: f64,
}

impl JournalMark {
    /// A journal of which nothing is said.
    pub fn plain(journal: JournalId) -> JournalMark {
        let set = match journal.set {
            SetName::Main => "Main",
            SetName::Pin => "Pin",
        };
        JournalMark {
            journal,
            name: format!("{set} {}", journal.number),
            standing: Standing::Plain,
            words: String::new(),
            decides: false,
            current: false,
            stamped: String::new(),
            undersize_mm: 0.0,
            wear_mm: 0.0,
        }
    }

    /// The same with a standing, in the usual words where the standing itself has them.
    pub fn standing(self, standing: Standing) -> JournalMark {
        let words = match standing {
            Standing::Plain | Standing::Worn => String::new(),
            Standing::NotMeasured => "to do".to_owned(),
            Standing::Part { taken, of } => format!("{taken} of {of}"),
            Standing::Inside => "in limits".to_owned(),
            Standing::LookAgain => "◇\u{a0}look again".to_owned(),
            Standing::Damaged => "damage".to_owned(),
            Standing::LeftOut => "left out".to_owned(),
        };
        JournalMark { standing, words, ..self }
    }

    /// What stands under its name, line by line.
    fn lines(&self) -> Vec<String> {
        let mut lines: Vec<String> = Some(self.words.clone()).filter(|words| !words.is_empty()).into_iter().collect();
        lines.extend(Some(self.stamped.clone()).filter(|stamped| !stamped.is_empty()));
        lines.extend(self.decides.then(|| "◆\u{a0}decides it".to_owned()));
        lines.extend(self.current.then(|| "now".to_owned()));
        lines
    }
}

/// A crank to be drawn.
#[derive(Clone, Debug)]
pub struct CrankSketch<'a> {
    /// The kind of crank.
    pub specification: &'a Specification,
    /// The unit of figures in words.
    pub unit: Unit,
    /// How wide the drawing is to be; what is narrower than 120 mm or no number is drawn 120 mm wide.
    pub width_mm: f64,
    /// What is known of its journals, in any order; a journal that is not named here is drawn plain.
    pub journals: Vec<JournalMark>,
    /// The stamps that are about a whole set, a sentence each (`Mains stamped 0.010 in under.`).
    pub stamps: Vec<String>,
}

impl CrankSketch<'_> {
    /// Wide enough for every layout, and as wide as a page of A4 has room for.
    pub const USUAL_MM: f64 = 186.0;

    /// The least width.
    const LEAST_MM: f64 = 120.0;

    /// Draws it.
    ///
    /// # Limits
    /// Journals that have no position are left out, and sizes that are no lengths are replaced, each with a sentence in
    /// [`Drawn::troubles`] that stands on the drawing as well. At most 40 journals of a set are drawn.
    pub fn draw(&self) -> Drawn {
        let width = if self.width_mm >= Self::LEAST_MM { self.width_mm.min(1000.0) } else { Self::LEAST_MM };
        let mut crank = Crank::laid_out(self);
        let name =
            if self.specification.name.trim().is_empty() { "Crankshaft" } else { self.specification.name.trim() };
        let mut drawing = Drawing::new(width, 0.0, format!("Crankshaft: {name}"));
        let mut below_mm = title(&mut drawing, name);
        if crank.bars.is_empty() {
            crank.troubles.push("No journal has a position, so there is nothing to draw.".to_owned());
        } else {
            below_mm = side_view::draw(&mut drawing, &crank, below_mm);
        }
        let notes = notes(&crank, self.unit, &self.stamps);
        let notes_mm = width * 0.34;
        let from = width - notes_mm;
        let ends = end_view::draw(&mut drawing, &crank, below_mm, from - 4.0);
        let ended = paragraph(&mut drawing, &notes, (from, below_mm), notes_mm);
        drawing.height_mm = ends.max(ended) + 1.0;
        drawing.says = says(name, &crank, &self.stamps);
        Drawn { drawing, troubles: crank.troubles }
    }
}

/// The name of the engine on top; returns where it ends.
fn title(drawing: &mut Drawing, name: &str) -> f64 {
    let (lines, size) = fitted(name, 4.5, Label::USUAL_MM, drawing.width_mm, 2);
    for (n, line) in lines.iter().enumerate() {
        let y = size * (1.0 + LEADING * n as f64);
        drawing.label(Label::words((0.0, y), line.as_str()).sized(size).bold());
    }
    size * LEADING * lines.len() as f64 + 3.0
}

/// Sentences one under the other; returns where they end.
fn paragraph(drawing: &mut Drawing, sentences: &[String], at: (f64, f64), room_mm: f64) -> f64 {
    let size = Label::USUAL_MM;
    let mut y = at.1;
    for sentence in sentences {
        for line in wrapped(sentence, size, false, room_mm) {
            y += size * LEADING;
            drawing.label(Label::words((at.0, y), line));
        }
        y += size * 0.4;
    }
    y
}

/// What the reader of the drawing must know.
fn notes(crank: &Crank, unit: Unit, stamps: &[String]) -> Vec<String> {
    use crate::exaggeration::exaggerated_words;
    /// More would push the drawing off the page; all of them are handed back.
    const MOST_TROUBLES: usize = 5;
    let mut notes = vec!["Positions, lengths and diameters to scale; webs, nose and flange plain.".to_owned()];
    notes.extend(stamps.iter().cloned());
    if crank.bars.iter().any(|bar| bar.undersize_mm > 0.0) {
        let how = exaggerated_words(crank.undersize_factor);
        notes.push(format!("Undersize, inside the long-dashed standard size, {how}."));
    }
    if crank.bars.iter().any(|bar| bar.wear_mm > 0.0) {
        notes.push(format!("Wear {}.", exaggerated_words(crank.wear_factor)));
    }
    if crank.bars.iter().any(|bar| bar.mark.words.contains("under")) {
        let unit = match unit {
            Unit::Inch => "inches",
            Unit::Millimetre => "millimetres",
        };
        notes.push(format!("Figures in {unit}, on the diameter."));
    }
    notes.extend(crank.troubles.iter().take(MOST_TROUBLES).cloned());
    if crank.troubles.len() > MOST_TROUBLES {
        notes.push(format!("And {} more that could not be drawn as given.", crank.troubles.len() - MOST_TROUBLES));
    }
    notes
}

/// The drawing in words.
fn says(name: &str, crank: &Crank, stamps: &[String]) -> String {
    let count = |set: SetName| crank.bars.iter().filter(|bar| bar.mark.journal.set == set).count();
    let plural = |n: usize, one: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") };
    let throws = end_view::directions(crank);
    let throws: Vec<String> = throws
        .iter()
        .map(|throw| format!("{} at {} degrees", throw.names, end_view::degrees(throw.angle_deg)))
        .collect();
    let throws = if throws.is_empty() { String::new() } else { format!(" Throws: {}.", throws.join("; ")) };
    let journals: Vec<String> = crank
        .bars
        .iter()
        .filter(|bar| bar.mark.standing != Standing::Plain || !bar.mark.lines().is_empty())
        .map(|bar| std::iter::once(bar.mark.name.clone()).chain(bar.mark.lines()).collect::<Vec<_>>().join(", "))
        .collect();
    let journals =
        if journals.is_empty() { String::new() } else { format!(" From the nose: {}.", journals.join("; ")) };
    format!(
        "{name}: {} and {}, nose on the left, flywheel on the right.{throws}{journals}{}",
        plural(count(SetName::Main), "main"),
        plural(count(SetName::Pin), "pin"),
        stamps.iter().map(|stamp| format!(" {stamp}")).collect::<String>()
    )
}
