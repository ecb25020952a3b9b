//! One set judged: the comparison's figures turned into suspicions with their evidence.

use std::collections::BTreeMap;

use super::gross::{Explanation, explain, other_set};
use super::shape::{self, Part, Shapes};
use super::stations;
use super::vote::{Explained, Journal, Vote, vote};
use super::{Group, Kind, Reading, Search, Suspicion, coarse, median, micrometers, odd, priors, words};

/// A reading is named when the chance that it is wrong reaches this.
const NAMED: f64 = 0.8;

/// One set after the comparison.
pub(super) struct Looked {
    pub(super) set: usize,
    pub(super) vote: Vote,
    /// Readings too far from the book to be compared.
    far: Vec<Reading>,
    /// Most readings are nowhere near the book, and agree among themselves.
    book_doubtful: bool,
}

pub(super) fn book<'a>(search: &'a Search, set: usize) -> Option<&'a Group> {
    let usable = |g: &&Group| g.new_mm.0.is_finite() && g.new_mm.1.is_finite() && g.new_mm.0 > 0.0;
    search.groups.iter().filter(|g| g.set == set).find(usable)
}

pub(super) fn deepest(group: &Group) -> f64 {
    group.ladder_mm.iter().copied().filter(|u| u.is_finite()).fold(0.0, f64::max)
}

/// Puts aside what is far out, and compares the rest.
pub(super) fn look(search: &Search, set: usize, readings: Vec<Reading>) -> Looked {
    /// Four turns of an inch thimble and a little.
    const REACH_MM: f64 = 2.7;
    let book = book(search, set);
    let centre = median(readings.iter().map(|r| r.mm));
    let window = book.map_or((centre - REACH_MM, centre + REACH_MM), |g| {
        (g.new_mm.0 - deepest(g) - REACH_MM, g.new_mm.1 + REACH_MM)
    });
    let inside = |r: &Reading, w: (f64, f64)| r.mm > w.0 && r.mm < w.1;
    let mostly_far = readings.iter().filter(|r| !inside(r, window)).count() * 2 > readings.len();
    let fits = |mm: f64| book.is_some_and(|g| mm > g.new_mm.0 - deepest(g) - 0.3 && mm < g.new_mm.1 + 0.05);
    let explained = |r: &Reading| explain(search, r, &fits, &[]).is_some();
    let book_doubtful = mostly_far && readings.iter().filter(|r| explained(r)).count() * 2 <= readings.len();
    let window = if book_doubtful { (centre - REACH_MM, centre + REACH_MM) } else { window };
    let (near, far): (Vec<Reading>, Vec<Reading>) = readings.into_iter().partition(|r| inside(r, window));
    Looked { set, vote: vote(near, book.filter(|_| !book_doubtful)), far, book_doubtful }
}

/// All suspicions about a set.
pub(super) fn judge(search: &Search, here: &Looked, others: &[&Looked]) -> Vec<Suspicion> {
    let mut found = far_out(search, here, others);
    let mut accepted: Vec<stations::Journal> = Vec::new();
    for journal in &here.vote.journals {
        let (mut suspicions, good) = judge_journal(search, here, journal, others);
        found.append(&mut suspicions);
        if !good.is_empty() {
            accepted.push((journal.group, good));
        }
    }
    found.extend(stations::spread(search, here.set, &accepted));
    found.extend(stations::pattern(search, here.set, &accepted));
    found.extend(shapes(search, here, &accepted));
    if let Some(book) = book(search, here.set) {
        if here.book_doubtful {
            found.extend(super::book::other_engine(search, here, book, &accepted, others));
        } else {
            found.extend(super::book::against(search, here, book, &accepted, others));
        }
    }
    found.extend(coarse::too_coarse(search, here.set));
    once(found)
}

/// One remark for each reading that is both odd and bigger than new: the one that says what it would be, or else that no
/// journal grows.
fn once(found: Vec<Suspicion>) -> Vec<Suspicion> {
    let about = |f: &Suspicion| f.spot.map(|spot| (spot, f.repeat));
    let told = |of: &Suspicion, by: fn(&Suspicion) -> bool| found.iter().any(|f| by(f) && about(f) == about(of));
    let kept: Vec<bool> = found
        .iter()
        .map(|f| match f.kind {
            _ if f.spot.is_none() => true,
            Kind::BiggerThanNew => {
                !told(f, |f| matches!(f.kind, Kind::OddReading | Kind::Mistyped) && f.would_be_mm.is_some())
            }
            Kind::OddReading => f.would_be_mm.is_some() || !told(f, |f| f.kind == Kind::BiggerThanNew),
            _ => true,
        })
        .collect();
    found.into_iter().zip(kept).filter(|(_, kept)| *kept).map(|(f, _)| f).collect()
}

