//! The answer for a person: plain text that reads well at 80 columns and when piped.

use std::fmt::Write;
use std::path::Path;

use crank::{JournalId, PrintedSpecification, SetName, Severity, SpecProblem, Taken};
use regrind::words::{capital, dots_of_twenty};
use regrind::{
    Axis, Chance, Choice, LadderWords, Others, PolishPlan, SetPlan, SetVerdict, Stage, StageSize, StepVerdict,
    Undecided, Verdict,
};
use sheet::{Places, Problem, RoughnessWords, Sheet};
use units::{Unit, show_mm};

const WIDTH: usize = 80;

/// The whole report on one crank.
pub(crate) fn report(sheet: &Sheet, verdict: &Verdict, working: bool) -> String {
    let page = Page { sheet, verdict, unit: sheet.unit };
    let mut out = page.title();
    out += &page.first_words();
    for set in SetName::BOTH {
        out += &match verdict.sets.iter().find(|measured| measured.set == set) {
            Some(measured) => page.set(measured),
            None => format!("\n{}: not measured, nothing is said of them\n", plural(set).to_uppercase()),
        };
    }
    out += &page.one_axis();
    out += &page.shaft();
    out += &page.journals();
    out += &page.roughness();
    out += &page.plan();
    out += &page.notes();
    if working {
        out += &crate::working::working(sheet, verdict);
    }
    out += &page.ending();
    out
}

/// A size or a difference of sizes, without its unit.
pub(crate) fn size(mm: f64, unit: Unit) -> String {
    show_mm(mm, unit, unit.usual_decimals())
}

/// A computed target: one digit more, so that a middle that falls between two graduations shows.
pub(crate) fn target(mm: f64, unit: Unit) -> String {
    let finer = show_mm(mm, unit, unit.usual_decimals() + 1);
    finer.strip_suffix('0').map_or(finer.clone(), str::to_owned)
}

/// Pairs of undersizes that read alike.
struct PairRow {
    mains: Vec<f64>,
    pins: Vec<f64>,
    spare: String,
    chance: String,
    chosen: bool,
}

impl PairRow {
    fn is_like(&self, other: &PairRow) -> bool {
        !self.chosen && !other.chosen && self.spare == other.spare && self.chance == other.chance
    }
}

struct Page<'a> {
    sheet: &'a Sheet,
    verdict: &'a Verdict,
    unit: Unit,
}

