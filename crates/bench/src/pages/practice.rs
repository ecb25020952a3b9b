//! Readings to practise on: ten drawn micrometers, answered by typing, a miss explained by its kind.
//!
//! A round is a number, and the answers stand in the address: nothing is kept, and nobody else sees a score.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use gauge::Instrument;
use gauge::keyed::{KeyedAs, addends, keyed};
use gauge::misreading::{Misreading, misreading};
use gauge::practice::{Question, ROUND, USUAL_NEAR_NOUGHT, round};
use gauge::scale::Scale;
use paper::micrometer::{Seen, most_peep};
use units::{Length, digits_for};

use crate::desk::Desk;
use crate::drawn::whole_svg;
use crate::trouble::Trouble;
use crate::visitor::{Answer, Asked, Fields, Frame, Visitor, form_id, shop_of, show, show_again};

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/practice", get(practice))
}

/// The scales by the key in the address, and what they are called.
const TYPES: [(Scale, &str, &str); 4] = [
    (Scale::Thou, "0.001in", "Inch, in steps of 0.001"),
    (Scale::Tenth, "0.0001in", "Inch with a vernier, in steps of 0.0001"),
    (Scale::Hundredth, "0.01mm", "Metric, in steps of 0.01"),
    (Scale::Micron, "0.001mm", "Metric with a vernier, in steps of 0.001"),
];
/// Questions near the thimble's nought in a round after one with turns misread.
const MORE_NEAR_NOUGHT: usize = 7;

/// The key of a scale in the address of a round.
pub(crate) fn key_of(scale: Scale) -> &'static str {
    TYPES.iter().find(|(known, ..)| *known == scale).map_or("", |(_, key, _)| key)
}

#[derive(Template)]
#[template(path = "practice.html")]
struct PracticePage {
    frame: Frame,
    /// Each type by its key, what it is called, and whether it is chosen already.
    types: Vec<(&'static str, &'static str, bool)>,
    chosen: String,
    /// The number of the round; a new one where none was begun.
    round: String,
    near: usize,
    answers: Vec<String>,
    shows: Shows,
}

enum Shows {
    Start,
    Question(Asking),
    Miss(Missed),
    Result(Outcome),
}

/// A question to answer.
struct Asking {
    number: usize,
    /// What came of the one before.
    before: Option<String>,
    drawing: String,
    says: String,
    range: String,
    like: String,
    unit: String,
    typed: String,
    fault: Option<String>,
}

/// An answer that is not what the micrometer shows.
struct Missed {
    number: usize,
    typed: String,
    right: String,
    says: String,
    sum: String,
    drawing: String,
    next: String,
}

/// What came of a round.
struct Outcome {
    says: String,
    misses: Vec<(String, String, String)>,
    again: String,
}

