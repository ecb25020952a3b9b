//! The languages that there are.

use std::fmt;
use std::str::FromStr;

/// A language that everything can be said in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Tongue {
    /// As a British shop speaks: crankpin, end float, 20 °C. What another language has no message for is said so.
    #[default]
    BritishEnglish,
    /// As an American shop speaks: rod journal, end play, 68 °F.
    AmericanEnglish,
    /// German.
    German,
    /// Spanish, as in Spain.
    Spanish,
}

impl Tongue {
    /// All of them.
    pub const ALL: [Tongue; 4] = [Tongue::BritishEnglish, Tongue::AmericanEnglish, Tongue::German, Tongue::Spanish];

    /// Its tag by BCP 47, which is also the name of its folder.
    pub const fn tag(self) -> &'static str {
        match self {
            Tongue::BritishEnglish => "en-GB",
            Tongue::AmericanEnglish => "en-US",
            Tongue::German => "de",
            Tongue::Spanish => "es",
        }
    }

    /// Whether sizes have a comma where English has a point.
    pub(crate) const fn has_comma(self) -> bool {
        matches!(self, Tongue::German | Tongue::Spanish)
    }
}

impl fmt::Display for Tongue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.tag())
    }
}

/// A tag that stands for none of the languages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoTongue;

impl fmt::Display for NoTongue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("write en-GB, en-US, de or es")
    }
}

impl std::error::Error for NoTongue {}

/// A tag, in large or small letters.
impl FromStr for Tongue {
    type Err = NoTongue;
    fn from_str(tag: &str) -> Result<Tongue, NoTongue> {
        Tongue::ALL.into_iter().find(|tongue| tongue.tag().eq_ignore_ascii_case(tag.trim())).ok_or(NoTongue)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_language_is_known_by_its_tag_however_it_is_written() {
        for tongue in Tongue::ALL {
            assert_eq!(tongue.tag().parse(), Ok(tongue));
            assert_eq!(tongue.tag().to_uppercase().parse(), Ok(tongue));
        }
        for wrong in ["", "en", "fr", "de-AT", "German"] {
            assert_eq!(wrong.parse::<Tongue>(), Err(NoTongue), "{wrong}");
        }
    }
}
