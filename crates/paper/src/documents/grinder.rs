//! The grinder's sheet: read at arm's length, and its large figures from the machine.

use super::{AboutJob, field, foot};
use crate::setting::{Cell, Column, Flow, Piece, Row, Table, Tag, Type, Width, one_line};
use crate::{Anchor, PaperSize, Pen, Unwritable};

/// Large figures: digits at least 12 mm high.
const LARGE_PT: f64 = 54.0;

/// Between two boxes side by side.
const BETWEEN_MM: f64 = 4.0;

/// Up to so many journals stand on one page.
const ON_ONE_PAGE: usize = 13;

/// What the grinder works to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GrinderSheet {
    /// Whose crank.
    pub about: AboutJob,
    /// What must be settled first, in a few words, where something must.
    pub headline: Option<String>,
    /// The same in full, one paragraph each, with what was answered to it.
    pub stops: Vec<String>,
    /// The three letters and figures that tell this sheet from others; empty on a draft that was not issued.
    pub code: String,
    /// Which sheet of the job this is.
    pub number: usize,
    /// The sheet that this one replaces.
    pub replaces: Option<String>,
    /// Who issued it.
    pub issued_by: String,
    /// When.
    pub issued: String,
    /// Who measured.
    pub measured_by: String,
    /// `in` or `mm`.
    pub unit: String,
    /// The sets, mains first.
    pub sets: Vec<GrinderSet>,
    /// What else to set up by, name and words.
    pub notes: Vec<(String, String)>,
    /// Why this sheet no longer holds, where it does not.
    pub changed: Vec<String>,
}

/// One set.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GrinderSet {
    /// `Mains`.
    pub name: String,
    /// `0.010 in under`, `Leave alone`.
    pub choice: String,
    /// The size off the wheel to aim for.
    pub grind_to: Option<String>,
    /// The window off the wheel, in words.
    pub window: String,
    /// The same in the other unit, marked as converted.
    pub other_unit: String,
    /// The finished limits.
    pub finished: String,
    /// Who chose otherwise than the rule, and why.
    pub overruled: String,
    /// What else there is to say.
    pub says: String,
    /// Every stage of the work.
    pub stages: Vec<GrinderStage>,
    /// The journals as they came in.
    pub journals: Vec<GrinderJournal>,
}

/// One stage.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GrinderStage {
    /// `Rough`.
    pub name: String,
    /// The size to aim for.
    pub target: String,
    /// The window.
    pub window: String,
    /// The aim as the micrometer shows it.
    pub as_read: String,
}

/// One journal.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GrinderJournal {
    /// `Main 3`.
    pub name: String,
    /// Its smallest size now.
    pub smallest: String,
    /// What comes off.
    pub take_off: String,
}

/// How much room is taken. The first with which the sheet keeps to its pages is used.
#[derive(Clone, Copy)]
struct Room {
    job_pt: f64,
    note_pt: f64,
    foot_pt: f64,
    gap_mm: f64,
    /// Journals in two columns, with one field each to write into.
    in_two: bool,
}

const ROOMS: [Room; 5] = [
    Room { job_pt: 40.0, note_pt: 14.0, foot_pt: 12.0, gap_mm: 3.0, in_two: false },
    Room { job_pt: 40.0, note_pt: 12.0, foot_pt: 11.0, gap_mm: 2.0, in_two: false },
    Room { job_pt: 36.0, note_pt: 10.5, foot_pt: 10.0, gap_mm: 1.0, in_two: false },
    Room { job_pt: 40.0, note_pt: 12.0, foot_pt: 11.0, gap_mm: 2.0, in_two: true },
    Room { job_pt: 36.0, note_pt: 9.0, foot_pt: 9.0, gap_mm: 1.0, in_two: true },
];

/// A field to write into with a greasy pencil is 9.5 mm high, with its rules around it.
const ROW_MM: f64 = 9.8;

impl GrinderSheet {
    /// The sheet on paper. Up to 13 journals it is one page; from 14, each set has its own.
    ///
    /// # Errors
    /// Where the file could not be written.
    pub fn to_pdf(&self, paper: PaperSize) -> Result<Vec<u8>, Unwritable> {
        let journals: usize = self.sets.iter().map(|set| set.journals.len()).sum();
        let wanted = if journals <= ON_ONE_PAGE { 1 } else { 2 };
        let mut best: Option<Flow> = None;
        for room in ROOMS {
            let flow = self.set(paper, room, journals > ON_ONE_PAGE);
            let fits = flow.pages.len() <= wanted;
            best = Some(flow);
            if fits {
                break;
            }
        }
        let title = match self.code.as_str() {
            "" => format!("Draft of a sheet for the grinder, {}", self.about.name()),
            code => format!("Sheet for the grinder {code}, {}", self.about.name()),
        };
        best.unwrap_or_else(|| Flow::new(paper, foot(Vec::new(), 9.0)))
            .into_pdf(&title, &format!("What to grind {} to", self.about.crank))
    }

