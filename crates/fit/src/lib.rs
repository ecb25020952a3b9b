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
//! One main of a crank that stays as it is: its housing 2.2707 with the cap tightened, two walls of 0.0718 and a journal of
//! 2.1247, by a micrometer that errs by no more than a tenth. Bore less two walls less journal: 2.2707 - 0.1436 - 2.1247.
//!
//! ```
//! use crank::{Band, Findings, JournalId, JournalSet, Reading, SetName, Specification, Treatment};
//! use fit::{Book, Bore, Engine, Found, Half, Measured, SetBook, Shell, Shells, Wanted, fit};
//! use gauge::Instrument;
//! use units::{Unit, read};
//!
//! const IN: f64 = 25.4;
//! let set = |middle_in: f64, angles_deg: Vec<f64>| JournalSet {
//!     positions_mm: vec![0.0],
//!     angles_deg,
//!     length_mm: 1.1 * IN,
//!     size: Band { low_mm: (middle_in - 0.0003) * IN, high_mm: (middle_in + 0.0003) * IN },
//!     undersizes_mm: vec![0.010 * IN, 0.020 * IN],
//!     out_of_round_mm: None,
//!     taper: None,
//!     run_out: None,
//!     smallest_mm: None,
//!     wear_limit_mm: None,
//!     wear_out_of_round_mm: None,
//!     wear_taper: None,
//!     aims: Vec::new(),
//!     any_size: false,
//! };
//! let untreated =
//!     Treatment { kind: "none".into(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false };
//! let specification = Specification {
//!     name: "Wren".into(),
//!     unit: Unit::Inch,
//!     throw_mm: 1.5 * IN,
//!     throw_tolerance_mm: None,
//!     index_tolerance_deg: None,
//!     main: set(2.1247, Vec::new()),
//!     pin: set(1.8747, vec![0.0]),
//!     treatment: untreated,
//! };
//! let main_1 = JournalId { set: SetName::Main, number: 1 };
//! let size = |inches: &str| Measured { sizes: vec![read(inches, Unit::Inch).unwrap()], with: 1 };
//! let readings = [0.0, 90.0]
//!     .map(|plane_deg| Reading { journal: main_1, at_mm: 0.0, plane_deg, sizes: size("2.1247").sizes, with: 1 });
//! let mic = Instrument { name: "mic 2-3".into(), ..Instrument::shop_default(Unit::Inch) };
//! let instruments = vec![Instrument::shop_default(Unit::Inch), mic];
//! let findings = Findings { instruments, readings: readings.to_vec(), ..Findings::default() };
//! let half = |name: &str, half: Half| Shell {
//!     name: name.into(),
//!     set: SetName::Main,
//!     journal: Some(main_1),
//!     half,
//!     undersize: None,
//!     wall: Some(size("0.0718")),
//! };
//! let found = Found {
//!     // Square to the split, shells out.
//!     bores: vec![Bore { journal: main_1, at_mm: 0.0, plane_deg: 90.0, size: size("2.2707"), shells: Shells::Out }],
//!     shells: vec![half("A", Half::Upper), half("B", Half::Lower)],
//!     ..Found::default()
//! };
//! let clearance = Some(Band { low_mm: 0.0017 * IN, high_mm: 0.0031 * IN });
//! let book = Book { main: SetBook { clearance, ..SetBook::default() }, ..Book::default() };
//! let engine = Engine {
//!     specification: &specification,
//!     findings: &findings,
//!     found: &found,
//!     book: &book,
//!     wanted: Wanted::default(),
//!     unit: Unit::Inch,
//! };
//! // No verdict on the crank: as it was found.
//! let answer = fit(&engine, None, &regrind::Policy::usual(Unit::Inch));
//! let clearance = answer.bearings[0].as_found.as_ref().unwrap();
//! assert!((clearance.across.mean_mm / IN - 0.0024).abs() < 1e-9);
//! // The scale of the one micrometer takes itself away between bore and journal, but not on two walls.
//! assert!(clearance.within.unwrap().share() > 0.99);
//! assert!(answer.stops.is_empty());
//! ```
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
mod rollers;
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
pub use rollers::{Roller, Rollers, bore_mm, rollers};
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
