//! The shaft as a whole, as pages and papers show it: bend and oval told apart, the axis, the throws, features, case.

use crank::{Carried, SetName, ToldByDials, end_mains, told_by_dials};
use paper::{BendSketch, BentMain, Drawing, SpareCurve, SvgSize};
use regrind::words::{capital, in_hundred};
use regrind::{Axis, PairVerdict, SetUp, SetVerdict, StepVerdict, case_left};
use sheet::Sheet;
use units::show_mm;

use crate::drawings::Figure;
use crate::ladder::Found;
use crate::wording::{OldWay, Words};
use job::at_the_machine::OffsetWords;

/// One main that a dial was on.
#[derive(Clone, Debug)]
pub(crate) struct MainRow {
    pub(crate) name: String,
    pub(crate) dial: String,
    pub(crate) bend: String,
    pub(crate) toward: String,
    pub(crate) doubt: String,
    pub(crate) oval: String,
    pub(crate) lobes: String,
}

/// Where the crank is set up, for both sets or for one.
#[derive(Clone, Debug)]
pub(crate) struct SetUpRows {
    /// What it is for; empty where it is for both.
    pub(crate) whose: String,
    /// Which way it goes, in words.
    pub(crate) way: String,
    pub(crate) rows: Vec<OffsetWords>,
}

/// One feature of the shaft.
#[derive(Clone, Debug)]
pub(crate) struct FeatureRow {
    pub(crate) name: String,
    pub(crate) now: String,
    pub(crate) after: String,
    pub(crate) high: String,
    pub(crate) limit: String,
    pub(crate) face: String,
    pub(crate) over: bool,
}

/// The case at one step of a ladder.
#[derive(Clone, Debug)]
pub(crate) struct CaseRow {
    pub(crate) step: String,
    pub(crate) left: String,
    pub(crate) least: String,
    pub(crate) chance: String,
    pub(crate) journal: String,
    pub(crate) over: bool,
}

/// What the dials tell.
#[derive(Clone, Debug, Default)]
pub(crate) struct BendShown {
    pub(crate) rows: Vec<MainRow>,
    /// Rules of the book, and whether each is broken.
    pub(crate) rules: Vec<(bool, String)>,
    /// What to bear in mind.
    pub(crate) says: Vec<String>,
}

/// What the dials tell of each main; nothing where none was read at several angles.
pub(crate) fn bend(sheet: &Sheet, words: Words) -> Option<BendShown> {
    if sheet.findings.dials.is_empty() {
        return None;
    }
    let unit = sheet.unit;
    let shown = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
    let ToldByDials { forms, .. } = told_by_dials(&sheet.specification, &sheet.findings);
    let rows = forms.iter().map(|form| {
        let doubt_mm = 2.0 * form.sd_mm;
        let straight = form.bend_length_mm() <= doubt_mm;
        let lobes = form.lobes_mm.iter().enumerate().skip(1).filter_map(|(n, lobe)| {
            let (x, y) = (*lobe)?;
            (x.hypot(y) > doubt_mm).then(|| format!("{} of {}", n + 2, shown(x.hypot(y))))
        });
        let lobes: Vec<String> = lobes.collect();
        MainRow {
            name: words.journal(form.journal),
            dial: shown(form.total_mm),
            bend: if straight { "straight".to_owned() } else { shown(form.bend_length_mm()) },
            toward: if straight { String::new() } else { format!("{:.0}°", form.bend_deg()) },
            doubt: shown(doubt_mm),
            oval: match form.oval_mm() {
                Some(mm) if mm > doubt_mm => shown(4.0 * mm),
                Some(_) => "round".to_owned(),
                None if form.lobes_mm.is_empty() => "angles do not tell".to_owned(),
                None => "hidden by its vee".to_owned(),
            },
            lobes: if lobes.is_empty() { "none seen".to_owned() } else { lobes.join(", ") },
        }
    });
    let rules =
        sheet::rule_words(sheet).into_iter().map(|(broken, says)| (broken, capital(&words.put(&says)))).collect();
    let mut says = Vec::new();
    if let Some(form) = forms.iter().max_by_key(|form| form.takes_in[0]) {
        says.push(format!(
            "From so many angles what is called bend takes in {} and {} lobes as well.",
            form.takes_in[0], form.takes_in[1]
        ));
    }
    Some(BendShown { rows: rows.collect(), rules, says })
}

