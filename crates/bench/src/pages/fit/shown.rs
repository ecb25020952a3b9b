//! The answer for the bearings as the page shows it.

use crank::{Band, State};
use fit::{Bearing, Clearance, Fit, SetFit, WantedFrom};
use regrind::Chance;
use regrind::words::{in_hundred, likelihood};
use sheet::Sheet;
use units::{Unit, show_mm};

use crate::drawings::Figure;
use crate::wording::{OldWay, Words, capital};

/// Everything that was worked out.
pub(super) struct Shown {
    pub(super) unit_name: &'static str,
    pub(super) running_c: String,
    pub(super) stops: Vec<String>,
    pub(super) sets: Vec<SetShown>,
    pub(super) end_float: Vec<String>,
    pub(super) sides: Vec<[String; 3]>,
    pub(super) order: Vec<[String; 4]>,
    pub(super) order_notes: Vec<String>,
    pub(super) remarks: Vec<String>,
}

/// One set.
pub(super) struct SetShown {
    pub(super) key: &'static str,
    pub(super) heading: String,
    pub(super) says: Vec<String>,
    pub(super) drawing: Option<Figure>,
    /// As found and as planned, beside each other, as far as there are clearances of either.
    pub(super) states: Vec<StateShown>,
    pub(super) rows: Vec<BearingRow>,
    pub(super) shells: Vec<[String; 3]>,
    /// What the doubt about the first clearance is made of.
    pub(super) budget: Option<String>,
}

/// One state of the journals in the table.
pub(super) struct StateShown {
    /// Which, with which shells, and where their walls come from.
    pub(super) heading: String,
    pub(super) hot: bool,
    pub(super) columns: usize,
}

/// One bearing of the table.
pub(super) struct BearingRow {
    pub(super) name: String,
    /// One for each state; none where that clearance is not known.
    pub(super) states: Vec<Option<Room>>,
}

/// The clearance of one bearing in one state.
pub(super) struct Room {
    pub(super) tightest: String,
    pub(super) mean: String,
    pub(super) loosest: String,
    pub(super) doubt: String,
    pub(super) hot: String,
    pub(super) chance: String,
    pub(super) state: &'static str,
}

/// One of the two clearances of a bearing.
type Of = fn(&Bearing) -> Option<&Clearance>;

struct Hand<'a> {
    sheet: &'a Sheet,
    fit: &'a Fit,
    unit: Unit,
    words: Words,
}

impl Shown {
    pub(super) fn of(sheet: &Sheet, fit: &Fit, words: Words) -> Shown {
        let hand = Hand { sheet, fit, unit: sheet.unit, words };
        let mut order_notes: Vec<String> = fit.order.iter().map(|line| line.note.clone()).collect();
        order_notes.dedup();
        Shown {
            unit_name: sheet.unit.plural(),
            running_c: format!("{:.0}", fit.running_c),
            stops: stops(fit, words),
            sets: fit.sets.iter().map(|set| hand.set(set)).collect(),
            end_float: hand.end_float(),
            sides: hand.sides(),
            order: fit
                .order
                .iter()
                .map(|line| {
                    let what = words.put(&capital(&line.what));
                    [what, line.size.clone(), line.to_order().to_string(), line.on_the_bench.to_string()]
                })
                .collect(),
            order_notes,
            remarks: fit.remarks.iter().map(|remark| words.put(&remark.says)).collect(),
        }
    }
}

/// What stops the work.
fn stops(fit: &Fit, words: Words) -> Vec<String> {
    fit.stops.iter().map(|stop| words.put(&stop.says)).collect()
}

