//! The guide: the repository's own text, in the program.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use pulldown_cmark::{CowStr, Event, Parser, Tag, TagEnd, html};

use crate::desk::Desk;
use crate::visitor::{Answer, Frame, Visitor, shop_of, show};
use crate::wording::OldWay as _;

/// The guide as it stands in the repository.
const GUIDE: &str = include_str!("../../../../docs/guide.md");

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/guide", get(guide))
}

#[derive(Template)]
#[template(path = "guide.html")]
struct GuidePage {
    frame: Frame,
    text: String,
}

async fn guide(State(desk): State<Desk>, visitor: Visitor) -> Answer {
    let shop = shop_of(&desk).await?;
    let frame = visitor.frame(&shop, "Guide", "guide");
    let text = as_html(GUIDE, |text| frame.words.put(text));
    show(&GuidePage { frame, text })
}

/// The text as HTML in the shop's words, with a name for each heading so that it can be linked to. What is to be typed stays
/// as it is to be typed.
fn as_html(text: &str, in_words: impl Fn(&str) -> String) -> String {
    let mut events: Vec<Event<'_>> = Parser::new(text).collect();
    let mut is_typed = false;
    for event in &mut events {
        match event {
            Event::Start(Tag::CodeBlock(_)) => is_typed = true,
            Event::End(TagEnd::CodeBlock) => is_typed = false,
            Event::Text(words) if !is_typed => *words = CowStr::from(in_words(words)),
            _ => {}
        }
    }
    let mut heading: Option<usize> = None;
    for n in 0..events.len() {
        match events.get(n) {
            Some(Event::Start(Tag::Heading { .. })) => heading = Some(n),
            Some(Event::End(TagEnd::Heading(_))) => heading = None,
            Some(Event::Text(words)) => {
                let name = named(words);
                if let Some(Event::Start(Tag::Heading { id, .. })) = heading.and_then(|at| events.get_mut(at)) {
                    id.get_or_insert_with(|| CowStr::from(name));
                }
            }
            _ => {}
        }
    }
    let mut out = String::new();
    html::push_html(&mut out, events.into_iter());
    // What may scroll sideways takes the focus.
    out.replace("<pre>", "<pre class=\"scroll\" tabindex=\"0\">")
}

/// `Before you begin` as `before-you-begin`.
fn named(words: &str) -> String {
    let letters = words.chars().map(|letter| if letter.is_alphanumeric() { letter.to_ascii_lowercase() } else { '-' });
    letters.collect::<String>().split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_link_in_the_guide_leads_somewhere() {
        let html = as_html(GUIDE, str::to_owned);
        let links: Vec<&str> = html.split("href=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
        assert!(links.len() > 20, "{links:?}");
        for link in links {
            match link.strip_prefix('#') {
                Some(name) => assert!(html.contains(&format!("id=\"{name}\"")), "{link}"),
                None => match link.strip_prefix("/words#") {
                    Some(key) => assert!(paper::TERMS.contains(&key), "{link}"),
                    None => assert!(
                        [
                            "/jobs",
                            "/jobs/new",
                            "/shop",
                            "/words",
                            "/practice",
                            "/batches",
                            "/shop/record",
                            "/shop/engines",
                            "/shop/micrometers",
                            "/shop/prices"
                        ]
                        .contains(&link),
                        "{link}"
                    ),
                },
            }
        }
    }

    #[test]
    fn headings_have_names() {
        assert!(as_html("## Before you begin", str::to_owned).contains("<h2 id=\"before-you-begin\">"));
    }
}
