//! Help me read it: from what stands on sleeve, thimble and vernier to the reading, step by step.
//!
//! All of it stands in the address, so it works without a script, and going back goes back a step.

use askama::Template;
use axum::extract::State;
use gauge::keyed::addends;
use gauge::scale::{Frame, ScaleError, Setting};
use paper::micrometer::usual_peep;
use units::{Length, Unit};

use super::entry::unit_word;
use crate::bar::Bar;
use crate::desk::Desk;
use crate::drawn::{front_svg, vernier_svg, whole_svg};
use crate::trouble::Trouble;
use crate::visitor::{
    Answer, Asked, Fields, Frame as PageFrame, JobPath, Visitor, form_id, go, shop_of, show, show_again,
};
use job::in_hand::in_hand;
use job::march::Spot;
use job::micrometers::keyed_as;

#[derive(Template)]
#[template(path = "measure_reader.html")]
struct ReaderPage {
    frame: PageFrame,
    bar: Bar,
    spot: String,
    spot_name: String,
    corrects: String,
    /// Which step it is, from 1; one more than there are when all is read.
    step: usize,
    steps: usize,
    now: Option<StepPart>,
    /// What the form keeps of the other steps.
    kept: Vec<(&'static str, String)>,
    back: Option<String>,
    drawing: String,
    sum: String,
    rule: bool,
    /// The same with the line that was just showing taken off.
    taken_off: Option<String>,
    fault: Option<String>,
    done: Option<Done>,
    measure: String,
}

/// The step in hand.
struct StepPart {
    name: &'static str,
    heading: &'static str,
    hint: &'static str,
    typed: String,
    most: u32,
    less: Option<String>,
    more: Option<String>,
}

/// The reading, ready to be handed back.
struct Done {
    id: String,
    with: String,
    reading: String,
    shown: String,
}

/// One thing to read, in words.
struct Step {
    name: &'static str,
    heading: &'static str,
    hint: &'static str,
}

const THIMBLE: Step = Step {
    name: "thimble",
    heading: "The thimble number at the index line",
    hint: "The line at the index line, or the one just under it. The numbers rise upwards.",
};

const VERNIER: Step = Step {
    name: "vernier",
    heading: "The vernier line that meets a thimble line",
    hint: "Roll the micrometer towards you. Only one line of the vernier meets a line of the thimble.",
};

const INCH: [Step; 4] = [
    Step {
        name: "sleeve",
        heading: "The last number showing on the sleeve",
        hint: "The highest number whose line is in sight.",
    },
    Step {
        name: "lines",
        heading: "Small lines after that number",
        hint: "Lines between the number’s own line and the thimble: none to three.",
    },
    THIMBLE,
    VERNIER,
];

const METRIC: [Step; 4] = [
    Step {
        name: "sleeve",
        heading: "Whole millimetres showing on the sleeve",
        hint: "The last number showing, and one more for each whole line after it.",
    },
    Step {
        name: "lines",
        heading: "The half line after it",
        hint: "On the other side of the index line: 1 where it shows after the last whole line, else 0.",
    },
    THIMBLE,
    VERNIER,
];

/// What stands in the address.
#[derive(Clone)]
struct Told {
    job: i64,
    spot: Spot,
    corrects: String,
    step: usize,
    setting: Setting,
}

impl Told {
    /// The address of this.
    fn address(&self) -> String {
        let mut query = form_urlencoded::Serializer::new(String::new());
        query.append_pair("spot", &self.spot.to_string());
        if !self.corrects.is_empty() {
            query.append_pair("corrects", &self.corrects);
        }
        query.append_pair("step", &self.step.to_string());
        for step in &INCH {
            if let Some(count) = part(&self.setting, step.name) {
                query.append_pair(step.name, &count.to_string());
            }
        }
        format!("/jobs/{}/measure/read?{}", self.job, query.finish())
    }

