//! A set against the book: bigger than new, or everything a turn off.

use super::set::{Looked, book, deepest};
use super::stations::Journal;
use super::vote;
use super::{Group, Kind, Reading, Search, Suspicion, median, priors, words};

/// Standard deviations beyond which a reading is bigger than new beyond doubt: 1 in 30,000 by chance.
const BEYOND_DOUBT: f64 = 4.0;
/// A set whose largest reading is no further than this below an undersize's low limit was ground to it.
const LITTLE_WORN_MM: f64 = 0.05;
/// A set whose largest reading is further than this below every undersize fits none of them.
const FITS_NONE_MM: f64 = 0.075;

/// A set that stands so far outside everything that the book allows cannot be worn, or ground, to that: 0.3 mm (0.012 in)
/// below the deepest undersize, 0.1 mm (0.004 in) above new.
const FAR_BELOW_MM: f64 = 0.3;
const FAR_ABOVE_MM: f64 = 0.1;
/// As deep as a bearing that spun tears a journal: 2 mm, 0.080 in (common practice, no source).
const SPUN_MM: f64 = 2.0;
/// Undersizes that shops grind to though no list has them go this deep: 1.5 mm, about 0.060 in.
const DEEPEST_USUAL_MM: f64 = 1.53;

/// What the book says against the accepted readings.
pub(super) fn against(
    search: &Search,
    here: &Looked,
    book: &Group,
    accepted: &[Journal],
    others: &[&Looked],
) -> Vec<Suspicion> {
    let mut found = Vec::new();
    if let Some(all) = other_set(search, here, book, accepted, others) {
        return vec![all];
    }
    if let Some(low) = turn_low(search, here, book, accepted) {
        found.push(low);
    } else if let Some(other) = far_outside(book, accepted).then(|| engine(search, here, book, accepted)).flatten() {
        return vec![other];
    }
    let bigger: Vec<(usize, Vec<&Reading>, usize)> = accepted
        .iter()
        .map(|(group, readings)| {
            let over = readings.iter().filter(|r| r.mm - book.new_mm.1 > doubt(r, here.vote.spread_mm)).collect();
            (*group, over, readings.len())
        })
        .collect();
    let journals_over = bigger.iter().filter(|(_, over, of)| over.len() * 2 > *of).count();
    if accepted.len() > 1 && journals_over * 2 > accepted.len() {
        found.extend(set_bigger(search, here, book, accepted));
        return found;
    }
    for (group, over, of) in bigger.iter().filter(|(_, over, _)| !over.is_empty()) {
        if *of > 1 && over.len() == *of {
            found.extend(journal_bigger(search, here.set, book, *group, over));
        } else {
            found.extend(over.iter().map(|r| reading_bigger(search, here.set, book, r)));
        }
    }
    found
}

/// The middle of each journal.
fn middles(accepted: &[Journal]) -> Vec<f64> {
    accepted.iter().map(|(_, readings)| median(readings.iter().map(|r| r.mm))).collect()
}

/// Whether even the largest journal of a set is far below every undersize, listed or usual, or even the smallest is far
/// above new with no turn of the thimble to explain it.
fn far_outside(book: &Group, accepted: &[Journal]) -> bool {
    let middles = middles(accepted);
    let largest = middles.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let smallest = middles.iter().copied().fold(f64::INFINITY, f64::min);
    let turn = median(accepted.iter().flat_map(|j| &j.1).map(|r| r.turn_mm));
    let below = book.new_mm.0 - largest;
    let usual = (1..=6).any(|n| {
        let left = below - f64::from(n) * if (turn - 0.5).abs() < 1e-6 { 0.25 } else { 0.254 };
        (-LITTLE_WORN_MM..LITTLE_WORN_MM).contains(&left)
    });
    let deeper = below > deepest(book) + FAR_BELOW_MM && !(usual && below < DEEPEST_USUAL_MM + LITTLE_WORN_MM);
    let above = smallest > book.new_mm.1 + FAR_ABOVE_MM && a_turn_lower(book, median(middles), turn).is_none();
    !accepted.is_empty() && (deeper || above)
}

/// The question that stands before every other: is this the engine that the book describes?
pub(super) fn other_engine(
    search: &Search,
    here: &Looked,
    book: &Group,
    accepted: &[Journal],
    others: &[&Looked],
) -> Option<Suspicion> {
    other_set(search, here, book, accepted, others).or_else(|| engine(search, here, book, accepted))
}

