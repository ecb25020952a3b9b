use gauge::Instrument;
use gauge::budget::{
    Budget, BudgetError, Part, arcsine, correlations, covariance_of_means, covariance_of_results, coverage_factor,
    degrees_of_freedom_of_trust, from_expanded, rectangular, repeated, resolution, triangular,
};
use units::Unit;

use crate::close;

/// JCGM 100:2008, H.1, from its inputs, in nanometres.
fn end_gauge() -> Budget {
    let standard = from_expanded(75.0, 3.0).unwrap();
    // The printed 5.8, 3.9 and 6.7 nm go in, as they did into the outside computation. Where they come from:
    close(13.0 / 5f64.sqrt(), 5.8, 0.05);
    close(10.0 / coverage_factor(0.95, 5.0).unwrap(), 3.9, 0.05);
    close(20.0 / 3.0, 6.7, 0.05);
    let difference = Budget::new("the difference")
        .with(Part::new("mean of five", 5.8).with_degrees_of_freedom(24.0))
        .with(Part::new("comparator, random", 3.9).with_degrees_of_freedom(5.0))
        .with(Part::new("comparator, systematic", 6.7).with_degrees_of_freedom(degrees_of_freedom_of_trust(0.25)));
    // Source for these two: GTC 1.5.1.
    close(difference.combined(), 9.681_941_954, 5e-7);
    close(difference.effective_degrees_of_freedom(), 25.447_250_777, 5e-6);
    let length = 50_000_623.0;
    Budget::new("the end gauge")
        .with(Part::new("standard", standard).with_value(length).with_degrees_of_freedom(18.0))
        .with(
            Part::new("difference", difference.combined())
                .with_value(215.0)
                .with_degrees_of_freedom(difference.effective_degrees_of_freedom()),
        )
        .with(Part::new("expansion of the standard", rectangular(2e-6)).with_value(11.5e-6).with_sensitivity(0.0))
        .with(Part::new("bench", 0.2f64.hypot(arcsine(0.5))).with_value(-0.1).with_sensitivity(0.0))
        .with(
            Part::new("difference of expansion", rectangular(1e-6))
                .with_sensitivity(length * 0.1)
                .with_degrees_of_freedom(degrees_of_freedom_of_trust(0.1)),
        )
        .with(
            Part::new("difference of temperature", rectangular(0.05))
                .with_sensitivity(-length * 11.5e-6)
                .with_degrees_of_freedom(degrees_of_freedom_of_trust(0.5)),
        )
}

/// Source: JCGM 100:2008, H.1: uc 32 nm, 16 degrees of freedom, t99 2.92, U99 93 nm. The longer figures: GTC 1.5.1 and
/// metrolopy 1.1.1, which agree with each other.
/// Tolerance: half the last figure given, on either.
#[test]
fn gum_h1_end_gauge() {
    let budget = end_gauge();
    close(budget.combined(), 32.0, 0.5);
    close(budget.combined(), 31.663_879_111, 5e-7);
    close(budget.effective_degrees_of_freedom(), 16.751_855_738, 5e-6);
    let at_99 = budget.expanded(0.99).unwrap();
    close(at_99.factor, 2.92, 0.005);
    close(at_99.factor, 2.920_782, 5e-7);
    // The Guide multiplies the printed 32 nm; unrounded it is 92.5.
    close(at_99.factor * 32.0, 93.465, 5e-4);
    close(at_99.uncertainty, 93.0, 1.0);
    close(at_99.degrees_of_freedom, 16.75, 0.005);
}

/// (degrees of freedom, level, factor)
const MANY_DEGREES: [(f64, f64, f64); 6] = [
    (100.0, 0.95, 1.983971518524),
    (999.0, 0.95, 1.962341461133),
    (1000.0, 0.95, 1.962339080826),
    (1000.0, 0.9973, 3.007494111289),
    (50000.0, 0.99, 2.575927638035),
    (2000000.0, 0.95, 1.959965170676),
];

