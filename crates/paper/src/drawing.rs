//! A drawing as marks on paper, before anybody decides whether it becomes SVG or part of a document.

use crate::Pen;

/// A place on the paper in millimetres: to the right, and down.
pub type Place = (f64, f64);

/// How a closed shape is filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fill {
    /// Not at all: what lies under it shows.
    None,
    /// With paper, so that what lies under it is hidden.
    Paper,
    /// With ink.
    Ink,
    /// Hatched at 45 degrees: metal to come off.
    Hatch,
    /// Hatched both ways: damaged.
    CrossHatch,
}

/// Which lettering.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// For words.
    Words,
    /// For figures: every digit is as wide as the others.
    Figures,
}

/// Which part of a label stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// A line of lettering.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// Where it stands, on its baseline.
    pub at: Place,
    /// What it says.
    pub words: String,
    /// Size of the letters (the em), in millimetres; capitals are about 0.67 of it.
    pub size_mm: f64,
    /// The lettering.
    pub face: Face,
    /// Whether it is bold.
    pub bold: bool,
    /// Which part of it stands at the place.
    pub anchor: Anchor,
}

impl Label {
    /// Usual size of the letters on a drawing: 3 mm, capitals 2 mm high.
    pub const USUAL_MM: f64 = 3.0;

    /// Words, beginning at a place.
    pub fn words(at: Place, words: impl Into<String>) -> Label {
        Label {
            at,
            words: words.into(),
            size_mm: Label::USUAL_MM,
            face: Face::Words,
            bold: false,
            anchor: Anchor::Start,
        }
    }

    /// Figures, beginning at a place.
    pub fn figures(at: Place, words: impl Into<String>) -> Label {
        Label { face: Face::Figures, ..Label::words(at, words) }
    }

    /// The same, with its middle at the place.
    pub fn middle(self) -> Label {
        Label { anchor: Anchor::Middle, ..self }
    }

    /// The same, with its end at the place.
    pub fn end(self) -> Label {
        Label { anchor: Anchor::End, ..self }
    }

    /// The same in bold.
    pub fn bold(self) -> Label {
        Label { bold: true, ..self }
    }

    /// The same with letters of another size.
    pub fn sized(self, size_mm: f64) -> Label {
        Label { size_mm, ..self }
    }

    /// How wide it is on the paper, in millimetres.
    pub fn width_mm(&self) -> f64 {
        crate::width_mm(&self.words, self.size_mm, self.face, self.bold)
    }
}

/// One mark on the paper.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// A line through places.
    Line {
        /// The places, in order.
        points: Vec<Place>,
        /// The kind of line.
        pen: Pen,
    },
    /// A closed shape.
    Shape {
        /// Its corners, in order.
        points: Vec<Place>,
        /// The line round it, if any.
        pen: Option<Pen>,
        /// What it is filled with.
        fill: Fill,
    },
    /// A circle.
    Circle {
        /// Its middle.
        centre: Place,
        /// Its radius, in millimetres on the paper.
        radius_mm: f64,
        /// The line round it, if any.
        pen: Option<Pen>,
        /// What it is filled with.
        fill: Fill,
    },
    /// Lettering.
    Label(Label),
    /// Marks that belong together and can be found by a name.
    Group {
        /// The name, in letters, digits and hyphens.
        name: String,
        /// The marks.
        marks: Vec<Mark>,
    },
}

/// A drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Width of the paper it takes, in millimetres.
    pub width_mm: f64,
    /// Height of the paper it takes, in millimetres.
    pub height_mm: f64,
    /// What it is a drawing of, in a few words.
    pub title: String,
    /// What it shows, for whoever does not see it.
    pub says: String,
    /// The marks, those that lie underneath first.
    pub marks: Vec<Mark>,
}

impl Drawing {
    /// An empty drawing.
    pub fn new(width_mm: f64, height_mm: f64, title: impl Into<String>) -> Drawing {
        Drawing { width_mm, height_mm, title: title.into(), says: String::new(), marks: Vec::new() }
    }

    /// Adds a line through places. One place alone makes none.
    pub fn line(&mut self, points: impl Into<Vec<Place>>, pen: Pen) {
        self.marks.push(Mark::Line { points: points.into(), pen });
    }

    /// Adds a closed shape.
    pub fn shape(&mut self, points: impl Into<Vec<Place>>, pen: Option<Pen>, fill: Fill) {
        self.marks.push(Mark::Shape { points: points.into(), pen, fill });
    }

    /// Adds an upright rectangle.
    pub fn rectangle(&mut self, from: Place, to: Place, pen: Option<Pen>, fill: Fill) {
        self.shape([from, (to.0, from.1), to, (from.0, to.1)], pen, fill);
    }

    /// Adds a circle.
    pub fn circle(&mut self, centre: Place, radius_mm: f64, pen: Option<Pen>, fill: Fill) {
        self.marks.push(Mark::Circle { centre, radius_mm, pen, fill });
    }

    /// Adds lettering.
    pub fn label(&mut self, label: Label) {
        self.marks.push(Mark::Label(label));
    }

    /// Adds marks that can be found by a name.
    pub fn group(&mut self, name: impl Into<String>, draw: impl FnOnce(&mut Drawing)) {
        let mut inner = Drawing::new(self.width_mm, self.height_mm, "");
        draw(&mut inner);
        self.marks.push(Mark::Group { name: name.into(), marks: inner.marks });
    }
}

/// A circle as a closed shape of short edges, for whatever needs corners.
pub(crate) fn round(centre: Place, radius_mm: f64) -> Vec<Place> {
    const EDGES: u32 = 96;
    let at = |n: u32| {
        let (sin, cos) = (f64::from(n) / f64::from(EDGES) * std::f64::consts::TAU).sin_cos();
        (centre.0 + radius_mm * cos, centre.1 + radius_mm * sin)
    };
    (0..EDGES).map(at).collect()
}
