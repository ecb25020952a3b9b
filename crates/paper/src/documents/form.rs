//! The blank form for a dirty day: everything the program asks of a crank, with room for a greasy pencil.
//!
//! Blank means blank: no box that a person fills holds a figure, and none is greyed in. What the manual allows stands in
//! the headings.

mod packed;

use super::{AboutJob, foot};
use crate::setting::{Cell, Column, Flow, Row, Table, Width, one_line};
use crate::{Drawing, PaperSize, Unwritable};
use packed::{Block, Part};

/// A field to write into with a greasy pencil is 9.5 mm high, with its rules around it.
const ROW_MM: f64 = 9.8;

/// As wide as a tick takes.
const TICK_MM: f64 = 11.5;

/// Size of the type of headings, and of what is said below them.
const HEAD_PT: f64 = 12.0;
const SAYS_PT: f64 = 9.5;

/// How many rows there are for what may be more or less: from what is best down to what saves a page.
const ROOMS: [Room; 3] =
    [Room { damages: 5, others: 2 }, Room { damages: 4, others: 2 }, Room { damages: 4, others: 1 }];

/// Lines for what has no box: at the least, and at the most where the page has room.
const REMARKS: (usize, usize) = (2, 8);

/// A blank measuring form.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MeasuringForm {
    /// Whose crank.
    pub about: AboutJob,
    /// The order of the walk, in words.
    pub order: String,
    /// The micrometers that there are and how each reads, in words. Which one was used is asked for.
    pub micrometers: Vec<String>,
    /// The sets, as they are called: Mains, Pins.
    pub sets: Vec<String>,
    /// Walks over the crank, in order.
    pub passes: Vec<FormPass>,
    /// The mains, each with a run-out.
    pub mains: Vec<String>,
    /// What the manual allows besides sizes.
    pub limits: FormLimits,
    /// The crank, with nothing on it but the names of its journals.
    pub drawing: Option<Drawing>,
}

/// One walk along journals: a row for each, a column for each spot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FormPass {
    /// What is measured in it.
    pub title: String,
    /// What the manual allows, in words.
    pub limits: String,
    /// The spots of each journal, in order.
    pub spots: Vec<String>,
    /// The journals, in order.
    pub journals: Vec<String>,
    /// What the inner and the outer side are, where the worn side is asked for in this walk.
    pub worn_side: Option<String>,
}

/// What the manual says where the form asks; empty where it says nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FormLimits {
    /// Run-out of the mains.
    pub run_out: String,
    /// Fillet radii.
    pub radii: String,
    /// End float.
    pub float: String,
}

#[derive(Clone, Copy, Debug)]
struct Room {
    /// Rows for damage.
    damages: usize,
    /// Rows for journals that differ from the rest of their set.
    others: usize,
}

impl MeasuringForm {
    /// The form on paper. No table runs over the end of a page, but one that is longer than a page: that is cut between
    /// journals, each piece under the whole heading.
    ///
    /// # Errors
    /// Where the file could not be written.
    pub fn to_pdf(&self, paper: PaperSize) -> Result<Vec<u8>, Unwritable> {
        let flow = ROOMS.into_iter().map(|room| self.set(paper, room)).min_by_key(|flow| flow.pages.len());
        flow.unwrap_or_else(|| Flow::new(paper, foot(self.about.fields(), 10.0))).into_pdf(
            &format!("Measuring form, {}", self.about.name()),
            &format!("Blank form for the readings of {}", self.about.crank),
        )
    }

    fn set(&self, paper: PaperSize, room: Room) -> Flow {
        let mut flow = Flow::new(paper, foot(self.about.fields(), 10.0));
        self.about.begin(&mut flow, "Measuring form");
        flow.heading(1, &format!("Measuring form, {}", self.about.name()), 18.0);
        flow.paragraph(&one_line(&self.about.crank), HEAD_PT);
        flow.paragraph(
            &format!(
                "{} Write what the micrometer shows, all digits. Do not look at the line above. Leave a box blank rather \
                 than guess.",
                self.order
            ),
            11.0,
        );
        flow.space(1.0);
        flow.table(&who_and_when());
        packed::pack(&mut flow, self.blocks(room));
        packed::fill(&mut flow, &remarks, REMARKS);
        flow
    }

