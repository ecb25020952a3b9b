//! Instruments whose steps are too large for what they are to decide.

use super::{Kind, Search, Suspicion, words};

/// Fewest graduations that a limit must span: with two or fewer, a rounding of half a graduation at each of the two
/// readings of a difference is half the limit, and a reading on the limit cannot be told from one inside it.
const FEWEST_STEPS: f64 = 2.0;

/// One remark for each graduation used on the set that is too coarse for a limit.
pub(super) fn too_coarse(search: &Search, set: usize) -> Vec<Suspicion> {
    let of_set = |group: usize| search.groups.get(group).filter(|g| g.set == set);
    let mut steps: Vec<f64> = search
        .spots
        .iter()
        .filter(|s| of_set(s.group).is_some() && !s.sizes_mm.is_empty())
        .map(|s| s.graduation_mm)
        .filter(|g| g.is_finite() && *g > 0.0)
        .collect();
    steps.sort_by(f64::total_cmp);
    steps.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let smallest = |limit: &dyn Fn(&super::Group) -> Option<f64>| {
        let limits = search.groups.iter().filter(|g| g.set == set).filter_map(limit);
        limits.filter(|l| l.is_finite() && *l > 0.0).fold(f64::INFINITY, f64::min)
    };
    let limits = [
        ("size band", smallest(&|g| Some(g.new_mm.1 - g.new_mm.0))),
        ("out-of-round limit", smallest(&|g| g.out_of_round_mm)),
        ("taper limit", smallest(&|g| g.taper_mm)),
    ];
    steps
        .into_iter()
        .filter_map(|step| {
            let beyond: Vec<String> = limits
                .iter()
                .filter(|(_, limit)| *limit <= FEWEST_STEPS * step * (1.0 + 1e-9))
                .map(|(what, limit)| format!("the {what} of {}", words::step(*limit, search.unit)))
                .collect();
            if beyond.is_empty() {
                return None;
            }
            let says = format!(
                "This instrument reads in steps of {}. It cannot tell whether a journal keeps {}. Use a finer one.",
                words::step(step, search.unit),
                beyond.join(" or "),
            );
            Some(Suspicion {
                kind: Kind::TooCoarse,
                set,
                group: None,
                spot: None,
                repeat: None,
                says,
                would_be_mm: None,
            })
        })
        .collect()
}
