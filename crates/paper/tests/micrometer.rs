//! The drawn micrometer, read as a machinist reads it, from its lines alone.
//!
//! [`read_back`] knows how an outside micrometer is divided (40 threads to the inch, 25 divisions; 0.5 mm, 50 divisions)
//! and nothing of the code that draws: it looks at the SVG, finds the edge of the thimble, counts the lines of the sleeve,
//! turns heights into angles, and looks which line of the vernier meets a division.

use gauge::scale::{Frame, Scale};
use paper::SvgSize;
use paper::micrometer::{draw, front, in_text, most_peep, vernier};
use units::{Length, Unit, read};

type Place = (f64, f64);

/// The straight lines and the numbers of a drawing, each with the part that it belongs to.
#[derive(Debug, Default)]
struct Found {
    lines: Vec<(String, Place, Place)>,
    numbers: Vec<(String, Place, u32)>,
}

fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    tag.split_once(&format!(" {name}=\"")).and_then(|(_, rest)| rest.split_once('"')).map(|(value, _)| value)
}

fn found(svg: &str) -> Found {
    let mut found = Found::default();
    let mut part = String::new();
    for tag in svg.split('<').skip(1) {
        if tag.starts_with("g ") {
            part = attribute(tag, "data-part").unwrap().to_owned();
        } else if tag.starts_with("/g") {
            part.clear();
        } else if tag.starts_with("path ") {
            let points: Vec<f64> = attribute(tag, "d")
                .unwrap()
                .split(|c: char| c.is_ascii_uppercase() || c == ' ')
                .filter_map(|number| number.parse().ok())
                .collect();
            if let [x, y, to_x, to_y] = points.as_slice() {
                found.lines.push((part.clone(), (*x, *y), (*to_x, *to_y)));
            }
        } else if tag.starts_with("text ") {
            let number = tag.split_once('>').and_then(|(_, text)| text.parse().ok());
            let at = |name: &str| attribute(tag, name).unwrap().parse::<f64>().unwrap();
            if let Some(number) = number {
                found.numbers.push((part.clone(), (at("x"), at("y")), number));
            }
        }
    }
    found
}

/// How far the next line of the sleeve may be in sight while the thimble stands near the top: a fifth of a turn.
const NEAR_THE_TOP: f64 = 0.8;