/// Source: Student's t quantiles, JCGM 100:2008, table G.2, and SciPy 1.17.1 for the longer ones.
#[test]
fn coverage_factors_are_those_of_table_g2() {
    let table = [
        (1.0, 0.95, 12.71),
        (2.0, 0.95, 4.30),
        (5.0, 0.95, 2.57),
        (10.0, 0.6827, 1.05),
        (10.0, 0.99, 3.17),
        (20.0, 0.90, 1.72),
        (50.0, 0.9545, 2.05),
        (100.0, 0.95, 1.984),
        (f64::INFINITY, 0.95, 1.960),
        (f64::INFINITY, 0.9973, 3.000),
    ];
    for (degrees, level, printed) in table {
        close(coverage_factor(level, degrees).unwrap(), printed, 0.005);
    }
    close(coverage_factor(0.95, 16.9).unwrap(), 2.119_905, 5e-7);
    // From a thousand degrees of freedom a series stands in; the join must not show. A factor falls by (z³ + z)/4ν² a
    // step: 2.4e-6 at 1.96.
    let step = coverage_factor(0.95, 999.0).unwrap() - coverage_factor(0.95, 1000.0).unwrap();
    close(step, 2.377e-6, 1e-7);
    // Source: mpmath, from the incomplete beta function; 30 digits.
    for (degrees, level, exact) in MANY_DEGREES {
        close(coverage_factor(level, degrees).unwrap(), exact, 1e-9);
    }
    for (level, degrees) in [(0.0, 5.0), (1.0, 5.0), (0.95, 0.0), (0.95, -1.0), (f64::NAN, 5.0), (0.95, f64::NAN)] {
        assert_eq!(coverage_factor(level, degrees), None, "{level} {degrees}");
    }
    // Less than one degree of freedom counts as one.
    assert_eq!(coverage_factor(0.95, 0.3), coverage_factor(0.95, 1.0));
}

const VOLTS: [f64; 5] = [5.007, 4.994, 5.005, 4.990, 4.999];
const MILLIAMPS: [f64; 5] = [19.663, 19.639, 19.640, 19.685, 19.678];
const PHASE: [f64; 5] = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

/// Source: JCGM 100:2008, H.2, tables H.2 and H.4. Printed: R 127.732 (0.071), X 219.847 (0.295), Z 254.260 (0.236);
/// r(R,X) −0.588, r(R,Z) −0.485, r(X,Z) 0.993. Longer figures: GTC 1.5.1.
/// Tolerance: half the last figure given. X's 0.295 is printed from rounded inputs; unrounded it is 0.2956.
#[test]
fn gum_h2_resistance_and_reactance() {
    let amps = MILLIAMPS.map(|ma| ma / 1000.0);
    let v = repeated(&VOLTS).unwrap();
    let i = repeated(&amps).unwrap();
    let phi = repeated(&PHASE).unwrap();
    close(v.mean, 4.9990, 5e-5);
    close(v.sd_of_mean, 0.003_209_361_307, 5e-13);
    close(i.mean, 0.019_661_0, 5e-8);
    close(i.sd_of_mean, 9.471_008_394e-6, 5e-16);
    close(phi.mean, 1.044_46, 5e-6);
    close(phi.sd_of_mean, 0.000_752_063_827, 5e-13);
    assert_eq!(phi.degrees_of_freedom, 4.0);

    let covariance = covariance_of_means(&[&VOLTS, &amps, &PHASE]).unwrap();
    let r = correlations(&covariance);
    close(r[0][1], -0.355_311_220, 5e-10);
    close(r[0][2], 0.857_624_211, 5e-10);
    close(r[1][2], -0.645_111_218, 5e-10);
    close(r[1][1], 1.0, 0.0);

    let z = v.mean / i.mean;
    let (cos, sin) = (phi.mean.cos(), phi.mean.sin());
    let sensitivities = [
        vec![cos / i.mean, -z * cos / i.mean, -z * sin],
        vec![sin / i.mean, -z * sin / i.mean, z * cos],
        vec![1.0 / i.mean, -z / i.mean, 0.0],
    ];
    close(z * cos, 127.732_169_928, 5e-9);
    close(z * sin, 219.846_511_913, 5e-9);
    close(z, 254.259_701_948, 5e-9);
    let results = covariance_of_results(&sensitivities, &covariance).unwrap();
    for (k, (exact, printed)) in
        [(0.071_071_407_397, 0.071), (0.295_581_677_359, 0.295), (0.236_336_130_082, 0.236)].into_iter().enumerate()
    {
        close(results[k][k].sqrt(), exact, 5e-11);
        close(results[k][k].sqrt(), printed, 1e-3);
        // The same through a budget and the correlations.
        let budget = sensitivities[k].iter().zip([v, i, phi]).fold(Budget::new("one"), |budget, (c, input)| {
            budget.with(Part::new("input", input.sd_of_mean).with_sensitivity(*c).with_degrees_of_freedom(4.0))
        });
        close(budget.combined_correlated(&r).unwrap(), exact, 5e-11);
    }
    let r = correlations(&results);
    close(r[0][1], -0.588_429_784, 5e-10);
    close(r[0][2], -0.485_259_224, 5e-10);
    close(r[1][2], 0.992_511_649, 5e-10);
}

