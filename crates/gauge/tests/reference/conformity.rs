use gauge::conformity::{Limits, Outcome, Rule, capability_index, guard_band, worst_accepted_risk};
use statrs::distribution::{Continuous, Gamma, Normal};

use crate::close;

/// Source: JCGM 106:2012, examples of section 7 (inputs from memory, arithmetic checked independently): Zener diode,
/// burst pressure, oil viscosity. Printed 0.92, 0.99, 0.66.
/// Tolerance: the last figure of the independent computation.
#[test]
fn conformance_probabilities_of_jcgm_106() {
    let zener = Limits::up_to(-5.40).chance(-5.47, 0.05);
    close(zener, 0.92, 0.005);
    close(zener, 0.919_243_340_766, 1e-11);
    let burst = Limits::from(490.0).chance(509.7, 8.6);
    close(burst, 0.99, 0.005);
    close(burst, 0.989_009_547, 5e-9);
    let oil = Limits::between(12.5, 16.3).chance(13.6, 1.8);
    close(oil, 0.66, 0.005);
    close(oil, 0.662_629_786_495, 1e-11);
}

/// Source: JCGM 106:2012, table 1: z for a chance at one limit.
#[test]
fn table_1_of_jcgm_106() {
    for (chance, z) in [(0.80, 0.8416), (0.90, 1.2816), (0.95, 1.6449), (0.99, 2.3263), (0.999, 3.0902)] {
        close(Limits::up_to(0.0).chance(-z, 1.0), chance, 2e-5);
    }
}

/// Source: JCGM 106:2012, 9.5.4, ball bearings: run-out up to 2 µm, gamma prior of shape 4 and rate 4, measured with
/// 0.25 µm. Printed: 4.2 % bad, Rc 0.8 %, Rp 1.7 %; for Rc = 0.1 % the limit moves to 1.67 µm, Rp 7.5 % (also in
/// sandialabs/suncal, Risk - Ball Bearing). Longer figures: SciPy 1.17.1.
/// Tolerance: the last figure given.
#[test]
fn ball_bearings_of_jcgm_106() {
    let gamma = Gamma::new(4.0, 4.0).unwrap();
    let prior = |x: f64| gamma.pdf(x);
    let limits = Limits::up_to(2.0);
    // Beyond 15 µm the prior has 1e-21 left.
    let range = (0.0, 15.0);
    let simple = limits.risks(limits, prior, range, 0.25);
    close(simple.bad, 0.042_380_112, 5e-10);
    close(simple.accepted_bad, 0.008_019_112, 5e-10);
    close(simple.refused_good, 0.017_444_569, 5e-10);
    let guard = limits.guard_for_accepted_bad(0.001, prior, range, 0.25).unwrap();
    close(2.0 - guard, 1.67, 0.005);
    close(2.0 - guard, 1.671_828_771_6, 5e-8);
    let guarded = limits.risks(limits.guarded(guard).unwrap(), prior, range, 0.25);
    close(guarded.accepted_bad, 0.001, 1e-9);
    close(guarded.refused_good, 0.075_493_876, 5e-8);
    assert_eq!(limits.guard_for_accepted_bad(0.001, prior, range, 0.0), None);
    assert_eq!(limits.guard_for_accepted_bad(0.9, prior, range, 0.25), None);
}

/// Source: the resistor of JCGM 106:2012, 9.5 (process sd 0.12, uncertainty 0.04, ± 0.2; inputs from memory, computed
/// by SciPy 1.17.1), and Deaver's table quoted in sandialabs/suncal test/test_risk.py: limits at two process standard
/// deviations, ratio 4: 0.8 % and 1.5 %; ratio 2 with a guard factor of 0.91: 0.8 % and 6.6 %.
/// Tolerance: half the last figure.
#[test]
fn risks_between_two_limits() {
    let risks = |sd: f64, u: f64, limit: f64, accept: f64| {
        let normal = Normal::new(0.0, sd).unwrap();
        let limits = Limits::between(-limit, limit);
        limits.risks(Limits::between(-accept, accept), |x| normal.pdf(x), (-10.0 * sd, 10.0 * sd), u)
    };
    let resistor = risks(0.12, 0.04, 0.2, 0.2);
    close(resistor.bad, 0.095_580_705, 5e-10);
    close(resistor.accepted_bad, 0.018_942_207, 5e-10);
    close(resistor.refused_good, 0.037_207_800, 5e-10);
    let four = risks(1.0, 0.25, 2.0, 2.0);
    close(four.accepted_bad, 0.008, 5e-4);
    close(four.refused_good, 0.015, 5e-4);
    close(four.accepted_bad, 0.008_006_085, 5e-10);
    close(four.refused_good, 0.014_850_884, 5e-10);
    let two = risks(1.0, 0.5, 2.0, 0.91 * 2.0);
    close(two.accepted_bad, 0.008_051_609, 5e-10);
    close(two.refused_good, 0.066_106_452, 5e-10);
    let wider = risks(1.0, 0.25, 2.5, 2.5);
    close(wider.accepted_bad, 0.002_5, 5e-4);
}

