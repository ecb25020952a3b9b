//! The size axis: one scale for a set, with a bracket for each size, a dot for each spot, and hatching for what comes off.

use units::{Unit, show_mm};

use crate::labelling::{Block, LEADING, in_rows, room_for, wrapped};
use crate::{Drawing, Drawn, Fill, Label, Pen, Place};

/// From the edge of the paper to the ends of the scale.
const EDGE_MM: f64 = 3.0;
/// Dots that would be nearer than this stand on each other.
const STACKED_MM: f64 = 1.4;
/// How large a dot is, how far apart dots stand on each other, and how high all of them may.
const DOT_MM: f64 = 0.7;
const PITCH_MM: f64 = 1.6;
const MOST_HIGH_MM: f64 = 9.0;

/// One size of the ladder.
#[derive(Clone, Debug, PartialEq)]
pub struct AxisStep {
    /// `0.010`, `new`.
    pub name: String,
    /// Finished limits.
    pub low_mm: f64,
    /// Finished limits.
    pub high_mm: f64,
    /// Whether it is what the set is to be ground to.
    pub chosen: bool,
}

/// One measured spot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AxisSpot {
    /// Its size, on the diameter.
    pub size_mm: f64,
    /// Whether it is to be looked at again.
    pub doubtful: bool,
}

/// The sizes of one set.
#[derive(Clone, Debug, PartialEq)]
pub struct SizeAxis {
    /// What the set is called, in a sentence: `mains`.
    pub name: String,
    /// The unit of figures.
    pub unit: Unit,
    /// The sizes to show.
    pub steps: Vec<AxisStep>,
    /// The size that the wheel is to leave, where the set is to be ground.
    pub wheel_mm: Option<f64>,
    /// The spots that count.
    pub spots: Vec<AxisSpot>,
    /// Sizes that do not count yet; one far off the scale is counted in words only.
    pub waiting_mm: Vec<f64>,
}

/// The scale: larger sizes to the left, as metal comes off to the right.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Scale {
    high_mm: f64,
    low_mm: f64,
    width_mm: f64,
}

impl Scale {
    fn x(self, size_mm: f64) -> f64 {
        let range_mm = (self.high_mm - self.low_mm).max(1e-6);
        EDGE_MM + (self.high_mm - size_mm) / range_mm * (self.width_mm - 2.0 * EDGE_MM)
    }
}

fn is_size(mm: f64) -> bool {
    mm > 0.0 && mm < 1e5
}

impl SizeAxis {
    /// As wide as a panel of a page, or half a page of A4.
    pub const WIDE_MM: f64 = 90.0;
    /// As wide as the narrowest page.
    pub const NARROW_MM: f64 = 40.0;