fn engine(search: &Search, here: &Looked, book: &Group, accepted: &[Journal]) -> Option<Suspicion> {
    let first = accepted.first().and_then(|j| j.1.first())?;
    let middle = median(middles(accepted));
    let size = |mm: f64| search.size(mm, first.spot);
    // The difference of the two figures that stand beside it.
    let middle = search.as_shown_mm(middle, first.spot);
    let (by, side) = if middle < book.new_mm.0 {
        (size(book.new_mm.0 - middle), "below")
    } else {
        (size(middle - book.new_mm.1), "above")
    };
    let spun = if side == "below" && book.new_mm.0 - middle < SPUN_MM {
        " If it is, a bearing has spun here: no undersize is left, and metal has to be put on, where the maker permits that, or \
         another crank found."
    } else {
        ""
    };
    let says = format!(
        "{} and its set are about {}: {by} {side} the size when new, {} to {}, and no wear or undersize explains that. Is it \
         the right engine, the right unit and the right set? Settle that before anything else.{spun}",
        words::capital(&book.name),
        size(middle),
        size(book.new_mm.0),
        size(book.new_mm.1),
    );
    let kind = Kind::OtherEngine;
    Some(Suspicion { kind, set: here.set, group: None, spot: None, repeat: None, says, would_be_mm: None })
}

/// A whole set that stands where another set's book has its sizes, and not where its own has.
fn other_set(
    search: &Search,
    here: &Looked,
    own: &Group,
    accepted: &[Journal],
    others: &[&Looked],
) -> Option<Suspicion> {
    let first = accepted.first().and_then(|j| j.1.first())?;
    let middle = median(middles(accepted));
    let may_be = |book: &Group| middle > book.new_mm.0 - deepest(book) - FAR_BELOW_MM && middle < book.new_mm.1 + 0.05;
    if may_be(own) {
        return None;
    }
    let other = others.iter().filter_map(|other| book(search, other.set)).find(|book| may_be(book))?;
    let size = |mm: f64| search.size(mm, first.spot);
    let says = format!(
        "{} and its set are about {}, a size of {} and its set ({} to {} when new) and none of their own ({} to {}). Were the \
         two sets changed over? Settle that before anything else.",
        words::capital(&own.name),
        size(middle),
        other.name,
        size(other.new_mm.0),
        size(other.new_mm.1),
        size(own.new_mm.0),
        size(own.new_mm.1),
    );
    let kind = Kind::OtherSet;
    Some(Suspicion { kind, set: here.set, group: None, spot: None, repeat: None, says, would_be_mm: None })
}

/// A journal a turn below its set whose readings agree and fit a step of the ladder: it may have been ground further than its
/// siblings, which happens, and is only asked.
pub(super) fn own_step(search: &Search, here: &Looked, journal: &vote::Journal) -> Option<Suspicion> {
    let of = book(search, here.set)?;
    let first = journal.readings.first()?;
    let largest = journal.readings.iter().map(|r| r.mm).fold(f64::NEG_INFINITY, f64::max);
    let smallest = journal.readings.iter().map(|r| r.mm).fold(f64::INFINITY, f64::min);
    let doubt = (2.0 * first.doubt_mm).max(0.01);
    let fits = |step: &&f64| {
        let below = of.new_mm.0 - **step - largest;
        **step > 0.0 && largest <= of.new_mm.1 - **step + doubt && below <= LITTLE_WORN_MM
    };
    let step = of.ladder_mm.iter().filter(|u| u.is_finite()).find(fits)?;
    let agree = largest - smallest <= (4.0 * here.vote.spread_mm).max(LITTLE_WORN_MM);
    if !agree || here.vote.level_mm.is_some_and(|set| largest > set) {
        return None;
    }
    let says = format!(
        "All of {} stands near {}, which is {} under and {} of the thimble from the rest of its set. Was it ground further \
         than the others? Look for a mark on the web beside it; if there is none, read it again.",
        search.name(journal.group),
        search.size(journal.level_mm, first.spot),
        search.size(*step, first.spot),
        words::turns(journal.turned.0),
    );
    let (kind, group) = (Kind::Question, Some(journal.group));
    let would_be_mm = Some(journal.level_mm + f64::from(journal.turned.0) * first.turn_mm);
    Some(Suspicion { kind, set: here.set, group, spot: None, repeat: None, says, would_be_mm })
}

/// How far above new a reading must be: its own doubt and the usual spread of this set's readings, but never more
/// than a thou unless the instrument is that poor.
fn doubt(r: &Reading, spread: f64) -> f64 {
    let own = BEYOND_DOUBT * r.doubt_mm;
    (BEYOND_DOUBT * r.doubt_mm.hypot(spread)).min(priors::ABOVE_NEW_MM).max(own)
}

