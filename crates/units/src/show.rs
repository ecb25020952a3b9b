//! Printing lengths.
