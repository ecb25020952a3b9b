//! Slips of every sort planted in shafts of every sort, and how many good readings are accused.
//!
//! The shafts are not made the way the search thinks: wear is an arc worn on one side (a power of a cosine, so neither an
//! ellipse nor a normal quantity), in proportion to how far a journal is worn, with scores round a station, nicks at a
//! place, ridges that a grooved shell leaves on all mains, journals worn many times more than their siblings, and single
//! journals ground a step further. Shares and sizes are the trade's experience (common practice, no source).

use gauge::misread::{Group, Kind, Spot, Suspicion, find};
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, LogNormal, Normal};
use rand_pcg::Pcg64;
use units::Unit;

const THOU: f64 = 0.0254;

#[derive(Clone, Copy, Debug)]
struct World {
    name: &'static str,
    unit: Unit,
    cylinders: usize,
    stations: usize,
    planes: usize,
    repeats: usize,
    /// Median wear of a journal in thou, and how far its logarithm varies between siblings.
    worn_thou: f64,
    unlike: f64,
    /// Share of the wear that is oval; share that is taper, barrel and twist (standard deviation).
    oval: f64,
    along: f64,
    /// Height of the ridge in the middle of each main, in thou.
    ridge_thou: f64,
    /// Chance of a score round a station, of a nick at a place, and their depths.
    scored: f64,
    nicked: f64,
    /// Chance that a journal was ground a step further than its siblings.
    odd_step: f64,
    /// In graduations of its own: 0.0001 in or 0.002 mm, 0.001 in or 0.01 mm.
    coarse: bool,
    /// Scatter of a reading repeated, in thou.
    noise_thou: f64,
    /// Whether the readings agree so closely that slips of 0.005 in must be found.
    close: bool,
}

const HALF_WORN: World = World {
    name: "half worn",
    unit: Unit::Inch,
    cylinders: 4,
    stations: 2,
    planes: 2,
    repeats: 1,
    worn_thou: 1.0,
    unlike: 0.5,
    oval: 0.35,
    along: 0.15,
    ridge_thou: 0.0,
    scored: 0.0,
    nicked: 0.0,
    odd_step: 0.0,
    coarse: false,
    noise_thou: 0.07,
    close: true,
};

fn worlds() -> Vec<World> {
    let w = HALF_WORN;
    let inch = vec![
        w,
        World { name: "fresh from the wheel", worn_thou: 0.1, ..w },
        World { name: "fresh, three stations, four planes", worn_thou: 0.1, stations: 3, planes: 4, ..w },
        World { name: "oval to 3 thou", worn_thou: 2.5, oval: 0.7, close: false, ..w },
        World { name: "oval to 3 thou, three stations", worn_thou: 2.5, oval: 0.7, stations: 3, close: false, ..w },
        World { name: "tapered and barrelled", along: 0.5, stations: 3, worn_thou: 1.5, close: false, ..w },
        World { name: "scored and nicked", scored: 0.15, nicked: 0.02, stations: 3, close: false, ..w },
        World { name: "siblings worn differently", unlike: 1.1, close: false, ..w },
        World { name: "siblings worn differently, six", unlike: 1.1, cylinders: 6, stations: 3, close: false, ..w },
        World { name: "ridges on the mains", ridge_thou: 1.0, stations: 3, close: false, ..w },
        World { name: "journals at another step", odd_step: 0.15, ..w },
        World { name: "one plane", planes: 1, stations: 3, ..w },
        World { name: "one station, two planes", stations: 1, close: false, ..w },
        World { name: "two stations, one plane", planes: 1, close: false, ..w },
        World { name: "read twice each", repeats: 2, ..w },
        World { name: "read three times, oval", repeats: 3, worn_thou: 2.5, oval: 0.6, close: false, ..w },
        World { name: "many readings", stations: 5, planes: 4, scored: 0.05, close: false, ..w },
        World { name: "coarse micrometer", coarse: true, noise_thou: 0.2, close: false, ..w },
        World { name: "one cylinder", cylinders: 1, close: false, ..w },
        World { name: "two cylinders, three stations", cylinders: 2, stations: 3, close: false, ..w },
        World { name: "eight throws", cylinders: 8, scored: 0.03, ..w },
        World {
            name: "everything at once",
            worn_thou: 2.0,
            unlike: 0.9,
            oval: 0.6,
            along: 0.3,
            ridge_thou: 0.5,
            scored: 0.1,
            nicked: 0.01,
            odd_step: 0.05,
            stations: 3,
            close: false,
            ..w
        },
    ];
    let mut all = inch.clone();
    all.extend(inch.into_iter().map(|w| World { unit: Unit::Millimetre, ..w }));
    all
}

