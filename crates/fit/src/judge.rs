//! From bores, shells and journals to the answer: the one function that every face of the program calls.

use crank::{Aim, Band, JournalId, SetName};
use regrind::{Chance, Choice, Policy, Stage, Verdict, Work};

use crate::aim::asked;
use crate::answer::{Bearing, Clearance, Fit, HousingForm, Remark, SetFit, Span, Stop, StopKind, WallFrom};
use crate::bench::{Bench, Running, index, mean};
use crate::model::{Model, Term, less};
use crate::shells::{SAME_STEP_MM, step_words};
use crate::{CLEARANCE_PER_DIAMETER, Engine, gained_mm, order, reach, thrust};

/// Places along a housing closer than this are one.
const SAME_PLACE_MM: f64 = 0.1;
/// Directions across closer than this are one.
const SAME_PLANE_DEG: f64 = 1.0;

/// Which journals a clearance is for.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Journals {
    /// As they were measured.
    Measured,
    /// Anywhere within the window of this aim.
    Planned(Aim),
}

/// What one clearance adds up from.
#[derive(Debug)]
struct Parts {
    journal: JournalId,
    undersize_mm: f64,
    running: Running,
    journals: Vec<Term>,
    /// What the plan aims at and permits, where the journals are not measured but planned.
    planned: Option<Aim>,
    limits: Option<Band>,
}

/// Judges the bearings of one engine.
///
/// `verdict` says what each set of journals is to be ground to; a set that it leaves out, or leaves alone, is looked at as
/// it is. The chances rest on `rule`'s draws and seed.
///
/// # Units
/// Millimetres on the diameter, at 20 °C.
/// # Limits
/// Journals that are yet to be ground are taken as equally likely anywhere within the finished window; round and straight
/// within it. A wall from the book likewise.
pub fn fit(engine: &Engine<'_>, verdict: Option<&Verdict>, rule: &Policy) -> Fit {
    let mut bench =
        Bench::new(engine.specification, engine.findings, engine.found, engine.book, engine.wanted, engine.unit);
    let plans = SetName::BOTH.map(|set| Planned::of(&bench, verdict, rule, set));
    let found = clearances(&bench, rule, |set| Some((plans[index(set)].found_mm?, Journals::Measured)));
    let planned = clearances(&bench, rule, |set| {
        let plan = &plans[index(set)];
        Some((plan.ground?, Journals::Planned(plan.aim)))
    });
    let mut bearings = Vec::new();
    let housings = housings(&bench, rule);
    for journal in engine.specification.journals() {
        let housing = housings.iter().find(|(own, _)| *own == journal).map(|(_, form)| form.clone());
        let bearing = bearing(&bench, journal, housing, &plans[index(journal.set)], &found, &planned);
        bearings.extend(bearing);
    }
    let sets: Vec<SetFit> = SetName::BOTH
        .into_iter()
        .filter(|set| bearings.iter().any(|b| b.journal.set == *set) || bench.found.shells_of(*set).next().is_some())
        .map(|set| {
            let plan = &plans[index(set)];
            let within = if plan.ground.is_some() { planned.sets[index(set)] } else { found.sets[index(set)] };
            set_fit(&bench, set, plan, &bearings, within)
        })
        .collect();
    for set in &sets {
        wrong_undersize(&mut bench, set, &plans[index(set.set)]);
    }
    for bearing in &bearings {
        locks(&mut bench, bearing);
        housing_at_fault(&mut bench, bearing);
        crush(&mut bench, bearing);
    }
    let end_float = thrust::end_float(&mut bench, rule);
    let sides = thrust::sides(&mut bench, rule);
    let order = order::order(&bench, verdict, end_float.as_ref());
    bench.remarks.extend(reach::out_of_reach(engine.found, &engine.findings.instruments, engine.unit));
    for set in &sets {
        let said = set_remarks(&bench, set, &bearings);
        bench.remarks.extend(said.into_iter().map(|says| Remark { journal: None, says }));
    }
    Fit {
        bearings,
        sets,
        end_float,
        sides,
        order,
        stops: bench.stops,
        remarks: bench.remarks,
        running_c: engine.wanted.running_c,
    }
}

/// What is to become of one set.
#[derive(Clone, Copy, Debug)]
struct Planned {
    /// The undersize that its journals have, where they were measured.
    found_mm: Option<f64>,
    /// The undersize that they are to be ground to.
    ground: Option<f64>,
    /// What they are finished to.
    aim: Aim,
}

