//! What the oil makes of the clearances of a job: film, heat, pressure on the gauge.

use askama::Template;
use axum::Router;
use axum::extract::{Query, State};
use axum::routing::get;
use crank::SetName;
use film::case::{
    Answer as OilAnswer, AtClearance, Case, Clearance, Contact, Input, OilChoice, State as Running, answer,
};
use film::oil::Grade;
use paper::{FilmCurve, GaugeCurve, SvgSize, film_window};
use serde::Deserialize;
use sheet::FilmWords;
use units::{Unit, show_mm};

use crate::bar::Bar;
use crate::desk::Desk;
use crate::oil_question::{OilQuestion, oil_question};
use crate::trouble::Trouble;
use crate::visitor::{Answer, Frame, JobPath, Visitor, shop_of, show};
use crate::wording::PinWord;

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/jobs/{job}/oil", get(oil))
}

/// What may be said of the engine in the address; each left out is assumed or taken from the job.
#[derive(Clone, Debug, Default, Deserialize)]
struct Asked {
    #[serde(default)]
    pin: String,
    #[serde(default)]
    main: String,
    #[serde(default)]
    oil: String,
    #[serde(default)]
    idle: String,
    #[serde(default)]
    hot: String,
    #[serde(default)]
    relief: String,
}

/// One line of the table: what it is, then a figure for each clearance.
struct Line {
    head: String,
    /// Whether a condition of the engine begins here.
    begins: bool,
    cells: Vec<String>,
}

struct Told {
    plain: Vec<String>,
    names: Vec<String>,
    lines: Vec<Line>,
    curves: Vec<String>,
    gauge: Option<String>,
    leaning: Vec<String>,
    notes: Vec<String>,
    limits: Vec<String>,
    hint: String,
    relief: bool,
}

/// A field of the form.
struct Field {
    name: &'static str,
    label: String,
    hint: &'static str,
    value: String,
    fault: Option<String>,
}

#[derive(Template)]
#[template(path = "oil.html")]
struct OilPage {
    frame: Frame,
    bar: Bar,
    fields: Vec<Field>,
    oils: Vec<(&'static str, bool)>,
    told: Option<Told>,
    problems: Vec<String>,
}

async fn oil(State(desk): State<Desk>, visitor: Visitor, JobPath(job): JobPath, Query(asked): Query<Asked>) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let frame = visitor.frame(&shop, format!("Oil film, job {job}"), "jobs");
    let words = frame.words;
    let unit = held.unit();
    let mut page = OilPage {
        frame,
        bar: Bar::of(&held.job, "oil"),
        fields: fields(&asked, unit, words),
        oils: Grade::ALL.iter().map(|grade| (grade.name(), asked.oil == grade.name())).collect(),
        told: None,
        problems: Vec::new(),
    };
    let OilQuestion { asked: made, sheet, fit } = match oil_question(&desk, &held).await {
        Ok(question) => question,
        Err(says) => {
            page.problems.push(words.put(&says));
            return show(&page);
        }
    };
    let mut case = made.case;
    page.fields = given(&mut case, &asked, unit, page.fields);
    if page.fields.iter().any(|field| field.fault.is_some()) {
        page.problems.push("A figure cannot be used; see below.".to_owned());
        return show(&page);
    }
    let book = sheet.engine().book;
    let windows = [SetName::Pin, SetName::Main].map(|set| (set, film_window(&fit, set, book.set(set).clearance)));
    let asked_case = case.clone();
    let worked = tokio::task::spawn_blocking(move || answer(&asked_case)).await;
    match worked.map_err(|error| Trouble::fault(error.to_string()))? {
        Ok(answer) => page.told = Some(told(&case, &answer, unit, words, &made.notes, windows)),
        Err(problems) => {
            page.problems.extend(problems.0.iter().map(|problem| format!("{problem}.")));
        }
    }
    show(&page)
}