#[derive(Clone, Debug)]
struct Shaft {
    groups: Vec<Group>,
    spots: Vec<Spot>,
}

fn normal(rng: &mut Pcg64, sd: f64) -> f64 {
    Normal::new(0.0, sd.max(1e-12)).unwrap().sample(rng)
}

fn graduation_mm(w: &World) -> f64 {
    match (w.unit, w.coarse) {
        (Unit::Inch, false) => 0.1 * THOU,
        (Unit::Inch, true) => THOU,
        (Unit::Millimetre, false) => 0.002,
        (Unit::Millimetre, true) => 0.01,
    }
}

fn error_limit_mm(w: &World) -> f64 {
    if w.unit == Unit::Inch { 0.1 * THOU } else { 0.004 }
}

/// A size as the micrometer shows it, and as it is typed.
fn read(w: &World, mm: f64) -> (f64, String) {
    let graduation = graduation_mm(w);
    let shown = (mm / graduation).round() * graduation;
    (shown, units::show_mm(shown, w.unit, units::digits_for(graduation, w.unit)))
}

fn make(w: &World, rng: &mut Pcg64) -> Shaft {
    let inch = w.unit == Unit::Inch;
    let (turn_mm, frame_mm) = if inch { (0.635, 25.4) } else { (0.5, 25.0) };
    let step = if inch { 10.0 * THOU } else { 0.25 };
    let ladder_mm: Vec<f64> = (0..=4).map(|i| f64::from(i) * step).collect();
    let new = if inch { [(53.9623, 53.9750), (47.6123, 47.6250)] } else { [(53.970, 53.985), (47.610, 47.625)] };
    let (limit, graduation, repeat) = (error_limit_mm(w), graduation_mm(w), w.noise_thou * THOU);
    let (mut groups, mut spots) = (Vec::new(), Vec::new());
    let error = rng.random_range(-limit..limit);
    for (set, count) in [(0, w.cylinders + 1), (1, w.cylinders)] {
        let (low, high) = new[set];
        let ground = rng.random_range(0..=2usize);
        // The direction in which this set is worn: pins about their throw, mains anywhere.
        let towards = if set == 0 { rng.random_range(0.0..180.0) } else { 0.0 };
        for journal in 0..count {
            groups.push(Group {
                name: format!("{} {}", ["main", "pin"][set], journal + 1),
                set,
                new_mm: (low, high),
                ladder_mm: ladder_mm.clone(),
                out_of_round_mm: Some(0.5 * THOU),
                taper_mm: Some(0.5 * THOU),
            });
            let further = usize::from(rng.random_bool(w.odd_step));
            let worn = (w.worn_thou * THOU * LogNormal::new(0.0, w.unlike).unwrap().sample(rng)).min(8.0 * THOU);
            let oval = (worn * w.oval * rng.random_range(0.5..1.5)).min(3.0 * THOU);
            let sharp = if rng.random_bool(0.5) { 1.0 } else { 3.0 };
            let across = if rng.random_bool(0.85) { towards + normal(rng, 22.0) } else { rng.random_range(0.0..180.0) };
            let [taper, barrel, twist] = [1.0, 0.7, 0.7].map(|share| normal(rng, share * w.along * worn));
            let size = rng.random_range(low..high) - ladder_mm[ground + further] - (worn - oval).max(0.0) + error;
            for station in 0..w.stations {
                let z = if w.stations == 1 { 0.0 } else { 2.0 * station as f64 / (w.stations - 1) as f64 - 1.0 };
                let score = if rng.random_bool(w.scored) { rng.random_range(0.3..2.5) * THOU } else { 0.0 };
                let ridge = if set == 0 && z.abs() < 0.2 { w.ridge_thou * THOU } else { 0.0 };
                for plane in 0..w.planes {
                    let plane_deg = 180.0 * plane as f64 / w.planes as f64;
                    let facing = (plane_deg - across).to_radians().cos().abs().powf(sharp);
                    let nick = if rng.random_bool(w.nicked) { rng.random_range(0.3..2.0) * THOU } else { 0.0 };
                    let form = normal(rng, 0.05 * THOU + 0.04 * worn);
                    let honest = size - (oval + twist * z) * facing + taper * z / 2.0
                        - barrel.abs() * z * z / 2.0
                        - score
                        - nick
                        + ridge
                        + form;
                    let (mut sizes_mm, mut typed) = (Vec::new(), Vec::new());
                    for _ in 0..w.repeats {
                        let (mm, text) = read(w, honest + normal(rng, repeat));
                        sizes_mm.push(mm);
                        typed.push(text);
                    }
                    spots.push(Spot {
                        group: groups.len() - 1,
                        at_mm: z * 9.0,
                        plane_deg,
                        sizes_mm,
                        typed,
                        turn_mm,
                        frame_mm,
                        uncertainty_mm: (limit * limit / 3.0 + graduation * graduation / 12.0 + repeat * repeat).sqrt(),
                        repeatability_mm: repeat,
                        graduation_mm: graduation,
                        with: "mic".to_owned(),
                    });
                }
            }
        }
    }
    Shaft { groups, spots }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Slip {
    None,
    Turn,
    /// 0.010 in or 0.25 mm.
    Ten,
    /// 0.005 in or 0.12 mm.
    Five,
    DigitsSwapped,
    OneDigit,
    Journals,
    Row,
    Micrometer,
    Heaped,
}

const SLIPS: [Slip; 10] = [
    Slip::None,
    Slip::Turn,
    Slip::Ten,
    Slip::Five,
    Slip::DigitsSwapped,
    Slip::OneDigit,
    Slip::Journals,
    Slip::Row,
    Slip::Micrometer,
    Slip::Heaped,
];

/// Plants a slip; the spots it touched, and nothing where this shaft does not lend itself to it.
fn plant(w: &World, shaft: &mut Shaft, slip: Slip, rng: &mut Pcg64) -> Option<Vec<usize>> {
    let at = rng.random_range(0..shaft.spots.len());
    let repeat = rng.random_range(0..w.repeats);
    let inch = w.unit == Unit::Inch;
    let put = |shaft: &mut Shaft, spot: usize, mm: f64| {
        let (mm, text) = read(w, mm);
        shaft.spots[spot].sizes_mm[repeat] = mm;
        shaft.spots[spot].typed[repeat] = text;
    };
    let was = shaft.spots[at].sizes_mm[repeat];
    let side = if rng.random_bool(0.5) { 1.0 } else { -1.0 };
    match slip {
        Slip::None => return Some(Vec::new()),
        Slip::Turn => put(shaft, at, was + side * shaft.spots[at].turn_mm),
        Slip::Ten => put(shaft, at, was + side * if inch { 10.0 * THOU } else { 0.25 }),
        Slip::Five => put(shaft, at, was + side * if inch { 5.0 * THOU } else { 0.12 }),
        Slip::DigitsSwapped | Slip::OneDigit => {
            let mut digits: Vec<char> = shaft.spots[at].typed[repeat].chars().collect();
            let point = digits.iter().position(|c| *c == '.')?;
            let i = rng.random_range(point + 1..digits.len() - 1);
            if slip == Slip::DigitsSwapped {
                digits.swap(i, i + 1);
            } else {
                digits[i] = char::from(b'0' + rng.random_range(0..10u8));
            }
            let text: String = digits.into_iter().collect();
            let mm = text.parse::<f64>().unwrap() * w.unit.mm();
            // Less than 3 thou changes little, and a turn is counted there.
            if (mm - was).abs() < 3.0 * THOU || (mm - was).abs() > 20.0 * THOU {
                return None;
            }
            put(shaft, at, mm);
        }
        Slip::Journals => {
            let (here, spot) = (shaft.spots[at].group, &shaft.spots[at]);
            let others: Vec<usize> = (0..shaft.spots.len())
                .filter(|&i| {
                    let other = &shaft.spots[i];
                    let alike = other.at_mm == spot.at_mm && other.plane_deg == spot.plane_deg;
                    let one_set = shaft.groups[other.group].set == shaft.groups[here].set;
                    one_set && alike && (other.sizes_mm[repeat] - was).abs() > 3.0 * THOU
                })
                .collect();
            let other = *others.get(rng.random_range(0..others.len().max(1)))?;
            let theirs = shaft.spots[other].sizes_mm[repeat];
            put(shaft, at, theirs);
            put(shaft, other, was);
            return Some(vec![at, other]);
        }
        Slip::Row => {
            if w.repeats > 1 {
                return None;
            }
            let (set, along, plane) =
                (shaft.groups[shaft.spots[at].group].set, shaft.spots[at].at_mm, shaft.spots[at].plane_deg);
            let row: Vec<usize> = (0..shaft.spots.len())
                .filter(|&i| {
                    let s = &shaft.spots[i];
                    shaft.groups[s.group].set == set && s.at_mm == along && s.plane_deg == plane
                })
                .collect();
            let sizes: Vec<f64> = row.iter().map(|&i| shaft.spots[i].sizes_mm[0]).collect();
            let steps: f64 = sizes.windows(2).map(|p| (p[1] - p[0]).abs()).sum::<f64>();
            // Journals that are alike do not show it.
            if row.len() < 4 || steps < 2.0 * THOU * (row.len() - 1) as f64 {
                return None;
            }
            for (i, spot) in row.iter().enumerate().skip(1) {
                put(shaft, *spot, sizes[i - 1]);
            }
            return Some(row);
        }
        Slip::Micrometer => {
            // Another micrometer, six error limits out, on a third of the places again beside the first one's.
            let off = side * 6.0 * error_limit_mm(w);
            if w.coarse {
                return None;
            }
            let set = shaft.groups[shaft.spots[at].group].set;
            let again: Vec<Spot> = shaft
                .spots
                .iter()
                .filter(|s| shaft.groups[s.group].set == set)
                .step_by(3)
                .map(|s| {
                    let (mm, text) = read(w, s.sizes_mm[0] + off + normal(rng, w.noise_thou * THOU));
                    Spot { sizes_mm: vec![mm], typed: vec![text], with: "other mic".to_owned(), ..s.clone() }
                })
                .collect();
            let first = shaft.spots.len();
            shaft.spots.extend(again);
            return Some((first..shaft.spots.len()).collect());
        }
        Slip::Heaped => {
            let graduation = graduation_mm(w);
            let all = shaft.spots.iter().flat_map(|s| &s.sizes_mm).map(|mm| (mm / graduation / 5.0).round() as i64);
            let different: std::collections::BTreeSet<i64> = all.collect();
            if different.len() < 8 || (w.unit == Unit::Millimetre && !w.coarse) {
                return None;
            }
            for spot in &mut shaft.spots {
                for (mm, text) in spot.sizes_mm.iter_mut().zip(&mut spot.typed) {
                    (*mm, *text) = read(w, (*mm / graduation / 5.0).round() * graduation * 5.0);
                }
            }
            return Some((0..shaft.spots.len()).collect());
        }
    }
    Some(vec![at])
}

#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    planted: usize,
    found: usize,
    good: usize,
    falsely: usize,
    /// Questions and mentions where there was nothing.
    asked: usize,
}

