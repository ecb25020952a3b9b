//! What is this? A size or a few of an unknown crank: which engines, which undersize, which point in the work fit.

use crank::{Band, SetName, Specification};
use statrs::function::erf::erfc;
use units::Unit;

use crate::chance::SAME_LENGTH_MM;
use crate::plan::{Work, plan};
use crate::{Policy, Stage};

/// How much a journal in use has lost on average, on the diameter: 0.0024 in. Wear falls off evenly from nothing, so that
/// little is likelier than much. Common practice, no source.
const USUAL_WEAR_MM: f64 = 0.06;
/// Sizes between which an engine that is not among those known could have journals.
const OTHER_ENGINES_MM: (f64, f64) = (15.0, 300.0);
/// How likely it is beforehand that the crank is of none of the engines known.
const NONE_OF_THEM: f64 = 0.1;
/// An answer that is less likely than that is not told.
const WORTH_TELLING: f64 = 0.01;
/// So many sizes at most: each may be of a main or of a pin.
pub const MOST_SIZES: usize = 8;

/// Where in its life a crank is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Life {
    /// Ground to size and not run since.
    Finished,
    /// Run: worn from a finished size.
    Worn,
    /// As it goes to heat treatment.
    BeforeTreatment,
    /// As it came off the wheel.
    OffTheWheel,
}

impl Life {
    const ALL: [Life; 4] = [Life::Finished, Life::Worn, Life::BeforeTreatment, Life::OffTheWheel];

    /// As JSON and people call it.
    pub const fn word(self) -> &'static str {
        match self {
            Life::Finished => "finished",
            Life::Worn => "worn",
            Life::BeforeTreatment => "before treatment",
            Life::OffTheWheel => "off the wheel",
        }
    }

    /// How likely it is beforehand: most cranks that lie about were run, or are ready to be.
    fn usual(self) -> f64 {
        match self {
            Life::Finished => 0.35,
            Life::Worn => 0.45,
            Life::BeforeTreatment | Life::OffTheWheel => 0.1,
        }
    }
}

/// A size that somebody read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeenSize {
    /// What it is of, where that is known.
    pub set: Option<SetName>,
    /// The size.
    pub size_mm: f64,
    /// Standard uncertainty of it.
    pub doubt_mm: f64,
}

/// What is known of a crank that nobody knows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Seen {
    /// Sizes of its journals, [`MOST_SIZES`] at most; the rest is not looked at.
    pub sizes: Vec<SeenSize>,
    /// How many mains and pins it has, where somebody counted.
    pub counts: [Option<usize>; 2],
}

/// An engine that it may be of.
#[derive(Clone, Copy, Debug)]
pub struct KnownCrank<'a> {
    /// Its book.
    pub specification: &'a Specification,
    /// How the shop works: sizes before treatment and off the wheel hang on it.
    pub policy: &'a Policy,
}

/// What one size is, in one answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Identified {
    /// Main or pin.
    pub set: SetName,
    /// The undersize, on the diameter; zero at standard.
    pub undersize_mm: f64,
    /// What the book and the plan ask for at that point of its life; of a worn one the finished limits.
    pub window: Band,
}

/// One answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Fits {
    /// Which of the engines, by its place.
    pub engine: usize,
    /// Where in its life it is.
    pub life: Life,
    /// What each size is, in the order they were told.
    pub sizes: Vec<Identified>,
    /// How likely, of all answers and of none of these engines.
    pub share: f64,
}

/// What would tell two answers apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TellApart {
    /// Count the journals of a set: the one has so many, the other so many.
    Count(SetName, [usize; 2]),
    /// Measure a journal of a set: at the undersizes of its own ladder the one can have the first size at standard, the other
    /// the second.
    Size(SetName, [Band; 2]),
    /// Measure the throw.
    Throw([f64; 2]),
    /// Look for a stamp, or at the back of the old shells: only the undersize differs.
    Undersize,
    /// Read it in two directions and look whether it was polished: only the point in its life differs.
    Life,
}