async fn practice(State(desk): State<Desk>, Asked(asked): Asked, visitor: Visitor) -> Answer {
    let shop = shop_of(&desk).await?;
    let mut frame = visitor.frame(&shop, "Practise reading a micrometer", "words");
    let chosen = TYPES.into_iter().find(|(_, key, _)| *key == asked.text("type"));
    let seed = asked.text("round").parse::<u64>().ok();
    let (Some((scale, key, _)), Some(seed)) = (chosen, seed) else {
        let chosen = chosen.map_or(TYPES[1].1, |(_, key, _)| key).to_owned();
        let near = near(&asked);
        let types = TYPES.into_iter().map(|(_, key, says)| (key, says, key == chosen)).collect();
        let (round, answers) = (fresh()?, Vec::new());
        return show(&PracticePage { frame, types, chosen, round, near, answers, shows: Shows::Start });
    };
    let near = near(&asked);
    let questions = round(scale, seed, near);
    let mut answers: Vec<String> =
        asked.all().filter(|(name, _)| *name == "a").map(|(_, typed)| typed.chars().take(40).collect()).collect();
    answers.truncate(ROUND);
    let mut fault = None;
    let mut typed = String::new();
    if asked.all().any(|(name, _)| name == "answer")
        && let Some(question) = questions.get(answers.len())
    {
        typed = asked.text("answer").chars().take(40).collect();
        match read(question, &typed) {
            Ok(_) => answers.push(std::mem::take(&mut typed)),
            Err(says) => fault = Some(says),
        }
    }
    let told = Told { key, seed, near, answers: &answers };
    let last = answers.len().checked_sub(1).and_then(|last| questions.get(last).zip(answers.get(last)));
    let missed = last.and_then(|(question, typed)| Some((question, typed, miss(question, typed)?)));
    let shows = match (missed, questions.get(answers.len())) {
        (Some((question, typed, kind)), _) if fault.is_none() && asked.text("on").is_empty() => {
            Shows::Miss(missed_part(question, typed, kind, &told)?)
        }
        (missed, Some(question)) => {
            let before = last
                .filter(|_| missed.is_none() && fault.is_none())
                .map(|(question, _)| format!("Right: {}.", size_of(question)));
            Shows::Question(asking(question, answers.len() + 1, before, typed, fault)?)
        }
        (_, None) => Shows::Result(outcome(&questions, &answers, key)?),
    };
    let has_fault = matches!(&shows, Shows::Question(Asking { fault: Some(_), .. }));
    if has_fault {
        frame.title = format!("Error: {}", frame.title);
    }
    let (types, chosen, round) = (Vec::new(), key.to_owned(), seed.to_string());
    let page = PracticePage { frame, types, chosen, round, near, answers, shows };
    if has_fault { show_again(&page) } else { show(&page) }
}

/// How many of a round stand near the thimble's nought.
fn near(asked: &Fields) -> usize {
    if asked.text("near") == MORE_NEAR_NOUGHT.to_string() { MORE_NEAR_NOUGHT } else { USUAL_NEAR_NOUGHT }
}

/// A number for a new round.
fn fresh() -> Result<String, Trouble> {
    let digits: String = form_id()?.chars().take(7).collect();
    Ok(u64::from_str_radix(&digits, 16).unwrap_or(1).to_string())
}

/// The address of a round so far.
struct Told<'a> {
    key: &'a str,
    seed: u64,
    near: usize,
    answers: &'a [String],
}

impl Told<'_> {
    fn address(&self) -> String {
        let mut query = form_urlencoded::Serializer::new(String::new());
        query.append_pair("type", self.key).append_pair("round", &self.seed.to_string());
        query.append_pair("near", &self.near.to_string());
        for answer in self.answers {
            query.append_pair("a", answer);
        }
        format!("/practice?{}", query.finish())
    }
}

/// The micrometer of a question, as the reading of an answer needs it.
fn micrometer(question: &Question) -> Instrument {
    let scale = question.frame.scale();
    let (low, high) = question.frame.limits();
    Instrument {
        range_mm: Some((low.mm(), high.mm())),
        graduation_mm: scale.graduation().mm(),
        ..Instrument::shop_default(scale.unit())
    }
}

fn read(question: &Question, typed: &str) -> Result<Length, String> {
    keyed(typed, &KeyedAs::Size, &micrometer(question)).map(|keyed| keyed.size).map_err(|error| error.to_string())
}

/// What sort of miss an answer is; nothing where it is right.
fn miss(question: &Question, typed: &str) -> Option<Misreading> {
    match read(question, typed) {
        Ok(size) => misreading(question.frame, question.size, size),
        Err(_) => Some(Misreading::Other),
    }
}

fn size_of(question: &Question) -> String {
    let scale = question.frame.scale();
    question.size.show(scale.unit(), digits_for(scale.graduation().mm(), scale.unit()))
}

fn peep(question: &Question) -> Length {
    let most = most_peep(question.frame.scale().unit());
    Length::from_nm(most.nm() * i64::from(question.peep_thirds) / 3)
}

fn drawing(question: &Question) -> Result<String, Trouble> {
    whole_svg(question.frame, question.size, peep(question))
}

