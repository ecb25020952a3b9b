//! A dial held on mains at several angles, how the shaft was carried, and run-out rules as books print them: read, and what they
//! tell as JSON and in words.

use std::collections::HashSet;

use crank::{
    Carried, DialSweep, Findings, JournalId, RuleFor, RunOut, RunOutRule, SetName, Specification, ToldByDials,
    end_mains, told_by_dials,
};
use document::{Problems, Value};
use serde::Serialize;
use units::{Unit, show_mm};

use crate::Sheet;
use crate::answer::round;
use crate::findings::Bench;
use crate::table::{Field, Table, spelt};

/// One reading of a dial indicator to tenths of a thou: 0.00005 in.
const USUAL_SD_MM: f64 = 0.00127;
/// A bend is told from this many angles on; two do not tell a direction.
const LEAST_ANGLES: usize = 4;
/// More angles than anybody reads a dial at.
const MOST_ANGLES: usize = 72;
/// More rules than any book prints.
const MOST_RULES: usize = 40;
/// Two angles nearer than this are one.
const SAME_DEG: f64 = 0.01;

/// The book's rules.
pub(crate) fn rules(table: &mut Table<'_>, unit: Unit, mains: usize, problems: &mut Problems) -> Vec<RunOutRule> {
    let Some(field) = table.take("run_out_rule") else { return Vec::new() };
    let rows = field.rows(problems);
    if rows.len() > MOST_RULES {
        field.refuse(problems, format!("at most {MOST_RULES} rules"), "one row for each sentence of the book");
        return Vec::new();
    }
    rows.into_iter().filter_map(|row| rule(row, unit, mains, problems)).collect()
}

fn rule(mut row: Table<'_>, unit: Unit, mains: usize, problems: &mut Problems) -> Option<RunOutRule> {
    let most_mains = u64::try_from(mains.max(2)).unwrap_or(u64::MAX);
    let number =
        |f: &Field<'_>, problems: &mut Problems| f.whole(1, most_mains, problems).and_then(|n| usize::try_from(n).ok());
    let before = problems.len();
    let neighbours = row.take("neighbours").and_then(|f| f.truth(problems)).unwrap_or(false);
    let listed: Vec<usize> =
        row.take("mains").map(|f| f.items().iter().filter_map(|f| number(f, problems)).collect()).unwrap_or_default();
    if neighbours && row.has("mains") {
        problems.add(
            row.place(),
            row.named("mains"),
            "mains beside neighbours",
            "one of the two",
            "make two rules of it",
        );
    }
    let supports = row.take("supports").and_then(|f| {
        let items = f.list("the two mains that the shaft stands on", problems)?;
        let two: Vec<usize> = items.iter().filter_map(|f| number(f, problems)).collect();
        match two.as_slice() {
            [a, b] if a != b => Some([*a, *b]),
            _ => {
                f.refuse(problems, "two different mains", "write it as supports = [1, 5]");
                None
            }
        }
    });
    let of_dial = row.take("of").and_then(|f| f.word(&[("dial", true), ("half", false)], problems)).unwrap_or(true);
    let most = row.need("most", "the most that is allowed", "most = 0.002", problems).and_then(|f| {
        let expected = format!("a small length above 0, in {}", spelt(unit));
        f.length_where(unit, |mm| mm > 0.0 && mm < 2.54, &expected, "look at the point", problems)
    });
    row.take("source").and_then(|f| f.text(problems));
    row.finish(problems);
    let of = if neighbours { RuleFor::Neighbours } else { RuleFor::Mains(listed) };
    (problems.len() == before).then_some(RunOutRule { of, supports, of_dial, most_mm: most?.mm })
}

