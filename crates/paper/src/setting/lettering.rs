//! Words into lines of glyphs.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

use krilla::geom::Point;
use krilla::paint::Stroke;
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use parley::fontique::{Blob, Collection, CollectionOptions, FontInfoOverride, SourceCache};
use parley::style::{FontFamily, FontFamilyName, FontWeight, LineHeight, OverflowWrap, StyleProperty};
use parley::{Alignment, FontContext, Layout, LayoutContext};
use skrifa::{FontRef, MetadataProvider};

use super::POINTS_PER_MM;
use crate::{Anchor, Face, letters};

/// How words are set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Type {
    /// Size of the letters, in points.
    pub(crate) pt: f64,
    pub(crate) face: Face,
    pub(crate) bold: bool,
}

impl Type {
    pub(crate) const fn words(pt: f64) -> Type {
        Type { pt, face: Face::Words, bold: false }
    }

    pub(crate) const fn figures(pt: f64) -> Type {
        Type { pt, face: Face::Figures, bold: false }
    }

    pub(crate) const fn bold(self) -> Type {
        Type { bold: true, ..self }
    }
}

/// Words set in lines.
#[derive(Clone)]
pub(crate) struct Laid {
    /// What is drawn; letters that no face has are replaced.
    text: Arc<str>,
    /// What was meant, where letters were replaced.
    pub(crate) meant: Option<Arc<str>>,
    layout: Arc<Layout<()>>,
    pub(crate) width_mm: f64,
    pub(crate) height_mm: f64,
    /// From the top to the first baseline.
    pub(crate) baseline_mm: f64,
}

impl Laid {
    /// Whether nothing of it is seen.
    #[cfg(test)]
    pub(crate) fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }
}

impl std::fmt::Debug for Laid {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Laid").field("text", &self.text).finish_non_exhaustive()
    }
}

/// The faces of the program, and the workshop that sets type from them.
pub(crate) struct Lettering {
    fonts: FontContext,
    layouts: LayoutContext<()>,
    known: Vec<FontRef<'static>>,
    /// The faces as the PDF has them, by their number in the collection.
    in_pdf: HashMap<u64, Font>,
}

const MORE: &str = "Words more";
const OTHERS: &str = "Others";

/// Stands for a letter that no face has.
const UNKNOWN: char = '\u{25a1}';

