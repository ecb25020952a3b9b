//! Numbers as texts: which texts are numbers, and how JSON and TOML both write one.

use std::borrow::Cow;

/// Whether a text is a number as JSON writes it, and TOML too.
pub(crate) fn is_number(text: &str) -> bool {
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    let text = text.strip_prefix('-').unwrap_or(text);
    let (mantissa, exponent) = match text.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, Some(exponent.strip_prefix(['+', '-']).unwrap_or(exponent))),
        None => (text, None),
    };
    let (whole, fraction) = match mantissa.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (mantissa, None),
    };
    digits(whole)
        && (whole == "0" || !whole.starts_with('0'))
        && fraction.is_none_or(digits)
        && exponent.is_none_or(digits)
}

/// A number as it was typed, in the form that both notations have: without the sign and the separators that JSON lacks,
/// otherwise with every digit. A cell of a table may say `.5`, which neither has: that is written as the number it is.
/// Nothing for what is no number at all, such as `nan`.
pub(crate) fn plain(typed: &str) -> Option<Cow<'_, str>> {
    if is_number(typed) {
        return Some(Cow::Borrowed(typed));
    }
    let plain = typed.replace('_', "");
    let plain = plain.strip_prefix('+').unwrap_or(&plain);
    if is_number(plain) {
        return Some(Cow::Owned(plain.to_owned()));
    }
    let number: f64 = plain.parse().ok().filter(|number: &f64| number.is_finite())?;
    Some(Cow::Owned(number.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_keeps_its_digits_and_loses_what_json_has_not() {
        for (typed, written) in [
            ("2.1230", Some("2.1230")),
            ("+0.0010", Some("0.0010")),
            ("1_000", Some("1000")),
            ("-0", Some("-0")),
            ("1E+05", Some("1E+05")),
            ("1e999", Some("1e999")),
            (".5", Some("0.5")),
            ("-.5", Some("-0.5")),
            ("1.", Some("1")),
            ("007", Some("7")),
            ("nan", None),
            ("-inf", None),
            ("", None),
            ("1 2", None),
            ("1\"", None),
        ] {
            assert_eq!(plain(typed).as_deref(), written, "{typed}");
            assert!(plain(typed).is_none_or(|number| is_number(&number)), "{typed}");
        }
    }
}