impl Tally {
    fn add(&mut self, other: Tally) {
        self.planted += other.planted;
        self.found += other.found;
        self.good += other.good;
        self.falsely += other.falsely;
        self.asked += other.asked;
    }

    fn falsely_in_1000(&self) -> f64 {
        1000.0 * self.falsely as f64 / self.good.max(1) as f64
    }
}

fn judge(shaft: &Shaft, slip: Slip, touched: &[usize], found: &[Suspicion]) -> Tally {
    let group = |spot: usize| shaft.spots[spot].group;
    let about = |f: &&Suspicion| match (f.spot, f.group) {
        (Some(spot), _) => touched.contains(&spot) || touched.iter().any(|t| same_place(shaft, *t, spot)),
        (None, Some(g)) => touched.iter().any(|t| group(*t) == g),
        (None, None) => slip == Slip::Row || slip == Slip::Micrometer || slip == Slip::Heaped,
    };
    let hit = |f: &&Suspicion| match slip {
        Slip::None => false,
        Slip::Row => f.kind == Kind::ShiftedRow,
        Slip::Micrometer => f.kind == Kind::MicrometersDisagree && f.stops(),
        Slip::Heaped => f.kind == Kind::LastDigitHeaps,
        _ => f.kind.accuses() && about(f),
    };
    let mention = |f: &&Suspicion| !f.kind.accuses() && f.kind != Kind::TooCoarse;
    let readings: usize = shaft.spots.iter().map(|s| s.sizes_mm.len()).sum();
    Tally {
        planted: usize::from(slip != Slip::None),
        found: usize::from(found.iter().any(|f| hit(&f))),
        good: readings - touched.len().min(readings),
        falsely: found.iter().filter(|f| f.kind.accuses() && !about(f)).count(),
        asked: found.iter().filter(mention).filter(|f| !hit(f)).count(),
    }
}

