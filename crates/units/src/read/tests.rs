//! The texts of the trade, the texts that are refused, and the laws that reading keeps.

use proptest::prelude::*;

use super::*;

/// Typed, unit of a bare number, nanometres, unit found, decimals.
///
/// The nanometres are worked by hand from 1 in = 25.4 mm exactly.
const READ: &[(&str, Unit, i64, Unit, u32)] = &[
    ("1.8745", Unit::Inch, 47_612_300, Unit::Inch, 4),
    (".8745", Unit::Inch, 22_212_300, Unit::Inch, 4),
    ("1,8745", Unit::Inch, 47_612_300, Unit::Inch, 4),
    ("1.8745in", Unit::Inch, 47_612_300, Unit::Inch, 4),
    ("1.8745 in.", Unit::Millimetre, 47_612_300, Unit::Inch, 4),
    ("1.8745\"", Unit::Millimetre, 47_612_300, Unit::Inch, 4),
    ("1.8745 INCHES", Unit::Millimetre, 47_612_300, Unit::Inch, 4),
    ("1 7/8", Unit::Inch, 47_625_000, Unit::Inch, 0),
    ("1-7/8", Unit::Inch, 47_625_000, Unit::Inch, 0),
    ("1\u{2013}7/8 in", Unit::Inch, 47_625_000, Unit::Inch, 0),
    ("1  7 / 8 \"", Unit::Inch, 47_625_000, Unit::Inch, 0),
    ("7/8", Unit::Inch, 22_225_000, Unit::Inch, 0),
    ("-7/8", Unit::Inch, -22_225_000, Unit::Inch, 0),
    ("15/8", Unit::Inch, 47_625_000, Unit::Inch, 0),
    ("1/3", Unit::Inch, 8_466_667, Unit::Inch, 0),
    ("47 1/2", Unit::Millimetre, 47_500_000, Unit::Millimetre, 0),
    ("1/2 thou", Unit::Millimetre, 12_700, Unit::Inch, 0),
    ("47.612 mm", Unit::Inch, 47_612_000, Unit::Millimetre, 3),
    ("47,612\u{a0}mm", Unit::Inch, 47_612_000, Unit::Millimetre, 3),
    ("47.612", Unit::Millimetre, 47_612_000, Unit::Millimetre, 3),
    ("\u{a0}\u{202f} 47.612\t\n", Unit::Millimetre, 47_612_000, Unit::Millimetre, 3),
    ("12 thou", Unit::Millimetre, 304_800, Unit::Inch, 3),
    ("-3.5 thou", Unit::Inch, -88_900, Unit::Inch, 4),
    ("5 tenths", Unit::Inch, 12_700, Unit::Inch, 4),
    ("1 tenth", Unit::Inch, 2_540, Unit::Inch, 4),
    ("4 hundredths", Unit::Millimetre, 40_000, Unit::Millimetre, 2),
    ("3 um", Unit::Inch, 3_000, Unit::Millimetre, 3),
    ("3 \u{b5}m", Unit::Inch, 3_000, Unit::Millimetre, 3),
    ("3\u{3bc}m", Unit::Inch, 3_000, Unit::Millimetre, 3),
    ("2.5 microns", Unit::Inch, 2_500, Unit::Millimetre, 4),
    ("+0.0005", Unit::Inch, 12_700, Unit::Inch, 4),
    ("-0.0005", Unit::Inch, -12_700, Unit::Inch, 4),
    ("\u{2212} 0.0005", Unit::Inch, -12_700, Unit::Inch, 4),
    ("5e-05", Unit::Inch, 1_270, Unit::Inch, 5),
    ("5.0E-05 in", Unit::Inch, 1_270, Unit::Inch, 6),
    ("1.25e1", Unit::Millimetre, 12_500_000, Unit::Millimetre, 1),
    ("2e1", Unit::Millimetre, 20_000_000, Unit::Millimetre, 0),
    ("2.", Unit::Inch, 50_800_000, Unit::Inch, 0),
    ("2. in", Unit::Inch, 50_800_000, Unit::Inch, 0),
    ("0", Unit::Inch, 0, Unit::Inch, 0),
    ("-0.0000", Unit::Inch, 0, Unit::Inch, 4),
    ("0e30", Unit::Inch, 0, Unit::Inch, 0),
    ("007.50", Unit::Millimetre, 7_500_000, Unit::Millimetre, 2),
    ("1000000", Unit::Millimetre, 1_000_000_000_000, Unit::Millimetre, 0),
    // Halves of a nanometre go away from zero.
    ("0.0000005", Unit::Millimetre, 1, Unit::Millimetre, 7),
    ("-0.0000005", Unit::Millimetre, -1, Unit::Millimetre, 7),
    ("0.00000049999999999999999999", Unit::Millimetre, 0, Unit::Millimetre, 26),
];

