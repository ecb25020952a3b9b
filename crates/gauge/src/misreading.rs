//! How a micrometer was misread, told from what it showed and what was read.

use units::{Length, Unit};

use crate::scale::{Frame, Scale, Setting};

/// The sort of a misreading. Of several that give the same figure the commonest is named.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Misreading {
    /// A line of the sleeve was counted that does not count yet (or several): so many turns too many.
    TurnsTooMany(u32),
    /// A line of the sleeve was not counted: so many turns too few.
    TurnsTooFew(u32),
    /// The half-millimetre line was showing and was not counted.
    HalfLineMissed,
    /// Another number of the sleeve (inch), or whole lines too many or too few (metric).
    SleeveNumber,
    /// Another frame: whole inches, or 25 mm.
    FrameOff,
    /// The thimble was counted downwards, from the number on the wrong side of the index line.
    ThimbleFromWrongSide,
    /// The division just above the index line was read for the one at or under it, or the one below that.
    NextDivision,
    /// Only the line of the vernier is another.
    VernierDigit,
    /// Two neighbouring digits changed places.
    DigitsSwapped,
    /// The point stands in another place.
    PointMoved,
    /// None of these.
    Other,
}

/// What sort of misreading turns `right` into `read`; nothing where they are the same.
///
/// # Limits
/// It goes by the figures alone: who swapped two digits and landed a turn away is told of the turn.
/// # Example
/// ```
/// use gauge::misreading::{Misreading, misreading};
/// use gauge::scale::{Frame, Scale};
/// use units::{Unit, read};
/// let size = |typed: &str| read(typed, Unit::Inch).unwrap().length;
/// let frame = Frame::usual(Scale::Tenth, size("2.4480"));
/// assert_eq!(misreading(frame, size("2.4480"), size("2.4730")), Some(Misreading::TurnsTooMany(1)));
/// assert_eq!(misreading(frame, size("2.4480"), size("2.4480")), None);
/// ```
pub fn misreading(frame: Frame, right: Length, read: Length) -> Option<Misreading> {
    if read == right {
        return None;
    }
    let scale = frame.scale();
    let off = read - right;
    let setting = frame.nearest(right).ok().map(|(setting, _)| setting);
    let whole = |of: Length| (off.nm() % of.nm() == 0).then(|| off.nm() / of.nm());
    if whole(scale.travel()).is_some() {
        return Some(Misreading::FrameOff);
    }
    if whole(scale.figure()).is_some() {
        return Some(Misreading::SleeveNumber);
    }
    if let Some(turns) = whole(scale.turn()) {
        let count = u32::try_from(turns.unsigned_abs()).unwrap_or(u32::MAX);
        let half_line = scale.unit() == Unit::Millimetre && setting.is_some_and(|setting| setting.lines == 1);
        return Some(match (turns > 0, count) {
            _ if count > 3 => Misreading::Other,
            (true, _) => Misreading::TurnsTooMany(count),
            (false, 1) if half_line => Misreading::HalfLineMissed,
            (false, _) => Misreading::TurnsTooFew(count),
        });
    }
    let other = frame.nearest(read).ok().filter(|(_, off)| *off == Length::ZERO).map(|(setting, _)| setting);
    if let (Some(right), Some(other)) = (setting, other)
        && let Some(found) = on_the_thimble(scale, right, other)
    {
        return Some(found);
    }
    if off.nm().abs() == scale.division().nm() {
        return Some(Misreading::NextDivision);
    }
    if swapped(frame, right, read) {
        return Some(Misreading::DigitsSwapped);
    }
    let tens = [10, 100, 1000];
    let moved = |ten: i64| read.nm() == right.nm().saturating_mul(ten) || right.nm() == read.nm().saturating_mul(ten);
    Some(if tens.into_iter().any(moved) { Misreading::PointMoved } else { Misreading::Other })
}

