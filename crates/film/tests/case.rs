//! The whole question and its answer.

mod common;

use common::close;
use std::sync::OnceLock;

use film::case::{
    Answer, AtClearance, Case, Clearance, Condition, Contact, Input, Kind, Known, Mark, OilChoice, State, answer,
    curve, leaning as leaning_of, side_by_side,
};
use film::oil::{Grade, Oil};

const PSI_PA: f64 = 6_894.757;

/// An invented four of 80 mm stroke; clearances found a good five thou, planned one thou for each inch of journal.
fn case() -> Case {
    let known = Known {
        stroke_m: 0.08,
        pin_diameter_m: 0.045,
        pin_length_m: 0.018,
        main_diameter_m: 0.054,
        main_length_m: 0.020,
    };
    let mut case = Case::new(&known, &[0.0, 180.0, 180.0, 0.0], &[1, 3, 4, 2]);
    case.clearances = vec![Clearance::alike("as found", 130e-6, 135e-6), Clearance::alike("as planned", 45e-6, 54e-6)];
    case.plan = 1;
    case
}

/// The whole answer to the case, worked out once for all tests.
fn answered() -> &'static Answer {
    static ANSWER: OnceLock<Answer> = OnceLock::new();
    ANSWER.get_or_init(|| answer(&case()).unwrap_or_else(|problems| panic!("{problems}")))
}