fn asking(
    question: &Question,
    number: usize,
    before: Option<String>,
    typed: String,
    fault: Option<String>,
) -> Result<Asking, Trouble> {
    let seen = Seen::new(question.frame, question.size, peep(question));
    let unit = question.frame.scale().unit();
    let (low, high) = question.frame.limits();
    let decimals = size_of(question).split_once('.').map_or(0, |(_, after)| after.len());
    Ok(Asking {
        number,
        before,
        says: seen.map_err(|error| Trouble::fault(error.to_string()))?.says(),
        drawing: drawing(question)?,
        range: format!("{}–{} {unit}", low.show(unit, 0), high.show(unit, 0)),
        like: format!("{} decimals", ["no", "one", "two", "three", "four"].get(decimals).unwrap_or(&"all")),
        unit: unit.to_string(),
        typed,
        fault,
    })
}

fn missed_part(question: &Question, typed: &str, kind: Misreading, told: &Told<'_>) -> Result<Missed, Trouble> {
    let setting = question.frame.setting(question.size).map_err(|error| Trouble::fault(error.to_string()))?;
    Ok(Missed {
        number: told.answers.len(),
        typed: typed.to_owned(),
        right: size_of(question),
        says: kind.says(question.frame.scale()),
        sum: format!("{} = {}", addends(question.frame, setting).join(" + "), size_of(question)),
        drawing: drawing(question)?,
        next: format!("{}&on=1", told.address()),
    })
}

fn outcome(questions: &[Question], answers: &[String], key: &str) -> Result<Outcome, Trouble> {
    let misses: Vec<(&Question, &String, Misreading)> = questions
        .iter()
        .zip(answers)
        .filter_map(|(question, typed)| Some((question, typed, miss(question, typed)?)))
        .collect();
    let kinds: Vec<Misreading> = misses.iter().map(|(.., kind)| *kind).collect();
    let turns = kinds.iter().filter(|kind| kind.is_turns()).count();
    let near = if turns > 0 { MORE_NEAR_NOUGHT } else { USUAL_NEAR_NOUGHT };
    let seed = fresh()?.parse().unwrap_or(1);
    Ok(Outcome {
        says: result_words(questions.len(), &kinds),
        misses: misses
            .iter()
            .map(|(question, typed, kind)| (size_of(question), (*typed).clone(), kind.name()))
            .collect(),
        again: Told { key, seed, near, answers: &[] }.address(),
    })
}

/// `8 of 10. Both misses were one turn too many.`
fn result_words(of: usize, misses: &[Misreading]) -> String {
    let score = format!("{} of {of}.", of - misses.len());
    let mut kinds: Vec<(String, usize)> = Vec::new();
    for miss in misses {
        let name = miss.name();
        match kinds.iter_mut().find(|(known, _)| *known == name) {
            Some((_, count)) => *count += 1,
            None => kinds.push((name, 1)),
        }
    }
    match (kinds.as_slice(), misses.len()) {
        ([], _) => score,
        ([(name, _)], 1) => format!("{score} The miss was {name}."),
        ([(name, _)], 2) => format!("{score} Both misses were {name}."),
        ([(name, _)], count) => format!("{score} All {count} misses were {name}."),
        (several, _) => {
            let listed: Vec<String> = several.iter().map(|(name, count)| format!("{name}: {count}")).collect();
            format!("{score} The misses: {}.", listed.join("; "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_result_says_what_the_misses_have_in_common() {
        let turn = Misreading::TurnsTooMany(1);
        assert_eq!(result_words(10, &[]), "10 of 10.");
        assert_eq!(result_words(10, &[turn]), "9 of 10. The miss was one turn too many.");
        assert_eq!(result_words(10, &[turn, turn]), "8 of 10. Both misses were one turn too many.");
        assert_eq!(result_words(10, &[turn, turn, turn]), "7 of 10. All 3 misses were one turn too many.");
        assert_eq!(
            result_words(10, &[turn, Misreading::VernierDigit, turn]),
            "7 of 10. The misses: one turn too many: 2; another line of the vernier: 1."
        );
    }
}