fn fields(asked: &Asked, unit: Unit, words: PinWord) -> Vec<Field> {
    let field =
        |name, label: String, hint, value: &str| Field { name, label, hint, value: value.to_owned(), fault: None };
    let pressure = if unit == Unit::Inch { "psi" } else { "bar" };
    vec![
        field(
            "pin",
            format!("Other clearance, {}s, {unit}", words.one()),
            "On the diameter. Empty: the book’s upper limit",
            &asked.pin,
        ),
        field(
            "main",
            format!("Other clearance, mains, {unit}"),
            "On the diameter. Empty: the book’s upper limit",
            &asked.main,
        ),
        field("idle", "Idle speed, turns a minute".to_owned(), "Empty: assumed", &asked.idle),
        field("hot", "Oil when hot, °C".to_owned(), "Empty: assumed", &asked.hot),
        field("relief", format!("Relief valve opens at, {pressure}"), "Empty: assumed", &asked.relief),
    ]
}

/// Puts what was typed into the case; what cannot be used is said at its field.
fn given(case: &mut Case, asked: &Asked, unit: Unit, mut fields: Vec<Field>) -> Vec<Field> {
    let mut other: Option<Clearance> = case.clearances.get(2).cloned();
    for field in fields.iter_mut().filter(|field| !field.value.trim().is_empty()) {
        let typed = field.value.trim();
        let number = typed.replace(',', ".").parse::<f64>().ok().filter(|n| n.is_finite() && *n > 0.0);
        let length_m = units::read(typed, unit).ok().map(|entry| entry.mm / 1000.0).filter(|m| *m > 0.0);
        let fault = match field.name {
            "pin" | "main" => match (length_m, &mut other) {
                (Some(m), Some(other)) => {
                    let place =
                        if field.name == "pin" { &mut other.pin_diametral_m } else { &mut other.main_diametral_m };
                    *place = m;
                    "other clearance".clone_into(&mut other.name);
                    None
                }
                _ => Some(format!("Clearance must be a length above nought, in {}.", unit.plural())),
            },
            name => match number {
                Some(n) => {
                    let figures = &mut case.figures;
                    match name {
                        "idle" => figures.idle_rpm = Input::given(n),
                        "hot" => figures.oil_hot_c = Input::given(n),
                        _ => {
                            let pa = if unit == Unit::Inch { 6894.757 } else { 1e5 };
                            figures.relief_opens_pa = Input::given(n * pa);
                        }
                    }
                    None
                }
                None => Some("It must be a number above nought.".to_owned()),
            },
        };
        field.fault = fault;
    }
    if let (Some(other), Some(place)) = (other, case.clearances.get_mut(2)) {
        *place = other;
    }
    if let Some(grade) = Grade::ALL.into_iter().find(|grade| grade.name() == asked.oil) {
        case.oil = OilChoice::Grade(grade);
    }
    fields
}

/// A figure of the engine in words.
fn words_of(figure: &str) -> &str {
    film::case::Figures::words(figure).unwrap_or(figure).trim_end_matches('.')
}

