//! Sizes, forms and last grinds worked by hand, each so that a factor of two, a sign, a limit taken for its fellow or a
//! correction left out gives another figure. Where no source stands beside a figure it is invented and the sum is arithmetic.

mod kit;

use crank::{
    Band, Findings, FormCheck, JournalId, JournalSet, Reading, SetName, Size, Specification, Trace, condition,
    ground_to, last_ground_to, sizes,
};
use gauge::Instrument;
use kit::{limit, row};
use units::{Entry, Unit};

const PIN_1: JournalId = JournalId { set: SetName::Pin, number: 1 };

fn exact() -> Instrument {
    Instrument {
        graduation_mm: 0.0,
        error_limit_mm: 0.0,
        repeatability_mm: 0.0,
        ..Instrument::shop_default(Unit::Millimetre)
    }
}

/// Reads 0.02 mm more than there is, and is exact otherwise.
fn reads_large() -> Instrument {
    Instrument { zero_mm: 0.02, zero_taken: true, ..exact() }
}

fn entry(text: &str) -> Entry {
    units::read(text, Unit::Millimetre).unwrap()
}

fn reading(at_mm: f64, plane_deg: f64, size: &str) -> Reading {
    Reading { journal: PIN_1, at_mm, plane_deg, sizes: vec![entry(size)], with: 0 }
}

/// Pins of 63.98 to 64.00, a quarter of a millimetre a step.
fn six() -> Specification {
    Specification::from_printed(&kit::six()).unwrap()
}

fn pins(undersizes_mm: &[f64]) -> JournalSet {
    JournalSet { undersizes_mm: undersizes_mm.to_vec(), ..six().pin }
}

fn trace(size: &str, angles_deg: &[f64], departures_mm: &[f64]) -> Trace {
    Trace {
        journal: PIN_1,
        at_mm: 0.0,
        size: entry(size),
        angles_deg: angles_deg.to_vec(),
        departures_mm: departures_mm.to_vec(),
        with: 0,
        departure_sd_mm: 0.003,
    }
}

#[track_caller]
fn close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1e-9, "found {found}, wanted {wanted}");
}

/// Stations at -10, -2, 6 and 10 reach over 20, so half-way is 0: the one at -2 is the middle, not the one at 6. Barrel:
/// 63.990 less the mean of 63.980 and 63.984, which is 0.008.
#[test]
fn of_four_stations_the_one_nearest_half_way_is_the_middle() {
    let readings =
        [(-10.0, "63.980"), (-2.0, "63.990"), (6.0, "63.986"), (10.0, "63.984")].map(|(at, mm)| reading(at, 0.0, mm));
    let findings = Findings { instruments: vec![exact()], readings: readings.to_vec(), ..Findings::default() };
    let found = condition(&six(), &findings, PIN_1, 0.0).unwrap();
    let (plane_deg, barrel) = found.worst_barrel().unwrap();
    close(plane_deg, 0.0);
    close(barrel.middle_mm, 63.990);
    close(barrel.barrel_mm(), 0.008);
}

/// The opposite of 0 lies at 180, three quarters of the way from 150 to 190: 0.002 and three quarters of 0.008 are 0.008. The
/// diameter is 63.980 and that; its variance one departure's, 9/16 of another's and 1/16 of a third's: 1.625.
#[test]
fn a_point_between_two_others_takes_its_share_of_each() {
    let traces = vec![trace("63.980", &[0.0, 150.0, 190.0], &[0.0, 0.002, 0.010])];
    let findings = Findings { instruments: vec![exact()], traces, ..Findings::default() };
    let found = sizes(&findings, PIN_1);
    assert_eq!(found.len(), 1);
    close(found[0].size_mm, 63.988);
    close(found[0].standard_uncertainty_mm, 0.003 * 1.625_f64.sqrt());
}

/// A trace's own size is read with a micrometer as any other: 64.000 on one that reads 0.02 large is 63.980, and its doubt is
/// that of one reading: 0.004 within its scale, 0.002 divided, 0.001 by hand.
#[test]
fn the_size_of_a_trace_is_corrected_and_doubted_as_any_other() {
    let mic = Instrument { zero_mm: 0.02, ..Instrument::shop_default(Unit::Millimetre) };
    let traces = vec![Trace { departure_sd_mm: 0.0, ..trace("64.000", &[0.0, 180.0], &[0.003, 0.001]) }];
    let findings = Findings { instruments: vec![mic], traces, ..Findings::default() };
    let found = sizes(&findings, PIN_1);
    assert_eq!(found.len(), 1);
    close(found[0].size_mm, 63.984);
    // 1e-6 and a third of 1e-6 and 16/3 of 1e-6: 6.6667e-6.
    close(found[0].standard_uncertainty_mm, (20.0 / 3.0_f64).sqrt() * 1e-3);
}

/// Two planes half a turn apart are one, whoever counted them: the places of a check are those of the condition.
#[test]
fn a_check_takes_half_a_turn_for_the_same_plane() {
    let at = |plane_deg: f64, size_mm: f64| Size { plane_deg, size_mm, ..Size::default() };
    let set = JournalSet { out_of_round_mm: Some(0.010), ..pins(&[]) };
    // 63.985 and 63.995 in one plane are 63.990 there: no out-of-round can be seen, and their mean keeps the limits.
    let one_plane = FormCheck::new(&set, 0.0, &[at(90.0, 63.985), at(270.0, 63.999)]);
    assert!(one_plane.keeps(&[63.985, 63.999]));
    let two_planes = FormCheck::new(&set, 0.0, &[at(0.0, 63.985), at(90.0, 63.999)]);
    assert!(!two_planes.keeps(&[63.985, 63.999]));
}

