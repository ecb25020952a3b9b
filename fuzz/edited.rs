//! What the fuzzer says, as a document: text as it is, or edits of one that is sound. Random text seldom gets past a reader;
//! an edited sheet gets to what is computed from it.

/// Figures that are at the edge of something.
const FIGURES: [&str; 24] = [
    "0",
    "-1",
    "1",
    "2",
    "90",
    "180",
    "359.9999",
    "0.0001",
    "0.00001",
    "-0.0005",
    "0.001",
    "0.5",
    "1e9",
    "1e-9",
    "1.4990",
    "2.1180",
    "25.4",
    "1000",
    "0.0000000001",
    "99999",
    "nan",
    "inf",
    "true",
    "\"\"",
];

/// The document. The first byte says which of `bases` is edited, or that the rest is text; then come edits of four bytes: a
/// line, what is done to it, and with what.
pub fn document(bytes: &[u8], bases: &[&str]) -> Option<String> {
    let (&first, rest) = bytes.split_first()?;
    let Some(base) = bases.get(usize::from(first)) else {
        return std::str::from_utf8(rest).ok().map(str::to_owned);
    };
    let mut lines: Vec<String> = base.lines().map(str::to_owned).collect();
    for edit in rest.chunks_exact(4).take(64) {
        let &[high, low, what, with] = edit else { continue };
        let at = usize::from(u16::from_be_bytes([high, low])) % lines.len().max(1);
        let Some(line) = lines.get(at).cloned() else { continue };
        match what % 6 {
            0 => drop(lines.remove(at)),
            1 => lines.insert(at, line),
            2 => {
                let other = usize::from(with) % lines.len();
                lines.swap(at, other);
            }
            3 => lines[at] = with_figure(&line, with, |_| FIGURES[usize::from(what / 6) % FIGURES.len()].to_owned()),
            4 => lines[at] = with_figure(&line, with, |old| scaled(old, what / 6)),
            _ => lines[at] = line.chars().take(usize::from(with)).collect(),
        }
    }
    Some(lines.join("\n"))
}

/// The line with its nth figure made another.
fn with_figure(line: &str, nth: u8, make: impl Fn(&str) -> String) -> String {
    let is_part = |c: char| c.is_ascii_digit() || c == '.';
    let mut figures: Vec<(usize, usize)> = Vec::new();
    let mut start = None;
    for (at, c) in line.char_indices().chain([(line.len(), ' ')]) {
        match start {
            None if c.is_ascii_digit() => start = Some(at),
            Some(from) if !is_part(c) => {
                figures.push((from, at));
                start = None;
            }
            _ => {}
        }
    }
    let Some(&(from, to)) = figures.get(usize::from(nth) % figures.len().max(1)) else { return line.to_owned() };
    format!("{}{}{}", &line[..from], make(&line[from..to]), &line[to..])
}

fn scaled(old: &str, how: u8) -> String {
    let Ok(figure) = old.parse::<f64>() else { return old.to_owned() };
    let to = match how % 12 {
        0 => figure * 1.001,
        1 => figure * 0.999,
        2 => figure + 0.0001,
        3 => figure - 0.0001,
        4 => figure + 0.025,
        5 => figure * 2.0,
        6 => figure / 2.0,
        7 => figure * 10.0,
        8 => figure / 10.0,
        9 => figure * 25.4,
        10 => figure / 25.4,
        _ => figure + 1.0,
    };
    format!("{to:.4}")
}