impl Lettering {
    pub(crate) fn new() -> Lettering {
        let mut collection = Collection::new(CollectionOptions { shared: false, system_fonts: false });
        let mut add = |file: &'static [u8], name: &str, weight: FontWeight| {
            let named =
                FontInfoOverride { family_name: Some(name), weight: Some(weight), ..FontInfoOverride::default() };
            collection.register_fonts(Blob::new(Arc::new(file)), Some(named));
        };
        add(letters::WORDS, "Words", FontWeight::NORMAL);
        add(letters::WORDS_BOLD, "Words", FontWeight::BOLD);
        add(letters::WORDS_MORE, MORE, FontWeight::NORMAL);
        add(letters::WORDS_MORE_BOLD, MORE, FontWeight::BOLD);
        add(letters::FIGURES, "Figures", FontWeight::NORMAL);
        add(letters::FIGURES_BOLD, "Figures", FontWeight::BOLD);
        add(letters::OTHERS, OTHERS, FontWeight::NORMAL);
        let files = [letters::WORDS, letters::WORDS_MORE, letters::OTHERS];
        Lettering {
            fonts: FontContext { collection, source_cache: SourceCache::default() },
            layouts: LayoutContext::new(),
            known: files.into_iter().filter_map(|file| FontRef::new(file).ok()).collect(),
            in_pdf: HashMap::new(),
        }
    }

    /// Sets words in lines no wider than this; a word that is wider is broken.
    pub(crate) fn set(&mut self, words: &str, how: Type, widest_mm: Option<f64>, align: Anchor) -> Laid {
        let (mut text, mut replaced) = self.drawable(words);
        let mut layout = self.lines(&text, how, widest_mm, align);
        // A face may have a letter and a mark each, and not the two together.
        let lost = without_glyph(&layout);
        if !lost.is_empty() {
            replaced = true;
            text = text.char_indices().map(|(at, letter)| if lost.contains(&at) { UNKNOWN } else { letter }).collect();
            layout = self.lines(&text, how, widest_mm, align);
        }
        let mm = |pt: f32| f64::from(pt) / POINTS_PER_MM;
        let baseline_mm = layout.first_baseline().map_or(0.0, mm);
        Laid {
            width_mm: mm(layout.width()),
            height_mm: mm(layout.height()),
            baseline_mm,
            layout: Arc::new(layout),
            meant: replaced.then(|| Arc::from(words)),
            text: Arc::from(text),
        }
    }

    fn lines(&mut self, text: &str, how: Type, widest_mm: Option<f64>, align: Anchor) -> Layout<()> {
        let first = if how.face == Face::Figures { "Figures" } else { "Words" };
        let families = [first, MORE, OTHERS].map(|name| FontFamilyName::Named(Cow::Borrowed(name)));
        let mut builder = self.layouts.ranged_builder(&mut self.fonts, text, 1.0, false);
        builder.push_default(StyleProperty::FontFamily(FontFamily::List(Cow::Owned(families.to_vec()))));
        builder.push_default(StyleProperty::FontSize(how.pt as f32));
        builder.push_default(StyleProperty::LineHeight(LineHeight::FontSizeRelative(1.25)));
        builder.push_default(StyleProperty::OverflowWrap(OverflowWrap::Anywhere));
        if how.bold {
            builder.push_default(StyleProperty::FontWeight(FontWeight::BOLD));
        }
        let mut layout: Layout<()> = builder.build(text);
        layout.break_all_lines(widest_mm.map(|mm| (mm * POINTS_PER_MM) as f32));
        let alignment = match align {
            Anchor::Start => Alignment::Start,
            Anchor::Middle => Alignment::Center,
            Anchor::End => Alignment::End,
        };
        layout.align(alignment, Default::default());
        layout
    }

    /// The same words with what cannot be drawn replaced or left out, and whether anything was.
    fn drawable(&self, words: &str) -> (String, bool) {
        let mut replaced = false;
        let text = words
            .chars()
            .map(letters::drawn_as)
            .filter_map(|letter| match letter {
                '\n' => Some(letter),
                // No face has a tab; between words it is a space.
                '\t' => Some(' '),
                // Marks that only join or direct others are no letters of their own.
                letter
                    if letter.is_control()
                        || matches!(letter, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}')
                        || matches!(letter, '\u{fe00}'..='\u{fe0f}' | '\u{feff}') =>
                {
                    replaced = true;
                    None
                }
                letter if self.known.iter().any(|font| font.charmap().map(letter).is_some()) => Some(letter),
                _ => {
                    replaced = true;
                    Some(UNKNOWN)
                }
            })
            .collect();
        (text, replaced)
    }

    /// Draws set words with the upper left of their first line here, in millimetres.
    pub(crate) fn draw(&mut self, surface: &mut Surface<'_>, laid: &Laid, at_mm: (f64, f64)) {
        surface.set_fill(Some(krilla::paint::Fill::default()));
        surface.set_stroke(None);
        self.glyphs(surface, laid, at_mm, false);
    }

    /// Draws only the outlines of letters, so that what lies over them can be read.
    pub(crate) fn outline(&mut self, surface: &mut Surface<'_>, laid: &Laid, at_mm: (f64, f64)) {
        surface.set_fill(None);
        surface.set_stroke(Some(Stroke {
            paint: krilla::color::luma::Color::new(150).into(),
            width: 0.6,
            ..Stroke::default()
        }));
        self.glyphs(surface, laid, at_mm, true);
        surface.set_stroke(None);
    }

    fn glyphs(&mut self, surface: &mut Surface<'_>, laid: &Laid, at_mm: (f64, f64), outlined: bool) {
        let at = ((at_mm.0 * POINTS_PER_MM) as f32, (at_mm.1 * POINTS_PER_MM) as f32);
        for line in laid.layout.lines() {
            let baseline = at.1 + line.metrics().baseline;
            let mut x = at.0 + line.metrics().offset;
            for run in line.runs() {
                let (size, data) = (run.font_size(), run.font());
                let id = data.data.id();
                let font = match self.in_pdf.get(&id) {
                    Some(font) => font.clone(),
                    None => {
                        let bytes: Vec<u8> = data.data.data().to_vec();
                        let Some(font) = Font::new(bytes.into(), data.index) else { continue };
                        self.in_pdf.insert(id, font.clone());
                        font
                    }
                };
                let from = x;
                let mut glyphs = Vec::new();
                for cluster in run.visual_clusters() {
                    if cluster.is_ligature_continuation() {
                        if let Some(glyph) = glyphs.last_mut() {
                            let glyph: &mut KrillaGlyph = glyph;
                            glyph.text_range.end = cluster.text_range().end;
                        }
                        continue;
                    }
                    for glyph in cluster.glyphs() {
                        glyphs.push(KrillaGlyph::new(
                            GlyphId::new(glyph.id),
                            glyph.advance / size,
                            glyph.x / size,
                            glyph.y / size,
                            0.0,
                            cluster.text_range(),
                            None,
                        ));
                        x += glyph.advance;
                    }
                }
                if !glyphs.is_empty() {
                    surface.draw_glyphs(Point::from_xy(from, baseline), &glyphs, font, &laid.text, size, outlined);
                }
            }
        }
    }
}

/// Where letters begin that came out without a glyph.
fn without_glyph(layout: &Layout<()>) -> Vec<usize> {
    let runs = layout.lines().flat_map(|line| line.runs().collect::<Vec<_>>());
    let clusters = runs.flat_map(|run| run.clusters().collect::<Vec<_>>());
    let lost = clusters.filter(|cluster| cluster.glyphs().any(|glyph| glyph.id == 0));
    lost.flat_map(|cluster| cluster.text_range()).collect()
}
