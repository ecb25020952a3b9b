//! Jobs by stage of work, with search and paging.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, header};
use axum::response::Response;
use axum::routing::{get, post};
use jiff::civil::Date;
use shop::{Head, JobList, Stage, Wanted};

use crate::desk::Desk;
use crate::trouble::Trouble;
use crate::visitor::{Answer, Asked, Fields, Frame, JobPath, Visitor, coded, go, is_name, shop_of, show};
use crate::wording::{count, day, how_long, today};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/", get(first))
        .route("/jobs", get(jobs))
        .route("/jobs/{job}", get(open))
        .route("/who", post(who))
}

/// One job in the list.
struct Card {
    head: Head,
    since: String,
    promised: Option<String>,
    late: Option<String>,
    step: &'static str,
    to: String,
}

/// Jobs at one stage.
struct Group {
    stage: Stage,
    cards: Vec<Card>,
    /// How many there are on all pages.
    all: i64,
}

/// A link that shows the jobs of one stage.
struct Filter {
    words: &'static str,
    count: Option<i64>,
    to: String,
    here: bool,
}

#[derive(Template)]
#[template(path = "jobs.html")]
struct JobsPage {
    frame: Frame,
    search: String,
    stage: Option<Stage>,
    away: bool,
    filters: Vec<Filter>,
    groups: Vec<Group>,
    examples: Vec<Card>,
    range: String,
    before: Option<String>,
    after: Option<String>,
    /// What is said where no job is listed.
    nothing: Option<String>,
    /// Whether the shop has no job at all.
    empty: bool,
    /// Jobs that are not listed because they are damaged, each with what is known of it.
    damaged: Vec<Damaged>,
    /// Whether it is for somebody's own engine: then there are no stages to choose from, just the cranks.
    home: bool,
}

/// A record that nobody wrote to yet begins with a few questions.
async fn first(State(desk): State<Desk>) -> Answer {
    let unused = desk.shop().await?.seq == 0 && desk.store.stages().await?.iter().all(|(_, count)| *count == 0);
    Ok(go(if unused && desk.store.examples().await?.is_empty() { "/start" } else { "/jobs" }))
}

async fn jobs(State(desk): State<Desk>, visitor: Visitor, Asked(asked): Asked) -> Answer {
    let shop = shop_of(&desk).await?;
    let stage: Option<Stage> = asked.text("stage").parse().ok();
    let search: String = asked.text("search").chars().take(shop::MOST_NAME_CHARS).collect();
    let away = asked.get("away").is_some();
    let page: u32 = asked.text("page").parse().unwrap_or(0);
    let mut wanted = Wanted { stage, search: search.clone(), put_away: away, page };
    let mut list = desk.store.jobs(&wanted).await?;
    if list.jobs.is_empty() && list.all > 0 {
        // Past the end, a bookmark for instance: the first page is there.
        wanted.page = 0;
        list = desk.store.jobs(&wanted).await?;
    }
    let stages = desk.store.stages().await?;
    let open: i64 = stages.iter().filter(|(stage, _)| *stage != Stage::Collected).map(|(_, count)| count).sum();
    let plain = search.is_empty() && stage.is_none() && !away;
    let first_page = plain && wanted.page == 0;
    let examples = if first_page { desk.store.examples().await? } else { Vec::new() };
    let damaged = damaged(&desk, std::mem::take(&mut list.damaged)).await;
    let today = today();
    let shown = i64::try_from(list.jobs.len()).unwrap_or(0);
    let last = list.from + shown - 1;
    let link = |page: u32| address(stage, &search, away, page);
    show(&JobsPage {
        frame: visitor.frame(&shop, title(stage, &search, away), "jobs"),
        filters: filters(&stages, open, stage, away),
        nothing: (shown == 0).then(|| nothing(stage, &search, away)),
        home: shop.setting("for") == Some("own"),
        empty: plain && stages.iter().all(|(_, count)| *count == 0),
        range: if shown == 0 { String::new() } else { range(&list, last) },
        before: wanted.page.checked_sub(1).map(link),
        after: (shown > 0 && last < list.all).then(|| link(wanted.page + 1)),
        damaged,
        groups: groups(list, &stages, plain, today),
        examples: examples.into_iter().map(|head| card(head, today)).collect(),
        search,
        stage,
        away,
    })
}

/// A job that is damaged.
struct Damaged {
    job: i64,
    /// What is damaged, and its last sound state.
    says: String,
}