fn read_back(svg: &str, unit: Unit, lower: Length) -> Length {
    let Found { lines, numbers } = found(svg);
    let of = |name: &str| lines.iter().filter(|(part, ..)| part == name).collect::<Vec<_>>();
    let (_, top, bottom) = of("edge")[0];
    let edge_x = top.0.min(bottom.0);
    let radius = (bottom.1 - top.1) / 2.0;
    let index_y = of("index")[0].1.1;

    // Sleeve: upright lines that touch the index line, to the left of the edge.
    let mut sleeve: Vec<f64> = lines
        .iter()
        .filter(|(part, ..)| part.starts_with("sleeve"))
        .filter(|(_, a, b)| a.0 == b.0 && (a.1 - index_y).abs() < 0.02 && a.0 <= edge_x)
        .map(|(_, a, _)| a.0)
        .collect();
    sleeve.sort_by(f64::total_cmp);
    let pitch =
        if let [first, .., last] = sleeve.as_slice() { (last - first) / (sleeve.len() - 1) as f64 } else { 4.0 };
    for pair in sleeve.windows(2) {
        assert!((pair[1] - pair[0] - pitch).abs() < 0.02, "lines of the sleeve stand evenly: {sleeve:?}");
    }
    // A number belongs to the line at its right.
    let (number_x, number) = numbers
        .iter()
        .filter(|(part, ..)| part.starts_with("sleeve"))
        .map(|(_, at, number)| (at.0, *number))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .expect("a number shows on the sleeve");
    let numbered = sleeve.iter().position(|x| *x >= number_x && *x - number_x < pitch / 2.0).expect("it has a line");
    let lines_a_number = if unit == Unit::Inch { 4 } else { 2 };
    let mut turns = number * lines_a_number + (sleeve.len() - 1 - numbered) as u32;

    // Thimble: heights at the edge become angles; a number says which division its line is.
    let divisions = if unit == Unit::Inch { 25.0 } else { 50.0 };
    let bevel = of("thimble");
    let angle = |y: f64| ((index_y - y) / radius).asin().to_degrees();
    let long = bevel.iter().map(|(_, a, b)| b.0 - a.0).fold(0.0, f64::max);
    let mut readings = Vec::new();
    for (_, at, number) in numbers.iter().filter(|(part, ..)| part == "thimble") {
        // The line that points at it, among the long ones.
        let (_, from, _) = bevel
            .iter()
            .filter(|(_, a, b)| b.0 - a.0 > long - 0.1)
            .min_by(|a, b| (a.2.1 - at.1 + 1.5).abs().total_cmp(&(b.2.1 - at.1 + 1.5).abs()))
            .unwrap();
        readings.push((f64::from(*number) - angle(from.1) * divisions / 360.0).rem_euclid(divisions));
    }
    assert!(!readings.is_empty(), "a number shows on the thimble");
    let mut at = readings[0];
    for other in &readings {
        let apart = (other - at + divisions / 2.0).rem_euclid(divisions) - divisions / 2.0;
        assert!(apart.abs() < 0.03, "the numbers of the thimble agree: {readings:?}");
    }
    // Every division stands where a cylinder has it.
    for (_, from, _) in &bevel {
        let place = angle(from.1) * divisions / 360.0 + at;
        assert!((place - place.round()).abs() < 0.06, "a division at {place}");
    }
    if at > divisions - 0.05 {
        at -= divisions;
    }
    let last = *sleeve.last().unwrap();
    if at / divisions > NEAR_THE_TOP && edge_x - last < (1.0 - NEAR_THE_TOP) * pitch {
        // The line that is just showing does not count yet.
        turns -= 1;
    }
    // The edge itself, coarsely: how far it stands from the last line that counts, in turns.
    let counted_x = sleeve[numbered] + (f64::from(turns) - f64::from(number * lines_a_number)) * pitch;
    let past = (edge_x - counted_x) / pitch - at / divisions;
    assert!((-0.01..=0.20).contains(&past), "edge and thimble differ by {past} turns");

    // Vernier: the line that meets a division, if there is one.
    let flat = of("vernier");
    let division = Length::from_nm(if unit == Unit::Inch { 25_400 } else { 10_000 });
    let turn = Length::from_nm(if unit == Unit::Inch { 635_000 } else { 500_000 });
    let thousandths = if flat.is_empty() {
        assert!((at - at.round()).abs() < 0.05, "the thimble stands at a division: {at}");
        (at.round() as i64) * 10
    } else {
        let edge = flat.iter().find(|(_, a, b)| a.0 == b.0).unwrap().1.0;
        let heights = |sleeve: bool| {
            let mut heights: Vec<f64> =
                flat.iter().filter(|(_, a, b)| a.1 == b.1 && (a.0 < edge) == sleeve).map(|(_, a, _)| a.1).collect();
            heights.sort_by(|a, b| b.total_cmp(a));
            heights
        };
        let (own, others) = (heights(true), heights(false));
        assert_eq!(own.len(), 11, "ten intervals");
        let miss = |y: f64| others.iter().map(|other| (other - y).abs()).fold(f64::INFINITY, f64::min);
        let best = (0..10).min_by(|a, b| miss(own[*a]).total_cmp(&miss(own[*b]))).unwrap();
        let second = (0..10).filter(|n| *n != best).map(|n| miss(own[n])).fold(f64::INFINITY, f64::min);
        assert!(miss(own[best]) < 0.05 && second > 0.4, "line {best} meets alone: {} {second}", miss(own[best]));
        let whole = (at - best as f64 / 10.0).round();
        assert!((at - best as f64 / 10.0 - whole).abs() < 0.06, "vernier {best} and thimble {at} agree");
        whole as i64 * 10 + best as i64
    };
    lower + Length::from_nm(i64::from(turns) * turn.nm() + thousandths * division.nm() / 10)
}

fn peeps(unit: Unit) -> Vec<Length> {
    (0..=3).map(|third| Length::from_nm(most_peep(unit).nm() * third / 3)).collect()
}

/// Every size over two turns in the smallest step, at the beginning, inside and at the end of the travel, with the next
/// line not showing and showing more and more.
#[test]
fn every_size_over_two_turns_is_read_back_as_it_was_drawn() {
    let mut compared = 0;
    for scale in Scale::ALL {
        let (unit, lower) = (scale.unit(), scale.travel() + scale.travel());
        let frame = Frame::new(scale, lower, lower + scale.travel()).unwrap();
        let two_turns = 2 * scale.turn().nm();
        for from in [0, 7 * scale.turn().nm(), scale.travel().nm() - two_turns] {
            for peep in peeps(unit) {
                let mut open = from;
                while open <= from + two_turns {
                    let size = lower + Length::from_nm(open);
                    let drawing = draw(frame, size, peep).unwrap();
                    let svg = drawing.to_svg("m", SvgSize::Millimetres);
                    let read = read_back(&svg, unit, lower);
                    assert_eq!(read, size, "{scale:?} {} peep {}", size.show(unit, 4), peep.show(unit, 4));
                    compared += 1;
                    open += scale.graduation().nm();
                }
            }
        }
    }
    assert_eq!(compared, (51 + 501 + 101 + 1001) * 3 * 4);
}

