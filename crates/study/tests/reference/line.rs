use study::line::{Line, LineError};

use crate::{close, digits_alike, number, rows};

const T: [f64; 11] = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
const B: [f64; 11] = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];

/// Source: JCGM 100:2008, H.3, thermometer line about 20 °C: printed −0.1712(29), 0.00218(67), r −0.930, at 30 °C
/// −0.1494(41), 9 degrees of freedom. The longer figures are those of GTC 1.5.1 and statsmodels 0.15.0, which agree.
/// Tolerance: the last figure given.
#[test]
fn gum_h3_thermometer() {
    let points: Vec<(f64, f64)> = T.iter().map(|t| t - 20.0).zip(B).collect();
    let line = Line::fit(&points).unwrap();
    let y1 = line.intercept();
    close(y1.value, -0.1712, 5e-5);
    close(y1.value, -0.171_203_790, 5e-10);
    close(y1.standard_uncertainty, 0.002_877_598, 5e-10);
    close(line.slope, 0.002_182_697_740, 5e-13);
    close(line.slope_uncertainty(), 0.000_667_938_773, 5e-13);
    close(line.correlation_with_slope(0.0), -0.930_429_603, 5e-10);
    let product = y1.standard_uncertainty * line.slope_uncertainty();
    close(line.covariance_with_slope(0.0) / product, -0.930_429_603, 5e-10);
    close(line.residual_sd(), 0.003_497_564, 5e-10);
    close(line.residual_ss, 1.100_965_831e-4, 5e-14);
    let at_30 = line.at(10.0);
    close(at_30.value, -0.149_376_813, 5e-10);
    close(at_30.standard_uncertainty, 0.004_138_596, 5e-10);
    assert_eq!(line.degrees_of_freedom, 9);
    // Where the degrees are counted from must not matter.
    let uncentred = Line::fit(&T.into_iter().zip(B).collect::<Vec<_>>()).unwrap();
    close(uncentred.at(30.0).value, at_30.value, 1e-14);
    close(uncentred.at(30.0).standard_uncertainty, at_30.standard_uncertainty, 1e-14);
}

/// Source: NIST StRD, Norris (36 points), certified values.
/// Tolerance: 13 digits; the residuals are about a thousandth of the readings, which costs three of the sixteen digits
/// of the doubles they are formed in.
#[test]
fn strd_norris() {
    let table = rows(include_str!("../../reference-cases/strd/Norris.csv"));
    let points: Vec<(f64, f64)> = table.iter().map(|row| (number(row[0]), number(row[1]))).collect();
    assert_eq!(points.len(), 36);
    let line = Line::fit(&points).unwrap();
    for (what, found, certified) in [
        ("intercept", line.intercept().value, -0.262323073774029),
        ("its sd", line.intercept().standard_uncertainty, 0.232818234301152),
        ("slope", line.slope, 1.00211681802045),
        ("its sd", line.slope_uncertainty(), 0.429796848199937e-3),
        ("residual sd", line.residual_sd(), 0.884796396144373),
        ("R2", line.r_squared(), 0.999993745883712),
        ("F", line.f(), 5436385.54079785),
        ("SS of the slope", line.slope_ss, 4255954.13232369),
        ("SS of residuals", line.residual_ss, 26.6173985294224),
    ] {
        let alike = digits_alike(found, certified);
        assert!(alike >= 13.0, "{what}: {found} against {certified}, {alike:.1} digits");
    }
}

#[test]
fn points_that_make_no_line_are_said() {
    assert_eq!(Line::fit(&[(0.0, 0.0), (1.0, 1.0)]), Err(LineError::TooFewPoints { found: 2 }));
    assert_eq!(Line::fit(&[(0.0, 0.0), (1.0, f64::NAN), (2.0, 0.0)]), Err(LineError::NotANumber { point: 2 }));
    assert_eq!(Line::fit(&[(0.1, 0.0), (0.1, 1.0), (0.1, 2.0)]), Err(LineError::NoSpread));
    let perfect = Line::fit(&[(0.0, 1.0), (1.0, 3.0), (2.0, 5.0)]).unwrap();
    assert_eq!((perfect.residual_ss, perfect.slope), (0.0, 2.0));
    // Centre 1, spread 2 over 3 points: -1/√(2/3 + 1).
    close(perfect.correlation_with_slope(0.0), -(0.6f64.sqrt()), 1e-15);
}
