//! One-way analysis of variance, exact on readings kept as scaled integers.
