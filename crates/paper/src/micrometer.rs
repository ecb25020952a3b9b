//! The micrometer drawn from a size: what the eye sees on sleeve, thimble and vernier.
//!
//! The eye stays with the edge of the thimble: the sleeve runs in from the left, the thimble stands on the right. The
//! sleeve is drawn about six times as large as it is, the thimble about two and a half times, so that a line that is just
//! showing can be seen. Divisions stand where a cylinder of that size has them, and **rise upwards**: opening the
//! micrometer carries the near face down.
//!
//! The parts can be found by name: `sleeve-number` (the last number showing; on a metric sleeve the whole lines after it
//! too), `sleeve-lines` (the lines after it; on a metric sleeve the half line), `thimble`, `vernier`.
//!
//! # Limits
//! The vernier is drawn laid flat and larger: on an inch micrometer it runs a third of the way round the sleeve, and
//! nobody sees all of it at once.

mod plain;
mod words;

use gauge::scale::{Frame, ScaleError};
use units::{Length, Unit};

use crate::{Drawing, Fill, Label, Pen};

pub use plain::in_text;
pub use words::Seen;

/// Width and height of the drawing of sleeve and thimble.
const FRONT_MM: (f64, f64) = (78.0, 54.0);
/// Width and height of the drawing of the vernier.
const VERNIER_MM: (f64, f64) = (40.0, 60.0);
/// Where the edge of the thimble stands.
const EDGE_X: f64 = 54.0;
const CENTRE_Y: f64 = 27.0;
/// From one line of the sleeve to the next.
const LINE_APART: f64 = 4.0;
/// The sleeve that is seen begins here.
const LEFT_X: f64 = 2.0;
const SLEEVE_RADIUS: f64 = 18.5;
const EDGE_RADIUS: f64 = 20.0;
const THIMBLE_RADIUS: f64 = 24.0;
/// Length of the bevel that carries the divisions, and of the lines on it.
const BEVEL: f64 = 17.0;
const DIVISION: (f64, f64) = (4.5, 7.0);
/// Divisions further round than this are not drawn.
const SEEN_DEG: f64 = 70.0;
/// Numbers further round than this would lie on the outline.
const NUMBER_SEEN_DEG: f64 = 60.0;
/// Size of the numbers.
const NUMBER_MM: f64 = 5.4;
/// One division of the thimble on the drawing of the vernier.
const FLAT_DIVISION: f64 = 4.6;

/// The furthest that the next line of a sleeve may be showing before it counts: 0.003 in or 0.06 mm.
pub const fn most_peep(unit: Unit) -> Length {
    match unit {
        Unit::Inch => Length::from_nm(76_200),
        Unit::Millimetre => Length::from_nm(60_000),
    }
}

/// How far a line usually stands clear of the thimble when it begins to count: 0.001 in or 0.02 mm.
///
/// Common practice, no source: a zero is set on the index line, and the edge of the thimble stands where it stands.
pub const fn usual_peep(unit: Unit) -> Length {
    match unit {
        Unit::Inch => Length::from_nm(25_400),
        Unit::Millimetre => Length::from_nm(20_000),
    }
}

/// Sleeve and thimble, and the vernier beside them where there is one.
///
/// `peep` is how far before its reading the next line of the sleeve is already showing, besides its own width; it is
/// held between nought and [`most_peep`].
///
/// # Errors
/// [`ScaleError::Outside`] the range of the frame. A size between two graduations is drawn where it stands.
pub fn draw(frame: Frame, size: Length, peep: Length) -> Result<Drawing, ScaleError> {
    let shown = Shown::new(frame, size, peep)?;
    if !frame.scale().has_vernier() {
        return front(frame, size, peep);
    }
    let mut drawing =
        Drawing::new(FRONT_MM.0 + VERNIER_MM.0, FRONT_MM.1.max(VERNIER_MM.1), shown.title(frame.scale().unit()));
    drawing.says = shown.seen.says();
    put_front(&mut drawing, &shown, (VERNIER_MM.1 - FRONT_MM.1) / 2.0);
    put_vernier(&mut drawing, &shown, FRONT_MM.0);
    Ok(drawing)
}

/// Sleeve and thimble alone, whether there is a vernier or not.
///
/// # Errors
/// As [`draw`].
pub fn front(frame: Frame, size: Length, peep: Length) -> Result<Drawing, ScaleError> {
    let shown = Shown::new(frame, size, peep)?;
    let mut drawing = Drawing::new(FRONT_MM.0, FRONT_MM.1, shown.title(frame.scale().unit()));
    drawing.says = shown.seen.says_without_vernier();
    put_front(&mut drawing, &shown, 0.0);
    Ok(drawing)
}

/// The vernier alone, laid flat; nothing on a scale without one.
///
/// # Errors
/// As [`draw`].
pub fn vernier(frame: Frame, size: Length, peep: Length) -> Result<Option<Drawing>, ScaleError> {
    let shown = Shown::new(frame, size, peep)?;
    let Some(says) = shown.seen.says_vernier() else { return Ok(None) };
    let mut drawing = Drawing::new(VERNIER_MM.0, VERNIER_MM.1, "Vernier, laid flat");
    drawing.says = says;
    put_vernier(&mut drawing, &shown, 0.0);
    Ok(Some(drawing))
}