/// What the shapes of the accepted journals say: micrometers that disagree, then what is odd when their offsets are off.
fn shapes(search: &Search, here: &Looked, accepted: &[stations::Journal]) -> Vec<Suspicion> {
    let set = here.set;
    let mut shifted = None;
    if accepted.iter().map(|(_, readings)| readings.len()).sum::<usize>() < here.vote.count() {
        // The readings of a shifted row may be among those that were accused one by one.
        let all = here.vote.journals.iter().map(|journal| (journal.group, journal.readings.as_slice()));
        let all = Shapes::new(shape::parts(search.spots, all));
        shifted = odd::shifted_row(search, set, &all, &odd::table(&all));
    }
    let as_read = shape::parts(search.spots, accepted.iter().map(|(group, readings)| (*group, readings.as_slice())));
    let mut parts = as_read.clone();
    let mut found = odd_ones(search, set, &mut parts);
    if found.iter().all(|f| f.kind != Kind::ShiftedRow) {
        found.extend(shifted);
    }
    if !micrometers::several(search, &parts) {
        return found;
    }
    let disagreements = micrometers::disagreements(search, &parts);
    if disagreements.is_empty() {
        return found;
    }
    // One micrometer's error is not to make its readings look like so many slips.
    let offsets = disagreements.iter().map(|one| (one.with.clone(), one.offset_mm)).collect();
    let mut level = micrometers::without(search, &as_read, &offsets);
    let spot = level.iter().flat_map(|part| &part.readings).next().map_or(0, |r| r.spot);
    found = odd_ones(search, set, &mut level);
    found.extend(disagreements.iter().map(|of| micrometers::says(search, set, spot, of)));
    found
}

/// Whatever is odd about single places; what is accused is taken out of `parts`.
fn odd_ones(search: &Search, set: usize, parts: &mut [Part]) -> Vec<Suspicion> {
    let mut shapes = Shapes::new(parts.to_vec());
    let table = odd::table(&shapes);
    let mut found: Vec<Suspicion> = odd::shifted_row(search, set, &shapes, &table).into_iter().collect();
    if found.is_empty() {
        found.extend(odd::changed_over(search, set, &shapes, &table, parts));
        if !found.is_empty() {
            shapes = Shapes::new(parts.to_vec());
        }
    }
    found.extend(stations::swapped(search, set, &shapes));
    found.extend(odd::readings(search, set, parts, &shapes));
    found.extend(stations::repeats(search, set, parts));
    found
}

/// What a reading of this set may well be.
fn fits_set(search: &Search, here: &Looked, mm: f64) -> bool {
    let voters: usize = here.vote.journals.iter().map(|j| j.readings.len()).sum();
    match here.vote.level_mm.filter(|_| voters >= 3 && voters >= here.far.len()) {
        Some(level) => mm > level - 0.35 && mm < level + 0.15,
        None => book(search, here.set)
            .is_some_and(|g| mm > g.new_mm.0 - deepest(g) - 0.3 && mm < g.new_mm.1 + priors::ABOVE_NEW_MM),
    }
}

fn far_out(search: &Search, here: &Looked, others: &[&Looked]) -> Vec<Suspicion> {
    let fits = |mm: f64| fits_set(search, here, mm);
    let why: Vec<(&Reading, Option<Explanation>)> =
        here.far.iter().map(|r| (r, explain(search, r, &fits, others))).collect();
    if here.vote.journals.is_empty()
        && let Some(all) = shared(search, here.set, &why, "this set")
    {
        return vec![all];
    }
    let mut found = Vec::new();
    let mut by_journal: BTreeMap<usize, Vec<(&Reading, Option<Explanation>)>> = BTreeMap::new();
    for of in why {
        by_journal.entry(of.0.group).or_default().push(of);
    }
    for (group, why) in by_journal {
        let alone = here.vote.journals.iter().all(|j| j.group != group);
        match shared(search, here.set, &why, search.name(group)).filter(|_| alone) {
            Some(all) => found.push(Suspicion { group: Some(group), ..all }),
            None => found.extend(why.into_iter().map(|(reading, e)| far_reading(search, here.set, reading, e))),
        }
    }
    found
}