    /// Draws it in a width; what is narrower than [`SizeAxis::NARROW_MM`] is drawn so wide.
    pub fn draw(&self, width_mm: f64) -> Drawn {
        let width = if width_mm >= Self::NARROW_MM { width_mm.min(500.0) } else { Self::NARROW_MM };
        let mut drawing = Drawing::new(width, 0.0, format!("Sizes of the {}", self.name));
        let mut troubles = Vec::new();
        let spots: Vec<AxisSpot> = self.spots.iter().filter(|spot| is_size(spot.size_mm)).copied().collect();
        let sound = |step: &&AxisStep| is_size(step.low_mm) && is_size(step.high_mm) && step.low_mm <= step.high_mm;
        let steps: Vec<&AxisStep> = self.steps.iter().filter(sound).collect();
        let left_out = self.spots.len() - spots.len() + self.steps.len() - steps.len();
        if left_out > 0 {
            troubles.push(format!("{left_out} of the sizes are no sizes: left out."));
        }
        let sizes = || spots.iter().map(|spot| spot.size_mm);
        let (Some(smallest_mm), Some(largest_mm)) = (sizes().min_by(f64::total_cmp), sizes().max_by(f64::total_cmp))
        else {
            troubles.push("No size is measured.".to_owned());
            drawing.says = format!("No size of the {} is measured.", self.name);
            drawing.height_mm = 5.0;
            drawing.label(Label::words((0.0, 4.0), "No size is measured."));
            return Drawn { drawing, troubles };
        };
        let wheel_mm = self.wheel_mm.filter(|mm| is_size(*mm));
        let scale = Scale {
            high_mm: steps.iter().map(|step| step.high_mm).fold(largest_mm, f64::max),
            low_mm: steps
                .iter()
                .map(|step| step.low_mm)
                .fold(smallest_mm.min(wheel_mm.unwrap_or(smallest_mm)), f64::min),
            width_mm: width,
        };
        let waiting: Vec<f64> = self.waiting_mm.iter().copied().filter(|mm| is_size(*mm)).collect();
        let (on, off): (Vec<f64>, Vec<f64>) =
            waiting.into_iter().partition(|mm| (scale.low_mm..=scale.high_mm).contains(mm));
        // From the largest place to what the wheel leaves: as the grinder's sheet has it.
        let come_off = wheel_mm.filter(|mm| *mm < largest_mm);

        let below = brackets(&mut drawing, scale, &steps);
        let doubtful = on.iter().map(|&size_mm| AxisSpot { size_mm, doubtful: true });
        let all: Vec<AxisSpot> = spots.iter().copied().chain(doubtful).collect();
        let dots = stacked(scale, all);
        let base = below + MOST_HIGH_MM + DOT_MM + 2.0;
        for step in &steps {
            for mm in [step.high_mm, step.low_mm] {
                drawing.line([(scale.x(mm), below), (scale.x(mm), base)], Pen::Dashed);
            }
        }
        drawing.line([(0.0, base), (width, base)], Pen::Edge);
        drawing.group("spots", |drawing| {
            for (x, up, doubtful) in &dots {
                let (pen, fill) = if *doubtful { (Some(Pen::Thin), Fill::Paper) } else { (None, Fill::Ink) };
                drawing.circle((*x, base - DOT_MM - 0.4 - up), DOT_MM, pen, fill);
            }
        });
        let mut y = base;
        if let Some(wheel_mm) = come_off {
            let (left, right) = (scale.x(largest_mm), scale.x(wheel_mm));
            drawing.group("come-off", |drawing| {
                drawing.rectangle((left, base), (right, base + 3.0), Some(Pen::Thin), Fill::Hatch);
            });
            let words = format!("{} off the largest", self.figure(largest_mm - wheel_mm));
            y += 3.0 + Label::USUAL_MM * LEADING;
            centred(&mut drawing, (left.midpoint(right), y), words);
        }
        y += Label::USUAL_MM * LEADING;
        centred(&mut drawing, (scale.x(smallest_mm), y), format!("smallest {}", self.figure(smallest_mm)));
        let off_scale = match off.len() {
            0 => String::new(),
            1 => "1 reading in doubt, off this scale".to_owned(),
            n => format!("{n} readings in doubt, off this scale"),
        };
        let key = format!("A dot for each spot, in {} on the diameter, larger to the left.", self.unit.plural());
        let notes = [Some(key), Some(off_scale.clone()).filter(|words| !words.is_empty()).map(|words| words + ".")];
        y += 1.0;
        for note in notes.into_iter().flatten().chain(troubles.iter().cloned()) {
            for line in wrapped(&note, Label::USUAL_MM, false, width) {
                y += Label::USUAL_MM * LEADING;
                drawing.label(Label::words((0.0, y), line));
            }
        }
        drawing.height_mm = y + 1.2;
        let doubtful = all_doubtful(&spots) + on.len();
        drawing.says = self.says(&steps, (smallest_mm, largest_mm), spots.len(), come_off, doubtful, &off_scale);
        Drawn { drawing, troubles }
    }

    fn figure(&self, mm: f64) -> String {
        let decimals = self.unit.usual_decimals();
        show_mm(mm, self.unit, decimals)
    }

    fn says(
        &self,
        steps: &[&AxisStep],
        (smallest_mm, largest_mm): (f64, f64),
        spots: usize,
        come_off: Option<f64>,
        doubtful: usize,
        off_scale: &str,
    ) -> String {
        let count = |n: usize, one: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") };
        let bands: Vec<String> = steps
            .iter()
            .map(|step| format!("{} is {} to {}", step.name, self.figure(step.low_mm), self.figure(step.high_mm)))
            .collect();
        let bands = if bands.is_empty() { String::new() } else { format!("; {}", bands.join(", ")) };
        let off = come_off.map_or(String::new(), |wheel_mm| {
            format!(" {} is to come off the largest.", self.figure(largest_mm - wheel_mm))
        });
        let doubt = if doubtful == 0 { String::new() } else { format!(" {} in doubt.", count(doubtful, "reading")) };
        let far = if off_scale.is_empty() { String::new() } else { format!(" {off_scale}.") };
        format!(
            "Sizes of the {} in {}, on the diameter: {} from {} to {}{bands}.{off}{doubt}{far}",
            self.name,
            self.unit.plural(),
            count(spots, "spot"),
            self.figure(smallest_mm),
            self.figure(largest_mm)
        )
    }
}