/// Where the sleeve was read rightly: what is wrong with thimble or vernier.
fn on_the_thimble(scale: Scale, right: Setting, other: Setting) -> Option<Misreading> {
    if (right.sleeve, right.lines) != (other.sleeve, other.lines) {
        return None;
    }
    if right.thimble == other.thimble {
        return Some(Misreading::VernierDigit);
    }
    if right.vernier != other.vernier {
        return None;
    }
    if right.thimble.abs_diff(other.thimble) == 1 {
        return Some(Misreading::NextDivision);
    }
    // Every fifth division has a number. Counted from the one above as if numbers rose downwards, 18 is 20 and 2 more;
    // from the one below, 15 less 3; from nought, all the way round.
    let (below, above) = (right.thimble / 5 * 5, right.thimble.next_multiple_of(5));
    let mirrored = [(2 * above).checked_sub(right.thimble), (2 * below).checked_sub(right.thimble), {
        scale.divisions().checked_sub(right.thimble)
    }];
    mirrored.contains(&Some(other.thimble)).then_some(Misreading::ThimbleFromWrongSide)
}

/// Whether the figures differ by two neighbouring digits that changed places.
fn swapped(frame: Frame, right: Length, read: Length) -> bool {
    let scale = frame.scale();
    let decimals = units::digits_for(scale.graduation().mm(), scale.unit());
    let digits =
        |size: Length| size.show(scale.unit(), decimals).bytes().filter(u8::is_ascii_digit).collect::<Vec<_>>();
    let (right, read) = (digits(right), digits(read));
    (1..right.len()).any(|at| {
        let mut other = right.clone();
        other.swap(at - 1, at);
        other == read && other != right
    })
}

impl Misreading {
    /// Whether it is whole turns of the thimble.
    pub const fn is_turns(self) -> bool {
        matches!(self, Misreading::TurnsTooMany(_) | Misreading::TurnsTooFew(_) | Misreading::HalfLineMissed)
    }

    /// What it was, to stand in a sentence: `one turn too many`.
    pub fn name(self) -> String {
        match self {
            Misreading::TurnsTooMany(count) => format!("{} too many", turns(count)),
            Misreading::TurnsTooFew(count) => format!("{} too few", turns(count)),
            Misreading::HalfLineMissed => "a half line missed".to_owned(),
            Misreading::SleeveNumber => "another number of the sleeve".to_owned(),
            Misreading::FrameOff => "another frame".to_owned(),
            Misreading::ThimbleFromWrongSide => "the thimble counted downwards".to_owned(),
            Misreading::NextDivision => "one division of the thimble out".to_owned(),
            Misreading::VernierDigit => "another line of the vernier".to_owned(),
            Misreading::DigitsSwapped => "two digits changed over".to_owned(),
            Misreading::PointMoved => "the point in another place".to_owned(),
            Misreading::Other => "something else".to_owned(),
        }
    }

    /// How it came about and what to look at, in sentences.
    pub fn says(self, scale: Scale) -> String {
        let unit = scale.unit();
        let by = |count: u32| {
            let decimals = if unit == Unit::Inch { 3 } else { 1 };
            format!("{} {unit}", Length::from_nm(scale.turn().nm() * i64::from(count)).show(unit, decimals))
        };
        match self {
            Misreading::TurnsTooMany(1) => {
                format!("You counted a line that was not yet there: one turn too many ({}).", by(1))
            }
            Misreading::TurnsTooMany(count) => {
                format!("You counted lines that were not there: {} too many ({}).", turns(count), by(count))
            }
            Misreading::TurnsTooFew(count) => {
                let left = if count == 1 { "A line was left out" } else { "Lines were left out" };
                format!("{left}: {} too few ({}). Count the lines after the last number again.", turns(count), by(count))
            }
            Misreading::HalfLineMissed => {
                "The half-millimetre line was showing and was left out: one turn too few (0.5 mm).".to_owned()
            }
            Misreading::SleeveNumber if unit == Unit::Inch => {
                "The sleeve has another last number: whole tenths of an inch are out.".to_owned()
            }
            Misreading::SleeveNumber => "The whole millimetres are out: count the lines after the last number.".to_owned(),
            Misreading::FrameOff => "The frame is another: its lower limit stands before what the sleeve shows.".to_owned(),
            Misreading::ThimbleFromWrongSide => {
                "The thimble was counted from the wrong side. Its numbers rise upwards: begin at the number under the index \
                 line and count up."
                    .to_owned()
            }
            Misreading::NextDivision => {
                "The thimble is one division out. Where the index line stands between two, the lower one counts.".to_owned()
            }
            Misreading::VernierDigit => {
                "Another line of the vernier. Only one meets a line of the thimble; its neighbours miss by as much on either \
                 side."
                    .to_owned()
            }
            Misreading::DigitsSwapped => "Two digits changed places between eye and hand.".to_owned(),
            Misreading::PointMoved => "The digits are right; the point stands in another place.".to_owned(),
            Misreading::Other => "Add it up again: last number, lines, thimble, vernier.".to_owned(),
        }
    }
}

