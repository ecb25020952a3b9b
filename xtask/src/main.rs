//! The chores of development.
fn main() {}