/// What there is to say of damaged jobs.
async fn damaged(desk: &Desk, jobs: Vec<i64>) -> Vec<Damaged> {
    let mut told = Vec::with_capacity(jobs.len());
    for job in jobs {
        // Each is read to the end for it; where many are damaged, the first tell what happened.
        let says = match told.len() < MOST_TOLD {
            true => desk.store.entries(job, 0).await.err().map(|error| error.happened()),
            false => None,
        };
        told.push(Damaged { job, says: says.unwrap_or_else(|| format!("Job {job} is damaged.")) });
    }
    told
}

/// Of how many damaged jobs the list says more than that they are.
const MOST_TOLD: usize = 20;

fn title(stage: Option<Stage>, search: &str, away: bool) -> String {
    match (stage, away) {
        (_, true) => "Jobs put away".to_owned(),
        (Some(stage), _) => format!("Jobs: {}", stage.words()),
        _ if !search.is_empty() => format!("Jobs with ‘{search}’"),
        _ => "Jobs".to_owned(),
    }
}

/// `1 to 50 of 5,000`.
fn range(list: &JobList, last: i64) -> String {
    format!("{} to {} of {}", thousands(list.from), thousands(last), thousands(list.all))
}

/// `5,000`.
fn thousands(n: i64) -> String {
    let digits = n.to_string();
    let mut out = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

fn filters(stages: &[(Stage, i64)], open: i64, here: Option<Stage>, away: bool) -> Vec<Filter> {
    let all = Filter { words: "All open", count: Some(open), to: "/jobs".to_owned(), here: here.is_none() && !away };
    let of = |(stage, count): &(Stage, i64)| Filter {
        words: stage.words(),
        count: Some(*count),
        to: address(Some(*stage), "", false, 0),
        here: here == Some(*stage) && !away,
    };
    let put_away = Filter { words: "Put away", count: None, to: "/jobs?away=1".to_owned(), here: away };
    std::iter::once(all).chain(stages.iter().map(of)).chain(std::iter::once(put_away)).collect()
}

fn address(stage: Option<Stage>, search: &str, away: bool, page: u32) -> String {
    let mut query = form_urlencoded::Serializer::new(String::new());
    if let Some(stage) = stage {
        query.append_pair("stage", stage.name());
    }
    if !search.is_empty() {
        query.append_pair("search", search);
    }
    if away {
        query.append_pair("away", "1");
    }
    if page > 0 {
        query.append_pair("page", &page.to_string());
    }
    let query = query.finish();
    if query.is_empty() { "/jobs".to_owned() } else { format!("/jobs?{query}") }
}

fn nothing(stage: Option<Stage>, search: &str, away: bool) -> String {
    if !search.is_empty() {
        return format!(
            "No job matches ‘{search}’. Search looks at number, name, crank, mark and the end of the telephone number."
        );
    }
    match stage {
        _ if away => "Nothing put away.",
        None => "No jobs yet.",
        Some(Stage::BookedIn) => "Nothing waiting to be measured.",
        Some(Stage::Measuring) => "Nothing being measured.",
        Some(Stage::ToDecide) => "Nothing to decide.",
        Some(Stage::AtTheGrinder) => "Nothing at the grinder.",
        Some(Stage::AtTreatment) => "Nothing at treatment.",
        Some(Stage::FinalCheck) => "Nothing at the final check.",
        Some(Stage::Ready) => "Nothing ready to hand over.",
        Some(Stage::Collected) => "Nothing collected yet.",
    }
    .to_owned()
}

fn groups(list: JobList, stages: &[(Stage, i64)], plain: bool, today: Date) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for head in list.jobs {
        let stage = head.stage;
        let card = card(head, today);
        match groups.iter_mut().find(|group| group.stage == stage) {
            Some(group) => group.cards.push(card),
            None => groups.push(Group { stage, cards: vec![card], all: 0 }),
        }
    }
    for group in &mut groups {
        let there = stages.iter().find(|(stage, _)| *stage == group.stage).map_or(0, |(_, count)| *count);
        // With a search only those found are counted, and of those only this page is known.
        group.all = if plain { there } else { i64::try_from(group.cards.len()).unwrap_or(0) };
    }
    groups.sort_by_key(|group| group.stage);
    groups
}

