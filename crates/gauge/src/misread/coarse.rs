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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::misread::{Group, Spot};
    use units::Unit;

    /// Two steps of 0.01 are a limit of 0.02, which cannot be told; a hair more can. The size band is the whole from the
    /// smallest to the largest.
    #[test]
    fn a_limit_of_two_steps_cannot_be_told() {
        let spot = Spot {
            group: 0,
            at_mm: 0.0,
            plane_deg: 0.0,
            sizes_mm: vec![63.99],
            typed: Vec::new(),
            turn_mm: 0.5,
            frame_mm: 25.0,
            uncertainty_mm: 0.003,
            repeatability_mm: 0.001,
            graduation_mm: 0.01,
            with: String::new(),
        };
        let remarks = |band_mm: f64, out_of_round_mm: f64| {
            let group = Group {
                name: "pin 1".to_owned(),
                set: 0,
                new_mm: (64.0 - band_mm, 64.0),
                ladder_mm: vec![0.0],
                out_of_round_mm: Some(out_of_round_mm),
                taper_mm: None,
            };
            let (groups, spots) = ([group], [spot.clone()]);
            let search = Search { groups: &groups, spots: &spots, unit: Unit::Millimetre };
            too_coarse(&search, 0).into_iter().map(|suspicion| suspicion.says).collect::<String>()
        };
        assert_eq!(remarks(0.021, 0.021), "");
        let band = remarks(0.02, 0.021);
        assert!(band.contains("size band") && !band.contains("out-of-round"), "{band}");
        let form = remarks(0.021, 0.02);
        assert!(form.contains("out-of-round") && !form.contains("size band"), "{form}");
    }
}