impl Page<'_> {
    fn size(&self, mm: f64) -> String {
        size(mm, self.unit)
    }

    fn target(&self, mm: f64) -> String {
        target(mm, self.unit)
    }

    fn title(&self) -> String {
        let mark = self.sheet.mark.as_deref().map_or(String::new(), |mark| format!("{mark}, "));
        let title = format!("Crankshaft {mark}{}", self.sheet.specification.name);
        let mut out = format!("{title}\n{}\n", "=".repeat(title.chars().count().min(WIDTH)));
        let findings = &self.sheet.findings;
        let count = findings.readings.iter().map(|r| r.sizes.len()).sum::<usize>();
        let mut seen = vec![counted(count, "reading")];
        for (count, what) in [
            (findings.traces.len(), "trace"),
            (findings.run_outs.len(), "run-out"),
            (findings.damages.len(), "damaged place"),
            (findings.stamps.len(), "stamp"),
            (findings.roughness.len(), "roughness figure"),
        ] {
            if count > 0 {
                seen.push(counted(count, what));
            }
        }
        let axis = match self.sheet.policy.axis {
            Axis::Held => "ground on its present axis",
            Axis::Throws if !self.has_tolerances() => "ground on its present axis: no tolerance of the throws is told",
            Axis::Throws => "ground on its present main axis, each throw within its tolerances",
            Axis::Free if !self.has_tolerances() => {
                "the axis may move, the throws with it: no tolerance of theirs is told"
            }
            Axis::Free => "the axis may move within the throw and index tolerances",
        };
        out +=
            &wrap(&format!("{}. Sizes in {}, on the diameter; {axis}.", seen.join(", "), self.unit.plural()), "", "");
        out
    }

    /// Whether the book lets a pin's centre off its place at all.
    fn has_tolerances(&self) -> bool {
        let told = &self.sheet.specification;
        told.throw_tolerance_mm.is_some_and(crank::ThrowTolerance::is_any)
            || told.index_tolerance_deg.is_some_and(|tolerance| tolerance > 0.0)
    }

    /// What must be settled before anything else is read.
    fn first_words(&self) -> String {
        let mut out = String::new();
        let (cautions, doubts): (Vec<_>, Vec<_>) =
            self.verdict.notes.iter().filter(|n| n.stops() || n.presses()).partition(|n| n.stops());
        if !cautions.is_empty() {
            out += "\nSTOP\n";
            for note in cautions {
                out += &wrap(&note.says, "  ", "  ");
            }
        }
        if !doubts.is_empty() {
            out += "\nLOOK AGAIN before anything is ground\n";
            for note in doubts {
                // A remark that begins with its journal needs no other name before it.
                let whose = note.journal.map(|journal| capital(&journal.to_string()));
                let whose = whose.filter(|name| !note.says.starts_with(name.as_str()));
                let whose = whose.map_or(String::new(), |name| format!("{name}: "));
                out += &wrap(&format!("{whose}{}", note.says), "  - ", "    ");
            }
        }
        out
    }

    fn set(&self, set: &SetVerdict) -> String {
        let stop = self.verdict.notes.iter().any(|note| note.stops());
        let decided = !matches!(set.choice, Choice::Scrap | Choice::NotDecided);
        // Where it is left alone, or polished, the decision says so itself.
        let missing = set.choice.undersize_mm().is_some() && set.waits_for_measuring(self.sheet.policy.confidence);
        let first = match (stop && decided, set.in_doubt && decided) {
            (true, _) => "STOP, see above; as it stands, ",
            (false, true) => regrind::LOOK_AGAIN_FIRST,
            (false, false) if missing => "measure first; as it stands, ",
            (false, false) => "",
        };
        let part = set.not_looked_at().map_or(String::new(), |what| format!(" ({what})"));
        let heading = format!("{}{part}: {first}{}", plural(set.set).to_uppercase(), self.decision(set));
        let mut out = format!("\n{}", wrap(&heading, "", "  "));
        let mut was = self.last_ground(set);
        if !set.ground_to.also.is_empty() {
            let names: Vec<String> = set.ground_to.also.iter().map(|&u| self.step_name(u)).collect();
            let _ = write!(was, " (or {})", names.join(" or "));
        }
        let stamps: Vec<String> = self.stamps(set.set).collect();
        if !stamps.is_empty() {
            let _ = write!(was, "; stamped {}", stamps.join(", "));
        }
        // Of readings that cannot be right nothing is said of what they were ground to.
        let known = !matches!(set.undecided, Some(Undecided::Heat | Undecided::Readings | Undecided::BiggerThanNew));
        let was = if known { format!("{was}. ") } else { String::new() };
        out += &wrap(&format!("{was}{}", set.reason), "  ", "  ");
        if !self.stopped() {
            out += &self.ladder(set);
            for says in sheet::first_size_words(self.sheet, set).into_iter().chain(sheet::case_words(self.sheet, set)) {
                out += &wrap(&says, "    ", "    ");
            }
        }
        if let Some(next) = &set.next {
            out.push('\n');
            out += &wrap(&format!("Measure next: {} {}", next.measure, next.could_change), "  ", "  ");
        }
        out
    }

    /// `Last ground to standard`; where not all of a set went together, `Last ground: pins 1, 2 and 4 to 0.010 under, pin 3
    /// to standard`.
    fn last_ground(&self, set: &SetVerdict) -> String {
        if set.own_steps.is_empty() {
            return format!("Last ground to {}", self.step_name(set.ground_to.undersize_mm));
        }
        let own = |id: JournalId| set.own_steps.iter().find(|(journal, _)| *journal == id).map(|(_, mm)| *mm);
        let mut groups: Vec<(f64, Vec<JournalId>)> = Vec::new();
        for id in self.verdict.journals.iter().map(|j| j.condition.journal).filter(|id| id.set == set.set) {
            let step_mm = own(id).unwrap_or(set.ground_to.undersize_mm);
            match groups.iter_mut().find(|(mm, _)| (mm - step_mm).abs() < 1e-9) {
                Some((_, journals)) => journals.push(id),
                None => groups.push((step_mm, vec![id])),
            }
        }
        groups.sort_by_key(|(_, journals)| std::cmp::Reverse(journals.len()));
        let said =
            groups.iter().map(|(mm, ids)| format!("{} to {}", regrind::list_of_journals(ids), self.step_name(*mm)));
        format!("Last ground: {}", said.collect::<Vec<_>>().join(", "))
    }

    /// What a set is stamped, and each of its journals that carries its own: `pin 3 0.020 in under`.
    fn stamps(&self, set: SetName) -> impl Iterator<Item = String> {
        self.sheet.findings.stamps.iter().filter(move |stamp| stamp.set == set).map(|stamp| match stamp.journal {
            Some(journal) => format!("{journal} {}", self.step_name(stamp.undersize_mm)),
            None => self.step_name(stamp.undersize_mm),
        })
    }

    fn decision(&self, set: &SetVerdict) -> String {
        match set.choice {
            Choice::LeaveAlone => self.words().decision(set),
            Choice::NotDecided => {
                set.undecided.map_or("not decided".into(), |why| format!("not decided: {}", why.words()))
            }
            Choice::PolishOnly => self.words().decision(set),
            Choice::Grind { undersize_mm } => format!("grind to {}", self.step_name(undersize_mm)),
            Choice::BuildUp if set.apart.is_some() => self.words().decision(set),
            Choice::BuildUp => "build up, or give up".into(),
            Choice::Scrap if set.apart.is_some() => self.words().decision(set),
            Choice::Scrap if self.words().cracked() => "do not grind".into(),
            Choice::Scrap => "scrap".into(),
        }
    }

    /// Whether a crack, heat or a bend stops the work: then no undersize is spoken of beside it.
    fn stopped(&self) -> bool {
        let bent = regrind::cautions(&self.sheet.specification, &self.sheet.findings, &self.sheet.policy, self.unit)
            .iter()
            .any(|caution| caution.kind == regrind::CautionKind::Bend);
        self.words().is_stopped() || bent && self.sheet.policy.axis != Axis::Free
    }

    fn words(&self) -> LadderWords<'_> {
        let Sheet { specification, findings, policy, .. } = self.sheet;
        LadderWords { specification, findings, policy, verdict: self.verdict, unit: self.unit }
    }

    fn step_name(&self, undersize_mm: f64) -> String {
        let own = self.undersize(undersize_mm);
        let with_unit = units::show_undersize_in_its_unit_mm(undersize_mm, self.unit);
        match undersize_mm {
            0.0 => "standard".into(),
            // Of another ladder than the sheet's unit writes: with the unit that it is written in.
            _ if !with_unit.ends_with(&self.unit.to_string()) => format!("{with_unit} under"),
            _ => format!("{own} under"),
        }
    }

    fn undersize(&self, mm: f64) -> String {
        let usual = self.unit.usual_decimals() - 1;
        let short = show_mm(mm, self.unit, usual);
        let long = show_mm(mm, self.unit, usual + 1);
        if long.strip_suffix('0') == Some(short.as_str()) { short } else { long }
    }

    fn ladder(&self, set: &SetVerdict) -> String {
        let priced = set.steps.iter().any(|s| s.expected_cost.is_some());
        let cost_head = if priced { "  cost" } else { "" };
        let mut out = format!("\n    undersize  finished          spare     chance in 100 of cleaning up{cost_head}\n");
        let polish =
            if set.to_size.is_some() { "polish to size, by what was read" } else { "polish only, by what was read" };
        let rows = [
            ("leave alone, by what was read", set.leave_alone_as_read, Choice::LeaveAlone),
            (polish, set.polish_only_as_read, Choice::PolishOnly),
        ];
        for (name, chance, choice) in rows {
            let mark = if set.choice == choice { ">" } else { " " };
            if chance.hits > 0 || set.choice == choice {
                let share = chance.share();
                let _ = writeln!(out, "  {mark} {name:<38} {} {}", dots(share), hundredths(share));
            }
        }
        for step in &set.steps {
            let _ = writeln!(out, "{}", self.rung(set, step).trim_end());
        }
        // The rungs above count the whole set; what is said of the others stands here.
        match set.apart.as_ref().map(|apart| apart.others) {
            Some(Others::Stay) => out += "  > stay       the others\n",
            Some(Others::ToSize) => out += "  > polish     the others, to size\n",
            Some(Others::TooClose) => out += "  > too close  the others\n",
            Some(others) => {
                if let Some((undersize_mm, chance)) = others.ground() {
                    let row = self.row(set.set, undersize_mm, "others", &dotted(chance));
                    let _ = writeln!(out, "  > {row}");
                }
            }
            None if matches!(set.choice, Choice::BuildUp | Choice::Scrap) => {
                let _ = writeln!(out, "  > {}", set.choice);
            }
            None => {}
        }
        out += &wrap(
            "Spare: what is left on the radius once the clean-up stock is off, on the middle one of the simulated cranks; \
             negative where it is short.",
            "    ",
            "    ",
        );
        out
    }

    fn rung(&self, set: &SetVerdict, step: &StepVerdict) -> String {
        let chosen = set.choice == Choice::Grind { undersize_mm: step.undersize_mm };
        let mark = if chosen { ">" } else { " " };
        let gone = step.undersize_mm < set.ground_to.undersize_mm - 1e-9;
        let words = if gone {
            "smaller already".into()
        } else if !step.permitted {
            "smaller than the book permits".into()
        } else {
            dotted(step.chance)
        };
        let cost = step.expected_cost.filter(|_| !gone).map_or(String::new(), |cost| format!("{cost:>10.0}"));
        let row = self.row(set.set, step.undersize_mm, &self.size(step.middle_spare_mm), &words);
        format!("  {mark} {row}{cost}")
    }

    /// One row of the ladder: the size, its limits, what is to spare, its chance or why there is none.
    fn row(&self, set: SetName, undersize_mm: f64, spare: &str, chance: &str) -> String {
        let finished = self.sheet.specification.set(set).finished(undersize_mm);
        let name = if undersize_mm == 0.0 { "standard".into() } else { self.undersize(undersize_mm) };
        let limits = format!("{}-{}", self.size(finished.low_mm), self.size(finished.high_mm));
        format!("{name:<9}  {limits:<16} {spare:>8}   {chance}")
    }

    /// On a free axis: the pairs that matter, alike ones as one, and where the crank is to be set up.
    fn one_axis(&self) -> String {
        if self.sheet.policy.axis == Axis::Held || self.stopped() {
            return String::new();
        }
        let set_ups = self.verdict.set_ups();
        let mut out = String::new();
        let rows = self.pair_rows();
        if !rows.is_empty() {
            out += "\nBOTH ON ONE AXIS\n    mains          pins              spare   chance in 100\n";
            for row in &rows {
                let names = [&row.mains, &row.pins].map(|mm| self.as_range(mm));
                let mark = if row.chosen { ">" } else { " " };
                let _ = writeln!(out, "  {mark} {:<13}  {:<13}  {:>8}   {}", names[0], names[1], row.spare, row.chance);
            }
            out += &wrap("Spare as above, of whichever set has less.", "    ", "    ");
        } else if !set_ups.is_empty() {
            out += "\nWHERE THE WHEEL GOES\n";
        }
        let words = |set_up: &regrind::SetUp| set_up.in_words(&self.sheet.specification, self.unit);
        // What is the same for both sets is said once.
        let alike = set_ups.windows(2).all(|two| words(two[0].1) == words(two[1].1));
        for (set, set_up) in set_ups.iter().take(if alike { 1 } else { set_ups.len() }) {
            if let Some(set) = set.filter(|_| !alike) {
                let verdict = self.verdict.sets.iter().find(|verdict| verdict.set == set);
                let to = verdict.and_then(|v| v.choice.undersize_mm().or(v.if_ground_mm));
                let to = to.map_or(String::new(), |mm| format!(" ground to {}", self.step_name(mm)));
                out += &wrap(&format!("{}{to}:", capital(plural(set))), "  ", "    ");
            }
            for sentence in words(set_up) {
                out += &wrap(&sentence, "  ", "    ");
            }
        }
        out += &self.curve();
        if !set_ups.is_empty() {
            let says = "The chances are those of this set-up, each present centre found with a dial at the machine.";
            out += &wrap(says, "  ", "    ");
        }
        let chosen = self.verdict.chosen_pair;
        let governs = self.verdict.pairs.iter().find(|pair| chosen == Some((pair.main_mm, pair.pin_mm)));
        if let Some(place) = governs.and_then(|pair| pair.governed_by) {
            out += &wrap(&format!("What decides it: {}.", place.in_full()), "  ", "    ");
        }
        out
    }

    /// What the chosen pair's move gives, and what more of it would.
    fn curve(&self) -> String {
        let chosen = self.verdict.chosen_pair;
        let Some(pair) = self.verdict.pairs.iter().find(|pair| chosen == Some((pair.main_mm, pair.pin_mm))) else {
            return String::new();
        };
        let (Some(first), Some(last)) = (pair.curve.first(), pair.curve.last()) else { return String::new() };
        let fine = |mm: f64| show_mm(mm, self.unit, self.unit.usual_decimals());
        let way = match pair.way {
            Axis::Held => "Nothing has to move",
            Axis::Throws => "The throws alone are moved",
            Axis::Free => "The main axis is moved",
        };
        let mut says = format!(
            "{way}: a largest shift of {} {} leaves {} on the radius before the clean-up stock.",
            fine(pair.shift_mm),
            self.unit,
            fine(pair.spare_chosen_mm)
        );
        if last.spare_mm - first.spare_mm > 1e-6 {
            let points: Vec<String> = pair
                .curve
                .iter()
                .map(|point| format!("{} for {}", fine(point.spare_mm), fine(point.shift_mm)))
                .collect();
            says += &format!(" Spare against the least largest shift: {}.", points.join(", "));
        }
        wrap(&says, "  ", "    ")
    }

    /// What the rest of the shaft shows afterwards.
    fn shaft(&self) -> String {
        let mut out = String::new();
        let bent = sheet::bend_words(self.sheet);
        if !bent.is_empty() {
            out += "\nMAINS UNDER THE DIAL\n";
        }
        for line in bent {
            out += &wrap(&capital(&line), "  ", "    ");
        }
        let throws = sheet::throw_words(self.sheet);
        if !throws.is_empty() {
            out += "\nTHROWS from heights\n";
        }
        for line in throws {
            out += &wrap(&capital(&line), "  ", "    ");
        }
        out + &self.turning()
    }

    fn turning(&self) -> String {
        let says = sheet::shaft_words(self.sheet, self.verdict);
        if says.is_empty() || self.stopped() {
            return String::new();
        }
        let mut out = "\nTHE REST OF THE SHAFT once it is ground\n".to_owned();
        for line in says {
            out += &wrap(&line, "  ", "    ");
        }
        out
    }

    /// The chosen pair and those whose chance is neither nearly none nor nearly all; of the same mains the pins that read
    /// alike as one row. None where no pair was chosen.
    fn pair_rows(&self) -> Vec<PairRow> {
        let mut rows: Vec<PairRow> = Vec::new();
        if self.verdict.chosen_pair.is_none() {
            return rows;
        }
        for pair in &self.verdict.pairs {
            let share = pair.chance.share();
            let chosen = self.verdict.chosen_pair == Some((pair.main_mm, pair.pin_mm));
            if !chosen && !(0.005..0.995).contains(&share) {
                continue;
            }
            let row = PairRow {
                mains: vec![pair.main_mm],
                pins: vec![pair.pin_mm],
                spare: self.size(pair.middle_spare_mm),
                chance: hundredths(share),
                chosen,
            };
            match rows.last_mut() {
                Some(last) if last.is_like(&row) && last.mains == row.mains => last.pins.extend(row.pins),
                _ => rows.push(row),
            }
        }
        let mut folded: Vec<PairRow> = Vec::new();
        for row in rows {
            match folded.iter_mut().find(|known| known.is_like(&row) && known.pins == row.pins) {
                Some(known) => known.mains.extend(row.mains),
                None => folded.push(row),
            }
        }
        folded
    }

    /// `0.010`, or `0.010 to 0.040`.
    fn as_range(&self, mm: &[f64]) -> String {
        let name = |mm: &f64| if *mm == 0.0 { "standard".to_owned() } else { self.undersize(*mm) };
        match mm {
            [one] => name(one),
            [first, second] => format!("{}, {}", name(first), name(second)),
            [first, .., last] => format!("{} to {}", name(first), name(last)),
            [] => String::new(),
        }
    }

    fn journals(&self) -> String {
        let mut out = String::from(
            "\nJOURNALS as measured\n  \
             journal  smallest   largest   out of    taper     worn  within its limits?\n  \
             \u{20}                             round                    (chance in 100)\n",
        );
        for journal in &self.verdict.journals {
            let c = &journal.condition;
            let or_dash = |mm: Option<f64>| mm.map_or("-".to_owned(), |mm| self.size(mm));
            let _ = writeln!(
                out,
                "  {:<8} {:>8}  {:>8}  {:>7}  {:>7}  {:>7}  {} ({})",
                c.journal.to_string(),
                self.size(c.smallest_mm),
                self.size(c.largest_mm),
                or_dash(c.out_of_round_mm()),
                or_dash(c.taper_mm()),
                self.size(c.wear_mm),
                journal.stands.words(),
                hundredths(journal.said.share())
            );
        }
        let policy = &self.sheet.policy;
        out += &wrap(&regrind::words::how_sure(policy.within_at, policy.outside_at), "  ", "  ");
        for says in self.zeros().into_iter().chain(self.warmth()) {
            out += &wrap(&says, "  ", "  ");
        }
        out
    }

    /// How rough each journal is, before the work and after it; nothing where nobody measured it.
    fn roughness(&self) -> String {
        let words = RoughnessWords::of(self.sheet);
        let mut out = String::new();
        for (taken, heading) in [(Taken::Before, "ROUGHNESS as measured"), (Taken::After, "ROUGHNESS when finished")] {
            if !words.is_measured(taken) {
                continue;
            }
            let _ = write!(out, "\n{heading}\n");
            let journals = words.journals(taken);
            for set in SetName::BOTH {
                out += &words
                    .limit(set)
                    .map_or(String::new(), |limit| wrap(&format!("{}: {limit}.", plural(set)), "  ", "    "));
            }
            for one in journals.iter().filter(|one| one.is_measured()) {
                out += &wrap(&format!("{:<8} {}", one.journal.to_string(), words.places(one)), "  ", "           ");
            }
            for set in SetName::BOTH {
                let own = journals.iter().filter(|one| one.journal.set == set && one.limit_um.is_some());
                let not: Vec<JournalId> = own.filter(|one| !one.is_measured()).map(|one| one.journal).collect();
                if !not.is_empty() {
                    out += &wrap(&format!("Not measured: {}.", regrind::list_of_journals(&not)), "  ", "  ");
                }
            }
            let choice = |set| self.verdict.sets.iter().find(|known| known.set == set).map(|known| known.choice);
            let meaning = if taken == Taken::Before { words.meaning(choice) } else { Vec::new() };
            for (_, says) in meaning {
                out += &wrap(&says, "  - ", "    ");
            }
            out += &wrap(&words.doubt(taken), "  ", "  ");
        }
        out
    }

    /// That sizes stand here with the zero of each micrometer taken off.
    fn zeros(&self) -> Vec<String> {
        let findings = &self.sheet.findings;
        let used = |n: usize| findings.readings.iter().any(|r| r.with == n);
        let off = findings.instruments.iter().enumerate().filter(|(n, i)| used(*n) && i.zero_mm != 0.0);
        off.map(|(_, instrument)| {
            let (reads, change) = if instrument.zero_mm > 0.0 { ("high", "less") } else { ("low", "more") };
            format!(
                "By its zero check {} reads {} {} {reads}: its sizes are so much {change} here than was read.",
                instrument.name,
                target(instrument.zero_mm.abs(), self.unit),
                self.unit
            )
        })
        .collect()
    }

    /// That sizes stand here as they are at 20 °C and not as they were read, for each micrometer that was told warm or cold.
    fn warmth(&self) -> Vec<String> {
        let findings = &self.sheet.findings;
        let mut says = Vec::new();
        for (n, instrument) in findings.instruments.iter().enumerate() {
            let read = findings.readings.iter().filter(|r| r.with == n).flat_map(|r| &r.sizes);
            let Some(largest_mm) = read.map(|entry| entry.mm).reduce(f64::max) else { continue };
            let added_mm = (largest_mm - instrument.zero_mm) * (instrument.to_20_c() - 1.0);
            if self.size(added_mm.abs()) != self.size(0.0) {
                let (change, name) = (if added_mm < 0.0 { "less" } else { "more" }, &instrument.name);
                says.push(format!(
                    "Sizes are those at 20 °C: by the temperatures told of {name} and the crank, {} {} {change} than \
                     was read at {}.",
                    self.size(added_mm.abs()),
                    self.unit,
                    self.size(largest_mm)
                ));
            }
        }
        says
    }

    fn plan(&self) -> String {
        let mut out = String::new();
        for set in SetName::BOTH {
            out.extend(self.verdict.plans.iter().filter(|plan| plan.set == set).map(|plan| self.set_plan(plan)));
            out.extend(self.verdict.polish.iter().filter(|plan| plan.set == set).map(|plan| self.polish_plan(plan)));
        }
        out
    }

    fn set_plan(&self, plan: &SetPlan) -> String {
        if self.stopped() {
            return String::new();
        }
        let whom = plan.is_for(&self.sheet.specification);
        let mut out = format!("\nPLAN for {whom}, {}\n", self.step_name(plan.undersize_mm));
        if self.is_measured_first(plan.set) {
            let says = "Measure first what is asked for above: these sizes hold only as it stands now.";
            out += &wrap(says, "    ", "    ");
        }
        let treatment = &self.sheet.specification.treatment;
        if treatment.after_grinding {
            let says = format!(
                "To go through {} again after grinding: {} {} of growth on the diameter is allowed for.",
                treatment.kind,
                self.target(treatment.growth_mean_mm),
                self.unit
            );
            out += &wrap(&says, "    ", "    ");
        }
        for stage in &plan.plan.stages {
            out += &self.stage(stage.stage.word(), stage, plan.set);
            // The rough pass decides nothing, and at the end there is nothing left to do.
            let told = matches!(stage.stage, Stage::Grind | Stage::BeforeTreatment);
            if let Some(finishes) = stage.finishes.filter(|_| told) {
                out += &wrap(&finishes.words(), "      ", "        ");
            }
        }
        out
    }

    /// Whether a reading is asked for before a set is ground as it stands.
    fn is_measured_first(&self, set: SetName) -> bool {
        let confidence = self.sheet.policy.confidence;
        self.verdict.sets.iter().any(|known| known.set == set && known.waits_for_measuring(confidence))
    }

    fn stage(&self, name: &str, stage: &StageSize, set: SetName) -> String {
        named(name, &self.sizes(stage, set))
    }

    /// A stage's target, window and what the micrometer shows, without its name.
    fn sizes(&self, stage: &StageSize, set: SetName) -> String {
        let window = match stage.window_figures(self.unit) {
            Some((low, high)) => format!("{low} to {high}"),
            None => "no window left".into(),
        };
        let mut out = format!("{:<9} {window}\n", stage.target_figure(self.unit));
        let on_the_micrometer = gauge::as_read(&self.sheet.micrometers_for(set), stage.target_mm, self.unit);
        out += &wrap(&on_the_micrometer, "      ", "        ");
        out
    }

    /// Where to stop each journal of a set that is only polished; its target is for its largest place.
    fn polish_plan(&self, plan: &PolishPlan) -> String {
        let how = if plan.change.is_to_size() { "polish to size" } else { "polish only" };
        let own: Vec<_> = plan.journals.iter().map(|journal| journal.journal).collect();
        let parted = self.verdict.sets.iter().any(|set| set.set == plan.set && set.apart.is_some());
        let whom = if parted { regrind::list_of_journals(&own) } else { format!("the {}", plural(plan.set)) };
        let mut out = format!("\nPLAN for {whom}, {how}\n");
        let growth = plan.growth_words(self.unit).map_or(String::new(), |says| format!(" {says}"));
        let finished = plan.journals.iter().flat_map(|journal| &journal.stages).find(|s| s.stage == Stage::Finished);
        let limits = finished.and_then(|finished| finished.window_figures(self.unit)).map_or_else(
            || format!("{} to {}", self.target(plan.limits.low_mm), self.target(plan.limits.high_mm)),
            |(low, high)| format!("{low} to {high}"),
        );
        out += &wrap(
            &format!(
                "Stop where the largest place of a journal has the first size; every place must stay within the next \
                 two.{growth} Finished is {limits}."
            ),
            "  ",
            "  ",
        );
        // Journals with the same row share it.
        let mut rows: Vec<(Vec<JournalId>, String)> = Vec::new();
        for journal in &plan.journals {
            for stage in journal.stages.iter().filter(|stage| stage.stage == Stage::Polish) {
                let mut row = self.sizes(stage, plan.set);
                if let Some(finishes) = stage.finishes {
                    row += &wrap(&finishes.words(), "      ", "        ");
                }
                match rows.iter_mut().find(|(_, known)| *known == row) {
                    Some((journals, _)) => journals.push(journal.journal),
                    None => rows.push((vec![journal.journal], row)),
                }
            }
        }
        for (journals, row) in rows {
            out += &named(&regrind::list_of_journals(&journals), &row);
        }
        out
    }

    fn notes(&self) -> String {
        let rest: Vec<_> = self.verdict.notes.iter().filter(|n| !n.stops() && !n.presses()).collect();
        let queries = &self.sheet.queries;
        if rest.is_empty() && queries.is_empty() {
            return String::new();
        }
        let mut out = String::from("\nTO KNOW\n");
        for note in rest {
            out += &wrap(&note.says, "  - ", "    ");
        }
        for query in queries {
            out += &wrap(
                &format!("Book figure {}: {}; {}. {}", query.key, query.found, query.expected, query.cause),
                "  - ",
                "    ",
            );
        }
        out
    }

    fn ending(&self) -> String {
        let policy = &self.sheet.policy;
        let mut out = String::from("\n");
        out += &wrap(
            &format!(
                "Chances from {} simulated cranks (seed {}), clean-up stock {} {unit} on the radius, set-up error {} {unit}. They \
                 count what the sheet says is uncertain, and what nobody measured as journals usually wear; nothing else.",
                policy.draws,
                policy.seed,
                self.target(policy.clean_up_stock_mm),
                self.target(policy.set_up_error_mm),
                unit = self.unit
            ),
            "",
            "",
        );
        if !self.verdict.plans.is_empty() {
            out += &wrap(
                "Crack-test before grinding and again after grinding and treatment; stop if a journal has not cleaned \
                 up; never reduce a fillet radius. The maker's manual and local rules come first.",
                "",
                "",
            );
        }
        out
    }
}