impl Bench<'_> {
    /// How the shaft was carried, and the dial on its mains.
    pub(crate) fn dials(&self, root: &mut Table<'_>, findings: &mut Findings, problems: &mut Problems) {
        findings.run_out_rules = self.printed.map(|book| book.run_out_rules.clone()).unwrap_or_default();
        let carried = root.take("carried");
        if let Some(field) = &carried {
            findings.carried = self.carried(field, problems);
        }
        let Some(field) = root.take("dial") else { return };
        if carried.is_none() {
            let advice = "add carried = { on = [\"main 1\", \"main 5\"], vee = 90 }, or carried = \"centres\"";
            problems.add(root.place(), "carried", "nothing", "how the shaft was carried under the dial", advice);
        }
        let mut seen = HashSet::new();
        for row in field.rows(problems).into_iter().take(MOST_ANGLES) {
            let place = row.place();
            let Some(sweep) = self.dial(row, &mut seen, problems) else { continue };
            if findings.run_outs.iter().any(|known| known.journal == sweep.journal) {
                let advice = "the readings tell more than a total and a high spot; take the run_out row out";
                problems.add(
                    place,
                    "dial",
                    sweep.journal.to_string(),
                    "a run-out or a dial on a main, not both",
                    advice,
                );
                continue;
            }
            findings.dials.push(sweep);
        }
    }

    fn carried(&self, field: &Field<'_>, problems: &mut Problems) -> Option<Carried> {
        if let Value::Text(_) = field.node.value {
            return field.word(&[("centres", Carried::Centres)], problems);
        }
        let mut inner = field.table(problems)?;
        let on = inner.need("on", "the two mains in the vees", "on = [\"main 1\", \"main 5\"]", problems);
        let vee = inner.need("vee", "the angle between the sides of a vee, in degrees", "vee = 90", problems);
        let angle = vee.and_then(|f| {
            f.number(|deg| (30.0..=150.0).contains(&deg), "degrees from 30 to 150", "most vees have 90", problems)
        });
        let under = on.and_then(|f| {
            let items = f.list("the two mains in the vees", problems)?;
            let mains: Vec<JournalId> = items.iter().filter_map(|f| self.named_main(f, problems)).collect();
            match mains.as_slice() {
                [a, b] if a != b && items.len() == 2 => Some([*a, *b]),
                _ if mains.len() < items.len() => None,
                _ => {
                    f.refuse(problems, "two different mains", "write it as [\"main 1\", \"main 5\"]");
                    None
                }
            }
        });
        inner.finish(problems);
        Some(Carried::Vees { under: under?, angle_deg: angle? })
    }

    /// A main of this crank by its name.
    fn named_main(&self, field: &Field<'_>, problems: &mut Problems) -> Option<JournalId> {
        let text = field.text(problems)?;
        let count = self.shape(SetName::Main).count;
        let found = text.parse::<JournalId>().ok().filter(|id| id.set == SetName::Main);
        let found = found.filter(|id| id.number >= 1 && count.is_none_or(|count| id.number <= count));
        if found.is_none() {
            let expected = count.map_or("a main".to_owned(), |count| format!("main 1 to main {count}"));
            field.refuse(problems, expected, "supports are mains, counted from the nose");
        }
        found
    }

    fn dial(&self, mut row: Table<'_>, seen: &mut HashSet<JournalId>, problems: &mut Problems) -> Option<DialSweep> {
        let journal = self.journal_of(&mut row, SetName::Main, seen, problems);
        let most_mm = self.most_departure_mm(journal);
        let readings =
            row.need("readings", "what the dial showed at each angle", "readings = [0.000, 0.005]", problems);
        let (angles, with) = (row.take("angles"), self.instrument(&mut row, "with", problems));
        row.finish(problems);
        let field = readings?;
        let items = field.list("what the dial showed at each angle", problems)?;
        if items.len() < LEAST_ANGLES || items.len() > MOST_ANGLES {
            let found = format!("{} readings", items.len());
            let advice = "a total and its high spot alone go into a [[run_out]] row";
            problems.add(
                field.place(),
                field.key.as_str(),
                found,
                format!("{LEAST_ANGLES} to {MOST_ANGLES} readings"),
                advice,
            );
            return None;
        }
        let expected = format!("a small length, in {}", spelt(self.unit));
        let readings_mm: Vec<f64> = items
            .iter()
            .filter_map(|f| {
                f.length_where(self.unit, |mm| mm.abs() <= most_mm, &expected, "look at the point", problems)
            })
            .map(|entry| entry.mm)
            .collect();
        let angles_deg = match &angles {
            None => (0..items.len()).map(|n| 360.0 * n as f64 / items.len() as f64).collect(),
            Some(field) => self.angles(field, items.len(), problems)?,
        };
        let sd_mm = with
            .filter(|index| *index > 0)
            .and_then(|index| self.instruments.get(index))
            .map_or(USUAL_SD_MM, |instrument| instrument.repeatability_mm);
        (readings_mm.len() == items.len()).then_some(DialSweep { journal: journal?, angles_deg, readings_mm, sd_mm })
    }

    fn angles(&self, field: &Field<'_>, count: usize, problems: &mut Problems) -> Option<Vec<f64>> {
        let items = field.list("one angle for each reading", problems)?;
        if items.len() != count {
            let found = format!("{} angles", items.len());
            let advice = "one for each reading, or none where they are equally apart";
            problems.add(field.place(), field.key.as_str(), found, format!("{count} angles"), advice);
            return None;
        }
        let angles: Vec<f64> = items.iter().filter_map(|f| f.angle_deg(problems)).collect();
        for (n, angle) in angles.iter().enumerate() {
            let apart = |other: &f64| {
                let turn = (angle - other).rem_euclid(360.0);
                turn.min(360.0 - turn)
            };
            if let (Some(twice), Some(item)) =
                (angles.iter().take(n).find(|other| apart(other) < SAME_DEG), items.get(n))
            {
                let advice = "a full turn ends where it began; leave the last reading out, or put the angle right";
                item.refuse(problems, format!("an angle other than {twice}"), advice);
                return None;
            }
        }
        (angles.len() == count).then_some(angles)
    }
}