impl Planned {
    fn of(bench: &Bench<'_>, verdict: Option<&Verdict>, rule: &Policy, set: SetName) -> Planned {
        let measured = bench.findings.readings.iter().any(|r| r.journal.set == set)
            || bench.findings.traces.iter().any(|t| t.journal.set == set);
        let choice = verdict.and_then(|v| v.sets.iter().find(|s| s.set == set)).map(|s| s.choice);
        let ground = choice.and_then(Choice::undersize_mm);
        let undersize_mm = ground.unwrap_or(bench.ground_to_mm[index(set)]);
        Planned {
            found_mm: measured.then(|| bench.ground_to_mm[index(set)]),
            ground,
            aim: finished(bench, rule, set, undersize_mm),
        }
    }

    fn undersize_mm(&self) -> f64 {
        self.ground.or(self.found_mm).unwrap_or(0.0)
    }
}

/// What the plan finishes to: the aim on its graduation, moved inwards where the growth's spread would carry it out of its
/// window.
fn finished(bench: &Bench<'_>, rule: &Policy, set: SetName, undersize_mm: f64) -> Aim {
    let book = bench.specification.set(set);
    let aim = book.aim(undersize_mm);
    let work = Work::on(bench.specification, bench.findings, set, undersize_mm, bench.unit);
    let plan = regrind::plan(book, &bench.specification.treatment, rule, &work);
    let last = plan.stage(Stage::Finished);
    Aim { target_mm: last.map_or(aim.target_mm, |stage| stage.target_mm), ..aim }
}

/// Clearances of every bearing in one state of the crank, and the chance of each set.
#[derive(Debug, Default)]
struct Clearances {
    list: Vec<(JournalId, Clearance)>,
    sets: [Option<Chance>; 2],
}

impl Clearances {
    fn of(&self, journal: JournalId) -> Option<Clearance> {
        self.list.iter().find(|(own, _)| *own == journal).map(|(_, clearance)| clearance.clone())
    }
}

fn clearances(bench: &Bench<'_>, rule: &Policy, state: impl Fn(SetName) -> Option<(f64, Journals)>) -> Clearances {
    let mut model = Model::default();
    let mut all: Vec<Parts> = Vec::new();
    for journal in bench.specification.journals() {
        let Some((undersize_mm, journals)) = state(journal.set) else { continue };
        let sizes = match journals {
            Journals::Measured => model.journal(bench.findings, journal),
            Journals::Planned(aim) => vec![model.within("journal", aim.window)],
        };
        let Some(running) = bench.running(&mut model, journal, undersize_mm).filter(|_| !sizes.is_empty()) else {
            continue;
        };
        let limits = bench.set_book(journal.set).clearance;
        let planned = match journals {
            Journals::Measured => None,
            Journals::Planned(aim) => Some(aim),
        };
        all.push(Parts { journal, undersize_mm, running, journals: sizes, planned, limits });
    }
    let mut hits = vec![0usize; all.len()];
    let mut set_hits = [0usize; 2];
    if all.iter().any(|parts| parts.limits.is_some()) {
        model.draw(rule.draws, rule.seed, |drawn| {
            let mut all_in = [true; 2];
            for (parts, hits) in all.iter().zip(&mut hits) {
                let Some(limits) = parts.limits else { continue };
                let values = |terms: &[Term]| terms.iter().map(|t| drawn.value(t)).fold(ENDS, ends);
                let (bore, journal) = (values(&parts.running.across), values(&parts.journals));
                let inside = bore.0 - journal.1 >= limits.low_mm && bore.1 - journal.0 <= limits.high_mm;
                *hits += usize::from(inside);
                all_in[index(parts.journal.set)] &= inside;
            }
            for (hits, inside) in set_hits.iter_mut().zip(all_in) {
                *hits += usize::from(inside);
            }
        });
    }
    let chance = |hits: usize| Chance { hits, draws: rule.draws };
    let sets = SetName::BOTH.map(|set| {
        let judged = all.iter().any(|parts| parts.journal.set == set && parts.limits.is_some());
        judged.then(|| chance(set_hits[index(set)]))
    });
    let list = all
        .iter()
        .zip(hits)
        .filter_map(|(parts, hits)| {
            let within = parts.limits.map(|_| chance(hits));
            Some((parts.journal, clearance(bench, rule, &model, parts, within)?))
        })
        .collect();
    Clearances { list, sets }
}

