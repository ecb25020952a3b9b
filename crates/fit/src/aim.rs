//! The journal size that gives the wanted clearance, which the grinding plan finishes to.

use crank::{Aim, Band, JournalId, SetName};

use crate::Engine;
use crate::bench::{Bench, mean};
use crate::model::Model;
use crate::shells::step_words;

/// Lengths closer than this are one.
const SAME_MM: f64 = 1e-9;

/// The bore of one bearing with the shells that are to be fitted.
#[derive(Clone, Copy, Debug)]
struct Through {
    journal: JournalId,
    least_mm: f64,
    mean_mm: f64,
    most_mm: f64,
}

/// For each set, mains first, the size to finish to where its housings and its shells were measured; empty where they
/// were not, or where no one size does.
///
/// All journals of a set are ground to one size, so it is the middle between what the tightest and what the loosest bearing
/// ask for, held within the book's limits for the undersize of the shells. Its window keeps every measured bearing within
/// the book's clearance.
///
/// # Units
/// Millimetres on the diameter.
/// # Limits
/// For the bearings that were measured; one that was not may ask for another size. The doubt about bores and walls is not
/// in the window: it is in the chance that [`fit`](crate::fit) gives.
pub fn aims(engine: &Engine<'_>) -> [Vec<Aim>; 2] {
    let bench =
        Bench::new(engine.specification, engine.findings, engine.found, engine.book, engine.wanted, engine.unit);
    SetName::BOTH.map(|set| asked(&bench, set).and_then(Result::ok).into_iter().collect())
}

/// What the bearings of a set ask for, or why no one size does; none where they were not measured.
pub(crate) fn asked(bench: &Bench<'_>, set: SetName) -> Option<Result<Aim, String>> {
    let undersize_mm = bench.shells_mm(set)?;
    let (wanted_mm, _) = bench.wanted_mm(set)?;
    let bearings: Vec<Through> = bench
        .specification
        .journals()
        .filter(|journal| journal.set == set)
        .filter_map(|journal| through(bench, journal, undersize_mm))
        .collect();
    let means: Vec<f64> = bearings.iter().map(|bearing| bearing.mean_mm).collect();
    let (least, most) = (means.iter().copied().reduce(f64::min)?, means.iter().copied().reduce(f64::max)?);
    let finished = bench.specification.set(set).finished(undersize_mm);
    let mut window = finished;
    if let Some(limits) = bench.set_book(set).clearance {
        let widest = bearings.iter().max_by(|a, b| a.most_mm.total_cmp(&b.most_mm))?;
        let narrowest = bearings.iter().min_by(|a, b| a.least_mm.total_cmp(&b.least_mm))?;
        let clear = Band { low_mm: widest.most_mm - limits.high_mm, high_mm: narrowest.least_mm - limits.low_mm };
        if clear.low_mm > clear.high_mm + SAME_MM {
            return Some(Err(format!(
                "No one size of the {set}s suits every bearing: {} is {} wider than {}, and the limits of the \
                 clearance are {} apart. Exchange shells between them, or have the housings put right.",
                widest.journal,
                bench.size(widest.most_mm - narrowest.least_mm),
                narrowest.journal,
                bench.size(limits.width_mm()),
            )));
        }
        window = Band { low_mm: clear.low_mm.max(finished.low_mm), high_mm: clear.high_mm.min(finished.high_mm) };
        if window.low_mm > window.high_mm + SAME_MM {
            return Some(Err(out_of_reach(bench, set, undersize_mm, clear, finished)));
        }
    }
    let (low_mm, high_mm) = (window.low_mm.min(window.high_mm), window.high_mm.max(window.low_mm));
    let target_mm = ((least + most) / 2.0 - wanted_mm).clamp(low_mm, high_mm);
    Some(Ok(Aim { undersize_mm, target_mm, window: Band { low_mm, high_mm } }))
}

/// The bore of a bearing as measured with its own shells; none where one of the two was not measured.
fn through(bench: &Bench<'_>, journal: JournalId, undersize_mm: f64) -> Option<Through> {
    let mut model = Model::default();
    let running = bench.running(&mut model, journal, undersize_mm).filter(|running| running.walls.is_measured())?;
    let values: Vec<f64> = running.across.iter().map(|term| model.value(term)).collect();
    // A reading that is no number says nothing of the bearing.
    if !values.iter().all(|mm| mm.is_finite()) {
        return None;
    }
    Some(Through {
        journal,
        least_mm: values.iter().copied().reduce(f64::min)?,
        mean_mm: mean(&values)?,
        most_mm: values.iter().copied().reduce(f64::max)?,
    })
}

/// The journals would have to be ground outside the book's limits: says which part is to blame.
fn out_of_reach(bench: &Bench<'_>, set: SetName, undersize_mm: f64, clear: Band, finished: Band) -> String {
    let book = bench.set_book(set);
    let journals = || bench.specification.journals().filter(|journal| journal.set == set);
    let bores: Vec<f64> =
        journals().filter_map(|j| mean(&bench.bare(j).iter().map(|(_, mm)| *mm).collect::<Vec<_>>())).collect();
    let bore_off = mean(&bores).zip(book.housing).map(|(mm, band)| beyond(mm, band));
    let walls: Vec<f64> = bench
        .found
        .shells_of(set)
        .filter_map(|shell| Some(shell.wall.as_ref()?.at_20_c_mm(&bench.findings.instruments, crate::Material::Steel)))
        .collect();
    let wall_off = mean(&walls).zip(book.wall_at(undersize_mm)).map(|(mm, band)| -2.0 * beyond(mm, band));
    let wide = clear.low_mm > finished.high_mm;
    let blamed = match (bore_off, wall_off) {
        (Some(bore), wall) if bore.abs() > SAME_MM && bore.abs() >= wall.map_or(0.0, f64::abs) => {
            "The housings, not the crank, are at fault: have them put right first."
        }
        (_, Some(wall)) if wall.abs() > SAME_MM => {
            "The shells are at fault: their walls are outside the book's limits."
        }
        _ => "Bores and walls keep their own limits, but all lie to one side: choose other shells.",
    };
    format!(
        "With these housings and shells the {set}s would have to be finished {} to {}, and the limits {} are {}: the \
         bearings are too {}. {blamed}",
        bench.size(clear.low_mm),
        bench.size(clear.high_mm),
        step_words(undersize_mm, bench.unit),
        bench.range(finished),
        if wide { "wide" } else { "narrow" },
    )
}

/// How far a size lies outside a band; zero within it.
fn beyond(mm: f64, band: Band) -> f64 {
    if mm > band.high_mm { mm - band.high_mm } else { (mm - band.low_mm).min(0.0) }
}
