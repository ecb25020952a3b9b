//! Lettering that keeps clear of other lettering: words broken into lines, labels in rows.

use crate::{Face, width_mm};

/// From one line to the next, in sizes of the letters.
pub(crate) const LEADING: f64 = 1.3;

/// What room to keep for words. A viewer that lacks the program's own lettering takes another, and the common ones run
/// wider.
pub(crate) fn room_for(words: &str, size_mm: f64, bold: bool) -> f64 {
    const SLACK: f64 = 1.12;
    SLACK * width_mm(words, size_mm, Face::Words, bold)
}

/// Breaks words into lines that keep a width, at spaces that are not no-break ones. A word longer than a line is broken where the line ends.
pub(crate) fn wrapped(words: &str, size_mm: f64, bold: bool, room_mm: f64) -> Vec<String> {
    let wide = |text: &str| room_for(text, size_mm, bold);
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in words.split([' ', '\t', '\n', '\r']).filter(|word| !word.is_empty()) {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if wide(&longer) <= room_mm {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        // Letter by letter, as it may not fit a line of its own.
        for letter in word.chars() {
            line.push(letter);
            if wide(&line) > room_mm && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::replace(&mut line, letter.to_string()));
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// A name in as few lines as there may be: smaller where it is long, cut with an ellipsis where even that is too long.
pub(crate) fn fitted(name: &str, size_mm: f64, least_mm: f64, room_mm: f64, most: usize) -> (Vec<String>, f64) {
    let mut size = size_mm;
    let mut lines = wrapped(name, size, true, room_mm);
    while lines.len() > most && size > least_mm {
        size = (size - 0.25).max(least_mm);
        lines = wrapped(name, size, true, room_mm);
    }
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            last.pop();
            last.push('…');
        }
    }
    (lines, size)
}

/// A label to be placed under or over something: where that stands and how large the label is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Block {
    pub(crate) at_mm: f64,
    pub(crate) width_mm: f64,
    pub(crate) height_mm: f64,
}

/// Where a label was put.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Put {
    /// The left edge.
    pub(crate) left_mm: f64,
    /// From the edge of the first row to the near edge of the label.
    pub(crate) off_mm: f64,
}

/// A label beside a round drawing.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Beside {
    /// Which of the labels it is.
    pub(crate) index: usize,
    pub(crate) is_right: bool,
    /// From the top of the round drawing to the top of the label.
    pub(crate) down_mm: f64,
    /// What it says, line by line.
    pub(crate) lines: Vec<String>,
}

/// Puts labels beside a round drawing, right and left of it, each as near as may be to the height of what it names:
/// labels of one side push each other down. Directions count from the top, clockwise. Returns how far down they reach.
pub(crate) fn beside(labels: &[(f64, String)], radius_mm: f64, size_mm: f64, room_mm: f64) -> (Vec<Beside>, f64) {
    let line_mm = size_mm * LEADING;
    let mut wanted: Vec<(bool, f64, usize, Vec<String>)> = labels
        .iter()
        .enumerate()
        .map(|(index, (angle_deg, words))| {
            let (sin, cos) = angle_deg.to_radians().sin_cos();
            (sin >= -1e-9, radius_mm * (1.0 - cos), index, wrapped(words, size_mm, false, room_mm))
        })
        .collect();
    wanted.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut lowest_mm = 2.0 * radius_mm;
    let mut put = Vec::new();
    for side in [true, false] {
        let mut free_mm = 0.0;
        for (_, at_mm, index, lines) in wanted.iter().filter(|(is_right, ..)| *is_right == side) {
            let down_mm = f64::max(at_mm - line_mm / 2.0, free_mm);
            free_mm = down_mm + line_mm * lines.len() as f64 + 0.6;
            lowest_mm = lowest_mm.max(free_mm);
            put.push(Beside { index: *index, is_right: side, down_mm, lines: lines.clone() });
        }
    }
    (put, lowest_mm)
}

/// How wide each of several labels may be, so that the lines to its neighbours' labels can pass beside it.
pub(crate) fn rooms(at_mm: &[f64], least_mm: f64, most_mm: f64) -> Vec<f64> {
    const BESIDE: f64 = 3.0;
    let gap = |a: Option<&f64>, b: Option<&f64>| a.zip(b).map_or(f64::INFINITY, |(a, b)| (b - a).abs());
    let room = |n: usize| {
        let before = gap(n.checked_sub(1).and_then(|n| at_mm.get(n)), at_mm.get(n));
        let after = gap(at_mm.get(n), at_mm.get(n + 1));
        ((2.0 * before.min(after)).max(before.max(after)) - BESIDE).clamp(least_mm, most_mm)
    };
    (0..at_mm.len()).map(room).collect()
}