fn card(head: Head, today: Date) -> Card {
    let (step, part) = next_step(head.stage);
    Card {
        since: how_long(&head.since),
        promised: head.promised.as_deref().map(day),
        late: late(&head, today),
        step,
        to: format!("/jobs/{}/{part}", head.job),
        head,
    }
}

/// `late by 2 days`, where the day it was promised for has passed and it is not ready.
fn late(head: &Head, today: Date) -> Option<String> {
    let promised: Date = head.promised.as_deref()?.parse().ok()?;
    let days = usize::try_from((today - promised).get_days()).ok().filter(|days| *days > 0)?;
    (head.stage < Stage::Ready).then(|| format!("late by {}", count(days, "day")))
}

/// What is done next at a stage, in one verb, and the page it is done on.
pub(crate) fn next_step(stage: Stage) -> (&'static str, &'static str) {
    match stage {
        Stage::BookedIn | Stage::Measuring => ("Measure", "measure"),
        Stage::ToDecide => ("Decide", "verdict"),
        Stage::AtTheGrinder => ("Grind", "grind"),
        Stage::AtTreatment => ("Take back", "treatment"),
        Stage::FinalCheck => ("Check", "final"),
        Stage::Ready => ("Hand over", "hand-over"),
        Stage::Collected => ("Look", "history"),
    }
}

/// A job opens on the page of its next step.
async fn open(State(desk): State<Desk>, JobPath(job): JobPath) -> Answer {
    let head = desk.store.head(job).await?;
    Ok(go(&format!("/jobs/{job}/{}", next_step(head.stage).1)))
}

/// Somebody else works at this screen now, or wants other type. It goes on where it was.
async fn who(State(desk): State<Desk>, headers: HeaderMap, fields: Fields) -> Answer {
    let typed = fields.text("who");
    // Somebody whom the shop knows is called as the shop calls them, however the name was typed.
    let shop = shop_of(&desk).await?;
    let who = shop.people.iter().find(|known| shop::same_name(known, typed)).map_or(typed, String::as_str);
    if !is_name(who) {
        let says = "The name is empty, too long, or has a character that cannot be seen.";
        return Err(Trouble::field("who", says));
    }
    let size = fields.get("size").filter(|size| ["desk", "bench", "far"].contains(size)).unwrap_or("desk");
    let mut response = go(&came_from(&headers));
    put_cookie(&mut response, "who", who);
    put_cookie(&mut response, "size", size);
    Ok(response)
}

/// Keeps a word in this browser for a year.
pub(crate) fn put_cookie(response: &mut Response, name: &str, value: &str) {
    let cookie = format!("{name}={}; Path=/; Max-Age=31536000; SameSite=Strict; HttpOnly", coded(value));
    if let Ok(cookie) = cookie.parse() {
        response.headers_mut().append(header::SET_COOKIE, cookie);
    }
}

/// The page of ours that a form was sent from, or the list of jobs.
fn came_from(headers: &HeaderMap) -> String {
    let text = |name| headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default();
    let own = format!("http://{}/", text(header::HOST));
    match text(header::REFERER).strip_prefix(&own) {
        // What follows could otherwise name another host: //elsewhere, or the same with a backslash.
        Some(path) if !path.starts_with(['/', '\\']) => format!("/{path}"),
        _ => "/jobs".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_our_own_pages_are_gone_back_to() {
        let from = |referer: &'static str| {
            let mut headers = HeaderMap::new();
            headers.insert(header::HOST, "localhost:7160".parse().expect("a host"));
            headers.insert(header::REFERER, referer.parse().expect("an address"));
            came_from(&headers)
        };
        assert_eq!(from("http://localhost:7160/jobs/1001/history?all=1"), "/jobs/1001/history?all=1");
        assert_eq!(from("http://localhost:7160/"), "/");
        assert_eq!(from("http://elsewhere.example/jobs"), "/jobs");
        assert_eq!(from("http://localhost:7160//elsewhere.example/"), "/jobs");
        assert_eq!(from("http://localhost:7160/\\elsewhere.example/"), "/jobs");
        assert_eq!(from("http://localhost:7160.elsewhere.example/"), "/jobs");
        assert_eq!(came_from(&HeaderMap::new()), "/jobs");
    }

    #[test]
    fn numbers_are_parted_by_thousands() {
        assert_eq!([1, 50, 999, 5_000, 1_234_567].map(thousands), ["1", "50", "999", "5,000", "1,234,567"]);
    }
}
