//! The bearings of a crank for a person: clearances, sizes they ask for, shells given out, what to order, what it costs.

use std::fmt::Write;

use crank::Band;
use fit::{Bearing, Clearance, Fit, Quote, SetFit, WantedFrom, Ways};
use regrind::Chance;
use regrind::words::{in_hundred, likelihood};
use sheet::Sheet;
use units::Unit;

use crate::report::{size, target, wrap};

/// The whole report on the bearings.
pub(crate) fn report(sheet: &Sheet, fit: &Fit, quote: &Quote) -> String {
    let page = Page { sheet, fit, unit: sheet.unit };
    let mut out = page.title();
    out += &page.stops();
    for set in &fit.sets {
        out += &page.set(set);
    }
    out += &page.thrust();
    out += &page.sides();
    out += &page.order();
    out += &page.quotation(quote);
    out += &page.remarks();
    out += &wrap(
        "\nClearances are on the diameter, at 20 °C, square to the split. The maker's manual comes first.",
        "",
        "",
    );
    out
}

struct Page<'a> {
    sheet: &'a Sheet,
    fit: &'a Fit,
    unit: Unit,
}

impl Page<'_> {
    fn size(&self, mm: f64) -> String {
        size(mm, self.unit)
    }

    fn target(&self, mm: f64) -> String {
        target(mm, self.unit)
    }

    fn range(&self, band: Band) -> String {
        format!("{} to {}", self.size(band.low_mm), self.size(band.high_mm))
    }

    fn title(&self) -> String {
        let mark = self.sheet.mark.as_deref().map_or(String::new(), |mark| format!("{mark}, "));
        let title = format!("Bearings of crankshaft {mark}{}", self.sheet.specification.name);
        let mut out = format!("{title}\n{}\n", "=".repeat(title.chars().count().min(80)));
        if self.sheet.bearings.is_empty() {
            out += &wrap(
                "The sheet has no housings, shells or widths. Add [[housing]] and [[shell]] rows; docs/sheet.md shows \
                 them.",
                "",
                "",
            );
        }
        out
    }

    fn stops(&self) -> String {
        if self.fit.stops.is_empty() {
            return String::new();
        }
        let mut out = String::from("\nSTOP, settle this before anything is ground, ordered or fitted\n");
        for stop in &self.fit.stops {
            out += &wrap(&stop.says, "  - ", "    ");
        }
        out
    }

    fn set(&self, set: &SetFit) -> String {
        let unit = self.unit;
        let mut out = format!("\n{}S", set.set.word().to_uppercase());
        match set.aim {
            Some(aim) if set.ground => {
                let _ = writeln!(
                    out,
                    ": finish to {} {unit}, within {}",
                    self.target(aim.target_mm),
                    self.range(aim.window)
                );
            }
            _ => out.push('\n'),
        }
        let state = match (set.ground, set.undersize_mm == 0.0) {
            (true, true) => "ground to standard".to_owned(),
            (true, false) => format!("ground {}", regrind::words::under(set.undersize_mm, unit)),
            (false, _) => "as they are".to_owned(),
        };
        let mut says = format!("Journals {state}.");
        if let Some((wanted_mm, from)) = set.wanted_mm {
            let from = match from {
                WantedFrom::Shop => "as the shop wants it",
                WantedFrom::Book => "the middle of the book's limits",
            };
            let _ = write!(says, " Clearance wanted: {} {unit}, {from}.", self.size(wanted_mm));
        }
        if let Some(limits) = set.limits {
            let _ = write!(says, " Limits: {}.", self.range(limits));
        }
        out += &wrap(&says, "  ", "  ");
        if let Some(why) = &set.no_aim {
            out += &wrap(why, "  ", "  ");
        }
        out += &self.clearances(set);
        if set.matched {
            out += &wrap("Shells given out for the least spread of the clearances:", "  ", "  ");
            for bearing in self.fit.bearings.iter().filter(|b| b.journal.set == set.set) {
                let Some(placed) = bearing.shells else { continue };
                let shell = |index: usize| self.sheet.bearings.shells.get(index).map_or("", |s| s.name.as_str());
                let _ = writeln!(
                    out,
                    "    {:<8} upper {:<10} lower {}",
                    bearing.journal.to_string(),
                    shell(placed.upper),
                    shell(placed.lower)
                );
            }
        }
        out
    }

    fn clearances(&self, set: &SetFit) -> String {
        let own: Vec<&Bearing> = self.fit.bearings.iter().filter(|b| b.journal.set == set.set).collect();
        let mut out = String::new();
        type Of = fn(&Bearing) -> Option<&Clearance>;
        let columns: [(&str, Of); 2] =
            [("as found", |b| b.as_found.as_ref()), ("as planned", |b| b.as_planned.as_ref())];
        for (what, of) in columns {
            let rows: Vec<(&&Bearing, &Clearance)> = own.iter().filter_map(|b| Some((b, of(b)?))).collect();
            let Some((_, first)) = rows.first() else { continue };
            let _ = writeln!(
                out,
                "\n  Clearance {what}, {}; walls {}",
                if first.undersize_mm == 0.0 {
                    "standard shells".to_owned()
                } else {
                    format!("shells {}", regrind::words::under(first.undersize_mm, self.unit))
                },
                first.walls.words()
            );
            let hot = rows.iter().any(|(_, clearance)| clearance.gained_hot_mm.is_some());
            let hot_head = if hot { format!("  {:>4.0} °C", self.fit.running_c) } else { String::new() };
            let _ = writeln!(out, "    {:<8} tightest    mean loosest    ± (k=2){hot_head}  in 100", "");
            for (bearing, clearance) in rows {
                let across = clearance.across;
                let hot = clearance
                    .gained_hot_mm
                    .map_or(String::new(), |gained_mm| format!("  {:>7}", self.size(across.mean_mm + gained_mm)));
                let chance = clearance.within.map_or(String::new(), |chance| {
                    let share = chance.share();
                    format!(
                        "  {:>6}",
                        in_hundred(share).replace(" in 100", "").replace("more than ", ">").replace("fewer than ", "<")
                    )
                });
                let state = clearance.state.map_or("", |state| match state {
                    crank::State::Within => "",
                    crank::State::Outside => "  outside",
                    crank::State::TooCloseToCall => "  close call",
                });
                let _ = writeln!(
                    out,
                    "    {:<8} {:>8} {:>7} {:>7} {:>10}{hot}{chance}{state}",
                    bearing.journal.to_string(),
                    self.size(across.tightest_mm),
                    self.size(across.mean_mm),
                    self.size(across.loosest_mm),
                    self.size(2.0 * clearance.uncertainty_mm),
                );
            }
        }
        if let Some(within) = set.within {
            let share = within.share();
            out += &wrap(
                &format!("All {} bearings within their limits: {}, {}.", set.set, likelihood(share), in_hundred(share)),
                "  ",
                "  ",
            );
        }
        if let Some(spread_mm) = set.spread_mm {
            out += &wrap(
                &format!("From the tightest to the widest bearing: {} {}.", self.size(spread_mm), self.unit),
                "  ",
                "  ",
            );
        }
        out
    }

    fn thrust(&self) -> String {
        let Some(float) = &self.fit.end_float else { return String::new() };
        let mut out = format!("\nEND FLOAT at {}\n", float.journal);
        let mut says = Vec::new();
        if let Some(mm) = float.reckoned_mm {
            says.push(format!("From the parts: {} {}.", self.size(mm), self.unit));
        }
        if let Some(mm) = float.measured_mm {
            says.push(format!("By the dial: {} {}.", self.size(mm), self.unit));
        }
        if let Some(limits) = float.limits {
            says.push(format!("Limits: {}.", self.range(limits)));
        }
        if let Some(share) = float.within.map(Chance::share) {
            says.push(format!("Within them: {}, {}.", likelihood(share), in_hundred(share)));
        }
        if let Some(washers) = float.washers.filter(|washers| washers.within) {
            let [front, rear] = washers.faces().map(|(face, mm, stays)| {
                let size = if mm == 0.0 { "standard".to_owned() } else { format!("{} oversize", self.size(mm)) };
                format!("{size} to the {face}{}", if stays { ", as fitted" } else { ", new" })
            });
            says.push(format!("Washers: {front}; {rear}; for a float of {}.", self.size(washers.float_mm)));
        }
        out += &wrap(&says.join(" "), "  ", "  ");
        out
    }

    fn sides(&self) -> String {
        if self.fit.sides.is_empty() {
            return String::new();
        }
        let mut out = String::from("\nSIDE CLEARANCE of the rods\n");
        for side in &self.fit.sides {
            let within = side.within.map_or(String::new(), |chance| {
                let limits = side.limits.map_or(String::new(), |l| self.range(l));
                format!(", within {limits}: {}", in_hundred(chance.share()))
            });
            let _ = writeln!(out, "  {:<8} {}{within}", side.journal.to_string(), self.size(side.mm));
        }
        out
    }

    fn order(&self) -> String {
        if self.fit.order.is_empty() {
            return String::new();
        }
        let mut out = String::from("\nTO ORDER\n");
        for line in &self.fit.order {
            let count = match (line.to_order(), line.on_the_bench) {
                (0, _) => "none, they are on the bench".to_owned(),
                (n, 0) => format!("{n}"),
                (n, bench) => format!("{n} ({bench} on the bench)"),
            };
            out += &wrap(&format!("{}, {}: {count}", line.what, line.size), "  ", "    ");
        }
        let mut notes: Vec<&str> = self.fit.order.iter().map(|line| line.note.as_str()).collect();
        notes.dedup();
        for note in notes {
            out += &wrap(note, "  ", "  ");
        }
        out
    }

    fn quotation(&self, quote: &Quote) -> String {
        if quote.lines.is_empty() && quote.ways.is_empty() {
            return String::new();
        }
        let mut out = String::from("\nPRICE\n");
        for line in &quote.lines {
            let times = if line.count > 1 { format!("{} × {:.2}", line.count, line.each) } else { String::new() };
            let _ = writeln!(out, "  {:<44} {times:>14} {:>10.2}", line.what, line.amount());
        }
        let _ = writeln!(out, "  {:<59} {:>10.2}", "If all cleans up where it starts", quote.total());
        for (what, amount) in &quote.again {
            out += &wrap(&format!("and, if {what}: on average {amount:.2} more"), "  ", "    ");
        }
        if !quote.again.is_empty() {
            let _ = writeln!(out, "  {:<59} {:>10.2}", "With that counted in, on average", quote.likely());
        }
        if !quote.not_priced.is_empty() {
            out += &wrap(&format!("No price for: {}.", quote.not_priced.join("; ")), "  ", "    ");
        }
        for ways in &quote.ways {
            out += &self.ways(ways);
        }
        out
    }

    fn ways(&self, ways: &Ways) -> String {
        let mut out = format!("\n  Ways up the ladder, {}s\n", ways.set);
        out += "    undersize  in 100     pass   shells     life  going again   expected\n";
        for way in &ways.ways {
            let share = in_hundred(way.chance.share());
            let share = share.replace(" in 100", "").replace("more than ", ">").replace("fewer than ", "<");
            let _ = writeln!(
                out,
                "    {:<9} {share:>7} {:>8.2} {:>8.2} {:>8.2} {:>12.2} {:>10.2}",
                regrind::words::undersize_figure(way.undersize_mm, self.unit),
                way.bill.grind,
                way.bill.bearings,
                way.bill.life,
                way.bill.again_share * way.bill.again,
                way.bill.total(),
            );
        }
        let step = |mm: Option<f64>| mm.map_or("none".to_owned(), |mm| regrind::words::undersize_figure(mm, self.unit));
        let says = if ways.differ() {
            format!(
                "Least expected cost: start at {}. By the shop's confidence: {}. They part; prices were given, so the \
                 cost decides.",
                step(ways.by_cost_mm),
                step(ways.by_confidence_mm)
            )
        } else {
            format!("Least expected cost and the shop's confidence agree: {}.", step(ways.by_cost_mm))
        };
        out += &wrap(&says, "    ", "    ");
        out
    }

    fn remarks(&self) -> String {
        if self.fit.remarks.is_empty() {
            return String::new();
        }
        let mut out = String::from("\nTO KNOW\n");
        for remark in &self.fit.remarks {
            out += &wrap(&remark.says, "  - ", "    ");
        }
        out
    }
}
