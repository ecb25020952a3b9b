//! The drawing of the rooms in ARCHITECTURE.md, made from their manifests.
//!
//! A room stands in the column after the last of those it uses; an arrow that follows from others is left out. Long arrows
//! keep a lane free in the columns that they pass, and the lanes are put in the order that crosses least.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::PathBuf;

use crate::tools::root;

const COLUMN: f64 = 122.0;
const ROW: f64 = 44.0;
const WIDE: f64 = 84.0;
const HIGH: f64 = 26.0;
const MARGIN: f64 = 14.0;
/// How often the lanes are put in order, forwards and back.
const SWEEPS: usize = 24;

/// Which rooms each room uses. A room for development alone, which no other uses, is left out.
pub(crate) fn uses() -> Result<BTreeMap<String, Vec<String>>, String> {
    let folder = root().join("crates");
    let listed = std::fs::read_dir(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let names: Vec<String> = listed.flatten().filter_map(|entry| entry.file_name().into_string().ok()).collect();
    let mut uses = BTreeMap::new();
    for name in &names {
        let path = folder.join(name).join("Cargo.toml");
        let text = std::fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
        let section = text.split("[dependencies]").nth(1).unwrap_or_default();
        let used: Vec<String> = section
            .lines()
            .skip(1)
            .take_while(|line| !line.starts_with('['))
            .filter_map(|line| line.split(['=', '.', ' ']).next())
            .filter(|used| names.iter().any(|name| name == used))
            .map(str::to_owned)
            .collect();
        uses.insert(name.clone(), used);
    }
    let used = |name: &String| uses.values().any(|used: &Vec<String>| used.contains(name));
    Ok(uses.iter().filter(|(name, of)| used(name) || !of.is_empty()).map(|(n, of)| (n.clone(), of.clone())).collect())
}

/// Whether a room is used by another one, over however many steps.
fn reaches(uses: &BTreeMap<String, Vec<String>>, from: &str, to: &str) -> bool {
    uses.get(from).is_some_and(|used| used.iter().any(|next| next == to || reaches(uses, next, to)))
}

fn column(uses: &BTreeMap<String, Vec<String>>, room: &str) -> usize {
    uses.get(room).map_or(0, |used| used.iter().map(|used| 1 + column(uses, used)).max().unwrap_or(0))
}

/// Something that stands in a column: a room, or the lane of an arrow that passes it.
struct Stop {
    room: Option<String>,
    column: usize,
    row: f64,
    /// Stops of the columns before and after that it is joined with.
    before: Vec<usize>,
    after: Vec<usize>,
}

fn stops(uses: &BTreeMap<String, Vec<String>>) -> Vec<Stop> {
    let mut stops: Vec<Stop> = uses
        .keys()
        .map(|room| Stop {
            room: Some(room.clone()),
            column: column(uses, room),
            row: 0.0,
            before: Vec::new(),
            after: Vec::new(),
        })
        .collect();
    let of = |stops: &[Stop], room: &str| stops.iter().position(|stop| stop.room.as_deref() == Some(room));
    for (room, used) in uses {
        // What another used room uses already needs no arrow of its own.
        for from in used.iter().filter(|from| !used.iter().any(|other| other != *from && reaches(uses, other, from))) {
            let (Some(mut at), Some(end)) = (of(&stops, from), of(&stops, room)) else { continue };
            for column in stops[at].column + 1..stops[end].column {
                stops.push(Stop { room: None, column, row: 0.0, before: vec![at], after: Vec::new() });
                let lane = stops.len() - 1;
                stops[at].after.push(lane);
                at = lane;
            }
            stops[at].after.push(end);
            stops[end].before.push(at);
        }
    }
    stops
}

/// Puts the stops of each column in an order that crosses little, and in the middle of the drawing.
fn arranged(mut stops: Vec<Stop>) -> Vec<Stop> {
    let columns = stops.iter().map(|stop| stop.column).max().unwrap_or(0);
    let most = (0..=columns).map(|c| stops.iter().filter(|s| s.column == c).count()).max().unwrap_or(1);
    for sweep in 0..SWEEPS {
        let forwards = sweep % 2 == 0;
        for step in 0..=columns {
            let column = if forwards { step } else { columns - step };
            let mut own: Vec<usize> = (0..stops.len()).filter(|&n| stops[n].column == column).collect();
            let wanted = |n: usize| {
                let joined = if forwards { &stops[n].before } else { &stops[n].after };
                let sum: f64 = joined.iter().map(|&other| stops[other].row).sum();
                if joined.is_empty() { stops[n].row } else { sum / joined.len() as f64 }
            };
            let keys: Vec<f64> = (0..stops.len()).map(wanted).collect();
            own.sort_by(|&a, &b| keys[a].total_cmp(&keys[b]));
            let first = (most - own.len()) as f64 / 2.0;
            for (place, n) in own.into_iter().enumerate() {
                stops[n].row = first + place as f64;
            }
        }
    }
    stops
}

/// The drawing, as SVG.
pub(crate) fn drawing(uses: &BTreeMap<String, Vec<String>>) -> String {
    let stops = arranged(stops(uses));
    let columns = stops.iter().map(|stop| stop.column).max().unwrap_or(0) as f64;
    let rows = stops.iter().map(|stop| stop.row).fold(0.0, f64::max);
    let (width, height) = (2.0 * MARGIN + COLUMN * columns + WIDE, 2.0 * MARGIN + ROW * rows + HIGH);
    let at = |stop: &Stop| (MARGIN + COLUMN * stop.column as f64, MARGIN + ROW * stop.row + HIGH / 2.0);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
         role=\"img\" font-family=\"sans-serif\" font-size=\"13\" fill=\"none\" stroke=\"#333\">\n<title>The rooms: an \
         arrow leads from a room to one that uses it</title>\n<rect width=\"{width}\" height=\"{height}\" fill=\"#fff\" \
         stroke=\"none\"/>\n<defs><marker id=\"tip\" viewBox=\"0 0 8 8\" refX=\"8\" refY=\"4\" markerWidth=\"8\" \
         markerHeight=\"8\" orient=\"auto\"><path d=\"M0 0 8 4 0 8z\" fill=\"#333\" stroke=\"none\"/></marker></defs>\n"
    );
    for stop in &stops {
        for &next in &stop.after {
            let ((x, y), (to_x, to_y)) = (at(stop), at(&stops[next]));
            let from_x = x + WIDE;
            let bend = (to_x - from_x) / 2.0;
            let tip = if stops[next].room.is_some() { " marker-end=\"url(#tip)\"" } else { "" };
            let through = if stop.room.is_none() { format!("M{x} {y}H{from_x}") } else { format!("M{from_x} {y}") };
            let _ = writeln!(
                out,
                "<path d=\"{through}C{} {y} {} {to_y} {to_x} {to_y}\"{tip}/>",
                from_x + bend,
                to_x - bend
            );
        }
    }
    for stop in &stops {
        let Some(room) = &stop.room else { continue };
        let (x, y) = at(stop);
        let _ = writeln!(
            out,
            "<rect x=\"{x}\" y=\"{}\" width=\"{WIDE}\" height=\"{HIGH}\" rx=\"3\" fill=\"#f4f1ea\"/>\n<text x=\"{}\" y=\"{}\" \
             text-anchor=\"middle\" fill=\"#111\" stroke=\"none\">{room}</text>",
            y - HIGH / 2.0,
            x + WIDE / 2.0,
            y + 4.5
        );
    }
    out + "</svg>\n"
}

