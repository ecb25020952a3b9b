//! End float and thrust washers, and the side clearance of the rods.

use crank::Band;
use gauge::Instrument;
use regrind::{Chance, Policy};

use crate::Material;
use crate::answer::{EndFloat, Remark, SideClearance, Stop, StopKind, Washers};
use crate::bench::{Bench, mean};
use crate::found::{Measured, Thrust, Washer};
use crate::judge::keeps;
use crate::model::{Model, Term, Used, less};

/// Sizes closer than this are one.
const SAME_MM: f64 = 0.0005;

/// A steel part as it was measured.
fn part(model: &mut Model, instruments: &[Instrument], what: &str, measured: &Measured, used: Used) -> Term {
    let own = (measured.at_20_c_mm(instruments, Material::Steel), measured.own_sd_mm(instruments));
    model.measured(instruments, what, own, measured.with, used)
}

/// The share of draws in which a sum keeps its limits; what the readings of one instrument share is drawn once.
fn chance(model: &Model, sum: &Term, band: Band, rule: &Policy) -> Chance {
    let mut hits = 0;
    model.draw(rule.draws, rule.seed, |drawn| hits += usize::from(keeps(band, drawn.value(sum))));
    Chance { hits, draws: rule.draws }
}

/// The end float as reckoned from the parts and as the dial showed it, and the washers that would set it right.
///
/// End float is the width between the crank's thrust faces less the housing over its own faces less both washers.
pub(crate) fn end_float(bench: &mut Bench<'_>, rule: &Policy) -> Option<EndFloat> {
    let thrust = bench.found.thrust.as_ref()?;
    let instruments = &bench.findings.instruments;
    let mut model = Model::default();
    let room = thrust.width.as_ref().zip(thrust.housing.as_ref()).map(|(width, housing)| {
        let width = part(&mut model, instruments, "width", width, Used::Width);
        less(&width, &part(&mut model, instruments, "housing", housing, Used::Faces))
    });
    let washers = thrust.front.as_ref().zip(thrust.rear.as_ref());
    let reckoned = room.as_ref().zip(washers).map(|(room, (front, rear))| {
        let with_front = less(room, &part(&mut model, instruments, "front washer", &front.thickness, Used::Washer));
        less(&with_front, &part(&mut model, instruments, "rear washer", &rear.thickness, Used::Washer))
    });
    let limits = bench.book.float;
    let room_mm = room.map(|room| model.value(&room));
    let float = EndFloat {
        journal: thrust.journal,
        reckoned_mm: reckoned.as_ref().map(|sum| model.value(sum)),
        measured_mm: thrust.float_mm,
        uncertainty_mm: reckoned.as_ref().map(|sum| model.budget("the end float".to_owned(), sum).combined()),
        limits,
        within: reckoned.as_ref().zip(limits).map(|(sum, band)| chance(&model, sum, band, rule)),
        washers: room_mm.zip(limits).and_then(|(room_mm, band)| choose(bench, thrust, room_mm, band)),
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

/// A washer that one face could have.
#[derive(Clone, Copy, Debug)]
struct Choice {
    oversize_mm: f64,
    thickness_mm: f64,
    /// Whether it is the one that is fitted there.
    stays: bool,
}

/// The washers that one face could have: the fitted one with the thickness that was measured, then new ones.
fn choices(bench: &Bench<'_>, fitted: Option<&Washer>, standard_mm: f64) -> Vec<Choice> {
    let fitted = fitted.map(|washer| Choice {
        oversize_mm: washer.oversize_mm,
        thickness_mm: washer.thickness.at_20_c_mm(&bench.findings.instruments, Material::Steel),
        stays: true,
    });
    let ladder = std::iter::once(0.0).chain(bench.book.washer_oversizes_mm.iter().copied());
    let new = ladder.map(|mm| Choice { oversize_mm: mm, thickness_mm: standard_mm + mm, stays: false });
    fitted.into_iter().chain(new).collect()
}

/// How good a pair is, the less the better: outside the limits, new washers, then nanometres.
type Worth = (bool, u32, i64, i64, i64);

/// The pair of washers to fit. Where some pair keeps the limits: the one with the fewest new washers, for a fitted one that
/// does its work is not taken out. Of those, and where none does, the one whose end float is nearest the middle of the
/// limits; of equals the thinner, and of those the one with less to the front.
fn choose(bench: &Bench<'_>, thrust: &Thrust, room_mm: f64, limits: Band) -> Option<Washers> {
    let standard_mm = standard_mm(bench, thrust)?;
    // To whole nanometres, so that equals are equal.
    let nm = |mm: f64| (mm * 1e6).round() as i64;
    let mut best: Option<(Worth, Washers)> = None;
    for front in choices(bench, thrust.front.as_ref(), standard_mm) {
        for rear in choices(bench, thrust.rear.as_ref(), standard_mm) {
            let float_mm = room_mm - front.thickness_mm - rear.thickness_mm;
            let washers = Washers {
                front_mm: front.oversize_mm,
                rear_mm: rear.oversize_mm,
                float_mm,
                within: keeps(limits, float_mm),
                front_there: front.stays,
                rear_there: rear.stays,
            };
            let worth = (
                !washers.within,
                if washers.within { washers.to_order() } else { 0 },
                nm((float_mm - limits.middle_mm()).abs()),
                nm(front.thickness_mm + rear.thickness_mm),
                nm(front.thickness_mm),
            );
            if best.as_ref().is_none_or(|(least, _)| worth < *least) {
                best = Some((worth, washers));
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
        let new_oversize = washers.faces().into_iter().any(|(_, mm, stays)| mm > 0.0 && !stays);
        if !bench.book.oversizes_listed && new_oversize {
            bench.remarks.push(Remark {
                journal,
                says: format!(
                    "The specification lists no oversizes of thrust washers; {} are taken as usual. Ask the supplier.",
                    bench.book.washer_oversizes_mm.iter().map(|mm| bench.size(*mm)).collect::<Vec<_>>().join(" and ")
                ),
            });
        }
    }
    if let (Some(reckoned_mm), None) = (float.reckoned_mm.filter(|mm| *mm <= 0.0), float.washers) {
        let says = format!(
            "The crank would be locked endways: housing and washers together are {} wider than the crank between its \
             thrust faces. Measure all of them again before anything is turned; if it stands, these are the wrong washers.",
            bench.size(-reckoned_mm)
        );
        bench.stops.push(Stop { kind: StopKind::EndFloat, set, journal, says });
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
pub(crate) fn sides(bench: &mut Bench<'_>, rule: &Policy) -> Vec<SideClearance> {
    let instruments = &bench.findings.instruments;
    let limits = bench.book.pin.side;
    let one = |side: &crate::Side| {
        let mut model = Model::default();
        let mut sum = part(&mut model, instruments, "width", &side.width, Used::Width);
        for rod in &side.rods {
            sum = less(&sum, &part(&mut model, instruments, "rod", rod, Used::Rod));
        }
        SideClearance {
            journal: side.journal,
            mm: model.value(&sum),
            uncertainty_mm: model.budget(format!("the side clearance of {}", side.journal), &sum).combined(),
            limits,
            within: limits.map(|band| chance(&model, &sum, band, rule)),
        }
    };
    let sides: Vec<SideClearance> = bench.found.sides.iter().map(one).collect();
    for side in sides.iter().filter(|side| side.mm <= 0.0) {
        let says = format!(
            "The rods on {} are {} wider than the pin between its cheeks: they cannot be assembled. Measure pin and rods \
             again; if it stands, these are the wrong rods or the wrong crank.",
            side.journal,
            bench.size(-side.mm),
        );
        let (set, journal) = (Some(side.journal.set), Some(side.journal));
        bench.stops.push(Stop { kind: StopKind::SideClearance, set, journal, says });
    }
    sides
}
