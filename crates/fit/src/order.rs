//! What to order: shells by undersize and pairs, washers by oversize.

use crank::SetName;
use regrind::Verdict;

use crate::answer::{EndFloat, OrderLine, StopKind};
use crate::bench::{Bench, index};
use crate::found::Half;
use crate::shells::{SAME_STEP_MM, step_words};

const MEASURE: &str = "Measure before you trust the box: every wall, at the crown.";

pub(crate) fn order(bench: &Bench<'_>, verdict: Option<&Verdict>, float: Option<&EndFloat>) -> Vec<OrderLine> {
    let mut lines = Vec::new();
    for set in verdict.iter().flat_map(|verdict| &verdict.sets) {
        use regrind::Choice::{BuildUp, Grind, LeaveAlone, NotDecided, PolishOnly, Scrap};
        let undersize_mm = match set.choice {
            Grind { undersize_mm } => undersize_mm,
            LeaveAlone | PolishOnly => set.ground_to.undersize_mm,
            BuildUp | NotDecided | Scrap => continue,
        };
        let needed = bench.specification.set(set.set).count();
        lines.push(OrderLine {
            what: match set.set {
                SetName::Main => "main shells, pairs".to_owned(),
                SetName::Pin => "rod shells, pairs".to_owned(),
            },
            size_mm: undersize_mm,
            size: step_words(undersize_mm, bench.unit),
            needed,
            on_the_bench: pairs_to_use(bench, set.set, undersize_mm),
            note: MEASURE.to_owned(),
        });
    }
    if let Some(washers) = float.and_then(|float| float.washers).filter(|washers| washers.within) {
        for (where_to, mm, there) in washers.faces() {
            let oversize = if mm == 0.0 { "standard".to_owned() } else { format!("{} oversize", bench.size(mm)) };
            lines.push(OrderLine {
                what: format!("thrust washer, {where_to}"),
                size_mm: mm,
                size: oversize,
                needed: 1,
                on_the_bench: usize::from(there),
                note: "Measure its thickness before it is fitted.".to_owned(),
            });
        }
    }
    lines
}

/// Pairs that can be made up of the half shells on the bench that are of the undersize and that nothing speaks against:
/// one upper and one lower half each.
fn pairs_to_use(bench: &Bench<'_>, set: SetName, undersize_mm: f64) -> usize {
    let against = |kind: StopKind| matches!(kind, StopKind::WallAgainstMark | StopKind::MixedUndersizes);
    let doubted = bench.stops.iter().any(|stop| stop.set == Some(set) && against(stop.kind));
    if doubted || bench.undersizes_mm[index(set)].len() != 1 {
        return 0;
    }
    let known = bench.found.shells.iter().zip(&bench.known).filter(|(shell, _)| shell.set == set);
    let usable = known.filter(|(_, k)| k.undersize_mm.is_some_and(|mm| (mm - undersize_mm).abs() <= SAME_STEP_MM));
    let halves: Vec<Half> = usable.map(|(shell, _)| shell.half).collect();
    let of = |half: Half| halves.iter().filter(|own| **own == half).count();
    let (upper, lower, either) = (of(Half::Upper), of(Half::Lower), of(Half::Either));
    (upper + either).min(lower + either).min(halves.len() / 2)
}