fn same_place(shaft: &Shaft, one: usize, other: usize) -> bool {
    let (one, other) = (&shaft.spots[one], &shaft.spots[other]);
    one.group == other.group && one.at_mm == other.at_mm && one.plane_deg == other.plane_deg
}

#[test]
fn slips_are_found_and_good_readings_left_alone() {
    let (mut table, mut bad) = (String::new(), String::new());
    let mut by_slip = [(Tally::default(), Tally::default()); SLIPS.len()];
    let mut whole = Tally::default();
    let scale: usize = std::env::var("SLIP_SHAFTS").ok().and_then(|n| n.parse().ok()).unwrap_or(1);
    assert_eq!(worlds().len(), 44);
    for (seed, w) in worlds().iter().enumerate() {
        let mut rng = Pcg64::seed_from_u64(2_000 + seed as u64);
        let mut of_world = Tally::default();
        let mut rates = String::new();
        for (slip, all) in SLIPS.into_iter().zip(&mut by_slip) {
            let shafts = scale * if slip == Slip::None { 20 } else { 8 };
            let mut of_slip = Tally::default();
            for _ in 0..shafts {
                let mut shaft = make(w, &mut rng);
                let Some(touched) = plant(w, &mut shaft, slip, &mut rng) else { continue };
                let found = find(&shaft.groups, &shaft.spots, w.unit);
                let one = judge(&shaft, slip, &touched, &found);
                of_slip.add(one);
                show(w, slip, &shaft, &touched, &found, one);
                if slip == Slip::None {
                    // As at the bench, where readings are judged while they come in.
                    shaft.spots.truncate(rng.random_range(1..=shaft.spots.len()));
                    let found = find(&shaft.groups, &shaft.spots, w.unit);
                    let one = judge(&shaft, slip, &touched, &found);
                    of_slip.add(one);
                    show(w, slip, &shaft, &touched, &found, one);
                }
            }
            of_world.add(of_slip);
            all.0.add(of_slip);
            if w.close {
                all.1.add(of_slip);
            }
            if slip != Slip::None {
                rates.push_str(&format!(" {:>3}/{:<3}", of_slip.found, of_slip.planted));
            }
        }
        whole.add(of_world);
        let line = format!(
            "{:4} {:36}{rates} false {:3} of {:6} ({:4.2} in 1,000), asked {:3}\n",
            w.unit.to_string(),
            w.name,
            of_world.falsely,
            of_world.good,
            of_world.falsely_in_1000(),
            of_world.asked
        );
        // Each world by itself has few readings: twice the bound.
        if of_world.falsely_in_1000() > 4.0 {
            bad.push_str(&line);
        }
        table.push_str(&line);
    }
    for (slip, (all, close)) in SLIPS.iter().zip(&by_slip) {
        table.push_str(&format!(
            "{slip:?}: {} of {}, where readings agree {} of {}; false {:.2} in 1,000\n",
            all.found,
            all.planted,
            close.found,
            close.planted,
            all.falsely_in_1000()
        ));
    }
    print(&table, &whole);
    assert!(bad.is_empty(), "outside the bounds:\n{bad}");
    // 2 in 1,000 are allowed, all kinds counted; there is room to spare.
    assert!(whole.good > 100_000 && whole.falsely * 1000 <= whole.good, "{whole:?}");
    for ((slip, of_all, of_close), (all, close)) in FOUND_IN_100.into_iter().zip(by_slip.iter().skip(1)) {
        assert!(all.planted >= 20 && close.planted > 0, "{slip:?}: too few to tell, {all:?}");
        assert!(all.found * 100 >= all.planted * of_all, "{slip:?}: {all:?}");
        assert!(close.found * 100 >= close.planted * of_close, "{slip:?}, where readings agree: {close:?}");
    }
}