/// What the dials tell of each main's centre stands where a run-out would: twice as far, with its direction.
pub(crate) fn as_run_outs(specification: &Specification, findings: &Findings) -> Vec<RunOut> {
    let ends = end_mains(specification);
    told_by_dials(specification, findings)
        .off_mm
        .into_iter()
        .filter(|(journal, _)| !ends.contains(journal))
        .map(|(journal, (x, y))| RunOut {
            journal,
            total_mm: 2.0 * x.hypot(y),
            high_deg: y.atan2(x).to_degrees().rem_euclid(360.0),
        })
        .collect()
}

/// What the dials tell, as JSON.
#[derive(Debug, Serialize)]
pub(crate) struct BendAnswer {
    mains: Vec<MainAnswer>,
    rules: Vec<RuleAnswer>,
}

#[derive(Debug, Serialize)]
struct MainAnswer {
    journal: String,
    dial: f64,
    /// Off the line through the supports: how far, which way, and the standard deviation of either part.
    bend: f64,
    toward: f64,
    doubt: f64,
    /// On the radius; a micrometer sees four times as much as out-of-round.
    oval: Option<f64>,
    /// From the third harmonic on.
    lobes: Vec<Option<f64>>,
    takes_in: [usize; 2],
}

#[derive(Debug, Serialize)]
struct RuleAnswer {
    /// Nothing where no swept main tells.
    journal: Option<String>,
    neighbours: bool,
    found: Option<f64>,
    most: f64,
    broken: bool,
}