/// Published readings: sources in `gauge`'s `reference-cases/micrometer-scales/README.md`; printed sizes are exact.
#[test]
fn published_readings_are_drawn_as_their_authors_read_them() {
    let mut compared = 0;
    for row in include_str!("../../gauge/reference-cases/micrometer-scales/readings.csv").lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let scale = match cells[0] {
            "inch_0.001" => Scale::Thou,
            "inch_0.0001" => Scale::Tenth,
            _ => Scale::Hundredth,
        };
        let size = read(cells[5], scale.unit()).unwrap().length;
        let frame = Frame::usual(scale, size);
        let drawing = draw(frame, size, Length::ZERO).unwrap();
        assert_eq!(read_back(&drawing.to_svg("m", SvgSize::Page), scale.unit(), Length::ZERO), size, "{row}");
        // What is said is what the author counted.
        let (figure, lines, thimble): (u32, usize, &str) =
            (cells[1].parse().unwrap(), cells[2].parse().unwrap(), cells[3]);
        let sleeve = match scale.unit() {
            Unit::Inch => format!("{figure} and {}", ["no line", "one line", "two lines", "three lines"][lines]),
            Unit::Millimetre => format!(
                "{}{} and {}",
                figure - figure % 5,
                ["", ", one line after it,", ", two lines after it,", ", three lines after it,"][figure as usize % 5],
                ["no half line", "the half line"][lines]
            )
            .replacen(" and", if figure % 5 == 0 { ", and" } else { " and" }, 1),
        };
        assert!(drawing.says.starts_with(&format!("Sleeve shows {sleeve}. ")), "{row}: {}", drawing.says);
        assert!(drawing.says.contains(&format!("Thimble {thimble}.")), "{row}: {}", drawing.says);
        compared += 1;
    }
    assert_eq!(compared, 9);
}

/// Where the eye says that a line is just showing, the words say so too, and the terminal as well.
#[test]
fn what_peeps_out_is_said() {
    let size = read("2.4740", Unit::Inch).unwrap().length;
    let frame = Frame::usual(Scale::Thou, size);
    let at_the_edge = |peep: i64| {
        let drawing = front(frame, size, Length::from_nm(peep)).unwrap();
        let found = found(&drawing.to_svg("m", SvgSize::Millimetres));
        let edge = found.lines.iter().find(|(part, ..)| part == "edge").unwrap().1.0;
        let near = |x: f64| (0.0..1.0).contains(&(edge - x));
        let peeps = found.lines.iter().any(|(part, a, _)| part.starts_with("sleeve") && near(a.0));
        let says = drawing.says.contains("just showing");
        assert_eq!(peeps, says, "{peep}");
        assert_eq!(in_text(frame, size, Length::from_nm(peep)).unwrap().contains('┊'), says, "{peep}");
        says
    };
    assert!(at_the_edge(76_200) && at_the_edge(25_400));
    let earlier = read("2.4700", Unit::Inch).unwrap().length;
    assert!(!front(frame, earlier, Length::from_nm(25_400)).unwrap().says.contains("just showing"));
}

#[test]
fn a_size_the_frame_does_not_reach_is_refused() {
    let size = read("2.4480", Unit::Inch).unwrap().length;
    let frame = Frame::usual(Scale::Thou, size);
    let wrong = draw(frame, size + Scale::Thou.travel(), Length::ZERO).unwrap_err();
    assert_eq!(wrong.to_string(), "3.448 in is outside the micrometer's 2–3 in");
    assert_eq!(vernier(frame, size, Length::ZERO), Ok(None));
    // A peep that no micrometer has is held to what one may have.
    let most = draw(frame, size, most_peep(Unit::Inch)).unwrap();
    assert_eq!(draw(frame, size, Length::from_nm(i64::MAX)).unwrap(), most);
    assert_eq!(draw(frame, size, Length::from_nm(-5)).unwrap(), draw(frame, size, Length::ZERO).unwrap());
}
