//! Sizes that the instrument named with them does not reach.

use gauge::Instrument;
use units::{Unit, show_mm};

use crate::Remark;
use crate::found::{Found, Measured};

/// A micrometer travels a little beyond its range.
const BEYOND: f64 = 0.01;
/// How many sizes are told before the rest is only counted.
const TOLD: usize = 4;

/// One remark for each instrument that sizes beyond its stated range are said to be measured with: another one was meant,
/// or a size is a range out. Which of the two only the person at the bench can say; the answer takes both as written.
pub(crate) fn out_of_reach(found: &Found, instruments: &[Instrument], unit: Unit) -> Vec<Remark> {
    let all: Vec<&Measured> = measured(found);
    let of_instrument = |(with, instrument): (usize, &Instrument)| {
        let (low, high) = instrument.range_mm?;
        let slack = BEYOND * (high - low);
        let beyond = all.iter().filter(|measured| measured.with == with).flat_map(|measured| &measured.sizes);
        let beyond = beyond.filter(|entry| entry.mm < low - slack || entry.mm > high + slack);
        let mut typed: Vec<&str> = beyond.map(|entry| entry.typed.as_str()).collect();
        typed.dedup();
        if typed.is_empty() {
            return None;
        }
        let more = typed.len().saturating_sub(TOLD);
        let told = typed.iter().take(TOLD).copied().collect::<Vec<&str>>().join(", ");
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        let show = |mm: f64| show_mm(mm, unit, if unit == Unit::Inch { 1 } else { 0 });
        let says = format!(
            "{told}{more}: said to be read with {}, which measures {} to {} {unit}: name the instrument that it was, for \
             the zero and the doubt of the one named are in the answer.",
            instrument.name,
            show(low),
            show(high),
        );
        Some(Remark { journal: None, says })
    };
    instruments.iter().enumerate().filter_map(of_instrument).collect()
}

/// Everything of the bearings that was measured with an instrument.
fn measured(found: &Found) -> Vec<&Measured> {
    let bores = found.bores.iter().map(|bore| &bore.size);
    let walls = found.shells.iter().filter_map(|shell| shell.wall.as_ref());
    let sides = found.sides.iter().flat_map(|side| std::iter::once(&side.width).chain(&side.rods));
    let thrust = found.thrust.iter().flat_map(|thrust| {
        let washers = thrust.front.iter().chain(&thrust.rear).map(|washer| &washer.thickness);
        thrust.width.iter().chain(&thrust.housing).chain(washers)
    });
    bores.chain(walls).chain(sides).chain(thrust).collect()
}
