//! Halves handed out, against every way there is.

use fit::{Candidate, Half, NoMatch, Pair, Room, Task, matched};
use proptest::prelude::*;

fn half(wall_nm: i64, half: Half) -> Candidate {
    Candidate { wall_nm, half }
}

fn room(mean_nm: i64) -> Room {
    Room { least_nm: mean_nm, mean_nm, most_nm: mean_nm }
}

fn task(open: &[Room]) -> Task<'_> {
    Task { open, settled: &[], size_nm: (0, 0), clearance_nm: None, wanted_nm: Some(0) }
}

/// How good a way is, the less the better: whether no size keeps the clearances, the spread, four times the squares.
type Worth = (bool, i64, i64);

/// By the rules as docs/sheet.md words them: straight from the bores with their shells in.
fn worth(task: &Task<'_>, walls_nm: &[i64]) -> Worth {
    let less = |(room, walls): (&Room, &i64)| Room {
        least_nm: room.least_nm - walls,
        mean_nm: room.mean_nm - walls,
        most_nm: room.most_nm - walls,
    };
    let own: Vec<Room> = task.open.iter().zip(walls_nm).map(less).collect();
    let all = || own.iter().chain(task.settled);
    let outside = task.clearance_nm.is_some_and(|(tightest, loosest)| {
        // Every whole size is tried, one after the other.
        !(task.size_nm.0..=task.size_nm.1)
            .any(|size| all().all(|room| room.least_nm - size >= tightest && room.most_nm - size <= loosest))
    });
    let (least, most) = (all().map(|r| r.mean_nm).min().unwrap(), all().map(|r| r.mean_nm).max().unwrap());
    // Twice everything, for the middle may be half a nanometre.
    let wanted = task.wanted_nm.map_or(least + most, |wanted_nm| {
        let size = (least + most - 2 * wanted_nm).clamp(2 * task.size_nm.0, 2 * task.size_nm.1);
        size + 2 * wanted_nm
    });
    (outside, most - least, own.iter().map(|room| (2 * room.mean_nm - wanted).pow(2)).sum())
}

/// Every way, one after the other: slow and certain.
fn by_force(task: &Task<'_>, bench: &[Candidate], walls: &mut Vec<i64>, used: &mut Vec<bool>) -> Option<Worth> {
    if walls.len() == task.open.len() {
        return Some(worth(task, walls));
    }
    let mut best = None;
    for u in 0..bench.len() {
        for l in 0..bench.len() {
            if u == l || used[u] || used[l] || bench[u].half == Half::Lower || bench[l].half == Half::Upper {
                continue;
            }
            (used[u], used[l]) = (true, true);
            walls.push(bench[u].wall_nm + bench[l].wall_nm);
            best = best.into_iter().chain(by_force(task, bench, walls, used)).min();
            walls.pop();
            (used[u], used[l]) = (false, false);
        }
    }
    best
}

fn rooms(count: std::ops::RangeInclusive<usize>, from: i64) -> impl Strategy<Value = Vec<Room>> {
    // In steps of three, so that ways often come out equal, and sums are odd and even.
    let one = (0i64..8, 0i64..4, 0i64..4).prop_map(move |(mean, below, above)| Room {
        least_nm: from + 3 * mean - below,
        mean_nm: from + 3 * mean,
        most_nm: from + 3 * mean + above,
    });
    prop::collection::vec(one, count)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    /// Benches with halves left over, bearings that have their shells, narrow and wide limits, sizes free and held.
    #[test]
    fn no_other_way_is_better(
        open in rooms(1..=3, 1000),
        settled in rooms(0..=1, 800),
        walls in prop::collection::vec((98i64..104, 0usize..3), 0..=8),
        sizes in (700i64..790, 0i64..40),
        clearance in prop::option::of((5i64..40, 0i64..40)),
        wanted_nm in prop::option::of(0i64..60),
        held in any::<bool>(),
    ) {
        let halves = [Half::Upper, Half::Lower, Half::Either];
        let bench: Vec<Candidate> = walls.iter().map(|(wall, h)| half(*wall, halves[*h])).collect();
        let size_nm = if held { (0, 0) } else { (sizes.0, sizes.0 + sizes.1) };
        let clearance_nm = clearance.map(|(from, width)| (from, from + width));
        // With journals that keep their sizes rooms are clearances.
        let less = |rooms: &[Room], by: i64| -> Vec<Room> {
            let one = |r: &Room| Room { least_nm: r.least_nm - by, mean_nm: r.mean_nm - by, most_nm: r.most_nm - by };
            rooms.iter().map(one).collect()
        };
        let by = if held { sizes.0 } else { 0 };
        let (open, settled) = (less(&open, by), less(&settled, by));
        let task = Task { open: &open, settled: &settled, size_nm, clearance_nm, wanted_nm };
        let forced = by_force(&task, &bench, &mut Vec::new(), &mut vec![false; bench.len()]);
        match matched(&task, &bench) {
            Ok(pairs) => {
                let sums: Vec<i64> = pairs.iter().map(|p| bench[p.upper].wall_nm + bench[p.lower].wall_nm).collect();
                prop_assert_eq!(Some(worth(&task, &sums)), forced);
                let mut seen: Vec<usize> = pairs.iter().flat_map(|p| [p.upper, p.lower]).collect();
                seen.sort_unstable();
                seen.dedup();
                prop_assert_eq!(seen.len(), 2 * open.len(), "a half stands in two places");
                prop_assert!(pairs.iter().all(|p| bench[p.upper].half != Half::Lower && bench[p.lower].half != Half::Upper));
            }
            Err(NoMatch::TooFew { needed }) => {
                prop_assert_eq!(needed, open.len());
                prop_assert_eq!(forced, None);
            }
            Err(NoMatch::TooMany) => prop_assert!(false, "eight halves are never too many"),
        }
    }
}

