//! Uncertainty budgets with named parts.
