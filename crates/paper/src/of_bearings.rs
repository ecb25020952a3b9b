//! From the bearings and their oil to what the drawings take: nothing is worked out here that the answers do not hold.

use crank::{Band, JournalId, SetName};
use film::case::{Answer, AtClearance, Case, Clearance};
use fit::Fit;
use units::Unit;

use crate::{ClearanceRow, ClearanceSketch, FilmCurve, GaugeCurve, GaugeLines};

impl ClearanceSketch {
    /// The clearances of a set that are to come: as planned where it is to be ground, else as found. Nothing where none
    /// is known.
    pub fn of(
        fit: &Fit,
        set: SetName,
        unit: Unit,
        plural: &str,
        name: &dyn Fn(JournalId) -> String,
    ) -> Option<ClearanceSketch> {
        let of = fit.sets.iter().find(|known| known.set == set)?;
        let own = fit.bearings.iter().filter(|bearing| bearing.journal.set == set);
        let row = |bearing: &fit::Bearing| {
            let across = bearing.to_come()?.across;
            Some(ClearanceRow {
                name: name(bearing.journal),
                tightest_mm: across.tightest_mm,
                mean_mm: across.mean_mm,
                loosest_mm: across.loosest_mm,
            })
        };
        let rows: Vec<ClearanceRow> = own.filter_map(row).collect();
        (!rows.is_empty()).then(|| ClearanceSketch {
            name: plural.to_owned(),
            unit,
            rows,
            limits_mm: of.limits.map(|band| (band.low_mm, band.high_mm)),
            wanted_mm: of.wanted_mm.map(|(mm, _)| mm),
            as_planned: of.ground,
        })
    }
}

/// The clearances that a set is planned to, tightest and loosest; where they were not measured, the book's limits.
pub fn film_window(fit: &Fit, set: SetName, book: Option<Band>) -> Option<(f64, f64)> {
    let planned = || fit.bearings.iter().filter(|b| b.journal.set == set).filter_map(|b| b.as_planned.as_ref());
    let tightest = planned().map(|clearance| clearance.across.tightest_mm).min_by(f64::total_cmp);
    let loosest = planned().map(|clearance| clearance.across.loosest_mm).max_by(f64::total_cmp);
    tightest.zip(loosest).or(book.map(|band| (band.low_mm, band.high_mm)))
}

impl FilmCurve {
    /// The least film of a set round the plan of a case, with the window that the plan is to keep to.
    pub fn of(
        case: &Case,
        answer: &Answer,
        set: SetName,
        unit: Unit,
        name: String,
        window_mm: Option<(f64, f64)>,
    ) -> FilmCurve {
        let is_pin = set == SetName::Pin;
        let of = |clearance: &Clearance| if is_pin { clearance.pin_diametral_m } else { clearance.main_diametral_m };
        let points = answer.curve.iter().map(|point| match set {
            SetName::Pin => (point.pin_diametral_m * 1000.0, point.pin_film_m * 1e6),
            SetName::Main => (point.main_diametral_m * 1000.0, point.main_film_m * 1e6),
        });
        FilmCurve {
            name,
            unit,
            points: points.collect(),
            window_mm,
            named_mm: case.clearances.iter().map(|c| (c.name.clone(), of(c) * 1000.0)).collect(),
            roughness_um: case.figures.roughness_m.value * 1e6,
        }
    }
}

impl GaugeCurve {
    /// The gauge over speed for the plan of a case, beside its first clearance where that is another. Nothing where the
    /// plan was not answered.
    pub fn of(case: &Case, answer: &Answer, unit: Unit) -> Option<GaugeCurve> {
        let lines = |at: &AtClearance| GaugeLines {
            name: at.clearance.name.clone(),
            hot: at.gauge.iter().map(|point| (point.speed_rpm, point.hot_pa)).collect(),
            cold: at.gauge.iter().map(|point| (point.speed_rpm, point.cold_pa)).collect(),
        };
        let found = answer.clearances.first().filter(|_| case.plan != 0);
        Some(GaugeCurve {
            unit,
            planned: answer.clearances.get(case.plan).map(lines)?,
            found: found.map(lines),
            hint: answer.hint.to_owned(),
        })
    }
}
