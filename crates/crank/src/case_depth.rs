//! The hardened case of a set of journals.

/// How deep a case is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CaseDepth {
    /// Between the limits of the book, nobody knows where.
    Book {
        /// Shallowest.
        low_mm: f64,
        /// Deepest.
        high_mm: f64,
    },
    /// As it was measured on this crank, from the original surface down.
    Measured {
        /// The depth.
        mm: f64,
        /// Its standard uncertainty.
        sd_mm: f64,
    },
}

/// The case of a set, and what must be left of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CaseFound {
    /// How deep it was when new.
    pub depth: CaseDepth,
    /// The least that must be left after grinding; it must not be ground through where nobody says.
    pub least_mm: Option<f64>,
}
