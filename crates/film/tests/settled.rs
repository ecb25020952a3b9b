//! The answer against the same physics worked out as closely as it can be: paths in even steps that close within a
//! millionth of the clearance, temperatures settled to 0.003 K. What is asked of the answer: films within half a per cent,
//! the gauge within one.

use film::case::{
    AtClearance, Case, Clearance, CurvePoint, Groove, Input, Kind, Known, Lean, Mark, State, answer, settled_answer,
    settled_side_by_side, side_by_side,
};
use film::oil::Grade;

const FILM: f64 = 0.005;
const GAUGE: f64 = 0.01;

const INCH_M: f64 = 0.0254;

/// An invented four, as the worked example `tarn-four-oil.toml` has it.
fn tarn() -> Case {
    let known = Known {
        stroke_m: 3.0 * INCH_M,
        pin_diameter_m: 1.8548 * INCH_M,
        pin_length_m: 0.85 * INCH_M,
        main_diameter_m: 2.1148 * INCH_M,
        main_length_m: 0.95 * INCH_M,
    };
    let mut case = Case::new(&known, &[0.0, 180.0, 180.0, 0.0], &[1, 3, 4, 2]);
    case.set_grade(Grade::Sae20w50);
    case.set_bore(3.15 * INCH_M);
    case.figures.idle_rpm = Input::given(800.0);
    case.figures.relief_opens_pa = Input::assumed(4e5, 3.5e5, 4.5e5);
    let clearance = |name: &str, pin: f64, main: f64| Clearance::alike(name, pin * 1e-3 * INCH_M, main * 1e-3 * INCH_M);
    case.clearances =
        vec![clearance("as found", 5.5, 5.0), clearance("as planned", 1.9, 2.2), clearance("upper limit", 2.7, 3.1)];
    case.plan = 1;
    case
}

/// Numbers between 0 and 1 by a linear congruence, the same on every run. Source of the constants: D. E. Knuth, MMIX.
struct Drawn(u64);

impl Drawn {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.next()
    }

    /// An engine of one to three cylinders, every figure somewhere in the range that is assumed for it.
    fn case(&mut self) -> Case {
        let stroke_m = self.between(0.06, 0.12);
        let pin_diameter_m = self.between(0.5, 0.65) * stroke_m;
        let main_diameter_m = self.between(1.05, 1.3) * pin_diameter_m;
        let known = Known {
            stroke_m,
            pin_diameter_m,
            pin_length_m: self.between(0.35, 0.55) * pin_diameter_m,
            main_diameter_m,
            main_length_m: self.between(0.35, 0.5) * main_diameter_m,
        };
        let layouts: [(&[f64], &[usize]); 3] =
            [(&[0.0], &[1]), (&[0.0, 0.0], &[1, 2]), (&[0.0, 120.0, 240.0], &[1, 3, 2])];
        let (throws, order) = layouts[(3.0 * self.next()) as usize];
        let mut case = Case::new(&known, throws, order);
        if self.next() < 0.3 {
            case.set_kind(Kind::Diesel);
        }
        case.set_grade(Grade::ALL[(Grade::ALL.len() as f64 * self.next()) as usize]);
        for (name, input) in case.figures.list() {
            if let (Mark::Assumed { from, to }, Some(figure)) = (input.mark, case.figures.named(name)) {
                figure.value = self.between(from, to);
            }
        }
        if self.next() < 0.3 {
            case.groove = Groove::Full;
        }
        let share = self.between(0.4e-3, 3e-3);
        case.clearances =
            vec![Clearance::alike("drawn", share * pin_diameter_m, share * self.between(0.8, 1.25) * main_diameter_m)];
        case
    }
}

/// The largest share by which films and gauge are off.
#[derive(Default)]
struct Off {
    film: f64,
    gauge: f64,
}

fn share(found: f64, wanted: f64) -> f64 {
    (found - wanted).abs() / wanted.abs().max(f64::MIN_POSITIVE)
}

impl Off {
    fn film(&mut self, found: f64, wanted: f64) {
        self.film = self.film.max(share(found, wanted));
    }

