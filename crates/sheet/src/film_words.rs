//! Figures of the oil film as people read them, on the command line and on the pages.

use film::case::{Answer, AtClearance, BearingState, Contact, State};
use units::Unit;

/// Pascals in a pound to the square inch.
const PSI_PA: f64 = 6894.757;

/// How figures of the film are told in the unit of a case.
#[derive(Clone, Copy, Debug)]
pub struct FilmWords {
    /// The unit of lengths; it says which units of pressure and film go with it.
    pub unit: Unit,
    /// What a millionth of an inch is called where there is room for it.
    pub millionths: &'static str,
}

impl FilmWords {
    /// A gauge pressure.
    pub fn gauge(self, pa: f64) -> String {
        match self.unit {
            Unit::Inch => format!("{:.0} psi", pa / PSI_PA),
            Unit::Millimetre => format!("{:.1} bar", pa / 1e5),
        }
    }

    /// A pressure in the film: hundreds of pounds to the square inch, or megapascals.
    pub fn peak(self, pa: f64) -> String {
        match self.unit {
            Unit::Inch => format!("{:.0} psi", (pa / PSI_PA / 100.0).round() * 100.0),
            Unit::Millimetre => format!("{:.0} MPa", pa / 1e6),
        }
    }

    /// A film thickness: millionths of an inch, or microns.
    pub fn film(self, m: f64) -> String {
        match self.unit {
            Unit::Inch => format!("{:.0} {}", m / 25.4e-9, self.millionths),
            Unit::Millimetre => format!("{:.2} µm", m * 1e6),
        }
    }

    /// The least film of a bearing, or that there is none.
    pub fn least_film(self, bearing: &BearingState) -> String {
        match bearing.contact {
            Contact::Film => self.film(bearing.least_film_m),
            Contact::Mixed => "they touch".to_owned(),
        }
    }

    /// The highest pressure in a film; not where it lies outside the model.
    pub fn peak_in(self, bearing: &BearingState) -> String {
        if bearing.within_model { self.peak(bearing.peak_pressure_pa) } else { NOT_GIVEN.to_owned() }
    }

    /// The temperature of a film; not where it lies outside the model.
    pub fn temp_in(self, bearing: &BearingState) -> String {
        if bearing.within_model { format!("{:.0} °C", bearing.film_temp_c) } else { NOT_GIVEN.to_owned() }
    }

    /// Friction of all bearings; not where a film lies outside the model.
    pub fn friction(self, state: &State) -> String {
        state.friction_w().map_or(NOT_GIVEN.to_owned(), |watts| format!("{watts:.0} W"))
    }

    /// Under load the big ends run on this, as part of a sentence.
    pub fn runs_on(self, state: &State) -> String {
        let pins = &state.pins;
        match pins.contact {
            Contact::Mixed => "no whole film".to_owned(),
            Contact::Film if pins.within_model => format!("a film of {}", self.film(pins.least_film_m)),
            Contact::Film if state.short_of_oil => "less oil than they need".to_owned(),
            Contact::Film => "a film hotter than oil bears".to_owned(),
        }
    }

    /// The answer in two sentences, with how far it may be off. `pins` is what the pins are called.
    pub fn plain(self, answer: &Answer, pins: &str) -> [String; 2] {
        let each = |cell: &dyn Fn(&AtClearance) -> String| {
            let words = answer.clearances.iter().map(|at| format!("{} {}", cell(at), at.clearance.name));
            words.collect::<Vec<_>>().join(", ")
        };
        let lean = &answer.leaning;
        let open = !lean.figures.is_empty();
        let range = |from: String, to: String| match open {
            true => format!("; with what is not known of the engine, {from} to {to} for the plan"),
            false => String::new(),
        };
        let gauge = [lean.hot_idle_gauge_pa.from, lean.hot_idle_gauge_pa.to].map(|pa| self.gauge(pa));
        let film = [lean.pin_film_m.from, lean.pin_film_m.to].map(|m| self.film(m));
        let [gauge_from, gauge_to] = gauge;
        let [film_from, film_to] = film;
        [
            format!(
                "At hot idle the gauge would show about {}{}.",
                each(&|at| self.gauge(at.hot_idle.gauge_pa)),
                range(gauge_from, gauge_to)
            ),
            format!(
                "Under load the {pins} would run on {}{}.",
                each(&|at| self.runs_on(&at.hot_running)),
                range(film_from, film_to)
            ),
        ]
    }

    /// Oil and kind of engine, and whether anybody said so.
    pub fn oil_and_kind(answer: &Answer) -> String {
        let known = |given: bool| if given { "as given" } else { "assumed, as nobody said it" };
        let (oil, data) = (&answer.oil, answer.oil.data);
        let sheet = format!(
            "{} and {} mm²/s at {} and {} °C",
            data.lower_viscosity_mm2_s, data.higher_viscosity_mm2_s, data.lower_temp_c, data.higher_temp_c
        );
        let oil = match oil.grade {
            Some(grade) => format!("{grade}, {}; a typical oil of it, {sheet}", known(oil.given)),
            None => format!("{sheet}, by its data sheet"),
        };
        let kind_given = !answer.assumed.contains(&"kind");
        format!("Oil: {oil}. Engine: {}, {}.", answer.kind.name(), known(kind_given))
    }

    /// Why figures are not given; nothing where all are.
    pub fn not_given(self, answer: &Answer) -> Option<&'static str> {
        let states = || answer.clearances.iter().flat_map(|at| [&at.hot_idle, &at.hot_running, &at.cold]);
        let outside = states().any(|state| state.friction_w().is_none());
        outside.then_some(
            "Not given: where surfaces touch, a film is hotter than oil bears (180 °C), or the pump delivers less than the              bearings take, pressure, friction and temperature lie outside the model.",
        )
    }
}

/// What stands in place of a figure that the model does not bear.
const NOT_GIVEN: &str = "not given";
