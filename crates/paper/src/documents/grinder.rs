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

/// What stands first on the sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Headline {
    /// In a few words.
    pub says: String,
    /// How grave it is.
    pub gravity: Gravity,
}

/// How grave it is what stands first: by this its letters are sized, in whatever language they are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gravity {
    /// A crack: the largest letters there are.
    Crack,
    /// Nothing of the crank is to be ground.
    Scrap,
    /// Something is to be settled first.
    Stop,
}

/// What the grinder works to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GrinderSheet {
    /// Whose crank.
    pub about: AboutJob,
    /// What must be settled first, in a few words, where something must.
    pub headline: Option<Headline>,
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
    /// What was found on the crank, name and words.
    pub found: Vec<(String, String)>,
    /// Journals that are set up off their present centres.
    pub offsets: Vec<GrinderOffset>,
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
    /// The same size in the other unit, marked as converted.
    pub other_unit: String,
    /// The window off the wheel, in words.
    pub window: String,
    /// The finished limits, in both units.
    pub finished: String,
    /// Who chose otherwise than the rule, and why.
    pub overruled: String,
    /// What else there is to say.
    pub says: Vec<String>,
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

/// A journal that is set up off its present centre.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GrinderOffset {
    /// `Pin 3`.
    pub name: String,
    /// How far and which way.
    pub shift: String,
    /// What the dial on it is set to show.
    pub dial: String,
    /// Where it then reads high.
    pub high: String,
}

/// One journal.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GrinderJournal {
    /// `Main 3`.
    pub name: String,
    /// Its largest size now.
    pub largest: String,
    /// What comes off there.
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
    /// Each note on a line of its own; else one after another.
    listed: bool,
}

const ROOMS: [Room; 11] = [
    Room { job_pt: 40.0, note_pt: 14.0, foot_pt: 12.0, gap_mm: 3.0, in_two: false, listed: true },
    Room { job_pt: 40.0, note_pt: 12.0, foot_pt: 11.0, gap_mm: 2.0, in_two: false, listed: true },
    Room { job_pt: 36.0, note_pt: 11.0, foot_pt: 10.0, gap_mm: 1.0, in_two: false, listed: true },
    Room { job_pt: 40.0, note_pt: 12.0, foot_pt: 11.0, gap_mm: 2.0, in_two: true, listed: true },
    Room { job_pt: 30.0, note_pt: 11.0, foot_pt: 8.5, gap_mm: 0.5, in_two: true, listed: true },
    Room { job_pt: 40.0, note_pt: 12.0, foot_pt: 11.0, gap_mm: 2.0, in_two: true, listed: false },
    Room { job_pt: 30.0, note_pt: 11.0, foot_pt: 8.5, gap_mm: 0.5, in_two: true, listed: false },
    Room { job_pt: 30.0, note_pt: 9.5, foot_pt: 8.5, gap_mm: 0.5, in_two: true, listed: true },
    Room { job_pt: 30.0, note_pt: 9.5, foot_pt: 9.0, gap_mm: 0.5, in_two: true, listed: false },
    Room { job_pt: 24.0, note_pt: 8.5, foot_pt: 8.0, gap_mm: 0.5, in_two: true, listed: false },
    Room { job_pt: 20.0, note_pt: 7.5, foot_pt: 8.0, gap_mm: 0.0, in_two: true, listed: false },
];