/// One remark for several readings that are far out in the same way.
fn shared(search: &Search, set: usize, why: &[(&Reading, Option<Explanation>)], whose: &str) -> Option<Suspicion> {
    let (reading, first) = why.first()?;
    let first = first.as_ref()?;
    if why.len() < 2 || why.iter().any(|(_, e)| e.as_ref().is_none_or(|e| e.kind != first.kind)) {
        return None;
    }
    let says = format!(
        "All {} readings of {whose} are alike in this: {} {}.",
        words::number(why.len()),
        search.reading(reading),
        first.why.trim_end_matches(['.', '?']),
    );
    let would_be = median(why.iter().filter_map(|(_, e)| e.as_ref().map(|e| e.would_be_mm)));
    Some(Suspicion { kind: first.kind, set, group: None, spot: None, repeat: None, says, would_be_mm: Some(would_be) })
}

fn far_reading(search: &Search, set: usize, reading: &Reading, explanation: Option<Explanation>) -> Suspicion {
    let size = search.reading(reading);
    match explanation {
        Some(e) => {
            let end = if e.why.ends_with('?') { "" } else { ". Read it again" };
            let says = format!("{size} {}{end}{}", e.why, if end.is_empty() { "" } else { "." });
            search.about_reading(e.kind, set, reading, says, Some(e.would_be_mm))
        }
        None => {
            let says =
                format!("{size} is nowhere near a size that {} can have. Read it again.", search.name(reading.group));
            search.about_reading(Kind::DoesNotHangTogether, set, reading, says, None)
        }
    }
}

/// One journal: what is wrong with it, and the readings nothing is wrong with.
fn judge_journal(
    search: &Search,
    here: &Looked,
    journal: &Journal,
    others: &[&Looked],
) -> (Vec<Suspicion>, Vec<Reading>) {
    let mut found = Vec::new();
    let count = journal.readings.len();
    let spot = journal.readings.first().map_or(0, |r| r.spot);
    let level = median(journal.readings.iter().map(|r| r.mm));
    let from_set = here.vote.level_mm.map_or(0.0, |set| level - set);
    if from_set.abs() > 0.8
        && let Some(e) = other_set(search, level, spot, others)
    {
        let says = format!("{} {}", search.name(journal.group), e.why);
        found.push(about_journal(e.kind, here.set, journal.group, says, None));
        return (found, Vec::new());
    }
    let whole_journal = journal.turned.1;
    let named = |e: &Explained| {
        let alone = if count == 1 { whole_journal } else { 0.0 };
        e.turned() + e.otherwise + alone >= NAMED
    };
    let (mut good, mut bad) = (Vec::new(), Vec::new());
    for (reading, explained) in journal.readings.iter().zip(&journal.explained) {
        if named(explained) { bad.push((reading, explained)) } else { good.push(reading.clone()) }
    }
    for (reading, explained) in bad {
        found.push(name_reading(search, here, journal, reading, explained, &good, others));
    }
    if count > 1 && whole_journal > 0.5 {
        match super::book::own_step(search, here, journal).filter(|_| found.is_empty()) {
            Some(question) => found.push(question),
            None => {
                found.push(turned_journal(search, here, journal, spot));
                good.clear();
            }
        }
    }
    if found.is_empty() && journal.all_good < 0.1 {
        found.push(two_camps(search, here.set, journal, spot));
        good.clear();
    }
    (found, good)
}

fn about_journal(kind: Kind, set: usize, group: usize, says: String, would_be_mm: Option<f64>) -> Suspicion {
    Suspicion { kind, set, group: Some(group), spot: None, repeat: None, says, would_be_mm }
}