/// A size as it stands on the drawing, in turns and divisions.
struct Shown {
    seen: Seen,
    /// Turns from the lower limit.
    turns: f64,
    /// How far a line is showing before it counts, in turns.
    peep_turns: f64,
    /// Divisions of the thimble at the index line.
    at: f64,
    /// Divisions of the whole thimble.
    divisions: u32,
    /// Lines of the sleeve in all, and from one number to the next.
    lines: u32,
    lines_to_a_number: u32,
    metric: bool,
}

impl Shown {
    fn new(frame: Frame, size: Length, peep: Length) -> Result<Shown, ScaleError> {
        let scale = frame.scale();
        let metric = scale.unit() == Unit::Millimetre;
        let peep = peep.clamp(Length::ZERO, most_peep(scale.unit()));
        let open = size - frame.limits().0;
        let (turn, division) = (scale.turn(), scale.division());
        let part = |whole: Length, of: Length| whole.nm() as f64 / of.nm() as f64;
        Ok(Shown {
            seen: Seen::new(frame, size, peep)?,
            turns: part(open, turn),
            peep_turns: part(peep, turn),
            at: part(Length::from_nm(open.nm() % turn.nm()), division),
            divisions: if metric { 50 } else { 25 },
            lines: u32::try_from((frame.limits().1 - frame.limits().0).nm() / turn.nm()).unwrap_or(0),
            lines_to_a_number: if metric { 10 } else { 4 },
            metric,
        })
    }

    fn title(&self, unit: Unit) -> String {
        format!("Sleeve and thimble of {} micrometer", if unit == Unit::Inch { "an inch" } else { "a metric" })
    }

    /// Where a line of the sleeve stands on the paper. Its right side touches the thimble when it begins to count, and
    /// stands clear of it by the peep.
    fn line_x(&self, line: u32) -> f64 {
        EDGE_X - Pen::Thin.width_mm() / 2.0 - (self.turns + self.peep_turns - f64::from(line)) * LINE_APART
    }

    /// Lines of the sleeve of which anything is seen.
    fn lines_seen(&self) -> impl Iterator<Item = (u32, f64)> + '_ {
        let half = Pen::Thin.width_mm() / 2.0;
        (0..=self.lines)
            .map(|line| (line, self.line_x(line)))
            .filter(move |(_, x)| *x >= LEFT_X + half && *x - half < EDGE_X - 0.01)
    }

    /// The last numbered line that counts.
    fn last_number(&self) -> u32 {
        let counted = self.seen.lines_counted();
        counted - counted % self.lines_to_a_number
    }

    /// The part that a line of the sleeve belongs to.
    fn part(&self, line: u32) -> &'static str {
        let last = self.last_number();
        let counts = line <= self.seen.lines_counted();
        match self.metric {
            _ if line < last => "sleeve-rest",
            true if line.is_multiple_of(2) && counts => "sleeve-number",
            false if line == last => "sleeve-number",
            _ => "sleeve-lines",
        }
    }
}

fn put_front(drawing: &mut Drawing, shown: &Shown, down: f64) {
    let y = CENTRE_Y + down;
    let zero_x = shown.line_x(0);
    // The frame comes into sight where little of the sleeve does.
    let frame_x = (zero_x - 5.0).max(0.0);
    drawing.rectangle((frame_x, y - SLEEVE_RADIUS), (EDGE_X + 1.0, y + SLEEVE_RADIUS), None, Fill::Paper);
    for edge in [y - SLEEVE_RADIUS, y + SLEEVE_RADIUS] {
        drawing.line([(frame_x, edge), (EDGE_X, edge)], Pen::Edge);
    }
    if frame_x > 0.0 {
        let top = y - THIMBLE_RADIUS - 1.0;
        let bottom = y + THIMBLE_RADIUS + 1.0;
        drawing.line([(frame_x - 2.0, top), (frame_x, top + 2.0), (frame_x, bottom - 2.0), (frame_x - 2.0, bottom)], {
            Pen::Edge
        });
    }
    drawing.group("index", |part| part.line([(frame_x, y), (EDGE_X, y)], Pen::Edge));
    for name in ["sleeve-rest", "sleeve-lines", "sleeve-number"] {
        drawing.group(name, |part| {
            for (line, x) in shown.lines_seen().filter(|(line, _)| shown.part(*line) == name) {
                put_sleeve_line(part, shown, line, x, y);
            }
        });
    }
    put_thimble(drawing, shown, y);
}

fn put_sleeve_line(part: &mut Drawing, shown: &Shown, line: u32, x: f64, y: f64) {
    let numbered = line.is_multiple_of(shown.lines_to_a_number);
    // Half millimetres stand on the other side of the index line.
    let to = match (shown.metric && !line.is_multiple_of(2), numbered) {
        (true, _) => 5.5,
        (false, true) => -11.0,
        (false, false) => -5.5,
    };
    part.line([(x, y), (x, y + to)], Pen::Thin);
    if numbered {
        let number = line / if shown.metric { 2 } else { 4 };
        // To the left of its line, where the thimble does not cover it.
        part.label(Label::figures((x - 1.0, y - 7.2), number.to_string()).sized(NUMBER_MM).end());
    }
}