/// A row of a plan behind its name; a name that is too long for its column stands on a line of its own.
fn named(name: &str, row: &str) -> String {
    const WIDE: usize = 17;
    let above = if name.chars().count() > WIDE { format!("    {name}\n") } else { String::new() };
    let name = if above.is_empty() { name } else { "" };
    format!("{above}    {name:<WIDE$} {row}")
}

fn plural(set: SetName) -> &'static str {
    match set {
        SetName::Main => "mains",
        SetName::Pin => "pins",
    }
}

fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

/// A chance as twenty dots and as a figure.
fn dotted(chance: Chance) -> String {
    format!("{} {:<3}", dots(chance.share()), hundredths(chance.share()))
}

/// Twenty dots, as many of them full as cases in twenty.
fn dots(share: f64) -> String {
    let full = dots_of_twenty(share);
    format!("{}{}", "●".repeat(full), "·".repeat(20_usize.saturating_sub(full)))
}

/// A chance as a bare number of cases in a hundred, for a column headed so.
fn hundredths(share: f64) -> String {
    if share >= 0.995 {
        ">99".into()
    } else if share < 0.005 {
        "<1".into()
    } else {
        format!("{:.0}", (share * 100.0).clamp(1.0, 99.0))
    }
}

pub(crate) fn wrap(text: &str, first: &str, rest: &str) -> String {
    let options = textwrap::Options::new(WIDTH).initial_indent(first).subsequent_indent(rest);
    let mut out = textwrap::fill(text, options);
    out.push('\n');
    out
}