impl Hand<'_> {
    fn size(&self, mm: f64) -> String {
        show_mm(mm, self.unit, self.unit.usual_decimals())
    }

    /// A computed target, with one digit more where it has one.
    fn target(&self, mm: f64) -> String {
        let finer = show_mm(mm, self.unit, self.unit.usual_decimals() + 1);
        finer.strip_suffix('0').map_or(finer.clone(), str::to_owned)
    }

    fn range(&self, band: Band) -> String {
        format!("{} to {}", self.size(band.low_mm), self.size(band.high_mm))
    }

    fn set(&self, set: &SetFit) -> SetShown {
        let unit = self.unit;
        let name = self.words.set(set.set);
        let own: Vec<&Bearing> = self.fit.bearings.iter().filter(|bearing| bearing.journal.set == set.set).collect();
        let heading = match set.aim {
            Some(aim) if set.ground => format!("{name}: finish to {} {unit}", self.target(aim.target_mm)),
            _ => name,
        };
        let mut says = Vec::new();
        if let Some(aim) = set.aim.filter(|_| set.ground) {
            says.push(format!(
                "Anywhere from {} {unit} keeps every measured bearing within its limits.",
                self.range(aim.window)
            ));
        }
        if let Some((mm, from)) = set.wanted_mm {
            let from = match from {
                WantedFrom::Shop => "as the shop wants it",
                WantedFrom::Book => "the middle of the book’s limits",
            };
            says.push(format!("Wanted clearance {} {unit}, {from}.", self.size(mm)));
        }
        if let Some(within) = set.within {
            let share = within.share();
            says.push(format!("All of them within their limits: {}, {}.", likelihood(share), in_hundred(share)));
        }
        says.extend(set.no_aim.iter().map(|why| self.words.put(why)));
        let told: Vec<(&&Bearing, &Clearance)> = own.iter().filter_map(|b| Some((b, b.to_come()?))).collect();
        let all: [(&str, Of); 2] = [("As found", |b| b.as_found.as_ref()), ("As planned", |b| b.as_planned.as_ref())];
        let known: Vec<(&str, Of)> = all.into_iter().filter(|(_, of)| own.iter().any(|b| of(b).is_some())).collect();
        let shell = |index: usize| self.sheet.bearings.shells.get(index).map_or_else(String::new, |s| s.name.clone());
        // Shells that stop the work are not given out.
        let stopped = self.fit.stops.iter().any(|stop| stop.set == Some(set.set));
        let given = own.iter().filter(|_| set.matched || !stopped);
        let shells = given.filter_map(|bearing| {
            let placed = bearing.shells?;
            Some([self.words.journal(bearing.journal), shell(placed.upper), shell(placed.lower)])
        });
        SetShown {
            key: set.set.word(),
            heading,
            says,
            drawing: Figure::of_clearances(self.fit, set.set, unit, self.words),
            states: known.iter().filter_map(|(name, of)| self.state(name, own.iter().filter_map(|b| of(b)))).collect(),
            rows: told.iter().map(|(bearing, _)| self.row(bearing, &known)).collect(),
            shells: shells.collect(),
            budget: told.first().map(|(_, clearance)| self.words.put(&clearance.budget.in_words(unit))),
        }
    }

    fn state<'c>(&self, name: &str, clearances: impl Iterator<Item = &'c Clearance>) -> Option<StateShown> {
        let clearances: Vec<&Clearance> = clearances.collect();
        let first = clearances.first()?;
        let shells = if first.undersize_mm == 0.0 {
            "standard shells".to_owned()
        } else {
            format!("shells {}", regrind::words::under(first.undersize_mm, self.unit))
        };
        let hot = clearances.iter().any(|clearance| clearance.gained_hot_mm.is_some());
        let heading = format!("{name}, {shells}, walls {}", first.walls.words());
        Some(StateShown { heading, hot, columns: if hot { 6 } else { 5 } })
    }

    fn row(&self, bearing: &Bearing, states: &[(&str, Of)]) -> BearingRow {
        let states = states.iter().map(|(_, of)| of(bearing).map(|clearance| self.room(clearance))).collect();
        BearingRow { name: self.words.journal(bearing.journal), states }
    }

    fn room(&self, clearance: &Clearance) -> Room {
        let across = clearance.across;
        Room {
            tightest: self.size(across.tightest_mm),
            mean: self.size(across.mean_mm),
            loosest: self.size(across.loosest_mm),
            doubt: self.size(2.0 * clearance.uncertainty_mm),
            hot: clearance.gained_hot_mm.map_or(String::new(), |gained_mm| self.size(across.mean_mm + gained_mm)),
            chance: clearance.within.map_or(String::new(), |chance| in_hundred(chance.share())),
            state: clearance.state.map_or("", State::words),
        }
    }

    fn end_float(&self) -> Vec<String> {
        let Some(float) = &self.fit.end_float else { return Vec::new() };
        let unit = self.unit;
        let mut says = Vec::new();
        if let Some(mm) = float.reckoned_mm {
            let chance = float.within.map(Chance::share).map_or(String::new(), |share| {
                format!(" Within its limits: {}, {}.", likelihood(share), in_hundred(share))
            });
            says.push(format!("From the parts {} {unit}.{chance}", self.size(mm)));
        }
        if let Some(mm) = float.measured_mm {
            says.push(format!("By the dial {} {unit}.", self.size(mm)));
        }
        if let Some(limits) = float.limits {
            says.push(format!("Limits {} {unit}.", self.range(limits)));
        }
        if let Some(washers) = float.washers.filter(|washers| washers.within) {
            let [front, rear] = washers.faces().map(|(face, mm, stays)| {
                let size = match mm == 0.0 {
                    true => "standard".to_owned(),
                    false => format!("{} {unit} oversize", self.size(mm)),
                };
                format!("{size} to the {face}{}", if stays { ", as fitted" } else { ", new" })
            });
            says.push(format!("Washers: {front}; {rear}; for an end float of {} {unit}.", self.size(washers.float_mm)));
        }
        says
    }

    fn sides(&self) -> Vec<[String; 3]> {
        let one = |side: &fit::SideClearance| {
            let limits = side.limits.map_or(String::new(), |limits| self.range(limits));
            let chance = side.within.map_or(String::new(), |chance| in_hundred(chance.share()));
            [self.words.journal(side.journal), format!("{} ({limits})", self.size(side.mm)), chance]
        };
        self.fit.sides.iter().map(one).collect()
    }
}