    fn set(&self, paper: PaperSize, room: Room, apart: bool) -> Flow {
        let mut block = self.about.fields();
        block.extend([
            field("Measured by", &self.measured_by),
            field("Issued", [self.issued_by.as_str(), &self.issued].map(str::trim).join(", ").trim_matches([',', ' '])),
            field("Units", &self.unit),
            field(
                "Sheet",
                if self.code.is_empty() { "draft".to_owned() } else { format!("{} ({})", self.code, self.number) },
            ),
            field("Replaces sheet", self.replaces.as_deref().unwrap_or("none")),
            field("Ground by", "______________"),
        ]);
        let mut flow = Flow::new(paper, foot(block, room.foot_pt));
        self.about.begin(&mut flow, &format!("Sheet {}", self.code));
        // The whole heading stands on each page instead of a running one.
        flow.running = None;
        let groups: Vec<&[GrinderSet]> = if apart { self.sets.chunks(1).collect() } else { vec![self.sets.as_slice()] };
        for (n, sets) in groups.into_iter().enumerate() {
            if n > 0 {
                flow.new_page();
            }
            self.heading(&mut flow, room, n == 0);
            self.boxes(&mut flow, sets, room);
            flow.space(room.gap_mm);
            self.journals(&mut flow, sets, room);
            flow.space(room.gap_mm);
            self.notes(&mut flow, sets, room);
        }
        flow
    }

    fn heading(&self, flow: &mut Flow, room: Room, first: bool) {
        let (left, y, width) = (flow.left_mm(), flow.y_mm(), flow.width_mm());
        let job = flow.set(&self.about.name(), Type::words(room.job_pt).bold(), width * 0.62, Anchor::Start);
        let code = if self.code.is_empty() { "Draft".to_owned() } else { format!("Sheet {}", self.code) };
        let code = flow.set(&code, Type::words(room.job_pt * 0.7).bold(), width * 0.38, Anchor::End);
        let height = job.height_mm.max(code.height_mm);
        let level = if first { 1 } else { 2 };
        flow.begin(Tag::Heading { level, title: self.about.name() });
        flow.place(Piece::Words(job), (left, y), false);
        flow.place(Piece::Words(code), (left + width * 0.62, y + room.job_pt * 0.09), false);
        flow.end();
        flow.set_y_mm(y + height);
        let mut crank = one_line(&self.about.crank);
        if !self.about.whose().is_empty() {
            crank = format!("{crank}, for {}", self.about.whose());
        }
        if let Some(old) = self.replaces.as_ref().filter(|_| first) {
            crank = format!("{crank}. Replaces sheet {old}: destroy that one.");
        }
        // A name that runs over two lines leaves the room to the figures.
        let long =
            crate::width_mm(&crank, 14.0 / crate::setting::POINTS_PER_MM, crate::Face::Words, true) > 2.0 * width;
        flow.strong(&crank, if long { 10.0 } else { 14.0 });
        if let Some(headline) = &self.headline {
            flow.strong(&format!("■ {headline}"), 20.0);
        }
        for says in &self.stops {
            flow.strong(says, room.note_pt);
        }
        for says in &self.changed {
            flow.strong(&format!("■ This sheet no longer holds. {says}"), 14.0);
        }
        flow.space(room.gap_mm);
    }

    /// The two boxes, side by side where their figures leave room.
    fn boxes(&self, flow: &mut Flow, sets: &[GrinderSet], room: Room) {
        let (left, whole) = (flow.left_mm(), flow.width_mm());
        let widest = sets
            .iter()
            .filter_map(|set| set.grind_to.as_deref())
            .map(|figure| crate::width_mm(figure, LARGE_PT / crate::setting::POINTS_PER_MM, crate::Face::Figures, true))
            .fold(0.0, f64::max);
        let beside = sets.len() == 2 && widest + 6.0 <= (whole - BETWEEN_MM) / 2.0;
        let width = if beside { (whole - BETWEEN_MM) / 2.0 } else { whole };
        let top = flow.y_mm();
        let mut lowest = top;
        for (n, set) in sets.iter().enumerate() {
            if !beside && n > 0 {
                flow.space(2.0);
            }
            let y = if beside { top } else { flow.y_mm() };
            let x = if beside { left + n as f64 * (width + BETWEEN_MM) } else { left };
            flow.set_y_mm(y + 1.0);
            flow.set_column(Some((x + 2.0, width - 4.0)));
            self.in_box(flow, set, room);
            flow.set_column(None);
            lowest = lowest.max(flow.y_mm() + 1.5);
            if !beside {
                flow.eye_frame((x, y), (x + width, lowest), pen_of(set));
                flow.set_y_mm(lowest);
            }
        }
        if beside {
            for (n, set) in sets.iter().enumerate() {
                let x = left + n as f64 * (width + BETWEEN_MM);
                flow.eye_frame((x, top), (x + width, lowest), pen_of(set));
            }
            flow.set_y_mm(lowest);
        }
    }

