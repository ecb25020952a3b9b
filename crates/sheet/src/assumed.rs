//! What is taken for granted about what nobody measured, where a sheet says otherwise.

use document::Problems;
use regrind::Assumed;
use units::Unit;

use crate::table::{Field, Table, spelt};

/// Lengths from here up are slips of the point: 0.1 in.
const BELOW_MM: f64 = 2.54;

/// Reads `[assumed]`; what it does not name stays as usual.
pub(crate) fn assumed(root: &mut Table<'_>, unit: Unit, problems: &mut Problems) -> Assumed {
    let mut assumed = Assumed::default();
    let Some(mut table) = root.take("assumed").and_then(|f| f.table(problems)) else { return assumed };
    for (key, value) in [
        ("level", &mut assumed.level_mm),
        ("hidden_form", &mut assumed.hidden_radius_mm),
        ("wrecked_by", &mut assumed.wrecked_mm),
        ("bow", &mut assumed.bow_radius_mm),
        ("off_bow", &mut assumed.off_bow_radius_mm),
        ("off_known_bow", &mut assumed.off_known_bow_radius_mm),
        ("pin_centre", &mut assumed.pin_centre_radius_mm),
    ] {
        let Some(field) = table.take(key) else { continue };
        let advice = format!("look at the point; a bare number is in {}", spelt(unit));
        let expected = "more than 0, below 0.1 in (2.54 mm)";
        if let Some(entry) = field.length_where(unit, |mm| mm > 0.0 && mm < BELOW_MM, expected, &advice, problems) {
            *value = entry.mm;
        }
    }
    for (key, value) in [
        ("level_spread", &mut assumed.level_spread),
        ("journals_spread", &mut assumed.journals_spread),
        ("journals_worth", &mut assumed.journals_worth),
        ("oval_worth", &mut assumed.oval_worth),
        ("taper", &mut assumed.taper),
        ("barrel", &mut assumed.barrel),
        ("oval_taper", &mut assumed.oval_taper),
        ("bow_spread", &mut assumed.bow_spread),
        ("hidden_share", &mut assumed.hidden_share),
    ] {
        let Some(field) = table.take(key) else { continue };
        let expected = "a bare number from 0.001 to 100";
        let advice = "a spread of 0.45 means that two in three lie within 0.45 either way";
        if let Some(number) = field.number(|n| (0.001..=100.0).contains(&n), expected, advice, problems) {
            *value = number;
        }
    }
    for (key, value) in [
        ("narrow_share", &mut assumed.narrow_share),
        ("in_line_share", &mut assumed.in_line_share),
        ("common_share", &mut assumed.common_share),
        ("other_step", &mut assumed.other_step),
        ("wrecked_share", &mut assumed.wrecked_share),
    ] {
        let Some(field) = table.take(key) else { continue };
        let expected = "a share from 0 to 1";
        if let Some(share) = field.number(|n| (0.0..=1.0).contains(&n), expected, "write one in ten as 0.1", problems) {
            *value = share;
        }
    }
    for (key, value) in
        [("in_line_spread", &mut assumed.in_line_spread_deg), ("common_spread", &mut assumed.common_spread_deg)]
    {
        let Some(field) = table.take(key) else { continue };
        let expected = "degrees from 1 to 90";
        if let Some(deg) = field.number(|n| (1.0..=90.0).contains(&n), expected, "write it in degrees", problems) {
            *value = deg;
        }
    }
    if let Some(field) = table.take("stamp_odds") {
        let expected = "how many times likelier, from 1 to 10000";
        let odds =
            field.number(|n| (1.0..=10_000.0).contains(&n), expected, "1 means that stamps tell nothing", problems);
        assumed.stamp_odds = odds.unwrap_or(assumed.stamp_odds);
    }
    if let Some(field) = table.take("one_sided")
        && let Some((from, to)) = share_range(&field, problems)
    {
        (assumed.one_sided_from, assumed.one_sided_to) = (from, to);
    }
    for (key, value) in [("oval_mains", &mut assumed.oval_mains), ("oval_pins", &mut assumed.oval_pins)] {
        if let Some(shares) = table.take(key).and_then(|field| five_shares(&field, problems)) {
            *value = shares;
        }
    }
    table.finish(problems);
    assumed
}

/// From which to which share the worse side has lost of an oval.
fn share_range(field: &Field<'_>, problems: &mut Problems) -> Option<(f64, f64)> {
    let expected = "two shares from 0.5 to 1, the smaller first";
    let advice = "write any share as [0.5, 1.0], a known one as [0.8, 0.8]";
    let items = field.list(expected, problems)?;
    let shares: Vec<f64> =
        items.iter().filter_map(|f| f.number(|n| (0.5..=1.0).contains(&n), expected, advice, problems)).collect();
    match shares.as_slice() {
        [from, to] if from <= to => Some((*from, *to)),
        _ if shares.len() == items.len() => {
            field.refuse(problems, expected, advice);
            None
        }
        _ => None,
    }
}

/// How common each of five oval parts is; the shares are brought to a sum of one.
fn five_shares(field: &Field<'_>, problems: &mut Problems) -> Option<[f64; 5]> {
    let expected = "five shares of 0 or more: how often 6, 20, 45, 70 and 92 in 100 of the wear are oval";
    let advice = "write them as [0.15, 0.30, 0.30, 0.15, 0.10]";
    let items = field.list(expected, problems)?;
    let shares: Vec<f64> =
        items.iter().filter_map(|f| f.number(|n| (0.0..=1000.0).contains(&n), expected, advice, problems)).collect();
    let sum: f64 = shares.iter().sum();
    match <[f64; 5]>::try_from(shares.as_slice()) {
        Ok(five) if sum > 0.0 => Some(five.map(|share| share / sum)),
        _ if shares.len() == items.len() => {
            field.refuse(problems, expected, advice);
            None
        }
        _ => None,
    }
}