pub(crate) fn answer(sheet: &Sheet) -> Option<BendAnswer> {
    if sheet.findings.dials.is_empty() {
        return None;
    }
    let length = |mm: f64| round(mm / sheet.unit.mm());
    let size = |(x, y): (f64, f64)| length(x.hypot(y));
    let ToldByDials { forms, rules, .. } = told_by_dials(&sheet.specification, &sheet.findings);
    Some(BendAnswer {
        mains: forms
            .iter()
            .map(|form| MainAnswer {
                journal: form.journal.to_string(),
                dial: length(form.total_mm),
                bend: length(form.bend_length_mm()),
                toward: (form.bend_deg() * 1e6).round() / 1e6,
                doubt: length(form.sd_mm),
                oval: form.oval_mm().map(length),
                lobes: form.lobes_mm.iter().skip(1).map(|lobe| lobe.map(size)).collect(),
                takes_in: form.takes_in,
            })
            .collect(),
        rules: sheet
            .findings
            .run_out_rules
            .iter()
            .zip(rules)
            .map(|(rule, found)| RuleAnswer {
                journal: found.as_ref().map(|one| one.journal.to_string()),
                neighbours: rule.of == RuleFor::Neighbours,
                found: found.as_ref().map(|one| length(one.found_mm)),
                most: length(rule.most_mm),
                broken: found.is_some_and(|one: crank::RuleFound| one.is_broken()),
            })
            .collect(),
    })
}

/// What the dials tell, in words: a line for each main and for each rule. Empty where no dial was read at several angles.
pub fn bend_words(sheet: &Sheet) -> Vec<String> {
    if sheet.findings.dials.is_empty() {
        return Vec::new();
    }
    let unit = sheet.unit;
    let shown = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
    let ToldByDials { forms, .. } = told_by_dials(&sheet.specification, &sheet.findings);
    let mut says: Vec<String> = forms
        .iter()
        .map(|form| {
            let doubt = 2.0 * form.sd_mm;
            let bend = if form.bend_length_mm() <= doubt {
                format!("straight to within {}", shown(doubt))
            } else {
                format!(
                    "off the line by {} toward {:.0} degrees, to {} either way",
                    shown(form.bend_length_mm()),
                    form.bend_deg(),
                    shown(doubt)
                )
            };
            let oval = match form.oval_mm() {
                Some(mm) if mm > doubt => format!(", oval by {} on the diameter", shown(4.0 * mm)),
                Some(_) => String::new(),
                None if form.lobes_mm.is_empty() => {
                    format!("; so few angles do not tell it from {} lobes, nor oval", form.takes_in[0])
                }
                None => "; its own vee hides its oval".to_owned(),
            };
            let lobed = form.lobes_mm.iter().enumerate().skip(1).filter_map(|(n, lobe)| {
                let (x, y) = (*lobe)?;
                (x.hypot(y) > doubt).then(|| format!(", {} lobes of {} on the radius", n + 2, shown(x.hypot(y))))
            });
            let dial = shown(form.total_mm);
            format!("{}: dial {dial} {unit}; {bend}{oval}{}", form.journal, lobed.collect::<String>())
        })
        .collect();
    says.extend(rule_words(sheet).into_iter().map(|(_, says)| says));
    says
}

/// What each rule of the book comes to, and whether it is broken. Empty where no dial was read at several angles.
pub fn rule_words(sheet: &Sheet) -> Vec<(bool, String)> {
    if sheet.findings.dials.is_empty() {
        return Vec::new();
    }
    let unit = sheet.unit;
    let shown = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
    let ToldByDials { rules, .. } = told_by_dials(&sheet.specification, &sheet.findings);
    let mut says = Vec::new();
    for (rule, found) in sheet.findings.run_out_rules.iter().zip(rules) {
        let broken = found.as_ref().is_some_and(crank::RuleFound::is_broken);
        let half = if rule.of_dial { "on the dial" } else { "of bend" };
        let told = match found {
            None => "A rule of the book is not looked at: the dial was not on its mains.".to_owned(),
            Some(one) => {
                let next = JournalId { number: one.journal.number + 1, ..one.journal };
                let who =
                    if one.neighbours { format!("{} against {next}", one.journal) } else { one.journal.to_string() };
                let kept = if one.is_broken() { "over" } else { "within" };
                format!("{who}: {} {unit} {half}, {kept} the book's {}", shown(one.found_mm), shown(one.most_mm))
            }
        };
        says.push((broken, told));
    }
    says
}