    fn in_box(&self, flow: &mut Flow, set: &GrinderSet, room: Room) {
        let to = if set.grind_to.is_some() { ". Grind to" } else { "" };
        let name = format!("{}: {}{to}", set.name.to_uppercase(), set.choice);
        let heading = Tag::Heading { level: 2, title: name.clone() };
        flow.block(heading, &name, Type::words(14.0).bold(), Anchor::Start);
        if let Some(figure) = &set.grind_to {
            let laid = flow.set(figure, Type::figures(LARGE_PT).bold(), 400.0, Anchor::Start);
            let (x, y) = (flow.left_mm(), flow.y_mm());
            flow.begin(Tag::Paragraph);
            // The line is set tight: above and below its figures there is nothing.
            let lift = laid.height_mm * 0.16;
            let height = laid.height_mm;
            flow.place(Piece::Words(laid), (x, y - lift), false);
            flow.end();
            flow.set_y_mm(y + height - 2.0 * lift);
        }
        flow.block(Tag::Paragraph, &set.window, Type::figures(23.0).bold(), Anchor::Start);
        let finished = [set.finished.as_str(), set.other_unit.as_str()].join("  ");
        for words in [finished.trim(), &set.overruled, &set.says] {
            flow.block(Tag::Paragraph, words, Type::words(room.note_pt.min(14.0)), Anchor::Start);
        }
    }

    fn journals(&self, flow: &mut Flow, sets: &[GrinderSet], room: Room) {
        let ground: Vec<&[GrinderJournal]> =
            sets.iter().filter(|set| set.grind_to.is_some()).map(|set| set.journals.as_slice()).collect();
        let all: Vec<&GrinderJournal> = ground.iter().flat_map(|journals| journals.iter()).collect();
        if all.is_empty() {
            return;
        }
        if !room.in_two {
            flow.table(&journal_table(&all, room));
            return;
        }
        let left = match ground.as_slice() {
            [mains, _] => mains.len(),
            _ => all.len().div_ceil(2),
        };
        let (left, right) = all.split_at(left);
        let tables = [journal_table(left, room), journal_table(right, room)];
        let (edge, top, width) = (flow.left_mm(), flow.y_mm(), (flow.width_mm() - BETWEEN_MM) / 2.0);
        let mut lowest = top;
        for (n, table) in tables.iter().enumerate() {
            flow.set_y_mm(top);
            flow.set_column(Some((edge + n as f64 * (width + BETWEEN_MM), width)));
            flow.table(table);
            lowest = lowest.max(flow.y_mm());
        }
        flow.set_column(None);
        flow.set_y_mm(lowest);
    }

    fn notes(&self, flow: &mut Flow, sets: &[GrinderSet], room: Room) {
        let words: Vec<String> =
            self.notes.iter().map(|(name, says)| format!("{name}: {}.", says.trim_end_matches('.'))).collect();
        if !words.is_empty() {
            flow.paragraph(&words.join("  "), room.note_pt);
        }
        for set in sets.iter().filter(|set| set.stages.len() > 1) {
            let stages: Vec<String> =
                set.stages.iter().map(|stage| format!("{} {} ({})", stage.name, stage.target, stage.window)).collect();
            flow.paragraph(&format!("{} stage by stage: {}.", set.name, stages.join("; ")), room.note_pt);
        }
        flow.strong("■ Stop and tell us if any journal has not cleaned up.", room.note_pt.max(12.0));
        flow.paragraph(
            "Wheel guards, coolant and lifting: as the machine’s maker and local rules say. A burnt or cracked journal \
             ends the job: stop and have it crack tested.",
            room.note_pt.min(10.5),
        );
    }
}

fn journal_table(journals: &[&GrinderJournal], room: Room) -> Table {
    let mut columns = vec![
        Column::words("Journal", if room.in_two { Width::Fit } else { Width::Share(1.0) }),
        Column::figures("Smallest now", Width::Fit),
        Column::figures("Take off about", Width::Fit),
    ];
    if !room.in_two {
        columns.push(Column::words("Off the wheel", Width::Mm(38.0)));
    }
    columns.push(Column::words("Finished as measured", if room.in_two { Width::Share(1.0) } else { Width::Mm(36.0) }));
    let blanks = columns.len() - 3;
    let rows = journals.iter().map(|journal| {
        let mut cells = vec![Cell::bold(&journal.name), Cell::from(&journal.smallest), Cell::from(&journal.take_off)];
        cells.extend(vec![Cell::default(); blanks]);
        Row { cells }
    });
    Table {
        columns,
        rows: rows.collect(),
        pt: if room.in_two { 11.0 } else { 14.0 },
        head_pt: if room.in_two { 9.0 } else { 12.0 },
        least_mm: ROW_MM,
        ruled: true,
    }
}

fn pen_of(set: &GrinderSet) -> Pen {
    if set.grind_to.is_some() { Pen::Heavy } else { Pen::Edge }
}