fn place() -> PathBuf {
    root().join("docs").join("rooms.svg")
}

/// Draws the rooms anew.
pub(crate) fn run() -> Result<(), String> {
    let drawing = drawing(&uses()?);
    std::fs::write(place(), drawing).map_err(|error| format!("{}: {error}", place().display()))?;
    println!("drawn into {}", place().display());
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_drawing_is_that_of_the_manifests() {
        let drawn = std::fs::read_to_string(place()).expect("the drawing");
        assert!(drawn == drawing(&uses().expect("the manifests")), "a room or an arrow changed: cargo xtask rooms");
        let text = std::fs::read_to_string(root().join("ARCHITECTURE.md")).expect("ARCHITECTURE.md");
        assert!(text.contains("(docs/rooms.svg)"), "ARCHITECTURE.md shows the drawing");
    }

    /// By hand: c uses b and a, b uses a. The arrow from a to c follows from the others.
    #[test]
    fn an_arrow_that_follows_is_left_out() {
        let uses = |of: &[&str]| of.iter().map(|&name| name.to_owned()).collect::<Vec<_>>();
        let house = [("a", uses(&[])), ("b", uses(&["a"])), ("c", uses(&["a", "b"]))];
        let house: BTreeMap<String, Vec<String>> = house.into_iter().map(|(n, of)| (n.to_owned(), of)).collect();
        assert_eq!(drawing(&house).matches("marker-end").count(), 2);
        assert_eq!(column(&house, "c"), 2);
        assert!(reaches(&house, "c", "a") && !reaches(&house, "a", "c"));
    }
}