    fn with(&self, name: &str, count: u32) -> Told {
        let mut told = self.clone();
        put(&mut told.setting, name, count);
        told
    }

    fn at(&self, step: usize) -> Told {
        Told { step, ..self.clone() }
    }
}

fn part(setting: &Setting, name: &str) -> Option<u32> {
    match name {
        "sleeve" => Some(setting.sleeve),
        "lines" => Some(setting.lines),
        "thimble" => Some(setting.thimble),
        _ => setting.vernier,
    }
}

fn put(setting: &mut Setting, name: &str, count: u32) {
    match name {
        "sleeve" => setting.sleeve = count,
        "lines" => setting.lines = count,
        "thimble" => setting.thimble = count,
        _ => setting.vernier = setting.vernier.map(|_| count),
    }
}

/// The helper for the reading at a spot.
pub(super) async fn read(
    State(desk): State<Desk>,
    JobPath(job): JobPath,
    Asked(asked): Asked,
    visitor: Visitor,
) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let book = held.book()?;
    let Ok(spot) = asked.text("spot").parse::<Spot>() else { return Ok(go(&format!("/jobs/{job}/measure"))) };
    let measure = format!("/jobs/{job}/measure?spot={spot}");
    let set = book.set(spot.journal.set);
    let micrometer = in_hand(&held, spot.journal.set).filter(|_| spot.journal.number <= set.count());
    let about = Length::nearest_mm(set.size.low_mm).unwrap_or(Length::ZERO);
    let (Some(with), false) = (micrometer, held.job.signed_off.is_some()) else { return Ok(go(&measure)) };
    let Some(on) = with.frame(about) else { return Ok(go(&measure)) };
    let corrects = asked.text("corrects").chars().filter(char::is_ascii_alphanumeric).take(40).collect();
    let (told, fault) = told(&asked, job, spot, corrects, on);
    let mut frame = visitor.frame(&shop, String::new(), "jobs");
    let spot_name = spot.name(frame.words);
    let size = on.size(told.setting);
    let fault = fault.or_else(|| size.as_ref().err().map(says));
    let error = if fault.is_some() { "Error: " } else { "" };
    frame.title = format!("{error}Help me read it, {spot_name}, job {job}");
    let steps = steps(on);
    // Past what the micrometer reaches the nearest is drawn; the words say why.
    let shown = size.as_ref().copied().unwrap_or(on.limits().1);
    let done = match (&size, told.step > steps.len()) {
        (Ok(size), true) => Some(Done {
            id: form_id()?,
            with: with.name.clone(),
            reading: gauge::keyed::as_keyed(*size, &keyed_as(&shop, with, set.size.low_mm), with),
            shown: format!("{} {}", size.show(with.unit, units::digits_for(with.graduation_mm, with.unit)), with.unit),
        }),
        _ => None,
    };
    let told = if size.is_err() { told.at(told.step.min(steps.len())) } else { told };
    let now = steps.get(told.step - 1).map(|step| step_part(&told, step, on));
    let page = ReaderPage {
        bar: Bar::of(&held.job, "measure"),
        spot: spot.to_string(),
        spot_name,
        corrects: told.corrects.clone(),
        step: told.step,
        steps: steps.len(),
        kept: steps
            .iter()
            .filter(|step| now.as_ref().is_none_or(|now| now.name != step.name))
            .filter_map(|step| Some((step.name, part(&told.setting, step.name)?.to_string())))
            .collect(),
        back: (told.step > 1).then(|| told.at(told.step - 1).address()),
        drawing: drawing(on, shown, told.step, steps.len())?,
        sum: sum(on, &told, &shown),
        rule: told.step >= 3 && on.scale().near_the_top(told.setting.thimble),
        taken_off: size.ok().and_then(|size| {
            let setting = on.setting(size - on.scale().turn()).ok()?;
            Some(Told { setting, ..told.clone() }.address())
        }),
        now: match (now, &fault) {
            (Some(now), Some(_)) => {
                let typed = asked.text(now.name);
                let typed = if typed.is_empty() { now.typed } else { typed.chars().take(20).collect() };
                Some(StepPart { typed, ..now })
            }
            (now, _) => now,
        },
        done,
        measure: if told.corrects.is_empty() { measure } else { format!("{measure}&corrects={}", told.corrects) },
        frame,
        fault,
    };
    if page.fault.is_some() { show_again(&page) } else { show(&page) }
}

