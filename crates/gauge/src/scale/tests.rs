//! Published readings, every size of a range, and what a scale refuses.

use super::*;

const IN: i64 = 25_400_000;
const MM: i64 = 1_000_000;

fn frame(scale: Scale, lower: i64, upper: i64) -> Frame {
    let one = scale.unit().nm();
    Frame::new(scale, Length::from_nm(lower * one), Length::from_nm(upper * one)).unwrap()
}

fn setting(sleeve: u32, lines: u32, thimble: u32, vernier: Option<u32>) -> Setting {
    Setting { sleeve, lines, thimble, vernier }
}

/// Source: nine worked readings, listed with their pages in `reference-cases/micrometer-scales/README.md`. They are
/// exact, so there is no tolerance.
#[test]
fn published_readings_come_out_both_ways() {
    let mut compared = 0;
    for row in include_str!("../../reference-cases/micrometer-scales/readings.csv").lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let scale = match cells[0] {
            "inch_0.001" => Scale::Thou,
            "inch_0.0001" => Scale::Tenth,
            "metric_0.01" => Scale::Hundredth,
            other => panic!("unknown scale {other}"),
        };
        let count = |cell: usize| cells[cell].parse::<u32>();
        let shown = setting(count(1).unwrap(), count(2).unwrap(), count(3).unwrap(), count(4).ok());
        let size = units::read(cells[5], scale.unit()).unwrap().length;
        let frame = Frame::usual(scale, size);
        assert_eq!(frame.limits().0, Length::ZERO);
        assert_eq!(frame.size(shown), Ok(size), "{row}");
        assert_eq!(frame.setting(size), Ok(shown), "{row}");
        compared += 1;
    }
    assert_eq!(compared, 9);
}

/// Source of the size: the first of the published readings, where the thimble stands at 16 1/2.
#[test]
fn half_a_thou_stands_between_two_graduations_without_a_vernier() {
    let size = Length::from_nm(12_484_100); // 0.4915 in
    let plain = frame(Scale::Thou, 0, 1);
    let wrong = plain.setting(size).unwrap_err();
    assert_eq!(wrong.to_string(), "0.4915 in stands between two graduations: the nearest is 0.491 in, 0.0005 in less");
    assert_eq!(plain.words(size).unwrap(), "0.4915 in on the 0–1: sleeve 4, three lines, thimble 16 and 0.0005 over");
    assert_eq!(
        frame(Scale::Tenth, 0, 1).words(size).unwrap(),
        "0.4915 in on the 0–1: sleeve 4, three lines, thimble 16, vernier 5"
    );
}

/// Second route: the digits of the size as printed. In thou, a sleeve figure is the first digit, and the other two fall
/// into 25s; in hundredths, a sleeve figure is the whole number, and two digits fall into 50s.
#[test]
fn every_size_of_a_range_goes_both_ways() {
    for (scale, lower, upper, sizes) in [
        (Scale::Thou, 1, 2, 1_001),
        (Scale::Tenth, 1, 2, 10_001),
        (Scale::Hundredth, 25, 50, 2_501),
        (Scale::Micron, 25, 50, 25_001),
    ] {
        let frame = frame(scale, lower, upper);
        let (from, to) = frame.limits();
        let (mut size, mut compared) = (from, 0);
        while size <= to {
            let shown = frame.setting(size).unwrap();
            assert_eq!(frame.size(shown), Ok(size));
            let above = (size - from).show(scale.unit(), scale.unit().usual_decimals());
            let (whole, tail) = above.split_once('.').unwrap();
            let digits = |range: std::ops::Range<usize>| tail[range].parse::<u32>().unwrap();
            let whole: u32 = whole.parse().unwrap();
            let (sleeve, rest, per_turn, vernier) = match scale.unit() {
                Unit::Inch => (whole * 10 + digits(0..1), digits(1..3), 25, digits(3..4)),
                Unit::Millimetre => (whole, digits(0..2), 50, digits(2..3)),
            };
            let vernier = scale.has_vernier().then_some(vernier);
            assert_eq!(shown, setting(sleeve, rest / per_turn, rest % per_turn, vernier), "{size:?}");
            size += scale.graduation();
            compared += 1;
        }
        assert_eq!(compared, sizes);
    }
}