#[test]
fn lengths_read_as_the_trade_types_them() {
    for &(typed, bare, nm, unit, decimals) in READ {
        let found = read(typed, bare).unwrap_or_else(|wrong| panic!("{wrong}"));
        assert_eq!((found.length.nm(), found.unit, found.decimals), (nm, unit, decimals), "{typed:?}");
        assert_eq!(found.typed, typed);
    }
}

#[test]
fn what_is_no_length_is_refused_for_its_own_reason() {
    use ReadFault::*;
    let refused = [
        ("", Empty),
        (" \u{a0}\n", Empty),
        ("0.0300.040", TwoPoints),
        ("1,874,500", TwoPoints),
        ("1..5", TwoPoints),
        ("1,874.5", CommaAndPoint),
        ("1.874,5", CommaAndPoint),
        ("1 874", TwoNumbers),
        ("1.8745 1.8750", TwoNumbers),
        ("1.8745-1.8750", Stray('-')),
        ("--5", Stray('-')),
        ("+-5", Stray('-')),
        ("1_000", Stray('_')),
        ("0x1F", Stray('x')),
        ("1.8745 in 2", TwoNumbers),
        ("1e5e5", Stray('e')),
        ("1e1.5", Stray('.')),
        ("\u{661}.5", Stray('\u{661}')),
        ("1\u{200b}5", Stray('\u{200b}')),
        ("7/0", Denominator("0".into())),
        ("1 7/000", Denominator("000".into())),
        ("1/4000", Denominator("4000".into())),
        ("7/", NotAFraction),
        ("/8", NotAFraction),
        ("1/2/3", NotAFraction),
        ("1.5 7/8", NotAFraction),
        ("1 - 7/8", NotAFraction),
        ("1--7/8", NotAFraction),
        ("-1 -7/8", NotAFraction),
        ("1 2 7/8", NotAFraction),
        ("7/8.5", NotAFraction),
        ("1 9/8", FractionOverOne),
        ("1 8/8", FractionOverOne),
        ("1234567/8", TooManyDigits),
        ("NaN", NoNumber),
        ("inf", NoNumber),
        ("-infinity", NoNumber),
        ("in", NoNumber),
        ("-", NoNumber),
        (".", NoNumber),
        (".e5", NoNumber),
        ("1000001", TooLarge),
        ("-1000001", TooLarge),
        ("1e9", TooLarge),
        ("1e400", TooLarge),
        ("1e99999999999999999999", TooLarge),
        ("1e-400", TooManyDigits),
        ("1.0000000000000000000000000000001", TooManyDigits),
        ("1.8745 cm", UnknownUnit("cm".into())),
        ("1.8745-", UnknownUnit("-".into())),
        ("1.8745 in under", UnknownUnit("in under".into())),
        ("1'", UnknownUnit("'".into())),
        ("5 tenths", AmbiguousUnit("tenths".into())),
        ("1.\u{0}5", Control('\0')),
        ("1.8\n1.9", Control('\n')),
        ("\u{1b}[31m1.8745", Control('\u{1b}')),
    ];
    for (typed, fault) in refused {
        let wrong = read(typed, Unit::Millimetre).expect_err(typed);
        assert_eq!(wrong.fault, fault, "{typed:?}");
        assert!(!wrong.to_string().chars().any(char::is_control), "{typed:?}");
        assert!(wrong.help().is_some());
    }
    assert_eq!(read("4 hundredths", Unit::Inch).unwrap_err().fault, AmbiguousUnit("hundredths".into()));
    let long = "1".repeat(65);
    assert_eq!(read(&long, Unit::Inch).unwrap_err().fault, TooLong);
    assert_eq!(read(&"1".repeat(50_000_000), Unit::Inch).unwrap_err().typed.chars().count(), 41);
}

/// Both sides of the limit of 64 characters, counted as characters and not as bytes.
#[test]
fn sixty_four_characters_are_the_most() {
    let padded = |count: usize| format!("{}1.5", "\u{a0}".repeat(count - 3));
    assert!(read(&padded(64), Unit::Inch).is_ok());
    assert_eq!(read(&padded(65), Unit::Inch).unwrap_err().fault, ReadFault::TooLong);
}

