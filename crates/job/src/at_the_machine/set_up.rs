//! What the grinder sets up by and keeps: axis, throws, limits, radius, thrust, treatment, oil holes.

use crank::{Band, CaseDepth, PrintedBand, PrintedSet, PrintedSpecification, SetName};
use regrind::words::capital;
use regrind::{IndexDatum, SetUp};
use sheet::RoughnessWords;
use shop::Value;
use units::{Unit, show_mm};

use super::Hand;
use crate::aims::SetAim;
use crate::wording::OldWay;
use say::Words;

impl Hand<'_> {
    /// Name and words, in the order of the work.
    pub(super) fn set_up(&self) -> Vec<(String, String)> {
        let mut notes = Vec::new();
        let sheet = &self.aims.sheet;
        self.windows(&mut notes);
        self.axis(&mut notes);
        self.throws(&mut notes);
        self.limits(&mut notes);
        if let Some(thrust) = self.band(&sheet.printed.main.thrust, 3, 2) {
            let says = format!("end float {thrust}. Keep the wheel off the thrust faces unless told");
            notes.push(("Thrust".to_owned(), says));
        }
        self.treatment(&mut notes);
        let features = self.job.document.get("specification").and_then(|book| book.get("feature"));
        for feature in features.map(Value::items).unwrap_or_default() {
            if let (Some(name), Some(limits)) = (feature.words("name"), feature.get("limits")) {
                let limits: Vec<&str> = limits.items().iter().filter_map(Value::as_typed).collect();
                if !limits.is_empty() {
                    notes.push((capital(name), limits.join("–")));
                }
            }
        }
        let oil = "plug or cover them; round their mouths again when the size is there";
        notes.push(("Oil holes".to_owned(), oil.to_owned()));
        notes
    }

    /// Windows that are finer than anybody can be sure to hold.
    fn windows(&self, notes: &mut Vec<(String, String)>) {
        let found: Vec<(SetName, String)> = SetName::BOTH
            .into_iter()
            .filter_map(|set| {
                let wheel = self.aims.set(set)?.off_the_wheel()?;
                Some((set, regrind::narrow_window(&self.aims.micrometers_for(set), wheel, self.unit())?))
            })
            .collect();
        match found.as_slice() {
            [(_, one), (_, other)] if one == other => notes.push(("Windows".to_owned(), one.clone())),
            all => notes.extend(
                all.iter().map(|(set, says)| (format!("Window, {}", self.words.set_within(*set)), says.clone())),
            ),
        }
    }

    fn axis(&self, notes: &mut Vec<(String, String)>) {
        let from = match self.aims.sheet.policy.index_datum {
            IndexDatum::Fixed => "the keyway or dowel",
            IndexDatum::Free => "the first throw, nothing else ties it",
        };
        let moves = |set: SetName| self.moves.iter().any(|one| one.journal.set == set && !one.words.is_empty());
        let axis = match (moves(SetName::Main), moves(SetName::Pin)) {
            (false, false) => "grind about the present main axis",
            (false, true) => "grind the mains about their present axis, each pin where it is told here",
            (true, _) => "grind about the axis that is told here",
        };
        notes.push(("Index from".to_owned(), format!("{from}; {axis}")));
        if moves(SetName::Main) || moves(SetName::Pin) {
            let dial = "each journal that is told to move turns about its new centre: the dial on it, while it is round, shows \
                        twice its shift, high on the side away from the new centre. Outward and inward are along the throw, \
                        clockwise and anticlockwise square to it, seen from the nose. No other pin moves";
            notes.push(("Set up".to_owned(), self.words.put(dial)));
        }
        let sheet = &self.aims.sheet;
        if sheet.findings.heights.is_empty() && sheet.findings.centres.is_empty() {
            notes.push(("Throws".to_owned(), "taken as found: nobody measured them".to_owned()));
        } else {
            // At the machine counts what is out; every pin stands with the verdict.
            let told: Vec<String> = sheet::throw_words(sheet)
                .into_iter()
                .filter(|says| !says.starts_with("pin ") || says.contains("out of the book's tolerance"))
                .map(|says| says.trim_end_matches('.').to_owned())
                .collect();
            if !told.is_empty() {
                notes.push(("Throws measured".to_owned(), self.words.put(&told.join(". "))));
            }
        }
    }

    /// Where the crank is told to be set up, for the sizes on the sheet; nothing on a held axis.
    pub(super) fn told(&self) -> Option<SetUp> {
        let ground_mm = SetName::BOTH.map(|set| self.aims.set(set).and_then(SetAim::undersize_mm));
        let sheet = &self.aims.sheet;
        regrind::set_up(&sheet.specification, &sheet.findings, &sheet.policy, ground_mm)
    }

    fn throws(&self, notes: &mut Vec<(String, String)>) {
        if self.aims.set(SetName::Pin).and_then(SetAim::off_the_wheel).is_none() {
            return;
        }
        let specification = &self.aims.sheet.specification;
        let unit = self.unit();
        let places = if unit == Unit::Inch { 4 } else { 2 };
        let mut says = format!("{} {unit}, half the stroke", show_mm(specification.throw_mm, unit, places));
        if let Some(tolerance) = specification.throw_tolerance_mm {
            says += &if (tolerance.low_mm + tolerance.high_mm).abs() < 1e-9 {
                format!(", within {}", self.with_unit(tolerance.high_mm))
            } else {
                format!(
                    ", at most {} short and {} long",
                    self.with_unit(-tolerance.low_mm),
                    self.with_unit(tolerance.high_mm)
                )
            };
        }
        let angles: Vec<String> = (1..=specification.pin.count())
            .map(|number| specification.throw_deg(crank::JournalId { set: SetName::Pin, number }))
            .map(|deg| format!("{}", (deg * 100.0).round() / 100.0))
            .collect();
        says += &format!("; {} in order at {}°", self.words.set_within(SetName::Pin), angles.join(", "));
        if let Some(tolerance) = specification.index_tolerance_deg {
            says += &format!(", within {tolerance}°");
        }
        notes.push(("Throw".to_owned(), says));
    }

    /// What the book asks of each set that is ground, and what it was last ground to; what both have alike is said once.
    fn limits(&self, notes: &mut Vec<(String, String)>) {
        let sheet = &self.aims.sheet;
        let ground = |set: &SetName| self.aims.set(*set).and_then(SetAim::off_the_wheel).is_some();
        let told: Vec<(String, Vec<String>)> = SetName::BOTH
            .into_iter()
            .filter(ground)
            .map(|set| {
                let printed = if set == SetName::Main { &sheet.printed.main } else { &sheet.printed.pin };
                (self.words.set(set), self.keep(set, printed))
            })
            .collect();
        let alike = |says: &String| told.len() == 2 && told.iter().all(|(_, own)| own.contains(says));
        for (name, says) in &told {
            let own: Vec<&str> = says.iter().filter(|says| !alike(says)).map(String::as_str).collect();
            if !own.is_empty() {
                notes.push((name.clone(), own.join("; ")));
            }
        }
        let both: Vec<&str> = told
            .first()
            .map(|(_, says)| says.iter().filter(|says| alike(says)).map(String::as_str).collect())
            .unwrap_or_default();
        if !both.is_empty() {
            notes.push(("Both sets".to_owned(), both.join("; ")));
        }
    }

    fn keep(&self, set: SetName, printed: &PrintedSet) -> Vec<String> {
        let sheet = &self.aims.sheet;
        let book = sheet.specification.set(set);
        let mut says = Vec::new();
        says.push(match self.band(&printed.fillet, 3, 2) {
            Some(radius) => format!("radius {radius}"),
            None => "radius not in the specification: ask, and match what is there".to_owned(),
        });
        if let Some(mm) = book.out_of_round_mm {
            says.push(format!("out of round at most {}", self.with_unit(mm)));
        }
        if let Some(taper) = book.taper {
            says.push(format!("taper at most {}", self.with_unit(taper.over_mm(book.length_mm))));
        }
        says.extend(RoughnessWords::of(sheet).limit(set));
        let ground_to = crank::last_ground_to(&sheet.specification, &sheet.findings, set);
        let step = |mm: f64| match mm {
            0.0 => "standard".to_owned(),
            mm => regrind::words::under(mm, self.unit()),
        };
        let also: Vec<String> = ground_to.also.iter().map(|mm| format!(" or {}", step(*mm))).collect();
        says.push(format!("last ground to {}{}", step(ground_to.undersize_mm), also.concat()));
        says
    }

    fn treatment(&self, notes: &mut Vec<(String, String)>) {
        let sheet = &self.aims.sheet;
        let treatment = &sheet.specification.treatment;
        if treatment.kind == "none" {
            return;
        }
        let measured: Vec<String> = SetName::BOTH
            .into_iter()
            .zip(&sheet.findings.cases)
            .filter_map(|(set, case)| match case.as_ref()?.depth {
                CaseDepth::Measured { mm, .. } => {
                    Some(format!("{} {}", self.words.set_within(set), self.with_unit(mm)))
                }
                CaseDepth::Book { .. } => None,
            })
            .collect();
        let depth = case_depth(&sheet.printed, self.unit(), self.words);
        let depth = match (measured.is_empty(), depth) {
            (true, depth) => depth.map_or(String::new(), |depth| format!("case depth by the book: {depth}")),
            (false, None) => format!("case depth as measured: {}", measured.join(", ")),
            (false, Some(book)) => format!("case depth as measured: {}; by the book {book}", measured.join(", ")),
        };
        let says = if treatment.after_grinding {
            let growth = self.with_unit(treatment.growth_mean_mm);
            let depth = if depth.is_empty() { depth } else { format!("; {depth}") };
            format!("{} after grinding; the sizes allow {growth} for growth{depth}", treatment.kind)
        } else {
            let depth = if depth.is_empty() { "ask for its depth".to_owned() } else { depth };
            format!("{}: the case is hard already. Do not grind through it; {depth}", treatment.kind)
        };
        notes.push(("Treatment".to_owned(), says));
    }

    fn band(&self, columns: &[PrintedBand], inch: u32, millimetre: u32) -> Option<String> {
        band(columns, self.unit(), inch, millimetre)
    }
}

/// The depth of the hardened case that the book asks for; one figure where mains and pins have the same.
pub fn case_depth(printed: &PrintedSpecification, unit: Unit, words: Words) -> Option<String> {
    let of = |book: &PrintedSet| band(&book.case_depth, unit, 3, 2);
    match (of(&printed.main), of(&printed.pin)) {
        (Some(main), Some(pin)) if main == pin => Some(main),
        (main, pin) => {
            let each = [(SetName::Main, main), (SetName::Pin, pin)];
            let named =
                each.into_iter().filter_map(|(set, depth)| Some(format!("{} {}", words.set_within(set), depth?)));
            let all: Vec<String> = named.collect();
            (!all.is_empty()).then(|| all.join(", "))
        }
    }
}

/// A band of the book, with so many decimals in inches and in millimetres.
pub fn band(columns: &[PrintedBand], unit: Unit, inch: u32, millimetre: u32) -> Option<String> {
    let band: Band = PrintedBand::in_columns(columns, unit)?.band()?;
    let places = if unit == Unit::Inch { inch } else { millimetre };
    Some(format!("{}–{} {unit}", show_mm(band.low_mm, unit, places), show_mm(band.high_mm, unit, places)))
}