/// The bend, for a drawing; nothing where no dial was read at several angles.
pub(crate) fn bend_sketch(sheet: &Sheet, words: Words) -> Option<BendSketch> {
    if sheet.findings.dials.is_empty() {
        return None;
    }
    let ToldByDials { off_mm, .. } = told_by_dials(&sheet.specification, &sheet.findings);
    let carried = match sheet.findings.carried {
        Some(Carried::Vees { under, .. }) => under.to_vec(),
        _ => end_mains(&sheet.specification).to_vec(),
    };
    let mains = sheet.specification.journals().filter(|id| id.set == SetName::Main).map(|id| BentMain {
        name: words.journal(id),
        position_mm: sheet.specification.position_mm(id),
        off_mm: off_mm.iter().find(|(known, _)| *known == id).map(|(_, off)| *off),
        carried: carried.contains(&id),
    });
    Some(BendSketch { unit: sheet.unit, mains: mains.collect() })
}

fn figure(draw: impl Fn(f64) -> Option<Drawing>, name: &str, wide_mm: f64, narrow_mm: f64) -> Option<Figure> {
    let svg = |width_mm: f64, size: &str| Some(draw(width_mm)?.to_svg(&format!("{name}-{size}"), SvgSize::Page));
    Some(Figure { wide: svg(wide_mm, "wide")?, narrow: svg(narrow_mm, "narrow")? })
}

/// The bend, drawn for a page.
pub(crate) fn bend_figure(sheet: &Sheet, words: Words) -> Option<Figure> {
    let sketch = bend_sketch(sheet, words)?;
    figure(|width_mm| sketch.draw(width_mm), "bend", BendSketch::WIDE_MM, BendSketch::NARROW_MM)
}

/// Whether anybody measured the throws, and what that came to.
pub(crate) fn throws(sheet: &Sheet, words: Words) -> Vec<String> {
    let told: Vec<String> = sheet::throw_words(sheet).iter().map(|says| capital(&words.put(says))).collect();
    if !told.is_empty() {
        return told;
    }
    if !sheet.findings.centres.is_empty() {
        return vec!["The throws are as their centres were entered.".to_owned()];
    }
    let asks = if sheet.policy.axis == Axis::Held {
        ""
    } else {
        " Whoever moves them should measure them first: heights go in under Shaft."
    };
    vec![format!("The throws are taken as found: nobody measured them.{asks}")]
}