/// Whether a length that was typed keeps limits that were typed: a conversion's last digit does not count.
pub(crate) fn keeps(band: Band, mm: f64) -> bool {
    const ROUNDING_MM: f64 = 1e-9;
    (band.low_mm - ROUNDING_MM..=band.high_mm + ROUNDING_MM).contains(&mm)
}

/// Before any value: nothing is below the least or above the most.
const ENDS: (f64, f64) = (f64::INFINITY, f64::NEG_INFINITY);

fn ends((least, most): (f64, f64), value: f64) -> (f64, f64) {
    (least.min(value), most.max(value))
}

fn clearance(
    bench: &Bench<'_>,
    rule: &Policy,
    model: &Model,
    parts: &Parts,
    within: Option<Chance>,
) -> Option<Clearance> {
    let by_value = |a: &&Term, b: &&Term| model.value(a).total_cmp(&model.value(b));
    let span = |bores: &[Term]| {
        let sizes: Vec<f64> = bores.iter().map(|term| model.value(term)).collect();
        let journals: Vec<f64> = parts.journals.iter().map(|term| model.value(term)).collect();
        let bore = sizes.iter().copied().fold(ENDS, ends);
        let ((smallest_mm, largest_mm), middle_mm) = match parts.planned {
            Some(aim) => ((aim.window.low_mm, aim.window.high_mm), aim.target_mm),
            None => (journals.iter().copied().fold(ENDS, ends), mean(&journals)?),
        };
        Some(Span {
            tightest_mm: bore.0 - largest_mm,
            mean_mm: mean(&sizes)? - middle_mm,
            loosest_mm: bore.1 - smallest_mm,
        })
    };
    let across = span(&parts.running.across)?;
    let narrowest = parts.running.across.iter().min_by(by_value)?;
    let largest = parts.journals.iter().max_by(by_value)?;
    let of = format!("the tightest clearance of {}", parts.journal);
    let tightest = if parts.planned.is_some() { narrowest.clone() } else { less(narrowest, largest) };
    let budget = model.budget(of, &tightest);
    let book = bench.set_book(parts.journal.set);
    let journal_mm = mean(&parts.journals.iter().map(|term| model.value(term)).collect::<Vec<_>>())?;
    let gained_hot_mm = book.material.and_then(|material| {
        // Of the wall only its size matters here, and that hardly: the book's, or what a housing usually leaves.
        let wall_mm = book.wall_at(parts.undersize_mm).map(Band::middle_mm).or_else(|| {
            let housing_mm = book.housing?.middle_mm();
            Some((housing_mm - journal_mm - across.mean_mm) / 2.0)
        })?;
        let bore_mm = journal_mm + across.mean_mm + 2.0 * wall_mm;
        Some(gained_mm(bore_mm, wall_mm, journal_mm, material, bench.wanted.running_c))
    });
    Some(Clearance {
        undersize_mm: parts.undersize_mm,
        across,
        along: span(&parts.running.along).filter(|_| !parts.running.along.is_empty()),
        uncertainty_mm: budget.combined(),
        budget,
        within,
        state: within.map(|chance| crank::verdict(chance.share(), rule.within_at, rule.outside_at)),
        walls: parts.running.walls,
        gained_hot_mm,
    })
}

fn bearing(
    bench: &Bench<'_>,
    journal: JournalId,
    housing: Option<HousingForm>,
    plan: &Planned,
    found: &Clearances,
    planned: &Clearances,
) -> Option<Bearing> {
    let shells = bench.placed.iter().find(|placed| placed.journal == journal).copied();
    let (as_found, as_planned) = (found.of(journal), planned.of(journal));
    let crush = bench.found.crush.iter().find(|crush| crush.journal == journal).map(|crush| {
        let limits = bench.set_book(journal.set).crush;
        (crush.gap_mm, limits.map(|band| keeps(band, crush.gap_mm)))
    });
    if housing.is_none() && shells.is_none() && as_found.is_none() && as_planned.is_none() && crush.is_none() {
        return None;
    }
    let mut model = Model::default();
    let running = bench.running(&mut model, journal, plan.undersize_mm());
    let bores: Vec<f64> = running.iter().flat_map(|r| &r.across).map(|term| model.value(term)).collect();
    let wanted = bench.wanted_mm(journal.set);
    let wanted_journal_mm = mean(&bores).zip(wanted).map(|(bore_mm, (wanted_mm, _))| bore_mm - wanted_mm);
    Some(Bearing { journal, housing, shells, as_found, as_planned, wanted_journal_mm, crush })
}

