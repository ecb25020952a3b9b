//! End float and thrust washers, and the side clearance of the rods.

use crank::Band;
use gauge::conformity::Limits;

use crate::Material;
use crate::answer::{EndFloat, Remark, SideClearance, Stop, StopKind, Washers};
use crate::bench::{Bench, mean};
use crate::found::{Measured, Thrust};

/// Sizes closer than this are one.
const SAME_MM: f64 = 0.0005;

/// The end float as reckoned from the parts and as the dial showed it, and the washers that would set it right.
///
/// End float is the width between the crank's thrust faces less the housing over its own faces less both washers.
pub(crate) fn end_float(bench: &mut Bench<'_>) -> Option<EndFloat> {
    let thrust = bench.found.thrust.as_ref()?;
    let instruments = &bench.findings.instruments;
    let at = |measured: &Measured| measured.at_20_c_mm(instruments, Material::Steel);
    let room = thrust.width.as_ref().zip(thrust.housing.as_ref()).map(|(width, housing)| at(width) - at(housing));
    let washers = thrust.front.as_ref().zip(thrust.rear.as_ref());
    let reckoned_mm = room.zip(washers).map(|(room, (front, rear))| room - at(&front.thickness) - at(&rear.thickness));
    let doubt = |measured: Option<&Measured>| {
        measured.map_or(0.0, |measured| measured.standard_uncertainty_mm(instruments).powi(2))
    };
    let thickness = |washer: &Option<crate::Washer>| washer.as_ref().map(|washer| washer.thickness.clone());
    let uncertainty_mm = reckoned_mm.map(|_| {
        (doubt(thrust.width.as_ref())
            + doubt(thrust.housing.as_ref())
            + doubt(thickness(&thrust.front).as_ref())
            + doubt(thickness(&thrust.rear).as_ref()))
        .sqrt()
    });
    let limits = bench.book.float;
    let within = reckoned_mm.zip(uncertainty_mm).zip(limits).map(|((mm, doubt_mm), band)| chance(mm, doubt_mm, band));
    let washers = room.zip(limits).and_then(|(room, band)| choose(bench, thrust, room, band));
    let float = EndFloat {
        journal: thrust.journal,
        reckoned_mm,
        measured_mm: thrust.float_mm,
        uncertainty_mm,
        limits,
        within,
        washers,
    };
    say(bench, &float);
    Some(float)
}

/// The standard washer: as the book says, else as measured less its oversize.
fn standard_mm(bench: &Bench<'_>, thrust: &Thrust) -> Option<f64> {
    let instruments = &bench.findings.instruments;
    let measured: Vec<f64> = [&thrust.front, &thrust.rear]
        .into_iter()
        .flatten()
        .map(|washer| washer.thickness.at_20_c_mm(instruments, Material::Steel) - washer.oversize_mm)
        .collect();
    bench.book.washer.map(Band::middle_mm).or_else(|| mean(&measured))
}

/// The pair of washers whose end float is nearest the middle of the limits; of equals the thinner, and of those the one
/// with less to the front.
fn choose(bench: &Bench<'_>, thrust: &Thrust, room_mm: f64, limits: Band) -> Option<Washers> {
    let standard_mm = standard_mm(bench, thrust)?;
    let ladder: Vec<f64> = std::iter::once(0.0).chain(bench.book.washer_oversizes_mm.iter().copied()).collect();
    let mut best: Option<(f64, Washers)> = None;
    for &front_mm in &ladder {
        for &rear_mm in &ladder {
            let float_mm = room_mm - 2.0 * standard_mm - front_mm - rear_mm;
            let off_mm = (float_mm - limits.middle_mm()).abs();
            let thicker = |so_far: &Washers| front_mm + rear_mm >= so_far.front_mm + so_far.rear_mm - 1e-9;
            let better = best
                .as_ref()
                .is_none_or(|(least, so_far)| off_mm < least - 1e-9 || (off_mm < least + 1e-9 && !thicker(so_far)));
            if better {
                let within = crate::judge::keeps(limits, float_mm);
                let on = |washer: &Option<crate::Washer>, mm: f64| {
                    washer.as_ref().is_some_and(|washer| (washer.oversize_mm - mm).abs() < SAME_MM)
                };
                let (front_there, rear_there) = (on(&thrust.front, front_mm), on(&thrust.rear, rear_mm));
                best = Some((off_mm, Washers { front_mm, rear_mm, float_mm, within, front_there, rear_there }));
            }
        }
    }
    best.map(|(_, washers)| washers)
}

fn say(bench: &mut Bench<'_>, float: &EndFloat) {
    let (set, journal) = (Some(float.journal.set), Some(float.journal));
    if let (Some(washers), Some(limits)) = (float.washers, float.limits) {
        if !washers.within {
            let says = format!(
                "No washers of this engine bring the end float within {}: the nearest, {} to the front and {} to the \
                 rear, leave {}. Look at the crank's thrust faces and at the width of the housing.",
                bench.range(limits),
                bench.size(washers.front_mm),
                bench.size(washers.rear_mm),
                bench.size(washers.float_mm),
            );
            bench.stops.push(Stop { kind: StopKind::EndFloat, set, journal, says });
        } else if (washers.front_mm - washers.rear_mm).abs() > SAME_MM {
            bench.remarks.push(Remark {
                journal,
                says: "Front and rear take different washers. Stamp the crank so that the next to build it knows."
                    .to_owned(),
            });
        }
        if !bench.book.oversizes_listed && (washers.front_mm > 0.0 || washers.rear_mm > 0.0) {
            bench.remarks.push(Remark {
                journal,
                says: format!(
                    "The specification lists no oversizes of thrust washers; {} are taken as usual. Ask the supplier.",
                    bench.book.washer_oversizes_mm.iter().map(|mm| bench.size(*mm)).collect::<Vec<_>>().join(" and ")
                ),
            });
        }
    }
    if let (Some(reckoned), Some(measured), Some(doubt)) = (float.reckoned_mm, float.measured_mm, float.uncertainty_mm)
        && (reckoned - measured).abs() > 2.0 * doubt + 0.0254
    {
        // Beyond twice the doubt and a thou for the dial and the push.
        let says = format!(
            "End float reckoned from the parts is {}, by the dial {}. One of them is wrong: measure both again.",
            bench.size(reckoned),
            bench.size(measured)
        );
        bench.remarks.push(Remark { journal, says });
    }
}

/// Side clearances of the rods, pin by pin: the pin's width less every rod on it.
pub(crate) fn sides(bench: &Bench<'_>) -> Vec<SideClearance> {
    let instruments = &bench.findings.instruments;
    let at = |measured: &Measured| measured.at_20_c_mm(instruments, Material::Steel);
    let limits = bench.book.pin.side;
    let one = |side: &crate::Side| {
        let mm = at(&side.width) - side.rods.iter().map(at).sum::<f64>();
        let all = std::iter::once(&side.width).chain(&side.rods);
        let uncertainty_mm = all.map(|m| m.standard_uncertainty_mm(instruments).powi(2)).sum::<f64>().sqrt();
        let within = limits.map(|band| chance(mm, uncertainty_mm, band));
        SideClearance { journal: side.journal, mm, uncertainty_mm, limits, within }
    };
    bench.found.sides.iter().map(one).collect()
}

fn chance(mm: f64, doubt_mm: f64, band: Band) -> f64 {
    Limits { low: Some(band.low_mm), high: Some(band.high_mm) }.chance(mm, doubt_mm)
}
