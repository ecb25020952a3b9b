//! What the oil makes of the clearances of a job: film, heat, pressure on the gauge.

use std::collections::BTreeMap;

use askama::Template;
use axum::Router;
use axum::extract::{Query, State};
use axum::routing::get;
use crank::SetName;
use film::case::{Answer as OilAnswer, AtClearance, Case, Clearance, Input, Kind, State as Running};
use film::oil::Grade;
use paper::{FilmCurve, GaugeCurve, SvgSize, film_window};
use serde::Deserialize;
use sheet::{FilmFigure, FilmWords, film_field, film_limit};
use units::{Unit, show_mm};

use crate::bar::Bar;
use crate::desk::Desk;
use crate::oil_question::{OilQuestion, oil_question};
use crate::visitor::{Answer, Frame, JobPath, Visitor, shop_of, show};
use crate::wording::{OldWay, Words};

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
    /// `petrol` or `diesel`.
    #[serde(default)]
    kind: String,
    /// Further figures of the engine, by the keys of a film case.
    #[serde(flatten)]
    more: BTreeMap<String, String>,
}

/// One line of the table: what it is, then a figure for each clearance.
struct Line {
    head: String,
    /// Whether a condition of the engine begins here.
    begins: bool,
    cells: Vec<String>,
}

struct Told {
    /// Readings that look misread, on which the clearances as found rest.
    doubts: Vec<String>,
    oil: String,
    not_given: Option<&'static str>,
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
    /// The figure of the engine that it gives; none for a clearance.
    figure: Option<FilmFigure>,
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
    kinds: Vec<(&'static str, bool)>,
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
        kinds: [Kind::Petrol, Kind::Diesel].map(|kind| (kind.name(), asked.kind == kind.name())).to_vec(),
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
    if let Err(problems) = case.check() {
        find_fault(&mut page, &problems, unit);
    }
    if page.fields.iter().any(|field| field.fault.is_some()) {
        page.problems.push("A figure cannot be used; see below.".to_owned());
    }
    if !page.problems.is_empty() {
        return show(&page);
    }
    let book = sheet.engine().book;
    let windows = [SetName::Pin, SetName::Main].map(|set| (set, film_window(&fit, set, book.set(set).clearance)));
    match desk.oil_answers.of(&case).await? {
        Ok(answer) => {
            leant_on(&mut page.fields, &answer, unit);
            page.told = Some(told(&case, &answer, unit, words, &made.notes, windows));
            if let Some(told) = &mut page.told {
                told.doubts = made.doubts.iter().map(|says| words.put(says)).collect();
            }
        }
        Err(problems) => {
            page.problems.extend(problems.0.iter().map(|problem| format!("{problem}.")));
        }
    }
    show(&page)
}

fn fields(asked: &Asked, unit: Unit, words: Words) -> Vec<Field> {
    let clearance = |name, label: String, value: &str| Field {
        name,
        label,
        hint: "On the diameter. Empty: the book’s upper limit",
        figure: None,
        value: value.to_owned(),
        fault: None,
    };
    let pressure = if unit == Unit::Inch { "psi" } else { "bar" };
    let mut fields = vec![
        clearance("pin", format!("Other clearance, {}s, {unit}", words.one_of(SetName::Pin)), &asked.pin),
        clearance("main", format!("Other clearance, mains, {unit}"), &asked.main),
    ];
    let usual = [
        ("idle", "idle_rpm", "Idle speed, turns a minute".to_owned(), &asked.idle),
        ("hot", "oil_hot_c", "Oil when hot, °C".to_owned(), &asked.hot),
        ("relief", "relief_opens_bar", format!("Relief valve opens at, {pressure}"), &asked.relief),
    ];
    for (name, key, label, value) in usual {
        let (figure, value) = (FilmFigure::of(key), value.to_owned());
        fields.push(Field { name, label, hint: "Empty: assumed", figure, value, fault: None });
    }
    let more = asked.more.iter().filter(|(_, value)| !value.trim().is_empty());
    for (figure, value) in more.filter_map(|(key, value)| Some((FilmFigure::of(key)?, value))) {
        add_figure(&mut fields, figure, "Empty: assumed", value, unit);
    }
    fields
}

/// A field for a figure of the engine, unless there is one.
fn add_figure(fields: &mut Vec<Field>, figure: FilmFigure, hint: &'static str, value: &str, unit: Unit) -> bool {
    if fields.iter().filter_map(|field| field.figure).any(|known| known.key == figure.key) {
        return false;
    }
    let written_in = figure.written_in(unit);
    let comma = if written_in.is_empty() { "" } else { ", " };
    let label = format!("{}{comma}{written_in}", crate::wording::capital(words_of(figure.name)));
    fields.push(Field { name: figure.key, label, hint, figure: Some(figure), value: value.to_owned(), fault: None });
    true
}

/// Asks for the two figures that the answer leans on most and that cannot be entered yet.
fn leant_on(fields: &mut Vec<Field>, answer: &OilAnswer, unit: Unit) {
    let hint = "Empty: assumed; the answer leans on it";
    let mut added = 0;
    for figure in answer.leaning.figures.iter().filter_map(|lean| FilmFigure::of(lean.figure)) {
        if added < 2 && add_figure(fields, figure, hint, "", unit) {
            added += 1;
        }
    }
}

/// Says what the film cannot work with at the field where it was typed; what was not typed here, above the fields.
fn find_fault(page: &mut OilPage, problems: &film::Problems, unit: Unit) {
    for problem in &problems.0 {
        let key = film_field(&problem.field);
        let typed_here = |field: &&mut Field| match field.figure {
            Some(figure) => key == format!("figures.{}", figure.key),
            None => key == format!("clearance[3].{}", field.name),
        };
        let (limit, physics) = (film_limit(problem, unit), &problem.physics);
        let mut typed = page.fields.iter_mut().filter(|field| !field.value.trim().is_empty());
        match typed.find(typed_here) {
            Some(field) if field.name == "relief" && unit == Unit::Inch => {
                field.fault = Some(format!("Usable is {limit} bar: {physics}."));
            }
            Some(field) => field.fault = Some(format!("Usable is {limit}: {physics}.")),
            None => page.problems.push(format!("{key}: usable is {limit}: {physics}.")),
        }
    }
}

/// Puts what was typed into the case; what cannot be used is said at its field.
fn given(case: &mut Case, asked: &Asked, unit: Unit, mut fields: Vec<Field>) -> Vec<Field> {
    if let Some(kind) = [Kind::Petrol, Kind::Diesel].into_iter().find(|kind| kind.name() == asked.kind) {
        case.set_kind(kind);
    }
    // Before the figures: a grade brings what it loses under shear.
    if let Some(grade) = Grade::ALL.into_iter().find(|grade| grade.name() == asked.oil) {
        case.set_grade(grade);
    }
    let mut other: Option<Clearance> = case.clearances.get(2).cloned();
    for field in fields.iter_mut().filter(|field| !field.value.trim().is_empty()) {
        let typed = field.value.trim();
        let number = typed.replace(',', ".").parse::<f64>().ok().filter(|n| n.is_finite());
        let length_m = units::read(typed, unit).ok().map(|entry| entry.mm / 1000.0).filter(|m| *m > 0.0);
        let fault = match (field.figure, length_m, &mut other) {
            (None, Some(m), Some(other)) => {
                let place = if field.name == "pin" { &mut other.pin_diametral_m } else { &mut other.main_diametral_m };
                *place = m;
                "other clearance".clone_into(&mut other.name);
                None
            }
            (None, ..) => Some(format!("Clearance must be a length above nought, in {}.", unit.plural())),
            (Some(figure), ..) if figure.name == "bore_m" && number.is_some_and(|bore| bore > 0.0) => {
                // What is assumed grows with it; that no engine has such a bore is found later.
                case.set_bore(figure.si(number.unwrap_or_default(), unit));
                None
            }
            (Some(figure), ..) => match (number, case.figures.named(figure.name)) {
                (Some(number), Some(place)) => {
                    // The one field that is told in a unit other than its key's.
                    let psi = field.name == "relief" && unit == Unit::Inch;
                    let si = if psi { number * 6894.757 } else { figure.si(number, unit) };
                    *place = Input::given(si);
                    None
                }
                _ => Some("It must be a number.".to_owned()),
            },
        };
        field.fault = fault;
    }
    if let (Some(other), Some(place)) = (other, case.clearances.get_mut(2)) {
        *place = other;
    }
    fields
}

/// A figure of the engine in words.
fn words_of(figure: &str) -> &str {
    if figure == "oil" {
        return "The oil, from thin to thick";
    }
    film::case::Figures::words(figure).unwrap_or(figure).trim_end_matches('.')
}

fn told(
    case: &Case,
    answer: &OilAnswer,
    unit: Unit,
    words: Words,
    notes: &[String],
    windows: [(SetName, Option<(f64, f64)>); 2],
) -> Told {
    let figures = FilmWords { unit, millionths: "millionths" };
    let clearance = |m: f64| show_mm(m * 1000.0, unit, unit.usual_decimals());
    let all = &answer.clearances;
    let one = words.one_of(SetName::Pin);
    let plain = figures.plain(answer, &format!("{one}s")).to_vec();
    let mut lines = Vec::new();
    let mut line = |head: String, begins: bool, cell: &dyn Fn(&AtClearance) -> String| {
        lines.push(Line { head, begins, cells: all.iter().map(cell).collect() });
    };
    let widest = |own: bool| if own { " (the widest)" } else { "" };
    let own_pins = widest(all.iter().any(|at| !at.clearance.each_pin_m.is_empty()));
    let own_mains = widest(all.iter().any(|at| !at.clearance.each_main_m.is_empty()));
    line(format!("Clearance, {one}s{own_pins}, {unit}"), false, &|at| clearance(at.clearance.pin_diametral_m));
    line(format!("Clearance, mains{own_mains}, {unit}"), false, &|at| clearance(at.clearance.main_diametral_m));
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
        line(format!("Peak pressure in the film, {one}s"), false, &|at| figures.peak_in(&of(at).pins));
        line("Friction, all bearings".to_owned(), false, &|at| figures.friction(of(at)));
        line("Oil through all bearings".to_owned(), false, &|at| format!("{:.1} l/min", of(at).flow_m3_s() * 6e4));
        line(format!("Film temperature, {one}s"), false, &|at| figures.temp_in(&of(at).pins));
        line("Film temperature, mains".to_owned(), false, &|at| figures.temp_in(&of(at).mains));
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
        answer.asked_of,
        figures.gauge(lean.hot_idle_gauge_pa.from),
        figures.gauge(lean.hot_idle_gauge_pa.to),
        figures.film(lean.pin_film_m.from),
        figures.film(lean.pin_film_m.to)
    )];
    leaning.extend(lean.figures.iter().take(5).map(|one| {
        format!(
            "{}: gauge {} to {}, film {} to {} under the {}s, {} to {} under the governing main.",
            crate::wording::capital(words_of(one.figure)),
            figures.gauge(one.hot_idle_gauge_pa[0]),
            figures.gauge(one.hot_idle_gauge_pa[1]),
            figures.film(one.pin_film_m[0]),
            figures.film(one.pin_film_m[1]),
            words.one_of(SetName::Pin),
            figures.film(one.main_film_m[0]),
            figures.film(one.main_film_m[1])
        )
    }));
    let relief = all.iter().any(|at| [&at.hot_idle, &at.hot_running, &at.cold].iter().any(|state| state.relief_open));
    Told {
        doubts: Vec::new(),
        oil: FilmWords::oil_and_kind(answer),
        not_given: figures.not_given(answer),
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
