//! Everything that is known of the bearings before the question of sizes: which shells are what, and where they go.

use crank::{Band, Findings, JournalId, SetName, Specification};
use units::{Unit, show_mm};

use crate::book::{Book, SetBook};
use crate::found::{Bore, Found, Half, Shell, Shells, Wanted};
use crate::matching::{Candidate, NoMatch, Room, Task, matched};
use crate::model::{Model, Term, Used, less};
use crate::shells::{Known, Placed, SAME_STEP_MM, box_by_box, known, mixed, undersizes_mm};
use crate::{Material, Remark, Stop, StopKind, WallFrom, WantedFrom};

/// A plane within this of square to the split counts as across it; as near to the split, along it.
const PLANE_WITHIN_DEG: f64 = 30.0;

/// Where a set stands in a pair of things, mains first.
pub(crate) fn index(set: SetName) -> usize {
    usize::from(set == SetName::Pin)
}

/// The bore that a journal runs in, place by place, as sums of what was measured.
#[derive(Debug)]
pub(crate) struct Running {
    pub(crate) across: Vec<Term>,
    pub(crate) along: Vec<Term>,
    pub(crate) walls: WallFrom,
}

/// One engine's bearings on the bench.
#[derive(Debug)]
pub(crate) struct Bench<'a> {
    pub(crate) specification: &'a Specification,
    pub(crate) findings: &'a Findings,
    pub(crate) found: &'a Found,
    pub(crate) book: &'a Book,
    pub(crate) wanted: Wanted,
    pub(crate) unit: Unit,
    pub(crate) known: Vec<Known>,
    pub(crate) placed: Vec<Placed>,
    pub(crate) matched: [bool; 2],
    /// Every undersize of the shells of each set.
    pub(crate) undersizes_mm: [Vec<f64>; 2],
    pub(crate) ground_to_mm: [f64; 2],
    pub(crate) stops: Vec<Stop>,
    pub(crate) remarks: Vec<Remark>,
}

