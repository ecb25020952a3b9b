use std::f64::consts::TAU;

use gauge::roundness::{
    Profile, Reference, Roundness, RoundnessError, saddle_factor, two_point_factor, two_point_sees, vee_blind_to,
    vee_factor,
};
use serde_json::Value;

use crate::{close, number, rows};

const CIRCLES: [(&str, Reference); 4] = [
    ("LSC", Reference::LeastSquares),
    ("MIC", Reference::MaximumInscribed),
    ("MCC", Reference::MinimumCircumscribed),
    ("MZC", Reference::MinimumZone),
];

fn profiles() -> Vec<(String, Profile, Value)> {
    let file: Value = serde_json::from_str(include_str!("../../reference-cases/roundness/profiles.json")).unwrap();
    let list = |value: &Value| value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect::<Vec<_>>();
    file["profiles"]
        .as_array()
        .unwrap()
        .iter()
        .map(|profile| {
            let name = profile["name"].as_str().unwrap().to_owned();
            (name, Profile::new(&list(&profile["theta_deg"]), &list(&profile["r"])).unwrap(), profile.clone())
        })
        .collect()
}

/// Where only two points touch, the centre slides and the total departure with it; the radius does not.
fn centre_slides(name: &str, circle: &str) -> bool {
    matches!(circle, "MIC" | "MCC") && matches!(name, "lobe2_oval_a10um" | "sparse8_micrometer" | "true_circle_ecc50um")
        || (name, circle) == ("single_pit_50um", "MIC")
}