#[test]
fn graduation_division_turn_and_figure_build_on_each_other() {
    for scale in Scale::ALL {
        let (per_turn, per_figure) = if scale.unit() == Unit::Inch { (25, 4) } else { (50, 2) };
        let finer = if scale.has_vernier() { 10 } else { 1 };
        assert_eq!(scale.graduation().nm() * finer, scale.division().nm());
        assert_eq!(scale.division().nm() * per_turn, scale.turn().nm());
        assert_eq!(scale.turn().nm() * per_figure, scale.figure().nm());
        assert_eq!(i64::from(scale.divisions()), per_turn);
        assert_eq!(i64::from(scale.most_lines()) + 1, per_figure);
        assert_eq!(scale.figure().nm() * i64::from(scale.most_sleeve()), scale.travel().nm());
        assert!(scale.near_the_top(scale.divisions() - 1) && !scale.near_the_top(scale.divisions() / 2));
        assert_eq!(Scale::with_graduation(scale.unit(), scale.graduation().mm()), Some(scale));
        assert_eq!(Scale::with_graduation(scale.unit().other(), scale.graduation().mm()), None);
    }
    // Of 25 divisions, 20 to 24; of 50, 40 to 49.
    assert!(Scale::Tenth.near_the_top(20) && !Scale::Tenth.near_the_top(19));
    assert!(Scale::Micron.near_the_top(40) && !Scale::Micron.near_the_top(39));
    assert_eq!(Scale::Thou.turn().inches(), 0.025);
    assert_eq!(Scale::Micron.turn().mm(), 0.5);
    assert_eq!(Scale::with_graduation(Unit::Millimetre, 0.002), None);
    assert_eq!(Scale::with_graduation(Unit::Inch, f64::NAN), None);
    assert_eq!(Scale::with_graduation(Unit::Inch, 0.0001 * 25.4), Some(Scale::Tenth));
}

#[test]
fn sizes_are_said_as_a_machinist_says_them() {
    let inch = |tenths: i64| Length::from_nm(tenths * 2_540);
    let says = |scale: Scale, size: Length| Frame::usual(scale, size).words(size).unwrap();
    assert_eq!(says(Scale::Tenth, inch(18_642)), "1.8642 in on the 1–2: sleeve 8, two lines, thimble 14, vernier 2");
    assert_eq!(says(Scale::Tenth, inch(21_000)), "2.1000 in on the 2–3: sleeve 1, no line, thimble 0, vernier 0");
    assert_eq!(says(Scale::Tenth, inch(21_499)), "2.1499 in on the 2–3: sleeve 1, one line, thimble 24, vernier 9");
    assert_eq!(says(Scale::Thou, inch(18_740)), "1.874 in on the 1–2: sleeve 8, two lines, thimble 24");
    assert_eq!(says(Scale::Tenth, inch(20_000)), "2.0000 in on the 1–2: sleeve 10, no line, thimble 0, vernier 0");
    let micron = |um: i64| Length::from_nm(um * 1_000);
    assert_eq!(
        says(Scale::Micron, micron(47_612)),
        "47.612 mm on the 25–50: sleeve 22, half line showing, thimble 11, vernier 2"
    );
    assert_eq!(says(Scale::Hundredth, micron(47_490)), "47.49 mm on the 25–50: sleeve 22, no half line, thimble 49");
    let half = Frame::new(Scale::Tenth, Length::from_nm(IN / 2), Length::from_nm(IN)).unwrap();
    assert_eq!(half.words(inch(7_500)).unwrap(), "0.7500 in on the 0.5–1: sleeve 2, two lines, thimble 0, vernier 0");
}

/// A grinding target is often half a tenth: the middle of two limits.
#[test]
fn between_graduations_the_nearest_is_said_with_what_is_left() {
    let says = |nm: i64| frame(Scale::Tenth, 1, 2).words(Length::from_nm(nm)).unwrap();
    let half = 1.86425 * IN as f64;
    assert_eq!(says(half as i64), "1.86425 in on the 1–2: sleeve 8, two lines, thimble 14, vernier 2 and 0.00005 over");
    assert_eq!(
        says(half as i64 + 762), // 0.00003 in
        "1.86428 in on the 1–2: sleeve 8, two lines, thimble 14, vernier 3 less 0.00002"
    );
    // A nanometre is nothing to say.
    assert_eq!(says(47_350_681), "1.8642 in on the 1–2: sleeve 8, two lines, thimble 14, vernier 2");
    assert_eq!(says(47_350_679), "1.8642 in on the 1–2: sleeve 8, two lines, thimble 14, vernier 2");
    // But it is not a graduation.
    let near = frame(Scale::Tenth, 1, 2).setting(Length::from_nm(47_350_679)).unwrap_err();
    assert_eq!(
        near.to_string(),
        "1.864199961 in stands between two graduations: the nearest is 1.8642 in, 0.000000039 in more"
    );
    let (shown, remainder) = frame(Scale::Hundredth, 25, 50).nearest(Length::from_nm(47_499_000)).unwrap();
    assert_eq!((shown, remainder.nm()), (setting(22, 1, 0, None), -1_000)); // past the thimble's zero
}

