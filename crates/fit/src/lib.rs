//! Bearings that fit: housing bores, shells and journals to clearances, sizes, matched shells and parts to order.
//!
//! Start with [`Engine`]: the specification, what was found on the crank, what was measured of the bearings ([`Found`]),
//! what the book says of them ([`Book`]) and what the shop wants ([`Wanted`]). [`aims`] says to which size the bearings
//! ask the journals to be finished, before anything is judged; [`fit`] answers everything else: the clearance of each
//! bearing as found and as planned with its doubt and its chance, which shell goes where ([`matched`]), what to order, and
//! what must be settled first.
//!
//! Clearances are on the diameter, in millimetres at 20 °C; walls are single walls at the crown. They are looked at
//! square to the split, where the load is carried and where books give them.
//!
//! What this crate does not do: no storage, no screens; the film itself: [`oil_case`] puts the question to the room that solves it.

mod aim;
mod answer;
mod bench;
mod book;
mod expansion;
mod found;
mod halves;
mod judge;
mod matching;
mod model;
mod oil;
mod order;
mod quote;
mod reach;
mod shells;
mod thrust;

use crank::{Findings, Specification};
use units::Unit;

pub use aim::aims;
pub use answer::{
    Bearing, Clearance, EndFloat, Fit, HousingForm, OrderLine, Remark, SetFit, SideClearance, Span, Stop, StopKind,
    WallFrom, WantedFrom, Washers,
};
pub use book::{Book, SetBook};
pub use expansion::{Material, at_20_c_mm, gained_mm};
pub use found::{Bore, Crush, Found, Half, Measured, Shell, Shells, Side, Thrust, Wanted, Washer};
pub use judge::fit;
pub use matching::{Candidate, NoMatch, Pair, Room, Task, matched};
pub use oil::{OilCase, oil_case};
pub use quote::{Asked, Costs, Item, Quote, QuoteLine, Way, Ways, quote, ways};
pub use shells::Placed;

/// Running clearance that the trade expects for each unit of journal diameter: 0.001 in per inch.
///
/// Common practice, no source; the book's limits go before it. Published ranges run from half of it to one and a half
/// times it.
pub const CLEARANCE_PER_DIAMETER: f64 = 0.001;

/// One engine as it lies on the bench.
#[derive(Clone, Copy, Debug)]
pub struct Engine<'a> {
    /// What the maker's book says of the crank.
    pub specification: &'a Specification,
    /// What was measured and seen on the crank, with the instruments.
    pub findings: &'a Findings,
    /// What was measured of the bearings.
    pub found: &'a Found,
    /// What the book says of the bearings.
    pub book: &'a Book,
    /// What the shop wants of them.
    pub wanted: Wanted,
    /// The unit of every sentence.
    pub unit: Unit,
}