fn name_reading(
    search: &Search,
    here: &Looked,
    journal: &Journal,
    reading: &Reading,
    explained: &Explained,
    good: &[Reading],
    others: &[&Looked],
) -> Suspicion {
    let size = search.reading(reading);
    let level = if good.is_empty() { here.vote.level_mm } else { None };
    let level =
        level.unwrap_or_else(|| if good.is_empty() { journal.level_mm } else { median(good.iter().map(|r| r.mm)) });
    let rest = match good.len() {
        0 => format!("the rest of its set ({})", search.size(level, reading.spot)),
        1 => format!("{}, {}", words::others(1), search.size(level, reading.spot)),
        n => words::others(n),
    };
    let difference = reading.mm - level;
    let apart =
        format!("{size} is {} {} than {rest}", search.size(difference.abs(), reading.spot), words::more(difference));
    let (mut turns, chance) = explained.likeliest_turns();
    let alone = if journal.readings.len() == 1 { journal.turned.1 } else { 0.0 };
    if alone > chance {
        turns = journal.turned.0;
    }
    let near = |mm: f64| mm > level - 0.12 && mm < level + 0.08;
    let no_turn = explained.otherwise > explained.turned() + alone;
    if (turns.abs() > 1 || no_turn)
        && let Some(e) = other_set(search, reading.mm, reading.spot, others)
    {
        let says = format!("{apart}; it {}", e.why);
        return search.about_reading(e.kind, here.set, reading, says, None);
    }
    if no_turn {
        return match explain(search, reading, &near, others) {
            Some(e) => {
                let says = format!("{apart}. It {}. Read it again.", e.why.trim_end_matches('.'));
                search.about_reading(e.kind, here.set, reading, says, Some(e.would_be_mm))
            }
            None => {
                let says = format!("{apart}. No wear does that, and it is no whole number of turns. Read it again.");
                search.about_reading(Kind::DoesNotHangTogether, here.set, reading, says, None)
            }
        };
    }
    let would_be = reading.mm - f64::from(turns) * reading.turn_mm;
    let graduation = search.spots.get(reading.spot).map_or(0.0, |s| s.graduation_mm);
    let exactly = (would_be - level).abs() < 0.5 * graduation + 1e-9;
    let about = if exactly { "" } else { "about " };
    let turn = words::step(reading.turn_mm, search.unit);
    let step = if exactly && turns.abs() == 1 { String::new() } else { format!(" ({turn} a turn)") };
    let says = format!("{apart}: {about}{} of the thimble{step}. Read it again before grinding.", words::turns(turns));
    search.about_reading(Kind::LikelyMisread, here.set, reading, says, Some(would_be))
}

/// Every reading of a journal that is the same turn away from its set.
fn turned_journal(search: &Search, here: &Looked, journal: &Journal, spot: usize) -> Suspicion {
    let level = journal.level_mm;
    let difference = here.vote.level_mm.map_or(0.0, |set| level - set);
    let turns = journal.turned.0;
    let turn = journal.readings.first().map_or(0.0, |r| r.turn_mm);
    let doubt = if difference < 0.0 {
        "A ruined journal, or the same misreading every time?"
    } else {
        "No journal grows: the same misreading every time?"
    };
    let says = format!(
        "All of {} is about {} {} than the rest of its set: {} of the thimble. {doubt} Lock the spindle, lift the \
         micrometer off and read it again.",
        search.name(journal.group),
        search.size(difference.abs(), spot),
        words::more(difference),
        words::turns(turns),
    );
    let would_be = level - f64::from(turns) * turn;
    about_journal(Kind::LikelyMisread, here.set, journal.group, says, Some(would_be))
}

/// Readings that cannot all be right, with nothing to say which are wrong.
fn two_camps(search: &Search, set: usize, journal: &Journal, spot: usize) -> Suspicion {
    let middle = {
        let lowest = journal.readings.iter().map(|r| r.mm).fold(f64::INFINITY, f64::min);
        let highest = journal.readings.iter().map(|r| r.mm).fold(f64::NEG_INFINITY, f64::max);
        0.5 * (lowest + highest)
    };
    let camp = |upper: bool| -> Vec<f64> {
        journal.readings.iter().map(|r| r.mm).filter(|mm| (*mm > middle) == upper).collect()
    };
    let (low, high) = (camp(false), camp(true));
    let (low_mm, high_mm) = (median(low.iter().copied()), median(high.iter().copied()));
    let apart = high_mm - low_mm;
    let turn = journal.readings.first().map_or(0.0, |r| r.turn_mm);
    let turns = if turn > 0.0 { (apart / turn).round() as i32 } else { 0 };
    // Wear between the camps leaves less than a third of a turn over.
    let whole_turns = turns >= 1 && (apart - f64::from(turns) * turn).abs() < 0.3 * turn;
    let (kind, how) = if whole_turns {
        (Kind::LikelyMisread, format!(", about {} of the thimble", words::turns(turns)))
    } else {
        (Kind::DoesNotHangTogether, String::new())
    };
    let says = format!(
        "The readings of {} do not hang together: {} near {} and {} near {}, {} apart{how}. Nothing here says which are \
         right. Measure this journal again.",
        search.name(journal.group),
        words::number(low.len()),
        search.size(low_mm, spot),
        words::number(high.len()),
        search.size(high_mm, spot),
        search.size(apart, spot),
    );
    about_journal(kind, set, journal.group, says, None)
}