#[test]
fn errors_say_what_was_found_and_what_would_do() {
    let says = |typed: &str| {
        let wrong = read(typed, Unit::Millimetre).unwrap_err();
        format!("{wrong}: {}", wrong.help().unwrap())
    };
    assert_eq!(
        says("1,874.5"),
        "\"1,874.5\" has both a comma and a point: use one of them, as the point, and do not set off thousands: 1874.5"
    );
    assert_eq!(
        says("7/0"),
        "\"7/0\" has 0 below the stroke, where 1 to 1000 belongs: type a fraction such as 7/8, or the decimal"
    );
    assert_eq!(says("18745000"), "\"18745000\" is beyond 1 km: is a decimal point missing?");
    assert_eq!(
        says("5 tenths"),
        "\"5 tenths\" is in \"tenths\", which mean one length in inches and another in millimetres: type it in inches \
         or millimetres: 0.0005 in, 0.5 mm"
    );
}

#[test]
fn digits_beyond_a_nanometre_stay_in_the_millimetres() {
    let mean = read("47.6120003333333333333333", Unit::Millimetre).unwrap();
    assert_eq!(mean.length.nm(), 47_612_000);
    assert_eq!(mean.mm, 47.612_000_333_333_335); // the nearest double, by the standard library's own reading
    // 25.4 · 1.87451 is 47.612554 exactly; multiplying doubles gives a neighbour of the nearest one now and then.
    assert_eq!(read("1.87451", Unit::Inch).unwrap().mm, 47.612_554);
}

#[test]
fn departures_land_on_the_size() {
    let reference = Length::from_nm(53_975_000); // 2.1250 in
    let cases = [
        ("-3.5", Departure::Thou, 53_886_100, Unit::Inch, 4),
        ("+2", Departure::Thou, 54_025_800, Unit::Inch, 3),
        ("-1/2", Departure::Thou, 53_962_300, Unit::Inch, 0),
        ("-5 tenths", Departure::Thou, 53_962_300, Unit::Inch, 4),
        ("-0.0035 in", Departure::Hundredths, 53_886_100, Unit::Inch, 4),
        ("-3,5", Departure::Hundredths, 53_940_000, Unit::Millimetre, 3),
        ("0", Departure::Hundredths, 53_975_000, Unit::Millimetre, 2),
    ];
    for (typed, step, nm, unit, decimals) in cases {
        let found = read_departure(typed, reference, step).unwrap();
        assert_eq!((found.length.nm(), found.unit, found.decimals), (nm, unit, decimals), "{typed}");
        assert_eq!(found.mm, found.length.mm(), "{typed}");
        assert_eq!(found.typed, typed);
    }
    assert_eq!(read_departure("x", reference, Departure::Thou).unwrap_err().fault, ReadFault::NoNumber);
    let far = Length::from_nm(i64::MAX);
    assert_eq!(read_departure("1", far, Departure::Thou).unwrap_err().fault, ReadFault::TooLarge);
    let fine = read_departure("1e-37", far, Departure::Thou);
    assert_eq!(fine.unwrap_err().fault, ReadFault::TooManyDigits);
}

/// Source of the text: NIST StRD, analysis of variance, SmLs07, whose readings are 1e12 and a few tenths.
#[test]
fn a_plain_decimal_keeps_every_digit() {
    assert_eq!(decimal("1000000000000.4").unwrap(), (10_000_000_000_004, 1));
    assert_eq!(decimal(" -1,40 ").unwrap(), (-140, 2));
    assert_eq!(decimal("1e-05").unwrap(), (1, 5));
    assert_eq!(decimal("1.5e3").unwrap(), (1_500, 0));
    assert_eq!(decimal(&"9".repeat(30)).unwrap(), (10i128.pow(30) - 1, 0));
    for refused in ["1.5 mm", "7/8", "", "nan", "1.2.3"] {
        assert!(decimal(refused).is_err(), "{refused:?}");
    }
}

/// Text made of what lengths are made of, so that much of it nearly is one.
const NEARLY: &str = "[-+0-9.,/ eE\u{2212}\u{a0}\u{b5}\"'inmuthos]{0,24}";