impl<'a> Bench<'a> {
    pub(crate) fn new(
        specification: &'a Specification,
        findings: &'a Findings,
        found: &'a Found,
        book: &'a Book,
        wanted: Wanted,
        unit: Unit,
    ) -> Bench<'a> {
        let mut stopped = Vec::new();
        let known: Vec<Known> = found
            .shells
            .iter()
            .enumerate()
            .map(|(index, shell)| {
                let set = specification.set(shell.set);
                let mut stops = Vec::new();
                let known = known(shell, set, book.set(shell.set), &findings.instruments, unit, &mut stops);
                stopped.extend(stops.into_iter().map(|stop| (index, stop)));
                known
            })
            .collect();
        let mut stops = box_by_box(&found.shells, stopped);
        let undersizes = SetName::BOTH.map(|set| undersizes_mm(found, set, &known));
        for (set, list) in SetName::BOTH.into_iter().zip(&undersizes) {
            stops.extend(mixed(set, list, unit));
        }
        let ground_to_mm = SetName::BOTH.map(|set| crank::last_ground_to(specification, findings, set).undersize_mm);
        let mut bench = Bench {
            specification,
            findings,
            found,
            book,
            wanted,
            unit,
            known,
            placed: Vec::new(),
            matched: [false; 2],
            undersizes_mm: undersizes,
            ground_to_mm,
            stops,
            remarks: Vec::new(),
        };
        bench.place();
        for set in SetName::BOTH {
            bench.give_out(set);
        }
        bench
    }

    pub(crate) fn set_book(&self, set: SetName) -> &SetBook {
        self.book.set(set)
    }

    /// The one undersize that the shells of a set have; none where there are no shells, or mixed ones.
    pub(crate) fn shells_mm(&self, set: SetName) -> Option<f64> {
        match self.undersizes_mm.get(index(set)).map(Vec::as_slice) {
            Some([one]) => Some(*one),
            _ => None,
        }
    }

    /// The clearance that is wanted of a set, and who says so.
    pub(crate) fn wanted_mm(&self, set: SetName) -> Option<(f64, WantedFrom)> {
        let shop = self.wanted.of(set).map(|mm| (mm, WantedFrom::Shop));
        shop.or_else(|| self.set_book(set).clearance.map(|band| (band.middle_mm(), WantedFrom::Book)))
    }

    /// What the housings of a set are made of; steel where nobody said, as for the crank.
    fn material(&self, set: SetName) -> Material {
        self.set_book(set).material.unwrap_or(Material::Steel)
    }

    pub(crate) fn size(&self, mm: f64) -> String {
        format!("{} {}", show_mm(mm, self.unit, self.unit.usual_decimals()), self.unit)
    }

    pub(crate) fn range(&self, band: Band) -> String {
        let decimals = self.unit.usual_decimals();
        format!("{} to {}", show_mm(band.low_mm, self.unit, decimals), self.size(band.high_mm))
    }

    fn shell(&self, index: usize) -> Option<&'a Shell> {
        self.found.shells.get(index)
    }

    /// Shells whose place the sheet gives.
    fn place(&mut self) {
        for journal in self.specification.journals() {
            let here: Vec<usize> = self
                .found
                .shells
                .iter()
                .enumerate()
                .filter(|(_, shell)| shell.journal == Some(journal))
                .map(|(index, _)| index)
                .collect();
            let half = |index: usize| self.shell(index).map_or(Half::Either, |shell| shell.half);
            match here.as_slice() {
                [] => {}
                &[one, two] if half(one) != Half::Lower && half(two) != Half::Upper => {
                    self.placed.push(Placed { journal, upper: one, lower: two });
                }
                &[one, two] if half(two) != Half::Lower && half(one) != Half::Upper => {
                    self.placed.push(Placed { journal, upper: two, lower: one });
                }
                _ => {
                    let says = format!(
                        "{} of {journal}: a bearing takes one upper and one lower half. Give both, or leave the \
                         journal out of both and let them be matched.",
                        match here.as_slice() {
                            [_] => "One half shell".to_owned(),
                            [_, _] => "Two shells for the same half".to_owned(),
                            more => format!("{} half shells", more.len()),
                        }
                    );
                    self.stops.push(Stop {
                        kind: StopKind::HalfAPair,
                        set: Some(journal.set),
                        journal: Some(journal),
                        says,
                    });
                }
            }
        }
    }

    /// The bores of a housing with or without shells.
    fn bores(&self, journal: JournalId, shells_in: bool) -> impl Iterator<Item = &'a Bore> + '_ {
        let found = self.found;
        found
            .bores
            .iter()
            .filter(move |bore| bore.journal == journal && matches!(bore.shells, Shells::In { .. }) == shells_in)
    }

    /// The bare bores of a housing with their sizes at 20 °C.
    pub(crate) fn bare(&self, journal: JournalId) -> Vec<(&'a Bore, f64)> {
        let material = self.material(journal.set);
        let instruments = &self.findings.instruments;
        self.bores(journal, false).map(|bore| (bore, bore.size.at_20_c_mm(instruments, material))).collect()
    }

    /// The same as parts of a model.
    pub(crate) fn bare_terms(&self, model: &mut Model, journal: JournalId) -> Vec<Term> {
        let instruments = &self.findings.instruments;
        let bores = self.bare(journal).into_iter();
        let term = |(bore, mm): (&Bore, f64)| {
            let own = (mm, bore.size.own_sd_mm(instruments));
            model.measured(instruments, "bore", own, bore.size.with, Used::Bore)
        };
        bores.map(term).collect()
    }

    /// Shells that nobody placed, given out to the housings that have none.
    fn give_out(&mut self, set: SetName) {
        let Some(undersize_mm) = self.shells_mm(set) else { return };
        let instruments = &self.findings.instruments;
        let heap: Vec<(usize, Candidate)> = self
            .found
            .shells
            .iter()
            .enumerate()
            .filter(|(_, shell)| shell.set == set && shell.journal.is_none())
            .filter_map(|(index, shell)| {
                let wall_mm = shell.wall.as_ref()?.at_20_c_mm(instruments, Material::Steel);
                Some((index, Candidate { wall_nm: nanometres(wall_mm)?, half: shell.half }))
            })
            .collect();
        if heap.is_empty() {
            return;
        }
        let (journals, open) = self.open(set, undersize_mm);
        if journals.is_empty() {
            return;
        }
        let settled: Vec<Room> = self
            .specification
            .journals()
            .filter(|journal| journal.set == set && !journals.contains(journal))
            .filter_map(|journal| self.settled(journal, undersize_mm))
            .collect();
        let both = |band: Band| nanometres(band.low_mm).zip(nanometres(band.high_mm));
        let size_nm = match self.keeps_its_size(set, undersize_mm) {
            true => (0, 0),
            false => both(self.specification.set(set).finished(undersize_mm)).unwrap_or_default(),
        };
        let task = Task {
            open: &open,
            settled: &settled,
            size_nm,
            clearance_nm: self.set_book(set).clearance.and_then(both),
            wanted_nm: self.wanted_mm(set).and_then(|(mm, _)| nanometres(mm)),
        };
        let candidates: Vec<Candidate> = heap.iter().map(|(_, candidate)| *candidate).collect();
        match matched(&task, &candidates) {
            Ok(pairs) => {
                let at = |place: usize| heap.get(place).map(|(index, _)| *index);
                for (&journal, pair) in journals.iter().zip(&pairs) {
                    if let (Some(upper), Some(lower)) = (at(pair.upper), at(pair.lower)) {
                        self.placed.push(Placed { journal, upper, lower });
                    }
                }
                self.placed.sort_by_key(|placed| placed.journal);
                self.matched[index(set)] = true;
            }
            Err(why) => {
                let advice = match why {
                    NoMatch::TooFew { .. } => "Measure more halves, or place those there are.",
                    NoMatch::TooMany => "Write the walls to the graduation of the micrometer.",
                };
                self.remarks.push(Remark {
                    journal: None,
                    says: format!("The {set} shells were not given out: {why}. {advice}"),
                });
            }
        }
    }

    /// Whether the journals of a set were last ground to this undersize and so are taken to keep their sizes.
    fn keeps_its_size(&self, set: SetName, undersize_mm: f64) -> bool {
        (self.ground_to_mm[index(set)] - undersize_mm).abs() <= SAME_STEP_MM
    }

    /// The least, the mean and the greatest of some bores; less the journal's where it keeps its size.
    fn room(&self, journal: JournalId, bores_mm: &[f64], undersize_mm: f64) -> Option<Room> {
        let journals_mm: Vec<f64> = if self.keeps_its_size(journal.set, undersize_mm) {
            let sizes: Vec<f64> = crank::sizes(self.findings, journal).iter().map(|size| size.size_mm).collect();
            // One that was not measured is taken as the book's.
            let middle_mm = self.specification.set(journal.set).finished(undersize_mm).middle_mm();
            if sizes.is_empty() { vec![middle_mm] } else { sizes }
        } else {
            vec![0.0]
        };
        let least = |of: &[f64]| of.iter().copied().reduce(f64::min);
        let most = |of: &[f64]| of.iter().copied().reduce(f64::max);
        Some(Room {
            least_nm: nanometres(least(bores_mm)? - most(&journals_mm)?)?,
            mean_nm: nanometres(mean(bores_mm)? - mean(&journals_mm)?)?,
            most_nm: nanometres(most(bores_mm)? - least(&journals_mm)?)?,
        })
    }

    /// Housings that have no shells yet, bare.
    fn open(&self, set: SetName, undersize_mm: f64) -> (Vec<JournalId>, Vec<Room>) {
        let of_set = self.specification.journals().filter(|journal| journal.set == set);
        of_set
            .filter(|journal| !self.placed.iter().any(|placed| placed.journal == *journal))
            .filter_map(|journal| {
                let across = self.bare(journal).into_iter().filter(|(bore, _)| is_across(bore));
                let bores_mm: Vec<f64> = across.map(|(_, mm)| mm).collect();
                Some((journal, self.room(journal, &bores_mm, undersize_mm)?))
            })
            .unzip()
    }

    /// A bearing that was measured with the shells that it is to have.
    fn settled(&self, journal: JournalId, undersize_mm: f64) -> Option<Room> {
        let mut model = Model::default();
        let running = self.running(&mut model, journal, undersize_mm).filter(|running| running.walls.is_measured())?;
        let bores_mm: Vec<f64> = running.across.iter().map(|term| model.value(term)).collect();
        self.room(journal, &bores_mm, undersize_mm)
    }

    /// The bore that a journal runs in with shells of an undersize; none where nothing tells.
    pub(crate) fn running(&self, model: &mut Model, journal: JournalId, undersize_mm: f64) -> Option<Running> {
        let instruments = &self.findings.instruments;
        let material = self.material(journal.set);
        let of_step = |bore: &&Bore| match bore.shells {
            Shells::In { undersize_mm: own } => (own - undersize_mm).abs() <= SAME_STEP_MM,
            Shells::Out => false,
        };
        let bare: Vec<&Bore> = self.bores(journal, false).collect();
        let exact: Vec<&Bore> = self.bores(journal, true).filter(of_step).collect();
        let other: Vec<&Bore> = self.bores(journal, true).collect();
        let term = |model: &mut Model, bore: &Bore, moved_mm: f64| {
            let own = (bore.size.at_20_c_mm(instruments, material) - moved_mm, bore.size.own_sd_mm(instruments));
            model.measured(instruments, "bore", own, bore.size.with, Used::Bore)
        };
        let running = |model: &mut Model, bores: &[&Bore], walls: Option<&Term>, from: WallFrom| {
            let mut found = Running { across: Vec::new(), along: Vec::new(), walls: from };
            for bore in bores {
                let moved_mm = match (from, bore.shells) {
                    (WallFrom::Moved, Shells::In { undersize_mm: own }) => undersize_mm - own,
                    _ => 0.0,
                };
                let own = term(model, bore, moved_mm);
                let own = walls.map_or(own.clone(), |walls| less(&own, walls));
                if is_across(bore) {
                    found.across.push(own);
                } else if is_along(bore) {
                    found.along.push(own);
                }
            }
            (!found.across.is_empty()).then_some(found)
        };
        if !exact.is_empty() {
            return running(model, &exact, None, WallFrom::ShellsIn);
        }
        if !bare.is_empty() {
            let (walls, from) = self.walls(model, journal, undersize_mm)?;
            return running(model, &bare, Some(&walls), from);
        }
        if other.is_empty() { None } else { running(model, &other, None, WallFrom::Moved) }
    }

    /// Both walls of a bearing for shells of an undersize.
    fn walls(&self, model: &mut Model, journal: JournalId, undersize_mm: f64) -> Option<(Term, WallFrom)> {
        let instruments = &self.findings.instruments;
        let placed = self.placed.iter().find(|placed| placed.journal == journal);
        let of_step = |index: usize| {
            let known = self.known.get(index).and_then(|known| known.undersize_mm);
            known.is_none_or(|own| (own - undersize_mm).abs() <= SAME_STEP_MM)
        };
        if let Some(placed) = placed.filter(|placed| of_step(placed.upper) && of_step(placed.lower)) {
            let wall = |index: usize| self.shell(index).and_then(|shell| shell.wall.as_ref());
            if let (Some(upper), Some(lower)) = (wall(placed.upper), wall(placed.lower)) {
                let mut both = Term::new();
                for (what, wall) in [("upper shell", upper), ("lower shell", lower)] {
                    let own = (wall.at_20_c_mm(instruments, Material::Steel), wall.own_sd_mm(instruments));
                    both.extend(model.measured(instruments, what, own, wall.with, Used::Wall));
                }
                return Some((both, WallFrom::Measured));
            }
        }
        let two = |model: &mut Model, band: Band, what: &str| {
            let mut both = model.within(what, band);
            both.extend(model.within(what, band));
            both
        };
        if let Some(band) = self.set_book(journal.set).wall_at(undersize_mm) {
            return Some((two(model, band, "shell wall of the book"), WallFrom::Book));
        }
        let own_mm = self.shells_mm(journal.set)?;
        let walls: Vec<f64> = self
            .found
            .shells_of(journal.set)
            .filter_map(|shell| Some(shell.wall.as_ref()?.at_20_c_mm(instruments, Material::Steel)))
            .map(|wall_mm| wall_mm + (undersize_mm - own_mm) / 2.0)
            .collect();
        let least = walls.iter().copied().reduce(f64::min)?;
        let most = walls.iter().copied().reduce(f64::max)?;
        Some((two(model, Band { low_mm: least, high_mm: most }, "shell wall moved"), WallFrom::Moved))
    }
}

pub(crate) fn mean(of: &[f64]) -> Option<f64> {
    (!of.is_empty()).then(|| of.iter().sum::<f64>() / of.len() as f64)
}

fn nanometres(mm: f64) -> Option<i64> {
    let nm = (mm * 1e6).round();
    // Nothing that is measured here reaches a thousand kilometres.
    (nm.abs() < 1e15).then_some(nm as i64)
}

/// How far a plane is from the split, 0 to 90 degrees.
fn from_split_deg(bore: &Bore) -> f64 {
    let turned = bore.plane_deg.rem_euclid(180.0);
    turned.min(180.0 - turned)
}

pub(crate) fn is_across(bore: &Bore) -> bool {
    from_split_deg(bore) >= 90.0 - PLANE_WITHIN_DEG
}

fn is_along(bore: &Bore) -> bool {
    from_split_deg(bore) <= PLANE_WITHIN_DEG
}
