//! Where a crank can be ground: the axis, the chance that each undersize cleans up, the choice and the plan.

mod policy;

pub use policy::{Axis, IndexDatum, Policy, PolishWhen, Prices, SetPrices};
