//! The scale of an outside micrometer, both ways.