    /// Everything that is asked, in the order of the work.
    fn blocks(&self, room: Room) -> Vec<Block> {
        let mut blocks = Vec::new();
        if !self.sets.is_empty() {
            blocks.push(Block::of(self.zero_checks()).in_order());
        }
        blocks.extend(self.passes.iter().map(|pass| Block::of(pass.part()).in_order()));
        if !self.sets.is_empty() {
            let dial = (!self.mains.is_empty()).then(|| self.run_outs());
            blocks.push(Block::beside(dial, vec![self.stamps(room), crack_test()]));
            blocks.push(Block::of(self.radii_and_oil_holes(room)));
            blocks.push(Block::of(self.thrust()));
        }
        blocks.push(Block::of(damage(room)));
        blocks.extend(self.drawing.clone().map(Block::figure));
        blocks
    }

    fn zero_checks(&self) -> Part {
        let known = match self.micrometers.as_slice() {
            [] => String::new(),
            known => format!("There are: {}. ", known.iter().map(|one| one_line(one)).collect::<Vec<_>>().join("; ")),
        };
        Part {
            title: "Micrometers".to_owned(),
            says: format!(
                "{known}Zero check: what it shows on its setting standard, before the first reading and after the last."
            ),
            tables: vec![Table {
                columns: vec![
                    Column::words("For", Width::Mm(32.0)),
                    Column::words("Which micrometer", Width::Share(1.3)),
                    Column::words("Setting standard", Width::Share(1.0)),
                    Column::words("Zero check before", Width::Share(1.0)),
                    Column::words("Zero check after", Width::Share(1.0)),
                ],
                rows: named(self.sets.iter().chain([&String::new()]), 5),
                ..boxes()
            }],
        }
    }

    fn run_outs(&self) -> Part {
        let carried = ["End mains, in vees", "Between centres", "In its own block", "Other, which"];
        Part {
            title: "Run-out, by the dial".to_owned(),
            says: sentences(&[
                "Tick how the crank was carried. Highest less lowest in one turn; the high spot in degrees from the first \
                 throw.",
                &self.limits.run_out,
            ]),
            tables: vec![
                Table {
                    columns: carried.map(|how| Column::words(how, Width::Share(1.0))).to_vec(),
                    rows: vec![blank(4)],
                    ..boxes()
                },
                Table {
                    columns: vec![
                        Column::words("Main", Width::Mm(24.0)),
                        Column::words("Highest less lowest", Width::Share(1.0)),
                        Column::words("High spot at, °", Width::Share(1.0)),
                    ],
                    rows: named(self.mains.iter(), 3),
                    ..boxes()
                },
            ],
        }
    }

    fn stamps(&self, room: Room) -> Part {
        Part {
            title: "Stamps found".to_owned(),
            says: "What it says it was last ground to; standard, where it says so. A journal stamped alone: name it."
                .to_owned(),
            tables: vec![Table {
                columns: vec![
                    Column::words("Journals", Width::Mm(24.0)),
                    Column::words("As it reads", Width::Share(1.0)),
                    Column::words("Undersize", Width::Share(1.0)),
                ],
                rows: self.sets_and_others(3, room.others),
                ..boxes()
            }],
        }
    }

    fn radii_and_oil_holes(&self, room: Room) -> Part {
        Part {
            title: "Radii and oil holes".to_owned(),
            says: sentences(&[&self.limits.radii, "Never make a radius smaller. Oil holes: tick by eye."]),
            tables: vec![Table {
                columns: vec![
                    Column::words("Journals", Width::Mm(32.0)),
                    Column::words("Radius, front", Width::Share(1.0)),
                    Column::words("Radius, rear", Width::Share(1.0)),
                    Column::words("Oil holes chamfered", Width::Mm(27.0)),
                    Column::words("Edge worn", Width::Mm(22.0)),
                    Column::words("Cracked", Width::Mm(22.0)),
                ],
                rows: self.sets_and_others(6, room.others),
                ..boxes()
            }],
        }
    }

    fn thrust(&self) -> Part {
        let mut columns = vec![Column::words("On which main", Width::Share(1.0))];
        columns.extend(
            ["0°", "90°", "180°", "270°"].map(|at| Column::words(&format!("Width at {at}"), Width::Share(1.0))),
        );
        let rest = ["Front washer", "Rear washer", "End float"];
        columns.extend(rest.map(|what| Column::words(what, Width::Share(1.0))));
        Part {
            title: "Thrust faces".to_owned(),
            says: sentences(&[
                "Width at four points, degrees from the first throw, or one. Washers: thickness.",
                &self.limits.float,
            ]),
            tables: vec![Table { rows: vec![blank(columns.len())], columns, ..boxes() }],
        }
    }

