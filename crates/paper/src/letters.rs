//! The lettering inside the program, and how wide it runs.

use std::sync::OnceLock;

use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider};

use crate::Face;

/// Atkinson Hyperlegible Next and Mono (SIL Open Font License): made to be told apart by tired eyes.
pub(crate) const WORDS: &[u8] = include_bytes!("../fonts/words-400.ttf");
pub(crate) const WORDS_BOLD: &[u8] = include_bytes!("../fonts/words-700.ttf");
pub(crate) const WORDS_MORE: &[u8] = include_bytes!("../fonts/words-more-400.ttf");
pub(crate) const WORDS_MORE_BOLD: &[u8] = include_bytes!("../fonts/words-more-700.ttf");
pub(crate) const FIGURES: &[u8] = include_bytes!("../fonts/figures-400.ttf");
pub(crate) const FIGURES_BOLD: &[u8] = include_bytes!("../fonts/figures-700.ttf");
/// The letters of DejaVu Sans that the others lack: Greek, Cyrillic, Hebrew, Arabic, signs.
pub(crate) const OTHERS: &[u8] = include_bytes!("../fonts/others.ttf");

fn faces(face: Face, bold: bool) -> &'static [FontRef<'static>] {
    static FACES: OnceLock<[Vec<FontRef<'static>>; 4]> = OnceLock::new();
    let [words, words_bold, figures, figures_bold] = FACES.get_or_init(|| {
        let read = |files: &[&'static [u8]]| files.iter().filter_map(|file| FontRef::new(file).ok()).collect();
        [
            read(&[WORDS, WORDS_MORE, OTHERS]),
            read(&[WORDS_BOLD, WORDS_MORE_BOLD, OTHERS]),
            read(&[FIGURES, WORDS_MORE, OTHERS]),
            read(&[FIGURES_BOLD, WORDS_MORE_BOLD, OTHERS]),
        ]
    });
    match (face, bold) {
        (Face::Words, false) => words,
        (Face::Words, true) => words_bold,
        (Face::Figures, false) => figures,
        (Face::Figures, true) => figures_bold,
    }
}

/// The letter that is drawn for another: the micro sign is the Greek letter, in any reading (Unicode, NFKC), and only that has
/// a face here.
pub(crate) const fn drawn_as(letter: char) -> char {
    if letter == '\u{b5}' { '\u{3bc}' } else { letter }
}

/// How wide words run in letters of a size, in millimetres. Pairs that stand closer together are not taken into account,
/// and a letter that no face has counts as wide as a capital: so the answer is never much too small.
pub fn width_mm(words: &str, size_mm: f64, face: Face, bold: bool) -> f64 {
    let faces = faces(face, bold);
    let em: f64 = words
        .chars()
        .map(drawn_as)
        .map(|letter| {
            let known = faces.iter().find_map(|font| {
                let glyph = font.charmap().map(letter)?;
                font.glyph_metrics(Size::new(1.0), LocationRef::default()).advance_width(glyph)
            });
            known.map_or(0.7, f64::from)
        })
        .sum();
    em * size_mm
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_digit_is_as_wide_as_the_others() {
        let wide = width_mm("0", 10.0, Face::Figures, false);
        assert!(wide > 5.0 && wide < 7.0, "{wide}");
        for digit in "123456789.".chars() {
            assert_eq!(width_mm(&digit.to_string(), 10.0, Face::Figures, false), wide, "{digit}");
        }
        assert!(width_mm("iiii", 10.0, Face::Words, false) < width_mm("mmmm", 10.0, Face::Words, false));
    }

    /// Letters of other scripts and signs are in a face too: each has its own width, not the stand-in's.
    #[test]
    fn other_scripts_fall_back() {
        for letter in ["Ж", "Ω", "ש", "◆", "ő", "≈", "µ"] {
            let wide = width_mm(letter, 1.0, Face::Words, false);
            assert!(wide > 0.1 && (wide - 0.7).abs() > 1e-6, "{letter} {wide}");
        }
    }
}
