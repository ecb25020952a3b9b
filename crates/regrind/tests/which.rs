//! What is this? Cranks that nobody knows, by a size or a few. The engines are the invented ones of the program; what a size
//! can be follows from their limits by hand.

use crank::{SetName, Specification};
use regrind::{KnownCrank, Life, Policy, Seen, SeenSize, TellApart, Which, which};

fn book(text: &str) -> Specification {
    sheet::read_book("book", text).unwrap_or_else(|problems| panic!("{problems:?}"))
}

/// A book without its bearings and its smallest sizes, which would not go with other journals.
fn bare(text: &str) -> String {
    let of_bearings =
        |line: &&str| ["smallest", "housing", "wall", "clearance"].iter().any(|key| line.trim_start().starts_with(key));
    text.lines().filter(|line| !of_bearings(line)).collect::<Vec<_>>().join("\n")
}

fn asked(sizes: &[(Option<SetName>, f64)], counts: [Option<usize>; 2]) -> (Vec<Specification>, Which) {
    let tarn = include_str!("../../tenunder/library/tarn-four.toml");
    let books = vec![
        book(tarn),
        book(include_str!("../../tenunder/library/skelder-six.toml")),
        book(include_str!("../../tenunder/library/wren.toml")),
        // Pins as the Tarn four's, other mains, and a longer stroke.
        book(&bare(tarn).replace("[2.1245, 2.1250]", "[2.3745, 2.3750]").replace("Tarn four", "Tarn four, long")),
    ];
    let policies: Vec<Policy> = books.iter().map(|book| Policy::usual(book.unit)).collect();
    let engines: Vec<KnownCrank<'_>> =
        books.iter().zip(&policies).map(|(specification, policy)| KnownCrank { specification, policy }).collect();
    let sizes = sizes.iter().map(|&(set, inches)| SeenSize { set, size_mm: inches * 25.4, doubt_mm: 0.001 }).collect();
    let found = which(&engines, &Seen { sizes, counts });
    (books, found)
}

/// 2.1247 is between 2.1245 and 2.1250, the Tarn four's mains at standard; worn from a size above it is less likely, for little
/// wear is spread over more than the window.
#[test]
fn a_size_within_finished_limits_is_most_likely_finished() {
    let (_, found) = asked(&[(None, 2.1247)], [None, None]);
    let first = &found.fits[0];
    assert_eq!((first.engine, first.life, first.sizes[0].set), (0, Life::Finished, SetName::Main));
    assert_eq!(first.sizes[0].undersize_mm, 0.0);
    assert!(first.share > 0.5 && found.none < 0.01, "{found:?}");
}

/// 2.1143 is two tenths below 2.1145, the low limit at 0.010 under; 1.8640 five tenths below 1.8645. Both are of the Tarn four,
/// worn; that the mains are at standard and 0.0102 down is a hundred times less likely: exp(-0.254/0.06) is 0.0145.
#[test]
fn two_sizes_tell_engine_undersize_and_wear() {
    let (_, found) = asked(&[(Some(SetName::Main), 2.1143), (Some(SetName::Pin), 1.8640)], [None, None]);
    let first = &found.fits[0];
    assert_eq!((first.engine, first.life), (0, Life::Worn));
    for size in &first.sizes {
        assert!((size.undersize_mm - 0.254).abs() < 1e-9, "{size:?}");
    }
    let second = &found.fits[1];
    assert!((second.share / first.share / 0.0145 - 1.0).abs() < 0.1, "{} of {}", second.share, first.share);
    assert_eq!(found.tell_apart, Some(TellApart::Undersize));
}

/// A pin alone can be of two engines that differ in their mains: a main tells, 2.3745 to 2.3750 or 2.1245 to 2.1250.
#[test]
fn what_differs_is_what_is_asked_for() {
    let (books, found) = asked(&[(Some(SetName::Pin), 1.8747)], [None, None]);
    let engines = [found.fits[0].engine, found.fits[1].engine];
    assert_eq!(engines, [0, 3], "{found:?}");
    assert!((found.fits[0].share - found.fits[1].share).abs() < 1e-9);
    let tell = found.tell_apart.expect("they differ");
    assert!(matches!(tell, TellApart::Size(SetName::Main, _)), "{tell:?}");
    let says = tell.words([&books[0].name, &books[3].name], units::Unit::Inch);
    assert!(says.contains("2.1245 to 2.1250 in") && says.contains("2.3745 to 2.3750 in"), "{says}");
    // Told the main, there is one.
    let (_, told) = asked(&[(Some(SetName::Pin), 1.8747), (Some(SetName::Main), 2.3747)], [None, None]);
    assert!(told.fits.iter().all(|fits| fits.engine == 3), "{told:?}");
}

/// Seven mains leave only the six; a size of no engine known leaves none.
#[test]
fn what_does_not_fit_is_none_of_them() {
    let (_, found) = asked(&[(None, 2.1247)], [Some(7), None]);
    assert!(found.fits.is_empty() && found.none > 0.99, "{found:?}");
    let (_, found) = asked(&[(None, 9.99)], [None, None]);
    assert!(found.fits.is_empty() && (found.none - 1.0).abs() < 1e-9);
    let (_, nothing) = asked(&[], [None, None]);
    assert!(nothing.fits.iter().all(|fits| fits.sizes.is_empty()));
}

/// All shares and that of none of them add up to one; what is told is most of it.
#[test]
fn shares_add_up() {
    for inches in [1.4990, 1.8640, 2.0, 2.1143, 2.5196, 3.1490] {
        let (_, found) = asked(&[(None, inches)], [None, None]);
        let told: f64 = found.fits.iter().map(|fits| fits.share).sum();
        assert!(told + found.none <= 1.0 + 1e-9 && told + found.none > 0.9, "{inches}: {told} and {}", found.none);
    }
}
