//! The ladder of one set: a rung for each size, shallowest on top, with its chance in words, in 100s and in twenty dots.

use regrind::words::capital;

use crate::labelling::{LEADING, wrapped};
use crate::{Drawing, Fill, Label, Pen};

/// A chance as it is shown.
#[derive(Clone, Debug, PartialEq)]
pub struct RungChance {
    /// `very likely`.
    pub words: String,
    /// `97 in 100`.
    pub figure: String,
    /// How many of twenty dots are full.
    pub dots: usize,
}

/// One rung.
#[derive(Clone, Debug, PartialEq)]
pub struct Rung {
    /// `0.010`, `Leave alone`.
    pub name: String,
    /// The finished sizes with their unit; may be empty.
    pub range: String,
    /// The chance; nothing where arithmetic forbids the rung.
    pub chance: Option<RungChance>,
    /// The one reason; may be empty.
    pub reason: String,
    /// Whether it is what the set is to be ground to, and the words for it: `Grind to this`.
    pub chosen: Option<String>,
    /// Whether the line of the shop's rule lies over it.
    pub rule_above: bool,
}

/// The ladder of one set.
#[derive(Clone, Debug, PartialEq)]
pub struct LadderSketch {
    /// What stands over it: `Mains: grind to 0.010`.
    pub heading: String,
    /// The rungs, shallowest first.
    pub rungs: Vec<Rung>,
    /// What stands at the line of the shop's rule.
    pub rule: String,
}

/// Room for a rung's name.
const NAME_MM: f64 = 24.0;
/// Inside a rung's frame.
const INSIDE_MM: f64 = 2.0;
const DOT_MM: f64 = 1.3;
const DOT_PITCH_MM: f64 = 3.4;

impl LadderSketch {
    /// As wide as a panel of a page, or half a page of A4.
    pub const USUAL_MM: f64 = 90.0;

    /// Draws it; what is narrower than 80 mm is drawn so wide.
    pub fn draw(&self, width_mm: f64) -> Drawing {
        let width = if width_mm >= 80.0 { width_mm.min(500.0) } else { 80.0 };
        let mut drawing = Drawing::new(width, 0.0, self.heading.clone());
        let size = Label::USUAL_MM;
        let line = size * LEADING;
        let mut y = 0.0;
        for words in wrapped(&self.heading, 4.0, true, width) {
            y += 4.0 * LEADING;
            drawing.label(Label::words((0.0, y - 1.2), words).sized(4.0).bold());
        }
        let mut says = vec![format!("{}.", self.heading)];
        for (number, rung) in self.rungs.iter().enumerate() {
            if rung.rule_above {
                y += 1.5;
                drawing.group("rule", |drawing| drawing.line([(0.0, y), (width, y)], Pen::Edge));
                for words in wrapped(&self.rule, size, false, width) {
                    y += line;
                    drawing.label(Label::words((0.0, y), words));
                }
                says.push(self.rule.clone());
            }
            y += 2.0;
            let top = y;
            let left = NAME_MM + INSIDE_MM;
            let room = width - left - INSIDE_MM;
            let mut texts: Vec<(String, bool)> = Vec::new();
            texts.extend(rung.chosen.iter().map(|words| (words.clone(), true)));
            texts.extend(
                Some(&rung.range).filter(|range| !range.is_empty()).map(|range| (format!("Finished {range}"), false)),
            );
            texts.extend(
                rung.chance.iter().map(|chance| (format!("{}, {}", capital(&chance.words), chance.figure), false)),
            );
            let mut at = top + INSIDE_MM * 0.5;
            let put = |drawing: &mut Drawing, at: &mut f64, words: &str, bold: bool| {
                for words in wrapped(words, size, bold, room) {
                    *at += line;
                    let label = Label::words((left, *at), words);
                    drawing.label(if bold { label.bold() } else { label });
                }
            };
            texts.iter().for_each(|(words, bold)| put(&mut drawing, &mut at, words, *bold));
            if let Some(chance) = &rung.chance {
                drawing.group(format!("dots-{}", number + 1), |drawing| {
                    for n in 0..20 {
                        let (column, row) = (f64::from(n % 10), f64::from(n / 10));
                        let centre = (left + DOT_MM + column * DOT_PITCH_MM, at + 2.8 + row * DOT_PITCH_MM);
                        let fill = if (n as usize) < chance.dots { Fill::Ink } else { Fill::Paper };
                        drawing.circle(centre, DOT_MM, Some(Pen::Thin), fill);
                    }
                });
                at += 2.8 + DOT_PITCH_MM + DOT_MM;
            }
            put(&mut drawing, &mut at, &rung.reason, false);
            let mut beside = top + INSIDE_MM * 0.5;
            for words in wrapped(&rung.name, 4.5, true, NAME_MM - INSIDE_MM) {
                beside += 4.5 * LEADING;
                drawing.label(Label::words((INSIDE_MM, beside - 1.0), words).sized(4.5).bold());
            }
            y = at.max(beside) + INSIDE_MM;
            let pen = match (&rung.chosen, &rung.chance) {
                (Some(_), _) => Pen::Heavy,
                (None, Some(_)) => Pen::Thin,
                (None, None) => Pen::Dotted,
            };
            drawing.group(format!("rung-{}", number + 1), |drawing| {
                drawing.rectangle((0.5, top), (width - 0.5, y), Some(pen), Fill::None);
            });
            let told: Vec<String> =
                texts.into_iter().map(|(words, _)| words).chain(Some(rung.reason.clone())).collect();
            let told: Vec<&str> =
                told.iter().map(|words| words.trim_end_matches('.')).filter(|words| !words.is_empty()).collect();
            says.push(format!("{}: {}.", rung.name, told.join("; ")));
        }
        drawing.height_mm = y + 1.0;
        drawing.says = says.join(" ");
        drawing
    }
}
