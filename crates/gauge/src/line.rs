//! A straight line through readings, with what it does not know.