/// Every bare housing that was measured. The chances are drawn together: what the readings of one gauge share is drawn once.
fn housings(bench: &Bench<'_>, rule: &Policy) -> Vec<(JournalId, HousingForm)> {
    let mut forms: Vec<(JournalId, HousingForm)> =
        bench.specification.journals().filter_map(|journal| Some((journal, housing(bench, journal)?))).collect();
    let mut model = Model::default();
    let terms: Vec<(Vec<Term>, Option<Band>)> = forms
        .iter()
        .map(|(journal, _)| (bench.bare_terms(&mut model, *journal), bench.set_book(journal.set).housing))
        .collect();
    let mut hits = vec![0usize; forms.len()];
    if terms.iter().any(|(_, limits)| limits.is_some()) {
        model.draw(rule.draws, rule.seed, |drawn| {
            for ((bores, limits), hits) in terms.iter().zip(&mut hits) {
                let inside = limits.is_some_and(|band| bores.iter().all(|bore| keeps(band, drawn.value(bore))));
                *hits += usize::from(inside);
            }
        });
    }
    for (((_, form), (_, limits)), hits) in forms.iter_mut().zip(terms).zip(hits) {
        form.within = limits.map(|_| Chance { hits, draws: rule.draws });
        form.state = form.within.map(|chance| crank::verdict(chance.share(), rule.within_at, rule.outside_at));
    }
    forms
}

/// The form of one housing, its chance left out.
fn housing(bench: &Bench<'_>, journal: JournalId) -> Option<HousingForm> {
    let bores = bench.bare(journal);
    let sizes: Vec<f64> = bores.iter().map(|(_, mm)| *mm).collect();
    let (smallest_mm, largest_mm) = sizes.iter().copied().fold(ENDS, ends);
    let mean_mm = mean(&sizes)?;
    let doubts: Vec<f64> =
        bores.iter().map(|(bore, _)| bore.size.standard_uncertainty_mm(&bench.findings.instruments)).collect();
    let uncertainty_mm = mean(&doubts)?;
    // Largest less smallest among those that share a place (or a plane), where two or more do.
    let worst = |same: &dyn Fn(&crate::Bore, &crate::Bore) -> bool| {
        bores
            .iter()
            .filter_map(|(here, _)| {
                let group = bores.iter().filter(|(bore, _)| same(here, bore)).map(|(_, mm)| *mm);
                let sizes: Vec<f64> = group.collect();
                let (least, most) = sizes.iter().copied().fold(ENDS, ends);
                (sizes.len() > 1).then_some(most - least)
            })
            .reduce(f64::max)
    };
    let turned = |deg: f64| deg.rem_euclid(180.0);
    Some(HousingForm {
        smallest_mm,
        mean_mm,
        largest_mm,
        out_of_round_mm: worst(&|a, b| (a.at_mm - b.at_mm).abs() <= SAME_PLACE_MM),
        taper_mm: worst(&|a, b| (turned(a.plane_deg) - turned(b.plane_deg)).abs() <= SAME_PLANE_DEG),
        uncertainty_mm,
        within: None,
        state: None,
    })
}

fn set_fit(bench: &Bench<'_>, set: SetName, plan: &Planned, bearings: &[Bearing], within: Option<Chance>) -> SetFit {
    let undersize_mm = plan.undersize_mm();
    let own = || bearings.iter().filter(|bearing| bearing.journal.set == set);
    let means: Vec<f64> = own().filter_map(Bearing::to_come).map(|clearance| clearance.across.mean_mm).collect();
    let (least, most) = means.iter().copied().fold(ENDS, ends);
    let (aim, no_aim) = match asked(bench, set) {
        // Of the undersize that it is ground to, the plan has the last word.
        Some(Ok(aim)) if plan.ground.is_some_and(|mm| (mm - aim.undersize_mm).abs() <= SAME_STEP_MM) => {
            (Some(plan.aim), None)
        }
        // Shells of another undersize ask for a size that nothing will be ground to: they are a stop, not an aim.
        Some(Ok(_)) if plan.ground.is_some() => (None, None),
        Some(Ok(aim)) => (Some(aim), None),
        Some(Err(why)) => (None, Some(why)),
        None => (None, None),
    };
    SetFit {
        set,
        undersize_mm,
        ground: plan.ground.is_some(),
        limits: bench.set_book(set).clearance,
        wanted_mm: bench.wanted_mm(set),
        aim,
        no_aim,
        matched: bench.matched[index(set)]
            && bench.shells_mm(set).is_none_or(|mm| (mm - undersize_mm).abs() <= SAME_STEP_MM),
        within,
        spread_mm: (means.len() > 1).then_some(most - least),
        not_measured: bench
            .specification
            .journals()
            .filter(|journal| journal.set == set)
            .filter(|journal| !own().any(|b| b.journal == *journal && b.to_come().is_some()))
            .collect(),
    }
}