/// Source: SciPy's HiGHS on the same profiles, to first order.
/// Tolerance: 2e-9 mm; the file prints angles and results rounded to twelve decimals, its solver stops at 1e-9.
#[test]
fn first_order_circles_agree_with_an_independent_solver() {
    let mut compared = 0;
    for (name, profile, file) in profiles() {
        for (circle, reference) in CIRCLES {
            let expected = &file["result"][circle];
            let found = profile.first_order(reference).unwrap();
            let near = |found: f64, key: &str| {
                let expected = expected[key].as_f64().unwrap();
                assert!((found - expected).abs() < 2e-9, "{name} {circle} {key}: {found}, expected {expected}");
            };
            near(found.radius_mm, "R");
            compared += 1;
            if circle == "LSC" {
                near(found.peak_mm, "RONp");
                near(found.valley_mm, "RONv");
                near(found.rms_mm, "RONq");
            }
            if !centre_slides(&name, circle) {
                near(found.x_mm, "x");
                near(found.y_mm, "y");
                near(found.total_mm, "RONt");
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 2 * 7 * 4 - 7);
}

/// Source: repeated linear programmes with SciPy's HiGHS, in true geometry, printed to ten decimals.
/// Tolerance: 1e-9 mm. Two circumscribed circles stand on a long diameter, where the file's search ended before the
/// smallest circle; half that diameter is exact, and is what the first-order programme of the file found.
#[test]
fn exact_circles_agree_with_an_independent_solver() {
    let mut compared = 0;
    for (name, profile, file) in profiles() {
        for (circle, reference) in CIRCLES {
            let unfinished = circle == "MCC" && matches!(name.as_str(), "lobe2_oval_a10um" | "sparse8_micrometer");
            let expected = &file["result"][circle];
            let expected = if unfinished { expected } else { &expected["exact"] };
            let found = profile.exact(reference).unwrap();
            let (found, expected) = match circle {
                "MZC" => (found.total_mm, expected["RONt"].as_f64().unwrap()),
                _ => (found.radius_mm, expected["R"].as_f64().unwrap()),
            };
            assert!((found - expected).abs() < 1e-9, "{name} {circle}: {found}, expected {expected}");
            compared += 1;
        }
    }
    assert_eq!(compared, 28);
}

/// Source: how the profiles were made; for three lobes of 4 µm on 25 mm the answers are those lobes.
/// Tolerance: radii in the file are rounded to 0.1 nm.
#[test]
fn circles_of_known_profiles() {
    let all = profiles();
    let of =
        |name: &str, reference| -> Roundness { all.iter().find(|p| p.0 == name).unwrap().1.exact(reference).unwrap() };
    close(of("lobe3_a4um", Reference::MinimumZone).total_mm, 0.008, 2e-7);
    close(of("lobe3_a4um", Reference::MaximumInscribed).radius_mm, 24.996, 2e-7);
    close(of("lobe3_a4um", Reference::MinimumCircumscribed).radius_mm, 25.004, 2e-7);
    close(of("lobe3_a4um", Reference::LeastSquares).radius_mm, 25.0, 2e-7);
    close(of("lobe2_oval_a10um", Reference::MinimumZone).total_mm, 0.02, 2e-7);
    // The smallest circle round an oval stands on its long diameter: exactly half of it.
    close(of("lobe2_oval_a10um", Reference::MinimumCircumscribed).radius_mm, 25.01, 1e-9);
    for (_, reference) in CIRCLES {
        let circle = of("true_circle_ecc50um", reference);
        close(circle.x_mm, 0.05, 2e-7);
        close(circle.y_mm, 0.0, 2e-7);
        close(circle.radius_mm, 20.0, 2e-7);
        close(circle.total_mm, 0.0, 2e-7);
    }
    // The same circle to first order is out by e²/2r = 62.5 nm.
    let shifted = &all.iter().find(|p| p.0 == "true_circle_ecc50um").unwrap().1;
    close(shifted.first_order(Reference::MinimumZone).unwrap().total_mm, 62.5e-6, 1e-7);
    close(of("single_pit_50um", Reference::MinimumCircumscribed).radius_mm, 25.0, 2e-7);
}

fn lobed(lobes: u32, points: u32, turned_deg: f64, offset: (f64, f64)) -> Profile {
    let angles: Vec<f64> = (0..points).map(|k| f64::from(k) * 360.0 / f64::from(points)).collect();
    let radii: Vec<f64> = angles
        .iter()
        .map(|a| {
            let t = a.to_radians();
            30.0 + 0.003 * (f64::from(lobes) * (t - turned_deg.to_radians())).cos()
                + offset.0 * t.cos()
                + offset.1 * t.sin()
        })
        .collect();
    Profile::new(&angles, &radii).unwrap()
}

/// Roundness must not care where the trace began or where the section was set up.
#[test]
fn roundness_does_not_depend_on_the_start_or_the_set_up() {
    for (_, reference) in CIRCLES {
        let here = lobed(5, 90, 0.0, (0.0, 0.0)).first_order(reference).unwrap();
        let turned = lobed(5, 90, 36.0, (0.0, 0.0)).first_order(reference).unwrap();
        let moved = lobed(5, 90, 0.0, (0.004, -0.007)).first_order(reference).unwrap();
        for other in [turned, moved] {
            close(other.total_mm, here.total_mm, 1e-9);
            close(other.radius_mm, here.radius_mm, 1e-9);
            close(other.rms_mm, here.rms_mm, 1e-9);
        }
        close(moved.x_mm - here.x_mm, 0.004, 1e-9);
        close(moved.y_mm - here.y_mm, -0.007, 1e-9);
    }
}

/// The minimum zone is the least of all, an inscribed circle has nothing inside it, a circumscribed nothing outside.
#[test]
fn the_four_circles_stand_in_order() {
    for (name, profile, _) in profiles() {
        for seen in [Profile::first_order, Profile::exact] {
            let [lsc, mic, mcc, mzc] = CIRCLES.map(|(_, reference)| seen(&profile, reference).unwrap());
            for other in [&lsc, &mic, &mcc] {
                assert!(mzc.total_mm <= other.total_mm + 1e-9, "{name}");
                assert!(lsc.rms_mm <= other.rms_mm + 1e-9, "{name}");
            }
            close(mic.valley_mm, 0.0, 1e-9);
            close(mcc.peak_mm, 0.0, 1e-9);
            close(mzc.peak_mm, mzc.valley_mm, 1e-9);
            assert!(mic.radius_mm <= mzc.radius_mm && mzc.radius_mm <= mcc.radius_mm + 1e-12, "{name}");
        }
    }
}

#[test]
fn profiles_that_make_no_circle_are_said() {
    let new = |angles: &[f64], radii: &[f64]| Profile::new(angles, radii);
    assert_eq!(new(&[], &[]), Err(RoundnessError::TooFewAngles { found: 0 }));
    assert_eq!(new(&[0.0, 90.0], &[1.0]), Err(RoundnessError::Unpaired { angles: 2, radii: 1 }));
    assert_eq!(new(&[0.0, 360.0, 720.0], &[1.0; 3]), Err(RoundnessError::TooFewAngles { found: 1 }));
    assert_eq!(new(&[0.0, 90.0, 180.0], &[1.0, f64::NAN, 1.0]), Err(RoundnessError::NotARadius { point: 2 }));
    assert_eq!(new(&[0.0, 90.0, 180.0], &[1.0, 1.0, -1.0]), Err(RoundnessError::NotARadius { point: 3 }));
    let bunched = new(&[0.0, 1e-6, 2e-6], &[1.0, 1.1, 1.0]).unwrap();
    assert_eq!(bunched.first_order(Reference::LeastSquares), Err(RoundnessError::OneSided));
    // Whatever the numbers, an answer or an error, never a panic.
    for radii in [[1e-300, 1e300, 1.0], [f64::MIN_POSITIVE; 3], [1e300; 3]] {
        for (_, reference) in CIRCLES {
            let profile = new(&[0.0, 100.0, 200.0], &radii).unwrap();
            let _ = (profile.first_order(reference), profile.exact(reference), bunched.exact(reference));
        }
    }
}

/// Source: J. Japan Soc. Precision Eng. 43 (1977) 1167 for the vee; the two-point column and the saddle are derived.
/// Tolerance: four printed decimals.
#[test]
fn lobing_factors() {
    let mut compared = 0;
    for row in rows(include_str!("../../reference-cases/vee-block/factors.csv")) {
        let lobes: u32 = row[0].parse().unwrap();
        close(two_point_factor(lobes), number(row[1]), 0.0);
        assert_eq!(two_point_sees(lobes), number(row[1]) > 0.0);
        for (k, included) in [60.0, 72.0, 90.0, 108.0, 120.0, 135.0].into_iter().enumerate() {
            close(vee_factor(lobes, included).unwrap(), number(row[2 + 2 * k]), 5.1e-5);
            close(saddle_factor(lobes, included).unwrap(), number(row[3 + 2 * k]), 5.1e-5);
            compared += 2;
        }
    }
    assert_eq!(compared, 21 * 12);
    for included in [0.0, 180.0, -60.0, f64::NAN] {
        assert_eq!((vee_factor(3, included), saddle_factor(3, included)), (None, None));
    }
}

/// Source: as above; each common vee is blind to some lobes.
#[test]
fn what_each_vee_misses() {
    assert_eq!(vee_blind_to(60.0, 12), [2, 4, 5, 7, 8, 10, 11]);
    assert_eq!(vee_blind_to(90.0, 13), [7, 9]);
    assert_eq!(vee_blind_to(108.0, 12), [4, 6, 9, 11]);
}

/// The factors against a section really turned between two points.
#[test]
fn two_points_miss_odd_lobes_of_a_real_section() {
    for lobes in 2..=9 {
        let r = |t: f64| 30.0 + 0.002 * (f64::from(lobes) * t).cos();
        let diameters: Vec<f64> =
            (0..720).map(|k| f64::from(k) * TAU / 720.0).map(|t| r(t) + r(t + TAU / 2.0)).collect();
        let range =
            diameters.iter().copied().fold(f64::MIN, f64::max) - diameters.iter().copied().fold(f64::MAX, f64::min);
        close(range, two_point_factor(lobes) * 0.004, 1e-9);
    }
}
