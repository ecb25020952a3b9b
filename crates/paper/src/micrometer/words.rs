//! What is seen on a micrometer, in words, for whoever does not see the drawing.

use gauge::scale::{Frame, ScaleError};
use units::{Length, Unit};

/// What stands on sleeve, thimble and vernier, as the eye meets it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seen {
    unit: Unit,
    /// Lines of the sleeve that count, the first (nought) not among them: whole turns.
    lines: u32,
    thimble: u32,
    /// Whether the index line stands between this division and the next where there is no vernier to say how far.
    past_thimble: bool,
    /// The line of the vernier that matches, and whether the size lies between it and the next.
    vernier: Option<(u32, bool)>,
    /// Whether a line is showing that does not count yet.
    one_more: bool,
}

impl Seen {
    /// What is seen at a size where a line of the sleeve shows `peep` before it counts, besides its own width.
    ///
    /// # Errors
    /// [`ScaleError::Outside`] the range.
    pub fn new(frame: Frame, size: Length, peep: Length) -> Result<Seen, ScaleError> {
        let scale = frame.scale();
        // What stands less than a tenth of a graduation off is at the graduation, to any eye.
        let (_, off) = frame.nearest(size)?;
        let stands = if 10 * off.nm().abs() < scale.graduation().nm() { size - off } else { size };
        let open = (stands - frame.limits().0).nm();
        let part = |whole: i64, of: Length| u32::try_from(whole / of.nm()).unwrap_or(0);
        let in_turn = open % scale.turn().nm();
        let past_division = in_turn % scale.division().nm();
        let travel = frame.limits().1 - frame.limits().0;
        let to_next = scale.turn().nm() - in_turn;
        // A line is drawn a sixteenth of a turn wide; it shows before its reading by that and by the peep.
        let wide = scale.turn().nm() / 16;
        Ok(Seen {
            unit: scale.unit(),
            lines: part(open, scale.turn()),
            thimble: part(in_turn, scale.division()),
            past_thimble: !scale.has_vernier() && past_division > 0,
            vernier: scale.has_vernier().then(|| {
                let line = part(past_division, scale.graduation());
                (line, past_division % scale.graduation().nm() > 0)
            }),
            one_more: to_next < wide + peep.nm() && open + to_next <= travel.nm(),
        })
    }

    /// The line of the vernier that matches, and whether the size lies between it and the next.
    pub(super) const fn vernier(self) -> Option<(u32, bool)> {
        self.vernier
    }

    const fn divisions(self) -> u32 {
        match self.unit {
            Unit::Inch => 25,
            Unit::Millimetre => 50,
        }
    }

    /// Lines of the sleeve that count.
    pub(super) const fn lines_counted(self) -> u32 {
        self.lines
    }

    /// Whether a line is showing that does not count yet.
    pub const fn one_more_line(self) -> bool {
        self.one_more
    }

    /// All of it: `Sleeve shows 4 and one line. Thimble 23. Vernier 0.`
    pub fn says(self) -> String {
        let vernier = self.says_vernier().map(|says| format!(" {says}")).unwrap_or_default();
        format!("{}{vernier}", self.says_without_vernier())
    }

    /// Sleeve and thimble.
    pub fn says_without_vernier(self) -> String {
        let more = if self.one_more { " One more line is just showing at the edge of the thimble." } else { "" };
        let thimble = match (self.past_thimble, self.vernier) {
            (true, _) => format!("Thimble between {} and {}.", self.thimble, (self.thimble + 1) % self.divisions()),
            (false, _) => format!("Thimble {}.", self.thimble),
        };
        format!("Sleeve shows {}.{more} {thimble}", self.sleeve())
    }

    /// The vernier; nothing where there is none.
    pub fn says_vernier(self) -> Option<String> {
        let (line, past) = self.vernier?;
        Some(if past { format!("Vernier between {line} and {}.", (line + 1) % 10) } else { format!("Vernier {line}.") })
    }

    fn sleeve(self) -> String {
        match self.unit {
            Unit::Inch => match self.lines % 4 {
                0 => format!("{} and no line", self.lines / 4),
                n => format!("{} and {}", self.lines / 4, lines(n)),
            },
            Unit::Millimetre => {
                let whole = self.lines / 2;
                let after = match whole % 5 {
                    0 => String::new(),
                    n => format!(", {} after it", lines(n)),
                };
                let half = if self.lines.is_multiple_of(2) { "no half line" } else { "the half line" };
                format!("{}{after}, and {half}", whole - whole % 5)
            }
        }
    }
}

fn lines(n: u32) -> &'static str {
    match n {
        1 => "one line",
        2 => "two lines",
        3 => "three lines",
        _ => "four lines",
    }
}

#[cfg(test)]
mod tests {
    use gauge::scale::Scale;
    use units::read;

    use super::*;

    fn says(scale: Scale, size: &str, peep: i64) -> String {
        let size = read(size, scale.unit()).unwrap().length;
        Seen::new(Frame::usual(scale, size), size, Length::from_nm(peep)).unwrap().says()
    }

    #[test]
    fn what_is_seen_is_said() {
        assert_eq!(says(Scale::Tenth, "2.4480", 0), "Sleeve shows 4 and one line. Thimble 23. Vernier 0.");
        assert_eq!(
            says(Scale::Tenth, "2.4480", 25_400),
            "Sleeve shows 4 and one line. One more line is just showing at the edge of the thimble. Thimble 23. Vernier 0."
        );
        assert_eq!(says(Scale::Tenth, "2.4500", 25_400), "Sleeve shows 4 and two lines. Thimble 0. Vernier 0.");
        assert_eq!(says(Scale::Thou, "0.4915", 0), "Sleeve shows 4 and three lines. Thimble between 16 and 17.");
        assert_eq!(says(Scale::Thou, "2.44803", 0), "Sleeve shows 4 and one line. Thimble 23.");
        assert_eq!(
            says(Scale::Thou, "2.4497", 0),
            "Sleeve shows 4 and one line. One more line is just showing at the edge of the thimble. Thimble between 24 and 0."
        );
        assert_eq!(says(Scale::Hundredth, "62.68", 0), {
            "Sleeve shows 10, two lines after it, and the half line. Thimble 18."
        });
        assert_eq!(says(Scale::Micron, "55.183", 0), "Sleeve shows 5, and no half line. Thimble 18. Vernier 3.");
        // Fully open there is no line to come.
        assert!(!says(Scale::Thou, "1.0000", 76_200).contains("just showing"));
    }
}