    /// A row for each set, and some for journals that differ.
    fn sets_and_others(&self, columns: usize, others: usize) -> Vec<Row> {
        let all = self.sets.iter().map(|set| format!("All {}", lower(set))).collect::<Vec<_>>();
        let mut rows = named(all.iter(), columns);
        rows.extend(vec![blank(columns); others]);
        rows
    }
}

impl FormPass {
    fn part(&self) -> Part {
        let mut columns = vec![Column::words("Journal", Width::Mm(if self.spots.len() > 4 { 26.0 } else { 30.0 }))];
        columns.extend(self.spots.iter().map(|spot| Column::words(spot, Width::Share(1.0))));
        if self.worn_side.is_some() {
            let sides = ["Worn inner", "Worn outer", "Worn even"];
            columns.extend(sides.map(|side| Column::words(side, Width::Mm(TICK_MM))));
        }
        let tick = self.worn_side.as_ref().map(|sides| format!("Tick the worn side: {sides}."));
        Part {
            title: self.title.clone(),
            says: sentences(&[&self.limits, tick.as_deref().unwrap_or_default()]),
            tables: vec![Table { rows: named(self.journals.iter(), columns.len()), columns, ..boxes() }],
        }
    }
}

/// A table to write into.
fn boxes() -> Table {
    Table { columns: Vec::new(), rows: Vec::new(), pt: 12.0, head_pt: 9.0, least_mm: ROW_MM, ruled: true }
}

fn blank(columns: usize) -> Row {
    Row { cells: vec![Cell::default(); columns] }
}

/// Rows of which only the first field says something: whose row it is.
fn named<'a>(names: impl Iterator<Item = &'a String>, columns: usize) -> Vec<Row> {
    let row = |name: &String| {
        let blanks = vec![Cell::default(); columns.saturating_sub(1)];
        Row { cells: std::iter::once(Cell::bold(name)).chain(blanks).collect() }
    };
    names.map(row).collect()
}

fn who_and_when() -> Table {
    Table {
        columns: vec![
            Column::words("Measured by", Width::Share(1.5)),
            Column::words("Date", Width::Share(1.0)),
            Column::words("Temperature of the crank, °C", Width::Share(1.0)),
            Column::words("Temperature of the micrometer, °C", Width::Share(1.0)),
        ],
        rows: vec![blank(4)],
        ..boxes()
    }
}

fn crack_test() -> Part {
    Part {
        title: "Crack test before grinding".to_owned(),
        says: String::new(),
        tables: vec![Table {
            columns: vec![
                Column::words("Method", Width::Share(1.0)),
                Column::words("Tested by", Width::Share(1.0)),
                Column::words("No crack", Width::Mm(16.0)),
                Column::words("Crack", Width::Mm(16.0)),
            ],
            rows: vec![blank(4)],
            ..boxes()
        }],
    }
}

fn damage(room: Room) -> Part {
    Part {
        title: "Damage seen".to_owned(),
        says: "Scoring, ridges, pitting, rust, heat, pick-up, crack, other. ■ A crack, or what may be one, ends the \
               measuring: mark the place and have it crack tested by somebody qualified before anything else is done to \
               the crank."
            .to_owned(),
        tables: vec![Table {
            columns: vec![
                Column::words("Journal", Width::Mm(28.0)),
                Column::words("What", Width::Share(1.1)),
                Column::words("Where along it", Width::Share(1.0)),
                Column::words("From and to, °", Width::Share(1.0)),
                Column::words("How deep", Width::Share(0.9)),
                Column::words("Heat colour", Width::Share(0.9)),
            ],
            rows: vec![blank(6); room.damages],
            ..boxes()
        }],
    }
}

fn remarks(lines: usize) -> Part {
    Part {
        title: "Remarks".to_owned(),
        says: String::new(),
        tables: vec![Table {
            columns: vec![Column::words("What has no box of its own", Width::Share(1.0))],
            rows: vec![blank(1); lines],
            ..boxes()
        }],
    }
}

/// Those that say something, in a row.
fn sentences(all: &[&str]) -> String {
    all.iter().map(|one| one.trim()).filter(|one| !one.is_empty()).collect::<Vec<_>>().join(" ")
}