#[test]
fn a_range_holds_both_its_ends_and_nothing_beyond() {
    let frame = frame(Scale::Micron, 25, 50);
    assert_eq!(frame.setting(Length::from_nm(25 * MM)), Ok(setting(0, 0, 0, Some(0))));
    assert_eq!(frame.setting(Length::from_nm(50 * MM)), Ok(setting(25, 0, 0, Some(0))));
    for outside in [25 * MM - 1, 50 * MM + 1, 0, -MM, i64::MAX, i64::MIN] {
        let size = Length::from_nm(outside);
        for wrong in [frame.setting(size).unwrap_err(), frame.words(size).unwrap_err()] {
            assert!(matches!(wrong, ScaleError::Outside { .. }), "{outside}");
            assert!(wrong.help().is_some());
        }
    }
    let wrong = frame.setting(Length::from_nm(53_939_000)).unwrap_err();
    assert_eq!(wrong.to_string(), "53.939 mm is outside the micrometer's 25–50 mm");
    assert_eq!(wrong.help().unwrap(), "the 50–75 takes that size");
    // A range that ends between two graduations has no line to round up to.
    let odd = Frame::new(Scale::Hundredth, Length::ZERO, Length::from_nm(12_345_999)).unwrap();
    assert_eq!(odd.nearest(Length::from_nm(12_345_999)).unwrap().1.nm(), 5_999);
}

#[test]
fn settings_that_cannot_be_are_refused() {
    let tenth = frame(Scale::Tenth, 1, 2);
    let refused = |setting: Setting| tenth.size(setting).unwrap_err().to_string();
    assert_eq!(refused(setting(11, 0, 0, Some(0))), "sleeve 11 cannot be: it goes from 0 to 10");
    assert_eq!(refused(setting(8, 4, 0, Some(0))), "sleeve line 4 cannot be: it goes from 0 to 3");
    assert_eq!(refused(setting(8, 2, 25, Some(0))), "thimble 25 cannot be: it goes from 0 to 24");
    assert_eq!(refused(setting(8, 2, 14, Some(10))), "vernier 10 cannot be: it goes from 0 to 9");
    assert_eq!(refused(setting(8, 2, 14, None)), "the vernier was not read");
    assert_eq!(refused(setting(10, 0, 0, Some(1))), "2.0001 in is outside the micrometer's 1–2 in");
    assert_eq!(refused(setting(u32::MAX, u32::MAX, 0, Some(0))), "sleeve 4294967295 cannot be: it goes from 0 to 10");
    let hundredth = frame(Scale::Hundredth, 25, 50);
    let refused = |setting: Setting| hundredth.size(setting).unwrap_err().to_string();
    assert_eq!(refused(setting(22, 2, 0, None)), "sleeve line 2 cannot be: it goes from 0 to 1");
    assert_eq!(refused(setting(22, 1, 50, None)), "thimble 50 cannot be: it goes from 0 to 49");
    assert_eq!(refused(setting(26, 0, 0, None)), "sleeve 26 cannot be: it goes from 0 to 25");
    assert_eq!(refused(setting(22, 1, 11, Some(2))), "vernier 2 on a scale without a vernier");
}

#[test]
fn frames_come_in_steps_and_a_border_belongs_to_the_smaller() {
    let limits = |nm: i64, unit: Unit| {
        let (lower, upper) = frame_for(Length::from_nm(nm), unit);
        (lower.nm() / unit.nm(), upper.nm() / unit.nm())
    };
    assert_eq!(limits(47_350_680, Unit::Inch), (1, 2));
    assert_eq!(limits(2 * IN, Unit::Inch), (1, 2));
    assert_eq!(limits(2 * IN + 1, Unit::Inch), (2, 3));
    assert_eq!(limits(50 * MM, Unit::Millimetre), (25, 50));
    assert_eq!(limits(50 * MM + 1, Unit::Millimetre), (50, 75));
    assert_eq!(limits(0, Unit::Millimetre), (0, 25));
    assert_eq!(limits(i64::MIN, Unit::Inch), (0, 1));
    let (lower, upper) = frame_for(Length::from_nm(i64::MAX), Unit::Inch);
    assert!(lower < upper);
}

#[test]
fn limits_that_no_micrometer_has_are_refused() {
    for (lower, upper) in [(1, 1), (2, 1), (-1, 0), (0, 4)] {
        let wrong = Frame::new(Scale::Tenth, Length::from_nm(lower * IN), Length::from_nm(upper * IN)).unwrap_err();
        assert_eq!(wrong.to_string(), format!("{lower} to {upper} in is not the range of a micrometer"));
        assert!(wrong.help().is_some());
    }
    assert!(Frame::new(Scale::Micron, Length::from_nm(30 * MM), Length::from_nm(45 * MM)).is_ok());
}