/// Read twice at one spot, 63.975 and 63.989: neither the first nor their sum is its size, but 63.982, which keeps 63.98 to
/// 64.00. 63.975 and 63.983 make 63.979, which does not.
#[test]
fn a_spot_read_twice_has_the_mean() {
    let twice = [Size::default(), Size::default()];
    let check = FormCheck::new(&pins(&[]), 0.0, &twice);
    assert!(check.keeps(&[63.975, 63.989]));
    assert!(!check.keeps(&[63.975, 63.983]));
}

/// A size on a limit keeps it, though a sum leaves it half a nanometre beyond at either end; two nanometres are beyond.
#[test]
fn a_size_on_its_limit_keeps_it_to_the_last_bit() {
    let check = FormCheck::new(&pins(&[]), 0.0, &[Size::default()]);
    for on_it in [63.98 - 5e-10, 64.0 + 5e-10] {
        assert!(check.keeps(&[on_it]), "{on_it}");
    }
    for beyond in [63.98 - 2e-9, 64.0 + 2e-9] {
        assert!(!check.keeps(&[beyond]), "{beyond}");
    }
}

/// Places a hundredth of a millimetre apart are one station, two hundredths apart two.
#[test]
fn a_station_is_a_hundredth_wide() {
    let set = pins(&[]);
    let stations = |apart_mm: f64| {
        let readings = vec![reading(0.0, 0.0, "63.990"), reading(apart_mm, 90.0, "63.985")];
        let findings = Findings { instruments: vec![exact()], readings, ..Findings::default() };
        condition(&Specification { pin: set.clone(), ..six() }, &findings, PIN_1, 0.0).unwrap().stations.len()
    };
    assert_eq!((stations(0.01), stations(0.015), stations(0.02)), (1, 2, 2));
}

/// Steps of 0.10 and pins of 63.98 to 64.00. A largest pin of 63.90 is just what 0.10 under allows; from standard it would
/// have worn 0.08, more than the two thou (0.0508) that a crank wears before it is ground. At 63.895 and a step of 0.05 it
/// would have worn 0.035 from 0.05 under (63.93 its least), which is little.
#[test]
fn a_shallower_step_is_likely_only_where_little_wear_leads_to_it() {
    let found = ground_to(&pins(&[0.10]), &[(63.90, 0.0)]);
    close(found.undersize_mm, 0.10);
    assert_eq!(found.also, []);
    let found = ground_to(&pins(&[0.05, 0.10]), &[(63.895, 0.0)]);
    close(found.undersize_mm, 0.10);
    assert_eq!(found.also, [0.05]);
}

/// Steps of 0.25. A pin of 63.798 is above all that 0.25 under allows (63.75) by 0.048, and below standard (63.98) by 0.182,
/// a quarter of which is 0.0455: worn from standard. One of 63.790 is above by 0.040 and below by 0.190, a quarter of which
/// is 0.0475: it may as well be 0.25 under and read too large. One of 63.75 is simply 0.25 under.
#[test]
fn a_deeper_step_is_likely_only_where_it_is_four_times_nearer() {
    let set = pins(&[0.25]);
    let of = |mm: f64| ground_to(&set, &[(mm, 0.0)]);
    assert_eq!((of(63.798).undersize_mm, of(63.798).also), (0.0, vec![]));
    assert_eq!((of(63.790).undersize_mm, of(63.790).also), (0.0, vec![0.25]));
    assert_eq!((of(63.750).undersize_mm, of(63.750).also), (0.25, vec![]));
}

/// 63.76 on a micrometer that reads 0.02 large is 63.74, which a pin ground 0.25 under may be (63.73 to 63.75); 63.76 itself
/// it may not be. The same for a trace.
#[test]
fn what_it_was_ground_to_goes_by_corrected_sizes() {
    let readings = vec![reading(0.0, 0.0, "63.76")];
    let read = Findings { instruments: vec![reads_large()], readings, ..Findings::default() };
    let traces = vec![trace("63.76", &[0.0, 180.0], &[0.0, 0.0])];
    let traced = Findings { instruments: vec![reads_large()], traces, ..Findings::default() };
    for findings in [read, traced] {
        close(last_ground_to(&six(), &findings, SetName::Pin).undersize_mm, 0.25);
    }
}

/// A metric book's positions are millimetres; its smallest size and the wear limit in its standard row are kept.
#[test]
fn a_metric_book_is_taken_as_it_stands() {
    let mut printed = kit::six();
    printed.pin.size = Vec::new();
    printed.pin.undersizes = Vec::new();
    printed.pin.smallest = Some(limit("62.970 mm"));
    let worn = crank::PrintedStep { worn: Some(limit("63.950 mm")), ..row("0.00 mm", "63.980-64.000 mm") };
    printed.pin.steps = vec![worn, row("0.25 mm", "63.730-63.750 mm")];
    let made = Specification::from_printed(&printed).unwrap();
    assert_eq!(made.main.positions_mm[..3], [0.0, 120.0, 240.0]);
    assert_eq!(made.pin.size, Band { low_mm: 63.98, high_mm: 64.0 });
    assert_eq!((made.pin.smallest_mm, made.pin.wear_limit_mm), (Some(62.97), Some(63.95)));
    // Ground a quarter under, a pin may wear to 63.700.
    close(crank::size_limits(&made.pin, 0.25).low_mm, 63.70);
}
