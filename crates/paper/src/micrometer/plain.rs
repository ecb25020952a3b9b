//! The micrometer in plain letters, for a terminal: 80 columns at most.

use gauge::scale::{Frame, ScaleError};
use units::Length;

use super::Shown;

/// Columns from one line of the sleeve to the next.
const LINE_APART: f64 = 5.0;
/// Column of the thimble's edge; the sleeve begins in the third.
const EDGE: usize = 40;
/// Rows above and below the index line.
const ROWS: usize = 9;
/// Column of the vernier.
const VERNIER: usize = 54;

/// Sleeve, thimble and vernier in plain letters, with what is seen in words above. Lines end without blanks.
///
/// # Errors
/// [`ScaleError::Outside`] the range of the frame.
/// # Limits
/// Two rows are one division, however far round it is; a division that is not at the index line stands above or below
/// it, never on it.
pub fn in_text(frame: Frame, size: Length, peep: Length) -> Result<String, ScaleError> {
    let shown = Shown::new(frame, size, peep)?;
    let mut sheet = Sheet(vec![Vec::new(); 2 * ROWS + 1]);
    put_sleeve(&mut sheet, &shown);
    put_thimble(&mut sheet, &shown);
    if let Some((line, past)) = shown.seen.vernier() {
        put_vernier(&mut sheet, &shown, (!past).then_some(line));
    }
    Ok(format!("{}\n\n{}", shown.seen.says(), sheet.text()))
}

/// Rows of letters; the middle one is that of the index line.
struct Sheet(Vec<Vec<char>>);

impl Sheet {
    /// Puts letters so many rows above the index line.
    fn put(&mut self, above: i64, column: usize, letters: &str) {
        let row = usize::try_from(ROWS as i64 - above).ok();
        let Some(row) = row.and_then(|row| self.0.get_mut(row)) else { return };
        for (n, letter) in letters.chars().enumerate() {
            if row.len() <= column + n {
                row.resize(column + n + 1, ' ');
            }
            if let Some(place) = row.get_mut(column + n) {
                *place = letter;
            }
        }
    }

    fn text(&self) -> String {
        let lines = self.0.iter().map(|row| row.iter().collect::<String>().trim_end().to_owned());
        lines.fold(String::new(), |text, line| text + &line + "\n")
    }
}

fn put_sleeve(sheet: &mut Sheet, shown: &Shown) {
    let counted = shown.seen.lines_counted();
    let past = shown.turns - f64::from(counted);
    let column = |line: u32| {
        let back = ((past + f64::from(counted) - f64::from(line)) * LINE_APART).floor();
        (EDGE as f64 - 1.0 - back) as usize
    };
    let first = column(0).clamp(2, EDGE);
    for at in first..EDGE {
        sheet.put(0, at, "─");
    }
    for line in 0..=counted {
        // Lines that are further back are out of sight.
        if f64::from(counted - line) * LINE_APART + past * LINE_APART > EDGE as f64 - 5.0 {
            continue;
        }
        let at = column(line);
        if shown.metric && !line.is_multiple_of(2) {
            sheet.put(0, at, "┬");
            sheet.put(-1, at, "│");
            continue;
        }
        sheet.put(0, at, "┴");
        sheet.put(1, at, "│");
        if line.is_multiple_of(shown.lines_to_a_number) {
            sheet.put(2, at, "│");
            let number = (line / if shown.metric { 2 } else { 4 }).to_string();
            sheet.put(3, at + 1 - number.len(), &number);
        }
    }
    if shown.seen.one_more_line() {
        let below = shown.metric && !(counted + 1).is_multiple_of(2);
        sheet.put(if below { -1 } else { 1 }, EDGE - 1, "┊");
    }
}

fn put_thimble(sheet: &mut Sheet, shown: &Shown) {
    for above in -(ROWS as i64)..=ROWS as i64 {
        sheet.put(above, EDGE, if above == 0 { "┨" } else { "┃" });
    }
    let round = f64::from(shown.divisions);
    for division in 0..shown.divisions {
        let away = (f64::from(division) - shown.at + round / 2.0).rem_euclid(round) - round / 2.0;
        let above = rows(away);
        let (line, number) =
            if division.is_multiple_of(5) { ("── ", division.to_string()) } else { ("─", String::new()) };
        if above.unsigned_abs() <= ROWS as u64 {
            sheet.put(above, EDGE, if above == 0 { "╂" } else { "┠" });
            sheet.put(above, EDGE + 1, &format!("{line}{number}"));
        }
    }
}

/// Rows above the index line for so many divisions; only what is at the line stands on its row.
fn rows(away: f64) -> i64 {
    // Half of what a vernier shows: nobody sees less.
    const AT_THE_LINE: f64 = 0.05;
    let rounded = (2.0 * away).round() as i64;
    if away > AT_THE_LINE {
        rounded.max(1)
    } else if away < -AT_THE_LINE {
        rounded.min(-1)
    } else {
        0
    }
}

fn put_vernier(sheet: &mut Sheet, shown: &Shown, matches: Option<u32>) {
    sheet.put(ROWS as i64 - 1, VERNIER, "Vernier, laid flat");
    for line in 0..=10_u32 {
        let above = i64::from(line) - ROWS as i64 + 2;
        // Where the nearest division stands beside this line.
        let beside = (0.9 * f64::from(line) + shown.at).rem_euclid(1.0);
        let met = matches.is_some_and(|found| line == found || (found == 0 && line == 10));
        let division = match (met, beside < 0.5) {
            (true, _) => "━━━━  meets",
            // The division is lower than the line.
            (false, true) => "▁▁▁",
            (false, false) => "▔▔▔",
        };
        let own = if met { "━━━╋" } else { "───┨" };
        sheet.put(above, VERNIER, &format!("{} {own}{division}", line % 10));
    }
}

#[cfg(test)]
mod tests {
    use gauge::scale::Scale;
    use units::read;

    use super::*;

    fn text(scale: Scale, size: &str) -> String {
        let size = read(size, scale.unit()).unwrap().length;
        in_text(Frame::usual(scale, size), size, Length::ZERO).unwrap()
    }

    #[test]
    fn rising_numbers_and_the_line_that_meets() {
        let text = text(Scale::Tenth, "2.4483");
        let row = |words: &str| text.lines().position(|line| line.contains(words)).unwrap();
        assert!(row("── 0") < row("── 20"), "{text}");
        assert!(text.lines().any(|line| line.contains("3 ━━━╋━━━━  meets")), "{text}");
        assert!(text.starts_with("Sleeve shows 4 and one line. Thimble 23. Vernier 3.\n"));
        assert!(!text.contains('╂'), "no division stands at the index line:\n{text}");
    }

    #[test]
    fn every_line_fits_a_terminal() {
        for (scale, last) in
            [(Scale::Thou, 1000), (Scale::Tenth, 10_000), (Scale::Hundredth, 2500), (Scale::Micron, 25_000)]
        {
            for step in (0..=last).step_by(37).chain([last]) {
                let size = Length::from_nm(scale.travel().nm() + step * scale.graduation().nm());
                let frame = Frame::new(scale, scale.travel(), scale.travel() + scale.travel()).unwrap();
                let text = in_text(frame, size, super::super::most_peep(scale.unit())).unwrap();
                // The words stand on one line; whoever prints them folds it.
                for line in text.lines().skip(1) {
                    assert!(line.chars().count() <= 80 && line.trim_end() == line, "{line}");
                }
            }
        }
    }
}