/// All answers.
#[derive(Clone, Debug, PartialEq)]
pub struct Which {
    /// The likeliest first; none below one in a hundred.
    pub fits: Vec<Fits>,
    /// How likely it is that it is of none of these engines.
    pub none: f64,
    /// What would tell the first answer from the next, where there is a next.
    pub tell_apart: Option<TellApart>,
}

/// Which of some engines, at which undersize and where in its life, a crank is of which only a few sizes are known.
///
/// Each size is of a main or a pin; all mains have one undersize and all pins one, and all of the crank is at one point of its
/// life. Finished, before treatment, and off the wheel a size lies anywhere in its window; worn it lies below the finished
/// limits, by wear that falls off evenly with a mean of 0.06 mm. All engines are as likely beforehand, one crank in ten is of
/// none of them, and then its size may be anything between 15 and 300 mm.
///
/// # Units
/// Millimetres on the diameter.
/// # Limits
/// It knows only the engines that it is given. A likely answer is a place to look in a book, never a specification to grind by.
/// # Source
/// Bayes' rule. How likely each point of life is beforehand, and how much a journal is worn: common practice, no source.
pub fn which(engines: &[KnownCrank<'_>], seen: &Seen) -> Which {
    let sizes = &seen.sizes[..seen.sizes.len().min(MOST_SIZES)];
    let anything = 1.0 / (OTHER_ENGINES_MM.1 - OTHER_ENGINES_MM.0);
    let none = NONE_OF_THEM * anything.powi(sizes.len() as i32);
    // What is a million times less likely than an engine that nobody knows is not kept.
    let least = none * 1e-6;
    let mut weighed: Vec<Fits> = Vec::new();
    for (engine, known) in engines.iter().enumerate().filter(|(_, known)| has_count(known.specification, seen)) {
        let beforehand = (1.0 - NONE_OF_THEM) / engines.len() as f64;
        let windows = Windows::of(*known);
        for life in Life::ALL {
            for assignment in assignments(sizes) {
                let weight = beforehand * life.usual() * 0.5f64.powi(guesses(sizes));
                let found = windows.weigh(life, sizes, &assignment, weight, least);
                weighed.extend(found.into_iter().map(|(sizes, share)| Fits { engine, life, sizes, share }));
            }
        }
    }
    let total = none + weighed.iter().map(|fits| fits.share).sum::<f64>();
    for fits in &mut weighed {
        fits.share /= total;
    }
    weighed.retain(|fits| fits.share >= WORTH_TELLING);
    weighed.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.engine.cmp(&b.engine)).then(a.life.cmp(&b.life)));
    let tell_apart = match weighed.as_slice() {
        [first, second, ..] => tell_apart(engines, sizes, seen, first, second),
        _ => None,
    };
    Which { fits: weighed, none: none / total, tell_apart }
}

fn has_count(specification: &Specification, seen: &Seen) -> bool {
    SetName::BOTH.iter().zip(seen.counts).all(|(&set, count)| count.is_none_or(|n| n == specification.set(set).count()))
}

/// How many sizes may be of either set.
fn guesses(sizes: &[SeenSize]) -> i32 {
    sizes.iter().filter(|size| size.set.is_none()).count() as i32
}

/// Every way in which the sizes can be of mains and pins.
fn assignments(sizes: &[SeenSize]) -> Vec<Vec<SetName>> {
    sizes.iter().fold(vec![Vec::new()], |ways, size| {
        let both = SetName::BOTH.into_iter().filter(|&set| size.set.is_none_or(|told| told == set));
        both.flat_map(|set| ways.iter().map(move |way| [way.as_slice(), &[set]].concat())).collect()
    })
}

/// What an engine asks for at one undersize; nothing where its plan has no such stage.
#[derive(Clone, Copy)]
struct Rung {
    undersize_mm: f64,
    finished: Band,
    before_treatment: Option<Band>,
    off_the_wheel: Option<Band>,
}

impl Rung {
    fn window(&self, life: Life) -> Option<Band> {
        match life {
            Life::Finished | Life::Worn => Some(self.finished),
            Life::BeforeTreatment => self.before_treatment,
            Life::OffTheWheel => self.off_the_wheel,
        }
    }
}