#[test]
fn equals_are_handed_out_in_their_order() {
    let bench = vec![half(1_800_000, Half::Either); 6];
    let pairs = matched(&task(&[room(3_600_000); 3]), &bench).unwrap();
    let order: Vec<(usize, usize)> = pairs.iter().map(|p| (p.upper, p.lower)).collect();
    assert_eq!(order, [(0, 1), (2, 3), (4, 5)]);
}

#[test]
fn thick_halves_go_to_the_wide_housing() {
    let (thin, thick) = (1_800_000, 1_804_000);
    let bench = [thick, thin, thick, thin].map(|wall| half(wall, Half::Either));
    // The second housing is 8 µm wider: it gets both thick halves.
    let pairs = matched(&task(&[room(3_600_000), room(3_608_000)]), &bench).unwrap();
    assert_eq!(pairs, [Pair { upper: 1, lower: 3 }, Pair { upper: 0, lower: 2 }]);
}

/// By hand, in microns: three equal housings, and halves of 1800 (two) and 1804 (six). About a size that takes 3600 of walls
/// the two thin ones would come in, for 3600 is nearer than 3608; then the bearings differ by 8. With six of 1804 they do
/// not differ, and the journals follow.
#[test]
fn the_size_follows_the_bearings_and_not_the_bearings_a_size() {
    let bench: Vec<Candidate> = (0..8).map(|n| half(if n < 2 { 1_800_000 } else { 1_804_000 }, Half::Either)).collect();
    let open = [room(60_000_000); 3];
    // 60 mm less 3.608 is 56.392; wanted 50 µm, sizes 56.330 to 56.345; limits of the clearance 40 to 70 µm.
    let free = Task {
        open: &open,
        settled: &[],
        size_nm: (56_330_000, 56_345_000),
        clearance_nm: Some((40_000, 70_000)),
        wanted_nm: Some(50_000),
    };
    let pairs = matched(&free, &bench).unwrap();
    assert!(pairs.iter().all(|pair| pair.upper >= 2 && pair.lower >= 2), "{pairs:?}");
    // Where no size up to 56.345 leaves 60 µm with all thick walls, one thin pair cannot help; with room for all, it may.
    let tight = Task { clearance_nm: Some((48_000, 70_000)), size_nm: (56_345_000, 56_345_000), ..free };
    assert!(worth(&tight, &[3_608_000; 3]).0);
    let pairs = matched(&tight, &bench).unwrap();
    assert!(pairs.iter().all(|pair| pair.upper >= 2 && pair.lower >= 2), "no way keeps the limits: least spread");
}

#[test]
fn an_upper_half_never_goes_into_the_cap() {
    let bench = [half(1, Half::Upper), half(2, Half::Upper), half(3, Half::Lower), half(4, Half::Either)];
    let pairs = matched(&task(&[room(0), room(0)]), &bench).unwrap();
    assert!(pairs.iter().all(|pair| pair.upper < 2 && pair.lower >= 2), "{pairs:?}");
    assert_eq!(matched(&task(&[room(0), room(0)]), &bench[..3]), Err(NoMatch::TooFew { needed: 2 }));
}

/// Thirteen bearings, five grades of upper and of lower halves, a fifth of them left over.
#[test]
fn a_long_engine_with_graded_shells_is_matched() {
    let bench: Vec<Candidate> = (0..32i64)
        .map(|n| half(1_800_000 + n * 7 % 5 * 2_540, if n % 2 == 0 { Half::Upper } else { Half::Lower }))
        .collect();
    let open: Vec<Room> = (0..13).map(|n| room(60_000_000 + n * 37 % 13 * 1_270)).collect();
    let free = Task {
        open: &open,
        settled: &[],
        size_nm: (56_300_000, 56_400_000),
        clearance_nm: Some((40_000, 75_000)),
        wanted_nm: Some(57_000),
    };
    assert_eq!(matched(&free, &bench).unwrap().len(), 13);
}

#[test]
fn more_odd_halves_than_can_be_gone_through_are_refused() {
    let odd: Vec<Candidate> = (0..60).map(|n| half(1_800_000 + n * n * 100, Half::Either)).collect();
    let open: Vec<Room> = (0..26).map(|n| room(3_603_000 + n * 500)).collect();
    assert_eq!(matched(&task(&open), &odd), Err(NoMatch::TooMany));
}