/// Shells on the bench of another undersize than the journals will have.
fn wrong_undersize(bench: &mut Bench<'_>, set: &SetFit, plan: &Planned) {
    let Some(shells_mm) = bench.shells_mm(set.set) else { return };
    if plan.ground.is_none() && plan.found_mm.is_none() {
        return;
    }
    let off_mm = shells_mm - set.undersize_mm;
    // Half-way to a confused step is said there already.
    if off_mm.abs() <= SAME_STEP_MM || bench.stops.iter().any(|s| s.set == Some(set.set) && is_about_marks(s.kind)) {
        return;
    }
    let unit = bench.unit;
    let journals = if set.ground { "will be ground" } else { "are" };
    let what = if off_mm > 0.0 {
        format!(
            "They would lock the crank: they are {} thicker across the bore than the journals leave.",
            bench.size(off_mm)
        )
    } else {
        format!("The crank would run {} loose in them.", bench.size(-off_mm))
    };
    let says = format!(
        "The {} shells on the bench are {}; the journals {journals} {}. {what} Get shells of the journals' undersize.",
        set.set,
        step_words(shells_mm, unit),
        step_words(set.undersize_mm, unit),
    );
    let kind = if off_mm > 0.0 { StopKind::Locks } else { StopKind::WrongUndersize };
    bench.stops.push(Stop { kind, set: Some(set.set), journal: None, says });
}

const fn is_about_marks(kind: StopKind) -> bool {
    matches!(kind, StopKind::StepsConfused | StopKind::NoSuchStep | StopKind::MixedUndersizes)
}

/// A bearing without room for its journal.
fn locks(bench: &mut Bench<'_>, bearing: &Bearing) {
    let Some(clearance) = bearing.to_come() else { return };
    if clearance.across.tightest_mm > 0.0 {
        return;
    }
    let walls = match clearance.walls {
        WallFrom::ShellsIn | WallFrom::Measured => "these shells",
        WallFrom::Book | WallFrom::Moved => "shells like the book's",
    };
    let says = format!(
        "{} would be locked: with {walls} the bore is {} smaller than the journal where they come nearest. Bore less two \
         walls must be more than the journal. Look at the bore, both walls and the journal before anything is turned.",
        capital(bearing.journal),
        bench.size(-clearance.across.tightest_mm),
    );
    let (set, journal) = (Some(bearing.journal.set), Some(bearing.journal));
    bench.stops.push(Stop { kind: StopKind::Locks, set, journal, says });
}

/// A housing outside its limits: grinding cannot put that right.
fn housing_at_fault(bench: &mut Bench<'_>, bearing: &Bearing) {
    let (Some(form), Some(band)) = (&bearing.housing, bench.set_book(bearing.journal.set).housing) else { return };
    if form.state != Some(crank::State::Outside) {
        return;
    }
    let (set, journal) = (Some(bearing.journal.set), Some(bearing.journal));
    let limits = bench.range(band);
    let round = form
        .out_of_round_mm
        .filter(|mm| *mm > band.width_mm())
        .map(|mm| format!(" It is {} out of round: a shell takes the shape of its housing.", bench.size(mm)));
    let says = format!(
        "The housing of {} is {} to {}, and its limits are {limits}. The housing, not the crank, is at fault there: no \
         journal size puts it right for the other bearings. Have it put right as the maker's manual says before shells \
         are ordered.{}",
        bearing.journal,
        bench.size(form.smallest_mm),
        bench.size(form.largest_mm),
        round.unwrap_or_default(),
    );
    bench.stops.push(Stop { kind: StopKind::Housing, set, journal, says });
}