/// Puts labels into rows so that none lies on another, nor on the line that leads to another from the first row. Where a
/// label reaches past the middle of its neighbour, that line cannot be kept clear; labels never lie on each other.
/// Returns the places, in the order of the labels, and how deep all rows are.
pub(crate) fn in_rows(blocks: &[Block], left_mm: f64, right_mm: f64) -> (Vec<Put>, f64) {
    const GAP: f64 = 1.5;
    const ROW_GAP: f64 = 1.0;
    let mut order: Vec<usize> = (0..blocks.len()).collect();
    let at = |index: usize| blocks.get(index).map_or(0.0, |block| block.at_mm);
    order.sort_by(|a, b| at(*a).total_cmp(&at(*b)));
    // Index, row, left, right and the leading line of those that are placed.
    let mut placed: Vec<(usize, usize, f64, f64, f64)> = Vec::new();
    for (turn, &index) in order.iter().enumerate() {
        let Some(block) = blocks.get(index) else { continue };
        let gap_to = |other: Option<&usize>| other.map_or(f64::INFINITY, |&other| (at(other) - block.at_mm).abs());
        let before = gap_to(turn.checked_sub(1).and_then(|turn| order.get(turn)));
        let after = gap_to(order.get(turn + 1));
        // Straight over its line, or beside it on the side where there is more room.
        let [left_of, over, right_of] = [block.width_mm - GAP, block.width_mm / 2.0, GAP];
        let ways = match before.min(after) {
            near if near >= block.width_mm / 2.0 + GAP => [over, left_of, right_of],
            _ if after < before => [left_of, over, right_of],
            _ => [right_of, over, left_of],
        };
        let span = |way: f64| {
            let left = (block.at_mm - way).min(right_mm - block.width_mm).max(left_mm);
            (left, left + block.width_mm)
        };
        let is_free = |row: usize, (left, right): (f64, f64)| {
            placed.iter().all(|&(_, taken, from, to, line)| {
                let apart = right + GAP <= from || to + GAP <= left;
                let beside_line = line + GAP <= left || right + GAP <= line;
                let line_beside = block.at_mm + GAP <= from || to + GAP <= block.at_mm;
                match taken {
                    taken if taken == row => apart,
                    taken if taken > row => beside_line,
                    _ => line_beside,
                }
            })
        };
        let rows = placed.iter().map(|(_, row, ..)| row + 1).max().unwrap_or(0);
        let tries = || (0..=rows).flat_map(|row| ways.map(|way| (row, span(way))));
        // In the first row a label bars the way for every line behind it, also for those that are still to come.
        let bars_none = |row: usize, (left, right): (f64, f64)| {
            row > 0 || order.iter().all(|&other| other == index || at(other) <= left || at(other) >= right)
        };
        let free = |&(row, span): &(usize, (f64, f64))| is_free(row, span);
        let (row, (left, right)) = tries()
            .find(|&(row, span)| is_free(row, span) && bars_none(row, span))
            .or_else(|| tries().find(free))
            // Where every line would cross a label, a row of its own keeps at least the labels apart.
            .unwrap_or((rows, span(over)));
        placed.push((index, row, left, right, block.at_mm));
    }
    let height = |row: usize| {
        let of_row = placed.iter().filter(|(_, taken, ..)| *taken == row);
        of_row.filter_map(|(index, ..)| blocks.get(*index)).map(|block| block.height_mm).fold(0.0, f64::max)
    };
    let rows = placed.iter().map(|(_, row, ..)| row + 1).max().unwrap_or(0);
    let mut offs = vec![0.0];
    for row in 0..rows {
        offs.push(offs.last().copied().unwrap_or(0.0) + height(row) + ROW_GAP);
    }
    let mut puts = vec![Put { left_mm, off_mm: 0.0 }; blocks.len()];
    for (index, row, left, ..) in &placed {
        if let (Some(put), Some(off)) = (puts.get_mut(*index), offs.get(*row)) {
            *put = Put { left_mm: *left, off_mm: *off };
        }
    }
    (puts, offs.last().copied().unwrap_or(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_keep_their_width_and_lose_nothing() {
        let name = "O’Brien & Söhne Schwerlastkurbelwellenprüfstandsmotorenbau 12, second of two";
        let lines = wrapped(name, 3.0, true, 30.0);
        assert!(lines.len() > 3);
        assert!(lines.iter().all(|line| width_mm(line, 3.0, Face::Words, true) <= 30.0), "{lines:?}");
        let letters = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
        assert_eq!(letters(&lines.concat()), letters(name));
    }

    #[test]
    fn a_long_name_shrinks_then_is_cut() {
        let (lines, size) = fitted("Tarn four", 4.0, 2.5, 60.0, 2);
        assert_eq!((lines.len(), size), (1, 4.0));
        let (lines, size) = fitted(&"x".repeat(300), 4.0, 2.5, 60.0, 2);
        assert_eq!((lines.len(), size), (2, 2.5));
        assert!(lines.last().is_some_and(|line| line.ends_with('…')));
    }

    #[test]
    fn labels_and_their_lines_keep_clear() {
        let blocks: Vec<Block> =
            (0..25).map(|n| Block { at_mm: 10.0 + 6.5 * f64::from(n), width_mm: 9.5, height_mm: 8.0 }).collect();
        let (puts, depth) = in_rows(&blocks, 0.0, 180.0);
        assert!(depth > 16.0);
        for (a, (block, put)) in blocks.iter().zip(&puts).enumerate() {
            for (b, (other, there)) in blocks.iter().zip(&puts).enumerate() {
                let same_row = put.off_mm == there.off_mm;
                let apart =
                    put.left_mm + block.width_mm <= there.left_mm || there.left_mm + other.width_mm <= put.left_mm;
                assert!(a == b || !same_row || apart, "{a} on {b}");
                let crossed = there.off_mm < put.off_mm
                    && (there.left_mm..=there.left_mm + other.width_mm).contains(&block.at_mm);
                assert!(!crossed, "the line to {a} crosses {b}");
            }
        }
    }
}