fn all_doubtful(spots: &[AxisSpot]) -> usize {
    spots.iter().filter(|spot| spot.doubtful).count()
}

/// Brackets with their names over them, in rows where they are crowded; returns where they end.
fn brackets(drawing: &mut Drawing, scale: Scale, steps: &[&AxisStep]) -> f64 {
    const HIGH_MM: f64 = 2.0;
    // Between the legs of a narrower bracket a heavy line would leave no paper.
    const ROOM_FOR_HEAVY_MM: f64 = 3.0;
    let size = Label::USUAL_MM;
    let middle = |step: &AxisStep| scale.x(step.high_mm).midpoint(scale.x(step.low_mm));
    let blocks: Vec<Block> = steps
        .iter()
        .map(|step| Block {
            at_mm: middle(step),
            width_mm: room_for(&step.name, size, true),
            height_mm: size * LEADING,
        })
        .collect();
    let (puts, deep) = in_rows(&blocks, 0.0, scale.width_mm);
    let top = deep + 0.5;
    for ((step, block), put) in steps.iter().zip(&blocks).zip(&puts) {
        let near = top - put.off_mm;
        let label = Label::words((put.left_mm + block.width_mm / 2.0, near - 1.2), step.name.as_str()).middle();
        drawing.label(if step.chosen { label.bold() } else { label });
        if put.off_mm > 0.0 {
            drawing.line([(block.at_mm, near), (block.at_mm, top)], Pen::Thin);
        }
        let (left, right) = (scale.x(step.high_mm), scale.x(step.low_mm));
        let points: [Place; 4] = [(left, top + HIGH_MM), (left, top), (right, top), (right, top + HIGH_MM)];
        drawing.group(format!("step-{}", name_of(&step.name)), |drawing| {
            let pen = match (step.chosen, right - left > ROOM_FOR_HEAVY_MM) {
                (true, true) => Pen::Heavy,
                (true, false) => Pen::Edge,
                (false, _) => Pen::Thin,
            };
            drawing.line(points, pen);
        });
    }
    top + HIGH_MM
}

/// A name as the name of a group: letters, digits and hyphens.
fn name_of(name: &str) -> String {
    name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect()
}

/// A label with its middle at a place, moved inwards where it would leave the paper.
fn centred(drawing: &mut Drawing, at: Place, words: String) {
    let half = room_for(&words, Label::USUAL_MM, false) / 2.0;
    let x = at.0.min(drawing.width_mm - half).max(half);
    drawing.label(Label::words((x, at.1), words).middle());
}

/// Dots that would lie on each other stand on each other instead: where each is, and how far up.
fn stacked(scale: Scale, mut spots: Vec<AxisSpot>) -> Vec<(f64, f64, bool)> {
    spots.sort_by(|a, b| b.size_mm.total_cmp(&a.size_mm));
    let mut stacks: Vec<(f64, Vec<bool>)> = Vec::new();
    for spot in spots {
        let x = scale.x(spot.size_mm);
        match stacks.last_mut().filter(|(at, _)| x - at < STACKED_MM) {
            Some((_, stack)) => stack.push(spot.doubtful),
            None => stacks.push((x, vec![spot.doubtful])),
        }
    }
    let highest = stacks.iter().map(|(_, stack)| stack.len()).max().unwrap_or(1).max(2);
    let pitch = PITCH_MM.min(MOST_HIGH_MM / (highest - 1) as f64);
    stacks
        .iter()
        .flat_map(|(x, stack)| stack.iter().enumerate().map(move |(n, &doubtful)| (*x, pitch * n as f64, doubtful)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 46 mm of paper with 3 mm edges leave 40 mm for the range, larger to the left.
    #[test]
    fn a_size_stands_where_the_scale_has_it() {
        let scale = Scale { high_mm: 50.0, low_mm: 49.0, width_mm: 46.0 };
        assert_eq!([50.0, 49.5, 49.0].map(|mm| scale.x(mm)), [3.0, 23.0, 43.0]);
    }

    #[test]
    fn equal_sizes_stand_on_each_other_and_stay_below_the_brackets() {
        let scale = Scale { high_mm: 50.0, low_mm: 49.0, width_mm: 46.0 };
        let dots = stacked(scale, vec![AxisSpot { size_mm: 49.5, doubtful: false }; 30]);
        assert_eq!(dots.len(), 30);
        assert!(dots.iter().all(|dot| dot.0 == 23.0));
        assert_eq!(dots.first().map(|dot| dot.1), Some(0.0));
        assert!(dots.iter().all(|dot| dot.1 <= MOST_HIGH_MM + 1e-9));
    }
}
