//! The words of the trade, one line each.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;

use crate::desk::Desk;
use crate::visitor::{Answer, Frame, Visitor, shop_of, show};
use crate::wording::capital;

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/words", get(words))
}

#[derive(Template)]
#[template(path = "words.html")]
struct WordsPage {
    frame: Frame,
    words: Vec<(String, String)>,
}

/// Word and line, in the order in which the work meets them.
const WORDS: [(&str, &str); 27] = [
    ("journal", "A ground, round part of the crank that turns in a bearing."),
    ("main", "A journal on the axis of the crank; the crank turns on its mains. Counted from the nose."),
    ("pin", "A journal that a connecting rod runs on, off the axis by the throw. Also called crankpin."),
    ("set", "All mains together, or all pins together. A set is ground to one size."),
    ("nose, flywheel end", "The front and the rear of the crank. Everything is counted from the nose."),
    ("throw", "How far a pin stands from the axis: half the stroke."),
    ("spot", "One place along a journal and one direction across it: where the micrometer goes once."),
    ("station", "A place along a journal: front, middle, rear."),
    (
        "across A, across B",
        "A is in line with the pin’s own throw; on a main, with the throw of pin 1. B is square to it.",
    ),
    ("zero", "What a micrometer reads on its setting standard, less the standard. It is taken off every reading."),
    ("standard size", "The size of a new journal, between a low and a high limit."),
    ("undersize", "How much smaller than standard a set is ground, on the diameter. Shells are made for each."),
    ("shells", "The thin bearing halves that a journal runs in."),
    ("clean up", "A journal cleans up where the wheel takes metal off everywhere and leaves no low patch."),
    ("spare", "Metal that is left above the finished size at the worst spot: what the grinder has in hand."),
    ("decides it", "The spot that forces the size of its set. All others would allow a larger one."),
    ("out-of-round", "Largest less smallest diameter of one station. Also called ovality."),
    ("taper", "Difference of the diameters from one end of a journal to the other."),
    ("barrel", "A journal that is thicker in the middle than at both ends."),
    (
        "run-out",
        "What a dial shows in one turn on a main, turning on the end mains: twice the bend, with the out-of-round in it.",
    ),
    ("bend", "How far the crank is out of straight: half the run-out."),
    ("index", "The direction of a throw about the axis, against the first throw."),
    ("trace", "A dial swept round a journal. Unlike diameters it shows on which side the metal went."),
    ("clean-up stock", "Metal that must come off everywhere before a journal counts as cleaned up."),
    ("growth", "How much a journal grows on the diameter when its skin is hardened after grinding."),
    (
        "fillet",
        "The rounded corner between journal and web. A sharp one starts a crack; its radius is checked after grinding.",
    ),
    ("97 in 100", "If 100 cranks with these readings were ground to this size, about 97 would clean up."),
];

async fn words(State(desk): State<Desk>, visitor: Visitor) -> Answer {
    let shop = shop_of(&desk).await?;
    let frame = visitor.frame(&shop, "Words used here", "words");
    let put = |text: &str| frame.words.put(text);
    let words = WORDS.iter().map(|(word, line)| (capital(&put(word)), put(line))).collect();
    show(&WordsPage { frame, words })
}
