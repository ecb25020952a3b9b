//! What a clearance does, from the command line.

use std::fmt::Write;
use std::path::Path;

use film::case::{Answer, AtClearance, State, answer};
use sheet::{FilmCase, FilmWords, Problem};
use units::Unit;

use crate::report::wrap;
use crate::{FAILED, complain, files, report_problems, say};

/// Answers a case from a file.
pub(crate) fn case_file(path: &Path, json: bool) -> u8 {
    let text = match files::read_text(path) {
        Ok(text) => text,
        Err(problem) => return report_problems(&[*problem]),
    };
    let name = path.display().to_string();
    let case = match sheet::read_film_case(&name, &text) {
        Ok(case) => case,
        Err(problems) => return report_problems(&problems),
    };
    match answer(&case.case) {
        Ok(answer) if json => match serde_json::to_string_pretty(&answer) {
            Ok(text) => say(&format!("{text}\n")),
            Err(error) => {
                complain(&format!("tenunder: {error}\nThis is a fault of the program, not of the case.\n"));
                FAILED
            }
        },
        Ok(answer) => say(&report(&case, &answer)),
        Err(found) => report_problems(&problems(&name, found)),
    }
}

/// What cannot be worked with in a case, as faults of its file.
pub(crate) fn problems(file: &str, found: film::Problems) -> Vec<Problem> {
    let one = |problem: film::Problem| Problem {
        file: file.to_owned(),
        line: None,
        key: sheet::film_field(&problem.field),
        found: problem.value,
        expected: problem.limit,
        advice: problem.physics,
    };
    found.0.into_iter().map(one).collect()
}

/// A clearance on the diameter, with its unit.
fn clearance(unit: Unit, m: f64) -> String {
    match unit {
        Unit::Inch => format!("{:.4} in", m / 0.0254),
        Unit::Millimetre => format!("{:.3} mm", m * 1e3),
    }
}

fn report(case: &FilmCase, answer: &Answer) -> String {
    let told = FilmWords { unit: case.unit, millionths: "µin" };
    let title = if case.name.is_empty() { "What the clearances do".to_owned() } else { case.name.clone() };
    let mut out = format!("{title}\n{}\n", "=".repeat(title.chars().count().min(80)));
    for says in told.plain(answer, "big ends") {
        out += &wrap(&says, "", "");
    }
    out += &wrap(&FilmWords::oil_and_kind(answer), "", "");
    out.push('\n');
    let names: Vec<&str> = answer.clearances.iter().map(|at| at.clearance.name.as_str()).collect();
    let widest = names.iter().map(|name| name.chars().count()).max().unwrap_or(0).clamp(10, 14);
    let mut row = |what: &str, cell: &dyn Fn(&AtClearance) -> String| {
        let mut line = format!("  {what:<30}");
        for at in &answer.clearances {
            let cell: String = cell(at).chars().take(widest).collect();
            let _ = write!(line, "{cell:>width$}", width = widest + 2);
        }
        out += line.trim_end();
        out.push('\n');
    };
    row("", &|at| at.clearance.name.clone());
    row("clearance, big ends", &|at| clearance(case.unit, at.clearance.pin_diametral_m));
    row("clearance, mains", &|at| clearance(case.unit, at.clearance.main_diametral_m));
    type Of = fn(&AtClearance) -> &State;
    let conditions: [(&str, Of); 3] =
        [("hot idle", |at| &at.hot_idle), ("hot, under load", |at| &at.hot_running), ("cold idle", |at| &at.cold)];
    for (name, state) in conditions {
        row("", &|_| String::new());
        let speed = answer.clearances.first().map_or(0.0, |at| state(at).speed_rpm);
        row(&format!("{name}, {speed:.0} rpm: gauge"), &|at| {
            let state = state(at);
            format!("{}{}", told.gauge(state.gauge_pa), if state.relief_open { " *" } else { "" })
        });
        row("  least film, big ends", &|at| told.least_film(&state(at).pins));
        row("  least film, mains", &|at| told.least_film(&state(at).mains));
        row("  peak pressure, big ends", &|at| told.peak_in(&state(at).pins));
        row("  friction, all bearings", &|at| told.friction(state(at)));
        row("  oil through all bearings", &|at| format!("{:.1} l/min", state(at).flow_m3_s() * 6e4));
        row("  film temperature, big ends", &|at| told.temp_in(&state(at).pins));
        row("  film temperature, mains", &|at| told.temp_in(&state(at).mains));
    }
    out.push('\n');
    if answer.clearances.iter().any(|at| [&at.hot_idle, &at.hot_running, &at.cold].iter().any(|s| s.relief_open)) {
        out +=
            &wrap("* The relief valve is open: the gauge tells more about the valve than about clearances.", "", "  ");
    }
    if let Some(why) = told.not_given(answer) {
        out += &wrap(why, "", "  ");
    }
    out += &wrap(&format!("Of the gauge: {}.", answer.hint), "", "  ");
    out.push('\n');
    out += &leaning(answer, told);
    out += "WHAT IS LEFT OUT\n";
    for limit in answer.limits {
        out += &wrap(limit, "  - ", "    ");
    }
    out += &wrap(
        "An engine that knocks, rumbles or has lost its pressure is not run to find out why: stop it. The maker's manual comes \
         before anything said here.",
        "",
        "",
    );
    out
}

/// How much the answer rests on what was assumed.
fn leaning(answer: &Answer, told: FilmWords) -> String {
    let lean = &answer.leaning;
    let mut out = "HOW MUCH IS ASSUMED\n".to_owned();
    out += &wrap(
        &format!(
            "{} of {} figures were not given. With all of them anywhere in their ranges the plan has {} to {} at hot idle, and \
             {} to {} under the big ends.",
            answer.assumed.len(),
            answer.asked_of,
            told.gauge(lean.hot_idle_gauge_pa.from),
            told.gauge(lean.hot_idle_gauge_pa.to),
            told.film(lean.pin_film_m.from),
            told.film(lean.pin_film_m.to)
        ),
        "  ",
        "  ",
    );
    if !lean.figures.is_empty() {
        out += "  It leans most on:\n";
    }
    for one in lean.figures.iter().take(5) {
        let _ = writeln!(
            out,
            "    {:<26} gauge {} to {}, film {} to {},\n    {:<26} mains {} to {}",
            if one.figure == "oil" { "oil, thin to thick" } else { sheet::film_key(one.figure) },
            told.gauge(one.hot_idle_gauge_pa[0]),
            told.gauge(one.hot_idle_gauge_pa[1]),
            told.film(one.pin_film_m[0]),
            told.film(one.pin_film_m[1]),
            "",
            told.film(one.main_film_m[0]),
            told.film(one.main_film_m[1])
        );
    }
    out.push('\n');
    out
}