/// How many in 100 of each slip must be found, in all worlds and in those where the readings agree. What is missed are
/// journals with two readings and slips within the wear of the rest: nobody could tell them.
const FOUND_IN_100: [(Slip, usize, usize); 9] = [
    (Slip::Turn, 99, 99),
    (Slip::Ten, 85, 97),
    (Slip::Five, 60, 80),
    (Slip::DigitsSwapped, 70, 75),
    (Slip::OneDigit, 70, 70),
    (Slip::Journals, 50, 60),
    (Slip::Row, 45, 50),
    (Slip::Micrometer, 97, 97),
    (Slip::Heaped, 97, 97),
];

#[expect(clippy::print_stdout, reason = "the rates are the result")]
fn print(table: &str, whole: &Tally) {
    println!("{table}{whole:?} {:.2} in 1,000", whole.falsely_in_1000());
}

#[expect(clippy::print_stdout, reason = "for a person looking into a failure")]
fn show(w: &World, slip: Slip, shaft: &Shaft, touched: &[usize], found: &[Suspicion], one: Tally) {
    let Ok(what) = std::env::var("SLIP_SHOW") else { return };
    let missed = one.found < one.planted && what.contains("missed");
    let falsely = one.falsely > 0 && what.contains("false");
    let asked = one.asked > 0 && what.contains("asked");
    if !(missed || falsely || asked) {
        return;
    }
    println!("--- {} {} {slip:?} touched {touched:?} {one:?}", w.unit, w.name);
    for f in found {
        println!("  {:?} {:?} {:?} {}", f.kind, f.group.map(|g| &shaft.groups[g].name), f.spot, f.says);
    }
    let mut groups: Vec<usize> = found.iter().filter_map(|f| f.group).collect();
    groups.extend(touched.iter().map(|t| shaft.spots[*t].group));
    groups.sort_unstable();
    groups.dedup();
    for g in groups.into_iter().take(6) {
        let sizes: Vec<String> = shaft.spots.iter().filter(|s| s.group == g).map(|s| s.typed.join("/")).collect();
        println!("  {}: {}", shaft.groups[g].name, sizes.join(" "));
    }
}