/// Source: JCGM 100:2008, 4.3.7, 4.3.9, F.2.2.1, G.4.2; reading steps of common micrometers.
#[test]
fn distributions_have_the_guides_divisors() {
    close(rectangular(1.0), 0.577_350, 5e-7);
    close(triangular(1.0), 0.408_248, 5e-7);
    close(arcsine(0.5), 0.353_553, 5e-7);
    close(degrees_of_freedom_of_trust(0.25), 8.0, 1e-12);
    assert_eq!(from_expanded(75.0, 3.0), Some(25.0));
    assert_eq!(from_expanded(75.0, 0.0), None);
    // 0.01 mm, 0.001 mm, 0.001 in, 0.0001 in; micrometres.
    for (step_mm, um) in [(0.01, 2.887), (0.001, 0.2887), (0.0254, 7.332), (0.00254, 0.7332)] {
        close(resolution(step_mm) * 1000.0, um, 5e-4);
    }
}

#[test]
fn correlation_one_adds_and_correlation_minus_one_takes_away() {
    let two = Budget::new("two").with(Part::new("a", 3.0)).with(Part::new("b", 4.0));
    let with = |r: f64| two.combined_correlated(&[vec![1.0, r], vec![r, 1.0]]);
    close(two.combined(), 5.0, 1e-15);
    close(with(0.0).unwrap(), 5.0, 1e-15);
    close(with(1.0).unwrap(), 7.0, 1e-15);
    close(with(-1.0).unwrap(), 1.0, 1e-15);
    assert_eq!(with(-1.1), Err(BudgetError::Impossible));
    assert_eq!(two.combined_correlated(&[vec![1.0]]), Err(BudgetError::Mismatch { expected: 2, found: 1 }));
    assert_eq!(Budget::new("none").combined_correlated(&[]), Ok(0.0));
}

#[test]
fn shared_parts_are_kept_apart() {
    let budget = Budget::new("x").with(Part::new("a", 3.0)).with(Part::new("b", 4.0).shared());
    assert_eq!((budget.own(), budget.common(), budget.combined()), (3.0, 4.0, 5.0));
    assert_eq!(budget.effective_degrees_of_freedom(), f64::INFINITY);
    assert_eq!(Budget::new("nothing").effective_degrees_of_freedom(), f64::INFINITY);
}

#[test]
fn series_that_cannot_be_evaluated_are_said() {
    assert_eq!(repeated(&[1.0]), Err(BudgetError::TooFewReadings { found: 1 }));
    assert_eq!(repeated(&[1.0, f64::INFINITY]), Err(BudgetError::NotANumber { place: 2 }));
    assert_eq!(
        covariance_of_means(&[&[1.0, 2.0], &[1.0, 2.0, 3.0]]),
        Err(BudgetError::Mismatch { expected: 2, found: 3 })
    );
    assert_eq!(covariance_of_means(&[]), Ok(vec![]));
    assert_eq!(correlations(&[vec![]]), vec![Vec::<f64>::new()]);
    assert_eq!(
        covariance_of_results(&[vec![1.0]], &[vec![1.0, 0.0], vec![0.0, 1.0]]),
        Err(BudgetError::Mismatch { expected: 2, found: 1 })
    );
}

#[test]
fn a_budget_reads_at_the_bench() {
    let mic = Instrument::shop_default(Unit::Inch);
    assert_eq!(
        mic.budget(47.6, 2).in_words(Unit::Inch),
        "How far a size measured with shop default may be off (standard uncertainties)\n\
         \x20 scale, within its error limit   0.000058 in   62 %  same in every reading\n\
         \x20 repeatability                   0.000035 in   23 %  each reading its own\n\
         \x20 rounding to a graduation        0.000029 in   15 %  each reading its own\n\
         \x20 together                        0.000074 in\n\
         So a size measured with shop default is known to ± 0.00014 in with 95 % confidence (factor 1.96).\n"
    );
    let mut metric = Instrument::shop_default(Unit::Millimetre);
    metric.part_temperature_c = Some(28.0);
    let text = metric.budget(60.0, 1).in_words(Unit::Millimetre);
    // The instrument's temperature was not taken, and and 5 K on 60 mm of steel weigh heavily: 3.45 µm / √3, squared
    // 3.9675 of 11.1769 µm².
    assert!(
        text.contains("  temperature of the instrument             2.0 µm   35 %  same in every reading\n"),
        "{text}"
    );
}

/// 0.1 and 0.6 against 0.7, all moving together: nothing is left, and in floating point a little less than nothing.
#[test]
fn what_cancels_to_the_last_bit_is_nothing_and_not_impossible() {
    let parts = [0.1, 0.6, 0.7].map(|u| Part::new("part", u));
    let budget = parts.into_iter().fold(Budget::new("three"), Budget::with);
    let r = [vec![1.0, 1.0, -1.0], vec![1.0, 1.0, -1.0], vec![-1.0, -1.0, 1.0]];
    assert_eq!(budget.combined_correlated(&r), Ok(0.0));
}