fn told(
    case: &Case,
    answer: &OilAnswer,
    unit: Unit,
    words: PinWord,
    notes: &[String],
    windows: [(SetName, Option<(f64, f64)>); 2],
) -> Told {
    let figures = FilmWords { unit, millionths: "millionths" };
    let clearance = |m: f64| show_mm(m * 1000.0, unit, unit.usual_decimals());
    let all = &answer.clearances;
    let each = |cell: &dyn Fn(&AtClearance) -> String| -> String {
        all.iter().map(|at| format!("{} {}", cell(at), at.clearance.name)).collect::<Vec<_>>().join(", ")
    };
    let one = words.one();
    let plain = vec![
        format!("At hot idle the gauge would show about {}.", each(&|at| figures.gauge(at.hot_idle.gauge_pa))),
        format!(
            "Under load the {one}s would run on {}.",
            each(&|at| match at.hot_running.pins.contact {
                Contact::Film => format!("a film of {}", figures.film(at.hot_running.pins.least_film_m)),
                Contact::Mixed => "no whole film".to_owned(),
            })
        ),
    ];
    let mut lines = Vec::new();
    let mut line = |head: String, begins: bool, cell: &dyn Fn(&AtClearance) -> String| {
        lines.push(Line { head, begins, cells: all.iter().map(cell).collect() });
    };
    line(format!("Clearance, {one}s, {unit}"), false, &|at| clearance(at.clearance.pin_diametral_m));
    line(format!("Clearance, mains, {unit}"), false, &|at| clearance(at.clearance.main_diametral_m));
    type Of = fn(&AtClearance) -> &Running;
    let conditions: [(&str, Of); 3] =
        [("Hot idle", |at| &at.hot_idle), ("Hot, under load", |at| &at.hot_running), ("Cold idle", |at| &at.cold)];
    for (name, of) in conditions {
        let speed = all.first().map_or(0.0, |at| of(at).speed_rpm);
        line(format!("{name}, {speed:.0} turns a minute: gauge"), true, &|at| {
            let state = of(at);
            format!("{}{}", figures.gauge(state.gauge_pa), if state.relief_open { " *" } else { "" })
        });
        line(format!("Least film, {one}s"), false, &|at| figures.least_film(&of(at).pins));
        line("Least film, mains".to_owned(), false, &|at| figures.least_film(&of(at).mains));
        line(format!("Peak pressure in the film, {one}s"), false, &|at| figures.peak(of(at).pins.peak_pressure_pa));
        line("Friction, all bearings".to_owned(), false, &|at| {
            format!("{:.0} W", of(at).pins.friction_w + of(at).mains.friction_w)
        });
        line("Oil through all bearings".to_owned(), false, &|at| {
            format!("{:.1} l/min", (of(at).pins.flow_m3_s + of(at).mains.flow_m3_s) * 6e4)
        });
    }
    let curves = windows.into_iter().map(|(set, window_mm)| {
        let curve = FilmCurve::of(case, answer, set, unit, words.set(set), window_mm);
        curve.draw(FilmCurve::USUAL_MM).to_svg(&format!("film-{set}"), SvgSize::Page)
    });
    let curves = curves.collect();
    let gauge =
        GaugeCurve::of(case, answer, unit).map(|curve| curve.draw(GaugeCurve::USUAL_MM).to_svg("gauge", SvgSize::Page));
    let lean = &answer.leaning;
    let mut leaning = vec![format!(
        "{} of {} figures of the engine are assumed. With each anywhere in its range the plan has {} to {} at hot idle, and {} \
         to {} under the {one}s.",
        answer.assumed.len(),
        answer.figures.list().len(),
        figures.gauge(lean.hot_idle_gauge_pa.from),
        figures.gauge(lean.hot_idle_gauge_pa.to),
        figures.film(lean.pin_film_m.from),
        figures.film(lean.pin_film_m.to)
    )];
    leaning.extend(lean.figures.iter().take(5).map(|one| {
        format!(
            "{}: gauge {} to {}, film {} to {}.",
            crate::wording::capital(words_of(one.figure)),
            figures.gauge(one.hot_idle_gauge_pa[0]),
            figures.gauge(one.hot_idle_gauge_pa[1]),
            figures.film(one.pin_film_m[0]),
            figures.film(one.pin_film_m[1])
        )
    }));
    let relief = all.iter().any(|at| [&at.hot_idle, &at.hot_running, &at.cold].iter().any(|state| state.relief_open));
    Told {
        plain,
        names: all.iter().map(|at| crate::wording::capital(&at.clearance.name)).collect(),
        lines,
        curves,
        gauge,
        leaning,
        notes: notes.iter().map(|says| words.put(says)).collect(),
        limits: answer.limits.iter().map(|says| format!("{}.", crate::wording::capital(&words.put(says)))).collect(),
        hint: format!("Of the gauge: {}.", answer.hint),
        relief,
    }
}
