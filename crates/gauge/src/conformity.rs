//! Whether a size keeps its limits, and how surely.