/// What an engine asks for at each undersize of mains and pins.
struct Windows {
    rungs: [Vec<Rung>; 2],
}

impl Windows {
    fn of(known: KnownCrank<'_>) -> Windows {
        let rungs = SetName::BOTH.map(|set| {
            let book = known.specification.set(set);
            let rung = |undersize_mm: f64| {
                let work = Work::to(undersize_mm, known.specification.unit);
                let plan = plan(book, &known.specification.treatment, known.policy, &work);
                let window = |stage: Stage| plan.stage(stage).filter(|size| !size.is_lost()).map(|size| size.window);
                Rung {
                    undersize_mm,
                    finished: book.finished(undersize_mm),
                    before_treatment: window(Stage::BeforeTreatment),
                    off_the_wheel: window(Stage::Grind),
                }
            };
            book.ladder_mm().into_iter().map(rung).collect()
        });
        Windows { rungs }
    }

    /// Every pair of undersizes at which the sizes can be what they are taken for, with its weight.
    fn weigh(
        &self,
        life: Life,
        sizes: &[SeenSize],
        assignment: &[SetName],
        weight: f64,
        least: f64,
    ) -> Vec<(Vec<Identified>, f64)> {
        // A set of which nothing was read may have any undersize: its rungs add up to one.
        let rungs = |set: SetName| {
            let own = &self.rungs[usize::from(set == SetName::Pin)];
            if assignment.contains(&set) { own.as_slice() } else { own.get(..1).unwrap_or(own) }
        };
        let [mains, pins] = SetName::BOTH.map(rungs);
        let mut found = Vec::new();
        for main in mains {
            for pin in pins {
                let mut share = weight / (mains.len() * pins.len()) as f64;
                let mut identified = Vec::new();
                for (size, &set) in sizes.iter().zip(assignment) {
                    let rung = if set == SetName::Main { main } else { pin };
                    let window = rung.window(life);
                    let density =
                        |window: Band| if life == Life::Worn { worn(size, window) } else { within(size, window) };
                    share *= window.map_or(0.0, density);
                    if share <= 0.0 {
                        break;
                    }
                    identified.extend(window.map(|window| Identified { set, undersize_mm: rung.undersize_mm, window }));
                }
                if share > least {
                    found.push((identified, share));
                }
            }
        }
        found
    }
}

/// How dense the readings of a size lie that is anywhere in a window, in each millimetre.
fn within(size: &SeenSize, window: Band) -> f64 {
    let doubt_mm = size.doubt_mm.max(1e-6);
    let below = |mm: f64| 0.5 * erfc((mm - size.size_mm) / (doubt_mm * std::f64::consts::SQRT_2));
    // The share of readings of the low end that lie below, less those of the high end.
    (below(window.low_mm) - below(window.high_mm)).max(0.0) / window.width_mm().max(1e-6)
}

/// The same of a size that is worn from anywhere in the window. What the reading's own doubt adds is little beside wear.
fn worn(size: &SeenSize, window: Band) -> f64 {
    let left = |mm: f64| (-(mm - size.size_mm) / USUAL_WEAR_MM).exp();
    if size.size_mm >= window.high_mm {
        return 0.0;
    }
    (left(window.low_mm.max(size.size_mm)) - left(window.high_mm)).max(0.0) / window.width_mm().max(1e-6)
}