    /// A gauge that stands at a hundredth of a bar and less has nothing to be a hundredth of.
    fn gauge(&mut self, found: f64, wanted: f64) {
        self.gauge = self.gauge.max((found - wanted).abs() / wanted.max(1e3));
    }

    fn state(&mut self, found: &State, wanted: &State) {
        self.film(found.pins.least_film_m, wanted.pins.least_film_m);
        self.film(found.mains.least_film_m, wanted.mains.least_film_m);
        self.gauge(found.gauge_pa, wanted.gauge_pa);
    }

    fn clearance(&mut self, found: &AtClearance, wanted: &AtClearance) {
        self.state(&found.hot_idle, &wanted.hot_idle);
        self.state(&found.hot_running, &wanted.hot_running);
        self.state(&found.cold, &wanted.cold);
        assert_eq!(found.gauge.len(), wanted.gauge.len());
        for (found, wanted) in found.gauge.iter().zip(&wanted.gauge) {
            self.gauge(found.hot_pa, wanted.hot_pa);
            self.gauge(found.cold_pa, wanted.cold_pa);
        }
    }

    fn point(&mut self, found: &CurvePoint, wanted: &CurvePoint) {
        self.film(found.pin_film_m, wanted.pin_film_m);
        self.film(found.main_film_m, wanted.main_film_m);
        self.gauge(found.hot_idle_gauge_pa, wanted.hot_idle_gauge_pa);
    }

    fn lean(&mut self, found: &Lean, wanted: &Lean) {
        for end in 0..2 {
            self.film(found.pin_film_m[end], wanted.pin_film_m[end]);
            self.film(found.main_film_m[end], wanted.main_film_m[end]);
            self.gauge(found.hot_idle_gauge_pa[end], wanted.hot_idle_gauge_pa[end]);
        }
    }

    #[track_caller]
    fn passes(&self, what: &str) {
        assert!(self.film < FILM, "{what}: films off by {:.4}", self.film);
        assert!(self.gauge < GAUGE, "{what}: gauge off by {:.4}", self.gauge);
    }
}

#[test]
fn the_worked_example_is_settled() {
    let case = tarn();
    let (found, wanted) = (answer(&case).expect("an answer"), settled_answer(&case).expect("an answer"));
    assert_eq!((found.clearances.len(), found.curve.len()), (wanted.clearances.len(), wanted.curve.len()));
    let mut off = Off::default();
    found.clearances.iter().zip(&wanted.clearances).for_each(|(found, wanted)| off.clearance(found, wanted));
    off.passes("side by side");
    let mut off = Off::default();
    found.curve.iter().zip(&wanted.curve).for_each(|(found, wanted)| off.point(found, wanted));
    off.passes("curve");
    let mut off = Off::default();
    for lean in &found.leaning.figures {
        let same = wanted.leaning.figures.iter().find(|wanted| wanted.figure == lean.figure);
        off.lean(lean, same.expect("the same figures"));
    }
    off.passes("leaning");
}

#[test]
fn drawn_cases_are_settled() {
    let mut drawn = Drawn(1);
    let mut compared = 0;
    for number in 0..36 {
        let case = drawn.case();
        let (found, wanted) = match (side_by_side(&case), settled_side_by_side(&case)) {
            (Ok(found), Ok(wanted)) => (found, wanted),
            (found, wanted) => {
                assert_eq!(found.is_ok(), wanted.is_ok(), "case {number}: {found:?} {wanted:?}");
                continue;
            }
        };
        let mut off = Off::default();
        off.clearance(&found[0], &wanted[0]);
        off.passes(&format!("case {number}"));
        compared += 1;
    }
    assert!(compared >= 30, "{compared} compared");
}

/// However many processors share the work, every byte of the answer is the same.
#[test]
fn the_number_of_threads_does_not_change_the_answer() {
    let case = tarn();
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        serde_json::to_string(&pool.install(|| answer(&case)).expect("an answer")).expect("plain data")
    };
    let one = with(1);
    assert_eq!(one, with(2));
    assert_eq!(one, with(5));
}
