//! Moments and days as the pages tell them.

use jiff::{SignedDuration, Timestamp, tz::TimeZone};
pub(crate) use job::wording::{OldWay, count};
pub(crate) use say::{Words, capital};

/// The words of a shop.
pub(crate) fn words_of(shop: &shop::Shop) -> Words {
    Words::of_setting(shop.setting("words"))
}

/// The time of day of a moment in the record, by this computer's clock: `14:02`; with the day where it is not today.
pub(crate) fn clock(when: &str) -> String {
    let Ok(moment) = when.parse::<Timestamp>() else { return when.to_owned() };
    let here = moment.to_zoned_datetime(TimeZone::system());
    let today = Timestamp::now().to_zoned_datetime(TimeZone::system()).date();
    if here.date() == today {
        here.strftime("%H:%M").to_string()
    } else {
        here.strftime("%-d %b %Y, %H:%M").to_string()
    }
}

/// A moment with its day, for paper: `25 Nov 2026, 14:02`.
pub(crate) fn full_clock(when: &str) -> String {
    let Ok(moment) = when.parse::<Timestamp>() else { return when.to_owned() };
    moment.to_zoned_datetime(TimeZone::system()).strftime("%-d %b %Y, %H:%M").to_string()
}

/// The day of a moment in the record: `25 Nov 2026`.
pub(crate) fn day(when: &str) -> String {
    if let Ok(date) = when.parse::<jiff::civil::Date>() {
        return date.strftime("%-d %b %Y").to_string();
    }
    let Ok(moment) = when.parse::<Timestamp>() else { return when.to_owned() };
    moment.to_zoned_datetime(TimeZone::system()).strftime("%-d %b %Y").to_string()
}

/// The day it is today, by this computer's clock.
pub(crate) fn today() -> jiff::civil::Date {
    Timestamp::now().to_zoned_datetime(TimeZone::system()).date()
}

/// How long ago a moment was: `just now`, `20 minutes`, `3 hours`, `5 days`. A moment yet to come counts as now.
pub(crate) fn how_long(when: &str) -> String {
    let Ok(moment) = when.parse::<Timestamp>() else { return String::new() };
    let passed = Timestamp::now().duration_since(moment).max(SignedDuration::ZERO);
    let minutes = usize::try_from(passed.as_mins()).unwrap_or(0);
    match minutes {
        0..=1 => "just now".to_owned(),
        2..=119 => count(minutes, "minute"),
        120..=2879 => count(minutes / 60, "hour"),
        _ => count(minutes / 1440, "day"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_told_as_people_tell_them() {
        let ago = |minutes: i64| (Timestamp::now() - SignedDuration::from_mins(minutes)).to_string();
        assert_eq!(how_long(&ago(0)), "just now");
        assert_eq!(how_long(&ago(-60)), "just now");
        assert_eq!(how_long(&ago(45)), "45 minutes");
        assert_eq!(how_long(&ago(60 * 50)), "2 days");
        assert_eq!(how_long("yesterday"), "");
    }
}