/// With a small first letter, inside a sentence.
fn lower(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::setting::{Child, Piece, Tag};

    /// From the single to a V16, and a crank that no page has room for.
    const CRANKS: [(usize, usize); 9] = [(1, 1), (2, 1), (5, 4), (7, 6), (5, 8), (9, 8), (13, 12), (17, 16), (40, 40)];

    fn form(mains: usize, pins: usize, spots: usize, both: bool) -> MeasuringForm {
        let names = |one: &str, count: usize| (1..=count).map(|n| format!("{one} {n}")).collect::<Vec<_>>();
        let pass = |title: &str, one: &str, count: usize| FormPass {
            title: title.into(),
            limits: "By the manual: standard 2.1245 to 2.1250 in; out-of-round at most 0.0005 in.".into(),
            spots: (1..=spots).map(|n| format!("Station {n}, across A")).collect(),
            journals: names(one, count),
            worn_side: Some("inner is the side towards the crank’s axis, outer the side away from it".into()),
        };
        let mut passes = vec![pass("Mains", "Main", mains), pass("Pins", "Pin", pins)];
        if both {
            passes = passes.iter().flat_map(|pass| [pass.clone(), pass.clone()]).collect();
        }
        MeasuringForm {
            order: "Journal by journal, from the nose, mains first.".into(),
            micrometers: vec!["mic 2-3, reads 2–3 in".into()],
            sets: vec!["Mains".into(), "Pins".into()],
            passes,
            mains: names("Main", mains),
            drawing: Some(Drawing::new(184.0, 120.0, "The crank")),
            ..MeasuringForm::default()
        }
    }

    fn all() -> impl Iterator<Item = (String, Flow, MeasuringForm)> {
        let cranks = CRANKS.into_iter().flat_map(|crank| [4, 6].map(|spots| (crank, spots)));
        let papers = cranks.flat_map(|(crank, spots)| PaperSize::ALL.map(|paper| (crank, spots, paper)));
        let rooms = papers.flat_map(|asked| ROOMS.map(|room| (asked, room)));
        rooms.map(|(((mains, pins), spots, paper), room)| {
            let form = form(mains, pins, spots, spots == 4 && mains > 2);
            (format!("{mains}+{pins}, {spots} spots, {}, {room:?}", paper.word()), form.set(paper, room), form)
        })
    }

    /// The pages that pieces of a part stand on, those of parts within it too, and the words that take room.
    fn pages(flow: &Flow, part: usize, found: &mut Vec<usize>, words: &mut usize) {
        for child in &flow.parts[part].children {
            match child {
                Child::Part(inner) => pages(flow, *inner, found, words),
                Child::Piece(page, piece) => {
                    found.push(*page);
                    if let Piece::Words(laid) = &flow.pages[*page][*piece].piece {
                        *words += usize::from(!laid.is_blank());
                    }
                }
            }
        }
    }

    #[test]
    fn no_table_runs_over_the_end_of_a_page() {
        for (what, flow, _) in all() {
            let mut tables = 0;
            for (n, _) in flow.parts.iter().enumerate().filter(|(_, part)| part.tag == Tag::Table) {
                let mut found = Vec::new();
                pages(&flow, n, &mut found, &mut 0);
                found.dedup();
                assert_eq!(found.len(), 1, "{what}: a table on pages {found:?}");
                tables += 1;
            }
            assert!(tables >= 9, "{what}: {tables} tables");
            let bottom = flow.bottom_mm();
            for (page, pieces) in flow.pages.iter().enumerate() {
                assert!(!pieces.is_empty(), "{what}: nothing on page {}", page + 1);
                let low = pieces.iter().find(|placed| placed.at_mm.1 > bottom);
                assert!(low.is_none(), "{what}: page {} runs into its foot: {low:?}", page + 1);
            }
        }
    }

    #[test]
    fn every_journal_is_asked_for_everywhere_and_every_box_is_blank() {
        for (what, flow, form) in all() {
            let (mut boxes, mut heads) = (0, 0);
            for (n, part) in flow.parts.iter().enumerate() {
                let mut words = 0;
                pages(&flow, n, &mut Vec::new(), &mut words);
                match part.tag {
                    Tag::Cell => {
                        assert_eq!(words, 0, "{what}: a box has words in it");
                        boxes += 1;
                    }
                    Tag::RowHead => heads += words,
                    _ => {}
                }
            }
            let journals: usize = form.passes.iter().map(|pass| pass.journals.len()).sum();
            // A row for each journal in each walk, for each main's run-out, and for each set where sets are asked about.
            assert_eq!(heads, journals + form.mains.len() + 3 * form.sets.len(), "{what}");
            let readings: usize = form.passes.iter().map(|pass| pass.journals.len() * (pass.spots.len() + 3)).sum();
            assert!(boxes > readings + 2 * form.mains.len(), "{what}: {boxes} boxes");
        }
    }
}