/// All problems of a file, one after the other.
pub(crate) fn problems(problems: &[Problem]) -> String {
    let mut out = match problems.len() {
        1 => "One problem; nothing was worked out.\n".to_owned(),
        n => format!("{n} problems; nothing was worked out.\n"),
    };
    for problem in problems {
        out += &wrap(&problem.to_string(), "  ", "      ");
    }
    out
}

/// What a look at a specification found.
pub(crate) fn specification_report(
    file: &str,
    printed: &PrintedSpecification,
    found: &[SpecProblem],
    places: &Places,
) -> String {
    let (faults, queries): (Vec<_>, Vec<_>) = found.iter().partition(|p| p.severity == Severity::Fault);
    let mut out = format!("{file}: {}\n", printed.name);
    if found.is_empty() {
        out += "No faults found.\n";
    }
    for (heading, list) in
        [("FAULTS: not to be used until they are put right", faults), ("TO COMPARE with the book", queries)]
    {
        if list.is_empty() {
            continue;
        }
        let _ = write!(out, "\n{heading}\n");
        for problem in &list {
            let line = places.line(&problem.key).map_or(String::new(), |line| format!("line {line}, "));
            let source = problem.source.as_deref().map_or(String::new(), |source| format!(" ({source})"));
            out += &wrap(
                &format!("{line}{}: found {}, expected {}{source}", problem.key, problem.found, problem.expected),
                "  - ",
                "    ",
            );
            out += &wrap(&format!("Likely cause: {}", problem.cause), "    ", "    ");
            if let Some(line) = problem.confirm_line() {
                let place = if problem.confirm.len() > 1 { "in place of the one" } else { "before [main]," };
                let says = format!("If the book really says so, type this line {place} at the top of {file}:");
                out += &wrap(&says, "    ", "    ");
                let _ = writeln!(out, "      {line}");
            }
        }
        let odd: std::collections::BTreeSet<&str> =
            list.iter().filter(|problem| !problem.confirm.is_empty()).map(|problem| problem.key.as_str()).collect();
        if odd.len() > 1 {
            let keys =
                "Several keys that you have compared with the book go into one such line, with commas between them.";
            out += &wrap(keys, "  ", "  ");
        }
    }
    out
}

pub(crate) fn demo_heading(name: &str) -> String {
    wrap(
        &format!(
            "An invented crank at Oxbow Engine Works, from the sheet {name} that comes with the program. \
             `tenunder demo --copy-to FOLDER` writes the sheets out for you to change.\n"
        ),
        "",
        "",
    )
}

pub(crate) fn copied(folder: &Path, written: &[String]) -> String {
    let mut out = format!("Written to {}:\n", folder.display());
    for name in written {
        let _ = writeln!(out, "  {name}");
    }
    let _ = write!(out, "\nTry: tenunder assess {}\n", folder.join("tarn-four-worn.toml").display());
    out
}

/// Chances in words, for the help that explains them.
#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dots_never_claim_certainty() {
        let count = |share| dots(share).chars().filter(|&c| c == '●').count();
        assert_eq!(count(1.0), 20);
        assert_eq!(count(0.974), 19);
        assert_eq!(count(0.976), 20);
        assert_eq!(count(0.026), 1);
        assert_eq!(count(0.024), 0);
        assert_eq!(count(0.5), 10);
        assert_eq!(dots(0.3).chars().count(), 20);
    }
}