proptest! {
    #[test]
    fn tenths_of_a_thou_survive_print_and_read(tenths in -400_000i64..400_000) {
        let length = Length::from_nm(tenths * 2_540);
        prop_assert_eq!(read(&length.show(Unit::Inch, 4), Unit::Inch).unwrap().length, length);
    }

    #[test]
    fn nanometres_survive_print_and_read(nm in -1_000_000_000_000i64..=1_000_000_000_000) {
        let length = Length::from_nm(nm);
        let found = read(&length.show(Unit::Millimetre, 6), Unit::Inch.other()).unwrap();
        prop_assert_eq!(found.length, length);
        prop_assert_eq!(found.mm, length.mm());
        prop_assert_eq!(found.decimals, 6);
        // An inch has more places than a nanometre needs, so this comes back too.
        prop_assert_eq!(read(&length.show(Unit::Inch, 9), Unit::Inch).unwrap().length, length);
    }

    /// Second route: the standard library's decimals for the order.
    #[test]
    fn order_is_kept(a in "-?[0-9]{1,3}\\.[0-9]{0,9}", b in "-?[0-9]{1,3}\\.[0-9]{0,9}") {
        for unit in [Unit::Inch, Unit::Millimetre] {
            let (x, y) = (read(&a, unit).unwrap(), read(&b, unit).unwrap());
            if a.parse::<f64>().unwrap() <= b.parse::<f64>().unwrap() {
                prop_assert!(x.length <= y.length && x.mm <= y.mm);
            }
        }
    }

    /// Second route: digit by digit, each worth its place in nanometres. Five places of an inch are whole nanometres.
    #[test]
    fn value_agrees_with_place_values(whole in 0u32..9999, places in proptest::collection::vec(0u8..10, 0..=5)) {
        let rest: String = places.iter().map(|d| char::from(b'0' + d)).collect();
        let typed = format!("{whole}.{rest}");
        for (unit, one) in [(Unit::Inch, 25_400_000), (Unit::Millimetre, 1_000_000)] {
            let mut nm = i64::from(whole) * one;
            let mut place = one;
            for &digit in &places {
                place /= 10;
                nm += i64::from(digit) * place;
            }
            let found = read(&typed, unit).unwrap();
            prop_assert_eq!(found.length.nm(), nm);
            // Two exact doubles, divided once.
            prop_assert_eq!(found.mm, nm as f64 / 1e6);
            prop_assert_eq!(found.decimals as usize, places.len());
        }
    }

    /// Second route: the standard library reads the same decimal.
    #[test]
    fn millimetres_are_correctly_rounded(typed in "[0-9]{1,4}\\.[0-9]{1,20}(e-[0-9]|e1)?") {
        let found = read(&typed, Unit::Millimetre).unwrap();
        prop_assert_eq!(found.mm, typed.parse::<f64>().unwrap());
        prop_assert!((found.length.mm() - found.mm).abs() <= 0.501e-6);
    }

    #[test]
    fn fractions_agree_with_decimals(whole in 0u32..100, eighths in 0u32..8, power in 0u32..5) {
        let under = 8 << power;
        let fraction = read(&format!("{whole} {eighths}/{under}"), Unit::Inch).unwrap();
        let decimal = read(&format!("{}", f64::from(whole) + f64::from(eighths) / f64::from(under)), Unit::Inch).unwrap();
        prop_assert_eq!((fraction.length, fraction.mm), (decimal.length, decimal.mm));
    }

    #[test]
    fn the_point_may_be_a_comma(typed in "[0-9]{0,4}\\.[0-9]{1,6}( mm| in|\"| thou)?") {
        let (point, comma) = (read(&typed, Unit::Inch).unwrap(), read(&typed.replace('.', ","), Unit::Inch).unwrap());
        prop_assert_eq!((point.length, point.mm, point.decimals), (comma.length, comma.mm, comma.decimals));
    }

    #[test]
    fn a_sign_turns_the_length_over(typed in "[0-9]{1,4}(\\.[0-9]{1,9})?") {
        let (plus, minus) = (read(&typed, Unit::Inch).unwrap(), read(&format!("-{typed}"), Unit::Inch).unwrap());
        prop_assert_eq!((plus.length, plus.mm), (-minus.length, -minus.mm));
    }

    #[test]
    fn a_departure_is_reference_and_length(reference in -10_000_000_000i64..10_000_000_000, typed in "-?[0-9]{1,3}(\\.[0-9]{1,2})?") {
        let reference = Length::from_nm(reference);
        let found = read_departure(&typed, reference, Departure::Thou).unwrap();
        prop_assert_eq!(found.length, reference + read(&format!("{typed} thou"), Unit::Inch).unwrap().length);
    }

    #[test]
    fn no_text_panics_and_what_reads_is_sound(typed in prop_oneof![any::<String>(), NEARLY]) {
        for unit in [Unit::Inch, Unit::Millimetre] {
            if let Ok(found) = read(&typed, unit) {
                prop_assert_eq!(&found.typed, &typed);
                prop_assert!((found.mm - found.length.mm()).abs() <= 0.501e-6);
                prop_assert!(found.mm.abs() <= 1e6);
            }
        }
        for step in [Departure::Thou, Departure::Hundredths] {
            for nm in [0, 53_975_000, i64::MAX, i64::MIN] {
                let _ = read_departure(&typed, Length::from_nm(nm), step).map_err(|wrong| wrong.to_string());
            }
        }
        let _ = decimal(&typed);
    }
}