fn beside(case: &Case) -> Vec<AtClearance> {
    side_by_side(case).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn open_clearances_cost_film_and_pressure() {
    let answer = answered();
    let [found, planned] = &answer.clearances[..] else { panic!("two clearances were asked") };
    assert!(found.hot_running.pins.least_film_m < 0.8 * planned.hot_running.pins.least_film_m);
    assert!(found.hot_running.mains.least_film_m < 0.8 * planned.hot_running.mains.least_film_m);
    assert!(found.hot_idle.gauge_pa < 0.7 * planned.hot_idle.gauge_pa);
    for at in &answer.clearances {
        assert!(at.cold.gauge_pa > at.hot_idle.gauge_pa, "thick oil stands higher on the gauge");
        assert_eq!(at.hot_idle.condition, Condition::HotIdle);
        for state in [&at.hot_idle, &at.hot_running, &at.cold] {
            for bearing in [&state.pins, &state.mains] {
                assert!(bearing.film_temp_c > state.supply_temp_c, "friction heats: {bearing:?}");
                assert!(bearing.friction_w > 0.0 && bearing.flow_m3_s > 0.0, "{bearing:?}");
            }
        }
    }
    assert!(answer.hint.contains("hint, not a diagnosis"));
}

/// Common practice, no source: five thou of clearance on a small engine shows as a hot pressure below 20 psi, and a
/// sound engine has 10 psi for every thousand revolutions.
#[test]
fn the_gauge_reads_as_the_trade_expects() {
    let answer = answered();
    let [found, planned] = &answer.clearances[..] else { panic!("two clearances were asked") };
    assert!(found.hot_idle.gauge_pa < 20.0 * PSI_PA, "{} psi", found.hot_idle.gauge_pa / PSI_PA);
    let thousands = planned.hot_running.speed_rpm / 1000.0;
    assert!(planned.hot_running.gauge_pa > 10.0 * thousands * PSI_PA);
}

/// Common practice, no source: a thousandth of the journal is a good clearance. The film there is within a tenth of the
/// best that any clearance gives.
#[test]
fn a_thou_to_the_inch_is_near_the_best_film() {
    let curve = curve(&case(), 28).expect("a curve");
    for film in [|point: &film::case::CurvePoint| point.pin_film_m, |point: &film::case::CurvePoint| point.main_film_m]
    {
        let best = curve.iter().map(film).fold(0.0, f64::max);
        let plan = curve.iter().min_by(|a, b| (a.scale - 1.0).abs().total_cmp(&(b.scale - 1.0).abs()));
        let at_plan = plan.map(film).expect("a point at the plan");
        assert!(at_plan > 0.9 * best, "{at_plan} at the plan, {best} at the best");
    }
}

/// The curve and the side-by-side answer are two ways to the same film. Tolerance: 1 %; the curve follows one main
/// only, and its heat stands for all.
#[test]
fn the_curve_goes_through_the_plan() {
    let case = case();
    let answer = answered();
    let points = curve(&case, 28).expect("a curve");
    let plan = points.iter().find(|point| (point.scale - 1.0).abs() < 1e-9).expect("a point at the plan");
    let state = &answer.clearances[1];
    close("pin", plan.pin_film_m, state.hot_running.pins.least_film_m, 0.01);
    close("main", plan.main_film_m, state.hot_running.mains.least_film_m, 0.01);
    close("gauge", plan.hot_idle_gauge_pa, state.hot_idle.gauge_pa, 0.01);
    assert_eq!(answer.curve.len(), 50);
}

/// What the leaning says of a figure is what comes out when the figure is given at that end.
#[test]
fn the_leaning_is_what_happens_when_a_figure_moves() {
    let case = case();
    let leaning = &answered().leaning;
    let assumed = case.figures.list().into_iter().filter(|(_, input)| input.mark != Mark::Given).count();
    // The oil is one more: nobody chose it.
    assert_eq!(leaning.figures.len(), assumed + 1);
    assert_eq!(answered().assumed.len(), assumed + 2, "oil and kind are named among them");
    assert!(leaning.figures.windows(2).all(|pair| pair[0].weight >= pair[1].weight));
    let oil = leaning.figures.iter().find(|lean| lean.figure == "oil_hot_c").expect("the oil was assumed");
    let mut hotter = case.clone();
    hotter.figures.oil_hot_c = Input::given(oil.range.to);
    let state = &beside(&hotter)[1];
    close("pin", oil.pin_film_m[1], state.hot_running.pins.least_film_m, 0.01);
    close("gauge", oil.hot_idle_gauge_pa[1], state.hot_idle.gauge_pa, 0.01);
    assert!(oil.pin_film_m[1] < oil.pin_film_m[0], "hotter oil, thinner film");
    assert_eq!(oil.words, "Oil in the gallery, warm engine.");
    for (name, input) in hotter.figures.list() {
        if let (Some(figure), true) = (hotter.figures.named(name), name != "idle_rpm") {
            figure.mark = Mark::Given;
            assert_eq!(figure.value, input.value);
        }
    }
    hotter.oil = OilChoice::Data(Grade::Sae15w40.typical());
    let again = leaning_of(&hotter).expect("a leaning");
    assert_eq!(again.figures.len(), 1);
    assert!(again.figures.iter().all(|lean| lean.figure != "oil_hot_c"), "a given figure is not leant on");
    for band in [leaning.pin_film_m, leaning.main_film_m, leaning.hot_idle_gauge_pa] {
        assert!(band.from >= 0.0 && band.from < band.to);
    }
}

#[test]
fn a_film_thinner_than_the_surfaces_are_rough_is_mixed_contact() {
    let mut case = case();
    case.figures.roughness_m = Input::given(1.5e-6);
    let answer = beside(&case);
    let [found, planned] = &answer[..] else { panic!("two clearances were asked") };
    assert!(found.hot_running.pins.least_film_m < 1.5e-6 && planned.hot_running.pins.least_film_m > 1.5e-6);
    assert_eq!(found.hot_running.pins.contact, Contact::Mixed);
    assert_eq!(planned.hot_running.pins.contact, Contact::Film);
    assert!(!found.hot_running.pins.within_model && found.hot_running.friction_w().is_none());
    assert!(planned.hot_running.pins.within_model);
    assert!(answered().limits.iter().any(|limit| limit.contains("mixed contact")));
}

#[test]
fn the_same_case_gives_the_same_answer_and_no_number_is_missing() {
    let case = case();
    let first = serde_json::to_string(answered()).expect("an answer is plain data");
    assert_eq!(beside(&case), answered().clearances);
    // A number that is not one would be written as null.
    assert!(!first.contains("null"), "{first}");
    let back: Case = serde_json::from_str(&serde_json::to_string(&case).expect("plain data")).expect("the same case");
    assert_eq!(back, case);
}

#[test]
fn everything_wrong_with_a_case_is_said_at_once() {
    let mut case = case();
    case.clearances[0].pin_diametral_m = -20e-6;
    case.clearances[1].main_diametral_m = f64::NAN;
    case.figures.idle_rpm = Input::given(0.0);
    case.figures.piston_kg = Input::given(f64::INFINITY);
    case.firing_order = vec![1, 2, 3, 4];
    case.oil = film::case::OilChoice::Data(film::oil::OilData {
        lower_temp_c: 40.0,
        lower_viscosity_mm2_s: 100.0,
        higher_temp_c: 100.0,
        higher_viscosity_mm2_s: f64::NAN,
        density_15_kg_m3: 870.0,
    });
    let problems = answer(&case).expect_err("nothing about it is usable");
    let fields: Vec<&str> = problems.0.iter().map(|problem| problem.field.as_str()).collect();
    for field in [
        "clearances[1].pin_diametral_m",
        "clearances[2].main_diametral_m",
        "idle_rpm",
        "piston_kg",
        "oil.higher_viscosity_mm2_s",
    ] {
        assert!(fields.contains(&field), "{field} in {fields:?}");
    }
    assert!(fields.iter().any(|field| field.starts_with("layout.")), "{fields:?}");
    let text = problems.to_string();
    assert!(text.contains("clearances[1].pin_diametral_m is -0.00002"), "{text}");
    assert!(text.contains("without a gap there is no film"), "{text}");
}

#[test]
fn a_groove_all_round_carries_on_two_narrow_lands() {
    let upper = answered();
    let mut grooved = case();
    grooved.groove = film::case::Groove::Full;
    let full = beside(&grooved);
    let (upper, full) = (&upper.clearances[1], &full[1]);
    assert!(full.hot_running.mains.least_film_m < upper.hot_running.mains.least_film_m);
    assert!(full.hot_idle.mains.flow_m3_s > 1.2 * upper.hot_idle.mains.flow_m3_s);
}

#[test]
fn a_range_that_does_not_hold_its_value_is_named() {
    let mut case = case();
    case.figures.oil_hot_c = Input::assumed(95.0, 100.0, 110.0);
    let problems = side_by_side(&case).expect_err("95 is not between 100 and 110");
    assert_eq!(problems.0.len(), 1, "{problems}");
    assert_eq!(problems.0[0].field, "oil_hot_c.assumed");
}

/// What is assumed follows from what is given: one wrong stroke is one fault, not thirty.
#[test]
fn a_wrong_stroke_is_said_once() {
    let known = Known {
        stroke_m: 80.0,
        pin_diameter_m: 0.045,
        pin_length_m: 0.018,
        main_diameter_m: 0.054,
        main_length_m: 0.020,
    };
    let mut wrong = Case::new(&known, &[0.0, 180.0, 180.0, 0.0], &[1, 3, 4, 2]);
    wrong.clearances = case().clearances;
    let problems = side_by_side(&wrong).expect_err("a stroke of 80 m");
    assert_eq!(problems.0.len(), 1, "{problems}");
    assert_eq!(problems.0[0].field, "stroke_m");
}

/// Compression ignition presses harder: with the same crank a diesel's big ends have less film and more pressure.
#[test]
fn a_diesel_presses_harder() {
    let petrol = &answered().clearances[1].hot_running;
    let mut diesel = Case::diesel(
        &Known {
            stroke_m: 0.08,
            pin_diameter_m: 0.045,
            pin_length_m: 0.018,
            main_diameter_m: 0.054,
            main_length_m: 0.020,
        },
        &[0.0, 180.0, 180.0, 0.0],
        &[1, 3, 4, 2],
    );
    diesel.clearances = case().clearances;
    diesel.figures.running_rpm = case().figures.running_rpm;
    let diesel = &beside(&diesel)[1].hot_running;
    assert!(diesel.pins.peak_pressure_pa > 1.3 * petrol.pins.peak_pressure_pa, "{diesel:?}");
}

/// An oil that nobody chose may be a grade thinner or thicker; a chosen grade lies between the limits of SAE J300
/// (January 2015, as tabulated at raso.name: 12.5 to 16.3 mm²/s at 100 °C for 15W-40); a data sheet leaves nothing open.
#[test]
fn the_answer_leans_on_the_oil_as_far_as_it_is_unknown() {
    let lean = |case: &Case| {
        let leaning = leaning_of(case).expect("a leaning");
        leaning.figures.into_iter().find(|lean| lean.figure == "oil")
    };
    assert!(answered().assumed.contains(&"oil") && !answered().oil.given);
    let assumed = lean(&case()).expect("nobody chose an oil");
    let mut chosen = case();
    chosen.set_grade(Grade::Sae15w40);
    let grade = lean(&chosen).expect("a grade is a range");
    assert_eq!((grade.range.from, grade.range.to), (12.5, 16.3));
    let spread = |lean: &film::case::Lean| lean.pin_film_m[1] - lean.pin_film_m[0];
    assert!(spread(&assumed) > spread(&grade) && spread(&grade) > 0.0, "{assumed:?} {grade:?}");
    chosen.oil = OilChoice::Data(Grade::Sae15w40.typical());
    assert!(lean(&chosen).is_none());
}

/// The heat that bearings make is what the oil that they are fed carries off: friction = flow × heat × rise, to 0.1 %, and
/// the pump delivers what bearings, valve and other outlets take.
#[test]
fn heat_leaves_with_the_oil_that_is_fed() {
    let oil = Oil::new(&answered().oil.data).expect("an oil");
    let mut compared = 0;
    for at in &answered().clearances {
        for state in [&at.hot_idle, &at.hot_running, &at.cold] {
            let supply = state.supply_temp_c;
            let heat = oil.density_kg_m3(supply) * oil.heat_j_kg_k(supply);
            for bearing in [&state.pins, &state.mains] {
                close("heat", bearing.flow_m3_s * heat * bearing.rise_k, bearing.friction_w, 0.001);
                close("film", bearing.film_temp_c - supply, 0.5 * bearing.rise_k, 0.001);
                compared += 1;
            }
            assert!(state.flow_m3_s() < state.pump_m3_s && !state.short_of_oil);
        }
    }
    assert_eq!(compared, 12);
}

/// One worn pin among sound ones: the worst film is its own, and the circuit sums every bearing at its own clearance, so
/// that the gauge stands between all sound and all worn.
#[test]
fn every_bearing_drinks_at_its_own_clearance() {
    let mut case = case();
    let planned = case.clearances[1].clone();
    let mut one = Clearance { name: "one worn".to_owned(), pin_diametral_m: 130e-6, ..planned.clone() };
    let all = Clearance { name: "all worn".to_owned(), ..one.clone() };
    one.each_pin_m = vec![45e-6, 45e-6, 130e-6, 45e-6];
    one.each_main_m = vec![54e-6; 5];
    let mut same = planned.clone();
    "each alike".clone_into(&mut same.name);
    (same.each_pin_m, same.each_main_m) = (vec![45e-6; 4], vec![54e-6; 5]);
    case.clearances = vec![planned, one, all, same];
    case.plan = 0;
    let found = beside(&case);
    let [planned, one, all, same] = &found[..] else { panic!("four clearances were asked") };
    let (sound, worn, worst) = (&planned.hot_idle, &one.hot_idle, &all.hot_idle);
    assert!(worst.gauge_pa < worn.gauge_pa && worn.gauge_pa < sound.gauge_pa);
    assert_eq!(one.hot_running.pins.number, 3);
    close("film", one.hot_running.pins.least_film_m, all.hot_running.pins.least_film_m, 0.03);
    // A quarter of what wear adds, but for the gauge that stands higher.
    let added = |state: &State| state.pins.flow_m3_s - sound.pins.flow_m3_s;
    assert!(added(worn) > 0.25 * added(worst) && added(worn) < 0.5 * added(worst));
    let (asked, alike) = (&same.hot_running, &planned.hot_running);
    assert_eq!((asked.gauge_pa, asked.pins, asked.mains), (alike.gauge_pa, alike.pins, alike.mains));
    case.clearances[1].each_main_m.pop();
    let problems = side_by_side(&case).expect_err("four clearances for five mains");
    assert_eq!(problems.0[0].field, "clearances[2].each_main_m");
}

/// A pump too small for open bearings: no pressure, and what it delivers is all that the bearings get and all that cools
/// them.
#[test]
fn a_pump_too_small_leaves_the_bearings_short_of_oil() {
    let mut case = case();
    case.figures.pump_m3_rev = Input::given(2e-7);
    case.figures.pump_slip_m3 = Input::given(0.0);
    let state = &beside(&case)[0].hot_running;
    assert!(state.short_of_oil && state.gauge_pa == 0.0, "{state:?}");
    close("fed", state.flow_m3_s(), state.pump_m3_s, 0.001);
    assert!(!state.pins.within_model && !state.mains.within_model && state.friction_w().is_none());
}

/// The gauge over speed ends where the conditions stand.
#[test]
fn one_speed_has_one_gauge_reading() {
    for at in &answered().clearances {
        let [first, .., last] = &at.gauge[..] else { panic!("several speeds") };
        assert_eq!((first.speed_rpm, last.speed_rpm), (at.hot_idle.speed_rpm, at.hot_running.speed_rpm));
        assert_eq!((first.hot_pa, last.hot_pa), (at.hot_idle.gauge_pa, at.hot_running.gauge_pa));
        assert_eq!(first.cold_pa, at.cold.gauge_pa);
    }
}

/// Common practice, no source: long strokes turn slowly, and diesels more slowly than petrol engines.
#[test]
fn running_speed_follows_the_stroke() {
    let with = |stroke_m: f64| {
        let known =
            Known { stroke_m, pin_diameter_m: 0.08, pin_length_m: 0.04, main_diameter_m: 0.1, main_length_m: 0.045 };
        Case::new(&known, &[0.0], &[1])
    };
    let (small, mut large) = (with(0.08), with(0.15));
    assert_eq!((small.figures.running_rpm.value, large.figures.running_rpm.value), (3000.0, 1600.0));
    assert!(large.figures.idle_rpm.value < small.figures.idle_rpm.value);
    large.set_kind(Kind::Diesel);
    assert_eq!(large.figures.running_rpm.value, 1200.0);
    large.figures.piston_kg = Input::given(4.0);
    large.set_kind(Kind::Diesel);
    assert_eq!(large.figures.piston_kg, Input::given(4.0), "what was given is kept");
}

#[test]
fn a_given_bore_scales_what_was_assumed_with_it() {
    let mut wider = case();
    wider.set_bore(0.088);
    let scaled = |figure: fn(&Case) -> Input| figure(&wider).value / figure(&case()).value;
    close("piston", scaled(|case| case.figures.piston_kg), 1.331, 1e-9);
    close("pump", scaled(|case| case.figures.pump_m3_rev), 1.21, 1e-9);
    assert_eq!(wider.figures.bore_m, Input::given(0.088));
    let mut other = case();
    other.set_grade(film::oil::Grade::Sae20w50);
    assert!(beside(&other)[1].hot_running.pins.least_film_m > answered().clearances[1].hot_running.pins.least_film_m);
}

/// Cold oil stands higher on the gauge as long as warm oil leaves the relief valve shut. With the valve open in both,
/// the valve holds the pump's pressure and thick oil loses a little more of it before the gauge.
#[test]
fn the_gauge_rises_with_speed_and_stands_higher_cold() {
    for at in &answered().clearances {
        let [first, .., last] = &at.gauge[..] else { panic!("several speeds") };
        assert!(at.gauge.windows(2).all(|pair| pair[1].hot_pa >= 0.999 * pair[0].hot_pa), "{:?}", at.gauge);
        let opens = case().figures.relief_opens_pa.value;
        let shut = at.gauge.iter().filter(|point| point.hot_pa < 0.95 * opens);
        assert!(
            shut.clone().count() > 0 && shut.into_iter().all(|point| point.cold_pa > point.hot_pa),
            "{:?}",
            at.gauge
        );
        close("idle", first.hot_pa, at.hot_idle.gauge_pa, 0.02);
        assert_eq!(last.speed_rpm, at.hot_running.speed_rpm);
    }
}

#[test]
fn the_paths_are_those_of_the_answer() {
    let paths = film::case::paths(&case(), 1, Condition::HotRunning).expect("paths");
    let state = &answered().clearances[1].hot_running;
    assert_eq!(paths.pin.least_film_m, state.pins.least_film_m);
    assert_eq!((paths.main, paths.main_path.least_film_m), (state.mains.number, state.mains.least_film_m));
    assert_eq!(paths.pin.instants.len(), 720);
    let problems = film::case::paths(&case(), 2, Condition::Cold).expect_err("there are two");
    assert_eq!(problems.0[0].field, "clearance");
}
