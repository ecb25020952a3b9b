//! What comes of drawing something: the drawing, and what of it could not be drawn.

use crate::Drawing;

/// A drawing, drawn as far as it goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// The drawing.
    pub drawing: Drawing,
    /// What could not be drawn as given, one sentence for each; empty where nothing was missing.
    pub troubles: Vec<String>,
}