fn turns(count: u32) -> String {
    match count {
        1 => "one turn".to_owned(),
        2 => "two turns".to_owned(),
        3 => "three turns".to_owned(),
        n => format!("{n} turns"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(scale: Scale, right: &str, given: &str) -> Option<Misreading> {
        let size = |typed: &str| units::read(typed, scale.unit()).unwrap().length;
        misreading(Frame::usual(scale, size(right)), size(right), size(given))
    }

    /// Worked by hand: 2.4480 is sleeve 4, one line, thimble 23, vernier 0; 62.68 is sleeve 12, half line, thimble 18.
    #[test]
    fn each_kind_is_known_by_its_figures() {
        use Misreading::*;
        for (scale, right, given, expected) in [
            (Scale::Tenth, "2.4480", "2.4480", None),
            (Scale::Tenth, "2.4480", "2.4730", Some(TurnsTooMany(1))),
            (Scale::Tenth, "2.4480", "2.4230", Some(TurnsTooFew(1))),
            (Scale::Tenth, "2.4480", "2.4980", Some(TurnsTooMany(2))),
            (Scale::Tenth, "2.4480", "2.5480", Some(SleeveNumber)),
            (Scale::Tenth, "2.4480", "3.4480", Some(FrameOff)),
            (Scale::Tenth, "2.4480", "2.4485", Some(VernierDigit)),
            (Scale::Tenth, "2.4480", "2.4470", Some(NextDivision)),
            // The line above: 24 for 23, and past the top of the thimble: 25 for 24.
            (Scale::Tenth, "2.4483", "2.4493", Some(NextDivision)),
            (Scale::Tenth, "2.4493", "2.4503", Some(NextDivision)),
            // 18 read as 22, as 12, and as 7: counted down from 20, from 15, from nought.
            (Scale::Thou, "2.443", "2.447", Some(ThimbleFromWrongSide)),
            (Scale::Thou, "2.443", "2.437", Some(ThimbleFromWrongSide)),
            (Scale::Thou, "2.443", "2.432", Some(ThimbleFromWrongSide)),
            (Scale::Tenth, "2.4359", "2.4395", Some(DigitsSwapped)),
            (Scale::Tenth, "2.4480", "24.4800", Some(PointMoved)),
            (Scale::Tenth, "2.4480", "2.4612", Some(Other)),
            (Scale::Hundredth, "62.68", "62.18", Some(HalfLineMissed)),
            (Scale::Hundredth, "62.18", "62.68", Some(TurnsTooMany(1))),
            (Scale::Hundredth, "62.18", "61.68", Some(TurnsTooFew(1))),
            (Scale::Hundredth, "62.68", "63.68", Some(SleeveNumber)),
            (Scale::Micron, "62.683", "62.684", Some(VernierDigit)),
        ] {
            assert_eq!(kind(scale, right, given), expected, "{right} read as {given}");
        }
    }

    #[test]
    fn each_kind_is_explained() {
        assert_eq!(
            Misreading::TurnsTooMany(1).says(Scale::Tenth),
            "You counted a line that was not yet there: one turn too many (0.025 in)."
        );
        assert_eq!(
            Misreading::TurnsTooFew(2).says(Scale::Hundredth),
            "Lines were left out: two turns too few (1.0 mm). Count the lines after the last number again."
        );
        assert!(Misreading::HalfLineMissed.is_turns() && !Misreading::VernierDigit.is_turns());
    }
}
