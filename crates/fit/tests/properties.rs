//! Whatever is put in, an answer comes out.

mod kit;

use crank::SetName;
use fit::{Bore, Crush, Found, Half, Measured, Shell, Shells, Side, Thrust, Washer};
use proptest::prelude::*;
use units::{Entry, Unit};

/// Sizes as they might be typed, and what no bench ever sees.
fn size() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => 1.0f64..3.0,
        2 => 0.05f64..0.15,
        1 => prop_oneof![Just(0.0), Just(-1.0), Just(1e30), Just(f64::NAN), Just(f64::INFINITY), Just(5e-324)],
    ]
}

fn entry(inches: f64) -> Entry {
    Entry { mm: inches * 25.4, ..units::read("1.0000", Unit::Inch).unwrap() }
}

fn measured() -> impl Strategy<Value = Measured> {
    (prop::collection::vec(size(), 1..3), 0usize..5)
        .prop_map(|(sizes, with)| Measured { sizes: sizes.into_iter().map(entry).collect(), with })
}

fn journal() -> impl Strategy<Value = crank::JournalId> {
    (any::<bool>(), 1usize..=4).prop_map(|(main, number)| if main { kit::main(number) } else { kit::pin(number) })
}

fn bores() -> impl Strategy<Value = Vec<Bore>> {
    let one = (journal(), -10.0f64..10.0, -400.0f64..400.0, measured(), prop::option::of(size()));
    prop::collection::vec(
        one.prop_map(|(journal, at_mm, plane_deg, size, shells)| Bore {
            journal,
            at_mm,
            plane_deg,
            size,
            shells: shells.map_or(Shells::Out, |u| Shells::In { undersize_mm: u }),
        }),
        0..8,
    )
}

fn shells() -> impl Strategy<Value = Vec<Shell>> {
    let half = prop_oneof![Just(Half::Upper), Just(Half::Lower), Just(Half::Either)];
    let undersize = prop_oneof![Just(0.0), Just(0.010), Just(0.25 / 25.4), size()];
    let one =
        (any::<bool>(), prop::option::of(journal()), half, prop::option::of(undersize), prop::option::of(measured()));
    prop::collection::vec(
        one.prop_map(|(main, journal, half, undersize, wall)| Shell {
            name: "a".to_owned(),
            set: journal.map_or(if main { SetName::Main } else { SetName::Pin }, |j| j.set),
            journal,
            half,
            undersize: undersize.map(entry),
            wall,
        }),
        0..12,
    )
}

fn thrust() -> impl Strategy<Value = Thrust> {
    let washer =
        || prop::option::of((measured(), size()).prop_map(|(thickness, o)| Washer { thickness, oversize_mm: o }));
    (prop::option::of(measured()), prop::option::of(measured()), washer(), washer(), prop::option::of(size())).prop_map(
        |(width, housing, front, rear, float_mm)| Thrust {
            journal: kit::main(3),
            width,
            housing,
            front,
            rear,
            float_mm,
        },
    )
}

fn anything() -> impl Strategy<Value = Found> {
    let crush =
        prop::collection::vec((journal(), size()).prop_map(|(journal, gap_mm)| Crush { journal, gap_mm }), 0..3);
    let side = (1usize..=4, measured(), prop::collection::vec(measured(), 0..3))
        .prop_map(|(number, width, rods)| Side { journal: kit::pin(number), width, rods });
    (bores(), shells(), crush, prop::collection::vec(side, 0..3), prop::option::of(thrust()))
        .prop_map(|(bores, shells, crush, sides, thrust)| Found { bores, shells, crush, sides, thrust })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_input_panics_and_no_chance_is_beyond_its_bounds(found in anything(), main_in in 2.08f64..2.13, with in 0usize..5) {
        let specification = kit::tarn_four();
        let findings = kit::findings(main_in, 1.8747, with);
        let book = kit::book();
        let engine = fit::Engine {
            specification: &specification,
            findings: &findings,
            found: &found,
            book: &book,
            wanted: fit::Wanted::default(),
            unit: Unit::Inch,
        };
        for aim in fit::aims(&engine).into_iter().flatten() {
            prop_assert!(aim.window.low_mm <= aim.target_mm && aim.target_mm <= aim.window.high_mm);
        }
        let rule = regrind::Policy { draws: 20, ..kit::policy() };
        let fit = fit::fit(&engine, None, &rule);
        for bearing in &fit.bearings {
            for clearance in [&bearing.as_found, &bearing.as_planned].into_iter().flatten() {
                if let Some(chance) = clearance.within {
                    prop_assert!(chance.hits <= chance.draws);
                }
            }
        }
        // As text, for what is not a number equals nothing.
        let again = fit::fit(&engine, None, &rule);
        prop_assert_eq!(format!("{fit:?}"), format!("{again:?}"), "the same seed, the same answer");
    }

    /// Moving every bore and every journal by the same length moves no clearance.
    #[test]
    fn only_differences_count(by_in in -0.0005f64..0.0005, bore_in in 2.2700f64..2.2715) {
        let clearance = |bore: f64, journal: f64| {
            let found = kit::found([bore; 5], "0", 0.0718);
            let (_, fit) = kit::answer(&kit::findings(journal, 1.8747, kit::EXACT), &found, &kit::book());
            fit.bearings[0].as_found.clone().map(|c| c.across.mean_mm)
        };
        let here = clearance(bore_in, 2.1245);
        let there = clearance(bore_in + by_in, 2.1245 + by_in);
        // The sizes are typed to five decimals of an inch.
        prop_assert!((here.unwrap() - there.unwrap()).abs() < 1.1e-5 * 25.4);
    }
}