/// Source: JCGM 106:2012, 8.3 and 9.3; the shares are independent computation. ILAC-G8:09/2019: simple acceptance below
/// 50 %, guard band U below 2.5 %.
#[test]
fn a_guard_band_holds_the_risk_of_an_accepted_size() {
    for (factor, risk) in [(1.0, 0.022_750_132), (0.83, 0.048_457_226), (0.5, 0.158_655_254), (0.0, 0.5)] {
        close(worst_accepted_risk(factor), risk, 5e-10);
        let limits = Limits::up_to(10.0);
        let last = limits.guarded(guard_band(factor, 0.3)).unwrap().high.unwrap();
        close(1.0 - limits.chance(last, 0.3), risk, 5e-10);
    }
    // Cm of 1: a size in the middle is within with 95 in 100.
    close(capability_index(0.4, 0.1), 1.0, 1e-12);
    close(Limits::between(0.0, 0.4).chance(0.2, 0.1), 0.954_5, 5e-5);
}

/// Source: N(10, 0.4) in 9 to 11: 1.242 % out; N(10.5, 0.4): 10.574 % (sandialabs/suncal test/test_risk.py).
#[test]
fn a_spread_between_limits() {
    close(1.0 - Limits::between(9.0, 11.0).chance(10.0, 0.4), 0.012_42, 5e-6);
    close(1.0 - Limits::between(9.0, 11.0).chance(10.5, 0.4), 0.105_74, 5e-6);
}

#[test]
fn three_outcomes_under_each_rule() {
    use Outcome::{Outside, TooCloseToCall, Within};
    // 1.8745 to 1.8750 in, standard uncertainty 0.00005 in.
    let limits = Limits::between(1.8745, 1.8750);
    let band = Rule::GuardBand { factor: 1.0 };
    let simple = Rule::GuardBand { factor: 0.0 };
    for (size, usual, guarded, plain) in [
        (1.87475, Within, Within, Within),
        (1.87459, Within, TooCloseToCall, Within),
        (1.87455, TooCloseToCall, TooCloseToCall, Within),
        (1.87445, TooCloseToCall, TooCloseToCall, Outside),
        (1.87441, Outside, TooCloseToCall, Outside),
        (1.8743, Outside, Outside, Outside),
        (1.8752, Outside, Outside, Outside),
    ] {
        assert_eq!(Rule::USUAL.judge(size, 0.00005, limits), usual, "usual rule, {size}");
        assert_eq!(band.judge(size, 0.00005, limits), guarded, "guard band, {size}");
        assert_eq!(simple.judge(size, 0.00005, limits), plain, "simple acceptance, {size}");
    }
    // Exactly at a limit the limit is kept.
    assert_eq!(simple.judge(1.8745, 0.0, limits), Within);
    assert_eq!(Rule::USUAL.judge(1.8745, 0.0, limits), Within);
    assert_eq!(Rule::USUAL.judge_chance(0.95), Within);
    assert_eq!(Rule::USUAL.judge_chance(0.05), Outside);
    // A band wider than the limits accepts nothing, yet a size well beyond is still outside.
    assert_eq!(limits.guarded(0.0003), None);
    assert_eq!(band.judge(1.87475, 0.00015, limits), TooCloseToCall);
    assert_eq!(band.judge(1.8741, 0.00015, limits), Outside);
    for rule in [Rule::USUAL, band, simple] {
        let rubbish = rule.judge(f64::NAN, 0.1, limits);
        assert_eq!(rubbish, TooCloseToCall, "{rule}");
        assert_eq!(rule.judge(1.8, f64::NAN, limits), if rule == simple { rubbish } else { TooCloseToCall });
    }
    // Without limits everything is within.
    assert_eq!(Rule::USUAL.judge(5.0, 1.0, Limits::default()), Within);
}

#[test]
fn a_rule_says_what_it_is() {
    assert_eq!(
        Rule::USUAL.to_string(),
        "within at 95 in 100 or better, outside at 5 in 100 or worse, else too close to call"
    );
    assert_eq!(
        Rule::GuardBand { factor: 0.83 }.to_string(),
        "too close to call within 0.83 expanded uncertainties (k = 2) of a limit"
    );
    assert_eq!(
        Rule::GuardBand { factor: 0.0 }.to_string(),
        "within when the size found is within the limits, else outside"
    );
    assert_eq!(Outcome::TooCloseToCall.to_string(), "too close to call");
}

/// A guard band of one expanded uncertainty assures 97.72 in 100 at one limit: Φ(2) of any table. So a chance of 0.975 is too
/// close to call, and so is 0.025.
#[test]
fn a_guard_band_judges_a_chance_by_twice_its_factor() {
    let rule = Rule::GuardBand { factor: 1.0 };
    for (chance, expected) in [
        (0.978, Outcome::Within),
        (0.975, Outcome::TooCloseToCall),
        (0.025, Outcome::TooCloseToCall),
        (0.022, Outcome::Outside),
    ] {
        assert_eq!(rule.judge_chance(chance), expected, "{chance}");
    }
}

/// An uncertainty of 0.002 keeps 0.004 clear of either limit: of 63.98 to 64.00, from 63.984 to 63.996 is within, below 63.976
/// and above 64.004 outside.
#[test]
fn a_guard_band_stands_at_both_limits() {
    let rule = Rule::GuardBand { factor: 1.0 };
    let judge = |size: f64| rule.judge(size, 0.002, Limits::between(63.98, 64.00));
    for (size, expected) in [
        (63.975, Outcome::Outside),
        (63.977, Outcome::TooCloseToCall),
        (63.983, Outcome::TooCloseToCall),
        (63.985, Outcome::Within),
        (63.995, Outcome::Within),
        (63.997, Outcome::TooCloseToCall),
        (64.003, Outcome::TooCloseToCall),
        (64.005, Outcome::Outside),
    ] {
        assert_eq!(judge(size), expected, "{size}");
    }
}
