//! Linear programmes with few unknowns and many rows, solved by the dual simplex method.
