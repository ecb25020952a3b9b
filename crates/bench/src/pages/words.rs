//! The words of the trade, one line each.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use paper::SvgSize;

use crate::desk::Desk;
use crate::visitor::{Answer, Frame, Visitor, shop_of, show};
use crate::wording::{OldWay, capital};

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/words", get(words))
}

#[derive(Template)]
#[template(path = "words.html")]
struct WordsPage {
    frame: Frame,
    words: Vec<Word>,
}

/// The key that an address names it by, the word, and its line, in the order in which the work meets them.
const WORDS: [(&str, &str, &str); 35] = [
    ("journal", "journal", "A ground, round part of the crank that turns in a bearing."),
    ("mains", "main", "A journal on the axis of the crank; the crank turns on its mains. Counted from the nose."),
    ("pin", "pin", "A journal that a connecting rod runs on, off the axis by the throw. Also called crankpin."),
    ("set", "set", "All mains together, or all pins together. A set is ground to one size."),
    ("nose", "nose, flywheel end", "The front and the rear of the crank. Everything is counted from the nose."),
    ("throw", "throw", "How far a pin stands from the axis: half the stroke."),
    ("spot", "spot", "One place along a journal and one direction across it: where the micrometer goes once."),
    ("station", "station", "A place along a journal: front, middle, rear."),
    (
        "across",
        "across A, across B",
        "A is in line with the pin’s own throw; on a main, with the throw of pin 1. B is square to it.",
    ),
    (
        "zero",
        "zero",
        "What a micrometer reads on its setting standard, less the standard. It is taken off every reading.",
    ),
    ("standard", "standard size", "The size of a new journal, between a low and a high limit."),
    (
        "undersize",
        "undersize",
        "How much smaller than standard a set is ground, on the diameter. Shells are made for each.",
    ),
    ("shells", "shells", "The thin bearing halves that a journal runs in."),
    ("clean-up", "clean up", "A journal cleans up where the wheel takes metal off everywhere and leaves no low patch."),
    (
        "spare",
        "spare",
        "Metal that is left at the worst spot once what a clean-up takes is off: what the grinder has in hand.",
    ),
    ("decides-it", "decides it", "The spot that forces the size of its set. All others would allow a larger one."),
    ("out-of-round", "out-of-round", "Largest less smallest diameter of one station. Also called ovality."),
    ("taper", "taper", "Difference of the diameters from one end of a journal to the other."),
    ("barrel", "barrel", "A journal that is thicker in the middle than at both ends."),
    (
        "run-out",
        "run-out",
        "What a dial shows in one turn on a main, turning on the end mains: twice the bend, with the out-of-round in it.",
    ),
    ("bend", "bend", "How far the crank is out of straight: half the run-out."),
    ("index", "index", "The direction of a throw about the axis, against the first throw."),
    ("trace", "trace", "A dial swept round a journal. Unlike diameters it shows on which side the metal went."),
    ("stock", "clean-up stock", "Metal that must come off everywhere before a journal counts as cleaned up."),
    ("growth", "growth", "How much a journal grows on the diameter when its skin is hardened after grinding."),
    (
        "fillet",
        "fillet",
        "The rounded corner between journal and web. A sharp one starts a crack; its radius is checked after grinding.",
    ),
    ("housing", "housing", "The bore that holds the shells: in the block for a main, in the rod for a pin."),
    (
        "wall",
        "wall",
        "The thickness of a half shell, measured at its crown. Half an undersize thicker for that undersize.",
    ),
    (
        "clearance",
        "clearance",
        "Housing bore less two walls less the journal, on the diameter: the room that the oil runs in.",
    ),
    (
        "crush",
        "crush",
        "How far the ends of a half shell stand above the joint, so that the cap presses it into its housing.",
    ),
    ("end-float", "end float", "How far the crank can move endways in its thrust bearing."),
    (
        "thrust-washer",
        "thrust washer",
        "The half rings beside one main that keep the crank from moving endways. They come in oversizes.",
    ),
    ("side-clearance", "side clearance", "The room beside the rods between the cheeks of their pin."),
    (
        "oil-film",
        "oil film",
        "The oil between a turning journal and its shells. It carries the load while it is thicker than the surfaces are \
         rough.",
    ),
    ("in-100", "97 in 100", "If 100 cranks with these readings were ground to this size, about 97 would clean up."),
];

/// A word as the page shows it.
struct Word {
    key: &'static str,
    word: String,
    line: String,
    drawing: String,
}

async fn words(State(desk): State<Desk>, visitor: Visitor) -> Answer {
    let shop = shop_of(&desk).await?;
    let frame = visitor.frame(&shop, "Words used here", "words");
    let put = |text: &str| frame.words.put(text);
    let words = WORDS.iter().map(|&(key, word, line)| {
        let (word, line) = (capital(&put(word)), put(line));
        let drawing = paper::term(key).map(|mut drawing| {
            drawing.title.clone_from(&word);
            drawing.says = put(&drawing.says);
            drawing.to_svg(&format!("word-{key}"), SvgSize::Page)
        });
        Word { key, word, line, drawing: drawing.unwrap_or_default() }
    });
    let words = words.collect();
    show(&WordsPage { frame, words })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A word without a drawing, or a drawing without a word, is a slip.
    #[test]
    fn every_word_has_its_drawing() {
        let keys: Vec<&str> = WORDS.iter().map(|(key, ..)| *key).collect();
        assert_eq!(keys, paper::TERMS);
    }

    /// Each word is linked from a page where it is first met, and no page links to a word that is not there.
    #[test]
    fn every_word_is_linked_from_its_first_use() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("templates");
        let mut linked: Vec<String> = Vec::new();
        for file in std::fs::read_dir(folder).unwrap() {
            let text = std::fs::read_to_string(file.unwrap().path()).unwrap();
            linked.extend(text.split("/words#").skip(1).map(|rest| rest.split(['"', '\'']).next().unwrap().to_owned()));
        }
        for (key, word, _) in WORDS {
            assert!(linked.iter().any(|known| known == key), "{word} is linked from nowhere");
        }
        for key in linked {
            assert!(
                WORDS.iter().any(|(known, ..)| *known == key),
                "a page links to the word {key}, which is not there"
            );
        }
    }
}