impl Found<'_> {
    /// The pair that was chosen, where both sets are ground on one axis.
    fn pair(&self) -> Option<&PairVerdict> {
        let chosen = self.verdict.chosen_pair?;
        self.verdict.pairs.iter().find(|pair| (pair.main_mm, pair.pin_mm) == chosen)
    }

    fn set_up_rows(&self, whose: Option<SetName>, set_up: &SetUp, way: Axis) -> SetUpRows {
        let moves = set_up.moves(&self.sheet.specification, self.sheet.unit);
        SetUpRows {
            whose: whose.map(|set| self.manner.words.set(set)).unwrap_or_default(),
            way: way_words(way).to_owned(),
            rows: OffsetWords::of(&moves, self.sheet.unit, self.manner.words),
        }
    }

    /// Where the crank is set up; empty where the shop holds the present axis.
    pub(crate) fn set_ups(&self) -> Vec<SetUpRows> {
        if self.is_stopped() {
            return Vec::new();
        }
        let pair_way = self.pair().map(|pair| pair.way);
        let told = self.verdict.set_ups().into_iter();
        told.map(|(whose, set_up)| {
            let own = || {
                let set = self.verdict.sets.iter().find(|set| Some(set.set) == whose)?;
                chosen_step(set).map(|step| step.way)
            };
            self.set_up_rows(whose, set_up, pair_way.or_else(own).unwrap_or(self.sheet.policy.axis))
        })
        .collect()
    }

    /// Spare against shift for what was chosen; nothing where no move brings anything.
    pub(crate) fn curve(&self) -> Option<SpareCurve> {
        let pair = self.pair().filter(|_| !self.is_stopped())?;
        Some(SpareCurve {
            unit: self.sheet.unit,
            points_mm: pair.curve.iter().map(|point| (point.shift_mm, point.spare_mm)).collect(),
            taken_mm: (pair.shift_mm, pair.spare_chosen_mm),
        })
    }

    /// The same for a page.
    pub(crate) fn curve_figure(&self) -> Option<Figure> {
        let curve = self.curve()?;
        figure(|width_mm| curve.draw(width_mm), "spare", SpareCurve::WIDE_MM, SpareCurve::NARROW_MM)
    }

    /// What each feature of the shaft will run out.
    pub(crate) fn features(&self) -> Vec<FeatureRow> {
        let Some(after) = self.verdict.shaft.as_ref().filter(|_| !self.is_stopped()) else { return Vec::new() };
        let or = |mm: Option<f64>, other: &str| mm.map_or(other.to_owned(), |mm| self.figure(mm));
        let rows = after.features.iter().map(|one| FeatureRow {
            name: capital(&one.name),
            now: or(one.now_mm, "not measured, taken to run true"),
            after: self.figure(one.after_mm),
            high: if one.after_mm > 0.0 { format!("{:.0}°", one.high_deg) } else { String::new() },
            limit: or(one.limit_mm, "no limit in the book"),
            face: one.face_after_mm.map_or(String::new(), |mm| {
                let limit = one.face_limit_mm.map_or(String::new(), |mm| format!(", at most {}", self.figure(mm)));
                format!("{}{limit}", self.figure(mm))
            }),
            over: one.is_over(),
        });
        rows.collect()
    }

    /// The balance afterwards, in words.
    pub(crate) fn balance(&self) -> Vec<String> {
        if self.is_stopped() {
            return Vec::new();
        }
        let all = sheet::shaft_words(self.sheet, self.verdict);
        let features = self.verdict.shaft.as_ref().map_or(0, |after| after.features.len());
        all.into_iter().skip(features).map(|says| format!("{}.", capital(&says))).collect()
    }

    /// The first size that cleans up, with what its bearing is made to.
    pub(crate) fn first_size(&self, set: &SetVerdict) -> Vec<String> {
        if self.is_stopped() {
            return Vec::new();
        }
        sheet::first_size_words(self.sheet, set).iter().map(|says| self.manner.words.put(says)).collect()
    }

    /// What is left of the case of a set at every step that it can go to.
    pub(crate) fn case(&self, set: &SetVerdict) -> Vec<CaseRow> {
        if self.is_stopped() {
            return Vec::new();
        }
        let unit = self.sheet.unit;
        // A depth is known to a tenth of what a size is.
        let shown = |mm: f64| show_mm(mm, unit, unit.usual_decimals() - 1);
        let steps = set.steps.iter().filter(|step| step.permitted && step.undersize_mm > set.ground_to.undersize_mm);
        let rows = steps.filter_map(|step| {
            let stock_mm = self.sheet.policy.polish_stock_mm;
            let left = case_left(&self.sheet.specification, &self.sheet.findings, set.set, step, stock_mm)?;
            let range = |low: f64, high: f64| {
                if shown(low) == shown(high) { shown(low) } else { format!("{} to {}", shown(low), shown(high)) }
            };
            Some(CaseRow {
                step: self.step(step.undersize_mm),
                left: if left.high_mm <= 0.0 {
                    "ground through".to_owned()
                } else {
                    range(left.low_mm.max(0.0), left.high_mm)
                },
                least: if left.least_mm > 0.0 { shown(left.least_mm) } else { "not ground through".to_owned() },
                chance: in_hundred(left.chance_under),
                journal: self.manner.words.journal(left.journal),
                over: left.chance_under >= 0.5,
            })
        });
        rows.collect()
    }
}

fn chosen_step(set: &SetVerdict) -> Option<&StepVerdict> {
    let mm = set.choice.undersize_mm().or(set.if_ground_mm)?;
    set.steps.iter().find(|step| (step.undersize_mm - mm).abs() < 1e-6)
}

/// How far a way goes.
pub(crate) const fn way_words(way: Axis) -> &'static str {
    match way {
        Axis::Held => "Nothing moves: the mains on their present axis, each pin round its present centre.",
        Axis::Throws => "The main axis stays. The pins move within what the book allows of throw and index.",
        Axis::Free => "The main axis moves, and the pins within what the book allows of throw and index.",
    }
}

/// The whole shaft in sentences, as papers tell it: what the dials say, the throws, what the axis does, the first sizes and the
/// case.
pub(crate) fn in_words(found: &Found<'_>) -> Vec<String> {
    let (sheet, words) = (found.sheet, found.manner.words);
    let sentence = |says: String| format!("{}.", capital(&words.put(says.trim_end_matches('.'))));
    let mut says: Vec<String> = sheet::bend_words(sheet).into_iter().map(sentence).collect();
    says.extend(throws(sheet, words));
    if found.is_stopped() {
        return says;
    }
    for told in found.set_ups() {
        let whose = if told.whose.is_empty() { String::new() } else { format!("{}: ", told.whose) };
        says.push(format!("{whose}{}", told.way));
        says.extend(
            told.rows
                .iter()
                .filter(|one| !one.high.is_empty())
                .map(|one| format!("{}: {}; dial {}, high at {}.", one.name, one.shift, one.dial, one.high)),
        );
    }
    says.extend(sheet::shaft_words(sheet, found.verdict).into_iter().map(sentence));
    for set in &found.verdict.sets {
        let name = words.set(set.set);
        says.extend(found.first_size(set).into_iter().map(|told| format!("{name}: {told}")));
        says.extend(sheet::case_words(sheet, set).map(|told| format!("{name}: {}", words.put(&told))));
    }
    says
}