fn over_by(search: &Search, book: &Group, mm: f64, spot: usize) -> String {
    format!(
        "{} more than the largest new size, {}",
        search.size(mm - book.new_mm.1, spot),
        search.size(book.new_mm.1, spot)
    )
}

fn reading_bigger(search: &Search, set: usize, book: &Group, r: &Reading) -> Suspicion {
    let says = format!(
        "{} is {}. A journal cannot grow: read it again, and check the micrometer's zero.",
        search.reading(r),
        over_by(search, book, r.mm, r.spot),
    );
    search.about_reading(Kind::BiggerThanNew, set, r, says, a_turn_lower(book, r.mm, r.turn_mm))
}

fn journal_bigger(search: &Search, set: usize, book: &Group, group: usize, over: &[&Reading]) -> Option<Suspicion> {
    let first = over.first()?;
    let mm = median(over.iter().map(|r| r.mm));
    let says = format!(
        "All of {} is bigger than new: {} in the middle, {}. A journal cannot grow: check the micrometer's zero, or \
         whether it was built up.",
        search.name(group),
        search.size(mm, first.spot),
        over_by(search, book, mm, first.spot),
    );
    Some(Suspicion {
        kind: Kind::BiggerThanNew,
        set,
        group: Some(group),
        spot: None,
        repeat: None,
        says,
        would_be_mm: a_turn_lower(book, mm, first.turn_mm),
    })
}

fn set_bigger(search: &Search, here: &Looked, book: &Group, accepted: &[Journal]) -> Option<Suspicion> {
    let first = accepted.first().and_then(|j| j.1.first())?;
    let mm = median(accepted.iter().flat_map(|j| &j.1).map(|r| r.mm));
    let lower = a_turn_lower(book, mm, first.turn_mm);
    let turn = lower.map_or(String::new(), |mm| {
        format!(" One turn of the thimble lower would be {}, which would fit.", search.size(mm, first.spot))
    });
    let says = format!(
        "Most of the set of {} is bigger than new: {} in the middle, {}. Check the micrometer's zero, or the book \
         size.{turn}",
        book.name,
        search.size(mm, first.spot),
        over_by(search, book, mm, first.spot),
    );
    let kind = if lower.is_some() { Kind::SetTurnOff } else { Kind::BiggerThanNew };
    Some(Suspicion { kind, set: here.set, group: None, spot: None, repeat: None, says, would_be_mm: lower })
}

/// The size a turn lower, where that is one the book allows.
fn a_turn_lower(book: &Group, mm: f64, turn: f64) -> Option<f64> {
    let lower = mm - turn;
    let top = lower - book.new_mm.1;
    (turn > 0.0 && top <= priors::ABOVE_NEW_MM && lower > book.new_mm.0 - 0.3).then_some(lower)
}

/// The undersize a set with this largest size was last ground to, and how far below its low limit the largest now is.
fn ground_to(book: &Group, ladder: &[f64], largest: f64, doubt: f64) -> Option<(f64, f64)> {
    let fits = |u: &&f64| largest <= book.new_mm.1 - **u + doubt;
    let undersize = ladder.iter().filter(fits).copied().max_by(f64::total_cmp)?;
    Some((undersize, book.new_mm.0 - undersize - largest))
}