fn steps(on: Frame) -> &'static [Step] {
    let all = if on.scale().unit() == Unit::Inch { &INCH } else { &METRIC };
    if on.scale().has_vernier() { all } else { all.split_at(3).0 }
}

/// What stands in the address, as far as it can be; the first thing that cannot.
fn told(asked: &Fields, job: i64, spot: Spot, corrects: String, on: Frame) -> (Told, Option<String>) {
    let steps = steps(on);
    let vernier = on.scale().has_vernier().then_some(0);
    let step = asked.text("step").parse::<usize>().unwrap_or(1).clamp(1, steps.len() + 1);
    let mut told = Told { job, spot, corrects, step, setting: Setting { sleeve: 0, lines: 0, thimble: 0, vernier } };
    for (nth, step) in steps.iter().enumerate() {
        let typed = asked.text(step.name);
        let most = most(on, step.name);
        match typed.parse::<u32>() {
            Ok(count) if count <= most => put(&mut told.setting, step.name, count),
            // Not come to yet, or passed over: nought.
            _ if typed.is_empty() => {}
            _ => {
                told.step = nth + 1;
                let what = crate::wording::capital(step.heading);
                return (told, Some(format!("{what} can be 0 to {most}.")));
            }
        }
    }
    (told, None)
}

/// The most that a part can show.
fn most(on: Frame, name: &str) -> u32 {
    match name {
        "sleeve" => on.scale().most_sleeve(),
        "lines" => on.scale().most_lines(),
        "thimble" => on.scale().divisions() - 1,
        _ => 9,
    }
}

fn step_part(told: &Told, step: &Step, on: Frame) -> StepPart {
    let count = part(&told.setting, step.name).unwrap_or(0);
    let most = most(on, step.name);
    StepPart {
        name: step.name,
        heading: step.heading,
        hint: step.hint,
        typed: count.to_string(),
        most,
        less: count.checked_sub(1).map(|less| told.with(step.name, less).address()),
        more: Some(count + 1).filter(|more| *more <= most).map(|more| told.with(step.name, more).address()),
    }
}

/// What the eye is to look at now.
fn drawing(on: Frame, size: Length, step: usize, steps: usize) -> Result<String, Trouble> {
    let peep = usual_peep(on.scale().unit());
    match step {
        4 if steps == 4 => Ok(vernier_svg(on, size, peep)?.unwrap_or_default()),
        step if step > steps => whole_svg(on, size, peep),
        _ => front_svg(on, size, peep, ""),
    }
}

/// The sum as far as it has come: `2 + 0.4 + …`.
fn sum(on: Frame, told: &Told, size: &Length) -> String {
    let addends = addends(on, told.setting);
    let known = told.step + 1;
    let mut parts: Vec<String> = addends.iter().take(known).cloned().collect();
    if known < addends.len() {
        parts.push("…".to_owned());
        return parts.join(" + ");
    }
    let scale = on.scale();
    let decimals = units::digits_for(scale.graduation().mm(), scale.unit());
    format!("{} = {}\u{a0}{}", parts.join(" + "), size.show(scale.unit(), decimals), unit_word(scale.unit()))
}

fn says(error: &ScaleError) -> String {
    let help = error.help().map(|help| format!(" {}.", crate::wording::capital(&help))).unwrap_or_default();
    format!("{}.{help}", crate::wording::capital(&error.to_string()))
}