fn crush(bench: &mut Bench<'_>, bearing: &Bearing) {
    let (Some((gap_mm, Some(false))), Some(band)) = (bearing.crush, bench.set_book(bearing.journal.set).crush) else {
        return;
    };
    let what = if gap_mm < band.low_mm {
        "The shells are not held and can turn in the housing"
    } else {
        "The shells are pressed too hard and bulge at the split"
    };
    let says = format!(
        "Crush of {}: the gap is {}, the book asks for {}. {what}. Look at the caps, the bore and the shells' length.",
        bearing.journal,
        bench.size(gap_mm),
        bench.range(band),
    );
    let (set, journal) = (Some(bearing.journal.set), Some(bearing.journal));
    bench.stops.push(Stop { kind: StopKind::Housing, set, journal, says });
}

fn set_remarks(bench: &Bench<'_>, set: &SetFit, bearings: &[Bearing]) -> Vec<String> {
    let mut said = Vec::new();
    let mut say = |says: String| said.push(says);
    if let Some(why) = &set.no_aim {
        say(why.clone());
    }
    let own: Vec<&Bearing> = bearings.iter().filter(|bearing| bearing.journal.set == set.set).collect();
    let clear: Vec<&Clearance> = own.iter().filter_map(|bearing| bearing.to_come()).collect();
    if set.limits.is_none() && !clear.is_empty() {
        let size_mm = bench.specification.set(set.set).finished(set.undersize_mm).middle_mm();
        let usual = bench.size(size_mm * CLEARANCE_PER_DIAMETER);
        say(format!(
            "The specification has no clearance for the {}s, so none is judged. Common practice, no source: a thousandth \
             of the journal, here about {usual}. The maker's manual goes before it.",
            set.set
        ));
    }
    if clear.iter().any(|clearance| matches!(clearance.walls, WallFrom::Book | WallFrom::Moved)) {
        let shells: Vec<_> = bench.found.shells.iter().zip(&bench.known).filter(|(s, _)| s.set == set.set).collect();
        let measured = shells.iter().filter(|(shell, _)| shell.wall.is_some());
        let undersizes: Vec<Option<f64>> = measured.map(|(_, known)| known.undersize_mm).collect();
        let same = |mm: &Option<f64>| mm.is_none_or(|mm| (mm - set.undersize_mm).abs() <= SAME_STEP_MM);
        let why = if undersizes.iter().any(same) {
            "were measured, but not every bearing has its two halves yet: until then clearances stand on what the walls \
             should be. Settle which half goes where."
        } else if !undersizes.is_empty() {
            "were measured on shells of another undersize: the clearances stand on what the walls should be. Measure those \
             that are to be fitted before you trust the box."
        } else {
            "were not measured: the clearances stand on what they should be. Measure before you trust the box."
        };
        say(format!("The walls of the {} shells {why}", set.set));
    }
    let walls_at_crown = |c: &&&Clearance| c.along.is_some() && c.walls != WallFrom::ShellsIn;
    if clear.iter().any(|c| walls_at_crown(&c)) {
        say(format!(
            "Along the split the {} bearings have more room than shown: walls are measured at the crown, and shells are \
             relieved towards the split.",
            set.set
        ));
    }
    let close = own.iter().filter(|bearing| {
        bearing.housing.as_ref().is_some_and(|form| form.state == Some(crank::State::TooCloseToCall))
    });
    let close: Vec<String> = close.map(|bearing| bearing.journal.to_string()).collect();
    if let (false, Some(band)) = (close.is_empty(), bench.set_book(set.set).housing) {
        say(format!(
            "Too close to the housing's limits, {}, to call: {}. Set the bore gauge on a ring of that size and measure \
             them again, several times in each place, before shells are ordered.",
            bench.range(band),
            close.join(", ")
        ));
    }
    if !set.not_measured.is_empty() && !clear.is_empty() {
        let listed: Vec<String> = set.not_measured.iter().map(ToString::to_string).collect();
        say(format!("Not measured: {}. They may be wider or tighter than the others.", listed.join(", ")));
    }
    if bench.set_book(set.set).material.is_none() && !clear.is_empty() {
        say(format!(
            "The specification does not say what the housings of the {}s are made of, so nothing is said of hot \
             clearances.",
            set.set
        ));
    }
    said
}

/// `Main 3`, as a sentence begins.
fn capital(journal: JournalId) -> String {
    match journal.set {
        SetName::Main => format!("Main {}", journal.number),
        SetName::Pin => format!("Pin {}", journal.number),
    }
}