/// A set that stands a turn or more below where it would fit the list.
fn turn_low(search: &Search, here: &Looked, book: &Group, accepted: &[Journal]) -> Option<Suspicion> {
    let all: Vec<&Reading> = accepted.iter().flat_map(|j| &j.1).collect();
    let top = all.iter().max_by(|a, b| a.mm.total_cmp(&b.mm))?;
    let turn = median(all.iter().map(|r| r.turn_mm));
    if turn <= 0.0 {
        return None;
    }
    let doubt = (2.0 * top.doubt_mm).max(0.01);
    let mut ladder: Vec<f64> = book.ladder_mm.iter().copied().filter(|u| u.is_finite() && *u >= 0.0).collect();
    ladder.push(0.0);
    let (undersize, gap) = ground_to(book, &ladder, top.mm, doubt)?;
    let middle = median(all.iter().map(|r| r.mm));
    let (turns, alternative) = (1..=2).find_map(|k| {
        let moved = top.mm + f64::from(k) * turn;
        let (to, gap) = ground_to(book, &ladder, moved, doubt)?;
        (gap <= LITTLE_WORN_MM).then_some((k, to))
    })?;
    let would_be = middle + f64::from(turns) * turn;
    let size = |mm: f64| search.size(mm, top.spot);
    let name = if alternative.abs() < 1e-9 { "standard".to_owned() } else { format!("{} under", size(alternative)) };
    let ask = |says: String| Suspicion {
        kind: Kind::Question,
        set: here.set,
        group: None,
        spot: None,
        repeat: None,
        says,
        would_be_mm: Some(would_be),
    };
    let below = book.new_mm.0 - top.mm;
    let ground_before = format!(
        "The set of {} is about {} under, which is also {} of the thimble. Ground before? Look for a stamped mark.",
        book.name,
        size(if gap <= LITTLE_WORN_MM { undersize } else { below }),
        words::turns(turns),
    );
    if gap <= LITTLE_WORN_MM {
        // It fits as it stands: worth asking only where a turn away is the usual size, standard, or as good a fit.
        return ((undersize - alternative - f64::from(turns) * turn).abs() < 0.03).then(|| ask(ground_before));
    }
    if gap <= FITS_NONE_MM.max(3.0 * here.vote.spread_mm) {
        return None;
    }
    let usual = [0.25, 0.5, 0.75, 1.0].map(|mm| if (turn - 0.5).abs() < 1e-6 { mm } else { mm * 1.016 });
    let not_listed = usual.iter().any(|u| (top.mm - (book.new_mm.0 - u)).abs() < LITTLE_WORN_MM);
    if not_listed {
        return Some(ask(ground_before));
    }
    let says = format!(
        "The set of {} fits no undersize on the list: its largest reading, {}, is {} below the nearest it could have \
         been ground to. {} of the thimble higher would be {}, {name}. Read one again before grinding.",
        book.name,
        size(top.mm),
        size(gap),
        words::capital(&words::turns(turns)),
        size(top.mm + f64::from(turns) * turn),
    );
    let kind = if accepted.len() < 3 { Kind::Question } else { Kind::SetTurnOff };
    Some(Suspicion { kind, ..ask(says) })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pins of 63.98 to 64.00, a step of a quarter.
    fn book() -> Group {
        Group {
            name: "pin 1".to_owned(),
            set: 0,
            new_mm: (63.98, 64.00),
            ladder_mm: vec![0.0, 0.25],
            out_of_round_mm: None,
            taper_mm: None,
        }
    }

    /// A largest of 63.70 was ground to a quarter under, which is 63.73 at the least: it lost 0.03 since. One of 63.755 is above
    /// the 63.75 of that step, and belongs to it only where 0.01 is in doubt; else it lost 0.225 from standard.
    #[test]
    fn what_is_gone_counts_from_the_least_size_of_its_step() {
        for (largest_mm, doubt_mm, step_mm, gone_mm) in [
            (63.70, 0.0, 0.25, 0.03),
            (63.755, 0.01, 0.25, -0.025),
            (63.755, 0.0, 0.0, 0.225),
            (63.99, 0.0, 0.0, -0.01),
        ] {
            let (step, gone) = ground_to(&book(), &book().ladder_mm, largest_mm, doubt_mm).expect("a step");
            assert!((step - step_mm).abs() < 1e-9 && (gone - gone_mm).abs() < 1e-9, "{largest_mm}: {step}, {gone}");
        }
        assert_eq!(ground_to(&book(), &book().ladder_mm, 64.02, 0.01), None, "larger than new");
    }

    /// By hand: a doubt of 0.003 beside a spread of 0.004 are 0.005 together, four times that 0.02. Never more than a thou (0.025),
    /// unless four times its own doubt is.
    #[test]
    fn bigger_than_new_is_beyond_doubt_and_spread() {
        let reading = |doubt_mm: f64| Reading { group: 0, spot: 0, repeat: 0, mm: 64.1, turn_mm: 0.5, doubt_mm };
        for (own_mm, spread_mm, wanted_mm) in [(0.003, 0.004, 0.020), (0.003, 0.040, 0.025), (0.010, 0.001, 0.040)] {
            assert!((doubt(&reading(own_mm), spread_mm) - wanted_mm).abs() < 1e-12, "{own_mm} and {spread_mm}");
        }
    }

    /// The middle of an even number lies between the two in the middle.
    #[test]
    fn the_middle_of_four_is_between_two() {
        assert_eq!((median([10.0, 1.0, 3.0, 2.0]), median([3.0, 1.0, 2.0]), median([])), (2.5, 2.0, 0.0));
    }
}