fn put_thimble(drawing: &mut Drawing, shown: &Shown, y: f64) {
    let (bevel_x, right) = (EDGE_X + BEVEL, FRONT_MM.0);
    let outline = [
        (EDGE_X, y - EDGE_RADIUS),
        (bevel_x, y - THIMBLE_RADIUS),
        (right, y - THIMBLE_RADIUS),
        (right, y + THIMBLE_RADIUS),
        (bevel_x, y + THIMBLE_RADIUS),
        (EDGE_X, y + EDGE_RADIUS),
    ];
    drawing.shape(outline, None, Fill::Paper);
    let [a, b, c, d, e, f] = outline;
    drawing.line([c, b, a], Pen::Edge);
    drawing.line([f, e, d], Pen::Edge);
    drawing.line([b, e], Pen::Thin);
    // The knurl, as far as it shows what turns.
    for round in -7..=7 {
        let knurl = y - THIMBLE_RADIUS * (f64::from(round) * 11.5).to_radians().sin();
        drawing.line([(bevel_x + 3.0, knurl), (right, knurl)], Pen::Thin);
    }
    drawing.line([(bevel_x + 3.0, y - THIMBLE_RADIUS), (bevel_x + 3.0, y + THIMBLE_RADIUS)], Pen::Thin);
    // The edge lies wholly on the thimble's side, so that it covers nothing of a line that is just showing.
    let edge_x = EDGE_X + Pen::Thin.width_mm() / 2.0;
    drawing.group("edge", |part| part.line([(edge_x, y - EDGE_RADIUS), (edge_x, y + EDGE_RADIUS)], Pen::Thin));
    drawing.group("thimble", |part| {
        for division in 0..shown.divisions {
            let round = f64::from(shown.divisions);
            let away = (f64::from(division) - shown.at + round / 2.0).rem_euclid(round) - round / 2.0;
            let angle = away * 360.0 / round;
            if angle.abs() >= SEEN_DEG {
                continue;
            }
            let numbered = division.is_multiple_of(5);
            let (long, pen) = if numbered { (DIVISION.1, Pen::Edge) } else { (DIVISION.0, Pen::Thin) };
            let at = |along: f64| {
                let radius = EDGE_RADIUS + (THIMBLE_RADIUS - EDGE_RADIUS) * along / BEVEL;
                (EDGE_X + along, y - radius * angle.to_radians().sin())
            };
            part.line([at(0.0), at(long)], pen);
            if numbered && angle.abs() < NUMBER_SEEN_DEG {
                let (x, middle) = at(long + 1.5);
                // A digit is about two thirds of its size high.
                let label = Label::figures((x, middle + NUMBER_MM * 0.33), division.to_string());
                part.label(label.sized(NUMBER_MM));
            }
        }
    });
}

/// Ten lines of the sleeve over nine divisions of the thimble, the index line being the first. Only the line that says the
/// last digit meets a division.
fn put_vernier(drawing: &mut Drawing, shown: &Shown, from: f64) {
    let (left, edge, right) = (from + 9.0, from + 21.0, from + 35.0);
    let (top, bottom) = (7.0, VERNIER_MM.1 - 2.0);
    let zero_y = bottom - 5.0;
    drawing.rectangle((from + 2.0, top), (right, bottom), None, Fill::Paper);
    drawing.line([(from + 2.0, top), (right, top)], Pen::Thin);
    drawing.line([(from + 2.0, bottom), (right, bottom)], Pen::Thin);
    drawing.label(Label::words((from + 2.0, 4.5), "Vernier, laid flat"));
    drawing.group("vernier", |part| {
        part.line([(edge, top), (edge, bottom)], Pen::Edge);
        for line in 0..=10_u32 {
            let y = zero_y - f64::from(line) * 0.9 * FLAT_DIVISION;
            part.line([(left, y), (edge, y)], Pen::Thin);
            part.label(Label::figures((left - 1.0, y + 1.2), (line % 10).to_string()).sized(3.6).end());
        }
        // As many divisions as the strip has room for.
        let round = i64::from(shown.divisions);
        let lowest = (shown.at - (bottom - zero_y) / FLAT_DIVISION).ceil() as i64;
        let highest = (shown.at + (zero_y - top) / FLAT_DIVISION).floor() as i64;
        for division in lowest..=highest {
            let y = zero_y - (division as f64 - shown.at) * FLAT_DIVISION;
            let numbered = division % 5 == 0;
            let long = if numbered { 7.0 } else { 5.0 };
            part.line([(edge, y), (edge + long, y)], Pen::Thin);
            if numbered && y - 1.2 > top && y + 1.2 < bottom {
                let number = division.rem_euclid(round).to_string();
                part.label(Label::figures((edge + long + 0.8, y + 1.2), number).sized(3.6));
            }
        }
    });
}