/// A heading that takes more lines than this at its full size is set smaller.
const HEADING_LINES: f64 = 2.0;

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
        // A mark may be as long as a page is wide.
        let running = shortened(&format!("Sheet {}, {}", self.code, self.about.name()));
        let grinds = self.sets.iter().any(|set| set.grind_to.is_some());
        let groups: Vec<&[GrinderSet]> = if apart { self.sets.chunks(1).collect() } else { vec![self.sets.as_slice()] };
        let last = groups.len();
        for (n, sets) in groups.into_iter().enumerate() {
            if n > 0 {
                // The whole heading stands there instead of a running one.
                flow.running = None;
                flow.new_page();
            }
            flow.running = Some(running.clone());
            self.heading(&mut flow, room, n == 0);
            self.boxes(&mut flow, sets, room);
            flow.space(room.gap_mm);
            if grinds {
                flow.strong("■ Stop and tell us if any journal has not cleaned up.", room.note_pt.max(12.0));
            }
            self.journals(&mut flow, sets, room);
            flow.space(room.gap_mm);
            if n + 1 == last && grinds && !self.offsets.is_empty() {
                flow.table(&offset_table(&self.offsets, room));
                flow.space(room.gap_mm);
            }
            self.notes(&mut flow, sets, room, grinds, n + 1 == last);
        }
        flow
    }

    fn heading(&self, flow: &mut Flow, room: Room, first: bool) {
        let (left, y, width) = (flow.left_mm(), flow.y_mm(), flow.width_mm());
        let name = one_line(&self.about.name());
        let wide = crate::width_mm(&name, room.job_pt / crate::setting::POINTS_PER_MM, crate::Face::Words, true);
        let pt = if wide > HEADING_LINES * 0.62 * width { 11.0 } else { room.job_pt };
        let job = flow.set(&name, Type::words(pt).bold(), width * 0.62, Anchor::Start);
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
        self.must_be_settled(flow, room, first);
        if !self.changed.is_empty() {
            flow.strong("■ This sheet no longer holds: grind nothing to it", 18.0);
            for says in &self.changed {
                flow.strong(says, 14.0);
            }
            flow.strong("Destroy it, and have a new one issued.", 14.0);
        }
        flow.space(room.gap_mm);
    }

    /// The box of what must be settled first: its headline on every page, the whole on the first.
    fn must_be_settled(&self, flow: &mut Flow, room: Room, first: bool) {
        if self.headline.is_none() && self.stops.is_empty() {
            return;
        }
        let (left, whole, top) = (flow.left_mm(), flow.width_mm(), flow.y_mm());
        let page = flow.pages.len();
        flow.set_column(Some((left + 2.0, whole - 4.0)));
        flow.space(1.5);
        if let Some(headline) = &self.headline {
            let ends_it = self.sets.iter().all(|set| set.grind_to.is_none());
            let pt = match (ends_it && first, headline.gravity) {
                (true, Gravity::Crack) => 44.0,
                (true, Gravity::Scrap | Gravity::Stop) => 32.0,
                (false, _) => 20.0,
            };
            let mark = if headline.gravity == Gravity::Stop { "■ " } else { "" };
            let headline = &headline.says;
            flow.block(
                Tag::Heading { level: 2, title: headline.clone() },
                &format!("{mark}{headline}"),
                Type::words(pt).bold(),
                Anchor::Start,
            );
        } else {
            flow.block(Tag::Paragraph, "■ Stopped, and answered:", Type::words(14.0).bold(), Anchor::Start);
        }
        for says in self.stops.iter().filter(|_| first) {
            flow.strong(says, room.note_pt.max(11.0));
        }
        flow.set_column(None);
        let bottom = flow.y_mm() + 1.0;
        // A box that runs over a page has no frame: half of one would say that it ends there.
        if flow.pages.len() == page {
            flow.eye_frame((left, top), (left + whole, bottom), Pen::Heavy);
        }
        flow.set_y_mm(bottom + 1.0);
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
        flow.block(Tag::Paragraph, &set.other_unit, Type::words(room.note_pt.clamp(9.0, 14.0)), Anchor::Start);
        let window_pt = if room.note_pt < 8.0 { 18.0 } else { 23.0 };
        flow.block(Tag::Paragraph, &set.window, Type::figures(window_pt).bold(), Anchor::Start);
        for words in [&set.finished, &set.overruled].into_iter().chain(&set.says) {
            flow.block(Tag::Paragraph, words, Type::words(room.note_pt.min(12.0)), Anchor::Start);
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

    /// The stages that the boxes do not have: before the wheel leaves the size, and between it and the finished one.
    fn stages(sets: &[GrinderSet]) -> Vec<(String, String)> {
        let told = |set: &GrinderSet| {
            let stages: Vec<String> = set
                .stages
                .iter()
                .filter(|stage| Some(&stage.target) != set.grind_to.as_ref() && stage.name != FINISHED)
                .map(|stage| format!("{} {} ({})", lower(&stage.name), stage.target, stage.window))
                .collect();
            (!stages.is_empty()).then(|| (set.name.clone(), stages.join(", ")))
        };
        sets.iter().filter_map(told).collect()
    }

    /// Everything that is said beside the boxes and the journals; of the whole crank only on the last page.
    fn notes(&self, flow: &mut Flow, sets: &[GrinderSet], room: Room, grinds: bool, last: bool) {
        let mut all = GrinderSheet::stages(sets);
        if last {
            all.extend(self.found.iter().chain(&self.notes).cloned());
        }
        if !all.is_empty() {
            let words: Vec<String> =
                all.iter().map(|(name, says)| format!("{name}: {}.", says.trim_end_matches('.'))).collect();
            if room.listed {
                flow.list(&words, room.note_pt);
            } else {
                flow.paragraph(&words.join("  "), room.note_pt);
            }
        }
        if !grinds || !last {
            return;
        }
        for when in ["before grinding", "after grinding and treatment"] {
            flow.space(if room.note_pt < 9.0 { 1.2 } else { 2.0 });
            flow.paragraph(
                &format!("Crack-tested {when}, by: ______________ how: ______________ result: ______________"),
                room.note_pt.min(11.0),
            );
        }
        flow.paragraph(
            "Wheel guards, coolant and lifting: as the machine’s maker and local rules say. A burnt or cracked journal \
             ends the job: stop and have it crack tested.",
            room.note_pt.min(9.5),
        );
    }
}

/// The stage that stands in the box as the finished limits.
const FINISHED: &str = "Finished";

fn lower(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

/// The beginning of words that are too long for one line at the head of a page.
fn shortened(words: &str) -> String {
    const MOST: usize = 80;
    if words.chars().count() <= MOST {
        return words.to_owned();
    }
    words.chars().take(MOST).chain(std::iter::once('…')).collect()
}

fn journal_table(journals: &[&GrinderJournal], room: Room) -> Table {
    let mut columns = vec![
        Column::words("Journal", if room.in_two { Width::Fit } else { Width::Share(1.0) }),
        Column::figures("Largest now", Width::Fit),
        Column::figures("Take off about", Width::Fit),
    ];
    if !room.in_two {
        columns.push(Column::words("Off the wheel", Width::Mm(38.0)));
    }
    columns.push(Column::words("Finished as measured", if room.in_two { Width::Share(1.0) } else { Width::Mm(36.0) }));
    let blanks = columns.len() - 3;
    let rows = journals.iter().map(|journal| {
        let mut cells = vec![Cell::bold(&journal.name), Cell::from(&journal.largest), Cell::from(&journal.take_off)];
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

/// Read from the machine while the throw blocks are set: as large as the room lets it be.
fn offset_table(offsets: &[GrinderOffset], room: Room) -> Table {
    let rows = offsets.iter().map(|one| Row {
        cells: vec![Cell::bold(&one.name), Cell::bold(&one.shift), Cell::bold(&one.dial), Cell::from(&one.high)],
    });
    Table {
        columns: vec![
            Column::words("Set up", Width::Fit),
            Column::words("Off its present centre", Width::Share(1.4)),
            Column::figures("Dial, high less low", Width::Fit),
            Column::words("High at", Width::Share(1.0)),
        ],
        rows: rows.collect(),
        pt: if room.in_two { 12.0 } else { 15.0 },
        head_pt: if room.in_two { 9.0 } else { 12.0 },
        least_mm: 0.0,
        ruled: true,
    }
}

fn pen_of(set: &GrinderSet) -> Pen {
    if set.grind_to.is_some() { Pen::Heavy } else { Pen::Edge }
}