fn tell_apart(
    engines: &[KnownCrank<'_>],
    sizes: &[SeenSize],
    seen: &Seen,
    first: &Fits,
    second: &Fits,
) -> Option<TellApart> {
    let [a, b] = [first, second].map(|fits| engines[fits.engine].specification);
    if first.engine == second.engine {
        let same = |(x, y): (&Identified, &Identified)| {
            x.set == y.set && (x.undersize_mm - y.undersize_mm).abs() < SAME_LENGTH_MM
        };
        let alike = first.sizes.iter().zip(&second.sizes).all(same);
        return Some(if alike { TellApart::Life } else { TellApart::Undersize });
    }
    let counted = SetName::BOTH.into_iter().zip(seen.counts).filter(|(_, count)| count.is_none());
    let mut differ = counted.map(|(set, _)| (set, [a.set(set).count(), b.set(set).count()]));
    if let Some((set, counts)) = differ.find(|(_, counts)| counts[0] != counts[1]) {
        return Some(TellApart::Count(set, counts));
    }
    let is_read =
        |set: SetName| first.sizes.iter().chain(&second.sizes).any(|size| size.set == set) && !sizes.is_empty();
    let apart =
        |x: Band, y: Band| x.low_mm > y.high_mm + 2.0 * USUAL_WEAR_MM || y.low_mm > x.high_mm + 2.0 * USUAL_WEAR_MM;
    for set in SetName::BOTH.into_iter().filter(|&set| !is_read(set)) {
        let (x, y) = (a.set(set).size, b.set(set).size);
        if apart(x, y) {
            return Some(TellApart::Size(set, [x, y]));
        }
    }
    let throws = [a.throw_mm, b.throw_mm];
    ((throws[0] - throws[1]).abs() > 0.5).then_some(TellApart::Throw(throws))
}

impl TellApart {
    /// What to do, in a sentence; `names` are the two engines', the first answer's first.
    pub fn words(&self, names: [&str; 2], unit: Unit) -> String {
        let [a, b] = names;
        let band = |band: &Band| {
            let size = |mm: f64| units::show_mm(mm, unit, unit.usual_decimals());
            format!("{} to {} {unit}", size(band.low_mm), size(band.high_mm))
        };
        match self {
            TellApart::Count(set, [x, y]) => {
                format!("Count the {}: the {a} has {x}, the {b} {y}.", crate::next::plural(*set))
            }
            TellApart::Size(set, [x, y]) => {
                format!("Measure a {set}: at standard one of the {a} has {}, of the {b} {}.", band(x), band(y))
            }
            TellApart::Throw([x, y]) => {
                let stroke = |mm: f64| {
                    format!("{} {unit}", units::show_mm(2.0 * mm, unit, if unit == Unit::Inch { 3 } else { 1 }))
                };
                format!("Measure the stroke: the {a} has {}, the {b} {}.", stroke(*x), stroke(*y))
            }
            TellApart::Undersize => {
                "Look for a stamp, or for the size on the back of the old shells: only the undersize differs."
                    .to_owned()
            }
            TellApart::Life => {
                "Read it in two directions: worn journals are rarely round, and a polished one has no grinding marks."
                    .to_owned()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a reading in the middle of a window that is wide beside its doubt is as dense as one in its width; at an end
    /// half of that. Worn: 0.06 below the low end of a window that is narrow beside the wear, exp(-1) in 0.06.
    #[test]
    fn sizes_lie_where_the_window_and_the_wear_put_them() {
        let window = Band { low_mm: 50.0, high_mm: 50.02 };
        let seen = |size_mm: f64| SeenSize { set: None, size_mm, doubt_mm: 0.0005 };
        assert!((within(&seen(50.01), window) - 50.0).abs() < 1e-9);
        assert!((within(&seen(50.0), window) - 25.0).abs() < 1e-9);
        assert!(within(&seen(50.03), window) < 1e-9);
        let narrow = Band { low_mm: 50.0, high_mm: 50.0001 };
        assert!((worn(&seen(49.94), narrow) - (-1f64).exp() / 0.06).abs() < 0.02, "{}", worn(&seen(49.94), narrow));
        assert_eq!(worn(&seen(50.0001), narrow), 0.0);
    }

    #[test]
    fn two_sizes_of_nothing_told_can_be_four_things() {
        let free = SeenSize { set: None, size_mm: 50.0, doubt_mm: 0.001 };
        let told = SeenSize { set: Some(SetName::Pin), ..free };
        assert_eq!(
            (assignments(&[free, free]).len(), assignments(&[free, told]).len(), guesses(&[free, told])),
            (4, 2, 1)
        );
        assert_eq!(assignments(&[]), [Vec::<SetName>::new()]);
    }
}
